"""Numbered callouts round the plate: where each stands, and where its leader ends.

All in millimetres with the plate's middle as origin, y down.  Callouts keep to a ring
outside the plate, in the corners of the square as far as they go, so that the drawing
grows little beyond its plate.  They never overlap, and leaders do not cross: with the
places fixed, two leaders that cross are swapped, which shortens them, until none do.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ..drawing import fonts
from ..layout.footprint import Arrangement, Footprint
from ..layout.planar import Point, boxes_meet, box, contains

_FREE_FOOT = 17.0  # mm either side of 6:00, kept for the guest's mark
_CLEAR = 1.6       # mm between two callouts


@dataclass(frozen=True, slots=True)
class Callout:
    """One callout: its disc, the count beside it, and the point on the food that it names."""

    component: str
    number: str
    count: str
    centre: Point
    target: Point
    side: int  # -1: the count stands to the left of the disc, 1: to the right


@dataclass(frozen=True, slots=True)
class Plan:
    """All callouts, the size of their discs, and the margins round the plate they need."""

    callouts: tuple[Callout, ...]
    disc_mm: float
    number_pt: float
    count_pt: float
    margin_x: float
    margin_y: float


def plan(arrangement: Arrangement, numbers: Mapping[str, str], least_margin: float) -> Plan:
    """Callouts for the components with a number that lie on the plate."""
    radius = float(arrangement.plate.outer_mm) / 2
    named = [c for c in arrangement.order if c in numbers and arrangement.of(c)]
    counts = {c: _count(arrangement.of(c)) for c in named}
    targets = {c: _targets(arrangement, c) for c in named}
    disc = min(17.0, max(12.0, 0.06 * 2 * radius))
    while True:
        number_pt, count_pt = disc * 1.75, disc * 1.55
        width = max((fonts.width_mm(t, count_pt, "bold") for t in counts.values() if t), default=0.0)
        for margin in range(0, 61, 6):
            mx, my = least_margin + margin, least_margin + margin / 3
            places = _places(radius, disc, width + (1.2 if width else 0.0), mx, my)
            if (found := _assign(named, targets, places, disc, width)) is not None:
                callouts = tuple(Callout(c, numbers[c], counts[c], at, target, 1 if at[0] >= 0 else -1) for c, at, target in found)
                return Plan(callouts, disc, number_pt, count_pt, mx, my)
        disc *= 0.85


def _count(pieces: tuple[Footprint, ...]) -> str:
    return f"{len(pieces)}\u00d7" if len(pieces) > 1 else ""


# --- where a leader may end ------------------------------------------------------------------------------------------


def _targets(arrangement: Arrangement, component: str) -> list[Point]:
    """Points of the component that nothing lies on (y down); its middles where all is covered."""
    prints = arrangement.footprints
    boxes = [box(f.outline) for f in prints]
    found: list[Point] = []
    for i, f in enumerate(prints):
        if f.component != component:
            continue
        over = [g.outline for g, b in zip(prints[i + 1 :], boxes[i + 1 :]) if boxes_meet(b, boxes[i])]
        shares = (0.0, 0.45, 0.72) if f.shape != "pool" else (0.93, 0.8, 0.6, 0.3)
        step = max(1, len(f.outline) // 12)
        mine: list[Point] = []
        for share in shares:
            for x, y in f.outline[:: step if share else len(f.outline)]:
                point = f.centre[0] + share * (x - f.centre[0]), f.centre[1] + share * (y - f.centre[1])
                if not any(contains(o, point) for o in over):
                    mine.append((point[0], -point[1]))
            # A middle that can be seen is the clearest; a pool may be named anywhere along its edge.
            if mine:
                break
        found += mine
    return found or [(f.centre[0], -f.centre[1]) for f in arrangement.of(component)]


# --- where a callout may stand ---------------------------------------------------------------------------------------


def _places(radius: float, disc: float, extra: float, mx: float, my: float) -> list[tuple[Point, tuple]]:
    """Middles of discs on the ring every two degrees, each with the box of disc and count, that fit in the picture."""
    ring = radius + disc / 2 + 2.0
    found = []
    for k in range(180):
        a = math.radians(2 * k)
        x, y = ring * math.sin(a), -ring * math.cos(a)
        r = disc / 2
        frame = (x - r, y - r, x + r + extra, y + r) if x >= 0 else (x - r - extra, y - r, x + r, y + r)
        if frame[0] < -radius - mx or frame[2] > radius + mx or frame[1] < -radius - my or frame[3] > radius + my:
            continue
        if y > 0 and frame[0] < _FREE_FOOT and frame[2] > -_FREE_FOOT:
            continue
        # The count must not reach back over the plate; near 12:00 and 6:00 the ring is level and it does not.
        found.append(((x, y), frame))
    return found


def _assign(named: list[str], targets: dict[str, list[Point]], places: list, disc: float, width: float):
    """A place and a target for each component, or None where the places do not suffice."""
    ideal = {c: _way_out(targets[c]) for c in named}
    taken: list[tuple] = []
    spots: dict[str, Point] = {}
    # Whoever lies furthest out has the least choice and goes first.
    for c in sorted(named, key=lambda c: (-ideal[c][1], ideal[c][0], c)):
        free = [p for p in places if not any(boxes_meet(p[1], t, _CLEAR) for t in taken)]
        if not free:
            return None
        wish = ideal[c][0]
        spot, frame = min(free, key=lambda p: (abs((_angle(p[0]) - wish + 180) % 360 - 180), p[0]))
        taken.append(frame)
        spots[c] = spot
    return _uncrossed(named, spots, targets)


def _way_out(points: list[Point]) -> tuple[float, float]:
    """The direction of the component's outermost visible point in degrees, and how far out it lies."""
    x = sum(p[0] for p in points) / len(points)
    y = sum(p[1] for p in points) / len(points)
    if math.hypot(x, y) < 8:
        x, y = max(points, key=lambda p: (p[0] ** 2 + p[1] ** 2, p))
    return _angle((x, y)), math.hypot(x, y)


def _angle(p: Point) -> float:
    return math.degrees(math.atan2(p[0], -p[1])) % 360


def _uncrossed(named: list[str], spots: dict[str, Point], targets: dict[str, list[Point]]):
    """Swap places until no two leaders cross; each leader takes the target nearest to its place."""

    def nearest(c: str, spot: Point) -> Point:
        return min(targets[c], key=lambda p: (math.dist(p, spot), p))

    ends = {c: nearest(c, spots[c]) for c in named}
    for _ in range(len(named) ** 2 + 1):
        crossing = next(((a, b) for i, a in enumerate(named) for b in named[i + 1 :] if _cross(spots[a], ends[a], spots[b], ends[b])), None)
        if not crossing:
            break
        a, b = crossing
        # Each keeps its target while they swap: the sum of both leaders shrinks, so this comes to an end.
        spots[a], spots[b] = spots[b], spots[a]
    return [(c, spots[c], ends[c]) for c in named]


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    def side(p, q, r):
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def crossings(leaders: Iterable[tuple[Point, Point]]) -> int:
    """How many pairs of leaders cross."""
    rows = list(leaders)
    return sum(_cross(*one, *two) for i, one in enumerate(rows) for two in rows[i + 1 :])
