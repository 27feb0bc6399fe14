"""The whole road of a dish on one page: read, check, resolve, compute, arrange, hand over.

In: texts.  Out: :class:`Prepared`, everything the documents need, with all problems.
No file is opened and nothing is printed here.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import field, replace
from datetime import date

from . import reading, recipes
from .allergens import contact, guard, offers, statement, sulphites, traces
from .allergens.contact import Shared
from .allergens.guest import Asked
from .allergens.label_kitchen import read_labels
from .allergens.statement import Statement
from .allergens.sulphites import Sum
from .allergens.traces import Trace, Tracer
from .frozen import frozen
from .knowledge import catalogue, colours, laws, taxonomy
from .knowledge.laws import Law
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
    """What all dishes of a kitchen share: its library, the laws in force, the catalogue."""

    kitchen: Kitchen
    pantry: Pantry
    tracer: Tracer
    laws: tuple[Law, ...]
    problems: tuple[Problem, ...]
    cautioner: Cautioner
    of_products: dict[str, tuple[Problem, ...]] = field(default_factory=dict)

    def problems_of(self, *dishes: Resolved) -> tuple[Problem, ...]:
        """The kitchen's problems that touch these dishes: all but those of products which none of them uses."""
        if not self.of_products:
            return self.problems
        used = {key for resolved in dishes for key in recipes.products_in(resolved)}
        ours = {p for key in used for p in self.of_products.get(key, ())}
        others = {p for problems in self.of_products.values() for p in problems} - ours
        return tuple(p for p in self.problems if p not in others)


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
    """A dish ready to be drawn.  ``problems`` hold the kitchen's own as well, as far as they touch it; ``offered`` are its swaps, each as a dish of that one component."""

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
    labels = read_labels(kitchen, known, tree, in_force)
    of_products = {key: list(problems) for key, problems in labels.of_products.items()}
    found += labels.problems
    tracer = Tracer(tree, labels.texts, labels.silent, labels.left_open)
    found += recipes.unknown_names(kitchen)
    cautioner = Cautioner(kitchen.settings, tree)
    for product in kitchen.products.values():
        if faults := (*tracer.label_problems(product), *_label_age(product, kitchen, today)):
            of_products.setdefault(product.key, []).extend(faults)
    found += (p for problems in of_products.values() for p in problems)
    return World(kitchen, Pantry(kitchen, known), tracer, tuple(in_force), in_order([*found, *cautioner.problems]), cautioner,
                 {key: tuple(problems) for key, problems in of_products.items()})


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


def begin(text: str | None, file: str, key: str, world: World) -> Begun:
    """Read, check and resolve one dish."""
    if text is None:
        return Begun(key, file, None, None, ())
    dish, problems = reading.dish(text, file, key)
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


# Faults that leave what they touch in the tree as an unknown, so that nothing is hidden by them.
_SHOWN = {"allergens-not-established", "unknown-ingredient", "unknown-recipe", "unknown-product", "two-candidates", "recipe-loop", "too-deep",
          "unknown-plate", "makes-more-than-goes-in", "no-source"}


def _hides_something(begun: Begun) -> bool:
    """Whether a spec's faults may hide a component or the equipment it goes through."""
    return begun.resolved is None or any(p.is_error and p.slug not in _SHOWN and p.span is not None and p.span.file == begun.file for p in begun.problems)


def finish(begun: Begun, shared: Shared, world: World) -> Prepared:
    """Derive the allergens and lay out the plate of one dish."""
    problems = [*(world.problems if begun.resolved is None else world.problems_of(begun.resolved, *begun.offered)), *begun.problems]
    found: tuple[Trace, ...] = ()
    sums: tuple[Sum, ...] = ()
    statements: tuple[Statement, ...] = ()
    arrangement, schedule = None, None
    minded: tuple[Caution, ...] = ()
    dish, resolved = begun.dish, begun.resolved
    if dish is not None and resolved is not None:
        names = dict(world.kitchen.settings.equipment)
        found = (*world.tracer.dish(resolved), *contact.received(resolved, shared, names))
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
    return Prepared(begun.key, begun.file, dish, resolved, found, sums, statements, arrangement, world, in_order(problems), schedule, minded, shared, begun.offered)


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
    others = [b for b in menu if b.key != key]
    return finish(begun, shared_equipment([begun, *others], world), world)


def prepare_menu(texts: Iterable[tuple[str | None, str, str]], world: World, asked: Iterable[str] | None = None) -> tuple[Prepared, ...]:
    """All dishes of a menu, (text, file, key) each, or those ``asked`` for."""
    begun = [begin(text, file, key, world) for text, file, key in texts]
    shared = shared_equipment(begun, world)
    wanted = None if asked is None else set(asked)
    return tuple(finish(b, shared, world) for b in begun if wanted is None or b.key in wanted)
