"""An allergen that comes in with a revision is shouted about until the chef has seen it.

The spec records what its chef last acknowledged, per law.  What is declared now and
does not stand there is an error; the new record to write is said with it.
"""

from __future__ import annotations

from ..model import Acknowledged, Dish
from ..problems import Problem, Span, advice, error
from .statement import Finding, Statement
from .traces import CONTAINS


def declared(statement: Statement) -> tuple[str, ...]:
    """The taxonomy nodes that a law declares as contained, in the law's order, kinds where it asks for them."""
    return tuple(dict.fromkeys(n for f in statement.with_presence(CONTAINS) for n in _nodes(f)))


def _nodes(finding: Finding) -> tuple[str, ...]:
    return finding.kinds or (finding.allergen,)


def check(dish: Dish, statements: tuple[Statement, ...]) -> tuple[Problem, ...]:
    """Problems of the record against what is declared now.

    1. No record: advice, since nothing can be noticed without one.
    2. An allergen under a law in force that the record of that law lacks: an error.
    3. A record of a later revision than the spec's own: an error.
    4. An allergen on record that is no longer declared: advice, so that the record stays true.
    """
    record = dish.acknowledged
    number = dish.revision.number if dish.revision else 0
    if record is None:
        return (advice("not-acknowledged", dish.span, "no allergens are on record, so one that comes in later would not be noticed",
                       "write down what is declared now: platecard acknowledge " + dish.key),)
    found: list[Problem] = []
    if record.revision > number:
        found.append(error("acknowledged-too-late", record.span, f"revision {record.revision} is acknowledged, but the spec is revision {number}",
                           "raise the revision's number, or correct the record"))
    for statement in statements:
        known = set(record.of(statement.law.key))
        came = [f for f in statement.with_presence(CONTAINS) if not known.issuperset(_nodes(f))]
        if came:
            names = ", ".join(f.declared_as for f in came)
            found.append(error("allergen-came-in", _place(record, statement), f"{names} came in since revision {record.revision} was acknowledged ({statement.law.name})",
                               *(_reason(f) for f in came[:3]), f"if that is meant, raise the revision and record it: platecard acknowledge {dish.key}"))
        gone = [n for n in record.of(statement.law.key) if n not in declared(statement)]
        if gone and not came:
            found.append(advice("allergen-went-out", _place(record, statement), f"{', '.join(gone)} on record but no longer declared ({statement.law.name})",
                                f"bring the record up to date: platecard acknowledge {dish.key}"))
    return tuple(found)


def _place(record: Acknowledged, statement: Statement) -> Span:
    return dict(record.places).get(statement.law.key, record.span)


def _reason(finding: Finding) -> str:
    chain = min(finding.reasons, key=len, default=())
    return f"{finding.declared_as}: " + " > ".join(link.words for link in chain[1:]) if chain else finding.note


def record_text(dish: Dish, statements: tuple[Statement, ...]) -> str:
    """The lines to write into the spec: what is declared now, per law in force."""
    number = dish.revision.number if dish.revision else 1
    lines = [f"acknowledged:\n  revision: {number}"]
    lines += [f"  {s.law.key}: [{', '.join(declared(s))}]" for s in statements]
    return "\n".join(lines) + "\n"
