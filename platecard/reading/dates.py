"""Dates that cannot stand as they are written: those still to come, and labels read too long ago.

Nothing here knows what day it is; ``today`` is handed in, and without it nothing is too old or still to come.
"""

from __future__ import annotations

from datetime import date

from platecard.diagnostics import Problem, error, warning
from platecard.model import Dish, Kitchen, Product


def label_age(product: Product, kitchen: Kitchen, today: date | None) -> tuple[Problem, ...]:
    """A warning for a label read on a day still to come, or longer ago than the kitchen allows."""
    limit, label = kitchen.settings.label_days, product.label
    if label is None or today is None:
        return ()
    try:
        days = (today - date.fromisoformat(label.read)).days
    except ValueError:
        return ()  # the reader has said so
    if days < 0:
        return (
            warning(
                "label-from-the-future",
                label.span,
                f"the label of {product.called} was read on {label.read}, which is in the future",
                "correct the date",
            ),
        )
    if limit is None or days <= limit:
        return ()
    return (
        warning(
            "label-too-old",
            label.span,
            f"the label of {product.called} was read {days} days ago; the kitchen reads labels every {limit} days",
            "read it again",
        ),
    )


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
