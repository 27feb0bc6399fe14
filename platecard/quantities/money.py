"""Prices: amounts of money in one currency, and the amount of food that they buy."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import NamedTuple

from platecard.diagnostics import nearest
from platecard.quantities.units import VULGAR, AmountError, Quantity, quantity, table


class Money(NamedTuple):
    """An amount of money in one currency (ISO 4217 code); currencies are never converted or added up."""

    amount: Fraction
    currency: str
    text: str = ""


_MONEY = re.compile(r"(-?)\s*(\d{1,9}(?:\.\d{1,6})?)\s*(.*?)\s*\Z", re.S)


def money(text: object) -> Money:
    """An amount of money such as ``4.20 EUR``.

    Raises :class:`AmountError` for a bare number, and for a sign that several currencies share.
    """
    written = str(text).strip()
    if re.match(r"\d+,\d", written):
        raise AmountError(f"'{written}' has a comma in its number", "use a dot for decimals and no mark for thousands")
    match = _MONEY.match(written)
    if not match:
        raise AmountError(f"'{written}' is not a price", "for example 4.20 EUR")
    minus, number, code = match.groups()
    if minus:
        raise AmountError(f"'{written}' is negative", "write it without the minus")
    if not code:
        raise AmountError(f"'{written}' has no currency", f"for example {number} EUR", "no-currency")
    if code not in table().currencies:
        close = nearest(code, table().currencies)
        raise AmountError(
            f"unknown currency '{code}' in '{written}'",
            f"did you mean {' or '.join(close)}?" if close else "write its three letters, as in 4.20 EUR",
        )
    return Money(Fraction(number), code, written)


def price(text: object) -> tuple[Money, Quantity | None]:
    """A price and the amount that it buys: ``4.20 EUR / kg``, ``4.20 EUR per 250 g``; no amount for ``4.20 EUR``."""
    written = str(text).strip()
    head, mark, tail = re.sub(r"\s+(?:per|a|for)\s+", " / ", written).partition("/")
    if not mark:
        return money(head), None
    per = tail.strip()
    return money(head), quantity(
        per if per[:1].isdigit() or per[:1] in VULGAR else f"1 {per}", "mass", "volume", "count"
    )
