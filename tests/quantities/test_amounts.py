"""Amounts as a kitchen writes them: a counting word is never taken for another, and the mass balance is closed.

Every kitchen here is invented.
"""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from platecard import pipeline
from platecard.knowledge import catalogue
from platecard.prepared import Prepared
from platecard.quantities import amounts
from platecard.quantities.amounts import Measures, NotKnown
from platecard.quantities.units import quantity
from platecard.reports import prep_sheet, scaled_recipe
from platecard.service import yields
from tests.kitchens import LIBRARY, library, poured, prepared, recipe

CLOVE = dict(catalogue.load()[0].find("garlic").entry.pieces)["clove"]
MORE = "shared/pantry-more.yaml"
COUNTED = ("head", "clove", "portion", "slice", "whole", "bunch", "leaf", "bulb", "large", "small", "pod")


def products(*rows: str) -> dict[str, str]:
    return {MORE: "products:\n" + "".join(f"  {row}\n" for row in rows)}


def recipe_file(key: str, *lines: tuple[str, str, str], makes: str = "400 g", water: bool = False) -> dict[str, str]:
    return {f"shared/recipes/{key}.yaml": recipe(key.title(), list(lines), makes, water)}


def of(one, slug: str) -> list:
    return [p for p in one.problems if p.slug == slug]


def sulphites(one) -> set[str]:
    """What is said of sulphites under EU law, whose limit was read; one that was not takes no declaration away."""
    return {f.presence for s in one.statements for f in s.findings if s.law.key == "eu" and f.allergen == "sulphite"}


def on_plate(key: str, count: int, piece: str) -> str:
    """A spec that lays ``count`` pieces of a recipe in a line."""
    laid = f'count: {count}, piece: {{{piece}}}, arrange: line, from: "9:00", to: "3:00", gap: 2 mm'
    spec = poured({key: f"{{recipe: {key}}}"}).replace("amount: 10 g, arrange: pool, across: 20 mm", laid)
    return spec.replace(", at: {right: 0 mm, away: 0 mm}", "")


# --------------------------------------------------------------------------- one conversion


def test_grams_millilitres_and_pieces_of_one_food():
    known = Measures(F("0.92"), (("piece", F(8)),))
    for written, to, expected in (
        ("10 ml", "g", F("9.2")),
        ("46 g", "ml", 50),
        ("3 pieces", "g", 24),
        ("1 dozen", "g", 96),
        ("24 g", "piece", 3),
        ("23 ml", "piece", F("2.645")),
        ("2-4 pieces", "g", 24),
        ("5 heads", "head", 5),
    ):
        assert amounts.of(quantity(written), to, known) == expected, written
    assert (amounts.least(quantity("2-4 pieces"), "g", known), amounts.most(quantity("2-4 pieces"), "g", known)) == (
        16,
        32,
    )


@pytest.mark.parametrize("word", COUNTED)
def test_what_a_piece_weighs_says_nothing_about_another_word(word):
    found = amounts.of(quantity(f"2 {word}"), "g", Measures(F(1), (("piece", F(8)),)))
    assert isinstance(found, NotKnown) and f"one {word} weighs" in found.why
    assert isinstance(amounts.convert(F(80), "g", word, Measures(F(1), (("piece", F(8)),))), NotKnown)


def test_what_is_no_amount_is_not_known_with_its_reason():
    for q in (None, quantity("to taste"), quantity("4 min")):
        assert isinstance(amounts.of(q, "g", Measures(F(1))), NotKnown)
    assert "density" in amounts.of(quantity("10 ml"), "g", Measures()).why


# --------------------------------------------------------------------------- one answer everywhere


NONE = "label: {read: 2026-01-02, contains: []}"
GARLIC = f"garlic-bulb: {{called: Garlic, is: garlic, {NONE}, piece: 50 g, pack: 1 kg, price: 6 EUR}}"


def test_two_cloves_weigh_the_same_in_the_recipe_and_on_the_order():
    files = {
        **products(GARLIC),
        **recipe_file("oil", ("product", "garlic-bulb", "2 cloves"), ("ingredient", "olive oil", "400 g")),
    }
    one = prepared(poured({"oil": "{recipe: oil}"}, {"oil": "400 g"}), files)
    assert one.resolved.parts[0].use.what.lines[0].grams == 2 * CLOVE
    world = pipeline.world(library({**LIBRARY, **files}))
    begun = pipeline.begin(poured({"oil": "{recipe: oil}"}, {"oil": "400 g"}), "specs/a.yaml", "a", world)
    work, _ = prep_sheet.work([begun], {"a": 1}, world)
    (garlic,) = [o for o in work.orders if o.key[1] == "garlic-bulb"]
    assert garlic.need * yields.tables().trim["garlic"].share == 2 * CLOVE


def test_a_head_of_garlic_is_no_piece_of_it():
    one = prepared(
        poured({"oil": "{recipe: oil}"}),
        {
            **products(GARLIC),
            **recipe_file("oil", ("product", "garlic-bulb", "1 head"), ("ingredient", "olive oil", "400 g")),
        },
    )
    line = one.resolved.parts[0].use.what.lines[0]
    assert line.grams is None and "one head weighs" in line.why


STRONG = "label: {read: 2026-01-02, contains: [sulphites], sulphites: 1000 mg/kg}"
APRICOTS = f"apricots: {{called: Apricots, is: dried apricot, {STRONG}, piece: 8 g}}"


@pytest.mark.parametrize("word", COUNTED)
def test_the_sulphites_of_a_head_of_apricots_do_not_vanish(word):
    spec = poured({"stew": "{recipe: stew}"}, {"stew": "40 g"})
    stew = ("ingredient", "carrot", "2000 g")
    counted = prepared(
        spec, {**products(APRICOTS), **recipe_file("stew", ("product", "apricots", "1 piece"), stew, makes="2000 g")}
    )
    assert counted.sums[0].level() == 4 and sulphites(counted) == {"not_among_ingredients"}, "8 g of 1000 mg/kg in 2 kg"
    other = prepared(
        spec, {**products(APRICOTS), **recipe_file("stew", ("product", "apricots", f"1 {word}"), stew, makes="2000 g")}
    )
    assert sulphites(other) == {"contains"} and "weighs" in other.sums[0].in_words()


@pytest.mark.parametrize("damage", ["piece: 8 gg", "piece: eight", "piece: 0 g", "piece: 0.00001 g", "piece: 1 head"])
def test_a_weight_that_cannot_be_read_is_not_replaced_by_another(damage):
    files = {
        **products(APRICOTS.replace("piece: 8 g", damage)),
        **recipe_file("stew", ("product", "apricots", "1 piece"), ("ingredient", "carrot", "2000 g"), makes="2000 g"),
    }
    assert sulphites(prepared(poured({"stew": "{recipe: stew}"}, {"stew": "40 g"}), files)) == {"contains"}


def test_slices_on_hand_are_no_loaves():
    work = tonight(recipe("Loaf", [("ingredient", "wheat flour", "8 kg")], "10 pieces\non_hand: 12 slices"), 10)
    (loaf,) = work.plan.makes
    assert (loaf.on_hand, loaf.batches) == (0, 1)
    assert "12 slices: not counted" in loaf.notes[0] and "one slice weighs" in loaf.notes[0]
    (loaf,) = tonight(
        recipe("Loaf", [("ingredient", "wheat flour", "8 kg")], "10 pieces\non_hand: 12 pieces"), 10
    ).plan.makes
    assert loaf.batches == 0


def test_stock_by_weight_counts_where_a_piece_is_weighed():
    (loaf,) = tonight(
        recipe("Loaf", [("ingredient", "wheat flour", "8 kg")], "10 pieces\neach: 700 g\non_hand: 1400 g"), 10
    ).plan.makes
    assert loaf.on_hand * 10 == 2 and loaf.batches == 1


def tonight(loaf: str, covers: int):
    world = pipeline.world(library({**LIBRARY, "shared/recipes/loaf.yaml": loaf}))
    begun = pipeline.begin(on_plate("loaf", 1, "shape: disc, size: 20 mm"), "specs/a.yaml", "a", world)
    return prep_sheet.work([begun], {"a": covers}, world)[0]


def test_a_recipe_is_scaled_in_the_word_that_it_makes():
    world = pipeline.world(
        library({**LIBRARY, **recipe_file("cake", ("ingredient", "butter", "1 kg"), makes="12 portions")})
    )
    assert scaled_recipe.to("cake", "24 portions", world)[0].factor == 2
    found, problems = scaled_recipe.to("cake", "24 slices", world)
    assert found is None and [p.slug for p in problems] == ["other-unit"]


@pytest.mark.parametrize(
    "price, total",
    [("6 EUR / head", 72), ("72 EUR", 72), ("6 EUR / piece", None), ("6 EUR / bulb", None), ("6 EUR / kg", None)],
)
def test_a_pack_is_priced_only_in_the_word_that_it_holds(price, total):
    label = "label: {read: 2026-01-02, contains: [celery]}"
    celery = f"celery-heads: {{called: Celery heads, is: celery, {label}, pack: 12 heads, price: {price}}}"
    world = pipeline.world(
        library(
            {
                **LIBRARY,
                **products(celery),
                **recipe_file("salad", ("product", "celery-heads", "3 heads"), makes="2 pieces"),
            }
        )
    )
    begun = pipeline.begin(on_plate("salad", 1, "shape: disc, size: 20 mm"), "specs/a.yaml", "a", world)
    (order,) = prep_sheet.work([begun], {"a": 2}, world)[0].orders
    assert (order.need, order.packs) == (3, 1) and (order.cost.amount if order.cost else None) == total


WINE = "wine: {called: Wine, label: {read: 2026-01-02, contains: [sulphites], sulphites: 100 mg/kg}}"


@pytest.mark.parametrize(
    "makes, shape, counted",
    [
        ("12 pieces", "disc", True),
        ("12 slices", "slice", True),
        ("12 slices", "disc", False),
        ("12 portions", "disc", False),
        ("12 heads", "slice", False),
    ],
)
def test_the_plate_counts_pieces(makes, shape, counted):
    files = {
        **products(WINE),
        **recipe_file("terrine", ("product", "wine", "60 g"), ("ingredient", "carrot", "1200 g"), makes=makes),
    }
    size = "30 x 20 mm" if shape == "slice" else "30 mm"
    one = prepared(on_plate("terrine", 2, f"shape: {shape}, size: {size}, weight: 100 g"), files)
    assert one.resolved.parts[0].use.share == (F(2, 12) if counted else None)
    assert sulphites(one) == ({"not_among_ingredients"} if counted else {"contains"})
    told = [(p.severity, p.span.file) for p in of(one, "other-count-word")]
    assert told == ([] if counted else [("warning", "specs/asked.yaml")])


# --------------------------------------------------------------------------- the mass balance


def balanced(makes: str, *lines: tuple[str, str, str], water: bool = False, spec: str = "") -> Prepared:
    files = {**products(WINE), **recipe_file("pot", *lines, makes=makes, water=water)}
    return prepared(spec or poured({"pot": "{recipe: pot}"}, {"pot": "40 g"}), files)


FLOUR = ("ingredient", "wheat flour", "380 g")
BUTTER = ("ingredient", "butter", "100 g")
SALT = ("ingredient", "salt", "to taste")
DROP = ("product", "wine", "2 g")


def test_sixty_pieces_of_thirty_grams_do_not_come_from_565():
    lines = (("ingredient", "wheat flour", "465 g"), BUTTER)
    piece = "shape: disc, size: 30 mm, weight: {} g"
    (fault,) = of(balanced("60 pieces", *lines, spec=on_plate("pot", 1, piece.format(30))), "makes-more-than-goes-in")
    assert fault.is_error and fault.span.file == "specs/asked.yaml" and "60 pieces" in fault.message
    assert of(balanced("60 pieces", *lines, spec=on_plate("pot", 1, piece.format(9))), "makes-more-than-goes-in") == []
    assert (
        of(balanced("18 pieces", *lines, spec=on_plate("pot", 1, piece.format(30))), "makes-more-than-goes-in") == []
    ), "the remedy: correct what it makes"
    (fault,) = of(
        balanced("60 pieces\neach: 30 g", *lines, spec=on_plate("pot", 1, piece.format(9))), "makes-more-than-goes-in"
    )
    assert fault.is_error and fault.span.file == "shared/recipes/pot.yaml"


@pytest.mark.parametrize(
    "makes, open_line, slug",
    [
        ("480 kg", SALT, "makes-more-than-goes-in"),
        ("480 kg", ("ingredient", "celeriac", "1 head"), "makes-more-than-goes-in"),
        ("480 kg", ("ingredient", "thyme", "5 heads"), "makes-more-than-goes-in"),
        ("480 g", SALT, None),
        ("1.3 kg", ("ingredient", "celeriac", "1 head"), None),
    ],
)
def test_a_line_without_a_weight_does_not_end_the_balance(makes, open_line, slug):
    one = balanced(makes, FLOUR, BUTTER, open_line)
    assert [p.slug for p in one.problems if p.is_error] == ([slug] if slug else [])


def test_the_water_that_covers_the_bones_is_not_weighed():
    lines = (("ingredient", "beef fillet", "1 kg"), ("ingredient", "water", "as needed"))
    assert not [p for p in balanced("3 kg", *lines).problems if p.is_error]
    assert [p.slug for p in balanced("300 kg", *lines).problems if p.is_error] == ["makes-more-than-goes-in"]


def test_what_may_come_from_what_was_not_weighed_clears_no_sulphites():
    assert sulphites(balanced("480 g", FLOUR, BUTTER, SALT, DROP)) == {"not_among_ingredients"}, (
        "salt to taste does no harm"
    )
    one = balanced("1.3 kg", FLOUR, BUTTER, DROP, ("ingredient", "celeriac", "1 head"))
    assert sulphites(one) == {"contains"} and "celeriac" in one.sums[0].in_words()
    assert not [p for p in one.problems if p.is_error]
    assert sulphites(balanced("480 kg", FLOUR, BUTTER, DROP)) == {"contains"}, "and what cannot be clears none either"


def test_pieces_that_may_be_so_heavy_only_by_what_was_not_weighed():
    head = ("ingredient", "celeriac", "1 head")
    for weight, expected in ((20, {"not_among_ingredients"}), (40, {"contains"})):
        one = balanced(
            "20 pieces",
            FLOUR,
            BUTTER,
            DROP,
            head,
            spec=on_plate("pot", 1, f"shape: disc, size: 30 mm, weight: {weight} g"),
        )
        assert sulphites(one) == expected and of(one, "makes-more-than-goes-in") == []


def test_a_recipe_of_which_next_to_nothing_is_left():
    (fault,) = of(balanced("1 g", FLOUR, BUTTER), "makes-far-less")
    assert fault.severity == "warning" and fault.span.line == 2
    assert of(balanced("20 g", FLOUR, BUTTER), "makes-far-less") == []
    strained = ("ingredient", "wheat flour", "380 g, stays: 1 %")
    assert of(balanced("3 g", strained), "makes-far-less") == [], "the remedy: say what stays"


def test_sixty_kilos_of_butter():
    (fault,) = of(balanced("480 g", FLOUR, ("ingredient", "butter", "60 kg")), "far-more-than-it-makes")
    assert fault.severity == "warning" and "60 kg of butter" in fault.message and fault.span.line == 6
    assert of(balanced("480 g", FLOUR, ("ingredient", "water", "20 kg")), "far-more-than-it-makes") == [], (
        "water boils down"
    )


def test_what_takes_up_water_does_so_within_measure():
    rice = ("ingredient", "rice", "400 g")
    assert not [p for p in balanced("1.2 kg", rice, water=True).problems if p.is_error]
    for makes, severity in (("20 kg", "warning"), ("400 kg", "error")):
        one = balanced(makes, rice, DROP, water=True)
        assert [p.severity for p in of(one, "takes-up-too-much")] == [severity] and sulphites(one) == {"contains"}
    rinsed = balanced("20 kg", rice, DROP, ("ingredient", "water", "20 kg"), water=True)
    assert of(rinsed, "takes-up-too-much") == [], "the remedy: write down the water"
    assert sulphites(rinsed) == {"not_among_ingredients"}


def test_nothing_of_something_is_told_and_clears_nothing():
    one = balanced("480 g", FLOUR, BUTTER, ("product", "wine", "0 g"))
    assert [p.slug for p in one.problems if p.is_error] == ["amount-of-nothing"] and sulphites(one) == {"contains"}
    plated = balanced("480 g", FLOUR, BUTTER, spec=poured({"pot": "{recipe: pot}"}, {"pot": "0 ml"}))
    assert "amount-of-nothing" in {p.slug for p in plated.problems}
    assert "makes-nothing" in {p.slug for p in balanced("0-2 g", FLOUR).problems}
