"""What the stages of the road hand on: the kitchen, a dish begun, a dish ready to be drawn."""

from __future__ import annotations

from dataclasses import dataclass, field
from datetime import date

from platecard.allergens.basis import Basis
from platecard.allergens.cross_contact import Shared
from platecard.allergens.named_foods import NamedFoods
from platecard.allergens.statement import Statement
from platecard.allergens.sulphites import Sum
from platecard.allergens.traces import Trace, Tracer
from platecard.diagnostics import Problem, has_withholding
from platecard.knowledge.languages import Language
from platecard.knowledge.laws import Law
from platecard.layout.arrange import Arrangement
from platecard.model import Dish, Kitchen, Unknown
from platecard.reading.drafts import Marks
from platecard.recipes.resolve import Pantry
from platecard.recipes.resolved import Resolved, products_in
from platecard.service.cautions import Caution, Cautioner
from platecard.service.fire import Schedule


@dataclass(frozen=True, slots=True)
class World:
    """What all dishes of a kitchen share: its library, the laws in force, the catalogue.

    ``unread`` is what could not be read of the library: it may have said anything about any dish.
    ``makers`` are the names of its products that claim something; ``named`` finds the foods that
    its texts name.  ``of_products`` are the problems that touch one product alone, by its key;
    ``languages`` are those in which allergens are named for guests, beside English.
    """

    kitchen: Kitchen
    pantry: Pantry
    tracer: Tracer
    laws: tuple[Law, ...]
    problems: tuple[Problem, ...]
    cautioner: Cautioner
    makers: tuple[str, ...]
    named: NamedFoods
    unread: tuple[Unknown, ...] = ()
    today: date | None = None
    of_products: dict[str, tuple[Problem, ...]] = field(default_factory=dict)
    languages: tuple[Language, ...] = ()

    def problems_of(self, *dishes: Resolved) -> tuple[Problem, ...]:
        """The kitchen's problems that touch these dishes: all but those of products that none of them uses."""
        if not self.of_products:
            return self.problems
        used = {key for resolved in dishes for key in products_in(resolved)}
        ours = {p for key in used for p in self.of_products.get(key, ())}
        others = {p for problems in self.of_products.values() for p in problems} - ours
        return tuple(p for p in self.problems if p not in others)


@dataclass(frozen=True, slots=True)
class Begun:
    """A dish as far as it can be prepared by itself, before the rest of the menu is known.

    ``hides`` is true where its errors may hide a component, or the equipment that it goes through;
    ``marks`` say whether it is on the menu.
    """

    key: str
    file: str
    dish: Dish | None
    resolved: Resolved | None
    problems: tuple[Problem, ...]
    offered: tuple[Resolved, ...] = ()
    hides: bool = True
    marks: Marks = Marks()


@dataclass(frozen=True, slots=True)
class Prepared:
    """A dish ready to be drawn.

    ``problems`` include those of the kitchen that touch it; ``offered`` are its swaps, each as a
    dish of that one component; ``basis`` is what its documents rely on; ``told`` says what its
    foods can do to guests with another allergy.
    """

    key: str
    file: str
    dish: Dish | None
    resolved: Resolved | None
    traces: tuple[Trace, ...]
    sums: tuple[Sum, ...]
    statements: tuple[Statement, ...]
    arrangement: Arrangement | None
    world: World
    problems: tuple[Problem, ...]
    schedule: Schedule | None = None
    cautions: tuple[Caution, ...] = ()
    shared: Shared = field(default_factory=Shared)
    offered: tuple[Resolved, ...] = ()
    basis: Basis = Basis()
    told: tuple[str, ...] = ()
    is_draft: bool = False

    @property
    def is_sound(self) -> bool:
        """Whether a clean card may be drawn: no error withholds it, and its own ingredients leave no allergen open.

        What is not established over shared equipment alone is stated on the card, and so is what is
        on the chef's record and no longer derived: that is an error, but the card declares it.
        """
        return (
            not has_withholding(self.problems)
            and self.dish is not None
            and all(s.established_in_itself for s in self.statements)
        )


def plated(prepared: Prepared) -> tuple[Dish, Arrangement]:
    """The dish and its laid plate.  ValueError where one of them is missing, so that nothing can be drawn."""
    if prepared.dish is None or prepared.arrangement is None:
        raise ValueError(f"{prepared.key} cannot be drawn: its spec could not be read, or its plate not laid out")
    return prepared.dish, prepared.arrangement
