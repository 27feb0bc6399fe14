"""What all dishes share: the kitchen's settings, its equipment and its library."""

from __future__ import annotations

from dataclasses import dataclass, field

from platecard.diagnostics import Span
from platecard.model.plate import Plate
from platecard.model.product import Product, Supply
from platecard.model.recipe import Recipe
from platecard.model.written import Written


@dataclass(frozen=True, slots=True)
class Cleaned:
    """How a piece of equipment is cleaned between any two uses, by whom, and the day that was last checked."""

    how: str
    by: str
    checked: str
    span: Span


@dataclass(frozen=True, slots=True)
class Gear:
    """What a piece of equipment takes: how many things at once, and whether each place has its own heat.

    ``touches`` is false where food never meets what earlier food left there; ``cleaned`` is set
    where the kitchen vouches that it is cleaned between any two uses.
    """

    key: str
    holds: int = 1
    own_heat: bool = False
    touches: bool = True
    cleaned: Cleaned | None = None


@dataclass(frozen=True, slots=True)
class Settings:
    """``kitchen.yaml``: the laws in force, the paper, and the names of stations and equipment.

    ``card_allergens`` is ``each`` (law by law) or ``union``; ``label_days`` is how old a label
    may be; ``labels_printed_for`` are the laws that labels are printed under; ``only_for`` lists,
    for a piece of equipment, the recipes and components it is kept for; ``guest_languages`` are those
    in which allergens are named for guests, beside English; ``place`` is where the kitchen stands,
    in the words of ``data/duties.yaml``; ``laws_checked`` is the day on which somebody there last
    made sure that the laws on file are those that hold.
    """

    called: str = "Kitchen"
    laws: tuple[str, ...] = ("eu",)
    laws_span: Span | None = None
    page: str = "A5 landscape"
    language: str = "en-GB"
    card_allergens: str = "each"
    label_days: int | None = None
    food_code: tuple[str, ...] = ()
    gear: tuple[Gear, ...] = ()
    only_for: tuple[tuple[str, tuple[str, ...], Span], ...] = ()
    stations: tuple[tuple[str, str], ...] = ()
    equipment: tuple[tuple[str, str], ...] = ()
    span: Span | None = None
    amounts: str = "metric"
    labels_printed_for: tuple[str, ...] = ()
    labels_printed_for_span: Span | None = None
    guest_languages: tuple[str, ...] = ()
    guest_languages_span: Span | None = None
    place: str = ""
    place_span: Span | None = None
    laws_checked: str = ""
    laws_checked_span: Span | None = None

    def gear_of(self, key: str) -> Gear:
        """What is known of a piece of equipment."""
        return next((g for g in self.gear if g.key == key), Gear(key))

    def station(self, key: str) -> str:
        """What a station is called; its key if it has no name."""
        return dict(self.stations).get(key, key)


@dataclass(frozen=True, slots=True)
class Kitchen:
    """Everything the dishes share, by key; ``folder`` appears only in messages.

    ``unread`` names what has an entry that could not be read, and has been reported: (recipe, product or plate, its
    key), with "" for a whole file; ``kinds`` are the kinds of file that there are.
    """

    settings: Settings
    recipes: dict[str, Recipe]
    products: dict[str, Product]
    plates: dict[str, Plate]
    folder: str = "shared"
    supplies: dict[tuple[str, str], Supply] = field(default_factory=dict)
    written: tuple[Written, ...] = ()
    unread: frozenset[tuple[str, str]] = frozenset()
    kinds: frozenset[str] = frozenset()

    def is_unread(self, kind: str, key: str) -> bool:
        """Whether ``key`` may be there all the same, in what could not be read."""
        return (kind, key) in self.unread or (kind, "") in self.unread

    def supply(self, kind: str, key: str) -> Supply | None:
        """What the kitchen says about buying and stocking ``key``; ``kind`` is product or recipe."""
        return self.supplies.get((kind, key))
