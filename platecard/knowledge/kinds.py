"""Food kinds: what a food is, in the terms in which guests ask about it, beyond the allergens of laws.

A kind may stand under several others (chive is an allium and a herb).  A kind that names
nodes of the taxonomy covers them, so that an allergen on a label counts for the kind too.
"""

from __future__ import annotations

from collections.abc import Callable, Collection
from dataclasses import dataclass, field
from functools import cache
from typing import NamedTuple, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, Span, error
from platecard.knowledge import taxonomy
from platecard.knowledge.names import fold
from platecard.yaml_nodes import Mapping, Node, Sequence

_KEYS = {"id", "under", "made_of", "name", "also", "nodes", packaged_tables.PLACE}


class FoodKind(NamedTuple):
    """One kind of food.

    ``under`` are the kinds that it is one of, ``made_of`` those that it is made from (wine from
    grapes), and ``nodes`` the allergens that belong to it.
    """

    id: str
    name: str
    under: tuple[str, ...]
    made_of: tuple[str, ...]
    nodes: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class FoodKinds:
    """All kinds by id, in the order of the file, and the id for each folded word that means one."""

    kinds: dict[str, FoodKind]
    by_word: dict[str, str]
    _below: dict[str, frozenset[str]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def find(self, word: str) -> str | None:
        """The id of the kind that ``word`` names, or None."""
        return self.by_word.get(fold(word))

    def name(self, kind: str) -> str:
        """The name of a kind; an unknown kind stays as it is."""
        return self.kinds[kind].name if kind in self.kinds else kind

    def above(self, kind: str) -> frozenset[str]:
        """The kind and every kind that it is one of, directly or not."""
        return self._up(kind, lambda k: k.under)

    def below(self, kind: str) -> frozenset[str]:
        """The kind and every kind that is one of it or made from it, directly or not."""
        if kind not in self._below:
            self._below[kind] = frozenset(k for k in self.kinds if kind in self._up(k, lambda k: k.under + k.made_of))
        return self._below[kind]

    def _up(self, kind: str, step: Callable[[FoodKind], tuple[str, ...]]) -> frozenset[str]:
        """The kind and all that can be reached from it by ``step``."""
        found: set[str] = set()
        wanted = [kind]
        while wanted:
            here = wanted.pop()
            if here in self.kinds and here not in found:
                found.add(here)
                wanted += step(self.kinds[here])
        return frozenset(found)

    def is_group(self, kind: str) -> bool:
        """Whether there are kinds under it; a food known only as this kind may be any of them."""
        return any(kind in self.kinds[k].under for k in self.below(kind))

    def nodes_of(self, kind: str) -> tuple[str, ...]:
        """The nodes of the taxonomy that belong to the kind or to a kind below it."""
        return tuple(dict.fromkeys(n for k in self.kinds if k in self.below(kind) for n in self.kinds[k].nodes))


class _FileRow(TypedDict, total=False):
    """A kind as ``data/kinds.yaml`` writes it."""

    id: str
    name: str
    under: str | list[str]
    made_of: list[str]
    also: list[str]
    nodes: list[str]


class _KindRow(TypedDict):
    id: str
    name: str
    under: list[str]
    made_of: list[str]
    also: list[str]
    nodes: list[str]


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
    """The ids in a parsed kinds file, for tables that refer to them."""
    rows = tree.get("kinds") if isinstance(tree, Mapping) else None
    return {str(_row(node).get("id")) for node in rows.items} if isinstance(rows, Sequence) else set()


def _row(node: Node) -> _FileRow:
    return cast(_FileRow, packaged_tables.placed(node))


def _collect(trees: dict[str, Node]) -> tuple[list[_KindRow], tuple[Problem, ...]]:
    """The rows of the kinds.

    These rules are checked, each with a problem at its place:

    1. Only known keys.
    2. Each id stands once.
    3. What a kind stands under or is made from is another kind.
    4. Every node exists.
    5. No word names two kinds.
    """
    problems: list[Problem] = []
    tree = next((t for p, t in trees.items() if p.endswith("/kinds.yaml")), None)
    known, nodes = ids(tree), taxonomy.load()[0].kinds
    made: list[_KindRow] = []
    words: dict[str, str] = {}
    rows = tree.get("kinds") if isinstance(tree, Mapping) else None
    for node in rows.items if isinstance(rows, Sequence) else ():
        written = _row(node)
        problems += _faults(written, node.span, known, nodes, {m["id"] for m in made})
        under = written.get("under", [])
        row: _KindRow = {
            "id": str(written.get("id")),
            "name": written.get("name") or str(written.get("id")).replace("_", " "),
            "under": [under] if isinstance(under, str) else list(under),
            "made_of": list(written.get("made_of", [])),
            "also": list(written.get("also", [])),
            "nodes": list(written.get("nodes", [])),
        }
        for word in dict.fromkeys(fold(w) for w in (row["id"].replace("_", " "), row["name"], *row["also"])):
            if word in words:
                problems.append(
                    error("kind-word-twice", node.span, f"'{word}' names both '{words[word]}' and '{row['id']}'")
                )
            words.setdefault(word, row["id"])
        made.append(row)
    return made, tuple(problems)


def _faults(row: _FileRow, span: Span, known: set[str], nodes: Collection[str], earlier: set[str]) -> list[Problem]:
    """What is wrong with a row, given the ids of all kinds, the nodes there are, and the ids above it."""
    key = row.get("id")
    found = [error("unknown-key", span, f"'{key}': there is no key '{k}' in a kind") for k in row if k not in _KEYS]
    if not key or key in earlier:
        found.append(error("kind-id", span, f"the kind '{key}' has no id or stands twice"))
    under = row.get("under", [])
    for above in ([under] if isinstance(under, str) else under) + row.get("made_of", []):
        if above not in known or above == key:
            found.append(error("unknown-kind", span, f"'{key}' stands under '{above}', which is not another kind"))
    for node in row.get("nodes", []):
        if node not in nodes:
            found.append(error("unknown-node", span, f"'{key}': there is no allergen node '{node}' in the taxonomy"))
    return found
