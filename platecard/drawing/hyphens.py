"""Where a word may be hyphenated, by the patterns of its language."""

from __future__ import annotations

import re
from functools import cache, lru_cache
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from pyphen import Pyphen  # type: ignore[import-untyped]

HYPHEN = "-"
_LETTERS = re.compile(r"[^\W\d_]+")


@lru_cache(maxsize=2048)
def places(word: str, language: str = "en-GB") -> tuple[int, ...]:
    """The places in ``word`` before which a hyphen may stand, in order; none for a language without patterns."""
    patterns = _patterns(language)
    if patterns is None:
        return ()
    return tuple(
        run.start() + place
        for run in _LETTERS.finditer(word)
        for place in patterns.positions(run.group())
        # Where hyphenation would change the spelling, the word stays whole.
        if not place.data
    )


@cache
def _patterns(language: str) -> Pyphen | None:
    from pyphen import Pyphen, language_fallback  # late: few pages have a word that is longer than a line

    known = language_fallback(language.replace("-", "_"))
    return Pyphen(lang=known) if known else None
