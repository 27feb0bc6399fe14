"""Pieces lie where the spec says, by the trade's clock, and stay there when something else is added."""

import math
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from platecard.diagnostics import has_errors
from platecard.layout import geometry2d, shapes
from platecard.layout.arrange import place
from platecard.layout.checks import check
from platecard.model import Distance, Facing, Place
from tests.laid import CENTRE, LETTERS, SPEC, at_mm, clock, dish, piece, plate, region, step

PLATE = plate()


def laid(*steps, on=PLATE):
    arrangement, problems = place(dish(*steps), on)
    assert not problems, problems
    return arrangement.footprints


def slugs(*steps, on=PLATE):
    return [p.slug for p in place(dish(*steps), on)[1]]


def near(point, expected):
    return math.dist(point, expected) < 1e-6


# --- the clock -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "hour, x, y",
    [
        ("12:00", 0, 40),
        ("3:00", 40, 0),
        ("6:00", 0, -40),
        ("9:00", -40, 0),
        ("1:00", 20, 40 * math.sqrt(3) / 2),
        ("4:30", 40 * math.sqrt(0.5), -40 * math.sqrt(0.5)),
        ("7:00", -20, -40 * math.sqrt(3) / 2),
    ],
)
def test_clock_positions_are_the_trades_with_six_nearest_the_guest(hour, x, y):
    (f,) = laid(step("a", piece=piece("disc", 20), at=hour, out="40 mm"))
    assert near(f.centre, (x, y))


def test_a_share_is_of_the_wells_radius_and_millimetres_run_right_and_away():
    (f,) = laid(step("a", piece=piece("disc", 20), at="3:00, 45 %"))
    assert near(f.centre, (45, 0))
    (f,) = laid(step("a", piece=piece("disc", 20), at=at_mm(-12, 30)))
    assert near(f.centre, (-12, 30))
    (f,) = laid(step("a", piece=piece("disc", 20)))
    assert f.centre == (0, 0)


# --- arrangements ----------------------------------------------------------------------------------------------------


def test_a_line_runs_evenly_from_start_to_end():
    found = laid(step("a", count=5, piece=piece("bar", 20, 8), arrange="line", start="9:00, 60 mm", end="3:00, 60 mm"))
    assert [round(f.centre[0], 6) for f in found] == [-60, -30, 0, 30, 60]
    assert {f.axis_deg for f in found} == {90}


def test_an_arc_runs_clockwise_unless_said():
    hours = [
        math.degrees(math.atan2(*f.centre)) % 360
        for f in laid(step("a", count=3, piece=piece("disc", 8), arrange="arc", start="10:00", end="2:00", out="50 mm"))
    ]
    assert hours == pytest.approx([300, 0, 60])
    hours = [
        math.degrees(math.atan2(*f.centre)) % 360
        for f in laid(
            step(
                "a",
                count=3,
                piece=piece("disc", 8),
                arrange="arc",
                start="10:00",
                end="2:00",
                out="50 mm",
                anticlockwise=True,
            )
        )
    ]
    assert hours == pytest.approx([300, 180, 60])


def test_an_arc_can_draw_in_and_goes_once_round_when_it_ends_where_it_began():
    found = laid(step("a", count=3, piece=piece("disc", 8), arrange="arc", start="12:00, 60 mm", end="6:00, 20 mm"))
    assert [round(math.hypot(*f.centre), 6) for f in found] == [60, 40, 20]
    found = laid(step("a", count=4, piece=piece("disc", 8), arrange="arc", start="12:00", end="12:00", out="50 mm"))
    assert near(found[1].centre, (50, 0)) and near(found[3].centre, (-50, 0))


def test_a_ring_starts_at_twelve_or_at_its_clock_position():
    found = laid(step("a", count=4, piece=piece("dot", 8), arrange="ring", out="30 mm"))
    assert near(found[0].centre, (0, 30)) and near(found[1].centre, (30, 0))
    found = laid(step("a", count=4, piece=piece("dot", 8), arrange="ring", out="30 mm", at="3:00"))
    assert near(found[0].centre, (30, 0))


def test_a_ring_on_one_piece_goes_round_that_piece():
    found = laid(
        step("a", piece=piece("disc", 60), at=at_mm(20, 10)),
        step("b", count=6, piece=piece("dot", 6), arrange="ring", out="20 mm", on="a"),
    )
    middle = [sum(f.centre[k] for f in found[1:]) / 6 for k in (0, 1)]
    assert near(middle, (20, 10)) and {f.level for f in found[1:]} == {1}


def test_a_fan_lays_each_slice_over_the_last_and_turns_with_the_arc():
    found = laid(step("a", count=5, piece=piece("slice", 45, 20), arrange="fan", start="8:00", end="4:00", out="30 mm"))
    assert [f.index for f in found] == [0, 1, 2, 3, 4]
    assert [round(f.axis_deg) for f in found] == [330, 30, 90, 150, 210]
    assert all(geometry2d.shared_area(a.outline, b.outline) > 50 for a, b in zip(found, found[1:]))


def test_a_stack_rises_on_one_spot():
    found = laid(step("a", count=3, piece=piece("disc", 60, None, 5), arrange="stack", at="6:00, 20 mm"))
    assert [f.level for f in found] == [0, 1, 2] and len({f.centre for f in found}) == 1


def test_a_pool_runs_under_what_stands_there_and_over_what_it_is_put_on():
    under = laid(step("a", piece=piece("disc", 40)), step("s", arrange="pool", across_mm=100, amount="30 ml"))
    assert [f.component for f in under] == ["s", "a"]
    over = laid(step("a", piece=piece("disc", 40)), step("s", arrange="pool", across_mm=30, amount="5 ml", on="a"))
    assert [f.component for f in over] == ["a", "s"]


# --- on
# ------------------------------------------------------------------------------------------------------------------


def test_one_piece_lies_in_the_middle_of_what_it_lies_on():
    found = laid(
        step("a", count=3, piece=piece("disc", 20), arrange="line", start=at_mm(0, 0), end=at_mm(60, 30)),
        step("b", piece=piece("dot", 5), on="a"),
    )
    assert near(found[-1].centre, (30, 15)) and found[-1].level == 1


def test_as_many_pieces_as_hosts_lie_one_on_each():
    found = laid(
        step("a", count=5, piece=piece("disc", 20), arrange="ring", out="50 mm"),
        step("b", count=5, piece=piece("dot", 5), on="a"),
    )
    assert [f.centre for f in found[5:]] == [f.centre for f in found[:5]]


def test_fewer_pieces_are_spread_over_all_hosts_and_more_lie_side_by_side():
    base = (
        step("a", count=5, piece=piece("disc", 30), arrange="ring", out="60 mm"),
        step("c", count=7, piece=piece("cube", 10), arrange="ring", out="25 mm"),
    )
    found = laid(*base, step("b", count=5, piece=piece("dot", 5), on=("a", "c")))
    hosts = [min(found[:12], key=lambda h, f=f: math.dist(h.centre, f.centre)) for f in found[12:]]
    assert [h.component for h in hosts].count("a") == 2 and len({(h.component, h.index) for h in hosts}) == 5
    many = laid(base[0], step("b", count=15, piece=piece("dot", 5), on="a"))[5:]
    assert len({f.centre for f in many}) == 15
    assert min(math.dist(f.centre, g.centre) for f in many for g in many if f is not g) > 5


def test_levels_count_what_lies_below():
    found = laid(
        step("a", arrange="pool", across_mm=100),
        step("b", piece=piece("disc", 50), on="a"),
        step("c", piece=piece("disc", 20), on="b"),
        step("d", piece=piece("dot", 5), on="c"),
    )
    assert [f.level for f in found] == [0, 1, 2, 3]


def test_on_something_later_nothing_unknown_and_each_other():
    a, b = step("a", piece=piece("disc", 20)), step("b", piece=piece("disc", 20), on="a")
    assert slugs(a, b) == []
    (problem,) = place(dish(b, a), PLATE)[1]
    assert problem.slug == "on-not-yet-there" and problem.span.line > 100 and "line 11" in problem.message
    assert slugs(step("a", piece=piece("disc", 20), on="nothing")) == ["unknown-component"]
    assert slugs(step("a", piece=piece("disc", 20), on="b"), b) == ["on-each-other", "on-each-other"]
    three = [step(x, piece=piece("disc", 20), on=y) for x, y in ("ab", "bc", "ca")]
    assert set(slugs(*three)) == {"on-each-other"}
    assert slugs(step("a", piece=piece("disc", 20), on="a")) == ["on-each-other"]
    assert slugs(a, step("a", piece=piece("disc", 20), on="a")) == []


def test_a_step_of_an_unknown_component_is_left_to_the_reader():
    d = dish(step("a", piece=piece("disc", 20)), step("b", piece=piece("disc", 20)))
    d = replace(d, components=d.components[:1])
    arrangement, problems = place(d, PLATE)
    assert problems == () and arrangement.order == ("a",)


@pytest.mark.parametrize(
    "wrong, slug",
    [
        (dict(piece=piece("disc", 20), at="3:00"), "how-far-out"),
        (dict(piece=piece("disc", 20), arrange="line", start="3:00, 20 mm"), "no-place"),
        (dict(piece=piece("disc", 20), arrange="ring"), "missing-key"),
        (dict(piece=piece("disc", 20), count=3), "how-arranged"),
        (dict(amount="3 g"), "no-shape"),
        (dict(arrange="pool", amount="30 ml"), "no-shape"),
        (dict(piece=piece("disc", 20), count=3, arrange="scatter", within=region("", "60 to 40 mm")), "empty-region"),
    ],
)
def test_a_step_without_a_place_says_so(wrong, slug):
    (problem,) = place(dish(step("a", **wrong)), PLATE)[1]
    assert problem.slug == slug and problem.is_error and problem.hints and problem.span.file == SPEC


def test_what_the_reader_has_already_told_is_not_told_again():
    (unread,) = dish(step("a", piece=piece("disc", 20))).steps
    d = dish(replace(unread, piece=None))
    assert place(d, PLATE)[1] == ()
    (unread,) = dish(step("a", piece=piece("disc", 20), arrange="line", start="3:00, 20 mm", end="6:00, 20 mm")).steps
    assert place(dish(replace(unread, end=None)), PLATE)[1] == ()


# --- facing ----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "points, axis",
    [("out", 90), ("in", 270), ("clockwise", 180), ("anticlockwise", 0), ("guest", 180), ("away", 0), ("1:30", 45)],
)
def test_the_long_axis_points_where_it_is_said(points, axis):
    (f,) = laid(step("a", piece=piece("bar", 40, 10), at="3:00, 40 mm", facing=points))
    assert f.axis_deg == axis
    left, near_edge, right, far = geometry2d.box(f.outline)
    assert (right - left, far - near_edge) == pytest.approx(
        (40, 10) if axis in (90, 270) else (10, 40) if axis in (0, 180) else (right - left,) * 2
    )


def test_standing_pieces_are_thin_and_leaning_ones_short():
    (f,) = laid(step("a", piece=piece("shard", 50, 25, 2), facing="standing"))
    assert (f.length_mm, f.width_mm, f.height_mm, f.stance) == (2, 25, 50, "standing") and f.axis_deg == 180
    left, near_edge, right, far = geometry2d.box(f.outline)
    assert (right - left, far - near_edge) == pytest.approx((25, 2))
    (f,) = laid(step("a", piece=piece("disc", 22, None, 8), facing="standing"))
    assert (f.length_mm, f.width_mm, f.height_mm) == (8, 22, 22)
    (f,) = laid(step("a", piece=piece("bar", 60, 12), facing="leaning"))
    assert f.length_mm == 30 and f.width_mm == 12 and f.height_mm == pytest.approx(52.2)


# --- scatter ---------------------------------------------------------------------------------------------------------


def scattered(count=7, size=22, gap=4, key="a", within=region("10:00 to 2:00", "20 to 55 mm"), **more):  # noqa: B008
    return step(key, count=count, piece=piece("disc", size), arrange="scatter", within=within, gap_mm=gap, **more)


def test_a_scatter_keeps_its_gap_and_its_region():
    found = laid(scattered())
    assert len(found) == 7
    for i, f in enumerate(found):
        r, a = math.hypot(*f.centre), math.degrees(math.atan2(*f.centre))
        assert 20 - 1e-6 <= r <= 55 + 1e-6 and -60 - 1e-4 <= a <= 60 + 1e-4
        assert all(math.dist(f.centre, g.centre) >= 26 - 1e-6 for g in found[:i])


def test_a_scatter_that_cannot_fit_says_how_many_did():
    arrangement, (problem,) = place(dish(scattered(count=40)), PLATE)
    fitted = len(arrangement.footprints)
    assert problem.slug == "does-not-fit" and 5 <= fitted < 40
    assert f"{fitted} of the 40" in problem.message and f"use {fitted} or fewer" in problem.hints[0]


def test_a_scatter_on_other_pieces_lies_on_them():
    found = laid(
        step(
            "a",
            count=2,
            piece=piece("bar", 80, 40),
            arrange="line",
            start=at_mm(-45, 0),
            end=at_mm(45, 0),
            facing="away",
        ),
        step("b", count=12, piece=piece("dot", 5), arrange="scatter", on="a", gap_mm=1),
    )
    assert all(any(geometry2d.contains(h.outline, f.centre) for h in found[:2]) for f in found[2:])


def test_adding_anything_moves_no_scatter():
    base = scattered(), scattered(key="b", count=9, size=8, gap=2, within=region("3:00 to 9:00", "30 to 80 mm"))
    before = laid(*base)
    after = laid(
        scattered(key="c", count=5, size=6, gap=0, within=None),
        base[0],
        step("d", piece=piece("leaf", 20, 8), at="4:00, 90 mm"),
        base[1],
        scattered(key="e", count=3, size=5, gap=1),
    )
    for key in "ab":
        assert [(f.centre, f.axis_deg, f.outline) for f in before if f.component == key] == [
            (f.centre, f.axis_deg, f.outline) for f in after if f.component == key
        ]


def test_two_scatters_of_one_component_differ():
    found = laid(scattered(count=5, size=6, within=None), scattered(count=5, size=6, within=None))
    assert {f.centre for f in found[:5]}.isdisjoint({f.centre for f in found[5:]})


def test_two_hundred_pieces_stay_quick_and_apart():
    found = laid(step("a", count=200, piece=piece("crumb", 6, 5), arrange="scatter", gap_mm=1))
    assert len(found) == 200
    assert (
        min(
            geometry2d.distance(f.outline, g.outline)
            for f in found[:30]
            for g in found
            if f is not g and math.dist(f.centre, g.centre) < 14
        )
        >= 1
    )


@settings(max_examples=50, deadline=None)
@given(
    st.sampled_from(sorted(shapes.SHAPES)),
    st.integers(1, 12),
    st.integers(4, 30),
    st.integers(4, 16),
    st.integers(0, 8),
    st.sampled_from(["", "9:00 to 3:00", "1:00 to 12:00", "6:00 to 8:00"]),
    st.sampled_from(["", "out", "clockwise", "guest"]),
)
def test_no_scatter_breaks_its_gap(kind, count, length, width, gap, hours, points):
    arrangement, _ = place(
        dish(
            step(
                "a",
                count=count,
                piece=piece(kind, length, width),
                arrange="scatter",
                gap_mm=gap,
                within=region(hours, "10 to 90 mm"),
                facing=Facing(points),
            )
        ),
        PLATE,
    )
    found = arrangement.footprints
    assert len(found) >= 1
    for i, f in enumerate(found):
        assert max(math.hypot(*p) for p in f.outline) <= 100 + 1e-6
        for g in found[:i]:
            apart = geometry2d.distance(f.outline, g.outline)
            assert apart >= gap - 1e-6 if gap else geometry2d.depth(f.outline, g.outline)[0] < 0.01


# --- whole dishes ----------------------------------------------------------------------------------------------------

HOURS = st.integers(0, 71).map(lambda n: Fraction(n * 5))
KINDS = st.sampled_from(sorted(shapes.SHAPES))
TURNING = st.sampled_from(["in", "out", "clockwise", "anticlockwise"])


@st.composite
def any_step(draw, key):
    """A step whose place is given by the clock and whose facing goes with it."""
    how = draw(st.sampled_from(["one", "line", "arc", "fan", "ring", "stack", "pool"]))
    far = Distance(Fraction(draw(st.integers(5, 90))))
    one, two = Place(clock_deg=draw(HOURS), out=far), Place(clock_deg=draw(HOURS), out=far)
    more = {"arrange": how, "facing": Facing(draw(TURNING))}
    if how == "pool":
        return step(key, at=one, across_mm=draw(st.integers(20, 60)), **more)
    more |= {
        "count": 1 if how == "one" else draw(st.integers(1, 7)),
        "piece": piece(draw(KINDS), draw(st.integers(5, 40)), draw(st.integers(5, 40))),
    }
    if how in ("one", "stack"):
        return step(key, at=one, **more)
    if how == "ring":
        return replace(step(key, at=one, **more), out=far)
    return step(key, start=one, end=two, **more)


@st.composite
def any_dish(draw):
    return [draw(any_step(key)) for key in LETTERS[: draw(st.integers(1, 5))]]


def an_hour_on(p):
    return p and replace(p, clock_deg=(p.clock_deg + 30) % 360)


@settings(max_examples=80, deadline=None)
@given(any_dish())
def test_an_hour_on_the_clock_turns_the_whole_plate(steps):
    before = laid(*steps)
    # At the very centre there is no outward, and 12 o'clock stands for it whatever the hour.
    assume(all(math.hypot(*f.centre) > 0.1 for f in before))
    after = laid(*(replace(s, at=an_hour_on(s.at), start=an_hour_on(s.start), end=an_hour_on(s.end)) for s in steps))
    for f, g in zip(before, after, strict=True):
        turned = geometry2d.moved(f.outline, 30, 0, 0)
        assert all(math.dist(p, q) < 1e-4 for p, q in zip(turned, g.outline, strict=True))
        assert (f.component, f.index, f.level) == (g.component, g.index, g.level)


@settings(max_examples=80, deadline=None)
@given(any_dish(), st.integers(0, 5), any_step("z"))
def test_a_new_garnish_leaves_all_else_where_it_was(steps, where, garnish):
    before = laid(*steps)
    after = laid(*steps[:where], garnish, *steps[where:])
    kept = {(f.component, f.index): (f.centre, f.axis_deg, f.outline, f.level) for f in after if f.component != "z"}
    assert kept == {(f.component, f.index): (f.centre, f.axis_deg, f.outline, f.level) for f in before}


@settings(max_examples=80, deadline=None)
@given(any_dish())
def test_what_passes_the_checks_lies_inside_the_well(steps):
    d = dish(*steps)
    arrangement, problems = place(d, PLATE)
    found = check(arrangement, d)
    assume(not has_errors((*problems, *found)))
    assert all(math.hypot(x, y) <= 100.3 for f in arrangement.footprints for x, y in f.outline)


@settings(max_examples=60, deadline=None)
@given(any_dish())
def test_the_same_dish_lies_the_same_twice_and_in_plating_order(steps):
    first, second = place(dish(*steps), PLATE), place(dish(*steps), PLATE)
    assert first == second
    assert first[0].order == tuple(dict.fromkeys(s.put for s in steps))
    numbers = [f.step for f in first[0].footprints if f.shape != "pool"]
    assert numbers == sorted(numbers)


def test_the_centre_has_no_outward_and_takes_twelve_for_it():
    (f,) = laid(step("a", piece=piece("leaf", 20, 8), at=CENTRE, facing="out"))
    assert f.axis_deg == 0
    assert clock("12:00", "0 mm").clock_deg == 0
