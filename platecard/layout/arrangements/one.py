"""Things laid in one place: a single piece, a stack, a pool of sauce."""

from __future__ import annotations

from collections.abc import Sequence

from platecard.diagnostics import error
from platecard.layout import arrangements, regions
from platecard.layout.footprint import Footprint
from platecard.layout.pattern import POURED, Pattern, no_words
from platecard.layout.place_words import where
from platecard.layout.placing import Bench, Cannot, Spot
from platecard.model import Plate, Step

ABOUT_A_PLACE = frozenset({"at", "beside", "behind", "under"})
"""The keys of what is laid about one place, which may be that of another component."""


def _single(bench: Bench) -> list[Spot]:
    """A single piece, or several shared out over the pieces they lie on."""
    if bench.step.count == 1:
        return bench.single()
    if bench.hosts:
        return regions.shared_out(bench)
    raise Cannot(
        error(
            "how-arranged",
            bench.step.place("count"),
            f"{bench.step.count} pieces of '{bench.step.put}', but nothing says how they lie",
            arrangements.several(),
        )
    )


def _stacked(bench: Bench) -> list[Spot]:
    """Pieces on top of each other."""
    (foot,) = bench.single()
    return [Spot(foot.x, foot.y, foot.axis, foot.level + i) for i in range(bench.step.count)]


def _its_place(step: Step, plate: Plate | None) -> str:
    """No words: its place alone says where it lies."""
    return ""


def _said_stacked(step: Step, plate: Plate | None) -> str:
    return "stacked"


def _pictured_stacked(step: Step, pieces: Sequence[Footprint]) -> str:
    return f"stacked {where(pieces[0].centre)}"


ONE: Pattern = Pattern(
    name="one",
    meaning="one piece at its place, or several shared out over the pieces they lie on; the default",
    place=_single,
    said=_its_place,
    pictured=no_words,
    uses=ABOUT_A_PLACE | {"alternating_with"},
    lays_several=False,
)
STACK: Pattern = Pattern(
    name="stack",
    meaning="pieces on top of each other",
    place=_stacked,
    said=_said_stacked,
    pictured=_pictured_stacked,
    uses=ABOUT_A_PLACE | {"overlap"},
    needs=("piece",),
    most=30,
    overlaps=True,
    stacks=True,
)
POOL: Pattern = Pattern(
    name="pool",
    meaning="a sauce, as wide as its `across`; it runs under whatever is on the plate already",
    place=Bench.single,
    said=_its_place,
    pictured=no_words,
    uses=ABOUT_A_PLACE | {"across"},
    needs=("across",),
    laid=POURED,
    shape="pool",
)
