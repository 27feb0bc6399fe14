"""Foods that a title, a menu line, a method, a check or a note names, and that are nowhere in it.

A method that folds in ground almonds which no line of the recipe holds would hide them from every
card.  A food is a name of the catalogue, the longest that fits; ``data/named-foods.yaml`` says
which words of a kitchen are no foods.  What is in a dish or a recipe is told by the entries,
products and recipes it is made of, with all their names.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping
from functools import cache, lru_cache
from typing import NamedTuple

from ..frozen import frozen
from ..knowledge import store
from ..knowledge.catalogue import Catalogue, Entry
from ..knowledge.taxonomy import Taxonomy
from ..knowledge.words import fold
from ..model import Kitchen, Unknown, Written
from ..nodes import Mapping as Tree
from ..nodes import Node
from ..problems import Problem, Span, error, warning
from ..reading.written import place
from ..recipes import Batch, Bought, Resolved, What
from .label_text import ReadLabel

# The texts that are read for foods, by the key they stand under.
_READ = frozenset(("dish", "menu_line", "note", "expo_checks", "called", "do", "poured", "words", "up", "recipe", "method"))
_NAMES = frozenset(("dish", "called", "recipe"))
_TOKEN = re.compile(r"[^\W_]+(?:['’][^\W_]+)*")
_STOP = re.compile(r"[.,:;()!?–—]")
_SENTENCE = re.compile(r"[.;!?]")
SHORTEST = 4


class Word(NamedTuple):
    """A word of a text, folded; ``stops`` and ``ends``: a comma or the like, or the end of a sentence, stands before it."""

    folded: str
    start: int
    end: int
    stops: bool
    ends: bool
    hyphen: bool


class Mention(NamedTuple):
    """A food that a text names, from ``start`` to ``end``, by the name it was found under."""

    name: str
    entry: Entry
    start: int
    end: int


@frozen
class Inside:
    """What is in a dish or a recipe: entries by id, all names as sets of words, allergen nodes, files of the catalogue."""

    ids: frozenset[str] = frozenset()
    names: frozenset[frozenset[str]] = frozenset()
    titles: frozenset[frozenset[str]] = frozenset()
    unknown: frozenset[frozenset[str]] = frozenset()
    nodes: frozenset[str] = frozenset()
    files: frozenset[str] = frozenset()

    def joined(self, others: Iterable["Inside"]) -> "Inside":
        every = (self, *others)
        return Inside(*(frozenset().union(*(getattr(one, field) for one in every)) for field in ("ids", "names", "titles", "unknown", "nodes", "files")))


class NamedFoods:
    """Reads the words of one kitchen's recipes and dishes; each recipe once."""

    def __init__(self, kitchen: Kitchen, sources: Mapping[str, str], catalogue: Catalogue, taxonomy: Taxonomy, texts: Mapping[str, ReadLabel]):
        self.catalogue, self.taxonomy, self.texts, self.sources = catalogue, taxonomy, texts, sources
        self._written: dict[str, list[Written]] = {}
        for written in kitchen.written:
            if written.owner and written.key in _READ:
                self._written.setdefault(written.owner, []).append(written)
        self._insides: dict[object, Inside] = {}
        self._recipes: dict[str, tuple[Problem, ...]] = {}

    def check(self, resolved: Resolved, offered: Iterable[Resolved], written: Iterable[Written], text: str) -> tuple[Problem, ...]:
        """A warning for each food that the dish's words name and that is not in it, and for those of the recipes in it."""
        dish = resolved.dish
        used = [part.use.what for one in (resolved, *offered) for part in one.parts]
        inside = Inside().joined(self._inside(what) for what in used)
        read = [w for w in written if w.key in _READ and w.section != "revision"]
        found = list(self._judged(read, inside, dish.only_named, {dish.span.file: text}, f"{dish.title}"))
        seen: set[str] = set()
        for what in used:
            for batch in _batches(what, seen):
                found += self._recipe(batch)
        return tuple(found)

    def _recipe(self, batch: Batch) -> tuple[Problem, ...]:
        recipe = batch.recipe
        if recipe.key not in self._recipes:
            self._recipes[recipe.key] = tuple(self._judged(self._written.get(recipe.key, ()), self._inside(batch), recipe.only_named, self.sources, recipe.called))
        return self._recipes[recipe.key]

    # ----------------------------------------------------------------------- what is in it

    def _inside(self, what: What) -> Inside:
        key = ("recipe", what.recipe.key) if isinstance(what, Batch) else ("product", what.product.key) if isinstance(what, Bought) else what
        if key not in self._insides:
            self._insides[key] = self._of(what)
        return self._insides[key]

    def _of(self, what: What) -> Inside:
        if isinstance(what, Batch):
            own = Inside(titles=_sets((what.recipe.called, what.recipe.key)), names=_sets(line.called for line in what.lines))
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
        return Inside(frozenset((entry.id,)), _sets(names), nodes=frozenset(entry.contains), files=frozenset((_file(entry),)))

    # ----------------------------------------------------------------------- what is named

    def _judged(self, written: Iterable[Written], inside: Inside, only_named: tuple[tuple[str, Span], ...], sources: Mapping[str, str], called: str) -> Iterator[Problem]:
        settled = {fold(word): span for word, span in only_named}
        ids = {e.id: w for w in settled if (e := self.catalogue.find(w).entry) is not None} if settled else {}
        used: set[str] = set()
        for text in written:
            told: set[str] = set()
            for mention in mentions(text.text, self.catalogue, bool(text.owner), text.key == "do"):
                word = mention.name if mention.name in settled else ids.get(mention.entry.id, "")
                used.add(word)
                if word or mention.entry.id in told or self._covers(inside, mention, text.key in _NAMES):
                    continue
                told.add(mention.entry.id)
                yield self._problem(mention, text, sources.get(text.span.file, ""), called)
        for word, span in settled.items():
            if word not in used:
                yield warning("only-named", span, f"no text here names '{word}'", "take it out of only_named")

    def _problem(self, mention: Mention, text: Written, source: str, called: str) -> Problem:
        said = " ".join(text.text[mention.start:mention.end].split())
        where = "recipe" if text.owner else "dish"
        return warning("food-not-in-it", place(text, mention.start, mention.end, source), f"'{said}' is named here, and nothing in {called} is that",
                       "enter it as an ingredient, so that its allergens count" if text.owner else "enter it as a component, or in the recipe it goes into, so that its allergens count",
                       f"or, if it is only spoken of, say so in this {where}: only_named: [{said.lower()}]")

    def _covers(self, inside: Inside, mention: Mention, is_name: bool) -> bool:
        """Whether something that is in it is what the mention means."""
        entry, known = mention.entry, words()[0]
        if entry.id in inside.ids or (is_name and entry.depends_on_everything):
            return True
        said, plain = (frozenset(fold(name).split()) for name in (mention.name, entry.name))
        if any(said <= name for name in inside.unknown):
            return True
        family = known.families.get(mention.name)
        if family is not None and self._holds(inside, family):
            return True
        if mention.name in known.made_here and (all(self._has(inside, n) for n in entry.contains) if entry.contains else any(self._has(inside, n) for n in entry.look_for)):
            return True
        # A name that shares the word is the same food only where it brings the same allergens.
        if not all(self._has(inside, node) for node in entry.contains):
            return False
        return any(said <= name or plain <= name for names in (inside.names, inside.titles) for name in names) or any(name < said for name in inside.names if name)

    def _has(self, inside: Inside, node: str) -> bool:
        return any(self.taxonomy.is_under(n, node) or self.taxonomy.is_under(node, n) for n in inside.nodes)

    def _holds(self, inside: Inside, family: Mapping[str, tuple[str, ...]]) -> bool:
        return (any(self.taxonomy.is_under(n, node) for node in family.get("nodes", ()) for n in inside.nodes) or not inside.files.isdisjoint(family.get("files", ()))
                or any(not name.isdisjoint(family.get("words", ())) for name in inside.names))


@lru_cache(maxsize=4096)
def mentions(text: str, catalogue: Catalogue, in_recipe: bool = False, is_work: bool = False) -> tuple[Mention, ...]:
    """The foods that ``text`` names as foods, in order; ``is_work``: it begins with what is done."""
    known = words()[0]
    row = _row(text)
    found: list[Mention] = []
    free = 0
    for at, word in enumerate(row):
        if at < free or not (catalogue.most_words(word.folded) or word.folded in known.longest):
            continue
        name, many, entry = _longest(row, at, catalogue)
        phrase = next((n for n in range(known.longest.get(word.folded, 0), 0, -1) if _run(row, at, n) in known.phrases), 0)
        free = at + max(phrase, many)
        if entry is None or phrase >= many or name in known.silent or (len(name) < SHORTEST and name not in known.short):
            continue
        verb = name in known.verbs and name not in known.uses and (is_work and not at or _is_verb(row, at, at + many, catalogue))
        form = name in known.forms and _is_form(row, at, at + many, catalogue)
        if not verb and not form and _is_food(row, at, at + many, name, known, in_recipe):
            found.append(Mention(name, entry, row[at].start, row[at + many - 1].end))
    return tuple(found)


def _longest(row: list[Word], at: int, catalogue: Catalogue) -> tuple[str, int, Entry | None]:
    """The longest name of the catalogue that begins at ``at``, with its number of words."""
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
        row.append(Word(fold(m.group()), start, stop, not plain and _STOP.search(gap) is not None, not plain and (not end or _SENTENCE.search(gap) is not None), gap == "-"))
        end = stop
    return row


def _run(row: list[Word], at: int, many: int) -> str:
    """``many`` words that stand together, as one name; nothing where a comma or the end of the text comes between."""
    run = row[at:at + many]
    return "" if len(run) < many or any(w.stops for w in run[1:]) else " ".join(w.folded for w in run)


def _is_food(row: list[Word], start: int, end: int, name: str, known: "Words", in_recipe: bool) -> bool:
    """Whether the words from ``start`` to ``end`` are a food here, and one that goes into it."""
    after = row[end] if end < len(row) and not row[end].stops else None
    if after is not None:
        if after.folded in known.tools or (after.folded in known.looks and (after.hyphen or after.folded not in ("like", "white", "black"))):
            return False
        if after.folded == "brown" and name in known.browns:
            return False
    if any(_leaves(row, start, known)):
        return False
    before: list[str] = []
    for word in reversed(row[max(0, start - 5):start + 1]):
        before.insert(0, word.folded)
        if word.stops or word.ends:
            break
    said = " ".join(before[:-1])
    if not said:
        return True
    if known.likeness.search(said) or known.elsewhere.search(said) or known.not_used.search(said) or (in_recipe and known.served_with.search(said)):
        return False
    return not (name in known.turned_to and re.search(r"\b(?:to|is|until)(?: an?| the)?$", said))


def _is_verb(row: list[Word], start: int, end: int, catalogue: Catalogue) -> bool:
    """"Char hard on all sides", "toast and crack the seeds"; but "cream, yolks", "cream in" and "cream and sugar" are foods."""
    if end == len(row) or row[end].stops or not (row[start].ends or row[start].stops or row[start - 1].folded in ("then", "and", "to", "or")):
        return False
    after = row[end].folded
    if after == "and" and end + 1 < len(row):
        return _longest(row, end + 1, catalogue)[2] is None
    return after not in ("in", "into", "on")


def _is_form(row: list[Word], start: int, end: int, catalogue: Catalogue) -> bool:
    if end < len(row) and not row[end].stops and row[end].folded == "of":
        return True
    return not row[start].stops and any(catalogue.named(_run(row, start - many, many)) is not None for many in range(1, min(start, 3) + 1))


def _leaves(row: list[Word], start: int, known: "Words") -> Iterator[bool]:
    first = next((i for i in range(start, -1, -1) if row[i].ends), 0)
    for i in range(first, len(row)):
        if i > start and row[i].ends:
            break
        if row[i].folded in known.leaves:
            yield True


def _batches(what: What, seen: set[str]) -> Iterator[Batch]:
    if isinstance(what, Batch) and what.recipe.key not in seen:
        seen.add(what.recipe.key)
        yield what
        for line in what.lines:
            yield from _batches(line.what, seen)


def _sets(names: Iterable[str]) -> frozenset[frozenset[str]]:
    return frozenset(frozenset(fold(name).split()) for name in names if name.strip())


def _file(entry: Entry) -> str:
    return entry.span.file.rsplit("/", 1)[-1].rsplit(".", 1)[0]


# --------------------------------------------------------------------------- the words


@frozen
class Words:
    """The words of the file, folded; those that stand before a food as patterns."""

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
    likeness: re.Pattern
    elsewhere: re.Pattern
    not_used: re.Pattern
    served_with: re.Pattern
    families: dict[str, dict[str, tuple[str, ...]]]


@cache
def words() -> tuple[Words, tuple[Problem, ...]]:
    """The words of kitchens that look like foods, and the problems of their file."""
    made, problems = store.rows(store.texts("named-foods.yaml"), _collect, "named-foods")

    def folded(*keys: str) -> frozenset[str]:
        return frozenset(fold(w) for key in keys for w in made.get(key, ()))

    def before(key: str, between: int) -> re.Pattern:
        return re.compile(rf"(?:^| )(?:{'|'.join(sorted(folded(key), key=len, reverse=True))})(?: \w+){{0,{between}}}$")

    phrases = folded("phrases")
    longest: dict[str, int] = {}
    for phrase in phrases:
        first = phrase.partition(" ")[0]
        longest[first] = max(longest.get(first, 1), phrase.count(" ") + 1)
    refused = "|".join(rf"{fold(k)}(?: \w+){{0,{n}}}" for k, n in made.get("not_used", {}).items())
    families = {fold(k): {kind: tuple(fold(w) if kind == "words" else w for w in listed) for kind, listed in v.items()} for k, v in made.get("families", {}).items()}
    return Words(folded("staples", "no_food"), folded("short"), folded("verbs"), folded("uses"), folded("forms"), folded("tools"), folded("looks"), folded("browns"), phrases, longest, folded("leaves"),
                 folded("turned_to"), folded("made_here"), before("likeness", 3), before("elsewhere", 1), re.compile(rf"(?:^| )(?:{refused})$"), before("served_with", 2), families), problems


def _collect(trees: dict[str, Node]) -> tuple[dict, tuple[Problem, ...]]:
    """The file as plain values; a source is given, and no list is unknown here."""
    tree = next(iter(trees.values()), None)
    if not isinstance(tree, Tree):
        return {}, ()
    made = _bare(store.placed(tree))
    known = {"staples", "no_food", *Words.__dataclass_fields__, "source"} - {"silent", "longest"}
    problems = [error("named-foods", tree.keys[k], f"the words of named foods have no list '{k}'") for k in tree.entries if k not in known]
    if not made.get("source"):
        problems.append(error("named-foods", tree.span, "the words of named foods need a source"))
    return made, tuple(problems)


def _bare(value: object) -> object:
    return {k: _bare(v) for k, v in value.items() if k != store.PLACE} if isinstance(value, dict) else value
