"""Recipe cards: how to make each recipe that a dish is made from.

In: a prepared dish.  Out: pages, one recipe after another, those nearest the plate first.
Each card has the ingredients for one batch and for ten plates of this dish, the method,
the yield, and the recipe's own allergens, derived for it alone.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction
from typing import NamedTuple

from platecard.allergens import cross_contact, statement, sulphites
from platecard.allergens.cross_contact import Shared
from platecard.allergens.statement import Statement
from platecard.documents.kit import allergen_block, caution_block, column_pages
from platecard.documents.kit.column_pages import Row
from platecard.documents.kit.sheet import GREY, INK, MARGIN, PAGES, PALE, Block, line_mm, paragraph
from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Rect, Scene, Style, Text
from platecard.model import Component, Dish, RecipeLine, Settings, Source, SourceKind
from platecard.prepared import Prepared, World
from platecard.recipes.resolved import Batch, Bought, Part, Resolved, Use, in_full
from platecard.service import prep, rounding, scaling, verdicts
from platecard.service.cautions import Caution
from platecard.service.prep import Make

PLATES = 10


class Card(NamedTuple):
    """One recipe of the dish with its allergens; ten plates take ``factor`` batches (None: not known)."""

    batch: Batch
    factor: Fraction | None
    used_for: tuple[str, ...]
    statements: tuple[Statement, ...]
    cautions: tuple[Caution, ...]


def cards(prepared: Prepared) -> tuple[Card, ...]:
    """The cards of a dish, the recipes nearest the plate first; ValueError if its spec could not be read."""
    world, resolved = prepared.world, prepared.resolved
    if resolved is None:
        raise ValueError(f"{prepared.key} has no recipe cards: its spec could not be read")
    found = prep.plan([(resolved, PLATES)], world.kitchen)
    made = sorted(found.makes, key=lambda m: m.depth)
    return tuple(
        Card(
            m.batch,
            _factor(m),
            m.used_for,
            of_recipe(m.batch, resolved, world, prepared.shared),
            world.cautioner.of(_alone(m.batch, resolved)),
        )
        for m in made
    )


def _factor(make: Make) -> Fraction | None:
    return None if make.is_least else make.exact / (1 - make.batch.recipe.left_behind)


def of_recipe(batch: Batch, resolved: Resolved, world: World, shared: Shared) -> tuple[Statement, ...]:
    """The statements of every law in force for one recipe alone, including shared equipment."""
    alone = _alone(batch, resolved)
    taxonomy, settings = world.tracer.taxonomy, world.kitchen.settings
    names = dict(settings.equipment)
    traces, relies_on = (
        (*world.tracer.dish(alone), *cross_contact.received(alone, shared, names)),
        cross_contact.relied_on(alone, shared, names),
    )
    sums = sulphites.sums(alone, taxonomy, world.tracer.texts)
    return tuple(statement.derive(traces, sums, law, taxonomy, settings.language, relies_on) for law in world.laws)


def _alone(batch: Batch, resolved: Resolved) -> Resolved:
    """The recipe as if it were a dish of its own.

    It keeps the key of its component, so that it is not counted as sharing equipment with itself.
    """
    recipe = batch.recipe
    own = next((p.component for p in resolved.parts if p.use.what is batch), None)
    key = (
        own.key
        if own
        else next((p.component.key for p in resolved.parts if _holds(p.use.what, recipe.key)), recipe.key)
    )
    source = Source(SourceKind.RECIPE, recipe.key, recipe.span)
    component = (
        replace(own, called=recipe.called, source=source)
        if own
        else Component(key, recipe.called, source, recipe.station, recipe.span)
    )
    use = Use(batch, recipe.called, recipe.span, batch.mass_g, batch.mass_g, Fraction(1))
    return Resolved(
        replace(resolved.dish, title=recipe.called, components=(component,), steps=()),
        (Part(component, use),),
        resolved.plate,
    )


def _holds(what: object, key: str) -> bool:
    """Whether a recipe is somewhere inside another."""
    return isinstance(what, Batch) and any(
        isinstance(u.what, Batch) and (u.what.recipe.key == key or _holds(u.what, key)) for u in what.lines
    )


# --------------------------------------------------------------------------- drawing


def compose(prepared: Prepared, fingerprint: str, is_draft: bool = False) -> tuple[Scene, ...]:
    """The pages of all cards of a dish; none if nothing on the plate is made from a recipe."""
    dish, settings = prepared.dish, prepared.world.kitchen.settings
    if dish is None:
        raise ValueError(f"{prepared.key} has no recipe cards: its spec could not be read")
    size = PAGES[settings.page]
    unknown = allergen_block.unknown_in_words(prepared.problems) if is_draft else ()
    found: list[Scene] = []
    for card in cards(prepared):
        found += _pages(card, dish, settings, size, fingerprint, unknown, is_draft)
    return tuple(found)


def _pages(
    card: Card,
    dish: Dish,
    settings: Settings,
    size: tuple[float, float],
    fingerprint: str,
    unknown: tuple[str, ...],
    is_draft: bool,
) -> tuple[Scene, ...]:
    recipe = card.batch.recipe
    inner = size[0] - 2 * MARGIN
    for_whom = ", ".join(card.used_for)
    below = f"for {for_whom}" + (f"  ·  {settings.station(recipe.station)}" if recipe.station else "")
    revision = f", revision {dish.revision.number}" if dish.revision else ""
    whose = fonts.fit(dish.title, 48 - fonts.width_mm(revision, 8.0, "semibold"), 8.0, "semibold") + revision
    makes = f"makes {rounding.of(recipe.makes, system=settings.amounts)}" if recipe.makes else "yield not known"
    top = column_pages.head(recipe.called, below, (makes, settings.called), inner)
    wide = size[0] > size[1]
    left = (inner - column_pages.GAP) * (0.46 if wide else 0.5)
    right = inner - column_pages.GAP - left
    names = dict(settings.equipment)
    columns = [
        (
            left,
            [
                *_ingredients(card, left, settings.amounts),
                *_facts(card, left, settings.amounts, names),
                *_care(card, left),
            ],
        ),
        (right, _method(card, right, unknown)),
    ]
    return column_pages.pages(
        top,
        columns,
        size,
        f"{dish.title}: {recipe.called}",
        (whose, f"code {fingerprint}"),
        settings.language,
        is_draft,
    )


def _ingredients(card: Card, width: float, system: str) -> list[Row]:
    recipe, batch = card.batch.recipe, card.batch
    for_plates = width - 1.0
    for_batch = for_plates - 23.0
    room = for_batch - 21.0
    head = Block(
        line_mm(8.0) + 1.0,
        (
            Text(0, 2.6, "Ingredients", 8.0, "semibold", colour=GREY),
            Text(for_batch, 2.6, "one batch", 8.0, "semibold", anchor="end", colour=GREY),
            Text(for_plates, 2.6, f"{PLATES} plates", 8.0, "semibold", anchor="end", colour=GREY),
            Rect(0, 3.4, width, 0.2, Style(fill=GREY)),
        ),
    )
    rows = [Row(head, True)]
    for i, (line, use) in enumerate(zip(recipe.lines, batch.lines)):
        flag = scaling.flag_of(use)
        name = use.what.recipe.called if isinstance(use.what, Batch) else in_full(line, use)
        title = paragraph(
            name + (" *" if flag else ""), room, 9.0, "bold" if isinstance(use.what, Batch) else "semibold", y=0.4
        )
        notes = [n for n in (line.note, _lost(line, use)) if n]
        said = paragraph("; ".join(notes), room, 8.0, "italic", GREY, y=0.4 + title.height) if notes else Block(0, ())
        high = title.height + said.height + 1.2
        amount = rounding.of(line.amount, system=system) if line.amount else "not stated"
        scaled = (
            (rounding.of(line.amount, card.factor, system) if card.factor is not None else "not known")
            if line.amount
            else ""
        )
        items: list[Item] = [
            *title.items,
            *said.items,
            Text(for_batch, 3.3, amount, 9.0 if len(amount) < 12 else 7.5, "bold", anchor="end"),
            Text(
                for_plates,
                3.3,
                scaled if line.amount is None or line.amount.kind != "unmeasured" else "",
                9.0 if len(scaled) < 12 else 7.5,
                anchor="end",
            ),
        ]
        shade = (Rect(-1, 0, width + 2, high, Style(fill=PALE)),) if i % 2 else ()
        rows.append(Row(Block(high, (*shade, Group(tuple(items), title=f"{name}, {amount}", role="listitem")))))
    if any(scaling.flag_of(u) for u in batch.lines):
        rows.append(column_pages.text("* does not scale in proportion: see below", width, 8.0, "italic", GREY))
    return rows


def _lost(line: RecipeLine, use: Use) -> str:
    """What is special about an ingredient: trimming, reuse, supplier."""
    said = []
    if line.trim_yield is not None and line.trim_yield != 1:
        said.append(f"{rounding.percent(line.trim_yield)} of what is bought")
    elif line.trim_yield == 1:
        said.append("weighed as bought")
    if line.reused:
        said.append("used again")
    if isinstance(use.what, Bought) and use.what.product.supplier and line.source.kind == "product":
        said.append(f"from {use.what.product.supplier}")
    return "; ".join(said)


def _facts(card: Card, width: float, system: str, equipment: dict[str, str]) -> list[Row]:
    recipe = card.batch.recipe
    facts: list[tuple[str, str]] = []
    if card.factor is not None and recipe.makes:
        wanted = rounding.amount(
            recipe.makes.kind,
            recipe.makes.mean * card.factor,
            system,
            recipe.makes.unit if recipe.makes.kind == "count" else "",
            up=True,
        )
        facts.append((f"{PLATES} plates take", f"{wanted} ({rounding.percent(card.factor)} of a batch)"))
    if recipe.each_g and recipe.makes:
        facts.append(("Makes", f"{recipe.makes.text} of {rounding.amount('mass', recipe.each_g, system)}"))
    balance = scaling.balance(card.batch)
    if balance.share is not None and balance.goes_in_g is not None and balance.comes_out_g is not None:
        went = (
            f"{rounding.amount('mass', balance.goes_in_g, system)} in,"
            f" {rounding.amount('mass', balance.comes_out_g, system)} out"
        )
        facts.append(("Yield", f"{rounding.percent(Fraction(round(balance.share * 100), 100))}: {went}"))
    if recipe.left_behind:
        facts.append(("Left behind", f"{rounding.percent(recipe.left_behind)} of a batch never reaches a plate"))
    facts += [
        (word, said)
        for word, said in (
            ("Made ahead", recipe.made_ahead),
            ("Keeps", recipe.keeps or "not stated"),
            ("Equipment", ", ".join(equipment.get(e, e) for e in recipe.equipment)),
        )
        if said
    ]
    rows = [column_pages.heading("Yield and keeping", width)]
    for word, said in facts:
        part = paragraph(said, width - 24, 8.5, x=24)
        rows.append(
            Row(Block(part.height + 0.7, (Text(0, fonts.ascent(8.5) * 0.9, word, 8.5, "semibold"), *part.items)))
        )
    flags = scaling.flags(card.batch)
    if flags:
        rows.append(column_pages.heading("When the batch grows or shrinks", width))
        by_reason: dict[str, list[str]] = {}
        for flag in flags:
            by_reason.setdefault(flag.why, []).append(flag.called)
        rows += [column_pages.text(f"{', '.join(names)}: {why}", width, 8.0) for why, names in by_reason.items()]
        rows.append(column_pages.text(scaling.rules().times[0].upper() + scaling.rules().times[1:] + ".", width, 8.0))
    return rows


def _care(card: Card, width: float) -> list[Row]:
    """The cautions for this recipe alone; their figures are on the pass card."""
    if not card.cautions:
        return []
    rows = [column_pages.heading("Take care", width)]
    for c in card.cautions:
        rows.append(column_pages.text(f"{c.topic}: {c.says}", width, 8.0))
        outside = [f for f in c.items if any(j.verdict is verdicts.OUTSIDE for j in f.judged)]
        rows += [column_pages.text(caution_block.in_words(f), width, 8.0, "bold") for f in outside]
    return rows + [
        column_pages.text(
            "Figures, with their food code and source: the service sheet of the dish.", width, 8.0, "italic", GREY
        )
    ]


def _method(card: Card, width: float, unknown: tuple[str, ...]) -> list[Row]:
    rows = [column_pages.heading("Method", width)]
    for number, step in enumerate(card.batch.recipe.method, 1):
        part = paragraph(step, width - 6, 9.5, x=6)
        rows.append(
            Row(
                Block(
                    part.height + 1.6,
                    (Text(0, fonts.ascent(9.5, "bold") * 0.9, f"{number}", 11, "bold", colour=INK), *part.items),
                )
            )
        )
    if not card.batch.recipe.method:
        rows.append(column_pages.text("not written down", width, 9.0, "italic", GREY))
    rows.append(Row(Block(2.0, ())))
    open_here = unknown if any(not s.established_in_itself for s in card.statements) else ()
    block = allergen_block.block(card.statements, width, 8.5, open_here)
    rows += [Row(block), Row(Block(1.2, ()))]
    rows.append(
        column_pages.text(f"Of {card.batch.recipe.called} alone; the plate has more on it.", width, 8.0, "italic", GREY)
    )
    return rows
