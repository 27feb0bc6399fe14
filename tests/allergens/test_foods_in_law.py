"""Single foods and what the laws make of them; the source of each stands beside it."""

from __future__ import annotations

import pytest

from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN
from platecard.knowledge import catalogue, taxonomy
from tests.allergens.guests.test_guest_question import CANNOT, OPEN, asked
from tests.kitchens import KITCHEN, LIBRARY, poured, prepared

CATALOGUE, TREE = catalogue.load()[0], taxonomy.load()[0]


def declared(name: str, law: str) -> dict[str, list[str]]:
    kitchen = LIBRARY[KITCHEN].replace("laws: [eu, us]", f"laws: [{law}]").replace("for: [eu, us]", f"for: [{law}]")
    (statement,) = prepared(poured({"a": f"{{ingredient: {name}}}"}), {KITCHEN: kitchen}).statements
    return {p: [f.in_full for f in statement.with_presence(p)] for p in (CONTAINS, UNKNOWN, MAY)}


@pytest.mark.parametrize("food", ["cricket", "cricket flour", "mealworm", "grasshopper"])
def test_insects_carry_their_statement_in_the_eu(food):
    """Implementing Regulation (EU) 2022/188, as told by a technical centre: near the ingredients, that it may cause
    reactions in people allergic to crustaceans, molluscs or dust mites.
    """
    assert declared(food, "eu")[CONTAINS] == ["insects (can set off allergies to crustaceans, molluscs and dust mites)"]
    # A guest allergic to crustaceans is never told that it may be served.
    assert asked("crustaceans", {"a": f"{{ingredient: {food}}}"}).answer == OPEN


@pytest.mark.parametrize("food", ["carmine", "shellac"])
def test_a_colour_or_a_glaze_from_insects_does_not(food):
    """The authorisations speak of insects as food; who avoids insects is told of them all the same."""
    assert declared(food, "eu")[CONTAINS] == []
    assert asked("insects", {"a": f"{{ingredient: {food}}}"}).answer == CANNOT


@pytest.mark.parametrize("food", ["pangasius", "basa", "swai"])
def test_pangasius_is_not_called_catfish_in_the_united_states(food):
    """21 U.S.C. 343(t), agency's guidance of December 2002 (seen): only Ictaluridae may be called catfish."""
    assert declared(food, "us")[CONTAINS] == ["fish (pangasius)"]
    assert declared("channel catfish", "us")[CONTAINS] == ["fish (catfish)"]
    # It is a catfish to whoever avoids catfish.
    assert TREE.is_under("pangasius", "catfish")
    assert asked("catfish", {"a": f"{{ingredient: {food}}}"}).answer == CANNOT


@pytest.mark.parametrize(
    "food, contains, unknown",
    [
        # Notice of the Japanese agency, range of "orange", read in two accounts: mandarins are outside it.
        ("dried orange peel", ["orange (recommended, not required)"], []),
        ("chenpi", [], []),
        ("dried tangerine peel", [], []),
        ("citrus peel powder", [], ["orange (recommended, not required)"]),
        ("mandarin", [], []),
    ],
)
def test_the_peel_of_an_orange_is_not_that_of_a_mandarin(food, contains, unknown):
    said = declared(food, "jp")
    assert (said[CONTAINS], said[UNKNOWN]) == (contains, unknown)


def test_bee_pollen_and_royal_jelly_belong_to_the_law_of_australia_and_new_zealand():
    """Schedule 9, section S9-2, item 1 (read in a reproduction); royal jelly on the authority's page (seen)."""
    assert declared("royal jelly", "au-nz")[CONTAINS] == ["royal jelly (warning statement)"]
    assert "bee pollen (advisory statement)" in declared("bee pollen", "au-nz")[CONTAINS]


def test_celery_seed_is_not_radhuni():
    """Common practice, no source: radhuni is another plant, sold as celery seed and mixed with it."""
    assert CATALOGUE.find("celery seed").entry.contains == ("celery",)
    assert CATALOGUE.find("radhuni").entry.name == "radhuni"
    assert declared("radhuni", "eu")[UNKNOWN] == ["celery"]


def test_soju_depends_on_its_maker():
    """Common practice, no source: of rice, sweet potato, tapioca or grain."""
    soju = CATALOGUE.find("soju").entry
    assert soju.contains == () and soju.depends_on_everything


def test_chestnut_is_a_nut_where_the_law_names_none():
    note = CATALOGUE.find("chestnut").entry.note
    for law, name in (("sg", "Singapore"), ("hk", "Hong Kong")):
        assert declared("chestnut", law)[CONTAINS] == ["tree nuts (chestnut)"] and name in note
    assert declared("chestnut", "eu")[CONTAINS] == []


def test_coconut_too_is_a_nut_where_the_law_names_none():
    assert declared("coconut", "hk")[CONTAINS] == ["tree nuts (coconut)"]


@pytest.mark.parametrize("food", ["rose petal", "fresh rose petal", "dried rose petal"])
def test_rose_petals_are_flowers(food):
    assert "edible_flower" in CATALOGUE.find(food).entry.kinds


def test_behenic_acid_from_mustard_asks_its_maker():
    """Delegated Regulation (EU) 2024/2512: excepted on conditions that only the maker can confirm."""
    assert declared("behenic acid", "eu")[UNKNOWN] == ["mustard"]
