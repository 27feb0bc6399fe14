"""What shared equipment hands on: a "may contain" with every step of the way that it came.

Everything that goes through a piece of equipment hands its allergens to everything
else that goes through it, over the whole menu, and what it has picked up elsewhere by
then as well: cod, fryer, chips, grill, carrot.  :mod:`~platecard.allergens.passage`
says what is known of the order of work; what a component meets later it never takes
back to an earlier piece of equipment.  When a piece of equipment was used, and by which
dish first, is not known: what ever goes through it meets whatever else does.

What a label says it may contain travels the same road, and so does what is not
established.  Sulphites are left out: a law reckons them as a concentration in the food
as served, and they come with their own arithmetic.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import lru_cache

from ..frozen import frozen
from ..model import Unknown
from ..problems import Problem, Span, error
from ..recipes import Batch, Part, Resolved, What
from .passage import Kit, stages
from .traces import MAX_CHAINS, MAY, UNKNOWN, Link, Over, Trace, Tracer

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
    span: Span


@frozen
class Road:
    """The way back from the equipment that somebody uses to another piece of equipment.

    ``over`` pairs each piece of equipment on the way with what goes through it after it
    went through the next; ``equipment`` is the last.
    """

    equipment: str
    over: tuple[tuple[str, Passed], ...] = ()


@frozen
class Left:
    """One chain that stays in a piece of equipment.  Chains that read the same have the same ``mark``."""

    length: int
    position: int
    passed: Passed
    trace: Trace
    mark: tuple
    road: Road


@frozen
class Row:
    """What a piece of equipment, or all that lead to it, hand on of one kind.

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
    """A piece of equipment: everything that goes through it, and what that leaves there.

    ``after`` are the pieces of equipment whose traces are carried here, each with what carries them.
    """

    passed: tuple[Passed, ...]
    rows: dict[Kind, Row]
    after: dict[str, Passed]
    length: int


@frozen
class Reached:
    """Everything that leads to some pieces of equipment: the roads, nearest first, and what comes over all of them."""

    roads: tuple[Road, ...]
    rows: dict[Kind, Row]


class Shared:
    """The equipment of a kitchen, and what goes through it over the menu.

    ``used`` is the equipment that hands on; ``vouched`` that which its cleaning keeps from
    doing so, with the owners of what goes through it.  ``leads`` is, for each piece of both,
    the equipment whose traces would be carried there if nothing were cleaned.
    """

    def __init__(self, kit: Kit | None = None, used: dict[str, Used] | None = None, vouched: dict[str, tuple[Owner, ...]] | None = None,
                 leads: dict[str, tuple[str, ...]] | None = None):
        self.kit = kit or Kit()
        self.used, self.vouched, self.leads = used or {}, vouched or {}, leads or {}
        self._reached: dict[tuple[str, ...], Reached] = {}

    def reached(self, equipment: tuple[str, ...]) -> Reached:
        """All that leads to ``equipment``, worked out once for all that go through the same."""
        known = self._reached.get(equipment)
        if known is None:
            roads = _roads(equipment, self.used)
            known = self._reached[equipment] = Reached(roads, _together(roads, self.used))
        return known


def handed_on(menu: Iterable[Resolved], kit: Kit, tracer: Tracer, doubted: Iterable[tuple[str, Unknown]] = ()) -> Shared:
    """What each piece of equipment hands on, over the menu.

    ``doubted`` are specs of the menu whose faults hide what goes through what, each with
    its name in words: each may have sent anything through any equipment that is used.
    """
    passed: dict[str, dict[int, Passed]] = {}
    after: dict[str, dict[str, Passed]] = {}
    vouched: dict[str, dict[Owner, None]] = {}
    leads: dict[str, dict[str, None]] = {}
    inside: dict[str, tuple[Trace, ...]] = {}
    for resolved in menu:
        for part in resolved.parts:
            found = stages(part, resolved, kit)
            owner = _owner(resolved, part)
            # The component itself goes through several pieces of equipment as one and the same thing.
            things: dict[int, Passed] = {}
            for stage in found:
                if id(stage.what) not in things:
                    things[id(stage.what)] = _passed(owner, stage.called, stage.what, resolved, part, tracer, inside)
                one = things[id(stage.what)]
                for equipment in stage.equipment:
                    if equipment in kit.cleaned:
                        vouched.setdefault(equipment, {})[owner] = None
                    else:
                        passed.setdefault(equipment, {})[id(one)] = one
                    for other in (e for at in stage.earlier for e in found[at].equipment):
                        _lead(equipment, other, one, after, leads)
                    for other in stage.equipment:
                        _lead(equipment, other, one, after, leads)
    for said, spec in doubted:
        unknown = Trace("", UNKNOWN, "", (Link(f"{spec.name}: {spec.why}", spec.span),))
        one = Passed((spec.name, "", "", ""), said, spec, spec.name, (), (unknown,), spec.span)
        for things in passed.values():
            things[id(one)] = one
        for owners in vouched.values():
            owners[one.owner] = None
    used = {}
    for equipment, things in passed.items():
        rows, length = _rows(equipment, things.values())
        carried = {e: by for e, by in after.get(equipment, {}).items() if e in passed}
        used[equipment] = Used(tuple(things.values()), rows, carried, length)
    return Shared(kit, used, {e: tuple(owners) for e, owners in vouched.items()}, {e: tuple(others) for e, others in leads.items()})


def _lead(equipment: str, other: str, one: Passed, after: dict[str, dict[str, Passed]], leads: dict[str, dict[str, None]]) -> None:
    if other != equipment:
        after.setdefault(equipment, {}).setdefault(other, one)
        leads.setdefault(equipment, {})[other] = None


def _passed(owner: Owner, called: str, what: What, resolved: Resolved, part: Part, tracer: Tracer, inside: dict[str, tuple[Trace, ...]]) -> Passed:
    component = part.component
    if isinstance(what, Batch):
        head = (tracer.head(what),)
        left = inside.get(what.recipe.key) or inside.setdefault(what.recipe.key, _stays(tracer.inside(what)))
    else:
        head, left = (), _stays(tracer.thing(what))
    said = called if called == component.called else f"{called} for {component.called}"
    return Passed(owner, f"{said} ({resolved.dish.title})", what, part.use.called, head, left, component.span)


def _stays(traces: Iterable[Trace]) -> tuple[Trace, ...]:
    return tuple(t for t in traces if t.node != "sulphite")


# --------------------------------------------------------------------------- what comes together


def _roads(equipment: tuple[str, ...], used: dict[str, Used]) -> tuple[Road, ...]:
    """The shortest way back to every piece of equipment that leads to one of ``equipment``, breadth first."""
    found = {e: Road(e) for e in equipment if e in used}
    todo = list(found.values())
    for road in todo:  # grows as it is read
        for other, by in used[road.equipment].after.items():
            if other not in found:
                found[other] = Road(other, (*road.over, (road.equipment, by)))
                todo.append(found[other])
    return tuple(todo)


def _rows(equipment: str, passed: Iterable[Passed]) -> tuple[dict[Kind, Row], int]:
    """What goes through one piece of equipment, sorted once for all who ask, and how many traces there are.

    A menu sends thousands of things through one fryer, and each hands on to each
    other, so only the chains that somebody can need are kept.
    """
    road = Road(equipment)
    found: dict[Kind, list[tuple[int, int, Passed, Trace, Road]]] = {}
    position = 0
    for one in passed:
        for trace in one.traces:
            entry = (len(one.head) + len(trace.chain), position, one, trace, road)
            found.setdefault((trace.node, handed(trace.state), trace.form), []).append(entry)
            position += 1
    return {kind: _row(entries) for kind, entries in found.items()}, position


def _together(roads: tuple[Road, ...], used: dict[str, Used]) -> dict[Kind, Row]:
    """What comes over several roads, of each chain the shortest."""
    if len(roads) == 1:
        return used[roads[0].equipment].rows
    before = 0
    first: dict[Kind, tuple[int, Owner, int | None]] = {}
    found: dict[Kind, list[tuple[int, int, Passed, Trace, Road]]] = {}
    for road in roads:
        for kind, row in used[road.equipment].rows.items():
            entries = found.setdefault(kind, [])
            entries += [(x.length + len(road.over), x.position + before, x.passed, x.trace, road) for x in row.left]
            at, owner, other = first.get(kind, (row.first + before, row.owner, None))
            if other is None:
                here = row.other if row.owner == owner else row.first
                first[kind] = at, owner, None if here is None else here + before
        before += used[road.equipment].length
    return {kind: _row(entries, first[kind]) for kind, entries in found.items()}


def _row(entries: list[tuple[int, int, Passed, Trace, Road]], begins: tuple[int, Owner, int | None] | None = None) -> Row:
    if begins is None:
        _, first, one, _, _ = entries[0]
        begins = first, one.owner, next((at for _, at, passed, _, _ in entries if passed.owner != one.owner), None)
    left: dict[tuple, Left] = {}
    marks: set[tuple] = set()
    of_owner: dict[Owner, int] = {}
    for length, position, passed, trace, road in sorted(entries, key=lambda entry: entry[:2]):
        mark = (passed.said, *passed.head, *trace.chain)
        marks.add(mark)
        if (mark, passed.owner) not in left:
            left[mark, passed.owner] = Left(length, position, passed, trace, mark, road)
            of_owner[passed.owner] = of_owner.get(passed.owner, 0) + 1
            # Enough, even for whoever owns the most of them.
            if len(marks) - max(of_owner.values()) > MAX_CHAINS:
                break
    return Row(*begins, tuple(left.values()), frozenset(of_owner), _best(left.values()))


def _best(left: Iterable[Left]) -> tuple[Left, ...]:
    """Each chain once, in their order; where there are too many, the shortest, and one too many to show it."""
    found: dict[tuple, Left] = {}
    for one in left:
        found.setdefault(one.mark, one)
        if len(found) > MAX_CHAINS:
            return tuple(found.values())
    return tuple(sorted(found.values(), key=lambda one: one.position))


# --------------------------------------------------------------------------- what a dish meets


def received(resolved: Resolved, shared: Shared, names: dict[str, str]) -> tuple[Trace, ...]:
    """What this dish picks up from other components through equipment: of each kind the shortest :data:`MAX_CHAINS` chains."""
    found: dict[Kind, list[tuple[Left, int]]] = {}
    for number, part in enumerate(resolved.parts):
        own = _owner(resolved, part)
        rows = shared.reached(_handing(resolved, part, shared)).rows
        for _, kind in sorted((since, kind) for kind, row in rows.items() if (since := row.since(own)) is not None):
            found.setdefault(kind, []).extend((left, number) for left in rows[kind].without(own))
    top, heads = _top(resolved), [_head(part) for part in resolved.parts]
    ways: dict[tuple[int, Road, int], tuple[tuple[Link, ...], str]] = {}
    made: list[Trace] = []
    for (node, state, form), handed_over in found.items():
        if len(handed_over) > MAX_CHAINS:
            handed_over.sort(key=lambda one: one[0].length)
        for left, number in handed_over[:MAX_CHAINS]:
            key = (number, id(left.road), id(left.passed))
            if key not in ways:
                ways[key] = _links(left.road, left.passed, resolved.parts[number], names), _in_short(left.road, left.passed, names)
            links, over = ways[key]
            if state == UNKNOWN and not isinstance(left.passed.what, Unknown):
                over = f"{over}: {left.trace.chain[-1].words}"
            made.append(Trace(node, state, form, (top, heads[number], *links, *left.passed.head, *left.trace.chain), Over(left.passed.said, over)))
    return tuple(made)


def handed(state: str) -> str:
    """The state of something once it comes over equipment."""
    return UNKNOWN if state == UNKNOWN else MAY


def neighbours(resolved: Resolved, shared: Shared, names: dict[str, str]) -> Iterator[tuple[tuple[Link, ...], Passed]]:
    """Everything whose traces equipment hands on to this dish, each once for a component, with the links that lead there.

    A component hands nothing on to itself.  What is served in its place is another
    thing: the usual one still goes through the same equipment for other guests.
    """
    top = _top(resolved)
    for part in resolved.parts:
        head, own = _head(part), _owner(resolved, part)
        seen: set[int] = set()
        for road in shared.reached(_handing(resolved, part, shared)).roads:
            for other in shared.used[road.equipment].passed:
                if other.owner != own and id(other) not in seen:
                    seen.add(id(other))
                    yield (top, head, *_links(road, other, part, names)), other


def relied_on(resolved: Resolved, shared: Shared, names: dict[str, str]) -> tuple[str, ...]:
    """In words, each piece of equipment whose cleaning keeps something from this dish, nearest first: its own, and that on any way to it."""
    if not shared.vouched:
        return ()
    found: dict[str, None] = {}
    for part in resolved.parts:
        own = _owner(resolved, part)
        todo = list(_equipment(resolved, part, shared))
        seen = set(todo)
        for equipment in todo:  # grows as it is read
            if any(owner != own for owner in shared.vouched.get(equipment, ())):
                found[equipment] = None
            more = [e for e in shared.leads.get(equipment, ()) if e not in seen]
            seen.update(more)
            todo += more
    cleaned = ((_bare(e, names), shared.kit.cleaned[e]) for e in found)
    return tuple(f"the {called} being cleaned between uses ({said.by}, {said.checked})" for called, said in cleaned)


def misused(resolved: Resolved, only_for: Iterable[tuple[str, tuple[str, ...], Span]], names: dict[str, str]) -> tuple[Problem, ...]:
    """An error for each component that goes through equipment kept for something else."""
    found: dict[Problem, None] = {}
    for equipment, kept, span in only_for:
        for part in resolved.parts:
            for called, what in _through(part, equipment):
                key = what.recipe.key if isinstance(what, Batch) else ""
                if not {key, part.component.key, called} & set(kept):
                    found[error("kept-equipment", part.component.span,
                                f"{called} goes through the {names.get(equipment, equipment)}, which is kept for {', '.join(kept)}",
                                f"use other equipment, or add it to only_for at {span}")] = None
    return tuple(found)


def _through(part: Part, equipment: str) -> list[tuple[str, What]]:
    """The component and the recipes inside it that name a piece of equipment, whether or not it hands anything on."""
    component, what = part.component, part.use.what
    found = [(component.called, what)] if equipment in component.equipment or any(equipment in step.on for step in component.finish) else []
    seen: set[str] = set()

    def walk(inner: What) -> None:
        if isinstance(inner, Batch) and inner.recipe.key not in seen:
            seen.add(inner.recipe.key)
            if equipment in inner.recipe.equipment:
                found.append((inner.recipe.called, inner))
            for line in inner.lines:
                walk(line.what)

    walk(what)
    return found


# --------------------------------------------------------------------------- in words


def _top(resolved: Resolved) -> Link:
    return Link(resolved.dish.title, resolved.dish.span)


def _head(part: Part) -> Link:
    return Link(part.component.called, part.component.source.span)


def _links(road: Road, other: Passed, part: Part, names: dict[str, str]) -> tuple[Link, ...]:
    """The whole way, a link for each piece of equipment."""
    if not road.over:  # as nearly always
        return (Link(_shares(names.get(road.equipment, road.equipment), other.said), part.component.span),)
    way = [*road.over, (road.equipment, other)]
    spans = [part.component.span, *(by.span for _, by in road.over)]
    return tuple(Link(_shares(names.get(equipment, equipment), by.said), span) for (equipment, by), span in zip(way, spans, strict=True))


@lru_cache(maxsize=4096)  # every dish that goes through a fryer says this of every other
def _shares(equipment: str, other: str) -> str:
    return f"shares the {equipment.removeprefix('the ')} with {other}"


def _in_short(road: Road, other: Passed, names: dict[str, str]) -> str:
    """The nearest thing it comes from and, where that has it from elsewhere, where it came from first."""
    first = f"{_bare(road.equipment, names)}: {other.said}"
    if not road.over:
        return first
    equipment, near = road.over[0]
    return f"{_bare(equipment, names)}: {near.said}, from the {first}"


def _bare(equipment: str, names: dict[str, str]) -> str:
    return names.get(equipment, equipment).removeprefix("the ")


def _equipment(resolved: Resolved, part: Part, shared: Shared) -> tuple[str, ...]:
    return tuple(dict.fromkeys(e for stage in stages(part, resolved, shared.kit) for e in stage.equipment))


def _handing(resolved: Resolved, part: Part, shared: Shared) -> tuple[str, ...]:
    return tuple(e for e in _equipment(resolved, part, shared) if e not in shared.kit.cleaned)


def _owner(resolved: Resolved, part: Part) -> Owner:
    return resolved.dish.key, part.component.key, part.component.source.kind, part.component.source.name
