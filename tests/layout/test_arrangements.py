"""Rows, grids, clusters, leaning pieces, graded dots, swipes; places that hang on another component; opinions on the
whole.
"""

import math
from dataclasses import replace
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, MultiPolygon
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon as Area

from platecard import reading
from platecard.diagnostics import ADVICE, WARNING, has_errors
from platecard.layout import geometry2d, volumes
from platecard.layout.arrange import place
from platecard.layout.checks import check, faults
from platecard.model import Accept, Facing, Region
from tests.laid import LETTERS, at_mm, clock, dish, out, piece, plate, step

PLATE = plate(300, 240)


def laid(*steps, on=PLATE):
    arrangement, problems = place(dish(*steps), on)
    assert not problems, problems
    return arrangement.footprints


def problems_of(*steps, on=PLATE, **more):
    d = dish(*steps, **more)
    arrangement, problems = place(d, on)
    return (*problems, *check(arrangement, d))


def only(slug, *steps, **more):
    (p,) = (p for p in problems_of(*steps, **more) if p.slug == slug)
    return p


def middle(prints):
    return tuple(sum(f.centre[k] for f in prints) / len(prints) for k in (0, 1))


def least_apart(prints):
    return min(geometry2d.distance(f.outline, g.outline) for i, f in enumerate(prints) for g in prints[:i])


# --- rows, grids, clusters, leaning
# ------------------------------------------------------------------------------------


def test_a_row_stands_side_by_side_about_its_place():
    found = laid(step("a", count=4, piece=piece("bar", 40, 10), arrange="row", at=at_mm(10, 20), gap_mm=3))
    assert [round(f.centre[0], 6) for f in found] == [-9.5, 3.5, 16.5, 29.5] and {
        round(f.centre[1], 6) for f in found
    } == {20}
    assert {f.axis_deg for f in found} == {0}, "the long sides face each other"
    assert least_apart(found) == pytest.approx(3)
    found = laid(
        step("a", count=3, piece=piece("bar", 40, 10), arrange="row", along_deg="12:00", facing="away", gap_mm=3)
    )
    assert [round(f.centre[1], 6) for f in found] == [-43, 0, 43], "end to end where they point along the row"


def test_a_grid_fills_its_rows_and_may_have_a_short_last_one():
    found = laid(step("a", count=7, rows=3, piece=piece("cube", 8), arrange="grid", gap_mm=2))
    assert len(found) == 7 and sorted({round(f.centre[1], 6) for f in found}) == [-10, 0, 10]
    assert [sum(round(f.centre[1]) == y for f in found) for y in (10, 0, -10)] == [3, 3, 1]
    assert least_apart(found) == pytest.approx(2)


@pytest.mark.parametrize("n", [1, 2, 3, 5, 7, 12])
def test_a_cluster_keeps_together_and_apart(n):
    found = laid(step("a", count=n, piece=piece("disc", 10), arrange="cluster", at=at_mm(5, -8), gap_mm=1))
    assert middle(found) == pytest.approx((5, -8), abs=1e-5)
    if n > 1:
        assert least_apart(found) == pytest.approx(1, abs=0.05)
        assert max(math.dist(f.centre, (5, -8)) for f in found) <= 11 * math.sqrt(n)


def test_leaning_pieces_lean_back_on_the_one_before():
    found = laid(step("a", count=3, piece=piece("slice", 40, 24, 5), arrange="leaning", along_deg="6:00"))
    assert {f.stance for f in found} == {"leaning"} and [f.level for f in found] == [0, 1, 2]
    assert {f.length_mm for f in found} == {20} and {f.axis_deg for f in found} == {0}
    assert found[0].centre[1] > found[1].centre[1] > found[2].centre[1]
    assert all(geometry2d.meet(a.outline, b.outline) for a, b in zip(found, found[1:]))
    row = step("a", count=3, piece=piece("slice", 40, 24, 5), arrange="leaning", along_deg="6:00")
    block = step("b", piece=piece("bar", 40, 20, 30), at=at_mm(0, 27))
    assert problems_of(block, row) == ()
    assert [p.slug for p in problems_of(row)] == ["leans-on-nothing"]


@settings(max_examples=120)
@given(
    st.sampled_from(["row", "grid", "cluster"]),
    st.integers(2, 12),
    st.sampled_from(["disc", "bar", "slice", "leaf", "quenelle", "cube", "ring", "foam"]),
    st.integers(4, 20),
    st.integers(4, 20),
    st.integers(1, 8),
    st.sampled_from(["12:00", "1:25", "3:00", "7:40"]),
)
def test_no_group_breaks_its_gap(how, count, kind, length, width, gap, along):
    more = {} if how == "cluster" else {"along_deg": along}
    found = laid(
        step("a", count=count, piece=piece(kind, length, width), arrange=how, gap_mm=gap, **more), on=plate(900, 880)
    )
    assert len(found) == count and least_apart(found) >= gap - 1e-5


# --- graded, alternating
# -----------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "more",
    [
        dict(arrange="line", start=at_mm(-60, 0), end=at_mm(60, 10)),
        dict(arrange="row", gap_mm=4),
        dict(arrange="arc", start="9:00", end="3:00", out="90 mm"),
        dict(arrange="ring", out="80 mm"),
    ],
)
def test_graded_dots_have_even_gaps(more):
    found = laid(step("a", count=5, piece=piece("dot", 14, last=6), **more))
    assert [f.length_mm for f in found] == pytest.approx([14, 12, 10, 8, 6])
    gaps = [geometry2d.distance(a.outline, b.outline) for a, b in zip(found, found[1:])]
    assert max(gaps) - min(gaps) < (0.15 if more["arrange"] in ("line", "row") else 0.02 * max(gaps)) and min(gaps) > 0


def test_a_graded_dots_weight_is_the_mean():
    volume = volumes.graded_ml("dot", [14, 12, 10, 8, 6], None)
    assert volume == pytest.approx(sum(volumes.volume_ml("dot", d, d) for d in (14, 12, 10, 8, 6)) / 5)
    arc = dict(count=5, arrange="arc", start="9:00", end="3:00", out="90 mm")
    assert problems_of(step("a", piece=piece("dot", 14, last=6, grams=round(volume, 2)), **arc)) == ()
    assert (
        only("weight-and-size", step("a", piece=piece("dot", 14, last=6, grams=9 * volume), **arc)).severity == WARNING
    )


def test_alternating_pieces_lie_in_each_others_gaps():
    a = step("a", count=4, piece=piece("dot", 8), arrange="arc", start="9:00", end="3:00", out="60 mm")
    found = laid(a, step("b", count=3, piece=piece("dot", 5), alternating_with="a"))
    turns = sorted((math.degrees(math.atan2(*f.centre)) + 90, f.component) for f in found)
    assert [c for _, c in turns] == list("abababa") and [t for t, _ in turns] == pytest.approx(
        [0, 30, 60, 90, 120, 150, 180]
    )
    assert all(math.hypot(*f.centre) == pytest.approx(60) for f in found)
    ring = step("a", count=5, piece=piece("dot", 8), arrange="ring", out="60 mm")
    assert len(laid(ring, step("b", count=5, piece=piece("dot", 5), alternating_with="a"))) == 10
    (p,) = place(dish(a, step("b", count=4, piece=piece("dot", 5), alternating_with="a")), PLATE)[1]
    assert p.slug == "does-not-fit" and "3 of the 4 pieces of b" in p.message
    (p,) = place(dish(step("a", piece=piece("dot", 8)), step("b", piece=piece("dot", 5), alternating_with="a")), PLATE)[
        1
    ]
    assert p.slug == "alternating" and p.hints


# --- beside, behind, under, around
# -------------------------------------------------------------------------------------

FISH = step("fish", piece=piece("fillet", 90, 40, 22), at=at_mm(-10, -5))


@settings(max_examples=80)
@given(
    st.sampled_from(["fillet", "disc", "wedge", "bar", "shard"]),
    st.sampled_from(["12:00", "2:10", "4:00", "6:00", "9:45"]),
    st.integers(0, 12),
    st.sampled_from(["one", "row", "cluster", "stack"]),
)
def test_beside_is_as_far_off_as_said_and_no_further(kind, side, clear, how):
    host = step("a", piece=piece(kind, 60, 36), at=at_mm(12, 8))
    count = 1 if how == "one" else 3
    found = laid(
        host,
        step("b", count=count, piece=piece("disc", 14), arrange=how, beside="a", at=side, clear_mm=clear),
        on=plate(900, 880),
    )
    hull = geometry2d.hull(found[0].outline)
    group = geometry2d.hull(tuple(p for f in found[1:] for p in f.outline))
    assert geometry2d.distance(hull, group) == pytest.approx(clear, abs=1e-4)
    x, y = middle(found[1:])
    turn = float(clock(side).clock_deg)
    assert (x - 12) * math.cos(math.radians(turn)) - (y - 8) * math.sin(math.radians(turn)) == pytest.approx(
        0, abs=1e-4
    ), "straight out from its middle"


def test_beside_is_to_the_right_and_behind_away_from_the_guest():
    found = laid(
        FISH, step("b", piece=piece("disc", 14), beside="fish"), step("c", piece=piece("disc", 14), behind="fish")
    )
    assert found[1].centre[0] > 35 and found[1].centre[1] == pytest.approx(-5)
    assert found[2].centre[1] > 15 and found[2].centre[0] == pytest.approx(-10)


def test_under_takes_the_place_of_what_comes_on_it_and_lies_below():
    cream = step("cream", arrange="pool", across_mm=70, under="fish", amount="8 ml")
    for steps in ((cream, FISH), (FISH, cream)):
        found = laid(*steps)
        assert [f.component for f in found] == ["cream", "fish"] and found[0].centre == found[1].centre
        assert [f.level for f in found] == [0, 1]
    crisp = step("crisp", piece=piece("shard", 40, 30), under="fish")
    found = laid(FISH, step("leaf", piece=piece("leaf", 12, 8), on="fish"), crisp)
    assert [(f.component, f.level) for f in found] == [("crisp", 0), ("fish", 1), ("leaf", 2)]
    assert problems_of(cream, FISH) == ()


@settings(max_examples=60)
@given(
    st.sampled_from(["disc", "fillet", "bar", "wedge"]),
    st.integers(20, 80),
    st.integers(20, 60),
    st.sampled_from(["dot", "bar", "leaf"]),
    st.integers(2, 9),
    st.integers(1, 10),
)
def test_around_follows_the_edge(kind, length, width, small, count, clear):
    host = step("a", piece=piece(kind, length, width), at=at_mm(5, -3))
    found = laid(
        host,
        step(
            "b",
            count=count,
            piece=piece(small, 8, 4 if small != "dot" else 8),
            arrange="ring",
            around="a",
            clear_mm=clear,
        ),
        on=plate(900, 880),
    )
    hull = geometry2d.hull(found[0].outline)
    gaps = [geometry2d.distance(hull, f.outline) for f in found[1:]]
    # A straight piece bends away from a round edge at its ends and its box from an outline's shoulder; never nearer
    # than said.
    assert min(gaps) >= clear - 0.15 and max(gaps) <= clear + 1.5


def test_around_can_go_part_of_the_way_and_either_way_round():
    host = step("a", piece=piece("disc", 60))
    hours = dict(count=3, piece=piece("dot", 6), arrange="arc", around="a", start="9:00", end="3:00")
    turns = [round(math.degrees(math.atan2(*f.centre)) % 360) for f in laid(host, step("b", **hours))[1:]]
    assert turns == [270, 0, 90]
    turns = [
        round(math.degrees(math.atan2(*f.centre)) % 360) for f in laid(host, step("b", anticlockwise=True, **hours))[1:]
    ]
    assert turns == [270, 180, 90]
    assert all(math.hypot(*f.centre) == pytest.approx(36, abs=0.1) for f in laid(host, step("b", **hours))[1:]), (
        "3 mm off, where nobody says"
    )


def test_places_are_found_in_whatever_order_they_are_written():
    chain = [
        step("c", piece=piece("disc", 12), beside="b"),
        step("b", piece=piece("disc", 12), beside="a"),
        step("a", piece=piece("disc", 12), at=at_mm(-40, 0)),
    ]
    found = {f.component: f.centre for f in laid(*chain)}
    assert found == {f.component: f.centre for f in laid(*chain[::-1])}
    assert found["a"][0] < found["b"][0] < found["c"][0]
    leaf = step("leaf", piece=piece("leaf", 8, 5), on="b")
    assert {f.component for f in laid(chain[1], leaf, chain[2])} == {"a", "b", "leaf"}


def test_a_ring_of_places_is_an_error_at_each_of_them():
    steps = [step(x, piece=piece("disc", 12), beside=y) for x, y in ("ab", "bc", "ca")]
    problems = place(
        dish(
            *steps, step("d", piece=piece("disc", 12), behind="a"), step("e", piece=piece("disc", 12), at=at_mm(0, 60))
        ),
        PLATE,
    )[1]
    assert [p.slug for p in problems] == [
        "place-cycle"
    ] * 3  # what only goes by one of them follows, and is not told as well
    assert "a beside b, b beside c, c beside a" in problems[0].message
    (p,) = place(dish(step("a", piece=piece("disc", 12), beside="a")), PLATE)[1]
    assert p.slug == "place-cycle"
    (p,) = place(dish(step("a", piece=piece("disc", 12), around="nobody", arrange="ring")), PLATE)[1]
    assert p.slug == "unknown-component"


# --- swipes, drizzles, outlines
# ----------------------------------------------------------------------------------------


def swipe(**more):
    return step(
        "a",
        arrange=more.pop("how", "swipe"),
        across_mm=24,
        start="8:00, 60 mm",
        end="1:00, 60 mm",
        amount="3 ml",
        **more,
    )


def test_a_swipe_goes_from_its_thick_end_to_its_thin_one():
    (f,) = laid(swipe())
    ends = [tuple(60 * t for t in (math.sin(math.radians(a)), math.cos(math.radians(a)))) for a in (240, 30)]
    assert f.length_mm == pytest.approx(math.dist(*ends)) and f.width_mm == 24
    outline = Area(f.outline)
    assert outline.is_valid
    cut = [
        LineString(
            [
                (e[0] * 0.9 + o[0] * 0.1 - 99 * u, e[1] * 0.9 + o[1] * 0.1 - 99 * v),
                (e[0] * 0.9 + o[0] * 0.1 + 99 * u, e[1] * 0.9 + o[1] * 0.1 + 99 * v),
            ]
        )
        .intersection(outline)
        .length
        for e, o in (ends, ends[::-1])
        for u, v in [((ends[1][1] - ends[0][1]) / f.length_mm, -(ends[1][0] - ends[0][0]) / f.length_mm)]
    ]
    assert cut[0] > 20 and cut[1] < 0.6 * cut[0]


@pytest.mark.parametrize("turn, sweep", [(False, 150), (True, 210)])
def test_a_swipe_bends_along_the_arc_where_the_way_round_is_said(turn, sweep):
    (f,) = laid(swipe(bends=True, anticlockwise=turn))
    assert f.length_mm == pytest.approx(math.radians(sweep) * 60)
    assert Area(f.outline).is_valid
    assert all(60 - 12.2 <= math.hypot(*p) <= 60 + 12.2 for p in f.outline)
    spread = {round(math.degrees(math.atan2(*p)) % 360) for p in f.outline}
    assert (120 in spread) == turn and (330 in spread) != turn


def test_a_drizzle_is_a_line_of_its_width():
    (f,) = laid(replace(swipe(how="drizzle"), across_mm=Fraction(3)))
    assert f.width_mm == 3 and Area(f.outline).area == pytest.approx(3 * f.length_mm, rel=0.03)


def test_a_swipe_of_too_much_or_too_little_is_a_warning():
    assert problems_of(swipe()) == ()
    assert (
        "go on spreading"
        in only(
            "pool-thickness",
            replace(swipe(), amount=swipe().amount.__class__(Fraction(40), Fraction(40), "volume", "ml", "40 ml")),
        ).message
    )


KITE = ((0, 0), (30, 5), (34, 18), (12, 22))


def test_a_free_outline_keeps_its_shape_and_points_as_it_is_written():
    (f,) = laid(step("a", piece=piece("outline", 22, 34, points=KITE), at=at_mm(20, 10)))
    assert geometry2d.area(f.outline) == pytest.approx(Area(KITE).area)
    assert middle([f]) == (20, 10) and geometry2d.box(f.outline) == pytest.approx((3, -1, 37, 21))
    moved = {(round(x - 3, 6), round(y + 1, 6)) for x, y in f.outline}
    assert moved == {(float(x), float(y)) for x, y in KITE}


@pytest.mark.parametrize(
    "points",
    [
        ((0, 0), (10, 10), (10, 0), (0, 10)),
        ((0, 0), (20, 0), (20, 10), (10, -5), (0, 10)),
        ((0, 0), (20, 0), (10, 0), (0, 10)),
        ((0, 0), (10, 0), (10, 10), (0, 0), (-10, 10)),
    ],
)
def test_an_outline_that_crosses_itself_is_an_error_at_its_points(points):
    (p,) = place(dish(step("a", piece=piece("outline", 20, 20, points=points))), PLATE)[1]
    assert p.slug == "crosses-itself" and p.span.line == 98 and p.hints


@settings(max_examples=300)
@given(st.lists(st.tuples(st.integers(0, 12), st.integers(0, 12)), min_size=3, max_size=7, unique=True))
def test_crossing_agrees_with_an_independent_library(points):
    theirs = LineString([*points, points[0]])
    assert (geometry2d.crossing(points) is None) == theirs.is_simple or abs(Area(points).buffer(0).area) < 1e-9


# --- rotation
# ----------------------------------------------------------------------------------------------------------


@st.composite
def any_step(draw, key):
    hour = st.integers(0, 71).map(lambda n: Fraction(5 * n))
    far = out(f"{draw(st.integers(20, 70))} mm")
    at = clock("12:00")
    at = replace(at, clock_deg=draw(hour), out=far)
    how = draw(st.sampled_from(["row", "grid", "cluster", "leaning", "swipe", "drizzle", "graded", "beside", "around"]))
    small = piece(
        draw(st.sampled_from(["disc", "bar", "leaf", "cube", "ring"])),
        draw(st.integers(6, 14)),
        draw(st.integers(6, 14)),
    )
    facing = Facing(draw(st.sampled_from(["in", "out", "clockwise"])))
    if how in ("swipe", "drizzle"):
        return [
            step(
                key,
                arrange=how,
                start=at,
                end=replace(at, clock_deg=draw(hour)),
                across_mm=4,
                bends=draw(st.booleans()),
            )
        ]
    if how == "graded":
        return [
            step(
                key,
                count=4,
                piece=piece("dot", 9, last=4),
                arrange="arc",
                start=at,
                end=replace(at, clock_deg=draw(hour)),
            )
        ]
    if how in ("beside", "around"):
        host = step(key, piece=piece("disc", 24), at=at)
        side = replace(at, clock_deg=draw(hour), out=None)
        if how == "beside":
            return [host, step(key + "2", piece=piece("disc", 9), beside=key, at=side)]
        return [host, step(key + "2", count=4, piece=piece("dot", 5), arrange="ring", around=key, at=side)]
    more = {} if how == "cluster" else {"along_deg": draw(hour)}
    return [step(key, count=draw(st.integers(1, 5)), piece=small, arrange=how, at=at, facing=facing, **more)]


@settings(max_examples=120)
@given(
    st.lists(st.integers(0, 1), min_size=1, max_size=3).flatmap(
        lambda n: st.tuples(*(any_step(LETTERS[i]) for i in range(len(n))))
    )
)
def test_an_hour_on_the_clock_turns_the_whole_plate(groups):
    def on(p):
        return p and replace(p, clock_deg=(p.clock_deg + 30) % 360)

    steps = [s for g in groups for s in g]
    before = laid(*steps)
    after = laid(
        *(
            replace(
                s,
                at=on(s.at),
                start=on(s.start),
                end=on(s.end),
                along_deg=None if s.along_deg is None else (s.along_deg + 30) % 360,
            )
            for s in steps
        )
    )
    for f, g in zip(before, after, strict=True):
        turned = geometry2d.moved(f.outline, 30, 0, 0)
        assert Area(turned).symmetric_difference(Area(g.outline)).area < 0.02 * Area(turned).area + 0.5
        assert math.dist(geometry2d.moved((f.centre,), 30, 0, 0)[0], g.centre) < 0.3


# --- faults and opinions ----------------------------------------------------------------------------------------------


def test_what_tips_over_is_a_warning():
    p = only("unstable", step("a", piece=piece("bar", 60, 10, 45), at=at_mm(0, 0)))
    assert p.severity == WARNING and "tilts by 13 degrees" in p.message and "under 37 mm" in p.hints[0]
    assert only("unstable", step("a", count=5, piece=piece("disc", 20, None, 18), arrange="stack")).message.startswith(
        "the stack of a stands 90 mm high on a base of 20 mm"
    )
    assert only("unstable", step("a", piece=piece("shard", 50, 25, 2), facing="standing"))
    assert problems_of(step("a", count=2, piece=piece("disc", 40, None, 20), arrange="stack")) == ()
    on = step("a", piece=piece("disc", 60)), step("b", piece=piece("shard", 50, 25, 2), facing="standing", on="a")
    assert "unstable" not in [p.slug for p in problems_of(*on)], "stuck into what it stands on"


def test_opinions_are_advice_and_the_plain_plate_gets_none():
    a, b = (
        step("a", piece=piece("disc", 50, None, 20), at=at_mm(70, 0)),
        step("b", piece=piece("dot", 6), at=at_mm(0, 0)),
    )
    p = only("off-balance", a, b)
    assert p.severity == ADVICE and "towards 3:00" in p.message
    assert only(
        "even-number",
        b,
        step("c", count=4, piece=piece("disc", 10), arrange="arc", start="9:00", end="3:00", out="60 mm"),
    ).hints == ("3 or 5 would look less counted",)
    assert (
        problems_of(
            b, step("c", count=5, piece=piece("disc", 10), arrange="arc", start="8:00", end="7:00", out="60 mm")
        )
        == ()
    )


def test_drift_that_would_touch_is_advice():
    a = replace(step("a", piece=piece("disc", 30), at=at_mm(0, 0)), accept=Accept(place_mm=Fraction(8)))
    b = step("b", piece=piece("disc", 30), at=at_mm(35, 0))
    p = only("drift-touches", a, b)
    assert p.severity == ADVICE and "is 5 mm away" in p.message
    assert "drift-touches" not in [p.slug for p in problems_of(replace(a, accept=Accept(place_mm=Fraction(4))), b)]
    assert "drift-touches" not in [p.slug for p in problems_of(a, replace(b, may_touch=("a",)))]
    edge = replace(step("a", piece=piece("disc", 30), at=at_mm(100, 0)), accept=Accept(place_mm=Fraction(8)))
    assert "edge of the well is 5 mm away" in only("drift-touches", edge, b).message


def test_every_fault_comes_with_the_pieces_that_show_it():
    d = dish(
        step("a", count=8, piece=piece("disc", 30), arrange="ring", out="35 mm"),
        step("b", piece=piece("disc", 60)),
        step("c", piece=piece("disc", 30, None, 9, 900), at=at_mm(110, 0)),
    )
    arrangement, _ = place(d, PLATE)
    rows = {f.problem.slug: f.pieces for f in faults(arrangement, d)}
    assert {f.component for f in rows["overlap"]} == {"a", "b"} and len(rows["pieces-overlap"]) == 8
    assert [f.component for f in rows["over-the-rim"]] == ["c"] and rows["weight-and-size"]
    assert tuple(f.problem for f in faults(arrangement, d)) == check(arrangement, d)


# --- what a spec may say ---------------------------------------------------------------------------------------------

HEAD = (
    "dish: A\nrevision: {number: 1, date: 2026-01-01}\nplate: p\ncomponents:\n  a: {ingredient: beetroot}\n  b:"
    " {ingredient: dill}\nplating:\n  - {put: a, piece: {shape: disc, size: 40 mm}}\n  - {put: b, "
)


def read(move):
    d, _, problems = reading.dish(HEAD + move + "}\n", "specs/a.yaml", "a")
    if d is not None and not has_errors(problems):
        problems = (*problems, *place(d, PLATE)[1])
    return d, [(p.slug, p.span.line) for p in problems if p.is_error]


@pytest.mark.parametrize(
    "move",
    [
        "piece: {shape: disc, size: 8 mm}, beside: a",
        'piece: {shape: disc, size: 8 mm}, beside: a, at: "2:30", clear: 4 mm',
        "count: 3, piece: {shape: dot, sizes: 12 to 6 mm}, arrange: row, behind: a, gap: 2 mm",
        "amount: 9 ml, arrange: pool, across: 60 mm, under: a",
        "count: 5, piece: {shape: leaf, size: 9 x 5 mm}, arrange: ring, around: a, clear: 2 mm",
        'count: 5, piece: {shape: dot, size: 5 mm}, arrange: arc, around: a, from: "9:00", to: "3:00"',
        'amount: 3 ml, arrange: swipe, from: "8:00", to: "1:00", out: 60 mm, across: 24 mm, turning: clockwise',
        "amount: 1 ml, arrange: drizzle, from: {left: 50 mm}, to: {right: 50 mm, near: 40 mm}, across: 3 mm",
        'piece: {shape: outline, points: "0 0, 30 5, 34 18, 12 22"}, at: "2:00", out: 60 mm',
        'piece: {shape: outline, points: "0x0, 30x5, 34.5x18 mm"}',
        "piece: {shape: ring, size: 40 mm, hole: 28 mm}",
        "piece: {shape: foam, size: 30 mm}",
        'count: 6, rows: 2, piece: {shape: cube, size: 8 mm}, arrange: grid, along: "2:00"',
        "count: 3, piece: {shape: slice, size: 40 x 20 mm}, arrange: leaning",
    ],
)
def test_the_new_words_are_read(move):
    d, problems = read(move)
    assert not problems and d.steps[1].put == "b"


@pytest.mark.parametrize(
    "move, slug",
    [
        ("piece: {shape: disc, size: 0 mm}", "zero-size"),
        ("piece: {shape: disc, size: -4 mm}", "amount"),
        ("piece: {shape: disc, size: 8 mm, height: 0 mm}", "zero-size"),
        ("count: 500, piece: {shape: dot, size: 3 mm}, arrange: scatter", "out-of-range"),
        ("count: 0, piece: {shape: dot, size: 3 mm}, arrange: scatter", "out-of-range"),
        ("count: 90, piece: {shape: disc, size: 30 mm}, arrange: scatter", "does-not-fit"),
        ("count: 5, piece: {shape: dot, size: 3 mm}, arrange: scatter, within: {out: 60 to 20 mm}", "amount"),
        ("piece: {shape: disc, size: 8 mm}, beside: nobody", "unknown-component"),
        ("piece: {shape: disc, size: 8 mm}, under: b", "place-cycle"),
        ("piece: {shape: disc, size: 8 mm}, on: nobody", "unknown-component"),
        ("piece: {shape: disc, size: 8 mm}, beside: a, behind: a", "two-places"),
        ("piece: {shape: disc, size: 8 mm}, beside: a, at: {left: 4 mm}", "two-places"),
        ("piece: {shape: disc, size: 8 mm}, clear: 4 mm", "key-not-used"),
        (
            'count: 3, piece: {shape: dot, size: 3 mm}, arrange: arc, beside: a, from: "1:00", to: "2:00", out: 60 mm',
            "key-not-used",
        ),
        ("piece: {shape: disc, size: 8 mm}, around: a", "key-not-used"),
        ("piece: {shape: bar, size: 20 x 8 mm}, facing: sideways", "facing"),
        ('piece: {shape: bar, size: 20 x 8 mm}, facing: "13:00"', "facing"),
        ('piece: {shape: disc, size: 8 mm}, at: "13:00", out: 20 mm', "clock"),
        ('piece: {shape: outline, points: "0 0, 10 10, 10 0, 0 10"}', "crosses-itself"),
        ('piece: {shape: outline, points: "0 0, 10 10"}', "outline"),
        ('piece: {shape: outline, points: "0 0, ten 10, 4 4"}', "outline"),
        ('piece: {shape: outline, points: "0 0, 10 0, 20 0"}', "zero-size"),
        ("piece: {shape: outline}", "missing-key"),
        ('piece: {shape: outline, points: "0 0, 9 0, 9 9", size: 9 mm}', "two-sizes"),
        ("piece: {shape: ring, size: 40 mm}", "missing-key"),
        ("piece: {shape: ring, size: 40 mm, hole: 40 mm}", "hole-too-large"),
        ("piece: {shape: disc, size: 40 mm, hole: 20 mm}", "key-not-used"),
        ("piece: {shape: dot}", "missing-key"),
        ("count: 3, piece: {shape: dot, sizes: 12}, arrange: row", "wrong-type"),
        ("count: 3, piece: {shape: dot, sizes: 12 mm}, arrange: row", "amount"),
        ("count: 3, piece: {shape: dot, sizes: 12 to 0 mm}, arrange: row", "zero-size"),
        ("count: 3, piece: {shape: dot, sizes: 9 to 4 mm}, arrange: scatter", "key-not-used"),
        ('amount: 3 ml, arrange: swipe, from: "8:00", to: "1:00", out: 60 mm', "missing-key"),
        ('amount: 3 ml, arrange: swipe, from: "8:00", to: "1:00", across: 24 mm', "how-far-out"),
        ('count: 2, amount: 3 ml, arrange: swipe, from: "8:00", to: "1:00", out: 60 mm, across: 24 mm', "key-not-used"),
        ("count: 3, piece: {shape: dot, size: 4 mm}, arrange: ring", "missing-key"),
        ('count: 3, piece: {shape: dot, size: 4 mm}, arrange: row, along: "14:00"', "clock"),
        ("piece: {shape: hexagon, size: 4 mm}", "unknown-word"),
    ],
)
def test_what_cannot_be_is_said_at_its_place(move, slug):
    found = read(move)[1]
    assert (slug, 9) in found or slug == "missing-key" and (slug, 9) in found, found


def test_a_scatter_that_cannot_fit_says_how_many_did_and_one_larger_than_the_plate_is_said():
    d, problems = read("count: 90, piece: {shape: disc, size: 30 mm}, arrange: scatter")
    assert problems == [("does-not-fit", 9)]
    d, _ = read("piece: {shape: bar, size: 400 x 20 mm}")
    arrangement, _ = place(d, PLATE)
    assert "larger-than-the-plate" in [p.slug for p in check(arrangement, d)]


def test_no_two_unions_of_rings_lose_their_holes():
    (f,) = laid(step("a", piece=piece("ring", 40, hole=28)))
    outline = Area(f.outline)
    assert outline.is_valid and outline.area == pytest.approx(math.pi / 4 * (40**2 - 28**2), rel=0.01)
    assert not geometry2d.contains(f.outline, (0, 0)) and geometry2d.contains(f.outline, (0, 17))
    assert problems_of(step("a", piece=piece("ring", 40, hole=28)), step("b", piece=piece("disc", 20))) == (), (
        "what lies in the hole lies free"
    )
    assert MultiPolygon([outline]).is_valid


# --------------------------------------------------------------------------- plates that used to stop the program


def test_crumbs_on_a_slice_cut_with_three_corners_are_laid():
    """Of a triangle drawn by its corners, as of a square, every middle lies on it."""
    for corners in (((-40, -40), (40, -40), (0, 40)), ((-40, -40), (40, -40), (40, 40), (-40, 40))):
        host = piece("outline", 80, 80, points=corners)
        arrangement, problems = place(
            dish(
                step("tart", piece=host, at="centre"),
                step("crumbs", count=6, piece=piece("dot", 4), arrange="scatter", on="tart"),
            ),
            plate(),
        )
        assert not has_errors(problems)
        tart, *crumbs = arrangement.footprints
        assert len(crumbs) == 6 and all(Area(tart.outline).distance(Spot(c.centre)) < 1e-6 for c in crumbs)


@pytest.mark.parametrize("beside", ["beside", "behind"])
def test_pieces_beside_another_that_find_no_place_are_reported(beside):
    """Crumbs that go on the tart, on a part of the plate where no tart lies: none finds a place."""
    within = Region(Fraction(60), Fraction(120), out("30 mm"), out("90 mm"))
    crumbs = step("crumbs", count=3, piece=piece("dot", 4), arrange="scatter", on="tart", within=within)
    arrangement, problems = place(
        dish(
            step("fish", piece=piece("disc", 30), at="centre"),
            step("tart", piece=piece("disc", 40), at=at_mm(-50, 0)),
            replace(crumbs, **{beside: "fish"}),
        ),
        plate(),
    )
    assert [p.slug for p in problems if p.is_error] == ["does-not-fit"]
    assert [f.component for f in arrangement.footprints] == ["fish", "tart"]
