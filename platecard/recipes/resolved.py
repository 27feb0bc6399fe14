"""A resolved dish: a tree that ends in catalogue entries, products and unknowns.

A recipe is resolved once, for one batch, and shared by everything that uses it, so depth and repetition cost
nothing; each use holds its share of the batch.  A mass that cannot be known is None, never zero, and the use
says why.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from fractions import Fraction
from typing import NamedTuple

from platecard.diagnostics import Span
from platecard.knowledge import claims
from platecard.knowledge.catalogue import Entry
from platecard.model import Component, Dish, Plate, Product, Recipe, RecipeLine, SourceKind, Unknown


class Bought(NamedTuple):
    """A pantry product, with its catalogue entry where it has one; ``either``: the products it may be."""

    product: Product
    entry: Entry | None
    either: tuple[Bought, ...] = ()

    @property
    def density(self) -> Fraction | None:
        """g per ml, as the kitchen gives it or else the catalogue; None where the products it may be differ."""
        if self.product.density is None and self.either:
            densities = {one.density for one in self.either}
            return densities.pop() if len(densities) == 1 else None
        return self.product.density or (self.entry.density if self.entry else None)


class Batch(NamedTuple):
    """One whole batch of a recipe.

    ``mass_g`` is the mass of the finished batch, where known; ``weighed_g`` and ``most_g`` are the
    most it can weigh, by its weighed ingredients and by all of them.  ``doubt`` says why its stated
    yield cannot be relied upon, where that is so.
    """

    recipe: Recipe
    lines: tuple[Use, ...]
    mass_g: Fraction | None
    weighed_g: Fraction = Fraction(0)
    most_g: Fraction = Fraction(0)
    doubt: str = ""


Food = Bought | Entry | Unknown
What = Batch | Food


def entry_of(what: What) -> Entry | None:
    """The catalogue entry of a thing: its own, or that of a product; None for a recipe, an unknown, a bare product."""
    return what.entry if isinstance(what, Bought) else what if isinstance(what, Entry) else None


class Use(NamedTuple):
    """Something used in something else.

    ``grams`` is how much is used, in one batch of the parent or on the plate; ``kept_g`` is how
    much of that stays in the food.  For a batch, ``share`` is the part of it that is used (1 = all).
    None: not known.  An amount given as a range counts with its middle; ``most`` is how many times
    that middle it can be (1 where it is no range).  ``why`` says why ``grams`` is not known,
    ``doubt`` why no concentration may be calculated from ``share``.
    """

    what: What
    called: str
    span: Span
    grams: Fraction | None
    kept_g: Fraction | None
    share: Fraction | None = None
    most: Fraction = Fraction(1)
    why: str = ""
    doubt: str = ""


class Part(NamedTuple):
    """A component as it goes on one plate."""

    component: Component
    use: Use


@dataclass(frozen=True, slots=True)
class Resolved:
    """The dish with everything it is made of."""

    dish: Dish
    parts: tuple[Part, ...]
    plate: Plate | None


def within(*things: What) -> Iterator[What]:
    """The things and all that is used in them, at any depth, each once and from the top down."""
    seen: set[int] = set()
    ahead = list(reversed(things))
    while ahead:
        what = ahead.pop()
        if id(what) not in seen:
            seen.add(id(what))
            yield what
            if isinstance(what, Batch):
                ahead += [line.what for line in reversed(what.lines)]


def within_dish(resolved: Resolved) -> Iterator[What]:
    """All that is in a dish, each thing once and from the top down."""
    return within(*(part.use.what for part in resolved.parts))


def products_in(resolved: Resolved) -> frozenset[str]:
    """The keys of all products in the dish, including those that one of them may be."""
    bought = [what for what in within_dish(resolved) if isinstance(what, Bought)]
    return frozenset(one.product.key for what in bought for one in (what, *what.either))


def in_full(line: RecipeLine, use: Use) -> str:
    """A line's name for whoever makes or buys it: the maker's full name, which tells the product from others."""
    if isinstance(use.what, Bought) and use.what.product.unclaimed:
        return claims.in_full(use.what.product.called)
    return (
        claims.in_full(line.source.name.replace("-", " ")) if line.source.kind == SourceKind.INGREDIENT else use.called
    )
