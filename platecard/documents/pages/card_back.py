"""The back of a pass card, for the cook: the plate again with its numbers, the steps beside it, how high it stands.

In: a prepared dish and the area of the page.  Out: items, or None if it does not fit.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

from platecard.documents.diagram import plate, step_pictures
from platecard.documents.kit import allergen_block, law_table, part_rows
from platecard.documents.kit.sheet import SMALLEST_PT, Block, smallest_text
from platecard.documents.pages.card_front import LAWS_SIDE_BY_SIDE, Picture, declarations
from platecard.drawing.scene import Group, Item, Placing, Scene
from platecard.layout import plate_geometry
from platecard.layout.footprint import Arrangement
from platecard.model import Dish
from platecard.prepared import Prepared

Area = tuple[float, float, float, float]  # x, y, width and height in mm


class Above(NamedTuple):
    """Draws the plate from above for a picture of so many mm of width; about how high that is, as a share of it."""

    draw: Callable[[float], Scene]
    tall: float


SideView = Callable[[float, float], Scene]
"""Draws the plate from the guest's side, for a picture of so many mm of width and of height."""
Rows = Callable[[float, tuple[float, float]], list[part_rows.Row]]  # the steps for a width and two sizes of type
GAP = 4.0
_SIZES = ((12.0, 10.0), (11.0, 9.0), (10.0, 8.5), (9.5, 8.0))  # points of names and of the words below them
_SHARES = (0.46, 0.41, 0.36, 0.31, 0.26)  # of the width that the pictures take on paper that lies on its side
_CLOSE_UP = {False: (17.0, 12.0), True: (24.0, 17.0)}  # width and height of a step's picture, on small and large paper
_WITH_PICTURES_PT = 8.5  # rather than with smaller words the steps stand without pictures
# Pairs of the two, the best first: a point of type is worth as much as so many hundredths of the width.
_POINT = 6.5
_TRIED = sorted(((a, b) for a in _SIZES for b in _SHARES), key=lambda way: (-_POINT * way[0][1] - 100 * way[1], way))
_LOW_MM, _TALL_MM = 20.0, 26.0  # the least height of a side view below the plate, and below the steps
_VIEW = 0.32  # the share of a column's height that the side view takes
_LEAST_PLATE_MM = 36.0  # the least height of the plate above it
_LEAST_MM = 55.0  # the plate is never drawn smaller than this


def compose(
    prepared: Prepared,
    dish: Dish,
    arrangement: Arrangement,
    numbers: dict[str, str],
    area: Area,
    picture: Picture,
    side: SideView | None,
    is_declared_in_full: bool,
    unknown: tuple[str, ...] = (),
    food: plate.Food | None = None,
) -> tuple[Item, ...] | None:
    """The back within ``area`` (x, y, width, height in mm), or None if it has no room there.

    Unless ``is_declared_in_full`` on the front, the whole declaration stands here.  ``food`` is that of
    ``arrangement``, if it is known already.
    """
    x, y, w, h = area
    declared = None if is_declared_in_full else _declaration(prepared, w, unknown)
    room = h - (declared.height + GAP if declared else 0.0)
    end: tuple[Item, ...] = (declared.at(x, y + h - declared.height),) if declared else ()
    if room < _LEAST_MM:
        return None
    settings = prepared.world.kitchen.settings
    rim = plate_geometry.rim(arrangement.plate)
    lies = w > 1.2 * room
    lines = part_rows.lines_of(dish, arrangement)

    close_up = _CLOSE_UP[max(w, h) > 220.0]
    # As long as it is not known whether they fit, the pictures of the steps are only their size.
    shown = {f.step for f in arrangement.footprints}
    empty = {s.index: (Block(close_up[1], ()), close_up[0]) for s in dish.steps if step_pictures.in_order(s)}
    sized = {number: block for number, block in empty.items() if number in shown}

    def rows(pictures: Mapping[int, part_rows.Picture]) -> Rows:
        return lambda width, sizes: part_rows.full(dish, numbers, settings, width, arrangement, sizes, lines, pictures)

    def drawn_above(width: float) -> Scene:
        drawn = picture(numbers, 2 * (rim.a + 24.0) / width)
        # The scale stands on the front; here every place is told in mm.
        return drawn._replace(items=tuple(i for i in drawn.items if not (isinstance(i, Group) and i.id == "scale")))

    above = Above(drawn_above, (rim.b + 24.0) / (rim.a + 24.0))
    way = _beside if lies else _below
    area = x, y, w, room

    def fits(pictures: Mapping[int, part_rows.Picture], sizes: tuple[float, float], share: float) -> bool:
        return way(None, None, rows(pictures), sizes, share, area) is not None

    # The pictures of single steps are the first to go where there is no room, the side view the second.
    ways = [(side, sized)] if sized else []
    for view, pictures in (*ways, (side, {}), *([(None, {})] if side else [])):
        # Words that do not fit beside the smallest pictures of the plate fit beside none.
        able = {
            sizes
            for sizes in _SIZES
            if not (pictures and sizes[1] < _WITH_PICTURES_PT) and fits(pictures, sizes, _SHARES[-1])
        }
        for sizes, share in _TRIED:
            if sizes in able and fits(pictures, sizes, share):
                drawn = _close_ups(dish, arrangement, food, *close_up) if pictures else {}
                made = way(above, view, rows(drawn), sizes, share, area)
                if made is not None:
                    return (*made, *end)
    return None


def _close_ups(
    dish: Dish, arrangement: Arrangement, food: plate.Food | None, width: float, height: float
) -> dict[int, part_rows.Picture]:
    """A small picture of each step in which the order of plating can be seen."""
    food = food or plate.food_on(arrangement, dish)
    made: dict[int, part_rows.Picture] = {}
    for step in dish.steps:
        if step_pictures.in_order(step):
            drawn = step_pictures.close_up(step, arrangement, dish, food, width, height)
            made |= {step.index: (drawn, width)} if drawn else {}
    return made


def _declaration(prepared: Prepared, width: float, unknown: tuple[str, ...]) -> Block:
    said = declarations(prepared)
    if len(said) > LAWS_SIDE_BY_SIDE:
        return law_table.block(said, width, unknown, prepared.basis.reached, prepared.told)
    if unknown or not all(s.established_in_itself for s in said):
        return allergen_block.block(said, width, 9.0, unknown, reached=prepared.basis.reached, told=prepared.told)
    return allergen_block.rest(said, width, prepared.basis.reached, prepared.told)


def _beside(
    above: Above | None,
    side: SideView | None,
    rows: Rows,
    sizes: tuple[float, float],
    share: float,
    area: Area,
) -> tuple[Item, ...] | None:
    """The pictures in a column on the left, the steps in columns on the right; nothing is drawn without ``above``."""
    x, y, w, h = area
    column = share * w
    rest = w - column - GAP
    for columns in (1, 2) if rest > 115 else (1,):
        width = (rest - (columns - 1) * GAP) / columns
        placed = _dealt(rows(width, sizes), columns, h)
        if placed is None:
            continue
        if above is None:
            return ()
        left = x + column + GAP
        made = [row.draw().at(left + n * (width + GAP), y + at) for row, n, at in placed]
        beside = None
        if side and _below_plate(above.tall * column, h) < _LOW_MM:
            # Where the plate would shrink for it, the view from the side goes below the steps, if there is room.
            beside = _in_what_is_left(side, placed, columns, width, (left, y, h))
        drawn = _pictures(above, None if beside else side, column, h)
        if drawn is None:
            return None
        return (*(i.at(x, y + at) for i, at in drawn), *made, *([beside] if beside else []))
    return None


def _in_what_is_left(
    side: SideView,
    placed: list[tuple[part_rows.Row, int, float]],
    columns: int,
    width: float,
    area: tuple[float, float, float],
) -> Item | None:
    """The side view under the shortest column of steps, if it can be read there; ``area`` is left, top and height."""
    x, y, h = area
    ends = [max((at + row.height for row, m, at in placed if m == n), default=0.0) for n in range(columns)]
    end, n = min((e, m) for m, e in enumerate(ends))
    room = h - end - 2.0
    view = _fitted(side(width, room), width, room) if room >= _TALL_MM else None
    return view.at(x + n * (width + GAP), y + h - view.height) if view else None


def _below(
    above: Above | None,
    side: SideView | None,
    rows: Rows,
    sizes: tuple[float, float],
    share: float,
    area: Area,
) -> tuple[Item, ...] | None:
    """The pictures side by side on top, the steps in two columns below; nothing is drawn without ``above``."""
    x, y, w, h = area
    top = share * h
    width = (w - GAP) / 2
    placed = _dealt(rows(width, sizes), 2, h - top - GAP)
    if placed is None:
        return None
    if above is None:
        return ()
    steps = [row.draw().at(x + n * (width + GAP), y + top + GAP + at) for row, n, at in placed]
    left = w if side is None else 0.55 * w
    drawn = _fitted(above.draw(min(left, top)), left, top)
    if drawn is None:
        return None
    made: list[Item] = [drawn.at(x, y)]
    if side is not None:
        view = _fitted(side(w - left - GAP, top), w - left - GAP, top)
        if view is None:
            return None
        made.append(view.at(x + left + GAP, y + (top - view.height) / 2))
    return (*made, *steps)


def _pictures(above: Above, side: SideView | None, width: float, height: float) -> list[tuple[Block, float]] | None:
    """The plate from above, and with ``side`` that view below it; None where they cannot be read."""
    if side is None:
        drawn = _fitted(above.draw(min(width, 0.9 * height)), width, height)
        return [(drawn, 0.0)] if drawn else None
    low = max(_LOW_MM, _VIEW * height, _below_plate(above.tall * width, height))
    room = height - low - 3.0
    view = _fitted(side(width, low), width, low) if room >= _LEAST_PLATE_MM else None
    if view is None:
        return None
    drawn = _fitted(above.draw(min(width, room / above.tall)), width, room)
    return [(drawn, 0.0), (view, height - view.height)] if drawn else None


def _below_plate(plate_mm: float, height: float) -> float:
    """How much of a column's height is left below a plate as wide as the column."""
    return height - plate_mm - 3.0


def _fitted(scene: Scene, width: float, height: float) -> Block | None:
    """A picture as large as it can be in this room, centred; None if it could not be read."""
    k = min(width / scene.width_mm, height / scene.height_mm, 1.0)
    least = smallest_text(scene.items)
    if k * least < 0.8 * SMALLEST_PT:  # its text may be enlarged a little against the picture, no more
        return None
    place = Placing(k, (width - scene.width_mm * k) / 2, 0.0, max(k, SMALLEST_PT / least))
    group = Group(scene.items, title=scene.title, description=scene.description, role="img", placing=place)
    return Block(scene.height_mm * k, (group,))


def _dealt(rows: list[part_rows.Row], columns: int, height: float) -> list[tuple[part_rows.Row, int, float]] | None:
    """Each row with its column and its y; None if they do not fit.  No heading stands alone at the foot of a column."""
    if not _deal(rows, columns, height):
        return None
    low, high = 0.0, height
    while columns > 1 and high - low > 0.5:
        middle = (low + high) / 2
        low, high = (low, middle) if _deal(rows, columns, middle) else (middle, high)
    return _deal(rows, columns, high)


def _deal(rows: list[part_rows.Row], columns: int, height: float) -> list[tuple[part_rows.Row, int, float]]:
    placed: list[tuple[part_rows.Row, int, float]] = []
    column, y = 0, 0.0
    for i, row in enumerate(rows):
        need = row.height
        if row.is_heading and i + 1 < len(rows):
            need += rows[i + 1].height
        if y + need > height + 1e-6:
            column, y = column + 1, 0.0
            if column == columns or need > height + 1e-6:
                return []
        placed.append((row, column, y))
        y += row.height
    return placed
