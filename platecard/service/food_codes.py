"""The figures of the food codes: cooking, freezing, holding, cooling, reheating, keeping.

In: the tables of ``data/cautions.yaml`` as plain rows.  Out: :class:`FoodCodes`, with temperatures
in °C and times in s as fractions.  What a spec says is judged by them in :mod:`platecard.service.verdicts`.
"""

from __future__ import annotations

from fractions import Fraction
from typing import NamedTuple, NotRequired, TypedDict, TypeVar

from platecard import packaged_tables
from platecard.knowledge.names import fold
from platecard.quantities.clock import duration_s
from platecard.quantities.temperatures import temperature

_T = TypeVar("_T")

MEMORY = "memory"
MET, BELOW, NO_TIME = "met", "below", "time-missing"

TimedSteps = tuple[tuple[Fraction, Fraction], ...]  # each a temperature in °C and a time at it in s
Cores = frozenset[tuple[Fraction, Fraction | None]]  # each a core temperature in °C and the time at it in s, if said


class HeatRow(NamedTuple):
    """Core temperatures that count as cooked, any one of them, for the foods that the row is about.

    An empty set of ``kinds`` or ``cuts`` is every kind or cut; a food with one of ``not_flags`` is not meant.
    """

    kinds: frozenset[str]
    cuts: frozenset[str]
    not_flags: frozenset[str]
    steps: TimedSteps
    mark: str


class Exemption(NamedTuple):
    """A reason for which a food code asks for no freezing: words of the spec that mean it, and what it takes.

    It is for foods of one of ``kinds``, or for all where there are none; one of the words in ``needs`` has to stand
    beside those in ``words``.
    """

    words: tuple[str, ...]
    says: str
    kinds: frozenset[str] = frozenset()
    needs: tuple[str, ...] = ()


class CoreAsked(NamedTuple):
    """Of which foods a core temperature is asked for: by state, but for each kind in ``unless`` with its flag.

    ``cooked_c`` counts as cooked where a rule names no figure.
    """

    not_asked: frozenset[str]
    asked: frozenset[str]
    unless: frozenset[tuple[str, str]]
    cooked_c: Fraction


class ExemptionWords(NamedTuple):
    """Words of a reason for not freezing: those that deny it, and those that may stand beside it, folded."""

    denials: frozenset[str]
    beside: frozenset[str]


class Freezing(NamedTuple):
    """Freezing against parasites: the kinds it is asked for, the steps that will do, and the exemptions.

    It is asked for food served in one of ``states``, in one of ``without_core`` with no core temperature, or cooked to
    less than ``unless_core_c``.

    Of foods of ``no_promise_kinds`` the figures promise nothing, and ``no_promise`` says why.
    """

    kinds: frozenset[str]
    states: frozenset[str]
    without_core: frozenset[str]
    unless_core_c: Fraction
    steps: TimedSteps
    mark: str
    exempt: tuple[Exemption, ...] = ()
    no_promise_kinds: tuple[str, ...] = ()
    no_promise: str = ""


class HoldingPeriod(NamedTuple):
    """A time that food may stand neither hot nor cold, in s; ``is_under`` means less than that.

    It may have a condition, which ``says`` words: the food begins at ``starts_c`` or colder and is
    never above ``warmest_c``.
    """

    most_s: Fraction
    is_under: bool = False
    starts_c: Fraction | None = None
    warmest_c: Fraction | None = None
    says: str = ""


class Holding(NamedTuple):
    """Hot from, cold up to (in °C), and how long food may stand between them."""

    hot_c: Fraction
    cold_c: Fraction
    mark: str
    periods: tuple[HoldingPeriod, ...] = ()


class Cooling(NamedTuple):
    """The stages of cooling: each a temperature in °C, and in how many s from hot holding it is reached."""

    stages: TimedSteps
    mark: str


class Reheating(NamedTuple):
    """Core temperatures for reheating.

    ``is_held_only``: only for food that is kept hot afterwards.  A part of the place may ask for
    ``stricter_c``, as ``stricter`` says.
    """

    steps: TimedSteps
    mark: str
    is_held_only: bool = False
    stricter_c: Fraction | None = None
    stricter: str = ""


class Keeping(NamedTuple):
    """How long chilled food may be kept, in s, and at what temperature in °C or colder."""

    most_s: Fraction
    at_c: Fraction
    mark: str


class Packs(NamedTuple):
    """How long food sealed in a bag may be kept: each a time in s with its condition; the first is the usual one."""

    steps: tuple[tuple[Fraction, str], ...]
    mark: str


class SourceRow(TypedDict):
    """Where figures of a food code were read."""

    title: str
    mark: str


class _HeatRow(TypedDict):
    steps: list[str]
    source: str
    kinds: NotRequired[list[str]]
    cuts: NotRequired[list[str]]
    not_flags: NotRequired[list[str]]


class _ExemptionRow(TypedDict):
    words: list[str]
    kinds: NotRequired[list[str]]
    says: str
    source: str
    needs: NotRequired[list[str]]


class _NoPromiseRow(TypedDict):
    kinds: list[str]
    says: str


class _FreezingRow(TypedDict):
    kinds: list[str]
    states: list[str]
    without_core: list[str]
    unless_core: str
    steps: list[str]
    source: str
    exempt: NotRequired[list[_ExemptionRow]]
    no_promise: NotRequired[_NoPromiseRow]


class _PeriodRow(TypedDict):
    source: str
    up_to: NotRequired[str]
    under: NotRequired[str]
    starts_at: NotRequired[str]
    warmest: NotRequired[str]
    says: NotRequired[str]


class _HoldingRow(TypedDict):
    hot: str
    cold: str
    source: str
    periods: list[_PeriodRow]


class _CoolingRow(TypedDict):
    stages: list[str]
    source: str


_StricterRow = TypedDict("_StricterRow", {"from": str, "says": str, "source": str})


class _ReheatingRow(TypedDict):
    steps: list[str]
    source: str
    held_only: NotRequired[bool]
    stricter: NotRequired[_StricterRow]


class _KeepingRow(TypedDict):
    up_to: str
    at: str
    source: str


class _PackStepRow(TypedDict):
    up_to: str
    says: str


class _PacksRow(TypedDict):
    steps: list[_PackStepRow]
    source: str


class _LethalityRow(TypedDict):
    reference_c: str
    reference_s: str
    z_c: str
    from_c: str
    source: str
    not_under: list[str]


class _UnlessRow(TypedDict):
    kind: str
    flag: str


class _CoreRow(TypedDict):
    not_asked: list[str]
    asked: list[str]
    unless: list[_UnlessRow]
    cooked_c: str


class FigureRows(TypedDict):
    """The tables of figures as plain JSON values; each mapping also holds its place."""

    sources: dict[str, SourceRow]
    reading_s: str
    heat: dict[str, list[_HeatRow]]
    denials: list[str]
    beside_exemptions: list[str]
    freezing: dict[str, _FreezingRow]
    holding: dict[str, _HoldingRow]
    cooling: dict[str, _CoolingRow]
    reheating: dict[str, _ReheatingRow]
    keeping: dict[str, _KeepingRow]
    packs: dict[str, _PacksRow]
    lethality: _LethalityRow
    core: _CoreRow


# The tables of figures, by their keys in the file.
TABLES = ("heat", "freezing", "holding", "cooling", "reheating", "keeping", "packs")


class FoodCodes:
    """The figures by food code.  A code that is missing in a table has no such figure."""

    def __init__(self, made: FigureRows) -> None:
        sources = packaged_tables.without_place(made["sources"])

        def mark(
            row: _HeatRow | _FreezingRow | _HoldingRow | _CoolingRow | _ReheatingRow | _KeepingRow | _PacksRow,
        ) -> str:
            return sources[row["source"]]["mark"]

        self.reading_s = Fraction(made["reading_s"])
        self.heat = {
            code: tuple(_heat(r, mark(r)) for r in rows)
            for code, rows in packaged_tables.without_place(made["heat"]).items()
        }
        self.reasons = ExemptionWords(
            frozenset(map(fold, made["denials"])),
            frozenset(w for word in made["beside_exemptions"] for w in fold(word).split()),
        )
        self.freezing = {
            code: _freezing(r, mark(r)) for code, r in packaged_tables.without_place(made["freezing"]).items()
        }
        self.holding = {
            code: Holding(Fraction(r["hot"]), Fraction(r["cold"]), mark(r), tuple(_period(p) for p in r["periods"]))
            for code, r in packaged_tables.without_place(made["holding"]).items()
        }
        self.cooling = {
            code: Cooling(steps(r["stages"], " within "), mark(r))
            for code, r in packaged_tables.without_place(made["cooling"]).items()
        }
        self.reheating = {
            code: _reheating(r, mark(r)) for code, r in packaged_tables.without_place(made["reheating"]).items()
        }
        self.keeping = {
            code: Keeping(duration_s(r["up_to"]), Fraction(r["at"]), mark(r))
            for code, r in packaged_tables.without_place(made["keeping"]).items()
        }
        self.packs = {
            code: Packs(tuple((duration_s(s["up_to"]), s["says"]) for s in r["steps"]), mark(r))
            for code, r in packaged_tables.without_place(made["packs"]).items()
        }
        line = made["lethality"]
        self.reference_c, self.reference_s = Fraction(line["reference_c"]), Fraction(line["reference_s"])
        self.z_c, self.list_from_c = Fraction(line["z_c"]), Fraction(line["from_c"])
        self.off_the_list = frozenset(line["not_under"])
        core = made["core"]
        self.core = CoreAsked(
            frozenset(core["not_asked"]),
            frozenset(core["asked"]),
            frozenset((u["kind"], u["flag"]) for u in core["unless"]),
            Fraction(core["cooked_c"]),
        )

    def heat_row(self, kind: str, cut: str, code: str, flags: frozenset[str] = frozenset()) -> HeatRow:
        """The first row of a food code that is about such a food."""
        return next(
            r
            for r in self.heat[code]
            if (not r.kinds or kind in r.kinds) and (not r.cuts or cut in r.cuts) and not r.not_flags & flags
        )

    def heat_status(self, kind: str, cut: str, cores: Cores, code: str, flags: frozenset[str] = frozenset()) -> str:
        """Whether a core temperature counts as cooked under a food code: met, below, or the time at it is missing."""
        return self.status(self.heat_row(kind, cut, code, flags).steps, cores)

    def status(self, wanted: TimedSteps, cores: Cores) -> str:
        """Whether any of the cores (it is not empty) meets any of the steps."""
        best = BELOW
        for reached, held in cores:
            for least, seconds in wanted:
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


def _heat(row: _HeatRow, mark: str) -> HeatRow:
    return HeatRow(
        frozenset(row.get("kinds", ())),
        frozenset(row.get("cuts", ())),
        frozenset(row.get("not_flags", ())),
        steps(row["steps"]),
        mark,
    )


def _freezing(row: _FreezingRow, mark: str) -> Freezing:
    promise = row.get("no_promise")
    return Freezing(
        frozenset(row["kinds"]),
        frozenset(row["states"]),
        frozenset(row["without_core"]),
        Fraction(row["unless_core"]),
        steps(row["steps"]),
        mark,
        tuple(
            Exemption(tuple(e["words"]), e["says"], frozenset(e.get("kinds", ())), tuple(e.get("needs", ())))
            for e in row.get("exempt", ())
        ),
        tuple(promise["kinds"]) if promise else (),
        promise["says"] if promise else "",
    )


def _period(row: _PeriodRow) -> HoldingPeriod:
    starts, warmest = row.get("starts_at"), row.get("warmest")
    return HoldingPeriod(
        duration_s(row["under"] if "under" in row else row["up_to"]),
        "under" in row,
        None if starts is None else Fraction(starts),
        None if warmest is None else Fraction(warmest),
        row.get("says", ""),
    )


def _reheating(row: _ReheatingRow, mark: str) -> Reheating:
    stricter = row.get("stricter")
    return Reheating(
        steps(row["steps"]),
        mark,
        row.get("held_only", False),
        Fraction(stricter["from"]) if stricter else None,
        stricter["says"] if stricter else "",
    )


def steps(words: list[str], between: str = " for ") -> TimedSteps:
    """``63 °C for 15 s`` and the like as pairs of °C and s."""
    made: list[tuple[Fraction, Fraction]] = []
    for text in words:
        degrees, _, time = text.partition(between)
        made.append((temperature(degrees).low, duration_s(time)))
    return tuple(made)
