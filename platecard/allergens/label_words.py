"""The words of labels: ``data/labels.yaml`` and a file for each language, checked and folded for comparison."""

from __future__ import annotations

import re
from collections.abc import Iterable
from functools import cache

from ..frozen import frozen
from ..knowledge import store, taxonomy
from ..knowledge.words import fold
from ..nodes import Mapping, Node
from ..problems import Problem, error
from .label_openers import Openers, as_pattern

# Stand for a bracket and for a percentage in the text of a label.
GROUP, PERCENT = "\ue000", "\ue001"
KINDS = ("may", "claim", "aside", "list", "contains")


@frozen
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
    made, problems = store.rows(store.texts("labels.yaml", "labels/*", "taxonomy.yaml"), _collect, "labels")
    tongues = made.get("languages", {}).values()
    foods = {fold(w): english for t in tongues for english, spelt in (*t.get("foods", {}).items(), *t.get("misspelt", {}).items()) for w in spelt}

    def gather(key: str) -> list[str]:
        return [w for t in tongues for w in t.get(key, ())]

    def folded(key: str) -> frozenset[str]:
        return frozenset(fold(w) for w in gather(key))

    def table(key: str) -> dict[str, tuple[str, ...]]:
        return {fold(k): tuple(v) for t in tongues for k, v in t.get(key, {}).items()}

    openers = Openers((kind, phrase) for kind in KINDS for t in tongues for phrase in t.get("openers", {}).get(kind, ()))
    shorts = "".join(rf"(?<!\b{re.escape(a)})" for a in gather("abbreviations"))
    return Words(
        openers=openers,
        made_of=re.compile(rf"(?<!\w)(?:{_any(sorted(gather('made_of'), key=len, reverse=True))})(?!\w)", re.IGNORECASE),
        full_stop=re.compile(rf"{shorts}[.!](?=[\s{GROUP}]|$)", re.IGNORECASE),
        classes=folded("classes"),
        neutral={**dict.fromkeys(folded("neutral") | folded("joiners") | folded("made_of"), ()), **table("neutral_but")},
        beside=folded("beside"),
        plain=folded("plain"), allergens=table("allergens"), said=folded("said"), capitals=frozenset(gather("capitals")),
        kinds_wanted=tuple(made.get("kinds_wanted", ())), seldom=tuple(made.get("seldom_declared", ())),
        limited={k: tuple(fold(w) for w in v) for k, v in made.get("below_a_limit", {}).items()},
        nothing=folded("nothing"), subjects=folded("subjects"), foods=foods,
        short=frozenset(w for w, of in foods.items() if len(w) == 2 and of in ("egg", "oil") or len(w) == 3 and of in made.get("short_forms", ())),
        collective=frozenset(fold(w) for w in made.get("collective", {}).get("names", ())),
        collective_files=frozenset(made.get("collective", {}).get("files", ())),
        named_after={fold(w): tuple(n) for w, n in made.get("named_after", {}).items()},
        brings_in=frozenset(fold(w) for w in made.get("brings_in", ()))), problems


def _any(phrases: Iterable[str]) -> str:
    """One pattern for the phrases; one that matches nothing if there are none."""
    return "|".join(as_pattern(p) for p in phrases) or r"(?!)"


def _collect(trees: dict[str, Node]) -> tuple[dict, tuple[Problem, ...]]:
    """The file as plain values.  Every node exists; a source is given."""
    tree = next((t for p, t in trees.items() if p.endswith("/labels.yaml")), None)
    if not isinstance(tree, Mapping):
        return {}, ()
    made = _bare(store.placed(tree))
    made["languages"] = {p.rsplit("/", 1)[-1].split(".")[0]: _bare(store.placed(t)) for p, t in trees.items() if "/labels/" in p and isinstance(t, Mapping)}
    kinds = taxonomy.load()[0].kinds
    problems: list[Problem] = []
    tongues = made["languages"]
    named = [n for t in tongues.values() for key in ("allergens", "neutral_but") for nodes in (t.get(key) or {}).values() for n in nodes]
    for node in (*named, *made.get("kinds_wanted", ()), *made.get("seldom_declared", ()), *made.get("below_a_limit", {}),
                 *(n for nodes in made.get("named_after", {}).values() for n in nodes)):
        if node not in kinds:
            problems.append(error("unknown-node", tree.span, f"the words of labels name the allergen node '{node}', which the taxonomy does not have"))
    if not made.get("source") or not tongues or not all(t.get("source") for t in tongues.values()):
        problems.append(error("label-words", tree.span, "the words of labels need a source and at least one language"))
    for language, tongue in tongues.items():
        for key, listed in tongue.items():
            for word in listed if isinstance(listed, list) else ():
                if not isinstance(word, str):
                    problems.append(error("label-words", tree.span, f"'{word}' in {key} ({language}) is no word: set it in quotes"))
    return ({} if problems else made), tuple(problems)


def _bare(value: object) -> object:
    if isinstance(value, dict):
        return {k: _bare(v) for k, v in value.items() if k != store.PLACE}
    return [_bare(v) for v in value] if isinstance(value, list) else value
