"""The plate as a drawing in true millimetres: what lies where, which way, how many.

In: a laid plate and its dish.  Out: a scene the size of the plate and the margins its
callouts need.  12:00 is at the top, away from the guest; 6:00 at the bottom is nearest
the guest.  Line widths are chosen for the size the drawing has on a card, where it is
about a third of the plate.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from itertools import groupby

from ..drawing import fonts
from ..drawing.scene import About, Circle, Group, Item, Path, Polygon, Rect, Scene, Style, Text, arrow
from ..layout.footprint import Arrangement, Footprint, clock_of, polar
from ..layout.planar import Point
from ..model import Dish, Plate, Step
from ..units import clock_text, shown
from .plate_callouts import Plan, plan
from .plate_colours import colour, lightness, looks, mix
from .plate_food import piece

INK, GREY, PALE = "#1f2022", "#6f6d69", "#b9b5ad"
_MARK_PT = 22.0      # the numerals of the clock, the guest's mark and the scale: 8 pt on a card at a third
_LEAST_MARGIN = 13.0  # mm round the plate: the guest's mark and the scale bar stand in it
_WIDE_RIM = 15.0     # mm of rim that hold the clock's numerals


def number_of(dish: Dish) -> dict[str, str]:
    """The callout number of each component, in the order they reach the plate."""
    keys = {c.key for c in dish.components}
    return {key: str(i + 1) for i, key in enumerate(dict.fromkeys(s.put for s in dish.steps if s.put in keys))}


def draw(arrangement: Arrangement, dish: Dish, *, callouts: Mapping[str, str] | None = None) -> Scene:
    """The plate from above.  ``callouts`` maps components to their numbers; None takes :func:`number_of`, {} draws none."""
    plate = arrangement.plate
    numbers = number_of(dish) if callouts is None else callouts
    layout = plan(arrangement, numbers, _LEAST_MARGIN)
    radius = float(plate.outer_mm) / 2
    width, height = 2 * (radius + layout.margin_x), 2 * (radius + layout.margin_y)
    centre = (width / 2, height / 2)
    items = (
        Group(tuple(_china(plate, centre)), id="plate", title=plate.called),
        Group(tuple(_clock(plate, centre)), id="clock"),
        *_food(arrangement, dish, centre),
        Group(tuple(_leaders(layout, centre)), id="leaders"),
        Group(tuple(_discs(layout, centre)), id="callouts", title="Callouts", role="list"),
        Group(tuple(_guest(plate, centre)), id="guest", title="Guest"),
        Group(tuple(_scale_bar(centre, layout, radius)), id="scale", title="Scale: 50 mm"),
    )
    return Scene(width, height, items, f"{dish.title}: the plate from above", _in_words(arrangement, dish, numbers))


# --- the plate -------------------------------------------------------------------------------------------------------


def china(plate: Plate) -> str:
    """The plate's colour, lightened so far that dark lines and numbers stay clear on it."""
    fill = colour(plate.colour) or "#fbfaf7"
    while lightness(fill) < 76:
        fill = mix(fill, "#ffffff", 0.15)
    return fill


def _china(plate: Plate, centre: Point) -> Iterator[Item]:
    outer, well = float(plate.outer_mm) / 2, float(plate.well_mm) / 2
    fill = china(plate)
    edge, soft = mix(fill, "#3a342c", 0.62), mix(fill, "#3a342c", 0.3)
    yield Circle(*centre, outer, Style(fill=fill, stroke=edge, width=0.45), About(role="plate"))
    if outer - well > 8:
        yield Circle(*centre, outer - 1.8, Style(stroke=mix(fill, "#3a342c", 0.14), width=0.25))
    if plate.form == "coupe":
        # No rim: the usable part is a broken line, for it is not on the plate itself.
        yield Circle(*centre, well, Style(stroke=soft, width=0.25, dash=(3.0, 3.0)), About(role="well"))
        return
    deep = float(plate.depth_mm or 0)
    steps = 4 if deep >= 30 else 2 if deep >= 10 else 1
    yield Circle(*centre, well, Style(fill=mix(fill, "#3a342c", 0.045), stroke=soft, width=0.35), About(role="well"))
    for i in range(1, steps):
        # The wall of a bowl, darker towards the edge: rings of the lighter ground inside it.
        yield Circle(*centre, well - 1.5 * i * (1 + 0.25 * i), Style(fill=fill, fill_opacity=0.4))


def _clock(plate: Plate, centre: Point) -> Iterator[Item]:
    outer, well = float(plate.outer_mm) / 2, float(plate.well_mm) / 2
    inside = outer - well >= _WIDE_RIM and plate.form != "coupe"
    tone = mix(china(plate), "#2b2722", 0.55)
    ticks: list[tuple] = []
    for hour in range(12):
        long = 5.0 if hour % 3 == 0 else 3.2
        for step, r in (("M", outer - 0.2), ("L", outer - long)):
            x, y = polar(30 * hour, r)
            ticks.append((step, centre[0] + x, centre[1] - y))
    yield Path(tuple(ticks), Style(stroke=tone, width=0.35, cap="butt"), About(role="clock"))
    cap = fonts.cap_height(_MARK_PT)
    for hour in (12, 3, 6, 9):
        text = str(hour)
        # On a wide rim the numerals stand on it; else beside the plate, where 6 makes room for the guest.
        r = outer - 5.0 - 1.6 - cap / 2 if inside else outer + 2.2 + (cap / 2 if hour in (12, 6) else fonts.width_mm(text, _MARK_PT) / 2)
        x, y = polar(30 * hour, r)
        if not inside and hour == 6:
            x -= 11.0
        yield Text(centre[0] + x, centre[1] - y + cap / 2, text, _MARK_PT, anchor="middle", colour=GREY if not inside else tone)


def _guest(plate: Plate, centre: Point) -> Iterator[Item]:
    """The guest's side: an arrow down from 6:00 and the word."""
    top = centre[1] + float(plate.outer_mm) / 2 + 2.0
    cap = fonts.cap_height(_MARK_PT, "semibold")
    wide = fonts.width_mm("guest", _MARK_PT, "semibold")
    x = centre[0] - (wide + 5.5) / 2
    inside = (float(plate.outer_mm) - float(plate.well_mm)) / 2 >= _WIDE_RIM and plate.form != "coupe"
    if not inside:
        x += 4.5
    yield arrow(x + 2, top, x + 2, top + 7.6, INK, 0.5, 4.4)
    yield Text(x + 5.5, top + 3.8 + cap / 2, "guest", _MARK_PT, "semibold", colour=INK)


def _scale_bar(centre: Point, layout: Plan, radius: float) -> Iterator[Item]:
    """Fifty millimetres in five parts, in the lower left corner."""
    x, y = centre[0] - radius - layout.margin_x + 2.0, centre[1] + radius + layout.margin_y - 3.4
    for i in range(5):
        yield Rect(x + 10 * i, y, 10, 1.8, Style(fill=INK if i % 2 == 0 else "#ffffff", stroke=INK, width=0.2, join="miter"))
    yield Text(x, y - 1.6, "50 mm", _MARK_PT * 0.9, colour=INK)


# --- the food --------------------------------------------------------------------------------------------------------


def source(step: Step) -> str:
    """Where the step is written, for the drawing's data."""
    return f"{step.span.file}:{step.span.line}"


def _food(arrangement: Arrangement, dish: Dish, centre: Point) -> Iterator[Item]:
    """One group for each step, lowest first, so that what lies on top is on top."""
    steps = {s.index: s for s in dish.steps}
    how = looks(arrangement, dish)
    for number, pieces in groupby(arrangement.footprints, key=lambda f: f.step):
        step = steps[number]
        about = About(step.put, "footprint", source(step))
        group = tuple(pieces)
        items = tuple(item for f in group for item in piece(f, how[step.put], centre, about, bool(step.facing.points)))
        yield Group(items, title=_sentence(step, group, dish), id=f"step-{number}", about=About(step.put, "step", source(step)))


# --- callouts --------------------------------------------------------------------------------------------------------


def _leaders(layout: Plan, centre: Point) -> Iterator[Item]:
    """Dark lines on a light bed, so that they show on any food, each ending in a dot."""
    for c in layout.callouts:
        x, y = centre[0] + c.target[0], centre[1] + c.target[1]
        far = math.dist(c.centre, c.target)
        share = 1 - (layout.disc_mm / 2) / far if far else 0.0
        end = x + (c.centre[0] - c.target[0]) * share, y + (c.centre[1] - c.target[1]) * share
        about = About(c.component, "leader")
        yield Polygon(((x, y), end), Style(stroke="#ffffff", width=0.75), closed=False)
        yield Polygon(((x, y), end), Style(stroke=INK, width=0.28), closed=False, about=about)
        yield Circle(x, y, 1.7, Style(fill=INK, stroke="#ffffff", width=0.3), about)


def _discs(layout: Plan, centre: Point) -> Iterator[Item]:
    r = layout.disc_mm / 2
    for c in layout.callouts:
        x, y = centre[0] + c.centre[0], centre[1] + c.centre[1]
        about = About(c.component, "callout")
        items: list[Item] = [Circle(x, y, r, Style(fill=INK)),
                             Text(x, y + fonts.cap_height(layout.number_pt, "bold") / 2, c.number, layout.number_pt, "bold", "middle", "#ffffff")]
        if c.count:
            items.append(Text(x + c.side * (r + 1.2), y + fonts.cap_height(layout.count_pt, "bold") / 2, c.count, layout.count_pt, "bold",
                              "start" if c.side > 0 else "end", INK))
        yield Group(tuple(items), about=about)


# --- in words, for those who hear the page ---------------------------------------------------------------------------


def _in_words(arrangement: Arrangement, dish: Dish, numbers: Mapping[str, str]) -> str:
    plate = arrangement.plate
    steps = {s.index: s for s in dish.steps}
    parts = [f"{plate.called}, {shown(plate.outer_mm)} mm across, well {shown(plate.well_mm)} mm; 6:00 is nearest the guest."]
    by_step: dict[int, list[Footprint]] = {}
    for f in arrangement.footprints:
        by_step.setdefault(f.step, []).append(f)
    for number in sorted(by_step):
        step = steps[number]
        named = f"{numbers[step.put]}, " if step.put in numbers else ""
        parts.append(named + _sentence(step, by_step[number], dish) + ".")
    return " ".join(parts)


_PLURAL = {"leaf": "leaves"}


def _sentence(step: Step, pieces, dish: Dish) -> str:
    """Such as "pickled cucumber: 7 discs of 18 mm, scattered from 11:50 to 3:10"."""
    component = dish.component(step.put)
    f = pieces[0]
    shape = step.piece.shape if step.piece else "pool"
    length, width = (step.piece.length_mm, step.piece.width_mm) if step.piece else (f.length_mm, f.width_mm)
    size = f"{shown(length)} mm" if length == width else f"{shown(length)} by {shown(width)} mm"
    n = len(pieces)
    what = f"a {shape} of {size}" if n == 1 else f"{n} {_PLURAL.get(shape, shape + 's')} of {size}"
    words = [f"{component.called if component else step.put}: {what}"]
    if n == 1:
        words.append(where(f.centre))
    elif step.arrange in ("line", "arc", "fan"):
        words.append(f"in {'an arc' if step.arrange == 'arc' else 'a ' + step.arrange} from {where(pieces[0].centre)} to {where(pieces[-1].centre)}")
    elif step.arrange == "ring":
        words.append(f"in a ring {shown(math.hypot(*f.centre), 0)} mm from the centre")
    elif step.arrange == "stack":
        words.append(f"stacked {where(f.centre)}")
    elif step.arrange == "scatter":
        words.append("scattered")
    if step.on:
        words.append("on " + " and ".join(c.called if (c := dish.component(k)) else f"the {k}" for k in step.on))
    if step.facing.text:
        words.append(step.facing.text)
    return ", ".join(words)


def where(point: Point) -> str:
    """A place in the chef's words: "at 4:00, 30 mm out", or "in the middle"."""
    out = math.hypot(*point)
    return "in the middle" if out < 3 else f"at {clock_text(clock_of(*point))}, {shown(out, 0)} mm out"
