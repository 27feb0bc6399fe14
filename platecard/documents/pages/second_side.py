"""The pages behind the front of a card: the build in detail, the fire timeline, the cautions.

In: blocks.  Out: the items of each page.  The timeline runs across the page below the
build if there is room, else at the top of a new page, or below the cautions.  The cautions
fill the rest in columns and go on to further pages.  The side view goes where a page has
room to spare and never takes up one of its own.  Nothing is cut off and nothing shrinks.
"""

from __future__ import annotations

from collections.abc import Callable

from platecard.documents.kit.sheet import Block
from platecard.drawing.scene import Item

GUTTER = 5.0
GAP = 2.5  # mm between the build, the timeline and the cautions
_TOO_LITTLE = 22.0  # mm left on a page in which nothing new is begun
_LARGE = 45.0  # mm of height in which the side view is large enough


class Pages:
    """Pages being filled from the top; (x, y, w, h) is the area of each in mm."""

    def __init__(self, x: float, y: float, w: float, h: float, columns: int) -> None:
        self.x, self.top, self.w, self.h, self.columns = x, y, w, h, columns
        self.pages: list[list[tuple[Block, float, float]]] = []
        self.y = y + h

    @property
    def room(self) -> float:
        """The height in mm that is left on the current page."""
        return self.top + self.h - self.y

    def turn(self) -> None:
        """Begin a new page."""
        self.pages.append([])
        self.y = self.top

    def across(self, block: Block) -> None:
        """Place one block across the whole width."""
        if block.height > self.room or not self.pages:
            self.turn()
        self.pages[-1].append((block, self.x, self.y))
        self.y += block.height + GAP

    def in_columns(self, rows: list[Block]) -> None:
        """Place rows in columns read downwards, of even height on their last page."""
        width = (self.w - (self.columns - 1) * GUTTER) / self.columns
        while rows:
            if self.room < _TOO_LITTLE or rows[0].height > self.room or not self.pages:
                self.turn()
            height = self.room
            if len(_dealt(rows, height, self.columns)[1]) == 0:
                # Find the least height that still holds all of them.
                low, high = 0.0, height
                while high - low > 0.01:
                    middle = (low + high) / 2
                    low, high = (low, middle) if not _dealt(rows, middle, self.columns)[1] else (middle, high)
                height = high
            columns, rows = _dealt(rows, height, self.columns)
            deepest = 0.0
            for number, column in enumerate(columns):
                y = self.y
                for block in column:
                    self.pages[-1].append((block, self.x + number * (width + GUTTER), y))
                    y += block.height
                deepest = max(deepest, y - self.y)
            self.y += deepest + GAP


def _dealt(rows: list[Block], height: float, columns: int) -> tuple[list[list[Block]], list[Block]]:
    """Rows dealt out to columns of ``height`` mm, no heading alone at a column's foot, and the rows left over."""
    made: list[list[Block]] = []
    at = 0
    for _ in range(columns):
        column: list[Block] = []
        y = 0.0
        while at < len(rows):
            need = rows[at].height + (rows[at + 1].height if at + 1 < len(rows) and 0 < rows[at].height < 4.5 else 0)
            if y + need > height + 1e-6 and (column or height < 60.0):
                break
            column.append(rows[at])
            y += rows[at].height
            at += 1
        made.append(column)
    return made, rows[at:]


def pages(
    build: list[Block],
    timeline: Block | None,
    cautions: list[Block],
    area: tuple[float, float, float, float],
    columns: int,
    spare: Callable[[float], Block | None] = lambda room: None,
) -> list[tuple[Item, ...]]:
    """The pages behind the front; none if there is nothing to say.

    The timeline comes before the cautions, or after them if that saves a page.  ``spare``
    returns a block for the given height in mm at the foot of a page, or None.
    """
    chosen = _filled(build, timeline, cautions, None, area, columns)
    if timeline is not None and cautions and len(chosen) > 1:
        other = _filled(build, None, cautions, timeline, area, columns)
        chosen = other if len(other) < len(chosen) else chosen
    rooms = [area[1] + area[3] - max(y + block.height for block, _, y in page) - GAP for page in chosen]
    # On the first page where it can be large, which is the page of the build if possible; else where most room is.
    order = [i for i, room in enumerate(rooms) if room >= _LARGE] or ([rooms.index(max(rooms))] if rooms else [])
    if order and (block := spare(rooms[order[0]])) is not None:
        chosen[order[0]].append((block, area[0], area[1] + area[3] - block.height))
    return [tuple(block.at(x, y) for block, x, y in page) for page in chosen]


def _filled(
    build: list[Block],
    before: Block | None,
    cautions: list[Block],
    behind: Block | None,
    area: tuple[float, float, float, float],
    columns: int,
) -> list[list[tuple[Block, float, float]]]:
    """The blocks of each page with their places, the timeline ``before`` or ``behind`` the cautions."""
    made = Pages(*area, columns)
    made.in_columns(build)
    if before is not None:
        made.across(before)
    made.in_columns(cautions)
    if behind is not None:
        made.across(behind)
    return made.pages
