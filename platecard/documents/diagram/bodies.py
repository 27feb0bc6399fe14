"""Kinds of piece that draw their own body: herbs in strokes, rings, and what is poured or pulled."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from platecard.documents.diagram import beds
from platecard.documents.diagram.colours import FROND, edge, mix
from platecard.documents.diagram.pen import Pen, bedded, grain, hatched, joined, style
from platecard.drawing.scene import About, Item, Path, PathSegment, Polygon
from platecard.layout import shapes

# How far along its barb each hair stands, and which way it turns.
_HAIRS = ((0.45, math.cos(0.5), math.sin(0.5)), (0.7, math.cos(0.5), -math.sin(0.5)))


def _frond(pen: Pen, about: About) -> Iterator[Item]:
    """A stem with its barbs in two weights of line, over a pale hint of the space they take up."""
    look = pen.look
    if look.face in STALKS:
        yield Polygon(pen.points, style(fill=look.fill, fill_opacity=0.12), about=about)
        yield from STALKS[look.face](pen)
        return
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


def _jointed(pen: Pen) -> Iterator[Item]:
    """Samphire: thick, jointed stalks that fork, without leaves."""
    stem, barbs = shapes.barbs(pen.points)
    fill, line = pen.look.fill, edge(pen.f, pen.look)
    rows = [[foot, tip] for foot, tip in barbs[2:]] + [list(stem)]
    if pen.look.bed:
        yield joined(rows, style(stroke="#ffffff", width=1.5), closed=False)
    yield joined(rows, style(stroke=line, width=1.05), closed=False)
    yield joined(rows, style(stroke=fill, width=0.7), closed=False)
    joints = []
    for (ax, ay), (bx, by) in zip(stem, stem[1:]):
        x, y = (ax + bx) / 2, (ay + by) / 2
        far = math.hypot(bx - ax, by - ay) or 1.0
        nx, ny = -(by - ay) / far * 0.5, (bx - ax) / far * 0.5
        joints.append([(x - nx, y - ny), (x + nx, y + ny)])
    yield joined(joints, style(stroke=line, width=0.22), closed=False)


def _shoots(pen: Pen) -> Iterator[Item]:
    """Shoots and cress: a thin stalk with pairs of round leaves."""
    stem, barbs = shapes.barbs(pen.points)
    line = edge(pen.f, pen.look)
    yield Polygon(stem, style(stroke=line, width=0.36), closed=False)
    leaves = []
    for foot, tip in barbs[2::2] + barbs[3::2]:
        x, y = foot[0] + 0.6 * (tip[0] - foot[0]), foot[1] + 0.6 * (tip[1] - foot[1])
        long_mm = 0.72 * math.dist(foot, tip)
        leaves.append(grain(x, y, long_mm, 0.62 * long_mm, math.atan2(tip[1] - foot[1], tip[0] - foot[0])))
    if pen.look.bed:
        yield joined(leaves, style(stroke="#ffffff", width=1.0))
    yield joined(leaves, style(fill=pen.look.fill, stroke=line, width=0.24))


STALKS: dict[str, Callable[[Pen], Iterator[Item]]] = {"jointed": _jointed, "shoots": _shoots}
"""The herbs that are no feather, by the name that the table of looks uses."""


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


def _drizzle(pen: Pen, about: About) -> Iterator[Item]:
    """A thin line of sauce."""
    look = pen.look
    yield from bedded(pen)
    yield Polygon(pen.points, style(fill=look.fill, stroke=mix(look.fill, look.line, 0.75), width=0.24), about=about)
    rows = beds.sides(pen.points)[2:-2]
    if len(rows) > 1 and pen.f.width_mm >= 2:
        gleam = tuple((0.68 * a[0] + 0.32 * b[0], 0.68 * a[1] + 0.32 * b[1]) for a, b in rows)
        yield Polygon(gleam, style(stroke=mix(look.fill, "#ffffff", 0.6), width=0.2), closed=False)


SPREAD: dict[str, Callable[[Pen, About], Iterator[Item]]] = {
    "frond": _frond,
    "pool": beds.liquid,
    "ring": _ring,
    "swipe": beds.swipe,
    "drizzle": _drizzle,
    "foam": beds.foam,
}
"""The kinds that draw their own body."""
