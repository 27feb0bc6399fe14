"""Sulphites by arithmetic: unlike every other allergen they are declared by concentration.

The upper bound of the sulphur dioxide in each ingredient times its mass, over the mass as
served, for the plate and for each component.  Nothing is taken off for what cooking drives
out; reduction concentrates, because the finished batch weighs less than what went in.  An
amount given as a range counts with its upper end.  A missing figure means that sulphites
are declared, and so does a recipe whose stated yield its ingredients cannot account for.
"""

from __future__ import annotations

from collections.abc import Mapping
from fractions import Fraction
from types import MappingProxyType
from typing import NamedTuple

from platecard.allergens.labels.parts import ReadLabel
from platecard.knowledge.taxonomy import SULPHITE, Taxonomy
from platecard.recipes.resolved import Batch, Bought, Resolved, Use, What, entry_of

Texts = Mapping[str, ReadLabel]


class Load(NamedTuple):
    """The sulphur dioxide that one ingredient brings, in mg; None where a figure is missing.

    ``by_ceiling``: the figure is the most that the law of the European Union lets such a food hold, no maker's own.
    """

    called: str
    mg: Fraction | None
    missing: str = ""
    natural: bool = False
    by_ceiling: bool = False


class Sum(NamedTuple):
    """The arithmetic for the plate or for one component; ``mass_g`` is the mass as served, None where unknown."""

    where: str
    loads: tuple[Load, ...]
    mass_g: Fraction | None

    def counted(self, only_added: bool) -> tuple[Load, ...]:
        """The loads that count; with ``only_added`` those that are natural do not."""
        return tuple(x for x in self.loads if not (only_added and x.natural))

    def level(self, only_added: bool = False, ceilings: bool = True) -> Fraction | None:
        """mg/kg as served; None where a figure is missing, and without ``ceilings`` where one is only that."""
        loads = self.counted(only_added)
        if not loads:
            return Fraction(0)
        known = [x.mg for x in loads if x.mg is not None and (ceilings or not x.by_ceiling)]
        if not self.mass_g or len(known) < len(loads):
            return None
        return sum(known, Fraction(0)) * 1000 / self.mass_g

    def in_words(self, only_added: bool = False, ceilings: bool = True) -> str:
        """The arithmetic as a cook can follow it."""
        loads = self.counted(only_added)
        level = self.level(only_added, ceilings)
        if level is None or self.mass_g is None:
            no_ceiling = "how much sulphite it holds is not on a label, and this law sets it no ceiling on file"
            gaps = [
                f"{x.called}: {x.missing if x.mg is None else no_ceiling}"
                for x in loads
                if x.mg is None or (x.by_ceiling and not ceilings)
            ] or ["the mass as served is not known"]
            return f"{self.where}: figures missing ({'; '.join(gaps)}), so sulphites are declared"
        terms = " + ".join(f"{_number(x.mg)} mg from {x.called}" for x in loads if x.mg is not None)
        return f"{self.where}: {terms} in {_number(self.mass_g)} g as served = {_number(level)} mg/kg"


def _number(value: Fraction) -> str:
    """Four significant figures, for reading; the limit itself is tested on fractions."""
    return f"{float(value):.4g}"


def sums(
    resolved: Resolved,
    taxonomy: Taxonomy,
    texts: Texts = MappingProxyType({}),
    uncapped: frozenset[str] = frozenset(),
) -> tuple[Sum, ...]:
    """The plate's sum first, then that of each component; only where sulphites are present.

    ``texts`` are the ingredient texts of labels, by product: what they name is present, whatever the lists say.
    ``uncapped`` are the products that no law's ceiling binds, so that only their own figure counts.
    """
    summing = _Summing(taxonomy, texts, uncapped)
    found: list[Sum] = []
    everything: list[Load] = []
    served = [p.use.kept_g for p in resolved.parts]
    for part in resolved.parts:
        loads = summing.of_use(part.use)
        if loads:
            found.append(Sum(part.component.called, loads, part.use.kept_g))
            everything += loads
    if not found:
        return ()
    # An unknown mass is left out of the divisor, which can only raise the level.
    total = sum((g for g in served if g is not None), Fraction(0))
    return (Sum("the plate", tuple(everything), total or None), *found)


class _Figure(NamedTuple):
    """The upper bound in mg/kg, whether sulphites are present at all and are natural, and whose bound it is."""

    mg_kg: Fraction | None = None
    present: bool = False
    natural: bool = False
    by_ceiling: bool = False


class _Summing:
    """Adds up what is in the parts of one dish; each batch is added up once."""

    def __init__(self, taxonomy: Taxonomy, texts: Texts, uncapped: frozenset[str]):
        self.taxonomy, self.texts, self.uncapped = taxonomy, texts, uncapped
        self._batches: dict[str, tuple[Load, ...]] = {}

    def of_use(self, use: Use) -> tuple[Load, ...]:
        what = use.what
        if isinstance(what, Batch):
            doubt = what.doubt or use.doubt
            share = None if use.share is None or doubt else use.share * use.most
            return tuple(
                _scaled(load, share, doubt or f"how much {what.recipe.called} is used is not known")
                for load in self._of_batch(what)
            )
        figure = self._figure(what)
        if not figure.present:
            return ()
        if figure.mg_kg is None:
            return (Load(use.called, None, "its level of sulphites is not known", figure.natural),)
        if use.grams is None:
            return (Load(use.called, None, use.why or "its amount is not known", figure.natural),)
        mg = use.grams * use.most * figure.mg_kg / 1000
        return (Load(use.called, mg, "", figure.natural, figure.by_ceiling),)

    def _of_batch(self, batch: Batch) -> tuple[Load, ...]:
        """The loads of one batch, one per ingredient and nature, however often the ingredient occurs."""
        if batch.recipe.key not in self._batches:
            merged: dict[tuple[str, bool], Load] = {}
            for line in batch.lines:
                for load in self.of_use(line):
                    key = (load.called, load.natural)
                    other = merged.get(key)
                    if other is None:
                        merged[key] = load
                    elif other.mg is None or load.mg is None:
                        merged[key] = other if other.mg is None else load
                    else:
                        by_ceiling = other.by_ceiling or load.by_ceiling
                        merged[key] = Load(load.called, other.mg + load.mg, "", load.natural, by_ceiling)
            self._batches[batch.recipe.key] = tuple(merged.values())
        return self._batches[batch.recipe.key]

    def _figure(self, what: What) -> _Figure:
        if isinstance(what, Bought) and what.either:
            # The most that any of them brings; where one figure is missing, so is the whole.
            each = [f for one in what.either if (f := self._figure(one)).present]
            figures = [f.mg_kg for f in each if f.mg_kg is not None]
            return _Figure(
                None if not each or len(figures) < len(each) else max(figures),
                bool(each),
                bool(each) and all(f.natural for f in each),
                any(f.by_ceiling for f in each),
            )
        entry = entry_of(what)
        label = what.product.label if isinstance(what, Bought) else None
        by_entry = entry is not None and (
            SULPHITE in entry.contains or (entry.so2_mg_kg is not None and SULPHITE not in entry.depends)
        )
        read = self.texts.get(what.product.key) if isinstance(what, Bought) else None
        by_label = label is not None and (
            any(self.taxonomy.find(w) == SULPHITE for w, _ in label.contains)
            or (read is not None and SULPHITE in read.contains)
        )
        level = label.sulphites_mg_kg if label is not None else None
        is_unread = label is not None and label.sulphites_unread
        if not (by_entry or by_label or level or is_unread):
            return _Figure()
        # A figure that could not be read is missing, and so is a level of 0 on a label that names sulphites.
        if is_unread or (by_label and level == 0):
            return _Figure(present=True)
        if level is not None:
            return _Figure(level, True)
        # A ceiling that was not read in the law that sets it must not remove a declaration.
        most = entry.so2_mg_kg if entry and entry.so2_read else None
        natural = bool(entry and entry.so2_natural and not by_label)
        # Nor does it bind what was made for another country.
        if not natural and isinstance(what, Bought) and what.product.key in self.uncapped:
            most = None
        return _Figure(most, True, natural, most is not None and not natural)


def _scaled(load: Load, share: Fraction | None, missing: str) -> Load:
    if load.mg is None:
        return load
    if share is None:
        return Load(load.called, None, missing, load.natural)
    return load._replace(mg=load.mg * share)
