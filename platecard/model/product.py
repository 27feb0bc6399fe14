"""What the kitchen buys: a product, its label, and how it is bought and stocked."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction

from platecard.diagnostics import Span
from platecard.quantities.money import Money
from platecard.quantities.units import Quantity


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
class Label:
    """What a product's label says, as the kitchen read it; words are kept as written.

    ``sulphites_mg_kg`` is the level where the label or the supplier states one;
    ``sulphites_unread``: one is stated, but could not be read.  ``lists`` names the lists
    that the kitchen wrote down (contains, may_contain); one that is missing is taken from the
    text.  ``means_nothing`` are words of the text that name no food; ``read_whole``: the lists
    hold everything that the text names.  ``printed_for`` are the laws the label was printed under;
    ``maker_asked`` is the day on which the maker said that nothing is in it but what the label names.
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
    printed_for: tuple[str, ...] = ()
    printed_for_span: Span | None = None
    maker_asked: str = ""


@dataclass(frozen=True, slots=True)
class Product:
    """A bought-in product: what it is in the catalogue, and what its label says.

    ``called`` is its full name, as it is bought; ``unclaimed`` is the name without its
    maker's claim ("oats" for "gluten-free oats"), empty where there is no claim.
    ``either`` holds the keys of the products it may be, where it is one of several.
    ``piece_g`` is the weight of one piece as bought, ``parts`` that of each part it is cut
    into (fillet, portion), None where it is not known what trimming leaves.  ``unread`` names
    those of these figures that are given but could not be read: nothing else may take their place.
    ``label_has_errors``: a label is written, but counts as none because of errors that have been reported.
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
    label_has_errors: bool = False

    @property
    def shown(self) -> str:
        """Its name for cards and pages, which repeat no claim of its maker."""
        return self.unclaimed or self.called
