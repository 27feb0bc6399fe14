"""The plate from the guest's side, in true millimetres: how high everything is, and what rests on what.

The guest looks in level from 6:00, and what is nearer hides what is further away.  A piece
whose height the spec does not give gets the usual height of its kind and a broken outline.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from platecard.documents.diagram.colours import Look, looks, mix
from platecard.documents.diagram.plate import china, number_of, source
from platecard.documents.diagram.profile import inside, profile
from platecard.documents.diagram.side_view_pen import SidePen
from platecard.drawing import fonts
from platecard.drawing.scene import About, Circle, Group, Item, Polygon, Rect, Scene, Style, Text
from platecard.layout import arrangements, heights, plate_geometry
from platecard.layout.footprint import Arrangement, Footprint
from platecard.layout.geometry2d import Box, Point
from platecard.layout.shapes import variant
from platecard.model import Dish, Plate, Step
from platecard.quantities.units import shown

INK, GREY = "#1f2022", "#6f6d69"
_STEP_MM = 10  # between the lines of the ruler
_LEAST_PT = 9.0  # no text is smaller, however small the plate
_ON_PAPER_PT = 8.5  # where the scale on the paper is known
_FADES, _PALEST = 4, 0.4  # pieces get paler in so many steps towards the back, up to this share of the plate's colour
_LEAST_MM = 6  # what is lower needs no number here, because the view from above has it
_MEASURED = 3  # at most so many components have their height beside the number
_APART_MM = 2.0  # between two callouts
_TRIED = 6  # pieces of a component tried for the end of its leader
_ELSEWHERE = (
    *((u, v) for v in (0.3, 0.6, 0.8) for u in (0.5, 0.35, 0.65, 0.2, 0.8)),
    (0.5, 0.92),
    (0.1, 0.3),
    (0.9, 0.3),
)  # further points of a piece's box (as shares of it) that nearer food may leave in sight
_BED, _LEADER = Style(stroke="#ffffff", width=0.75), Style(stroke=INK, width=0.25)
_END, _DISC = Style(fill=INK, stroke="#ffffff", width=0.25), Style(fill=INK)
StackedPiece = tuple[Footprint, float, float]  # a piece, and how many mm its foot and its top are above the well


def draw(
    arrangement: Arrangement, dish: Dish, *, callouts: Mapping[str, str] | None = None, one: float | None = None
) -> Scene:
    """The side view; ``callouts`` and ``one`` as in :func:`platecard.documents.diagram.plate.draw`."""
    plate = arrangement.plate
    numbers = number_of(dish) if callouts is None else callouts
    rim = plate_geometry.rim(plate)
    # The plate as it leaves the pass: what is poured or put on at the table is not there yet.
    later = {s.index for s in dish.steps if s.section == "at_table"}
    rows = tuple(row for row in heights.stacked(arrangement) if row[0].step not in later)
    top = max((t for _, _, t in rows), default=0.0)
    size = _ON_PAPER_PT * one if one else max(_LEAST_PT, 2 * rim.a * 0.075)
    cap = fonts.cap_height(size)
    depth = _depth(plate)
    wall = 0.0 if plate.form == "board" else depth
    sky = math.ceil(max(top, wall, 20.0) / _STEP_MM) * _STEP_MM
    left, above, below = 14.0 + 2 * cap, 6.0 + 2.8 * cap, 7.0 + 1.4 * cap
    width, height = 2 * rim.a + left + 8.0, above + sky + max(4.0, depth - wall) + below
    ground = above + sky  # y of the well
    middle = left + rim.a
    # From the far side to the near one, and on one spot from the bottom up.
    order = sorted(rows, key=lambda r: (-round(r[0].centre[1], 3), r[0].level, r[0].step, r[0].index))
    items = (
        Group(tuple(_ruler(left, ground, sky, width, size)), id="heights", title=f"Heights in steps of {_STEP_MM} mm"),
        Group(tuple(_food(order, dish, looks(arrangement, dish), plate, (middle, ground))), id="food", title="Food"),
        Group(tuple(_plate(plate, middle, ground, depth)), id="plate", title=plate.called),
        Group(
            tuple(_named(order, numbers, (middle, ground), size, above - 1.4 * cap, (left, width - 2.0))),
            id="callouts",
            title="Callouts",
            role="list",
        ),
        Text(
            middle,
            height - max(3.0, fonts.descent(size, "semibold")),
            "seen from the guest",
            size,
            "semibold",
            "middle",
            INK,
        ),
    )
    return Scene(
        width,
        height,
        items,
        f"{dish.title}: the plate from the guest's side",
        f"The highest point stands {shown(top, 0)} mm above the well. " + " ".join(_in_words(rows, dish)),
    )


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


def _ruler(left: float, ground: float, sky: float, width: float, size: float) -> Iterator[Item]:
    cap = fonts.cap_height(size)
    for high in range(0, int(sky) + 1, _STEP_MM):
        y = ground - high
        line = (
            Style(stroke="#c9c6bf", width=0.18 if high % 50 else 0.3, dash=(1.0, 1.6))
            if high
            else Style(stroke=GREY, width=0.3)
        )
        yield Polygon(((left - 3.0, y), (width - 4.0, y)), line, closed=False)
        if high % 20 == 0:
            yield Text(left - 4.2, y + cap / 2, str(high), size, anchor="end", colour=GREY)
    yield Text(left - 4.2, ground - sky - 1.5 * cap, "mm", size, anchor="end", colour=GREY)


def _food(
    order: Sequence[StackedPiece], dish: Dish, look: Mapping[str, Look], plate: Plate, origin: Point
) -> Iterator[Item]:
    """The pieces from the far side to the near one, the far ones paler."""
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
        yield from profile(
            SidePen(f, step.piece, which, foot, top, origin, faded),
            About(f.component, "footprint", source(step)),
            _shingled(f, pieces.get((f.step, f.index - 1)), step),
        )


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


# --- callouts and words ----------------------------------------------------------------------------------------------


def _named(
    rows: Sequence[StackedPiece],
    numbers: Mapping[str, str],
    origin: Point,
    size: float,
    y: float,
    room: tuple[float, float],
) -> Iterator[Item]:
    """The numbers of the components that stand high, each over a visible piece of it.

    The highest also have their height in mm.  All stand on one line: ``y`` is its middle on the page, ``room`` where it
    may begin and end.
    """
    highest: dict[str, float] = {}
    for f, _, top in rows:
        if f.component in numbers and top >= _LEAST_MM:
            highest[f.component] = max(top, highest.get(f.component, 0.0))
    ranked = sorted(highest, key=lambda c: (-highest[c], c))
    measured = {c for i, c in enumerate(ranked[:_MEASURED]) if i == 0 or highest[c] >= heights.MATTERS_MM}
    cap = fonts.cap_height(size, "bold")
    r = max([0.85 * cap, *(fonts.width_mm(numbers[c], size, "bold") / 2 + 0.25 * cap for c in ranked)])
    wide = {c: 2 * r + (0.4 * cap + fonts.width_mm(_mm(highest[c]), size) if c in measured else 0.0) for c in ranked}
    while ranked and sum(wide[c] + _APART_MM for c in ranked) > room[1] - room[0]:
        # Too many for one line: the heights go first (all but one), then the lowest components.
        lowest = min(measured, key=lambda c: (highest[c], c)) if len(measured) > 1 else ranked.pop()
        measured.discard(lowest)
        wide[lowest] = 2 * r
    boxes = [f.box for f, _, _ in rows]
    targets = {c: _seen(c, rows, boxes, highest[c]) for c in ranked}
    line = sorted(ranked, key=lambda c: (targets[c], c))
    # The disc at the left end of each callout should come over its piece.
    places = _spread([origin[0] + targets[c][0] + wide[c] / 2 - r for c in line], [wide[c] for c in line], room)
    for c, middle in zip(line, places):
        tx, ty = origin[0] + targets[c][0], origin[1] - targets[c][1]
        x = middle - wide[c] / 2 + r
        ends = (x, y), (tx, ty)
        items: list[Item] = [
            Polygon(ends, _BED, closed=False),
            Polygon(ends, _LEADER, closed=False),
            Circle(tx, ty, 0.9, _END),
            Circle(x, y, r, _DISC),
            Text(x, y + cap / 2, numbers[c], size, "bold", "middle", "#ffffff"),
        ]
        if c in measured:
            items.append(Text(x + r + 0.4 * cap, y + cap / 2, _mm(highest[c]), size, colour=INK))
        yield Group(tuple(items), about=About(c, "callout"))


def _mm(high: float) -> str:
    return f"{shown(high, 0)} mm"


def _seen(component: str, rows: Sequence[StackedPiece], boxes: Sequence[Box], highest: float) -> Point:
    """A point on the highest piece of the component that nothing nearer hides, in mm from the plate's middle and well.

    If all of them are hidden, it lies on the highest.
    """

    def point(i: int, u: float, v: float) -> Point:
        (_, foot, top), (left, _, right, _) = rows[i], boxes[i]
        return left + u * (right - left), foot + v * (top - foot)

    mine = sorted([(-row[2], -i) for i, row in enumerate(rows) if row[0].component == component])[:_TRIED]
    for fallen, i in mine:
        for share, high in (inside(rows[-i][0]), *_ELSEWHERE):
            x, z = point(-i, share, high)
            if not any(
                b[0] - 1 <= x <= b[2] + 1 and row[1] - 1 <= z <= row[2] + 1
                for b, row in zip(boxes[1 - i :], rows[1 - i :])
            ):
                return x, z
        if -fallen < highest - 0.5:
            break
    highest_piece = -mine[0][1]
    return point(highest_piece, *inside(rows[highest_piece][0]))


def _spread(wanted: Sequence[float], widths: Sequence[float], room: tuple[float, float]) -> list[float]:
    """The middles of texts on one line, in their order and without overlap.

    Each is as near as possible, by least squares, to where it is wanted.
    """
    offsets, far = [], 0.0
    for i, width in enumerate(widths):
        far += (width + widths[i - 1]) / 2 + _APART_MM if i else 0.0
        offsets.append(far)
    pools: list[tuple[float, int]] = []
    for want, off in zip(wanted, offsets):
        mean, n = want - off, 1
        while pools and pools[-1][0] > mean:
            other, m = pools.pop()
            mean, n = (mean * n + other * m) / (n + m), n + m
        pools.append((mean, n))
    # Whatever would run off an end of the line is held there; the order stays the same.
    low, high = room[0] + (widths[0] if widths else 0.0) / 2, room[1] - far - (widths[-1] if widths else 0.0) / 2
    return [
        min(max(mean, low), high) + off for (mean, off) in zip([mean for mean, n in pools for _ in range(n)], offsets)
    ]


def _in_words(rows: Sequence[StackedPiece], dish: Dish) -> Iterator[str]:
    told: dict[str, float] = {}
    for f, _, top in rows:
        told[f.component] = max(told.get(f.component, 0.0), top)
    for key, top in sorted(told.items(), key=lambda i: (-i[1], i[0])):
        component = dish.component(key)
        if top >= _LEAST_MM:
            yield f"{component.called if component else key}: up to {shown(top, 0)} mm."
