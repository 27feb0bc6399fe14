"""What a spec says is judged by the figures of each food code, and the judgement stands on the card and in `check`.

Beside each figure stands where it was published; marks and titles are in `data/cautions.yaml`.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from platecard.diagnostics import Span
from platecard.diff import dishes
from platecard.diff.change import BETTER, WORSE
from platecard.documents.kit import caution_block
from platecard.drawing.scene import Group, Text
from platecard.model.handling import Cooled, Core, Frozen, Held
from platecard.quantities.clock import duration_s
from platecard.quantities.shelf_life import read
from platecard.reports import fire_times
from platecard.service import caution_rules, verdicts
from platecard.service.food_codes import Cooling, Holding
from platecard.service.verdicts import CANNOT_TELL, NOT_STATED, OUTSIDE, WITHIN, Judgement
from tests.kitchens import KITCHEN, LIBRARY, poured, prepared
from tests.service.test_cautions import BEEF, EGG, FISH, minded, recipe, with_

SPAN = Span("shared/recipes/thing.yaml")
FIGURES = caution_rules.load()[0]
DEER = "{ingredient: red deer, amount: 100 g}"
SQUID = "{ingredient: untreated squid, amount: 100 g}"
TROUT = "{ingredient: trout, amount: 100 g}"


def judged(found, rule: str) -> dict[str, Judgement]:
    """The judgements of the first food under a rule, by food code."""
    return {j.code: j for j in found[rule].items[0].judged}


def verdict_of(found, rule: str) -> dict[str, str]:
    return {code: j.verdict for code, j in judged(found, rule).items()}


def held(at: str | None, up_to: str | None, warmest: str | None = None) -> Held:
    return Held(
        SPAN,
        None if at is None else Fraction(at),
        None if up_to is None else duration_s(up_to),
        Fraction(warmest) if warmest else None if at is None else Fraction(at),
    )


# --------------------------------------------------------------------------- holding


@pytest.mark.parametrize(
    "code, at, up_to, verdict, why",
    [
        # Food Code 3-501.16(A): 57 °C or above, 5 °C or less.
        ("us", "57", None, WITHIN, "hot"),
        ("us", "56", None, NOT_STATED, "too cold for hot"),
        ("us", "5", "12 h", WITHIN, "cold"),
        # Food Code 3-501.19(B): four hours; (C): six, if 5 °C at first and never above 21 °C.
        ("us", "30", "4 h", WITHIN, "only for 4 h"),
        ("us", "30", "4 h 1 min", OUTSIDE, "4 h at most"),
        ("us", "30", "12 h", OUTSIDE, "too long"),
        ("us", "21", "6 h", CANNOT_TELL, "5 °C or colder when taken out"),
        ("us", "22", "6 h", OUTSIDE, "4 h at most"),
        ("us", "21", "6 h 1 min", OUTSIDE, "4 h at most"),
        # Food Hygiene (Wales) Regulations 2006, Schedule 4: 2 and 6 (8 °C, 63 °C), 7(2) (less than two hours);
        # (Northern Ireland) Regulations 2006, Schedule 4, 5(1)(c) (less than four hours).
        ("uk", "63", None, WITHIN, "hot"),
        ("uk", "62", "12 h", OUTSIDE, "too cold for hot (63 °C or more)"),
        ("uk", "8", "12 h", WITHIN, "cold"),
        ("uk", "9", "12 h", OUTSIDE, "too warm for cold (8 °C or less)"),
        ("uk", "30", "1 h 59 min", WITHIN, "only for"),
        ("uk", "30", "2 h", CANNOT_TELL, "came from the cold"),
        ("uk", "30", "3 h 59 min", CANNOT_TELL, "came from the cold"),
        ("uk", "30", "4 h", OUTSIDE, "too long"),
        # Regulation (EC) No 852/2004, Annex II, IX, 5: limited periods, without a figure; hot and cold from memory.
        ("eu", "30", "1 h", OUTSIDE, "no time is named"),
        ("eu", "30", "12 h", OUTSIDE, "too warm for cold"),
        ("eu", "70", "2 h", CANNOT_TELL, "not verified"),
        ("us", None, "2 h", NOT_STATED, "the holding temperature"),
        ("us", "30", "59 s", CANNOT_TELL, "too short to be meant"),
        ("us", "30", "60 s", WITHIN, "only for 1 min"),
        ("uk", "30", "4 h", OUTSIDE, "less than 2 h at most"),
        ("us", "30", "5 h", OUTSIDE, "too long, 4 h at most"),
    ],
)
def test_holding(code, at, up_to, verdict, why):
    found = verdicts.holding(code, held(at, up_to), FIGURES.holding[code])
    assert found.verdict is verdict and why in found.why, found


def test_a_range_that_begins_cold_shows_that_it_was_cold_when_taken_out():
    assert verdicts.holding("us", held("5", "6 h", "20"), FIGURES.holding["us"]).verdict is WITHIN
    assert verdicts.holding("us", held("5", "6 h", "24"), FIGURES.holding["us"]).verdict is OUTSIDE
    assert verdicts.holding("us", held("6", "6 h", "20"), FIGURES.holding["us"]).verdict is CANNOT_TELL
    # As warm as its warmest part, as cold as its coldest.
    assert verdicts.holding("uk", held("3", "9 h", "12"), FIGURES.holding["uk"]).verdict is OUTSIDE
    assert verdicts.holding("uk", held("60", "9 h", "70"), FIGURES.holding["uk"]).verdict is OUTSIDE


def test_twelve_hours_lukewarm_are_too_long_under_each_food_code():
    found = minded(BEEF, "core: 85 °C", "held: {at: 30 °C, up_to: 12 h}")
    assert verdict_of(found, "hold-between") == {"us": OUTSIDE, "uk": OUTSIDE, "eu": OUTSIDE}
    words = caution_block.in_words(found["hold-between"].items[0])
    between = "too cold for hot (57 °C or more), too warm for cold (5 °C or less)"
    assert f"US: OUTSIDE, {between}, and 12 h is too long" in words
    assert "UK: OUTSIDE" in words and "EU: OUTSIDE" in words
    # Warm enough under one code only: each says its own.
    found = minded(BEEF, "core: 85 °C", "held: {at: 60 °C, up_to: 5 h}")
    assert verdict_of(found, "hold-between") == {"us": WITHIN, "uk": OUTSIDE, "eu": OUTSIDE}
    found = minded(BEEF, "core: 85 °C", "held: {at: 30 °C, up_to: 12 h}", codes="[uk]")
    assert set(judged(found, "hold-between")) == {"uk"}


def test_a_warm_foam_is_judged_too():
    found = minded(EGG, "process: [siphon]", "core: 85 °C", "held: {at: 45 °C, up_to: 5 h}")
    assert verdict_of(found, "time-control") == {"us": OUTSIDE, "uk": OUTSIDE, "eu": OUTSIDE}
    assert verdict_of(minded(EGG, "process: [siphon]", "core: 85 °C", "held: {up_to: 1 h}"), "time-control") == {
        "us": NOT_STATED,
        "uk": NOT_STATED,
        "eu": NOT_STATED,
    }


# --------------------------------------------------------------------------- freezing


@pytest.mark.parametrize(
    "celsius, hours, us, eu, why",
    [
        # Food Code 3-402.11(A); Regulation (EU) No 1276/2011, Annex, 2.
        (-20, 168, WITHIN, WITHIN, ""),
        (-20, 167, OUTSIDE, WITHIN, "too short, 7 days at −20 °C"),
        (-20, 24, OUTSIDE, WITHIN, "too short"),
        (-20, 23, OUTSIDE, OUTSIDE, "too short"),
        (-35, 15, WITHIN, WITHIN, ""),
        (-35, 14, OUTSIDE, OUTSIDE, "15 h at −35 °C"),
        (-19, 900, OUTSIDE, OUTSIDE, "not cold enough, −20 °C or colder"),
    ],
)
def test_freezing(celsius, hours, us, eu, why):
    record = Frozen(SPAN, Fraction(celsius), Fraction(hours * 3600))
    asked = FIGURES.freezing.items()
    found = {c: verdicts.freezing(c, record, row, frozenset(), FIGURES.reasons) for c, row in asked}
    assert {c: j.verdict for c, j in found.items()} == {"us": us, "uk": eu, "eu": eu}
    assert why in found["us"].why


def test_frost_promises_nothing_against_the_flukes_of_fresh_water():
    """Regulation (EU) No 1276/2011, Annex, 2: other parasites than trematodes."""
    frozen = "freezing_record: {at: -20 °C, for: 7 days, record: the log}"
    assert verdict_of(minded(TROUT, "state: raw", frozen), "fish-raw") == {
        "us": WITHIN,
        "uk": CANNOT_TELL,
        "eu": CANNOT_TELL,
    }
    assert "trematodes" in judged(minded(TROUT, "state: raw", frozen), "fish-raw")["eu"].why
    assert verdict_of(minded(FISH, "state: raw", frozen), "fish-raw")["eu"] is WITHIN


@pytest.mark.parametrize(
    "food, said, us, eu",
    [
        # Food Code 3-402.11(B) and Regulation (EU) No 1276/2011, Annex, 3.
        ("salmon", "farmed on pellets, papers filed", WITHIN, WITHIN),
        ("bluefin tuna", "a bluefin tuna", WITHIN, OUTSIDE),
        ("salmon roe", "roe, rinsed", WITHIN, OUTSIDE),
        ("cod", "wild, from a fishing ground with data", OUTSIDE, WITHIN),
        ("cod", "very fresh", OUTSIDE, OUTSIDE),
        ("cod", "my supplier says so", OUTSIDE, OUTSIDE),
        # A word that stands in it is not enough: it must be said of this food, and not denied.
        ("cod", "wild, not farmed", OUTSIDE, OUTSIDE),
        ("cod", "never frozen, farmed", OUTSIDE, OUTSIDE),
        ("cod", "like bluefin", OUTSIDE, OUTSIDE),
        ("cod", "eggs are fine", OUTSIDE, OUTSIDE),
    ],
)
def test_only_an_exemption_that_the_food_code_names_counts(food, said, us, eu):
    line = f"{{ingredient: {food}, amount: 100 g}}"
    found = minded(line, "state: raw", f"freezing_record: {{exempt: '{said}'}}")
    assert verdict_of(found, "fish-raw") == {"us": us, "uk": eu, "eu": eu}
    assert f"said to be exempt: {said}" in found["fish-raw"].items[0].said


def test_who_is_asked_to_freeze_what():
    """The Union: fish and cephalopods. The US: all that its code calls fish; bivalves are exempt."""
    everywhere = {"us", "uk", "eu"}
    codes = {
        "untreated squid": everywhere,
        "untreated octopus": everywhere,
        "untreated cuttlefish": everywhere,
        "untreated prawn": {"us"},
        "whelk": {"us"},
    }
    for name, asked in codes.items():
        found = minded(f"{{ingredient: {name}, amount: 100 g}}", "state: raw")
        assert set(judged(found, "fish-raw")) == asked, name
    for name in ("oyster", "scallop"):
        assert "fish-raw" not in minded(f"{{ingredient: {name}, amount: 100 g}}", "state: raw")
    assert "shellfish-raw" not in minded(SQUID, "state: raw"), "tags are for bivalves"
    assert "fish-raw" not in minded("{ingredient: untreated prawn, amount: 100 g}", "state: raw", codes="[eu]")


def test_lightly_cooked_without_a_core_is_not_cooked_through():
    for line in (FISH, SQUID):
        found = minded(line, "state: lightly cooked")
        assert verdict_of(found, "fish-raw") == {"us": NOT_STATED, "uk": NOT_STATED, "eu": NOT_STATED}
    # The Union is content with 60 °C for 1 min, the US only with cooked fish.
    assert set(verdict_of(minded(FISH, "state: lightly cooked", "core: {reaches: 61 °C, for: 1 min}"), "fish-raw")) == {
        "us"
    }
    assert "fish-raw" not in minded(FISH, "state: lightly cooked", "core: {reaches: 65 °C, for: 10 min}")


# --------------------------------------------------------------------------- cooking


@pytest.mark.parametrize(
    "line, keys, us",
    [
        # Food Code 3-401.11(A): (1) 63 °C for 15 s, (2) 68 °C for 17 s and its table, (3) 74 °C.
        (BEEF, "core: {reaches: 63 °C, for: 15 s}", None),
        (BEEF, "core: {reaches: 62 °C, for: 1 h}", OUTSIDE),
        # Wild game is cooked to 74 °C, farmed game as meat is: 3-401.11(A)(1)(b) and (3).
        (DEER, "core: {reaches: 66 °C, for: 1 min}", OUTSIDE),
        (with_(DEER, farmed="true"), "core: {reaches: 66 °C, for: 1 min}", None),
        # Eggs that are not to order: (A)(2).
        (EGG, "core: {reaches: 63 °C, for: 15 s}", OUTSIDE),
        (EGG, "core: {reaches: 68 °C, for: 17 s}", None),
        (EGG, "core: {reaches: 63 °C, for: 3 min}", None),
    ],
)
def test_cooking_under_the_us_code(line, keys, us):
    found = minded(line, keys, codes="[us]")
    rule = next((r for r in ("under-cooked", "egg-raw") if r in found), None)
    assert (judged(found, rule)["us"].verdict if rule else None) is us


def test_an_egg_to_order_needs_less():
    """Food Code 3-401.11(A)(1)(a): broken to order and for immediate service."""
    to_order = "finish: [{do: fry, takes: 3 min, core: 63 °C}]"
    egg = f"{{ingredient: egg, {to_order}}}"
    assert not {"egg-raw", "core-missing"} & minded(component=egg, codes="[us]").keys()
    # Waiting for the plate, or made ahead, it would need 3 min at that temperature.
    waits = f"{egg[:-1]}, held: {{at: 60 °C, up_to: 1 h}}}}"
    for found in (
        minded(component=waits, codes="[us]"),
        minded(EGG, "made_ahead: 1 day", component=to_order, codes="[us]"),
    ):
        assert judged(found, "core-missing")["us"].why == "how long, 3 min at 63 °C"


def test_why_a_core_is_outside():
    found = judged(minded(BEEF, "core: {reaches: 65 °C, for: 5 min}", codes="[uk]"), "under-cooked")["uk"]
    assert (found.verdict, found.why) == (
        OUTSIDE,
        "too short, needs 65 °C for 10 min",
    )  # the agency's list, second-hand
    found = judged(minded(BEEF, "core: {reaches: 54 °C, for: 5 h}", codes="[uk]"), "under-cooked")["uk"]
    assert (found.verdict, found.why) == (OUTSIDE, "not hot enough, needs 60 °C for 45 min")
    found = judged(minded(BEEF, "core: 72 °C", codes="[uk]"), "core-missing")["uk"]
    assert (found.verdict, found.why) == (NOT_STATED, "how long, 2 min at 70 °C")
    assert judged(minded(BEEF), "core-missing")["us"].verdict is NOT_STATED


def test_a_core_that_need_not_be_held_is_said_without_a_time():
    cores = ((Fraction(60), None),)
    for seconds, why in ((0, "not hot enough, needs 74 °C"), (15, "not hot enough, needs 74 °C for 15 s")):
        found = verdicts.cooking("us", cores, ((Fraction(74), Fraction(seconds)),), "seen", FIGURES)
        assert (found.verdict, found.why) == (OUTSIDE, why)


@pytest.mark.parametrize(
    "cores, expected",
    [
        ([(60, 5), (70, 1)], (70, 1)),
        ([(70, 1), (60, 5)], (70, 1)),
        ([(60, 5), (60, 9)], (60, 9)),
        ([(60, None), (60, 1)], (60, 1)),
        ([(60, 1), (60, None)], (60, 1)),
        ([(60, None)], (60, None)),
    ],
)
def test_the_hottest_core_counts_and_of_two_alike_the_longer(cores, expected):
    assert verdicts.hottest(tuple(cores)) == expected


def test_a_water_bath_is_judged_by_each_code():
    def of(core: str) -> dict[str, str]:
        return verdict_of(minded(BEEF, "process: [water bath]", f"core: {core}"), "water-bath")

    assert of("{reaches: 60 °C, for: 45 min}") == {"us": OUTSIDE, "uk": WITHIN, "eu": WITHIN}
    # 23 min 18 s at 62 °C are as much as 2 min at 70 °C; a list by steps would ask for the 45 min of 60 °C.
    assert of("{reaches: 62 °C, for: 24 min}") == {"us": OUTSIDE, "uk": WITHIN, "eu": WITHIN}
    assert of("{reaches: 62 °C, for: 23 min}") == {"us": OUTSIDE, "uk": OUTSIDE, "eu": OUTSIDE}
    assert of("{reaches: 60 °C, for: 20 min}") == {"us": OUTSIDE, "uk": OUTSIDE, "eu": OUTSIDE}
    assert of("{reaches: 56 °C, for: 4 h}") == {"us": OUTSIDE, "uk": OUTSIDE, "eu": OUTSIDE}
    assert of("{reaches: 68 °C, for: 36 h}") == {"us": WITHIN, "uk": WITHIN, "eu": WITHIN}
    roast = minded(BEEF, "process: [water bath]", "cut: roast", "core: {reaches: 60 °C, for: 12 min}")
    assert verdict_of(roast, "water-bath")["us"] is WITHIN  # 3-401.11(B): a whole roast, 60 °C for 12 min


# --------------------------------------------------------------------------- cooling


@pytest.mark.parametrize(
    "cooled, us, why",
    [
        # Food Code 3-501.14(A): 57 to 21 °C within 2 h, and to 5 °C within 6 h in all.
        ("[{reaches: 21 °C, within: 2 h}, {reaches: 5 °C, within: 6 h}]", WITHIN, ""),
        ("{reaches: 5 °C, within: 2 h}", WITHIN, ""),
        ("{reaches: 5 °C, within: 5 h}", NOT_STATED, "when it was at 21 °C, 2 h at most"),
        ("{reaches: 5 °C, within: 7 h}", OUTSIDE, "too slow, 5 °C within 6 h"),
        ("[{reaches: 21 °C, within: 3 h}, {reaches: 5 °C, within: 6 h}]", OUTSIDE, "too slow, 21 °C within 2 h"),
        ("[{reaches: 40 °C, within: 2 h 30 min}, {reaches: 5 °C, within: 6 h}]", OUTSIDE, "21 °C within 2 h"),
        ("[{reaches: 20 °C, within: 1 h}, {reaches: 8 °C, within: 4 h}]", OUTSIDE, "not cold enough, 5 °C within 6 h"),
        ("[{reaches: 20 °C, within: 1 h}, {reaches: 3-7 °C, within: 4 h}]", OUTSIDE, "not cold enough"),
        ("true", NOT_STATED, "how cold in how long"),
    ],
)
def test_cooling(cooled, us, why):
    found = judged(minded(BEEF, "core: 85 °C", f"cooled: {cooled}"), "cooling")
    assert found["us"].verdict is us and why in found["us"].why, found["us"]
    # No figure was found in the law of the Union or of the kingdom.
    assert found["uk"].verdict is found["eu"].verdict is (NOT_STATED if cooled == "true" else CANNOT_TELL)


AT_21 = "when it was at 21 °C, 2 h at most"
ONE_STAGE = ((5, 60),)
THREE_STAGES = ((21, 120), (10, 240), (5, 360))  # °C, min


@pytest.mark.parametrize(
    "stages, cooled, verdict, why",
    [
        (ONE_STAGE, [(5, 60)], WITHIN, ""),
        (ONE_STAGE, [(4, 61)], OUTSIDE, "too slow, 5 °C within 1 h"),
        (ONE_STAGE, [(6, 30)], OUTSIDE, "not cold enough, 5 °C within 1 h"),
        (THREE_STAGES, [(21, 120), (10, 240), (5, 360)], WITHIN, ""),
        (THREE_STAGES, [(5, 100)], WITHIN, ""),
        (THREE_STAGES, [(21, 60), (5, 360)], NOT_STATED, "when it was at 10 °C, 4 h at most"),
        (THREE_STAGES, [(5, 360)], NOT_STATED, f"{AT_21} and when it was at 10 °C, 4 h at most"),
        (THREE_STAGES, [(21, 60), (10, 241), (5, 360)], OUTSIDE, "too slow, 10 °C within 4 h"),
        (THREE_STAGES, [(21, 60), (10, 240), (5, 361)], OUTSIDE, "too slow, 5 °C within 6 h"),
        (THREE_STAGES, [(21, 60), (10, 240), (6, 300)], OUTSIDE, "not cold enough, 5 °C within 6 h"),
    ],
)  # fmt: skip
def test_each_stage_of_cooling_is_reached_in_its_time_however_many_there_are(stages, cooled, verdict, why):
    figures = Cooling(tuple((Fraction(c), Fraction(60 * m)) for c, m in stages), "seen")
    found = verdicts.cooling("xx", tuple(Cooled(Fraction(c), Fraction(60 * m)) for c, m in cooled), figures)
    assert (found.verdict, found.why) == (verdict, why)


@pytest.mark.parametrize(
    "core, verdict, why",
    [
        (None, NOT_STATED, "the core temperature and time"),
        (Core(Fraction(60)), NOT_STATED, "the time at the core temperature"),
        (Core(Fraction("59.9"), Fraction(36000)), OUTSIDE, "below 60 °C, where the list begins"),
        (Core(Fraction(60), Fraction(2580)), OUTSIDE, "too short, 43 min 5 s at this temperature"),
        (Core(Fraction(60), Fraction(2586)), WITHIN, ""),
    ],
)
def test_what_a_water_bath_lacks(core, verdict, why):
    found = verdicts.water_bath("uk", core, "seen", FIGURES)
    assert (found.verdict, found.why) == (verdict, why)


@pytest.mark.parametrize("seconds, verdict", [(59, CANNOT_TELL), (60, WITHIN)])
def test_less_than_a_minute_is_a_slip_of_the_pen(seconds, verdict):
    cooled = (Cooled(Fraction(4), Fraction(seconds)),)
    assert verdicts.cooling("us", cooled, FIGURES.cooling["us"]).verdict is verdict
    kept = (read(f"{seconds} s in the fridge", "keeps"),)
    assert verdicts.keeping("us", kept, FIGURES.keeping["us"]).verdict is verdict


def test_a_stage_of_cooling_that_cannot_be_read_is_an_error():
    for cooled, slug in (("{reaches: cold, within: 2 h}", "amount"), ("{reaches: 5 °C}", "missing-key")):
        files = {KITCHEN: LIBRARY[KITCHEN], "shared/recipes/thing.yaml": recipe(BEEF, f"cooled: {cooled}")}
        slugs = {p.slug for p in prepared(poured({"thing": "{recipe: thing}"}), files).problems if p.is_error}
        assert any(slug in s for s in slugs), (cooled, slugs)


# --------------------------------------------------------------------------- reheating


@pytest.mark.parametrize(
    "core, held, us, uk, eu",
    [
        # Food Code 3-403.11(A) and 3-403.10; the agency's list; Scotland's 82 °C, regulation 14 of 1995.
        ("74 °C", "held: {at: 65 °C, up_to: 1 h}", WITHIN, NOT_STATED, NOT_STATED),
        ("73 °C", "held: {at: 65 °C, up_to: 1 h}", OUTSIDE, NOT_STATED, NOT_STATED),
        ("50 °C", "", WITHIN, OUTSIDE, OUTSIDE),
        ("80 °C", "", WITHIN, CANNOT_TELL, WITHIN),
        ("82 °C", "", WITHIN, WITHIN, WITHIN),
    ],
)
def test_reheating(core, held, us, uk, eu):
    step = f"finish: [{{do: heat, takes: 4 min, core: {core}}}]" + (f", {held}" if held else "")
    cooked = (BEEF, "core: 85 °C", "cooled: true", "made_ahead: 1 day")
    found = minded(*cooked, dish="serve: {food: hot}\n", component=step)
    assert verdict_of(found, "reheating") == {"us": us, "uk": uk, "eu": eu}


def test_food_served_at_once_is_told_in_words_that_a_cook_would_use():
    judged = verdicts.reheating("us", ((Fraction(50), None),), False, FIGURES.reheating["us"], FIGURES)
    assert (judged.verdict, judged.why) == (WITHIN, "no temperature is set for food that is served at once")


# --------------------------------------------------------------------------- keeping


@pytest.mark.parametrize(
    "keeps, verdict",
    [
        # Food Code 3-501.17(A): 7 days at 5 °C or colder, the day it is made counted.
        ("3 days in the fridge", WITHIN),
        ("1 week in the fridge", WITHIN),
        ("8 days in the fridge", CANNOT_TELL),
        ("at least 3 days in the fridge", CANNOT_TELL),
        ("3 days in the bottle", NOT_STATED),
        ("3 days blorp in the fridge", CANNOT_TELL),
    ],
)
def test_keeping(keeps, verdict):
    if keeps.startswith("8 days"):
        said = verdicts.keeping("us", (read(keeps, "keeps"),), FIGURES.keeping["us"]).why
        assert said == "only what is sour, sweet, salty or dry enough may be kept so long"
    assert verdicts.keeping("us", (read(keeps, "keeps"),), FIGURES.keeping["us"]).verdict is verdict


@pytest.mark.parametrize(
    "keeps, verdict",
    [
        # Food Code 3-502.12(D)(2)(e) and (B)(4): 7 days at 5 °C, 30 at 1 °C, never more than 30.
        ("5 days in the fridge", WITHIN),
        ("5 days in the bag", NOT_STATED),
        ("8 days in the fridge", CANNOT_TELL),
        ("30 days in the fridge", CANNOT_TELL),
        ("31 days in the fridge", OUTSIDE),
        ("until it smells", CANNOT_TELL),
    ],
)
def test_sealed_bags(keeps, verdict):
    found = verdicts.packed("us", (read(keeps, "keeps"),), FIGURES.packs["us"])
    assert found is not None and found.verdict is verdict
    assert verdicts.packed("us", (read("", "keeps"),), FIGURES.packs["us"]) is None


# --------------------------------------------------------------------------- fail closed


def test_a_figure_from_memory_is_never_met():
    from_memory = Holding(Fraction(60), Fraction(4), "memory")
    assert verdicts.holding("xx", held("65", "1 h"), from_memory).verdict is CANNOT_TELL
    assert verdicts.holding("xx", held("3", "1 h"), from_memory).verdict is CANNOT_TELL
    assert verdicts.holding("xx", held("30", "1 h"), from_memory).verdict is OUTSIDE
    stages = Cooling(((Fraction(5), Fraction(3600)),), "memory")
    assert verdicts.cooling("xx", (Cooled(Fraction(4), Fraction(60)),), stages).verdict is CANNOT_TELL


@pytest.mark.parametrize("code", ["us", "uk", "eu"])
def test_longer_or_warmer_is_never_better(code):
    """Between hot and cold, a longer wait never gets a better verdict."""
    waits = [f"{minutes} min" for minutes in (30, 119, 120, 121, 239, 240, 241, 359, 360, 361, 720)]
    for at in ("9", "20", "21", "22", "40", "56"):
        ranks = [verdicts.RANK[verdicts.holding(code, held(at, w), FIGURES.holding[code]).verdict] for w in waits]
        assert ranks == sorted(ranks, reverse=True), (at, ranks)


def test_a_later_revision_that_is_outside_is_worse():
    def at(held: str):
        files = {
            KITCHEN: LIBRARY[KITCHEN] + "food_code: [us]\n",
            "shared/recipes/thing.yaml": recipe(BEEF, "core: 85 °C", f"held: {{at: 30 °C, up_to: {held}}}"),
        }
        return prepared(poured({"thing": "{recipe: thing}"}), files)

    short, long = at("3 h"), at("12 h")
    (worse,) = [c for c in dishes.compare(short, long).changes if c.kind == "caution"]
    assert worse.severity == WORSE and "outside the figure of us" in worse.words
    (better,) = [c for c in dishes.compare(long, short).changes if c.kind == "caution"]
    assert better.severity == BETTER


# --------------------------------------------------------------------------- in check and on the documents


def outside(keys: str, line: str = BEEF, component: str = "") -> list[str]:
    files = {
        KITCHEN: LIBRARY[KITCHEN] + "food_code: [us]\n",
        "shared/recipes/thing.yaml": recipe(line, *keys.split("\n")),
    }
    one = prepared(poured({"thing": "{recipe: thing" + component + "}"}), files)
    assert not [p for p in one.problems if p.is_error]
    return [p.message for p in one.problems if p.slug == "outside-food-code"]


def test_what_is_outside_is_a_warning_with_a_remedy_that_works():
    assert outside("core: 85 °C\nheld: {at: 30 °C, up_to: 12 h}") == [
        "thing: held at 30 °C up to 12 h: outside the figure of food code us: too cold for hot (57 °C or more), "
        "too warm for cold (5 °C or less), and 12 h is too long, 4 h at most"
    ]
    assert not outside("core: 85 °C\nheld: {at: 30 °C, up_to: 4 h}") and not outside(
        "core: 85 °C\nheld: {at: 60 °C, up_to: 12 h}"
    )
    assert outside("state: raw\nfreezing_record: {at: -18 °C, for: 30 days}", FISH)
    assert not outside("state: raw\nfreezing_record: {at: -20 °C, for: 7 days}", FISH)
    assert outside("core: 85 °C\ncooled: {reaches: 5 °C, within: 9 h}")
    assert not outside("core: 85 °C\ncooled: {reaches: 5 °C, within: 2 h}")


def test_what_is_meant_so_is_told_on_the_card_and_is_no_warning():
    assert outside("core: 54 °C") and not outside("core: 54 °C\ndoneness: pink")
    found = minded(BEEF, "core: 54 °C", "doneness: pink", codes="[us]")
    assert judged(found, "under-cooked")["us"].verdict is OUTSIDE and judged(found, "under-cooked")["us"].by_design
    # Not for what was minced, nor for fish that was not frozen: there the word of the spec changes nothing.
    assert outside("core: 54 °C\ndoneness: pink\ncut: minced")
    assert outside("state: marinated\nfreezing_record: {at: -10 °C, for: 1 h}", FISH)


def test_every_rule_that_judges_says_what_to_do():
    assert all(rule.do for rule in FIGURES.rules if rule.checks)


def test_the_data_tells_it():
    files = {
        KITCHEN: LIBRARY[KITCHEN] + "food_code: [us, uk]\n",
        "shared/recipes/thing.yaml": recipe(BEEF, "core: 85 °C", "held: {at: 30 °C, up_to: 12 h}"),
    }
    one = prepared(poured({"thing": "{recipe: thing}"}), files)
    rows = fire_times.cautions_as_data("x", one.cautions, ("us", "uk"), "", lambda span: {})["cautions"]
    foods = next(r["foods"] for r in rows if r["rule"] == "hold-between")
    assert [(j["code"], j["verdict"]) for j in foods[0]["judged"]] == [("us", "outside"), ("uk", "outside")]
    assert "12 h is too long" in foods[0]["judged"][0]["why"]


def test_the_card_tells_it():
    """What is outside stands on a line of its own in bold; what is within stands with the others."""
    found = minded(BEEF, "core: 85 °C", "held: {at: 30 °C, up_to: 12 h}", codes="[us]")
    said = _bold(i for row in caution_block.rows((found["hold-between"],), "general", 180.0) for i in row.block.items)
    assert "OUTSIDE" in said and "12 h is too long" in said
    found = minded(BEEF, "core: 85 °C", "held: {at: 30 °C, up_to: 3 h}", codes="[us]")
    said = _bold(i for row in caution_block.rows((found["hold-between"],), "general", 180.0) for i in row.block.items)
    assert said and "US: within" not in said


def _bold(items) -> str:
    """All bold text of a drawing, in reading order."""
    return " ".join(
        _bold(i.items) if isinstance(i, Group) else i.text if isinstance(i, Text) and i.face == "bold" else ""
        for i in items
    )


def test_kitchen_words_of_a_verdict():
    assert {v.value for v in verdicts.Verdict} == {"within", "outside", "cannot be told", "not stated"}
    assert set(caution_block.VERDICTS) | {NOT_STATED} == set(verdicts.Verdict)


@pytest.mark.parametrize(
    "celsius, seconds, why",
    [
        (None, 7 * 86400, "the freezing temperature"),
        (-20, None, "the freezing time"),
        (None, None, "the freezing temperature and time"),
    ],
)
def test_what_a_freezing_record_lacks_is_named(celsius, seconds, why):
    for code, figures in FIGURES.freezing.items():
        found = verdicts.freezing(code, Frozen(SPAN, celsius, seconds), figures, frozenset(), FIGURES.reasons)
        assert (found.verdict, found.why) == (NOT_STATED, why)


@pytest.mark.parametrize(
    "reason, verdict",
    [
        ("farmed, fed on pellets, declaration on file", WITHIN),
        ("farmed Scottish salmon", WITHIN),
        ("wild, data of the fishing ground approved by the authority", WITHIN),
        ("unknown whether farmed", CANNOT_TELL),
        ("may be farmed", CANNOT_TELL),
        ("farmed, papers missing", CANNOT_TELL),
        ("isn't farmed", CANNOT_TELL),
        # A figure says nothing against it; what only ends in one does.
        ("farmed 4", WITHIN),
        ("farmed 2026", WITHIN),
        ("farmed x4", CANNOT_TELL),
        ("supplier says probably aquaculture", CANNOT_TELL),
        ("wild", CANNOT_TELL),
        ("not farmed", OUTSIDE),
        ("trust me", OUTSIDE),
    ],
)
def test_a_reason_for_not_freezing_counts_only_if_every_word_of_it_is_understood(reason, verdict):
    record = Frozen(SPAN, exempt=reason)
    assert verdicts.freezing("eu", record, FIGURES.freezing["eu"], frozenset(), FIGURES.reasons).verdict is verdict


@pytest.mark.parametrize(
    "keeps",
    [
        "3 days at 8 °C",
        "3 days in the fridge at 12 °C",
        "3 days out of the fridge",
        "3 days in the fridge or 2 days at room temperature",
        "0 days chilled",
    ],
)
def test_food_that_may_stand_warmer_is_never_within(keeps):
    kept = [read(keeps, "keeps")]
    assert verdicts.keeping("us", kept, FIGURES.keeping["us"]).verdict is not WITHIN
    assert verdicts.packed("us", kept, FIGURES.packs["us"]).verdict is not WITHIN
    assert verdicts.keeping("us", [read("3 days in the fridge", "keeps")], FIGURES.keeping["us"]).verdict is WITHIN


def test_times_and_stages_that_cannot_be_meant_are_never_within():
    stages = [(5, 3600), (21, 5 * 3600)]
    for cooled in ([(5, 0)], [(5, 1)], stages):
        said = tuple(Cooled(Fraction(c), Fraction(s)) for c, s in cooled)
        assert verdicts.cooling("us", said, FIGURES.cooling["us"]).verdict is CANNOT_TELL
    held = Held(SPAN, at_c=Fraction(30), up_to_s=Fraction(0))
    assert verdicts.holding("us", held, FIGURES.holding["us"]).verdict is CANNOT_TELL
