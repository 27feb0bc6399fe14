"""The tree of allergens: what an ingredient is, whatever any law says about it."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from typing import NamedTuple, NotRequired, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, Span, error
from platecard.knowledge.names import fold
from platecard.yaml_nodes import Mapping, Node, Sequence

# Sulphites have limits of their own in every law, so the program itself must know them.
SULPHITE = "sulphite"


class AllergenNode(NamedTuple):
    """One node of the tree.

    ``under`` is its parent's id, or empty; ``gs1`` its GS1 AllergenTypeCode, or its parent's if it has none;
    ``names`` has its name by language.
    """

    id: str
    under: str
    gs1: str
    names: dict[str, str]
    span: Span

    def name(self, language: str = "en-GB") -> str:
        """Its name in a language, in British English if there is none."""
        return self.names.get(language) or self.names["en-GB"]


@dataclass(frozen=True, slots=True)
class Taxonomy:
    """All nodes by id, in the order of the file, and the id for each folded word that means one."""

    kinds: dict[str, AllergenNode]
    by_word: dict[str, str]
    _lineages: dict[str, tuple[str, ...]] = field(default_factory=dict, init=False, repr=False, compare=False)
    _below: dict[str, tuple[str, ...]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def lineage(self, node: str) -> tuple[str, ...]:
        """The node, its parent, and so on up to the root; empty for an unknown node."""
        known = self._lineages.get(node)
        if known is None:
            found: list[str] = []
            above = node
            while above and above in self.kinds and above not in found:
                found.append(above)
                above = self.kinds[above].under
            known = self._lineages[node] = tuple(found)
        return known

    def is_under(self, node: str, ancestor: str) -> bool:
        """Whether ``node`` is ``ancestor`` or stands below it."""
        known = self._lineages.get(node)  # looked up directly, since each dish asks hundreds of times
        return ancestor in (self.lineage(node) if known is None else known)

    def below(self, node: str) -> tuple[str, ...]:
        """The node and everything under it."""
        known = self._below.get(node)
        if known is None:
            known = self._below[node] = tuple(k for k in self.kinds if self.is_under(k, node))
        return known

    def find(self, word: str) -> str | None:
        """The node that ``word`` names, by its id or one of its names; None if there is none."""
        return self.by_word.get(fold(word))

    def name(self, node: str, language: str = "en-GB") -> str:
        """The name of a node; an unknown node stays as it is."""
        return self.kinds[node].name(language) if node in self.kinds else node


class _NodeRow(TypedDict):
    id: str
    name: dict[str, str]
    under: NotRequired[str]
    gs1: NotRequired[str]
    also: NotRequired[list[str]]


class _Rows(TypedDict):
    nodes: list[_NodeRow]


@cache
def load() -> tuple[Taxonomy, tuple[Problem, ...]]:
    """The taxonomy in ``data/taxonomy.yaml`` and the problems of that file."""
    made, problems = packaged_tables.rows(packaged_tables.texts("taxonomy.yaml"), _collect, "taxonomy")
    kinds: dict[str, AllergenNode] = {}
    words: dict[str, str] = {}
    for row in made["nodes"]:
        parent = row.get("under", "")
        gs1 = str(row.get("gs1", "")) or (kinds[parent].gs1 if parent in kinds else "")
        names = packaged_tables.without_place(row["name"])
        kinds[row["id"]] = AllergenNode(row["id"], parent, gs1, names, packaged_tables.span_of(row))
        for word in (row["id"].replace("_", " "), *names.values(), *row.get("also", ())):
            words.setdefault(fold(word), row["id"])
    return Taxonomy(kinds, words), problems


def _collect(trees: dict[str, Node]) -> tuple[_Rows, tuple[Problem, ...]]:
    """The rows of the tree.  Each id appears once, each parent above its children, and each node has an en-GB name."""
    problems: list[Problem] = []
    made: list[_NodeRow] = []
    seen: set[str] = set()
    for tree in trees.values():
        nodes = tree.get("nodes") if isinstance(tree, Mapping) else None
        for node in nodes.items if isinstance(nodes, Sequence) else ():
            row = cast(_NodeRow, packaged_tables.placed(node))
            key, parent = row.get("id"), row.get("under", "")
            if not key or key in seen:
                problems.append(error("taxonomy", node.span, f"the node '{key}' has no id or stands twice"))
                continue
            if parent and parent not in seen:
                problems.append(
                    error("taxonomy", node.span, f"'{key}' stands under '{parent}', which is not listed above it")
                )
            if not isinstance(row.get("name"), dict) or "en-GB" not in row["name"]:
                problems.append(error("taxonomy", node.span, f"'{key}' has no en-GB name"))
                continue
            seen.add(key)
            made.append(row)
    return {"nodes": made}, tuple(problems)
