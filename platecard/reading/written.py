"""The words a chef writes into a spec or the library, each text with its place."""

from __future__ import annotations

import re
from collections.abc import Iterator
from itertools import islice

from platecard.diagnostics import Span
from platecard.model import Written
from platecard.yaml_nodes import Mapping, Node, Scalar, Sequence

# Keys whose values are no prose: they name something by its key, or by its name in the pantry or the catalogue.
_NAMES = frozenset(
    (
        "ingredient",
        "product",
        "plate",
        "station",
        "equipment",
        "put",
        "on",
        "may_touch",
        "beside",
        "behind",
        "under",
        "around",
        "alternating_with",
        "avoiding",
        "only_for",
        "laws",
        "food_code",
        "after",
        "name",
        "date",
        "colour",
        "shape",
        "points",
        "arrange",
        "at",
        "from",
        "to",
        "within",
        "only_named",
    )
)
_BRANCHES = ("acknowledged", "use")
# Sections whose entries are called by their key where they have no name of their own.
_CALLED_BY_KEY = ("components", "plates")


def words(node: Node, owner: str = "") -> tuple[Written, ...]:
    """Every text of a file except names and references; ``owner`` is the recipe they belong to."""
    return tuple(_words(node, "", "", owner))


def _words(node: Node, key: str, section: str, owner: str) -> Iterator[Written]:
    if isinstance(node, Mapping):
        for inner, value in node.entries.items():
            is_name = inner in _NAMES and isinstance(value, (Scalar, Sequence))
            # At the top of a file ``recipe`` holds the recipe's own name; elsewhere it names another recipe.
            if is_name or inner in _BRANCHES or (inner == "recipe" and section):
                continue
            yield from _words(value, inner, section or inner, owner)
            if key in _CALLED_BY_KEY and isinstance(value, Mapping) and "called" not in value.entries:
                yield Written("called", section, inner, node.keys[inner], False, owner)
    elif isinstance(node, Sequence):
        for item in node.items:
            yield from _words(item, key, section, owner)
    elif isinstance(node.value, str) and node.text:
        yield Written(key, section, node.text, node.span, node.quoted, owner)


def place(written: Written, start: int, end: int, source: str) -> Span:
    """The place of ``written.text[start:end]`` in the text of its file, however its lines are folded there."""
    span = written.span
    rows = source.split("\n")
    if not 0 < span.line <= len(rows):
        return span
    offset = sum(len(row) + 1 for row in rows[: span.line - 1]) + span.column - 1
    pattern = re.compile(r"\s+".join(re.escape(part) for part in written.text[start:end].split()))
    # The same words may occur earlier in the value too; as many of them are passed over in the file.
    earlier = len(pattern.findall(written.text[:start]))
    found = next(islice(pattern.finditer(source, offset), earlier, None), None)
    if found is None:
        return span
    line = source.count("\n", 0, found.start())
    first = source.rfind("\n", 0, found.start()) + 1
    length = len(found.group()) if "\n" not in found.group() else 1
    return Span(span.file, line + 1, found.start() - first + 1, length)
