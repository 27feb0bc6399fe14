"""What a chef would leave on the card if a label's text and the lists beside it were not held against each other."""

from __future__ import annotations

import pytest

from platecard.allergens.labels.check import Stated, open_parts, settling
from platecard.diagnostics import Span
from tests.allergens.labels.test_label_texts import CATALOGUE, TAXONOMY, differences, reading
from tests.kitchens import KITCHEN, LIBRARY, PANTRY, poured, prepared


def found(text: str, contains=(), may=(), watched=()) -> list[tuple[str, str]]:
    return [(p.slug, p.severity) for p in differences(text, contains, may, watched)]


def on_card(label: str, called: str = "Thing", laws: str = "eu, us") -> list[tuple[str, str]]:
    """The problems of a dish of one product with this label, as far as they are about labels."""
    files = {
        KITCHEN: LIBRARY[KITCHEN].replace("[eu, us]\n", f"[{laws}]\n", 1).replace("labels_printed_for: [eu, us]\n", ""),
        PANTRY: f"products:\n  thing: {{called: {called}, label: {{read: 2026-01-02, {label}}}}}\n",
    }
    problems = prepared(poured({"a": "{product: thing}"}), files).problems
    return [(p.slug, p.severity) for p in problems if p.slug.startswith(("label-", "mean"))]


UNDECLARED = ("label-undeclared", "error")


@pytest.mark.parametrize(
    "contains, may, expected",
    [
        (["wheat", "milk"], [], []),
        (["wheat"], [], [UNDECLARED]),
        (["wheat"], ["milk"], [UNDECLARED]),
        ([], [], [UNDECLARED, UNDECLARED]),
        # A cereal with gluten says less than wheat, and spelt more: both are about the same food.
        (["spelt", "milk"], [], []),
    ],
)
def test_what_the_text_names_stands_in_contains(contains, may, expected):
    assert found("Wheat flour, skimmed milk powder, salt", contains, may) == expected


@pytest.mark.parametrize(
    "contains, may, expected",
    [
        ([], ["hazelnut"], []),
        (["hazelnut"], [], []),
        ([], [], [UNDECLARED]),
        ([], ["walnut"], [("label-not-in-text", "error"), UNDECLARED]),
    ],
)
def test_what_the_text_warns_of_stands_in_one_of_the_lists(contains, may, expected):
    told = found("Sugar, salt. May contain hazelnut.", contains, may)
    assert sorted(told) == sorted(expected)


def test_where_only_may_contain_has_it_that_is_said():
    (there,) = differences("Wheat flour, salt", [], ["wheat"])
    (nowhere,) = differences("Wheat flour, salt", [], [])
    assert "may_contain" in there.message and "may_contain" not in nowhere.message


def test_an_exempt_form_and_what_is_carried_over_are_warnings_until_the_allergen_itself_is_named():
    assert found("Refined soybean oil, salt") == [("label-exempt-form", "warning")]
    assert found("Refined soybean oil, soybean flour, salt") == [UNDECLARED]
    assert found("Refined soybean oil, salt", ["soy"]) == []


def test_what_the_lists_say_beyond_the_text():
    in_list = ("label-not-in-text", "error")
    assert found("Sugar, salt", ["milk"]) == [in_list] and found("Sugar, salt", [], ["milk"]) == [in_list]
    assert found("Sugar, salt, spices", ["celery"]) == [], "spices can be celery"
    assert in_list in found("Sugar, salt, spices", [], ["celery"]), "but no spices are a trace"
    assert ("label-not-in-text", "warning") in found("Sugar, zzyzx powder", ["milk"]), "the unread word may be it"


def test_a_group_of_which_the_law_wants_the_kind():
    def which(text: str, *contains: str):
        return [p for p in differences(text, contains) if p.slug == "label-which-kind"]

    assert [p.severity for p in which("Nuts, salt", "tree_nut")] == ["warning"]
    assert which("Nuts (hazelnuts), salt", "tree_nut", "hazelnut") == which("Hazelnuts, salt", "hazelnut") == []
    assert any("hazelnut" in hint for p in which("Hazelnuts, salt", "tree_nut") for hint in p.hints)
    assert not any("supplier" in hint for p in which("Hazelnuts, salt", "tree_nut") for hint in p.hints)
    assert any("supplier" in hint for p in which("Nuts, salt", "tree_nut") for hint in p.hints)


@pytest.mark.parametrize("unknown, told", [(8, 8), (9, 9), (12, 9)])
def test_of_many_unread_words_eight_are_told_and_the_rest_counted(unknown, told):
    words = "zorblax quimper vexolin wubtrog jixnarp plomvex drizqua hoxwimp yubnolk gwixpod kroznup bluxtaf".split()
    text = ", ".join(["sugar", *words[:unknown]])
    problems = [p for p in differences(text) if p.slug == "label-words-not-recognised"]
    assert len(problems) == told
    assert (f"{unknown - 8} more" in problems[-1].message) is (unknown > 8)


def test_a_part_that_says_nothing_of_what_it_is_made_of_is_told_with_what_it_may_be():
    (one,) = [p for p in differences("Sugar, vermicelli") if p.slug == "label-leaves-open"]
    assert one.is_error and "wheat or egg" in one.message
    (anything,) = [p for p in differences("Sugar, vegetable protein") if p.slug == "label-leaves-open"]
    assert anything.is_error and "wheat" not in anything.message and "?" not in anything.message
    assert "label-leaves-open" not in {slug for slug, _ in found("Sugar, vegetable protein", ["soy"])}


@pytest.mark.parametrize(
    "text, contains, is_open",
    [
        # Vermicelli are made of wheat, of egg, or of neither: a list that has both says which.
        ("Wheat flour, egg. Contains vermicelli.", ["wheat", "egg"], False),
        ("Wheat flour, salt. Contains vermicelli.", ["wheat"], False),
        ("Sugar, salt. Contains vermicelli.", [], True),
        ("Sugar, salt. Contains vermicelli.", ["egg"], False),
        ("Wheat flour, egg. Contains lecithin.", ["wheat", "egg"], True),
    ],
)
def test_a_sentence_beside_the_list_leaves_nothing_open_that_the_list_names(text, contains, is_open):
    assert (("label-leaves-open", "error") in found(text, contains)) is is_open


@pytest.mark.parametrize(
    "text, slug, column",
    [
        # The text begins at column 13; each fault stands at the part that it is about.
        ("Sugar, wheat flour, salt", "label-undeclared", 20),
        ("Sugar, salt. May contain hazelnut.", "label-undeclared", 25),
        ("Sugar, refined soybean oil", "label-exempt-form", 20),
        ("Sugar, BEETROOT, salt", "label-emphasis", 20),
        ("Sugar, zzyzx", "label-words-not-recognised", 20),
        ("Sugar, vermicelli", "label-leaves-open", 20),
    ],
)
def test_a_fault_of_a_text_stands_at_its_words(text, slug, column):
    assert [(p.slug, p.span.line, p.span.column) for p in differences(text)] == [(slug, 7, column)]


def test_a_sentence_that_names_only_what_the_list_has_says_nothing_new():
    label, span = reading("Wheat flour, egg. Contains vermicelli.")[0], Span("pantry.yaml", 7)
    assert open_parts(label, Stated(), CATALOGUE, TAXONOMY, span) == ()
    label = reading("Wheat flour, salt. Contains vermicelli.")[0]
    assert [p.nodes for p in open_parts(label, Stated(), CATALOGUE, TAXONOMY, span)] == [("wheat", "egg")]


def test_what_the_maker_says_is_not_in_it_is_no_part_of_it():
    assert found("Sugar, salt. Free from vegetable protein.") == []
    assert found("Sugar, salt. Contains no nuts.", [], []) == []


def test_only_plain_words_go_unquoted_into_the_line_that_settles_them():
    line = settling(reading("sugar, zzyzx powder, zq9 powder")[0])
    assert line.startswith("means_nothing: [") and '"zq9' in line and '"zzyzx' not in line
    assert settling(reading("sugar, salt")[0]) == ""


def test_a_word_that_resembles_a_food_is_never_settled_as_meaning_nothing():
    label = reading("sugar, zzyzx powder, hazelnt")[0]
    assert [unread.near for unread in label.unread] == [(), ("hazelnut",)]
    assert settling(label) == "means_nothing: [zzyzx]"


# --------------------------------------------------------------------------- what the chef says of a word


@pytest.mark.parametrize(
    "word, expected",
    [("zzyzx", []), ("milk", [("means-something", "error")]), ("qwxzk", [("means-nothing-unused", "warning")])],
)
def test_a_word_that_is_said_to_mean_nothing(word, expected):
    told = on_card(f"contains: [milk], text: 'Milk, zzyzx', means_nothing: [{word}]")
    assert [row for row in told if row[0].startswith("means")] == expected


# --------------------------------------------------------------------------- the name against the lists


@pytest.mark.parametrize(
    "called, contains, laws, told",
    [
        ("Walnut bread", "wheat", "eu, us", True),
        ("Walnut bread", "wheat, walnut", "eu, us", False),
        ("Celery salt", "", "eu", True),
        ("Celery salt", "", "us", False),
        ("Celery salt", "celery", "eu", False),
        ("Garden salt", "", "eu", False),
        ("Cider vinegar", "", "eu, us", False),
    ],
)
def test_a_product_whose_name_says_what_its_list_does_not(called, contains, laws, told):
    problems = on_card(f"contains: [{contains}]", called, laws)
    assert (("label-against-name", "error") in problems) is told
