"""The catalogue of ingredients: what each one is and contains, with its source.

A name is found whatever its case, accents, hyphens or plural.  If two entries could be
meant, the chef is asked; the program never guesses.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from fractions import Fraction
from functools import cache, cached_property
from typing import NamedTuple, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, Span, nearest
from platecard.knowledge import catalogue_rows, claims, plain_words, taxonomy
from platecard.knowledge import kinds as food_kinds
from platecard.knowledge.catalogue_rows import ANY, CatalogueRows, Row, fraction
from platecard.knowledge.names import fold, foreign_singulars, loose, runs
from platecard.knowledge.taxonomy import Taxonomy

_MOST_MORE = 2  # words that a name offered in place of an unknown one can have besides


class Entry(NamedTuple):
    """One ingredient.

    Allergens are nodes of the taxonomy: ``contains`` are those always in it, ``depends`` those
    that only the label can settle (``("any",)`` for all nodes), and ``may`` those that may be in
    it whatever the maker says; ``form`` pairs a node with a form of it that some law exempts.
    ``so2_mg_kg`` is an upper bound (``so2_read``: its source itself was read), ``density`` is in g/ml,
    and ``pieces`` pairs a counting word with the weight of one in g.  ``of`` are the ingredients of a mixture that has
    one name.
    ``kinds`` are the food kinds that it is and is made of, and ``kinds_open`` those that it may
    also contain (``("any",)`` for any kind).  ``written`` is the name that a cook used for it.
    """

    id: str
    name: str
    span: Span
    contains: tuple[str, ...] = ()
    depends: tuple[str, ...] = ()
    look_for: tuple[str, ...] = ()
    ask: str = ""
    may: tuple[str, ...] = ()
    form: tuple[tuple[str, str], ...] = ()
    so2_mg_kg: Fraction | None = None
    so2_source: str = ""
    so2_read: bool = False
    so2_natural: bool = False
    liquid: bool = False
    density: Fraction | None = None
    pieces: tuple[tuple[str, Fraction], ...] = ()
    of: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    kinds_open: tuple[str, ...] = ()
    note: str = ""
    source: str = ""
    written: str = ""

    @property
    def shown(self) -> str:
        """The name as cards and pages print it, in the word that the cook wrote, without any claim in it."""
        return claims.shown(self.written or self.name)

    def as_written(self, name: str) -> Entry:
        """The entry under the name that a cook wrote for it: what is called Cava is never printed as Prosecco."""
        return self if fold(name) == fold(self.name) else self._replace(written=name)

    @property
    def depends_on_everything(self) -> bool:
        """Whether only the label can settle what allergens are in it."""
        return ANY in self.depends

    def form_of(self, node: str) -> str:
        """The form of a node that some law exempts, or an empty string."""
        return next((f for n, f in self.form if n == node), "")


class Lookup(NamedTuple):
    """The result of looking up a name: one entry, the names of several candidates, or neither.

    ``read_as`` is the name of the entry if it was only found in another word order, so that the chef can be told.
    """

    entry: Entry | None = None
    candidates: tuple[str, ...] = ()
    read_as: str = ""


class Catalogue:
    """Entries by name; each row stays JSON text until its entry is asked for."""

    def __init__(self, made: CatalogueRows):
        self._made = made
        self._rows: list[str] = made["lines"]
        self._names: dict[str, int | list[int]] = made["names"]
        self._longer: dict[str, int] = made["longer"]
        self._words = plain_words.PlainWords(made["plain"])
        self._entries: dict[int, Entry] = {}

    def __reduce__(self) -> tuple[object, ...]:
        """For a worker in another process: the packaged catalogue is there already and does not travel."""
        if self is load()[0]:
            return packaged, ()
        return Catalogue, (self._made,)

    def __len__(self) -> int:
        return len(self._rows)

    def __iter__(self) -> Iterator[Entry]:
        return (self._entry(i) for i in range(len(self._rows)))

    def names(self) -> Iterable[str]:
        """All names, folded."""
        return self._names.keys()

    def _entry(self, index: int) -> Entry:
        if index not in self._entries:
            self._entries[index] = _entry(self._row(index))
        return self._entries[index]

    def _row(self, index: int) -> Row:
        return cast(Row, json.loads(self._rows[index]))

    def _hits(self, name: str) -> list[int]:
        """The lines of the entries that have this folded name."""
        found = self._names.get(name, [])
        return found if isinstance(found, list) else [found]

    @cached_property
    def _by_words(self) -> dict[str, list[str]]:
        """The folded names by their sorted words; only built when a plain look-up fails."""
        found: dict[str, list[str]] = {}
        for name in self._names:
            found.setdefault(" ".join(sorted(name.split())), []).append(name)
        return found

    @cached_property
    def _every_name(self) -> str:
        """All names in one text, which is searched a hundred times faster than one name after another."""
        return f" {' / '.join(self._names)} "

    def find(self, name: str) -> Lookup:
        """Look up ``name``.

        ``oil, olive`` is read as ``olive oil``, and the chef is told.  Without a comma, another
        word order only gives candidates to ask about: chocolate milk is not milk chocolate.
        """
        parts, is_two = plain_words.parts(name), plain_words.names_two(name)
        hits = self._hits(fold(name))
        if not hits and "," in name:
            turned = fold(" ".join(reversed(name.split(","))))
            hits = self._hits(turned)
            if len(hits) == 1 and self._keeps(self._entry(hits[0]), parts, is_two):
                entry = self._entry(hits[0])
                return Lookup(entry, read_as=entry.name)
        if len(hits) == 1 and (
            self._keeps(self._entry(hits[0]), parts, is_two) or self._is_written(self._entry(hits[0]), name)
        ):
            return Lookup(self._entry(hits[0]))
        if not hits:
            hits = sorted({i for n in self._by_words.get(loose(name), ()) for i in self._hits(n)})
        return Lookup(candidates=tuple(self._entry(i).name for i in hits))

    def find_plain(self, name: str) -> Lookup:
        """Look up ``name`` as cooks write it: ``finely diced onion`` is onion.

        The same as :meth:`find` if the name is known.  If not, words that only say how a food was
        chosen, cut or cooked are left away (``data/plain-foods.yaml``), and a food named twice over
        (``Bramley cooking apple``) is that food.  A second name in brackets has to be one of the same
        food: if it is not, both are candidates.
        """
        found = self.find(name)
        if found.entry is not None and not found.read_as:
            return found
        for known in (self._spelt, self._of_plural):
            for level in self._words.left(name):
                known_here = [(e, left) for left in level if (e := known(left.name)) is not None]
                fits = {
                    e.id: (e, left)
                    for e, left in known_here
                    if self._keeps(e, plain_words.parts(name), plain_words.names_two(name))
                }
                if len(fits) > 1 or (known_here and not fits):
                    return Lookup(candidates=tuple(dict.fromkeys(e.name for e, _ in fits.values() or known_here)))
                for entry, left in fits.values():
                    read = self._as_bought(entry, left)
                    return Lookup() if read is None else Lookup(read, read_as=entry.name if left.turned else "")
        twice = self._named_twice(fold(name).split())
        if twice is not None:
            return Lookup(twice)
        outside, inside = plain_words.in_brackets(name)
        if inside and outside.strip(" ,"):
            return self._both(self.find_plain(outside), self.find_plain(inside)) or found
        return found

    def _is_written(self, entry: Entry, name: str) -> bool:
        """Whether a name is one of an entry's own, sign for sign: "half & half"."""
        return any(name.casefold() == own.casefold() for own in self.names_of(entry))

    def _keeps(self, entry: Entry, parts: tuple[str, ...], is_two: bool) -> bool:
        """Whether ``entry`` leaves nothing out of the foods that stand in the parts of a name.

        A comma or a bracket may stand between two foods: ``butter, beans`` is no butter bean, and oats
        soaked in milk are no oat drink.  ``is_two``: the name says that they are two, so neither is a kind
        of the other.
        """
        if len(parts) < 2 or entry.depends_on_everything:
            return True
        has = (*entry.contains, *entry.depends)
        heads = {fold(name).split()[-1] for name in self.names_of(entry)}
        for part in parts:
            for food in self._foods_in(part):
                # What "oil" or "cheese" leaves open is settled by the kind that is named: olive oil, goat's cheese.
                is_head = not is_two and fold(food.written or food.name).split()[-1] in heads
                asked = () if is_head else food.depends
                for node in (*food.contains, *asked):
                    if not any(self._tree.is_under(n, node) or self._tree.is_under(node, n) for n in has):
                        return False
        return True

    def _foods_in(self, text: str) -> Iterator[Entry]:
        """The foods named in ``text`` one after another, each by its longest name."""
        words = fold(text).split()
        while words:
            longest = min(self.most_words(words[0]), len(words))
            many = next((n for n in range(longest, 0, -1) if self._hits(" ".join(words[:n]))), 0)
            if many:
                yield from self.all_named(" ".join(words[:many]))
            words = words[many or 1 :]

    @cached_property
    def _tree(self) -> Taxonomy:
        return taxonomy.load()[0]

    def _spelt(self, name: str) -> Entry | None:
        hits = self._hits(name)
        return self._entry(hits[0]) if len(hits) == 1 else None

    def _both(self, one: Lookup, other: Lookup) -> Lookup | None:
        """What two names of a food come to: that food, both if they disagree, None if one is not known."""
        if one.entry is None or other.entry is None:
            return None
        if one.entry.id == other.entry.id:
            return one
        return Lookup(candidates=(one.entry.name, other.entry.name))

    def _as_bought(self, entry: Entry, left: plain_words.Left) -> Entry | None:
        """``entry`` with what the words left away leave open; None where they are not said of such a food."""
        depends, kinds_open = dict.fromkeys(entry.depends), dict.fromkeys(entry.kinds_open)
        for numbers in left.dropped:
            rules = [self._words.rules[i] for i in numbers]
            if rules and not any(_fits(rule, entry) for rule in rules):
                return None
            for rule in rules:
                if (
                    (rule["depends"] or rule["kind_open"])
                    and not entry.depends_on_everything
                    and _touches(entry, rule["kinds"])
                ):
                    depends |= dict.fromkeys(n for n in rule["depends"] if n not in entry.contains)
                    kinds_open |= dict.fromkeys(rule["kind_open"])
        if tuple(depends) == entry.depends and tuple(kinds_open) == entry.kinds_open:
            return entry
        return entry._replace(depends=tuple(depends), kinds_open=tuple(kinds_open))

    def _of_plural(self, name: str) -> Entry | None:
        """The food of which ``name`` may be the plural in another language (``Kartoffeln``), if it is only one.

        A last word that names a food itself is meant as it is written: butter is no plural of butt.
        """
        if self._hits(name.split()[-1]):
            return None
        meant = {e.id: e for n in foreign_singulars(name) if (e := self.named(n)) is not None}
        return next(iter(meant.values())) if len(meant) == 1 else None

    def _named_twice(self, words: list[str]) -> Entry | None:
        """The food that both parts of ``words`` name, if they can be divided so."""
        both = ((self.named(" ".join(words[:at])), self.named(" ".join(words[at:]))) for at in range(1, len(words)))
        return next((one for one, other in both if one is not None and one is other), None)

    def inside(self, text: str) -> Iterator[Entry]:
        """The entries of which a whole name is in ``text``, word for word; all of them if they share the name."""
        return (entry for run in runs(text) for entry in self.all_named(run))

    def by_id(self, key: str) -> Entry | None:
        """The entry of this id, or None."""
        return next((e for e in self.all_named(key.replace("-", " ")) if e.id == key), None)

    def all_named(self, folded: str) -> Iterator[Entry]:
        """The entries with exactly this name, already folded; several if the name is ambiguous."""
        return (self._entry(i) for i in self._hits(folded))

    def most_words(self, first: str) -> int:
        """The most words of any name that begins with the word ``first``; 0 if there is none."""
        return self._longer.get(first) or (1 if first in self._names else 0)

    def named(self, name: str) -> Entry | None:
        """The first entry with this name, already folded, or None."""
        hits = self._hits(name)
        return self._entry(hits[0]) if hits else None

    def names_of(self, entry: Entry) -> tuple[str, ...]:
        """The name of ``entry`` and its other names, as written."""
        return (
            entry.name,
            *(n for i in self._hits(fold(entry.name)) for n in self._row(i).get("also", ())),
        )

    def has_word(self, word: str) -> bool:
        """Whether any name contains ``word``, already folded, as a whole word or words."""
        return f" {word} " in self._every_name

    @cached_property
    def _vocabulary(self) -> frozenset[str]:
        """Every word of a name, and those that are words of a kitchen and no misspelt names of foods."""
        return frozenset(w for name in self._names for w in name.split()) | self._words.never

    def near(self, name: str) -> tuple[str, ...]:
        """The known names closest in meaning to ``name``, folded; none if nothing is close.

        A word that stands in names is meant as it is written: batter is no misspelt butter, and what
        is offered has that word in it.  Only words that stand in no name are taken for misspelt.
        """
        words = self._words.bare(name)[:8]
        known = {w for w in words if w in self._vocabulary}
        strange = [w for w in words if w not in self._vocabulary]
        if not known and len(words) > 1 and (whole := nearest(" ".join(words), self._names)):
            return whole
        meant = {w: (w,) for w in known} | {w: nearest(w, self._vocabulary) for w in strange}
        wanted = [set(near) for near in meant.values() if near]
        if not wanted:
            return ()
        found: list[tuple[int, int, str]] = []
        for one in self._names:
            parts = set(one.split())
            if all(parts & near for near in wanted):
                first = sum(near.index(w) for near in meant.values() for w in parts if w in near)
                found.append((len(parts) - len(wanted), first, one))
        return tuple(one for more, _, one in sorted(found) if more <= _MOST_MORE)[:3]


def _fits(rule: plain_words.Rule, entry: Entry) -> bool:
    """Whether the words of a rule are said of such a food."""
    kinds = rule["kinds"]
    return kinds == ANY or _is_of(entry, kinds) or (rule["measures"] and _touches(entry, kinds))


def _is_of(entry: Entry, kinds: Iterable[str]) -> bool:
    """Whether an entry is and can hold nothing but these ``kinds``, or is left open altogether."""
    if entry.depends_on_everything:
        return True
    return bool(entry.kinds) and _below(kinds).issuperset((*entry.kinds, *entry.kinds_open)) and not entry.of


def _touches(entry: Entry, kinds: str | list[str]) -> bool:
    return kinds == ANY or not _below(kinds).isdisjoint(entry.kinds)


def _below(kinds: Iterable[str]) -> set[str]:
    known = food_kinds.load()[0]
    return {below for kind in kinds for below in known.below(kind)}


def packaged() -> Catalogue:
    """The catalogue that travels with the package."""
    return load()[0]


def _entry(row: Row) -> Entry:
    depends = row.get("depends", ())
    return Entry(
        id=row["id"],
        name=row["name"],
        span=packaged_tables.span_of(row),
        contains=tuple(row.get("contains", ())),
        depends=(ANY,) if depends == ANY else tuple(depends),
        look_for=tuple(row.get("look_for", ())),
        ask=row.get("ask", ""),
        may=tuple(row.get("may", ())),
        form=tuple(packaged_tables.without_place(row.get("form", {})).items()),
        so2_mg_kg=fraction(row.get("so2")),
        so2_source=row.get("so2_source", ""),
        so2_read=bool(row.get("so2_read")),
        so2_natural=bool(row.get("so2_natural")),
        liquid=bool(row.get("liquid")),
        density=fraction(row.get("density")),
        pieces=tuple(
            (word, Fraction(str(g))) for word, g in packaged_tables.without_place(row.get("pieces", {})).items()
        ),
        of=tuple(row.get("of", ())),
        kinds=tuple(row.get("kind", ())),
        kinds_open=_kinds_open(row),
        note=row.get("note", ""),
        source=row["source"],
    )


def _kinds_open(row: Row) -> tuple[str, ...]:
    """The kinds that a row leaves open: any kind, if it depends on everything or does not say what it is."""
    left = row.get("kind_open", ())
    return (ANY,) if left == ANY or ANY in left or row.get("depends") == ANY or not row.get("kind") else tuple(left)


@cache
def load() -> tuple[Catalogue, tuple[Problem, ...]]:
    """The catalogue in ``data/catalogue`` and the problems of those files."""
    made, problems = packaged_tables.rows(
        packaged_tables.texts("catalogue/*", "plain-foods.yaml", "sources.yaml", "taxonomy.yaml", "kinds.yaml"),
        catalogue_rows.collect,
        "catalogue",
    )
    return Catalogue(made), problems
