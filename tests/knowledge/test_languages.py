"""The laws' words in other languages: each with where it was read, none twice, none a claim, and none made up."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

import platecard
from platecard import packaged_tables
from platecard.documents.text import wording
from platecard.knowledge import claims, languages, laws, taxonomy
from platecard.package_data import read_text
from platecard.yaml_nodes import parse

DATA = Path(platecard.__file__).parent / "data"
SCHEMA = json.loads(read_text("schemas", "language.json"))
TREE = taxonomy.load()[0]
# How many of the 70 nodes that a law can declare have a name, how many of those were read in an official text, and how
# many of the seven sentences there are.  A count that falls is a loss; one that rises is written down here.
COVERAGE = {
    "ar": (17, 0, 2),
    "cs": (27, 0, 2),
    "da": (28, 6, 4),
    "de": (28, 0, 3),
    "el": (9, 0, 2),
    "en": (73, 2, 7),
    "es": (28, 0, 3),
    "fi": (28, 5, 3),
    "fr": (28, 6, 3),
    "hi": (13, 0, 1),
    "hu": (25, 0, 1),
    "it": (28, 0, 4),
    "ja": (34, 32, 3),
    "ko": (23, 0, 3),
    "nl": (28, 5, 4),
    "pl": (28, 2, 2),
    "pt": (28, 0, 3),
    "sv": (28, 5, 4),
    "tr": (27, 0, 1),
    "uk": (27, 0, 2),
    "zh-Hans": (26, 0, 3),
    "zh-Hant": (25, 0, 3),
}
EVERY = {key: languages.load(key) for key in languages.names()}


def bare(value: object) -> object:
    if isinstance(value, dict):
        return {k: bare(v) for k, v in value.items() if k != packaged_tables.PLACE}
    return [bare(v) for v in value] if isinstance(value, list) else value


def file_of(key: str) -> object:
    node, problems = parse(read_text("languages", f"{key}.yaml"), key)
    assert node is not None and not problems
    return bare(packaged_tables.placed(node))


def test_the_schema_is_a_schema():
    Draft202012Validator.check_schema(SCHEMA)


@pytest.mark.parametrize("key", languages.names())
def test_each_file_holds_to_the_schema_and_has_no_problem(key):
    assert [e.message for e in Draft202012Validator(SCHEMA).iter_errors(file_of(key))] == []
    language, problems = EVERY[key]
    assert language is not None and problems == () and language.key == key


@pytest.mark.parametrize("key", languages.names())
def test_every_word_has_a_source_and_every_source_a_word(key):
    language = EVERY[key][0]
    words = [*language.words.values(), *language.sentences.values()]
    assert all(w.text.strip() and w.sources and w.mark in languages.READ for w in words)
    assert all(s.title and s.link for w in words for s in w.sources)
    # Our own word is a word of nobody but us: only English has any.
    assert key == "en" or all(w.mark != "practice" for w in words)
    made = file_of(key)
    rows = [*made["words"].values(), *made["sentences"].values()]
    cited = {s for row in rows for each in (row["source"], *row.get("also", {}).values()) for s in each}
    assert cited == set(made["sources"])


def declarable() -> tuple[str, ...]:
    """The nodes that any law on file can declare."""
    return languages.declared(laws.load(key)[0] for key in laws.names())


def test_the_coverage_of_each_language_is_counted():
    nodes = declarable()
    assert len(nodes) == 73
    counted = {}
    for key, (language, _) in EVERY.items():
        named = [n for n in nodes if n in language.words]
        official = len(named) - len(language.unofficial(nodes))
        counted[key] = (len(named), official, len(language.sentences))
        assert {*named, *language.lacking(nodes)} == set(nodes)
    assert counted == COVERAGE


def test_what_was_not_found_is_lacking_and_nothing_stands_for_it():
    greek = EVERY["el"][0]
    assert "egg" not in greek.words and "egg" in greek.lacking(("egg", "wheat")) and "wheat" in greek.words
    assert "may_contain" not in EVERY["ja"][0].sentences  # its labels must not say so
    assert languages.load("xx") == (None, ())


def test_what_says_traces_never_stands_for_may_contain():
    for language, _ in EVERY.values():
        if "may_contain" in language.sentences:
            assert not re.search(
                r"tra[cz]|spor|spår|vestíg|ślad|stop|微量|آثار", language.sentences["may_contain"].text
            )


def test_no_two_allergens_share_a_word_but_where_the_law_says_so():
    for key, (language, _) in EVERY.items():
        meant: dict[str, set[str]] = {}
        for node, word in language.words.items():
            for text in (word.text, *word.also):
                meant.setdefault(text.lower(), set()).add(node)
        shared = {frozenset(nodes) for nodes in meant.values() if len(nodes) > 1}
        covered = {frozenset((k, *r["covers"])) for k, r in file_of(key)["words"].items() if "covers" in r}
        assert shared == covered, key
        assert not covered or key in ("ja", "ko")


@pytest.mark.parametrize("key", ["jp", "kr"])
def test_the_native_words_of_a_law_are_those_of_its_language(key):
    node, _ = parse(read_text("laws", f"{key}.yaml"), key)
    law = bare(packaged_tables.placed(node))
    language = EVERY[{"jp": "ja", "kr": "ko"}[key]][0]
    native = {n: word for group in law["groups"] for n, word in group.get("native", {}).items()}
    if isinstance(law.get("sulphites"), dict) and "native" in law["sulphites"]:
        native["sulphite"] = law["sulphites"]["native"]
    assert {n: language.words[n].text for n in native} == native
    # What the law declares has a word: by itself or, in Korean, as one of the shellfish.
    declared = set(languages.declared((laws.load(key)[0],)))
    assert declared - set(language.words) <= {"clam", "scallop", "cockle", "whelk", "periwinkle", "limpet", "conch"}


def test_no_word_in_any_language_claims_an_absence_or_a_diet():
    for language, _ in EVERY.values():
        for word in (*language.words.values(), *language.sentences.values()):
            for text in (word.text, *word.also):
                assert claims.find(text) == (), (language.key, text)
                assert not re.search(
                    r"\bfree\b|frei\b|\bsans\b|\bsenza\b|\bsin\b|\bsem\b|\butan\b|\bbez\b|无麸|不含", text
                )


def test_no_word_is_a_trade_name():
    named = Path(__file__).parents[1] / "project" / "trade_names.txt"
    trade = {
        line.strip().lower() for line in named.read_text(encoding="utf-8").splitlines() if line[:1] not in ("#", "")
    }
    for language, _ in EVERY.values():
        for word in language.words.values():
            for text in (word.text, *word.also):
                assert not {*re.findall(r"[\w’']+", text.lower())} & {*trade, "kamut", "камут"}, (language.key, text)


def test_the_english_is_that_of_the_taxonomy_and_of_documents():
    english = EVERY["en"][0]
    assert {n: w.text for n, w in english.words.items()} == {n: TREE.name(n) for n in english.words}
    assert set(declarable()) == set(english.words)
    said = {key: word.text for key, word in english.sentences.items()}
    assert said["caution"] == wording.CAUTION and set(said) == set(languages.SENTENCES)
    assert {said[k] for k in ("contains", "may_contain", "not_established", "not_entered")} == {
        *wording.PRESENCE.values()
    }


def test_a_kitchen_may_name_each_language_but_english():
    kitchen = json.loads(read_text("schemas", "kitchen.json"))["properties"]["guest_languages"]
    assert sorted(kitchen["items"]["enum"]) == sorted({*languages.names()} - {"en"})


def test_the_ways_of_reading_stand_in_the_schema():
    read = SCHEMA["properties"]["sources"]["additionalProperties"]["properties"]["read"]["enum"]
    assert tuple(read) == languages.READ
    assert tuple(SCHEMA["properties"]["sentences"]["propertyNames"]["enum"]) == languages.SENTENCES


GOOD = """\
language: xx
name: Example
sources:
  here: {title: A page, link: "https://example.org", read: other}
words:
  milk: {word: lak, source: [here]}
  egg: {word: ov, source: [here], also: {ovo: [here]}}
sentences:
  contains: {word: kon, source: [here]}
"""


@pytest.mark.parametrize(
    "old, new, slug, line, says",
    [
        ("word: ov,", "word: lak,", "language", 7, "'lak' already names 'milk'"),
        ("{ovo:", "{Lak:", "language", 7, "'Lak' already names 'milk'"),
        ("lak, source: [here]", "lak, source: [there]", "language", 6, "a source that the file lists"),
        ("lak, source: [here]", "lak, source: []", "language", 6, "a source that the file lists"),
        ("{ovo: [here]}", "{ovo: []}", "language", 7, "a source that the file lists"),
        ("word: lak", 'word: ""', "language", 6, "lacks a word"),
        ("read: other", "read: hearsay", "language", 4, "a known 'read'"),
        ("title: A page", 'title: ""', "language", 4, "lacks a title"),
        ("  milk:", "  mlik:", "unknown-node", 6, "'mlik' is not known among the words"),
        ("  contains:", "  free_from:", "unknown-node", 9, "'free_from' is not known among the sentences"),
        ("egg: {word: ov, ", "egg: {word: ov, covers: [duck], ", "unknown-node", 7, "'duck' is not known"),
        ("name: Example\n", "", "language", 1, "has no 'name'"),
    ],
)
def test_each_fault_of_a_file_is_told_at_its_place(old, new, slug, line, says):
    assert GOOD.count(old) == 1
    found = {}
    for text in (GOOD, GOOD.replace(old, new)):
        node, _ = parse(text, "platecard/data/languages/xx.yaml")
        found[text] = languages._collect({"platecard/data/languages/xx.yaml": node})
    (whole, none), (made, problems) = found.values()
    assert whole is not None and none == ()
    assert made is None and [(p.slug, p.span.line) for p in problems] == [(slug, line)] and says in problems[0].message
