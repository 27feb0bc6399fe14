"""What every law in force declares of a dish, in one table: allergens down, laws across.

A cell tells by its shape and its word: a filled box "yes" for contains, an outlined one "may",
a warning triangle "open" for not established; what a law only recommends stands in brackets, and
what is in the dish and outside the law stands without a box.
"""

from __future__ import annotations

from platecard.allergens.basis import Reach
from platecard.allergens.statement import Also, Finding, Statement
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN
from platecard.documents.kit import allergen_block
from platecard.documents.kit.sheet import GREY, INK, PALE, WHITE, Block, line_mm, paragraph
from platecard.documents.text import wording
from platecard.drawing import fonts
from platecard.drawing.scene import Item, Rect, Style, Text
from platecard.drawing.signs import warning_triangle

SIZE = 8.5
KEY = (
    "Filled: contains. Outlined: may contain. Triangle: not established. In brackets: the law recommends it or leaves"
    " it to its states. Without a box: not listed by the law, for guests who ask. Empty: not among the ingredients"
    " entered."
)
_SMALL = 8.0
_EVERY_OTHER = ""  # stands for every group that a law leaves open
_NAME_MM = 40.0
_MANY = 9  # laws from which their columns need the room of the allergens' names
_FILLED, _OUTLINED = Style(fill=INK), Style(fill=WHITE, stroke=INK, width=0.35)


def block(
    statements: tuple[Statement, ...],
    width: float,
    unknown: tuple[str, ...] = (),
    reached: tuple[Reach, ...] = (),
    told: tuple[str, ...] = (),
) -> Block:
    """The table, ``width`` mm wide, with the acts and what holds for all laws below it."""
    rows: dict[str, dict[str, Finding | Also]] = {}
    names: dict[str, str] = {}  # as each law names it, where they differ
    for s in statements:
        for presence in (CONTAINS, UNKNOWN, MAY):
            for f in s.with_presence(presence):
                if presence is UNKNOWN and s.all_open:
                    # One row says it for all, as one sentence does where laws stand side by side.
                    rows.setdefault(_EVERY_OTHER, {})[s.law.key] = f
                    names[_EVERY_OTHER] = wording.every_other(s)
                    continue
                rows.setdefault(f.allergen, {})[s.law.key] = f
                said = names.get(f.allergen, "")
                if f.in_full not in said.split(" / "):
                    names[f.allergen] = f"{said} / {f.in_full}" if said else f.in_full
    for s in statements:
        for a in s.also:
            row = rows.setdefault(a.node, {})
            row.setdefault(s.law.key, a)
            named = names.setdefault(a.node, a.name)
            if a.name not in named:
                names[a.node] = f"{named} / {a.name}"
    name_mm = min(_NAME_MM, 0.3 * width) if len(statements) < _MANY else 0.14 * width
    cell = (width - 2 * allergen_block.PAD - name_mm) / len(statements)
    items: list[Item] = []
    heads = [paragraph(s.law.name, cell - 0.4, _SMALL, "semibold") for s in statements]
    y = allergen_block.HEAD + 1.0
    high = max(h.height for h in heads) if rows else 0.0
    for n, head in enumerate(heads if rows else ()):
        items.append(head.at(allergen_block.PAD + name_mm + n * cell + 0.2, y + high - head.height))
    y += high + 0.8
    order = {CONTAINS: 0, UNKNOWN: 1, MAY: 2}
    ranked = sorted(rows, key=lambda a: (min(order[f.presence] for f in rows[a].values()), names[a]))
    for i, allergen in enumerate(ranked):
        title = paragraph(names[allergen], name_mm - 1.5, SIZE, "bold")
        tall = max(title.height, line_mm(SIZE)) + 0.9
        if i % 2 == 0:
            items.append(Rect(allergen_block.PAD, y, width - 2 * allergen_block.PAD, tall, Style(fill=PALE)))
        items.append(title.at(allergen_block.PAD + 0.5, y + 0.3))
        for n, s in enumerate(statements):
            if found := rows[allergen].get(s.law.key):
                items += _cell(found, allergen_block.PAD + name_mm + n * cell, y + 0.3, cell)
        y += tall
    if not ranked:
        part = paragraph(
            "No group that these laws declare is among the ingredients entered.", width - 2 * allergen_block.PAD, SIZE
        )
        items.append(part.at(allergen_block.PAD, y))
        y += part.height
    y += 0.8
    said = " ".join(allergen_block.sentences(statements, unknown, reached, told))
    acts = "; ".join(f"{s.law.name}: {s.law.act}" for s in statements)
    for text, face, colour in ((KEY, "semibold", INK), (said, "regular", INK), (f"{acts}.", "regular", GREY)):
        if text:
            part = paragraph(text, width - 2 * allergen_block.PAD, _SMALL, face, colour)
            items.append(part.at(allergen_block.PAD, y))
            y += part.height + 0.4
    return allergen_block.framed(tuple(items), width, y + 0.6, not unknown and all(s.established for s in statements))


def _cell(found: Finding | Also, x: float, y: float, width: float) -> list[Item]:
    word = {CONTAINS: "yes", UNKNOWN: "open", MAY: "may"}[found.presence]
    if isinstance(found, Also):
        baseline = y + fonts.ascent(_SMALL) * 0.9
        return [Text(x + width / 2, baseline, word, _SMALL, "regular", "middle", INK)]
    if found.level != "mandatory":
        word = f"({word})"
    wide = fonts.width_mm(word, _SMALL, "bold")
    high = line_mm(_SMALL)
    middle = x + width / 2
    baseline = y + fonts.ascent(_SMALL, "bold") * 0.9
    if found.presence is UNKNOWN:
        left = middle - (wide + 4.0) / 2
        return [
            warning_triangle(left, y, high - 0.3, title="not established"),
            Text(left + 4.2, baseline, word, _SMALL, "bold", colour=INK),
        ]
    is_filled = found.presence is CONTAINS
    return [
        Rect(middle - wide / 2 - 1.0, y, wide + 2.0, high, _FILLED if is_filled else _OUTLINED, radius=0.6),
        Text(middle, baseline, word, _SMALL, "bold", "middle", WHITE if is_filled else INK),
    ]
