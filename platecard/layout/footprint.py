"""The laid plate: one footprint for each piece.  Millimetres.

The origin is the middle of the plate; x runs to the right, y away from the guest.
Angles are degrees clockwise from 12 o'clock, so x = r·sin and y = r·cos, and 6:00 is
the point nearest the guest.
"""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import NamedTuple

from platecard.diagnostics import Problem, Span
from platecard.layout.geometry2d import Box, Outline, Point, box
from platecard.layout.shapes import ROUND
from platecard.model import Plate
from platecard.model.appearance import Appearance

RIM = "rim"
"""The word under ``on`` that lets a piece lie beyond the well."""


@dataclass(frozen=True, slots=True)
class Footprint:
    """One piece on the plate.  ``length_mm`` runs along ``axis_deg``, ``width_mm`` across it.

    ``step`` is the number of its step, ``index`` the piece's own within the step, from 0.
    ``level`` counts the layers below it (0: it lies on the plate); ``height_mm`` is the
    height of the piece itself, where that is known.
    """

    component: str
    step: int
    index: int
    shape: str
    outline: Outline
    centre: Point
    axis_deg: float
    length_mm: float
    width_mm: float
    height_mm: float | None
    stance: str
    up: str
    level: int
    span: Span
    box: Box = field(init=False, repr=False, compare=False)
    """The upright box round the outline."""

    def __post_init__(self) -> None:
        object.__setattr__(self, "box", box(self.outline))

    @property
    def radius_mm(self) -> float | None:
        """The radius of a round piece that lies flat; None for any other."""
        return self.length_mm / 2 if self.shape in ROUND and self.length_mm == self.width_mm else None


class Arrangement(NamedTuple):
    """A laid plate: its footprints from the bottom up, and its components in plating order.

    ``looks`` says by component what decides how it looks, and after that how its swaps look, where their recipes are
    known; no place depends on it.
    """

    plate: Plate
    footprints: tuple[Footprint, ...]
    order: tuple[str, ...]
    looks: tuple[tuple[str, Appearance], ...] = ()

    def of(self, component: str) -> tuple[Footprint, ...]:
        """The pieces of one component, from the bottom up."""
        return tuple(f for f in self.footprints if f.component == component)


class Fault(NamedTuple):
    """A problem of the laid plate and the pieces that show it."""

    problem: Problem
    pieces: tuple[Footprint, ...] = ()


def polar(clock_deg: float, out_mm: float) -> Point:
    """The point ``out_mm`` from the centre in the direction ``clock_deg``."""
    a = math.radians(clock_deg)
    return out_mm * math.sin(a), out_mm * math.cos(a)


def clock_of(x: float, y: float) -> float:
    """The direction from the centre to (x, y), in degrees clockwise from 12 o'clock; 0 at the centre itself."""
    return math.degrees(math.atan2(x, y)) % 360 if abs(x) > 1e-6 or abs(y) > 1e-6 else 0.0
