"""Pieces strewn over a region."""

from __future__ import annotations

from collections.abc import Sequence

from platecard.layout import regions
from platecard.layout.footprint import Footprint
from platecard.layout.pattern import Pattern
from platecard.layout.place_words import region
from platecard.model.nouns import Plate, Step
from platecard.quantities.units import clock_text


def _said(step: Step, plate: Plate | None) -> str:
    return f"scattered {region(step.within)}" if step.within else "scattered over the well"


def _pictured(step: Step, pieces: Sequence[Footprint]) -> str:
    within = step.within
    if within is None or within.from_deg is None or within.to_deg is None:
        return "scattered"
    return f"scattered from {clock_text(float(within.from_deg))} to {clock_text(float(within.to_deg))}"


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
