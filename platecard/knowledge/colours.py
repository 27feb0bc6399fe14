"""The palette of the plate drawings: words for colours, or a hex value."""

from __future__ import annotations

import re
from functools import cache

from platecard.diagnostics import Problem, did_you_mean, warning
from platecard.knowledge import packaged_tables
from platecard.model.nouns import Dish, Plate
from platecard.yaml_nodes import plain

_HEX = re.compile(r"#(?:[0-9a-fA-F]{3}){1,2}\Z")


@cache
def palette() -> tuple[dict[str, str], tuple[str, ...]]:
    """The palette's words with their colours, and the words handed out in turn."""
    data, _ = packaged_tables.rows(
        packaged_tables.texts("colours.yaml"), lambda trees: (plain(next(iter(trees.values()))), ()), "colours"
    )
    return data["words"], tuple(data["turn"])


def colour(text: str) -> str | None:
    """``text`` as "#rrggbb": a hex value or a word of the palette; None for anything else."""
    text = " ".join(text.lower().split())
    if _HEX.match(text):
        return text if len(text) == 7 else "#" + "".join(c * 2 for c in text[1:])
    return palette()[0].get(text)


def check(dish: Dish, plate: Plate | None = None) -> tuple[Problem, ...]:
    """Colours nobody knows; the drawing takes another one for them."""
    said = [(c.colour, c.called, c.colour_span or c.span) for c in dish.components]
    if plate:
        said.append((plate.colour, plate.called, plate.colour_span or plate.span))
    return tuple(
        warning(
            "unknown-colour",
            span,
            f"'{text}' of {name} is no colour of the palette",
            did_you_mean(text, palette()[0]) or 'a word such as "light green" or a value such as "#b5cf8a"',
        )
        for text, name, span in said
        if text and colour(text) is None
    )
