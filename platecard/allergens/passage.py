"""Which food goes through which equipment, and in which order.

In: a component as it is resolved, and the kitchen's equipment.  Out: its stages, each
with the stages whose food it holds by then.

What counts as known about the order of work:

1. A recipe goes through its own equipment before it is used in the recipe or component that
   it goes into.  Whatever else goes into the dish is not there yet.
2. Recipes that meet only later, in the one that uses both, do not meet each other's
   equipment.
3. Every recipe of a component comes before the component's own equipment and before
   its finishing steps.
4. Finishing steps follow each other as they are listed; one with ``after`` follows what
   it names and whatever that waited for, in other components too, and nothing else.

Not known, and so assumed to happen in either order: the pieces of equipment that one recipe,
component or step names together; two steps neither of which waits for the other; a
component's own ``equipment`` and its finishing steps.

Equipment with ``touches: false`` hands nothing on, wherever it is named; nor does equipment
that the kitchen vouches is cleaned between any two uses, unless it holds reused oil.
What a recipe reuses (``reused: true``: a frying oil, a brine) is in the equipment that
the recipe names.  Where it names none that touches food, the vessel is not known: all
recipes that reuse the same thing count as sharing one, and the cleaning of whatever such
a recipe goes through as a component counts for nothing.
"""

from __future__ import annotations

from collections.abc import Iterable
from typing import NamedTuple

from platecard.diagnostics import Problem, error, warning
from platecard.model import Cleaned, Component, Kitchen
from platecard.recipes.resolved import Batch, Bought, Part, Resolved, What


class Stage(NamedTuple):
    """Food that goes through equipment at one point of the work.

    ``earlier`` are the positions, in the component's list of stages, of those whose food is in this one.
    """

    equipment: tuple[str, ...]
    what: What
    called: str
    earlier: tuple[int, ...] = ()


class Kit:
    """The kitchen's equipment, as far as food meets food in it.

    ``apart`` hands nothing on; ``cleaned`` hands nothing on as long as it is cleaned as stated;
    ``in_doubt`` is said to be cleaned but may hold something reused.
    """

    def __init__(
        self, apart: Iterable[str] = (), cleaned: dict[str, Cleaned] | None = None, in_doubt: Iterable[str] = ()
    ):
        self.apart, self.in_doubt = frozenset(apart), frozenset(in_doubt)
        self.cleaned = cleaned or {}
        self._inside: dict[str, dict[str, tuple[Batch, tuple[str, ...]]]] = {}

    @classmethod
    def of(cls, kitchen: Kitchen) -> Kit:
        """The equipment of a kitchen; cleaning claimed for the vessel of something reused counts for nothing."""
        gear, oily = kitchen.settings.gear, _oily(kitchen)
        cleaned = {g.key: g.cleaned for g in gear if g.cleaned is not None and g.key not in oily}
        return cls((g.key for g in gear if not g.touches), cleaned)

    def doubted(self, menu: Iterable[Resolved]) -> Kit:
        """The same equipment, without the cleaning of what may be the vessel of something that the menu reuses."""
        if not self.cleaned:
            return self
        doubt = {e for r in menu for part in r.parts if self.vessel_unsaid(part) for e in _used(part.component)}
        doubt &= set(self.cleaned)
        return Kit(self.apart, {e: said for e, said in self.cleaned.items() if e not in doubt}, doubt)

    def vessel_unsaid(self, part: Part) -> bool:
        """Whether a component is a recipe that reuses something and names no vessel for it."""
        what = part.use.what
        return (
            isinstance(what, Batch)
            and any(line.reused for line in what.recipe.lines)
            and not self.touching(what.recipe.equipment)
        )

    def touching(self, keys: Iterable[str]) -> tuple[str, ...]:
        """Those pieces of equipment in which food meets what was there before."""
        return tuple(k for k in dict.fromkeys(keys) if k not in self.apart)

    def vessels(self, batch: Batch) -> tuple[str, ...]:
        """What a recipe shares with others: its equipment, or else what it reuses."""
        named = self.touching(batch.recipe.equipment)
        pairs = zip(batch.recipe.lines, batch.lines, strict=True)
        return named or tuple(dict.fromkeys(f"reused {_named(use.what)}" for line, use in pairs if line.reused))

    def inside(self, batch: Batch) -> dict[str, tuple[Batch, tuple[str, ...]]]:
        """The recipe and those inside it that share something, by key, each with the keys of those inside that one."""
        known = self._inside.get(batch.recipe.key)
        if known is None:
            found: dict[str, tuple[Batch, tuple[str, ...]]] = {}
            for line in batch.lines:
                if isinstance(line.what, Batch):
                    found |= self.inside(line.what)
            if self.vessels(batch):
                found = {batch.recipe.key: (batch, tuple(found)), **found}
            known = self._inside[batch.recipe.key] = found
        return known


def _used(component: Component) -> tuple[str, ...]:
    return (*component.equipment, *(key for step in component.finish for key in step.on))


def uncounted(resolved: Resolved, kit: Kit, names: dict[str, str]) -> tuple[Problem, ...]:
    """A warning for each component that does not say whether what it reuses is in equipment said to be cleaned."""
    found = []
    for part in resolved.parts if kit.in_doubt else ():
        what = part.use.what
        if not isinstance(what, Batch) or not kit.vessel_unsaid(part):
            continue
        for key in dict.fromkeys(e for e in _used(part.component) if e in kit.in_doubt):
            called, recipe = names.get(key, key).removeprefix("the "), what.recipe
            said = (
                f"{recipe.called} does not say which equipment holds what it reuses, so the cleaning of the {called}"
                " is not counted"
            )
            found.append(warning("vessel-not-said", part.component.span, said, f"add equipment: to {recipe.span.file}"))
    return tuple(found)


def oil_in_cleaned(kitchen: Kitchen) -> tuple[Problem, ...]:
    """An error for each piece of equipment that is said to be cleaned between uses but holds something reused."""
    oily, names = _oily(kitchen), dict(kitchen.settings.equipment)
    found = []
    for gear in kitchen.settings.gear:
        if gear.cleaned is not None and gear.key in oily:
            called = names.get(gear.key, gear.key).removeprefix("the ")
            said = (
                f"the {called} holds what {oily[gear.key]} reuses, and no cleaning can remove what is already in that"
            )
            remedy = "take 'cleaned' out, or give that recipe other equipment"
            found.append(error("reused-is-not-cleaned", gear.cleaned.span, said, remedy))
    return tuple(found)


def _oily(kitchen: Kitchen) -> dict[str, str]:
    """Equipment that holds something reused, each with one recipe that says so."""
    reusing = (recipe for recipe in kitchen.recipes.values() if any(line.reused for line in recipe.lines))
    return {key: recipe.called for recipe in reusing for key in recipe.equipment}


def stages(part: Part, resolved: Resolved, kit: Kit) -> tuple[Stage, ...]:
    """The stages of one component: itself, in its finishing steps, and the recipes inside it."""
    component, what = part.component, part.use.what
    recipes = kit.inside(what) if isinstance(what, Batch) else {}
    own = kit.touching(component.equipment)
    steps = [(step.key, kit.touching(step.on)) for step in component.finish]
    steps = [(key, used) for key, used in steps if used]
    first = int(bool(own))
    within = tuple(range(first + len(steps), first + len(steps) + len(recipes)))
    found = [Stage(own, what, component.called, (*range(first, first + len(steps)), *within))] if own else []
    before = _before(component, resolved) if len(steps) > 1 else {}
    for key, used in steps:
        # Whatever is not known to come later may have come before.
        may_precede = (
            at
            for at, (other, _) in enumerate(steps, first)
            if other != key and (other in before[key] or key not in before[other])
        )
        found.append(Stage(used, what, component.called, (*range(first), *may_precede, *within)))
    at = {key: first + len(steps) + i for i, key in enumerate(recipes)}
    for batch, below in recipes.values():
        found.append(Stage(kit.vessels(batch), batch, batch.recipe.called, tuple(at[key] for key in below)))
    return tuple(found)


def _named(what: What) -> str:
    if isinstance(what, Batch):
        return what.recipe.called
    if isinstance(what, Bought):
        return what.product.shown
    return what.name


def _before(component: Component, resolved: Resolved) -> dict[str, frozenset[str]]:
    """Each finishing step of a component, with those of the same component that are known to be done by then."""
    parts = {p.component.key: p.component for p in resolved.parts} | {component.key: component}
    waits: dict[tuple[str, str], list[tuple[str, str]]] = {}
    for one in parts.values():
        previous: list[tuple[str, str]] = []
        for step in one.finish:
            named = previous if step.after is None else [w for name, _ in step.after for w in _meant(name, one, parts)]
            waits[one.key, step.key] = named
            previous = [(one.key, step.key)]
    found = {}
    for step in component.finish:
        done: set[tuple[str, str]] = set()
        todo = list(waits[component.key, step.key])
        while todo:
            if (waited := todo.pop()) not in done:
                done.add(waited)
                todo += waits.get(waited, ())
        found[step.key] = frozenset(key for owner, key in done if owner == component.key)
    return found


def _meant(name: str, component: Component, parts: dict[str, Component]) -> list[tuple[str, str]]:
    """The steps that a word under ``after`` waits for; none where it names nothing, so no order counts as known."""
    if any(step.key == name for step in component.finish):
        return [(component.key, name)]
    if name in parts:
        return [(name, step.key) for step in parts[name].finish]
    owner, _, key = name.partition(".")
    return [(owner, key)] if owner in parts and any(step.key == key for step in parts[owner].finish) else []
