"""What changed in serving the dish: equipment, plate, cost, cautions, expo's checks, the card's words."""

from __future__ import annotations

from collections.abc import Iterator
from fractions import Fraction

from platecard.diagnostics import listed
from platecard.diff import recipes
from platecard.diff.change import (
    BETTER,
    CHANGED,
    WORSE,
    Change,
    bare,
    changed,
    differing,
    dish_of,
    others,
    resolved_of,
)
from platecard.diff.change_words import quoted
from platecard.diff.matching import Matched
from platecard.diff.timing import timing
from platecard.documents.text import wording
from platecard.model import Dish, Plate, Supply
from platecard.prepared import Prepared
from platecard.quantities.money import Money
from platecard.quantities.units import shown
from platecard.service import cost, verdicts
from platecard.service.cautions import Item

_PLATE = {
    "called": "name",
    "form": "form",
    "outer_mm": "outer size",
    "outer_far_mm": "outer size towards the guest",
    "well_mm": "well",
    "well_far_mm": "well towards the guest",
    "depth_mm": "depth",
    "corner_mm": "corner",
    "colour": "colour",
}


def compare(old: Prepared, new: Prepared, matched: Matched) -> Iterator[Change]:
    """The changes in how the dish is served."""
    for was, now in matched.both():
        if set(was.equipment) != set(now.equipment):
            yield recipes.gear(now.called, now.key, was.equipment, now.equipment, now.span)
        yield from recipes.handling(now.called, now.key, was.handling, now.handling, now.span, "caution")
    yield from _plate(old, new)
    yield from _cost(old, new)
    yield from timing(old, new, matched)
    yield from _cautions(old, new, matched)
    before, after = dish_of(old), dish_of(new)
    yield from _expo(before, after)
    yield from _words(before, after)
    yield from _acknowledged(before, after)


def _plate(old: Prepared, new: Prepared) -> Iterator[Change]:
    was, now = resolved_of(old).plate, resolved_of(new).plate
    old_dish, dish = dish_of(old), dish_of(new)
    if old_dish.plate != dish.plate:
        yield changed(
            "plate",
            "plate",
            old_dish.plate,
            dish.plate,
            f"served on {_said(now, dish)}; before: {_said(was, old_dish)}",
            dish.plate_span,
        )
    elif was is not None and now is not None:
        for field in differing(was, now, "key"):
            a, b = (_mm(getattr(p, field)) for p in (was, now))
            yield changed(
                "plate",
                "plate",
                a,
                b,
                f"{now.called}: {_PLATE.get(field, field)} {b or 'not stated'}; before: {a or 'not stated'}",
                now.span,
            )
    if old_dish.guests != dish.guests:
        yield changed(
            "plate",
            "for",
            str(old_dish.guests),
            str(dish.guests),
            f"one plate is for {dish.guests}; before: for {old_dish.guests}",
            dish.span,
        )
    before, after = dict(old_dish.serve), dict(dish.serve)
    for key, words in (("plate", wording.SERVE), ("food", wording.FOOD)):
        a, b = before.get(key), after.get(key)
        if a != b:
            yield changed(
                "serve",
                key,
                a,
                b,
                f"{words.get(b or '', f'{key} temperature not stated')}; before: {words.get(a or '', 'not stated')}",
                dish.span,
            )


def _said(plate: Plate | None, dish: Dish) -> str:
    return (
        f"{plate.called} ({shown(plate.outer_mm)} mm, well {shown(plate.well_mm)} mm)"
        if plate is not None
        else dish.plate or "no plate"
    )


def _mm(value: Fraction | str | None) -> str | None:
    return f"{shown(value)} mm" if isinstance(value, Fraction) else value or None


def _cost(old: Prepared, new: Prepared) -> Iterator[Change]:
    dish = dish_of(new)
    was, now = (cost.of_dish(resolved_of(one), one.world.kitchen) for one in (old, new))
    a, b = (_money(c.money, c.is_least) for c in (was, now))
    if a != b:
        by = ""
        # Which of two costs is more is not known where one of them is an "at least".
        if was.money and now.money and was.money.currency == now.money.currency and not (was.is_least or now.is_least):
            apart = now.money.amount - was.money.amount
            if apart:
                by = f", {_money(Money(abs(apart), now.money.currency))} {'more' if apart > 0 else 'less'}"
        yield changed(
            "cost",
            "plate",
            a,
            b,
            f"the plate costs {b or 'what is not known'}{by}; before: {a or 'not known'}",
            dish.span,
        )
    x, y = (f"{_money(c.net)} net" if c.net else None for c in (was, now))
    if x != y:
        yield changed(
            "cost",
            "price",
            x,
            y,
            f"sold for {y or 'a price that is not entered'}; before: {x or 'not entered'}",
            dish.price.span if dish.price else dish.span,
        )
    s, t = (
        f"{'at least ' if c.is_least else ''}{shown(c.share * 100)} %" if c.share is not None else None
        for c in (was, now)
    )
    if s != t:
        yield changed(
            "cost",
            "share",
            s,
            t,
            f"food cost is {t or 'not known'} of the net price; before: {s or 'not known'}",
            dish.span,
        )
    for kind, key, had, has in recipes.supplies(old, new):
        p, q = (_price(s) for s in (had, has))
        if p != q:
            yield changed(
                "cost",
                key,
                p,
                q,
                f"{kind} {key.replace('-', ' ')}: its price is {q or 'not entered'}; before: {p or 'not entered'}",
                has.span if has else None,
                had.span if had else None,
            )


def _price(supply: Supply | None) -> str | None:
    if supply is None or supply.price is None:
        return None
    per = supply.price_for or supply.pack
    return f"{_money(supply.price)}" + (f" for {per.text}" if per else "")


def _money(m: Money | None, is_least: bool = False) -> str | None:
    return f"{'at least ' if is_least else ''}{float(m.amount):.2f} {m.currency}" if m is not None else None


def _cautions(old: Prepared, new: Prepared, matched: Matched) -> Iterator[Change]:
    keys = matched.renamed()
    names = {a.called: b.called for a, b in matched.both()}
    before = {
        (c.rule, keys.get(i.component, i.component), names.get(i.what, i.what)): (c, i)
        for c in old.cautions
        for i in c.items
    }
    after = {(c.rule, i.component, i.what): (c, i) for c in new.cautions for i in c.items}
    for key, (caution, item) in after.items():
        if key not in before:
            yield changed(
                "caution",
                item.component or caution.rule,
                None,
                _item(item),
                f"new caution, {caution.topic}: {_item(item)}",
                item.span,
                severity=WORSE,
            )
        elif (was := before[key][1]) and (was.said, was.missing, was.judged) != (item.said, item.missing, item.judged):
            outside, before_it = ({j.code for j in i.judged if j.verdict is verdicts.OUTSIDE} for i in (item, was))
            severity = (
                WORSE
                if set(item.missing) - set(was.missing) or outside - before_it
                else BETTER
                if set(was.missing) - set(item.missing) or before_it - outside
                else CHANGED
            )
            yield changed(
                "caution",
                item.component or caution.rule,
                _item(was),
                _item(item),
                f"caution, {caution.topic}: {_item(item)}; before: {_item(was)}",
                item.span,
                severity=severity,
            )
    for key, (caution, item) in before.items():
        if key not in after:
            yield changed(
                "caution",
                key[1] or caution.rule,
                _item(item),
                None,
                f"no longer among the cautions, {caution.topic}: {_item(item)}",
                None,
                item.span,
                severity=BETTER,
            )


def _item(i: Item) -> str:
    judged = [f"{j.verdict} the figure of {j.code}" for j in i.judged if j.verdict is verdicts.OUTSIDE]
    said = i.what + (f", {i.said}" if i.said else "") + (f"; NOT STATED: {listed(i.missing)}" if i.missing else "")
    return f"{said}; {listed(judged)}" if judged else said


def _expo(old: Dish, new: Dish) -> Iterator[Change]:
    came, left = (
        [c for c in new.expo_checks if c not in old.expo_checks],
        [c for c in old.expo_checks if c not in new.expo_checks],
    )
    for said in came:
        yield changed("expo", "checks", None, said, f"expo now checks: {said}", new.span)
    for said in left:
        yield changed("expo", "checks", said, None, f"expo no longer checks: {said}", None, old.span)
    if not came and not left and old.expo_checks != new.expo_checks:
        yield changed(
            "expo",
            "checks",
            " / ".join(old.expo_checks),
            " / ".join(new.expo_checks),
            "expo's checks are in a different order",
            new.span,
        )


_DISH = (
    "title",
    "menu_line",
    "course",
    "guests",
    "guests",
    "note",
    "revision",
    "plate",
    "serve",
    "components",
    "steps",
    "expo_checks",
    "acknowledged",
    "plating_s",
    "check_s",
    "plates_warm_s",
    "price",
)


def _words(old: Dish, new: Dish) -> Iterator[Change]:
    for field, said in (
        ("title", "the dish is called"),
        ("menu_line", "the menu says"),
        ("course", "its course is"),
        ("note", "its note is"),
    ):
        a, b = getattr(old, field), getattr(new, field)
        if a != b:
            yield changed(
                "text",
                field.replace("_", " "),
                a or None,
                b or None,
                f"{said} {quoted(b)}; before: {quoted(a)}",
                new.span,
            )
    if bare(old.revision) != bare(new.revision):
        a, b = (
            (
                f"revision {d.revision.number} of {d.revision.date}"
                + (f" ({d.revision.note})" if d.revision.note else "")
                if d.revision
                else None
            )
            for d in (old, new)
        )
        yield changed(
            "text",
            "revision",
            a,
            b,
            f"{b or 'no revision'}; before: {a or 'no revision'}",
            new.revision.span if new.revision else new.span,
        )
    yield from others("text", "dish", "the dish", old, new, _DISH, new.span)


def _acknowledged(old: Dish, new: Dish) -> Iterator[Change]:
    """A change of the chef's record of the allergens seen."""
    if bare(old.acknowledged) != bare(new.acknowledged):
        a, b = (
            (
                f"revision {d.acknowledged.revision}: "
                + "; ".join(f"{k}: {', '.join(v)}" for k, v in d.acknowledged.laws)
                if d.acknowledged
                else None
            )
            for d in (old, new)
        )
        yield changed(
            "text",
            "acknowledged",
            a,
            b,
            f"allergens on record: {b or 'none'}; before: {a or 'none'}",
            new.acknowledged.span if new.acknowledged else None,
            old.acknowledged.span if old.acknowledged else None,
        )
