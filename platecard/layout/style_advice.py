"""Opinions about a laid plate, given as advice and never as errors: crowding, balance, even numbers, drift."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from platecard.diagnostics import advice
from platecard.layout import arrangements, geometry2d, plate_geometry, volumes
from platecard.layout.footprint import RIM, Arrangement, Fault, Footprint, clock_of
from platecard.model import Dish
from platecard.quantities.clock_positions import clock_text
from platecard.quantities.units import shown

_CROWDED = 0.75  # share of the well covered; 40 to 65 % is usual (practice)
_MOST_PARTS = 6  # a main course with more components than this is busy (practice)
_OFF_CENTRE = 0.35  # share of the way to the edge; food is set off the centre by up to 0.25 on purpose (practice)
_EVEN = (
    4,
    6,
)  # such groups look better with one more or less; two read as a pair, and eight are not counted (practice)
_PRESSED = 0.5  # mm: pieces closer than this were laid against each other on purpose


def opinions(arrangement: Arrangement, dish: Dish, asked: Callable[[Footprint, Footprint], bool]) -> Iterator[Fault]:
    """Everything a chef might want to look at again; ``asked`` tells whether two pieces may overlap."""
    share = coverage(arrangement)
    if share > _CROWDED:
        yield Fault(
            advice(
                "crowded",
                dish.plate_span,
                f"food covers {shown(100 * share, 0)} % of the well",
                "over 75 % looks crowded: use a larger plate, or fewer or smaller pieces",
            )
        )
    if "main" in dish.course.lower() and len(arrangement.order) > _MOST_PARTS:
        yield Fault(
            advice(
                "many-components",
                dish.span,
                f"{len(arrangement.order)} components on one main course",
                "keep to five or six, as many as a pass can keep in order",
            )
        )
    if len(arrangement.order) > 1:  # a single component is the whole plate
        yield from _balance(arrangement, dish)
        yield from _even(arrangement, dish)
        yield from _shared(arrangement, dish)
    yield from _drift(arrangement, dish, asked)


def weight(f: Footprint) -> float:
    """How heavy a piece looks: its volume in ml, or that of its area 2 mm high where it has none."""
    return (
        volumes.volume_ml(f.shape, f.length_mm, f.width_mm, f.height_mm, None, f.outline)
        or geometry2d.area(f.outline) * (f.height_mm or 2.0) / 1000
    )


def _balance(arrangement: Arrangement, dish: Dish) -> Iterator[Fault]:
    # A purée or a sauce weighs against what lies beside it; what comes at the table is not there yet.
    later = dish.at_table
    solid = [f for f in arrangement.footprints if f.step not in later]
    whole = sum(map(weight, solid))
    if len(solid) < 2 or not whole:
        return
    x = sum(weight(f) * f.centre[0] for f in solid) / whole
    y = sum(weight(f) * f.centre[1] for f in solid) / whole
    off = math.hypot(x, y) / plate_geometry.well(arrangement.plate).reach(clock_of(x, y))
    if off > _OFF_CENTRE:
        yield Fault(
            advice(
                "off-balance",
                dish.plate_span,
                f"the food lies {shown(math.hypot(x, y), 0)} mm off the centre towards {clock_text(clock_of(x, y))}",
                "if that is intended, leave it; if not, balance it with something on the other side",
            ),
            tuple(solid),
        )


def _shared(arrangement: Arrangement, dish: Dish) -> Iterator[Fault]:
    """Pieces of a shared plate that do not go round; garnish need not."""
    for s in dish.steps:
        over = s.count % dish.guests
        if dish.guests == 1 or s.count < dish.guests or not over or s.section == "garnish":
            continue
        more, each = s.count - over + dish.guests, s.count // dish.guests + 1
        yield Fault(
            advice(
                "shared-unevenly",
                s.place("count"),
                f"{s.count} pieces of {s.put} for {dish.guests} guests do not go round",
                f"{more} would be {each} each",
            ),
            tuple(f for f in arrangement.footprints if f.step == s.index),
        )


def _even(arrangement: Arrangement, dish: Dish) -> Iterator[Fault]:
    """An even number, which looks counted; on a plate that guests share it is meant to be."""
    for s in dish.steps if dish.guests == 1 else ():
        pattern = arrangements.find(s.arrange)
        if s.count in _EVEN and pattern and pattern.is_group and not s.alternating_with:
            pieces = tuple(f for f in arrangement.footprints if f.step == s.index)
            if pieces:
                yield Fault(
                    advice(
                        "even-number",
                        s.place("count"),
                        f"{s.count} pieces of {s.put}, an even number",
                        f"{s.count - 1} or {s.count + 1} would look less counted",
                    ),
                    pieces,
                )


def _drift(arrangement: Arrangement, dish: Dish, asked: Callable[[Footprint, Footprint], bool]) -> Iterator[Fault]:
    """Pieces that may drift as far as expo lets pass, and would then touch a neighbour or the rim."""
    steps = {s.index: s for s in dish.steps}
    drift = {s.index: float(s.accept.place_mm) for s in dish.steps if s.accept.place_mm}
    if not drift:
        return
    well = plate_geometry.well(arrangement.plate)
    boxes = [(f.box, f) for f in arrangement.footprints if f.shape != "pool"]
    told: set[frozenset[int]] = set()
    for number, far in drift.items():
        step = steps[number]
        mine = [(b, f) for b, f in boxes if f.step == number]
        close: tuple[float, str, tuple[Footprint, ...]] | None = None
        for one, f in mine:
            for two, g in boxes:
                if (
                    g.step == number
                    or frozenset((number, g.step)) in told
                    or not geometry2d.boxes_meet(one, two, far)
                    or asked(f, g)
                ):
                    continue
                apart = geometry2d.distance(f.outline, g.outline)
                if _PRESSED < apart < far and (close is None or apart < close[0]):
                    close = apart, g.component, (f, g)
            if RIM not in step.on and not arrangements.is_poured(step):
                apart = -max(map(well.beyond, f.outline))
                if 0 <= apart < far and (close is None or apart < close[0]):
                    close = apart, "the edge of the well", (f,)
        if close is not None and close[0] < far - 0.05:
            told.add(frozenset(f.step for f in close[2]))
            yield Fault(
                advice(
                    "drift-touches",
                    step.place("accept"),
                    f"{step.put} may lie up to {shown(far)} mm off its place, but {close[1]} is {shown(close[0])} mm"
                    " away",
                    "accept less, or leave more room",
                ),
                close[2],
            )


def coverage(arrangement: Arrangement) -> float:
    """The share of the well that the pieces cover, without pools; overlaps count once, to within 2 %."""
    well = plate_geometry.well(arrangement.plate)
    pieces = [f.outline for f in arrangement.footprints if f.shape != "pool"]
    simple = sum(map(geometry2d.area, pieces)) / well.area
    if simple <= _CROWDED:
        return simple
    lines = 60
    covered = 0.0
    edge_line = well.outline()
    for k in range(lines):
        y = well.b * (2 * (k + 0.5) / lines - 1)
        half = (
            math.sqrt(well.a**2 - y * y)
            if well.is_circle
            else max((r for _, r in geometry2d.spans(edge_line, y)), default=0.0)
        )
        spans = sorted(s for p in pieces for s in geometry2d.spans(p, y))
        edge = -half
        for left, right in spans:
            left, right = max(left, edge), min(right, half)
            if right > left:
                covered += right - left
                edge = right
    return covered * 2 * well.b / lines / well.area
