"""``platecard scale``: one recipe scaled to a target yield, as text or data.

In: a recipe's key and a target as written.  Out: lines or values; a target that cannot be
converted to the unit the recipe makes is a problem.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from platecard.diagnostics import Problem, Span, did_you_mean, error
from platecard.documents.text import wording
from platecard.model import Component, Dish, Recipe, Source, SourceKind
from platecard.prepared import World
from platecard.quantities.units import AmountError, Quantity, quantity
from platecard.recipes.resolve import resolve
from platecard.recipes.resolved import Batch, Resolved, in_full
from platecard.service import rounding, scaling


class Scaled(NamedTuple):
    """A recipe and how many batches of it make what is wanted."""

    batch: Batch
    target: Quantity
    factor: Fraction


def to(name: str, target: str, world: World) -> tuple[Scaled | None, tuple[Problem, ...]]:
    """The recipe scaled so that ``target`` of it reaches the plates; what stays behind is made on top."""
    recipe = world.kitchen.recipes.get(name)
    if recipe is None:
        return None, (
            error("unknown-recipe", None, f"there is no recipe '{name}'", did_you_mean(name, world.kitchen.recipes)),
        )
    try:
        wanted = quantity(target, "mass", "volume", "count")
    except AmountError as exc:
        return None, (error(exc.slug, None, f"--to: {exc}", exc.hint),)
    if wanted.low <= 0:
        return None, (error("amount", None, f"--to: '{target}' is nothing to make", "write it as in 2.4 kg"),)
    resolved, problems = _alone(name, recipe.span, world)
    batch = resolved.parts[0].use.what
    if not isinstance(batch, Batch):
        return None, problems
    batches = scaling.batches_for(batch, wanted)
    if batches is None:
        return None, (
            *problems,
            error(
                "other-unit",
                recipe.makes_span,
                f"{recipe.called} makes {_made(recipe)}, and '{target}' cannot be converted to that",
                "add the recipe's density, or ask in the unit it makes",
            ),
        )
    return Scaled(batch, wanted, batches / (1 - recipe.left_behind)), problems


def _made(recipe: Recipe) -> str:
    return recipe.makes.text if recipe.makes else "an amount not known"


def _alone(name: str, span: Span, world: World) -> tuple[Resolved, tuple[Problem, ...]]:
    """The recipe resolved as the only component of a dish."""
    component = Component(name, name, Source(SourceKind.RECIPE, name, span), "", span)
    dish = Dish(name, name, span, "", "", None, "", span, (), (component,), (), ())
    return resolve(dish, world.pantry)


def in_words(found: Scaled, system: str) -> list[str]:
    """The scaled recipe as lines; ``system`` is metric or US."""
    recipe = found.batch.recipe
    lines = [
        f"{recipe.called}: {rounding.of(found.target, system=system)}"
        f" ({rounding.percent(Fraction(round(found.factor * 1000), 1000))} of a batch, which makes {_made(recipe)})"
    ]
    if recipe.left_behind:
        lines.append(f"  {rounding.percent(recipe.left_behind)} is left behind, so that much more is made")
    for line, use in zip(recipe.lines, found.batch.lines):
        name = in_full(line, use)
        amount = rounding.of(line.amount, found.factor, system) if line.amount else "not stated"
        lines.append(
            f"  {amount:>12}  {name}"
            + (f" ({line.note})" if line.note else "")
            + (" *" if found.factor != 1 and scaling.flag_of(use) else "")
        )
    if found.factor != 1:
        for flag in scaling.flags(found.batch):
            lines.append(f"  * {flag.called}: {flag.why}")
        lines.append(f"  {scaling.rules().times}")
    return lines


def as_data(found: Scaled, system: str) -> dict[str, object]:
    """The scaled recipe for JSON; ``system`` is metric or US."""
    recipe = found.batch.recipe
    return {
        "recipe": recipe.key,
        "called": recipe.called,
        "target": found.target.text,
        "batches": round(float(found.factor), 6),
        "ingredients": [
            {
                "what": line.source.name,
                "kind": line.source.kind,
                "amount": rounding.of(line.amount, found.factor, system) if line.amount else None,
                "does_not_multiply": f.why if (f := scaling.flag_of(use)) and found.factor != 1 else None,
            }
            for line, use in zip(recipe.lines, found.batch.lines)
        ],
        "times": scaling.rules().times if found.factor != 1 else None,
        "caution": wording.CAUTION,
    }
