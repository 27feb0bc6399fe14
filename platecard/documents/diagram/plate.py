"""The plate from above, in true millimetres: what lies where, which way round, and how many.

The scene is as large as the plate with the margins that its callouts need.  12:00 is at
the top, away from the guest; 6:00 is at the bottom, nearest the guest.  Line widths are
chosen for the size of the drawing on a card, where it is about a third of the plate.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Mapping, Sequence
from itertools import groupby
from typing import NamedTuple

from platecard.documents.diagram import face_signs, frame
from platecard.documents.diagram.callouts import CalloutLayout, plan
from platecard.documents.diagram.colours import Look, lightness, looks, mix
from platecard.documents.diagram.face_signs import Sign
from platecard.documents.diagram.food import piece, to_come
from platecard.documents.diagram.frame import LegendEntry, Surround
from platecard.documents.diagram.marks import INK, marked_faults
from platecard.documents.text import wording
from platecard.drawing import fonts
from platecard.drawing.scene import About, Circle, Group, Item, Placing, Polygon, Rect, Scene, Style, Text
from platecard.knowledge.colours import colour
from platecard.layout import arrangements, plate_geometry, shapes
from platecard.layout.footprint import Arrangement, Fault, Footprint
from platecard.layout.geometry2d import Box, Point
from platecard.layout.pattern import PULLED
from platecard.layout.place_words import where
from platecard.layout.plate_geometry import Edge
from platecard.model import Dish, Plate, Step
from platecard.quantities.units import shown

_DISC_MM = 5.0  # of the paper, where the scale is known

Spot = tuple[int, int]  # the step of a piece, and its number in it


def number_of(dish: Dish) -> dict[str, str]:
    """The callout number of each component, in the order in which they reach the plate."""
    keys = {c.key for c in dish.components}
    return {key: str(i + 1) for i, key in enumerate(dict.fromkeys(s.put for s in dish.steps if s.put in keys))}


class Food(NamedTuple):
    """What the pictures of one laid plate have in common, however large they are: what lies on it, and how it looks.

    ``later`` are the steps done at the table; ``cover`` says what lies over what, and ``hidden`` what cannot be seen.
    ``look`` is how each component looks, ``pieces`` the items of each piece, with the plate's middle as origin, and
    ``groups`` each run of pieces of a step, the lowest first, with its words.
    """

    later: frozenset[int]
    cover: face_signs.Cover
    hidden: list[tuple[Footprint, int]]
    look: Mapping[str, Look]
    pieces: Mapping[Spot, tuple[Item, ...]]
    groups: tuple[tuple[Step, tuple[Footprint, ...], str], ...]


def food_on(arrangement: Arrangement, dish: Dish) -> Food:
    """The food of a laid plate, for several pictures of it."""
    later = dish.at_table
    cover = face_signs.Cover(arrangement.footprints, later)
    steps = {s.index: s for s in dish.steps}
    look = looks(arrangement, dish)
    pieces: dict[Spot, tuple[Item, ...]] = {}
    for f in arrangement.footprints:
        about = About(f.component, "footprint", source(steps[f.step]))
        pieces[f.step, f.index] = tuple(piece(f, look[f.component], (0.0, 0.0), about))
    # The lowest come first, so that what lies on top is drawn on top.
    runs = ((steps[n], tuple(found)) for n, found in groupby(arrangement.footprints, key=lambda f: f.step))
    groups = tuple((step, found, _sentence(step, found, dish)) for step, found in runs)
    return Food(later, cover, face_signs.hidden(cover, later), look, pieces, groups)


def draw(
    arrangement: Arrangement,
    dish: Dish,
    *,
    callouts: Mapping[str, str] | None = None,
    faults: Iterable[Fault] = (),
    one: float | None = None,
    food: Food | None = None,
) -> Scene:
    """The plate from above.

    ``callouts`` maps components to their numbers; None stands for :func:`number_of`, {} draws none.  ``faults`` are
    outlined in red: for a preview, never for a card.  ``one`` is how many mm of the plate will be one mm of the paper,
    where that is known; then everything that is sized for the eye is sized for that paper, and there is no legend,
    because the labels beside the picture say the same.  ``food`` is that of this plate, if it is known already.
    """
    plate = arrangement.plate
    numbers = number_of(dish) if callouts is None else callouts
    food = food or food_on(arrangement, dish)
    later, cover, hidden = food.later, food.cover, food.hidden
    on_paper = one
    one = frame.unit(plate, *[frame.least_margin(plate, True)] * 2) if one is None else one
    signs = face_signs.signs_of(cover, face_signs.points_asked(dish.steps), face_signs.SIGN * one)
    entries = () if on_paper else tuple(_entries(arrangement, dish, numbers, signs, bool(hidden)))
    least = frame.least_margin(plate, bool(entries), on_paper)
    tone = mix(china(plate), "#2b2722", 0.62)

    at: dict[tuple[float, float], Surround | None] = {}

    def around(margin_x: float, margin_y: float) -> tuple[tuple[Box, ...], tuple[Box, ...]] | None:
        if (margin_x, margin_y) not in at:
            # Before the plate shrinks for it, the legend gives up what the card says elsewhere too.
            wider = margin_x - least + 0.5
            at[margin_x, margin_y] = frame.surround(
                arrangement, entries, margin_x, margin_y, tone, (wider >= 12) + (wider >= 30), on_paper
            )
        marks = at[margin_x, margin_y]
        return None if marks is None else (marks.boxes, marks.numerals)

    layout = plan(arrangement, numbers, least, around, later, cover, _DISC_MM * one if on_paper else None)
    marks = at[layout.margin_x, layout.margin_y]
    if marks is None:
        raise ValueError("the callouts were given margins that are too narrow for the legend")
    rim = plate_geometry.rim(plate)
    width, height = 2 * (rim.a + layout.margin_x), 2 * (rim.b + layout.margin_y)
    centre = (width / 2, height / 2)
    there = Placing(dx=centre[0], dy=centre[1])
    items = (
        Group(tuple(_china(plate, centre)), id="plate", title=plate.called),
        Group(
            marks.clock, placing=there, id="clock", title="Clock face: 12 is away from the guest, 6 nearest the guest"
        ),
        *_food(food, centre, one),
        # On a card, the label of a straight stack says how high it is.
        *face_signs.hidden_group([h for h in hidden if not (on_paper and h[1])], centre, one),
        *_signs(signs, centre, layout),
        *marked_faults(faults, centre),
        Group(tuple(_leaders(layout, centre)), id="leaders"),
        Group(tuple(_discs(layout, centre, _only(dish, later))), id="callouts", title="Callouts", role="list"),
        *((Group(marks.legend, placing=there, id="legend", title="What the signs mean"),) if entries else ()),
        Group(marks.scale, placing=there, id="scale", title="Scale: 50 mm"),
    )
    return Scene(
        width,
        height,
        items,
        f"{dish.title}: the plate from above",
        _in_words(arrangement, dish, numbers, [f for f, _ in hidden]),
    )


def _only(dish: Dish, later: frozenset[int]) -> frozenset[str]:
    """The components that only the steps ``later`` put on."""
    return frozenset(s.put for s in dish.steps if s.index in later) - {
        s.put for s in dish.steps if s.index not in later
    }


def _entries(
    arrangement: Arrangement, dish: Dish, numbers: Mapping[str, str], signs: Sequence[Sign], is_hidden: bool
) -> Iterator[LegendEntry]:
    """The lines of the legend.

    First in words which side of which part is up and where it points if no arrow could show it, then the kinds of
    outline.
    """
    said: dict[str, list[str]] = {}
    lying = {f.step for f in arrangement.footprints}
    for step in (s for s in dish.steps if s.facing.up and s.index in lying):
        said.setdefault(wording.side_up(step), []).append(step.put)
    for s in face_signs.unseen(signs):
        step = next(x for x in dish.steps if x.index == s.piece.step)
        said.setdefault(step.facing.text.split(",")[0] or f"points {step.facing.points}", []).append(step.put)
    for words, keys in said.items():
        each = list(dict.fromkeys(keys))
        named = ", ".join(numbers.get(k) or wording.called(k, dish) for k in each)
        yield LegendEntry("", f"{named}: {words}", component=each[0] if len(each) == 1 else "")
    if any(s.at_table and any(f.step == s.index for f in arrangement.footprints) for s in dish.steps):
        yield LegendEntry("later", "at the table")
    if is_hidden:
        yield LegendEntry("hidden", "underneath")


# --- the plate -------------------------------------------------------------------------------------------------------


def china(plate: Plate) -> str:
    """The plate's colour, made light enough for dark lines and numbers to stand out on it."""
    fill = colour(plate.colour) or "#fbfaf7"
    while lightness(fill) < 76:
        fill = mix(fill, "#ffffff", 0.15)
    return fill


def edge_item(edge: Edge, centre: Point, style: Style, about: About | None = None) -> Item:
    """The edge of a plate as an item: a circle, a rounded box or an oval."""
    if edge.is_circle:
        return Circle(*centre, edge.a, style, about)
    if edge.corner is not None:
        return Rect(centre[0] - edge.a, centre[1] - edge.b, 2 * edge.a, 2 * edge.b, style, edge.corner, about)
    return Polygon(tuple((centre[0] + x, centre[1] - y) for x, y in edge.outline()), style, about=about)


def _flat(plate: Plate, centre: Point) -> Iterator[Item]:
    """An oval, a rectangle or a board; its wall is drawn as a line."""
    rim, well, fill = plate_geometry.rim(plate), plate_geometry.well(plate), china(plate)
    yield edge_item(rim, centre, Style(fill=fill, stroke=mix(fill, "#3a342c", 0.62), width=0.45), About(role="plate"))
    if plate.form == "board":
        yield edge_item(rim.inset(1.6), centre, Style(stroke=mix(fill, "#3a342c", 0.16), width=0.25))
        yield edge_item(
            well, centre, Style(stroke=mix(fill, "#3a342c", 0.3), width=0.25, dash=(3.0, 3.0)), About(role="well")
        )
        return
    if min(rim.a - well.a, rim.b - well.b) > 8:
        yield edge_item(rim.inset(1.8), centre, Style(stroke=mix(fill, "#3a342c", 0.14), width=0.25))
    yield edge_item(
        well,
        centre,
        Style(fill=mix(fill, "#3a342c", 0.045), stroke=mix(fill, "#3a342c", 0.3), width=0.35),
        About(role="well"),
    )


def _china(plate: Plate, centre: Point) -> Iterator[Item]:
    if not plate.is_round:
        yield from _flat(plate, centre)
        return
    outer, well = float(plate.outer_mm) / 2, float(plate.well_mm) / 2
    fill = china(plate)
    edge, soft = mix(fill, "#3a342c", 0.62), mix(fill, "#3a342c", 0.3)
    yield Circle(*centre, outer, Style(fill=fill, stroke=edge, width=0.45), About(role="plate"))
    if outer - well > 8:
        yield Circle(*centre, outer - 1.8, Style(stroke=mix(fill, "#3a342c", 0.14), width=0.25))
    if plate.form == "coupe":
        # A coupe has no rim: the edge of the usable part is a broken line, because the plate itself shows none.
        yield Circle(*centre, well, Style(stroke=soft, width=0.25, dash=(3.0, 3.0)), About(role="well"))
        return
    deep = float(plate.depth_mm or 0)
    steps = 4 if deep >= 30 else 2 if deep >= 10 else 1
    yield Circle(*centre, well, Style(fill=mix(fill, "#3a342c", 0.045), stroke=soft, width=0.35), About(role="well"))
    for i in range(1, steps):
        # The wall of a bowl gets darker towards the edge: each ring of the lighter ground lies inside the last.
        yield Circle(*centre, well - 1.5 * i * (1 + 0.25 * i), Style(fill=fill, fill_opacity=0.4))


# --- the food --------------------------------------------------------------------------------------------------------


def source(step: Step) -> str:
    """Where the step is in the spec, for ``data-source``."""
    return f"{step.span.file}:{step.span.line}"


def _food(food: Food, centre: Point, one: float) -> Iterator[Item]:
    """One group for each step."""
    there = Placing(dx=centre[0], dy=centre[1])
    for step, pieces, words in food.groups:
        about = About(step.put, "footprint", source(step))
        items = tuple(
            item
            for f in pieces
            for item in (
                to_come(f, (0.0, 0.0), about, one) if step.index in food.later else food.pieces[f.step, f.index]
            )
        )
        yield Group(items, words, id=f"step-{step.index}", about=About(step.put, "step", source(step)), placing=there)


def _signs(signs: Sequence[Sign], centre: Point, layout: CalloutLayout) -> Iterator[Item]:
    items = tuple(face_signs.drawn(signs, centre, [(c.target, c.centre) for c in layout.callouts]))
    if items:
        yield Group(items, id="signs", title="Where pieces point")


# --- callouts --------------------------------------------------------------------------------------------------------


_BED, _LINE, _END = (
    Style(stroke="#ffffff", width=0.75),
    Style(stroke=INK, width=0.28),
    Style(fill=INK, stroke="#ffffff", width=0.25),
)
_DISC, _LATER_DISC = Style(fill=INK), Style(fill="#ffffff", stroke=INK, width=0.55, dash=(1.7, 1.0), cap="butt")


def _leaders(layout: CalloutLayout, centre: Point) -> Iterator[Item]:
    """Dark lines on a light bed, to show up on any food, each ending in a dot."""
    for c in layout.callouts:
        x, y = centre[0] + c.target[0], centre[1] + c.target[1]
        far = math.dist(c.centre, c.target)
        share = 1 - (layout.disc_mm / 2) / far if far else 0.0
        end = x + (c.centre[0] - c.target[0]) * share, y + (c.centre[1] - c.target[1]) * share
        about = About(c.component, "leader")
        yield Polygon(((x, y), end), _BED, closed=False)
        yield Polygon(((x, y), end), _LINE, closed=False, about=about)
        # A small piece must not vanish under the dot of its leader.
        yield Circle(x, y, max(0.7, min(1.9, 0.17 * c.size_mm)), _END, about)


def _discs(layout: CalloutLayout, centre: Point, later: frozenset[str]) -> Iterator[Item]:
    """The numbered discs: dark, or open and dashed for what is put on at the table."""
    r = layout.disc_mm / 2
    for c in layout.callouts:
        x, y = centre[0] + c.centre[0], centre[1] + c.centre[1]
        about = About(c.component, "callout")
        is_later = c.component in later
        disc = _LATER_DISC if is_later else _DISC
        items: list[Item] = [
            Circle(x, y, r, disc),
            Text(
                x,
                y + fonts.cap_height(layout.number_pt, "bold") / 2,
                c.number,
                layout.number_pt,
                "bold",
                "middle",
                INK if is_later else "#ffffff",
            ),
        ]
        if c.count:
            items.append(
                Text(
                    x + c.side * (r + 1.2),
                    y + fonts.cap_height(layout.count_pt, "bold") / 2,
                    c.count,
                    layout.count_pt,
                    "bold",
                    "start" if c.side > 0 else "end",
                    INK,
                )
            )
        yield Group(tuple(items), title="at the table" if is_later else "", about=about)


# --- in words, for readers who hear the page -------------------------------------------------------------------------


def _in_words(arrangement: Arrangement, dish: Dish, numbers: Mapping[str, str], hidden: Sequence[Footprint]) -> str:
    plate = arrangement.plate
    steps = {s.index: s for s in dish.steps}
    if plate.is_round or plate.outer_far_mm is None or plate.well_far_mm is None:
        sizes = f"{shown(plate.outer_mm)} mm across, well {shown(plate.well_mm)} mm"
    else:
        sizes = (
            f"{shown(plate.outer_mm)} mm from left to right and {shown(plate.outer_far_mm)} mm towards the guest,"
            f" usable {shown(plate.well_mm)} by {shown(plate.well_far_mm)} mm"
        )
    parts = [f"{plate.called}, {sizes}; 6:00 is nearest the guest."]
    by_step: dict[int, list[Footprint]] = {}
    for f in arrangement.footprints:
        by_step.setdefault(f.step, []).append(f)
    for number in sorted(by_step):
        step = steps[number]
        named = f"{numbers[step.put]}, " if step.put in numbers else ""
        parts.append(named + _sentence(step, by_step[number], dish) + ".")
    if hidden:
        unseen = Counter(wording.called(f.component, dish) for f in hidden)
        parts.append(
            "Under other food, drawn as a dotted outline: "
            + ", ".join(f"{n} {name}" for name, n in unseen.items())
            + "."
        )
    return " ".join(parts)


def _sentence(step: Step, pieces: Sequence[Footprint], dish: Dish) -> str:
    """A step in words, such as "pickled cucumber: 7 discs of 18 mm, scattered 11:45 to 3:15, 16 to 58 mm out"."""
    f = pieces[0]
    shape = step.piece.shape if step.piece else f.shape
    length, width = (step.piece.length_mm, step.piece.width_mm) if step.piece else (f.length_mm, f.width_mm)
    if step.piece and step.piece.last_mm is not None:
        length = width = f.length_mm
        graded = f" to {shown(pieces[-1].length_mm)} mm"
    else:
        graded = ""
    size = (
        f"{shown(length, 0 if f.shape in shapes.PULLED else 1)} mm{graded}"
        if length == width
        else f"{shown(length, 0 if f.shape in shapes.PULLED else 1)} by {shown(width)} mm"
    )
    n = len(pieces)
    what = f"{'a' if n == 1 else n} {wording.noun(shape, n)} of {size}"
    words = [f"{wording.called(step.put, dish)}: {what}"]
    if step.at_table:
        words.append("put on at the table")
    pattern = arrangements.find(step.arrange)
    if pattern is not None and pattern.laid == PULLED and step.start and step.end:
        words.append(pattern.pictured(step, pieces))
    elif n == 1:
        words.append(where(f.centre))
    elif pattern is not None and not step.around and not step.alternating_with:
        words += [told for told in (pattern.pictured(step, pieces),) if told]
    if step.on:
        words.append(wording.on(step, dish))
    words += wording.related(step, dish)
    if wording.facing(step):
        words.append(wording.facing(step))
    return ", ".join(words)
