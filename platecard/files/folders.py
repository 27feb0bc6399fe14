"""Looking through a kitchen's folders: what lies in them, before any of it is opened.

Links that lead somewhere are followed, and no folder is looked through twice.  Pipes,
sockets and devices are recognised by their type and never opened.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable
from typing import NamedTuple

from platecard.files import entries

MAX_ENTRIES = 20_000
CLOSED = "closed"


class JudgedEntry(NamedTuple):
    """One entry; ``verdict`` is yaml, nothing, left or closed (it cannot be opened), and ``why`` its reason."""

    path: str
    verdict: str
    why: str = ""


def below(base: str, read: Callable[[str], str | None]) -> list[JudgedEntry]:
    """Everything under ``base``, sorted by path.  ``read`` returns a plain text, or None if it cannot be read."""
    found: list[JudgedEntry] = []
    waiting = [base]
    linked: list[str] = []
    seen: dict[tuple[int, int], str] = {}
    top, number = os.path.realpath(base), 0
    while waiting or linked:
        # Linked folders come last, so that what really lies here is found under its own name.
        is_link = not waiting
        folder = linked.pop(0) if is_link else waiting.pop(0)
        try:
            if is_link and _holds(os.path.realpath(folder), top):
                found.append(JudgedEntry(folder, CLOSED, "the link leads back to a folder that contains it"))
                continue
            place = _identity(os.stat(folder))
            if place in seen:
                same = os.path.relpath(seen[place], base)
                found.append(JudgedEntry(folder, entries.NOTHING, f"the same folder as {same}"))
                continue
            seen[place] = folder
            inside = sorted(os.scandir(folder), key=lambda e: e.name)
        except OSError as exc:
            found.append(JudgedEntry(folder, CLOSED, f"the folder cannot be read: {exc.strerror}"))
            continue
        number += len(inside)
        if number > MAX_ENTRIES:
            found.append(
                JudgedEntry(folder, CLOSED, f"there are more than {MAX_ENTRIES} entries, and the rest is not read")
            )
            break
        beside = entries.originals(e.name for e in inside)
        for entry in inside:
            kind, why = _kind(entry)
            verdict, said = entries.judged(entry.name, kind == "folder", beside)
            if verdict == entries.FOLDER:
                (linked if entry.is_symlink() else waiting).append(entry.path)
            elif verdict == entries.YAML and kind != "file":
                found.append(JudgedEntry(entry.path, CLOSED, why))
            elif verdict == entries.PLAIN:
                found.append(_plain(entry.path, kind, why, read))
            else:
                found.append(
                    JudgedEntry(entry.path, verdict, why if kind == "other" and verdict == entries.LEFT else said)
                )
    return sorted(found, key=lambda f: f.path)


def yaml_in(folder: str) -> list[JudgedEntry]:
    """The YAML files of one folder that holds more than specs; whatever else lies in it is not looked at."""
    inside = sorted(os.scandir(folder), key=lambda e: e.name)
    beside = entries.originals(e.name for e in inside)
    made = []
    for entry in inside:
        kind, why = _kind(entry)
        if kind != "folder" and entries.judged(entry.name, False, beside)[0] == entries.YAML:
            made.append(JudgedEntry(entry.path, entries.YAML if kind == "file" else CLOSED, why))
    return made


def not_a_file(path: str) -> str:
    """Why a path cannot be read as a file, found out without opening it; empty if it is worth trying."""
    try:
        mode = os.stat(path).st_mode
    except OSError as exc:
        return f"the file cannot be read: {exc.strerror}"
    if stat.S_ISDIR(mode):
        return "this is a folder, not a file"
    return "" if stat.S_ISREG(mode) else "this is not a file but a pipe, a socket or a device"


def _plain(path: str, kind: str, why: str, read: Callable[[str], str | None]) -> JudgedEntry:
    """A plain text, judged by its contents: a spec that was saved as one must not be lost."""
    text = read(path) if kind == "file" else None
    if text is None:
        return JudgedEntry(path, entries.LEFT, why or "a text that cannot be read")
    return JudgedEntry(path, *entries.judged_text(text))


def _kind(entry: os.DirEntry[str]) -> tuple[str, str]:
    """``file``, ``folder`` or ``other``, and why it cannot be read as a file."""
    why = not_a_file(entry.path)
    return ("file", "") if not why else ("folder" if os.path.isdir(entry.path) else "other", why)


def _identity(found: os.stat_result) -> tuple[int, int]:
    return found.st_dev, found.st_ino


def _holds(outer: str, inner: str) -> bool:
    """Whether the folder ``outer`` is ``inner`` or holds it."""
    return os.path.commonpath([outer, inner]) == outer
