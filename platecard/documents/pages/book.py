"""The book of the menu: contents pages, then every pass card, with bookmarks.

In: the dishes of a menu, and a function that returns their cards.  Out: pages and
bookmarks.  A dish without a sound card is not in the book; the contents say so, so that
nobody takes the gap for a dish with nothing to declare.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from platecard import fingerprint
from platecard.allergens.statement import ABSENT, Statement
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN
from platecard.documents.kit import column_pages
from platecard.documents.kit.sheet import GREY, MARGIN, PAGES, Block, paragraph
from platecard.documents.pages import card_front
from platecard.documents.text import wording
from platecard.drawing import fonts, pdf_page
from platecard.drawing.pdf_page import Page
from platecard.drawing.scene import Group, Item, Rect, Scene, Style, Text
from platecard.prepared import Prepared

MOST = 50  # dishes in one volume: nobody leafs through more


def volumes(menu: Sequence[Prepared]) -> tuple[tuple[Prepared, ...], ...]:
    """The dishes of each volume, in the order of the menu."""
    return tuple(tuple(menu[i : i + MOST]) for i in range(0, len(menu), MOST))


def names(menu: Sequence[Prepared]) -> tuple[str, ...]:
    """The file name of each volume."""
    return tuple(f"pass-cards{f'-{n}' if n > 1 else ''}.pdf" for n in range(1, len(volumes(menu)) + 1))


def compose(
    dishes: Sequence[Prepared], card_of: Callable[[Prepared], tuple[Page, ...]], mark: str, volume: str = ""
) -> tuple[tuple[Page, ...], tuple[tuple[str, int], ...]]:
    """One volume: its pages, and (title, page index) for each bookmark; ``volume`` reads like "volume 1 of 2".

    The cards are bound as they were made for the pass, with the book's page number added.
    """
    cards = [(p, card_of(p)) for p in dishes if p.is_sound]
    # The number of contents pages does not depend on the page numbers in them.
    before = len(_contents(dishes, {}, mark, volume))
    at: dict[str, int] = {}
    page = before
    for prepared, pages in cards:
        at[prepared.key] = page
        page += len(pages)
    made = [*map(pdf_page.page, _contents(dishes, at, mark, volume)), *(one for _, pages in cards for one in pages)]
    numbered = tuple(pdf_page.over(one, (_number(i, one.width / pdf_page.POINTS),)) for i, one in enumerate(made, 1))
    return numbered, (("Contents", 0), *((_title(p), at[p.key]) for p, _ in cards))


def _title(prepared: Prepared) -> str:
    return prepared.dish.title if prepared.dish else prepared.key


def _number(page: int, width: float) -> Item:
    """The book's own page number, in the margin above the card's head."""
    return Text(width - MARGIN, MARGIN - 1.2, f"book page {page}", 8.0, "semibold", "end", GREY)


def _contents(dishes: Sequence[Prepared], at: dict[str, int], mark: str, volume: str) -> tuple[Scene, ...]:
    settings = dishes[0].world.kitchen.settings
    size = PAGES[settings.page]
    width = size[0] - 2 * MARGIN
    said = "Allergens in short, law by law; the card says the rest. Derived from the ingredients entered."
    right = (volume or "contents", f"{sum(p.is_sound for p in dishes)} of {len(dishes)} dishes")
    head = column_pages.head(f"Pass cards: {settings.called}", said, right, width)
    rows = [column_pages.Row(_line(p, at.get(p.key), width)) for p in dishes]
    return column_pages.pages(
        head, [(width, rows)], size, f"Pass cards: {settings.called}", ("contents", f"code {mark}"), settings.language
    )


def _line(prepared: Prepared, page: int | None, width: float) -> Block:
    """One dish of the contents: title, revision, page and what each law declares, or that there is no card."""
    dish = prepared.dish
    title = _title(prepared)
    revision = f"revision {dish.revision.number}, {dish.revision.date}" if dish and dish.revision else ""
    code = f"code {fingerprint.of(prepared)}" if prepared.is_sound else ""
    # Takes the same room whether the page number is known yet or not.
    where = (
        "no card: not established" if not prepared.is_sound else f"page {page + 1}" if page is not None else "page 0000"
    )
    edge = (
        max(fonts.width_mm("no card: not established", 10.0, "bold"), fonts.width_mm(revision, 8.0, "semibold")) + 4.0
    )
    named = paragraph(title, width - edge, 11.0, "bold", y=0.6)
    items: list[Item] = [*named.items, Text(width, 4.2, where, 10.0, "bold", "end")]
    if revision:
        items.append(Text(width, 8.0, revision, 8.0, "semibold", "end", GREY))
    if code:
        items.append(Text(width, 11.4 if revision else 8.0, code, 8.0, "semibold", "end", GREY))
    y = 0.6 + named.height
    for line, face in _declared(prepared):
        part = paragraph(line, width - edge, 8.5, face, y=y)
        items += part.items
        y += part.height
    height = max(y, 12.2 if revision and code else 8.8) + 1.6
    items.append(Rect(0, height - 0.6, width, 0.2, Style(fill=GREY)))
    return Block(height, (Group(tuple(items), title=title, role="listitem"),))


def _declared(prepared: Prepared) -> list[tuple[str, str]]:
    if not prepared.is_sound:
        return [("Not established: do not serve until its errors are put right.", "semibold")]
    return [(f"{s.law.name}: {_short(s)}", "regular") for s in card_front.declarations(prepared)]


def _short(statement: Statement) -> str:
    """What a law declares, in short: ``contains wheat, milk; may contain celery``."""
    said = []
    for presence, word in ((CONTAINS, "contains"), (UNKNOWN, "not established:"), (MAY, "may contain")):
        if found := statement.with_presence(presence):
            named = ", ".join(f.in_full for f in found)
            is_everything = presence == UNKNOWN and statement.all_open
            said.append(f"{word} {'every other group, over shared equipment' if is_everything else named}")
    said += [
        f"{wording.LEFT_OUT[f.left_out]}: {f.declared_as} ({f.in_short})"
        for f in statement.with_presence(ABSENT)
        if f.left_out in ("exempt", "perhaps exempt")
    ]
    said += [
        f"{wording.LEFT_OUT['limit']}: {f.declared_as}"
        for f in statement.with_presence(ABSENT)
        if f.left_out == "limit"
    ]
    return "; ".join(said) or f"no group of {wording.these(statement)} among the ingredients entered"
