"""The whole road of a dish on one page: read, check, resolve, compute, arrange, hand over.

In: texts.  Out: :class:`Prepared`, everything the documents need, with all problems.
No file is opened and nothing is printed here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import field, replace
from datetime import date

from . import reading, recipes
from .allergens import basis, contact, guard, label_check, label_text, offers, statement, sulphites, traces
from .allergens.basis import Basis, Counted, Menu
from .allergens.contact import Shared
from .allergens.guest import Asked
from .allergens.label_text import ReadLabel
from .allergens.statement import Statement
from .allergens.sulphites import Sum
from .allergens.traces import Link, Trace, Tracer
from .frozen import frozen
from .knowledge import catalogue, colours, laws, taxonomy
from .knowledge.catalogue import Catalogue
from .knowledge.laws import Law
from .knowledge.taxonomy import Taxonomy
from .layout import arrange, checks
from .layout.arrange import Arrangement
from .model import Dish, Kitchen, Product, Unknown
from .problems import Problem, Span, did_you_mean, error, has_errors, in_order, warning
from .recipes import Pantry, Resolved
from .service import fire
from .service.cautions import Caution, Cautioner
from .service.fire import Schedule


@frozen
class World:
    """What all dishes of a kitchen share: its library, the laws in force, the catalogue.

    ``unread`` is what of the library could not be read: it may have said anything of every dish.
    """

    kitchen: Kitchen
    pantry: Pantry
    tracer: Tracer
    laws: tuple[Law, ...]
    problems: tuple[Problem, ...]
    cautioner: Cautioner
    unread: tuple[Unknown, ...] = ()


@frozen
class Begun:
    """A dish as far as it can be taken by itself, before the rest of the menu is known."""

    key: str
    file: str
    dish: Dish | None
    resolved: Resolved | None
    problems: tuple[Problem, ...]
    offered: tuple[Resolved, ...] = ()


@frozen
class Prepared:
    """A dish ready to be drawn.  ``problems`` hold the kitchen's own as well; ``offered`` are its swaps, each as a dish of that one component."""

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
    shared: Shared = field(default_factory=dict)
    offered: tuple[Resolved, ...] = ()
    basis: Basis = Basis()

    @property
    def is_sound(self) -> bool:
        """No error anywhere, and every allergen established: a clean card may be drawn."""
        return not has_errors(self.problems) and self.dish is not None and all(s.established for s in self.statements)


def world(library: Iterable[tuple[str, str]], folder: str = "shared", law_names: tuple[str, ...] = (), today: date | None = None) -> World:
    """The kitchen from the texts of its library, with the laws in force (or ``law_names`` instead).

    ``today`` is the day that the age of labels is reckoned from; without it none is too old.
    """
    tree, own = taxonomy.load()
    known, faults = catalogue.load()
    kitchen, problems = reading.kitchen(library, folder)
    found = [*own, *faults, *problems]
    in_force = []
    for key in law_names or kitchen.settings.laws:
        law, faults = laws.load(key)
        found += faults
        if law is not None:
            in_force.append(law)
        elif not faults:
            found.append(error("unknown-law", kitchen.settings.laws_span, f"there is no law '{key}' on file",
                               did_you_mean(key, laws.names()) or "laws: " + ", ".join(laws.names())))
    texts, faults = _label_texts(kitchen, known, tree, in_force)
    found += faults
    tracer = Tracer(tree, texts, _silent(kitchen, in_force))
    found += recipes.unknown_names(kitchen)
    cautioner = Cautioner(kitchen.settings, tree)
    for product in kitchen.products.values():
        found += tracer.label_problems(product)
        found += _label_age(product, kitchen, today)
    made = World(kitchen, Pantry(kitchen, known), tracer, tuple(in_force), in_order([*found, *cautioner.problems]), cautioner)
    return in_doubt(made, problems)


def in_doubt(world: World, unread: Iterable[Problem]) -> World:
    """The world with the faults of library files that were not read, or not all of them: errors leave every dish in doubt."""
    faults = tuple(unread)
    doubts = (Unknown(p.span.file if p.span else world.kitchen.folder, p.span, f"it is not read: {p.message}") for p in faults if p.is_error)
    return replace(world, problems=in_order([*world.problems, *faults]), unread=tuple(dict.fromkeys((*world.unread, *doubts))))


def _silent(kitchen: Kitchen, asked: list[Law]) -> tuple[str, ...]:
    """The nodes that the laws asked about declare and the kitchen's own laws do not."""
    tree = taxonomy.load()[0]
    listed = {n for key in kitchen.settings.laws if (law := laws.load(key)[0]) for g in law.groups for n in g.nodes}
    nodes = dict.fromkeys(n for law in asked for g in law.groups for n in g.nodes)
    return tuple(n for n in nodes if not listed.intersection(tree.lineage(n)) and not any(m in listed for m in tree.below(n)))


def _label_texts(kitchen: Kitchen, known: Catalogue, tree: Taxonomy, in_force: list[Law]) -> tuple[dict[str, ReadLabel], list[Problem]]:
    """The ingredient texts of labels, read, and where they and the kitchen's own lists do not agree."""
    watched = frozenset(n for law in in_force for g in law.groups for n in g.nodes)
    texts: dict[str, ReadLabel] = {}
    found: list[Problem] = []
    for product in kitchen.products.values():
        label = product.label
        if label is None:
            continue
        contains, may = ({n: s for w, s in words if (n := tree.find(w))} for words in (label.contains, label.may_contain))
        if label.text:
            span = label.text_span or label.span
            texts[product.key], faults = label_text.read(label.text, span, known, tree)
            found += faults
            found += label_check.compare(texts[product.key], contains, may, tree, span, watched)
        elif not product.is_a:
            # Neither a text nor an entry of the catalogue says what it is, but its names may.
            for name in (product.called, *product.also):
                if label_check.may_name_something(name, known, tree, watched):
                    read, _ = label_text.read(name, label.span, known, tree)
                    found += label_check.against_name(name, read, contains, may, tree, label.span, watched)
    return texts, found


def _label_age(product: Product, kitchen: Kitchen, today: date | None) -> tuple[Problem, ...]:
    limit, label = kitchen.settings.label_days, product.label
    if label is None or today is None:
        return ()
    try:
        days = (today - date.fromisoformat(label.read)).days
    except ValueError:
        return ()  # the reader has said so
    if days < 0:
        return (warning("label-from-the-future", label.span, f"the label of {product.called} was read on {label.read}, which is still to come", "correct the date"),)
    if limit is None or days <= limit:
        return ()
    return (warning("label-too-old", label.span, f"the label of {product.called} was read {days} days ago; the kitchen reads labels every {limit}", "read it again"),)


def begin(text: str | None, file: str, key: str, world: World, found: tuple[Problem, ...] = ()) -> Begun:
    """Read, check and resolve one dish; ``found`` are the problems of its file (``text`` is None where it cannot be read)."""
    if text is None:
        return Begun(key, file, None, None, found)
    dish, problems = reading.dish(text, file, key)
    problems = (*found, *problems)
    if dish is None:
        return Begun(key, file, None, None, problems)
    resolved, found = recipes.resolve(dish, world.pantry)
    unsure = traces.not_established(resolved, world.tracer.taxonomy, world.kitchen.folder)
    offered, faults = _offered(dish, world)
    return Begun(key, file, dish, resolved, (*problems, *found, *unsure, *faults), offered)


def _offered(dish: Dish, world: World) -> tuple[tuple[Resolved, ...], tuple[Problem, ...]]:
    """Each swap the dish offers, as a dish of that one component: it goes through equipment for other guests."""
    made: list[Resolved] = []
    problems: list[Problem] = []
    for component in dish.components:
        for swap in component.swaps:
            stand_in = replace(component, source=swap.use, called=swap.use.name.replace("-", " "), swaps=())
            alone, found = recipes.resolve(replace(dish, components=(stand_in,)), world.pantry)
            # The plate and the station are told by the dish itself.
            problems += [p for p in found if p.slug not in ("unknown-plate", "unknown-station", "unknown-equipment")]
            problems += [replace(p, severity="warning") for p in traces.not_established(alone, world.tracer.taxonomy, world.kitchen.folder)]
            made.append(alone)
    return tuple(made), tuple(problems)


def shared_equipment(menu: Iterable[Begun], world: World) -> Shared:
    """What each piece of equipment hands on, over the whole menu."""
    menu = tuple(menu)
    doubted = [Unknown(b.file, Span(b.file), "what goes through the equipment is not known until its errors are mended") for b in menu if _hides_something(b)]
    return contact.handed_on((r for b in menu if b.resolved is not None for r in (b.resolved, *b.offered)), world.tracer, doubted)


def counted(menu: Iterable[Begun], world: World) -> Menu:
    """The menu as it was counted for shared equipment, for what each dish stands on."""
    gear = {g.key for g in world.kitchen.settings.gear if not g.touches}
    return basis.counted(((Counted(b.key, b.dish.title if b.dish else b.key, b.file, not _hides_something(b)), (b.resolved, *b.offered) if b.resolved else ())
                          for b in menu), lambda equipment: equipment not in gear)


# Faults that leave what they touch in the tree as an unknown, so that nothing is hidden by them.
_SHOWN = {"bad-file-name", "allergens-not-established", "unknown-ingredient", "unknown-product", "two-candidates", "recipe-loop", "too-deep",
          "unknown-plate", "makes-more-than-goes-in", "no-source", "unprintable-character"}


def _hides_something(begun: Begun) -> bool:
    """Whether a spec's faults may hide a component or the equipment it goes through."""
    return begun.resolved is None or any(p.is_error and p.slug not in _SHOWN and p.span is not None and p.span.file == begun.file for p in begun.problems)


def finish(begun: Begun, shared: Shared, world: World, menu: Menu = Menu()) -> Prepared:
    """Derive the allergens and lay out the plate of one dish; ``menu`` is what was :func:`counted`."""
    problems = [*world.problems, *begun.problems]
    found: tuple[Trace, ...] = ()
    sums: tuple[Sum, ...] = ()
    statements: tuple[Statement, ...] = ()
    arrangement, schedule = None, None
    minded: tuple[Caution, ...] = ()
    stands_on = Basis((begun.file,), menu.dishes, unread=(Unknown(begun.file, Span(begun.file), "the spec cannot be read"), *world.unread))
    dish, resolved = begun.dish, begun.resolved
    if dish is not None and resolved is not None:
        names = dict(world.kitchen.settings.equipment)
        found = (*world.tracer.dish(resolved), *contact.received(resolved, shared, names), *_doubts(dish, world))
        stands_on = basis.of(begun.key, resolved, menu, world.kitchen.settings.span.file if world.kitchen.settings.span else "", names, world.unread)
        sums = sulphites.sums(resolved, world.tracer.taxonomy)
        language = world.kitchen.settings.language
        statements = tuple(statement.derive(found, sums, law, world.tracer.taxonomy, language) for law in world.laws)
        problems += contact.misused(resolved, world.kitchen.settings.only_for, names)
        if begun.offered:
            problems += offers.check(dish, begun.offered, Asked(resolved, world.pantry, world.tracer, shared, names))
        if not has_errors(problems):
            problems += guard.check(dish, statements)
            problems += [_open(law, dish) for law in statements if not law.established]
        problems += [warning("kind-not-established", dish.span, f"{law.law.name} asks which kind of {f.declared_as} it is, and no ingredient says so",
                             *(f"{c[-1].words}" for c in f.reasons[:2]))
                     for law in statements for f in law.findings if f.kind_open]
        problems += colours.check(dish, resolved.plate)
        schedule, faults = fire.of(dish, world.kitchen.settings)
        problems += faults
        minded = world.cautioner.of(resolved)
        if resolved.plate is not None:
            arrangement, faults = arrange.place(dish, resolved.plate)
            problems += [*faults, *checks.check(arrangement, dish)]
    return Prepared(begun.key, begun.file, dish, resolved, found, sums, statements, arrangement, world, in_order(problems), schedule, minded, shared, begun.offered, stands_on)


def not_finished(begun: Begun, world: World, exc: Exception) -> Prepared:
    """A dish that could not be prepared, for a reason that nobody thought of: nothing of it is established."""
    unread = (Unknown(begun.file, Span(begun.file), "it could not be worked out"), *world.unread)
    problems = in_order([*world.problems, *begun.problems, _not_prepared(begun.file, exc)])
    return Prepared(begun.key, begun.file, None, None, (), (), (), None, world, problems, basis=Basis((begun.file,), unread=unread))


def not_begun(file: str, key: str, exc: Exception) -> Begun:
    """A spec that could not be read, for a reason that nobody thought of: it may hold anything."""
    return Begun(key, file, None, None, (_not_prepared(file, exc),))


def _not_prepared(file: str, exc: Exception) -> Problem:
    said = " ".join(f"{type(exc).__name__}: {exc}".split())[:200]
    return error("not-prepared", Span(file), f"what is in the dish and how it is laid cannot be worked out: {said}",
                 "undo what was changed last in the dish; and report it, for this is a fault of platecard's")


def _doubts(dish: Dish, world: World) -> tuple[Trace, ...]:
    """What the files of the library that were not read leave open: anything."""
    return tuple(Trace("", traces.UNKNOWN, "", (Link(dish.title, dish.span), Link(f"{u.name}: {u.why}", u.span))) for u in world.unread[:traces.MAX_CHAINS])


def _open(law: Statement, dish: Dish) -> Problem:
    """What a law asks for and nobody can answer, with what stands in the way."""
    found = law.with_presence(traces.UNKNOWN)
    names = list(dict.fromkeys(f.declared_as for f in found))
    said = ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")
    causes = dict.fromkeys(" > ".join(link.words for link in chain) for f in found for chain in f.reasons)
    return error("allergens-not-established", dish.span, f"{law.law.name}: not established: {said}", *list(causes)[:3])


def prepare(text: str, file: str, key: str, world: World, menu: Iterable[Begun] = ()) -> Prepared:
    """One dish, the whole road; ``menu`` are the other dishes it shares equipment with."""
    begun = begin(text, file, key, world)
    everything = [begun, *(b for b in menu if b.key != key)]
    return finish(begun, shared_equipment(everything, world), world, counted(everything, world))


def prepare_menu(texts: Iterable[tuple], world: World, asked: Iterable[str] | None = None) -> tuple[Prepared, ...]:
    """All dishes of a menu, (text, file, key) each and the problems of its file if there are any, or those ``asked`` for."""
    begun = [begin(text, file, key, world, *found) for text, file, key, *found in texts]
    shared = shared_equipment(begun, world)
    told = counted(begun, world)
    wanted = None if asked is None else set(asked)
    return tuple(finish(b, shared, world, told) for b in begun if wanted is None or b.key in wanted)
