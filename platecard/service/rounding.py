"""Amounts as a kitchen writes them, rounded the way a cook weighs.

In: an exact amount in g, ml or pieces.  Out: a text.  Sums are done on exact amounts; only
what people read is rounded, and no amount is rounded down to nothing.

metric   to 0.1 g below 10 g, 1 g below 100 g, 5 g below 1 kg, 10 g below 10 kg, then 100 g; ml alike
US       mass: to 1/8 oz below 4 oz (to 0.01 oz below 1/4 oz), 1/4 oz below 1 lb, then pounds and 1/2 oz
         volume: to 1/8 tsp below 1 tsp, 1/4 tsp below 1 tbsp, 1/2 tbsp below 1/4 cup, 1/4 cup below
         1 quart, then quarts by 1/4
pieces   to a quarter below 10, then whole; whole packs and batches are counted elsewhere
"""

from __future__ import annotations

from fractions import Fraction
from math import ceil

from platecard.quantities.units import Quantity, shown, table

METRIC, US = "metric", "US"
# (below, step) in g or ml; common practice, without a source.
_METRIC = (
    (10, Fraction(1, 10)),
    (100, Fraction(1)),
    (1000, Fraction(5)),
    (10_000, Fraction(10)),
    (None, Fraction(100)),
)
_PARTS = {
    Fraction(0): "",
    Fraction(1, 8): "⅛",
    Fraction(1, 4): "¼",
    Fraction(3, 8): "⅜",
    Fraction(1, 2): "½",
    Fraction(5, 8): "⅝",
    Fraction(3, 4): "¾",
    Fraction(7, 8): "⅞",
}


def amount(kind: str, value: Fraction, system: str = METRIC, word: str = "", up: bool = False) -> str:
    """A mass (g), a volume (ml) or a count of ``word`` as a text; ``up`` rounds it up instead of to the nearest."""
    if kind == "count":
        step = Fraction(1, 4) if value < 10 else Fraction(1)
        number = _stepped(value, step, up)
        return f"{_mixed(number)} {plural(word or 'piece', number)}"
    if system == US:
        return _us_mass(value, up) if kind == "mass" else _us_volume(value, up)
    unit, large = ("g", "kg") if kind == "mass" else ("ml", "l")
    number = _stepped(value, next(s for below, s in _METRIC if below is None or value < below), up)
    return f"{shown(number / 1000, 2)} {large}" if number >= 1000 else f"{shown(number, 1)} {unit}"


def of(q: Quantity, factor: Fraction = Fraction(1), system: str = METRIC) -> str:
    """A written amount times ``factor``; a range stays a range, and "to taste" stays as it is."""
    if q.kind == "unmeasured":
        return q.text
    if factor == 1 and system == METRIC and q.unit in ("g", "kg", "ml", "l", "cl", "dl"):
        return q.text
    word = q.unit if q.kind == "count" else ""
    low, high = (amount(q.kind, v * factor, system, word) for v in (q.low, q.high))
    if low == high:
        return high
    number, _, unit = low.partition(" ")
    return f"{number} to {high}" if high.endswith(f" {unit}") or q.kind == "count" else f"{low} to {high}"


def plural(word: str, number: Fraction) -> str:
    """The counting word in the singular or plural, as the unit table has it, else with an s."""
    if number == 1 or 0 < number < 1:
        return word
    known = {"piece": "pieces", "dozen": "dozen", "each": "pieces"}
    return known.get(word) or next(
        (w for w, one in table().counts.items() if one == word and w != word and w not in ("pcs", "each")),
        f"{word}s" if word not in ("whole", "small", "medium", "large", "zest") else word,
    )


def percent(share: Fraction) -> str:
    """A share as a percentage."""
    return f"{shown(share * 100)} %"


def _stepped(value: Fraction, step: Fraction, up: bool) -> Fraction:
    if value <= 0:
        return Fraction(0)
    number = ceil(value / step) if up else int(value / step + Fraction(1, 2))
    return max(number, 1) * step


def _mixed(number: Fraction) -> str:
    whole, part = divmod(number, 1)
    mark = _PARTS.get(part)
    if mark is None:
        return shown(number, 2)
    return f"{int(whole) if whole or not mark else ''}{mark}"


def _us_mass(grams: Fraction, up: bool) -> str:
    ounce = table().words["oz"][2]
    ounces = grams / ounce
    if ounces < Fraction(1, 4):
        return f"{shown(_stepped(ounces, Fraction(1, 100), up), 2)} oz"
    if ounces < 16:
        number = _stepped(ounces, Fraction(1, 8) if ounces < 4 else Fraction(1, 4), up)
        return f"{_mixed(number)} oz" if number < 16 else "1 lb"
    pounds, rest = divmod(_stepped(ounces, Fraction(1, 2), up), 16)
    return f"{int(pounds)} lb" + (f" {_mixed(rest)} oz" if rest else "")


def _us_volume(ml: Fraction, up: bool) -> str:
    spoon, table_spoon, cup, quart = (table().words[w][2] for w in ("US tsp", "US tbsp", "US cup", "US quart"))
    for unit, size, below, step in (
        ("tsp", spoon, spoon, Fraction(1, 8)),
        ("tsp", spoon, table_spoon, Fraction(1, 4)),
        ("tbsp", table_spoon, cup / 4, Fraction(1, 2)),
        ("cup", cup, quart, Fraction(1, 4)),
        ("qt", quart, None, Fraction(1, 4)),
    ):
        if below is None or ml < below:
            # An amount that rounds to a full measure is given in the next larger one.
            number = _stepped(ml / size, step, up)
            if below is not None and number * size >= below:
                continue
            return f"{_mixed(number)} {unit}{'s' if unit == 'cup' and number > 1 else ''}"
    raise AssertionError("the last row has no limit")
