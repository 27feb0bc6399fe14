"""Whose a file is: platecard knows its own files by their content, and writes over no others.

A record can be lost or forged, so it is not asked here.  What another program has saved
anew no longer looks like this, and so is somebody's own.
"""

from __future__ import annotations

import os

from platecard.diagnostics import Problem, error
from platecard.documents.text.wording import CAUTION
from platecard.drawing.fonts import FAMILY
from platecard.files.entries import is_key
from platecard.publishing import disk

RECORD = ".made.json"
MENU = "menu"
WITHDRAWN = "withdrawn"
MOST = 400_000_000  # bytes of a document that is looked into

_SVG = b'<?xml version="1.0" encoding="utf-8"?>\n<svg aria-labelledby="'
_FONT = f"font-family=\"'{FAMILY}', sans-serif\"".encode()
_CAUTION = CAUTION.encode()
_PDF, _PAGE, _TABLE, _DATA = b"%PDF-", b"<!doctype html>", b"\xef\xbb\xbfdish,", b'{\n "dishes": ['
_STARTS = (_SVG, _PDF, _PAGE, _TABLE, _DATA)


def is_ours(path: str) -> bool:
    """Whether platecard wrote this file: a plain file that bears its marks."""
    try:
        return disk.is_plain(path) and disk.begins_with(path, _STARTS) and bears_marks(disk.read(path, MOST))
    except OSError:
        return False


def bears_marks(data: bytes) -> bool:
    """Whether these bytes are a document as platecard writes it, of any kind and revision."""
    if data.startswith(_SVG):
        return _FONT in data[:2_000]
    if data.startswith(_PDF):
        # Who adds to a PDF ends it once more.
        return b"/Creator (platecard)" in data and data.count(b"%%EOF") == 1
    if data.startswith(_PAGE):
        return b"<footer><p>Code " in data or b"<footer><p>Made from " in data  # as earlier versions wrote it
    if data.startswith((_TABLE, _DATA)):
        return _CAUTION in data[-2 * len(_CAUTION) :]
    return False


def in_the_way(path: str) -> Problem | None:
    """Why nothing may be written to this place: what lies there is not platecard's.  None where the way is clear."""
    if os.path.islink(path):
        said = "this is a link, and platecard does not write over what it points to"
    elif not os.path.lexists(path) or is_ours(path):
        return None
    else:
        said = (
            "this is a folder"
            if os.path.isdir(path)
            else "platecard did not make this file, so it does not write over it"
        )
    return error(
        "in-the-way",
        disk.shown(path),
        said,
        "move it away or give it another name, or have the document written elsewhere",
    )


def of_a_build(path: str) -> Problem | None:
    """A place among the documents of an output folder: what ``build`` has issued there is not replaced by anything
    else.
    """
    folder = os.path.dirname(os.path.abspath(path))
    name = os.path.basename(folder)
    if (is_key(name) or name == MENU) and os.path.lexists(os.path.join(os.path.dirname(folder), RECORD)):
        return error(
            "in-the-way",
            disk.shown(path),
            "this folder holds what platecard build has issued, and nothing else is written there",
            "name a file outside the output folder",
        )
    return None
