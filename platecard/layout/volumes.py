"""How much of a food one piece is, from its size: handbook formulas.  Millimetres in, ml out.

Standard geometry: spherical cap πh(3a² + h²)/6, ellipsoid π/6·LWH, cylinder π/4·D²h, ring
π/4·(D² - d²)h.  A swipe is half a bar of its size, since it thins out in width and height; what
is mostly air between petals or barbs fills a quarter of its walls (both practice).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from platecard.layout.geometry2d import Outline, area
from platecard.layout.shapes import ROUND, outline

_AIRY = 0.25
_LEAF_MM = 0.4  # how thick a leaf is; practice


def volume_ml(
    shape: str,
    length_mm: float,
    width_mm: float,
    height_mm: float | None = None,
    hole_mm: float | None = None,
    points: Outline = (),
) -> float | None:
    """The volume in ml of one piece, or None where it cannot be told.

    Without a height a dot stands 0.3 of its width, a quenelle or crumb 0.8, a foam
    0.35, a drizzle 0.4, and a leaf is as thin as leaves are.  All others are upright
    walls on their outline and need a height.
    """
    match shape:
        case "dot":
            return dome_ml(length_mm, width_mm, height_mm or 0.3 * width_mm)
        case "foam":
            return dome_ml(length_mm, width_mm, height_mm or 0.35 * width_mm)
        case "quenelle" | "crumb":
            return math.pi / 6 * length_mm * width_mm * (height_mm or 0.8 * width_mm) / 1000
        case "drizzle":
            # Half an ellipse across, all along.
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
    """The mean volume of graded pieces, whose heights go with their sizes."""
    made = [volume_ml(shape, s, s, height_mm * s / sizes[0] if height_mm else None) for s in sizes]
    return sum(made) / len(made) if made and None not in made else None


def dome_ml(length_mm: float, width_mm: float, height_mm: float) -> float:
    """A spherical cap on a round foot; on an oval one the same, stretched."""
    return math.pi * height_mm * (3 * length_mm * width_mm / 4 + height_mm**2) / 6 / 1000


def cap_ml(diameter_mm: float, depth_mm: float) -> float:
    """A bowl that is part of a ball."""
    return dome_ml(diameter_mm, diameter_mm, depth_mm)


def cylinder_ml(diameter_mm: float, depth_mm: float) -> float:
    """An upright cylinder."""
    return math.pi / 4 * diameter_mm**2 * depth_mm / 1000
