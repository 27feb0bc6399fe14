"""Kinds of piece that draw their own body: herbs in strokes, and what is poured, pulled, piped or spooned."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from platecard.documents.diagram.colours import FROND, edge, mix
from platecard.documents.diagram.pen import Pen, bedded, hatched, style
from platecard.drawing.scene import About, Circle, Item, Path, PathSegment, Polygon
from platecard.layout import shapes
from platecard.layout.geometry2d import Outline, Point

# How far along its barb each hair stands, and which way it turns.
_HAIRS = ((0.45, math.cos(0.5), math.sin(0.5)), (0.7, math.cos(0.5), -math.sin(0.5)))


def _frond(pen: Pen, about: About) -> Iterator[Item]:
    """A stem with its barbs in two weights of line, over a pale hint of the space they take up."""
    look = pen.look
    yield Polygon(pen.points, style(fill=look.fill, fill_opacity=FROND), about=about)
    stem, barbs = shapes.barbs(pen.points)
    fine: list[PathSegment] = []
    for foot, tip in barbs:
        fine += [("M", *foot), ("L", *tip)]
        (fx, fy), (tx, ty) = foot, tip
        # Two short hairs on each barb.
        for t, cos, sin in _HAIRS:
            bx, by = fx + t * (tx - fx), fy + t * (ty - fy)
            dx, dy = 0.32 * (tx - fx), 0.32 * (ty - fy)
            fine += [("M", bx, by), ("L", bx + dx * cos - dy * sin, by + dx * sin + dy * cos)]
    line = edge(pen.f, look)
    if look.bed:
        # Only the main strokes get a white edge, so that the food below still shows between them.
        yield Path(
            tuple(step for foot, tip in barbs for step in (("M", *foot), ("L", *tip))),
            style(stroke="#ffffff", width=0.8),
        )
        yield Polygon(stem, style(stroke="#ffffff", width=1.0), closed=False)
    yield Path(tuple(fine), style(stroke=line if look.bed else mix(look.fill, line, 0.6), width=0.26))
    yield Polygon(stem, style(stroke=line, width=0.5 if look.bed else 0.36), closed=False)


def _pool(pen: Pen, about: About) -> Iterator[Item]:
    """A sauce: its edge fades over a few millimetres, by its tone and by a broken line."""
    look = pen.look
    yield from bedded(pen)
    yield pen.body(style(fill=look.fill, fill_opacity=0.55, stroke=mix(look.fill, look.line, 0.55), width=0.26), about)
    small = min(pen.f.width_mm, pen.f.length_mm)
    for inset, opacity in ((1.6, 0.45), (3.6, 0.5)):
        if small > 4 * inset:
            yield pen.ring(1 - 2 * inset / small, style(fill=look.fill, fill_opacity=opacity))
    if small > 24:
        yield pen.ring(1 - 7.0 / small, style(stroke=mix(look.fill, look.tone, 0.8), width=0.2, dash=(5.0, 3.0)))
    yield from hatched(pen)


def _ring(pen: Pen, about: About) -> Iterator[Item]:
    """An onion ring or a cordon of sauce: two edges, and a line round the middle of the wall."""
    points, look = pen.points, pen.look
    half = len(points) // 2
    yield from bedded(pen)
    yield Polygon(points, style(fill=look.fill), about=about)
    yield from hatched(pen)
    for row in (points[:half], points[half:]):
        yield Polygon(row, pen.strong)
    middle = tuple(((x0 + x1) / 2, (y0 + y1) / 2) for (x0, y0), (x1, y1) in zip(points[:half], points[: half - 1 : -1]))
    yield Polygon(middle, pen.detail)


def _swipe(pen: Pen, about: About) -> Iterator[Item]:
    """A pull of the spoon: its edge, and the lines that the spoon leaves, which run out to the thin end."""
    points, look = pen.points, pen.look
    yield from bedded(pen)
    yield Polygon(
        points, style(fill=look.fill, fill_opacity=0.8, stroke=mix(look.fill, look.line, 0.7), width=0.26), about=about
    )
    yield from hatched(pen)
    rows, half = _sides(points)
    strokes: list[PathSegment] = []
    for share, first, last in ((0.28, 0.06, 0.86), (0.5, 0.03, 0.97), (0.7, 0.1, 0.78)):
        begin = int(first * half)
        shown = rows[begin : max(begin + 2, int(last * half))]
        line = [(a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])) for a, b in shown]
        strokes += [("M", *line[0]), *(("L", *p) for p in line[1:])]
    yield Path(tuple(strokes), pen.detail)
    # The thick end is higher, which a second edge just inside it shows.
    lip = [(a[0] + 0.16 * (b[0] - a[0]), a[1] + 0.16 * (b[1] - a[1])) for a, b in rows[2 : half // 4 + 2]]
    if len(lip) > 1:
        yield Polygon(tuple(lip), style(stroke=look.line, width=0.34), closed=False)


def _sides(points: Outline) -> tuple[list[tuple[Point, Point]], int]:
    """Pairs of points on the left and right of a long outline, from its foot to its tip, and how many."""
    half = len(points) // 2
    right, left = points[:half], points[: half - 1 : -1]
    rows = list(zip(left, right))
    return rows, len(rows)


def _drizzle(pen: Pen, about: About) -> Iterator[Item]:
    """A thin line of sauce."""
    look = pen.look
    yield from bedded(pen)
    yield Polygon(pen.points, style(fill=look.fill, stroke=mix(look.fill, look.line, 0.75), width=0.24), about=about)


def _foam(pen: Pen, about: About) -> Iterator[Item]:
    """Large and small bubbles in a soft outline."""
    look = pen.look
    yield from bedded(pen)
    yield pen.body(style(fill=look.fill, stroke=mix(look.fill, look.line, 0.6), width=0.26), about)
    yield from hatched(pen)
    dice = shapes.chance("bubbles", pen.f.component, pen.f.index)
    fine = style(stroke=look.tone, width=0.2)
    for i in range(min(26, max(7, round(pen.f.length_mm * pen.f.width_mm / 60)))):
        r, a = (
            0.8 * math.sqrt((i + 0.5) / 26) if pen.f.length_mm > 30 else 0.72 * math.sqrt((i + 0.5) / 8) % 0.8,
            2.39996 * i,
        )
        x, y = pen.at(r * math.cos(a), r * math.sin(a))
        yield Circle(x, y, (0.5 + 1.1 * next(dice)) * min(1.0, pen.f.width_mm / 24), fine)


SPREAD: dict[str, Callable[[Pen, About], Iterator[Item]]] = {
    "frond": _frond,
    "pool": _pool,
    "ring": _ring,
    "swipe": _swipe,
    "drizzle": _drizzle,
    "foam": _foam,
}
"""The kinds that draw their own body."""
