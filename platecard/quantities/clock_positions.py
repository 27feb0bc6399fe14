"""Positions on the plate as on the face of a clock: 12:00 is away from the guest, 6:00 nearest."""

from __future__ import annotations

import re
from fractions import Fraction

from platecard.quantities.units import AmountError

_CLOCK = re.compile(r"(\d{1,2})(?::(\d{2}))?(?:\s*o'clock)?\Z")

# Sides of the plate, as the guest sees it, that a clock position says.
_SIDES = {
    "left": "9:00",
    "right": "3:00",
    "top": "12:00",
    "bottom": "6:00",
    "front": "6:00",
    "back": "12:00",
    "north": "12:00",
    "east": "3:00",
    "south": "6:00",
    "west": "9:00",
    "top left": "10:30",
    "top right": "1:30",
    "bottom left": "7:30",
    "bottom right": "4:30",
}


def clock_degrees(text: object) -> Fraction:
    """A clock position on the plate in degrees clockwise from 12, the side away from the guest.

    ``2:30`` is 75°, and ``6:00``, nearest the guest, is 180°.  Raises :class:`AmountError`
    for anything else, such as ``13:00`` or ``2:75``.
    """
    match = _CLOCK.match(str(text).strip())
    if not match:
        said = str(text).strip()
        dotted = re.fullmatch(r"(\d{1,2})[.h](\d{2})", said)
        hint = (
            f"write {dotted.group(1)}:{dotted.group(2)}"
            if dotted
            else f"write {_SIDES[said.lower()]}"
            if said.lower() in _SIDES
            else "write it as in 2:30; 6:00 is nearest the guest"
        )
        raise AmountError(f"'{text}' is not a clock position", hint)
    hour, minute = int(match.group(1)), int(match.group(2) or 0)
    if not 1 <= hour <= 12 or minute > 59:
        right = f"{hour - 12}:{minute:02d}, or another from " if 12 < hour < 24 and minute < 60 else ""
        raise AmountError(f"there is no {text} on a clock face of twelve hours", f"write {right}1:00 to 12:59")
    return Fraction(30 * (hour % 12)) + Fraction(minute, 2)


def clock_text(degrees: float) -> str:
    """Degrees clockwise from 12 as a clock position to the nearest five minutes."""
    minutes = round(float(degrees) % 360 * 2 / 5) * 5 % 720
    return f"{minutes // 60 or 12}:{minutes % 60:02d}"
