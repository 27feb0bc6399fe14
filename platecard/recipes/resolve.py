"""Dish and kitchen to a resolved dish: every gram traced through every sub-recipe.

In: :class:`~platecard.model.Dish`, :class:`~platecard.model.Kitchen` and the
catalogue.  Out: :class:`Resolved`, a tree that ends in catalogue entries, products
and unknowns.  A recipe is resolved once, for one batch, and shared by everything that uses
it, so depth and repetition cost nothing; each use holds its share of the
batch.  A mass that cannot be known is None, never zero, and the use says why.
"""

from __future__ import annotations

import re
from fractions import Fraction

from platecard.diagnostics import Problem, Span, did_you_mean, error, meant, nearest, warning
from platecard.knowledge import claims
from platecard.knowledge.catalogue import Catalogue
from platecard.knowledge.names import fold
from platecard.model import Dish, Kitchen, Product, Recipe, RecipeLine, Source, SourceKind, Unknown
from platecard.quantities import amounts
from platecard.quantities.amounts import known_or_none
from platecard.quantities.units import Quantity
from platecard.recipes import balance
from platecard.recipes.on_plate import on_plate
from platecard.recipes.resolved import Batch, Bought, Food, Part, Resolved, Use, What, entry_of, within_dish
from platecard.recipes.unknown_names import no_product, not_in_pantry, unknown_gear, unknown_station
from platecard.recipes.weights import grams_and_share, measures_of_recipe, most_times, why_unknown

# No kitchen nests deeper, and every stage walks the tree down to its leaves.
MAX_NESTED = 100


class Pantry:
    """The kitchen's names, folded once, with the batches resolved so far."""

    def __init__(self, kitchen: Kitchen, catalogue: Catalogue):
        self.kitchen = kitchen
        self.catalogue = catalogue
        self.problems: dict[str, tuple[Problem, ...]] = {}
        self.batches: dict[str, Batch | Unknown] = {}
        self.depths: dict[str, int] = {}
        self.products: dict[str, list[str]] = {}
        for key, product in kitchen.products.items():
            for name in dict.fromkeys(fold(n) for n in (key.replace("-", " "), product.called, *product.also)):
                self.products.setdefault(name, []).append(key)


def resolve(dish: Dish, pantry: Pantry) -> tuple[Resolved, tuple[Problem, ...]]:
    """The dish resolved against the kitchen, with a problem for every name that leads nowhere."""
    problems: list[Problem] = []
    parts = []
    for component in dish.components:
        what = _find(component.source, pantry, problems, ())
        mass, share, doubt = on_plate(component.key, what, dish.steps, problems)
        amount = known_or_none(mass)
        parts.append(
            Part(
                component,
                Use(
                    what,
                    component.called,
                    component.source.span,
                    amount,
                    amount,
                    share,
                    max(
                        (most_times(what, s.amount) for s in dish.steps if s.put == component.key), default=Fraction(1)
                    ),
                    why_unknown(mass),
                    doubt,
                ),
            )
        )
    plate = pantry.kitchen.plates.get(dish.plate)
    if plate is None and dish.plate:
        problems.append(_no_plate(dish, pantry.kitchen))
    for component in dish.components:
        problems += unknown_station(
            component.station, component.station_span or component.span, pantry.kitchen.settings
        )
        problems += unknown_gear(
            component.equipment, component.equipment_span or component.span, pantry.kitchen.settings
        )
        for step in component.finish:
            problems += unknown_gear(step.on, step.place("on"), pantry.kitchen.settings)
    # A fault inside a shared recipe is reported once for every dish that uses it.
    resolved = Resolved(dish, tuple(parts), plate)
    for key in sorted(what.recipe.key for what in within_dish(resolved) if isinstance(what, Batch)):
        problems += pantry.problems.get(key, ())
    return resolved, tuple(problems)


def _no_plate(dish: Dish, kitchen: Kitchen) -> Problem:
    known, name, file = kitchen.plates, dish.plate, f"{kitchen.folder}/plates.yaml"
    if kitchen.is_unread("plate", name):
        return _unread("plate", name, dish.plate_span)
    if "plates" not in kitchen.kinds:
        key = name if name.replace("-", "").isalnum() else "dinner"
        return error(
            "unknown-plate",
            dish.plate_span,
            f"{file} is missing or cannot be read, so there is no plate '{name}'",
            "write it with what you measure on the plate, as in one line: "
            f"plates: {{{key}: {{called: Dinner plate, form: rimmed, outer: 270 mm, well: 190 mm}}}}",
        )
    called = [key for key, plate in known.items() if fold(plate.called) == fold(name)]
    hint = (
        meant(called)
        or did_you_mean(name, known)
        or (f"write one of its plates: {', '.join(sorted(known))}; or add it there" if known else "add it there")
    )
    return error("unknown-plate", dish.plate_span, f"there is no plate '{name}' in {file}", hint)


def _unread(kind: str, key: str, span: Span) -> Problem:
    """The error of a name whose own file or entry has errors; these are told, and it is not told beside them."""
    return error(
        f"{kind}-unread", span, f"the {kind} '{key}' may be in a file that has errors", "put those right first"
    )


def _find(source: Source, pantry: Pantry, problems: list[Problem], inside: tuple[str, ...]) -> What:
    """What a source stands for; ``inside`` are the recipes that it is in, outermost first."""
    if source.kind == SourceKind.RECIPE:
        return _batch(source, pantry, problems, inside)
    if source.kind == SourceKind.PRODUCT:
        product = pantry.kitchen.products.get(source.name)
        if product is not None:
            return _bought(product, pantry, problems)
        problems.append(
            _unread("product", source.name, source.span)
            if pantry.kitchen.is_unread("product", source.name)
            else no_product(source.name, source.span, pantry.kitchen)
        )
    elif source.kind == SourceKind.INGREDIENT:
        return _ingredient(source, pantry, problems)
    return Unknown(
        claims.shown(source.name) if source.name else "something unnamed", source.span, "it is not known what it is"
    )


def _ingredient(source: Source, pantry: Pantry, problems: list[Problem]) -> Food:
    keys = pantry.products.get(fold(source.name), ())
    if len(keys) == 1:
        return _bought(pantry.kitchen.products[keys[0]], pantry, problems)
    found = pantry.catalogue.find_plain(source.name) if not keys else None
    if found and found.entry:
        if found.read_as:
            problems.append(
                warning(
                    "read-as",
                    source.span,
                    f"'{source.name}' is read as '{found.read_as}'",
                    "write it that way, to be sure",
                )
            )
        return found.entry.as_written(source.name)
    candidates = tuple(keys) if found is None else found.candidates
    if candidates:
        hint = "write which one" if len(candidates) > 1 else "write it that way, if that is what you mean"
        if len(candidates) > 1 and "(" in source.name:
            hint = "the name in brackets has to be one of the same food: take out the wrong one"
        problems.append(
            error("two-candidates", source.span, f"'{source.name}' could be {' or '.join(candidates)}", hint)
        )
        return Unknown(claims.shown(source.name), source.span, "it could be more than one thing")
    close = tuple(
        dict.fromkeys(
            (
                *pantry.catalogue.near(source.name),
                *(
                    pantry.kitchen.products[pantry.products[name][0]].called
                    for name in nearest(fold(source.name), tuple(pantry.products))
                ),
            )
        )
    )
    add = f"enter it as a product with its label in {pantry.kitchen.folder}/pantry.yaml"
    problems.append(
        _unread("product", source.name, source.span)
        if pantry.kitchen.is_unread("product", source.name) and not close
        else error(
            "unknown-ingredient",
            source.span,
            f"unknown ingredient '{source.name}'",
            meant(close[:3]),
            f"or {add}" if close else add,
        )
    )
    return Unknown(claims.shown(source.name), source.span, "this ingredient is not known")


def _bought(product: Product, pantry: Pantry, problems: list[Problem]) -> Bought | Unknown:
    if product.either:
        others = [pantry.kitchen.products.get(key) for key, _ in product.either]
        single = [other for other in others if other is not None and not other.either]
        problems += not_in_pantry(product, pantry.kitchen)
        if len(single) < len(others):
            return Unknown(product.called, product.span, "one of the products that it may be is not in the pantry")
        bought: list[Bought] = []
        unknown: list[Unknown] = []
        for other in single:
            one = _bought(other, pantry, problems)
            if isinstance(one, Bought):
                bought.append(one)
            else:
                unknown.append(one)
        return unknown[0] if unknown else Bought(product, None, tuple(bought))
    if not product.is_a:
        return Bought(product, None)
    found = pantry.catalogue.find(product.is_a)
    if found.entry is None:
        said = (
            f"'{product.called}' is '{product.is_a}', which"
            f" {'could be ' + ' or '.join(found.candidates) if found.candidates else 'the catalogue does not know'}"
        )
        close = pantry.catalogue.near(product.is_a)
        problems.append(
            error(
                "unknown-ingredient",
                product.is_a_span or product.span,
                said,
                meant(close, "leave 'is' out if nothing in the catalogue fits"),
            )
        )
        return Unknown(product.shown, product.span, "what it is, is not in the catalogue")
    return Bought(product, found.entry.as_written(product.is_a))


def _batch(source: Source, pantry: Pantry, problems: list[Problem], inside: tuple[str, ...]) -> Batch | Unknown:
    key = _recipe_key(source, pantry, problems)
    recipe = pantry.kitchen.recipes.get(key)
    if recipe is None:
        problems.append(
            _unread("recipe", key, source.span)
            if pantry.kitchen.is_unread("recipe", key)
            else error(
                "unknown-recipe",
                source.span,
                f"there is no recipe '{key}' in {pantry.kitchen.folder}/recipes",
                did_you_mean(key, pantry.kitchen.recipes)
                or f"write it as {pantry.kitchen.folder}/recipes/{_plainly(key)}.yaml",
            )
        )
        return Unknown(key, source.span, "there is no such recipe")
    if key in inside:
        loop = [*inside[inside.index(key) :], key]
        problems.append(
            error(
                "recipe-loop",
                source.span,
                f"a recipe that contains itself: {', which uses '.join(loop)}",
                *_ways_out(pantry.kitchen, loop),
            )
        )
        return Unknown(key, source.span, "the recipe contains itself")
    if len(inside) + pantry.depths.get(key, 1) > MAX_NESTED:
        problems.append(error("too-deep", source.span, f"recipes are nested more than {MAX_NESTED} deep"))
        return Unknown(key, source.span, "the recipes are nested too deep")
    if key not in pantry.batches:
        own: list[Problem] = []
        lines = tuple(_line(line, pantry, own, (*inside, key)) for line in recipe.lines)
        pantry.batches[key] = _made(recipe, lines, own)
        pantry.problems[key] = tuple(own)
        pantry.depths[key] = 1 + max(
            (pantry.depths[line.what.recipe.key] for line in lines if isinstance(line.what, Batch)), default=0
        )
    return pantry.batches[key]


def _recipe_key(source: Source, pantry: Pantry, problems: list[Problem]) -> str:
    """The name of a recipe as its file has it, where the two differ only in capitals or hyphens."""
    known = pantry.kitchen.recipes
    if source.name in known:
        return source.name
    alike = [key for key in known if _plainly(key) == _plainly(source.name)]
    if len(alike) != 1:
        return source.name
    problems.append(
        warning(
            "read-as",
            source.span,
            f"'{source.name}' is read as the recipe '{alike[0]}'",
            "write the name of the file here, or rename the file",
        )
    )
    return alike[0]


def _plainly(name: str) -> str:
    return re.sub(r"[\s_-]+", "-", name.casefold())


def _made(recipe: Recipe, lines: tuple[Use, ...], problems: list[Problem]) -> Batch:
    mass = known_or_none(amounts.of(recipe.makes, amounts.G, measures_of_recipe(recipe)))
    goes_in = tuple(_going_in(line, use) for line, use in zip(recipe.lines, lines))
    found = balance.of(recipe, mass, goes_in)
    problems += found.problems
    return Batch(recipe, lines, mass, found.weighed_g, found.most_g, found.doubt)


def _going_in(line: RecipeLine, use: Use) -> balance.Input:
    inner = use.what if isinstance(use.what, Batch) else None
    most = use.share * use.most * inner.most_g if inner is not None and use.share is not None else None
    entry = entry_of(use.what)
    return balance.Input(line, use.called, use.kept_g, most, inner is not None, entry is not None and entry.liquid)


def _ways_out(kitchen: Kitchen, loop: list[str]) -> tuple[str, ...]:
    """The lines of which one has to be another, so that a recipe does not contain itself."""
    places = []
    for user, used in zip(loop, loop[1:]):
        lines = kitchen.recipes[user].lines
        line = next(
            x for x in lines if x.source.kind == SourceKind.RECIPE and _plainly(x.source.name) == _plainly(used)
        )
        places.append(f"{line.source.span} ({user} uses {used})")
    return (f"correct {'this line' if len(places) == 1 else 'one of these lines'}: {'; '.join(places)}",)


def _line(line: RecipeLine, pantry: Pantry, problems: list[Problem], inside: tuple[str, ...]) -> Use:
    what = _find(line.source, pantry, problems, inside)
    called = _name(what, line.source.name)
    amount, share = grams_and_share(what, line.amount)
    mass = known_or_none(amount)
    _mind_ounces(line.amount, what, line, problems)
    return Use(
        what,
        called,
        line.span,
        mass,
        None if mass is None else mass * line.stays,
        share,
        most=most_times(what, line.amount),
        why=why_unknown(amount),
    )


def _name(what: What, written: str) -> str:
    if isinstance(what, Batch):
        return what.recipe.called
    return what.product.shown if isinstance(what, Bought) else claims.shown(written)


def _mind_ounces(amount: Quantity | None, what: What, line: RecipeLine, problems: list[Problem]) -> None:
    entry = entry_of(what)
    if amount and amount.unit == "oz" and entry and entry.liquid:
        problems.append(
            warning(
                "ounces-of-a-liquid",
                line.amount_span or line.span,
                f"'{amount.text}' of {line.source.name} is read as a weight",
                "if it is measured by volume, write US fl oz or Imp fl oz",
            )
        )
