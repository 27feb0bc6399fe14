"""Foods that a chef's words name, and that are nowhere in the dish."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml

from platecard import pipeline
from platecard.knowledge.names import fold
from tests.kitchens import BEETROOT, LIBRARY, LOADER, SMOKED, SPEC, kitchen, library, marked, poured, recipe

SLUG = "food-not-in-it"
DATA = yaml.load((Path(__file__).parent / "named_foods.yaml").read_text(encoding="utf-8"), Loader=LOADER)


def named(ingredients: list[str], texts: list[str], key: str = "method") -> list[str]:
    """The foods warned of, as written, in a recipe of ``ingredients`` whose words (or those of its dish) are ``texts``."""  # noqa: E501
    text = recipe("The thing", [("ingredient", f'"{name}"', "50 g") for name in ingredients])
    dish = poured({"thing": "{recipe: thing}"}, title="The thing")
    said = "".join(f"  - '{t.replace(chr(39), chr(39) * 2)}'\n" for t in texts)
    if key == "method":
        text += f"method:\n{said}"
    elif key == "note":
        text = text.replace("amount: 50 g}", f"amount: 50 g, note: '{texts[0]}'}}", 1)
    elif key == "expo_checks":
        dish += f"expo_checks:\n{said}"
    elif key == "menu_line":
        dish = dish.replace("plate: wide", f"plate: wide\nmenu_line: '{texts[0]}'")
    else:
        dish = dish.replace("dish: The thing", f"dish: '{texts[0]}'")
    files = {**LIBRARY, "shared/recipes/thing.yaml": text}
    world = pipeline.world(library(files))
    done = pipeline.prepare(dish, "specs/thing.yaml", "thing", world)
    assert not [p for p in done.problems if p.slug in ("unknown-ingredient", "two-candidates")], done.problems
    return [p.message.split("'")[1] for p in done.problems if p.slug == SLUG]


@pytest.mark.parametrize("which", ["planted", "later_planted"])
def test_the_planted_foods_are_found(which):
    found = [
        p
        for p in DATA[which]
        if any(fold(p["food"]) in fold(n) for n in named(p["in"], [p["text"]], p.get("key", "method")))
    ]
    assert len(DATA[which]) == 20
    assert [p for p in DATA[which] if p not in found] == []


@pytest.mark.parametrize(("which", "many", "known"), [("methods", 100, []), ("later_methods", 60, [["liver", "pâté"]])])
def test_the_sentences_of_methods_are_left_alone(which, many, known):
    told = [n for m in DATA[which] for t in m["texts"] if (n := named(m["in"], [t]))]
    assert sum(len(m["texts"]) for m in DATA[which]) == many
    # The rabbit's own liver, and a pâté elsewhere, are no line of its recipe.
    assert told == known


@pytest.mark.parametrize(
    ("ingredients", "text", "food"),
    [
        (["egg yolk", "sugar"], "Fold in the whites", ""),
        (["cocoa butter", "sugar"], "Mount with butter", "butter"),
        (["coconut milk", "lime"], "Add milk", "milk"),
        (["peanut butter", "sugar"], "Beat the butter", "butter"),
        (["milk", "oat"], "Add almond milk", "almond milk"),
        (["butter", "flour"], "Brown butter over", ""),
        (["hazelnut", "sugar"], "Chop the nuts", ""),
        (["sugar", "lemon"], "Chop the nuts", "nuts"),
        (["cod", "salt"], "Pat the fish dry", ""),
        (["beef", "salt"], "Pat the fish dry", "fish"),
        (["prawn", "salt"], "Shell the shellfish", ""),
        (["aubergine"], "Score the eggplant", ""),
        (["double cream"], "Whip the cream", ""),
        (["leek"], "Char until black", ""),
        (["leek"], "Lay the char on top", "char"),
        (["leek"], "Butter the tin", "Butter"),
        (["potato"], "Rice them hot", ""),
        (["potato"], "Serve over rice", "rice"),
        (["potato"], "Do not use butter", ""),
        (["potato"], "Keep away from nuts", ""),
        (["potato"], "Oil instead of butter", ""),
        (["potato"], "Not butter, cream", "cream"),
        (["potato"], "Pea-sized cubes, hazelnut brown, like roe", ""),
        (["potato"], "Pass through the egg ring with the butter knife", ""),
        (["potato"], "Brush with egg wash", "egg"),
        (["potato"], "Chill, label and date", ""),
        (["potato"], "A cream of leeks", "leeks"),
        (["fish sauce"], "Stir in the anchovies", "anchovies"),
        (["mayonnaise", "lemon"], "Until the mayonnaise stands", ""),
        (["lemon", "salt"], "Finish with mayonnaise", "mayonnaise"),
        (["potato"], "Rye crumb over", "Rye"),
    ],
)
def test_what_is_taken_for_a_food_and_what_for_in_it(ingredients, text, food):
    known = pipeline.world(library(LIBRARY)).pantry.catalogue
    # What depends on its maker has no card here, and its words are judged all the same.
    assert all(known.find(i).entry for i in ingredients), ingredients
    assert named(ingredients, [text]) == ([food] if food else [])


def test_the_place_is_that_of_the_word_and_a_food_is_told_once_for_a_text(room):
    text, line, column = marked(
        BEETROOT.replace(
            "plate: wide\n",
            "plate: wide\nnote: >\n  Warm the plate, then the\n  ¦butter over,\n  more butter at the table\n",
        )
    )
    room.write({**kitchen(), SPEC: text})
    (found,) = [p for p in room.problems() if p["slug"] == SLUG]
    assert (found["line"], found["column"], found["severity"]) == (line, column, "warning") and "'butter'" in found[
        "message"
    ]
    assert room.run("build").code == 0 and room.cards()


@pytest.mark.parametrize("file", [SMOKED, SPEC])
def test_one_word_settles_it_and_what_settles_nothing_is_told(room, file):
    files = kitchen()
    files[SMOKED] += "method:\n  - Serve it before the cheddar goes up.\n"
    files[SPEC] = files[SPEC].replace("  - Rim clean", "  - Rim clean, no drips; cheddar on the next plate")
    room.write(files)
    told = [p for p in room.problems() if p["slug"] == SLUG]
    assert sorted(p["file"] for p in told) == [SMOKED, SPEC]
    hint = next(p for p in told if p["file"] == file)["hints"][-1]
    assert hint.endswith("only_named: [cheddar]")
    # What it says to do does settle it.
    room.write({file: files[file] + "only_named: [cheddar]\n"})
    assert [p["file"] for p in room.problems() if p["slug"] == SLUG] == [f for f in (SMOKED, SPEC) if f != file]
    room.write({file: files[file] + "only_named: [cheddar, walnut]\n"})
    assert [(p["file"], p["severity"]) for p in room.problems() if p["slug"] == "only-named"] == [(file, "warning")]
    assert room.run("check").code == 0


def test_a_food_that_a_claim_denies_is_told_as_the_claim_alone(room):
    """To write the word under only_named would not put the claim right."""
    room.write(kitchen((SPEC, "dish: Smoked beetroot", "dish: Smoked beetroot, gluten free")))
    told = {p["slug"] for p in room.problems()}
    assert "claims-absence" in told and SLUG not in told and room.run("check").code == 1
    room.write(kitchen((SPEC, "dish: Smoked beetroot", "dish: Smoked beetroot, gluten")))
    assert SLUG in {p["slug"] for p in room.problems()}


def test_a_label_that_cannot_be_read_is_told_alone(room):
    """The list without its brackets may name what the title does; when it is written as it should be, it does not."""
    cube = "products:\n  cube: {called: Picked crab, label: {read: 2026-09-01, contains: LIST}}\n"
    files = kitchen(
        (SPEC, "dish: Smoked beetroot", "dish: Smoked beetroot, crab"), (SPEC, "{ingredient: dill}", "{product: cube}")
    )
    for written, is_told in (('"crab, milk"', False), ("[milk]", True), ("[crab, milk]", False)):
        room.write({**files, "shared/pantry-stock.yaml": cube.replace("LIST", written)})
        told = room.problems()
        assert (SLUG in {p["slug"] for p in told if "crab" in p["message"]}) == is_told, written
        assert ("wrong-type" in {p["slug"] for p in told}) == written.startswith('"')


def test_a_pantry_that_cannot_be_read_is_told_and_no_product_accused_of_having_no_label(room):
    files = kitchen((SPEC, "{ingredient: dill}", "{ingredient: stock cube}"))
    room.write(files)
    before = [p for p in room.problems() if p["slug"] == "allergens-not-established" and p["file"] == SPEC]
    assert before and "label" in before[0]["hints"][-1]
    room.write({"shared/pantry.yaml": "products:\n  a: {called: A: B: C\n"})
    after = [p for p in room.problems() if p["slug"] == "allergens-not-established" and p["file"] == SPEC]
    assert [p["hints"] for p in after] == [["put those right first"]] and room.run("check").code == 1


def test_a_dish_knows_what_is_in_its_recipes_products_and_swaps(room):
    files = kitchen(
        (
            "shared/pantry.yaml",
            "contains: [wheat, sesame], may_contain: [milk]",
            (
                "contains: [wheat, sesame], may_contain: [milk], text: 'WHEAT flour, SESAME, honey, salt. May contain"
                " MILK.'"
            ),
        ),
        (
            SPEC,
            "crisp: {product: seeded-crisp}",
            "crisp: {product: seeded-crisp, swap: {avoiding: [sesame], use: {ingredient: rice cracker}}}",
        ),
    )
    files[SPEC] = files[SPEC].replace(
        "plate: wide\n", "plate: wide\nmenu_line: Beetroot, sunflower oil, honey, sesame, dill; WORD\n"
    )
    for word, found in (
        ("no more than that", []),
        ("rice cracker for some", []),
        ("walnuts", ["walnuts"]),
        ("seeded crisp", []),
    ):
        room.write({**files, SPEC: files[SPEC].replace("WORD", word)})
        assert [p["message"].split("'")[1] for p in room.problems() if p["slug"] == SLUG] == found, word


def test_a_recipe_is_told_once_whatever_dishes_use_it(room):
    files = kitchen()
    files[SMOKED] += "method:\n  - Glaze with butter.\n"
    room.write({**files, "specs/second.yaml": files[SPEC], "specs/third.yaml": files[SPEC]})
    assert [(p["file"], p["line"]) for p in room.problems() if p["slug"] == SLUG] == [
        (SMOKED, files[SMOKED].count("\n"))
    ]


@pytest.mark.parametrize(
    ("title", "text", "found"),
    [
        ("Pesto potatoes", "Fold in the pesto.", ["Pesto", "pesto"]),
        ("Potato pesto", "The pesto keeps a day.", []),
        ("Potatoes in pesto", "Fold in the pesto.", ["pesto", "pesto"]),
    ],
)
def test_a_recipe_may_be_called_what_it_is_made_into(title, text, found):
    files = {
        **LIBRARY,
        "shared/recipes/thing.yaml": recipe(title, [("ingredient", "potato", "50 g")]) + f"method:\n  - {text}\n",
    }
    done = pipeline.prepare(
        poured({"thing": "{recipe: thing}"}, title="The thing"),
        "specs/thing.yaml",
        "thing",
        pipeline.world(library(files)),
    )
    assert [p.message.split("'")[1] for p in done.problems if p.slug == SLUG] == found


def test_its_own_title_hides_no_allergen():
    """A recipe that is called after almonds has none in it for that."""
    files = {
        **LIBRARY,
        "shared/recipes/thing.yaml": (
            recipe("Almond thing", [("ingredient", "sugar", "50 g")]) + "method:\n  - Fold in the almonds.\n"
        ),
    }
    done = pipeline.prepare(
        poured({"thing": "{recipe: thing}"}, title="The thing"),
        "specs/thing.yaml",
        "thing",
        pipeline.world(library(files)),
    )
    assert [p.message.split("'")[1] for p in done.problems if p.slug == SLUG] == ["Almond", "almonds"]
