"""The allergens' names and the sentences of documents in the guests' languages, always beside the English.

A word that a language lacks is not replaced by anything: the document says that it stands in English only.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from html import escape

from platecard.allergens.statement import Finding
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Presence
from platecard.drawing import fonts
from platecard.knowledge.languages import Language
from platecard.knowledge.taxonomy import Taxonomy

# The sentence of a language for each presence, by its key there.
PRESENCE: dict[Presence, str] = {CONTAINS: "contains", MAY: "may_contain", UNKNOWN: "not_established"}
_LEVEL = {"recommended": " (recommended)", "national": " (national option)"}
# The sentences of a page for guests, as its English says them.
ENGLISH = {
    "contains": "contains",
    "may_contain": "may contain",
    "not_entered": "not among the ingredients entered",
    "not_established": "not established",
    "caution": "the caution",
    "ask": "ask the kitchen",
}


def _nodes(finding: Finding) -> tuple[str, ...]:
    """What a finding names: the allergen itself and, where the law asks for them, its kinds."""
    return tuple(dict.fromkeys((finding.allergen, *finding.kinds)))


def _words(finding: Finding, spoken: Iterable[Language]) -> list[tuple[Language, str]]:
    return [(x, x.words[n].text) for x in spoken for n in _nodes(finding) if n in x.words]


def introductions(
    spoken: Iterable[Language], nodes: Sequence[str], tree: Taxonomy, english: str, is_html: bool = False
) -> tuple[str, ...]:
    """A line for each language: whom to ask, and what stands in English only."""
    lines = []
    for x in spoken:
        lacking = [tree.name(n, english) for n in x.lacking(nodes)]
        lacking += [f'"{words}"' for key, words in ENGLISH.items() if key not in x.sentences]
        parts = [f"<b>{escape(x.name)}</b>:" if is_html else f"{x.name}:"]
        if "ask" in x.sentences:
            text = x.sentences["ask"].text
            parts.append((marked(x, text) if is_html else text) + ("" if text.endswith(".") else "."))
        if lacking:
            only = f"In English only: {'; '.join(lacking)}."
            parts.append(escape(only) if is_html else only)
        lines.append(" ".join(parts))
    return tuple(lines)


# --- on a page of a browser, which draws every script ------------------------------------------------------------


def marked(language: Language, text: str) -> str:
    """A text of a language, marked as such and kept apart from the English round it."""
    return f'<bdi lang="{language.key}">{escape(text)}</bdi>'


def named(finding: Finding, spoken: Sequence[Language]) -> str:
    """``milk (lait, 乳)``: what is declared, in English and then in each language that has a word for it."""
    words = [marked(x, text) for x, text in _words(finding, spoken)]
    return escape(finding.in_full) + (f" ({', '.join(words)})" if words else "")


def name_of(node: str, english: str, spoken: Sequence[Language]) -> str:
    """The name of one allergen, in English and then in each language that has a word for it."""
    return " · ".join([escape(english), *(marked(x, x.words[node].text) for x in spoken if node in x.words)])


def said(english: str, sentence: str, spoken: Sequence[Language]) -> str:
    """A sentence in English and then in each language that has it."""
    found = [marked(x, x.sentences[sentence].text) for x in spoken if sentence in x.sentences]
    return " ".join([english, *(f"<span>{words}</span>" for words in found)])


# --- on paper, whose fonts may lack a script ---------------------------------------------------------------------


def on_paper(spoken: Iterable[Language]) -> tuple[tuple[Language, ...], tuple[Language, ...]]:
    """The languages that the fonts of paper can draw, and those that they cannot."""
    drawn: list[Language] = []
    undrawn: list[Language] = []
    for x in spoken:
        texts = (word.text for word in (*x.words.values(), *x.sentences.values()))
        (undrawn if any(map(fonts.missing, texts)) else drawn).append(x)
    return tuple(drawn), tuple(undrawn)


def not_on_paper(undrawn: Iterable[Language]) -> tuple[str, ...]:
    """A line for each language that no font here can draw."""
    return tuple(
        f"{x.name}: no font for its script is installed, so everything stands in English only." for x in undrawn
    )


def with_names(finding: Finding, drawn: Sequence[Language]) -> str:
    """``milk (lait, Milch)``, for paper."""
    words = [text for _, text in _words(finding, drawn)]
    level = _LEVEL.get(finding.level, "")
    return finding.in_full + (f" ({', '.join(words)})" if words else "") + level


def with_sentence(english: str, sentence: str, drawn: Sequence[Language]) -> str:
    """``Contains / contient / enthält``, for paper."""
    return " / ".join([english, *(x.sentences[sentence].text for x in drawn if sentence in x.sentences)])


def glossary(
    spoken: Iterable[Language], nodes: Iterable[str], tree: Taxonomy, english: str = "en-GB"
) -> tuple[str, ...]:
    """A line for each language that sets its words beside the English ones, for paper."""
    listed = tuple(nodes)
    drawn, undrawn = on_paper(spoken)
    lines = []
    for x in drawn:
        pairs = [(tree.name(n, english), x.words[n].text) for n in listed if n in x.words]
        pairs += [(ENGLISH[key], x.sentences[key].text) for key in ("contains", "may_contain") if key in x.sentences]
        lacking = [tree.name(n, english) for n in x.lacking(listed)]
        only = f" In English only: {'; '.join(lacking)}." if lacking else ""
        lines.append(f"{x.name}: {'; '.join(f'{name} = {words}' for name, words in pairs)}.{only}")
    return (*lines, *not_on_paper(undrawn))
