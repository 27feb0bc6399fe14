"""What only touches does not withhold a card, and no advice that the plate cannot follow is given."""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import pytest

from platecard.layout.arrange import place
from platecard.layout.checks import check, faults
from platecard.model import Accept
from tests.laid import at_mm, dish, piece, plate, step

OVAL = replace(plate(340, 280, "oval"), outer_far_mm=Fraction(220), well_far_mm=Fraction(160))


def found(slug: str, *steps, on=None):
    d = dish(*steps)
    arrangement, _ = place(d, on or plate(outer=320, well=300))
    return [p for p in check(arrangement, d) if p.slug == slug]


def squares(apart_mm: float):
    """Two bars of 40 by 30 mm side by side along their long sides, their middles so far apart."""
    return (
        step("a", piece=piece("bar", 40, 30), at="centre", facing="12:00"),
        step("b", piece=piece("bar", 40, 30), at=at_mm(str(apart_mm), 0), facing="12:00"),
    )


def test_a_touch_of_less_than_a_millimetre_is_told_and_withholds_nothing():
    (touch,) = found("overlap", *squares(29.3))
    assert not touch.is_error and touch.message.startswith("b touches a by 0.7 mm")
    (deep,) = found("overlap", *squares(28))
    assert deep.is_error and "over a by up to 2 mm" in deep.message
    assert not found("overlap", *squares(29.8))


@pytest.mark.parametrize(
    "wide, apart, is_error",
    [
        # By a millimetre at most, which of 30 mm is little ...
        (30, 29.0, False),
        (30, 28.9, True),
        # ... and by less than a twentieth of the smaller piece.
        (21, 20.0, False),
        (18, 17.0, True),
        (10, 9.4, True),
    ],
)
def test_a_touch_is_shallow_and_a_small_part_of_the_piece(wide, apart, is_error):
    a = step("a", piece=piece("bar", 40, 40), at="centre", facing="12:00")
    b = step("b", piece=piece("bar", 40, wide), at=at_mm(Fraction(20) + Fraction(str(apart)) - wide / Fraction(2), 0))
    (told,) = found("overlap", a, replace(b, facing=a.facing))
    assert told.is_error is is_error
    assert ("touches" in told.message) is not is_error


def test_no_hint_sends_a_piece_further_than_the_plate_reaches():
    small = plate(outer=200, well=160)
    (far,) = found(
        "overlap",
        step("a", piece=piece("disc", 120), at="centre"),
        step("b", piece=piece("disc", 120), at=at_mm(5, 0)),
        on=small,
    )
    assert "away" not in far.hints[0] and "smaller" in far.hints[0]


def test_a_drizzle_longer_than_the_plate_is_wide_may_bend():
    drizzle = step("oil", piece=piece("drizzle", 300, 4), arrange="drizzle", start="8:00, 60 mm", end="4:00, 60 mm")
    assert not found("larger-than-the-plate", drizzle, on=plate(outer=200, well=180))
    assert found("larger-than-the-plate", step("bread", piece=piece("bar", 300, 30), at="centre"), on=plate(200, 180))


def test_a_puree_balances_the_dots_beside_it():
    puree = step("puree", amount="60 ml", across_mm=70, arrange="pool", at=at_mm(-40, 0))
    dots = step("dots", piece=piece("dot", 8), count=3, arrange="line", start="3:00, 60 mm", end="3:00, 100 mm")
    assert not found("off-balance", puree, dots)
    assert found("off-balance", dots, step("leaf", piece=piece("leaf", 10, 6), at=at_mm(70, 20)))


def test_a_leeway_that_lets_anything_pass_is_told():
    def told(**accept):
        one = step("dill", piece=piece("frond", 18, 10), count=5, arrange="ring", out="60 mm")
        d = dish(replace(one, accept=Accept(**accept)))
        return [p.message for p in check(place(d, plate())[0], d) if p.slug == "accepts-anything"]

    assert told(count=5) == ["5 ±5 accepts a plate without dill"]
    assert told(place_mm=Fraction(90)) and told(turn_deg=Fraction(400))
    assert not told(count=2, place_mm=Fraction(8), turn_deg=Fraction(15))


@pytest.mark.parametrize(
    "accept, on, said",
    [
        (dict(count=4), plate(), []),
        (dict(count=6), plate(), ["5 ±6 accepts a plate without dill"]),
        # Half the way to the edge of a well of 200 mm, and on an oval of 280 x 160 mm of its shorter side.
        (dict(place_mm=50), plate(), []),
        (dict(place_mm=50.5), plate(), ["±50.5 mm is half the way across the plate"]),
        (dict(place_mm=40), OVAL, []),
        (dict(place_mm=41), OVAL, ["±41 mm is half the way across the plate"]),
        (dict(turn_deg=90), plate(), []),
        (dict(turn_deg=91), plate(), ["±91° is more than a quarter turn either way"]),
        ({}, plate(), []),
    ],
)
def test_a_leeway_is_told_from_where_it_lets_anything_pass(accept, on, said):
    one = step("dill", piece=piece("frond", 12, 8), count=5, arrange="ring", out="40 mm")
    exact = {k: v if k == "count" else Fraction(str(v)) for k, v in accept.items()}
    d = dish(replace(one, accept=Accept(**exact)))
    told = [f for f in faults(place(d, on)[0], d) if f.problem.slug == "accepts-anything"]
    assert [f.problem.message for f in told] == said
    assert all(len(f.pieces) == 5 and not f.problem.is_error for f in told)
