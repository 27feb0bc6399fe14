"""The back of a pass card, for the cook: the plate again with its numbers, the steps beside it, how high it stands.

In: a prepared dish and the area of the page.  Out: items, or None if it does not fit.
"""

from __future__ import annotations

from collections.abc import Callable

from platecard.documents.kit import allergen_block, law_table, part_rows
from platecard.documents.kit.sheet import SMALLEST_PT, Block, smallest_text
from platecard.documents.pages.card_front import LAWS_SIDE_BY_SIDE, Picture, declarations
from platecard.drawing.scene import Group, Item, Placing, Scene
from platecard.layout import plate_geometry
from platecard.layout.footprint import Arrangement
from platecard.model import Dish
from platecard.prepared import Prepared

Area = tuple[float, float, float, float]  # x, y, width and height in mm
SideView = Callable[[float], Scene]
"""Draws the plate, from the guest's side or from above, for a picture of so many mm of width."""
Rows = Callable[[float, tuple[float, float]], list[Block]]  # the steps for a width and two sizes of type
GAP = 4.0
_SIZES = ((12.0, 10.0), (11.0, 9.0), (10.0, 8.5), (9.5, 8.0))  # points of names and of the words below them
_SHARES = (0.46, 0.42, 0.38, 0.34, 0.3, 0.26)  # of the width that the pictures take on paper that lies on its side
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
) -> tuple[Item, ...] | None:
    """The back within ``area`` (x, y, width, height in mm), or None if it has no room there.

    Unless ``is_declared_in_full`` on the front, the whole declaration stands here.
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

    def rows(width: float, sizes: tuple[float, float]) -> list[Block]:
        return part_rows.full(dish, numbers, settings, width, arrangement, sizes, lines)

    def above(width: float) -> Scene:
        return picture(numbers, 2 * (rim.a + 24.0) / width)

    way = _beside if lies else _below
    for sizes in _SIZES:
        # Where the steps do not fit beside the smallest picture, they do not fit beside any.
        if way(None, None, rows, sizes, _SHARES[-1], (x, y, w, room)) is None:
            continue
        for share in _SHARES:
            made = way(above, side, rows, sizes, share, (x, y, w, room))
            if made is not None:
                return (*made, *end)
    return None


def _declaration(prepared: Prepared, width: float, unknown: tuple[str, ...]) -> Block:
    said = declarations(prepared)
    if len(said) > LAWS_SIDE_BY_SIDE:
        return law_table.block(said, width, unknown, prepared.basis.reached, prepared.told)
    if unknown or not all(s.established_in_itself for s in said):
        return allergen_block.block(said, width, 9.0, unknown, reached=prepared.basis.reached, told=prepared.told)
    return allergen_block.rest(said, width, prepared.basis.reached, prepared.told)


def _beside(
    above: SideView | None,
    side: SideView | None,
    rows: Rows,
    sizes: tuple[float, float],
    share: float,
    area: Area,
) -> tuple[Item, ...] | None:
    """The pictures in a column on the left, the steps in columns on the right; without ``above``, only the steps."""
    x, y, w, h = area
    column = share * w
    rest = w - column - GAP
    for columns in (1, 2) if rest > 115 else (1,):
        width = (rest - (columns - 1) * GAP) / columns
        placed = _dealt(rows(width, sizes), columns, h)
        if placed is None:
            continue
        left = x + column + GAP
        made = [b.at(left + n * (width + GAP), y + at) for b, n, at in placed]
        if above is None:
            return tuple(made)
        drawn = _pictures(above, side, column, h)
        if drawn is None:
            return None
        made = [*(i.at(x, y + at) for i, at in drawn), *made]
        if side is not None and len(drawn) == 1:
            made += _in_what_is_left(side, placed, columns, width, (left, y, h))
        return tuple(made)
    return None


def _in_what_is_left(
    side: SideView,
    placed: list[tuple[Block, int, float]],
    columns: int,
    width: float,
    area: tuple[float, float, float],
) -> list[Item]:
    """The side view under the shortest column of steps, if it can be read there; ``area`` is left, top and height."""
    x, y, h = area
    ends = [max((at + b.height for b, m, at in placed if m == n), default=0.0) for n in range(columns)]
    end, n = min((e, m) for m, e in enumerate(ends))
    view = _fitted(side(width), width, h - end - 2.0)
    return [view.at(x + n * (width + GAP), y + h - view.height)] if view else []


def _below(
    above: SideView | None,
    side: SideView | None,
    rows: Rows,
    sizes: tuple[float, float],
    share: float,
    area: Area,
) -> tuple[Item, ...] | None:
    """The pictures side by side on top, the steps in two columns below; without ``above``, only the steps."""
    x, y, w, h = area
    top = share * h
    width = (w - GAP) / 2
    placed = _dealt(rows(width, sizes), 2, h - top - GAP)
    if placed is None:
        return None
    steps = [b.at(x + n * (width + GAP), y + top + GAP + at) for b, n, at in placed]
    if above is None:
        return tuple(steps)
    left = w if side is None else 0.55 * w
    plate = _fitted(above(min(left, top)), left, top)
    if plate is None:
        return None
    made: list[Item] = [plate.at(x, y)]
    if side is not None:
        view = _fitted(side(w - left - GAP), w - left - GAP, top)
        if view is not None:
            made.append(view.at(x + left + GAP, y + (top - view.height) / 2))
    return (*made, *steps)


def _pictures(above: SideView, side: SideView | None, width: float, height: float) -> list[tuple[Block, float]] | None:
    """The plate from above, and from the side below it where both can be read."""
    scene = above(min(width, 0.9 * height))
    if side is not None:
        view = _fitted(side(width), width, 0.34 * height)
        plate = _fitted(scene, width, height - view.height - 6.0) if view else None
        if view is not None and plate is not None:
            return [(plate, 0.0), (view, height - view.height)]
    plate = _fitted(scene, width, height)
    return [(plate, 0.0)] if plate else None


def _fitted(scene: Scene, width: float, height: float) -> Block | None:
    """A picture as large as it can be in this room, centred; None if it could not be read."""
    k = min(width / scene.width_mm, height / scene.height_mm, 1.0)
    least = smallest_text(scene.items)
    if k * least < 0.8 * SMALLEST_PT:  # its text may be enlarged a little against the picture, no more
        return None
    place = Placing(k, (width - scene.width_mm * k) / 2, 0.0, max(k, SMALLEST_PT / least))
    group = Group(scene.items, title=scene.title, description=scene.description, role="img", placing=place)
    return Block(scene.height_mm * k, (group,))


def _dealt(rows: list[Block], columns: int, height: float) -> list[tuple[Block, int, float]] | None:
    """Each row with its column and its y; None if they do not fit.  No heading stands alone at the foot of a column."""
    if not _deal(rows, columns, height):
        return None
    low, high = 0.0, height
    while columns > 1 and high - low > 0.5:
        middle = (low + high) / 2
        low, high = (low, middle) if _deal(rows, columns, middle) else (middle, high)
    return _deal(rows, columns, high)


def _deal(rows: list[Block], columns: int, height: float) -> list[tuple[Block, int, float]]:
    placed: list[tuple[Block, int, float]] = []
    column, y = 0, 0.0
    for i, row in enumerate(rows):
        need = row.height
        if part_rows.is_heading(row) and i + 1 < len(rows):
            need += rows[i + 1].height
        if y + need > height + 1e-6:
            column, y = column + 1, 0.0
            if column == columns or need > height + 1e-6:
                return []
        placed.append((row, column, y))
        y += row.height
    return placed
