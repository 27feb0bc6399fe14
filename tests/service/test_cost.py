"""What a plate costs: by hand, and with what is not known named."""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platecard import pipeline
from platecard.reports import prep_sheet
from platecard.service import cost
from tests.kitchens import poured, recipe
from tests.service.test_prep import kitchen_of

PANTRY = """\
  root: {called: Root, is: celeriac, trim_yield: 80 %, pack: 5 kg, price: 10 EUR}
  cream: {called: Cream tub, is: double cream, density: 1.0, price: 6 EUR / l}
  fish: {called: Fish whole, is: hake, piece: 1.4 kg, trim_yield: 40 %, gives: {fillet: 2}, price: 12 EUR / kg}
  dear: {called: Dear leaf, is: gold leaf, price: 5 USD / g}
  unpriced: {called: Unpriced, is: sugar}
"""
PUREE = recipe(
    "Puree", [("product", "root", "800 g"), ("product", "cream", "200 ml")], makes="900 g\nleft_behind: 10 %"
)


def costed(world, spec: str) -> cost.DishCost:
    begun = pipeline.begin(spec, "specs/a.yaml", "a", world)
    return prep_sheet.cost_of(begun, world.kitchen)


@pytest.fixture
def world():
    return kitchen_of(PANTRY.replace("gold leaf", "honey"), puree=PUREE)


def test_a_plate_by_hand(world):
    spec = poured({"puree": "{recipe: puree}"}, {"puree": "81 g"}).replace(
        "plate: wide", "plate: wide\nprice: {menu: 11 EUR, tax: 10 %}"
    )
    found = costed(world, spec)
    # 81 g of the 810 g that leave the pot: a tenth of a batch. 800 g trimmed are 1000 g bought, at 2.00 a kilo; 200
    # ml at 6.00 a litre.
    assert found.money.amount == (F(2) + F("1.20")) / 10 and found.money.currency == "EUR"
    assert found.net.amount == 10 and found.share == F("0.32") / 10 and not found.is_least
    (part,) = found.parts
    assert [(i.called, i.money.amount) for i in part.items] == [("Root", F("0.2")), ("Cream tub", F("0.12"))]
    assert part.per_kg.amount == F("0.32") * 1000 / 81


@pytest.mark.parametrize(
    "grams, dearest",
    [
        ({"a": 10, "b": 20, "c": 30, "d": 40}, ["d", "c", "b"]),
        ({"a": 10, "b": 20}, ["b", "a"]),
        # Of two that cost the same the one whose key comes first; what costs nothing is never dear.
        ({"d": 10, "c": 10, "b": 10, "a": 10}, ["a", "b", "c"]),
        ({"a": 10}, ["a"]),
    ],
)
def test_the_three_dearest_parts_are_named_dearest_first(world, grams, dearest):
    spec = poured({key: "{product: root}" for key in grams}, {key: f"{g} g" for key, g in grams.items()})
    assert [p.component.key for p in costed(world, spec).dearest] == dearest


def test_a_portion_costs_its_share_of_the_fish(world):
    """A fillet of 280 g gives one portion of 160 g: half a fish of 16.80, offcut included."""
    spec = poured({"fish": "{product: fish}"}).replace(
        "amount: 10 g, arrange: pool, across: 20 mm", "piece: {shape: fillet, size: 60 x 30 mm, weight: 160 g}"
    )
    assert costed(world, spec).money.amount == F("16.80") / 2


def test_what_has_no_price_is_named_and_the_sum_is_at_least(world):
    spec = poured(
        {"puree": "{recipe: puree}", "sugar": "{product: unpriced}", "dill": "{ingredient: dill}"}, {"puree": "81 g"}
    )
    found = costed(world, spec)
    assert found.is_least and found.money.amount == F("0.32")
    unknown = {p.component.key: p.money for p in found.parts}
    assert unknown["sugar"] is None and unknown["dill"] is None, "not known, and never zero"
    why = [g.why for p in found.parts for g in p.gaps]
    assert "no price is entered" in why and "it is not in the pantry, so it has no price" in why
    assert [p.component.key for p in found.dearest] == ["puree"]


def test_two_currencies_are_never_added(world):
    spec = poured({"puree": "{recipe: puree}", "leaf": "{product: dear}"}, {"puree": "81 g"}).replace(
        "plate: wide", "plate: wide\nprice: {net: 10 GBP}"
    )
    found = costed(world, spec)
    assert found.money.amount == F("0.32") and found.is_least and found.share is None
    assert any("USD" in g.why for g in found.gaps) and any("sold in GBP" in g.why for g in found.gaps)


def test_nothing_priced_is_not_known(world):
    found = costed(
        world, poured({"sugar": "{product: unpriced}"}).replace("plate: wide", "plate: wide\nprice: {net: 10 EUR}")
    )
    assert found.money is None and found.share is None and found.dearest == ()
    words = "\n".join(
        prep_sheet.cost_in_words(
            pipeline.begin(poured({"sugar": "{product: unpriced}"}), "specs/a.yaml", "a", world),
            found,
            lambda s: {"file": s.file, "line": s.line},
        )
    )
    assert "the plate: not known" in words and "0.00" not in words


def test_three_dearest(world):
    spec = poured({f"c{i}": "{product: root}" for i in range(5)}, {f"c{i}": f"{10 * (i + 1)} g" for i in range(5)})
    found = costed(world, spec)
    assert [p.component.key for p in found.dearest] == ["c4", "c3", "c2"]
    assert found.money.amount == sum(p.money.amount for p in found.parts)


@settings(max_examples=30)
@given(st.integers(1, 500), st.integers(1, 100), st.integers(0, 60))
def test_losing_more_never_costs_less(grams, trim, behind):
    def at(t: int, b: int) -> F:
        world = kitchen_of(
            f"  root: {{called: Root, is: celeriac, trim_yield: {t} %, price: 2 EUR / kg}}\n",
            puree=recipe("Puree", [("product", "root", "800 g")], makes=f"900 g\nleft_behind: {b} %"),
        )
        return costed(world, poured({"puree": "{recipe: puree}"}, {"puree": f"{grams} g"})).money.amount

    assert at(trim, behind) >= at(100, 0) == F(grams * 800, 900) * 2 / 1000
    assert at(trim, behind) == at(100, 0) / F(trim, 100) / (1 - F(behind, 100))
