"""What of a dish was issued, revision by revision, and how that differs from what would be issued now.

In: a prepared dish and the record of what was issued.  Out: the record with this
revision in it, and problems.  The record is plain data, so that whoever writes the
documents can keep it beside them; a part of it that cannot be read is as if it were not
there.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from dataclasses import replace
from typing import Any

from platecard import fingerprint
from platecard.allergens import acknowledgement
from platecard.allergens.traces import UNKNOWN
from platecard.diagnostics import Problem, error, in_order, warning
from platecard.knowledge.taxonomy import Taxonomy
from platecard.prepared import Prepared

OTHER_CONTENT, OTHER_ALLERGENS, MAY_CONTAIN = (
    "same-revision-other-content",
    "same-revision-other-allergens",
    "may-contain-changed",
)
_LAST, _REVISIONS = "last", "revisions"


def issued(prepared: Prepared) -> dict[str, Any]:
    """What is issued of a dish, as data.

    ``{revision, code, content, contains, may_contain}``: the revision's number (0 without one), the
    code on the card, the digest of what the dish is itself, and what each law in force declares,
    ``{law: [node, …]}``.
    """
    return {
        "revision": _number(prepared),
        "code": fingerprint.of(prepared),
        "content": fingerprint.content(prepared),
        "contains": {s.law.key: sorted(acknowledgement.declared(s)) for s in prepared.statements},
        "may_contain": {s.law.key: sorted(acknowledgement.may_contain(s)) for s in prepared.statements},
    }


def remembered(record: Mapping[str, Any], prepared: Prepared) -> dict[str, Any]:
    """The record of a dish with what is issued now: ``{last: number, revisions: {number: what was issued}}``.

    An old number stays on record, so that it is noticed when it is used again.
    """
    number = str(_number(prepared))
    return {
        _LAST: _number(prepared),
        _REVISIONS: {**_mapping(_mapping(record).get(_REVISIONS)), number: issued(prepared)},
    }


def against_issued(prepared: Prepared, record: Mapping[str, Any]) -> tuple[Problem, ...]:
    """How a dish differs from what was issued of it.

    1. Under a number that was issued, other allergens are declared as contained: an error.
    2. Under a number that was issued, it is another dish in any other way: a warning.
    3. It may contain other allergens than when it was last issued, under whatever number: a warning.

    A draft is never issued, and what is not sound is not either.  Laws that were not in force
    then, or are not now, are not compared.
    """
    if prepared.dish is None or prepared.is_draft or not prepared.statements:
        return ()
    dish, place = prepared.dish, prepared.dish.revision.span if prepared.dish.revision else prepared.dish.span
    record = _mapping(record)
    revisions = _mapping(record.get(_REVISIONS))
    now, number = issued(prepared), str(_number(prepared))
    was = _mapping(revisions.get(number))
    tree = prepared.world.tracer.taxonomy
    found: list[Problem] = []
    came = _more(now, was, "contains")
    gone = _more(was, now, "contains")
    raise_it = (
        f"if that is intended, raise the revision's number and date: platecard acknowledge {dish.key} prints the"
        " record to write with it"
    )
    if came or gone:
        said = [
            f"{words} {_listed(nodes, tree)}"
            for words, nodes in (("now with", came), ("no longer with", gone))
            if nodes
        ]
        found.append(
            error(
                OTHER_ALLERGENS,
                place,
                f"revision {number} was issued with other allergens: {'; '.join(said)}",
                f"take down the card that says code {was.get('code')}",
                raise_it,
            )
        )
    elif was and was.get("content") != now["content"]:
        found.append(
            warning(
                OTHER_CONTENT,
                place,
                f"revision {number} was issued as code {was.get('code')}, and the dish has changed since",
                f"take down what says code {was.get('code')}: the card says code {now['code']}",
                "raise the revision's number and date, to tell the two apart",
            )
        )
    last = _mapping(revisions.get(str(record.get(_LAST))))
    settled = {
        s.law.key: {*acknowledgement.declared(s), *(n for f in s.with_presence(UNKNOWN) for n in f.nodes)}
        for s in prepared.statements
    }
    may = _more(now, last, "may_contain")
    may_not = {
        law: nodes
        for law, all_gone in _more(last, now, "may_contain").items()
        if (nodes := [n for n in all_gone if n not in settled[law]])
    }
    if may or may_not:
        said = [
            f"{words}: {_listed(nodes, tree)}"
            for words, nodes in (("may contain now", may), ("no longer", may_not))
            if nodes
        ]
        found.append(
            warning(
                MAY_CONTAIN,
                place,
                f"{dish.title} {'; '.join(said)}",
                f"tell front of house: it was issued as code {last.get('code')} and is now code {now['code']}",
            )
        )
    return tuple(found)


def held_against(prepared: Prepared, record: Mapping[str, Any]) -> Prepared:
    """The dish with the problems of :func:`against_issued` among its own: other allergens withhold its card."""
    found = against_issued(prepared, record)
    return replace(prepared, problems=in_order((*prepared.problems, *found))) if found else prepared


def _number(prepared: Prepared) -> int:
    return prepared.dish.revision.number if prepared.dish is not None and prepared.dish.revision else 0


def _more(one: Mapping[str, Any], other: Mapping[str, Any], what: str) -> dict[str, list[str]]:
    """What the one declares and the other does not, law by law, of the laws that both have."""
    mine, theirs = _mapping(one.get(what)), _mapping(other.get(what))
    both = {
        law: [n for n in _names(nodes) if n not in _names(theirs[law])] for law, nodes in mine.items() if law in theirs
    }
    return {law: nodes for law, nodes in both.items() if nodes}


def _listed(by_law: Mapping[str, Iterable[str]], tree: Taxonomy) -> str:
    """Such as "fish (eu, uk), milk (uk)"."""
    laws: dict[str, list[str]] = {}
    for law, nodes in by_law.items():
        for node in nodes:
            laws.setdefault(tree.name(node), []).append(law)
    return ", ".join(f"{name} ({', '.join(keys)})" for name, keys in laws.items())


def _mapping(value: object) -> Mapping[str, Any]:
    return value if isinstance(value, Mapping) else {}


def _names(value: object) -> tuple[str, ...]:
    return tuple(v for v in value if isinstance(v, str)) if isinstance(value, list) else ()
