"""How foods look: their colours and how strongly they tint what they are in, and how each kind of food is drawn.

The table is ``data/looks.yaml``; its head says what its rows mean.  Names are compared folded, and a word counts
wherever it stands in a name.
"""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from functools import cache, lru_cache
from typing import NamedTuple, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, error
from platecard.knowledge.colours import palette
from platecard.knowledge.names import fold
from platecard.model.appearance import Appearance
from platecard.yaml_nodes import Mapping, Node
from platecard.yaml_nodes import Sequence as Rows


class Tint(NamedTuple):
    """The colour of a food, and how strongly it tints a mixture: 1 as most do, 0 not at all."""

    colour: str
    strength: float


class Drawn(NamedTuple):
    """One row of the table: for which food, cut and cooking it counts, and how that is drawn.

    Empty conditions always hold.  ``fill`` is the colour of the body (empty: that of the food itself), ``second`` and
    ``third`` those of its skin, seeds or edge; ``shown_by`` says which of the three is the chef's own colour.
    ``browned`` is how much browning is over the food's colour, and ``grain_mm`` the length and width of what lies
    loose in it.
    """

    name: str
    face: str
    foods: tuple[str, ...] = ()
    kinds: frozenset[str] = frozenset()
    made: tuple[str, ...] = ()
    unmade: tuple[str, ...] = ()
    cut: frozenset[str] = frozenset()
    fill: str = ""
    second: str = ""
    third: str = ""
    shown_by: str = "fill"
    browned: float = 0.0
    grain_mm: tuple[float, float] = (4.0, 3.0)

    def suits(self, one: Appearance, shape: str) -> bool:
        """Whether the row counts for this food in this shape."""
        return (
            (not self.cut or shape in self.cut)
            and (not (self.foods or self.kinds) or says(one.food, self.foods) or not self.kinds.isdisjoint(one.kinds))
            and (not self.made or says(one.made, self.made))
            and not says(one.made, self.unmade)
        )


class _Row(TypedDict, total=False):
    """A row as the table writes it."""

    look: str
    face: str
    food: list[str]
    kind: list[str]
    made: list[str]
    unmade: list[str]
    cut: list[str]
    fill: str
    second: str
    third: str
    shown_by: str
    browned: float
    grain_mm: list[float]
    recipe: list[str]
    colour: str
    tint: float


class _Rows(TypedDict):
    tints: list[_Row]
    looks: list[_Row]


_KEYS = {
    "tints": frozenset({"food", "kind", "recipe", "colour", "tint"}),
    "looks": frozenset(_Row.__annotations__) - {"colour", "tint", "recipe"},
}


def says(text: str, words: Iterable[str]) -> bool:
    """Whether one of the folded words or phrases stands in a folded text."""
    text = f" {text} "
    return any(f" {word} " in text for word in words)


@cache
def table() -> tuple[Drawn, ...]:
    """How foods are drawn; the first row that suits a food counts."""
    return tuple(
        Drawn(
            row["look"],
            row["face"],
            tuple(row.get("food", ())),
            frozenset(row.get("kind", ())),
            tuple(row.get("made", ())),
            tuple(row.get("unmade", ())),
            frozenset(row.get("cut", ())),
            row.get("fill", ""),
            row.get("second", ""),
            row.get("third", ""),
            row.get("shown_by", "fill"),
            row.get("browned", 0.0),
            cast(tuple[float, float], tuple(row.get("grain_mm", (4.0, 3.0)))),
        )
        for row in _load()[0]["looks"]
    )


@lru_cache(maxsize=4096)
def drawn(one: Appearance, shape: str) -> Drawn | None:
    """The row that counts for a food in a shape, or None where it is drawn as any food of that shape."""
    return next((row for row in table() if row.suits(one, shape)), None)


@cache
def tint(name: str, kinds: tuple[str, ...] = ()) -> Tint | None:
    """The colour of a plain food by its name, which is folded, or else by what it is; None where neither tells.

    Its kinds stand in the order of its entry, the first of them first, each before those that it is under.
    """
    by_food, by_kind = _tints()
    named = min((by_food[part] for part in _phrases(name) if part in by_food), default=None)
    if named is not None:
        return named[1]
    of_kind = next((by_kind[kind] for kind in kinds if kind in by_kind), None)
    found = by_name(name)
    return Tint(found, of_kind.strength if of_kind else 1.0) if found else of_kind


@cache
def _tints() -> tuple[dict[str, tuple[int, Tint]], dict[str, Tint]]:
    """The colours by words of a food's name, with their place in the table, and by what it is."""
    by_food: dict[str, tuple[int, Tint]] = {}
    by_kind: dict[str, Tint] = {}
    for place, row in enumerate(_load()[0]["tints"]):
        colour = Tint(row["colour"], row.get("tint", 1.0))
        for word in row.get("food", ()):
            by_food.setdefault(word, (place, colour))
        for kind in row.get("kind", ()):
            by_kind.setdefault(kind, colour)
    return by_food, by_kind


def _phrases(name: str) -> Iterator[str]:
    """Every run of one to three words of a name."""
    words = name.split()
    for i in range(len(words)):
        for n in (1, 2, 3):
            if i + n <= len(words):
                yield " ".join(words[i : i + n])


@cache
def of_recipe(name: str) -> Tint | None:
    """The colour of a recipe whose folded name tells it, whatever is weighed into it."""
    row = next((row for row in _load()[0]["tints"] if says(name, row.get("recipe", ()))), None)
    return Tint(row["colour"], row.get("tint", 1.0)) if row else None


@cache
def by_name(name: str) -> str | None:
    """The palette's colour for a folded name such as "pickled cucumber", or None.

    Pairs of words are looked up before single words, each from the end of the name.
    """
    words = _folded_palette()
    parts = name.split()
    pairs = [f"{a} {b}" for a, b in zip(parts, parts[1:])]
    return next((words[part] for part in (*pairs[::-1], *parts[::-1]) if part in words), None)


@cache
def _folded_palette() -> dict[str, str]:
    return {fold(word): value for word, value in palette()[0].items()}


@cache
def load() -> tuple[tuple[Drawn, ...], tuple[Problem, ...]]:
    """The rows of the table, and what is wrong with it."""
    return table(), _load()[1]


@cache
def _load() -> tuple[_Rows, tuple[Problem, ...]]:
    return packaged_tables.rows(packaged_tables.texts("looks.yaml", "colours.yaml"), _collect, "looks")


def _collect(trees: dict[str, Node]) -> tuple[_Rows, tuple[Problem, ...]]:
    """The rows with their names folded and their colours as ``#rrggbb``."""
    root = next(tree for path, tree in trees.items() if path.endswith("looks.yaml"))
    words = palette()[0]
    made: _Rows = {"tints": [], "looks": []}
    problems: list[Problem] = []
    for part, rows in (("tints", made["tints"]), ("looks", made["looks"])):
        nodes = root.get(part) if isinstance(root, Mapping) else None
        for node in nodes.items if isinstance(nodes, Rows) else ():
            row = cast(_Row, packaged_tables.without_place(cast(dict[str, object], packaged_tables.placed(node))))
            if unknown := sorted(set(row) - _KEYS[part]):
                problems.append(error("unknown-key", node.span, f"no key '{unknown[0]}'", "take it out"))
            for names in ("food", "made", "unmade", "recipe"):
                if names in row:
                    row[names] = [fold(word) for word in row[names]]
            for shade in ("fill", "second", "third", "colour"):
                if shade in row:
                    row[shade] = words.get(row[shade], row[shade])
            for figure in ("browned", "tint"):
                if figure in row:
                    row[figure] = float(row[figure])
            if "grain_mm" in row:
                row["grain_mm"] = [float(v) for v in row["grain_mm"]]
            rows.append(row)
    return made, tuple(problems)
