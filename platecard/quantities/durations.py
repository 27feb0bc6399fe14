"""Find lengths of time in text: ``48 hours``, ``2-3 days``, ``a fortnight``, ``1 h 10 min``, ``overnight``.

Each is found as a :class:`Period`, exact, in s.  The text is cut into tokens, the longest known
phrase first; each token has a letter for its kind, and lengths of time are found by a pattern over
the letters.  The words are in ``data/durations.yaml``.  :mod:`platecard.quantities.clock` reads a duration
that stands alone, :mod:`platecard.quantities.shelf_life` what a recipe says of keeping and making ahead.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from typing import NamedTuple, TypedDict, cast

from platecard import packaged_tables

NUMBER, UNIT, WORD, MARK = "N", "U", "w", ","
_VULGAR = {"½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4"}
_TOKEN = re.compile(r"(\d{1,6}\s+\d{1,2}/\d{1,2}|\d{1,6}/\d{1,2}|\d{1,6}(?:\.\d{1,4})?)(?![.,/]?\d)|([^\W\d_]\w*)|(\S)")
_JOINS = {"-": "-", "to": "T", "or": "O", "and": "A", "between": "B", "half": "H", "°": "D", "c": "C", "f": "C"}
_LENGTH = re.compile(
    r"(?<![-N])(?:(?P<between>BNANU)|(?P<halved>NANHU|NUANH)|(?P<range>NU?[-TO]NU)|(?P<up>NUON(?!U))" r"|(?P<plain>NU))"
)


class Period(NamedTuple):
    """A length of time in s, from its shorter to its longer end."""

    shortest_s: Fraction
    longest_s: Fraction


# What a word means: a number, a unit in s, a length of time, or a way of storing; None for a word that is only known.
Meaning = Fraction | Period | str | None


class Token(NamedTuple):
    """A word, phrase, number or mark, with the letter of its kind (``kind``).

    ``group`` is the list of ``data/durations.yaml`` that it stands in, if any, and ``value`` what it means there.
    """

    kind: str
    text: str
    group: str = ""
    value: Meaning = None


class FoundPeriod(NamedTuple):
    """A length of time in a row of tokens: from ``start`` up to ``end``, with its smallest unit in s."""

    start: int
    end: int
    period: Period
    unit_s: Fraction


# A phrase that is a length of time: its shorter and its longer end in s, and its words.
_PhraseRow = TypedDict("_PhraseRow", {"from": int, "to": int, "words": list[str]})


class DurationWords(TypedDict):
    """``data/durations.yaml``: the words in groups, as the file explains them; temperatures in °C."""

    units: dict[str, list[str]]
    numbers: dict[str, int | str]
    phrases: list[_PhraseRow]
    to_order: list[str]
    seasons: list[str]
    at_least: list[str]
    at_most: list[str]
    about: list[str]
    negations: list[str]
    ways: dict[str, list[str]]
    temperatures: dict[str, float]
    neutral: list[str]


@cache
def words() -> DurationWords:
    """The words in ``data/durations.yaml``, read once."""
    return cast(DurationWords, packaged_tables.values("durations"))


@cache
def _meanings() -> dict[str, tuple[str, Meaning]]:
    """Every word and phrase with its group and its meaning; for a word in two groups the later one counts."""
    data = words()
    known: dict[str, tuple[str, Meaning]] = {}
    groups = {
        "neutral": data["neutral"],
        "about": data["about"],
        "at_most": data["at_most"],
        "at_least": data["at_least"],
        "negations": data["negations"],
        "to_order": data["to_order"],
        "seasons": data["seasons"],
    }
    for group, listed in groups.items():
        known.update((plain(word), (group, None)) for word in listed)
    for way, listed in data["ways"].items():
        known.update((plain(word), ("way", way)) for word in listed)
    for row in data["phrases"]:
        period = Period(Fraction(row["from"]), Fraction(row["to"]))
        known.update((plain(word), ("phrase", period)) for word in row["words"])
    known.update((word, ("number", Fraction(str(value)))) for word, value in data["numbers"].items())
    for seconds, listed in data["units"].items():
        known.update((word, ("unit", Fraction(str(seconds)))) for word in listed)
    return known


@cache
def _longest_phrase() -> int:
    """The words in the longest phrase that is known."""
    return max(len(phrase.split()) for phrase in _meanings())


def plain(text: str) -> str:
    """``text`` in lower case on one line, fractions spelt out, hyphens within words as spaces, dashes as hyphens."""
    for sign, spelt in _VULGAR.items():
        text = text.replace(sign, f" {spelt}")
    text = re.sub(r"['’]", "", text.lower().replace("−", "-").replace("–", "-").replace("—", "-"))
    return " ".join(re.sub(r"(?<=[^\W\d_])-(?=[^\W\d_])", " ", text).split())


def tokens(text: str) -> list[Token]:
    """The text cut into tokens, the longest known phrase first; an unknown word has no group."""
    raw = [(match.lastindex, match.group()) for match in _TOKEN.finditer(plain(text))]
    known = _meanings()
    found: list[Token] = []
    at = 0
    while at < len(raw):
        index, word = raw[at]
        if index == 1:
            found.append(_figure(word))
        elif index == 3:
            found.append(Token(_JOINS.get(word, WORD if word.isalnum() else MARK), word))
        else:
            run = [w for i, w in raw[at : at + _longest_phrase()]]
            size = next((n for n in range(len(run), 0, -1) if " ".join(run[:n]) in known), 1)
            phrase = " ".join(run[:size])
            group, value = known.get(phrase, ("", None))
            kind = NUMBER if group == "number" else UNIT if group == "unit" else _JOINS.get(phrase, WORD)
            found.append(Token(kind, phrase, group, value))
            at += size - 1
        at += 1
    return found


def _figure(word: str) -> Token:
    try:
        return Token(NUMBER, word, "", sum((Fraction(part) for part in word.split()), Fraction(0)))
    except ZeroDivisionError:
        return Token(WORD, word)


def shape(row: list[Token]) -> str:
    """The letters of a row of tokens, one each."""
    return "".join(token.kind for token in row)


def find(row: list[Token]) -> list[FoundPeriod]:
    """The lengths of time in a row of tokens; those that follow on in smaller units are one (1 h 10 min)."""
    letters = shape(row)
    found: list[FoundPeriod] = []
    for match in _LENGTH.finditer(letters):
        got = _length(match, row)
        before = found[-1] if found else None
        if before is not None and got.unit_s < before.unit_s and letters[before.end : got.start] in ("", "A"):
            both = Period(
                before.period.shortest_s + got.period.shortest_s, before.period.longest_s + got.period.longest_s
            )
            found[-1] = FoundPeriod(before.start, got.end, both, got.unit_s)
        else:
            found.append(got)
    return found


def _length(match: re.Match[str], row: list[Token]) -> FoundPeriod:
    inside = row[match.start() : match.end()]
    numbers = [t.value for t in inside if t.kind == NUMBER and isinstance(t.value, Fraction)]
    units = [t.value for t in inside if t.kind == UNIT and isinstance(t.value, Fraction)]
    if match.lastgroup == "halved":
        numbers = [numbers[0] + Fraction(1, 2)]  # the second number is the "a" of "a half"
    ends = sorted((numbers[0] * units[0], numbers[-1] * units[-1]))  # a range may be upside down
    return FoundPeriod(match.start(), match.end(), Period(*ends), units[-1])


def whole(text: str) -> Period | None:
    """The length of time that makes up the whole text; None for any other text."""
    row = tokens(text)
    found = find(row)
    if len(found) == 1 and (found[0].start, found[0].end) == (0, len(row)):
        return found[0].period
    # A phrase such as "until the end of service" can be no time at all, so no step can be timed by it.
    phrase = row[0].value if len(row) == 1 else None
    return phrase if isinstance(phrase, Period) and phrase.shortest_s else None
