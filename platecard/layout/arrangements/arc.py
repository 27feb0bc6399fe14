"""Pieces on a curve about a middle: arcs, fans and rings."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from fractions import Fraction

from platecard.diagnostics import Problem, error, warning
from platecard.layout.arrangements.lines import ends, from_end_to_end
from platecard.layout.footprint import Fault, Footprint, clock_of, polar
from platecard.layout.pattern import CLOSED, CURVED, Pattern, more_room
from platecard.layout.place_words import end, how_far
from platecard.layout.placing import Bench, Spot
from platecard.model import Place, Plate, Step
from platecard.quantities.clock_positions import clock_text
from platecard.quantities.units import shown

_CENTRE_MM = 5.0  # a ring whose middle is further than this from the centre cannot be counted by the clock


def _curved(bench: Bench) -> list[Spot]:
    """Pieces from one clock position to another, clockwise unless the spec says otherwise."""
    step = bench.step
    first, last = bench.point(step.start, "from"), bench.point(step.end, "to")
    start, stop = clock_of(*first), clock_of(*last)
    sweep = -((start - stop) % 360) if step.anticlockwise else (stop - start) % 360
    # From a place to itself is once round, and the last piece must not land on the first.
    closed = abs(sweep) < 1e-6 or abs(sweep) > 360 - 1e-6
    if closed:
        sweep = -360.0 if step.anticlockwise else 360.0
    r0, r1 = math.hypot(*first), math.hypot(*last)
    # Distances given as shares of the way to the edge follow an edge that is not round.
    far = [] if bench.edge.is_circle else _shares_at(step, step.start, step.end)
    spots = []
    for t in bench.shares(math.radians(abs(sweep)) * (r0 + r1) / 2, closed):
        out = r0 + t * (r1 - r0)
        if len(far) == 2:
            out = float(far[0] + (far[1] - far[0]) * Fraction(t)) * bench.edge.reach(start + t * sweep)
        x, y = polar(start + t * sweep, out)
        spots.append(Spot(x, y, bench.round_axis(x, y), bench.level))
    return spots


def _shares_at(step: Step, *places: Place | None) -> list[Fraction]:
    """The distances of those of the places that are given as shares of the way to the edge."""
    outs = [(place.out if place else None) or step.out for place in places]
    return [out.value for out in outs if out is not None and out.is_share]


def _ringed(bench: Bench) -> list[Spot]:
    """Pieces all round, the first at ``at`` or at 12:00.

    The ring runs round the single piece it lies on, else round the centre of the plate; an
    ``at`` in millimetres is its middle.
    """
    step = bench.step
    out = bench.need(
        step.out,
        "out",
        "how-far-out",
        f"the ring of {bench.called} has no size",
        "add out: 30 mm, the distance from its middle",
    )
    start, middle = 0.0, (0.0, 0.0)
    if step.at and step.at.clock_deg is not None:
        start = float(step.at.clock_deg)
    elif step.at or len(bench.hosts) == 1:
        middle = bench.home()
    turn = -1 if step.anticlockwise else 1
    spots = []
    for t in bench.shares(2 * math.pi * bench.mm(out), is_closed=True):
        x, y = polar(start + turn * 360 * t, bench.mm(out, start + turn * 360 * t))
        spots.append(Spot(middle[0] + x, middle[1] + y, bench.round_axis(x, y), bench.level))
    return spots


# --- words -----------------------------------------------------------------------------------------------------------


def _way(step: Step) -> str:
    return "anticlockwise " if step.anticlockwise else ""


def _said_arc(step: Step, plate: Plate | None) -> str:
    return f"in an arc from {end(step.start)} {_way(step)}to {end(step.end)}{how_far(step, plate)}"


def _said_fan(step: Step, plate: Plate | None) -> str:
    return (
        f"fanned from {end(step.start)} (the first, underneath) {_way(step)}to {end(step.end)} (the last, on top)"
        f"{how_far(step, plate)}"
    )


def _said_ring(step: Step, plate: Plate | None) -> str:
    return f"in a ring{how_far(step, plate)}"


def _pictured_fan(step: Step, pieces: Sequence[Footprint]) -> str:
    return f"fanned {ends(pieces)}"


def _pictured_ring(step: Step, pieces: Sequence[Footprint]) -> str:
    return _said_ring(step, None)


def counted_round(step: Step, hosts: Sequence[Footprint]) -> str:
    """Where to start counting pieces on a curve about the centre, and which way."""
    way = "anticlockwise" if step.anticlockwise else "clockwise"
    return f"counted {way} from {clock_text(clock_of(*hosts[0].centre))}"


def counted_in_ring(step: Step, hosts: Sequence[Footprint]) -> str:
    """Where to start counting pieces all round a middle; empty where clock positions do not tell their order."""
    middle = [sum(h.centre[axis] for h in hosts) / len(hosts) for axis in (0, 1)]
    return "" if math.hypot(*middle) > _CENTRE_MM else counted_round(step, hosts)


# --- what must be true of them ---------------------------------------------------------------------------------------


def _rules_ring(step: Step) -> list[Problem]:
    if step.out is not None or "out" in step.places or step.around:
        return []
    return [error("missing-key", step.span, f"'out' is missing for '{step.arrange}'", "add it, for example out: 30 mm")]


def _rules_arc(step: Step) -> list[Problem]:
    """An arc says how far out and where it ends; one ``around`` a component follows that one's edge instead."""
    if step.around:
        return []
    own = all(p is None or p.out or p.clock_deg is None for p in (step.start, step.end))
    found = [] if own else _rules_ring(step)
    if "at" in step.places:
        found.append(
            error(
                "key-not-used",
                step.places["at"],
                "'at' is not used with arrange: arc, unless it goes around something",
                "write where it begins as 'from'",
            )
        )
    return found + [
        error("missing-key", step.span, f"'{k}' is missing for 'arc'", f'add it, for example {k}: "8:00"')
        for k in ("from", "to")
        if k not in step.places
    ]


def _room_on_arc(step: Step, pieces: list[Footprint]) -> str:
    return _room(step, pieces, is_closed=False)


def _room_on_ring(step: Step, pieces: list[Footprint]) -> str:
    return _room(step, pieces, is_closed=True)


def _room(step: Step, pieces: list[Footprint], is_closed: bool) -> str:
    """A hint with figures, for round pieces."""
    if not pieces[0].radius_mm:
        return more_room(step, pieces)
    n, chord = len(pieces), 2 * pieces[0].radius_mm + float(step.gap_mm or 0)
    now = math.dist(pieces[0].centre, pieces[1].centre)
    if now < 1e-6:
        return more_room(step, pieces)
    if not is_closed:
        return (
            f"move them out {shown(100 * (chord / now - 1), 0)} % further, or use"
            f" {max(1, math.floor((n - 1) * now / chord) + 1)}"
        )
    r = now / (2 * math.sin(math.pi / n))
    fewer = math.floor(math.pi / math.asin(min(1.0, chord / (2 * r))))
    return f"move them out to {math.ceil(chord / (2 * math.sin(math.pi / n)))} mm, or use {fewer}"


def _faults_of_fan(step: Step, pieces: list[Footprint], name: str) -> Iterator[Fault]:
    """The fault of a fan whose slices do not overlap, or not by as much as it says."""
    if len(pieces) < 2:
        return
    a, b = pieces[0], pieces[1]
    way = clock_of(b.centre[0] - a.centre[0], b.centre[1] - a.centre[1])
    turn = math.radians(
        (a.axis_deg + b.axis_deg) / 2 - way
        if abs(a.axis_deg - b.axis_deg) < 180
        else (a.axis_deg + b.axis_deg) / 2 + 180 - way
    )
    size = a.length_mm * abs(math.cos(turn)) + a.width_mm * abs(math.sin(turn))
    share = 1 - math.dist(a.centre, b.centre) / size
    if share <= 0:
        yield Fault(
            warning(
                "fan-without-overlap",
                step.place("arrange"),
                f"the slices of {name} lie {shown(-share * size)} mm apart, so they do not make a fan",
                "bring its ends closer together, use more slices, or write arrange: arc",
            ),
            tuple(pieces),
        )
    elif step.overlap is not None and abs(share - float(step.overlap)) > 0.1:
        yield Fault(
            warning(
                "fan-overlap",
                step.place("overlap"),
                f"the slices of {name} cover each other by {shown(100 * share, 0)} %, not"
                f" {shown(100 * float(step.overlap), 0)} %",
                "change the count, or where it begins or ends: they decide the overlap",
            ),
            tuple(pieces),
        )


_ENDED = frozenset({"from", "to", "turning"})

ARC: Pattern = Pattern(
    name="arc",
    meaning="along a curve about the centre, from one clock position to another; or along the edge of what it goes"
    " `around`",
    place=_curved,
    said=_said_arc,
    pictured=from_end_to_end,
    uses=_ENDED | {"at", "gap", "around"},
    needs=("piece",),
    rules=_rules_arc,
    room=_room_on_arc,
    counting=counted_round,
    order=CURVED,
    takes_graded=True,
    is_group=True,
)
RING: Pattern = Pattern(
    name="ring",
    meaning="all round the centre, the one piece it lies on or what it goes `around`, the first at `at`, else at 12:00",
    place=_ringed,
    said=_said_ring,
    pictured=_pictured_ring,
    uses=frozenset({"at", "gap", "around"}),
    needs=("piece",),
    rules=_rules_ring,
    room=_room_on_ring,
    counting=counted_in_ring,
    order=CLOSED,
    takes_graded=True,
    starts_at=True,
    has_own_place=True,
    is_group=True,
)
FAN: Pattern = Pattern(
    name="fan",
    meaning="as an arc, each slice lying on the one before",
    place=_curved,
    said=_said_fan,
    pictured=_pictured_fan,
    uses=_ENDED | {"overlap"},
    needs=("piece", "from", "to", "out"),
    checks=_faults_of_fan,
    counting=counted_round,
    order=CURVED,
    overlaps=True,
    shingles=True,
    tips_follow=True,
    is_group=True,
)
