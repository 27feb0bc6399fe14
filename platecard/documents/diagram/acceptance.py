"""What expo lets pass of one piece, as a picture: how far it may drift, and how far it may turn.

A pale ring round a piece is as wide as it may drift, a pale wedge at its end shows how far it
may turn either way, and the figure stands beside them, so that there is nothing to look up.
At most one piece of a part is shown so, and only one with bare china round it and room for the
figure: anywhere else the picture would have to be explained, and the label says the same in
words.  Lengths are millimetres of the plate, with its middle as origin and y down; line widths
and type are those of the paper.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from platecard.documents.diagram.pen import axes, style
from platecard.drawing import fonts
from platecard.drawing.scene import About, Circle, Item, Polygon, Text
from platecard.layout import plate_geometry
from platecard.layout.footprint import Arrangement, Footprint
from platecard.layout.geometry2d import Box, Outline, Point, box, boxes_meet, contains, hull, to_segment
from platecard.layout.place_words import mm
from platecard.model import Step
from platecard.quantities.units import shown

MOST = 8  # with more parts than this on a plate, the words alone say it
_LEAST_MM = 0.6  # of the paper: a narrower ring could not be seen
_BEYOND_MM = 3.2  # of the paper: how far a wedge reaches beyond the piece and its ring
_CLEAR_MM = 0.7  # of the paper, between a figure and anything else
_BARE = 0.75  # the least share of a ring or wedge that lies on bare china
_TRIED = 8  # at most so many pieces of a part are tried
_PT = 8.5
_INK = "#16181a"
_ROUND = tuple((math.cos(math.radians(15 * i)), math.sin(math.radians(15 * i))) for i in range(24))
# A dashed edge: with a drawn one, a ring looks like a saucer.
_PALE, _EDGE = style(fill="#57514a", fill_opacity=0.14), style(stroke="#57514a", width=0.2, dash=(0.9, 0.7))


class Surroundings(NamedTuple):
    """What a figure must stay clear of: lines from the labels, and the boxes of other marks; ``one`` is the scale.

    ``one`` is how many mm of the plate are one mm of the paper.
    """

    lines: Sequence[tuple[Point, Point]]
    boxes: Sequence[Box]
    one: float


def marks(
    arrangement: Arrangement,
    steps: Mapping[str, Sequence[Step]],
    targets: Mapping[str, Point],
    around: Surroundings,
) -> dict[int, tuple[Item, ...]]:
    """The rings and wedges by the step under whose pieces they are to be drawn.

    ``steps`` are those of each part that are on the plate at the pass, ``targets`` where the line of its label ends.
    """
    if len(steps) > MOST:
        return {}
    found: dict[int, tuple[Item, ...]] = {}
    taken = list(around.boxes)
    rim = plate_geometry.rim(arrangement.plate)
    for key, mine in steps.items():
        by_number = {s.index: s for s in mine}
        pieces = [f for f in arrangement.of(key) if f.step in by_number and f.level == 0]
        at = targets.get(key, (0.0, 0.0))
        pieces.sort(key=lambda f: (round(math.dist((f.centre[0], -f.centre[1]), at), 3), f.index))
        for f in pieces[:_TRIED]:
            step = by_number[f.step]
            made = _of(f, step, arrangement, around, taken, rim)
            if made is not None:
                items, boxes = made
                found[f.step] = (*found.get(f.step, ()), *items)
                taken += boxes
                break
    return found


def _of(
    f: Footprint,
    step: Step,
    arrangement: Arrangement,
    around: Surroundings,
    taken: Sequence[Box],
    rim: plate_geometry.Edge,
) -> tuple[tuple[Item, ...], tuple[Box, Box]] | None:
    """The picture of one piece with the boxes of its shapes and of its figure, or None where it would not be clear."""
    one = around.one
    drift = float(step.accept.place_mm or 0)
    drift = drift if drift >= _LEAST_MM * one else 0.0
    # Nobody sees a round piece turn.
    turn = 0.0 if f.radius_mm is not None else min(float(step.accept.turn_deg or 0), 90.0)
    if not drift and not turn:
        return None
    outlines = [_wedge(f, turn, drift + _BEYOND_MM * one)] if turn else []
    convex = hull(f.outline)
    ring = tuple((x, -y) for x, y in _grown(convex, drift)) if drift else ()
    others = [g for g in arrangement.footprints if g is not f]
    reach = box(tuple((x, -y) for o in (*outlines, ring) for x, y in o))
    near = [g.outline for g in others if boxes_meet(g.box, reach)]
    mine = [(x, -y) for x, y in convex]
    seen = [*(outlines[0][1:] if outlines else ()), *_between(mine, ring)]
    bare = sum(not any(contains(o, (x, -y)) for o in near) for x, y in seen)
    if bare < _BARE * len(seen) or any(rim.beyond((x, -y)) > 0 for x, y in seen):
        return None
    words = ", ".join(
        w
        for w in (
            f"±{mm(step.accept.place_mm)}" if drift and step.accept.place_mm else "",
            f"±{shown(step.accept.turn_deg)}°" if turn and step.accept.turn_deg else "",
        )
        if w
    )
    outlines += [ring] if ring else []
    whole = box(tuple(p for o in outlines for p in o))
    if any(boxes_meet(whole, b) for b in taken):
        return None
    spot = _figure(words, [*outlines, tuple(mine)], others, around, taken, rim)
    if spot is None:
        return None
    x, y, figure = spot
    about = About(f.component, "accepted")
    items: list[Item] = []
    for outline in outlines:
        if outline is ring and f.radius_mm:
            circle = f.centre[0], -f.centre[1], f.radius_mm + drift
            items += [Circle(*circle, _PALE, about), Circle(*circle, _EDGE)]
        else:
            items += [Polygon(outline, _PALE, about=about), Polygon(outline, _EDGE)]
    items.append(Text(x, y, words, _PT * one, "semibold", "middle", _INK))
    return tuple(items), (whole, figure)


def _between(inner: Sequence[Point], ring: Sequence[Point]) -> Iterator[Point]:
    """Points in the middle of a ring."""
    if ring:
        cx = sum(x for x, _ in inner) / len(inner)
        cy = sum(y for _, y in inner) / len(inner)
        for x, y in ring[:: max(1, len(ring) // 24)]:
            # The ring is narrow against the piece, so its edge drawn in a little lies within it.
            yield x + 0.05 * (cx - x), y + 0.05 * (cy - y)


def _figure(
    words: str,
    outlines: Sequence[Outline],
    others: Sequence[Footprint],
    around: Surroundings,
    taken: Sequence[Box],
    rim: plate_geometry.Edge,
) -> tuple[float, float, Box] | None:
    """Where the figure stands, in the middle of its baseline, and its box; None where nothing beside it is free."""
    one = around.one
    cap, half = fonts.cap_height(_PT, "semibold") * one, fonts.width_mm(words, _PT, "semibold") * one / 2
    gap = _CLEAR_MM * one
    corners = tuple(p for o in outlines for p in o)
    left, top, right, foot = box(corners)
    cx, cy = (left + right) / 2, (top + foot) / 2
    for i in (0, 12, 6, 18, 2, 22, 10, 14, 3, 21, 9, 15, 4, 20, 8, 16):
        u, v = _ROUND[i]
        # The figure touches the shape from outside in this direction.
        far = max((x - cx) * u + (y - cy) * v for x, y in corners) + gap + abs(u) * half + abs(v) * cap / 2
        x, y = cx + far * u, cy + far * v
        mine = (x - half, y - cap / 2, x + half, y + cap / 2)
        wide = (mine[0] - gap, mine[1] - gap, mine[2] + gap, mine[3] + gap)
        edge = [(px, py) for px in (wide[0], x, wide[2]) for py in (wide[1], y, wide[3])]
        if any(rim.beyond((px, -py)) > 0 for px, py in edge) or any(boxes_meet(wide, b) for b in taken):
            continue
        if any(boxes_meet(wide, (g.box[0], -g.box[3], g.box[2], -g.box[1])) for g in others):
            continue
        if any(_crosses(a, b, wide) for a, b in around.lines):
            continue
        return x, y + cap / 2, mine
    return None


def _crosses(a: Point, b: Point, box: Box) -> bool:
    """Whether a line passes over a box."""
    left, top, right, foot = box
    points = ((left, top), (right, top), (left, foot), (right, foot), ((left + right) / 2, (top + foot) / 2))
    reach = (foot - top) / 2
    if any(to_segment(*p, *a, *b) < 0.5 * reach for p in points):
        return True
    sides = [(b[0] - a[0]) * (y - a[1]) - (b[1] - a[1]) * (x - a[0]) > 0 for x, y in points]
    meets = min(a[0], b[0]) <= right and left <= max(a[0], b[0]) and min(a[1], b[1]) <= foot and top <= max(a[1], b[1])
    return meets and len(set(sides)) > 1


def _grown(convex: Outline, by: float) -> Outline:
    """A convex outline, anticlockwise, and all that it may cover as it drifts by up to ``by`` mm."""
    edges = [(p, q) for p, q in zip(convex, (*convex[1:], convex[0])) if math.dist(p, q) > 1e-9]
    out = [((q[1] - p[1]) / math.dist(p, q), (p[0] - q[0]) / math.dist(p, q)) for p, q in edges]
    grown: list[Point] = []
    for i, ((p, _), (u, v)) in enumerate(zip(edges, out)):
        s, t = out[i - 1]
        far = math.hypot(s + u, t + v)
        ways = ((s, t), ((s + u) / far, (t + v) / far), (u, v)) if far > 1e-6 else ((s, t), (u, v))
        grown += [(p[0] + by * x, p[1] + by * y) for x, y in ways]
    return tuple(grown)


def _wedge(f: Footprint, turn: float, beyond: float) -> Outline:
    """What the end of the piece sweeps as it turns either way, reaching ``beyond`` that end; its tip comes first."""
    x, y = f.centre[0], -f.centre[1]
    across, along = axes(f)
    if f.stance == "standing":
        along = across  # it stands on a thin foot, whose long side runs across the way it faces
    half = math.hypot(*along)
    way, reach = math.atan2(along[1], along[0]), half + beyond
    angles = [way + math.radians(turn * i / 6) for i in range(-6, 7)]
    return ((x, y), *((x + reach * math.cos(a), y + reach * math.sin(a)) for a in angles))
