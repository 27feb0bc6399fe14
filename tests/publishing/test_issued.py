"""What is built is held against what was issued; and one code stands on a dish's card and on its line everywhere."""

from __future__ import annotations

import csv
import io
import json

import pytest

from platecard import fingerprint
from platecard.publishing import issued
from tests.allergens.test_acknowledgement import text_of
from tests.allergens.test_acknowledgement_and_matrix import menu, menu_documents, spec
from tests.kitchens import BEETROOT, SPEC, kitchen

BUTTER, EGG = "{ingredient: butter}", "{ingredient: egg}"


def record_of(*texts: str) -> dict:
    """The record after each of these specs was issued, one after another."""
    record: dict = {}
    for text in texts:
        (dish,) = menu(text)
        record = issued.remembered(record, dish)
    return json.loads(json.dumps(record))


def found(text: str, record: object, *others: str) -> list[tuple[str, str]]:
    dish = menu(text, *others)[0]
    return [(p.slug, p.severity) for p in issued.against_issued(dish, record)]


# --------------------------------------------------------------------------- the check by itself


def test_the_same_dish_is_no_news():
    assert found(spec(BUTTER), record_of(spec(BUTTER))) == [] == found(spec(BUTTER), {})


@pytest.mark.parametrize("part", ["{ingredient: sunflower oil}", "{ingredient: cod}"])
def test_other_allergens_under_an_old_number_are_an_error(part):
    assert found(spec(part), record_of(spec(BUTTER))) == [("same-revision-other-allergens", "error")]
    assert found(spec(part, revision=3), record_of(spec(BUTTER))) == []


def test_a_number_that_was_issued_before_is_not_to_be_used_again():
    record = record_of(spec(BUTTER, revision=1), spec("{ingredient: cod}", revision=2))
    assert found(spec("{ingredient: cod}", revision=1), record) == [("same-revision-other-allergens", "error")]
    (dish,) = menu(spec("{ingredient: cod}", revision=1))
    assert (
        "now with" in (said := issued.against_issued(dish, record)[0].message)
        and "fish (eu)" in said
        and "no longer with" in said
    )


def test_other_content_under_an_old_number_is_a_warning():
    record = record_of(spec(BUTTER))
    assert found(spec(BUTTER, title="Another"), record) == [("same-revision-other-content", "warning")]
    assert found(spec(BUTTER, title="Another", revision=3), record) == []


def test_a_record_that_is_written_down_later_is_no_other_content():
    text = spec(BUTTER)
    assert found(text + "acknowledged: {revision: 2, eu: [milk], us: [cow_milk]}\n", record_of(text)) == []


def test_what_shares_the_equipment_changes_what_it_may_contain_and_not_the_dish():
    fried = spec("{ingredient: potato, equipment: fryer}")
    record = record_of(fried)
    assert found(fried, record, spec("{ingredient: cod, equipment: fryer}")) == [("may-contain-changed", "warning")]
    dish = menu(fried, spec("{ingredient: cod, equipment: fryer}"))[0]
    (told,) = issued.against_issued(dish, record)
    assert told.message.startswith("Dish may contain now: fish (eu), ") and told.message.endswith("(us)")
    after = issued.remembered(record, dish)
    assert (
        found(fried, after) == [("may-contain-changed", "warning")]
        and "no longer: fish" in issued.against_issued(menu(fried)[0], after)[0].message
    )


def test_what_may_be_there_and_now_is_contained_is_never_said_to_be_gone():
    record = record_of(spec("{product: choc}"))
    (dish,) = menu(spec("{product: choc}", "{ingredient: hazelnut}", revision=3))
    assert not [p for p in issued.against_issued(dish, record) if "no longer" in p.message]


@pytest.mark.parametrize(
    "record",
    [
        None,
        [],
        "x",
        {"last": 2},
        {"last": [], "revisions": 7},
        {"last": 2, "revisions": {"2": 5}},
        {"last": 2, "revisions": {"2": {"contains": 3, "content": None}}},
        {"last": 2, "revisions": {"2": {"contains": {"eu": [[], 4]}}}},
    ],
)
def test_a_record_that_cannot_be_read_stops_nothing(record):
    assert all(isinstance(slug, str) for slug, _ in found(spec(BUTTER), record))
    assert set(issued.remembered(record, menu(spec(BUTTER))[0])) == {"last", "revisions"}


# --------------------------------------------------------------------------- the build


def test_the_build_withholds_other_allergens_under_the_same_number_until_it_is_raised(galley):
    assert galley.run("build").code == 0
    galley.write(kitchen((SPEC, "dill: {ingredient: dill}", "dill: {ingredient: celery}")))
    for _ in range(2):  # it is remembered, though the card is gone
        done = galley.run("build")
        assert done.code == 1 and "was issued with other allergens" in done.out
        assert galley.cards() == ["withdrawn/beetroot/pass-card.pdf", "withdrawn/beetroot/plate.svg"]
    galley.write(
        kitchen((SPEC, "dill: {ingredient: dill}", "dill: {ingredient: celery}"), (SPEC, "number: 1", "number: 2"))
    )
    assert galley.run("build").code == 0 and "beetroot/pass-card.pdf" in galley.cards()


def test_a_withheld_dish_is_in_the_menus_documents_as_not_established(galley):
    galley.write({"specs/second.yaml": BEETROOT.replace("Smoked beetroot", "Second beetroot")})
    galley.run("build")
    galley.write(kitchen((SPEC, "dill: {ingredient: dill}", "dill: {ingredient: celery}")))
    galley.run("build")
    first, second = json.loads((galley.root / "output/menu/allergens.json").read_text())["dishes"]
    assert not first["established"] and first["code"] is None and second["established"]


def test_what_may_be_in_it_now_heads_the_report(galley):
    galley.run("build")
    galley.write(
        {
            "specs/a-cod.yaml": (
                BEETROOT.replace("{ingredient: dill}", "{ingredient: cod, equipment: smoker}").replace(
                    "Smoked beetroot", "Aged cod"
                )
            )
        }
    )
    done = galley.run("build")
    first = done.out.splitlines()[0]
    assert "may contain now: fish" in first and "specs/beetroot.yaml" in first
    galley.write({"specs/a-cod.yaml": (galley.root / "specs/a-cod.yaml").read_text() + "note: [\n"})
    assert "may contain now" not in galley.run("build").out.splitlines()[0], "what is open is no news of a may contain"


def test_what_could_not_be_written_was_not_issued(galley):
    galley.run("build")
    galley.write(kitchen((SPEC, "number: 1", "number: 2")))
    (galley.root / "output/beetroot/plate.svg").unlink()
    (galley.root / "output/beetroot/plate.svg").mkdir()
    assert galley.run("build").code == 1
    record = json.loads((galley.root / "output/.made.json").read_text())["beetroot"]["issued"]
    assert record["last"] == 1 and set(record["revisions"]) == {"1"}


def test_a_draft_is_not_issued(galley):
    galley.write({"specs/idea.yaml": "draft: true\n" + BEETROOT})
    galley.run("build")
    galley.write({"specs/idea.yaml": "draft: true\n" + BEETROOT.replace("{ingredient: dill}", "{ingredient: celery}")})
    assert galley.run("build").code == 0
    record = json.loads((galley.root / "output/.made.json").read_text())
    assert "issued" not in record["idea"] and set(record["beetroot"]["issued"]["revisions"]) == {"1"}


# --------------------------------------------------------------------------- one code


def test_one_code_on_the_card_and_on_every_line(galley):
    galley.run("build", "--recipes")
    made = galley.bytes_of()
    card = text_of(made["beetroot/pass-card.pdf"])
    code = card.split("code ")[1][:8]
    assert int(code, 16) >= 0
    assert f"code {code}" in text_of(made["beetroot/recipe-cards.pdf"]) and f"code {code}" in text_of(
        made["menu/allergens.pdf"]
    )
    assert f"code {code}" in made["menu/front-of-house.html"].decode() and f"code {code}" in text_of(
        made["menu/pass-cards.pdf"]
    )
    assert json.loads(made["menu/allergens.json"])["dishes"][0]["code"] == code
    rows = list(csv.reader(io.StringIO(made["menu/allergens-eu.csv"].decode("utf-8-sig"))))
    assert rows[0][2] == "code" and rows[1][2] == code


def test_the_pages_code_is_made_from_those_of_its_dishes():
    one, two = menu(spec(BUTTER, title="One"), spec(EGG, title="Two"))
    code = fingerprint.code_of_menu((one, two))
    assert f"Code {code}" in menu_documents((one, two))["front-of-house.html"].decode()
    other = menu(spec(BUTTER, title="One"), spec(EGG, title="Three"))
    assert fingerprint.of(other[0]) == fingerprint.of(one) and fingerprint.code_of_menu(other) != code
    broken = menu(spec(BUTTER, title="One"), spec("{product: mystery}", title="Two"))
    assert fingerprint.code_of_menu(broken) != code


@pytest.mark.parametrize(
    "file, old, new, matters",
    [
        (SPEC, "size: 30 mm", "size: 31 mm", True),
        (SPEC, "dish: Smoked", "# a remark\ndish: Smoked", False),
        (SPEC, "  - Rim clean", "  - Rim dry", True),
        (SPEC, "expo_checks:", "price: {net: 24 EUR}\nexpo_checks:", False),
        ("shared/pantry.yaml", "read: 2026-01-02", "read: 2026-01-03", True),
        ("shared/pantry.yaml", "may_contain: [milk]", "may_contain: [egg]", True),
        ("shared/recipes/dill-oil.yaml", "amount: 40 g", "amount: 41 g", True),
        ("shared/kitchen.yaml", "larder: Larder", "larder: Cold larder", True),
        ("shared/kitchen.yaml", "sauce: Sauce", "sauce: Sauces", False),
        ("shared/kitchen.yaml", "fryer: the fryer", "fryer: the deep fryer", False),
        ("shared/kitchen.yaml", "smoker: the smoker", "smoker: the cold smoker", True),
        ("shared/kitchen.yaml", "laws: [eu, us]\nlabels", "laws: [eu, us]\nlabel_age: 20 weeks\nlabels", False),
    ],
)
def test_the_code_is_made_from_all_that_matters_and_nothing_else(galley, file, old, new, matters):
    def code() -> str:
        galley.run("build")
        return json.loads((galley.root / "output/menu/allergens.json").read_text())["dishes"][0]["code"]

    before = code()
    assert before
    galley.write(kitchen((file, old, new)))
    assert (code() != before) is matters
