"""What a kitchen bakes, fries, sets and layers: crusts, pores, blisters, gleam."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platecard.documents.diagram.colours import mix
from platecard.documents.diagram.faces.tools import (
    count,
    gleam,
    on,
    own_turn,
    rim,
    second,
    strewn,
    third,
    to_middle,
)
from platecard.documents.diagram.pen import Pen, evenly, joined, style
from platecard.drawing.scene import Item
from platecard.layout.geometry2d import Point


def cracked(pen: Pen) -> Iterator[Item]:
    """Burnt sugar: dark and light patches under a sheet of glass, with cracks and a gleam."""
    size = 0.17 * pen.small
    yield joined(
        [pen.grain(u, v, size * (0.6 + c), size * (0.4 + 0.5 * c), 6 * c) for u, v, c in strewn(pen, 9, 0.68)],
        style(fill=second(pen), fill_opacity=0.32),
    )
    yield joined(
        [pen.grain(u * 0.8 + 0.15, v * 0.8 - 0.1, size * 0.6, size * 0.35, 5 * c) for u, v, c in strewn(pen, 5, 0.8)],
        style(fill=third(pen), fill_opacity=0.5),
    )
    yield pen.path(
        [
            [(-0.86, 0.1), (-0.4, 0.0), (-0.1, 0.2), (0.3, 0.1), (0.82, 0.36)],
            [(-0.1, 0.2), (0.05, -0.3), (-0.1, -0.86)],
            [(0.3, 0.1), (0.5, -0.4)],
        ],
        style(stroke=third(pen), width=0.34),
    )
    yield from gleam(pen)


def crumbed(pen: Pen) -> Iterator[Item]:
    """Bread, cut: a dark crust and open pores."""
    yield rim(pen, second(pen), 0.95, 0.95)
    size = 0.05 * pen.small + 0.7
    yield joined(
        [
            pen.grain(u, v, size * (0.7 + 1.1 * c), size * (0.6 + 0.5 * c), 6 * c, 7)
            for u, v, c in strewn(pen, count(pen, 30, 9, 26), 0.74)
        ],
        style(fill=mix(pen.look.fill, second(pen), 0.5)),
    )


def porous(pen: Pen) -> Iterator[Item]:
    """Cake: a fine, even crumb under a browned edge."""
    yield rim(pen, second(pen), 0.95, 0.6)
    yield joined(
        [pen.grain(u, v, 0.9 + 0.6 * c, 0.8, c, 6) for u, v, c in strewn(pen, count(pen, 14, 10, 34), 0.8)],
        style(fill=pen.look.tone),
    )


def docked(pen: Pen) -> Iterator[Item]:
    """A biscuit: browned towards its edge, with rows of holes."""
    yield rim(pen, second(pen), 0.93, 0.6)
    long_, wide = pen.long, pen.wide
    rows, columns = max(2, min(7, round(long_ / 9))), max(2, min(4, round(wide / 8)))
    if pen.radius:
        at = [(0.0, 0.0), *(on(0.5, own_turn(pen) + math.pi * i / 3) for i in range(6))]
    else:
        at = [(-0.5 + i / (columns - 1), -0.72 + 1.44 * j / (rows - 1)) for i in range(columns) for j in range(rows)]
    yield joined([pen.grain(u, v, 1.1, 1.1, 0.0, 6) for u, v in at], style(fill=second(pen)))


def swirled(pen: Pen) -> Iterator[Item]:
    """Meringue or piped cream: a cloud of soft folds that turn to a peak, toasted at their edges."""
    if pen.f.stance != "standing":
        around = evenly(pen.points, 11)
        cloud: list[Point] = []
        for (x0, y0), (x1, y1) in zip(around, around[1:] + around[:1]):
            cloud += [to_middle(pen, (x0, y0), 0.84), ((x0 + x1) / 2, (y0 + y1) / 2)]
        yield from pen.soft(cloud, pen.look.fill)
    turns = [on(0.74 - 0.62 * i / 22, own_turn(pen) + 0.62 * i) for i in range(23)]
    yield pen.path([turns], style(stroke=second(pen), width=0.5))
    yield pen.path([[(u * 0.86, v * 0.86 + 0.02) for u, v in turns[:16]]], style(stroke="#ffffff", width=0.45))
    yield joined([pen.grain(*turns[-1], 0.1 * pen.small, 0.1 * pen.small, 0.0)], style(fill=second(pen)))


def bevelled(pen: Pen) -> Iterator[Item]:
    """Chocolate or butter: sharp edges, a bevel all round, and a gleam."""
    light, dark = mix(pen.look.fill, "#ffffff", 0.28), mix(pen.look.fill, "#120a05", 0.35)
    u, v = 1 - 3.2 / max(7.0, pen.wide), 1 - 3.2 / max(7.0, pen.long)
    if pen.radius:
        yield rim(pen, light, 0.84, 0.3)
    else:
        yield pen.path([[(-u, -v), (-u, v), (u, v)]], style(stroke=light, width=0.4, join="miter"))
        yield pen.path([[(-u, -v), (u, -v), (u, v)]], style(stroke=dark, width=0.3, join="miter"))
    yield pen.path(
        [[(-0.5 * u, -0.2 * v), (-0.5 * u, 0.55 * v)], [(-0.3 * u, 0.3 * v), (-0.3 * u, 0.6 * v)]],
        style(stroke=mix(pen.look.fill, "#ffffff", 0.55), width=0.4),
    )


def blistered(pen: Pen) -> Iterator[Item]:
    """Batter, crackling: blisters of all sizes, lit from above."""
    dark, light = [], []
    for u, v, c in strewn(pen, count(pen, 34, 7, 22), 0.76):
        r = (0.5 + c) * (0.05 * pen.small + 0.8)
        x, y = pen.at(u, v)
        dark.append(pen.grain(u, v, 2 * r, 1.7 * r, 5 * c))
        light.append([(x - 0.5 * r, y + 0.1 * r), (x - 0.1 * r, y - 0.5 * r)])
    yield joined(dark, style(fill=mix(pen.look.fill, "#fff2d0", 0.45), stroke=second(pen), width=0.26))
    yield joined(light, style(stroke="#ffffff", width=0.34), closed=False)


def layered(pen: Pen) -> Iterator[Item]:
    """Thin layers, seen from their edge: a pavé, a gratin, puff pastry, pressed fruit."""
    dark = pen.look.second or pen.look.tone
    if pen.radius:
        # A round cut from a pressed block: the edges of its sheets lie across it, none quite straight.
        lines = []
        for i in range(7):
            u = -0.78 + 0.26 * i
            reach = 0.94 * math.sqrt(max(0.05, 1 - u * u))
            lines.append([(u, -reach), (u + 0.05, -0.3 * reach), (u - 0.04, 0.4 * reach), (u + 0.02, reach)])
        yield pen.path(lines, style(stroke=mix(pen.look.fill, dark, 0.75), width=0.26))
        return
    rows = max(4, min(8, round(pen.wide / 3)))
    lines = [
        [(u, -0.92), (u + 0.05, -0.4), (u - 0.03, 0.1), (u + 0.04, 0.5), (u, 0.92)]
        for u in (-0.8 + 1.6 * i / (rows - 1) for i in range(rows))
    ]
    yield pen.path(lines, style(stroke=mix(pen.look.fill, dark, 0.75), width=0.26))


def stacked(pen: Pen) -> Iterator[Item]:
    """A block of thin layers: its browned top, and along the side away from the light the edges of its layers."""
    if pen.radius:
        yield rim(pen, second(pen), 0.93, 0.75)
        return
    (x0, y0), (x1, y1) = pen.at(0, 0), pen.at(1, 0)
    s = 1 if 0.7 * (x1 - x0) + (y1 - y0) >= 0 else -1
    top = s * 0.42
    yield pen.path([[(top, -0.95), (top, 0.95), (s * 0.94, 0.95), (s * 0.94, -0.95)]], style(fill=third(pen)), True)
    yield pen.path(
        [[(u, -0.96), (u, 0.96)] for u in (top, *(s * (0.55 + 0.13 * i) for i in range(3)))],
        style(stroke=second(pen), width=0.26),
    )
    yield joined(
        [
            pen.grain(u * 0.5 - s * 0.28, v, (0.16 + 0.2 * c) * pen.small, (0.07 + 0.06 * c) * pen.small, 5 * c)
            for u, v, c in strewn(pen, count(pen, 90, 6, 14), 0.82)
        ],
        style(fill=second(pen), fill_opacity=0.55),
    )


def crimped(pen: Pen) -> Iterator[Item]:
    """Filled pasta: a crimped edge round a swell of filling."""
    n = len(pen.points)
    step = max(1, n // 24)
    yield joined(
        [[(x, y), ((x - pen.x) * 0.84 + pen.x, (y - pen.y) * 0.84 + pen.y)] for x, y in pen.points[::step]],
        style(stroke=pen.look.line, width=0.24),
        closed=False,
    )
    yield pen.ring(0.62, style(fill=mix(pen.look.fill, "#ffffff", 0.35), stroke=pen.look.tone, width=0.26))
    yield from gleam(pen, 0.44)


def ridged(pen: Pen) -> Iterator[Item]:
    """Gnocchi: the ridges of the board, and a browned side."""
    yield pen.curves(
        *(((-0.7, v), (0.0, v + 0.12), (0.7, v)) for v in (-0.55, -0.2, 0.15, 0.5)),
        pen=style(stroke=mix(pen.look.fill, second(pen), 0.8), width=0.4),
    )


def flecked(pen: Pen) -> Iterator[Item]:
    """Flecks of something else: fat in a pudding, seeds or nibs in a crisp."""
    size = 0.05 * pen.small + 0.9
    yield joined(
        [
            pen.grain(u, v, size * (0.7 + chance), size * (0.4 + 0.5 * chance), 7 * chance, 6)
            for u, v, chance in strewn(pen, count(pen, 26, 9, 26))
        ],
        style(fill=second(pen)),
    )


def glossy(pen: Pen) -> Iterator[Item]:
    """Jelly: clear, with its lower edge bright and a gleam above."""
    yield pen.ring(0.7, style(fill=mix(pen.look.fill, "#ffffff", 0.5), fill_opacity=0.7))
    yield from gleam(pen, 0.82)


def frozen(pen: Pen) -> Iterator[Item]:
    """Ice cream and sorbet: the grain of the ice, and the curls that the spoon draws along it."""
    (x0, y0), (x1, y1) = pen.at(0, 0), pen.at(1, 0)
    s = 1 if 0.7 * (x1 - x0) + (y1 - y0) >= 0 else -1
    yield pen.path(
        [[(0.2 * s, -0.88), (0.62 * s, -0.5), (0.8 * s, 0.0), (0.62 * s, 0.5), (0.2 * s, 0.88), (0.44 * s, 0.0)]],
        style(fill=pen.look.tone, fill_opacity=0.35),
        True,
    )
    # Where the spoon turned it over on itself.
    yield pen.curves(
        ((0.2 * s, -0.62), (-0.3 * s, -0.3), (0.1 * s, 0.1)),
        ((-0.2 * s, 0.1), (-0.62 * s, 0.3), (-0.3 * s, 0.56)),
        pen=style(stroke=mix(pen.look.fill, pen.look.line, 0.35), width=0.26),
    )
    yield joined(
        [pen.grain(u, v, 0.9 + c, 0.8, 3 * c, 6) for u, v, c in strewn(pen, count(pen, 60, 8, 20), 0.74)],
        style(fill=mix(pen.look.fill, pen.look.line, 0.45)),
    )
    yield from gleam(pen, 0.7)
