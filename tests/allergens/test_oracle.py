"""The engine and a second way to the same answers agree on thousands of invented kitchens.

Recipes nest up to five deep and share sub-recipes, products carry labels or lack them,
equipment is shared between dishes, masses are said or missing.  The second way is
``oracle.py``, which uses no code of the engine.
"""

from __future__ import annotations

import json
from random import Random

import pytest

from platecard import pipeline
from platecard.allergens.guests.answers import Asked, understand
from tests.allergens import oracle
from tests.allergens.oracle import ABSENT, CONTAINS, MAY, UNKNOWN
from tests.kitchens import LIBRARY, PLATES

LAWS = ["eu", "us", "ca", "au-nz", "jp"]

# Chosen so that each rule of the files is met often; every other entry of the catalogue may come too.
# Foods with an allergen that some law exempts in this form, or with a ceiling of sulphites.
FORMS = sorted(
    e["name"] for e in oracle.entries() if (e.get("form") or "so2" in e) and not isinstance(e.get("depends"), str)
)
CHOSEN = [
    "butter",
    "plain flour",
    "hen egg",
    "quail egg",
    "goat's milk",
    "cheese",
    "cod",
    "salmon",
    "salmon roe",
    "fish",
    "king prawn",
    "shrimp",
    "lobster",
    "crustacean",
    "squid",
    "oyster",
    "mollusc",
    "almond",
    "hazelnut",
    "pine nut",
    "walnut",
    "chestnut",
    "coconut",
    "mixed nuts",
    "peanut",
    "tofu",
    "sesame seed",
    "celery",
    "mustard seed",
    "lupin flour",
    "buckwheat flour",
    "rye flour",
    "pearl barley",
    "oat",
    "spelt",
    "khorasan wheat",
    "triticale",
    "beer",
    "vodka",
    "Scotch whisky",
    "wheat glucose syrup",
    "glucose syrup",
    "refined peanut oil",
    "refined soybean oil",
    "fully refined sesame oil",
    "lactitol",
    "soya tocopherol",
    "isinglass",
    "dry white wine",
    "dried apricot",
    "dried tomato",
    "starch",
    "tamari",
    "curry powder",
    "lecithin",
    "nori",
    "mussel",
    "kiwi",
    "orange",
    "beef",
    "gelatine",
    "coriander",
    "coriander seed",
    "carrot",
    "salt",
    "sugar",
    "olive oil",
    "garlic",
    "sunflower oil",
    "honey",
    "cider",
]
EVERY = [e["name"] for e in oracle.entries()]
WORDS = [
    "milk",
    "wheat",
    "eggs",
    "fish",
    "salmon",
    "crustaceans",
    "prawn",
    "molluscs",
    "squid",
    "almond",
    "hazelnut",
    "nuts",
    "peanuts",
    "soya",
    "sesame",
    "celery",
    "mustard",
    "lupin",
    "barley",
    "rye",
    "oats",
    "spelt",
    "triticale",
    "gluten",
    "sulphites",
    "buckwheat",
    "coconut",
    "kiwi",
    "beef",
    "cereals containing gluten",
    "lactose",
    "pine nut",
]
GUESTS = [
    "milk",
    "wheat",
    "egg",
    "fish",
    "salmon",
    "shellfish",
    "crustacean",
    "nuts",
    "all nuts",
    "hazelnut",
    "gluten",
    "barley",
    "peanut",
    "sesame",
    "soya",
    "sulphites",
    "celery",
    "dairy",
    "seafood",
    "mollusc",
    "coconut",
    "coriander",
    "kiwi",
    "garlic",
    "honey",
    "butter",
    "carrot",
    "quail egg",
    "buckwheat",
    "orange",
    "beef",
    "prawn",
    "mushrooms",
    "citrus",
    "alcohol",
    "meat",
    "legumes",
    "onion",
    "corn",
    "chervil",
    "tamari",
    "crustaceans",
    "cashew",
]
EQUIPMENT = ["fryer", "grill", "mill"]


class Maker:
    """One invented kitchen, from a seed."""

    def __init__(self, seed: int, dishes: int = 2, swaps: bool = False, unknown: int = 12):
        self.seed, self.swaps, self.unknown = seed, swaps, unknown
        self.chance = Random(seed)
        self.products = {f"p{i}": self.product(i) for i in range(self.chance.randint(1, 4))}
        self.recipes: dict[str, dict] = {}
        for i in range(self.chance.randint(0, 6)):
            self.recipes[f"r{i}"] = self.recipe(i)
        self.menu = {f"d{i}": self.dish(i) for i in range(self.chance.randint(1, dishes))}
        self.files = {
            PLATES: LIBRARY[PLATES],
            "shared/kitchen.yaml": json.dumps(
                {
                    "kitchen": "Invented",
                    "laws": LAWS,
                    "labels_printed_for": LAWS,
                    "equipment": {k: f"the {k}" for k in EQUIPMENT},
                }
            ),
            "shared/pantry.yaml": text({"products": self.products}),
            **{f"shared/recipes/{k}.yaml": text(r) for k, r in self.recipes.items()},
        }
        self.specs = {k: text(d) for k, d in self.menu.items()}

    def __repr__(self) -> str:
        return f"Maker({self.seed})\n" + "\n".join(
            f"# {k}\n{v}" for k, v in (self.files | self.specs).items() if k != PLATES
        )

    def one_in(self, n: int) -> bool:
        return self.chance.randrange(n) == n - 1

    def some(self, of: list, most: int) -> list:
        return [self.chance.choice(of) for _ in range(self.chance.randint(0, most))]

    def ingredient(self) -> dict:
        if self.one_in(self.unknown * 10):
            return {"ingredient": "moon dust"}
        return {"ingredient": self.chance.choice(EVERY if self.one_in(6) else CHOSEN)}

    def source(self, below: int) -> dict:
        kind = self.chance.randrange(6)
        if kind >= 4 and below:
            # The nearest recipe more often than not, so that they nest deep.
            return {"recipe": f"r{below - 1 if self.one_in(2) else self.chance.randrange(below)}"}
        return {"product": self.chance.choice(list(self.products))} if kind == 0 else self.ingredient()

    def product(self, i: int) -> dict:
        p: dict = {"called": f"Product {i}"}
        if self.one_in(2):
            p["is"] = self.chance.choice(FORMS) if self.one_in(4) else self.ingredient()["ingredient"]
        if not self.one_in(self.unknown // 2):
            p["label"] = {"read": "2026-01-02", "contains": self.some(WORDS, 2), "may_contain": self.some(WORDS, 1)}
            if self.one_in(5):
                p["label"]["sulphites"] = self.chance.choice(
                    ["0 mg/kg", "9.99 mg/kg", "10 mg/kg", "10.01 mg/kg", "500 mg/kg"]
                )
            if self.one_in(4):
                p["label"]["printed_for"] = self.some(LAWS, 1) or [self.chance.choice(sorted(oracle.every_law()))]
            if self.one_in(80):
                p["label"]["contains"].append("fairy dust")
        return p

    def how_much(self, source: dict) -> str | None:
        if self.one_in(10):
            return None
        if "recipe" in source and self.recipes[source["recipe"]].get("makes", "").endswith("pieces") and self.one_in(2):
            return f"{self.chance.randint(1, 9)} pieces"
        return f"{self.chance.choice(['0.5', '7', '10', '33.3', '100', '250'])} {'ml' if self.one_in(6) else 'g'}"

    def recipe(self, i: int) -> dict:
        r: dict = {"recipe": f"Recipe {i}", "takes_up_water": True, "ingredients": []}
        for _ in range(self.chance.randint(1, 4)):
            line = self.source(i)
            if (amount := self.how_much(line)) is not None:
                line["amount"] = amount
            r["ingredients"].append(line)
        r["makes"] = self.chance.choice(["100 g", "250 g", "1000 g", "12.5 g", "8 pieces", "400 ml"])
        if self.one_in(3):
            r["density"] = self.chance.choice([1, 0.92, 1.31])
        if used := self.some(EQUIPMENT, 1):
            r["equipment"] = used
        return r

    def dish(self, i: int) -> dict:
        components, steps = {}, []
        for j in range(self.chance.randint(1, 4)):
            source = self.source(len(self.recipes))
            c = components[f"c{j}"] = dict(source)
            if used := self.some(EQUIPMENT, 1):
                c["equipment"] = used
            if self.swaps:
                if self.one_in(3):
                    c["may_be_left_off"] = True
                if self.one_in(2):
                    c["swap"] = [
                        {"avoiding": self.some(GUESTS, 2) or ["milk"], "use": self.source(len(self.recipes))}
                        for _ in range(self.chance.randint(1, 2))
                    ]
            steps.append(self.step(f"c{j}", source, j))
        # No plate of this name is there: then nothing is laid out, which is no question here and takes the most time.
        return {
            "dish": f"Dish {i}",
            "revision": {"number": 1, "date": "2026-01-31"},
            "plate": "none",
            "components": components,
            "plating": steps,
        }

    def step(self, key: str, source: dict, j: int) -> dict:
        if self.one_in(2):
            piece = {"shape": "disc", "size": "6 mm"}
            if not self.one_in(4):
                piece["weight"] = self.chance.choice(["0.2 g", "5 g", "12 g"])
            return {"put": key, "piece": piece, "at": {"right": f"{20 * j} mm", "away": "0 mm"}}
        return {
            "put": key,
            "amount": self.how_much({}) or "1 g",
            "arrange": "pool",
            "across": "9 mm",
            "at": {"right": f"{20 * j} mm", "away": "30 mm"},
        }


def text(data: dict) -> str:
    return json.dumps(data, ensure_ascii=False, indent=1)


# Drawn here and not by hypothesis, which takes numbers from whatever other modules are loaded: so each test tries
# the same kitchens alone and among all others.
DRAWN = Random(0)


def seeds(count: int) -> pytest.MarkDecorator:
    """So many seeds, twenty to a test: a smaller seed is no smaller kitchen, so nothing would be shrunk."""
    drawn = [DRAWN.randrange(2**48) for _ in range(count)]
    return pytest.mark.parametrize("drawn", [drawn[i : i + 20] for i in range(0, count, 20)], ids=lambda d: f"{d[0]}")


def by_engine(made: Maker):
    """The kitchen's world with its menu as far as it goes without the laws."""
    world = pipeline.world(sorted(made.files.items()))
    return world, [pipeline.begin(spec, f"specs/{key}.yaml", key, world) for key, spec in made.specs.items()]


def finished(made: Maker):
    world, menu = by_engine(made)
    shared = pipeline.shared_equipment(menu, world)
    return [pipeline.finish(b, shared, world) for b in menu]


# --------------------------------------------------------------------------- what each law declares


@seeds(400)
def test_declarations_of_five_laws(drawn):
    for seed in drawn:
        agree(Maker(seed))


@seeds(20)
def test_declarations_of_a_long_menu(drawn):
    """So many things in one fryer that most chains are left out."""
    for seed in drawn:
        agree(Maker(seed, dishes=16))


def agree(made: Maker) -> None:
    book = oracle.Kitchen(made.files, made.specs)
    for dish in finished(made):
        assert [s.law.key for s in dish.statements] == LAWS
        for said in dish.statements:
            key = said.law.key
            wanted = book.declared(dish.key, key)
            assert {f.allergen: f.presence for f in said.findings} == {n: p for n, (p, _) in wanted.items()}, (
                dish.key,
                key,
            )
            rows = {r["head"]: r for r in oracle.rows(key)}
            for f in said.findings:
                presence, nodes = wanted[f.allergen]
                if f.allergen in rows and presence in (CONTAINS, MAY):
                    assert f.declared_as == oracle.words_for(rows[f.allergen], nodes), (dish.key, key)
                if presence != ABSENT:
                    assert f.reasons, (dish.key, key, f.allergen, "a finding without its chain")
            assert {a.node: a.presence for a in said.also} == book.beside(dish.key, key), (dish.key, key)
            assert {e.node for e in said.exempted} == book.exempted(dish.key, key), (dish.key, key)


@seeds(220)
def test_sums_of_sulphites(drawn):
    for seed in drawn:
        agree_on_sulphites(Maker(seed, dishes=1))


def agree_on_sulphites(made: Maker) -> None:
    book = oracle.Kitchen(made.files, made.specs)
    for dish in finished(made):
        for only_added in (False, True):
            names = ["", *(s.where for s in dish.sums[1:])]
            assert {
                n: (bool(s.counted(only_added)), s.level(only_added)) for n, s in zip(names, dish.sums)
            } == book.levels(dish.key, only_added)


# --------------------------------------------------------------------------- what a guest is told


@seeds(220)
def test_guest_against_every_subset_of_changes(drawn):
    for seed in drawn:
        chance = Random(seed)
        agree_with_a_guest(Maker(seed, swaps=True, unknown=60), chance.sample(GUESTS, chance.randint(1, 3)))


def agree_with_a_guest(made: Maker, words: list[str]) -> None:
    book = oracle.Kitchen(made.files, made.specs)
    world, menu = by_engine(made)
    shared = pipeline.shared_equipment(menu, world)
    tree = world.tracer.taxonomy
    avoids = [understand(w, tree, world.pantry.catalogue) for w in words]
    for begun in menu:
        asked = Asked(begun.resolved, world.pantry, world.tracer, shared, dict(world.kitchen.settings.equipment))
        answer = asked.answer(avoids)
        verdict, changes, remaining = book.answers(begun.key, words)
        assert (answer.answer, len(answer.changes), len({m.avoid.said for m in answer.remaining})) == (
            verdict,
            changes,
            remaining,
        ), (begun.key, words)
        # The plate that is named is tried as well, from its own words.
        plate = dict(book.plate(begun.key))
        for change in answer.changes:
            old = plate.pop(change.component.key)
            if change.swap is not None:
                plate[change.component.key] = {
                    **{k: v for k, v in old.items() if k in ("equipment",)},
                    change.swap.use.kind: change.swap.use.name,
                }
        met = {w: book.met(begun.key, plate, book.understood(w)) for w in words}
        if verdict in ("as_is", "changed"):
            assert all(s <= {MAY} for s in met.values())
        assert {m.avoid.said for m in answer.remaining} == {w for w, s in met.items() if MAY in s}
        assert {c.key for c in answer.dish.components} == set(plate)


# --------------------------------------------------------------------------- the second way itself


def test_the_generator_reaches_every_presence_and_rule():
    """A generator that never meets a rule proves nothing about it."""
    seen, verdicts, deepest = set(), set(), 0
    for seed in range(100):
        made = Maker(seed, swaps=True)
        book = oracle.Kitchen(made.files, made.specs)
        for key in made.menu:
            for law in LAWS:
                seen |= {(law, p) for p, _ in book.declared(key, law).values()}
                seen |= {("exempted", law) for _ in book.exempted(key, law)}
            verdicts.add(book.answers(key, ["gluten"])[0])
            seen |= {"contact" for _ in book.shares(key, book.plate(key))}
        deepest = max(deepest, *(depth(made.recipes, k) for k in made.recipes), 0) if made.recipes else deepest
    assert {(law, p) for law in LAWS for p in (CONTAINS, MAY, UNKNOWN, ABSENT)} <= seen
    assert {("exempted", law) for law in LAWS} | {"contact"} <= seen
    assert verdicts == {"as_is", "changed", "cannot", "not_established"}
    assert deepest >= 5


def depth(recipes: dict, key: str) -> int:
    return 1 + max(
        (depth(recipes, line["recipe"]) for line in recipes[key]["ingredients"] if "recipe" in line), default=0
    )


@pytest.mark.parametrize("name", CHOSEN)
def test_both_ways_know_the_ingredient(name):
    entry = pipeline.catalogue.load()[0].find(name).entry
    assert entry is not None and entry.name == oracle.entry_of()[oracle.plain(name)]["name"]
