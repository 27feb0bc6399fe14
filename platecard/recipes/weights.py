"""How much a thing weighs: what is known of its density and its pieces, and its share of a batch."""

from __future__ import annotations

from fractions import Fraction

from platecard.knowledge.catalogue import Entry
from platecard.model import Recipe
from platecard.quantities import amounts
from platecard.quantities.amounts import Amount, Measures, NotKnown, known_or_none
from platecard.quantities.units import Quantity
from platecard.recipes.resolved import Batch, Bought, What


def why_unknown(amount: Amount) -> str:
    """Why an amount is not known; "" where it is."""
    return amount.why if isinstance(amount, NotKnown) else ""


def most_times(what: What, amount: Quantity | None) -> Fraction:
    """How many times its middle an amount can be, including a batch that can come out smaller than its middle."""
    ratio = amount.high / amount.mean if amount is not None and amount.is_range and amount.mean else Fraction(1)
    made = what.recipe.makes if isinstance(what, Batch) else None
    return ratio * made.mean / made.low if made is not None and made.is_range and made.low else ratio


def measures_of(what: What) -> Measures:
    """What is known about the weight of a thing: the kitchen's own figures before the catalogue's.

    A figure of the kitchen's that could not be read stays unknown: the catalogue's does not take its place.
    """
    if isinstance(what, Entry):
        return Measures(what.density, what.pieces)
    if isinstance(what, Bought):
        product = what.product
        own = dict(product.parts)
        if product.piece_g or "piece" in product.unread:
            own[amounts.PIECE] = product.piece_g
        general = dict(what.entry.pieces) if what.entry is not None and "gives" not in product.unread else {}
        return Measures(None if "density" in product.unread else what.density, tuple({**general, **own}.items()))
    if isinstance(what, Batch):
        return measures_of_recipe(what.recipe)
    return amounts.NOTHING_KNOWN


def measures_as_bought(what: Bought | Entry) -> Measures:
    """The same for a thing as it is delivered: one piece as bought, and none of the parts it is cut into."""
    piece = what.product.piece_g if isinstance(what, Bought) else None
    return Measures(measures_of(what).density, ((amounts.PIECE, piece),) if piece else ())


def measures_of_recipe(recipe: Recipe) -> Measures:
    """What one piece of a recipe weighs, and its density."""
    each = (
        ((amounts.unit_of(recipe.makes), recipe.each_g),)
        if recipe.each_g and recipe.makes is not None and recipe.makes.kind == "count"
        else ()
    )
    return Measures(recipe.density, each, f"the density of {recipe.called} is not known")


def grams_and_share(what: What, amount: Quantity | None) -> tuple[Amount, Fraction | None]:
    """Grams of ``amount`` of something and, for a recipe, the share of its batch."""
    mass = amounts.of(amount, amounts.G, measures_of(what))
    return mass, share_of_batch(what, amount, known_or_none(mass)) if isinstance(what, Batch) else None


def share_of_batch(batch: Batch, amount: Quantity | None, mass: Fraction | None) -> Fraction | None:
    """The share of a batch that ``amount`` is, in the unit that the recipe makes or by weight."""
    made = batch.recipe.makes
    if made is not None and amount is not None and amounts.unit_of(made) == amounts.unit_of(amount):
        return amount.mean / made.mean
    return mass / batch.mass_g if mass is not None and batch.mass_g else None
