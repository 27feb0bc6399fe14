"""Numbered callouts round the plate: where each stands, and where its leader ends.

All in millimetres with the plate's middle as origin, y down.  Callouts keep to a ring
outside the plate, in the corners of the square as far as they go, so that the drawing
grows little beyond its plate.  They never overlap, and leaders do not cross: with the
ends fixed, two callouts whose leaders cross are swapped, which shortens both together,
until none do.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Mapping
from dataclasses import dataclass

from ..drawing import fonts
from ..layout import surface
from ..layout.footprint import Arrangement, Footprint
from ..layout.planar import Box, Point, box, boxes_meet, contains

_CLEAR = 1.6      # mm between two callouts
_HOLLOW = frozenset({"ring", "swipe", "drizzle", "outline"})  # the middle of their box may lie beside them
_LOOKED_AT = 16   # pieces of one component that may be named; more would only cost time
_TRIED = 4        # ends tried for one leader
_OVER_FOOD, _BESIDE_CENTRE, _CLOSE = 14.0, 6.0, 9.0  # what a worse end costs, in mm of leader


@dataclass(frozen=True, slots=True)
class Callout:
    """One callout: its disc, the count beside it, and the point on the food that it names.

    ``size_mm`` is the width of the piece that it ends on; ``side`` says where the
    count stands: -1 left of the disc, 1 right of it.
    """

    component: str
    number: str
    count: str
    centre: Point
    target: Point
    size_mm: float
    side: int


@dataclass(frozen=True, slots=True)
class Plan:
    """All callouts, the size of their discs and numerals, and the margins round the plate they need."""

    callouts: tuple[Callout, ...]
    disc_mm: float
    number_pt: float
    count_pt: float
    margin_x: float
    margin_y: float


@dataclass(frozen=True, slots=True)
class _End:
    """A point where a leader may end, how far from ideal it is, and the width of its piece."""

    point: Point
    cost: float
    size: float


_Place = tuple[int, Point, Box]  # clock degrees, middle of the disc, box of disc and count


def plan(arrangement: Arrangement, numbers: Mapping[str, str], least_margin: float, kept_free: tuple[Box, ...] = (),
         corners: tuple[tuple[int, float, float], ...] = ()) -> Plan:
    """Callouts for the components with a number that lie on the plate, clear of the boxes ``kept_free``.

    ``corners`` are boxes in the lower corners of the page to keep clear of as well:
    which side (-1 left, 1 right), width and height.
    """
    rim = surface.rim(arrangement.plate)
    pieces = {c: arrangement.of(c) for c in arrangement.order if c in numbers}
    pieces = {c: p for c, p in pieces.items() if p}
    boxes = [box(f.outline) for f in arrangement.footprints]
    ends = {c: _ends(arrangement.footprints, boxes, c) for c in pieces}
    counts = {c: f"{len(p)}\u00d7" if len(p) > 1 else "" for c, p in pieces.items()}
    disc = min(21.0, max(13.0, 0.072 * 2 * max(rim.a, rim.b)))
    while True:
        number_pt, count_pt = disc * 1.75, disc * 1.6
        width = max((fonts.width_mm(t, count_pt, "bold") for t in counts.values() if t), default=-1.2) + 1.2
        ring = _ring(rim, disc, width, kept_free)
        for margin in range(0, 61, 6):
            mx, my = least_margin + margin, least_margin + margin / 3
            right, foot = rim.a + mx, rim.b + my
            taken = [(-right, foot - h, w - right, foot) if side < 0 else (right - w, foot - h, right, foot) for side, w, h in corners]
            inside = [p for p in ring if -right <= p[2][0] and p[2][2] <= right and -foot <= p[2][1] and p[2][3] <= foot
                      and not any(boxes_meet(p[2], b, 1.0) for b in taken)]
            spots = _spots(list(pieces), ends, inside)
            if spots is None:
                continue
            found = _aimed(arrangement.footprints, spots, ends)
            callouts = tuple(Callout(c, numbers[c], counts[c], spot, end.point, end.size, 1 if spot[0] >= 0 else -1) for c, spot, end in found)
            return Plan(callouts, disc, number_pt, count_pt, mx, my)
        disc *= 0.85


# --- where a leader may end ------------------------------------------------------------------------------------------


def _ends(prints: tuple[Footprint, ...], boxes: list[Box], component: str) -> list[_End]:
    """Points of the component that nothing lies on (y down); its middles where all of it is covered."""
    mine = [i for i, f in enumerate(prints) if f.component == component]
    mine = mine[:: math.ceil(len(mine) / _LOOKED_AT)]
    found: list[_End] = []
    for i in mine:
        f = prints[i]
        over = [(g.outline, b) for g, b in zip(prints[i + 1 :], boxes[i + 1 :]) if boxes_meet(b, boxes[i])]
        size = min(f.length_mm, f.width_mm)
        # The middle is the clearest; a pool is named near its edge, where it is not taken for what lies on it.
        for rank, share in enumerate((0.0, 0.5, 0.75) if f.shape != "pool" else (0.92, 0.75, 0.5, 0.0)):
            round_ = f.outline[:: max(1, len(f.outline) // 12)] if share else (f.centre,)
            points = [(f.centre[0] + share * (x - f.centre[0]), f.centre[1] + share * (y - f.centre[1])) for x, y in round_]
            if f.shape in _HOLLOW:
                points = _within(f, round_) if not share else [p for p in points if contains(f.outline, p)]
            clear = [p for p in points if not any(b[0] < p[0] < b[2] and b[1] < p[1] < b[3] and contains(o, p) for o, b in over)]
            if clear:
                found += [_End((x, -y), rank * _BESIDE_CENTRE, size) for x, y in clear]
                break
    return found or [_End((prints[i].centre[0], -prints[i].centre[1]), 0.0, prints[i].width_mm) for i in mine]


def _within(f: Footprint, middle: tuple[Point, ...]) -> list[Point]:
    """Points in the body of a piece that bends or has a hole, half way across it."""
    if f.shape == "outline" and contains(f.outline, middle[0]):
        return list(middle)
    half = len(f.outline) // 2
    across = list(zip(f.outline[:half], f.outline[: half - 1 : -1]))[half // 8 :: max(1, half // 8)]
    points = [((x0 + x1) / 2, (y0 + y1) / 2) for (x0, y0), (x1, y1) in across]
    return [p for p in points if contains(f.outline, p)]


# --- where a callout may stand ---------------------------------------------------------------------------------------


def _ring(rim: surface.Edge, disc: float, width: float, kept_free: tuple[Box, ...]) -> list[_Place]:
    """Where discs may stand round the plate, every three degrees, with the box of disc and count."""
    r = disc / 2
    found = []
    for k in range(120):
        if rim.is_circle:
            a, ring = math.radians(3 * k), rim.a + r + 2.0
            x, y = ring * math.sin(a), -ring * math.cos(a)
        else:
            x, y = rim.outside(3 * k, r + 2.0)
            y = -y
        frame = (x - r, y - r, x + r + width, y + r) if x >= 0 else (x - r - width, y - r, x + r, y + r)
        if not any(boxes_meet(frame, b, 1.0) for b in kept_free):
            found.append((3 * k, (x, y), frame))
    return found


def _spots(named: list[str], ends: dict[str, list[_End]], places: list[_Place]) -> dict[str, Point] | None:
    """A place for each component as near to its own direction as may be; None where the places do not suffice."""
    wish = {c: _way_out(ends[c]) for c in named}
    spots: dict[str, Point] = {}
    # Whoever lies furthest out has the least choice and goes first.
    for c in sorted(named, key=lambda c: (-wish[c][1], wish[c][0], c)):
        if not places:
            return None
        turn = 180 - wish[c][0]
        _, spot, frame = min(places, key=lambda p: (abs((p[0] + turn) % 360 - 180), p[0]))
        spots[c] = spot
        places = [p for p in places if not boxes_meet(p[2], frame, _CLEAR)]
    return {c: spots[c] for c in named}


def _way_out(ends: list[_End]) -> tuple[float, float]:
    """The direction in which a component lies, in degrees, and how far out; from its outermost point if it lies all round."""
    x = sum(e.point[0] for e in ends) / len(ends)
    y = sum(e.point[1] for e in ends) / len(ends)
    if math.hypot(x, y) < 8:
        x, y = max((e.point for e in ends), key=lambda p: (round(math.hypot(*p), 3), p))
    return _angle((x, y)), round(math.hypot(x, y), 3)


def _angle(p: Point) -> float:
    return math.degrees(math.atan2(p[0], -p[1])) % 360


# --- leaders ---------------------------------------------------------------------------------------------------------


def _aimed(prints: tuple[Footprint, ...], spots: dict[str, Point], ends: dict[str, list[_End]]) -> list[tuple[str, Point, _End]]:
    """Each component with its place and the end of its leader: short, over little other food, none crossing."""
    named = list(spots)
    solid = [(f.component, f.centre[0], -f.centre[1], max(0.42 * min(f.length_mm, f.width_mm), 2.5), 0.5 * max(f.length_mm, f.width_mm),
              # A line over a dot or a crumb hides it, and then it is missed in the count.
              4 if min(f.length_mm, f.width_mm) < 10 else 1) for f in prints if f.shape != "pool"]
    chosen: dict[str, _End] = {}

    def best(c: str) -> _End:
        spot = spots[c]
        near = sorted(ends[c], key=lambda e: (round(math.dist(e.point, spot) + e.cost, 6), e.point))[:_TRIED]
        others = [e.point for k, e in chosen.items() if k != c]

        def cost(e: _End):
            close = sum(max(0.0, _CLOSE - math.dist(e.point, p)) for p in others)
            return round(math.dist(e.point, spot) + e.cost + 4 * close + _OVER_FOOD * _passed(c, e.point, spot, solid), 6), e.point

        return min(near, key=cost)

    for c in named:
        chosen[c] = best(c)
    swapped: set[str] = set()
    for _ in range(len(named) ** 2 + 1):
        pair = next(((a, b) for i, a in enumerate(named) for b in named[i + 1 :] if _cross(spots[a], chosen[a].point, spots[b], chosen[b].point)), None)
        if not pair:
            break
        a, b = pair
        spots[a], spots[b] = spots[b], spots[a]
        swapped |= {a, b}
    for c in sorted(swapped):  # from its new place another end may be better
        better = best(c)
        if better != chosen[c] and not any(_cross(spots[c], better.point, spots[k], chosen[k].point) for k in named if k != c):
            chosen[c] = better
    return [(c, spots[c], chosen[c]) for c in named]


def _passed(component: str, end: Point, spot: Point, solid) -> int:
    """How many pieces of other components a leader runs over, small ones counted more, those that its end lies on aside."""
    ex, ey = end
    ux, uy = spot[0] - ex, spot[1] - ey
    square = ux * ux + uy * uy
    count = 0
    for other, x, y, thick, reach, weight in solid:
        dx, dy = x - ex, y - ey
        t = (dx * ux + dy * uy) / square
        if t <= 0 or other == component or dx * dx + dy * dy < reach * reach:
            continue
        off = dx * uy - dy * ux
        count += weight * (off * off < thick * thick * square)
    return count


def _cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    def side(p, q, r):
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    return side(a, b, c) * side(a, b, d) < 0 and side(c, d, a) * side(c, d, b) < 0


def crossings(leaders: Iterable[tuple[Point, Point]]) -> int:
    """How many pairs of leaders cross."""
    rows = list(leaders)
    return sum(_cross(*one, *two) for i, one in enumerate(rows) for two in rows[i + 1 :])
