"""``platecard fire`` and ``platecard cautions``: the pick-up timeline and the cautions, in words and as data."""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Mapping
from fractions import Fraction

from platecard.diagnostics import ADVICE, Problem, has_errors, in_order
from platecard.prepared import Begun, World
from platecard.quantities.clock import celsius, clock_s, clock_text, minutes_text, spoken
from platecard.quantities.units import AmountError
from platecard.reports import PlaceOf
from platecard.service import fire
from platecard.service.cautions import Caution
from platecard.service.fire import Schedule, Task


def asked(words: Iterable[str]) -> tuple[tuple[str, int], ...]:
    """The dishes and how many plates of each, from ``roe-deer`` or ``roe-deer=2``; ValueError with a sentence."""
    found = []
    for word in words:
        name, mark, count = word.rpartition("=")
        if mark and not re.fullmatch(r"[1-9]\d?", count):
            raise ValueError(
                f"'{word}': write how many plates as a whole number from 1 to 99, as in {name or 'DISH'}=2"
            )
        found.append((name, int(count)) if mark else (word, 1))
    return tuple(found)


def plates(wanted: Iterable[tuple[str, int]], begun: Iterable[Begun]) -> tuple[tuple[Begun, int], ...]:
    """The dishes with how many plates; a folder stands for all dishes in it, a dish named twice counts twice."""
    counts: dict[str, int] = {}
    folders = 0
    for path, count in wanted:
        key = os.path.basename(os.path.normpath(path)).removesuffix(".yaml").removesuffix(".yml")
        counts[key] = counts.get(key, 0) + count
        folders = folders or (count if os.path.isdir(path) else 0)
    return tuple((one, counts.get(one.key, folders or 1)) for one in begun)


def work_out(
    table: tuple[tuple[Begun, int], ...], world: World, more: Iterable[Problem]
) -> tuple[Schedule | None, tuple[Problem, ...]]:
    """The schedule of a table with all problems; None if there are errors or nothing is finished to order."""
    problems = [
        p for p in (*more, *world.problems, *(p for one, _ in table for p in one.problems)) if p.severity != ADVICE
    ]
    if has_errors(problems):
        return None, in_order(problems)
    schedule, faults = fire.table(((one.dish, count) for one, count in table if one.dish), world.kitchen.settings)
    return (schedule if schedule and any(t.component for t in schedule.tasks) else None), in_order([*problems, *faults])


def time_of_day(at: str | None, called: str | None) -> tuple[str, int] | None:
    """The option that was given and its time in seconds after midnight; None if neither was.

    ``at`` is when the plate leaves, ``called`` when the order is fired.  ValueError with a
    sentence for both at once, or for what is no time of day.
    """
    if at is not None and called is not None:
        raise ValueError("say either --at, when the plate leaves, or --called, when the table is fired")
    for option, text in (("at", at), ("called", called)):
        if text is not None:
            try:
                return option, clock_s(text)
            except AmountError as exc:
                raise ValueError(f"--{option}: {exc}; {exc.hint}") from None
    return None


def leaves_at(schedule: Schedule, given: tuple[str, int] | None) -> int | None:
    """When the plate leaves, in seconds after midnight; ``given`` is what :func:`time_of_day` returned."""
    if given is None:
        return None
    return given[1] + int(schedule.lead_s) if given[0] == "called" else given[1]


def in_words(schedule: Schedule, at_s: int | None) -> list[str]:
    """The timeline as lines, in the order of starts; ``at_s``: when the plate leaves, in seconds after midnight."""
    lines = [title + (f", {plates} plates" if plates > 1 else "") for _, title, plates in schedule.dishes]
    lead = spoken(schedule.lead_s)
    if at_s is None:
        lines.append(f"fire {lead} before the plate leaves")
    else:
        lines.append(f"fire at {clock_text(at_s - schedule.lead_s)}, plate leaves at {clock_text(at_s)} ({lead})")
    if schedule.whole_s > schedule.lead_s:
        lines.append(f"the whole chain, with what is done ahead, takes {spoken(schedule.whole_s)}")
    lines.append("")
    first = "starts at" if at_s is not None else "starts"
    lines.append(f"  {first:>10}  {'takes':>7}  {'in hand':>8}  what")
    station = {s: len(s) for s in (t.station for t in schedule.tasks)}
    width = max(station.values(), default=0)
    for t in schedule.tasks:
        start = clock_text(at_s + t.start_s) if at_s is not None else f"-{minutes_text(-t.start_s)}"
        hand = "ahead" if t.slack_s is None else "none" if t.is_critical else minutes_text(t.slack_s)
        takes = minutes_text(t.takes_s)
        lines.append(f"  {start:>10}  {takes:>7}  {hand:>8}  {t.station:<{width}}  {_said(t, schedule)}".rstrip())
    lines.append("")
    lines.append("nothing to spare: " + " > ".join(_name(schedule.task(k), schedule) for k in schedule.critical))
    return lines


def _name(task: Task, schedule: Schedule) -> str:
    if task.component or len(schedule.dishes) == 1:
        return f"{task.called}: {task.do}" if task.component else task.do
    return f"{task.do}, {next(title for key, title, _ in schedule.dishes if key == task.dish).split(',')[0]}"


def _said(task: Task, schedule: Schedule) -> str:
    said = [_name(task, schedule)]
    if task.plates > 1:
        said.append(f"for {task.plates} together" if task.is_together else f"{task.plates} of them")
    if task.on:
        said.append(f"on {' and '.join(task.on)}" + (f" at {celsius(task.at_c)}" if task.at_c is not None else ""))
    elif task.at_c is not None:
        said.append(f"at {celsius(task.at_c)}")
    if task.core_c is not None:
        said.append(f"core {celsius(task.core_c)}")
    said += [
        w
        for w in (
            f"turn {task.turn}" if task.turn else "",
            "rests" if task.is_rest and task.do != "rest" else "",
            task.note,
        )
        if w
    ]
    return ", ".join(said)


def as_data(
    schedule: Schedule | None, at_s: int | None, problems: Iterable[Mapping[str, object]], place: PlaceOf
) -> dict[str, object]:
    """The timeline for JSON; times are seconds before the plate leaves, as negative numbers."""
    if schedule is None:
        return {
            "dishes": [],
            "at": None,
            "fire": None,
            "lead_s": None,
            "whole_s": None,
            "nothing_to_spare": [],
            "steps": [],
            "problems": list(problems),
        }
    return {
        "dishes": [{"dish": key, "title": title, "plates": plates} for key, title, plates in schedule.dishes],
        "at": None if at_s is None else clock_text(at_s),
        "fire": None if at_s is None else clock_text(at_s - schedule.lead_s),
        "lead_s": _number(schedule.lead_s),
        "whole_s": _number(schedule.whole_s),
        "nothing_to_spare": list(schedule.critical),
        "steps": [_step(t, at_s, place) for t in schedule.tasks],
        "problems": list(problems),
    }


def _step(t: Task, at_s: int | None, place: PlaceOf) -> dict[str, object]:
    return {
        "step": t.id,
        "dish": t.dish,
        "component": t.component or None,
        "called": t.called,
        "do": t.do,
        "station": t.station,
        "plates": t.plates,
        "on": list(t.on),
        "at_c": _number(t.at_c),
        "core_c": _number(t.core_c),
        "takes_s": _number(t.takes_s),
        "start_s": _number(t.start_s),
        "end_s": _number(t.end_s),
        "start": None if at_s is None else clock_text(at_s + t.start_s),
        "in_hand_s": _number(t.slack_s),
        "nothing_to_spare": t.is_critical,
        "ahead": t.is_ahead,
        "rest": t.is_rest,
        "after": list(t.after),
        **place(t.span),
    }


def _number(value: Fraction | None) -> int | float | None:
    return None if value is None else int(value) if value.denominator == 1 else round(float(value), 3)


def cautions_in_words(title: str, cautions: Iterable[Caution], general: str) -> list[str]:
    """The cautions as lines; what the spec does not state, and what is outside a figure, is in capitals."""
    from platecard.documents.kit import caution_block

    lines = [title]
    for c in cautions:
        lines += ["", c.topic, *(f"  {caution_block.in_words(f)}" for f in c.items), f"  {c.says}"]
        lines += [f"  {line}" for line in caution_block.figure_words(c)]
    return [*lines, "", general]


def cautions_as_data(
    key: str, cautions: Iterable[Caution], codes: tuple[str, ...], general: str, place: PlaceOf
) -> dict[str, object]:
    """The cautions of a dish for JSON; ``codes`` are the food codes their figures come from."""
    return {
        "dish": key,
        "food_codes": list(codes),
        "cautions": [
            {
                "rule": c.rule,
                "topic": c.topic,
                "says": c.says,
                "foods": [
                    {
                        "what": f.what,
                        "component": f.component,
                        "said": f.said,
                        "not_stated": list(f.missing),
                        "judged": [{"code": j.code, "verdict": j.verdict, "why": j.why} for j in f.judged],
                        **place(f.span),
                    }
                    for f in c.items
                ],
                "figures": [
                    {"code": f.code, "says": f.says, "for": list(f.guests), "source": f.title, "mark": f.mark}
                    for f in c.figures
                ],
            }
            for c in cautions
        ],
        "general": general,
    }


def nothing(titles: Iterable[str]) -> str:
    """The message where no dish has a step to finish to order."""
    return f"{', '.join(titles)}: nothing is finished to order; add finish: to a component"
