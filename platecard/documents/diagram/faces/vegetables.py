"""Vegetables and mushrooms: skins, rings, rays, ribs, leaves, and what the fire does to them."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platecard.documents.diagram.colours import lightness, mix
from platecard.documents.diagram.faces.tools import count, on, own_turn, rim, second, strewn, third, to_middle
from platecard.documents.diagram.pen import BED, DETAIL, Pen, evenly, joined, style
from platecard.drawing.scene import Circle, Item
from platecard.layout import shapes
from platecard.layout.geometry2d import Point


def seeded(pen: Pen) -> Iterator[Item]:
    """Cucumber: a green skin, and pale seeds in three clusters."""
    yield rim(pen, second(pen), 0.94, 0.6)
    spin = own_turn(pen)
    seeds = []
    for k in range(3):
        for off, r in ((-0.36, 0.46), (0.0, 0.56), (0.36, 0.46)):
            a = spin + k * 2 * math.pi / 3 + off
            u, v = on(r, a)
            (x, y), (x0, y0) = pen.at(u, v), pen.at(0, 0)
            seeds.append(pen.grain(u, v, 0.26 * pen.small, 0.1 * pen.small, math.atan2(y - y0, x - x0)))
    yield joined(seeds, style(fill=third(pen), stroke=mix(pen.look.tone, second(pen), 0.4), width=DETAIL))


def pithy(pen: Pen) -> Iterator[Item]:
    """Courgette: a thin dark skin, firm flesh, and a soft middle full of small seeds."""
    yield rim(pen, second(pen), 0.95, 0.7)
    yield pen.ring(0.56, style(fill=third(pen), fill_opacity=0.55))
    yield joined(
        [
            pen.grain(
                *on(0.2 + 0.24 * (i % 2), own_turn(pen) + i * 0.63), 0.11 * pen.small, 0.06 * pen.small, i * 0.63, 6
            )
            for i in range(10)
        ],
        style(fill="#fbfaec", stroke=pen.look.tone, width=0.12),
    )


def rings(pen: Pen) -> Iterator[Item]:
    """Leek, onion, beetroot: coat within coat; burnt outside where it has a third colour."""
    if not pen.radius:
        # Cut lengthwise or into wedges, the coats follow the outline.
        for share in (0.74, 0.5, 0.26):
            yield pen.ring(share, style(stroke=second(pen), width=0.34))
    else:
        dark = style(stroke=second(pen), width=0.38)
        for i, share in enumerate((0.78, 0.58, 0.38, 0.18)):
            yield Circle(
                *pen.at(*on(0.05 * i, own_turn(pen))),
                share * pen.radius,
                style(fill=mix(pen.look.fill, "#ffffff", 0.14 * (i + 1)), stroke=second(pen), width=0.38)
                if lightness(pen.look.fill) > 60
                else dark,
            )
    if pen.look.third:
        yield rim(pen, pen.look.third, 0.95, 0.9)
        yield pen.path(
            [(on(0.95, a), on(0.74, a + 0.12)) for a in (own_turn(pen) + 1.3 * i for i in range(4))],
            style(stroke=pen.look.third, width=0.5),
        )


def locules(pen: Pen) -> Iterator[Item]:
    """Tomato: walls, and chambers of jelly with pale seeds."""
    spin, seeds = own_turn(pen), []
    jelly: list[list[Point]] = []
    if pen.radius:
        for i in range(5):
            a, half = spin + 2 * math.pi * i / 5, 0.42
            jelly.append(
                [
                    pen.at(*on(r, a + off))
                    for r, off in ((0.26, 0.0), (0.5, -half), (0.78, -half), (0.84, 0.0), (0.78, half), (0.5, half))
                ]
            )
            seeds += [
                pen.grain(*on(r, a + off), 0.13 * pen.small, 0.07 * pen.small, a, 6)
                for r, off in ((0.5, 0.0), (0.68, -0.22), (0.68, 0.22))
            ]
    else:
        jelly = [
            [
                pen.at(u + side * 0.1, v)
                for u, v in ((side * 0.12, 0.5), (side * 0.5, -0.1), (side * 0.42, -0.62), (side * 0.1, -0.5))
            ]
            for side in (-1, 1)
        ]
        seeds = [
            pen.grain(side * 0.34, v, 0.14 * pen.small, 0.08 * pen.small, 1.3, 6)
            for side in (-1, 1)
            for v in (0.05, -0.25, -0.5)
        ]
    yield joined(jelly, style(fill=second(pen), stroke=mix(pen.look.fill, pen.look.line, 0.4), width=DETAIL))
    yield joined(seeds, style(fill=third(pen)))


def rays(pen: Pen) -> Iterator[Item]:
    """Radish and turnip: a coloured skin round white, with fine rays from the middle."""
    yield rim(pen, second(pen), 0.93, 0.85)
    fine = style(stroke=mix(pen.look.fill, pen.look.tone, 0.75), width=0.16)
    spin = own_turn(pen)
    yield pen.path([(on(0.24, a), on(0.7, a)) for a in (spin + math.pi * i / 6 for i in range(12))], fine)
    if pen.radius:
        yield pen.ring(0.2, fine)


def cored_round(pen: Pen) -> Iterator[Item]:
    """A round of carrot: its lighter core, and rays."""
    yield pen.ring(0.46, style(fill=second(pen), stroke=pen.look.tone, width=DETAIL))
    yield pen.path(
        [(on(0.5, a), on(0.84, a)) for a in (own_turn(pen) + math.pi * i / 5 for i in range(10))], pen.detail
    )


def tapered(pen: Pen) -> Iterator[Item]:
    """A carrot, halved along its length: the paler core, and the fine scars across its skin."""
    yield pen.path(
        [[(-0.26, -0.92), (-0.3, 0.2), (-0.06, 0.9), (0.06, 0.9), (0.3, 0.2), (0.26, -0.92)]],
        style(fill=second(pen), fill_opacity=0.9),
        True,
    )
    yield pen.path(
        [[(side * 0.5, v), (side * 0.86, v + 0.03)] for side in (-1, 1) for v in (-0.66, -0.3, 0.12, 0.5)],
        style(stroke=pen.look.line, width=0.24),
    )
    yield pen.path([[(0.0, -0.86), (0.02, 0.8)]], pen.detail)


def spear(pen: Pen) -> Iterator[Item]:
    """Asparagus: the closed scales of the tip, and single ones down the stem."""
    scales = [
        [(-0.8, 0.4), (-0.3, 0.7), (0.0, 1.0), (0.3, 0.7), (0.8, 0.4), (0.0, 0.52)],
        [(-0.7, 0.1), (-0.2, 0.42), (0.0, 0.56), (0.06, 0.28)],
        [(0.75, 0.02), (0.3, 0.34), (0.0, 0.5), (0.0, 0.22)],
    ]
    yield pen.path(scales, style(fill=second(pen), fill_opacity=0.75, stroke=pen.look.line, width=0.22), True)
    yield pen.path(
        [
            [(u - 0.42, v - 0.08), (u, v + 0.1), (u + 0.42, v - 0.08)]
            for u, v in ((-0.3, -0.12), (0.35, -0.38), (-0.3, -0.62))
        ],
        style(fill=mix(pen.look.fill, second(pen), 0.5), stroke=pen.look.line, width=0.22),
        True,
    )


def ribbed(pen: Pen) -> Iterator[Item]:
    """Celery, fennel: ribs along its whole length."""
    yield pen.curves(
        *(((u, -0.92), (u * 0.86, 0.0), (u, 0.92)) for u in (-0.68, -0.34, 0.0, 0.34, 0.68)),
        pen=style(stroke=mix(pen.look.fill, pen.look.line, 0.5), width=0.24),
    )
    yield pen.curves(((-0.5, -0.8), (-0.42, 0.0), (-0.5, 0.8)), pen=style(stroke="#ffffff", width=0.34))


def petal(pen: Pen) -> Iterator[Item]:
    """A petal of onion: a cup with veins along it and a burnt edge."""
    yield rim(pen, second(pen), 0.94, 0.6)
    yield pen.ring(0.66, style(fill=mix(pen.look.fill, pen.look.tone, 0.45), fill_opacity=0.6))
    yield pen.curves(
        *(((u * 0.4, -0.8), (u, -0.1), (u * 0.3, 0.8)) for u in (-0.46, -0.15, 0.15, 0.46)), pen=pen.detail
    )
    yield pen.path(
        [[(-0.5, -0.62), (-0.1, -0.86)], [(0.2, -0.84), (0.46, -0.66)], [(-0.14, 0.74), (0.02, 0.92)]],
        style(stroke=third(pen), width=0.8),
    )


def leaved(pen: Pen) -> Iterator[Item]:
    """A wedge of cabbage or a lettuce heart: leaf in leaf from the root, charred or dark at the edges."""
    pale = mix(pen.look.fill, "#fffde8", 0.55)
    yield pen.path(
        [[(0.0, 0.9), (-0.16, 0.3), (-0.2, -0.2), (0.0, -0.5), (0.2, -0.2), (0.16, 0.3)]],
        style(fill=pale, fill_opacity=0.9),
        True,
    )
    yield pen.curves(
        *(((0.0, 0.86), (u * 0.62, 0.0), (u, -0.66)) for u in (-0.7, -0.4, -0.12, 0.16, 0.44, 0.72)),
        ((-0.66, -0.56), (0.0, -0.76), (0.66, -0.56)),
        ((-0.4, -0.2), (0.0, -0.4), (0.4, -0.2)),
        pen=style(stroke=pen.look.line, width=0.26),
    )
    # The edges that met the heat, broken where they curl away from it.
    burnt = [to_middle(pen, p, 0.97) for p in evenly(pen.points, 40)]
    yield joined(
        [burnt[i : i + n] for i, n in ((1, 5), (8, 3), (13, 6), (22, 3), (27, 6), (35, 4))],
        style(stroke=second(pen), width=0.85),
        closed=False,
    )
    yield joined(
        [
            pen.grain(u, v, 0.1 * pen.small, 0.035 * pen.small, 1.2 + u)
            for u, v in ((-0.42, -0.5), (0.1, -0.66), (0.44, -0.46), (-0.2, 0.1), (0.2, 0.26))
        ],
        style(fill=second(pen)),
    )


def florets(pen: Pen) -> Iterator[Item]:
    """Cauliflower, broccoli: a cloud of buds on a stalk."""
    r = 0.3 * pen.small
    at = [(-0.6, 0.0), (0.6, 0.0), (-0.4, 0.46), (0.4, 0.46), (0.0, 0.62), (-0.34, -0.34), (0.34, -0.34), (0.0, 0.06)]
    yield pen.path(
        [[(-0.2, -0.3), (-0.3, -0.9), (0.3, -0.9), (0.2, -0.3)]],
        style(fill=mix(pen.look.fill, "#fdfae6", 0.5), stroke=pen.look.tone, width=DETAIL),
        True,
    )
    yield joined(
        [pen.grain(u, v, 1.3 * r, 1.3 * r, 0.0) for u, v in at],
        style(fill=pen.look.fill, stroke=pen.look.line, width=0.26),
    )
    yield joined([pen.grain(u + 0.06, v - 0.06, 0.3 * r, 0.3 * r, 0.0, 6) for u, v in at], style(fill=pen.look.tone))


def browned(pen: Pen) -> Iterator[Item]:
    """Roast roots and potatoes: brown along the edges and in patches."""
    yield rim(pen, second(pen), 0.93, 0.75)
    size = 0.16 * pen.small
    yield joined(
        [
            pen.grain(u, v, size * (0.7 + 1.3 * c), size * (0.4 + 0.4 * c), 6 * c)
            for u, v, c in strewn(pen, count(pen, 90, 4, 9), 0.66)
        ],
        style(fill=second(pen), fill_opacity=0.5),
    )


def rooty(pen: Pen) -> Iterator[Item]:
    """A big root, baked and cut: rough skin along its back, pale flesh with threads, brown where it met the pan."""
    if pen.radius:
        yield from browned(pen)
        return
    dice = shapes.chance("skin", pen.f.component, pen.f.index)
    back = [(-0.96 + 0.192 * i, -0.8 - 0.16 * math.cos(1.2 * (i - 5) / 5) + 0.07 * next(dice)) for i in range(11)]
    yield pen.path([back], style(stroke=second(pen), width=1.1))
    yield pen.path(
        [[(u, -0.62), (0.7 * u, -0.1), (0.3 * u, 0.5)] for u in (-0.62, -0.32, 0.0, 0.32, 0.62)],
        style(stroke=mix(pen.look.fill, pen.look.tone, 0.7), width=0.22),
    )
    yield joined(
        [
            pen.grain(0.85 * u, v, (0.1 + 0.12 * c) * pen.small, (0.05 + 0.04 * c) * pen.small, 6 * c)
            for u, v, c in strewn(pen, 5, 0.6)
        ],
        style(fill=second(pen), fill_opacity=0.4),
    )


def podded(pen: Pen) -> Iterator[Item]:
    """A bean in its pod: the seam, and the swell of the beans."""
    yield pen.path([[(-0.3, -0.9), (-0.36, 0.0), (-0.3, 0.9)]], style(stroke=second(pen), width=0.3))
    k = min(0.55 * pen.small, 0.26 * pen.long)
    yield joined(
        [pen.grain(0.14, v, k, k, 0.0) for v in (-0.7, -0.35, 0.0, 0.35, 0.7)], style(stroke=second(pen), width=0.2)
    )


def kernels(pen: Pen) -> Iterator[Item]:
    """Sweetcorn: rows of kernels."""
    rows, columns = max(3, min(9, round(pen.long / 6))), max(2, min(5, round(pen.wide / 6)))
    yield joined(
        [
            pen.grain(
                -0.7 + 1.4 * i / (columns - 1),
                -0.82 + 1.64 * j / (rows - 1),
                0.72 * pen.wide / columns,
                0.78 * pen.long / rows,
                math.radians(pen.f.axis_deg),
            )
            for i in range(columns)
            for j in range(rows)
        ],
        style(fill=mix(pen.look.fill, "#ffffff", 0.25), stroke=pen.look.line, width=0.2),
    )


def mushroom(pen: Pen) -> Iterator[Item]:
    """A mushroom, cut through: cap, gills and stem."""
    cap = (
        (-0.98, -0.02),
        (-0.8, 0.6),
        (0.0, 0.98),
        (0.8, 0.6),
        (0.98, -0.02),
        (0.62, -0.1),
        (0.3, 0.1),
        (0.28, -0.7),
        (0.18, -0.98),
        (-0.18, -0.98),
        (-0.28, -0.7),
        (-0.3, 0.1),
        (-0.62, -0.1),
    )
    yield from pen.own(cap, pen.look.fill)
    yield pen.path(
        [[(side * 0.84, 0.0), (side * 0.5, 0.32), (side * 0.3, 0.14), (side * 0.56, -0.02)] for side in (-1, 1)],
        style(fill=second(pen)),
        True,
    )
    yield pen.path([[(-0.14, -0.84), (-0.12, 0.3)], [(0.12, -0.84), (0.12, 0.3)]], pen.detail)


def chanterelle(pen: Pen) -> Iterator[Item]:
    """A chanterelle: a frilled funnel, with ridges that run down into its stem."""
    funnel = (
        (-0.18, 0.98),
        (0.16, 0.96),
        (0.2, 0.5),
        (0.42, 0.05),
        (0.94, -0.42),
        (0.98, -0.74),
        (0.62, -0.82),
        (0.4, -0.98),
        (0.05, -0.84),
        (-0.3, -0.99),
        (-0.56, -0.8),
        (-0.96, -0.76),
        (-0.92, -0.4),
        (-0.44, 0.05),
        (-0.22, 0.5),
    )
    yield from pen.own(funnel, pen.look.fill)
    yield pen.curves(
        *(((u * 0.12, 0.66), (u * 0.34, 0.0), (u * 0.86, -0.5)) for u in (-0.9, -0.45, 0.0, 0.45, 0.9)),
        pen=style(stroke=second(pen), width=0.34),
    )
    yield pen.curves(
        ((-0.8, -0.62), (0.0, -0.7), (0.8, -0.62)), pen=style(stroke=mix(pen.look.fill, "#fff4d0", 0.6), width=0.5)
    )


def petals(pen: Pen) -> Iterator[Item]:
    """A courgette flower with its courgette, in batter: the fruit at the foot, the petals drawn out to points."""
    fruit = ((0.0, -1.0), (0.38, -0.9), (0.5, -0.5), (0.36, -0.16), (-0.36, -0.16), (-0.5, -0.5), (-0.38, -0.9))
    yield from pen.own(fruit, second(pen))
    yield pen.curves(
        ((-0.2, -0.88), (-0.28, -0.5), (-0.18, -0.2)),
        ((0.14, -0.9), (0.22, -0.5), (0.14, -0.2)),
        pen=style(stroke=mix(second(pen), "#f4f6d8", 0.6), width=0.34),
    )
    flower = (
        (-0.4, -0.24),
        (0.4, -0.24),
        (0.86, 0.16),
        (0.98, 0.5),
        (0.72, 0.78),
        (0.4, 0.66),
        (0.08, 1.0),
        (-0.26, 0.7),
        (-0.7, 0.84),
        (-0.98, 0.46),
        (-0.84, 0.14),
    )
    yield from pen.own(flower, pen.look.fill)
    yield pen.curves(
        *(((u * 0.34, -0.16), (u * 0.7, 0.2), (u * 0.8, 0.6)) for u in (-0.9, -0.35, 0.1, 0.5, 0.9)),
        pen=style(stroke=third(pen), width=0.34),
    )
    yield joined(
        [
            pen.grain(u, v, 2.4, 2.0, 0.0, 7)
            for u, v in ((-0.5, 0.3), (0.16, 0.36), (0.6, 0.36), (-0.14, 0.06), (0.3, 0.0))
        ],
        style(fill=mix(pen.look.fill, "#fff2d0", 0.5), stroke=third(pen), width=0.22),
    )


def _leaf_edge(share: float, teeth: int) -> list[Point]:
    """The outline of a leaf with so many notches on each side, each a share of the half width deep."""
    right = []
    for i in range(2 * teeth + 1):
        v = -0.96 + 1.92 * i / (2 * teeth)
        t = (v + 1) / 2
        u = 2.1 * t**0.62 * (1 - t) ** 0.85 * (1.0 if i % 2 else 1 - share)
        right.append((min(0.98, u), v))
    return [(0.0, -1.0), *right[1:-1], (0.0, 1.0), *((-u, v) for u, v in right[-2:0:-1])]


def toothed(pen: Pen) -> Iterator[Item]:
    """Mint, shiso, nettle: a toothed edge, and veins that sink into the leaf."""
    edge = [[pen.at(u, v) for u, v in _leaf_edge(0.14, 7)]]
    if pen.look.bed:
        yield joined(edge, style(stroke="#ffffff", width=BED))
    yield joined(edge, style(fill=pen.look.fill, stroke=pen.look.line, width=pen.width))
    yield pen.path([[(0.0, -1.0), (0.0, 0.86)]], style(stroke=pen.look.line, width=0.26))
    yield pen.path(
        [
            [(0.0, v), (s * 0.62 * (1 - 0.4 * max(0.0, v)), v + 0.3)]
            for s in (-1, 1)
            for v in (-0.72, -0.44, -0.14, 0.16)
        ],
        style(stroke=mix(pen.look.fill, "#fdfbe4", 0.5), width=0.24),
    )


def lobed(pen: Pen) -> Iterator[Item]:
    """Rocket, parsley, oak leaf: deep lobes along a pale rib."""
    yield from pen.own(_leaf_edge(0.5, 4), pen.look.fill)
    pale = mix(pen.look.fill, "#fdfbe4", 0.55)
    yield pen.path([[(0.0, -1.0), (0.0, 0.84)]], style(stroke=pale, width=0.4))
    yield pen.path(
        [[(0.0, v - 0.12), (s * 0.55, v + 0.06)] for s in (-1, 1) for v in (-0.48, 0.0, 0.46)],
        style(stroke=pale, width=0.22),
    )


def shield(pen: Pen) -> Iterator[Item]:
    """A round leaf with its veins from one point, as of nasturtium."""
    yield from pen.own([on(0.97 + 0.03 * (i % 2), math.pi * i / 9) for i in range(18)], pen.look.fill)
    yield pen.path(
        [[(0.0, -0.14), on(0.8, 2 * math.pi * i / 8)] for i in range(8)],
        style(stroke=mix(pen.look.fill, "#fdfbe4", 0.6), width=0.26),
    )
