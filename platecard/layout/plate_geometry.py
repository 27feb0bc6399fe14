"""The edges of plates and boards, with their reach, area and capacity.  Millimetres.

An edge is an ellipse (a circle is one) or a rectangle with rounded corners, centred on
the middle of the plate; x runs to the right, y away from the guest.
"""

from __future__ import annotations

import math
from functools import lru_cache
from typing import NamedTuple

from platecard.layout import volumes
from platecard.layout.geometry2d import Outline, Point
from platecard.model import Plate


class Edge(NamedTuple):
    """The edge of a plate or of its well, in mm.

    ``a`` is half its width (x), ``b`` half its depth (y), and ``corner`` the radius of a
    rectangle's corners; None makes it an ellipse.
    """

    a: float
    b: float
    corner: float | None = None

    @property
    def is_circle(self) -> bool:
        """Whether the edge is the same distance from the middle all round."""
        return self.corner is None and self.a == self.b

    @property
    def area(self) -> float:
        """The area inside the edge, in mm²."""
        if self.corner is None:
            return math.pi * self.a * self.b
        return 4 * self.a * self.b - (4 - math.pi) * self.corner**2

    def inset(self, by: float) -> Edge:
        """The edge moved in by ``by`` mm all round, never beyond the middle; a negative ``by`` moves it out.

        Of an oval the half axes are shortened.
        """
        a, b = max(0.0, self.a - by), max(0.0, self.b - by)
        return Edge(a, b, None if self.corner is None else min(max(0.0, self.corner - by), a, b))

    def reach(self, clock_deg: float) -> float:
        """The distance in mm from the middle to the edge in the direction ``clock_deg``."""
        if self.is_circle:
            return self.a
        x, y = abs(math.sin(math.radians(clock_deg))), abs(math.cos(math.radians(clock_deg)))
        if self.corner is None:
            return self.a * self.b / math.hypot(self.b * x, self.a * y) if self.a and self.b else 0.0
        r = min(self.a / x if x > 1e-12 else math.inf, self.b / y if y > 1e-12 else math.inf)
        cx, cy, c = self.a - self.corner, self.b - self.corner, self.corner
        if c and r * x > cx and r * y > cy:
            # The ray leaves through the rounded corner: |r·d - centre| = c.
            along = x * cx + y * cy
            r = along + math.sqrt(max(0.0, along * along - cx * cx - cy * cy + c * c))
        return r

    def beyond(self, point: Point) -> float:
        """How far in mm a point lies outside the edge; negative inside it."""
        x, y = abs(point[0]), abs(point[1])
        if self.is_circle:
            return math.hypot(x, y) - self.a
        if self.corner is not None:
            dx, dy = x - (self.a - self.corner), y - (self.b - self.corner)
            return (math.hypot(dx, dy) if dx > 0 and dy > 0 else max(dx, dy)) - self.corner
        nx, ny = self._nearest(x, y)
        size = math.hypot(x - nx, y - ny)
        return size if (x / self.a) ** 2 + (y / self.b) ** 2 > 1 else -size

    def _nearest(self, x: float, y: float) -> Point:
        """The point of the ellipse nearest to (x, y), neither of them negative.

        Found by way of the centre of curvature, which converges in a few steps.
        """
        tx = ty = math.sqrt(0.5)
        a, b = self.a, self.b
        for _ in range(6):
            ex, ey = (a * a - b * b) * tx**3 / a, (b * b - a * a) * ty**3 / b
            r, q = math.hypot(a * tx - ex, b * ty - ey), math.hypot(x - ex, y - ey)
            if q < 1e-12:
                break
            tx, ty = min(1.0, max(0.0, ((x - ex) * r / q + ex) / a)), min(1.0, max(0.0, ((y - ey) * r / q + ey) / b))
            size = math.hypot(tx, ty)
            tx, ty = tx / size, ty / size
        return a * tx, b * ty

    def outline(self) -> Outline:
        """The edge as an outline, anticlockwise from the right."""
        if self.corner is None:
            return tuple(
                (self.a * math.cos(2 * math.pi * i / 180), self.b * math.sin(2 * math.pi * i / 180)) for i in range(180)
            )
        points = []
        for sx, sy, start in ((1, 1, 0), (-1, 1, 90), (-1, -1, 180), (1, -1, 270)):
            for i in range(31 if self.corner else 1):
                t = math.radians(start + 3.0 * i)
                points.append(
                    (
                        sx * (self.a - self.corner) + self.corner * math.cos(t),
                        sy * (self.b - self.corner) + self.corner * math.sin(t),
                    )
                )
        return tuple(points)

    def outside(self, clock_deg: float, by: float) -> Point:
        """The point ``by`` mm outside the edge, at right angles to it, where the ray at ``clock_deg`` leaves it."""
        r = self.reach(clock_deg)
        x, y = r * math.sin(math.radians(clock_deg)), r * math.cos(math.radians(clock_deg))
        if self.corner is None:
            nx, ny = x / self.a**2, y / self.b**2
        else:
            dx, dy = abs(x) - (self.a - self.corner), abs(y) - (self.b - self.corner)
            if dx > 1e-9 and dy > 1e-9:
                nx, ny = math.copysign(dx, x), math.copysign(dy, y)
            else:
                nx, ny = (math.copysign(1.0, x), 0.0) if dx - dy > 1e-9 else (0.0, math.copysign(1.0, y))
        size = math.hypot(nx, ny)
        return x + by * nx / size, y + by * ny / size


@lru_cache(maxsize=64)
def rim(plate: Plate) -> Edge:
    """The outer edge of the plate."""
    return _edge(plate, float(plate.outer_mm), float(plate.outer_far_mm or plate.outer_mm), float(plate.corner_mm))


@lru_cache(maxsize=64)
def well(plate: Plate) -> Edge:
    """The edge of the well, which is where food may lie; its corners are concentric with those of the plate."""
    wide, far = float(plate.well_mm), float(plate.well_far_mm or plate.well_mm)
    border = min(float(plate.outer_mm) - wide, float(plate.outer_far_mm or plate.outer_mm) - far) / 2
    return _edge(plate, wide, far, max(0.0, float(plate.corner_mm) - border))


def _edge(plate: Plate, wide: float, far: float, corner: float) -> Edge:
    if plate.form in ("rectangle", "board"):
        return Edge(wide / 2, far / 2, min(corner, wide / 2, far / 2))
    return Edge(wide / 2, far / 2 if plate.form == "oval" else wide / 2)


def capacity_ml(plate: Plate) -> float | None:
    """What the well holds in ml when full to the brim; None where that is not known.

    A bowl or coupe is taken as part of a sphere; the well of a rimmed plate, an oval or
    a rectangle has upright walls.  A board has none, and holds nothing.
    """
    if plate.depth_mm is None or plate.form == "board":
        return None
    depth = float(plate.depth_mm)
    if plate.form in ("coupe", "bowl"):
        return volumes.cap_ml(float(plate.well_mm), depth)
    return volumes.cylinder_ml(float(plate.well_mm), depth) if plate.is_round else well(plate).area * depth / 1000
