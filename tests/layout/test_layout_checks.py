"""Each fault of a plate is found, at its place, in words a chef can act on; a good plate is left alone."""

import time
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon as Area
from shapely.ops import unary_union

from platecard.diagnostics import ADVICE, ERROR, WARNING
from platecard.layout.arrange import place
from platecard.layout.checks import capacity_ml, check, coverage
from tests.laid import LETTERS, at_mm, dish, piece, plate, region, step

PLATE = plate()


def found(*steps, on=PLATE, **more):
    d = dish(*steps, **more)
    arrangement, problems = place(d, on)
    assert not problems, problems
    return check(arrangement, d)


def only(*steps, **more):
    (problem,) = found(*steps, **more)
    return problem


GOOD = (
    step("sauce", arrange="pool", across_mm=140, amount="35 ml"),
    step("fish", piece=piece("fillet", 100, 50, 20, 90), at="6:00, 20 mm", on="sauce"),
    step(
        "leek",
        count=5,
        piece=piece("disc", 18, None, 10, 3),
        arrange="arc",
        start="10:00",
        end="2:00",
        out="60 mm",
        on="sauce",
    ),
    step("dill", count=3, piece=piece("frond", 20, 14), on="fish"),
    step(
        "oil",
        count=7,
        piece=piece("dot", 5, None, 1, 0.01),
        arrange="scatter",
        within=region("4:00 to 8:00", "55 to 65 mm"),
        gap_mm=2,
        on="sauce",
    ),
)


def test_a_good_plate_is_left_alone():
    assert found(*GOOD, on=plate(depth=25)) == ()


# --- edges -----------------------------------------------------------------------------------------------------------


def test_over_the_wells_edge():
    p = only(step("char", piece=piece("disc", 60), at="4:00", out="77 mm"))
    assert (p.slug, p.severity) == ("over-the-rim", ERROR)
    assert p.message == "char reaches 7 mm over the well's edge at 4:00"
    assert p.hints[0] == "move it in to 70 mm or less from the centre"
    assert p.span.line == 103, "the line that says out"


def test_off_the_plate_is_said_instead_of_over_the_rim_and_names_how_many():
    p = only(step("char", count=4, piece=piece("disc", 60), arrange="ring", out="120 mm"))
    assert p.slug == "off-the-plate" and "4 of 4 pieces of char reach 10 mm over the plate's edge at 12:00" == p.message


def test_the_rim_may_be_asked_for_but_not_the_table():
    assert found(step("salt", count=5, piece=piece("dot", 4), arrange="ring", out="120 mm", on="rim")) == ()
    assert only(step("salt", piece=piece("dot", 40), at="12:00", out="125 mm", on="rim")).slug == "off-the-plate"


def test_sauce_is_never_invited_onto_the_rim():
    p = only(step("jus", arrange="pool", across_mm=230, amount="90 ml"))
    assert p.slug == "over-the-rim" and not any("rim" in h for h in p.hints)


def test_a_piece_larger_than_the_plate_is_said_once():
    p = only(step("fish", piece=piece("fillet", 900, 400)), step("leaf", piece=piece("leaf", 20, 10)))
    assert p.slug == "larger-than-the-plate" and "900 mm" in p.message and p.span.line == 101


# --- overlap ---------------------------------------------------------------------------------------------------------

A = step("a", piece=piece("disc", 40), at=at_mm(0, 0))
B = dict(count=3, piece=piece("disc", 20), arrange="line", start=at_mm(0, 25), end=at_mm(0, 75))


def test_unasked_overlap_names_the_pair_once_with_count_and_depth():
    p = only(A, step("b", **B))
    assert (p.slug, p.severity) == ("overlap", ERROR)
    assert p.message.startswith("1 of 3 pieces of b lies over a by up to 5 mm (")
    assert (
        p.hints[0] == "move it by at least 5 mm, clear of a" and "on: a" in p.hints[1] and "may_touch: a" in p.hints[1]
    )


@pytest.mark.parametrize("more", [{"on": "a"}, {"may_touch": "a"}])
def test_asked_overlap_is_fine_either_way_round(more):
    assert [x.slug for x in found(A, step("b", **B, **more)) if x.slug != "not-on-it"] == []
    if "may_touch" in more:
        assert found(step("a", piece=piece("disc", 40), may_touch="b"), step("b", **B)) == ()


def test_what_lies_on_something_may_lie_over_what_that_lies_on():
    assert found(A, step("b", piece=piece("disc", 30), on="a"), step("c", piece=piece("bar", 36, 4), on="b")) == ()


def test_pieces_may_press_against_each_other():
    assert found(A, step("b", piece=piece("disc", 20), at=at_mm(0, 29.7))) == ()


def test_a_pool_under_food_must_be_asked_unless_it_is_poured_at_the_table():
    pool = dict(arrange="pool", across_mm=100, amount="16 ml")
    assert only(step("s", **pool), step("a", piece=piece("disc", 40))).slug == "overlap"
    assert found(step("s", **pool), step("a", piece=piece("disc", 40), on="s")) == ()
    assert found(step("a", piece=piece("disc", 40)), step("s", section="at_table", **pool)) == ()
    assert found(step("a", piece=piece("disc", 40)), step("s", poured="at the table", **pool)) == ()


def test_two_steps_of_one_component_must_be_apart_too():
    assert only(A, step("a", piece=piece("disc", 20), at=at_mm(0, 25))).slug == "overlap"


def test_many_pairs_are_one_problem_for_each_pair_of_components():
    ring = dict(piece=piece("disc", 12), arrange="ring", out="40 mm", count=12)
    p = found(step("a", **ring), step("b", **ring), step("c", **ring))
    assert [x.slug for x in p] == ["overlap"] * 3
    assert all(x.message.startswith("12 of 12") for x in p)


@settings(max_examples=60, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["disc", "slice", "bar", "shard", "leaf", "wedge", "quenelle", "flower"]),
            st.integers(10, 50),
            st.integers(10, 40),
            st.integers(-55, 55),
            st.integers(-55, 55),
            st.sampled_from(["1:00", "2:30", "4:00", "5:30"]),
        ),
        min_size=2,
        max_size=8,
    )
)
def test_all_pairs_are_those_an_independent_library_finds(rows):
    d = dish(
        *(
            step(LETTERS[i], piece=piece(kind, a, b), at=at_mm(x, y), facing=points)
            for i, (kind, a, b, x, y, points) in enumerate(rows)
        )
    )
    arrangement, _ = place(d, PLATE)
    ours = {
        frozenset((m[0], m[1]))
        for p in check(arrangement, d)
        if p.slug == "overlap"
        for m in [(p.message.split()[0], p.message.split()[3])]
    }
    areas = {f.component: Area(f.outline) for f in arrangement.footprints}
    for one in areas:
        for two in areas:
            if one < two:
                shared = areas[one].intersection(areas[two]).area
                if frozenset((one, two)) in ours:
                    assert shared > 0
                elif shared:  # a touch shallower than half a millimetre: moved that far, they are clear
                    assert shared < 0.6 * 50


# --- pieces of one step ----------------------------------------------------------------------------------------------


def test_own_pieces_over_each_other_with_the_room_they_need():
    p = only(step("a", count=8, piece=piece("disc", 30), arrange="ring", out="35 mm"))
    assert p.slug == "pieces-overlap" and p.severity == ERROR
    assert "move them out to 40 mm, or use 7" == p.hints[0]
    assert found(step("a", count=8, piece=piece("disc", 30), arrange="ring", out="40 mm")) == ()
    assert found(step("a", count=7, piece=piece("disc", 30), arrange="ring", out="35 mm")) == ()


@pytest.mark.parametrize(
    "more", [{"overlap": 0.33, "arrange": "line"}, {"may_touch": "a", "arrange": "line"}, {"arrange": "fan"}]
)
def test_overlap_within_a_step_can_be_meant(more):
    assert found(step("a", count=4, piece=piece("slice", 40, 20), start="10:00", end="1:30", out="50 mm", **more)) == ()


@pytest.mark.parametrize("overlap, said", [(0.7, []), (0.3, ["cover each other by 67 %, not 30 %"])])
def test_a_fan_overlaps_as_much_wherever_on_the_plate_it_lies(overlap, said):
    """Slices that lie 40 mm along a circle of 50 mm, 15 degrees apart: 13.05 mm from middle to middle."""
    for start, end in (("11:15", "12:45"), ("1:00", "2:30"), ("4:30", "6:00"), ("8:00", "9:30")):
        fan = step(
            "a",
            count=4,
            piece=piece("slice", 40, 20),
            arrange="fan",
            start=start,
            end=end,
            out="50 mm",
            overlap=overlap,
        )
        problems = [p for p in found(fan) if p.slug == "fan-overlap"]
        assert [p.message.split("slices of a ")[1] for p in problems] == said, (start, end)


@pytest.mark.parametrize(
    "right, away, where",
    [(40, 0, "at 3:00, 45 mm out"), (-50, 0, "at 9:00, 45 mm out"), (-5, 50, "at 12:00, 50 mm out")],
)
def test_pieces_that_lie_over_each_other_are_found_where_they_do(right, away, where):
    p = next(
        p
        for p in found(
            step("a", piece=piece("disc", 20), at=at_mm(right, away)),
            step("b", piece=piece("disc", 20), at=at_mm(right + 10, away)),
        )
        if p.slug == "overlap"
    )
    assert f"most {where}" in p.message and "by up to 10 mm" in p.message


def test_a_gap_not_kept_is_found_at_the_gap():
    p = only(
        step("a", count=7, piece=piece("dot", 10), arrange="arc", start="9:00", end="3:00", out="40 mm", gap_mm=12)
    )
    assert (
        p.slug == "too-close"
        and p.span.line == 107
        and "10.9 mm" not in p.message
        and "the gap should be 12 mm" in p.message
        and "of each other, 6 times; " in p.message
    )
    assert (
        found(
            step("a", count=7, piece=piece("dot", 10), arrange="arc", start="9:00", end="3:00", out="40 mm", gap_mm=10)
        )
        == ()
    )


def test_too_many_on_one_host_is_a_warning_because_the_layout_placed_them():
    p = only(step("a", piece=piece("disc", 20)), step("b", count=9, piece=piece("leaf", 20, 12), on="a"))
    assert (p.slug, p.severity) == ("pieces-overlap", WARNING)


def test_a_fan_that_is_none_and_one_that_is_not_as_said():
    fan = dict(count=5, piece=piece("slice", 45, 20), arrange="fan", start="8:00", end="4:00")
    assert only(step("a", out="60 mm", **fan)).slug == "fan-without-overlap"
    assert found(step("a", out="30 mm", overlap=0.33, **fan)) == ()
    p = only(step("a", out="30 mm", overlap=0.6, **fan))
    assert (p.slug, p.severity) == ("fan-overlap", WARNING) and "33 %, not 60 %" in p.message


# --- sauce and weight ------------------------------------------------------------------------------------------------


def test_more_sauce_than_the_well_holds():
    deep = plate(form="bowl", well=150, depth=40)
    assert capacity_ml(deep) == pytest.approx(387, abs=1)
    p = [
        x
        for x in found(
            step("a", arrange="pool", across_mm=148, amount="250 ml"),
            step("b", arrange="pool", across_mm=100, amount="150 ml", may_touch="a"),
            on=deep,
        )
        if x.slug == "too-much-sauce"
    ]
    assert len(p) == 1 and "400 ml" in p[0].message and "387 ml" in p[0].message
    assert found(step("a", arrange="pool", across_mm=148, amount="250 ml"), on=deep) == ()
    assert capacity_ml(plate()) is None and capacity_ml(plate(well=200, depth=10)) == pytest.approx(314, abs=1)


def test_a_pool_too_thin_or_too_thick_to_stay():
    p = only(step("a", arrange="pool", across_mm=180, amount="5 ml"))
    assert p.slug == "pool-thickness" and "leave bare patches" in p.message and "write across: 56 mm" in p.hints[0]
    thick = only(step("a", arrange="pool", across_mm=60, amount="45 ml"))
    assert thick.slug == "pool-thickness" and "write across: 169 mm" in thick.hints[0]
    assert found(step("a", arrange="pool", across_mm=140, amount="35 ml")) == ()


@pytest.mark.parametrize(
    "well, beside, hint",
    [
        (180, None, "write across: 160 mm, its width at 2 mm deep"),
        (150, None, "write across: 93 mm, its width at 6 mm deep"),
        (180, "12:00, 70 mm", "write across: 93 mm, its width at 6 mm deep"),
        (92, None, "use 38 g or less: there is no room to spread it wider"),
        (180, "12:00, 56 mm", "use 38 g or less: there is no room to spread it wider"),
    ],
)
def test_a_pool_is_widened_only_where_there_is_room_for_it(well, beside, hint):
    """40 g over 90 mm; what it says to do does away with the warning and brings no other."""
    more = [step("b", arrange="one", piece=piece("disc", 20), at=beside, index=1)] if beside else []
    steps = [step("a", arrange="pool", across_mm=90, amount="40 g", at="centre"), *more]
    (p,) = (x for x in found(*steps, on=plate(well=well)) if x.slug == "pool-thickness")
    assert p.message.startswith("40 g of a over 90 mm") and p.hints[0] == hint
    said = {"across_mm": int(hint.split()[2])} if "across" in hint else {"amount": "38 g"}
    mended = step("a", **{"arrange": "pool", "across_mm": 90, "amount": "40 g", "at": "centre", **said})
    assert [x.slug for x in found(mended, *more, on=plate(well=well)) if x.severity != "advice"] == []


def test_a_pool_is_not_made_smaller_than_what_lies_on_it():
    steps = [
        step("a", arrange="pool", across_mm=180, amount="5 g", at="centre"),
        step("b", arrange="ring", count=6, piece=piece("disc", 20), out="70 mm", on="a", index=1),
    ]
    (p,) = (x for x in found(*steps, on=plate(well=190)) if x.slug == "pool-thickness")
    assert p.hints[0] == "use 11 g or more"


@pytest.mark.parametrize(
    "good",
    [
        piece("disc", 40, None, 20, 26),
        piece("dot", 10, None, 3, 0.13),
        piece("quenelle", 55, 27, 22, 17),
        piece("disc", 22, None, 8, 3),
    ],
)
def test_plausible_weights_pass(good):
    assert found(step("a", piece=good)) == ()


@pytest.mark.parametrize(
    "bad, word",
    [
        (piece("disc", 40, None, 20, 80), "heavy"),
        (piece("dot", 10, None, 3, 3), "heavy"),
        (piece("quenelle", 55, 27, 22, 1), "light"),
        (piece("disc", 22, None, 8, 40), "heavy"),
    ],
)
def test_weights_the_size_cannot_have_are_a_warning(bad, word):
    p = only(step("a", piece=bad))
    assert (p.slug, p.severity) == ("weight-and-size", WARNING) and word in p.message and p.hints


# --- opinions --------------------------------------------------------------------------------------------------------


def test_crowding_and_many_components_are_advice_only():
    p = only(step("a", piece=piece("disc", 180)))
    assert (p.slug, p.severity) == ("crowded", ADVICE)
    many = [step(x, piece=piece("dot", 6), at=at_mm(12 * i - 40, 0)) for i, x in enumerate(LETTERS[:7])]
    assert found(*many) == ()
    assert only(*many, course="Main course").slug == "many-components"


@settings(max_examples=40, deadline=None)
@given(
    st.lists(
        st.tuples(st.integers(30, 120), st.integers(30, 120), st.integers(-70, 70), st.integers(-70, 70)),
        min_size=1,
        max_size=12,
    )
)
def test_coverage_agrees_with_a_true_union(rows):
    d = dish(*(step(LETTERS[i], piece=piece("slice", a, b), at=at_mm(x, y)) for i, (a, b, x, y) in enumerate(rows)))
    arrangement, _ = place(d, PLATE)
    well = Spot(0, 0).buffer(100, quad_segs=90)
    true = unary_union([Area(f.outline) for f in arrangement.footprints]).intersection(well).area / well.area
    ours = coverage(arrangement)
    assert ours == pytest.approx(true, abs=0.02) or ours <= 0.75 and ours >= true - 0.02


# --- size ------------------------------------------------------------------------------------------------------------


def test_five_hundred_pieces_do_not_explode():
    big = plate(500, 480)
    steps = [step(x, count=100, piece=piece("leaf", 8, 5), arrange="scatter", gap_mm=0) for x in LETTERS[:5]]
    d = dish(*steps)
    arrangement, _ = place(d, big)
    assert len(arrangement.footprints) == 500
    start = time.perf_counter()
    problems = check(arrangement, d)
    assert time.perf_counter() - start < 2
    assert {p.slug for p in problems} == {"overlap"} and len(problems) == 10


def test_every_problem_has_a_place_a_hint_and_no_full_stop():
    d = dish(
        *GOOD[:2],
        step("x", count=9, piece=piece("disc", 60, None, 10, 900), arrange="ring", out="70 mm", gap_mm=3),
        step("y", piece=piece("bar", 300, 10)),
    )
    arrangement, _ = place(d, PLATE)
    problems = check(arrangement, d)
    assert len(problems) >= 3
    for p in problems:
        assert p.span and p.hints and not p.message.endswith(".") and isinstance(p.message, str)
        assert Fraction(len(p.message)) < 200
