"""Whether what a dish offers in place of a component helps the guest it is offered to.

A swap that contains what it should avoid is never served, but nobody would notice:
a guest who could be served yesterday no longer can be today.  So the chef is told.
"""

from __future__ import annotations

from collections.abc import Iterable

from platecard.allergens.guests.answers import Asked, Avoid, NotUnderstood, understand
from platecard.allergens.traces import CONTAINS, MAY
from platecard.diagnostics import Problem, error, warning
from platecard.model import Dish, Swap
from platecard.recipes.resolved import Resolved


def check(dish: Dish, offered: Iterable[Resolved], asked: Asked) -> tuple[Problem, ...]:
    """Errors for words that name nothing, warnings for swaps that do not help.

    ``offered`` are the swaps in their order, each as a dish of that one component.
    """
    found: list[Problem] = []
    swaps = (swap for component in dish.components for swap in component.swaps)
    for swap, alone in zip(swaps, offered, strict=True):
        avoids, problems = _avoids(swap, asked)
        found += problems
        told: set[str] = set()
        for met in asked.met(alone, avoids):
            if met.presence != MAY and met.avoid.said not in told:
                told.add(met.avoid.said)
                holds = (
                    "it contains that too"
                    if met.presence == CONTAINS
                    else "whether it contains that is not established"
                )
                found.append(
                    warning(
                        "swap-does-not-help",
                        swap.span,
                        f"{swap.called} is offered to guests who avoid {met.avoid.said}, but {holds}",
                        " > ".join(link.words for link in met.chain[1:]),
                        "offer something else, or take this swap out",
                    )
                )
    return tuple(found)


def _avoids(swap: Swap, asked: Asked) -> tuple[tuple[Avoid, ...], list[Problem]]:
    tree, catalogue = asked.tracer.taxonomy, asked.pantry.catalogue
    avoids: list[Avoid] = []
    found: list[Problem] = []
    for word, place in zip(swap.avoiding, swap.places, strict=True):
        try:
            avoids.append(understand(word, tree, catalogue))
        except NotUnderstood as exc:
            found.append(error("unknown-avoid-word", place, f"{exc}, so this swap would never be offered", exc.hint))
    return tuple(avoids), found
