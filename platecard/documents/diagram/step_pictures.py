"""The plating sequence as small pictures, one for each step: what it adds in full, what was there before pale.

The pages are of the kitchen's paper size.  All pictures show the same part of the plate,
as far as food lies on it.  With each stand the step's number, how many pieces of what, the station that
brings it, and in words where they go, which way they face and what expo accepts.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

from platecard.documents.diagram import face_signs, plate
from platecard.documents.diagram.colours import mix
from platecard.documents.diagram.plate import Food
from platecard.documents.kit import column_pages, part_rows
from platecard.documents.kit.part_rows import SECTION
from platecard.documents.kit.sheet import GREY, INK, MARGIN, PAGES, WHITE, Block, paragraph
from platecard.documents.text import wording
from platecard.drawing import fonts
from platecard.drawing.scene import About, Circle, Group, Item, Path, Placing, Polygon, Rect, Scene, Style, Text
from platecard.layout import arrangements, plate_geometry
from platecard.layout.footprint import RIM, Arrangement
from platecard.layout.geometry2d import Box, boxes_meet
from platecard.model import Dish, Settings, Step
from platecard.prepared import Prepared

GUTTER = 5.0
_LEAST, _MOST = 40.0, 95.0  # mm: the least width for words, and the most for a picture
_SMALLEST = 28.0  # mm: the least width of a picture that has its words beside it
_ASIDE = 3.0  # mm between a picture and the words beside it
_WORDS_PT = 8.5
_PALE = 0.72  # share of the plate's colour mixed into what was there before
_ROUND_IT = 5.0  # mm of plate shown round the food of a close-up
_CLOSEST = 0.75  # a close-up is never larger than this share of true size
_BEYOND = 6.0  # mm of plate shown round the well and the food


class Window(NamedTuple):
    """The part of the plate that the pictures show: half its width and height about the middle, in mm of the plate."""

    a: float
    b: float
    is_round: bool


def window(arrangement: Arrangement) -> Window:
    """The part of a round plate that holds the well and all the food; of any other plate the whole."""
    plate_ = arrangement.plate
    rim = plate_geometry.rim(plate_)
    if not plate_.is_round:
        return Window(rim.a + 1.0, rim.b + 1.0, False)
    far = max((math.hypot(*p) for f in arrangement.footprints for p in f.outline), default=0.0)
    r = min(rim.a + 1.0, max(plate_geometry.well(plate_).a, far) + _BEYOND)
    return Window(r, r, True)


def compose(prepared: Prepared, fingerprint: str) -> tuple[Scene, ...]:
    """The pages, with the pictures row by row in plating order, as large as they can be on the fewest pages.

    ValueError if the spec could not be read or the plate not laid out.
    """
    dish, arrangement, settings = prepared.dish, prepared.arrangement, prepared.world.kitchen.settings
    if dish is None or arrangement is None:
        raise ValueError(f"{prepared.key} cannot be drawn: its spec could not be read, or its plate not laid out")
    size = PAGES[settings.page]
    width = size[0] - 2 * MARGIN
    seen = window(arrangement)
    revision = (
        f"revision {dish.revision.number}" if dish.revision else "no revision",
        dish.revision.date if dish.revision else "",
    )
    head = column_pages.heads(dish.title, _SAYS, revision, width, settings.language)
    notes = ("for the allergens see the pass card", f"code {fingerprint}")
    lines = part_rows.lines_of(dish, arrangement)

    def pages(at: _Grid, food: Food | None = None) -> tuple[Scene, ...]:
        frames = [_frame(step, arrangement, dish, settings, seen, at, food, lines[step.index]) for step in dish.steps]
        return column_pages.pages(
            head,
            [(width, list(_rows(frames, at.columns, at.cell)))],
            size,
            f"{dish.title}: step by step",
            notes,
            settings.language,
            prepared.is_draft,
        )

    best = min(_grids(width), key=lambda at: (len(pages(at)), -at.shown))
    return pages(best, plate.food_on(arrangement, dish))


_SAYS = (
    "Step by step: what is new in full colour, what is already there in pale. The arrow under each plate points to the"
    " guest."
)


class _Grid(NamedTuple):
    """How the pictures stand on a page: in so many columns of so many mm, each so wide."""

    columns: int
    cell: float
    shown: float

    @property
    def is_beside(self) -> bool:
        """Whether the words stand beside the picture, and not below it."""
        return self.shown < self.cell


def _grids(width: float) -> Iterator[_Grid]:
    """The ways to set the pictures on a page of this width."""
    for columns in range(1, 12):
        cell = (width - (columns - 1) * GUTTER) / columns
        if _LEAST <= cell <= _MOST:
            yield _Grid(columns, cell, cell)
        for share in (0.3, 0.34, 0.42, 0.5):
            if share * cell >= _SMALLEST and share * cell <= _MOST and cell - share * cell - _ASIDE >= _LEAST:
                yield _Grid(columns, cell, share * cell)


def _rows(frames: list[Block], columns: int, cell: float) -> Iterator[column_pages.Row]:
    for at in range(0, len(frames), columns):
        row = frames[at : at + columns]
        items = tuple(f.at(n * (cell + GUTTER), 0) for n, f in enumerate(row))
        yield column_pages.Row(Block(max(f.height for f in row) + 3.0, items))


def _frame(
    step: Step,
    arrangement: Arrangement,
    dish: Dish,
    settings: Settings,
    seen: Window,
    at: _Grid,
    food: Food | None,
    lines: part_rows.Lines,
) -> Block:
    """One picture and the words with it.  Without ``food`` it is empty, and only its height counts."""
    k = at.shown / (2 * seen.a)
    y = 2 * seen.b * k + 0.6
    if at.is_beside:
        x = at.shown + _ASIDE
        words = _words(step, dish, settings, at.cell - x, lines)
        height = max(y + 2.4, words.height)
        words = Block(words.height, (words.at(x, 0),))
    else:
        words = _words(step, dish, settings, at.cell, lines)
        height = y + 3.2 + words.height
        words = Block(words.height, (words.at(0, y + 3.2),))
    if food is None:
        return Block(height, ())
    name = wording.called(step.put, dish)
    picture = Group(
        tuple(_picture(step, arrangement, dish, food, seen, k)),
        title=f"Step {_number(step, dish)}: {wording.count(step)} {name}",
        description=wording.where(step, dish),
        role="img",
    )
    middle = at.shown / 2
    guest = Polygon(((middle, y + 2.4), (middle - 1.3, y), (middle + 1.3, y)), Style(fill=INK))
    items = (picture, guest, *words.items)
    return Block(height, (Group(items, about=About(step.put, "frame", plate.source(step)), role="listitem"),))


def _words(step: Step, dish: Dish, settings: Settings, width: float, lines: part_rows.Lines) -> Block:
    """The step's number, how many, the station that brings it, what it is, and where and how it goes on."""
    count = wording.counted(step) or wording.count(step)
    size = 17.0 if len(count) <= 3 else 12.0
    number = str(_number(step, dish))
    items: list[Item] = [
        Circle(2.9, 3.0, 2.9, Style(fill=INK)),
        Text(2.9, 3.0 + fonts.cap_height(9.5, "bold") / 2, number, 9.5, "bold", "middle", WHITE),
        Text(7.4, 3.0 + fonts.cap_height(size, "bold") / 2, count, size, "bold"),
    ]
    component = dish.component(step.put)
    if component and component.station:
        tag = fonts.fit(
            settings.station(component.station), width - 9.4 - fonts.width_mm(count, size, "bold"), 8.0, "semibold"
        )
        items.append(Text(width, 3.0 + fonts.cap_height(8.0) / 2, tag, 8.0, "semibold", "end", GREY))
    table = SECTION[step.section] if step.at_table else ""
    y = 6.8
    for text, face, points in (
        (wording.called(step.put, dish), "bold", 10.0),
        (table, "italic", _WORDS_PT),
        *((text, face, _WORDS_PT) for text, face in lines),
    ):
        if text:
            part = paragraph(text, width, points, face, y=y, language=settings.language)
            items += part.items
            y += part.height
    return Block(y, tuple(items))


def _number(step: Step, dish: Dish) -> int:
    """The step's place in the sequence, from 1."""
    return next(i for i, s in enumerate(dish.steps, 1) if s is step)


def _picture(step: Step, arrangement: Arrangement, dish: Dish, food: Food, seen: Window, k: float) -> Iterator[Item]:
    """The plate so far, its top left corner at the origin."""
    c = (seen.a * k, seen.b * k)
    edge_of_picture = (
        Circle(*c, c[0], Style(fill=WHITE)) if seen.is_round else Rect(0, 0, 2 * c[0], 2 * c[1], Style(fill=WHITE))
    )
    yield Group(tuple(_so_far(step, arrangement, dish, food, k)), clip=edge_of_picture, placing=Placing(k, *c))
    if seen.is_round and seen.a < plate_geometry.rim(arrangement.plate).a:
        yield Circle(*c, c[0], Style(stroke=_edge(plate.china(arrangement.plate)), width=0.3))


def _edge(fill: str) -> str:
    return mix(fill, "#3a342c", 0.62)


def _so_far(
    step: Step,
    arrangement: Arrangement,
    dish: Dish,
    food: Food,
    k: float,
    within: Box | None = None,
) -> list[Item]:
    """The plate with the food of the step in full and what was there before in pale; its middle is the origin.

    ``k`` is the scale of the picture; only pieces that reach into ``within`` are drawn, if it is given.
    """
    plate_ = arrangement.plate
    rim, well, fill = plate_geometry.rim(plate_), plate_geometry.well(plate_), plate.china(plate_)
    inner = Style(fill=mix(fill, "#3a342c", 0.045), stroke=mix(fill, "#3a342c", 0.3), width=0.2)
    base: list[Item] = [
        plate.edge_item(rim, (0.0, 0.0), Style(fill=fill, stroke=_edge(fill), width=0.3), About(role="plate")),
        plate.edge_item(well, (0.0, 0.0), inner, About(role="well")),
    ]
    before = _before(step, dish)
    there = [
        f
        for f in arrangement.footprints
        if (f.step == step.index or f.step in before) and (within is None or boxes_meet(f.box, within))
    ]
    for f in there:
        drawn = food.pieces[f.step, f.index]
        base += drawn if f.step == step.index else faded(drawn, fill)
    # Only what is new gets signs, on top of all food.
    signs = face_signs.signs_of(
        face_signs.Cover(there), face_signs.points_asked(dish.steps), face_signs.SIGN / k, frozenset({step.index})
    )
    return [*base, *face_signs.drawn(signs, (0.0, 0.0))]


def in_order(step: Step) -> bool:
    """Whether the order of plating shows in a picture of this step: it lies on, under or against something."""
    pattern = arrangements.find(step.arrange)
    is_poured = step.at_table and arrangements.is_poured(step)
    is_laid_over = bool(pattern and pattern.shingles and step.count > 1)
    rests = any(name != RIM for name in step.on) or bool(step.under)
    return rests or is_poured or is_laid_over or step.facing.stance == "leaning"


def close_up(step: Step, arrangement: Arrangement, dish: Dish, food: Food, width: float, height: float) -> Block | None:
    """The pieces of a step and what they lie on, so many mm wide and high; None where the step has no piece."""
    mine = [f for f in arrangement.footprints if f.step == step.index]
    if not mine:
        return None
    before = _before(step, dish)
    own = _around([f.box for f in mine])
    under = [f for f in arrangement.footprints if f.step in before and f.shape != "pool" and boxes_meet(f.box, own)]
    touched = [f for f in under if any(boxes_meet(f.box, g.box) for g in mine)]
    left, near, right, far = _around([own, *(f.box for f in touched)])
    k = min(width / (right - left + 2 * _ROUND_IT), height / (far - near + 2 * _ROUND_IT), _CLOSEST)
    a, b = width / k / 2, height / k / 2
    x, y = (left + right) / 2, (near + far) / 2
    base = _so_far(step, arrangement, dish, food, k, (x - a, y - b, x + a, y + b))
    # The middle of the plate lies at (a - x, b + y) in a picture whose middle is (x, y) of the plate.
    there = Placing(k, k * (a - x), k * (b + y))
    shown = Group(tuple(base), clip=Rect(0, 0, width, height, Style(fill=WHITE), 1.0), placing=there)
    frame = Rect(0, 0, width, height, Style(stroke=GREY, width=0.2), 1.0)
    title = f"{wording.called(step.put, dish)}: where it goes"
    return Block(height, (Group((shown, frame), title=title, role="img"),))


def _around(boxes: Sequence[Box]) -> Box:
    lefts, nears, rights, fars = zip(*boxes)
    return min(lefts), min(nears), max(rights), max(fars)


def _before(step: Step, dish: Dish) -> frozenset[int]:
    """The steps whose food is already on the plate."""
    return frozenset(s.index for s in dish.steps[: _number(step, dish) - 1])


# --- pale ------------------------------------------------------------------------------------------------------------


def faded(items: Iterable[Item], ground: str) -> Iterator[Item]:
    """The same items, pale against the colour of the plate."""
    for item in items:
        match item:
            case Group(items=inner):
                yield item.holding(tuple(faded(inner, ground)))
            case Text():
                yield replace(item, colour=mix(item.colour, ground, _PALE))
            case Circle() | Rect() | Polygon() | Path():
                yield replace(item, style=_pale(item.style, ground))


@lru_cache(maxsize=1024)
def _pale(style: Style, ground: str) -> Style:
    return replace(
        style,
        fill=style.fill and mix(style.fill, ground, _PALE),
        stroke=style.stroke and mix(style.stroke, ground, _PALE),
        fill_opacity=style.fill_opacity if style.fill_opacity == 1 else style.fill_opacity * 0.4,
    )
