"""A dish and its components."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from platecard.diagnostics import Span
from platecard.model.handling import PLAIN, FinishStep, Handling
from platecard.model.plating import Step
from platecard.model.source import Source
from platecard.quantities.money import Money


@dataclass(frozen=True, slots=True)
class Swap:
    """What may replace a component for a guest who avoids ``avoiding``.

    ``called`` is its name as a card may print it; ``places`` are those of the words in ``avoiding``.
    """

    avoiding: tuple[str, ...]
    use: Source
    span: Span
    places: tuple[Span, ...]  # of the words of ``avoiding``
    called: str = ""


@dataclass(frozen=True, slots=True)
class Component:
    """One part of the dish, made or bought, before it is placed on the plate."""

    key: str
    called: str
    source: Source
    station: str
    span: Span
    equipment: tuple[str, ...] = ()
    may_be_left_off: bool = False
    swaps: tuple[Swap, ...] = ()
    colour: str = ""
    note: str = ""
    finish: tuple[FinishStep, ...] = ()
    handling: Handling = PLAIN
    colour_span: Span | None = None
    equipment_span: Span | None = None
    station_span: Span | None = None


@dataclass(frozen=True, slots=True)
class Revision:
    """Which edition of the spec this is, as the chef numbers it."""

    number: int
    date: str
    note: str
    span: Span


@dataclass(frozen=True, slots=True)
class Acknowledged:
    """The allergens the chef has seen, per law, as taxonomy nodes, and the revision they were seen in."""

    revision: int
    laws: tuple[tuple[str, tuple[str, ...]], ...]
    places: tuple[tuple[str, Span], ...]
    span: Span

    def of(self, law: str) -> tuple[str, ...]:
        """What was declared under a law when the chef signed."""
        return dict(self.laws).get(law, ())


@dataclass(frozen=True, slots=True)
class Dish:
    """A composed plate as its spec describes it.

    ``only_named`` are foods that its texts mention although they are not in it.  ``is_draft``:
    it is off the menu; ``is_trial``: although a draft, it is cooked on the kitchen's equipment.
    ``guests`` is how many guests share one plate.
    """

    key: str
    title: str
    span: Span
    menu_line: str
    course: str
    revision: Revision | None
    plate: str
    plate_span: Span
    serve: tuple[tuple[str, str], ...]
    components: tuple[Component, ...]
    steps: tuple[Step, ...]
    expo_checks: tuple[str, ...]
    note: str = ""
    acknowledged: Acknowledged | None = None
    plating_s: Fraction = Fraction(0)
    check_s: Fraction = Fraction(0)
    plates_warm_s: Fraction | None = None
    price: Price | None = None
    only_named: tuple[tuple[str, Span], ...] = ()
    is_draft: bool = False
    is_trial: bool = False
    all_moves_read: bool = True
    guests: int = 1

    @property
    def at_table(self) -> frozenset[int]:
        """The indices of the moves at the table; what they put on is not on the plate at the pass."""
        return frozenset(s.index for s in self.steps if s.at_table)

    def component(self, key: str) -> Component | None:
        """The component of a key, or None."""
        return next((c for c in self.components if c.key == key), None)


@dataclass(frozen=True, slots=True)
class Price:
    """What a guest pays for the dish, net of sales tax."""

    net: Money
    span: Span
