"""One plating step being laid: its sizes, its places, and which way its pieces face.

A :class:`~platecard.layout.pattern.Pattern` turns it into spots.

Where the chef does not say which way a piece faces, its long axis points:

* ``fan``, ``arc``, ``ring``: along the curve, so that pieces follow each other; shapes
  with a tip (leaf, frond, flower, wedge) point outward on an arc or a ring.
* ``line``: along the line.
* ``scatter``: any way, as if thrown, but always the same for the same spec, and turned with its place.
* ``one``, ``stack``: across the plate, the long side towards the guest; shapes with a
  tip point away from the guest.
* on another component: the way that piece lies; shapes with a tip any way.
* standing pieces: the face looks towards the guest; on an arc or a ring outward.
* ``row``, ``grid``: side by side, the long axis at right angles to the row; ``leaning``: back
  against the piece before.

A standing piece stands on its end: its footprint is its width by its thickness, and
``axis_deg`` is the way its face looks.  A leaning piece leans at about 60°, so half its
length shows from above.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple, TypeVar

from platecard.diagnostics import Problem, error
from platecard.layout import geometry2d, plate_geometry, shapes
from platecard.layout.footprint import Footprint, clock_of, polar
from platecard.layout.geometry2d import Outline, Point, moved
from platecard.layout.pattern import POURED, PULLED, Pattern
from platecard.layout.scatter import Reach
from platecard.model import Distance, Place, Plate, Step

_T = TypeVar("_T")


class Spot(NamedTuple):
    """Where one piece goes: its middle, the way its long axis points in degrees, and the layers below it.

    ``outline`` is set only where the piece bends, as a swipe along an arc does.
    """

    x: float
    y: float
    axis: float
    level: int = 0
    outline: Outline = ()


class Cannot(Exception):
    """A step cannot be laid; carries the problem, or None where the reader of the spec has already reported it."""

    def __init__(self, problem: Problem | None = None) -> None:
        super().__init__(problem.message if problem else "")
        self.problem = problem


def how_much(step: Step) -> Problem:
    """The error for a move that does not say how much of something there is."""
    return error(
        "how-much",
        step.span,
        f"'{step.put}' has neither a piece nor an amount",
        "add one, for example piece: {shape: disc, size: 22 mm, weight: 4 g}, or amount: 45 ml",
    )


def no_shape(step: Step) -> Problem:
    """The error for a piece whose shape is not given."""
    return error(
        "no-shape",
        step.span,
        f"'{step.put}' has an amount but no shape to draw",
        "add arrange: pool and, for its diameter, across: 50 mm; or piece: with its shape and size",
    )


class Bench:
    """One step being laid: its sizes in mm as floats, and its places.

    ``hosts`` are the pieces that it lies on, ``near`` those that it goes beside, under, around
    or between, and ``near_pattern`` how those are arranged; ``turn`` counts the steps of the same
    component before this one.  ``pattern`` is None where nobody knows such an arrangement.
    """

    def __init__(
        self,
        step: Step,
        plate: Plate,
        hosts: list[Footprint],
        called: str,
        turn: int,
        pattern: Pattern | None,
        near: Sequence[Footprint] = (),
        near_pattern: Pattern | None = None,
    ) -> None:
        self.step, self.hosts, self.called, self.turn = step, hosts, called, turn
        self.pattern, self.near, self.near_pattern = pattern, list(near), near_pattern
        self.edge = plate_geometry.well(plate)
        self.stance = pattern.stance if pattern and pattern.stance else step.facing.stance
        self.level = 1 + max((h.level for h in hosts), default=-1)
        self.height: float | None = None
        if pattern and pattern.laid == POURED:
            across = step.across_mm or (step.piece.length_mm if step.piece else None)
            across = self.need(across, "across", "no-shape", f"the {called} has no size to draw", "add across: 120 mm")
            self.shape = pattern.shape
            self.length = self.width = float(across)
            if step.piece and not step.across_mm:
                self.width = float(step.piece.width_mm)
        elif pattern and pattern.laid == PULLED and step.piece is None:
            width = self.need(
                step.across_mm, "across", "no-shape", f"the {self.called} has no width to draw", "add across: 28 mm"
            )
            self.shape = pattern.shape
            self.length = self.width = float(width)
        else:
            piece = step.piece
            if piece is None or piece.shape not in shapes.SHAPES and not piece.points:
                raise Cannot(self._no_piece())
            self.shape = piece.shape
            if piece.points and (corner := geometry2d.crossing(piece.points)):
                raise Cannot(
                    error(
                        "crosses-itself",
                        piece.points_span or piece.span,
                        f"the outline of {self.called} crosses itself near {corner[0]:g} {corner[1]:g}",
                        "list its corners in the order a knife would cut them",
                    )
                )
            self.length, self.width = float(piece.length_mm), float(piece.width_mm)
            if piece.height_mm is not None:
                self.height = float(piece.height_mm)
            self._stand(self.stance)

    def _stand(self, stance: str) -> None:
        """Turn the size of a piece that does not lie flat into that of its footprint and its height."""
        if stance == "standing":
            # A solid shape is as thick as it is wide; a leaf or tuile seen from above is a thin line.
            thick = self.height or (self.width if self.shape in shapes.SOLID else min(2.5, self.width))
            self.length, self.height = thick, self.length
            self.shape = self.shape if thick > 0.5 * self.width else "bar"
        elif stance == "leaning":
            self.length, self.height = self.length * 0.5, self.length * 0.87

    def _no_piece(self) -> Problem | None:
        """The problem of a step without a piece to draw; None where the reader has already reported one.

        Its words are those of the reader, so that nobody is told the same thing twice.
        """
        step = self.step
        if "piece" in step.places:
            return None
        return how_much(step) if step.amount is None else no_shape(step)

    def need(self, value: _T | None, key: str, slug: str, message: str, hint: str) -> _T:
        """``value``; :class:`Cannot` where it is missing, without a problem where it was written but not readable."""
        if value is None:
            # The distance from the centre is written under ``out``, whichever key it is for.
            unread = ("out" if slug == "how-far-out" else key) in self.step.places
            raise Cannot(None if unread else error(slug, self.step.place(key), message, hint))
        return value

    # --- places

    def local(self, index: int = 0, which: int = 0) -> Outline:
        """The outline of piece number ``index`` before it is turned and moved; ``which`` is its variant."""
        k = self.grade(index)
        piece = self.step.piece
        if piece is not None and self.shape == "outline":
            return shapes.fitted([(float(x), float(y)) for x, y in piece.points], k * self.length, k * self.width)
        hole = k * float(piece.hole_mm) if piece and piece.hole_mm else None
        return shapes.outline(self.shape, k * self.length, k * self.width, which, hole)

    def grade(self, index: int) -> float:
        """The size of piece number ``index`` as a share of that of the first piece."""
        piece, n = self.step.piece, self.step.count
        if piece is None or piece.last_mm is None or n < 2:
            return 1.0
        return 1.0 + (float(piece.last_mm / piece.length_mm) - 1.0) * index / (n - 1)

    def shares(self, way_mm: float, is_closed: bool = False) -> list[float]:
        """Where the middles lie along a path, as shares of it: evenly, or with even gaps between graded pieces."""
        n = self.step.count
        if self.step.piece is None or self.step.piece.last_mm is None or n < 2 or way_mm <= 0:
            return [i / n if is_closed else i / (n - 1) if n > 1 else 0.5 for i in range(n)]
        radii = [self.grade(i) * self.length / 2 for i in range(n)]
        pairs = [a + b for a, b in zip(radii, radii[1:] + radii[: int(is_closed)])]
        gap = (way_mm - sum(pairs)) / len(pairs)
        found = [0.0]
        for pair in pairs[: n - 1]:
            found.append(found[-1] + (pair + gap) / way_mm)
        return found

    def mm(self, distance: Distance, clock_deg: float = 0.0) -> float:
        """A distance from the centre in mm; a share is of the distance to the edge of the well in that direction."""
        return float(distance.value) * (self.edge.reach(clock_deg) if distance.is_share else 1.0)

    def point(self, spot: Place | None, key: str) -> Point:
        """A place as (x, y); ``key`` is where it is written, for the problem if it is missing."""
        spot = self.need(
            spot,
            key,
            "no-place",
            f"the {self.called} has no '{key}'",
            "write a clock position such as 2:30, centre, or {right: 20 mm, away: 10 mm}",
        )
        if spot.clock_deg is None:
            return float(spot.right_mm or 0), float(spot.away_mm or 0)
        out = self.need(
            spot.out or self.step.out,
            key,
            "how-far-out",
            f"'{key}' of the {self.called} gives a direction, but not how far out",
            "add out: 30 mm, or a share of the well such as out: 45 %",
        )
        return polar(float(spot.clock_deg), self.mm(out, float(spot.clock_deg)))

    # --- facing

    def axis(self, x: float, y: float, unsaid: float) -> float:
        """Where the long axis points at (x, y), in degrees: as the chef says, else ``unsaid``.

        At the very centre, where no direction is outward, 12 o'clock stands for it.
        """
        facing = self.step.facing
        out = clock_of(x, y)
        match facing.points:
            case "":
                return unsaid % 360
            case "clock":
                return float(facing.clock_deg or 0)
            case "guest":
                return 180.0
            case "away":
                return 0.0
            case "clockwise":
                return (out + 90) % 360
            case "anticlockwise":
                return (out - 90) % 360
            case "in":
                return (out + 180) % 360
            case _:
                return out

    @property
    def tipped(self) -> bool:
        """Whether the shape has a tip."""
        return self.shape in shapes.POINTED

    @property
    def stands(self) -> bool:
        """Whether the pieces stand on end."""
        return self.stance == "standing"

    def _at_rest(self) -> float:
        """The axis of a single piece: its long side towards the guest, or the face of a standing piece."""
        return 180.0 if self.stands else 0.0 if self.tipped or self.shape == "outline" else 90.0

    def round_axis(self, x: float, y: float) -> float:
        """The axis of a piece on a curve about the origin."""
        out = clock_of(x, y)
        follows = self.pattern is not None and self.pattern.tips_follow
        return self.axis(x, y, out if self.stands or self.tipped and not follows else out + 90)

    # --- footprints

    def footprint(self, index: int, spot: Spot) -> Footprint:
        """Piece number ``index`` laid at ``spot``."""
        step = self.step
        which = shapes.variant(step.put, index + 1000 * self.turn) if self.shape in shapes.IRREGULAR else 0
        x, y = round(spot.x, 6) + 0.0, round(spot.y, 6) + 0.0
        k = self.grade(index)
        height = None if self.height is None else k * self.height
        return Footprint(
            step.put,
            step.index,
            index,
            self.shape,
            spot.outline or moved(self.local(index, which), spot.axis, x, y),
            (x, y),
            spot.axis % 360,
            k * self.length,
            k * self.width,
            height,
            self.stance,
            step.facing.up,
            spot.level,
            step.span,
        )

    # --- one place, and what is the same in several arrangements

    def single(self) -> list[Spot]:
        """One piece at its own place, else in the middle of what it lies on, else in that of the plate."""
        x, y = self.home()
        unsaid = self._at_rest()
        if len(self.hosts) == 1 and not self.tipped and not self.stands and self.hosts[0].radius_mm is None:
            unsaid = self.hosts[0].axis_deg
        return [Spot(x, y, self.axis(x, y, unsaid), self.level)]

    def home(self) -> Point:
        """The middle of what is laid: its own place, or that of what it belongs to."""
        if self.near:
            if self.step.under and self.step.at:
                return self.point(self.step.at, "at")
            n = len(self.near)
            return sum(h.centre[0] for h in self.near) / n, sum(h.centre[1] for h in self.near) / n
        if self.step.at:
            return self.point(self.step.at, "at")
        if self.hosts:
            n = len(self.hosts)
            return sum(h.centre[0] for h in self.hosts) / n, sum(h.centre[1] for h in self.hosts) / n
        return 0.0, 0.0

    def bearing(self, x: float, y: float) -> float:
        """The direction of a place from the centre, by which scattered pieces there are turned.

        0 on a plate that is not round, since nothing on it is turned.
        """
        return clock_of(x, y) if self.edge.is_circle else 0.0

    def thrown(self, count: int) -> list[float]:
        """The axes of pieces as if thrown at 12:00: each turned well away from the one before, no two alike."""
        if self.stands:
            return [180.0] * count
        dice = shapes.chance(self.step.put, self.turn, "turn")
        start = next(dice) * 360
        return [start + 137.508 * i + 50 * (next(dice) - 0.5) for i in range(count)]

    def every_local(self) -> Outline:
        """The points of the first piece's outline; for an irregular shape, those of all its variants."""
        outline = self.local()
        for which in range(1, shapes.VARIANTS if self.shape in shapes.IRREGULAR else 0):
            outline += self.local(0, which)
        return outline

    def reach(self) -> Reach:
        """The room that a piece needs round its middle, whichever variant it is."""
        return Reach.around(self.every_local())
