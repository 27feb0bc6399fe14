"""One change between two revisions of a dish, and what all comparisons need."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass, fields, is_dataclass

from platecard.diagnostics import Span
from platecard.layout import arrange, checks
from platecard.pipeline import _SHOWN, Prepared
from platecard.service import fire

# An alarm is an allergen that came in, or can no longer be ruled out; it alone decides the exit code.
ALARM, WORSE, CHANGED, BETTER = "alarm", "worse", "change", "better"

# The order in which a chef is told.
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


@dataclass(frozen=True, slots=True)
class Change:
    """One thing that is not as it was.

    ``what`` names it by its key (a component, a recipe, an allergen), ``old`` and
    ``new`` are its two values (None: not there), ``words`` say it to a chef.  ``law``
    is set for allergens.  ``span`` is where it is written, in the old text where
    ``in_old``.  ``reasons`` prove an allergen: lines from the dish to the label.
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
    """A :class:`Change` at its new place, or at the old one where there is no new."""
    return Change(kind, what, old, new, severity, words, span or old_span, span is None and old_span is not None)


def in_doubt(one: Prepared) -> bool:
    """Whether errors may hide what is on the plate.

    What stays in the tree as an unknown hides nothing, nor does a record that is behind, a
    piece in the wrong place, or a step of finishing.
    """
    left = {
        p
        for p in one.problems
        if p.is_error and p.withholds and p.slug not in (*_SHOWN, "allergen-came-in", "acknowledged-too-late")
    }
    if left and one.dish is not None and one.resolved is not None:
        left -= set(fire.of(one.dish, one.world.kitchen.settings)[1])
        if one.arrangement is not None:
            left -= {*arrange.place(one.dish, one.arrangement.plate)[1], *checks.check(one.arrangement, one.dish)}
    return bool(left)


def bare(value: object, *without: str) -> object:
    """A value without its places, so that a line added above is no change;

    ``without`` names fields of it to leave out.
    """
    if isinstance(value, Span):
        return None
    if is_dataclass(value) and not isinstance(value, type):
        return (
            type(value).__name__,
            *(
                (f.name, bare(getattr(value, f.name)))
                for f in fields(value)
                if f.name not in without and f.name != "places" and not isinstance(getattr(value, f.name), Span)
            ),
        )
    if isinstance(value, (tuple, list)):
        return tuple(bare(v) for v in value if not isinstance(v, Span))
    if isinstance(value, dict):
        return tuple(sorted((str(k), bare(v)) for k, v in value.items()))
    return value


def differing(old: object, new: object, *without: str) -> tuple[str, ...]:
    """The names of the fields in which two values of one kind differ, places apart."""
    return tuple(
        f.name
        for f in fields(old)
        if f.name not in without and f.name != "places" and bare(getattr(old, f.name)) != bare(getattr(new, f.name))
    )


def others(
    kind: str, key: str, name: str, was: object, now: object, known: Iterable[str], span: Span | None
) -> Iterator[Change]:
    """What differs beyond the ``known`` fields, by the names of the fields:

    what a spec learns to say later is never passed over.
    """
    for field in differing(was, now, "key", *known):
        a, b = (_short(bare(getattr(one, field))) for one in (was, now))
        yield changed(kind, key, a, b, f"{name}: {field.replace('_', ' ')}: {b}; before: {a}", span)


def _short(value: object) -> str:
    text = "not said" if value in (None, "", ()) else str(value)
    return text if len(text) <= 120 else text[:119] + "…"


def listed(names: Iterable[str]) -> str:
    """``a``, ``a and b``, ``a, b and c``."""
    names = list(names)
    return names[0] if len(names) == 1 else f"{', '.join(names[:-1])} and {names[-1]}" if names else ""


def number(value) -> int | float | None:
    """An exact amount as a plain number."""
    return None if value is None else int(value) if value == int(value) else round(float(value), 3)
