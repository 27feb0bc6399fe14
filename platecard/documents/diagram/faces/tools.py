"""What the faces share: their colours, places in the piece's own frame, and the light on it."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platecard.documents.diagram.colours import mix
from platecard.documents.diagram.pen import Pen, axes, style
from platecard.drawing.scene import Item
from platecard.layout import shapes
from platecard.layout.geometry2d import Point, contains

EDGE = 0.5  # mm on paper: the line of a skin or a crust
GOLDEN = 2.39996  # radians


def second(pen: Pen) -> str:
    """The second colour of a food, or that of its lines."""
    return pen.look.second or pen.look.line


def third(pen: Pen) -> str:
    """The third colour of a food, or its own made lighter."""
    return pen.look.third or mix(pen.look.fill, "#ffffff", 0.6)


def rim(pen: Pen, colour: str, share: float = 0.93, width: float = EDGE) -> Item:
    """A line inside the edge, at a ``share`` of the way out, ``width`` mm wide."""
    return pen.ring(share, style(stroke=colour, width=width))


def own_turn(pen: Pen) -> float:
    """An angle of its own for each piece, so that no two round slices lie alike."""
    return GOLDEN * pen.f.index + 0.6


def on(r: float, a: float) -> Point:
    """The local point at a share ``r`` of the way out, in the direction ``a``."""
    return r * math.sin(a), r * math.cos(a)


def strewn(pen: Pen, count: int, reach: float = 0.78) -> Iterator[tuple[float, float, float]]:
    """Points spread evenly within the piece, each with a number from 0 to 1 of its own; the same every time."""
    dice = shapes.chance("face", pen.f.component, pen.f.index)
    is_round = pen.radius is not None
    within = tuple((pen.x + (x - pen.x) * 0.9, pen.y + (y - pen.y) * 0.9) for x, y in pen.points)
    for i in range(count):
        chance = next(dice)
        if is_round:
            yield *on(reach * math.sqrt((i + 0.5) / count), GOLDEN * i + 0.7 * chance), chance
            continue
        # Over any other outline they keep to its length, and to its inside.
        u, v = 0.66 * math.sin(GOLDEN * i * 1.7 + chance), reach * (2 * (i + 0.5) / count - 1)
        u = next((u * k for k in (1.0, 0.6, 0.25) if contains(within, pen.at(u * k, v))), 0.0)
        if contains(within, pen.at(u, v)):
            yield u, v, chance


def count(pen: Pen, apiece_mm2: float, least: int, most: int) -> int:
    """How many marks fit on a piece at ``apiece_mm2`` each, within bounds."""
    return max(least, min(most, round(pen.long * pen.wide / apiece_mm2)))


def gleam(pen: Pen, share: float = 0.76) -> Iterator[Item]:
    """The light on a rounded piece."""
    yield pen.lit(share)


def to_middle(pen: Pen, point: Point, share: float) -> Point:
    """A point moved towards the middle of the piece, to a ``share`` of its distance."""
    return pen.x + (point[0] - pen.x) * share, pen.y + (point[1] - pen.y) * share


def beside(pen: Pen, share: float, a: float) -> Point:
    """A point in the direction ``a`` on the page, from the right downwards, at a share of the way to the edge."""
    dx, dy = math.cos(a), math.sin(a)
    (ux, uy), (vx, vy) = axes(pen.f)
    far = math.hypot((dx * ux + dy * uy) / (ux * ux + uy * uy), (dx * vx + dy * vy) / (vx * vx + vy * vy))
    return pen.x + share * dx / far, pen.y + share * dy / far
