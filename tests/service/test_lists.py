"""What a kitchen would make, pick, buy or pay wrongly if the lists of preparation and orders were wrong.

All sums are by hand; every kitchen here is invented.
"""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from platecard import pipeline
from platecard.reports import prep_sheet
from platecard.service import cost, orders
from tests.kitchens import poured, recipe
from tests.service.test_prep import kitchen_of, planned

POOL = "amount: 10 g, arrange: pool, across: 20 mm"
SUGAR = ("ingredient", "sugar", "100 g")


def pieces(spec: str, more: str, count: int = 1) -> str:
    """The spec with pieces in place of its only pool."""
    assert spec.count(POOL) == 1
    laid = 'arrange: line, from: "9:00", to: "3:00", ' if count > 1 else ""
    spec = spec.replace(", at: {right: 0 mm, away: 0 mm}", "") if laid else spec
    return spec.replace(POOL, f"count: {count}, {laid}piece: {{shape: disc, size: 8 mm{more}}}")


def makes(work) -> dict:
    return {m.batch.recipe.key: m for m in work.plan.makes}


def bought(work) -> dict:
    return {o.key[1]: o for o in work.orders}


# --------------------------------------------------------------------------- what to make


def chain(top: str = "", middle: str = "", base: str = ""):
    """A sauce from a stock from a base, each with further keys."""
    return kitchen_of(
        sauce=recipe("Sauce", [("recipe", "stock", "100 g")], makes=f"100 g\n{top}"),
        stock=recipe("Stock", [("recipe", "base", "100 g"), SUGAR], makes=f"100 g\n{middle}"),
        base=recipe("Base", [SUGAR], makes=f"100 g\n{base}"),
    )


SAUCED = poured({"sauce": "{recipe: sauce, station: larder}"}, {"sauce": "10 g"})


def test_what_goes_into_a_sauce_is_on_the_list_below_it_and_of_its_station():
    work = planned(chain(), {"a": 3}, a=SAUCED)
    assert [(m.batch.recipe.key, m.depth, m.station) for m in work.plan.makes] == [
        ("sauce", 0, "larder"),
        ("stock", 1, "larder"),
        ("base", 2, "larder"),
    ]
    own = makes(planned(chain(middle="station: sauce\n"), {"a": 3}, a=SAUCED))
    assert (own["sauce"].station, own["stock"].station, own["base"].station) == ("larder", "sauce", "sauce")
    assert makes(planned(chain(top="station: sauce\n"), {"a": 3}, a=SAUCED))["sauce"].station == "sauce"


def test_a_recipe_of_two_dishes_is_made_once_for_both_and_says_so():
    work = planned(chain(), {"a": 4, "b": 5}, a=SAUCED, b=poured({"stock": "{recipe: stock}"}, {"stock": "20 g"}, "B"))
    found = makes(work)
    # Four plates of 10 g are one batch of sauce, which takes a batch of stock; five plates of 20 g are another.
    assert (found["stock"].need, found["stock"].batches) == (2, 2) and found["stock"].exact == F(4, 10) + 1
    assert set(found["stock"].used_for) == {"Sauce", "B"} and found["sauce"].used_for == ("A dish of the tests",)
    assert found["stock"].depth == 1 and found["base"].depth == 2
    order = [m.batch.recipe.key for m in work.plan.makes]
    assert order.index("sauce") < order.index("stock") < order.index("base")
    assert work.plan.covers == (("a", "A dish of the tests", 4, 4), ("b", "B", 5, 5))


def test_what_goes_into_something_made_ahead_is_made_as_early():
    found = makes(planned(chain(top="made_ahead: 2 days\n", base="made_ahead: 1 day\n"), {"a": 3}, a=SAUCED))
    assert [found[k].days for k in ("sauce", "stock", "base")] == [2, 2, 2]
    earlier = [any("made earlier" in note for note in found[k].notes) for k in ("sauce", "stock", "base")]
    assert earlier == [False, True, True]
    found = makes(planned(chain(top="made_ahead: 1 day\n", base="made_ahead: 3 days\n"), {"a": 3}, a=SAUCED))
    assert [found[k].days for k in ("sauce", "stock", "base")] == [1, 1, 3]
    assert found["base"].notes == ()


@pytest.mark.parametrize(
    "said, noted",
    [
        ("made_ahead: 2 days\nkeeps: 1 day\n", True),
        ("made_ahead: 2 days\nkeeps: 2 days\n", False),
        ("made_ahead: 2 days\nkeeps: 3 days\n", False),
        ("made_ahead: 1 day\nkeeps: 12 hours\n", True),
        ("made_ahead: 36 hours\nkeeps: 30 hours\n", True),
        ("made_ahead: 36 hours\nkeeps: 40 hours\n", False),
        ("made_ahead: 2 hours\nkeeps: 1 hour\n", False),
        ("keeps: 1 hour\n", False),
        ("made_ahead: 1 day\n", False),
    ],
)
def test_what_does_not_keep_until_it_is_eaten_is_noted(said, noted):
    (one,) = makes(planned(chain(base=said), {"a": 3}, a=poured({"base": "{recipe: base}"}))).values()
    assert any("ahead, and keeps" in note for note in one.notes) is noted


def test_a_base_made_early_for_its_sauce_must_keep_as_long():
    found = makes(planned(chain(top="made_ahead: 2 days\n", base="keeps: 1 day\n"), {"a": 3}, a=SAUCED))
    assert any("2 days ahead, and keeps 1 day" in note for note in found["base"].notes)
    assert not any("and keeps" in note for note in found["stock"].notes)


def test_nothing_is_noted_of_what_is_not_made_tonight():
    stocked = chain(base="made_ahead: 2 days\nkeeps: 1 day\non_hand: 1 kg\n")
    (one,) = makes(planned(stocked, {"a": 3}, a=poured({"base": "{recipe: base}"}))).values()
    assert (one.batches, one.notes, one.left_over) == (0, (), F(10) - F(3, 10))


def test_the_par_is_made_up_to_and_of_a_range_the_safe_end_counts():
    def made(said: str, plates: int = 3):
        return makes(planned(chain(base=said), {"a": plates}, a=poured({"base": "{recipe: base}"})))["base"]

    one = made("par: 350 g\non_hand: 100 g\n")
    assert (one.par, one.on_hand, one.batches, one.left_over) == (F(7, 2), 1, 3, F(3) + 1 - F(3, 10))
    assert made("par: 200-350 g\n").par == F(7, 2), "at most so much is kept"
    assert made("on_hand: 100-250 g\n").on_hand == 1, "at least so much is there"
    assert made("on_hand: 30 g\n").batches == 0 and made("on_hand: 29 g\n").batches == 1
    assert made("par: 100 g\n", 11).batches == 2, "the plates need more than the par"


def test_one_batch_needs_no_eye_on_the_salt_and_two_do():
    world = kitchen_of(brine=recipe("Brine", [("ingredient", "salt", "50 g"), SUGAR], makes="100 g"))
    spec = poured({"brine": "{recipe: brine}"})
    for plates, flagged in ((10, []), (11, ["salt"])):
        (one,) = planned(world, {"a": plates}, a=spec).plan.makes
        assert [f.called for f in one.flags] == flagged


# --------------------------------------------------------------------------- what to have ready and at hand


def test_what_goes_on_the_plate_as_bought_is_picked_by_the_piece_and_weighed():
    spec = pieces(poured({"dill": "{ingredient: dill, station: larder}"}), ", weight: 0.5 g", 3)
    (pick,) = planned(kitchen_of(), {"a": 4}, a=spec).plan.picks
    assert (pick.called, pick.station, pick.pieces, pick.grams) == ("dill", "larder", 12, 6)
    (pick,) = planned(kitchen_of(), {"a": 4}, a=poured({"dill": "{ingredient: dill}"})).plan.picks
    assert (pick.pieces, pick.grams) == (0, 40), "a pool is no piece"
    work = planned(kitchen_of(), {"a": 4}, a=pieces(poured({"dill": "{ingredient: dill}"}), "", 3))
    (pick,), (gap,) = work.plan.picks, work.plan.gaps
    assert (pick.pieces, pick.grams) == (12, None) and "12 pieces" in gap.why and work.orders == ()


def test_a_dish_nobody_ordered_picks_nothing_beside_one_that_is():
    dill = poured({"dill": "{ingredient: dill}"}, title="Dill")
    work = planned(kitchen_of(), {"a": 0, "b": 2}, a=dill, b=poured({"chive": "{ingredient: chives}"}, title="Chive"))
    assert [p.dish for p in work.plan.picks] == ["Chive"]


FRIED = (
    "recipe: Fried\nmakes: 100 g\ningredients:\n  - {ingredient: potato, amount: 100 g}\n"
    "  - {ingredient: sunflower oil, amount: 2000 g, stays: 5 %, reused: true}\n"
    "  - {ingredient: salt, amount: to taste}\n"
)


def test_the_oil_of_the_tank_and_the_salt_stand_ready_and_only_what_stays_is_bought():
    work = planned(kitchen_of(fried=FRIED), {"a": 10}, a=poured({"fried": "{recipe: fried}"}))
    hand = {h.called: h for h in work.plan.to_hand}
    assert hand["sunflower oil"].is_reused and hand["sunflower oil"].used_for == "Fried"
    assert not hand["salt"].is_reused and hand["salt"].amount == "to taste"
    assert bought(work)["sunflower-oil"].need == 100


def test_nothing_stands_ready_for_a_batch_that_is_on_the_shelf():
    world = kitchen_of(fried=FRIED.replace("makes: 100 g", "makes: 100 g\non_hand: 1 kg"))
    work = planned(world, {"a": 10}, a=poured({"fried": "{recipe: fried}"}))
    assert work.plan.to_hand == () and work.orders == ()
    assert work.plan.exact, "though the plates take it: it is what they cost"


def test_of_a_range_the_larger_amount_is_bought():
    world = kitchen_of(pan=recipe("Pan", [("ingredient", "sugar", "100-150 g")], makes="100 g"))
    assert bought(planned(world, {"a": 20}, a=poured({"pan": "{recipe: pan}"})))["sugar"].need == 300
    spec = poured({"sugar": "{ingredient: sugar}"}, {"sugar": "10-12 g"})
    assert bought(planned(kitchen_of(), {"a": 10}, a=spec))["sugar"].need == 120


def test_an_amount_of_a_recipe_that_is_not_known_makes_it_at_least():
    world = chain()
    one = makes(planned(world, {"a": 3}, a=poured({"base": "{recipe: base}"}, {"base": "10 ml"})))["base"]
    assert one.is_least and one.need == 0
    one = makes(planned(world, {"a": 3}, a=poured({"base": "{recipe: base}"})))["base"]
    assert not one.is_least


# --------------------------------------------------------------------------- what trimming leaves


def test_how_much_more_is_bought_than_is_used_says_by_which_yield():
    pantry = "  root: {called: Root, is: celeriac, trim_yield: 80 %}\n  plain: {called: Plain, is: celeriac}\n"
    lines = [("product", "root", "80 g"), ("product", "plain", "86 g"), ("ingredient", "sugar", "100 g")]
    work = planned(kitchen_of(pantry, pan=recipe("Pan", lines)), {"a": 10}, a=poured({"pan": "{recipe: pan}"}))
    root, plain, sugar = (bought(work)[k] for k in ("root", "plain", "sugar"))
    assert (root.need, plain.need, sugar.need) == (100, 100, 100)
    assert ["80 %" in t for t in root.trims] == [True] and ["86 %" in t for t in plain.trims] == [True]
    assert sugar.trims == () and root.used_for == ("Pan",)


def test_what_loses_nothing_is_bought_as_it_is_used_and_names_no_yield():
    whole = "is: celeriac, trim_yield: 100 %"
    assert (one_order(whole).need, one_order(whole).trims) == (100, ())
    world = kitchen_of(f"  thing: {{called: Thing, {whole}}}\n", pan=recipe("Pan", [("product", "thing", "50 g")]))
    (order,) = planned(world, {"a": 10}, a=poured({"pan": "{recipe: pan}"})).orders
    assert (order.need, order.trims) == (50, ())


def test_an_unknown_loss_in_trimming_leaves_the_order_open():
    """Salsify is no vegetable with a published yield here: what is bought is at least what is used."""
    pan = recipe("Pan", [("ingredient", "salsify", "100 g"), SUGAR])
    work = planned(kitchen_of(pan=pan), {"a": 10}, a=poured({"pan": "{recipe: pan}"}))
    assert bought(work)["salsify"].need == 100
    assert any("trimming" in why for why in bought(work)["salsify"].open) and bought(work)["sugar"].open == ()
    assert any("trimming" in why for why in work.plan.exact["ingredient", "salsify"].open)


# --------------------------------------------------------------------------- what to order


def one_order(pantry: str, amount: str = "10 g", plates: int = 10, spec: str = ""):
    world = kitchen_of(f"  thing: {{called: Thing, {pantry}}}\n")
    (order,) = planned(world, {"a": plates}, a=spec or poured({"t": "{product: thing}"}, {"t": amount})).orders
    return order


OIL = "is: sunflower oil, density: 0.9"


def test_an_order_is_in_the_unit_of_its_pack_or_else_by_weight():
    one = one_order(f"{OIL}, pack: 1 l", "9 g", 100)
    assert (one.kind, one.need, one.packs, one.over) == (orders.VOLUME, 1000, 1, 0)
    one = one_order(f"{OIL}, pack: 1 l", "9 g", 101)
    assert (one.need, one.packs, one.buy, one.over) == (1010, 2, 2000, 990)
    one = one_order(OIL, "10 ml", 10)
    assert (one.kind, one.need, one.buy) == (orders.MASS, 90, 90)
    one = one_order("label: {read: 2026-01-02, contains: []}", "10 ml", 10)
    assert (one.kind, one.need) == (orders.VOLUME, 100), "by volume where nobody knows what it weighs"


def test_the_safe_end_of_stock_and_par_is_taken():
    one = one_order("is: sugar, par: 150-200 g, on_hand: 20-50 g")
    assert (one.need, one.par, one.on_hand, one.buy) == (100, 200, 20, 180)
    one = one_order("is: sugar, on_hand: 2 pieces")
    assert (one.on_hand, one.buy) == (0, 100) and any("on hand" in why for why in one.open)
    one = one_order("is: sugar, par: 2 pieces")
    assert (one.par, one.buy) == (0, 100) and any("par" in why for why in one.open)


def test_a_pack_of_a_counting_word_is_ordered_in_that_word():
    spec = pieces(poured({"t": "{recipe: pan}"}), "")
    world = kitchen_of(
        "  thing: {called: Herb, label: {read: 2026-01-02, contains: []}, pack: 4 bunches, price: 6 EUR}\n",
        pan=recipe("Pan", [("product", "thing", "3 bunches")], makes="2 pieces"),
    )
    (one,) = planned(world, {"a": 6}, a=spec).orders
    assert (one.kind, one.word, one.need, one.packs, one.cost.amount) == (orders.COUNT, "bunch", 9, 3, 18)
    world = kitchen_of(
        "  thing: {called: Herb, label: {read: 2026-01-02, contains: []}}\n",
        pan=recipe("Pan", [("product", "thing", "3 bunches")], makes="2 pieces"),
    )
    (one,) = planned(world, {"a": 6}, a=spec).orders
    assert (one.kind, one.word, one.need, one.buy) == (orders.COUNT, "bunch", 9, 9)


def test_a_pack_of_another_word_than_the_recipes_is_not_guessed_at():
    """Three bunches of something that comes by the piece: nobody knows how many pieces a bunch is."""
    label = "label: {read: 2026-01-02, contains: []}"
    for pack, kind in (("10 pieces", orders.COUNT), ("1 kg", orders.MASS)):
        world = kitchen_of(
            f"  thing: {{called: Herb, {label}, pack: {pack}}}\n",
            pan=recipe("Pan", [("product", "thing", "3 bunches")], makes="2 pieces"),
        )
        (one,) = planned(world, {"a": 6}, a=pieces(poured({"t": "{recipe: pan}"}), "")).orders
        assert (one.kind, one.word, one.need, one.packs, one.buy) == (kind, "piece", None, None, None)
        assert [why.split(":")[0] for why in one.open] == ["9 bunches more"]


@pytest.mark.parametrize(
    "unit, value, said",
    [
        ("g", 12, "12 g"),
        ("ml", 1, "1 ml"),
        ("leaf", 1, "1 leaf"),
        ("leaf", 2, "2 leaves"),
        ("bunch", F(5, 2), "2.5 bunches"),
        ("sprig", 3, "3 sprigs"),
        ("piece", 1, "1 piece"),
        ("piece of 160 g", 1, "1 piece of 160 g"),
        ("piece of 160 g", 18, "18 pieces of 160 g"),
    ],
)
def test_what_is_needed_is_said_as_a_buyer_says_it(unit, value, said):
    assert orders._said(unit, F(value)) == said


def test_the_list_goes_by_supplier_then_by_name_and_what_has_none_comes_last():
    world = kitchen_of(
        "  b: {called: beans, is: sugar, supplier: Zander}\n  a: {called: Apple juice, is: sugar, supplier: Zander}\n"
        "  c: {called: Crumb, is: sugar, supplier: Amsel}\n"
    )
    parts = {"b": "{product: b}", "a": "{product: a}", "c": "{product: c}", "z": "{ingredient: salt}"}
    work = planned(world, {"a": 1}, a=poured({**parts, "w": "{ingredient: water}"}))
    assert [(o.supplier, o.called) for o in work.orders] == [
        ("Amsel", "Crumb"),
        ("Zander", "Apple juice"),
        ("Zander", "beans"),
        ("", "salt"),
    ]


def test_what_the_whole_order_costs_is_summed_by_currency_without_what_has_no_price():
    world = kitchen_of(
        "  a: {called: A, is: sugar, pack: 1 kg, price: 3 EUR}\n  b: {called: B, is: sugar, pack: 1 kg, price: 4 EUR}\n"
        "  c: {called: C, is: sugar, pack: 1 kg, price: 5 USD}\n  d: {called: D, is: sugar, pack: 1 kg}\n"
    )
    work = planned(world, {"a": 101}, a=poured({k: f"{{product: {k}}}" for k in "abcd"}))
    assert orders.totals(work.orders) == {"EUR": 14, "USD": 10}


# --- whole animals

HAKE = "is: hake, piece: 1.4 kg, trim_yield: 40 %, gives: {fillet: 2}, price: 12 EUR / kg"


def fillets(weight: int, pack: str = "", plates: int = 18, hake: str = HAKE):
    """A whole hake of 1.4 kg leaves two fillets of 280 g."""
    return one_order(
        hake + pack, plates=plates, spec=pieces(poured({"t": "{product: thing}"}), f", weight: {weight} g")
    )


@pytest.mark.parametrize(
    "weight, plates, fish", [(160, 18, 9), (160, 17, 9), (140, 18, 5), (140, 16, 4), (141, 16, 8), (280, 3, 2)]
)
def test_no_portion_is_joined_from_two_fillets(weight, plates, fish):
    assert fillets(weight, ", pack: 1 piece", plates).packs == fish
    assert fillets(weight, ", pack: 1.4 kg", plates).need == fish * 1400


def test_two_portions_on_each_plate_are_twice_as_many():
    """Two portions of 160 g on each of nine plates: one to a fillet, and nine fish."""
    world = kitchen_of(f"  thing: {{called: Thing, {HAKE}, pack: 1 piece}}\n")
    work = planned(world, {"a": 9}, a=pieces(poured({"t": "{product: thing}"}), ", weight: 160 g", 2))
    assert [o.packs for o in work.orders] == [9]
    assert [list(leaf.amounts.values()) for leaf in work.plan.exact.values()] == [[18]]


def test_portions_of_a_fish_without_its_weight_are_not_guessed():
    one = fillets(160, ", pack: 1 piece", hake=HAKE.replace("piece: 1.4 kg, ", ""))
    assert (one.need, one.packs, one.cost) == (None, None, None) and one.open
    one = fillets(160, ", pack: 2 l")
    assert (one.need, one.packs) == (None, None) and one.open, "and a fish is not poured"


# --------------------------------------------------------------------------- what it costs


def costed(world, spec: str) -> cost.DishCost:
    return prep_sheet.cost_of(pipeline.begin(spec, "specs/a.yaml", "a", world), world.kitchen)


def test_one_portion_costs_its_part_of_the_fish_and_three_cost_three():
    world = kitchen_of(f"  thing: {{called: Thing, {HAKE}}}\n")
    fish = F("1.4") * 12
    one = pieces(poured({"t": "{product: thing}"}), ", weight: 140 g")
    assert costed(world, one).money.amount == fish / 4
    # Two portions of 160 g fill a fish; three are a fish and a half, of which two are bought.
    for count, whole in ((1, fish / 2), (2, fish), (3, 2 * fish)):
        spec = pieces(poured({"t": "{product: thing}"}), ", weight: 160 g", count)
        assert costed(world, spec).money.amount == whole


def test_a_price_for_another_amount_than_the_pack():
    """Sold by the sack of 5 kg, priced by the kilo."""
    world = kitchen_of("  thing: {called: Thing, is: sugar, pack: 5 kg, price: 2 EUR / kg}\n")
    spec = poured({"t": "{product: thing}"}, {"t": "100 g"})
    assert costed(world, spec).money.amount == F("0.2")
    (order,) = planned(world, {"a": 60}, a=spec).orders
    assert (order.packs, order.cost.amount) == (2, 20)


def test_what_is_to_taste_is_named_and_oil_that_is_used_again_is_not():
    world = kitchen_of(
        "  spud: {called: Spud, is: potato, trim_yield: 100 %, price: 1 EUR / kg}\n"
        "  fat: {called: Fat, is: sunflower oil, price: 2 EUR / kg}\n",
        fried=FRIED.replace("ingredient: potato", "product: spud").replace("ingredient: sunflower oil", "product: fat"),
    )
    found = costed(world, poured({"fried": "{recipe: fried}"}, {"fried": "50 g"}))
    (part,) = found.parts
    assert part.untold == ("salt",) and not part.is_least and not found.is_least
    # Half a batch: 50 g of potato, and 50 g of oil that stay.
    assert [(i.called, i.money.amount) for i in part.items] == [("Fat", F("0.1")), ("Spud", F("0.05"))]
    assert part.grams == 50 and part.per_kg.amount == 3


def test_a_part_of_salt_alone_costs_nothing_that_is_told_and_leaves_the_sum_as_it_is():
    world = kitchen_of(
        "  spud: {called: Spud, is: potato, trim_yield: 100 %, price: 1 EUR / kg}\n",
        seasoning="recipe: Seasoning\nmakes: 10 g\ningredients:\n  - {ingredient: salt, amount: to taste}\n",
    )
    parts = {"spud": "{product: spud}", "seasoning": "{recipe: seasoning}"}
    found = costed(world, poured(parts, {"spud": "50 g", "seasoning": "1 g"}))
    assert [p.money and p.money.amount for p in found.parts] == [F("0.05"), None]
    assert found.money.amount == F("0.05") and not found.is_least


def test_two_currencies_within_one_part_are_not_added():
    world = kitchen_of(
        "  a: {called: A, is: sugar, price: 2 EUR / kg}\n  b: {called: B, is: sugar, price: 5 USD / kg}\n"
        "  c: {called: C, is: sugar, price: 1 EUR / kg}\n",
        pan=recipe("Pan", [("product", k, "100 g") for k in "abc"], makes="300 g"),
    )
    (part,) = costed(world, poured({"pan": "{recipe: pan}"}, {"pan": "300 g"})).parts
    assert (part.money.amount, part.money.currency, part.is_least) == (F("0.3"), "EUR", True)
    assert [i.called for i in part.items] == ["A", "C"] and any("USD" in g.why for g in part.gaps)


def test_what_is_given_away_is_among_the_dearest_never_and_water_is_not_bought():
    world = kitchen_of("  gift: {called: Gift, is: sugar, price: 0 EUR / kg}\n")
    found = costed(world, poured({"gift": "{product: gift}", "water": "{ingredient: water}"}))
    assert found.dearest == () and [p.gaps for p in found.parts] == [(), ()]


@pytest.mark.parametrize("menu, share", [("{net: 5 EUR}", F("0.04")), ("{net: 10 EUR}", F("0.02"))])
def test_the_share_of_the_price_that_the_food_costs(menu, share):
    world = kitchen_of("  thing: {called: Thing, is: sugar, price: 2 EUR / kg}\n")
    spec = poured({"t": "{product: thing}"}, {"t": "100 g"}).replace("plate: wide", f"plate: wide\nprice: {menu}")
    found = costed(world, spec)
    assert (found.share, found.gaps) == (share, ())


def test_a_kilo_of_what_has_no_weight_has_no_price():
    world = kitchen_of("  thing: {called: Thing, price: 2 EUR / l, label: {read: 2026-01-02, contains: []}}\n")
    (part,) = costed(world, poured({"t": "{product: thing}"}, {"t": "10 ml"})).parts
    assert part.money.amount == F("0.02") and part.grams is None and part.per_kg is None


def test_what_is_priced_by_the_kilo_and_used_by_the_millilitre_is_named_and_not_free():
    world = kitchen_of(
        "  thing: {called: Thing, price: 2 EUR / kg, label: {read: 2026-01-02, contains: []}}\n"
        "  sugar: {called: Sweet, is: sugar, price: 2 EUR / kg}\n"
    )
    found = costed(world, poured({"t": "{product: thing}", "s": "{product: sugar}"}, {"t": "10 ml"}))
    assert [p.money and p.money.amount for p in found.parts] == [None, F("0.02")] and found.is_least
    assert any("10 ml" in gap.why for gap in found.parts[0].gaps) and found.parts[1].gaps == ()
