"""Lays one step as its arrangement says, and reports the pieces that find no room."""

from __future__ import annotations

from platecard.diagnostics import Problem, error
from platecard.layout import relative
from platecard.layout.footprint import Footprint
from platecard.layout.pattern import COUNTED, Pattern
from platecard.layout.placing import Bench


def lay(bench: Bench, pattern: Pattern) -> tuple[list[Footprint], list[Problem]]:
    """The laid pieces of the step, and its problems.

    Raises :class:`~platecard.layout.placing.Cannot` where the step has no place.
    """
    step = bench.step
    if step.alternating_with:
        spots = relative.alternating(bench)
    elif step.around:
        spots = relative.around(bench)
    else:
        spots = pattern.place(bench)
    if spots and (step.beside or step.behind):
        spots = relative.slid(bench, spots)
    problems: list[Problem] = []
    if len(spots) < step.count and pattern.laid == COUNTED:
        problems.append(_between(bench, len(spots)) if step.alternating_with else _too_many(bench, len(spots)))
    return [bench.footprint(i, spot) for i, spot in enumerate(spots)], problems


def _between(bench: Bench, fitted: int) -> Problem:
    other = bench.step.alternating_with
    return error(
        "does-not-fit",
        bench.step.place("count"),
        f"only {fitted} of the {bench.step.count} pieces of {bench.called} fit between those of {other}",
        f"use {fitted} or fewer, or more of {other}",
    )


def _too_many(bench: Bench, fitted: int) -> Problem:
    gap = f" {float(bench.step.gap_mm):g} mm apart" if bench.step.gap_mm else " side by side"
    return error(
        "does-not-fit",
        bench.step.place("count"),
        f"only {fitted} of the {bench.step.count} pieces of {bench.called} fit{gap} in their region",
        f"use {fitted} or fewer, or give them a wider region" + (" or a smaller gap" if bench.step.gap_mm else ""),
    )
