"""Fish, shellfish, meat, eggs and cheese: flakes, grain, fat, crust, rind."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platecard.documents.diagram.colours import mix
from platecard.documents.diagram.faces.tools import beside, count, gleam, on, rim, second, strewn, third, to_middle
from platecard.documents.diagram.pen import DETAIL, Pen, grain, joined, smooth, style
from platecard.drawing.scene import Circle, Item, Polygon
from platecard.drawing.signs import hatch, lines_path
from platecard.layout import shapes
from platecard.layout.geometry2d import Point


def seared(pen: Pen) -> Iterator[Item]:
    """A seared scallop: the brown face that lay in the pan, and below it the pale, threaded side of the muscle."""
    dice = shapes.chance("crust", pen.f.component, pen.f.index)
    pale, shade = mix(pen.look.fill, "#ffffff", 0.3), mix(pen.look.fill, pen.look.line, 0.5)
    # The side is seen towards the guest: threads from the face down to the foot.
    yield joined(
        [[beside(pen, 0.8, a), beside(pen, 0.97, a)] for a in (-0.7 + 0.2 * i for i in range(18))],
        style(stroke=shade, width=0.22),
        closed=False,
    )
    d = 0.06 * pen.small
    face = [
        (x - 0.7 * d, y - d)
        for x, y in (beside(pen, 0.8 + 0.035 * next(dice), 2 * math.pi * i / 20) for i in range(20))
    ]
    yield smooth(face, style(fill=third(pen), stroke=second(pen), width=0.7))
    yield smooth([to_middle(pen, p, 0.62) for p in face[::2]], style(fill=mix(third(pen), pale, 0.4)))
    brown = []
    for i in range(9):
        r, a = 0.34 + 0.26 * next(dice), 2 * math.pi * (i + next(dice)) / 9
        x, y = beside(pen, r, a)
        brown.append(grain(x - 0.7 * d, y - d, (0.1 + 0.1 * next(dice)) * pen.small, 0.06 * pen.small, a + 1.57))
    yield joined(brown, style(fill=second(pen), fill_opacity=0.75))


def fibred(pen: Pen) -> Iterator[Item]:
    """Fine parallel threads, as in raw tuna, a raw scallop or a pineapple."""
    yield pen.curves(
        *(((-0.7 + 0.1 * (i % 2), v), (0.0, v + 0.1), (0.7, v)) for i, v in enumerate((-0.66, -0.33, 0.0, 0.33, 0.66))),
        pen=style(stroke=second(pen), width=0.3),
    )


def chevrons(pen: Pen) -> Iterator[Item]:
    """Salmon and its kin: pale lines of fat across the flesh, bent at the middle line."""
    rows = max(3, min(9, round(pen.long / 6.5)))
    lines = []
    for i in range(rows):
        v = -0.78 + 1.5 * i / (rows - 1)
        reach = 0.86 * math.sqrt(max(0.1, 1 - v * v * 0.8))
        lines.append([(-reach, v - 0.06), (-0.3, v + 0.12), (0.02, v - 0.02), (0.36, v + 0.1), (reach, v - 0.08)])
    yield pen.path(lines, style(stroke=second(pen), width=0.42))
    dark = mix(pen.look.fill, "#7a3b20", 0.45)
    yield pen.path([[(0.02, -0.84), (0.05, -0.3), (0.0, 0.3), (0.03, 0.8)]], style(stroke=dark, width=0.26))


def flaked(pen: Pen) -> Iterator[Item]:
    """A cooked fillet: broad flakes that part, with the skin or the browned edge along one side."""
    points = pen.points
    edge = points[len(points) // 2 + 3 : len(points) - 3]
    rows = max(3, min(7, round(pen.long / 11)))
    flakes, lights = [], []
    for i in range(rows):
        v = -0.74 + 1.36 * i / (rows - 1)
        reach = 0.8 - 0.22 * max(0.0, v) - 0.12 * abs(v)
        flakes.append(((-reach, v - 0.06), (0.06, v + 0.16), (reach, v - 0.1)))
        lights.append(((-reach * 0.8, v + 0.03), (0.06, v + 0.23), (reach * 0.8, v - 0.01)))
    yield pen.curves(*lights, pen=style(stroke="#ffffff", width=0.34))
    yield pen.curves(*flakes, pen=style(stroke=pen.look.line, width=0.26))
    if len(edge) > 2:
        yield Polygon(
            tuple(((x - pen.x) * 0.9 + pen.x, (y - pen.y) * 0.9 + pen.y) for x, y in edge),
            style(stroke=second(pen), width=0.6),
            closed=False,
        )


def barred(pen: Pen) -> Iterator[Item]:
    """Dark bars across: the back of a mackerel."""
    rows = max(3, min(9, round(pen.long / 8)))
    yield pen.path(
        [
            [(-0.86, v), (-0.5, v + 0.1), (-0.2, v - 0.02), (0.1, v + 0.08)]
            for v in (-0.74 + 1.4 * i / (rows - 1) for i in range(rows))
        ],
        style(stroke=second(pen), width=0.6),
    )
    yield pen.path([[(0.2, -0.85), (0.26, 0.0), (0.18, 0.82)]], pen.detail)


def prawn(pen: Pen) -> Iterator[Item]:
    """A tail of prawn or lobster: joint after joint, and the fan at its end."""
    rows = 5
    yield pen.curves(
        *(((-0.8, v), (0.0, v + 0.2), (0.8, v)) for v in (-0.72 + 1.0 * i / (rows - 1) for i in range(rows))),
        pen=style(stroke=second(pen), width=0.5),
    )
    yield pen.path([[(0.0, 0.52), (u, 0.9)] for u in (-0.5, -0.2, 0.2, 0.5)], style(stroke=second(pen), width=0.4))


def suckered(pen: Pen) -> Iterator[Item]:
    """An arm of octopus: two rows of suckers that get smaller."""
    rows = max(4, min(9, round(pen.long / 7)))
    size = min(0.3 * pen.small, 0.16 * pen.long)
    suckers = []
    for i in range(rows):
        for side in (-1, 1):
            k = size * (1 - 0.5 * i / rows)
            suckers.append(pen.grain(0.36 * side, -0.8 + 1.6 * (i + 0.25 * side) / rows, k, k, 0.0))
    yield joined(suckers, style(fill=second(pen), stroke=pen.look.line, width=0.24))


def scored(pen: Pen) -> Iterator[Item]:
    """Squid, scored in a lattice."""
    fine = style(stroke=second(pen), width=0.22, cap="butt")
    for angle in (40.0, 140.0):
        if lines := hatch(pen.points, angle, max(2.6, pen.small / 6)):
            yield lines_path(lines, fine)


def shellfish(pen: Pen) -> Iterator[Item]:
    """Oyster or mussel meat: a frilled dark mantle round a soft body."""
    yield pen.path(
        [[on(0.8 + 0.1 * (i % 2), math.pi * i / 13) for i in range(26)]], style(stroke=second(pen), width=0.45), True
    )
    yield pen.ring(0.42, style(fill=mix(pen.look.fill, "#ffffff", 0.45), stroke=pen.look.tone, width=DETAIL))


def rosy(pen: Pen) -> Iterator[Item]:
    """A roast, cut: a brown crust all round, pinker to the middle, and the grain of the meat across it."""
    yield rim(pen, second(pen), 0.96, 0.85)
    yield pen.ring(0.66, style(fill=mix(pen.look.fill, third(pen), 0.3), fill_opacity=0.7))
    rows = max(4, min(8, round(pen.long / 8)))
    yield pen.path(
        [
            [(-0.5 + 0.22 * (i % 3), v), (-0.2 + 0.22 * (i % 3), v + 0.07)]
            for i, v in enumerate(-0.66 + 1.32 * k / (2 * rows - 1) for k in range(2 * rows))
        ],
        style(stroke=third(pen), width=0.3),
    )


def skinned(pen: Pen) -> Iterator[Item]:
    """Breast or loin in slices: crisp skin and fat along one side, the grain running from it."""
    points = pen.points
    half = len(points) // 2
    side = points[half + 2 : len(points) - 2]

    def inner(k: float) -> list[Point]:
        return [((x - pen.x) * k + pen.x, (y - pen.y) * k + pen.y) for x, y in side]

    if pen.radius or len(side) < 3:
        yield rim(pen, second(pen), 0.95, 0.8)
    else:
        yield Polygon((*side, *inner(0.76)[::-1]), style(fill=third(pen)))
        yield Polygon(tuple(inner(0.96)), style(stroke=second(pen), width=0.9), closed=False)
    rows = max(3, min(7, round(pen.long / 8)))
    yield pen.curves(
        *(((-0.34, v - 0.08), (0.1, v), (0.7, v + 0.02)) for v in (-0.62 + 1.24 * i / (rows - 1) for i in range(rows))),
        pen=style(stroke=mix(pen.look.fill, pen.look.line, 0.55), width=0.22),
    )


def fatty(pen: Pen) -> Iterator[Item]:
    """Jowl, belly, ham: lean and fat in wavy layers along the slice, and a crisp edge."""
    yield pen.path(
        [
            [(u + 0.07 * math.sin(3.1 * v + 5 * u), v) for v in (-0.84, -0.5, -0.15, 0.2, 0.55, 0.84)]
            for u in (-0.42, 0.34)
        ],
        style(stroke=second(pen), width=1.0),
    )
    yield pen.path(
        [[(u + 0.06 * math.sin(4.0 * v + 4), v) for v in (-0.6, -0.2, 0.2, 0.6)] for u in (-0.06, 0.66)],
        style(stroke=second(pen), width=0.4),
    )
    points = pen.points
    side = points[len(points) // 2 + 2 : len(points) - 2]
    if len(side) > 2 and not pen.radius:
        yield Polygon(
            tuple(((x - pen.x) * 0.95 + pen.x, (y - pen.y) * 0.95 + pen.y) for x, y in side),
            style(stroke=third(pen), width=0.8),
            closed=False,
        )


def strandy(pen: Pen) -> Iterator[Item]:
    """Braised and glazed: a thick, shining glaze, and the strands of the meat where it was cut, at both ends."""
    warm = mix(pen.look.fill, "#a2512a", 0.35)
    yield pen.ring(0.8, style(fill=warm, fill_opacity=0.8))
    yield pen.path(
        [
            [(u, s * 0.96), (u + 0.03, s * (0.8 - 0.07 * (i % 3)))]
            for s in (-1, 1)
            for i, u in enumerate(-0.86 + 0.19 * k for k in range(10))
        ],
        style(stroke=second(pen), width=0.34),
    )
    yield from gleam(pen, 0.8)
    yield joined(
        [pen.grain(u, v, 0.2 * pen.small, 0.06 * pen.small, -0.5) for u, v in ((-0.3, 0.42), (0.24, -0.3), (0.4, 0.3))],
        style(fill="#ffffff", fill_opacity=0.4),
    )


def yolked(pen: Pen) -> Iterator[Item]:
    """Half an egg: the yolk in its white, and a gleam on it."""
    x, y = pen.at(0.0, -0.08)
    r = 0.29 * pen.small + 0.05 * max(pen.long, pen.wide)
    yield Circle(x, y, r, style(fill=second(pen), stroke=mix(second(pen), "#6b3a0a", 0.45), width=DETAIL))
    yield Circle(x - 0.34 * r, y - 0.4 * r, 0.18 * r, style(fill="#ffffff", fill_opacity=0.8))
    yield rim(pen, mix(pen.look.fill, pen.look.tone, 0.5), 0.9, 0.16)


def veined(pen: Pen) -> Iterator[Item]:
    """Blue cheese: patches and threads of blue."""
    size = 0.11 * pen.small + 0.8
    spots = list(strewn(pen, count(pen, 46, 7, 16), 0.76))
    yield joined(
        [
            pen.grain(u, v, size * (0.8 + 1.1 * c), size * (0.5 + 0.5 * c), 2.4 * i + c, 7)
            for i, (u, v, c) in enumerate(spots)
        ],
        style(fill=second(pen)),
    )
    reach = 0.2 * pen.small / pen.wide, 0.2 * pen.small / pen.long
    yield pen.path(
        [
            [
                (u - reach[0] * math.cos(9 * c), v - reach[1] * math.sin(9 * c)),
                (u, v),
                (u + reach[0] * math.sin(7 * c), v + reach[1] * math.cos(7 * c)),
            ]
            for u, v, c in spots
        ],
        style(stroke=second(pen), width=0.26),
    )


def holed(pen: Pen) -> Iterator[Item]:
    """Hard cheese: a rind along its foot, a few holes, small cracks."""
    yield joined(
        [
            pen.grain(u, v, (0.07 + 0.1 * c) * pen.small + 0.4, (0.06 + 0.085 * c) * pen.small + 0.34, 0.0)
            for u, v, c in strewn(pen, count(pen, 70, 4, 9), 0.66)
        ],
        style(fill=mix(pen.look.fill, second(pen), 0.45), stroke=second(pen), width=0.2),
    )
    yield pen.path([[(-0.9, -0.88), (0.9, -0.88)]], style(stroke=second(pen), width=0.7))


def milky(pen: Pen) -> Iterator[Item]:
    """Fresh cheese: white, soft at the edge, a little whey."""
    yield rim(pen, second(pen), 0.86, 0.3)
    yield pen.curves(
        ((-0.4, 0.2), (0.0, 0.36), (0.4, 0.2)),
        ((-0.2, -0.24), (0.1, -0.1), (0.36, -0.26)),
        pen=style(stroke=second(pen), width=0.26),
    )


def rinded(pen: Pen) -> Iterator[Item]:
    """A soft inside within a rind or a peel of its own colour."""
    yield rim(pen, second(pen), 0.93, 0.9)
    yield pen.ring(0.5, style(fill=mix(pen.look.fill, "#ffffff", 0.4), fill_opacity=0.7))
