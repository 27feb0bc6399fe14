"""The book of the menu: contents pages, then every pass card, with bookmarks.

In: the dishes of a menu, and a function that returns their cards.  Out: pages and
bookmarks to either side of each.  A dish without a sound card is not in the book; the contents say
so, so that nobody takes the gap for a dish with nothing to declare.

The contents take an even number of pages where they can, so that a book printed on both sides has each card on
one leaf: for expo in front, for the cook overleaf.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence

from platecard import fingerprint
from platecard.allergens.statement import ABSENT, Statement
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN
from platecard.documents.kit import column_pages
from platecard.documents.kit.sheet import GREY, INK, MARGIN, PAGES, Block, line_mm, paragraph
from platecard.documents.pages import card_front
from platecard.documents.text import wording
from platecard.drawing import fonts, pdf_page
from platecard.drawing.pdf_page import Page
from platecard.drawing.scene import Group, Item, Rect, Scene, Style, Text
from platecard.prepared import Prepared

_NO_CARD = "no card: not established"
_NO_FONT = "no card: no font for it"
_GROWN = (1.0, 1.15, 1.3, 1.5, 1.75, 2.0)  # how much larger than usual the contents may be set
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

    The cards are bound as they were made for the pass, with the book's page number added.  A dish whose card has no
    pages, for want of a font, is listed all the same.
    """
    cards = [(p, card_of(p)) for p in dishes if p.is_sound]
    cards = [(p, pages) for p, pages in cards if pages]
    bound = frozenset(p.key for p, _ in cards)
    # The number of contents pages does not depend on the page numbers in them.
    before = len(_contents(dishes, bound, {}, mark, volume))
    at: dict[str, int] = {}
    page = before
    for prepared, pages in cards:
        at[prepared.key] = page
        page += len(pages)
    made = [
        *map(pdf_page.page, _contents(dishes, bound, at, mark, volume)),
        *(one for _, pages in cards for one in pages),
    ]
    numbered = tuple(pdf_page.over(one, (_number(i, one.width / pdf_page.POINTS),)) for i, one in enumerate(made, 1))
    sides = (
        side
        for p, pages in cards
        for side in ((f"{_title(p)}: for expo", at[p.key]), (f"{_title(p)}: for the cook", at[p.key] + 1))[: len(pages)]
    )
    return numbered, (("Contents", 0), *sides)


def _title(prepared: Prepared) -> str:
    return fonts.printed(prepared.dish.title, prepared.key) if prepared.dish else prepared.key


def _number(page: int, width: float) -> Item:
    """The book's own page number, in the margin above the card's head."""
    return Text(width - MARGIN, MARGIN - 1.2, f"book page {page}", 8.0, "semibold", "end", GREY)


def _contents(
    dishes: Sequence[Prepared], bound: frozenset[str], at: dict[str, int], mark: str, volume: str
) -> tuple[Scene, ...]:
    settings = dishes[0].world.kitchen.settings
    size = PAGES[settings.page]
    width = size[0] - 2 * MARGIN
    said = "Allergens in short, law by law; the card says the rest. Derived from the ingredients entered."
    right = (volume or "contents", f"{len(bound)} of {len(dishes)} dishes")
    head = column_pages.heads(f"Pass cards: {settings.called}", said, right, width)
    made = []
    for grown in _GROWN:
        rows = [column_pages.Row(_line(p, p.key in bound, at.get(p.key), width, grown)) for p in dishes]
        made.append(
            column_pages.pages(
                head,
                [(width, rows)],
                size,
                f"Pass cards: {settings.called}",
                ("contents", f"code {mark}"),
                settings.language,
            )
        )
        if len(made[-1]) % 2 == 0:
            return made[-1]
    return made[0]


def _line(prepared: Prepared, is_bound: bool, page: int | None, width: float, grown: float) -> Block:
    """One dish of the contents: title, revision, pages and what each law declares, or that there is no card."""
    dish = prepared.dish
    title = _title(prepared)
    revision = f"revision {dish.revision.number}, {dish.revision.date}" if dish and dish.revision else ""
    code = f"code {fingerprint.of(prepared)}" if prepared.is_sound else ""
    # Takes the same room whether the page numbers are known yet or not.
    where = (
        _NO_CARD
        if not prepared.is_sound
        else _NO_FONT
        if not is_bound
        else f"expo {page + 1}, cook {page + 2}"
        if page is not None
        else "expo 0000, cook 0000"
    )
    small = 8.0 * min(grown, 1.3)
    edge = [(where, 10.0 * grown, "bold"), *((said, small, "semibold") for said in (revision, code) if said)]
    aside = (
        max(fonts.width_mm(said, size, face) for said, size, face in ((_NO_CARD, 10.0 * grown, "bold"), *edge)) + 4.0
    )
    items: list[Item] = []
    y = 0.6
    for said, size, face in edge:
        items.append(Text(width, y + 0.9 * fonts.ascent(size, face), said, size, face, "end", INK if y < 1 else GREY))
        y += line_mm(size)
    named = paragraph(
        title, width - aside, 11.0 * grown, "bold", y=0.6, language=prepared.world.kitchen.settings.language
    )
    items += named.items
    low = 0.6 + named.height
    for line, face in _declared(prepared):
        part = paragraph(line, width - aside, 8.5 * grown, face, y=low)
        items += part.items
        low += part.height
    height = max(low, y) + 1.6
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
