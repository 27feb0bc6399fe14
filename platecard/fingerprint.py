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
from itertools import count, islice
from operator import attrgetter
from weakref import WeakKeyDictionary

from . import __version__
from .knowledge.laws import Law
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


def _digest(prepared: Prepared, with_places: bool) -> str:
    """The digest with or without places; both are made at once and remembered with the kitchen."""
    memo = _MEMO.setdefault(prepared.world.pantry, _Memo())
    known = memo.digests.get(prepared.key)
    what = (prepared.dish, prepared.resolved, prepared.world.kitchen.settings, prepared.statements, prepared.cautions)
    if known is None or any(a is not b for a, b in zip(known[0], what)):
        writer = _Writer(memo.trees)
        writer.write(what)
        known = memo.digests[prepared.key] = (what, *(hashlib.sha256((__version__ + t).encode()).hexdigest() for t in writer.texts(0, 0)))
    return known[1 if with_places else 2]


class _Memo:
    """What has been written out of one kitchen: digests by dish, and texts of the trees that dishes share."""

    def __init__(self):
        self.digests: dict[str, tuple[tuple, str, str]] = {}
        self.trees: dict[int, tuple[object, str, str, list[int]]] = {}


_MEMO: WeakKeyDictionary[Pantry, _Memo] = WeakKeyDictionary()


class _Writer:
    """Writes values out; an object met again is referred to by the number of its first place.

    A batch or a law is the same text in every dish, unless it refers to something
    outside itself, so its text is kept in ``trees``, with the objects that it numbers.
    """

    def __init__(self, trees: dict[int, tuple[object, str, str, list[int]]]):
        self.trees = trees
        self.pieces: list[str] = []
        self.placeless: list[tuple[int, str]] = []  # the pieces that differ where places are left out
        self.seen: dict[int, int] = {}
        self.references = 0

    def texts(self, piece: int, swap: int) -> tuple[str, str]:
        """What is written from there on, with and without places."""
        pieces = self.pieces[piece:]
        with_places = "".join(pieces)
        for index, text in self.placeless[swap:]:
            pieces[index - piece] = text
        return with_places, "".join(pieces)

    def write(self, value: object) -> None:
        kind = type(value)
        if kind is Span:
            self.placeless.append((len(self.pieces), ""))
            self.pieces.append(str(value))
        elif kind is tuple or kind is list:
            self.row("[", value, "]")
        elif kind is dict:
            self.row("[", list(value.items()), "]")
        elif (values_of := _values(kind)) is None:
            self.pieces.append(repr(value))
        elif (number := self.seen.get(id(value))) is not None:
            self.references += 1
            self.pieces.append(f"@{number}")
        elif kind is Batch or kind is Law:
            self.tree(value, values_of(value))
        else:
            self.seen[id(value)] = len(self.seen)
            self.row(f"{kind.__name__}(", values_of(value), ")")

    def row(self, opening: str, values: tuple | list, closing: str) -> None:
        put, write = self.pieces.append, self.write
        put(opening)
        for value in values:
            if value is None or type(value) is str:
                put(repr(value))
            else:
                write(value)
            put(",")
        put(closing)

    def tree(self, value: object, values: tuple) -> None:
        kept = self.trees.get(id(value))
        if kept is not None and self.seen.keys().isdisjoint(kept[3]):
            self.placeless.append((len(self.pieces), kept[2]))
            self.pieces.append(kept[1])
            self.seen.update(zip(kept[3], count(len(self.seen))))
            return
        before = len(self.pieces), len(self.placeless), len(self.seen), self.references
        self.seen[id(value)] = len(self.seen)
        self.row(f"{type(value).__name__}(", values, ")")
        if self.references == before[3]:
            self.trees[id(value)] = (value, *self.texts(*before[:2]), list(islice(self.seen, before[2], None)))


@cache
def _values(kind: type):
    """How to take the values out of a dataclass; None for any other kind."""
    names = [f.name for f in fields(kind)] if is_dataclass(kind) else []
    return None if not names else attrgetter(*names) if len(names) > 1 else lambda value: (getattr(value, names[0]),)
