"""The code of a dish: a short fingerprint of everything its documents were made from.

Values are written out in a canonical form and hashed.  Positions in files do not count
for the printed code (a comment added further up changes no card), but they do count for
the key that decides whether a document is out of date, because its diagram names spec
lines.  The code is printed on the card and beside the dish in every document of the menu,
so that two pieces of paper can be compared side by side.  The code of a menu document is
made from the codes of its dishes.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable, Iterable, Iterator
from dataclasses import fields, is_dataclass, replace
from functools import cache
from operator import attrgetter
from typing import Any, NamedTuple
from weakref import WeakKeyDictionary

from platecard import __version__
from platecard.allergens.statement import ABSENT, Statement
from platecard.diagnostics import Span
from platecard.drawing import fonts
from platecard.knowledge.catalogue import Entry
from platecard.knowledge.languages import Language
from platecard.knowledge.laws import Exemption, Group, Law, SulphiteRule
from platecard.model import Component, Dish, Product, Recipe, Settings
from platecard.model.handling import Handling
from platecard.prepared import Prepared
from platecard.recipes.resolve import Pantry
from platecard.recipes.resolved import Batch, Resolved

DIGITS = 8  # hex digits of the code: one chance in four thousand million that two dishes share one


def of(prepared: Prepared) -> str:
    """The code of a dish: eight hex digits, printed on its card and beside it in every document of the menu.

    Everything its documents say counts: the spec, its recipes and labels (with the dates
    they were read, which the reasons name), its swaps, what is declared, and what shares
    its equipment.  The chef's record, the price and the parts of the kitchen that the dish
    does not use do not count.
    """
    return _digests(prepared).said[:DIGITS]


def content(prepared: Prepared) -> str:
    """The digest of the dish itself, whatever else is on the menu."""
    return _digests(prepared).own


def key(prepared: Prepared, extra: str = "") -> str:
    """The full key of a dish's documents."""
    return hashlib.sha256(f"{_digests(prepared).placed}{extra}".encode()).hexdigest()


def of_menu(menu: Iterable[Prepared]) -> str:
    """The full key of the menu's documents."""
    state = hashlib.sha256()
    for prepared in menu:
        state.update(f"{prepared.key} {prepared.is_sound} {_digests(prepared).whole} ".encode())
    return state.hexdigest()


def code_of_menu(menu: Iterable[Prepared]) -> str:
    """The code of the menu's documents, made from the codes of its dishes; a dish without a card counts as ``-``."""
    told = (f"{prepared.key} {of(prepared) if prepared.is_sound else '-'}" for prepared in menu)
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:DIGITS]


def forget(prepared: Prepared) -> None:
    """Drop what is remembered of a finished dish, which would otherwise keep the whole dish in memory."""
    _MEMO.setdefault(prepared.world.pantry, _Memo()).digests.pop(prepared.key, None)


def forget_all(prepared: Prepared) -> None:
    """Drop what is remembered of the kitchen of a dish, for whoever meets each of its values only once."""
    _MEMO.pop(prepared.world.pantry, None)


class _Digests(NamedTuple):
    """The digests of one dish, each covering more than the one before.

    ``own`` covers the dish itself; ``said`` also what follows from the rest of the menu;
    ``whole`` also all of the kitchen's settings, the program's version and the fonts installed
    for other writing systems; ``placed`` also the positions in files.
    """

    own: str
    said: str
    whole: str
    placed: str


def _digests(prepared: Prepared) -> _Digests:
    """The digests of a dish, all made at once and remembered for its kitchen."""
    memo = _MEMO.setdefault(prepared.world.pantry, _Memo())
    settings = prepared.world.kitchen.settings
    derived = (prepared.statements, prepared.cautions, prepared.basis.reached, prepared.told)
    same = (prepared.dish, prepared.resolved, settings, prepared.offered, *derived)
    known = memo.digests.get(prepared.key)
    if known is None or any(a is not b for a, b in zip(known[0], same)):
        if memo.kitchen is None or memo.kitchen[0] is not settings:
            memo.kitchen = settings, _of_all(settings)
        used = memo.kitchen[1], _of_dish(settings, _used(prepared, memo.used)), prepared.world.languages
        # The part of a swap is enough: everything else about it is the dish's own.
        ours, following, around = _Writer(memo.shared), _Writer(memo.shared), _Writer(memo.shared)
        own, places = ours.digests((prepared.dish, prepared.resolved, used, [swap.parts for swap in prepared.offered]))
        more, others = following.digests((*derived, _reasons(prepared.statements)))
        kitchen, lines = around.digests((settings,))
        said = _hash(own, more)
        # The fonts of other writing systems decide how a text looks, or whether it is printed, but not what it says.
        drawn = __version__ + fonts.installed_for("".join(sorted(ours.letters | following.letters | around.letters)))
        known = memo.digests[prepared.key] = (
            same,
            _Digests(own, said, _hash(drawn, said, kitchen), _hash(drawn, said, places, others, lines)),
        )
    return known[1]


def _reasons(statements: Iterable[Statement]) -> list[list[str]]:
    """The words of the chains behind all findings, which the service sheet prints."""
    return [
        [link.words for link in reason]
        for statement in statements
        for f in statement.findings
        if f.presence != ABSENT
        for reason in f.reasons
    ]


def _hash(*parts: str) -> str:
    return hashlib.sha256(" ".join(parts).encode()).hexdigest()


def _of_all(settings: Settings) -> Settings:
    """The settings of the kitchen that show in the documents of every dish."""
    return replace(
        settings,
        laws=(),
        laws_span=None,
        span=None,
        label_days=None,
        labels_printed_for_span=None,
        guest_languages_span=None,
        place="",
        place_span=None,
        laws_checked="",
        laws_checked_span=None,
        gear=(),
        only_for=(),
        stations=(),
        equipment=(),
    )


def _of_dish(settings: Settings, used: frozenset[str]) -> tuple[object, ...]:
    """The settings of the kitchen that show only in the documents of dishes that use them."""
    return (
        [g for g in settings.gear if g.key in used],
        [s for s in settings.stations if s[0] in used],
        [e for e in settings.equipment if e[0] in used],
    )


def _used(prepared: Prepared, known: dict[int, tuple[object, frozenset[str]]]) -> frozenset[str]:
    """The keys of the stations and equipment that a dish names, in its recipes and swaps too."""
    return frozenset(
        name
        for resolved in (prepared.resolved, *prepared.offered)
        if resolved is not None
        for name in _named(resolved, known)
    )


def _named(resolved: Resolved, known: dict[int, tuple[object, frozenset[str]]]) -> Iterator[str]:
    for part in resolved.parts:
        yield part.component.station
        yield from part.component.equipment
        yield from (gear for step in part.component.finish for gear in step.on)
        yield from _inside(part.use.what, known)


def _inside(what: object, known: dict[int, tuple[object, frozenset[str]]]) -> frozenset[str]:
    """The stations and equipment of a recipe and of all recipes inside it."""
    if not isinstance(what, Batch):
        return frozenset()
    if id(what) not in known:
        inner = (_inside(line.what, known) for line in what.lines)
        known[id(what)] = what, frozenset((what.recipe.station, *what.recipe.equipment)).union(*inner)
    return known[id(what)][1]


class _Memo:
    """The digests made so far for one kitchen: of its dishes, and of the values they share."""

    def __init__(self) -> None:
        self.digests: dict[str, tuple[tuple[object, ...], _Digests]] = {}
        self.kitchen: tuple[Settings, Settings] | None = None
        self.used: dict[int, tuple[object, frozenset[str]]] = {}
        self.shared: dict[int, tuple[object, str, str, frozenset[str]]] = {}


_MEMO: WeakKeyDictionary[Pantry, _Memo] = WeakKeyDictionary()
_SHARED = (
    Batch,
    Law,
    Language,
    Settings,
    Product,
    Entry,
    Handling,
)  # held by many dishes: digested once for each kitchen
# Left out, because the chain behind a finding runs through dishes and swaps that are digested themselves.
_FOLLOWS = ("reasons", "chain")
# Left out, because no document of the dish shows them; the chef's record counts through what is declared.  What could
# not be read has no card at all.
_APART: dict[type, tuple[str, ...]] = {
    Dish: ("acknowledged", "price", "only_named", "is_draft", "is_trial", "all_moves_read"),
    Component: ("station_span",),
    Recipe: ("is_whole",),
    Product: ("label_has_errors",),
    **{row: ("in_force", "checked") for row in (Law, Group, Exemption, SulphiteRule)},
}
_ASCII = bytes(range(128))
_REPEATED = (Dish, Component)  # found in several places of one dish's tree


class _Writer:
    """Writes values in canonical form, with their positions in files kept apart.

    Only values count: two trees that say the same have the same digest, whatever objects
    they are made of.
    """

    def __init__(self, shared: dict[int, tuple[object, str, str, frozenset[str]]]) -> None:
        self.shared = shared
        self.letters: set[str] = set()  # those beyond ASCII
        self.pieces: list[str] = []
        self.places: list[str] = []
        self.written: dict[int, tuple[slice, slice]] = {}  # where each repeated value lies in both lists

    def digests(self, what: object) -> tuple[str, str]:
        """The digest of a value without positions in files, and that with them."""
        self.write(what)
        text = "".join(self.pieces).encode()
        self.letters.update(text.translate(None, _ASCII).decode())
        said = hashlib.sha256(text).hexdigest()
        return said, hashlib.sha256(f"{said}{' '.join(self.places)}".encode()).hexdigest()

    def write(self, value: Any) -> None:
        """Write one value of a dish's tree, of whatever type."""
        kind: type = type(value)
        if kind is Span:
            self.places.append(f"{value.file}:{value.line}:{value.column}:{value.length}")
        elif kind is tuple or kind is list:
            self.row("[", value)
        elif kind is dict:
            self.row("{", [part for pair in value.items() for part in pair])
        elif kind is frozenset or kind is set:
            self.row("<", sorted(value))
        elif (values_of := _values(kind)) is None:
            self.pieces.append(repr(value))
        elif kind in _SHARED:
            known = self.shared.get(id(value))
            if known is None:
                inner = _Writer(self.shared)
                inner.row(kind.__name__, values_of(value))
                known = self.shared[id(value)] = (value, *inner.digests(()), frozenset(inner.letters))
            self.pieces.append(known[1])
            self.places.append(known[2])
            self.letters |= known[3]
        elif kind in _REPEATED:
            self.repeated(kind.__name__, value, values_of)
        elif kind is Statement:
            # What is absent without a note follows from the law and from what is present.
            self.row(
                "Statement",
                (
                    value.law,
                    tuple(f for f in value.findings if f.presence != ABSENT or f.note),
                    value.also,
                    value.exempted,
                    value.relies_on,
                    value.from_memory,
                    value.not_read,
                ),
            )
        else:
            self.row(kind.__name__, values_of(value))

    def repeated(self, opening: str, value: object, values_of: Callable[[Any], tuple[object, ...]]) -> None:
        """Write an object; one that has been written before is copied from there."""
        pieces, places = self.pieces, self.places
        known = self.written.get(id(value))
        if known is None:
            first, spot = len(pieces), len(places)
            self.row(opening, values_of(value))
            self.written[id(value)] = slice(first, len(pieces)), slice(spot, len(places))
        else:
            pieces += pieces[known[0]]
            places += places[known[1]]

    def row(self, opening: str, values: Iterable[object]) -> None:
        """Write values one after another between an opening word and a bracket."""
        pieces, write = self.pieces, self.write
        pieces.append(opening)
        for value in values:
            kind = type(value)
            # Most values end here.  The quotes of repr keep a text from being taken for the end of the row.
            if kind is str or value is None or kind is bool or kind is int:
                pieces.append(repr(value))
            else:
                write(value)
            pieces.append(",")
        pieces.append(")")


def field_names(kind: type) -> tuple[str, ...]:
    """The names of the fields of a dataclass or a named tuple; none for any other type."""
    if is_dataclass(kind):
        return tuple(f.name for f in fields(kind))
    return getattr(kind, "_fields", ())


@cache
def _values(kind: type) -> Callable[[Any], tuple[object, ...]] | None:
    """How to take the values that count out of a value with named fields; None for any other type."""
    left_out = (*_FOLLOWS, *_APART.get(kind, ()))
    names = [name for name in field_names(kind) if name not in left_out]
    if not names:
        return None
    return attrgetter(*names) if len(names) > 1 else lambda value: (getattr(value, names[0]),)
