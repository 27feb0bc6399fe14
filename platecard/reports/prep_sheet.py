"""``platecard prep`` and ``platecard cost``: what to prepare, buy and pay, as text, JSON, CSV and PDF.

In: the covers as typed, and the dishes of the menu as they were read.  Out: a plan, and
lines or values to print.  Impossible covers are problems; whatever a plan cannot compute
is listed as not known.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Iterable
from datetime import date
from fractions import Fraction

from platecard.diagnostics import Problem, Span, did_you_mean, error, has_errors
from platecard.documents.pages import prep_list
from platecard.documents.pages.prep_list import (
    Work,
    amount,
    bought,
    by_day,
    by_supplier,
    day_of,
    gap,
    made,
    money,
    need,
    pick,
    scaled,
    supplier,
    to_make,
    why,
)
from platecard.documents.text import wording
from platecard.model import Kitchen
from platecard.prepared import Begun, World
from platecard.quantities.money import Money
from platecard.recipes.resolved import Resolved
from platecard.reports import PlaceOf
from platecard.schema_words import as_a_day
from platecard.service import cost, orders, prep, rounding
from platecard.service.orders import Order, totals
from platecard.service.prep import Make
from platecard.yaml_nodes import Mapping, Scalar, parse

MOST_COVERS = 100_000


# --------------------------------------------------------------------------- covers


def covers(words: Iterable[str], known: Iterable[str]) -> tuple[dict[str, int], tuple[Problem, ...]]:
    """Covers by dish, from words such as ``char-cucumber=24``; ``known`` are the keys of the menu."""
    found: dict[str, int] = {}
    problems: list[Problem] = []
    known = tuple(known)
    for word in words:
        key, mark, number = word.partition("=")
        if not mark:
            problems.append(
                error("covers", None, f"--covers: '{word}' has no number", "write it as in char-cucumber=24")
            )
        else:
            _count(key.strip(), number.strip(), None, known, found, problems)
    return found, tuple(problems)


def covers_file(text: str, file: str, known: Iterable[str]) -> tuple[dict[str, int], tuple[Problem, ...]]:
    """Covers by dish, from a file of ``dish: covers`` lines, under ``covers:`` or at the top level."""
    node, problems = parse(text, file)
    found: dict[str, int] = {}
    faults = list(problems)
    known = tuple(known)
    if isinstance(node, Mapping) and isinstance(inside := node.get("covers"), Mapping):
        node = inside
    if not isinstance(node, Mapping):
        if not faults:
            faults.append(
                error(
                    "covers",
                    Span(file),
                    "a file of covers needs a line for each dish",
                    "write it as in char-cucumber: 24",
                )
            )
        return found, tuple(faults)
    for key, value in node.entries.items():
        if isinstance(value, Scalar):
            _count(key, value.text, value.span, known, found, faults, node.place(key))
        else:
            faults.append(
                error("covers", value.span, f"the covers of '{key}' should be a whole number", "write it as in 24")
            )
    return found, tuple(faults)


def _count(
    key: str,
    number: str,
    span: Span | None,
    known: tuple[str, ...],
    found: dict[str, int],
    problems: list[Problem],
    key_span: Span | None = None,
) -> None:
    """Add one dish's covers to ``found``, or what is wrong with them to ``problems``."""
    # A dish may be named by its file, as everywhere else.
    key = re.sub(r"\.ya?ml\Z", "", key.replace("\\", "/").rsplit("/", 1)[-1])
    if key not in known:
        problems.append(
            error(
                "unknown-dish",
                key_span or span,
                f"there is no dish '{key}'",
                did_you_mean(key, known) or "dishes: " + ", ".join(sorted(known)[:20]),
            )
        )
        return
    if re.fullmatch(r"[-−]\s*\d+(\.\d+)?", number):
        problems.append(
            error(
                "negative-covers",
                span,
                f"{key}: {number} covers; there cannot be fewer than none",
                "write how many are booked, or 0",
            )
        )
    elif not re.fullmatch(r"\d{1,9}", number):
        problems.append(
            error("covers", span, f"{key}: '{number}' is not a whole number of covers", "write it as in 24")
        )
    elif int(number) > MOST_COVERS:
        problems.append(error("covers", span, f"{key}: {number} covers are more than {MOST_COVERS}"))
    else:
        found[key] = found.get(key, 0) + int(number)


def day(text: str | None) -> tuple[date | None, tuple[Problem, ...]]:
    """The day of service, from ``--date 2026-11-28``; None if it was not given."""
    if text is None:
        return None, ()
    try:
        return date.fromisoformat(text), ()
    except ValueError:
        return None, (error("no-such-date", None, f"--date: there is no day '{text}'", as_a_day(text)),)


def work(
    menu: Iterable[Begun], asked: dict[str, int], world: World, on: date | None = None
) -> tuple[Work, tuple[Problem, ...]]:
    """The plan for the covers ``asked``; a dish whose spec cannot be read is listed in it as not known."""
    rows: list[tuple[Resolved, int]] = []
    lost: list[prep.Gap] = []
    problems: list[Problem] = []
    for begun in menu:
        if begun.key not in asked:
            continue
        if begun.resolved is None:
            lost.append(
                prep.Gap(
                    begun.key,
                    f"its spec cannot be read, so nothing for its {asked[begun.key]} covers is counted",
                    Span(begun.file),
                )
            )
        else:
            rows.append((begun.resolved, asked[begun.key]))
        problems += [p for p in begun.problems if p.is_error]
    plan = prep.plan(rows, world.kitchen)
    if lost:
        plan = prep.Plan(
            plan.covers, plan.makes, plan.picks, plan.leaves, plan.exact, plan.to_hand, (*lost, *plan.gaps)
        )
    return Work(plan, orders.orders(plan.leaves, world.kitchen), world.kitchen, on), tuple(dict.fromkeys(problems))


# --------------------------------------------------------------------------- preparation: text, data, spreadsheet


def in_words(work: Work, place: PlaceOf) -> list[str]:
    """The lists as lines, each with a box to tick."""
    plan, system, settings = work.plan, work.system, work.kitchen.settings
    lines = [f"Preparation for {prep_list.covers(plan)}"]
    to_do = [m for m in plan.makes if m.batches or m.is_least]
    for days, stations in by_day(to_do, settings):
        lines += ["", day_of(days, work.day)]
        for station, makes in stations:
            lines.append(f"  {settings.station(station) if station else 'No station'}")
            for m in makes:
                lines.append(
                    f"    [ ] {m.batch.recipe.called}: {to_make(m, system) if m.batches else 'not known'}"
                    f" ({'; '.join(why(m, system))})"
                )
                lines += [f"        {note}" for note in m.notes]
                if m.flags:
                    lines.append(f"        does not scale in proportion: {', '.join(f.called for f in m.flags)}")
    if plan.picks:
        lines += ["", "Trim, pick and cut, for the plate as it is"]
        lines += [f"    [ ] {p.called}: {pick(p, system)} ({p.dish})" for p in plan.picks]
    if ready := [m for m in plan.makes if not m.batches and not m.is_least]:
        lines += ["", "Nothing to make"]
        lines += [f"    {m.batch.recipe.called}: {'; '.join(why(m, system))}" for m in ready]
    if plan.to_hand:
        lines += ["", "To hand"]
        lines += [f"    [ ] {h.called}, {h.amount}: {h.used_for}" for h in plan.to_hand]
    if work.orders:
        lines += ["", "Order list"]
    for name, found in by_supplier(work.orders).items():
        lines.append(f"  {supplier(name)}")
        for o in found:
            price = f"; {money(o.cost)}" if o.cost is not None and o.packs else ""
            lines.append(
                f"    [ ] {bought(o, system)}  {o.called}{f' [{o.code}]' if o.code else ''}"
                f" ({'; '.join(need(o, system))}{price})"
            )
            lines += [f"        more may be needed: {reason}" for reason in o.open]
    for currency, total in totals(work.orders).items():
        lines.append(f"  the priced lines come to {money(Money(total, currency))}")
    if plan.gaps:
        lines += ["", "Not known"]
        for g in plan.gaps:
            lines.append(f"    {gap(g)}" + (f" ({_at(g.span, place)})" if g.span else ""))
            lines += [f"        {g.hint}"] if g.hint else []
    return lines


def _at(span: Span | None, place: PlaceOf) -> str:
    found = place(span)
    return f"{found['file']}:{found['line']}"


def _number(value: Fraction | None) -> float | None:
    return None if value is None else round(float(value), 6)


def _money(m: Money | None) -> dict[str, object] | None:
    return None if m is None else {"amount": round(float(m.amount), 4), "currency": m.currency}


_BASE = {"mass": "g", "volume": "ml"}


def as_data(work: Work, place: PlaceOf) -> dict[str, object]:
    """The lists for JSON: numbers in base units (g, ml, pieces), and the same in words."""
    plan, system, settings = work.plan, work.system, work.kitchen.settings
    return {
        "covers": [
            {"dish": one.key, "title": one.title, "covers": one.covers, "plates": one.plates} for one in plan.covers
        ],
        "date": work.day.isoformat() if work.day else None,
        "make": [
            _make_data(m, days, station, work)
            for days, stations in by_day(plan.makes, settings)
            for station, makes in stations
            for m in makes
        ],
        "pick": [
            {"component": p.called, "station": p.station, "dish": p.dish, "pieces": p.pieces, "grams": _number(p.grams)}
            for p in plan.picks
        ],
        "to_hand": [{"what": h.called, "amount": h.amount, "for": h.used_for} for h in plan.to_hand],
        "order": [_order_data(o, system) for o in work.orders],
        "order_total": [{"amount": round(float(v), 2), "currency": c} for c, v in totals(work.orders).items()],
        "not_known": [{"what": g.what, "why": g.why, "hint": g.hint, **place(g.span)} for g in plan.gaps],
        "caution": wording.CAUTION,
    }


def _make_data(m: Make, days: int | None, station: str, work: Work) -> dict[str, object]:
    q = m.batch.recipe.makes
    system = work.system
    unit = None if q is None else _BASE.get(q.kind, q.unit)

    def value(share: Fraction) -> float | None:
        return None if q is None else _number(q.mean * share)

    return {
        "recipe": m.batch.recipe.key,
        "called": m.batch.recipe.called,
        "station": station,
        "days_before": days,
        "unit": unit,
        "need": value(m.need),
        "need_exact": value(m.exact),
        "need_is_least": m.is_least,
        "par": value(m.par),
        "on_hand": value(m.on_hand),
        "batches": m.batches,
        "batch_makes": value(1 - m.batch.recipe.left_behind),
        "left_over": value(m.left_over),
        "keeps": m.batch.recipe.keeps,
        "made_ahead": m.batch.recipe.made_ahead,
        "for": list(m.used_for),
        "notes": list(m.notes),
        "does_not_multiply": [{"what": f.called, "kind": f.kind, "why": f.why} for f in m.flags],
        "ingredients": [{"what": name, "amount": said} for name, said, _ in scaled(m, system)] if m.batches else [],
        "in_words": to_make(m, system),
    }


def _order_data(o: Order, system: str) -> dict[str, object]:
    return {
        "kind": o.key[0],
        "key": o.key[1],
        "called": o.called,
        "supplier": o.supplier or None,
        "code": o.code or None,
        "unit": _BASE.get(o.kind, o.word),
        "need": _number(o.need),
        "par": _number(o.par),
        "on_hand": _number(o.on_hand),
        "pack": o.pack.text if o.pack else None,
        "packs": o.packs,
        "buy": _number(o.buy),
        "over": _number(o.over),
        "cost": _money(o.cost),
        "at_least": bool(o.open),
        "open": list(o.open),
        "trim": list(o.trims),
        "for": list(o.used_for),
        "in_words": bought(o, system),
    }


def as_csv(work: Work) -> str:
    """All lists in one CSV table (RFC 4180); the column ``list`` is make, pick, to hand, order or not known."""
    out = io.StringIO()
    rows = csv.writer(out)
    system, settings = work.system, work.kitchen.settings
    rows.writerow(["list", "day", "place", "what", "code", "do", "need", "on hand", "left over", "cost", "note"])
    for days, stations in by_day(work.plan.makes, settings):
        for station, makes in stations:
            for m in makes:
                rows.writerow(
                    _plain(
                        "make",
                        day_of(days, work.day),
                        settings.station(station),
                        m.batch.recipe.called,
                        "",
                        to_make(m, system) if m.batches or not m.is_least else "not known",
                        ("at least " if m.is_least else "") + made(m, m.need, system, up=True),
                        made(m, m.on_hand, system) if m.on_hand else "",
                        made(m, m.left_over, system) if m.left_over > 0 else "",
                        "",
                        "; ".join([*m.notes, *(f"does not scale in proportion: {f.called}" for f in m.flags)]),
                    )
                )
    for p in work.plan.picks:
        rows.writerow(
            _plain(
                "pick",
                day_of(0, work.day),
                settings.station(p.station),
                p.called,
                "",
                pick(p, system),
                "",
                "",
                "",
                "",
                p.dish,
            )
        )
    for h in work.plan.to_hand:
        rows.writerow(_plain("to hand", "", "", h.called, "", h.amount, "", "", "", "", h.used_for))
    for o in work.orders:
        rows.writerow(
            _plain(
                "order",
                "",
                supplier(o.supplier),
                o.called,
                o.code,
                bought(o, system),
                amount(o, o.need, system, up=True),
                amount(o, o.on_hand, system) if o.on_hand else "",
                amount(o, o.over, system) if o.over else "",
                money(o.cost) if o.cost else "",
                "; ".join([*o.open, *o.trims]),
            )
        )
    for g in work.plan.gaps:
        rows.writerow(_plain("not known", "", "", g.what, "", "", "", "", "", "", g.why))
    rows.writerow(_plain(wording.CAUTION))
    return out.getvalue()


def _plain(*cells: str) -> list[str]:
    """The cells, with an apostrophe before those that a spreadsheet would take for a formula."""
    return [f"'{c}" if c[:1] in ("=", "+", "-", "@", "\t") else c for c in cells]


def as_pdf(work: Work) -> bytes:
    """The lists as a PDF to print."""
    from platecard.drawing import pdf

    settings = work.kitchen.settings
    return pdf.write(
        prep_list.compose(work),
        title="Preparation and order list",
        author=settings.called,
        subject=prep_list.covers(work.plan)[:200],
        language=settings.language,
    )


# --------------------------------------------------------------------------- cost


def cost_of(begun: Begun, kitchen: Kitchen) -> cost.DishCost | None:
    """What the dish costs; None if its spec cannot be read."""
    return cost.of_dish(begun.resolved, kitchen) if begun.resolved is not None else None


def cost_in_words(begun: Begun, found: cost.DishCost | None, place: PlaceOf) -> list[str]:
    """The cost as lines: each part, the whole plate, its share of the price, the dearest parts, what is not known."""
    if found is None:
        return [f"{begun.key}: not known; its spec cannot be read"]
    lines = [begun.dish.title if begun.dish else begun.key]
    wide = max((len(p.component.called) for p in found.parts), default=0)
    for p in found.parts:
        said = "not known" if p.money is None else f"{'at least ' if p.is_least else ''}{money(p.money)}"
        weight = f"{rounding.amount('mass', p.grams)} on the plate" if p.grams is not None else "weight not known"
        kilo = f", {money(p.per_kg)} a kilo" if p.per_kg and not p.is_least else ""
        lines.append(
            f"  {p.component.called:<{wide}}  {said}  ({weight}{kilo})"
            + (f"; without {', '.join(p.untold)}, to taste" if p.untold else "")
        )
    least = "at least " if found.is_least else ""
    lines.append(f"  the plate: {least}{money(found.money)}" if found.money else "  the plate: not known")
    guests = begun.dish.guests if begun.dish else 1
    if guests > 1 and found.money:
        each = Money(found.money.amount / guests, found.money.currency)
        lines.append(f"  each of {guests} guests: {least}{money(each)}")
    if found.share is not None and found.net is not None:
        lines.append(
            f"  food cost: {least}{rounding.percent(Fraction(round(found.share * 1000), 1000))} of"
            f" {money(found.net)} net"
        )
    elif found.net is None:
        lines.append("  food cost: no price is entered for the dish")
    else:
        lines.append("  food cost: not known")
    if found.dearest:
        lines.append(
            "  dearest: "
            + ", ".join(
                f"{p.component.called} {'at least ' if p.is_least else ''}{money(p.money)}"
                for p in found.dearest
                if p.money is not None
            )
        )
    gaps = list(dict.fromkeys(g for p in found.parts for g in p.gaps)) + list(found.gaps)
    if gaps:
        lines.append("  not known:")
        lines += [f"    {gap(g)}" + (f" ({_at(g.span, place)})" if g.span else "") for g in gaps]
    return lines


def cost_as_data(begun: Begun, found: cost.DishCost | None, place: PlaceOf) -> dict[str, object]:
    """The cost for JSON."""
    if found is None:
        return {
            "dish": begun.key,
            "cost": None,
            "at_least": True,
            "net_price": None,
            "food_cost_share": None,
            "parts": [],
            "dearest": [],
            "not_known": [{"what": begun.key, "why": "its spec cannot be read", "file": begun.file, "line": None}],
        }
    return {
        "dish": begun.key,
        "cost": _money(found.money),
        "at_least": found.is_least,
        "net_price": _money(found.net),
        "food_cost_share": _number(found.share),
        "parts": [
            {
                "component": p.component.key,
                "called": p.component.called,
                "cost": _money(p.money),
                "at_least": p.is_least,
                "grams": _number(p.grams),
                "per_kg": None if p.is_least else _money(p.per_kg),
                "items": [{"what": i.called, "cost": _money(i.money)} for i in p.items],
                "to_taste": list(p.untold),
            }
            for p in found.parts
        ],
        "dearest": [p.component.key for p in found.dearest],
        "not_known": [
            {"what": g.what, "why": g.why, **place(g.span)}
            for g in (*(g for p in found.parts for g in p.gaps), *found.gaps)
        ],
    }


def is_open(begun: Begun) -> bool:
    """Whether an error in the spec leaves the figures in doubt."""
    return begun.resolved is None or has_errors(begun.problems)
