"""Traces and a law to a statement: which declarations of the law each trace falls to, and why.

:mod:`platecard.allergens.statement` says what a statement is.
"""

from __future__ import annotations

from platecard.allergens.statement import ABSENT, Also, Exempted, Finding, Statement
from platecard.allergens.sulphites import Sum
from platecard.allergens.traces import CONTAINS, MAX_CHAINS, MAY, UNKNOWN, Link, Presence, Trace
from platecard.knowledge.laws import MARKS, MEMORY, Exemption, Group, Law, SulphiteRule
from platecard.knowledge.taxonomy import SULPHITE, Taxonomy


class _Declaration:
    """One declaration of the law, while traces are being sorted into it."""

    def __init__(self, group: Group, node: str, is_bare: bool = False):
        self.group, self.node, self.is_bare = group, node, is_bare
        # What was found, by presence: each trace with the node it is about.
        self.found: dict[Presence, list[tuple[Trace, str]]] = {CONTAINS: [], UNKNOWN: [], MAY: []}
        self.is_filled = False
        self.marks: dict[str, None] = {}

    def add(self, trace: Trace, state: Presence, node: str, mark: str = "") -> None:
        self.found[state].append((trace, node))
        self.is_filled = True
        if mark:
            self.marks[mark] = None


def derive(
    traces: tuple[Trace, ...],
    sums: tuple[Sum, ...],
    law: Law,
    taxonomy: Taxonomy,
    language: str = "en-GB",
    relies_on: tuple[str, ...] = (),
) -> Statement:
    """The statement of ``law`` on ``traces``, with sulphites decided by ``sums``.

    1. A node that the law reads as others (triticale as wheat and rye) is replaced by them.
    2. A form that the law exempts is left out with its reason; a form that it leaves to proof, or is only said to
       exempt (its own words were not read), is not established.
    3. A trace belongs to the most specific node that the law lists, at or above its own.
    4. A bare group, where the law lists only its kinds, leaves those kinds not established;
       a bare group that may be present makes each of its kinds one that may be.
    5. What the law does not list at all is kept apart.
    """
    index = _index_of(law, taxonomy)
    rows = [_Declaration(*row) for row in index.rows]
    exempted: list[Exempted] = []
    also: dict[tuple[str, Presence], list[Trace]] = {}
    sulphite_unknown: list[Trace] = []
    sulphite_may: list[Trace] = []
    from_memory: dict[str, None] = {}
    not_read: dict[str, None] = {}
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
        if exemption is not None and exemption.takes_away:
            exempted.append(Exempted(trace.node, exemption, trace.chain, trace.state))
            continue
        state = UNKNOWN if exemption is not None and trace.state == CONTAINS else trace.state
        if exemption is not None and exemption.mark == MEMORY:
            form = exemption.form.replace("_", " ")
            from_memory[f"that an exception for {taxonomy.name(trace.node, language)} as {form} may hold"] = None
        elif exemption is not None and exemption.not_read and trace.state in (CONTAINS, UNKNOWN):
            form = exemption.form.replace("_", " ")
            not_read[f"that {taxonomy.name(trace.node, language)} as {form} is exempt"] = None
        read_as = law.reads_as.get(trace.node, (trace.node,))
        if law.marks.get(trace.node) == MEMORY:
            others = " and ".join(taxonomy.name(n, language) for n in read_as)
            from_memory[f"that {taxonomy.name(trace.node, language)} is declared as {others}"] = None
        for node in read_as:
            listed, at, below = index.fallen(node)
            if at is not None:
                mark = rows[at].group.mark_of(listed)
                if mark == MEMORY:
                    from_memory[f"that {taxonomy.name(listed, language)} is among its {rows[at].group.heading}"] = None
                rows[at].add(trace, state, node, mark)
                # It is not stated which kind it is, so none of them can be ruled out, in whatever group they stand.
                if rows[at].is_bare and node == listed:
                    for row in rows:
                        if not row.is_bare and (row.group is rows[at].group or taxonomy.is_under(row.node, node)):
                            row.add(trace, MAY if state == MAY else UNKNOWN, node)
                continue
            for at in below:
                rows[at].add(trace, MAY if state == MAY else UNKNOWN, node)
            if not below:
                also.setdefault((node, state), []).append(trace)
    shown = [(row, at) for at, row in enumerate(rows) if row.is_filled or not (row.is_bare or row.group.is_statement)]
    findings = [
        (
            _finding(row, law, taxonomy, language)
            if row.is_filled
            else _left_out(index.nothing[at], row, exempted, law, taxonomy)
        )
        for row, at in shown
    ]
    if law.sulphites is not None:
        place = next(
            (i + 1 for i in range(len(shown) - 1, -1, -1) if shown[i][0].group.id == law.sulphites_after), len(findings)
        )
        found = _sulphites(law, law.sulphites, sums, sulphite_unknown, sulphite_may, traces, taxonomy)
        findings.insert(place, found)
        if found.presence == CONTAINS and not law.sulphites.is_read and not _by_limit(law.sulphites, sums):
            not_read[f"the amount from which {law.sulphites.heading} must be declared"] = None
    elif sums or sulphite_may or sulphite_unknown:
        for trace in traces:
            if trace.node == SULPHITE:
                also.setdefault((SULPHITE, trace.state), []).append(trace)
    return Statement(
        law,
        tuple(findings),
        _also(also, taxonomy, language),
        tuple(exempted),
        relies_on,
        tuple(from_memory),
        tuple(not_read),
    )


class _LawIndex:
    """What follows from a law and the taxonomy alone; both live as long as the program, so it is worked out once."""

    def __init__(self, law: Law, taxonomy: Taxonomy):
        self.of = law, taxonomy
        rows = _rows(law, taxonomy)
        self.rows = tuple((r.group, r.node, r.is_bare) for r in rows)
        self.nothing = tuple(
            _finding(row, law, taxonomy, "") for row in rows
        )  # the finding of a row that stays empty: it names no kind, so it needs no language
        self.row_of = {
            node: at
            for at, row in enumerate(rows)
            for node in row.group.nodes
            if row.group.declares != "each" or _heads(row, node, taxonomy)
        }
        self._fallen: dict[str, tuple[str, int | None, tuple[int, ...]]] = {}

    def fallen(self, node: str) -> tuple[str, int | None, tuple[int, ...]]:
        """Where a node falls: the listed node at or above it, the row of that one, and the rows under the node.

        The listed node is "" and its row None where the law lists none; the rows under the node are
        given only then.
        """
        known = self._fallen.get(node)
        if known is None:
            _, taxonomy = self.of
            listed = next((n for n in taxonomy.lineage(node) if n in self.row_of), "")
            below = () if listed else tuple(at for at, row in enumerate(self.rows) if taxonomy.is_under(row[1], node))
            known = self._fallen[node] = (listed, self.row_of.get(listed), below)
        return known


# By the identity of both, which an index keeps alive.
_INDEXES: dict[tuple[int, int], _LawIndex] = {}


def _index_of(law: Law, taxonomy: Taxonomy) -> _LawIndex:
    key = id(law), id(taxonomy)
    known = _INDEXES.get(key)
    if known is None:
        known = _INDEXES[key] = _LawIndex(law, taxonomy)
    return known


def _rows(law: Law, taxonomy: Taxonomy) -> list[_Declaration]:
    """One row per declaration.

    With ``each``, a listed kind belongs to the highest listed kind above it (spelt to wheat),
    but never to the bare group.
    """
    rows = []
    for group in law.groups:
        if group.declares == "each":
            bare = {
                n
                for n in group.nodes
                if not taxonomy.kinds[n].under and any(n in taxonomy.lineage(m)[1:] for m in group.nodes)
            }
            heads = [
                n
                for n in group.nodes
                if n in bare or not any(a in group.nodes and a not in bare for a in taxonomy.lineage(n)[1:])
            ]
            rows += [_Declaration(group, n, n in bare) for n in heads]
        else:
            rows.append(_Declaration(group, next(iter(group.nodes))))
    return rows


def _heads(row: _Declaration, node: str, taxonomy: Taxonomy) -> bool:
    """Whether a listed node of an ``each`` group is declared in this row."""
    return node == row.node if row.is_bare else taxonomy.is_under(node, row.node)


def _exemption(trace: Trace, law: Law, taxonomy: Taxonomy) -> Exemption | None:
    if not trace.form:
        return None
    return next((e for e in law.exemptions if e.form == trace.form and taxonomy.is_under(trace.node, e.node)), None)


def _finding(row: _Declaration, law: Law, taxonomy: Taxonomy, language: str) -> Finding:
    presence = next((s for s in (CONTAINS, UNKNOWN, MAY) if row.found[s]), ABSENT)
    found = row.found.get(presence, [])
    nodes = tuple(dict.fromkeys(n for _, n in found)) if presence in (CONTAINS, MAY) else ()
    reasons = tuple(dict.fromkeys(t.chain for t, _ in found))
    kind_open = any(not taxonomy.kinds[n].under for n in nodes) and (
        row.is_bare or (row.group.declares == "kinds" and not row.group.unsaid)
    )
    note = "its kind is not established, and this law asks for it" if kind_open else ""
    return Finding(
        law.key,
        row.node,
        taxonomy.kinds[row.node].gs1,
        _declared_as(row, nodes, taxonomy, language),
        presence,
        reasons,
        row.group.level,
        row.group.point,
        note,
        kind_open,
        row.group.heading,
        nodes if row.group.declares == "kinds" else (),
        over=_over([t for t, _ in found]),
        is_own=not found or any(not t.over for t, _ in found),
        # The weakest of those that count here.
        mark=max(row.marks, key=MARKS.index, default=row.group.mark),
    )


def _over(traces: list[Trace]) -> str:
    """The nearest source over equipment, and how many more there are; "" where nothing came that way."""
    by_length = sorted(((len(t.chain), t.over) for t in traces if t.over), key=lambda one: one[0])
    came = [over for _, over in by_length]
    more = len({over.source for over in came}) - 1
    if more < 1:
        return came[0].words if came else ""
    # Where chains were left out, there may be more sources than these.
    return f"{came[0].words} and {'at least ' if len(came) >= MAX_CHAINS else ''}{more} more"


def _left_out(finding: Finding, row: _Declaration, exempted: list[Exempted], law: Law, taxonomy: Taxonomy) -> Finding:
    """The finding of an empty row, marked as left out where exempted forms of it are in the dish.

    Such a finding is not declared, but it is never said to be absent.
    """
    forms = [e for e in exempted if any(taxonomy.is_under(n, row.node) for n in law.reads_as.get(e.node, (e.node,)))]
    if not forms:
        return finding
    short = ", ".join(dict.fromkeys(e.exemption.form.replace("_", " ") for e in forms))
    is_sure = any(e.state == CONTAINS for e in forms)
    is_there = "among the ingredients" if is_sure else "perhaps among the ingredients"
    why = "; ".join(dict.fromkeys(f"{e.exemption.why} ({e.exemption.point})" for e in forms))
    return finding._replace(
        left_out="exempt" if is_sure else "perhaps exempt",
        in_short=short,
        note=f"{is_there}, in a form that this law exempts: {why}",
        reasons=tuple(dict.fromkeys(e.chain for e in forms)),
    )


def _declared_as(row: _Declaration, nodes: tuple[str, ...], taxonomy: Taxonomy, language: str) -> str:
    """The law's word for what was found, with the kinds where the law asks for them."""
    group = row.group
    if group.declares == "each":
        used = {next((n for n in taxonomy.lineage(node) if n in group.nodes), row.node) for node in nodes}
        return ", ".join(word for node, word in group.nodes.items() if node in used) or group.nodes[row.node]
    word = group.nodes[row.node]
    if group.declares != "kinds":
        return word
    kinds = [n for n in nodes if taxonomy.kinds[n].under]
    # A kind that goes without saying is named as soon as another kind is named beside it.
    if all(n in group.unsaid for n in kinds):
        return word
    names = sorted({group.kind_words.get(n) or taxonomy.name(n, language) for n in kinds}, key=str.lower)
    return f"{word} ({', '.join(names)})"


def _sulphites(
    law: Law,
    rule: SulphiteRule,
    sums: tuple[Sum, ...],
    unknown: list[Trace],
    may: list[Trace],
    traces: tuple[Trace, ...],
    taxonomy: Taxonomy,
) -> Finding:
    only_added = rule.leaves_out_natural
    levels = [s.level(only_added, rule.ceilings) for s in sums]
    present = [t.chain for t in traces if t.node == SULPHITE and t.state == CONTAINS]
    over = [s for s, level in zip(sums, levels) if s.counted(only_added) and (level is None or rule.reached(level))]
    note = ""
    reasons: tuple[tuple[Link, ...], ...] = ()
    if over:
        presence, reasons = CONTAINS, tuple(present)
        note = "; ".join(s.in_words(only_added, rule.ceilings) for s in over)
    elif unknown:
        presence, reasons = UNKNOWN, tuple(t.chain for t in unknown)
    elif may:
        presence, reasons = MAY, tuple(t.chain for t in may)
    else:
        presence = ABSENT
        if sums:
            counted = [s for s in sums if s.counted(only_added)]
            limit = f"{'not above' if rule.above else 'under'} the limit of {float(rule.limit):g} mg/kg"
            limit = limit if rule.is_read else "0 mg/kg"
            note = (
                f"among the ingredients, but {limit} by calculation: "
                + "; ".join(s.in_words(only_added, rule.ceilings) for s in counted)
                if counted
                else "among the ingredients, but only naturally present, which this law leaves out"
            )
            reasons = tuple(present)
    return Finding(
        law.key,
        SULPHITE,
        taxonomy.kinds[SULPHITE].gs1,
        rule.heading,
        presence,
        tuple(dict.fromkeys(reasons)),
        "mandatory",
        rule.point,
        note,
        group=rule.heading,
        left_out="limit" if presence == ABSENT and sums else "",
        over=_over({UNKNOWN: unknown, MAY: may}.get(presence, [])),
        mark=rule.mark,
        is_own=presence != UNKNOWN or any(not t.over for t in unknown),
    )


def _by_limit(rule: SulphiteRule, sums: tuple[Sum, ...]) -> bool:
    """Whether sulphites would be declared with the limit that the law is said to have."""
    levels = [s.level(rule.only_added, rule.ceilings) for s in sums if s.counted(rule.only_added)]
    return any(level is None or rule.would_be(level) for level in levels)


def _also(found: dict[tuple[str, Presence], list[Trace]], taxonomy: Taxonomy, language: str) -> tuple[Also, ...]:
    best: dict[str, Also] = {}
    for state in (CONTAINS, UNKNOWN, MAY):
        for (node, its), traces in found.items():
            if its == state and node not in best:
                best[node] = Also(
                    node, taxonomy.name(node, language), state, tuple(dict.fromkeys(t.chain for t in traces))
                )
    order = {k: i for i, k in enumerate(taxonomy.kinds)}
    return tuple(sorted(best.values(), key=lambda a: order[a.node]))
