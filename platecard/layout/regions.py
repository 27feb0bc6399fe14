"""Arrangements that spread pieces over a region, or over the pieces they lie on.

Each takes a :class:`~platecard.layout.placing.Bench` and returns the spots of its pieces.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterable

from platecard.diagnostics import error
from platecard.layout import shapes
from platecard.layout.footprint import RIM, Footprint, polar
from platecard.layout.geometry2d import Outline, Point, moved
from platecard.layout.placing import Bench, Cannot, Spot
from platecard.layout.scatter import Reach, Zone, scatter
from platecard.model import Step


def shared_out(bench: Bench) -> list[Spot]:
    """Several pieces shared evenly over the pieces they lie on, side by side where one takes more than one."""
    n = bench.step.count
    homes = _homes(n, len(bench.hosts))
    thrown = bench.thrown(n)
    spots = []
    for i, home in enumerate(homes):
        host = bench.hosts[home]
        turn = bench.bearing(*host.centre)
        dx, dy = _beside(host, homes[:i].count(home), homes.count(home), turn)
        x, y = host.centre[0] + dx, host.centre[1] + dy
        unsaid = (
            180.0 if bench.stands else thrown[i] + turn if bench.tipped or host.radius_mm is not None else host.axis_deg
        )
        spots.append(Spot(x, y, bench.axis(x, y, unsaid), host.level + 1))
    return spots


def _homes(n: int, m: int) -> list[int]:
    """Which of ``m`` pieces each of ``n`` lies on: as evenly as possible, and the same from both ends."""
    return [(2 * i + 1) * m // (2 * n) for i in range(n)]


def borne(step: Step, steps: Iterable[Step], prints: Iterable[Footprint]) -> tuple[tuple[Footprint, int], ...]:
    """The pieces a step is shared out over, in their order, with the number of its own that lie on each.

    Empty for a step that is laid in any other way, or where a piece it lies on is no longer there.
    """
    if step.arrange != "one" or step.count < 2 or step.alternating_with or step.beside or step.behind:
        return ()
    under: dict[str, list[Footprint]] = {name: [] for name in step.on if name != RIM}
    before = {s.index for s in steps if s.index < step.index}
    for f in prints:
        if f.component in under and f.step in before:
            under[f.component].append(f)
    if not under or not all(under.values()):
        return ()
    hosts = [f for found in under.values() for f in sorted(found, key=lambda f: (f.step, f.index))]
    homes = _homes(step.count, len(hosts))
    return tuple((host, homes.count(i)) for i, host in enumerate(hosts))


def scattered(bench: Bench) -> list[Spot]:
    """Pieces strewn over their region, as many as it holds."""
    step, within = bench.step, bench.step.within
    reach = bench.reach()
    # A piece must stay in the well, so its middle keeps the piece's reach from the edge.
    edge = max(0.0, bench.edge.a - reach.half - reach.radius)
    inner, outer, start, sweep = 0.0, edge, 0.0, 360.0
    limits = None if bench.edge.is_circle else _limits(bench, reach)
    if limits:
        outer = max(limits(5.0 * k)[1] for k in range(72))
    elif within:
        inner, outer = (
            bench.mm(within.inner),
            min(bench.mm(within.outer), max(edge, bench.mm(within.inner))),
        )
        if bench.mm(within.outer) < inner:
            raise Cannot(
                error(
                    "empty-region",
                    step.place("within"),
                    f"the region for the {bench.called} is empty",
                    "make its outer distance larger than its inner one",
                )
            )
    has_hours = False
    if within is not None and within.from_deg is not None and within.to_deg is not None:
        has_hours = True
        start = float(within.from_deg)
        sweep = float(within.to_deg - within.from_deg) % 360 or 360.0
    # The pieces are strewn as if their region, or what they lie on, were at 12:00, and then turned to where it is:
    # so the same spec turned round the plate gives the same picture, turned.
    turn = 0.0 if limits else start if has_hours else bench.bearing(*_middle(bench.hosts))
    outlines: list[Outline] = []
    rounds: list[tuple[float, float, float]] = []
    for host in bench.hosts:
        length, width = _inset(host, reach)
        if host.radius_mm:
            rounds.append((*moved((host.centre,), -turn, 0.0, 0.0)[0], length / 2))
        else:
            outlines.append(moved(_inner(host, length, width), -turn, 0.0, 0.0))
    zone = Zone(
        inner,
        outer,
        start - turn,
        sweep,
        tuple(outlines),
        tuple(rounds),
        limits,
    )
    seed = (step.put, bench.turn)
    thrown = bench.thrown(step.count)

    def axis(i: int, x: float, y: float) -> float:
        ((x, y),) = moved(((x, y),), turn, 0.0, 0.0)
        return bench.axis(x, y, thrown[i % len(thrown)] + (0.0 if bench.stands else turn)) - turn

    spots = scatter(step.count, reach, float(step.gap_mm or 0), zone, seed, axis)
    return [Spot(*moved(((x, y),), turn, 0.0, 0.0)[0], a + turn, bench.level) for x, y, a in spots]


def _middle(hosts: list[Footprint]) -> Point:
    """The middle of the pieces strewn on; of the first alone where they lie all round the centre of the plate."""
    n = len(hosts) or 1
    x, y = sum(h.centre[0] for h in hosts) / n, sum(h.centre[1] for h in hosts) / n
    return hosts[0].centre if hosts and math.hypot(x, y) < 1.0 else (x, y)


def _limits(bench: Bench, reach: Reach) -> Callable[[float], tuple[float, float]]:
    """The nearest and furthest distance of a scatter in each direction, on a plate that is not round."""
    inside, within = bench.edge.inset(reach.half + reach.radius), bench.step.within
    if within and within.inner.is_share == within.outer.is_share and within.outer.value < within.inner.value:
        raise Cannot(
            error(
                "empty-region",
                bench.step.place("within"),
                f"the region for the {bench.called} is empty",
                "make its outer distance larger than its inner one",
            )
        )

    def limits(clock_deg: float) -> tuple[float, float]:
        edge = inside.reach(clock_deg)
        inner, outer = (bench.mm(within.inner, clock_deg), bench.mm(within.outer, clock_deg)) if within else (0.0, edge)
        return inner, min(outer, max(edge, inner))

    return limits


def _inset(host: Footprint, reach: Reach) -> tuple[float, float]:
    """The length and width within which middles keep pieces on the host; its own size if it is too small for that."""
    for edge in (reach.radius + reach.half, reach.radius):
        length, width = host.length_mm - 2 * edge, host.width_mm - 2 * edge
        if min(length, width) > edge:
            return length, width
    return host.length_mm, host.width_mm


def _inner(host: Footprint, length: float, width: float) -> Outline:
    """The outline of a host drawn at that length and width; its own where its shape cannot be drawn smaller."""
    if host.shape in shapes.OWN_EDGE or length == host.length_mm:
        return host.outline
    return moved(shapes.outline(host.shape, length, width), host.axis_deg, *host.centre)


def _beside(host: Footprint, number: int, of: int, turn: float) -> Point:
    """The offset of piece ``number`` of several from the middle of their host: along it, or spread if nearly round."""
    if of == 1:
        return 0.0, 0.0
    if host.length_mm > 1.3 * host.width_mm:
        return polar(host.axis_deg, host.length_mm * ((number + 0.5) / of - 0.5))
    # Each is turned by the golden angle and lies out by the root of its number, which is even by area.
    return polar(turn + 137.508 * number, 0.38 * host.width_mm * math.sqrt((number + 0.5) / of))
