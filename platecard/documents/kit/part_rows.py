"""The steps of a plate as rows of a card: what goes on, where, facing which way, and what the pass accepts.

A part that is on the plate at the pass has a filled disc, as in the diagram; one that comes
on at the table has an open, dashed one.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import NamedTuple

from platecard.documents.kit.checklist import rule
from platecard.documents.kit.sheet import INK, PALE, WHITE, Block, paragraph, paragraph_mm, unbroken
from platecard.documents.text import placement_text, wording
from platecard.drawing import fonts
from platecard.drawing.scene import Circle, Group, Item, Rect, Style, Text, shifted
from platecard.layout.footprint import Arrangement
from platecard.model import Dish, Settings, Step

SECTION = {
    "plating": "On the plate, in this order, evenly spaced unless stated. Out: centre to middle of a piece",
    "garnish": "To garnish",
    "at_table": "At the table",
}
NOT_ROUND = (
    "Clock positions are angles from the centre, 30° for each hour: 1:30 is half way between straight away and straight"
    " right, not the corner."
)
_SMALL = 8.0
_BESIDE, _TAG_MM = 2.0, 5.0  # mm between the words and a picture, and from the top of a row to below its tag
_BETWEEN = 1.2  # mm below a row
_TAG = Style(fill=PALE)
_AT_THE_PASS = Style(fill=INK, stroke=INK, width=0.35)
_AT_THE_TABLE = Style(fill=WHITE, stroke=INK, width=0.35, dash=(0.8, 0.6), cap="butt")


Picture = tuple[Block, float]  # the picture of a step, and its width in mm
Lines = tuple[tuple[str, str], ...]  # the text and the face of each line below a name


class Row(NamedTuple):
    """A row and its height in mm, which says whether it fits; it is drawn only where it is used."""

    height: float
    is_heading: bool
    draw: Callable[[], Block]


def lines_of(dish: Dish, laid: Arrangement) -> dict[int, Lines]:
    """The words of each step: where, what and facing which way, what the pass accepts."""
    found: dict[int, Lines] = {}
    for step in dish.steps:
        accepted = wording.leeway(step)
        where = wording.where(
            step,
            dish,
            laid.plate,
            placement_text.on(step, dish, laid),
            placement_text.gaps(step, laid),
            placement_text.covering(step, laid),
        )
        found[step.index] = (
            (unbroken(where), "semibold"),
            (unbroken("; ".join(w for w in (wording.what(step), wording.facing(step)) if w)), "regular"),
            (unbroken("; ".join(w for w in (f"accept {accepted}" if accepted else "", step.note) if w)), "italic"),
        )
    return found


def full(
    dish: Dish,
    numbers: dict[str, str],
    settings: Settings,
    width: float,
    laid: Arrangement,
    sizes: tuple[float, float],
    lines: Mapping[int, Lines],
    pictures: Mapping[int, Picture] | None = None,
) -> list[Row]:
    """Every step, under its section's heading; ``sizes`` are the points of a name and of the words below it.

    ``lines`` are the words of each step, from :func:`lines_of`; ``pictures`` stand beside the words of their steps.
    """
    rows: list[Row] = []
    section = ""
    for step in dish.steps:
        if step.section != section:
            head = rule(SECTION[step.section], width)
            if not section and not laid.plate.is_round:
                note = paragraph(NOT_ROUND, width, _SMALL, y=head.height)
                head = Block(head.height + note.height + 0.6, (*head.items, *note.items))
            section = step.section
            rows.append(_heading(head, SECTION[section]))
        picture = (pictures or {}).get(step.index)
        rows.append(_row(step, dish, numbers, settings, width, sizes, lines[step.index], picture))
    return rows


def _heading(head: Block, title: str) -> Row:
    return Row(head.height, True, lambda: Block(head.height, (Group(head.items, title=title, role="heading"),)))


def _tag_mm(text: str) -> float:
    """How wide a tag is."""
    return fonts.width_mm(text, _SMALL, "semibold") + 1.6


def _tag(text: str, x: float, y: float) -> tuple[Item, ...]:
    """The station that brings a part, as a small light label on the baseline ``y``."""
    return (
        Rect(x, y - 2.4, _tag_mm(text), 3.2, _TAG, radius=0.6),
        Text(x + 0.8, y, text, _SMALL, "semibold", colour=INK),
    )


def _disc(number: str, at_table: bool, size_pt: float) -> tuple[Item, ...]:
    r = 0.82 * fonts.cap_height(size_pt, "bold")
    digit = max(8.0, size_pt * (0.85 if len(number) < 2 else 0.66))
    middle = fonts.ascent(size_pt, "bold") * 0.9 - fonts.cap_height(size_pt, "bold") / 2
    return (
        Circle(r + 0.2, middle, r, _AT_THE_TABLE if at_table else _AT_THE_PASS),
        Text(
            r + 0.2,
            middle + fonts.cap_height(digit, "bold") / 2,
            number,
            digit,
            "bold",
            anchor="middle",
            colour=INK if at_table else WHITE,
        ),
    )


def _row(
    step: Step,
    dish: Dish,
    numbers: dict[str, str],
    settings: Settings,
    width: float,
    sizes: tuple[float, float],
    lines: Lines,
    picture: Picture | None = None,
) -> Row:
    name_pt, words_pt = sizes
    component = dish.component(step.put)
    name = wording.called(step.put, dish)
    station = settings.station(component.station) if component and component.station else ""
    x = 1.64 * fonts.cap_height(name_pt, "bold") + 1.8
    room = width - x
    tagged = _tag_mm(station) if station else 0.0
    heading = f"{wording.counted(step)} {name}".strip()
    title = unbroken(heading).replace("× ", "×\u00a0", 1)
    title_mm = paragraph_mm(title, room - tagged - 2, name_pt, "bold")
    beside, low = 0.0, 0.0
    if picture:
        shown, wide = picture
        beside, low = wide + _BESIDE, max(title_mm, _TAG_MM if station else 0.0) + shown.height
    foot = title_mm
    for text, face in lines:
        if text:
            foot += paragraph_mm(text, room - beside, words_pt, face)
    height = max(foot, low) + _BETWEEN

    def draw() -> Block:
        items: list[Item] = [
            *_disc(numbers.get(step.put, ""), step.at_table, name_pt),
            *paragraph(title, room - tagged - 2, name_pt, "bold", x=x).items,
        ]
        y = title_mm
        if picture:
            shown, wide = picture
            items.append(shown.at(width - wide, low - shown.height))
        for text, face in lines:
            if text:
                part = paragraph(text, room - beside, words_pt, face, x=x, y=y)
                items += part.items
                y += part.height
        tag = _tag(station, 0.0, fonts.ascent(name_pt, "bold") * 0.9) if station else ()
        items.append(shifted(tag, width - tagged, 0))
        return Block(height, (Group(tuple(items), title=heading, role="listitem"),))

    return Row(height, False, draw)
