"""``platecard guest``: the answer at the table, in words and as data."""

from __future__ import annotations

from platecard.allergens.guests import foods
from platecard.allergens.guests.answers import (
    AS_IS,
    CANNOT,
    CHANGED,
    OPEN,
    Answer,
    Asked,
    Avoid,
    Met,
    NotUnderstood,
    understand,
)
from platecard.allergens.guests.requests import split
from platecard.diagnostics import Problem, error, has_errors
from platecard.documents.text import wording
from platecard.pipeline import Begun, World, on_record, shared_equipment

WORDS = {
    AS_IS: "serve as it is",
    CHANGED: "serve changed",
    CANNOT: "cannot be served",
    OPEN: "not established: do not serve on this answer",
}


def avoids(said: str, world: World, eats: str = "") -> tuple[tuple[Avoid, ...], tuple[Problem, ...]]:
    """The guest's list ("egg, fish") understood; an error for each word that names nothing.

    ``eats`` is what the guest has said to eat all the same: it settles what a word of the
    list leaves in doubt ("nuts", and whether peanut is one).
    """
    found, problems = _understood(said, world, "--avoid")
    eaten, faults = _understood(eats, world, "--eats")
    if not found and not problems:
        problems.append(error("unknown-avoid-word", None, "--avoid names nothing", "for example --avoid egg,fish"))
    return tuple(a.settled(eaten) for a in found), (*problems, *faults)


def _understood(said: str, world: World, option: str) -> tuple[list[Avoid], list[Problem]]:
    tree, catalogue = world.tracer.taxonomy, world.pantry.catalogue
    found, problems = [], []
    for word in split(said, tree, catalogue):
        try:
            found.append(understand(word, tree, catalogue, eaten=option == "--eats"))
        except NotUnderstood as exc:
            problems.append(error("unknown-avoid-word", None, f"{option}: {exc}, so nothing is answered", exc.hint))
    return found, problems


def understood(guest: tuple[Avoid, ...]) -> list[dict]:
    """How each word of the guest was understood, as data."""
    return [
        {
            "said": a.said,
            "as": a.understood or a.said,
            "does_not_cover": a.beyond or None,
            "ingredients_can_answer": a.answers,
        }
        for a in guest
    ]


def understood_in_words(guest: tuple[Avoid, ...]) -> list[str]:
    """What an answer begins with: how each word was understood, and what it does not cover."""
    return [f"{a.said}: {a.understood or a.said}{f'; {a.beyond}: ask' if a.beyond else ''}" for a in guest]


# Errors that leave an unknown in the tree, so that the answer itself says what is not established.
_STAYS_OPEN = {"allergens-not-established", "label-words-not-recognised", "label-leaves-open"}


def answer_all(
    menu: tuple[Begun, ...], asked: tuple[str, ...], guest: tuple[Avoid, ...], world: World
) -> tuple[tuple[Begun, Answer | None], ...]:
    """The answer for each asked dish; None where the spec cannot be read or holds an error, and for a draft.

    An error elsewhere in the spec leaves in doubt what is on the plate, so nothing is answered.
    """
    shared = shared_equipment(menu, world)
    names = dict(world.kitchen.settings.equipment)
    found = []
    for begun in menu:
        if begun.key not in asked:
            continue
        faulty = (
            begun.marks.is_draft
            or begun.resolved is None
            or has_errors(
                p
                for p in (*begun.problems, *world.problems_of(begun.resolved, *begun.offered))
                if p.slug not in _STAYS_OPEN
            )
        )
        found.append(
            (
                begun,
                (
                    None
                    if faulty
                    else Asked(
                        begun.resolved, world.pantry, world.tracer, shared, names, on_record(begun, world)
                    ).answer(guest)
                ),
            )
        )
    return tuple(found)


OFF_THE_MENU = "a draft is off the menu"
NOTHING_FOUND = "nothing of this kind among the ingredients entered: ask the kitchen"


def as_data(
    begun: Begun, answer: Answer | None, place, guest: tuple[Avoid, ...] = (), also: tuple[str, ...] = ()
) -> dict:
    """The answer for JSON; ``place`` turns a span into file and line, ``also`` is what else the guest should hear."""
    known = {
        "understood": understood(guest),
        "nothing_found": answer is not None and answer.nothing_found,
        "also": list(also),
    }
    if answer is None:
        nowhere = {"file": None, "line": None}
        links = (
            [{"what": OFF_THE_MENU, **nowhere}]
            if begun.marks.is_draft
            else [{"what": p.message, **place(p.span)} for p in begun.problems if p.is_error]
        )
        return {
            "dish": begun.key,
            "answer": OPEN,
            **known,
            "changes": [],
            "remaining": [],
            "left": [],
            "expo_checks": [],
            "reasons": [
                {"avoid": None, "presence": OPEN, "chain": [link]}
                for link in links or [{"what": "the kitchen's library has errors", **nowhere}]
            ],
            "caution": wording.CAUTION,
        }
    return {
        "dish": begun.key,
        "answer": answer.answer,
        **known,
        "changes": [_change(c) for c in answer.changes],
        "remaining": [_met(m, place) for m in answer.remaining],
        "left": [c.called for c in answer.dish.components] if answer.answer in (AS_IS, CHANGED) else [],
        "expo_checks": expo_checks(answer) if answer.answer == CHANGED else [],
        "reasons": [_met(m, place) for m in answer.reasons],
        "caution": wording.CAUTION,
    }


def _change(change) -> dict:
    data = {"component": change.component.key, "called": change.component.called, "action": change.action}
    return data if change.swap is None else {**data, "use": {change.swap.use.kind: change.swap.use.name}}


def _met(m: Met, place) -> dict:
    return {
        "avoid": m.avoid.said,
        "presence": m.presence,
        "chain": [{"what": link.words, **place(link.span)} for link in m.chain],
    }


def expo_checks(answer: Answer) -> list[str]:
    """What expo must check on the changed plate."""
    said = []
    for change in answer.changes:
        if change.swap is None:
            said.append(f"no {change.component.called} on the plate")
        else:
            said.append(f"{change.swap.called} in place of {change.component.called}")
    return said + ["a fresh plate, clean tools and clean hands"]


def _but(answer: Answer) -> str:
    """What may still be in it belongs beside the answer: nobody reads on behind a plain yes."""
    if answer.answer not in (AS_IS, CHANGED) or not answer.remaining:
        return ""
    return (
        f", but it may contain {', '.join(dict.fromkeys(m.avoid.said for m in answer.remaining))}: tell the guest first"
    )


def also_told(begun: Begun, world: World) -> tuple[str, ...]:
    """What the foods of the dish can do to guests with another allergy: told whatever was asked."""
    return () if begun.resolved is None else tuple(t.says for t in foods.reactions(begun.resolved, world.tracer))


def in_words(begun: Begun, answer: Answer | None, also: tuple[str, ...] = ()) -> list[str]:
    """The answer in lines a waiter can read in ten seconds."""
    title = begun.dish.title if begun.dish else begun.key
    if answer is None:
        if begun.marks.is_draft:
            return [f"{title}: {WORDS[OPEN]}", f"  {OFF_THE_MENU}"]
        return [f"{title}: {WORDS[OPEN]}", "  the spec or the kitchen's library has errors; see platecard check"]
    lines = [f"{title}: {WORDS[answer.answer]}{_but(answer)}"]
    if answer.nothing_found:
        lines.append(f"  {'with these changes, ' if answer.changes else ''}{NOTHING_FOUND}")
    for change in answer.changes:
        lines.append(
            f"  {'leave off' if change.swap is None else 'swap'} {change.component.called}"
            + ("" if change.swap is None else f" for {change.swap.called}")
        )
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
    return lines + [f"  also: {says}" for says in also]
