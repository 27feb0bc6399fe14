"""What would go out wrong on the plate if a check looked the other way, to the millimetre.

Pieces are discs unless their shape matters, so that every distance can be reckoned by hand.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from platecard.diagnostics import ERROR, WARNING
from platecard.layout.arrange import place
from platecard.layout.checks import check, faults
from tests.laid import at_mm, dish, piece, plate, step

ROUND = plate(280, 200)
OVAL = replace(plate(340, 280, "oval"), outer_far_mm=Fraction(220), well_far_mm=Fraction(160))


def laid(*steps, on=ROUND):
    d = dish(*steps)
    arrangement, problems = place(d, on)
    assert not problems, problems
    return arrangement, d


def found(*steps, on=ROUND, advice=False):
    return [p for p in check(*laid(*steps, on=on)) if advice or p.severity in (ERROR, WARNING)]


def slugs(*steps, on=ROUND):
    return [p.slug for p in found(*steps, on=on)]


def disc(size, right=0, away=0, **more):
    return step(more.pop("put", "a"), piece=piece("disc", size), at=at_mm(right, away), **more)


# --- edges -----------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "out, expected",
    [
        ("80 mm", []),
        ("80.2 mm", []),
        ("80.3 mm", ["over-the-rim"]),
        ("120.2 mm", ["over-the-rim"]),
        ("120.3 mm", ["off-the-plate"]),
    ],
)
def test_a_piece_may_reach_to_the_edge_and_a_hair_over_it(out, expected):
    """A disc of 40 mm on a well of 200 mm and a plate of 280 mm; nobody sees a quarter of a millimetre."""
    assert slugs(step("a", piece=piece("disc", 40), at="4:00", out=out)) == expected


@pytest.mark.parametrize(
    "right, expected", [(80.25, []), (80.26, ["over-the-rim"]), (120.25, ["over-the-rim"]), (120.26, ["off-the-plate"])]
)
def test_a_quarter_of_a_millimetre_over_an_edge_is_nothing_and_a_hair_more_is_told(right, expected):
    assert slugs(disc(40, str(right), 0)) == expected


@pytest.mark.parametrize("right, expected", [(50, []), (50.3, ["over-the-rim"]), (60, ["over-the-rim"])])
def test_of_a_long_piece_it_is_the_end_that_must_not_reach_over(right, expected):
    """A bar of 100 x 10 mm that points outwards; its middle is far inside a well of 200 mm, its corners are not."""
    bar = step("a", piece=piece("bar", 100, 10), at=at_mm(str(right), 0), facing="3:00")
    assert slugs(bar) == expected


@pytest.mark.parametrize("out, expected", [("120 mm", []), ("120.3 mm", ["off-the-plate"])])
def test_on_the_rim_only_the_plates_edge_counts(out, expected):
    assert slugs(step("a", piece=piece("disc", 40), at="4:00", out=out, on="rim")) == expected


def test_only_the_pieces_that_are_over_are_counted_and_the_furthest_is_measured():
    line = step("a", count=4, piece=piece("disc", 20), arrange="line", start=at_mm(-60, 0), end=at_mm(96, 0))
    (fault,) = [f for f in faults(*laid(line)) if f.problem.slug == "over-the-rim"]
    assert "1 of 4" in fault.problem.message and " 6 mm" in fault.problem.message and "3:00" in fault.problem.message
    assert [f.centre for f in fault.pieces] == [(96.0, 0.0)]
    line = step("a", count=3, piece=piece("disc", 20), arrange="line", start=at_mm(-94, 0), end=at_mm(97, 0))
    (fault,) = [f for f in faults(*laid(line)) if f.problem.slug == "over-the-rim"]
    assert "2 of 3" in fault.problem.message and " 7 mm" in fault.problem.message and "3:00" in fault.problem.message
    assert "90 mm" in fault.problem.hints[0], "so far out it fits"


def test_a_piece_over_both_edges_is_told_off_the_plate_alone():
    (one,) = found(step("a", piece=piece("disc", 40), at="9:00", out="125 mm"))
    assert one.slug == "off-the-plate" and "5 mm" in one.message and "9:00" in one.message
    assert not any("on: rim" in hint for hint in one.hints)


@pytest.mark.parametrize(
    "right, away, expected",
    [(120, 0, []), (123, 0, ["over-the-rim"]), (0, 60, []), (0, 63, ["over-the-rim"]), (0, 93, ["off-the-plate"])],
)
def test_an_oval_plate_is_wider_than_it_is_deep(right, away, expected):
    """A disc of 40 mm in an oval well of 280 x 160 mm, on a plate of 340 x 220 mm."""
    assert slugs(disc(40, right, away), on=OVAL) == expected


def test_on_an_oval_plate_it_is_said_by_how_much_to_move_in():
    (one,) = found(disc(40, 0, 63), on=OVAL)
    assert "3 mm" in one.message and "12:00" in one.message and "by 3 mm" in one.hints[0]
    (one,) = found(disc(200, 2, 0), on=OVAL)
    assert "smaller" in one.hints[0], "nowhere would it fit"


def test_what_is_too_large_in_the_middle_can_only_be_made_smaller():
    (one,) = found(disc(220))
    assert one.slug == "over-the-rim" and "smaller" in one.hints[0]


@pytest.mark.parametrize(
    "length, on, is_told", [(280, ROUND, False), (281, ROUND, True), (340, OVAL, False), (341, OVAL, True)]
)
def test_a_piece_longer_than_the_plate_is_told_as_such(length, on, is_told):
    told = slugs(step("a", piece=piece("bar", length, 10)), on=on)
    assert ("larger-than-the-plate" in told) is is_told and bool(told)
    told = slugs(step("a", piece=piece("bar", 10, length)), on=on)
    assert ("larger-than-the-plate" in told) is is_told


def test_a_unit_mistaken_hides_no_other_slip_of_its_own_step_and_spares_the_rest():
    """900 mm for 90 mm: everything would lie under it, and that is not said for each."""
    big = step("a", piece=piece("disc", 900))
    assert slugs(big, disc(20, 30, put="b")) == ["larger-than-the-plate"]
    assert slugs(big, step("b", count=9, piece=piece("disc", 30), arrange="ring", out="30 mm")) == [
        "larger-than-the-plate",
        "pieces-overlap",
    ]
    pool = step("a", arrange="pool", across_mm=300, amount="300 ml")
    (one,) = [p for p in found(pool) if p.slug == "larger-than-the-plate"]
    assert one.span.line == pool.places["across_mm" if "across_mm" in pool.places else "across"].line


# --- pieces of one step ----------------------------------------------------------------------------------------------


def pair(apart, shape=None, **more):
    """Two pieces 20 mm wide, their middles so far apart."""
    return step(
        "a", count=2, piece=shape or piece("disc", 20), arrange="line", start=at_mm(0, 0), end=at_mm(apart, 0), **more
    )


@pytest.mark.parametrize("shape", [piece("disc", 20), piece("bar", 20, 20)])
@pytest.mark.parametrize("apart, expected", [(20, []), (19.5, []), (19.4, ["pieces-overlap"]), (5, ["pieces-overlap"])])
def test_pieces_may_press_into_each_other_by_a_knife_cut(shape, apart, expected):
    assert slugs(pair(apart, shape)) == expected


@pytest.mark.parametrize("shape", [piece("disc", 20), piece("bar", 20, 20)])
@pytest.mark.parametrize(
    "apart, expected", [(25, []), (24.9, ["too-close"]), (20, ["too-close"]), (19, ["pieces-overlap"])]
)
def test_a_gap_is_kept_to_the_millimetre_whatever_the_shape(shape, apart, expected):
    problems = found(pair(apart, shape, gap_mm=5))
    assert [p.slug for p in problems] == expected
    if expected == ["too-close"]:
        assert (
            f"{apart - 20:.1f}".rstrip("0").rstrip(".") + " mm" in problems[0].message and "5 mm" in problems[0].message
        )


def test_how_often_pieces_lie_over_each_other_and_how_deep():
    line = dict(piece=piece("disc", 20), arrange="line", start=at_mm(0, 0))
    (one,) = found(step("a", count=2, end=at_mm(15, 0), **line))
    assert "5 mm" in one.message and "once" in one.message
    (one,) = found(step("a", count=4, end=at_mm(45, 0), **line))
    assert "5 mm" in one.message and "3 times" in one.message


def test_a_pool_and_its_own_drops_are_not_held_apart_where_they_may_touch():
    assert slugs(pair(10, may_touch="a")) == [] and slugs(pair(10, overlap=0.5)) == []
    assert slugs(pair(10)) == ["pieces-overlap"]


# --- pieces of different steps ---------------------------------------------------------------------------------------


@pytest.mark.parametrize("apart, expected", [(40, []), (39.5, []), (39.4, ["overlap"])])
def test_two_components_may_press_into_each_other_by_a_knife_cut(apart, expected):
    assert slugs(disc(40), disc(40, apart, put="b")) == expected


def test_what_is_tucked_under_something_lies_there_as_asked():
    """A leaf under a disc, and a crumb on the leaf: both are asked for; a crumb beside them is not."""
    leaf = step("leaf", piece=piece("disc", 30), under="a")
    assert slugs(disc(40), leaf) == []
    assert slugs(disc(40), step("leaf", piece=piece("disc", 30), at=at_mm(0, 0))) == ["overlap"]


def test_where_and_how_far_one_lies_over_the_other():
    (one,) = found(disc(40), disc(20, 25, put="b"))
    assert "5 mm" in one.message and "5 mm" in one.hints[0] and "3:00, 1" in one.message
    (one,) = found(disc(40, -15), disc(40, 15, put="b"))
    assert "10 mm" in one.message and ":00" not in one.message, "in the middle there is no direction"


def test_the_worst_of_several_is_the_one_that_is_measured():
    three = step("b", count=3, piece=piece("disc", 10), arrange="line", start=at_mm(22, 0), end=at_mm(22, 60))
    (fault,) = [f for f in faults(*laid(disc(40), three)) if f.problem.slug == "overlap"]
    assert "1 of 3" in fault.problem.message and "3 mm" in fault.problem.message and len(fault.pieces) == 2
    row = step(
        "b", count=3, piece=piece("disc", 10), arrange="line", start=at_mm(24, 0), end=at_mm(0, 0), may_touch="b"
    )
    (fault,) = [f for f in faults(*laid(disc(40), row)) if f.problem.slug == "overlap"]
    assert "3 of 3" in fault.problem.message and "100 % of a piece" in fault.problem.message


def test_a_pour_at_the_table_runs_under_what_is_there_and_pieces_brought_there_do_not():
    pool = dict(arrange="pool", across_mm=100, amount="16 ml")
    assert slugs(disc(40), step("s", section="at_table", **pool)) == []
    assert slugs(disc(40), step("s", **pool)) == ["overlap"]
    assert slugs(disc(40), disc(20, 10, put="b", section="at_table")) == ["overlap"]
