"""What changed in the timing of a dish: when to fire, what takes how long, and how it is finished."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from platecard.diagnostics import listed
from platecard.diff import recipes
from platecard.diff.change import Change, changed, dish_of, number, others
from platecard.diff.matching import Matched
from platecard.model import Component
from platecard.model.handling import FinishStep
from platecard.prepared import Prepared
from platecard.quantities.clock import spoken
from platecard.quantities.units import shown
from platecard.service.fire import Task

_FINISH = {
    "do": "what is done",
    "on": "on",
    "at_c": "at",
    "core_c": "core temperature",
    "after": "waits for",
    "ready_s": "ready before",
    "is_rest": "only rests",
    "is_ahead": "done ahead",
    "is_together": "all plates together",
    "turn": "turned",
    "note": "the note",
}


def timing(old: Prepared, new: Prepared, matched: Matched) -> Iterator[Change]:
    """What changed in the fire times, in s."""
    a, b = old.schedule, new.schedule
    old_dish, dish = dish_of(old), dish_of(new)
    if a is None and b is not None:
        yield changed(
            "timing",
            "fire",
            None,
            number(b.lead_s),
            f"fire {spoken(b.lead_s)} before the plate leaves; before: nothing was finished to order",
            dish.span,
        )
    elif a is not None and b is None:
        yield changed(
            "timing",
            "fire",
            number(a.lead_s),
            None,
            f"nothing is finished to order now; before: fire {spoken(a.lead_s)} before the plate leaves",
            dish.span,
        )
    elif a is not None and b is not None:
        if a.lead_s != b.lead_s:
            yield changed(
                "timing",
                "fire",
                number(a.lead_s),
                number(b.lead_s),
                f"fire {spoken(b.lead_s)} before the plate leaves, {spoken(abs(b.lead_s - a.lead_s))} "
                f"{'earlier' if b.lead_s > a.lead_s else 'later'}; before: {spoken(a.lead_s)}",
                dish.span,
            )
        if a.whole_s != b.whole_s and (a.lead_s, b.lead_s) != (a.whole_s, b.whole_s):
            yield changed(
                "timing",
                "ahead",
                number(a.whole_s),
                number(b.whole_s),
                f"with what is done ahead, the whole chain takes {spoken(b.whole_s)}; before: {spoken(a.whole_s)}",
                dish.span,
            )
        x, y = (" > ".join(_task(s.task(k)) for k in s.critical) for s in (a, b))
        if x != y:
            yield changed(
                "timing",
                "critical path",
                x,
                y,
                f"nothing to spare: {y or 'nowhere'}; before: {x or 'nowhere'}",
                dish.span,
            )
    for was, now in matched.both():
        yield from _finish(was, now)
    for field, said in (
        ("plating_s", "plating takes"),
        ("check_s", "wiping and checking takes"),
        ("plates_warm_s", "plates are warmed for"),
    ):
        p, q = getattr(old_dish, field), getattr(dish, field)
        if (p or 0) != (q or 0):
            yield changed(
                "timing",
                field.removesuffix("_s"),
                number(p),
                number(q),
                f"{said} {spoken(q) if q else 'no stated time'}; before: {spoken(p) if p else 'not stated'}",
                dish.span,
            )


def _task(t: Task) -> str:
    return f"{t.called}: {t.do}" if t.component else t.do


def _finish(was: Component, now: Component) -> Iterator[Change]:
    before, after = {s.key: s for s in was.finish}, {s.key: s for s in now.finish}
    for key, step in after.items():
        if key not in before:
            yield changed(
                "timing",
                f"{now.key}.{key}",
                None,
                number(step.takes_s),
                f"{now.called}: '{step.do}' came in, {spoken(step.takes_s)}",
                step.span,
            )
            continue
        old = before[key]
        if old.takes_s != step.takes_s:
            yield changed(
                "timing",
                f"{now.key}.{key}",
                number(old.takes_s),
                number(step.takes_s),
                f"{now.called}: {step.do} takes {spoken(step.takes_s)}; before: {spoken(old.takes_s)}",
                step.place("takes"),
            )
        for field, said in _FINISH.items():
            a, b = _fact(old, field, was, now), _fact(step, field, was, now)
            if a != b:
                yield changed(
                    "equipment" if field == "on" else "timing",
                    f"{now.key}.{key}",
                    a,
                    b,
                    f"{now.called}: {step.do}: {said} {b or 'not stated'}; before: {a or 'not stated'}",
                    step.span,
                )
        yield from others(
            "timing", f"{now.key}.{key}", f"{now.called}: {step.do}", old, step, (*_FINISH, "takes_s"), step.span
        )
    for key, step in before.items():
        if key not in after:
            yield changed(
                "timing",
                f"{now.key}.{key}",
                number(step.takes_s),
                None,
                f"{now.called}: '{step.do}' is gone, it took {spoken(step.takes_s)}",
                None,
                step.span,
            )
    shared = [k for k in before if k in after]
    if shared != [k for k in after if k in before]:
        yield changed(
            "timing",
            now.key,
            ", ".join(shared),
            ", ".join(k for k in after if k in before),
            f"{now.called}: its finishing steps are in a different order",
            now.span,
        )


def _fact(step: FinishStep, field: str, was: Component, now: Component) -> str | None:
    value = getattr(step, field)
    if field == "after":
        return (
            None
            if value is None
            else listed(sorted(n.replace(f"{was.key}.", f"{now.key}.") for n, _ in value)) or "nothing"
        )
    if field == "ready_s":
        return spoken(value) if value is not None else None
    return recipes.treated(value if not isinstance(value, Fraction) else f"{shown(value)} °C")
