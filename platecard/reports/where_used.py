"""Where something of the kitchen is used: a product, a recipe, an ingredient, a piece of equipment or a plate.

In: its name, the kitchen and the dishes as they were resolved.  Out: for each dish the way it comes on the plate
and how much of it is on one.  What a dish leaves unknown may be the thing asked for, so it is told as not known.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from fractions import Fraction
from typing import NamedTuple

from platecard.diagnostics import Span
from platecard.knowledge.names import fold
from platecard.model import Unknown
from platecard.prepared import Begun, World
from platecard.recipes.resolved import Batch, Bought, Resolved, Use, What, entry_of
from platecard.reports import PlaceOf
from platecard.service import rounding


class Thing(NamedTuple):
    """What a name stands for: ``kind`` is product, recipe, ingredient, equipment or plate."""

    kind: str
    key: str
    called: str


class Place(NamedTuple):
    """One way in which a dish uses something.

    ``through`` are the recipes between the component and the thing, the outermost first; ``grams`` is how
    much of it is on one plate, None where that is not known or means nothing; ``is_swap``: only in what
    stands in for a component for some guest.
    """

    dish: str
    title: str
    component: str
    through: tuple[str, ...]
    grams: Fraction | None
    is_swap: bool
    span: Span | None


class Gap(NamedTuple):
    """What is not known, and may use the thing."""

    dish: str
    what: str
    span: Span | None


class Uses(NamedTuple):
    """Where the things of a name are used; ``places`` are in the order of the menu."""

    things: tuple[Thing, ...]
    places: tuple[Place, ...]
    gaps: tuple[Gap, ...]


def things(name: str, world: World) -> tuple[Thing, ...]:
    """All that a name stands for in the kitchen, and the ingredient of the catalogue that it names."""
    kitchen, wanted = world.kitchen, fold(name)
    found = [
        Thing("product", p.key, p.called)
        for p in kitchen.products.values()
        if wanted in map(fold, (p.key, p.called, *p.also))
    ]
    found += [
        Thing("recipe", r.key, r.called) for r in kitchen.recipes.values() if wanted in (fold(r.key), fold(r.called))
    ]
    found += [
        Thing("equipment", key, called)
        for key, called in kitchen.settings.equipment
        if wanted in (fold(key), fold(called))
    ]
    found += [
        Thing("plate", p.key, p.called) for p in kitchen.plates.values() if wanted in (fold(p.key), fold(p.called))
    ]
    # Beside something of the kitchen's own, only an ingredient of exactly this name is meant too.
    catalogue = world.pantry.catalogue
    entry = (catalogue.find(name) if found else catalogue.find_plain(name)).entry
    if entry is not None:
        found.append(Thing("ingredient", entry.id, entry.name))
    return tuple(found)


def names(world: World) -> Iterator[str]:
    """The names of the kitchen that can be asked for; those of the catalogue are too many to list."""
    kitchen = world.kitchen
    yield from (*kitchen.products, *kitchen.recipes, *(key for key, _ in kitchen.settings.equipment), *kitchen.plates)


def find(asked: tuple[Thing, ...], menu: Iterable[Begun]) -> Uses:
    """Every use of the things in the dishes of a menu."""
    places: list[Place] = []
    gaps: list[Gap] = []
    for begun in menu:
        if begun.dish is None or begun.resolved is None:
            gaps.append(Gap(begun.key, "its spec cannot be read", Span(begun.file)))
            continue
        regular = list(_in_dish(begun.key, begun.resolved, asked, False, gaps))
        known = {(p.component, p.through) for p in regular}
        offered = (p for one in begun.offered for p in _in_dish(begun.key, one, asked, True, gaps))
        places += [*regular, *(p for p in offered if (p.component, p.through) not in known)]
    return Uses(asked, tuple(dict.fromkeys(places)), tuple(dict.fromkeys(gaps)))


def _in_dish(key: str, resolved: Resolved, asked: tuple[Thing, ...], is_swap: bool, gaps: list[Gap]) -> Iterator[Place]:
    dish = resolved.dish
    if not is_swap and any(thing.kind == "plate" and thing.key == dish.plate for thing in asked):
        yield Place(key, dish.title, "", (), None, False, dish.plate_span)
    for part in resolved.parts:
        component = part.component
        gear = {*component.equipment, *(one for step in component.finish for one in step.on)}
        for through, use, grams in _below((), part.use, part.use.grams, part.use.share):
            what = use.what
            if isinstance(what, Unknown):
                gaps.append(Gap(key, f"{what.name}: {what.why}", what.span))
            is_of = _is_any_of(what, asked, gear if use is part.use else set())
            if is_of:
                yield Place(
                    key, dish.title, component.called, through, grams if is_of == "food" else None, is_swap, use.span
                )


def _below(
    through: tuple[str, ...], use: Use, grams: Fraction | None, share: Fraction | None
) -> Iterator[tuple[tuple[str, ...], Use, Fraction | None]]:
    """A use with all below it: the recipes above it, the use, and how much of it is on one plate in g."""
    yield through, use, grams
    if isinstance(use.what, Batch):
        inside = (*through, use.what.recipe.called)
        for line in use.what.lines:
            mass = line.grams * share if line.grams is not None and share is not None else None
            part = line.share * share if line.share is not None and share is not None else None
            yield from _below(inside, line, mass, part)


def _is_any_of(what: What, asked: tuple[Thing, ...], gear: set[str]) -> str:
    """Whether ``what`` is one of the things as food ("food"), or goes through one of them ("equipment")."""
    entry = entry_of(what)
    for thing in asked:
        if thing.kind == "recipe" and isinstance(what, Batch) and what.recipe.key == thing.key:
            return "food"
        if thing.kind == "product" and isinstance(what, Bought):
            if thing.key in {one.product.key for one in (what, *what.either)}:
                return "food"
        if thing.kind == "ingredient" and (
            (entry is not None and entry.id == thing.key)
            or (isinstance(what, Bought) and any(e.entry is not None and e.entry.id == thing.key for e in what.either))
        ):
            return "food"
        if thing.kind == "equipment" and (
            thing.key in gear or (isinstance(what, Batch) and thing.key in what.recipe.equipment)
        ):
            return "equipment"
    return ""


# --------------------------------------------------------------------------- text and data


def in_words(uses: Uses, place: PlaceOf) -> list[str]:
    """What the name stands for, then a line for each use, then what is not known."""
    lines = [f"{thing.called} ({thing.kind})" for thing in uses.things]
    for one in uses.places:
        way = " > ".join((one.title, *filter(None, (one.component,)), *one.through))
        much = f": {rounding.amount('mass', one.grams)} a plate" if one.grams is not None else ""
        lines.append(f"  {way}{much}" + (", only as a swap" if one.is_swap else ""))
    if not uses.places:
        lines.append("  no dish of the menu uses it, as far as they could be read")
    if uses.gaps:
        lines.append("not known, so it may be there too:")
        for gap in uses.gaps:
            at = place(gap.span)
            lines.append(f"  {gap.dish}: {gap.what}" + (f" ({at['file']}:{at['line']})" if at["line"] else ""))
    return lines


def as_data(name: str, uses: Uses, place: PlaceOf) -> dict[str, object]:
    """The same for JSON."""
    return {
        "name": name,
        "is": [thing._asdict() for thing in uses.things],
        "uses": [
            {
                "dish": one.dish,
                "title": one.title,
                "component": one.component or None,
                "through": list(one.through),
                "grams": float(round(one.grams, 4)) if one.grams is not None else None,
                "only_as_swap": one.is_swap,
                **place(one.span),
            }
            for one in uses.places
        ],
        "not_known": [{"dish": gap.dish, "what": gap.what, **place(gap.span)} for gap in uses.gaps],
    }
