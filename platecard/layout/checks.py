"""What is wrong with a laid plate, told to a chef: where in the spec, what, and what to do.

Errors: off the plate or over the rim, pieces that lie on each other unasked, gaps not
kept, more sauce than the well holds.  Warnings: a weight the size cannot have, a sauce
that will not stay, a fan that disagrees with its own words.  Advice: crowding.
"""

from __future__ import annotations

import math
from collections.abc import Iterator

from ..model import Dish, Plate, Step
from ..problems import Problem, advice, error, warning
from ..units import clock_text, shown
from . import planar, shapes
from .footprint import RIM, Arrangement, Footprint, clock_of

_TOUCH = 0.5       # mm: pieces may press against each other by as much as a knife's cut is wide
_EDGE = 0.25       # mm over an edge that nobody sees
_CROWDED = 0.75    # share of the well covered; practice: 40 to 65 % is usual
_MOST_PARTS = 6    # components on a main course before it is busy; practice
_LIGHT, _HEAVY = 0.2, 1.3  # g/ml: from a foam to a thick caramel
_SLACK = 1.3       # drawn size against weight: piped and spooned shapes vary by this much
_THIN, _THICK = 0.4, 6.0   # mm: a sauce thinner than this runs dry, thicker ones flow on without a wall


def check(arrangement: Arrangement, dish: Dish) -> tuple[Problem, ...]:
    """Everything to mend on the laid plate."""
    steps = {s.index: s for s in dish.steps}
    called = {c.key: c.called for c in dish.components}
    by_step: dict[int, list[Footprint]] = {}
    for f in arrangement.footprints:
        by_step.setdefault(f.step, []).append(f)
    found: list[Problem] = []
    too_big = set()
    for number, pieces in by_step.items():
        step, name = steps[number], called[pieces[0].component]
        if problem := _larger_than_the_plate(step, pieces, name, arrangement.plate):
            too_big.add(number)
            found.append(problem)
        else:
            found += _edges(step, pieces, name, arrangement.plate)
        found += _own_pieces(step, pieces, name)
        found += _fan(step, pieces, name)
        found += _weight(step, pieces, name)
    if not too_big:
        found += _overlaps(arrangement, dish, steps, called)
    found += _sauce(arrangement.plate, dish, steps, by_step, called)
    found += _opinions(arrangement, dish) if not too_big else ()
    return tuple(found)


# --- the plate's edges -----------------------------------------------------------------------------------------------


def _larger_than_the_plate(step: Step, pieces: list[Footprint], name: str, plate: Plate) -> Problem | None:
    outer = float(plate.outer_mm)
    longest = max(max(f.length_mm, f.width_mm) for f in pieces)
    if longest <= outer:
        return None
    key = "piece" if step.piece else "across"
    return error("larger-than-the-plate", step.place(key), f"one piece of {name} is {shown(longest)} mm, and the plate {shown(outer)} mm across", "check the size and its unit")


def _edges(step: Step, pieces: list[Footprint], name: str, plate: Plate) -> Iterator[Problem]:
    """One problem for the piece that reaches furthest, over the plate or else over the well."""
    well, outer = float(plate.well_mm) / 2, float(plate.outer_mm) / 2
    reach, point, piece = 0.0, (0.0, 0.0), pieces[0]
    beyond_well = beyond_plate = 0
    for f in pieces:
        # Most pieces lie well inside: their middle and half diagonal say so.
        if math.hypot(*f.centre) + math.hypot(f.length_mm, f.width_mm) / 2 <= well:
            continue
        far = max(f.outline, key=lambda p: p[0] * p[0] + p[1] * p[1])
        r = math.hypot(*far)
        beyond_well += r > well + _EDGE
        beyond_plate += r > outer + _EDGE
        if r > reach:
            reach, point, piece = r, far, f
    if beyond_plate:
        slug, edge, words, number = "off-the-plate", outer, "the plate's edge", beyond_plate
    elif beyond_well and RIM not in step.on:
        slug, edge, words, number = "over-the-rim", well, "the well's edge", beyond_well
    else:
        return
    over = reach - edge
    out = math.hypot(*piece.centre)
    where = clock_text(clock_of(*point))
    several = _of(number, len(pieces), name, "reach", "reaches")
    allowed = math.floor(out - (reach - (well if RIM not in step.on else outer)))
    if out > 1 and allowed > 0:
        hint = f"move it in to {allowed} mm or less from the centre"
    elif step.piece or step.across_mm:
        hint = "make it smaller, or take a larger plate"
    yield error(slug, _where(step), f"{several} {shown(over)} mm over {words} at {where}", hint,
                "if it belongs on the rim, add on: rim" if slug == "over-the-rim" and step.arrange != "pool" else "")


def _of(number: int, whole: int, name: str, many: str, one: str) -> str:
    """The subject of a sentence: 'char reaches', '1 of 5 pieces of char reaches', '3 of 5 pieces of char reach'."""
    return f"{name} {one}" if whole == 1 else f"{number} of {whole} pieces of {name} {one if number == 1 else many}"


def _where(step: Step):
    """The key that says where the step lies, as far as it was written."""
    key = next((k for k in ("out", "at", "within", "across", "to", "from", "on", "piece") if k in step.places), "put")
    return step.place(key)


# --- pieces of one step ----------------------------------------------------------------------------------------------


def _near_pairs(pieces: list[Footprint] | tuple[Footprint, ...], by: float) -> Iterator[tuple[Footprint, Footprint]]:
    """Pairs whose boxes come nearer than ``by``: a sweep from left to right, so that hundreds stay cheap."""
    rows = sorted(((planar.box(f.outline), i) for i, f in enumerate(pieces)))
    for k, (one, i) in enumerate(rows):
        for two, j in rows[k + 1 :]:
            if two[0] > one[2] + by:
                break
            if two[1] <= one[3] + by and one[1] <= two[3] + by:
                yield (pieces[i], pieces[j]) if i < j else (pieces[j], pieces[i])


def _depth(a: Footprint, b: Footprint) -> float:
    """How far one must move to be clear of the other in mm; 0 where they do not overlap."""
    if a.radius_mm and b.radius_mm:
        return max(0.0, a.radius_mm + b.radius_mm - math.dist(a.centre, b.centre))
    return planar.depth(a.outline, b.outline)[0] if planar.meet(a.outline, b.outline) else 0.0


def _apart(a: Footprint, b: Footprint) -> float:
    if a.radius_mm and b.radius_mm:
        return max(0.0, math.dist(a.centre, b.centre) - a.radius_mm - b.radius_mm)
    return planar.distance(a.outline, b.outline)


def _own_pieces(step: Step, pieces: list[Footprint], name: str) -> Iterator[Problem]:
    if len(pieces) < 2 or step.arrange in ("fan", "stack") or step.overlap or step.put in step.may_touch:
        return
    gap = float(step.gap_mm or 0)
    overlapping = close = 0
    worst, nearest = 0.0, math.inf
    for a, b in _near_pairs(pieces, gap):
        depth = _depth(a, b)
        if depth > _TOUCH:
            overlapping, worst = overlapping + 1, max(worst, depth)
        elif gap and (apart := _apart(a, b)) < gap - 0.01:
            close, nearest = close + 1, min(nearest, apart)
    room = _room(step, pieces)
    if overlapping and step.arrange == "one":
        # Shared out over other pieces by the layout, not by the chef: the picture is crowded, not wrong.
        yield warning("pieces-overlap", step.place("count"), f"{len(pieces)} pieces of {name} do not lie side by side on {' and '.join(step.on)}",
                      "put fewer, or say that they may: may_touch: " + step.put)
    elif overlapping:
        yield error("pieces-overlap", step.place("count"), f"pieces of {name} lie over each other by up to {shown(worst)} mm, {_pairs(overlapping)}", room,
                    "if they should, say arrange: fan, or may_touch: " + step.put)
    if close:
        yield error("too-close", step.place("gap"), f"pieces of {name} come within {shown(nearest)} mm of each other, {_pairs(close)}; the gap is to be {shown(gap)} mm", room)


def _pairs(count: int) -> str:
    return "once" if count == 1 else f"{count} times"


def _room(step: Step, pieces: list[Footprint]) -> str:
    """What would give the pieces of a ring or an arc enough room."""
    if step.arrange not in ("ring", "arc") or not pieces[0].radius_mm:
        return "put fewer, or move them apart"
    n, chord = len(pieces), 2 * pieces[0].radius_mm + float(step.gap_mm or 0)
    first, second = pieces[0].centre, pieces[1].centre
    now = math.dist(first, second)
    if now < 1e-6:
        return "put fewer, or move them apart"
    if step.arrange == "arc":
        return f"move them out {shown(100 * (chord / now - 1), 0)} % further, or put {max(1, math.floor((n - 1) * now / chord) + 1)}"
    r = now / (2 * math.sin(math.pi / n))
    fewer = math.floor(math.pi / math.asin(min(1.0, chord / (2 * r))))
    return f"move them out to {math.ceil(chord / (2 * math.sin(math.pi / n)))} mm, or put {fewer}"


def _fan(step: Step, pieces: list[Footprint], name: str) -> Iterator[Problem]:
    """A fan whose slices do not lie on each other, or not by as much as it says."""
    if step.arrange != "fan" or len(pieces) < 2:
        return
    a, b = pieces[0], pieces[1]
    way = clock_of(b.centre[0] - a.centre[0], b.centre[1] - a.centre[1])
    turn = math.radians((a.axis_deg + b.axis_deg) / 2 - way if abs(a.axis_deg - b.axis_deg) < 180 else (a.axis_deg + b.axis_deg) / 2 + 180 - way)
    size = a.length_mm * abs(math.cos(turn)) + a.width_mm * abs(math.sin(turn))
    share = 1 - math.dist(a.centre, b.centre) / size
    if share <= 0:
        yield warning("fan-without-overlap", step.place("arrange"), f"the slices of {name} lie {shown(-share * size)} mm apart, so they make no fan", "end it nearer to its start, put more slices, or say arrange: arc")
    elif step.overlap is not None and abs(share - float(step.overlap)) > 0.1:
        yield warning("fan-overlap", step.place("overlap"), f"the slices of {name} cover each other by {shown(100 * share, 0)} %, not {shown(100 * float(step.overlap), 0)} %",
                      "where it begins and ends and the count decide; change one of them")


# --- pieces of different steps ---------------------------------------------------------------------------------------


def _asked(dish: Dish, steps: dict[int, Step]):
    """A test whether two steps may overlap: one lies on the other, straight or over others, or may touch it."""
    rests: dict[str, set[str]] = {}
    for s in dish.steps:
        rests.setdefault(s.put, set()).update(s.on)

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
        # A sauce poured over the finished plate runs under and around what stands there.
        return any(s.arrange == "pool" and (s.section == "at_table" or s.poured) for s in (one, two))

    return asked


def _overlaps(arrangement: Arrangement, dish: Dish, steps: dict[int, Step], called: dict[str, str]) -> Iterator[Problem]:
    asked = _asked(dish, steps)
    found: dict[tuple[str, str], list] = {}
    for a, b in _near_pairs(arrangement.footprints, 0.0):
        if a.step == b.step or asked(a, b):
            continue
        depth = _depth(a, b)
        if depth > _TOUCH:
            first, later = (a, b) if a.step < b.step else (b, a)
            entry = found.setdefault((first.component, later.component), [0.0, first, later, set()])
            entry[3].add((later.step, later.index))
            if depth > entry[0]:
                entry[:3] = [depth, first, later]
    for (below, above), (depth, a, b, pieces) in found.items():
        step = steps[b.step]
        whole = sum(f.component == above for f in arrangement.footprints)
        count = _of(len(pieces), whole, called[above], "lie", "lies")
        share = planar.shared_area(a.outline, b.outline) / min(planar.area(a.outline), planar.area(b.outline))
        x, y = (a.centre[0] + b.centre[0]) / 2, (a.centre[1] + b.centre[1]) / 2
        where = f"at {clock_text(clock_of(x, y))}, {shown(math.hypot(x, y), 0)} mm out" if math.hypot(x, y) > 3 else "in the middle"
        yield error("overlap", _where(step), f"{count} over {called[below]} unasked, by up to {shown(depth)} mm ({shown(100 * share, 0)} % of a piece), most {where}",
                    f"move it {math.ceil(depth)} mm away", f"if it is meant to lie there, say on: {below}; if they may just touch, may_touch: {below}")


# --- sauce and weight ------------------------------------------------------------------------------------------------


def capacity_ml(plate: Plate) -> float | None:
    """What the well holds, brim full: a bowl or coupe is part of a ball, a rimmed plate's well a cylinder."""
    if plate.depth_mm is None:
        return None
    well, depth = float(plate.well_mm), float(plate.depth_mm)
    return shapes.cylinder_ml(well, depth) if plate.form == "rimmed" else shapes.cap_ml(well, depth)


def _sauce(plate: Plate, dish: Dish, steps: dict[int, Step], by_step: dict[int, list[Footprint]], called: dict[str, str]) -> Iterator[Problem]:
    total, last = 0.0, None
    for s in dish.steps:
        if s.arrange != "pool" or s.amount is None or s.amount.kind not in ("volume", "mass"):
            continue
        ml = float(s.amount.high)  # a weight counts as if it were water
        total, last = total + ml, s
        for f in by_step.get(s.index, ()):
            thick = 1000 * ml / planar.area(f.outline)
            walled = f.length_mm >= 0.9 * float(plate.well_mm) and plate.depth_mm is not None
            if thick < _THIN or thick > _THICK and not walled:
                right = 2 * math.sqrt(1000 * ml / (math.pi * 2))
                yield warning("pool-thickness", s.place("across"), f"{shown(ml)} ml of {called[s.put]} over {shown(f.length_mm)} mm would stand {shown(thick)} mm high" + (" and run dry" if thick < _THIN else " and flow on"),
                              f"at 2 mm it spreads to {shown(right, 0)} mm")
    holds = capacity_ml(plate)
    if last and holds is not None and total > holds:
        yield error("too-much-sauce", last.place("amount"), f"{shown(total)} ml of sauce on a plate that holds {shown(holds, 0)} ml to the brim", "pour less, or take a deeper plate")


_WEIGHED = frozenset({"disc", "dot", "quenelle", "pool", "bar", "cube", "slice", "wedge", "fillet"})


def _weight(step: Step, pieces: list[Footprint], name: str) -> Iterator[Problem]:
    piece = step.piece
    if not piece or piece.weight_g is None or piece.shape not in _WEIGHED:
        return
    sizes = float(piece.length_mm), float(piece.width_mm)
    height = float(piece.height_mm) if piece.height_mm is not None else None
    ml = shapes.volume_ml(piece.shape, *sizes, height)
    if not ml:
        return
    grams = float(piece.weight_g)
    if _LIGHT / _SLACK <= grams / ml <= _HEAVY * _SLACK:
        return
    size = f"{shown(sizes[0])} x {shown(sizes[1])}" + (f" x {shown(height)}" if height else "") + " mm"
    yield warning("weight-and-size", step.place("piece"), f"a {piece.shape} of {size} is about {_small(ml)} ml, so {_small(grams)} g of {name} is too {'heavy' if grams > ml else 'light'} for it",
                  f"a piece of that size weighs {_small(ml * _LIGHT)} to {_small(ml * _HEAVY)} g")


def _small(value: float) -> str:
    """A number for people to two figures where it is small: oil drops weigh hundredths of a gram."""
    return shown(value) if value >= 1 else f"{value:.2g}"


# --- opinions --------------------------------------------------------------------------------------------------------


def _opinions(arrangement: Arrangement, dish: Dish) -> Iterator[Problem]:
    share = coverage(arrangement)
    if share > _CROWDED:
        yield advice("crowded", dish.plate_span, f"food covers {shown(100 * share, 0)} % of the well", "over 75 % looks crowded; a larger plate, or fewer or smaller pieces")
    if "main" in dish.course.lower() and len(arrangement.order) > _MOST_PARTS:
        yield advice("many-components", dish.span, f"{len(arrangement.order)} components on one main course", "five or six are as many as a pass keeps in order")


def coverage(arrangement: Arrangement) -> float:
    """The share of the well that pieces cover, pools aside.  Overlaps count once, to within 2 %."""
    well = float(arrangement.plate.well_mm) / 2
    pieces = [f.outline for f in arrangement.footprints if f.shape != "pool"]
    whole = math.pi * well * well
    simple = sum(map(planar.area, pieces)) / whole
    if simple <= _CROWDED:
        return simple
    lines = 60
    covered = 0.0
    for k in range(lines):
        y = well * (2 * (k + 0.5) / lines - 1)
        half = math.sqrt(well * well - y * y)
        spans = sorted(s for p in pieces for s in planar.spans(p, y))
        edge = -half
        for left, right in spans:
            left, right = max(left, edge), min(right, half)
            if right > left:
                covered += right - left
                edge = right
    return covered * 2 * well / lines / whole
