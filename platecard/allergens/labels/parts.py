"""A label's text as it was read: its parts, with what each brings, and the words left unread."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass, field
from fractions import Fraction
from typing import NamedTuple

from platecard.allergens.labels.matching import NOT
from platecard.diagnostics import Span

INSIDE, SAID, CLAIM = "inside", "statement", "claim"


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the text with its own allergens; the contents of its brackets are in ``parts``.

    ``unknown`` are nodes (or ``any``) that the text leaves open, ``forms`` the exempted
    forms that nodes take here, ``how`` the way the part was settled.  ``entries`` are the ids of
    the catalogue entries that its words were found to name.
    """

    words: str
    matched: str = ""
    nodes: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    emphasised: bool = False
    percent: Fraction | None = None
    parts: tuple[Part, ...] = ()
    how: str = NOT
    forms: tuple[tuple[str, str], ...] = ()
    entries: tuple[str, ...] = ()
    place: Span | None = field(default=None, compare=False)

    def all(self) -> Iterator[Part]:
        """The part and the contents of its brackets; a statement already speaks for its own."""
        yield self
        for part in self.parts if self.how != SAID else ():
            yield from part.all()


class Unread(NamedTuple):
    """A word of the text that could not be read, where it is, and the allergens whose names are close to it."""

    word: str
    place: Span
    near: tuple[str, ...] = ()


class ReadLabel(NamedTuple):
    """A label's text as read; nodes are in the order of the taxonomy, ``any`` first.

    ``unrecognised`` are the items of the text that hold a word of ``unread``.
    """

    parts: tuple[Part, ...] = ()
    contains: tuple[str, ...] = ()
    may_contain: tuple[str, ...] = ()
    open: tuple[str, ...] = ()
    unrecognised: tuple[str, ...] = ()
    unread: tuple[Unread, ...] = ()

    @property
    def settled(self) -> bool:
        """True if the text alone answers every question about its allergens."""
        return self.names_something and not self.open and not self.unrecognised

    @property
    def names_something(self) -> bool:
        """False for a text without an ingredient: a claim of absence is none."""
        return any(p.how != CLAIM for p in self.parts)

    def all(self) -> Iterator[Part]:
        """All parts, with the contents of their brackets."""
        return (p for part in self.parts for p in part.all())
