"""What to watch for in a dish, rule by rule, from what its spec says of temperatures and treatment.

In: the resolved dish and the kitchen's settings.  Out: cautions, each with the foods it
is about, what the spec leaves out, how what it says stands to the figures of the kitchen's
food codes, and these figures.  Anything not stated counts against the food, and is reported
as missing.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from typing import NamedTuple

from platecard.diagnostics import Problem, Span, warning
from platecard.knowledge.taxonomy import Taxonomy
from platecard.model import Settings
from platecard.quantities.clock import celsius, spoken
from platecard.quantities.shelf_life import DAY_S
from platecard.quantities.units import shown
from platecard.recipes.resolved import Resolved
from platecard.service import caution_rules, verdicts
from platecard.service.caution_facts import FactFinder, Facts, Food
from platecard.service.caution_rules import Condition, Conditions, Figure, Rule
from platecard.service.food_codes import BELOW, MET, NO_TIME
from platecard.service.verdicts import OUTSIDE, Judgement


class Item(NamedTuple):
    """One food under a caution: what the spec says of it, what it leaves out, and how that is judged by each code."""

    what: str
    component: str
    span: Span
    said: str = ""
    missing: tuple[str, ...] = ()
    judged: tuple[Judgement, ...] = ()


class Caution(NamedTuple):
    """One rule that applies to a dish, with the foods it is about.

    ``do`` is what to do about a food that is outside a figure.
    """

    rule: str
    topic: str
    says: str
    items: tuple[Item, ...]
    figures: tuple[Figure, ...]
    do: str = ""


# What the spec says of a food, what it leaves out, and how that is judged.
_Said = tuple[str, tuple[str, ...], tuple[Judgement, ...]]


class Cautioner:
    """The rules as they apply in one kitchen; each batch is looked through once."""

    def __init__(self, settings: Settings, taxonomy: Taxonomy) -> None:
        self.rules, self.problems = caution_rules.load()
        known = tuple(self.rules.codes)
        chosen = settings.food_code or settings.laws
        # A kitchen under none of the known codes is given the figures of all of them.
        self.codes = tuple(c for c in known if c in chosen) or known
        self.facts = FactFinder(self.rules, self.codes, taxonomy, self._is_cooked_through)

    def of(self, resolved: Resolved) -> tuple[Caution, ...]:
        """The cautions of a dish, in the order of the rules."""
        facts = [f for part in resolved.parts for f in self.facts.of(part, resolved)]
        found = []
        for rule in self.rules.rules:
            items: dict[tuple[object, ...], Item] = {}
            for item in (self._item(rule, f) for f in facts if self._applies(rule.when, f)):
                # A stock used in two components is one stock.
                items.setdefault((item.what, item.said, item.missing, item.judged), item)
            if items:
                figures = tuple(f for f in rule.figures if f.code in (*self.codes, "any"))
                found.append(Caution(rule.key, rule.topic, rule.says, tuple(items.values()), figures, rule.do))
        return tuple(found)

    # ----------------------------------------------------------------------- rules

    def _applies(self, when: Conditions, f: Facts) -> bool:
        return all(_HOLDS[want.ask](self, f, want) for want in when)

    def _heat(self, a: Food) -> dict[str, tuple[str, ...]]:
        """Each heat status → the codes that give it; empty where no core temperature is known or none is asked for."""
        if not a.cores or a.kind not in self.rules.animals:
            return {}
        found: dict[str, tuple[str, ...]] = {}
        for code in self.codes:
            status = self.rules.heat_status(a.kind, a.cut, a.cores, code, a.flags)
            found[status] = (*found.get(status, ()), code)
        return found

    def _is_cooked_through(self, a: Food) -> bool:
        """Whether its core temperature counts as cooked under every code of the kitchen."""
        return set(self._heat(a)) == {MET}

    def _core_said(self, a: Food) -> tuple[str, tuple[str, ...]]:
        """The core temperature as the spec gives it, and what of it is not stated."""
        how = ", ".join(x for x in (a.state, a.doneness, a.cut if a.cut != "whole" else "") if x)
        if not a.cores:
            return how, () if a.state in self.rules.core.not_asked else ("core temperature",)
        reached, held = verdicts.hottest(a.cores)
        said = f"core {celsius(reached)}" + (f" for {spoken(held)}" if held is not None else "")
        # Where no time at this temperature would be long enough, the time is not what is missing.
        return ", ".join(x for x in (how, said) if x), ("time at it",) if NO_TIME in self._heat(a) else ()

    def _core_missing(self, a: Food) -> bool:
        if a.cores:
            status = self._heat(a)
            return NO_TIME in status and BELOW not in status
        asked = self.rules.core
        return a.state in asked.asked and not any(a.kind == kind and flag in a.flags for kind, flag in asked.unless)

    def _asks_freezing(self, code: str, a: Food) -> bool:
        """Whether a food code asks that a food is frozen against parasites, since it is not cooked through."""
        row = self.rules.freezing.get(code)
        if row is None or a.kind not in row.kinds:
            return False
        if not a.cores:
            return a.state in row.states | row.without_core or "core_unread" in a.flags
        return a.state in row.states or verdicts.hottest(a.cores)[0] < row.unless_core_c

    def _item(self, rule: Rule, f: Facts) -> Item:
        check = _CHECKS.get("heat" if rule.key == "core-missing" else rule.checks)
        said, missing, judged = check(self, f) if check is not None else ("", (), ())
        if rule.by_design:
            meant = [a for a in ((f.food,) if f.food else f.inside) if a.kind in self.rules.animals]
            if meant and all(a.is_meant_so for a in meant):
                judged = tuple(j._replace(by_design=True) for j in judged)
        return Item(f.what, f.component.key, f.component.span, said, missing, judged)

    # ----------------------------------------------------------------------- checks

    def _check_heat(self, f: Facts) -> _Said:
        if f.food is None:
            return "", (), ()
        return *self._core_said(f.food), self._judged_heat(f.food)

    def _judged_heat(self, a: Food) -> tuple[Judgement, ...]:
        """How the core stands to each code; nothing where it is served raw or cured, or is not asked to be cooked."""
        if a.kind not in self.rules.animals or (not a.cores and not self._core_said(a)[1]):
            return ()
        judged = []
        for code in self.codes:
            row = self.rules.heat_row(a.kind, a.cut, code, a.flags)
            judged.append(verdicts.cooking(code, a.cores, row.steps, row.mark, self.rules))
        return tuple(judged)

    def _check_freezing(self, f: Facts) -> _Said:
        if f.food is None:
            return "", (), ()
        food, frozen = f.food, f.food.frozen
        how = food.state or self._core_said(food)[0]
        asked = [(c, self.rules.freezing[c]) for c in self.codes if self._asks_freezing(c, food)]
        judged = tuple(verdicts.freezing(c, frozen, r, food.kinds, self.rules.reasons) for c, r in asked)
        if frozen is None:
            return how, ("freezing record",), judged
        if frozen.exempt:
            return f"{how}, said to be exempt: {frozen.exempt}", (), judged
        missing = tuple(
            w for w, v in (("freezing temperature", frozen.celsius), ("freezing time", frozen.for_s)) if v is None
        )
        cold = celsius(frozen.celsius) if frozen.celsius is not None else ""
        words = " for ".join(x for x in (cold, spoken(frozen.for_s) if frozen.for_s is not None else "") if x)
        return f"{how}, frozen {words}" + (f" ({frozen.record})" if frozen.record else ""), missing, judged

    def _check_held(self, f: Facts) -> _Said:
        held = f.handling.held
        judged = tuple(verdicts.holding(c, held, self.rules.holding[c]) for c in self.codes)
        if held is None:
            return "made ahead for a hot plate", ("holding temperature",), judged
        to = f" to {celsius(held.warmest_c)}" if held.warmest_c is not None and held.warmest_c != held.at_c else ""
        at = f" at {celsius(held.at_c)}{to}" if held.at_c is not None else ""
        said = at + (f" up to {spoken(held.up_to_s)}" if held.up_to_s is not None else "")
        missing = tuple(w for w, v in (("holding temperature", held.at_c), ("time limit", held.up_to_s)) if v is None)
        return f"held{said}", missing, judged

    def _check_lethality(self, f: Facts) -> _Said:
        core = f.handling.core
        judged = tuple(j for c in self.codes if (j := self._judged_bath(c, f)) is not None)
        if core is None:
            return "", ("core temperature", "time at it"), judged
        if core.for_s is None:
            return f"core {celsius(core.celsius)}", ("time at it",), judged
        said = f"core {celsius(core.celsius)} for {spoken(core.for_s)}"
        if core.celsius < self.rules.list_from_c:
            return f"{said}, below the {celsius(self.rules.list_from_c)} where the list begins", (), judged
        need = self.rules.needed_s(core.celsius)
        times = float(core.for_s) / need
        if times < 1:
            how = f"LESS than, {spoken(round(need))} would be"
        else:
            how = "more than 100 times" if times > 100 else f"{shown(times, 0 if times >= 10 else 1)} times"
        reference = f"{celsius(self.rules.reference_c)} for {spoken(self.rules.reference_s)}"
        return f"{said}, {how} as much as {reference}", (), judged

    def _judged_bath(self, code: str, f: Facts) -> Judgement | None:
        """The line of the British list where a code follows it, else the worst of the foods in the bag."""
        if code not in self.rules.off_the_list:
            return verdicts.water_bath(code, f.handling.core, self.rules.heat[code][0].mark, self.rules)
        return verdicts.worst(j for a in f.inside for j in self._judged_heat(a) if j.code == code)

    def _check_reheat(self, f: Facts) -> _Said:
        reached = [s.core_c for s in f.component.finish if s.core_c is not None]
        cores = frozenset((c, None) for c in reached)
        is_held = f.handling.held is not None
        judged = tuple(
            verdicts.reheating(c, cores, is_held, r, self.rules)
            for c in self.codes
            if (r := self.rules.reheating.get(c)) is not None
        )
        if not reached:
            return "", ("core temperature to reach",), judged
        return f"to {celsius(max(reached))}", (), judged

    def _check_cooling(self, f: Facts) -> _Said:
        stages = f.handling.cooling
        said = " and ".join(f"{celsius(c.to_c)} within {spoken(c.within_s)}" for c in stages)
        judged = tuple(verdicts.cooling(c, stages, self.rules.cooling.get(c)) for c in self.codes)
        return f"cooled to {said}" if said else "", (), judged

    def _check_keeping(self, f: Facts) -> _Said:
        judged = tuple(
            verdicts.keeping(c, f.kept, r) for c in self.codes if (r := self.rules.keeping.get(c)) is not None
        )
        if f.recipe is None:
            return "", (), judged
        said = f.recipe.keeps or f.recipe.made_ahead
        if any(x.longest_s is not None and x.longest_s > 7 * DAY_S for x in f.kept):
            said += ", longer than 7 days"
        elif any(x.is_open for x in f.kept):
            said += ", perhaps longer than 7 days"
        said += "".join(f"; '{x.unread}' could not be read" for x in f.kept if x.unread)
        return said, (), judged

    def _check_packs(self, f: Facts) -> _Said:
        if not {"vacuum", "water bath", "low-oxygen pack"} & set(f.handling.process):
            return "", (), ()
        judged = (verdicts.packed(c, f.kept, r) for c in self.codes if (r := self.rules.packs.get(c)) is not None)
        return "", (), tuple(j for j in judged if j is not None)


def problems(cautions: Iterable[Caution]) -> list[Problem]:
    """A warning for each food that is outside a figure of a food code, unless the spec says that it is meant so."""
    found = []
    for caution in cautions:
        for item in caution.items:
            for judged in item.judged:
                if judged.verdict is OUTSIDE and not judged.by_design:
                    said = f"{item.what}: {item.said}" if item.said else item.what
                    found.append(
                        warning(
                            "outside-food-code",
                            item.span,
                            f"{said}: outside the figure of food code {judged.code}: {judged.why}",
                            caution.do,
                        )
                    )
    return found


_CHECKS: dict[str, Callable[[Cautioner, Facts], _Said]] = {
    "heat": Cautioner._check_heat,
    "freezing": Cautioner._check_freezing,
    "held": Cautioner._check_held,
    "lethality": Cautioner._check_lethality,
    "reheat": Cautioner._check_reheat,
    "cooling": Cautioner._check_cooling,
    "keeping": Cautioner._check_keeping,
    "packs": Cautioner._check_packs,
}


def _of_food(
    holds: Callable[[Cautioner, Food, Condition], bool],
) -> Callable[[Cautioner, Facts, Condition], bool]:
    """A test that can hold of a food only, not of what is made."""
    return lambda c, f, want: f.food is not None and holds(c, f.food, want)


# Tests whether a condition holds, by what it asks.
_HOLDS: dict[str, Callable[[Cautioner, Facts, Condition], bool]] = {
    "any": lambda c, f, want: any(c._applies(w, f) for w in want.any_of),
    "food": _of_food(lambda c, a, want: not want.words.isdisjoint(a.foods)),
    "holds": lambda c, f, want: any(not want.words.isdisjoint(a.foods) for a in f.inside),
    "kind": _of_food(lambda c, a, want: a.kind in want.words),
    "animal": _of_food(lambda c, a, want: a.kind in c.rules.animals),
    "state": _of_food(lambda c, a, want: a.state in want.words),
    "not_state": _of_food(lambda c, a, want: a.state not in want.words),
    "cut": _of_food(lambda c, a, want: a.cut in want.words),
    "not_cut": _of_food(lambda c, a, want: a.cut not in want.words),
    "doneness": _of_food(lambda c, a, want: a.doneness in want.words),
    "flag": lambda c, f, want: (
        bool(f.food.flags & want.words)
        if f.food is not None
        else any(getattr(f.handling, w, False) for w in want.words)
    ),
    "not_flag": _of_food(lambda c, a, want: not a.flags & want.words),
    "process": lambda c, f, want: not want.words.isdisjoint(f.handling.process),
    "not_process": lambda c, f, want: want.words.isdisjoint(f.handling.process),
    "not_cooked": _of_food(
        lambda k, a, want: a.state != "cooked" and all(c < k.rules.core.cooked_c for c, _ in a.cores)
    ),
    "freezing_asked": _of_food(lambda c, a, want: any(c._asks_freezing(code, a) for code in c.codes)),
    "under_cooked": _of_food(lambda c, a, want: BELOW in c._heat(a)),
    "core_missing": _of_food(lambda c, a, want: c._core_missing(a)),
    "held": lambda c, f, want: bool(f.held) if want.text == "stated" else f.held == want.text,
    "keeps_over_s": lambda c, f, want: any(x.can_outlast(want.number) for x in f.kept),
    "cooled": lambda c, f, want: f.is_cooled,
    "reheated": lambda c, f, want: f.is_reheated,
    "hot_and_ahead": lambda c, f, want: f.is_hot_and_ahead,
}
