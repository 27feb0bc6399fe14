"""Dates that cannot stand as they are written: those still to come, and labels read too long ago.

Nothing here knows what day it is; ``today`` is handed in, and without it nothing is too old or still to come.
"""

from __future__ import annotations

from datetime import date

from platecard.diagnostics import Problem, advice, error, warning
from platecard.model import Dish, Kitchen, Product
from platecard.quantities.bounds import bounds


def label_age(product: Product, kitchen: Kitchen, today: date | None) -> tuple[Problem, ...]:
    """What is wrong with the days on which a label was read and its maker asked.

    A warning for either if it is longer ago than the kitchen allows, and for a label read on a day
    still to come.  An error for a maker still to be asked: that answer would settle what the label
    leaves out.
    """
    limit, label = kitchen.settings.label_days, product.label
    if label is None or today is None:
        return ()
    problems: list[Problem] = []
    for day, is_asked in ((label.read, False), (label.maker_asked, True)):
        try:
            days = (today - date.fromisoformat(day)).days
        except ValueError:
            continue  # none was written, or the reader has said what is wrong with it
        who, done = ("maker", "asked") if is_asked else ("label", "read")
        said = f"the {who} of {product.called} was {done}"
        if days < 0 and is_asked:
            hint = "correct the date, or take it out until the maker has answered"
            problems.append(
                error("maker-asked-in-the-future", label.span, f"{said} on {day}, which is in the future", hint)
            )
        elif days < 0:
            problems.append(
                warning(
                    "label-from-the-future", label.span, f"{said} on {day}, which is in the future", "correct the date"
                )
            )
        elif limit is None and days > 365 * bounds().label_years:
            problems.append(
                advice(
                    "label-of-another-year",
                    label.span,
                    f"{said} {days // 365} years ago, and kitchen.yaml does not say how long that holds",
                    "ask again, and write label_age: 12 weeks in kitchen.yaml, so that older ones are told",
                )
            )
        elif limit is not None and days > limit:
            habit = "asks makers" if is_asked else "reads labels"
            problems.append(
                warning(
                    "maker-asked-too-long-ago" if is_asked else "label-too-old",
                    label.span,
                    f"{said} {days} days ago; the kitchen {habit} every {limit} days",
                    "ask again, and write the new day" if is_asked else "read it again",
                )
            )
    return tuple(problems)


def cleaning_to_come(kitchen: Kitchen, today: date | None) -> list[Problem]:
    """An error for each piece of equipment whose cleaning was checked on a day that is still to come."""
    return [
        error(
            "cleaning-from-the-future",
            gear.cleaned.span,
            f"the cleaning of '{gear.key}' was checked on {gear.cleaned.checked}, which is in the future",
            "correct the date",
        )
        for gear in kitchen.settings.gear
        if gear.cleaned and today and gear.cleaned.checked > today.isoformat()
    ]


def revision_to_come(dish: Dish, today: date | None) -> tuple[Problem, ...]:
    """A warning for a revision dated in the future: every card printed until then would look new."""
    said = dish.revision
    if said is None or today is None:
        return ()
    try:
        is_to_come = date.fromisoformat(said.date) > today
    except ValueError:
        return ()  # the reader has said so
    if not is_to_come:
        return ()
    return (
        warning(
            "revision-from-the-future",
            said.span,
            f"revision {said.number} is dated {said.date}, which is in the future",
            "correct the date",
        ),
    )
