"""What ``platecard new`` writes: a spec to start from, or a small kitchen with one dish."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from typing import TypeVar

from platecard import pipeline
from platecard.files.entries import fitting, is_key
from platecard.files.reading import UsageError
from platecard.package_data import read_text
from platecard.prepared import World

_KITCHEN = (
    "shared/kitchen.yaml",
    "shared/plates.yaml",
    "shared/recipes/pea-puree.yaml",
    "shared/pantry.yaml",
    "specs/peas-curd.yaml",
)
_PLATE, _RECIPE, _STATION = "NAME-A-PLATE", "recipe: NAME-A-RECIPE", "NAME-A-STATION"
# How many plates, and how many recipes and products, are tried before the best of them is taken.
_TRIED = 60

T = TypeVar("T")


def kitchen() -> tuple[tuple[str, str], ...]:
    """The files of a small kitchen that builds at once: path → text.

    UsageError where the current folder has a kitchen already, whole or in part, or is inside one.
    """
    for folder in ("shared", "specs"):
        if os.path.lexists(folder) and (not os.path.isdir(folder) or os.listdir(folder)):
            there = ", ".join(path for path in _KITCHEN if os.path.lexists(path)) or f"{folder}/ with something in it"
            raise UsageError(f"there is a kitchen here already ({there}), so nothing was written; name a dish")
    above = os.path.dirname(os.getcwd())
    while True:
        if os.path.isfile(found := os.path.join(above, "shared", "kitchen.yaml")):
            raise UsageError(f"this folder lies in the kitchen of {found}, so nothing was written; name a dish")
        if above == os.path.dirname(above):
            break
        above = os.path.dirname(above)
    return tuple((path, read_text("starter", *path.split("/"))) for path in _KITCHEN)


def path_of(dish: str) -> str:
    """The path of a new spec, for a dish's name or a path that ends in .yaml; UsageError for any other."""
    folder, name = os.path.split(dish)
    stem = name[: -len(".yaml")] if name.endswith(".yaml") else name
    if not is_key(stem):
        raise UsageError(
            f"'{stem}' cannot be a dish's name: use small letters, digits and hyphens, such as {fitting(stem)}"
        )
    if folder and not name.endswith(".yaml"):
        raise UsageError(f"'{dish}' is neither a name nor a path that ends in .yaml")
    return os.path.join(folder or "specs", stem + ".yaml")


def spec(path: str, world: World | None) -> str:
    """The text of a new spec: a draft with a plate, a recipe or product and a station of the kitchen.

    A name that the kitchen lacks, or every name where there is no kitchen, is left to be filled in.
    """
    stem = os.path.basename(path)[: -len(".yaml")]
    text = read_text("starter", "dish.yaml").replace("DISH TITLE", stem.replace("-", " ").capitalize())
    if world is None:
        return text
    known = world.kitchen
    stations = [key for key, _ in known.settings.stations]
    sources = [(f"recipe: {key}", recipe.station) for key, recipe in known.recipes.items()]
    sources += [(f"product: {key}", "") for key in known.products]

    def on(plate: str, source: tuple[str, str] | None) -> str:
        done = text.replace(_PLATE, plate)
        own = source[1] if source and source[1] in stations else stations[0] if stations else ""
        done = done.replace(_STATION, own) if own else done.replace(f"    station: {_STATION}\n", "")
        return done.replace(_RECIPE, source[0]) if source else done

    def faults(said: str) -> tuple[int, int]:
        problems = pipeline.prepare(said, path, stem, world).problems
        return sum(p.is_error for p in problems), sum(p.severity == "warning" for p in problems)

    first = sources[0] if sources else None
    plate = _best(known.plates, lambda key: faults(on(key, first))) or _PLATE
    return on(plate, _best(sources, lambda source: faults(on(plate, source))))


def _best(candidates: Iterable[T], faults: Callable[[T], tuple[int, int]]) -> T | None:
    """The candidate with the fewest errors, then warnings; the first of several, None of none."""
    best, least = None, (0, 0)
    for n, one in enumerate(candidates):
        if n == _TRIED:
            break
        found = faults(one)
        if best is None or found < least:
            best, least = one, found
        if least == (0, 0):
            break
    return best
