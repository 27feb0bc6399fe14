"""What shared equipment hands on, over the whole menu, with the dish and the component it came from."""

from __future__ import annotations

import random
from collections import Counter
from datetime import date

import pytest

from platecard import pipeline
from platecard.allergens import acknowledgement, cross_contact, derivation
from tests.kitchens import KITCHEN, LIBRARY, PANTRY, errors, library, poured, prepared, presences, recipe

CONTAINS, MAY, ABSENT, UNKNOWN = "contains", "may_contain", "not_among_ingredients", "not_established"

CHIPS = "{ingredient: potato, equipment: fryer}"
SQUID = "{product: battered-squid, equipment: fryer}"
LABELS = {
    PANTRY: (
        """\
products:
  battered-squid: {called: Battered squid, label: {read: 2026-01-02, contains: [squid, wheat, sulphites], may_contain: [milk]}}
  no-label: {called: Frozen fritter}
  plain: {called: Plain fritter, label: {read: 2026-01-02, contains: []}}
"""  # noqa: E501
    )
}


def dish(title: str = "A dish of the tests", **components: str) -> str:
    return poured(components, title=title)


def chains(one, law: str, allergen: str) -> list[list[str]]:
    return [
        [link.words for link in chain]
        for s in one.statements
        if s.law.key == law
        for f in s.findings
        if f.allergen == allergen
        for chain in f.reasons
    ]


def test_a_fryer_hands_on_over_the_menu():
    one = prepared(dish("Chips", chips=CHIPS), LABELS, {"starter": dish("Squid to start", squid=SQUID)})
    found = presences(one)
    assert (found["eu", "mollusc"], found["eu", "wheat"], found["us", "wheat"]) == (MAY, MAY, MAY)
    assert found["eu", "egg"] == ABSENT
    # The chain names the dish, the component and the label it comes from.
    [chain] = chains(one, "eu", "mollusc")
    assert chain[:3] == ["Chips", "chips", "shares the fryer with squid (Squid to start)"]
    assert "Battered squid" in chain and "squid" in chain[-1] and "2026-01-02" in chain[-1]


def test_what_a_label_says_it_may_contain_travels_the_same_road():
    found = presences(prepared(dish(chips=CHIPS), LABELS, {"starter": dish(squid=SQUID)}))
    assert found["eu", "milk"] == MAY


def test_within_one_dish_from_component_to_component():
    one = prepared(dish(chips=CHIPS, squid=SQUID), LABELS)
    # The squid is on the plate itself: what is contained beats what may be.
    assert presences(one)["eu", "mollusc"] == CONTAINS
    assert all("shares" not in words for chain in chains(one, "eu", "mollusc") for words in chain)


def test_never_within_the_same_component():
    files = {
        **LABELS,
        "shared/recipes/crumb.yaml": (
            recipe("Crumb", [("product", "plain", "10 g")]).replace("ingredients:", "equipment: fryer\ningredients:")
        ),
        "shared/recipes/both.yaml": (
            recipe("Both", [("recipe", "crumb", "10 g"), ("product", "battered-squid", "10 g")]).replace(
                "ingredients:", "equipment: fryer\ningredients:"
            )
        ),
    }
    one = prepared(dish(both="{recipe: both, equipment: fryer}"), files)
    assert not [t for t in one.traces if any("shares" in link.words for link in t.chain)]


def test_other_equipment_hands_nothing_on():
    one = prepared(dish(chips="{ingredient: potato, equipment: smoker}"), LABELS, {"starter": dish(squid=SQUID)})
    assert presences(one)["eu", "mollusc"] == ABSENT


def test_no_equipment_hands_nothing_on():
    one = prepared(dish(chips="{ingredient: potato}"), LABELS, {"starter": dish(squid=SQUID)})
    assert presences(one)["eu", "mollusc"] == ABSENT


def test_an_unknown_in_the_fryer_is_not_established():
    one = prepared(dish(chips=CHIPS), LABELS, {"starter": dish(fritter="{product: no-label, equipment: fryer}")})
    assert {p for (law, allergen), p in presences(one).items() if allergen != "sulphite"} == {UNKNOWN}
    assert any("no label entered" in chain[-1] for chain in chains(one, "eu", "milk"))


def test_an_open_allergen_in_the_fryer_stays_open():
    one = prepared(dish(chips=CHIPS), LABELS, {"starter": dish(tofu="{ingredient: tamari, equipment: fryer}")})
    assert (presences(one)["eu", "soy"], presences(one)["eu", "wheat"]) == (MAY, UNKNOWN)


def test_not_established_beats_may_contain():
    menu = {"one": dish(tofu="{ingredient: tamari, equipment: fryer}"), "two": dish(squid=SQUID)}
    assert presences(prepared(dish(chips=CHIPS), LABELS, menu))["eu", "wheat"] == UNKNOWN


def test_contains_beats_all_that_comes_over_equipment():
    one = prepared(
        dish(bread="{product: seeded-crisp, equipment: fryer}"),
        None,
        {"starter": dish(fritter="{ingredient: curry powder, equipment: fryer}")},
    )
    assert presences(one)["eu", "wheat"] == CONTAINS


def test_equipment_inside_nested_recipes():
    """The crumb five recipes down was ground in the mill that another dish's nuts go through."""
    files = {**LABELS, KITCHEN: LIBRARY[KITCHEN].replace("fryer: the fryer", "mill: mill, fryer: the fryer")}
    for i in range(5):
        line = ("ingredient", "pumpkin seed", "10 g") if i == 0 else ("recipe", f"r{i - 1}", "10 g")
        files[f"shared/recipes/r{i}.yaml"] = recipe(f"R {i}", [line]).replace(
            "ingredients:", f"{'equipment: mill' if i == 0 else 'station: larder'}\ningredients:"
        )
    files["shared/recipes/praline.yaml"] = recipe("Praline", [("ingredient", "hazelnut", "50 g")]).replace(
        "ingredients:", "equipment: mill\ningredients:"
    )
    one = prepared(dish("Deep", top="{recipe: r4}"), files, {"sweet": dish("Sweet", nutty="{recipe: praline}")})
    assert presences(one)["eu", "hazelnut"] == MAY
    [chain] = chains(one, "eu", "hazelnut")
    assert chain[:3] == ["Deep", "top", "shares the mill with Praline for nutty (Sweet)"]


def test_only_what_goes_through_is_handed_on():
    """The praline goes through the mill before the cream is folded in: the cream does not."""
    files = {
        "shared/recipes/praline.yaml": (
            recipe("Praline", [("ingredient", "hazelnut", "50 g")]).replace(
                "ingredients:", "equipment: smoker\ningredients:"
            )
        ),
        "shared/recipes/cream.yaml": recipe(
            "Praline cream", [("recipe", "praline", "50 g"), ("ingredient", "double cream", "50 g")]
        ),
    }
    found = presences(
        prepared(
            dish(seeds="{ingredient: pumpkin seed, equipment: smoker}"), files, {"sweet": dish(cream="{recipe: cream}")}
        )
    )
    assert (found["eu", "hazelnut"], found["eu", "milk"]) == (MAY, ABSENT)


def test_a_swap_of_another_dish_goes_through_the_fryer_too():
    other = dish(crisp="{product: plain, swap: {avoiding: [egg], use: {recipe: fried-squid}}}")
    files = {
        **LABELS,
        "shared/recipes/fried-squid.yaml": (
            recipe("Fried squid", [("product", "battered-squid", "10 g")]).replace(
                "ingredients:", "equipment: fryer\ningredients:"
            )
        ),
    }
    assert presences(prepared(dish(chips=CHIPS), files, {"other": other}))["eu", "mollusc"] == MAY


def test_sulphites_are_reckoned_and_not_handed_on():
    one = prepared(dish(chips=CHIPS), LABELS, {"starter": dish(squid=SQUID)})
    assert presences(one)["eu", "sulphite"] == ABSENT


def test_an_exempt_form_is_exempt_over_equipment_too():
    """Refined peanut oil: exempt in 21 U.S.C. 321(qq)(2)(A), not in Annex II of Regulation (EU) No 1169/2011."""
    one = prepared(dish(chips=CHIPS), None, {"other": dish(oil="{ingredient: refined peanut oil, equipment: fryer}")})
    assert (presences(one)["eu", "peanut"], presences(one)["us", "peanut"]) == (MAY, ABSENT)
    assert [e.node for s in one.statements if s.law.key == "us" for e in s.exempted] == ["peanut"]


# --------------------------------------------------------------------------- equipment that nobody has


def gear_errors(one) -> list[tuple[str, int, int, tuple[str, ...]]]:
    return [
        (p.span.file, p.span.line, p.span.column, p.hints)
        for p in one.problems
        if p.slug == "unknown-equipment" and p.is_error
    ]


def test_misspelt_equipment_is_no_equipment_of_its_own():
    """What goes through the fryer would hand nothing on, and take nothing up, for one letter."""
    one = prepared(dish(chips="{ingredient: potato, equipment: fryr}"), LABELS, {"starter": dish(squid=SQUID)})
    assert gear_errors(one) == [("specs/asked.yaml", 5, 42, ("did you mean 'fryer'?",))] and not one.is_sound


def test_nor_is_that_of_a_finishing_step():
    one = prepared(dish(chips="{ingredient: potato, finish: [{do: fry, takes: 4 min, on: fryr}]}"), LABELS)
    assert [(place[1], place[3]) for place in gear_errors(one)] == [(5, ("did you mean 'fryer'?",))]


def test_nor_is_that_of_a_recipe_of_the_library():
    files = {
        **LABELS,
        "shared/recipes/crumb.yaml": (
            recipe("Crumb", [("product", "plain", "10 g")]).replace("ingredients:", "equipment: fryr\ningredients:")
        ),
    }
    one = prepared(dish(chips=CHIPS), files)
    assert gear_errors(one) == [("shared/recipes/crumb.yaml", 4, 12, ("did you mean 'fryer'?",))] and not one.is_sound


def test_a_neighbour_with_misspelt_equipment_leaves_it_open_what_the_fryer_hands_on():
    one = prepared(dish(chips=CHIPS), LABELS, {"starter": dish(squid=SQUID.replace("fryer", "fryr"))})
    assert presences(one)["eu", "mollusc"] == UNKNOWN


def test_equipment_in_a_kitchen_that_lists_none():
    files = {**LABELS, KITCHEN: "kitchen: The Test Galley\nlaws: [eu]\n"}
    one = prepared(dish(chips=CHIPS), files)
    assert ("add it under equipment: in kitchen.yaml",) in [hints for _, _, _, hints in gear_errors(one)]


# --------------------------------------------------------------------------- followed to its end

GEAR = LIBRARY[KITCHEN].replace(
    "fryer: the fryer, smoker: the smoker",
    "fryer: the fryer, smoker: the smoker, grill: the grill, plancha: the plancha, mill: the mill",
)
WIDE = {**LABELS, KITCHEN: GEAR}
COD = "{ingredient: cod, equipment: fryer}"


def on(food: str, *equipment: str, **more: str) -> str:
    """A component with a finishing step for each piece of equipment, one after the other."""
    steps = ", ".join(f"{{do: cook, takes: 2 min, on: {e}}}" for e in equipment)
    return f"{{ingredient: {food}, finish: [{steps}]" + "".join(f", {k}: {v}" for k, v in more.items()) + "}"


def fish(one) -> str:
    return presences(one)["eu", "fish"]


def test_what_was_picked_up_is_handed_on_again_with_the_whole_chain():
    menu = {"fish": dish("Fried cod", cod=COD), "supper": dish("Chips and dips", chips=on("potato", "fryer", "grill"))}
    one = prepared(dish("Carrot", carrot=on("carrot", "grill")), WIDE, menu)
    assert fish(one) == MAY
    [chain] = chains(one, "eu", "fish")
    assert chain[:4] == [
        "Carrot",
        "carrot",
        "shares the grill with chips (Chips and dips)",
        "shares the fryer with cod (Fried cod)",
    ]
    assert chain[-1].startswith("cod (source:")
    [found] = [f for s in one.statements if s.law.key == "eu" for f in s.findings if f.allergen == "fish"]
    assert found.over == "grill: chips (Chips and dips), from the fryer: cod (Fried cod)" and not found.is_own


def test_over_three_pieces_of_equipment_the_links_stand_where_they_are_said():
    menu = {
        "fish": dish("Fried cod", cod=COD),
        "two": dish("Two", chips=on("potato", "fryer", "grill")),
        "three": dish("Three", leek=on("leek", "grill", "smoker")),
    }
    one = prepared(dish("Carrot", carrot=on("carrot", "smoker")), WIDE, menu)
    [chain] = [
        c for s in one.statements if s.law.key == "eu" for f in s.findings if f.allergen == "fish" for c in f.reasons
    ]
    assert [(link.words, link.span.file) for link in chain[2:5]] == [
        ("shares the smoker with leek (Three)", "specs/asked.yaml"),
        ("shares the grill with chips (Two)", "specs/three.yaml"),
        ("shares the fryer with cod (Fried cod)", "specs/two.yaml"),
    ]


def test_the_nearest_source_is_named_and_the_rest_are_counted():
    menu = {f"fish{i}": dish(f"Fish {i}", cod=COD) for i in range(4)}
    one = prepared(dish("Chips", chips=CHIPS), WIDE, menu)
    [found] = [f for s in one.statements if s.law.key == "eu" for f in s.findings if f.allergen == "fish"]
    assert found.over == "fryer: cod (Fish 0) and 3 more"
    many = prepared(dish("Chips", chips=CHIPS), WIDE, {f"fish{i}": dish(f"Fish {i}", cod=COD) for i in range(40)})
    [found] = [f for s in many.statements if s.law.key == "eu" for f in s.findings if f.allergen == "fish"]
    assert found.over == "fryer: cod (Fish 0) and at least 11 more"


def test_a_circle_of_equipment_comes_to_an_end():
    menu = {
        "fish": dish("Fried cod", cod=COD),
        "a": dish("A", a=on("potato", "fryer", "grill")),
        "b": dish("B", b=on("leek", "grill", "smoker")),
        "c": dish("C", c=on("carrot", "smoker", "fryer")),
    }
    for food, gear in (("parsnip", "grill"), ("parsnip", "smoker"), ("parsnip", "fryer")):
        one = prepared(dish("Asked", x=on(food, gear)), WIDE, menu)
        assert fish(one) == MAY
    # Nothing comes back to where it came from as something new.
    one = prepared(menu["a"], WIDE, {k: v for k, v in menu.items() if k != "a"})
    assert all(len(set(c)) == len(c) for s in one.statements for f in s.findings for c in f.reasons)


# --------------------------------------------------------------------------- the order of work


def test_what_comes_later_is_not_carried_back():
    """The chips are done with the fryer when they meet the cod on the grill: the fryer has none of it."""
    menu = {
        "fish": dish("Grilled cod", cod=on("cod", "grill")),
        "supper": dish("Chips", chips=on("potato", "fryer", "grill")),
    }
    assert fish(prepared(dish("Leek", leek=on("leek", "fryer")), WIDE, menu)) == ABSENT
    assert fish(prepared(dish("Leek", leek=on("leek", "fryer", "grill")), WIDE, menu)) == MAY


def test_after_says_the_order_too():
    turned = (
        "{ingredient: potato, finish: [{do: char, takes: 2 min, on: grill, name: char, after: fry}, {do: fry, takes: 2"
        " min, on: fryer, name: fry, after: []}]}"
    )
    menu = {"fish": dish("Grilled cod", cod=on("cod", "grill")), "supper": dish("Chips", chips=turned)}
    assert fish(prepared(dish("Leek", leek=on("leek", "fryer")), WIDE, menu)) == ABSENT
    menu = {"fish": dish("Fried cod", cod=COD), "supper": dish("Chips", chips=turned)}
    assert fish(prepared(dish("Leek", leek=on("leek", "grill")), WIDE, menu)) == MAY


def test_after_over_another_component():
    first = (
        "{ingredient: potato, finish: [{do: fry, takes: 2 min, on: fryer, name: fry}, {do: char, takes: 2 min, on:"
        " grill, after: sauce}]}"
    )
    sauce = "{ingredient: butter, finish: [{do: melt, takes: 1 min, after: chips.fry}]}"
    menu = {"fish": dish("Grilled cod", cod=on("cod", "grill")), "supper": dish("Chips", chips=first, sauce=sauce)}
    assert fish(prepared(dish("Leek", leek=on("leek", "fryer")), WIDE, menu)) == ABSENT


@pytest.mark.parametrize(
    "chips",
    [
        "{ingredient: potato, equipment: [fryer, grill]}",
        "{ingredient: potato, equipment: grill, finish: [{do: fry, takes: 2 min, on: fryer}]}",
        "{ingredient: potato, finish: [{do: cook, takes: 2 min, on: [fryer, grill]}]}",
        (
            "{ingredient: potato, finish: [{do: fry, takes: 2 min, on: fryer}, {do: char, takes: 2 min, on: grill,"
            " after: []}]}"
        ),
        (
            "{ingredient: potato, finish: [{do: fry, takes: 2 min, on: fryer, name: one, after: two}, {do: char, takes:"
            " 2 min, on: grill, name: two, after: one}]}"
        ),
    ],
)
def test_where_the_order_is_not_known_it_counts_both_ways(chips):
    menu = {"fish": dish("Grilled cod", cod=on("cod", "grill")), "supper": dish("Chips", chips=chips)}
    assert fish(prepared(dish("Leek", leek=on("leek", "fryer")), WIDE, menu)) == MAY


def through(name: str, lines: list[tuple[str, str, str]], equipment: str) -> str:
    return recipe(name, lines).replace("ingredients:", f"equipment: {equipment}\ningredients:")


def test_a_recipe_comes_before_what_it_goes_into():
    files = {**WIDE, "shared/recipes/crumb.yaml": through("Crumb", [("ingredient", "potato", "10 g")], "mill")}
    menu = {
        "fish": dish("Fried cod", cod=COD),
        "nuts": dish("Nuts", nuts="{ingredient: hazelnut, equipment: mill}"),
        "crumbed": dish("Crumbed", crumb="{recipe: crumb, equipment: fryer}"),
    }
    later = presences(prepared(dish("Leek", leek=on("leek", "fryer")), files, menu))
    sooner = presences(prepared(dish("Seeds", seeds="{ingredient: pumpkin seed, equipment: mill}"), files, menu))
    assert (later["eu", "fish"], later["eu", "hazelnut"]) == (MAY, MAY)
    assert (sooner["eu", "hazelnut"], sooner["eu", "fish"]) == (MAY, ABSENT)


def test_a_recipe_inside_a_recipe_carries_on_what_it_picked_up():
    files = {
        **WIDE,
        "shared/recipes/crumb.yaml": through("Crumb", [("ingredient", "potato", "10 g")], "mill"),
        "shared/recipes/stuffing.yaml": recipe("Stuffing", [("recipe", "crumb", "10 g")]),
        "shared/recipes/roll.yaml": through("Roll", [("recipe", "stuffing", "10 g")], "fryer"),
    }
    menu = {
        "nuts": dish("Nuts", nuts="{ingredient: hazelnut, equipment: mill}"),
        "rolls": dish("Rolls", roll="{recipe: roll}"),
    }
    one = prepared(dish("Leek", leek=on("leek", "fryer")), files, menu)
    assert [chain[2:4] for chain in chains(one, "eu", "hazelnut")] == [
        ["shares the fryer with Roll for roll (Rolls)", "shares the mill with nuts (Nuts)"]
    ]


def test_recipes_that_meet_only_later_keep_their_equipment_apart():
    files = {
        **WIDE,
        "shared/recipes/one.yaml": through("One", [("ingredient", "potato", "10 g")], "mill"),
        "shared/recipes/two.yaml": through("Two", [("ingredient", "leek", "10 g")], "smoker"),
        "shared/recipes/both.yaml": recipe(
            "Both", [("recipe", "one", "10 g"), ("recipe", "two", "10 g"), ("ingredient", "double cream", "10 g")]
        ),
    }
    menu = {
        "both": dish("Both", both="{recipe: both}"),
        "nuts": dish("Nuts", nuts="{ingredient: hazelnut, equipment: mill}"),
    }
    one = presences(prepared(dish("Fish", x="{ingredient: carrot, equipment: smoker}"), files, menu))
    assert (one["eu", "hazelnut"], one["eu", "milk"]) == (ABSENT, ABSENT)


def test_equipment_of_its_own_ends_the_chain():
    apart = {
        **LABELS,
        KITCHEN: (
            LIBRARY[KITCHEN].replace(
                "fryer: the fryer,", "fryer: the fryer, chip-fryer: {called: the chip fryer, only_for: [chips]},"
            )
        ),
    }
    one = prepared(
        dish("Chips", chips="{ingredient: potato, equipment: chip-fryer}"), apart, {"fish": dish("Fried cod", cod=COD)}
    )
    assert fish(one) == ABSENT and not errors(one.problems)
    assert [p.slug for p in errors(prepared(dish("Leek", leek=on("leek", "chip-fryer")), apart).problems)] == [
        "kept-equipment"
    ]


# --------------------------------------------------------------------------- what hands nothing on

APART = {**LABELS, KITCHEN: GEAR.replace("plancha: the plancha", "plancha: {called: the plancha, touches: false}")}


@pytest.mark.parametrize(
    "said", ["{ingredient: potato, equipment: plancha}", on("potato", "plancha"), "{recipe: chips}", "{recipe: deep}"]
)
def test_touches_false_means_the_same_wherever_it_is_named(said):
    files = {
        "shared/recipes/chips.yaml": through("Chips", [("ingredient", "potato", "10 g")], "plancha"),
        "shared/recipes/deep.yaml": recipe("Deep", [("recipe", "chips", "10 g")]),
        "shared/recipes/cod.yaml": through("Cod", [("ingredient", "cod", "10 g")], "plancha"),
    }
    for cod in ("{ingredient: cod, equipment: plancha}", on("cod", "plancha"), "{recipe: cod}"):
        menu = {"fish": dish("Cod", cod=cod)}
        assert fish(prepared(dish(chips=said), {**APART, **files}, menu)) == ABSENT
        assert fish(prepared(dish(chips=said), {**WIDE, **files}, menu)) == MAY


CLEANED = (
    "plancha: {called: the plancha, cleaned: {between: each use, how: scraped and washed, by: head chef, checked:"
    " 2026-10-02}}"
)
CLEAN = {**LABELS, KITCHEN: GEAR.replace("plancha: the plancha", CLEANED)}
RELIES = ("the plancha being cleaned between uses (head chef, 2026-10-02)",)


def test_cleaning_between_uses_ends_the_chain_and_the_card_relies_on_it():
    one = prepared(dish("Chips", chips=on("potato", "plancha")), CLEAN, {"fish": dish("Cod", cod=on("cod", "plancha"))})
    assert fish(one) == ABSENT and one.is_sound
    assert all(s.relies_on == RELIES for s in one.statements)
    # Where nobody else uses it, nothing is relied on.
    alone = prepared(dish("Chips", chips=on("potato", "plancha")), CLEAN)
    assert all(s.relies_on == () for s in alone.statements)


def test_cleaning_further_up_the_chain_is_relied_on_too():
    menu = {
        "fish": dish("Cod", cod=on("cod", "plancha")),
        "chips": dish("Chips", chips=on("potato", "plancha", "grill")),
    }
    one = prepared(dish("Carrot", carrot=on("carrot", "grill")), CLEAN, menu)
    assert fish(one) == ABSENT and one.statements[0].relies_on == RELIES
    # What only leads away from the carrot is not.
    menu["chips"] = dish("Chips", chips=on("potato", "grill", "plancha"))
    assert prepared(dish("Carrot", carrot=on("carrot", "grill")), CLEAN, menu).statements[0].relies_on == ()


def test_what_was_picked_up_before_the_cleaned_equipment_travels_on():
    menu = {"fish": dish("Cod", cod=COD), "chips": dish("Chips", chips=on("potato", "fryer", "plancha", "grill"))}
    assert fish(prepared(dish("Carrot", carrot=on("carrot", "grill")), CLEAN, menu)) == MAY


@pytest.mark.parametrize(
    "old, new",
    [
        ("how: scraped and washed, ", ""),
        (", by: head chef", ""),
        (", checked: 2026-10-02", ""),
        ("between: each use, ", ""),
        ("each use", "services"),
        ("scraped and washed", "' '"),
        ("2026-10-02", "2026-10-32"),
        ("2026-10-02", "last week"),
    ],
)
def test_cleaning_not_said_in_full_counts_for_nothing(old, new):
    files = {**CLEAN, KITCHEN: CLEAN[KITCHEN].replace(old, new)}
    one = prepared(dish("Chips", chips=on("potato", "plancha")), files, {"fish": dish("Cod", cod=on("cod", "plancha"))})
    assert fish(one) in (MAY, "not_established") and errors(one.problems) and not one.is_sound
    assert {p.span.file for p in errors(one.problems)} == {KITCHEN}


def test_cleaning_checked_on_a_day_to_come_is_an_error():
    world = pipeline.world(library({**LIBRARY, **CLEAN}), today=date(2026, 10, 1))
    assert [p.slug for p in errors(world.problems)] == ["cleaning-from-the-future"]
    assert not errors(pipeline.world(library({**LIBRARY, **CLEAN}), today=date(2026, 10, 2)).problems)


# --------------------------------------------------------------------------- what is used again


def fried(name: str, food: str, oil: str, equipment: str = "") -> str:
    text = recipe(name, [("ingredient", food, "10 g")])
    return (
        text.replace("ingredients:", f"equipment: {equipment}\ningredients:") if equipment else text
    ) + f"  - {{{oil}, amount: 100 g, stays: 3 %, reused: true}}\n"


@pytest.mark.parametrize(
    "one, other, met",
    [
        ("ingredient: rapeseed oil", "ingredient: rapeseed oil", MAY),
        ("ingredient: rapeseed oil", "ingredient: sunflower oil", ABSENT),
        ("recipe: frying-oil", "recipe: frying-oil", MAY),
    ],
)
def test_reused_oil_of_which_nobody_says_the_vessel_is_shared(one, other, met):
    files = {
        **WIDE,
        "shared/recipes/frying-oil.yaml": recipe("Frying oil", [("ingredient", "rapeseed oil", "100 g")]),
        "shared/recipes/cod.yaml": fried("Confit cod", "cod", one),
        "shared/recipes/yolk.yaml": fried("Confit leek", "leek", other),
    }
    found = prepared(dish("Leek", leek="{recipe: yolk}"), files, {"fish": dish("Cod", cod="{recipe: cod}")})
    assert fish(found) == met
    if met == MAY:
        assert chains(found, "eu", "fish")[0][2].startswith("shares the reused ") and not errors(found.problems)


def test_oil_that_is_not_used_again_is_not_shared():
    files = {
        **WIDE,
        "shared/recipes/cod.yaml": fried("Confit cod", "cod", "ingredient: rapeseed oil").replace(", reused: true", ""),
        "shared/recipes/leek.yaml": (
            fried("Confit leek", "leek", "ingredient: rapeseed oil").replace(", reused: true", "")
        ),
    }
    assert (
        fish(prepared(dish("Leek", leek="{recipe: leek}"), files, {"fish": dish("Cod", cod="{recipe: cod}")})) == ABSENT
    )


def test_reused_oil_is_in_the_equipment_that_the_recipe_names():
    files = {
        **WIDE,
        "shared/recipes/cod.yaml": fried("Confit cod", "cod", "ingredient: rapeseed oil", "fryer"),
        "shared/recipes/leek.yaml": fried("Confit leek", "leek", "ingredient: rapeseed oil", "smoker"),
    }
    menu = {"fish": dish("Cod", cod="{recipe: cod}")}
    assert fish(prepared(dish("Leek", leek="{recipe: leek}"), files, menu)) == ABSENT
    assert fish(prepared(dish("Carrot", carrot=on("carrot", "fryer")), files, menu)) == MAY


def test_a_vessel_where_no_food_touches_does_not_keep_oil_apart():
    files = {
        **APART,
        "shared/recipes/cod.yaml": fried("Confit cod", "cod", "ingredient: rapeseed oil", "plancha"),
        "shared/recipes/leek.yaml": fried("Confit leek", "leek", "ingredient: rapeseed oil", "plancha"),
    }
    assert fish(prepared(dish("Leek", leek="{recipe: leek}"), files, {"fish": dish("Cod", cod="{recipe: cod}")})) == MAY


def test_no_cleaning_of_a_vessel_of_reused_oil():
    files = {**CLEAN, "shared/recipes/cod.yaml": fried("Confit cod", "cod", "ingredient: rapeseed oil", "plancha")}
    one = prepared(dish("Chips", chips=on("potato", "plancha")), files, {"fish": dish("Cod", cod="{recipe: cod}")})
    assert fish(one) == MAY
    [problem] = errors(one.problems)
    assert (problem.slug, problem.span.file, problem.span.line) == ("reused-is-not-cleaned", KITCHEN, 5)
    assert "Confit cod" in problem.message


def test_no_cleaning_of_what_may_be_the_vessel():
    """The recipe reuses its oil and names no equipment: it may be the plancha that the component goes through."""
    files = {
        **CLEAN,
        "shared/recipes/cod.yaml": fried("Confit cod", "cod", "ingredient: rapeseed oil"),
        "shared/recipes/pie.yaml": recipe("Pie", [("recipe", "cod", "10 g")]),
    }
    cod = "{recipe: cod, finish: [{do: crisp, takes: 1 min, on: plancha}]}"
    one = prepared(dish("Chips", chips=on("potato", "plancha")), files, {"fish": dish("Cod", cod=cod)})
    assert fish(one) == MAY and one.is_sound and one.statements[0].relies_on == ()
    [warned] = [p for p in prepared(dish("Cod", cod=cod), files).problems if p.slug == "vessel-not-said"]
    assert (warned.span.file, warned.span.line, warned.hints) == (
        "specs/asked.yaml",
        5,
        ("add equipment: to shared/recipes/cod.yaml",),
    )
    # Named, the oil is where it is said to be; and what only has the recipe in it has been out of the oil for long.
    named = {**files, "shared/recipes/cod.yaml": fried("Confit cod", "cod", "ingredient: rapeseed oil", "smoker")}
    assert fish(prepared(dish("Chips", chips=on("potato", "plancha")), named, {"fish": dish("Cod", cod=cod)})) == ABSENT
    assert (
        fish(
            prepared(
                dish("Chips", chips=on("potato", "plancha")),
                files,
                {"fish": dish("Cod", cod=cod.replace("cod,", "pie,"))},
            )
        )
        == ABSENT
    )


# --------------------------------------------------------------------------- what equipment leaves open


def warned(one) -> list[str]:
    return [p.message for p in one.problems if p.slug == "open-over-equipment"]


@pytest.mark.parametrize(
    "neighbour, source",
    [
        ("- a list\n", "specs/fish.yaml (could not be read)"),
        (dish("Fried cod", cod=COD).replace("cod:", "cod: &a"), "Fried cod (specs/fish.yaml: has errors)"),
        (dish("Fried cod", cod=COD).replace("fryer", "fryr"), "Fried cod (specs/fish.yaml: has errors)"),
    ],
)
def test_a_neighbour_in_doubt_leaves_everything_open_and_withholds_nothing(neighbour, source):
    one = prepared(dish("Chips", chips=CHIPS, butter="{ingredient: butter}"), LABELS, {"fish": neighbour})
    found = presences(one)
    assert found["eu", "milk"] == CONTAINS and {p for (_, a), p in found.items() if a != "milk"} == {UNKNOWN}
    assert one.is_sound and not errors(one.problems)
    assert all(s.all_open and s.established_in_itself and not s.established for s in one.statements)
    assert warned(one) == [f"not established over shared equipment: any other allergen, from the fryer: {source}"]
    # The record of what is contained is neither shorter nor longer for it.
    assert acknowledgement.record_text(one.dish, one.statements).splitlines()[2:] == [
        "  eu: [milk]",
        "  us: [cow_milk]",
    ]


def test_an_unread_label_in_the_fryer_is_told_by_its_name():
    one = prepared(
        dish("Chips", chips=CHIPS),
        LABELS,
        {"starter": dish("To start", fritter="{product: no-label, equipment: fryer}")},
    )
    assert one.is_sound
    assert warned(one) == [
        "not established over shared equipment: any other allergen, from the fryer: fritter (To start): Frozen fritter:"
        " no label entered"
    ]


def test_the_dish_that_eats_the_unknown_has_no_card():
    menu = {"chips": dish("Chips", chips=CHIPS)}
    one = prepared(dish("To start", fritter="{product: no-label, equipment: fryer}"), LABELS, menu)
    assert not one.is_sound and "allergens-not-established" in {p.slug for p in errors(one.problems)}
    assert all(not s.established_in_itself for s in one.statements)


def test_what_is_open_in_the_dish_and_over_equipment_is_open_in_the_dish():
    one = prepared(dish("To start", tofu="{ingredient: tamari, equipment: fryer}"), LABELS, {"fish": "- a list\n"})
    eu = next(s for s in one.statements if s.law.key == "eu")
    assert {f.allergen for f in eu.with_presence(UNKNOWN) if f.is_own} == {"wheat"}
    assert not one.is_sound


def test_an_unknown_travels_the_whole_chain():
    menu = {
        "start": dish("To start", fritter="{product: no-label, equipment: fryer}"),
        "chips": dish("Chips", chips=on("potato", "fryer", "grill")),
    }
    one = prepared(dish("Carrot", carrot=on("carrot", "grill")), WIDE, menu)
    assert fish(one) == UNKNOWN and one.is_sound
    assert warned(one) == [
        "not established over shared equipment: any other allergen, from the grill: chips (Chips), from the fryer:"
        " fritter (To start): Frozen fritter: no label entered"
    ]
    assert presences(prepared(dish("Leek", leek=on("leek", "smoker")), WIDE, menu))["eu", "fish"] == ABSENT


def test_a_recipe_with_misspelt_equipment_leaves_every_shared_piece_in_doubt():
    files = {**WIDE, "shared/recipes/cod.yaml": through("Cod", [("ingredient", "cod", "10 g")], "fryr")}
    assert fish(prepared(dish("Chips", chips=CHIPS), files, {"fish": dish("Cod", cod="{recipe: cod}")})) == UNKNOWN
    assert (
        fish(prepared(dish("Chips", chips="{ingredient: potato}"), files, {"fish": dish("Cod", cod="{recipe: cod}")}))
        == ABSENT
    )


# --------------------------------------------------------------------------- a whole menu

FOODS = [
    "cod",
    "mackerel",
    "hazelnut",
    "almond",
    "peanut",
    "celery",
    "wheat flour",
    "sesame seed",
    "egg",
    "butter",
    "double cream",
    "lupin flour",
    "mustard seed",
    "potato",
    "carrot",
    "leek",
    "beetroot",
    "parsnip",
    "onion",
    "apple",
    "pear",
    "rhubarb",
    "spinach",
    "kale",
    "beef",
    "lamb",
    "chicken",
    "pork",
]


def forty(seed: int = 4) -> list[tuple[str, str, str]]:
    """Forty dishes of four components, a third of them finished on one or two of five pieces of shared equipment."""
    chance = random.Random(seed)
    made = []
    for number in range(40):
        parts = {}
        for at in range(4):
            gear = (
                chance.sample(["fryer", "grill", "plancha", "smoker", "mill"], chance.choice([1, 1, 1, 2]))
                if chance.random() < 0.33
                else []
            )
            food = chance.choice(FOODS)
            parts[f"c{at}"] = on(food, *gear) if gear else f"{{ingredient: {food}}}"
        made.append((dish(f"Dish {number}", **parts), f"specs/d{number:02}.yaml", f"d{number:02}"))
    return made


def cells(begun, shared, world, most: int | None = None) -> Counter:
    """Groups of a law over all dishes by their presence; ``most``: counting only what came over so many pieces of
    equipment.
    """
    found: Counter = Counter()
    for one in begun:
        came = cross_contact.received(one.resolved, shared, {})
        if most is not None:
            came = tuple(t for t in came if sum(link.words.startswith("shares the ") for link in t.chain) <= most)
        traces = (*world.tracer.dish(one.resolved), *came)
        found.update(
            f.presence for law in world.laws for f in derivation.derive(traces, (), law, world.tracer.taxonomy).findings
        )
    return found


def test_a_menu_of_forty_dishes_stays_of_use():
    """To the end of every chain more is said than of the next neighbour alone, and most is still not among the
    ingredients.
    """
    world = pipeline.world(library({**LIBRARY, **WIDE}))
    begun = [pipeline.begin(*spec, world) for spec in forty()]
    shared = pipeline.shared_equipment(begun, world)
    near, far = cells(begun, shared, world, most=1), cells(begun, shared, world)
    assert near[CONTAINS] == far[CONTAINS] and near[UNKNOWN] == far[UNKNOWN] == 0
    assert 0 < near[MAY] < far[MAY]
    # One spec that cannot be read costs no dish its card.
    doubted = pipeline.shared_equipment([*begun, pipeline.begin("- a list\n", "specs/fish.yaml", "fish", world)], world)
    open_ = cells(begun, doubted, world)
    assert open_[CONTAINS] == far[CONTAINS] and open_[MAY] == 0 and open_[UNKNOWN] > 0
    assert all(pipeline.finish(one, doubted, world).is_sound for one in begun)
    print(f"next neighbour {dict(near)}, to the end {dict(far)}, with one spec in doubt {dict(open_)}")


# --------------------------------------------------------------------------- which faults of a spec hide something


SLIPS = [
    ("plating", "arrange: pool", "arrange: pol", False),
    ("a price", "plate: wide", "plate: wide\nprice: {net: four}", False),
    ("equipment", "equipment: fryer", "equipment: fryr", True),
    ("a component's key", "equipment: fryer", "equipmnt: fryer", True),
    ("an unknown key", "plate: wide", "plate: wide\ncomponets: {}", True),
    ("the components", "components:", "component:", True),
]


@pytest.mark.parametrize("where, old, new, hides", SLIPS, ids=[slip[0] for slip in SLIPS])
def test_a_slip_that_hides_no_food_leaves_the_neighbours_answers_alone(where, old, new, hides):
    """What lays out the plate says nothing of what goes through the fryer; what names parts and equipment may."""
    cod = poured({"cod": "{ingredient: cod, equipment: fryer}"}, title="Cod")
    assert old in cod
    one = prepared(poured({"chips": "{ingredient: potato, equipment: fryer}"}), None, {"cod": cod.replace(old, new)})
    assert presences(one)["eu", "fish"] == ("not_established" if hides else "may_contain")
    assert presences(one)["eu", "milk"] == ("not_established" if hides else "not_among_ingredients")
    assert one.is_sound


def test_a_recipe_that_is_not_there_may_have_gone_through_any_equipment_however_deep_it_is_named():
    files = {
        "shared/recipes/outer.yaml": recipe("Outer", [("recipe", "inner", "10 g"), ("ingredient", "leek", "50 g")])
    }
    one = prepared(
        poured({"chips": "{ingredient: potato, equipment: fryer}"}),
        files,
        {"other": poured({"outer": "{recipe: outer}"})},
    )
    assert presences(one)["eu", "milk"] == "not_established" and one.is_sound
