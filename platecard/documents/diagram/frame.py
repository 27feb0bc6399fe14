"""The marks round the plate that are not food: the clock, the guest's side, the scale and the legend.

All of them are sized for the card, on which the drawing is smaller: letters must be 3 mm
high there to be read at 60 cm.  So their sizes follow from the size of the drawing with
its margins, and the margins from what must fit into them.  Lengths are millimetres of the
plate, with its middle as origin and y down; only type sizes are in points.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import NamedTuple

from platecard.documents.diagram.face_signs import DOTS
from platecard.documents.diagram.marks import INK
from platecard.drawing import fonts
from platecard.drawing.extent import bounds
from platecard.drawing.scene import About, Circle, Group, Item, Path, PathSegment, Rect, Style, Text
from platecard.drawing.signs import arrow
from platecard.layout import plate_geometry
from platecard.layout.footprint import Arrangement, polar
from platecard.layout.geometry2d import Box, Point, boxes_meet
from platecard.model import Plate

CARD = (97.0, 97.0)  # width and height in mm left for the diagram on the smallest card, under a title of two lines
MARK_PT, LEGEND_PT = 11.3, 10.3  # type sizes as printed on that card
BAR = 50.0  # length of the scale bar in mm
GUEST_MM, _LINE = 4.7, 5.3  # heights of the guest's mark and of a line of the legend, in mm of the card
_PITCH = 1.32  # distance between lines of the legend, in type sizes
_WRAPPED = 0.37  # the largest share of the drawing's width that a line of the legend may take
_GAP = 1.2  # the least distance in mm between two marks


class LegendEntry(NamedTuple):
    """A line of the legend.

    ``sign`` is "later", "hidden" or "" for none.  ``component`` is the component it is about, if it is about one alone.
    """

    sign: str
    text: str
    component: str = ""


class Surround(NamedTuple):
    """All marks round one plate, for one size of drawing.

    ``boxes`` are the boxes of all marks, to be kept clear; ``numerals`` are those of them that stand on the plate.
    """

    clock: tuple[Item, ...]
    scale: tuple[Item, ...]
    legend: tuple[Item, ...]
    boxes: tuple[Box, ...]
    numerals: tuple[Box, ...]


def least_margin(plate: Plate, has_legend: bool, one: float | None = None) -> float:
    """The margin in mm that the guest's mark needs, or a line of the legend where the plate leaves no free corners.

    Both grow with the drawing, and so with the margin itself, unless ``one`` says how many mm of the plate are one mm
    of the paper.
    """
    if one is not None:
        return GUEST_MM * one + _GAP
    margin = 12.0
    for _ in range(5):
        margin = max(
            12.0, (GUEST_MM if plate.is_round or not has_legend else _LINE) * unit(plate, margin, margin) + _GAP
        )
    return margin


def unit(plate: Plate, margin_x: float, margin_y: float) -> float:
    """How many mm of the plate correspond to one mm of the smallest card, with these margins round the plate."""
    rim = plate_geometry.rim(plate)
    return max(2 * (rim.a + margin_x) / CARD[0], 2 * (rim.b + margin_y) / CARD[1])


def surround(
    arrangement: Arrangement,
    entries: Sequence[LegendEntry],
    margin_x: float,
    margin_y: float,
    tone: str,
    spare: int = 0,
    one: float | None = None,
) -> Surround | None:
    """The marks round a plate, or None if these margins are too narrow for the legend.

    ``spare`` says what may be left out of the legend if there is no room: 0 nothing, 1 the
    lines that only repeat what the card says in words, 2 any line.  ``one`` is how many mm of the plate are one mm
    of the paper, if that is known.
    """
    plate = arrangement.plate
    rim = plate_geometry.rim(plate)
    one = unit(plate, margin_x, margin_y) if one is None else one
    ticks, *marks = _clock(arrangement, one, tone)
    on_plate = tuple(b for m in marks if isinstance(m, Text) and rim.beyond(_middle(b := bounds(m))) < 0)
    outside = [b for m in marks if (b := bounds(m)) not in on_plate]
    foot, right = rim.b + margin_y, rim.a + margin_x
    scale = tuple(_scale_bar(one, -right, foot))
    taken = [*outside, bounds(*scale)]
    legend = _legend(entries, rim, right, foot, LEGEND_PT * one, taken, spare)
    if legend is None:
        return None
    items, boxes = legend
    return Surround((ticks, *marks), scale, items, (*taken, *on_plate, *boxes), on_plate)


def _middle(b: Box) -> Point:
    return (b[0] + b[2]) / 2, (b[1] + b[3]) / 2


# --- the clock and the guest -----------------------------------------------------------------------------------------


def _clock(arrangement: Arrangement, one: float, tone: str) -> Iterator[Item]:
    """The ticks as one item, the four numerals, and the guest's side: an arrow down from 6:00 and the word "guest".

    The numerals stand on the plate's edge if it is wide enough and has no food on it;
    otherwise outside the plate, with the 6 on one line with the guest's mark.
    """
    plate = arrangement.plate
    rim, well = plate_geometry.rim(plate), plate_geometry.well(plate)
    size = MARK_PT * one
    cap = fonts.cap_height(size, "semibold")
    tick = 0.75 * one
    ticks: list[PathSegment] = []
    for hour in range(12):
        outer = rim.reach(30 * hour)
        for step, r in (("M", outer - 0.2), ("L", outer - tick * (1.0 if hour % 3 == 0 else 1.6))):
            x, y = polar(30 * hour, r)
            ticks.append((step, x, -y))
    yield Path(tuple(ticks), Style(stroke=tone, width=0.5, cap="butt"), About(role="clock"))
    inside = _numerals(rim, size, cap, tick + 0.25 * one)
    if (
        min(rim.a - well.a, rim.b - well.b) < tick + 0.5 * one + cap
        or plate.form == "board"
        or _food_at(arrangement, inside)
    ):
        inside = ()
    wide = fonts.width_mm("guest", size, "bold")
    below = rim.b + 0.7 * one + cap
    six = 0.0 if inside else fonts.width_mm("6", size, "semibold") + 0.35 * cap
    left = -(six + wide + 1.1 * cap) / 2
    if inside:
        yield from inside
    else:
        for n in _numerals(rim, size, cap, -(0.6 * one + cap)):
            if n.text in ("3", "9"):
                # At the sides their width decides the distance, not their height.
                x = rim.a + 0.6 * one + fonts.width_mm(n.text, size, "semibold") / 2
                yield Text(x if n.text == "3" else -x, n.y, n.text, size, "semibold", "middle", INK)
            elif n.text == "6":
                yield Text(left, below, "6", size, "semibold", colour=INK)
            else:
                yield n
    shaft = left + six + 0.35 * cap
    yield arrow(shaft, below - 1.05 * cap, shaft, below + 0.22 * cap, INK, 0.6, 0.8 * cap)
    yield Text(shaft + 0.75 * cap, below, "guest", size, "bold", colour=INK)


def _numerals(rim: plate_geometry.Edge, size: float, cap: float, inset: float) -> tuple[Text, ...]:
    """12, 3, 6 and 9, with their outer edges ``inset`` mm inside the rim (outside if it is negative)."""
    found = []
    for hour in (12, 3, 6, 9):
        text = str(hour)
        half = cap / 2 if hour in (12, 6) else fonts.width_mm(text, size, "semibold") / 2
        x, y = polar(30 * hour, rim.reach(30 * hour) - inset - half)
        found.append(Text(x, -y + cap / 2, text, size, "semibold", "middle", INK))
    return tuple(found)


def _food_at(arrangement: Arrangement, numerals: Sequence[Text]) -> bool:
    well = plate_geometry.well(arrangement.plate)
    reach = min(well.a, well.b)
    boxes = [bounds(n) for n in numerals]
    return any(
        boxes_meet((f.box[0], -f.box[3], f.box[2], -f.box[1]), n)
        for f in arrangement.footprints
        if max(abs(f.centre[0]), abs(f.centre[1])) + f.length_mm + f.width_mm > reach
        for n in boxes
    )


# --- the scale -------------------------------------------------------------------------------------------------------


def _scale_bar(one: float, left: float, foot: float) -> Iterator[Item]:
    """Fifty millimetres in five parts, in the lower left corner."""
    size = LEGEND_PT * one
    x, y, tall = left + 0.6 * one, foot - 3.0 * one, 0.9 * one
    for i in range(5):
        yield Rect(
            x + BAR / 5 * i,
            y,
            BAR / 5,
            tall,
            Style(fill=INK if i % 2 == 0 else "#ffffff", stroke=INK, width=0.2, join="miter"),
        )
    yield Text(
        x + BAR + 0.9 * one,
        y + tall / 2 + fonts.cap_height(size, "semibold") / 2,
        "50 mm",
        size,
        "semibold",
        colour=INK,
    )


# --- the legend ------------------------------------------------------------------------------------------------------


def _legend(
    entries: Sequence[LegendEntry],
    rim: plate_geometry.Edge,
    right: float,
    foot: float,
    size: float,
    taken: Sequence[Box],
    spare: int,
) -> tuple[tuple[Item, ...], list[Box]] | None:
    """The entries in the corners of the drawing, clear of the plate and of ``taken``, with their boxes.

    Entries with signs come before those with words alone, and the widest come first.  None if one that ``spare`` does
    not allow to leave out has no room.
    """
    em = size * fonts.MM_PER_POINT
    indent = 1.15 * em
    blocks = []
    for e in entries:
        lines = fonts.wrap(e.text, 2 * right * _WRAPPED - indent, size, "semibold")
        blocks.append((max(fonts.width_mm(t, size, "semibold") for t in lines) + (indent if e.sign else 0.0), lines, e))
    blocks.sort(key=lambda b: (not b[2].sign, -b[0]))
    items: list[Item] = []
    boxes: list[Box] = []
    for wide, lines, e in blocks:
        # Two lines side by side need more room than two above each other, or they would read as one.
        there = (*taken, *((left - 0.7 * em, t, right + 0.7 * em, b) for left, t, right, b in boxes))
        spot = next(
            (
                s
                for s in _corners(wide, len(lines) * _PITCH * em, right, foot, em, rim)
                if not any(boxes_meet(s, b, _GAP) for b in there)
            ),
            None,
        )
        if spot is not None:
            boxes.append(spot)
            items.append(_entry(e, lines, spot, size, em, indent))
        elif spare == 0 or spare == 1 and e.sign:
            return None
    return tuple(items), boxes


def _corners(wide: float, tall: float, right: float, foot: float, em: float, rim: plate_geometry.Edge) -> Iterator[Box]:
    """Boxes of this size beside the plate, in the order to try them.

    First in the corners from the outside inwards, the lower corners first; then along the edges.
    """
    edge, step = 0.1 * em, 0.33 * em
    for along in (False, True):
        for up in (1, -1):
            for side in (1, -1):
                near, free = right - 2 * edge - wide, foot - edge - tall
                while near > _GAP and free > 0 and rim.beyond((near, free)) > _GAP:
                    x = near if side > 0 else -near - wide
                    y = free if up > 0 else -free - tall
                    yield x, y, x + wide, y + tall
                    near, free = (near - step, free) if along else (near, free - step)


def _entry(e: LegendEntry, lines: Sequence[str], spot: Box, size: float, em: float, indent: float) -> Group:
    first = spot[1] + 0.95 * em
    middle = first - fonts.cap_height(size, "semibold") / 2
    r = 0.4 * em
    items: list[Item] = []
    if e.sign == "later":
        items.append(
            Circle(
                spot[0] + r + 0.3, middle, r, Style(fill="#ffffff", stroke=INK, width=0.45, dash=(1.0, 0.6), cap="butt")
            )
        )
    elif e.sign == "hidden":
        items.append(Circle(spot[0] + r + 0.3, middle, r, DOTS))
    left = spot[0] + (indent if e.sign else 0.0)
    items += [Text(left, first + i * _PITCH * em, line, size, "semibold", colour=INK) for i, line in enumerate(lines)]
    return Group(tuple(items), about=About(e.component, f"legend-{e.sign or 'words'}"))
