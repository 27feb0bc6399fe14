"""``data/cautions.yaml``: kinds of animal food, heat that counts as cooked, freezing, holding, the rules.

Read once and looked up; what a rule may ask for is listed in :data:`ASKS`.
"""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from platecard.diagnostics import Problem, error
from platecard.knowledge import packaged_tables
from platecard.knowledge.catalogue import Entry
from platecard.knowledge.names import fold
from platecard.knowledge.taxonomy import Taxonomy
from platecard.quantities.clock import duration_s
from platecard.quantities.units import AmountError, temperature
from platecard.yaml_nodes import Mapping, Node, Sequence

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


Conditions = tuple[tuple[str, object], ...]
"""All of them must hold:

pairs of one of :data:`ASKS` and what it asks for; of ``any``, a tuple of further conditions.
"""


@dataclass(frozen=True, slots=True)
class Figure:
    """One figure of one food code, with where it was read and how."""

    code: str
    says: str
    source: str
    title: str
    mark: str


@dataclass(frozen=True, slots=True)
class Rule:
    key: str
    topic: str
    says: str
    when: Conditions
    checks: str
    figures: tuple[Figure, ...]


Steps = tuple[tuple[Fraction, Fraction], ...]


class Rules:
    """The tables, with temperatures and times as fractions."""

    def __init__(self, made: dict):
        self.general: str = made["general"]
        self.codes: dict[str, str] = {k: v["name"] for k, v in _plain(made["codes"]).items()}
        self.sources: dict[str, dict] = _plain(made["sources"])
        self.animals = frozenset(made["animals"])
        self.label_kinds: dict[str, str] = _plain(made["label_kinds"])
        self.reading_s = Fraction(made["reading_s"])
        self.heat = {
            k: tuple((frozenset(r.get("kinds", ())), frozenset(r.get("cuts", ())), _steps(r["steps"])) for r in rows)
            for k, rows in _plain(made["heat"]).items()
        }
        self.freezing = {k: (_steps(r["steps"]), r["says"]) for k, r in _plain(made["freezing"]).items()}
        self.holding = {k: (Fraction(r["hot"]), Fraction(r["cold"])) for k, r in _plain(made["holding"]).items()}
        line = made["lethality"]
        self.reference_c, self.reference_s, self.z_c = (
            Fraction(line[k]) for k in ("reference_c", "reference_s", "z_c")
        )
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

    def _rule(self, row: dict) -> Rule:
        figures = []
        for f in row["figures"]:
            source = self.sources[f["source"]]
            figures.append(Figure(f["code"], f["says"], f["source"], source["title"], source["mark"]))
        return Rule(
            row["rule"], row["topic"], row["says"], _conditions(row["when"]), row.get("checks", ""), tuple(figures)
        )

    def kind_of(self, entry: Entry, taxonomy: Taxonomy) -> str:
        """The kind of food an entry of the catalogue is, by its file, nodes and name;

        empty for what no rule asks about.
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

    def heat_status(self, kind: str, cut: str, cores: frozenset, code: str) -> str:
        """Whether one of the (temperature, time) pairs is as much as the code asks for; ``cores`` is not empty."""
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
        """How long at ``celsius`` does as much as the reference (70 °C for 2 min)."""
        return float(self.reference_s) * 10 ** ((float(self.reference_c) - float(celsius)) / float(self.z_c))

    def short_of(self, frozen_c: Fraction, frozen_s: Fraction, code: str) -> bool:
        return not any(frozen_c <= cold and frozen_s >= seconds for cold, seconds in self.freezing[code][0])


def _steps(words: list[str]) -> Steps:
    made = []
    for text in words:
        degrees, _, time = text.partition(" for ")
        made.append((temperature(degrees).low, duration_s(time)))
    return tuple(made)


def _plain(value: dict) -> dict:
    return {k: v for k, v in value.items() if k != packaged_tables.PLACE}


def _conditions(when: dict) -> Conditions:
    """Lists of words become sets of them."""
    return tuple(
        (
            ask,
            (
                tuple(_conditions(w) for w in want)
                if ask == "any"
                else frozenset(want)
                if isinstance(want, list)
                else want
            ),
        )
        for ask, want in _plain(when).items()
    )


@cache
def load() -> tuple[Rules, tuple[Problem, ...]]:
    """The tables and the problems of their file."""
    made, problems = packaged_tables.rows(packaged_tables.texts("cautions.yaml"), _collect, "cautions")
    return Rules(made), problems


def _collect(trees: dict[str, Node]) -> tuple[dict, tuple[Problem, ...]]:
    """The tables, each source marked, each figure with a code and a source, each condition one that is known."""
    tree = next(iter(trees.values()))
    made = packaged_tables.placed(tree)
    problems: list[Problem] = []
    sources, codes = _plain(made["sources"]), {*_plain(made["codes"]), "any"}
    for key, row in sources.items():
        if row.get("mark") not in MARKS:
            problems.append(error("caution-source", tree.span, f"the source '{key}' has no mark", ", ".join(MARKS)))
    rules = tree.get("rules") if isinstance(tree, Mapping) else None
    for node in rules.items if isinstance(rules, Sequence) else ():
        row = packaged_tables.placed(node)
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
    for table in (*_plain(made["heat"]).values(), [_plain(made["freezing"])[k] for k in _plain(made["freezing"])]):
        for row in table:
            try:
                _steps(row["steps"])
            except AmountError as exc:
                problems.append(error("caution-figure", tree.span, str(exc)))
    return made, tuple(problems)


def _asked(when: dict) -> set[str]:
    found = set(_plain(when))
    for inner in when.get("any", ()):
        found |= _asked(inner)
    return found
