"""How a dish is laid on its plate: its steps, their pieces, and where each piece lies and faces."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from platecard.diagnostics import Span
from platecard.quantities.units import Quantity


@dataclass(frozen=True, slots=True)
class Distance:
    """A distance from the centre of the plate: in mm, or as a share of the well's radius (1 is its edge)."""

    value: Fraction
    is_share: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """A point on the plate.

    Either a clock position (``clock_deg``, clockwise from 12 o'clock, which points away
    from the guest) with a distance ``out`` from the centre, or millimetres to the
    right of the centre and away from the guest (``right_mm``, ``away_mm``).
    """

    clock_deg: Fraction | None = None
    out: Distance | None = None
    right_mm: Fraction | None = None
    away_mm: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Region:
    """Part of a ring: clockwise from ``from_deg`` to ``to_deg``, between two distances from the centre.

    Where both angles are None it runs all the way round.
    """

    from_deg: Fraction | None
    to_deg: Fraction | None
    inner: Distance
    outer: Distance


@dataclass(frozen=True, slots=True)
class Facing:
    """Which way a piece faces.

    ``points`` says where its long axis points: in, out, clockwise, anticlockwise, guest,
    away, or clock (then ``clock_deg`` holds the direction).  ``stance`` is flat, standing or
    leaning.  ``up`` is the side that shows, in the chef's words; ``long_side`` is where a
    long side was asked to face, if the chef said it that way.
    """

    points: str = ""
    clock_deg: Fraction | None = None
    stance: str = "flat"
    up: str = ""
    text: str = ""
    long_side: str = ""


@dataclass(frozen=True, slots=True)
class Accept:
    """What the pass accepts: drift in mm, turn in degrees, pieces more or fewer, deviation in weight as a share."""

    place_mm: Fraction | None = None
    turn_deg: Fraction | None = None
    count: int = 0
    weight: Fraction | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece as it lies on the plate.

    ``length_mm`` runs along the long axis, ``width_mm`` across it; for a round shape
    the two are equal.  ``weight_g`` is that of one piece.  ``last_mm`` is the length of
    the last of a run of graded pieces, ``hole_mm`` the inner diameter of a ring, and
    ``points`` a free outline in mm, to the right and away from the guest.
    """

    shape: str
    length_mm: Fraction
    width_mm: Fraction
    span: Span
    height_mm: Fraction | None = None
    weight_g: Fraction | None = None
    last_mm: Fraction | None = None
    hole_mm: Fraction | None = None
    points: tuple[tuple[Fraction, Fraction], ...] = ()
    points_span: Span | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One move in building the plate, in its section (plating, garnish or at_table).

    ``bends``: a direction of turning was given, so a swipe or drizzle follows the arc.
    ``beside``, ``behind``, ``under``, ``around`` and ``alternating_with`` name the
    component that this one is placed by; ``clear_mm`` is the distance to keep from it.
    """

    index: int
    section: str
    put: str
    span: Span
    places: dict[str, Span]
    count: int = 1
    piece: Piece | None = None
    amount: Quantity | None = None
    across_mm: Fraction | None = None
    arrange: str = "one"
    at: Place | None = None
    start: Place | None = None
    end: Place | None = None
    out: Distance | None = None
    anticlockwise: bool = False
    within: Region | None = None
    gap_mm: Fraction | None = None
    overlap: Fraction | None = None
    on: tuple[str, ...] = ()
    may_touch: tuple[str, ...] = ()
    beside: str = ""
    behind: str = ""
    under: str = ""
    around: str = ""
    alternating_with: str = ""
    clear_mm: Fraction | None = None
    along_deg: Fraction | None = None
    rows: int = 0
    bends: bool = False
    facing: Facing = Facing()
    accept: Accept = Accept()
    poured: str = ""
    note: str = ""

    @property
    def at_table(self) -> bool:
        """Whether the move is done at the table, after the plate has left the pass."""
        return self.section == "at_table"

    def place(self, key: str) -> Span:
        """The place of one of the step's keys, or of the step itself where it has no such key."""
        return self.places.get(key, self.span)
