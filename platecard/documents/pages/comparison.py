"""Two revisions of a plate side by side, with what moved, what is gone and what is new.

In: two prepared dishes, the moves between them, and the changes as lines.  Out: a scene
(:func:`picture`, as tall as needed) or pages of A4.  Both plates are drawn to the same
scale.  Whatever is as it was is pale, and each piece that is not stands out in full: nothing
that moved has to be searched for.  The signs over it are of one colour and differ in shape, so
that a black-and-white copy shows them: an arrow from the old place (or an outline, if the
distance is short, or if the piece went with what it lies on), a ring round what is new, an
empty dashed outline where something was.
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import NamedTuple

from platecard import fingerprint
from platecard.documents.diagram import plate, step_pictures
from platecard.documents.diagram.plate import Spot
from platecard.documents.kit.checklist import rule
from platecard.documents.kit.column_pages import head
from platecard.documents.kit.sheet import (
    GREY,
    INK,
    MARGIN,
    PAGES,
    SMALLEST_PT,
    WHITE,
    Block,
    paragraph,
    smallest_text,
)
from platecard.documents.text import wording
from platecard.drawing import fonts
from platecard.drawing.scene import About, Circle, Group, Item, Placing, Polygon, Rect, Scene, Style, Text, shifted
from platecard.drawing.signs import arrow, warning_triangle
from platecard.layout import plate_geometry
from platecard.layout.displacement import STILL_MM, Moves, middle
from platecard.layout.footprint import Footprint
from platecard.layout.geometry2d import hull
from platecard.prepared import Prepared

# One colour for all signs: their shapes say which is which.
SIGN = "#0b4f9c"
GUTTER = 6.0
_DIAGRAM = 116.0  # mm of a page's height for the plates, at most
_EACH = 12  # pieces of one move that get an arrow or a ring each; if there are more, their outlines are marked
_GHOSTS = 4  # of more pieces that moved the old outlines would be a tangle: they stand on the old plate
_NAME_MM, _WORDS_PT = 30.0, 8.5  # the width of the names of what changed, and the size of all words
_SHORT = 4.5  # mm on the page: an arrow for a shorter distance could not be seen, so the piece is outlined
SEEN_MM = 2.0  # mm on the plate: ways that differ by less are one way
_TURNED = 5.0  # degrees: a smaller turn cannot be seen


class Line(NamedTuple):
    """One change in words, with the reasons below it; ``is_alarm`` marks an allergen that came in.

    Changes of one ``chapter`` stand below its heading.
    """

    words: str
    below: tuple[str, ...] = ()
    is_alarm: bool = False
    chapter: str = ""


def picture(
    old: Prepared,
    new: Prepared,
    moved: tuple[Moves, ...],
    lines: tuple[Line, ...],
    names: tuple[str, str],
    summed: str,
    restless: frozenset[str] = frozenset(),
) -> Scene:
    """The plates and all changes in one picture; ``names`` are the two sides, ``summed`` is the line that sums up."""
    width = PAGES["A4 landscape"][0]
    top = _top(old, new, moved, names, summed, restless, width - 2 * MARGIN)
    rows = _rows(lines, _column(width))
    tall = max((r.height for r in rows), default=0.0)
    while _flow(rows, tall, width)[1]:
        tall += 4.0
    height = MARGIN + top.height + tall + 8.0 + MARGIN
    return _sheet(new, top, _flow(rows, tall, width)[0], width, height, "")


def pages(
    old: Prepared,
    new: Prepared,
    moved: tuple[Moves, ...],
    lines: tuple[Line, ...],
    names: tuple[str, str],
    summed: str,
    restless: frozenset[str] = frozenset(),
) -> tuple[Scene, ...]:
    """The same as pages of A4: the plates on the first, and the changes on as many as they need."""
    width, height = PAGES["A4 landscape"]
    first = _top(old, new, moved, names, summed, restless, width - 2 * MARGIN)
    rest = _rows(lines, _column(width))
    tops = [first]
    filled: list[tuple[Item, ...]] = []
    while rest or not filled:
        room = height - 2 * MARGIN - 8.0 - tops[-1].height
        placed, left = _flow(rest, room, width)
        if len(left) == len(rest) and len(tops) > 1:  # longer than a page: placed all the same
            placed, left = (Group(rest[0].items),), rest[1:]
        filled.append(placed)
        rest = left
        if rest:
            more = head(f"{_title(old, new)}: what changed", "", ("continued", ""), width - 2 * MARGIN)
            tops.append(Block(more.height + 2.0, more.items))
    return tuple(
        _sheet(new, top, placed, width, height, f"page {i} of {len(filled)}" if len(filled) > 1 else "")
        for i, (top, placed) in enumerate(zip(tops, filled), 1)
    )


def _title(old: Prepared, new: Prepared) -> str:
    return drawable(new.dish.title if new.dish else old.dish.title if old.dish else new.key)


def drawable(text: str) -> str:
    """The text with characters that the font lacks spelt out, so that nothing vanishes from the page."""
    return fonts.spelt_out(text)


def _column(width: float) -> float:
    return (width - 2 * MARGIN - GUTTER) / 2


def _sheet(one: Prepared, top: Block, rest: tuple[Item, ...], width: float, height: float, number: str) -> Scene:
    """One page: the block at its top, the lines below it, and the foot."""
    foot = paragraph(
        f"A comparison, not a card: the plate is built from its pass card. {wording.CAUTION}",
        width - 2 * MARGIN - 26,
        SMALLEST_PT,
        colour=INK,
    )
    y = height - MARGIN - foot.height
    items: list[Item] = [
        Rect(0, 0, width, height, Style(fill=WHITE)),
        top.at(MARGIN, MARGIN),
        shifted(rest, MARGIN, MARGIN + top.height),
        Rect(MARGIN, y - 1.0, width - 2 * MARGIN, 0.2, Style(fill=GREY)),
        foot.at(MARGIN, y),
    ]
    if number:
        items.append(Text(width - MARGIN, y + 2.5, number, SMALLEST_PT, "semibold", anchor="end", colour=INK))
    title = f"{drawable(one.dish.title if one.dish else one.key)}: what changed"
    return Scene(width, height, tuple(items), title, language=one.world.kitchen.settings.language)


# --------------------------------------------------------------------------- the lines


def _rows(lines: tuple[Line, ...], width: float) -> list[Block]:
    """The alarms in bold on black, then all other changes, each chapter under its heading.

    What changed of one thing stands together, where the first change of it stood.
    """
    rows = [_alarm(line, width) for line in lines if line.is_alarm]
    by_thing: dict[tuple[str, str], list[str]] = {}
    for line in (line for line in lines if not line.is_alarm):
        name, colon, said = drawable(line.words).partition(": ")
        is_named = bool(colon) and ";" not in name and fonts.width_mm(name, _WORDS_PT, "semibold") <= 2 * _NAME_MM
        key, words = (f"{name}:", said) if is_named else ("", drawable(line.words))
        by_thing.setdefault((line.chapter, key), []).append(words)
    chapter = ""
    for (of, name), each in by_thing.items():
        for told in [each] if name else [[one] for one in each]:
            row = _plain(name, told, width)
            if of != chapter:
                chapter = of
                head = rule(drawable(chapter), width, 9.0)
                # The heading is one block with its first change, so that it never stands alone.
                row = Block(head.height + row.height + 1.4, (head.at(0, 1.0), row.at(0, head.height + 1.4)))
            rows.append(row)
    return rows


def _alarm(line: Line, width: float) -> Block:
    said = paragraph(drawable(line.words), width - 9, 9.0, "bold", WHITE, x=7.2, y=0.8)
    items: list[Item] = [
        Rect(0, 0, width, said.height + 1.6, Style(fill=INK), 0.8),
        warning_triangle(1.4, 0.7, 4.2, WHITE),
        *said.items,
    ]
    y = said.height + 2.0
    for reason in line.below:
        part = paragraph(drawable(reason), width - 3, SMALLEST_PT, x=3, y=y)
        items += part.items
        y += part.height
    return Block(y + 1.0, (Group(tuple(items), title=drawable(line.words), role="note"),))


def _plain(name: str, said: list[str], width: float) -> Block:
    """What changed in bold on the left, how on the right, line by line; what has no name takes the whole width."""
    left = _NAME_MM + 2.0 if name else 0.0
    items: list[Item] = list(paragraph(name, _NAME_MM, _WORDS_PT, "semibold").items) if name else []
    y = 0.0
    for words in said:
        part = paragraph(words, width - left, _WORDS_PT, x=left, y=y)
        items += part.items
        y += part.height + 0.4
    tall = paragraph(name, _NAME_MM, _WORDS_PT, "semibold").height if name else 0.0
    return Block(max(y, tall) + 0.9, tuple(items))


def _flow(rows: list[Block], tall: float, width: float) -> tuple[tuple[Item, ...], list[Block]]:
    """Rows placed in two columns, and the rows that did not fit."""
    placed: list[Item] = []
    rest = list(rows)
    for column in range(2):
        y = 0.0
        while rest and y + rest[0].height <= tall + 1e-6:
            placed.append(rest[0].at(column * (_column(width) + GUTTER), y))
            y += rest.pop(0).height
    return tuple(placed), rest


# --------------------------------------------------------------------------- the two plates


def _top(
    old: Prepared,
    new: Prepared,
    moved: tuple[Moves, ...],
    names: tuple[str, str],
    summed: str,
    restless: frozenset[str],
    width: float,
) -> Block:
    top = head(_title(old, new), "", ("COMPARISON", drawable(new.world.kitchen.settings.called)[:60]), width)
    told = paragraph(drawable(summed), width, 11.0, "bold", y=top.height + 1.2)
    top = Block(top.height + told.height + 2.0, (*top.items, *told.items))
    each = _column(width + 2 * MARGIN)
    on_paper = max((_unit(one, each) for one in (old, new)), default=1.0)
    stirred = _stirred(moved, restless)
    scenes = tuple(_drawn(one, on_paper, changed) for one, changed in zip((old, new), stirred))
    scale = min((min(each / s.width_mm, _DIAGRAM / s.height_mm) for s in scenes if s is not None), default=1.0)
    scale = min(scale, 1.0)
    tall = max((s.height_mm * scale for s in scenes if s is not None), default=20.0)
    items: list[Item] = [*top.items]
    y = top.height + 1.0
    marks = (
        tuple(_on_old(moved)),
        tuple(_on_new(moved, frozenset(m for m in moved if _rides(m, moved, old, new)), scale, restless)),
    )
    for i, (word, one, scene) in enumerate((("OLD", old, scenes[0]), ("NEW", new, scenes[1]))):
        x = i * (each + GUTTER)
        mark = f"code {fingerprint.of(one)}" if one.dish is not None else ""
        items.append(Text(x, y + 3.4, word, 11, "bold"))
        items.append(
            Text(
                x + 12,
                y + 3.4,
                fonts.fit(drawable(names[i]), each - 12 - 32, 8.5, "semibold"),
                8.5,
                "semibold",
                colour=INK,
            )
        )
        items.append(Text(x + each, y + 3.4, mark, SMALLEST_PT, "semibold", anchor="end", colour=GREY))
        if scene is None:
            items.append(Rect(x, y + 5.5, each, tall, Style(stroke=GREY, width=0.3, dash=(2.0, 1.5))))
            items.append(
                Text(
                    x + each / 2,
                    y + 5.5 + tall / 2,
                    "no plate to draw: its spec has errors",
                    9,
                    "semibold",
                    anchor="middle",
                )
            )
            continue
        centre = scene.width_mm / 2, scene.height_mm / 2
        drawn = (
            *scene.items,
            Group(marks[i], id="changes", title="What changed", placing=Placing(dx=centre[0], dy=centre[1])),
        )
        drawn = tuple(_without_id(item, f"{word.lower()}-") for item in drawn)
        dx = x + (each - scene.width_mm * scale) / 2
        text_factor = max(scale, SMALLEST_PT / smallest_text(scene.items))
        items.append(
            Group(
                drawn,
                placing=Placing(scale, dx, y + 5.5 + (tall - scene.height_mm * scale) / 2, text_factor),
                title=f"{word}: {scene.title}",
                description=scene.description,
                role="img",
            )
        )
    y += 5.5 + tall + 2.0
    items.append(shifted(tuple(_legend(marks)), 0, y))
    return Block(y + 7.0, tuple(items))


def _without_id(item: Item, prefix: str) -> Item:
    """The item with a prefix before its ids, which must not occur twice in a picture of two plates."""
    if not isinstance(item, Group):
        return item
    return Group(
        tuple(_without_id(i, prefix) for i in item.inner),
        item.title,
        item.description,
        prefix + item.id if item.id else "",
        item.about,
        item.clip,
        item.role,
        item.placing,
    )


def _at(f: Footprint) -> tuple[float, float]:
    return f.centre[0], -f.centre[1]


def _outline(f: Footprint, style: Style, role: str) -> Item:
    """The convex outline of a piece: a thick line round every dent of a frond would hide it."""
    return Polygon(tuple((x, -y) for x, y in hull(f.outline)), style, about=About(f.component, role))


def _on_old(moved: tuple[Moves, ...]) -> Iterator[Item]:
    """The signs on the old plate: what is gone is blanked out, with a dashed outline."""
    for m in moved:
        for f in m.gone:
            yield _outline(f, Style(fill=WHITE, fill_opacity=0.82, stroke=WHITE, width=1.1), "gone-ground")
            yield _outline(f, Style(stroke=SIGN, width=0.55, dash=(1.6, 1.1), cap="butt"), "gone")


def _on_new(
    moved: tuple[Moves, ...], riding: frozenset[Moves], scale: float, restless: frozenset[str]
) -> Iterator[Item]:
    """The signs on the new plate: each piece that moved, is new, or changed where it lies has one."""
    for m in moved:
        far = [(a, b) for a, b in m.pairs if m not in riding and math.dist(a.centre, b.centre) * scale >= _SHORT]
        if len(far) <= _GHOSTS:
            for a, _ in far:
                yield _outline(a, Style(stroke=SIGN, width=0.25, dash=(0.9, 0.8), cap="butt"), "was-here")
        pointed = {id(b) for _, b in far} if len(far) <= _EACH else set()
        for a, b in far if pointed else ():
            yield from _arrow(_at(a), _at(b), scale, m.component)
        if not pointed and _as_one(far):
            (x0, y0), (x1, y1) = middle(p for p, _ in far), middle(q for _, q in far)
            yield from _arrow((x0, -y0), (x1, -y1), scale, m.component)
        for a, b in m.pairs:
            if id(b) in pointed:
                continue
            if math.dist(a.centre, b.centre) > STILL_MM:
                role, width = ("moved-with", 0.4) if m in riding else ("moved-little", 0.7)
                yield _outline(b, Style(stroke=SIGN, width=width), role)
            elif m.component in restless or _differs(a, b):
                yield _outline(b, Style(stroke=SIGN, width=0.8, dash=(0.4, 1.3)), "changed-here")
        for f in m.new:
            yield from _ring(f, Style(stroke=SIGN, width=0.9), scale, "new", len(m.new) > _EACH)


def _stirred(moved: tuple[Moves, ...], restless: frozenset[str]) -> tuple[frozenset[Spot], frozenset[Spot]]:
    """The pieces that are not as they were, on the old plate and on the new one."""
    pairs = [
        (a, b)
        for m in moved
        for a, b in m.pairs
        if math.dist(a.centre, b.centre) > STILL_MM or m.component in restless or _differs(a, b)
    ]
    before = [a for a, _ in pairs] + [f for m in moved for f in m.gone]
    after = [b for _, b in pairs] + [f for m in moved for f in m.new]
    return frozenset((f.step, f.index) for f in before), frozenset((f.step, f.index) for f in after)


def _unit(one: Prepared, width: float) -> float:
    """How many mm of a plate are one mm of the page, where it fills its half."""
    if one.arrangement is None:
        return 1.0
    rim = plate_geometry.rim(one.arrangement.plate)
    return max(2 * (rim.a + 24.0) / width, 2 * (rim.b + 24.0) / _DIAGRAM)


def _drawn(one: Prepared, on_paper: float, stirred: frozenset[Spot]) -> Scene | None:
    """A plate on which all is pale that is as it was; None where there is none to draw."""
    arrangement, dish = one.arrangement, one.dish
    if arrangement is None or dish is None:
        return None
    food, fill = plate.food_on(arrangement, dish), plate.china(arrangement.plate)
    pieces = {
        spot: drawn if spot in stirred else tuple(step_pictures.faded(drawn, fill))
        for spot, drawn in food.pieces.items()
    }
    scene = plate.draw(arrangement, dish, one=on_paper, food=food._replace(pieces=pieces))
    return scene._replace(items=tuple(i for i in scene.items if not (isinstance(i, Group) and i.id == "signs")))


def _as_one(pairs: list[tuple[Footprint, Footprint]]) -> bool:
    """Whether all pieces moved the same way, as a group that was shifted."""
    if not pairs:
        return False
    ways = [(b.centre[0] - a.centre[0], b.centre[1] - a.centre[1]) for a, b in pairs]
    return all(math.dist(w, ways[0]) <= SEEN_MM for w in ways)


def _rides(m: Moves, moved: tuple[Moves, ...], old: Prepared, new: Prepared) -> bool:
    """Whether the pieces only moved with what they lie on, so that its arrow is enough."""
    if old.dish is None or new.dish is None:
        return False
    was = next((s for s in old.dish.steps if s.index == m.old_step), None)
    now = next((s for s in new.dish.steps if s.index == m.new_step), None)
    if was is None or now is None or m.gone or m.new or not now.on:
        return False
    if wording.where(was, old.dish) != wording.where(now, new.dish):
        return False
    return any(o.component in now.on and o.furthest_mm > SEEN_MM for o in moved)


def _differs(a: Footprint, b: Footprint) -> bool:
    """Whether a piece that did not move looks different: turned, resized, another shape or side up."""
    turned = abs((a.axis_deg - b.axis_deg + 180) % 360 - 180)
    other_size = max(abs(a.length_mm - b.length_mm), abs(a.width_mm - b.width_mm)) > STILL_MM
    return (
        (a.shape, a.stance, a.up) != (b.shape, b.stance, b.up)
        or other_size
        or (turned > _TURNED and a.radius_mm is None)
    )


def _arrow(start: tuple[float, float], end: tuple[float, float], scale: float, component: str) -> Iterator[Item]:
    """A dark arrow on a wider white one, so that it shows on any food."""
    head_mm = min(3.2 / scale, 0.6 * math.dist(start, end))
    yield Group(
        (arrow(*start, *end, WHITE, 1.9, head_mm * 1.3), arrow(*start, *end, SIGN, 0.9, head_mm)),
        about=About(component, "moved"),
    )


def _ring(f: Footprint, style: Style, scale: float, role: str, is_crowded: bool) -> Iterator[Item]:
    """A ring round a piece; only its outline if there are so many that rings would hide the plate."""
    x, y = _at(f)
    if is_crowded:
        yield _outline(f, style, role)
        return
    r = max(math.hypot(px - f.centre[0], py - f.centre[1]) for px, py in f.outline) + 1.2 / scale
    yield Circle(x, y, r, Style(stroke=WHITE, width=style.width + 0.7))
    yield Circle(x, y, r, style, About(f.component, role))


def _legend(marks: tuple[tuple[Item, ...], tuple[Item, ...]]) -> Iterator[Item]:
    """The signs in use, with what each means."""
    roles = {i.about.role for side in marks for i in side if i.about is not None}
    x, y = 0.0, 3.0
    signs: list[tuple[tuple[Item, ...], str]] = []
    if "moved" in roles:
        signs.append(((arrow(0, y, 7, y, SIGN, 0.7, 2.6),), "moved, from its old place"))
    if "moved-little" in roles:
        signs.append(((Rect(1.0, y - 1.7, 5.4, 3.4, Style(stroke=SIGN, width=0.7), 1.4),), "moved a little"))
    if "moved-with" in roles:
        signs.append(
            ((Rect(1.0, y - 1.7, 5.4, 3.4, Style(stroke=SIGN, width=0.4), 1.4),), "moved with what it lies on")
        )
    if "changed-here" in roles:
        signs.append(
            (
                (Rect(1.0, y - 1.7, 5.4, 3.4, Style(stroke=SIGN, width=0.8, dash=(0.4, 1.3)), 1.4),),
                "changed where it lies",
            )
        )
    if "new" in roles:
        signs.append(((Circle(3.5, y, 2.1, Style(stroke=SIGN, width=0.9)),), "new"))
    if "gone" in roles:
        signs.append(
            (
                (Rect(0.4, y - 1.7, 6.4, 3.4, Style(stroke=SIGN, width=0.55, dash=(1.6, 1.1), cap="butt")),),
                "gone from the new plate",
            )
        )
    words = "Pale: as it was." if signs else "Nothing on the plate has visibly moved: all of it is pale."
    yield Text(0, y + fonts.cap_height(8.5) / 2, words, 8.5, "semibold")
    x = fonts.width_mm(words, 8.5, "semibold") + 6.0
    for sign, words in signs:
        yield shifted(sign, x, 0)
        yield Text(x + 8.6, y + fonts.cap_height(8.5) / 2, words, 8.5, "semibold")
        x += 8.6 + fonts.width_mm(words, 8.5, "semibold") + 8.0
