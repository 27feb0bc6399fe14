"""What a plate costs, trim and losses included, as far as the pantry has prices.

In: a resolved dish and the kitchen.  Out: :class:`DishCost`.  The cost of a part is that
of everything bought for one cover of it: raw and untrimmed, with what boils off and what
stays in the sieve.  Anything without a price is named, and the sum is then "at least".
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from platecard.model import Component, Kitchen
from platecard.quantities.money import Money
from platecard.recipes.resolved import Resolved
from platecard.service.orders import price_of
from platecard.service.prep import Gap, plan
from platecard.service.yields import is_bought


class CostItem(NamedTuple):
    """One bought thing in one part of the plate, and what it costs."""

    called: str
    money: Money


class PartCost(NamedTuple):
    """What one component costs on one plate.

    ``money`` is the cost as far as it is known (None: not at all), ``grams`` its weight on the
    plate, ``gaps`` what has no price or no amount, ``untold`` what goes in to taste.
    """

    component: Component
    money: Money | None
    grams: Fraction | None
    items: tuple[CostItem, ...]
    gaps: tuple[Gap, ...]
    untold: tuple[str, ...]

    @property
    def is_least(self) -> bool:
        """Whether it costs at least so much, because something has no price or amount."""
        return bool(self.gaps)

    @property
    def per_kg(self) -> Money | None:
        """The cost of 1 kg of it as it lies on the plate; None where cost or weight is not known."""
        return Money(self.money.amount * 1000 / self.grams, self.money.currency) if self.money and self.grams else None


class DishCost(NamedTuple):
    """What the plate costs; ``share`` is food cost over net price.  Where ``is_least``, both are at least so much."""

    parts: tuple[PartCost, ...]
    money: Money | None
    net: Money | None
    share: Fraction | None
    is_least: bool
    gaps: tuple[Gap, ...]

    @property
    def dearest(self) -> tuple[PartCost, ...]:
        """The three dearest parts that have a price."""
        priced = [(-p.money.amount, p.component.key, p) for p in self.parts if p.money and p.money.amount > 0]
        return tuple(part for *_, part in sorted(priced, key=lambda row: row[:2])[:3])


def of_dish(resolved: Resolved, kitchen: Kitchen) -> DishCost:
    """The cost of one plate, part by part."""
    parts = tuple(_of_part(resolved, i, kitchen) for i in range(len(resolved.parts)))
    gaps: list[Gap] = []
    money: Money | None = None
    for part in parts:
        if part.money is None:
            continue
        if money is None:
            money = part.money
        elif money.currency == part.money.currency:
            money = Money(money.amount + part.money.amount, money.currency)
        else:
            gaps.append(
                Gap(
                    part.component.called,
                    f"it is priced in {part.money.currency}, the rest in {money.currency}",
                    part.component.span,
                )
            )
    least = bool(gaps) or any(p.is_least or (p.money is None and not p.untold) for p in parts)
    price = resolved.dish.price
    net = price.net if price else None
    share = food_share(money.amount, net.amount) if money and net and money.currency == net.currency else None
    if price and money and price.net.currency != money.currency:
        gaps.append(Gap(resolved.dish.title, f"sold in {price.net.currency}, bought in {money.currency}", price.span))
    return DishCost(parts, money, net, share, least, tuple(gaps))


def _of_part(resolved: Resolved, index: int, kitchen: Kitchen) -> PartCost:
    part = resolved.parts[index]
    found = plan([(replace(resolved, parts=(part,)), 1)], kitchen)
    gaps = list(found.gaps)
    items: list[CostItem] = []
    money: Money | None = None
    for key, leaf in found.exact.items():
        if not is_bought(leaf.what):
            continue
        price, missing = price_of(leaf, kitchen.supply(*key))
        gaps += [Gap(leaf.called, why, part.component.span) for why in (*missing, *leaf.open)]
        if price is None:
            continue
        if money is not None and money.currency != price.currency:
            gaps.append(
                Gap(leaf.called, f"it is priced in {price.currency}, the rest in {money.currency}", part.component.span)
            )
            continue
        items.append(CostItem(leaf.called, price))
        money = Money((money.amount if money else 0) + price.amount, price.currency)
    items.sort(key=lambda i: (-i.money.amount, i.called))
    untold = tuple(dict.fromkeys(h.called for h in found.to_hand if not h.is_reused))
    return PartCost(part.component, money, part.use.grams, tuple(items), tuple(gaps), untold)


# --------------------------------------------------------------------------- formulas


def food_share(cost: Fraction, net: Fraction, cover_charge: Fraction = Fraction(0)) -> Fraction:
    """Food cost over the net price; ``cover_charge`` is the cost per cover of what is given free (bread, butter)."""
    return (cost + cover_charge) / net


def par(forecast: Fraction, take_up: Fraction, safety: Fraction) -> Fraction:
    """How much to have ready for a forecast of covers, before rounding up."""
    return forecast * take_up * (1 + safety)
