"""Conflicts over equipment: more at once than it holds, or two temperatures at once.

In: the steps of a schedule with their times.  Out: problems at the step that is one too
many, each with what it meets there and which of them has time in hand.  Nothing is
moved: a chef decides what goes first.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import TYPE_CHECKING

from platecard.diagnostics import Problem, error, warning
from platecard.model import Settings
from platecard.quantities.clock import celsius, spoken

if TYPE_CHECKING:
    from platecard.service.fire import Task


def clashes(tasks: Iterable[Task], settings: Settings) -> tuple[Problem, ...]:
    """A problem for each time that equipment is overfull, or asked for at two temperatures."""
    names = dict(settings.equipment)
    using: dict[str, list[Task]] = {}
    for task in tasks:
        for key in dict.fromkeys(task.on):
            if task.takes_s > 0:
                using.setdefault(key, []).append(task)
    found: list[Problem] = []
    for key, users in sorted(using.items()):
        gear = settings.gear_of(key)
        called = names.get(key, key)
        if not gear.own_heat:
            found += _two_heats(users, called)
        found += _too_many(users, called, gear.holds)
    return tuple(found)


def _two_heats(users: list[Task], called: str) -> list[Problem]:
    found = []
    for i, one in enumerate(users):
        for other in users[i + 1 :]:
            if one.at_c is None or other.at_c is None or one.at_c == other.at_c or not _overlap(one, other):
                continue
            # Within one dish it is an error in the spec; between two dishes it depends on what the table orders.
            how = error if one.dish == other.dish else warning
            when = spoken(-max(one.start_s, other.start_s))
            found.append(
                how(
                    "two-heats",
                    other.span,
                    f"{called}: asked for at {celsius(one.at_c)} and at {celsius(other.at_c)} at once, "
                    f"{when} before the plate leaves: {_said(one)}, and {_said(other)}",
                    f"{one.span}: {_said(one)}",
                    _room(one, other),
                )
            )
    return found


def _too_many(users: list[Task], called: str, holds: int) -> list[Problem]:
    """One problem for each start time at which more is on than the equipment holds."""
    found = []
    for task in users:
        on = [t for t in users if t.start_s <= task.start_s < t.end_s]
        total = sum(t.places for t in on)
        # Reported once, at the last of the steps that start together.
        if total > holds and task is [t for t in on if t.start_s == task.start_s][-1]:
            others = [t for t in on if t is not task]
            hints = [f"{t.span}: {_said(t)}" for t in others]
            # That one of them could go first is a hint only where that alone makes enough room.
            hints += [_room(t, task) for t in others if total - t.places <= holds][:1]
            found.append(
                warning(
                    "over-its-room",
                    task.span,
                    f"{called}: asked for {total} things at once and takes {holds}, "
                    f"{spoken(-task.start_s)} before the plate leaves: {', '.join(_said(t) for t in on)}",
                    *hints,
                )
            )
    return found


def _overlap(one: Task, other: Task) -> bool:
    return one.start_s < other.end_s and other.start_s < one.end_s


def _said(task: Task) -> str:
    many = f", {task.plates} of them" if task.places > 1 else ""
    return f"{task.called}: {task.do}{many}"


def _room(one: Task, other: Task) -> str:
    """A hint that one of two steps could go first; empty where neither has enough time in hand."""
    for task, meets in ((one, other), (other, one)):
        need = task.end_s - meets.start_s
        if task.slack_s is not None and 0 < need <= task.slack_s:
            return f"{_said(task)} could start {spoken(need)} sooner: it has {spoken(task.slack_s)} in hand"
    return ""
