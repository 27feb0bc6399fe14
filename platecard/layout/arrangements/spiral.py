"""Pieces along a spiral that winds inwards from where it starts.

The curve is an Archimedean spiral about the centre of the plate: with each turn it comes nearer to the centre by
the same distance, which is that of one piece and the gap, or more where long pieces need it to keep the gap.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from platecard.layout import geometry2d
from platecard.layout.arrangements.lines import from_end_to_end
from platecard.layout.footprint import Footprint, clock_of, polar
from platecard.layout.geometry2d import Outline, box, moved
from platecard.layout.pattern import CURVED, Pattern
from platecard.layout.place_words import as_end, place
from platecard.layout.placing import Bench, Spot
from platecard.layout.shapes import ROUND
from platecard.model import Plate, Step
from platecard.quantities.clock_positions import clock_text

_INNERMOST = 0.75  # of the distance between two turns: nearer to the centre the curve is too tight to be followed
_WIDER = 1.02  # by how much the turns are moved apart at a time
_SURE = 1e-7  # mm: what rounding may take off a gap


def _placed(bench: Bench) -> list[Spot]:
    x, y = bench.point(bench.step.start, "from")
    start, out = clock_of(x, y), math.hypot(x, y)
    left, near, right, far = box(bench.every_local())
    # As a rectangle, so that the gap is kept whichever way a piece is turned and whatever its outline.
    block = ((left, near), (right, near), (right, far), (left, far))
    pitch = min(right - left, far - near) + float(bench.step.gap_mm or 0)
    while True:
        spots, is_clear = _wound(bench, start, out, pitch, block)
        if is_clear or pitch > out:
            return spots
        pitch *= _WIDER


def _wound(bench: Bench, start: float, out: float, pitch: float, block: Outline) -> tuple[list[Spot], bool]:
    """The pieces along the spiral with ``pitch`` mm between its turns, and whether all that lie on it keep the gap."""
    gap = float(bench.step.gap_mm or 0) + _SURE
    across = bench.length if bench.shape in ROUND and bench.length == bench.width else None
    reach = max(math.hypot(*p) for p in block)
    side = -1.0 if bench.step.anticlockwise else 1.0

    def spot(turned: float) -> Spot:
        r = out - pitch * turned / 360
        x, y = polar(start + side * turned, r)
        along = start + side * (turned + 90 + math.degrees(math.atan2(pitch, 2 * math.pi * r)))
        return Spot(x, y, bench.axis(x, y, start + side * turned if bench.stands else along % 360), bench.level)

    def keeps(a: Spot, b: Spot) -> bool:
        apart = math.dist((a.x, a.y), (b.x, b.y))
        if across is not None:
            return apart - across >= gap
        if apart >= 2 * reach + gap:
            return True
        one, two = moved(block, a.axis, a.x, a.y), moved(block, b.axis, b.x, b.y)
        return not geometry2d.meet(one, two) and geometry2d.distance(one, two) >= gap

    spots, turned = [spot(0.0)], 0.0
    last = 360 * (out - _INNERMOST * pitch) / pitch  # how far the curve is followed, in degrees
    while len(spots) < bench.step.count:
        # The next place that keeps the gap to the piece before: first roughly, then by halving.
        low, high = turned, turned + 2.0
        while high <= min(last, turned + 180) and not keeps(spot(high), spots[-1]):
            low, high = high, high + 2.0
        if high > min(last, turned + 180):
            break
        for _ in range(32):
            middle = (low + high) / 2
            low, high = (low, middle) if keeps(spot(middle), spots[-1]) else (middle, high)
        found = spot(high)
        if not all(keeps(found, s) for s in spots[:-1]):
            return spots, False
        spots.append(found)
        turned = high
    return spots, True


def _said(step: Step, plate: Plate | None) -> str:
    way = "anticlockwise" if step.anticlockwise else "clockwise"
    begin = as_end(place(step.start, step.out, plate)) if step.start else ""
    return f"in a spiral winding inwards, {way} from {begin}"


def _counting(step: Step, hosts: Sequence[Footprint]) -> str:
    return f"counted inwards from {clock_text(clock_of(*hosts[0].centre))}"


SPIRAL: Pattern = Pattern(
    name="spiral",
    meaning="along a spiral about the centre that starts at `from`, so far `out`, and winds inwards, the `gap` between"
    " neighbours and at least that between its turns",
    place=_placed,
    said=_said,
    pictured=from_end_to_end,
    uses=frozenset({"from", "turning", "gap"}),
    needs=("piece", "from"),
    counting=_counting,
    order=CURVED,
    is_group=True,
)
