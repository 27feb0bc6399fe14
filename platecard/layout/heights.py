"""How high each piece stands on the laid plate: its foot and its top above the well, in mm."""

from __future__ import annotations

import math

from platecard.layout import geometry2d, shapes
from platecard.layout.footprint import Arrangement, Footprint

MATTERS_MM = 25.0
"""A plate with food this high or higher cannot be judged from above alone (practice)."""


def height(f: Footprint) -> float:
    """The height of the piece itself in mm: as given, or as is usual for its shape."""
    if f.height_mm is not None:
        return f.height_mm
    shape = shapes.find(f.shape)
    return 3.0 if shape is None else shape.share * f.width_mm if shape.share else shape.high_mm


def stacked(arrangement: Arrangement) -> tuple[tuple[Footprint, float, float], ...]:
    """Each piece with the heights of its foot and its top above the well, in mm, from the bottom up.

    A piece rests on the highest piece of a lower layer beneath it, even a leaf or a sauce: what lies
    on those sinks in no deeper than their top.  What stands or leans has a narrow foot, so on a piece
    that falls to one side it stands lower.  Only a piece that lies flat bears another.
    """
    found: list[tuple[Footprint, float, float]] = []
    below: list[tuple[float, geometry2d.Box, Footprint]] = []  # the top and the box of each piece that can bear another
    for f in sorted(arrangement.footprints, key=lambda f: f.level):
        foot, around = 0.0, f.box
        for top, its, g in below:
            # The outlines are compared last: that is the slowest test, and few pairs reach it.
            if (
                top > foot
                and g.level < f.level
                and geometry2d.boxes_meet(around, its)
                and geometry2d.meet(f.outline, g.outline)
            ):
                foot = top if f.stance == "flat" else max(foot, top - (1 - _share_at(g, f.centre)) * height(g))
        found.append((f, foot, foot + height(f)))
        if f.stance == "flat":
            below.append((foot + height(f), around, f))
    return tuple(found)


def _share_at(f: Footprint, point: geometry2d.Point) -> float:
    """How high a piece is at a point, as a share of its full height.

    A wedge falls from its back to its tip, a fillet from its head to its tail, as the view from the side draws them.
    """
    falls = shape.falls if (shape := shapes.find(f.shape)) else None
    if falls is None:
        return 1.0
    a = math.radians(f.axis_deg)
    along = (point[0] - f.centre[0]) * math.sin(a) + (point[1] - f.centre[1]) * math.cos(a)
    full, end = falls
    u = min(max(along / f.length_mm + 0.5, full), 1.0)
    return 1.0 - (1.0 - end) * (u - full) / (1.0 - full)


def highest(arrangement: Arrangement) -> float:
    """The height of the tallest point of the food above the well, in mm."""
    return max((top for _, _, top in stacked(arrangement)), default=0.0)


def matter(arrangement: Arrangement) -> bool:
    """Whether a side view shows something that the view from above does not."""
    return any(f.stance != "flat" for f in arrangement.footprints) or highest(arrangement) >= MATTERS_MM
