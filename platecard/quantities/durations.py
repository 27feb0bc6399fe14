"""Lengths of time in a cook's words: ``48 hours``, ``2-3 days``, ``a fortnight``, ``1 h 10 min``, ``overnight``.

In: text.  Out: :class:`Period`, exact, in seconds.  A text is cut into tokens, the longest known
phrase first, and each token has a letter for its kind; what is a length of time is then told by
the row of letters.  The words stand in ``data/durations.yaml``.  :mod:`platecard.quantities.clock` reads a
duration that stands alone, :mod:`platecard.quantities.shelf_life` what is written of keeping and making ahead.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from platecard import yaml_nodes
from platecard.package_data import read_text

NUMBER, UNIT, WORD, MARK = "N", "U", "w", ","
_LONGEST = 5  # words in a phrase
_VULGAR = {"½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4"}
_TOKEN = re.compile(r"(\d{1,6}\s+\d{1,2}/\d{1,2}|\d{1,6}/\d{1,2}|\d{1,6}(?:\.\d{1,4})?)(?![.,/]?\d)|([^\W\d_]\w*)|(\S)")
_JOINS = {"-": "-", "to": "T", "or": "O", "and": "A", "between": "B", "half": "H", "°": "D", "c": "C", "f": "C"}
_LENGTH = re.compile(
    r"(?<![-N])(?:(?P<between>BNANU)|(?P<halved>NANHU|NUANH)|(?P<range>NU?[-TO]NU)|(?P<up>NUON(?!U))" r"|(?P<plain>NU))"
)


@dataclass(frozen=True, slots=True)
class Period:
    """A length of time in s, from its shorter to its longer end."""

    shortest_s: Fraction
    longest_s: Fraction


@dataclass(frozen=True, slots=True)
class Token:
    """A word, a phrase, a figure or a mark: its letter, the group of words it belongs to, and what it means there."""

    kind: str
    text: str
    group: str = ""
    value: object = None


@dataclass(frozen=True, slots=True)
class Found:
    """One length in a row of tokens: where it stands, and its smallest unit in s."""

    start: int
    end: int
    period: Period
    unit_s: Fraction


@cache
def words() -> dict:
    """``data/durations.yaml``, read once."""
    node, problems = yaml_nodes.parse(read_text("durations.yaml"), "platecard/data/durations.yaml")
    if problems:
        raise ValueError(str(problems[0]))
    return yaml_nodes.plain(node)


@cache
def _meanings() -> dict[str, tuple[str, object]]:
    """Every word and phrase with its group and what it means; of a word in two groups the later counts."""
    data = words()
    known: dict[str, tuple[str, object]] = {}
    for group in ("neutral", "about", "at_most", "at_least", "negations", "to_order", "seasons"):
        known.update((plain(word), (group, None)) for word in data[group])
    for way, row in data["ways"].items():
        known.update((plain(word), ("way", way)) for word in row)
    for row in data["phrases"]:
        known.update(
            (plain(word), ("phrase", Period(Fraction(row["from"]), Fraction(row["to"])))) for word in row["words"]
        )
    known.update((word, ("number", Fraction(str(value)))) for word, value in data["numbers"].items())
    for seconds, row in data["units"].items():
        known.update((word, ("unit", Fraction(str(seconds)))) for word in row)
    return known


def plain(text: str) -> str:
    """``text`` in lower case on one line: fractions spelt out, hyphens between letters as spaces, one kind of minus."""
    for sign, spelt in _VULGAR.items():
        text = text.replace(sign, f" {spelt}")
    text = re.sub(r"['’]", "", text.lower().replace("−", "-").replace("–", "-").replace("—", "-"))
    return " ".join(re.sub(r"(?<=[^\W\d_])-(?=[^\W\d_])", " ", text).split())


def tokens(text: str) -> list[Token]:
    """A text cut into tokens, the longest known phrase first; what is not known is a word without a group."""
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
            run = [w for i, w in raw[at : at + _LONGEST]]
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
    """The letters of a row of tokens."""
    return "".join(token.kind for token in row)


def find(row: list[Token]) -> list[Found]:
    """The lengths in a row of tokens.  What stands one behind the other in smaller units is one length (1 h 10 min)."""
    letters = shape(row)
    found: list[Found] = []
    for match in _LENGTH.finditer(letters):
        got = _length(match, row)
        before = found[-1] if found else None
        if before is not None and got.unit_s < before.unit_s and letters[before.end : got.start] in ("", "A"):
            both = Period(
                before.period.shortest_s + got.period.shortest_s, before.period.longest_s + got.period.longest_s
            )
            found[-1] = Found(before.start, got.end, both, got.unit_s)
        else:
            found.append(got)
    return found


def _length(match: re.Match, row: list[Token]) -> Found:
    inside = row[match.start() : match.end()]
    numbers = [t.value for t in inside if t.kind == NUMBER]
    units = [t.value for t in inside if t.kind == UNIT]
    if match.lastgroup == "halved":
        numbers = [numbers[0] + Fraction(1, 2)]  # the second number is the "a" of "a half"
    ends = sorted((numbers[0] * units[0], numbers[-1] * units[-1]))  # a range upside down has its ends all the same
    return Found(match.start(), match.end(), Period(*ends), units[-1])


def whole(text: str) -> Period | None:
    """The length of time that a text is, and nothing else; None for any other text."""
    row = tokens(text)
    found = find(row)
    if len(found) == 1 and (found[0].start, found[0].end) == (0, len(row)):
        return found[0].period
    # "Until the end of service" is a length that nobody can time a step by.
    return row[0].value if len(row) == 1 and row[0].group == "phrase" and row[0].value.shortest_s else None
