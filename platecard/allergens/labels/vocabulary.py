"""The words of labels: ``data/labels.yaml`` and a file for each language, checked and folded for comparison.

The allergens' names of ``data/languages`` are added to them where no list has the word yet: they can make an allergen
known, and never make a word one that says nothing.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterable
from functools import cache
from typing import NamedTuple, TypedDict, cast

from platecard import packaged_tables
from platecard.allergens.labels.openers import Openers, as_pattern, needs
from platecard.diagnostics import Problem, error
from platecard.knowledge import taxonomy
from platecard.knowledge.names import fold
from platecard.yaml_nodes import Mapping, Node

# Stand for a bracket and for a percentage in the text of a label.
GROUP, PERCENT = "\ue000", "\ue001"
KINDS = ("may", "claim", "aside", "list", "contains")
_FOLDED = (
    "classes",
    "neutral",
    "joiners",
    "made_of",
    "beside",
    "plain",
    "said",
    "nothing",
    "subjects",
    "brings_in",
    "unsaid",
    "unsaid_beside",
    "turns",
    "denials",
    "denied",
)


class Words(NamedTuple):
    """The words in all languages; the data files say what each list is for."""

    openers: Openers
    made_of: re.Pattern[str]
    full_stop: re.Pattern[str]
    classes: frozenset[str]
    neutral: dict[str, tuple[str, ...]]
    beside: frozenset[str]
    plain: frozenset[str]
    allergens: dict[str, tuple[str, ...]]
    said: frozenset[str]
    capitals: frozenset[str]
    kinds_wanted: tuple[str, ...]
    seldom: tuple[str, ...]
    limited: dict[str, tuple[str, ...]]
    nothing: frozenset[str]
    subjects: frozenset[str]
    foods: dict[str, str]
    short: frozenset[str]
    collective: frozenset[str]
    collective_files: frozenset[str]
    named_after: dict[str, tuple[str, ...]]
    brings_in: frozenset[str]
    joiners: frozenset[str]
    unsaid: frozenset[str]
    unsaid_beside: frozenset[str]
    turns: frozenset[str]
    denials: frozenset[str]
    denied: frozenset[str]


class _Collective(TypedDict, total=False):
    """Names that leave open what they hold, and the catalogue's files that are full of such names."""

    names: list[str]
    files: list[str]


class _Rows(TypedDict, total=False):
    """The words of all languages together, beside the lists of :data:`_FOLDED`; empty where a file is at fault."""

    foods: dict[str, str]
    allergens: dict[str, list[str]]
    neutral_but: dict[str, list[str]]
    openers: list[tuple[str, str, list[str]]]
    abbreviations: list[str]
    made_of_as_written: list[str]
    capitals: list[str]
    kinds_wanted: list[str]
    seldom_declared: list[str]
    short_forms: list[str]
    below_a_limit: dict[str, list[str]]
    collective: _Collective
    named_after: dict[str, list[str]]


class _Shared(TypedDict, total=False):
    """``data/labels.yaml``: what holds for every language."""

    source: str
    kinds_wanted: list[str]
    seldom_declared: list[str]
    short_forms: list[str]
    below_a_limit: dict[str, list[str]]
    collective: _Collective
    named_after: dict[str, list[str]]
    brings_in: list[str]


# The file of one language: lists of words and tables of words, by their key.
_Tongue = dict[str, object]


@cache
def words() -> tuple[Words, tuple[Problem, ...]]:
    """The words of labels, and the problems of their files; where there are any, what could still be read."""
    rows, problems = packaged_tables.rows(
        packaged_tables.texts("labels.yaml", "labels/*", "languages/*", "taxonomy.yaml"), _collect, "labels"
    )
    made, lists = cast(_Rows, rows), cast(dict[str, list[str]], rows)
    folded = {key: frozenset(lists.get(key, ())) for key in _FOLDED}
    foods = made.get("foods", {})
    shorts = "".join(rf"(?<!\b{re.escape(a)})" for a in made.get("abbreviations", ()))
    return (
        Words(
            openers=Openers(made.get("openers", ())),
            made_of=re.compile(
                rf"(?<!\w)(?:{_any(sorted(made.get('made_of_as_written', ()), key=len, reverse=True))})(?!\w)",
                re.IGNORECASE,
            ),
            full_stop=re.compile(rf"{shorts}[.!](?=[\s{GROUP}]|$)", re.IGNORECASE),
            neutral={
                **dict.fromkeys(folded["neutral"] | folded["joiners"] | folded["made_of"], ()),
                **_tuples(made.get("neutral_but", {})),
            },
            allergens=_tuples(made.get("allergens", {})),
            capitals=frozenset(made.get("capitals", ())),
            kinds_wanted=tuple(made.get("kinds_wanted", ())),
            seldom=tuple(made.get("seldom_declared", ())),
            limited=_tuples(made.get("below_a_limit", {})),
            foods=foods,
            short=frozenset(
                w
                for w, of in foods.items()
                if len(w) == 2 and of in ("egg", "oil") or len(w) == 3 and of in made.get("short_forms", ())
            ),
            collective=frozenset(made.get("collective", {}).get("names", ())),
            collective_files=frozenset(made.get("collective", {}).get("files", ())),
            named_after=_tuples(made.get("named_after", {})),
            **{key: folded[key] for key in _FOLDED if key not in ("neutral", "made_of")},
        ),
        problems,
    )


def _tuples(table: dict[str, list[str]]) -> dict[str, tuple[str, ...]]:
    return {key: tuple(value) for key, value in table.items()}


def _any(phrases: Iterable[str]) -> str:
    """One pattern for all the phrases; one that matches nothing if there are none."""
    return "|".join(as_pattern(p) for p in phrases) or r"(?!)"


def _collect(trees: dict[str, Node]) -> tuple[dict[str, object], tuple[Problem, ...]]:
    """The words of all languages together, folded for comparison; every node must exist and a source be given."""
    tree = next((t for p, t in trees.items() if p.endswith("/labels.yaml")), None)
    if not isinstance(tree, Mapping):
        return {}, ()
    made = cast(_Shared, _bare(packaged_tables.placed(tree)))
    tongues = {
        p.rsplit("/", 1)[-1].split(".")[0]: cast(_Tongue, _bare(packaged_tables.placed(t)))
        for p, t in trees.items()
        if "/labels/" in p and isinstance(t, Mapping)
    }
    problems = _faults(made, tongues, tree)
    if problems:
        return {}, tuple(problems)

    def gather(key: str) -> list[str]:
        return [w for t in tongues.values() for w in cast(list[str], t.get(key, []))]

    def table(key: str) -> dict[str, list[str]]:
        return {fold(k): v for t in tongues.values() for k, v in _table(t, key).items()}

    every = {key: list(dict.fromkeys(map(fold, gather(key)))) for key in _FOLDED if key != "brings_in"}
    foods = {
        fold(w): english
        for t in tongues.values()
        for english, spelt in (*_table(t, "foods").items(), *_table(t, "misspelt").items())
        for w in spelt
    }
    allergens = table("allergens")
    known = {*allergens, *foods, *taxonomy.load()[0].by_word, *table("neutral_but")}.union(*every.values())
    for word, nodes in _of_the_laws(trees).items():
        if word not in known:
            allergens[word] = nodes
    return {
        **every,
        "foods": foods,
        "allergens": allergens,
        "neutral_but": table("neutral_but"),
        "openers": [
            (kind, phrase, sorted(needs(phrase)))
            for kind in KINDS
            for t in tongues.values()
            for phrase in _table(t, "openers").get(kind, ())
        ],
        "abbreviations": gather("abbreviations"),
        "made_of_as_written": gather("made_of"),
        "capitals": gather("capitals"),
        "kinds_wanted": made.get("kinds_wanted", []),
        "seldom_declared": made.get("seldom_declared", []),
        "short_forms": made.get("short_forms", []),
        "below_a_limit": {k: [fold(w) for w in v] for k, v in made.get("below_a_limit", {}).items()},
        "collective": {
            "names": [fold(w) for w in made.get("collective", {}).get("names", ())],
            "files": made.get("collective", {}).get("files", []),
        },
        "named_after": {fold(w): n for w, n in made.get("named_after", {}).items()},
        "brings_in": [fold(w) for w in made.get("brings_in", ())],
    }, ()


# A name in Latin letters that is shorter is more often another word: "korn" is barley in one language only.
_LEAST_LETTERS = 5


def is_comparable(text: str) -> bool:
    """Whether folding keeps a text's letters.

    Devanagari writes vowels as marks, and folded, two of its words can be one.
    """
    return not any(unicodedata.category(c).startswith("M") for c in unicodedata.normalize("NFC", text))


def _of_the_laws(trees: dict[str, Node]) -> dict[str, list[str]]:
    """The allergens' names in all languages of ``data/languages``, folded, with every node that one of them means.

    A name that covers several nodes means its own and, since it can be another of them, the group above it.
    """
    kinds = taxonomy.load()[0].kinds
    found: dict[str, list[str]] = {}
    for path, tree in trees.items():
        if "/languages/" not in path or not isinstance(tree, Mapping):
            continue
        rows = cast(dict[str, dict[str, dict[str, object]]], _bare(packaged_tables.placed(tree)))["words"]
        for node, row in rows.items():
            meant = [node, kinds[node].under] if row.get("covers") else [node]
            for text in (cast(str, row["word"]), *cast(dict[str, list[str]], row.get("also", {}))):
                word = fold(text)
                if is_comparable(text) and (len(word) >= _LEAST_LETTERS or not word.isascii()):
                    nodes = found.setdefault(word, [])
                    nodes += [n for n in meant if n not in nodes]
    return found


def _table(tongue: _Tongue, key: str) -> dict[str, list[str]]:
    return cast(dict[str, list[str]], tongue.get(key, {}))


def _faults(made: _Shared, tongues: dict[str, _Tongue], tree: Mapping) -> list[Problem]:
    kinds = taxonomy.load()[0].kinds
    problems: list[Problem] = []
    named = [
        n
        for t in tongues.values()
        for key in ("allergens", "neutral_but")
        for nodes in (_table(t, key) or {}).values()
        for n in nodes
    ]
    for node in (
        *named,
        *made.get("kinds_wanted", ()),
        *made.get("seldom_declared", ()),
        *made.get("below_a_limit", {}),
        *(n for nodes in made.get("named_after", {}).values() for n in nodes),
    ):
        if node not in kinds:
            problems.append(
                error(
                    "unknown-node",
                    tree.span,
                    f"the words of labels name the allergen node '{node}', which the taxonomy does not have",
                )
            )
    if not made.get("source") or not tongues or not all(t.get("source") for t in tongues.values()):
        problems.append(error("label-words", tree.span, "the words of labels need a source and at least one language"))
    for language, tongue in tongues.items():
        for key, listed in tongue.items():
            for word in listed if isinstance(listed, list) else ():
                if not isinstance(word, str):
                    problems.append(
                        error(
                            "label-words", tree.span, f"'{word}' in {key} ({language}) is not a word: put it in quotes"
                        )
                    )
    return problems


def _bare(value: object) -> object:
    if isinstance(value, dict):
        return {k: _bare(v) for k, v in value.items() if k != packaged_tables.PLACE}
    return [_bare(v) for v in value] if isinstance(value, list) else value
