"""How long ago the laws on file were looked up, and whether the kitchen's place is one that is known.

The day is handed in; without one nothing is too old.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date

from platecard.diagnostics import Problem, advice, did_you_mean, warning
from platecard.knowledge import duties
from platecard.knowledge.laws import Law
from platecard.model import Settings

MONTHS = 9  # a law that was looked up longer ago may have changed since


def check(in_force: Iterable[Law], settings: Settings, today: date | None) -> tuple[Problem, ...]:
    """What is to be said of the laws in force: one line where they were looked up too long ago, and of the place."""
    in_force = tuple(in_force)
    return (*_of_place(in_force, settings), *_of_age(in_force, settings, today))


def last_looked_up(law: Law, place: str) -> str:
    """The day on which what the law lists and what it asks of the place was looked up, the earliest of all."""
    return min((law.last_checked, *(d.checked for d in duties.of(law.key, place))))


def is_too_old(day: str, today: date) -> bool:
    """Whether ``day`` lies more than nine months before ``today``."""
    looked = date.fromisoformat(day)
    months = looked.month - 1 + MONTHS
    year, month = looked.year + months // 12, months % 12 + 1
    # The same day of the month nine months on; a day that the month does not have is its last.
    last = (date(year + month // 12, month % 12 + 1, 1) - date(year, month, 1)).days
    return today > date(year, month, min(looked.day, last))


def _of_age(in_force: tuple[Law, ...], settings: Settings, today: date | None) -> tuple[Problem, ...]:
    said, place = settings.laws_checked, settings.laws_checked_span
    if today is None:
        return ()
    if said:
        try:
            by_kitchen = date.fromisoformat(said)
        except ValueError:
            return (warning("no-such-day", place, f"'{said}' is no day", "write it like 2027-09-01"),)
        if by_kitchen > today:
            return (
                warning(
                    "laws-checked-in-future",
                    place,
                    f"the laws were checked on {said}, which is in the future",
                    "correct the date",
                ),
            )
    # What the kitchen has looked up itself counts from that day on.
    days = [(law.name, max(last_looked_up(law, settings.place), said)) for law in in_force]
    old = [(name, day) for name, day in days if is_too_old(day, today)]
    if not old:
        return ()
    named = ", ".join(f"{name} ({day})" for name, day in old)
    return (
        advice(
            "law-checked-long-ago",
            place or settings.laws_span,
            f"last looked up more than nine months ago: {named}",
            f"look for changes of the law, then say in kitchen.yaml laws_checked: {today.isoformat()}",
        ),
    )


def _of_place(in_force: tuple[Law, ...], settings: Settings) -> tuple[Problem, ...]:
    place, known = settings.place, duties.places()
    if not place:
        return ()
    if place not in known:
        return (
            warning(
                "unknown-place",
                settings.place_span,
                f"nothing is on file for the place '{place}'",
                did_you_mean(place, known) or f"places: {', '.join(known)}; leave it out where the law itself decides",
            ),
        )
    if known[place] not in [law.key for law in in_force]:
        return (
            warning(
                "place-of-another-law",
                settings.place_span,
                f"the place '{place}' belongs to the law '{known[place]}', which is not in force here",
                f"add {known[place]} to laws, or correct the place",
            ),
        )
    return ()
