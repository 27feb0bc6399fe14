"""What there is to know about one arrangement: how its pieces are placed, what it is told, how a cook reads it.

Each is one :class:`Pattern` in :mod:`platecard.layout.arrangements`, and everything else asks it: the reader,
the checks, the cards, the schema and the guide.  (:class:`~platecard.layout.footprint.Arrangement` is a laid plate.)
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Final, Literal

from platecard.diagnostics import Problem
from platecard.layout.footprint import Fault, Footprint
from platecard.model import Plate, Step

if TYPE_CHECKING:
    from platecard.layout.placing import Bench, Spot

Laid = Literal["counted", "poured", "pulled"]
COUNTED: Final = "counted"
POURED: Final = "poured"  # a sauce, whose edge is all that is given
PULLED: Final = "pulled"  # a sauce drawn out from one place to another

Order = Literal["none", "straight", "curved", "closed"]
NONE: Final = "none"
STRAIGHT: Final = "straight"
CURVED: Final = "curved"  # about the centre of the plate
CLOSED: Final = "closed"  # the last is the neighbour of the first


def no_rules(step: Step) -> list[Problem]:
    """Nothing that the keys of a step must keep to."""
    return []


def no_faults(step: Step, pieces: list[Footprint], name: str) -> Iterator[Fault]:
    """Nothing to find in the laid pieces."""
    return iter(())


def not_counted(step: Step, hosts: Sequence[Footprint]) -> str:
    """No words: the pieces lie in no order that could be counted through."""
    return ""


def no_words(step: Step, pieces: Sequence[Footprint]) -> str:
    """No words: the picture is described without them."""
    return ""


def more_room(step: Step, pieces: list[Footprint]) -> str:
    """What gives the pieces more room, where no figure can be given."""
    return "use fewer, or move them apart"


@dataclass(frozen=True, slots=True, kw_only=True)
class Pattern:
    """One arrangement.

    ``place`` turns a step into the spots of its pieces, ``said`` into words on the card (empty where its place
    alone says it), ``pictured`` several laid pieces into words that describe the picture.  ``meaning`` is its line
    in the guide.

    ``uses`` are those keys it takes which not every arrangement takes, ``needs`` those that the schema asks for,
    and ``rules`` finds what the schema cannot.
    """

    name: str
    meaning: str
    place: Callable[[Bench], list[Spot]]
    said: Callable[[Step, Plate | None], str]
    pictured: Callable[[Step, Sequence[Footprint]], str]
    uses: frozenset[str]
    needs: tuple[str, ...] = ()
    rules: Callable[[Step], list[Problem]] = no_rules
    checks: Callable[[Step, list[Footprint], str], Iterator[Fault]] = no_faults
    """What is wrong with its laid pieces, beyond what is checked of all."""
    room: Callable[[Step, list[Footprint]], str] = more_room
    """A hint at what would give the pieces enough room."""
    counting: Callable[[Step, Sequence[Footprint]], str] = not_counted
    """Where to start counting the pieces, and which way; empty where they lie in no order."""
    laid: Laid = COUNTED
    shape: str = ""
    """The shape of what is laid without a piece."""
    across: str = "across"
    """What its ``across`` measures, in words."""
    order: Order = NONE
    """The order in which other pieces can go between its own."""
    stance: str = ""
    """The stance of its pieces, where that is not the chef's to choose."""
    most: int = 0
    """How many pieces it takes at most; 0 where only the plate limits them."""
    lays_several: bool = True
    """Whether it says how several pieces lie to each other."""
    takes_graded: bool = False
    """Whether its pieces may be graded in size."""
    starts_at: bool = False
    """Whether ``at`` is where its first piece lies."""
    has_own_place: bool = False
    """Whether it has a place, about the centre, where none is given."""
    overlaps: bool = False
    """Whether its pieces lie over each other."""
    shingles: bool = False
    """Whether each piece rests on the one before."""
    stacks: bool = False
    """Whether its pieces stand on top of each other."""
    tips_follow: bool = False
    """Whether pieces with a tip point along the curve, and not outward."""
    is_group: bool = False
    """Whether it is seen as a group, in which an even number looks counted."""
