"""``platecard guest``: the answer at the table, in words and as data."""

from __future__ import annotations

from .allergens.guest import AS_IS, CANNOT, CHANGED, OPEN, Answer, Asked, Avoid, Met, NotUnderstood, understand
from .documents import wording
from .pipeline import Begun, World, shared_equipment
from .problems import Problem, error, has_errors

WORDS = {AS_IS: "serve as it is", CHANGED: "serve changed", CANNOT: "cannot be served", OPEN: "not established: do not serve on this answer"}


def avoids(said: str, world: World) -> tuple[tuple[Avoid, ...], tuple[Problem, ...]]:
    """The guest's list ("egg, fish") understood; an error for each word that names nothing."""
    found, problems = [], []
    for word in (w for w in said.split(",") if w.strip()):
        try:
            found.append(understand(word, world.tracer.taxonomy, world.pantry.catalogue, world.tracer.taxonomy.sayings))
        except NotUnderstood as exc:
            problems.append(error("unknown-avoid-word", None, f"--avoid: {exc}", exc.hint))
    if not found and not problems:
        problems.append(error("unknown-avoid-word", None, "--avoid names nothing", "for example --avoid egg,fish"))
    return tuple(found), tuple(problems)


def answer_all(menu: tuple[Begun, ...], asked: tuple[str, ...], guest: tuple[Avoid, ...], world: World) -> tuple[tuple[Begun, Answer | None], ...]:
    """The answer for each asked dish; None where the spec cannot be read or holds an error.

    An error elsewhere in the spec leaves in doubt what is on the plate, so nothing is answered.
    """
    shared = shared_equipment(menu, world)
    names = dict(world.kitchen.settings.equipment)
    found = []
    for begun in menu:
        if begun.key not in asked:
            continue
        faulty = begun.resolved is None or has_errors(p for p in begun.problems if p.slug != "allergens-not-established") or \
            has_errors(world.problems_of(begun.resolved, *begun.offered))
        found.append((begun, None if faulty else Asked(begun.resolved, world.pantry, world.tracer, shared, names).answer(guest)))
    return tuple(found)


def as_data(begun: Begun, answer: Answer | None, place) -> dict:
    """The answer for JSON; ``place`` turns a span into file and line."""
    if answer is None:
        return {"dish": begun.key, "answer": OPEN, "changes": [], "remaining": [], "left": [], "expo_checks": [],
                "reasons": [{"avoid": None, "presence": OPEN, "chain": [{"what": p.message, **place(p.span)}]} for p in begun.problems if p.is_error] or
                           [{"avoid": None, "presence": OPEN, "chain": [{"what": "the kitchen's library has errors", "file": None, "line": None}]}], "caution": wording.CAUTION}
    return {"dish": begun.key, "answer": answer.answer, "changes": [_change(c) for c in answer.changes],
            "remaining": [_met(m, place) for m in answer.remaining],
            "left": [c.called for c in answer.dish.components] if answer.answer in (AS_IS, CHANGED) else [],
            "expo_checks": expo_checks(answer) if answer.answer == CHANGED else [],
            "reasons": [_met(m, place) for m in answer.reasons], "caution": wording.CAUTION}


def _change(change) -> dict:
    data = {"component": change.component.key, "called": change.component.called, "action": change.action}
    return data if change.swap is None else {**data, "use": {change.swap.use.kind: change.swap.use.name}}


def _met(m: Met, place) -> dict:
    return {"avoid": m.avoid.said, "presence": m.presence, "chain": [{"what": link.words, **place(link.span)} for link in m.chain]}


def expo_checks(answer: Answer) -> list[str]:
    """What expo must check on the changed plate."""
    said = []
    for change in answer.changes:
        if change.swap is None:
            said.append(f"no {change.component.called} on the plate")
        else:
            said.append(f"{change.swap.use.name.replace('-', ' ')} in place of {change.component.called}")
    return said + ["a fresh plate, clean tools and clean hands"]


def _but(answer: Answer) -> str:
    """What may still be in it belongs beside the answer: nobody reads on behind a plain yes."""
    if answer.answer not in (AS_IS, CHANGED) or not answer.remaining:
        return ""
    return f", but it may contain {', '.join(dict.fromkeys(m.avoid.said for m in answer.remaining))}: tell the guest first"


def in_words(begun: Begun, answer: Answer | None) -> list[str]:
    """The answer in lines a waiter can read in ten seconds."""
    title = begun.dish.title if begun.dish else begun.key
    if answer is None:
        return [f"{title}: {WORDS[OPEN]}", "  the spec or the kitchen's library has errors; see platecard check"]
    lines = [f"{title}: {WORDS[answer.answer]}{_but(answer)}"]
    for change in answer.changes:
        lines.append(f"  {'leave off' if change.swap is None else 'swap'} {change.component.called}" + ("" if change.swap is None else f" for {change.swap.use.name.replace('-', ' ')}"))
    if answer.answer == CHANGED:
        lines.append(f"  left on the plate: {', '.join(c.called for c in answer.dish.components)}")
        lines.append(f"  expo checks: {'; '.join(expo_checks(answer))}")
    for word, met in (("because", answer.reasons), ("may contain", answer.remaining)):
        for m in met[:6]:
            lines.append(f"  {word}: {m.avoid.said}: {wording.chain(m.chain)}")
        if len(met) > 6:
            lines.append(f"  {word}: and {len(met) - 6} more")
    if answer.answer == AS_IS and not answer.remaining:
        lines.append("  not among the ingredients entered")
    return lines
