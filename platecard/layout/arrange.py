"""A dish's steps in, the laid plate out.  Each step is laid by :mod:`~platecard.layout.bench`.

Steps are taken in plating order, so what lies on another piece finds it there; what
does not is an error with its reason.  Coordinates: see :mod:`~platecard.layout.footprint`.
"""

from __future__ import annotations

from ..model import Dish, Plate, Step
from ..problems import Problem, did_you_mean, error
from .bench import Bench, Cannot
from .footprint import RIM, Arrangement, Footprint

__all__ = ["Arrangement", "Footprint", "place"]

def place(dish: Dish, plate: Plate) -> tuple[Arrangement, tuple[Problem, ...]]:
    """The dish laid on the plate, and what stood in the way.  A step with an error is left out."""
    known = {c.key: c.called for c in dish.components}
    placed: dict[str, list[Footprint]] = {}
    pools: list[Footprint] = []
    others: list[Footprint] = []
    problems: list[Problem] = []
    order: dict[str, None] = {}
    turns: dict[str, int] = {}
    for step in dish.steps:
        if step.put not in known:
            continue
        order.setdefault(step.put)
        hosts, found = _hosts(step, dish, placed, known)
        problems += found
        if found and not hosts and not _has_own_place(step):
            continue
        turn = turns[step.put] = turns.get(step.put, -1) + 1
        try:
            laid, found = Bench(step, plate, hosts, known[step.put], turn).lay()
            problems += found
        except Cannot as exc:
            problems += [exc.problem] if exc.problem else []
            continue
        placed.setdefault(step.put, []).extend(laid)
        # A sauce that lies on nothing runs under what stands on the plate already.
        (pools if step.arrange == "pool" and not hosts else others).extend(laid)
    return Arrangement(plate, (*pools, *others), tuple(order)), tuple(problems)


# --- what lies on what ---------------------------------------------------------------------------------------------


def _has_own_place(step: Step) -> bool:
    return bool(step.at or step.start or step.within or step.arrange == "ring")


def _hosts(step: Step, dish: Dish, placed: dict[str, list[Footprint]], known: dict[str, str]) -> tuple[list[Footprint], list[Problem]]:
    """The pieces that the step lies on, and what is wrong with its ``on``."""
    hosts: list[Footprint] = []
    problems: list[Problem] = []
    for name in step.on:
        if name == RIM:
            continue
        if name not in known:
            problems.append(error("unknown-component", step.place("on"), f"there is no component '{name}' in this dish",
                                  did_you_mean(name, known) or "components: " + ", ".join(sorted(known))))
        elif name in placed:
            hosts += placed[name]
        elif name == step.put or _leads_to(dish, name, step.put):
            problems.append(error("on-each-other", step.place("on"), f"{step.put} is to lie on {name}, and {name} on {step.put}: neither can come first"
                                  if name != step.put else f"{step.put} is to lie on itself before any of it is on the plate",
                                  "give the one that comes first a place of its own"))
        else:
            later = next((s for s in dish.steps if s.put == name), None)
            where = f"comes later (line {later.span.line})" if later else "is never put on the plate"
            problems.append(error("on-not-yet-there", step.place("on"), f"{step.put} is to lie on {name}, which {where}",
                                  f"put {name} before {step.put}" if later else ""))
    return hosts, problems


def _leads_to(dish: Dish, start: str, goal: str) -> bool:
    """Whether ``start`` lies on ``goal``, straight or over others."""
    lies_on: dict[str, set[str]] = {}
    for step in dish.steps:
        lies_on.setdefault(step.put, set()).update(step.on)
    seen, waiting = set(), [start]
    while waiting:
        name = waiting.pop()
        if name == goal:
            return True
        if name not in seen:
            seen.add(name)
            waiting += lies_on.get(name, ())
    return False
