"""Lengths of time in a cook's words: ``48 hours``, ``2-3 days``, ``a fortnight``, ``1 h 10 min``, ``overnight``.

In: text.  Out: :class:`Period`, exact, in seconds.  The words stand in ``data/durations.yaml``.
:mod:`platecard.clock` reads a duration that stands alone, :mod:`platecard.lasting` what is
written of keeping and making ahead.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache

from . import nodes
from .frozen import frozen
from .packaged import read_text

_VULGAR = {"½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4"}


@frozen
class Period:
    """A length of time in s.  ``longest_s`` is None where a longer time is not shut out ("at least 2 days")."""

    shortest_s: Fraction
    longest_s: Fraction | None


@cache
def words() -> dict:
    """``data/durations.yaml``, read once."""
    node, problems = nodes.parse(read_text("durations.yaml"), "platecard/data/durations.yaml")
    if problems:
        raise ValueError(str(problems[0]))
    return nodes.plain(node)


def plain(text: str) -> str:
    """``text`` in lower case on one line: fractions spelt out, hyphens between letters as spaces, one kind of minus."""
    for sign, spelt in _VULGAR.items():
        text = text.replace(sign, f" {spelt}")
    text = re.sub(r"['’]", "", text.lower().replace("−", "-").replace("–", "-").replace("—", "-"))
    return " ".join(re.sub(r"(?<=[^\W\d])-(?=[^\W\d])", " ", text).split())


@cache
def _grammar() -> tuple[re.Pattern, dict[str, Fraction], dict[str, Fraction]]:
    numbers = {word: Fraction(str(value)) for word, value in words()["numbers"].items()}
    units = {word: Fraction(str(seconds)) for seconds, row in words()["units"].items() for word in row}
    spelt = "|".join(map(re.escape, sorted(numbers, key=len, reverse=True)))
    number = rf"(?:\d{{1,6}}\s+\d{{1,2}}/\d{{1,2}}|\d{{1,6}}/\d{{1,2}}|\d{{1,6}}(?:\.\d{{1,4}})?|(?:{spelt})(?![^\W_]))"
    unit = rf"(?:{'|'.join(sorted(units, key=len, reverse=True))})(?![^\W_])"
    start, half = r"(?<![^\W_.,/-])", r"\s+and\s+a\s+half(?![^\W_])"
    between = rf"{start}(?:between\s+(?P<low1>{number})\s+and|(?P<low2>{number})\s*(?P<own>{unit})?\s*(?:-|\bto\b|\bor\b))\s*(?P<high>{number})\s*(?P<unit>{unit})"
    alone = rf"{start}(?P<one>{number})(?P<halved>{half})?\s*(?P<its>{unit})(?:(?P<half>{half})|\s+or\s+(?P<up>{number})(?![^\W_]|\s*(?:{unit}|/)))?"
    return re.compile(f"{between}|{alone}"), numbers, units


@frozen
class Found:
    """One length in a text: where it stands, and its unit in s."""

    start: int
    end: int
    period: Period
    unit_s: Fraction


def find(text: str) -> list[Found]:
    """The lengths in a text that is :func:`plain`.  What stands one behind the other in smaller units is one length (1 h 10 min)."""
    pattern, numbers, units = _grammar()
    found: list[Found] = []
    for match in pattern.finditer(text):
        got = _read(match, numbers, units)
        if got is None:
            continue
        before = found[-1] if found else None
        if before is not None and got.unit_s < before.unit_s and re.fullmatch(r"\s*(?:and\s+)?", text[before.end : got.start]):
            both = Period(before.period.shortest_s + got.period.shortest_s, before.period.longest_s + got.period.longest_s)
            found[-1] = Found(before.start, got.end, both, got.unit_s)
        else:
            found.append(got)
    return found


def _read(match: re.Match, numbers: dict[str, Fraction], units: dict[str, Fraction]) -> Found | None:
    def value(text: str) -> Fraction | None:
        if text in numbers:
            return numbers[text]
        try:
            return sum((Fraction(part) for part in text.split()), Fraction(0))
        except ZeroDivisionError:
            return None

    said = match.groupdict()
    low, high = (value(text) for text in (said["low1"] or said["low2"] or said["one"], said["high"] or said["up"] or said["one"]))
    unit_s = units[said["unit"] or said["its"]]
    if low is None or high is None:
        return None
    more = Fraction(1, 2) if said["half"] or said["halved"] else 0
    low_s, high_s = (low + more) * units[said["own"] or said["unit"] or said["its"]], (high + more) * unit_s
    # A range upside down has its ends all the same.
    return Found(match.start(), match.end(), Period(min(low_s, high_s), max(low_s, high_s)), unit_s)


def whole(text: str) -> Period | None:
    """The length of time that a text is, and nothing else; None for any other text."""
    said = plain(text)
    found = find(said)
    if len(found) == 1 and (found[0].start, found[0].end) == (0, len(said)):
        return found[0].period
    return next((Period(Fraction(row["from"]), Fraction(row["to"])) for row in words()["phrases"] if row["from"] and said in row["words"]), None)
