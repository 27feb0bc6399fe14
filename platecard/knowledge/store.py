"""Packaged YAML tables as plain rows that remember their place.

They are read anew in every run, and nothing that was made of them is kept on the disk:
what can write a file in a folder of caches could otherwise take milk out of butter.
Of the one large table, the catalogue, only what is asked for is read (see
:mod:`~platecard.knowledge.catalogue`); the others take milliseconds.
"""

from __future__ import annotations

from collections.abc import Callable

from ..nodes import Mapping, Node, Scalar, Sequence, parse
from ..packaged import names_in, read_text
from ..problems import Problem

PLACE = "@"


def texts(*names: str) -> dict[str, str]:
    """The named tables, ``folder/*`` standing for all of a folder: shown path → text."""
    found: dict[str, str] = {}
    for name in names:
        if name.endswith("/*"):
            folder = name[:-2]
            for one in names_in(folder, ".yaml"):
                found[f"platecard/data/{folder}/{one}"] = read_text(folder, one)
        else:
            found[f"platecard/data/{name}"] = read_text(name)
    return found


def rows(tables: dict[str, str],
         collect: Callable[[dict[str, Node]], tuple[object, tuple[Problem, ...]]]) -> tuple[object, tuple[Problem, ...]]:
    """What ``collect`` makes of the parsed tables, and the problems of both."""
    problems: list[Problem] = []
    trees: dict[str, Node] = {}
    for path, text in tables.items():
        node, found = parse(text, path)
        problems += found
        if node is not None:
            trees[path] = node
    made, found = collect(trees)
    return made, (*problems, *found)


def placed(node: Node) -> object:
    """A node as plain values; each mapping carries its place as ``[file, line, column]``."""
    if isinstance(node, Mapping):
        made: dict = {k: placed(v) for k, v in node.entries.items()}
        made[PLACE] = [node.span.file, node.span.line, node.span.column]
        return made
    if isinstance(node, Sequence):
        return [placed(v) for v in node.items]
    # A decimal is kept as typed, so that it can become an exact fraction.
    return node.text if isinstance(node, Scalar) and isinstance(node.value, float) else node.value
