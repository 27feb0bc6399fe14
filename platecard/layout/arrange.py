"""Lays a dish's steps on its plate, each of them by :mod:`~platecard.layout.steps`.

Steps are taken in plating order, so a piece that lies on another finds it already there;
one that does not is an error with its reason.  A step whose place depends on another
component waits until that component is laid, wherever it is written; steps that wait for
each other in a circle are an error.  For coordinates see :mod:`~platecard.layout.footprint`.
"""

from __future__ import annotations

from collections.abc import Iterable

from platecard.diagnostics import Problem, did_you_mean, error
from platecard.layout import arrangements, relative
from platecard.layout.footprint import RIM, Arrangement, Footprint
from platecard.layout.placing import Bench, Cannot
from platecard.layout.steps import lay
from platecard.model import Dish, Plate, Step
from platecard.quantities.units import shown

__all__ = ["Arrangement", "Footprint", "place"]


def place(dish: Dish, plate: Plate) -> tuple[Arrangement, tuple[Problem, ...]]:
    """The dish laid on the plate, and the problems met on the way.  A step with an error is left out."""
    known = {c.key: c.called for c in dish.components}
    steps = [s for s in dish.steps if s.put in known]
    turns: dict[str, int] = {}
    turn_of: dict[int, int] = {}
    for s in steps:
        turn_of[s.index] = turns[s.put] = turns.get(s.put, -1) + 1
    laid: dict[int, list[Footprint]] = {}
    found: dict[int, list[Problem]] = {}
    waiting = list(steps)
    while waiting:
        step = next((s for s in waiting if not any(w in waiting for w in relative.waits_for(s, steps))), None)
        if step is None:
            # No step can go first: report the circle, and let steps that only wait for it be laid or fail on their own.
            for s in (ring := relative.cycle(waiting[0], waiting, steps)):
                words = ", ".join(
                    f"{r.put} {relative.key_of(r).replace('_', ' ')} {relative.target(r) or ' and '.join(r.on)}"
                    for r in ring
                )
                found[s.index] = [
                    error(
                        "place-cycle",
                        s.place(relative.key_of(s)),
                        f"these places depend on each other in a circle: {words}",
                        "give one of them a place of its own",
                    )
                ]
                laid[s.index] = []
                waiting.remove(s)
            continue
        waiting.remove(step)
        laid[step.index], found[step.index] = _one(step, dish, plate, laid, known, turn_of[step.index])
    below = {s.index: s.under for s in steps if s.under and laid[s.index]}
    rows = [(_rank(s, steps), s.index, laid[s.index]) for s in steps]
    prints = [f for _, _, row in sorted(rows, key=lambda r: r[:2]) for f in row]
    if below:
        prints = relative.raised(
            prints, below, {s.put: {n for t in steps if t.put == s.put for n in t.on} for s in steps}
        )
    return (
        Arrangement(plate, tuple(prints), tuple(dict.fromkeys(s.put for s in steps))),
        tuple(p for s in steps for p in found[s.index]),
    )


def _rank(step: Step, steps: list[Step]) -> tuple[int, float]:
    """The sort key of a step's pieces from the bottom of the plate up."""
    if arrangements.is_poured(step) and not any(n != RIM for n in step.on):
        return 0, 0.0  # a sauce that lies on nothing runs under whatever is on the plate already
    if step.under:
        return 1, min([float(step.index), *(s.index - 0.5 for s in steps if s.put == step.under)])
    return 1, float(step.index)


def _larger_than_the_plate(step: Step, plate: Plate, called: str) -> Problem | None:
    """The problem of several pieces each larger than the plate.

    They are not laid at all: every place would be tried, and none could hold them.
    """
    outer = max(plate.outer_mm, plate.outer_far_mm or 0)
    if step.piece is None or step.count == 1 or max(step.piece.length_mm, step.piece.width_mm) <= outer:
        return None
    longest = max(step.piece.length_mm, step.piece.width_mm)
    return error(
        "larger-than-the-plate",
        step.place("piece"),
        f"one piece of {called} is {shown(longest)} mm long, and the plate is {shown(outer)} mm across",
        "check the size and its unit",
    )


def _one(
    step: Step, dish: Dish, plate: Plate, laid: dict[int, list[Footprint]], known: dict[str, str], turn: int
) -> tuple[list[Footprint], list[Problem]]:
    """The footprints of one step, and its problems."""
    if larger := _larger_than_the_plate(step, plate, known[step.put]):
        return [], [larger]
    placed: dict[str, list[Footprint]] = {}
    for s in dish.steps:
        if s.index < step.index and laid.get(s.index):
            placed.setdefault(s.put, []).extend(laid[s.index])
    hosts, problems, is_missing = _hosts(step, dish, placed, known)
    if not hosts and (problems or is_missing) and not _has_own_place(step):
        return [], [*problems, *_own(step, plate, known, turn)]
    near, near_pattern = [], None
    if name := relative.target(step):
        if name not in known:
            return [], [*problems, unknown(step, relative.key_of(step), name, known)]
        if name == step.put:
            return [], [
                *problems,
                error(
                    "place-cycle",
                    step.place(relative.key_of(step)),
                    f"the place of {name} depends on {name} itself",
                    "give it a place of its own, or name another component",
                ),
            ]
        others = [s for s in dish.steps if s.put == name and laid.get(s.index)]
        if step.alternating_with:
            others = others[-1:]
        near = [f for s in others for f in laid[s.index]]
        near_pattern = arrangements.find(others[-1].arrange) if others else None
        if not near and any(s.put == name for s in dish.steps):
            # Its steps could not be laid and have reported why; putting them right puts this one right too.
            return [], [*problems, *_own(step, plate, known, turn)]
        if not near:
            return [], [
                *problems,
                error(
                    "nothing-to-go-by",
                    step.place(relative.key_of(step)),
                    f"{step.put} goes {relative.key_of(step).replace('_', ' ')} {name}, but no piece of {name} lies on"
                    " the plate",
                    f"give {name} a place, or {step.put} one of its own",
                ),
            ]
    pattern = arrangements.find(step.arrange)
    # What is missing has been reported by the reader in the same words, so that it is told once.
    lacking = [p for p in pattern.rules(step) if p.slug == "missing-key"] if pattern is not None else []
    if pattern is None or lacking:
        return [], [*problems, *lacking, *_own(step, plate, known, turn)]
    try:
        pieces, found = lay(Bench(step, plate, hosts, known[step.put], turn, pattern, near, near_pattern), pattern)
    except Cannot as exc:
        return [], [*problems, *([exc.problem] if exc.problem else [])]
    return pieces, [*problems, *found]


def _own(step: Step, plate: Plate, known: dict[str, str], turn: int) -> list[Problem]:
    """The problems of the pieces themselves, for a step whose place cannot be worked out."""
    pattern = arrangements.find(step.arrange)
    if step.piece is None and pattern is None:
        return []  # nor is it known whether such an arrangement needs a shape
    try:
        Bench(step, plate, [], known[step.put], turn, pattern)
    except Cannot as exc:
        return [exc.problem] if exc.problem else []
    return []


def unknown(step: Step, key: str, name: str, known: Iterable[str]) -> Problem:
    """The problem of a name that no component of the dish has."""
    return error(
        "unknown-component",
        step.place(key),
        f"there is no component '{name}' in this dish",
        did_you_mean(name, known) or f"write one of the components: {', '.join(sorted(known))}; or add it to them",
    )


# --- what lies on what ---------------------------------------------------------------------------------------------


def _has_own_place(step: Step) -> bool:
    pattern = arrangements.find(step.arrange)
    return bool(step.at or step.start or step.within or pattern and pattern.has_own_place)


def _hosts(
    step: Step, dish: Dish, placed: dict[str, list[Footprint]], known: dict[str, str]
) -> tuple[list[Footprint], list[Problem], bool]:
    """The pieces that the step lies on, and what is wrong with its ``on``.

    The third value is true where a component it lies on is missing and has reported its own fault.
    """
    hosts: list[Footprint] = []
    problems: list[Problem] = []
    is_missing = False
    for name in step.on:
        if name == RIM:
            continue
        if name not in known:
            problems.append(unknown(step, "on", name, known))
        elif name in placed:
            hosts += placed[name]
        elif _has_failed(name, step, dish):
            is_missing = True
        elif name == step.put or _leads_to(dish, name, step.put):
            problems.append(
                error(
                    "on-each-other",
                    step.place("on"),
                    (
                        f"{step.put} is to lie on {name}, and {name} on {step.put}: neither can come first"
                        if name != step.put
                        else f"{step.put} is to lie on itself before any of it is on the plate"
                    ),
                    "give the one that comes first a place of its own",
                )
            )
        else:
            later = next((s for s in dish.steps if s.put == name), None)
            is_missing = is_missing or later is None  # that it is never put on the plate has been reported
            if later is not None:
                problems.append(
                    error(
                        "on-not-yet-there",
                        step.place("on"),
                        f"{step.put} is to lie on {name}, which comes later (line {later.span.line})",
                        f"move the line that puts {name} above this one",
                    )
                )
    return hosts, problems, is_missing


def _has_failed(name: str, step: Step, dish: Dish) -> bool:
    """Whether an earlier step puts ``name`` and could not be laid, for a reason of its own that has been reported."""
    earlier = [s for s in dish.steps if s.put == name and s.index < step.index]
    return bool(earlier) and not any(_leads_to(dish, n, step.put) for s in earlier for n in s.on)


def _leads_to(dish: Dish, start: str, goal: str) -> bool:
    """Whether ``start`` lies on ``goal``, directly or by way of other components."""
    lies_on: dict[str, set[str]] = {}
    for step in dish.steps:
        lies_on.setdefault(step.put, set()).update(step.on)
    seen: set[str] = set()
    waiting = [start]
    while waiting:
        name = waiting.pop()
        if name == goal:
            return True
        if name not in seen:
            seen.add(name)
            waiting += lies_on.get(name, ())
    return False
