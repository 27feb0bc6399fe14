"""Foods as cooks write them: words of choosing, cutting and cooking change nothing in what a plain food is."""

from __future__ import annotations

import pytest

from platecard.knowledge import catalogue

CATALOGUE = catalogue.load()[0]


@pytest.mark.parametrize(
    "written, food",
    [
        ("fresh salmon", "salmon"),
        ("line-caught haddock fillet", "haddock"),
        ("finely diced onion", "onion"),
        ("onions, peeled and finely diced", "onion"),
        ("boiled potatoes", "potato"),
        ("dried butter beans", "butter bean"),
        ("rump of lamb, roasted", "lamb"),
        ("egg whites, whisked", "egg white"),
        ("double cream, lightly whipped", "double cream"),
        ("Maris Piper potatoes", "potato"),
        ("Kartoffeln", "potato"),
        ("pomodori", "tomato"),
        ("poireaux", "leek"),
        ("toasted hazelnuts", "hazelnut"),
        ("large eggs", "egg"),
    ],
)
def test_a_plain_food_is_found_behind_a_cooks_words(written, food):
    assert CATALOGUE.find_plain(written).entry is CATALOGUE.find(food).entry is not None


@pytest.mark.parametrize(
    "written",
    [
        "roast gravy",
        "sliced ham",
        "grilled sausage",
        "fresh pesto",
        "steamed pudding",
        "smoked carrot",
        "pickled turnip",
        "breaded cod",
        "candied beetroot",
        "carrots, glazed in butter",
        "potatoes, fried with garlic",
        "onion, breaded",
        "cod, battered",
        "fresh",
        "diced",
        "roasted, diced",
        "fillet of",
        ",",
    ],
)
def test_what_was_made_into_another_food_is_not_found(written):
    assert CATALOGUE.find_plain(written).entry is None


def test_a_name_of_the_catalogue_goes_before_its_words():
    """ "Fresh pasta", "cooked ham" and "peeled potato" are foods of their own."""
    assert [n for n in CATALOGUE.names() if CATALOGUE.find_plain(n).entry is not CATALOGUE.find(n).entry] == []


def test_no_word_left_away_says_that_something_was_added():
    made = {
        "smoked",
        "cured",
        "pickled",
        "fried",
        "breaded",
        "battered",
        "marinated",
        "glazed",
        "candied",
        "salted",
        "sweetened",
        "filled",
        "stuffed",
        "coated",
        "dressed",
        "buttered",
        "creamed",
    }
    words = {
        w for rule in CATALOGUE._plain for side in ("before", "after") for said in rule[side] for w in said.split()
    }
    assert len(words) > 100 and words & made == set()
    # Behind a comma a cook may say that something was fried in the pan: the fat is a line of its own.
    assert CATALOGUE._done & made == {"fried"}
