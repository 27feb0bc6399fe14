"""Scaling a recipe up or down, and flagging what must not simply be multiplied.

In: a batch and a target.  Out: a factor, and a flag with its reason for every line that
does not scale in proportion.  The amounts themselves are never adjusted: the plain
multiple is shown beside its warning.
"""

from __future__ import annotations

from fractions import Fraction
from functools import cache
from typing import NamedTuple, TypedDict, cast

from platecard import packaged_tables
from platecard.knowledge import claims
from platecard.quantities import amounts
from platecard.quantities.units import Quantity
from platecard.recipes.resolved import Batch, Use, entry_of
from platecard.recipes.weights import measures_of
from platecard.service.yields import Balance

KINDS = ("seasoning", "leavening", "gelling", "thickening")


class ScalingRules(NamedTuple):
    """``data/scaling.yaml``: which names and files of the catalogue are of which kind, and what to say of each kind."""

    names: dict[str, str]
    files: dict[str, str]
    never: frozenset[str]
    why: dict[str, str]
    times: str


class _Data(TypedDict):
    """The file as it is written, without the tables of :data:`KINDS`."""

    kinds: dict[str, str]
    never: list[str]
    times: str


@cache
def rules() -> ScalingRules:
    """The rules, read once; ValueError where the file cannot be read."""
    plain = packaged_tables.values("scaling")
    data, kinds = cast(_Data, plain), cast(dict[str, dict[str, list[str]]], plain)
    names = {name: kind for kind in KINDS for name in kinds[kind].get("names", ())}
    files = {file: kind for kind in KINDS for file in kinds[kind].get("files", ())}
    return ScalingRules(names, files, frozenset(data["never"]), data["kinds"], data["times"])


class Flag(NamedTuple):
    """A line that does not scale in proportion: what it is called, its kind, and what to do about it."""

    called: str
    kind: str
    why: str


def flag_of(use: Use, called: str = "") -> Flag | None:
    """The flag of one line; None for a line that scales in proportion."""
    entry = entry_of(use.what)
    if entry is None or entry.name in rules().never:
        return None
    kind = rules().names.get(entry.name) or rules().files.get(entry.span.file.rsplit("/", 1)[-1].rsplit(".", 1)[0])
    return Flag(called or use.called, kind, rules().why[kind]) if kind else None


def flags(batch: Batch) -> tuple[Flag, ...]:
    """The flags of a recipe's lines, in their order, each name once."""
    found: dict[str, Flag] = {}
    for line, use in zip(batch.recipe.lines, batch.lines):
        if flag := flag_of(use, claims.in_full(line.source.name.replace("-", " "))):
            found.setdefault(flag.called, flag)
    return tuple(found.values())


def factor(portions: Fraction, size: Fraction, portions_before: Fraction, size_before: Fraction) -> Fraction:
    """The conversion factor of a recipe: what is wanted over what it makes now."""
    return portions * size / (portions_before * size_before)


def batches_for(batch: Batch, target: Quantity) -> Fraction | None:
    """How many batches make ``target``; None where it cannot be converted to the unit of the recipe."""
    return amounts.known_or_none(batches_in(batch, target.mean, amounts.unit_of(target)))


def batches_in(batch: Batch, value: Fraction, unit: str) -> amounts.Amount:
    """How many batches ``value`` of ``unit`` (g, ml or a counting word) comes to, or why that is not known."""
    made = batch.recipe.makes
    if made is None:
        return amounts.NotKnown(f"what {batch.recipe.called} makes is not known", "write what it makes")
    found = amounts.convert(value, unit, amounts.unit_of(made), measures_of(batch))
    return found if isinstance(found, amounts.NotKnown) else found / made.mean


def balance(batch: Batch) -> Balance:
    """What goes into one batch and what comes out of it, in g; an amount such as "to taste" counts as nothing."""
    kept = [
        use.kept_g
        for line, use in zip(batch.recipe.lines, batch.lines)
        if line.amount is None or line.amount.kind != "unmeasured"
    ]
    known = [grams for grams in kept if grams is not None]
    return Balance(sum(known, Fraction(0)) if len(known) == len(kept) else None, batch.mass_g)
