"""The volumes of plain bodies, by handbook formulas.  Millimetres in, ml out."""

from __future__ import annotations

import math
from collections.abc import Callable
from typing import NamedTuple

_AIRY = 0.25  # the share of its prism that a flower or frond, mostly air, fills (practice)


class Size(NamedTuple):
    """The size of one piece in mm, where its height and its hole may not be given; ``base`` is its area from above."""

    length: float
    width: float
    height: float | None
    hole: float | None
    base: Callable[[], float]


Solid = Callable[[Size], float | None]


def dome_ml(length_mm: float, width_mm: float, height_mm: float) -> float:
    """The volume in ml of a spherical cap on a round base, stretched where the base is oval."""
    return math.pi * height_mm * (3 * length_mm * width_mm / 4 + height_mm**2) / 6 / 1000


def cap_ml(diameter_mm: float, depth_mm: float) -> float:
    """The volume in ml of a bowl that is part of a sphere."""
    return dome_ml(diameter_mm, diameter_mm, depth_mm)


def cylinder_ml(diameter_mm: float, depth_mm: float) -> float:
    """The volume in ml of an upright cylinder."""
    return math.pi / 4 * diameter_mm**2 * depth_mm / 1000


def dome(share: float) -> Solid:
    """A dome, ``share`` of its width high where its height is not given."""
    return lambda s: dome_ml(s.length, s.width, s.height or share * s.width)


def ellipsoid(share: float) -> Solid:
    """An ellipsoid, ``share`` of its width high where its height is not given."""
    return lambda s: math.pi / 6 * s.length * s.width * (s.height or share * s.width) / 1000


def strand(share: float) -> Solid:
    """A line whose cross-section is half an ellipse, ``share`` of its width high where its height is not given."""
    return lambda s: math.pi / 4 * s.width * (s.height or share * s.width) * s.length / 1000


def sheet(thick_mm: float) -> Solid:
    """A sheet on its outline, so thick where its height is not given."""
    return lambda s: s.base() * (s.height or thick_mm) / 1000


def prism(s: Size) -> float | None:
    """An upright prism on its outline."""
    return None if s.height is None else s.base() * s.height / 1000


def free_prism(s: Size) -> float | None:
    """A prism on an outline that may not be given."""
    return prism(s) if s.base() else None


def airy(s: Size) -> float | None:
    """A prism on its outline that is mostly air."""
    return None if s.height is None else _AIRY * s.base() * s.height / 1000


def round_prism(s: Size) -> float | None:
    """An upright prism on a circle or an ellipse."""
    return None if s.height is None else math.pi / 4 * s.length * s.width * s.height / 1000


def thinning_out(s: Size) -> float | None:
    """A bar that thins out in width and height to half its volume (practice)."""
    return None if s.height is None else 0.5 * s.length * s.width * s.height / 1000


def tube(s: Size) -> float | None:
    """A ring."""
    if s.height is None:
        return None
    small = min(s.length, s.width)
    wall = (small - (s.hole or 0.6 * small)) / 2
    return math.pi / 4 * (s.length * s.width - (s.length - 2 * wall) * (s.width - 2 * wall)) * s.height / 1000
