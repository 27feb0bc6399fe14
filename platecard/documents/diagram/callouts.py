"""Numbered callouts round the plate: where each is, and where its leader ends.

Callouts stand on a ring outside the plate, as far as possible in the corners of the
drawing so that it grows little beyond the plate, and clear of all other marks: numerals,
the guest's mark, the scale, the legend.  Lengths are millimetres, with the plate's middle
as origin and y down.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from platecard.documents.diagram import leader_lines
from platecard.documents.diagram.face_signs import Cover
from platecard.documents.diagram.leader_lines import DiscPlace, LeaderCosts, LeaderEnd
from platecard.drawing import fonts
from platecard.layout import plate_geometry, shapes
from platecard.layout.footprint import Arrangement, Footprint
from platecard.layout.geometry2d import Box, Point, boxes_meet, contains

_APART = 2.0  # the least distance in mm between a callout and any other mark, and what it is as a share of the disc:
_APART_SHARE = 0.3
_WIDEST = 60  # mm by which the margins may grow before the discs shrink instead
_ROUNDS = 12  # how often the discs shrink (to a seventh of their size) to make room for other marks
_LOOKED_AT = 16  # at most so many pieces of a component are considered; more would only cost time
_BURDENED = 8.0  # what an end on a piece with another on top costs, in mm of leader
_BESIDE_CENTRE = 6.0  # what an end away from the middle of its piece costs, in mm of leader


@dataclass(frozen=True, slots=True)
class Callout:
    """One callout: its disc, the count beside it, and the point on the food that it names.

    ``size_mm`` is the width of the piece that its leader ends on.  ``side`` says where
    the count stands: -1 is left of the disc, 1 right of it.
    """

    component: str
    number: str
    count: str
    centre: Point
    target: Point
    size_mm: float
    side: int


class CalloutLayout(NamedTuple):
    """All callouts, the sizes of their discs and numerals, and the margins round the plate that they need."""

    callouts: tuple[Callout, ...]
    disc_mm: float
    number_pt: float
    count_pt: float
    margin_x: float
    margin_y: float


Around = Callable[[float, float], tuple[tuple[Box, ...], tuple[Box, ...]] | None]
"""Tells, for the margins x and y, the boxes of all other marks: see :func:`plan`."""


def plan(
    arrangement: Arrangement,
    numbers: Mapping[str, str],
    least_margin: float,
    around: Around | None = None,
    later: frozenset[int] = frozenset(),
    cover: Cover | None = None,
    disc_mm: float | None = None,
) -> CalloutLayout:
    """Callouts for the components on the plate that have a number, in the narrowest margins that do.

    ``around(margin_x, margin_y)`` returns the boxes of all other marks: first those that
    no callout may touch, then those on the plate that no leader should cross.  It returns
    None for margins that are too narrow for the marks; the widest must never be.  The
    steps ``later`` cover nothing; a ``cover`` that is given must have left them out.
    ``disc_mm`` is the size of the discs to begin with, where the scale on the paper is known.
    """
    rim = plate_geometry.rim(arrangement.plate)
    pieces = {c: arrangement.of(c) for c in arrangement.order if c in numbers}
    pieces = {c: p for c, p in pieces.items() if p}
    cover = cover or Cover(arrangement.footprints, later)
    ends = {c: ends_of(cover, c) for c in pieces}
    counts = {c: f"{len(p)}\u00d7" if len(p) > 1 else "" for c, p in pieces.items()}
    disc = disc_mm or min(24.0, max(13.0, 0.074 * 2 * max(rim.a, rim.b)))
    solid = leader_lines.solid(arrangement.footprints, later)
    shrunk = 0
    while True:
        # If the other marks leave no room on any ring, they give way in the end: callouts matter more.
        gives_way = shrunk >= _ROUNDS
        number_pt, count_pt = disc * 1.8, disc * 1.7
        width = max((fonts.width_mm(t, count_pt, "bold") for t in counts.values() if t), default=-1.2) + 1.2
        ring = _ring(rim, disc, width)
        known: LeaderCosts = {}
        for margin in range(0, _WIDEST + 1, 6):
            mx, my = least_margin + margin, least_margin + margin / 3
            kept = around(mx, my) if around else ((), ())
            if kept is None:
                continue
            boxes, on_plate = ((), ()) if gives_way else kept
            right, foot = rim.a + mx, rim.b + my
            inside = [
                p for p in ring if -right <= p[2][0] and p[2][2] <= right and -foot <= p[2][1] and p[2][3] <= foot
            ]
            for b in boxes:
                inside = [p for p in inside if not boxes_meet(p[2], b, max(_APART, _APART_SHARE * disc))]
            found = leader_lines.settled(ends, inside, [*solid, *leader_lines.marks(on_plate)], known)
            if found is None:
                continue
            callouts = tuple(
                Callout(c, numbers[c], counts[c], spot, end.point, end.size, 1 if spot[0] >= 0 else -1)
                for c, (spot, end) in found.items()
            )
            return CalloutLayout(callouts, disc, number_pt, count_pt, mx, my)
        disc *= 0.85
        shrunk += 1


# --- where a leader may end ------------------------------------------------------------------------------------------


def ends_of(cover: Cover, component: str) -> list[LeaderEnd]:
    """Points of the component that nothing lies on (y down), or its pieces' middles if all of it is covered."""
    prints = cover.prints
    mine = [i for i, f in enumerate(prints) if f.component == component]
    mine = mine[:: math.ceil(len(mine) / _LOOKED_AT)]
    found: list[LeaderEnd] = []
    for i in mine:
        f = prints[i]
        over = cover.over(i)
        size = min(f.length_mm, f.width_mm)
        # The middle is the clearest point.  A pool is named near its edge, where it is not taken for what lies on it.
        for rank, share in enumerate((0.0, 0.5, 0.75) if f.shape != "pool" else (0.92, 0.75, 0.5, 0.0)):
            round_ = f.outline[:: max(1, len(f.outline) // 12)] if share else (f.centre,)
            points = [
                (f.centre[0] + share * (x - f.centre[0]), f.centre[1] + share * (y - f.centre[1])) for x, y in round_
            ]
            if f.shape in shapes.HOLLOW:
                points = _within(f, round_) if not share else [p for p in points if contains(f.outline, p)]
            clear = [
                p
                for p in points
                if not any(b[0] < p[0] < b[2] and b[1] < p[1] < b[3] and contains(o, p) for o, b in over)
            ]
            if clear:
                # A bare piece is easier to recognise than one with a herb on it.
                found += [
                    LeaderEnd((x, -y), rank * _BESIDE_CENTRE + (_BURDENED if over else 0.0), size) for x, y in clear
                ]
                break
    return found or [LeaderEnd((prints[i].centre[0], -prints[i].centre[1]), 0.0, prints[i].width_mm) for i in mine]


def _within(f: Footprint, middle: tuple[Point, ...]) -> list[Point]:
    """Points halfway across the body of a piece that bends or has a hole."""
    if f.shape == "outline" and contains(f.outline, middle[0]):
        return list(middle)
    half = len(f.outline) // 2
    across = list(zip(f.outline[:half], f.outline[: half - 1 : -1]))[half // 8 :: max(1, half // 8)]
    points = [((x0 + x1) / 2, (y0 + y1) / 2) for (x0, y0), (x1, y1) in across]
    return [p for p in points if contains(f.outline, p)]


# --- where a callout may be ---------------------------------------------------------------------------------------


@lru_cache(maxsize=256)  # the dishes of a menu share a few plates
def _ring(rim: plate_geometry.Edge, disc: float, width: float) -> tuple[DiscPlace, ...]:
    """The places for discs round the plate, one every three degrees; ``width`` is that of the count beside a disc."""
    r = disc / 2
    found = []
    for k in range(120):
        if rim.is_circle:
            a, ring = math.radians(3 * k), rim.a + r + 2.0
            x, y = ring * math.sin(a), -ring * math.cos(a)
        else:
            x, y = rim.outside(3 * k, r + 2.0)
            y = -y
        frame = (x - r, y - r, x + r + width, y + r) if x >= 0 else (x - r - width, y - r, x + r, y + r)
        found.append((3.0 * k, (x, y), frame))
    return tuple(found)
