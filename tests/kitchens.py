"""Small kitchens as texts, for the tests.  Every dish in them is invented."""

from __future__ import annotations

from dataclasses import dataclass, field
from fractions import Fraction

import yaml

from platecard import pipeline
from platecard.diagnostics import Problem
from platecard.prepared import Prepared
from platecard.recipes.resolved import Batch, Resolved, Use

SPEC = "specs/beetroot.yaml"
KITCHEN = "shared/kitchen.yaml"
PLATES = "shared/plates.yaml"
PANTRY = "shared/pantry.yaml"
SMOKED = "shared/recipes/smoked-beetroot.yaml"
OIL = "shared/recipes/dill-oil.yaml"

# One sound dish with a recipe in a recipe, a product with its label, and a herb by name.
BEETROOT = """\
dish: Smoked beetroot, dill oil, seeded crisp
revision: {number: 1, date: 2026-01-31, note: first written down}
plate: wide
components:
  beetroot: {recipe: smoked-beetroot, station: larder}
  crisp: {product: seeded-crisp}
  oil: {recipe: dill-oil}
  dill: {ingredient: dill}
plating:
  - {put: beetroot, count: 3, piece: {shape: disc, size: 30 mm, weight: 12 g}, arrange: ring, out: 50 mm}
  - {put: oil, amount: 4 g, arrange: pool, across: 50 mm}
  - {put: crisp, piece: {shape: shard, size: 30 x 10 mm, weight: 6 g}, on: oil}
garnish:
  - {put: dill, count: 3, piece: {shape: frond, size: 8 mm, weight: 0.2 g}, on: beetroot}
expo_checks:
  - Rim clean
"""

LIBRARY = {
    KITCHEN: (
        """\
kitchen: The Test Galley
laws: [eu, us]
labels_printed_for: [eu, us]
stations: {larder: Larder, sauce: Sauce}
equipment: {fryer: the fryer, smoker: the smoker}
"""
    ),
    PLATES: (
        """\
plates:
  wide: {called: Wide plate, form: rimmed, outer: 280 mm, well: 200 mm}
  coupe: {called: Small coupe, form: coupe, outer: 220 mm, well: 200 mm}
"""
    ),
    PANTRY: (
        """\
products:
  seeded-crisp: {called: Seeded crisp, label: {read: 2026-01-02, contains: [wheat, sesame], may_contain: [milk]}}
"""
    ),
    SMOKED: (
        """\
recipe: Smoked beetroot
makes: 400 g
equipment: smoker
ingredients:
  - {ingredient: beetroot, amount: 450 g}
  - {recipe: dill-oil, amount: 20 g}
"""
    ),
    OIL: (
        """\
recipe: Dill oil
makes: 200 g
ingredients:
  - {ingredient: sunflower oil, amount: 190 g}
  - {ingredient: dill, amount: 40 g}
"""
    ),
}

# The places of faults are marked in the texts themselves with this sign.
# The parser in C, which is much faster; not every build of the library has it.
LOADER = getattr(yaml, "CSafeLoader", yaml.SafeLoader)

MARK = "¦"


def marked(text: str) -> tuple[str, int, int]:
    """The text without its mark, and the line and column where the mark stood."""
    before, after = text.split(MARK)
    return before + after, before.count("\n") + 1, len(before) - (before.rfind("\n") + 1) + 1


def kitchen(*changes: tuple[str, str, str], **more: str) -> dict[str, str]:
    """The library and the beetroot dish, each ``(file, old, new)`` changed where ``old`` stands, once."""
    files = {**LIBRARY, SPEC: BEETROOT}
    for file, old, new in changes:
        assert files[file].count(old) == 1, f"{old!r} stands {files[file].count(old)} times in {file}"
        files[file] = files[file].replace(old, new)
    return files


def library(files: dict[str, str]) -> list[tuple[str, str]]:
    return sorted((path, text) for path, text in files.items() if path.startswith("shared/"))


def recipe(name: str, lines: list[tuple[str, str, str]], makes: str = "100 g", takes_up_water: bool = True) -> str:
    """A recipe's text from (kind, name, amount) lines."""
    said = "".join(f"  - {{{kind}: {what}, amount: {amount}}}\n" for kind, what, amount in lines)
    return (
        f"recipe: {name}\nmakes: {makes}\ntakes_up_water: {'true' if takes_up_water else 'false'}\ningredients:\n{said}"
    )


def poured(
    components: dict[str, str], amounts: dict[str, str] | None = None, title: str = "A dish of the tests"
) -> str:
    """A spec whose components (key → ``{kind: name}`` text) each lie as one small pool on a wide plate."""
    parts = "".join(f"  {key}: {source}\n" for key, source in components.items())
    steps = "".join(
        f"  - {{put: {key}, amount: {(amounts or {}).get(key, '10 g')}, arrange: pool, across: 20 mm, at: {{right:"
        f" {20 * i} mm, away: 0 mm}}}}\n"
        for i, key in enumerate(components)
    )
    return (
        f"dish: {title}\nrevision: {{number: 1, date: 2026-01-31}}\nplate: wide\ncomponents:\n{parts}plating:\n{steps}"
    )


def prepared(spec: str, files: dict[str, str] | None = None, menu: dict[str, str] | None = None) -> Prepared:
    """One dish all the way, in a kitchen of ``files``, beside the other dishes of ``menu``."""
    world = pipeline.world(library({**LIBRARY, **(files or {})}))
    others = [pipeline.begin(text, f"specs/{key}.yaml", key, world) for key, text in (menu or {}).items()]
    return pipeline.prepare(spec, "specs/asked.yaml", "asked", world, others)


def errors(problems) -> list[Problem]:
    return [p for p in problems if p.is_error]


def grams_on_plate(resolved: Resolved) -> dict[str, Fraction | None]:
    """Grams of every leaf on the plate by name; None as soon as one road to it is not known."""
    found: dict[str, Fraction | None] = {}

    def walk(use: Use, factor: Fraction | None) -> None:
        if isinstance(use.what, Batch):
            inner = None if factor is None or use.share is None else factor * use.share
            for line in use.what.lines:
                walk(line, inner)
        else:
            mass = None if factor is None or use.grams is None else factor * use.grams
            known = found.get(use.called, Fraction(0))
            found[use.called] = None if known is None or mass is None else known + mass

    for part in resolved.parts:
        walk(part.use, Fraction(1))
    return found


def presences(one: Prepared) -> dict[tuple[str, str], str]:
    """(law, allergen) → presence."""
    return {(f.law, f.allergen): f.presence for s in one.statements for f in s.findings}


@dataclass
class Run:
    """What one command left behind."""

    code: int
    out: str
    err: str
    data: object = field(default=None)
