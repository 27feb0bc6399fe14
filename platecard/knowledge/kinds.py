"""Food kinds: what a food is beyond the allergens of laws, as guests ask for it.

A kind may stand under several (chive is an allium and a herb).  A kind that names nodes
of the taxonomy covers them, so that an allergen on a label counts for it too.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache

from platecard.diagnostics import Problem, Span, error
from platecard.knowledge import packaged_tables, taxonomy
from platecard.knowledge.names import fold
from platecard.yaml_nodes import Mapping, Node, Sequence

_KEYS = {"id", "under", "made_of", "name", "also", "nodes", packaged_tables.PLACE}


@dataclass(frozen=True, slots=True)
class FoodKind:
    """One kind of food.

    ``under`` are the kinds it is one of, ``made_of`` those it is made from (wine of grapes),
    ``nodes`` the allergens that are of it.
    """

    id: str
    name: str
    under: tuple[str, ...]
    made_of: tuple[str, ...]
    nodes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FoodKinds:
    """All kinds by id, in the order of the file, with the words that mean just one of them."""

    kinds: dict[str, FoodKind]
    by_word: dict[str, str]
    _below: dict[str, frozenset[str]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def find(self, word: str) -> str | None:
        """The kind that ``word`` names, or None."""
        return self.by_word.get(fold(word))

    def name(self, kind: str) -> str:
        return self.kinds[kind].name if kind in self.kinds else kind

    def above(self, kind: str) -> frozenset[str]:
        """The kind and every kind that it is one of, by whatever road."""
        return self._up(kind, lambda k: k.under)

    def below(self, kind: str) -> frozenset[str]:
        """The kind and every kind that is one of it or made from it."""
        if kind not in self._below:
            self._below[kind] = frozenset(k for k in self.kinds if kind in self._up(k, lambda k: k.under + k.made_of))
        return self._below[kind]

    def _up(self, kind: str, step: Callable[[FoodKind], tuple[str, ...]]) -> frozenset[str]:
        found: set[str] = set()
        wanted = [kind]
        while wanted:
            here = wanted.pop()
            if here in self.kinds and here not in found:
                found.add(here)
                wanted += step(self.kinds[here])
        return frozenset(found)

    def is_group(self, kind: str) -> bool:
        """Whether other kinds are one of it: a food of which no more is known may be any of those."""
        return any(kind in self.kinds[k].under for k in self.below(kind))

    def nodes_of(self, kind: str) -> tuple[str, ...]:
        """The nodes of the taxonomy that the kind and those below it cover."""
        return tuple(dict.fromkeys(n for k in self.kinds if k in self.below(kind) for n in self.kinds[k].nodes))


@cache
def load() -> tuple[FoodKinds, tuple[Problem, ...]]:
    """The kinds in ``data/kinds.yaml`` and the problems of that file."""
    made, problems = packaged_tables.rows(packaged_tables.texts("kinds.yaml", "taxonomy.yaml"), _collect, "kinds")
    kinds = {
        row["id"]: FoodKind(row["id"], row["name"], tuple(row["under"]), tuple(row["made_of"]), tuple(row["nodes"]))
        for row in made
    }
    words: dict[str, str] = {}
    for row in made:
        for word in (row["id"].replace("_", " "), row["name"], *row["also"]):
            words.setdefault(fold(word), row["id"])
    return FoodKinds(kinds, words), problems


def ids(tree: Node | None) -> set[str]:
    """The ids of a parsed kinds file, for those who only refer to them."""
    rows = tree.get("kinds") if isinstance(tree, Mapping) else None
    return {str(packaged_tables.placed(node).get("id")) for node in rows.items} if isinstance(rows, Sequence) else set()


def _collect(trees: dict[str, Node]) -> tuple[list[dict], tuple[Problem, ...]]:
    """Rules: known keys; each id once; what it stands under is a kind; its nodes exist; no word names two kinds."""
    problems: list[Problem] = []
    tree = next((t for p, t in trees.items() if p.endswith("/kinds.yaml")), None)
    known, nodes = ids(tree), taxonomy.load()[0].kinds
    made: list[dict] = []
    words: dict[str, str] = {}
    rows = tree.get("kinds") if isinstance(tree, Mapping) else None
    for node in rows.items if isinstance(rows, Sequence) else ():
        row = packaged_tables.placed(node)
        problems += _faults(row, node.span, known, nodes, {m["id"] for m in made})
        under = row.get("under", [])
        row = {
            "id": str(row.get("id")),
            "name": row.get("name") or str(row.get("id")).replace("_", " "),
            "under": [under] if isinstance(under, str) else list(under),
            "made_of": list(row.get("made_of", [])),
            "also": list(row.get("also", [])),
            "nodes": list(row.get("nodes", [])),
        }
        for word in dict.fromkeys(fold(w) for w in (row["id"].replace("_", " "), row["name"], *row["also"])):
            if word in words:
                problems.append(
                    error("kind-word-twice", node.span, f"'{word}' names both '{words[word]}' and '{row['id']}'")
                )
            words.setdefault(word, row["id"])
        made.append(row)
    return made, tuple(problems)


def _faults(row: dict, span: Span, known: set[str], nodes: dict, earlier: set[str]) -> list[Problem]:
    key = row.get("id")
    found = [error("unknown-key", span, f"'{key}': there is no key '{k}' in a kind") for k in row if k not in _KEYS]
    if not key or key in earlier:
        found.append(error("kind-id", span, f"the kind '{key}' has no id or stands twice"))
    under = row.get("under", [])
    for above in ([under] if isinstance(under, str) else under) + row.get("made_of", []):
        if above not in known or above == key:
            found.append(error("unknown-kind", span, f"'{key}' stands under '{above}', which is no other kind"))
    for node in row.get("nodes", []):
        if node not in nodes:
            found.append(error("unknown-node", span, f"'{key}': there is no allergen node '{node}' in the taxonomy"))
    return found
