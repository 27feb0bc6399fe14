"""The pass card: one leaf, from whose front expo checks a plate and from whose back a cook builds it.

In: a prepared dish.  Out: two pages, front and back.  What does not belong to plating (fire
times, cautions, reasons) stands on the service sheet.  Where a card does not fit on the
kitchen's paper it is drawn on the next larger one: nothing is cut, and nothing shrinks below
what can be read.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

from platecard.documents.diagram import plate
from platecard.documents.kit import allergen_block, draft_mark
from platecard.documents.kit.part_labels import UNCHANGED, Changed
from platecard.documents.kit.sheet import (
    GREY,
    INK,
    LARGER,
    MARGIN,
    SHEETS,
    WHITE,
    Block,
    largest,
    paragraph,
)
from platecard.documents.pages import card_back, card_front
from platecard.documents.pages.card_back import SideView
from platecard.documents.pages.card_front import Picture
from platecard.documents.text import wording
from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Rect, Scene, Style, Text
from platecard.layout import checks
from platecard.layout.footprint import Arrangement
from platecard.model import Dish
from platecard.prepared import Prepared, plated

FOOT = 8.4  # mm above the lower margin, for the caution


class ChangedPicture(NamedTuple):
    """How a changed plate is drawn: the regular plate as laid, the dish with its parts named anew, what is changed."""

    draw: Picture
    regular: Arrangement
    shown: Dish
    what: Changed


def compose(
    prepared: Prepared,
    numbers: dict[str, str],
    fingerprint: str,
    is_draft: bool = False,
    above: Callable[[float], Block] | None = None,
    side: SideView | None = None,
    changed: ChangedPicture | None = None,
    food: plate.Food | None = None,
) -> tuple[Scene, Scene]:
    """The front and the back of the card; ValueError if the dish could not be read or laid out.

    ``numbers`` maps component keys to their numbers; ``above`` is a block above the head of each page, for a given
    width in mm.  ``side`` draws the view from the guest's side, for plates where height matters.  ``changed`` says how
    the plate is drawn, if it is not the regular one; ``food`` is what lies on the regular one, if it is known already.
    """
    paper = prepared.world.kitchen.settings.page
    if changed is None and food is None:
        dish, arrangement = plated(prepared)
        food = plate.food_on(arrangement, dish)
    while True:
        pages = _leaf(prepared, numbers, fingerprint, is_draft, above, side, changed, food, SHEETS[paper])
        if pages is not None:
            return pages
        if paper not in LARGER:
            raise ValueError(f"the card of {prepared.key} fits on no paper")
        paper = LARGER[paper]


def _leaf(
    prepared: Prepared,
    numbers: dict[str, str],
    fingerprint: str,
    is_draft: bool,
    above: Callable[[float], Block] | None,
    side: SideView | None,
    changed: ChangedPicture | None,
    food: plate.Food | None,
    size: tuple[float, float],
) -> tuple[Scene, Scene] | None:
    """The card on paper of one size in mm, or None if it does not fit there."""
    dish, arrangement = plated(prepared)
    settings = prepared.world.kitchen.settings
    width, height = size
    across = width - 2 * MARGIN
    unknown = allergen_block.unknown_in_words(prepared.problems) if is_draft else ()
    head = _head(dish, prepared, across)
    if above is not None:
        notice = above(across)
        head = Block(notice.height + head.height, (*notice.items, head.at(0, notice.height)))
    if is_draft:
        mark = draft_mark.band(across, draft_mark.HEAD)
        head = Block(mark.height + head.height, (*mark.items, head.at(0, mark.height)))
    last = draft_mark.band(across, draft_mark.FOOT) if is_draft else Block(0.0, ())
    top = MARGIN + head.height + 2.0
    area = (MARGIN, top, across, height - top - FOOT - MARGIN - last.height - 1.0)
    faults = checks.faults(arrangement, dish) if is_draft else ()

    def regular(callouts: Mapping[str, str], one: float | None) -> Scene:
        return plate.draw(arrangement, dish, callouts=callouts, faults=faults, one=one, food=food)

    drawn = changed.draw if changed else regular
    named, laid, what = (changed.shown, changed.regular, changed.what) if changed else (dish, arrangement, UNCHANGED)
    front = card_front.compose(prepared, named, laid, numbers, area, drawn, unknown, what, food)
    if front is None:
        return None
    back = card_back.compose(
        prepared,
        dish,
        arrangement,
        numbers,
        area,
        drawn,
        side,
        front.is_declared_in_full,
        unknown,
        None if changed else food,
    )
    if back is None:
        return None
    scale = "plate at true size" if front.scale == 1 else f"plate at 1 : {1 / front.scale:.2f}"
    there = "fire times: the regular service sheet, for what is left on" if changed else _elsewhere(prepared)
    better = f" · {len(numbers)} parts: better on A4" if front.is_dense else ""
    notes = (f"{scale} · overleaf: how to build it{better}", there)
    made = []
    for number, (items, note) in enumerate(zip((front.items, back), notes), 1):
        foot = _foot(fingerprint, note, number, width, height)
        end = (last.at(MARGIN, height - MARGIN - FOOT - draft_mark.FOOT),) if is_draft else ()
        made.append(
            Scene(
                width,
                height,
                (Rect(0, 0, width, height, Style(fill=WHITE)), head.at(MARGIN, MARGIN), *items, *foot, *end),
                f"{dish.title}: pass card, {'front' if number == 1 else 'back'}",
                language=settings.language,
            )
        )
    return made[0], made[1]


def _elsewhere(prepared: Prepared) -> str:
    """What stands on the service sheet."""
    said = ["reasons"]
    said += ["fire times"] if prepared.schedule else []
    said += ["CAUTIONS"] if prepared.cautions else []
    return f"service sheet: {', '.join(reversed(said))}"


def _head(dish: Dish, prepared: Prepared, width: float) -> Block:
    settings = prepared.world.kitchen.settings
    revision = f"revision {dish.revision.number}" if dish.revision else "no revision"
    date = dish.revision.date if dish.revision else ""
    stamp = 42.0
    size = largest(dish.title, width - stamp, (21, 19, 17, 15, 13), "bold", 2)
    title = paragraph(dish.title, width - stamp, size, "bold")
    facts = [
        dish.course,
        wording.shared(dish),
        prepared.resolved.plate.called if prepared.resolved and prepared.resolved.plate else dish.plate,
    ]
    serve = dict(dish.serve)
    facts += [wording.SERVE[serve["plate"]]] if serve.get("plate") in wording.SERVE else []
    facts += [wording.FOOD[serve["food"]]] if serve.get("food") in wording.FOOD else []
    line = paragraph("  ·  ".join(f for f in facts if f), width - stamp, 9.0, "semibold", GREY, y=title.height + 0.4)
    items: list[Item] = [*title.items, *line.items]
    height = title.height + 0.4 + line.height
    if dish.menu_line:
        beside = width - stamp - fonts.width_mm(dish.title, size, "bold") - 5.0
        if beside > 30.0 and len(fonts.wrap(dish.menu_line, beside, 8.5, "italic")) <= 2:
            # Beside a short title it takes no height, which the parts below can use.
            even = next(
                w
                for k in range(9)
                if len(fonts.wrap(dish.menu_line, w := beside * (0.6 + 0.05 * k), 8.5, "italic")) <= 2
            )
            said = paragraph(dish.menu_line, even, 8.5, "italic", GREY, x=width - stamp - beside)
            items.append(said.at(0, title.height - said.height - 0.6))
        else:
            said = paragraph(dish.menu_line, width - stamp, 8.5, "italic", GREY, y=height + 0.3)
            items += said.items
            height += said.height + 0.3
    items += [
        Text(width, 4.6, revision, 12, "bold", anchor="end"),
        Text(width, 8.8, date, 9, "semibold", anchor="end", colour=GREY),
        Text(width, 12.6, fonts.fit(settings.called, stamp - 2, 8.0), 8.0, anchor="end", colour=GREY),
    ]
    height = max(height, 13.2) + 1.4
    items.append(Rect(0, height - 0.5, width, 0.5, Style(fill=INK)))
    return Block(height, (Group(tuple(items), title=dish.title, role="heading"),))


def _foot(fingerprint: str, note: str, number: int, width: float, height: float) -> tuple[Item, ...]:
    size = 8.0
    edge = f"code {fingerprint} · page {number} of 2"
    used = max(fonts.width_mm(edge, size, "semibold"), fonts.width_mm(note, size, "semibold")) + 4
    body = paragraph(wording.CAUTION, width - 2 * MARGIN - used, size, colour=INK)
    y = height - MARGIN - 6.6
    items: list[Item] = [Rect(MARGIN, y - 0.8, width - 2 * MARGIN, 0.2, Style(fill=GREY)), body.at(MARGIN, y)]
    items.append(Text(width - MARGIN, y + 2.7, edge, size, "semibold", anchor="end", colour=INK))
    items.append(Text(width - MARGIN, y + 6.0, note, size, "semibold", anchor="end", colour=INK))
    return (Group(tuple(items), title="Caution", role="note"),)
