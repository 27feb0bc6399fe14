"""The words of the law in other languages: allergens' names and the sentences of documents, each with its source.

No translation is made here.  A language that lacks a word lacks it, and a document says the English alone.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import Final, NamedTuple, NotRequired, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, Span, error
from platecard.knowledge import taxonomy
from platecard.knowledge.laws import Law
from platecard.knowledge.names import fold
from platecard.package_data import names_in
from platecard.yaml_nodes import Mapping, Node

# How a word was read, the best first: in an official text; in a copy of one; on a page of a public body; elsewhere; or
# it is a word of our own.
READ: Final = ("official", "copy", "authority", "other", "practice")
SENTENCES: Final = ("contains", "may_contain", "not_entered", "not_established", "caution", "ask", "allergens")
ENGLISH: Final = "en"


class Source(NamedTuple):
    """Where words were read, and how: one of :data:`READ`."""

    title: str
    link: str
    read: str


class Word(NamedTuple):
    """A word or a sentence.  ``mark`` is the best that its sources allow; ``also`` are further forms that were read.

    An ellipsis in ``text`` stands for the names that the language puts there.
    """

    text: str
    sources: tuple[Source, ...]
    also: tuple[str, ...] = ()

    @property
    def mark(self) -> str:
        """The weakest mark of its sources: how well it is known."""
        return min((s.read for s in self.sources), key=READ.index)


class Language(NamedTuple):
    """One language: its words by allergen node, and its sentences by their key."""

    key: str
    name: str
    words: dict[str, Word]
    sentences: dict[str, Word]

    def lacking(self, nodes: Iterable[str]) -> tuple[str, ...]:
        """The nodes that it has no word for."""
        return tuple(n for n in nodes if n not in self.words)

    def unofficial(self, nodes: Iterable[str]) -> tuple[str, ...]:
        """The nodes whose word was not read in an official text."""
        return tuple(n for n in nodes if n in self.words and self.words[n].mark != "official")


def names() -> tuple[str, ...]:
    """The keys of all languages, sorted; English among them."""
    return tuple(n[: -len(".yaml")] for n in names_in("languages", ".yaml"))


def declared(in_force: Iterable[Law]) -> tuple[str, ...]:
    """The nodes that any of these laws can declare, each once, in the laws' order.

    A mere statement that goes with a food is none: it has no name on a list of allergens.
    """
    found: dict[str, None] = {}
    for law in in_force:
        found |= dict.fromkeys(node for group in law.groups if not group.is_statement for node in group.nodes)
        if law.sulphites:
            found[taxonomy.SULPHITE] = None
    return tuple(found)


def node_of(said: str) -> str:
    """The allergen that a word of another language names; empty for a word that is none of them, or of several."""
    word = fold(said)
    found = {
        node
        for key in names()
        if key != ENGLISH and (language := load(key)[0]) is not None
        for node, one in language.words.items()
        if word in (fold(one.text), *map(fold, one.also))
    }
    return found.pop() if len(found) == 1 else ""


class _SourceRow(TypedDict):
    title: str
    link: str
    read: str


class _WordRow(TypedDict):
    word: str
    source: list[str]
    also: NotRequired[dict[str, list[str]]]
    covers: NotRequired[list[str]]


class _Rows(TypedDict):
    language: str
    name: str
    sources: dict[str, _SourceRow]
    words: dict[str, _WordRow]
    sentences: dict[str, _WordRow]


@cache
def load(key: str) -> tuple[Language | None, tuple[Problem, ...]]:
    """The language ``key``, or None if there is none or its file has problems; and those problems."""
    if key not in names():
        return None, ()
    made, problems = packaged_tables.rows(
        packaged_tables.texts(f"languages/{key}.yaml", "taxonomy.yaml"), _collect, f"language-{key}"
    )
    return (_language(made) if made else None), problems


def _language(made: _Rows) -> Language:
    sources = {
        k: Source(s["title"], s["link"], s["read"]) for k, s in packaged_tables.without_place(made["sources"]).items()
    }

    def words(table: dict[str, _WordRow]) -> dict[str, Word]:
        found: dict[str, Word] = {}
        for key, row in packaged_tables.without_place(table).items():
            word = Word(
                row["word"],
                tuple(sources[s] for s in row["source"]),
                tuple(packaged_tables.without_place(row.get("also", {}))),
            )
            found |= dict.fromkeys((key, *row.get("covers", ())), word)
        return found

    return Language(
        made["language"],
        made["name"],
        words(made["words"]),
        words(made["sentences"]),
    )


def _collect(trees: dict[str, Node]) -> tuple[_Rows | None, tuple[Problem, ...]]:
    """The file of a language as rows; None if there are problems.

    These rules are checked, each with a problem at its place:

    1. The file names its language, and each of its sources has a title, a link and a word for how it was read.
    2. Every word stands under a node of the taxonomy or the key of a sentence, and names sources of the file.
    3. No two nodes have the same word, unless one of them says that it covers the other.
    """
    tree = next(t for p, t in trees.items() if "/languages/" in p)
    if not isinstance(tree, Mapping):
        return None, (error("language", tree.span, "a language's file holds keys"),)
    row = cast(_Rows, packaged_tables.placed(tree))
    problems = [
        error("language", tree.span, f"the language has no '{key}'")
        for key in ("language", "name", "sources", "words", "sentences")
        if key not in row
    ]
    if problems:
        return None, tuple(problems)
    sources = packaged_tables.without_place(row["sources"])
    for key, source in sources.items():
        if not source.get("title") or not source.get("link") or source.get("read") not in READ:
            problems.append(
                error(
                    "language",
                    packaged_tables.span_of(source),
                    f"the source '{key}' lacks a title, a link or a known 'read'",
                    f"read: one of {', '.join(READ)}",
                )
            )
    kinds = taxonomy.load()[0].kinds
    meant: dict[str, str] = {}
    for table, known in (("words", kinds), ("sentences", dict.fromkeys(SENTENCES))):
        for key, word in packaged_tables.without_place(cast(dict[str, dict[str, _WordRow]], row)[table]).items():
            place = packaged_tables.span_of(word)
            for node in (key, *word.get("covers", ())):
                if node not in known:
                    problems.append(error("unknown-node", place, f"'{node}' is not known among the {table}"))
            also = packaged_tables.without_place(word.get("also", {}))
            cited = [word.get("source", ()), *also.values()]
            if not word.get("word") or not all(cited) or not all(s in sources for each in cited for s in each):
                problems.append(error("language", place, f"'{key}' lacks a word, or a source that the file lists"))
            if table == "words":
                problems += _twice(key, (word.get("word", ""), *also), meant, place)
    return (None if problems else row), tuple(problems)


def _twice(node: str, texts: Iterable[str], meant: dict[str, str], place: Span) -> list[Problem]:
    """A problem for each text that already names another node; ``meant`` is what each text names so far."""
    return [
        error("language", place, f"'{text}' already names '{meant[text.lower()]}'", "one covers the other, or neither")
        for text in texts
        if meant.setdefault(text.lower(), node) != node
    ]
