"""The neutral tree of allergens: what an ingredient is, before any law is asked."""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache

from platecard.diagnostics import Problem, Span, error
from platecard.knowledge import packaged_tables
from platecard.knowledge.names import fold
from platecard.yaml_nodes import Mapping, Node, Sequence


@dataclass(frozen=True, slots=True)
class Kind:
    """One node of the tree.  ``gs1`` is the AllergenTypeCode, the parent's where it has none."""

    id: str
    under: str
    gs1: str
    names: dict[str, str]
    span: Span

    def name(self, language: str = "en-GB") -> str:
        return self.names.get(language) or self.names["en-GB"]


@dataclass(frozen=True, slots=True)
class Taxonomy:
    """All nodes by id, in the order of the file."""

    kinds: dict[str, Kind]
    by_word: dict[str, str]
    _lineages: dict[str, tuple[str, ...]] = field(default_factory=dict, init=False, repr=False, compare=False)

    def lineage(self, node: str) -> tuple[str, ...]:
        """The node, its parent, and so on up to the root."""
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
        known = self._lineages.get(node)  # asked hundreds of times for a dish
        return ancestor in (self.lineage(node) if known is None else known)

    def below(self, node: str) -> tuple[str, ...]:
        """The node and everything under it."""
        return tuple(k for k in self.kinds if self.is_under(k, node))

    def find(self, word: str) -> str | None:
        """The node a person means by ``word``: its id or one of its names."""
        return self.by_word.get(fold(word))

    def name(self, node: str, language: str = "en-GB") -> str:
        return self.kinds[node].name(language) if node in self.kinds else node


@cache
def load() -> tuple[Taxonomy, tuple[Problem, ...]]:
    """The taxonomy in ``data/taxonomy.yaml`` and the problems of that file."""
    made, problems = packaged_tables.rows(packaged_tables.texts("taxonomy.yaml"), _collect, "taxonomy")
    kinds: dict[str, Kind] = {}
    words: dict[str, str] = {}
    for row in made["nodes"]:
        span = Span(*row[packaged_tables.PLACE])
        parent = row.get("under", "")
        gs1 = str(row.get("gs1", "")) or (kinds[parent].gs1 if parent in kinds else "")
        names = {k: v for k, v in row["name"].items() if k != packaged_tables.PLACE}
        kinds[row["id"]] = Kind(row["id"], parent, gs1, names, span)
        for word in (row["id"].replace("_", " "), *names.values(), *row.get("also", ())):
            words.setdefault(fold(word), row["id"])
    return Taxonomy(kinds, words), problems


def _collect(trees: dict[str, Node]) -> tuple[object, tuple[Problem, ...]]:
    """Each id once, each parent known and listed before its children, an en-GB name."""
    problems: list[Problem] = []
    made: list[dict] = []
    seen: set[str] = set()
    for tree in trees.values():
        nodes = tree.get("nodes") if isinstance(tree, Mapping) else None
        for node in nodes.items if isinstance(nodes, Sequence) else ():
            row = packaged_tables.placed(node)
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
