"""How long a recipe keeps, whether it is cooled, and which recipes are inside which.

In: recipes as they were read.  Out: what the cautions need to know of them.
"""

from __future__ import annotations

from platecard.model import Recipe
from platecard.quantities.shelf_life import CHILLED, DAY_S, DRY, FROZEN, Lasting
from platecard.recipes.resolved import Batch, What, within

# The rule of seven days is not about food that is kept dry or frozen and in no other way.
_KEPT_OTHERWISE = frozenset({DRY, FROZEN})


def is_cooled(recipe: Recipe) -> bool:
    """Whether it is cooled: by its own words, or because it is cooked and then kept for a day or in the fridge.

    A core temperature that could not be read counts as cooked.
    """
    h = recipe.handling
    cooked = h.state == "cooked" or h.core_unread or (h.core is not None and h.core.celsius >= 57)
    kept = recipe.ahead.can_last(DAY_S) or recipe.keeping.can_last(DAY_S) or CHILLED in recipe.keeping.ways
    return h.cooled or (cooked and not is_kept_otherwise(recipe) and kept)


def is_kept_otherwise(recipe: Recipe) -> bool:
    """Whether it is kept dry or frozen and in no other way; a way that could not be read counts as another."""
    return bool(recipe.keeping.ways) and recipe.keeping.ways <= _KEPT_OTHERWISE and not recipe.keeping.unread


def is_ahead(recipe: Recipe) -> bool:
    """Whether it is made ahead and waits before it is served."""
    return recipe.ahead.is_said and not recipe.ahead.to_order and not is_kept_otherwise(recipe)


def kept(recipe: Recipe) -> tuple[Lasting, ...]:
    """The times that it may wait before it is eaten; none where it is kept dry or frozen."""
    return () if is_kept_otherwise(recipe) else (recipe.keeping, recipe.ahead)


def batches_inside(what: What) -> list[Batch]:
    """Every recipe used inside a recipe, at any depth, each once and without the recipe itself."""
    return [one for one in within(what) if isinstance(one, Batch) and one is not what]
