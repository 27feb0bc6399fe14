"""Foods that a title, a menu line, a method, a check or a note names, and that are nowhere in it.

A method that folds in ground almonds which no line of the recipe holds would hide them from every
card.  A food is a name in the catalogue, the longest that fits; ``data/named-foods.yaml`` says
which words of a kitchen are no foods.  What is in a dish or a recipe follows from the entries,
products and recipes it is made of, with all their names.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cache, lru_cache
from typing import NamedTuple, TypedDict, cast

from platecard import packaged_tables
from platecard.allergens.claims import AS_NAMES
from platecard.allergens.labels.parts import ReadLabel
from platecard.diagnostics import Problem, Span, error, warning
from platecard.knowledge import claims
from platecard.knowledge.catalogue import Catalogue, Entry
from platecard.knowledge.names import fold
from platecard.knowledge.taxonomy import Taxonomy
from platecard.model import Kitchen, Unknown, Written
from platecard.reading.written import place
from platecard.recipes.resolved import Batch, Bought, Resolved, What
from platecard.yaml_nodes import Mapping as Tree
from platecard.yaml_nodes import Node

# The texts that are read for foods, by the key they are under.
_READ = frozenset(
    ("dish", "menu_line", "note", "expo_checks", "called", "do", "poured", "words", "up", "recipe", "method")
)
_HEAD = re.compile(r"\b(?:in|with|from|on|over|under|for|without|and its|and their|a la|aux?|al|alla|mit|an)\b")
_OF = re.compile(r"\b(?:of|de|d|di|von)\b")
_TOKEN = re.compile(r"[^\W_]+(?:['’][^\W_]+)*")
_STOP = re.compile(r"[.,:;()!?–—]")
_SENTENCE = re.compile(r"[.;!?]")
SHORTEST = 4


class Word(NamedTuple):
    """A word, folded.

    ``stops``: a comma or the like comes before it; ``ends``: the end of a sentence does.
    """

    folded: str
    start: int
    end: int
    stops: bool
    ends: bool
    hyphen: bool


class Mention(NamedTuple):
    """A food that a text names, from ``start`` to ``end``, with the name it was found under."""

    name: str
    entry: Entry
    start: int
    end: int


class Inside(NamedTuple):
    """What is in a dish or a recipe.

    Entries by id, names as sets of words, allergen nodes, and the files of the catalogue they
    are from.  ``heads`` say what its recipes are ("pesto" of "Basil pesto with nuts");
    ``unknown`` are names that could not be resolved.
    """

    ids: frozenset[str] = frozenset()
    names: frozenset[frozenset[str]] = frozenset()
    heads: frozenset[str] = frozenset()
    unknown: frozenset[frozenset[str]] = frozenset()
    nodes: frozenset[str] = frozenset()
    files: frozenset[str] = frozenset()

    def joined(self, others: Iterable[Inside]) -> Inside:
        """What this and the others hold together."""
        every = (self, *others)
        fields = ("ids", "names", "heads", "unknown", "nodes", "files")
        return Inside(*(frozenset().union(*(getattr(one, field) for one in every)) for field in fields))


class NamedFoods:
    """Reads the words of one kitchen's recipes and dishes; each recipe only once."""

    def __init__(
        self,
        kitchen: Kitchen,
        sources: Mapping[str, str],
        catalogue: Catalogue,
        taxonomy: Taxonomy,
        texts: Mapping[str, ReadLabel],
    ):
        self.catalogue, self.taxonomy, self.texts, self.sources = catalogue, taxonomy, texts, sources
        self._written: dict[str, list[Written]] = {}
        for written in kitchen.written:
            if written.owner and written.key in _READ:
                self._written.setdefault(written.owner, []).append(written)
        self._insides: dict[object, Inside] = {}
        self._recipes: dict[str, tuple[Problem, ...]] = {}

    def check(
        self, resolved: Resolved, offered: Iterable[Resolved], written: Iterable[Written], text: str
    ) -> tuple[Problem, ...]:
        """A warning for each food that the words of the dish, or of a recipe in it, name and that is not in it.

        ``offered`` are its swaps, ``text`` is the spec that ``written`` was read from.
        """
        dish = resolved.dish
        used = [part.use.what for one in (resolved, *offered) for part in one.parts]
        inside = Inside().joined(self._inside(what) for what in used)
        read = [w for w in written if w.key in _READ and w.section != "revision"]
        found = list(self._judged(read, inside, dish.only_named, {dish.span.file: text}, dish.title))
        seen: set[str] = set()
        for what in used:
            for batch in _batches(what, seen):
                found += self._recipe(batch)
        return tuple(found)

    def _recipe(self, batch: Batch) -> tuple[Problem, ...]:
        recipe = batch.recipe
        if recipe.key not in self._recipes:
            written = self._written.get(recipe.key, ())
            found = self._judged(written, self._inside(batch), recipe.only_named, self.sources, recipe.called)
            self._recipes[recipe.key] = tuple(found)
        return self._recipes[recipe.key]

    # ----------------------------------------------------------------------- what is in it

    def _inside(self, what: What) -> Inside:
        key: object = what
        if isinstance(what, Batch):
            key = ("recipe", what.recipe.key)
        elif isinstance(what, Bought):
            key = ("product", what.product.key)
        if key not in self._insides:
            self._insides[key] = self._of(what)
        return self._insides[key]

    def _of(self, what: What) -> Inside:
        if isinstance(what, Batch):
            own = Inside(
                names=_sets(line.called for line in what.lines if not isinstance(line.what, Batch)),
                heads=frozenset((*_heads(what.recipe.called), *_heads(what.recipe.key))),
            )
            return own.joined(self._inside(line.what) for line in what.lines)
        if isinstance(what, Unknown):
            return Inside(unknown=_sets((what.name,)))
        if isinstance(what, Entry):
            return self._of_entry(what)
        product, label, read = what.product, what.product.label, self.texts.get(what.product.key)
        listed = (self.taxonomy.find(word) for word, _ in label.contains) if label else ()
        texts = re.split(r"[,;:()\[\].]", label.text) if label else ()
        nodes = (*(n for n in listed if n), *(read.contains if read else ()))
        own = Inside(names=_sets((product.called, product.key, *product.also, *texts)), nodes=frozenset(nodes))
        return own.joined([self._of_entry(what.entry)] if what.entry is not None else ())

    def _of_entry(self, entry: Entry) -> Inside:
        names = (*self.catalogue.names_of(entry), *entry.of)
        return Inside(
            frozenset((entry.id,)), _sets(names), nodes=frozenset(entry.contains), files=frozenset((_file(entry),))
        )

    # ----------------------------------------------------------------------- what is named

    def _judged(
        self,
        written: Iterable[Written],
        inside: Inside,
        only_named: tuple[tuple[str, Span], ...],
        sources: Mapping[str, str],
        called: str,
    ) -> Iterator[Problem]:
        settled = {fold(word): span for word, span in only_named}
        ids = {e.id: w for w in settled if (e := self.catalogue.find(w).entry) is not None} if settled else {}
        used: set[str] = set()
        for text in written:
            told: set[str] = set()
            for mention in mentions(text.text, self.catalogue, bool(text.owner), text.key == "do"):
                word = mention.name if mention.name in settled else ids.get(mention.entry.id, "")
                used.add(word)
                if self._is_denied(text, mention):
                    continue
                if word or mention.entry.id in told or self._covers(inside, mention):
                    continue
                told.add(mention.entry.id)
                yield self._problem(mention, text, sources.get(text.span.file, ""), called)
        for word, span in settled.items():
            if word not in used:
                yield warning("only-named", span, f"no text here names '{word}'", "take it out of only_named")

    def _is_denied(self, text: Written, mention: Mention) -> bool:
        """Whether it is part of a claim such as "gluten free", which is an error of its own.

        In a recipe's method and notes it may name the product to take.
        """
        if text.owner and text.key in ("method", "note"):
            return False
        told = claims.find(text.text, text.key in AS_NAMES)
        return any(c.start <= mention.start and mention.end <= c.end for c in told)

    def _problem(self, mention: Mention, text: Written, source: str, called: str) -> Problem:
        said = " ".join(text.text[mention.start : mention.end].split())
        where = "recipe" if text.owner else "dish"
        enter = "as an ingredient" if text.owner else "as a component, or in the recipe it goes into"
        return warning(
            "food-not-in-it",
            place(text, mention.start, mention.end, source),
            f"'{said}' is named here, but nothing in {called} is that",
            f"enter it {enter}, so that its allergens count",
            f"or, if it is only mentioned, write in this {where}: only_named: [{said.lower()}]",
        )

    def _covers(self, inside: Inside, mention: Mention) -> bool:
        """Whether something that is in the dish or recipe is what the mention means."""
        entry, known = mention.entry, words()[0]
        if entry.id in inside.ids:
            return True
        said, plain = (frozenset(fold(name).split()) for name in (mention.name, entry.name))
        if any(said <= name for name in inside.unknown):
            return True
        family = known.families.get(mention.name)
        if family is not None and self._holds(inside, family):
            return True
        if mention.name in known.made_here and self._is_made(inside, entry):
            return True
        is_called_so = not said.isdisjoint(inside.heads)
        # A mixture may be anything that is called so; any other food that shares a word must bring the same allergens.
        if is_called_so and entry.depends_on_everything:
            return True
        if not all(self._has(inside, node) for node in entry.contains):
            return False
        return is_called_so or any(one <= name or name < one for name in inside.names if name for one in (said, plain))

    def _is_made(self, inside: Inside, entry: Entry) -> bool:
        """Whether what it is usually made of is there: all it always holds, or some of what it usually does."""
        if entry.contains:
            return all(self._has(inside, node) for node in entry.contains)
        return any(self._has(inside, node) for node in entry.look_for)

    def _has(self, inside: Inside, node: str) -> bool:
        return any(self.taxonomy.is_under(n, node) or self.taxonomy.is_under(node, n) for n in inside.nodes)

    def _holds(self, inside: Inside, family: Mapping[str, tuple[str, ...]]) -> bool:
        nodes, files, said = (family.get(key, ()) for key in ("nodes", "files", "words"))
        return (
            any(self.taxonomy.is_under(n, node) for node in nodes for n in inside.nodes)
            or not inside.files.isdisjoint(files)
            or any(not name.isdisjoint(said) for name in inside.names)
        )


@lru_cache(maxsize=4096)
def mentions(text: str, catalogue: Catalogue, in_recipe: bool = False, is_work: bool = False) -> tuple[Mention, ...]:
    """The foods that ``text`` names as foods, in order; ``is_work``: the text begins with what is done."""
    known = words()[0]
    row = _row(text)
    leaving = _leaving(row, known)
    found: list[Mention] = []
    free = 0
    for at, word in enumerate(row):
        if at < free or not (catalogue.most_words(word.folded) or word.folded in known.longest):
            continue
        name, many, entry = _longest(row, at, catalogue)
        most = known.longest.get(word.folded, 0)
        phrase = next((n for n in range(most, 0, -1) if _run(row, at, n) in known.phrases), 0)
        free = at + max(phrase, many)
        if entry is None or phrase >= many or name in known.silent or leaving[at]:
            continue
        if len(name) < SHORTEST and name not in known.short:
            continue
        is_work_only = name in known.verbs and name not in known.uses
        verb = is_work_only and ((is_work and not at) or _is_verb(row, at, at + many, catalogue))
        form = name in known.forms and _is_form(row, at, at + many, catalogue)
        if not verb and not form and _is_food(row, at, at + many, name, known, in_recipe):
            found.append(Mention(name, entry, row[at].start, row[at + many - 1].end))
    return tuple(found)


def _longest(row: list[Word], at: int, catalogue: Catalogue) -> tuple[str, int, Entry | None]:
    """The longest name in the catalogue that begins at ``at``, with its number of words."""
    for many in range(catalogue.most_words(row[at].folded), 0, -1):
        if (name := _run(row, at, many)) and (entry := catalogue.named(name)) is not None:
            return name, many, entry
    return "", 0, None


def _row(text: str) -> list[Word]:
    row: list[Word] = []
    end = 0
    for m in _TOKEN.finditer(text):
        start, stop = m.span()
        gap = text[end:start]
        plain = gap == " " and end  # as most are
        stops = not plain and _STOP.search(gap) is not None
        ends = not plain and (not end or _SENTENCE.search(gap) is not None)
        row.append(Word(fold(m.group()), start, stop, stops, ends, gap == "-"))
        end = stop
    return row


def _run(row: list[Word], at: int, many: int) -> str:
    """``many`` words in a row as one name; empty where a comma or the end of the text comes between."""
    run = row[at : at + many]
    return "" if len(run) < many or any(w.stops for w in run[1:]) else " ".join(w.folded for w in run)


def _is_food(row: list[Word], start: int, end: int, name: str, known: Words, in_recipe: bool) -> bool:
    """Whether the words from ``start`` to ``end`` mean a food here, and one that goes into the dish."""
    after = row[end] if end < len(row) and not row[end].stops else None
    if after is not None:
        is_look = after.folded in known.looks and (after.hyphen or after.folded not in ("like", "white", "black"))
        if is_look or after.folded in known.tools:
            return False
        if after.folded == "brown" and name in known.browns:
            return False
    before: list[str] = []
    for word in reversed(row[max(0, start - 5) : start + 1]):
        before.insert(0, word.folded)
        if word.stops or word.ends:
            break
    said = " ".join(before[:-1])
    if not said:
        return True
    if any(pattern.search(said) for pattern in (known.likeness, known.elsewhere, known.not_used)):
        return False
    if in_recipe and known.served_with.search(said):
        return False
    return not (name in known.turned_to and re.search(r"\b(?:to|is|until)(?: an?| the)?$", said))


def _is_verb(row: list[Word], start: int, end: int, catalogue: Catalogue) -> bool:
    """Whether the words say what is done: "Char hard on all sides", "toast and crack the seeds".

    In "cream, yolks" and "cream in" the same word is a food.
    """
    leads = row[start].ends or row[start].stops or row[start - 1].folded in ("then", "and", "to", "or")
    if end == len(row) or row[end].stops or not leads:
        return False
    after = row[end].folded
    if after == "and" and end + 1 < len(row):
        return _longest(row, end + 1, catalogue)[2] is None
    return after not in ("in", "into", "on")


def _is_form(row: list[Word], start: int, end: int, catalogue: Catalogue) -> bool:
    if end < len(row) and not row[end].stops and row[end].folded == "of":
        return True
    before = (_run(row, start - many, many) for many in range(1, min(start, 3) + 1))
    return not row[start].stops and any(catalogue.named(name) is not None for name in before)


def _leaving(row: list[Word], known: Words) -> list[bool]:
    """For each word, whether its sentence is about food that leaves the dish."""
    found: list[bool] = []
    sentence: list[Word] = []
    for word in (*row, None):
        if sentence and (word is None or word.ends):
            found += [any(w.folded in known.leaves for w in sentence)] * len(sentence)
            sentence = []
        if word is not None:
            sentence.append(word)
    return found


def _batches(what: What, seen: set[str]) -> Iterator[Batch]:
    if isinstance(what, Batch) and what.recipe.key not in seen:
        seen.add(what.recipe.key)
        yield what
        for line in what.lines:
            yield from _batches(line.what, seen)


def _sets(names: Iterable[str]) -> frozenset[frozenset[str]]:
    return frozenset(frozenset(fold(name).split()) for name in names if name.strip())


def _heads(title: str) -> Iterator[str]:
    """The words that say what a thing of this name is.

    They are "batter" for "ale batter", and "cream" and "leek" for "cream of leeks".
    """
    for part in _OF.split(_HEAD.split(fold(title))[0]):
        if row := part.split():
            yield row[-1]


def _file(entry: Entry) -> str:
    return entry.span.file.rsplit("/", 1)[-1].rsplit(".", 1)[0]


# --------------------------------------------------------------------------- the words


class Words(NamedTuple):
    """The words in the file, folded; those that come before a food as patterns."""

    silent: frozenset[str]
    short: frozenset[str]
    verbs: frozenset[str]
    uses: frozenset[str]
    forms: frozenset[str]
    tools: frozenset[str]
    looks: frozenset[str]
    browns: frozenset[str]
    phrases: frozenset[str]
    longest: dict[str, int]
    leaves: frozenset[str]
    turned_to: frozenset[str]
    made_here: frozenset[str]
    likeness: re.Pattern[str]
    elsewhere: re.Pattern[str]
    not_used: re.Pattern[str]
    served_with: re.Pattern[str]
    families: dict[str, dict[str, tuple[str, ...]]]


class _Tables(TypedDict, total=False):
    """What the file holds besides lists of words; the numbers of ``not_used`` say how many words may follow."""

    not_used: dict[str, int]
    families: dict[str, dict[str, list[str]]]


@cache
def words() -> tuple[Words, tuple[Problem, ...]]:
    """Words of a kitchen that look like foods, and the problems of their file."""
    rows, problems = packaged_tables.rows(packaged_tables.texts("named-foods.yaml"), _collect, "named-foods")
    lists, tables = cast(dict[str, list[str]], rows), cast(_Tables, rows)

    def folded(*keys: str) -> frozenset[str]:
        return frozenset(fold(w) for key in keys for w in lists.get(key, ()))

    def before(key: str, between: int) -> re.Pattern[str]:
        return re.compile(rf"(?:^| )(?:{'|'.join(sorted(folded(key), key=len, reverse=True))})(?: \w+){{0,{between}}}$")

    phrases = folded("phrases")
    longest: dict[str, int] = {}
    for phrase in phrases:
        first = phrase.partition(" ")[0]
        longest[first] = max(longest.get(first, 1), phrase.count(" ") + 1)
    refused = "|".join(rf"{fold(k)}(?: \w+){{0,{n}}}" for k, n in tables.get("not_used", {}).items())
    families = {
        fold(name): {kind: tuple(map(fold, of)) if kind == "words" else tuple(of) for kind, of in row.items()}
        for name, row in tables.get("families", {}).items()
    }
    plain = ("short", "verbs", "uses", "forms", "tools", "looks", "browns", "leaves", "turned_to", "made_here")
    return (
        Words(
            silent=folded("staples", "no_food"),
            **{key: folded(key) for key in plain},
            phrases=phrases,
            longest=longest,
            likeness=before("likeness", 3),
            elsewhere=before("elsewhere", 1),
            served_with=before("served_with", 2),
            not_used=re.compile(rf"(?:^| )(?:{refused})$"),
            families=families,
        ),
        problems,
    )


def _collect(trees: dict[str, Node]) -> tuple[dict[str, object], tuple[Problem, ...]]:
    """The file as plain values; it must give a source and hold no list that is not known here."""
    tree = next(iter(trees.values()), None)
    if not isinstance(tree, Tree):
        return {}, ()
    made = cast(dict[str, object], _bare(packaged_tables.placed(tree)))
    known = {"staples", "no_food", *Words._fields, "source"} - {"silent", "longest"}
    problems = [
        error("named-foods", tree.keys[k], f"the words of named foods have no list '{k}'")
        for k in tree.entries
        if k not in known
    ]
    if not made.get("source"):
        problems.append(error("named-foods", tree.span, "the words of named foods need a source"))
    return made, tuple(problems)


def _bare(value: object) -> object:
    return {k: _bare(v) for k, v in value.items() if k != packaged_tables.PLACE} if isinstance(value, dict) else value
