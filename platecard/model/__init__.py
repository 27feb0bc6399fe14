"""The nouns of a kitchen as frozen values: dishes, plates, recipes, products, and how food is handled.

Each has the place where it was written.  Lengths end in ``_mm``, masses in ``_g``; exact
amounts are :class:`~fractions.Fraction`.
"""

from platecard.model.dish import Acknowledged, Component, Dish, Price, Revision, Swap
from platecard.model.kitchen import Cleaned, Gear, Kitchen, Settings
from platecard.model.plate import Plate
from platecard.model.plating import Accept, Distance, Facing, Piece, Place, Region, Step
from platecard.model.product import Label, Product, Supply
from platecard.model.recipe import Recipe, RecipeLine
from platecard.model.source import Source, SourceKind, Unknown
from platecard.model.written import Written

__all__ = [
    "Accept",
    "Acknowledged",
    "Cleaned",
    "Component",
    "Dish",
    "Distance",
    "Facing",
    "Gear",
    "Kitchen",
    "Label",
    "Piece",
    "Place",
    "Plate",
    "Price",
    "Product",
    "Recipe",
    "RecipeLine",
    "Region",
    "Revision",
    "Settings",
    "Source",
    "SourceKind",
    "Step",
    "Supply",
    "Swap",
    "Unknown",
    "Written",
]
