"""The pen that draws one piece from above: its frame of reference, its line styles, and the items made with them.

Lengths are millimetres of the page.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from platecard.documents.diagram.colours import Look
from platecard.drawing.scene import About, Circle, Item, Path, PathSegment, Polygon, Style
from platecard.drawing.signs import hatch, lines_path
from platecard.layout.footprint import Footprint
from platecard.layout.geometry2d import Point

OUTLINE, DETAIL, HATCH = 0.3, 0.18, 0.16  # line widths in mm
BED = 1.3  # line width in mm of the white edge round a piece that lies on something of a similar colour
style = lru_cache(maxsize=4096)(Style)
"""A style, remembered: the same few are asked for again and again, and building one checks it."""


def axes(f: Footprint) -> tuple[Point, Point]:
    """Two vectors on the page (y down): half the piece's width across it, and half its length along it."""
    a = math.radians(f.axis_deg)
    sin, cos = math.sin(a), math.cos(a)
    w, n = f.width_mm / 2, f.length_mm / 2
    return (w * cos, w * sin), (n * sin, -n * cos)


def risen(f: Footprint) -> tuple[Point, ...]:
    """The face of a standing piece in a bird's-eye view: it rises from its foot, away from the guest.

    Points on the page (y down) with the plate's middle as origin; the first and the last are the ends of its foot.
    """
    x, y = f.centre[0], -f.centre[1]
    (ux, uy), _ = axes(f)
    left = x - ux, y - uy
    wx, wy = 2 * ux, 2 * uy
    height = min(16.0, 0.42 * (f.height_mm or 20.0))
    # It rises towards the side that shows more of its face.
    rx, ry = max(((side * 0.5, -0.87) for side in (-1, 1)), key=lambda r: abs(wx * r[1] - wy * r[0]))
    # Broken pieces have tops that differ from one to the next; cut ones are level.
    top = (
        (((0.04, 0.86), (0.36, 1.0), (0.95, 0.72)), ((0.06, 0.7), (0.62, 1.0), (0.96, 0.9)))[f.index % 2]
        if f.length_mm < 0.4 * f.width_mm
        else ((0.0, 1.0), (1.0, 1.0))
    )
    return (
        left,
        *((left[0] + s * wx + rx * height * h, left[1] + s * wy + ry * height * h) for s, h in top),
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

    def at(self, u: float, v: float) -> Point:
        """The local point (u, v) on the page."""
        return self.x + u * self._ux + v * self._vx, self.y + u * self._uy + v * self._vy

    def line(self, *local: Point, pen: Style | None = None) -> Polygon:
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

    def ring(self, share: float, pen: Style | None = None) -> Item:
        """The outline drawn again, ``share`` times as large."""
        r = self.f.radius_mm
        if r:
            return Circle(self.x, self.y, r * share, pen or self.detail)
        return Polygon(
            tuple([(self.x + (x - self.x) * share, self.y + (y - self.y) * share) for x, y in self.points]),
            pen or self.detail,
        )

    def body(self, style: Style, about: About | None = None, shift: float = 0.0) -> Item:
        """The outline itself, moved down and to the right by ``shift`` for a shadow."""
        r = self.f.radius_mm
        if r:
            return Circle(self.x + 0.7 * shift, self.y + shift, r, style, about)
        points = tuple([(x + 0.7 * shift, y + shift) for x, y in self.points]) if shift else self.points
        return Polygon(points, style, about=about)


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
