"""Read the packaged YAML tables as plain rows that remember their place, compiled if possible.

Parsing some hundred kilobytes of YAML takes longer than everything else that a single card
needs, so the rows travel with the package as JSON Lines (``data/compiled``), each file with a
digest of the tables that it was made from.  If the digest is not that of the tables as they
are now, the compiled rows are ignored and the tables themselves are parsed.  Nothing is
written while the program runs, so there is no cache that could go stale or be forged.
``data/compiled/make_tables.py`` writes the compiled files, and a test fails when they are
out of date.

The first line of a compiled file is parsed at once.  What stands under ``lines`` are texts, one
to a line, which whoever reads the table parses when they are asked for: a card needs a few of
the thousands of entries of the catalogue.
"""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from typing import Final, TypeVar, cast

from platecard.diagnostics import Problem, Span
from platecard.package_data import names_in, read_text
from platecard.yaml_nodes import Mapping, Node, Scalar, Sequence, parse, plain

# The key under which a row keeps its place.
PLACE: Final = "@"

_Rows = TypeVar("_Rows")
_Value = TypeVar("_Value")


def texts(*names: str) -> dict[str, str]:
    """The texts of the named tables by the path to show; ``folder/*`` stands for every table of a folder."""
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
    tables: dict[str, str], collect: Callable[[dict[str, Node]], tuple[_Rows, tuple[Problem, ...]]], label: str
) -> tuple[_Rows, tuple[Problem, ...]]:
    """What ``collect`` makes of the tables (plain JSON values, no tuples), and the problems of the tables.

    ``label`` is the name of the compiled file.
    """
    made_of = digest(tables)
    try:
        return cast(_Rows, from_text(read_text("compiled", f"{label}.jsonl"), made_of)), ()
    except (OSError, ValueError, LookupError, TypeError, RecursionError):
        pass
    made, problems = read(tables, collect)
    if not problems:
        read_anew[label] = made_of, made
    return made, problems


def as_text(of: str, made: object) -> str:
    """A compiled table: a line of JSON, then its ``lines``.  ``of`` is the digest of what it was made from."""
    lines: list[str] = []
    if isinstance(made, dict):
        lines = made.get("lines", lines)
        made = {key: value for key, value in made.items() if key != "lines"}
    first = {"of": of, "lines": len(lines), "rows": made}
    return "".join(f"{line}\n" for line in (json.dumps(first, ensure_ascii=False, separators=(",", ":")), *lines))


def from_text(text: str, of: str) -> object:
    """The table that :func:`as_text` wrote.  ValueError where it was made from something else, or is not whole."""
    first, *lines = text.split("\n")
    known = json.loads(first)
    if known["of"] != of or lines.pop() or len(lines) != known["lines"]:
        raise ValueError("this is not the table")
    return {**known["rows"], "lines": lines} if lines else known["rows"]


# The rows that had to be parsed from the tables themselves, with the digest of those, by label; ``make_tables.py``
# writes them to files.
read_anew: dict[str, tuple[str, object]] = {}


def digest(tables: dict[str, str]) -> str:
    """A digest of the paths and texts of the tables."""
    state = hashlib.sha256()
    for path, text in sorted(tables.items()):
        state.update(f"\0{path}\0{len(text)}\0".encode() + text.encode())
    return state.hexdigest()


def read(
    tables: dict[str, str], collect: Callable[[dict[str, Node]], tuple[_Rows, tuple[Problem, ...]]]
) -> tuple[_Rows, tuple[Problem, ...]]:
    """What ``collect`` makes of the tables, parsed anew, and the problems of the tables."""
    problems: list[Problem] = []
    trees: dict[str, Node] = {}
    for path, text in tables.items():
        node, found = parse(text, path)
        problems += found
        if node is not None:
            trees[path] = node
    made, found = collect(trees)
    # Through JSON and back, so that the result is the same as from a compiled file.
    return cast(_Rows, json.loads(json.dumps(made))), (*problems, *found)


def values(name: str) -> object:
    """The values of one packaged table, without their places.  ValueError where the table cannot be read."""
    made, problems = rows(
        texts(f"{name}.yaml"), lambda trees: ({"values": plain(next(iter(trees.values()), None))}, ()), name
    )
    if problems:
        raise ValueError(str(problems[0]))
    return made["values"]


def placed(node: Node) -> object:
    """A node as plain values; each mapping has its place, ``[file, line, column]``, under the key ``PLACE``."""
    if isinstance(node, Mapping):
        made: dict[str, object] = {k: placed(v) for k, v in node.entries.items()}
        made[PLACE] = [node.span.file, node.span.line, node.span.column]
        return made
    if isinstance(node, Sequence):
        return [placed(v) for v in node.items]
    # A decimal is kept as typed, so that it can become an exact fraction.
    return node.text if isinstance(node, Scalar) and isinstance(node.value, float) else node.value


def span_of(row: object) -> Span:
    """The place of a row that :func:`placed` made."""
    file, line, column = cast(dict[str, tuple[str, int, int]], row)[PLACE]
    return Span(file, line, column)


def without_place(row: dict[str, _Value]) -> dict[str, _Value]:
    """The keys in the file, with their values."""
    return {key: value for key, value in row.items() if key != PLACE}
