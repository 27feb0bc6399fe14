"""The volume of one piece from its size, by handbook formulas.  Millimetres in, ml out.

Standard geometry: spherical cap πh(3a² + h²)/6, ellipsoid π/6·LWH, cylinder π/4·D²h, ring
π/4·(D² - d²)h.  A swipe has half the volume of a bar of its size, since it thins out in width
and height; a flower or frond, mostly air, fills a quarter of the prism over its outline (both practice).
"""

from __future__ import annotations

from collections.abc import Sequence

from platecard.layout import shapes
from platecard.layout.geometry2d import Outline, area
from platecard.layout.solids import Size, cap_ml, cylinder_ml, dome_ml

__all__ = ["cap_ml", "cylinder_ml", "dome_ml", "graded_ml", "volume_ml"]


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
    kind = shapes.find(shape)
    if kind is None:
        return None

    def base() -> float:
        if kind.draws is None:
            return area(points) if len(points) > 2 else 0.0
        return area(shapes.outline(shape, length_mm, width_mm))

    return kind.volume(Size(length_mm, width_mm, height_mm, hole_mm, base))


def graded_ml(shape: str, sizes: Sequence[float], height_mm: float | None) -> float | None:
    """The mean volume in ml of graded pieces, whose heights scale with their sizes; None where one is not known."""
    made: list[float] = []
    for s in sizes:
        ml = volume_ml(shape, s, s, height_mm * s / sizes[0] if height_mm else None)
        if ml is None:
            return None
        made.append(ml)
    return sum(made) / len(made) if made else None
