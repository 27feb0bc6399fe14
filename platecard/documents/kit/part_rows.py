"""The parts of a dish as rows of a card, in three levels of detail.

Full rows are for the cook who builds the plate.  Brief rows and cells are for expo, if a
dish has too many parts for the front of its card.  A part that is on the plate at the pass
has a filled disc, as in the diagram; one that comes on at the table has an open, dashed one.
"""

from __future__ import annotations

from collections.abc import Callable

from platecard.documents.kit.sheet import GREY, INK, PALE, WHITE, Block, hanging, line_mm, paragraph, unbroken
from platecard.documents.text import placement_text, wording
from platecard.drawing import fonts
from platecard.drawing.scene import Circle, Group, Item, Rect, Style, Text, shifted
from platecard.drawing.signs import checkbox
from platecard.layout.footprint import Arrangement
from platecard.model import Dish, Plate, Settings, Step

SECTION = {
    "plating": "On the plate, in this order. Out: from the centre to the middle of a piece",
    "garnish": "Garnish",
    "at_table": "At the table",
}
NOT_ROUND = (
    "Clock positions are angles from the centre, 30° for each hour: 1:30 is half way between straight away and straight"
    " right, not the corner."
)
AT_TABLE = "At the table, not at the pass"
# How much a list of parts says: how to build each part and what is acceptable; what is acceptable; only what goes
# beyond an exact count; only counts that may vary; only names.
WHOLE, EACH, LEEWAY, COUNTS, NAMES = 5, 4, 3, 2, 1
_SMALL = 7.0
_GAP = 1.6  # mm between two columns
_BETWEEN = 1.0  # mm below a row


def rule(text: str, width: float) -> Block:
    """A small heading with a rule to the end of the column."""
    size = 7.5
    used = fonts.width_mm(text, size, "semibold") + 1.5
    y = line_mm(size)
    return Block(
        y + 0.6,
        (
            Text(0, y - 0.9, text, size, "semibold", colour=GREY),
            Rect(used, y - 1.9, max(width - used, 0.1), 0.2, Style(fill=GREY)),
        ),
    )


def full(
    dish: Dish,
    numbers: dict[str, str],
    settings: Settings,
    width: float,
    plate: Plate | None = None,
    laid: Arrangement | None = None,
) -> list[Block]:
    """Every step with what, where, facing and what is acceptable, under its section's heading.

    ``laid`` adds which pieces lie on which, and how wide the gaps are.
    """
    rows: list[Block] = []
    section = ""
    for step in dish.steps:
        if step.section != section:
            head = rule(SECTION[step.section], width)
            if not section and plate is not None and not plate.is_round:
                note = paragraph(NOT_ROUND, width, _SMALL, y=head.height)
                head = Block(head.height + note.height + 0.6, (*head.items, *note.items))
            section = step.section
            rows.append(head)
        rows.append(_row(step, dish, numbers, settings, width, True, plate, laid))
    return rows


def least_mm(dish: Dish, is_full: bool) -> float:
    """A lower bound in mm for the height of :func:`full` or :func:`brief`, found without setting any text."""
    lines = sum(3 if s.piece is not None else 2 for s in dish.steps) if is_full else len(dish.steps)
    return lines * line_mm(7.5) + len(dish.steps) * (line_mm(10.5) + _BETWEEN)


def brief(dish: Dish, numbers: dict[str, str], settings: Settings, width: float) -> list[Block]:
    """Every step with its count, name and what is acceptable; what comes on at the table is set apart."""
    rows: list[Block] = []
    for step in dish.steps:
        if step.section == "at_table" and not any(s.section == "at_table" for s in dish.steps if s.index < step.index):
            rows.append(rule(AT_TABLE, width))
        rows.append(_row(step, dish, numbers, settings, width, False, None, None))
    return rows


def cells(
    dish: Dish, numbers: dict[str, str], settings: Settings, width: float, size_pt: float, says: int = LEEWAY
) -> list[Block]:
    """Counts and names in two columns read downwards, each with its station and what is acceptable.

    What comes on at the table stands at the end, under its own heading.  ``says`` is LEEWAY,
    COUNTS or NAMES.
    """
    rows: list[Block] = []
    lets_pass = wording.counts if says == COUNTS or _common(dish) else wording.margin
    for at_table in (False, True):
        steps = [s for s in dish.steps if (s.section == "at_table") is at_table]
        if at_table and steps:
            rows.append(rule(AT_TABLE, width))
        if at_table and len(steps) == 1:
            rows.append(_cell(steps[0], dish, numbers, settings, width, size_pt, says, lets_pass))
            continue
        made = [_cell(step, dish, numbers, settings, (width - _GAP) / 2, size_pt, says, lets_pass) for step in steps]
        half = (len(made) + 1) // 2
        for i in range(half):
            left, right = made[i], made[half + i] if half + i < len(made) else Block(0, ())
            rows.append(Block(max(left.height, right.height), (*left.items, right.at((width + _GAP) / 2, 0))))
    return rows


def name_lines(dish: Dish, width: float, size_pt: float) -> int:
    """How many lines the names in :func:`cells` take in total."""
    room = (width - _GAP) / 2 - _name_at(size_pt)
    return sum(len(fonts.wrap(_called(step, dish), room, size_pt, "bold")) for step in dish.steps)


def _large(size_pt: float) -> float:
    """The size of a count beside a name of ``size_pt``."""
    return max(14.0, 1.4 * size_pt)


def _name_at(size_pt: float) -> float:
    """Where names start, in mm: aligned, whether a count has one digit or two."""
    return 5.6 + fonts.width_mm("00", _large(size_pt), "bold") + 1.0


def _called(step: Step, dish: Dish) -> str:
    component = dish.component(step.put)
    return component.called if component else step.put


def _station(step: Step, dish: Dish, settings: Settings) -> str:
    component = dish.component(step.put)
    return settings.station(component.station) if component and component.station else ""


_TAG = Style(fill=PALE)
_AT_THE_PASS, _AT_THE_TABLE = (
    Style(fill=INK, stroke=INK, width=0.35),
    Style(fill=WHITE, stroke=INK, width=0.35, dash=(0.8, 0.6), cap="butt"),
)


def _tag(text: str, x: float, y: float) -> tuple[tuple[Item, ...], float]:
    """The station that brings a part, as a small light label on the baseline ``y``, and its width in mm."""
    width = fonts.width_mm(text, _SMALL, "semibold") + 1.6
    return (
        Rect(x, y - 2.1, width, 2.8, _TAG, radius=0.6),
        Text(x + 0.8, y, text, _SMALL, "semibold", colour=INK),
    ), width


def _disc(number: str, at_table: bool, r: float = 2.7) -> tuple[Item, ...]:
    style = _AT_THE_TABLE if at_table else _AT_THE_PASS
    return (
        Circle(r + 0.2, r + 0.4, r, style),
        Text(
            r + 0.2,
            r + (1.45 if r > 2.5 else 1.4),
            number,
            8.5 if r > 2.5 else 8.0,
            "bold",
            anchor="middle",
            colour=INK if at_table else WHITE,
        ),
    )


def _counted(step: Step, x: float, size: float) -> tuple[tuple[Text, ...], float, float]:
    """The count as a numeral legible at arm's length, an amount with its unit below; width and depth in mm."""
    text = wording.count(step)
    number, _, unit = text.rpartition(" ")
    if not 0 < len(number or text) <= 3:
        number, unit, size = text, "", 11.0
    y = fonts.cap_height(size, "bold") + 0.6
    wide = fonts.width_mm(number or text, size, "bold")
    if not number or not unit:
        return (Text(x, y, text, size, "bold"),), wide, y
    # The unit is large, so that five grams are not mistaken for five pieces.
    return (
        (Text(x, y, number, size, "bold"), Text(x, y + 3.3, unit, 10.0, "bold")),
        max(wide, fonts.width_mm(unit, 10.0, "bold")),
        y + 3.9,
    )


def _row(
    step: Step,
    dish: Dish,
    numbers: dict[str, str],
    settings: Settings,
    width: float,
    whole: bool,
    plate: Plate | None,
    laid: Arrangement | None,
) -> Block:
    name = _called(step, dish)
    station = _station(step, dish, settings)
    numeral, used, deep = _counted(step, 6.6, 19.0)
    x = 6.6 + max(10.0, used + 1.6)
    room = width - x
    tag, tagged = _tag(station, 0.0, 3.0) if station else ((), 0.0)
    title = paragraph(name, room - tagged - 2, 10.5, "bold", x=x)
    items: list[Item] = [*_disc(numbers.get(step.put, ""), step.section == "at_table"), *numeral, *title.items]
    y = title.height
    accepted = f"accept {wording.accept(step)}" if wording.accept(step) else ""
    if whole:
        on, gaps = (
            (placement_text.on(step, dish, laid), placement_text.gaps(step, laid)) if laid is not None else ("", "")
        )
        lines = [
            (wording.where(step, dish, plate, on, gaps), "semibold", INK),
            ("; ".join(w for w in (wording.what(step), wording.facing(step)) if w), "regular", INK),
            ("; ".join(w for w in (accepted, step.note) if w), "italic", INK),
        ]
    else:
        lines = [("; ".join(w for w in (wording.poured(step), accepted) if w) or wording.what(step), "italic", INK)]
    for text, face, colour in lines:
        if text:
            part = paragraph(unbroken(text), room, 7.5, face, colour, x=x, y=y)
            items += part.items
            y += part.height
    items.append(shifted(tag, width - tagged, 0))
    return Block(
        max(y, deep, 6.4) + _BETWEEN, (Group(tuple(items), title=f"{name}, {wording.count(step)}", role="listitem"),)
    )


def _cell(
    step: Step,
    dish: Dish,
    numbers: dict[str, str],
    settings: Settings,
    width: float,
    size: float,
    says: int,
    lets_pass: Callable[[Step], str],
) -> Block:
    is_bare = says == NAMES
    numeral, used, deep = _counted(step, 5.6, _large(size))
    x = max(_name_at(size), 5.6 + used + 1.0)
    title = paragraph(_called(step, dish), width - x, size, "bold", x=x, y=0.9 if is_bare else 0.0)
    items: list[Item] = [*_disc(numbers.get(step.put, ""), step.section == "at_table", 2.35), *numeral, *title.items]
    y = title.height + (0.9 if is_bare else 0.0)
    if not is_bare:
        # The second line is set close under the name, so that the two are read together.
        y -= 0.4
        station = _station(step, dish, settings)
        tag, tagged = _tag(station, x, y + fonts.ascent(_SMALL) * 0.9) if station else ((), 0.0)
        items += tag
        said = "; ".join(w for w in (wording.poured(step) if size >= 10.0 else "", lets_pass(step)) if w)
        if said:
            part = hanging(unbroken(said), width - x, tagged + 1.2 if tagged else 0.0, _SMALL, "italic", x=x, y=y)
            items += part.items
            y += part.height
        elif station:
            y += line_mm(_SMALL)
    return Block(
        max(y, deep, 5.8) + 0.15,
        (Group(tuple(items), title=f"{_called(step, dish)}, {wording.count(step)}", role="listitem"),),
    )


def _common(dish: Dish) -> str:
    """What expo accepts of every part alike besides its count, to be said once; empty if the parts differ."""
    said = {wording.leeway(s) for s in dish.steps}
    return said.pop() if len(said) == 1 and len(dish.steps) > 1 else ""


def _heading(dish: Dish, says: int) -> str:
    """The heading of expo's list, with what holds for all parts above it."""
    if says >= EACH:
        return "Expo checks; what is outside goes back"
    if says == NAMES:
        return "Expo checks; what else is acceptable: overleaf"
    back = "what is outside goes back" if says == LEEWAY else "any other leeway: overleaf"
    return f"{'Expo: counts' if dish.expo_checks else 'Counts'} exact unless stated; {back}"


def checks(dish: Dish, width: float, columns: int = 1, says: int = EACH) -> Block:
    """Expo's checks, each with a box, in one column or two; with 0 columns, one after another on shared lines.

    ``says`` is how much the parts above say about what is acceptable; what holds for all of
    them is said here.
    """
    if not dish.expo_checks and (says >= EACH or says == NAMES):
        return Block(0, ())
    words = _heading(dish, says)
    head = rule(words, width)
    items: list[Item] = list(head.items)
    top = head.height
    if says == LEEWAY and (common := _common(dish)):
        every = paragraph(unbroken(f"Every part: {common}"), width, 7.5, "italic", y=top)
        items += every.items
        top += every.height
    y = _in_columns(dish, width, columns, items, top) if columns else _in_lines(dish, width, items, top)
    return Block(y + 0.4, (Group(tuple(items), title="Expo checks", role="list"),))


def _in_columns(dish: Dish, width: float, columns: int, items: list[Item], top: float) -> float:
    """Add the checks to ``items`` in columns; return where the longest one ends."""
    cell = (width - (columns - 1) * 3.0) / columns
    y = tallest = top
    column = 0
    for i, check in enumerate(dish.expo_checks):
        if columns > 1 and i == (len(dish.expo_checks) + 1) // 2:
            column, y = 1, top
        x = column * (cell + 3.0)
        part = paragraph(check, cell - 4.4, 8.0, "semibold", x=x + 4.4, y=y)
        items += [checkbox(x + 0.4, y + 0.5, 2.4), *part.items]
        y += part.height + 0.2
        tallest = max(tallest, y)
    return tallest


def _in_lines(dish: Dish, width: float, items: list[Item], top: float) -> float:
    """Add each check to ``items`` after the one before if it fits whole on the line; return where they end."""
    size, x, y, high = 7.5, 0.0, top, line_mm(7.5)
    for check in dish.expo_checks:
        long = fonts.width_mm(check, size, "semibold") + 3.6
        if x and x + long > width:
            x, y = 0.0, y + high
        part = paragraph(check, width - 3.6, size, "semibold", x=x + 3.6, y=y)
        items += [checkbox(x + 0.3, y + 0.4, 2.3), *part.items]
        x += long + 2.4
        if part.height > high + 1e-6:
            x, y = 0.0, y + part.height
    return y + (high if x else 0.0)
