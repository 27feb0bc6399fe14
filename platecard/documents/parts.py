"""The parts of a dish as rows of a card, in three degrees of detail.

Full rows are for the cook who builds the plate; brief rows and the list of names are
for expo, where a dish has too many parts for the front of its card.
"""

from __future__ import annotations

from ..drawing import fonts
from ..drawing.scene import Circle, Group, Item, Rect, Style, Text, checkbox, translate
from ..model import Dish, Plate, Settings, Step
from . import wording
from .sheet import GREY, INK, PALE, WHITE, Block, line_mm, paragraph

SECTION = {"plating": "On the plate, in this order. Out: from the centre to the middle of a piece", "garnish": "Garnish", "at_table": "At the table"}
_DISC = 2.7


def rule(text: str, width: float) -> Block:
    """A small heading with a line to the end of the column."""
    size = 7.5
    used = fonts.width_mm(text, size, "semibold") + 1.5
    y = line_mm(size)
    return Block(y + 0.6, (Text(0, y - 0.9, text, size, "semibold", colour=GREY), Rect(used, y - 1.9, max(width - used, 0.1), 0.2, Style(fill=GREY))))


def full(dish: Dish, numbers: dict[str, str], settings: Settings, width: float, plate: Plate | None = None) -> list[Block]:
    """Every step with what, where, facing and what is acceptable, under its section's heading."""
    rows: list[Block] = []
    section = ""
    for step in dish.steps:
        if step.section != section:
            section = step.section
            rows.append(rule(SECTION[section], width))
        rows.append(_row(step, dish, numbers, settings, width, True, plate))
    return rows


def brief(dish: Dish, numbers: dict[str, str], settings: Settings, width: float) -> list[Block]:
    """Every step with its count, name and what is acceptable."""
    return [_row(step, dish, numbers, settings, width, False, None) for step in dish.steps]


def cells(dish: Dish, numbers: dict[str, str], width: float, accepted: bool) -> list[Block]:
    """Counts and names in two columns read downwards, with what is acceptable if asked for."""
    cell = (width - 3.0) / 2
    made = [_cell(step, dish, numbers, cell, accepted) for step in dish.steps]
    half = (len(made) + 1) // 2
    rows = []
    for i in range(half):
        left, right = made[i], made[half + i] if half + i < len(made) else Block(0, ())
        rows.append(Block(max(left.height, right.height), (*left.items, *(translate(x, cell + 3.0, 0) for x in right.items))))
    return rows


def _called(step: Step, dish: Dish) -> str:
    component = dish.component(step.put)
    return component.called if component else step.put


def _disc(number: str) -> tuple[Item, ...]:
    return (Circle(_DISC + 0.2, 3.3, _DISC, Style(fill=WHITE, stroke=INK, width=0.35)), Text(_DISC + 0.2, 4.35, number, 8.5, "bold", anchor="middle"))


def _counted(step: Step, x: float, size: float) -> tuple[Text, float]:
    """The count as a numeral to be read at arm's length; an amount such as "45 ml" is longer and smaller."""
    text = wording.count(step)
    size = size if len(text) <= 2 else 11.0
    return Text(x, fonts.cap_height(size, "bold") + 0.6, text, size, "bold"), fonts.width_mm(text, size, "bold")


def _row(step: Step, dish: Dish, numbers: dict[str, str], settings: Settings, width: float, whole: bool, plate: Plate | None) -> Block:
    component = dish.component(step.put)
    name = _called(step, dish)
    station = settings.station(component.station) if component and component.station else ""
    numeral, used = _counted(step, 6.6, 19.0)
    x = 6.6 + max(10.0, used + 1.6)
    room = width - x
    tag = fonts.width_mm(station, 7.0, "semibold") + 2.0 if station else 0.0
    title = paragraph(name, room - tag - 1, 10.5, "bold", x=x)
    items: list[Item] = [*_disc(numbers.get(step.put, "")), numeral, *title.items]
    y = title.height
    accepted = f"accept {wording.accept(step)}" if wording.accept(step) else ""
    if whole:
        lines = [(wording.where(step, dish, plate), "semibold", INK), ("; ".join(w for w in (wording.what(step), wording.facing(step)) if w), "regular", INK),
                 ("; ".join(w for w in (accepted, step.note) if w), "italic", INK)]
    else:
        lines = [(accepted or wording.what(step), "italic", INK)]
    for text, face, colour in lines:
        if text:
            part = paragraph(text, room, 7.5, face, colour, x=x, y=y)
            items += part.items
            y += part.height
    if station:
        items += [Rect(width - tag, 0.5, tag, 3.4, Style(fill=PALE), radius=0.6), Text(width - tag / 2, 3.0, station, 7.0, "semibold", anchor="middle", colour=INK)]
    return Block(max(y, 6.4) + 1.0, (Group(tuple(items), title=f"{name}, {wording.count(step)}", role="listitem"),))


def _cell(step: Step, dish: Dish, numbers: dict[str, str], width: float, accepted: bool) -> Block:
    numeral, used = _counted(step, 6.6, 17.0 if accepted else 14.0)
    x = 6.6 + max(7.6 if accepted else 6.6, used + 1.2)
    size = 9.5 if accepted else 8.5
    title = paragraph(_called(step, dish), width - x, size, "bold", x=x, y=0.6 if accepted else 1.2)
    items: list[Item] = [*_disc(numbers.get(step.put, "")), numeral, *title.items]
    y = title.height + (0.6 if accepted else 1.2)
    bounds = wording.accept(step) if accepted else ""
    # Expo must not look for what is not on the plate yet.
    said = "; ".join(w for w in ("at the table" if step.section == "at_table" else "", f"accept {bounds}" if bounds else "") if w)
    if said:
        part = paragraph(said, width - x, 7.0, "italic", x=x, y=y)
        items += part.items
        y += part.height
    return Block(max(y, 6.0) + 0.4, (Group(tuple(items), title=f"{_called(step, dish)}, {wording.count(step)}", role="listitem"),))


def checks(dish: Dish, width: float, columns: int = 1) -> Block:
    """Expo's checks, each with a box, in one column or two."""
    if not dish.expo_checks:
        return Block(0, ())
    head = rule("Expo looks at; what is outside goes back", width)
    items: list[Item] = list(head.items)
    cell = (width - (columns - 1) * 3.0) / columns
    y = tallest = head.height
    column = 0
    for i, check in enumerate(dish.expo_checks):
        if columns > 1 and i == (len(dish.expo_checks) + 1) // 2:
            column, y = 1, head.height
        x = column * (cell + 3.0)
        part = paragraph(check, cell - 4.4, 8.0, "semibold", x=x + 4.4, y=y)
        items += [checkbox(x + 0.4, y + 0.5, 2.4), *part.items]
        y += part.height + 0.2
        tallest = max(tallest, y)
    return Block(tallest + 0.4, (Group(tuple(items), title="Expo looks at", role="list"),))
