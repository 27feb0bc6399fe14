"""The labels of the parts beside the plate: how many of what, which side up, and what expo lets pass.

A part that is on the plate at the pass has a filled disc with its number; one that comes on
at the table has an open, dashed one and says so.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from typing import NamedTuple

from platecard.documents.diagram.labels import Size
from platecard.documents.kit.sheet import INK, WHITE, Block, paragraph, unbroken
from platecard.documents.text import wording
from platecard.drawing import fonts
from platecard.drawing.scene import About, Circle, Group, Item, Polygon, Style, Text
from platecard.layout.footprint import Footprint
from platecard.model import Dish, Step

_NOW = Style(fill=INK, stroke=INK, width=0.35)
_GONE = Style(fill=WHITE, stroke=INK, width=0.35)
_LATER = Style(fill=WHITE, stroke=INK, width=0.4, dash=(0.9, 0.6), cap="butt")


class Changed(NamedTuple):
    """The components that a changed plate leaves off, and those that it swaps."""

    gone: frozenset[str] = frozenset()
    swapped: frozenset[str] = frozenset()


UNCHANGED = Changed()


class Unseen(NamedTuple):
    """How many pieces of a part lie out of sight below other food, and how many its highest straight stack has."""

    below: int = 0
    stacked: int = 0


ALL_SEEN = Unseen()


def unseen(hidden: Iterable[tuple[Footprint, int]]) -> dict[str, Unseen]:
    """What each component has out of sight; with each hidden piece comes how many of its move lie straight above it."""
    found: dict[str, Unseen] = {}
    for f, above in hidden:
        so_far = found.get(f.component, Unseen())
        found[f.component] = (
            so_far._replace(stacked=max(so_far.stacked, above + 1))
            if above
            else so_far._replace(below=so_far.below + 1)
        )
    return found


def steps_of(dish: Dish, numbers: Mapping[str, str]) -> dict[str, list[Step]]:
    """The steps of each component that has a number, in plating order."""
    found: dict[str, list[Step]] = {}
    for step in dish.steps:
        if step.put in numbers:
            found.setdefault(step.put, []).append(step)
    return found


def said_once(dish: Dish) -> str:
    """What expo lets pass of every part alike besides its count, to be said once; empty if the parts differ."""
    said = {wording.seen_leeway(s) for s in dish.steps}
    return said.pop() if len(said) == 1 and len(dish.steps) > 1 else ""


def heading(steps: Sequence[Step], dish: Dish) -> str:
    """``7× cured char``, ``6 to 8× pickled cucumber``, ``45 ml buttermilk``; of several steps each count."""
    return f"{' + '.join(wording.counted(s) for s in steps)} {wording.called(steps[0].put, dish)}"


def words(steps: Sequence[Step], common: str, hidden: Unseen = ALL_SEEN) -> str:
    """The second part of a label: at the table, which side up, what else expo lets pass, what lies underneath."""
    said: list[str] = []
    for step in steps:
        parts = [
            "at the table" if step.at_table else "",
            wording.poured(step),
            step.facing.stance if step.facing.stance != "flat" else "",
            wording.side_up(step),
            "" if common else wording.seen_leeway(step),
        ]
        line = "; ".join(p for p in parts if p)
        if line and line not in said:
            said.append(line)
    if hidden.stacked:
        said.append(f"stacked {hidden.stacked} high")
    if hidden.below:
        said.append(f"{hidden.below} underneath, dotted" if hidden.below > 1 else "one underneath, dotted")
    return "; ".join(said)


def widest_word_mm(
    steps: Sequence[Step], dish: Dish, sizes: tuple[float, float], common: str, changed: Changed
) -> float:
    """The width that a label needs so that none of its words is broken, in mm."""
    name_pt, words_pt = sizes
    called = _called(steps, dish, steps[0].put in changed.gone)
    return _indent(name_pt) + max(
        fonts.narrowest_mm(_together(called), name_pt, "bold"),
        fonts.narrowest_mm(unbroken(words(steps, common)), words_pt),
    )


def _called(steps: Sequence[Step], dish: Dish, is_gone: bool) -> str:
    return f"no {wording.called(steps[0].put, dish)}" if is_gone else heading(steps, dish)


def _together(called: str) -> str:
    """The heading with its count kept on one line with the first word of the name."""
    return unbroken(called).replace("× ", "×\u00a0", 1)


def _indent(name_pt: float) -> float:
    """Where the text of a label begins, behind its disc, in mm."""
    return 1.6 * fonts.cap_height(name_pt, "bold") + 1.3


def label(
    steps: Sequence[Step],
    dish: Dish,
    number: str,
    width: float,
    sizes: tuple[float, float],
    common: str = "",
    hidden: Unseen = ALL_SEEN,
    changed: Changed = UNCHANGED,
) -> tuple[Block, tuple[Size, Size]]:
    """The label of one component, ``width`` mm wide, and its size on the left and on the right of the plate.

    ``sizes`` are the points of the name and of the words below it.
    """
    key = steps[0].put
    is_gone = key in changed.gone
    called = _called(steps, dish, is_gone)
    name_pt, words_pt = sizes
    cap = fonts.cap_height(name_pt, "bold")
    first = fonts.ascent(name_pt, "bold") * 0.9
    r = 0.8 * cap
    middle = first - cap / 2
    indent = _indent(name_pt)
    is_later = all(s.at_table for s in steps)
    named = paragraph(_together(called), width - indent, name_pt, "bold", x=indent)
    digit_pt = max(8.0, name_pt * (0.82 if len(number) < 2 else 0.66))
    is_open = is_later or is_gone
    items: list[Item] = [
        Circle(r + 0.2, middle, r, _LATER if is_later else _GONE if is_gone else _NOW),
        Text(
            r + 0.2,
            middle + fonts.cap_height(digit_pt, "bold") / 2,
            number,
            digit_pt,
            "bold",
            "middle",
            INK if is_open else WHITE,
        ),
        *named.items,
    ]
    if is_gone:
        ends = ((0.3 * r, middle + 0.7 * r), (1.7 * r, middle - 0.7 * r))
        items.append(Polygon(ends, Style(stroke=INK, width=0.6), closed=False))
    if key in changed.swapped:
        items.append(Circle(r + 0.2, middle, r + 0.55, Style(stroke=INK, width=0.35)))
    y = named.height
    if (said := words(steps, common, hidden)) and not is_gone:
        part = paragraph(unbroken(said), width - indent, words_pt, x=indent, y=y)
        items += part.items
        y += part.height
    line = named.items[0]
    end = indent + (fonts.width_mm(line.text, name_pt, "bold") if isinstance(line, Text) else 0.0)
    size = Size(y, middle, max(width - end - 1.0, 0.0)), Size(y, middle)
    group = Group(tuple(items), title=called, about=About(key, "callout"), role="listitem")
    return Block(y, (group,)), size
