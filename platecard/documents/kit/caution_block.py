"""The cautions of a dish, in blocks of their own, never mixed with the allergens.

What the spec does not state is printed in bold as not stated, and what it states is followed by
how it stands to the figures of each food code.  Each figure names its food code, and says so if
it has not been verified.
"""

from __future__ import annotations

from platecard.documents.kit.sheet import GREY, INK, PALE, WHITE, Block, line_mm, paragraph
from platecard.drawing.scene import Group, Item, Rect, Style, Text
from platecard.drawing.signs import warning_triangle
from platecard.service.cautions import Caution
from platecard.service.cautions import Item as Food
from platecard.service.verdicts import CANNOT_TELL, OUTSIDE, WITHIN, Verdict

SIZE, SMALL = 8.5, 8.0
_LONG = 50.0  # mm of height from which a caution may stand apart from the general word after it
# A verdict in words; what is not stated is said as such beside it.
VERDICTS: dict[Verdict, str] = {OUTSIDE: "OUTSIDE", CANNOT_TELL: "cannot be told", WITHIN: "within"}
UNSURE = {"memory": "from memory, not verified", "seen-2nd": "read second-hand", "practice": "common practice"}


def blocks(cautions: tuple[Caution, ...], general: str, width: float) -> list[Block]:
    """The heading, a block for each caution and the general word at the end, to be set in columns."""
    if not cautions:
        return []
    head = 5.6
    top = Block(
        head + 1.2,
        (
            Group(
                (
                    Rect(0, 0, width, head, Style(fill=PALE, stroke=INK, width=0.35)),
                    warning_triangle(1.2, 0.8, 4.0),
                    Text(6.2, 4.0, "CAUTIONS FOR THE KITCHEN", 10.0, "bold", colour=INK),
                ),
                title="Cautions",
                role="heading",
            ),
        ),
    )
    # A heading is never left alone at the foot of a column.
    made = [_one(c, width) for c in cautions]
    made[0] = _joined(top, made[0])
    # Nor is the general caution left alone on a page, unless the last caution is too long to join it.
    closing = _general(general, width)
    if made[-1].height > _LONG:
        return [*made, closing]
    return [*made[:-1], _joined(made[-1], closing)]


def _joined(upper: Block, lower: Block) -> Block:
    return Block(upper.height + lower.height, (*upper.items, lower.at(0, upper.height)))


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
        guests = f"for {_listed(f.guests)}: " if f.guests else ""
        found.setdefault("" if f.code == "any" else f.code.upper(), []).append(guests + f.says + unsure)
    return [f"{code}: {'; '.join(says)}" if code else "; ".join(says) for code, says in found.items()]


def _one(caution: Caution, width: float) -> Block:
    items: list[Item] = []
    y = 0.0
    for text, face, colour, x in (
        (caution.topic, "bold", INK, 0.0),
        *_foods(caution),
        (caution.says, "regular", INK, 2.6),
        *((line, "italic", GREY, 2.6) for line in figure_words(caution)),
    ):
        size = 8.5 if face == "bold" and x == 0 else SMALL if face == "italic" else SIZE
        part = paragraph(text, width - x, size, face, colour, x=x, y=y)
        items += part.items
        y += part.height
    items.insert(0, Rect(0.3, line_mm(8.5) + 0.3, 0.5, max(y - line_mm(8.5) - 0.6, 0.1), Style(fill=INK)))
    return Block(y + 1.2, (Group(tuple(items), title=caution.topic, role="note"),))


def _foods(caution: Caution) -> list[tuple[str, str, str, float]]:
    """The lines of foods: each with something missing or outside a figure on its own in bold, the others together.

    Of those together, the ones that are judged alike are followed by that judgement once.
    """
    missing = [(in_words(f), "bold", INK, 2.6) for f in caution.items if _stands_out(f)]
    alike: dict[str, list[str]] = {}
    for food in caution.items:
        if not _stands_out(food):
            alike.setdefault(judged_words(food), []).append(_said(food))
    stated = "; ".join("; ".join((*said, judged) if judged else said) for judged, said in alike.items())
    return [*missing, *([(stated, "semibold", INK, 2.6)] if stated else [])]


def _stands_out(food: Food) -> bool:
    return bool(food.missing) or any(j.verdict is OUTSIDE for j in food.judged)


def _listed(words: tuple[str, ...]) -> str:
    return words[0] if len(words) == 1 else f"{', '.join(words[:-1])} and {words[-1]}"


def _general(text: str, width: float) -> Block:
    body = paragraph(text, width - 3.0, SMALL, "semibold", INK, x=1.5, y=0.7)
    height = body.height + 1.6
    frame = Rect(0, 0, width, height, Style(fill=WHITE, stroke=GREY, width=0.25))
    return Block(height + 0.6, (Group((frame, *body.items), title="General caution", role="note"),))
