"""How long it keeps and how far ahead it is made, as cooks write it; what cannot be read counts against the food.

All recipes are invented.
"""

from __future__ import annotations

from fractions import Fraction as F

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platecard import pipeline
from platecard.quantities import clock, durations
from platecard.quantities.shelf_life import CHILLED, DAY_S, DRY, FORMS, FROZEN, HOT, ROOM, read
from platecard.reports import prep_sheet
from tests.kitchens import KITCHEN, LIBRARY, library, poured, prepared

H = F(1, 24)


@pytest.mark.parametrize(
    "text, shortest, longest",
    [
        ("3 days", 3, 3),
        ("12 Days", 12, 12),
        ("12 DAYS IN THE FRIDGE", 12, 12),
        ("a fortnight", 14, 14),
        ("2 fortnights", 28, 28),
        ("a day", 1, 1),
        ("one week", 7, 7),
        ("three weeks", 21, 21),
        ("48 hours", 2, 2),
        ("36 h", F(3, 2), F(3, 2)),
        ("36h", F(3, 2), F(3, 2)),
        ("2-3 days", 2, 3),
        ("2–3 days", 2, 3),
        ("2 to 3 days", 2, 3),
        ("two or three days", 2, 3),
        ("a day or two", 1, 2),
        ("between 2 and 3 days", 2, 3),
        ("24 h to 2 days", 1, 2),
        ("24-48 hours", 1, 2),
        ("1 1/2 days", F(3, 2), F(3, 2)),
        ("1½ days", F(3, 2), F(3, 2)),
        ("a day and a half", F(3, 2), F(3, 2)),
        ("half a day", F(1, 2), F(1, 2)),
        ("1 day 12 hours", F(3, 2), F(3, 2)),
        ("1 week and 2 days", 9, 9),
        ("up to 2 days", 2, 2),
        ("2 days at most", 2, 2),
        ("about 4 days", 4, 4),
        ("1.5 days", F(3, 2), F(3, 2)),
        ("2 days in the fridge, 3 months frozen", 2, 90),
        ("overnight", 8 * H, 1),
        ("the day before", 1, 1),
        ("until the end of service", 0, 12 * H),
        ("1 month", 30, 30),
        ("a year", 365, 365),
    ],
)
def test_a_length_of_time(text, shortest, longest):
    found = read(text, "keeps")
    assert (found.shortest_s, found.longest_s) == (shortest * DAY_S, longest * DAY_S)
    assert not found.is_open and not found.unread


@pytest.mark.parametrize(
    "text", ["at least 2 days", "2 days or more", "more than 2 days", "minimum 2 days", "2 days or longer"]
)
def test_what_is_not_bounded_is_open(text):
    found = read(text, "keeps")
    assert found.is_open and found.shortest_s == 2 * DAY_S and not found.unread and found.can_outlast(100 * DAY_S)


@pytest.mark.parametrize(
    "text, ways",
    [
        ("12 days in the fridge, on a dry cloth", {CHILLED}),
        ("5 days, airtight, in its own box", {DRY}),
        ("3 days, dry", {DRY}),
        ("3 weeks at -18 °C", {FROZEN}),
        ("3 weeks at −18", {FROZEN}),
        ("3 weeks at 0 °F", {FROZEN}),
        ("3 weeks frozen in flat bags", {FROZEN}),
        ("4 days in the fridge, or frozen", {CHILLED, FROZEN}),
        ("2 days at 3-5 °C", {CHILLED}),
        ("5 days airtight at 3 °C", {CHILLED, DRY}),
        ("2 hours at 65 °C", {HOT}),
        ("1 day at 18 °C", {ROOM}),
        ("2 days in the walk-in", {CHILLED}),
        ("2 days in the press", set()),
        ("3 Days In The Freezer", {FROZEN}),
        ("2 days on ice", {CHILLED}),
        ("2 weeks in dry cider", set()),
    ],
)
def test_a_way_of_storing(text, ways):
    found = read(text, "keeps")
    assert found.ways == ways and not found.unread


@pytest.mark.parametrize(
    "text, unread",
    [
        ("12 days in the frigde", "frigde"),
        ("l2 days", "l2 days"),
        ("1 2 days", "1 2 days"),
        ("12 day s", "s"),
        ("12 dya", "12 dya"),
        ("forever", "forever"),
        ("not frozen, 3 weeks", "not"),
        ("3 weeks unfrozen", "unfrozen"),
        ("ages", "ages"),
        ("3", "3"),
        ("2 days (3 if vacuum-packed)", "3"),
        ("1/0 days", "1/0 days"),
        ("in the fridge", "in the fridge"),
    ],
)
def test_what_cannot_be_read_is_named_and_open(text, unread):
    found = read(text, "keeps")
    assert found.unread == unread and found.is_open and found.can_outlast(1000 * DAY_S)


@pytest.mark.parametrize(
    "text, days",
    [
        ("48 hours", 2),
        ("36 h", 2),
        ("20 h", 1),
        ("12 h", 0),
        ("1-2 days", 2),
        ("overnight, in the brine", 1),
        ("the day before", 1),
        ("the same morning, finished to order", 0),
        ("To Order", 0),
        ("at least 2 days", 2),
        ("a fortnight", 14),
        ("in July", None),
        ("2 dsys", None),
        ("to odrer", None),
        ("1 day, hnug", 1),
        ("30 min", 0),
    ],
)
def test_days_before_service(text, days):
    assert read(text, "made_ahead").days_before == days


def test_the_forms_that_a_hint_names_can_be_read():
    """A remedy must work when it is obeyed."""
    for kind, forms in FORMS.items():
        for form in forms.removeprefix("write it as in ").split("; "):
            assert not read(form, kind).unread, form


@given(st.text(alphabet="0123456789 -/½adyshourswekfrnig,()°.", max_size=40), st.sampled_from(["keeps", "made_ahead"]))
def test_any_text_is_read_or_named(text, kind):
    found = read(" ".join(text.split()), kind)
    assert found.is_open or found.longest_s is not None or found.to_order or not found.text
    assert found.shortest_s is None or found.longest_s >= found.shortest_s >= 0


@given(
    st.integers(1, 400),
    st.sampled_from(["day", "days", "Days", "DAYS", "d"]),
    st.sampled_from(["", " in the fridge", ", chilled", ", on a dry cloth", " in the bag"]),
)
def test_so_many_days_are_so_many_days(number, unit, how):
    found = read(f"{number} {unit}{how}", "keeps")
    assert found.shortest_s == found.longest_s == number * DAY_S and not found.is_open


# --------------------------------------------------------------------------- durations elsewhere


def test_a_finishing_step_may_take_what_a_cook_calls_a_time():
    for text, seconds in (
        ("4 min", 240),
        ("1 h 10 min", 4200),
        ("2-3 min", 180),
        ("half an hour", 1800),
        ("an hour and a half", 5400),
        ("overnight", 86400),
        ("2 hrs", 7200),
    ):
        assert clock.duration_s(text) == seconds, text
    assert clock.at_least_s("2-3 min") == 120 and clock.at_least_s("1 h 10-20 min") == 4200
    assert durations.whole("2 days in the fridge") is None


COD = "recipe: The thing\nmakes: 100 g\n{keys}ingredients:\n  - {{ingredient: cod, amount: 100 g}}\n"


def minded(keys: str, codes: str = "[us, uk, eu]"):
    return prepared(
        poured({"thing": "{recipe: thing}"}),
        {KITCHEN: LIBRARY[KITCHEN] + f"food_code: {codes}\n", "shared/recipes/thing.yaml": COD.format(keys=keys)},
    )


def said(one, rule: str) -> str:
    return "; ".join(i.said for c in one.cautions if c.rule == rule for i in c.items)


def outside(one, rule: str) -> set[str]:
    """The food codes whose figure a food under a rule is outside of."""
    return {j.code for c in one.cautions if c.rule == rule for i in c.items for j in i.judged if j.verdict == "outside"}


def test_heat_and_frost_count_by_the_shorter_end_of_a_range():
    """Freezing for five to seven days is sure of five only, and a core of 60 °C for 20 to 45 minutes of 20."""
    for text, short in (("7 days", False), ("5-7 days", True)):
        one = minded(f"state: raw\nfreezing_record: {{at: -20 °C, for: {text}}}\n")
        assert ("us" in outside(one, "fish-raw")) is short, text
    one = minded("state: raw\nfreezing_record: {at: -20 to -15 °C, for: 7 days}\n")
    assert outside(one, "fish-raw") == {"us", "uk", "eu"}, "as cold as its warmest part"
    for text, under in (("45 min", False), ("20-45 min", True)):
        cod = minded(f"core: {{reaches: 60 °C, for: {text}}}\n", codes="[uk]")
        assert ("under-cooked" in {c.rule for c in cod.cautions}) is under, text


def test_a_cold_hold_counts_by_its_warmer_end():
    for text, between in (("3 °C", False), ("3-9 °C", True), ("63-70 °C", False), ("55-63 °C", True)):
        held = minded(f"core: 85 °C\nheld: {{at: {text}, up_to: 2 h}}\n")
        assert ("hold-between" in {c.rule for c in held.cautions}) is between, text


# --------------------------------------------------------------------------- the cautions


@pytest.mark.parametrize(
    "keeps",
    [
        "12 days in the fridge, on a dry cloth",
        "12 Days",
        "a fortnight",
        "twelve days",
        "1 week and 5 days",
        "12 days at 3 °C, airtight",
        "12 d",
        "288 h",
    ],
)
def test_twelve_days_are_told_however_they_are_written(keeps):
    one = minded(f"state: cooked\ncore: 75 °C\nkeeps: {keeps}\n")
    rules = {c.rule for c in one.cautions}
    assert {"date-marking", "cooling"} <= rules
    assert "longer than 7 days" in said(one, "date-marking") and "perhaps" not in said(one, "date-marking")


@pytest.mark.parametrize(
    "key, text",
    [
        ("keeps", "12 dyas in the fridge"),
        ("keeps", "a good while"),
        ("keeps", "12 days in the frigde, airtight"),
        ("made_ahead", "2 dasy"),
        ("kepes", "12 days"),
        ("keeps", "3"),
    ],
)
def test_what_cannot_be_read_brings_the_cautions_and_is_told(key, text):
    spec = poured({"thing": "{recipe: thing}"})
    files = {"shared/recipes/thing.yaml": COD.format(keys=f"state: cooked\ncore: 75 °C\n{key}: {text}\n")}
    one = prepared(spec, files)
    assert {"date-marking", "cooling"} <= {c.rule for c in one.cautions}
    assert "longer than 7 days" in said(one, "date-marking")
    told = [p for p in one.problems if p.span and p.span.file == "shared/recipes/thing.yaml" and p.span.line == 5]
    assert told, "at its place"
    if key in FORMS and text != "3":
        assert (told[0].severity, told[0].slug) == ("warning", f"{key.replace('_', '-')}-unread")
        assert "write it as in" in told[0].hints[0]
        assert "could not be read" in said(one, "date-marking")


def test_dry_or_frozen_and_nothing_else_is_another_rule():
    for keeps, marked in (
        ("3 weeks at -18 °C", False),
        ("5 days, airtight", False),
        ("5 days, airtight, in the fridge", True),
        ("5 days, airtight, in the celler", True),
        ("3 weeks frozen, then 2 days in the fridge", True),
        ("5 days in the bag", True),
    ):
        assert bool(said(minded(f"keeps: {keeps}\n"), "date-marking")) is marked, keeps


# --------------------------------------------------------------------------- the preparation list


def made(keys: str):
    world = pipeline.world(library({**LIBRARY, "shared/recipes/thing.yaml": COD.format(keys=keys)}))
    begun = pipeline.begin(poured({"thing": "{recipe: thing}"}), "specs/a.yaml", "a", world)
    (one,) = prep_sheet.work([begun], {"a": 4}, world)[0].plan.makes
    return one


def test_forty_eight_hours_land_two_days_before_and_are_held_against_what_it_keeps():
    assert (
        made("made_ahead: 48 hours\nkeeps: 3 days\n").days,
        made("made_ahead: 48 hours\nkeeps: 3 days\n").notes,
    ) == (2, ())
    for keys in (
        "made_ahead: 48 hours\nkeeps: 1 day\n",
        "made_ahead: 48 hours\nkeeps: 36 h\n",
        "made_ahead: 1-2 days\nkeeps: 1-3 days\n",
        "made_ahead: overnight\nkeeps: until the end of service\n",
        "made_ahead: a fortnight\nkeeps: 12 days\n",
    ):
        (note,) = made(keys).notes
        assert "ahead, and keeps" in note, keys
    assert made("made_ahead: 20 h\nkeeps: 1 day\n").notes == ()


def test_what_cannot_be_read_is_noted_on_the_list():
    one = made("made_ahead: 2 dasy\nkeeps: 3 days\n")
    assert one.days is None and "'2 dasy' could not be read" in one.notes
    assert "could not be read" in made("made_ahead: 2 days\nkeeps: 3 dasy\n").notes[0]
