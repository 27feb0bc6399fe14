"""One change between two revisions of a dish, and the helpers that every comparison needs."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import NamedTuple

from platecard.diagnostics import Span, Stage
from platecard.fingerprint import field_names
from platecard.model import Dish
from platecard.prepared import Prepared
from platecard.reading.hidden import SHOWN
from platecard.recipes.resolved import Resolved

# An alarm is an allergen that came in, or can no longer be ruled out; it alone decides the exit code.
ALARM, WORSE, CHANGED, BETTER = "alarm", "worse", "change", "better"

# The kinds of change, in the order in which a chef is told them.
KINDS = (
    "problem",
    "law",
    "allergen",
    "guest",
    "component",
    "count",
    "position",
    "size",
    "weight",
    "facing",
    "order",
    "recipe",
    "product",
    "equipment",
    "plate",
    "serve",
    "cost",
    "timing",
    "caution",
    "expo",
    "text",
)

Value = str | int | float | None


class Change(NamedTuple):
    """One thing that is not as it was.

    ``what`` is its key (of a component, a recipe, an allergen), ``old`` and ``new`` are its two
    values (None: not there), and ``words`` tell a chef.  ``law`` is set for allergens.  ``span``
    is where it is written, in the old text where ``in_old``.  ``reasons`` prove an allergen, each
    a line that leads from the dish to the label.
    """

    kind: str
    what: str
    old: Value
    new: Value
    severity: str
    words: str
    span: Span | None = None
    in_old: bool = False
    law: str | None = None
    reasons: tuple[str, ...] = ()


def changed(
    kind: str,
    what: str,
    old: Value,
    new: Value,
    words: str,
    span: Span | None,
    old_span: Span | None = None,
    severity: str = CHANGED,
) -> Change:
    """A :class:`Change` at its new place, or at the old one where there is no new one."""
    return Change(kind, what, old, new, severity, words, span or old_span, span is None and old_span is not None)


def dish_of(one: Prepared) -> Dish:
    """The dish of a revision; ValueError where it cannot be read, and there is nothing to compare."""
    if one.dish is None:
        raise ValueError(f"{one.file} cannot be read")
    return one.dish


def resolved_of(one: Prepared) -> Resolved:
    """The resolved dish of a revision; ValueError where it cannot be read, and there is nothing to compare."""
    if one.resolved is None:
        raise ValueError(f"{one.file} cannot be read")
    return one.resolved


def in_doubt(one: Prepared) -> bool:
    """Whether errors may hide what is on the plate.

    An unknown that stays in the tree hides nothing; nor does an outdated record of allergens, a
    piece in the wrong place, or a finishing step.
    """
    settled = (*SHOWN, "allergen-came-in", "acknowledged-too-late")
    return any(p.is_error and p.withholds and p.stage is Stage.MEANING and p.slug not in settled for p in one.problems)


def bare(value: object, *without: str) -> object:
    """A value without the places it was written at, so that a line added above it is no change.

    ``without`` names fields of it to leave out as well.
    """
    if isinstance(value, Span):
        return None
    if names := field_names(type(value)):
        return (
            type(value).__name__,
            *(
                (name, bare(getattr(value, name)))
                for name in names
                if name not in without and name != "places" and not isinstance(getattr(value, name), Span)
            ),
        )
    if isinstance(value, (tuple, list)):
        return tuple(bare(v) for v in value if not isinstance(v, Span))
    if isinstance(value, dict):
        return tuple(sorted((str(k), bare(v)) for k, v in value.items()))
    return value


def differing(old: object, new: object, *without: str) -> tuple[str, ...]:
    """The names of the fields in which two values of one kind differ, apart from places."""
    return tuple(
        name
        for name in field_names(type(old))
        if name not in without and name != "places" and bare(getattr(old, name)) != bare(getattr(new, name))
    )


def others(
    kind: str,
    key: str,
    name: str,
    was: object,
    now: object,
    known: Iterable[str],
    span: Span | None,
) -> Iterator[Change]:
    """The changes in all but the ``known`` fields, told by the names of the fields.

    So a field that is added to a spec later is never passed over.
    """
    for field in differing(was, now, "key", *known):
        a, b = (_short(bare(getattr(one, field))) for one in (was, now))
        yield changed(kind, key, a, b, f"{name}: {field.replace('_', ' ')}: {b}; before: {a}", span)


def _short(value: object) -> str:
    text = "not stated" if value in (None, "", ()) else str(value)
    return text if len(text) <= 120 else text[:119] + "…"


def number(value: Fraction | int | float | None) -> int | float | None:
    """An exact amount as a plain number, to three decimals."""
    return None if value is None else int(value) if value == int(value) else round(float(value), 3)
