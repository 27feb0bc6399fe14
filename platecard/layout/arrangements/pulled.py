"""Sauces drawn out from one place to another: swipes and drizzles."""

from __future__ import annotations

import math
from collections.abc import Sequence

from platecard.layout import geometry2d
from platecard.layout.footprint import Footprint, clock_of, polar
from platecard.layout.geometry2d import Outline, Point
from platecard.layout.pattern import PULLED, Pattern
from platecard.layout.place_words import as_end, end, how_far, where
from platecard.layout.placing import Bench, Spot
from platecard.layout.shapes import outline
from platecard.model import Place, Plate, Step
from platecard.quantities.clock_positions import clock_text


def _pulled(bench: Bench) -> list[Spot]:
    """A swipe or drizzle from one place to another: straight, or along an arc where the spec says which way round."""
    step = bench.step
    first, last = bench.point(step.start, "from"), bench.point(step.end, "to")
    start, end = clock_of(*first), clock_of(*last)
    r0, r1 = math.hypot(*first), math.hypot(*last)
    if step.bends or step.anticlockwise:
        sweep = -((start - end) % 360) if step.anticlockwise else (end - start) % 360
        if abs(sweep) < 1e-6:
            sweep = -340.0 if step.anticlockwise else 340.0  # nearly round: its ends stay apart
        length = math.radians(abs(sweep)) * (r0 + r1) / 2
    else:
        sweep, length = 0.0, math.dist(first, last)
    bench.length = max(length, bench.width)
    local = outline(bench.shape, bench.length, bench.width)
    if not sweep:
        x, y = (first[0] + last[0]) / 2, (first[1] + last[1]) / 2
        return [Spot(x, y, clock_of(last[0] - first[0], last[1] - first[1]), bench.level)]
    side = -1.0 if sweep < 0 else 1.0

    def on(u: float, v: float) -> Point:
        t = v / bench.length + 0.5
        return polar(start + t * sweep, r0 + t * (r1 - r0) - side * u)

    bent = tuple(on(u, v) for u, v in _fine(local))
    x, y = on(0.0, 0.0)
    return [Spot(x, y, (start + sweep / 2 + 90 * side) % 360, bench.level, bent if geometry2d.area(bent) else ())]


def _fine(points: Outline) -> Outline:
    """The outline with points at most 4 mm apart, so that it can be bent."""
    found: list[Point] = []
    for (x0, y0), (x1, y1) in zip(points, points[1:] + points[:1]):
        n = max(1, math.ceil(math.dist((x0, y0), (x1, y1)) / 4))
        found += [(x0 + (x1 - x0) * i / n, y0 + (y1 - y0) * i / n) for i in range(n)]
    return tuple(found)


# --- words -----------------------------------------------------------------------------------------------------------


def _ends(step: Step, plate: Plate | None) -> str:
    bent = f", {'anticlockwise' if step.anticlockwise else 'clockwise'} along the arc" if step.bends else ""
    return f"from {end(step.start)} to {end(step.end)}{bent}{how_far(step, plate)}"


def _said_swipe(step: Step, plate: Plate | None) -> str:
    return f"pulled, thick end first, {_ends(step, plate)}"


def _said_drizzle(step: Step, plate: Plate | None) -> str:
    return f"in a line {_ends(step, plate)}"


def _short(p: Place | None) -> str:
    if p is None:
        return ""
    if p.clock_deg is not None:
        return clock_text(float(p.clock_deg))
    return as_end(where((float(p.right_mm or 0), float(p.away_mm or 0))))


def _along_the_arc(step: Step) -> str:
    return ", along the arc" if step.bends else ""


def _pictured_swipe(step: Step, pieces: Sequence[Footprint]) -> str:
    return f"pulled, thick end first, from {_short(step.start)} to {_short(step.end)}{_along_the_arc(step)}"


def _pictured_drizzle(step: Step, pieces: Sequence[Footprint]) -> str:
    return f"in a line from {_short(step.start)} to {_short(step.end)}{_along_the_arc(step)}"


_USES = frozenset({"from", "to", "turning", "across"})
_NEEDS = ("from", "to", "across")

SWIPE: Pattern = Pattern(
    name="swipe",
    meaning="pulled with the spoon from its thick end to its thin one, straight or `turning` along an arc",
    place=_pulled,
    said=_said_swipe,
    pictured=_pictured_swipe,
    uses=_USES,
    needs=_NEEDS,
    laid=PULLED,
    shape="swipe",
    across="wide at the thick end",
)
DRIZZLE: Pattern = Pattern(
    name="drizzle",
    meaning="a thin line of sauce, straight or `turning` along an arc",
    place=_pulled,
    said=_said_drizzle,
    pictured=_pictured_drizzle,
    uses=_USES,
    needs=_NEEDS,
    laid=PULLED,
    shape="drizzle",
    across="wide",
)
