"""Whether every piece that is said to lie on something does lie on it.

A piece lies on another if its middle is over it and at least half of the smaller of the two is
shared.  A standing piece needs its foot there, a leaning or pulled one has to touch, and so has
one that lies across a swipe.  On a bed of small pieces (crumbs, leaves) its middle has to be
within the bed.  A sauce runs where it likes.
"""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping, Sequence

from platecard.diagnostics import error
from platecard.layout import arrangements, geometry2d
from platecard.layout.footprint import RIM, Fault, Footprint, clock_of
from platecard.layout.pattern import PULLED
from platecard.model import Step
from platecard.quantities.clock_positions import clock_text
from platecard.quantities.units import shown

_HALF = 0.5 - 1e-6
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
