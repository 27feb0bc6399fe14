"""A plate or bowl."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from platecard.diagnostics import Span


@dataclass(frozen=True, slots=True)
class Plate:
    """A plate or bowl: ``well_mm`` is the diameter of the flat part that can be used, ``depth_mm`` its depth.

    For an oval, a rectangle or a board ``outer_mm`` and ``well_mm`` run from left to
    right, ``outer_far_mm`` and ``well_far_mm`` away from the guest, and ``corner_mm``
    is the radius of the outer corners.
    """

    key: str
    called: str
    form: str
    outer_mm: Fraction
    well_mm: Fraction
    span: Span
    depth_mm: Fraction | None = None
    colour: str = ""
    outer_far_mm: Fraction | None = None
    well_far_mm: Fraction | None = None
    corner_mm: Fraction = Fraction(0)
    colour_span: Span | None = None

    def __hash__(self) -> int:
        # Plates are keys of caches, and hashing fractions is slow.
        return hash(self.key)

    @property
    def is_round(self) -> bool:
        """Whether its outline is a circle or an ellipse."""
        return self.form in ("rimmed", "coupe", "bowl")
