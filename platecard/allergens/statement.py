"""Traces and a law to findings, each with its reasons.

The presence of every group of the law is one of four: contains, may_contain,
not_among_ingredients, not_established.  Contains beats all; what is not
established is never shown as may contain or as absent.
"""

from __future__ import annotations

from dataclasses import dataclass

from ..knowledge.laws import Exemption, Group, Law
from ..knowledge.taxonomy import Taxonomy
from .sulphites import Sum
from .traces import CONTAINS, MAY, UNKNOWN, Link, Trace

ABSENT = "not_among_ingredients"
SULPHITE = "sulphite"


@dataclass(frozen=True, slots=True)
class Finding:
    """What one law says of one allergen in one dish.

    ``allergen`` is the taxonomy node, ``declared_as`` the law's word (with kinds),
    ``reasons`` the chains that prove it, ``note`` a sentence where one is needed.
    """

    law: str
    allergen: str
    gs1: str
    declared_as: str
    presence: str
    reasons: tuple[tuple[Link, ...], ...]
    level: str
    point: str
    note: str = ""


@dataclass(frozen=True, slots=True)
class Exempted:
    """A trace that the law leaves out, with its reason."""

    node: str
    exemption: Exemption
    chain: tuple[Link, ...]


@dataclass(frozen=True, slots=True)
class Also:
    """In the dish, not in the law: shown apart, clearly as no legal declaration."""

    node: str
    name: str
    presence: str
    reasons: tuple[tuple[Link, ...], ...]


@dataclass(frozen=True, slots=True)
class Statement:
    """Everything one law asks for, and what it leaves out."""

    law: Law
    findings: tuple[Finding, ...]
    also: tuple[Also, ...]
    exempted: tuple[Exempted, ...]

    def with_presence(self, presence: str) -> tuple[Finding, ...]:
        return tuple(f for f in self.findings if f.presence == presence)

    @property
    def established(self) -> bool:
        return not self.with_presence(UNKNOWN)


class _Row:
    """One declaration of the law while traces are sorted into it."""

    def __init__(self, group: Group, node: str):
        self.group, self.node = group, node
        self.traces: dict[str, list[Trace]] = {CONTAINS: [], UNKNOWN: [], MAY: []}
        self.words: dict[str, dict[str, None]] = {CONTAINS: {}, UNKNOWN: {}, MAY: {}}

    def add(self, trace: Trace, state: str, word: str) -> None:
        self.traces[state].append(trace)
        self.words[state][word] = None


def derive(traces: tuple[Trace, ...], sums: tuple[Sum, ...], law: Law, taxonomy: Taxonomy, language: str = "en-GB") -> Statement:
    """The statement of ``law`` on ``traces``, sulphites by ``sums``.

    1. A node the law reads through others (triticale as wheat and rye) is replaced.
    2. A form the law exempts is left out with its reason; one it leaves to proof is not established.
    3. The most specific node that the law lists, at or above the trace's, takes it.
    4. A bare group, where the law lists only its kinds, leaves those kinds not established.
    5. What the law does not list at all stands apart.
    """
    rows = _rows(law, taxonomy)
    row_of = {node: row for row in rows for node in row.group.nodes if row.group.declares != "each" or taxonomy.is_under(node, row.node)}
    exempted: list[Exempted] = []
    also: dict[tuple[str, str], list[Trace]] = {}
    sulphite_unknown: list[Trace] = []
    sulphite_may: list[Trace] = []
    for trace in traces:
        if trace.node == "":
            for row in rows:
                row.add(trace, UNKNOWN, "")
            sulphite_unknown.append(trace)
            continue
        if trace.node == SULPHITE:
            (sulphite_unknown if trace.state == UNKNOWN else sulphite_may if trace.state == MAY else []).append(trace)
            continue
        exemption = _exemption(trace, law, taxonomy)
        if exemption is not None and exemption.effect == "exempt":
            exempted.append(Exempted(trace.node, exemption, trace.chain))
            continue
        state = UNKNOWN if exemption is not None and trace.state == CONTAINS else trace.state
        for node in law.reads_as.get(trace.node, (trace.node,)):
            listed = next((n for n in taxonomy.lineage(node) if n in row_of), None)
            if listed is not None:
                row = row_of[listed]
                row.add(trace, state, _word(row, node, listed, taxonomy, language))
                continue
            kinds = [row for row in rows if taxonomy.is_under(row.node, node)]
            for row in kinds:
                row.add(trace, UNKNOWN, "")
            if not kinds:
                also.setdefault((node, state), []).append(trace)
    findings = [_finding(row, law, taxonomy) for row in rows]
    if law.sulphites is not None:
        place = next((i + 1 for i in range(len(rows) - 1, -1, -1) if rows[i].group.id == law.sulphites_after), len(findings))
        findings.insert(place, _sulphites(law, sums, sulphite_unknown, sulphite_may, traces, taxonomy))
    elif sums or sulphite_may or sulphite_unknown:
        for trace in traces:
            if trace.node == SULPHITE:
                also.setdefault((SULPHITE, trace.state), []).append(trace)
    return Statement(law, tuple(findings), _also(also, taxonomy, language), tuple(exempted))


def _rows(law: Law, taxonomy: Taxonomy) -> list[_Row]:
    rows = []
    for group in law.groups:
        if group.declares == "each":
            rows += [_Row(group, n) for n in group.nodes if not any(a in group.nodes for a in taxonomy.lineage(n)[1:])]
        else:
            rows.append(_Row(group, next(iter(group.nodes))))
    return rows


def _exemption(trace: Trace, law: Law, taxonomy: Taxonomy) -> Exemption | None:
    if not trace.form:
        return None
    return next((e for e in law.exemptions if e.form == trace.form and taxonomy.is_under(trace.node, e.node)), None)


def _word(row: _Row, node: str, listed: str, taxonomy: Taxonomy, language: str) -> str:
    group = row.group
    if group.declares != "kinds":
        return group.nodes[listed] if group.declares == "each" else group.heading
    if node in group.unsaid:
        return ""
    if node in group.nodes and not taxonomy.kinds[node].under:
        # The bare group: which kind it is, nobody has said.
        return "" if group.unsaid else "kind not established"
    return taxonomy.name(node, language)


def _finding(row: _Row, law: Law, taxonomy: Taxonomy) -> Finding:
    presence = next((s for s in (CONTAINS, UNKNOWN, MAY) if row.traces[s]), ABSENT)
    words = [w for w in row.words.get(presence, {}) if w]
    group = row.group
    if group.declares == "kinds":
        declared = f"{group.heading} ({', '.join(sorted(words))})" if words and presence in (CONTAINS, MAY) else group.heading
    elif group.declares == "each":
        listed = [w for w in group.nodes.values() if w in words]
        declared = ", ".join(dict.fromkeys(listed)) or group.nodes[row.node]
    else:
        declared = group.heading
    # Contains is proven by its own chains; a "may" beside it stays in the reasons of a "may" only.
    reasons = tuple(dict.fromkeys(t.chain for t in row.traces.get(presence, ())))
    return Finding(law.key, row.node, taxonomy.kinds[row.node].gs1, declared, presence, reasons, group.level, group.point)


def _sulphites(law: Law, sums: tuple[Sum, ...], unknown: list[Trace], may: list[Trace], traces: tuple[Trace, ...], taxonomy: Taxonomy) -> Finding:
    rule = law.sulphites
    levels = [s.level(rule.only_added) for s in sums]
    present = [t.chain for t in traces if t.node == SULPHITE and t.state == CONTAINS]
    over = [s for s, level in zip(sums, levels) if s.counted(rule.only_added) and (level is None or rule.reached(level))]
    note, reasons = "", ()
    if over:
        presence, reasons = CONTAINS, tuple(present)
        note = "; ".join(s.in_words(rule.only_added) for s in over)
    elif unknown:
        presence, reasons = UNKNOWN, tuple(t.chain for t in unknown)
    elif may:
        presence, reasons = MAY, tuple(t.chain for t in may)
    else:
        presence = ABSENT
        if sums:
            counted = [s for s in sums if s.counted(rule.only_added)]
            limit = f"{'not above' if rule.above else 'under'} the limit of {float(rule.limit):g} mg/kg"
            note = f"among the ingredients, but {limit} by calculation: " + "; ".join(s.in_words(rule.only_added) for s in counted) if counted \
                else "among the ingredients only by nature, which this law leaves out"
            reasons = tuple(present)
    return Finding(law.key, SULPHITE, taxonomy.kinds[SULPHITE].gs1, rule.heading, presence, tuple(dict.fromkeys(reasons)), "mandatory", rule.point, note)


def _also(found: dict[tuple[str, str], list[Trace]], taxonomy: Taxonomy, language: str) -> tuple[Also, ...]:
    best: dict[str, Also] = {}
    for state in (CONTAINS, UNKNOWN, MAY):
        for (node, its), traces in found.items():
            if its == state and node not in best:
                best[node] = Also(node, taxonomy.name(node, language), state, tuple(dict.fromkeys(t.chain for t in traces)))
    order = {k: i for i, k in enumerate(taxonomy.kinds)}
    return tuple(sorted(best.values(), key=lambda a: order[a.node]))
