"""The cautions of a dish, in blocks of their own, never mixed with the allergens.

What the spec does not state is printed in bold as not stated, and what it states is followed by
how it stands to the figures of each food code.  Each figure names its food code, and says so if
it has not been verified.
"""

from __future__ import annotations

from platecard.diagnostics import listed
from platecard.documents.kit.column_pages import CONTINUED, Row
from platecard.documents.kit.sheet import GREY, INK, PALE, WHITE, Block, paragraph
from platecard.drawing.scene import Group, Rect, Style, Text
from platecard.drawing.signs import warning_triangle
from platecard.service.cautions import Caution
from platecard.service.cautions import Item as Food
from platecard.service.verdicts import CANNOT_TELL, OUTSIDE, WITHIN, Verdict

SIZE, SMALL = 8.5, 8.0
_INDENT = 2.6
# A verdict in words; what is not stated is said as such beside it.
VERDICTS: dict[Verdict, str] = {OUTSIDE: "OUTSIDE", CANNOT_TELL: "cannot be told", WITHIN: "within"}
UNSURE = {"memory": "from memory, not verified", "seen-2nd": "read second-hand", "practice": "common practice"}


def rows(cautions: tuple[Caution, ...], general: str, width: float, grown: float = 1.0) -> list[Row]:
    """The heading, the lines of each caution under its topic, and the general word at the end, to be set in columns.

    ``grown`` is how much larger than their usual size the words are.
    """
    if not cautions:
        return []
    found = [Row(_heading(width, ""), True, _heading(width, CONTINUED), level=1)]
    for caution in cautions:
        found += _one(caution, width, grown)
    return [*found, Row(_general(general, width, grown), level=0)]


def _heading(width: float, more: str) -> Block:
    y, head = 1.2, 5.6
    items = (
        Rect(0, y, width, head, Style(fill=PALE, stroke=INK, width=0.35)),
        warning_triangle(1.2, y + 0.8, 4.0),
        Text(6.2, y + 4.0, f"CAUTIONS FOR THE KITCHEN{more}", 10.0, "bold", colour=INK),
    )
    return Block(y + head + 1.2, (Group(items, title=f"Cautions{more}", role="heading"),))


def in_words(food: Food) -> str:
    """A food under a caution: what the spec says about it, what it does not state, and how it is judged."""
    judged = judged_words(food)
    return f"{_said(food)}; {judged}" if judged else _said(food)


def _said(food: Food) -> str:
    said = f"{food.what}: {food.said}" if food.said else food.what
    return said + (f"{', ' if food.said else ': '}{not_stated(food)}" if food.missing else "")


def judged_words(food: Food) -> str:
    """How a food stands to the figures, the same words for several food codes once: ``US: OUTSIDE, too long ...``."""
    found: dict[str, list[str]] = {}
    for j in food.judged:
        if j.verdict in VERDICTS:
            words = f"{VERDICTS[j.verdict]}, {j.why}" if j.why else VERDICTS[j.verdict]
            found.setdefault(words, []).append(j.code.upper())
        elif not food.missing:
            found.setdefault(f"NOT STATED, {j.why}", []).append(j.code.upper())
    return "; ".join(f"{' and '.join(codes)}: {words}" for words, codes in found.items())


def not_stated(food: Food) -> str:
    """``weight and core temperature NOT STATED in the spec``."""
    return " and ".join(food.missing) + " NOT STATED in the spec"


def figure_words(caution: Caution) -> list[str]:
    """The figures, grouped by food code, each with a remark if it has not been verified."""
    found: dict[str, list[str]] = {}
    for f in caution.figures:
        unsure = f" ({UNSURE[f.mark]})" if f.mark in UNSURE else ""
        guests = f"for {listed(f.guests)}: " if f.guests else ""
        found.setdefault("" if f.code == "any" else f.code.upper(), []).append(guests + f.says + unsure)
    return [f"{code}: {'; '.join(says)}" if code else "; ".join(says) for code, says in found.items()]


def _one(caution: Caution, width: float, grown: float) -> list[Row]:
    """A caution as rows: its topic, and under it, along a rule, the foods, what to do and the figures."""
    named, again = (
        paragraph(f"{caution.topic}{said}", width, max(8.0, SIZE * grown), "bold") for said in ("", CONTINUED)
    )
    title, more = (
        Block(part.height + 0.3, (Group(part.items, title=caution.topic, role="heading"),)) for part in (named, again)
    )
    found = [Row(title, True, more)]
    lines = [
        *_foods(caution),
        (caution.says, "regular", INK),
        *((line, "italic", GREY) for line in figure_words(caution)),
    ]
    for n, (text, face, colour) in enumerate(lines):
        size = max(8.0, (SMALL if face == "italic" else SIZE) * grown)
        part = paragraph(text, width - _INDENT, size, face, colour, x=_INDENT)
        rule = Rect(0.3, 0, 0.5, part.height, Style(fill=INK))
        items = Group((rule, *part.items), title=caution.topic, role="note")
        found.append(Row(Block(part.height + (1.4 if n == len(lines) - 1 else 0.0), (items,))))
    return found


def _foods(caution: Caution) -> list[tuple[str, str, str]]:
    """The lines of foods: each with something missing or outside a figure on its own in bold, the others together.

    Of those together, the ones that are judged alike are followed by that judgement once.
    """
    missing = [(in_words(f), "bold", INK) for f in caution.items if _stands_out(f)]
    alike: dict[str, list[str]] = {}
    for food in caution.items:
        if not _stands_out(food):
            alike.setdefault(judged_words(food), []).append(_said(food))
    stated = "; ".join("; ".join((*said, judged) if judged else said) for judged, said in alike.items())
    return [*missing, *([(stated, "semibold", INK)] if stated else [])]


def _stands_out(food: Food) -> bool:
    return bool(food.missing) or any(j.verdict is OUTSIDE for j in food.judged)


def _general(text: str, width: float, grown: float) -> Block:
    body = paragraph(text, width - 3.0, max(8.0, SMALL * grown), "semibold", INK, x=1.5, y=0.7)
    height = body.height + 1.6
    frame = Rect(0, 0, width, height, Style(fill=WHITE, stroke=GREY, width=0.25))
    return Block(height + 1.2, (Group((frame, *body.items), title="General caution", role="note"),))
