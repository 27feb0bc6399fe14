"""A new key for something of the kitchen, in every file that names it: all of them, or none.

Comments, quotes and everything else in the files stay as they are.
"""

from __future__ import annotations

import os
import re
import unicodedata
from collections.abc import Mapping as Texts
from dataclasses import dataclass
from typing import NamedTuple

from platecard.files.reading import Project, UsageError
from platecard.reading import references
from platecard.reading.kitchen import kind_of
from platecard.yaml_nodes import Mapping, parse

_KEY = re.compile(r"[a-z0-9]+(?:-[a-z0-9]+)*")


class Edit(NamedTuple):
    """One place that changes: the line as it is and as it will be."""

    file: str
    line: int
    column: int
    was: str
    now: str


@dataclass(frozen=True, slots=True)
class Renaming:
    """What is to change: the places, the texts of the files that they are in, and a recipe's file that moves.

    ``library`` and ``specs`` are the kitchen as it will be, to see beforehand whether anything else changes with it.
    """

    edits: tuple[Edit, ...]
    moved: tuple[str, str] | None
    library: tuple[tuple[str, str], ...]
    specs: Texts[str, str]


def plan(kind: str, old: str, new: str, project: Project) -> Renaming:
    """The renaming of ``old`` to ``new``; raises :class:`UsageError` where it cannot be done."""
    if not _KEY.fullmatch(new):
        raise UsageError(f"'{new}' is no key: use small letters, digits and hyphens, such as dill-oil")
    # What cannot be read may name it too, and would go on doing so.
    unread = [p.span.file for p in project.unread if p.span] + [s.file for s in project.specs if s.text is None]
    texts = (*project.library, *((s.file, s.text) for s in project.specs if s.text is not None))
    unread += [path for path, text in texts if parse(text, path)[0] is None]
    if unread:
        raise UsageError(f"{unread[0]} cannot be read, and may name '{old}' too; put that right first")
    edits: list[Edit] = []
    defined = 0
    library: list[tuple[str, str]] = []
    moved: tuple[str, str] | None = None
    for path, text in project.library:
        file_kind = kind_of(path) or ""
        if _defines(kind, new, path, text, file_kind):
            raise UsageError(f"there is a {kind} '{new}' already; choose another name")
        found, is_defined, made = _in_file(kind, old, new, path, text, file_kind)
        defined += is_defined
        edits += found
        if kind == "recipe" and _defines(kind, old, path, text, file_kind):
            moved = path, f"{path.rpartition('/')[0]}/{new}.yaml"
            path = moved[1]
        library.append((path, made))
    if not defined and not moved:
        raise UsageError(f"there is no {kind} '{old}' in the kitchen")
    specs: dict[str, str] = {}
    for spec in project.specs:
        if spec.text is not None:
            found, _, specs[spec.file] = _in_file(kind, old, new, spec.file, spec.text, "dish")
            edits += found
    return Renaming(tuple(edits), moved, tuple(sorted(library)), specs)


def _defines(kind: str, key: str, path: str, text: str, file_kind: str) -> bool:
    """Whether a file of the library defines a thing of this key."""
    if kind == "recipe":
        return file_kind == "recipe" and path.rpartition("/")[2].rsplit(".", 1)[0] == key
    node, _ = parse(text, path)
    found = references.places(kind, key, node, file_kind) if node is not None else ()
    return any(isinstance(place, Mapping) for place in found)


def _in_file(kind: str, old: str, new: str, path: str, text: str, file_kind: str) -> tuple[list[Edit], bool, str]:
    """The places in one file, whether it defines the thing, and its text as it will be."""
    node, _ = parse(text, path)
    rows = text.split("\n")
    made = list(rows)
    edits: list[Edit] = []
    is_defined = False
    # From the end of a line to its beginning, so that the columns before a place stay what they are.
    spans = []
    for place in references.places(kind, old, node, file_kind) if node is not None else ():
        is_defined = is_defined or isinstance(place, Mapping)
        spans.append(place.keys[old] if isinstance(place, Mapping) else place.span)
    for span in sorted(spans, key=lambda s: (s.line, s.column), reverse=True):
        row = made[span.line - 1]
        at = span.column - 1 + (row[span.column - 1 : span.column] in ("'", '"'))
        length = next((n for n in range(len(old), len(old) + 3) if _same(row[at : at + n], old)), 0)
        if not length:
            raise UsageError(
                f"{path}:{span.line}: '{old}' is written here in a way that cannot be changed; do it by hand"
            )
        made[span.line - 1] = row[:at] + new + row[at + length :]
    for number, (was, now) in enumerate(zip(rows, made), 1):
        if was != now:
            edits.append(Edit(path, number, len(os.path.commonprefix((was, now))) + 1, was, now))
    return edits, is_defined, "\n".join(made)


def _same(written: str, old: str) -> bool:
    """Whether a word is the key, however an ingredient's name is spelt."""
    return written.lower().replace(" ", "-") == old.lower().replace(" ", "-")


def write(renaming: Renaming, project: Project) -> None:
    """Change the files: all of them, or, where one cannot be written, none.  Raises :class:`UsageError`."""
    by_file: dict[str, list[Edit]] = {}
    for edit in renaming.edits:
        by_file.setdefault(edit.file, []).append(edit)
    texts = {file: _changed(project.on_disk(file), edits) for file, edits in by_file.items()}
    if renaming.moved is not None:
        old_file, new_file = renaming.moved
        texts[new_file] = texts.pop(old_file) if old_file in texts else _bytes(project.on_disk(old_file))
        if os.path.lexists(project.on_disk(new_file)):
            raise UsageError(f"{new_file} is there already; choose another name")
    before: dict[str, bytes | None] = {}
    try:
        for file, data in texts.items():
            place = project.on_disk(file)
            before[place] = _bytes(place) if os.path.lexists(place) else None
            _replace(place, data)
        if renaming.moved is not None:
            gone = project.on_disk(renaming.moved[0])
            before[gone] = _bytes(gone)
            os.unlink(gone)
    except BaseException as exc:
        for place, known in before.items():
            if known is None:
                os.unlink(place) if os.path.lexists(place) else None
            else:
                _replace(place, known)
        if isinstance(exc, OSError):
            raise UsageError(f"{exc.filename} cannot be written ({exc.strerror}); nothing was changed") from None
        raise


def _bytes(path: str) -> bytes:
    with open(path, "rb") as stream:
        return stream.read()


def _changed(path: str, edits: list[Edit]) -> bytes:
    """A file with its lines changed; whatever ends its lines, and stands before them, stays."""
    text = _bytes(path).decode("utf-8")
    mark = "\ufeff" if text.startswith("\ufeff") else ""
    rows = text[len(mark) :].splitlines(keepends=True)
    for edit in edits:
        row = rows[edit.line - 1] if edit.line <= len(rows) else ""
        bare = row.rstrip("\r\n")
        if unicodedata.normalize("NFC", bare) != edit.was:
            raise UsageError(f"{edit.file}:{edit.line} has changed meanwhile, or holds letters in parts; do it by hand")
        rows[edit.line - 1] = edit.now + row[len(bare) :]
    return (mark + "".join(rows)).encode("utf-8")


def _replace(path: str, data: bytes) -> None:
    """Write a file beside its place and move it there whole."""
    draft = f"{path}.{os.getpid()}.part"
    try:
        with open(draft, "xb") as stream:
            stream.write(data)
            stream.flush()
            os.fsync(stream.fileno())
        os.replace(draft, path)
    except BaseException:
        if os.path.lexists(draft):
            os.unlink(draft)
        raise
