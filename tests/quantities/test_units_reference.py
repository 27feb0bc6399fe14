"""Units against two independent programs, and against published and worked values.

GNU Units (the Debian package `units`, run and not copied) and pint, which is a
dependency of the tests alone.  Worked values follow from the definitions (inch and
pound 1959; US gallon: NIST Handbook 44, Appendix C; Imperial gallon: UK Weights and
Measures Act 1985, Schedule 1) unless their line names another source.
"""

from __future__ import annotations

import shutil
import subprocess
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platecard.quantities import amounts, units
from platecard.quantities.money import Money, money, price
from platecard.quantities.temperatures import disagreements, temperature
from platecard.quantities.units import AmountError, quantity
from platecard.service import rounding

needs_units = pytest.mark.skipif(shutil.which("units") is None, reason="GNU Units is not installed here")


def gnu(*pairs: tuple[str, str]) -> list[float]:
    """Each (from, to) as GNU Units has it."""
    lines = "".join(f"{a}\n{b}\n" for a, b in pairs)
    done = subprocess.run(
        ["units", "--terse", "--digits", "15"], input=lines, capture_output=True, text=True, timeout=30, check=True
    )
    return [float(x) for x in done.stdout.split()]


# --------------------------------------------------------------------------- worked values

# Temperatures: (°F - 32) x 5/9 is exact by definition. 165, 155, 145, 135, 70 and 41 °F are the figures of the
# US Food Code (as reproduced in Washington Administrative Code 246-215); -4 and -31 °F its freezing figures.
FAHRENHEIT = {
    "350": F(1590, 9),
    "165": F(665, 9),
    "155": F(615, 9),
    "145": F(565, 9),
    "135": F(515, 9),
    "70": F(190, 9),
    "41": F(5),
    "-4": F(-20),
    "-31": F(-35),
}


@pytest.mark.parametrize("fahrenheit, celsius", FAHRENHEIT.items())
def test_fahrenheit_is_exact(fahrenheit, celsius):
    assert temperature(f"{fahrenheit} °F").mean == celsius
    assert temperature(f"{fahrenheit} °F").unit == "°F"


def test_a_common_rule_of_thumb_holds():
    """160 °F is about 71 °C; a 2 fl oz ladle holds a quarter of a US cup (common practice, no source)."""
    assert round(temperature("160 °F").mean) == 71
    assert quantity("2 US fl oz").mean == quantity("¼ US cup").mean


@pytest.mark.parametrize("number, ml", [(16, "59.1470591250"), (30, "31.5450982"), (60, "15.7725491")])
def test_a_scoop_is_numbered_by_how_many_fill_a_us_quart(number, ml):
    """32 US fl oz over its number, as GNU Units 2.22 defines a disher."""
    assert quantity(f"1 scoop no. {number}").mean == pytest.approx(F(ml), rel=1e-9)
    assert quantity(f"2 dishers no. {number}").mean == 2 * quantity(f"1 scoop no. {number}").mean


@pytest.mark.parametrize(
    "written, density, grams",
    [
        ("8 US fl oz", "1.42", "335.9553"),  # honey, SR26: 21 g a tablespoon
        ("250 ml", "0.913", "228.25"),  # olive oil, SR26: 216 g a cup
    ],
)
def test_a_volume_weighs_what_its_density_says(written, density, grams):
    assert float(amounts.of(quantity(written), "g", amounts.Measures(F(density)))) == pytest.approx(
        float(grams), rel=1e-6
    )


def test_the_other_worked_values():
    assert float(200 / F("1.42")) == pytest.approx(140.8451, rel=1e-6)  # 200 g of honey in ml
    assert float(60 / (125 / quantity("1 US cup").mean)) == pytest.approx(
        113.5624, rel=1e-6
    )  # 60 g of flour at 125 g a cup (SR26)
    teaspoons = F(10) / 6  # 10 g of table salt, 6 g a teaspoon (SR26)
    assert float(teaspoons) == pytest.approx(1.6667, abs=1e-4) and float(teaspoons * F("2.8")) == pytest.approx(
        4.6667, abs=1e-4
    )  # flakes: 2.8 g a teaspoon (GNU Units)
    assert (
        amounts.of(quantity("12 cloves"), "g", amounts.Measures(weights=(("clove", F(3)),))) == 36
    )  # SR26: a clove is 3 g
    assert quantity("8 oz").mean == F("226.796185") and quantity("8 oz").kind == "mass"


def test_an_ounce_is_a_weight_unless_it_is_fluid():
    assert quantity("8 oz").kind == "mass" and quantity("8 US fl oz").kind == "volume"
    with pytest.raises(AmountError, match="stands for two units"):
        quantity("8 fl oz")
    with pytest.raises(AmountError, match="stands for two units"):
        quantity("1 pint")


# --------------------------------------------------------------------------- against other programs


@needs_units
def test_temperatures_agree_with_gnu_units():
    answers = gnu(*((f"tempF({f})", "tempC") for f in FAHRENHEIT), ("10 degF", "degC"))
    expected = [float(c) for c in FAHRENHEIT.values()] + [50 / 9]
    # Its own answers have fifteen figures of an absolute temperature.
    assert answers == pytest.approx(expected, abs=1e-9)


@needs_units
def test_scoops_and_further_spoons_agree_with_gnu_units():
    theirs = gnu(
        ("1|16 * 32 usfloz", "ml"),
        ("1|30 * 32 usfloz", "ml"),
        ("dessertspoon", "ml"),
        ("japancup", "ml"),
        ("australiateaspoon", "ml"),
    )
    ours = [
        quantity(w).mean
        for w in ("1 scoop no. 16", "1 scoop no. 30", "1 dessertspoon", "1 Japanese cup", "1 Australian tsp")
    ]
    assert theirs == pytest.approx([float(x) for x in ours], rel=1e-9)


PINT = {
    "US tsp": "teaspoon",
    "US tbsp": "tablespoon",
    "US fl oz": "US_fluid_ounce",
    "US cup": "cup",
    "US pint": "pint",
    "US quart": "quart",
    "US gallon": "gallon",
    "Imp fl oz": "imperial_fluid_ounce",
    "Imp pint": "imperial_pint",
    "Imp quart": "imperial_quart",
    "Imp gallon": "imperial_gallon",
    "in": "inch",
    "oz": "ounce",
    "lb": "pound",
}


def test_units_and_temperatures_agree_with_pint():
    registry = pytest.importorskip("pint").UnitRegistry()
    base = {"mass": "gram", "volume": "milliliter", "length": "millimeter"}
    for ours, theirs in PINT.items():
        kind, _, factor = units.table().words[ours]
        assert registry.Quantity(1, theirs).to(base[kind]).magnitude == pytest.approx(float(factor), rel=1e-9), ours
    for f, c in FAHRENHEIT.items():
        assert registry.Quantity(float(f), "degF").to("degC").magnitude == pytest.approx(float(c), abs=1e-9)
    assert registry.Quantity(10, "delta_degF").to("delta_degC").magnitude == pytest.approx(50 / 9, rel=1e-9)


# --------------------------------------------------------------------------- written in two units


@pytest.mark.parametrize(
    "written",
    [
        "250 °F / 121 °C",
        "350 °F (175 °C)",
        "350 °F / 177 °C",
        "350 °F / 180 °C",
        "160 °F / 71 °C",
        "165 °F / 74 °C",
        "145 °F / 63 °C",
        "-4 °F / -20 °C",
        "0 °F / -18 °C",
    ],
)
def test_two_scales_that_agree_are_read_once(written):
    q = temperature(written)
    assert q.text == written and q.kind == "temperature"


@pytest.mark.parametrize(
    "written",
    ["250 °F / 130 °C", "250 °F / 125 °C", "350 °F / 190 °C", "165 °F / 70 °C", "145 °F / 60 °C", "160 °F / 72 °C"],
)
def test_two_scales_that_disagree_are_an_error(written):
    with pytest.raises(AmountError, match="disagrees with itself") as caught:
        temperature(written)
    assert caught.value.slug == "two-units-disagree"


@pytest.mark.parametrize(
    "written",
    [
        "8 oz / 227 g",
        "8 oz (225 g)",
        "1 lb / 450 g",
        "½ oz / 14 g",
        "1 US cup / 240 ml",
        "1 US fl oz / 30 ml",
        "2-3 oz / 57-85 g",
        "2 lb / 0.9 kg",
        "1 1/2 oz / 43 g",
    ],
)
def test_two_amounts_that_agree_are_read_once(written):
    assert quantity(written).text == written


@pytest.mark.parametrize(
    "written, why",
    [
        ("8 oz / 250 g", "disagrees"),
        ("1 US cup / 250 ml", "disagrees"),
        ("1 US pint / 500 ml", "disagrees"),
        ("2 lb / 1 kg", "disagrees"),
        ("8 oz / 240 ml", "cannot be checked"),
        ("1 in / 3 cm", "disagrees"),
    ],
)
def test_two_amounts_that_disagree_are_an_error(written, why):
    with pytest.raises(AmountError, match=why) as caught:
        quantity(written)
    assert caught.value.slug == "two-units-disagree"


def test_a_method_is_searched_for_two_scales():
    assert disagreements("Bake at 350 °F / 177 °C, rest at 20 °C.") == ()
    (found,) = disagreements("Bake at 250 °F / 150 °C for 1/2 h, then 160 °F (71 °C).")
    assert "250 °F is 121.11 °C" in str(found)


@given(st.integers(-40, 600))
def test_a_rounded_conversion_always_agrees(fahrenheit):
    celsius = round((F(fahrenheit) - 32) * 5 / 9)
    assert temperature(f"{fahrenheit} °F / {celsius} °C").mean == (F(fahrenheit) - 32) * 5 / 9


@given(st.integers(1, 5000))
def test_rounded_grams_always_agree_with_their_ounces(tenths):
    ounces = F(tenths, 10)
    if ounces < 2:
        return
    assert quantity(f"{float(ounces)} oz / {round(ounces * F('28.349523125'))} g").unit == "oz"


@pytest.mark.parametrize(
    "written, why",
    [
        ("180", "does not say"),
        ("180 °", "does not say"),
        ("2 °K", "scale"),
        ("-300 °C", "absolute zero"),
        ("hot", "not a temperature"),
        ("70-60 °C", "larger to the smaller"),
    ],
)
def test_a_temperature_needs_its_scale(written, why):
    with pytest.raises(AmountError, match=why):
        temperature(written)


# --------------------------------------------------------------------------- money


def test_money_has_a_currency():
    assert money("4.20 EUR") == Money(F("4.2"), "EUR", "4.20 EUR")
    for text, slug in (
        ("4.20", "no-currency"),
        ("4.20 €", "amount"),
        ("4.20 EURO", "amount"),
        ("-1 EUR", "amount"),
        ("4,20 EUR", "amount"),
        ("free", "amount"),
    ):
        with pytest.raises(AmountError) as caught:
            money(text)
        assert caught.value.slug == slug, text


def test_a_price_says_for_how_much():
    assert price("4.20 EUR") == (money("4.20 EUR"), None)
    for text, grams in (("4.20 EUR / kg", 1000), ("4.20 EUR per 250 g", 250), ("3 GBP / lb", F("453.59237"))):
        assert price(text)[1].mean == grams
    assert price("0.32 EUR a piece")[1].kind == "count"


# --------------------------------------------------------------------------- as a kitchen shows them


@pytest.mark.parametrize(
    "kind, value, metric, us",
    [
        ("mass", "0.04", "0.1 g", "0.01 oz"),
        ("mass", "4.26", "4.3 g", "0.15 oz"),
        ("mass", "36.4", "36 g", "1¼ oz"),
        ("mass", "123", "125 g", "4¼ oz"),
        ("mass", "1136.7", "1.14 kg", "2 lb 8 oz"),
        ("mass", "12345", "12.3 kg", "27 lb 3½ oz"),
        ("mass", "453.59237", "455 g", "1 lb"),
        ("volume", "1.23", "1.2 ml", "¼ tsp"),
        ("volume", "14.787", "15 ml", "1 tbsp"),
        ("volume", "59.147", "59 ml", "¼ cup"),
        ("volume", "946.353", "945 ml", "1 qt"),
    ],
)
def test_amounts_are_rounded_the_way_a_cook_weighs(kind, value, metric, us):
    assert rounding.amount(kind, F(value)) == metric and rounding.amount(kind, F(value), "US") == us


@given(
    st.fractions(min_value=F(1, 100), max_value=100_000),
    st.sampled_from(["mass", "volume"]),
    st.sampled_from(["metric", "US"]),
)
def test_nothing_that_is_there_is_shown_as_nothing(value, kind, system):
    text = rounding.amount(kind, value, system)
    assert not text.startswith("0 ") and text != rounding.amount(kind, F(0), system)


@given(st.fractions(min_value=1, max_value=100_000))
def test_a_shown_mass_is_near_and_rounded_up_where_asked(value):
    def back(text: str) -> F:
        number, unit = text.split(" ")
        return F(number) * (1000 if unit == "kg" else 1)

    assert abs(back(rounding.amount("mass", value)) - value) <= max(value * F(3, 100), F(1, 20))
    assert back(rounding.amount("mass", value, up=True)) >= value


@pytest.mark.parametrize(
    "written, factor, metric",
    [
        ("3-4 sprigs", 3, "9 to 12 sprigs"),
        ("1 tsp", 2, "10 ml"),
        ("6 cloves", F(1, 2), "3 cloves"),
        ("½ tsp", 1, "2.5 ml"),
        ("to taste", 4, "to taste"),
        ("4 leaves", F(1, 4), "1 leaf"),
        ("1.1 kg", F(3, 2), "1.65 kg"),
        ("100-150 g", 2, "200 to 300 g"),
    ],
)
def test_a_written_amount_is_scaled_and_shown(written, factor, metric):
    assert rounding.of(quantity(written), F(factor)) == metric
