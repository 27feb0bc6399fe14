"""Pages of the kitchen's working papers: a head, columns of blocks, a foot.

In: blocks of a known height.  Out: scenes.  A heading never stands alone at the end of a column, and is
repeated, as continued, where its section runs on into the next.  No section leaves a single row behind, and no page
but the last is left a third empty.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from platecard.documents.kit import draft_mark
from platecard.documents.kit.sheet import GREY, INK, MARGIN, WHITE, Block, largest, paragraph
from platecard.documents.text import wording
from platecard.drawing import fonts
from platecard.drawing.extent import bounds
from platecard.drawing.scene import Group, Item, Rect, Scene, Style, Text, shifted

GAP = 6.0
CONTINUED = ", continued"
BELOW_HEAD = 2.5
_LEAST_ROOM = 18.0  # mm that are too little to begin two columns in
_SMALL_ROW = 9.0  # mm: up to this height a row is not left alone
_STUB, _SHARED = 0.25, 0.88  # a last page filled less than the first gets some of the page before, filled to the second


class Row(NamedTuple):
    """A block in a column.

    One with ``is_heading`` is kept together with the row after it; where its section runs on into another column,
    ``again`` stands there in its place.  Headings of a higher ``level`` stand below those of a lower; a row of level 0
    ends every section and belongs to none.
    """

    block: Block
    is_heading: bool = False
    again: Block | None = None
    level: int = 2


class Head(NamedTuple):
    """What stands at the head of the first page and of those that continue it."""

    first: Block
    later: Block

    def of(self, page: int) -> Block:
        """The head of a page, counted from 0."""
        return self.later if page else self.first


def head(title: str, below: str, right: tuple[str, str], width: float, language: str = "en-GB") -> Block:
    """The head of a page: its title, a line below it, and two lines at the right edge."""
    edge = max((fonts.width_mm(right[0], 11, "bold"), fonts.width_mm(right[1], 8.5, "semibold"))) + 4
    size = largest(title, width - edge, (19, 17, 15, 13), "bold", 2)
    named = paragraph(title, width - edge, size, "bold", language=language)
    said = paragraph(below, width - edge, 9, "semibold", GREY, y=named.height + 0.4) if below else Block(0, ())
    height = max(named.height + 0.4 + said.height, 9.5) + 1.6
    return Block(
        height,
        (
            Group(
                (
                    *named.items,
                    *said.items,
                    Text(width, 4.4, right[0], 11, "bold", anchor="end"),
                    Text(width, 8.6, right[1], 8.5, "semibold", anchor="end", colour=GREY),
                    Rect(0, height - 0.5, width, 0.5, Style(fill=INK)),
                ),
                title=title,
                role="heading",
            ),
        ),
    )


def heads(
    title: str, below: str, right: tuple[str, str], width: float, language: str = "en-GB", later: str | None = None
) -> Head:
    """The heads of pages of which the later ones say that they continue the first, with ``later`` for ``below``."""
    return Head(
        head(title, below, right, width, language),
        head(f"{title}{CONTINUED}", below if later is None else later, right, width, language),
    )


def heading(text: str, width: float, size: float = 9.0, level: int = 2) -> Row:
    """A heading with a rule under it."""
    return Row(_ruled(text, width, size), True, _ruled(f"{text}{CONTINUED}", width, size), level)


def _ruled(text: str, width: float, size: float) -> Block:
    part = paragraph(text, width, size, "bold", y=0.7)
    y = part.height + 1.2
    items = (*part.items, Rect(0, y - 0.3, width, 0.25, Style(fill=GREY)))
    return Block(y + 0.8, (Group(items, title=text, role="heading"),))


def text(words: str, width: float, size: float = 8.5, face: str = "regular", colour: str = INK) -> Row:
    """A paragraph as a row."""
    part = paragraph(words, width, size, face, colour)
    return Row(Block(part.height + 0.8, part.items))


def space(height: float) -> Row:
    """Nothing, ``height`` mm high."""
    return Row(Block(height, ()))


# --- pages -----------------------------------------------------------------------------------------------------------


def pages(
    top: Block | Head,
    columns: list[tuple[float, list[Row]]],
    size: tuple[float, float],
    title: str,
    notes: tuple[str, ...],
    language: str,
    is_draft: bool = False,
) -> tuple[Scene, ...]:
    """Pages on which each column (its width in mm, its rows) runs on to the next page by itself."""
    tops = _tops(top, size, is_draft)
    sheets: list[list[Item]] = []
    x = MARGIN
    for column, rows in columns:
        at, page = 0, 0
        while at < len(rows):
            while len(sheets) <= page:
                sheets.append([])
            y = MARGIN + tops.of(page).height + BELOW_HEAD
            blocks, at = _column(rows, at, bottom(size) - y, must=True)
            sheets[page] += placed(blocks, x, y)
            page += 1
        x += column + GAP
    return finished(tops, sheets, size, title, notes, language)


def flow(
    top: Block | Head,
    rows: list[Row],
    column: float,
    size: tuple[float, float],
    title: str,
    notes: tuple[str, ...],
    language: str,
    is_draft: bool = False,
    wide: Sequence[Row] = (),
) -> tuple[Scene, ...]:
    """Pages with one stream of rows through two columns, balanced on the last page, below what is ``wide``."""
    tops = _tops(top, size, is_draft)
    foot = bottom(size)
    sheets: list[list[Item]] = []

    def new_page() -> float:
        sheets.append([])
        return MARGIN + tops.of(len(sheets) - 1).height + BELOW_HEAD

    y = new_page()
    is_empty = True
    for row in wide:
        if y + row.block.height > foot and not is_empty:
            y = new_page()
        sheets[-1].append(row.block.at(MARGIN, y))
        y += row.block.height + BELOW_HEAD
        is_empty = False
    at = 0
    while at < len(rows):
        if not is_empty and foot - y < _LEAST_ROOM:
            y, is_empty = new_page(), True
        room = foot - MARGIN - tops.later.height - BELOW_HEAD
        dealt, after = page_of(rows, at, foot - y, room, is_empty)
        if after == at:  # not even one row has room below what is wide
            y, is_empty = new_page(), True
            continue
        for n, blocks in enumerate(dealt):
            sheets[-1] += placed(blocks, MARGIN + n * (column + GAP), y)
        at, y, is_empty = after, foot, False
    return finished(tops, sheets, size, title, notes, language)


def one_page(
    top: Block,
    items: Sequence[Item],
    size: tuple[float, float],
    title: str,
    notes: tuple[str, ...],
    language: str,
    is_draft: bool = False,
) -> tuple[Scene, ...]:
    """One page of ``items`` that have their places already, as if there were no band of a draft above the head."""
    tops = _tops(Head(top, top), size, is_draft)
    lower = tops.first.height - top.height
    return finished(tops, [[shifted(tuple(items), 0, lower)]], size, title, notes, language)


def bottom(size: tuple[float, float]) -> float:
    """The y in mm down to which a page of this size may be filled."""
    return size[1] - MARGIN - _foot_height(size[0]) - 1.5


def lowest(page: Scene) -> float:
    """The y in mm down to which a page is filled, its foot not counted."""
    _, *body, _ = page.items
    return bounds(*body)[3]


def with_more(page: Scene, items: Sequence[Item]) -> Scene:
    """A page with more on it, before its foot."""
    *body, foot = page.items
    return page._replace(items=(*body, *items, foot))


def _tops(top: Block | Head, size: tuple[float, float], is_draft: bool) -> Head:
    both = top if isinstance(top, Head) else Head(top, top)
    if not is_draft:
        return both
    mark = draft_mark.band(size[0] - 2 * MARGIN, draft_mark.HEAD)
    return Head(*(Block(mark.height + one.height, (*mark.items, one.at(0, mark.height))) for one in both))


def page_of(rows: list[Row], at: int, room: float, next_room: float, must: bool) -> tuple[list[list[Block]], int]:
    """The columns of one page of ``room`` mm from row ``at`` on, and the row that is left for the next page.

    With ``must`` at least one row is on it.
    """
    dealt, after = _deal(rows, at, room, must)
    if after == len(rows):
        return _deal(rows, at, _least(rows, at, room))[0], after
    # A few lines alone on the last page: this page gives it some of its own.
    if _deal(rows, after, _STUB * next_room)[1] == len(rows):
        shared, shorter = _deal(rows, at, _SHARED * room)
        if shorter > at and _deal(rows, shorter, next_room)[1] == len(rows):
            return shared, shorter
    return dealt, after


def _least(rows: list[Row], at: int, room: float) -> float:
    """The least height at which the rest of the rows has room in two columns."""
    low, high = 0.0, room
    while high - low > 0.5:
        middle = (low + high) / 2
        low, high = (low, middle) if _deal(rows, at, middle)[1] == len(rows) else (middle, high)
    return high


def _deal(rows: list[Row], at: int, height: float, must: bool = False) -> tuple[list[list[Block]], int]:
    left, middle = _column(rows, at, height, must)
    right, after = _column(rows, middle, height)
    return [left, right], after


def column_height(rows: list[Row]) -> float:
    """How high the rows are in one column, in mm."""
    return sum(row.block.height for row in rows)


def _column(rows: list[Row], at: int, height: float, must: bool = False) -> tuple[list[Block], int]:
    """What fits into a column of ``height`` mm from row ``at`` on, and the row that comes next.

    With ``must`` the first row is placed even where it is higher than the column.
    """
    placed = [row.again for row in _open(rows, at) if row.again is not None] if at < len(rows) else []
    y = sum(block.height for block in placed)
    begin = at
    while at < len(rows):
        stop = _together(rows, at)
        need = sum(row.block.height for row in rows[at:stop])
        if y + need > height + 1e-6 and not (must and at == begin):
            break
        placed += [row.block for row in rows[at:stop]]
        y += need
        at = stop
    if at == begin:
        return [], at
    # The last short row of a section is not sent on alone.
    if (
        at - begin > 2
        and at < len(rows)
        and not rows[at].is_heading
        and (at + 1 == len(rows) or rows[at + 1].is_heading)
        and rows[at].block.height <= _SMALL_ROW
        and not (rows[at - 1].is_heading or rows[at - 2].is_heading)
    ):
        return placed[:-1], at - 1
    return placed, at


def _together(rows: list[Row], at: int) -> int:
    """The end of the rows that stay together from ``at`` on: headings with the first row below them."""
    stop = at
    while stop + 1 < len(rows) and rows[stop].is_heading:
        stop += 1
    has_heading, first = stop > at, stop
    stop += 1
    # Nor is a heading left with one line of a longer section.
    if (
        has_heading
        and rows[first].block.height <= _SMALL_ROW / 2
        and stop < len(rows)
        and not rows[stop].is_heading
        and rows[stop].block.height <= _SMALL_ROW
    ):
        stop += 1
    return stop


def _open(rows: list[Row], at: int) -> list[Row]:
    """The headings above row ``at`` whose sections it continues."""
    below = rows[at].level if rows[at].is_heading or not rows[at].level else 100
    found: list[Row] = []
    for row in reversed(rows[:at]):
        if not row.level:
            break
        if row.is_heading and row.level < below:
            found.append(row)
            below = row.level
    return found[::-1]


def placed(blocks: list[Block], x: float, y: float) -> list[Item]:
    """Blocks one below another, with the top left corner of the first at (x, y) mm."""
    items = []
    for block in blocks:
        items.append(block.at(x, y))
        y += block.height
    return items


@cache
def _caution(width: float) -> Block:
    return paragraph(wording.CAUTION, width - 2 * MARGIN - 50, 8.0)


def _foot_height(width: float) -> float:
    return _caution(width).height + 2.0


def finished(
    tops: Head,
    sheets: list[list[Item]],
    size: tuple[float, float],
    title: str,
    notes: tuple[str, ...],
    language: str,
) -> tuple[Scene, ...]:
    """The scenes of pages that are filled, with their heads and feet."""
    width, height = size
    made = []
    for number, items in enumerate(sheets or [[]]):
        foot = _foot(notes, number + 1, len(sheets) or 1, width, height, _foot_height(width))
        made.append(
            Scene(
                width,
                height,
                (Rect(0, 0, width, height, Style(fill=WHITE)), tops.of(number).at(MARGIN, MARGIN), *items, *foot),
                title,
                language=language,
            )
        )
    return tuple(made)


def _foot(
    notes: tuple[str, ...], number: int, count: int, width: float, height: float, tall: float
) -> tuple[Item, ...]:
    y = height - MARGIN - tall + 1.0
    body = _caution(width)
    edge = [*notes[:1], " · ".join([*notes[1:], *([f"page {number} of {count}"] if count > 1 else [])])]
    items: list[Item] = [Rect(MARGIN, y - 0.8, width - 2 * MARGIN, 0.2, Style(fill=GREY)), body.at(MARGIN, y)]
    items += [
        Text(width - MARGIN, y + 2.5 + 2.9 * i, t, 8.0, "semibold", anchor="end") for i, t in enumerate(edge) if t
    ]
    return (Group(tuple(items), title="Caution", role="note"),)
