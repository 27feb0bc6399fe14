"""The mass balance of a recipe: what it should make against what goes in.

In: a recipe, the mass that it is said to make, and its ingredients as far as they are
weighed.  Out: :class:`MassBalance`: the most that can come out, what is wrong, and why the
yield cannot be relied upon where that is so.  An ingredient without a weight does not stop the
calculation: it is taken to weigh as much as it possibly can.  The bounds are in
``data/bounds.yaml``.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple

from platecard.diagnostics import Problem, Span, error, warning
from platecard.model import Recipe, RecipeLine
from platecard.quantities.bounds import bounds
from platecard.quantities.units import shown


class Input(NamedTuple):
    """One line of a recipe as it goes into the balance.

    ``kept_g`` is how much of it stays, in g (None: not known); ``most_g`` is the most it can be,
    where another recipe says so.
    """

    line: RecipeLine
    called: str
    kept_g: Fraction | None
    most_g: Fraction | None
    is_recipe: bool
    is_liquid: bool


class MassBalance(NamedTuple):
    """The most that can come out, in g: of the weighed ingredients (``weighed_g``) and of all (``most_g``).

    ``doubt``: why the yield cannot be relied upon.
    """

    weighed_g: Fraction
    most_g: Fraction
    problems: tuple[Problem, ...] = ()
    doubt: str = ""


def of(recipe: Recipe, mass: Fraction | None, goes_in: tuple[Input, ...]) -> MassBalance:
    """The balance of one batch.

    No more can come out than went in, unless the recipe takes up water, and then only so much.
    A yield above what was weighed, which may come from what was not, is no error: but nothing is
    calculated with it.
    """
    weighed = sum((i.kept_g for i in goes_in if i.kept_g is not None), Fraction(0))
    open_lines = [i for i in goes_in if i.kept_g is None]
    slack = bounds().slack * (bounds().takes_up if recipe.takes_up_water else 1)
    most = (weighed + sum((_most_of(i, weighed) for i in open_lines), Fraction(0))) * slack
    borne_out = weighed * slack
    if mass is None:
        return MassBalance(borne_out, most)
    if mass > most and not recipe.is_whole:
        return MassBalance(borne_out, most, (), f"not all that goes into {recipe.called} could be read")
    if mass > most:
        hardly = recipe.takes_up_water and mass <= most * bounds().takes_up_at_all / bounds().takes_up
        return MassBalance(
            borne_out,
            most,
            (_too_much(recipe, mass, weighed, open_lines, hardly),),
            f"{recipe.called} can hardly weigh what it is stated to make",
        )
    problems = tuple(_too_little(recipe, mass, weighed, goes_in))
    if mass > borne_out:
        return MassBalance(
            borne_out,
            most,
            problems,
            f"not all that goes into {recipe.called} is weighed ({_listed(open_lines)}), "
            "so what it makes cannot be checked",
        )
    return MassBalance(mass, mass, problems)


def of_pieces(recipe: Recipe, piece_g: Fraction, most_g: Fraction, span: Span) -> Problem | None:
    """The balance of a recipe that makes pieces, by the weight of one piece on a plate."""
    made = recipe.makes
    if made is None or piece_g * made.low <= most_g:
        return None
    return error(
        "makes-more-than-goes-in",
        span,
        f"{recipe.called} makes {made.text}; at {shown(piece_g, 3)} g each that is {_kg(piece_g * made.low)}, "
        f"but no more than {_kg(most_g)} can come out of what goes in",
        f"correct the weight of the piece, or what the recipe makes or an amount at {recipe.makes_span}; "
        "if it takes up water, write takes_up_water: true there",
    )


def _most_of(i: Input, weighed: Fraction) -> Fraction:
    """The most that a line without a weight can bring."""
    if i.most_g is not None:
        return i.most_g
    q = i.line.amount
    if q is None or q.kind not in ("count", "volume"):
        share = bounds().unmeasured_liquid if i.is_liquid else bounds().unmeasured
        return max(weighed * share, bounds().unmeasured_least_g)
    return q.high * (bounds().heaviest_ml_g if q.kind == "volume" else bounds().heaviest_g(q.unit))


def _too_much(recipe: Recipe, mass: Fraction, weighed: Fraction, open_lines: list[Input], hardly: bool) -> Problem:
    are = "is" if len(open_lines) == 1 else "are"
    beside = f" and {_listed(open_lines)}, which {are} not weighed," if open_lines else ""
    if recipe.takes_up_water:
        said, how = (warning, "hardly anything") if hardly else (error, "nothing")
        return said(
            "takes-up-too-much",
            recipe.makes_span,
            f"{recipe.called} makes {_kg(mass)} from {_kg(weighed)} of ingredients{beside or ','} "
            f"but {how} takes up so much water",
            "correct what it makes or an amount, or add the water that is measured out to the ingredients",
        )
    return error(
        "makes-more-than-goes-in",
        recipe.makes_span,
        f"{recipe.called} makes {_kg(mass)} from {_kg(weighed)} of ingredients{beside}".rstrip(","),
        "correct the yield or an amount, or write takes_up_water: true (rice, pulses)",
    )


def _too_little(recipe: Recipe, mass: Fraction, weighed: Fraction, goes_in: tuple[Input, ...]) -> list[Problem]:
    """Far more goes in than comes out: because of one line out of all proportion, or because of the yield."""
    for i in goes_in:
        # A liquid boils down, and so does a stock.
        if i.kept_g is None or i.is_recipe or i.is_liquid:
            continue
        if i.kept_g > mass * bounds().far_more and weighed - i.kept_g <= mass * 2:
            return [
                warning(
                    "far-more-than-it-makes",
                    i.line.amount_span or i.line.span,
                    f"{_kg(i.kept_g)} of {i.called} goes into {recipe.called}, which makes {_kg(mass)}",
                    "correct the amount or what the recipe makes; " + _STRAINED,
                )
            ]
    if weighed > mass * bounds().boils_down:
        return [
            warning(
                "makes-far-less",
                recipe.makes_span,
                f"{recipe.called} makes {_kg(mass)} from {_kg(weighed)} of ingredients",
                "correct what it makes; " + _STRAINED,
            )
        ]
    return []


_STRAINED = "for what is strained off or thrown away, write how much of it stays (stays: 5 %)"


def _listed(lines: list[Input]) -> str:
    names = list(dict.fromkeys(i.called for i in lines))
    return ", ".join(names[:3]) + (f" and {len(names) - 3} more" if len(names) > 3 else "")


def _kg(g: Fraction) -> str:
    return f"{shown(g / 1000, 2)} kg" if g >= 10000 else f"{shown(g, 3)} g"
