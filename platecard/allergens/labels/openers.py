"""The phrases that open a statement on a label, looked for in the order of the data.

There are hundreds of them and a text holds only a handful, so the pattern of each is compiled only
once some text holds a word that it cannot do without (:func:`needs`, which the packaged table holds).
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from functools import cached_property
from typing import NamedTuple

LEAST = 2
_SIGN = re.compile(r"[^\W\d_]+|\(\?<?[=!]|\(\?:|\\.|\{[0-9,]*\}\??|\[[^\]]*\]|.", re.DOTALL)
# Characters that are no part of the word they occur in: stress, soft hyphens, marks of direction.
_INVISIBLE = re.compile("[*_\u00ad\u200b-\u200f\u202a-\u202e\u2060-\u2064\ufeff]")
# Letters that count as another letter when case does not matter.
_AS_ONE = str.maketrans({"İ": "i", "ı": "i"})


class Opening(NamedTuple):
    """An opener found in a text: its kind, and where it begins and ends."""

    kind: str
    start: int
    end: int


class Phrase:
    """One opener.

    ``needs`` are words of which at least one occurs in every text that the phrase can open;
    empty where there are no such words.
    """

    def __init__(self, kind: str, written: str, needs: Iterable[str]):
        self.kind, self.written, self.needs = kind, written, tuple(needs)

    @cached_property
    def pattern(self) -> re.Pattern[str]:
        """The phrase as a pattern that finds it as a whole word, in any case."""
        return re.compile(rf"(?<!\w)(?:{as_pattern(self.written)})(?!(?<=\w)\w)", re.IGNORECASE)


class Openers:
    """All openers; where two begin at the same place, the earlier in the data comes first."""

    def __init__(self, phrases: Iterable[tuple[str, str, Iterable[str]]]):
        self.phrases = tuple(Phrase(*phrase) for phrase in phrases)

    def in_text(self, text: str) -> InText:
        """The openers that may occur in ``text``, to be looked for in it and in parts of it."""
        text = _plain(_INVISIBLE.sub("", text))
        held = [p for p in self.phrases if not p.needs or any(word in text for word in p.needs)]
        return InText(tuple(p.pattern for p in held), tuple(p.kind for p in held))


class InText(NamedTuple):
    """The openers that may occur in one text: their patterns, each with its kind."""

    patterns: tuple[re.Pattern[str], ...]
    kinds: tuple[str, ...]

    def find(self, text: str, start: int = 0, stop: int | None = None) -> Iterator[Opening]:
        """The openers between ``start`` and ``stop``, none inside another, as a single pattern would find them."""
        stop = len(text) if stop is None else stop
        ahead: dict[int, re.Match[str]] = {
            i: m for i, p in enumerate(self.patterns) if (m := p.search(text, start, stop))
        }
        while ahead:
            first = min(ahead, key=lambda i: (ahead[i].start(), i))
            found = ahead[first]
            yield Opening(self.kinds[first], found.start(), found.end())
            at = max(found.end(), found.start() + 1)
            for i in [i for i, m in ahead.items() if m.start() < at]:
                again = self.patterns[i].search(text, at, stop)
                if again:
                    ahead[i] = again
                else:
                    del ahead[i]

    def without(self, text: str) -> str:
        """The text with a blank in place of every opener."""
        kept, at = [], 0
        for one in self.find(text):
            kept.append(text[at : one.start])
            at = one.end
        return " ".join([*kept, text[at:]])


def as_pattern(phrase: str) -> str:
    """A phrase as a regular expression.

    A blank matches any run of blanks, and `` ... `` a few words of the same sentence.
    """
    return re.sub(r"\((?!\?)", "(?:", phrase).replace(" ... ", r"\b[^.;]{0,60}?\b").replace(" ", r"\s+")


def needs(phrase: str) -> frozenset[str]:
    """Words of which at least one occurs in every text that the phrase matches; empty where there are none."""
    found, at = _branches(_SIGN.findall(phrase), 0)
    return found or frozenset()


def _branches(signs: list[str], at: int) -> tuple[frozenset[str] | None, int]:
    """The words of a group up to its closing bracket: of each branch the best; None where a branch needs none."""
    branches: list[frozenset[str] | None] = []
    while True:
        found, at = _branch(signs, at)
        branches.append(found)
        if at == len(signs) or signs[at] == ")":
            words = [needed for needed in branches if needed is not None]
            return (frozenset().union(*words) if len(words) == len(branches) else None), at + 1
        at += 1


def _branch(signs: list[str], at: int) -> tuple[frozenset[str] | None, int]:
    needed: list[frozenset[str]] = []
    word = ""
    while True:
        sign = signs[at] if at < len(signs) else ")"
        if sign.isalpha():
            word = sign
            at += 1
            continue
        # An optional letter is no part of the word.
        word = word[:-1] if sign[0] in "?*{" else word
        needed += [frozenset({_plain(word)})] if len(word) >= LEAST else []
        word = ""
        if sign in ("|", ")"):
            return max(needed, key=lambda n: (min(map(len, n)), -len(n)), default=None), at
        at += 1
        if sign[0] == "(":
            inner, at = _branches(signs, at)
            may_lack = at < len(signs) and signs[at][0] in "?*{"
            if inner and not may_lack and sign in ("(", "(?:"):
                needed.append(inner)


def _plain(text: str) -> str:
    return text.translate(_AS_ONE).casefold()
