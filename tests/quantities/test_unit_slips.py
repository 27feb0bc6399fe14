"""What would be weighed, heated or bought wrongly if a figure were read a little otherwise than it is written."""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from platecard.quantities import amounts, clock_positions, durations, money, temperatures, units
from platecard.quantities.temperatures import temperature
from platecard.quantities.units import AmountError, quantity


def refused(read, written: str) -> AmountError:
    with pytest.raises(AmountError) as told:
        read(written)
    return told.value


# --------------------------------------------------------------------------- one amount in two units


@pytest.mark.parametrize(
    "written",
    [
        # The second is the first as a cook rounds it: to its last digit, and a round figure more coarsely.
        "1 oz / 28 g",
        "8 oz / 225 g",
        "8 oz / 230 g",
        "1 lb / 450 g",
        "1 lb / 454 g",
        "2.2 lb / 1 kg",
        "5 mm / 0.2 in",
        "100 ml / 3.4 US fl oz",
        "2 lb / 900 g",
        "1/2 lb / 227 g",
        "1 kg (2.2 lb)",
        "1 kg = 2.2 lb",
        "55-60 g / 1.9-2.1 oz",
        # Each the last figure that still agrees: half of a last digit away (of 2.2 lb: 22.7 g), or 3 %.
        "2.2 lb / 1020.5 g",
        "1/2 lb / 226.8 g",
        "100 g / 97 g",
        "1 kg / 970 g",
    ],
)
def test_two_units_that_agree_as_cooks_round_are_one_amount(written):
    first = quantity(written.replace(" (", " / ").replace(" =", " /").split(" / ")[0])
    both = quantity(written)
    assert (both.low, both.high, both.kind, both.unit, both.text) == (
        *(first.low, first.high, first.kind, first.unit),
        written,
    )


@pytest.mark.parametrize(
    "written",
    [
        "2 lb / 1 kg",
        "1 oz / 27 g",
        "1 oz / 30 g",
        "8 oz / 219 g",
        "8 oz / 240 g",
        "1 lb / 400 g",
        "1 lb / 470 g",
        "1 lb / 500 g",
        "1 kg / 2.3 lb",
        "100 g / 100 ml",
        "55-60 g / 1.9-2.5 oz",
        "55-60 g / 1.5-2.1 oz",
        "2 oz / 5 oz",
        # Each the first that no longer does; a fraction is exact, whatever its unit.
        "2.2 lb / 1020.7 g",
        "1/2 lb / 226.5 g",
        "100 g / 96 g",
        "1 kg / 969 g",
    ],
)
def test_two_units_that_disagree_are_no_amount(written):
    assert refused(quantity, written).slug == "two-units-disagree"


@pytest.mark.parametrize(
    "written, agree",
    [
        ("250 °F / 121 °C", True),
        ("350 °F / 180 °C", True),
        ("350 °F / 175 °C", True),
        ("350 °F / 170 °C", False),
        ("350 °F / 183 °C", False),
        ("145 °F / 63 °C", True),
        ("145 °F / 65 °C", False),
        ("-20 °C / -4 °F", True),
        ("-20 °C / -3 °F", False),
        ("-20 °C / 0 °F", False),
        ("180 °C / 355 °F", True),
        ("180 °C / 365 °F", True),
        ("180 °C / 366 °F", False),
        ("60-65 °C / 140-149 °F", True),
        ("60-65 °C / 140-160 °F", False),
        # An oven's dial begins at 100 °C; below it a degree is a degree.
        ("100 °C / 203 °F", True),
        ("100 °C / 202 °F", False),
        ("90 °C / 194 °F", True),
        ("90 °C / 196 °F", False),
        ("90 °C / 195 °F", False),
        ("183 °C / 361 °F", True),
        ("183 °C / 363 °F", False),
        ("355 °F / 180.8 °C", True),
        ("355 °F / 181 °C", False),
        ("180 °C / 365.5 °F", False),
    ],
)
def test_an_oven_in_two_scales_is_read_where_they_agree_as_a_dial_is_rounded(written, agree):
    if agree:
        assert temperature(written).mean == temperature(written.split(" / ")[0]).mean
    else:
        assert refused(temperature, written).slug == "two-units-disagree"
    assert len(temperatures.disagreements(f"Heat to {written}, then rest")) == (
        0 if agree or "-" in written[1:3] else 1
    )


def test_the_figure_that_was_meant_is_given_in_the_unit_of_the_other():
    assert "80 °C" in str(refused(temperature, "80 °C / 300 °F")) and "176 °F" in str(
        refused(temperature, "80 °C / 300 °F")
    )
    assert "0.22 lb" in str(refused(quantity, "100 g / 3 lb"))
    assert "10 cm" in str(refused(quantity, "100 mm / 30 cm"))


# --------------------------------------------------------------------------- temperatures


@pytest.mark.parametrize(
    "written, low, high",
    [
        ("180 °C", 180, 180),
        ("32 °F", 0, 0),
        ("212 F", 100, 100),
        ("60-65 °C", 60, 65),
        ("60 to 65 degrees C", 60, 65),
        ("-20 to -18 °C", -20, -18),
        ("-18 - 4 °C", -18, 4),
        ("−18 °C", -18, -18),
        ("63.5 celsius", F("63.5"), F("63.5")),
        ("-40 °F", -40, -40),
        ("-273.15 °C", F("-273.15"), F("-273.15")),
    ],
)
def test_temperatures(written, low, high):
    q = temperature(written)
    assert (q.low, q.high, q.kind) == (low, high, "temperature")


@pytest.mark.parametrize(
    "written, says",
    [
        ("180", "°C or °F"),
        ("180 °", "°C or °F"),
        ("180 degrees", "°C or °F"),
        ("180 K", "unknown temperature scale"),
        ("hot", "not a temperature"),
        ("65-60 °C", "larger to the smaller"),
        ("-18 to -20 °C", "larger to the smaller"),
        ("-273.2 °C", "absolute zero"),
        ("-460 °F", "absolute zero"),
    ],
)
def test_no_temperatures(written, says):
    assert says in str(refused(temperature, written))


# --------------------------------------------------------------------------- words for amounts


def test_a_scoop_holds_its_part_of_a_quart():
    quart = quantity("1 US quart").mean
    for number in (1, 16, 30, 100):
        assert quantity(f"1 scoop no. {number}").mean == quart / number
    assert quantity("2 dishers no 16").mean == quart / 8 and quantity("1 Scoop No.16").kind == "volume"
    assert "unknown unit" in str(refused(quantity, "1 scoop no. 0"))


def test_the_capital_letter_of_a_long_word_means_nothing_and_of_a_single_one_everything():
    assert quantity("2 KG").mean == 2000 and quantity("1 Tbsp").mean == quantity("1 tbsp").mean
    assert quantity("3 Sprigs").unit == "sprig" and quantity("2 DOZEN").mean == 24
    assert "two units" in str(refused(quantity, "2 T")) and quantity("2 g").mean == 2


def test_many_and_one_are_the_same_word():
    for one, many in (
        ("leaf", "leaves"),
        ("bunch", "bunches"),
        ("pinch", "pinches"),
        ("dash", "dashes"),
        ("egg", "eggs"),
    ):
        assert quantity(f"1 {one}").unit == quantity(f"3 {many}").unit == one
    assert quantity("3 pcs").unit == quantity("3 each").unit == quantity("1 pc").unit == "piece"


def test_a_range_with_a_unit_at_each_end():
    q = quantity("2 cm to 55 mm")
    assert (q.low, q.high, q.unit) == (20, 55, "cm")
    assert (quantity("20 mm - 20 mm").low, quantity("3-3 g").high) == (20, 3)
    assert refused(quantity, "55 mm to 2 cm") and refused(quantity, "20 mm to 5 g")


def test_another_kind_of_amount_says_what_is_needed_and_shows_it():
    told = refused(lambda w: quantity(w, "mass", "volume"), "30 mm")
    assert "a length" in str(told) and "a mass or volume" in str(told) and "12 g or 45 ml" in told.hint
    assert "an angle" in str(refused(lambda w: quantity(w, "mass"), "30 deg"))
    assert quantity("30 mm", "length").kind == "length"
    told = refused(lambda w: quantity(w, "mass", "unmeasured"), "30 mm")
    assert "a mass or unmeasured" in str(told) and told.hint == "write it as in 12 g or to taste"


def test_what_is_not_measured_weighs_nothing_that_could_be_counted():
    q = quantity(" To Taste ")
    assert (q.low, q.high, q.kind, q.unit, q.text) == (0, 0, "unmeasured", "to taste", "To Taste")


@pytest.mark.parametrize("written, is_range, mean", [("2-3 g", True, F("2.5")), ("3-3 g", False, 3), ("3 g", False, 3)])
def test_a_range_has_two_ends_and_a_middle(written, is_range, mean):
    assert (quantity(written).is_range, quantity(written).mean) == (is_range, mean)


# --------------------------------------------------------------------------- money


@pytest.mark.parametrize(
    "written, amount, currency, per",
    [
        ("4.20 EUR", F("4.2"), "EUR", None),
        ("4.20 EUR / kg", F("4.2"), "EUR", 1000),
        ("4.20 EUR per 250 g", F("4.2"), "EUR", 250),
        ("4 GBP a piece", 4, "GBP", 1),
        ("4 USD for 12 pieces", 4, "USD", 12),
        ("0 EUR / l", 0, "EUR", 1000),
        ("3 EUR / ½ kg", 3, "EUR", 500),
    ],
)
def test_prices(written, amount, currency, per):
    paid, bought = money.price(written)
    assert (paid.amount, paid.currency) == (amount, currency) and (bought and bought.mean) == per


def test_no_prices():
    assert refused(money.money, "4.20").slug == "no-currency" and "4.20 EUR" in refused(money.money, "4.20").hint
    assert "negative" in str(refused(money.money, "-4 EUR")) and "comma" in str(refused(money.money, "4,20 EUR"))
    assert "not a price" in str(refused(money.money, "cheap"))
    assert "EUR" in refused(money.money, "4 EURO").hint and "mean" in refused(money.money, "4 EURO").hint
    assert "three letters" in refused(money.money, "4 qqqqqq").hint
    assert refused(money.price, "4 EUR / 30 mm")


# --------------------------------------------------------------------------- clocks and figures


@pytest.mark.parametrize(
    "degrees, said",
    [
        (0, "12:00"),
        (15, "12:30"),
        (30, "1:00"),
        (75, "2:30"),
        (359.9, "12:00"),
        (-30, "11:00"),
        (390, "1:00"),
        (1.3, "12:05"),
        (1.2, "12:00"),
    ],
)
def test_a_direction_is_said_to_the_nearest_five_minutes(degrees, said):
    assert clock_positions.clock_text(degrees) == said


@pytest.mark.parametrize("written", ["0:00", "13:00", "12:60", "1:7"])
def test_what_is_on_no_clock(written):
    assert refused(clock_positions.clock_degrees, written)


@pytest.mark.parametrize(
    "value, digits, said",
    [(F(1, 3), 1, "0.3"), (F(1, 3), 2, "0.33"), (2, 1, "2"), (F("2.50"), 2, "2.5"), (100, 0, "100")],
)
def test_a_figure_is_shown_without_zeros_at_its_end(value, digits, said):
    assert units.shown(value, digits) == said


# --------------------------------------------------------------------------- lengths of time


@pytest.mark.parametrize(
    "text, shortest, longest",
    [
        ("4 min", 240, 240),
        ("4-5 min", 240, 300),
        ("5-4 min", 240, 300),
        ("4 min to 1 h", 240, 3600),
        ("between 4 and 5 min", 240, 300),
        ("1 h 10 min", 4200, 4200),
        ("1 h and 10 min", 4200, 4200),
        ("1-2 h 10 min", 4200, 7800),
        ("1 1/2 h", 5400, 5400),
        ("1½ h", 5400, 5400),
        ("one and a half hours", 5400, 5400),
        ("two and a half hours", 9000, 9000),
        ("an hour and a half", 5400, 5400),
        ("two hours", 7200, 7200),
        ("half an hour", 1800, 1800),
    ],
)
def test_lengths_of_time(text, shortest, longest):
    assert durations.whole(text) == durations.Period(F(shortest), F(longest))


@pytest.mark.parametrize("text", ["", "4", "min", "4 min later", "about 4 min", "10 min 1 h", "1/0 h", "4 min 5 min"])
def test_no_lengths_of_time(text):
    assert durations.whole(text) is None


def test_every_phrase_on_file_is_found_whole_however_many_words_it_has():
    for phrase in durations._meanings():
        row = durations.tokens(f"{phrase}, chilled")
        assert (row[0].text, row[1].text) == (phrase, ","), phrase


@pytest.mark.parametrize(
    "round_figure, near, too_far",
    [
        # From 1000 to the next 50, from 100 to the next 10, from 50 to the next 5; any other figure to the next 1.
        ("1000 g", ("1025.0 g", "975.0 g"), ("1025.1 g", "974.9 g")),
        ("990 g", ("995.0 g", "985.0 g"), ("995.1 g", "984.9 g")),
        ("500 g", ("505.0 g", "495.0 g"), ("505.1 g", "494.9 g")),
        ("100 g", ("103.0 g", "97.1 g"), ("103.3 g", "96.9 g")),  # here the 3 % come first
        ("95 g", ("97.5 g", "92.5 g"), ("97.6 g", "92.1 g")),
        ("85 g", ("87.5 g",), ("87.7 g",)),
        ("50 g", ("51.5 g", "48.5 g"), ("51.6 g", "48.4 g")),
        ("45 g", ("45.5 g", "44.5 g"), ("45.9 g", "44.1 g")),
        ("61 g", ("61.5 g", "60.5 g"), ("61.9 g", "60.1 g")),
        ("1010 g", ("1015.0 g",), ("1015.1 g",)),
    ],
)
def test_a_round_figure_is_taken_as_roughly_as_it_was_rounded(round_figure, near, too_far):
    for other in near:
        assert quantity(f"{round_figure} / {other}").text and quantity(f"{other} / {round_figure}").text
    for other in too_far:
        assert refused(quantity, f"{round_figure} / {other}").slug == "two-units-disagree"
        assert refused(quantity, f"{other} / {round_figure}").slug == "two-units-disagree"


@pytest.mark.parametrize(
    "written, kinds, hint",
    [
        ("5", (), "write 5 g, 5 ml, 5 mm or 5 pieces"),
        ("1", (), "write 1 g, 1 ml, 1 mm or 1 piece"),
        ("5", ("mass",), "write 5 g or 5 kg"),
        ("5", ("time",), "write 5 s, 5 min, 5 h or 5 days"),
        ("1", ("time",), "write 1 s, 1 min, 1 h or 1 day"),
        ("5", ("share",), "write 5 %"),
        ("5", ("mass", "volume"), "write 5 g or 5 ml"),
        ("qwxz", (), "write it as in 12 g, 45 ml, 30 mm or 3 pieces"),
        ("qwxz", ("mass",), "write it as in 12 g"),
        ("qwxz", ("mass", "volume", "share"), "write it as in 12 g, 45 ml or 45 %"),
    ],
)
def test_what_to_write_is_shown_with_the_figure_and_the_units_that_it_may_have(written, kinds, hint):
    assert refused(lambda w: quantity(w, *kinds), written).hint == hint


@pytest.mark.parametrize(
    "written, kinds, suggested",
    [("3 peices", (), True), ("3 peices", ("count", "mass"), True), ("3 peices", ("mass",), False)],
)
def test_only_units_that_would_do_are_suggested(written, kinds, suggested):
    assert ("pieces" in refused(lambda w: quantity(w, *kinds), written).hint) is suggested


@pytest.mark.parametrize(
    "text, hint",
    [
        ("45 x 20", "write 45 x 20 mm"),
        ("45 x 5", "write 45 x 5 mm"),
        ("5", "write 5 mm"),
        ("wide 5.", "write it as in 45 x 20 mm"),
        ("", "write it as in 45 x 20 mm"),
        ("45 * 20 mm", "write 45 x 20 mm"),
    ],
)
def test_a_size_without_a_unit_is_shown_with_one(text, hint):
    assert refused(units.size_mm, text).hint == hint


@pytest.mark.parametrize(
    "written, unit",
    [("2 kg", "g"), ("2 tbsp", "ml"), ("3 sprigs", "sprig"), ("2 dozen", "piece"), ("30 mm", ""), ("4 min", "")],
)
def test_only_what_can_be_weighed_poured_or_counted_is_an_amount_of_food(written, unit):
    assert amounts.unit_of(quantity(written)) == unit
    assert amounts.unit_of(quantity("to taste")) == ""
