"""Whether a food is of a kind that a guest avoids, beyond what any list of allergens tells.

In: the foods at the ends of a resolved tree (catalogue entries, products, unknowns).
Out: for each that the guest must avoid, its presence and the way to it.  A food whose
kinds are not all known can be of any kind.
"""

from __future__ import annotations

from collections.abc import Collection, Iterable, Iterator
from functools import cache
from typing import NamedTuple

from platecard.allergens.guests.requests import COMMON, Avoid, is_leaf, is_vague
from platecard.allergens.labels.parts import Part
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Link, Presence, Seen, Tracer
from platecard.knowledge import guests, kinds, taxonomy
from platecard.knowledge.catalogue import Catalogue, Entry
from platecard.knowledge.catalogue_rows import ANY
from platecard.knowledge.guests import Group
from platecard.knowledge.kinds import FoodKinds
from platecard.knowledge.names import fold, runs
from platecard.model import Dish
from platecard.model.handling import Handling
from platecard.recipes.resolved import Batch, Bought, Food, Resolved, What, entry_of

_COOKED = "cooked"


class Wanted(NamedTuple):
    """Food kinds to look for: ``within`` are those kinds themselves, ``above`` the groups that may mean one of them."""

    within: frozenset[str]
    above: frozenset[str]

    def state(self, has: Collection[str], left_open: Collection[str] = ()) -> Presence | None:
        """What a food of the kinds ``has``, and perhaps ``left_open``, is to a guest who avoids the wanted ones."""
        if any(k in self.within for k in has):
            return CONTAINS
        # A bare group ("berry") can be any of its kind.
        if self.within and (
            ANY in left_open
            or any(k in self.within for k in left_open)
            or any(k in self.above for k in (*has, *left_open))
        ):
            return UNKNOWN
        return None


@cache
def wanted(sought: tuple[str, ...]) -> Wanted:
    """The kinds ``sought`` with everything below them, and the groups above them."""
    food = kinds.load()[0]
    within = frozenset(k for s in sought for k in food.below(s))
    return Wanted(within, frozenset(k for s in sought for k in food.above(s)) - within)


def foods(what: What, called: str, seen: set[str]) -> Iterator[tuple[Food, str, tuple[Link, ...]]]:
    """The foods at the ends of the tree, with the way to each; a recipe that occurs twice is searched once."""
    if isinstance(what, Bought) and what.either:
        # Any of them may have been delivered, so each has to be looked at.
        here = Link(what.product.shown, what.product.span)
        yield from ((one, called, (here,)) for one in what.either)
    elif not isinstance(what, Batch):
        yield what, called, ()
    elif what.recipe.key not in seen:
        seen.add(what.recipe.key)
        here = Link(what.recipe.called, what.recipe.span)
        for line in what.lines:
            yield from ((thing, name, (here, *chain)) for thing, name, chain in foods(line.what, line.called, seen))


def of_food(what: Food, avoid: Avoid, tracer: Tracer, catalogue: Catalogue, listed: frozenset[str]) -> list[Seen]:
    """Where one food stands for a guest who avoids a kind of food or an ingredient.

    ``listed`` are the kinds whose presence the list of a label always shows, because the laws in
    force make it name them all.
    """
    food = kinds.load()[0]
    if isinstance(what, Entry):
        state = _of_entry(what, avoid, food)
        return [(state, (_source(what, state),), what.shown)] if state else []
    if isinstance(what, Bought):
        return _of_product(what, avoid, tracer, catalogue, food, listed)
    return [(UNKNOWN, (Link(f"{what.name}: {what.why}", what.span),), what.name)]


def _source(entry: Entry, state: Presence) -> Link:
    open_ = (
        ""
        if state == CONTAINS
        else ": what is in it depends on the maker"
        if entry.depends_on_everything
        else ": this cannot be ruled out"
    )
    return Link(f"{entry.shown} (source: {entry.source}){open_}", entry.span)


def _of_entry(entry: Entry, avoid: Avoid, food: FoodKinds) -> Presence | None:
    states = [wanted(avoid.kinds).state(entry.kinds, entry.kinds_open)] if avoid.kinds else []
    if avoid.words:
        states.append(_same_ingredient(entry, avoid, food))
    return CONTAINS if CONTAINS in states else UNKNOWN if UNKNOWN in states else None


def _same_ingredient(entry: Entry, avoid: Avoid, food: FoodKinds) -> Presence | None:
    """Whether ``entry`` is, holds, or may be the one ingredient that is avoided."""
    own = avoid.entry
    if own is not None and entry.id == own.id or _stands_in(avoid.words, (*entry.of,)):
        return CONTAINS
    asked, has = ({k for k in e.kinds if k not in COMMON} for e in (own, entry)) if own is not None else (set(), set())
    alike = any(k in food.below(a) or a in food.below(k) for k in has for a in asked)
    if _stands_in(avoid.words, (entry.name,)):
        # The same word in the name of another kind of food (chervil root) leaves the question open.
        return CONTAINS if alike or len(entry.kinds) != 1 else UNKNOWN
    if ANY in entry.kinds_open or entry.depends_on_everything:
        return UNKNOWN
    groups = {g for a in asked for g in food.above(a)}
    if any(k in groups or k in asked for k in entry.kinds_open):
        return UNKNOWN
    if not alike:
        return None
    simple = (
        len(asked) == 1 and own is not None and not is_vague(own, food) and len(has) == 1 and not is_vague(entry, food)
    )
    # Two foods of one kind, each with its own name (chervil, lovage), are two different foods.
    return None if simple and not is_leaf(next(iter(has)), food) else UNKNOWN


def _of_product(
    what: Bought, avoid: Avoid, tracer: Tracer, catalogue: Catalogue, food: FoodKinds, listed: frozenset[str]
) -> list[Seen]:
    product, entry, label = what.product, what.entry, what.product.label
    here = Link(product.shown, product.span)
    own = _of_entry(entry, avoid, food) if entry is not None else None
    if entry is not None and own == CONTAINS:
        return [(CONTAINS, (here, _source(entry, own)), entry.shown)]
    names = (product.called, *product.also, *((label.text,) if label and label.text else ()))
    if avoid.words and _stands_in(avoid.words, names):
        return [(CONTAINS, (here,), product.shown)]
    read = tracer.texts.get(product.key) if label is not None and label.text else None
    if label is not None and read is not None:
        place = label.text_span or label.span
        for part in read.all():
            if state := _of_part(part, avoid, catalogue, food):
                return [(state, (here, Link(f"the text of its label names {part.words}", place)), part.words)]
        left = ", ".join(read.unrecognised[:3]) or ("a part that can be anything" if ANY in read.open else "")
        return (
            [
                (
                    UNKNOWN,
                    (here, Link(f"the label's text leaves open what is in it: {left}", place)),
                    product.shown,
                )
            ]
            if left
            else []
        )
    if entry is not None and own is None and not entry.depends_on_everything:
        # The catalogue says what it is, but its own name may say more.
        more = any(
            k in wanted(avoid.kinds).within
            for n in (product.called, *product.also)
            for k in _kinds_named(n, entry, catalogue)
        )
        return (
            [
                (
                    UNKNOWN,
                    (
                        Link(
                            f"{product.shown}: its name says more than {entry.shown}, and its full ingredient text is"
                            " not entered",
                            product.span,
                        ),
                    ),
                    product.shown,
                )
            ]
            if more
            else []
        )
    # A list of allergens says nothing about what no law in force makes it name; only the full text does.
    if avoid.words or wanted(avoid.kinds).within - listed:
        why = Link(f"{product.shown}: its full ingredient text is not entered", product.span)
        return [(UNKNOWN, (why,), product.shown)]
    return []


def _of_part(part: Part, avoid: Avoid, catalogue: Catalogue, food: FoodKinds) -> Presence | None:
    """What one part of a label's text is to the guest; its brackets answer what its head leaves open."""
    entries = [e for key in part.entries if (e := catalogue.by_id(key)) is not None]
    states = [_of_entry(e, avoid, food) for e in entries]
    if not entries and avoid.kinds:
        # It was read as an allergen's own word, or as the plain name of a plant, so its kinds are those of the word.
        named = [k.id for k in food.kinds.values() if any(n in k.nodes for n in part.nodes)] + [
            k for run in runs(part.words) if (k := food.find(run))
        ]
        states.append(wanted(avoid.kinds).state(named))
    return CONTAINS if CONTAINS in states else UNKNOWN if UNKNOWN in states and not part.parts else None


def _kinds_named(name: str, entry: Entry, catalogue: Catalogue) -> Iterator[str]:
    """The kinds of the foods that a product's name mentions besides the name of what it is.

    Short words are skipped: they mean too many things.
    """
    rest = f" {fold(name)} ".replace(f" {fold(entry.name)} ", " ")
    yield from (k for run in runs(rest) if len(run) > 3 for e in catalogue.all_named(run) for k in e.kinds)


def _stands_in(words: Iterable[str], names: Iterable[str]) -> bool:
    """Whether one of the folded ``words`` occurs in a name, word for word."""
    return any(f" {word} " in f" {fold(name)} " for name in names for word in words)


def nodes_of(sought: tuple[str, ...]) -> tuple[str, ...]:
    """The allergens of the taxonomy that the kinds ``sought`` cover."""
    food = kinds.load()[0]
    return tuple(dict.fromkeys(n for k in sought for n in food.nodes_of(k)))


@cache
def told_by_lists(listed: frozenset[str]) -> frozenset[str]:
    """The kinds whose presence a label's list of allergens always shows.

    Every food of such a kind is one of the ``listed`` nodes, or below one.
    """
    food, tree = kinds.load()[0], taxonomy.load()[0]
    return frozenset(
        b
        for k in food.kinds.values()
        if k.nodes and all(listed & set(tree.lineage(n)) for n in k.nodes)
        for b in food.below(k.id)
    )


# --------------------------------------------------------------------------- states and reactions


def uncooked(
    what: What,
    called: str,
    handling: tuple[Handling, ...],
    sought: tuple[str, ...],
    nodes: frozenset[str],
    tracer: Tracer,
    seen: set[str],
) -> Iterator[Seen]:
    """Foods of the kinds ``sought`` that nothing on their way to the plate says are cooked.

    One that is said to be raw, marinated, cured or lightly cooked is contained; one about which
    nothing is said is not established.
    """
    if isinstance(what, Batch):
        key = f"{what.recipe.key} {[h.state for h in handling]}"
        if key in seen:
            return
        seen.add(key)
        here = Link(what.recipe.called, what.recipe.span)
        for use, line in zip(what.lines, what.recipe.lines):
            for state, chain, food in uncooked(
                use.what, use.called, (*handling, what.recipe.handling, line.handling), sought, nodes, tracer, seen
            ):
                yield state, (here, *chain), food
        return
    states = [h.state for h in handling if h.state]
    if _COOKED in states:
        return
    entry = entry_of(what)
    has = {t.node for t in tracer.thing(what) if t.state != MAY}
    is_one = (
        "" in has
        or any(n in nodes for n in has)
        or (
            entry is not None
            and wanted(sought).state(entry.kinds, (ANY,) if ANY in entry.kinds_open else ()) is not None
        )
    )
    if is_one:
        name = entry.shown if entry is not None and not isinstance(what, Bought) else called
        said = f"{name}: {states[0]}" if states else f"{name}: nothing says that it is cooked through"
        place = what.product.span if isinstance(what, Bought) else what.span
        yield (CONTAINS if states else UNKNOWN), (Link(said, place),), name


class Told(NamedTuple):
    """A food in the dish that can set off guests with another allergy.

    ``stops``: the answer has to wait until the guest has said whether they eat it.
    """

    says: str
    food: str
    food_group: Group
    reacts: tuple[str, ...]
    stops: bool
    chain: tuple[Link, ...]


def reactions(resolved: Resolved, tracer: Tracer) -> tuple[Told, ...]:
    """What the foods of a dish can do to guests with another allergy, each food once."""
    found: dict[str, Told] = {}
    top = Link(resolved.dish.title, resolved.dish.span)
    for part in resolved.parts:
        head = Link(part.component.called, part.component.source.span)
        for told in _told_in(part.use.what, tracer):
            found.setdefault(told.says, told._replace(chain=(top, head, *told.chain)))
    return tuple(found.values())


def _told_in(what: What, tracer: Tracer) -> tuple[Told, ...]:
    """The same for one thing, worked out once for each recipe, product and ingredient of a kitchen."""
    if isinstance(what, Batch):
        key, inside = ("recipe", what.recipe.key), [line.what for line in what.lines]
    elif isinstance(what, Bought):
        key, inside = ("product", what.product.key), list(what.either)
    elif isinstance(what, Entry):
        key, inside = ("ingredient", what.id), []
    else:
        return ()
    if key not in tracer.told:
        here = Link(what.recipe.called, what.recipe.span) if isinstance(what, Batch) else None
        found = {
            t.says: t._replace(chain=(here, *t.chain)) if here else t for one in inside for t in _told_in(one, tracer)
        }
        if not isinstance(what, Batch):
            called = what.shown if isinstance(what, Entry) else what.product.shown
            for rule in guests.load()[0].reactions:
                if _is(what, rule.food, tracer):
                    says = rule.says.replace("{food}", called)
                    found.setdefault(says, Told(says, called, rule.food, rule.reacts, rule.stops, (Link(says, None),)))
        tracer.told[key] = tuple(found.values())
    return tracer.told[key]


def _is(what: What, group: Group, tracer: Tracer) -> bool:
    entry = entry_of(what)
    if entry is not None and any(k in wanted(group.kinds).within for k in entry.kinds):
        return True
    tree = tracer.taxonomy
    return bool(group.nodes) and any(
        t.state == CONTAINS and any(tree.is_under(t.node, n) for n in group.nodes) for t in tracer.thing(what)
    )


def also_told(dish: Dish | None, resolved: Resolved | None, tracer: Tracer) -> tuple[str, ...]:
    """What a guest should hear of a dish beside its allergens, one sentence each, without its full stop."""
    said = () if resolved is None else tuple(told.says for told in reactions(resolved, tracer))
    if dish is not None and dish.guests > 1:
        together = f"One plate is shared by {dish.guests} guests: what is changed for one of them is changed for all"
        return (*said, together)
    return said
