"""Kitchens made up by a seeded generator: the same seed gives the same texts on any machine.

Every dish is sound, so that each gets its card; a build that draws nothing would look fast.
"""

from __future__ import annotations

import os
import random

INGREDIENTS = """\
beetroot carrot celeriac celery leek shallot onion garlic potato parsnip turnip cucumber tomato courgette fennel spinach
kale asparagus apple pear rhubarb strawberry raspberry lemon orange dill parsley chive tarragon thyme mint basil butter
buttermilk egg hazelnut almond walnut monkfish mussel scallop lamb beef chicken pork duck honey salt water rice
peanut mushroom samphire""".split()
TWO_WORDS = [
    "egg yolk",
    "egg white",
    "wheat flour",
    "rye flour",
    "rolled oats",
    "sesame seed",
    "soya milk",
    "mustard seed",
    "caster sugar",
    "black pepper",
    "sunflower oil",
    "rapeseed oil",
    "olive oil",
    "buckwheat flour",
    "lupin flour",
    "whole milk",
    "double cream",
    "broad bean",
]
LABELS = [
    "wheat",
    "milk",
    "egg",
    "soya",
    "sesame",
    "mustard",
    "celery",
    "almond",
    "hazelnut",
    "peanut",
    "fish",
    "barley",
]
STATIONS = ["larder", "garnish", "sauce", "roast", "pastry"]
EQUIPMENT = ["fryer", "grill", "smoker", "churn", "blender", "slicer"]
MANNERS = ["smoked", "pickled", "roast", "salted", "glazed", "grilled", "charred", "poached"]
KINDS = ["purée", "broth", "crumb", "gel", "oil", "jam", "cream", "glaze"]
BOUGHT = [kind for kind in KINDS if kind != "cream"]  # whose name is at odds with a label without milk

KITCHEN = """\
kitchen: The Benchmark Galley
laws: [eu, us]
labels_printed_for: [eu, us]
stations: {larder: Larder, garnish: Garnish, sauce: Sauce, roast: Roast, pastry: Pastry}
equipment: {fryer: the fryer, grill: the grill, smoker: the smoker, churn: the churn, blender: the blender, slicer: the slicer}
"""  # noqa: E501
PLATES = """\
plates:
  wide: {called: Wide plate, form: rimmed, outer: 280 mm, well: 200 mm}
  coupe: {called: Large coupe, form: coupe, outer: 270 mm, well: 220 mm}
"""


def menu(
    dishes: int, *, recipes: int, products: int = 40, deep: int = 3, equipment: float = 0.2, seed: int = 1
) -> dict[str, str]:
    """A whole project as file → text: ``recipes`` nested ``deep`` levels, shared by ``dishes``.

    ``equipment`` is the share of recipes that go through a piece of shared equipment.
    """
    chance = random.Random(seed)
    files = {
        "shared/kitchen.yaml": KITCHEN,
        "shared/plates.yaml": PLATES,
        "shared/pantry.yaml": _pantry(products, chance),
    }
    levels: list[list[str]] = [[] for _ in range(deep)]
    for number in range(recipes):
        level = number * deep // recipes
        key = f"{chance.choice(MANNERS)}-{number}"
        levels[level].append(key)
        inside = [chance.choice(levels[level - 1])] if level else []
        if level > 1:
            inside.append(chance.choice(levels[chance.randrange(level)]))
        files[f"shared/recipes/{key}.yaml"] = _recipe(key, inside, products, equipment, chance)
    for number in range(dishes):
        files[f"specs/dish-{number:04}.yaml"] = _dish(number, levels, products, chance)
    return files


def write(files: dict[str, str], folder: str) -> str:
    """The texts as files below ``folder``."""
    for path, text in files.items():
        place = os.path.join(folder, path)
        os.makedirs(os.path.dirname(place), exist_ok=True)
        with open(place, "w", encoding="utf-8") as stream:
            stream.write(text)
    return folder


def _ingredients(count: int, chance: random.Random) -> list[str]:
    return chance.sample(INGREDIENTS + TWO_WORDS, count)


def _pantry(count: int, chance: random.Random) -> str:
    lines = ["products:"]
    for number in range(count):
        contains = ", ".join(chance.sample(LABELS, chance.randint(0, 3)))
        may = ", ".join(chance.sample(LABELS, chance.randint(0, 2)))
        lines.append(
            f"  product-{number}:\n    called: Bought-in {chance.choice(BOUGHT)} {number}\n"
            f"    label: {{read: 2026-01-{number % 28 + 1:02}, contains: [{contains}], may_contain: [{may}]}}"
        )
    return "\n".join(lines) + "\n"


def _recipe(key: str, inside: list[str], products: int, equipment: float, chance: random.Random) -> str:
    lines = [f"  - {{recipe: {name}, amount: {chance.randint(40, 200)} g}}" for name in inside]
    lines += [
        f"  - {{ingredient: {name}, amount: {chance.randint(5, 400)} g}}"
        for name in _ingredients(chance.randint(4, 7), chance)
    ]
    if products and chance.random() < 0.3:
        lines.append(f"  - {{product: product-{chance.randrange(products)}, amount: {chance.randint(10, 90)} g}}")
    through = f"equipment: {chance.choice(EQUIPMENT)}\n" if chance.random() < equipment else ""
    name = f"{key.replace('-', ' ').capitalize()} {chance.choice(KINDS)}"
    return (
        f"recipe: {name}\nmakes: 900 g\ntakes_up_water: true\nstation: {chance.choice(STATIONS)}\n{through}"
        "ingredients:\n"
        + "\n".join(lines)
        + "\nmethod:\n  - Sweat gently, then cook to the yield\n  - Chill, label and date\n"
    )


def _dish(number: int, levels: list[list[str]], products: int, chance: random.Random) -> str:
    """Six parts in six places of the plate, the whole turned by some hours and each of its own size."""
    one, two, three, four = (chance.choice(levels[-1 - i % min(3, len(levels))]) for i in range(4))
    turn = chance.randrange(12)

    def clock(hour: int, minutes: int = 0) -> str:
        return f'"{(hour + turn - 1) % 12 + 1}:{minutes:02}"'

    fifth = (
        f"product: product-{chance.randrange(products)}" if products else f"ingredient: {_ingredients(1, chance)[0]}"
    )
    serve = chance.choice(["hot", "warm", "cold"])
    left_off = ", may_be_left_off: true" if chance.random() < 0.5 else ""
    swap = (
        f", swap: {{avoiding: [milk, egg, wheat], use: {{recipe: {chance.choice(levels[0])}}}}}"
        if chance.random() < 0.4
        else ""
    )
    start, end = clock(12, 0).strip('"'), clock(3, 0).strip('"')
    return f"""\
# A made-up plate.
dish: {one.capitalize()}, {two} and {three} {number}
menu_line: {one.capitalize()} with {two}, {three} and what goes with it
course: {chance.choice(["starter", "main", "dessert"])}
revision: {{number: {chance.randint(1, 9)}, date: 2026-02-{number % 28 + 1:02}, note: made up}}
plate: {chance.choice(["wide", "coupe"])}
serve: {{plate: {chance.choice(["hot", "chilled"])}, food: {serve}}}

components:
  base: {{recipe: {one}, called: the base, station: sauce, colour: light green}}
  main: {{recipe: {two}, called: the main part, station: roast{swap}}}
  pieces: {{recipe: {three}, called: small pieces, station: garnish{left_off}}}
  spoon: {{recipe: {four}, called: the spoonful, station: larder{left_off}}}
  crisp: {{{fifth}, called: the crisp, station: pastry, may_be_left_off: true}}
  leaf: {{ingredient: {chance.choice(["dill", "parsley", "mint", "basil", "chive"])}, called: the leaf, station: larder}}

plating:
  - {{put: base, amount: {chance.randint(4, 5)} g, arrange: pool, across: {chance.randint(44, 60)} mm, at: centre}}
  - put: main
    count: {chance.randint(4, 6)}
    piece: {{shape: slice, size: {chance.randint(30, 40)} x {chance.randint(19, 22)} mm, height: 8 mm, weight: {chance.randint(4, 6)} g}}
    arrange: fan
    from: {clock(7)}
    to: {clock(8, 30)}
    out: 62 mm
    facing: {{points: out, up: cut side}}
    accept: {{place: 6 mm, turn: 15 deg}}
  - put: pieces
    count: {chance.randint(4, 7)}
    piece: {{shape: disc, size: {chance.randint(10, 13)} mm, height: 6 mm, weight: 0.5 g}}
    arrange: scatter
    within: {{clock: "{start} to {end}", out: 44 to 88 mm}}
    gap: 2 mm
  - put: spoon
    piece: {{shape: quenelle, size: {chance.randint(36, 44)} x 20 mm, weight: {chance.randint(5, 7)} g}}
    at: {{clock: {clock(4, 45)}, out: 62 mm}}
    facing: clockwise
  - {{put: crisp, piece: {{shape: shard, size: 34 x 14 mm, height: 2 mm, weight: 0.8 g}}, on: spoon, facing: {{points: clockwise, stance: standing}}}}

garnish:
  - {{put: leaf, count: {chance.randint(3, 5)}, piece: {{shape: frond, size: 12 x 8 mm, weight: 0.2 g}}, on: main}}

expo_checks:
  - Rim clean, plate {serve}
  - The crisp last, it must snap
"""  # noqa: E501
