"""Slips of one comparison in the code that a guest or a cook would pay for, each named by what would go wrong."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from platecard.allergens import acknowledgement
from platecard.allergens.labels.check import settling
from platecard.allergens.statement import ABSENT, union
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN
from platecard.diff import dishes
from platecard.quantities import money
from tests.allergens.guests.test_guest_question import AS_IS, CANNOT, OPEN, asked
from tests.allergens.labels.test_label_texts import reading
from tests.allergens.test_acknowledgement_and_matrix import menu, spec
from tests.kitchens import BEETROOT, KITCHEN, LIBRARY, PANTRY, poured, prepared, recipe
from tests.service.test_prep import kitchen_of, planned

MAYO = {
    "shared/recipes/mayo.yaml": recipe("Mayo", [("ingredient", "egg yolk", "20 g"), ("ingredient", "dill", "80 g")]),
    "shared/recipes/dip.yaml": recipe("Dip", [("recipe", "mayo", "90 g"), ("ingredient", "dill", "10 g")]),
}


# --------------------------------------------------------------------------- what can hurt a guest


@pytest.mark.parametrize("component", ["mayo", "dip"])
def test_raw_egg_inside_a_recipe_of_a_recipe_is_not_served_to_a_guest_who_avoids_it(component):
    parts = {"a": f"{{recipe: {component}}}", "b": "{recipe: dip}"}
    answer = asked("raw egg", parts, MAYO)
    assert answer.answer == OPEN
    assert {m.chain[-1].words for m in answer.reasons} == {"egg yolk: nothing says that it is cooked through"}
    assert asked("raw egg", {"a": "{ingredient: dill}"}).reasons == ()


def test_raw_egg_is_found_in_the_second_use_of_a_recipe_that_is_cooked_in_the_first():
    parts = {"a": "{recipe: mayo, state: cooked}", "b": "{recipe: mayo}"}
    assert asked("raw egg", parts, MAYO).answer == OPEN
    assert asked("raw egg", {"a": "{recipe: mayo, state: cooked}"}, MAYO).reasons == ()
    assert asked("raw egg", {"a": "{recipe: mayo, state: raw}"}, MAYO).answer == CANNOT


def test_seaweed_is_settled_with_a_guest_who_avoids_seafood():
    """A kind of food, not an allergen, that the word does not count."""
    assert asked("seafood", {"a": "{ingredient: nori}"}).answer == OPEN
    assert asked("seafood", {"a": "{ingredient: carrot}"}).answer == AS_IS


def label(text: str, contains: str) -> dict[str, str]:
    stated = f", contains: [{contains}]" if contains else ""
    return {
        KITCHEN: LIBRARY[KITCHEN].replace("labels_printed_for: [eu, us]\n", ""),
        PANTRY: f"products:\n  p: {{called: P, label: {{read: 2026-01-02, text: '{text}'{stated}}}}}\n",
    }


def presence(files: dict[str, str], allergen: str) -> str:
    dish = prepared(poured({"a": "{product: p}"}), files)
    return next(f.presence for f in dish.statements[0].findings if f.allergen == allergen)


def test_a_word_of_a_label_that_does_not_say_what_it_is_leaves_all_open_unless_the_label_states_it():
    """Vegetable protein is mostly soya or wheat: a label that states soya has said what it is."""
    assert presence(label("Sunflower oil, vegetable protein", ""), "soy") == "not_established"
    assert presence(label("Sunflower oil, vegetable protein", "soy"), "soy") == "contains"
    assert presence(label("Sunflower oil, vegetable protein", "soy"), "egg") == "not_among_ingredients"
    assert presence(label("Sunflower oil, vegetable protein", "fish"), "egg") == "not_established"


@pytest.mark.parametrize("stated", ["spelt", "gluten"])
def test_a_word_of_a_label_is_settled_by_a_kind_of_what_it_hides_and_by_its_group(stated):
    """Wheat protein is what vegetable protein often is: spelt is a wheat, and wheat one of the cereals with gluten."""
    assert presence(label("Sunflower oil, vegetable protein", stated), "egg") == "not_among_ingredients"


def test_a_list_that_goes_beyond_its_text_is_an_error_unless_the_whole_label_was_read():
    """The chef who read the whole label may list more than was copied of its text."""
    for whole, expected in (("", ["label-not-in-text"]), (", read_whole: true", [])):
        files = label("Sunflower oil, salt", "milk")
        files[PANTRY] = files[PANTRY].replace("contains: [milk]", f"contains: [milk]{whole}")
        problems = prepared(poured({"a": "{product: p}"}), files).problems
        assert [p.slug for p in problems if p.slug.startswith("label-")] == expected


def test_a_label_that_was_read_to_the_last_word_needs_no_word_settled():
    assert settling(reading("Wheat flour, sunflower oil, salt")[0]) == ""
    assert settling(reading("Wheat flour, zzyzx powder, salt")[0]).startswith("means_nothing: [")


def us_only(*names: str):
    laws = {KITCHEN: LIBRARY[KITCHEN].replace("laws: [eu, us]", "laws: [us]")}
    return prepared(poured({f"c{i}": f"{{ingredient: {n}}}" for i, n in enumerate(names)}), laws)


def test_what_the_law_in_force_does_not_list_stands_on_the_card_all_the_same():
    """Celery and lupin are no allergens of United States law; a guest may avoid them there too."""
    (statement,) = us_only("celery", "lupin flour", "egg yolk").statements
    assert [(a.node, a.presence) for a in statement.also] == [("celery", CONTAINS), ("lupin", CONTAINS)]
    assert all(a.reasons for a in statement.also)
    assert not {"celery", "lupin"} & {f.allergen for f in statement.findings}


@pytest.mark.parametrize(
    "higher, lower",
    [(CONTAINS, UNKNOWN), (CONTAINS, MAY), (CONTAINS, ABSENT), (UNKNOWN, MAY), (UNKNOWN, ABSENT), (MAY, ABSENT)],
)
def test_of_what_two_laws_say_the_matrix_of_both_takes_the_worse(higher, lower):
    eu, us = prepared(poured({"a": "{ingredient: egg yolk}"})).statements

    def saying(statement, presence):
        egg = (f._replace(presence=presence) for f in statement.findings if f.allergen == "egg")
        return statement._replace(findings=tuple(egg))

    for first, second in ((higher, lower), (lower, higher)):
        (egg,) = union((saying(eu, first), saying(us, second))).findings
        assert egg.presence == higher


def test_the_first_record_of_a_dish_is_of_its_first_revision():
    text = spec("{ingredient: butter}").replace("revision: {number: 2, date: 2026-02-01}\n", "")
    (dish,) = menu(text)
    assert acknowledgement.record_text(dish.dish, dish.statements) == (
        "acknowledged:\n  revision: 1\n  eu: [milk]\n  us: [cow_milk]\n"
    )


def test_a_piece_off_its_place_does_not_keep_a_guest_from_being_told():
    """A fault of the layout hides nothing of what is in the dish: the comparison goes on telling what is gone."""
    astray = BEETROOT.replace("arrange: ring, out: 50 mm", "arrange: ring, out: 150 mm")
    pantry = {PANTRY: LIBRARY[PANTRY].replace("contains: [wheat, sesame]", "contains: [wheat]")}
    new = prepared(astray, pantry)
    assert any(p.is_error for p in new.problems) and not dishes.in_doubt(new)
    found = [c for c in dishes.compare(prepared(BEETROOT), new).changes if c.what == "sesame"]
    assert {c.kind for c in found} == {"allergen", "guest"} and {c.severity for c in found} == {"better"}


def test_a_part_that_cannot_be_read_keeps_every_loss_from_being_told():
    broken = prepared(BEETROOT.replace("{ingredient: dill}", "{ingredient: dill, swop: 1}"))
    assert dishes.in_doubt(broken)


# --------------------------------------------------------------------------- what is bought, and what it costs


ROOT = "  root: {called: Root, is: celeriac, trim_yield: 100 %%%s}\n"


def orders(extra: str, amount: str = "81 g", plates: int = 10):
    spec = poured({"root": "{product: root}"}, {"root": amount})
    return planned(kitchen_of(ROOT % extra), {"a": plates}, a=spec).orders


def test_what_comes_in_no_pack_is_ordered_by_its_need():
    (one,) = orders("")
    assert (one.need, one.pack, one.packs, one.buy, one.over, one.cost) == (810, None, None, 810, None, None)


def test_stock_is_taken_off_and_the_par_is_bought_up_to():
    (one,) = orders(", on_hand: 300 g, par: 1 kg")
    assert (one.need, one.par, one.on_hand, one.buy) == (810, 1000, 300, 700)
    (one,) = orders(", on_hand: 2 kg")
    assert one.buy == 0
    (one,) = orders(", pack: 400 g, on_hand: 100 g, price: 3 EUR")
    assert (one.packs, one.buy, one.over, one.cost.amount) == (2, 800, 90, F(6))
    (one,) = orders(", pack: 405 g, price: 4 EUR / kg")
    assert (one.packs, one.over, one.cost.amount) == (2, 0, F("0.81") * 4)


def test_what_cannot_be_brought_to_the_pack_is_open_and_never_nothing():
    (one,) = orders(", pack: 2 l, price: 5 EUR")
    assert (one.need, one.packs, one.buy, one.cost) == (None, None, None, None) and "more" in one.open[0]


@pytest.mark.parametrize(
    "said, paid, grams",
    [
        ("4.20 EUR / kg", F("4.2"), 1000),
        ("4 EUR / 5 kg", F(4), 5000),
        ("4 EUR / ½ kg", F(4), 500),
        ("4 EUR per 250 g", F(4), 250),
    ],
)
def test_a_price_for_some_kilos_is_not_a_price_for_one(said, paid, grams):
    price, amount = money.price(said)
    assert (price.amount, price.currency, amount.mean) == (paid, "EUR", grams)


def test_a_batch_of_kilos_is_told_in_kilos_and_a_small_one_in_grams():
    rice = {"shared/recipes/rice.yaml": recipe("Rice", [("ingredient", "rice", "1 kg")], makes="50 kg")}
    (problem,) = [p for p in prepared(poured({"a": "{recipe: rice}"}), rice).problems if p.slug == "takes-up-too-much"]
    assert problem.message.startswith("Rice makes 50 kg from 1000 g of ingredients")
