"""The code of a dish: a short fingerprint of everything that its documents were made from.

Values are written out in a canonical form and hashed; places in files are left out
of what is printed (a comment added above changes no card) and kept in the key that
decides whether a document is out of date (its diagram names spec lines).  The code
stands on the card and on the dish's line of every document of the menu, so that two
pieces of paper can be held side by side; the code of such a document is made from those
of its dishes.
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable, Iterator
from dataclasses import fields, is_dataclass, replace
from functools import cache
from operator import attrgetter
from typing import NamedTuple
from weakref import WeakKeyDictionary

from platecard import __version__
from platecard.allergens.statement import ABSENT, Statement
from platecard.diagnostics import Span
from platecard.knowledge.catalogue import Entry
from platecard.knowledge.laws import Law
from platecard.model.handling import Handling
from platecard.model.nouns import Component, Dish, Product, Settings
from platecard.pipeline import Prepared
from platecard.recipes.resolve import Batch, Pantry, Resolved

DIGITS = 8  # of the code: one chance in four thousand million that two differ and look alike


def of(prepared: Prepared) -> str:
    """The code of a dish: eight hex digits, printed on its card and on its line of every document of the menu.

    Everything counts that its documents say: the spec, its recipes and labels (their days
    too, which the reasons name), its swaps, what is declared, and what shares its equipment.
    The chef's record and the price do not, nor does what of the kitchen it does not use.
    """
    return _digests(prepared).said[:DIGITS]


def content(prepared: Prepared) -> str:
    """The digest of what the dish is itself, whatever else is on the menu."""
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
    """The code of the menu's documents, made from the codes of its dishes; a dish without a card counts as that."""
    told = (f"{prepared.key} {of(prepared) if prepared.is_sound else '-'}" for prepared in menu)
    return hashlib.sha256("\n".join(told).encode()).hexdigest()[:DIGITS]


def forget(prepared: Prepared) -> None:
    """The dish is done with: what was remembered of it would keep all of it in memory."""
    _MEMO.setdefault(prepared.world.pantry, _Memo()).digests.pop(prepared.key, None)


class _Digests(NamedTuple):
    """``own``: the dish itself; ``said``: that and what the menu makes of it; ``whole``: with all of the kitchen's
    settings and the program's version; ``placed``: with the places in files as well."""

    own: str
    said: str
    whole: str
    placed: str


def _digests(prepared: Prepared) -> _Digests:
    """All digests of a dish are made at once and remembered with the kitchen."""
    memo = _MEMO.setdefault(prepared.world.pantry, _Memo())
    settings = prepared.world.kitchen.settings
    derived = (prepared.statements, prepared.cautions, prepared.basis.reached, prepared.told)
    same = (prepared.dish, prepared.resolved, settings, prepared.offered, *derived)
    known = memo.digests.get(prepared.key)
    if known is None or any(a is not b for a, b in zip(known[0], same)):
        if memo.kitchen is None or memo.kitchen[0] is not settings:
            memo.kitchen = settings, _of_all(settings)
        used = memo.kitchen[1], _of_dish(settings, _used(prepared, memo.used))
        # Of a swap its part is enough: the plate is the dish's own.
        own, places = _Writer(memo.shared).digests(
            (prepared.dish, prepared.resolved, used, [swap.parts for swap in prepared.offered])
        )
        more, others = _Writer(memo.shared).digests(derived)
        kitchen, lines = _Writer(memo.shared).digests((settings,))
        said = _hash(own, more)
        known = memo.digests[prepared.key] = (
            same,
            _Digests(own, said, _hash(__version__, said, kitchen), _hash(__version__, said, places, others, lines)),
        )
    return known[1]


def _hash(*parts: str) -> str:
    return hashlib.sha256(" ".join(parts).encode()).hexdigest()


def _of_all(settings: Settings) -> Settings:
    """What of the kitchen the documents of every dish say."""
    return replace(
        settings,
        laws=(),
        laws_span=None,
        span=None,
        label_days=None,
        labels_printed_for_span=None,
        gear=(),
        only_for=(),
        stations=(),
        equipment=(),
    )


def _of_dish(settings: Settings, used: frozenset[str]) -> tuple:
    """What of the kitchen only the documents of a dish that uses it say."""
    return (
        [g for g in settings.gear if g.key in used],
        [s for s in settings.stations if s[0] in used],
        [e for e in settings.equipment if e[0] in used],
    )


def _used(prepared: Prepared, known: dict[int, tuple[object, frozenset[str]]]) -> frozenset[str]:
    """The keys of the stations and equipment that a dish names, its recipes and its swaps included."""
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
    """Those of a recipe and of all recipes in it."""
    if not isinstance(what, Batch):
        return frozenset()
    if id(what) not in known:
        inner = (_inside(line.what, known) for line in what.lines)
        known[id(what)] = what, frozenset((what.recipe.station, *what.recipe.equipment)).union(*inner)
    return known[id(what)][1]


class _Memo:
    """What has been written out of one kitchen: digests by dish, and of what its dishes share."""

    def __init__(self):
        self.digests: dict[str, tuple[tuple, _Digests]] = {}
        self.kitchen: tuple[Settings, Settings] | None = None
        self.used: dict[int, tuple[object, frozenset[str]]] = {}
        self.shared: dict[int, tuple[object, str, str]] = {}


_MEMO: WeakKeyDictionary[Pantry, _Memo] = WeakKeyDictionary()
_SHARED = (Batch, Law, Settings, Product, Entry, Handling)  # what many dishes hold: digested once for a kitchen
_FOLLOWS = (
    "reasons",
    "chain",
)  # what leads to a finding lies in the dish, its swaps and the other dishes of the menu, each digested itself
# What no document of a dish says: the chef's record is in what is declared.
_APART = {Dish: ("acknowledged", "price", "only_named", "is_draft", "is_trial")}
_REPEATED = (Dish, Component)  # what stands in a dish's tree in several places


class _Writer:
    """Writes values out, what they say and where it stands apart from each other.

    Only values count: two trees that say the same have the same digest, whatever objects
    they are made of.
    """

    def __init__(self, shared: dict[int, tuple[object, str, str]]):
        self.shared = shared
        self.pieces: list[str] = []
        self.places: list[str] = []
        self.written: dict[int, tuple[slice, slice]] = {}  # where the pieces and the places of what is repeated lie

    def digests(self, what: object) -> tuple[str, str]:
        """The digest of what is said, and that of it with its places."""
        self.write(what)
        said = hashlib.sha256("".join(self.pieces).encode()).hexdigest()
        return said, hashlib.sha256(f"{said}{' '.join(self.places)}".encode()).hexdigest()

    def write(self, value: object) -> None:
        kind = type(value)
        if kind is Span:
            self.places.append(f"{value.file}:{value.line}:{value.column}:{value.length}")
        elif kind is tuple or kind is list:
            self.row("[", value)
        elif kind is dict:
            self.row("{", [part for pair in value.items() for part in pair])
        elif kind is frozenset or kind is set:
            self.row("<", sorted(value))
        elif kind in _SHARED:
            known = self.shared.get(id(value))
            if known is None:
                inner = _Writer(self.shared)
                inner.row(kind.__name__, _values(kind)(value))
                known = self.shared[id(value)] = (value, *inner.digests(()))
            self.pieces.append(known[1])
            self.places.append(known[2])
        elif kind in _REPEATED:
            self.repeated(kind, value)
        elif kind is Statement:
            # What is absent and not worth a word follows from the law and from what is there.
            self.row(
                "Statement",
                (
                    value.law,
                    tuple(f for f in value.findings if f.presence != ABSENT or f.note),
                    value.also,
                    value.exempted,
                    value.relies_on,
                ),
            )
        elif (values_of := _values(kind)) is not None:
            self.row(kind.__name__, values_of(value))
        else:
            self.pieces.append(repr(value))

    def repeated(self, kind: type, value: object) -> None:
        """What has been written before, the same object, is written again as it was."""
        pieces, places = self.pieces, self.places
        known = self.written.get(id(value))
        if known is None:
            first, spot = len(pieces), len(places)
            self.row(kind.__name__, _values(kind)(value))
            self.written[id(value)] = slice(first, len(pieces)), slice(spot, len(places))
        else:
            pieces += pieces[known[0]]
            places += places[known[1]]

    def row(self, opening: str, values: tuple | list) -> None:
        pieces, write = self.pieces, self.write
        pieces.append(opening)
        for value in values:
            kind = type(value)
            # The bulk of them, and no part of a name is ever taken for the end of it: repr sets quotes.
            if kind is str or value is None or kind is bool or kind is int:
                pieces.append(repr(value))
            else:
                write(value)
            pieces.append(",")
        pieces.append(")")


@cache
def _values(kind: type):
    """How to take the values out of a dataclass; None for any other kind."""
    names = (
        [f.name for f in fields(kind) if f.name not in _FOLLOWS and f.name not in _APART.get(kind, ())]
        if is_dataclass(kind)
        else []
    )
    return None if not names else attrgetter(*names) if len(names) > 1 else lambda value: (getattr(value, names[0]),)
