"""The allergen facts of the catalogue for a person to read in an hour: by kind of food, what stands out first.

    python -m tests.allergens.catalogue_review --write

writes ``catalogue_review.txt`` anew.  In a group of food, entries with the same facts stand together, each
once; the facts that few have come first, since among forty cheeses of cow's milk the odd one is the one to
look at.  The head of a group counts its entries and all their names, with a digest over every name and its
facts, so that no name can move from one food to another unnoticed either.
"""

from __future__ import annotations

import sys
import textwrap
from collections.abc import Iterable
from hashlib import sha256
from itertools import groupby
from pathlib import Path

from tests.allergens.oracle import entries, facts, food, listed, plain

REVIEW = Path(__file__).parent / "catalogue_review.txt"
HEAD = """\
# The allergen facts of the catalogue, by kind of food; what few foods of a kind share stands first.
# A node is contained; ?node waits for the label (?any: all of them do), ~node may be there, node=form is a form that
# some law exempts, so2 is an upper bound in mg/kg. "nothing" is what the catalogue says holds no allergen it knows.
# Written by: python -m tests.allergens.catalogue_review --write.  Read the difference before that is done.
"""
NOTHING = "nothing"
WIDTH = 116
_WIDE = ("plant", "animal_product")


def group_of(entry: dict) -> str:
    """The widest kind below plant and animal food that the first kind of an entry is one of."""
    kind = next(iter(listed(entry.get("kind"))), "no kind")
    while kind in food():
        above = next((k for k in listed(food()[kind].get("under")) if k not in _WIDE), "")
        if not above:
            break
        kind = above
    return kind


def signature(entry: dict) -> str:
    """All allergen facts of an entry in one line."""
    return " ".join(facts(entry)) or NOTHING


def digest(group: Iterable[dict]) -> str:
    """Over every name of the entries, with its facts."""
    lines = sorted(f"{plain(n)}: {signature(e)}" for e in group for n in (e["name"], *e.get("also", ())))
    return sha256("\n".join(lines).encode()).hexdigest()[:12]


def review(every: Iterable[dict] | None = None) -> str:
    """The whole text, without the lines that explain it."""
    groups: dict[str, list[dict]] = {}
    for entry in entries() if every is None else every:
        groups.setdefault(group_of(entry), []).append(entry)
    parts = []
    for name, group in sorted(groups.items()):
        many = sum(1 + len(e.get("also", ())) for e in group)
        parts.append(f"\n== {name}: {len(group)} entries, {many} names, {digest(group)}\n")
        alike: dict[str, list[str]] = {}
        for entry in group:
            alike.setdefault(signature(entry), []).append(entry["name"])
        for said, names in sorted(alike.items(), key=lambda x: (len(x[1]), x[0])):
            parts += [f"[{said}]\n", *_rows(sorted(names, key=plain))]
    return "".join(parts)


def _rows(names: list[str]) -> list[str]:
    """Names on one line, or on lines by their first letter, so that a new one moves no others."""
    whole = " | ".join(names)
    if len(whole) <= WIDTH:
        return [f"  {whole}\n"]
    rows = (" | ".join(some) for _, some in groupby(names, key=lambda n: plain(n)[:1]))
    return [f"  {line}\n" for row in rows for line in textwrap.wrap(row, WIDTH, break_on_hyphens=False)]


def reviewed() -> str:
    """The text as it was last reviewed, without the lines that explain it."""
    return "".join(
        line for line in REVIEW.read_text(encoding="utf-8").splitlines(keepends=True) if not line.startswith("#")
    )


if __name__ == "__main__":
    if sys.argv[1:] != ["--write"]:
        sys.exit("usage: python -m tests.allergens.catalogue_review --write")
    REVIEW.write_text(HEAD + review(), encoding="utf-8")
    print(f"{REVIEW.name} written: {len(entries())} entries")
