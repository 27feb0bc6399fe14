"""What moved between two layouts of a plate, piece by piece.

In: two arrangements, and which step of the one is which step of the other.  Out: for
each pair of steps the pieces that stayed or moved, those that are gone, and those that
are new.  Millimetres from the middle of the plate, as in :mod:`~platecard.layout.footprint`.
"""

from __future__ import annotations

import math
from collections.abc import Iterable
from typing import NamedTuple

from platecard.layout.footprint import Arrangement, Footprint

STILL_MM = 0.5
"""A piece that moved by less counts as still: no hand could tell the difference."""
_MOST_PAIRS = 40_000  # with more, the nearest pieces are not sought and pieces are paired by number


class Moves(NamedTuple):
    """The pieces of one step in the old and the new dish; a step number is None where the step is not in that dish."""

    component: str
    old_step: int | None
    new_step: int | None
    pairs: tuple[tuple[Footprint, Footprint], ...]
    gone: tuple[Footprint, ...]
    new: tuple[Footprint, ...]

    @property
    def moved(self) -> tuple[tuple[Footprint, Footprint], ...]:
        """The pairs that lie further apart than :data:`STILL_MM`."""
        return tuple((a, b) for a, b in self.pairs if math.dist(a.centre, b.centre) > STILL_MM)

    @property
    def furthest_mm(self) -> float:
        """How far the piece that moved most has moved; 0 where there is no pair."""
        return max((math.dist(a.centre, b.centre) for a, b in self.pairs), default=0.0)

    @property
    def together_mm(self) -> float:
        """How far the middle of all the paired pieces moved."""
        if not self.pairs:
            return 0.0
        before, after = middle(a for a, _ in self.pairs), middle(b for _, b in self.pairs)
        return math.dist(before, after)


def middle(pieces: Iterable[Footprint]) -> tuple[float, float]:
    """The mean of the pieces' centres."""
    points = [p.centre for p in pieces]
    return sum(x for x, _ in points) / len(points), sum(y for _, y in points) / len(points)


def between(
    old: Arrangement | None, new: Arrangement | None, steps: Iterable[tuple[int | None, int | None]]
) -> tuple[Moves, ...]:
    """The moves of each pair of steps; a step without a counterpart is gone or new as a whole."""
    before, after = _by_step(old), _by_step(new)
    found = []
    for a, b in steps:
        was, now = before.get(a, ()), after.get(b, ())
        if not was and not now:
            continue
        pairs = _paired(was, now)
        taken_a, taken_b = {id(p) for p, _ in pairs}, {id(p) for _, p in pairs}
        found.append(
            Moves(
                (now or was)[0].component,
                a,
                b,
                tuple(pairs),
                tuple(p for p in was if id(p) not in taken_a),
                tuple(p for p in now if id(p) not in taken_b),
            )
        )
    return tuple(found)


def _by_step(arrangement: Arrangement | None) -> dict[int | None, tuple[Footprint, ...]]:
    found: dict[int | None, list[Footprint]] = {}
    for f in arrangement.footprints if arrangement else ():
        found.setdefault(f.step, []).append(f)
    return {k: tuple(sorted(v, key=lambda f: f.index)) for k, v in found.items()}


def _paired(was: tuple[Footprint, ...], now: tuple[Footprint, ...]) -> list[tuple[Footprint, Footprint]]:
    """The pieces paired with what became of them.

    They are paired by number where both steps have as many pieces and nothing then moves further in
    all than when paired by distance; otherwise each goes with the nearest.
    """
    by_number = list(zip(was, now))
    if len(was) * len(now) > _MOST_PAIRS:
        return by_number
    near: list[tuple[Footprint, Footprint]] = []
    free_a, free_b = set(range(len(was))), set(range(len(now)))
    # Ties are broken alike whichever side is the old one.
    for _, i, j in sorted(
        ((round(math.dist(a.centre, b.centre), 3), i, j) for i, a in enumerate(was) for j, b in enumerate(now)),
        key=lambda t: (t[0], abs(t[1] - t[2]), t[1] + t[2]),
    ):
        if i in free_a and j in free_b:
            free_a.discard(i)
            free_b.discard(j)
            near.append((was[i], now[j]))
    near.sort(key=lambda p: (p[0].index, p[1].index))
    return by_number if len(was) == len(now) and _way(by_number) <= _way(near) + 1e-6 else near


def _way(pairs: list[tuple[Footprint, Footprint]]) -> float:
    return sum(math.dist(a.centre, b.centre) for a, b in pairs)
