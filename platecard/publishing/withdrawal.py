"""Taking away what no longer holds: a dish's documents leave as one set, and come to lie in ``withdrawn/``.

What belongs to a dish is told by the record and by what stands in the files themselves.
Anything else stays where it is, and is named.
"""

from __future__ import annotations

import errno
import os
from collections.abc import Collection
from typing import NamedTuple

from platecard.diagnostics import Problem, error, warning
from platecard.publishing import disk, ownership
from platecard.publishing.ownership import MENU, WITHDRAWN
from platecard.publishing.record import Issued


class Gone(NamedTuple):
    """What became of the documents of one dish: where they lie now, what was left, and why some could not be moved."""

    moved: tuple[str, ...] = ()
    problems: tuple[Problem, ...] = ()

    @property
    def is_whole(self) -> bool:
        """Whether none of them is left in its place."""
        return not any(p.is_error for p in self.problems)


def own(out: str, key: str, issued: Issued | None) -> list[str]:
    """The documents in the folder of ``key``: what bears platecard's marks, and what is on record under its name."""
    folder = os.path.join(out, key)
    on_record = issued.files if issued else {}
    return [
        name
        for name in disk.names(folder)
        if not name.startswith(".")
        and disk.is_plain(os.path.join(folder, name))
        and (name in on_record or ownership.is_ours(os.path.join(folder, name)))
    ]


def withdraw(out: str, key: str, issued: Issued | None) -> Gone:
    """Move the documents of ``key`` to ``withdrawn/``.  Nothing is deleted but an older withdrawn copy of the same."""
    folder = os.path.join(out, key)
    if os.path.islink(folder):
        return Gone(
            (),
            (
                error(
                    "in-the-way",
                    disk.shown(folder),
                    "this is a link in place of the dish's folder, and nothing is moved out of where it points",
                    "remove the link, and take down what was printed from there",
                ),
            ),
        )
    names = own(out, key, issued)
    moved: list[str] = []
    problems: list[Problem] = []
    for name in sorted(names, key=lambda n: (not n.startswith("pass-card"), n)):
        path = os.path.join(folder, name)
        try:
            is_altered = not ownership.is_ours(path)
            moved.append(_move(out, key, name))
            if is_altered:
                problems.append(
                    warning(
                        "was-altered",
                        disk.shown(path),
                        f"this is not what platecard wrote here, so it was moved to {moved[-1]}",
                        "if it is your own work, keep it outside the output folder",
                    )
                )
        except OSError as exc:
            problems.append(
                error(
                    "cannot-withdraw",
                    disk.shown(path),
                    f"this is no longer valid and cannot be moved: {exc.strerror or exc}",
                    "delete it by hand, and take down what was printed from it",
                )
            )
    if moved or issued:
        others = (name for name in disk.names(folder) if not name.startswith(".") and name not in names)
        problems += [_not_ours(os.path.join(folder, name)) for name in others]
        disk.drop_empty(folder)
    return Gone(tuple(moved), tuple(problems))


def _not_ours(path: str) -> Problem:
    return warning(
        "left-in-place",
        disk.shown(path),
        "the documents of this dish were withdrawn, but this was left, because platecard did not make it",
        "if it is a card of the dish, remove it",
    )


def _move(out: str, key: str, name: str) -> str:
    place = os.path.join(out, WITHDRAWN, key, name)
    disk.ensure_folder(os.path.join(out, WITHDRAWN))
    disk.ensure_folder(os.path.join(out, WITHDRAWN, key))
    if os.path.isdir(place) and not os.path.islink(place):
        raise OSError(errno.EISDIR, f"{place} is a folder")
    if os.path.lexists(place) and not ownership.is_ours(place):
        place = _free(place)
    os.replace(os.path.join(out, key, name), place)
    return place


def _free(place: str) -> str:
    """A name beside a file that is somebody's own."""
    stem, ending = os.path.splitext(place)
    number = 2
    while os.path.lexists(tried := f"{stem}~{number}{ending}"):
        number += 1
    return tried


def clear(out: str, key: str, names: Collection[str]) -> None:
    """Delete the withdrawn copies of what has been issued again, as far as they bear platecard's marks.

    Of a dish the whole set: its card is a new one.  Of the menu the documents of the same
    ``names``: the table of a law that is no longer in force stays.
    """
    folder = os.path.join(out, WITHDRAWN, key)
    if os.path.islink(os.path.join(out, WITHDRAWN)):
        return
    for name in disk.names(folder):
        path = os.path.join(folder, name)
        if (key != MENU or name in names) and ownership.is_ours(path):
            disk.remove(path)
    disk.drop_empty(folder)
    disk.drop_empty(os.path.join(out, WITHDRAWN))
