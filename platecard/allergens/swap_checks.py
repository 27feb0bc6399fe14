"""Whether what a dish offers in place of a component helps the guest it is offered to.

A swap that contains what it should avoid is never served, but nobody would notice:
a guest who could be served yesterday no longer can be today.  So the chef is told.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from platecard.allergens.guests.answers import Asked, Avoid, NotUnderstood, understand
from platecard.allergens.traces import CONTAINS, MAY, not_established
from platecard.diagnostics import WARNING, Problem, error, warning
from platecard.knowledge.taxonomy import Taxonomy
from platecard.model import Dish, Swap
from platecard.recipes.resolve import Pantry, resolve
from platecard.recipes.resolved import Resolved


def stand_ins(dish: Dish, pantry: Pantry, taxonomy: Taxonomy) -> tuple[tuple[Resolved, ...], tuple[Problem, ...]]:
    """Each swap that the dish offers, as a dish of that one component: for other guests it goes through equipment."""
    made: list[Resolved] = []
    problems: list[Problem] = []
    for component in dish.components:
        for swap in component.swaps:
            stand_in = replace(component, source=swap.use, called=swap.called, swaps=())
            alone, found = resolve(replace(dish, components=(stand_in,)), pantry)
            # Plate, station and equipment are reported for the dish itself.
            found = tuple(p for p in found if p.slug not in ("unknown-plate", "unknown-station", "unknown-equipment"))
            # The steps weigh the usual pieces; those of a swap may be lighter, so this is only a warning.
            problems += [
                (
                    replace(p, severity=WARNING)
                    if p.slug == "makes-more-than-goes-in" and p.span is not None and p.span.file == dish.span.file
                    else p
                )
                for p in found
            ]
            problems += [replace(p, severity=WARNING) for p in not_established(alone, taxonomy, pantry.kitchen)]
            made.append(alone)
    return tuple(made), tuple(problems)


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
