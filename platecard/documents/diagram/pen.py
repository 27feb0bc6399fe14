"""The pen that draws one piece from above: its frame of reference, its line styles, and the items made with them.

Lengths are millimetres of the page.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from functools import lru_cache

from platecard.documents.diagram.colours import Look
from platecard.drawing.scene import About, Circle, Item, Path, PathSegment, Polygon, Style
from platecard.drawing.signs import hatch, lines_path
from platecard.layout import heights
from platecard.layout.footprint import Footprint
from platecard.layout.geometry2d import Point

LONGEST_SHADOW = 5.0  # mm: that of whatever is higher falls no farther, or it would be taken for food
OUTLINE, DETAIL, HATCH = 0.3, 0.18, 0.16  # line widths in mm
BED = 1.3  # line width in mm of the white edge round a piece that lies on something of a similar colour
style = lru_cache(maxsize=4096)(Style)
"""A style, remembered: the same few are asked for again and again, and building one checks it."""


SHADOW = style(fill="#2a241c", fill_opacity=0.16)


def shade(f: Footprint, least_mm: float = 0.0) -> Point:
    """How far the shadow of a piece falls on the page, in mm: the higher it is, the farther.

    What lies loose is at least ``least_mm`` high, whatever is usual for a sauce.
    """
    far = min(LONGEST_SHADOW, 0.3 + 0.15 * max(least_mm, heights.height(f)))
    return 0.7 * far, far


def axes(f: Footprint) -> tuple[Point, Point]:
    """Two vectors on the page (y down): half the piece's width across it, and half its length along it."""
    a = math.radians(f.axis_deg)
    sin, cos = math.sin(a), math.cos(a)
    w, n = f.width_mm / 2, f.length_mm / 2
    return (w * cos, w * sin), (n * sin, -n * cos)


def _rise(f: Footprint) -> Point:
    """How far and which way the face of a standing piece rises on the page: to the side that shows more of it."""
    (ux, uy), _ = axes(f)
    height = min(16.0, 0.42 * (f.height_mm or 20.0))
    x, y = max(((side * 0.5, -0.87) for side in (-1, 1)), key=lambda r: abs(ux * r[1] - uy * r[0]))
    return x * height, y * height


def risen(f: Footprint) -> tuple[Point, ...]:
    """The face of a standing piece in a bird's-eye view: it rises from its foot, away from the guest.

    Points on the page (y down) with the plate's middle as origin; the first and the last are the ends of its foot.
    """
    x, y = f.centre[0], -f.centre[1]
    (ux, uy), _ = axes(f)
    left = x - ux, y - uy
    wx, wy = 2 * ux, 2 * uy
    rx, ry = _rise(f)
    # Broken pieces have tops that differ from one to the next; cut ones are level.
    top = (
        (((0.04, 0.86), (0.36, 1.0), (0.95, 0.72)), ((0.06, 0.7), (0.62, 1.0), (0.96, 0.9)))[f.index % 2]
        if f.length_mm < 0.4 * f.width_mm
        else ((0.0, 1.0), (1.0, 1.0))
    )
    return (
        left,
        *((left[0] + s * wx + rx * h, left[1] + s * wy + ry * h) for s, h in top),
        (x + ux, y + uy),
    )


class Pen:
    """Draws one piece.  Local points (u, v) are u half widths across and v half lengths along it."""

    def __init__(self, f: Footprint, look: Look, centre: Point) -> None:
        self.f, self.look = f, look
        self.x, self.y = centre[0] + f.centre[0], centre[1] - f.centre[1]
        (self._ux, self._uy), (self._vx, self._vy) = axes(f)
        self.points = tuple([(centre[0] + x, centre[1] - y) for x, y in f.outline])
        self.detail = style(stroke=look.tone, width=DETAIL)
        self.width = OUTLINE if not look.bed else 0.4
        self.strong = style(stroke=look.line, width=self.width)
        self.long, self.wide, self.radius = f.length_mm, f.width_mm, f.radius_mm
        self.small = min(self.long, self.wide)

    def at(self, u: float, v: float) -> Point:
        """The local point (u, v) on the page."""
        return self.x + u * self._ux + v * self._vx, self.y + u * self._uy + v * self._vy

    def line(self, *local: Point, pen: Style | None = None) -> Polygon:
        """An open line through points of the piece's own axes."""
        return Polygon(tuple([self.at(u, v) for u, v in local]), pen or self.detail, closed=False)

    def curves(self, *curves: tuple[Point, Point, Point], pen: Style | None = None) -> Path:
        """Curves, each from a start through a middle to an end, as one item."""
        steps: list[PathSegment] = []
        for a, m, b in curves:
            ax, ay = self.at(*a)
            bx, by = self.at(*b)
            mx, my = self.at(*m)
            qx, qy = (
                2 * mx - (ax + bx) / 2,
                2 * my - (ay + by) / 2,
            )  # the control point that makes the curve pass through m
            steps += [
                ("M", ax, ay),
                (
                    "C",
                    ax + (qx - ax) * 2 / 3,
                    ay + (qy - ay) * 2 / 3,
                    bx + (qx - bx) * 2 / 3,
                    by + (qy - by) * 2 / 3,
                    bx,
                    by,
                ),
            ]
        return Path(tuple(steps), pen or self.detail)

    def path(self, rows: Iterable[Sequence[Point]], pen: Style, closed: bool = False) -> Path:
        """Several lines of local points as one item."""
        end: tuple[PathSegment, ...] = (("Z",),) if closed else ()
        steps: list[PathSegment] = []
        for row in rows:
            steps += [("M" if i == 0 else "L", *self.at(u, v)) for i, (u, v) in enumerate(row)]
            steps += end
        return Path(tuple(steps), pen)

    def grain(self, u: float, v: float, long_mm: float, wide_mm: float, turn: float, corners: int = 8) -> list[Point]:
        """A rounded grain about the local point (u, v), on the page; ``turn`` is its angle on the page in radians."""
        x, y = self.at(u, v)
        return grain(x, y, long_mm, wide_mm, turn, corners)

    def lit(self, share: float = 0.74, pen: Style | None = None) -> Item:
        """The gleam along the upper left of the outline drawn ``share`` times as large."""
        points = [(x - self.x, y - self.y) for x, y in evenly(self.points, 40)]
        facing = [(-x - 1.3 * y) / (math.hypot(x, y) or 1.0) for x, y in points]
        first = max(range(len(points)), key=lambda i: facing[i])
        run = [i % len(points) for i in range(first - 4, first + 5)]
        row = tuple((self.x + points[i][0] * share, self.y + points[i][1] * share) for i in run)
        return Polygon(row, pen or style(stroke="#ffffff", width=0.5), closed=False)

    def ring(self, share: float, pen: Style | None = None) -> Item:
        """The outline drawn again, ``share`` times as large."""
        r = self.f.radius_mm
        if r:
            return Circle(self.x, self.y, r * share, pen or self.detail)
        return Polygon(
            tuple([(self.x + (x - self.x) * share, self.y + (y - self.y) * share) for x, y in self.points]),
            pen or self.detail,
        )

    def body(self, style: Style, about: About | None = None) -> Item:
        """The outline itself."""
        if r := self.f.radius_mm:
            return Circle(self.x, self.y, r, style, about)
        return Polygon(self.points, style, about=about)

    def shadow(self, least_mm: float = 0.0) -> Item:
        """The shadow of the outline; ``least_mm`` as for :func:`shade`."""
        dx, dy = shade(self.f, least_mm)
        if r := self.f.radius_mm:
            return Circle(self.x + dx, self.y + dy, r, SHADOW)
        return Polygon(tuple([(x + dx, y + dy) for x, y in self.points]), SHADOW)

    def own(self, outline: Sequence[Point], fill: str) -> Iterator[Item]:
        """A body of its own through local points, with its shadow."""
        yield from self.soft([self.at(u, v) for u, v in outline], fill)

    def soft(self, points: Sequence[Point], fill: str) -> Iterator[Item]:
        """A body of its own through points on the page, with its shadow and its white edge if it needs one."""
        dx, dy = shade(self.f)
        yield smooth([(x + dx, y + dy) for x, y in points], SHADOW)
        if self.look.bed:
            yield smooth(points, style(stroke="#ffffff", width=BED))
        yield smooth(points, style(fill=fill, stroke=self.look.line, width=self.width))


class StandingPen(Pen):
    """Draws on the face of a standing piece: u runs along its foot, v from the foot to its top."""

    def __init__(self, f: Footprint, look: Look, centre: Point) -> None:
        super().__init__(f, look, centre)
        self.points = tuple([(centre[0] + x, centre[1] + y) for x, y in risen(f)])
        rx, ry = _rise(f)
        self._vx, self._vy = 0.43 * rx, 0.43 * ry
        self.x, self.y = self.x + self._vx, self.y + self._vy
        self.long, self.wide, self.radius = 2 * math.hypot(self._vx, self._vy), f.width_mm, None
        self.small = min(self.long, self.wide)


@lru_cache(maxsize=64)
def _round(corners: int) -> tuple[Point, ...]:
    return tuple((math.cos(2 * math.pi * i / corners), math.sin(2 * math.pi * i / corners)) for i in range(corners))


def grain(x: float, y: float, long_mm: float, wide_mm: float, turn: float, corners: int = 8) -> list[Point]:
    """A rounded grain about a point on the page, ``turn`` radians from the right downwards."""
    a, b = long_mm / 2, wide_mm / 2
    cos, sin = math.cos(turn), math.sin(turn)
    return [(x + a * p * cos - b * q * sin, y + a * p * sin + b * q * cos) for p, q in _round(corners)]


def joined(rows: Iterable[Sequence[Point]], pen: Style, closed: bool = True) -> Path:
    """Several lines of points on the page as one item."""
    end: tuple[PathSegment, ...] = (("Z",),) if closed else ()
    steps: list[PathSegment] = []
    for row in rows:
        if len(row) > 1:
            steps += [("M" if i == 0 else "L", *p) for i, p in enumerate(row)]
            steps += end
    return Path(tuple(steps), pen)


def smooth(points: Sequence[Point], pen: Style) -> Path:
    """A soft closed outline through points on the page."""
    n = len(points)
    steps: list[PathSegment] = [("M", *points[0])]
    for i in range(n):
        (x0, y0), (x1, y1), (x2, y2), (x3, y3) = (points[(i + k) % n] for k in (-1, 0, 1, 2))
        steps.append(("C", x1 + (x2 - x0) / 6, y1 + (y2 - y0) / 6, x2 - (x3 - x1) / 6, y2 - (y3 - y1) / 6, x2, y2))
    return Path((*steps, ("Z",)), pen)


def evenly(points: tuple[Point, ...], count: int) -> list[Point]:
    """So many points of an outline, the same distance apart along it."""
    rows = list(zip(points, points[1:] + points[:1]))
    whole = sum(math.dist(a, b) for a, b in rows)
    found: list[Point] = []
    gone = 0.0
    for a, b in rows:
        far = math.dist(a, b)
        while far and len(found) < count and len(found) * whole / count <= gone + far:
            t = (len(found) * whole / count - gone) / far
            found.append((a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])))
        gone += far
    return found


def bedded(pen: Pen) -> Iterator[Item]:
    """A white edge under a piece that lies on something it could be mistaken for."""
    if pen.look.bed:
        yield pen.body(style(stroke="#ffffff", width=BED))


def hatched(pen: Pen, points: tuple[Point, ...] | None = None) -> Iterator[Item]:
    """The hatch that tells a component from others that look alike, if it has one.

    It fills ``points``, or else the piece's own outline.
    """
    tone = style(stroke=pen.look.tone, width=HATCH, cap="butt")
    for angle, spacing in pen.look.hatch:
        # On a small piece the hatch must be finer, or no line of it would show.
        step = min(spacing, max(1.1, pen.f.width_mm / 5))
        if lines := hatch(points or pen.points, angle, step):
            yield lines_path(lines, tone)
