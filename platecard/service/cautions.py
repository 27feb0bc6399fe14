"""What to watch for in a dish, rule by rule, from what its spec says of temperatures and treatment.

In: the resolved dish and the kitchen's settings.  Out: cautions, each with the foods it
is about, what the spec leaves out, and the figures of the kitchen's food codes.  Which
animal foods a dish contains is derived from its ingredients, through every sub-recipe.
Anything not stated counts against the food, and is reported as missing.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from fractions import Fraction

from platecard.diagnostics import Span
from platecard.knowledge.catalogue import Entry
from platecard.knowledge.taxonomy import Taxonomy
from platecard.model.handling import PLAIN, STATES, Frozen, Handling, Held
from platecard.model.nouns import Component, Recipe, Settings
from platecard.quantities.clock import celsius, spoken
from platecard.quantities.shelf_life import DAY_S, Lasting
from platecard.quantities.units import shown
from platecard.recipes.resolve import Batch, Bought, Part, Resolved, What
from platecard.service import caution_rules, shelf_lives
from platecard.service.caution_rules import BELOW, MET, NO_TIME, Condition, Conditions, Figure, Rule

HOT, COLD, BETWEEN, MISSING = "hot", "cold", "between", "missing"

_Said = tuple[str, tuple[str, ...]]  # what the spec says of a food, and what it leaves out


@dataclass(frozen=True, slots=True)
class Item:
    """One food under a caution: what the spec says of it, and what the spec leaves out."""

    what: str
    component: str
    span: Span
    said: str = ""
    missing: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Caution:
    """One rule that applies to a dish, with the foods it is about."""

    rule: str
    topic: str
    says: str
    items: tuple[Item, ...]
    figures: tuple[Figure, ...]


@dataclass(frozen=True, slots=True)
class Animal:
    """An animal food (or a flower, or a wild mushroom) with the most thorough treatment on its way to the plate."""

    kind: str
    name: str
    state: str = ""
    cores: frozenset[tuple[Fraction, Fraction | None]] = frozenset()
    doneness: str = ""
    cut: str = ""
    flags: frozenset[str] = frozenset()
    frozen: Frozen | None = None

    def after(self, h: Handling) -> Animal:
        """The same food after a treatment of what it is in; heating is never undone."""
        if h is PLAIN:
            return self
        state = max(self.state, h.state, key=lambda s: STATES.index(s) if s else -1)
        flags = self.flags | {f for f in ("foraged", "live", "pasteurised", "core_unread") if getattr(h, f)}
        cores = self.cores | {(h.core.celsius, h.core.for_s)} if h.core else self.cores
        cut = self.cut if self.cut not in ("", "whole") else h.cut or self.cut
        return replace(
            self,
            state=state,
            cores=cores,
            doneness=self.doneness or h.doneness,
            cut=cut,
            flags=flags,
            frozen=self.frozen or h.frozen,
        )


@dataclass(frozen=True, slots=True)
class Facts:
    """What a rule may ask about one food: an animal food, or something made."""

    what: str
    component: Component
    animal: Animal | None = None
    recipe: Recipe | None = None
    handling: Handling = PLAIN
    held: str = ""
    is_cooled: bool = False
    is_reheated: bool = False
    is_hot_and_ahead: bool = False
    kept: tuple[Lasting, ...] = ()


class Cautioner:
    """The rules as they apply in one kitchen; each batch is looked through once."""

    def __init__(self, settings: Settings, taxonomy: Taxonomy) -> None:
        self.rules, self.problems = caution_rules.load()
        self.taxonomy = taxonomy
        known = tuple(self.rules.codes)
        chosen = settings.food_code or tuple(law for law in settings.laws if law in known)
        # A kitchen under none of the known codes is given the figures of all of them.
        self.codes = tuple(c for c in known if c in chosen) or known
        self._batches: dict[str, frozenset[Animal]] = {}
        self._kinds: dict[str, str] = {}

    def of(self, resolved: Resolved) -> tuple[Caution, ...]:
        """The cautions of a dish, in the order of the rules."""
        facts = [f for part in resolved.parts for f in self._facts(part, resolved)]
        found = []
        for rule in self.rules.rules:
            items: dict[tuple[str, str, tuple[str, ...]], Item] = {}
            for item in (self._item(rule, f) for f in facts if self._applies(rule.when, f)):
                # A stock used in two components is one stock.
                items.setdefault((item.what, item.said, item.missing), item)
            if items:
                figures = tuple(f for f in rule.figures if f.code in (*self.codes, "any"))
                found.append(Caution(rule.key, rule.topic, rule.says, tuple(items.values()), figures))
        return tuple(found)

    # ----------------------------------------------------------------------- what is inside

    def _animals(self, what: What) -> frozenset[Animal]:
        if isinstance(what, Batch):
            key = what.recipe.key
            if key not in self._batches:
                found: set[Animal] = set()
                for use, line in zip(what.lines, what.recipe.lines):
                    inside = self._animals(use.what) or (
                        frozenset({Animal("plant", use.called)}) if line.handling.foraged else frozenset()
                    )
                    found |= {a.after(line.handling).after(what.recipe.handling) for a in inside}
                self._batches[key] = frozenset(found)
            return self._batches[key]
        if isinstance(what, Entry):
            return self._leaf(what, what.shown)
        if isinstance(what, Bought):
            if what.either:
                return frozenset().union(*(self._animals(one) for one in what.either))
            if what.entry is not None:
                return self._leaf(what.entry, what.product.shown)
            # Without an entry only the label tells what is in it.
            nodes = (
                {self.taxonomy.find(word) for word, _ in what.product.label.contains} if what.product.label else set()
            )
            kinds = {
                kind
                for root, kind in self.rules.label_kinds.items()
                if any(n and self.taxonomy.is_under(n, root) for n in nodes)
            }
            return frozenset(Animal(kind, what.product.shown) for kind in kinds)
        return frozenset()

    def _leaf(self, entry: Entry, called: str) -> frozenset[Animal]:
        if entry.id not in self._kinds:
            self._kinds[entry.id] = self.rules.kind_of(entry, self.taxonomy)
        kind = self._kinds[entry.id]
        words = f" {entry.name.lower()} "
        flags = {
            flag
            for flag, said in (("pasteurised", ("pasteurised", "liquid egg")), ("live", (" live ",)))
            if any(w in words for w in said)
        }
        return frozenset({Animal(kind, called, flags=frozenset(flags))}) if kind and kind != "ready" else frozenset()

    # ----------------------------------------------------------------------- facts

    def _facts(self, part: Part, resolved: Resolved) -> list[Facts]:
        component = part.component
        found = []
        inside = {self._finished(a, component) for a in self._animals(part.use.what)}
        for animal in sorted(inside, key=lambda a: (a.kind, a.name, a.state, sorted((c, t or 0) for c, t in a.cores))):
            one, other = animal.name.lower(), component.called.lower()
            called = component.called if one in other or other in one else f"{component.called} ({animal.name})"
            found.append(Facts(called, component, animal=animal))
        hot = dict(resolved.dish.serve).get("food") in ("hot", "warm")
        found += self._made(part, hot, any(a.kind in self.rules.animals or a.kind == "dairy" for a in inside))
        return found

    def _finished(self, animal: Animal, component: Component) -> Animal:
        """The food after the component's own treatment and the core temperatures of its finishing steps."""
        reached = {(s.core_c, None) for s in component.finish if s.core_c is not None}
        treated = animal.after(component.handling)
        done = replace(treated, cores=treated.cores | reached) if reached else treated
        # Food that came in raw or cured and was then cooked through under every code counts as cooked.
        return replace(done, state="cooked") if set(self._heat(done)) == {MET} and done.state in STATES[:4] else done

    def _made(self, part: Part, hot: bool, is_perishable: bool) -> list[Facts]:
        component, what = part.component, part.use.what
        top = what.recipe if isinstance(what, Batch) else None
        own, inner = component.handling, top.handling if top else PLAIN
        held = own.held or inner.held
        cooled = own.cooled or (top is not None and shelf_lives.is_cooled(top))
        heats = any(s.core_c is not None or s.at_c is not None or s.on for s in component.finish)
        ahead = top is not None and shelf_lives.is_ahead(top)
        process = tuple(dict.fromkeys((*own.process, *inner.process)))
        core = own.core or inner.core
        joined = replace(own, process=process, held=held, core=core, foraged=own.foraged or inner.foraged)
        facts = [
            Facts(
                component.called,
                component,
                recipe=top,
                handling=joined,
                held=self._holding(held),
                is_cooled=cooled,
                is_reheated=hot and cooled and (heats or self._holding(held) == HOT),
                is_hot_and_ahead=hot and is_perishable and ahead and held is None and not heats,
                kept=shelf_lives.kept(top) if top else (),
            )
        ]
        for recipe in shelf_lives.recipes_inside(what):
            facts.append(
                Facts(
                    recipe.called,
                    component,
                    recipe=recipe,
                    handling=recipe.handling,
                    held=self._holding(recipe.handling.held),
                    is_cooled=shelf_lives.is_cooled(recipe),
                    kept=shelf_lives.kept(recipe),
                )
            )
        return facts

    def _holding(self, held: Held | None) -> str:
        if held is None:
            return ""
        if held.at_c is None:
            return MISSING
        limits = [self.rules.holding[c] for c in self.codes]
        warmest = held.at_c if held.warmest_c is None else held.warmest_c
        return (
            HOT
            if all(held.at_c >= hot for hot, _ in limits)
            else COLD
            if all(warmest <= cold for _, cold in limits)
            else BETWEEN
        )

    # ----------------------------------------------------------------------- rules

    def _applies(self, when: Conditions, f: Facts) -> bool:
        return all(_HOLDS[want.ask](self, f, want) for want in when)

    def _heat(self, a: Animal) -> dict[str, tuple[str, ...]]:
        """Each heat status → the codes that give it; empty where no core temperature is known or none is asked for."""
        if not a.cores or a.kind not in self.rules.animals:
            return {}
        found: dict[str, tuple[str, ...]] = {}
        for code in self.codes:
            status = self.rules.heat_status(a.kind, a.cut, a.cores, code)
            found[status] = (*found.get(status, ()), code)
        return found

    def _core_said(self, a: Animal) -> _Said:
        """The core temperature as the spec gives it, and what of it is not stated."""
        how = ", ".join(x for x in (a.state, a.doneness, a.cut if a.cut != "whole" else "") if x)
        if not a.cores:
            return how, () if a.state in ("raw", "marinated", "cured", "cold-smoked") else ("core temperature",)
        reached, held = max(a.cores, key=lambda c: (c[0], c[1] or 0))
        said = f"core {celsius(reached)}" + (f" for {spoken(held)}" if held is not None else "")
        # Where no time at this temperature would be long enough, the time is not what is missing.
        return ", ".join(x for x in (how, said) if x), ("time at it",) if NO_TIME in self._heat(a) else ()

    def _core_missing(self, a: Animal) -> bool:
        if a.cores:
            status = self._heat(a)
            return NO_TIME in status and BELOW not in status
        return a.state in ("", "lightly cooked", "cooked") and not (a.kind == "egg" and "pasteurised" in a.flags)

    def _item(self, rule: Rule, f: Facts) -> Item:
        check = _CHECKS.get(rule.checks)
        said, missing = check(self, f) if check is not None else ("", ())
        if rule.key == "core-missing" and f.animal:
            said, missing = self._core_said(f.animal)
        if rule.key == "date-marking" and f.recipe:
            said = f.recipe.keeps or f.recipe.made_ahead
            if any(x.longest_s is not None and x.longest_s > 7 * DAY_S for x in f.kept):
                said += ", longer than 7 days"
            elif any(x.is_open for x in f.kept):
                said += ", perhaps longer than 7 days"
            said += "".join(f"; '{x.unread}' could not be read" for x in f.kept if x.unread)
        return Item(f.what, f.component.key, f.component.span, said, missing)

    def _check_heat(self, f: Facts) -> _Said:
        return self._core_said(f.animal) if f.animal else ("", ())

    def _check_freezing(self, f: Facts) -> _Said:
        frozen = f.animal.frozen if f.animal else None
        how = f.animal.state if f.animal and f.animal.state else self._core_said(f.animal)[0] if f.animal else ""
        if frozen is None:
            return how, ("freezing record",)
        if frozen.exempt:
            return f"{how}, said to be exempt: {frozen.exempt}", ()
        missing = tuple(
            w for w, v in (("freezing temperature", frozen.celsius), ("freezing time", frozen.for_s)) if v is None
        )
        cold = celsius(frozen.celsius) if frozen.celsius is not None else ""
        words = " for ".join(x for x in (cold, spoken(frozen.for_s) if frozen.for_s is not None else "") if x)
        said = f"{how}, frozen {words}" + (f" ({frozen.record})" if frozen.record else "")
        if frozen.celsius is not None and frozen.for_s is not None:
            short = [self.rules.codes[c] for c in self.codes if self.rules.short_of(frozen.celsius, frozen.for_s, c)]
            said += f", SHORT OF: {' and '.join(short)}" if short else ""
        return said, missing

    def _check_held(self, f: Facts) -> _Said:
        held = f.handling.held
        if held is None:
            return "made ahead for a hot plate", ("holding temperature",)
        to = f" to {celsius(held.warmest_c)}" if held.warmest_c is not None and held.warmest_c != held.at_c else ""
        at = f" at {celsius(held.at_c)}{to}" if held.at_c is not None else ""
        said = at + (f" up to {spoken(held.up_to_s)}" if held.up_to_s is not None else "")
        missing = tuple(w for w, v in (("holding temperature", held.at_c), ("time limit", held.up_to_s)) if v is None)
        return f"held{said}", missing

    def _check_lethality(self, f: Facts) -> _Said:
        core = f.handling.core
        if core is None:
            return "", ("core temperature", "time at it")
        if core.for_s is None:
            return f"core {celsius(core.celsius)}", ("time at it",)
        said = f"core {celsius(core.celsius)} for {spoken(core.for_s)}"
        if core.celsius < 60:
            return f"{said}, below the 60 °C where the list begins", ()
        need = self.rules.needed_s(core.celsius)
        times = float(core.for_s) / need
        if times < 1:
            verdict = f"LESS than, {spoken(round(need))} would be"
        else:
            verdict = "more than 100 times" if times > 100 else f"{shown(times, 0 if times >= 10 else 1)} times"
        return f"{said}, {verdict} as much as 70 °C for 2 min", ()

    def _check_reheat(self, f: Facts) -> _Said:
        reached = [s.core_c for s in f.component.finish if s.core_c is not None]
        return (f"to {celsius(max(reached))}", ()) if reached else ("", ("core temperature to reach",))


_CHECKS: dict[str, Callable[[Cautioner, Facts], _Said]] = {
    "heat": Cautioner._check_heat,
    "freezing": Cautioner._check_freezing,
    "held": Cautioner._check_held,
    "lethality": Cautioner._check_lethality,
    "reheat": Cautioner._check_reheat,
}


def _of_animal(
    holds: Callable[[Cautioner, Animal, Condition], bool],
) -> Callable[[Cautioner, Facts, Condition], bool]:
    """A test that can hold of an animal food only."""
    return lambda c, f, want: f.animal is not None and holds(c, f.animal, want)


# Tests whether a condition holds, by what it asks.
_HOLDS: dict[str, Callable[[Cautioner, Facts, Condition], bool]] = {
    "any": lambda c, f, want: any(c._applies(w, f) for w in want.any_of),
    "kind": _of_animal(lambda c, a, want: a.kind in want.words),
    "animal": _of_animal(lambda c, a, want: a.kind in c.rules.animals),
    "state": _of_animal(lambda c, a, want: a.state in want.words),
    "not_state": _of_animal(lambda c, a, want: a.state not in want.words),
    "cut": _of_animal(lambda c, a, want: a.cut in want.words),
    "not_cut": _of_animal(lambda c, a, want: a.cut not in want.words),
    "doneness": _of_animal(lambda c, a, want: a.doneness in want.words),
    "flag": lambda c, f, want: (
        bool(f.animal.flags & want.words)
        if f.animal is not None
        else any(getattr(f.handling, w, False) for w in want.words)
    ),
    "not_flag": _of_animal(lambda c, a, want: not a.flags & want.words),
    "process": lambda c, f, want: not want.words.isdisjoint(f.handling.process),
    "not_process": lambda c, f, want: want.words.isdisjoint(f.handling.process),
    "core_below": _of_animal(
        lambda c, a, want: max(reached for reached, _ in a.cores) < want.number if a.cores else "core_unread" in a.flags
    ),
    "under_cooked": _of_animal(lambda c, a, want: BELOW in c._heat(a)),
    "core_missing": _of_animal(lambda c, a, want: c._core_missing(a)),
    "held": lambda c, f, want: f.held == want.text,
    "keeps_over_s": lambda c, f, want: any(x.can_outlast(want.number) for x in f.kept),
    "cooled": lambda c, f, want: f.is_cooled,
    "reheated": lambda c, f, want: f.is_reheated,
    "hot_and_ahead": lambda c, f, want: f.is_hot_and_ahead,
}
