"""The allergen matrix of the menu: a table of dishes and allergen groups for each law in force.

In: prepared dishes.  Out: pages ready to be bound, CSV and JSON texts.  "Contains", "may
contain" and "not established" differ in words, in form and in grey; every mark has a
footnote with its reason.  A dish that could not be prepared is listed as not established
and never left out.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterable, Iterator, Mapping, Sequence
from typing import NamedTuple

from platecard import fingerprint
from platecard.allergens.statement import ABSENT, Finding
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Link, Presence
from platecard.documents.kit.sheet import GREY, INK, MARGIN, PALE, WHITE, Block, line_mm, paragraph
from platecard.documents.text import guest_languages, wording
from platecard.drawing import fonts, pdf_page
from platecard.drawing.pdf_page import Page
from platecard.drawing.scene import Group, Item, Rect, Scene, Style, Text
from platecard.drawing.signs import hatch, lines_path
from platecard.knowledge import duties, languages, laws
from platecard.knowledge.laws import Law
from platecard.prepared import Prepared

_WORDS = {
    CONTAINS: "contains",
    MAY: "may contain",
    UNKNOWN: "not established",
    ABSENT: "not among the ingredients entered",
}
_RANK = {CONTAINS: 0, UNKNOWN: 1, MAY: 2, ABSENT: 3}


class Cell(NamedTuple):
    """One dish under one group of a law; ``said`` pairs each name with its presence.

    ``over`` is the source, if the group is not established only because of shared equipment.
    """

    presence: Presence
    said: tuple[tuple[str, Presence], ...]
    reasons: tuple[tuple[str, str], ...]
    note: str = ""
    left_out: tuple[str, ...] = ()
    over: str = ""


class Row(NamedTuple):
    """The line of one dish; ``code`` is the one on its card, empty if it has no card."""

    key: str
    title: str
    cells: tuple[Cell, ...]
    code: str = ""


class Table(NamedTuple):
    """The matrix of one law."""

    law: Law
    groups: tuple[str, ...]
    rows: tuple[Row, ...]


def table(law: Law, menu: Sequence[Prepared]) -> Table:
    """The table of one law, with the dishes in the order of the menu."""
    groups = _groups(law, menu)
    return Table(law, groups, tuple(_row_of(p, law, groups) for p in menu))


def _laws(menu: Sequence[Prepared]) -> tuple[Law, ...]:
    return next((p.world.laws for p in menu), ())


def _row_of(p: Prepared, law: Law, groups: tuple[str, ...]) -> Row:
    title = p.dish.title if p.dish else p.key
    statement = next((s for s in p.statements if s.law.key == law.key), None)
    if statement is None or not p.is_sound:
        cells = tuple(
            Cell(UNKNOWN, ((_WORDS[UNKNOWN], UNKNOWN),), (("", "the spec or the kitchen's library has errors"),))
            for _ in groups
        )
    else:
        cells = tuple(_cell([f for f in statement.findings if f.group == g]) for g in groups)
    return Row(p.key, title, cells, fingerprint.of(p) if p.is_sound else "")


def _groups(law: Law, menu: Sequence[Prepared]) -> tuple[str, ...]:
    """The headings of the columns; that of a mere statement only where some dish carries it."""
    told = {f.group for p in menu for s in p.statements if s.law.key == law.key for f in s.findings}
    found = [g.heading for g in law.groups if not g.is_statement or g.heading in told]
    if law.sulphites:
        after = next((i + 1 for i, g in enumerate(law.groups) if g.id == law.sulphites_after), len(found))
        found.insert(after, law.sulphites.heading)
    return tuple(dict.fromkeys(found))


def _cell(findings: list[Finding]) -> Cell:
    presence = min((f.presence for f in findings), key=_RANK.__getitem__, default=ABSENT)
    told = [f for f in findings if f.presence != ABSENT]
    said = tuple((f.in_full, f.presence) for f in sorted(told, key=lambda f: _RANK[f.presence]))
    # The same text for every group left open by equipment, so that they share one footnote.
    reasons = tuple(
        dict.fromkeys(
            (
                ("", _open_over(f))
                if f.presence == UNKNOWN and not f.is_own
                else (f.declared_as, f.note or _shortest(f.reasons))
            )
            for f in told
        )
    )
    return Cell(
        presence,
        said,
        reasons,
        "; ".join(f.note for f in findings if f.presence == ABSENT and f.note),
        tuple(dict.fromkeys(f.left_out for f in findings if f.presence == ABSENT and f.left_out)),
        next((f.over for f in told if f.presence == UNKNOWN and not f.is_own), ""),
    )


def _open_over(f: Finding) -> str:
    return f"not established over shared equipment: {f.over}"


def _shortest(reasons: tuple[tuple[Link, ...], ...]) -> str:
    # The first link is the dish, which the row already names.
    return (
        wording.chain(min(reasons, key=len)[1:]) + (f" (and {len(reasons) - 1} more)" if len(reasons) > 1 else "")
        if reasons
        else ""
    )


# --------------------------------------------------------------------------- data


def in_words(cell: Cell) -> str:
    """A cell as text for a spreadsheet: ``contains: wheat, rye; may contain: oats``."""
    parts = []
    for presence in (CONTAINS, UNKNOWN, MAY):
        words = [w for w, p in cell.said if p == presence]
        if words:
            over = f" (over shared equipment: {cell.over})" if presence == UNKNOWN and cell.over else ""
            parts.append(
                _WORDS[UNKNOWN] if words == [_WORDS[UNKNOWN]] else f"{_WORDS[presence]}: {', '.join(words)}{over}"
            )
    # A kind that the law exempts is told beside those that it declares.
    return "; ".join([*parts, *([cell.note] if cell.note else [])]) or _WORDS[ABSENT]


def as_csv(table: Table) -> str:
    """The table as CSV (RFC 4180): a row for each dish, a column for each group of the law."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["dish", "key", "code", *table.groups])
    for row in table.rows:
        writer.writerow([_harmless(x) for x in (row.title, row.key, row.code, *(in_words(c) for c in row.cells))])
    writer.writerow([wording.CAUTION])
    return out.getvalue()


def _harmless(text: str) -> str:
    """The text, with an apostrophe before it if a spreadsheet would run it as a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t") else text


def as_json(menu: Sequence[Prepared], known: Mapping[str, str] | None = None) -> Iterator[str]:
    """The whole matrix as JSON, in pieces of one dish: every finding with its GS1 code and reasons.

    ``known`` are the :func:`findings` of dishes, by their keys, as far as they have been worked out.
    """
    yield '{\n "dishes": [\n'
    for i, p in enumerate(menu):
        yield (",\n" if i else "") + ((known or {}).get(p.key) or findings(p))
    place = menu[0].world.kitchen.settings.place if menu else ""
    told = [
        {
            "law": law.key,
            "name": law.name,
            "act": law.act,
            "asks": [duties.as_data(d) for d in duties.of(law.key, place)],
        }
        for law in _laws(menu)
    ]
    yield (
        f'\n ],\n "laws": {_indented(told, " ").lstrip()},\n "caution":'
        f" {json.dumps(wording.CAUTION, ensure_ascii=False)}\n}}\n"
    )


def findings(prepared: Prepared) -> str:
    """The findings of one dish, as they stand in the JSON of the matrix."""
    return _indented(_dish_data(prepared), "  ")


def _indented(data: object, by: str) -> str:
    return by + json.dumps(data, indent=1, ensure_ascii=False).replace("\n", f"\n{by}")


def _dish_data(p: Prepared) -> dict[str, object]:
    return {
        "dish": p.key,
        "title": p.dish.title if p.dish else p.key,
        "established": p.is_sound and all(s.established for s in p.statements),
        "code": fingerprint.of(p) if p.is_sound else None,
        "revision": p.dish.revision.number if p.dish and p.dish.revision else None,
        "relies_on": list(p.statements[0].relies_on) if p.statements else [],
        "findings": [
            {
                "law": f.law,
                "group": f.group,
                "allergen": f.allergen,
                "gs1": f.gs1,
                "declared_as": f.declared_as,
                "presence": f.presence if p.is_sound else UNKNOWN,
                "level": f.level,
                "mark": f.mark,
                "on_record": bool(f.on_record),
                "note": f.note,
                "over_equipment": f.over,
                "reasons": [[link.words for link in chain] for chain in f.reasons],
            }
            for s in p.statements
            for f in s.findings
        ],
    }


# --------------------------------------------------------------------------- pages

_SIZE = (297.0, 210.0)
_TITLE_W = 46.0
_PT = 7.0


def pages(menu: Sequence[Prepared], kitchen: str, mark: str, language: str = "en-GB") -> tuple[Page, ...]:
    """The matrix on A4 landscape, law by law, with footnotes after each law's rows.

    Each page is drawn as soon as it is full, because all rows of a long menu together take a
    lot of memory.  Page numbers are added at the end, when the number of pages is known.
    """
    made: list[Page] = []
    for law in _laws(menu):
        drawn = [pdf_page.page(scene) for scene in _scenes(law, menu, kitchen, mark, language)]
        numbers = (
            Text(_SIZE[0] - MARGIN, MARGIN + 5, f"page {n} of {len(drawn)}", 8, "semibold", anchor="end")
            for n in range(1, len(drawn) + 1)
        )
        made += [pdf_page.over(one, (number,)) for one, number in zip(drawn, numbers)] if len(drawn) > 1 else drawn
    return tuple(made)


def _scenes(law: Law, menu: Sequence[Prepared], kitchen: str, mark: str, language: str) -> Iterator[Scene]:
    groups = _groups(law, menu)
    notes: list[str] = []

    def rows() -> Iterator[Block]:
        yield from (_row(_row_of(p, law, groups), notes) for p in menu)
        world = menu[0].world
        notes.extend(
            guest_languages.glossary(world.languages, languages.declared((law,)), world.tracer.taxonomy, language)
        )

    place = menu[0].world.kitchen.settings.place if menu else ""
    here = (s for p in menu for s in p.statements if s.law.key == law.key)
    not_read = wording.not_read(tuple(dict.fromkeys(words for s in here for words in s.not_read)))
    foot = paragraph(
        " ".join(
            filter(None, (wording.CAUTION, wording.duty(law, place), _from_memory(law), not_read, f"Code {mark}."))
        ),
        _SIZE[0] - 2 * MARGIN,
        _PT,
    )
    for items in _paginated(rows(), notes, _headings(groups), foot.height):
        yield Scene(
            *_SIZE,
            (
                Rect(0, 0, *_SIZE, Style(fill=WHITE)),
                *_head(law, kitchen),
                *items,
                foot.at(MARGIN, _SIZE[1] - MARGIN - foot.height),
            ),
            f"Allergens of the menu: {law.name}",
            language=language,
        )


def _from_memory(law: Law) -> str:
    """How many of the law's facts are on file from memory; each card says which of them decide something on it."""
    many = sum(fact.mark == laws.MEMORY for fact in laws.facts(law))
    return f"{many} of the facts of this law on file {'is' if many == 1 else 'are'} from memory." if many else ""


def _column_w(groups: int) -> float:
    return (_SIZE[0] - 2 * MARGIN - _TITLE_W) / groups


def _head(law: Law, kitchen: str) -> tuple[Item, ...]:
    x = _SIZE[0] - MARGIN - 112  # where the legend begins
    first, *more = fonts.wrap(f"{law.act}, {law.article}. {kitchen}", x - MARGIN - 3, 8)
    said = (first, fonts.fit(" ".join(more), x - MARGIN - 3, 8))
    items: list[Item] = [
        Text(MARGIN, MARGIN + 5, f"Allergens of the menu: {law.name}", 15, "bold"),
        *(Text(MARGIN, MARGIN + 9.2 + 3.2 * i, line, 8, colour=GREY) for i, line in enumerate(said) if line),
    ]
    for style, text, words, width in (
        (Style(fill=INK), WHITE, "contains", 20),
        (Style(fill=WHITE, stroke=INK, width=0.5), INK, "may contain", 24),
        (None, INK, "not established", 28),
    ):
        box = Rect(x, MARGIN + 6.4, width, 4.2, style or Style(fill=WHITE, stroke=INK, width=0.2))
        items.append(box)
        if style is None:
            items.append(_hatched(x, MARGIN + 6.4, width, 4.2))
            items.append(Rect(x + 1.2, MARGIN + 7.0, width - 2.4, 3.0, Style(fill=WHITE)))
        items.append(Text(x + width / 2, MARGIN + 9.4, words, 7.5, "bold", anchor="middle", colour=text))
        x += width + 2
    items.append(Text(x, MARGIN + 9.4, "– not among the", 7, colour=INK))
    items.append(Text(x, MARGIN + 12.2, "   ingredients entered", 7, colour=INK))
    return (Group(tuple(items), title=f"Allergens of the menu: {law.name}", role="heading"),)


def _hatched(x: float, y: float, w: float, h: float) -> Item:
    corners = ((x, y), (x + w, y), (x + w, y + h), (x, y + h))
    return lines_path(hatch(corners, 45.0, 1.3), Style(stroke=GREY, width=0.25))


def _headings(groups: tuple[str, ...]) -> Block:
    width = _column_w(len(groups))
    cells = [paragraph(g, width - 1.2, _PT, "semibold") for g in groups]
    height = max(c.height for c in cells) + 1.4
    items: list[Item] = [Rect(0, 0, _SIZE[0] - 2 * MARGIN, height, Style(fill=PALE))]
    for i, cell in enumerate(cells):
        items.append(cell.at(_TITLE_W + i * width + 0.6, height - cell.height - 0.5))
    return Block(height + 0.6, (Group(tuple(items), role="row"),))


def _row(row: Row, notes: list[str]) -> Block:
    """The row of a dish; each cell that says something refers to a footnote, which is added to ``notes``."""
    width = _column_w(len(row.cells))
    title = paragraph(row.title, _TITLE_W - 2, 8.5, "bold", y=0.6)
    if row.code:
        code = paragraph(f"code {row.code}", _TITLE_W - 2, _PT, colour=GREY, y=0.6 + title.height)
        title = Block(title.height + code.height, (*title.items, *code.items))
    drawn: list[tuple[float, Block, Cell]] = []
    marks: dict[str, str] = {}
    for i, cell in enumerate(row.cells):
        mark = ""
        if cell.said or cell.note:
            why = "; ".join(
                [
                    *(f"{word}: {why}" if word else why for word, why in cell.reasons if why),
                    *([cell.note] if cell.note else []),
                ]
            )
            if why not in marks:
                notes.append(f"[{len(notes) + 1}] {row.title}: {why}")
                marks[why] = str(len(notes))
            mark = marks[why]
        drawn.append((_TITLE_W + i * width, _cell_block(cell, width - 1.0, mark), cell))
    height = max([title.height + 1.2, *(b.height for _, b, _ in drawn)])
    items: list[Item] = [*title.items]
    for x, body, cell in drawn:
        if cell.presence == CONTAINS:
            items.append(Rect(x + 0.3, 0.3, width - 0.6, height - 0.6, Style(fill=INK)))
        elif cell.presence == MAY:
            items.append(Rect(x + 0.45, 0.45, width - 0.9, height - 0.9, Style(fill=WHITE, stroke=INK, width=0.5)))
        elif cell.presence == UNKNOWN:
            items += [
                _hatched(x + 0.3, 0.3, width - 0.6, height - 0.6),
                Rect(x + 0.3, 0.3, width - 0.6, height - 0.6, Style(stroke=INK, width=0.25)),
                Rect(x + 0.8, 0.8, width - 1.6, min(body.height, height) - 1.4, Style(fill=WHITE)),
            ]
        items.append(body.at(x + 0.5, 0))
    items.append(Rect(0, height, _SIZE[0] - 2 * MARGIN, 0.15, Style(fill=GREY)))
    return Block(height + 0.3, (Group(tuple(items), title=row.title, role="row"),))


def _cell_block(cell: Cell, width: float, mark: str) -> Block:
    """The words of a cell by presence, with the number of its footnote in brackets at the end."""
    number = f" [{mark}]" if mark else ""
    if not cell.said:
        if not cell.note:
            return Block(line_mm(_PT) + 1.4, (Text(width / 2, 3.4, "–", _PT, anchor="middle"),))
        # Among the ingredients, but need not be declared: never shown as if it were absent.
        part = paragraph(
            f"{' and '.join(wording.LEFT_OUT[why] for why in cell.left_out) or 'in it, not declared'}{number}",
            width - 1.0,
            _PT,
            x=0.5,
            y=0.7,
        )
        return Block(part.height + 1.4, part.items)
    items: list[Item] = []
    y = 0.7
    colour = WHITE if cell.presence == CONTAINS else INK
    groups = [(p, ", ".join(w for w, its in cell.said if its == p)) for p in dict.fromkeys(p for _, p in cell.said)]
    for n, (presence, words) in enumerate(groups):
        said = words if presence == cell.presence else f"{_WORDS[presence]}: {words}"
        part = paragraph(
            said + (number if n == len(groups) - 1 else ""),
            width - 1.0,
            _PT,
            "bold" if presence == CONTAINS else "semibold",
            colour,
            x=0.5,
            y=y,
        )
        items += part.items
        y += part.height
    return Block(y + 0.7, tuple(items))


def _paginated(rows: Iterable[Block], notes: Sequence[str], headings: Block, foot_mm: float) -> Iterator[list[Item]]:
    """The items of each page: the rows, then the ``notes`` in two columns.

    The notes are complete only when the last of the rows has been taken.
    """
    top, bottom = MARGIN + 15.0, _SIZE[1] - MARGIN - foot_mm - 1.6
    page: list[Item] = [headings.at(MARGIN, top)]
    y = top + headings.height
    for row in rows:
        if y + row.height > bottom and y > top + headings.height:
            yield page
            page = [headings.at(MARGIN, top)]
            y = top + headings.height
        page.append(row.at(MARGIN, y))
        y += row.height
    y += 2.0
    column, start = 0, y
    if bottom - y < 20.0:
        yield page
        page, y, start = [], top, top
    width = (_SIZE[0] - 2 * MARGIN - 5.0) / 2
    for text in notes:
        note = paragraph(text, width, _PT)
        if y + note.height > bottom:
            column += 1
            y = start
            if column > 1:
                yield page
                page, column, y, start = [], 0, top, top
        page.append(note.at(MARGIN + column * (width + 5.0), y))
        y += note.height + 0.4
    yield page
