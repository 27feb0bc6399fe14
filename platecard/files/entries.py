"""How each entry of a kitchen's folders is treated, judged by its name and its neighbours.

In: names.  Out: whether an entry is read, followed, ignored, or left over.  An entry that
is left over may be anything, so the caller must count it as an unknown.  The names that
are ignored are data (``data/files.yaml``).
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Collection, Iterable, Mapping
from fnmatch import translate
from functools import cache
from typing import NamedTuple, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem
from platecard.yaml_nodes import Node

YAML, PLAIN, FOLDER, NOTHING, LEFT, UNKNOWN = "yaml", "plain", "folder", "nothing", "left", "unknown"
DRAFT = "draft"

_KEY = re.compile(r"(?!(?:withdrawn|menu)\Z)[a-z0-9][a-z0-9-]{0,60}\Z")
_ENDING = re.compile(r"\.ya?ml\Z", re.IGNORECASE)


class Entry(NamedTuple):
    """One entry of the folders and what it counts as.

    ``counts_as`` is dish, draft, kitchen, pantry, plates or recipe for a file that is read,
    ``unknown`` for one that may be anything, and ``nothing`` for one that has nothing to do
    with the kitchen.  ``why`` says in words why it is not read.
    """

    file: str
    counts_as: str
    why: str = ""


def is_key(name: str) -> bool:
    """Whether a dish can have this name: it becomes a folder of the output, where two names are reserved."""
    return _KEY.match(name) is not None


def is_yaml(name: str) -> bool:
    """Whether a file's name ends in .yaml or .yml, in upper or lower case."""
    return _ENDING.search(name) is not None


def stem(name: str) -> str:
    """The name of a file without its folders and its YAML ending."""
    return _ENDING.sub("", name.replace("\\", "/").rsplit("/", 1)[-1])


def fitting(name: str, taken: Collection[str] = ()) -> str:
    """A key for a file whose name cannot be one, as a suggestion for renaming it; never one of ``taken``."""
    said = re.split(r"\.ya?ml\b", name.rsplit("/", 1)[-1].lower())[0]
    made = re.sub(r"[^a-z0-9]+", "-", said).strip("-")[:50].strip("-")
    if not made:
        made = f"dish-{hashlib.sha256(name.encode('utf-8', 'surrogateescape')).hexdigest()[:6]}"
    if not is_key(made):
        made = f"{made}-dish"
    tried, number = made, 1
    while tried in taken:
        number += 1
        tried = f"{made}-{number}"
    return tried


def judged(name: str, is_folder: bool, beside: Mapping[str, str]) -> tuple[str, str]:
    """How an entry is treated, and why it is ignored or left over.

    ``beside`` are the :func:`originals` of the same folder.  A folder whose name ends like a
    YAML file is judged as one: it may have taken that file's place, and cannot be read.
    """
    rules, folded = _rules(), name.lower()
    if is_folder:
        if rules.folders.match(folded):
            return NOTHING, "a folder of the system or of another program"
        if name.startswith("."):
            return LEFT, "a hidden folder"
        return (YAML if is_yaml(name) else FOLDER), ""
    if rules.names.match(folded):
        return NOTHING, "a file of the system or of another program"
    if (original := _original(folded, beside)) is not None:
        return NOTHING, f"a backup of {original}"
    if name.startswith("."):
        return LEFT, "a hidden file"
    if is_yaml(name):
        return YAML, ""
    if is_yaml(re.sub(r"(?i)(?<=ml)[~.].*", "", name)):
        return LEFT, "a backup without its original, or a file saved under another ending"
    ending = folded.rpartition(".")[2] if "." in folded else ""
    if ending in rules.plain:
        return PLAIN, ""
    if ending in rules.kept:
        return NOTHING, "a document or a picture"
    if any(p.fullmatch(folded) for p in rules.backups):
        return LEFT, "a backup without its original"
    return LEFT, "neither YAML nor a document or a picture"


def originals(names: Iterable[str]) -> dict[str, str]:
    """The YAML files of a folder by the names their backups refer to: name or stem, in lower case → name."""
    shown = [n for n in names if is_yaml(n) and not n.startswith(".")]
    return {**{stem(n).lower(): n for n in shown}, **{n.lower(): n for n in shown}}


def judged_text(text: str) -> tuple[str, str]:
    """How a plain text is treated: left over if it has a line that a YAML file of the kitchen begins with."""
    if _rules().begins.search(text) is not None:
        return LEFT, "a plain text that reads like a YAML file of the kitchen"
    return NOTHING, "a plain text"


def _original(folded: str, beside: Mapping[str, str]) -> str | None:
    """The file that a backup was made from, if it lies beside it."""
    for pattern in _rules().backups:
        found = pattern.fullmatch(folded)
        # A file is not a backup of itself.
        if found is not None and (name := beside.get(found.group(1))) is not None and name.lower() != folded:
            return name
    return None


class _Rules(NamedTuple):
    """``data/files.yaml``: endings and name patterns, compiled."""

    kept: frozenset[str]
    plain: frozenset[str]
    begins: re.Pattern[str]
    names: re.Pattern[str]
    folders: re.Pattern[str]
    backups: tuple[re.Pattern[str], ...]


def _collect(trees: dict[str, Node]) -> tuple[object, tuple[Problem, ...]]:
    (tree,) = trees.values()
    return packaged_tables.placed(tree), ()


@cache
def _rules() -> _Rules:
    table, _ = packaged_tables.rows(packaged_tables.texts("files.yaml"), _collect, "files")
    rows = cast(dict[str, list[str]], table)
    keys = "|".join(rows["begins_with"])
    return _Rules(
        frozenset((*rows["documents"], *rows["pictures"])),
        frozenset(rows["plain"]),
        re.compile(rf"^\s*[\"']?(?:{keys})[\"']?\s*:", re.MULTILINE | re.IGNORECASE),
        _any(rows["names"]),
        _any(rows["folders"]),
        tuple(map(re.compile, rows["backups"])),
    )


def _any(patterns: list[str]) -> re.Pattern[str]:
    """One expression that matches any of the names, in which stars stand for anything."""
    return re.compile("|".join(map(translate, patterns)))
