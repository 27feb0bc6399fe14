"""The preparation list and the order list: one followed by hand, and what holds for any menu."""

from __future__ import annotations

from fractions import Fraction as F
from math import ceil
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platecard import pipeline
from platecard.files import reading
from platecard.quantities.shelf_life import DAY_S, read
from platecard.reports import prep_sheet
from platecard.service import orders, prep
from platecard.service.prep import Make
from tests.kitchens import LIBRARY, errors, library, poured, recipe

ROOT = Path(__file__).parents[2]


# --------------------------------------------------------------------------- by hand, with a calculator


@pytest.fixture(scope="module")
def tonight():
    """24 char and 18 roe deer in the demo kitchen."""
    project = reading.read_project([str(ROOT / "specs")])
    world = pipeline.world(project.library, project.folder)
    menu = [
        pipeline.begin(s.text, s.file, s.key, world) for s in project.specs if s.key in ("char-cucumber", "roe-deer")
    ]
    work, problems = prep_sheet.work(menu, {"char-cucumber": 24, "roe-deer": 18}, world)
    assert not problems
    return work


def made(work, key: str) -> tuple[int, F, F]:
    """Batches, need and left over, in the unit the recipe makes."""
    (one,) = [m for m in work.plan.makes if m.batch.recipe.key == key]
    makes = one.batch.recipe.makes.mean
    return one.batches, one.need * makes, one.left_over * makes


def order(work, key: str):
    (one,) = [o for o in work.orders if o.key[1] == key]
    return one


def test_the_char_by_hand(tonight):
    # Seven slices of 9 g on each of 24 plates; a batch makes 860 g.
    assert made(tonight, "cured-char") == (2, F(7 * 9 * 24), F(2 * 860 - 1512))
    # Two sides go into each batch, and a fish has two: two fish of 2.1 kg at 17.80 a kilo.
    assert 2 * 2 / 2 == 2 and F("17.80") * F("2.1") * 2 == F("74.76")
    fish = order(tonight, "arctic-char")
    assert (fish.need, fish.packs, fish.over, fish.cost.amount) == (2, 2, 0, F("74.76"))


def test_the_buttermilk_by_hand(tonight):
    # 50 ml on each of 24 plates are 1200 ml; a batch makes 900 ml, so two, and 600 ml are over.
    assert made(tonight, "dill-buttermilk") == (2, 1200, 600)
    # Two batches take 1400 ml; the dairy sells it by the litre.
    assert (
        order(tonight, "buttermilk").need,
        order(tonight, "buttermilk").packs,
        order(tonight, "buttermilk").over,
    ) == (1400, 2, 600)


def test_the_celeriac_by_hand(tonight):
    # Three wedges of 18 g on 18 plates: 972 g; a batch makes 900 g.
    assert made(tonight, "baked-celeriac") == (2, 972, 828)
    # 21 g of cream on 18 plates: 378 g; of a batch of 1000 g, 4 % stay in the pot and the blender.
    assert made(tonight, "celeriac-cream") == (1, 378, 582)
    # Two batches baked whole take 1.4 kg each as bought; one of cream takes 800 g trimmed, and 82 % are left by
    # trimming.
    need = 2 * 1400 + F(800) / F("0.82")
    assert round(float(need), 2) == 3775.61
    bought = order(tonight, "celeriac")
    assert (bought.need, bought.packs, bought.over) == (need, 1, 5000 - need)


def test_the_jus_by_hand(tonight):
    # 25 ml at 1.05 g/ml on 18 plates: 472.5 g of a batch of 1 kg.
    assert made(tonight, "roe-jus") == (1, F("472.5"), F("527.5"))
    # One batch of jus takes 4 kg of stock, which is one batch, which takes 1 kg of the base.
    assert made(tonight, "game-stock") == (1, 4000, 0)
    # The kitchen keeps 2 kg of the base and has 1 kg: it makes one batch of 1 kg, and 1 kg is there afterwards.
    assert made(tonight, "aromatic-base") == (1, 1000, 1000)
    # 30 g of jelly, 1.4 kg on the shelf: nothing to make.
    assert made(tonight, "redcurrant-jelly") == (0, 30, 1370)


def test_what_several_recipes_share_by_hand(tonight):
    # Butter: three batches of loin 60 g each, jus 60 g, cream 100 g, crisp 40 g.
    assert order(tonight, "butter").need == 3 * 60 + 60 + 100 + 40 and order(tonight, "butter").packs == 1
    # Dill: 24 plates of five fronds of 0.2 g; 160 g of oil; two batches of buttermilk 40 g each; at most four sprigs
    # of 0.2 g
    # in the pickle; and of what is bought 59 % are left.
    need = (24 * F(5) / 5 + 160 + 2 * 40 + 4 * F(1, 5)) / F("0.59")
    assert order(tonight, "dill").need == need and order(tonight, "dill").packs == ceil(need / 250) == 2
    # Roe deer: three batches of loin, 1 kg trimmed at 88 %, and 2.5 kg of bones as bought.
    assert order(tonight, "venison").need == 3 * F(1000) / F("0.88") + 2500
    # The oil in the tank is used again: 2 % of 3 l stay in the potato, with 80 ml on the celeriac, 60 ml in the base,
    # and 400 g of dill oil at 0.921.
    oil = order(tonight, "rapeseed-oil")
    assert oil.need == F(3000) * F("0.02") + 2 * 40 + 60 + 400 / F("0.921") and oil.packs == 0 and oil.on_hand == 4000
    # Vinegar: 120 and 150 ml; the kitchen keeps 4 l and has 2.5 l, so one box of 5 l.
    vinegar = order(tonight, "cider-vinegar")
    assert (vinegar.need, vinegar.packs, vinegar.over) == (270, 1, 5000 + 2500 - 270)
    # What the plates need of salt is there: nothing to buy.
    assert order(tonight, "salt").packs == 0
    assert "water" not in {o.called for o in tonight.orders}


def test_when_it_is_made(tonight):
    days = {m.batch.recipe.key: m.days for m in tonight.plan.makes}
    # The stock is made two days before, so the base in it is too, though it says one.
    assert (days["game-stock"], days["aromatic-base"], days["roe-jus"], days["roe-loin"], days["redcurrant-jelly"]) == (
        2,
        2,
        1,
        0,
        None,
    )
    assert "made earlier" in next(m for m in tonight.plan.makes if m.batch.recipe.key == "aromatic-base").notes[0]
    flagged = {m.batch.recipe.key: [f.called for f in m.flags] for m in tonight.plan.makes}
    assert flagged["roe-loin"] == ["juniper berry", "salt"] and flagged["celeriac-cream"] == [], (
        "one batch is made as it is written"
    )


@pytest.mark.parametrize(
    "text, days",
    [
        ("1 day", 1),
        ("2 days", 2),
        ("3 weeks", 21),
        ("2 hours", 0),
        ("to order, tempered 40 min", 0),
        ("the same morning", 0),
        ("", 0),
        ("in July", None),
    ],
)
def test_days_ahead(text, days):
    assert read(text, "made_ahead").days_before == days


@pytest.mark.parametrize(
    "text, days",
    [
        ("4 days in the fridge, or frozen", 4),
        ("1 week, airtight", 7),
        ("until the end of service", 0),
        ("under its brine", None),
    ],
)
def test_keeping(text, days):
    found = read(text, "keeps").shortest_s
    assert found == (None if days is None else days * DAY_S)


# --------------------------------------------------------------------------- small kitchens


def kitchen_of(pantry: str = "", **recipes: str):
    more = {f"shared/recipes/{k.replace('_', '-')}.yaml": v for k, v in recipes.items()}
    if pantry:
        more["shared/pantry-more.yaml"] = f"products:\n{pantry}"
    world = pipeline.world(library({**LIBRARY, **more}))
    assert errors(world.problems) == []
    return world


def planned(world, covers: dict[str, int], **specs: str):
    menu = [pipeline.begin(text, f"specs/{key}.yaml", key, world) for key, text in specs.items()]
    return prep_sheet.work(menu, covers, world)[0]


def test_left_behind_is_made_on_top():
    world = kitchen_of(foam=recipe("Foam", [("ingredient", "milk", "400 g")], makes="400 g\nleft_behind: 8 %"))
    spec = poured({"foam": "{recipe: foam}"}, {"foam": "12 g"})
    for plates, count in ((30, 1), (31, 2)):
        (one,) = planned(world, {"a": plates}, a=spec).plan.makes
        assert one.batches == count and one.left_over * 400 == count * 368 - plates * 12


def test_whole_fish_are_counted_where_portions_cannot_be_joined():
    """Hake of 1.4 kg, 40 % skin-on, portions of 160 g: one to a fillet, so nine fish for eighteen plates."""
    world = kitchen_of(
        "  hake: {called: Hake whole, is: hake, piece: 1.4 kg, trim_yield: 40 %, gives: {fillet: 2}, pack: 1 piece,"
        " price: 12 EUR / kg}\n"
    )
    spec = poured({"fish": "{product: hake}"}).replace(
        "amount: 10 g, arrange: pool, across: 20 mm", "piece: {shape: fillet, size: 60 x 30 mm, weight: 160 g}"
    )
    (one,) = planned(world, {"a": 18}, a=spec).orders
    assert (one.need, one.packs, one.cost.amount) == (9, 9, F(9) * F("1.4") * 12)
    spec = spec.replace("weight: 160 g", "weight: 300 g")
    (one,) = planned(world, {"a": 18}, a=spec).orders
    assert one.packs is None and one.need is None and "portion that fits" in one.open[0]


def test_fillets_in_a_recipe_become_fish():
    world = kitchen_of(
        "  bream: {called: Bream whole, is: sea bream, piece: 600 g, trim_yield: 45 %, gives: {fillet: 2}, pack: 1"
        " piece}\n",
        pan=recipe("Pan bream", [("product", "bream", "2 fillets")], makes="2 pieces"),
    )
    spec = poured({"fish": "{recipe: pan}"}).replace(
        "amount: 10 g, arrange: pool, across: 20 mm", "piece: {shape: fillet, size: 60 x 30 mm, weight: 120 g}"
    )
    for covers, fish in ((14, 7), (15, 8)):
        assert planned(world, {"a": covers}, a=spec).orders[0].packs == fish
    assert world.pantry.batches["pan"].lines[0].grams == 2 * 600 * F("0.45") / 2, (
        "a fillet weighs half of what trimming leaves, not a whole fish"
    )


def test_a_fish_by_its_form_uses_the_published_factor():
    world = kitchen_of("  cod: {called: Cod gutted, is: cod, bought_as: gutted, used_as: fillet, price: 10 EUR / kg}\n")
    (one,) = planned(world, {"a": 10}, a=poured({"fish": "{product: cod}"}, {"fish": "100 g"})).orders
    assert one.need == 1000 / (F("1.20") / F("2.45")) and "CWP" in one.trims[0]


def test_what_cannot_be_computed_is_not_known_and_the_rest_is_computed():
    world = kitchen_of(
        "  bags: {called: Tea bags, label: {read: 2026-01-02, contains: []}, pack: 100 g, price: 2 EUR}\n",
        tea=recipe("Tea", [("product", "bags", "3 pieces"), ("ingredient", "sugar", "50 g")], makes="500 ml"),
    )
    work = planned(world, {"a": 4}, a=poured({"tea": "{recipe: tea}", "dill": "{ingredient: dill}"}, {"tea": "20 g"}))
    (gap,) = work.plan.gaps  # grams of something made by volume, and no density
    assert gap.what == "Tea" and "is not known" in gap.why and gap.span.file == "specs/a.yaml"
    (make,) = [m for m in work.plan.makes]
    assert make.is_least and make.batches == 0
    assert [p.called for p in work.plan.picks] == ["dill"]
    words = "\n".join(prep_sheet.in_words(work, lambda span: {"file": span.file, "line": span.line}))
    assert "Not known" in words and "[ ] Tea: not known" in words
    work = planned(world, {"a": 4}, a=poured({"tea": "{recipe: tea}"}, {"tea": "20 ml"}))
    (bags,) = [o for o in work.orders if o.key == ("product", "bags")]
    assert bags.need is None and bags.packs is None and bags.cost is None and "what one piece weighs" in bags.open[0]
    data = {o["key"]: o for o in prep_sheet.as_data(work, lambda span: {})["order"]}
    assert data["bags"]["need"] is None and data["bags"]["at_least"] and data["sugar"]["need"] == 50


def test_stock_that_cannot_be_counted_is_said():
    world = kitchen_of(tea=recipe("Tea", [("ingredient", "sugar", "50 g")], makes="500 ml\non_hand: 200 g"))
    (make,) = planned(world, {"a": 4}, a=poured({"tea": "{recipe: tea}"}, {"tea": "20 ml"})).plan.makes
    assert make.on_hand == 0 and make.batches == 1 and "not counted" in make.notes[0]


def test_a_dish_nobody_eats_needs_nothing():
    world = kitchen_of(oil=recipe("Oil", [("ingredient", "olive oil", "50 g")]))
    work = planned(world, {"a": 0}, a=poured({"oil": "{recipe: oil}"}))
    assert work.plan.makes == () and work.orders == ()


# --------------------------------------------------------------------------- what holds for any menu


@st.composite
def menus(draw):
    """A kitchen of recipes in recipes, bought things with packs and trims, and up to three dishes."""
    bought = ["sugar", "butter", "celeriac", "wheat flour"]
    trims = draw(st.lists(st.integers(10, 100), min_size=4, max_size=4))
    packs = draw(st.lists(st.integers(1, 5000), min_size=4, max_size=4))
    hand = draw(st.lists(st.integers(0, 800), min_size=4, max_size=4))
    pantry = "".join(
        f"  p{i}: {{called: P{i}, is: {b}, trim_yield: {t} %, pack: {p} g, on_hand: {h} g, price: 1 EUR}}\n"
        for i, (b, t, p, h) in enumerate(zip(bought, trims, packs, hand))
    )
    count = draw(st.integers(1, 5))
    recipes = {}
    for i in range(count):
        lines = [
            ("product", f"p{draw(st.integers(0, 3))}", f"{draw(st.integers(1, 900))} g")
            for _ in range(draw(st.integers(1, 3)))
        ]
        lines += [
            ("recipe", f"r{j}", f"{draw(st.integers(1, 700))} g") for j in range(i + 1, count) if draw(st.booleans())
        ]
        extra = (
            f"\nleft_behind: {draw(st.integers(0, 40))} %\non_hand: {draw(st.integers(0, 300))} g\npar:"
            f" {draw(st.integers(0, 500))} g"
        )
        recipes[f"r{i}"] = recipe(f"R{i}", lines, makes=f"{draw(st.integers(50, 2000))} g{extra}")
    specs = {
        f"d{k}": poured(
            {f"c{j}": f"{{recipe: r{draw(st.integers(0, count - 1))}}}" for j in range(draw(st.integers(1, 2)))},
            {"c0": f"{draw(st.integers(1, 90))} g"},
            f"Dish {k}",
        )
        for k in range(draw(st.integers(1, 3)))
    }
    return pantry, recipes, specs, {k: draw(st.integers(0, 40)) for k in specs}


def needed(world, specs: dict[str, str], covers: dict[str, int]) -> dict[str, F]:
    """Grams of each product as bought, by walking from plate to leaf: no batch rounded, no stock, no merging."""
    found: dict[str, F] = {}

    def walk(key: str, grams: F) -> None:
        kitchen = world.kitchen
        made = kitchen.recipes[key]
        batches = grams / (made.makes.mean * (1 - made.left_behind))
        for line in made.lines:
            amount = line.amount.mean * batches
            if line.source.kind == "recipe":
                walk(line.source.name, amount)
            else:
                product = line.source.name
                found[product] = found.get(product, F(0)) + amount / kitchen.supply("product", product).trim_yield

    for key, text in specs.items():
        dish = pipeline.begin(text, f"specs/{key}.yaml", key, world).dish
        for step in dish.steps if covers[key] else ():
            walk(dish.component(step.put).source.name, step.amount.mean * covers[key])
    return found


@settings(max_examples=40)
@given(menus())
def test_any_menu(case):
    pantry, recipes, specs, covers = case
    world = kitchen_of(pantry, **recipes)
    work = planned(world, covers, **specs)
    assert work.plan.gaps == ()
    # Before any rounding the needs are those of a plain walk from plate to leaf.
    exact = {key[1]: leaf.amounts["g"] for key, leaf in work.plan.exact.items()}
    assert exact == needed(world, specs, covers)
    # Enough of every recipe is made, and enough of everything is bought, for the plates and for the whole batches.
    for make in work.plan.makes:
        assert (
            make.left_over >= 0 and make.batches * (1 - make.batch.recipe.left_behind) + make.on_hand >= make.need >= 0
        )
    for one in work.orders:
        assert one.packs * one.pack.mean + one.on_hand >= one.need
        assert (one.packs == 0) or (one.packs - 1) * one.pack.mean + one.on_hand < max(one.need, one.par), (
            "and not a pack more"
        )
    if not any(supply.on_hand for (kind, _), supply in world.kitchen.supplies.items() if kind == "recipe"):
        for one in work.orders:
            assert one.need >= exact.get(one.key[1], 0)
    # Twice the covers never halve anything.
    double = planned(world, {k: 2 * n for k, n in covers.items()}, **specs)
    many: dict[str, Make] = {m.batch.recipe.key: m for m in double.plan.makes}
    for make in work.plan.makes:
        assert (
            many[make.batch.recipe.key].exact == 2 * make.exact
            and many[make.batch.recipe.key].batches >= make.batches
            and many[make.batch.recipe.key].need >= make.need
        )
    twice = {o.key: o for o in double.orders}
    for one in work.orders:
        assert twice[one.key].packs >= one.packs and twice[one.key].need >= one.need
    # A menu split in two and added up is the whole.
    halves = [
        planned(
            world,
            {k: n for k, n in covers.items() if (k == "d0") is first},
            **{k: t for k, t in specs.items() if (k == "d0") is first},
        )
        for first in (True, False)
    ]
    added: dict[str, F] = {}
    for half in halves:
        for key, leaf in half.plan.exact.items():
            added[key[1]] = added.get(key[1], F(0)) + leaf.amounts["g"]
    assert added == exact


@settings(max_examples=25)
@given(menus(), st.integers(1, 40))
def test_covers_of_one_dish_split_in_two_are_the_whole(case, more):
    pantry, recipes, specs, _ = case
    world = kitchen_of(pantry, **recipes)
    text = specs["d0"]
    whole = planned(world, {"d0": 7 + more}, d0=text)
    parts = [planned(world, {"d0": n}, d0=text) for n in (7, more)]
    for key, leaf in whole.plan.exact.items():
        assert leaf.amounts["g"] == sum(p.plan.exact[key].amounts["g"] for p in parts)


def test_ordering_is_stable_and_by_supplier(tonight):
    names = [o.supplier for o in tonight.orders]
    assert names == sorted(names, key=lambda n: (n == "", n))
    again = orders.orders(prep.plan([], tonight.kitchen).leaves, tonight.kitchen)
    assert again == ()
