"""What a library file says about buying, stocking and losing food: yields, packs, prices, stock.

In: the fields of a product, a recipe, a recipe line or a dish.  Out: a
:class:`~platecard.model.Supply` and shares; what is impossible is an error at its place.
"""

from __future__ import annotations

from fractions import Fraction

from platecard.diagnostics import did_you_mean, error
from platecard.model import Price, Supply
from platecard.quantities.money import Money, money, price
from platecard.quantities.temperatures import disagreements
from platecard.quantities.units import AmountError, Quantity, table
from platecard.reading.fields import Fields
from platecard.yaml_nodes import Mapping, Scalar, Sequence

KEYS = ("trim_yield", "bought_as", "gives", "pack", "price", "par", "on_hand")


def read(f: Fields) -> Supply | None:
    """The supply of a product or recipe; None where the kitchen says nothing about it."""
    if not any(k in f for k in KEYS):
        return None
    pack = _more_than_none(f, "pack", f.amount("pack", "mass", "volume", "count"))
    cost, cost_for = _price(f, pack)
    return Supply(
        f.node.span,
        trim_yield(f),
        f.text("bought_as"),
        f.text("used_as"),
        _gives(f),
        pack,
        cost,
        cost_for,
        f.amount("par", "mass", "volume", "count"),
        f.amount("on_hand", "mass", "volume", "count"),
    )


def trim_yield(f: Fields) -> Fraction | None:
    """The share left after trimming: above zero, and at most 100 %."""
    q = f.amount("trim_yield", "share")
    if q is None:
        return None
    if q.low <= 0:
        f.problems.append(
            error(
                "yield-zero",
                f.span("trim_yield"),
                "a yield of zero: nothing would be left of what is bought",
                "give the share that is left, for example 86 %",
            )
        )
        return None
    if q.high > 1:
        f.problems.append(
            error(
                "yield-over-100",
                f.span("trim_yield"),
                "trimming cannot leave more than 100 %",
                "give the share that is left; for a recipe that takes up water, write takes_up_water: true",
            )
        )
        return None
    # Of a range the lower end, so that enough is bought.
    return q.low if f.within("trim_yield", "trim", q.low, q.high) else None


def parts(
    f: Fields, piece: Fraction | None, density: Fraction | None
) -> tuple[tuple[tuple[str, Fraction | None], ...], tuple[str, ...]]:
    """What one of each part weighs in g (a fillet, a portion), and which figures could not be read.

    The trimmed piece is shared out equally.
    """
    quiet = Fields(f.node, [])
    share, given = trim_yield(quiet), _gives(quiet)
    written = f.node.get("gives")
    entries = written.entries if isinstance(written, Mapping) else {}
    unread = (
        ("piece", f.written_as("piece") and piece is None),
        ("density", f.written_as("density") and density is None),
        ("gives", f.written_as("gives") and len(given) < max(len(entries), 1)),
    )
    return tuple((word, piece * share / number if piece and share else None) for word, number in given), tuple(
        key for key, is_unread in unread if is_unread
    )


def left_behind(f: Fields) -> Fraction:
    """The share of a batch that never reaches a plate."""
    q = f.amount("left_behind", "share")
    if q is not None and q.high >= 1:
        f.problems.append(
            error(
                "yield-zero",
                f.span("left_behind"),
                "all of it stays behind, so the recipe yields nothing",
                "write it as in 8 %",
            )
        )
        return Fraction(0)
    if q is not None:
        f.within("left_behind", "left behind", q.low, q.high)
    return q.high if q is not None else Fraction(0)


def check_method(f: Fields) -> None:
    """Errors for temperatures given in two scales that disagree: sooner or later the oven would be set wrong."""
    steps = f.node.get("method")
    for step in steps.items if isinstance(steps, Sequence) else ():
        if isinstance(step, Scalar) and "°" in step.text:
            for exc in disagreements(step.text):
                f.problems.append(error(exc.slug, step.span, str(exc), exc.hint))


def dish_price(f: Fields) -> Price | None:
    """``{net: 24 EUR}``, or ``{menu: 26.40 EUR, tax: 10 %}`` with the tax taken out."""
    if not isinstance(f.node.get("price"), Mapping):
        return None
    p = f.sub("price")
    if ("net" in p) == ("menu" in p):
        p.problems.append(
            error(
                "which-price",
                p.node.span,
                "a price is either net or as on the menu",
                "write it as in {net: 24 EUR} or {menu: 26.40 EUR, tax: 10 %}",
            )
        )
        return None
    said = p.read("net" if "net" in p else "menu", money)
    tax = p.amount("tax", "share", limit="tax")
    if "menu" in p and "tax" not in p:
        p.problems.append(
            error(
                "which-price",
                p.span("menu"),
                "a price on the menu needs its sales tax",
                "add it, as in {menu: 26.40 EUR, tax: 10 %}; or tax: 0 %",
            )
        )
        return None
    if said is None or ("menu" in p and tax is None):
        return None
    if said.amount <= 0:
        p.problems.append(
            error("zero-price", p.node.span, "the price is zero, so the dish has no food cost to work out")
        )
        return None
    net = said.amount / (1 + tax.mean) if "menu" in p and tax is not None else said.amount
    return Price(Money(net, said.currency, said.text), p.node.span)


def _price(f: Fields, pack: Quantity | None) -> tuple[Money | None, Quantity | None]:
    value = f.node.get("price")
    if not isinstance(value, Scalar) or value.value is None:
        return None, None
    try:
        cost, cost_for = price(value.text)
    except AmountError as exc:
        f.problems.append(error(exc.slug, value.span, f"'price': {exc}", exc.hint))
        return None, None
    if cost_for is not None and cost_for.low <= 0:
        f.problems.append(
            error("price-for-what", value.span, "a price for an amount of zero", "write it as in 4.20 EUR / kg")
        )
        return None, None
    if cost_for is None and pack is None:
        if "pack" not in f:
            f.problems.append(
                error(
                    "price-for-what",
                    value.span,
                    f"'{value.text}' does not say for how much",
                    "give the pack, for example pack: 5 kg, or write 4.20 EUR / kg",
                )
            )
        return None, None
    return cost, cost_for


def _gives(f: Fields) -> tuple[tuple[str, Fraction], ...]:
    node = f.node.get("gives")
    if not isinstance(node, Mapping):
        return ()
    found = []
    inner = f.sub("gives")
    for word in node.entries:
        known = table().counts.get(word.lower())
        if known is None:
            f.problems.append(
                error(
                    "unknown-word",
                    node.place(word),
                    f"'{word}' is not a word for counting pieces",
                    did_you_mean(word, table().counts) or "write a word that counts, such as fillet, portion or piece",
                )
            )
        elif (number := inner.whole(word, 0)) > 0 and inner.within(word, "gives", Fraction(number), Fraction(number)):
            found.append((known, Fraction(number)))
    return tuple(found)


def _more_than_none(f: Fields, key: str, q: Quantity | None) -> Quantity | None:
    if q is not None and q.low <= 0:
        f.problems.append(error("zero-size", f.span(key), f"'{key}' holds nothing"))
        return None
    return q
