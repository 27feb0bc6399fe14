"""Fruit, cut and whole: segments, stones, pips, drupelets."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platecard.documents.diagram.colours import DARK, lightness, mix
from platecard.documents.diagram.faces.tools import on, own_turn, rim, second, strewn, third
from platecard.documents.diagram.pen import Pen, grain, joined, smooth, style
from platecard.drawing.scene import Circle, Item, Polygon


def segments(pen: Pen) -> Iterator[Item]:
    """A round of citrus: zest, pith, and the walls of its segments."""
    yield rim(pen, second(pen), 0.96, 0.8)
    yield rim(pen, third(pen), 0.85, 0.7)
    spin = own_turn(pen)
    yield pen.path(
        [(on(0.12, a), on(0.82, a)) for a in (spin + 2 * math.pi * i / 9 for i in range(9))],
        style(stroke=third(pen), width=0.5),
    )
    yield pen.path(
        [(on(0.45, a), on(0.62, a + 0.08)) for a in (spin + 2 * math.pi * (i + 0.5) / 9 for i in range(9))], pen.detail
    )


def vesicles(pen: Pen) -> Iterator[Item]:
    """A segment of citrus: its skin along the back, and the drops of juice that run from it."""
    yield rim(pen, third(pen), 0.92, 0.5)
    yield pen.path(
        [((u * 0.5, v), (u * 0.5 + 0.12 * u, v - 0.24)) for v in (0.5, 0.15, -0.2, -0.55) for u in (-0.9, -0.1, 0.7)],
        style(stroke=pen.look.tone, width=0.3),
    )


def peel(pen: Pen) -> Iterator[Item]:
    """Peel of citrus: oil glands on the zest, pith along one side."""
    yield pen.path([[(-0.84, -0.86), (0.84, -0.86)]], style(stroke=second(pen), width=0.7))
    yield joined([pen.grain(u, v, 0.8, 0.8, 0.0, 5) for u, v, _ in strewn(pen, 6, 0.6)], style(fill=pen.look.tone))


def cored(pen: Pen) -> Iterator[Item]:
    """Apple and pear: a line of skin, and the core with its pips."""
    yield rim(pen, second(pen), 0.94)
    spin = own_turn(pen)
    if pen.radius:
        yield pen.path(
            [[on(0.5 if i % 2 else 0.18, spin + math.pi * i / 5) for i in range(10)]],
            style(fill=mix(pen.look.fill, "#fffdf0", 0.6), stroke=pen.look.tone, width=0.3),
            True,
        )
        pips = []
        for i in range(5):
            (x, y), (x0, y0) = pen.at(*on(0.26, spin + math.pi * (2 * i + 1) / 5)), pen.at(0, 0)
            pips.append(grain(x, y, 0.13 * pen.small, 0.06 * pen.small, math.atan2(y - y0, x - x0), 6))
    else:
        yield pen.curves(((-0.5, 0.3), (0.1, 0.05), (-0.5, -0.35)))
        pips = [pen.grain(-0.32, v, 0.13 * pen.small, 0.07 * pen.small, 0.6, 6) for v in (0.08, -0.14)]
    yield joined(pips, style(fill=third(pen)))


def stoned(pen: Pen) -> Iterator[Item]:
    """Peach: red where the stone lay, and threads from it out to the skin."""
    yield rim(pen, mix(second(pen), pen.look.fill, 0.3), 0.94, 0.6)
    if pen.radius:
        yield pen.ring(0.4, style(fill=second(pen), fill_opacity=0.75))
        yield pen.path(
            [(on(0.42, a), on(0.68, a)) for a in (math.pi * i / 6 for i in range(12))],
            style(stroke=second(pen), width=0.26),
        )
        return
    stone = ((0.0, 0.92), (0.24, 0.2), (0.2, -0.1), (0.0, -0.2), (-0.2, -0.1), (-0.24, 0.2))
    yield smooth([pen.at(*p) for p in stone], style(fill=second(pen), fill_opacity=0.8))
    yield pen.path(
        [((u * 0.24, -0.12), (u * 0.62, -0.56)) for u in (-1, -0.4, 0.4, 1)], style(stroke=second(pen), width=0.26)
    )


def figged(pen: Pen) -> Iterator[Item]:
    """Fig: a dark skin, a pale wall, and seeds in red flesh."""
    yield rim(pen, second(pen), 0.95, 0.8)
    yield rim(pen, third(pen), 0.82, 0.5)
    yield joined(
        [pen.grain(u, v, 0.07 * pen.small, 0.05 * pen.small, 1.0, 5) for u, v, _ in strewn(pen, 16, 0.6)],
        style(fill=third(pen)),
    )


def domed(pen: Pen) -> Iterator[Item]:
    """A round, shiny body, such as a pea, a yolk or a cherry: shaded below, with a gleam above."""
    r = pen.small / 2
    yield Circle(pen.x - 0.12 * r, pen.y - 0.14 * r, 0.76 * r, style(fill=mix(pen.look.fill, "#ffffff", 0.3)))
    yield Polygon(tuple(grain(pen.x - 0.34 * r, pen.y - 0.38 * r, 0.42 * r, 0.24 * r, -0.7)), style(fill="#ffffff"))


def crowned(pen: Pen) -> Iterator[Item]:
    """A berry with the rest of its flower, or an olive with its hole: a dark star on a shaded ball."""
    yield from domed(pen)
    yield pen.path(
        [[on(0.3 if i % 2 else 0.14, math.pi * i / 5) for i in range(10)]],
        style(fill=pen.look.line if lightness(pen.look.fill) >= DARK else "#17121c"),
        True,
    )


def drupelets(pen: Pen) -> Iterator[Item]:
    """Blackberry and raspberry: a heap of little balls, each with its own gleam."""
    r = 0.235 * pen.small
    balls = [
        (0.0, 0.0),
        *(on(0.4, own_turn(pen) + math.pi * i / 3) for i in range(6)),
        *(on(0.7, own_turn(pen) + math.pi * (i + 0.5) / 5) for i in range(10)),
    ]
    yield joined(
        [pen.grain(u, v, 1.3 * r, 1.3 * r, 0.0) for u, v in balls[::-1]],
        style(fill=mix(pen.look.fill, second(pen), 0.2), stroke=mix(pen.look.fill, "#120812", 0.6), width=0.22),
    )
    gleams = []
    for u, v in balls[:7]:
        x, y = pen.at(u, v)
        gleams.append([(x - 0.3 * r, y - 0.1 * r), (x - 0.05 * r, y - 0.35 * r)])
    yield joined(gleams, style(stroke=second(pen), width=0.3), closed=False)


def strawberry(pen: Pen) -> Iterator[Item]:
    """Half a strawberry, cut face up: heart-shaped, with its pale core, white rays and seeds at the edge."""
    heart = (
        (0.0, 1.0),
        (0.5, 0.55),
        (0.92, -0.1),
        (0.98, -0.6),
        (0.6, -0.98),
        (0.14, -0.82),
        (-0.14, -0.82),
        (-0.6, -0.98),
        (-0.98, -0.6),
        (-0.92, -0.1),
        (-0.5, 0.55),
    )
    yield from pen.own(heart, pen.look.fill)
    core = ((0.0, 0.55), (0.3, 0.0), (0.3, -0.5), (0.0, -0.62), (-0.3, -0.5), (-0.3, 0.0))
    yield smooth([pen.at(*p) for p in core], style(fill=second(pen), fill_opacity=0.9))
    yield pen.path(
        [((side * 0.36, v), (side * 0.62, v + 0.16)) for side in (-1, 1) for v in (-0.5, -0.2, 0.1)],
        style(stroke=second(pen), width=0.26),
    )
    yield joined(
        [
            pen.grain(side * u, v, 0.08 * pen.small, 0.05 * pen.small, 1.2, 5)
            for side in (-1, 1)
            for u, v in ((0.82, -0.5), (0.78, -0.05), (0.52, 0.38), (0.24, 0.76))
        ],
        style(fill=third(pen)),
    )


def nutty(pen: Pen) -> Iterator[Item]:
    """A broken nut: a lit face, and the dark skin at its foot."""
    yield Polygon(
        tuple(
            (pen.x - 0.12 * pen.small + (x - pen.x) * 0.52, pen.y - 0.14 * pen.small + (y - pen.y) * 0.52)
            for x, y in pen.points
        ),
        style(fill=mix(pen.look.fill, "#fff6e0", 0.5)),
    )
