"""Allergens that come in or go out are reported until the chef has acknowledged them.

The spec records what its chef last acknowledged, per law.  What is declared now and
is not on that record is an error, reported with the new record to write.  What is on record
and no longer derived may have been taken off the plate, or lost by a slip of the pen:
under the same revision it goes on being declared, and only a new revision with
a record of its own takes it off.
"""

from __future__ import annotations

from collections.abc import Callable

from platecard.allergens.statement import Finding, Statement
from platecard.allergens.traces import CONTAINS, MAY, Link, Trace
from platecard.diagnostics import BECAUSE, Problem, Span, advice, alarm, did_you_mean, error, nearest
from platecard.knowledge.taxonomy import SULPHITE, Taxonomy
from platecard.model import Acknowledged, Dish

# The slugs of the problems that a new record settles.
SLUGS = ("allergen-came-in", "acknowledged-too-late", "allergen-went-out", "unknown-allergen-on-record")
_GONE = ", no longer derived"


def declared(statement: Statement) -> tuple[str, ...]:
    """The taxonomy nodes that a law declares as contained, in the law's order; kinds where it asks for them."""
    return tuple(dict.fromkeys(n for f in statement.with_presence(CONTAINS) for n in f.nodes))


def derived(statement: Statement) -> tuple[str, ...]:
    """Those nodes of :func:`declared` that the ingredients themselves give, without what is only on record."""
    return tuple(dict.fromkeys(n for f in statement.with_presence(CONTAINS) for n in f.nodes if n not in f.on_record))


def may_contain(statement: Statement) -> tuple[str, ...]:
    """The taxonomy nodes that a law declares as perhaps contained."""
    return tuple(dict.fromkeys(n for f in statement.with_presence(MAY) for n in f.nodes))


def is_of_this_revision(dish: Dish) -> bool:
    """Whether the record belongs to the spec's own revision, so that it holds for what is printed now."""
    return dish.acknowledged is not None and _number(dish) <= dish.acknowledged.revision


def _number(dish: Dish) -> int:
    return dish.revision.number if dish.revision else 0


def with_record(dish: Dish, derive: Callable[[tuple[Trace, ...]], Statement], taxonomy: Taxonomy) -> Statement:
    """The statement of one law, including what is on this revision's record and no longer derived.

    ``derive`` makes the law's statement from the dish's own traces and those that it is given.
    """
    said = derive(())
    record = dish.acknowledged
    if record is None or not is_of_this_revision(dish):
        return said
    known = declared(said)
    # A group on record counts as declared as long as one of its kinds is.
    gone = [
        n for n in record.of(said.law.key) if n in taxonomy.kinds and not any(taxonomy.is_under(k, n) for k in known)
    ]
    if not gone:
        return said
    again = derive(tuple(Trace(n, CONTAINS, "", _chain(dish, record, said, n, taxonomy)) for n in gone))
    before = {f.allergen: f for f in said.findings}
    findings = tuple(
        _marked(f, before.get(f.allergen), gone, lambda: _chain(dish, record, said, SULPHITE, taxonomy))
        for f in again.findings
    )
    # What the law does not list was never declared under it.
    return said._replace(findings=findings)


def _chain(dish: Dish, record: Acknowledged, statement: Statement, node: str, taxonomy: Taxonomy) -> tuple[Link, ...]:
    says = f"{taxonomy.name(node)} on record since revision {record.revision}{_GONE}"
    return Link(dish.title, dish.span), Link(says, _place(record, statement))


def _marked(found: Finding, before: Finding | None, gone: list[str], chain: Callable[[], tuple[Link, ...]]) -> Finding:
    """A finding of the statement derived with the record, marked with those of its nodes that are only on record."""
    if found.allergen == SULPHITE and SULPHITE in gone:
        # Sulphites are declared by calculation, so no trace alone declares them.
        return found._replace(
            presence=CONTAINS,
            reasons=(chain(),),
            note="",
            left_out="",
            over="",
            is_own=True,
            on_record=(SULPHITE,),
        )
    if found.presence != CONTAINS:
        return found
    known = before.nodes if before is not None and before.presence == CONTAINS else ()
    return found._replace(on_record=tuple(n for n in found.nodes if n not in known))


def traces(statements: tuple[Statement, ...]) -> tuple[Trace, ...]:
    """What is only on record, as traces of the regular plate, each once: for a guest it counts as contained."""
    found: dict[str, Trace] = {}
    for statement in statements:
        for finding in statement.findings:
            told = (chain for chain in finding.reasons if chain[-1].words.endswith(_GONE))
            for node, chain in zip(finding.on_record, told):
                found.setdefault(node, Trace(node, CONTAINS, "", chain))
    return tuple(found.values())


def check(dish: Dish, statements: tuple[Statement, ...], taxonomy: Taxonomy) -> tuple[Problem, ...]:
    """Where the record and what is declared now disagree.

    1. No record: advice, since no change can be noticed without one.
    2. An allergen under a law in force that the record of that law lacks: an error.
    3. A record of a later revision than the spec's own: an error.
    4. A word of the record that names no allergen: an error, since it was meant to name one.
    5. An allergen on record that is no longer derived: under the same revision an error that
       withholds nothing, because the card goes on declaring it; under a new one advice, so
       that the record stays true.
    """
    record = dish.acknowledged
    number = _number(dish)
    if record is None:
        return (
            advice(
                "not-acknowledged",
                dish.span,
                "no allergens are on record, so a later change in them would go unnoticed",
                f"put what is declared now on record: write the lines that platecard acknowledge {dish.key} prints",
            ),
        )
    found: list[Problem] = []
    if record.revision > number:
        found.append(
            error(
                "acknowledged-too-late",
                record.span,
                f"the record is of revision {record.revision}, but the spec is revision {number}",
                "raise the revision's number, or correct the record",
            )
        )
    for statement in statements:
        law, place = statement.law, _place(record, statement)
        known = set(record.of(law.key))
        for word in sorted(known - taxonomy.kinds.keys()):
            found.append(
                error(
                    "unknown-allergen-on-record",
                    place,
                    f"'{word}' on record is not the name of an allergen ({law.name})",
                    did_you_mean(word, taxonomy.kinds)
                    or f"write the names that platecard acknowledge {dish.key} prints",
                )
            )
        # A misspelt word has been reported, and may be the very allergen that seems to have come in.
        meant = {near for word in known - taxonomy.kinds.keys() for near in nearest(word, taxonomy.kinds)}
        came = [f for f in statement.with_presence(CONTAINS) if not (known | meant).issuperset(f.nodes)]
        if came:
            names = ", ".join(f.declared_as for f in came)
            found.append(
                error(
                    "allergen-came-in",
                    place,
                    f"{names} came in since revision {record.revision} was acknowledged ({law.name})",
                    *(BECAUSE + _reason(f) for f in came[:3]),
                    "put it on record, if that is intended: write the lines that platecard acknowledge"
                    f" {dish.key} prints",
                )
            )
        kept = [f for f in statement.findings if f.on_record]
        if kept:
            names = ", ".join(taxonomy.name(n) for f in kept for n in f.on_record)
            found.append(
                alarm(
                    "allergen-went-out",
                    place,
                    f"{names} on record but no longer derived ({law.name}); revision {number} goes on declaring it",
                    "put it back, if it was lost by mistake",
                    "put it on record, if that is intended: write the lines that platecard acknowledge"
                    f" {dish.key} prints",
                )
            )
        gone = [n for n in record.of(law.key) if n in taxonomy.kinds and n not in declared(statement)]
        if gone and not came:
            found.append(
                advice(
                    "allergen-went-out",
                    place,
                    f"{', '.join(gone)} on record but no longer declared ({law.name})",
                    f"bring the record up to date: write the lines that platecard acknowledge {dish.key} prints",
                )
            )
    return tuple(found)


def _place(record: Acknowledged, statement: Statement) -> Span:
    return dict(record.places).get(statement.law.key, record.span)


def _reason(finding: Finding) -> str:
    chain = min(finding.reasons, key=len, default=())
    return f"{finding.declared_as}: " + " > ".join(link.words for link in chain[1:]) if chain else finding.note


def differs(dish: Dish, statements: tuple[Statement, ...]) -> bool:
    """Whether the record of this revision names other allergens than are derived now.

    In that case the new ones need a revision of their own.
    """
    record = dish.acknowledged
    return (
        record is not None
        and is_of_this_revision(dish)
        and any(set(derived(s)) != set(record.of(s.law.key)) for s in statements)
    )


def next_revision(dish: Dish) -> int:
    """The number for a revision that changes the record: above the spec's own and the record's."""
    return max(_number(dish), dish.acknowledged.revision if dish.acknowledged else 0) + 1


def record_text(dish: Dish, statements: tuple[Statement, ...], revision: int = 0, day: str = "") -> str:
    """The lines to write into the spec: what is derived now, per law in force.

    With ``revision`` and ``day``, the line of that new revision comes first.
    """
    number = revision or _number(dish) or 1
    lines = [f"revision: {{number: {revision}, date: {day}}}"] if revision else []
    lines.append(f"acknowledged:\n  revision: {number}")
    lines += [f"  {s.law.key}: [{', '.join(derived(s))}]" for s in statements]
    return "\n".join(lines) + "\n"
