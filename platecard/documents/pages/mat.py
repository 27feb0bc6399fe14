"""The mat: the plate at exactly 100 %, to practise on, beside the plate or under a glass one.

In: a sound dish.  Out: pages in the kitchen's paper size or another: instructions first, then the
drawing.  A drawing larger than the paper is cut into overlapping tiles, with the seams beside its
words; crosses at the seams and the name of each tile show how they go together.  Every sheet has a bar of
100 mm to check against a ruler, because a printer that fits pages to its paper would print
a plate of the wrong size.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable, Iterator
from dataclasses import dataclass

from platecard.documents.diagram import plate
from platecard.documents.kit.sheet import GREY, INK, PAGES, PALE, WHITE, Block, largest, paragraph
from platecard.documents.text import wording
from platecard.drawing import fonts
from platecard.drawing.extent import Box, bounds
from platecard.drawing.scene import Circle, Group, Item, Placing, Polygon, Rect, Scene, Style, Text
from platecard.model import Dish, Plate, Step
from platecard.prepared import Prepared, plated

EDGE = 8.0  # mm of margin: printers cannot print up to the edge
OVERLAP = 12.0  # mm that neighbouring tiles share
BAR = 100.0  # mm of the control bar
_BESIDE = 8.0  # mm beside a word, for what belongs to it, such as the guest's arrow
_GUEST = 1000.0  # how much more the word for the guest's side matters than any other
_FOOT = 17.0  # mm below the drawing for the bar and the text
_CHECK = (
    "Print at 100 %, not fitted to the page. Lay a ruler on this bar: if it is not 100 mm long, do not use the sheet."
)


# Upright, in mm: ISO 216, and the North American sizes, which are 8.5 × 11, 8.5 × 14 and 11 × 17 inches.
PAPERS = {
    "A0": (841.0, 1189.0),
    "A1": (594.0, 841.0),
    "A2": (420.0, 594.0),
    "A3": (297.0, 420.0),
    "A4": (210.0, 297.0),
    "A5": (148.0, 210.0),
    "Letter": (215.9, 279.4),
    "Legal": (215.9, 355.6),
    "Tabloid": (279.4, 431.8),
}


@dataclass(frozen=True, slots=True)
class Tiling:
    """How the drawing is cut: paper size, columns and rows, and the drawing's place on all tiles together, in mm."""

    paper: tuple[float, float]
    columns: int
    rows: int
    left: float
    top: float

    @property
    def live(self) -> tuple[float, float]:
        """Width and height in mm of the part of a sheet that the drawing may use."""
        return self.paper[0] - 2 * EDGE, self.paper[1] - 2 * EDGE - _FOOT

    @property
    def step(self) -> tuple[float, float]:
        """The distance in mm from one tile to the next, across and down."""
        return self.live[0] - OVERLAP, self.live[1] - OVERLAP

    @property
    def count(self) -> int:
        """How many tiles there are."""
        return self.columns * self.rows


def tiling(drawing: Scene, paper: tuple[float, float]) -> Tiling:
    """The tiling with the fewest sheets, upright or landscape; as ``paper`` is given if both need as many."""
    width, height = paper
    return min((_cut(drawing, paper) for paper in ((width, height), (height, width))), key=lambda t: t.count)


def _cut(drawing: Scene, paper: tuple[float, float]) -> Tiling:
    one = Tiling(paper, 1, 1, 0.0, 0.0)
    words = [box for item in drawing.items for box in _words(item, lambda i: i)]
    counts, starts = [], []
    for axis, size in enumerate((drawing.width_mm, drawing.height_mm)):
        step = one.step[axis]
        count = max(1, math.ceil((size - OVERLAP) / step - 1e-9))
        counts.append(count)
        starts.append(_start(size, step, count, [(box[axis], box[axis + 2], weight) for box, weight in words]))
    return Tiling(paper, counts[0], counts[1], starts[0], starts[1])


def _start(size: float, step: float, count: int, words: list[tuple[float, float, float]]) -> float:
    """Where the drawing begins on its tiles along one axis, so that as few words as can be lie on a seam."""
    room = count * step + OVERLAP - size

    def on_seams(start: float) -> tuple[float, float]:
        seams = [(k * step - start, k * step - start + OVERLAP) for k in range(1, count)]
        near, on = (
            sum(w * max(0.0, min(b + beside, d) - max(a - beside, c)) for a, b, w in words for c, d in seams)
            for beside in (_BESIDE, 0.0)
        )
        return on, near

    middle = room / 2
    tried = sorted((middle + move for move in range(-int(middle), int(middle) + 1)), key=lambda at: abs(at - middle))
    return min(tried, key=on_seams)


def _words(item: Item, within: Callable[[Item], Item]) -> Iterator[tuple[Box, float]]:
    """The bounds of each text and how much it matters; ``within`` puts an item where its groups put it."""
    if isinstance(item, Text):
        yield bounds(within(item)), _GUEST if item.text == "guest" else 1.0
    elif isinstance(item, Group):
        for inner in item.items:
            yield from _words(inner, lambda i, item=item: within(item.holding((i,))))  # type: ignore[misc]


def compose(prepared: Prepared, fingerprint: str, paper: str = "") -> tuple[Scene, ...]:
    """The sheet of instructions, then the tiles row by row; ``paper`` is one of :data:`PAPERS`, or the kitchen's."""
    dish, arrangement = plated(prepared)
    settings = prepared.world.kitchen.settings
    numbers = plate.number_of(dish)
    drawing = plate.draw(arrangement, dish, callouts=numbers)
    size = PAPERS[paper] if paper else PAGES[settings.page]
    cut = tiling(drawing, size)
    title = f"{dish.title}: mat at 100 %"
    made_from = (
        f"{'DRAFT, ' if prepared.is_draft else ''}{f'revision {dish.revision.number}, ' if dish.revision else ''}code"
        f" {fingerprint}"
    )
    how = (
        *_paper(size),
        *_how(dish, arrangement.plate, size, numbers, cut),
        *_foot("how to use the mat", made_from, size),
    )
    pages = [Scene(*size, how, title, language=settings.language)]
    for row in range(cut.rows):
        for column in range(cut.columns):
            said = (
                "the whole plate"
                if cut.count == 1
                else f"row {row + 1} of {cut.rows}, column {column + 1} of {cut.columns}"
            )
            pages.append(
                Scene(
                    *cut.paper,
                    (
                        *_paper(cut.paper),
                        _tile(drawing, cut, column, row),
                        *_seams(cut, column, row),
                        *_foot(said, f"{fonts.fit(dish.title, 70, 8.0)}, {made_from}", cut.paper),
                    ),
                    title,
                    f"{said}. {drawing.description}",
                    settings.language,
                )
            )
    return tuple(pages)


def _paper(size: tuple[float, float]) -> tuple[Item, ...]:
    return (Rect(0, 0, *size, Style(fill=WHITE)),)


# --- one tile --------------------------------------------------------------------------------------------------------


def _tile(drawing: Scene, cut: Tiling, column: int, row: int) -> Item:
    """The part of the drawing that lies on this tile, cut off at its edges."""
    dx = EDGE + cut.left - column * cut.step[0]
    dy = EDGE + cut.top - row * cut.step[1]
    window = Rect(EDGE, EDGE, *cut.live, Style(fill=WHITE))
    edge = (EDGE - dx, EDGE - dy, EDGE - dx + cut.live[0], EDGE - dy + cut.live[1])
    seen = Group(
        tuple(_meeting(drawing.items, edge)),
        title=drawing.title,
        description=drawing.description,
        role="img",
        placing=Placing(dx=dx, dy=dy),
    )
    return Group((seen,), clip=window)


def _meeting(items: Iterable[Item], edge: Box) -> Iterator[Item]:
    """The items that reach into the box ``edge``; of a group, those of its items that do."""
    for item in items:
        if isinstance(item, Group):
            if inner := tuple(_meeting(item.items, edge)):
                yield item.holding(inner)
            continue
        left, top, right, foot = bounds(item)
        if left < edge[2] + 1 and edge[0] - 1 < right and top < edge[3] + 1 and edge[1] - 1 < foot:
            yield item


def _seams(cut: Tiling, column: int, row: int) -> Iterator[Item]:
    """The marks where tiles join: a dashed line along the middle of each overlap, with two crosses on it."""
    (w, h), half = cut.live, OVERLAP / 2
    line = Style(stroke=GREY, width=0.2, dash=(2.0, 2.0))
    for there, x in ((column > 0, EDGE + half), (column < cut.columns - 1, EDGE + w - half)):
        if there:
            yield Polygon(((x, EDGE), (x, EDGE + h)), line, closed=False)
            for share in (0.3, 0.7):
                yield from _cross(x, EDGE + h * share)
    for there, y in ((row > 0, EDGE + half), (row < cut.rows - 1, EDGE + h - half)):
        if there:
            yield Polygon(((EDGE, y), (EDGE + w, y)), line, closed=False)
            for share in (0.3, 0.7):
                yield from _cross(EDGE + w * share, y)


def _cross(x: float, y: float) -> Iterator[Item]:
    line = Style(stroke=INK, width=0.2)
    yield Group(
        (
            Circle(x, y, 2.0, Style(stroke=WHITE, width=0.8)),
            Circle(x, y, 2.0, line),
            Polygon(((x - 4, y), (x + 4, y)), line, closed=False),
            Polygon(((x, y - 4), (x, y + 4)), line, closed=False),
        ),
        title="Registration mark",
        role="presentation",
    )


# --- the foot of every sheet -----------------------------------------------------------------------------------------


def bar(x: float, y: float) -> Group:
    """The control bar: exactly 100 mm long, in ten parts, with its ends marked."""
    parts = tuple(Rect(x + 10 * i, y, 10, 2.4, Style(fill=INK)) for i in range(0, 10, 2))
    ends = tuple(
        Polygon(((x + e, y - 1.0), (x + e, y + 3.4)), Style(stroke=INK, width=0.15, cap="butt"), closed=False)
        for e in (0.0, BAR)
    )
    return Group(
        (*parts, Rect(x, y, BAR, 2.4, Style(stroke=INK, width=0.15, join="miter")), *ends), title="Control bar: 100 mm"
    )


def _foot(said: str, below: str, paper: tuple[float, float]) -> tuple[Item, ...]:
    y = paper[1] - EDGE - _FOOT + 4.0
    x = EDGE + BAR + 5.0
    words = paragraph(_CHECK, BAR + 2.0, 8.0, y=y + 4.6, x=EDGE)
    room = paper[0] - EDGE - x
    named = paragraph(said, room, largest(said, room, (13.0, 11.0, 9.0), "bold", 1), "bold", x=x, y=y - 2.2)
    about = paragraph(
        f"{below}. A mat for practice: for the allergens see the pass card.",
        room,
        8.0,
        colour=INK,
        x=x,
        y=y - 1.6 + named.height,
    )
    line = Rect(EDGE, y - 3.6, paper[0] - 2 * EDGE, 0.2, Style(fill=GREY))
    return (Group((line, bar(EDGE, y), *words.items, *named.items, *about.items), title="Control bar", role="note"),)


# --- the sheet of instructions ---------------------------------------------------------------------------------------


def _how(dish: Dish, on: Plate, size: tuple[float, float], numbers: dict[str, str], cut: Tiling) -> Iterator[Item]:
    """The dish, what to do with the sheets, how they lie, and what the numbers stand for."""
    width, height = size
    w = width - 2 * EDGE
    title = paragraph(dish.title, w, largest(dish.title, w, (19, 17, 15, 13), "bold", 2), "bold", x=EDGE, y=EDGE)
    yield from title.items
    y = EDGE + title.height + 0.6
    under = paragraph(f"Mat at 100 %: {on.called}", w, 9.0, "semibold", GREY, x=EDGE, y=y)
    yield from under.items
    y += under.height + 1.2
    yield Rect(EDGE, y, w, 0.5, Style(fill=INK))
    y += 3.0
    aside = 0.46 * w
    column = w - aside - 6.0
    room = height - EDGE - _FOOT - 2.0 - y
    told = list(_told(dish, numbers, cut))
    for point in (16.0, 14.0, 12.0, 10.5, 9.0):
        parts = [paragraph(line, column - 0.6 * point, point, x=EDGE + 0.6 * point) for line in told]
        if sum(p.height + 1.6 for p in parts) <= room * (0.5 if cut.count > 1 else 0.9):
            break
    left = y
    for number, part in enumerate(parts, 1):
        yield Text(EDGE, left + fonts.ascent(point) * 0.9, str(number), point, "bold")
        yield part.at(0, left)
        left += part.height + 1.6
    yield from _map(cut, EDGE, left + 2.0, column, height - EDGE - _FOOT - left - 6.0)
    yield from _key(dish, numbers, EDGE + column + 6.0, y, aside, room)


def _told(dish: Dish, numbers: dict[str, str], cut: Tiling) -> Iterator[str]:
    """What to do with the sheets, and what of the drawing is the size of the food."""
    yield "Print at 100 %, and check the bar on every sheet with a ruler."
    yield (
        "One sheet: the plate fits the paper."
        if cut.count == 1
        else (
            f"{cut.count} sheets in {cut.rows} {'row' if cut.rows == 1 else 'rows'} of {cut.columns}. They overlap by"
            f" {OVERLAP:.0f} mm: cut one of each two along the broken line at the seam, lay the crosses on one another,"
            " and tape."
        )
    )
    yield "Lay a glass plate on it, or the mat beside the plate. 6:00 and the arrow are the guest's side."
    upright = [s for s in dish.steps if s.piece is not None and s.facing.stance in ("standing", "leaning")]
    if not upright:
        yield "The drawing is the size of the food. Build by the numbers."
        return
    yield (
        "What lies flat is drawn at its size; what stands or leans, as what is seen of it from above. Build by the"
        " numbers."
    )
    for step in upright:
        if step.piece is not None:
            size = wording.standing(step.piece) if step.facing.stance == "standing" else wording.size(step.piece)
            how = "stands" if step.facing.stance == "standing" else "leans"
            yield f"Number {numbers.get(step.put, '')} {how}: {size}."


def _map(cut: Tiling, x: float, y: float, width: float, height: float) -> Iterator[Item]:
    """A small map of how the sheets lie together, each with its row and column."""
    if cut.count == 1 or height < 12:
        return
    whole = [n * s + OVERLAP for n, s in zip((cut.columns, cut.rows), cut.step)]
    k = min(width / whole[0], height / whole[1], 0.6)
    for row in range(cut.rows):
        for column in range(cut.columns):
            left, top = x + k * column * cut.step[0], y + k * row * cut.step[1]
            yield Rect(
                left, top, k * cut.live[0], k * cut.live[1], Style(fill=PALE, fill_opacity=0.5, stroke=INK, width=0.25)
            )
            yield Text(
                left + k * cut.live[0] / 2,
                top + k * cut.live[1] / 2 + 1.2,
                f"{row + 1}, {column + 1}",
                8.0,
                "semibold",
                "middle",
            )


def _key(dish: Dish, numbers: dict[str, str], x: float, y: float, width: float, room: float) -> Iterator[Item]:
    """Number, count and name of every step, in the largest type that fits; in two columns if one is too long."""
    for size, columns in (
        (22.0, 1),
        (19.0, 1),
        (16.0, 1),
        (13.0, 1),
        (11.0, 1),
        (10.0, 1),
        (8.5, 1),
        (8.0, 1),
        (8.0, 2),
    ):
        cell = (width - 4.0 * (columns - 1)) / columns
        rows = [_named(step, dish, numbers, cell, size) for step in dish.steps]
        each = math.ceil(len(rows) / columns)
        if max(sum(r.height for r in rows[i * each : (i + 1) * each]) for i in range(columns)) <= room:
            break
    for i in range(columns):
        top = y
        for row in rows[i * each : (i + 1) * each]:
            yield row.at(x + i * (cell + 4.0), top)
            top += row.height


def _named(step: Step, dish: Dish, numbers: dict[str, str], width: float, size: float) -> Block:
    count = wording.count(step)
    r = max(2.4, 0.9 * fonts.cap_height(size, "bold"))
    digit = max(8.0, 0.7 * size)
    x = 2 * r + 1.8
    used = fonts.width_mm(count, size, "bold") + 1.6
    part = paragraph(wording.called(step.put, dish), width - x - used - 0.4, size, "semibold", x=x + used)
    base = fonts.ascent(size, "bold") * 0.9
    middle = base - fonts.cap_height(size, "bold") / 2
    number = numbers.get(step.put, "")
    items = (
        Circle(r, middle, r, Style(fill=INK)),
        Text(r, middle + fonts.cap_height(digit, "bold") / 2, number, digit, "bold", "middle", WHITE),
        Text(x, base, count, size, "bold"),
        *part.items,
    )
    return Block(
        max(part.height, middle + r) + 0.25 * fonts.cap_height(size) + 0.2,
        (Group(items, title=f"{number}: {count} {wording.called(step.put, dish)}", role="listitem"),),
    )
