"""What to buy for a plan: whole packs by supplier, never less than the plates need.

In: the needs of a :class:`~platecard.service.prep.Plan` and the pantry.  Out: orders.
An amount is converted between g, ml and pieces only by a known density or piece weight;
where one is missing, the order says so and counts nothing in its place.
"""

from __future__ import annotations

from collections.abc import Iterable
from fractions import Fraction
from math import ceil
from typing import NamedTuple

from platecard.model import Kitchen, Supply
from platecard.quantities import amounts
from platecard.quantities.amounts import PIECE, Amount, NotKnown
from platecard.quantities.money import Money
from platecard.quantities.units import Quantity, shown
from platecard.recipes.resolved import Bought
from platecard.recipes.weights import measures_as_bought
from platecard.service.prep import Leaf, LeafKey
from platecard.service.rounding import plural
from platecard.service.yields import is_bought, trim_of, whole_by_weight

MASS, VOLUME, COUNT = "mass", "volume", "count"
_KIND = {"g": MASS, "ml": VOLUME}
NO_SUPPLIER = ""


class Order(NamedTuple):
    """One line of the order list.

    ``need``, ``par``, ``on_hand``, ``buy`` and ``over`` are as bought, in the base unit of ``kind``
    (g, ml, or a count of ``word``); None where not known.  ``packs`` is None where no pack is
    entered or the need cannot be converted to it.  ``open`` says why more may be needed.
    """

    key: LeafKey
    called: str
    supplier: str
    code: str
    kind: str
    word: str
    need: Fraction | None
    par: Fraction
    on_hand: Fraction
    pack: Quantity | None
    packs: int | None
    buy: Fraction | None
    over: Fraction | None
    cost: Money | None
    open: tuple[str, ...]
    trims: tuple[str, ...]
    used_for: tuple[str, ...]


def orders(leaves: dict[LeafKey, Leaf], kitchen: Kitchen) -> tuple[Order, ...]:
    """The order list by supplier and name, without what comes from the tap."""
    found = [_order(key, leaf, kitchen) for key, leaf in leaves.items() if is_bought(leaf.what)]
    return tuple(sorted(found, key=lambda o: (o.supplier == NO_SUPPLIER, o.supplier, o.called.lower(), o.key)))


def _order(key: LeafKey, leaf: Leaf, kitchen: Kitchen) -> Order:
    supply = kitchen.supply(*key)
    product = leaf.what.product if isinstance(leaf.what, Bought) else None
    pack = supply.pack if supply else None
    kind = pack.kind if pack else natural_kind(leaf, supply)
    word = PIECE
    if kind == COUNT and pack is not None:
        word = pack.unit
    elif kind == COUNT:
        word = next((u for u in leaf.amounts if u not in _KIND and not u.startswith("piece of ")), word)
    need, missing = total(leaf, kind, supply, word)
    still = [*leaf.open, *missing]
    stock = {"par": Fraction(0), "on hand": Fraction(0)}
    for said, q in (("par", supply.par), ("on hand", supply.on_hand)) if supply else ():
        if q is not None:
            got = convert(leaf, amounts.unit_of(q), q.high if said == "par" else q.low, kind, supply, word)
            if isinstance(got, NotKnown):
                still.append(
                    f"{said} {q.text} is not counted: it cannot be converted to the unit it is ordered in ({got.why})"
                )
            else:
                stock[said] = got
    par, on_hand = stock["par"], stock["on hand"]
    packs = buy = over = cost = None
    if need is not None:
        wanted = max(Fraction(0), max(need, par) - on_hand)
        if pack is not None:
            packs = ceil(wanted / pack.mean)
            buy = packs * pack.mean
            over = buy + on_hand - need
            cost = _cost_of_packs(supply, pack, packs, leaf)
        else:
            buy = wanted
    return Order(
        key,
        leaf.called,
        product.supplier if product else NO_SUPPLIER,
        product.code if product else "",
        kind,
        word,
        need,
        par,
        on_hand,
        pack,
        packs,
        buy,
        over,
        cost,
        tuple(dict.fromkeys(still)),
        tuple(leaf.trims),
        tuple(leaf.used_for),
    )


def natural_kind(leaf: Leaf, supply: Supply | None) -> str:
    """The kind to order an unpacked thing in: mass where all of it can be weighed, else the first kind used."""
    if total(leaf, MASS, supply)[1] == ():
        return MASS
    kinds = [_KIND.get(unit, COUNT) for unit in leaf.amounts]
    return kinds[0] if kinds else MASS


def total(leaf: Leaf, kind: str, supply: Supply | None, word: str = PIECE) -> tuple[Fraction | None, tuple[str, ...]]:
    """The whole need in one kind (None where none of it can be converted), and what could not be converted."""
    found: Fraction | None = None
    missing = []
    for unit, value in leaf.amounts.items():
        got = convert(leaf, unit, value, kind, supply, word)
        if isinstance(got, NotKnown):
            missing.append(f"{_said(unit, value)} more: {got.why}")
        else:
            found = got + (found or 0)
    return found, tuple(missing)


def convert(leaf: Leaf, unit: str, value: Fraction, kind: str, supply: Supply | None, word: str = PIECE) -> Amount:
    """``value`` of ``unit`` in the base unit of ``kind`` (for a count, of ``word``), as bought.

    It is converted by the density and the weight of one bought piece.
    """
    if unit.startswith("piece of "):
        return _cut(leaf, unit, value, kind, supply)
    return amounts.convert(
        value, unit, {MASS: amounts.G, VOLUME: amounts.ML}.get(kind, word), measures_as_bought(leaf.what)
    )


def _cut(leaf: Leaf, unit: str, value: Fraction, kind: str, supply: Supply | None) -> Amount:
    """What to buy for portions that must be cut whole, so that no two cuts are joined."""
    what, share = leaf.what, trim_of(leaf.what, None, supply).share
    if supply is None or not isinstance(what, Bought) or not what.product.piece_g or share is None or not supply.gives:
        return _NOT_CUT
    piece_g = what.product.piece_g
    portion = Fraction(unit.removeprefix("piece of ").removesuffix(" g"))
    found = whole_by_weight(ceil(value), portion, piece_g, share, int(supply.gives[0][1]))
    if found is None:
        return _NOT_CUT
    # A part of a cover (for the cost of one plate) takes its part of an animal.
    count = Fraction(found.count) if value >= found.portions_each else value / found.portions_each
    return count * piece_g if kind == MASS else count if kind == COUNT else _NOT_CUT


_NOT_CUT = NotKnown(
    "enter what one bought piece weighs, what trimming leaves and how many pieces it gives, with a portion that fits"
    " a piece"
)


def _said(unit: str, value: Fraction) -> str:
    """An amount in words: ``12 g``, ``1 leaf``, ``2 leaves``, ``2 pieces of 160 g``."""
    if unit in _KIND:
        return f"{shown(value)} {unit}"
    word, of, weight = unit.partition(" of ")
    return f"{shown(value)} {plural(word, value)}{of}{weight}"


# --------------------------------------------------------------------------- prices


def unit_price(supply: Supply | None) -> tuple[Money, str, str] | None:
    """The price of one base unit, with the kind and word it is for; None where no price is entered."""
    if supply is None or supply.price is None:
        return None
    q = supply.price_for or supply.pack
    if q is None:
        return None
    word = q.unit if q.kind == COUNT else PIECE
    return Money(supply.price.amount / q.mean, supply.price.currency), q.kind, word


def price_of(leaf: Leaf, supply: Supply | None) -> tuple[Money | None, tuple[str, ...]]:
    """What a need costs as bought, without rounding to packs, and what of it has no price."""
    each = unit_price(supply)
    if each is None:
        return None, (
            "no price is entered" if isinstance(leaf.what, Bought) else "it is not in the pantry, so it has no price",
        )
    money, kind, word = each
    amount, missing = total(leaf, kind, supply, word)
    return (Money(amount * money.amount, money.currency) if amount is not None else None), missing


def _cost_of_packs(supply: Supply | None, pack: Quantity, packs: int, leaf: Leaf) -> Money | None:
    each = unit_price(supply)
    if each is None:
        return None
    money, kind, word = each
    amount = convert(leaf, amounts.unit_of(pack), pack.mean * packs, kind, supply, word)
    return None if isinstance(amount, NotKnown) else Money(money.amount * amount, money.currency)


def totals(found: Iterable[Order]) -> dict[str, Fraction]:
    """The sum of the priced orders, by currency."""
    sums: dict[str, Fraction] = {}
    for order in found:
        if order.cost is not None:
            sums[order.cost.currency] = sums.get(order.cost.currency, Fraction(0)) + order.cost.amount
    return sums
