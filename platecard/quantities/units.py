"""Exact amounts as cooks write them.

``½ tsp``, ``1 1/2 oz``, ``2-3 sprigs``, ``45 x 20 mm`` and ``20 to 55 mm`` become
fractions in base units (g, ml, mm, degrees, s, °C).  Nothing is read as a float, and mass
and volume are never converted into one another here.  The factors are in
``data/units.yaml`` with their sources.  An amount written in two units
(``250 °F / 121 °C``) is checked against itself, and the first one counts.
"""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache, lru_cache
from typing import NamedTuple, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import listed, meant, nearest


class Quantity(NamedTuple):
    """An amount in base units; ``high`` differs from ``low`` for a range.

    ``kind`` is mass (in g), volume (ml), length (mm), angle (degrees), time (s), temperature (°C), share,
    count or unmeasured ("to taste"); ``unit`` is the unit as the table names it, or the counting word;
    ``text`` is what was written.
    """

    low: Fraction
    high: Fraction
    kind: str
    unit: str
    text: str

    @property
    def is_range(self) -> bool:
        """Whether it runs from one figure to another."""
        return self.low != self.high

    @property
    def mean(self) -> Fraction:
        """The middle of a range; the figure itself where there is no range."""
        return (self.low + self.high) / 2


class AmountError(ValueError):
    """A text is not an amount of the kind needed; the message says why, and ``hint`` what to write."""

    def __init__(self, message: str, hint: str = "", slug: str = "amount"):
        super().__init__(message)
        self.hint = hint
        self.slug = slug


class UnitTable(NamedTuple):
    """The units by word: ``words`` gives the kind, the unit's name and the factor to the base unit.

    ``lowered`` maps lower case to a word as written, ``counts`` a counting word to its singular, and
    ``ambiguous`` a word to the units that it may stand for, ``foreign`` a word of another language (in lower
    case) to the unit that messages offer in its place.
    """

    words: dict[str, tuple[str, str, Fraction]]
    lowered: dict[str, str]
    counts: dict[str, str]
    unmeasured: frozenset[str]
    ambiguous: dict[str, tuple[str, ...]]
    currencies: frozenset[str]
    foreign: dict[str, str]


class _UnitRow(TypedDict):
    factor: str | int
    words: list[str]


class _UnitsFile(TypedDict):
    """``data/units.yaml``."""

    mass: dict[str, _UnitRow]
    volume: dict[str, _UnitRow]
    length: dict[str, _UnitRow]
    angle: dict[str, _UnitRow]
    time: dict[str, _UnitRow]
    share: dict[str, _UnitRow]
    count: list[str]
    unmeasured: list[str]
    ambiguous: dict[str, list[str]]
    currency: list[str]
    foreign: dict[str, list[str]]


@cache
def table() -> UnitTable:
    """The units in ``data/units.yaml``, read once."""
    data = cast(_UnitsFile, packaged_tables.values("units"))
    words: dict[str, tuple[str, str, Fraction]] = {}
    kinds = {
        "mass": data["mass"],
        "volume": data["volume"],
        "length": data["length"],
        "angle": data["angle"],
        "time": data["time"],
        "share": data["share"],
    }
    for kind, units in kinds.items():
        for unit, row in units.items():
            for word in row["words"]:
                words[word] = (kind, unit, Fraction(row["factor"]))
    counts = {w: _singular(w) for w in data["count"]}
    # A single letter may differ in meaning by its case (t and T), so case only matters there.
    lowered = {w.lower(): w for w in words if len(w) > 1}
    return UnitTable(
        words,
        lowered,
        counts,
        frozenset(data["unmeasured"]),
        {k: tuple(v) for k, v in data["ambiguous"].items()},
        frozenset(data["currency"]),
        {word.lower(): unit for unit, words in data["foreign"].items() for word in words},
    )


def _singular(word: str) -> str:
    irregular = {
        "leaves": "leaf",
        "each": "piece",
        "pc": "piece",
        "pcs": "piece",
        "bunches": "bunch",
        "pinches": "pinch",
        "dashes": "dash",
    }
    if word in irregular:
        return irregular[word]
    return word[:-1] if word.endswith("s") else word


VULGAR = {
    "½": "1/2",
    "⅓": "1/3",
    "⅔": "2/3",
    "¼": "1/4",
    "¾": "3/4",
    "⅕": "1/5",
    "⅖": "2/5",
    "⅗": "3/5",
    "⅘": "4/5",
    "⅙": "1/6",
    "⅚": "5/6",
    "⅛": "1/8",
    "⅜": "3/8",
    "⅝": "5/8",
    "⅞": "7/8",
}
_VULGAR = re.compile(rf"\s*([{''.join(VULGAR)}])")
NUMBER = r"(?:\d{1,9}\s+\d{1,4}/\d{1,4}|\d{1,9}/\d{1,4}|\d{1,9}(?:\.\d{1,9})?)"
_AMOUNT = re.compile(rf"(-?)\s*({NUMBER})(?:\s*(?:-|–|to)\s*({NUMBER}))?\s*(.*)\Z", re.S)


def number(text: str) -> Fraction:
    """A figure, with or without a fraction (``1 1/2``), as an exact number; AmountError if it is none."""
    try:
        return sum((Fraction(part) for part in text.split()), Fraction(0))
    except ZeroDivisionError:
        raise AmountError(f"'{text}' divides by zero") from None


def spelt_out(text: str) -> str:
    """A text with its fraction signs as figures, ``×`` as x and plain blanks."""
    text = _VULGAR.sub(lambda m: f" {VULGAR[m.group(1)]}", text)
    return " ".join(text.replace("×", "x").replace("\u00a0", " ").split())


@lru_cache(maxsize=4096)  # a kitchen writes the same few amounts over and over
def quantity(text: object, *kinds: str) -> Quantity:
    """``text`` as a :class:`Quantity`, of one of ``kinds`` if any are given.

    Raises :class:`AmountError` with a sentence for the chef: for a missing, unknown or
    ambiguous unit, a negative amount, a range upside down, or another kind of amount.
    """
    written = str(text).strip()
    units = table()
    if written.lower() in units.unmeasured:
        result = Quantity(Fraction(0), Fraction(0), "unmeasured", written.lower(), written)
    elif twice := TWO_UNITS.fullmatch(written):
        result = agreeing(_measured(twice.group(1), units, kinds), _measured(twice.group(2), units, kinds), written)
    else:
        result = _measured(written, units, kinds)
    if kinds and result.kind not in kinds:
        wanted = " or ".join(kinds)
        raise AmountError(f"'{written}' is {_a(result.kind)}; {_a(wanted)} is needed here", _example(kinds))
    return result


def _a(kind: str) -> str:
    return (
        f"an {kind}"
        if kind[0] in "au" and kind != "unmeasured"
        else ("not measured" if kind == "unmeasured" else f"a {kind}")
    )


_EXAMPLES = {
    "mass": "12 g",
    "volume": "45 ml",
    "length": "30 mm",
    "angle": "15 deg",
    "time": "4 min",
    "share": "45 %",
    "count": "3 pieces",
    "unmeasured": "to taste",
}
# The units that a figure of each kind has most often.
_USUAL = {
    "mass": ("g", "kg"),
    "volume": ("ml", "l"),
    "length": ("mm", "cm"),
    "angle": ("deg",),
    "time": ("s", "min", "h", "days"),
    "share": ("%",),
    "count": ("pieces",),
}


def _example(kinds: tuple[str, ...]) -> str:
    shown = [_EXAMPLES[k] for k in kinds or ("mass", "volume", "length", "count") if k in _EXAMPLES]
    return f"write it as in {listed(shown, 'or')}"


def _with_unit(figure: str, kinds: tuple[str, ...]) -> str:
    """The hint for a figure without a unit: the figure itself with the units that it may have."""
    several = kinds or ("mass", "volume", "length", "count")
    most = 4 if len(several) == 1 else 1
    shown = [
        f"{figure} {u.removesuffix('s') if figure == '1' and len(u) > 1 else u}"
        for k in several
        for u in _USUAL.get(k, ())[:most]
    ]
    return f"write {listed(shown, 'or')}"


_APPROXIMATE = re.compile(
    r"(?:ca\.?|circa|about|approx\.?|approximately|around|roughly|etwa|env\.?|environ|~|ø|Ø)\s*(?=\d)", re.I
)


def _measured(written: str, units: UnitTable, kinds: tuple[str, ...] = ()) -> Quantity:
    """An amount or a range written in one unit, or a range with a unit at each end."""
    if re.match(r"\d+,\d", written):
        raise AmountError(f"'{written}' has a comma in its number", without_comma(written))
    match = _AMOUNT.match(spelt_out(written))
    if not match:
        about = _APPROXIMATE.match(written)
        hint = f"write {written[about.end() :]}" if about else _example(kinds)
        raise AmountError(f"'{written}' is not an amount", hint)
    minus, first, second, word = match.groups()
    if minus:
        raise AmountError(f"'{written}' is negative", "write it without the minus")
    low = number(first)
    high = number(second) if second else low
    if high < low:
        raise AmountError(f"'{written}' runs from the larger to the smaller", "write the smaller one first")
    word = word.strip()
    if not word:
        raise AmountError(f"'{written}' has no unit", _with_unit(written, kinds))
    if not second and (ends := _ENDS.fullmatch(word)):
        return _between(
            _measured(f"{first} {ends.group(1)}", units, kinds), _measured(ends.group(2), units, kinds), written
        )
    kind, unit, factor = _unit(word, written, units, kinds)
    if factor <= 1 and any(_PERHAPS_THOUSANDS.fullmatch(figure.strip()) for figure in (first, second or "")):
        raise AmountError(f"'{written}' can be read as thousands", _whichever(written))
    return Quantity(low * factor, high * factor, kind, unit, written)


# Three digits behind a point that may part thousands: no kitchen weighs to a thousandth of a gram.
_PERHAPS_THOUSANDS = re.compile(r"[1-9]\d{0,2}\.\d{3}")


def _whichever(written: str) -> str:
    """The hint for a figure of which nobody can tell whether its point parts thousands: both, written plainly."""

    def small(figure: re.Match[str]) -> str:
        bare = figure.group().rstrip("0").rstrip(".")
        return f"{figure.group()}0" if _PERHAPS_THOUSANDS.fullmatch(bare) else bare

    figures = re.compile(rf"(?<![\d.]){_PERHAPS_THOUSANDS.pattern}(?!\d)")
    large = figures.sub(lambda figure: figure.group().replace(".", ""), written)
    return f"write {figures.sub(small, written)} or {large}, whichever is meant"


def without_comma(written: str) -> str:
    """The hint for a figure with a comma: a decimal comma as a dot, a mark for thousands left out."""
    whole, rest = re.match(r"(\d+),(\d+)", written).groups()  # type: ignore[union-attr]
    tail = written[len(whole) + 1 + len(rest) :]
    if len(rest) == 3 and len(whole) <= 3 and whole != "0":
        return _whichever(f"{whole}.{rest}{tail}")
    return f"write {whole}.{rest}{tail}, with a dot"


# What follows the first number of a range with a unit at each end: "mm to 55 mm".
_ENDS = re.compile(r"(\S.*?)\s*(?:\bto\b|[-–])\s*(\d.*)")


def _between(low: Quantity, high: Quantity, written: str) -> Quantity:
    """A range from its two ends, which may be in different units: ``20 mm to 5 cm``."""
    if low.kind != high.kind:
        raise AmountError(
            f"'{written}' runs from {_a(low.kind)} to {_a(high.kind)}", "give both ends in units of one kind"
        )
    if high.low < low.high:
        raise AmountError(f"'{written}' runs from the larger to the smaller", "write the smaller one first")
    return Quantity(low.low, high.high, low.kind, low.unit, written)


def _unit(word: str, written: str, units: UnitTable, kinds: tuple[str, ...] = ()) -> tuple[str, str, Fraction]:
    """The kind, the name and the factor of the unit that ``word`` stands for."""
    if word in units.words:
        return units.words[word]
    if word in units.ambiguous:
        raise AmountError(f"'{word}' stands for two units", "write " + " or ".join(units.ambiguous[word]))
    if scoop := _SCOOP.fullmatch(word):
        return "volume", word.lower(), 32 * units.words["US fl oz"][2] / int(scoop.group(1))
    if word.lower() in units.lowered:
        return units.words[units.lowered[word.lower()]]
    if word.lower() in units.counts:
        # A dozen is twelve pieces, whatever is counted.
        return (
            ("count", "piece", Fraction(12))
            if word.lower() == "dozen"
            else ("count", units.counts[word.lower()], Fraction(1))
        )
    if word.lower() in units.foreign:
        raise AmountError(f"unknown unit '{word}' in '{written}'", f"write {units.foreign[word.lower()]}")
    of_kind = [w for w, (kind, *_) in units.words.items() if kind in kinds] if kinds else [*units.words]
    close = nearest(word, (*of_kind, *(units.counts if not kinds or "count" in kinds else ())))
    raise AmountError(f"unknown unit '{word}' in '{written}'", meant(close, _example(kinds)))


# A disher of number n holds an nth of a US quart (32 fl oz).
_SCOOP = re.compile(r"(?:scoops?|dishers?) no\.? ?([1-9]\d{0,2})", re.I)
TWO_UNITS = re.compile(r"\s*(.*?\S)\s*(?:\s/\s|\s=\s|\((?=[^()]*\)\Z))\s*([^()]*?)\)?\s*", re.S)


def agreeing(first: Quantity, second: Quantity, written: str) -> Quantity:
    """The first of two amounts, if the second agrees with it; else an error with a slug of its own."""
    if first.kind != second.kind:
        raise AmountError(
            f"'{written}' is {_a(first.kind)} and {_a(second.kind)}, which cannot be checked against each other",
            "write one of the two",
            "two-units-disagree",
        )
    if any(not _same(a, b, first, second) for a, b in ((first.low, second.low), (first.high, second.high))):
        raise AmountError(
            f"'{written}' disagrees with itself: {first.text} is {_in_unit_of(first.mean, second)}",
            "correct one of the two, or keep only the one that was meant",
            "two-units-disagree",
        )
    return Quantity(first.low, first.high, first.kind, first.unit, written)


def _same(a: Fraction, b: Fraction, first: Quantity, second: Quantity) -> bool:
    """Whether one of two figures is the other one rounded, as coarsely as its last digit shows.

    Except for temperatures they may also differ by 3 % at most, so that "2 lb / 1 kg" is no rounding.
    """
    if first.kind != "temperature" and abs(a - b) > max(a, b) * Fraction(3, 100):
        return False
    return any(abs(a - b) <= _step(q) / 2 for q in (first, second))


def _step(q: Quantity) -> Fraction:
    """How coarsely ``q`` was written, in base units: the value of its last digit.

    A whole number that ends in 0 or 5 may have been rounded more coarsely: from 100 °C on (an
    oven's dial) to 5, in °C also to 10; any other amount to 5 from 50, to 10 from 100, to 50 from 1000.
    """
    figure = re.findall(r"\d+(?:\.\d+)?(?!\d*/)(?=[^\d/]*\Z)|\d+/\d+(?=\D*\Z)", spelt_out(q.text))[-1]
    if "/" in figure:
        return Fraction(0)
    unit = table().words[q.unit][2] if q.unit in table().words else Fraction(1)
    decimals = len(figure.partition(".")[2])
    if decimals:
        return Fraction(1, 10**decimals) * unit
    number = int(figure)
    if q.kind == "temperature":
        coarse = 1 if q.high < 100 else 10 if q.unit == "°C" and number % 10 == 0 else 5 if number % 5 == 0 else 1
        return coarse * (unit if q.unit == "°C" else Fraction(5, 9))
    return unit * next((s for s, least in ((50, 1000), (10, 100), (5, 50)) if number >= least and number % s == 0), 1)


def _in_unit_of(value: Fraction, q: Quantity) -> str:
    if q.unit == "°F":
        return f"{shown(value * 9 / 5 + 32)} °F"
    factor = table().words[q.unit][2] if q.unit in table().words else Fraction(1)
    return f"{shown(value / factor, 2)} {q.unit}"


_SIZE = re.compile(r"(.+?)\s*x\s*(.+?)(?:\s*x\s*(.+))?\Z", re.S)


def size_mm(text: object) -> tuple[Fraction, ...]:
    """``22 mm``, ``45 x 20 mm`` or ``45 x 20 x 6 mm`` in mm, in the order written.

    The unit may be given once, at the end, or with each number.
    """
    written = spelt_out(str(text).strip())
    match = _SIZE.match(written)
    if star := re.search(r"(?<=[\d\s])\*(?=\s*\d)", written):
        raise AmountError(
            f"'{text}' is not a size", f"write {written[: star.start()].strip()} x {written[star.end() :].strip()}"
        )
    parts = [p for p in match.groups() if p] if match else [written]
    unit = re.search(r"[^\d\s./x]+\s*\Z", parts[-1])
    if not unit:
        raise AmountError(
            f"'{text}' has no unit",
            f"write {text} mm" if text and str(text)[-1:].isdigit() else "write it as in 45 x 20 mm",
        )
    sizes = []
    for part in parts:
        if re.fullmatch(NUMBER, part):
            part = f"{part} {unit.group()}"
        sizes.append(quantity(part, "length").mean)
    return tuple(sizes)


def shown(value: Fraction | float, digits: int = 1) -> str:
    """A number as people write it: at most ``digits`` decimals, and no trailing zeros."""
    text = f"{float(value):.{digits}f}"
    return text.rstrip("0").rstrip(".") if "." in text else text
