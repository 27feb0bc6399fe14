"""Lays one step: chooses the arrangement it asks for, and reports the pieces that find no room."""

from __future__ import annotations

from collections.abc import Callable

from platecard.diagnostics import Problem, error
from platecard.layout import regions, relative, rows_and_lines
from platecard.layout.footprint import Footprint
from platecard.layout.placing import Bench, Cannot, Spot
from platecard.model.nouns import LAYS_SEVERAL


def lay(bench: Bench) -> tuple[list[Footprint], list[Problem]]:
    """The laid pieces of the step, and its problems.

    Raises :class:`~platecard.layout.placing.Cannot` where the step has no place.
    """
    step = bench.step
    if step.alternating_with:
        spots = relative.alternating(bench)
    elif step.around:
        spots = relative.around(bench)
    else:
        spots = _WAYS[step.arrange](bench)
    if spots and (step.beside or step.behind):
        spots = relative.slid(bench, spots)
    problems: list[Problem] = []
    if len(spots) < step.count and bench.shape not in ("pool", "swipe", "drizzle"):
        problems.append(_between(bench, len(spots)) if step.alternating_with else _too_many(bench, len(spots)))
    return [bench.footprint(i, spot) for i, spot in enumerate(spots)], problems


def one(bench: Bench) -> list[Spot]:
    """A single piece, or several shared out over the pieces they lie on."""
    if bench.step.count == 1:
        return bench.single()
    if bench.hosts:
        return regions.shared_out(bench)
    raise Cannot(
        error(
            "how-arranged",
            bench.step.place("count"),
            f"{bench.step.count} pieces of '{bench.step.put}', but not how they lie",
            LAYS_SEVERAL,
        )
    )


_WAYS: dict[str, Callable[[Bench], list[Spot]]] = {
    "one": one,
    "line": Bench.line,
    "arc": Bench.arc,
    "fan": Bench.arc,
    "ring": Bench.ring,
    "stack": Bench.stack,
    "pool": Bench.single,
    "scatter": regions.scattered,
    **rows_and_lines.WAYS,
}


ARRANGEMENTS = frozenset(_WAYS)


def _between(bench: Bench, fitted: int) -> Problem:
    other = bench.step.alternating_with
    return error(
        "does-not-fit",
        bench.step.place("count"),
        f"{fitted} of the {bench.step.count} pieces of {bench.called} find a place between those of {other}",
        f"put {fitted} or fewer, or more of {other}",
    )


def _too_many(bench: Bench, fitted: int) -> Problem:
    gap = f" {float(bench.step.gap_mm):g} mm apart" if bench.step.gap_mm else " side by side"
    return error(
        "does-not-fit",
        bench.step.place("count"),
        f"{fitted} of the {bench.step.count} pieces of {bench.called} fit{gap} in their region",
        f"put {fitted} or fewer, or give them a wider region" + (" or a smaller gap" if bench.step.gap_mm else ""),
    )
