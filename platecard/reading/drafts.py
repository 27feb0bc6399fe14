"""Whether a spec is marked as a draft, from its text alone, so that it is known even of an unreadable file.

A draft is an idea that is off the menu: no other dish may change because of it, however
much of it has been typed.  So the mark is looked for before anything is parsed, and in one
place only: the first line that says anything.
"""

from __future__ import annotations

import re
from typing import NamedTuple

_DRAFT = re.compile(r"draft\s*:\s*true\s*(?:#.*)?")
# This mark makes a dish count for the equipment, so it is recognised more generously.
_TRIAL = re.compile(r"^[ \t]*[\"']?trial[\"']?[ \t]*:[ \t]*[\"']?(?:true|yes|on)\b", re.MULTILINE | re.IGNORECASE)


class Marks(NamedTuple):
    """What a spec is marked as.

    ``is_draft``: off the menu.  ``is_trial``: it goes through the kitchen's equipment all the same.
    """

    is_draft: bool = False
    is_trial: bool = False

    @property
    def counts(self) -> bool:
        """Whether its food counts for the equipment that dishes share."""
        return not self.is_draft or self.is_trial


def marks(text: str) -> Marks:
    """The marks of a spec.

    ``draft: true`` counts only on the first line that is neither blank nor a comment, ``trial: true``
    at the start of any line.
    """
    for line in text.removeprefix("\ufeff").split("\n"):
        said = line.strip()
        if said and not said.startswith("#"):
            return Marks(_DRAFT.fullmatch(said) is not None, _TRIAL.search(text) is not None)
    return Marks()
