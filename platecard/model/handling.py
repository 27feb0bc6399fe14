"""How a spec says food is treated: finished to order, cooked, cured, frozen, held.

Temperatures are in °C, durations in seconds.  What the spec leaves out stays None or empty,
and the cautions then report it as missing.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from platecard.diagnostics import Span

STATES = ("raw", "marinated", "cured", "cold-smoked", "lightly cooked", "cooked")


@dataclass(frozen=True, slots=True)
class FinishStep:
    """One step of finishing a component to order.

    ``after`` names the steps and components that must be done first, each with its place;
    None where the step simply follows the one before it.  ``ready_s``: it must end this long
    before the plate leaves.  ``is_ahead``: done before the order comes in, such as tempering.
    ``is_rest``: takes time, but neither a cook nor equipment.  ``is_together``: one pot or
    tray does for all plates of a table.
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
        """Where a key is written, or the whole entry if it is not."""
        return dict(self.places).get(key, self.span)


@dataclass(frozen=True, slots=True)
class Core:
    """A core temperature, and how long the core was held at it where that is stated."""

    celsius: Fraction
    for_s: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Frozen:
    """The freezing record of a fish: how cold, for how long, and where that is written; or why none is needed."""

    span: Span
    celsius: Fraction | None = None
    for_s: Fraction | None = None
    record: str = ""
    exempt: str = ""


@dataclass(frozen=True, slots=True)
class Held:
    """How food waits for the plate; None means not said.

    Where a range is given, ``at_c`` is its lower end and ``warmest_c`` its upper.
    """

    span: Span
    at_c: Fraction | None = None
    up_to_s: Fraction | None = None
    warmest_c: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Cooled:
    """A stage of cooling: how cold the food was, and how many s after it left hot holding."""

    to_c: Fraction
    within_s: Fraction


@dataclass(frozen=True, slots=True)
class Handling:
    """How a component, a recipe or one line of a recipe is treated.

    ``core_unread``: a core temperature is written there, but it could not be read.  ``cooling`` are
    the stages of cooling where the spec gives them; ``cooled`` then is true too.
    """

    state: str = ""
    core: Core | None = None
    doneness: str = ""
    cut: str = ""
    held: Held | None = None
    cooled: bool = False
    cooling: tuple[Cooled, ...] = ()
    process: tuple[str, ...] = ()
    frozen: Frozen | None = None
    foraged: bool = False
    live: bool = False
    pasteurised: bool = False
    farmed: bool = False
    core_unread: bool = False


PLAIN = Handling()
