"""Amounts are exact.

The expected values follow from definitions: the inch of 25.4 mm and the avoirdupois
pound of 0.45359237 kg (international yard and pound agreement, 1959), the US gallon
of 231 cubic inches (NIST Handbook 44, Appendix C), and the Imperial gallon of
4.54609 litres (UK Weights and Measures Act 1985, Schedule 1).
"""

from __future__ import annotations

import re
import shutil
import subprocess
from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platecard.quantities import amounts, units
from platecard.quantities.amounts import Measures, NotKnown
from platecard.quantities.clock_positions import clock_degrees, clock_text
from platecard.quantities.units import AmountError, quantity, size_mm

INCH, POUND, US_GALLON, IMPERIAL_GALLON = F("25.4"), F("453.59237"), 231 * F("2.54") ** 3, F("4546.09")


def base(text: str) -> F:
    q = quantity(text)
    assert q.low == q.high
    return q.low


# --------------------------------------------------------------------------- worked values


@pytest.mark.parametrize(
    "written, exact",
    [
        ("1 US cup", "236.5882365"),
        ("3 US tbsp", "44.36029434375"),
        ("2 US tsp", "9.8578431875"),
        ("1/3 US cup", "78.8627455"),
        ("1½ US cups", "354.88235475"),
        ("1½ US quarts", "1419.529419"),
        ("2 US gallons", "7570.823568"),
        ("½ Imperial gallon", "2273.045"),
        ("2 Australian tbsp", "40"),
        ("2 US tbsp", "29.5735295625"),
        ("1½ metric cups", "375"),
        ("8 oz", "226.796185"),
        ("2.5 lb", "1133.980925"),
        ("2⅜ in", "60.325"),
        ("1 US fl oz", "29.5735295625"),
        ("1 Imp fl oz", "28.4130625"),
        ("1 US pint", "473.176473"),
        ("1 Imp pint", "568.26125"),
        ("1 tsp", "5"),
        ("1 tbsp", "15"),
        ("2 dl", "200"),
    ],
)
def test_the_worked_values_are_met_exactly(written, exact):
    assert base(written) == F(exact)


def test_an_imperial_pint_is_larger_and_its_fluid_ounce_smaller():
    assert base("1 Imp pint") - base("1 US pint") == F("95.084777")
    assert base("1 US fl oz") > base("1 Imp fl oz")


def test_the_table_follows_from_the_definitions():
    assert (
        base("1 US gallon") == US_GALLON
        and base("1 Imp gallon") == IMPERIAL_GALLON
        and base("1 in") == INCH
        and base("1 lb") == POUND
    )
    for unit, parts in (
        ("US quart", 4),
        ("US pint", 8),
        ("US cup", 16),
        ("US fl oz", 128),
        ("US tbsp", 256),
        ("US tsp", 768),
    ):
        assert base(f"1 {unit}") == US_GALLON / parts
    for unit, parts in (("Imp quart", 4), ("Imp pint", 8), ("Imp fl oz", 160)):
        assert base(f"1 {unit}") == IMPERIAL_GALLON / parts
    assert base("1 oz") == POUND / 16


@pytest.mark.parametrize(
    "written, density, expected",
    [("8 US fl oz", "1.42", 335.9553), ("250 ml", "0.913", 228.25), ("200 ml", "1.031", 206.2)],
)
def test_a_volume_becomes_grams_by_a_density(written, density, expected):
    assert float(amounts.of(quantity(written), "g", Measures(F(density)))) == pytest.approx(expected, rel=1e-6)


def test_nothing_becomes_grams_by_itself():
    for written in ("250 ml", "12 cloves", "to taste"):
        assert isinstance(amounts.of(quantity(written), "g", Measures()), NotKnown)
    assert amounts.of(quantity("12 cloves"), "g", Measures(weights=(("clove", F(3)),))) == 36
    assert amounts.of(quantity("250 g"), "g", Measures(F("0.9"))) == 250, "a density does not touch a mass"


# --------------------------------------------------------------------------- against GNU Units

GNU = {
    "US tsp": "usteaspoon",
    "US tbsp": "ustablespoon",
    "US fl oz": "usfloz",
    "US cup": "uscup",
    "US pint": "uspint",
    "US quart": "usquart",
    "US gallon": "usgallon",
    "Imp fl oz": "brfloz",
    "Imp pint": "brpint",
    "Imp quart": "brquart",
    "Imp gallon": "brgallon",
    "metric cup": "metriccup",
    "Australian tbsp": "australiatablespoon",
    "Australian tsp": "australiateaspoon",
    "Japanese cup": "japancup",
    "deg": "degree",
    "h": "hour",
    "%": "percent",
}
BASES = {"mass": "g", "volume": "ml", "length": "mm", "angle": "degree", "time": "s", "share": "1"}


@pytest.mark.skipif(shutil.which("units") is None, reason="GNU Units is not installed here")
def test_every_unit_agrees_with_gnu_units():
    # The metric spoons have no name of their own there.
    compared = sorted({row for row in units.table().words.values() if row[1] not in ("tsp", "tbsp")})
    lines = "".join(f"{GNU.get(unit, unit)}\n{BASES[kind]}\n" for kind, unit, _ in compared)
    done = subprocess.run(
        ["units", "--terse", "--digits", "15"], input=lines, capture_output=True, text=True, timeout=30, check=True
    )
    answers = done.stdout.split()
    assert len(answers) == len(compared), done.stdout + done.stderr
    for (_, unit, factor), answer in zip(compared, answers):
        assert float(answer) == pytest.approx(float(factor), rel=1e-9), unit


# --------------------------------------------------------------------------- spellings


@pytest.mark.parametrize(
    "written, low, high, kind, unit",
    [
        ("½ tsp", "2.5", "2.5", "volume", "tsp"),
        ("1 1/2 oz", "42.5242846875", "42.5242846875", "mass", "oz"),
        ("2-3 sprigs", "2", "3", "count", "sprig"),
        ("2 – 3 sprigs", "2", "3", "count", "sprig"),
        ("2 to 3 leaves", "2", "3", "count", "leaf"),
        ("20 to 55 mm", "20", "55", "length", "mm"),
        ("20 mm to 5.5 cm", "20", "55", "length", "mm"),
        ("2 tbsp - 3 tbsp", "30", "45", "volume", "tbsp"),
        ("45 %", "0.45", "0.45", "share", "%"),
        ("15 deg", "15", "15", "angle", "deg"),
        ("4 min", "240", "240", "time", "min"),
        ("12g", "12", "12", "mass", "g"),
        ("1 Dozen", "12", "12", "count", "piece"),
        ("0.2 g", "1/5", "1/5", "mass", "g"),
        ("1\u00a0kg", "1000", "1000", "mass", "kg"),
        ("1⅓ US cups", "157725491/500000", "157725491/500000", "volume", "US cup"),
        ("3 lbs", "1360.77711", "1360.77711", "mass", "lb"),
    ],
)
def test_what_cooks_write(written, low, high, kind, unit):
    q = quantity(written)
    assert (q.low, q.high, q.kind, q.unit) == (F(low), F(high), kind, unit)


@pytest.mark.parametrize("written", ["to taste", "As needed", "for frying"])
def test_an_amount_that_is_not_measured(written):
    assert quantity(written).kind == "unmeasured"


@pytest.mark.parametrize(
    "written, says, hint",
    [
        ("12", "has no unit", "12 g"),
        ("-3 g", "is negative", ""),
        ("0,5 g", "comma", "dot"),
        ("1,000 g", "comma", "write 1 g or 1000 g"),
        ("4,5 g", "comma", "write 4.5 g"),
        ("60 mm to 20 mm", "larger to the smaller", "smaller one first"),
        ("20 mm to 5 g", "a length to a mass", "one kind"),
        ("5-3 g", "larger to the smaller", "smaller one first"),
        ("3 gramz", "unknown unit", "'grams'"),
        ("1 cup", "stands for two units", "US cup or metric cup"),
        ("2 T", "stands for two units", "tsp or tbsp"),
        ("1 pint", "two units", "Imp pint"),
        ("8 fl oz", "two units", "US fl oz"),
        ("1/0 g", "divides by zero", ""),
        ("some", "is not an amount", "12 g"),
        ("", "is not an amount", ""),
        ("nan g", "is not an amount", ""),
        ("inf", "is not an amount", ""),
        ("1e999 g", "unknown unit", ""),
        ("9999999999 g", "unknown unit", ""),
        ("½", "has no unit", ""),
        ("None", "is not an amount", ""),
        ("12 g g", "unknown unit", ""),
        ("1 2 3 g", "unknown unit", ""),
    ],
)
def test_what_is_no_amount_is_refused_with_advice(written, says, hint):
    with pytest.raises(AmountError) as refused:
        quantity(written)
    assert says in str(refused.value) and hint in refused.value.hint


@pytest.mark.parametrize(
    "written, kinds, says",
    [
        ("12 g", ("length",), "a length is needed"),
        ("12 mm", ("mass", "volume"), "a mass or volume is needed"),
        ("to taste", ("mass",), "not measured"),
    ],
)
def test_the_wrong_kind_is_refused(written, kinds, says):
    with pytest.raises(AmountError, match=says):
        quantity(written, *kinds)


@pytest.mark.parametrize(
    "written, mm",
    [
        ("22 mm", ["22"]),
        ("45 x 20 mm", ["45", "20"]),
        ("45×20×6 mm", ["45", "20", "6"]),
        ("4.5 cm x 20 mm", ["45", "20"]),
        ("2 x 1 in", ["50.8", "25.4"]),
        ("1½ x ¾ in", ["38.1", "19.05"]),
    ],
)
def test_sizes(written, mm):
    assert size_mm(written) == tuple(map(F, mm))


@pytest.mark.parametrize(
    "written", ["45", "45 x 20", "45 x", "x", "", "45 x 20 g", "-4 mm", "a x b mm", "1 x 2 x 3 x 4 mm"]
)
def test_what_is_no_size(written):
    with pytest.raises(AmountError):
        size_mm(written)


@pytest.mark.parametrize(
    "written, degrees",
    [("12:00", 0), ("3:00", 90), ("6:00", 180), ("2:30", 75), ("9", 270), ("8 o'clock", 240), ("12:59", F(59, 2))],
)
def test_clock_positions(written, degrees):
    assert clock_degrees(written) == degrees


@pytest.mark.parametrize(
    "written", ["13:00", "0:30", "2:75", "2:5", "24:00", "noon", "", "-1:00", "150", "2.30", "1:00:00"]
)
def test_what_is_no_clock_position(written):
    with pytest.raises(AmountError):
        clock_degrees(written)


@given(st.integers(0, 143))
def test_a_clock_position_is_read_back(step):
    degrees = F(step * 5, 2)
    assert clock_degrees(clock_text(degrees)) == degrees


# --------------------------------------------------------------------------- properties


@given(st.text(max_size=40))
def test_any_text_is_an_amount_or_refused(text):
    for read in (quantity, size_mm, clock_degrees):
        try:
            read(text)
        except AmountError as refused:
            assert str(refused)


MEASURED = st.sampled_from(
    sorted(w for w, (kind, _, _) in units.table().words.items() if kind in ("mass", "volume", "length"))
)


@given(st.integers(0, 10**6), st.integers(0, 10**6), MEASURED)
def test_an_amount_grows_with_its_number(a, b, word):
    assert base(f"{a} {word}") + base(f"{b} {word}") == base(f"{a + b} {word}")
    low, high = sorted((a, b))
    q = quantity(f"{low}-{high} {word}")
    assert (q.low, q.high, q.mean) == (
        base(f"{low} {word}"),
        base(f"{high} {word}"),
        (base(f"{low} {word}") + base(f"{high} {word}")) / 2,
    )


def test_no_word_stands_for_two_units():
    table = units.table()
    named = [*table.words, *table.counts, *table.unmeasured]
    assert not set(table.ambiguous) & set(named)
    lowered = {}
    for word, meaning in table.words.items():
        if len(word) > 1:
            assert lowered.setdefault(word.lower(), meaning) == meaning, f"case alone decides what '{word}' means"


@pytest.mark.parametrize(
    "written, hint",
    [
        ("1.000 g", "write 1 g or 1000 g, whichever is meant"),
        ("1.250 ml", "write 1.25 ml or 1250 ml, whichever is meant"),
        ("1.125 g", "write 1.1250 g or 1125 g, whichever is meant"),
        ("2.000 pieces", "write 2 pieces or 2000 pieces, whichever is meant"),
        ("1.000 to 1.500 g", "write 1 to 1.5 g or 1000 to 1500 g, whichever is meant"),
        ("1,000 g", "write 1 g or 1000 g, whichever is meant"),
    ],
)
def test_a_point_that_may_part_thousands_is_asked_about(written, hint):
    """1.000 g is one gram in London and a kilo in Hamburg; whatever the hint offers is then read."""
    with pytest.raises(units.AmountError) as refused:
        units.quantity(written)
    assert refused.value.hint == hint
    for offered in re.fullmatch(r"write (.*) or (.*), whichever is meant", hint).groups():
        assert units.quantity(offered).high > 0


@pytest.mark.parametrize("written, grams", [("1.250 kg", "1250"), ("0.125 g", "1/8"), ("12.5 g", "25/2")])
def test_a_point_that_parts_no_thousands_is_read(written, grams):
    assert units.quantity(written).low == F(grams)
