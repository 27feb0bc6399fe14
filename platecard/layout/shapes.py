"""Every shape of piece, each defined once in :data:`ALL`, and its outline from above.  Millimetres.

An outline is centred on the origin with its long axis along +y, and the box round it is
exactly width x length.  Irregular shapes come in a few fixed variants, which
:func:`variant` chooses from the component's key and the piece's number: the same spec
gives the same shards on every machine.
"""

from __future__ import annotations

import hashlib
import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import lru_cache

from platecard.layout import solids
from platecard.layout.geometry2d import Outline, Point

Draws = Callable[[float, float, int], Outline]

VARIANTS = 12
_HOLE = 0.6  # the hole of a ring as a share of its size, where none is given
_SLIT = 0.02  # mm: the width of the cut that makes a ring one outline


def chance(*key: object) -> Iterator[float]:
    """An endless series of numbers from 0 up to 1 that depends on ``key`` alone."""
    text = "\x1f".join(map(str, key)).encode()
    turn = 0
    while True:
        block = hashlib.blake2b(text, digest_size=64, salt=turn.to_bytes(8, "big")).digest()
        for i in range(0, 64, 4):
            yield int.from_bytes(block[i : i + 4], "big") / 2**32
        turn += 1


def variant(key: str, index: int) -> int:
    """Which variant of an irregular shape this piece is: all twelve in turn, so that neighbours differ."""
    return (int(next(chance(key)) * VARIANTS) + 5 * index) % VARIANTS


def outline(shape: str, length_mm: float, width_mm: float, which: int = 0, hole_mm: float | None = None) -> Outline:
    """The outline of a piece, anticlockwise; the box round it is exactly ``width_mm`` x ``length_mm``."""
    kind = _BY_NAME[shape]
    if kind.has_hole:
        return ring(float(length_mm), float(width_mm), float(hole_mm or _HOLE * min(length_mm, width_mm)))
    return _outline(shape, float(length_mm), float(width_mm), which % VARIANTS if kind.is_irregular else 0)


@lru_cache(maxsize=256)
def ring(length: float, width: float, hole: float) -> Outline:
    """A ring as a single outline: round the outside, through a hair-fine cut, and back round the hole.

    The first half of the points are those of the outside.
    """
    wall = (min(length, width) - hole) / 2
    count = 48 if max(length, width) < 90 else 96
    start = 2 * math.pi * 2.5 / count  # the cut lies between two points, so that the box keeps its size

    def round_(a: float, b: float) -> list[Point]:
        cut = min(0.2 / count, _SLIT / (2 * max(min(a, b), _SLIT)))
        angles = [start + cut, *(2 * math.pi * (i + 3) / count for i in range(count)), start + 2 * math.pi - cut]
        return [(a * math.cos(t), b * math.sin(t)) for t in angles]

    outside, inside = round_(width / 2, length / 2), round_(width / 2 - wall, length / 2 - wall)
    return tuple(outside + inside[::-1])


def fitted(points: Sequence[Point], length_mm: float, width_mm: float) -> Outline:
    """A free outline centred on the origin, anticlockwise, stretched to width x length."""
    turn = sum(x0 * y1 - x1 * y0 for (x0, y0), (x1, y1) in zip(points, (*points[1:], points[0])))
    return _fitted(points if turn >= 0 else tuple(points)[::-1], length_mm, width_mm)


@lru_cache(maxsize=4096)
def _outline(shape: str, length: float, width: float, which: int) -> Outline:
    draws = _BY_NAME[shape].draws
    if draws is None:
        raise ValueError(f"the outline of a {shape} is given corner by corner")
    return draws(length, width, which)


def _fitted(points: Sequence[Point], length: float, width: float) -> Outline:
    """The points moved and stretched so that their box is width x length, centred on the origin."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    left, right, near, far = min(xs), max(xs), min(ys), max(ys)
    kx, ky = width / (right - left), length / (far - near)
    mx, my = (left + right) / 2, (near + far) / 2
    return tuple([((x - mx) * kx, (y - my) * ky) for x, y in points])


def _ellipse(length: float, width: float, which: int) -> Outline:
    """A circle to be stretched: the larger the piece, the more points, so that no edge is over 0.1 mm off the curve."""
    size = max(length, width)
    count = 24 if size < 14 else 48 if size < 90 else 96
    points = [(math.cos(2 * math.pi * i / count), math.sin(2 * math.pi * i / count)) for i in range(count)]
    return _fitted(points, length, width)


def _block(length: float, width: float, softness: float) -> Outline:
    """A rectangle with its corners rounded as by knife and fingertip, by at most 2 mm."""
    r = min(2.0, softness * min(length, width))
    corners = ((1, -1, 270), (1, 1, 0), (-1, 1, 90), (-1, -1, 180))
    points = []
    for sx, sy, start in corners:
        cx, cy = sx * (width / 2 - r), sy * (length / 2 - r)
        for step in range(5):
            a = math.radians(start + 22.5 * step)
            points.append((cx + r * math.cos(a), cy + r * math.sin(a)))
    return _fitted(points, length, width)


def _along(profile: Callable[[float], tuple[float, float]], count: int = 24) -> list[Point]:
    """An outline from its half widths: ``profile(s)`` gives (left, right) for s from -1 (foot) to 1 (tip).

    The steps lie closer at the ends, where the outline turns.
    """
    right: list[Point] = []
    left: list[Point] = []
    for i in range(count + 1):
        s = -math.cos(math.pi * i / count)
        w_left, w_right = profile(s)
        right.append((w_right, s))
        left.append((-w_left, s))
    points = right + left[::-1]
    # At a pointed end both sides give the same point, which must not be there twice.
    return [p for p, q in zip(points, points[1:] + points[:1]) if math.dist(p, q) > 1e-6]


def _slice() -> list[Point]:
    """A cut slice: flatter on the left, where the skin, rind or crust is, and fuller on the right."""
    return _along(lambda s: ((1 - abs(s) ** 4.5) ** (1 / 3.2) * 0.86, (1 - abs(s) ** 2.5) ** (1 / 2.3)))


def _quenelle() -> list[Point]:
    """A quenelle as two spoons shape it: blunt points and full flanks."""

    def half(s: float) -> tuple[float, float]:
        w = (1 - s * s) ** 0.68
        return w, w

    return _along(half)


def _leaf() -> list[Point]:
    """A leaf: broad below the middle, with a drawn-out tip, one side a little fuller than the other."""

    def half(s: float) -> tuple[float, float]:
        t = (s + 1) / 2
        w = (t**0.62 * (1 - t) ** 0.95) * (1.0 + 0.25 * t)
        return w, w * 0.9

    return _along(half)


def _swipe() -> list[Point]:
    """A swipe, one pull of the spoon: full where it is set down, thinning out to where it lifts."""

    def half(s: float) -> tuple[float, float]:
        t = (s + 1) / 2
        w = (1 - 0.68 * t**1.15) * min(1.0, t / 0.09) ** 0.5 * min(1.0, (1 - t) / 0.03) ** 0.5
        return w, w * (1 - 0.06 * math.sin(5 * t))

    return _along(half, 56)


def _foam(which: int) -> list[Point]:
    """A spoonful of foam: round, with a soft, uneven edge."""
    dice = chance("foam", which)
    bumps, shift = 9 + int(next(dice) * 4), 6 * next(dice)
    return [
        (
            (0.95 + 0.05 * math.sin(bumps * a + shift)) * math.cos(a),
            (0.95 + 0.05 * math.sin(bumps * a + shift)) * math.sin(a),
        )
        for a in (2 * math.pi * i / 72 for i in range(72))
    ]


def _fillet() -> list[Point]:
    """A fillet of fish or meat: a broad head end, tapering to the tip."""

    def half(s: float) -> tuple[float, float]:
        body = max(0.0, 1 - abs(s) ** 3.4) ** (1 / 2.1)
        taper = 1 - 0.24 * (s + 1) / 2 - 0.20 * max(0.0, s) ** 2
        return body * taper, body * taper * (0.93 - 0.05 * math.sin(2.2 * s))

    return _along(half)


def _wedge() -> list[Point]:
    """A wedge cut from something round: two straight sides that meet at the tip, and a bowed back at the foot."""
    half = math.radians(26)
    back = [(math.sin(a), -math.cos(a)) for a in (half * (i / 8 - 1) for i in range(17))]
    tip = [(0.035, -0.03), (0.0, 0.0), (-0.035, -0.03)]
    return back + tip


def _shard(which: int) -> list[Point]:
    """A shard of something thin: five to seven straight edges, no two alike."""
    dice = chance("shard", which)
    corners = 5 + int(next(dice) * 3)
    points = []
    for i in range(corners):
        a = 2 * math.pi * (i + 0.62 * (next(dice) - 0.5)) / corners
        # Between a rectangle and an ellipse: broken edges run out to the ends, and do not follow a curve.
        r = (0.86 + 0.14 * next(dice)) / max(abs(math.cos(a)), abs(math.sin(a))) ** 0.6
        points.append((r * math.cos(a), r * math.sin(a)))
    return points


def _crumb(which: int) -> list[Point]:
    """A crumb: a rough little lump."""
    dice = chance("crumb", which)
    return [
        ((0.78 + 0.22 * next(dice)) * math.cos(a), (0.78 + 0.22 * next(dice)) * math.sin(a))
        for a in (2 * math.pi * i / 10 for i in range(10))
    ]


def _frond(which: int) -> list[Point]:
    """A frond of a feathery herb: pairs of barbs that lean forward and shorten towards the tip.

    The outline runs steadily up one side and down the other, so it never crosses itself.
    """
    dice = chance("frond", which)
    pairs = 6

    def side(sign: int) -> list[Point]:
        points: list[Point] = []
        for k in range(pairs):
            foot = k / (pairs + 0.5)
            reach = math.sin(math.pi * (0.16 + 0.74 * k / (pairs - 1))) * (0.82 + 0.18 * next(dice))
            points.append((sign * 0.05, foot))
            points.append((sign * reach, foot + (0.55 + 0.35 * next(dice)) / (pairs + 0.5)))
        points.append((sign * 0.06, pairs / (pairs + 0.5)))
        return points

    stalk = [(-0.05, -0.16), (0.05, -0.16)]
    return stalk + side(1) + [(0.0, 1.06)] + side(-1)[::-1]


def barbs(outline: Outline) -> tuple[Outline, list[tuple[Point, Point]]]:
    """The stem of a frond's outline from foot to tip, and its barbs as pairs (foot, end), wherever the frond lies."""
    pairs = (len(outline) - 5) // 4
    right, tip, left = outline[2 : 3 + 2 * pairs], outline[3 + 2 * pairs], outline[: 3 + 2 * pairs : -1]

    def middle(a: Point, b: Point) -> Point:
        return (a[0] + b[0]) / 2, (a[1] + b[1]) / 2

    found = []
    for k in range(pairs):
        foot = middle(right[2 * k], left[2 * k])
        found += [(foot, right[2 * k + 1]), (foot, left[2 * k + 1])]
    return (middle(outline[0], outline[1]), *(middle(right[2 * k], left[2 * k]) for k in range(pairs)), tip), found


def _flower() -> list[Point]:
    """A flower of five round petals, one of them at the tip."""
    return [
        (r * math.sin(a), r * math.cos(a))
        for a, r in (
            (-2 * math.pi * i / 60, 0.66 + 0.34 * abs(math.cos(2.5 * 2 * math.pi * i / 60)) ** 0.7) for i in range(60)
        )
    ]


def _stretched(points: Callable[[], list[Point]]) -> Draws:
    """A shape that is the same at every size, stretched to it."""
    return lambda length, width, _: _fitted(points(), length, width)


def _varied(points: Callable[[int], list[Point]]) -> Draws:
    """A shape with variants, stretched to its size."""
    return lambda length, width, which: _fitted(points(which), length, width)


def _rounded(softness: float) -> Draws:
    """A rectangle whose corners are so soft."""
    return lambda length, width, _: _block(length, width, softness)


# --- the shapes ------------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Shape:
    """One shape: its outline, its volume, its usual height, and what a cook calls it.

    ``draws`` gives its outline from its length, its width and its variant; None where the spec gives it corner by
    corner.  Its looks stand in :mod:`platecard.documents.diagram`, from above and from the side.
    """

    name: str
    words: tuple[str, str]
    """What cards and descriptions of pictures call one, and several."""
    draws: Draws | None
    volume: solids.Solid
    share: float = 0.0
    """Its usual height as a share of its width; 0 where :attr:`high_mm` counts (practice)."""
    high_mm: float = 3.0
    """Its usual height where it is the same for every size (practice)."""
    is_round: bool = False
    is_irregular: bool = False
    """Whether it comes in variants, no two alike."""
    has_tip: bool = False
    """Whether it has a tip, which points outward unless the chef says otherwise."""
    has_hole: bool = False
    is_sauce: bool = False
    """Whether it is poured or pulled, and so never stands or leans."""
    is_solid: bool = False
    """Whether it is as thick as it is wide where it stands and its thickness is not given."""
    is_hollow: bool = False
    """Whether the middle of its box, or a point of that box, may lie outside it."""
    falls: tuple[float, float] | None = None
    """Where it falls towards where it points: up to which share of its length it is full, and how high its end is."""
    is_sheet: bool = False
    """Whether it is so thin that only its face is seen."""
    has_volume: bool = True
    """Whether its volume is certain enough to judge a weight by."""
    lightest: float = 0.2
    """The least that 1 ml of it weighs, in grams."""

    @property
    def has_own_edge(self) -> bool:
        """Whether its outline drawn smaller would not lie inside it."""
        return self.is_irregular or self.is_hollow


ALL: tuple[Shape, ...] = (
    Shape(name="disc", words=("disc", "discs"), draws=_ellipse, volume=solids.round_prism, share=0.3, is_round=True),
    Shape(name="slice", words=("slice", "slices"), draws=_stretched(_slice), volume=solids.prism, high_mm=6.0),
    Shape(name="bar", words=("bar", "bars"), draws=_rounded(0.22), volume=solids.prism, share=0.5, is_solid=True),
    Shape(
        name="quenelle",
        words=("quenelle", "quenelles"),
        draws=_stretched(_quenelle),
        volume=solids.ellipsoid(0.8),
        share=0.8,
        is_solid=True,
    ),
    Shape(name="dot", words=("dot", "dots"), draws=_ellipse, volume=solids.dome(0.3), share=0.3, is_round=True),
    Shape(
        name="shard",
        words=("shard", "shards"),
        draws=_varied(_shard),
        volume=solids.prism,
        high_mm=1.5,
        is_irregular=True,
        is_sheet=True,
        has_volume=False,
    ),
    Shape(
        name="leaf",
        words=("leaf", "leaves"),
        draws=_stretched(_leaf),
        volume=solids.sheet(0.4),
        high_mm=0.5,
        has_tip=True,
        is_sheet=True,
        has_volume=False,
    ),
    Shape(
        name="frond",
        words=("frond", "fronds"),
        draws=_varied(_frond),
        volume=solids.airy,
        high_mm=2.0,
        is_irregular=True,
        has_tip=True,
        is_sheet=True,
        has_volume=False,
    ),
    Shape(
        name="flower",
        words=("flower", "flowers"),
        draws=_stretched(_flower),
        volume=solids.airy,
        has_tip=True,
        is_sheet=True,
        has_volume=False,
    ),
    Shape(name="cube", words=("cube", "cubes"), draws=_rounded(0.12), volume=solids.prism, share=1.0, is_solid=True),
    Shape(
        name="wedge",
        words=("wedge", "wedges"),
        draws=_stretched(_wedge),
        volume=solids.prism,
        share=0.6,
        has_tip=True,
        is_solid=True,
        falls=(0.12, 0.16),
    ),
    Shape(
        name="fillet",
        words=("portion", "portions"),
        draws=_stretched(_fillet),
        volume=solids.prism,
        share=0.4,
        is_solid=True,
        falls=(0.2, 0.5),
    ),
    Shape(
        name="crumb",
        words=("crumb", "crumbs"),
        draws=_varied(_crumb),
        volume=solids.ellipsoid(0.8),
        share=0.8,
        is_irregular=True,
        has_volume=False,
    ),
    Shape(
        name="pool",
        words=("pool", "pools"),
        draws=_ellipse,
        volume=solids.round_prism,
        high_mm=2.0,
        is_round=True,
        is_sauce=True,
    ),
    Shape(
        name="ring",
        words=("ring", "rings"),
        draws=lambda length, width, _: ring(length, width, _HOLE * min(length, width)),
        volume=solids.tube,
        high_mm=4.0,
        has_hole=True,
        is_hollow=True,
    ),
    Shape(
        name="swipe",
        words=("swipe", "swipes"),
        draws=_stretched(_swipe),
        volume=solids.thinning_out,
        high_mm=2.0,
        is_sauce=True,
        is_hollow=True,
    ),
    Shape(
        name="drizzle",
        words=("drizzle", "drizzles"),
        draws=_rounded(0.48),
        volume=solids.strand(0.4),
        share=0.4,
        is_sauce=True,
        is_hollow=True,
    ),
    Shape(
        name="foam",
        words=("spoonful of foam", "spoonfuls of foam"),
        draws=_varied(_foam),
        volume=solids.dome(0.35),
        share=0.35,
        is_irregular=True,
        lightest=0.05,
    ),
    Shape(
        name="outline",
        words=("cut shape", "cut shapes"),
        draws=None,
        volume=solids.free_prism,
        is_hollow=True,
    ),
)
"""In the order in which the guide and the schema name them."""

_BY_NAME = {s.name: s for s in ALL}


def find(name: str) -> Shape | None:
    """The shape of that name, or None where there is none."""
    return _BY_NAME.get(name)


IRREGULAR = frozenset(s.name for s in ALL if s.is_irregular)
POINTED = frozenset(s.name for s in ALL if s.has_tip)
ROUND = frozenset(s.name for s in ALL if s.is_round)
OWN_EDGE = frozenset(s.name for s in ALL if s.has_own_edge)
HOLLOW = frozenset(s.name for s in ALL if s.is_hollow)
SAUCES = frozenset(s.name for s in ALL if s.is_sauce)
PULLED = SAUCES & HOLLOW
SOLID = frozenset(s.name for s in ALL if s.is_solid)
SHEETS = frozenset(s.name for s in ALL if s.is_sheet)
SHAPES = frozenset(s.name for s in ALL if s.draws is not None)
"""All shapes but the free outline, whose points the spec gives itself."""
