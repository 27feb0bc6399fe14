"""Whether every piece that is said to lie on something does lie on it, and whether something holds what leans.

A piece lies on another if its middle is over it and at least half of the smaller of the two is
shared.  A standing piece needs its foot there, a leaning or pulled one has to touch, and so has
one that lies across a swipe.  On a bed of small pieces (crumbs, leaves) its middle has to be
within the bed.  A sauce runs where it likes.  A leaning piece needs another to lean on, one that
holds it, or the wall of a bowl.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from platecard.diagnostics import error
from platecard.layout import arrangements, geometry2d, heights, plate_geometry
from platecard.layout.footprint import RIM, Fault, Footprint, clock_of
from platecard.layout.pattern import PULLED
from platecard.model import Plate, Step
from platecard.quantities.clock_positions import clock_text
from platecard.quantities.units import shown

_HALF = 0.5 - 1e-6
_REACH_MM = 2.0  # what is nearer than this is leaned on
_WALL_MM = 20.0  # the wall of a bowl this deep holds what leans on it (practice)
_LOW = 0.25  # what is lower than this share of a leaning piece cannot hold it (practice)
_BED = 0.5  # pieces smaller than this share of what lies on them are a bed together


def unsupported(
    steps: Mapping[int, Step], by_step: Mapping[int, Sequence[Footprint]], called: Mapping[str, str]
) -> Iterator[Fault]:
    """A fault for each step with pieces that lie beside what they are said to lie on."""
    for number, pieces in by_step.items():
        step = steps[number]
        names = [name for name in step.on if name != RIM]
        if not names or RIM in step.on or arrangements.is_poured(step):
            continue
        hosts = [f for n, row in by_step.items() if n < number for f in row if f.component in names]
        beside = [f for f in pieces if not _lies_on(f, hosts, steps)]
        if not hosts or not beside:
            continue
        furthest = max(beside, key=lambda f: min(_apart(f, h) for h in hosts))
        x, y = furthest.centre
        where = f"at {clock_text(clock_of(x, y))}, {shown(math.hypot(x, y), 0)} mm out"
        far = min(_apart(furthest, h) for h in hosts)
        said = f", {shown(far, 0)} mm away from it" if far >= 1 else ""
        on = " and ".join(called[name] for name in names)
        many = len(pieces) > 1
        yield Fault(
            error(
                "not-on-it",
                step.place("on"),
                (
                    f"{len(beside)} of {len(pieces)} pieces of {called[step.put]} do"
                    if many
                    else f"{called[step.put]} does"
                )
                + f" not lie on {on}: {'the furthest ' if many else ''}{where}{said}",
                f"move {'them' if many else 'it'} onto {on}, or leave out the arrangement's own place and let"
                f" {'them' if many else 'it'} be shared out over {on}",
                "if it lies beside, leave out on:",
            ),
            tuple(beside),
        )


def unheld(
    steps: Mapping[int, Step], by_step: Mapping[int, Sequence[Footprint]], called: Mapping[str, str], plate: Plate
) -> Iterator[Fault]:
    """A fault for each step with pieces that lean on nothing."""
    everything = [f for row in by_step.values() for f in row]
    for number, pieces in by_step.items():
        step = steps[number]
        if any(name != RIM for name in step.on):
            continue  # it is stuck into that or leans on it, which is looked at above
        loose = [f for f in pieces if f.stance == "leaning" and not _is_held(f, everything, steps, plate)]
        if not loose:
            continue
        x, y = loose[0].centre
        yield Fault(
            error(
                "leans-on-nothing",
                step.place("facing" if "facing" in step.places else "arrange"),
                f"{called[step.put]} leans on nothing at {clock_text(clock_of(x, y))}, {shown(math.hypot(x, y), 0)} mm"
                " out",
                "put it beside what holds it, or write on: with what it leans on or is stuck into",
            ),
            tuple(loose),
        )


def _is_held(piece: Footprint, everything: Sequence[Footprint], steps: Mapping[int, Step], plate: Plate) -> bool:
    if (plate.depth_mm or 0) >= _WALL_MM:
        well = plate_geometry.well(plate)
        if any(well.beyond(p) > -_REACH_MM for p in piece.outline):
            return True
    return any(
        f is not piece
        and not (f.step == piece.step and f.index > piece.index)  # one leans on the one before
        and not arrangements.is_poured(steps[f.step])
        and heights.height(f) >= _LOW * heights.height(piece)
        and _apart(piece, f) <= _REACH_MM
        for f in everything
        if geometry2d.boxes_meet(piece.box, f.box, _REACH_MM)
    )


def _lies_on(piece: Footprint, hosts: Sequence[Footprint], steps: Mapping[int, Step]) -> bool:
    touched = [h for h in hosts if geometry2d.meet(piece.outline, h.outline)]
    if not touched or piece.stance == "leaning" or _is_pulled(piece, steps):
        return bool(touched)
    if any(_is_pulled(h, steps) for h in touched):
        return True
    own = geometry2d.area(piece.outline)
    largest = max(geometry2d.area(h.outline) for h in touched)
    if len(hosts) > 2 and largest < _BED * own:
        bed = geometry2d.hull(tuple(p for h in hosts for p in h.outline))
        return geometry2d.contains(bed, piece.centre)
    under = any(geometry2d.contains(h.outline, piece.centre) for h in touched)
    if not under or piece.stance == "standing":
        return under
    shared = sum(geometry2d.shared_area(piece.outline, h.outline) for h in touched)
    return shared >= _HALF * min(own, largest)


def _is_pulled(piece: Footprint, steps: Mapping[int, Step]) -> bool:
    pattern = arrangements.find(steps[piece.step].arrange)
    return pattern is not None and pattern.laid == PULLED


def _apart(a: Footprint, b: Footprint) -> float:
    return geometry2d.distance(a.outline, b.outline)
