"""Arrangements in rows, grids and clusters, of leaning pieces, and of swipes and drizzles.

Each takes a :class:`~platecard.layout.placing.Bench` and returns the spots of its pieces.
"""

from __future__ import annotations

import math

from platecard.layout import geometry2d
from platecard.layout.footprint import clock_of, polar
from platecard.layout.geometry2d import Outline, Point, moved
from platecard.layout.placing import Bench, Spot
from platecard.layout.shapes import outline

_LEAN = 0.3  # the distance from one leaning piece to the next, as a share of the length that shows


def row(bench: Bench) -> list[Spot]:
    """Pieces side by side about their place, left to right or the way the chef says, the step's gap between them."""
    n, along = bench.step.count, _along(bench)
    x, y = bench.home()
    axis = bench.axis(x, y, along - 90)
    wide = _extent(bench.every_local(), axis, along)
    gap = float(bench.step.gap_mm or 0)
    widths = [bench.grade(i) * wide for i in range(n)]
    at = -(sum(widths) + gap * (n - 1)) / 2
    spots = []
    for width in widths:
        px, py = polar(along, at + width / 2)
        spots.append(Spot(x + px, y + py, axis, bench.level))
        at += width + gap
    return spots


def grid(bench: Bench) -> list[Spot]:
    """Rows of pieces about their place, the last perhaps short; as square as possible where ``rows`` is not given."""
    n, along = bench.step.count, _along(bench)
    rows = min(n, bench.step.rows or max(1, round(math.sqrt(n))))
    columns = math.ceil(n / rows)
    rows = math.ceil(n / columns)
    x, y = bench.home()
    axis = bench.axis(x, y, along - 90)
    gap = float(bench.step.gap_mm or 0)
    wide, high = _extent(bench.every_local(), axis, along) + gap, _extent(bench.every_local(), axis, along + 90) + gap
    spots = []
    for i in range(n):
        r, c = divmod(i, columns)
        px, py = polar(along, (c - (columns - 1) / 2) * wide)
        qx, qy = polar(along + 90, (r - (rows - 1) / 2) * high)
        spots.append(Spot(x + px + qx, y + py + qy, axis, bench.level))
    return spots


def cluster(bench: Bench) -> list[Spot]:
    """Pieces close together about their place on a hexagonal lattice, turned as if thrown."""
    n, reach = bench.step.count, bench.reach()
    pitch = 2 * (reach.half + reach.radius) + float(bench.step.gap_mm or 0)
    ring = math.ceil(math.sqrt(n)) + 1
    spread = [
        (pitch * (i + j / 2), pitch * j * math.sqrt(0.75))
        for i in range(-ring, ring + 1)
        for j in range(-ring, ring + 1)
    ]
    nearest = sorted(spread, key=lambda p: (round(math.hypot(*p), 6), round(clock_of(*p), 6)))[:n]
    mx, my = sum(p[0] for p in nearest) / n, sum(p[1] for p in nearest) / n
    x, y = bench.home()
    turn = bench.bearing(x, y)
    around = moved(tuple([(px - mx, py - my) for px, py in nearest]), turn, x, y)
    unsaid = bench.thrown(n) if bench.stands else [axis + turn for axis in bench.thrown(n)]
    return [Spot(px, py, bench.axis(x, y, axis), bench.level) for (px, py), axis in zip(around, unsaid)]


def leaning(bench: Bench) -> list[Spot]:
    """Pieces one behind the other, each leaning back on the one before, the first on whatever it stands by."""
    n, along = bench.step.count, _along(bench)
    x, y = bench.home()
    axis = bench.axis(x, y, along + 180)  # the raised end leans back
    pitch = max(_LEAN * bench.length, float(bench.step.gap_mm or 0))
    return [
        Spot(x + px, y + py, axis, bench.level + i)
        for i in range(n)
        for px, py in [polar(along, (i - (n - 1) / 2) * pitch)]
    ]


def pulled(bench: Bench) -> list[Spot]:
    """A swipe or drizzle from one place to another: straight, or along an arc where the spec says which way round."""
    step = bench.step
    first, last = bench.point(step.start, "from"), bench.point(step.end, "to")
    start, end = clock_of(*first), clock_of(*last)
    r0, r1 = math.hypot(*first), math.hypot(*last)
    if step.bends or step.anticlockwise:
        sweep = -((start - end) % 360) if step.anticlockwise else (end - start) % 360
        if abs(sweep) < 1e-6:
            sweep = -340.0 if step.anticlockwise else 340.0  # nearly round: its ends stay apart
        length = math.radians(abs(sweep)) * (r0 + r1) / 2
    else:
        sweep, length = 0.0, math.dist(first, last)
    bench.length = max(length, bench.width)
    local = outline(bench.shape, bench.length, bench.width)
    if not sweep:
        x, y = (first[0] + last[0]) / 2, (first[1] + last[1]) / 2
        return [Spot(x, y, clock_of(last[0] - first[0], last[1] - first[1]), bench.level)]
    side = -1.0 if sweep < 0 else 1.0

    def on(u: float, v: float) -> Point:
        t = v / bench.length + 0.5
        return polar(start + t * sweep, r0 + t * (r1 - r0) - side * u)

    bent = tuple(on(u, v) for u, v in _fine(local))
    x, y = on(0.0, 0.0)
    return [Spot(x, y, (start + sweep / 2 + 90 * side) % 360, bench.level, bent if geometry2d.area(bent) else ())]


def _fine(points: Outline) -> Outline:
    """The outline with points at most 4 mm apart, so that it can be bent."""
    found: list[Point] = []
    for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1]):
        n = max(1, math.ceil(math.dist((x0, y0), (x1, y1)) / 4))
        found += [(x0 + (x1 - x0) * i / n, y0 + (y1 - y0) * i / n) for i in range(n)]
    return tuple(found)


def _along(bench: Bench) -> float:
    """The direction of a row, in degrees; to the right where none is given."""
    return float(bench.step.along_deg) if bench.step.along_deg is not None else 90.0


def _extent(local: Outline, axis: float, along: float) -> float:
    """The extent in mm of an outline turned to ``axis``, measured in the direction ``along``."""
    dx, dy = polar(along, 1.0)
    far = [x * dx + y * dy for x, y in moved(local, axis, 0.0, 0.0)]
    return max(far) - min(far)


WAYS = {"row": row, "grid": grid, "cluster": cluster, "leaning": leaning, "swipe": pulled, "drizzle": pulled}
