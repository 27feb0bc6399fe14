"""What a spec says of how food is treated: finished to order, cooked, cured, frozen, held.

Frozen values, beside the nouns of :mod:`platecard.model`.  Temperatures are in °C,
durations in seconds.  What the spec does not say stays None or empty, and the
cautions then say that it is missing.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from platecard.diagnostics import Span

STATES = ("raw", "marinated", "cured", "cold-smoked", "lightly cooked", "cooked")


@dataclass(frozen=True, slots=True)
class FinishStep:
    """One step of finishing a component to order.

    ``after`` are the names it waits for, each with its place; None where it simply
    follows the step before it.  ``ready_s``: it must end this long before the plate
    leaves.  ``is_ahead``: done before the order comes in (tempering).  ``is_rest``:
    nobody and nothing is needed.  ``is_together``: one pot or tray serves all plates
    of the table.
    """

    key: str
    do: str
    takes_s: Fraction
    span: Span
    places: tuple[tuple[str, Span], ...] = ()
    on: tuple[str, ...] = ()
    at_c: Fraction | None = None
    core_c: Fraction | None = None
    after: tuple[tuple[str, Span], ...] | None = None
    ready_s: Fraction | None = None
    is_rest: bool = False
    is_ahead: bool = False
    is_together: bool = False
    turn: str = ""
    note: str = ""

    def place(self, key: str) -> Span:
        return dict(self.places).get(key, self.span)


@dataclass(frozen=True, slots=True)
class Core:
    """A core temperature, and how long the core was at it where that is said."""

    celsius: Fraction
    for_s: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Frozen:
    """The freezing record of a fish: how cold, how long, where it is written; or why none is needed."""

    span: Span
    celsius: Fraction | None = None
    for_s: Fraction | None = None
    record: str = ""
    exempt: str = ""


@dataclass(frozen=True, slots=True)
class Held:
    """How it waits for the plate.  None: not said.  Of a range ``at_c`` is the lower end, ``warmest_c`` the upper."""

    span: Span
    at_c: Fraction | None = None
    up_to_s: Fraction | None = None
    warmest_c: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Handling:
    """How a component, a recipe or one line of a recipe is treated.

    ``core_unread``: a core temperature is written down that could not be read.
    """

    state: str = ""
    core: Core | None = None
    doneness: str = ""
    cut: str = ""
    held: Held | None = None
    cooled: bool = False
    process: tuple[str, ...] = ()
    frozen: Frozen | None = None
    foraged: bool = False
    live: bool = False
    pasteurised: bool = False
    core_unread: bool = False


PLAIN = Handling()
