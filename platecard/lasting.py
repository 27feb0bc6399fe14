"""How long food keeps and how far ahead it is made, read once: a length of time and a way of storing.

In: what a recipe says under ``keeps`` or ``made_ahead``.  Out: :class:`Lasting`.  Preparation
asks it for days, the cautions for the longest time and for the way.  What could not be read
is named and counts against the food: the time is then as long as it can be, and nothing says
that the food is dry or frozen.  The words stand in ``data/durations.yaml``.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache, lru_cache
from math import ceil

from . import periods
from .frozen import frozen

DAY_S = 86400
CHILLED, FROZEN, DRY, ROOM, HOT = "chilled", "frozen", "dry", "room", "hot"
# The forms that can be read, as a hint tells them.
FORMS = {"keeps": "for example 3 days in the fridge; 36 h; 2-3 days, airtight; a fortnight, frozen; 1 week at -18 °C; until the end of service",
         "made_ahead": "for example 2 days; 48 hours; overnight; the day before; the same morning; to order; in July"}


@frozen
class Lasting:
    """A length of time in s with the ways of storing, as one line of a recipe says them.

    Of several lengths (fresh, or frozen) ``shortest_s`` is the shortest and ``longest_s`` the longest that
    was read (None: none was).  ``is_open``: it can be longer, because that is not shut out or because
    something could not be read; ``unread`` is what.  ``is_season``: a time of the year.
    """

    text: str = ""
    shortest_s: Fraction | None = None
    longest_s: Fraction | None = None
    is_open: bool = False
    ways: frozenset[str] = frozenset()
    to_order: bool = False
    is_season: bool = False
    unread: str = ""

    @property
    def is_said(self) -> bool:
        return bool(self.text)

    def can_last(self, seconds: int) -> bool:
        """Whether it can be so long or longer."""
        return self.is_open or (self.longest_s is not None and self.longest_s >= seconds)

    def can_outlast(self, seconds: int) -> bool:
        """Whether it can be longer than that."""
        return self.is_open or (self.longest_s is not None and self.longest_s > seconds)

    @property
    def days_before(self) -> int | None:
        """Days before service, for what is made ahead: 48 hours are two, a range its longer end; None where nobody can count them."""
        if not self.text or self.to_order:
            return 0
        if self.longest_s is None or self.is_season:
            return None
        return 0 if self.longest_s <= DAY_S / 2 else ceil(self.longest_s / DAY_S)


NOT_SAID = Lasting()


@cache
def _phrases(kind: str) -> tuple[re.Pattern, dict[str, tuple[str, object]]]:
    """Every phrase that may stand in ``kind``, the longest first, with what it means."""
    data = periods.words()
    meaning: dict[str, tuple[str, object]] = {word: ("neutral", None) for word in data["neutral"]}
    for group in ("about", "at_most", "at_least", "negations"):
        meaning.update({word: (group, None) for word in data[group]})
    for way, row in data["ways"].items():
        meaning.update({word: ("way", way) for word in row})
    meaning.update({word: ("to_order", None) for word in data["to_order"]})
    if kind == "made_ahead":
        meaning.update({word: ("season", None) for word in data["seasons"]})
    for row in data["phrases"]:
        meaning.update({word: ("length", periods.Period(Fraction(row["from"]), Fraction(row["to"]))) for word in row["words"]})
    meaning = {periods.plain(word): what for word, what in meaning.items()}
    every = "|".join(map(re.escape, sorted(meaning, key=lambda w: (-len(w), w))))
    return re.compile(rf"(?<![^\W_])(?:{every})(?![^\W_])"), meaning


_DEGREES = re.compile(r"(?:(?<![^\W_])(?:below|under|up to|at most|above|around|about)\s+)?(?<![^\W_])(-?\d{1,3}(?:\.\d)?)(?:\s*(?:to|-)\s*(-?\d{1,3}(?:\.\d)?))?\s*(?:°\s*([cf])?|(?<=\d)\s*([cf])(?![^\W_]))")
_BARE_COLD = re.compile(r"(?<![^\W_])(?<!\d)-(\d{2})(?!\s*[-\d°])(?![^\W_])")


@lru_cache(maxsize=1024)  # a kitchen writes the same few lines again and again
def read(text: str, kind: str) -> Lasting:
    """``text`` as it stands under ``kind`` (``keeps`` or ``made_ahead``)."""
    if not text:
        return NOT_SAID
    rest = periods.plain(text)
    ways: set[str] = set()
    rest = _DEGREES.sub(lambda m: _way_of(m, ways), rest)
    rest = _BARE_COLD.sub(lambda m: _at(-Fraction(m.group(1)), ways), rest)
    lengths = periods.find(rest)
    spans = [f.period for f in lengths]
    for f in reversed(lengths):
        rest = f"{rest[:f.start]} | {rest[f.end:]}"
    groups: set[str] = set()
    pattern, meaning = _phrases(kind)

    def understood(match: re.Match) -> str:
        group, what = meaning[match.group()]
        groups.add(group)
        if group == "way":
            ways.add(what)
        elif group == "length":
            spans.append(what)
        return match.group() if group == "negations" else " | "

    left = re.findall(r"[^\W_]+(?:[./]\d+)*", pattern.sub(understood, rest))
    is_timed = bool(spans) or not groups.isdisjoint(("to_order", "season"))
    unread = " ".join(left) if is_timed else text
    is_season = "season" in groups and not spans
    if is_season:
        spans.append(periods.Period(Fraction(0), Fraction(365 * DAY_S)))
    return Lasting(text, min((p.shortest_s for p in spans), default=None), max((p.longest_s for p in spans), default=None),
                   bool(unread) or "at_least" in groups, frozenset(ways), "to_order" in groups and not unread, is_season, unread)


def _way_of(match: re.Match, ways: set[str]) -> str:
    warmest = Fraction(match.group(2) or match.group(1))
    if (match.group(3) or match.group(4)) == "f":
        warmest = (warmest - 32) * 5 / 9
    return _at(warmest, ways)


def _at(celsius: Fraction, ways: set[str]) -> str:
    limits = periods.words()["temperatures"]
    ways.add(FROZEN if celsius <= limits["frozen"] else CHILLED if celsius <= limits["chilled"] else HOT if celsius >= limits["hot"] else ROOM)
    return " | "
