"""What an amount, a temperature or a time can be at all: ``data/bounds.yaml``, read once.

In: the file.  Out: :class:`Bounds`.  A figure beyond these is a slip of the pen: an error
where it cannot be, a warning where it hardly is.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from platecard import yaml_nodes
from platecard.package_data import read_text


@dataclass(frozen=True, slots=True)
class Limit:
    """From where on a figure is doubted (a warning) and refused (an error), in base units; None: no such end."""

    refused_below: Fraction | None
    doubted_below: Fraction | None
    doubted_above: Fraction | None
    refused_above: Fraction | None
    says: str
    hint: str

    def verdict(self, low: Fraction, high: Fraction) -> str:
        """``refused``, ``doubted`` or nothing, of a figure or a range."""
        for verdict, least, most in (
            ("refused", self.refused_below, self.refused_above),
            ("doubted", self.doubted_below, self.doubted_above),
        ):
            if (least is not None and low < least) or (most is not None and high > most):
                return verdict
        return ""


@dataclass(frozen=True, slots=True)
class Bounds:
    """The bounds of the mass balance, as shares or in g, and the limits of single figures by name."""

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

    def heaviest_g(self, word: str) -> Fraction:
        """What one of a counting word weighs at most, in g."""
        return self.heaviest.get(word, self.heaviest["any"])


@cache
def bounds() -> Bounds:
    """The bounds, read once."""
    node, problems = yaml_nodes.parse(read_text("bounds.yaml"), "platecard/data/bounds.yaml")
    if problems:
        raise ValueError(str(problems[0]))
    data = yaml_nodes.plain(node)
    b = {key: Fraction(str(value)) for key, value in data["balance"].items()}
    ends = ("refused_below", "doubted_below", "doubted_above", "refused_above")
    limits = {
        key: Limit(*(Fraction(str(row[end])) if end in row else None for end in ends), row["says"], row["hint"])
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
    )
