"""How long food keeps and how far ahead it is made: a length of time and ways of storing.

Reads what a recipe says under ``keeps`` or ``made_ahead`` as a :class:`Lasting`.  Preparation
asks it for days, the cautions for the longest time and the ways.  Whatever cannot be read is
named and counts against the food: the time is then open, and the food does not count as dry
or frozen.  The words are in ``data/durations.yaml``.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import lru_cache
from math import ceil
from typing import NamedTuple

from platecard.quantities import durations

DAY_S = 86400
CHILLED, FROZEN, DRY, ROOM, HOT = "chilled", "frozen", "dry", "room", "hot"
# Examples of what can be read, for hints.
FORMS = {
    "keeps": (
        "write it as in 3 days in the fridge; 36 h; 2-3 days, airtight; a fortnight, frozen; 1 week at -18 °C; "
        "until the end of service"
    ),
    "made_ahead": "write it as in 2 days; 48 hours; overnight; the day before; the same morning; to order; in July",
}


class Lasting(NamedTuple):
    """A length of time with the ways of storing, as one line of a recipe states them.

    A line may give several lengths (fresh, and frozen): ``shortest_s`` and ``longest_s`` are the
    shortest and the longest that were read, in s, or None.  ``is_open`` means that it may be longer
    ("at least"), or that something could not be read, which is then in ``unread``.  ``is_season``
    means a time of the year.
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
        """Whether the recipe says anything at all."""
        return bool(self.text)

    def can_last(self, seconds: int) -> bool:
        """Whether the time can be as long as ``seconds``, or longer."""
        return self.is_open or (self.longest_s is not None and self.longest_s >= seconds)

    def can_outlast(self, seconds: int) -> bool:
        """Whether the time can be longer than ``seconds``."""
        return self.is_open or (self.longest_s is not None and self.longest_s > seconds)

    @property
    def days_before(self) -> int | None:
        """Days before service that the food is made: two for 48 hours, a range by its longer end.

        None if they cannot be counted.
        """
        if not self.text or self.to_order:
            return 0
        if self.longest_s is None or self.is_season:
            return None
        return 0 if self.longest_s <= DAY_S / 2 else ceil(self.longest_s / DAY_S)


NOT_SAID = Lasting()


_DEGREES = re.compile(r"(?P<low>-?N)(?:[-T](?P<high>-?N))?(?:DC?|C)|(?<![NU])-N(?![-UDCN])")


@lru_cache(maxsize=1024)  # a kitchen writes the same few lines again and again
def read(text: str, kind: str) -> Lasting:
    """What ``text`` means under ``kind``, which is ``keeps`` or ``made_ahead``."""
    row = durations.tokens(text)
    if not row:
        return NOT_SAID
    ways: set[str] = set()
    for match in list(_DEGREES.finditer(durations.shape(row))):
        ways.add(_way_of(row[match.start() : match.end()]))
        row[match.start() : match.end()] = [durations.Token(durations.MARK, "°")] * (match.end() - match.start())
    lengths = durations.find(row)
    taken = {at for f in lengths for at in range(f.start, f.end)}
    rest = [token for at, token in enumerate(row) if at not in taken]
    spans = [f.period for f in lengths] + [t.value for t in rest if isinstance(t.value, durations.Period)]
    ways |= {t.value for t in rest if isinstance(t.value, str)}
    groups = {t.group for t in rest} - ({"seasons"} if kind == "keeps" else set())
    is_season = "seasons" in groups and not spans
    if is_season:
        spans.append(durations.Period(Fraction(0), Fraction(365 * DAY_S)))
    is_timed = bool(spans) or "to_order" in groups
    unread = " ".join(t.text for t in rest if not _is_understood(t, groups)) if is_timed else text
    return Lasting(
        text,
        min((p.shortest_s for p in spans), default=None),
        max((p.longest_s for p in spans), default=None),
        bool(unread) or "at_least" in groups,
        frozenset(ways),
        "to_order" in groups and not unread,
        is_season,
        unread,
    )


def _is_understood(token: durations.Token, groups: set[str]) -> bool:
    """Whether a token outside any length of time is accounted for: a mark, a known word or an article."""
    if token.kind == durations.NUMBER or token.group in ("unit", "negations"):
        return token.text in _ARTICLES
    return token.kind != durations.WORD or (token.group != "" and token.group in groups)


_ARTICLES = frozenset({"a", "an", "one"})


def _way_of(degrees: list[durations.Token]) -> str:
    """The way of storing at a temperature, a range by its warmer end; without a scale it is in °C."""
    letters = durations.shape(degrees)
    at, warmest = [(i, token.value) for i, token in enumerate(degrees) if isinstance(token.value, Fraction)][-1]
    is_below = at > 0 and letters[at - 1] == "-" and (at == 1 or letters[at - 2] != durations.NUMBER)
    if is_below:
        warmest = -warmest
    if degrees[-1].text == "f":
        warmest = (warmest - 32) * 5 / 9
    limits = durations.words()["temperatures"]
    if warmest <= limits["chilled"]:
        return FROZEN if warmest <= limits["frozen"] else CHILLED
    return HOT if warmest >= limits["hot"] else ROOM
