"""Convert amounts of food between grams, millilitres and counts; every conversion happens here.

Given an amount and what is known of the food (:class:`Measures`), the answer is an exact
fraction in the unit asked for, or :class:`NotKnown` with the reason.  Grams and millilitres
convert through a density.  Counting words never convert into one another without weights:
what a piece weighs says nothing about a head, a clove, a slice or a portion.  ``dozen`` and
``each`` count pieces.

Recipes, sulphites, preparation, stock, scaling and cost all rely on this module.
"""

from __future__ import annotations

from collections.abc import Callable
from fractions import Fraction
from typing import NamedTuple

from platecard.quantities.units import Quantity

G, ML, PIECE = "g", "ml", "piece"
_UNITS = {"mass": G, "volume": ML}


class NotKnown(NamedTuple):
    """Why an amount cannot be converted to the unit asked for, with a hint at what would make it possible."""

    why: str
    hint: str = ""


Amount = Fraction | NotKnown


class Measures(NamedTuple):
    """What is known of one food: its density in g/ml, and the weight in g of one of each counting word.

    A weight is None where the kitchen gave one that could not be read or worked out.
    ``no_density`` says why there is no density, if there is more to say than that.
    """

    density: Fraction | None = None
    weights: tuple[tuple[str, Fraction | None], ...] = ()
    no_density: str = "its density is not known"

    def one(self, word: str) -> Amount:
        """The weight of one ``word`` of the food, in g."""
        known = dict(self.weights).get(word)
        return (
            known if known else NotKnown(f"what one {word} weighs is not stated", "weigh it, and give the amount in g")
        )

    def thick(self) -> Amount:
        """The weight of one ml of the food, in g."""
        return (
            self.density
            if self.density
            else NotKnown(self.no_density, "weigh it, and give the amount in g; or give its density")
        )


NOTHING_KNOWN = Measures()


def unit_of(q: Quantity) -> str:
    """The unit of the figures of ``q``: ``g``, ``ml`` or a counting word; empty if it is no amount of food."""
    return _UNITS.get(q.kind, q.unit if q.kind == "count" else "")


def convert(value: Fraction, unit: str, to: str, known: Measures) -> Amount:
    """``value``, given in ``unit``, in the unit ``to``; each unit is ``g``, ``ml`` or a counting word."""
    if unit == to:
        return value
    for word in (unit, to):
        factor = _grams_of(word, known)
        if isinstance(factor, NotKnown):
            return factor
        value = value * factor if word == unit else value / factor
    return value


def of(q: Quantity | None, to: str, known: Measures) -> Amount:
    """``q`` in the unit ``to``, a range by its middle; not known for None and for "to taste"."""
    return _of(q, to, known, lambda q: q.mean)


def least(q: Quantity | None, to: str, known: Measures) -> Amount:
    """The lower end of ``q`` in the unit ``to``."""
    return _of(q, to, known, lambda q: q.low)


def most(q: Quantity | None, to: str, known: Measures) -> Amount:
    """The upper end of ``q`` in the unit ``to``."""
    return _of(q, to, known, lambda q: q.high)


def _of(q: Quantity | None, to: str, known: Measures, figure: Callable[[Quantity], Fraction]) -> Amount:
    if q is None:
        return NotKnown("its amount is not known", "give its amount")
    if not (unit := unit_of(q)):
        return NotKnown(f"'{q.text}' is not an amount that can be weighed", "give its amount in g")
    return convert(figure(q), unit, to, known)


def _grams_of(word: str, known: Measures) -> Amount:
    return Fraction(1) if word == G else known.thick() if word == ML else known.one(word)


def known_or_none(amount: Amount) -> Fraction | None:
    """The figure, or None if the amount is not known."""
    return None if isinstance(amount, NotKnown) else amount


__all__ = [
    "Amount",
    "G",
    "ML",
    "Measures",
    "NOTHING_KNOWN",
    "NotKnown",
    "PIECE",
    "convert",
    "known_or_none",
    "least",
    "most",
    "of",
    "unit_of",
]
