"""Dish and kitchen to a resolved dish: every gram traced through every sub-recipe.

In: :class:`~platecard.model.Dish`, :class:`~platecard.model.Kitchen` and the
catalogue.  Out: :class:`Resolved`, a tree that ends in catalogue entries, products
and unknowns.  A recipe is resolved once, for one batch, and shared by everything that uses
it, so depth and repetition cost nothing; each use holds its share of the
batch.  A mass that cannot be known is None, never zero, and the use says why.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction

from platecard.diagnostics import Problem, Span, did_you_mean, error, meant, warning
from platecard.knowledge import claims
from platecard.knowledge.catalogue import Catalogue, Entry
from platecard.knowledge.names import fold
from platecard.model import (
    Component,
    Dish,
    Kitchen,
    Plate,
    Product,
    Recipe,
    RecipeLine,
    Settings,
    Source,
    SourceKind,
    Step,
    Unknown,
)
from platecard.quantities import amounts
from platecard.quantities.amounts import Amount, Measures, NotKnown, known_or_none
from platecard.quantities.units import Quantity, shown
from platecard.recipes import balance

# No kitchen nests deeper, and every stage walks the tree down to its leaves.
MAX_NESTED = 100


@dataclass(frozen=True, slots=True)
class Bought:
    """A pantry product, with its catalogue entry where it has one; ``either``: the products it may be."""

    product: Product
    entry: Entry | None
    either: tuple[Bought, ...] = ()

    @property
    def density(self) -> Fraction | None:
        """g per ml, as the kitchen gives it or else the catalogue; None where the products it may be differ."""
        if self.product.density is None and self.either:
            densities = {one.density for one in self.either}
            return densities.pop() if len(densities) == 1 else None
        return self.product.density or (self.entry.density if self.entry else None)


@dataclass(frozen=True, slots=True)
class Batch:
    """One whole batch of a recipe.

    ``mass_g`` is the mass of the finished batch, where known; ``weighed_g`` and ``most_g`` are the
    most it can weigh, by its weighed ingredients and by all of them.  ``doubt`` says why its stated
    yield cannot be relied upon, where that is so.
    """

    recipe: Recipe
    lines: tuple[Use, ...]
    mass_g: Fraction | None
    weighed_g: Fraction = Fraction(0)
    most_g: Fraction = Fraction(0)
    doubt: str = ""


Food = Bought | Entry | Unknown
What = Batch | Food


@dataclass(frozen=True, slots=True)
class Use:
    """Something used in something else.

    ``grams`` is how much is used, in one batch of the parent or on the plate; ``kept_g`` is how
    much of that stays in the food.  For a batch, ``share`` is the part of it that is used (1 = all).
    None: not known.  An amount given as a range counts with its middle; ``most`` is how many times
    that middle it can be (1 where it is no range).  ``why`` says why ``grams`` is not known,
    ``doubt`` why no concentration may be calculated from ``share``.
    """

    what: What
    called: str
    span: Span
    grams: Fraction | None
    kept_g: Fraction | None
    share: Fraction | None = None
    most: Fraction = Fraction(1)
    why: str = ""
    doubt: str = ""


@dataclass(frozen=True, slots=True)
class Part:
    """A component as it goes on one plate."""

    component: Component
    use: Use


@dataclass(frozen=True, slots=True)
class Resolved:
    """The dish with everything it is made of."""

    dish: Dish
    parts: tuple[Part, ...]
    plate: Plate | None


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
        mass, share, doubt = _on_plate(component.key, what, dish.steps, problems)
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
                    max((_most(what, s.amount) for s in dish.steps if s.put == component.key), default=Fraction(1)),
                    _why(mass),
                    doubt,
                ),
            )
        )
    plate = pantry.kitchen.plates.get(dish.plate)
    if plate is None and dish.plate:
        known = pantry.kitchen.plates
        problems.append(
            error(
                "unknown-plate",
                dish.plate_span,
                f"there is no plate '{dish.plate}' in {pantry.kitchen.folder}/plates.yaml",
                did_you_mean(dish.plate, known) or "plates: " + ", ".join(sorted(known)),
            )
        )
    for component in dish.components:
        problems += unknown_station(component.station, component.span, pantry.kitchen.settings)
        problems += unknown_gear(
            component.equipment, component.equipment_span or component.span, pantry.kitchen.settings
        )
        for step in component.finish:
            problems += unknown_gear(step.on, step.place("on"), pantry.kitchen.settings)
    # A fault inside a shared recipe is reported once for every dish that uses it.
    for key in sorted(_recipes_in(parts)):
        problems += pantry.problems.get(key, ())
    return Resolved(dish, tuple(parts), plate), tuple(problems)


def unknown_names(kitchen: Kitchen) -> tuple[Problem, ...]:
    """Equipment and stations that the library's recipes name and the kitchen does not have."""
    found: list[Problem] = []
    for recipe in kitchen.recipes.values():
        found += unknown_gear(recipe.equipment, recipe.equipment_span or recipe.span, kitchen.settings)
        found += unknown_station(recipe.station, recipe.station_span or recipe.span, kitchen.settings)
    return tuple(found)


def unknown_gear(used: Iterable[str], span: Span, settings: Settings) -> list[Problem]:
    """Errors for equipment that the kitchen does not have: food in a misspelt fryer would hand nothing on."""
    known = dict(settings.equipment)
    if settings.span is None and not known:
        return []  # there is no kitchen.yaml, which has been said
    return [
        error(
            "unknown-equipment",
            span,
            f"there is no equipment '{key}' in the kitchen",
            did_you_mean(key, known)
            or (f"equipment: {', '.join(known)}" if known else "list it under equipment: in kitchen.yaml"),
        )
        for key in used
        if key not in known
    ]


def unknown_station(station: str, span: Span, settings: Settings) -> list[Problem]:
    """A warning for a station that is not one of the kitchen's, where it names any."""
    known = dict(settings.stations)
    if not station or not known or station in known:
        return []
    return [
        warning(
            "unknown-station",
            span,
            f"there is no station '{station}' in the kitchen",
            did_you_mean(station, known) or f"stations: {', '.join(known)}",
        )
    ]


def _recipes_in(parts: list[Part]) -> set[str]:
    found: set[str] = set()

    def walk(what: What) -> None:
        if isinstance(what, Batch) and what.recipe.key not in found:
            found.add(what.recipe.key)
            for line in what.lines:
                walk(line.what)

    for part in parts:
        walk(part.use.what)
    return found


def not_in_pantry(product: Product, kitchen: Kitchen) -> tuple[Problem, ...]:
    """Errors for products that this one may be and that the pantry does not have as single products."""
    found = []
    for key, place in product.either:
        other = kitchen.products.get(key)
        if other is None:
            found.append(
                error(
                    "unknown-product",
                    place,
                    f"there is no product '{key}' in the pantry",
                    did_you_mean(key, kitchen.products),
                    f"add it to {kitchen.folder}/pantry.yaml",
                )
            )
        elif other.either:
            found.append(
                error(
                    "either-of-either",
                    place,
                    f"'{key}' itself stands for one of several products",
                    f"name them instead: {', '.join(k for k, _ in other.either)}",
                )
            )
    return tuple(found)


def products_in(resolved: Resolved) -> frozenset[str]:
    """The keys of all products in the dish, including those that one of them may be."""
    found: set[str] = set()
    seen: set[int] = set()

    def walk(what: What) -> None:
        if isinstance(what, Bought):
            found.add(what.product.key)
            for one in what.either:
                walk(one)
        elif isinstance(what, Batch) and id(what) not in seen:
            seen.add(id(what))
            for line in what.lines:
                walk(line.what)

    for part in resolved.parts:
        walk(part.use.what)
    return frozenset(found)


# --------------------------------------------------------------------------- names


def _find(source: Source, pantry: Pantry, problems: list[Problem], inside: tuple[str, ...]) -> What:
    """What a source stands for; ``inside`` are the recipes that it is in, outermost first."""
    if source.kind == SourceKind.RECIPE:
        return _batch(source, pantry, problems, inside)
    if source.kind == SourceKind.PRODUCT:
        product = pantry.kitchen.products.get(source.name)
        if product is not None:
            return _bought(product, pantry, problems)
        problems.append(
            error(
                "unknown-product",
                source.span,
                f"there is no product '{source.name}' in the pantry",
                did_you_mean(source.name, pantry.kitchen.products),
                f"add it to {pantry.kitchen.folder}/pantry.yaml",
            )
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
    candidates = tuple(keys) or (found.candidates if found else ())
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
                *(pantry.kitchen.products[k[0]].called for n, k in pantry.products.items() if n == source.name),
            )
        )
    )
    problems.append(
        error(
            "unknown-ingredient",
            source.span,
            f"unknown ingredient '{source.name}'",
            meant(close[:3]),
            f"or enter it as a product with its label in {pantry.kitchen.folder}/pantry.yaml",
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


# --------------------------------------------------------------------------- recipes


def _batch(source: Source, pantry: Pantry, problems: list[Problem], inside: tuple[str, ...]) -> Batch | Unknown:
    key = _recipe_key(source, pantry, problems)
    recipe = pantry.kitchen.recipes.get(key)
    if recipe is None:
        problems.append(
            error(
                "unknown-recipe",
                source.span,
                f"there is no recipe '{key}' in {pantry.kitchen.folder}/recipes",
                did_you_mean(key, pantry.kitchen.recipes),
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
                *(_where_used(pantry.kitchen.recipes[user], used) for user, used in zip(loop, loop[1:])),
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
    mass = known_or_none(amounts.of(recipe.makes, amounts.G, _measures_of_recipe(recipe)))
    goes_in = tuple(_going_in(line, use) for line, use in zip(recipe.lines, lines))
    found = balance.of(recipe, mass, goes_in)
    problems += found.problems
    return Batch(recipe, lines, mass, found.weighed_g, found.most_g, found.doubt)


def _going_in(line: RecipeLine, use: Use) -> balance.Input:
    inner = use.what if isinstance(use.what, Batch) else None
    most = use.share * use.most * inner.most_g if inner is not None and use.share is not None else None
    entry = use.what.entry if isinstance(use.what, Bought) else use.what if isinstance(use.what, Entry) else None
    return balance.Input(line, use.called, use.kept_g, most, inner is not None, entry is not None and entry.liquid)


def _where_used(recipe: Recipe, key: str) -> str:
    line = next(x for x in recipe.lines if x.source.kind == SourceKind.RECIPE and x.source.name == key)
    return f"{line.source.span}: {recipe.key} uses {key}"


def _line(line: RecipeLine, pantry: Pantry, problems: list[Problem], inside: tuple[str, ...]) -> Use:
    what = _find(line.source, pantry, problems, inside)
    called = _name(what, line.source.name)
    amount, share = _amount(what, line.amount)
    mass = known_or_none(amount)
    _mind_ounces(line.amount, what, line, problems)
    return Use(
        what,
        called,
        line.span,
        mass,
        None if mass is None else mass * line.stays,
        share,
        most=_most(what, line.amount),
        why=_why(amount),
    )


def _why(amount: Amount) -> str:
    return amount.why if isinstance(amount, NotKnown) else ""


def _most(what: What, amount: Quantity | None) -> Fraction:
    """How many times its middle an amount can be, including a batch that can come out smaller than its middle."""
    ratio = amount.high / amount.mean if amount is not None and amount.is_range and amount.mean else Fraction(1)
    made = what.recipe.makes if isinstance(what, Batch) else None
    return ratio * made.mean / made.low if made is not None and made.is_range and made.low else ratio


def _name(what: What, written: str) -> str:
    if isinstance(what, Batch):
        return what.recipe.called
    return what.product.shown if isinstance(what, Bought) else claims.shown(written)


def in_full(line: RecipeLine, use: Use) -> str:
    """A line's name for whoever makes or buys it: the maker's full name, which tells the product from others."""
    if isinstance(use.what, Bought) and use.what.product.unclaimed:
        return claims.in_full(use.what.product.called)
    return (
        claims.in_full(line.source.name.replace("-", " ")) if line.source.kind == SourceKind.INGREDIENT else use.called
    )


def measures_of(what: What) -> Measures:
    """What is known about the weight of a thing: the kitchen's own figures before the catalogue's.

    A figure of the kitchen's that could not be read stays unknown: the catalogue's does not take its place.
    """
    if isinstance(what, Entry):
        return Measures(what.density, what.pieces)
    if isinstance(what, Bought):
        product = what.product
        own = dict(product.parts)
        if product.piece_g or "piece" in product.unread:
            own[amounts.PIECE] = product.piece_g
        general = dict(what.entry.pieces) if what.entry is not None and "gives" not in product.unread else {}
        return Measures(None if "density" in product.unread else what.density, tuple({**general, **own}.items()))
    if isinstance(what, Batch):
        return _measures_of_recipe(what.recipe)
    return amounts.NOTHING_KNOWN


def measures_as_bought(what: Bought | Entry) -> Measures:
    """The same for a thing as it is delivered: one piece as bought, and none of the parts it is cut into."""
    piece = what.product.piece_g if isinstance(what, Bought) else None
    return Measures(measures_of(what).density, ((amounts.PIECE, piece),) if piece else ())


def _measures_of_recipe(recipe: Recipe) -> Measures:
    each = (
        ((amounts.unit_of(recipe.makes), recipe.each_g),)
        if recipe.each_g and recipe.makes is not None and recipe.makes.kind == "count"
        else ()
    )
    return Measures(recipe.density, each, f"the density of {recipe.called} is not known")


def _amount(what: What, amount: Quantity | None) -> tuple[Amount, Fraction | None]:
    """Grams of ``amount`` of something and, for a recipe, the share of its batch."""
    mass = amounts.of(amount, amounts.G, measures_of(what))
    return mass, _share(what, amount, known_or_none(mass)) if isinstance(what, Batch) else None


def _share(batch: Batch, amount: Quantity | None, mass: Fraction | None) -> Fraction | None:
    """The share of a batch that ``amount`` is, in the unit that the recipe makes or by weight."""
    made = batch.recipe.makes
    if made is not None and amount is not None and amounts.unit_of(made) == amounts.unit_of(amount):
        return amount.mean / made.mean
    return mass / batch.mass_g if mass is not None and batch.mass_g else None


def _mind_ounces(amount: Quantity | None, what: What, line: RecipeLine, problems: list[Problem]) -> None:
    entry = what.entry if isinstance(what, Bought) else what if isinstance(what, Entry) else None
    if amount and amount.unit == "oz" and entry and entry.liquid:
        problems.append(
            warning(
                "ounces-of-a-liquid",
                line.amount_span or line.span,
                f"'{amount.text}' of {line.source.name} is read as a weight",
                "if it is measured by volume, write US fl oz or Imp fl oz",
            )
        )


# --------------------------------------------------------------------------- the plate


def _other_word(step: Step, recipe: Recipe, made: Quantity) -> Problem:
    return warning(
        "other-count-word",
        step.place("piece"),
        f"{recipe.called} makes {made.text}, but the plate counts pieces, so how much of a batch goes on it is not"
        " known",
        f"write in {recipe.makes_span} how many pieces it makes, for example makes: {shown(made.mean)} pieces, "
        "if that is what you mean",
    )


def _on_plate(
    key: str, what: What, steps: tuple[Step, ...], problems: list[Problem]
) -> tuple[Amount, Fraction | None, str]:
    """Grams of a component on one plate and, for a recipe, the share of its batch, with what makes that doubtful.

    Only the steps say how much: a count times the piece, or an amount.  One step that
    does not say makes the whole unknown.
    """
    total: Amount = Fraction(0)
    share: Fraction | None = Fraction(0)
    doubt = ""
    for step in (s for s in steps if s.put == key):
        mass, part = _of_step(step, what, problems)
        total = total if isinstance(total, NotKnown) else mass if isinstance(mass, NotKnown) else total + mass
        share = None if share is None or part is None else share + part
        doubt = doubt or _heavy_pieces(step, what)
    return total, share if isinstance(what, Batch) else None, doubt


def _heavy_pieces(step: Step, what: What) -> str:
    """The doubt where pieces weigh more than what was weighed into their recipe; the rest may be what was not."""
    if not isinstance(what, Batch):
        return ""
    made = what.recipe.makes
    weight = step.piece.weight_g if step.piece is not None and step.amount is None else None
    if made is None or made.kind != "count" or weight is None or weight * made.low <= what.weighed_g:
        return ""
    return f"not all that goes into {what.recipe.called} is weighed, so the weight of its pieces cannot be checked"


def _of_step(step: Step, what: What, problems: list[Problem]) -> tuple[Amount, Fraction | None]:
    if step.amount is not None:
        return _amount(what, step.amount)
    if step.piece is None:
        return (
            NotKnown("how much of it goes on the plate is not known", "give a piece with its weight, or an amount"),
            None,
        )
    weight = step.piece.weight_g
    mass: Amount = (
        weight * step.count
        if weight is not None
        else NotKnown("the weight of a piece is not stated", "give the weight of the piece")
    )
    if not isinstance(what, Batch):
        return mass, None
    made = what.recipe.makes
    # A plate counts pieces; it can count what a recipe makes in slices only where the pieces on it are slices.
    if made is None or amounts.unit_of(made) not in (amounts.PIECE, step.piece.shape):
        share = _share(what, None, known_or_none(mass))
        if share is None and made is not None and made.kind == "count":
            problems.append(_other_word(step, what.recipe, made))
        return mass, share
    if weight is not None and (fault := balance.of_pieces(what.recipe, weight, what.most_g, step.place("piece"))):
        problems.append(fault)
        return mass, None
    each = what.recipe.each_g
    return (mass if weight is not None else each * step.count if each else mass), Fraction(step.count) / made.mean


__all__ = ["Batch", "Bought", "Food", "Pantry", "Part", "Resolved", "Use", "What", "resolve"]
