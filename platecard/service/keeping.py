"""How long a recipe keeps, whether it is chilled, and which recipes stand inside which.

In: recipes as they are written.  Out: what the cautions ask of them.
"""

from __future__ import annotations

import re

from ..clock import DAY_S
from ..model import Recipe
from ..recipes import Batch, What

# Kept dry or frozen, food is no longer what the seven days are about.
_KEPT_OTHERWISE = ("airtight", "dry", "-18", "−18")
_LENGTHS = {"hour": 3600, "h": 3600, "day": DAY_S, "week": 7 * DAY_S, "month": 30 * DAY_S, "year": 365 * DAY_S}


def is_cooled(recipe: Recipe) -> bool:
    """Said to be cooled, or cooked and then kept for a day or in the fridge."""
    h = recipe.handling
    cooked = h.state == "cooked" or (h.core is not None and h.core.celsius >= 57)
    return h.cooled or (cooked and not is_kept_otherwise(recipe) and (length_s(recipe.made_ahead) >= DAY_S or "fridge" in recipe.keeps))


def is_kept_otherwise(recipe: Recipe) -> bool:
    return any(w in recipe.keeps for w in _KEPT_OTHERWISE)


def keeps_s(recipe: Recipe) -> int:
    if is_kept_otherwise(recipe):
        return 0
    return max(length_s(recipe.keeps), length_s(recipe.made_ahead))


def length_s(text: str) -> int:
    """The first length of time in a cook's words ("3 days in the fridge"); 0 where there is none."""
    match = re.search(r"(\d+)\s*(hour|h|day|week|month|year)s?\b", text)
    return int(match.group(1)) * _LENGTHS[match.group(2)] if match else 0


def recipes_inside(what: What) -> list[Recipe]:
    """Every recipe used in a recipe, each once, without the outermost."""
    found: dict[str, Recipe] = {}

    def walk(inner: What) -> None:
        for line in inner.lines if isinstance(inner, Batch) else ():
            if isinstance(line.what, Batch) and line.what.recipe.key not in found:
                found[line.what.recipe.key] = line.what.recipe
                walk(line.what)

    walk(what)
    return list(found.values())
