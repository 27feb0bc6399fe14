"""The palette of the plate drawings, and the colours that cooks may write: a word of it, or a hex value."""

from __future__ import annotations

import re
from functools import cache
from typing import TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, did_you_mean, warning
from platecard.model import Dish, Plate
from platecard.yaml_nodes import Node, plain

_HEX = re.compile(r"#(?:[0-9a-fA-F]{3}){1,2}\Z")


class _Rows(TypedDict):
    words: dict[str, str]
    turn: list[str]


@cache
def palette() -> tuple[dict[str, str], tuple[str, ...]]:
    """The colour (``#rrggbb``) for each word, and the words that are given in turn to what has no colour."""
    data, _ = packaged_tables.rows(packaged_tables.texts("colours.yaml"), _collect, "colours")
    return data["words"], tuple(data["turn"])


def _collect(trees: dict[str, Node]) -> tuple[_Rows, tuple[Problem, ...]]:
    return cast(_Rows, plain(next(iter(trees.values())))), ()


def colour(text: str) -> str | None:
    """A hex value or a word of the palette as ``#rrggbb``; None for anything else."""
    text = " ".join(text.lower().split())
    if _HEX.match(text):
        return text if len(text) == 7 else "#" + "".join(c * 2 for c in text[1:])
    return palette()[0].get(text)


def check(dish: Dish, plate: Plate | None = None) -> tuple[Problem, ...]:
    """A warning for each unknown colour of the dish or its plate; the drawing uses another one instead."""
    said = [(c.colour, c.called, c.colour_span or c.span) for c in dish.components]
    if plate:
        said.append((plate.colour, plate.called, plate.colour_span or plate.span))
    return tuple(
        warning(
            "unknown-colour",
            span,
            f"'{text}' of {name} is not a colour of the palette",
            did_you_mean(text, palette()[0]) or 'write a word such as "light green" or a value such as "#b5cf8a"',
        )
        for text, name, span in said
        if text and colour(text) is None
    )
