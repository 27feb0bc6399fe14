"""The chef's own texts, with their places."""

from __future__ import annotations

from typing import NamedTuple

from platecard.diagnostics import Span


class Written(NamedTuple):
    """A text as the chef wrote it.

    ``key`` is the key it stands under, ``section`` the section of the file that holds it, and
    ``owner`` the recipe it belongs to, empty where it belongs to none.
    """

    key: str
    section: str
    text: str
    span: Span
    quoted: bool = False
    owner: str = ""
