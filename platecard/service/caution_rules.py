"""The rules of the cautions: which foods they are about, when they stand, what they say.

They are read once from ``data/cautions.yaml`` and ``data/cautions-foods.yaml``; what a rule may ask
about a food is listed in :data:`ASKS`.  The figures of the food codes that go with them are in
:mod:`platecard.service.food_codes`.
"""

from __future__ import annotations

from collections.abc import Iterable
from functools import cache
from typing import NamedTuple, NotRequired, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, Span, error
from platecard.knowledge import kinds as food_kinds
from platecard.knowledge import taxonomy as allergens
from platecard.knowledge.catalogue import Entry
from platecard.knowledge.names import fold
from platecard.knowledge.taxonomy import Taxonomy
from platecard.quantities.units import AmountError
from platecard.service.food_codes import BELOW, MET, NO_TIME, TABLES, FigureRows, FoodCodes
from platecard.yaml_nodes import Mapping, Node, Sequence

__all__ = [
    "ASKS",
    "BELOW",
    "CHECKS",
    "MARKS",
    "MET",
    "NO_TIME",
    "CautionRules",
    "Condition",
    "Conditions",
    "Figure",
    "Rule",
    "load",
]

MARKS = ("seen", "seen-2nd", "memory", "practice")
CHECKS = {"", "heat", "freezing", "held", "lethality", "reheat", "cooling", "keeping", "packs"}

# What a condition asks about a food: those with a list of words, one with a number, and those that only have to be so.
_LISTS = {
    "kind",
    "food",
    "holds",
    "state",
    "not_state",
    "cut",
    "not_cut",
    "doneness",
    "flag",
    "not_flag",
    "process",
    "not_process",
}
_NUMBERS = {"keeps_over_s"}
ASKS = {
    *_LISTS,
    *_NUMBERS,
    "under_cooked",
    "not_cooked",
    "core_missing",
    "freezing_asked",
    "held",
    "cooled",
    "reheated",
    "hot_and_ahead",
    "animal",
    "any",
}


class Condition(NamedTuple):
    """One thing that a rule asks about a food: ``ask`` is one of :data:`ASKS`.

    Only the field that belongs to the question is filled: ``words`` where any one of several
    will do, ``text`` for ``held``, ``number`` in s, ``any_of`` for ``any``.
    """

    ask: str
    words: frozenset[str] = frozenset()
    text: str = ""
    number: int = 0
    any_of: tuple[Conditions, ...] = ()


Conditions = tuple[Condition, ...]
"""Conditions that must all hold."""


class Figure(NamedTuple):
    """One figure of one food code, with its source and how that source was read (one of :data:`MARKS`).

    ``guests`` are those of whom the source says it, in words; empty for all guests.
    """

    code: str
    says: str
    source: str
    title: str
    mark: str
    guests: tuple[str, ...] = ()


class Rule(NamedTuple):
    """One caution: when it applies, what it says, what it checks (one of :data:`CHECKS`), and its figures.

    ``do`` is what to do where a check finds the food outside a figure.  ``by_design``: where the spec
    itself says that it is served so, that is told on the card and is no warning.
    """

    key: str
    topic: str
    says: str
    when: Conditions
    checks: str
    figures: tuple[Figure, ...]
    do: str = ""
    by_design: bool = False


class FoodGroup(NamedTuple):
    """One row of the foods that rules by food are about; all that is given must fit."""

    food: str
    files: frozenset[str]
    kinds: frozenset[str]
    nodes: tuple[str, ...]
    words: tuple[str, ...]
    not_kinds: frozenset[str]
    not_words: tuple[str, ...]


class _NamedRow(TypedDict):
    name: str


_FigureRow = TypedDict("_FigureRow", {"code": str, "says": str, "source": str, "for": NotRequired[list[str]]})


class _RuleRow(TypedDict):
    rule: str
    topic: str
    says: str
    when: dict[str, object]
    figures: list[_FigureRow]
    checks: NotRequired[str]
    do: NotRequired[str]
    by_design: NotRequired[bool]


class _KindRow(TypedDict):
    kind: str
    file: NotRequired[str]
    nodes: NotRequired[list[str]]
    words: NotRequired[list[str]]


class _FoodRow(TypedDict):
    food: str
    files: NotRequired[list[str]]
    kinds: NotRequired[list[str]]
    nodes: NotRequired[list[str]]
    words: NotRequired[list[str]]
    not_kinds: NotRequired[list[str]]
    not_words: NotRequired[list[str]]


class _Made(FigureRows):
    """The tables as plain JSON values; each mapping also holds its place (:data:`packaged_tables.PLACE`)."""

    general: str
    codes: dict[str, _NamedRow]
    groups: dict[str, str]
    animals: list[str]
    label_kinds: dict[str, str]
    flags: dict[str, list[str]]
    rules: list[_RuleRow]
    kinds: list[_KindRow]
    foods: list[_FoodRow]


class CautionRules(FoodCodes):
    """The figures of the food codes, and the rules."""

    def __init__(self, made: _Made) -> None:
        super().__init__(made)
        self.general = made["general"]
        self.codes: dict[str, str] = {k: v["name"] for k, v in packaged_tables.without_place(made["codes"]).items()}
        self.sources = packaged_tables.without_place(made["sources"])
        self.guests = packaged_tables.without_place(made["groups"])
        self.animals = frozenset(made["animals"])
        self.label_kinds = packaged_tables.without_place(made["label_kinds"])
        self.flags = {flag: _words(words) for flag, words in packaged_tables.without_place(made["flags"]).items()}
        self.rules = tuple(self._rule(r) for r in made["rules"])
        self._kinds = [
            (r["kind"], r.get("file", ""), frozenset(r.get("nodes", ())), _words(r.get("words", ())))
            for r in made["kinds"]
        ]
        self.foods = tuple(
            FoodGroup(
                r["food"],
                frozenset(r.get("files", ())),
                frozenset(r.get("kinds", ())),
                tuple(r.get("nodes", ())),
                _words(r.get("words", ())),
                frozenset(r.get("not_kinds", ())),
                _words(r.get("not_words", ())),
            )
            for r in made["foods"]
        )

    def _rule(self, row: _RuleRow) -> Rule:
        figures = []
        for f in row["figures"]:
            source = self.sources[f["source"]]
            guests = tuple(self.guests[g] for g in f.get("for", ()))
            figures.append(Figure(f["code"], f["says"], f["source"], source["title"], source["mark"], guests))
        return Rule(
            row["rule"],
            row["topic"],
            row["says"],
            _conditions(row["when"]),
            row.get("checks", ""),
            tuple(figures),
            row.get("do", ""),
            row.get("by_design", False),
        )

    def kind_of(self, entry: Entry, taxonomy: Taxonomy) -> str:
        """The kind of food that an entry of the catalogue is, by its file, nodes and name.

        Empty for a food that no rule asks about.
        """
        file, name = _file_of(entry), f" {fold(entry.name)} "
        for kind, of_file, nodes, words in self._kinds:
            if file != of_file or (words and not any(w in name for w in words)):
                continue
            if nodes and not any(taxonomy.is_under(n, want) for n in entry.contains for want in nodes):
                continue
            return kind
        return ""

    def foods_of(self, entry: Entry, taxonomy: Taxonomy) -> frozenset[str]:
        """The foods that rules by food are about and that an entry of the catalogue is."""
        return self._foods(_file_of(entry), entry.name, entry.kinds, entry.contains, taxonomy)

    def foods_of_label(self, name: str, nodes: Iterable[str], taxonomy: Taxonomy) -> frozenset[str]:
        """The same for a product without an entry, by its name and the allergens on its label."""
        return self._foods("", name, (), tuple(nodes), taxonomy)

    def _foods(
        self, file: str, name: str, kinds: Iterable[str], nodes: Iterable[str], taxonomy: Taxonomy
    ) -> frozenset[str]:
        tree = food_kinds.load()[0]
        called = f" {fold(name)} "
        above = frozenset().union(*(tree.above(k) for k in kinds))
        return frozenset(
            g.food
            for g in self.foods
            if (not g.files or not file or file in g.files)
            and (not g.kinds or above & g.kinds)
            and (not g.nodes or any(taxonomy.is_under(n, want) for n in nodes for want in g.nodes))
            and (not g.words or any(w in called for w in g.words))
            and not above & g.not_kinds
            and not any(w in called for w in g.not_words)
        )

    def flags_of(self, entry: Entry) -> frozenset[str]:
        """What the name of an entry says of how it is treated, such as pasteurised."""
        name = f" {fold(entry.name)} "
        return frozenset(flag for flag, words in self.flags.items() if any(w in name for w in words))


def _words(words: Iterable[str]) -> tuple[str, ...]:
    """Words as they are looked for in a folded name that has a blank at either end."""
    return tuple(f" {fold(w)} " for w in words)


def _file_of(entry: Entry) -> str:
    """The file of the catalogue that an entry stands in, without its folder."""
    return entry.span.file.rsplit("/", 1)[-1].removesuffix(".yaml")


def _conditions(when: dict[str, object]) -> Conditions:
    """The conditions of one rule.

    ValueError for a value that is not of the kind its question needs: misread, it would never hold.
    """
    return tuple(_condition(ask, want) for ask, want in packaged_tables.without_place(when).items())


def _condition(ask: str, want: object) -> Condition:
    if ask == "any" and isinstance(want, list):
        return Condition(ask, any_of=tuple(_conditions(w) for w in want))
    if ask in _LISTS and isinstance(want, list):
        return Condition(ask, words=frozenset(want))
    if ask in _NUMBERS and isinstance(want, int):
        return Condition(ask, number=want)
    if ask == "held" and isinstance(want, str):
        return Condition(ask, text=want)
    if ask in {"any", "held", *_LISTS, *_NUMBERS}:
        raise ValueError(f"'{ask}' cannot ask for {want!r}")
    return Condition(ask)


_FILES = ("cautions.yaml", "cautions-foods.yaml", "kinds.yaml", "taxonomy.yaml")


@cache
def load() -> tuple[CautionRules, tuple[Problem, ...]]:
    """The tables, and the problems of their files."""
    made, problems = packaged_tables.rows(packaged_tables.texts(*_FILES), _collect, "cautions")
    return CautionRules(made), problems


def _collect(trees: dict[str, Node]) -> tuple[_Made, tuple[Problem, ...]]:
    """The tables of both files as one, and what is wrong with them."""
    main = next(tree for path, tree in trees.items() if path.endswith("/cautions.yaml"))
    by_food = next(tree for path, tree in trees.items() if path.endswith("/cautions-foods.yaml"))
    made, more = cast(_Made, packaged_tables.placed(main)), cast(_Made, packaged_tables.placed(by_food))
    problems = [
        error("caution-source", by_food.span, f"the source '{key}' stands in both files")
        for key in packaged_tables.without_place(made["sources"]).keys()
        & packaged_tables.without_place(more["sources"]).keys()
    ]
    made["sources"] |= more["sources"]
    made["rules"] += more["rules"]
    made["foods"] = more["foods"]
    problems += [
        error("caution-source", main.span, f"the source '{key}' has no mark", ", ".join(MARKS))
        for key, source in packaged_tables.without_place(made["sources"]).items()
        if source.get("mark") not in MARKS
    ]
    for tree in (main, by_food):
        rules = tree.get("rules") if isinstance(tree, Mapping) else None
        for node in rules.items if isinstance(rules, Sequence) else ():
            problems += _rule_faults(cast(_RuleRow, packaged_tables.placed(node)), node.span, made)
    problems += _food_faults(made["foods"], by_food.span)
    problems += _table_faults(made, main.span)
    return made, tuple(problems)


def _rule_faults(row: _RuleRow, span: Span, made: _Made) -> list[Problem]:
    """What is wrong with one rule."""
    problems, key = [], row.get("rule")
    codes = {*packaged_tables.without_place(made["codes"]), "any"}
    for figure in row.get("figures", ()):
        if (
            figure.get("source") not in packaged_tables.without_place(made["sources"])
            or figure.get("code") not in codes
        ):
            problems.append(error("caution-figure", span, f"'{key}': a figure without a known code and source"))
        if unknown := set(figure.get("for", ())) - packaged_tables.without_place(made["groups"]).keys():
            problems.append(error("caution-figure", span, f"'{key}': nobody knows the guests {sorted(unknown)}"))
    if unknown := _asked(row.get("when", {})) - ASKS:
        problems.append(
            error("caution-condition", span, f"'{key}' asks for {', '.join(sorted(unknown))}, which nobody knows")
        )
    named = {row["food"] for row in made["foods"]}
    if unknown := _named(row.get("when", {}), ("food", "holds")) - named:
        problems.append(error("caution-condition", span, f"'{key}': there is no food {', '.join(sorted(unknown))}"))
    checks = row.get("checks", "")
    if checks not in CHECKS or not row.get("figures") or not row.get("says") or (checks and not row.get("do")):
        problems.append(
            error(
                "caution-rule",
                span,
                f"'{key}' lacks its sentence, its figures or what to do, or checks what nobody knows",
            )
        )
    return problems


def _food_faults(rows: list[_FoodRow], span: Span) -> list[Problem]:
    """What is wrong with the foods that rules are about."""
    tree, nodes = food_kinds.load()[0].kinds, allergens.load()[0].kinds
    problems = []
    for row in rows:
        for kind in (*row.get("kinds", ()), *row.get("not_kinds", ())):
            if kind not in tree:
                problems.append(error("unknown-kind", span, f"'{row['food']}': there is no food kind '{kind}'"))
        for node in row.get("nodes", ()):
            if node not in nodes:
                problems.append(error("unknown-node", span, f"'{row['food']}': there is no allergen node '{node}'"))
        if not (row.get("kinds") or row.get("nodes") or row.get("words")):
            problems.append(error("caution-food", span, f"'{row['food']}' would be every food"))
    return problems


def _table_faults(made: _Made, span: Span) -> list[Problem]:
    """What is wrong with the tables of figures: a code or a source that nobody knows, a figure that cannot be read."""
    problems = []
    tables = cast(dict[str, dict[str, object]], made)
    for table in TABLES:
        for code, row in packaged_tables.without_place(tables[table]).items():
            if code not in packaged_tables.without_place(made["codes"]):
                problems.append(error("caution-figure", span, f"'{table}': there is no food code '{code}'"))
            for one in row if isinstance(row, list) else [row]:
                if isinstance(one, dict) and one.get("source") not in packaged_tables.without_place(made["sources"]):
                    problems.append(error("caution-figure", span, f"'{table}': a figure of '{code}' without a source"))
    if not problems:
        try:
            FoodCodes(made)
        except (AmountError, ValueError, KeyError) as exc:
            problems.append(error("caution-figure", span, str(exc)))
    return problems


def _asked(when: dict[str, object]) -> set[str]:
    """Everything that the conditions of a rule ask for, at any depth."""
    found = set(packaged_tables.without_place(when))
    inner = when.get("any")
    for conditions in inner if isinstance(inner, list) else ():
        found |= _asked(conditions)
    return found


def _named(when: dict[str, object], asks: tuple[str, ...]) -> set[str]:
    """The words that the conditions of a rule name under ``asks``, at any depth."""
    found: set[str] = set()
    for ask in asks:
        words = when.get(ask)
        found |= set(words) if isinstance(words, list) else set()
    inner = when.get("any")
    for conditions in inner if isinstance(inner, list) else ():
        found |= _named(conditions, asks)
    return found
