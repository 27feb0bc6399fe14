"""Which part of a spec a line stands in, by the keys at the start of a line."""

from __future__ import annotations

import re

_KEY = re.compile(r"([^\s#\-\[\]{}:][^:]*?)\s*:(?:\s|$)")
# What stands here lays out and describes the plate: no slip in it hides a component, or the equipment of one.
_OF_THE_PLATE = frozenset(
    {
        "dish",
        "menu_line",
        "course",
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
    """Whether what stands at ``line`` (from 1) of a spec belongs to a key that says nothing of food and equipment.

    False where that cannot be told: a spec in one pair of braces, a key that is not known.
    """
    for row in reversed(text.splitlines()[:line]):
        found = _KEY.match(row)
        if found:
            return found[1].strip("'\"") in _OF_THE_PLATE
    return False
