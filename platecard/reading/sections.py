"""Which part of a spec a line belongs to, by the keys at the start of a line."""

from __future__ import annotations

import re

_KEY = re.compile(r"([^\s#\-\[\]{}:][^:]*?)\s*:(?:\s|$)")
# Keys that describe the plate and its layout: no mistake under them can hide a component or its equipment.
_OF_THE_PLATE = frozenset(
    {
        "dish",
        "menu_line",
        "course",
        "for",
        "revision",
        "plate",
        "serve",
        "plating_takes",
        "check_takes",
        "plates_warm",
        "plating",
        "garnish",
        "at_table",
        "acknowledged",
        "price",
        "expo_checks",
        "note",
        "only_named",
    }
)


def hides_no_food(text: str, line: int) -> bool:
    """Whether the line ``line`` (from 1) of a spec belongs to a key that says nothing about food and equipment.

    False where that cannot be told: a spec in one pair of braces, a key that is not known.
    """
    for row in reversed(text.splitlines()[:line]):
        found = _KEY.match(row)
        if found:
            return found[1].strip("'\"") in _OF_THE_PLATE
    return False
