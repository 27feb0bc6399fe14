"""The changed plate: the answer to one guest, as a diagram and a card that cannot be mistaken for the regular ones.

In: the regular plate as laid, the dish as this guest gets it, and what was changed.  Out:
scenes.  Every piece and every number is where it is on the regular plate and card.  What
is left off is drawn as an empty outline in short dashes with a cross in it, and its number
is struck out.  (Long dashes without a cross are what comes on at the table, as on the
regular card.)
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator, Mapping
from dataclasses import replace
from typing import NamedTuple

from platecard.allergens.guests.answers import Change, Met
from platecard.diagnostics import listed
from platecard.documents.diagram import plate, side_view
from platecard.documents.kit.part_labels import Changed
from platecard.documents.kit.sheet import INK, WHITE, Block, largest, paragraph
from platecard.documents.pages import guest_page, pass_card
from platecard.documents.text import wording
from platecard.drawing.scene import (
    About,
    Circle,
    Group,
    Item,
    Path,
    Polygon,
    Rect,
    Scene,
    Style,
    Text,
    shifted,
    translate,
)
from platecard.layout.footprint import Arrangement, Footprint
from platecard.layout.geometry2d import Point
from platecard.model import Component, Dish
from platecard.prepared import Prepared, plated

PAD = 3.4  # with the margin of a page, more than the 10 mm that some printers leave white at an edge
_LOWER = 2.6  # mm of the band above its words, for the same reason
_ONLY = "For this one order: the regular card is not valid for this guest, nor this card for anybody else."
_BAND_PT = (17.0, 15.0, 13.0, 11.0, 10.0)


class ChangeNotice(NamedTuple):
    """What the notice on a changed plate says.

    ``came_in`` are (law, allergen) pairs that the regular plate does not declare;
    ``remaining`` is what the guest avoids and may still be in it.
    """

    avoids: tuple[str, ...]
    changes: tuple[Change, ...]
    came_in: tuple[tuple[str, str], ...] = ()
    remaining: tuple[Met, ...] = ()

    @property
    def title(self) -> str:
        """The heading of the diagram and the card."""
        return f"CHANGED PLATE: for a guest who avoids {listed(self.avoids)}"

    @property
    def gone(self) -> frozenset[str]:
        """The keys of the components that are left off."""
        return frozenset(c.component.key for c in self.changes if c.swap is None)

    @property
    def swapped(self) -> frozenset[str]:
        """The keys of the components that another thing replaces."""
        return frozenset(c.component.key for c in self.changes if c.swap is not None)


def dish_shown(regular: Dish, told: ChangeNotice, for_drawing: bool = False) -> Dish:
    """The regular dish with its components named as they are on this plate; all its steps are kept.

    ``for_drawing`` names a swap alone, because its colour is looked up by its name.
    """
    use = {c.component.key: c for c in told.changes}

    def named(component: Component) -> Component:
        change = use.get(component.key)
        if change is None:
            return component
        if change.swap is None:
            return replace(component, called=f"{component.called} (left off)")
        return replace(
            component,
            called=change.swap.called + ("" if for_drawing else f" (in place of {component.called})"),
            colour="",
            note="",
        )

    return replace(regular, components=tuple(named(c) for c in regular.components))


def without(arrangement: Arrangement, gone: Collection[str]) -> Arrangement:
    """The laid plate without the pieces of some components."""
    return arrangement._replace(
        footprints=tuple(f for f in arrangement.footprints if f.component not in gone),
        order=tuple(c for c in arrangement.order if c not in gone),
    )


# --- the diagram -----------------------------------------------------------------------------------------------------


def draw(
    arrangement: Arrangement,
    shown: Dish,
    told: ChangeNotice,
    numbers: Mapping[str, str],
    one: float | None = None,
) -> Scene:
    """The plate from above; ``arrangement`` is the regular plate, ``shown`` is :func:`dish_shown` for drawing.

    ``one`` as in :func:`platecard.documents.diagram.plate.draw`.
    """
    regular = plate.draw(arrangement, shown, callouts=numbers, one=one)
    # The description in words tells what is there first, and then what is not.
    there = plate.draw(
        without(arrangement, told.gone),
        replace(shown, steps=tuple(s for s in shown.steps if s.put not in told.gone)),
        callouts=numbers,
        one=one,
    )
    centre = (regular.width_mm / 2, regular.height_mm / 2)
    # What was hidden only by pieces that are left off is visible now.
    move = centre[0] - there.width_mm / 2, centre[1] - there.height_mm / 2
    hidden = tuple(translate(i, *move) for i in there.items if isinstance(i, Group) and i.id == "hidden")
    items: list[Item] = []
    for i in regular.items:
        name = i.id if isinstance(i, Group) else ""
        items += hidden if name == "leaders" else ()
        items += () if name == "hidden" else (_changed(i, arrangement, shown, told, centre),)
    missing = "; ".join(c.component.called for c in told.changes if c.swap is None)
    said = f"{told.title}. {there.description}" + (
        f" Left off, drawn as an empty outline with a cross: {missing}." if missing else ""
    )
    return regular._replace(items=tuple(items), title=f"{shown.title}: the changed plate from above", description=said)


def _changed(item: Item, arrangement: Arrangement, shown: Dish, told: ChangeNotice, centre: Point) -> Item:
    """One group of the regular drawing as it is on this plate."""
    if not isinstance(item, Group):
        return item
    if item.about and item.about.role == "step" and item.about.component in told.gone:
        pieces = [f for f in arrangement.footprints if item.id == f"step-{f.step}"]
        outlines = tuple(i for f in pieces for i in _missing(f, centre, item.about.source))
        about = About(item.about.component, "left-off", item.about.source)
        return Group(outlines, wording.called(about.component, shown), id=item.id, about=about)
    if item.id == "callouts":
        return item.holding(tuple(_callout(i, told) for i in item.items))
    if item.id in ("signs", "legend"):
        return item.holding(tuple(i for i in item.items if not i.about or i.about.component not in told.gone))
    return item


def _missing(f: Footprint, centre: Point, source: str) -> Iterator[Item]:
    """An empty outline in short dashes with a cross in it, on a white bed so that it shows on any food.

    The cross tells it from what comes on at the table, which is drawn empty too.
    """
    points = tuple((centre[0] + x, centre[1] - y) for x, y in f.outline)
    x, y = centre[0] + f.centre[0], centre[1] - f.centre[1]
    r = min(6.0, 0.4 * min(f.length_mm, f.width_mm))
    cross = Path(
        (("M", x - r, y - r), ("L", x + r, y + r), ("M", x - r, y + r), ("L", x + r, y - r)),
        Style(stroke=WHITE, width=1.1),
    )
    yield Polygon(points, Style(stroke=WHITE, width=0.8))
    yield cross
    yield Polygon(
        points, Style(stroke=INK, width=0.3, dash=(0.8, 0.6), cap="butt"), about=About(f.component, "left-off", source)
    )
    yield replace(cross, style=Style(stroke=INK, width=0.5))


def _callout(item: Item, told: ChangeNotice) -> Item:
    """A number of the diagram: struck out with ``no`` for its count if left off, with a second ring if swapped."""
    if not isinstance(item, Group) or not item.about:
        return item
    disc = next(i for i in item.items if isinstance(i, Circle))
    number, *count = (i for i in item.items if isinstance(i, Text))
    if item.about.component in told.swapped:
        return item.holding((*item.items, Circle(disc.cx, disc.cy, disc.r + 1.0, Style(stroke=INK, width=0.35))))
    if item.about.component not in told.gone:
        return item
    r = 0.7 * disc.r
    strike = Polygon(
        ((disc.cx - r, disc.cy + r), (disc.cx + r, disc.cy - r)), Style(stroke=INK, width=0.6), closed=False
    )
    struck: tuple[Item, ...] = (
        Circle(disc.cx, disc.cy, disc.r, Style(fill=WHITE, stroke=INK, width=0.35)),
        replace(number, colour=INK),
        strike,
        *(replace(c, text="no") for c in count),
    )
    return replace(item.holding(struck), title="left off")


def picture(scene: Scene, told: ChangeNotice) -> Scene:
    """The diagram as a picture of its own, framed and under its band."""
    # Large type, because a plate in true millimetres is seen from a distance or reduced.
    edge, width = 6.0, scene.width_mm
    band = _band(told.title, width, (40.0, 34.0, 28.0, 22.0, 18.0), pad=4.0)
    said = paragraph(". ".join(_lines(told)) + ".", width - 8.0, 16.0, "semibold", x=4.0, y=band.height + 2.0)
    top = band.height + said.height + 4.0
    whole = (width + 2 * edge, scene.height_mm + top + 2 * edge)
    inside = (*band.items, *said.items, shifted(scene.items, 0, top))
    return Scene(
        *whole,
        (Rect(0, 0, *whole, Style(fill=WHITE)), shifted(inside, edge, edge), frame(*whole, edge / 2, edge - 2.0)),
        scene.title,
        scene.description,
        scene.language,
    )


# --- the card --------------------------------------------------------------------------------------------------------


def compose(
    changed: Prepared,
    regular: Prepared,
    numbers: dict[str, str],
    fingerprint: str,
    told: ChangeNotice,
) -> tuple[Scene, ...]:
    """The pages of the card: a pass card under the notice, then the guest's own page, in a heavy frame."""
    regular_dish, arrangement = plated(regular)
    to_draw = dish_shown(regular_dish, told, for_drawing=True)
    picture = pass_card.ChangedPicture(
        lambda callouts, one: draw(arrangement, to_draw, told, callouts, one),
        arrangement,
        dish_shown(regular_dish, told),
        Changed(told.gone, told.swapped),
    )
    dish, laid = plated(changed)
    side = side_view.on_paper(laid, dish, numbers)
    pages: tuple[Scene, ...] = pass_card.compose(
        changed, numbers, fingerprint, above=lambda width: notice(told, width), side=side, changed=picture
    )
    title = f"{dish.title}: {told.title}"
    paper = pages[0].width_mm, pages[0].height_mm
    pages += guest_page.compose(changed, dish.title, "", fingerprint, paper, lambda width: notice(told, width))
    return tuple(p._replace(items=(*p.items, frame(p.width_mm, p.height_mm, 3.0, 2.2)), title=title) for p in pages)


def frame(width: float, height: float, inset: float, thick: float) -> Item:
    """A heavy frame, ``inset`` mm from the edge of a page and ``thick`` mm wide."""
    return Group(
        (Rect(inset, inset, width - 2 * inset, height - 2 * inset, Style(stroke=INK, width=thick, join="miter")),),
        role="presentation",
    )


def notice(told: ChangeNotice, width: float) -> Block:
    """The band with what the guest avoids, and what is changed below it."""
    band = _band(told.title, width, _BAND_PT, PAD, _LOWER)
    items: list[Item] = list(band.items)
    y = band.height + 1.0
    for line in _lines(told):
        part = paragraph(line, width - 2 * PAD, 9.5, "bold", x=PAD, y=y)
        items += part.items
        y += part.height
    only = paragraph(_ONLY, width - 2 * PAD, 8.0, "semibold", x=PAD, y=y)
    return Block(y + only.height + 1.2, (Group((*items, *only.items), title=told.title, role="note"),))


def _band(title: str, width: float, sizes: tuple[float, ...], pad: float, lower: float = 0.0) -> Block:
    size = largest(title, width - 2 * pad, sizes, "bold", 1)
    words = paragraph(title, width - 2 * pad, size, "bold", WHITE, x=pad, y=0.4 * pad + lower)
    height = words.height + 0.8 * pad + lower
    return Block(height, (Rect(0, 0, width, height, Style(fill=INK)), *words.items))


def _lines(told: ChangeNotice) -> list[str]:
    """What is changed, what comes in with the change, and what may still be in it."""
    left = [c.component.called for c in told.changes if c.swap is None]
    swaps = [f"{c.swap.called} in place of {c.component.called}" for c in told.changes if c.swap is not None]
    both = (
        f"LEFT OFF (crossed out): {', '.join(left)}" if left else "",
        f"SWAPPED: {'; '.join(swaps)}" if swaps else "",
    )
    lines = ["  ·  ".join(words for words in both if words)]
    by_words: dict[str, list[str]] = {}
    for law, words in told.came_in:
        by_words.setdefault(words, []).append(law)
    if by_words:
        came = "; ".join(f"{words} ({' and '.join(laws)})" for words, laws in by_words.items())
        lines.append(f"COMES IN WITH THE CHANGE, not on the regular plate: {came}")
    if told.remaining:
        more = f", and {len(told.remaining) - 1} more" if len(told.remaining) > 1 else ""
        named = listed(_each(m.food for m in told.remaining))
        lines.append(f"STILL MAY CONTAIN {named}: tell the guest. {wording.chain(told.remaining[0].chain[1:])}{more}")
    return lines


def _each(words: Iterable[str]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(words))
