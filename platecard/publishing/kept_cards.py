"""Cards kept as written pages beside the documents, so that a book is bound without drawing its cards again.

What is kept only saves time: it is taken up again only if it is, byte for byte, what
the record says was made, and by the same program with the same versions of its libraries;
a card that is not there is drawn again.  They lie in the folder of the documents, beside
the record, and are worth what that folder is worth: who can write there can put another
card in the place of a true one without any of this.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Container
from typing import NamedTuple

from platecard.diagnostics import Problem, error
from platecard.drawing import pdf_page
from platecard.drawing.pdf_page import Page
from platecard.publishing import disk

FOLDER = ".cards"
_ENDING = ".pages"
_MOST = 100_000_000  # bytes of one card


class Keeper(NamedTuple):
    """The cards kept below ``out``, each under its dish's key."""

    out: str

    def put(self, key: str, pages: tuple[Page, ...]) -> str:
        """Keep a card; its digest, or "" where it cannot be kept, which is no fault of the card's."""
        data = pdf_page.to_bytes(pages)
        folder = os.path.join(self.out, FOLDER)
        try:
            disk.ensure_folder(folder)
            if os.path.islink(self._path(key)):
                return ""
            os.replace(disk.draft(folder, key + _ENDING, (data,), is_lasting=False), self._path(key))
        except OSError:
            return ""
        return hashlib.sha256(data).hexdigest()

    def get(self, key: str, digest: str) -> tuple[Page, ...] | None:
        """The card that was kept with this digest, if it still is."""
        try:
            if not digest or os.path.islink(os.path.join(self.out, FOLDER)):
                return None
            data = disk.read(self._path(key), _MOST)
            return pdf_page.from_bytes(data) if hashlib.sha256(data).hexdigest() == digest else None
        except (OSError, ValueError, RecursionError):
            return None

    def drop(self, key: str) -> None:
        """Keep this card no longer."""
        if not os.path.islink(os.path.join(self.out, FOLDER)):
            disk.remove(self._path(key))

    def tidy(self, keys: Container[str]) -> None:
        """Keep the cards of ``keys`` alone, and nothing half-written."""
        folder = os.path.join(self.out, FOLDER)
        disk.sweep(folder)
        for name in disk.names(folder):
            path = os.path.join(folder, name)
            if name.endswith(_ENDING) and name.removesuffix(_ENDING) not in keys and disk.is_plain(path):
                disk.remove(path)

    def obstacles(self) -> tuple[Problem, ...]:
        """Links in the place of what is kept: they are not followed, and nothing is kept there."""
        folder = os.path.join(self.out, FOLDER)
        inside = (os.path.join(folder, name) for name in disk.names(folder) if name.endswith(_ENDING))
        links = [path for path in (folder, *inside) if os.path.islink(path)]
        return tuple(
            error(
                "in-the-way",
                disk.shown(path),
                "this is a link, and platecard does not write over what it points to",
                "remove the link; whatever is kept here can be made again",
            )
            for path in links
        )

    def _path(self, key: str) -> str:
        return os.path.join(self.out, FOLDER, key + _ENDING)
