"""The bounds of plausible amounts, temperatures and times, from ``data/bounds.yaml``.

A figure beyond them is a slip of the pen: an error if it is impossible, a warning if it
is unlikely.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import NamedTuple, Required, TypedDict, cast

from platecard import packaged_tables


class Limit(NamedTuple):
    """Where a figure begins to be doubted (a warning) and refused (an error), in base units.

    An end is None if there is no such limit.
    """

    refused_below: Fraction | None
    doubted_below: Fraction | None
    doubted_above: Fraction | None
    refused_above: Fraction | None
    says: str
    hint: str

    def verdict(self, low: Fraction, high: Fraction) -> str:
        """``refused``, ``doubted`` or an empty string, for a range (or a figure, given as both its ends)."""
        for verdict, least, most in (
            ("refused", self.refused_below, self.refused_above),
            ("doubted", self.doubted_below, self.doubted_above),
        ):
            if (least is not None and low < least) or (most is not None and high > most):
                return verdict
        return ""


class Bounds(NamedTuple):
    """The bounds of the mass balance (ratios, or g) and the limits of single figures, by name."""

    slack: Fraction
    takes_up: Fraction
    takes_up_at_all: Fraction
    unmeasured: Fraction
    unmeasured_liquid: Fraction
    unmeasured_least_g: Fraction
    heaviest_ml_g: Fraction
    far_more: Fraction
    boils_down: Fraction
    heaviest: dict[str, Fraction]
    limits: dict[str, Limit]
    first_year: int
    last_year: int
    label_years: int

    def heaviest_g(self, word: str) -> Fraction:
        """The most that one of a counting word can weigh, in g."""
        return self.heaviest.get(word, self.heaviest["any"])


class _LimitRow(TypedDict, total=False):
    refused_below: float | str
    doubted_below: float | str
    doubted_above: float | str
    refused_above: float | str
    says: Required[str]
    hint: Required[str]


class _BoundsFile(TypedDict):
    """``data/bounds.yaml``."""

    balance: dict[str, float | str]
    heaviest: dict[str, float | str]
    limits: dict[str, _LimitRow]
    years: dict[str, int]


@cache
def bounds() -> Bounds:
    """The bounds in ``data/bounds.yaml``, read once."""
    data = cast(_BoundsFile, packaged_tables.values("bounds"))
    b = {key: Fraction(str(value)) for key, value in data["balance"].items()}
    limits = {
        key: Limit(
            _fraction(row.get("refused_below")),
            _fraction(row.get("doubted_below")),
            _fraction(row.get("doubted_above")),
            _fraction(row.get("refused_above")),
            row["says"],
            row["hint"],
        )
        for key, row in data["limits"].items()
    }
    years = data["years"]
    return Bounds(
        b["slack"],
        b["takes_up"],
        b["takes_up_at_all"],
        b["unmeasured"],
        b["unmeasured_liquid"],
        b["unmeasured_least_g"],
        b["heaviest_ml_g"],
        b["far_more"],
        b["boils_down"],
        {word: Fraction(str(g)) for word, g in data["heaviest"].items()},
        limits,
        int(years["first"]),
        int(years["last"]),
        int(years["label"]),
    )


def _fraction(value: float | str | None) -> Fraction | None:
    return None if value is None else Fraction(str(value))
