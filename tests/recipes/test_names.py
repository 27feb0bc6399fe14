"""A name that stands for nothing, for itself, or for one of several things: nothing behind it is taken for absent."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from platecard import pipeline
from platecard.recipes.resolved import Bought, products_in
from platecard.recipes.unknown_names import unknown_names
from tests.kitchens import KITCHEN, LIBRARY, PANTRY, grams_on_plate, library, poured, prepared, presences, recipe

CONTAINS, MAY, ABSENT, UNKNOWN = "contains", "may_contain", "not_among_ingredients", "not_established"


def found(one, *slugs: str) -> list[tuple[str, str, str]]:
    """(slug, severity, place) of the problems; of these slugs where some are named."""
    return [(p.slug, p.severity, str(p.span)) for p in one.problems if p.slug in slugs or not slugs]


def hints(one, slug: str) -> str:
    (problem,) = [p for p in one.problems if p.slug == slug]
    return " ".join(problem.hints)


def is_open(one) -> bool:
    """Whether every allergen is left open and the card withheld."""
    return not one.is_sound and set(presences(one).values()) <= {UNKNOWN, CONTAINS}


# --------------------------------------------------------------------------- what is not there


@pytest.mark.parametrize(
    "source, slug, near",
    [
        ("{product: seeded-crips}", "unknown-product", "seeded-crisp"),
        ("{recipe: dil-oil}", "unknown-recipe", "dill-oil"),
        ("{ingredient: beetrot}", "unknown-ingredient", "beetroot"),
    ],
)
def test_a_misspelt_name_leaves_all_open_and_what_was_meant_is_suggested(source, slug, near):
    one = prepared(poured({"a": source}))
    assert found(one, slug) == [(slug, "error", f"specs/asked.yaml:5:{source.index(': ') + 8}")]
    assert near in hints(one, slug) and is_open(one)
    assert grams_on_plate(one.resolved) in ({}, {one.resolved.parts[0].use.called: 10})


def test_a_name_like_nothing_suggests_nothing_and_says_where_to_enter_it():
    one = prepared(poured({"a": "{product: qwxz}"}))
    assert "seeded" not in hints(one, "unknown-product") and "shared/pantry.yaml" in hints(one, "unknown-product")


@pytest.mark.parametrize(
    "name, candidates, hint",
    [
        (
            "bell pepper (chilli)",
            "bell pepper or fresh chilli",
            "the name in brackets has to be one of the same food: take out the wrong one",
        ),
        ("beans (soya)", "soybean", "write it that way, if that is what you mean"),
        ("snap", "one or two", "write which one"),
        (
            "snap (crisp)",
            "three or four",
            "the name in brackets has to be one of the same food: take out the wrong one",
        ),
    ],
)
def test_a_name_that_may_be_one_of_several_says_which_and_what_to_do(name, candidates, hint):
    label = "label: {read: 2026-01-02, contains: []}"
    rows = [("one", "snap"), ("two", "snap"), ("three", '"snap (crisp)"'), ("four", '"snap (crisp)"')]
    files = {PANTRY: "products:\n" + "".join(f"  {key}: {{called: {called}, {label}}}\n" for key, called in rows)}
    one = prepared(poured({"a": f'{{ingredient: "{name}"}}'}), files)
    (told,) = [p for p in one.problems if p.slug == "two-candidates"]
    assert told.message == f"'{name}' could be {candidates}" and told.hints == (hint,)
    assert told.is_error and is_open(one)


def test_a_misspelt_name_inside_a_recipe_of_a_recipe_leaves_the_dish_open():
    files = {
        "shared/recipes/top.yaml": recipe("Top", [("recipe", "low", "10 g")]),
        "shared/recipes/low.yaml": recipe("Low", [("product", "seeded-crips", "10 g")]),
    }
    one = prepared(poured({"a": "{recipe: top}"}), files)
    assert found(one, "unknown-product") == [("unknown-product", "error", "shared/recipes/low.yaml:5:15")] and is_open(
        one
    )


@pytest.mark.parametrize("written", ["Dill-Oil", "dill oil", "dill_oil", "DILL  OIL"])
def test_a_recipe_is_found_by_its_name_in_other_letters_and_that_is_said(written):
    one = prepared(poured({"a": f"{{recipe: {written}}}"}, {"a": "5 g"}))
    assert found(one, "read-as") == [("read-as", "warning", "specs/asked.yaml:5:15")] and "dill-oil" in str(
        [p.message for p in one.problems if p.slug == "read-as"]
    )
    assert grams_on_plate(one.resolved)["dill"] == 1
    assert found(prepared(poured({"a": "{recipe: dill-oil}"})), "read-as") == []


def test_of_two_recipes_that_differ_only_in_capitals_none_is_chosen():
    files = {"shared/recipes/Dill-Oil.yaml": LIBRARY["shared/recipes/dill-oil.yaml"]}
    one = prepared(poured({"a": "{recipe: DILL OIL}"}), files)
    assert [slug for slug, *_ in found(one, "unknown-recipe", "read-as")] == ["unknown-recipe"] and is_open(one)


# --------------------------------------------------------------------------- what contains itself


@pytest.mark.parametrize("loop", [("a",), ("a", "b"), ("a", "b", "c")])
def test_a_recipe_that_contains_itself_is_an_error_and_leaves_all_open(loop):
    files = {
        f"shared/recipes/{key}.yaml": recipe(
            key.upper(), [("recipe", following, "10 g"), ("ingredient", "egg", "90 g")]
        )
        for key, following in zip(loop, (*loop[1:], loop[0]))
    }
    files["shared/recipes/top.yaml"] = recipe("Top", [("recipe", "a", "10 g")])
    one = prepared(poured({"t": "{recipe: top}"}), files)
    assert [slug for slug, *_ in found(one, "recipe-loop")] == ["recipe-loop"] and is_open(one)
    assert presences(one)["eu", "egg"] == CONTAINS, "what is known to be in it is not lost"
    # The places of the loop are named, and the recipe that only leads to it is not among them.
    (problem,) = [p for p in one.problems if p.slug == "recipe-loop"]
    (hint,) = problem.hints
    assert hint.startswith("correct ") and hint.count("shared/recipes/") == len(loop) and "top" not in hint
    assert all(f"shared/recipes/{user}.yaml:5:" in hint for user in loop)


def test_the_same_recipe_twice_on_the_way_is_no_loop():
    files = {
        "shared/recipes/top.yaml": recipe("Top", [("recipe", "dill-oil", "10 g"), ("recipe", "low", "10 g")]),
        "shared/recipes/low.yaml": recipe("Low", [("recipe", "dill-oil", "10 g")]),
    }
    assert found(prepared(poured({"a": "{recipe: top}"}), files), "recipe-loop") == []


# --------------------------------------------------------------------------- one of several products

EITHER = """\
products:
  crisp: {called: Crisp, either: [rye, corn]}
  rye: {called: Rye crisp, %slabel: {read: 2026-01-02, contains: [rye]}}
  corn: {called: Corn crisp, %slabel: {read: 2026-01-02, contains: [milk]}}
"""


def either(rye: str = "", corn: str = "", more: str = "", amount: str = "10 g"):
    return prepared(poured({"a": "{product: crisp}"}, {"a": amount}), {PANTRY: EITHER % (rye, corn) + more})


def test_what_may_be_either_of_two_products_may_hold_what_either_holds():
    one = either()
    assert found(one) == [] or not [p for p in one.problems if p.is_error]
    states = presences(one)
    assert states["eu", "rye"] != ABSENT and states["eu", "milk"] != ABSENT and states["eu", "egg"] == ABSENT
    assert products_in(one.resolved) == {"crisp", "rye", "corn"}


def test_the_density_of_either_is_known_only_where_they_agree():
    def grams(*said: str):
        return either(*said, amount="10 ml").resolved.parts[0].use.grams

    assert grams("density: 0.5, ", "density: 0.5, ") == 5
    assert grams("density: 0.5, ", "density: 0.6, ") is None and grams("density: 0.5, ", "") is None
    own = EITHER.replace("called: Crisp,", "called: Crisp, density: 0.7,") % ("density: 0.5, ", "density: 0.5, ")
    assert prepared(poured({"a": "{product: crisp}"}, {"a": "10 ml"}), {PANTRY: own}).resolved.parts[0].use.grams == 7


def test_a_product_that_may_be_one_that_is_not_there_leaves_all_open():
    pantry = EITHER.replace("[rye, corn]", "[rye, corm]") % ("", "")
    one = prepared(poured({"a": "{product: crisp}"}), {PANTRY: pantry})
    assert found(one, "unknown-product") == [("unknown-product", "error", "shared/pantry.yaml:2:40")]
    assert "corn" in hints(one, "unknown-product") and is_open(one)


def test_either_of_a_product_that_is_itself_either_leaves_all_open():
    pantry = EITHER.replace("either: [rye, corn]", "either: [rye, both]") % ("", "")
    pantry += "  both: {called: Both, either: [rye, corn]}\n"
    one = prepared(poured({"a": "{product: crisp}"}), {PANTRY: pantry})
    assert [slug for slug, *_ in found(one, "either-of-either")] == ["either-of-either"] and is_open(one)
    assert "rye, corn" in hints(one, "either-of-either")


def test_one_of_two_that_is_something_unheard_of_leaves_all_open():
    one = either(corn="is: wumpus bread, ")
    assert [slug for slug, *_ in found(one, "unknown-ingredient")] == ["unknown-ingredient"] and is_open(one)


# --------------------------------------------------------------------------- plates, stations, equipment


def test_a_plate_that_is_not_there():
    one = prepared(poured({"a": "{ingredient: beetroot}"}).replace("plate: wide", "plate: wied"))
    assert found(one, "unknown-plate") == [("unknown-plate", "error", "specs/asked.yaml:3:8")]
    assert "wide" in hints(one, "unknown-plate") and one.arrangement is None and not one.is_sound
    one = prepared(poured({"a": "{ingredient: beetroot}"}).replace("plate: wide", "plate: qxz"))
    assert "coupe" in hints(one, "unknown-plate") and "wide" in hints(one, "unknown-plate")


@pytest.mark.parametrize(
    "where", ["{ingredient: dill, equipment: %s}", "{ingredient: dill, finish: [{do: fry, takes: 9 s, on: %s}]}"]
)
def test_equipment_that_is_not_there_is_an_error_wherever_it_is_named(where):
    one = prepared(poured({"a": where % "fryre"}))
    assert [(slug, how) for slug, how, _ in found(one, "unknown-equipment")] == [("unknown-equipment", "error")]
    assert "fryer" in hints(one, "unknown-equipment")
    assert found(prepared(poured({"a": where % "fryer"})), "unknown-equipment") == []
    assert "smoker" in hints(prepared(poured({"a": where % "qxz"})), "unknown-equipment")


def test_a_station_that_is_not_there_is_a_warning_where_the_kitchen_names_its_stations():
    spec = poured({"a": "{ingredient: dill, station: lardre}"})
    one = prepared(spec)
    assert [(slug, how) for slug, how, _ in found(one, "unknown-station")] == [("unknown-station", "warning")]
    assert "larder" in hints(one, "unknown-station")
    none = {KITCHEN: LIBRARY[KITCHEN].replace("stations: {larder: Larder, sauce: Sauce}\n", "")}
    assert found(prepared(spec, none), "unknown-station") == []


def test_the_library_is_held_to_the_same_equipment_and_stations():
    text = LIBRARY["shared/recipes/dill-oil.yaml"].replace(
        "makes: 200 g", "makes: 200 g\nequipment: blendre\nstation: sawce"
    )
    world = pipeline.world(library({**LIBRARY, "shared/recipes/dill-oil.yaml": text}))
    there = {p.slug: str(p.span) for p in unknown_names(world.kitchen)}
    assert there == {
        "unknown-equipment": "shared/recipes/dill-oil.yaml:3:12",
        "unknown-station": "shared/recipes/dill-oil.yaml:4:10",
    }


# --------------------------------------------------------------------------- what a product is


def test_a_product_that_can_be_more_than_one_thing_is_not_guessed():
    pantry = "products:\n  crisp: {called: Crisp, is: oil sunflower, label: {read: 2026-01-01, contains: []}}\n"
    one = prepared(poured({"a": "{product: crisp}"}), {PANTRY: pantry})
    (problem,) = [p for p in one.problems if p.slug == "unknown-ingredient"]
    assert "sunflower oil" in problem.message and is_open(one)


def test_a_word_for_a_product_in_the_pantry_counts_before_the_catalogue_by_any_of_its_names():
    label = "label: {read: 2026-01-01, contains: [milk, egg]}"
    pantry = f"products:\n  own: {{called: House butter, also: [butter], is: butter, {label}}}\n"
    one = prepared(poured({"a": "{ingredient: butter}"}), {PANTRY: pantry})
    assert isinstance(one.resolved.parts[0].use.what, Bought) and presences(one)["eu", "egg"] == CONTAINS


# --------------------------------------------------------------------------- amounts


@pytest.mark.parametrize(
    "used, share",
    [("50 g", F(1, 4)), ("40-60 g", F(1, 4)), ("100 ml", F(1, 4)), ("1 piece", None)],
)
def test_the_share_of_a_batch_by_weight_or_by_its_density(used, share):
    files = {
        "shared/recipes/inner.yaml": recipe("Inner", [("ingredient", "butter", "200 g")], "200 g\ndensity: 0.5"),
        "shared/recipes/outer.yaml": recipe("Outer", [("recipe", "inner", used), ("ingredient", "beetroot", "100 g")]),
    }
    one = prepared(poured({"outer": "{recipe: outer}"}), files)
    assert one.resolved.parts[0].use.what.lines[0].share == share


def test_pieces_on_the_plate_weigh_what_the_step_says_or_else_what_the_recipe_says():
    files = {"shared/recipes/bun.yaml": recipe("Bun", [("ingredient", "beetroot", "400 g")], "20 pieces\neach: 15 g")}
    pool = "amount: 10 g, arrange: pool, across: 20 mm"
    for weight, grams in ((", weight: 12 g", 12), ("", 15)):
        spec = poured({"bun": "{recipe: bun}"}).replace(pool, f"piece: {{shape: disc, size: 20 mm{weight}}}")
        use = prepared(spec, files).resolved.parts[0].use
        assert (use.grams, use.share) == (grams, F(1, 20))


def test_a_step_that_says_nothing_of_how_much_says_so():
    spec = poured({"a": "{ingredient: dill}"}).replace("amount: 10 g, arrange: pool", "arrange: pool")
    use = prepared(spec).resolved.parts[0].use
    assert use.grams is None and use.why
    piece = poured({"a": "{ingredient: dill}"}).replace(
        "amount: 10 g, arrange: pool, across: 20 mm", "piece: {shape: frond, size: 8 mm}"
    )
    use = prepared(piece).resolved.parts[0].use
    assert use.grams is None and "weight" in use.why


def test_only_ounces_of_a_liquid_are_doubted():
    for name, amount, doubted in (
        ("sunflower oil", "8 oz", True),
        ("butter", "8 oz", False),
        ("sunflower oil", "8 g", False),
    ):
        files = {"shared/recipes/pan.yaml": recipe("Pan", [("ingredient", name, amount)])}
        assert bool(found(prepared(poured({"a": "{recipe: pan}"}), files), "ounces-of-a-liquid")) is doubted
    fat = "products:\n  fat: {called: Fat, is: sunflower oil}\n"
    files = {"shared/recipes/pan.yaml": recipe("Pan", [("product", "fat", "8 oz")]), PANTRY: fat}
    assert found(prepared(poured({"a": "{recipe: pan}"}), files), "ounces-of-a-liquid")


def test_a_range_can_be_as_much_as_its_upper_end():
    """Of 80 to 120 g, a fifth more than the middle; from a batch of 150 to 250 g, of 200 a third more again."""
    files = {
        "shared/recipes/inner.yaml": recipe("Inner", [("ingredient", "butter", "400 g")], "150-250 g"),
        "shared/recipes/outer.yaml": recipe(
            "Outer", [("ingredient", "beetroot", "80-120 g"), ("recipe", "inner", "50 g")]
        ),
    }
    lines = prepared(poured({"outer": "{recipe: outer}"}), files).resolved.parts[0].use.what.lines
    assert [line.most for line in lines] == [F(6, 5), F(4, 3)]
    parts = prepared(poured({"a": "{ingredient: beetroot}"}, {"a": "80-120 g"})).resolved.parts
    assert parts[0].use.most == F(6, 5)


@pytest.mark.parametrize(
    "makes, weight, doubted",
    [
        ("400 g", ", weight: 12 g", False),
        ("400 g", "", False),
        ("20 portions", ", weight: 12 g", True),
        ("20 pieces", "", False),
    ],
)
def test_only_a_batch_counted_in_another_word_is_told_to_be_so(makes, weight, doubted):
    files = {"shared/recipes/bun.yaml": recipe("Bun", [("ingredient", "beetroot", "400 g")], makes)}
    pool, disc = "amount: 10 g, arrange: pool, across: 20 mm", f"piece: {{shape: disc, size: 20 mm{weight}}}"
    one = prepared(poured({"bun": "{recipe: bun}"}).replace(pool, disc), files)
    assert [how for _, how, _ in found(one, "other-count-word")] == (["warning"] if doubted else [])


def test_an_ingredient_that_is_nearly_a_products_name_is_told_so():
    pantry = "products:\n  relish: {called: Wrackline relish, label: {read: 2026-01-02, contains: [celery]}}\n"
    spec = (
        "dish: A dish\nrevision: {number: 1, date: 2026-01-31}\nplate: wide\ncomponents:\n"
        "  a: {ingredient: wracklin relish}\nplating:\n"
        "  - {put: a, piece: {shape: disc, size: 9 mm, weight: 1 g}, at: centre}\n"
    )
    (told,) = [p for p in prepared(spec, {"shared/pantry.yaml": pantry}).problems if p.slug == "unknown-ingredient"]
    assert any("Wrackline relish" in hint for hint in told.hints)
