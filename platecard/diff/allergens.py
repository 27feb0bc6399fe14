"""Allergens that came in or are gone, law by law, and what a guest is now told.

As everywhere, contains outranks not established, which outranks may contain; an allergen
came in where its rank rose, and is gone where it fell.  A law in force in only one of the
revisions is applied to both, so that a new law is not mistaken for a new ingredient.
Where the new revision has errors, nothing is said to be gone.
"""

from __future__ import annotations

from collections.abc import Iterator

from platecard.allergens import acknowledgement, derivation
from platecard.allergens.guests import answers
from platecard.allergens.statement import ABSENT, Finding, Statement
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Link, Presence
from platecard.diagnostics import Span, listed
from platecard.diff.change import ALARM, BETTER, CHANGED, WORSE, Change, in_doubt
from platecard.documents.text import wording
from platecard.knowledge.laws import Law
from platecard.knowledge.taxonomy import SULPHITE, Taxonomy
from platecard.prepared import Prepared
from platecard.recipes.resolved import Resolved

RANK = {ABSENT: 0, MAY: 1, UNKNOWN: 2, CONTAINS: 3}
_SHOWN_CHAINS = 3
_SAYS = {
    "as_is": "serve as it is",
    "changed": "serve changed",
    "cannot": "cannot be served",
    "not_established": "not established",
}
_WORSE_ANSWER = {"as_is": 0, "changed": 1, "cannot": 2, "not_established": 2}


def compare(old: Prepared, new: Prepared) -> Iterator[Change]:
    """The changes in laws, in findings law by law, in what no finding shows, and in what a guest is told."""
    laws = {law.key: law for law in (*new.world.laws, *old.world.laws)}
    before, after = ({law.key: _under(law, one) for law in laws.values()} for one in (old, new))
    yield from _laws(old, new, before, after)
    doubt = in_doubt(new)
    said: list[tuple[Finding, Finding]] = []
    for key, law in laws.items():
        rows = {f.allergen: f for f in before[key].findings}
        for now in after[key].findings:
            was = rows.pop(now.allergen, None) or _absent(now)
            yield from _finding(was, now, law, said, doubt)
        for was in rows.values():  # a bare group of the law, with a finding in the old revision only
            yield from _finding(was, _absent(was), law, said, doubt)
    yield from _beneath(old, new, before, after, said, doubt)
    yield from _guest(old, new, before, after)


def _under(law: Law, one: Prepared) -> Statement:
    """What a law declares of a revision, whether or not it is in force there."""
    known = next((s for s in one.statements if s.law.key == law.key), None)
    return known or derivation.derive(
        one.traces, one.sums, law, one.world.tracer.taxonomy, one.world.kitchen.settings.language
    )


def _absent(f: Finding) -> Finding:
    """The finding that the same allergen is absent."""
    return Finding(f.law, f.allergen, f.gs1, f.declared_as, ABSENT, (), f.level, f.point, group=f.group)


def _laws(old: Prepared, new: Prepared, before: dict[str, Statement], after: dict[str, Statement]) -> Iterator[Change]:
    was, now = {law.key for law in old.world.laws}, {law.key for law in new.world.laws}
    for key in sorted(now - was):
        declares = listed(f.declared_as for f in after[key].with_presence(CONTAINS)) or "nothing as contained"
        yield Change(
            "law",
            key,
            None,
            after[key].law.name,
            WORSE,
            f"{after[key].law.name} is now in force; it declares {declares}",
            new.world.kitchen.settings.laws_span,
            law=key,
        )
    for key in sorted(was - now):
        declared = listed(f.declared_as for f in before[key].with_presence(CONTAINS)) or "nothing as contained"
        yield Change(
            "law",
            key,
            before[key].law.name,
            None,
            WORSE,
            f"{before[key].law.name} is no longer in force; it declared {declared}",
            old.world.kitchen.settings.laws_span,
            in_old=True,
            law=key,
        )


def _names(f: Finding) -> tuple[str, ...]:
    """The names in a finding, one by one: its kinds, or else the words of the law."""
    return f.kinds or tuple(f.declared_as.split(", "))


def _finding(
    was: Finding, now: Finding, law: Law, said: list[tuple[Finding, Finding]], doubt: bool
) -> Iterator[Change]:
    up = RANK[now.presence] - RANK[was.presence]
    if up == 0 and now.presence in (ABSENT, UNKNOWN):
        return
    came = tuple(n for n in _names(now) if n not in _names(was)) if up == 0 else ()
    left = tuple(n for n in _names(was) if n not in _names(now)) if up == 0 else ()
    if up == 0 and not came and not left:
        return
    said.append((was, now))
    word, before, after = (
        now.declared_as if up >= 0 else was.declared_as,
        wording.PRESENCE[was.presence],
        wording.PRESENCE[now.presence],
    )
    if up > 0 or came:
        if up > 0:
            words = f"{_shout(now.presence)}, {law.name}: {word}; before: {before}"
        else:
            words = f"{_shout(now.presence)}, {law.name}: {word}; before: {was.declared_as}"
        yield _with_reasons(
            Change("allergen", now.allergen, _value(was), _value(now), ALARM, words, law=law.key), now, in_old=False
        )
        return
    if doubt or now.presence == UNKNOWN:
        why = "; the new revision has errors, so nothing is said to be gone" if doubt else ""
        words = f"NOT ESTABLISHED, {law.name}: {word}; before: {before}{why}"
        yield _with_reasons(
            Change("allergen", was.allergen, _value(was), _value(now), ALARM, words, law=law.key),
            now if now.reasons else was,
            in_old=not now.reasons,
        )
        return
    if up < 0:
        words = f"{_shrunk(now.presence)}, {law.name}: {word}; now: {after}; before: {before}"
    else:
        words = f"gone, {law.name}: {listed(_said(left, was, law))}; now: {now.declared_as}"
    yield _with_reasons(
        Change(
            "allergen",
            was.allergen,
            _value(was),
            _value(now),
            BETTER if now.presence == ABSENT or up == 0 else CHANGED,
            words,
            law=law.key,
        ),
        was,
        in_old=True,
    )


def _shout(presence: Presence) -> str:
    return {CONTAINS: "CAME IN", MAY: "MAY NOW CONTAIN", UNKNOWN: "NO LONGER ESTABLISHED"}[presence]


def _shrunk(presence: Presence) -> str:
    """How a fall in rank is worded: what is merely less certain than before is not gone."""
    return {ABSENT: "gone", MAY: "no longer stated, but it MAY CONTAIN", UNKNOWN: "NOT ESTABLISHED any more"}[presence]


def _said(names: tuple[str, ...], f: Finding, law: Law) -> tuple[str, ...]:
    words = next((g.kind_words for g in law.groups if f.allergen in g.nodes), {})
    return tuple(words.get(n, n.replace("_", " ")) for n in names)


def _value(f: Finding) -> str:
    return f.presence if f.presence in (ABSENT, UNKNOWN) else f"{f.presence}: {f.declared_as}"


def _with_reasons(change: Change, f: Finding, in_old: bool) -> Change:
    """The change with the shortest chains that prove it, and the place in the kitchen's files that they lead to."""
    chains = sorted(f.reasons, key=len)[:_SHOWN_CHAINS]
    span = next((s for c in chains if (s := _own_place(c))), None)
    more = len(f.reasons) - len(chains)
    reasons = (
        *(wording.chain(c) for c in chains),
        *((f"and {more} more ways",) if more > 0 else ()),
        *((f.note,) if f.note else ()),
    )
    return Change(
        change.kind,
        change.what,
        change.old,
        change.new,
        change.severity,
        change.words,
        span,
        in_old and span is not None,
        change.law,
        reasons,
    )


def _own_place(chain: tuple[Link, ...]) -> Span | None:
    """Where the kitchen wrote what brings it in: the last link that is not in the program's own data."""
    return next(
        (link.span for link in reversed(chain) if link.span and not link.span.file.startswith("platecard/data/")), None
    )


# --------------------------------------------------------------------------- what no finding shows


def _states(one: Prepared) -> dict[str, tuple[Presence, tuple[tuple[Link, ...], ...]]]:
    """The highest-ranking state of each allergen node, with the chains that prove it."""
    found: dict[str, tuple[Presence, tuple[tuple[Link, ...], ...]]] = {}
    for trace in one.traces:
        known = found.get(trace.node)
        if known is None or RANK[trace.state] > RANK[known[0]]:
            found[trace.node] = (trace.state, (trace.chain,))
        elif trace.state == known[0]:
            found[trace.node] = (known[0], (*known[1], trace.chain))
    return found


def _beneath(
    old: Prepared,
    new: Prepared,
    before: dict[str, Statement],
    after: dict[str, Statement],
    said: list[tuple[Finding, Finding]],
    doubt: bool,
) -> Iterator[Change]:
    """The changes that no finding shows.

    They are in kinds that a declaration does not tell apart (a walnut beside a hazelnut), in what a
    law exempts, and in what no law in force lists.
    """
    tree, language = new.world.tracer.taxonomy, new.world.kitchen.settings.language
    states = _states(old), _states(new)
    listed_nodes = {n for s in after.values() for g in s.law.groups for n in g.nodes}
    if any(s.law.sulphites for s in after.values()):
        listed_nodes.add(SULPHITE)
    for node in sorted({*states[0], *states[1]} - {""}):
        (was, old_chains), (now, new_chains) = states[0].get(node, (ABSENT, ())), states[1].get(node, (ABSENT, ()))
        up = RANK[now] - RANK[was]
        if up == 0 or any(_tells(pair, node, up, tree) for pair in said):
            continue
        shown = after if up > 0 else before
        is_left_out = node == SULPHITE or all(any(e.node == node for e in s.exempted) for s in shown.values())
        under_law = any(n in listed_nodes for n in tree.lineage(node))
        name = tree.name(node, language)
        scope = "what the laws in force declare stays the same" if under_law else "under no law in force here"
        gained = up > 0
        if gained:
            words, severity = (
                f"{_shout(now)}: {name} ({scope}); before: {wording.PRESENCE[was]}",
                ALARM if under_law and not is_left_out else WORSE,
            )
        elif doubt:
            continue
        else:
            words = f"{_shrunk(now)}: {name} ({scope}); now: {wording.PRESENCE[now]}; before: {wording.PRESENCE[was]}"
            severity = BETTER if now == ABSENT else CHANGED
        chains = sorted(new_chains if gained else old_chains, key=len)
        span = next((s for c in chains if (s := _own_place(c))), None)
        yield Change(
            "allergen",
            node,
            was,
            now,
            severity,
            words,
            span,
            not gained and span is not None,
            None,
            tuple(wording.chain(c) for c in chains[:_SHOWN_CHAINS]),
        )


def _tells(pair: tuple[Finding, Finding], node: str, up: int, tree: Taxonomy) -> bool:
    """Whether a change of a finding has already reported this node, in the same direction."""
    was, now = pair
    shown = now if up > 0 else was
    if (RANK[now.presence] - RANK[was.presence]) * up < 0:
        return False
    if shown.kinds:
        return any(tree.is_under(node, k) or tree.is_under(k, node) for k in shown.kinds)
    return tree.is_under(node, shown.allergen) or tree.is_under(shown.allergen, node)


# --------------------------------------------------------------------------- the guest


def _guest(old: Prepared, new: Prepared, before: dict[str, Statement], after: dict[str, Statement]) -> Iterator[Change]:
    """What a guest with one allergy is told, where that differs from what was told before."""
    if old.resolved is None or new.resolved is None or new.dish is None or in_doubt(old) or in_doubt(new):
        return
    tree, language = new.world.tracer.taxonomy, new.world.kitchen.settings.language
    heard = dict.fromkeys(f.allergen for s in (*after.values(), *before.values()) for f in s.findings)
    asked = _asked(old, old.resolved), _asked(new, new.resolved)
    for node in heard:
        avoid = (answers.Avoid(tree.name(node, language), (node,)),)
        was, now = (_told(a.answer(avoid)) for a in asked)
        if was != now:
            worse = 2 * (_WORSE_ANSWER[now[0]] - _WORSE_ANSWER[was[0]]) + now[2] - was[2]
            words = f"a guest who avoids {avoid[0].said}: {_answer(now)}; before: {_answer(was)}"
            yield Change(
                "guest",
                node,
                _answer(was),
                _answer(now),
                WORSE if worse > 0 else BETTER if worse < 0 else CHANGED,
                words,
                new.dish.span,
            )


def _asked(one: Prepared, resolved: Resolved) -> answers.Asked:
    return answers.Asked(
        resolved,
        one.world.pantry,
        one.world.tracer,
        one.shared,
        dict(one.world.kitchen.settings.equipment),
        acknowledgement.traces(one.statements),
    )


def _told(answer: answers.Answer) -> tuple[str, tuple[str, ...], bool]:
    """The answer, the changes made for it, and whether the plate may contain the allergen all the same."""
    done = tuple(
        sorted(
            f"leave off {c.component.called}" if c.swap is None else f"{c.swap.called} in place of {c.component.called}"
            for c in answer.changes
        )
    )
    return answer.answer, done, bool(answer.remaining)


def _answer(told: tuple[str, tuple[str, ...], bool]) -> str:
    return (
        _SAYS[told[0]]
        + (f" ({listed(told[1])})" if told[1] else "")
        + (", though it MAY CONTAIN it" if told[2] else "")
    )
