"""What decides how each part of a dish looks: what is in it by weight, and what its recipe and its finish say.

What is in it tells its colour: the colours of its foods, mixed by weight and by how strongly each tints.  A
preparation that has a colour of its own wherever it is made, such as a jus, is told by its name.
"""

from __future__ import annotations

from collections.abc import Iterator
from functools import cache
from typing import NamedTuple

from platecard.knowledge import kinds as food_kinds
from platecard.knowledge import looks
from platecard.knowledge.names import fold
from platecard.model import Component
from platecard.model.appearance import Appearance
from platecard.recipes.resolved import Batch, Bought, Resolved, Use, What, entry_of

_DEEPEST = 6  # recipes in recipes that are looked into
_LEAST = 0.02  # what weighs a smaller share of a recipe than this, and tints no more than most, does not show


class _Mass(NamedTuple):
    """A plain food in a component: its folded name, its kinds, and its weight times how strongly it tints."""

    name: str
    kinds: frozenset[str]
    colour: str
    weight: float


def of(*dishes: Resolved) -> tuple[tuple[str, Appearance], ...]:
    """The appearance of every component of a dish, and of its swaps, each a dish of that one component."""
    return tuple(
        (part.component.key, of_component(part.component, part.use.what))
        for resolved in dishes
        for part in resolved.parts
    )


def of_component(component: Component, what: What) -> Appearance:
    """What a component looks like by what is in it, the heaviest food first."""
    foods = list(_foods(what, 1.0, 0))
    shown = [f for f in foods if f.weight > 0]
    main = max(shown, key=lambda f: f.weight, default=max(foods, key=lambda f: f.weight, default=None))
    made = " ".join(
        (
            fold(what.recipe.called if isinstance(what, Batch) else ""),
            fold(what.recipe.handling.state if isinstance(what, Batch) else ""),
            *(fold(step.do) for step in component.finish),
            fold(component.handling.state),
            fold(component.called),
            fold(component.key),
        )
    )
    if main is None:
        return Appearance(fold(component.called), frozenset(), made)
    return Appearance(main.name, main.kinds, made, _mixed(shown))


def _foods(what: What, weight: float, depth: int) -> Iterator[_Mass]:
    """The plain foods in something of this weight."""
    if isinstance(what, Batch):
        name = fold(what.recipe.called)
        if (known := looks.of_recipe(name)) is not None:
            yield _Mass(name, frozenset(), known.colour, weight * known.strength)
            return
        grams = [_grams(line) for line in what.lines]
        total = sum(grams)
        if depth < _DEEPEST and total > 0:
            for line, mass in zip(what.lines, grams):
                if mass:
                    yield from _foods(line.what, weight * mass / total, depth + 1)
        return
    entry = entry_of(what)
    called = fold(what.product.called if isinstance(what, Bought) else what.name)
    kinds = _with_above(entry.kinds if entry is not None else ())
    name = fold(entry.name) if entry is not None else called
    tint = looks.tint(name, kinds) or looks.tint(called, kinds)
    yield _Mass(name, frozenset(kinds), tint.colour if tint else "", weight * (tint.strength if tint else 0.5))


@cache
def _with_above(kinds: tuple[str, ...]) -> tuple[str, ...]:
    """Kinds of food, each with all that it is under, nearest first."""
    tree, _ = food_kinds.load()
    found: dict[str, None] = {}
    for kind in kinds:
        ahead = [kind]
        while ahead:
            here = ahead.pop(0)
            if here in tree.kinds:
                found.setdefault(here)
                ahead += tree.kinds[here].under
    return tuple(found)


def _grams(line: Use) -> float:
    return float(line.kept_g) if line.kept_g is not None else 0.0


def _mixed(foods: list[_Mass]) -> str:
    """The colour of a mixture; empty where no food in it has one."""
    known = [f for f in foods if f.colour]
    total = sum(f.weight for f in known)
    known = [f for f in known if f.weight >= _LEAST * total]
    total = sum(f.weight for f in known)
    if not total:
        return ""
    channels = [sum(f.weight * int(f.colour[i : i + 2], 16) for f in known) / total for i in (1, 3, 5)]
    return "#" + "".join(f"{round(c):02x}" for c in channels)
