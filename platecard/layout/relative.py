"""Places given relative to another component, and the order in which such steps can be laid."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import replace

from platecard.diagnostics import error
from platecard.layout import arrangements, geometry2d
from platecard.layout.footprint import Footprint, clock_of, polar
from platecard.layout.geometry2d import Outline, Point, hull
from platecard.layout.pattern import CLOSED, NONE, STRAIGHT
from platecard.layout.placing import Bench, Cannot, Spot
from platecard.model import Step

_ASIDE_MM = 2.0  # the clearance beside or behind, where none is given
_ROUND_MM = 3.0  # the clearance around


def target(step: Step) -> str:
    """The component that the step's place is relative to; empty where there is none."""
    return step.beside or step.behind or step.under or step.around or step.alternating_with


def key_of(step: Step) -> str:
    """The key under which the :func:`target` is named; ``on`` where there is none."""
    return next((k for k in ("beside", "behind", "under", "around", "alternating_with") if getattr(step, k)), "on")


def waits_for(step: Step, steps: Iterable[Step]) -> tuple[Step, ...]:
    """The steps that must be laid before this one.

    They are all those of its :func:`target`, and the earlier ones of what it lies on.
    """
    near = target(step)
    return tuple(s for s in steps if s is not step and (s.put == near or s.put in step.on and s.index < step.index))


def cycle(step: Step, waiting: list[Step], steps: Iterable[Step]) -> list[Step]:
    """The steps that wait for each other in a circle, in order; ``step`` is one of them or waits for one of them."""
    row, here = [], step
    while here not in row:
        row.append(here)
        here = next(s for s in waits_for(here, steps) if s in waiting)
    return row[row.index(here) :]


# --- places ----------------------------------------------------------------------------------------------------------


def slid(bench: Bench, spots: list[Spot]) -> list[Spot]:
    """The pieces moved together, straight away from their target, until they are clear of it."""
    step = bench.step
    clear = float(step.clear_mm) if step.clear_mm is not None else _ASIDE_MM
    way = 0.0 if step.behind else 90.0
    if step.at is not None:
        if step.at.clock_deg is None or step.behind:
            raise Cannot(
                error(
                    "two-places",
                    step.place("at"),
                    f"the {bench.called} has both a place of its own and"
                    f" '{'behind: ' + step.behind if step.behind else 'beside: ' + step.beside}'",
                    "keep one; with beside, 'at' may only give the side, such as 3:00",
                )
            )
        way = float(step.at.clock_deg)
    mine = hull(tuple(p for i, s in enumerate(spots) for p in bench.footprint(i, s).outline))
    theirs = hull(tuple(p for f in bench.near for p in f.outline))
    dx, dy = polar(way, 1.0)
    low, high = 0.0, clear + _wide(mine) + _wide(theirs)
    for _ in range(36):
        middle = (low + high) / 2
        if geometry2d.distance(tuple((x + middle * dx, y + middle * dy) for x, y in mine), theirs) < clear:
            low = middle
        else:
            high = middle
    level = bench.level
    return [Spot(s.x + high * dx, s.y + high * dy, s.axis, max(level, s.level)) for s in spots]


def _wide(outline: Outline) -> float:
    left, near, right, far = geometry2d.box(outline)
    return math.hypot(right - left, far - near)


def around(bench: Bench) -> list[Spot]:
    """Pieces spaced evenly round the edge of their target: all the way, or from one clock position to another."""
    step, n = bench.step, bench.step.count
    edge = hull(tuple(p for f in bench.near for p in f.outline))
    # The middle of the pieces and not of the box round them, which would shift when the plate turns.
    middle = (
        sum(f.centre[0] for f in bench.near) / len(bench.near),
        sum(f.centre[1] for f in bench.near) / len(bench.near),
    )
    radial = step.facing.points in ("in", "out") or not step.facing.points and bench.tipped
    half = (
        max(bench.length, bench.width) / 2
        if step.facing.points in ("clock", "guest", "away")
        else (bench.length if radial else bench.width) / 2
    )
    way = offset(edge, half + (float(step.clear_mm) if step.clear_mm is not None else _ROUND_MM))
    total = sum(math.dist(p, q) for p, q in zip(way, way[1:] + way[:1]))
    turn = -1.0 if step.anticlockwise else 1.0
    begin = next((float(p.clock_deg) for p in (step.start, step.at) if p and p.clock_deg is not None), 0.0)
    first, length, closed = _met(way, middle, begin), total, True
    if step.arrange == "arc" and step.end and step.end.clock_deg is not None and step.end.clock_deg != begin:
        # ``way`` runs clockwise, as the clock does.
        length = (turn * (_met(way, middle, float(step.end.clock_deg)) - first)) % total
        closed = False
    spots = []
    for t in bench.shares(length, closed):
        (x, y), (nx, ny) = _walked(way, (first + turn * t * length) % total)
        out = clock_of(nx, ny)
        axis = bench.axis(x - middle[0], y - middle[1], out if radial else out + 90)
        spots.append(Spot(x, y, {"out": out, "in": out + 180}.get(step.facing.points, axis) % 360, bench.level))
    return spots[:n]


def offset(edge: Outline, by: float) -> Outline:
    """The outline ``by`` mm outside a convex outline, clockwise."""
    found = []
    for k in range(240):
        dx, dy = polar(1.5 * k, 1.0)
        x, y = max(edge, key=lambda p: p[0] * dx + p[1] * dy)
        found.append((x + by * dx, y + by * dy))
    return tuple(found)


def _met(way: Outline, middle: Point, clock_deg: float) -> float:
    """How far in mm along a closed clockwise path a ray from the middle meets it."""
    dx, dy = polar(clock_deg, 1.0)
    gone = 0.0
    for (x0, y0), (x1, y1) in zip(way, way[1:] + way[:1]):
        size = math.dist((x0, y0), (x1, y1))
        one = (x0 - middle[0]) * dy - (y0 - middle[1]) * dx
        two = (x1 - middle[0]) * dy - (y1 - middle[1]) * dx
        if one <= 0 < two and (x0 - middle[0]) * dx + (y0 - middle[1]) * dy > 0:
            return gone + size * (-one / (two - one))
        gone += size
    return 0.0


def _walked(way: Outline, far: float) -> tuple[Point, Point]:
    """The point ``far`` mm along a closed clockwise path, and the outward direction there as a unit vector."""
    for (x0, y0), (x1, y1) in zip(way, way[1:] + way[:1]):
        size = math.dist((x0, y0), (x1, y1))
        if far <= size and size > 1e-9:
            t = far / size
            return (x0 + t * (x1 - x0), y0 + t * (y1 - y0)), ((y0 - y1) / size, (x1 - x0) / size)
        far -= size
    (x0, y0), (x1, y1) = way[-1], way[0]
    size = math.dist((x0, y0), (x1, y1)) or 1.0
    return way[0], ((y0 - y1) / size, (x1 - x0) / size)


def alternating(bench: Bench) -> list[Spot]:
    """One piece in each gap between the pieces of the other component, in their order."""
    others, n = bench.near, bench.step.count
    order = bench.near_pattern.order if bench.near_pattern else NONE
    if order == NONE:
        raise Cannot(
            error(
                "alternating",
                bench.step.place("alternating_with"),
                f"{bench.step.alternating_with} is not laid out so that {bench.called} could go between its pieces",
                f"arrange it as a {arrangements.ordered()} of two or more",
            )
        )
    pairs = list(zip(others, others[1:])) + ([(others[-1], others[0])] if order == CLOSED and len(others) > 2 else [])
    middle = (0.0, 0.0)
    if order == CLOSED:
        middle = sum(f.centre[0] for f in others) / len(others), sum(f.centre[1] for f in others) / len(others)
    spots = []
    for a, b in pairs[:n]:
        x, y = (a.centre[0] + b.centre[0]) / 2, (a.centre[1] + b.centre[1]) / 2
        if order == STRAIGHT:
            axis = bench.axis(x, y, clock_of(b.centre[0] - a.centre[0], b.centre[1] - a.centre[1]))
        else:
            one, two = (math.dist(f.centre, middle) for f in (a, b))
            start, end = (clock_of(f.centre[0] - middle[0], f.centre[1] - middle[1]) for f in (a, b))
            half = ((end - start + 180) % 360 - 180) / 2
            px, py = polar(start + half, (one + two) / 2)
            x, y = middle[0] + px, middle[1] + py
            axis = bench.round_axis(px, py)
        spots.append(Spot(x, y, axis, max(bench.level, a.level, b.level)))
    return spots


def raised(prints: list[Footprint], below: dict[int, str], rests: dict[str, set[str]]) -> list[Footprint]:
    """The pieces, with those that something goes under raised so as to lie on top of it.

    ``below`` maps the number of a step that goes under a component to that component;
    ``rests`` maps each component to what it lies on, so that everything on top rises too.
    """
    for number, upper in below.items():
        lifted, grown = {upper}, True
        while grown:
            more = {c for c, on in rests.items() if on & lifted} - lifted
            lifted |= more
            grown = bool(more)
        layers = 1 + max((f.level for f in prints if f.step == number), default=-1)
        lowest = min((f.level for f in prints if f.component == upper), default=0)
        if layers > lowest:
            prints = [
                replace(f, level=f.level + layers - lowest) if f.component in lifted and f.step != number else f
                for f in prints
            ]
    return prints
