"""The catalogue of ingredients: what each one is, with its source.

A name is found whatever its case, accents, hyphens or plural.  Two candidates are
a question to the chef, never a guess.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from fractions import Fraction
from functools import cache, cached_property

from platecard.diagnostics import Problem, Span, error, nearest
from platecard.knowledge import claims, packaged_tables, taxonomy
from platecard.knowledge import kinds as food_kinds
from platecard.knowledge.names import fold, foreign_singulars, loose, runs
from platecard.yaml_nodes import Mapping, Node, Sequence

ANY = "any"
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


@dataclass(frozen=True, slots=True)
class Entry:
    """One ingredient.

    ``contains`` are the taxonomy nodes always there; ``depends`` those only the
    label can settle (``("any",)``: all of them); ``may`` those that may be there
    whatever the maker says; ``form`` maps a node to the form some law exempts.
    ``so2_mg_kg`` is an upper bound; ``density`` is g/ml; ``pieces`` grams by word;
    ``of`` are the ingredients of a mixture that goes by one name.  ``kinds`` are the food
    kinds that it is and is made of; ``kinds_open`` those that it may hold besides
    (``("any",)``: any of them).
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

    @property
    def shown(self) -> str:
        """The name as cards and pages print it, without a claim that is part of it."""
        return claims.shown(self.name)

    @property
    def depends_on_everything(self) -> bool:
        return ANY in self.depends

    def form_of(self, node: str) -> str:
        return next((f for n, f in self.form if n == node), "")


@dataclass(frozen=True, slots=True)
class Found:
    """The answer of a look-up: one entry, several candidates, or none.

    ``read_as`` is set where only the word order differed, so that it can be shown.
    """

    entry: Entry | None = None
    candidates: tuple[str, ...] = ()
    read_as: str = ""


class Catalogue:
    """Entries by name.  Rows stay text until they are asked for."""

    def __init__(self, made: dict):
        self._rows: list[str] = made["rows"].split("\n") if made["rows"] else []
        self._names: dict[str, int | list[int]] = made["names"]
        self._longer: dict[str, int] = made["longer"]
        self._plain: list[dict[str, list[str]]] = made["plain"]["words"]
        self._done = frozenset(made["plain"]["behind"])
        self._entries: dict[int, Entry] = {}

    def __len__(self) -> int:
        return len(self._rows)

    def __iter__(self):
        return (self._entry(i) for i in range(len(self._rows)))

    @property
    def name_count(self) -> int:
        return len(self._names)

    def names(self) -> Iterable[str]:
        """Every name, folded."""
        return self._names.keys()

    def _entry(self, index: int) -> Entry:
        if index not in self._entries:
            self._entries[index] = _entry(json.loads(self._rows[index]))
        return self._entries[index]

    def _hits(self, name: str) -> list[int]:
        found = self._names.get(name, [])
        return found if isinstance(found, list) else [found]

    @cached_property
    def _by_words(self) -> dict[str, list[str]]:
        """Sorted words → the names made of them; built only when a plain look-up fails."""
        found: dict[str, list[str]] = {}
        for name in self._names:
            found.setdefault(" ".join(sorted(name.split())), []).append(name)
        return found

    @cached_property
    def _every_name(self) -> str:
        """All names in one text, which is searched a hundred times as fast as one name after another."""
        return f" {' / '.join(self._names)} "

    def find(self, name: str) -> Found:
        """What ``name`` means here.

        ``oil, olive`` is read as ``olive oil``, and the chef is told.  Words in another
        order without a comma are only a question: chocolate milk is no milk chocolate.
        """
        hits = self._hits(fold(name))
        if not hits and "," in name:
            turned = fold(" ".join(reversed(name.split(","))))
            hits = self._hits(turned)
            if len(hits) == 1:
                entry = self._entry(hits[0])
                return Found(entry, read_as=entry.name)
        if len(hits) == 1:
            return Found(self._entry(hits[0]))
        if not hits:
            hits = sorted({i for n in self._by_words.get(loose(name), ()) for i in self._hits(n)})
        return Found(candidates=tuple(self._entry(i).name for i in hits))

    def find_plain(self, name: str) -> Found:
        """What ``name`` means as cooks write it: ``finely diced onion`` is onion.

        As :meth:`find`; where there is no such name, words that only say how a plain food
        was chosen, cut or cooked are left away (``data/plain-foods.yaml``), and a food
        named twice over (``Bramley cooking apple``) is that food.  Behind a comma a cook
        may say what is done to any food: ``egg whites, whisked``.
        """
        found = self.find(name)
        if found.entry is not None:
            return found
        head, comma, done = name.partition(",")
        if comma and set(fold(done).split()) <= self._done:
            return self.find_plain(head)
        words = fold(name).split()
        entry = self._bare(words) or self._named_twice(words) or self._of_plural(words)
        return found if entry is None else Found(entry)

    def _bare(self, words: list[str]) -> Entry | None:
        """The food that ``words`` name once those that change nothing in it are left away."""
        kinds: list[list[str]] = []
        while words:
            entry = self.named(" ".join(words))
            if entry is not None:
                return entry if all(_is_plain(entry, allowed) for allowed in kinds) else None
            # The longest first: "free range", not "free".
            cuts = ((words[n:], "before", words[:n]) for n in (3, 2, 1))
            cuts = (*cuts, *((words[:-n], "after", words[-n:]) for n in (2, 1)))
            words, allowed = next(
                (
                    (rest, rule["kinds"])
                    for rest, side, cut in cuts
                    for rule in self._plain
                    if " ".join(cut) in rule[side]
                ),
                ([], []),
            )
            kinds.append(allowed)
        return None

    def _of_plural(self, words: list[str]) -> Entry | None:
        """The one food of which ``words`` can be a plural in another language: ``Kartoffeln``."""
        meant = {e.id: e for n in foreign_singulars(" ".join(words)) if (e := self.named(n)) is not None}
        return next(iter(meant.values())) if len(meant) == 1 else None

    def _named_twice(self, words: list[str]) -> Entry | None:
        """The food that both halves of ``words`` name."""
        both = ((self.named(" ".join(words[:at])), self.named(" ".join(words[at:]))) for at in range(1, len(words)))
        return next((one for one, other in both if one is not None and one is other), None)

    def of_id(self, id: str) -> Entry | None:
        """The entry of this id."""
        return next((e for e in map(self._entry, self._hits(id.replace("-", " "))) if e.id == id), None)

    def inside(self, text: str) -> Iterator[Entry]:
        """The entries of which a whole name stands in ``text``, word for word; of a name with several, each."""
        return (entry for run in runs(text) for entry in self.all_named(run))

    def by_id(self, key: str) -> Entry | None:
        """The entry of this id, or None."""
        return next((e for e in self.all_named(key.replace("-", " ")) if e.id == key), None)

    def all_named(self, folded: str) -> Iterator[Entry]:
        """The entries of this very name, already folded: several, where it is a question."""
        return (self._entry(i) for i in self._hits(folded))

    def most_words(self, first: str) -> int:
        """The most words that a name beginning with the word ``first`` has; 0 where none does."""
        return self._longer.get(first) or (1 if first in self._names else 0)

    def named(self, name: str) -> Entry | None:
        """The entry of which ``name``, already folded, is a name."""
        hits = self._hits(name)
        return self._entry(hits[0]) if hits else None

    def names_of(self, entry: Entry) -> tuple[str, ...]:
        """The name of ``entry`` and its other names, as written."""
        return (
            entry.name,
            *(n for i in self._hits(fold(entry.name)) for n in json.loads(self._rows[i]).get("also", ())),
        )

    def has_word(self, word: str) -> bool:
        """Whether some entry's name holds ``word`` (already folded) as a whole word or words."""
        return f" {word} " in self._every_name

    def near(self, name: str) -> tuple[str, ...]:
        """The names most like ``name``, as they are compared."""
        return nearest(fold(name), self._names)


def _is_plain(entry: Entry, kinds: Iterable[str]) -> bool:
    """Whether all that an entry is, is of these ``kinds``, and nothing of it is open."""
    known = food_kinds.load()[0]
    within = {below for kind in kinds for below in known.below(kind)}
    return (
        bool(entry.kinds) and within.issuperset((*entry.kinds, *entry.kinds_open)) and not (entry.depends or entry.of)
    )


def _fraction(value: object) -> Fraction | None:
    return None if value is None else Fraction(str(value))


def _entry(row: dict) -> Entry:
    depends = row.get("depends", ())
    return Entry(
        id=row["id"],
        name=row["name"],
        span=Span(*row[packaged_tables.PLACE]),
        contains=tuple(row.get("contains", ())),
        depends=(ANY,) if depends == ANY else tuple(depends),
        look_for=tuple(row.get("look_for", ())),
        ask=row.get("ask", ""),
        may=tuple(row.get("may", ())),
        form=tuple((k, v) for k, v in row.get("form", {}).items() if k != packaged_tables.PLACE),
        so2_mg_kg=_fraction(row.get("so2")),
        so2_source=row.get("so2_source", ""),
        so2_natural=bool(row.get("so2_natural")),
        liquid=bool(row.get("liquid")),
        density=_fraction(row.get("density")),
        pieces=tuple((k, Fraction(str(v))) for k, v in row.get("pieces", {}).items() if k != packaged_tables.PLACE),
        of=tuple(row.get("of", ())),
        kinds=tuple(row.get("kind", ())),
        kinds_open=_kinds_open(row),
        note=row.get("note", ""),
        source=row["source"],
    )


def _kinds_open(row: dict) -> tuple[str, ...]:
    """What kinds a row leaves open: all of them where it depends on everything, or does not say what it is."""
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


def _collect(trees: dict[str, Node]) -> tuple[dict, tuple[Problem, ...]]:
    """The rows with their index of names.  Rules, each a problem at its place:

    1. Only known keys; a name; a source that ``sources.yaml`` knows.
    2. Every node exists; every form is known and belongs to a node contained.
    3. ``so2`` comes with ``so2_source`` and is a number.
    4. No name stands in two entries.
    5. Every food kind exists.
    """
    problems: list[Problem] = []
    kinds = taxonomy.load()[0].kinds
    sources = next(
        (set(packaged_tables.placed(t).get("sources", {})) for p, t in trees.items() if p.endswith("/sources.yaml")),
        set(),
    )
    food = food_kinds.ids(next((t for p, t in trees.items() if p.endswith("/kinds.yaml")), None))
    rows: list[dict] = []
    names: dict[str, list[int]] = {}
    for path, tree in trees.items():
        entries = tree.get("entries") if "/catalogue/" in path and isinstance(tree, Mapping) else None
        for node in entries.items if isinstance(entries, Sequence) else ():
            row = packaged_tables.placed(node)
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
                            f"'{name}' already names '{other['name']}' ({Span(*other[packaged_tables.PLACE])})",
                        )
                    )
                names.setdefault(name, []).append(len(rows))
            rows.append(row)
    index = {name: hits[0] if len(hits) == 1 else hits for name, hits in names.items()}
    longer: dict[str, int] = {}
    for name in index:
        first = name.partition(" ")[0]
        if (many := name.count(" ") + 1) > longer.get(first, 1):
            longer[first] = many
    plain, faults = _plain(trees, food, sources)
    return {
        "names": index,
        "longer": longer,
        "plain": plain,
        "rows": "\n".join(json.dumps(r, ensure_ascii=False) for r in rows),
    }, (*problems, *faults)


def _plain(trees: dict[str, Node], food: set[str], sources: set[str]) -> tuple[dict[str, list], list[Problem]]:
    """The words that change nothing in a plain food, folded, with the kinds of food that they may stand with;

    and what may stand behind a comma.
    """
    tree = next((t for p, t in trees.items() if p.endswith("/plain-foods.yaml")), None)
    if not isinstance(tree, Mapping):
        return {"words": [], "behind": []}, []
    made = packaged_tables.placed(tree)
    span, rows = tree.span, made.get("words", [])
    problems = [
        error("unknown-kind", span, f"there is no food kind '{k}' in kinds.yaml")
        for row in rows
        for k in row.get("kinds", [])
        if k not in food
    ]
    if made.get("source") not in sources:
        problems.append(
            error("no-source-cited", span, "the words beside plain foods have no source that sources.yaml knows")
        )
    words = [
        {
            "before": _folded(row.get("before", [])),
            "after": _folded(row.get("after", [])),
            "kinds": list(row.get("kinds", [])),
        }
        for row in rows
    ]
    return {
        "words": words,
        "behind": sorted({w for said in made.get("behind", []) for w in fold(said).split()}),
    }, problems


def _folded(words: list[str]) -> list[str]:
    return list(dict.fromkeys(map(fold, words)))


def _faults(row: dict, span: Span, kinds: dict, sources: set[str], food: set[str]) -> list[Problem]:
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
        value = row.get(key, ())
        for node in (
            value if isinstance(value, list) else () if value == ANY and key == "depends" else [value] if value else ()
        ):
            if node not in kinds:
                found.append(
                    error("unknown-node", span, f"'{name}': there is no allergen node '{node}' in the taxonomy")
                )
    for key in ("kind", "kind_open"):
        value = row.get(key, [])
        for kind in value if isinstance(value, list) else [value]:
            if kind not in food and not (kind == ANY and key == "kind_open"):
                found.append(error("unknown-kind", span, f"'{name}': there is no food kind '{kind}' in kinds.yaml"))
        if key == "kind" and not isinstance(value, list):
            found.append(error("unknown-kind", span, f"'{name}': write its kinds as a list"))
    for node, form in row.get("form", {}).items():
        if node != packaged_tables.PLACE and (
            form not in FORMS or node not in (*row.get("contains", ()), *(row.get("depends") or ()))
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
            _fraction(row.get(key))
        except ValueError:
            found.append(error("catalogue-number", span, f"'{name}': '{key}' is no number"))
    return found
