"""What must hold in every kitchen, tried on many small invented ones."""

from __future__ import annotations

from collections import Counter
from fractions import Fraction as F

from hypothesis import assume, given, settings
from hypothesis import strategies as st

from platecard.allergens import sulphites
from platecard.allergens.traces import MAX_CHAINS
from platecard.knowledge import taxonomy
from tests.kitchens import PANTRY, errors, grams_on_plate, kitchen, poured, prepared, presences, recipe

# Catalogue names with one, several or no nodes, and forms that some law exempts.
PLAIN = [
    "beetroot",
    "dill",
    "sunflower oil",
    "butter",
    "buttermilk",
    "egg",
    "plain flour",
    "rye flour",
    "hazelnut",
    "almond",
    "sesame oil",
    "mustard seed",
    "celery",
    "soy sauce",
    "cod",
    "brown shrimp",
    "refined soybean oil",
    "refined peanut oil",
    "soybean oil",
    "peanut oil",
]
NOBODY_KNOWS = "wumpus root"
RANK = {"not_among_ingredients": 0, "may_contain": 1, "not_established": 2, "contains": 3}


def known(names: list[str]) -> list[str]:
    """Those of the names that a dish can hold without a question."""
    return [n for n in names if not errors(prepared(poured({"it": f"{{ingredient: {n}}}"})).problems)]


NAMES = st.sampled_from(known(PLAIN))
AMOUNT = st.integers(1, 400)


@st.composite
def kitchens(draw, least: int = 1):
    """Up to four recipes, each of ingredients and of the recipes below it, and a dish of two to four components."""
    count = draw(st.integers(least, 4))
    recipes = []
    for i in range(count):
        lines = draw(st.lists(st.tuples(st.just("ingredient"), NAMES, AMOUNT), min_size=1, max_size=4))
        below = draw(st.lists(st.integers(i + 1, count - 1), max_size=2)) if i + 1 < count else []
        lines += [("recipe", f"r{j}", draw(AMOUNT)) for j in below]
        recipes.append((lines, draw(st.integers(50, 500))))
    components = {"top": ("recipe", "r0", draw(AMOUNT))}
    for k in range(draw(st.integers(1, 3))):
        components[f"c{k}"] = draw(
            st.one_of(
                st.tuples(st.just("ingredient"), NAMES, AMOUNT),
                st.tuples(st.just("recipe"), st.integers(0, count - 1).map("r{}".format), AMOUNT),
            )
        )
    return recipes, components


def files_of(recipes, factor: F = F(1), makes: F = F(1)) -> dict[str, str]:
    return {
        f"shared/recipes/r{i}.yaml": recipe(
            f"R{i}",
            [(kind, name, f"{int(amount * factor)} g") for kind, name, amount in lines],
            f"{int(made * factor * makes)} g",
        )
        for i, (lines, made) in enumerate(recipes)
    }


def dish_of(components) -> str:
    return poured(
        {key: f"{{{kind}: {name}}}" for key, (kind, name, _) in components.items()},
        {key: f"{amount} g" for key, (_, _, amount) in components.items()},
    )


def roads(recipes, components) -> int:
    """How many ways lead from the plate down to an ingredient."""

    def below(kind, name):
        return sum(below(k, n) for k, n, _ in recipes[int(name[1:])][0]) if kind == "recipe" else 1

    return sum(below(kind, name) for kind, name, _ in components.values())


def said(one, with_reasons: bool = False) -> dict:
    """The statement without places and without an order."""
    found = {}
    for s in one.statements:
        for f in s.findings:
            reasons = (
                frozenset(tuple(link.words for link in chain) for chain in f.reasons)
                if with_reasons
                else bool(f.reasons)
            )
            found[f.law, f.allergen] = (f.declared_as, f.presence, reasons)
        found[s.law.key, "also"] = frozenset((a.node, a.presence) for a in s.also)
        found[s.law.key, "exempted"] = frozenset((e.node, e.exemption.point) for e in s.exempted)
    return found


# --------------------------------------------------------------------------- allergens


@given(kitchens(), NAMES, st.data())
def test_an_ingredient_more_never_takes_an_allergen_away(made, name, data):
    """Sulphites excepted: they are a concentration, and more food around them can bring it under the limit."""
    recipes, components = made
    before = presences(prepared(dish_of(components), files_of(recipes)))
    where = data.draw(st.integers(-1, len(recipes) - 1))
    if where < 0:
        components = {**components, "more": ("ingredient", name, 10)}
    else:
        recipes = [
            (lines + [("ingredient", name, 10)], makes) if i == where else (lines, makes)
            for i, (lines, makes) in enumerate(recipes)
        ]
    after = presences(prepared(dish_of(components), files_of(recipes)))
    for key, presence in before.items():
        if key[1] != "sulphite":
            assert RANK[after[key]] >= RANK[presence], key


@given(kitchens(), st.randoms(use_true_random=False))
def test_the_order_of_components_and_lines_changes_nothing(made, chance):
    recipes, components = made
    # Of very many roads to one allergen only some are told as its reasons.
    few = roads(recipes, components) <= MAX_CHAINS
    before = said(prepared(dish_of(components), files_of(recipes)), with_reasons=few)
    keys = list(components)
    chance.shuffle(keys)
    shuffled = [(chance.sample(lines, len(lines)), makes) for lines, makes in recipes]
    assert said(prepared(dish_of({k: components[k] for k in keys}), files_of(shuffled)), with_reasons=few) == before


@given(kitchens(), st.data())
def test_an_unknown_anywhere_shows_at_the_plate(made, data):
    recipes, components = made
    # Only recipes that the dish reaches matter; r0 is always on the plate.
    reached, ahead = {0}, [0]
    while ahead:
        for kind, name, _ in recipes[ahead.pop()][0]:
            if kind == "recipe" and int(name[1:]) not in reached:
                reached.add(int(name[1:]))
                ahead.append(int(name[1:]))
    where = data.draw(st.sampled_from(sorted(reached)))
    recipes = [
        (lines + [("ingredient", NOBODY_KNOWS, 10)], makes) if i == where else (lines, makes)
        for i, (lines, makes) in enumerate(recipes)
    ]
    one = prepared(dish_of(components), files_of(recipes))
    assert not one.is_sound
    assert any(p.slug == "unknown-ingredient" for p in errors(one.problems))
    assert one.statements and set(presences(one).values()) <= {"contains", "not_established"}


@given(kitchens())
def test_a_product_without_a_label_shows_at_the_plate(made):
    recipes, components = made
    files = {**files_of(recipes), PANTRY: "products:\n  paste: {called: Curry paste of the house over the road}\n"}
    one = prepared(dish_of({**components, "paste": ("product", "paste", 5)}), files)
    assert not one.is_sound and set(presences(one).values()) <= {"contains", "not_established"}
    assert any(p.slug == "allergens-not-established" for p in errors(one.problems))


@given(kitchens(least=2))
def test_nested_and_written_out_recipes_declare_the_same(made):
    """Each recipe in r0 written out as its ingredients: another tree, the same food, the same declaration."""
    recipes, components = made
    assume(any(kind == "recipe" for kind, _, _ in recipes[0][0]))

    def leaves(i):
        for kind, name, amount in recipes[i][0]:
            yield from leaves(int(name[1:])) if kind == "recipe" else [(kind, name, amount)]

    flat = [(list(leaves(0)), recipes[0][1]), *recipes[1:]]
    assert said(prepared(dish_of(components), files_of(recipes))) == said(prepared(dish_of(components), files_of(flat)))


EXEMPT = [("refined soybean oil", "soy"), ("refined peanut oil", "peanut")]
CARRIERS = {"soy": ["soybean oil", "soy sauce"], "peanut": ["peanut oil"]}


@given(st.sampled_from(EXEMPT), st.data(), kitchens(), st.booleans())
def test_an_exemption_never_reaches_a_node_that_came_by_another_road(exempt, data, made, deep):
    oil, node = exempt
    recipes, components = made
    other = data.draw(st.sampled_from(CARRIERS[node]))
    recipes = [
        (lines + [("ingredient", other, 5)], makes) if i == (0 if not deep else len(recipes) - 1) else (lines, makes)
        for i, (lines, makes) in enumerate(recipes)
    ]
    components = {**components, "oil": ("ingredient", oil, 10), "deep": ("recipe", f"r{len(recipes) - 1}", 10)}
    one = prepared(dish_of(components), files_of(recipes))
    for s in one.statements:
        found = [f for f in s.findings if taxonomy.load()[0].is_under(node, f.allergen) or f.allergen == node]
        assert all(f.presence == "contains" for f in found) and found, s.law.key


def test_an_exempt_form_alone_is_left_out_where_the_law_says_so():
    """The soya oil of Annex II 6(a) of Regulation (EU) 1169/2011, and none of the peanut, which that Annex does not
    exempt.
    """
    one = prepared(poured({"oil": "{ingredient: refined soybean oil}", "other": "{ingredient: refined peanut oil}"}))
    found = presences(one)
    assert found["eu", "soy"] == "not_among_ingredients" and found["eu", "peanut"] == "contains"


# --------------------------------------------------------------------------- grams


@given(kitchens(), st.integers(2, 7))
def test_scaling_a_recipe_changes_no_gram_on_the_plate(made, factor):
    recipes, components = made
    assert grams_on_plate(prepared(dish_of(components), files_of(recipes, F(factor))).resolved) == grams_on_plate(
        prepared(dish_of(components), files_of(recipes)).resolved
    )


@given(st.lists(st.tuples(st.just("ingredient"), NAMES, AMOUNT), min_size=1, max_size=4), st.integers(50, 500), AMOUNT)
def test_twice_the_yield_of_the_same_ingredients_halves_every_gram(lines, makes, amount):
    dish = dish_of({"top": ("recipe", "r0", amount)})
    once = grams_on_plate(prepared(dish, files_of([(lines, makes)])).resolved)
    twice = grams_on_plate(prepared(dish, files_of([(lines, makes)], makes=F(2))).resolved)
    assert twice == {name: grams / 2 for name, grams in once.items()}


@given(kitchens())
def test_what_lies_on_the_plate_is_what_the_steps_say(made):
    _, components = made
    one = prepared(dish_of(components), files_of(made[0]))
    assert {p.component.key: p.use.grams for p in one.resolved.parts} == {
        key: amount for key, (_, _, amount) in components.items()
    }


# --------------------------------------------------------------------------- sulphites

WINE = (
    "products:\n  wine: {called: Cellar white, label: {read: 2026-01-01, contains: [sulphites], sulphites: 120"
    " mg/kg}}\n"
)


def sums(wine: int, rest: int, levels: str = "120 mg/kg"):
    one = prepared(
        poured(
            {"wine": "{product: wine}", "rest": "{ingredient: beetroot}"}, {"wine": f"{wine} g", "rest": f"{rest} g"}
        ),
        {PANTRY: WINE.replace("120 mg/kg", levels)},
    )
    return one, sulphites.sums(one.resolved, one.world.tracer.taxonomy)


@given(AMOUNT, AMOUNT)
def test_the_level_on_the_plate_is_mass_times_level_over_mass(wine, rest):
    _, (plate, component) = sums(wine, rest)
    assert plate.level() == F(120 * wine, wine + rest) and component.level() == 120


@given(AMOUNT, AMOUNT, st.integers(2, 9))
def test_the_level_does_not_depend_on_the_size_of_the_plate(wine, rest, factor):
    assert sums(wine, rest)[1][0].level() == sums(wine * factor, rest * factor)[1][0].level()


@given(AMOUNT, AMOUNT, st.integers(1, 50))
def test_more_of_the_sulphited_raises_the_level_and_more_of_the_rest_lowers_it(wine, rest, more):
    level = sums(wine, rest)[1][0].level()
    assert sums(wine + more, rest)[1][0].level() > level > sums(wine, rest + more)[1][0].level()


@given(st.integers(1, 30), st.integers(20, 200))
def test_a_component_over_the_limit_is_declared_however_much_food_lies_beside_it(wine, rest):
    """A guest may eat the wine jelly alone; the plate's own level is not all that counts."""
    one, _ = sums(wine, rest)
    assert presences(one)["eu", "sulphite"] == "contains"


def test_a_level_that_is_not_known_is_declared():
    one, _ = sums(1, 200, "120 mg/kg")
    files = {PANTRY: WINE.replace(", sulphites: 120 mg/kg", "")}
    one = prepared(
        poured({"wine": "{product: wine}", "rest": "{ingredient: beetroot}"}, {"wine": "1 g", "rest": "390 g"}), files
    )
    assert presences(one)["eu", "sulphite"] == presences(one)["us", "sulphite"] == "contains"


def test_exactly_at_the_limit_the_two_laws_differ():
    """Over 10 mg/kg in the EU (Regulation 1169/2011 Annex II 12); 10 or more in the US (21 CFR 101.100(a)(4))."""
    one, _ = sums(10, 100, "10 mg/kg")
    assert presences(one)["eu", "sulphite"] == "not_among_ingredients"
    assert presences(one)["us", "sulphite"] == "contains"


# --------------------------------------------------------------------------- the same bytes


def test_two_runs_give_the_same_bytes(room, tmp_path):
    """Other seeds of Python's hashing, other time zones, other places to start from: nothing of it shows."""
    second = (
        kitchen()["specs/beetroot.yaml"]
        .replace("Smoked beetroot", "Second beetroot")
        .replace("3, piece: {shape: disc", "5, piece: {shape: disc")
    )
    room.write({**kitchen(), "specs/second.yaml": second})
    assert room.command("build", "--out", "one", PYTHONHASHSEED="1", TZ="UTC", LC_ALL="C").code == 0
    (tmp_path / "elsewhere").mkdir()
    other = room.command(
        "build",
        str(tmp_path / "specs"),
        "--out",
        str(tmp_path / "two"),
        cwd=tmp_path / "elsewhere",
        PYTHONHASHSEED="4242",
        TZ="Pacific/Auckland",
        LC_ALL="C.UTF-8",
    )
    assert other.code == 0
    assert room.cards("one") == [
        "beetroot/pass-card.pdf",
        "beetroot/plate.svg",
        "second/pass-card.pdf",
        "second/plate.svg",
    ]
    assert room.files("one") == room.files("two") and room.bytes_of("one") == room.bytes_of("two")
    assert (tmp_path / "one/.made.json").read_bytes() == (tmp_path / "two/.made.json").read_bytes()


@given(kitchens())
@settings(max_examples=10)
def test_the_findings_of_one_spec_are_the_same_twice(made):
    recipes, components = made
    first, second = (prepared(dish_of(components), files_of(recipes)) for _ in range(2))
    assert first.statements == second.statements and first.problems == second.problems
    assert Counter(first.problems).most_common(1) == [] or Counter(first.problems).most_common(1)[0][1] == 1
