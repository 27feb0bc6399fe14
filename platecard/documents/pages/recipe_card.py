"""Recipe cards: how to make each recipe that a dish is made from.

In: a prepared dish.  Out: pages, one recipe after another, those nearest the plate first.
Each card has the ingredients for one batch and for ten plates of this dish, the method,
the yield, its cautions with their figures, and the recipe's own allergens, derived for it alone.

A card is set as large as a page takes it; short ones share a page, and one that is longer than a page
runs on through the columns of the next.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import replace
from fractions import Fraction
from itertools import product
from typing import NamedTuple

from platecard.allergens import cross_contact, derivation, statement, sulphites
from platecard.allergens.cross_contact import Shared
from platecard.allergens.statement import Statement
from platecard.documents.kit import allergen_block, caution_block, column_pages, draft_mark
from platecard.documents.kit.column_pages import Head, Row
from platecard.documents.kit.sheet import GREY, INK, MARGIN, PAGES, PALE, SMALLEST_PT, Block, line_mm, paragraph
from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Rect, Scene, Style, Text
from platecard.model import Component, Dish, RecipeLine, Settings, Source, SourceKind
from platecard.prepared import Prepared, World
from platecard.recipes.resolved import Batch, Bought, Part, Resolved, Use, in_full
from platecard.service import prep, rounding, scaling
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
    found = prep.plan([(resolved, PLATES * resolved.dish.guests)], world.kitchen)
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
    sums = sulphites.sums(alone, taxonomy, world.tracer.texts, world.tracer.uncapped)
    return tuple(derivation.derive(traces, sums, law, taxonomy, settings.language, relies_on) for law in world.laws)


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


# How much larger than usual a card is set, the largest first.
_GROWN = (1.6, 1.45, 1.35, 1.25, 1.17, 1.1, 1.05, 1.0, 0.92)
_SIDE_BY_SIDE = 2  # laws that are told one after another
_TOGETHER = 3  # cards on one page at the most
_APART = 4.0  # mm between two cards on a page
_GENERAL = "Kitchen guidance, no legal advice: your food code and your food-safety plan win."
_EMPTY = 0.32  # share of a page that may stay empty, but for the last of all
_SMALLER, _TOO_EMPTY, _NEVER = 0.5, 100.0, 1e6  # how bad, in pages, a smaller type is, and a page that is too empty
_ALLERGENS_MM = 1.6  # above and below the declaration


class _Set(NamedTuple):
    """A card, set at one size on a page of one width: its head, and the rows of its parts in the order of reading."""

    head: Head
    fixed: tuple[list[Row], list[Row]]  # those of the left column and of the right
    loose: tuple[list[Row], ...]  # those that stand in whichever column has room for them

    @property
    def stream(self) -> list[Row]:
        """All rows, one after another: the yield after the ingredients, what is loose beyond it at the end."""
        (left, right), (facts, *more) = self.fixed, self.loose
        return [*left, *facts, *right, *(row for part in more for row in part)]

    @property
    def dealt(self) -> tuple[list[Row], list[Row]]:
        """The rows of both columns, as even as can be."""
        ways = []
        for sides in product((0, 1), repeat=len(self.loose)):
            columns = tuple(
                [*own, *(row for side, part in zip(sides, self.loose) if side == n for row in part)]
                for n, own in enumerate(self.fixed)
            )
            # A few millimetres are no reason to move a part to the other column.
            ways.append((max(map(column_pages.column_height, columns)) // 5, columns))
        left, right = min(ways, key=lambda way: way[0])[1]
        return left, right

    @property
    def heights(self) -> tuple[float, float]:
        """The heights of both columns in mm."""
        left, right = self.dealt
        return column_pages.column_height(left), column_pages.column_height(right)

    @property
    def height(self) -> float:
        """The height in mm of the card on a page that has room for all of it."""
        return self.head.first.height + column_pages.BELOW_HEAD + max(self.heights)

    @property
    def filled(self) -> float:
        """What of that height is filled, counting half of what one column leaves empty."""
        return self.head.first.height + column_pages.BELOW_HEAD + sum(self.heights) / 2


def _bad(pages: int, empty: float, is_last: bool) -> float:
    """How bad so many pages are, the last of them with this share of it empty."""
    return pages + empty + (_TOO_EMPTY if empty > _EMPTY and not is_last else 0.0)


class _Drawer:
    """Draws the cards of one dish; each is set once for each size."""

    def __init__(self, prepared: Prepared, dish: Dish, fingerprint: str, is_draft: bool) -> None:
        settings = prepared.world.kitchen.settings
        self.dish, self.settings, self.is_draft = dish, settings, is_draft
        self.language = settings.language
        self.cards = cards(prepared)
        self.unknown = allergen_block.unknown_in_words(prepared.problems) if is_draft else ()
        self.size = PAGES[settings.page]
        mark = draft_mark.band(self.size[0] - 2 * MARGIN, draft_mark.HEAD).height if is_draft else 0.0
        self.room = column_pages.bottom(self.size) - MARGIN - mark
        self.column = (self.size[0] - 2 * MARGIN - column_pages.GAP) / 2
        revision = f", revision {dish.revision.number}" if dish.revision else ""
        whose = fonts.fit(dish.title, 48 - fonts.width_mm(revision, 8.0, "semibold"), 8.0, "semibold") + revision
        self.notes = (whose, f"code {fingerprint}")
        self._set: dict[tuple[int, float], _Set] = {}
        self._together: dict[int, tuple[Statement, ...]] = {}

    def pages(self) -> tuple[Scene, ...]:
        """The pages, with the cards shared out so that as few as can be are left a third empty."""
        # The best way to set the first n cards: its cost, where its last page begins, and its size.
        best: list[tuple[float, int, float]] = [(0.0, 0, 0.0)]
        for end in range(1, len(self.cards) + 1):
            ways = []
            for begin in range(max(0, end - _TOGETHER), end):
                cost, grown = self._cost(begin, end)
                ways.append((best[begin][0] + cost, begin, grown))
            best.append(min(ways))
        cut, end = [], len(self.cards)
        while end:
            _, begin, grown = best[end]
            cut.append((begin, end, grown))
            end = begin
        return tuple(page for begin, end, grown in reversed(cut) for page in self._drawn(begin, end, grown))

    def _cost(self, begin: int, end: int) -> tuple[float, float]:
        """How bad it is to set some cards on pages of their own, and the size that is best for it."""
        is_last = end == len(self.cards)
        usual = sum(self.set(n, 1.0).height for n in range(begin, end))
        for grown in _GROWN:
            # Most sizes are ruled out without setting the card in them.
            if grown > 1 and usual * (1 + grown) / 2 > self.room:
                continue
            sets = [self.set(n, grown) for n in range(begin, end)]
            between = _APART * (len(sets) - 1)
            if sum(s.height for s in sets) + between <= self.room:
                empty = 1 - (sum(s.filled for s in sets) + between) / self.room
                return _bad(1, empty, is_last) + (_SMALLER if grown < 1 else 0.0), grown
        # On several pages: as few as can be, and the last of them as full as can be.
        ways = [
            (_bad(len(pages), 1 - (column_pages.lowest(pages[-1]) - MARGIN) / self.room, is_last), grown)
            for grown in (_GROWN if end - begin == 1 else (1.0,))
            if (pages := self._flowed(begin, end, grown))
        ]
        return min(ways, default=(_NEVER, 1.0))

    def set(self, number: int, grown: float) -> _Set:
        """One card, set at a size."""
        if (number, grown) not in self._set:
            self._set[number, grown] = self._set_anew(number, grown)
        return self._set[number, grown]

    def _told(self, number: int) -> tuple[Statement, ...]:
        """What is declared on a card: law by law, or of many laws what any of them declares.

        A cook has to know what is in it; which of many laws asks for which of it stands on the card of the dish.
        """
        if number not in self._together:
            found = self.cards[number].statements
            self._together[number] = (statement.union(found),) if len(found) > _SIDE_BY_SIDE else found
        return self._together[number]

    def _set_anew(self, number: int, grown: float) -> _Set:
        card = self.cards[number]
        recipe, settings, column = card.batch.recipe, self.settings, self.column
        below = f"for {', '.join(card.used_for)}" + (
            f"  ·  {settings.station(recipe.station)}" if recipe.station else ""
        )
        makes = f"makes {rounding.of(recipe.makes, system=settings.amounts)}" if recipe.makes else "yield not known"
        top = column_pages.heads(
            recipe.called, below, (makes, settings.called), self.size[0] - 2 * MARGIN, self.language
        )
        left = _ingredients(card, column, settings, grown)
        right = [
            *_method(card, column, grown, self.language),
            *_declared(card, self._told(number), column, self.unknown, grown),
        ]
        facts = _facts(card, column, settings.amounts, dict(settings.equipment), grown)
        loose = (facts, _scaling(card, column, grown), caution_block.rows(card.cautions, _GENERAL, column, grown))
        return _Set(top, (left, right), tuple(part for part in loose if part))

    def _drawn(self, begin: int, end: int, grown: float) -> tuple[Scene, ...]:
        sets = [self.set(n, grown) for n in range(begin, end)]
        if sum(s.height for s in sets) + _APART * (len(sets) - 1) > self.room:
            return self._flowed(begin, end, grown)
        first, *more = sets
        items = [*self._body(first, MARGIN), *self._below(more, MARGIN + first.height)]
        return column_pages.one_page(
            first.head.first, items, self.size, self._title(begin, end), self.notes, self.language, self.is_draft
        )

    def _title(self, begin: int, end: int) -> str:
        return f"{self.dish.title}: {'; '.join(self.cards[n].batch.recipe.called for n in range(begin, end))}"

    def _below(self, sets: Sequence[_Set], y: float) -> Iterator[Item]:
        """Whole cards below what ends at ``y`` mm."""
        for one in sets:
            y += _APART
            yield one.head.first.at(MARGIN, y)
            yield from self._body(one, y)
            y += one.height

    def _body(self, one: _Set, y: float) -> Iterator[Item]:
        """Both columns of a card whose head begins at ``y`` mm."""
        for x, rows in zip((MARGIN, MARGIN + self.column + column_pages.GAP), one.dealt):
            at = y + one.head.first.height + column_pages.BELOW_HEAD
            for row in rows:
                yield row.block.at(x, at)
                at += row.block.height

    def _flowed(self, begin: int, end: int, grown: float) -> tuple[Scene, ...]:
        """A card over several pages, and the cards that stand whole below it on the last; none if there is no room."""
        one = self.set(begin, grown)
        *pages, last = column_pages.flow(
            one.head,
            one.stream,
            self.column,
            self.size,
            self._title(begin, end),
            self.notes,
            self.language,
            self.is_draft,
        )
        more = [self.set(n, grown) for n in range(begin + 1, end)]
        low = column_pages.lowest(last)
        if sum(s.height + _APART for s in more) > column_pages.bottom(self.size) - low:
            return ()
        return (*pages, column_pages.with_more(last, [*self._below(more, low)]))


def compose(prepared: Prepared, fingerprint: str, is_draft: bool = False) -> tuple[Scene, ...]:
    """The pages of all cards of a dish; none if nothing on the plate is made from a recipe."""
    if prepared.dish is None:
        raise ValueError(f"{prepared.key} has no recipe cards: its spec could not be read")
    return _Drawer(prepared, prepared.dish, fingerprint, is_draft).pages()


def _pt(size: float, grown: float) -> float:
    return max(SMALLEST_PT, size * grown)


def _ingredients(card: Card, width: float, settings: Settings, grown: float) -> list[Row]:
    recipe, batch, system = card.batch.recipe, card.batch, settings.amounts
    for_plates = width - 1.0
    for_batch = for_plates - 20.0 * max(grown, 1.0)
    room = for_batch - 18.0 * max(grown, 1.0)
    tables = []
    for said in ("Ingredients", f"Ingredients{column_pages.CONTINUED}"):
        table = (
            Text(0, 2.6, said, 8.0, "semibold", colour=GREY),
            Text(for_batch, 2.6, "one batch", 8.0, "semibold", anchor="end", colour=GREY),
            Text(for_plates, 2.6, f"{PLATES} plates", 8.0, "semibold", anchor="end", colour=GREY),
            Rect(0, 3.4, width, 0.2, Style(fill=GREY)),
        )
        tables.append(Block(line_mm(8.0) + 1.0, (Group(table, title=said, role="heading"),)))
    rows = [Row(tables[0], True, tables[1])]
    size, small = _pt(9.0, grown), _pt(8.0, grown)
    for i, (line, use) in enumerate(zip(recipe.lines, batch.lines)):
        flag = scaling.flag_of(use)
        name = use.what.recipe.called if isinstance(use.what, Batch) else in_full(line, use)
        face = "bold" if isinstance(use.what, Batch) else "semibold"
        title = paragraph(name + (" *" if flag else ""), room, size, face, y=0.4, language=settings.language)
        notes = [n for n in (line.note, _lost(line, use)) if n]
        below = 0.4 + title.height
        remark = (
            paragraph("; ".join(notes), room, small, "italic", GREY, y=below, language=settings.language)
            if notes
            else Block(0, ())
        )
        high = title.height + remark.height + 1.2
        amount = rounding.of(line.amount, system=system) if line.amount else "not stated"
        scaled = (
            (rounding.of(line.amount, card.factor, system) if card.factor is not None else "not known")
            if line.amount and line.amount.kind != "unmeasured"
            else ""
        )
        base = 0.4 + fonts.ascent(size) * 0.9
        items = (
            *title.items,
            *remark.items,
            _amount(amount, for_batch, base, size, "bold", for_batch - room - 1.0),
            _amount(scaled, for_plates, base, size, "regular", for_plates - for_batch - 1.0),
        )
        shade = (Rect(-1, 0, width + 2, high, Style(fill=PALE)),) if i % 2 else ()
        rows.append(Row(Block(high, (*shade, Group(items, title=f"{name}, {amount}", role="listitem")))))
    if any(scaling.flag_of(u) for u in batch.lines):
        rows.append(column_pages.text("* does not scale in proportion: see below", width, 8.0, "italic", GREY))
    return rows


def _amount(said: str, x: float, y: float, size: float, face: str, room: float) -> Text:
    """An amount that ends at ``x``, in the largest type up to ``size`` for which there is room."""
    used = fonts.width_mm(said, size, face)
    return Text(x, y, said, max(SMALLEST_PT, size * min(1.0, room / used)) if used else size, face, anchor="end")


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


def _facts(card: Card, width: float, system: str, equipment: dict[str, str], grown: float) -> list[Row]:
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
    rows = [_heading("Yield and keeping", width, grown)]
    size = _pt(8.5, grown)
    aside = 24.0 * max(grown, 0.95)
    for word, said in facts:
        part = paragraph(said, width - aside, size, x=aside)
        title = Text(0, fonts.ascent(size) * 0.9, word, size, "semibold")
        rows.append(Row(Block(part.height + 0.7, (title, *part.items))))
    return rows


def _heading(words: str, width: float, grown: float) -> Row:
    return column_pages.heading(words, width, 9.0 * max(grown, 1.0))


def _scaling(card: Card, width: float, grown: float) -> list[Row]:
    """What does not grow with the batch."""
    flags = scaling.flags(card.batch)
    if not flags:
        return []
    by_reason: dict[str, list[str]] = {}
    for flag in flags:
        by_reason.setdefault(flag.why, []).append(flag.called)
    times = scaling.rules().times
    lines = [*(f"{', '.join(names)}: {why}" for why, names in by_reason.items()), f"{times[0].upper()}{times[1:]}."]
    return [
        _heading("When the batch grows or shrinks", width, grown),
        *(column_pages.text(line, width, _pt(8.0, grown)) for line in lines),
    ]


def _method(card: Card, width: float, grown: float, language: str) -> list[Row]:
    rows = [_heading("Method", width, grown)]
    size = _pt(9.5, grown)
    number_pt, aside = size * 1.16, 6.0 * max(grown, 0.95)
    for number, step in enumerate(card.batch.recipe.method, 1):
        part = paragraph(step, width - aside, size, x=aside, language=language)
        numeral = Text(0, fonts.ascent(size, "bold") * 0.9, f"{number}", number_pt, "bold", colour=INK)
        rows.append(Row(Block(part.height + 1.6, (Group((numeral, *part.items), title=step, role="listitem"),))))
    if not card.batch.recipe.method:
        rows.append(column_pages.text("not written down", width, size, "italic", GREY))
    return rows


def _declared(
    card: Card, told: tuple[Statement, ...], width: float, unknown: tuple[str, ...], grown: float
) -> list[Row]:
    """What the laws in force declare of the recipe by itself: law by law, or what any of them declares."""
    open_here = unknown if any(not s.established_in_itself for s in card.statements) else ()
    block = allergen_block.block(told, width, _pt(8.5, grown), open_here)
    alone = paragraph(f"Of {card.batch.recipe.called} alone; the plate has more on it.", width, 8.0, "italic", GREY)
    y = _ALLERGENS_MM + block.height + 0.8
    items = (block.at(0, _ALLERGENS_MM), alone.at(0, y))
    return [Row(Block(y + alone.height + _ALLERGENS_MM, items), level=0)]
