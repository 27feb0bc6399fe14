"""Packaged YAML tables as plain rows that remember their place, read quickly.

Reading some hundred kilobytes of YAML costs more than everything else a single
card needs, so the rows are kept beside Python's own compiled files, under a key
made from the content of the tables and of these modules.  A cache that is
missing, unwritable or damaged only costs time.
"""

from __future__ import annotations

import hashlib
import marshal
import os
import sys
from collections.abc import Callable
from functools import cache

from .. import __version__
from ..nodes import Mapping, Node, Scalar, Sequence, parse
from ..packaged import names_in, path_of, read_text
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


def rows(tables: dict[str, str], collect: Callable[[dict[str, Node]], tuple[object, tuple[Problem, ...]]], label: str) -> tuple[object, tuple[Problem, ...]]:
    """What ``collect`` makes of the parsed tables; plain JSON values, remembered while problem-free.

    They are remembered as Python remembers its compiled files: that is read in a third of the time of JSON.
    """
    key = hashlib.sha256()
    key.update(f"{__version__} {label} {marshal.version} {sys.implementation.cache_tag}".encode())
    key.update(_code())
    for path, text in sorted(tables.items()):
        key.update(f"\0{path}\0{len(text)}\0".encode() + text.encode())
    place = path_of("__pycache__", f"{label}-{key.hexdigest()[:20]}.rows")
    try:
        with open(place, "rb") as stream:
            data = stream.read()
        # A digest before it, because a damaged file must cost time and nothing else.
        if data[:32] == hashlib.sha256(data[32:]).digest():
            return marshal.loads(data[32:]), ()
    except (OSError, ValueError, EOFError, TypeError):
        pass
    problems: list[Problem] = []
    trees: dict[str, Node] = {}
    for path, text in tables.items():
        node, found = parse(text, path)
        problems += found
        if node is not None:
            trees[path] = node
    made, found = collect(trees)
    problems += found
    if not problems:
        _remember(place, made)
    return made, tuple(problems)


@cache
def _code() -> bytes:
    """A digest of the modules that shape the rows, so that a change of theirs starts a new cache."""
    here = os.path.dirname(os.path.abspath(__file__))
    state = hashlib.sha256()
    for name in sorted(os.listdir(here)):
        if name.endswith(".py"):
            with open(os.path.join(here, name), "rb") as stream:
                state.update(stream.read())
    return state.digest()


def _remember(place: str, made: object) -> None:
    try:
        os.makedirs(os.path.dirname(place), exist_ok=True)
        draft = f"{place}.{os.getpid()}"
        data = marshal.dumps(made)
        with open(draft, "wb") as stream:
            stream.write(hashlib.sha256(data).digest() + data)
        os.replace(draft, place)
        label = os.path.basename(place).rsplit("-", 1)[0]
        for old in os.scandir(os.path.dirname(place)):
            if old.name.rsplit("-", 1)[0] == label and old.path != place:
                os.unlink(old.path)
    except OSError:
        pass


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
