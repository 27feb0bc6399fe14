"""Yields: what is left after trimming, portioning, reducing and other losses.

In: exact fractions, or a recipe line and what it names.  Out: exact fractions.  Rounding
follows the trade: what is left is rounded down, what is bought is rounded up.  The
figures are in ``data/yields.yaml``, with their sources.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import ceil, floor
from typing import Literal, NamedTuple, TypedDict, cast

from platecard import packaged_tables
from platecard.model import RecipeLine, Supply
from platecard.recipes.resolved import What, entry_of


class YieldFigure(NamedTuple):
    """One yield as a share of 1, with the part it is about, its source, and how that source was read."""

    share: Fraction
    part: str
    source: str
    mark: str


class YieldTables(NamedTuple):
    """``data/yields.yaml``, by the names of the catalogue."""

    trim: dict[str, YieldFigure]
    cooked: dict[str, YieldFigure]
    fish: dict[str, dict[str, Fraction]]
    fish_source: dict[str, tuple[str, str]]
    untrimmed: frozenset[str]
    ready: frozenset[str]
    not_bought: frozenset[str]


_Row = TypedDict("_Row", {"yield": object, "part": str, "from": str, "source": str, "mark": str}, total=False)


class _Table(TypedDict):
    source: str
    mark: str
    rows: dict[str, _Row]


_FishRow = TypedDict(
    "_FishRow",
    {
        "gutted": str,
        "headed": str,
        "fillet": str,
        "skinless": str,
        "for": list[str],
        "source": str,
        "mark": str,
        "note": str,
    },
    total=False,
)
_FORMS: tuple[Literal["gutted", "headed", "fillet", "skinless"], ...] = ("gutted", "headed", "fillet", "skinless")


class _FishTable(TypedDict):
    source: str
    mark: str
    rows: dict[str, _FishRow]


class _Data(TypedDict):
    """The file as it is written."""

    trim: _Table
    cooked: _Table
    fish: _FishTable
    untrimmed: list[str]
    ready: list[str]
    not_bought: list[str]


@cache
def tables() -> YieldTables:
    """The tables, read once; ValueError where the file cannot be read."""
    data = cast(_Data, packaged_tables.values("yields"))

    def rows(table: _Table) -> dict[str, YieldFigure]:
        return {
            name: YieldFigure(
                Fraction(str(r["yield"])) / 100,
                str(r.get("part", r.get("from", ""))),
                r.get("source", table["source"]),
                r.get("mark", table["mark"]),
            )
            for name, r in table["rows"].items()
        }

    fish = data["fish"]
    of_fish = {name: row for group, row in fish["rows"].items() for name in (group, *row.get("for", ()))}
    factors = {
        name: {"whole": Fraction(1), **{k: Fraction(row[k]) for k in _FORMS if k in row}}
        for name, row in of_fish.items()
    }
    read = {name: (row.get("source", fish["source"]), row.get("mark", fish["mark"])) for name, row in of_fish.items()}
    return YieldTables(
        rows(data["trim"]),
        rows(data["cooked"]),
        factors,
        read,
        frozenset(data["untrimmed"]),
        frozenset(data["ready"]),
        frozenset(data["not_bought"]),
    )


# --------------------------------------------------------------------------- what a line loses


class Trim(NamedTuple):
    """What trimming leaves of one thing; ``share`` is None where it matters and is not stated."""

    share: Fraction | None
    source: str


WHOLE = Trim(Fraction(1), "")
NOT_KNOWN = Trim(None, "not known")


def trim_of(what: What, line: RecipeLine | None, supply: Supply | None) -> Trim:
    """The trim yield that applies: that of the line, else of the pantry, of the fish's form, or of the table.

    A food that needs no trimming (flour, oil) loses nothing; for one in a group of the
    catalogue that is trimmed (vegetables, fish) and without a figure it is not known.
    """
    if line is not None and line.trim_yield is not None:
        return Trim(line.trim_yield, "weighed as bought" if line.trim_yield == 1 else "the recipe")
    if supply is not None and supply.trim_yield is not None:
        return Trim(supply.trim_yield, "the pantry")
    entry = entry_of(what)
    name = entry.name if entry is not None else ""
    if supply is not None and supply.bought_as and supply.used_as:
        share = between(name, supply.bought_as, supply.used_as)
        return Trim(share, tables().fish_source[name][0]) if share is not None else NOT_KNOWN
    if row := tables().trim.get(name):
        return Trim(row.share, row.source)
    kind = entry.span.file.rsplit("/", 1)[-1].rsplit(".", 1)[0] if entry is not None else ""
    return (
        NOT_KNOWN
        if kind in tables().untrimmed and name not in tables().ready and not (entry is not None and entry.liquid)
        else WHOLE
    )


def between(fish: str, bought_as: str, used_as: str) -> Fraction | None:
    """The share of a fish bought in one form that is left in another; None where the table has no factor for it."""
    factors = tables().fish.get(fish, {})
    if bought_as not in factors or used_as not in factors:
        return None
    return min(factors[bought_as] / factors[used_as], Fraction(1))


def is_bought(what: What) -> bool:
    """Whether it is bought at all, unlike water from the tap."""
    entry = entry_of(what)
    return entry is None or entry.name not in tables().not_bought


# --------------------------------------------------------------------------- formulas


def portions(usable: Fraction, portion: Fraction) -> int:
    """The whole portions in what is left, rounded down."""
    return floor(usable / portion)


def batches(needed: Fraction, batch: Fraction) -> int:
    """The whole batches that cover what is needed, rounded up."""
    return ceil(needed / batch)


@dataclass(frozen=True, slots=True)
class Animals:
    """How many whole animals to buy for portions that cannot be joined, and how many are spare."""

    count: int
    portions_each: int
    spare: int


def whole(wanted: int, pieces: int, per_piece: int = 1) -> Animals:
    """The animals to buy for ``wanted`` portions, where each gives ``pieces`` of ``per_piece`` portions."""
    each = pieces * per_piece
    count = ceil(Fraction(wanted, each))
    return Animals(count, each, count * each - wanted)


def whole_by_weight(wanted: int, portion: Fraction, animal: Fraction, share: Fraction, pieces: int) -> Animals | None:
    """The same where a portion has a weight; None where one piece is lighter than one portion.

    ``animal`` weighs one animal as bought, of which ``share`` is left in ``pieces``.  Each piece gives the
    whole portions that it holds, and no two pieces are joined.
    """
    piece = animal * share / pieces
    each = floor(piece / portion)
    if each == 0:
        return None
    return whole(wanted, pieces, each)


class Balance(NamedTuple):
    """What goes into a batch and what comes out of it, in g; None where that is not known."""

    goes_in_g: Fraction | None
    comes_out_g: Fraction | None

    @property
    def share(self) -> Fraction | None:
        """What comes out as a share of what goes in."""
        return self.comes_out_g / self.goes_in_g if self.goes_in_g and self.comes_out_g is not None else None
