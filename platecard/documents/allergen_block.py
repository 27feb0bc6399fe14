"""The allergen declaration as its own unmistakable block.

Contains, may contain and not established stand apart, in words and in form: a
filled label, an outlined one, a warning sign.  What a law does not cover is said
last and called so.
"""

from __future__ import annotations

from ..allergens.statement import ABSENT, Statement
from ..allergens.traces import CONTAINS, MAY, UNKNOWN
from ..drawing import fonts
from ..drawing.scene import Group, Item, Rect, Style, Text, translate, warning_triangle
from ..problems import Problem
from .sheet import GREY, INK, WHITE, Block, label, line_mm, paragraph

PAD = 2.0


def block(statements: tuple[Statement, ...], width: float, size_pt: float = 9.0, unknown: tuple[str, ...] = (), is_short: bool = False) -> Block:
    """The block at ``width`` mm.  ``unknown``: what is not established, in words (a draft's).

    ``is_short`` leaves out the sentences below each law's list and says that they stand overleaf.
    """
    established = not unknown and all(s.established for s in statements)
    head = 6.4
    items: list[Item] = []
    y = head + 1.2
    if not established:
        body = paragraph("; ".join(unknown) if unknown else "not every ingredient is known", width - 2 * PAD - 8, size_pt, "bold")
        items.append(warning_triangle(PAD, y, 6.0, title="Not established"))
        items += _moved(body, PAD + 8, y)
        y += max(body.height, 6.0) + 1.2
    for number, statement in enumerate(statements):
        if number:
            items.append(Rect(PAD, y, width - 2 * PAD, 0.2, Style(fill=GREY)))
            y += 0.9
        part = _law(statement, width - 2 * PAD, size_pt, established, is_short)
        items += _moved(part, PAD, y)
        y += part.height + 0.6
    if is_short:
        items.append(Text(PAD, y + 2.4, "the whole declaration: next page", 7.5, "bold"))
        y += 3.6
    return _framed(tuple(items), width, y + 0.8, head, established)


def pointer(width: float) -> Block:
    """Where the declaration is too long for the front altogether: where it stands."""
    body = paragraph("The declaration is too long for this page. It stands on the next page: read it there.", width - 2 * PAD - 8, 9.0, "bold")
    items = (warning_triangle(PAD, 7.6, 6.0, title="See next page"), *_moved(body, PAD + 8, 7.8))
    return _framed(items, width, 7.8 + max(body.height, 6.0) + 1.0, 6.4, True)


def _framed(items: tuple[Item, ...], width: float, height: float, head: float, established: bool) -> Block:
    title = "ALLERGENS" if established else "ALLERGENS: NOT ESTABLISHED"
    frame = (Rect(0, 0, width, height, Style(fill=WHITE, stroke=INK, width=0.9)), Rect(0, 0, width, head, Style(fill=INK)),
             Text(PAD, 4.6, title, 11.5, "bold", colour=WHITE))
    aside = "derived from the ingredients entered"
    if fonts.width_mm(title, 11.5, "bold") + fonts.width_mm(aside, 7.5) + 3 * PAD < width:
        frame += (Text(width - PAD, 4.5, aside, 7.5, anchor="end", colour=WHITE),)
    return Block(height, (Group((*frame, *items), title="Allergens", role="region"),))


def _moved(block: Block, x: float, y: float) -> list[Item]:
    return [translate(i, x, y) for i in block.items]


def _law(statement: Statement, width: float, size_pt: float, established: bool, is_short: bool) -> Block:
    small = max(7.0, size_pt - 1.5)
    law = statement.law
    items: list[Item] = [Text(0, fonts.ascent(small) * 0.9, f"{law.name}: {law.act}"[:200], small, "semibold", colour=GREY)]
    if fonts.width_mm(f"{law.name}: {law.act}", small, "semibold") > width:
        items = [Text(0, fonts.ascent(small) * 0.9, fonts.fit(law.name, width, small, "semibold"), small, "semibold", colour=GREY)]
    y = line_mm(small) + 0.5
    for presence, word, filled in ((CONTAINS, "CONTAINS", True), (UNKNOWN, "NOT ESTABLISHED", False), (MAY, "MAY CONTAIN", False)):
        found = statement.with_presence(presence)
        # Where everything is unknown, listing every group says less than the sentence above it.
        if not found or (presence == UNKNOWN and len(found) > 8 and not established):
            continue
        boxed, used = label(0, y, word, small, filled)
        items += boxed
        words = ", ".join(f.declared_as + (" (kind not established)" if f.kind_open else "") + (" (recommended)" if f.level == "recommended" else " (national option)" if f.level == "national" else "") for f in found)
        body = _hanging(words, width, used + 1.6, size_pt, "bold" if presence == CONTAINS else "semibold")
        items += _moved(body, 0, y + 0.15)
        y += max(body.height, line_mm(small) + 0.9) + 0.5
    lines = []
    absent = statement.with_presence(ABSENT)
    below = [f for f in absent if f.reasons or f.note]
    if not statement.with_presence(CONTAINS) and established:
        lines.append(("No group that this law declares is among the ingredients entered." if not statement.with_presence(MAY)
                      else "No group that this law declares is a stated ingredient.", "semibold"))
    elif established and absent:
        lines.append(("Every other group of this law: not among the ingredients entered.", "regular"))
    lines += [(f"{f.declared_as}: among the ingredients, under this law's limit by calculation.", "regular") for f in below]
    also = [a for a in statement.also if a.presence != UNKNOWN]
    if also:
        said = ", ".join(a.name + (" (may contain)" if a.presence == MAY else "") for a in also)
        lines.append((f"Outside this law, for guests who ask: {said}.", "regular"))
    for text, face in () if is_short and statement.with_presence(CONTAINS) else lines:
        part = paragraph(text, width, small, face, y=y)
        items += part.items
        y += part.height
    return Block(y, tuple(items))


def _hanging(text: str, width: float, indent: float, size_pt: float, face: str) -> Block:
    """Text whose first line starts ``indent`` mm in and whose further lines start at the left edge."""
    first = fonts.wrap(text, max(width - indent, 10.0), size_pt, face)[0]
    rest = text[len(first):].strip()
    step, top = line_mm(size_pt), fonts.ascent(size_pt, face) * 0.9
    items: list[Item] = [Text(indent, top, first, size_pt, face)]
    lines = fonts.wrap(rest, width, size_pt, face) if rest else ()
    items += [Text(0, top + (i + 1) * step, line, size_pt, face) for i, line in enumerate(lines)]
    return Block(step * (1 + len(lines)), tuple(items))


def unknown_in_words(problems: tuple[Problem, ...]) -> tuple[str, ...]:
    """What a draft names as not established: the message of each error about names and allergens."""
    slugs = ("unknown-", "allergens-", "two-candidates", "recipe-loop", "no-source")
    return tuple(dict.fromkeys(p.message for p in problems if p.is_error and p.slug.startswith(slugs)))
