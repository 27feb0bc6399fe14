"""Pieces strewn over a region."""

from __future__ import annotations

from collections.abc import Sequence

from platecard.layout import regions
from platecard.layout.footprint import Footprint
from platecard.layout.pattern import Pattern
from platecard.layout.place_words import region
from platecard.model import Plate, Step


def _said(step: Step, plate: Plate | None) -> str:
    if step.within:
        return f"scattered {region(step.within)}"
    return "scattered" if step.on else "scattered over the well"


def _pictured(step: Step, pieces: Sequence[Footprint]) -> str:
    return _said(step, None)


SCATTER: Pattern = Pattern(
    name="scatter",
    meaning="strewn over the region `within`, over what it lies on, or over the well; the same every time, and a new"
    " garnish does not move it",
    place=regions.scattered,
    said=_said,
    pictured=_pictured,
    uses=frozenset({"within", "gap"}),
    needs=("piece",),
    is_group=True,
)
