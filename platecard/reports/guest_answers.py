"""``platecard guest``: the answer to a guest at the table, in words and as data."""

from __future__ import annotations

from collections.abc import Sequence

from platecard.allergens.guests import foods
from platecard.allergens.guests.answers import (
    AS_IS,
    CANNOT,
    CHANGED,
    OPEN,
    Answer,
    Asked,
    Avoid,
    Change,
    Met,
    NotUnderstood,
    understand,
)
from platecard.allergens.guests.requests import split
from platecard.diagnostics import Problem, error, has_errors
from platecard.documents.text import wording
from platecard.knowledge.names import fold
from platecard.pipeline import on_record, shared_equipment
from platecard.prepared import Begun, World
from platecard.reports import PlaceOf

WORDS = {
    AS_IS: "serve as it is",
    CHANGED: "serve changed",
    CANNOT: "cannot be served",
    OPEN: "not established: do not serve on this answer",
}


def avoids(
    said: str, world: World, eats: str = "", option: str = "--avoid"
) -> tuple[tuple[Avoid, ...], tuple[Problem, ...]]:
    """What a guest avoids, from a list such as "egg, fish"; an error for each word that names nothing.

    ``eats`` lists what the guest says they do eat.  It settles what a word of the first list
    leaves in doubt, such as whether "nuts" includes peanut.
    """
    found, problems = _understood(said, world, option)
    eaten, faults = _understood(eats, world, "--eats")
    if not found and not problems:
        problems.append(
            error(
                "unknown-avoid-word",
                None,
                f"{option} names nothing",
                f"write what the guest avoids, as in {option} egg,fish"
                if option == "--avoid"
                else f"write one allergen, as in {option} milk",
            )
        )
    return tuple(a.settled(eaten) for a in found), (*problems, *faults)


def _understood(said: str, world: World, option: str) -> tuple[list[Avoid], list[Problem]]:
    tree, catalogue = world.tracer.taxonomy, world.pantry.catalogue
    found: list[Avoid] = []
    problems: list[Problem] = []
    for word in split(said, tree, catalogue):
        try:
            found.append(understand(word, tree, catalogue, eaten=option == "--eats"))
        except NotUnderstood as exc:
            problems.append(error("unknown-avoid-word", None, f"{option}: {exc}, so nothing is answered", exc.hint))
    return found, problems


def understood(guest: tuple[Avoid, ...]) -> list[dict[str, object]]:
    """How each of the guest's words was understood, as data."""
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
    """How each of the guest's words was understood and what it does not cover: the first lines of an answer."""
    return [f"{a.said}: {a.understood or a.term}{f'; {a.beyond}: ask' if a.beyond else ''}" for a in guest]


# Errors that leave an unknown in the tree: the answer itself says what is not established.
_STAYS_OPEN = {"allergens-not-established", "label-words-not-recognised", "label-leaves-open"}


def answer_all(
    menu: tuple[Begun, ...], asked: tuple[str, ...], guest: tuple[Avoid, ...], world: World
) -> tuple[tuple[Begun, Answer | None], ...]:
    """The answer for each dish in ``asked``; None for a draft, or if the spec cannot be read or has an error.

    Any other error leaves in doubt what is on the plate, so nothing is answered.
    """
    shared = shared_equipment(menu, world)
    names = dict(world.kitchen.settings.equipment)
    found: list[tuple[Begun, Answer | None]] = []
    for begun in menu:
        if begun.key not in asked:
            continue
        resolved = begun.resolved
        if (
            begun.marks.is_draft
            or resolved is None
            or has_errors(
                p for p in (*begun.problems, *world.problems_of(resolved, *begun.offered)) if p.slug not in _STAYS_OPEN
            )
        ):
            found.append((begun, None))
            continue
        question = Asked(resolved, world.pantry, world.tracer, shared, names, on_record(begun, world))
        found.append((begun, question.answer(guest)))
    return tuple(found)


OFF_THE_MENU = "a draft is off the menu"
NOTHING_FOUND = "nothing of this kind among the ingredients entered: ask the kitchen"


def as_data(
    begun: Begun,
    answer: Answer | None,
    place: PlaceOf,
    guest: tuple[Avoid, ...] = (),
    also: tuple[str, ...] = (),
) -> dict[str, object]:
    """The answer for JSON; ``place`` turns a span into file and line, ``also`` is what else the guest should hear."""
    known: dict[str, object] = {
        "understood": understood(guest),
        "nothing_found": answer is not None and answer.nothing_found,
        "also": list(also),
    }
    if answer is None:
        nowhere = {"file": None, "line": None}
        links: list[dict[str, object]] = (
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


def _change(change: Change) -> dict[str, object]:
    data: dict[str, object] = {
        "component": change.component.key,
        "called": change.component.called,
        "action": change.action,
    }
    return data if change.swap is None else {**data, "use": {change.swap.use.kind: change.swap.use.name}}


def _met(m: Met, place: PlaceOf) -> dict[str, object]:
    return {
        "avoid": m.avoid.said,
        "presence": m.presence,
        "chain": [{"what": link.words, **place(link.span)} for link in m.chain],
    }


_SMALL = frozenset(fold("a an and at in its of on or the to with").split())  # words of names that name nothing


def kept_checks(answer: Answer, regular: Sequence[str]) -> list[str]:
    """The chef's checks of the regular plate that speak of nothing that is changed, so that they hold for this one too.

    A check that shares a word with the name of a changed component is left out: it is told by :func:`expo_checks`.
    """
    changed = {w for c in answer.changes for w in fold(f"{c.component.called} {c.component.key}").split()} - _SMALL
    return [check for check in regular if changed.isdisjoint(fold(check).split())]


def expo_checks(answer: Answer) -> list[str]:
    """What expo checks on the changed plate."""
    said = []
    for change in answer.changes:
        if change.swap is None:
            said.append(f"no {change.component.called} on the plate")
        else:
            said.append(f"{change.swap.called} in place of {change.component.called}")
    return said + ["a fresh plate, clean tools and clean hands"]


def _but(answer: Answer) -> str:
    """What may still be in the dish, to print right beside the answer: after a plain yes nobody reads on."""
    if answer.answer not in (AS_IS, CHANGED) or not answer.remaining:
        return ""
    return f", but it may contain {', '.join(dict.fromkeys(m.food for m in answer.remaining))}: tell the guest first"


def also_told(begun: Begun, world: World) -> tuple[str, ...]:
    """What foods of the dish can do to guests with a different allergy; always told, whatever was asked."""
    return foods.also_told(begun.dish, begun.resolved, world.tracer)


def in_words(begun: Begun, answer: Answer | None, also: tuple[str, ...] = ()) -> list[str]:
    """The answer as lines that a waiter can read in ten seconds."""
    title = begun.dish.title if begun.dish else begun.key
    if answer is None:
        if begun.marks.is_draft:
            return [f"{title}: {WORDS[OPEN]}", f"  {OFF_THE_MENU}"]
        return [f"{title}: {WORDS[OPEN]}", "  the spec or the kitchen's library has errors; see platecard check"]
    # One order at a time: where the kitchen is to be asked, it decides, and the changes are what it is asked about.
    lines = [f"{title}: {'not established' if answer.nothing_found else WORDS[answer.answer]}{_but(answer)}"]
    if answer.nothing_found:
        lines.append(f"  {'changed as below, ' if answer.changes else ''}{NOTHING_FOUND}")
    asked = "to ask about: " if answer.nothing_found else ""
    for change in answer.changes:
        lines.append(
            f"  {asked}{'leave off' if change.swap is None else 'swap'} {change.component.called}"
            + ("" if change.swap is None else f" for {change.swap.called}")
        )
    if answer.answer == CHANGED:
        lines.append(f"  left on the plate: {', '.join(c.called for c in answer.dish.components)}")
        lines.append(f"  expo checks: {'; '.join(expo_checks(answer))}")
    for word, met in (("because", answer.reasons), ("may contain", answer.remaining)):
        for m in met[:6]:
            about = m.avoid.term if met is answer.reasons else m.food
            lines.append(f"  {word}: {about}: {wording.chain(m.chain)}")
        if len(met) > 6:
            lines.append(f"  {word}: and {len(met) - 6} more")
    if answer.answer == AS_IS and not answer.remaining:
        lines.append("  not among the ingredients entered")
    return lines + [f"  also: {says}" for says in also]
