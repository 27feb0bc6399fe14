"""What stands round the plate and is not food: the clock, the guest's side, the scale, the legend.

All of it is sized for the card: a letter 3 mm high can be read at 60 cm, and the card
sets the drawing smaller.  So the sizes follow from the drawing's own, margins included,
and the margins from what has to stand in them.  Millimetres of the plate with its middle
as origin and y down; only sizes of type are points.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from platecard.documents.diagram.face_signs import DOTS
from platecard.documents.diagram.marks import INK, up_sign
from platecard.drawing import fonts
from platecard.drawing.scene import About, Circle, Group, Item, Path, Rect, Style, Text, arrow, bounds
from platecard.layout import plate_geometry
from platecard.layout.footprint import Arrangement, polar
from platecard.layout.geometry2d import Box, boxes_meet
from platecard.model.nouns import Plate

CARD = (97.0, 97.0)  # mm that a diagram has on the smallest card, under a title of two lines: width, height
MARK_PT, LEGEND_PT = 11.3, 10.3  # as printed there
BAR = 50.0
_GUEST, _LINE = 4.7, 5.3  # mm of the card that the guest's mark and a line of the legend are high
_PITCH = 1.32  # lines of the legend, in sizes of their type
_WRAPPED = 0.37  # share of the drawing's width that a line of the legend may take
_GAP = 1.2  # mm between any two marks


@dataclass(frozen=True, slots=True)
class Entry:
    """A line of the legend: its sign ("later", "hidden", "" for none, or "up" with the chef's words for the side) and
    its words.

    ``component`` is whose line it is, if it is one's alone.
    """

    sign: str
    text: str
    up: str = ""
    component: str = ""


@dataclass(frozen=True, slots=True)
class Surround:
    """All marks of one plate at one size of drawing.

    ``boxes`` are to be kept clear; ``numerals`` those that stand on the plate.
    """

    clock: tuple[Item, ...]
    scale: tuple[Item, ...]
    legend: tuple[Item, ...]
    boxes: tuple[Box, ...]
    numerals: tuple[Box, ...]


def least_margin(plate: Plate, has_legend: bool) -> float:
    """Room for the guest's mark, and beside a plate that leaves no corners for a line of the legend;

    both grow with the drawing and so with the margins.
    """
    margin = 12.0
    for _ in range(5):
        margin = max(12.0, (_GUEST if plate.is_round or not has_legend else _LINE) * unit(plate, margin, margin) + _GAP)
    return margin


def unit(plate: Plate, margin_x: float, margin_y: float) -> float:
    """How many mm of the plate one mm of the smallest card is, with these margins round it."""
    rim = plate_geometry.rim(plate)
    return max(2 * (rim.a + margin_x) / CARD[0], 2 * (rim.b + margin_y) / CARD[1])


def surround(
    arrangement: Arrangement, entries: Sequence[Entry], margin_x: float, margin_y: float, tone: str, spare: int = 0
) -> Surround | None:
    """The marks round a plate; None where these margins are too narrow for the legend.

    ``spare``: what of the legend may be left out if it must be: 0 nothing, 1 its lines
    that only repeat the card's words, 2 any.
    """
    plate = arrangement.plate
    rim = plate_geometry.rim(plate)
    one = unit(plate, margin_x, margin_y)
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


def _middle(b: Box) -> tuple[float, float]:
    return (b[0] + b[2]) / 2, (b[1] + b[3]) / 2


# --- the clock and the guest
# -------------------------------------------------------------------------------------------


def _clock(arrangement: Arrangement, one: float, tone: str) -> Iterator[Item]:
    """Ticks as one item, the four numerals, and the guest's side: an arrow down from 6:00 and the word.

    The numerals stand on the plate where there is room beside what may be plated on and
    no food; else beside it, 6 in one line with the guest's mark.
    """
    plate = arrangement.plate
    rim, well = plate_geometry.rim(plate), plate_geometry.well(plate)
    size = MARK_PT * one
    cap = fonts.cap_height(size, "semibold")
    tick = 0.75 * one
    ticks: list[tuple] = []
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
                # Beside the plate their width counts, not their height.
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
    """12, 3, 6 and 9, their outer edge ``inset`` within the rim."""
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


# --- the scale
# -----------------------------------------------------------------------------------------------------------


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


# --- the legend
# ----------------------------------------------------------------------------------------------------------


def _legend(
    entries: Sequence[Entry],
    rim: plate_geometry.Edge,
    right: float,
    foot: float,
    size: float,
    taken: Sequence[Box],
    spare: int,
) -> tuple[tuple[Item, ...], list[Box]] | None:
    """The entries in the corners of the drawing, clear of the plate and of ``taken``:

    signs before words, the widest nearest the lower edge.
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
        # Side by side two lines need more room than one above the other, or they read as one.
        there = (*taken, *((l - 0.7 * em, t, r + 0.7 * em, b) for l, t, r, b in boxes))
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
    """Where a box may stand beside the plate:

    in the corners from the outside inwards, the lower ones first; then along the edges.
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


def _entry(e: Entry, lines: Sequence[str], spot: Box, size: float, em: float, indent: float) -> Group:
    first = spot[1] + 0.95 * em
    middle = first - fonts.cap_height(size, "semibold") / 2
    r = 0.4 * em
    items: list[Item] = []
    if e.sign == "up":
        items.append(up_sign(spot[0] + r + 0.3, middle, r, e.up))
    elif e.sign == "later":
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
