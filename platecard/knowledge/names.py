"""Fold names as people write them, so that they can be compared.

Case, accents, hyphens, apostrophes and plurals do not matter.  Word order does,
except to :func:`loose`, which only finds names to ask about.
"""

from __future__ import annotations

import re
import unicodedata
from functools import lru_cache

_APART = re.compile(r"[^\w%]+|_")
_LIGATURES = str.maketrans({"œ": "oe", "æ": "ae", "ß": "ss", "ø": "o", "ł": "l", "đ": "d", "’": "", "'": "", "`": ""})
_IRREGULAR = {
    "leaves": "leaf",
    "loaves": "loaf",
    "halves": "half",
    "knives": "knife",
    "geese": "goose",
    "swiss": "swiss",
    "molasses": "molasses",
    "chillies": "chilli",
    "chilies": "chili",
    "cookies": "cookie",
    "brownies": "brownie",
    "smoothies": "smoothie",
    "veggies": "veggie",
}


@lru_cache(maxsize=60_000)
def fold(name: str) -> str:
    """``name`` as it is compared: ``Crème fraîche`` and ``creme-fraiche`` are the same."""
    text = name.lower().translate(_LIGATURES)
    if not text.isascii():
        text = "".join(c for c in unicodedata.normalize("NFKD", text) if not unicodedata.combining(c))
    return " ".join([_singular(w) for w in _APART.split(text) if w])


def _singular(word: str) -> str:
    if len(word) < 4 or not word.endswith("s"):
        return word
    if word in _IRREGULAR:
        return _IRREGULAR[word]
    if word.endswith(("ss", "us", "is")):
        return word
    if word.endswith("ies") and len(word) > 4:
        return word[:-3] + "y"
    if word.endswith(("ches", "shes", "xes", "sses", "zes", "oes")):
        return word[:-2]
    return word[:-1]


# Plural endings in German, Italian, Spanish and French, and the singular endings that they replace.
_FOREIGN = (
    ("n", ""),
    ("en", ""),
    ("e", ""),
    ("er", ""),
    ("i", "o"),
    ("i", "e"),
    ("i", "a"),
    ("e", "a"),
    ("chi", "co"),
    ("hi", "o"),
    ("he", "a"),
    ("x", ""),
    ("aux", "al"),
)
_LEAST_FOREIGN = 5  # letters of a word that is tried as a foreign plural


def foreign_singulars(folded: str) -> list[str]:
    """The singulars that a foreign plural may have: ``kartoffel`` for ``kartoffeln``, ``pomodoro`` for ``pomodori``.

    These are guesses, to be looked up only if the word itself is not known.
    """
    return [
        folded[: -len(many)] + one
        for many, one in _FOREIGN
        if folded.endswith(many) and len(folded.split()[-1]) >= _LEAST_FOREIGN
    ]


def runs(name: str, longest: int | None = None) -> list[str]:
    """Every run of adjacent words in ``name``, folded, of at most ``longest`` words."""
    row = fold(name).split()
    return [
        " ".join(row[a:b]) for a in range(len(row)) for b in range(a + 1, min(len(row), a + (longest or len(row))) + 1)
    ]


def loose(name: str) -> str:
    """``name`` folded, with its words sorted: alike for ``rice pudding`` and ``pudding rice``, which are two foods."""
    return " ".join(sorted(fold(name).split()))
