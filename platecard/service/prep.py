"""The preparation list for so many covers: what to make, in whole batches, and what that takes.

In: resolved dishes with their covers, and the kitchen.  Out: :class:`Plan`.  Plates ask
for recipes, whole batches of recipes ask for the recipes inside them, and it all ends in
bought things (:class:`Leaf`), with trimmed weights converted back to weights as bought.
Everything is a fraction until batches are counted.  What cannot be computed is a
:class:`Gap`, never a zero.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field
from fractions import Fraction
from math import ceil
from typing import NamedTuple

from platecard.diagnostics import Span
from platecard.knowledge import claims
from platecard.knowledge.catalogue import Entry
from platecard.model import Kitchen, Recipe, RecipeLine, Step, Supply, Unknown
from platecard.quantities import amounts
from platecard.quantities.amounts import PIECE, G, NotKnown
from platecard.quantities.shelf_life import DAY_S
from platecard.quantities.units import Quantity, shown
from platecard.recipes.resolved import Batch, Bought, Resolved, Use, What
from platecard.recipes.weights import measures_of
from platecard.service.scaling import Flag, batches_in, flags
from platecard.service.yields import trim_of

LeafKey = tuple[str, str]  # "product" or "ingredient", and its key


class Gap(NamedTuple):
    """Something that cannot be computed: what it is, why, where, and what to do about it."""

    what: str
    why: str
    span: Span | None
    hint: str = ""


@dataclass(slots=True)
class Leaf:
    """All that is needed of one bought thing: amounts as bought, by unit (g, ml, or a counting word).

    A unit such as ``piece of 160 g`` is a portion that must be cut whole.  ``open`` says why
    the real need may be larger, ``trims`` which yields were applied.  The last three are ordered sets.
    """

    what: Bought | Entry
    called: str
    amounts: dict[str, Fraction] = field(default_factory=dict)
    trims: dict[str, None] = field(default_factory=dict)
    used_for: dict[str, None] = field(default_factory=dict)
    open: dict[str, None] = field(default_factory=dict)

    def add(self, unit: str, value: Fraction) -> None:
        """Add ``value`` of ``unit`` to the need."""
        self.amounts[unit] = self.amounts.get(unit, Fraction(0)) + value


class Make(NamedTuple):
    """One recipe to make.  Its amounts are in batches as they come out; ``batches`` alone is whole.

    ``need`` is what plates and other recipes take, ``exact`` the same before any batch was
    rounded up.  ``is_least`` is true where something that takes it does not say how much.
    """

    batch: Batch
    station: str
    days: int | None
    need: Fraction
    exact: Fraction
    par: Fraction
    on_hand: Fraction
    batches: int
    left_over: Fraction
    is_least: bool
    depth: int
    used_for: tuple[str, ...]
    flags: tuple[Flag, ...]
    notes: tuple[str, ...]


class Pick(NamedTuple):
    """A component that goes on the plate as bought: how many pieces, and the weight where it is known."""

    called: str
    station: str
    pieces: int
    grams: Fraction | None
    dish: str


class Hand(NamedTuple):
    """Something that must be at hand in an amount that no order is made by, such as to taste or a tank of oil."""

    called: str
    amount: str
    used_for: str
    is_reused: bool = False


class Booked(NamedTuple):
    """How many covers of a dish are booked, and how many plates of it that is: fewer where guests share one."""

    key: str
    title: str
    covers: int
    plates: int


class Plan(NamedTuple):
    """The preparation list and what it takes; ``exact`` are the needs before any batch was rounded up."""

    covers: tuple[Booked, ...]
    makes: tuple[Make, ...]
    picks: tuple[Pick, ...]
    leaves: dict[LeafKey, Leaf]
    exact: dict[LeafKey, Leaf]
    to_hand: tuple[Hand, ...]
    gaps: tuple[Gap, ...]


def plan(menu: Iterable[tuple[Resolved, int]], kitchen: Kitchen) -> Plan:
    """The plan for a menu, given as each dish with its number of covers."""
    return _Planner(kitchen).plan(tuple(menu))


class _Planner:
    """Collects what a menu needs, in dictionaries that keep the order in which things were asked for."""

    def __init__(self, kitchen: Kitchen) -> None:
        self.kitchen = kitchen
        self.leaves: dict[LeafKey, Leaf] = {}
        self.exact: dict[LeafKey, Leaf] = {}
        self.hand: dict[tuple[str, str], Hand] = {}
        self.gaps: dict[Gap, None] = {}
        self.need: dict[str, Fraction] = {}
        self.exact_need: dict[str, Fraction] = {}
        self.least: set[str] = set()
        self.used_for: dict[str, dict[str, None]] = {}

    def plan(self, menu: tuple[tuple[Resolved, int], ...]) -> Plan:
        """The plan for the whole menu."""
        picks: list[Pick] = []
        roots: list[Batch] = []
        stations: dict[str, str] = {}
        booked = tuple(
            Booked(r.dish.key, r.dish.title, covers, ceil(Fraction(covers, r.dish.guests))) for r, covers in menu
        )
        for (resolved, _), (_, _, _, plates) in zip(menu, booked):
            for part in resolved.parts if plates else ():
                what, title = part.use.what, resolved.dish.title
                if isinstance(what, Batch):
                    roots.append(what)
                    stations.setdefault(what.recipe.key, what.recipe.station or part.component.station)
                    self._ask(what, part.use.share, Fraction(plates), Fraction(plates), title, part.use)
                elif isinstance(what, Unknown):
                    self._gap(part.use.called, what.why, what.span)
                else:
                    steps = [s for s in resolved.dish.steps if s.put == part.component.key]
                    for step in steps:
                        self._on_plate(what, step, plates, title)
                    picks.append(
                        Pick(
                            part.component.called,
                            part.component.station,
                            plates * sum(s.count for s in steps if s.piece is not None),
                            part.use.grams * plates if part.use.grams is not None else None,
                            title,
                        )
                    )
        makes = self._made(roots, stations)
        return Plan(booked, makes, tuple(picks), self.leaves, self.exact, tuple(self.hand.values()), tuple(self.gaps))

    # ----------------------------------------------------------------- recipes

    def _ask(
        self, batch: Batch, share: Fraction | None, times: Fraction, exact_times: Fraction, by: str, use: Use
    ) -> None:
        """Ask for ``share`` of a batch, ``times`` over (``exact_times`` before rounding), for a dish or recipe."""
        key = batch.recipe.key
        self.need.setdefault(key, Fraction(0))
        self.exact_need.setdefault(key, Fraction(0))
        self.used_for.setdefault(key, {})[by] = None
        if share is None:
            self.least.add(key)
            self._gap(
                batch.recipe.called,
                f"how much of it goes into {by} is not known",
                use.span,
                "give an amount, or the density or piece weight (each: 30 g) that ties it to what the recipe makes; a"
                " plate counts pieces",
            )
            return
        self.need[key] += share * times
        self.exact_need[key] += share * exact_times

    def _made(self, roots: list[Batch], stations: dict[str, str]) -> tuple[Make, ...]:
        makes = []
        days: dict[str, int] = {}
        depth: dict[str, int] = {}
        for batch in _parents_first(roots):
            recipe = batch.recipe
            key = recipe.key
            supply = self.kitchen.supply("recipe", key)
            notes: list[str] = []
            par = self._in_batches(batch, supply.par if supply else None, "par", notes)
            on_hand = self._in_batches(batch, supply.on_hand if supply else None, "on hand", notes)
            usable = 1 - recipe.left_behind
            need, exact = self.need[key], self.exact_need[key]
            to_make = max(Fraction(0), max(need, par) - on_hand)
            count = ceil(to_make / usable)
            own = recipe.ahead.days_before
            ahead = None if own is None else max(own, days.get(key, 0))
            if ahead is not None and own is not None and ahead > own:
                notes.append("made earlier than stated, for what it goes into")
            notes += _timing(recipe, ahead) if count else ()
            for line, use in zip(recipe.lines, batch.lines):
                self._line(batch, line, use, Fraction(count), exact / usable)
                if isinstance(use.what, Batch):
                    inner = use.what.recipe.key
                    days[inner] = max(days.get(inner, 0), ahead or 0)
                    depth[inner] = max(depth.get(inner, 0), depth.get(key, 0) + 1)
                    stations.setdefault(inner, use.what.recipe.station or stations.get(key, ""))
            left = count * usable + on_hand - need
            makes.append(
                Make(
                    batch,
                    recipe.station or stations.get(key, ""),
                    ahead,
                    need,
                    exact,
                    par,
                    on_hand,
                    count,
                    left,
                    key in self.least,
                    depth.get(key, 0),
                    tuple(self.used_for[key]),
                    flags(batch) if count != 1 else (),
                    tuple(notes),
                )
            )
        return tuple(makes)

    def _in_batches(self, batch: Batch, q: Quantity | None, word: str, notes: list[str]) -> Fraction:
        if q is None:
            return Fraction(0)
        found = batches_in(batch, q.low if word == "on hand" else q.high, amounts.unit_of(q))
        if isinstance(found, NotKnown):
            notes.append(
                f"{word} {q.text}: not counted, as it cannot be converted to what the recipe makes ({found.why})"
            )
            return Fraction(0)
        return found

    def _line(self, batch: Batch, line: RecipeLine, use: Use, times: Fraction, exact_times: Fraction) -> None:
        recipe, what, amount = batch.recipe, use.what, line.amount
        name = claims.in_full(line.source.name.replace("-", " "))
        if isinstance(what, Unknown):
            self._gap(name, what.why, what.span)
        elif isinstance(what, Batch):
            self._ask(what, use.share, times, exact_times, recipe.called, use)
        elif amount is None:
            self._gap(name, f"no amount is given in {recipe.called}", line.span, "write an amount, or to taste")
        elif amount.kind == "unmeasured":
            if times:
                self.hand[(name, recipe.called)] = Hand(name, amount.text, recipe.called)
        else:
            part = line.stays if line.reused else Fraction(1)
            if line.reused and times:
                self.hand[(name, recipe.called)] = Hand(name, amount.text, recipe.called, True)
            self._take(what, amount.high * part, amounts.unit_of(amount), line, times, exact_times, recipe.called)

    # ----------------------------------------------------------------- bought things

    def _on_plate(self, what: Bought | Entry, step: Step, plates: int, title: str) -> None:
        times = Fraction(plates)
        if step.amount is not None:
            self._take(what, step.amount.high, amounts.unit_of(step.amount), None, times, times, title)
        elif step.piece is None or step.piece.weight_g is None:
            self._gap(
                _name(what),
                f"{step.count * plates} pieces for {title}, but the weight of one is not known",
                step.span,
                "give the weight of the piece",
            )
        else:
            supply = self._supply(what)
            one = step.piece.weight_g
            if supply is not None and supply.gives:
                # Portions cut from a piece cannot be joined, so they are counted and not weighed.
                self._put(what, f"piece of {shown(one, 3)} g", step.count * times, step.count * times, "", title)
            else:
                self._take(what, one * step.count, G, None, times, times, title)

    def _take(
        self,
        what: Bought | Entry,
        value: Fraction,
        unit: str,
        line: RecipeLine | None,
        times: Fraction,
        exact: Fraction,
        by: str,
    ) -> None:
        """Take ``value`` of ``unit`` of a bought thing, ``times`` over, for ``by``.

        The value is as trimmed, in g, ml or a counting word, and is converted back to what is bought;
        ``exact`` is how many times before any batch was rounded up.
        """
        supply = self._supply(what)
        gives = dict(supply.gives) if supply else {}
        trim = trim_of(what, line, supply)
        if unit in gives:
            self._put(
                what,
                PIECE,
                value / gives[unit] * times,
                value / gives[unit] * exact,
                f"1 gives {shown(gives[unit])}",
                by,
            )
            return
        if unit not in (amounts.G, amounts.ML):
            # A piece as bought is counted, not weighed; the catalogue only estimates what a trimmed piece weighs.
            as_bought = unit == PIECE and isinstance(what, Bought) and what.product.piece_g
            mass = (
                NotKnown("it is counted as it is bought")
                if as_bought
                else amounts.convert(value, unit, G, measures_of(what))
            )
            if isinstance(mass, NotKnown):
                self._put(what, unit, value * times, value * exact, "", by)
                return
            unit, value = G, mass
        said = (
            ""
            if trim.share is None or not trim.source
            else (
                f"{shown(trim.share * 100)} % left by trimming ({trim.source})"
                if trim.share < 1
                else trim.source
                if line is not None and line.trim_yield
                else ""
            )
        )
        self._put(what, unit, value * times / (trim.share or 1), value * exact / (trim.share or 1), said, by)
        if trim.share is None:
            for leaves in (self.leaves, self.exact):
                if (key := key_of(what)) in leaves:
                    leaves[key].open["what trimming leaves is not known"] = None

    def _put(self, what: Bought | Entry, unit: str, value: Fraction, exact: Fraction, trim: str, by: str) -> None:
        for leaves, amount in ((self.leaves, value), (self.exact, exact)):
            if not amount:
                continue
            leaf = leaves.setdefault(key_of(what), Leaf(what, _name(what)))
            leaf.add(unit, amount)
            leaf.used_for[by] = None
            if trim:
                leaf.trims[trim] = None

    def _supply(self, what: What) -> Supply | None:
        return self.kitchen.supply("product", what.product.key) if isinstance(what, Bought) else None

    def _gap(self, what: str, why: str, span: Span | None, hint: str = "") -> None:
        self.gaps[Gap(what, why, span, hint)] = None


def _timing(recipe: Recipe, ahead: int | None) -> list[str]:
    """Notes where it may not keep until it is eaten, by the shorter time said, and where a time could not be read."""
    notes = [f"'{said.unread}' could not be read" for said in (recipe.ahead, recipe.keeping) if said.unread]
    least = recipe.keeping.shortest_s
    own = (
        recipe.ahead.longest_s
        if recipe.ahead.days_before == ahead and recipe.ahead.longest_s is not None
        else (ahead or 0) * DAY_S
    )
    if ahead and least is not None and least < own:
        notes.append(f"made {ahead} day{'s' if ahead != 1 else ''} ahead, and keeps {recipe.keeps}")
    return notes


def key_of(what: Bought | Entry) -> LeafKey:
    """The key of a bought thing: product or ingredient, and its own key."""
    return ("product", what.product.key) if isinstance(what, Bought) else ("ingredient", what.id)


def _name(what: Bought | Entry) -> str:
    return claims.in_full(what.product.called if isinstance(what, Bought) else what.name)


def _parents_first(roots: list[Batch]) -> list[Batch]:
    """Every recipe under ``roots``, each after all the recipes that use it, and otherwise in the order of the dish."""
    done: dict[str, Batch] = {}

    def walk(batch: Batch) -> None:
        if batch.recipe.key in done:
            return
        for line in reversed(batch.lines):
            if isinstance(line.what, Batch):
                walk(line.what)
        done[batch.recipe.key] = batch

    for root in reversed(roots):
        walk(root)
    return list(reversed(done.values()))
