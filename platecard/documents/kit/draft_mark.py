"""DRAFT on every page of a dish that is not for service, in bands beside the drawing and never over it.

The bands are striped like a barrier, so that they are recognised at arm's length and in a
grey print.
"""

from __future__ import annotations

from platecard.documents.kit.sheet import INK, WHITE, Block
from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Rect, Scene, Style, Text, shifted
from platecard.drawing.signs import hatch, lines_path

WORD, SAYS = "DRAFT", "not for service"
HEAD, FOOT = 13.0, 7.0  # mm: height of the band at the head of a page and at its foot
_GAP = 1.4


def band(width: float, height: float) -> Block:
    """A striped band of this size in mm with the word in it, and a little room below."""
    size = height * 2.3
    small = size * 0.45
    said = fonts.width_mm(WORD, size, "bold") + 2.5 + fonts.width_mm(SAYS, small, "bold")
    if said + 12.0 > width:
        size, small, said = (x * (width - 12.0) / said for x in (size, small, said))
    x, y = (width - said) / 2, (height + fonts.cap_height(size, "bold")) / 2
    stripes = lines_path(
        hatch(((0.0, 0.0), (width, 0.0), (width, height), (0.0, height)), 45.0, 5.0),
        Style(stroke=INK, width=2.2, cap="butt"),
    )
    items: tuple[Item, ...] = (
        Rect(0, 0, width, height, Style(fill=WHITE)),
        Group((stripes,), clip=Rect(0, 0, width, height, Style()), role="presentation"),
        Rect(x - 4.0, 0, said + 8.0, height, Style(fill=WHITE)),
        Rect(0, 0, width, height, Style(stroke=INK, width=0.9)),
        Text(x, y, WORD, size, "bold", colour=INK),
        Text(x + said, y, SAYS, small, "bold", anchor="end", colour=INK),
    )
    return Block(height + _GAP, (Group(items, title=f"{WORD}, {SAYS}", role="note"),))


def banded(scene: Scene) -> Scene:
    """The picture between two bands, and taller by their height."""
    tall = max(14.0, scene.width_mm / 16)
    one = band(scene.width_mm, tall)
    height = scene.height_mm + 2 * one.height
    items = (
        Rect(0, 0, scene.width_mm, height, Style(fill=WHITE)),
        one.at(0, 0),
        shifted(scene.items, 0, one.height),
        one.at(0, height - tall),
    )
    return Scene(scene.width_mm, height, items, scene.title, scene.description, scene.language)
