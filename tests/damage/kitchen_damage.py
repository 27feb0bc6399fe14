"""Damage one thing in a kitchen, and see that no answer gets weaker.

``python -m tests.damage.kitchen_damage --kitchens 2000`` runs as many damaged kitchens as asked for and
prints every weakening with the damage that caused it; ``test_kitchen_damage.py`` runs a sample.

The order of strength is: contains > not established > may contain > not among the
ingredients.  A dish whose card is withheld answers nobody with yes, so it is stronger than
all of them; a dish that is gone has to be named by a problem.  Two kinds of damage are
left out, because what they leave is another valid statement that a chef may have meant:
a known word for another known word of the same sort (one unit, piece of equipment or
ingredient for another), and a file given the name of a document or taken away.  Where
a random misspelling happens to make such a word it is counted as excluded.
"""

from __future__ import annotations

import argparse
import os
import re
import shutil
import sys
import tempfile
from collections import Counter
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from random import Random

from platecard import pipeline
from platecard.cli import shared
from platecard.files import reading
from platecard.knowledge import catalogue, taxonomy
from platecard.knowledge.names import fold
from platecard.reports import guest_answers

ROOT = Path(__file__).resolve().parents[2]
WITHHELD, GONE = 9.0, -1.0
STRENGTH = {"contains": 3.0, "not_established": 2.0, "may_contain": 1.0, "not_among_ingredients": 0.0}
# A changed plate has left more away than one that goes as it is and may contain something.
ANSWER = {"cannot": 3.0, "not_established": 2.0, "changed": 1.0, "as_is": 0.0}
GUESTS = ("milk", "gluten", "fish", "crustaceans", "nuts", "sesame", "celery", "sulphites", "mustard")

Tree = dict[str, bytes]


@dataclass(frozen=True)
class Special:
    """Something in a folder that is no plain file: ``fifo``, ``folder``, ``nowhere`` (a link) or ``link`` to a file
    outside with ``data``.
    """

    kind: str
    data: bytes = b""


@dataclass
class Told:
    """What a kitchen says: (dish, law and allergen, or guest) → strength, and the files that its problems name."""

    cells: dict[tuple, float] = field(default_factory=dict)
    dishes: dict[str, float] = field(default_factory=dict)
    named: set[str] = field(default_factory=set)
    said: str = ""


# --------------------------------------------------------------------------- kitchens


def demo() -> Tree:
    """The demo kitchen as it is committed."""
    return {
        str(p.relative_to(ROOT)): p.read_bytes()
        for part in ("specs", "shared")
        for p in sorted((ROOT / part).rglob("*"))
        if p.is_file()
    }


PLAIN = (
    "carrot",
    "potato",
    "parsnip",
    "rice",
    "olive oil",
    "sea salt",
    "water",
    "beetroot",
    "leek",
    "parsley",
    "thyme",
    "maize flour",
)
LOUD = (
    "butter",
    "plain flour",
    "cod",
    "hazelnut",
    "sesame seed",
    "celery",
    "mustard seed",
    "double cream",
    "hen egg",
    "rye flour",
    "almond",
    "salmon",
    "mussel",
    "tofu",
)
LABELS = (
    ("contains: [wheat, milk]", "Wheat flour, water, milk powder, salt."),
    ("contains: [hazelnut, soya], may_contain: [almond]", "Sugar, hazelnuts, soya lecithin. May contain almonds."),
    ("contains: [fish]", "Cod (fish), potato, salt."),
    ("contains: []", "Potato starch, salt."),
    ("contains: [sesame], may_contain: [peanut]", "Sesame seeds, salt. May contain peanuts."),
    ("contains: [sulphites], sulphites: 900 mg/kg", "Apricots, preservative: sulphur dioxide."),
    ("contains: [celery, mustard]", "Water, celery, mustard seed, vinegar, salt."),
)


def generated(seed: int) -> Tree:
    """A small sound kitchen: recipes within recipes, labels, shared equipment, swaps."""
    chance = Random(seed)
    laws = chance.choice(("eu", "eu, us", "uk", "us", "ca", "eu, jp"))
    made: dict[str, str] = {
        "shared/kitchen.yaml": (
            f"kitchen: Kitchen {seed}\nlaws: [{laws}]\nlabels_printed_for: [{laws}]\nstations: {{larder: Larder}}\n"
            "equipment: {fryer: Deep fryer, grill: Charcoal grill, mill: Mill}\n"
        ),
        "shared/plates.yaml": "plates:\n  wide: {called: Wide plate, form: rimmed, outer: 300 mm, well: 240 mm}\n",
    }
    products = [f"product-{i}" for i in range(chance.randint(2, 4))]
    rows = []
    for key in products:
        lists, text = chance.choice(LABELS)
        rows.append(
            f"  {key}:\n    called: Thing {key[-1]}\n    label: {{read: 2026-09-14, {lists}"
            + (f', text: "{text}"' if chance.random() < 0.7 else "")
            + "}\n"
        )
    made["shared/pantry.yaml"] = "products:\n" + "".join(rows)
    recipes: list[str] = []
    for i in range(chance.randint(2, 5)):
        lines = []
        for _ in range(chance.randint(2, 4)):
            source = chance.choice(
                [
                    f"ingredient: {chance.choice(PLAIN)}",
                    f"ingredient: {chance.choice(LOUD)}",
                    f"product: {chance.choice(products)}",
                ]
                + [f"recipe: {r}" for r in recipes]
            )
            lines.append(f"  - {{{source}, amount: {chance.choice((50, 80, 120))} g}}\n")
        used = f"equipment: {chance.choice(('fryer', 'grill', 'mill'))}\n" if chance.random() < 0.6 else ""
        made[f"shared/recipes/recipe-{i}.yaml"] = (
            f"recipe: Recipe {i}\nmakes: 100 g\n{used}ingredients:\n{''.join(lines)}"
        )
        recipes.append(f"recipe-{i}")
    for d in range(chance.randint(2, 4)):
        parts, steps = [], []
        for j in range(chance.randint(1, 4)):
            source = chance.choice(
                [
                    f"recipe: {chance.choice(recipes)}",
                    f"product: {chance.choice(products)}",
                    f"ingredient: {chance.choice(PLAIN)}",
                    f"ingredient: {chance.choice(LOUD)}",
                ]
            )
            more = f", equipment: {chance.choice(('fryer', 'grill'))}" if chance.random() < 0.5 else ""
            more += ", may_be_left_off: true" if chance.random() < 0.3 else ""
            parts.append(f"  part-{j}: {{{source}{more}}}\n")
            side, across = ("left", 45 * (2 - j)) if j < 2 else ("right", 45 * (j - 2))
            steps.append(
                f"  - {{put: part-{j}, amount: {chance.choice((5, 8, 10))} g, arrange: pool, across: 22 mm, at:"
                f" {{{side}: {across} mm, away: 10 mm}}}}\n"
            )
        made[f"specs/dish-{d}.yaml"] = (
            f"dish: Dish {d} of the tests\nrevision: {{number: 1, date: 2026-09-14}}\nplate:"
            f" wide\ncomponents:\n{''.join(parts)}plating:\n{''.join(steps)}"
        )
    return {path: text.encode() for path, text in made.items()}


# --------------------------------------------------------------------------- reading them


@contextmanager
def on_disk(tree: dict[str, bytes | Special]) -> Iterator[Path]:
    folder = Path(tempfile.mkdtemp(prefix="kitchen-"))
    try:
        (folder / "room/specs").mkdir(parents=True)
        for name, what in tree.items():
            path = folder / "room" / name
            path.parent.mkdir(parents=True, exist_ok=True)
            if isinstance(what, bytes):
                path.write_bytes(what)
            elif what.kind == "fifo":
                os.mkfifo(path)
            elif what.kind == "folder":
                path.mkdir()
            elif what.kind == "nowhere":
                path.symlink_to(folder / "is-not-there.yaml")
            else:
                (folder / "elsewhere.yaml").write_bytes(what.data)
                path.symlink_to(folder / "elsewhere.yaml")
        yield folder / "room"
    finally:
        shutil.rmtree(folder)


def told(tree: dict[str, bytes | Special]) -> Told:
    """What the kitchen says of every dish, under every law in force and to every guest."""
    made = Told()
    with on_disk(tree) as room:
        try:
            project = reading.read_project([str(room / "specs")])
        except reading.UsageError as stop:
            made.said = str(stop)
            return made
        world, menu = shared.prepared_menu(project)
        problems = shared.all_problems(project, world, menu)
        made.named = {p.span.file for p in problems if p.span is not None and p.severity != "advice"}
        made.said = "; ".join(sorted({p.slug for p in problems if p.is_error}))
        begun = tuple(pipeline.begin(s.text, s.file, s.key, world) for s in project.specs)
        for one in menu:
            dish = one.dish.title if one.dish else one.key
            made.dishes[dish] = (
                0.0
                if one.is_sound and not any(p.is_error for p in project.problems if p.span and p.span.file == one.file)
                else WITHHELD
            )
            for statement in one.statements:
                for f in statement.findings:
                    made.cells[dish, f.law, f.allergen] = STRENGTH[f.presence]
        for word in GUESTS:
            guest, _ = guest_answers.avoids(word, world)
            for one, answer in guest_answers.answer_all(begun, project.asked, guest, world):
                dish = one.dish.title if one.dish else one.key
                may = 0.5 if answer is not None and answer.remaining and answer.answer == "as_is" else 0.0
                made.cells[dish, "guest", word] = WITHHELD if answer is None else ANSWER[answer.answer] + may
    return made


def weaker(before: Told, after: Told, damaged: str) -> list[str]:
    """Every answer that the damage made weaker, in words."""
    found = []
    for dish, state in before.dishes.items():
        now = after.dishes.get(dish, GONE)
        if now == GONE:
            if (
                after.dishes
                and damaged not in after.named
                and not any(n.startswith(damaged.rsplit(".", 1)[0]) for n in after.named)
            ):
                found.append(f"{dish} is gone, and no problem names {damaged}")
            continue
        if now == WITHHELD:
            continue
        if state == WITHHELD:
            found.append(f"{dish} was withheld and is issued")
        found += [
            f"{key}: {value:g} became {after.cells.get(key, GONE):g}"
            for key, value in before.cells.items()
            if key[0] == dish and value != WITHHELD and after.cells.get(key, GONE) < value
        ]
    return found


# --------------------------------------------------------------------------- damages


Damage = tuple[str, dict[str, bytes | Special]]


def _moved(name: Callable[[str], str]) -> Callable[[Random, Tree, str], Damage]:
    def do(chance: Random, tree: Tree, path: str) -> Damage:
        new = name(path)
        return new, {new if p == path else p: data for p, data in tree.items()}

    return do


def _replaced(kind: str) -> Callable[[Random, Tree, str], Damage]:
    def do(chance: Random, tree: Tree, path: str) -> Damage:
        return path, {**tree, path: Special(kind, tree[path])}

    return do


def _stem(path: str, change: Callable[[str], str]) -> str:
    folder, name = path.rsplit("/", 1)
    return f"{folder}/{change(name)}"


def _half(data: bytes) -> bytes:
    """The first half of a file, to the middle of a line: cut at the end of one, it is another whole file."""
    at = len(data) // 2
    while b"\n" in data[max(0, at - 3) : at + 3]:
        at += 1
    return data[:at]


def _words(text: str, pattern: str) -> list[re.Match]:
    return list(re.finditer(pattern, text))


def _known(word: str) -> bool:
    """Whether a misspelling happens to be another word that means something."""
    key = fold(word)
    return bool(catalogue.load()[0].find(word).entry or taxonomy.load()[0].find(word)) or key in ("",)


def _misspelt(word: str, chance: Random) -> str:
    at = chance.randrange(1, max(2, len(word) - 1))
    way = chance.randrange(4)
    if way == 0 and at + 1 < len(word):
        return word[:at] + word[at + 1] + word[at] + word[at + 2 :]
    if way == 1 and len(word) > 3:
        return word[:at] + word[at + 1 :]
    if way == 2:
        return word[:at] + word[at] + word[at:]
    return word[:at] + "q" + word[at:]


def _text(
    pattern: str, change: Callable[[str, Random], str | None], only: str = ""
) -> Callable[[Random, Tree, str], Damage | None]:
    """Damage one word of a file that ``pattern`` finds (its first group, where it has one)."""

    def do(chance: Random, tree: Tree, path: str) -> Damage | None:
        if only and not re.search(only, path):
            return None
        text = tree[path].decode()
        hits = _words(text, pattern)
        if not hits:
            return None
        hit = chance.choice(hits)
        a, b = hit.span(1) if hit.re.groups else hit.span()
        new = change(text[a:b], chance)
        if new is None or new == text[a:b]:
            return None
        return path, {**tree, path: (text[:a] + new + text[b:]).encode()}

    return do


def _other(words: dict[str, str]) -> Callable[[str, Random], str | None]:
    return lambda word, chance: words.get(word.lower())


_TONGUES = {
    "milk": "lait",
    "wheat": "froment",
    "flour": "Mehl",
    "hazelnuts": "noisettes",
    "fish": "pesce",
    "salt": "sel",
    "sugar": "Zucker",
    "water": "acqua",
    "soya": "soja",
    "sesame": "sésame",
    "celery": "céleri",
    "mustard": "moutarde",
    "almonds": "mandorle",
    "peanuts": "cacahuètes",
    "butter": "beurre",
    "cream": "Sahne",
    "barley": "orge",
}
_COUNTS = {"g": "heads", "pieces": "slices", "cloves": "heads", "piece": "portion", "slices": "cloves", "ml": "ladles"}

DAMAGES: dict[str, Callable[[Random, Tree, str], Damage | None]] = {
    "the file's name in capitals": _moved(lambda p: _stem(p, lambda n: n.rsplit(".", 1)[0].upper() + ".yaml")),
    "a blank in the file's name": _moved(lambda p: _stem(p, lambda n: "my " + n)),
    "its ending in capitals": _moved(lambda p: p.rsplit(".", 1)[0] + ".YAML"),
    "another ending of YAML": _moved(lambda p: p.rsplit(".", 1)[0] + ".yml"),
    "a misspelt ending": _moved(lambda p: p.rsplit(".", 1)[0] + ".yalm"),
    "a backup without its original": _moved(lambda p: p + ".bak"),
    "an editor's copy without its original": _moved(lambda p: p + "~"),
    "hidden": _moved(lambda p: _stem(p, lambda n: "." + n)),
    "in a folder below": _moved(lambda p: _stem(p, lambda n: "lunch/" + n)),
    "a link to it": _replaced("link"),
    "a link to nowhere": _replaced("nowhere"),
    "a pipe of its name": _replaced("fifo"),
    "a folder of its name": _replaced("folder"),
    "cut off half way": lambda chance, tree, path: (path, {**tree, path: _half(tree[path])}),
    "emptied": lambda chance, tree, path: (path, {**tree, path: b""}),
    "not text": lambda chance, tree, path: (path, {**tree, path: b"\x00\xff\xfe" + tree[path]}),
    "a bracket too many": _text(r"\n(?=\S)", lambda w, c: "\n]["),
    "a key renamed": _text(r"(?m)(?<=[{ ,\n])([a-z_]{4,}):(?= )", _misspelt),
    "a unit misspelt": _text(r"(?<=\d )(g|ml|pieces|kg|l)\b", lambda w, c: w + c.choice(("q", "rm", "zz"))),
    "a count word changed": _text(r"(?<=\d )(g|ml|pieces?|cloves|slices)\b", _other(_COUNTS)),
    "a word of a label misspelt": _text(
        r'(?<=[ "(])([A-Za-z]{4,})(?=[^"\n]*"\s*\}?\s*(?:\n|$))',
        lambda w, c: None if _known(m := _misspelt(w, c)) else m,
        "pantry",
    ),
    "two words of a label run together": _text(
        r'(?<=[a-z])( )(?=[a-z][^"\n]*"\s*\}?\s*(?:\n|$))', lambda w, c: "", "pantry"
    ),
    "a word of a label in another language": _text(
        r"\b(" + "|".join(_TONGUES) + r')\b(?=[^"\n]*"\s*\}?\s*(?:\n|$))', _other(_TONGUES), "pantry"
    ),
    "a word of a label's list misspelt": _text(
        r"(?:contains|may_contain): \[[^\]]*?([a-z]{3,})[^\]]*\]",
        lambda w, c: None if _known(m := _misspelt(w, c)) else m,
        "pantry",
    ),
    "a piece of equipment renamed": _text(r"(?<=equipment: )([a-z]+)", _misspelt),
    "a piece of equipment renamed in the kitchen": _text(
        r"(fryer|grill|mill|churn|oven|smoker|plancha)(?=: )", _misspelt, "kitchen"
    ),
    "a source renamed": _text(
        r"(?:ingredient|recipe|product): ([a-z-]{3,})", lambda w, c: None if _known(m := _misspelt(w, c)) else m
    ),
    "a word of a swap misspelt": _text(
        r"avoiding: \[?([a-z]+)", lambda w, c: None if _known(m := _misspelt(w, c)) else m, "specs"
    ),
    "a mapping made a word before a #": _text(
        r"(?m)(?:(?<=- )|(?<=: ))([{\[][^\n#]*)$", lambda w, c: c.choice(("milk", "yes", "1")) + " #x"
    ),
    "an entry without its amount before a #": _text(
        r"(?m)^\s+- \d+ k?(?:g|ml|l|pieces?) ([^\n#]*)$", lambda w, c: "#" + w, "recipes"
    ),
    "a law misspelt": _text(r"laws: \[([a-z]+)", _misspelt, "kitchen"),
}


def damaged(seed: int, tree: Tree) -> tuple[str, str, dict[str, bytes | Special]] | None:
    """One damage of a kitchen, from a seed: what was done, the file as it is called now, the kitchen.  None: it met
    nothing to damage.
    """
    chance = Random(seed)
    what = list(DAMAGES)[seed % len(DAMAGES)]
    for path in chance.sample(sorted(tree), len(tree)):
        done = DAMAGES[what](chance, tree, path)
        if done is not None:
            return what, done[0], done[1]
    return None


def run(kitchens: int, first: int = 0, every_demo: int = 10) -> tuple[Counter, list[str]]:
    """As many damaged kitchens as asked for: how many of each damage, and every weakening."""
    counts, found = Counter(), []
    # What a kitchen says before it is damaged: the demo kitchen, and the one whose turn it is.
    kept: dict[bool, tuple[int, Tree, Told]] = {}
    for seed in range(first, first + kitchens):
        is_demo = seed % every_demo == every_demo - 1
        number = 0 if is_demo else seed // len(DAMAGES)
        if is_demo not in kept or kept[is_demo][0] != number:
            sound = demo() if is_demo else generated(number)
            kept[is_demo] = number, sound, told(sound)
        _, tree, before = kept[is_demo]
        made = damaged(seed, tree)
        if made is None:
            counts["met nothing to damage"] += 1
            continue
        what, path, now = made
        counts[what] += 1
        after = told(now)
        for line in weaker(before, after, path)[:3]:
            found.append(f"seed {seed}, {'demo' if is_demo else 'generated'}, {what}, {path}: {line} ({after.said})")
    return counts, found


def main() -> int:
    options = argparse.ArgumentParser(description=__doc__.split("\n")[0])
    options.add_argument("--kitchens", type=int, default=2000)
    options.add_argument("--first", type=int, default=0, help="the first seed")
    chosen = options.parse_args()
    counts, found = run(chosen.kitchens, chosen.first)
    for what, number in sorted(counts.items()):
        print(f"{number:6} {what}")
    print(*found, sep="\n")
    print(f"{sum(counts.values())} damaged kitchens, {len(found)} weakenings")
    return bool(found)


if __name__ == "__main__":
    sys.exit(main())
