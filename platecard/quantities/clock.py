"""Durations and times of day as cooks write them, in exact seconds, and back in words.

``4 min``, ``1 h 10 min`` and ``20:15`` are read; anything else raises
:class:`~platecard.quantities.units.AmountError` with a sentence for the chef.
"""

from __future__ import annotations

import re
from fractions import Fraction

from platecard.quantities.durations import Period, whole
from platecard.quantities.shelf_life import DAY_S
from platecard.quantities.units import AmountError, quantity, shown

_PART = re.compile(r"\s*(\d[\d.,/ ]*(?:\s*(?:-|–|to)\s*\d[\d./]*)?\s*[A-Za-z]+)")
_CLOCK = re.compile(r"(\d{1,2}):(\d{2})(?::(\d{2}))?\Z")


def duration_s(text: object) -> Fraction:
    """A duration (``4 min``, ``90 s``, ``1 h 10 min``, ``overnight``) in s.

    A range counts as its longer end, so that nothing is late.
    """
    return period(text).longest_s


def at_least_s(text: object) -> Fraction:
    """A duration in s, a range by its shorter end: the time that heat or frost has had for certain."""
    return period(text).shortest_s


def period(text: object) -> Period:
    """A duration with both its ends."""
    found = whole(str(text))
    return found if found is not None else _period(text)


def _period(text: object) -> Period:
    written = str(text).strip()
    hint = "write it as in 4 min, 90 s or 1 h 10 min"
    if two := re.fullmatch(r"0*(\d+):0*(\d+)", written):
        first, second = two.groups()
        raise AmountError(
            f"'{written}' could be minutes or hours", f"write {first} min {second} s or {first} h {second} min"
        )
    if re.fullmatch(r"\d+:\d+:\d+", written):
        raise AmountError(f"'{written}' is not a length of time", hint)
    if written.startswith(("-", "−")):
        raise AmountError(f"'{written}' is negative", hint)
    total, at = [Fraction(0), Fraction(0)], 0
    spelt = written.replace(" and ", " ")
    parts = list(_PART.finditer(spelt))
    if len(parts) < 2:
        q = quantity(written, "time")
        return Period(q.low, q.high)
    for part in parts:
        if part.start() != at:
            raise AmountError(f"'{written}' is not a length of time", hint)
        q = quantity(part.group(1), "time")
        total = [total[0] + q.low, total[1] + q.high]
        at = part.end()
    if spelt[at:].strip():
        raise AmountError(f"'{written}' is not a length of time", hint)
    return Period(*total)


def clock_s(text: object) -> int:
    """A time of day (``20:15``, ``20:15:30``) in s after midnight."""
    match = _CLOCK.match(str(text).strip())
    if not match:
        raise AmountError(f"'{text}' is not a time of day", "write hours and minutes, such as 20:15")
    hour, minute, second = (int(n or 0) for n in match.groups())
    if hour > 23 or minute > 59 or second > 59:
        raise AmountError(
            f"there is no {text} on the clock", "hours run from 0 to 23, minutes from 0 to 59, as in 20:15"
        )
    return hour * 3600 + minute * 60 + second


def clock_text(seconds: Fraction | int) -> str:
    """Seconds after midnight as ``19:49:30``, with the day if it is another one: ``(the day before)``."""
    whole = int(seconds // 1)
    day, rest = divmod(whole, DAY_S)
    said = f"{rest // 3600:02d}:{rest // 60 % 60:02d}:{rest % 60:02d}"
    if day == 0:
        return said
    return f"{said} ({'the day' if abs(day) == 1 else f'{abs(day)} days'} {'before' if day < 0 else 'after'})"


def minutes_text(seconds: Fraction | int) -> str:
    """A length of time, rounded to the second, as ``4:30`` or, from an hour on, ``1:04:30``."""
    whole = round(abs(Fraction(seconds)))
    hours, rest = divmod(whole, 3600)
    sign = "-" if seconds < 0 and whole else ""
    return f"{sign}{hours}:{rest // 60:02d}:{rest % 60:02d}" if hours else f"{sign}{rest // 60}:{rest % 60:02d}"


def spoken(seconds: Fraction | int) -> str:
    """A length of time in words, rounded to the second: ``6 min``, ``1 min 30 s``, ``1 h 10 min``, ``7 days``."""
    whole = round(seconds)
    if whole >= 2 * DAY_S and whole % DAY_S == 0:
        return f"{whole // DAY_S} days"
    parts = [f"{n} {unit}" for n, unit in ((whole // 3600, "h"), (whole // 60 % 60, "min"), (whole % 60, "s")) if n]
    return " ".join(parts) or "0 s"


def celsius(value: Fraction) -> str:
    """A temperature as cards print it: ``−18 °C``."""
    return f"{shown(value)} °C".replace("-", "−")
