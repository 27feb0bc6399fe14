"""The catalogue of ingredients: what each one is and contains, with its source.

A name is found whatever its case, accents, hyphens or plural.  If two entries could be
meant, the chef is asked; the program never guesses.
"""

from __future__ import annotations

import json
from collections.abc import Collection, Iterable, Iterator
from fractions import Fraction
from functools import cache, cached_property
from typing import NamedTuple, NotRequired, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, Span, error, nearest
from platecard.knowledge import claims, plain_words, taxonomy
from platecard.knowledge import kinds as food_kinds
from platecard.knowledge.names import fold, foreign_singulars, loose, runs
from platecard.yaml_nodes import Mapping, Node, Sequence

ANY = "any"
_MOST_MORE = 2  # words that a name offered in place of an unknown one can have besides
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


class Entry(NamedTuple):
    """One ingredient.

    Allergens are nodes of the taxonomy: ``contains`` are those always in it, ``depends`` those
    that only the label can settle (``("any",)`` for all nodes), and ``may`` those that may be in
    it whatever the maker says; ``form`` pairs a node with a form of it that some law exempts.
    ``so2_mg_kg`` is an upper bound, ``density`` is in g/ml, and ``pieces`` pairs a counting word
    with the weight of one in g.  ``of`` are the ingredients of a mixture that has one name.
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


class _Row(TypedDict):
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
    kinds: list[str] | str
    depends: list[str]
    kind_open: list[str]


class _PlainFile(TypedDict, total=False):
    """``data/plain-foods.yaml``."""

    source: str
    never: list[str]
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

    @property
    def name_count(self) -> int:
        """How many different folded names there are."""
        return len(self._names)

    def names(self) -> Iterable[str]:
        """All names, folded."""
        return self._names.keys()

    def _entry(self, index: int) -> Entry:
        if index not in self._entries:
            self._entries[index] = _entry(self._row(index))
        return self._entries[index]

    def _row(self, index: int) -> _Row:
        return cast(_Row, json.loads(self._rows[index]))

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
        hits = self._hits(fold(name))
        if not hits and "," in name:
            turned = fold(" ".join(reversed(name.split(","))))
            hits = self._hits(turned)
            if len(hits) == 1:
                entry = self._entry(hits[0])
                return Lookup(entry, read_as=entry.name)
        if len(hits) == 1:
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
                fits = {e.id: (e, left) for left in level if (e := known(left.name)) is not None}
                if len(fits) > 1:
                    return Lookup(candidates=tuple(e.name for e, _ in fits.values()))
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
            if rules and not any(r["kinds"] == ANY or _is_of(entry, r["kinds"]) for r in rules):
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
        """The food of which ``name`` may be the plural in another language (``Kartoffeln``), if it is only one."""
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


def _fraction(value: object) -> Fraction | None:
    return None if value is None else Fraction(str(value))


def _entry(row: _Row) -> Entry:
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
        so2_mg_kg=_fraction(row.get("so2")),
        so2_source=row.get("so2_source", ""),
        so2_natural=bool(row.get("so2_natural")),
        liquid=bool(row.get("liquid")),
        density=_fraction(row.get("density")),
        pieces=tuple(
            (word, Fraction(str(g))) for word, g in packaged_tables.without_place(row.get("pieces", {})).items()
        ),
        of=tuple(row.get("of", ())),
        kinds=tuple(row.get("kind", ())),
        kinds_open=_kinds_open(row),
        note=row.get("note", ""),
        source=row["source"],
    )


def _kinds_open(row: _Row) -> tuple[str, ...]:
    """The kinds that a row leaves open: any kind, if it depends on everything or does not say what it is."""
    left = row.get("kind_open", ())
    return (ANY,) if left == ANY or ANY in left or row.get("depends") == ANY or not row.get("kind") else tuple(left)


@cache
def load() -> tuple[Catalogue, tuple[Problem, ...]]:
    """The catalogue in ``data/catalogue`` and the problems of those files."""
    made, problems = packaged_tables.rows(
        packaged_tables.texts("catalogue/*", "plain-foods.yaml", "sources.yaml", "taxonomy.yaml", "kinds.yaml"),
        _collect,
        "catalogue",
    )
    return Catalogue(made), problems


def _collect(trees: dict[str, Node]) -> tuple[CatalogueRows, tuple[Problem, ...]]:
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
    sources: set[str] = set()
    if cited := next((t for p, t in trees.items() if p.endswith("/sources.yaml")), None):
        sources.update(cast(dict[str, dict[str, object]], packaged_tables.placed(cited)).get("sources", {}))
    food = food_kinds.ids(next((t for p, t in trees.items() if p.endswith("/kinds.yaml")), None))
    rows: list[_Row] = []
    names: dict[str, list[int]] = {}
    for path, tree in trees.items():
        entries = tree.get("entries") if "/catalogue/" in path and isinstance(tree, Mapping) else None
        for node in entries.items if isinstance(entries, Sequence) else ():
            row = cast(_Row, packaged_tables.placed(node))
            found = _faults(row, node.span, kinds, sources, food)
            problems += found
            if any(p.slug == "catalogue-name" for p in found):
                continue
            row["id"] = fold(row["name"]).replace(" ", "-")
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
    trees: dict[str, Node], food: set[str], nodes: Collection[str], sources: set[str]
) -> tuple[plain_words.Words, list[Problem]]:
    """The words that change nothing in a plain food, folded, and the problems of ``data/plain-foods.yaml``."""
    made: plain_words.Words = {"never": [], "rules": [], "before": {}, "after": {}, "done": {}, "behind": {}}
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
    for number, row in enumerate(written.get("words", [])):
        kinds = row.get("kinds", [])
        rule: plain_words.Rule = {
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


def _faults(row: _Row, span: Span, kinds: Collection[str], sources: set[str], food: set[str]) -> list[Problem]:
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
            _fraction(written.get(key))
        except ValueError:
            found.append(error("catalogue-number", span, f"'{name}': '{key}' is not a number"))
    return found
