"""Scatters pieces as if by hand, never nearer to each other than the spec allows.  Millimetres.

A scatter depends on nothing but its own seed, region and pieces, so a new garnish moves
none of the others.  It starts from an evenly spread sequence of points and then pushes
apart those that lie too near, as a cook would with a fingertip.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import NamedTuple

from platecard.layout.geometry2d import Box, Outline, Point, box, contains, to_segment
from platecard.layout.shapes import chance

_TRIES = 4
# The steps of the R2 sequence, which spreads points evenly over a square: powers of 1 / 1.3247….
_STEP_U, _STEP_V = 0.7548776662466927, 0.5698402909980532
_AIM = 0.01  # mm: pieces are pushed this far beyond the gap, so that rounding cannot fall short of it


@dataclass(frozen=True, slots=True)
class Zone:
    """Where the middles of pieces may lie: in part of a ring, on other pieces, or both.

    The ring runs from ``inner`` to ``outer`` mm from the centre; ``start_deg`` and ``sweep_deg``
    run clockwise, and a sweep of 360 is all round.  Where there are ``hosts`` (outlines) or
    ``rounds`` (circles as x, y, radius), each middle must lie in one of them.  On a plate that is
    not round ``limits`` gives the two distances for each direction, and ``outer`` is the furthest.
    """

    inner: float
    outer: float
    start_deg: float = 0.0
    sweep_deg: float = 360.0
    hosts: tuple[Outline, ...] = ()
    rounds: tuple[tuple[float, float, float], ...] = ()
    limits: Callable[[float], tuple[float, float]] | None = None
    boxes: tuple[Box, ...] = field(init=False, default=())
    frame: Box = field(init=False, default=(0.0, 0.0, 0.0, 0.0))

    def __post_init__(self) -> None:
        boxes = tuple(box(h) for h in self.hosts)
        object.__setattr__(self, "boxes", boxes)
        if self.is_hosted:
            lefts, nears, rights, fars = zip(*boxes, *((x - r, y - r, x + r, y + r) for x, y, r in self.rounds))
            object.__setattr__(self, "frame", (min(lefts), min(nears), max(rights), max(fars)))

    @property
    def is_hosted(self) -> bool:
        """Whether each middle must lie on another piece."""
        return bool(self.hosts or self.rounds)

    def sample(self, u: float, v: float) -> Point | None:
        """The point of the zone for (u, v) in the unit square, even by area; None where that lies outside the zone."""
        left, near, right, far = self.frame
        if self.limits and not self.is_hosted:
            left = near = -self.outer
            right = far = self.outer
        if self.limits or self.is_hosted and (right - left) * (far - near) < self.area():
            point = (left + u * (right - left), near + v * (far - near))
            x, y = self._ring(*point)
            inside = math.hypot(x - point[0], y - point[1]) < 1e-6
            return point if inside and (not self.is_hosted or self._hosted(point)) else None
        r = math.sqrt(self.inner**2 + u * (self.outer**2 - self.inner**2))
        a = math.radians(self.start_deg + v * self.sweep_deg)
        point = r * math.sin(a), r * math.cos(a)
        return point if not self.is_hosted or self._hosted(point) else None

    def _hosted(self, point: Point) -> bool:
        x, y = point
        return any((x - cx) ** 2 + (y - cy) ** 2 <= r * r for cx, cy, r in self.rounds) or any(
            b[0] <= x <= b[2] and b[1] <= y <= b[3] and contains(h, point) for h, b in zip(self.hosts, self.boxes)
        )

    def _ring(self, x: float, y: float) -> Point:
        """Roughly the nearest point of the part of the ring: brought back first in angle, then in distance."""
        r = math.hypot(x, y)
        a = math.degrees(math.atan2(x, y))
        if self.sweep_deg < 360:
            past = (a - self.start_deg) % 360
            if past > self.sweep_deg:
                # Back to the nearer end, at the foot of the perpendicular on that end's line.
                end = self.sweep_deg if past - self.sweep_deg < 360 - past else 0.0
                off = min(past - self.sweep_deg, 360 - past)
                a, r = self.start_deg + end, r * max(0.0, math.cos(math.radians(min(off, 90))))
        inner, outer = self.limits(a % 360) if self.limits else (self.inner, self.outer)
        r = min(max(r, inner), outer)
        a = math.radians(a)
        return r * math.sin(a), r * math.cos(a)

    def hold(self, x: float, y: float, back: Point) -> Point:
        """(x, y) brought back into the zone; ``back`` where that would leave the pieces it must lie on."""
        point = self._ring(x, y)
        if self.is_hosted and not self._hosted(point):
            return back
        return point

    def area(self, by: float = 0.0) -> float:
        """The area in mm² of the part of the ring, grown by ``by`` mm all round; hosts are ignored."""
        if self.limits:
            rows = [self.limits((self.start_deg + self.sweep_deg * (i + 0.5) / 72) % 360) for i in range(72)]
            return (
                sum((hi + by) ** 2 - max(0.0, lo - by) ** 2 for lo, hi in rows) / 72 * math.pi * self.sweep_deg / 360
                + 2 * by * self.outer
            )
        inner, outer = max(0.0, self.inner - by), self.outer + by
        ends = 2 * by * (outer - inner) if self.sweep_deg < 360 else 0.0
        return math.pi * (outer**2 - inner**2) * self.sweep_deg / 360 + ends


class Reach(NamedTuple):
    """The stadium round a piece: all within ``radius`` mm of a line ``half`` mm long either way along its axis.

    It holds the whole outline, so whatever keeps clear of it keeps clear of the piece.
    """

    half: float
    radius: float

    @classmethod
    def around(cls, outline: Outline) -> Reach:
        """The stadium round an outline that lies along y about the origin; a circle where that is nearly round."""
        left, near, right, far = box(outline)
        half = max(0.0, (far - near) - (right - left)) / 2
        if half < 0.15 * (far - near):
            half = 0.0
        return cls(half, max(to_segment(x, y, 0.0, -half, 0.0, half) for x, y in outline))


ScatterSpot = tuple[float, float, float]  # x, y, axis in degrees
_Axis = Callable[[int, float, float], float]


def scatter(
    count: int,
    reach: Reach,
    gap: float,
    zone: Zone,
    seed: tuple[object, ...],
    axis: _Axis,
) -> tuple[ScatterSpot, ...]:
    """Up to ``count`` spots in the zone, no two pieces nearer than ``gap`` mm; fewer where they do not fit.

    ``axis`` gives the turn in degrees of piece number i at (x, y).
    """
    best: tuple[ScatterSpot, ...] = ()
    # However they are laid, circles fill no more than 0.907 of a plane, so what cannot fit need not be pushed about.
    cell = reach.radius + gap / 2
    hopeless = count * (math.pi * cell**2 + 4 * cell * reach.half) > 0.907 * zone.area(cell + reach.half)
    # Among many pieces the spread evens out; with few it pays to try again.
    tries = _TRIES if count <= 60 else 1
    for attempt in range(tries):
        spots = _start(count, zone, (*seed, attempt), axis)
        settled = not hopeless and _push_apart(spots, reach, gap, zone, axis)
        if len(spots) == count and settled:
            return tuple(spots)
        kept = _clear(spots + _start(min(4 * count, 400), zone, (*seed, attempt, "more"), axis), reach, gap)
        if len(kept) > len(best):
            best = kept[:count]
    return best


def _start(count: int, zone: Zone, seed: tuple[object, ...], axis: _Axis) -> list[ScatterSpot]:
    dice = chance(*seed)
    u, v = next(dice), next(dice)
    loose = 0.35 / math.sqrt(count)  # enough to break up the rows, too little to leave holes
    spots: list[ScatterSpot] = []
    for _ in range(60 * count):
        if len(spots) == count:
            break
        u, v = (u + _STEP_U) % 1, (v + _STEP_V) % 1
        near_u, near_v = u + loose * (next(dice) - 0.5) * 2, v + loose * (next(dice) - 0.5) * 2
        if point := zone.sample(min(max(near_u, 0.0), 1.0), min(max(near_v, 0.0), 1.0)):
            spots.append((*point, axis(len(spots), *point)))
    return spots


def _push_apart(spots: list[ScatterSpot], reach: Reach, gap: float, zone: Zone, axis: _Axis) -> bool:
    """Move the spots, in place, until no two are too near each other; False where that was not reached."""
    far = 2 * (reach.half + reach.radius) + gap
    for _ in range(15000 // (len(spots) + 20) + 10):
        calm = True
        order = sorted(range(len(spots)), key=lambda i: (spots[i][0], i))
        for k, i in enumerate(order):
            for j in order[k + 1 :]:
                if spots[j][0] - spots[i][0] > far:
                    break
                if abs(spots[j][1] - spots[i][1]) > far:
                    continue
                near, nx, ny = _between(spots[i], spots[j], reach)
                lacking = gap - near
                if lacking <= 0:
                    continue
                calm = False
                push = (lacking + _AIM) / 2
                for index, way in ((i, -push), (j, push)):
                    x, y, turn = spots[index]
                    x, y = zone.hold(x + way * nx, y + way * ny, (x, y))
                    spots[index] = (x, y, axis(index, x, y) if reach.half else turn)
        if calm:
            return True
    return False


def _clear(spots: list[ScatterSpot], reach: Reach, gap: float) -> tuple[ScatterSpot, ...]:
    """The spots that keep the gap to all those kept before them, in order."""
    kept: list[ScatterSpot] = []
    for spot in spots:
        if all(_between(spot, other, reach)[0] >= gap for other in kept):
            kept.append(spot)
    return tuple(kept)


def _between(a: ScatterSpot, b: ScatterSpot, reach: Reach) -> tuple[float, float, float]:
    """The distance between two stadiums (negative where they overlap), and the unit vector from a to b."""
    if not reach.half:
        dx, dy = b[0] - a[0], b[1] - a[1]
    else:
        dx, dy = _nearest(a, b, reach.half)
    apart = math.hypot(dx, dy)
    if apart < 1e-9:
        dx, dy = b[0] - a[0], b[1] - a[1]
        apart = math.hypot(dx, dy)
        if apart < 1e-9:
            return -2 * reach.radius, 1.0, 0.0
        return -2 * reach.radius, dx / apart, dy / apart
    return apart - 2 * reach.radius, dx / apart, dy / apart


def _nearest(a: ScatterSpot, b: ScatterSpot, half: float) -> Point:
    """The shortest vector from the axis line of ``a`` to that of ``b``; (0, 0) where they cross."""
    ax, ay = half * math.sin(math.radians(a[2])), half * math.cos(math.radians(a[2]))
    bx, by = half * math.sin(math.radians(b[2])), half * math.cos(math.radians(b[2]))
    mx, my = b[0] - a[0], b[1] - a[1]
    turn = ax * by - ay * bx
    if abs(turn) > 1e-9:
        s, t = (mx * by - my * bx) / turn, (mx * ay - my * ax) / turn
        if abs(s) <= 1 and abs(t) <= 1:
            return 0.0, 0.0
    best, way = math.inf, (0.0, 0.0)
    for end in (-1, 1):
        for px, py, ux, uy, sign in (
            (mx + end * bx, my + end * by, ax, ay, 1),
            (end * ax - mx, end * ay - my, bx, by, -1),
        ):
            square = ux * ux + uy * uy
            t = max(-1.0, min(1.0, (px * ux + py * uy) / square)) if square else 0.0
            dx, dy = px - t * ux, py - t * uy
            size = dx * dx + dy * dy
            if size < best:
                best, way = size, (sign * dx, sign * dy)
    return way
