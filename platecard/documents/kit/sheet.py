"""What all documents share: paper sizes, colours, and text that is measured before it is drawn."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import lru_cache
from typing import NamedTuple

from platecard.drawing import fonts
from platecard.drawing.scene import Group, Item, Rect, Style, Text, shifted

# width × height in mm: ISO 216 for the A sizes; Letter is 8.5 × 11 inches, Tabloid 11 × 17.
PAGES = {
    "A5 landscape": (210.0, 148.0),
    "A4 portrait": (210.0, 297.0),
    "A4 landscape": (297.0, 210.0),
    "Letter portrait": (215.9, 279.4),
    "Letter landscape": (279.4, 215.9),
}
# Those and the larger ones that a card grows to where it does not fit on the kitchen's own.
SHEETS = {
    **PAGES,
    "A3 portrait": (297.0, 420.0),
    "A3 landscape": (420.0, 297.0),
    "A2 portrait": (420.0, 594.0),
    "A2 landscape": (594.0, 420.0),
    "Tabloid portrait": (279.4, 431.8),
    "Tabloid landscape": (431.8, 279.4),
}
# The next larger paper, for a card that does not fit.
LARGER = {
    "A5 landscape": "A4 landscape",
    "A4 portrait": "A3 portrait",
    "A4 landscape": "A3 landscape",
    "A3 portrait": "A2 portrait",
    "A3 landscape": "A2 landscape",
    "Letter portrait": "Tabloid portrait",
    "Letter landscape": "Tabloid landscape",
    "Tabloid portrait": "A2 portrait",
    "Tabloid landscape": "A2 landscape",
}

INK, GREY, PALE, WHITE = "#16181a", "#5a5f63", "#e9e7e2", "#ffffff"
MARGIN = 7.0
SMALLEST_PT = 8.0


class Block(NamedTuple):
    """Items of a known height in mm, with their top left corner at the origin."""

    height: float
    items: tuple[Item, ...]

    def at(self, x: float, y: float) -> Item:
        """The block with its top left corner at (x, y) mm."""
        return shifted(self.items, x, y)


def smallest_text(items: Iterable[Item]) -> float:
    """The smallest size of text in points: it limits how far a diagram may shrink its text with it."""
    sizes = [
        i.size_pt if isinstance(i, Text) else (i.placing.text_scale if i.placing else 1.0) * smallest_text(i.inner)
        for i in items
        if isinstance(i, (Text, Group))
    ]
    return min(sizes, default=1000.0)


def line_mm(size_pt: float) -> float:
    """The distance between two baselines in mm."""
    return fonts.line_height(size_pt) * 0.93


@lru_cache(maxsize=4096)  # cards share much of their text: cautions, headings, the words of a law
def paragraph(
    text: str,
    width: float,
    size_pt: float,
    face: str = "regular",
    colour: str = INK,
    x: float = 0.0,
    y: float = 0.0,
    language: str = "en-GB",
) -> Block:
    """Text wrapped to ``width`` mm, with its top left corner at (x, y) mm.

    A word that is longer than a line is hyphenated as in ``language``.
    """
    lines = fonts.wrap(text, width, size_pt, face, language)
    step = line_mm(size_pt)
    first = y + fonts.ascent(size_pt, face) * 0.9
    return Block(
        step * len(lines),
        tuple(Text(x, first + i * step, line, size_pt, face, colour=colour) for i, line in enumerate(lines) if line),
    )


def paragraph_mm(text: str, width: float, size_pt: float, face: str = "regular") -> float:
    """How high :func:`paragraph` is, without drawing it."""
    return line_mm(size_pt) * len(fonts.wrap(text, width, size_pt, face))


def unbroken(text: str) -> str:
    """The text with no-break spaces that keep each number on one line with its unit."""
    return re.sub(r"(?<=\d) (?=(?:mm|cm|ml|g|kg|oz|%|°C|°F)(?!\w))", "\u00a0", text)


def hanging(
    text: str,
    width: float,
    indent: float,
    size_pt: float,
    face: str = "regular",
    x: float = 0.0,
    y: float = 0.0,
) -> Block:
    """Text whose first line is indented by ``indent`` mm to leave room for a label; further lines are not."""
    # Spaced as the wrapped lines will be, so that the rest begins where the first line ends.
    text = " ".join(word for word in fonts.normal(text).replace("\n", " ").split(" ") if word)
    step = line_mm(size_pt)
    if fonts.width_mm(text.partition(" ")[0], size_pt, face) > width - indent:
        # Not even one word fits beside the label.
        below = paragraph(text, width, size_pt, face, x=x, y=y + step)
        return Block(step + below.height, below.items)
    line = fonts.wrap(text, width - indent, size_pt, face)[0]
    first = Text(x + indent, y + fonts.ascent(size_pt, face) * 0.9, line, size_pt, face, colour=INK)
    rest = text[len(line) :].strip()
    below = paragraph(rest, width, size_pt, face, x=x, y=y + step) if rest else Block(0, ())
    return Block(step + below.height, (first, *below.items))


def largest(text: str, width: float, sizes: tuple[float, ...], face: str, lines: int) -> float:
    """The first of ``sizes`` (descending) at which ``text`` takes at most ``lines`` lines; otherwise the last."""
    return next((s for s in sizes if len(fonts.wrap(text, width, s, face)) <= lines), sizes[-1])


_FILLED, _OUTLINED = Style(fill=INK), Style(fill=WHITE, stroke=INK, width=0.35)


def label(x: float, y: float, text: str, size_pt: float, filled: bool) -> tuple[tuple[Item, ...], float]:
    """A small boxed word, filled or outlined, and its width in mm; its top left corner is at (x, y) mm."""
    width = fonts.width_mm(text, size_pt, "bold") + 2.4
    height = line_mm(size_pt) + 0.6
    style = _FILLED if filled else _OUTLINED
    return (
        Rect(x, y, width, height, style, radius=0.6),
        Text(
            x + 1.2,
            y + fonts.ascent(size_pt, "bold") * 0.9 + 0.3,
            text,
            size_pt,
            "bold",
            colour=WHITE if filled else INK,
        ),
    ), width
