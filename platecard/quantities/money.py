"""Prices: amounts of money in one currency, and the amount of food that they buy."""

from __future__ import annotations

import re
from fractions import Fraction
from typing import NamedTuple

from platecard.diagnostics import nearest
from platecard.quantities.units import VULGAR, AmountError, Quantity, quantity, table, without_comma


class Money(NamedTuple):
    """An amount of money in one currency (ISO 4217 code); currencies are never converted or added up."""

    amount: Fraction
    currency: str
    text: str = ""


# Signs of one currency; a sign that several share is asked about.
_SIGNS = {"€": "EUR", "£": "GBP"}
_MONEY = re.compile(r"(-?)\s*(\d{1,9}(?:\.\d{1,6})?)\s*(.*?)\s*\Z", re.S)


def money(text: object) -> Money:
    """An amount of money such as ``4.20 EUR``.

    Raises :class:`AmountError` for a bare number, and for a sign that several currencies share.
    """
    written = str(text).strip()
    if re.match(r"\d+,\d", written):
        raise AmountError(f"'{written}' has a comma in its number", without_comma(written))
    match = _MONEY.match(written)
    if not match:
        figure = re.search(r"\d+(?:[.,]\d+)?", written)
        currency = next((_SIGNS[c] for c in written if c in _SIGNS), "EUR")
        raise AmountError(
            f"'{written}' is not a price",
            f"write {figure.group().replace(',', '.')} {currency}" if figure else "write it as in 4.20 EUR",
        )
    minus, number, code = match.groups()
    if minus:
        raise AmountError(f"'{written}' is negative", "write it without the minus")
    if not code:
        raise AmountError(f"'{written}' has no currency", f"write it, as in {number} EUR", "no-currency")
    if code not in table().currencies:
        close = nearest(code, table().currencies)
        raise AmountError(
            f"unknown currency '{code}' in '{written}'",
            f"write {number} {_SIGNS[code]}"
            if code in _SIGNS
            else f"did you mean {' or '.join(close)}?"
            if close
            else f"write its three letters, as in {number} EUR",
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
