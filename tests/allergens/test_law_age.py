"""A law that was looked up long ago is told of, in one line, and one word of the kitchen settles it."""

from __future__ import annotations

from datetime import date

import pytest

from platecard import pipeline
from platecard.allergens import law_age
from platecard.knowledge import laws
from platecard.model import Settings
from tests.kitchens import KITCHEN, LIBRARY, library

EU, US = (laws.load(key)[0] for key in ("eu", "us"))


@pytest.mark.parametrize(
    "looked_up, today, is_old",
    [
        ("2026-01-31", date(2026, 10, 31), False),  # nine months to the day
        ("2026-01-31", date(2026, 11, 1), True),
        ("2026-05-31", date(2027, 2, 28), False),  # February has no 31st: its last day counts
        ("2026-05-31", date(2027, 3, 1), True),
        ("2026-12-01", date(2027, 9, 1), False),
        ("2026-12-01", date(2027, 9, 2), True),
    ],
)
def test_nine_months(looked_up, today, is_old):
    assert law_age.is_too_old(looked_up, today) is is_old


def told(today: date | None, **settings):
    return law_age.check((EU, US), Settings(laws=("eu", "us"), **settings), today)


def test_one_line_names_every_law_that_is_too_old():
    later = date(2028, 1, 1)
    (problem,) = told(later)
    assert (problem.slug, problem.severity) == ("law-checked-long-ago", "advice")
    assert "European Union (" in problem.message and "United States (" in problem.message
    assert problem.hints == ("look for changes of the law, then say in kitchen.yaml laws_checked: 2028-01-01",)


def test_one_word_of_the_kitchen_settles_it():
    assert told(date(2028, 1, 1), laws_checked="2027-09-01") == ()
    assert [p.slug for p in told(date(2028, 7, 1), laws_checked="2027-09-01")] == ["law-checked-long-ago"]
    # An older word than what is on file counts for nothing.
    assert told(date(2026, 12, 2), laws_checked="2020-01-01") == ()


def test_without_a_day_nothing_is_too_old():
    assert told(None) == ()


def test_a_day_that_is_none_or_still_to_come():
    assert [p.slug for p in told(date(2027, 1, 1), laws_checked="2027-02-30")] == ["no-such-day"]
    assert [p.slug for p in told(date(2027, 1, 1), laws_checked="2027-01-02")] == ["laws-checked-in-future"]


def test_the_row_that_was_looked_up_longest_ago_counts():
    old = EU._replace(groups=(EU.groups[0]._replace(checked="2024-01-01"), *EU.groups[1:]))
    assert law_age.last_looked_up(old, "") == "2024-01-01"
    assert law_age.last_looked_up(EU, "") == min(EU.last_checked, "2026-12-01")


def test_a_place_that_is_not_on_file_or_of_another_law():
    assert [p.slug for p in told(None, place="irland")] == ["unknown-place"]
    assert "ireland" in told(None, place="irland")[0].hints[0]
    assert told(None, place="ireland") == ()
    (problem,) = law_age.check((EU,), Settings(laws=("eu",), place="california"), None)
    assert problem.slug == "place-of-another-law" and not problem.is_error


def test_a_kitchen_says_both_in_its_file():
    text = LIBRARY[KITCHEN] + "place: ireland\nlaws_checked: 2027-09-01\n"
    world = pipeline.world(library({**LIBRARY, KITCHEN: text}), today=date(2028, 1, 1))
    assert world.problems == ()
    assert (world.kitchen.settings.place, world.kitchen.settings.laws_checked) == ("ireland", "2027-09-01")
    silent = pipeline.world(library(LIBRARY), today=date(2028, 1, 1))
    assert [p.slug for p in silent.problems] == ["law-checked-long-ago"]
    assert pipeline.world(library(LIBRARY)).problems == ()
