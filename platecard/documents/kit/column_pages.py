"""Pages of the kitchen's working papers: a head, columns of blocks, a foot.

In: blocks of a known height.  Out: scenes.  A heading never stands alone at the end of a
column.  Nothing shrinks to fit: what does not fit goes on to the next page.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple

from platecard.documents.kit import draft_mark
from platecard.documents.kit.sheet import GREY, INK, MARGIN, WHITE, Block, largest, line_mm, paragraph
from platecard.documents.text import wording
from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Rect, Scene, Style, Text

GAP = 6.0


class Row(NamedTuple):
    """A block in a column; one with ``is_heading`` is kept together with the row after it."""

    block: Block
    is_heading: bool = False


def head(title: str, below: str, right: tuple[str, str], width: float) -> Block:
    """The head of a page: its title, a line below it, and two lines at the right edge."""
    edge = max((fonts.width_mm(right[0], 11, "bold"), fonts.width_mm(right[1], 8.5, "semibold"))) + 4
    named = paragraph(title, width - edge, largest(title, width - edge, (19, 17, 15, 13), "bold", 2), "bold")
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


def heading(text: str, width: float, size: float = 9.0) -> Row:
    """A heading with a rule under it."""
    y = line_mm(size) + 1.2
    items = (Text(0, y - 1.4, text, size, "bold"), Rect(0, y - 0.3, width, 0.25, Style(fill=GREY)))
    return Row(Block(y + 0.8, (Group(items, title=text, role="heading"),)), True)


def text(words: str, width: float, size: float = 8.5, face: str = "regular", colour: str = INK) -> Row:
    """A paragraph as a row."""
    part = paragraph(words, width, size, face, colour)
    return Row(Block(part.height + 0.8, part.items))


def pages(
    top: Block,
    columns: list[tuple[float, list[Row]]],
    size: tuple[float, float],
    title: str,
    notes: tuple[str, ...],
    language: str,
    is_draft: bool = False,
) -> tuple[Scene, ...]:
    """Pages on which each column (its width in mm, its rows) runs on to the next page by itself."""
    if is_draft:
        mark = draft_mark.band(size[0] - 2 * MARGIN, draft_mark.HEAD)
        top = Block(mark.height + top.height, (*mark.items, top.at(0, mark.height)))
    sheets: list[list[Item]] = []
    x = MARGIN
    for column, rows in columns:
        for page, filled in enumerate(_fill(rows, top, size)):
            while len(sheets) <= page:
                sheets.append([])
            sheets[page] += _placed(filled, x)
        x += column + GAP
    return _finished(top, sheets, size, title, notes, language)


def flow(
    top: Block,
    rows: list[Row],
    column: float,
    size: tuple[float, float],
    title: str,
    notes: tuple[str, ...],
    language: str,
) -> tuple[Scene, ...]:
    """Pages with one stream of rows through two columns, balanced on the last page."""
    filled = _fill(rows, top, size)
    if len(filled) % 2:
        # The last page would have only one column, so its rows are spread over two.
        last = [row for _, row in filled.pop()]
        half = sum(r.block.height for r in last) / 2
        cut, used = 0, 0.0
        while cut < len(last) and (used < half or last[cut - 1].is_heading):
            used += last[cut].block.height
            cut += 1
        filled += _fill(last[:cut], top, size) + _fill(last[cut:], top, size)
    sheets: list[list[Item]] = []
    for i, column_rows in enumerate(filled):
        if i % 2 == 0:
            sheets.append([])
        sheets[-1] += _placed(column_rows, MARGIN + (i % 2) * (column + GAP))
    return _finished(top, sheets, size, title, notes, language)


def flow_below(
    top: Block,
    wide: list[Row],
    rows: list[Row],
    column: float,
    size: tuple[float, float],
    title: str,
    notes: tuple[str, ...],
    language: str,
    is_draft: bool = False,
) -> tuple[Scene, ...]:
    """Pages with rows across the whole width first, and below them one stream of rows through two columns."""
    if is_draft:
        mark = draft_mark.band(size[0] - 2 * MARGIN, draft_mark.HEAD)
        top = Block(mark.height + top.height, (*mark.items, top.at(0, mark.height)))
    y0 = MARGIN + top.height + 2.5
    bottom = size[1] - MARGIN - _foot_height(size[0]) - 1.5
    sheets: list[list[Item]] = []
    y = bottom
    for row in wide:
        if y + row.block.height > bottom or not sheets:
            sheets.append([])
            y = y0
        sheets[-1].append(row.block.at(MARGIN, y))
        y += row.block.height + 2.5
    left = list(rows)
    while left:
        if bottom - y < 30.0 or not sheets:
            sheets.append([])
            y = y0
        room = bottom - y
        taken, rest = _two(left, room)
        if not taken[0] and y > y0:
            y = bottom
            continue
        if not taken[0]:  # a single row that is higher than a page: it stands alone
            taken, rest = ([left[0]], []), left[1:]
        elif not rest:
            # The last page is balanced.
            low, high = 0.0, room
            while high - low > 0.5:
                middle = (low + high) / 2
                low, high = (low, middle) if not _two(left, middle)[1] else (middle, high)
            taken, rest = _two(left, high)
        for n, column_rows in enumerate(taken):
            at = y
            for row in column_rows:
                sheets[-1].append(row.block.at(MARGIN + n * (column + GAP), at))
                at += row.block.height
        left, y = rest, bottom
    return _finished(top, sheets, size, title, notes, language)


def _two(rows: list[Row], height: float) -> tuple[tuple[list[Row], list[Row]], list[Row]]:
    """Rows dealt to two columns of ``height`` mm, no heading last in one, and what is left over."""
    columns: list[list[Row]] = []
    at = 0
    for _ in range(2):
        column: list[Row] = []
        y = 0.0
        while at < len(rows):
            need, j = rows[at].block.height, at
            while rows[j].is_heading and j + 1 < len(rows):
                j += 1
                need += rows[j].block.height
            if y + need > height + 1e-6:
                break
            column.append(rows[at])
            y += rows[at].block.height
            at += 1
        columns.append(column)
    return (columns[0], columns[1]), rows[at:]


def _placed(filled: list[tuple[float, Row]], x: float) -> list[Item]:
    return [row.block.at(x, y) for y, row in filled]


def _fill(rows: list[Row], top: Block, size: tuple[float, float]) -> list[list[tuple[float, Row]]]:
    """The rows of one column, page by page, each with its y in mm."""
    y0 = MARGIN + top.height + 2.5
    room = size[1] - MARGIN - _foot_height(size[0]) - 1.5
    filled: list[list[tuple[float, Row]]] = []
    y = y0
    for i, row in enumerate(rows):
        # Headings in a row stay together with the first row below them.
        together, j = row.block.height, i
        while rows[j].is_heading and j + 1 < len(rows):
            j += 1
            together += rows[j].block.height
        if not filled or (y + together > room and y > y0):
            filled.append([])
            y = y0
        filled[-1].append((y, row))
        y += row.block.height
    return filled


@cache
def _caution(width: float) -> Block:
    return paragraph(wording.CAUTION, width - 2 * MARGIN - 50, 8.0)


def _foot_height(width: float) -> float:
    return _caution(width).height + 2.0


def _finished(
    top: Block, sheets: list[list[Item]], size: tuple[float, float], title: str, notes: tuple[str, ...], language: str
) -> tuple[Scene, ...]:
    width, height = size
    made = []
    for number, items in enumerate(sheets or [[]], 1):
        foot = _foot(notes, number, len(sheets) or 1, width, height, _foot_height(width))
        made.append(
            Scene(
                width,
                height,
                (Rect(0, 0, width, height, Style(fill=WHITE)), top.at(MARGIN, MARGIN), *items, *foot),
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
