"""The whole way of a dish: read, check, resolve, derive, lay out, hand over.

In: texts.  Out: :class:`Prepared`, everything that the documents need, with all problems.
No file is opened and nothing is printed here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, field, replace
from datetime import date

from platecard import reading
from platecard.allergens import (
    acknowledgement,
    basis,
    cross_contact,
    named_foods,
    passage,
    statement,
    sulphites,
    swap_checks,
    traces,
)
from platecard.allergens import claims as claimed
from platecard.allergens.basis import Basis, Counted, Menu
from platecard.allergens.cross_contact import Shared
from platecard.allergens.guests import foods
from platecard.allergens.guests.answers import Asked
from platecard.allergens.labels.kitchen import read_labels
from platecard.allergens.named_foods import NamedFoods
from platecard.allergens.statement import Statement
from platecard.allergens.sulphites import Sum
from platecard.allergens.traces import Link, Trace, Tracer
from platecard.diagnostics import (
    WARNING,
    Problem,
    Span,
    Stage,
    advice,
    arisen,
    did_you_mean,
    error,
    has_errors,
    has_withholding,
    in_order,
    warning,
)
from platecard.knowledge import catalogue, claims, colours, languages, laws, taxonomy
from platecard.knowledge.languages import Language
from platecard.knowledge.laws import Law
from platecard.knowledge.taxonomy import Taxonomy
from platecard.layout import arrange, checks
from platecard.layout.arrange import Arrangement
from platecard.model import Component, Dish, Kitchen, Product, Source, SourceKind, Unknown
from platecard.reading import drafts, sections
from platecard.reading.drafts import Marks
from platecard.recipes import resolve, unknown_names
from platecard.recipes.resolve import Pantry
from platecard.recipes.resolved import Resolved, products_in
from platecard.service import cautions, fire
from platecard.service.cautions import Caution, Cautioner
from platecard.service.fire import Schedule

# A spec as it is handed in: its text (None where the file cannot be read), its file as messages show it, its key, and
# the problems of the file where there are any.
SpecText = tuple[str | None, str, str] | tuple[str | None, str, str, tuple[Problem, ...]]


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


def world(
    library: Iterable[tuple[str, str]],
    folder: str = "shared",
    law_names: tuple[str, ...] = (),
    today: date | None = None,
) -> World:
    """The kitchen from the texts of its library, with the laws in force (or ``law_names`` instead).

    ``today`` is the day from which the age of labels and revisions is counted; without it none is
    too old or still to come.
    """
    tree, own = taxonomy.load()
    known, faults = catalogue.load()
    library = tuple(library)
    sources = dict(library)
    kitchen, problems = reading.kitchen(library, folder)
    makers = claimed.makers_names(kitchen)
    found = [
        *own,
        *faults,
        *claims.lexicon()[1],
        *named_foods.words()[1],
        *problems,
        *claimed.check(kitchen.written, sources, makers),
    ]
    in_force = []
    # Where it is not said which laws apply, any of them may.
    for key in law_names or (kitchen.settings.laws if kitchen.settings.span else laws.names()):
        law, faults = laws.load(key)
        found += faults
        if law is not None:
            in_force.append(law)
        elif not faults:
            found.append(
                error(
                    "unknown-law",
                    kitchen.settings.laws_span,
                    f"there is no law '{key}' on file",
                    did_you_mean(key, laws.names()) or "laws: " + ", ".join(laws.names()),
                )
            )
    spoken, faults = _spoken(kitchen, in_force, tree)
    found += faults
    labels = read_labels(kitchen, known, tree, in_force)
    of_products = {key: list(problems) for key, problems in labels.of_products.items()}
    found += labels.problems
    tracer = Tracer(tree, labels.texts, labels.silent, labels.left_open)
    found += unknown_names.unknown_names(kitchen)
    found += [*passage.oil_in_cleaned(kitchen), *_cleaning_to_come(kitchen, today)]
    cautioner = Cautioner(kitchen.settings, tree)
    for product in kitchen.products.values():
        if faults := (*tracer.label_problems(product), *_label_age(product, kitchen, today)):
            of_products.setdefault(product.key, []).extend(faults)
    found += (p for problems in of_products.values() for p in problems)
    made = World(
        kitchen,
        Pantry(kitchen, known),
        tracer,
        tuple(in_force),
        in_order([*found, *cautioner.problems]),
        cautioner,
        makers,
        NamedFoods(kitchen, sources, known, tree, labels.texts),
        today=today,
        of_products={key: tuple(faults) for key, faults in of_products.items()},
        languages=spoken,
    )
    return in_doubt(made, problems)


def _spoken(
    kitchen: Kitchen, in_force: Iterable[Law], tree: Taxonomy
) -> tuple[tuple[Language, ...], tuple[Problem, ...]]:
    """The languages for guests, and one line for the manager on what was not read in an official text or is lacking."""
    settings = kitchen.settings
    spoken: list[Language] = []
    found: list[Problem] = []
    for key in settings.guest_languages:
        language, faults = languages.load(key)
        found += faults
        spoken += [language] if language is not None else []
    nodes = languages.declared(in_force)
    for language in spoken:
        unread, lacking = language.unofficial(nodes), language.lacking(nodes)
        if not unread and not lacking:
            continue
        none = ", ".join(tree.name(n, settings.language) for n in lacking)
        found.append(
            advice(
                "guest-words-not-official",
                settings.guest_languages_span,
                f"{language.name} for guests: {len(unread)} of {len(nodes) - len(lacking)} names were not read"
                f" in an official text{f'; none is on file for {none}' if none else ''}",
                "they stand beside the English; have somebody who speaks the language look at them",
                f"where each was read: platecard/data/languages/{language.key}.yaml",
            )
        )
    return tuple(spoken), tuple(found)


def in_doubt(world: World, unread: Iterable[Problem]) -> World:
    """The world with the faults of library files that were not read, or not in full.

    Where one of these is an error, every dish is in doubt.
    """
    faults = tuple(unread)
    doubts = (
        Unknown(p.span.file if p.span else world.kitchen.folder, p.span, f"it is not read: {p.message}")
        for p in faults
        if p.is_error
    )
    return replace(
        world, problems=in_order([*world.problems, *faults]), unread=tuple(dict.fromkeys((*world.unread, *doubts)))
    )


def _label_age(product: Product, kitchen: Kitchen, today: date | None) -> tuple[Problem, ...]:
    limit, label = kitchen.settings.label_days, product.label
    if label is None or today is None:
        return ()
    try:
        days = (today - date.fromisoformat(label.read)).days
    except ValueError:
        return ()  # the reader has said so
    if days < 0:
        return (
            warning(
                "label-from-the-future",
                label.span,
                f"the label of {product.called} was read on {label.read}, which is in the future",
                "correct the date",
            ),
        )
    if limit is None or days <= limit:
        return ()
    return (
        warning(
            "label-too-old",
            label.span,
            f"the label of {product.called} was read {days} days ago; the kitchen reads labels every {limit}",
            "read it again",
        ),
    )


def _cleaning_to_come(kitchen: Kitchen, today: date | None) -> list[Problem]:
    """An error for each piece of equipment whose cleaning was checked on a day that is still to come."""
    return [
        error(
            "cleaning-from-the-future",
            gear.cleaned.span,
            f"the cleaning of '{gear.key}' was checked on {gear.cleaned.checked}, which is in the future",
            "correct the date",
        )
        for gear in kitchen.settings.gear
        if gear.cleaned and today and gear.cleaned.checked > today.isoformat()
    ]


def begin(text: str | None, file: str, key: str, world: World, found: tuple[Problem, ...] = ()) -> Begun:
    """Read, check and resolve one dish.

    ``found`` are the problems of its file; ``text`` is None where the file cannot be read.
    """
    if text is None:
        return Begun(key, file, None, None, found)
    marks = drafts.marks(text)
    dish, words, problems = reading.dish_with_words(text, file, key)
    problems = (*found, *problems, *claimed.check(words, {file: text}, world.makers))
    if dish is None:
        return Begun(key, file, None, None, problems, marks=marks)
    if dish.is_draft and not marks.is_draft:
        problems = (
            *problems,
            warning(
                "draft-not-first",
                dish.span,
                "it is marked as a draft, but not on its first line, the only one that counts if the file cannot be"
                " read",
                "move draft: true to its first line",
            ),
        )
    marks = Marks(marks.is_draft or dish.is_draft, marks.is_trial or dish.is_trial)
    resolved, found = resolve.resolve(dish, world.pantry)
    unsure = traces.not_established(resolved, world.tracer.taxonomy, world.kitchen.folder)
    offered, faults = _offered(dish, world)
    named = world.named.check(resolved, offered, words, text)
    problems = (*problems, *found, *unsure, *faults, *named, *_to_come(dish, world.today))
    return Begun(key, file, dish, resolved, problems, offered, _hides(problems, file, text), marks)


def of_recipes(world: World) -> tuple[Problem, ...]:
    """The problems of the library's recipes as they are met when a dish uses them, for a kitchen without dishes."""
    found: list[Problem] = []
    for key, recipe in world.kitchen.recipes.items():
        part = Component(key, key, Source(SourceKind.RECIPE, key, recipe.span), "", recipe.span)
        dish = Dish(key, key, recipe.span, "", "", None, "", recipe.span, (), (part,), (), ())
        resolved, faults = resolve.resolve(dish, world.pantry)
        found += [*faults, *traces.not_established(resolved, world.tracer.taxonomy, world.kitchen.folder)]
    return in_order(found)


def _to_come(dish: Dish, today: date | None) -> tuple[Problem, ...]:
    """A warning for a revision dated in the future: every card printed until then would look new."""
    said = dish.revision
    if said is None or today is None:
        return ()
    try:
        is_to_come = date.fromisoformat(said.date) > today
    except ValueError:
        return ()  # the reader has said so
    if not is_to_come:
        return ()
    return (
        warning(
            "revision-from-the-future",
            said.span,
            f"revision {said.number} is dated {said.date}, which is in the future",
            "correct the date",
        ),
    )


def _offered(dish: Dish, world: World) -> tuple[tuple[Resolved, ...], tuple[Problem, ...]]:
    """Each swap that the dish offers, as a dish of that one component: for other guests it goes through equipment."""
    made: list[Resolved] = []
    problems: list[Problem] = []
    for component in dish.components:
        for swap in component.swaps:
            stand_in = replace(component, source=swap.use, called=swap.called, swaps=())
            alone, found = resolve.resolve(replace(dish, components=(stand_in,)), world.pantry)
            # Plate, station and equipment are reported for the dish itself.
            found = tuple(p for p in found if p.slug not in ("unknown-plate", "unknown-station", "unknown-equipment"))
            # The steps weigh the usual pieces; those of a swap may be lighter, so this is only a warning.
            problems += [
                (
                    replace(p, severity=WARNING)
                    if p.slug == "makes-more-than-goes-in" and p.span is not None and p.span.file == dish.span.file
                    else p
                )
                for p in found
            ]
            problems += [
                replace(p, severity=WARNING)
                for p in traces.not_established(alone, world.tracer.taxonomy, world.kitchen.folder)
            ]
            made.append(alone)
    return tuple(made), tuple(problems)


def shared_equipment(menu: Iterable[Begun], world: World) -> Shared:
    """What each piece of equipment passes on, over the whole menu.

    A draft sends nothing through it unless it is on trial.
    """
    menu, kitchen = tuple(b for b in menu if b.marks.counts), world.kitchen
    doubted = [_doubt(b) for b in menu if b.hides]
    # Nor is it known what a recipe with misspelt equipment goes through, whoever uses it.
    doubted += [
        (
            f"{r.called} ({r.span.file}: equipment that the kitchen does not have)",
            Unknown(r.called, r.span, "which equipment it goes through is not known"),
        )
        for r in kitchen.recipes.values()
        if unknown_names.unknown_gear(r.equipment, r.span, kitchen.settings)
    ]
    served = [r for b in menu if b.resolved is not None for r in (b.resolved, *b.offered)]
    return cross_contact.handed_on(served, passage.Kit.of(kitchen).doubted(served), world.tracer, doubted)


def _doubt(begun: Begun) -> tuple[str, Unknown]:
    """A spec whose faults hide what goes through what: its name in words, and what is not known about it."""
    why = "could not be read" if begun.dish is None else "has errors"
    name = f"{begun.dish.title} ({begun.file}: {why})" if begun.dish is not None else f"{begun.file} ({why})"
    if not (name.isascii() and name.isprintable()):
        # Other dishes' cards print this name, and their font may lack its letters.  Imported late, as it is rare.
        from platecard.drawing import fonts

        name = fonts.spelt_out(name)
    return name, Unknown(
        begun.file, Span(begun.file), "what it puts through the equipment is not known until its errors are put right"
    )


def counted(menu: Iterable[Begun], world: World) -> Menu:
    """The menu as it was counted for shared equipment; what each dish relies on is worked out from it."""
    gear = {g.key for g in world.kitchen.settings.gear if not g.touches}
    return basis.counted(
        (
            (
                Counted(b.key, b.dish.title if b.dish else b.key, b.file, not b.hides),
                (b.resolved, *b.offered) if b.resolved else (),
            )
            for b in menu
            if b.marks.counts
        ),
        lambda equipment: equipment not in gear,
    )


# Faults that leave what they touch in the tree as an unknown, so they hide nothing.
SHOWN = {
    "bad-file-name",
    "allergens-not-established",
    "unknown-ingredient",
    "unknown-product",
    "two-candidates",
    "recipe-loop",
    "unknown-plate",
    "makes-more-than-goes-in",
    "no-source",
    "impossible-figure",
    "amount-of-nothing",
    "zero-weight",
    "no-such-year",
    "claims-absence",
    "unprintable-character",
}


# Faults that hide what a recipe goes through, whatever file of the library they are in.
_HIDDEN_RECIPE = {"unknown-recipe", "too-deep"}


def _hides(problems: Iterable[Problem], file: str, text: str) -> bool:
    """Whether these faults of a dish may hide a component, or the equipment that it goes through."""
    return any(
        p.is_error
        and (
            p.slug in _HIDDEN_RECIPE
            or (
                p.slug not in SHOWN
                and p.span is not None
                and p.span.file == file
                and not sections.hides_no_food(text, p.span.line)
            )
        )
        for p in problems
    )


# The menu of a dish that is looked at by itself.
NO_MENU = Menu()


def finish(begun: Begun, shared: Shared, world: World, menu: Menu = NO_MENU) -> Prepared:
    """Derive the allergens and lay out the plate of one dish; ``menu`` is what :func:`counted` returned."""
    problems = [
        *(world.problems if begun.resolved is None else world.problems_of(begun.resolved, *begun.offered)),
        *begun.problems,
    ]
    found: tuple[Trace, ...] = ()
    sums: tuple[Sum, ...] = ()
    statements: tuple[Statement, ...] = ()
    arrangement, schedule = None, None
    minded: tuple[Caution, ...] = ()
    stands_on = Basis(
        (begun.file,),
        menu.dishes,
        unread=(Unknown(begun.file, Span(begun.file), "the spec cannot be read"), *world.unread),
    )
    dish, resolved = begun.dish, begun.resolved
    if dish is not None and resolved is not None:
        names = dict(world.kitchen.settings.equipment)
        found = (*world.tracer.dish(resolved), *cross_contact.received(resolved, shared, names), *_doubts(dish, world))
        kitchen = world.kitchen.settings.span
        stands_on = basis.of(begun.key, resolved, menu, kitchen.file if kitchen else "", names, world.unread, found)
        sums = sulphites.sums(resolved, world.tracer.taxonomy, world.tracer.texts)
        relies_on = cross_contact.relied_on(resolved, shared, names)
        statements = _declared(dish, found, sums, world, relies_on)
        found = (*found, *acknowledgement.traces(statements))
        problems += cross_contact.misused(resolved, world.kitchen.settings.only_for, names)
        problems += passage.uncounted(resolved, shared.kit, names)
        if begun.offered:
            problems += swap_checks.check(
                dish, begun.offered, Asked(resolved, world.pantry, world.tracer, shared, names)
            )
        if not has_errors(problems):
            problems += acknowledgement.check(dish, statements, world.tracer.taxonomy)
            problems += [_open(law, dish) for law in statements if not law.established_in_itself]
            problems += _open_over_equipment(dish, statements)
        problems += [
            warning(
                "kind-not-established",
                dish.span,
                f"{law.law.name} asks which kind of {f.declared_as} it is, but no ingredient says",
                *(f"{c[-1].words}" for c in f.reasons[:2]),
            )
            for law in statements
            for f in law.findings
            if f.kind_open
        ]
        problems += colours.check(dish, resolved.plate)
        schedule, faults = fire.of(dish, world.kitchen.settings)
        problems += arisen(Stage.SERVICE, faults)
        minded = world.cautioner.of(resolved)
        problems += arisen(Stage.SERVICE, cautions.problems(minded))
        if resolved.plate is not None:
            arrangement, faults = arrange.place(dish, resolved.plate)
            problems += arisen(Stage.LAYOUT, (*faults, *checks.check(arrangement, dish)))
    told = () if resolved is None else tuple(t.says for t in foods.reactions(resolved, world.tracer))
    return Prepared(
        begun.key,
        begun.file,
        dish,
        resolved,
        found,
        sums,
        statements,
        arrangement,
        world,
        in_order(problems),
        schedule,
        minded,
        shared,
        begun.offered,
        stands_on,
        told,
        begun.marks.is_draft,
    )


def _declared(
    dish: Dish, found: tuple[Trace, ...], sums: tuple[Sum, ...], world: World, relies_on: tuple[str, ...] = ()
) -> tuple[Statement, ...]:
    """What each law in force declares of a dish, including what is on the record of this revision."""
    tree, language = world.tracer.taxonomy, world.kitchen.settings.language

    def deriving(law: Law) -> Callable[[tuple[Trace, ...]], Statement]:
        return lambda more: statement.derive((*found, *more), sums, law, tree, language, relies_on)

    return tuple(acknowledgement.with_record(dish, deriving(law), tree) for law in world.laws)


def on_record(begun: Begun, world: World) -> tuple[Trace, ...]:
    """What is on the record of this revision and no longer follows from the dish's own ingredients.

    The regular plate counts as containing it.
    """
    dish, resolved = begun.dish, begun.resolved
    if dish is None or resolved is None or not acknowledgement.is_of_this_revision(dish):
        return ()
    sums = sulphites.sums(resolved, world.tracer.taxonomy, world.tracer.texts)
    return acknowledgement.traces(_declared(dish, world.tracer.dish(resolved), sums, world))


def not_finished(begun: Begun, world: World, exc: Exception) -> Prepared:
    """A dish that could not be prepared because of an unforeseen exception: nothing about it is established."""
    unread = (Unknown(begun.file, Span(begun.file), "it could not be worked out"), *world.unread)
    problems = in_order([*world.problems, *begun.problems, _not_prepared(begun.file, exc)])
    return Prepared(
        begun.key, begun.file, None, None, (), (), (), None, world, problems, basis=Basis((begun.file,), unread=unread)
    )


def not_begun(file: str, key: str, exc: Exception) -> Begun:
    """A spec that could not be read because of an unforeseen exception: it may hold anything."""
    return Begun(key, file, None, None, (_not_prepared(file, exc),))


def _not_prepared(file: str, exc: Exception) -> Problem:
    said = " ".join(f"{type(exc).__name__}: {exc}".split())[:200]
    return error(
        "not-prepared",
        Span(file),
        f"what is in the dish and how it is plated cannot be worked out: {said}",
        "undo the last change to the dish, and please report this: it is a fault in platecard",
    )


def _doubts(dish: Dish, world: World) -> tuple[Trace, ...]:
    """What the unread files of the library leave open: anything."""
    return tuple(
        Trace("", traces.UNKNOWN, "", (Link(dish.title, dish.span), Link(f"{u.name}: {u.why}", u.span)))
        for u in world.unread[: traces.MAX_CHAINS]
    )


def _open(law: Statement, dish: Dish) -> Problem:
    """The error for what a law asks for and cannot be established, with what prevents it."""
    found = [f for f in law.with_presence(traces.UNKNOWN) if f.is_own]
    causes = dict.fromkeys(" > ".join(link.words for link in chain) for f in found for chain in f.reasons)
    return error(
        "allergens-not-established",
        dish.span,
        f"{law.law.name}: not established: {_listed(f.declared_as for f in found)}",
        *list(causes)[:3],
    )


def _open_over_equipment(dish: Dish, statements: tuple[Statement, ...]) -> list[Problem]:
    """A warning for each source over shared equipment that leaves allergens open; the card says so and is drawn."""
    found: dict[str, list[statement.Finding]] = {}
    for law in statements:
        for f in law.with_presence(traces.UNKNOWN):
            if not f.is_own:
                found.setdefault(f.over, []).append(f)
    everything = len(found) == 1 and all(law.all_open for law in statements)
    problems = []
    for over, same in found.items():
        named = "any other allergen" if everything else _listed(f.declared_as for f in same)
        problems.append(
            warning(
                "open-over-equipment",
                dish.span,
                f"not established over shared equipment: {named}, from the {over}",
                " > ".join(link.words for link in same[0].reasons[0][1:]),
                "settle that, or give this dish equipment of its own; until then the answer to a guest is: not"
                " established",
            )
        )
    return problems


def _listed(words: Iterable[str]) -> str:
    names = list(dict.fromkeys(words))
    return ", ".join(names[:6]) + (f" and {len(names) - 6} more" if len(names) > 6 else "")


def prepare(text: str, file: str, key: str, world: World, menu: Iterable[Begun] = ()) -> Prepared:
    """Prepare one dish from its text; ``menu`` are the other dishes that it shares equipment with."""
    begun = begin(text, file, key, world)
    everything = [begun, *(b for b in menu if b.key != key)]
    return finish(begun, shared_equipment(everything, world), world, counted(everything, world))


def prepare_menu(texts: Iterable[SpecText], world: World, asked: Iterable[str] | None = None) -> tuple[Prepared, ...]:
    """Every dish of a menu from the texts of its specs, or only those ``asked`` for by key."""
    begun = [begin(text, file, key, world, *found) for text, file, key, *found in texts]
    shared = shared_equipment(begun, world)
    told = counted(begun, world)
    wanted = None if asked is None else set(asked)
    return tuple(finish(b, shared, world, told) for b in begun if wanted is None or b.key in wanted)
