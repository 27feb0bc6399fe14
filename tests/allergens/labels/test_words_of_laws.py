"""The allergens' names in all languages make an allergen known on a label, and no word one that says nothing."""

from __future__ import annotations

import pytest

from platecard.allergens.labels import parts, text, vocabulary
from platecard.diagnostics import Span
from platecard.knowledge import catalogue, languages, taxonomy
from platecard.knowledge.names import fold

CATALOGUE, TREE = catalogue.load()[0], taxonomy.load()[0]
WORDS = vocabulary.words()[0]


def read(label: str) -> parts.ReadLabel:
    return text.read(label, Span("label", 1, 1), CATALOGUE, TREE)[0]


def of_the_laws() -> list[tuple[str, str, str]]:
    """(language, node, word) of all words but those in Latin letters that are too short to be sure of."""
    found = []
    for key in languages.names():
        language = languages.load(key)[0]
        found += [(key, n, form) for n, w in language.words.items() for form in (w.text, *w.also)]
    return [
        (key, n, form)
        for key, n, form in found
        if vocabulary.is_comparable(form) and (len(fold(form)) >= 5 or not fold(form).isascii())
    ]


def test_each_name_is_read_as_its_allergen():
    """Or as a food of the catalogue that holds it; brackets within a name are read as brackets."""
    missed = []
    for key, node, word in of_the_laws():
        if any(sign in word for sign in "(,") or node in ("lobster", "crayfish", "langoustine", "prawn", "cuttlefish"):
            continue
        found = {*read(word).contains, *read(f"x, {word}").contains}
        if not any(TREE.is_under(n, node) or TREE.is_under(node, n) for n in found):
            missed.append((key, node, word))
    assert missed == []


@pytest.mark.parametrize(
    "label, contains, unread",
    [
        ("buğday unu, yumurta, şeker", {"wheat", "egg"}, {"unu", "şeker"}),
        ("小麦、卵、砂糖", {"wheat", "egg"}, {"砂糖"}),
        ("밀, 우유, 설탕", {"wheat", "milk"}, {"설탕"}),
        ("القمح، الحليب، السكر", {"wheat", "milk"}, {"السكر"}),
        ("пшениця, молоко, цукор", {"wheat", "milk"}, {"цукор"}),
        # Folded, two words of Devanagari can be one: none of them is read.
        ("गेहूं, दूध", set(), {"ग", "ध"}),
    ],
)
def test_the_allergen_is_known_and_every_other_word_stays_unread(label, contains, unread):
    found = read(label)
    assert contains <= set(found.contains)
    assert unread <= {u.word for u in found.unread}
    assert not unread or found.unrecognised  # so the product stays not established


def test_no_name_says_nothing():
    silent = (WORDS.said, WORDS.nothing, WORDS.classes, WORDS.beside, WORDS.plain, WORDS.neutral)
    added = {fold(word): node for _, node, word in of_the_laws() if fold(word) in WORDS.allergens}
    assert len(added) > 150
    assert [word for word in added for words in silent if word in words] == []


def test_a_name_that_a_law_uses_for_several_is_read_as_its_own_and_their_group():
    assert set(read("えび").contains) == {"shrimp", "crustacean"}
    assert set(read("いか").contains) == {"squid", "mollusc"}


def test_no_name_takes_the_place_of_a_food_that_holds_something_else():
    for key, node, word in of_the_laws():
        entry = CATALOGUE.find(word).entry
        if entry is None or entry.depends_on_everything:
            continue
        held = {*entry.contains, *entry.depends}
        assert any(TREE.is_under(n, node) or TREE.is_under(node, n) for n in held), (key, word, entry.name)


def test_a_word_of_statements_that_names_an_allergen_is_no_word_that_says_nothing():
    assert "cereal_gluten" in read("Ingrediënten: water, glutenbevattende granen").contains
