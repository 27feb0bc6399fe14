"""Foods that a chef's words name, and that are nowhere in the dish."""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from kitchens import BEETROOT, LIBRARY, SMOKED, SPEC, kitchen, library, marked, poured, recipe

from platecard import pipeline
from platecard.knowledge.words import fold

SLUG = "food-not-in-it"
DATA = yaml.safe_load((Path(__file__).parent / "data" / "named_foods.yaml").read_text(encoding="utf-8"))


def named(ingredients: list[str], texts: list[str], key: str = "method") -> list[str]:
    """The foods warned of, as written, in a recipe of ``ingredients`` whose words (or those of its dish) are ``texts``."""
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


def test_the_planted_foods_are_found():
    found = [p for p in DATA["planted"] if fold(p["food"]) in [fold(n) for n in named(p["in"], [p["text"]], p.get("key", "method"))]]
    assert len(DATA["planted"]) == 20
    assert [p for p in DATA["planted"] if p not in found] == []


def test_a_hundred_sentences_of_methods_are_left_alone():
    told = {t: n for m in DATA["methods"] for t in m["texts"] if (n := named(m["in"], [t]))}
    assert sum(len(m["texts"]) for m in DATA["methods"]) == 100
    assert told == {}
