"""The pass card: what a cook builds the plate from and expo checks it by.

In: a prepared dish and the scene of its plate in true millimetres.  Out: pages.
Landscape paper has the diagram on the left and the parts on the right; upright
paper has it on top.  What does not fit flows onto a second page; nothing shrinks
below :data:`~platecard.documents.sheet.SMALLEST_PT`.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..drawing import fonts
from ..drawing.scene import Circle, Group, Item, Polygon, Rect, Scene, Style, Text, checkbox, transform, translate
from ..model import Dish, Step
from ..pipeline import Prepared
from . import allergen_block, wording
from .sheet import GREY, INK, MARGIN, PAGES, PALE, WHITE, Block, largest, line_mm, paragraph

GUTTER = 5.0
FOOT = 8.6
SECTION = {"plating": "On the plate, in this order", "garnish": "Garnish", "at_table": "At the table"}


@dataclass(frozen=True, slots=True)
class Frame:
    """A column of a page: left, top, width, height in mm."""

    x: float
    y: float
    w: float
    h: float


def compose(prepared: Prepared, plate: Scene, numbers: dict[str, str], fingerprint: str, is_draft: bool = False) -> tuple[Scene, ...]:
    """The pages of the card.  ``numbers``: component key → the number of its callout."""
    dish = prepared.dish
    settings = prepared.world.kitchen.settings
    width, height = PAGES[settings.page]
    unknown = allergen_block.unknown_in_words(prepared.problems) if is_draft else ()
    head = _head(dish, prepared, width - 2 * MARGIN)
    top = MARGIN + head.height + 2.0
    room = height - top - FOOT - MARGIN + 2.0
    if width > height:
        side = min(room, (width - 2 * MARGIN) * 0.56)
        left, right = Frame(MARGIN, top, side, room), Frame(MARGIN + side + GUTTER, top, width - 2 * MARGIN - side - GUTTER, room)
    else:
        side = min((width - 2 * MARGIN), room * 0.5)
        left = Frame(MARGIN, top, width - 2 * MARGIN, side)
        right = Frame(MARGIN, top + side + 3, width - 2 * MARGIN, room - side - 3)
    rows = _rows(dish, prepared, numbers, right.w)
    checks = _checks(dish, right.w)
    declared = allergen_block.block(prepared.statements, right.w, unknown=unknown)
    pages = _flow(rows, checks, declared, left, right, plate, Frame(MARGIN, top, width - 2 * MARGIN, room))
    scale_note = _scale_note(left, plate)
    made = []
    for number, items in enumerate(pages, 1):
        foot = _foot(dish, prepared, fingerprint, scale_note if number == 1 else "", number, len(pages), width, height)
        struck = _struck(width, height) if is_draft else ()
        paper = Rect(0, 0, width, height, Style(fill=WHITE))
        made.append(Scene(width, height, (paper, *_placed(head, MARGIN, MARGIN), *items, *foot, *struck), f"{dish.title}: pass card", language=settings.language))
    return tuple(made)


def _placed(block: Block, x: float, y: float) -> tuple[Item, ...]:
    return tuple(translate(i, x, y) for i in block.items)


# --------------------------------------------------------------------------- head and foot


def _head(dish: Dish, prepared: Prepared, width: float) -> Block:
    settings = prepared.world.kitchen.settings
    revision = f"revision {dish.revision.number}" if dish.revision else "no revision"
    date = dish.revision.date if dish.revision else ""
    stamp = 38.0
    size = largest(dish.title, width - stamp, (21, 19, 17, 15, 13), "bold", 2)
    title = paragraph(dish.title, width - stamp, size, "bold")
    facts = [dish.course, prepared.resolved.plate.called if prepared.resolved and prepared.resolved.plate else dish.plate]
    serve = dict(dish.serve)
    facts += [wording.SERVE[serve["plate"]]] if serve.get("plate") in wording.SERVE else []
    facts += [f"food {serve['food']}"] if "food" in serve else []
    line = paragraph("  ·  ".join(f for f in facts if f), width - stamp, 8.5, "semibold", GREY, y=title.height + 0.4)
    items: list[Item] = [*title.items, *line.items]
    height = title.height + 0.4 + line.height
    if dish.menu_line:
        said = paragraph(dish.menu_line, width - stamp, 8.5, "italic", GREY, y=height + 0.3)
        items += said.items
        height += said.height + 0.3
    items += [Text(width, 4.6, revision, 12, "bold", anchor="end"), Text(width, 8.8, date, 9, "semibold", anchor="end", colour=GREY),
              Text(width, 12.4, fonts.fit(settings.called, stamp - 2, 7.5), 7.5, anchor="end", colour=GREY)]
    height = max(height, 13.0) + 1.4
    items.append(Rect(0, height - 0.5, width, 0.5, Style(fill=INK)))
    return Block(height, (Group(tuple(items), title=dish.title, role="heading"),))


def _foot(dish: Dish, prepared: Prepared, fingerprint: str, scale_note: str, number: int, count: int, width: float, height: float) -> tuple[Item, ...]:
    right = [f"made from {fingerprint}"] + ([f"page {number} of {count}"] if count > 1 else [])
    edge = " · ".join(right)
    used = fonts.width_mm(edge, 7.0) + 4
    body = paragraph(wording.CAUTION, width - 2 * MARGIN - used, 7.0, colour=INK)
    y = height - MARGIN - 6.2
    items: list[Item] = [Rect(MARGIN, y - 0.6, width - 2 * MARGIN, 0.2, Style(fill=GREY)), *_placed(body, MARGIN, y)]
    items.append(Text(width - MARGIN, y + 2.5, edge, 7.0, "semibold", anchor="end", colour=INK))
    if scale_note:
        items.append(Text(width - MARGIN, y + 5.4, scale_note, 7.0, anchor="end", colour=GREY))
    return (Group(tuple(items), title="Caution", role="note"),)


def _struck(width: float, height: float) -> tuple[Item, ...]:
    """DRAFT across the page, so that nobody takes it for a card."""
    red = "#a01818"
    size = 64.0
    half = fonts.width_mm("DRAFT", size, "bold") / 2 + 4
    tall = fonts.cap_height(size, "bold")
    cx, cy = width / 2, height / 2
    line = Style(stroke=red, width=1.6)
    return (Group((Polygon(((MARGIN, MARGIN), (width - MARGIN, height - MARGIN)), line, closed=False),
                   Polygon(((MARGIN, height - MARGIN), (width - MARGIN, MARGIN)), line, closed=False),
                   Rect(cx - half, cy - tall / 2 - 4, 2 * half, tall + 8, Style(fill=WHITE, stroke=red, width=1.6)),
                   Text(cx, cy + tall / 2, "DRAFT", size, "bold", anchor="middle", colour=red)), title="Draft", role="note"),)


# --------------------------------------------------------------------------- the parts


def _rows(dish: Dish, prepared: Prepared, numbers: dict[str, str], width: float) -> list[Block]:
    rows: list[Block] = []
    section = ""
    for step in dish.steps:
        if step.section != section:
            section = step.section
            rows.append(_rule(SECTION[section], width))
        rows.append(_row(step, dish, prepared, numbers.get(step.put, ""), width))
    return rows


def _rule(text: str, width: float) -> Block:
    size = 7.5
    used = fonts.width_mm(text, size, "semibold") + 1.5
    y = line_mm(size)
    return Block(y + 0.8, (Text(0, y - 0.9, text, size, "semibold", colour=GREY), Rect(used, y - 1.9, max(width - used, 0.1), 0.2, Style(fill=GREY))))


def _row(step: Step, dish: Dish, prepared: Prepared, number: str, width: float) -> Block:
    """One step: callout number, count as a large numeral, name and station, what, where, what is acceptable."""
    component = dish.component(step.put)
    name = component.called if component else step.put
    station = prepared.world.kitchen.settings.station(component.station) if component and component.station else ""
    counted = wording.count(step)
    # A count is a numeral to be read at arm's length; an amount such as "45 ml" is longer and smaller.
    numeral = 19.0 if len(counted) <= 2 else 12.0
    left = 6.6
    body_x = left + max(11.0, fonts.width_mm(counted, numeral, "bold") + 2.0)
    body_w = width - body_x
    tag_w = fonts.width_mm(station, 7.0, "semibold") + 2.0 if station else 0.0
    title = paragraph(name, body_w - tag_w - 1, 10.5, "bold", x=body_x)
    items: list[Item] = [*title.items]
    y = title.height
    side = step.facing.text
    for text, face, colour in ((wording.what(step), "regular", INK), (wording.where(step, dish), "semibold", INK), (side, "regular", INK),
                               (f"accept {wording.accept(step)}" if wording.accept(step) else "", "italic", GREY), (step.note, "italic", INK)):
        if text:
            part = paragraph(text, body_w, 7.5, face, colour, x=body_x, y=y)
            items += part.items
            y += part.height
    if station:
        items += [Rect(width - tag_w, 0.5, tag_w, 3.4, Style(fill=PALE), radius=0.6), Text(width - tag_w / 2, 3.0, station, 7.0, "semibold", anchor="middle", colour=INK)]
    items += [Circle(2.9, 3.3, 2.7, Style(fill=WHITE, stroke=INK, width=0.35)), Text(2.9, 4.35, number, 8.5, "bold", anchor="middle")]
    items.append(Text(left, fonts.cap_height(numeral, "bold") + 0.6, counted, numeral, "bold"))
    return Block(max(y, 7.0) + 1.3, (Group(tuple(items), title=f"{name}, {counted}", role="listitem"),))


def _checks(dish: Dish, width: float) -> Block:
    if not dish.expo_checks:
        return Block(0, ())
    rule = _rule("Expo looks at", width)
    items: list[Item] = list(rule.items)
    y = rule.height
    for check in dish.expo_checks:
        part = paragraph(check, width - 5.0, 8.5, "semibold", x=5.0, y=y)
        items += [checkbox(0.4, y + 0.5, 2.6), *part.items]
        y += part.height + 0.3
    return Block(y + 0.8, (Group(tuple(items), title="Expo looks at", role="list"),))


# --------------------------------------------------------------------------- pages


def _flow(rows: list[Block], checks: Block, declared: Block, left: Frame, right: Frame, plate: Scene, whole: Frame) -> list[tuple[Item, ...]]:
    """The first page holds the diagram and the whole declaration; parts that do not fit go on overleaf."""
    first: list[Item] = [*_diagram(plate, left)]
    free = right.h - declared.height - 1.5
    continues = line_mm(7.5) + 0.6
    total = sum(b.height for b in rows) + checks.height
    taken, y = 0, right.y
    fits = total <= free
    while taken < len(rows) and y + rows[taken].height - right.y <= free - (0 if fits else continues):
        first += _placed(rows[taken], right.x, y)
        y += rows[taken].height
        taken += 1
    rest = [*rows[taken:]] + ([checks] if checks.items else [])
    if fits:
        first += _placed(checks, right.x, y)
        rest = []
    else:
        first.append(Text(right.x + right.w, y + 2.4, "continues overleaf", 7.5, "bold", anchor="end"))
    first += _placed(declared, right.x, right.y + right.h - declared.height)
    pages = [tuple(first)]
    columns = 2 if whole.w > 150 else 1
    column_w = (whole.w - (columns - 1) * GUTTER) / columns
    while rest:
        page: list[Item] = []
        for column in range(columns):
            x, y = whole.x + column * (column_w + GUTTER), whole.y
            while rest and (y + rest[0].height - whole.y <= whole.h or y == whole.y):
                page += _placed(rest[0], x, y)
                y += rest[0].height
                rest = rest[1:]
        pages.append(tuple(page))
    return pages


def _fit_scale(frame: Frame, plate: Scene) -> float:
    return min(frame.w / plate.width_mm, frame.h / plate.height_mm, 1.0)


def _diagram(plate: Scene, frame: Frame) -> tuple[Item, ...]:
    k = _fit_scale(frame, plate)
    dx, dy = frame.x + (frame.w - plate.width_mm * k) / 2, frame.y + (frame.h - plate.height_mm * k) / 2
    return (Group(transform(plate.items, k, dx, dy, text_factor=k), title=plate.title, description=plate.description, role="img"),)


def _scale_note(frame: Frame, plate: Scene) -> str:
    k = _fit_scale(frame, plate)
    return "diagram at true size" if k == 1 else f"diagram at 1 : {1 / k:.2f}"
