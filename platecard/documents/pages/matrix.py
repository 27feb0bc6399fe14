"""The pages of the allergen matrix: a table of dishes and allergen groups for each law in force.

"Contains", "may contain" and "not established" differ in words, in form and in grey; every
mark has a number with its reason at the end, dish by dish.
"""

from __future__ import annotations

import math
from collections.abc import Iterable, Iterator, Sequence
from typing import NamedTuple

from platecard.allergens.statement import ABSENT
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Presence
from platecard.documents.kit import column_pages
from platecard.documents.kit.sheet import GREY, INK, MARGIN, PALE, WHITE, Block, line_mm, paragraph
from platecard.documents.text import guest_languages, wording
from platecard.documents.text.matrix_table import Cell, Row, Table, laws_of, table
from platecard.documents.text.wording import PRESENCE
from platecard.drawing import fonts, pdf_page
from platecard.drawing.pdf_page import Page
from platecard.drawing.scene import Group, Item, Rect, Scene, Style, Text
from platecard.drawing.signs import hatch, lines_path
from platecard.knowledge import languages, laws
from platecard.knowledge.laws import Law
from platecard.prepared import Prepared

# --------------------------------------------------------------------------- pages

_SIZE = (297.0, 210.0)
_TITLE_W = 46.0
_PT = 8.0
_WIDEST_MM = 60.0  # up to which a column is widened for what its cells say
_PAD = 0.8  # mm beside the words of a cell
_BEGIN = 60.0  # mm of room in which another table may begin on a page


class _Part(NamedTuple):
    """Some columns of the table of a law, with their widths in mm, and which part of how many it is."""

    table: Table
    columns: tuple[int, ...]
    widths: tuple[float, ...]
    said: str


def pages(menu: Sequence[Prepared], kitchen: str, mark: str, language: str = "en-GB") -> tuple[Page, ...]:
    """The matrix on A4 landscape: a table for each law, one below another, and at the end the reasons for all of them.

    Each page is drawn as soon as it is full, because all rows of a long menu together take a
    lot of memory.  Page numbers are added at the end, when the number of pages is known.
    """
    drawn = [pdf_page.page(scene) for scene in _scenes(menu, kitchen, mark, language)]
    return tuple(
        pdf_page.over(
            one, (Text(_SIZE[0] - MARGIN, MARGIN + 9, f"page {n} of {len(drawn)}", 8, "semibold", anchor="end"),)
        )
        for n, one in enumerate(drawn, 1)
    )


def _scenes(menu: Sequence[Prepared], kitchen: str, mark: str, language: str) -> Iterator[Scene]:
    in_force = laws_of(menu)
    place = menu[0].world.kitchen.settings.place if menu else ""
    head = _head(menu, kitchen, mark)
    foot = paragraph(wording.CAUTION, _SIZE[0] - 2 * MARGIN, _PT)
    line = Rect(0, -1.0, _SIZE[0] - 2 * MARGIN, 0.2, Style(fill=GREY))
    foot = Block(foot.height, (line, *foot.items))
    for items in _paginated(menu, in_force, place, language, MARGIN + head.height, foot.height):
        yield Scene(
            *_SIZE,
            (
                Rect(0, 0, *_SIZE, Style(fill=WHITE)),
                head.at(MARGIN, MARGIN),
                *items,
                foot.at(MARGIN, _SIZE[1] - MARGIN - foot.height),
            ),
            f"Allergens of the menu: {', '.join(law.name for law in in_force)}",
            language=language,
        )


def _from_memory(law: Law) -> str:
    """How many of the law's facts are on file from memory; each card says which of them decide something on it."""
    many = sum(fact.mark == laws.MEMORY for fact in laws.facts(law))
    return f"{many} of the facts of this law on file {'is' if many == 1 else 'are'} from memory." if many else ""


def _newest(menu: Sequence[Prepared]) -> str:
    """The newest day of a revision on the menu, which is the day as of which the matrix holds."""
    days = [p.dish.revision.date for p in menu if p.dish and p.dish.revision]
    return f"newest revision {max(days)}" if days else "no revisions"


def _head(menu: Sequence[Prepared], kitchen: str, mark: str) -> Block:
    """The head of every page: what it is of, its day and code, and what the marks stand for."""
    width = _SIZE[0] - 2 * MARGIN
    whose = fonts.fit(f"{kitchen} · {_newest(menu)} · code {mark}", width - 30.0, 9, "semibold")
    items: list[Item] = [
        Text(0, 5, "Allergens of the menu", 15, "bold"),
        Text(0, 9.4, whose, 9, "semibold"),
    ]
    x = width - 158.0  # where the legend begins
    for presence, wide in ((CONTAINS, 20), (MAY, 24), (UNKNOWN, 28)):
        items += _ground(presence, x, 1.4, wide, 4.6)
        colour = WHITE if presence == CONTAINS else INK
        if presence == UNKNOWN:
            items.append(Rect(x + 1.2, 2.1, wide - 2.4, 3.2, Style(fill=WHITE)))
        items.append(Text(x + wide / 2, 4.7, PRESENCE[presence], 8, "bold", anchor="middle", colour=colour))
        x += wide + 2
    items.append(Text(x, 4.7, "– not among the ingredients entered", 8, colour=INK))
    items.append(Rect(0, 10.8, width, 0.5, Style(fill=INK)))
    return Block(13.0, (Group(tuple(items), title="Allergens of the menu", role="heading"),))


def _ground(presence: Presence, x: float, y: float, w: float, h: float) -> tuple[Item, ...]:
    """What a presence looks like: a full box, a heavy outline, or a hatched box."""
    if presence == CONTAINS:
        return (Rect(x, y, w, h, Style(fill=INK)),)
    if presence == MAY:
        return (Rect(x + 0.15, y + 0.15, w - 0.3, h - 0.3, Style(fill=WHITE, stroke=INK, width=0.5)),)
    return (_hatched(x, y, w, h), Rect(x, y, w, h, Style(stroke=INK, width=0.25)))


def _hatched(x: float, y: float, w: float, h: float) -> Item:
    corners = ((x, y), (x + w, y), (x + w, y + h), (x, y + h))
    return lines_path(hatch(corners, 45.0, 1.3), Style(stroke=GREY, width=0.25))


def _parts(table: Table) -> Iterator[_Part]:
    """The table in as few parts as have room for its columns without a word broken."""
    room = _SIZE[0] - 2 * MARGIN - _TITLE_W
    least = [
        2 * _PAD + 1.0 + max(fonts.narrowest_mm(words, _PT, "bold") for words in (group, *_words_of(table, i)))
        for i, group in enumerate(table.groups)
    ]
    most = [
        2 * _PAD + 1.0 + max(fonts.width_mm(words, _PT, "bold") for words in (group, *_words_of(table, i)))
        for i, group in enumerate(table.groups)
    ]
    cut: list[list[int]] = [[]]
    many = max(1, math.ceil(sum(least) / room - 1e-9))
    for i, width in enumerate(least):
        used = sum(least[k] for k in cut[-1])
        if cut[-1] and (used + width > room or (used + width / 2 > sum(least) / many and len(cut) < many)):
            cut.append([])
        cut[-1].append(i)
    for number, columns in enumerate(cut, 1):
        # What is left over goes where cells have the most to say.
        wish = [1.0 + max(0.0, min(_WIDEST_MM, most[i]) - least[i]) for i in columns]
        more = max(0.0, room - sum(least[i] for i in columns)) / sum(wish)
        said = f", part {number} of {len(cut)}" if len(cut) > 1 else ""
        yield _Part(table, tuple(columns), tuple(least[i] + more * w for i, w in zip(columns, wish)), said)


def _words_of(table: Table, column: int) -> Iterator[str]:
    """The words that the cells of a column print."""
    for cell in (row.cells[column] for row in table.rows):
        if cell.note and not cell.said:
            yield _left_out(cell)
        for presence, words in _by_presence(cell):
            yield words if presence == cell.presence else f"{PRESENCE[presence]}: {words}"
        if cell.said or cell.note:
            yield "[0000]"  # room for its number


def _left_out(cell: Cell) -> str:
    return " and ".join(wording.LEFT_OUT[why] for why in cell.left_out) or "in it, not declared"


def _by_presence(cell: Cell) -> list[tuple[Presence, str]]:
    return [(p, ", ".join(w for w, its in cell.said if its == p)) for p in dict.fromkeys(p for _, p in cell.said)]


def _title(part: _Part, place: str, more: str) -> Block:
    """What stands above the table of a law: its name and its act, and what it asks for."""
    law, width = part.table.law, _SIZE[0] - 2 * MARGIN
    named = paragraph(f"{law.name}{part.said}{more}", width, 11.0, "bold")
    if more:
        return Block(named.height + 0.6, (Group(named.items, title=law.name, role="heading"),))
    not_read = wording.not_read(part.table.not_read)
    said = " ".join(filter(None, (f"{law.act}, {law.article}.", wording.duty(law, place), _from_memory(law), not_read)))
    below = paragraph(said, width, _PT, colour=GREY, y=named.height)
    return Block(
        named.height + below.height + 0.8, (Group((*named.items, *below.items), title=law.name, role="heading"),)
    )


def _headings(part: _Part) -> Block:
    cells = [
        paragraph(part.table.groups[i], width - _PAD, _PT, "semibold") for i, width in zip(part.columns, part.widths)
    ]
    height = max(c.height for c in cells) + 1.4
    items: list[Item] = [Rect(0, 0, _SIZE[0] - 2 * MARGIN, height, Style(fill=PALE))]
    x = _TITLE_W
    for cell, width in zip(cells, part.widths):
        items.append(cell.at(x + _PAD, height - cell.height - 0.5))
        x += width
    return Block(height + 0.6, (Group(tuple(items), role="row"),))


class _Notes:
    """The reasons, numbered as they come up; the same words have one number on all tables."""

    def __init__(self) -> None:
        self.numbers: dict[tuple[str, str], int] = {}

    def number(self, dish: str, why: str) -> str:
        """The number of a reason."""
        return str(self.numbers.setdefault((dish, why), len(self.numbers) + 1))

    def lines(self) -> list[tuple[str, str]]:
        """The dish and the words of each."""
        return [(dish, f"[{number}] {why}") for (dish, why), number in self.numbers.items()]


def _row(row: Row, revision: str, part: _Part, notes: _Notes) -> Block:
    """The row of a dish; each cell that says something refers to a reason."""
    named = fonts.printed(row.title, row.key)
    title = paragraph(named, _TITLE_W - 2, 8.5, "bold", y=0.6)
    for line in filter(None, (revision, f"code {row.code}" if row.code else "")):
        below = paragraph(line, _TITLE_W - 2, _PT, colour=GREY, y=0.6 + title.height)
        title = Block(title.height + below.height, (*title.items, *below.items))
    drawn: list[tuple[float, float, Block, Cell]] = []
    x = _TITLE_W
    for i, width in zip(part.columns, part.widths):
        cell, mark = row.cells[i], ""
        if cell.said or cell.note:
            why = [f"{word}: {why}" if word else why for word, why in cell.reasons if why]
            mark = notes.number(named, fonts.spelt_out("; ".join([*why, *([cell.note] if cell.note else [])])))
        drawn.append((x, width, _cell_block(cell, width - 1.0, mark), cell))
        x += width
    height = max([title.height + 1.2, *(b.height for _, _, b, _ in drawn)])
    items: list[Item] = [*title.items]
    for x, width, body, cell in drawn:
        if cell.presence != ABSENT:
            items += _ground(cell.presence, x + 0.3, 0.3, width - 0.6, height - 0.6)
        if cell.presence == UNKNOWN:
            items.append(Rect(x + 0.8, 0.8, width - 1.6, min(body.height, height) - 1.4, Style(fill=WHITE)))
        items.append(body.at(x + 0.5, 0))
    items.append(Rect(0, height, _SIZE[0] - 2 * MARGIN, 0.15, Style(fill=GREY)))
    return Block(height + 0.3, (Group(tuple(items), title=named, role="row"),))


def _cell_block(cell: Cell, width: float, mark: str) -> Block:
    """The words of a cell by presence, with the number of its reason in brackets at the end.

    What a cell holds beside its first presence stands in a box of its own, so that "may contain" is told at a glance
    in a full box.
    """
    number = f" [{mark}]" if mark else ""
    if not cell.said:
        if not cell.note:
            return Block(line_mm(_PT) + 1.4, (Text(width / 2, 3.4, "–", _PT, anchor="middle"),))
        # Among the ingredients, but need not be declared: never shown as if it were absent.
        part = paragraph(f"{_left_out(cell)}{number}", width - 2 * _PAD + 1.0, _PT, x=0.5, y=0.7)
        return Block(part.height + 1.4, part.items)
    items: list[Item] = []
    y = 0.7
    groups = _by_presence(cell)
    for n, (presence, words) in enumerate(groups):
        is_first = presence == cell.presence
        face = "bold" if presence == CONTAINS else "semibold"
        said = (words if is_first else f"{PRESENCE[presence]}: {words}") + (number if n == len(groups) - 1 else "")
        colour = WHITE if presence == CONTAINS else INK
        inset = 0.5 if is_first else 0.9
        part = paragraph(said, width - 2 * inset, _PT, face, colour, x=inset, y=y + (0.0 if is_first else 0.9))
        if is_first:
            y += part.height
        else:
            box = 0.3, y + 0.4, width - 0.6, part.height + 1.0
            # White under it, because the cell may be black.
            items += [Rect(*box, Style(fill=WHITE)), *_ground(presence, *box)]
            y += part.height + 1.7
        items += part.items
    return Block(y + 0.7, tuple(items))


def _paginated(
    menu: Sequence[Prepared], in_force: Sequence[Law], place: str, language: str, top: float, foot_mm: float
) -> Iterator[list[Item]]:
    """The items of each page: the tables, each under its title, then the reasons in two columns by dish."""
    bottom = _SIZE[1] - MARGIN - foot_mm - 2.6
    notes = _Notes()
    page: list[Item] = []
    y = top
    for law in in_force:
        for part in _parts(table(law, menu)):
            headings = _headings(part)
            title = _title(part, place, "")
            if page and bottom - y < max(_BEGIN, title.height + headings.height + 12.0):
                yield page
                page, y = [], top
            page += [title.at(MARGIN, y), headings.at(MARGIN, y + title.height)]
            y += title.height + headings.height
            begun = False
            for row, prepared in zip(part.table.rows, menu):
                drawn = _row(row, _revision(prepared), part, notes)
                if y + drawn.height > bottom and begun:
                    yield page
                    title = _title(part, place, column_pages.CONTINUED)
                    page = [title.at(MARGIN, top), headings.at(MARGIN, top + title.height)]
                    y = top + title.height + headings.height
                page.append(drawn.at(MARGIN, y))
                y += drawn.height
                begun = True
            y += 4.0
    column = (_SIZE[0] - 2 * MARGIN - column_pages.GAP) / 2
    rows: list[column_pages.Row] = []
    for dish, lines in _by_dish(notes.lines()):
        rows.append(column_pages.heading(f"Reasons: {dish}", column, 8.5))
        rows += [column_pages.text(line, column, _PT) for line in lines]
    world = menu[0].world if menu else None
    if world and (
        words := guest_languages.glossary(
            world.languages, languages.declared(in_force), world.tracer.taxonomy, language
        )
    ):
        rows.append(column_pages.heading("In other languages", column, 8.5))
        rows += [column_pages.text(line, column, _PT) for line in words]
    at = 0
    while at < len(rows):
        if page and bottom - y < _BEGIN / 3:
            yield page
            page, y = [], top
        dealt, after = column_pages.page_of(rows, at, bottom - y, bottom - top, not page)
        if after == at:
            yield page
            page, y = [], top
            continue
        for n, blocks in enumerate(dealt):
            page += column_pages.placed(blocks, MARGIN + n * (column + column_pages.GAP), y)
        at, y = after, bottom
    yield page


def _by_dish(lines: Iterable[tuple[str, str]]) -> list[tuple[str, list[str]]]:
    found: dict[str, list[str]] = {}
    for dish, line in lines:
        found.setdefault(dish, []).append(line)
    return list(found.items())


def _revision(prepared: Prepared) -> str:
    revision = prepared.dish.revision if prepared.dish else None
    return f"revision {revision.number}, {revision.date}" if revision else "no revision"
