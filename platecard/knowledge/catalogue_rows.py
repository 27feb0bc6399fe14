"""The files of the catalogue as rows: what may stand in them, what is checked, and how they are compiled.

In: the trees of ``data/catalogue`` and of the files beside it.  Out: rows for :mod:`~platecard.knowledge.catalogue`,
and the problems of the files.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from fractions import Fraction
from typing import NotRequired, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, Span, error
from platecard.knowledge import kinds as food_kinds
from platecard.knowledge import plain_words, taxonomy
from platecard.knowledge.names import fold
from platecard.yaml_nodes import Mapping, Node, Sequence

ANY = "any"
FORMS = (
    "refined_oil",
    "glucose_syrup",
    "maltodextrin",
    "distillate",
    "fining_agent",
    "vitamin_carrier",
    "tocopherol",
    "phytosterol",
    "stanol_ester",
    "lactitol",
    "beer_or_spirit",
    "behenic_acid",
)
_KEYS = {
    "name",
    "also",
    "contains",
    "depends",
    "look_for",
    "ask",
    "may",
    "form",
    "so2",
    "so2_source",
    "so2_natural",
    "liquid",
    "density",
    "density_source",
    "pieces",
    "pieces_source",
    "of",
    "kind",
    "kind_open",
    "note",
    "source",
}


class Row(TypedDict):
    """An entry as the file has it; ``id`` is added when the rows are collected."""

    id: NotRequired[str]
    name: str
    source: str
    also: NotRequired[list[str]]
    contains: NotRequired[list[str]]
    depends: NotRequired[list[str] | str]
    look_for: NotRequired[list[str]]
    ask: NotRequired[str]
    may: NotRequired[list[str]]
    form: NotRequired[dict[str, str]]
    so2: NotRequired[int | str]
    so2_source: NotRequired[str]
    so2_natural: NotRequired[bool]
    so2_read: NotRequired[bool]
    liquid: NotRequired[bool]
    density: NotRequired[int | str]
    pieces: NotRequired[dict[str, int | str]]
    of: NotRequired[list[str]]
    kind: NotRequired[list[str]]
    kind_open: NotRequired[list[str] | str]
    note: NotRequired[str]


class _PlainRule(TypedDict, total=False):
    before: list[str]
    after: list[str]
    done: list[str]
    behind: list[str]
    share: bool
    age: bool
    kinds: list[str] | str
    depends: list[str]
    kind_open: list[str]


class _PlainFile(TypedDict, total=False):
    """``data/plain-foods.yaml``."""

    source: str
    never: list[str]
    ages: list[str]
    words: list[_PlainRule]


class CatalogueRows(TypedDict):
    """The catalogue as it is compiled.

    ``lines`` has one JSON object per line; ``names`` maps each folded name to its line or lines (from 0);
    ``longer`` maps the first word of names of several words to the most words that such a name has.
    """

    names: dict[str, int | list[int]]
    longer: dict[str, int]
    plain: plain_words.Words
    lines: list[str]


def fraction(value: object) -> Fraction | None:
    """A figure of the data as an exact number."""
    return None if value is None else Fraction(str(value))


def collect(trees: dict[str, Node]) -> tuple[CatalogueRows, tuple[Problem, ...]]:
    """The rows and the index of their names.

    These rules are checked, each with a problem at its place:

    1. Only known keys; a name; a source that ``sources.yaml`` knows.
    2. Every node exists; every form is known and belongs to a node that is contained or open.
    3. ``so2`` comes with ``so2_source``, and ``so2`` and ``density`` are numbers.
    4. No name stands in two entries.
    5. Every food kind exists.
    """
    problems: list[Problem] = []
    kinds = taxonomy.load()[0].kinds
    sources: dict[str, dict[str, object]] = {}
    if cited := next((t for p, t in trees.items() if p.endswith("/sources.yaml")), None):
        sources = cast(dict[str, dict[str, dict[str, object]]], packaged_tables.placed(cited)).get("sources", {})
    food = food_kinds.ids(next((t for p, t in trees.items() if p.endswith("/kinds.yaml")), None))
    rows: list[Row] = []
    names: dict[str, list[int]] = {}
    for path, tree in trees.items():
        entries = tree.get("entries") if "/catalogue/" in path and isinstance(tree, Mapping) else None
        for node in entries.items if isinstance(entries, Sequence) else ():
            row = cast(Row, packaged_tables.placed(node))
            found = _faults(row, node.span, kinds, sources, food)
            problems += found
            if any(p.slug == "catalogue-name" for p in found):
                continue
            row["id"] = fold(row["name"]).replace(" ", "-")
            if "so2" in row:
                row["so2_read"] = sources.get(str(row.get("so2_source")), {}).get("read") == "seen"
            for name in dict.fromkeys(fold(n) for n in (row["name"], *row.get("also", ()))):
                if name in names:
                    other = rows[names[name][0]]
                    problems.append(
                        error(
                            "name-in-two-entries",
                            node.span,
                            f"'{name}' already names '{other['name']}' ({packaged_tables.span_of(other)})",
                        )
                    )
                names.setdefault(name, []).append(len(rows))
            rows.append(row)
    index: dict[str, int | list[int]] = {name: hits[0] if len(hits) == 1 else hits for name, hits in names.items()}
    longer: dict[str, int] = {}
    for name in index:
        first = name.partition(" ")[0]
        if (many := name.count(" ") + 1) > longer.get(first, 1):
            longer[first] = many
    plain, faults = _plain(trees, food, kinds, sources)
    return {
        "names": index,
        "longer": longer,
        "plain": plain,
        "lines": [json.dumps(r, ensure_ascii=False, separators=(",", ":")) for r in rows],
    }, (*problems, *faults)


def _plain(
    trees: dict[str, Node], food: set[str], nodes: Collection[str], sources: Collection[str]
) -> tuple[plain_words.Words, list[Problem]]:
    """The words that change nothing in a plain food, folded, and the problems of ``data/plain-foods.yaml``."""
    made = plain_words.Words(
        never=[], ages=[], rules=[], of_share=[], of_age=[], before={}, after={}, done={}, behind={}
    )
    tree = next((t for p, t in trees.items() if p.endswith("/plain-foods.yaml")), None)
    if not isinstance(tree, Mapping):
        return made, []
    written = cast(_PlainFile, packaged_tables.placed(tree))
    problems: list[Problem] = []
    if written.get("source") not in sources:
        problems.append(
            error("no-source-cited", tree.span, "the words beside plain foods have no source that sources.yaml knows")
        )
    never = {fold(word) for word in written.get("never", [])}
    made["never"] = sorted(never)
    made["ages"] = sorted({fold(word) for word in written.get("ages", [])})
    for number, row in enumerate(written.get("words", [])):
        kinds = row.get("kinds", [])
        rule: plain_words.Rule = {
            "measures": bool(row.get("share") or row.get("age")),
            "kinds": kinds,
            "depends": list(row.get("depends", [])),
            "kind_open": list(row.get("kind_open", [])),
        }
        made["rules"].append(rule)
        problems += [
            error("unknown-kind", tree.span, f"there is no food kind '{k}' in kinds.yaml")
            for k in (*(kinds if isinstance(kinds, list) else []), *rule["kind_open"])
            if k not in food
        ]
        problems += [
            error("unknown-node", tree.span, f"there is no allergen node '{n}' in the taxonomy")
            for n in rule["depends"]
            if n not in nodes
        ]
        made["of_share"] += [number] if row.get("share") else []
        made["of_age"] += [number] if row.get("age") else []
        for said, words in (
            (made["before"], row.get("before", [])),
            (made["after"], row.get("after", [])),
            (made["done"], row.get("done", [])),
            (made["behind"], row.get("behind", [])),
        ):
            for word in dict.fromkeys(map(fold, words)):
                said.setdefault(word, []).append(number)
                if not never.isdisjoint((word, *word.split())):
                    problems.append(
                        error("word-never-dropped", tree.span, f"'{word}' can change what a food is; take it out")
                    )
    return made, problems


def _faults(row: Row, span: Span, kinds: Collection[str], sources: Collection[str], food: set[str]) -> list[Problem]:
    """What is wrong with a row, given the nodes, the sources and the food kinds that exist."""
    written = cast(dict[str, object], row)
    name = row.get("name")
    if not isinstance(name, str) or not name:
        return [error("catalogue-name", span, "a catalogue entry without a name")]
    found = [
        error("unknown-key", span, f"'{name}': there is no key '{k}' in a catalogue entry")
        for k in row
        if k not in _KEYS and k != packaged_tables.PLACE
    ]
    if row.get("source") not in sources:
        found.append(
            error(
                "no-source-cited",
                span,
                f"'{name}' has no source that sources.yaml knows",
                "say source: practice where it is common practice",
            )
        )
    for key in ("contains", "depends", "look_for", "may"):
        value = written.get(key, ())
        for node in (
            value if isinstance(value, list) else () if value == ANY and key == "depends" else [value] if value else ()
        ):
            if node not in kinds:
                found.append(
                    error("unknown-node", span, f"'{name}': there is no allergen node '{node}' in the taxonomy")
                )
    for key in ("kind", "kind_open"):
        value = written.get(key, [])
        for kind in value if isinstance(value, list) else [value]:
            if kind not in food and not (kind == ANY and key == "kind_open"):
                found.append(error("unknown-kind", span, f"'{name}': there is no food kind '{kind}' in kinds.yaml"))
        if key == "kind" and not isinstance(value, list):
            found.append(error("unknown-kind", span, f"'{name}': write its kinds as a list"))
    for node, form in row.get("form", {}).items():
        if node != packaged_tables.PLACE and (
            form not in FORMS
            or (node not in (*row.get("contains", ()), *(row.get("depends") or ())) and row.get("depends") != ANY)
        ):
            found.append(
                error(
                    "unknown-form",
                    span,
                    f"'{name}': the form '{form}' of '{node}' is not known, or '{node}' is neither contained nor open",
                )
            )
    if "so2" in row and row.get("so2_source") not in sources:
        found.append(error("no-source-cited", span, f"'{name}' has a sulphite figure without its source"))
    for key in ("so2", "density"):
        try:
            fraction(written.get(key))
        except ValueError:
            found.append(error("catalogue-number", span, f"'{name}': '{key}' is not a number"))
    return found
