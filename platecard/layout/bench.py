"""One step of the plating, laid: each arrangement turns counts and places into spots.

Which way the long axis points where the chef says nothing:

* ``fan``, ``arc``, ``ring``: along the curve, so that pieces follow each other; kinds
  with a tip (leaf, frond, flower, wedge) look outward on an arc or a ring.
* ``line``: along the line.
* ``scatter``: any way, as thrown, but always the same way for the same spec.
* ``one``, ``stack``: level before the guest, the long side towards them; kinds with a
  tip away from the guest.
* on another component: as that piece lies; kinds with a tip any way.
* standing pieces: the face towards the guest; on an arc or a ring outward.

A standing piece stands on its end: its footprint is its width by its thickness, and
``axis_deg`` is the way its face looks.  A leaning one leans at about 60°, so half its
length shows.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

from ..model import Distance, Place, Plate, Step
from ..problems import Problem, error
from . import shapes
from .footprint import Footprint, clock_of, polar
from .planar import Point, moved
from .scatter import Reach, Zone, scatter


@dataclass(frozen=True, slots=True)
class _Spot:
    """Where one piece goes: its middle, its long axis, the layers below it."""

    x: float
    y: float
    axis: float
    level: int = 0


class Cannot(Exception):
    """A step that has no place; carries the problem, or None where the reader of the spec has told it."""

    def __init__(self, problem: Problem | None = None):
        super().__init__(problem.message if problem else "")
        self.problem = problem


class Bench:
    """One step being laid: its sizes as floats, and a method for each arrangement.

    ``hosts`` are the pieces that it lies on; ``turn`` counts the steps of the same
    component before this one.
    """

    def __init__(self, step: Step, plate: Plate, hosts: list[Footprint], called: str, turn: int):
        self.step, self.hosts, self.called, self.turn = step, hosts, called, turn
        self.well = float(plate.well_mm) / 2
        self.level = 1 + max((h.level for h in hosts), default=-1)
        if step.arrange == "pool":
            across = step.across_mm or (step.piece.length_mm if step.piece else None)
            self._need(across, "across", "no-shape", f"the {called} has no size to draw", "add across: 120 mm")
            self.shape, self.height = "pool", None
            self.length = self.width = float(across)
            if step.piece and not step.across_mm:
                self.width = float(step.piece.width_mm)
        else:
            piece = step.piece
            if piece is None or piece.shape not in shapes.SHAPES:
                raise Cannot(self._no_piece())
            self.shape = piece.shape
            self.length, self.width = float(piece.length_mm), float(piece.width_mm)
            self.height = float(piece.height_mm) if piece.height_mm is not None else None
            self._stand(step.facing.stance)

    def _stand(self, stance: str) -> None:
        """The footprint of a piece that does not lie flat."""
        if stance == "standing":
            # What is thick all round stands as thick as it is wide; a leaf or tuile is a thin line.
            solid = self.shape in ("bar", "cube", "quenelle", "wedge", "fillet")
            thick = self.height or (self.width if solid else min(2.5, self.width))
            self.length, self.height = thick, self.length
            self.shape = self.shape if thick > 0.5 * self.width else "bar"
        elif stance == "leaning":
            self.length, self.height = self.length * 0.5, self.length * 0.87

    def _no_piece(self) -> Problem | None:
        """The words are the reader's own, so that nobody is told the same thing twice."""
        step = self.step
        if "piece" in step.places:
            return None
        if step.amount is None:
            return error("how-much", step.span, f"'{step.put}': neither a piece nor an amount is said", "for example piece: {shape: disc, size: 22 mm, weight: 4 g} or amount: 45 ml")
        return error("no-shape", step.span, f"'{step.put}' has an amount but no shape to draw", "add piece: {shape, size}, or arrange: pool with across")

    def _need(self, value, key: str, slug: str, message: str, hint: str) -> None:
        """Give up the step where something is missing; silently where it was written but could not be read."""
        if value is None:
            unread = slug != "how-far-out" and key in self.step.places
            raise Cannot(None if unread else error(slug, self.step.place(key), message, hint))

    # --- places

    def mm(self, distance: Distance) -> float:
        """A distance from the centre in mm."""
        return float(distance.value) * (self.well if distance.is_share else 1.0)

    def point(self, spot: Place | None, key: str) -> Point:
        """A place as (x, y)."""
        self._need(spot, key, "no-place", f"the {self.called} has no '{key}'", "a clock position such as 2:30, centre, or {right: 20 mm, away: 10 mm}")
        if spot.clock_deg is None:
            return float(spot.right_mm or 0), float(spot.away_mm or 0)
        out = spot.out or self.step.out
        self._need(out, key, "how-far-out", f"'{key}' of the {self.called} is a direction, but not how far out", "add out: 30 mm, or a share of the well such as out: 45 %")
        return polar(float(spot.clock_deg), self.mm(out))

    # --- facing

    def axis(self, x: float, y: float, unsaid: float) -> float:
        """Where the long axis points at (x, y): as the chef says, else ``unsaid``.

        At the very centre, where there is no outward, 12 o'clock stands for it.
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
    def _tipped(self) -> bool:
        return self.shape in shapes.POINTED

    @property
    def _stands(self) -> bool:
        return self.step.facing.stance == "standing"

    def _at_rest(self) -> float:
        """The axis of a single piece: its long side, or the face of a standing one, to the guest."""
        return 180.0 if self._stands else 0.0 if self._tipped else 90.0

    def _round_axis(self, x: float, y: float) -> float:
        out = clock_of(x, y)
        return self.axis(x, y, out if self._stands or self._tipped and self.step.arrange != "fan" else out + 90)

    # --- arrangements

    def lay(self) -> tuple[list[Footprint], list[Problem]]:
        ways: dict[str, Callable[[], list[_Spot]]] = {
            "one": self.one, "line": self.line, "arc": self.arc, "fan": self.arc, "ring": self.ring,
            "stack": self.stack, "scatter": self.scatter, "pool": self.single,
        }
        spots = ways.get(self.step.arrange, self.one)()
        problems = []
        if len(spots) < self.step.count and self.step.arrange != "pool":
            problems.append(self._too_many(len(spots)))
        return [self._footprint(i, spot) for i, spot in enumerate(spots)], problems

    def _footprint(self, index: int, spot: _Spot) -> Footprint:
        step = self.step
        which = shapes.variant(step.put, index + 1000 * self.turn) if self.shape in shapes.IRREGULAR else 0
        x, y = round(spot.x, 6) + 0.0, round(spot.y, 6) + 0.0
        return Footprint(
            step.put, step.index, index, self.shape,
            moved(shapes.outline(self.shape, self.length, self.width, which), spot.axis, x, y), (x, y), spot.axis % 360,
            self.length, self.width, self.height, step.facing.stance, step.facing.up, spot.level, step.span)

    def one(self) -> list[_Spot]:
        if self.step.count > 1:
            if self.hosts:
                return self.shared_out()
            raise Cannot(error("how-arranged", self.step.place("count"), f"{self.step.count} pieces of '{self.step.put}', but not how they lie",
                                "say arrange: line, arc, ring, fan, stack or scatter"))
        return self.single()

    def single(self) -> list[_Spot]:
        """One piece: at its own place, else in the middle of what it lies on, else of the plate."""
        x, y = self._home()
        unsaid = self._at_rest()
        if len(self.hosts) == 1 and not self._tipped and not self._stands and self.hosts[0].radius_mm is None:
            unsaid = self.hosts[0].axis_deg
        return [_Spot(x, y, self.axis(x, y, unsaid), self.level)]

    def _home(self) -> Point:
        if self.step.at:
            return self.point(self.step.at, "at")
        if self.hosts:
            n = len(self.hosts)
            return sum(h.centre[0] for h in self.hosts) / n, sum(h.centre[1] for h in self.hosts) / n
        return 0.0, 0.0

    def stack(self) -> list[_Spot]:
        (foot,) = self.single()
        return [_Spot(foot.x, foot.y, foot.axis, foot.level + i) for i in range(self.step.count)]

    def line(self) -> list[_Spot]:
        (x0, y0), (x1, y1) = self.point(self.step.start, "from"), self.point(self.step.end, "to")
        n = self.step.count
        unsaid = 180.0 if self._stands else clock_of(x1 - x0, y1 - y0)
        spots = []
        for i in range(n):
            t = i / (n - 1) if n > 1 else 0.5
            x, y = x0 + t * (x1 - x0), y0 + t * (y1 - y0)
            spots.append(_Spot(x, y, self.axis(x, y, unsaid), self.level))
        return spots

    def arc(self) -> list[_Spot]:
        """An arc or a fan: from one clock position to another, clockwise unless said."""
        first, last = self.point(self.step.start, "from"), self.point(self.step.end, "to")
        start, end = clock_of(*first), clock_of(*last)
        sweep = -((start - end) % 360) if self.step.anticlockwise else (end - start) % 360
        n = self.step.count
        # From a place to the same place is once round, and the last piece must not lie on the first.
        closed = abs(sweep) < 1e-6 or abs(sweep) > 360 - 1e-6
        if closed:
            sweep = -360.0 if self.step.anticlockwise else 360.0
        r0, r1 = math.hypot(*first), math.hypot(*last)
        spots = []
        for i in range(n):
            t = i / n if closed else i / (n - 1) if n > 1 else 0.5
            x, y = polar(start + t * sweep, r0 + t * (r1 - r0))
            spots.append(_Spot(x, y, self._round_axis(x, y), self.level))
        return spots

    def ring(self) -> list[_Spot]:
        """All round, the first at ``at`` or 12:00; round a single piece it lies on, else round the plate's centre.

        An ``at`` in millimetres is the middle of the ring.
        """
        step = self.step
        self._need(step.out, "out", "how-far-out", f"the ring of {self.called} has no size", "add out: 30 mm, the distance from its middle")
        start, middle = 0.0, (0.0, 0.0)
        if step.at and step.at.clock_deg is not None:
            start = float(step.at.clock_deg)
        elif step.at or len(self.hosts) == 1:
            middle = self._home()
        turn = -1 if step.anticlockwise else 1
        spots = []
        for i in range(step.count):
            x, y = polar(start + turn * 360 * i / step.count, self.mm(step.out))
            spots.append(_Spot(middle[0] + x, middle[1] + y, self._round_axis(x, y), self.level))
        return spots

    def shared_out(self) -> list[_Spot]:
        """Several pieces over the pieces they lie on: evenly, then side by side on the same one."""
        n, m = self.step.count, len(self.hosts)
        homes = [(2 * i + 1) * m // (2 * n) for i in range(n)]
        thrown = self._thrown(n)
        spots = []
        for i, home in enumerate(homes):
            host = self.hosts[home]
            dx, dy = _beside(host, homes[:i].count(home), homes.count(home))
            x, y = host.centre[0] + dx, host.centre[1] + dy
            unsaid = 180.0 if self._stands else thrown[i] if self._tipped or host.radius_mm is not None else host.axis_deg
            spots.append(_Spot(x, y, self.axis(x, y, unsaid), host.level + 1))
        return spots

    def _thrown(self, count: int) -> list[float]:
        """Axes as if thrown: each well turned from the one before, no two alike."""
        if self._stands:
            return [180.0] * count
        dice = shapes.chance(self.step.put, self.turn, "turn")
        start = next(dice) * 360
        return [start + 137.508 * i + 50 * (next(dice) - 0.5) for i in range(count)]

    def scatter(self) -> list[_Spot]:
        step = self.step
        outline = shapes.outline(self.shape, self.length, self.width)
        for which in range(1, shapes.VARIANTS if self.shape in shapes.IRREGULAR else 0):
            outline += shapes.outline(self.shape, self.length, self.width, which)
        reach = Reach.around(outline)
        # A piece must stay in the well, so its middle keeps half its length from the edge.
        edge = max(0.0, self.well - reach.half - reach.radius)
        inner, outer, start, sweep = 0.0, edge, 0.0, 360.0
        if step.within:
            inner, outer = self.mm(step.within.inner), min(self.mm(step.within.outer), max(edge, self.mm(step.within.inner)))
            if self.mm(step.within.outer) < inner:
                raise Cannot(error("empty-region", step.place("within"), f"the region for the {self.called} is empty", "its outer distance is smaller than its inner one"))
            if step.within.from_deg is not None and step.within.to_deg is not None:
                start = float(step.within.from_deg)
                sweep = float(step.within.to_deg - step.within.from_deg) % 360 or 360.0
        hosts = [_inset(h, reach) for h in self.hosts]
        zone = Zone(inner, outer, start, sweep, tuple(h for h in hosts if len(h) > 3), tuple(h for h in hosts if len(h) == 3))
        seed = (step.put, self.turn)
        thrown = self._thrown(step.count)
        spots = scatter(step.count, reach, float(step.gap_mm or 0), zone, seed, lambda i, x, y: self.axis(x, y, thrown[i % len(thrown)]))
        return [_Spot(x, y, axis, self.level) for x, y, axis in spots]

    def _too_many(self, fitted: int) -> Problem:
        gap = f" {float(self.step.gap_mm):g} mm apart" if self.step.gap_mm else " side by side"
        return error("does-not-fit", self.step.place("count"), f"{fitted} of the {self.step.count} pieces of {self.called} fit{gap} in their region",
                     f"put {fitted} or fewer, or give them a wider region" + (" or a smaller gap" if self.step.gap_mm else ""))


def _inset(host: Footprint, reach: Reach):
    """Where middles may lie so that pieces stay on the host, if it is large enough for them.

    An outline, or for a round host (x, y, radius).
    """
    for edge in (reach.radius + reach.half, reach.radius):
        length, width = host.length_mm - 2 * edge, host.width_mm - 2 * edge
        if min(length, width) > edge:
            break
    else:
        length, width = host.length_mm, host.width_mm
    if host.radius_mm:
        return (*host.centre, length / 2)
    if host.shape in shapes.IRREGULAR or length == host.length_mm:
        return host.outline
    return moved(shapes.outline(host.shape, length, width), host.axis_deg, *host.centre)


def _beside(host: Footprint, number: int, of: int) -> Point:
    """Where piece ``number`` of several on one host lies from its middle: along it, or spread on a round one."""
    if of == 1:
        return 0.0, 0.0
    if host.length_mm > 1.3 * host.width_mm:
        return polar(host.axis_deg, host.length_mm * ((number + 0.5) / of - 0.5))
    # Each turns on by the golden angle and goes out as the root of its number: even by area.
    return polar(137.508 * number, 0.38 * host.width_mm * math.sqrt((number + 0.5) / of))
