"""Kitchens made at random, and what happens to a figure on its way from a scribbled note into a file.

``python -m tests.damage.amount_damage 500`` damages every figure of five hundred kitchens, one at a
time, and prints what became weaker; with ``demo`` it does so with the demo kitchen.  A damage that
happens to be another valid statement is left out by a stated rule, :func:`is_another_statement`, and
counted.  Every kitchen is invented.
"""

from __future__ import annotations

import random
import re
import sys
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

from platecard import pipeline
from platecard.allergens import derivation, sulphites
from platecard.quantities import amounts
from platecard.quantities.units import AmountError, Quantity, quantity
from platecard.recipes.resolved import Batch
from platecard.recipes.weights import measures_of
from tests.kitchens import LIBRARY, library

STRENGTH = {"not_among_ingredients": 0, "may_contain": 1, "not_established": 2, "contains": 3}
FIELD = re.compile(
    r"(?P<key>\b(?:amount|makes|each|weight|density|piece|sulphites|core)): (?P<value>[^,{}\n\"]+)"
    r"|(?P<timed>\b(?:keeps|made_ahead)): (?P<said>[^\n\"#{}]+)"
)
TIMED = ("keeps", "made_ahead")
WORDS = ("head", "clove", "slice", "portion", "bunch", "whole", "piece", "large")


# --------------------------------------------------------------------------- kitchens


class Maker:
    """One kitchen by its number: products with sulphites, recipes in recipes, three dishes."""

    def __init__(self, number: int):
        self.chance = random.Random(number)
        self.files: dict[str, str] = dict(LIBRARY)
        self.grams: dict[str, tuple[str, int]] = {}
        rows = "".join(f"  p{i}: {self.product(i)}\n" for i in range(4))
        self.files["shared/pantry-more.yaml"] = f"products:\n{rows}"
        for i in range(self.chance.randint(2, 5)):
            self.files[f"shared/recipes/r{i}.yaml"] = self.recipe(i)
        self.specs = {f"specs/d{i}.yaml": self.dish(i) for i in range(2)}

    def product(self, i: int) -> str:
        level = self.chance.choice(["4 mg/kg", "90 mg/kg", "900 mg/kg", "3000 mg/kg"])
        kind = self.chance.choice(["is: dried apricot, ", "is: garlic, ", "is: white wine, density: 0.99, ", ""])
        contains = "[sulphites]" if self.chance.random() < 0.7 else "[]"
        label = f"label: {{read: 2026-01-02, contains: {contains}, sulphites: {level}}}"
        return f"{{called: Product {i}, {kind}{label}, piece: {self.chance.choice([3, 8, 40])} g}}"

    def recipe(self, i: int) -> str:
        lines, weight = [], 0
        for _ in range(self.chance.randint(1, 2)):
            count = self.chance.randint(1, 3)
            amount = self.chance.choice([f"{count} pieces", f"{count * 9} g", f"{count * 27} g"])
            lines.append(f"  - {{product: p{self.chance.randrange(4)}, amount: {amount}}}")
            weight += 2
        for food in self.chance.sample(["carrot", "water", "beef fillet", "cod", "sunflower oil", "double cream"], 2):
            g = self.chance.choice([300, 700, 1500])
            lines.append(f"  - {{ingredient: {food}, amount: {g} g}}")
            weight += g
        for inner, (made, _) in self.grams.items():
            if self.chance.random() < 0.4:
                lines.append(f"  - {{recipe: {inner}, amount: {'2 pieces' if made == 'pieces' else '60 g'}}}")
                weight += 0 if made == "pieces" else 60
        if self.chance.random() < 0.5:
            lines.append("  - {ingredient: salt, amount: to taste}")
        made = self.chance.choice(["g", "g", "ml", "pieces"])
        out = int(weight * self.chance.choice([0.5, 0.8, 0.95]))
        self.grams[f"r{i}"] = made, out
        makes = {
            "g": f"makes: {out} g",
            "ml": f"makes: {out} ml\ndensity: 1",
            "pieces": f"makes: 20 pieces\neach: {out // 20} g",
        }[made]
        keeps = self.chance.choice(
            [
                "12 days in the fridge",
                "3 days in the fridge, on a dry cloth",
                "a fortnight",
                "5 days, airtight",
                "2 weeks at -18 °C",
                "until the end of service",
                "36 h",
                "2-3 days",
                "1 day",
            ]
        )
        ahead = self.chance.choice(["2 days", "48 hours", "overnight", "the same morning", "to order", "2 hours"])
        heat = self.chance.choice(["state: cooked\ncore: 75 °C\n", "core: 58 °C\n", ""])
        head = f"recipe: Recipe {i}\n{makes}\nkeeps: {keeps}\nmade_ahead: {ahead}\n{heat}"
        return f"{head}ingredients:\n" + "\n".join(lines) + "\n"

    def dish(self, i: int) -> str:
        parts, steps = "", ""
        for j, (key, (made, out)) in enumerate(self.chance.sample(sorted(self.grams.items()), min(2, len(self.grams)))):
            parts += f"  c{j}: {{recipe: {key}}}\n"
            how = f"amount: 30 {made}, arrange: pool, across: 20 mm"
            if made == "pieces":
                how = f"piece: {{shape: shard, size: 20 mm, weight: {out // 20} g}}"
            steps += f"  - {{put: c{j}, {how}, at: {{right: {30 * j} mm, away: 0 mm}}}}\n"
        head = f"dish: Dish {i}\nrevision: {{number: 1, date: 2026-01-31}}\nplate: wide\nserve: {{food: hot}}\n"
        return f"{head}components:\n{parts}plating:\n{steps}"


# --------------------------------------------------------------------------- damage


@dataclass(frozen=True)
class Damage:
    """One figure that came out otherwise: in ``file``, from ``start`` to ``end``, ``new`` instead of ``old``."""

    file: str
    key: str
    old: str
    new: str
    start: int
    end: int
    kind: str

    def to(self, text: str) -> str:
        return text[: self.start] + self.new + text[self.end :]


def of_amount(value: str) -> Iterator[tuple[str, str]]:
    number, _, unit = value.strip().partition(" ")
    yield "unit misspelt", f"{number} {unit}x"
    yield "no unit", f"{number}q"
    yield "no figure", f"some {unit}".strip()
    yield "nothing of it", re.sub(r"[\d.½/-]+", "0", value, count=1)
    yield "a letter in the figure", value.replace(number[-1:], "o", 1)
    yield "left empty", ""
    yield (
        "another unit",
        {
            "g": f"{number} kg",
            "kg": f"{number} g",
            "ml": f"{number} l",
            "mg/kg": f"{number} g/kg",
            "°C": f"{number} °F",
        }.get(unit, f"{number} g"),
    )
    for word in WORDS:
        yield "another count word", f"{number} {word}"


def of_time(value: str) -> Iterator[tuple[str, str]]:
    yield "capitals", value.upper()
    yield "title case", value.title()
    yield "doubled blanks", value.replace(" ", "  ")
    yield "a word more", f"{value} xq"
    yield "no figure", re.sub(r"\d+", "some", value) if re.search(r"\d", value) else f"un{value}"
    yield "left empty", ""
    words = value.split(" ")
    for at, word in enumerate(words):
        if len(word) > 3 and word.isalpha():
            turned = word[0] + word[2] + word[1] + word[3:] if word[1] != word[2] else word[0] + "q" + word[2:]
            yield "a word misspelt", " ".join([*words[:at], turned, *words[at + 1 :]])
        if word.isdigit():
            yield "a letter in the figure", " ".join([*words[:at], f"l{word}", *words[at + 1 :]])


def damages(files: dict[str, str]) -> Iterator[Damage]:
    for file, text in sorted(files.items()):
        for match in FIELD.finditer(text):
            key, value = match["key"] or match["timed"], (match["value"] or match["said"]).rstrip()
            if quantity_or_none(value) is None and key not in (*TIMED, "density", "sulphites", "core"):
                continue
            start = max(match.start("value"), match.start("said"))
            end = start + len(value)
            yield from (
                Damage(file, key, value, new, start, end, kind)
                for kind, new in (of_time if key in TIMED else of_amount)(value)
                if new != value
            )
            key_at = max(match.start("key"), match.start("timed"))
            yield Damage(
                file, key, key, f"{key[0]}{key[2]}{key[1]}{key[3:]}", key_at, key_at + len(key), "key misspelt"
            )


def quantity_or_none(text: str) -> Quantity | None:
    try:
        found = quantity(text)
    except AmountError:
        return None
    return None if found.kind == "unmeasured" else found


def is_another_statement(damage: Damage, after: State, line: str) -> bool:
    """Whether the damaged text says something else that can be read and weighed, and may be meant.

    1. The amount of a recipe's line that, as it reads now, is above nothing and of a weight that is known for this food
       (2 g for 2 pieces of 8 g; 2 cloves for 2 pieces, where the catalogue weighs a clove).
    2. A level of sulphites of 0 mg/kg on a label that does not list them.

    3. Another core temperature: in °F, or 0 °C.

    A yield, a weight, a density and a length of time have no such excuse: the balance catches those of the wrong size.
    """
    if damage.key == "core" and damage.kind in ("another unit", "nothing of it"):
        return True
    if damage.key == "sulphites" and damage.new == "0 mg/kg":
        return "contains: [sulphites]" not in line
    if damage.key != "amount" or damage.kind == "key misspelt" or damage.file.startswith("specs/"):
        return False
    return quantity_or_none(damage.new) is not None and after.weighs(damage)


@dataclass
class State:
    """What a kitchen answers: strength by (dish, law), cautions by dish, and its batches."""

    strength: dict[tuple[str, str], int]
    cautions: dict[str, set[str]]
    batches: dict[str, Batch]

    def weighs(self, damage: Damage) -> bool:
        """Whether the amount of a recipe's line, as it reads now, is of a weight that is known."""
        batch = self.batches.get(damage.file.rsplit("/", 1)[-1].removesuffix(".yaml"))
        for line, use in zip(batch.recipe.lines, batch.lines) if batch else ():
            if line.amount is not None and line.amount.text == damage.new:
                return not isinstance(amounts.of(line.amount, amounts.G, measures_of(use.what)), amounts.NotKnown)
        return False


def line_of(text: str, at: int) -> str:
    return text[text.rfind("\n", 0, at) + 1 :].partition("\n")[0]


def state(files: dict[str, str]) -> State:
    world = pipeline.world(library(files))
    strength, cautions = {}, {}
    for path, text in sorted(files.items()):
        if not path.startswith("specs/"):
            continue
        begun = pipeline.begin(text, path, path, world)
        if begun.resolved is None:
            continue
        traces = world.tracer.dish(begun.resolved)
        sums = sulphites.sums(begun.resolved, world.tracer.taxonomy, world.tracer.texts)
        for law in world.laws:
            found = derivation.derive(traces, sums, law, world.tracer.taxonomy)
            strength[(path, law.key)] = max(
                (STRENGTH[f.presence] for f in found.findings if f.allergen == "sulphite"), default=0
            )
        minded = world.cautioner.of(begun.resolved)
        cautions[path] = {c.rule for c in minded}
        if any("longer than 7 days" in i.said for c in minded for i in c.items):
            cautions[path].add("longer than 7 days")
    return State(strength, cautions, dict(world.pantry.batches))


def with_its_stand_in(cautions: set[str]) -> set[str]:
    """Of a core temperature that could not be read it is said that it is missing, or that what is left is too low."""
    heat = {"under-cooked", "core-missing"}
    return cautions | heat if cautions & heat else cautions


def weaker(files: dict[str, str], counts: Counter, every: int = 1) -> list[str]:
    """What every damage, one at a time, made weaker; of each kind every ``every``-th is tried.

    ``counts`` tells how many of each kind were tried, and how many left out.
    """
    before = state(files)
    found = []
    met: Counter = Counter()
    for damage in damages(files):
        met[damage.kind] += 1
        if met[damage.kind] % every:
            continue
        after = state({**files, damage.file: damage.to(files[damage.file])})
        if is_another_statement(damage, after, line_of(files[damage.file], damage.start)):
            counts["another statement"] += 1
            continue
        counts[damage.kind] += 1
        said = f"{damage.file} {damage.key}: {damage.old!r} -> {damage.new!r} ({damage.kind})"
        for key, now in after.strength.items():
            if now < before.strength[key]:
                found.append(f"{said}: {key} {before.strength[key]} > {now}")
        for path, minded in after.cautions.items():
            if lost := before.cautions[path] - with_its_stand_in(minded):
                found.append(f"{said}: {path} lost {sorted(lost)}")
    return found


def demo() -> dict[str, str]:
    """The texts of the demo kitchen and its dishes."""
    root = Path(__file__).parents[2]
    found = sorted(path for folder in ("shared", "specs") for path in (root / folder).rglob("*.yaml"))
    return {str(path.relative_to(root)): path.read_text(encoding="utf-8") for path in found}


def main(kitchens: str) -> None:
    counts: Counter = Counter()
    found = []
    for number in range(int(kitchens)) if kitchens.isdigit() else ():
        made = Maker(number)
        found += weaker({**made.files, **made.specs}, counts)
    if kitchens == "demo":
        found = weaker(demo(), counts)
    for line in found[:60]:
        print(line)
    print(f"{kitchens}: {sum(counts.values())} damaged figures, {len(found)} answers weaker; {dict(counts)}")


if __name__ == "__main__":
    main(sys.argv[1] if len(sys.argv) > 1 else "20")
