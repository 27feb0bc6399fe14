"""What is left of what was bought: trimming, cutting into portions, reducing, losing.

In: exact fractions, or a line with what it names.  Out: exact fractions.  Rounding
follows the trade: what is left is rounded down, what is bought is rounded up.  The
figures stand in ``data/yields.yaml`` with their sources.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from math import ceil, floor

from platecard import yaml_nodes
from platecard.knowledge.catalogue import Entry
from platecard.model.nouns import RecipeLine, Supply
from platecard.package_data import read_text
from platecard.recipes.resolve import Bought, What


@dataclass(frozen=True, slots=True)
class Row:
    """One figure of the tables: a share of one, the part it is about, its source and how that was read."""

    share: Fraction
    part: str
    source: str
    mark: str


@dataclass(frozen=True, slots=True)
class Tables:
    """``data/yields.yaml``, by the catalogue's names."""

    trim: dict[str, Row]
    cooked: dict[str, Row]
    fish: dict[str, dict[str, Fraction]]
    fish_source: dict[str, tuple[str, str]]
    untrimmed: frozenset[str]
    ready: frozenset[str]
    not_bought: frozenset[str]


@cache
def tables() -> Tables:
    """The tables, read once."""
    node, problems = yaml_nodes.parse(read_text("yields.yaml"), "platecard/data/yields.yaml")
    if problems:
        raise ValueError(str(problems[0]))
    data = yaml_nodes.plain(node)

    def rows(table: dict) -> dict[str, Row]:
        return {
            name: Row(
                Fraction(str(r["yield"])) / 100,
                str(r.get("part", r.get("from", ""))),
                r.get("source", table["source"]),
                r.get("mark", table["mark"]),
            )
            for name, r in table["rows"].items()
        }

    fish = data["fish"]
    factors = {
        name: {"whole": Fraction(1), **{k: Fraction(v) for k, v in row.items() if k not in ("source", "mark", "note")}}
        for name, row in fish["rows"].items()
    }
    read = {
        name: (row.get("source", fish["source"]), row.get("mark", fish["mark"])) for name, row in fish["rows"].items()
    }
    return Tables(
        rows(data["trim"]),
        rows(data["cooked"]),
        factors,
        read,
        frozenset(data["untrimmed"]),
        frozenset(data["ready"]),
        frozenset(data["not_bought"]),
    )


# --------------------------------------------------------------------------- what a line loses


@dataclass(frozen=True, slots=True)
class Trim:
    """What trimming leaves of one thing.  ``share`` None: nobody has said, and it matters."""

    share: Fraction | None
    source: str


WHOLE = Trim(Fraction(1), "")
NOT_KNOWN = Trim(None, "not known")


def entry_of(what: What) -> Entry | None:
    """The catalogue entry that a thing is, where it is one."""
    return what.entry if isinstance(what, Bought) else what if isinstance(what, Entry) else None


def trim_of(what: What, line: RecipeLine | None, supply: Supply | None) -> Trim:
    """The trim yield that holds here: the line's own, the pantry's, the fish's by form, the table's.

    What needs no trimming (flour, oil) loses nothing; what stands among the untrimmed
    kinds of the catalogue without a figure is not known.
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
    """The share of a fish bought in one form that is left in another; None where a factor is not in the table."""
    factors = tables().fish.get(fish, {})
    if bought_as not in factors or used_as not in factors:
        return None
    return min(factors[bought_as] / factors[used_as], Fraction(1))


def is_bought(what: What) -> bool:
    """Whether it is bought at all: water comes from the tap."""
    entry = entry_of(what)
    return entry is None or entry.name not in tables().not_bought


# --------------------------------------------------------------------------- formulas


def share_left(bought: Fraction, left: Fraction, takes_up_water: bool = False) -> Fraction:
    """The yield of a test: left over bought.  ValueError for none, and for more than all without water."""
    if bought <= 0 or left <= 0:
        raise ValueError("a yield of nothing")
    if left > bought and not takes_up_water:
        raise ValueError("more is left than was bought, and no water was taken up")
    return left / bought


def to_buy(needed: Fraction, *shares: Fraction) -> Fraction:
    """What must be bought so that ``needed`` is left after each of the yields in turn."""
    for share in shares:
        if share <= 0:
            raise ValueError("a yield of nothing")
        needed = needed / share
    return needed


def portions(usable: Fraction, portion: Fraction) -> int:
    """Whole portions in what is left; a portion is never rounded up into being."""
    return floor(usable / portion)


def batches(needed: Fraction, batch: Fraction) -> int:
    """Whole batches that cover what is needed."""
    return ceil(needed / batch)


@dataclass(frozen=True, slots=True)
class Animals:
    """How many whole pieces to buy for portions that cannot be joined, and what is over."""

    count: int
    portions_each: int
    spare: int
    offcut: Fraction | None = None


def whole(wanted: int, pieces: int, per_piece: int = 1) -> Animals:
    """``wanted`` portions from animals that give ``pieces`` of ``per_piece`` portions each."""
    each = pieces * per_piece
    count = ceil(Fraction(wanted, each))
    return Animals(count, each, count * each - wanted)


def whole_by_weight(wanted: int, portion: Fraction, animal: Fraction, share: Fraction, pieces: int) -> Animals | None:
    """The same where a portion has a weight: each piece gives the whole portions that it holds, and no two pieces are
    joined.

    None where one piece is lighter than one portion.
    """
    piece = animal * share / pieces
    each = floor(piece / portion)
    if each == 0:
        return None
    found = whole(wanted, pieces, each)
    return Animals(found.count, found.portions_each, found.spare, piece - each * portion)


def reduced(mass: Fraction, share: Fraction, share_after: Fraction) -> tuple[Fraction, Fraction]:
    """What is left of ``mass`` when a dissolved ``share`` is boiled down to ``share_after``, and the water that went."""
    left = mass * share / share_after
    return left, mass - left


@dataclass(frozen=True, slots=True)
class Balance:
    """What goes into a batch against what comes out.  None: not known."""

    goes_in_g: Fraction | None
    comes_out_g: Fraction | None

    @property
    def share(self) -> Fraction | None:
        return self.comes_out_g / self.goes_in_g if self.goes_in_g and self.comes_out_g is not None else None

    @property
    def lost_g(self) -> Fraction | None:
        return (
            self.goes_in_g - self.comes_out_g if self.goes_in_g is not None and self.comes_out_g is not None else None
        )
