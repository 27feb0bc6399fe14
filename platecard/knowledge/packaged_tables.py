"""Packaged YAML tables as plain rows that remember their place, read quickly.

Reading some hundred kilobytes of YAML costs more than everything else a single card
needs, so the rows travel with the package as JSON (``data/compiled``), each file with a
digest of the tables that it was made from.  Rows of other tables than those that lie
there count for nothing, and the tables themselves are read.  Nothing is kept anywhere
while the program runs: there is no cache to go stale, and none that could be forged.
``data/compiled/make_tables.py`` writes these files, and a test says when they are out of date.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable

from platecard.diagnostics import Problem
from platecard.package_data import names_in, read_text
from platecard.yaml_nodes import Mapping, Node, Scalar, Sequence, parse

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


def rows(
    tables: dict[str, str], collect: Callable[[dict[str, Node]], tuple[object, tuple[Problem, ...]]], label: str
) -> tuple[object, tuple[Problem, ...]]:
    """What ``collect`` makes of the tables: plain JSON values, and the problems of the tables."""
    made_of = digest(tables)
    try:
        known = json.loads(read_text("compiled", f"{label}.json"))
        if known["of"] == made_of:
            return known["rows"], ()
    except (OSError, ValueError, KeyError, TypeError, RecursionError):
        pass
    made, problems = read(tables, collect)
    if not problems:
        read_anew[label] = {"of": made_of, "rows": made}
    return made, problems


# What had to be read from the tables themselves, by label: what ``make_tables.py`` writes.
read_anew: dict[str, dict] = {}


def digest(tables: dict[str, str]) -> str:
    """A digest of the texts of tables and of their names."""
    state = hashlib.sha256()
    for path, text in sorted(tables.items()):
        state.update(f"\0{path}\0{len(text)}\0".encode() + text.encode())
    return state.hexdigest()


def read(
    tables: dict[str, str], collect: Callable[[dict[str, Node]], tuple[object, tuple[Problem, ...]]]
) -> tuple[object, tuple[Problem, ...]]:
    """The tables parsed and collected, whatever lies compiled."""
    problems: list[Problem] = []
    trees: dict[str, Node] = {}
    for path, text in tables.items():
        node, found = parse(text, path)
        problems += found
        if node is not None:
            trees[path] = node
    made, found = collect(trees)
    # As JSON gives it back, so that both ways are one.
    return json.loads(json.dumps(made)), (*problems, *found)


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
