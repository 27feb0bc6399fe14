"""What shared equipment passes on: a "may contain", with every step of the way that it came.

Everything that goes through a piece of equipment hands its allergens to everything
else that goes through it, over the whole menu, and also what it has picked up elsewhere by
then: cod, fryer, chips, grill, carrot.  :mod:`~platecard.allergens.passage`
says what is known of the order of work; what a component meets later, it never carries
back to earlier equipment.  When a piece of equipment was used, and by which
dish first, is not known: whatever goes through it meets whatever else does.

What a label says it may contain travels the same way, and so does what is not
established.  Sulphites are left out: laws judge them by their concentration in the food
as served, and they have their own arithmetic.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator
from functools import lru_cache

from platecard.allergens.passage import stages
from platecard.allergens.residue import Kind, Left, Passed, Road, Shared, handed, handed_on, owner_of
from platecard.allergens.traces import MAX_CHAINS, UNKNOWN, Link, Over, Trace
from platecard.diagnostics import Problem, Span, error
from platecard.drawing import fonts
from platecard.recipes.resolved import Batch, Part, Resolved, What, within

__all__ = ["Shared", "handed", "handed_on", "misused", "neighbours", "received", "relied_on"]


def received(resolved: Resolved, shared: Shared, names: dict[str, str]) -> tuple[Trace, ...]:
    """What this dish picks up from other components through equipment, as traces.

    Of each kind at most the :data:`MAX_CHAINS` shortest chains.
    """
    found: dict[Kind, list[tuple[Left, int]]] = {}
    for number, part in enumerate(resolved.parts):
        own = owner_of(resolved, part)
        rows = shared.reached(_handing(resolved, part, shared)).rows
        for _, kind in sorted((since, kind) for kind, row in rows.items() if (since := row.since(own)) is not None):
            found.setdefault(kind, []).extend((left, number) for left in rows[kind].without(own))
    top, heads = _top(resolved), [_head(part) for part in resolved.parts]
    ways: dict[tuple[int, int, int], tuple[tuple[Link, ...], Over]] = {}
    made: list[Trace] = []
    for (node, state, form), handed_over in found.items():
        if len(handed_over) > MAX_CHAINS:
            handed_over.sort(key=lambda one: one[0].length)
        for left, number in handed_over[:MAX_CHAINS]:
            road, passed = left.road, left.passed
            key = (number, id(road), id(passed))
            if key not in ways:
                said = Over(passed.said, _in_short(road, passed, names))
                ways[key] = (
                    (heads[number], *_links(road, passed, resolved.parts[number], names), *map(_printed, passed.head)),
                    said,
                )
            links, over = ways[key]
            if state == UNKNOWN and passed.owner[1]:  # for a spec that is in doubt, its name says so
                over = Over(over.source, f"{over.words}: {left.trace.chain[-1].words}")
            made.append(Trace(node, state, form, (top, *links, *map(_printed, left.trace.chain)), over))
    return tuple(made)


def neighbours(
    resolved: Resolved, shared: Shared, names: dict[str, str], wanted: Callable[[Passed], object] = bool
) -> Iterator[tuple[tuple[Link, ...], Passed]]:
    """Everything ``wanted`` that shares equipment with this dish, with the links that lead there.

    Each appears once for each component of the dish.  A component hands nothing on to itself,
    but a swap for it is a different thing: the usual one still goes through the same equipment
    for other guests.
    """
    top = _top(resolved)
    for part in resolved.parts:
        head, own = _head(part), owner_of(resolved, part)
        seen: set[int] = set()
        for road in shared.reached(_handing(resolved, part, shared)).roads:
            for other in shared.used[road.equipment].passed:
                if other.owner != own and id(other) not in seen and wanted(other):
                    seen.add(id(other))
                    yield (top, head, *_links(road, other, part, names)), other


def relied_on(resolved: Resolved, shared: Shared, names: dict[str, str]) -> tuple[str, ...]:
    """In words, each piece of equipment whose cleaning keeps something away from this dish, nearest first.

    That is the dish's own equipment, and any on the way to it.
    """
    if not shared.vouched:
        return ()
    found: dict[str, None] = {}
    for part in resolved.parts:
        own = owner_of(resolved, part)
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


def misused(
    resolved: Resolved, only_for: Iterable[tuple[str, tuple[str, ...], Span]], names: dict[str, str]
) -> tuple[Problem, ...]:
    """An error for each component that goes through equipment kept for something else."""
    found: dict[Problem, None] = {}
    for equipment, kept, span in only_for:
        for part in resolved.parts:
            for called, what in _through(part, equipment):
                key = what.recipe.key if isinstance(what, Batch) else ""
                if not {key, part.component.key, called} & set(kept):
                    said = f"{called} goes through the {_bare(equipment, names)}, which is kept for {', '.join(kept)}"
                    remedy = f"use other equipment, or add it to only_for at {span}"
                    found[error("kept-equipment", part.component.span, said, remedy)] = None
    return tuple(found)


def _through(part: Part, equipment: str) -> list[tuple[str, What]]:
    """The component and the recipes inside it that name a piece of equipment, whether or not it hands anything on."""
    component, what = part.component, part.use.what
    is_own = equipment in component.equipment or any(equipment in step.on for step in component.finish)
    found: list[tuple[str, What]] = [(component.called, what)] if is_own else []
    found += [
        (one.recipe.called, one) for one in within(what) if isinstance(one, Batch) and equipment in one.recipe.equipment
    ]
    return found


# --------------------------------------------------------------------------- in words


def _top(resolved: Resolved) -> Link:
    return Link(resolved.dish.title, resolved.dish.span)


def _head(part: Part) -> Link:
    return Link(part.component.called, part.component.source.span)


def _links(road: Road, other: Passed, part: Part, names: dict[str, str]) -> tuple[Link, ...]:
    """The whole way, with one link for each piece of equipment."""
    if not road.over:  # as nearly always
        return (Link(_shares(names.get(road.equipment, road.equipment), other.said), part.component.span),)
    way = [*road.over, (road.equipment, other)]
    spans = [part.component.span, *(by.span for _, by in road.over)]
    pairs = zip(way, spans, strict=True)
    return tuple(Link(_shares(names.get(equipment, equipment), by.said), span) for (equipment, by), span in pairs)


def _printed(link: Link) -> Link:
    """A link of another dish, whose letters no font here may have: that is then no fault of this dish's."""
    return link if link.words.isascii() else Link(fonts.spelt_out(link.words), link.span)


@lru_cache(maxsize=4096)  # every dish that goes through a fryer says this of every other
def _shares(equipment: str, other: str) -> str:
    return f"shares the {equipment.removeprefix('the ')} with {other}"


def _in_short(road: Road, other: Passed, names: dict[str, str]) -> str:
    """The nearest thing it comes from and, where that got it from elsewhere, where it came from first."""
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
