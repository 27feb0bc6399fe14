"""The preparation list and the order list: what a brigade works through before service.

In: a plan and its orders.  Out: their words, shared by paper, screen and spreadsheet, and
the pages.  What is not known has its own section and says why.
"""

from __future__ import annotations

from collections.abc import Iterable
from datetime import date, timedelta
from fractions import Fraction
from typing import NamedTuple

from platecard.documents.kit import column_pages
from platecard.documents.kit.column_pages import Row
from platecard.documents.kit.sheet import GREY, INK, MARGIN, PAGES, SMALLEST_PT, Block, paragraph
from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Scene, Text
from platecard.drawing.signs import checkbox
from platecard.knowledge import claims
from platecard.model import Kitchen, Settings
from platecard.quantities.money import Money
from platecard.recipes.resolved import in_full
from platecard.service import rounding
from platecard.service.orders import Order, totals
from platecard.service.prep import Gap, Make, Pick, Plan


class Work(NamedTuple):
    """A plan with its orders for one kitchen; ``day`` is the day of service, if it was given."""

    plan: Plan
    orders: tuple[Order, ...]
    kitchen: Kitchen
    day: date | None = None

    @property
    def system(self) -> str:
        """The system of amounts that the kitchen reads: metric or US."""
        return self.kitchen.settings.amounts


# --------------------------------------------------------------------------- words


def money(m: Money) -> str:
    """An amount of money to the hundredth; one that would round to nothing is ``under 0.01``."""
    if 0 < m.amount < Fraction(1, 200):
        return f"under 0.01 {m.currency}"
    return f"{float(m.amount):.2f} {m.currency}"


def made(make: Make, share: Fraction, system: str, up: bool = False) -> str:
    """So many batches of a recipe as an amount, rounded towards more with ``up``."""
    q = make.batch.recipe.makes
    if q is None:
        return "an amount not known"
    return rounding.amount(q.kind, q.mean * share, system, q.unit if q.kind == "count" else "", up)


def day_of(days: int | None, day: date | None = None) -> str:
    """``2 days before``, with its date if the day of service is known."""
    if days is None:
        return "Day not given in days"
    said = "On the day" if days == 0 else "1 day before" if days == 1 else f"{days} days before"
    return said if day is None else f"{said}: {(day - timedelta(days=days)).isoformat()}"


def by_day(makes: Iterable[Make], settings: Settings) -> list[tuple[int | None, list[tuple[str, list[Make]]]]]:
    """Recipes by day, earliest first, and station, in the kitchen's order; those that others need come first."""
    order = {key: i for i, (key, _) in enumerate(settings.stations)}
    days: dict[int | None, dict[str, list[Make]]] = {}
    for make in makes:
        days.setdefault(make.days, {}).setdefault(make.station, []).append(make)
    found = []
    for day in sorted(days, key=lambda d: (d is None, -(d or 0))):
        stations = sorted(days[day].items(), key=lambda s: (order.get(s[0], len(order)), s[0]))
        found.append((day, [(key, sorted(m, key=lambda x: (-x.depth, x.batch.recipe.called))) for key, m in stations]))
    return found


def to_make(make: Make, system: str) -> str:
    """``2 batches, 1.8 kg`` or ``1 batch, 12 pieces``."""
    count = f"{make.batches} {'batch' if make.batches == 1 else 'batches'}"
    return f"{count}, {made(make, Fraction(make.batches) * (1 - make.batch.recipe.left_behind), system)}"


def why(make: Make, system: str) -> list[str]:
    """Need, stock, what is left over and how long it keeps, as short phrases."""
    least = "at least " if make.is_least else ""
    said = [f"need {least}{made(make, make.need, system, up=True)}"]
    if make.par > make.need:
        said.append(f"par {made(make, make.par, system)}")
    if make.on_hand:
        said.append(f"on hand {made(make, make.on_hand, system)}")
    if make.batches:
        said.append(f"left over {made(make, make.left_over, system)}" if make.left_over > 0 else "nothing left over")
    recipe = make.batch.recipe
    if make.left_over > 0 and recipe.keeps and make.batches:
        said.append(f"keeps {recipe.keeps}")
    if recipe.left_behind and make.batches:
        said.append(f"{rounding.percent(recipe.left_behind)} of each batch is left behind")
    return said


def scaled(make: Make, system: str) -> list[tuple[str, str, bool]]:
    """Each ingredient's name, its amount for all batches, and whether it does not simply multiply."""
    flagged = {f.called for f in make.flags}
    found = []
    for line, use in zip(make.batch.recipe.lines, make.batch.lines):
        name = in_full(line, use)
        amount = rounding.of(line.amount, Fraction(make.batches), system) if line.amount else "not stated"
        found.append((name, amount, claims.in_full(line.source.name.replace("-", " ")) in flagged))
    return found


def pick(p: Pick, system: str) -> str:
    """``24 pieces, 360 g``."""
    said = [f"{p.pieces} pieces"] if p.pieces else []
    said.append(rounding.amount("mass", p.grams, system, up=True) if p.grams is not None else "weight not known")
    return ", ".join(said)


def amount(order: Order, value: Fraction | None, system: str, up: bool = False) -> str:
    """A value in the base unit of an order as an amount, rounded towards more with ``up``."""
    return "not known" if value is None else rounding.amount(order.kind, value, system, order.word, up)


def bought(order: Order, system: str) -> str:
    """What to buy: ``2 × 5 kg``, or ``1.24 kg`` if no pack is entered."""
    least = "at least " if order.open else ""
    if order.packs is not None and order.pack is not None:
        return f"{least}{order.packs} × {order.pack.text}" if order.packs or order.open else "nothing to buy"
    return f"{least}{amount(order, order.buy, system, up=True)}" if order.buy is not None else "not known"


def need(order: Order, system: str) -> list[str]:
    """Need, stock and what is left over of something bought, as short phrases."""
    said = [f"need {amount(order, order.need, system, up=True)} as bought"]
    if order.need is not None and order.par > order.need:
        said.append(f"par {amount(order, order.par, system)}")
    if order.on_hand:
        said.append(f"on hand {amount(order, order.on_hand, system)}")
    if order.over:
        said.append(f"over {amount(order, order.over, system)}")
    if order.pack is None:
        said.append("pack not known")
    return said


def by_supplier(orders: Iterable[Order]) -> dict[str, list[Order]]:
    """The orders by supplier, "" for those without one."""
    found: dict[str, list[Order]] = {}
    for order in orders:
        found.setdefault(order.supplier, []).append(order)
    return found


def supplier(name: str) -> str:
    """The heading for a supplier."""
    return name[0].upper() + name[1:] if name else "No supplier entered"


def gap(g: Gap) -> str:
    """What is not known, and why."""
    return f"{g.what}: {g.why}"


def covers(plan: Plan) -> str:
    """``40 covers: Char and cucumber 24, Lamb 16 (4 plates)``."""
    total = sum(one.covers for one in plan.covers)
    return f"{total} {'cover' if total == 1 else 'covers'}: " + ", ".join(
        f"{one.title} {one.covers}"
        + (f" ({one.plates} {'plate' if one.plates == 1 else 'plates'})" if one.plates != one.covers else "")
        for one in plan.covers
        if one.covers
    )


# --------------------------------------------------------------------------- paper


def compose(work: Work) -> tuple[Scene, ...]:
    """The pages: preparation first, the order list on a page of its own."""
    settings = work.kitchen.settings
    size = PAGES["Letter portrait" if settings.page.startswith("Letter") else "A4 portrait"]
    width = size[0] - 2 * MARGIN
    day = work.day.isoformat() if work.day else ""
    said = covers(work.plan)
    top = column_pages.heads(
        "Preparation list",
        said if len(said) < 400 else f"{said[:397]}…",
        (day or "for service", settings.called),
        width,
        settings.language,
        later=said.partition(":")[0],
    )
    column = (width - column_pages.GAP) / 2
    made_now = [m for m in work.plan.makes if m.batches or m.is_least]
    rows: list[Row] = []
    for days, stations in by_day(made_now, settings):
        rows.append(column_pages.heading(day_of(days, work.day), column, size=11.0, level=1))
        for station, makes in stations:
            rows.append(column_pages.heading(settings.station(station) if station else "No station", column))
            rows += [_make(m, column, work.system) for m in makes]
    rows += _picks(work, column) + _rest(work, column)
    prep = column_pages.flow(top, rows, column, size, "Preparation list", (day, "preparation"), settings.language)
    top = column_pages.heads(
        "Order list", "in whole packs, trim and loss included", (day or "for service", settings.called), width
    )
    rows = []
    for name, orders in by_supplier(work.orders).items():
        rows.append(column_pages.heading(supplier(name), column, size=10.0, level=1))
        rows += [_order(o, column, work.system) for o in orders]
    for currency, total in totals(work.orders).items():
        priced = sum(o.cost is not None for o in work.orders)
        rows.append(
            column_pages.text(
                f"Priced lines come to {money(Money(total, currency))} ({priced} of {len(work.orders)} lines have a"
                " price).",
                column,
                9.0,
                "semibold",
            )._replace(level=0)
        )
    order = (
        column_pages.flow(top, rows, column, size, "Order list", (day, "order"), settings.language)
        if work.orders
        else ()
    )
    return (*prep, *order)


def _make(make: Make, width: float, system: str) -> Row:
    recipe = make.batch.recipe
    amount_said = to_make(make, system) if make.batches else "not known"
    used = fonts.width_mm(amount_said, 8.5, "bold") + 2
    title = paragraph(recipe.called, width - 5.2 - used, 9.5, "bold", x=5.2)
    items: list[Item] = [
        checkbox(0.4, 0.6, 3.0),
        *title.items,
        Text(width, fonts.ascent(9.5, "bold") * 0.9, amount_said, 8.5, "bold", anchor="end"),
    ]
    y = title.height
    lines = [
        (
            "; ".join(why(make, system))
            + f". For {', '.join(make.used_for[:3])}"
            + (f" and {len(make.used_for) - 3} more" if len(make.used_for) > 3 else ""),
            "regular",
            INK,
        )
    ]
    lines += [(note, "semibold", INK) for note in make.notes]
    # No-break spaces keep an amount with its unit and its ingredient.
    lines.append(
        (
            " · ".join(
                f"{name}{'*' if flag else ''} {said}".replace(" ", "\u00a0")
                for name, said, flag in scaled(make, system)
            ),
            "regular",
            GREY,
        )
    )
    if make.flags:
        lines.append(
            (
                f"* {make.batches} batches: "
                + "; ".join(dict.fromkeys(f.why.split(":")[0] for f in make.flags))
                + "; times do not grow with the batch",
                "italic",
                GREY,
            )
        )
    for said, face, colour in lines:
        part = paragraph(said, width - 5.2, SMALLEST_PT, face, colour, x=5.2, y=y)
        items += part.items
        y += part.height
    return Row(Block(y + 1.4, (Group(tuple(items), title=f"{recipe.called}: {amount_said}", role="listitem"),)))


def _ticked(name: str, said: str, below: str, width: float) -> Row:
    used = fonts.width_mm(said, 8.5, "bold") + 2
    title = paragraph(name, max(width - 5.2 - used, 20.0), 8.5, "semibold", x=5.2)
    part = paragraph(below, width - 5.2, 8.0, "regular", GREY, x=5.2, y=title.height) if below else Block(0, ())
    items = (
        checkbox(0.4, 0.4, 2.8),
        *title.items,
        Text(width, fonts.ascent(8.5, "bold") * 0.9, said, 8.5, "bold", anchor="end"),
        *part.items,
    )
    return Row(Block(title.height + part.height + 1.2, (Group(items, title=f"{name}: {said}", role="listitem"),)))


def _order(order: Order, width: float, system: str) -> Row:
    below = [f"code {order.code}"] if order.code else []
    below += need(order, system)
    if order.cost is not None and order.packs:
        below.append(money(order.cost))
    below += [*order.trims, *order.open]
    return _ticked(order.called, bought(order, system), "; ".join(below), width)


def _picks(work: Work, width: float) -> list[Row]:
    settings = work.kitchen.settings
    if not work.plan.picks:
        return []
    rows = [column_pages.heading("Trim, pick and cut, for the plate as it is", width, size=11.0, level=1)]
    return rows + [
        _ticked(
            p.called, pick(p, work.system), f"{settings.station(p.station)}; {p.dish}" if p.station else p.dish, width
        )
        for p in work.plan.picks
    ]


def _rest(work: Work, width: float) -> list[Row]:
    rows: list[Row] = []
    ready = [m for m in work.plan.makes if not m.batches and not m.is_least]
    if ready:
        rows.append(column_pages.heading("Nothing to make", width, size=11.0, level=1))
        rows += [
            column_pages.text(f"{m.batch.recipe.called}: {'; '.join(why(m, work.system))}", width, 8.0) for m in ready
        ]
    if work.plan.to_hand:
        rows.append(column_pages.heading("To hand", width, size=11.0, level=1))
        rows += [column_pages.text(f"{h.called}, {h.amount}: {h.used_for}", width, 8.0) for h in work.plan.to_hand]
    if work.plan.gaps:
        rows.append(column_pages.heading("Not known", width, size=11.0, level=1))
        rows += [column_pages.text(gap(g), width, 8.0, "semibold") for g in work.plan.gaps]
    return rows
