"""The allergen matrix as a table of dishes and allergen groups for each law in force, and as CSV and JSON.

In: prepared dishes.  Out: tables and texts.  A dish that could not be prepared is listed as not established and
never left out.
"""

from __future__ import annotations

import csv
import io
import json
from collections.abc import Iterator, Mapping, Sequence
from typing import NamedTuple

from platecard import fingerprint
from platecard.allergens.statement import ABSENT, Finding
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Link, Presence
from platecard.documents.text import wording
from platecard.documents.text.wording import PRESENCE
from platecard.knowledge import duties
from platecard.knowledge.laws import Law
from platecard.prepared import Prepared

_RANK = {CONTAINS: 0, UNKNOWN: 1, MAY: 2, ABSENT: 3}


class Cell(NamedTuple):
    """One dish under one group of a law; ``said`` pairs each name with its presence.

    ``over`` pairs each name that only shared equipment leaves open with the source.
    """

    presence: Presence
    said: tuple[tuple[str, Presence], ...]
    reasons: tuple[tuple[str, str], ...]
    note: str = ""
    left_out: tuple[str, ...] = ()
    over: tuple[tuple[str, str], ...] = ()


class Row(NamedTuple):
    """The line of one dish; ``code`` is the one on its card, empty if it has no card."""

    key: str
    title: str
    cells: tuple[Cell, ...]
    code: str = ""


class Table(NamedTuple):
    """The matrix of one law; ``not_read`` is what it may leave out and was not read saying so."""

    law: Law
    groups: tuple[str, ...]
    rows: tuple[Row, ...]
    not_read: tuple[str, ...] = ()


def table(law: Law, menu: Sequence[Prepared]) -> Table:
    """The table of one law, with the dishes in the order of the menu."""
    groups = _groups(law, menu)
    here = (s for p in menu for s in p.statements if s.law.key == law.key)
    not_read = tuple(dict.fromkeys(words for s in here for words in s.not_read))
    return Table(law, groups, tuple(_row_of(p, law, groups) for p in menu), not_read)


def laws_of(menu: Sequence[Prepared]) -> tuple[Law, ...]:
    """The laws in force where the menu is served."""
    return next((p.world.laws for p in menu), ())


def _row_of(p: Prepared, law: Law, groups: tuple[str, ...]) -> Row:
    title = p.dish.title if p.dish else p.key
    statement = next((s for s in p.statements if s.law.key == law.key), None)
    if statement is None or not p.is_sound:
        cells = tuple(
            Cell(
                UNKNOWN,
                ((PRESENCE[UNKNOWN], UNKNOWN),),
                (("", "the spec or the kitchen's library has errors"),),
            )
            for _ in groups
        )
    else:
        cells = tuple(_cell([f for f in statement.findings if f.group == g]) for g in groups)
    return Row(p.key, title, cells, fingerprint.of(p) if p.is_sound else "")


def _groups(law: Law, menu: Sequence[Prepared]) -> tuple[str, ...]:
    """The headings of the columns; that of a mere statement only where some dish carries it."""
    told = {f.group for p in menu for s in p.statements if s.law.key == law.key for f in s.findings}
    found = [g.heading for g in law.groups if not g.is_statement or g.heading in told]
    if law.sulphites:
        after = next((i + 1 for i, g in enumerate(law.groups) if g.id == law.sulphites_after), len(found))
        found.insert(after, law.sulphites.heading)
    return tuple(dict.fromkeys(found))


def _cell(findings: list[Finding]) -> Cell:
    presence = min((f.presence for f in findings), key=_RANK.__getitem__, default=ABSENT)
    told = [f for f in findings if f.presence != ABSENT]
    said = tuple((f.in_full, f.presence) for f in sorted(told, key=lambda f: _RANK[f.presence]))
    # The same text for every group left open by equipment, so that they share one reason.
    reasons = tuple(
        dict.fromkeys(
            (
                ("", _open_over(f))
                if f.presence == UNKNOWN and not f.is_own
                else (f.declared_as, f.note or _shortest(f.reasons))
            )
            for f in told
        )
    )
    return Cell(
        presence,
        said,
        reasons,
        "; ".join(f.note for f in findings if f.presence == ABSENT and f.note),
        tuple(dict.fromkeys(f.left_out for f in findings if f.presence == ABSENT and f.left_out)),
        tuple((f.in_full, f.over) for f in told if f.presence == UNKNOWN and not f.is_own),
    )


def _open_over(f: Finding) -> str:
    return f"not established over shared equipment: {f.over}"


def _shortest(reasons: tuple[tuple[Link, ...], ...]) -> str:
    # The first link is the dish, which the row already names.
    return (
        wording.chain(min(reasons, key=len)[1:]) + (f" (and {len(reasons) - 1} more)" if len(reasons) > 1 else "")
        if reasons
        else ""
    )


# --------------------------------------------------------------------------- data


def in_words(cell: Cell) -> str:
    """A cell as text for a spreadsheet: ``contains: wheat, rye; may contain: oats``."""
    parts = []
    over = dict(cell.over)
    for presence in (CONTAINS, UNKNOWN, MAY):
        by_source: dict[str, list[str]] = {}
        for word in (w for w, p in cell.said if p == presence):
            by_source.setdefault(over.get(word, "") if presence == UNKNOWN else "", []).append(word)
        for source, words in sorted(by_source.items()):
            why = f" (over shared equipment: {source})" if source else ""
            parts.append(
                PRESENCE[UNKNOWN] if words == [PRESENCE[UNKNOWN]] else f"{PRESENCE[presence]}: {', '.join(words)}{why}"
            )
    # A kind that the law exempts is told beside those that it declares.
    return "; ".join([*parts, *([cell.note] if cell.note else [])]) or PRESENCE[ABSENT]


def as_csv(table: Table) -> str:
    """The table as CSV (RFC 4180): a row for each dish, a column for each group of the law."""
    out = io.StringIO()
    writer = csv.writer(out)
    writer.writerow(["dish", "key", "code", *table.groups])
    for row in table.rows:
        writer.writerow([_harmless(x) for x in (row.title, row.key, row.code, *(in_words(c) for c in row.cells))])
    writer.writerow([wording.CAUTION])
    return out.getvalue()


def _harmless(text: str) -> str:
    """The text, with an apostrophe before it if a spreadsheet would run it as a formula."""
    return f"'{text}" if text[:1] in ("=", "+", "-", "@", "\t") else text


def as_json(menu: Sequence[Prepared], known: Mapping[str, str] | None = None) -> Iterator[str]:
    """The whole matrix as JSON, in pieces of one dish: every finding with its GS1 code and reasons.

    ``known`` are the :func:`findings` of dishes, by their keys, as far as they have been worked out.
    """
    yield '{\n "dishes": [\n'
    for i, p in enumerate(menu):
        yield (",\n" if i else "") + ((known or {}).get(p.key) or findings(p))
    place = menu[0].world.kitchen.settings.place if menu else ""
    told = [
        {
            "law": law.key,
            "name": law.name,
            "act": law.act,
            "asks": [duties.as_data(d) for d in duties.of(law.key, place)],
        }
        for law in laws_of(menu)
    ]
    yield (
        f'\n ],\n "laws": {_indented(told, " ").lstrip()},\n "caution":'
        f" {json.dumps(wording.CAUTION, ensure_ascii=False)}\n}}\n"
    )


def findings(prepared: Prepared) -> str:
    """The findings of one dish, as they stand in the JSON of the matrix."""
    return _indented(_dish_data(prepared), "  ")


def _indented(data: object, by: str) -> str:
    return by + json.dumps(data, indent=1, ensure_ascii=False).replace("\n", f"\n{by}")


def _dish_data(p: Prepared) -> dict[str, object]:
    return {
        "dish": p.key,
        "title": p.dish.title if p.dish else p.key,
        "established": p.is_sound and all(s.established for s in p.statements),
        "code": fingerprint.of(p) if p.is_sound else None,
        "revision": p.dish.revision.number if p.dish and p.dish.revision else None,
        "relies_on": list(p.statements[0].relies_on) if p.statements else [],
        "findings": [
            {
                "law": f.law,
                "group": f.group,
                "allergen": f.allergen,
                "gs1": f.gs1,
                "declared_as": f.declared_as,
                "presence": f.presence if p.is_sound else UNKNOWN,
                "level": f.level,
                "mark": f.mark,
                "on_record": bool(f.on_record),
                "note": f.note,
                "over_equipment": f.over,
                "reasons": [[link.words for link in chain] for chain in f.reasons],
            }
            for s in p.statements
            for f in s.findings
        ],
    }
