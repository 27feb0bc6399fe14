"""What is wrong with a laid plate, as a chef is told it: where in the spec, what, and what to do.

Errors: pieces off the plate or over the rim, pieces that overlap without being told to,
gaps not kept, more sauce than the well holds.  Warnings: a weight that the size cannot
have, a sauce that will not stay, a fan that differs from its own figures, a piece that
tips over.  Advice is in :mod:`~platecard.layout.style_advice`.  Each fault comes with the
pieces it is about, so that a preview can show it.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field

from platecard.diagnostics import Problem, Span, error, warning
from platecard.layout import amounts, arrangements, geometry2d, plate_geometry, style_advice
from platecard.layout.footprint import RIM, Arrangement, Fault, Footprint, clock_of
from platecard.layout.pattern import PULLED, more_room
from platecard.layout.plate_geometry import capacity_ml
from platecard.layout.style_advice import coverage
from platecard.layout.support_checks import unheld, unsupported
from platecard.model import Dish, Plate, Step
from platecard.quantities.clock_positions import clock_text
from platecard.quantities.units import shown

__all__ = ["capacity_ml", "check", "coverage", "faults"]

_TOUCH = 0.5  # mm: pieces may press into each other by the width of a knife cut
_HAND, _LITTLE = 1.0, 0.05  # mm, and a share of a piece: no hand places more finely (common practice, no source)
_EDGE = 0.25  # mm: nobody sees a piece reach this far over an edge


def check(arrangement: Arrangement, dish: Dish) -> tuple[Problem, ...]:
    """All problems of the laid plate."""
    return tuple(f.problem for f in faults(arrangement, dish))


def faults(arrangement: Arrangement, dish: Dish) -> tuple[Fault, ...]:
    """The same problems, each with the pieces that show it."""
    steps = {s.index: s for s in dish.steps}
    called = {c.key: c.called for c in dish.components}
    by_step: dict[int, list[Footprint]] = {}
    for f in arrangement.footprints:
        by_step.setdefault(f.step, []).append(f)
    found: list[Fault] = []
    too_big, over_edge = set(), set[str]()
    for number, pieces in by_step.items():
        step, name = steps[number], called[pieces[0].component]
        if problem := _larger_than_the_plate(step, pieces, name, arrangement.plate):
            too_big.add(number)
            found.append(Fault(problem, tuple(pieces)))
        else:
            beyond = list(_edges(step, pieces, name, arrangement.plate))
            # What lies on pieces that are over the edge comes back with them.
            found += beyond if not step.on or not over_edge.issuperset(step.on) else ()
            over_edge |= {step.put} if beyond else set()
        found += _own_pieces(step, pieces, name)
        if pattern := arrangements.find(step.arrange):
            found += pattern.checks(step, pieces, name)
        found += _accepted(step, pieces, name, arrangement.plate)
        found += amounts.weight(step, pieces, name)
        found += amounts.unstable(step, pieces, name)
    if not too_big:
        found += _overlaps(arrangement, dish, steps, called)
        found += unsupported(steps, by_step, called)
        found += unheld(steps, by_step, called, arrangement.plate)
    found += amounts.sauce(arrangement.plate, dish, by_step, called)
    found += style_advice.opinions(arrangement, dish, _asked(dish, steps)) if not too_big else ()
    return tuple(found)


# --- the plate's edges -----------------------------------------------------------------------------------------------


def _larger_than_the_plate(step: Step, pieces: list[Footprint], name: str, plate: Plate) -> Problem | None:
    outer = max(float(plate.outer_mm), float(plate.outer_far_mm or 0))
    pattern = arrangements.find(step.arrange)
    # A drizzle may be longer than the plate is wide: it bends.  What counts is how far it reaches.
    is_pulled = pattern is not None and pattern.laid == PULLED
    longest = max(
        max(f.box[2] - f.box[0], f.box[3] - f.box[1]) if is_pulled else max(f.length_mm, f.width_mm) for f in pieces
    )
    if longest <= outer:
        return None
    key = "piece" if step.piece else "across"
    return error(
        "larger-than-the-plate",
        step.place(key),
        f"one piece of {name} is {shown(longest)} mm long, and the plate is {shown(outer)} mm across",
        "check the size and its unit",
    )


def _edges(step: Step, pieces: list[Footprint], name: str, plate: Plate) -> Iterator[Fault]:
    """One fault for the piece that reaches furthest over the edge: that of the plate, or else of the well."""
    well, outer = plate_geometry.well(plate), plate_geometry.rim(plate)
    least = min(well.a, well.b)
    by_well, by_plate = -math.inf, -math.inf
    point, piece = (0.0, 0.0), pieces[0]
    over_well: list[Footprint] = []
    over_plate: list[Footprint] = []
    for f in pieces:
        # Most pieces lie well inside, and their middle and half diagonal are enough to show it.
        if math.hypot(*f.centre) + math.hypot(f.length_mm, f.width_mm) / 2 <= least:
            continue
        far = max(f.outline, key=well.beyond)
        over = well.beyond(far)
        off = max(map(outer.beyond, f.outline))
        over_well += [f] if over > _EDGE else []
        over_plate += [f] if off > _EDGE else []
        by_plate = max(by_plate, off)
        if over > by_well:
            by_well, point, piece = over, far, f
    if over_plate:
        slug, over, words, shown_by = "off-the-plate", by_plate, "the plate's edge", over_plate
    elif over_well and RIM not in step.on:
        slug, over, words, shown_by = "over-the-rim", by_well, "the well's edge", over_well
    else:
        return
    out = math.hypot(*piece.centre)
    where = clock_text(clock_of(*point))
    several = _of(len(shown_by), len(pieces), name, "reach", "reaches")
    allowed = math.floor(out - (by_well if RIM not in step.on else by_plate)) if well.is_circle else 0
    if out > 1 and allowed > 0:
        hint = f"move it in to {allowed} mm or less from the centre"
    elif not well.is_circle and out > over:
        hint = f"move it in by {math.ceil(over)} mm"
    else:
        hint = "make it smaller, or use a larger plate"
    yield Fault(
        error(
            slug,
            _where(step),
            f"{several} {shown(over)} mm over {words} at {where}",
            hint,
            "" if slug != "over-the-rim" or arrangements.is_poured(step) else "if it belongs on the rim, add on: rim",
        ),
        tuple(shown_by),
    )


def _of(number: int, whole: int, name: str, many: str, one: str) -> str:
    """The subject of a sentence: 'char reaches', '1 of 5 pieces of char reaches', '3 of 5 pieces of char reach'."""
    return f"{name} {one}" if whole == 1 else f"{number} of {whole} pieces of {name} {one if number == 1 else many}"


def _where(step: Step) -> Span:
    """The place of the key that says where the step lies, or of ``put`` where none was written."""
    key = next(
        (
            k
            for k in (
                "out",
                "at",
                "within",
                "across",
                "to",
                "from",
                "beside",
                "behind",
                "under",
                "around",
                "alternating_with",
                "on",
                "piece",
            )
            if k in step.places
        ),
        "put",
    )
    return step.place(key)


def _accepted(step: Step, pieces: list[Footprint], name: str, plate: Plate) -> Iterator[Fault]:
    """Warnings where expo would accept nearly anything: no piece at all, any place, any direction."""
    a, well = step.accept, plate_geometry.well(plate)
    said = []
    if a.count and a.count >= step.count:
        said.append(f"{step.count} ±{a.count} accepts a plate without {name}")
    if a.place_mm is not None and a.place_mm > min(well.a, well.b) / 2:
        said.append(f"±{shown(a.place_mm)} mm is half the way across the plate")
    if a.turn_deg is not None and a.turn_deg > 90:
        said.append(f"±{shown(a.turn_deg)}° is more than a quarter turn either way")
    for words in said:
        yield Fault(
            warning(
                "accepts-anything", step.place("accept"), words, "accept less, or leave it out if it does not matter"
            ),
            tuple(pieces),
        )


# --- pieces of one step ----------------------------------------------------------------------------------------------


def _near_pairs(pieces: list[Footprint] | tuple[Footprint, ...], by: float) -> Iterator[tuple[Footprint, Footprint]]:
    """Pairs of pieces whose boxes come nearer than ``by`` mm, found by a sweep so that hundreds stay cheap."""
    rows = sorted((f.box, i) for i, f in enumerate(pieces))
    for k, (one, i) in enumerate(rows):
        for two, j in rows[k + 1 :]:
            if two[0] > one[2] + by:
                break
            if two[1] <= one[3] + by and one[1] <= two[3] + by:
                yield (pieces[i], pieces[j]) if i < j else (pieces[j], pieces[i])


def _depth(a: Footprint, b: Footprint) -> float:
    """How far in mm one must move to be clear of the other; 0 where they do not overlap."""
    if a.radius_mm and b.radius_mm:
        return max(0.0, a.radius_mm + b.radius_mm - math.dist(a.centre, b.centre))
    return geometry2d.depth(a.outline, b.outline)[0] if geometry2d.meet(a.outline, b.outline) else 0.0


def _apart(a: Footprint, b: Footprint) -> float:
    if a.radius_mm and b.radius_mm:
        return max(0.0, math.dist(a.centre, b.centre) - a.radius_mm - b.radius_mm)
    return geometry2d.distance(a.outline, b.outline)


def _own_pieces(step: Step, pieces: list[Footprint], name: str) -> Iterator[Fault]:
    pattern = arrangements.find(step.arrange)
    if len(pieces) < 2 or pattern and pattern.overlaps or step.overlap or step.put in step.may_touch:
        return
    gap = float(step.gap_mm or 0)
    overlapping = close = 0
    worst, nearest = 0.0, math.inf
    over: dict[Footprint, None] = {}
    near: dict[Footprint, None] = {}
    for a, b in _near_pairs(pieces, gap):
        depth = _depth(a, b)
        if depth > _TOUCH:
            overlapping, worst = overlapping + 1, max(worst, depth)
            over.update({a: None, b: None})
        elif gap and (apart := _apart(a, b)) < gap - 0.01:
            close, nearest = close + 1, min(nearest, apart)
            near.update({a: None, b: None})
    room = pattern.room(step, pieces) if pattern else more_room(step, pieces)
    if overlapping and step.arrange == "one":
        # The layout shared them out over other pieces, not the chef: the picture is crowded, not wrong.
        yield Fault(
            warning(
                "pieces-overlap",
                step.place("count"),
                f"{len(pieces)} pieces of {name} do not lie side by side on {' and '.join(step.on)}",
                "use fewer, or let them overlap: may_touch: " + step.put,
            ),
            tuple(over),
        )
    elif overlapping:
        yield Fault(
            error(
                "pieces-overlap",
                step.place("count"),
                f"pieces of {name} overlap each other by up to {shown(worst)} mm, {_pairs(overlapping)}",
                room,
                "if that is intended, write arrange: fan, or may_touch: " + step.put,
            ),
            tuple(over),
        )
    if close:
        yield Fault(
            error(
                "too-close",
                step.place("gap"),
                f"pieces of {name} come within {shown(nearest)} mm of each other, {_pairs(close)}; the gap should be"
                f" {shown(gap)} mm",
                room,
            ),
            tuple(near),
        )


def _pairs(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


# --- pieces of different steps ---------------------------------------------------------------------------------------


def _asked(dish: Dish, steps: dict[int, Step]) -> Callable[[Footprint, Footprint], bool]:
    """A test whether two pieces may overlap: one lies on the other, directly or by way of others, or may touch it."""
    rests: dict[str, set[str]] = {}
    for s in dish.steps:
        rests.setdefault(s.put, set()).update(s.on)
        if s.under:
            rests.setdefault(s.under, set()).add(s.put)

    def below(name: str) -> set[str]:
        seen: set[str] = set()
        waiting = list(rests.get(name, ()))
        while waiting:
            n = waiting.pop()
            if n not in seen:
                seen.add(n)
                waiting += rests.get(n, ())
        return seen

    under = {name: below(name) for name in rests}

    def asked(a: Footprint, b: Footprint) -> bool:
        one, two = steps[a.step], steps[b.step]
        if b.component in under[a.component] or a.component in under[b.component]:
            return True
        if b.component in one.may_touch or a.component in two.may_touch:
            return True
        # A sauce poured over the finished plate runs under and around whatever is on it.
        return any(arrangements.is_poured(s) and (s.at_table or s.poured) for s in (one, two))

    return asked


@dataclass(slots=True)
class _Overlap:
    """Where two components overlap: the worst pair (``first`` below), and all the pieces concerned.

    ``above`` holds the step and index of each piece of the upper component, ``pieces`` both sides in order.
    """

    depth_mm: float
    first: Footprint
    later: Footprint
    above: set[tuple[int, int]] = field(default_factory=set)
    pieces: dict[Footprint, None] = field(default_factory=dict)


def _overlaps(arrangement: Arrangement, dish: Dish, steps: dict[int, Step], called: dict[str, str]) -> Iterator[Fault]:
    asked = _asked(dish, steps)
    found: dict[tuple[str, str], _Overlap] = {}
    for a, b in _near_pairs(arrangement.footprints, 0.0):
        if a.step == b.step or asked(a, b):
            continue
        depth = _depth(a, b)
        if depth > _TOUCH:
            first, later = (a, b) if a.step < b.step else (b, a)
            entry = found.setdefault((first.component, later.component), _Overlap(0.0, first, later))
            entry.above.add((later.step, later.index))
            entry.pieces.update({first: None, later: None})
            if depth > entry.depth_mm:
                entry.depth_mm, entry.first, entry.later = depth, first, later
    for (below, above), worst in found.items():
        depth, a, b = worst.depth_mm, worst.first, worst.later
        step = steps[b.step]
        whole = sum(f.component == above for f in arrangement.footprints)
        count = _of(len(worst.above), whole, called[above], "lie", "lies")
        share = geometry2d.shared_area(a.outline, b.outline) / min(
            geometry2d.area(a.outline), geometry2d.area(b.outline)
        )
        x, y = (a.centre[0] + b.centre[0]) / 2, (a.centre[1] + b.centre[1]) / 2
        where = (
            f"at {clock_text(clock_of(x, y))}, {shown(math.hypot(x, y), 0)} mm out"
            if math.hypot(x, y) > 3
            else "in the centre"
        )
        # What only touches, by less than a hand can place it, is told and does not withhold the card.
        touches = depth <= _HAND and share < _LITTLE
        count = count if not touches else _of(len(worst.above), whole, called[above], "touch", "touches")
        well = plate_geometry.well(arrangement.plate)
        has_room = depth <= min(well.a, well.b) / 2
        yield Fault(
            (warning if touches else error)(
                "overlap",
                _where(step),
                f"{count} {called[below]} by {shown(depth)} mm {where}"
                if touches
                else f"{count} over {called[below]} by up to {shown(depth)} mm ({shown(100 * share, 0)} % of a"
                f" piece), most {where}",
                f"move it by at least {math.ceil(depth)} mm, clear of {called[below]}"
                if has_room
                else "the plate has no room to move it clear: make one of the two smaller, or take one off",
                f"if it is intended to lie there, write on: {below}; if they may touch, write may_touch: {below}",
            ),
            tuple(worst.pieces),
        )
