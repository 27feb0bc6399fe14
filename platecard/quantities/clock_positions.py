"""Positions on the plate as on the face of a clock: 12:00 is away from the guest, 6:00 nearest."""

from __future__ import annotations

import re
from fractions import Fraction

from platecard.quantities.units import AmountError

_CLOCK = re.compile(r"(\d{1,2})(?::(\d{2}))?(?:\s*o'clock)?\Z")


def clock_degrees(text: object) -> Fraction:
    """A clock position on the plate in degrees clockwise from 12, the side away from the guest.

    ``2:30`` is 75°, and ``6:00``, nearest the guest, is 180°.  Raises :class:`AmountError`
    for anything else, such as ``13:00`` or ``2:75``.
    """
    match = _CLOCK.match(str(text).strip())
    if not match:
        raise AmountError(f"'{text}' is not a clock position", "for example 2:30; 6:00 is nearest the guest")
    hour, minute = int(match.group(1)), int(match.group(2) or 0)
    if not 1 <= hour <= 12 or minute > 59:
        raise AmountError(f"there is no {text} on a clock face of twelve hours", "write 1:00 to 12:59")
    return Fraction(30 * (hour % 12)) + Fraction(minute, 2)


def clock_text(degrees: float) -> str:
    """Degrees clockwise from 12 as a clock position to the nearest five minutes."""
    minutes = round(float(degrees) % 360 * 2 / 5) * 5 % 720
    return f"{minutes // 60 or 12}:{minutes % 60:02d}"
