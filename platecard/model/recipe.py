"""A sub-recipe and its lines."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from platecard.diagnostics import Span
from platecard.model.handling import PLAIN, Handling
from platecard.model.source import Source
from platecard.quantities.shelf_life import NOT_SAID, Lasting
from platecard.quantities.units import Quantity


@dataclass(frozen=True, slots=True)
class RecipeLine:
    """One ingredient of a recipe.

    ``stays`` is the share still in the food when it is used (of a brine or a frying oil
    mostly little); it lowers masses, never allergens.  ``trim_yield`` is the share left of
    the ingredient as bought (1: weighed as bought).  ``reused``: what does not stay is used
    again rather than bought again.
    """

    source: Source
    span: Span
    amount: Quantity | None = None
    amount_span: Span | None = None
    stays: Fraction = Fraction(1)
    note: str = ""
    handling: Handling = PLAIN
    trim_yield: Fraction | None = None
    reused: bool = False


@dataclass(frozen=True, slots=True)
class Recipe:
    """A sub-recipe.

    ``makes`` is the finished yield as a mass, a volume or a number of pieces; ``each_g`` is the
    weight of one of those pieces.  ``left_behind`` is the share that never leaves the siphon,
    the sieve or the pot.  ``only_named`` are foods that its texts mention although they are not
    in it.  ``ahead`` and ``keeping`` are ``made_ahead`` and ``keeps`` as durations.  ``is_whole``: every line of
    its ingredients could be read; what could not has been reported.
    """

    key: str
    called: str
    span: Span
    makes: Quantity | None
    makes_span: Span
    lines: tuple[RecipeLine, ...]
    method: tuple[str, ...] = ()
    station: str = ""
    equipment: tuple[str, ...] = ()
    made_ahead: str = ""
    keeps: str = ""
    density: Fraction | None = None
    takes_up_water: bool = False
    handling: Handling = PLAIN
    left_behind: Fraction = Fraction(0)
    station_span: Span | None = None
    equipment_span: Span | None = None
    each_g: Fraction | None = None
    ahead: Lasting = NOT_SAID
    keeping: Lasting = NOT_SAID
    only_named: tuple[tuple[str, Span], ...] = ()
    is_whole: bool = True
