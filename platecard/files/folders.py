"""The edge that looks through a kitchen's folders: what lies in them, before any of it is opened.

Links are followed as far as they lead somewhere, and no folder is looked through twice.
Pipes, sockets and devices are told by their kind and never opened.
"""

from __future__ import annotations

import os
import stat
from collections.abc import Callable
from dataclasses import dataclass

from platecard.files import entries

MAX_ENTRIES = 20_000
CLOSED = "closed"


@dataclass(frozen=True, slots=True)
class Found:
    """One entry.  ``verdict`` is yaml, nothing, left or closed (it cannot be opened); ``why`` says so in words."""

    path: str
    verdict: str
    why: str = ""


def below(base: str, read: Callable[[str], str | None]) -> list[Found]:
    """Everything under ``base``, by path.  ``read`` opens a plain text, None where that cannot be done."""
    found: list[Found] = []
    waiting, linked = [base], []
    seen: dict[tuple[int, int], str] = {}
    top, number = os.path.realpath(base), 0
    while waiting or linked:
        # Linked folders come last, so that what lies here itself is found under its own name.
        is_link = not waiting
        folder = linked.pop(0) if is_link else waiting.pop(0)
        try:
            if is_link and _holds(os.path.realpath(folder), top):
                found.append(Found(folder, CLOSED, "the link leads back to a folder that holds it"))
                continue
            place = _identity(os.stat(folder))
            if place in seen:
                same = os.path.relpath(seen[place], base)
                found.append(Found(folder, entries.NOTHING, f"the same folder as {same}"))
                continue
            seen[place] = folder
            inside = sorted(os.scandir(folder), key=lambda e: e.name)
        except OSError as exc:
            found.append(Found(folder, CLOSED, f"the folder cannot be read: {exc.strerror}"))
            continue
        number += len(inside)
        if number > MAX_ENTRIES:
            found.append(Found(folder, CLOSED, f"there are more than {MAX_ENTRIES} entries, and the rest is not read"))
            break
        beside = entries.originals(e.name for e in inside)
        for entry in inside:
            kind, why = _kind(entry)
            verdict, said = entries.judged(entry.name, kind == "folder", beside)
            if verdict == entries.FOLDER:
                (linked if entry.is_symlink() else waiting).append(entry.path)
            elif verdict == entries.YAML and kind != "file":
                found.append(Found(entry.path, CLOSED, why))
            elif verdict == entries.PLAIN:
                found.append(_plain(entry.path, kind, why, read))
            else:
                found.append(Found(entry.path, verdict, why if kind == "other" and verdict == entries.LEFT else said))
    return sorted(found, key=lambda f: f.path)


def yaml_in(folder: str) -> list[Found]:
    """The YAML files of one folder that is no folder of specs: what else lies in it is not looked at."""
    inside = sorted(os.scandir(folder), key=lambda e: e.name)
    beside = entries.originals(e.name for e in inside)
    made = []
    for entry in inside:
        kind, why = _kind(entry)
        if kind != "folder" and entries.judged(entry.name, False, beside)[0] == entries.YAML:
            made.append(Found(entry.path, entries.YAML if kind == "file" else CLOSED, why))
    return made


def not_a_file(path: str) -> str:
    """Why a path cannot be read as a file, without opening it; nothing where it can be tried."""
    try:
        mode = os.stat(path).st_mode
    except OSError as exc:
        return f"the file cannot be read: {exc.strerror}"
    if stat.S_ISDIR(mode):
        return "this is a folder, not a file"
    return "" if stat.S_ISREG(mode) else "this is no file but a pipe, a socket or a device"


def _plain(path: str, kind: str, why: str, read: Callable[[str], str | None]) -> Found:
    """A plain text, which is looked into: a spec that was saved as one must not be lost."""
    text = read(path) if kind == "file" else None
    if text is None:
        return Found(path, entries.LEFT, why or "a text that cannot be read")
    return Found(path, *entries.judged_text(text))


def _kind(entry: os.DirEntry) -> tuple[str, str]:
    """``file``, ``folder`` or ``other``, and why it cannot be read."""
    why = not_a_file(entry.path)
    return ("file", "") if not why else ("folder" if os.path.isdir(entry.path) else "other", why)


def _identity(found: os.stat_result) -> tuple[int, int]:
    return found.st_dev, found.st_ino


def _holds(outer: str, inner: str) -> bool:
    return os.path.commonpath([outer, inner]) == outer
