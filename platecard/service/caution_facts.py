"""What a dish says of its foods that a caution may ask about.

In: the resolved dish.  Out: :class:`Facts`, one for each food that some rule is about and one for
each thing that is made.  Which foods a dish contains is derived from its ingredients, through
every sub-recipe, each with the most thorough treatment on its way to the plate.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from platecard.knowledge import kinds as food_kinds
from platecard.knowledge.catalogue import Entry
from platecard.knowledge.taxonomy import Taxonomy
from platecard.model import Component, Recipe
from platecard.model.handling import PLAIN, STATES, Frozen, Handling, Held
from platecard.quantities.shelf_life import Lasting
from platecard.recipes.resolved import Batch, Bought, Part, Resolved, What
from platecard.service import shelf_lives
from platecard.service.caution_rules import CautionRules
from platecard.service.food_codes import Cores

HOT, COLD, BETWEEN, MISSING = "hot", "cold", "between", "missing"
_FLAGS = ("foraged", "live", "pasteurised", "farmed", "core_unread")
TO_ORDER = "to order"  # cooked as the order comes in and not held afterwards


class Food(NamedTuple):
    """A food that some rule is about, with the most thorough treatment on its way to the plate.

    ``kind`` is the kind of animal food that it is (or a flower, a wild mushroom, a foraged plant), empty
    for others; ``foods`` are those of the rules by food, and ``kinds`` the food kinds of its entry.
    """

    kind: str
    name: str
    foods: frozenset[str] = frozenset()
    kinds: frozenset[str] = frozenset()
    state: str = ""
    cores: Cores = frozenset()
    doneness: str = ""
    cut: str = ""
    flags: frozenset[str] = frozenset()
    frozen: Frozen | None = None

    def after(self, h: Handling) -> Food:
        """The same food after a treatment of what it is in; heating is never undone."""
        if h is PLAIN:
            return self
        state = max(self.state, h.state, key=("", *STATES).index)
        flags = self.flags | {f for f in _FLAGS if getattr(h, f)}
        cores = self.cores | {(h.core.celsius, h.core.for_s)} if h.core else self.cores
        cut = self.cut if self.cut not in ("", "whole") else h.cut or self.cut
        return self._replace(
            state=state,
            cores=cores,
            doneness=self.doneness or h.doneness,
            cut=cut,
            flags=flags,
            frozen=self.frozen or h.frozen,
        )

    @property
    def is_meant_so(self) -> bool:
        """Whether the spec itself says that it is served less than cooked through."""
        return self.state in STATES[:5] or self.doneness in ("blue", "rare", "pink")


class Facts(NamedTuple):
    """What a rule may ask about one food, or about something made with the foods that are ``inside`` it."""

    what: str
    component: Component
    food: Food | None = None
    inside: tuple[Food, ...] = ()
    recipe: Recipe | None = None
    handling: Handling = PLAIN
    held: str = ""
    is_cooled: bool = False
    is_reheated: bool = False
    is_hot_and_ahead: bool = False
    kept: tuple[Lasting, ...] = ()


def _in_order(foods: Iterable[Food]) -> tuple[Food, ...]:
    """Foods in an order that does not depend on how a set was filled."""

    def key(a: Food) -> tuple[object, ...]:
        cores = sorted((c, t or Fraction(0)) for c, t in a.cores)
        return a.kind, a.name, a.state, cores, a.doneness, a.cut, sorted(a.flags), str(a.frozen)

    return tuple(sorted(foods, key=key))


class FactFinder:
    """The facts of the dishes of one kitchen; each batch is looked through once.

    ``is_cooked`` tells whether a food counts as cooked under every food code of the kitchen.
    """

    def __init__(
        self, rules: CautionRules, codes: tuple[str, ...], taxonomy: Taxonomy, is_cooked: Callable[[Food], bool]
    ) -> None:
        self.rules, self.codes, self.taxonomy, self.is_cooked = rules, codes, taxonomy, is_cooked
        self._batches: dict[str, frozenset[Food]] = {}
        self._leaves: dict[str, Food | None] = {}

    def of(self, part: Part, resolved: Resolved) -> list[Facts]:
        """The facts of one component: of each food in it, and of all that is made for it."""
        component = part.component
        found = []
        inside = _in_order({self._finished(a, part) for a in self._foods(part.use.what)})
        for food in inside:
            one, other = food.name.lower(), component.called.lower()
            called = component.called if one in other or other in one else f"{component.called} ({food.name})"
            found.append(Facts(called, component, food=food))
        hot = dict(resolved.dish.serve).get("food") in ("hot", "warm")
        return found + self._made(part, hot, inside)

    # ----------------------------------------------------------------------- what is inside

    def _foods(self, what: What) -> frozenset[Food]:
        if isinstance(what, Batch):
            key = what.recipe.key
            if key not in self._batches:
                found: set[Food] = set()
                for use, line in zip(what.lines, what.recipe.lines):
                    inside = self._foods(use.what) or (
                        frozenset({Food("plant", use.called)}) if line.handling.foraged else frozenset()
                    )
                    found |= {a.after(line.handling).after(what.recipe.handling) for a in inside}
                self._batches[key] = frozenset(found)
            return self._batches[key]
        if isinstance(what, Entry):
            return self._leaf(what, what.shown)
        if isinstance(what, Bought):
            if what.either:
                return frozenset().union(*(self._foods(one) for one in what.either))
            if what.entry is not None:
                return self._leaf(what.entry, what.product.shown)
            return self._labelled(what)
        return frozenset()

    def _leaf(self, entry: Entry, called: str) -> frozenset[Food]:
        if entry.id not in self._leaves:
            kind = self.rules.kind_of(entry, self.taxonomy)
            foods = self.rules.foods_of(entry, self.taxonomy)
            tree = food_kinds.load()[0]
            kinds = frozenset().union(*(tree.above(k) for k in entry.kinds))
            known = Food("" if kind == "ready" else kind, "", foods, kinds, flags=self.rules.flags_of(entry))
            self._leaves[entry.id] = known if known.kind or known.foods else None
        food = self._leaves[entry.id]
        return frozenset() if food is None else frozenset({food._replace(name=called)})

    def _labelled(self, bought: Bought) -> frozenset[Food]:
        """What a product without an entry is; only its label and its name tell."""
        product = bought.product
        words = product.label.contains if product.label else ()
        nodes = {n for n in (self.taxonomy.find(word) for word, _ in words) if n}
        found: dict[str, str] = {}
        for root, kind in self.rules.label_kinds.items():
            for node in nodes:
                if self.taxonomy.is_under(node, root):
                    # The narrower node stands later in the table: squid is a mollusc, and a cephalopod.
                    found[node] = kind
        foods = self.rules.foods_of_label(product.called, nodes, self.taxonomy)
        kinds = sorted(set(found.values())) or ([""] if foods else [])
        return frozenset(Food(kind, product.shown, foods) for kind in kinds)

    # ----------------------------------------------------------------------- facts

    def _finished(self, food: Food, part: Part) -> Food:
        """The food after the component's own treatment and the core temperatures of its finishing steps."""
        component, what = part.component, part.use.what
        is_ahead = isinstance(what, Batch) and not what.recipe.ahead.to_order
        reached = {(s.core_c, None) for s in component.finish if s.core_c is not None}
        treated = food.after(component.handling)
        if reached:
            flags = treated.flags if is_ahead or component.handling.held else treated.flags | {TO_ORDER}
            treated = treated._replace(cores=treated.cores | reached, flags=flags)
        # Food that came in raw or cured and was then cooked through under every code counts as cooked.
        return treated._replace(state="cooked") if treated.state in STATES[:4] and self.is_cooked(treated) else treated

    def _made(self, part: Part, hot: bool, inside: tuple[Food, ...]) -> list[Facts]:
        component, what = part.component, part.use.what
        top = what.recipe if isinstance(what, Batch) else None
        own, inner = component.handling, top.handling if top else PLAIN
        held = own.held or inner.held
        cooled = own.cooled or (top is not None and shelf_lives.is_cooled(top))
        heats = any(s.core_c is not None or s.at_c is not None or s.on for s in component.finish)
        ahead = top is not None and shelf_lives.is_ahead(top)
        is_perishable = any(a.kind in self.rules.animals or a.kind == "dairy" for a in inside)
        joined = replace(
            own,
            process=tuple(dict.fromkeys((*own.process, *inner.process))),
            held=held,
            core=own.core or inner.core,
            cooling=own.cooling or inner.cooling,
            foraged=own.foraged or inner.foraged,
        )
        facts = [
            Facts(
                component.called,
                component,
                inside=inside,
                recipe=top,
                handling=joined,
                held=self._holding(held),
                is_cooled=cooled,
                is_reheated=hot and cooled and (heats or self._holding(held) == HOT),
                is_hot_and_ahead=hot and is_perishable and ahead and held is None and not heats,
                kept=shelf_lives.kept(top) if top else (),
            )
        ]
        for batch in shelf_lives.batches_inside(what):
            recipe = batch.recipe
            facts.append(
                Facts(
                    recipe.called,
                    component,
                    inside=_in_order(self._foods(batch)),
                    recipe=recipe,
                    handling=recipe.handling,
                    held=self._holding(recipe.handling.held),
                    is_cooled=shelf_lives.is_cooled(recipe),
                    kept=shelf_lives.kept(recipe),
                )
            )
        return facts

    def _holding(self, held: Held | None) -> str:
        """Hot, cold or between under the food codes of the kitchen together, or that nothing is said of it."""
        if held is None:
            return ""
        if held.at_c is None:
            return MISSING
        limits = [self.rules.holding[c] for c in self.codes]
        warmest: Fraction = held.at_c if held.warmest_c is None else held.warmest_c
        if all(held.at_c >= limit.hot_c for limit in limits):
            return HOT
        return COLD if all(warmest <= limit.cold_c for limit in limits) else BETWEEN
