"""The catalogue of ingredients: what each one is, with its source.

Its tables have half a megabyte, of which a menu asks for some dozens of entries.  So the
names are taken from the text by its form (an entry starts on a line of its own, with its
name and then its other names), and an entry is read as YAML when it is asked for.  A table
that does not have that form is read as a whole, which only takes longer.

A name is found whatever its case, accents, hyphens or plural.  Two candidates are
a question to the chef, never a guess.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction
from functools import cache, cached_property

from ..frozen import frozen
from ..nodes import Mapping, Node, Sequence, parse
from ..problems import Problem, Span, error, nearest
from . import store, taxonomy
from .words import fold, fold_all, loose, runs

ANY = "any"
FORMS = ("refined_oil", "glucose_syrup", "maltodextrin", "distillate", "fining_agent", "vitamin_carrier", "tocopherol",
         "phytosterol", "stanol_ester", "lactitol", "beer_or_spirit")
_KEYS = {"name", "also", "contains", "depends", "look_for", "ask", "may", "form", "so2", "so2_source", "so2_natural", "liquid",
         "density", "density_source", "pieces", "pieces_source", "of", "note", "source"}


@frozen
class Entry:
    """One ingredient.

    ``contains`` are the taxonomy nodes always there; ``depends`` those only the
    label can settle (``("any",)``: all of them); ``may`` those that may be there
    whatever the maker says; ``form`` maps a node to the form some law exempts.
    ``so2_mg_kg`` is an upper bound; ``density`` is g/ml; ``pieces`` grams by word;
    ``of`` are the ingredients of a mixture that goes by one name.
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
    note: str = ""
    source: str = ""

    @property
    def depends_on_everything(self) -> bool:
        return ANY in self.depends

    def form_of(self, node: str) -> str:
        return next((f for n, f in self.form if n == node), "")


@frozen
class Found:
    """The answer of a look-up: one entry, several candidates, or none.

    ``read_as`` is set where only the word order differed, so that it can be shown.
    """

    entry: Entry | None = None
    candidates: tuple[str, ...] = ()
    read_as: str = ""


@frozen
class _Unread:
    """An entry as it stands in the text of its table, from the start of its first line."""

    file: str
    text: str
    start: int
    end: int
    name: str

    @property
    def line(self) -> int:
        return self.text.count("\n", 0, self.start) + 1

    def row(self) -> dict | None:
        """The entry as plain values; None for what is not one sound entry by that name."""
        node, problems = parse(self.text[self.start:self.end], self.file)
        if problems or not isinstance(node, Sequence) or len(node.items) != 1:
            return None
        row = store.placed(node.items[0])
        if not isinstance(row, dict) or row.get("name") != self.name:
            return None
        file, line, column = row[store.PLACE]
        return {**row, store.PLACE: [file, self.line + line - 1, column]}


class Catalogue:
    """Entries by name, each read when it is asked for.

    ``names`` are folded, with the number of their row, or several where it stands in several entries.
    """

    def __init__(self, names: dict[str, int | list[int]], rows: list[dict | _Unread]):
        self._rows = rows
        self._names = names
        self._entries: dict[int, Entry] = {}

    def __len__(self) -> int:
        return len(self._rows)

    def __iter__(self):
        return (self._entry(i) for i in range(len(self._rows)))

    @property
    def name_count(self) -> int:
        return len(self._names)

    def _entry(self, index: int) -> Entry:
        if index not in self._entries:
            row = self._rows[index]
            self._entries[index] = _read(row) if isinstance(row, _Unread) else _entry(row)
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

    def inside(self, text: str) -> Iterator[Entry]:
        """The entries of which a whole name stands in ``text``, word for word; of a name with several, each."""
        return (self._entry(i) for run in runs(text) for i in self._hits(run))

    def has_word(self, word: str) -> bool:
        """Whether some entry's name holds ``word`` (already folded) as a whole word or words."""
        return any(f" {word} " in f" {name} " for name in self._names)

    def near(self, name: str) -> tuple[str, ...]:
        """The names most like ``name``, as they are compared."""
        return nearest(fold(name), self._names)


def _fraction(value: object) -> Fraction | None:
    return None if value is None else Fraction(str(value))


def _entry(row: dict) -> Entry:
    depends = row.get("depends", ())
    return Entry(
        id=row["id"], name=row["name"], span=Span(*row[store.PLACE]), contains=tuple(row.get("contains", ())),
        depends=(ANY,) if depends == ANY else tuple(depends), look_for=tuple(row.get("look_for", ())), ask=row.get("ask", ""),
        may=tuple(row.get("may", ())), form=tuple((k, v) for k, v in row.get("form", {}).items() if k != store.PLACE),
        so2_mg_kg=_fraction(row.get("so2")), so2_source=row.get("so2_source", ""), so2_natural=bool(row.get("so2_natural")),
        liquid=bool(row.get("liquid")), density=_fraction(row.get("density")),
        pieces=tuple((k, Fraction(str(v))) for k, v in row.get("pieces", {}).items() if k != store.PLACE),
        of=tuple(row.get("of", ())), note=row.get("note", ""), source=row["source"])


def _read(found: _Unread) -> Entry:
    """An entry of the table.  One with a fault may hold anything: a half of it would hide what it contains."""
    row = found.row()
    if row is None:
        return Entry(_id(found.name), found.name, Span(found.file, found.line, 5), depends=(ANY,))
    faults = _faults(row, Span(*row[store.PLACE]), taxonomy.load()[0].kinds, _sources())
    if any(p.slug == "catalogue-number" for p in faults):
        row = {k: v for k, v in row.items() if k not in ("so2", "density")}
    made = _entry({**row, "id": _id(found.name), "source": str(row.get("source", ""))})
    return replace(made, depends=(ANY,)) if faults else made


def _id(name: str) -> str:
    return fold(name).replace(" ", "-")


@cache
def load() -> tuple[Catalogue, tuple[Problem, ...]]:
    """The catalogue in ``data/catalogue``, and the problems of those files where they had to be read as a whole."""
    tables = store.texts("catalogue/*")
    named, unread = [], []
    for path, text in tables.items():
        if not _FORM.fullmatch(text):
            return whole()
        for names, found in _named(path, text):
            named.append(names)
            unread.append(found)
    folded = iter(fold_all([name for names in named for name in names]))
    index: dict[str, list[int]] = {}
    for number, names in enumerate(named):
        for name in dict.fromkeys([next(folded) for _ in names]):
            index.setdefault(name, []).append(number)
    return Catalogue(_index(index), unread), ()


def whole() -> tuple[Catalogue, tuple[Problem, ...]]:
    """The same catalogue with every entry read and checked."""
    made, problems = store.rows(store.texts("catalogue/*", "sources.yaml"), _collect)
    return Catalogue(made["names"], made["rows"]), problems


def _index(names: dict[str, list[int]]) -> dict[str, int | list[int]]:
    return {name: hits[0] if len(hits) == 1 else hits for name, hits in names.items()}


# A table by the form of its lines: comments, the one key, first lines of entries, further lines of them.
_FORM = re.compile(r"(?:(?: *#[^\n]*| *|  - \{name: [^\n]*| {5,}[^ #\n][^\n]*)\n)*+entries: *\n(?:(?: *#[^\n]*| *|  - \{name: [^\n]*| {5,}[^ #\n][^\n]*)\n)*+")
_START = re.compile(r"^  - \{name: ", re.MULTILINE)
# A name that YAML reads as it stands: in double quotes without escapes, or plain.
_NAME = r"""(?:"[^"\\\n]*"|[^\s,\[\]{}#"'&*!|>%@`:?~-][^,\[\]{}#":\n]*)"""
_NAMES = re.compile(rf"  - \{{name: ({_NAME})(?:,\s+also: \[({_NAME}(?:,\s+{_NAME})*+)\])?+(?=[,}}])")
_ONE = re.compile(_NAME)


def _named(path: str, text: str) -> Iterator[tuple[list[str], _Unread]]:
    """The entries of a table, each with all its names.  Where they cannot be told by their form, YAML tells them."""
    starts = [found.start() for found in _START.finditer(text)]
    for start, end in zip(starts, (*starts[1:], len(text))):
        quick = _NAMES.match(text, start, end)
        if quick and text.find("also:", quick.end(), end) < 0:
            names = [n.strip('" ') for n in (quick[1], *(_ONE.findall(quick[2]) if quick[2] else ()))]
        else:
            node = parse(text[start:end], path)[0]
            row = store.placed(node.items[0]) if isinstance(node, Sequence) else {}
            names = [str(n) for n in (row.get("name") or text[start + 11:text.find("\n", start)], *row.get("also", ()))]
        yield names, _Unread(path, text, start, end, names[0])


@cache
def _sources() -> frozenset[str]:
    made, _ = store.rows(store.texts("sources.yaml"), lambda trees: (store.placed(next(iter(trees.values()))), ()))
    return frozenset(made.get("sources", {}))


def _collect(trees: dict[str, Node]) -> tuple[dict, tuple[Problem, ...]]:
    """The rows with their index of names.  Rules, each a problem at its place:

    1. Only known keys; a name; a source that ``sources.yaml`` knows.
    2. Every node exists; every form is known and belongs to a node contained.
    3. ``so2`` comes with ``so2_source`` and is a number.
    4. No name stands in two entries.
    """
    problems: list[Problem] = []
    kinds = taxonomy.load()[0].kinds
    sources = next((set(store.placed(t).get("sources", {})) for p, t in trees.items() if p.endswith("/sources.yaml")), set())
    rows: list[dict] = []
    names: dict[str, list[int]] = {}
    for path, tree in trees.items():
        entries = tree.get("entries") if "/catalogue/" in path and isinstance(tree, Mapping) else None
        for node in entries.items if isinstance(entries, Sequence) else ():
            row = store.placed(node)
            found = _faults(row, node.span, kinds, sources)
            problems += found
            if any(p.slug == "catalogue-name" for p in found):
                continue
            row["id"] = _id(row["name"])
            for name in dict.fromkeys(fold(n) for n in (row["name"], *row.get("also", ()))):
                if name in names:
                    other = rows[names[name][0]]
                    problems.append(error("name-in-two-entries", node.span, f"'{name}' already names '{other['name']}' ({Span(*other[store.PLACE])})"))
                names.setdefault(name, []).append(len(rows))
            rows.append(row)
    return {"names": _index(names), "rows": rows}, tuple(problems)


def _faults(row: dict, span: Span, kinds: dict, sources: set[str]) -> list[Problem]:
    name = row.get("name")
    if not isinstance(name, str) or not name:
        return [error("catalogue-name", span, "a catalogue entry without a name")]
    found = [error("unknown-key", span, f"'{name}': there is no key '{k}' in a catalogue entry") for k in row if k not in _KEYS and k != store.PLACE]
    if row.get("source") not in sources:
        found.append(error("no-source-cited", span, f"'{name}' has no source that sources.yaml knows", "say source: practice where it is common practice"))
    for key in ("contains", "depends", "look_for", "may"):
        value = row.get(key, ())
        for node in value if isinstance(value, list) else () if value == ANY and key == "depends" else [value] if value else ():
            if node not in kinds:
                found.append(error("unknown-node", span, f"'{name}': there is no allergen node '{node}' in the taxonomy"))
    for node, form in row.get("form", {}).items():
        if node != store.PLACE and (form not in FORMS or node not in (*row.get("contains", ()), *(row.get("depends") or ()))):
            found.append(error("unknown-form", span, f"'{name}': the form '{form}' of '{node}' is not known, or '{node}' is neither contained nor open"))
    if "so2" in row and row.get("so2_source") not in sources:
        found.append(error("no-source-cited", span, f"'{name}' has a sulphite figure without its source"))
    for key in ("so2", "density"):
        try:
            _fraction(row.get(key))
        except ValueError:
            found.append(error("catalogue-number", span, f"'{name}': '{key}' is no number"))
    return found
