"""What a law asks of a kitchen: who must tell the allergens of a dish, in which form and where.

A law's list says what counts as an allergen; its duties say what a restaurant must do about it,
for food on a plate and for food packed on the premises.  A place within a law (a state, a member
state) may ask something else.
"""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple, NotRequired, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, Span, error
from platecard.knowledge import laws
from platecard.yaml_nodes import Mapping, Node, Sequence

FOODS = ("plate", "packed")
DUTIES = ("required", "some", "courtesy")
FORMS = ("written", "written-or-oral", "label", "national", "none")


class Duty(NamedTuple):
    """What is asked for one kind of food in one place.

    ``food`` is plate or packed; ``duty`` is required, some (of the kitchens in ``binds`` alone) or
    courtesy (no duty was found).  ``says`` is the line that documents print.
    """

    law: str
    place: str
    name: str
    food: str
    duty: str
    binds: str
    form: str
    where: str
    language: str
    in_force: str
    checked: str
    mark: str
    source: str
    says: str
    span: Span


class _Row(TypedDict):
    law: str
    place: str
    food: str
    duty: str
    binds: str
    form: str
    in_force: str
    checked: str
    mark: str
    source: str
    says: str
    name: NotRequired[str]
    where: NotRequired[str]
    language: NotRequired[str]


class _Rows(TypedDict):
    duties: list[_Row]


@cache
def load() -> tuple[tuple[Duty, ...], tuple[Problem, ...]]:
    """The duties in ``data/duties.yaml``, in the order of the file, and the problems of that file."""
    made, problems = packaged_tables.rows(packaged_tables.texts("duties.yaml"), _collect, "duties")
    return tuple(
        Duty(
            row["law"],
            row["place"],
            row.get("name", ""),
            row["food"],
            row["duty"],
            row["binds"],
            row["form"],
            row.get("where", ""),
            row.get("language", ""),
            str(row["in_force"]),
            str(row["checked"]),
            row["mark"],
            row["source"],
            row["says"],
            packaged_tables.span_of(row),
        )
        for row in made["duties"]
    ), problems


def of(law: str, place: str = "") -> tuple[Duty, ...]:
    """What ``law`` asks in ``place``: on a plate and packed.

    What is not written for the place, or for a place of another law, is what the law itself asks.
    """
    found = []
    for food in FOODS:
        here = {d.place: d for d in load()[0] if d.law == law and d.food == food}
        if one := here.get(place) or here.get(law):
            found.append(one)
    return tuple(found)


def as_data(duty: Duty) -> dict[str, object]:
    """A duty for JSON."""
    return {
        "place": duty.place,
        "food": duty.food,
        "duty": duty.duty,
        "binds": duty.binds,
        "form": duty.form,
        "where": duty.where,
        "language": duty.language,
        "in_force": duty.in_force,
        "checked": duty.checked,
        "mark": duty.mark,
        "source": duty.source,
        "says": duty.says,
    }


def places() -> dict[str, str]:
    """The places that a kitchen can name, each with its law."""
    return {d.place: d.law for d in load()[0] if d.place != d.law}


_DAY = re.compile(r"\d{4}(-\d\d-\d\d)?")


def _collect(trees: dict[str, Node]) -> tuple[_Rows, tuple[Problem, ...]]:
    """The rows, and what is wrong with them, each at its place.

    1. Every key is known, and all but ``name``, ``where`` and ``language`` are there.
    2. Law, food, duty, form, mark and days are such; a place that is no law has a name and one law.
    3. No place says twice what it asks for the same food.
    """
    problems: list[Problem] = []
    made: list[_Row] = []
    seen: set[tuple[str, str]] = set()
    law_of: dict[str, str] = {}
    known = laws.names()
    for tree in trees.values():
        rows = tree.get("duties") if isinstance(tree, Mapping) else None
        for node in rows.items if isinstance(rows, Sequence) else ():
            row = cast(dict[str, object], packaged_tables.placed(node))
            faults = [f"there is no key '{k}'" for k in row if k not in _KEYS and k != packaged_tables.PLACE]
            faults += [f"it lacks '{k}'" for k in _KEYS if k not in _MAY_LACK and not row.get(k)]
            for key, allowed in (
                ("law", known),
                ("food", FOODS),
                ("duty", DUTIES),
                ("form", FORMS),
                ("mark", laws.MARKS),
            ):
                if row.get(key) and row[key] not in allowed:
                    faults.append(f"'{row[key]}' is none of {', '.join(allowed)}")
            faults += [
                f"'{row[k]}' is no day such as 2026-01-31"
                for k in ("in_force", "checked")
                if row.get(k) and not _DAY.fullmatch(str(row[k]))
            ]
            place, law = str(row.get("place", "")), str(row.get("law", ""))
            if place != law and not row.get("name"):
                faults.append(f"the place '{place}' has no name")
            if place in known and place != law or law_of.setdefault(place, law) != law:
                faults.append(f"the place '{place}' belongs to another law")
            if (place, str(row.get("food"))) in seen:
                faults.append(f"what '{place}' asks of this food is said twice")
            seen.add((place, str(row.get("food"))))
            problems += [error("duty", node.span, f"a duty: {fault}") for fault in faults]
            if not faults:
                made.append(cast(_Row, row))
    return {"duties": made}, tuple(problems)


_KEYS = tuple(_Row.__annotations__)
_MAY_LACK = ("name", "where", "language")
