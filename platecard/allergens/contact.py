"""What shared equipment hands on: a "may contain" with the dish and component it came from.

Everything that goes through a piece of equipment hands its allergens to everything
else that goes through it, over the whole menu; what a label says it may contain
travels the same road.  Sulphites are left out: a law
reckons them as a concentration in the food as served, and they come with their own
arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache

from ..frozen import frozen
from ..model import Unknown
from ..problems import Problem, Span, error
from ..recipes import Batch, Part, Resolved, What
from .traces import MAX_CHAINS, MAY, UNKNOWN, Link, Trace, Tracer

Owner = tuple[str, str, str, str]
Kind = tuple[str, str, str]  # node, state and form, as the next thing in the equipment takes them up


@frozen
class Passed:
    """One thing that goes through a piece of equipment, with what it leaves there.

    ``owner`` is the dish and the component it goes through for, and what that component is.
    ``head`` stands above each of the traces, which all uses of one recipe share.
    """

    owner: Owner
    said: str
    what: What
    called: str
    head: tuple[Link, ...]
    traces: tuple[Trace, ...]


@frozen
class Left:
    """One chain that stays in a piece of equipment.  Chains that read the same have the same ``mark``."""

    length: int
    position: int
    passed: Passed
    trace: Trace
    mark: int


@frozen
class Row:
    """What a piece of equipment hands on of one kind.

    ``first`` is the position where ``owner`` brings it in first of all, ``other``
    where somebody else first does.  ``left`` are the shortest chains, as many as
    are needed whoever asks, and ``best`` those for somebody who owns none of them.
    """

    first: int
    owner: Owner
    other: int | None
    left: tuple[Left, ...]
    owners: frozenset[Owner]
    best: tuple[Left, ...]

    def since(self, own: Owner) -> int | None:
        return self.other if own == self.owner else self.first

    def without(self, own: Owner) -> tuple[Left, ...]:
        return _best(x for x in self.left if x.passed.owner != own) if own in self.owners else self.best


@frozen
class Used:
    """A piece of equipment: everything that goes through it, and what it hands on."""

    passed: tuple[Passed, ...]
    rows: dict[Kind, Row]


Shared = dict[str, Used]


def handed_on(menu: Iterable[Resolved], tracer: Tracer, doubted: Iterable[Unknown] = ()) -> Shared:
    """Equipment → everything that goes through it, over the menu.

    ``doubted`` are specs of the menu whose faults hide what goes through what: each may
    have sent anything through any equipment that somebody else uses.
    """
    found: dict[str, list[Passed]] = {}
    inside: dict[str, tuple[Trace, ...]] = {}
    for resolved in menu:
        for part in resolved.parts:
            for equipment, called, what in _through(part.use.what, part.component.called, part.component.equipment):
                if isinstance(what, Batch):
                    head = (tracer.head(what),)
                    left = inside.get(what.recipe.key) or inside.setdefault(what.recipe.key, _stays(tracer.inside(what)))
                else:
                    head, left = (), _stays(tracer.thing(what))
                said = called if called == part.component.called else f"{called} for {part.component.called}"
                found.setdefault(equipment, []).append(Passed(_owner(resolved, part), f"{said} ({resolved.dish.title})", what, part.use.called, head, left))
    for spec in doubted:
        said = f"{spec.name}, which has errors"
        unknown = Trace("", UNKNOWN, "", (Link(f"{spec.name}: {spec.why}", spec.span),))
        for passed in found.values():
            passed.append(Passed((spec.name, "", "", ""), said, spec, spec.name, (), (unknown,)))
    return {k: Used(tuple(v), _rows(v)) for k, v in found.items()}


def _stays(traces: Iterable[Trace]) -> tuple[Trace, ...]:
    return tuple(t for t in traces if t.node != "sulphite")


def _rows(passed: list[Passed]) -> dict[Kind, Row]:
    """What goes through one piece of equipment, sorted once for all who ask.

    A menu sends thousands of things through one fryer, and each hands on to each
    other, so only the chains that somebody can need are kept.
    """
    found: dict[Kind, list[tuple[int, int, Passed, Trace]]] = {}
    position = 0
    for one in passed:
        for trace in one.traces:
            entry = (len(one.head) + len(trace.chain), position, one, trace)
            found.setdefault((trace.node, handed(trace.state), trace.form), []).append(entry)
            position += 1
    return {kind: _row(entries) for kind, entries in found.items()}


def _row(entries: list[tuple[int, int, Passed, Trace]]) -> Row:
    _, first, one, _ = entries[0]
    other = next((at for _, at, passed, _ in entries if passed.owner != one.owner), None)
    marks: dict[tuple, int] = {}
    left: dict[tuple[int, Owner], Left] = {}
    of_owner: dict[Owner, int] = {}
    for length, position, passed, trace in sorted(entries, key=lambda entry: entry[:2]):
        mark = marks.setdefault((passed.said, *passed.head, *trace.chain), len(marks))
        if (mark, passed.owner) not in left:
            left[mark, passed.owner] = Left(length, position, passed, trace, mark)
            of_owner[passed.owner] = of_owner.get(passed.owner, 0) + 1
            # Enough, even for whoever owns the most of them.
            if len(marks) - max(of_owner.values()) > MAX_CHAINS:
                break
    return Row(first, one.owner, other, tuple(left.values()), frozenset(of_owner), _best(left.values()))


def _best(left: Iterable[Left]) -> tuple[Left, ...]:
    """Each chain once, in their order; where there are too many, the shortest, and one too many to show it."""
    found: dict[int, Left] = {}
    for one in left:
        found.setdefault(one.mark, one)
        if len(found) > MAX_CHAINS:
            return tuple(found.values())
    return tuple(sorted(found.values(), key=lambda one: one.position))


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
    """What this dish picks up from other components through equipment: of each kind the shortest :data:`MAX_CHAINS` chains."""
    found: dict[Kind, list[tuple[Left, int, str]]] = {}
    for number, part in enumerate(resolved.parts):
        own = _owner(resolved, part)
        for equipment in _equipment(part):
            rows = shared[equipment].rows if equipment in shared else {}
            for _, kind in sorted((since, kind) for kind, row in rows.items() if (since := row.since(own)) is not None):
                found.setdefault(kind, []).extend((left, number, equipment) for left in rows[kind].without(own))
    top, heads = _top(resolved), [_head(part) for part in resolved.parts]
    via: dict[tuple[int, str, int], Link] = {}
    made: list[Trace] = []
    for (node, state, form), handed_over in found.items():
        if len(handed_over) > MAX_CHAINS:
            handed_over.sort(key=lambda one: one[0].length)
        for left, number, equipment in handed_over[:MAX_CHAINS]:
            key = (number, equipment, id(left.passed))
            if key not in via:
                via[key] = _via(equipment, names, left.passed, resolved.parts[number])
            made.append(Trace(node, state, form, (top, heads[number], via[key], *left.passed.head, *left.trace.chain)))
    return tuple(made)


def handed(state: str) -> str:
    """The state of something once it comes over equipment."""
    return UNKNOWN if state == UNKNOWN else MAY


def neighbours(resolved: Resolved, shared: Shared, names: dict[str, str]) -> Iterator[tuple[tuple[Link, ...], Passed]]:
    """Everything that shares equipment with this dish, with the links that lead there.

    A component hands nothing on to itself.  What is served in its place is another
    thing: the usual one still goes through the same equipment for other guests.
    """
    top = _top(resolved)
    for part in resolved.parts:
        head, own = _head(part), _owner(resolved, part)
        for equipment in _equipment(part):
            for other in shared[equipment].passed if equipment in shared else ():
                if other.owner != own:
                    yield (top, head, _via(equipment, names, other, part)), other


def _top(resolved: Resolved) -> Link:
    return Link(resolved.dish.title, resolved.dish.span)


def _head(part: Part) -> Link:
    return Link(part.component.called, part.component.source.span)


def _via(equipment: str, names: dict[str, str], other: Passed, part: Part) -> Link:
    return Link(_shares(names.get(equipment, equipment), other.said), part.component.span)


@lru_cache(maxsize=4096)  # every dish that goes through a fryer says this of every other
def _shares(equipment: str, other: str) -> str:
    return f"shares the {equipment.removeprefix('the ')} with {other}"


def _equipment(part: Part) -> tuple[str, ...]:
    return tuple(dict.fromkeys(e for e, _, _ in _through(part.use.what, part.component.called, part.component.equipment)))


def _owner(resolved: Resolved, part: Part) -> Owner:
    return resolved.dish.key, part.component.key, part.component.source.kind, part.component.source.name


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
