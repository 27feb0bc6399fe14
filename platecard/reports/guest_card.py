"""``platecard guest --out``: the changed plate for one guest, derived from scratch and drawn.

In: the regular dish, the answer, the menu's equipment.  Out: the documents as bytes, or
the reason why there are none.  The declaration is that of the changed plate: it is
resolved and traced from its own ingredients and from what its equipment passes on, never
made by subtracting from the regular one.
"""

from __future__ import annotations

import hashlib
import os
import re
from collections.abc import Iterable
from dataclasses import replace
from typing import NamedTuple

from platecard import fingerprint, pipeline
from platecard.allergens import acknowledgement, traces
from platecard.allergens.guests.answers import AS_IS, CHANGED, OPEN, Answer, Avoid
from platecard.allergens.statement import Statement
from platecard.allergens.traces import CONTAINS
from platecard.diagnostics import Problem, error
from platecard.documents.diagram import plate
from platecard.documents.pages import changed_plate
from platecard.documents.pages.changed_plate import ChangeNotice
from platecard.prepared import Begun, Prepared, World, plated
from platecard.recipes import resolve
from platecard.reports import guest_answers

_ANSWERED_FOR = "allergens-not-established"  # does not stop a changed plate: its own allergens are derived


class ChangedPlate(NamedTuple):
    """A changed plate, ready to be drawn; ``regular`` is the plate that its pieces keep their places from."""

    prepared: Prepared
    regular: Prepared
    told: ChangeNotice
    fingerprint: str


def prepare(
    begun: Begun, answer: Answer | None, avoids: Iterable[Avoid], menu: tuple[Begun, ...], world: World
) -> tuple[ChangedPlate | None, tuple[Problem, ...]]:
    """The changed plate; None without errors if the regular one may be served, None with errors if there is none."""
    if answer is not None and answer.answer == AS_IS:
        return None, ()
    said = tuple(a.term for a in avoids)
    if answer is None or answer.answer != CHANGED:
        words = guest_answers.WORDS[answer.answer if answer else OPEN]
        return None, (
            error(
                "no-changed-card",
                begun.dish.span if begun.dish else None,
                f"no card for a guest who avoids {', '.join(said)}: {words}",
                "the earlier card for this guest, if there was one, is no longer valid",
            ),
        )
    shared, counted = pipeline.shared_equipment(menu, world), pipeline.counted(menu, world)
    regular = pipeline.finish(begun, shared, world, counted)
    if faults := tuple(p for p in regular.problems if p.is_error and p.withholds and p.slug != _ANSWERED_FOR):
        return None, faults
    resolved, found = resolve.resolve(answer.dish, world.pantry)
    unsure = traces.not_established(resolved, world.tracer.taxonomy, world.kitchen)
    # Without a plate (its pieces lie as on the regular one), without steps to time, and without the chef's record,
    # which is that of the regular plate.
    bare = replace(
        answer.dish, components=tuple(replace(c, finish=()) for c in answer.dish.components), acknowledged=None
    )
    derived = pipeline.finish(
        Begun(begun.key, begun.file, bare, replace(resolved, plate=None), (*found, *unsure)), shared, world, counted
    )
    if not derived.is_sound:
        return None, tuple(p for p in derived.problems if p.is_error)
    told = ChangeNotice(said, answer.changes, _came_in(regular.statements, derived.statements), answer.remaining)
    regular_dish, arrangement = plated(regular)
    shown = changed_plate.dish_shown(regular_dish, told)
    left = changed_plate.without(arrangement, told.gone)
    steps = tuple(s for s in shown.steps if s.put not in told.gone)
    looks_at = (
        *guest_answers.expo_checks(answer),
        *guest_answers.kept_checks(answer, regular_dish.expo_checks),
    )
    dish = replace(shown, steps=steps, expo_checks=looks_at, acknowledged=None)
    prepared = replace(derived, dish=dish, resolved=resolved, arrangement=left)
    mark = hashlib.sha256(f"{fingerprint.of(prepared)} changed for {', '.join(sorted(said))}".encode()).hexdigest()[:8]
    return ChangedPlate(prepared, regular, told, mark), ()


def _came_in(regular: tuple[Statement, ...], changed: tuple[Statement, ...]) -> tuple[tuple[str, str], ...]:
    """(law, allergen) for what the regular plate does not declare, so that nothing slips in unseen with a swap."""
    known = {s.law.key: set(acknowledgement.declared(s)) for s in regular}
    return tuple(
        (s.law.name, f.declared_as)
        for s in changed
        for f in s.with_presence(CONTAINS)
        if not known.get(s.law.key, set()).issuperset(f.kinds or (f.allergen,))
    )


def documents(changed: ChangedPlate) -> tuple[bytes, bytes]:
    """The diagram as SVG and the card as PDF."""
    from platecard.drawing import pdf, svg

    told, settings = changed.told, changed.prepared.world.kitchen.settings
    dish, arrangement = plated(changed.regular)
    numbers = plate.number_of(dish)
    scene = changed_plate.draw(arrangement, changed_plate.dish_shown(dish, told, for_drawing=True), told, numbers)
    pages = changed_plate.compose(changed.prepared, changed.regular, numbers, changed.fingerprint, told)
    card = pdf.write(
        pages,
        title=f"{dish.title}: {told.title}",
        author=settings.called,
        subject="Changed plate, not the regular pass card",
        keywords=changed.fingerprint,
        language=settings.language,
    )
    return svg.write(changed_plate.picture(scene, told)).encode("utf-8"), card


def names(key: str, avoids: Iterable[Avoid]) -> tuple[str, str]:
    """The file names of the diagram and the card for a guest."""
    words = " ".join(a.said for a in avoids)
    slug = re.sub(r"[^a-z0-9]+", "-", words.lower()).strip("-")
    if len(slug) > 60 or not words.isascii():
        slug = f"{slug[:60]}-{hashlib.sha256(words.encode()).hexdigest()[:6]}".lstrip("-")
    return f"{key}-avoids-{slug}-plate.svg", f"{key}-avoids-{slug}-card.pdf"


Answers = tuple[tuple[Begun, Answer | None], ...]


def write(
    answers: Answers,
    avoids: tuple[Avoid, ...],
    menu: tuple[Begun, ...],
    world: World,
    out: str | None,
    card: str | None,
) -> tuple[tuple[str, ...], tuple[Problem, ...]]:
    """Write the changed plate of each answer; return the files, and the problems that kept others from being written.

    If an answer no longer is a changed plate, an earlier card for the same guest is moved out of the way.
    """
    from platecard.publishing.single_file import set_aside, write_file

    files: list[str] = []
    problems: list[Problem] = []
    for begun, answer in answers:
        drawing_at, card_at = (os.path.join(out, name) if out else None for name in names(begun.key, avoids))
        changed, faults = prepare(begun, answer, avoids, menu, world)
        problems += faults
        if changed is None:
            for path in (drawing_at, card_at, card):
                if path:
                    problems += set_aside(path)[1]
            continue
        drawing, sheets = documents(changed)
        for path, data in ((drawing_at, drawing), (card_at, sheets), (card, sheets)):
            if path:
                faults = write_file(path, data)
                problems += faults
                files += [] if faults else [path]
    return tuple(files), tuple(problems)
