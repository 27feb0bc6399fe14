"""Where in a kitchen's file a line is, as a sous-chef would say it: ``main, move 3: chervil``.

It works from the text and its indentation alone, so that files that cannot be parsed have it too.
"""

from __future__ import annotations

import re

_KEY = re.compile(r"""\s*(?:-\s+)?["']?([\w-][^:"'#{}\[\],]*?)["']?\s*:(?:\s|$)""")
_ITEM = re.compile(r"\s*-(\s|$)")
# What an item of a list is about, by the first of these keys that it has.
_NAMED_BY = re.compile(r"""\b(?:put|recipe|product|ingredient|do|called)\s*:\s*["']?([^,}"'#]+)""")
# The lists of a kitchen's files, with the word for one of their items.
_ITEMS = {
    "plating": "move",
    "garnish": "garnish",
    "at_table": "at the table",
    "ingredients": "ingredient",
    "finish": "finishing step",
    "swap": "swap",
    "expo_checks": "check",
    "method": "step of the method",
}
# The mappings of a kitchen's files whose keys are names, with the word for what they name.
_NAMES = {
    "components": "component",
    "products": "product",
    "plates": "plate",
    "equipment": "equipment",
    "stations": "station",
    "suppliers": "supplier",
}


def whereabouts(text: str, line: int) -> str:
    """The course, and the part of the file that ``line`` (from 1) belongs to; "" where nothing can be said."""
    rows = text.splitlines()
    if not 1 <= line <= len(rows):
        return ""
    said = []
    for index, key in _ancestors(rows, line - 1):
        if key in _ITEMS:
            said += _item(rows, index, line - 1, _ITEMS[key])
        elif key in _NAMES:
            name = next((k for i, k in _ancestors(rows, line - 1) if _indent(rows[i]) > _indent(rows[index])), "")
            said += [f"{_NAMES[key]} {name}"] if name else []
    course = next((m[1].strip() for row in rows if (m := re.match(r"course:\s*([^#]+)", row))), "")
    return ", ".join([course, *said] if said and course else said)


def _indent(row: str) -> int:
    """The column of a row's key, after the dash of a list."""
    bare = len(row) - len(row.lstrip())
    return bare + 2 if _ITEM.match(row) else bare


def _ancestors(rows: list[str], at: int) -> list[tuple[int, str]]:
    """The rows that hold row ``at``, the outermost first, each with its key; the row itself last."""
    found: list[tuple[int, str]] = []
    limit = len(rows[at]) + 1
    for index in range(at, -1, -1):
        row = rows[index]
        if not row.strip() or row.lstrip().startswith("#"):
            continue
        key = _KEY.match(row)
        depth = _indent(row)
        outer = depth - 2 if _ITEM.match(row) else depth
        if key is not None and depth < limit:
            found.append((index, key[1].strip()))
        if index == at or depth < limit or outer < limit:
            limit = min(limit, outer if index != at or key is None else depth)
        if limit <= 0:
            break
    return found[::-1]


def _item(rows: list[str], head: int, at: int, word: str) -> list[str]:
    """Which item of the list below row ``head`` row ``at`` belongs to, and what it is about."""
    starts = [i for i in range(head + 1, at + 1) if _ITEM.match(rows[i])]
    if not starts:
        return []
    depth = min(len(rows[i]) - len(rows[i].lstrip()) for i in starts)
    own = [i for i in starts if len(rows[i]) - len(rows[i].lstrip()) == depth]
    block = ", ".join(rows[own[-1] : at + 1])
    name = _NAMED_BY.search(block)
    return [f"{word} {len(own)}" + (f": {name[1].strip()}" if name else "")]
