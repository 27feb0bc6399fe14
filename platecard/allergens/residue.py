"""What stays in shared equipment, sorted once for everything that goes through it.

In: every resolved dish of the menu.  Out: :class:`Shared`.  A menu can send thousands of
things through one fryer, and each passes it on to every other, so of each kind only the
chains that somebody can need are kept: the :data:`MAX_CHAINS` shortest, whoever asks and
however many of them are the asker's own.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from platecard.allergens.passage import Kit, stages
from platecard.allergens.traces import MAX_CHAINS, MAY, UNKNOWN, Link, Presence, Seen, Trace, Tracer
from platecard.diagnostics import Span
from platecard.drawing import fonts
from platecard.knowledge.taxonomy import SULPHITE
from platecard.model import Unknown
from platecard.recipes.resolved import Batch, Part, Resolved, What

Owner = tuple[str, str, str, str]
Kind = tuple[str, Presence, str]  # node, state and form, as the next thing in the equipment takes them up
Marks = dict[tuple[str | Link, ...], int]  # each chain as it reads, with the number that stands for it


class Passed(NamedTuple):
    """One thing that goes through a piece of equipment, with what it leaves there.

    ``owner`` is the dish and the component that it goes through for, and what that component is.
    ``head`` belongs above each of the traces, which all uses of one recipe share.
    """

    owner: Owner
    said: str
    what: What
    called: str
    head: tuple[Link, ...]
    traces: tuple[Trace, ...]
    span: Span | None


class Road(NamedTuple):
    """The way back from the equipment that somebody uses to another piece of equipment.

    ``over`` pairs each piece of equipment on the way with what went through it after going
    through the next; ``equipment`` is the last.
    """

    equipment: str
    over: tuple[tuple[str, Passed], ...] = ()


# A chain that may be kept: its length, its position among all, what it is of, by which road it comes, and its mark
# where it has one already.
Candidate = tuple[int, int, Passed, Trace, Road, int | None]


class Left(NamedTuple):
    """One chain that stays in a piece of equipment; chains that read the same have the same ``mark``."""

    length: int
    position: int
    passed: Passed
    trace: Trace
    mark: int
    road: Road


class Residue(NamedTuple):
    """What a piece of equipment, or all equipment that leads to it, passes on of one kind.

    ``first`` is the position at which ``owner`` is the first to bring it in, ``other`` that at
    which anybody else first does.  ``left`` are the shortest chains, shortest first, as many
    as are needed whoever asks; ``best`` are those for somebody who owns none of them.
    """

    first: int
    owner: Owner
    other: int | None
    left: tuple[Left, ...]
    owners: frozenset[Owner]
    best: tuple[Left, ...]

    def since(self, own: Owner) -> int | None:
        """The position from which it is there for ``own``; None where no other dish brings it in."""
        return self.other if own == self.owner else self.first

    def without(self, own: Owner) -> tuple[Left, ...]:
        """The best chains that ``own`` did not bring in itself."""
        return _best(x for x in self.left if x.passed.owner != own) if own in self.owners else self.best


class Used(NamedTuple):
    """A piece of equipment: everything that goes through it, and what that leaves there.

    ``after`` are the pieces of equipment whose traces are carried here, each with what carries them.
    """

    passed: tuple[Passed, ...]
    rows: dict[Kind, Residue]
    after: dict[str, Passed]
    length: int


class Reached(NamedTuple):
    """Everything that leads to some pieces of equipment: the roads, nearest first, and what comes over all of them."""

    roads: tuple[Road, ...]
    rows: dict[Kind, Residue]


class Shared:
    """The equipment of a kitchen, and what goes through it over the menu.

    ``used`` is the equipment that hands something on; ``vouched`` is the equipment that its
    cleaning keeps from doing so, with the owners of what goes through it.  ``leads`` is, for
    each piece of either, the equipment whose traces would be carried there if nothing were cleaned.
    """

    def __init__(
        self,
        kit: Kit | None = None,
        used: dict[str, Used] | None = None,
        vouched: dict[str, tuple[Owner, ...]] | None = None,
        leads: dict[str, tuple[str, ...]] | None = None,
    ):
        self.kit = kit or Kit()
        self.used, self.vouched, self.leads = used or {}, vouched or {}, leads or {}
        self._reached: dict[tuple[str, ...], Reached] = {}
        # What was seen in each thing that goes through equipment, kept for the next dish that is asked the same:
        # question → thing → what was seen.
        self.looked: dict[object, dict[int, list[Seen]]] = {}

    def reached(self, equipment: tuple[str, ...]) -> Reached:
        """Everything that leads to ``equipment``, worked out once for all that go through the same pieces."""
        known = self._reached.get(equipment)
        if known is None:
            roads = _roads(equipment, self.used)
            known = self._reached[equipment] = Reached(roads, _together(roads, self.used))
        return known


def handed_on(
    menu: Iterable[Resolved], kit: Kit, tracer: Tracer, doubted: Iterable[tuple[str, Unknown]] = ()
) -> Shared:
    """What each piece of equipment passes on, over the menu.

    ``doubted`` are specs of the menu whose errors hide what goes through what, each with its
    name in words: each may have sent anything through any equipment that is used.
    """
    passed: dict[str, dict[int, Passed]] = {}
    after: dict[str, dict[str, Passed]] = {}
    vouched: dict[str, dict[Owner, None]] = {}
    leads: dict[str, dict[str, None]] = {}
    inside: dict[str, tuple[Trace, ...]] = {}
    for resolved in menu:
        for part in resolved.parts:
            found = stages(part, resolved, kit)
            owner = owner_of(resolved, part)
            # A component that goes through several pieces of equipment is one and the same thing in all of them.
            things: dict[int, Passed] = {}
            for stage in found:
                if id(stage.what) not in things:
                    things[id(stage.what)] = _passed(owner, stage.called, stage.what, resolved, part, tracer, inside)
                one = things[id(stage.what)]
                brought = dict.fromkeys(e for s in (stage, *(found[at] for at in stage.earlier)) for e in s.equipment)
                for equipment in stage.equipment:
                    if equipment in kit.cleaned:
                        vouched.setdefault(equipment, {})[owner] = None
                    else:
                        passed.setdefault(equipment, {})[id(one)] = one
                    for other in (e for e in brought if e != equipment):
                        after.setdefault(equipment, {}).setdefault(other, one)
                        leads.setdefault(equipment, {})[other] = None
    for said, spec in doubted:
        unknown = Trace("", UNKNOWN, "", (Link(f"{spec.name}: {spec.why}", spec.span),))
        one = Passed((spec.name, "", "", ""), said, spec, spec.name, (), (unknown,), spec.span)
        for things in passed.values():
            things[id(one)] = one
        for owners in vouched.values():
            owners[one.owner] = None
    used: dict[str, Used] = {}
    marks: Marks = {}
    for equipment, things in passed.items():
        rows, length = _residues(equipment, things.values(), marks)
        carried = {e: by for e, by in after.get(equipment, {}).items() if e in passed}
        used[equipment] = Used(tuple(things.values()), rows, carried, length)
    return Shared(
        kit,
        used,
        {e: tuple(owners) for e, owners in vouched.items()},
        {e: tuple(others) for e, others in leads.items()},
    )


def _passed(
    owner: Owner,
    called: str,
    what: What,
    resolved: Resolved,
    part: Part,
    tracer: Tracer,
    inside: dict[str, tuple[Trace, ...]],
) -> Passed:
    component = part.component
    head: tuple[Link, ...] = ()
    if isinstance(what, Batch):
        head = (tracer.head(what),)
        left = inside.get(what.recipe.key) or inside.setdefault(what.recipe.key, _stays(tracer.inside(what)))
    else:
        left = _stays(tracer.thing(what))
    said = called if called == component.called else f"{called} for {component.called}"
    said = fonts.spelt_out(f"{said} ({resolved.dish.title})")  # printed on other dishes' cards
    return Passed(owner, said, what, part.use.called, head, left, component.span)


def _stays(traces: Iterable[Trace]) -> tuple[Trace, ...]:
    return tuple(t for t in traces if t.node != SULPHITE)


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


def _residues(equipment: str, passed: Iterable[Passed], marks: Marks) -> tuple[dict[Kind, Residue], int]:
    """What goes through one piece of equipment, and how many traces that are."""
    road = Road(equipment)
    found: dict[Kind, list[Candidate]] = {}
    position = 0
    for one in passed:
        for trace in one.traces:
            entry = (len(one.head) + len(trace.chain), position, one, trace, road, None)
            found.setdefault((trace.node, handed(trace.state), trace.form), []).append(entry)
            position += 1
    return {kind: _residue(entries, marks) for kind, entries in found.items()}, position


def _together(roads: tuple[Road, ...], used: dict[str, Used]) -> dict[Kind, Residue]:
    """What comes over several roads; of each chain the shortest."""
    if len(roads) == 1:
        return used[roads[0].equipment].rows
    before = 0
    found: dict[Kind, _Gathered] = {}
    for road in roads:
        for kind, row in used[road.equipment].rows.items():
            if kind not in found:
                found[kind] = _Gathered(row.first + before, row.owner)
            found[kind].add(row, road, before)
        before += used[road.equipment].length
    return {kind: _residue(one.entries, {}, (one.first, one.owner, one.other)) for kind, one in found.items()}


class _Gathered:
    """Chains of one kind while they are gathered, until no further road can bring one that is needed."""

    def __init__(self, first: int, owner: Owner):
        self.first, self.owner = first, owner
        self.other: int | None = None
        self.entries: list[Candidate] = []
        self._tally = _Tally()
        self._longest: int | None = None  # once there are enough: what is not shorter than this is not needed

    def add(self, row: Residue, road: Road, before: int) -> None:
        hops = len(road.over)
        if self._longest is not None and row.left[0].length + hops >= self._longest:
            return
        if self.other is None:
            here = row.other if row.owner == self.owner else row.first
            self.other = None if here is None else here + before
        for x in row.left:
            self.entries.append((x.length + hops, x.position + before, x.passed, x.trace, road, x.mark))
            self._tally.add(x.mark, x.passed.owner)
        if self._longest is None and self._tally.is_enough:
            self._longest = max(entry[0] for entry in self.entries)


class _Tally:
    """Counts chains until there are enough of them, even for the one that owns the most."""

    def __init__(self) -> None:
        self._seen: set[tuple[int, Owner]] = set()
        self._marks: set[int] = set()
        self._of_owner: dict[Owner, int] = {}
        self._most = 0

    def add(self, mark: int, owner: Owner) -> bool:
        """Count a chain; whether it is the first such chain of this owner."""
        if (mark, owner) in self._seen:
            return False
        self._seen.add((mark, owner))
        self._marks.add(mark)
        self._of_owner[owner] = self._of_owner.get(owner, 0) + 1
        self._most = max(self._most, self._of_owner[owner])
        return True

    @property
    def is_enough(self) -> bool:
        return len(self._marks) - self._most > MAX_CHAINS

    @property
    def owners(self) -> frozenset[Owner]:
        return frozenset(self._of_owner)


def _residue(entries: list[Candidate], marks: Marks, begins: tuple[int, Owner, int | None] | None = None) -> Residue:
    """The chains of ``entries`` that somebody can need.

    ``marks`` are the marks given so far, over all equipment; ``begins`` is where the kind first
    comes in, where that is known already.
    """
    if begins is None:
        _, first, one, *_ = entries[0]
        begins = first, one.owner, next((at for _, at, passed, *_ in entries if passed.owner != one.owner), None)
    left: list[Left] = []
    tally = _Tally()
    for length, position, passed, trace, road, mark in sorted(entries, key=lambda entry: entry[:2]):
        mark = marks.setdefault((passed.said, *passed.head, *trace.chain), len(marks)) if mark is None else mark
        if tally.add(mark, passed.owner):
            left.append(Left(length, position, passed, trace, mark, road))
            if tally.is_enough:
                break
    return Residue(*begins, tuple(left), tally.owners, _best(left))


def _best(left: Iterable[Left]) -> tuple[Left, ...]:
    """Each chain once, by position; where there are too many, the shortest, and one beyond the limit to show it."""
    found: dict[int, Left] = {}
    for one in left:
        found.setdefault(one.mark, one)
        if len(found) > MAX_CHAINS:
            return tuple(found.values())
    return tuple(sorted(found.values(), key=lambda one: one.position))


def handed(state: Presence) -> Presence:
    """The presence of something once it has come over equipment."""
    return UNKNOWN if state == UNKNOWN else MAY


def owner_of(resolved: Resolved, part: Part) -> Owner:
    """Whose something is: a component hands nothing on to itself, but a swap for it is a different thing."""
    return resolved.dish.key, part.component.key, part.component.source.kind, part.component.source.name
