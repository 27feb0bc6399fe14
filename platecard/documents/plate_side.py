"""The plate from the guest's side, in true millimetres: how high, and what stands on what.

In: a laid plate and its dish.  Out: a scene.  The guest looks level at 6:00; what is
nearer hides what is further away.  Heights that the spec does not say are those usual
for the kind of piece, drawn with a broken line.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping

from ..drawing import fonts
from ..drawing.scene import About, Group, Item, Path, Polygon, Rect, Scene, Style, Text
from ..layout import heights, surface
from ..layout.footprint import Arrangement, Footprint
from ..layout.planar import Point, box
from ..model import Dish, Plate
from ..units import shown
from .plate import china, number_of, source
from .plate_colours import Look, looks, mix

INK, GREY = "#1f2022", "#6f6d69"
_STEP_MM = 10
_DOMES = frozenset({"dot", "quenelle", "foam", "crumb", "drizzle"})


def draw(arrangement: Arrangement, dish: Dish, *, callouts: Mapping[str, str] | None = None) -> Scene:
    """The side view.  ``callouts`` as for the view from above."""
    plate = arrangement.plate
    numbers = number_of(dish) if callouts is None else callouts
    rim = surface.rim(plate)
    rows = heights.stacked(arrangement)
    top = max((t for _, _, t in rows), default=0.0)
    size = 2 * rim.a * 0.075
    cap = fonts.cap_height(size)
    depth = _depth(plate)
    wall = 0.0 if plate.form == "board" else depth
    sky = math.ceil(max(top, wall, 20.0) / _STEP_MM) * _STEP_MM
    left, above, below = 14.0 + 2 * cap, 6.0 + 2.4 * cap, 7.0 + 1.4 * cap
    width, height = 2 * rim.a + left + 8.0, above + sky + max(4.0, depth - wall) + below
    ground = above + sky  # y of the well
    middle = left + rim.a
    look = looks(arrangement, dish)
    steps = {s.index: s for s in dish.steps}
    # From the far side to the near one; of one spot from the bottom up.
    order = sorted(rows, key=lambda r: (-round(r[0].centre[1], 3), r[0].level, r[0].step, r[0].index))
    food: list[Item] = []
    for f, foot, t in order:
        food += _piece(f, foot, t, look[f.component], (middle, ground), About(f.component, "footprint", source(steps[f.step])))
    items = (
        Group(tuple(_ruler(left, ground, sky, width, size)), id="heights", title=f"Heights in steps of {_STEP_MM} mm"),
        Group(tuple(food), id="food", title="Food"),
        Group(tuple(_plate(plate, middle, ground, depth)), id="plate", title=plate.called),
        Group(tuple(_named(rows, numbers, (middle, ground), size, sky)), id="callouts", title="Callouts", role="list"),
        Text(middle, height - 3.0, "seen from the guest", size, "semibold", "middle", INK),
    )
    return Scene(width, height, items, f"{dish.title}: the plate from the guest's side",
                 f"The highest point stands {shown(top, 0)} mm above the well. " + " ".join(_in_words(rows, dish)))


def _depth(plate: Plate) -> float:
    return float(plate.depth_mm or (6 if plate.form == "board" else 12))


def _plate(plate: Plate, middle: float, ground: float, depth: float) -> Iterator[Item]:
    """The plate cut through: the well's floor, and walls up to the rim; a board is a slab."""
    rim, well, fill = surface.rim(plate), surface.well(plate), china(plate)
    line = Style(fill=fill, stroke=mix(fill, "#3a342c", 0.62), width=0.4)
    thick = 4.0
    if plate.form == "board":
        yield Rect(middle - rim.a, ground, 2 * rim.a, depth, line, about=About(role="plate"))
        return
    sides = [(middle - rim.a, ground - depth), (middle - well.a, ground), (middle + well.a, ground), (middle + rim.a, ground - depth)]
    # The wall nearest the guest would hide the food: it is cut away, and only its line shows.
    yield Polygon((*sides, (middle + well.a * 0.9, ground + thick), (middle - well.a * 0.9, ground + thick)),
                  Style(stroke=line.stroke, width=0.4), about=About(role="plate"))
    foot = 0.9 * well.a
    yield Polygon(((middle - well.a, ground), (middle + well.a, ground), (middle + foot, ground + thick), (middle - foot, ground + thick)), line)


def _ruler(left: float, ground: float, sky: float, width: float, size: float) -> Iterator[Item]:
    cap = fonts.cap_height(size)
    for high in range(0, int(sky) + 1, _STEP_MM):
        y = ground - high
        line = Style(stroke="#c9c6bf", width=0.18 if high % 50 else 0.3, dash=(1.0, 1.6)) if high else Style(stroke=GREY, width=0.3)
        yield Polygon(((left - 3.0, y), (width - 4.0, y)), line, closed=False)
        if high % 20 == 0:
            yield Text(left - 4.2, y + cap / 2, str(high), size, anchor="end", colour=GREY)
    yield Text(left - 4.2, ground - sky - 1.5 * cap, "mm", size, anchor="end", colour=GREY)


def _piece(f: Footprint, foot: float, top: float, look: Look, origin: Point, about: About) -> Iterator[Item]:
    """One piece: a block, a dome, or a leaning plank, between its foot and its top."""
    x0, _, x1, _ = box(f.outline)
    left, right = origin[0] + x0, origin[0] + x1
    low, high = origin[1] - foot, origin[1] - top
    known = f.height_mm is not None
    style = Style(fill=look.fill, stroke=look.line, width=0.3, dash=() if known else (1.2, 0.8))
    if f.shape in _DOMES and f.stance == "flat":
        k, w, h = 0.5523, (right - left) / 2, low - high
        m = (left + right) / 2
        up, down = ("C", left, low - k * h, m - k * w, high, m, high), ("C", m + k * w, high, right, low - k * h, right, low)
        yield Path((("M", left, low), up, down, ("Z",)), style, about)
        return
    if f.stance == "leaning":
        # The raised end is where the axis points.
        lean = math.sin(math.radians(f.axis_deg))
        shift = (right - left) * 0.6 * lean
        a, b = (left, right - abs(shift)) if shift > 0 else (left + abs(shift), right)
        yield Polygon(((a, low), (b, low), (b + shift, high), (a + shift, high)), style, about=about)
        return
    yield Rect(left, high, max(right - left, 0.3), max(low - high, 0.2), style, min(1.5, (low - high) / 3, (right - left) / 3), about)
    if f.stance == "flat" and low - high > 6 and right - left > 8 and f.shape in ("slice", "fillet", "disc", "wedge"):
        yield Polygon(((left + 1.5, high + 1.6), (right - 1.5, high + 1.6)), Style(stroke=look.tone, width=0.18), closed=False)


def _named(rows, numbers: Mapping[str, str], origin: Point, size: float, sky: float) -> Iterator[Item]:
    """The number of each component that stands high, over its highest piece; crowded ones step aside."""
    highest: dict[str, tuple[Footprint, float]] = {}
    for f, _, top in rows:
        if f.component in numbers and (f.component not in highest or top > highest[f.component][1]):
            highest[f.component] = f, top
    cap = fonts.cap_height(size, "bold")
    taken: list[tuple[float, float]] = []
    y = origin[1] - sky - 1.0 * cap
    for component, (f, top) in sorted(highest.items(), key=lambda i: (-i[1][1], i[0])):
        if top < 6:
            continue
        text = numbers[component]
        wide = fonts.width_mm(text, size, "bold")
        x = origin[0] + f.centre[0]
        # To whichever side is nearer its piece.
        steps = [x + side * 0.5 * k for k in range(400) for side in (1, -1)]
        x = next(t for t in steps if all(abs(t - a) >= (wide + w) / 2 + 1.4 for a, w in taken))
        taken.append((x, wide))
        yield Group((Polygon(((x, y + 0.5), (origin[0] + f.centre[0], origin[1] - top)), Style(stroke=INK, width=0.2), closed=False),
                     Text(x, y, text, size, "bold", "middle", INK)), about=About(component, "callout"))


def _in_words(rows, dish: Dish) -> Iterator[str]:
    told: dict[str, float] = {}
    for f, _, top in rows:
        told[f.component] = max(told.get(f.component, 0.0), top)
    for key, top in sorted(told.items(), key=lambda i: (-i[1], i[0])):
        component = dish.component(key)
        if top >= 6:
            yield f"{component.called if component else key}: up to {shown(top, 0)} mm."
