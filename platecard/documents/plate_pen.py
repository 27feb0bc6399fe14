"""One piece being drawn: its own frame, its pens, and the lines and bodies made with them.  Millimetres of the page."""

from __future__ import annotations

import math
from collections.abc import Iterator
from functools import lru_cache

from ..drawing.scene import About, Circle, Item, Path, Polygon, Style, hatch, lines_path
from ..layout.footprint import Footprint
from ..layout.planar import Point
from .plate_colours import Look

OUTLINE, DETAIL, HATCH = 0.3, 0.18, 0.16  # line widths in mm
style = lru_cache(maxsize=4096)(Style)
"""The same style is asked for again and again, and each new one is checked by the scene."""


class Pen:
    """One piece being drawn.  ``at(u, v)`` is the point u half widths across and v half lengths along it."""

    def __init__(self, f: Footprint, look: Look, centre: Point):
        self.f, self.look = f, look
        a = math.radians(f.axis_deg)
        sin, cos = math.sin(a), math.cos(a)
        self.x, self.y = centre[0] + f.centre[0], centre[1] - f.centre[1]
        w, n = f.width_mm / 2, f.length_mm / 2
        self._ux, self._uy, self._vx, self._vy = w * cos, w * sin, n * sin, -n * cos
        self.points = tuple([(centre[0] + x, centre[1] - y) for x, y in f.outline])
        self.detail = style(stroke=look.tone, width=DETAIL)
        self.strong = style(stroke=look.line, width=OUTLINE)

    def at(self, u: float, v: float) -> Point:
        return self.x + u * self._ux + v * self._vx, self.y + u * self._uy + v * self._vy

    def line(self, *local: Point, pen: Style | None = None) -> Polygon:
        return Polygon(tuple([self.at(u, v) for u, v in local]), pen or self.detail, closed=False)

    def curves(self, *curves: tuple[Point, Point, Point], pen: Style | None = None) -> Path:
        """Bows, each from a start over a middle to an end, as one item."""
        steps: list[tuple] = []
        for a, m, b in curves:
            ax, ay = self.at(*a)
            bx, by = self.at(*b)
            mx, my = self.at(*m)
            qx, qy = 2 * mx - (ax + bx) / 2, 2 * my - (ay + by) / 2  # the handle that makes the bow pass through m
            steps += [("M", ax, ay), ("C", ax + (qx - ax) * 2 / 3, ay + (qy - ay) * 2 / 3, bx + (qx - bx) * 2 / 3, by + (qy - by) * 2 / 3, bx, by)]
        return Path(tuple(steps), pen or self.detail)

    def ring(self, share: float, pen: Style | None = None) -> Item:
        """The outline drawn again, smaller."""
        r = self.f.radius_mm
        if r:
            return Circle(self.x, self.y, r * share, pen or self.detail)
        return Polygon(tuple([(self.x + (x - self.x) * share, self.y + (y - self.y) * share) for x, y in self.points]), pen or self.detail)

    def body(self, style: Style, about: About | None = None, shift: float = 0.0) -> Item:
        r = self.f.radius_mm
        if r:
            return Circle(self.x + 0.7 * shift, self.y + shift, r, style, about)
        points = tuple([(x + 0.7 * shift, y + shift) for x, y in self.points]) if shift else self.points
        return Polygon(points, style, about=about)


def hatched(pen: Pen) -> Iterator[Item]:
    """The hatch that tells a component from others of its kind and grey."""
    tone = style(stroke=pen.look.tone, width=HATCH, cap="butt")
    for angle, spacing in pen.look.hatch:
        # Small pieces need a finer hatch to show one at all.
        step = min(spacing, max(1.1, pen.f.width_mm / 5))
        if lines := hatch(pen.points, angle, step):
            yield lines_path(lines, tone)
