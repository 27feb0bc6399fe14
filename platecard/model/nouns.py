"""The nouns of the kitchen: dish, component, step, piece, plate, recipe, product.

Frozen values, each with the place where it was written.  Lengths end in ``_mm``,
masses in ``_g``; exact amounts are :class:`~fractions.Fraction`.  A name that cannot be
resolved stays in the tree as :class:`Unknown`, so that every mistake is shown and nothing
gets lost on the way to the allergen statement.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from enum import StrEnum
from fractions import Fraction
from typing import NamedTuple

from platecard.diagnostics import Span
from platecard.model.handling import PLAIN, FinishStep, Handling
from platecard.quantities.shelf_life import NOT_SAID, Lasting
from platecard.quantities.units import Money, Quantity

# --------------------------------------------------------------------------- the dish


@dataclass(frozen=True, slots=True)
class Unknown:
    """A name that could not be resolved, and why; ``span`` is None where the fault has no place in a file."""

    name: str
    span: Span | None
    why: str = ""


class Written(NamedTuple):
    """A text as the chef wrote it.

    ``key`` is the key it stands under, ``section`` the section of the file that holds it, and
    ``owner`` the recipe it belongs to, empty where it belongs to none.
    """

    key: str
    section: str
    text: str
    span: Span
    quoted: bool = False
    owner: str = ""


class SourceKind(StrEnum):
    """What a source names; ``UNKNOWN`` where a spec names none of them, or more than one."""

    RECIPE = "recipe"
    PRODUCT = "product"
    INGREDIENT = "ingredient"
    UNKNOWN = "unknown"

    def __repr__(self) -> str:
        # The code of a dish is a hash over the repr of its values; this keeps it that of the plain word.
        return str.__repr__(self)


@dataclass(frozen=True, slots=True)
class Source:
    """Where the food of a component or a recipe line comes from; ``name`` is as written in the spec."""

    kind: SourceKind
    name: str
    span: Span


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


@dataclass(frozen=True, slots=True)
class Distance:
    """A distance from the centre of the plate: in mm, or as a share of the well's radius (1 is its edge)."""

    value: Fraction
    is_share: bool = False


@dataclass(frozen=True, slots=True)
class Place:
    """A point on the plate.

    Either a clock position (``clock_deg``, clockwise from 12 o'clock, which points away
    from the guest) with a distance ``out`` from the centre, or millimetres to the
    right of the centre and away from the guest (``right_mm``, ``away_mm``).
    """

    clock_deg: Fraction | None = None
    out: Distance | None = None
    right_mm: Fraction | None = None
    away_mm: Fraction | None = None


@dataclass(frozen=True, slots=True)
class Region:
    """Part of a ring: clockwise from ``from_deg`` to ``to_deg``, between two distances from the centre.

    Where both angles are None it runs all the way round.
    """

    from_deg: Fraction | None
    to_deg: Fraction | None
    inner: Distance
    outer: Distance


@dataclass(frozen=True, slots=True)
class Facing:
    """Which way a piece faces.

    ``points`` says where its long axis points: in, out, clockwise, anticlockwise, guest,
    away, or clock (then ``clock_deg`` holds the direction).  ``stance`` is flat, standing or
    leaning.  ``up`` is the side that shows, in the chef's words.
    """

    points: str = ""
    clock_deg: Fraction | None = None
    stance: str = "flat"
    up: str = ""
    text: str = ""


@dataclass(frozen=True, slots=True)
class Accept:
    """What the pass accepts: drift in mm, turn in degrees, pieces more or fewer, deviation in weight as a share."""

    place_mm: Fraction | None = None
    turn_deg: Fraction | None = None
    count: int = 0
    weight: Fraction | None = None
    words: str = ""


@dataclass(frozen=True, slots=True)
class Piece:
    """One piece as it lies on the plate.

    ``length_mm`` runs along the long axis, ``width_mm`` across it; for a round shape
    the two are equal.  ``weight_g`` is that of one piece.  ``last_mm`` is the length of
    the last of a run of graded pieces, ``hole_mm`` the inner diameter of a ring, and
    ``points`` a free outline in mm, to the right and away from the guest.
    """

    shape: str
    length_mm: Fraction
    width_mm: Fraction
    span: Span
    height_mm: Fraction | None = None
    weight_g: Fraction | None = None
    last_mm: Fraction | None = None
    hole_mm: Fraction | None = None
    points: tuple[tuple[Fraction, Fraction], ...] = ()
    points_span: Span | None = None


@dataclass(frozen=True, slots=True)
class Step:
    """One move in building the plate, in its section (plating, garnish or at_table).

    ``bends``: a direction of turning was given, so a swipe or drizzle follows the arc.
    ``beside``, ``behind``, ``under``, ``around`` and ``alternating_with`` name the
    component that this one is placed by; ``clear_mm`` is the distance to keep from it.
    """

    index: int
    section: str
    put: str
    span: Span
    places: dict[str, Span]
    count: int = 1
    piece: Piece | None = None
    amount: Quantity | None = None
    across_mm: Fraction | None = None
    arrange: str = "one"
    at: Place | None = None
    start: Place | None = None
    end: Place | None = None
    out: Distance | None = None
    anticlockwise: bool = False
    within: Region | None = None
    gap_mm: Fraction | None = None
    overlap: Fraction | None = None
    on: tuple[str, ...] = ()
    may_touch: tuple[str, ...] = ()
    beside: str = ""
    behind: str = ""
    under: str = ""
    around: str = ""
    alternating_with: str = ""
    clear_mm: Fraction | None = None
    along_deg: Fraction | None = None
    rows: int = 0
    bends: bool = False
    facing: Facing = Facing()
    accept: Accept = Accept()
    poured: str = ""
    note: str = ""

    def place(self, key: str) -> Span:
        """The place of one of the step's keys, or of the step itself where it has no such key."""
        return self.places.get(key, self.span)


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
        return dict(self.laws).get(law, ())


@dataclass(frozen=True, slots=True)
class Dish:
    """A composed plate as its spec describes it.

    ``only_named`` are foods that its texts mention although they are not in it.  ``is_draft``:
    it is off the menu; ``is_trial``: although a draft, it is cooked on the kitchen's equipment.
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

    def component(self, key: str) -> Component | None:
        return next((c for c in self.components if c.key == key), None)


@dataclass(frozen=True, slots=True)
class Price:
    """What a guest pays for the dish, net of sales tax."""

    net: Money
    span: Span


# --------------------------------------------------------------------------- the kitchen's library


@dataclass(frozen=True, slots=True)
class Supply:
    """What the kitchen says about buying and stocking a product or a recipe.

    It is kept apart from the product or recipe because no card depends on it: a delivery
    or a new price makes no card out of date.  ``trim_yield`` is the share left of what is
    bought; ``gives`` says how many of a counting word (fillet, portion) one bought piece
    yields; ``price`` is for ``price_for``, or for the pack where that is None.
    """

    span: Span
    trim_yield: Fraction | None = None
    bought_as: str = ""
    used_as: str = ""
    gives: tuple[tuple[str, Fraction], ...] = ()
    pack: Quantity | None = None
    price: Money | None = None
    price_for: Quantity | None = None
    par: Quantity | None = None
    on_hand: Quantity | None = None


@dataclass(frozen=True, slots=True)
class Plate:
    """A plate or bowl: ``well_mm`` is the diameter of the flat part that can be used, ``depth_mm`` its depth.

    For an oval, a rectangle or a board ``outer_mm`` and ``well_mm`` run from left to
    right, ``outer_far_mm`` and ``well_far_mm`` away from the guest, and ``corner_mm``
    is the radius of the outer corners.
    """

    key: str
    called: str
    form: str
    outer_mm: Fraction
    well_mm: Fraction
    span: Span
    depth_mm: Fraction | None = None
    colour: str = ""
    outer_far_mm: Fraction | None = None
    well_far_mm: Fraction | None = None
    corner_mm: Fraction = Fraction(0)
    colour_span: Span | None = None

    def __hash__(self) -> int:
        # Plates are keys of caches, and hashing fractions is slow.
        return hash(self.key)

    @property
    def is_round(self) -> bool:
        return self.form in ("rimmed", "coupe", "bowl")


@dataclass(frozen=True, slots=True)
class Label:
    """What a product's label says, as the kitchen read it; words are kept as written.

    ``sulphites_mg_kg`` is the level where the label or the supplier states one;
    ``sulphites_unread``: one is stated, but could not be read.  ``lists`` names the lists
    that the kitchen wrote down (contains, may_contain); one that is missing is taken from the
    text.  ``means_nothing`` are words of the text that name no food; ``read_whole``: the lists
    hold everything that the text names.  ``printed_for`` are the laws the label was printed under.
    """

    span: Span
    read: str
    contains: tuple[tuple[str, Span], ...]
    may_contain: tuple[tuple[str, Span], ...]
    text: str = ""
    text_span: Span | None = None
    sulphites_mg_kg: Fraction | None = None
    sulphites_unread: bool = False
    lists: tuple[str, ...] = ("contains", "may_contain")
    means_nothing: tuple[tuple[str, Span], ...] = ()
    read_whole: bool = False
    read_whole_span: Span | None = None
    printed_for: tuple[str, ...] = ()
    printed_for_span: Span | None = None


@dataclass(frozen=True, slots=True)
class Product:
    """A bought-in product: what it is in the catalogue, and what its label says.

    ``called`` is its full name, as it is bought; ``unclaimed`` is the name without its
    maker's claim ("oats" for "gluten-free oats"), empty where there is no claim.
    ``either`` holds the keys of the products it may be, where it is one of several.
    ``piece_g`` is the weight of one piece as bought, ``parts`` that of each part it is cut
    into (fillet, portion), None where it is not known what trimming leaves.  ``unread`` names
    those of these figures that are given but could not be read: nothing else may take their place.
    """

    key: str
    called: str
    span: Span
    is_a: str = ""
    is_a_span: Span | None = None
    also: tuple[str, ...] = ()
    label: Label | None = None
    supplier: str = ""
    code: str = ""
    density: Fraction | None = None
    piece_g: Fraction | None = None
    parts: tuple[tuple[str, Fraction | None], ...] = ()
    unread: tuple[str, ...] = ()
    unclaimed: str = ""
    either: tuple[tuple[str, Span], ...] = ()

    @property
    def shown(self) -> str:
        """Its name for cards and pages, which repeat no claim of its maker."""
        return self.unclaimed or self.called


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
    in it.  ``ahead`` and ``keeping`` are ``made_ahead`` and ``keeps`` as durations.
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
    in which allergens are named for guests, beside English.
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

    def gear_of(self, key: str) -> Gear:
        return next((g for g in self.gear if g.key == key), Gear(key))

    def station(self, key: str) -> str:
        return dict(self.stations).get(key, key)


@dataclass(frozen=True, slots=True)
class Kitchen:
    """Everything the dishes share, by key; ``folder`` appears only in messages."""

    settings: Settings
    recipes: dict[str, Recipe]
    products: dict[str, Product]
    plates: dict[str, Plate]
    folder: str = "shared"
    supplies: dict[tuple[str, str], Supply] = field(default_factory=dict)
    written: tuple[Written, ...] = ()

    def supply(self, kind: str, key: str) -> Supply | None:
        """What the kitchen says about buying and stocking ``key``; ``kind`` is product or recipe."""
        return self.supplies.get((kind, key))
