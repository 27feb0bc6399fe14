"""A short fingerprint of everything that a document was made from.

Values are written out in a canonical form and hashed; places in files are left out
of what is printed (a comment added above changes no card) and kept in the key that
decides whether a document is out of date (its diagram names spec lines).
"""

from __future__ import annotations

import hashlib
from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from functools import cache
from operator import attrgetter
from weakref import WeakKeyDictionary

from . import __version__
from .allergens.statement import ABSENT, Statement
from .handling import Handling
from .knowledge.catalogue import Entry
from .knowledge.laws import Law
from .model import Component, Dish, Product, Settings
from .pipeline import Prepared
from .problems import Span
from .recipes import Batch, Pantry


def of(prepared: Prepared) -> str:
    """Eight hex digits, printed on the document."""
    return _digest(prepared, with_places=False)[:8]


def key(prepared: Prepared, extra: str = "") -> str:
    """The full key of a dish's documents."""
    return hashlib.sha256((_digest(prepared, with_places=True) + extra).encode()).hexdigest()


def of_menu(menu: Iterable[Prepared]) -> str:
    """The full key of the menu's documents."""
    state = hashlib.sha256()
    for prepared in menu:
        state.update(f"{prepared.key} {prepared.is_sound} {_digest(prepared, with_places=False)} ".encode())
    return state.hexdigest()


def forget(prepared: Prepared) -> None:
    """The dish is done with: what was remembered of it would keep all of it in memory."""
    _MEMO.setdefault(prepared.world.pantry, _Memo()).digests.pop(prepared.key, None)


def _digest(prepared: Prepared, with_places: bool) -> str:
    """The digest with or without places; both are made at once and remembered with the kitchen."""
    memo = _MEMO.setdefault(prepared.world.pantry, _Memo())
    what = (prepared.dish, prepared.resolved, prepared.world.kitchen.settings, prepared.statements, prepared.cautions, prepared.basis.reached, prepared.told)
    same = (*what, prepared.offered)
    known = memo.digests.get(prepared.key)
    if known is None or any(a is not b for a, b in zip(known[0], same)):
        # Of a swap its part is enough: the plate is the dish's own.
        known = memo.digests[prepared.key] = (same, *_Writer(memo.shared).digests((*what, [swap.parts for swap in prepared.offered])))
    return known[2 if with_places else 1]


class _Memo:
    """What has been written out of one kitchen: digests by dish, and of what its dishes share."""

    def __init__(self):
        self.digests: dict[str, tuple[tuple, str, str]] = {}
        self.shared: dict[int, tuple[object, str, str]] = {}


_MEMO: WeakKeyDictionary[Pantry, _Memo] = WeakKeyDictionary()
_SHARED = (Batch, Law, Settings, Product, Entry, Handling)  # what many dishes hold: digested once for a kitchen
_FOLLOWS = ("reasons", "chain")  # what leads to a finding lies in the dish, its swaps and the other dishes of the menu, each digested itself
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
        said = hashlib.sha256(f"{__version__}{''.join(self.pieces)}".encode()).hexdigest()
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
            self.row("Statement", (value.law, tuple(f for f in value.findings if f.presence != ABSENT or f.note), value.also, value.exempted, value.relies_on))
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
    names = [f.name for f in fields(kind) if f.name not in _FOLLOWS] if is_dataclass(kind) else []
    return None if not names else attrgetter(*names) if len(names) > 1 else lambda value: (getattr(value, names[0]),)
