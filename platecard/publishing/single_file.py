"""One document to a place that the command line names, or out of the way."""

from __future__ import annotations

import os

from platecard.diagnostics import Problem, error
from platecard.publishing import disk, ownership


def write_file(path: str, data: bytes) -> tuple[Problem, ...]:
    """One document to a place of its own choosing: whole, or not at all, and over nothing that is not platecard's."""
    if (fault := ownership.of_a_build(path) or ownership.in_the_way(path)) is not None:
        return (fault,)
    folder, name = os.path.split(path)
    draft = ""
    try:
        os.makedirs(folder or ".", exist_ok=True)
        draft = disk.draft(folder or ".", name, (data,))
        os.replace(draft, path)
    except OSError as exc:
        _drop(folder, name)
        return (disk.cannot_write(path, exc),)
    except BaseException:
        _drop(folder, name)
        raise
    return ()


def _drop(folder: str, name: str) -> None:
    disk.remove(os.path.join(folder, f".{name.lstrip('.')}.{os.getpid()}.part"))


def set_aside(path: str) -> tuple[str, tuple[Problem, ...]]:
    """Move a document that no longer holds to ``withdrawn/`` beside it; its new place, or "" where there was none.

    What platecard did not make stays where it is, and is named.
    """
    if (fault := ownership.of_a_build(path) or ownership.in_the_way(path)) is not None:
        return "", (fault,)
    if not os.path.lexists(path):
        return "", ()
    folder, name = os.path.split(path)
    aside = os.path.join(folder, ownership.WITHDRAWN)
    place = os.path.join(aside, name)
    try:
        disk.ensure_folder(aside)
        if ownership.in_the_way(place):
            raise FileExistsError(f"{place} is not platecard's")
        os.replace(path, place)
    except OSError as exc:
        return "", (
            error(
                "cannot-withdraw",
                disk.shown(path),
                f"the earlier document is no longer valid and cannot be moved: {exc.strerror or exc}",
                "delete it by hand, and take down what was printed from it",
            ),
        )
    return place, ()
