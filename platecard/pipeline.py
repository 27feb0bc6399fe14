"""The whole way of a dish: read, check, resolve, derive, lay out, hand over.

In: texts.  Out: :class:`Prepared`, everything that the documents need, with all problems.
No file is opened and nothing is printed here.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import replace
from datetime import date

from platecard import reading
from platecard.allergens import (
    acknowledgement,
    basis,
    cross_contact,
    derivation,
    law_age,
    named_foods,
    passage,
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
from platecard.allergens.open_findings import not_established, not_required, open_kinds, over_equipment
from platecard.allergens.statement import Statement
from platecard.allergens.sulphites import Sum
from platecard.allergens.traces import Link, Trace, Tracer
from platecard.diagnostics import (
    Problem,
    Span,
    Stage,
    advice,
    arisen,
    did_you_mean,
    error,
    has_withholding,
    in_order,
    warning,
)
from platecard.drawing import fonts
from platecard.knowledge import catalogue, claims, colours, duties, languages, laws, taxonomy
from platecard.knowledge.languages import Language
from platecard.knowledge.laws import Law
from platecard.knowledge.taxonomy import Taxonomy
from platecard.layout import arrange, checks
from platecard.model import Component, Dish, Kitchen, Plate, Source, SourceKind, Unknown
from platecard.prepared import Begun, Prepared, World
from platecard.reading import drafts
from platecard.reading.dates import cleaning_to_come, label_age, revision_to_come
from platecard.reading.drafts import Marks
from platecard.reading.hidden import hides_food
from platecard.recipes import appearance, resolve, unknown_names
from platecard.recipes.resolve import Pantry
from platecard.recipes.resolved import Resolved, products_in
from platecard.service import cautions, fire
from platecard.service.cautions import Caution, Cautioner

# A spec as it is handed in: its text (None where the file cannot be read), its file as messages show it, its key, and
# the problems of the file where there are any.
SpecText = tuple[str | None, str, str] | tuple[str | None, str, str, tuple[Problem, ...]]


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
                    did_you_mean(key, laws.names()) or "write one of: " + ", ".join(laws.names()),
                )
            )
    spoken, faults = _spoken(kitchen, in_force, tree)
    found += faults
    found += [*duties.load()[1], *law_age.check(in_force, kitchen.settings, today)]
    labels = read_labels(kitchen, known, tree, in_force)
    of_products = {key: list(problems) for key, problems in labels.of_products.items()}
    found += labels.problems
    tracer = Tracer(tree, labels.texts, labels.silent, labels.left_open, labels.uncapped)
    found += unknown_names.unknown_names(kitchen)
    found += [*passage.oil_in_cleaned(kitchen), *cleaning_to_come(kitchen, today)]
    cautioner = Cautioner(kitchen.settings, tree)
    for product in kitchen.products.values():
        if faults := (*tracer.label_problems(product), *label_age(product, kitchen, today)):
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
    told = []
    for language in spoken:
        unread, lacking = language.unofficial(nodes), language.lacking(nodes)
        none = ", ".join(tree.name(n, settings.language) for n in lacking)
        if unread or lacking:
            told.append(
                f"{language.name}: {len(unread)} of {len(nodes) - len(lacking)} names were not read in an official text"
                + (f", none is on file for {none}" if none else "")
            )
    if told:
        found.append(
            advice(
                "guest-words-not-official",
                settings.guest_languages_span,
                f"words for guests: {'; '.join(told)}",
                "they stand beside the English; have somebody who speaks the language look at them",
                "where each was read: platecard/data/languages",
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
        if p.is_error and p.withholds
    )
    return replace(
        world, problems=in_order([*world.problems, *faults]), unread=tuple(dict.fromkeys((*world.unread, *doubts)))
    )


def begin(text: str | None, file: str, key: str, world: World, found: tuple[Problem, ...] = ()) -> Begun:
    """Read, check and resolve one dish.

    ``found`` are the problems of its file; ``text`` is None where the file cannot be read.
    """
    if text is None:
        return Begun(key, file, None, None, found)
    marks = drafts.marks(text)
    dish, words, problems = reading.dish(text, file, key)
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
    unsure = traces.not_established(resolved, world.tracer.taxonomy, world.kitchen)
    offered, faults = swap_checks.stand_ins(dish, world.pantry, world.tracer.taxonomy)
    # Whatever its texts name may be what could not be found, or what a label that could not be read lists.
    is_open = bool(traces.unknowns(resolved)) or any(
        world.kitchen.products[key].label_has_errors for one in (resolved, *offered) for key in products_in(one)
    )
    named = () if is_open else world.named.check(resolved, offered, words, text)
    problems = (*problems, *found, *unsure, *faults, *named, *revision_to_come(dish, world.today))
    return Begun(key, file, dish, resolved, problems, offered, hides_food(problems, file, text), marks)


def of_recipes(world: World) -> tuple[Problem, ...]:
    """The problems of the library's recipes as they are met when a dish uses them, for a kitchen without dishes."""
    found: list[Problem] = []
    for key, recipe in world.kitchen.recipes.items():
        part = Component(key, key, Source(SourceKind.RECIPE, key, recipe.span), "", recipe.span)
        dish = Dish(key, key, recipe.span, "", "", None, "", recipe.span, (), (part,), (), ())
        resolved, faults = resolve.resolve(dish, world.pantry)
        found += [*faults, *traces.not_established(resolved, world.tracer.taxonomy, world.kitchen)]
    return in_order(_told_once([*world.problems, *found]))


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
    return fonts.spelt_out(name), Unknown(
        begun.file, Span(begun.file), "what it puts through the equipment is not known until its errors are put right"
    )


def counted(menu: Iterable[Begun], world: World) -> Menu:
    """The menu as it was counted for shared equipment; what each dish relies on is worked out from it."""
    gear = {g.key for g in world.kitchen.settings.gear if not g.touches}
    return basis.counted(
        (
            (
                # Spelt out, because it is printed on other dishes' cards.
                Counted(b.key, fonts.spelt_out(b.dish.title if b.dish else b.key), b.file, not b.hides),
                (b.resolved, *b.offered) if b.resolved else (),
            )
            for b in menu
            if b.marks.counts
        ),
        lambda equipment: equipment not in gear,
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
        sums = sulphites.sums(resolved, world.tracer.taxonomy, world.tracer.texts, world.tracer.uncapped)
        relies_on = cross_contact.relied_on(resolved, shared, names)
        statements = _declared(dish, found, sums, world, relies_on)
        found = (*found, *acknowledgement.traces(statements))
        problems += cross_contact.misused(resolved, world.kitchen.settings.only_for, names)
        problems += passage.uncounted(resolved, shared.kit, names)
        if begun.offered:
            problems += swap_checks.check(
                dish, begun.offered, Asked(resolved, world.pantry, world.tracer, shared, names)
            )
        if not has_withholding(problems):
            problems += [not_established(law, dish) for law in statements if not law.established_in_itself]
            if not has_withholding(problems):
                problems += acknowledgement.check(dish, statements, world.tracer.taxonomy)
            problems += over_equipment(dish, statements)
            problems += [not_required(law, dish) for law in statements if law.open_in_itself(required=False)]
        problems += open_kinds(dish, statements)
        problems += colours.check(dish, resolved.plate)
        schedule, faults = fire.of(dish, world.kitchen.settings)
        problems += arisen(Stage.SERVICE, faults)
        minded = world.cautioner.of(resolved)
        problems += arisen(Stage.SERVICE, cautions.problems(minded))
        if resolved.plate is not None:
            arrangement, faults = lay(dish, resolved.plate, resolved, begun.offered)
            problems += arisen(Stage.LAYOUT, (*faults, *checks.check(arrangement, dish)))
    told = foods.also_told(dish, resolved, world.tracer)
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
        in_order(_told_once(problems)),
        schedule,
        minded,
        shared,
        begun.offered,
        stands_on,
        told,
        begun.marks.is_draft,
    )


def lay(
    dish: Dish, plate: Plate, resolved: Resolved, offered: Iterable[Resolved]
) -> tuple[arrange.Arrangement, tuple[Problem, ...]]:
    """The dish laid on its plate, with what decides how its parts and its swaps look, and the problems met."""
    arrangement, faults = arrange.place(dish, plate)
    return arrangement._replace(looks=appearance.of(resolved, *offered)), faults


# Errors of a dish whose cause is told where it is, in a file of the library, and is an error of every dish.
_TOLD_BY_THEIR_FILE = {"recipe-unread", "product-unread", "plate-unread", "label-unread"}


def _told_once(problems: Iterable[Problem]) -> list[Problem]:
    """The problems without those whose cause is among them."""
    problems = list(problems)
    causes = [p for p in problems if p.slug not in _TOLD_BY_THEIR_FILE]
    return causes if has_withholding(causes) else problems


def _declared(
    dish: Dish, found: tuple[Trace, ...], sums: tuple[Sum, ...], world: World, relies_on: tuple[str, ...] = ()
) -> tuple[Statement, ...]:
    """What each law in force declares of a dish, including what is on the record of this revision."""
    tree, language = world.tracer.taxonomy, world.kitchen.settings.language

    def deriving(law: Law) -> Callable[[tuple[Trace, ...]], Statement]:
        return lambda more: derivation.derive((*found, *more), sums, law, tree, language, relies_on)

    return tuple(acknowledgement.with_record(dish, deriving(law), tree) for law in world.laws)


def on_record(begun: Begun, world: World) -> tuple[Trace, ...]:
    """What is on the record of this revision and no longer follows from the dish's own ingredients.

    The regular plate counts as containing it.
    """
    dish, resolved = begun.dish, begun.resolved
    if dish is None or resolved is None or not acknowledgement.is_of_this_revision(dish):
        return ()
    sums = sulphites.sums(resolved, world.tracer.taxonomy, world.tracer.texts, world.tracer.uncapped)
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
