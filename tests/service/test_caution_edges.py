"""What a cook would no longer be told to mind if a boundary, a branch or a food behind another were passed over."""

from __future__ import annotations

from fractions import Fraction

import pytest

from platecard.diagnostics import Span
from platecard.knowledge import taxonomy
from platecard.model.handling import STATES, Held
from platecard.service import caution_rules
from platecard.service.caution_facts import FactFinder, Food
from tests.kitchens import KITCHEN, LIBRARY, PANTRY, poured, prepared
from tests.service.test_cautions import BEEF, EGG, FISH, minded, recipe, with_

COOKED = "core: {reaches: 85 °C, for: 10 min}"


def missing(found, rule: str) -> set[str]:
    return {word for item in found[rule].items for word in item.missing}


# --------------------------------------------------------------------------- holding


@pytest.mark.parametrize(
    "codes, at, between",
    [
        ("us", "57 °C", False),
        ("us", "56.9 °C", True),
        ("us", "5 °C", False),
        ("us", "5.1 °C", True),
        ("uk", "62.9 °C", True),
        ("uk", "63 °C", False),
        ("uk", "8 °C", False),
        ("uk", "8.1 °C", True),
        # Under two codes the stricter of each: hot from 63 °C, cold to 5 °C.
        ("us, uk", "57 °C", True),
        ("us, uk", "8 °C", True),
        ("us, uk", "5 °C", False),
        # Of a range both ends count: the cold one for hot food, the warm one for cold food.
        ("us", "57-70 °C", False),
        ("us", "56-70 °C", True),
        ("us", "2-5 °C", False),
        ("us", "2-6 °C", True),
    ],
)
def test_food_is_held_hot_or_cold_or_in_between(codes, at, between):
    found = minded(BEEF, COOKED, f"held: {{at: {at}, up_to: 1 h}}", codes=f"[{codes}]")
    assert ("hold-between" in found) is between and "hold-missing" not in found


def test_how_a_component_is_held_counts_before_how_its_recipe_is():
    recipe_says, component_says = "held: {at: 45 °C, up_to: 1 h}", "held: {at: 70 °C, up_to: 1 h}"
    assert "hold-between" in minded(BEEF, COOKED, recipe_says)
    assert "hold-between" in minded(BEEF, COOKED, component=component_says.replace("70", "45"))
    found = minded(BEEF, COOKED, recipe_says, component=component_says)
    assert "hold-between" not in found and "hold-missing" not in found


def test_a_time_limit_is_missed_and_so_is_a_temperature():
    assert missing(minded(BEEF, COOKED, "held: {at: 45 °C}"), "hold-between") == {"time limit"}
    assert missing(minded(BEEF, COOKED, "held: {up_to: 1 h}"), "hold-missing") == {"holding temperature"}
    assert missing(minded(BEEF, COOKED, "held: {at: 45 °C, up_to: 1 h}"), "hold-between") == set()


# --------------------------------------------------------------------------- heat


def test_the_water_bath_without_a_time_lacks_the_time_and_without_a_core_lacks_both():
    assert missing(minded(BEEF, "process: [water bath]", "core: 58 °C"), "water-bath") == {"time at it"}
    assert missing(minded(BEEF, "process: [water bath]"), "water-bath") == {"core temperature", "time at it"}
    found = minded(BEEF, "process: [water bath]", "core: {reaches: 60 °C, for: 1 h}")
    assert missing(found, "water-bath") == set()


def test_the_process_and_the_core_of_a_recipe_are_those_of_its_component_too():
    bath = "process: [water bath]"
    assert "water-bath" in minded(BEEF, bath) and "water-bath" in minded(BEEF, component=bath)
    found = minded(BEEF, "core: {reaches: 60 °C, for: 1 h}", component=bath)
    assert missing(found, "water-bath") == set()
    assert "60 °C" in found["water-bath"].items[0].said


def test_a_core_reached_in_finishing_is_the_one_that_counts():
    for core, expected in (("50 °C", True), ("85 °C", False)):
        finish = f"finish: [{{do: roast, takes: 9 min, core: {core}}}]"
        assert ("under-cooked" in minded(BEEF, component=finish)) is expected
        assert "core-missing" not in minded(BEEF, component=finish)


@pytest.mark.parametrize("state", ["raw", "marinated", "cured", "cold-smoked"])
def test_what_is_not_cooked_by_intent_lacks_no_core_temperature(state):
    assert "core-missing" not in minded(FISH, f"state: {state}") and "fish-raw" in minded(FISH, f"state: {state}")


def test_what_came_in_raw_and_is_cooked_through_counts_as_cooked():
    raw = with_(FISH, state="raw")
    assert "fish-raw" in minded(raw) and "fish-raw" not in minded(raw, "core: {reaches: 75 °C, for: 10 min}")
    assert "fish-raw" in minded(raw, "core: {reaches: 55 °C, for: 10 min}")


@pytest.mark.parametrize("code, core", [("us", "63"), ("uk", "60"), ("eu", "60")])
def test_fish_is_to_be_frozen_unless_its_core_is_as_hot_as_the_code_says(code, core):
    """The figures of `freezing` in data/cautions.yaml, where their sources stand."""
    for state in ("", "state: lightly cooked"):
        keys = [state] if state else []
        assert "fish-raw" not in minded(FISH, *keys, f"core: {{reaches: {core} °C, for: 1 min}}", codes=f"[{code}]")
        below = f"core: {{reaches: {int(core) - 1}.9 °C, for: 1 min}}"
        assert "fish-raw" in minded(FISH, *keys, below, codes=f"[{code}]")
    # What is cured or marinated is not made safe by being warmed.
    assert "fish-raw" in minded(FISH, "state: cured", codes=f"[{code}]")


def test_a_pasteurised_egg_lacks_no_core_temperature_and_any_other_does():
    assert "core-missing" in minded(EGG) and "core-missing" not in minded(with_(EGG, pasteurised="true"))
    assert "core-missing" in minded(with_(BEEF, pasteurised="true"))


def test_freezing_lacks_what_its_record_does_not_say():
    for record, lacking in (
        ("{at: -20 °C, for: 7 days}", set()),
        ("{at: -20 °C}", {"freezing time"}),
        ("{for: 7 days}", {"freezing temperature"}),
        ("{exempt: farmed on pellets}", set()),
    ):
        assert missing(minded(FISH, "state: raw", f"freezing_record: {record}"), "fish-raw") == lacking
    assert missing(minded(FISH, "state: raw"), "fish-raw") == {"freezing record"}


# --------------------------------------------------------------------------- what is inside what


def pantry(*rows: str) -> dict[str, str]:
    return {PANTRY: LIBRARY[PANTRY] + "".join(f"  {row}\n" for row in rows)}


def test_what_may_be_either_of_two_products_is_minded_for_both():
    more = pantry(
        "patty: {called: Patty, either: [fowl, cow]}",
        "fowl: {called: Fowl patty, is: chicken breast}",
        "cow: {called: Cow patty, is: beef fillet}",
    )
    assert {i.what for i in minded(component="{product: patty}", more=more)["core-missing"].items} == {
        "thing (Fowl patty)",
        "thing (Cow patty)",
    }


def test_two_foods_in_one_recipe_are_minded_each_and_one_food_on_two_ways_once():
    two = recipe(BEEF) + "  - {ingredient: chicken breast, amount: 100 g}\n"
    files = {"shared/recipes/two.yaml": two}
    assert len(minded(component="{recipe: two}", more=files)["core-missing"].items) == 2
    files = {
        "shared/recipes/two.yaml": recipe("{recipe: one, amount: 9 g}") + "  - {recipe: one, amount: 9 g}\n",
        "shared/recipes/one.yaml": recipe(BEEF),
    }
    assert len(minded(component="{recipe: two}", more=files)["core-missing"].items) == 1


def test_a_treatment_on_one_line_is_none_of_the_line_beside_it():
    text = recipe(with_(BEEF, core="{reaches: 85 °C, for: 10 min}")) + f"  - {FISH}\n"
    found = minded(component="{recipe: two}", more={"shared/recipes/two.yaml": text})
    assert [i.what for i in found["core-missing"].items] == ["thing (cod)"]


def test_what_is_cooled_and_warmed_again_on_a_hot_plate():
    hot, cooked = "serve: {food: hot}\n", (BEEF, COOKED, "cooled: true")
    held = "held: {at: 70 °C, up_to: 1 h}"
    assert "reheating" in minded(*cooked, dish=hot, component=held), "held hot it must have been heated again"
    assert "reheating" not in minded(*cooked, dish=hot, component="held: {at: 4 °C, up_to: 1 h}")
    assert "reheating" not in minded(BEEF, COOKED, dish=hot, component=held), "what was never cooled"
    assert "reheating" in minded(*cooked, dish="serve: {food: warm}\n", component=held)
    assert "reheating" not in minded(*cooked, dish="serve: {food: cold}\n", component=held)


def test_only_what_spoils_is_minded_on_its_way_to_a_hot_plate():
    ahead, hot = "made_ahead: 2 hours", "serve: {food: hot}\n"
    assert "hold-missing" in minded(BEEF, COOKED, ahead, dish=hot)
    assert "hold-missing" in minded("{ingredient: milk, amount: 100 g}", ahead, dish=hot)
    assert "hold-missing" not in minded("{ingredient: beetroot, amount: 100 g}", ahead, dish=hot)
    finish = "finish: [{do: heat, takes: 4 min, on: smoker}]"
    assert "hold-missing" not in minded(BEEF, COOKED, ahead, dish=hot, component=finish)


def test_a_recipe_inside_keeps_and_cools_by_what_it_says_itself():
    files = {
        "shared/recipes/outer.yaml": recipe("{recipe: inner, amount: 90 g}"),
        "shared/recipes/inner.yaml": recipe(BEEF, COOKED, "keeps: 3 days in the fridge"),
    }
    found = minded(component="{recipe: outer}", more=files)
    assert "date-marking" in found and "cooling" in found
    assert [i.component for i in found["date-marking"].items] == ["thing"]


@pytest.mark.parametrize("keeps, long", [("7 days in the fridge", False), ("8 days in the fridge", True)])
def test_what_keeps_longer_than_seven_days_is_said(keeps, long):
    (item,) = minded(FISH, COOKED, f"keeps: {keeps}")["date-marking"].items
    assert ("longer than 7 days" in item.said) is long


@pytest.mark.parametrize("times, said", [(99, "99 times"), (100, "100 times"), (101, "more than 100 times")])
def test_how_many_times_the_heat_is_enough_is_said_up_to_a_hundred(times, said):
    """2 min at 70 °C are once as much."""
    found = minded(BEEF, "process: [water bath]", f"core: {{reaches: 70 °C, for: {2 * times} min}}")
    assert f", {said} as much" in found["water-bath"].items[0].said


def test_where_the_freezing_is_written_down_is_said_where_it_is():
    for record, said in ((", record: the log", "(the log)"), ("", "()")):
        (item,) = minded(FISH, "state: raw", f"freezing_record: {{at: -20 °C, for: 7 days{record}}}")["fish-raw"].items
        assert (said in item.said) is bool(record)


def test_a_cut_is_named_unless_it_is_whole():
    for cut, named in (("whole", False), ("stuffed", True)):
        items = [i for c in minded(BEEF, f"cut: {cut}", "core: 50 °C").values() for i in c.items]
        assert any(cut in i.said for i in items) is named


# --------------------------------------------------------------------------- what is said, to the word


BATH = "process: [water bath]"


@pytest.mark.parametrize(
    "line, keys, rule, said",
    [
        # 120 s at 70 °C, and ten times as long for each 7.5 °C less: 43 min 5 s at 60 °C, 9 min 17 s at 65 °C.
        (BEEF, (BATH, "core: {reaches: 60 °C, for: 43 min 5 s}"), "water-bath", "core 60 °C for 43 min 5 s, LESS than"),
        (BEEF, (BATH, "core: {reaches: 60 °C, for: 43 min 6 s}"), "water-bath", "1 times as much as 70 °C for 2 min"),
        (BEEF, (BATH, "core: {reaches: 65 °C, for: 9 min}"), "water-bath", "LESS than, 9 min 17 s would be as much"),
        (BEEF, (BATH, "core: {reaches: 70 °C, for: 119 s}"), "water-bath", "LESS than, 2 min would be as much"),
        (BEEF, (BATH, "core: {reaches: 70 °C, for: 2 min}"), "water-bath", "for 2 min, 1 times as much as"),
        (BEEF, (BATH, "core: {reaches: 70 °C, for: 19 min}"), "water-bath", "for 19 min, 9.5 times as much"),
        (BEEF, (BATH, "core: {reaches: 70 °C, for: 21 min}"), "water-bath", "for 21 min, 10 times as much"),
        (BEEF, (BATH, "core: {reaches: 59.9 °C, for: 2 h}"), "water-bath", ", below the 60 °C where the list begins"),
        (BEEF, (COOKED, "held: {at: 45 °C, up_to: 1 h}"), "hold-between", "held at 45 °C up to 1 h"),
        (BEEF, (COOKED, "held: {at: 40-45 °C, up_to: 1 h}"), "hold-between", "held at 40 °C to 45 °C up to 1 h"),
        (BEEF, (COOKED, "held: {at: 45 °C}"), "hold-between", "held at 45 °C"),
        (BEEF, (COOKED, "held: {up_to: 1 h}"), "hold-missing", "held up to 1 h"),
        (FISH, ("state: raw", "freezing_record: {at: -20 °C}"), "fish-raw", "raw, frozen −20 °C"),
        (FISH, ("state: raw", "freezing_record: {for: 7 days, record: x}"), "fish-raw", "raw, frozen 7 days (x)"),
        (BEEF, ("core: 50 °C",), "under-cooked", "core 50 °C"),
        (BEEF, ("core: {reaches: 50 °C, for: 1 min}", "doneness: rare"), "under-cooked", "rare, core 50 °C for 1 min"),
        (BEEF, ("core: 50 °C", "cut: minced"), "minced-under-cooked", "minced, core 50 °C"),
        (BEEF, ("state: raw", "cut: minced"), "minced-under-cooked", "raw, minced"),
        (BEEF, (COOKED, "keeps: 7 days in the fridge"), "date-marking", "7 days in the fridge"),
        (BEEF, (COOKED, "keeps: 8 days in the fridge"), "date-marking", "8 days in the fridge, longer than 7 days"),
        (
            BEEF,
            (COOKED, "keeps: at least 3 days in the fridge"),
            "date-marking",
            "at least 3 days in the fridge, perhaps longer than 7 days",
        ),
        (
            BEEF,
            (COOKED, "keeps: 8 days blorp in the fridge"),
            "date-marking",
            "8 days blorp in the fridge, longer than 7 days; 'blorp' could not be read",
        ),
        (BEEF, (COOKED, "cooled: {reaches: 5 °C, within: 2 h}"), "cooling", "cooled to 5 °C within 2 h"),
        (
            BEEF,
            (COOKED, "cooled: [{reaches: 21 °C, within: 2 h}, {reaches: 5 °C, within: 6 h}]"),
            "cooling",
            "cooled to 21 °C within 2 h and 5 °C within 6 h",
        ),
        (BEEF, (COOKED, "cooled: true"), "cooling", ""),
    ],
)
def test_what_a_caution_says_of_a_food(line, keys, rule, said):
    told = minded(line, *keys)[rule].items[0].said
    assert told == said if rule != "water-bath" else said in told


def test_how_hot_it_is_to_be_again_is_said_with_the_hottest_of_its_steps():
    cooked = (BEEF, COOKED, "cooled: true")
    for finish, said, lacking in (
        ("[{do: heat, takes: 4 min, core: 60 °C}, {do: sear, takes: 1 min, core: 74 °C}]", "to 74 °C", ()),
        ("[{do: heat, takes: 4 min, on: smoker}]", "", ("core temperature to reach",)),
    ):
        found = minded(*cooked, dish="serve: {food: hot}\n", component=f"finish: {finish}")
        (item,) = found["reheating"].items
        assert (item.said, item.missing) == (said, lacking)


def test_where_no_core_is_known_nothing_is_called_under_cooked_and_a_plant_never_is():
    assert "under-cooked" not in minded(BEEF) and "core-missing" in minded(BEEF)
    carrot = "{ingredient: carrot, amount: 100 g}"
    assert not {"under-cooked", "core-missing"} & minded(carrot, "core: 50 °C").keys()
    assert "under-cooked" in minded(BEEF, "core: 50 °C") and "core-missing" not in minded(BEEF, "core: 50 °C")


@pytest.mark.parametrize(
    "laws, code, codes",
    [
        ("us", "", {"us"}),
        ("eu, us", "", {"us", "eu"}),
        ("eu, us", "food_code: [uk]\n", {"uk"}),
        ("jp, us", "", {"us"}),
        ("jp", "", {"us", "uk", "eu"}),  # under none of the known codes it is judged by all of them
    ],
)
def test_the_codes_of_a_kitchen_are_those_it_names_or_those_of_its_laws(laws, code, codes):
    files = {
        KITCHEN: LIBRARY[KITCHEN].replace("laws: [eu, us]", f"laws: [{laws}]") + code,
        "shared/recipes/thing.yaml": recipe(BEEF, "core: 85 °C", "held: {at: 30 °C, up_to: 12 h}"),
    }
    one = prepared(poured({"thing": "{recipe: thing}"}), files)
    (held,) = [c for c in one.cautions if c.rule == "hold-between"]
    assert {j.code for j in held.items[0].judged} == codes
    assert {f.code for f in held.figures} <= codes | {"any"}


# --------------------------------------------------------------------------- what a food is, and how it is meant


@pytest.mark.parametrize("state", ["", *STATES])
def test_only_what_is_said_to_be_less_than_cooked_is_meant_so(state):
    """A core of 50 °C is outside the code: whoever writes that it is served so is not warned, anybody else is."""
    keys = [f"state: {state}"] if state else []
    files = {
        KITCHEN: LIBRARY[KITCHEN] + "food_code: [us]\n",
        "shared/recipes/thing.yaml": recipe(BEEF, *keys, "core: 50 °C"),
    }
    one = prepared(poured({"thing": "{recipe: thing}"}), files)
    warned = [p for p in one.problems if p.slug == "outside-food-code"]
    assert bool(warned) is (state in ("", "cooked"))


@pytest.mark.parametrize("doneness, meant", [("blue", True), ("rare", True), ("pink", True), ("medium", False)])
def test_how_well_done_it_is_says_whether_it_is_meant_so(doneness, meant):
    assert Food("meat", "beef", doneness=doneness).is_meant_so is meant


@pytest.mark.parametrize(
    "called, contains, rules, others",
    [
        # What a label without an entry tells: by its name, by its allergens, by both.
        ("Strong flour", "wheat", {"raw-flour"}, {"fish-raw"}),
        ("Tortilla flour", "wheat", set(), {"raw-flour", "fish-raw"}),
        ("Fillet", "fish", {"fish-raw"}, {"raw-flour"}),
        ("Fish flour", "fish", {"fish-raw", "raw-flour"}, set()),
        ("Thing", "wheat", set(), {"raw-flour", "fish-raw"}),
    ],
)
def test_what_a_product_is_known_by(called, contains, rules, others):
    label = f"{{read: 2026-01-02, contains: [{contains}]}}"
    more = pantry(f"bag: {{called: {called}, label: {label}}}")
    found = minded(component="{product: bag, state: raw}", more=more).keys()
    assert rules <= found and not others & found


@pytest.mark.parametrize("own, inner", [(True, False), (False, True), (True, True), (False, False)])
def test_what_is_foraged_is_minded_wherever_it_is_said(own, inner):
    said = "foraged: true"
    found = minded("{ingredient: nettle, amount: 100 g}", *([said] * inner), component=said if own else "")
    assert ("foraged" in found) is (own or inner)


def test_food_that_is_held_at_one_figure_is_as_warm_as_that():
    tree = taxonomy.load()[0]
    rules = caution_rules.load()[0]
    finder = FactFinder(rules, ("us",), tree, lambda food: False)
    for at, to, expected in ((60, None, "hot"), (4, None, "cold"), (30, None, "between"), (4, 9, "between")):
        held = Held(Span("here"), Fraction(at), None, None if to is None else Fraction(to))
        assert finder._holding(held) == expected
