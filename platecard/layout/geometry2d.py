"""Plane geometry on outlines: area, overlap, distance, depth.  Millimetres throughout.

An outline is a tuple of points (x, y) that does not repeat the first point at the end
and does not cross itself.  This is plain Python on purpose: for a few hundred pieces a
geometry library would take longer to load than all of this takes to run.  The tests
compare every function with an independent implementation.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Sequence
from fractions import Fraction

Point = tuple[float, float]
ExactPoint = tuple[Fraction, Fraction]
Outline = tuple[Point, ...]
Box = tuple[float, float, float, float]  # left, near, right, far
_Edge = tuple[float, float, float, float]  # x and y of one end, then of the other


def area(outline: Outline) -> float:
    """The area inside the outline, in mm²."""
    total = 0.0
    x0, y0 = outline[-1]
    for x1, y1 in outline:
        total += x0 * y1 - x1 * y0
        x0, y0 = x1, y1
    return abs(total) / 2


def box(outline: Outline) -> Box:
    """The upright box round the outline."""
    xs, ys = zip(*outline)
    return min(xs), min(ys), max(xs), max(ys)


def moved(outline: Outline, axis_deg: float, x: float, y: float) -> Outline:
    """The outline turned clockwise by ``axis_deg`` about its origin, then moved to (x, y)."""
    if axis_deg % 360 == 0:
        return tuple([(x + px, y + py) for px, py in outline])
    a = math.radians(axis_deg)
    sin, cos = math.sin(a), math.cos(a)
    return tuple([(x + px * cos + py * sin, y - px * sin + py * cos) for px, py in outline])


def contains(outline: Outline, point: Point) -> bool:
    """Whether the point lies inside the outline; a point on the edge itself may count either way."""
    x, y = point
    inside = False
    x0, y0 = outline[-1]
    for x1, y1 in outline:
        if (y0 > y) != (y1 > y) and x < x0 + (y - y0) * (x1 - x0) / (y1 - y0):
            inside = not inside
        x0, y0 = x1, y1
    return inside


def covers_square(outline: Outline, middle: Point, half: float) -> bool:
    """Whether the middle or a corner of an upright square lies inside the outline; ``half`` is half its side."""
    x, y = middle
    left, near, right, far = x - half, y - half, x + half, y + half
    edges: list[_Edge] = []  # those level with some part of the square
    x0, y0 = outline[-1]
    for x1, y1 in outline:
        if (y0 >= near or y1 >= near) and (y0 <= far or y1 <= far):
            edges.append((x0, y0, x1, y1))
        x0, y0 = x1, y1
    for px, py in ((x, y), (left, near), (right, far), (right, near), (left, far)):
        inside = False
        for x0, y0, x1, y1 in edges:
            if (y0 > py) != (y1 > py) and px < x0 + (py - y0) * (x1 - x0) / (y1 - y0):
                inside = not inside
        if inside:
            return True
    return False


def _edges_in(outline: Outline, window: Box) -> list[_Edge]:
    """The edges of the outline whose own box meets ``window``."""
    left, near, right, far = window
    found = []
    x0, y0 = outline[-1]
    for x1, y1 in outline:
        if not (
            x0 < left and x1 < left or x0 > right and x1 > right or y0 < near and y1 < near or y0 > far and y1 > far
        ):
            found.append((x0, y0, x1, y1))
        x0, y0 = x1, y1
    return found


def boxes_meet(a: Box, b: Box, by: float = 0.0) -> bool:
    """Whether two boxes meet, or come within ``by`` of each other."""
    return a[0] <= b[2] + by and b[0] <= a[2] + by and a[1] <= b[3] + by and b[1] <= a[3] + by


def meet(a: Outline, b: Outline) -> bool:
    """Whether two outlines overlap or touch."""
    one, two = box(a), box(b)
    if not boxes_meet(one, two):
        return False
    theirs = _edges_in(b, one)
    for ax, ay, bx, by in _edges_in(a, two):
        ux, uy = bx - ax, by - ay
        for cx, cy, dx, dy in theirs:
            c = ux * (cy - ay) - uy * (cx - ax)
            d = ux * (dy - ay) - uy * (dx - ax)
            if c * d > 0:
                continue
            vx, vy = dx - cx, dy - cy
            if (vx * (ay - cy) - vy * (ax - cx)) * (vx * (by - cy) - vy * (bx - cx)) <= 0 and (c or d):
                return True
    return contains(b, a[0]) or contains(a, b[0])


def shared_area(a: Outline, b: Outline) -> float:
    """The area in mm² that two outlines have in common.

    The plane is cut into level strips at every corner and crossing.  No two edges cross
    within a strip, so what both outlines cover there is made of trapezia, each as large as
    its width half way up times the height of the strip.  Exact for any outlines.  An outline
    that no edge of the other comes near lies wholly inside the other or wholly outside.
    """
    one, two = box(a), box(b)
    if not boxes_meet(one, two):
        return 0.0
    ours, theirs = _edges_in(a, two), _edges_in(b, one)
    if not theirs:
        return area(a) if contains(b, a[0]) else 0.0
    if not ours:
        return area(b) if contains(a, b[0]) else 0.0
    low, high = max(one[1], two[1]), min(one[3], two[3])
    levels = {low, high}
    levels.update(y for _, y in (*a, *b) if low < y < high)
    for ax, ay, bx, by in ours:
        ux, uy = bx - ax, by - ay
        for cx, cy, dx, dy in theirs:
            vx, vy = dx - cx, dy - cy
            turn = ux * vy - uy * vx
            if turn:
                t = ((cx - ax) * vy - (cy - ay) * vx) / turn
                y = ay + t * uy
                if 0 <= t <= 1 and low < y < high and min(cy, dy) <= y <= max(cy, dy):
                    levels.add(y)
    cuts = sorted(levels)
    middles = [(y0 + y1) / 2 for y0, y1 in zip(cuts, cuts[1:])]
    total = 0.0
    for y0, y1, mine, others in zip(cuts, cuts[1:], _strips(a, middles), _strips(b, middles)):
        width = 0.0
        for left, right in zip(mine[::2], mine[1::2]):
            for start, end in zip(others[::2], others[1::2]):
                width += max(0.0, min(right, end) - max(left, start))
        total += width * (y1 - y0)
    return total


def _strips(outline: Outline, levels: Sequence[float]) -> list[list[float]]:
    """For each of the ascending levels, the x at which the outline crosses it, in order."""
    rows: list[list[float]] = [[] for _ in levels]
    x0, y0 = outline[-1]
    for x1, y1 in outline:
        low, high = (y0, y1) if y0 < y1 else (y1, y0)
        for i in range(bisect_left(levels, low), bisect_left(levels, high)):
            rows[i].append(x0 + (levels[i] - y0) * (x1 - x0) / (y1 - y0))
        x0, y0 = x1, y1
    for row in rows:
        row.sort()
    return rows


def spans(outline: Outline, y: float) -> list[tuple[float, float]]:
    """The stretches of the level line at ``y`` that lie inside the outline, as pairs of x."""
    (xs,) = _strips(outline, (y,))
    return list(zip(xs[::2], xs[1::2]))


def distance(a: Outline, b: Outline) -> float:
    """The least distance in mm between two outlines; 0 where they meet."""
    if meet(a, b):
        return 0.0
    # No edge further away than a pair of corners already measured can hold the nearest point.
    bound = min(math.dist(p, q) for p in a[::4] for q in b[::4])
    ax0, ay0, ax1, ay1 = box(a)
    bx0, by0, bx1, by1 = box(b)
    mine = _edges_in(a, (bx0 - bound, by0 - bound, bx1 + bound, by1 + bound))
    theirs = _edges_in(b, (ax0 - bound, ay0 - bound, ax1 + bound, ay1 + bound))
    best = bound
    for edges, others in ((mine, theirs), (theirs, mine)):
        for px, py, _, _ in edges + [(e[2], e[3], 0.0, 0.0) for e in edges]:
            for x0, y0, x1, y1 in others:
                if (
                    min(x0, x1) - px > best
                    or px - max(x0, x1) > best
                    or min(y0, y1) - py > best
                    or py - max(y0, y1) > best
                ):
                    continue
                best = min(best, to_segment(px, py, x0, y0, x1, y1))
    return best


def to_segment(px: float, py: float, x0: float, y0: float, x1: float, y1: float) -> float:
    """The distance in mm from the point (px, py) to the segment from (x0, y0) to (x1, y1)."""
    ux, uy = x1 - x0, y1 - y0
    square = ux * ux + uy * uy
    t = 0.0 if square == 0 else max(0.0, min(1.0, ((px - x0) * ux + (py - y0) * uy) / square))
    return math.hypot(px - x0 - t * ux, py - y0 - t * uy)


def hull(outline: Outline) -> Outline:
    """The convex hull of the points, anticlockwise."""
    points = sorted(set(outline))
    if len(points) < 3:
        return tuple(points)

    def chain(row: list[Point]) -> list[Point]:
        side: list[Point] = []
        for p in row:
            while len(side) > 1 and (
                (side[-1][0] - side[-2][0]) * (p[1] - side[-2][1]) <= (side[-1][1] - side[-2][1]) * (p[0] - side[-2][0])
            ):
                side.pop()
            side.append(p)
        return side[:-1]

    return tuple(chain(points) + chain(points[::-1]))


def depth(a: Outline, b: Outline) -> tuple[float, Point]:
    """How far ``b`` must move to be clear of ``a``: the distance in mm, and the direction as a unit vector.

    Exact for convex outlines; others are replaced by their convex hull, so that the move
    is always enough.  (0, (0, 0)) where the hulls do not meet.
    """
    one, two = hull(a), hull(b)
    best, way = math.inf, (0.0, 0.0)
    for first, sign in ((one, 1.0), (two, -1.0)):
        x0, y0 = first[-1]
        for x1, y1 in first:
            size = math.hypot(x1 - x0, y1 - y0)
            if size > 1e-9:
                # Outward from an edge of ``a`` or inward from an edge of ``b``: directions in which ``b`` can leave.
                nx, ny = sign * (y1 - y0) / size, sign * (x0 - x1) / size
                reach = max([x * nx + y * ny for x, y in one]) - min([x * nx + y * ny for x, y in two])
                if reach <= 0:
                    return 0.0, (0.0, 0.0)
                if reach < best:
                    best, way = reach, (nx, ny)
            x0, y0 = x1, y1
    return best, way


def crossing(points: Sequence[ExactPoint]) -> Point | None:
    """Where a closed row of exact points crosses or touches itself; None where it does neither."""
    edges = list(zip(points, (*points[1:], points[0])))

    def side(p: ExactPoint, q: ExactPoint, r: ExactPoint) -> Fraction:
        return (q[0] - p[0]) * (r[1] - p[1]) - (q[1] - p[1]) * (r[0] - p[0])

    n = len(edges)
    for i, (a, b) in enumerate(edges):
        for j in range(i + 1, n):
            c, d = edges[j]
            if j == i + 1 or i == 0 and j == n - 1:
                # Neighbouring edges share a corner, and must not fold back onto each other.
                (p, q), (r, s) = ((a, b), (c, d)) if j == i + 1 else ((c, d), (a, b))
                if side(p, q, s) == 0 and (q[0] - p[0]) * (s[0] - r[0]) + (q[1] - p[1]) * (s[1] - r[1]) <= 0:
                    return float(q[0]), float(q[1])
                continue
            one, two, three, four = side(a, b, c), side(a, b, d), side(c, d, a), side(c, d, b)
            if one == two == three == four == 0:
                if any(max(a[k], b[k]) < min(c[k], d[k]) or max(c[k], d[k]) < min(a[k], b[k]) for k in (0, 1)):
                    continue  # on one line but apart
                return float(c[0]), float(c[1])
            if one * two <= 0 and three * four <= 0:
                t = float(three) / float(three - four) if three != four else 0.0
                return round(float(a[0]) + t * float(b[0] - a[0]), 1), round(float(a[1]) + t * float(b[1] - a[1]), 1)
    return None
