"""Cautions by food: each rule has a dish that asks for it and one that does not.

All dishes are invented.  Where a figure was published stands in `data/cautions-foods.yaml`, beside its rule.
"""

from __future__ import annotations

import pytest

from platecard.documents.kit import caution_block
from platecard.knowledge import catalogue, taxonomy
from platecard.service import caution_rules
from tests.kitchens import KITCHEN, LIBRARY, poured, prepared
from tests.service.test_cautions import recipe, with_

RULES = caution_rules.load()[0]


def line(name: str) -> str:
    return f"{{ingredient: {name}, amount: 100 g}}"


def found(name: str, *keys: str, component: str = "", codes: str = "[us, uk, eu]"):
    """The cautions, by rule, of a dish of one recipe with one ingredient, whatever its label leaves open."""
    files = {
        KITCHEN: LIBRARY[KITCHEN] + f"food_code: {codes}\n",
        "shared/recipes/thing.yaml": recipe(name if name.startswith("{") else line(name), *keys),
    }
    one = prepared(poured({"thing": "{recipe: thing" + (f", {component}" if component else "") + "}"}), files)
    assert not [p for p in one.problems if p.slug in ("unknown-ingredient", "unknown-key", "unknown-word")]
    return {c.rule: c for c in one.cautions}


COOKED = "core: {reaches: 85 °C, for: 10 min}"
# rule → what asks for it, what does not: the arguments of `found`.
CASES: dict[str, tuple[list[tuple[str, ...]], list[tuple[str, ...]]]] = {
    "histamine": (
        [("tuna", COOKED), ("mackerel", "state: raw"), ("mahi-mahi", COOKED), ("anchovy", COOKED)],
        [("cod", COOKED), ("tinned tuna", COOKED), ("katsuobushi",)],
    ),
    "sprouts": (
        [("bean sprout",), ("alfalfa sprout", "state: raw")],
        [("bean sprout", "state: cooked"), ("bean sprout", COOKED), ("pea shoot",), ("Brussels sprout",)],
    ),
    "kidney-beans": (
        [("kidney bean", "state: cooked"), ("borlotti bean",), ("white bean",)],
        [("tinned bean",), ("green bean",), ("lentil",), ("lamb kidney", COOKED)],
    ),
    "morels": ([("morel",), ("morel", COOKED)], [("chanterelle",), ("cep",)]),
    "shiitake": ([("shiitake",), ("dried shiitake", "state: marinated")], [("shiitake", COOKED), ("mushroom",)]),
    "wild-mushrooms-raw": (
        [("chanterelle", "state: marinated"), ("cep", "state: raw")],
        [("chanterelle",), ("mushroom", "state: raw"), ("cep", "state: cooked")],
    ),
    "raw-flour": (
        [("plain flour", "state: raw"), ("rye flour", "state: lightly cooked")],
        [("plain flour",), ("plain flour", "state: cooked"), ("flour tortilla", "state: raw")],
    ),
    "garlic-in-oil": ([("garlic", "process: [garlic in oil]")], [("garlic",), ("garlic", "process: [vacuum]")]),
    "soft-cheese": (
        [("brie",), ("Roquefort",), ("gorgonzola", "state: raw")],
        [("brie", "state: cooked"), ("feta",), ("goat's curd",), ("parmesan",), ("cream cheese",)],
    ),
    "raw-milk": (
        [("raw milk",)],
        [("milk",), ("raw milk", COOKED), (with_(line("raw milk"), pasteurised="true"),)],
    ),
    "liver": ([("calf's liver", COOKED), ("foie gras", COOKED), ("cod liver oil",)], [("lamb kidney", COOKED)]),
    "pate": ([("chicken liver pâté",), ("pâté",)], [("calf's liver", COOKED), ("rillettes",)]),
    "mercury": (
        [("swordfish", COOKED), ("shark", COOKED), ("bigeye tuna", COOKED), ("king mackerel", COOKED)],
        [("tuna", COOKED), ("mackerel", COOKED), ("salmon", COOKED)],
    ),
    "tuna": ([("yellowfin tuna", COOKED)], [("bigeye tuna", COOKED), ("salmon", COOKED)]),
    "cured-meat": (
        [("prosciutto",), ("salami",), ("chorizo",)],
        [("cooked ham",), ("salami", "state: cooked"), ("black pudding", COOKED)],
    ),
    "rice": (
        [("rice", "held: {at: 65 °C, up_to: 1 h}"), ("sushi rice", "cooled: true")],
        [("rice",), ("rice vinegar", "held: {at: 65 °C}"), ("sake", "cooled: true"), ("potato", "cooled: true")],
    ),
    "crustaceans-live": (
        [(with_(line("lobster"), live="true"), COOKED), ("live lobster", COOKED)],
        [("lobster", COOKED), (with_(line("mussel"), live="true"), COOKED)],
    ),
    "oysters": ([("oyster", "state: raw"), ("oyster",)], [("oyster", COOKED), ("mussel", "state: raw")]),
    "fermented": ([("cabbage", "process: [fermented]")], [("sauerkraut",), ("cabbage",)]),
    "alcohol": (
        [("white wine",), ("beer",), ("brandy", COOKED), ("cider",)],
        [("wine vinegar",), ("grape",), ("apple juice",)],
    ),
    "bitter-kernels": (
        [("bitter almond",), ("stone-fruit kernel",)],
        [("almond",), ("apricot",), ("bitter almond oil",)],
    ),
    "cassava": ([("cassava",)], [("cassava", "state: cooked"), ("tapioca starch",), ("cassava flour",)]),
    "bamboo": ([("fresh bamboo shoot",)], [("tinned bamboo shoot",), ("fresh bamboo shoot", "state: cooked")]),
    "taro": ([("taro",)], [("taro", COOKED), ("yam",)]),
    "pufferfish": ([("pufferfish", COOKED)], [("cod", COOKED)]),
    "wild-plants": (
        [("wild garlic",), ("nettle", COOKED), ("alexanders",)],
        [("wild garlic", "farmed: true"), ("wild garlic", "foraged: true"), ("chive",), ("sorrel",)],
    ),
    "oilfish": ([("escolar", COOKED)], [("butterfish", COOKED)]),
}


@pytest.mark.parametrize("rule", CASES)
def test_a_rule_stands_for_its_foods_and_for_no_others(rule):
    asks, does_not = CASES[rule]
    for case in asks:
        assert rule in found(*case), case
    for case in does_not:
        assert rule not in found(*case), case


def test_every_rule_by_food_has_its_case():
    by_food = {r.key for r in RULES.rules if {"food", "holds"} & {c.ask for c in r.when}}
    assert by_food <= CASES.keys() and CASES.keys() <= {r.key for r in RULES.rules}


def test_every_food_that_a_rule_is_about_is_in_the_catalogue():
    """No row of the foods is dead: each finds an entry, and each food has a rule."""
    known, tree = catalogue.load()[0], taxonomy.load()[0]
    of_each = {e.name: RULES.foods_of(e, tree) for e in known}
    reached = frozenset().union(*of_each.values())
    assert reached == {row.food for row in RULES.foods}
    asked = {w for r in RULES.rules for c in r.when if c.ask in ("food", "holds") for w in c.words}
    assert asked == reached


def test_plain_ingredients_gain_no_caution():
    """Of what stands in every kitchen, nothing is minded for itself."""
    for name in (
        "butter",
        "plain flour",
        "sugar",
        "salt",
        "potato",
        "onion",
        "lemon",
        "olive oil",
        "milk",
        "double cream",
        "parmesan",
        "almond",
        "mushroom",
        "parsley",
        "rice",
        "honey",
        "chickpea",
        "apple",
    ):
        assert not found(name).keys() & CASES.keys(), name


@pytest.mark.parametrize(
    "name, rule, guests",
    [
        ("swordfish", "mercury", {"pregnant guests", "small children"}),
        ("calf's liver", "liver", {"pregnant guests"}),
        ("brie", "soft-cheese", {"pregnant guests"}),
        ("raw milk", "raw-milk", {"pregnant guests", "small children", "older guests"}),
        ("bean sprout", "sprouts", {"small children", "guests with a weakened immune system"}),
        ("oyster", "oysters", {"pregnant guests", "guests with a weakened immune system"}),
        ("stone-fruit kernel", "bitter-kernels", {"small children"}),
    ],
)
def test_for_whom_an_authority_says_it(name, rule, guests):
    caution = found(name)[rule]
    assert guests <= {g for f in caution.figures for g in f.guests}
    assert "for pregnant guests" in " ".join(caution_block.figure_words(caution)) or "pregnant guests" not in guests


def test_a_figure_belongs_to_its_food_code():
    assert {f.code for f in found("swordfish", COOKED, codes="[us]")["mercury"].figures} == {"us"}
    assert {f.code for f in found("swordfish", COOKED, codes="[uk]")["mercury"].figures} == {"uk"}
    # Where no chosen code has a figure, the caution still stands, with what to mind.
    assert found("swordfish", COOKED, codes="[eu]")["mercury"].says


def test_a_food_inside_a_recipe_of_a_recipe_is_found():
    files = {
        KITCHEN: LIBRARY[KITCHEN] + "food_code: [uk]\n",
        "shared/recipes/thing.yaml": recipe("{recipe: base, amount: 100 g}"),
        "shared/recipes/base.yaml": recipe(line("calf's liver"), COOKED),
    }
    one = prepared(poured({"thing": "{recipe: thing}"}), files)
    assert [i.what for c in one.cautions if c.rule == "liver" for i in c.items] == ["thing (calf's liver)"]


def test_a_bought_thing_is_told_by_its_label_and_its_name():
    pantry = LIBRARY["shared/pantry.yaml"] + (
        "  steaks: {called: Swordfish steaks, label: {read: 2026-01-02, contains: [swordfish]}}\n"
    )
    files = {KITCHEN: LIBRARY[KITCHEN] + "food_code: [us]\n", "shared/pantry.yaml": pantry}
    one = prepared(poured({"thing": "{product: steaks, core: 85 °C}"}), files)
    assert {"mercury", "histamine"} <= {c.rule for c in one.cautions}


def test_the_foods_are_data():
    """A rule may name only foods that stand in the table, and a row may name only kinds and nodes that exist."""
    made = caution_rules.load()
    assert made[1] == ()
    assert all(f.title and f.mark in caution_rules.MARKS for r in RULES.rules for f in r.figures)
