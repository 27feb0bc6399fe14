"""Pieces spread over a region or over the pieces they lie on.

Each takes a :class:`~platecard.layout.placing.Bench` and gives the spots of its pieces.
"""

from __future__ import annotations

import math
from collections.abc import Iterable

from platecard.diagnostics import error
from platecard.layout import shapes
from platecard.layout.footprint import RIM, Footprint, polar
from platecard.layout.geometry2d import Point, moved
from platecard.layout.placing import Bench, Cannot, Spot
from platecard.layout.scatter import Reach, Zone, scatter
from platecard.model.nouns import Step


def shared_out(bench: Bench) -> list[Spot]:
    """Several pieces over the pieces they lie on: evenly, then side by side on the same one."""
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
    """Which of ``m`` pieces each of ``n`` lies on: as even as can be, and the same from both ends."""
    return [(2 * i + 1) * m // (2 * n) for i in range(n)]


def borne(step: Step, steps: Iterable[Step], prints: Iterable[Footprint]) -> tuple[tuple[Footprint, int], ...]:
    """The pieces a step is shared out over, in their order, with how many of its own lie on each.

    Empty for a step that is laid in any other way, and where what it lies on is no longer there.
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
    """Pieces strewn over their region, as far as it holds them."""
    step = bench.step
    reach = bench.reach()
    # A piece must stay in the well, so its middle keeps half its length from the edge.
    edge = max(0.0, bench.edge.a - reach.half - reach.radius)
    inner, outer, start, sweep = 0.0, edge, 0.0, 360.0
    limits = None if bench.edge.is_circle else _limits(bench, reach)
    if limits:
        outer = max(limits(5.0 * k)[1] for k in range(72))
    elif step.within:
        inner, outer = (
            bench.mm(step.within.inner),
            min(bench.mm(step.within.outer), max(edge, bench.mm(step.within.inner))),
        )
        if bench.mm(step.within.outer) < inner:
            raise Cannot(
                error(
                    "empty-region",
                    step.place("within"),
                    f"the region for the {bench.called} is empty",
                    "its outer distance is smaller than its inner one",
                )
            )
    has_hours = step.within is not None and step.within.from_deg is not None and step.within.to_deg is not None
    if has_hours:
        start = float(step.within.from_deg)
        sweep = float(step.within.to_deg - step.within.from_deg) % 360 or 360.0
    # What is strewn turns with its region, or with what it lies on: it is strewn as if that lay at 12:00, and turned
    # to where it is.
    turn = 0.0 if limits else start if has_hours else bench.bearing(*_middle(bench.hosts))
    hosts = [_inset(h, reach) for h in bench.hosts]
    zone = Zone(
        inner,
        outer,
        start - turn,
        sweep,
        tuple(moved(h, -turn, 0.0, 0.0) for h in hosts if len(h) > 3),
        tuple((*moved((h[:2],), -turn, 0.0, 0.0)[0], h[2]) for h in hosts if len(h) == 3),
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
    """The middle of what is strewn on; of the first piece alone where they lie all round the plate's."""
    n = len(hosts) or 1
    x, y = sum(h.centre[0] for h in hosts) / n, sum(h.centre[1] for h in hosts) / n
    return hosts[0].centre if hosts and math.hypot(x, y) < 1.0 else (x, y)


def _limits(bench: Bench, reach: Reach):
    """The two distances of a scatter's region in each direction, on a plate that is not round."""
    inside, within = bench.edge.inset(reach.half + reach.radius), bench.step.within
    if within and within.inner.is_share == within.outer.is_share and within.outer.value < within.inner.value:
        raise Cannot(
            error(
                "empty-region",
                bench.step.place("within"),
                f"the region for the {bench.called} is empty",
                "its outer distance is smaller than its inner one",
            )
        )

    def limits(clock_deg: float) -> tuple[float, float]:
        edge = inside.reach(clock_deg)
        inner, outer = (bench.mm(within.inner, clock_deg), bench.mm(within.outer, clock_deg)) if within else (0.0, edge)
        return inner, min(outer, max(edge, inner))

    return limits


def _inset(host: Footprint, reach: Reach):
    """Where middles may lie so that pieces stay on the host, if it is large enough for them.

    An outline, or for a round host (x, y, radius).
    """
    for edge in (reach.radius + reach.half, reach.radius):
        length, width = host.length_mm - 2 * edge, host.width_mm - 2 * edge
        if min(length, width) > edge:
            break
    else:
        length, width = host.length_mm, host.width_mm
    if host.radius_mm:
        return (*host.centre, length / 2)
    if host.shape in shapes.OWN_EDGE or length == host.length_mm:
        return host.outline
    return moved(shapes.outline(host.shape, length, width), host.axis_deg, *host.centre)


def _beside(host: Footprint, number: int, of: int, turn: float) -> Point:
    """Where piece ``number`` of several on one host lies from its middle: along it, or spread on a round one."""
    if of == 1:
        return 0.0, 0.0
    if host.length_mm > 1.3 * host.width_mm:
        return polar(host.axis_deg, host.length_mm * ((number + 0.5) / of - 0.5))
    # Each turns on by the golden angle and goes out as the root of its number: even by area.
    return polar(turn + 137.508 * number, 0.38 * host.width_mm * math.sqrt((number + 0.5) / of))
