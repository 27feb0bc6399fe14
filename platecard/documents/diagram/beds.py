"""How what is not counted lies: a sauce with its own edge, and grains, strands, lumps or leaves as a bed with height.

The checks know a pool as a disc.  It is drawn with an edge of its own, which follows what
stands in it, about the same middle and with exactly the same area; the disc itself is the
thin film below.  Everything varies with a hash of the component alone.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator, Sequence
from typing import NamedTuple

from platecard.documents.diagram.colours import lightness, mix
from platecard.documents.diagram.pen import DETAIL, SHADOW, Pen, bedded, grain, hatched, joined, shade, smooth, style
from platecard.drawing.scene import About, Item, Polygon
from platecard.layout import shapes
from platecard.layout.geometry2d import Outline, Point, area

Bed = Callable[[Pen, About], Iterator[Item]]

FILM = 0.14  # opacity of the outline that the checks know, under food that has an edge of its own
_HIGH_MM = 8.0  # the least height of a bed, which the checks take for a sauce (practice)
_AROUND = 60  # points of an edge
_WANDERS = 0.035  # how far the edge of a sauce wanders, as a share of its radius
_CLINGS_MM = 2.4  # how far it is drawn out beside what stands in it
_GOLDEN = 2.39996  # radians
_LAYERS = 5  # neighbours in the spread of grains lie 8, 13, 21 or 34 apart, none of them a multiple of this
# A leaf of salad of length and width 1 about the origin, its tip to the right, and its ribs.
_LOBED = ((-0.5, 0.0), (-0.2, 0.3), (-0.08, 0.24), (0.08, 0.46), (0.2, 0.36), (0.34, 0.36)) + (
    (0.5, 0.0),
    (0.34, -0.38),
    (0.2, -0.3),
    (0.06, -0.48),
    (-0.08, -0.22),
    (-0.2, -0.28),
)
_RIBS = (((-0.5, 0.0), (0.38, 0.0)), ((0.0, 0.0), (0.18, 0.2)), ((0.0, 0.0), (0.18, -0.2)))


def edge(pen: Pen, wander: float = _WANDERS) -> list[Point]:
    """The edge of what is poured or strewn, on the page: uneven, drawn to what it meets, of the same area."""
    f = pen.f
    dice = shapes.chance("edge", f.component, f.step)
    r = pen.small / 2
    wander = min(wander, pen.look.room_mm / r / 2) if r else 0.0
    waves = [(k, next(dice) * 2 * math.pi, (0.5 + next(dice)) / k) for k in (2, 3, 5, 8)]
    clings = _met(pen) if wander else []
    out: list[float] = []
    for i in range(_AROUND):
        a = 2 * math.pi * i / _AROUND
        k = 1 + wander * sum(size * math.cos(n * a + at) for n, at, size in waves)
        for at, width in clings:
            off = abs((a - at + math.pi) % (2 * math.pi) - math.pi)
            if off < 3 * width:
                k += min(_CLINGS_MM / r, 0.09) * math.exp(-((off / width) ** 2))
        out.append(k)
    points = [_local(pen, k, 2 * math.pi * i / _AROUND) for i, k in enumerate(out)]
    share = math.sqrt(abs(area(f.outline)) / abs(area(tuple(points))))
    return [_local(pen, k * share, 2 * math.pi * i / _AROUND) for i, k in enumerate(out)]


def _local(pen: Pen, r: float, a: float) -> Point:
    return pen.at(r * math.cos(a), r * math.sin(a))


def _met(pen: Pen) -> list[tuple[float, float]]:
    """The directions in which the edge meets the sides of what stands in it, each with a width, in radians."""
    found = []
    r = pen.small / 2
    cx, cy = pen.f.centre
    for outline in pen.look.within:
        rows = [(math.hypot(x - cx, y - cy) - r, math.atan2(y - cy, x - cx)) for x, y in outline]
        for (d0, a0), (d1, a1) in zip(rows, rows[1:] + rows[:1]):
            if (d0 < 0) != (d1 < 0):
                at = a0 if abs(d0) < abs(d1) else a1
                found.append((at + math.radians(pen.f.axis_deg), 3.4 / r))
    return found[:12]


def _body(pen: Pen, points: Sequence[Point], about: About) -> Iterator[Item]:
    """The checked outline as a thin film, and over it the body with its own edge."""
    look = pen.look
    yield from bedded(pen)
    yield pen.body(style(fill=look.fill, fill_opacity=3 * FILM), about)
    yield smooth(points, style(fill=look.fill, stroke=mix(look.fill, look.line, 0.6), width=0.26))


def _inside(pen: Pen, points: Sequence[Point], share: float, up: float = 0.0) -> list[Point]:
    """The edge drawn again, smaller and moved towards the light."""
    d = up * pen.small
    return [(pen.x - 0.7 * d + (x - pen.x) * share, pen.y - d + (y - pen.y) * share) for x, y in points]


# --- sauces ----------------------------------------------------------------------------------------------------------


def liquid(pen: Pen, about: About) -> Iterator[Item]:
    """A sauce: a thicker lip along its edge, a lighter middle, and a gleam on its surface."""
    look = pen.look
    points = edge(pen)
    yield from _body(pen, points, about)
    if pen.small > 14:
        light = lightness(look.fill)
        pale = mix(look.fill, "#ffffff", 0.12 if light < 75 else 0.35)
        yield smooth(_inside(pen, points, 0.93, 0.005), style(fill=pale))
        yield from hatched(pen)
        gleam = style(stroke=mix(look.fill, "#ffffff", 0.75 if light < 75 else 0.95), width=0.6)
        yield joined(_upper_left(pen, points), gleam, closed=False)
    else:
        yield from hatched(pen)
        yield from gleam_dot(pen)


def _between(pen: Pen, point: Point, k: float) -> Point:
    return pen.x + (point[0] - pen.x) * k, pen.y + (point[1] - pen.y) * k


def _upper_left(pen: Pen, points: Sequence[Point]) -> list[list[Point]]:
    """Two short rows along the edge, a little within it, on the side towards the light."""
    first = max(range(len(points)), key=lambda i: -(points[i][0] - pen.x) - 1.3 * (points[i][1] - pen.y))
    return [
        [_between(pen, points[(first - back + i) % len(points)], k) for i in range(many)]
        for many, back, k in ((8, 4, 0.8), (4, 3, 0.7))
    ]


def gleam_dot(pen: Pen) -> Iterator[Item]:
    """The gleam on a drop."""
    r = pen.small / 2
    if r > 1.6:
        yield Polygon(
            tuple(grain(pen.x - 0.32 * r, pen.y - 0.36 * r, 0.62 * r, 0.34 * r, -0.75)),
            style(fill=mix(pen.look.fill, "#ffffff", 0.8)),
        )


# --- beds ------------------------------------------------------------------------------------------------------------


def _mound(pen: Pen, about: About, wander: float) -> tuple[list[Item], list[Point]]:
    """A bed with height: its body, darker at the foot and lighter towards the light."""
    look = pen.look
    points = edge(pen, wander)
    items = [pen.shadow(_HIGH_MM), *_body(pen, points, about)]
    items.append(smooth(_inside(pen, points, 0.84, 0.02), style(fill=mix(look.fill, "#ffffff", 0.22))))
    items += hatched(pen)
    return items, points


def _strewn(pen: Pen, count: int, key: str) -> Iterator[tuple[float, float, float, float]]:
    """Places spread evenly over the bed, each with its share of the way out and two numbers from 0 to 1."""
    dice = shapes.chance(key, pen.f.component, pen.f.step, pen.f.index)
    for i in range(count):
        share = (i + 0.5) / count
        r = math.sqrt(0.93 * share)
        a = _GOLDEN * i + 0.9 * (next(dice) - 0.5)
        yield r * math.cos(a), r * math.sin(a), next(dice), next(dice)


def _fit(pen: Pen, apiece_mm2: float, least: int, most: int) -> int:
    return max(least, min(most, round(abs(area(pen.f.outline)) / apiece_mm2)))


def grains(pen: Pen, about: About) -> Iterator[Item]:
    """Rice, barley, pulses, seeds, roe: grain by grain, lying every way."""
    long_mm, wide_mm = pen.look.grain_mm
    items, _ = _mound(pen, about, 0.03)
    yield from items
    count = _fit(pen, 1.35 * long_mm * wide_mm, 7, 130)
    # Where there are more than can be drawn, they are drawn larger.
    k = min(1.7, max(1.0, math.sqrt(abs(area(pen.f.outline)) / (count * 1.7 * long_mm * wide_mm))))
    shown = pen.look.second or mix(pen.look.fill, "#ffffff", 0.38)
    corners = 8 if long_mm < 1.3 * wide_mm else 6
    rows = [
        grain(*pen.at(u, v), k * long_mm * (0.85 + 0.3 * c), k * wide_mm, 6.3 * d, corners)
        for u, v, c, d in _strewn(pen, count, "grains")
    ]
    paint = style(fill=shown, stroke=mix(pen.look.fill, pen.look.line, 0.75), width=0.2)
    # In layers whose grains are not next to each other: within one path, a grain would show through the next.
    for layer in range(min(_LAYERS, count)):
        yield joined(rows[layer::_LAYERS], paint)


def lumps(pen: Pen, about: About) -> Iterator[Item]:
    """Crumble, tartare, mince: rough lumps of two tones."""
    long_mm, wide_mm = pen.look.grain_mm
    items, _ = _mound(pen, about, 0.05)
    yield from items
    rough: tuple[list[list[Point]], list[list[Point]]] = ([], [])
    dice = shapes.chance("lump", pen.f.component)
    for i, (u, v, c, d) in enumerate(_strewn(pen, _fit(pen, 1.5 * long_mm * wide_mm, 6, 80), "lumps")):
        x, y = pen.at(u, v)
        size = 0.75 + 0.6 * c
        rough[i % 2].append(
            [
                (x + size * long_mm / 2 * k * math.cos(a), y + size * wide_mm / 2 * k * math.sin(a))
                for k, a in ((0.75 + 0.35 * next(dice), d * 6 + 2 * math.pi * j / 6) for j in range(6))
            ]
        )
    line = mix(pen.look.fill, pen.look.line, 0.8)
    yield joined(rough[0], style(fill=mix(pen.look.fill, pen.look.tone, 0.5), stroke=line, width=0.2))
    yield joined(rough[1], style(fill=mix(pen.look.fill, "#ffffff", 0.3), stroke=line, width=0.2))


def strands(pen: Pen, about: About) -> Iterator[Item]:
    """Noodles: bundles of strands that curl over each other, the last of them into the middle."""
    wide_mm = pen.look.grain_mm[1]
    items, _ = _mound(pen, about, 0.04)
    yield from items
    dice = shapes.chance("strands", pen.f.component, pen.f.step, pen.f.index)
    line = mix(pen.look.fill, pen.look.line, 0.75)
    body, thread = (
        style(fill=mix(pen.look.fill, "#ffffff", 0.25), stroke=line, width=0.24),
        style(stroke=line, width=0.2),
    )
    half = min(0.17, max(0.09, 2.6 * wide_mm / pen.small))
    bundles = max(7, min(12, round(1.1 / half)))
    for i in range(bundles):
        # Each bundle bends round a middle of its own, far enough out that the bundles cross.
        far, at = (0.62, 6.3 * i / (bundles - 2) + 0.5 * next(dice)) if i < bundles - 2 else (0.12, 6.3 * next(dice))
        u, v = far * math.cos(at), far * math.sin(at)
        r = (0.5 + 0.3 * next(dice)) if i < bundles - 2 else 0.18 + 0.2 * (bundles - 1 - i)
        sweep = 2.3 + 1.2 * next(dice) if i < bundles - 2 else 4.6
        start = at + math.pi - sweep / 2
        arc = _Arc(u, v, r, start, sweep)
        yield Polygon((*arc.at(pen, half), *arc.at(pen, -half)[::-1]), body)
        yield joined([arc.at(pen, k * half) for k in (-0.5, 0.0, 0.5)], thread, closed=False)


class _Arc(NamedTuple):
    """Part of a circle in the piece's own frame: about (u, v), from an angle through another, in radians."""

    u: float
    v: float
    r: float
    start: float
    sweep: float

    def at(self, pen: Pen, wider: float) -> list[Point]:
        """Its points on the page, with a radius larger by so much; none lies outside the piece."""
        n = max(6, round(self.sweep / 0.26))
        found = []
        for j in range(n + 1):
            a = self.start + self.sweep * j / n
            p, q = self.u + (self.r + wider) * math.cos(a), self.v + (self.r + wider) * math.sin(a)
            out = max(1.0, math.hypot(p, q) / 0.97)
            found.append(pen.at(p / out, q / out))
        return found


def straws(pen: Pen, about: About) -> Iterator[Item]:
    """Straw potato and other crisp sticks: dropped across each other, with gaps between."""
    look = pen.look
    wide = max(1.1, look.grain_mm[1])
    yield pen.shadow(_HIGH_MM)
    yield from bedded(pen)
    yield pen.body(style(fill=look.fill, fill_opacity=FILM), about)
    yield pen.ring(0.86, style(fill=mix(look.fill, look.second or look.line, 0.6), fill_opacity=0.8))
    dice = shapes.chance("straws", pen.f.component, pen.f.step, pen.f.index)
    count = max(6, min(12, round(pen.small / 3.4)))
    for tone in (0.3, 0.12, 0.0):
        rows = []
        for i in range(count):
            a = math.pi * (i + next(dice)) / count + tone * 5
            off = 1.5 * (next(dice) - 0.5)
            reach = math.sqrt(1 - min(0.9, off * off))
            ends = [
                pen.at(off * math.sin(a) + s * reach * math.cos(a), -off * math.cos(a) + s * reach * math.sin(a))
                for s in (-1 + 0.3 * next(dice), 1 - 0.3 * next(dice))
            ]
            (x0, y0), (x1, y1) = ends
            far = math.dist(*ends) or 1.0
            nx, ny = -(y1 - y0) / far * wide / 2, (x1 - x0) / far * wide / 2
            rows.append([(x0 + nx, y0 + ny), (x1 + nx, y1 + ny), (x1 - nx, y1 - ny), (x0 - nx, y0 - ny)])
        yield joined(
            rows,
            style(fill=mix(look.fill, look.second or look.line, tone), stroke=look.second or look.line, width=0.16),
        )


def leaves(pen: Pen, about: About) -> Iterator[Item]:
    """A salad: leaves of three tones over each other, each with its rib."""
    long_mm, wide_mm = pen.look.grain_mm
    k = min(1.0, 0.7 * pen.small / long_mm)
    long_mm, wide_mm = long_mm * k, wide_mm * k
    look = pen.look
    yield from bedded(pen)
    yield pen.body(style(fill=look.fill, fill_opacity=FILM), about)
    tones = (mix(look.fill, look.line, 0.28), look.fill, mix(look.fill, "#f4f8c8", 0.35))
    rib = style(stroke=look.line, width=DETAIL)
    lying = []
    for u, v, c, d in list(_strewn(pen, _fit(pen, 0.36 * long_mm * wide_mm, 7, 40), "leaves"))[::-1]:
        x, y = pen.at(0.87 * u, 0.87 * v)
        turn = math.atan2(y - pen.y, x - pen.x) + 2.4 * (c - 0.5)
        lying.append((x, y, (0.8 + 0.4 * d) * long_mm, (0.8 + 0.4 * d) * wide_mm, turn))
    dx, dy = shade(pen.f, _HIGH_MM)
    yield joined([_turned(_LOBED, x + dx, y + dy, a, b, turn) for x, y, a, b, turn in lying], SHADOW)
    for i, at in enumerate(lying):
        yield Polygon(tuple(_turned(_LOBED, *at)), style(fill=tones[i % 3], stroke=look.line, width=0.24))
        yield joined([_turned(row, *at) for row in _RIBS], rib, closed=False)


def _turned(points: Sequence[Point], x: float, y: float, a: float, b: float, turn: float) -> list[Point]:
    """Points of a unit shape, stretched to ``a`` by ``b`` mm, turned, and moved to (x, y) on the page."""
    cos, sin = math.cos(turn), math.sin(turn)
    return [(x + p * a * cos - q * b * sin, y + p * a * sin + q * b * cos) for p, q in points]


def foam(pen: Pen, about: About) -> Iterator[Item]:
    """Foam: a soft heap of bubbles, large in the middle and small at the edge, each with its light."""
    look = pen.look
    yield from bedded(pen)
    yield pen.body(style(fill=look.fill, stroke=mix(look.fill, look.line, 0.55), width=0.24), about)
    yield from hatched(pen)
    large: list[list[Point]] = []
    small: list[list[Point]] = []
    lights: list[list[Point]] = []
    count = _fit(pen, 26, 10, 44)
    for u, v, c, d in _strewn(pen, count, "bubbles"):
        far = math.hypot(u, v)
        size = (1.3 + 2.4 * c * c) * (1.15 - 0.6 * far) * min(1.3, max(0.5, pen.small / 26))
        x, y = pen.at(0.95 * u, 0.95 * v)
        (large if d < 0.45 else small).append(grain(x, y, 2 * size, 2 * size, 0.0, 8))
        lights.append([(x - 0.5 * size, y - 0.1 * size), (x - 0.1 * size, y - 0.5 * size)])
    pale = mix(look.fill, "#ffffff", 0.55)
    yield joined(small, style(fill=pale, stroke=look.tone, width=0.16))
    yield joined(large, style(fill=mix(look.fill, "#ffffff", 0.75), stroke=mix(look.fill, look.line, 0.6), width=0.2))
    yield joined(lights, style(stroke="#ffffff", width=0.3), closed=False)


def swipe(pen: Pen, about: About) -> Iterator[Item]:
    """A pull of the spoon: thick where it is set down, then streaks that break up to the thin end."""
    points, look = pen.points, pen.look
    yield from bedded(pen)
    yield Polygon(points, style(fill=look.fill, fill_opacity=0.3, stroke=look.fill, width=0.12), about=about)
    yield from hatched(pen)
    rows = sides(points)
    n = len(rows)
    dice = shapes.chance("swipe", pen.f.component, pen.f.step)
    streaks, count = [], 7
    for i in range(count):
        middle = (i + 0.5) / count
        # The outer streaks are the longer ones: the spoon presses hardest in the middle.
        last = max(4, min(n - 1, round(n * (0.5 + 0.42 * next(dice) + 0.14 * abs(2 * middle - 1)))))
        half = 0.5 / count * (0.7 + 0.6 * next(dice))
        shown = range(0, last, 3)
        one: list[Point] = []
        two: list[Point] = []
        for j in shown:
            thin = max(0.12, 1 - (j / last) ** 1.6)
            (ax, ay), (bx, by) = rows[j]
            for row, side in ((one, -1), (two, 1)):
                t = middle + side * half * thin
                row.append((ax + t * (bx - ax), ay + t * (by - ay)))
        streaks.append(one + two[::-1])
    yield joined(streaks, style(fill=look.fill, stroke=mix(look.fill, look.line, 0.45), width=0.14))
    # The lip that the spoon leaves where it is set down, and the gleam behind it.
    head = rows[1 : max(5, n // 6)]
    lip = [*(_across(r, 0.06) for r in head[::-1]), *(_across(r, 0.94) for r in head)]
    yield Polygon(tuple(lip), style(stroke=mix(look.fill, look.line, 0.8), width=0.4), closed=False)
    yield joined(
        [[_across(r, 0.34) for r in head[2:]], [_across(r, 0.46) for r in head[3:-1]]],
        style(stroke=mix(look.fill, "#ffffff", 0.75), width=0.45),
        closed=False,
    )


def _across(pair: tuple[Point, Point], share: float) -> Point:
    (ax, ay), (bx, by) = pair
    return ax + share * (bx - ax), ay + share * (by - ay)


def sides(points: Outline) -> list[tuple[Point, Point]]:
    """Pairs of points on the left and right of a long outline, from its foot to its tip."""
    half = len(points) // 2
    return list(zip(points[: half - 1 : -1], points[:half]))


BEDS: dict[str, Bed] = {"grains": grains, "leaves": leaves, "lumps": lumps, "strands": strands, "straws": straws}
"""How what lies loose is drawn, by the name that the table of looks uses."""
