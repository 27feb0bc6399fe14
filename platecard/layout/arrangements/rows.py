"""Pieces about one place: rows, grids, clusters, and pieces that lean on each other."""

from __future__ import annotations

import math
from collections.abc import Sequence

from platecard.layout.arrangements.lines import counted_along
from platecard.layout.arrangements.one import ABOUT_A_PLACE
from platecard.layout.footprint import Footprint, clock_of, polar
from platecard.layout.geometry2d import Outline, moved
from platecard.layout.pattern import STRAIGHT, Pattern
from platecard.layout.place_words import where
from platecard.layout.placing import Bench, Spot
from platecard.model import Plate, Step
from platecard.quantities.clock_positions import clock_text

_LEAN = 0.3  # the distance from one leaning piece to the next, as a share of the length that shows


def _row(bench: Bench) -> list[Spot]:
    """Pieces side by side about their place, left to right or the way the chef says, the step's gap between them."""
    n, along = bench.step.count, _along(bench)
    x, y = bench.home()
    axis = bench.axis(x, y, along - 90)
    wide = _extent(bench.every_local(), axis, along)
    gap = float(bench.step.gap_mm or 0)
    widths = [bench.grade(i) * wide for i in range(n)]
    at = -(sum(widths) + gap * (n - 1)) / 2
    spots = []
    for width in widths:
        px, py = polar(along, at + width / 2)
        spots.append(Spot(x + px, y + py, axis, bench.level))
        at += width + gap
    return spots


def _grid(bench: Bench) -> list[Spot]:
    """Rows of pieces about their place, the last perhaps short; as square as possible where ``rows`` is not given."""
    n, along = bench.step.count, _along(bench)
    rows = min(n, bench.step.rows or max(1, round(math.sqrt(n))))
    columns = math.ceil(n / rows)
    rows = math.ceil(n / columns)
    x, y = bench.home()
    axis = bench.axis(x, y, along - 90)
    gap = float(bench.step.gap_mm or 0)
    wide, high = _extent(bench.every_local(), axis, along) + gap, _extent(bench.every_local(), axis, along + 90) + gap
    spots = []
    for i in range(n):
        r, c = divmod(i, columns)
        px, py = polar(along, (c - (columns - 1) / 2) * wide)
        qx, qy = polar(along + 90, (r - (rows - 1) / 2) * high)
        spots.append(Spot(x + px + qx, y + py + qy, axis, bench.level))
    return spots


def _cluster(bench: Bench) -> list[Spot]:
    """Pieces close together about their place on a hexagonal lattice, turned as if thrown."""
    n, reach = bench.step.count, bench.reach()
    pitch = 2 * (reach.half + reach.radius) + float(bench.step.gap_mm or 0)
    ring = math.ceil(math.sqrt(n)) + 1
    spread = [
        (pitch * (i + j / 2), pitch * j * math.sqrt(0.75))
        for i in range(-ring, ring + 1)
        for j in range(-ring, ring + 1)
    ]
    nearest = sorted(spread, key=lambda p: (round(math.hypot(*p), 6), round(clock_of(*p), 6)))[:n]
    mx, my = sum(p[0] for p in nearest) / n, sum(p[1] for p in nearest) / n
    x, y = bench.home()
    turn = bench.bearing(x, y)
    around = moved(tuple([(px - mx, py - my) for px, py in nearest]), turn, x, y)
    unsaid = bench.thrown(n) if bench.stands else [axis + turn for axis in bench.thrown(n)]
    return [Spot(px, py, bench.axis(x, y, axis), bench.level) for (px, py), axis in zip(around, unsaid)]


def _leaning(bench: Bench) -> list[Spot]:
    """Pieces one behind the other, each leaning back on the one before, the first on whatever it stands by."""
    n, along = bench.step.count, _along(bench)
    x, y = bench.home()
    axis = bench.axis(x, y, along + 180)  # the raised end leans back
    pitch = max(_LEAN * bench.length, float(bench.step.gap_mm or 0))
    return [
        Spot(x + px, y + py, axis, bench.level + i)
        for i in range(n)
        for px, py in [polar(along, (i - (n - 1) / 2) * pitch)]
    ]


def _along(bench: Bench) -> float:
    """The direction of a row, in degrees; to the right where none is given."""
    return float(bench.step.along_deg) if bench.step.along_deg is not None else 90.0


def _extent(local: Outline, axis: float, along: float) -> float:
    """The extent in mm of an outline turned to ``axis``, measured in the direction ``along``."""
    dx, dy = polar(along, 1.0)
    far = [x * dx + y * dy for x, y in moved(local, axis, 0.0, 0.0)]
    return max(far) - min(far)


# --- words -----------------------------------------------------------------------------------------------------------


def _running(step: Step) -> str:
    return f" running to {clock_text(float(step.along_deg))}" if step.along_deg is not None else ""


def _said_row(step: Step, plate: Plate | None) -> str:
    return f"in a row{_running(step)}"


def _said_grid(step: Step, plate: Plate | None) -> str:
    return "in a grid" + (f" of {step.rows} rows" if step.rows else "") + _running(step)


def _said_cluster(step: Step, plate: Plate | None) -> str:
    return "close together"


def _said_leaning(step: Step, plate: Plate | None) -> str:
    return f"leaning one on the other{_running(step)}" if step.count > 1 else "leaning"


def _about(pieces: Sequence[Footprint]) -> str:
    """Where the middle of the pieces is."""
    n = len(pieces)
    return where((sum(p.centre[0] for p in pieces) / n, sum(p.centre[1] for p in pieces) / n))


def _pictured_group(step: Step, pieces: Sequence[Footprint]) -> str:
    return f"in a {step.arrange} {_about(pieces)}"


def _pictured_cluster(step: Step, pieces: Sequence[Footprint]) -> str:
    return f"close together {_about(pieces)}"


def _pictured_leaning(step: Step, pieces: Sequence[Footprint]) -> str:
    return f"leaning{' one on the other' if len(pieces) > 1 else ''} {_about(pieces)}"


ROW: Pattern = Pattern(
    name="row",
    meaning="side by side about their place, left to right or `along` a clock position",
    place=_row,
    said=_said_row,
    pictured=_pictured_group,
    uses=ABOUT_A_PLACE | {"gap", "along"},
    needs=("piece",),
    counting=counted_along,
    order=STRAIGHT,
    takes_graded=True,
    is_group=True,
)
GRID: Pattern = Pattern(
    name="grid",
    meaning="in `rows` about their place, as square as possible where none are given",
    place=_grid,
    said=_said_grid,
    pictured=_pictured_group,
    uses=ABOUT_A_PLACE | {"gap", "along", "rows"},
    needs=("piece",),
)
CLUSTER: Pattern = Pattern(
    name="cluster",
    meaning="close together about their place, turned as if thrown",
    place=_cluster,
    said=_said_cluster,
    pictured=_pictured_cluster,
    uses=ABOUT_A_PLACE | {"gap"},
    needs=("piece",),
    is_group=True,
)
LEANING: Pattern = Pattern(
    name="leaning",
    meaning="one behind the other, each leaning back on the one before",
    place=_leaning,
    said=_said_leaning,
    pictured=_pictured_leaning,
    uses=ABOUT_A_PLACE | {"gap", "along"},
    needs=("piece",),
    stance="leaning",
    overlaps=True,
)
