"""What changed on the plate: its components, their weights, and the order of the steps."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from platecard.diagnostics import listed
from platecard.diff.change import Change, bare, changed, dish_of, number, others, resolved_of
from platecard.diff.change_words import percent, quoted
from platecard.diff.matching import Matched
from platecard.diff.steps import step, step_in_or_out
from platecard.documents.text import wording
from platecard.layout.displacement import Moves
from platecard.model import Component, Dish
from platecard.prepared import Prepared
from platecard.service import rounding as amounts


def compare(old: Prepared, new: Prepared, matched: Matched, moved: tuple[Moves, ...]) -> Iterator[Change]:
    """The changes on the plate; ``moved`` is how the matched steps are laid now and before."""
    before, after = dish_of(old), dish_of(new)
    yield from _components(matched)
    way = {(m.old_step, m.new_step): m for m in moved}
    for was, now in matched.steps:
        if was is None or now is None:
            yield from step_in_or_out(was, now, before, after, matched)
            continue
        yield from step(was, now, before, after, matched, way.get((was.index, now.index)))
    yield from _weights(old, new, matched)
    yield from _order(after, matched)


def source(c: Component) -> str:
    """Where a component comes from, as its spec names it: ``recipe beurre-blanc``."""
    return f"{c.source.kind} {c.source.name}"


def _components(matched: Matched) -> Iterator[Change]:
    for was, now in matched.components:
        if was is not None and now is not None:
            yield from _component(was, now)
        elif now is not None:
            yield changed(
                "component", now.key, None, source(now), f"{now.called} is new on the plate ({source(now)})", now.span
            )
        elif was is not None:
            yield changed(
                "component",
                was.key,
                source(was),
                None,
                f"{was.called} is gone from the plate ({source(was)})",
                None,
                was.span,
            )


def _component(was: Component, now: Component) -> Iterator[Change]:
    if was.key != now.key:
        yield changed(
            "component",
            now.key,
            was.key,
            now.key,
            f"{was.key} is now called {now.key}; it is still {source(now)}",
            now.span,
        )
    elif (was.source.kind, was.source.name) != (now.source.kind, now.source.name):
        yield changed(
            "component",
            now.key,
            source(was),
            source(now),
            f"{now.called} is now {source(now)}, in place of {source(was)}",
            now.source.span,
        )
    yield from _about(was, now)


def _about(was: Component, now: Component) -> Iterator[Change]:
    """The changes in a component's name, station, note and colour, and in what may replace it or be left off."""
    for name, said in (
        ("called", "its name on the card"),
        ("station", "its station"),
        ("note", "its note"),
        ("colour", "its colour in the diagram"),
    ):
        a, b = getattr(was, name), getattr(now, name)
        # A component without a name goes by its key, and a change of that has been told.
        if a != b and not (name == "called" and was.key != now.key):
            yield changed(
                "text",
                now.key,
                a or None,
                b or None,
                f"{now.called}: {said} is {quoted(b)}; before: {quoted(a)}",
                now.span,
            )
    if was.may_be_left_off != now.may_be_left_off:
        yield changed(
            "text",
            now.key,
            "may be left off" if was.may_be_left_off else None,
            "may be left off" if now.may_be_left_off else None,
            f"{now.called} {'may now be left off' if now.may_be_left_off else 'may no longer be left off'} for a guest",
            now.span,
        )
    if bare(was.swaps) != bare(now.swaps):
        before, after = (
            "; ".join(f"{s.use.name} for guests who avoid {listed(s.avoiding)}" for s in c.swaps) or None
            for c in (was, now)
        )
        yield changed(
            "text",
            now.key,
            before,
            after,
            f"{now.called}: what may take its place is {quoted(after)}; before: {quoted(before)}",
            now.span,
        )
    yield from others("text", now.key, now.called, was, now, _COMPONENT, now.span)


_COMPONENT = (
    "called",
    "source",
    "station",
    "equipment",
    "may_be_left_off",
    "swaps",
    "colour",
    "note",
    "finish",
    "handling",
)


def _weights(old: Prepared, new: Prepared, matched: Matched) -> Iterator[Change]:
    """The weights of components on the plate, where they differ as a cook weighs them."""
    before = {p.component.key: p.use.grams for p in resolved_of(old).parts}
    after = {p.component.key: p.use.grams for p in resolved_of(new).parts}
    for was, now in matched.both():
        a, b = before.get(was.key), after.get(now.key)
        if a == b or (a is not None and b is not None and amounts.amount("mass", a) == amounts.amount("mass", b)):
            continue
        ratio = f", {said}" if a and b and (said := percent(b / a)) else ""
        words = f"{now.called}: {_grams(b)} on the plate{ratio}; before: {_grams(a)}"
        yield changed("weight", now.key, number(a), number(b), words, now.span)


def _grams(value: Fraction | None) -> str:
    return "weight not known" if value is None else amounts.amount("mass", value)


def _order(new: Dish, matched: Matched) -> Iterator[Change]:
    """The order of the steps that are in both dishes."""
    pairs = [(a, b) for a, b in matched.steps if a is not None and b is not None]
    before = [b for a, b in sorted(pairs, key=lambda p: p[0].index)]
    after = sorted((b for _, b in pairs), key=lambda s: s.index)
    if before == after:
        return
    first = next(i for i, (x, y) in enumerate(zip(before, after)) if x is not y)
    words_old, words_new = ([wording.called(s.put, new) for s in row] for row in (before, after))
    yield changed(
        "order",
        "plating",
        ", ".join(words_old),
        ", ".join(words_new),
        f"the order of plating is now {', then '.join(words_new)}; before: {', then '.join(words_old)}",
        after[first].span,
    )
