"""The volume of one piece from its size, by handbook formulas.  Millimetres in, ml out.

Standard geometry: spherical cap πh(3a² + h²)/6, ellipsoid π/6·LWH, cylinder π/4·D²h, ring
π/4·(D² - d²)h.  A swipe has half the volume of a bar of its size, since it thins out in width
and height; a flower or frond, mostly air, fills a quarter of the prism over its outline (both practice).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from platecard.layout.geometry2d import Outline, area
from platecard.layout.shapes import ROUND, outline

_AIRY = 0.25
_LEAF_MM = 0.4  # the thickness of a leaf (practice)


def volume_ml(
    shape: str,
    length_mm: float,
    width_mm: float,
    height_mm: float | None = None,
    hole_mm: float | None = None,
    points: Outline = (),
) -> float | None:
    """The volume in ml of one piece, or None where it cannot be worked out.

    Without a height a dot stands 0.3 of its width high, a quenelle or crumb 0.8, a foam
    0.35 and a drizzle 0.4, and a leaf is 0.4 mm thick.  All other shapes are upright
    prisms on their outline and need a height.
    """
    match shape:
        case "dot":
            return dome_ml(length_mm, width_mm, height_mm or 0.3 * width_mm)
        case "foam":
            return dome_ml(length_mm, width_mm, height_mm or 0.35 * width_mm)
        case "quenelle" | "crumb":
            return math.pi / 6 * length_mm * width_mm * (height_mm or 0.8 * width_mm) / 1000
        case "drizzle":
            # Its cross-section is half an ellipse.
            return math.pi / 4 * width_mm * (height_mm or 0.4 * width_mm) * length_mm / 1000
        case "leaf":
            return area(outline(shape, length_mm, width_mm)) * (height_mm or _LEAF_MM) / 1000
    if height_mm is None:
        return None
    match shape:
        case "swipe":
            return 0.5 * length_mm * width_mm * height_mm / 1000
        case "ring":
            small = min(length_mm, width_mm)
            wall = (small - (hole_mm or 0.6 * small)) / 2
            return (
                math.pi / 4 * (length_mm * width_mm - (length_mm - 2 * wall) * (width_mm - 2 * wall)) * height_mm / 1000
            )
        case "outline":
            return area(points) * height_mm / 1000 if len(points) > 2 else None
        case "frond" | "flower":
            return _AIRY * area(outline(shape, length_mm, width_mm)) * height_mm / 1000
    if shape in ROUND:
        return math.pi / 4 * length_mm * width_mm * height_mm / 1000
    return area(outline(shape, length_mm, width_mm)) * height_mm / 1000


def graded_ml(shape: str, sizes: Sequence[float], height_mm: float | None) -> float | None:
    """The mean volume in ml of graded pieces, whose heights scale with their sizes; None where one is not known."""
    made: list[float] = []
    for s in sizes:
        ml = volume_ml(shape, s, s, height_mm * s / sizes[0] if height_mm else None)
        if ml is None:
            return None
        made.append(ml)
    return sum(made) / len(made) if made else None


def dome_ml(length_mm: float, width_mm: float, height_mm: float) -> float:
    """The volume in ml of a spherical cap on a round base, stretched where the base is oval."""
    return math.pi * height_mm * (3 * length_mm * width_mm / 4 + height_mm**2) / 6 / 1000


def cap_ml(diameter_mm: float, depth_mm: float) -> float:
    """The volume in ml of a bowl that is part of a sphere."""
    return dome_ml(diameter_mm, diameter_mm, depth_mm)


def cylinder_ml(diameter_mm: float, depth_mm: float) -> float:
    """The volume in ml of an upright cylinder."""
    return math.pi / 4 * diameter_mm**2 * depth_mm / 1000
