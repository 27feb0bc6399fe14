"""The plate from the guest's side, in true millimetres: how high everything is, and what rests on what.

The guest looks in level from 6:00, and what is nearer hides what is further away.  A piece
whose height the spec does not give gets the usual height of its kind and a broken outline.
Each height has a dimension line of its own beside the food.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Mapping, Sequence
from typing import NamedTuple

from platecard.documents.diagram import dimension_lines
from platecard.documents.diagram.colours import Look, looks, mix
from platecard.documents.diagram.dimension_lines import Dimension, Measured, StackedPiece
from platecard.documents.diagram.marks import INK
from platecard.documents.diagram.plate import china, number_of, source
from platecard.documents.diagram.profile import profile
from platecard.documents.diagram.side_view_pen import SidePen
from platecard.drawing import fonts
from platecard.drawing.scene import About, Group, Item, Path, Polygon, Rect, Scene, Style, Text
from platecard.layout import arrangements, heights, plate_geometry
from platecard.layout.footprint import Arrangement, Footprint
from platecard.layout.geometry2d import Point
from platecard.layout.shapes import variant
from platecard.model import Dish, Plate, Step
from platecard.quantities.units import shown

_BELOW = "seen from the guest, heights in mm"
_ALONE_MM = (110.0, 80.0)  # the room that the picture is made for where none is given
_SKY_MM = 20.0  # the picture shows at least so much above the well
_FADES, _PALEST = 4, 0.4  # pieces get paler in so many steps towards the back, up to this share of the plate's colour
_EDGE_MM = 2.0  # beyond the rim
_BESIDE = 8.0  # mm of the paper
_ROUNDS = 8  # how often the scale is worked out again, because what stands beside the food has a size on paper


class _Frame(NamedTuple):
    """What the picture shows: to the left and right of the middle, and above and below the well, in mm of the plate."""

    left: float
    right: float
    sky: float
    below: float
    dimensions: tuple[Dimension, ...]

    def one(self, room: tuple[float, float]) -> float:
        """How many mm of the plate are one mm of the paper where the picture fills this room."""
        return max((self.right - self.left) / room[0], (self.sky + self.below) / room[1])


def on_paper(
    arrangement: Arrangement, dish: Dish, callouts: Mapping[str, str]
) -> Callable[[float, float], Scene] | None:
    """Draws the side view for a width and a height in mm of the paper; None where height does not matter."""
    if not heights.matter(arrangement):
        return None
    return lambda width, height: draw(arrangement, dish, callouts=callouts, room=(width, height))


def draw(
    arrangement: Arrangement,
    dish: Dish,
    *,
    callouts: Mapping[str, str] | None = None,
    room: tuple[float, float] | None = None,
) -> Scene:
    """The side view; ``callouts`` as in :func:`platecard.documents.diagram.plate.draw`.

    ``room`` is the width and the height in mm that the picture has on paper: its lines and words are sized for that.
    """
    plate = arrangement.plate
    numbers = number_of(dish) if callouts is None else callouts
    # The plate as it leaves the pass: what is poured or put on at the table is not there yet.
    later = dish.at_table
    rows = tuple(row for row in heights.stacked(arrangement) if row[0].step not in later)
    room = room or _ALONE_MM
    top = max((t for _, _, t in rows), default=0.0)
    measured = dimension_lines.measured(rows, numbers)
    one = 0.5
    for _ in range(_ROUNDS):
        one = _frame(measured, numbers, top, plate, one).one(room)
    left, right, sky, below, dimensions = _frame(measured, numbers, top, plate, one)
    size = dimension_lines.PT * one
    depth = _depth(plate)
    middle, ground = -left, sky  # of the plate, and y of the well
    # From the far side to the near one, and on one spot from the bottom up.
    order = sorted(rows, key=lambda r: (-round(r[0].centre[1], 3), r[0].level, r[0].step, r[0].index))
    ends = [middle + d.label[0] for d in dimensions]
    near, far = (max([x for x in ends if x < middle] or [0.0]), min([x for x in ends if x > middle] or [right - left]))
    cut = Rect(near, 0, far - near, sky + below, Style(fill="#ffffff"))
    food = dict(_food(order, dish, looks(arrangement, dish), plate, (middle, ground)))
    starts = [_top_of(food[d.piece.step, d.piece.index], d.side) for d in dimensions]
    items = (
        Group(tuple(i for piece in food.values() for i in piece), id="food", title="Food"),
        Group(tuple(_plate(plate, middle, ground, depth)), id="plate", title=plate.called, clip=cut),
        Group(
            tuple(dimension_lines.drawn(dimensions, starts, (middle, ground), one)),
            id="heights",
            title="Heights above the well",
            role="list",
        ),
        Text(
            middle,
            sky + below - max(1.0, fonts.descent(size, "semibold")),
            _BELOW,
            size,
            "semibold",
            "middle",
            INK,
        ),
    )
    return Scene(
        right - left,
        sky + below,
        items,
        f"{dish.title}: the plate from the guest's side",
        f"The highest point stands {shown(top, 0)} mm above the well. " + " ".join(_in_words(rows, dish)),
    )


def _frame(measured: Measured, numbers: Mapping[str, str], top: float, plate: Plate, one: float) -> _Frame:
    """What the picture shows where ``one`` mm of the plate is one mm of the paper.

    A plate wider than what is on it is cut off, or its food would be too small to be seen.
    """
    rim = plate_geometry.rim(plate).a + _EDGE_MM
    dimensions = dimension_lines.laid(measured, numbers, one)
    left, right, high = dimension_lines.extent(dimensions, one)
    # Where nothing stands beside the food, its plate is shown a little further.
    left = left if left < 0 else max(-rim, measured.edges[0] - _BESIDE * one)
    right = right if right > 0 else min(rim, measured.edges[1] + _BESIDE * one)
    wall = 0.0 if plate.form == "board" else _depth(plate)
    sky = max(high, top, _SKY_MM) + one
    below = max(4.0, _depth(plate) - wall) + 1.3 * fonts.line_height(dimension_lines.PT * one)
    # The words below it have to fit too.
    half = fonts.width_mm(_BELOW, dimension_lines.PT * one, "semibold") / 2
    return _Frame(min(left, -half) - one, max(right, half) + one, sky, below, dimensions)


def _depth(plate: Plate) -> float:
    return float(plate.depth_mm or (6 if plate.form == "board" else 12))


def _plate(plate: Plate, middle: float, ground: float, depth: float) -> Iterator[Item]:
    """The plate in section: the floor of the well, and walls up to the rim; a board is a slab."""
    rim, well, fill = plate_geometry.rim(plate), plate_geometry.well(plate), china(plate)
    line = Style(fill=fill, stroke=mix(fill, "#3a342c", 0.62), width=0.4)
    thick = 4.0
    if plate.form == "board":
        yield Rect(middle - rim.a, ground, 2 * rim.a, depth, line, about=About(role="plate"))
        return
    sides = [
        (middle - rim.a, ground - depth),
        (middle - well.a, ground),
        (middle + well.a, ground),
        (middle + rim.a, ground - depth),
    ]
    # The wall nearest the guest would hide the food, so it is cut away and only its outline is drawn.
    yield Polygon(
        (*sides, (middle + well.a * 0.9, ground + thick), (middle - well.a * 0.9, ground + thick)),
        Style(stroke=line.stroke, width=0.4),
        about=About(role="plate"),
    )
    foot = 0.9 * well.a
    yield Polygon(
        (
            (middle - well.a, ground),
            (middle + well.a, ground),
            (middle + foot, ground + thick),
            (middle - foot, ground + thick),
        ),
        line,
    )


def _food(
    order: Sequence[StackedPiece], dish: Dish, look: Mapping[str, Look], plate: Plate, origin: Point
) -> Iterator[tuple[tuple[int, int], tuple[Item, ...]]]:
    """The pieces from the far side to the near one, the far ones paler, each with its step and its number in it."""
    steps = {s.index: s for s in dish.steps}
    turns: dict[str, int] = {}
    turn = {}
    for s in dish.steps:
        turn[s.index] = turns[s.put] = turns.get(s.put, -1) + 1
    pieces = {(f.step, f.index): f for f, _, _ in order}
    depth, ground = plate_geometry.well(plate).b, china(plate)
    near, far = (
        min((f.centre[1] for f, _, _ in order), default=0.0),
        max((f.centre[1] for f, _, _ in order), default=0.0),
    )
    for f, foot, top in order:
        step = steps[f.step]
        faded = _faded(look[f.component], (f.centre[1] - near) / max(far - near, depth), ground)
        which = variant(f.component, f.index + 1000 * turn[f.step])
        pen = SidePen(f, step.piece, which, foot, top, origin, faded)
        about = About(f.component, "footprint", source(step))
        yield (f.step, f.index), tuple(profile(pen, about, _shingled(f, pieces.get((f.step, f.index - 1)), step)))


def _top_of(piece: Sequence[Item], side: int) -> float:
    """The x of the highest point of a piece as drawn, the furthest one on this side (-1 left, 1 right)."""
    points = [p for i in piece if isinstance(i, (Polygon, Path)) and i.about for p in _corners(i)]
    high = min(y for _, y in points)
    return side * max(side * x for x, y in points if y < high + 0.2)


def _corners(item: Polygon | Path) -> list[Point]:
    return list(item.points) if isinstance(item, Polygon) else [(s[-2], s[-1]) for s in item.segments if len(s) > 2]


def _shingled(f: Footprint, before: Footprint | None, step: Step) -> float:
    """How far a slice lies across the one before it.

    1 where that one is to its right, -1 to its left; 0 where it does not lie on it.
    """
    if before is None or f.stance != "flat" or not (_shingles(step) or step.overlap):
        return 0.0
    dx, dy = before.centre[0] - f.centre[0], before.centre[1] - f.centre[1]
    far = math.hypot(dx, dy)
    return dx / far if 1e-6 < far < max(f.length_mm, f.width_mm) else 0.0


def _shingles(step: Step) -> bool:
    """Whether its arrangement lays each piece on the one before."""
    pattern = arrangements.find(step.arrange)
    return pattern is not None and pattern.shingles


def _faded(look: Look, back: float, ground: str) -> Look:
    """The look of a piece further from the guest: paler, in a few steps, as ``back`` goes from 0 (nearest) to 1."""
    share = round(_FADES * min(max(back, 0.0), 1.0)) * _PALEST / _FADES
    return (
        look
        if share == 0
        else Look(mix(look.fill, ground, share), mix(look.line, ground, 0.5 * share), mix(look.tone, ground, share))
    )


# --- in words, for readers who hear the page -------------------------------------------------------------------------


def _in_words(rows: Sequence[StackedPiece], dish: Dish) -> Iterator[str]:
    told: dict[str, float] = {}
    for f, _, top in rows:
        told[f.component] = max(told.get(f.component, 0.0), top)
    for key, top in sorted(told.items(), key=lambda i: (-i[1], i[0])):
        component = dish.component(key)
        if top >= dimension_lines.LEAST_MM:
            yield f"{component.called if component else key}: up to {shown(top, 0)} mm."
