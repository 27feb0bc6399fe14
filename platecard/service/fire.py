"""The fire timeline: when each finishing step starts, worked backwards from the plate.

In: one dish, or the dishes of a table.  Out: a :class:`Schedule` in seconds relative to
when the plate leaves (0, earlier is negative), with its critical path, the slack of each
step, and conflicts over equipment.  Whoever shows it adds the time of day.

A step follows the one before it unless it says ``after``.  A step that nothing waits for
ends when plating starts; one of a part that goes on only at the table ends when the
plate leaves.  Starts are the latest possible; slack is how much sooner a step could start
if everything began at the fire call.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from typing import NamedTuple

from platecard.diagnostics import Problem, Span, did_you_mean, error
from platecard.model import Component, Dish, Settings
from platecard.model.handling import FinishStep
from platecard.service import equipment_conflicts

PLATES, PLATE, CHECK = "plates-in-the-warmer", "plate", "check"
PASS = "The pass"


class Task(NamedTuple):
    """One step at its place in time; starts and ends are in seconds, negative before the plate leaves.

    ``component`` is empty for a step of the plate itself.  ``slack_s`` is None for a step
    done before the order comes in.  ``plates`` is the table's number of plates of the dish.
    """

    id: str
    dish: str
    component: str
    called: str
    station: str
    do: str
    takes_s: Fraction
    span: Span
    on: tuple[str, ...] = ()
    at_c: Fraction | None = None
    core_c: Fraction | None = None
    turn: str = ""
    note: str = ""
    after: tuple[str, ...] = ()
    is_rest: bool = False
    is_ahead: bool = False
    deadline_s: Fraction = Fraction(0)
    plates: int = 1
    is_together: bool = False
    start_s: Fraction = Fraction(0)
    slack_s: Fraction | None = None
    is_critical: bool = False

    @property
    def places(self) -> int:
        """How many places it takes up on its equipment."""
        return 1 if self.is_together else self.plates

    @property
    def end_s(self) -> Fraction:
        """When it ends, in seconds; negative before the plate leaves."""
        return self.start_s + self.takes_s


class Schedule(NamedTuple):
    """The steps of a table by their starts, with what follows from all of them together.

    ``dishes`` are (key, title, plates), ``critical`` the ids of the steps on the critical path.
    ``lead_s`` is the time from the fire call to the plate, ``whole_s`` that with what is done ahead.
    """

    dishes: tuple[tuple[str, str, int], ...]
    tasks: tuple[Task, ...]
    critical: tuple[str, ...]
    lead_s: Fraction
    whole_s: Fraction

    def task(self, key: str) -> Task:
        """The step with that id."""
        return next(t for t in self.tasks if t.id == key)


def of(dish: Dish, settings: Settings) -> tuple[Schedule | None, tuple[Problem, ...]]:
    """The timeline of one plate; None where there is nothing to finish, or it cannot be worked out."""
    if not any(c.finish for c in dish.components):
        return None, ()
    return table(((dish, 1),), settings)


def table(dishes: Iterable[tuple[Dish, int]], settings: Settings) -> tuple[Schedule | None, tuple[Problem, ...]]:
    """The timeline of a table: dishes that leave together, each with its number of plates."""
    problems: list[Problem] = []
    tasks: dict[str, Task] = {}
    named = []
    for dish, plates in dishes:
        named.append((dish.key, dish.title, plates))
        for task in _tasks(dish, plates, settings, problems):
            tasks[task.id] = task
    loop = _loop(tasks)
    if loop:
        problems.append(_loop_problem(loop, tasks))
        return None, tuple(problems)
    if any(p.is_error for p in problems):
        return None, tuple(problems)
    schedule = _worked_out(tasks, tuple(named))
    return schedule, (*problems, *equipment_conflicts.clashes(schedule.tasks, settings))


# --------------------------------------------------------------------------- steps and what they wait for


def _tasks(dish: Dish, plates: int, settings: Settings, problems: list[Problem]) -> list[Task]:
    """The dish's steps with plating and checking, each with what it waits for and when it must end."""
    plating = -(dish.plating_s + dish.check_s)
    at_table = {c.key for c in dish.components} - {s.put for s in dish.steps if not s.at_table}
    last = {c.key: tuple(f"{dish.key}/{c.key}.{k}" for k in _ends(c)) for c in dish.components if c.finish}
    made: list[Task] = []
    for component in dish.components:
        before, ends = "", _ends(component)
        for step in component.finish:
            waits = (
                _waits(step, component, dish, last, problems) if step.after is not None else (before,) if before else ()
            )
            # Only a step that nothing in its component waits for has to be done when plating starts.
            must_end = Fraction(0) if component.key in at_table or step.key not in ends else plating
            must_end = must_end if step.ready_s is None else -step.ready_s
            made.append(
                Task(
                    id=f"{dish.key}/{component.key}.{step.key}",
                    dish=dish.key,
                    component=component.key,
                    called=component.called,
                    station=settings.station(component.station) if component.station else "no station",
                    do=step.do,
                    takes_s=step.takes_s,
                    span=step.span,
                    on=step.on,
                    at_c=step.at_c,
                    core_c=step.core_c,
                    turn=step.turn,
                    note=step.note,
                    after=waits,
                    is_rest=step.is_rest,
                    is_ahead=step.is_ahead,
                    is_together=step.is_together,
                    deadline_s=must_end,
                    plates=plates,
                )
            )
            before = made[-1].id
    needed = tuple(
        t.id for t in made if t.deadline_s == plating and t.id in {k for ends in last.values() for k in ends}
    )
    own = (
        [
            Task(
                f"{dish.key}/{PLATES}",
                dish.key,
                "",
                "plates",
                PASS,
                "plates into the warmer",
                dish.plates_warm_s,
                dish.plate_span,
                is_ahead=True,
                deadline_s=plating,
            )
        ]
        if dish.plates_warm_s
        else []
    )
    needed += tuple(t.id for t in own)
    if dish.plating_s:
        own.append(
            Task(
                f"{dish.key}/{PLATE}",
                dish.key,
                "",
                "plate",
                PASS,
                "plate",
                dish.plating_s,
                dish.span,
                after=needed,
                deadline_s=-dish.check_s,
            )
        )
        needed = (own[-1].id,)
    if dish.check_s:
        own.append(
            Task(
                f"{dish.key}/{CHECK}",
                dish.key,
                "",
                "plate",
                PASS,
                "wipe and check",
                dish.check_s,
                dish.span,
                after=needed,
            )
        )
    return [*made, *(t._replace(plates=plates) for t in own)]


def _ends(component: Component) -> tuple[str, ...]:
    """The steps of a component that no other step of it waits for."""
    waited: set[str] = set()
    before = ""
    for step in component.finish:
        waited |= {before} if step.after is None else {n.removeprefix(f"{component.key}.") for n, _ in step.after}
        before = step.key
    # A component whose steps form a loop has no end; its last step stands for it, and the loop is reported.
    return tuple(s.key for s in component.finish if s.key not in waited) or tuple(s.key for s in component.finish[-1:])


def _waits(
    step: FinishStep, component: Component, dish: Dish, last: dict[str, tuple[str, ...]], problems: list[Problem]
) -> tuple[str, ...]:
    own = {s.key for s in component.finish}
    every = {f"{c.key}.{s.key}" for c in dish.components for s in c.finish}
    found: list[str] = []
    for name, span in step.after or ():
        if name in own:
            found.append(f"{dish.key}/{component.key}.{name}")
        elif name in every:
            found.append(f"{dish.key}/{name}")
        elif name in last:
            found += last[name]
        elif dish.component(name) is not None:
            problems.append(
                error(
                    "nothing-to-wait-for",
                    span,
                    f"'{name}' has no finishing steps, so there is nothing to wait for",
                    f"write finish: under '{name}', or leave it out",
                )
            )
        else:
            known = (*own, *last, *every)
            problems.append(
                error(
                    "unknown-step",
                    span,
                    f"'{step.do}' waits for '{name}', which is no step and no component of this dish",
                    did_you_mean(name, known) or "steps: " + ", ".join(sorted(every)[:12]),
                )
            )
    return tuple(dict.fromkeys(found))


# --------------------------------------------------------------------------- loops


def _loop(tasks: dict[str, Task]) -> tuple[str, ...]:
    """The first loop of steps that wait for each other, in the order they wait; empty where there is none."""
    done: set[str] = set()
    for first in tasks:
        path: list[str] = []
        stack = [(first, iter(tasks[first].after))] if first not in done else []
        if stack:
            path.append(first)
        while stack:
            key, rest = stack[-1]
            following = next((k for k in rest if k in tasks and k not in done), None)
            if following is None:
                done.add(key)
                path.pop()
                stack.pop()
            elif following in path:
                return (*path[path.index(following) :], following)
            else:
                path.append(following)
                stack.append((following, iter(tasks[following].after)))
    return ()


def _loop_problem(loop: tuple[str, ...], tasks: dict[str, Task]) -> Problem:
    words = [f"{tasks[k].called}: {tasks[k].do}" for k in loop]
    hints = (f"{tasks[k].span}: {word} waits for {other}" for k, word, other in zip(loop, words, words[1:]))
    return error(
        "step-loop", tasks[loop[0]].span, f"a step that waits for itself: {', which waits for '.join(words)}", *hints
    )


# --------------------------------------------------------------------------- the times


def _order(tasks: dict[str, Task]) -> list[str]:
    """The ids of the steps, each after all those that it waits for."""
    waiting = {k: sum(a in tasks for a in t.after) for k, t in tasks.items()}
    following: dict[str, list[str]] = {k: [] for k in tasks}
    for key, task in tasks.items():
        for before in task.after:
            if before in tasks:
                following[before].append(key)
    ready = [k for k, n in waiting.items() if n == 0]
    order = []
    while ready:
        key = ready.pop(0)
        order.append(key)
        for after in following[key]:
            waiting[after] -= 1
            if waiting[after] == 0:
                ready.append(after)
    return order


def _worked_out(tasks: dict[str, Task], named: tuple[tuple[str, str, int], ...]) -> Schedule:
    order = _order(tasks)
    latest = {k: t.deadline_s for k, t in tasks.items()}
    bound: dict[str, str] = {}
    for key in reversed(order):
        start = latest[key] - tasks[key].takes_s
        for before in tasks[key].after:
            if start <= latest[before] and before in tasks:
                latest[before], bound[before] = start, key
    starts = {k: latest[k] - tasks[k].takes_s for k in order}
    # A step done ahead is over when the order comes in, and so is everything it waits for.
    ahead = {k for k in order if tasks[k].is_ahead}
    for key in reversed(order):
        if key in ahead:
            ahead |= {b for b in tasks[key].after if b in tasks}
    to_order = [k for k in order if k not in ahead]
    lead = -min((starts[k] for k in to_order), default=Fraction(0))
    earliest: dict[str, Fraction] = {}
    for key in to_order:
        earliest[key] = max((earliest[b] + tasks[b].takes_s for b in tasks[key].after if b in earliest), default=-lead)
    path: list[str] = []
    at = next((k for k in to_order if starts[k] == -lead), "")
    while at:
        path.append(at)
        at = bound.get(at, "")
    placed = (
        tasks[k]._replace(
            start_s=starts[k],
            slack_s=starts[k] - earliest[k] if k in earliest else None,
            is_ahead=k in ahead,
            is_critical=k in earliest and starts[k] == earliest[k],
        )
        for k in order
    )
    whole = -min(starts.values(), default=Fraction(0))
    return Schedule(
        named, tuple(sorted(placed, key=lambda t: (t.start_s, t.end_s, order.index(t.id)))), tuple(path), lead, whole
    )
