"""The answer to a guest: a dish can be served as it is, changed, or not at all.

In: a dish with its kitchen, and what the guest must avoid.  Out: an answer with the
fewest changes that the spec allows (leave off what may be left off, swap where a swap is
offered).  Every candidate plate is resolved and traced anew; nothing is subtracted.
What a law exempts, or what stays under a limit, still counts here: the guest has asked
about the food, not about the law.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable
from dataclasses import replace
from itertools import islice, product
from typing import NamedTuple

from platecard.allergens.cross_contact import Shared, handed, neighbours, received
from platecard.allergens.guests import foods
from platecard.allergens.guests.requests import Avoid, NotUnderstood, understand
from platecard.allergens.residue import Passed
from platecard.allergens.traces import CONTAINS, MAX_CHAINS, MAY, UNKNOWN, Link, Presence, Seen, Trace, Tracer
from platecard.knowledge import claims, laws
from platecard.knowledge.catalogue_rows import ANY
from platecard.knowledge.names import fold
from platecard.knowledge.taxonomy import SULPHITE
from platecard.model import Component, Dish, Label, Source, Swap
from platecard.model.handling import PLAIN, Handling
from platecard.recipes.resolve import Pantry, resolve
from platecard.recipes.resolved import Batch, Bought, Resolved, What

__all__ = [
    "AS_IS",
    "CANNOT",
    "CHANGED",
    "OPEN",
    "Answer",
    "Asked",
    "Avoid",
    "Change",
    "Met",
    "NotUnderstood",
    "understand",
    "with_changes",
]

AS_IS, CHANGED, CANNOT, OPEN = "as_is", "changed", "cannot", "not_established"
_MOST_CANDIDATES = 4096

# A plate as the caches know it: its components, each with what it is made of.
_Plated = tuple[tuple[str, Source], ...]


class Change(NamedTuple):
    """One change to the plate: a component left off, or something else in its place."""

    component: Component
    swap: Swap | None = None

    @property
    def action(self) -> str:
        """How it is changed: ``swap`` or ``leave_off``."""
        return "swap" if self.swap else "leave_off"


class Met(NamedTuple):
    """Something avoided that is in the way: what was asked, its presence, the chain that leads to it, and the food.

    ``food`` names what is there, which the guest's own word may not: milk, for one who asks for vegan.
    """

    avoid: Avoid
    presence: Presence
    chain: tuple[Link, ...]
    food: str


class Answer(NamedTuple):
    """The answer for one dish.

    ``reasons`` say why the plate cannot be served as it is; ``remaining`` are the "may contain"
    of the plate as answered; ``dish`` is that plate.  ``nothing_found``: ingredients alone can
    never answer this question with yes (a religious diet, pregnancy, an illness), and nothing of
    the kind was found on this plate as changed.  The answer is "not established" all the same.
    """

    answer: str
    changes: tuple[Change, ...]
    reasons: tuple[Met, ...]
    remaining: tuple[Met, ...]
    dish: Dish
    nothing_found: bool = False


class Asked:
    """A dish with everything needed to answer any number of questions about it."""

    def __init__(
        self,
        resolved: Resolved,
        pantry: Pantry,
        tracer: Tracer,
        shared: Shared,
        equipment: dict[str, str],
        on_record: tuple[Trace, ...] = (),
    ):
        """Prepare a dish for questions.

        ``on_record`` is what the dish's record names and is no longer derived; no change to the
        plate removes it.
        """
        self.on_record = on_record
        self.resolved, self.pantry, self.tracer, self.shared, self.equipment = (
            resolved,
            pantry,
            tracer,
            shared,
            equipment,
        )
        in_force = [law for key in pantry.kitchen.settings.laws if (law := laws.load(key)[0]) is not None]
        self._unlisted_of: dict[tuple[str, ...], tuple[str, ...]] = {}
        self._reached: dict[tuple[tuple[str, ...], tuple[str, ...]], tuple[frozenset[str], frozenset[str]]] = {}
        self._traces_of: dict[_Plated, tuple[Trace, ...]] = {}
        self._met_of: dict[tuple[_Plated, Avoid], tuple[Met, ...]] = {}
        self._listed = {n for law in in_force for group in law.groups for n in group.nodes} | {
            SULPHITE for law in in_force if law.sulphites
        }

    def answer(self, avoids: Iterable[Avoid]) -> Answer:
        """The best plate for a guest who avoids all of ``avoids``.

        1. As it is, if nothing avoided is in it and nothing in it is unknown.
        2. Otherwise every component that contains something avoided, or cannot be cleared of it,
           is left off or swapped, as the spec allows: fewer changes would not do.
           Of the candidates that pass, the one with the fewest things that remain as
           "may contain".
        3. Otherwise it cannot be served, or it is not established.

        Where one of the questions is of the sort that ingredients alone can never answer with
        yes, what would be a yes becomes "not established", with ``nothing_found``.
        """
        avoids = tuple(avoids)
        found = self._answer(avoids)
        if found.answer in (AS_IS, CHANGED) and not all(a.answers for a in avoids):
            return found._replace(answer=OPEN, nothing_found=True)
        return found

    def _answer(self, avoids: tuple[Avoid, ...]) -> Answer:
        dish = self.resolved.dish
        met = self.met(self.resolved, avoids)
        against = tuple(m for m in met if m.presence != MAY)
        remaining = tuple(m for m in met if m.presence == MAY)
        if not against:
            return Answer(AS_IS, (), (), remaining, dish)
        alone = {c.key: self._met_alone(self.resolved, c, avoids) for c in dish.components}
        kept = {m.avoid for found in alone.values() if _passes(found) for m in found}
        ways = [self._ways(c, avoids) for c in dish.components if not _passes(alone[c.key])]
        candidates = [
            (tuple(change for change, _ in way), len(kept.union(*(left for _, left in way))))
            for way in islice(product(*ways), _MOST_CANDIDATES)
        ]
        for changes, _ in sorted(candidates, key=lambda c: c[1]):
            changed = with_changes(dish, changes)
            # A plate with nothing on it is no answer.
            if not changed.components:
                continue
            now = self.met(resolve(changed, self.pantry)[0], avoids)
            if _passes(now):
                return Answer(CHANGED, changes, against, now, changed)
        verdict = CANNOT if any(m.presence == CONTAINS for m in against) else OPEN
        return Answer(verdict, (), against, remaining, dish)

    def _ways(self, component: Component, avoids: tuple[Avoid, ...]) -> list[tuple[Change, set[Avoid]]]:
        """The changes that rid the plate of what is wrong with this component.

        Each comes with what it still leaves as "may contain".
        """
        # A swap keeps the plate whole, so it is tried before leaving the component off.
        found: list[tuple[Change, set[Avoid]]] = []
        for change in (Change(component, s) for s in component.swaps if self._is_for(s, avoids)):
            plate, _ = resolve(with_changes(self.resolved.dish, (change,)), self.pantry)
            met = self._met_alone(plate, component, avoids)
            if _passes(met):
                found.append((change, {m.avoid for m in met}))
        return found + ([(Change(component), set())] if component.may_be_left_off else [])

    def _is_for(self, swap: Swap, avoids: tuple[Avoid, ...]) -> bool:
        """Whether the chef offered this swap for one of the things avoided."""
        for word in swap.avoiding:
            try:
                meant = understand(word, self.tracer.taxonomy, self.pantry.catalogue)
            except NotUnderstood:
                continue
            if any(self._is_about(meant, avoid) for avoid in avoids):
                return True
        return False

    def _is_about(self, meant: Avoid, avoid: Avoid) -> bool:
        """Whether a swap offered for ``meant`` concerns a guest who asks about ``avoid``."""
        tree, sought = self.tracer.taxonomy, foods.wanted(avoid.kinds)
        offered = foods.wanted(meant.kinds)
        return bool(
            set(meant.words) & set(avoid.words)
            or fold(meant.said) == fold(avoid.said)
            or sought.within & offered.within
            or any(tree.is_under(a, b) or tree.is_under(b, a) for a in meant.nodes for b in avoid.nodes)
        )

    def _met_alone(self, resolved: Resolved, component: Component, avoids: tuple[Avoid, ...]) -> tuple[Met, ...]:
        return self.met(
            replace(resolved, parts=tuple(p for p in resolved.parts if p.component.key == component.key)), avoids
        )

    def met(self, resolved: Resolved, avoids: tuple[Avoid, ...]) -> tuple[Met, ...]:
        """Everything avoided that is met on this plate, cross-contact included, most certain first."""
        rank = {CONTAINS: 0, UNKNOWN: 1, MAY: 2}
        plate = tuple((p.component.key, p.component.source) for p in resolved.parts)
        return tuple(
            sorted(
                (m for avoid in dict.fromkeys(avoids) for m in self._met_by(plate, resolved, avoid)),
                key=lambda m: rank[m.presence],
            )
        )

    def _met_by(self, plate: _Plated, resolved: Resolved, avoid: Avoid) -> tuple[Met, ...]:
        """What of one thing avoided is met; each plate is traced once, however often it is asked about."""
        if plate not in self._traces_of:
            self._traces_of[plate] = (*self.tracer.dish(resolved), *received(resolved, self.shared, self.equipment))
        if (plate, avoid) not in self._met_of:
            traces = self._traces_of[plate]
            met = [
                *self._nodes_met(avoid, avoid.nodes, traces),
                *self._recorded(avoid),
                *self._foods_met(avoid, resolved),
                *self._to_settle(avoid, resolved, traces),
                *self._uncooked(avoid, resolved),
                *self._reactions(avoid, resolved),
            ]
            self._met_of[plate, avoid] = tuple(dict.fromkeys(met))
        return self._met_of[plate, avoid]

    def _recorded(self, avoid: Avoid) -> list[Met]:
        """What is only on record, for a guest who avoids that allergen or a kind of food that it stands for."""
        nodes = (*avoid.nodes, *foods.nodes_of(avoid.kinds)) if self.on_record else ()
        return self._nodes_met(avoid, nodes, self.on_record) if nodes else []

    def _nodes_met(self, avoid: Avoid, nodes: tuple[str, ...], traces: Iterable[Trace]) -> list[Met]:
        within, above = self._reach(nodes, avoid.but)
        found = []
        for t in traces:
            food = self._name(t, avoid)
            if t.node == "" or (t.node in above and t.node not in within):
                # Unknown, or a bare group above what is avoided: it cannot be ruled out.
                found.append(Met(avoid, UNKNOWN if t.state != MAY else MAY, t.chain, food))
            elif t.node in within:
                found.append(Met(avoid, t.state, t.chain, food))
        return found

    def _name(self, trace: Trace, avoid: Avoid) -> str:
        """What was traced, by the guest's own word where that is its name or its group's: egg, for hen's egg."""
        tree = self.tracer.taxonomy
        if not trace.node:
            return "something that is not known"
        said = fold(avoid.term)
        is_name = any(fold(tree.name(n)) == said for n in tree.lineage(trace.node))
        return avoid.term if is_name else tree.name(trace.node)

    def _reach(self, nodes: tuple[str, ...], but: tuple[str, ...] = ()) -> tuple[frozenset[str], frozenset[str]]:
        """The nodes that are among those avoided, and the groups above them that may mean one of them."""
        if (nodes, but) not in self._reached:
            tree = self.tracer.taxonomy
            out = {m for n in but for m in tree.below(n)}
            self._reached[nodes, but] = (
                frozenset(m for n in nodes for m in tree.below(n) if m not in out),
                frozenset(m for n in nodes for m in tree.lineage(n)[1:]),
            )
        return self._reached[nodes, but]

    def _unlisted(self, avoid: Avoid) -> tuple[str, ...]:
        """The nodes avoided that no law in force lists, so that a label's list need not name them."""
        tree = self.tracer.taxonomy
        if avoid.nodes not in self._unlisted_of:
            self._unlisted_of[avoid.nodes] = tuple(
                n for a in avoid.nodes for n in tree.below(a) if not self._listed.intersection(tree.lineage(n))
            )
        return self._unlisted_of[avoid.nodes]

    def _foods_met(self, avoid: Avoid, resolved: Resolved) -> list[Met]:
        """What no allergen list shows, in each food on the plate and in each that shares its equipment."""
        unlisted = self._unlisted(avoid)
        if not unlisted and not avoid.kinds and not avoid.words:
            return []

        def look(what: What, called: str) -> list[Seen]:
            found = _left_out(what, unlisted, self.tracer, set()) if unlisted else []
            return found + (self._of_kind(what, called, avoid) if avoid.kinds or avoid.words else [])

        return self._everywhere(avoid, resolved, look)

    def _everywhere(
        self, avoid: Avoid, resolved: Resolved, look: Callable[[What, str], list[Seen]], question: object = None
    ) -> list[Met]:
        """What ``look`` sees in each component, and in everything that hands something on to the dish.

        ``question`` is what ``look`` looks for: what goes through the equipment of a menu is
        searched once for all its dishes, and a few ways to each finding are enough.
        """
        found: list[Met] = []
        top = Link(resolved.dish.title, resolved.dish.span)
        for part in resolved.parts:
            head = Link(part.component.called, part.component.source.span)
            found += [
                Met(avoid, state, (top, head, *chain), food)
                for state, chain, food in look(part.use.what, part.use.called)
            ]
        looked = self.shared.looked.setdefault(question or avoid, {})

        def seen(other: Passed) -> list[Seen]:
            if id(other) not in looked:
                looked[id(other)] = look(other.what, other.called)
            return looked[id(other)]

        ways: Counter[Presence] = Counter()
        for road, other in neighbours(resolved, self.shared, self.equipment, seen):
            for state, chain, food in seen(other):
                ways[state] += 1
                if ways[state] <= MAX_CHAINS:
                    found.append(Met(avoid, handed(state), (*road, *chain), food))
            if ways[UNKNOWN] >= MAX_CHAINS and ways[CONTAINS] >= MAX_CHAINS:
                break
        return found

    def _of_kind(self, what: What, called: str, avoid: Avoid) -> list[Seen]:
        return [
            (state, (*way, *chain), food)
            for thing, _, way in foods.foods(what, called, set())
            for state, chain, food in foods.of_food(
                thing, avoid, self.tracer, self.pantry.catalogue, foods.told_by_lists(frozenset(self._listed))
            )
        ]

    def _looking_for(self, avoid: Avoid) -> Callable[[What, str], list[Seen]]:
        return lambda what, called: self._of_kind(what, called, avoid)

    def _to_settle(self, avoid: Avoid, resolved: Resolved, traces: tuple[Trace, ...]) -> list[Met]:
        """What has to be settled with the guest or the kitchen wherever it is found.

        That is what the guest's word does not cover although many who use it avoid it, and what
        depends on how a food was made or kept.
        """
        found: list[Met] = []
        for group, why in (
            (avoid.settle, f"not counted as '{avoid.said}': ask the guest"),
            (avoid.ask, "ask the kitchen how it was made or kept"),
        ):
            within = self._reach(group.nodes)[0]
            met = [
                (t.state, t.chain, self._name(t, avoid))
                for t in traces
                if t.node in within and not self._is_eaten(t.node, avoid)
            ]
            kinds = tuple(
                k for k in group.kinds if not foods.wanted((k,)).within & foods.wanted(avoid.eats.kinds).within
            )
            if kinds:
                sought = Avoid(avoid.said, kinds=kinds, word=avoid.word)
                met += [
                    (m.presence, m.chain, m.food)
                    for m in self._everywhere(avoid, resolved, self._looking_for(sought), sought)
                ]
            found += [
                Met(avoid, MAY if state == MAY else UNKNOWN, (*chain, Link(why, None)), food)
                for state, chain, food in met
            ]
        return found

    def _is_eaten(self, node: str, avoid: Avoid) -> bool:
        return any(self.tracer.taxonomy.is_under(node, n) for n in avoid.eats.nodes)

    def _uncooked(self, avoid: Avoid, resolved: Resolved) -> list[Met]:
        if not avoid.raw:
            return []
        nodes = self._reach(foods.nodes_of(avoid.raw))[0]
        handling: dict[str, Handling] = {p.component.key: p.component.handling for p in resolved.parts}
        top, found = Link(resolved.dish.title, resolved.dish.span), []
        for part in resolved.parts:
            head = Link(part.component.called, part.component.source.span)
            own = (handling.get(part.component.key, PLAIN),)
            found += [
                Met(avoid, state, (top, head, *chain), food)
                for state, chain, food in foods.uncooked(
                    part.use.what, part.use.called, own, avoid.raw, nodes, self.tracer, set()
                )
            ]
        return found

    def _reactions(self, avoid: Avoid, resolved: Resolved) -> list[Met]:
        """Foods of another kind that set off the same guests: the answer waits until the guest has settled them."""
        within, above = self._reach(avoid.nodes, avoid.but)
        eaten = foods.wanted(avoid.eats.kinds).within
        return [
            Met(avoid, UNKNOWN, told.chain, told.food)
            for told in foods.reactions(resolved, self.tracer)
            if told.stops
            and any(n in within or n in above for n in told.reacts)
            and not eaten.intersection(told.food_group.kinds)
            and not any(self._is_eaten(n, avoid) for n in told.food_group.nodes)
        ]


def _passes(met: Iterable[Met]) -> bool:
    return all(m.presence == MAY for m in met)


def _left_out(what: What, unlisted: tuple[str, ...], tracer: Tracer, seen: set[str]) -> list[Seen]:
    """Where a label's list settles nothing about ``unlisted`` nodes, or its full text names one."""
    if isinstance(what, Batch):
        if what.recipe.key in seen:
            return []
        seen.add(what.recipe.key)
        return [
            (s, (Link(what.recipe.called, what.recipe.span), *c), food)
            for line in what.lines
            for s, c, food in _left_out(line.what, unlisted, tracer, seen)
        ]
    if isinstance(what, Bought) and what.either:
        return [found for one in what.either for found in _left_out(one, unlisted, tracer, seen)]
    if not isinstance(what, Bought) or what.product.label is None:
        return []
    product, label, taxonomy = what.product, what.product.label, tracer.taxonomy
    if text := label.text:
        if node := _named(((word, node) for word, node in taxonomy.by_word.items() if node in unlisted), text):
            return [
                (
                    CONTAINS,
                    (Link(product.shown, product.span), Link("the label's text names it", label.text_span)),
                    taxonomy.name(node),
                )
            ]
        return _vague(what, label, tracer)
    open_ = (ANY,) if what.entry is None else what.entry.depends
    if ANY in open_ or any(taxonomy.is_under(n, d) or taxonomy.is_under(d, n) for d in open_ for n in unlisted):
        return [
            (
                UNKNOWN,
                (
                    Link(
                        f"{product.shown}: no law in force requires its label to name this, and its full ingredient"
                        " text is not entered",
                        product.span,
                    ),
                ),
                product.shown,
            )
        ]
    return []


def _vague(what: Bought, label: Label, tracer: Tracer) -> list[Seen]:
    """A label's text that says "spices", or words that could not be read, may mean anything."""
    read = tracer.texts.get(what.product.key)
    if read is None or not (ANY in read.open or read.unrecognised):
        return []
    # A maker's claim is never repeated.
    said = (
        ", ".join([words for words in read.unrecognised if not claims.find(words)][:3]) or "a part that can be anything"
    )
    return [
        (
            UNKNOWN,
            (
                Link(what.product.shown, what.product.span),
                Link(f"the label's text leaves open what is in it: {said}", label.text_span),
            ),
            what.product.shown,
        )
    ]


def _named(words: Iterable[tuple[str, str]], text: str) -> str:
    """The node of the first of the folded ``words``, each with its node, that occurs in a text; empty if none does."""
    padded = f" {fold(text)} "
    return next((node for word, node in words if f" {word} " in padded), "")


def with_changes(dish: Dish, changes: Iterable[Change | None]) -> Dish:
    """The dish as it would be plated: components left off are gone, with their steps."""
    by_key = {c.component.key: c for c in changes if c is not None}
    swaps = {k: c.swap for k, c in by_key.items() if c.swap is not None}
    gone = by_key.keys() - swaps.keys()
    components = tuple(
        replace(c, source=swaps[c.key].use, called=swaps[c.key].called) if c.key in swaps else c
        for c in dish.components
        if c.key not in gone
    )
    steps = tuple(replace(s, on=tuple(o for o in s.on if o not in gone)) for s in dish.steps if s.put not in gone)
    return replace(dish, components=components, steps=steps)
