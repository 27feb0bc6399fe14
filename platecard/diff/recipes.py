"""What changed in the recipes and products that both dishes are made of, at any depth.

The spec need not have changed for that: a recipe that gained butter shows here.  Amounts
that a cook would weigh alike are no change, and a batch that only grew or shrank as a
whole is told once.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator
from fractions import Fraction

from platecard.diagnostics import Span, listed
from platecard.diff.change import Change, bare, changed, differing, others
from platecard.diff.change_words import percent, quoted, rounds_alike
from platecard.knowledge import claims
from platecard.model import Product, Recipe, RecipeLine, Supply
from platecard.model.handling import Handling
from platecard.prepared import Prepared
from platecard.quantities.amounts import unit_of
from platecard.quantities.clock import spoken
from platecard.quantities.units import Quantity, shown
from platecard.recipes.resolved import Batch, Bought, within_dish
from platecard.service import rounding as amounts

_LINE = ("source", "span", "amount", "amount_span", "stays", "trim_yield", "note", "handling", "reused")
_FIELDS = {
    "called": "its name",
    "station": "its station",
    "made_ahead": "made ahead",
    "keeps": "it keeps",
    "takes_up_water": "takes up water",
    "density": "its density",
    "each_g": "grams of one",
}
_SHARE = Fraction(1, 200)  # proportions closer than this are the same on any kitchen scale


def compare(old: Prepared, new: Prepared) -> Iterator[Change]:
    """The changes in the recipes and products that are in both dishes."""
    recipes_a, products_a = inside(old)
    recipes_b, products_b = inside(new)
    for key, recipe in recipes_b.items():
        if key in recipes_a:
            yield from _recipe(recipes_a[key], recipe)
    for key, product in products_b.items():
        if key in products_a:
            yield from _product(products_a[key], product)


def inside(one: Prepared) -> tuple[dict[str, Recipe], dict[str, Product]]:
    """Every recipe and product in the dish, by key, from the top down."""
    recipes: dict[str, Recipe] = {}
    products: dict[str, Product] = {}

    for what in within_dish(one.resolved) if one.resolved else ():
        if isinstance(what, Batch):
            recipes[what.recipe.key] = what.recipe
        elif isinstance(what, Bought):
            products[what.product.key] = what.product
    return recipes, products


# --------------------------------------------------------------------------- recipes


def _recipe(was: Recipe, now: Recipe) -> Iterator[Change]:
    key = now.key
    name = now.called
    pairs = _lines(was.lines, now.lines)
    grown = _grown(was, now, pairs)
    for a, b in pairs:
        if a is not None and b is not None:
            yield from _same_line(a, b, now, grown)
        elif b is not None:
            yield changed("recipe", key, None, _line(b), f"{name}: {_line(b)} came in", b.span)
        elif a is not None:
            yield changed("recipe", key, _line(a), None, f"{name}: {_line(a)} is gone", None, a.span)
    if grown is not None:
        words = (
            f"{name}: the batch makes {_makes(now.makes)}, {percent(grown)}, in the same proportions; before"
            f" {_makes(was.makes)}"
        )
        yield changed("recipe", key, _makes(was.makes), _makes(now.makes), words, now.makes_span)
    elif not _alike(was.makes, now.makes):
        share = ""
        if was.makes and now.makes and unit_of(was.makes) == unit_of(now.makes):
            more = percent(now.makes.mean / was.makes.mean)
            share = f", {more}" if more else ""
        yield changed(
            "recipe",
            key,
            _makes(was.makes),
            _makes(now.makes),
            f"{name}: makes {_makes(now.makes)}{share}; before {_makes(was.makes)}",
            now.makes_span,
        )
    if was.method != now.method:
        yield changed(
            "recipe",
            key,
            " ".join(was.method) or None,
            " ".join(now.method) or None,
            f"{name}: {_method(was.method, now.method)}",
            now.span,
        )
    if set(was.equipment) != set(now.equipment):
        yield gear(name, key, was.equipment, now.equipment, now.span)
    if was.left_behind != now.left_behind:
        before, after = (amounts.percent(r.left_behind) for r in (was, now))
        yield changed("recipe", key, before, after, f"{name}: {after} stays behind; before: {before}", now.span)
    yield from handling(name, key, was.handling, now.handling, now.span, "recipe")
    for field, said in _FIELDS.items():
        x, y = getattr(was, field), getattr(now, field)
        if x != y:
            yield changed(
                "recipe",
                key,
                _value(x),
                _value(y),
                f"{name}: {said}: {_value(y) or 'not stated'}; before: {_value(x) or 'not stated'}",
                now.span,
            )
    known = (*_FIELDS, "makes", "lines", "method", "equipment", "handling", "left_behind", "ahead", "keeping")
    yield from others("recipe", key, name, was, now, known, now.span)


def _value(value: str | Fraction | bool | None) -> str | None:
    """The value of a field in words; None where it is not said."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    return shown(value, 3) if isinstance(value, Fraction) else value or None


def gear(name: str, key: str, was: tuple[str, ...], now: tuple[str, ...], span: Span) -> Change:
    """The change in the equipment that something goes through."""
    came, left = ([k for k in a if k not in b] for a, b in ((now, was), (was, now)))
    said = " and ".join(
        w for w in (f"now on {listed(came)}" if came else "", f"no longer on {listed(left)}" if left else "") if w
    )
    return changed("equipment", key, listed(sorted(was)) or None, listed(sorted(now)) or None, f"{name}: {said}", span)


def handling(name: str, key: str, was: Handling, now: Handling, span: Span, kind: str) -> Iterator[Change]:
    """The changes in how something is treated, field by field; the cautions depend on these."""
    for field in differing(was, now):
        a, b = (treated(getattr(h, field)) for h in (was, now))
        yield changed(
            kind,
            key,
            a,
            b,
            f"{name}: {field.replace('_', ' ')}: {b or 'not stated'}; before: {a or 'not stated'}",
            span,
        )


def treated(value: object) -> str | None:
    """One field of a :class:`~platecard.model.handling.Handling` or a finishing step in words; None where not said."""
    if value is None or value == "" or value == () or value is False:
        return None
    if value is True:
        return "yes"
    if isinstance(value, (str, int)):
        return str(value)
    if isinstance(value, tuple):
        return listed(v if isinstance(v, str) else treated(v) or "" for v in value)
    said = []
    for name in ("celsius", "at_c", "to_c"):
        if getattr(value, name, None) is not None:
            warmest = getattr(value, "warmest_c", None)
            to = f" to {shown(warmest)}" if warmest is not None and warmest != getattr(value, name) else ""
            said.append(f"{shown(getattr(value, name))}{to} °C")
    for name, word in (("for_s", "for"), ("up_to_s", "up to"), ("within_s", "within")):
        if getattr(value, name, None) is not None:
            said.append(f"{word} {spoken(getattr(value, name))}")
    said += [getattr(value, name) for name in ("record", "exempt") if getattr(value, name, "")]
    return " ".join(said) or "yes"


def _lines(
    was: tuple[RecipeLine, ...], now: tuple[RecipeLine, ...]
) -> list[tuple[RecipeLine | None, RecipeLine | None]]:
    """The lines of two recipes in pairs, by their source; several of one source pair in their order."""
    free = list(was)
    pairs: list[tuple[RecipeLine | None, RecipeLine | None]] = []
    for b in now:
        a = next((x for x in free if (x.source.kind, x.source.name) == (b.source.kind, b.source.name)), None)
        if a is not None:
            free.remove(a)
        pairs.append((a, b))
    return [*pairs, *((a, None) for a in free)]


def _grown(was: Recipe, now: Recipe, pairs: list[tuple[RecipeLine | None, RecipeLine | None]]) -> Fraction | None:
    """The factor by which the whole batch grew or shrank; None where its proportions or lines changed."""
    if was.makes is None or now.makes is None or unit_of(was.makes) != unit_of(now.makes):
        return None
    factor = now.makes.mean / was.makes.mean
    if factor == 1:
        return None
    for a, b in pairs:
        if a is None or b is None:
            return None
        if a.amount is None or b.amount is None or a.amount.kind == "unmeasured" or b.amount.kind == "unmeasured":
            if bare(a.amount, "text") != bare(b.amount, "text"):
                return None
        elif (
            unit_of(a.amount) != unit_of(b.amount)
            or not a.amount.mean
            or abs(b.amount.mean / a.amount.mean / factor - 1) > _SHARE
        ):
            return None
    return factor


def _alike(a: Quantity | None, b: Quantity | None) -> bool:
    if a is None or b is None:
        return a is b
    if a.kind == "unmeasured" or b.kind == "unmeasured":
        return a.kind == b.kind and a.text == b.text
    return rounds_alike(a, b)


def _same_line(a: RecipeLine, b: RecipeLine, recipe: Recipe, grown: Fraction | None) -> Iterator[Change]:
    name, what = recipe.called, thing(b)
    if grown is None and not _alike(a.amount, b.amount):
        before, after = (x.amount.text if x.amount else None for x in (a, b))
        share = ""
        if a.amount and b.amount and unit_of(a.amount) == unit_of(b.amount) and a.amount.mean:
            more = percent(b.amount.mean / a.amount.mean)
            share = f"{more}: " if more else ""
        yield changed(
            "recipe",
            recipe.key,
            before,
            after,
            f"{name}: {what}, {share}{after or 'no amount'}, before {before or 'no amount'}",
            b.amount_span or b.span,
        )
    for field, said in (("stays", "stays in it"), ("trim_yield", "is left after trimming")):
        x, y = getattr(a, field), getattr(b, field)
        if x != y:
            before, after = (amounts.percent(v) if v is not None else None for v in (x, y))
            yield changed(
                "recipe",
                recipe.key,
                before,
                after,
                f"{name}: of {what} {after or 'an unstated share'} {said}; before: {before or 'not stated'}",
                b.span,
            )
    if a.note != b.note:
        yield changed(
            "recipe",
            recipe.key,
            a.note or None,
            b.note or None,
            f"{name}: {what}: the note is {quoted(b.note)}; before: {quoted(a.note)}",
            b.span,
        )
    if a.reused != b.reused:
        yield changed(
            "recipe",
            recipe.key,
            _value(a.reused),
            _value(b.reused),
            f"{name}: {what} {'is' if b.reused else 'is not'} used again",
            b.span,
        )
    yield from handling(f"{name}: {what}", recipe.key, a.handling, b.handling, b.span, "recipe")
    yield from others("recipe", recipe.key, f"{name}: {what}", a, b, _LINE, b.span)


def thing(line: RecipeLine) -> str:
    """What a line of a recipe takes, in words."""
    return line.source.name.replace("-", " ") if line.source.kind != "ingredient" else claims.in_full(line.source.name)


def _line(line: RecipeLine) -> str:
    return f"{line.amount.text} {thing(line)}" if line.amount else thing(line)


def _makes(makes: Quantity | None) -> str | None:
    return makes.text if makes else None


def _method(was: tuple[str, ...], now: tuple[str, ...]) -> str:
    came, left = [s for s in now if s not in was], [s for s in was if s not in now]
    if not came and not left:
        return "the steps of its method are in a different order"
    said = [f"the method now says: {' / '.join(came)}"] if came else []
    return "; ".join([*said, *([f"{'no longer' if not came else 'before'}: {' / '.join(left)}"] if left else [])])


# --------------------------------------------------------------------------- products


def _product(was: Product, now: Product) -> Iterator[Change]:
    key = now.key
    name = claims.in_full(now.called)
    a, b = was.label, now.label
    if a is None or b is None:
        if a is not b:
            yield changed(
                "product",
                key,
                f"read {a.read}" if a else None,
                f"read {b.read}" if b else None,
                f"{name}: {f'its label was entered (read {b.read})' if b else 'its label is no longer entered'}",
                b.span if b else now.span,
            )
    else:
        for field, says in (
            ("contains", "its label says it contains"),
            ("may_contain", "its label says it may contain"),
        ):
            had, has = (tuple(w for w, _ in getattr(label, field)) for label in (a, b))
            if set(had) != set(has):
                yield changed(
                    "product",
                    key,
                    listed(had) or None,
                    listed(has) or None,
                    f"{name}: {says} {listed(has) or 'nothing'}; before: {listed(had) or 'nothing'}",
                    b.span,
                )
        if a.read != b.read:
            yield changed(
                "product",
                key,
                a.read,
                b.read,
                f"{name}: its label was read on {b.read}; before on {a.read}",
                b.span,
            )
        if a.text != b.text:
            yield changed(
                "product",
                key,
                a.text or None,
                b.text or None,
                f"{name}: the text of its label has changed",
                b.text_span or b.span,
            )
        if a.sulphites_mg_kg != b.sulphites_mg_kg:
            before, after = (
                f"{shown(v, 3)} mg/kg" if v is not None else None for v in (a.sulphites_mg_kg, b.sulphites_mg_kg)
            )
            yield changed(
                "product",
                key,
                before,
                after,
                f"{name}: sulphites on its label: {after or 'not stated'}; before: {before or 'not stated'}",
                b.span,
            )
    for field, said in (
        ("called", "its name"),
        ("is_a", "it is"),
        ("supplier", "supplier"),
        ("code", "code"),
        ("density", "density"),
        ("piece_g", "grams of one piece"),
    ):
        x, y = getattr(was, field), getattr(now, field)
        if x != y:
            yield changed(
                "product",
                key,
                _value(x),
                _value(y),
                f"{name}: {said}: {_value(y) or 'not stated'}; before: {_value(x) or 'not stated'}",
                now.span,
            )
    for field in ("also", "parts"):
        if bare(getattr(was, field)) != bare(getattr(now, field)):
            before, after = (
                ", ".join(p if isinstance(p, str) else p[0] for p in getattr(one, field)) or None for one in (was, now)
            )
            yield changed(
                "product",
                key,
                before,
                after,
                f"{name}: {'other names' if field == 'also' else 'what it is cut into'}: {after or 'nothing'}; before:"
                f" {before or 'nothing'}",
                now.span,
            )
    yield from others(
        "product",
        key,
        name,
        was,
        now,
        ("called", "is_a", "supplier", "code", "density", "piece_g", "also", "parts", "label", "unread"),
        now.span,
    )
    if a is not None and b is not None:
        known = ("read", "contains", "may_contain", "text", "sulphites_mg_kg", "sulphites_unread")
        yield from others("product", key, f"{name}: its label", a, b, known, b.span)


def supplies(old: Prepared, new: Prepared) -> Iterator[tuple[str, str, Supply | None, Supply | None]]:
    """What is in both dishes, with what is known of stocking and buying it: (kind, key, old, new)."""
    (recipes_a, products_a), (recipes_b, products_b) = inside(old), inside(new)
    kinds: tuple[tuple[str, Collection[str], Collection[str]], ...] = (
        ("recipe", recipes_a, recipes_b),
        ("product", products_a, products_b),
    )
    for kind, before, after in kinds:
        for key in after:
            if key in before:
                yield kind, key, old.world.kitchen.supply(kind, key), new.world.kitchen.supply(kind, key)
