"""The tables of ``data/cautions.yaml``: kinds of animal food, cooking, freezing and holding figures, the rules.

They are read once; what a rule may ask about a food is listed in :data:`ASKS`.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import NamedTuple, NotRequired, TypedDict, TypeVar, cast

from platecard.diagnostics import Problem, error
from platecard.knowledge import packaged_tables
from platecard.knowledge.catalogue import Entry
from platecard.knowledge.names import fold
from platecard.knowledge.taxonomy import Taxonomy
from platecard.quantities.clock import duration_s
from platecard.quantities.units import AmountError, temperature
from platecard.yaml_nodes import Mapping, Node, Sequence

_T = TypeVar("_T")

MARKS = ("seen", "seen-2nd", "memory", "practice")
ASKS = {
    "kind",
    "state",
    "not_state",
    "cut",
    "not_cut",
    "doneness",
    "flag",
    "not_flag",
    "process",
    "not_process",
    "core_below",
    "under_cooked",
    "core_missing",
    "held",
    "cooled",
    "reheated",
    "hot_and_ahead",
    "keeps_over_s",
    "animal",
    "any",
}
CHECKS = {"", "heat", "freezing", "held", "lethality", "reheat"}
MET, BELOW, NO_TIME = "met", "below", "time-missing"

# What a condition asks for, by the kind of its value; those in neither set ask for no more than that it is so.
_LISTS = {"kind", "state", "not_state", "cut", "not_cut", "doneness", "flag", "not_flag", "process", "not_process"}
_NUMBERS = {"core_below", "keeps_over_s"}


class Condition(NamedTuple):
    """One thing that a rule asks about a food: ``ask`` is one of :data:`ASKS`.

    Only the field that belongs to the question is filled: ``words`` where any one of several
    will do, ``text`` for ``held``, ``number`` in °C or s, ``any_of`` for ``any``.
    """

    ask: str
    words: frozenset[str] = frozenset()
    text: str = ""
    number: int = 0
    any_of: tuple[Conditions, ...] = ()


Conditions = tuple[Condition, ...]
"""Conditions that must all hold."""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of one food code, with its source and how that source was read (one of :data:`MARKS`)."""

    code: str
    says: str
    source: str
    title: str
    mark: str


@dataclass(frozen=True, slots=True)
class Rule:
    """One caution: when it applies, what it says, what it checks (one of :data:`CHECKS`), and its figures."""

    key: str
    topic: str
    says: str
    when: Conditions
    checks: str
    figures: tuple[Figure, ...]


TimedSteps = tuple[tuple[Fraction, Fraction], ...]  # each a temperature in °C and a time at it in s


class _NamedRow(TypedDict):
    name: str


class _SourceRow(TypedDict):
    title: str
    mark: str


class _FigureRow(TypedDict):
    code: str
    says: str
    source: str


class _RuleRow(TypedDict):
    rule: str
    topic: str
    says: str
    when: dict[str, object]
    figures: list[_FigureRow]
    checks: NotRequired[str]


class _KindRow(TypedDict):
    kind: str
    file: NotRequired[str]
    nodes: NotRequired[list[str]]
    words: NotRequired[list[str]]


class _StepsRow(TypedDict):
    steps: list[str]
    kinds: NotRequired[list[str]]
    cuts: NotRequired[list[str]]


class _HoldingRow(TypedDict):
    hot: str
    cold: str


class _LethalityRow(TypedDict):
    reference_c: str
    reference_s: str
    z_c: str


class _Made(TypedDict):
    """The tables as plain JSON values; each mapping also holds its place (:data:`packaged_tables.PLACE`)."""

    general: str
    codes: dict[str, _NamedRow]
    sources: dict[str, _SourceRow]
    animals: list[str]
    label_kinds: dict[str, str]
    reading_s: str
    heat: dict[str, list[_StepsRow]]
    freezing: dict[str, _StepsRow]
    holding: dict[str, _HoldingRow]
    lethality: _LethalityRow
    rules: list[_RuleRow]
    kinds: list[_KindRow]


class CautionRules:
    """The tables, with temperatures in °C and times in s as fractions."""

    def __init__(self, made: _Made) -> None:
        self.general = made["general"]
        self.codes: dict[str, str] = {k: v["name"] for k, v in _plain(made["codes"]).items()}
        self.sources = _plain(made["sources"])
        self.animals = frozenset(made["animals"])
        self.label_kinds = _plain(made["label_kinds"])
        self.reading_s = Fraction(made["reading_s"])
        self.heat = {
            k: tuple((frozenset(r.get("kinds", ())), frozenset(r.get("cuts", ())), _steps(r["steps"])) for r in rows)
            for k, rows in _plain(made["heat"]).items()
        }
        self.freezing = {k: _steps(r["steps"]) for k, r in _plain(made["freezing"]).items()}
        self.holding = {k: (Fraction(r["hot"]), Fraction(r["cold"])) for k, r in _plain(made["holding"]).items()}
        line = made["lethality"]
        self.reference_c, self.reference_s = Fraction(line["reference_c"]), Fraction(line["reference_s"])
        self.z_c = Fraction(line["z_c"])
        self.rules = tuple(self._rule(r) for r in made["rules"])
        self._kinds = [
            (
                r["kind"],
                r.get("file", ""),
                frozenset(r.get("nodes", ())),
                tuple(f" {fold(w)} " for w in r.get("words", ())),
            )
            for r in made["kinds"]
        ]

    def _rule(self, row: _RuleRow) -> Rule:
        figures = []
        for f in row["figures"]:
            source = self.sources[f["source"]]
            figures.append(Figure(f["code"], f["says"], f["source"], source["title"], source["mark"]))
        return Rule(
            row["rule"], row["topic"], row["says"], _conditions(row["when"]), row.get("checks", ""), tuple(figures)
        )

    def kind_of(self, entry: Entry, taxonomy: Taxonomy) -> str:
        """The kind of food that an entry of the catalogue is, by its file, nodes and name.

        Empty for a food that no rule asks about.
        """
        file = entry.span.file.rsplit("/", 1)[-1].removesuffix(".yaml")
        name = f" {fold(entry.name)} "
        for kind, of_file, nodes, words in self._kinds:
            if file != of_file or (words and not any(w in name for w in words)):
                continue
            if nodes and not any(taxonomy.is_under(n, want) for n in entry.contains for want in nodes):
                continue
            return kind
        return ""

    def heat_status(self, kind: str, cut: str, cores: frozenset[tuple[Fraction, Fraction | None]], code: str) -> str:
        """Whether a core temperature counts as cooked under a food code: met, below, or the time at it is missing.

        ``cores`` are pairs of a temperature in °C and the time at it in s (None: not said); it is not empty.
        """
        steps = next(
            s for kinds, cuts, s in self.heat[code] if (not kinds or kind in kinds) and (not cuts or cut in cuts)
        )
        best = BELOW
        for reached, held in cores:
            for least, seconds in steps:
                if reached < least:
                    continue
                if seconds <= (self.reading_s if held is None else max(held, self.reading_s)):
                    return MET
                if held is None:
                    best = NO_TIME
        return best

    def needed_s(self, celsius: Fraction | float) -> float:
        """How many seconds at ``celsius`` do as much as the reference (70 °C for 2 min)."""
        return float(self.reference_s) * 10 ** ((float(self.reference_c) - float(celsius)) / float(self.z_c))

    def short_of(self, frozen_c: Fraction, frozen_s: Fraction, code: str) -> bool:
        """Whether freezing at ``frozen_c`` °C for ``frozen_s`` s is less than the code asks for against parasites."""
        return not any(frozen_c <= cold and frozen_s >= seconds for cold, seconds in self.freezing[code])


def _steps(words: list[str]) -> TimedSteps:
    made: list[tuple[Fraction, Fraction]] = []
    for text in words:
        degrees, _, time = text.partition(" for ")
        made.append((temperature(degrees).low, duration_s(time)))
    return tuple(made)


def _plain(value: dict[str, _T]) -> dict[str, _T]:
    """A mapping without its place."""
    return {k: v for k, v in value.items() if k != packaged_tables.PLACE}


def _conditions(when: dict[str, object]) -> Conditions:
    """The conditions of one rule.

    ValueError for a value that is not of the kind its question needs: misread, it would never hold.
    """
    return tuple(_condition(ask, want) for ask, want in _plain(when).items())


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


@cache
def load() -> tuple[CautionRules, tuple[Problem, ...]]:
    """The tables, and the problems of their file."""
    made, problems = packaged_tables.rows(packaged_tables.texts("cautions.yaml"), _collect, "cautions")
    return CautionRules(made), problems


def _collect(trees: dict[str, Node]) -> tuple[_Made, tuple[Problem, ...]]:
    """The tables as plain values, and a problem for each source without a mark, figure without a code, and so on."""
    tree = next(iter(trees.values()))
    made = cast(_Made, packaged_tables.placed(tree))
    problems: list[Problem] = []
    sources, codes = _plain(made["sources"]), {*_plain(made["codes"]), "any"}
    for key, source in sources.items():
        if source.get("mark") not in MARKS:
            problems.append(error("caution-source", tree.span, f"the source '{key}' has no mark", ", ".join(MARKS)))
    rules = tree.get("rules") if isinstance(tree, Mapping) else None
    for node in rules.items if isinstance(rules, Sequence) else ():
        row = cast(_RuleRow, packaged_tables.placed(node))
        for figure in row.get("figures", ()):
            if figure.get("source") not in sources or figure.get("code") not in codes:
                problems.append(
                    error("caution-figure", node.span, f"'{row.get('rule')}': a figure without a known code and source")
                )
        if unknown := _asked(row.get("when", {})) - ASKS:
            problems.append(
                error(
                    "caution-condition",
                    node.span,
                    f"'{row.get('rule')}' asks for {', '.join(sorted(unknown))}, which nobody knows",
                )
            )
        if row.get("checks", "") not in CHECKS or not row.get("figures") or not row.get("says"):
            problems.append(
                error(
                    "caution-rule",
                    node.span,
                    f"'{row.get('rule')}' lacks its sentence or its figures, or checks what nobody knows",
                )
            )
    for table in (*_plain(made["heat"]).values(), list(_plain(made["freezing"]).values())):
        for timed in table:
            try:
                _steps(timed["steps"])
            except AmountError as exc:
                problems.append(error("caution-figure", tree.span, str(exc)))
    return made, tuple(problems)


def _asked(when: dict[str, object]) -> set[str]:
    """Everything that the conditions of a rule ask for, at any depth."""
    found = set(_plain(when))
    inner = when.get("any")
    for conditions in inner if isinstance(inner, list) else ():
        found |= _asked(conditions)
    return found
