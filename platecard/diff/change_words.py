"""Words that several kinds of change share: a quotation, a ratio, amounts that look alike."""

from __future__ import annotations

from fractions import Fraction

from platecard.quantities.units import Quantity, shown
from platecard.service import rounding as amounts


def quoted(text: str | None) -> str:
    """The text in quotation marks, or ``nothing``."""
    return f"'{text}'" if text else "nothing"


def rounds_alike(a: Quantity, b: Quantity) -> bool:
    """Whether two amounts are the same to whoever weighs them."""
    if a.kind != b.kind or a.is_range != b.is_range:
        return False
    if a.kind in ("mass", "volume"):
        return all(
            amounts.amount(a.kind, x) == amounts.amount(b.kind, y) for x, y in ((a.low, b.low), (a.high, b.high))
        )
    return a.unit == b.unit and (a.low, a.high) == (b.low, b.high)


def percent(ratio: Fraction) -> str:
    """A ratio in words, such as ``20 % more`` or ``15 % less``; empty where it rounds to nothing."""
    change = shown(abs(ratio - 1) * 100, 0 if abs(ratio - 1) >= Fraction(1, 10) else 1)
    return "" if change == "0" else f"{change} % {'more' if ratio > 1 else 'less'}"
