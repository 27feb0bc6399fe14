"""How much of a component goes on one plate, by what its steps say."""

from __future__ import annotations

from fractions import Fraction

from platecard.diagnostics import Problem, warning
from platecard.model import Recipe, Step
from platecard.quantities import amounts
from platecard.quantities.amounts import Amount, NotKnown, known_or_none
from platecard.quantities.units import Quantity, shown
from platecard.recipes import balance
from platecard.recipes.resolved import Batch, What
from platecard.recipes.weights import grams_and_share, share_of_batch


def _other_word(step: Step, recipe: Recipe, made: Quantity) -> Problem:
    return warning(
        "other-count-word",
        step.place("piece"),
        f"{recipe.called} makes {made.text}, but the plate counts pieces, so how much of a batch goes on it is not"
        " known",
        f"write in {recipe.makes_span} how many pieces it makes, for example makes: {shown(made.mean)} pieces, "
        "if that is what you mean",
    )


def on_plate(
    key: str, what: What, steps: tuple[Step, ...], problems: list[Problem]
) -> tuple[Amount, Fraction | None, str]:
    """Grams of a component on one plate and, for a recipe, the share of its batch, with what makes that doubtful.

    Only the steps say how much: a count times the piece, or an amount.  One step that
    does not say makes the whole unknown.
    """
    total: Amount = Fraction(0)
    share: Fraction | None = Fraction(0)
    doubt = ""
    for step in (s for s in steps if s.put == key):
        mass, part = _of_step(step, what, problems)
        total = total if isinstance(total, NotKnown) else mass if isinstance(mass, NotKnown) else total + mass
        share = None if share is None or part is None else share + part
        doubt = doubt or _heavy_pieces(step, what)
    return total, share if isinstance(what, Batch) else None, doubt


def _heavy_pieces(step: Step, what: What) -> str:
    """The doubt where pieces weigh more than what was weighed into their recipe; the rest may be what was not."""
    if not isinstance(what, Batch):
        return ""
    made = what.recipe.makes
    weight = step.piece.weight_g if step.piece is not None and step.amount is None else None
    if made is None or made.kind != "count" or weight is None or weight * made.low <= what.weighed_g:
        return ""
    return f"not all that goes into {what.recipe.called} is weighed, so the weight of its pieces cannot be checked"


def _of_step(step: Step, what: What, problems: list[Problem]) -> tuple[Amount, Fraction | None]:
    if step.amount is not None:
        return grams_and_share(what, step.amount)
    if step.piece is None:
        return (
            NotKnown("how much of it goes on the plate is not known", "give a piece with its weight, or an amount"),
            None,
        )
    weight = step.piece.weight_g
    mass: Amount = (
        weight * step.count
        if weight is not None
        else NotKnown("the weight of a piece is not stated", "give the weight of the piece")
    )
    if not isinstance(what, Batch):
        return mass, None
    made = what.recipe.makes
    # A plate counts pieces; it can count what a recipe makes in slices only where the pieces on it are slices.
    if made is None or amounts.unit_of(made) not in (amounts.PIECE, step.piece.shape):
        share = share_of_batch(what, None, known_or_none(mass))
        if share is None and made is not None and made.kind == "count":
            problems.append(_other_word(step, what.recipe, made))
        return mass, share
    if weight is not None and (fault := balance.of_pieces(what.recipe, weight, what.most_g, step.place("piece"))):
        problems.append(fault)
        return mass, None
    each = what.recipe.each_g
    return (mass if weight is not None else each * step.count if each else mass), Fraction(step.count) / made.mean
