"""The pass card, from which a cook builds the plate and against which expo checks it.

In: a prepared dish and the scene of its plate in true millimetres.  Out: pages.  On
landscape paper the diagram is on the left and the parts are on the right; on portrait paper
the diagram is on top.  If the parts do not fit beside the whole declaration, the front is
for expo (counts, names, stations, what is acceptable) and the build is overleaf.  No text
shrinks below :data:`~platecard.documents.kit.sheet.SMALLEST_PT`.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, replace

from platecard.allergens.statement import Statement, union
from platecard.documents.kit import allergen_block, caution_block, draft_mark, part_rows
from platecard.documents.kit.sheet import (
    GREY,
    INK,
    MARGIN,
    PAGES,
    SMALLEST_PT,
    WHITE,
    Block,
    largest,
    paragraph,
    smallest_text,
)
from platecard.documents.pages import fire_timeline, second_side
from platecard.documents.text import wording
from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Placing, Rect, Scene, Style, Text
from platecard.layout.footprint import Arrangement
from platecard.model import Dish, Settings
from platecard.prepared import Prepared, plated

GUTTER = 5.0
FOOT = 7.4  # mm above the lower margin, for the caution


@dataclass(frozen=True, slots=True)
class Frame:
    """A rectangle of a page: left, top, width and height in mm."""

    x: float
    y: float
    w: float
    h: float


def compose(
    prepared: Prepared,
    plate: Scene,
    numbers: dict[str, str],
    fingerprint: str,
    is_draft: bool = False,
    above: Block | None = None,
    side: Scene | None = None,
) -> tuple[Scene, ...]:
    """The pages of the card; ValueError if the dish could not be read or laid out.

    ``numbers`` maps component keys to the numbers of their callouts; ``above`` is a block above
    the head of each page.  ``side`` is the view from the guest's side for plates where height
    matters; it goes on a page behind the front that has room for it.
    """
    dish, arrangement = plated(prepared)
    settings = prepared.world.kitchen.settings
    width, height = PAGES[settings.page]
    unknown = allergen_block.unknown_in_words(prepared.problems) if is_draft else ()
    head = _head(dish, prepared, width - 2 * MARGIN)
    if above is not None:
        head = Block(above.height + head.height, (*above.items, head.at(0, above.height)))
    if is_draft:
        mark = draft_mark.band(width - 2 * MARGIN, draft_mark.HEAD)
        head = Block(mark.height + head.height, (*mark.items, head.at(0, mark.height)))
    last = draft_mark.band(width - 2 * MARGIN, draft_mark.FOOT) if is_draft else Block(0.0, ())
    top = MARGIN + head.height + 1.6
    room = height - top - FOOT - MARGIN - last.height
    if width > height:
        extent = min(room, (width - 2 * MARGIN) * 0.54)
        left, right = (
            Frame(MARGIN, top, extent, room),
            Frame(MARGIN + extent + GUTTER, top, width - 2 * MARGIN - extent - GUTTER, room),
        )
    else:
        extent = min((width - 2 * MARGIN), room * 0.5)
        left = Frame(MARGIN, top, width - 2 * MARGIN, extent)
        right = Frame(MARGIN, top + extent + 3, width - 2 * MARGIN, room - extent - 3)
    across = Frame(MARGIN, top, width - 2 * MARGIN, room)
    face = _face(prepared, dish, arrangement, numbers, right, unknown)
    front = [
        *_diagram(plate, left),
        *_stacked(face.rows, right.x, right.y),
        face.declared.at(right.x, right.y + right.h - face.declared.height),
    ]
    columns = 2 if width > 180 else 1
    column = (across.w - (columns - 1) * GUTTER) / columns
    behind = (
        []
        if face.is_whole
        else [
            *([] if face.has_checks else [part_rows.checks(dish, column)]),
            *part_rows.full(dish, numbers, settings, column, arrangement.plate, arrangement),
        ]
    )
    timeline = fire_timeline.draw(prepared.schedule, across.w) if prepared.schedule else None
    minded = caution_block.blocks(prepared.cautions, prepared.world.cautioner.rules.general, column)
    behind_it = (
        [] if face.is_whole else ["how to build it"] if face.has_checks else ["how to build it, what expo checks"]
    )
    behind_it += [word for word, there in (("fire times", timeline), ("CAUTIONS", minded)) if there]
    overleaf = f"overleaf: {', '.join(behind_it)}" if behind_it else ""
    pages = [
        tuple(front),
        *second_side.pages(
            behind,
            timeline,
            minded,
            (across.x, across.y, across.w, across.h),
            columns,
            lambda room: _from_the_side(side, across.w, room),
        ),
    ]
    if not face.has_declaration:
        # A block for each law, so that none runs off its page, however many laws are in force.
        whole = [
            allergen_block.block((said,), column, unknown=unknown, reached=prepared.basis.reached, told=prepared.told)
            for said in declarations(prepared)
        ]
        pages[1:1] = second_side.pages(
            [Block(b.height + 2.0, b.items) for b in whole], None, [], (across.x, across.y, across.w, across.h), columns
        )
    scale_note = _scale_note(left, plate)
    made = []
    for number, items in enumerate(pages, 1):
        foot = _foot(
            fingerprint,
            " · ".join(n for n in (scale_note, overleaf) if n) if number == 1 else "",
            number,
            len(pages),
            width,
            height,
        )
        end = (last.at(MARGIN, height - MARGIN - FOOT - draft_mark.FOOT),) if is_draft else ()
        paper = Rect(0, 0, width, height, Style(fill=WHITE))
        made.append(
            Scene(
                width,
                height,
                (paper, head.at(MARGIN, MARGIN), *items, *foot, *end),
                f"{dish.title}: pass card",
                language=settings.language,
            )
        )
    return tuple(made)


# --------------------------------------------------------------------------- head and foot


def _head(dish: Dish, prepared: Prepared, width: float) -> Block:
    settings = prepared.world.kitchen.settings
    revision = f"revision {dish.revision.number}" if dish.revision else "no revision"
    date = dish.revision.date if dish.revision else ""
    stamp = 38.0
    size = largest(dish.title, width - stamp, (21, 19, 17, 15, 13), "bold", 2)
    title = paragraph(dish.title, width - stamp, size, "bold")
    facts = [
        dish.course,
        prepared.resolved.plate.called if prepared.resolved and prepared.resolved.plate else dish.plate,
    ]
    serve = dict(dish.serve)
    facts += [wording.SERVE[serve["plate"]]] if serve.get("plate") in wording.SERVE else []
    facts += [wording.FOOD[serve["food"]]] if serve.get("food") in wording.FOOD else []
    line = paragraph("  ·  ".join(f for f in facts if f), width - stamp, 8.5, "semibold", GREY, y=title.height + 0.4)
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
        Text(width, 12.4, fonts.fit(settings.called, stamp - 2, 7.5), 7.5, anchor="end", colour=GREY),
    ]
    height = max(height, 13.0) + 1.4
    items.append(Rect(0, height - 0.5, width, 0.5, Style(fill=INK)))
    return Block(height, (Group(tuple(items), title=dish.title, role="heading"),))


def _foot(fingerprint: str, note: str, number: int, count: int, width: float, height: float) -> tuple[Item, ...]:
    right = [f"code {fingerprint}"] + ([f"page {number} of {count}"] if count > 1 else [])
    edge = " · ".join(right)
    used = max(fonts.width_mm(edge, 7.0, "semibold"), fonts.width_mm(note, 7.0, "semibold")) + 4
    body = paragraph(wording.CAUTION, width - 2 * MARGIN - used, 7.0, colour=INK)
    y = height - MARGIN - 5.6
    items: list[Item] = [Rect(MARGIN, y - 0.6, width - 2 * MARGIN, 0.2, Style(fill=GREY)), body.at(MARGIN, y)]
    items.append(Text(width - MARGIN, y + 2.5, edge, 7.0, "semibold", anchor="end", colour=INK))
    if note:
        items.append(Text(width - MARGIN, y + 5.4, note, 7.0, "semibold", anchor="end", colour=INK))
    return (Group(tuple(items), title="Caution", role="note"),)


# --------------------------------------------------------------------------- pages


def declarations(prepared: Prepared) -> tuple[Statement, ...]:
    """The statements to print: law by law, or one for all laws together, as the kitchen has chosen."""
    if prepared.world.kitchen.settings.card_allergens == "union" and len(prepared.statements) > 1:
        return (union(prepared.statements),)
    return prepared.statements


@dataclass(frozen=True, slots=True)
class Face:
    """What is beside the diagram: rows and the declaration, and whether the card needs more of each overleaf."""

    rows: list[Block]
    declared: Block
    is_whole: bool
    has_checks: bool
    has_declaration: bool = True


def _face(
    prepared: Prepared,
    dish: Dish,
    arrangement: Arrangement,
    numbers: dict[str, str],
    frame: Frame,
    unknown: tuple[str, ...],
) -> Face:
    """The most detailed rows that fit beside the whole declaration, with expo's checks.

    The declaration gives way last: it is set smaller, then shortened with the whole of it on
    the next page.
    """
    declared = [
        allergen_block.block(
            declarations(prepared), frame.w, size, unknown, reached=prepared.basis.reached, told=prepared.told
        )
        for size in (9.0, 8.0)
    ]
    settings = prepared.world.kitchen.settings
    if found := _beside(dish, arrangement, settings, numbers, frame, declared):
        return found
    if declared[1].height <= frame.h:
        return Face([], declared[1], False, False)
    short = allergen_block.block(declarations(prepared), frame.w, 8.0, unknown, is_short=True)
    block = short if short.height <= frame.h else allergen_block.pointer(frame.w)
    found = _beside(dish, arrangement, settings, numbers, frame, [block]) or Face([], block, False, False)
    return replace(found, has_declaration=False)


def _beside(
    dish: Dish,
    arrangement: Arrangement,
    settings: Settings,
    numbers: dict[str, str],
    frame: Frame,
    declared: list[Block],
) -> Face | None:
    """The first of :func:`_choices` that fits beside one of the blocks; without expo's checks if they do not fit."""
    room = frame.h - declared[-1].height - 1.5
    for rows, said in _choices(dish, arrangement, settings, numbers, frame.w, room):
        if _height(rows) > room:
            continue
        for block in declared:
            for columns in (1, 2, 0):
                checked = part_rows.checks(dish, frame.w, columns, said)
                free = frame.h - _height(rows) - checked.height - block.height - 1.5
                if free >= 0:
                    return Face([*rows, Block(min(free / 3, 1.6), ()), checked], block, said == part_rows.WHOLE, True)
    return next(
        (
            Face(rows, declared[-1], False, False)
            for rows, _ in _choices(dish, arrangement, settings, numbers, frame.w, 0.0)
            if _height(rows) <= room
        ),
        None,
    )


def _choices(
    dish: Dish, arrangement: Arrangement, settings: Settings, numbers: dict[str, str], width: float, room: float
) -> Iterator[tuple[list[Block], int]]:
    """Rows in descending detail and size, and how much they say (the constants of ``part_rows``).

    A row for each part is offered only if ``room`` mm might hold them all.
    """
    if part_rows.least_mm(dish, is_full=True) < room:
        yield (
            part_rows.full(dish, numbers, settings, width, arrangement.plate, arrangement),
            part_rows.WHOLE,
        )
    if part_rows.least_mm(dish, is_full=False) < room:
        yield part_rows.brief(dish, numbers, settings, width), part_rows.EACH
    fewest = part_rows.name_lines(dish, width, 10.0)
    for size in (12.0, 11.0, 10.0, 9.0, 8.5):
        if size > 10.0 and part_rows.name_lines(dish, width, size) > fewest:
            continue  # a name on one line is read faster than a larger one on two
        yield part_rows.cells(dish, numbers, settings, width, size), part_rows.LEEWAY
    for size, said in ((9.0, part_rows.COUNTS), (8.5, part_rows.COUNTS), (8.5, part_rows.NAMES)):
        yield part_rows.cells(dish, numbers, settings, width, size, said), said


def _height(blocks: Iterable[Block]) -> float:
    return sum(b.height for b in blocks)


def _stacked(blocks: Iterable[Block], x: float, y: float) -> list[Item]:
    items: list[Item] = []
    for block in blocks:
        items.append(block.at(x, y))
        y += block.height
    return items


def _fit_scale(frame: Frame, plate: Scene) -> float:
    return min(frame.w / plate.width_mm, frame.h / plate.height_mm, 1.0)


def _diagram(plate: Scene, frame: Frame) -> tuple[Item, ...]:
    k = _fit_scale(frame, plate)
    dx, dy = frame.x + (frame.w - plate.width_mm * k) / 2, frame.y + (frame.h - plate.height_mm * k) / 2
    text_k = max(k, SMALLEST_PT / smallest_text(plate.items))
    return (
        Group(
            plate.items,
            title=plate.title,
            description=plate.description,
            role="img",
            placing=Placing(k, dx, dy, text_k),
        ),
    )


def _from_the_side(side: Scene | None, width: float, room: float) -> Block | None:
    """The side view in ``room`` mm of height, centred; None if its text would be too small to read."""
    if side is None:
        return None
    said = "How high it stands, from the guest's side"
    heading, after = paragraph(said, width, 7.5, "semibold", GREY), fonts.width_mm(said, 7.5, "semibold") + 2.0
    k = min(width / side.width_mm, (room - heading.height - 2.0) / side.height_mm, 1.0)
    least = smallest_text(side.items)
    if k * least < 0.9 * SMALLEST_PT:  # its numbers may be enlarged a little against the picture, no more
        return None
    height = heading.height + 1.0 + side.height_mm * k
    place = Placing(k, (width - side.width_mm * k) / 2, heading.height + 1.0, max(k, SMALLEST_PT / least))
    picture = Group(side.items, title=side.title, description=side.description, role="img", placing=place)
    return Block(
        height, (*heading.items, Rect(after, heading.height / 2, width - after, 0.2, Style(fill=GREY)), picture)
    )


def _scale_note(frame: Frame, plate: Scene) -> str:
    k = _fit_scale(frame, plate)
    return "diagram at true size" if k == 1 else f"diagram at 1 : {1 / k:.2f}"
