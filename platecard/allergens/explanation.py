"""Why an allergen is on a plate, in plain sentences."""

from __future__ import annotations

from collections.abc import Iterable

from platecard.allergens.guests.answers import Avoid
from platecard.allergens.statement import Statement
from platecard.allergens.sulphites import Sum
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Trace
from platecard.knowledge.taxonomy import SULPHITE, Taxonomy

_SAYS = {CONTAINS: "contains", MAY: "may contain", UNKNOWN: "is not established for"}


def sentences(
    traces: tuple[Trace, ...],
    sums: tuple[Sum, ...],
    statements: tuple[Statement, ...],
    avoids: Iterable[Avoid],
    taxonomy: Taxonomy,
) -> tuple[str, ...]:
    """One sentence per chain, most certain first; then what each law makes of it."""
    said: list[str] = []
    for avoid in avoids:
        if not avoid.nodes:
            said.append(
                f"{avoid.said} is an ingredient, not an allergen of a law; ask with: platecard guest --avoid"
                f" {avoid.said}"
            )
            continue
        met = [
            t
            for t in traces
            if t.node == "" or any(taxonomy.is_under(t.node, n) or taxonomy.is_under(n, t.node) for n in avoid.nodes)
        ]
        if not met:
            said.append(f"{avoid.said}: not among the ingredients entered.")
        for state in (CONTAINS, UNKNOWN, MAY):
            said += [_sentence(avoid, t, taxonomy) for t in met if t.state == state]
        if any(taxonomy.is_under(SULPHITE, n) for n in avoid.nodes):
            said += [f"By calculation, {s.in_words()}." for s in sums]
        for statement in statements:
            said += [
                f"{statement.law.name} leaves it out: {e.exemption.why} ({e.exemption.point})."
                for e in statement.exempted
                if any(taxonomy.is_under(e.node, n) for n in avoid.nodes)
            ]
    return tuple(dict.fromkeys(said))


def _sentence(avoid: Avoid, trace: Trace, taxonomy: Taxonomy) -> str:
    first, *rest = trace.chain
    what = taxonomy.name(trace.node) if trace.node else avoid.said
    road = ", which ".join(link.words if link.words.startswith("shares the ") else f"has {link.words}" for link in rest)
    place = next((str(link.span) for link in reversed(trace.chain) if link.span), "")
    return (
        f"{first.words} {_SAYS[trace.state]} {what}: it {road}. ({place})"
        if rest
        else f"{first.words} {_SAYS[trace.state]} {what}."
    )
