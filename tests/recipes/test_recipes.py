"""Names to things and amounts to grams, through recipes in recipes."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from platecard.allergens.traces import Tracer
from platecard.knowledge import taxonomy
from platecard.recipes.resolved import Batch, Bought
from tests.kitchens import LIBRARY, PANTRY, errors, grams_on_plate, poured, prepared, recipe


def grams(spec: str, files: dict[str, str]) -> dict[str, F | None]:
    return grams_on_plate(prepared(spec, files).resolved)


def problems(one, slug: str) -> list[str]:
    return [f"{p.severity} {p.span}" for p in one.problems if p.slug == slug]


# --------------------------------------------------------------------------- grams


def test_grams_are_carried_through_the_yield():
    """200 g of oil is made from 190 g and 40 g, so 5 g of it hold a fortieth of each."""
    assert grams(poured({"oil": "{recipe: dill-oil}"}, {"oil": "5 g"}), {}) == {"sunflower oil": F(190, 40), "dill": 1}


def test_grams_are_carried_through_a_recipe_in_a_recipe():
    found = grams(poured({"beetroot": "{recipe: smoked-beetroot}"}, {"beetroot": "40 g"}), {})
    assert found == {"beetroot": 45, "sunflower oil": F(2) * 190 / 200, "dill": F(2) * 40 / 200}


def test_one_ingredient_by_two_roads_is_added_up():
    spec = poured({"oil": "{recipe: dill-oil}", "dill": "{ingredient: dill}"}, {"oil": "5 g", "dill": "3 g"})
    assert grams(spec, {})["dill"] == 4


@pytest.mark.parametrize(
    "makes, used, share",
    [
        ("200 g", "50 g", F(1, 4)),
        ("2 dl", "50 ml", F(1, 4)),
        ("8 portions", "2 portions", F(1, 4)),
        ("1-3 dl", "50 ml", F(1, 4)),
    ],
)
def test_the_share_of_a_batch(makes, used, share):
    files = {
        "shared/recipes/inner.yaml": recipe("Inner", [("ingredient", "butter", "100 g")], makes),
        "shared/recipes/outer.yaml": recipe("Outer", [("recipe", "inner", used)], "10 g"),
    }
    assert grams(poured({"outer": "{recipe: outer}"}, {"outer": "10 g"}), files) == {"butter": 100 * share}


def test_a_volume_of_a_batch_made_by_weight_needs_its_density():
    files = {"shared/recipes/inner.yaml": recipe("Inner", [("ingredient", "butter", "110 g")], "110 g")}
    spec = poured({"inner": "{recipe: inner}"}, {"inner": "10 ml"})
    assert grams(spec, files) == {"butter": None}
    files["shared/recipes/inner.yaml"] += "density: 1.1\n"
    assert grams(spec, files) == {"butter": 11}


def test_pieces_of_a_recipe_counted_in_pieces():
    files = {
        "shared/recipes/bun.yaml": recipe(
            "Bun", [("ingredient", "butter", "100 g"), ("ingredient", "beetroot", "300 g")], "20 pieces"
        )
    }
    spec = (
        "dish: Buns\nrevision: {number: 1, date: 2026-01-31}\nplate: wide\ncomponents:\n  bun: {recipe:"
        " bun}\nplating:\n  - {put: bun, count: 3, piece: {shape: disc, size: 30 mm}, arrange: ring, out: 50 mm}\n"
    )
    one = prepared(spec, files)
    assert grams_on_plate(one.resolved) == {"butter": 15, "beetroot": 45}
    assert one.resolved.parts[0].use.grams is None, "what is left of it after the oven, nobody said"


@pytest.mark.parametrize("count", ["3", "3.0"])
def test_a_whole_number_is_one_however_it_is_written(count):
    spec = (
        "dish: Discs\nrevision: {number: 1.0, date: 2026-01-31}\nplate: wide\ncomponents:\n  beetroot: {ingredient:"
        f" beetroot}}\nplating:\n  - {{put: beetroot, count: {count}, piece: {{shape: disc, size: 30 mm, weight: 12"
        " g}, arrange: ring, out: 50 mm}\n"
    )
    one = prepared(spec)
    assert errors(one.problems) == [] and one.dish.steps[0].count == 3 and one.dish.revision.number == 1
    assert grams_on_plate(one.resolved) == {"beetroot": 36}


def test_what_does_not_stay_is_not_counted_as_eaten_but_goes_in():
    files = {
        "shared/recipes/brined.yaml": (
            "recipe: Brined\nmakes: 100 g\ningredients:\n  - {ingredient: beetroot, amount: 100 g}\n  - {ingredient:"
            " buttermilk, amount: 400 g, stays: 5 %}\n"
        )
    }
    one = prepared(poured({"brined": "{recipe: brined}"}, {"brined": "50 g"}), files)
    (batch,) = [p.use.what for p in one.resolved.parts]
    assert [(line.grams, line.kept_g) for line in batch.lines] == [(100, 100), (400, 20)]
    assert grams_on_plate(one.resolved)["buttermilk"] == 200
    assert ("eu", "milk", "contains") in {(f.law, f.allergen, f.presence) for s in one.statements for f in s.findings}


def test_an_amount_nobody_measured_is_unknown_and_never_nothing():
    files = {
        "shared/recipes/glaze.yaml": recipe(
            "Glaze", [("ingredient", "butter", "to taste"), ("ingredient", "beetroot", "100 g")]
        )
    }
    assert grams(poured({"glaze": "{recipe: glaze}"}), files) == {"butter": None, "beetroot": 10}


def test_one_step_that_does_not_say_leaves_the_whole_unknown():
    spec = (
        poured({"oil": "{recipe: dill-oil}"}, {"oil": "5 g"})
        + "  - {put: oil, arrange: pool, across: 5 mm, at: {right: 0 mm, away: 60 mm}}\n"
    )
    one = prepared(spec)
    assert one.resolved.parts[0].use.grams is None and grams_on_plate(one.resolved) == {
        "sunflower oil": None,
        "dill": None,
    }


def test_two_steps_of_one_component_add_up():
    spec = (
        poured({"oil": "{recipe: dill-oil}"}, {"oil": "5 g"})
        + "  - {put: oil, amount: 3 g, arrange: pool, across: 5 mm, at: {right: 0 mm, away: 60 mm}}\n"
    )
    assert prepared(spec).resolved.parts[0].use.grams == 8


# --------------------------------------------------------------------------- names


@pytest.mark.parametrize("written", ["Seeded crisp", "seeded crisps", "SEEDED-CRISP"])
def test_the_pantry_is_asked_before_the_catalogue(written):
    one = prepared(poured({"crisp": f"{{ingredient: {written}}}"}))
    assert isinstance(one.resolved.parts[0].use.what, Bought) and errors(one.problems) == []


def test_a_pantry_product_covers_the_catalogue_entry_of_its_name():
    """Butter in the pantry has a may-contain that plain butter has not."""
    files = {
        PANTRY: (
            "products:\n  butter: {called: Butter, is: butter, label: {read: 2026-01-01, contains: [milk], may_contain:"
            " [egg]}}\n"
        )
    }
    one = prepared(poured({"butter": "{ingredient: butter}"}), files)
    assert ("eu", "egg", "may_contain") in {(f.law, f.allergen, f.presence) for s in one.statements for f in s.findings}


def test_two_products_of_one_name_are_a_question():
    files = {
        PANTRY: (
            "products:\n  crisp-a: {called: Crisp, label: {read: 2026-01-01, contains: [wheat]}}\n  crisp-b: {called:"
            " crisps, label: {read: 2026-01-01, contains: []}}\n"
        )
    }
    one = prepared(poured({"crisp": "{ingredient: crisp}"}), files)
    (fault,) = [p for p in one.problems if p.slug == "two-candidates"]
    assert "crisp-a or crisp-b" in fault.message and not one.is_sound


def test_words_turned_round_a_comma_are_read_with_a_warning():
    one = prepared(poured({"oil": '{ingredient: "oil, sunflower"}'}))
    assert errors(one.problems) == [] and problems(one, "read-as") == ["warning specs/asked.yaml:5:21"]


def test_another_word_order_is_a_question():
    """Chocolate milk is no milk chocolate, and pudding rice no rice pudding."""
    one = prepared(poured({"oil": "{ingredient: oil sunflower}"}))
    assert problems(one, "two-candidates") == ["error specs/asked.yaml:5:21"] and not one.is_sound


def test_a_second_name_in_brackets_has_to_be_of_the_same_food():
    one = prepared(poured({"greens": "{ingredient: cime di rapa (turnip tops)}"}, {"greens": "20 g"}), {})
    assert errors(one.problems) == []
    one = prepared(poured({"fish": "{ingredient: cod (haddock)}"}, {"fish": "20 g"}), {})
    (fault,) = [p for p in one.problems if p.slug == "two-candidates"]
    assert "cod or haddock" in fault.message and "brackets" in fault.hints[0] and not one.is_sound


def test_a_reason_prints_the_word_of_the_cook():
    """What is called Cava is never printed as Prosecco, nor as any other name of its entry."""
    one = prepared(poured({"wine": "{ingredient: Cava}"}, {"wine": "20 ml"}), {})
    assert one.resolved is not None
    (part,) = one.resolved.parts
    said = {link.words for t in Tracer(taxonomy.load()[0]).dish(one.resolved) for link in t.chain}
    assert any(words.startswith("Cava (source:") for words in said)
    assert not any("Prosecco" in words or "quality sparkling" in words for words in said)


def test_a_product_that_is_something_the_catalogue_lacks():
    files = {PANTRY: "products:\n  crisp: {called: Crisp, is: wumpus bread, label: {read: 2026-01-01, contains: []}}\n"}
    one = prepared(poured({"crisp": "{product: crisp}"}), files)
    assert problems(one, "unknown-ingredient") == ["error shared/pantry.yaml:2:30"] and not one.is_sound


def test_bare_ounces_of_a_liquid_are_a_weight_with_a_warning():
    files = {"shared/recipes/dressing.yaml": recipe("Dressing", [("ingredient", "sunflower oil", "8 oz")], "200 g")}
    one = prepared(poured({"dressing": "{recipe: dressing}"}, {"dressing": "200 g"}), files)
    assert grams_on_plate(one.resolved) == {"sunflower oil": F("226.796185")}
    assert problems(one, "ounces-of-a-liquid") == ["warning shared/recipes/dressing.yaml:5:41"]


def test_a_fault_in_a_shared_recipe_is_told_once():
    files = {
        "shared/recipes/dill-oil.yaml": (
            LIBRARY["shared/recipes/dill-oil.yaml"].replace("ingredient: dill", "ingredient: dyll")
        )
    }
    one = prepared(poured({"oil": "{recipe: dill-oil}", "beetroot": "{recipe: smoked-beetroot}"}), files)
    assert problems(one, "unknown-ingredient") == ["error shared/recipes/dill-oil.yaml:5:18"]


# --------------------------------------------------------------------------- yields


def test_a_batch_cannot_weigh_more_than_what_goes_in():
    lines = [("ingredient", "beetroot", "100 g")]
    spec = poured({"inner": "{recipe: inner}"})
    for makes, water, wrong in (("101 g", False, False), ("102 g", False, True), ("250 g", True, False)):
        one = prepared(spec, {"shared/recipes/inner.yaml": recipe("Inner", lines, makes, takes_up_water=water)})
        assert bool(problems(one, "makes-more-than-goes-in")) is wrong


def test_a_recipe_used_by_two_is_resolved_once():
    files = {
        "shared/recipes/a.yaml": recipe("A", [("recipe", "dill-oil", "10 g")]),
        "shared/recipes/b.yaml": recipe("B", [("recipe", "dill-oil", "10 g")]),
    }
    one = prepared(poured({"a": "{recipe: a}", "b": "{recipe: b}"}), files)
    inner = [part.use.what.lines[0].what for part in one.resolved.parts]
    assert isinstance(inner[0], Batch) and inner[0] is inner[1]


def test_recipes_that_share_recipes_cost_nothing_extra():
    """Forty levels, each used twice by the one above: two to the forty roads, and the answer is there at once."""
    files = {
        f"shared/recipes/r{i}.yaml": recipe(f"R{i}", [("recipe", f"r{i + 1}", "50 g"), ("recipe", f"r{i + 1}", "50 g")])
        for i in range(40)
    }
    files["shared/recipes/r40.yaml"] = recipe("R40", [("ingredient", "butter", "100 g")])
    one = prepared(poured({"top": "{recipe: r0}"}), files)
    assert errors(one.problems) == []
    assert ("eu", "milk", "contains") in {(f.law, f.allergen, f.presence) for s in one.statements for f in s.findings}


@pytest.mark.parametrize("levels, fits", [(100, True), (101, False)])
def test_recipes_nest_a_hundred_deep(levels, fits):
    files = {
        f"shared/recipes/r{i}.yaml": recipe(f"R{i}", [("recipe", f"r{i + 1}", "100 g")]) for i in range(levels - 1)
    }
    files[f"shared/recipes/r{levels - 1}.yaml"] = recipe("Last", [("ingredient", "butter", "100 g")])
    one = prepared(poured({"top": "{recipe: r0}"}), files)
    assert one.is_sound is fits
    if fits:
        assert grams_on_plate(one.resolved) == {"butter": 10}
    else:
        assert [p.slug for p in errors(one.problems)] == ["too-deep"]


def test_the_depth_counts_through_what_was_resolved_before():
    """Resolved from the bottom up, in pieces, the tree is as deep as from the top."""
    files = {f"shared/recipes/r{i}.yaml": recipe(f"R{i}", [("recipe", f"r{i + 1}", "100 g")]) for i in range(150)}
    files["shared/recipes/r150.yaml"] = recipe("Last", [("ingredient", "butter", "100 g")])
    menu = {"one": poured({"low": "{recipe: r90}"}), "two": poured({"high": "{recipe: r40}"})}
    one = prepared(poured({"top": "{recipe: r0}"}), files, menu)
    assert not one.is_sound and "too-deep" in {p.slug for p in errors(one.problems)}
