"""What expo checks, each with a box, under the rule that holds for the whole plate."""

from __future__ import annotations

from platecard.documents.kit.sheet import GREY, Block, paragraph, unbroken
from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Rect, Style
from platecard.drawing.signs import checkbox
from platecard.model import Dish

HEAD_PT = 8.5
RULE = "Counts are exact unless stated. A plate outside what is accepted goes back."


def rule(text: str, width: float, size_pt: float = HEAD_PT) -> Block:
    """A small heading, with a rule to the end of the column if there is room beside it."""
    part = paragraph(text, width, size_pt, "semibold", GREY)
    items: list[Item] = list(part.items)
    used = fonts.width_mm(text, size_pt, "semibold") + 1.5
    if used < width - 2.0:
        items.append(Rect(used, 0.55 * part.height, width - used, 0.2, Style(fill=GREY)))
    return Block(part.height + 0.5, tuple(items))


def block(dish: Dish, width: float, size_pt: float, common: str = "") -> Block:
    """The checks, ``width`` mm wide; ``common`` is what expo lets pass of every part alike."""
    said = paragraph(RULE, width, HEAD_PT, "semibold", GREY)
    items: list[Item] = list(said.items)
    y = said.height + 0.4
    if common:
        every = paragraph(unbroken(f"Every part: {common}"), width, size_pt, y=y)
        items += every.items
        y += every.height + 0.3
    box = 0.85 * fonts.ascent(size_pt)
    for check in dish.expo_checks:
        part = paragraph(check, width - box - 2.0, size_pt, "semibold", x=box + 2.0, y=y)
        items += [checkbox(0.3, y + 0.12 * box + 0.3, box), *part.items]
        y += part.height + 0.5
    return Block(y, (Group(tuple(items), title="Expo checks", role="list"),))
