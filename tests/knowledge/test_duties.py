"""What each law asks of a kitchen, place by place; the source of each value stands beside it."""

from __future__ import annotations

import pytest

from platecard.knowledge import duties, laws
from tests.allergens import oracle
from tests.knowledge.test_knowledge_files import collected

ROW = (
    "{law: eu, place: malta, name: Malta, food: plate, duty: required, binds: all, form: written, in_force: 2020-01-01,"
    " checked: 2026-01-01, mark: seen, source: a gazette, says: in writing}"
)


def faults(*rows: str) -> list[str]:
    text = "duties:\n" + "".join(f"  - {row}\n" for row in rows)
    return [p.message for p in collected(duties._collect, {"platecard/data/duties.yaml": text})[1]]


def asked(law: str, place: str, food: str) -> duties.Duty:
    (found,) = [d for d in duties.of(law, place) if d.food == food]
    return found


# (law, place, food): duty, form, since when, a word of what is asked
CHECKED = [
    # Food Safety Authority of Ireland, page on food that is not prepacked: in writing, in English or in Irish and
    # English, before the sale without having to ask; since 13 December 2014 (S.I. 489/2014, 656/2024).
    ("eu", "ireland", "plate", "required", "written", "2014-12-13", "without asking"),
    ("eu", "ireland", "packed", "required", "written", "2014-12-13", "in writing"),
    # Legislative Decree 231/2017, article 19(8), as told by a chamber of commerce; sanctions from 9 May 2018.
    ("eu", "italy", "plate", "required", "written", "2018-05-09", "menu"),
    # Decree 2015-447: in force on 1 July 2015; the information, or how to reach it directly and freely in writing.
    ("eu", "france", "plate", "required", "written", "2015-07-01", "directly and freely"),
    # LMIDV section 4(4), as told by the state office of Rhineland-Palatinate: orally only with a written record.
    ("eu", "germany", "plate", "required", "written-or-oral", "2014-12-13", "written record"),
    # Government's business guide on regulation 5: in writing, or orally where a notice says so.
    ("uk", "uk", "plate", "required", "written-or-oral", "2014-12-13", "notice says how to ask"),
    # SI 2019/1218, explanatory note, and the agency's page: name, list of ingredients, allergens emphasised.
    ("uk", "uk", "packed", "required", "label", "2021-10-01", "emphasised"),
    # 21 U.S.C. 343(w) speaks of labels; no federal duty for plates.
    ("us", "us", "plate", "courtesy", "none", "2006", "courtesy"),
    # California Health and Safety Code 114093.5: commencing 1 July 2026, chains of 20 or more.
    ("us", "california", "plate", "some", "written", "2026-07-01", "20 places"),
    # New York PHL 1357 and AML 199-g: effective 12 November 2026.
    ("us", "new-york", "packed", "required", "label", "2026-11-12", "notice on the pack"),
    # Food Code 2022, 3-602.12(C), as told by the allergy press: written notification for unpackaged food.
    ("us", "food-code-2022", "plate", "required", "written", "2022", "in writing"),
    # Standard 1.2.1, as told on the authority's page: displayed or given on request.
    ("au-nz", "au-nz", "plate", "required", "written-or-oral", "2016-03-01", "displayed"),
    # A consumers' cooperative's page of 2025: nothing is asked of food eaten out.
    ("jp", "jp", "plate", "courtesy", "none", "2015-04-01", "courtesy"),
    # Food Regulations, regulation 5(1), on the official site: prepacked food; in English (5(2)).
    ("sg", "sg", "plate", "courtesy", "none", "2011-04-15", "courtesy"),
    # Centre for Food Safety: labels in English or Chinese or both.
    ("hk", "hk", "packed", "some", "label", "2007-07-10", "English or Chinese"),
    # A delivery service's page of May 2025: brands of 50 outlets and more that sell food children like.
    ("kr", "kr", "plate", "some", "written", "2021", "50 outlets"),
    # LIV article 5(1)(d): orally only where a notice says so and the staff have it in writing.
    ("ch", "ch", "plate", "required", "written-or-oral", "2017-05-01", "notice in view"),
    ("codex", "codex", "plate", "courtesy", "none", "2024-11-25", "binds nobody"),
]


@pytest.mark.parametrize("law, place, food, duty, form, since, said", CHECKED)
def test_what_is_asked(law, place, food, duty, form, since, said):
    found = asked(law, place, food)
    assert (found.place, found.duty, found.form, found.in_force) == (place, duty, form, since)
    assert said in found.says and found.source


def test_every_law_says_what_it_asks_for_both_kinds_of_food():
    assert duties.load()[1] == ()
    for law in laws.names():
        assert [d.food for d in duties.of(law)] == ["plate", "packed"], law
    assert set(duties.places()) == {"ireland", "italy", "france", "germany", "california", "new-york", "food-code-2022"}


def test_a_place_speaks_for_its_own_law_only_and_for_what_is_written_there():
    assert asked("us", "ireland", "plate").place == "us"
    assert asked("eu", "ireland", "plate").place == "ireland"
    # Nothing is on file for what California asks of packed food: the federal rule stands.
    assert asked("us", "california", "packed").place == "us"


def test_no_duty_is_called_off_from_memory_without_saying_so():
    """A duty that is said not to exist, from memory, says that it was not verified."""
    for d in duties.load()[0]:
        if d.duty == "courtesy" and d.mark == laws.MEMORY:
            assert "not verified" in d.says, d.place


def test_the_lines_end_where_a_sentence_goes_on():
    for row in oracle.read((oracle.DATA / "duties.yaml").read_text(encoding="utf-8"))["duties"]:
        assert not row["says"].endswith(".") and row["says"][0].islower(), row["says"]
        assert len(row["says"]) <= 170, row["says"]


@pytest.mark.parametrize(
    "old, new, said",
    [
        ("law: eu", "law: malta", "'malta' is none of"),
        ("food: plate", "food: bowl", "'bowl' is none of plate, packed"),
        ("duty: required", "duty: perhaps", "'perhaps' is none of"),
        ("form: written", "form: sung", "'sung' is none of"),
        ("mark: seen", "mark: heard", "'heard' is none of"),
        ("checked: 2026-01-01", "checked: lately", "'lately' is no day"),
        (", source: a gazette", "", "it lacks 'source'"),
        (", says: in writing", "", "it lacks 'says'"),
        ("name: Malta, ", "", "the place 'malta' has no name"),
        ("place: malta", "place: us", "the place 'us' belongs to another law"),
        ("binds: all", "binds: all, colour: blue", "there is no key 'colour'"),
    ],
)
def test_a_faulty_duty_is_told(old, new, said):
    assert ROW.count(old) == 1
    (message,) = [m for m in faults(ROW.replace(old, new)) if said in m]
    assert message.startswith("a duty: ")


def test_a_sound_duty_and_one_that_is_said_twice():
    assert faults(ROW) == []
    assert faults(ROW, ROW) == ["a duty: what 'malta' asks of this food is said twice"]
