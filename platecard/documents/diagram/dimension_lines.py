"""The heights of the side view, each with a dimension line of its own.

A dimension line stands beside the food, from the well to the top of its part.  A witness line
leads from that top out to it and on to the number and the figure, so that the figure can be
read to no other part.  On each side the lower ones stand nearer to the food.  Coordinates are
millimetres of the plate: x from its middle, upwards from the well.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from platecard.documents.diagram.marks import INK
from platecard.documents.diagram.spread import ascending
from platecard.drawing import fonts
from platecard.drawing.scene import About, Circle, Group, Item, Polygon, Rect, Style, Text
from platecard.layout.footprint import Footprint
from platecard.layout.geometry2d import Point
from platecard.quantities.units import shown

LEAST_MM, _SHARE = 6.0, 0.2  # what is lower, or lower than this share of the highest, needs no height: the steps tell
MOST = 6  # at most so many parts are measured, the highest first
PT = 8.5
# All of the following in mm of the paper.
_FIRST, _PITCH = 2.2, 2.4  # from the food to the first dimension line, and from one to the next
_PAST, _TO_LABEL = 0.8, 1.0  # how far a witness line runs on, and from there to the label
_TICK = 0.75  # half the width and height of the stroke at either end of a dimension line
_APART = 0.8  # between two labels
_LEVEL = 0.5  # mm of the plate: what differs by less stands equally high
_BED, _LINE = Style(stroke="#ffffff", width=0.7), Style(stroke=INK, width=0.2)
_END, _DISC = Style(stroke=INK, width=0.42), Style(fill=INK)
StackedPiece = tuple[Footprint, float, float]  # a piece, and how many mm its foot and its top are above the well


class Dimension(NamedTuple):
    """One measured part: its highest piece, its side (-1 left, 1 right), the x of its line, the place of its label."""

    piece: Footprint
    number: str
    top: float
    side: int
    line: float
    label: Point

    @property
    def component(self) -> str:
        """The measured part."""
        return self.piece.component

    @property
    def figure(self) -> str:
        """The height in mm as it is printed; the unit stands below the picture, once for all."""
        return shown(self.top, 0)


def label_mm(number: str, figure: str) -> tuple[float, float, float]:
    """The radius of a label's disc, and the label's width and height, in mm of the paper."""
    cap = fonts.cap_height(PT, "bold")
    r = max(0.85 * cap, fonts.width_mm(number, PT, "bold") / 2 + 0.25 * cap)
    return r, 2 * r + 0.4 * cap + fonts.width_mm(figure, PT, "semibold"), 2 * r


class Measured(NamedTuple):
    """The highest parts, each by its highest piece and that height, on either side of the food, the lowest first.

    ``edges`` are how far the food itself reaches to the left (negative) and to the right.
    """

    sides: tuple[tuple[int, tuple[tuple[Footprint, float], ...]], ...]
    edges: tuple[float, float]


def measured(rows: Sequence[StackedPiece], numbers: Mapping[str, str]) -> Measured:
    """The parts to be measured, each on the side on which its witness line passes the fewest others."""
    highest: dict[str, float] = {}
    for f, _, top in rows:
        if f.component in numbers and top >= LEAST_MM:
            highest[f.component] = max(top, highest.get(f.component, 0.0))
    least = _SHARE * max(highest.values(), default=0.0)
    ranked = sorted((c for c, top in highest.items() if top >= least), key=lambda c: (-highest[c], c))[:MOST]
    sides: dict[int, list[Footprint]] = {-1: [], 1: []}
    for c in ranked:
        mine = [f for f, _, top in rows if f.component == c and top > highest[c] - _LEVEL]
        high = [f for f, _, top in rows if f.component != c and top > highest[c] - _LEVEL]
        options = []
        for side, outer in ((1, 2), (-1, 0)):
            # Of pieces equally high the outermost passes the fewest others.
            f = max(mine, key=lambda f: (side * f.box[outer], -f.index))
            passed = {g.component for g in high if side * g.box[outer] > side * f.box[outer]}
            options.append((len(passed), len(sides[side]), -side * f.box[outer], -side, f))
        *_, side, f = min(options, key=lambda o: o[:4])
        sides[-side].append(f)
    order = (
        (
            side,
            tuple((f, highest[f.component]) for f in sorted(found, key=lambda f: (highest[f.component], f.component))),
        )
        for side, found in sides.items()
    )
    edges = [x for f, _, _ in rows for x in (f.box[0], f.box[2])] or [0.0]
    return Measured(tuple(order), (min(edges), max(edges)))


def laid(measured: Measured, numbers: Mapping[str, str], one: float) -> tuple[Dimension, ...]:
    """The dimensions beside the food; ``one`` is how many mm of the plate are one mm of the paper."""
    return tuple(
        d for (side, found) in measured.sides for d in _beside(side, found, measured.edges[side > 0], numbers, one)
    )


def _beside(
    side: int, found: Sequence[tuple[Footprint, float]], edge: float, numbers: Mapping[str, str], one: float
) -> Iterator[Dimension]:
    """The dimensions on one side, the lowest innermost, their labels below each other at the outer edge."""
    lines = [side * edge + (_FIRST + i * _PITCH) * one for i in range(len(found))]
    out = lines[-1] + (_PAST + _TO_LABEL) * one if lines else 0.0
    tall = [(label_mm(numbers[f.component], "")[2] + _APART) * one for f, _ in found]
    for (f, top), line, middle in zip(found, lines, _spread([top for _, top in found], tall)):
        yield Dimension(f, numbers[f.component], top, side, side * line, (side * out, middle))


def _spread(wanted: Sequence[float], sizes: Sequence[float]) -> list[float]:
    """The middles of labels one above the other, in order, each as near as possible to where it is wanted.

    The lowest stays above the well.
    """
    offsets, far = [], 0.0
    for i, size in enumerate(sizes):
        far += (size + sizes[i - 1]) / 2 if i else 0.0
        offsets.append(far)
    least = sizes[0] / 2 if sizes else 0.0
    means = ascending([want - off for want, off in zip(wanted, offsets)])
    return [max(mean, least) + off for mean, off in zip(means, offsets)]


def extent(dimensions: Sequence[Dimension], one: float) -> tuple[float, float, float]:
    """How far the dimensions reach: to the left (negative), to the right, and upwards."""
    left = right = high = 0.0
    for d in dimensions:
        r, wide, tall = label_mm(d.number, d.figure)
        end = d.label[0] + d.side * wide * one
        left, right = min(left, end), max(right, end)
        high = max(high, d.label[1] + tall / 2 * one, d.top)
    return left, right, high


def drawn(dimensions: Sequence[Dimension], starts: Sequence[float], origin: Point, one: float) -> Iterator[Item]:
    """Each dimension as one group; ``origin`` is the middle of the well on the page.

    ``starts`` are the x on the page at which their witness lines begin: the top of the measured piece.
    """
    ox, oy = origin
    cap = fonts.cap_height(PT, "bold") * one
    for d, start in zip(dimensions, starts):
        r, wide, tall = label_mm(d.number, d.figure)
        x, y = ox + d.line, oy - d.top
        lx, ly = ox + d.label[0], oy - d.label[1]
        witness = (
            (start, y),
            (x + d.side * _PAST * one, y),
            (lx, ly),
        )
        tick = _TICK * one
        left = lx if d.side > 0 else lx - wide * one
        disc = left + r * one if d.side > 0 else left + (wide - r) * one
        words = left + (2 * r * one + 0.4 * cap if d.side > 0 else 0.0)
        yield Group(
            (
                Polygon(witness, _BED, closed=False),
                Polygon(((x, y), (x, oy)), _BED, closed=False),
                Polygon(witness, _LINE, closed=False, about=About(d.component, "witness")),
                Polygon(((x, y), (x, oy)), _LINE, closed=False, about=About(d.component, "dimension")),
                *(Polygon(((x - tick, end + tick), (x + tick, end - tick)), _END, closed=False) for end in (y, oy)),
                Rect(left, ly - tall / 2 * one, wide * one, tall * one, Style(fill="#ffffff")),
                Circle(disc, ly, r * one, _DISC),
                Text(disc, ly + cap / 2, d.number, PT * one, "bold", "middle", "#ffffff"),
                Text(words, ly + cap / 2, d.figure, PT * one, "semibold", colour=INK),
            ),
            title=f"{d.number}: {d.figure} mm high",
            about=About(d.component, "callout"),
            role="listitem",
        )
