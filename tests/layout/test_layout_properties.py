"""What holds of every arrangement: it turns with the clock, stays where it was when something else comes, and keeps its
gap.
"""

import cmath
import json
import math
from collections.abc import Sequence
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPolygon
from shapely.geometry import Polygon as Area

from platecard import package_data
from platecard.documents.diagram import plate as view
from platecard.drawing.extent import bounds
from platecard.drawing.scene import Circle, Polygon
from platecard.layout import arrangements, geometry2d, plate_geometry, shapes
from platecard.layout.arrange import place
from platecard.layout.checks import check
from platecard.model import Facing, Place, Region
from platecard.quantities.clock_positions import clock_degrees
from tests.laid import at_mm, clock, dish, out, piece, plate, region, step
from tests.layout.test_arrangements import KITE
from tests.layout.test_plate_geometry import BOARD, BOX, OVAL, flat

ROUND = plate(300, 240)
SURFACES = {"round": ROUND, "oval": OVAL, "box": BOX, "board": BOARD}
HOURS = st.integers(0, 71).map(lambda n: Fraction(5 * n))
TURNING = st.sampled_from(["in", "out", "clockwise", "anticlockwise"])
KINDS = [*sorted(shapes.SHAPES - shapes.SAUCES), "outline"]
ALL_WAYS = (
    *(p.name for p in arrangements.ALL),
    "graded",
    "shared out",
    "strewn on",
    "beside",
    "around",
    "part of the way around",
    "alternating",
    "under",
)
"""Every value of ``arrange`` and every way to hang on another component."""


def small(kind: str, length: int, width: int):
    return piece(
        kind, length, width if kind not in shapes.ROUND | {"ring"} else length, points=KITE if kind == "outline" else ()
    )


@st.composite
def any_group(draw, key, how=None) -> Sequence:
    """Steps of one arrangement; those that hang on another component bring it along."""
    how = how or draw(st.sampled_from(ALL_WAYS))
    at = replace(clock("12:00"), clock_deg=draw(HOURS), out=out(f"{draw(st.integers(25, 80))} mm"))
    end = replace(at, clock_deg=draw(HOURS))
    bit = small(draw(st.sampled_from(KINDS)), draw(st.integers(5, 16)), draw(st.integers(5, 16)))
    facing = Facing(draw(TURNING))
    count = draw(st.integers(2, 6))
    host = step(
        key, piece=small(draw(st.sampled_from(["disc", "bar", "slice", "fillet"])), 40, 26), at=at, facing=facing
    )
    more = {"facing": facing}
    thrown = {} if draw(st.booleans()) else more
    match how:
        case "one" | "stack":
            return [step(key, count=1 if how == "one" else count, piece=bit, arrange=how, at=at, **more)]
        case "line" | "arc" | "fan":
            return [step(key, count=count, piece=bit, arrange=how, start=at, end=end, **more)]
        case "ring":
            return [replace(step(key, count=count, piece=bit, arrange=how, at=at, **more), out=at.out)]
        case "pool":
            return [step(key, arrange=how, at=at, across_mm=30)]
        case "row" | "grid" | "leaning":
            return [
                step(
                    key,
                    count=count,
                    piece=bit,
                    arrange=how,
                    at=at,
                    along_deg=draw(HOURS),
                    gap_mm=draw(st.integers(0, 5)),
                    **more,
                )
            ]
        case "cluster":
            return [step(key, count=count, piece=bit, arrange=how, at=at, gap_mm=draw(st.integers(0, 5)), **thrown)]
        case "scatter":
            where = Region(
                draw(HOURS),
                draw(HOURS),
                *(
                    out(f"{n} {unit}")
                    for unit in [draw(st.sampled_from(["mm", "%"]))]
                    for n in (draw(st.integers(5, 40)), draw(st.integers(60, 95)))
                ),
            )
            return [
                step(key, count=count, piece=bit, arrange=how, within=where, gap_mm=draw(st.integers(0, 5)), **thrown)
            ]
        case "swipe" | "drizzle":
            bends = draw(st.booleans())
            # Straight from a place to itself has no direction.
            end = end if bends or end != at else replace(at, clock_deg=(at.clock_deg + 90) % 360)
            return [step(key, arrange=how, start=at, end=end, across_mm=6, bends=bends)]
        case "graded":
            return [
                step(
                    key,
                    count=count,
                    piece=piece("dot", 9, last=4),
                    arrange=draw(st.sampled_from(["line", "arc"])),
                    start=at,
                    end=end,
                )
            ]
        case "shared out":
            return [host, step(key + "2", count=count, piece=bit, on=key, facing=facing)]
        case "strewn on":
            return [
                host,
                step(
                    key + "2",
                    count=count,
                    piece=small("dot", 4, 4) if draw(st.booleans()) else small("leaf", 7, 4),
                    arrange="scatter",
                    on=key,
                    **thrown,
                ),
            ]
        case "beside":
            return [
                host,
                step(
                    key + "2",
                    count=count,
                    piece=bit,
                    arrange=draw(st.sampled_from(["row", "cluster"])),
                    along_deg=draw(HOURS),
                    beside=key,
                    at=replace(end, out=None),
                    **more,
                ),
            ]
        case "around":
            return [
                host,
                step(key + "2", count=count, piece=bit, arrange="ring", around=key, at=replace(end, out=None)),
            ]
        case "part of the way around":
            return [
                host,
                step(
                    key + "2",
                    count=count,
                    piece=bit,
                    arrange="arc",
                    around=key,
                    start=replace(at, out=None),
                    end=replace(end, out=None),
                ),
            ]
        case "alternating":
            row = step(
                key,
                count=count + 1,
                piece=bit,
                arrange=draw(st.sampled_from(["arc", "line"])),
                start=at,
                end=end,
                **more,
            )
            return [row, step(key + "2", count=count, piece=piece("dot", 4), alternating_with=key)]
        case "under":
            return [step(key + "2", arrange="pool", across_mm=30, under=key), host]
    return [replace(step(key, count=count, piece=bit, arrange=how, **needed(how, at, end)), facing=facing)]


def needed(how: str, at, end) -> dict:
    """What an arrangement asks for beside its piece."""
    pattern = arrangements.find(how)
    assert pattern is not None and pattern.laid == "counted", how
    return {
        name: {"start": at, "end": end, "out": "60 mm"}[name]
        for name, key in (("start", "from"), ("end", "to"), ("out", "out"))
        if key in pattern.needs
    }


def test_every_arrangement_that_a_spec_may_name_is_proved_here():
    named = set(next(v["enum"] for v in found(json.loads(package_data.read_text("schemas", "dish.json")), "arrange")))
    assert named == {p.name for p in arrangements.ALL}


def found(tree, key: str):
    """What stands under a key of nested mappings, where that lists words."""
    for k, v in tree.items() if isinstance(tree, dict) else enumerate(tree) if isinstance(tree, list) else ():
        if k == key and "enum" in v:
            yield v
        yield from found(v, key)


def turned(s, by: int):
    """The step as the same plate would be written down after it has been turned."""

    def on(p):
        return p if p is None or p.clock_deg is None else replace(p, clock_deg=(p.clock_deg + by) % 360)

    within = s.within and replace(
        s.within, from_deg=(s.within.from_deg + by) % 360, to_deg=(s.within.to_deg + by) % 360
    )
    return replace(
        s,
        at=on(s.at),
        start=on(s.start),
        end=on(s.end),
        along_deg=None if s.along_deg is None else (s.along_deg + by) % 360,
        within=within,
    )


# --- an hour on
# --------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("how", ALL_WAYS)
@settings(max_examples=16)
@given(st.data())
def test_an_hour_on_the_clock_turns_every_arrangement(how, data):
    steps = data.draw(any_group("a", how))
    by = 30 * data.draw(st.integers(1, 11))
    before, told = place(dish(*steps), ROUND)
    after, again = place(dish(*(turned(s, by) for s in steps)), ROUND)
    assert [p.slug for p in told] == [p.slug for p in again] and before.footprints
    for f, g in zip(before.footprints, after.footprints, strict=True):
        assert (f.component, f.index, f.level) == (g.component, g.index, g.level)
        there = geometry2d.moved((f.centre,), by, 0, 0)[0]
        assert math.dist(there, g.centre) < 0.02
        # At the very centre there is no outward, and 12 o'clock stands for it; the way around a piece turns in steps
        # of 1.5 degrees.
        assert (
            math.hypot(*f.centre) < 0.1
            or Area(geometry2d.moved(f.outline, by, 0, 0)).symmetric_difference(Area(g.outline)).area
            < 0.03 * geometry2d.area(f.outline) + 0.05
        )


def test_what_is_thrown_turns_with_its_place_only_where_the_plate_does():
    leaves = dict(count=5, piece=piece("leaf", 12, 6), arrange="cluster")
    for on, alike in ((ROUND, False), (OVAL, True)):
        one, two = (
            place(dish(step("a", at=f"{hour}, 60 mm", **leaves)), on)[0].footprints for hour in ("12:00", "3:00")
        )
        assert all((f.axis_deg == pytest.approx(g.axis_deg)) == alike for f, g in zip(one, two))


# --- something new
# -----------------------------------------------------------------------------------------------------


def where(footprints, without=""):
    return {
        (f.component, f.index): (f.centre, f.axis_deg, f.outline)
        for f in footprints
        if not without or not f.component.startswith(without)
    }


@settings(max_examples=150)
@given(st.data(), st.sampled_from(sorted(SURFACES)), st.integers(1, 3), st.integers(0, 8))
def test_a_new_garnish_moves_nothing_whatever_it_is_and_wherever_it_is_written(data, on, groups, number):
    steps = [s for i in range(groups) for s in data.draw(any_group("abc"[i]))]
    new = data.draw(any_group("z"))
    if number % 3 == 0:
        # Something that hangs on what lies there already.
        old = data.draw(st.sampled_from([s.put for s in steps]))
        new = [
            step(
                "z",
                count=3,
                piece=piece("dot", 4),
                **data.draw(
                    st.sampled_from(
                        [
                            {"on": old},
                            {"beside": old, "arrange": "row"},
                            {"around": old, "arrange": "ring"},
                            {"on": old, "arrange": "scatter"},
                        ]
                    )
                ),
            )
        ]
    before = where(place(dish(*steps), SURFACES[on])[0].footprints)
    for index in (0, len(steps) // 2, len(steps)):
        after = place(dish(*steps[:index], *new, *steps[index:]), SURFACES[on])[0].footprints
        assert where(after, "z") == before


REGIONS = {
    "all of it": None,
    "hours": region("10:00 to 2:00"),
    "over twelve": region("11:30 to 12:45", "30 to 90 %"),
    "millimetres": region("", "15 to 60 mm"),
    "a share": region("", "40 to 100 %"),
    "a sliver": region("4:00 to 4:40", "20 to 95 %"),
}


@pytest.mark.parametrize("on", sorted(SURFACES))
@pytest.mark.parametrize("name", [*REGIONS, "on a bar", "on three discs", "on a swipe", "on a ring"])
def test_a_new_garnish_moves_no_scatter_in_any_kind_of_region(name, on):
    hosts = {
        "on a bar": [step("h", piece=piece("bar", 70, 30), at=at_mm(10, 5))],
        "on three discs": [step("h", count=3, piece=piece("disc", 30), arrange="row", gap_mm=4)],
        "on a swipe": [step("h", arrange="swipe", across_mm=30, start=at_mm(-50, 0), end=at_mm(50, 10))],
        "on a ring": [step("h", piece=piece("ring", 60, hole=30))],
    }.get(name, [])
    strewn = step(
        "a",
        count=8,
        piece=piece("leaf", 6, 3),
        arrange="scatter",
        gap_mm=1,
        **({"on": "h"} if hosts else {"within": REGIONS[name]} if REGIONS[name] else {}),
    )
    base = [*hosts, strewn, step("b", count=3, piece=piece("cube", 6), arrange="cluster", at=at_mm(0, 40))]
    before = where(place(dish(*base), SURFACES[on])[0].footprints)
    assert sum(k == "a" for k, _ in before) >= 3
    new = [
        step("z", count=9, piece=piece("dot", 4), arrange="scatter"),
        step("y", piece=piece("disc", 12), at=at_mm(0, 0)),
        step("x", count=4, piece=piece("leaf", 6, 3), arrange="scatter", on="b"),
    ]
    for garnish in new:
        for index in (
            range(len(hosts) + 2 if "b" not in garnish.on else len(base), len(base) + 1)
            if garnish.on
            else range(len(base) + 1)
        ):
            after = place(dish(*base[:index], garnish, *base[index:]), SURFACES[on])[0].footprints
            assert where(after, garnish.put) == before and any(f.component == garnish.put for f in after)


# --- the gap
# -----------------------------------------------------------------------------------------------------------

HUGE = {
    "round": plate(900, 880),
    "oval": flat("oval", (900, 700), (880, 680)),
    "box": flat("rectangle", (900, 700), (880, 680), 30),
    "board": flat("board", (900, 700), (880, 680), 12),
}


@settings(max_examples=200)
@given(
    st.sampled_from(["row", "grid", "cluster", "scatter", "strewn on", "graded row"]),
    st.sampled_from(KINDS),
    st.integers(2, 9),
    st.integers(4, 24),
    st.integers(4, 24),
    st.integers(1, 9),
    HOURS,
    st.sampled_from(sorted(HUGE)),
    st.sampled_from(["", "in", "out", "2:00"]),
    st.sampled_from(["flat", "standing"]),
)
def test_no_two_pieces_come_nearer_than_their_gap(how, kind, count, length, width, gap, along, on, points, stance):
    facing = Facing("clock", clock_degrees(points), stance) if ":" in points else Facing(points, stance=stance)
    more = {"gap_mm": gap, "count": count, "piece": small(kind, length, width), "facing": facing, "arrange": how}
    steps = []
    if how in ("row", "grid"):
        more |= {"along_deg": along, "at": at_mm(30, -20)}
    if how == "strewn on":
        steps = [step("h", piece=piece("fillet", 160, 90))]
        more |= {"arrange": "scatter", "on": "h"}
    if how == "graded row":
        more |= {"arrange": "row", "piece": piece("dot", length, last=width), "along_deg": along, "facing": Facing()}
    arrangement, _ = place(dish(*steps, step("a", **more)), HUGE[on])
    outlines = [Area(f.outline) for f in arrangement.of("a")]
    assert len(outlines) == count or how in ("scatter", "strewn on") and outlines
    for i, a in enumerate(outlines):
        assert all(a.distance(b) >= gap - 1e-6 for b in outlines[:i])


@settings(max_examples=120)
@given(
    st.sampled_from(["line", "arc", "ring"]),
    st.sampled_from(KINDS),
    st.integers(2, 9),
    st.integers(4, 24),
    st.integers(4, 24),
    st.integers(1, 9),
    HOURS,
    st.integers(20, 90),
)
def test_where_the_places_are_the_chefs_a_gap_that_is_not_kept_is_said(how, kind, count, length, width, gap, hour, far):
    at = replace(clock("12:00"), clock_deg=hour, out=out(f"{far} mm"))
    ends = (
        {"at": at, "out": f"{far} mm"}
        if how == "ring"
        else {"start": at, "end": replace(at, clock_deg=(hour + 150) % 360)}
    )
    d = dish(step("a", count=count, piece=small(kind, length, width), arrange=how, gap_mm=gap, **ends))
    arrangement, _ = place(d, ROUND)
    outlines = [Area(f.outline) for f in arrangement.footprints]
    least = min(a.distance(b) for i, a in enumerate(outlines) for b in outlines[:i])
    said = [p for p in check(arrangement, d) if p.slug in ("too-close", "pieces-overlap")]
    if least < gap - 0.02:
        assert said and said[0].is_error and said[0].hints
    elif least > gap:
        assert not said


@settings(max_examples=60)
@given(
    st.sampled_from(KINDS),
    st.sampled_from(KINDS),
    st.integers(1, 4),
    st.integers(1, 12),
    HOURS,
    st.sampled_from(["one", "row", "cluster"]),
    st.sampled_from(["", "in", "2:00"]),
)
def test_beside_keeps_clear_whatever_lies_beside_what(kind, other, count, clear, side, how, points):
    facing = Facing("clock", clock_degrees(points)) if ":" in points else Facing(points)
    more = {"count": 1 if how == "one" else count, "arrange": how, "facing": facing}
    found = place(
        dish(
            step("a", piece=small(kind, 40, 26), at=at_mm(30, -20), facing="1:30"),
            step("b", piece=small(other, 18, 12), beside="a", at=Place(clock_deg=side), clear_mm=clear, **more),
        ),
        HUGE["round"],
    )[0].footprints
    host, rest = Area(found[0].outline).convex_hull, [Area(f.outline) for f in found[1:]]
    assert host.distance(MultiPolygon(rest).convex_hull) == pytest.approx(clear, abs=1e-3)
    assert min(host.distance(r) for r in rest) >= clear - 1e-3


def test_what_leans_steps_at_least_its_gap():
    found = place(
        dish(step("a", count=4, piece=piece("slice", 40, 24, 5), arrange="leaning", gap_mm=17, along_deg="2:00")), ROUND
    )[0].footprints
    assert [math.dist(f.centre, g.centre) for f, g in zip(found, found[1:])] == pytest.approx([17] * 3)


# --- the clock
# ---------------------------------------------------------------------------------------------------------


@settings(max_examples=80)
@given(st.integers(1, 12), st.integers(0, 59), st.integers(5, 95), st.sampled_from(sorted(SURFACES)))
def test_a_clock_position_is_where_an_independent_formula_has_it(hour, minute, far, on):
    d = dish(step("a", piece=piece("disc", 8), at=f"{hour}:{minute:02}, {far} mm"))
    arrangement, _ = place(d, SURFACES[on])
    # The hand of a clock in the complex plane: i is twelve, and a full turn back is twelve hours.
    hand = far * 1j * cmath.exp(-2j * cmath.pi * (hour * 60 + minute) / 720)
    (f,) = arrangement.footprints
    assert f.centre == pytest.approx((hand.real, hand.imag), abs=1e-5)
    share = place(dish(step("a", piece=piece("disc", 8), at=f"{hour}:{minute:02}, {far} %")), SURFACES[on])[
        0
    ].footprints[0]
    reach = Area(plate_geometry.well(SURFACES[on]).outline()).exterior
    edge = LineString([(0, 0), (900 * hand.real / far, 900 * hand.imag / far)]).intersection(Area(reach)).length
    assert share.centre == pytest.approx(
        (far / 100 * edge * hand.real / far, far / 100 * edge * hand.imag / far), abs=0.1
    )


@pytest.mark.parametrize("on", sorted(SURFACES))
def test_six_is_nearest_the_guest_and_lowest_on_the_page_and_three_to_the_right(on):
    d = dish(*(step(f"h{h}", piece=piece("disc", 6), at=f"{h}:00, 40 mm") for h in range(1, 13)))
    scene = view.draw(place(d, SURFACES[on])[0], d)

    def middles(items):
        for i in items:
            if hasattr(i, "items"):
                yield from middles(i.items)
            elif isinstance(i, Circle | Polygon) and i.about and i.about.role == "footprint":
                x0, y0, x1, y1 = bounds(i)
                yield i.about.component, ((x0 + x1) / 2, (y0 + y1) / 2)

    found = dict(middles(scene.items))
    assert max(found, key=lambda k: found[k][1]) == "h6" and min(found, key=lambda k: found[k][1]) == "h12"
    assert max(found, key=lambda k: found[k][0]) == "h3" and min(found, key=lambda k: found[k][0]) == "h9"
