"""Exact amounts as cooks write them.

``½ tsp``, ``1 1/2 oz``, ``2-3 sprigs``, ``45 x 20 mm`` and ``20 to 55 mm`` become
fractions in base units (g, ml, mm, degrees, seconds).  There are no floats here,
and mass and volume never turn into one another without a density.  The factors
stand in ``data/units.yaml`` with their sources.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from . import nodes
from .packaged import read_text
from .problems import nearest

BASE = {"mass": "g", "volume": "ml", "length": "mm", "angle": "°", "time": "s", "share": "", "count": ""}


@dataclass(frozen=True, slots=True)
class Quantity:
    """An amount in base units; ``high`` differs from ``low`` for a range.

    ``kind`` is mass, volume, length, angle, time, share, count or unmeasured;
    ``unit`` is the unit as named in the table or the counting word; ``text`` is
    what was written.
    """

    low: Fraction
    high: Fraction
    kind: str
    unit: str
    text: str

    @property
    def is_range(self) -> bool:
        return self.low != self.high

    @property
    def mean(self) -> Fraction:
        return (self.low + self.high) / 2


class AmountError(ValueError):
    """The text is no amount; the message says why and ``hint`` what to write."""

    def __init__(self, message: str, hint: str = ""):
        super().__init__(message)
        self.hint = hint


@dataclass(frozen=True, slots=True)
class Table:
    """The unit table: word → (kind, unit, factor to the base unit)."""

    words: dict[str, tuple[str, str, Fraction]]
    lowered: dict[str, str]
    counts: dict[str, str]
    unmeasured: frozenset[str]
    ambiguous: dict[str, tuple[str, ...]]


@cache
def table() -> Table:
    """The table in ``data/units.yaml``, read once."""
    node, problems = nodes.parse(read_text("units.yaml"), "platecard/data/units.yaml")
    if problems:
        raise ValueError(str(problems[0]))
    data = nodes.plain(node)
    words: dict[str, tuple[str, str, Fraction]] = {}
    for kind in ("mass", "volume", "length", "angle", "time", "share"):
        for unit, row in data[kind].items():
            for word in row["words"]:
                words[word] = (kind, unit, Fraction(row["factor"]))
    counts = {w: _singular(w) for w in data["count"]}
    # One letter alone may differ by its case (t and T), so case is forgiven from two letters on.
    lowered = {w.lower(): w for w in words if len(w) > 1}
    return Table(words, lowered, counts, frozenset(data["unmeasured"]), {k: tuple(v) for k, v in data["ambiguous"].items()})


def _singular(word: str) -> str:
    irregular = {"leaves": "leaf", "each": "piece", "pc": "piece", "pcs": "piece", "bunches": "bunch", "pinches": "pinch", "dashes": "dash"}
    if word in irregular:
        return irregular[word]
    return word[:-1] if word.endswith("s") else word


_VULGAR = {"½": "1/2", "⅓": "1/3", "⅔": "2/3", "¼": "1/4", "¾": "3/4", "⅕": "1/5", "⅖": "2/5", "⅗": "3/5", "⅘": "4/5",
           "⅙": "1/6", "⅚": "5/6", "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8"}
_ONE = r"(?:\d{1,9}\s+\d{1,4}/\d{1,4}|\d{1,9}/\d{1,4}|\d{1,9}(?:\.\d{1,9})?)"
_AMOUNT = re.compile(rf"(-?)\s*({_ONE})(?:\s*(?:-|–|to)\s*({_ONE}))?\s*(.*)\Z", re.S)


def _number(text: str) -> Fraction:
    try:
        return sum((Fraction(part) for part in text.split()), Fraction(0))
    except ZeroDivisionError:
        raise AmountError(f"'{text}' divides by zero") from None


def _spelt_out(text: str) -> str:
    if not text.isascii():
        text = re.sub(f"\\s*([{''.join(_VULGAR)}])", lambda m: f" {_VULGAR[m.group(1)]}", text)
    return " ".join(text.replace("×", "x").replace("\u00a0", " ").split())


def quantity(text: object, *kinds: str) -> Quantity:
    """``text`` as a :class:`Quantity`, of one of ``kinds`` if any are given.

    Raises :class:`AmountError` with a sentence for the chef: no unit, a unit
    nobody knows, one that stands for two, a negative amount, a range upside down.
    """
    written = str(text).strip()
    units = table()
    if written.lower() in units.unmeasured:
        result = Quantity(Fraction(0), Fraction(0), "unmeasured", written.lower(), written)
    else:
        result = _measured(written, units)
    if kinds and result.kind not in kinds:
        wanted = " or ".join(kinds)
        raise AmountError(f"'{written}' is {_a(result.kind)}; {_a(wanted)} is needed here", _example(kinds))
    return result


def _a(kind: str) -> str:
    return f"an {kind}" if kind[0] in "au" and kind != "unmeasured" else ("not measured" if kind == "unmeasured" else f"a {kind}")


_EXAMPLES = {"mass": "12 g", "volume": "45 ml", "length": "30 mm", "angle": "15 deg", "time": "4 min", "share": "45 %", "count": "3 pieces"}


def _example(kinds: tuple[str, ...]) -> str:
    return "for example " + " or ".join(_EXAMPLES[k] for k in kinds if k in _EXAMPLES)


def _measured(written: str, units: Table) -> Quantity:
    if re.match(r"\d+,\d", written):
        raise AmountError(f"'{written}' has a comma in its number", "write the decimal point as a dot, and thousands without a mark")
    match = _AMOUNT.match(_spelt_out(written))
    if not match:
        raise AmountError(f"'{written}' is not an amount", "for example 12 g, 45 ml, ½ tsp or 2-3 sprigs")
    minus, first, second, word = match.groups()
    if minus:
        raise AmountError(f"'{written}' is negative")
    low = _number(first)
    high = _number(second) if second else low
    if high < low:
        raise AmountError(f"'{written}' runs from the larger to the smaller", "write the smaller one first")
    word = word.strip()
    if not word:
        raise AmountError(f"'{written}' has no unit", "for example 12 g, 45 ml, 30 mm or 3 pieces")
    kind, unit, factor = _unit(word, written, units)
    return Quantity(low * factor, high * factor, kind, unit, written)


def _unit(word: str, written: str, units: Table) -> tuple[str, str, Fraction]:
    if word in units.words:
        return units.words[word]
    if word in units.ambiguous:
        raise AmountError(f"'{word}' stands for two units", "write " + " or ".join(units.ambiguous[word]))
    if word.lower() in units.lowered:
        return units.words[units.lowered[word.lower()]]
    if word.lower() in units.counts:
        return "count", units.counts[word.lower()], Fraction(12 if word.lower() == "dozen" else 1)
    close = nearest(word, (*units.words, *units.counts))
    raise AmountError(f"nobody knows the unit '{word}' in '{written}'", f"did you mean {' or '.join(repr(c) for c in close)}?" if close else "")


_SIZE = re.compile(r"(.+?)\s*x\s*(.+?)(?:\s*x\s*(.+))?\Z", re.S)


def size_mm(text: object) -> tuple[Fraction, ...]:
    """``22 mm`` or ``45 x 20 mm`` or ``45 x 20 x 6 mm`` as millimetres, in the order written.

    A unit may stand once, at the end, or with each number.
    """
    written = _spelt_out(str(text).strip())
    match = _SIZE.match(written)
    parts = [p for p in match.groups() if p] if match else [written]
    unit = re.search(r"[^\d\s./x]+\s*\Z", parts[-1])
    if not unit:
        raise AmountError(f"'{text}' has no unit", "for example 45 x 20 mm")
    sizes = []
    for part in parts:
        if re.fullmatch(_ONE, part):
            part = f"{part} {unit.group()}"
        sizes.append(quantity(part, "length").mean)
    return tuple(sizes)


def span_mm(text: object) -> tuple[Quantity, Quantity]:
    """``20 to 55 mm`` (or ``20 to 55 %``) as its two ends."""
    q = quantity(text, "length", "share")
    return (Quantity(q.low, q.low, q.kind, q.unit, q.text), Quantity(q.high, q.high, q.kind, q.unit, q.text))


_CLOCK = re.compile(r"(\d{1,2})(?::(\d{2}))?(?:\s*o'clock)?\Z")


def clock_degrees(text: object) -> Fraction:
    """A clock position as degrees clockwise from 12, which is away from the guest.

    ``2:30`` is 75°, ``6:00`` is nearest the guest (180°).  Raises
    :class:`AmountError` for anything else, ``13:00`` and ``2:75`` included.
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


def shown(value: Fraction | float, digits: int = 1) -> str:
    """A number for people: no trailing zeros, at most ``digits`` decimals."""
    text = f"{float(value):.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text


def grams(q: Quantity, density: Fraction | None = None, piece_g: Fraction | None = None) -> Fraction | None:
    """The mean mass in g, or None where no density or piece weight is known."""
    if q.kind == "mass":
        return q.mean
    if q.kind == "volume" and density is not None:
        return q.mean * density
    if q.kind == "count" and piece_g is not None:
        return q.mean * piece_g
    return None
