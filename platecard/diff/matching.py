"""Matches the components and steps of the old dish with those of the new."""

from __future__ import annotations

from typing import NamedTuple

from platecard.diff.change import bare
from platecard.model import Component, Dish, Step


class Matched(NamedTuple):
    """Pairs of components and of steps, old and new; None where one is missing on that side."""

    components: tuple[tuple[Component | None, Component | None], ...]
    steps: tuple[tuple[Step | None, Step | None], ...]

    def both(self) -> tuple[tuple[Component, Component], ...]:
        """The pairs of components that are in both dishes."""
        return tuple((a, b) for a, b in self.components if a is not None and b is not None)

    def renamed(self) -> dict[str, str]:
        """Old key → new key, for the components that are in both dishes."""
        return {a.key: b.key for a, b in self.both()}


def match(old: Dish, new: Dish) -> Matched:
    """The dishes matched by key; of the rest, a component from the same source counts as renamed."""
    here = {c.key: c for c in new.components}
    pairs: list[tuple[Component | None, Component | None]] = [(c, here[c.key]) for c in old.components if c.key in here]
    left = [c for c in old.components if c.key not in here]
    known = {c.key for c in old.components}
    right = [c for c in new.components if c.key not in known]
    for was in tuple(left):
        now = next((c for c in right if (c.source.kind, c.source.name) == (was.source.kind, was.source.name)), None)
        if now is not None:
            pairs.append((was, now))
            left.remove(was)
            right.remove(now)
    pairs += [*((c, None) for c in left), *((None, c) for c in right)]
    place = {id(c): i for i, c in enumerate((*new.components, *old.components))}
    pairs.sort(key=lambda p: place[id(p[1])] if p[1] is not None else place[id(p[0])])
    return Matched(tuple(pairs), tuple(_steps(old, new, pairs)))


def _steps(
    old: Dish, new: Dish, pairs: list[tuple[Component | None, Component | None]]
) -> list[tuple[Step | None, Step | None]]:
    found: list[tuple[Step | None, Step | None]] = []
    for a, b in pairs:
        was = [s for s in old.steps if a is not None and s.put == a.key]
        now = [s for s in new.steps if b is not None and s.put == b.key]
        scored = sorted(
            ((_likeness(s, t), i, j) for i, s in enumerate(was) for j, t in enumerate(now)),
            key=lambda x: (-x[0], abs(x[1] - x[2]), x[1] + x[2]),
        )
        taken_a: dict[int, int] = {}
        for _, i, j in scored:
            if i not in taken_a and j not in taken_a.values():
                taken_a[i] = j
        found += [(was[i], now[j]) for i, j in sorted(taken_a.items(), key=lambda p: p[1])]
        found += [(s, None) for i, s in enumerate(was) if i not in taken_a]
        found += [(None, t) for j, t in enumerate(now) if j not in taken_a.values()]
    return found


def _likeness(a: Step, b: Step) -> int:
    """How much two steps have in common; their arrangement counts most, then their section."""
    same = sum(
        bare(getattr(a, name)) == bare(getattr(b, name))
        for name in ("section", "arrange", "count", "piece", "amount", "at", "start", "end", "within", "on")
    )
    return same + 3 * (a.arrange == b.arrange) + 2 * (a.section == b.section)
