"""What is said to lie on something lies on it, or the chef is told which piece does not, and where."""

from __future__ import annotations

from dataclasses import replace

import pytest

from platecard.layout.arrange import place
from platecard.layout.checks import check
from platecard.model import Facing
from tests.laid import at_mm, dish, piece, plate, region, step

PUREE = step("puree", piece=piece("disc", 50), at="centre")


def said(*steps) -> list[str]:
    d = dish(*steps)
    arrangement, _ = place(d, plate(outer=320, well=300))
    return [p.message for p in check(arrangement, d) if p.slug == "not-on-it"]


def test_five_dots_on_a_puree_that_lie_on_bare_china_are_an_error():
    dots = step(
        "dots", piece=piece("dot", 8), count=5, arrange="arc", start="2:00, 90 mm", end="4:00, 90 mm", on=("puree",)
    )
    (message,) = said(PUREE, dots)
    assert message.startswith("5 of 5 pieces of dots do not lie on puree: the furthest at ")
    assert "90 mm out, 61 mm away from it" in message


def test_only_the_pieces_that_miss_are_counted():
    row = step(
        "dots", piece=piece("dot", 8), count=3, arrange="line", start="9:00, 60 mm", end="3:00, 60 mm", on=("puree",)
    )
    (message,) = said(PUREE, row)
    assert message.startswith("2 of 3 pieces of dots do not lie on puree")


@pytest.mark.parametrize(
    "right, lies",
    [(0, True), (20, True), (24, True), (26, False), (40, False)],
)
def test_its_middle_has_to_be_on_it(right, lies):
    """The puree reaches 25 mm out; a disc of 10 mm with its middle further out would tip off."""
    assert bool(said(PUREE, step("a", piece=piece("disc", 10), at=at_mm(right, 0), on=("puree",)))) != lies


def test_a_large_piece_may_lie_on_a_small_one_under_its_middle():
    assert not said(
        step("quenelle", piece=piece("disc", 20), at="centre"),
        step("tuile", piece=piece("disc", 60), at=at_mm(5, 0), on=("quenelle",)),
    )
    assert said(
        step("quenelle", piece=piece("disc", 20), at="centre"),
        step("tuile", piece=piece("disc", 60), at=at_mm(25, 0), on=("quenelle",)),
    )


def test_a_scoop_on_a_bed_of_crumbs_has_its_middle_within_the_bed():
    bed = step("crumb", piece=piece("crumb", 6), count=12, arrange="scatter", within=region(far="0 to 25 mm"), gap_mm=1)
    assert not said(bed, step("scoop", piece=piece("disc", 30), at="centre", on=("crumb",)))
    assert said(bed, step("scoop", piece=piece("disc", 30), at=at_mm(60, 0), on=("crumb",)))


def test_a_standing_piece_needs_its_foot_there_and_a_sauce_runs_where_it_likes():
    crisp = piece("shard", 50, 25)
    standing = step("crisp", piece=crisp, at=at_mm(20, 0), on=("puree",))
    assert not said(PUREE, replace(standing, facing=Facing(stance="standing")))
    off = step("crisp", piece=crisp, at=at_mm(70, 0), on=("puree",))
    assert said(PUREE, replace(off, facing=Facing(stance="standing")))


# --- what leans


LEANING = step("crisp", piece=piece("shard", 40, 20, 2), at=at_mm(0, 0), facing=Facing("clock", 0, "leaning"))


def unheld(*steps, on=None) -> list[str]:
    d = dish(*steps)
    arrangement, _ = place(d, on or plate(outer=320, well=300))
    return [p.message for p in check(arrangement, d) if p.slug == "leans-on-nothing"]


def test_what_leans_on_nothing_is_an_error_that_says_where():
    assert unheld(LEANING) == ["crisp leans on nothing at 12:00, 0 mm out"]
    assert unheld(step("puree", arrange="pool", across_mm=90, amount="20 ml"), LEANING), "a sauce holds nothing"
    assert unheld(step("seed", piece=piece("dot", 6, None, 3), at=at_mm(0, 14)), LEANING), "too low to hold it"


@pytest.mark.parametrize("away, held", [(20, True), (21, True), (26, False)])
def test_it_is_held_by_what_stands_beside_it(away, held):
    block = step("block", piece=piece("bar", 40, 20, 30), at=at_mm(0, away), facing=Facing("clock", 90))
    assert bool(unheld(block, LEANING)) != held


def test_it_is_held_by_what_it_is_stuck_into_or_by_the_wall_of_a_bowl():
    assert not unheld(PUREE, replace(LEANING, on=("puree",)))
    bowl = plate(outer=220, well=160, form="bowl", depth=40)
    assert unheld(LEANING, on=bowl)
    assert not unheld(replace(LEANING, at=at_mm(0, 69)), on=bowl)
