"""So much of something in grams, millilitres or pieces: the one place where an amount changes its unit.

In: an amount, and what is known of the food (:class:`Measures`).  Out: an exact fraction
in the unit that was asked for, or :class:`NotKnown` with the reason.  Grams and
millilitres meet through a density.  Counting words stay what they are: what one piece
weighs says nothing about a head, a clove, a slice or a portion, and none of them is ever
taken for another.  ``dozen`` and ``each`` count pieces.

Recipes, sulphites, preparation, stock, scaling and cost all ask here.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from platecard.quantities.units import Quantity

G, ML, PIECE = "g", "ml", "piece"
_UNITS = {"mass": G, "volume": ML}


@dataclass(frozen=True, slots=True)
class NotKnown:
    """An amount that cannot be brought to the unit asked for: why, and what would settle it."""

    why: str
    hint: str = ""


Amount = Fraction | NotKnown


@dataclass(frozen=True, slots=True)
class Measures:
    """What is known of one food: g per ml, and what one of each counting word weighs in g.

    A word whose weight is None was spoken of by the kitchen, and what it weighs could not be read or
    worked out.  ``no_density`` says why there is no density, where there is more to say than that.
    """

    density: Fraction | None = None
    weights: tuple[tuple[str, Fraction | None], ...] = ()
    no_density: str = "its density is not known"

    def one(self, word: str) -> Amount:
        """What one ``word`` of it weighs, in g."""
        known = dict(self.weights).get(word)
        return (
            known
            if known
            else NotKnown(f"nobody has said what one {word} weighs", "weigh it, and write the amount in g")
        )

    def thick(self) -> Amount:
        """What one ml of it weighs, in g."""
        return (
            self.density
            if self.density
            else NotKnown(self.no_density, "weigh it, and write the amount in g; or give its density")
        )


NOTHING_KNOWN = Measures()


def unit_of(q: Quantity) -> str:
    """``g``, ``ml`` or the counting word that the figures of ``q`` are in; empty where it is no amount of food."""
    return _UNITS.get(q.kind, q.unit if q.kind == "count" else "")


def convert(value: Fraction, unit: str, to: str, known: Measures) -> Amount:
    """``value`` in ``unit`` as so many ``to``; each is ``g``, ``ml`` or a counting word."""
    if unit == to:
        return value
    for word in (unit, to):
        factor = _grams_of(word, known)
        if isinstance(factor, NotKnown):
            return factor
        value = value * factor if word == unit else value / factor
    return value


def of(q: Quantity | None, to: str, known: Measures) -> Amount:
    """``q`` as so many ``to``; of a range the middle.  None and "to taste" are no amount."""
    return _of(q, to, known, "mean")


def least(q: Quantity | None, to: str, known: Measures) -> Amount:
    """The lower end of ``q`` as so many ``to``."""
    return _of(q, to, known, "low")


def most(q: Quantity | None, to: str, known: Measures) -> Amount:
    """The upper end of ``q`` as so many ``to``."""
    return _of(q, to, known, "high")


def _of(q: Quantity | None, to: str, known: Measures, end: str) -> Amount:
    if q is None:
        return NotKnown("its amount is not known", "say its amount")
    if not (unit := unit_of(q)):
        return NotKnown(f"'{q.text}' is no amount that can be weighed", "say its amount in g")
    return convert(getattr(q, end), unit, to, known)


def _grams_of(word: str, known: Measures) -> Amount:
    return Fraction(1) if word == G else known.thick() if word == ML else known.one(word)


def known_or_none(amount: Amount) -> Fraction | None:
    """The figure, or None where there is none."""
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
