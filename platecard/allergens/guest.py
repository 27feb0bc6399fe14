"""The guest's question: served as it is, changed, or not at all.

In: a dish with its kitchen, and what the guest must avoid.  Out: an answer with the
fewest changes the spec allows (leave off what may be left off, swap where a swap is
offered).  Every candidate plate is resolved and traced anew; nothing is subtracted.
What a law exempts or what stays under a limit still counts here: the guest has asked
about the food, not about the law.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from itertools import islice, product

from ..frozen import frozen
from ..knowledge import laws
from ..knowledge.catalogue import ANY, Catalogue, Entry
from ..knowledge.taxonomy import Taxonomy
from ..knowledge.words import fold
from ..model import Component, Dish, Swap
from ..problems import meant, nearest
from ..recipes import Batch, Bought, Pantry, Resolved, What, resolve
from .contact import Shared, handed, neighbours, received
from .traces import CONTAINS, MAY, UNKNOWN, Link, Trace, Tracer

AS_IS, CHANGED, CANNOT, OPEN = "as_is", "changed", "cannot", "not_established"
_MOST_CANDIDATES = 4096

# The state in which something avoided was seen, and the way to it.
Seen = tuple[str, tuple[Link, ...]]


@frozen
class Avoid:
    """What a guest must avoid: ``nodes`` of the taxonomy, or an ingredient by ``words``."""

    said: str
    nodes: tuple[str, ...] = ()
    words: tuple[str, ...] = ()


@frozen
class Change:
    """One change of the plate: a component left off, or another thing in its place."""

    component: Component
    swap: Swap | None = None

    @property
    def action(self) -> str:
        return "swap" if self.swap else "leave_off"


@frozen
class Met:
    """Something avoided that was met: what, in which state, by which chain."""

    avoid: Avoid
    presence: str
    chain: tuple[Link, ...]


@frozen
class Answer:
    """The answer.  ``reasons`` say why the plate cannot go as it is; ``remaining`` are
    the "may contain" of the plate as answered; ``left`` are its components."""

    answer: str
    changes: tuple[Change, ...]
    reasons: tuple[Met, ...]
    remaining: tuple[Met, ...]
    dish: Dish


class NotUnderstood(ValueError):
    """An avoid-word that names nothing; ``hints`` are the nearest words."""

    def __init__(self, word: str, hints: tuple[str, ...]):
        super().__init__(f"nobody knows '{word}'")
        self.word, self.hints = word, hints

    @property
    def hint(self) -> str:
        return meant(self.hints, "name an allergen or an ingredient")


def understand(said: str, taxonomy: Taxonomy, catalogue: Catalogue, sayings: dict[str, tuple[str, ...]]) -> Avoid:
    """What ``said`` means: a saying of guests ("shellfish"), an allergen, or an ingredient.

    An ingredient that is itself an allergen (butter) stays an ingredient: who avoids
    butter has not said milk.
    """
    word = said.strip()
    key = fold(word)
    if key in sayings:
        return Avoid(word, sayings[key])
    node = taxonomy.find(word)
    if node is not None:
        return Avoid(word, (node,))
    found = catalogue.find(word)
    if found.entry is not None and not found.read_as:
        # Another tongue's word for an allergen ("lait") is that allergen.
        node = taxonomy.find(found.entry.name)
        if node is not None:
            return Avoid(word, (node,))
        # The cook's word and the catalogue's: either may stand in a name or a label.
        return Avoid(word, words=tuple(dict.fromkeys((key, fold(found.entry.name)))))
    # A product has several names; a word inside them ("coriander" in "coriander seed") is enough to go by.
    if key and catalogue.has_word(key):
        return Avoid(word, words=(key,))
    raise NotUnderstood(word, nearest(key, (*taxonomy.by_word, *sayings)) or catalogue.near(word))


class Asked:
    """A dish with everything that is needed to answer for it again and again."""

    def __init__(self, resolved: Resolved, pantry: Pantry, tracer: Tracer, shared: Shared, equipment: dict[str, str]):
        self.resolved, self.pantry, self.tracer, self.shared, self.equipment = resolved, pantry, tracer, shared, equipment
        in_force = [law for key in pantry.kitchen.settings.laws if (law := laws.load(key)[0]) is not None]
        self._unlisted_of: dict[tuple[str, ...], tuple[str, ...]] = {}
        self._reached: dict[tuple[str, ...], tuple[frozenset[str], frozenset[str]]] = {}
        self._traces_of: dict[tuple, tuple[Trace, ...]] = {}
        self._met_of: dict[tuple, tuple[Met, ...]] = {}
        self._listed = {n for law in in_force for group in law.groups for n in group.nodes} | {"sulphite" for law in in_force if law.sulphites}

    def answer(self, avoids: Iterable[Avoid]) -> Answer:
        """The best plate for a guest who avoids all of ``avoids``.

        1. As it is, if nothing avoided is in it and nothing in it is unknown.
        2. Else every component in which something avoided is, or may not be ruled
           out, is left off or swapped, as the spec allows: no fewer changes will do.
           Of the candidates that pass, the one with the fewest things that remain as
           "may contain".
        3. Else it cannot be served, or it is not established.
        """
        avoids = tuple(avoids)
        dish = self.resolved.dish
        met = self.met(self.resolved, avoids)
        against = tuple(m for m in met if m.presence != MAY)
        remaining = tuple(m for m in met if m.presence == MAY)
        if not against:
            return Answer(AS_IS, (), (), remaining, dish)
        alone = {c.key: self._met_alone(self.resolved, c, avoids) for c in dish.components}
        kept = {m.avoid for found in alone.values() if _passes(found) for m in found}
        ways = [self._ways(c, avoids) for c in dish.components if not _passes(alone[c.key])]
        candidates = [(tuple(change for change, _ in way), len(kept.union(*(left for _, left in way)))) for way in islice(product(*ways), _MOST_CANDIDATES)]
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
        """The changes that rid the plate of what stands against this component, each with what it leaves as "may contain"."""
        # What the chef offers in its place keeps the plate whole, so it comes before leaving off.
        found: list[tuple[Change, set[Avoid]]] = []
        for change in (Change(component, s) for s in component.swaps if self._is_for(s, avoids)):
            plate, _ = resolve(with_changes(self.resolved.dish, (change,)), self.pantry)
            met = self._met_alone(plate, component, avoids)
            if _passes(met):
                found.append((change, {m.avoid for m in met}))
        return found + ([(Change(component), set())] if component.may_be_left_off else [])

    def _is_for(self, swap: Swap, avoids: tuple[Avoid, ...]) -> bool:
        """Whether the chef offered this swap for one of the things avoided."""
        tree = self.tracer.taxonomy
        for word in swap.avoiding:
            try:
                meant = understand(word, tree, self.pantry.catalogue, tree.sayings)
            except NotUnderstood:
                continue
            for avoid in avoids:
                if set(meant.words) & set(avoid.words) or any(tree.is_under(a, b) or tree.is_under(b, a) for a in meant.nodes for b in avoid.nodes):
                    return True
        return False

    def _met_alone(self, resolved: Resolved, component: Component, avoids: tuple[Avoid, ...]) -> tuple[Met, ...]:
        return self.met(replace(resolved, parts=tuple(p for p in resolved.parts if p.component.key == component.key)), avoids)

    def met(self, resolved: Resolved, avoids: tuple[Avoid, ...]) -> tuple[Met, ...]:
        """Everything avoided that is met on this plate, contact included, most certain first."""
        rank = {CONTAINS: 0, UNKNOWN: 1, MAY: 2}
        plate = tuple((p.component.key, p.component.source) for p in resolved.parts)
        return tuple(sorted((m for avoid in dict.fromkeys(avoids) for m in self._met_by(plate, resolved, avoid)), key=lambda m: rank[m.presence]))

    def _met_by(self, plate: tuple, resolved: Resolved, avoid: Avoid) -> tuple[Met, ...]:
        """What of one thing avoided is met.  Each plate is traced anew, but once, however often it is asked about."""
        if plate not in self._traces_of:
            self._traces_of[plate] = (*self.tracer.dish(resolved), *received(resolved, self.shared, self.equipment))
        if (plate, avoid) not in self._met_of:
            nodes = self._nodes_met(avoid, self._traces_of[plate]) if avoid.nodes else []
            self._met_of[plate, avoid] = tuple(dict.fromkeys((*nodes, *self._things_met(avoid, resolved))))
        return self._met_of[plate, avoid]

    def _nodes_met(self, avoid: Avoid, traces: Iterable[Trace]) -> list[Met]:
        within, above = self._reach(avoid.nodes)
        found = []
        for t in traces:
            if t.node == "" or (t.node in above and t.node not in within):
                # Unknown, or a bare group above what is avoided: it cannot be ruled out.
                found.append(Met(avoid, UNKNOWN if t.state != MAY else MAY, t.chain))
            elif t.node in within:
                found.append(Met(avoid, t.state, t.chain))
        return found

    def _reach(self, nodes: tuple[str, ...]) -> tuple[frozenset[str], frozenset[str]]:
        """The nodes that are one of those avoided, and the groups that may stand for one."""
        if nodes not in self._reached:
            tree = self.tracer.taxonomy
            self._reached[nodes] = (frozenset(m for n in nodes for m in tree.below(n)), frozenset(m for n in nodes for m in tree.lineage(n)[1:]))
        return self._reached[nodes]

    def _unlisted(self, avoid: Avoid) -> tuple[str, ...]:
        """The nodes avoided that no law in force lists, so that a label's list need not name them."""
        tree = self.tracer.taxonomy
        if avoid.nodes not in self._unlisted_of:
            self._unlisted_of[avoid.nodes] = tuple(n for a in avoid.nodes for n in tree.below(a) if not self._listed.intersection(tree.lineage(n)))
        return self._unlisted_of[avoid.nodes]

    def _things_met(self, avoid: Avoid, resolved: Resolved) -> list[Met]:
        """What no allergen list tells, in each thing on the plate and in each that shares its equipment."""
        unlisted = self._unlisted(avoid)
        if avoid.nodes and not unlisted:
            return []

        def look(what: What, called: str) -> list[Seen]:
            return _left_out(what, unlisted, self.tracer, set()) if unlisted else _words_in(what, called, avoid, self.tracer, set())

        found: list[Met] = []
        top = Link(resolved.dish.title, resolved.dish.span)
        for part in resolved.parts:
            head = Link(part.component.called, part.component.source.span)
            found += [Met(avoid, state, (top, head, *chain)) for state, chain in look(part.use.what, part.use.called)]
        for road, other in neighbours(resolved, self.shared, self.equipment):
            found += [Met(avoid, handed(state), (*road, *chain)) for state, chain in look(other.what, other.called)]
        return found


def _passes(met: Iterable[Met]) -> bool:
    return all(m.presence == MAY for m in met)


def _left_out(what: What, unlisted: tuple[str, ...], tracer: Tracer, seen: set[str]) -> list[Seen]:
    """Where a label's list settles nothing about ``unlisted`` nodes, or its full text names one."""
    if isinstance(what, Batch):
        if what.recipe.key in seen:
            return []
        seen.add(what.recipe.key)
        return [(s, (Link(what.recipe.called, what.recipe.span), *c)) for line in what.lines for s, c in _left_out(line.what, unlisted, tracer, seen)]
    if isinstance(what, Bought) and what.either:
        return [found for one in what.either for found in _left_out(one, unlisted, tracer, seen)]
    if not isinstance(what, Bought) or what.product.label is None:
        return []
    product, text, taxonomy = what.product, what.product.label.text, tracer.taxonomy
    if text:
        words = Avoid(text, words=tuple(word for word, node in taxonomy.by_word.items() if node in unlisted))
        if _named(words, (text,)):
            return [(CONTAINS, (Link(product.called, product.span), Link("the label's text names it", product.label.text_span)))]
        return _vague(what, tracer)
    open_ = (ANY,) if what.entry is None else what.entry.depends
    if ANY in open_ or any(taxonomy.is_under(n, d) or taxonomy.is_under(d, n) for d in open_ for n in unlisted):
        return [(UNKNOWN, (Link(f"{product.called}: no law in force makes its label name this, and its full ingredient text is not entered", product.span),))]
    return []


def _vague(what: Bought, tracer: Tracer) -> list[Seen]:
    """A label's text that says "spices" or words nobody knows may stand for anything."""
    read = tracer.texts.get(what.product.key)
    if read is None or not (ANY in read.open or read.unrecognised):
        return []
    said = ", ".join(read.unrecognised[:3]) or "a part that can be anything"
    return [(UNKNOWN, (Link(what.product.called, what.product.span), Link(f"the label's text leaves open what is in it: {said}", what.product.label.text_span)))]


def _words_in(what: What, called: str, avoid: Avoid, tracer: Tracer, seen: set[str]) -> list[Seen]:
    """Where an ingredient without a law stands: by name, by the label's text, or not to be ruled out."""
    if isinstance(what, Batch):
        if what.recipe.key in seen:
            return []
        seen.add(what.recipe.key)
        return [(s, (Link(what.recipe.called, what.recipe.span), *c)) for line in what.lines for s, c in _words_in(line.what, line.called, avoid, tracer, seen)]
    if isinstance(what, Entry):
        here = Link(f"{what.name} (source: {what.source})", what.span)
        if _named(avoid, (what.name, called, *what.of)):
            return [(CONTAINS, (here,))]
        return [(UNKNOWN, (Link(f"{what.name}: what is in it depends on the maker", what.span),))] if what.depends_on_everything else []
    if isinstance(what, Bought) and what.either:
        return [found for one in what.either for found in _words_in(one, called, avoid, tracer, seen)]
    if isinstance(what, Bought):
        product, entry, label = what.product, what.entry, what.product.label
        here = Link(product.called, product.span)
        names = (product.called, *product.also, *((entry.name, *entry.of) if entry else ()), *((label.text,) if label and label.text else ()))
        if _named(avoid, names):
            return [(CONTAINS, (here,))]
        # A list of allergens says nothing of an ingredient that no law lists; only its full text does.
        if (entry is None or entry.depends_on_everything) and not (label and label.text):
            return [(UNKNOWN, (Link(f"{product.called}: its full ingredient text is not entered", product.span),))]
        return _vague(what, tracer)
    return [(UNKNOWN, (Link(f"{what.name}: {what.why}", what.span),))]


def _named(avoid: Avoid, names: Iterable[str]) -> bool:
    for name in names:
        padded = f" {fold(name)} "
        if any(f" {word} " in padded for word in avoid.words):
            return True
    return False


def with_changes(dish: Dish, changes: Iterable[Change | None]) -> Dish:
    """The dish as it would be plated: components left off are gone with their steps."""
    by_key = {c.component.key: c for c in changes if c is not None}
    gone = {k for k, c in by_key.items() if c.swap is None}
    components = tuple(replace(c, source=by_key[c.key].swap.use, called=by_key[c.key].swap.use.name.replace("-", " ")) if c.key in by_key else c
                       for c in dish.components if c.key not in gone)
    steps = tuple(replace(s, on=tuple(o for o in s.on if o not in gone)) for s in dish.steps if s.put not in gone)
    return replace(dish, components=components, steps=steps)
