"""What only the laid plate tells, in a cook's words: which pieces lie on which, and how wide the gaps are.

In: a step, its dish, the arrangement.  Out: words, or "" if the step's own words say it all.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from platecard.diagnostics import listed
from platecard.documents.text import wording
from platecard.layout import arrangements, geometry2d
from platecard.layout.arrangements import arc
from platecard.layout.footprint import Arrangement, Footprint, clock_of
from platecard.layout.regions import borne
from platecard.model import Dish, Step
from platecard.quantities.clock_positions import clock_text
from platecard.quantities.units import shown

_NUMBERS = ("", "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven", "twelve")
_ORDINALS = (
    "",
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
)
_AS_DRAWN = "spread as drawn"
_CENTRE_MM = 5.0  # a piece nearer to the middle than this has no clock position
_NEAR_DEG = 10.0  # pieces closer in direction than this are told apart by their distance from the centre
_MOST_NAMED = 4  # more pieces than this are not listed one by one
_EVEN_MM = 0.6  # gaps that differ by less than this count as even: no cook places more finely


def on(step: Step, dish: Dish, arrangement: Arrangement) -> str:
    """Which pieces lie on which: ``on char: one on every second slice, counted clockwise from 5:00``."""
    shares = borne(step, dish.steps, arrangement.footprints)
    said = []
    for name in dict.fromkeys(host.component for host, _ in shares):
        hosts = [host for host, _ in shares if host.component == name]
        counts = [n for host, n in shares if host.component == name]
        of = [s for s in dish.steps if s.put == name and s.index in {h.step for h in hosts}]
        if any(counts):
            said.append(f"on {wording.called(name, dish)}: {_shared(hosts, counts, of)}")
    return "; ".join(said)


def _shared(hosts: Sequence[Footprint], counts: Sequence[int], steps: Sequence[Step]) -> str:
    """How many pieces lie on which of the ``hosts``, all of one component."""
    low, high = min(counts), max(counts)
    if len(hosts) == 1:
        if high == 1:
            return "one"
        return (
            f"{_number(high)}, evenly along it"
            if hosts[0].length_mm > 1.3 * hosts[0].width_mm
            else f"{_number(high)}, {_AS_DRAWN}"
        )
    if low == high:
        return f"{_number(low)} on each"
    some, rest = ([i for i, n in enumerate(counts) if n == each] for each in (high, low))
    counting = _counting(steps[0], hosts) if len(steps) == 1 else ""
    if not counting and min(len(some), len(rest)) > _MOST_NAMED:
        return _AS_DRAWN
    noun = wording.noun(hosts[0].shape, 1)
    stride = some[1] - some[0] if len(some) > 2 else 0
    if counting and not low and stride > 1 and some == list(range(some[0], len(hosts), stride)) and some[0] < stride:
        said = f"{_number(high)} on every {_ordinal(stride)} {noun} from the {_ordinal(some[0] + 1)} on"
    elif not low and len(rest) < len(some) > 3:
        said = f"{_number(high)} on each {noun} but {_named(rest, hosts, counting, '')}"
    elif not low:
        said = f"{_number(high)}{' each' if len(some) > 1 else ''} on {_named(some, hosts, counting, noun)}"
    else:
        few, many, n, others = (some, rest, high, low) if len(some) <= len(rest) else (rest, some, low, high)
        other = "each of the others" if len(many) > 1 else "the other"
        said = (
            f"{_number(n)}{' each' if len(few) > 1 else ''} on {_named(few, hosts, counting, noun)}, {_number(others)}"
            f" on {other}"
        )
    return f"{said}, {counting}" if counting else said


def _counting(step: Step, hosts: Sequence[Footprint]) -> str:
    """Where to start counting pieces that lie in a row, and which way; "" if they lie in none."""
    if step.around:
        return arc.counted_in_ring(step, hosts)
    pattern = arrangements.find(step.arrange)
    return pattern.counting(step, hosts) if pattern else ""


def _named(which: Sequence[int], hosts: Sequence[Footprint], counting: str, noun: str) -> str:
    """``the first and third wedge`` if they can be counted, else ``the discs at 12:05 and 2:40``."""
    if counting:
        return f"the {listed([_ordinal(i + 1) for i in which])} {noun}".rstrip()
    places = listed([_place(hosts[i], hosts) for i in which])
    return (
        f"the {wording.noun(hosts[0].shape, len(which))} {places}"
        if noun
        else f"{'those' if len(which) > 1 else 'the one'} {places}"
    )


def _place(host: Footprint, hosts: Sequence[Footprint]) -> str:
    far, clock = math.hypot(*host.centre), clock_of(*host.centre)
    if far < _CENTRE_MM:
        return "in the centre"
    near = [h for h in hosts if h is not host and abs((clock_of(*h.centre) - clock + 180) % 360 - 180) < _NEAR_DEG]
    return f"at {clock_text(clock)}" + (f" ({shown(far, 0)} mm out)" if near else "")


def _number(n: int) -> str:
    return _NUMBERS[n] if n < len(_NUMBERS) else str(n)


def _ordinal(n: int) -> str:
    if n < len(_ORDINALS):
        return _ORDINALS[n]
    ending = {1: "st", 2: "nd", 3: "rd"}.get(n % 10, "th") if n % 100 not in (11, 12, 13) else "th"
    return f"{n}{ending}"


def gaps(step: Step, arrangement: Arrangement) -> str:
    """The gaps between graded pieces as laid: ``gaps even, 4 mm from edge to edge``; "" for other pieces."""
    pattern = arrangements.find(step.arrange)
    if step.piece is None or step.piece.last_mm is None or pattern is None or not pattern.takes_graded:
        return ""
    row = [f for f in arrangement.footprints if f.step == step.index]
    found = [_between(a, b) for a, b in zip(row, row[1:])]
    if not found:
        return ""
    low, high = min(found), max(found)
    if high < 0.25:
        return "edge to edge, no gaps" if low > -0.25 else "overlapping as drawn"
    if high - low < _EVEN_MM:
        return f"gaps even, {_mm((low + high) / 2)} from edge to edge"
    order = "grow from " if found == sorted(found) else "shrink from " if found == sorted(found, reverse=True) else ""
    first, last = (found[0], found[-1]) if order else (low, high)
    return f"gaps {order}{_mm(max(first, 0.0)).removesuffix(' mm')} to {_mm(max(last, 0.0))}, edge to edge"


def covering(step: Step, arrangement: Arrangement) -> str:
    """How much of the piece before each piece covers as laid; "" where the spec asks for no share."""
    row = [f for f in arrangement.footprints if f.step == step.index]
    if step.overlap is None or len(row) < 2:
        return ""
    shares = [geometry2d.shared_area(a.outline, b.outline) / geometry2d.area(a.outline) for a, b in zip(row, row[1:])]
    return f"each covering about {shown(100 * sum(shares) / len(shares), 0)} % of the one before"


def _between(a: Footprint, b: Footprint) -> float:
    """The gap between two pieces in mm, negative if round ones overlap."""
    if a.radius_mm and b.radius_mm:
        return math.dist(a.centre, b.centre) - a.radius_mm - b.radius_mm
    return geometry2d.distance(a.outline, b.outline)


def _mm(value: float) -> str:
    return f"{shown(value, 0 if value >= 3 else 1)} mm"
