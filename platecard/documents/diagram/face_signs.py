"""Arrows on pieces that the chef asked to point somewhere, and which pieces cannot be seen at all.

An arrow has one meaning: the piece points this way.  Which side is up, and where a long or
flat side faces, is said in words beside the part.  Arrows are drawn on top of all food, so
each must stand on a part of its own piece that no later piece covers.  A few points of the
piece are tried in turn; if none is free, the piece gets no arrow, and the other pieces of
its component speak for it.  A piece that is
wholly covered is shown as a dotted outline on top of the food that covers it.  Lengths
are millimetres, with the plate's middle as origin and y down unless noted otherwise.
"""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from itertools import islice
from typing import NamedTuple

from platecard.documents.diagram.marks import INK, point_sign
from platecard.documents.diagram.pen import axes, risen
from platecard.drawing.scene import About, Circle, Group, Item, Polygon, Style
from platecard.layout import shapes
from platecard.layout.footprint import Footprint
from platecard.layout.geometry2d import Box, Outline, Point, box, contains, covers_square, hull, to_segment
from platecard.model import Step

DOTS, _BED = Style(stroke=INK, width=0.38, dash=(0.02, 1.1)), Style(stroke="#ffffff", width=0.8)
SIGN = 1.2  # half of a sign's side, in mm of the card
_ENOUGH = 4  # free points of a piece to choose from
_NO_ARROW = frozenset({"leaf", "frond", "flower", "wedge", "disc", "dot", "pool", "crumb", "cube", "ring", "foam"})
"""Kinds that need no arrow: their shape says where they point, or they do not point anywhere."""
# Points to try for an arrow, in half widths across and half lengths along the piece.
_FOR_WAY = (
    (0.0, 0.62),
    (-0.3, 0.6),
    (0.3, 0.6),
    (0.0, 0.3),
    (-0.4, 0.3),
    (0.4, 0.3),
    (0.0, 0.0),
    (0.0, -0.4),
    (0.0, -0.7),
)


class Sign(NamedTuple):
    """The arrow of one piece.

    ``half`` is half its length in mm, ``points`` are where it can be seen, ``way`` (of length 1) is where it points.
    """

    piece: Footprint
    half: float
    points: tuple[Point, ...]
    way: Point


# --- what lies over a piece ------------------------------------------------------------------------------------------


class Cover:
    """The food of a plate, and which pieces lie over which.

    The steps ``through`` cover nothing, because they come later.
    """

    def __init__(self, prints: Sequence[Footprint], through: frozenset[int] = frozenset()) -> None:
        self.prints = prints
        # A standing piece also hides what lies behind it.
        outlines = [
            f.outline if f.stance != "standing" else hull((*f.outline, *((x, -y) for x, y in risen(f)))) for f in prints
        ]
        boxes = [f.box if o is f.outline else box(o) for o, f in zip(outlines, prints)]
        rows = [(*b, o, b) for b, o, f in zip(boxes, outlines, prints) if f.step not in through]
        self._over: list[list[tuple[Outline, Box]]] = []
        start = 0
        for (left, near, right, far), piece in zip(boxes, prints):
            start += piece.step not in through
            self._over.append(
                [
                    (o, b)
                    for bl, bn, br, bf, o, b in rows[start:]
                    if bl <= right and left <= br and bn <= far and near <= bf
                ]
            )

    def over(self, i: int) -> list[tuple[Outline, Box]]:
        """Outlines and boxes of the later pieces whose boxes meet that of piece ``i`` (y up, as they are laid)."""
        return self._over[i]


def _covered(x: float, y: float, over: list[tuple[Outline, Box]]) -> bool:
    return any(b[0] < x < b[2] and b[1] < y < b[3] and contains(o, (x, y)) for o, b in over)


# --- signs -----------------------------------------------------------------------------------------------------------


def signs_of(
    cover: Cover, points_asked: frozenset[int], half: float, steps: frozenset[int] | None = None
) -> list[Sign]:
    """The arrows that the pieces of ``steps`` (None: of all steps) should have.

    An arrow without points cannot be seen anywhere.  ``points_asked`` are the steps whose pieces must point somewhere,
    ``half`` is half an arrow's length in mm.
    """
    signs: list[Sign] = []
    for i, f in enumerate(cover.prints):
        if f.step not in points_asked or steps is not None and f.step not in steps:
            continue
        if f.stance != "flat" or f.shape in _NO_ARROW or f.length_mm <= 12:
            continue
        (ux, uy), (vx, vy) = axes(f)
        x, y = f.centre[0], -f.centre[1]
        way = 2 * vx / f.length_mm, 2 * vy / f.length_mm
        h = min(half, 0.36 * f.width_mm)
        spots = [(x + u * ux + v * vx, y + u * uy + v * vy) for u, v in _FOR_WAY]
        signs.append(Sign(f, h, _seen(f, h, spots, cover.over(i)), way))
    return signs


def _seen(f: Footprint, half: float, spots: Iterable[Point], over: list[tuple[Outline, Box]]) -> tuple[Point, ...]:
    """The first few points at which a sign lies on its piece and under nothing else."""
    rows = (
        p
        for p in spots
        if (f.shape not in shapes.HOLLOW or contains(f.outline, (p[0], -p[1]))) and _is_free(p, half, over)
    )
    return tuple(islice(rows, _ENOUGH))


def _is_free(p: Point, half: float, over: list[tuple[Outline, Box]]) -> bool:
    if not over:
        return True
    x, y = p[0], -p[1]
    left, near, right, far = x - half, y - half, x + half, y + half
    return not any(
        b[0] < right and left < b[2] and b[1] < far and near < b[3] and covers_square(o, (x, y), half) for o, b in over
    )


def unseen(signs: Iterable[Sign]) -> list[Sign]:
    """One arrow for each component that none of its pieces can show."""
    rows = list(signs)
    shown = {s.piece.component for s in rows if s.points}
    return list({s.piece.component: s for s in rows if s.piece.component not in shown}.values())


def drawn(signs: Iterable[Sign], centre: Point, leaders: Sequence[tuple[Point, Point]] = ()) -> Iterator[Item]:
    """The arrows as items, each at its first point that is clear of the leaders and of the signs before it.

    ``leaders`` are pairs of ends.  A sign that is clear nowhere goes where it is clearest, or is left out if another
    sign of its component says the same.
    """
    rows = [s for s in signs if s.points]
    left = Counter(s.piece.component for s in rows)
    placed: list[tuple[float, float, float]] = []
    for s in rows:
        (fx, fy), reach, half = s.piece.centre, max(s.piece.length_mm, s.piece.width_mm) / 2 + 3.0, s.half
        lines = [one for one in leaders if abs(one[0][0] - fx) < reach and abs(one[0][1] + fy) < reach]
        near = [(x, y, (r + half) * 1.1) for x, y, r in placed if abs(x - fx) < 2 * reach and abs(y + fy) < 2 * reach]
        best, least = s.points[0], math.inf
        for p in s.points:
            # How many mm the point is short of being clear.
            short = max((half + 2.0 - to_segment(*p, *a, *b) for a, b in lines), default=0.0)
            short = max(short, 0.0, *(far - max(abs(p[0] - x), abs(p[1] - y)) for x, y, far in near))
            if short < least - 1e-6:
                best, least = p, short
            if not short:
                break
        about = s.piece.component
        if least > 0.35 * half and left[about] > 1:
            left[about] -= 1
            continue
        placed.append((*best, half))
        x, y = centre[0] + best[0], centre[1] + best[1]
        yield point_sign(x, y, 1.25 * half, s.way, s.piece.component)


# --- hidden pieces ---------------------------------------------------------------------------------------------------


def hidden(cover: Cover, later: frozenset[int] = frozenset()) -> list[tuple[Footprint, int]]:
    """The pieces that later food covers so much that nobody could count them; those of the steps ``later`` never are.

    With each comes how many pieces of its own step lie straight above it, because in a stack all outlines coincide.
    """
    rows = []
    for i, f in enumerate(cover.prints):
        if f.step in later or not (over := cover.over(i)) or not _covered(*f.centre, over):
            continue
        x, y = f.centre
        every = max(1, len(f.outline) // 16)
        if all(
            _covered(x + share * (px - x), y + share * (py - y), over)
            for share in (0.88, 0.5)
            for px, py in f.outline[::every]
        ):
            rows.append(
                (f, sum(g.step == f.step and math.dist(g.centre, f.centre) < 1.0 for g in cover.prints[i + 1 :]))
            )
    return rows


def hidden_group(pieces: Sequence[tuple[Footprint, int]], centre: Point, unit: float) -> Iterator[Item]:
    """The hidden pieces' outlines in fine dots on a light bed, to be drawn on top of the food.

    Those of a straight stack are drawn one inside the other, 0.7 mm of the card apart; side by side they would look
    like a leaning stack.  ``unit`` is how many mm of the plate are one mm of the card.
    """
    items: list[Item] = []
    for f, above in pieces:
        about = About(f.component, "hidden", f"{f.span.file}:{f.span.line}")
        share = max(0.4, 1 - 0.7 * unit * above / max(min(f.width_mm, f.length_mm) / 2, 0.1))
        (cx, cy), (fx, fy) = centre, f.centre
        points = tuple((cx + fx + share * (x - fx), cy - fy - share * (y - fy)) for x, y in f.outline)
        for style, told in ((_BED, None), (DOTS, about)) if not above else ((DOTS, about),):
            items.append(
                Circle(cx + fx, cy - fy, share * f.radius_mm, style, told)
                if f.radius_mm
                else Polygon(points, style, about=told)
            )
    if items:
        yield Group(tuple(items), id="hidden", title="Under other food")


def points_asked(steps: Iterable[Step]) -> frozenset[int]:
    """The steps whose pieces the chef asked to point somewhere, and not to turn a long side."""
    return frozenset(s.index for s in steps if s.facing.points and not s.facing.long_side)
