"""The words of labels: ``data/labels.yaml`` and a file for each language, checked and folded for comparison."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass
from functools import cache

from platecard.allergens.labels.openers import Openers, as_pattern
from platecard.diagnostics import Problem, error
from platecard.knowledge import packaged_tables, taxonomy
from platecard.knowledge.names import fold
from platecard.yaml_nodes import Mapping, Node

# Stand for a bracket and for a percentage in the text of a label.
GROUP, PERCENT = "\ue000", "\ue001"
KINDS = ("may", "claim", "aside", "list", "contains")
_FOLDED = ("classes", "neutral", "joiners", "made_of", "beside", "plain", "said", "nothing", "subjects", "brings_in")


@dataclass(frozen=True, slots=True)
class Words:
    """The words in all languages; the file says what each list is for."""

    openers: Openers
    made_of: re.Pattern
    full_stop: re.Pattern
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


@cache
def words() -> tuple[Words, tuple[Problem, ...]]:
    """The words of labels and the problems of their file; with problems, what could be read."""
    made, problems = packaged_tables.rows(
        packaged_tables.texts("labels.yaml", "labels/*", "taxonomy.yaml"), _collect, "labels"
    )
    folded = {key: frozenset(made.get(key, ())) for key in _FOLDED}
    foods = made.get("foods", {})
    shorts = "".join(rf"(?<!\b{re.escape(a)})" for a in made.get("abbreviations", ()))
    return (
        Words(
            openers=Openers((kind, phrase) for kind, phrase in made.get("openers", ())),
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
            **{key: folded[key] for key in ("classes", "beside", "plain", "said", "nothing", "subjects", "brings_in")},
        ),
        problems,
    )


def _tuples(table: dict[str, list[str]]) -> dict[str, tuple[str, ...]]:
    return {key: tuple(value) for key, value in table.items()}


def _any(phrases: Iterable[str]) -> str:
    """One pattern for the phrases; one that matches nothing if there are none."""
    return "|".join(as_pattern(p) for p in phrases) or r"(?!)"


def _collect(trees: dict[str, Node]) -> tuple[dict, tuple[Problem, ...]]:
    """The words of all languages together, folded for comparison.  Every node exists; a source is given."""
    tree = next((t for p, t in trees.items() if p.endswith("/labels.yaml")), None)
    if not isinstance(tree, Mapping):
        return {}, ()
    made = _bare(packaged_tables.placed(tree))
    tongues = {
        p.rsplit("/", 1)[-1].split(".")[0]: _bare(packaged_tables.placed(t))
        for p, t in trees.items()
        if "/labels/" in p and isinstance(t, Mapping)
    }
    problems = _faults(made, tongues, tree)
    if problems:
        return {}, tuple(problems)

    def gather(key: str) -> list[str]:
        return [w for t in tongues.values() for w in t.get(key, ())]

    def table(key: str) -> dict[str, list[str]]:
        return {fold(k): v for t in tongues.values() for k, v in t.get(key, {}).items()}

    every = {key: list(dict.fromkeys(map(fold, gather(key)))) for key in _FOLDED if key != "brings_in"}
    foods = {
        fold(w): english
        for t in tongues.values()
        for english, spelt in (*t.get("foods", {}).items(), *t.get("misspelt", {}).items())
        for w in spelt
    }
    return {
        **every,
        "foods": foods,
        "allergens": table("allergens"),
        "neutral_but": table("neutral_but"),
        "openers": [
            (kind, phrase) for kind in KINDS for t in tongues.values() for phrase in t.get("openers", {}).get(kind, ())
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


def _faults(made: dict, tongues: dict[str, dict], tree: Mapping) -> list[Problem]:
    kinds = taxonomy.load()[0].kinds
    problems: list[Problem] = []
    named = [
        n
        for t in tongues.values()
        for key in ("allergens", "neutral_but")
        for nodes in (t.get(key) or {}).values()
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
                        error("label-words", tree.span, f"'{word}' in {key} ({language}) is no word: set it in quotes")
                    )
    return problems


def _bare(value: object) -> object:
    if isinstance(value, dict):
        return {k: _bare(v) for k, v in value.items() if k != packaged_tables.PLACE}
    return [_bare(v) for v in value] if isinstance(value, list) else value
