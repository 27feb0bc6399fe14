"""Cautions by rule: each has a spec that asks for it and one that does not; what is not stated is said.

All dishes are invented.
"""

from __future__ import annotations

from fractions import Fraction

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platecard.documents.kit import caution_block
from platecard.knowledge import catalogue, taxonomy
from platecard.service import caution_rules, cautions, verdicts
from tests.kitchens import KITCHEN, LIBRARY, PANTRY, poured, prepared
from tests.service.test_fire import DUCK

FISH = "{ingredient: cod, amount: 100 g}"
BEEF = "{ingredient: beef fillet, amount: 100 g}"
EGG = "{ingredient: egg yolk, amount: 100 g}"


def recipe(line: str, *keys: str) -> str:
    return (
        "recipe: The thing\nmakes: 100 g\ntakes_up_water: true\n"
        + "".join(f"{k}\n" for k in keys)
        + f"ingredients:\n  - {line}\n"
    )


def minded(
    line: str = "",
    *keys: str,
    component: str = "",
    codes: str = "[us, uk, eu]",
    dish: str = "",
    kitchen: str = "",
    more: dict | None = None,
):
    """The cautions, by rule, of a dish of one recipe with one line."""
    files = {KITCHEN: LIBRARY[KITCHEN] + f"food_code: {codes}\n" + kitchen, **(more or {})}
    if line:
        files["shared/recipes/thing.yaml"] = recipe(line, *keys)
    source = component if not line else "{recipe: thing" + (f", {component}" if component else "") + "}"
    one = prepared(poured({"thing": source}).replace("plate: wide\n", f"plate: wide\n{dish}"), files)
    bad = [p for p in one.problems if p.is_error]
    assert not bad, bad
    return {c.rule: c for c in one.cautions}


def with_(line: str, **keys: str) -> str:
    return line[:-1] + "".join(f", {k}: {v}" for k, v in keys.items()) + "}"


FROZEN = "freezing_record: {at: -20 °C, for: 7 days, record: the log}"
# rule → what asks for it, what does not: the arguments of `minded`.
CASES: dict[str, tuple[list, list]] = {
    "fish-raw": (
        [
            (FISH, "state: raw"),
            (FISH, "state: cured"),
            (FISH, "state: marinated"),
            (FISH, "state: cold-smoked"),
            (FISH, "core: 55 °C"),
            (with_(FISH, state="raw"),),
        ],
        [(FISH, "core: {reaches: 65 °C, for: 10 min}"), (BEEF, "state: raw"), (FISH, "state: cooked", "core: 75 °C")],
    ),
    "shellfish-raw": (
        [
            ("{ingredient: oyster, amount: 6 pieces}", "state: raw"),
            ("{ingredient: scallop, amount: 6 pieces}", "state: marinated"),
        ],
        [("{ingredient: oyster, amount: 6 pieces}", "core: {reaches: 90 °C, for: 90 s}"), (FISH, "state: raw")],
    ),
    "bivalves-live": (
        [(with_("{ingredient: mussel, amount: 500 g}", live="true"), "state: cooked", "core: 90 °C")],
        [
            ("{ingredient: mussel, amount: 500 g}", "state: cooked", "core: 90 °C"),
            (with_("{ingredient: oyster, amount: 6 pieces}", live="true"), "state: raw"),
        ],
    ),
    "egg-raw": (
        [(EGG, "state: raw"), (EGG, "state: lightly cooked", "core: 64 °C"), (EGG, "core: 58 °C")],
        [
            (EGG, "core: {reaches: 75 °C, for: 1 min}"),
            (with_(EGG, pasteurised="true"), "state: raw"),
            ("{ingredient: pasteurised egg yolk, amount: 80 g}", "state: raw"),
            (FISH, "state: raw"),
        ],
    ),
    "minced-under-cooked": (
        [
            (BEEF, "core: 60 °C", "cut: minced"),
            (with_(BEEF, cut="tenderised"), "doneness: pink", "core: 60 °C"),
            (BEEF, "state: raw", "cut: minced"),
        ],
        [(BEEF, "core: {reaches: 72 °C, for: 2 min}", "cut: minced"), (BEEF, "core: 55 °C", "cut: whole")],
    ),
    "under-cooked": (
        [
            (BEEF, "core: 55 °C"),
            (BEEF, "doneness: rare", "core: {reaches: 70 °C, for: 2 min}"),
            (BEEF, "state: raw"),
            ("{ingredient: untreated prawn, amount: 100 g}", "core: 50 °C"),
            ("{ingredient: pheasant, amount: 100 g}", "core: 66 °C"),
            ("{ingredient: scallop, amount: 100 g}", "state: lightly cooked", "core: 50 °C"),
        ],
        [(BEEF, "core: {reaches: 70 °C, for: 2 min}"), (BEEF, "core: 55 °C", "cut: minced"), (EGG, "state: raw")],
    ),
    "core-missing": (
        [
            (BEEF,),
            (BEEF, "state: cooked"),
            (FISH,),
            (EGG,),
            ("{ingredient: untreated prawn, amount: 90 g}",),
            (BEEF, "core: 72 °C"),
            (BEEF, "state: lightly cooked"),
        ],
        [
            (BEEF, "core: 85 °C"),
            (BEEF, "core: {reaches: 72 °C, for: 2 min}"),
            (FISH, "state: cured"),
            ("{ingredient: beef gelatine, amount: 9 g}",),
            ("{ingredient: beetroot, amount: 9 g}",),
        ],
    ),
    "water-bath": (
        [(BEEF, "process: [water bath]", "core: {reaches: 60 °C, for: 1 h}")],
        [(BEEF, "process: [smoked]", "core: 85 °C")],
    ),
    "special-process": (
        [
            ("{ingredient: beetroot, amount: 9 g}", "process: [vacuum]"),
            ("{ingredient: garlic, amount: 9 g}", "process: [garlic in oil]"),
        ],
        [("{ingredient: beetroot, amount: 9 g}", "process: [siphon]")],
    ),
    "time-control": (
        [
            (EGG, "process: [sabayon]", "core: 85 °C", "held: {at: 45 °C, up_to: 1 h}"),
            (EGG, "process: [siphon]", "core: 85 °C", "held: {up_to: 1 h}"),
        ],
        [(EGG, "process: [siphon]", "core: 85 °C", "held: {at: 65 °C}"), (EGG, "core: 85 °C", "held: {at: 45 °C}")],
    ),
    "hold-missing": (
        [(BEEF, "core: 85 °C", "held: {up_to: 2 h}")],
        [
            (BEEF, "core: 85 °C", "held: {at: 65 °C, up_to: 2 h}"),
            (BEEF, "core: 85 °C"),
            (EGG, "process: [siphon]", "held: {up_to: 1 h}"),
        ],
    ),
    "hold-between": (
        [(BEEF, "core: 85 °C", "held: {at: 45 °C, up_to: 2 h}"), (BEEF, "core: 85 °C", "held: {at: 60 °C}")],
        [(BEEF, "core: 85 °C", "held: {at: 63 °C}"), (BEEF, "core: 85 °C", "held: {at: 3 °C}")],
    ),
    "cooling": (
        [
            (BEEF, "core: 85 °C", "cooled: true"),
            (BEEF, "core: 85 °C", "made_ahead: 1 day"),
            (BEEF, "state: cooked", "keeps: 2 days in the fridge"),
        ],
        [(BEEF, "core: 85 °C"), ("{ingredient: dill, amount: 9 g}", "keeps: 2 days in the fridge")],
    ),
    "date-marking": (
        [(FISH, "keeps: 3 days in the fridge"), (FISH, "made_ahead: 2 days")],
        [(FISH, "keeps: 1 day"), (FISH, "keeps: 3 weeks at -18 °C"), (FISH, "keeps: 5 days, airtight")],
    ),
    "foraged": (
        [
            (with_("{ingredient: samphire, amount: 9 g}", foraged="true"),),
            ("{ingredient: borage flower, amount: 9 g}",),
            ("{ingredient: chanterelle, amount: 9 g}",),
        ],
        [
            ("{ingredient: samphire, amount: 9 g}",),
            ("{ingredient: cauliflower, amount: 9 g}",),
            ("{ingredient: mushroom, amount: 9 g}",),
        ],
    ),
}


@pytest.mark.parametrize("rule", CASES)
def test_a_rule_stands_where_the_spec_asks_for_it_and_only_there(rule):
    asks, does_not = CASES[rule]
    for case in asks:
        assert rule in minded(*case), case
    for case in does_not:
        assert rule not in minded(*case), case


def test_reheating_and_hot_holding_belong_to_hot_plates():
    cooked = (BEEF, "core: 85 °C", "cooled: true", "made_ahead: 1 day")
    hot = "serve: {food: hot}\n"
    assert "reheating" in minded(*cooked, dish=hot, component="finish: [{do: heat, takes: 4 min, core: 75 °C}]")
    assert "reheating" not in minded(*cooked, component="finish: [{do: heat, takes: 4 min, core: 75 °C}]")
    missing = (
        minded(*cooked, dish=hot, component="finish: [{do: heat, takes: 4 min, on: smoker}]")["reheating"]
        .items[0]
        .missing
    )
    assert missing == ("core temperature to reach",)
    assert "hold-missing" in minded(*cooked, dish=hot)
    assert "hold-missing" not in minded(*cooked, dish=hot, component="held: {at: 70 °C, up_to: 2 h}")
    assert "hold-missing" not in minded(*cooked)


def test_every_rule_has_its_case():
    tables, problems = caution_rules.load()
    assert not problems
    # Those by food have theirs in `test_cautions_by_food`.
    assert {r.key for r in tables.rules if not {"food", "holds"} & {c.ask for c in r.when}} == {
        *CASES,
        "reheating",
        "wild-mushrooms-raw",
        "garlic-in-oil",
        "crustaceans-live",
        "fermented",
    }
    for rule in tables.rules:
        assert all(f.title and f.mark in caution_rules.MARKS for f in rule.figures)


# --------------------------------------------------------------------------- what is missing is said


def words_of(found) -> str:
    return " ".join(caution_block.in_words(i) for c in found.values() for i in c.items)


@pytest.mark.parametrize(
    "case, said",
    [
        ((BEEF,), "core temperature NOT STATED"),
        ((BEEF, "state: cooked"), "core temperature NOT STATED"),
        ((BEEF, "doneness: pink"), "pink, core temperature NOT STATED"),
        ((BEEF, "core: 72 °C"), "core 72 °C, time at it NOT STATED"),
        ((FISH, "state: raw"), "freezing record NOT STATED"),
        ((FISH, "state: raw", "freezing_record: the log"), "freezing temperature and freezing time NOT STATED"),
        ((BEEF, "core: 85 °C", "held: {up_to: 2 h}"), "holding temperature NOT STATED"),
        ((BEEF, "core: 85 °C", "held: {at: 45 °C}"), "time limit NOT STATED"),
        ((BEEF, "process: [water bath]"), "core temperature and time at it NOT STATED"),
    ],
)
def test_what_is_missing_is_said(case, said):
    assert said in words_of(minded(*case))


@given(
    st.sampled_from(
        [
            "cod",
            "beef fillet",
            "chicken breast",
            "egg yolk",
            "oyster",
            "untreated prawn",
            "snail",
            "venison",
            "quail",
            "duck egg",
        ]
    ),
    st.integers(0, 3),
)
def test_no_animal_food_without_a_word_is_passed_over(name, depth):
    """However deep in recipes: where nothing is said of it, that is said."""
    files = {"shared/recipes/r0.yaml": recipe(f"{{ingredient: {name}, amount: 90 g}}")}
    for n in range(depth):
        files[f"shared/recipes/r{n + 1}.yaml"] = recipe(f"{{recipe: r{n}, amount: 90 g}}")
    found = minded(component=f"{{recipe: r{depth}}}", more=files)
    assert found["core-missing"].items[0].missing == ("core temperature",)
    # Cooked through at any depth, there is nothing left to say.
    files["shared/recipes/r0.yaml"] = recipe(
        f"{{ingredient: {name}, amount: 90 g}}", "core: {reaches: 90 °C, for: 10 min}"
    )
    assert "core-missing" not in minded(component=f"{{recipe: r{depth}}}", more=files)


def test_a_bought_thing_is_told_by_its_label():
    more = {
        PANTRY: LIBRARY[PANTRY] + "  cakes: {called: Sea cakes, label: {read: 2026-01-02, contains: [fish, wheat]}}\n"
    }
    assert minded(component="{product: cakes}", more=more)["core-missing"].items[0].what == "thing (Sea cakes)"
    assert not minded(component="{product: cakes, core: 85 °C}", more=more)


def test_recipes_that_share_much_cost_little():
    """Forty levels, each twice in the next: a million million roads, looked through once each."""
    files = {"shared/recipes/r0.yaml": recipe(BEEF, "core: 55 °C")}
    for n in range(40):
        files[f"shared/recipes/r{n + 1}.yaml"] = recipe(
            f"{{recipe: r{n}, amount: 10 g}}\n  - {{recipe: r{n}, amount: 20 g}}"
        )
    assert len(minded(component="{recipe: r40}", more=files)["under-cooked"].items) == 1


# --------------------------------------------------------------------------- figures


def test_the_invented_duck_is_under_cooked_for_poultry():
    one = prepared(
        DUCK.replace("terrine: {ingredient: potato", "terrine: {ingredient: potato"),
        {KITCHEN: "kitchen: The Galley\nlaws: [us]\n"},
    )
    found = {c.rule: c for c in one.cautions}
    assert [i.what for i in found["under-cooked"].items] == ["duck"]
    assert "core 56 °C" in found["under-cooked"].items[0].said
    assert any("poultry and wild game 74 °C" in f.says for f in found["under-cooked"].figures)


@pytest.mark.parametrize("celsius, seconds", [(60, 43.1 * 60), (65, 9.3 * 60), (75, 25.9), (80, 5.6)])
def test_lethality_against_the_calculated_line(celsius, seconds):
    assert caution_rules.load()[0].needed_s(celsius) == pytest.approx(seconds, rel=0.01)


@pytest.mark.parametrize("celsius, published", [(60, 45 * 60), (65, 10 * 60), (70, 2 * 60), (75, 30), (80, 6)])
def test_lethality_against_the_published_table(celsius, published):
    """The published list (FSA equivalents, seen second-hand) is the calculated line, rounded up by less than a fifth."""  # noqa: E501
    need = caution_rules.load()[0].needed_s(celsius)
    assert need <= published * 1.0000001 and published < need * 1.2
    tables = caution_rules.load()[0]
    assert (
        tables.heat_status("meat", "", frozenset({(Fraction(celsius), Fraction(published))}), "uk") == caution_rules.MET
    )
    assert tables.heat_status("meat", "", frozenset({(Fraction(celsius), Fraction(published - 1))}), "uk") == (
        caution_rules.MET if published <= 17 else caution_rules.BELOW
    )


def test_the_water_bath_is_judged():
    def said(core: str) -> str:
        return minded(BEEF, "process: [water bath]", f"core: {core}")["water-bath"].items[0].said

    assert "1 times as much" in said("{reaches: 70 °C, for: 2 min}")
    assert "1 times as much" in said("{reaches: 60 °C, for: 45 min}")
    assert "LESS than, 43 min 5 s would be as much" in said("{reaches: 60 °C, for: 20 min}")
    assert "below the 60 °C" in said("{reaches: 56 °C, for: 4 h}")
    assert "more than 100 times" in said("{reaches: 68 °C, for: 36 h}")


@pytest.mark.parametrize(
    "kind, cut, core, code, status",
    [
        ("meat", "", (63, None), "us", caution_rules.MET),
        ("meat", "", (62, None), "us", caution_rules.BELOW),
        ("fish", "", (63, 15), "us", caution_rules.MET),
        ("poultry", "", (73, 600), "us", caution_rules.BELOW),
        ("poultry", "", (74, None), "us", caution_rules.MET),
        ("game", "", (70, 120), "us", caution_rules.BELOW),
        ("meat", "minced", (68, None), "us", caution_rules.MET),
        ("meat", "minced", (66, None), "us", caution_rules.NO_TIME),
        ("meat", "minced", (66, 60), "us", caution_rules.MET),
        ("meat", "minced", (63, 180), "us", caution_rules.MET),
        ("meat", "minced", (63, 60), "us", caution_rules.BELOW),
        ("meat", "stuffed", (70, 120), "us", caution_rules.BELOW),
        ("meat", "roast", (Fraction("54.4"), 112 * 60), "us", caution_rules.MET),
        ("meat", "roast", (Fraction("54.4"), 60 * 60), "us", caution_rules.BELOW),
        ("meat", "roast", (54, 9999), "us", caution_rules.BELOW),
        ("meat", "roast", (60, 12 * 60), "us", caution_rules.MET),
        ("meat", "", (60, 12 * 60), "us", caution_rules.BELOW),
        ("meat", "", (72, None), "uk", caution_rules.NO_TIME),
        ("meat", "", (72, 120), "uk", caution_rules.MET),
        ("meat", "", (80, None), "uk", caution_rules.MET),
        ("poultry", "", (62, 45 * 60), "uk", caution_rules.MET),
    ],
)
def test_heat_by_code(kind, cut, core, code, status):
    pair = (Fraction(core[0]), None if core[1] is None else Fraction(core[1]))
    assert caution_rules.load()[0].heat_status(kind, cut, frozenset({pair}), code) == status


@pytest.mark.parametrize(
    "record, us, eu",
    [
        ("at: -20 °C, for: 168 h", True, True),
        ("at: -20 °C, for: 24 h", False, True),
        ("at: -20 °C, for: 20 h", False, False),
        ("at: -35 °C, for: 15 h", True, True),
        ("at: -18 °C, for: 30 days", False, False),
        ("at: -4 °F, for: 7 days", True, True),
    ],
)
def test_the_two_freezing_rules_are_kept_apart(record, us, eu):
    item = minded(FISH, "state: raw", f"freezing_record: {{{record}}}")["fish-raw"].items[0]
    assert {j.code: j.verdict is verdicts.WITHIN for j in item.judged} == {"us": us, "uk": eu, "eu": eu}


def test_an_exemption_is_said_as_said():
    assert "said to be exempt: farmed on pellets, papers filed" in words_of(
        minded(FISH, "state: raw", 'freezing_record: {exempt: "farmed on pellets, papers filed"}')
    )


def test_jurisdictions_are_chosen():
    def codes(**more) -> set[str]:
        return {f.code for f in minded(BEEF, "core: 55 °C", **more)["under-cooked"].figures}

    assert codes(codes="[uk]") == {"uk"} and codes(codes="[us, eu]") == {"us", "eu"}
    # Not chosen: those among the laws; none of them: all there are.
    files = {KITCHEN: "kitchen: The Galley\nlaws: [jp]\n", "shared/recipes/thing.yaml": recipe(BEEF, "core: 55 °C")}
    found = prepared(poured({"thing": "{recipe: thing}"}), files).cautions
    assert {f.code for f in found[0].figures} == {"us", "uk", "eu"}


def test_the_hotter_treatment_on_the_way_counts():
    line = with_(BEEF, state="raw")
    assert "under-cooked" not in minded(line, "core: {reaches: 72 °C, for: 2 min}")
    assert "under-cooked" not in minded(BEEF, "core: 50 °C", component="core: {reaches: 72 °C, for: 2 min}")
    assert "under-cooked" not in minded(
        BEEF, "core: 50 °C", component="finish: [{do: roast, takes: 9 min, core: 85 °C}]"
    )
    assert "under-cooked" in minded(with_(BEEF, core="50 °C"), "core: 48 °C")


@pytest.mark.parametrize(
    "name, kind",
    [
        ("duck breast", "poultry"),
        ("duck fat", "ready"),
        ("venison loin", "game"),
        ("wild boar", "game"),
        ("pork belly", "meat"),
        ("ham", "meat"),
        ("gelatine", "ready"),
        ("cod", "fish"),
        ("salmon roe", "fish"),
        ("Bombay duck", "fish"),
        ("oyster", "bivalve"),
        ("squid", "cephalopod"),
        ("octopus", "cephalopod"),
        ("whelk", "mollusc"),
        ("pheasant", "poultry"),
        ("langoustine", "crustacean"),
        ("sea urchin", "shellfish"),
        ("duck egg", "egg"),
        ("milk", "dairy"),
        ("chanterelle", "wild mushroom"),
        ("elderflower", "flower"),
        ("cauliflower", ""),
        ("hen of the woods", ""),
        ("carrot", ""),
        ("ostrich", "ratite"),
        ("lobster", "crustacean"),
    ],
)
def test_kinds_are_told_from_the_catalogue(name, kind):
    entry = catalogue.load()[0].find(name).entry
    assert caution_rules.load()[0].kind_of(entry, taxonomy.load()[0]) == kind


def test_every_animal_file_is_asked_about():
    """Nothing of the fish, meat, shellfish or egg files falls through the table of kinds."""
    known, tree, tables = catalogue.load()[0], taxonomy.load()[0], caution_rules.load()[0]
    for entry in known:
        if entry.span.file.rsplit("/", 1)[-1] in ("fish.yaml", "meat.yaml", "shellfish.yaml", "eggs.yaml"):
            assert tables.kind_of(entry, tree), entry.name


def test_nothing_of_a_caution_claims_absence():
    text = " ".join(
        [
            caution_rules.load()[0].general,
            *(r.says + r.topic + " ".join(f.says for f in r.figures) for r in caution_rules.load()[0].rules),
        ]
    ).lower()
    assert " free " not in text and "-free" not in text
    assert "licensed to run this kitchen" in text and "local food code" in text


def test_every_condition_that_a_rule_may_ask_for_can_be_answered():
    assert cautions._HOLDS.keys() == caution_rules.ASKS
    asked, found = [rule.when for rule in caution_rules.load()[0].rules], set()
    while asked:
        for one in asked.pop():
            found.add(one.ask)
            asked += one.any_of
    assert found <= caution_rules.ASKS and {"kind", "any", "process"} <= found
