"""The documents of one output folder on their way in and out: on record first, whole in their place, or gone.

Whoever builds says what no longer holds, and then issues one set of documents after the
other.  At any moment every whole document in its place is on record.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable, Iterator
from dataclasses import replace
from typing import NamedTuple

from platecard.diagnostics import Problem, warning
from platecard.files.entries import is_key
from platecard.publishing import disk, ownership, withdrawal
from platecard.publishing.ownership import MENU, RECORD, WITHDRAWN
from platecard.publishing.record import Issued, Record
from platecard.publishing.withdrawal import Gone

Make = Callable[[], Iterable[tuple[str, disk.Pieces]]]  # (file name, its bytes in pieces), one after the other


class Report(NamedTuple):
    """What became of one dish: written, draft, unchanged, withdrawn or withheld (there was nothing to withdraw)."""

    key: str
    state: str
    files: tuple[str, ...]
    problems: tuple[Problem, ...] = ()
    is_draft: bool = False


class Transaction:
    """One build at work in one folder: its record as it goes along, and what has been withdrawn.

    ``drop`` lets go of whatever else is kept of a dish's documents.
    """

    def __init__(self, out: str, record: Record, drop: Callable[[str], None]):
        self.out, self.record, self.drop = out, record, drop
        self.earlier = dict(record.issued)
        self.withdrawn: dict[str, Gone] = {}
        self.fault: Problem | None = None  # why nothing can be put on record, and so nothing issued

    def tidy(self) -> None:
        """Take away what a killed build left half-written."""
        disk.sweep(self.out, RECORD)
        for name in disk.names(self.out):
            if is_key(name) or name == MENU:
                disk.sweep(os.path.join(self.out, name))

    def holds(self, key: str, stamp: str, names: Iterable[str]) -> bool:
        """Whether the documents of ``key`` are what would be made now, every one of them and no other."""
        known, folder = self.record.get(key), os.path.join(self.out, key)
        if known is None or known.is_leaving or known.key != stamp or not known.files.keys() >= set(names):
            return False
        if os.path.islink(folder):
            return False
        others = (os.path.join(folder, name) for name in disk.names(folder) if name not in known.files)
        are_whole = all(digest == disk.digest_of(os.path.join(folder, name)) for name, digest in known.files.items())
        return are_whole and not any(map(ownership.is_ours, others))

    def put_away(self, key: str) -> None:
        """Withdraw what was to be kept, and no longer holds after all."""
        if (known := self.record.get(key)) is not None and not known.is_leaving:
            self.withdraw([key])

    def withdraw(self, keys: Iterable[str], is_anything_drawn: bool = False) -> None:
        """Put on record that ``keys`` are leaving, then move their documents away."""
        leaving = [
            key
            for key in keys
            if key in self.record.documented()
            or withdrawal.own(self.out, key, None)
            or os.path.islink(os.path.join(self.out, key))
        ]
        for key in leaving:
            if (known := self.record.get(key)) is not None:
                self.record.put(key, replace(known, key="", card="", is_leaving=True))
        if leaving or is_anything_drawn:
            self._write_record()
        for key in leaving:
            self._withdraw(key)

    def _withdraw(self, key: str) -> None:
        self.drop(key)
        before = self.withdrawn.get(key, Gone())
        done = withdrawal.withdraw(self.out, key, self.record.get(key))
        self.withdrawn[key] = Gone((*before.moved, *done.moved), done.problems)
        if done.is_whole:
            self.record.drop(key)

    def left(self, key: str, problems: Iterable[Problem]) -> Report:
        """The report of what has no documents now."""
        gone = self.withdrawn.get(key, Gone())
        problems = (*problems, *gone.problems, *self._to_take_down(key))
        return Report(key, "withdrawn" if gone.moved else "withheld", gone.moved, problems)

    def _to_take_down(self, key: str) -> Iterator[Problem]:
        """What was printed from documents that no longer hold, by the code on it."""
        gone = self.withdrawn.get(key, Gone())
        was, now = self.earlier.get(key, Issued()), self.record.get(key) or Issued()
        if not gone.moved or (was.code and was.code == now.code and was.is_draft == now.is_draft):
            return
        if not was.code and all(disk.digest_of(path) == now.files.get(os.path.basename(path)) for path in gone.moved):
            return
        what = f"says code {was.code}" if was.code else "was printed before"
        papers = (
            f"every paper of {key} that says 'code {was.code}'" if was.code else f"every paper of {key} printed before"
        )
        instead = f"; the new papers say code {now.code}" if now.code else ""
        yield warning(
            "take-down",
            disk.shown(os.path.join(self.out, key)),
            f"{key}: what {what} is no longer valid{instead}",
            f"take down {papers}",
        )

    def places(self, key: str) -> tuple[str, ...]:
        """The paths of what was issued of a dish."""
        return tuple(os.path.join(self.out, key, name) for name in self.record.issued[key].files)

    def issue(
        self,
        key: str,
        make: Make,
        issued: Callable[[dict[str, str]], Issued],
        problems: tuple[Problem, ...],
        state: str,
    ) -> Report:
        """One folder of documents: drawn, complete on the disk, on record, and only then in its place.

        ``issued`` makes the entry of the record from the documents' digests.  What ``make`` raises, an OSError apart,
        is raised again with nothing left behind.
        """
        if self.fault is not None:
            return self.left(key, (*problems, self.fault))
        if not self.withdrawn.get(key, Gone()).is_whole:
            return self.left(key, problems)
        folder = os.path.join(self.out, key)
        digests: dict[str, str] = {}
        drafts: dict[str, str] = {}
        try:
            for name, pieces in make():
                disk.ensure_folder(folder)
                if (obstacle := ownership.in_the_way(os.path.join(folder, name))) is not None:
                    self._let_go(folder)
                    return self.left(key, (*problems, obstacle))
                digest = hashlib.sha256()
                drafts[name] = disk.draft(folder, name, disk.passed_on(pieces, digest))
                digests[name] = digest.hexdigest()
            self.record.put(key, issued(digests))
            # A long record for each of many dishes: the last one is made to last.
            self.record.write(is_lasting=False)
            for name, written in drafts.items():
                os.replace(written, os.path.join(folder, name))
        except OSError as exc:
            self._let_go(folder)
            self._take_back(key)
            return self.left(key, (*problems, disk.cannot_write(folder, exc)))
        except BaseException:
            self._let_go(folder)
            raise
        problems = (*problems, *self.withdrawn.get(key, Gone()).problems, *self._to_take_down(key))
        return Report(key, state, self.places(key), problems)

    def _let_go(self, folder: str) -> None:
        disk.sweep(folder)
        disk.drop_empty(folder)

    def _take_back(self, key: str) -> None:
        """What could be put in its place of a set that did not come whole leaves again."""
        if (known := self.record.get(key)) is not None:
            self.record.put(key, replace(known, key="", card="", is_leaving=True))
            self._withdraw(key)
        else:
            self.drop(key)

    def _write_record(self) -> None:
        try:
            self.record.write()
            self.fault = None
        except OSError as exc:
            self.fault = disk.cannot_write(self.out, exc)

    def end(self) -> tuple[Problem, ...]:
        """Put on record what is left, and delete what was withdrawn and has been issued again."""
        self._write_record()
        for key in disk.names(os.path.join(self.out, WITHDRAWN)):
            known = self.record.get(key)
            if known is not None and known.files and not known.is_leaving and not known.is_draft:
                withdrawal.clear(self.out, key, known.files)
        return (self.fault,) if self.fault else ()
