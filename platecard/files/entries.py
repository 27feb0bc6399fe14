"""What becomes of each entry of a kitchen's folders, told by its name and by what lies beside it.

In: names.  Out: whether an entry is read, followed, counts for nothing, or is left
over.  What is left over may be anything, so whoever asks must count it as an unknown.
The names that count for nothing are data (``data/files.yaml``).
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Collection, Iterable, Mapping
from dataclasses import dataclass
from fnmatch import translate
from functools import cache

from platecard.knowledge import packaged_tables

YAML, PLAIN, FOLDER, NOTHING, LEFT, UNKNOWN = "yaml", "plain", "folder", "nothing", "left", "unknown"
DRAFT = "draft"

_KEY = re.compile(r"(?!(?:withdrawn|menu)\Z)[a-z0-9][a-z0-9-]{0,60}\Z")
_ENDING = re.compile(r"\.ya?ml\Z", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Entry:
    """One entry of the folders, accounted for.

    ``counts_as`` is dish, draft, kitchen, pantry, plates or recipe where it is read, ``unknown``
    where it may be anything, ``nothing`` where it says nothing of the kitchen; ``why`` says
    in words why it is not read.
    """

    file: str
    counts_as: str
    why: str = ""


def is_key(name: str) -> bool:
    """Whether a dish can be named so: the name becomes a folder of the output, where two names are taken."""
    return _KEY.match(name) is not None


def is_yaml(name: str) -> bool:
    """Whether a file is YAML by its ending, in any capitals."""
    return _ENDING.search(name) is not None


def stem(name: str) -> str:
    """The name of a file without its folders and its YAML ending."""
    return _ENDING.sub("", name.replace("\\", "/").rsplit("/", 1)[-1])


def fitting(name: str, taken: Collection[str] = ()) -> str:
    """A key for a file whose name cannot be one: what it is best renamed to.  Never one of ``taken``."""
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
    """What becomes of an entry, and why it counts for nothing or is left over.

    ``beside`` are the :func:`originals` of the same folder.  A folder that is named like a
    YAML file may stand in its place, and cannot be read as one.
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
    """The YAML files of a folder by what a backup calls them: name and stem → name."""
    shown = [n for n in names if is_yaml(n) and not n.startswith(".")]
    return {**{stem(n).lower(): n for n in shown}, **{n.lower(): n for n in shown}}


def judged_text(text: str) -> tuple[str, str]:
    """What becomes of a plain text, by whether it holds what a YAML file of the kitchen begins with."""
    if _rules().begins.search(text) is not None:
        return LEFT, "a plain text that reads like a YAML file of the kitchen"
    return NOTHING, "a plain text"


def _original(folded: str, beside: Mapping[str, str]) -> str | None:
    for pattern in _rules().backups:
        found = pattern.fullmatch(folded)
        # A file is no backup of itself.
        if found is not None and (name := beside.get(found.group(1))) is not None and name.lower() != folded:
            return name
    return None


@dataclass(frozen=True, slots=True)
class _Rules:
    kept: frozenset[str]
    plain: frozenset[str]
    begins: re.Pattern
    names: re.Pattern
    folders: re.Pattern
    backups: tuple[re.Pattern, ...]


def _collect(trees: dict) -> tuple[object, tuple]:
    (tree,) = trees.values()
    return packaged_tables.placed(tree), ()


@cache
def _rules() -> _Rules:
    rows, _ = packaged_tables.rows(packaged_tables.texts("files.yaml"), _collect, "files")
    keys = "|".join(rows["begins_with"])
    return _Rules(
        frozenset((*rows["documents"], *rows["pictures"])),
        frozenset(rows["plain"]),
        re.compile(rf"^\s*[\"']?(?:{keys})[\"']?\s*:", re.MULTILINE | re.IGNORECASE),
        _any(rows["names"]),
        _any(rows["folders"]),
        tuple(map(re.compile, rows["backups"])),
    )


def _any(patterns: list[str]) -> re.Pattern:
    """One expression for a list of names with stars."""
    return re.compile("|".join(map(translate, patterns)))
