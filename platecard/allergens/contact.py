"""What shared equipment hands on: a "may contain" with the dish and component it came from.

Everything that goes through a piece of equipment hands its allergens to everything
else that goes through it, over the whole menu.  Sulphites are left out: a law
reckons them as a concentration in the food as served, and they come with their own
arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from ..problems import Problem, Span, error
from ..recipes import Batch, Resolved, What
from .traces import CONTAINS, MAY, UNKNOWN, Link, Trace, Tracer, few


@dataclass(frozen=True, slots=True)
class Passed:
    """One thing that goes through a piece of equipment, with what it leaves there."""

    dish: str
    component: str
    said: str
    traces: tuple[Trace, ...]


Shared = dict[str, tuple[Passed, ...]]


def handed_on(menu: Iterable[Resolved], tracer: Tracer) -> Shared:
    """Equipment → everything that goes through it, over the menu."""
    found: dict[str, list[Passed]] = {}
    for resolved in menu:
        for part in resolved.parts:
            for equipment, called, what in _through(part.use.what, part.component.called, part.component.equipment):
                left = tuple(t for t in tracer.thing(what) if t.state in (CONTAINS, UNKNOWN) and t.node != "sulphite")
                said = called if called == part.component.called else f"{called} for {part.component.called}"
                found.setdefault(equipment, []).append(Passed(resolved.dish.key, part.component.key, f"{said} ({resolved.dish.title})", left))
    return {k: tuple(v) for k, v in found.items()}


def misused(resolved: Resolved, only_for: Iterable[tuple[str, tuple[str, ...], Span]], names: dict[str, str]) -> tuple[Problem, ...]:
    """An error for each component that goes through equipment kept for something else."""
    found = []
    for equipment, kept, span in only_for:
        for part in resolved.parts:
            for used, called, what in _through(part.use.what, part.component.called, part.component.equipment):
                key = what.recipe.key if isinstance(what, Batch) else ""
                if used == equipment and not {key, part.component.key, called} & set(kept):
                    found.append(error("kept-equipment", part.component.span, f"{called} goes through the {names.get(equipment, equipment)}, which is kept for {', '.join(kept)}",
                                       f"use other equipment, or add it to only_for at {span}"))
    return tuple(found)


def received(resolved: Resolved, shared: Shared, names: dict[str, str]) -> tuple[Trace, ...]:
    """What this dish picks up from other components through equipment."""
    found: list[Trace] = []
    top = Link(resolved.dish.title, resolved.dish.span)
    for part in resolved.parts:
        own = (resolved.dish.key, part.component.key)
        head = Link(part.component.called, part.component.source.span)
        for equipment in dict.fromkeys(e for e, _, _ in _through(part.use.what, part.component.called, part.component.equipment)):
            for other in shared.get(equipment, ()):
                if (other.dish, other.component) == own:
                    continue
                via = Link(f"shares the {names.get(equipment, equipment)} with {other.said}", part.component.span)
                for trace in other.traces:
                    state = MAY if trace.state == CONTAINS else UNKNOWN
                    found.append(Trace(trace.node, state, trace.form, (top, head, via, *trace.chain)))
    return few(found)


def _through(what: What, called: str, equipment: tuple[str, ...]) -> list[tuple[str, str, What]]:
    """(equipment, name, thing) for a component and every recipe inside it."""
    found = [(e, called, what) for e in equipment]
    seen: set[str] = set()

    def walk(inner: What) -> None:
        if isinstance(inner, Batch) and inner.recipe.key not in seen:
            seen.add(inner.recipe.key)
            found.extend((e, inner.recipe.called, inner) for e in inner.recipe.equipment)
            for line in inner.lines:
                walk(line.what)

    walk(what)
    return found
