"""Names that a dish or a recipe uses and the kitchen does not have: equipment, stations, products."""

from __future__ import annotations

from collections.abc import Iterable

from platecard.diagnostics import Problem, Span, did_you_mean, error, warning
from platecard.model import Kitchen, Product, Settings


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
            or (f"write one of: {', '.join(known)}; or add" if known else "add")
            + " it under equipment: in kitchen.yaml",
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
            did_you_mean(station, known)
            or f"write one of its stations: {', '.join(known)}; or add it under stations: in kitchen.yaml",
        )
    ]


def no_product(key: str, span: Span, kitchen: Kitchen) -> Problem:
    """The error for a product that the pantry does not have."""
    close, add = did_you_mean(key, kitchen.products), f"add it to {kitchen.folder}/pantry.yaml, with its label"
    return error(
        "unknown-product", span, f"there is no product '{key}' in the pantry", close, f"or {add}" if close else add
    )


def not_in_pantry(product: Product, kitchen: Kitchen) -> tuple[Problem, ...]:
    """Errors for products that this one may be and that the pantry does not have as single products."""
    found = []
    for key, place in product.either:
        other = kitchen.products.get(key)
        if other is None:
            found.append(no_product(key, place, kitchen))
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
