"""What each kind of piece looks like from above.  Millimetres.

An outline lies about its middle, its long axis away from the reader (+y), so that the
box round it is exactly width x length.  Irregular kinds come in a few fixed variants,
chosen by :func:`variant` from the component's key and the piece's number: the same
spec gives the same shards on every machine.
"""

from __future__ import annotations

import hashlib
import math
from functools import lru_cache

from platecard.layout.geometry2d import Outline

VARIANTS = 12
IRREGULAR = frozenset({"shard", "crumb", "frond", "foam"})
POINTED = frozenset({"leaf", "frond", "flower", "wedge"})
"""Kinds with a tip, which look outward unless the chef says otherwise."""
ROUND = frozenset({"disc", "dot", "pool"})
OWN_EDGE = IRREGULAR | {"ring", "swipe", "drizzle", "outline"}
"""Kinds whose outline cannot be drawn smaller to stay inside them."""
_HOLE, _SLIT = 0.6, 0.02  # a ring's hole as a share of it where nobody says; mm: the cut that makes a ring one outline


def chance(*key: object):
    """An endless row of numbers from 0 to 1 that depends on ``key`` alone."""
    text = "\x1f".join(map(str, key)).encode()
    turn = 0
    while True:
        block = hashlib.blake2b(text, digest_size=64, salt=turn.to_bytes(8, "big")).digest()
        for i in range(0, 64, 4):
            yield int.from_bytes(block[i : i + 4], "big") / 2**32
        turn += 1


def variant(key: str, index: int) -> int:
    """Which variant of an irregular kind this piece is: all twelve in turn, so that neighbours differ."""
    return (int(next(chance(key)) * VARIANTS) + 5 * index) % VARIANTS


def outline(shape: str, length_mm: float, width_mm: float, which: int = 0, hole_mm: float | None = None) -> Outline:
    """The outline of a piece, anticlockwise, its box exactly ``width_mm`` x ``length_mm``."""
    if shape == "ring":
        return ring(float(length_mm), float(width_mm), float(hole_mm or _HOLE * min(length_mm, width_mm)))
    return _outline(shape, float(length_mm), float(width_mm), which % VARIANTS if shape in IRREGULAR else 0)


@lru_cache(maxsize=256)
def ring(length: float, width: float, hole: float) -> Outline:
    """A ring as one outline: round the outside, through a cut finer than a hair, and back round the hole.

    The first half of the points is the outside.
    """
    wall = (min(length, width) - hole) / 2
    count = 48 if max(length, width) < 90 else 96
    start = 2 * math.pi * 2.5 / count  # the cut lies between two points, so that the box keeps its corners

    def round_(a: float, b: float) -> list:
        cut = min(0.2 / count, _SLIT / (2 * max(min(a, b), _SLIT)))
        angles = [start + cut, *(2 * math.pi * (i + 3) / count for i in range(count)), start + 2 * math.pi - cut]
        return [(a * math.cos(t), b * math.sin(t)) for t in angles]

    outside, inside = round_(width / 2, length / 2), round_(width / 2 - wall, length / 2 - wall)
    return tuple(outside + inside[::-1])


def fitted(points, length_mm: float, width_mm: float) -> Outline:
    """A free outline about its middle, anticlockwise, stretched to width x length."""
    turn = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, (*points[1:], points[0])))
    return _fitted(points if turn >= 0 else tuple(points)[::-1], length_mm, width_mm)


@lru_cache(maxsize=4096)
def _outline(shape: str, length: float, width: float, which: int) -> Outline:
    match shape:
        case "disc" | "dot" | "pool":
            points = _ellipse(length, width)
        case "bar":
            return _block(length, width, 0.22)
        case "cube":
            return _block(length, width, 0.12)
        case "drizzle":
            return _block(length, width, 0.48)
        case _:
            points = _DRAWN[shape](which)
    return _fitted(points, length, width)


def _fitted(points, length: float, width: float) -> Outline:
    """Points stretched and moved so that their box is width x length about the origin."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    left, right, near, far = min(xs), max(xs), min(ys), max(ys)
    kx, ky = width / (right - left), length / (far - near)
    mx, my = (left + right) / 2, (near + far) / 2
    return tuple([((x - mx) * kx, (y - my) * ky) for x, y in points])


def _ellipse(length: float, width: float) -> list:
    """More points the larger it is: an edge is never more than about 0.1 mm off the curve."""
    size = max(length, width)
    count = 24 if size < 14 else 48 if size < 90 else 96
    return [(math.cos(2 * math.pi * i / count), math.sin(2 * math.pi * i / count)) for i in range(count)]


def _block(length: float, width: float, softness: float) -> Outline:
    """A rectangle whose corners a knife and a fingertip have rounded, by at most 2 mm."""
    r = min(2.0, softness * min(length, width))
    corners = ((1, -1, 270), (1, 1, 0), (-1, 1, 90), (-1, -1, 180))
    points = []
    for sx, sy, start in corners:
        cx, cy = sx * (width / 2 - r), sy * (length / 2 - r)
        for step in range(5):
            a = math.radians(start + 22.5 * step)
            points.append((cx + r * math.cos(a), cy + r * math.sin(a)))
    return _fitted(points, length, width)


def _along(profile, count: int = 24) -> list:
    """An outline from its half widths: ``profile(s)`` gives (left, right) for s from -1 (foot) to 1 (tip).

    The steps lie closer at the ends, where the outline turns.
    """
    right, left = [], []
    for i in range(count + 1):
        s = -math.cos(math.pi * i / count)
        w_left, w_right = profile(s)
        right.append((w_right, s))
        left.append((-w_left, s))
    points = right + left[::-1]
    # At a pointed end both sides give the same point.
    kept = [p for p, q in zip(points, points[1:] + points[:1]) if math.dist(p, q) > 1e-6]
    return kept


def _slice(which: int) -> list:
    """A cut slice: the left side flatter, where skin, rind or crust runs; the right side fuller."""
    return _along(lambda s: ((1 - abs(s) ** 4.5) ** (1 / 3.2) * 0.86, (1 - abs(s) ** 2.5) ** (1 / 2.3)))


def _quenelle(which: int) -> list:
    """Two blunt points and full flanks, as two spoons leave it."""

    def half(s):
        w = (1 - s * s) ** 0.68
        return w, w

    return _along(half)


def _leaf(which: int) -> list:
    """Broad below the middle, a drawn-out tip, one side a little fuller than the other."""

    def half(s):
        t = (s + 1) / 2
        w = (t**0.62 * (1 - t) ** 0.95) * (1.0 + 0.25 * t)
        return w, w * 0.9

    return _along(half)


def _swipe(which: int) -> list:
    """One pull of the spoon: full where it is set down, thinning out to where it lifts."""

    def half(s):
        t = (s + 1) / 2
        w = (1 - 0.68 * t**1.15) * min(1.0, t / 0.09) ** 0.5 * min(1.0, (1 - t) / 0.03) ** 0.5
        return w, w * (1 - 0.06 * math.sin(5 * t))

    return _along(half, 56)


def _foam(which: int) -> list:
    """A spoonful of bubbles: round, with a soft, uneven edge."""
    dice = chance("foam", which)
    bumps, shift = 9 + int(next(dice) * 4), 6 * next(dice)
    return [
        (
            (0.95 + 0.05 * math.sin(bumps * a + shift)) * math.cos(a),
            (0.95 + 0.05 * math.sin(bumps * a + shift)) * math.sin(a),
        )
        for a in (2 * math.pi * i / 72 for i in range(72))
    ]


def _fillet(which: int) -> list:
    """Fish or meat off the bone: a broad head end, tapering to the tip."""

    def half(s):
        body = max(0.0, 1 - abs(s) ** 3.4) ** (1 / 2.1)
        taper = 1 - 0.24 * (s + 1) / 2 - 0.20 * max(0.0, s) ** 2
        return body * taper, body * taper * (0.93 - 0.05 * math.sin(2.2 * s))

    return _along(half)


def _wedge(which: int) -> list:
    """A cut from something round: two straight sides to the tip, a bowed back at the foot."""
    half = math.radians(26)
    back = [(math.sin(a), -math.cos(a)) for a in (half * (i / 8 - 1) for i in range(17))]
    tip = [(0.035, -0.03), (0.0, 0.0), (-0.035, -0.03)]
    return back + tip


def _shard(which: int) -> list:
    """A broken piece of something thin: five to seven straight edges, no two alike."""
    dice = chance("shard", which)
    corners = 5 + int(next(dice) * 3)
    points = []
    for i in range(corners):
        a = 2 * math.pi * (i + 0.62 * (next(dice) - 0.5)) / corners
        # Between a box and an ellipse: broken edges run to the ends, not to a circle.
        r = (0.86 + 0.14 * next(dice)) / max(abs(math.cos(a)), abs(math.sin(a))) ** 0.6
        points.append((r * math.cos(a), r * math.sin(a)))
    return points


def _crumb(which: int) -> list:
    """A rough little lump."""
    dice = chance("crumb", which)
    return [
        ((0.78 + 0.22 * next(dice)) * math.cos(a), (0.78 + 0.22 * next(dice)) * math.sin(a))
        for a in (2 * math.pi * i / 10 for i in range(10))
    ]


def _frond(which: int) -> list:
    """A feathered herb: barbs in pairs that shorten towards the tip, leaning forward.

    Built so that it runs steadily up one side and down the other, and so never crosses itself.
    """
    dice = chance("frond", which)
    pairs = 6

    def side(sign):
        points = []
        for k in range(pairs):
            foot = k / (pairs + 0.5)
            reach = math.sin(math.pi * (0.16 + 0.74 * k / (pairs - 1))) * (0.82 + 0.18 * next(dice))
            points.append((sign * 0.05, foot))
            points.append((sign * reach, foot + (0.55 + 0.35 * next(dice)) / (pairs + 0.5)))
        points.append((sign * 0.06, pairs / (pairs + 0.5)))
        return points

    stalk = [(-0.05, -0.16), (0.05, -0.16)]
    return stalk + side(1) + [(0.0, 1.06)] + side(-1)[::-1]


def barbs(outline: Outline) -> tuple[Outline, list[tuple]]:
    """The stem of a frond's outline, from foot to tip, and its barbs as pairs (foot, end), wherever it lies."""
    pairs = (len(outline) - 5) // 4
    right, tip, left = outline[2 : 3 + 2 * pairs], outline[3 + 2 * pairs], outline[: 3 + 2 * pairs : -1]

    def middle(a, b):
        return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2

    found = []
    for k in range(pairs):
        foot = middle(right[2 * k], left[2 * k])
        found += [(foot, right[2 * k + 1]), (foot, left[2 * k + 1])]
    return (middle(outline[0], outline[1]), *(middle(right[2 * k], left[2 * k]) for k in range(pairs)), tip), found


def _flower(which: int) -> list:
    """Five round petals, one of them at the tip."""
    return [
        (r * math.sin(a), r * math.cos(a))
        for a, r in (
            (-2 * math.pi * i / 60, 0.66 + 0.34 * abs(math.cos(2.5 * 2 * math.pi * i / 60)) ** 0.7) for i in range(60)
        )
    ]


_DRAWN = {
    "slice": _slice,
    "quenelle": _quenelle,
    "leaf": _leaf,
    "fillet": _fillet,
    "wedge": _wedge,
    "shard": _shard,
    "crumb": _crumb,
    "frond": _frond,
    "flower": _flower,
    "swipe": _swipe,
    "foam": _foam,
}
SHAPES = frozenset(_DRAWN) | ROUND | {"bar", "cube", "ring", "drizzle"}
"""All kinds but the free outline, which is nobody's but its own."""
