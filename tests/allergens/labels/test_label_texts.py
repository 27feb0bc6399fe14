"""Label texts: what is read from them, what is listed as unknown, and where the kitchen's lists differ."""

from __future__ import annotations

import time
from fractions import Fraction
from functools import cache
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from platecard.allergens.labels import check, vocabulary
from platecard.allergens.labels.check import Stated, compare, open_parts
from platecard.allergens.labels.text import MAX_TEXT, read
from platecard.diagnostics import Span
from platecard.knowledge import catalogue, laws, taxonomy
from tests.kitchens import KITCHEN, LIBRARY, LOADER, PANTRY, poured, prepared

CATALOGUE, TAXONOMY = catalogue.load()[0], taxonomy.load()[0]
CASES = yaml.load((Path(__file__).parent / "labels.yaml").read_text(encoding="utf-8"), Loader=LOADER)["cases"]


@cache
def reading(text):
    return read(text, Span("pantry.yaml", 7, 13, len(text)), CATALOGUE, TAXONOMY)


def said(text):
    label = reading(text)[0]
    return {*label.contains, *label.may_contain}


def differences(text, contains=(), may=(), watched=()):
    span = Span("pantry.yaml", 7, 13, len(text))
    here = Span("pantry.yaml", 5, 3)
    label, stated = reading(text)[0], Stated(dict.fromkeys(contains, here), dict.fromkeys(may, here))
    return compare(label, stated, TAXONOMY, span, watched, open_parts(label, stated, CATALOGUE, TAXONOMY, span))


def slugs(problems, *severities):
    return sorted(p.slug for p in problems if not severities or p.severity in severities)


# --------------------------------------------------------------------------- whole texts


def test_there_are_enough_texts():
    assert len(CASES) >= 60 and len({c["text"] for c in CASES}) == len(CASES)


@pytest.mark.parametrize("case", CASES, ids=lambda c: c["text"][:50])
def test_text(case):
    label, problems = reading(case["text"])
    assert list(label.contains) == case["contains"]
    assert list(label.may_contain) == case.get("may", [])
    assert list(label.unrecognised) == case.get("unrecognised", [])
    assert [p.slug for p in problems] == case.get("problems", [])


# Names that only sound like an allergen, alone and with words round them: the text may not say these.
FALSE_FRIENDS = [
    (
        "milk",
        (
            "butter beans, butternut squash, peanut butter, cocoa butter, shea butter, cream of tartar, coconut cream,"
            " coconut milk, oat milk"
        ),
    ),
    (
        "milk",
        (
            "coconut milk powder, cocoa butter pieces, organic coconut cream, smooth peanut butter, dried butter beans,"
            " roasted butternut squash"
        ),
    ),
    ("egg", "eggplant, grilled eggplant, aubergine (eggplant)"),
    ("mollusc", "oyster mushroom, dried oyster mushrooms, oyster leaf"),
    ("crustacean", "crab apple, crab apples"),
    (
        "tree_nut",
        (
            "nutmeg, ground nutmeg, coconut, water chestnuts, chestnut mushrooms, tiger nut, butternut squash, peanuts,"
            " peanut butter, desiccated coconut"
        ),
    ),
    ("wheat", "buckwheat, roasted buckwheat, buckwheat flour, sea buckthorn"),
    ("peanut", "walnuts, pea protein, peas, brazil nuts"),
    ("barley", "maize maltodextrin, maltodextrin (maize)"),
    ("fish", "crab, gum arabic, oyster"),
    ("milk", "lactic acid, calcium lactate, sodium lactate"),
]


@pytest.mark.parametrize("node, text", FALSE_FRIENDS)
def test_false_friends_do_not_fire(node, text):
    for one in text.split(", "):
        assert not any(TAXONOMY.is_under(n, node) for n in said(one)), one


TRUE_FRIENDS = {
    "buttermilk": "milk",
    "ghee": "milk",
    "quark": "milk",
    "Bombay duck": "fish",
    "dashi": "fish",
    "colatura": "fish",
    "seitan": "wheat",
    "panko": "wheat",
    "roux": "wheat",
    "halva": "sesame",
    "gomasio": "sesame",
    "frangipane": "almond",
    "orgeat": "almond",
    "calamari": "mollusc",
    "wheatgrass": "wheat",
    "E1105": "egg",
    "E224": "sulphite",
    "coconut milk chocolate": "milk",
    "soya lecithin": "soy",
    "egg white powder": "egg",
    "nuts": "tree_nut",
    "mixed nuts": "tree_nut",
    "chocolate (contains milk)": "milk",
    "zorblax (milk)": "milk",
    "milk thistle": "milk",
    "butterMILK": "milk",
    "hazelNUTS": "hazelnut",
}


@pytest.mark.parametrize("name", TRUE_FRIENDS)
def test_allergens_that_hide_fire(name):
    assert any(TAXONOMY.is_under(n, TRUE_FRIENDS[name]) for n in said(f"sugar, {name}, salt"))


# --------------------------------------------------------------------------- parts


def part(text, *path):
    found = reading(text)[0].parts[path[0]]
    for i in path[1:]:
        found = found.parts[i]
    return found


@pytest.mark.parametrize(
    "text, value",
    [
        ("Tomatoes (62%)", 62),
        ("tomatoes 12 %", 12),
        ("salt <2%", 2),
        ("salt 2.5%", "5/2"),
        ("salt (2,5 %)", "5/2"),
        ("salt 1-2%", 2),
        ("salt", None),
    ],
)
def test_percentages(text, value):
    assert part(text, 0).percent == (None if value is None else Fraction(value))


@pytest.mark.parametrize(
    "text, is_so",
    [
        ("sugar, MILK, salt", True),
        ("sugar, *milk*, salt", True),
        ("sugar, _milk_, salt", True),
        ("sugar, **milk**, salt", True),
        ("sugar, milk, salt", False),
        ("SUGAR, MILK, SALT", False),
        ("INGREDIENTS: SUGAR, MILK, SALT", False),
        ("sugar*, milk*, salt. *organic", False),
    ],
)
def test_emphasis(text, is_so):
    assert part(text, 1).emphasised is is_so


def test_brackets_of_any_kind_and_depth():
    found = part("chocolate (sugar, cocoa mass, [whole milk powder {milk}], emulsifier: (soya lecithin))", 0)
    assert [p.words for p in found.parts] == ["sugar", "cocoa mass", "whole milk powder", "emulsifier"]
    assert found.parts[2].parts[0].nodes == ("milk",) and found.parts[3].parts[0].nodes == ("soy",)
    assert found.unknown == ()  # its list answers what depended on the maker


@pytest.mark.parametrize(
    "text, still_open",
    [
        ("lecithin", True),
        ("lecithin (soya)", False),
        ("lecithin (sunflower)", False),
        ("E322 (soya)", False),
        ("emulsifier: E322", True),
        ("vegetable oil", True),
        ("vegetable oil (palm, rapeseed)", False),
        ("lecithin from soya", False),
        ("cheese (milk)", True),
        ("ham (preservative: E250)", True),
        ("flavouring", True),
        ("chocolate", True),
        ("chocolate (sugar, cocoa butter, cream)", False),
        ("modified starch", True),
        ("rapeseed oil", False),
    ],
)
def test_what_a_bracket_answers(text, still_open):
    assert bool(part(text, 0).unknown) is still_open


@pytest.mark.parametrize(
    "text",
    [
        "E322",
        "E 322",
        "e-322",
        "INS 322",
        "emulsifier (322)",
        "emulsifier: E322",
        "Emulsifier - E322",
        "emulsifier E322",
    ],
)
def test_additives_by_number(text):
    assert "lecithin" in {p.matched for p in reading(text)[0].all()}


def test_variants_of_a_number_are_one_additive():
    assert [p.matched for p in reading("E450(iii), E450i, E 450 (i)")[0].parts] == [part("E450", 0).matched] * 3


def test_an_unknown_number_is_an_error_at_its_place():
    text = "milk, E9999, salt"
    label, (problem,) = reading(text)
    assert (problem.slug, problem.is_error, problem.span.line, problem.span.column) == (
        "unknown-e-number",
        True,
        7,
        13 + text.index("E9999"),
    )
    assert label.unrecognised == ("E9999",)


@pytest.mark.parametrize(
    "text, sign, allergen", [("milk (sugar", "(", "milk"), ("sugar), milk", ")", "milk"), ("sugar [milk)", ")", "milk")]
)
def test_unbalanced_brackets_are_an_error_and_lose_nothing(text, sign, allergen):
    label, (problem,) = reading(text)
    assert problem.slug == "label-brackets" and problem.span.column == 13 + text.index(sign)
    assert said(text)


def test_a_quoted_text_begins_after_its_quote_and_a_folded_one_has_one_place():
    text = "milk, E9999"
    quoted = read(text, Span("f", 1, 10, len(text) + 2), CATALOGUE, TAXONOMY)[1][0]
    folded = read(text, Span("f", 1, 10, 1), CATALOGUE, TAXONOMY)[1][0]
    assert (quoted.span.column, folded.span.column) == (17, 10)


@pytest.mark.parametrize("text", ["", "   ", "()", ", ; .", "Ingredients:"])
def test_an_empty_text_says_so(text):
    assert "label-empty" in slugs(reading(text)[1]) and not reading(text)[0].settled


# --------------------------------------------------------------------------- fail closed


@pytest.mark.parametrize(
    "text",
    [
        "zorblax",
        "milk, zorblax",
        "chocolate (zorblax)",
        "zorblax (12%)",
        "zorblax (E250)",
        "zorblax:",
        "sugar, zorblax flour",
        "牛乳",
        "<<<",
        "powder",
        "E9999 (salt)",
    ],
)
def test_what_is_not_recognised_is_listed_and_the_label_not_settled(text):
    label = reading(text)[0]
    assert label.unrecognised and not label.settled


@pytest.mark.parametrize(
    "text",
    [
        "Free from milk.",
        "Contains no milk.",
        "Does not contain milk",
        "Made without milk",
        "Contains no milk or egg, free from nuts.",
    ],
)
def test_a_claim_of_absence_is_no_list_of_ingredients(text):
    label, problems = reading(text)
    assert not label.settled and not label.contains and slugs(problems) == ["label-empty"]


@pytest.mark.parametrize(
    "text",
    [
        "sugar, free from nuts, milk powder",
        "Sugar, free from egg, milk",
        "Free from gluten, skimmed milk powder",
        "Free from nuts (milk)",
        "not free from milk",
        "We cannot guarantee this product is free from milk",
        "milk. Free from milk",
        "free from milk, sugar, milk",
    ],
)
def test_a_claim_of_absence_takes_nothing_away(text):
    """What follows it in a list is an ingredient, and a claim that is denied is a warning."""
    assert any(TAXONOMY.is_under(n, "milk") for n in said(text)), text


def test_what_suits_people_with_an_allergy_is_for_the_chef_to_read():
    label = reading("Sugar. Suitable for people with a milk allergy.")[0]
    assert "milk" in label.open and label.unread and not label.settled


def test_reordered_words_do_not_count_as_recognised():
    assert CATALOGUE.find("powder milk skimmed").candidates == ("skimmed milk powder",)
    assert part("powder milk skimmed", 0).matched != "skimmed milk powder"


def test_a_settled_label():
    assert reading("Sugar, salt, whole MILK.")[0].settled


# --------------------------------------------------------------------------- any text at all

NAMES = [
    "milk",
    "wheat flour",
    "sugar",
    "soya lecithin",
    "chocolate",
    "egg white powder",
    "zorblax",
    "vegetable oil",
    "cheese",
    "E322",
    "peanut butter",
    "coconut milk",
    "nuts",
    "fish",
    "E9999",
    "starch",
    "mustard",
    "dried apricots",
    "oat milk",
    "emulsifier: E471",
    "butternut",
    "anchovies",
    "hazelnut and cocoa paste",
    "cream from milk",
]
ITEMS = st.recursive(
    st.sampled_from(NAMES),
    lambda inner: st.builds(
        lambda head, inside, pair: f"{head} {pair[0]}{', '.join(inside)}{pair[1]}",
        st.sampled_from(NAMES),
        st.lists(inner, min_size=1, max_size=3),
        st.sampled_from(["()", "[]", "{}"]),
    ),
    max_leaves=6,
)
STATEMENTS = st.sampled_from(
    [
        "",
        ". Contains: milk, soy.",
        ". May contain nuts and sesame.",
        ". Made in a factory that also handles peanuts.",
        ". Free from gluten.",
    ]
)
LABELS = st.builds(
    lambda items, end: "Ingredients: " + ", ".join(items) + end, st.lists(ITEMS, min_size=1, max_size=5), STATEMENTS
)


@given(st.text(max_size=300))
@settings(max_examples=150, deadline=None)
def test_any_text_is_read_without_raising(text):
    label, _ = reading(text)
    assert label.parts or not label.settled


@given(
    st.lists(
        st.sampled_from(
            [
                *NAMES,
                "(",
                ")",
                "[",
                "}",
                ",",
                ";",
                ":",
                ".",
                "%",
                "12%",
                "*",
                "_",
                "contains",
                "may contain",
                "free from",
                "from",
                "and",
                "made in a",
                "of which",
                "MILK",
                "é",
            ]
        ),
        max_size=25,
    )
)
@settings(max_examples=200, deadline=None)
def test_any_words_and_signs_are_read_without_raising(words):
    text = " ".join(words)
    differences(text, ("milk", "tree_nut"), ("soy",))


@given(st.lists(ITEMS, min_size=1, max_size=5), ITEMS, st.integers(0, 5), STATEMENTS)
@settings(max_examples=50, deadline=None)
def test_one_more_part_never_takes_an_allergen_away(items, more, where, end):
    fewer, longer = ", ".join(items) + end, ", ".join([*items[:where], more, *items[where:]]) + end
    assert said(fewer) <= said(longer) and said(more) <= said(longer)
    assert set(reading(fewer)[0].unrecognised) <= set(reading(longer)[0].unrecognised)


@given(LABELS, st.sampled_from([str.upper, str.lower, str.title]), st.sampled_from([" ", "  ", "\n", "\t "]))
@settings(max_examples=70, deadline=None)
def test_case_and_blanks_do_not_matter(text, case, blank):
    same = reading(case(text).replace(" ", blank))[0]
    label = reading(text)[0]
    assert (same.contains, same.may_contain, same.open, len(same.unrecognised)) == (
        label.contains,
        label.may_contain,
        label.open,
        len(label.unrecognised),
    )


@given(LABELS, st.sampled_from(["milk", "egg", "wheat", "soya", "peanut"]), st.sampled_from(["*", "_", "**"]))
@settings(max_examples=150, deadline=None)
def test_stressing_a_word_changes_nothing_else(text, word, sign):
    assert said(text.replace(word, f"{sign}{word}{sign}")) == said(text)


@pytest.mark.parametrize(
    "text",
    [
        "(" * 10_000,
        "(" * 5_000 + ")" * 5_000,
        "([{" * 3_000 + "milk",
        "milk (" * 3_000,
        "from " * 4_000,
        "made in a " * 2_000,
        "contains " * 2_200,
        "milk " * 4_000,
        "*a" * 10_000,
        "," * MAX_TEXT,
        "9% " * 6_000,
        "for allergens " * 1_400,
        "_a_" * 6_000,
    ],
)
def test_hostile_texts_are_bounded(text):
    start = time.perf_counter()
    label, problems = reading(text)
    assert time.perf_counter() - start < 5 and len(problems) < 20
    assert "milk" not in text or any(TAXONOMY.is_under(n, "milk") for n in label.contains)


def test_a_megabyte_is_refused_and_nothing_is_settled():
    label, problems = reading("milk, " * 180_000)
    assert slugs(problems) == ["label-too-long"] and problems[0].is_error and not label.settled and label.unrecognised


# --------------------------------------------------------------------------- against the kitchen's lists


def test_a_text_and_lists_that_agree():
    text = "Cocoa mass, sugar, cocoa butter, emulsifier: SOYA lecithin, whole MILK powder. May contain almond."
    assert slugs(differences(text, ("soy", "milk"), ("almond",)), "error", "warning") == []


def test_an_allergen_that_is_not_declared_is_an_error_at_its_word():
    text = "Sugar, skimmed milk powder"
    (problem,) = differences(text)
    assert problem.slug == "label-undeclared" and problem.is_error
    assert problem.message == "the text says 'skimmed milk powder', but cow's milk is not in contains"
    assert problem.span.column == 13 + text.index("skimmed")


@pytest.mark.parametrize(
    "text, contains, may, errors",
    [
        ("skimmed milk powder", ["milk"], [], []),
        ("goat's milk", ["cow_milk"], [], ["label-not-in-text", "label-undeclared"]),
        ("wheat flour", ["cereal_gluten"], [], []),
        ("spelt flour", ["wheat"], [], []),
        ("sugar", ["egg"], [], ["label-not-in-text"]),
        ("sugar", [], ["egg"], ["label-not-in-text"]),
        ("milk", [], ["milk"], ["label-undeclared"]),
        ("sugar. May contain nuts", [], [], ["label-undeclared"]),
        ("sugar. May contain nuts", [], ["tree_nut"], []),
        ("sugar. May contain hazelnut", [], ["tree_nut"], []),
        ("sugar. May contain milk", ["milk"], [], []),
        ("lecithin", ["egg"], [], []),
        ("chocolate (milk, sugar)", [], [], ["label-undeclared"]),
        ("nuts", [], [], ["label-undeclared"]),
        ("cod, anchovies", ["cod"], [], ["label-undeclared"]),
        ("cod, anchovies", ["fish"], [], []),
        ("E1105", [], [], ["label-undeclared"]),
        ("sodium metabisulphite", [], [], ["label-undeclared"]),
        ("vinegar, preservative: E224", [], [], ["label-undeclared"]),
        ("Contains: sulphites", [], [], ["label-undeclared"]),
        ("sugar (may contain egg)", [], [], ["label-undeclared"]),
    ],
)
def test_agreement(text, contains, may, errors):
    assert slugs(differences(text, contains, may), "error") == errors


def test_unread_words_are_errors_at_their_places_with_the_line_that_settles_them():
    text = "milk, zorblax gum, quuxal"
    first, second = (p for p in differences(text, ("milk",)) if p.slug == "label-words-not-recognised")
    assert (
        first.is_error
        and "'zorblax'" in first.message
        and (first.span.column, first.span.length) == (13 + text.index("zorblax"), 7)
    )
    assert second.span.column == 13 + text.index("quuxal") and "means_nothing: [zorblax, quuxal]" in second.hints[0]
    assert slugs(differences("zorblax", ("egg",)), "error") == ["label-words-not-recognised"]


def test_a_group_without_its_kind_is_said():
    assert "label-which-kind" in slugs(differences("hazelnuts", ("tree_nut",)))
    assert "label-which-kind" not in slugs(differences("hazelnuts", ("hazelnut",)))
    assert "label-which-kind" in slugs(differences("nuts", ("tree_nut",)))


def test_what_few_laws_know_is_silent_unless_a_law_in_force_declares_it():
    assert slugs(differences("tomatoes")) == []
    assert slugs(differences("tomatoes", watched={"tomato"})) == ["label-undeclared"]


def test_sulphites_carried_over_are_a_warning():
    assert slugs(differences("white wine", ()), "error") == [] and "label-below-limit" in slugs(
        differences("white wine", ())
    )


def test_an_exempted_form_is_a_warning():
    assert slugs(differences("fully refined soya oil"), "error") == [] and "label-exempt-form" in slugs(
        differences("fully refined soya oil")
    )
    assert slugs(differences("fully refined soya oil, soya flour"), "error") == ["label-undeclared"]


def test_stress_without_a_known_allergen_is_a_warning():
    assert "label-emphasis" in slugs(differences("water, SORGHUM flour, sugar"))
    assert "label-emphasis" not in slugs(differences("water, WHEAT flour, sugar", ("wheat",)))


# --------------------------------------------------------------------------- the words themselves


def test_the_words_of_labels_have_no_problems():
    assert vocabulary.words()[1] == ()


def test_no_word_that_is_passed_over_names_an_allergen():
    words = vocabulary.words()[0]
    for word in (*words.neutral, *words.beside, *words.plain, *words.said, *words.classes, *words.nothing):
        if "free" not in word.split() and word not in {"roe off", "roe on", "rind on", "sole emulgujace"}:
            for one in word.split():
                node = TAXONOMY.find(one)
                assert node is None, f"'{word}' hides {node}"
            found = CATALOGUE.find(word).entry if word in words.plain else None
            assert found is None or not found.contains, word


# --------------------------------------------------------------------------- what the product is called


def against_name(called: str, contains: str = "", more: str = "", product: str = "", laws: str = "eu, us") -> list[str]:
    """What the names of a product say that its label's list does not, as the messages of the errors."""
    files = {
        KITCHEN: LIBRARY[KITCHEN].replace("[eu, us]", f"[{laws}]"),
        PANTRY: (
            LIBRARY[PANTRY]
            + f'  bought: {{called: "{called}", {product}label: {{read: 2026-01-02, contains: [{contains}]{more}}}}}\n'
        ),
    }
    one = prepared(poured({"a": "{product: bought}"}), files)
    found = [p for p in one.problems if p.slug == "label-against-name"]
    assert all(p.is_error and p.span.file == PANTRY and p.hints for p in found) and (not found or not one.is_sound)
    return [p.message for p in found]


@pytest.mark.parametrize(
    "called, allergen",
    [
        ("Butter", "milk"),
        ("Peanut butter", "peanuts"),
        ("Walnut bread", "walnut"),
        ("Walnut bread", "wheat"),
        ("Egg noodles", "egg"),
        ("Fish stock", "fish"),
        ("Mayonnaise", "mustard"),
        ("Celeriac crisps", "celery"),
        ("Weizenmehl", "wheat"),
        ("Lait d'amande", "almond"),
        ("Dark chocolate with hazelnut", "hazelnut"),
        ("Soya cream", "soya"),
        ("Vegan butter", "milk"),
    ],
)
def test_a_list_without_what_the_name_says_is_an_error(called, allergen):
    """A label copied without its allergens would make a clean card of a jar of peanut butter."""
    assert any(allergen in message for message in against_name(called)), called


@pytest.mark.parametrize(
    "called",
    [
        "Coconut milk",
        "Cocoa butter",
        "Butternut squash",
        "Butter beans",
        "Cream of tartar",
        "Oyster mushroom",
        "Water chestnut",
        "Nutmeg",
        "Eggplant",
        "Rice cracker",
        "Buckwheat groats",
        "Refined soya oil",
        "Crab apple jelly",
        "Seeded crisp",
        "Smoked salt",
    ],
)
def test_a_name_that_only_sounds_like_it_is_none(called):
    assert against_name(called) == []


def test_what_the_list_has_is_enough():
    assert against_name("Peanut butter", "peanuts") == [] == against_name("Butter", "milk")
    assert against_name("Walnut bread", "wheat, walnut") == []
    assert "only in may_contain" in against_name("Peanut butter", more=", may_contain: [peanuts]")[0]


def test_only_a_text_that_is_read_whole_says_better_what_it_is():
    assert against_name("Vegan butter", more=', text: "coconut oil, water, salt"') == []
    assert against_name("Vegan butter", more=', text: "coconut oil, zorblax"') and against_name(
        "Vegan butter", more=', text: "coconut oil, flour"'
    )
    assert against_name("Vegan butter", product="is: coconut oil, ")
    assert against_name("Peanut butter", product="is: water, ") and against_name(
        "Peanut butter", product="is: rapeseed oil, "
    )


def test_the_other_names_of_a_product_count_too():
    assert any("peanuts" in message for message in against_name("The brown jar", product="also: [peanut butter], "))


def test_a_list_is_written_for_the_laws_in_force():
    assert against_name("Buckwheat groats", laws="eu") == [] and any(
        "buckwheat" in message for message in against_name("Buckwheat groats", laws="jp")
    )


def test_no_name_is_passed_over_that_a_reader_of_labels_would_have_understood():
    """Names are looked through quickly first; every name of the catalogue, dressed up as products are, must come
    through that.
    """
    watched = frozenset(n for key in laws.names() for group in laws.load(key)[0].groups for n in group.nodes)
    dressed = ("{}", "Best {} 500 g", "{} crisps", "Bio-{}", "{} (frozen)", "House {}, 2 kg", "{}-style spread")
    told = passed = 0
    for number, name in enumerate(sorted({n for entry in CATALOGUE for n in (entry.name, *entry.of)})):
        called = dressed[number % len(dressed)].format(name)
        might = check.may_name_something(called, CATALOGUE, TAXONOMY, watched)
        found = check.against_name(
            called, reading(called)[0], Stated({}, {}), TAXONOMY, Span("pantry.yaml", 1), watched
        )
        assert might or not found, called
        told += bool(found)
        passed += not might
    assert told > 1000 and passed > 1000
