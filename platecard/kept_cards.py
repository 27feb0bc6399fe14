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

from .drawing import pdf_page
from .drawing.pdf_page import Page
from .frozen import frozen

FOLDER = ".cards"


@frozen
class Keeper:
    """The cards kept below ``out``, each under its dish's key."""

    out: str

    def put(self, key: str, pages: tuple[Page, ...]) -> str:
        """Keep a card; its digest, or "" where it cannot be kept, which is no fault."""
        data = pdf_page.to_bytes(pages)
        try:
            os.makedirs(os.path.join(self.out, FOLDER), exist_ok=True)
            with open(self._path(key), "wb") as stream:
                stream.write(data)
        except OSError:
            return ""
        return hashlib.sha256(data).hexdigest()

    def get(self, key: str, digest: str) -> tuple[Page, ...] | None:
        """The card that was kept with this digest, if it still is."""
        try:
            with open(self._path(key), "rb") as stream:
                data = stream.read()
            return pdf_page.from_bytes(data) if digest and hashlib.sha256(data).hexdigest() == digest else None
        except (OSError, ValueError, RecursionError):
            return None

    def drop(self, key: str) -> None:
        """Keep this card no longer."""
        try:
            os.unlink(self._path(key))
        except OSError:
            pass

    def _path(self, key: str) -> str:
        return os.path.join(self.out, FOLDER, f"{key}.pages")
