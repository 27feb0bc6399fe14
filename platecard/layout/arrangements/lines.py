"""Pieces along a straight line between two places."""

from __future__ import annotations

import math
from collections.abc import Sequence

from platecard.layout.footprint import Footprint, clock_of
from platecard.layout.pattern import STRAIGHT, Pattern
from platecard.layout.place_words import as_end, end, how_far, where
from platecard.layout.placing import Bench, Spot
from platecard.model import Plate, Step

_NO_WAY_MM = 5.0  # a line shorter than this runs no way that a cook would see


def _placed(bench: Bench) -> list[Spot]:
    (x0, y0), (x1, y1) = bench.point(bench.step.start, "from"), bench.point(bench.step.end, "to")
    unsaid = 180.0 if bench.stands else clock_of(x1 - x0, y1 - y0)
    spots = []
    for t in bench.shares(math.dist((x0, y0), (x1, y1))):
        x, y = x0 + t * (x1 - x0), y0 + t * (y1 - y0)
        spots.append(Spot(x, y, bench.axis(x, y, unsaid), bench.level))
    return spots


def _said(step: Step, plate: Plate | None) -> str:
    return f"in a line from {end(step.start)} to {end(step.end)}{how_far(step, plate)}"


def ends(pieces: Sequence[Footprint]) -> str:
    """Where laid pieces begin and end: ``from 8:00 to 4:00, 30 mm out``."""
    first, last = where(pieces[0].centre), where(pieces[-1].centre)
    begin, *out = first.split(", ")
    if out == last.split(", ")[1:]:  # the same distance out need not be said twice
        return f"from {as_end(begin)} to {last.removeprefix('at ').removeprefix('in ')}"
    return f"from {as_end(first)} to {as_end(last)}"


def from_end_to_end(step: Step, pieces: Sequence[Footprint]) -> str:
    """A picture's words for pieces laid from one place to another."""
    return f"in {'an' if step.arrange == 'arc' else 'a'} {step.arrange} {ends(pieces)}"


def counted_along(step: Step, hosts: Sequence[Footprint]) -> str:
    """Where to start counting pieces in a straight line."""
    (x0, y0), (x1, y1) = hosts[0].centre, hosts[-1].centre
    if math.dist((x0, y0), (x1, y1)) <= _NO_WAY_MM:
        return ""
    if abs(x1 - x0) >= abs(y1 - y0):
        return f"counted from the {'left' if x1 > x0 else 'right'}"
    return f"counted from the {'far side' if y1 < y0 else 'side of the guest'}"


LINE: Pattern = Pattern(
    name="line",
    meaning="evenly along a straight line, from one place to another",
    place=_placed,
    said=_said,
    pictured=from_end_to_end,
    uses=frozenset({"from", "to", "overlap", "gap"}),
    needs=("piece", "from", "to"),
    counting=counted_along,
    order=STRAIGHT,
    takes_graded=True,
    is_group=True,
)
