"""Temperatures as cooks write them, in °C, exactly."""

from __future__ import annotations

import re
from fractions import Fraction

from platecard.quantities.units import NUMBER, TWO_UNITS, AmountError, Quantity, agreeing, number, spelt_out

_DEGREES = re.compile(rf"([-−]?)\s*({NUMBER})(?:\s*(?:–|to|-(?=\s*\d))\s*([-−]?)\s*({NUMBER}))?\s*(.*)\Z", re.S)
_SCALES = {
    "°c": "°C",
    "c": "°C",
    "celsius": "°C",
    "degrees c": "°C",
    "deg c": "°C",
    "degrees celsius": "°C",
    "°f": "°F",
    "f": "°F",
    "fahrenheit": "°F",
    "degrees f": "°F",
    "deg f": "°F",
    "degrees fahrenheit": "°F",
}
ABSOLUTE_ZERO = Fraction(-27315, 100)


def temperature(text: object) -> Quantity:
    """``180 °C``, ``350 °F``, ``-18 °C``, ``60-65 °C`` or ``250 °F / 121 °C`` in °C, exactly.

    Raises :class:`AmountError` if the scale is missing: 180 is an oven in °C, and only a hot bath in °F.
    """
    written = str(text).strip()
    if twice := TWO_UNITS.fullmatch(written):
        return agreeing(_degrees(twice.group(1)), _degrees(twice.group(2)), written)
    return _degrees(written)


def _degrees(written: str) -> Quantity:
    match = _DEGREES.match(spelt_out(written))
    if not match:
        raise AmountError(f"'{written}' is not a temperature", "write it as in 180 °C or 350 °F")
    below, first, below_too, second, word = match.groups()
    word = re.sub(r"\s+", " ", word.strip().lower().replace("° ", "°"))
    if word not in _SCALES:
        said = (
            f"'{written}' does not say °C or °F"
            if word in ("", "°", "deg", "degree", "degrees")
            else f"unknown temperature scale '{word}' in '{written}'"
        )
        raise AmountError(said, f"write {below}{first} °C or {below}{first} °F, whichever is meant")
    unit = _SCALES[word]
    low = number(first) * (-1 if below else 1)
    high = number(second) * (-1 if below_too else 1) if second else low
    if high < low:
        raise AmountError(f"'{written}' runs from the larger to the smaller", "write the smaller one first")
    low, high = ((v if unit == "°C" else (v - 32) * 5 / 9) for v in (low, high))
    if low < ABSOLUTE_ZERO:
        raise AmountError(f"'{written}' is below absolute zero", "correct the figure")
    return Quantity(low, high, "temperature", unit, written)


_SAID_TWICE = re.compile(rf"[-−]?{NUMBER}\s*°\s*[CF]\s*(?:/|\(|=)\s*[-−]?{NUMBER}\s*°\s*[CF]")


def disagreements(prose: str) -> tuple[AmountError, ...]:
    """An error for each temperature in a sentence that is given in °C and in °F, and disagrees with itself."""
    found = []
    for match in _SAID_TWICE.finditer(spelt_out(prose)):
        try:
            temperature(re.sub(r"\s*[/(=]\s*", " / ", match.group()))
        except AmountError as exc:
            found.append(exc)
    return tuple(found)
