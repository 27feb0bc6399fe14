"""Which callout goes where, and on which piece its leader ends.

Leaders should be short, pass over little other food, and not cross.  A leader may end on
any visible piece of its component.  Components with the least choice choose first; then
each chooses again with all others settled.  If two leaders still cross, their callouts
change places, which makes the two together shorter, until none cross.  Lengths are
millimetres, with the plate's middle as origin and y down.
"""

from __future__ import annotations

import math
from bisect import bisect_left
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass

from platecard.layout.footprint import Footprint
from platecard.layout.geometry2d import Box, Point

_CLEAR = 1.6  # the least distance in mm between two callouts
_ENDS = 6  # how many ends are looked at for one callout, the nearest to the ring first
_LOOKED_AT = 4  # how many free places on the ring are looked at on each side of an end
_WEIGHED = 3  # how many pairs of end and place are weighed in full
_OVER_FOOD, _CROSSING = 14.0, 45.0  # what passing over a piece and crossing a leader cost, in mm of leader
_CLOSE = 9.0  # mm; two ends that are closer than this cost the more the closer they are
_ROUNDS = 2
_REACH = 6  # how many places apart on a crowded ring callouts may exchange theirs
_MANY = 8  # more callouts than this may crowd the ring

DiscPlace = tuple[float, Point, Box]  # clock degrees, middle of the disc, box of disc and count
Solid = tuple[str, float, float, float, float, int]  # see `solid`
LeaderCosts = dict[tuple[str, Point, Point], float]  # component, middle of the disc, end → cost of the leader alone


@dataclass(frozen=True, slots=True, order=True)
class LeaderEnd:
    """A point where a leader may end, how far from ideal it is (in mm of leader), and the width of its piece in mm."""

    point: Point
    cost: float
    size: float


def solid(prints: Iterable[Footprint], later: frozenset[int]) -> list[Solid]:
    """What leaders should not pass over: all pieces but pools and those of the steps ``later``.

    Each is its component, x and y of its middle, the squares of half its thickness and of half its length, and how
    much it counts.
    """
    return [
        (
            f.component,
            f.centre[0],
            -f.centre[1],
            max(0.42 * min(f.length_mm, f.width_mm), 2.5) ** 2,
            (0.5 * max(f.length_mm, f.width_mm)) ** 2,
            # A line over a dot or a crumb hides it, and whoever counts the pieces misses it.
            4 if min(f.length_mm, f.width_mm) < 10 else 1,
        )
        for f in prints
        if f.shape != "pool" and f.step not in later
    ]


def marks(boxes: Iterable[Box]) -> list[Solid]:
    """Words on the plate, in the form of ``solid``, as something that leaders should not pass over."""
    return [
        ("", (b[0] + b[2]) / 2, (b[1] + b[3]) / 2, (0.4 * min(b[2] - b[0], b[3] - b[1]) + 1.0) ** 2, 0.0, 3)
        for b in boxes
    ]


def settled(
    ends: Mapping[str, list[LeaderEnd]],
    places: Sequence[DiscPlace],
    solids: Sequence[Solid],
    known: LeaderCosts | None = None,
) -> dict[str, tuple[Point, LeaderEnd]] | None:
    """The middle of the disc and the end of the leader for each component, or None if there are not enough places.

    ``known`` keeps the costs of single leaders between calls with the same ring.
    """
    known = {} if known is None else known
    # When free choice would waste too much of the ring, only places packed side by side are offered.
    close = _side_by_side(places) if len(ends) > _MANY else None
    spare = len(places if close is None else close) - len(ends)
    if spare < 0:
        return None
    order = sorted(ends, key=lambda c: (len(ends[c]) > 2, -max(round(math.hypot(*e.point), 3) for e in ends[c]), c))
    for choice in (places, close) if spare > 2 else (close,):
        choice = _side_by_side(places) if choice is None else choice
        table = _Table(ends, choice, solids, known)
        # Those with the least choice go first: few ends before many, then those that lie furthest out.
        if len(choice) >= len(ends) and all(table.settle(c) for c in order):
            break
    else:
        return None
    for _ in range(_ROUNDS):
        # With little choice of places, they are exchanged further along the ring, not only between neighbours.
        if not any([table.settle(c) for c in ends]) and not table.exchange(1 if choice is places else _REACH):
            break
    return table.untangled()


def _side_by_side(places: Sequence[DiscPlace]) -> list[DiscPlace]:
    """Places clear of each other, taken one after another round the ring from the bottom, where other marks stand."""
    start = next((i for i, p in enumerate(places) if p[0] >= 180), 0)
    taken: list[DiscPlace] = []
    for p in (*places[start:], *places[:start]):
        left, top, right, bottom = p[2]
        left, top, right, bottom = left - _CLEAR, top - _CLEAR, right + _CLEAR, bottom + _CLEAR
        for _, _, q in (*taken[-2:], *taken[:2]):
            if left <= q[2] and q[0] <= right and top <= q[3] and q[1] <= bottom:
                break
        else:
            taken.append(p)
    return sorted(taken)


class _Table:
    """Which component has which place and end so far.  Costs are in mm of leader."""

    def __init__(
        self,
        ends: Mapping[str, list[LeaderEnd]],
        places: Sequence[DiscPlace],
        solids: Sequence[Solid],
        known: LeaderCosts,
    ) -> None:
        self.ends, self.places, self.solids = ends, places, solids
        self.blocked = [0] * len(places)  # how many callouts stand at each place or too close to it
        self.chosen: dict[str, tuple[int, LeaderEnd]] = {}
        self._near: dict[int, list[int]] = {}
        self._over = known
        self._nearest: dict[tuple[str, int], tuple[float, LeaderEnd]] = {}
        angles = [p[0] for p in places]
        far = [math.hypot(*p[1]) for p in places]
        is_long = bool(far) and max(far) > 1.02 * min(far)
        self._rows: dict[str, list[tuple[float, Point, int, LeaderEnd]]] = {}
        for c, choice in ends.items():
            rows = []
            for e in choice:
                k = _nearest(e.point, places) if is_long else bisect_left(angles, _angle(e.point)) % len(places)
                rows.append((math.dist(e.point, places[k][1]) + e.cost, e.point, k, e))
            rows.sort(key=lambda r: r[:3])
            self._rows[c] = rows[:_ENDS]

    def settle(self, c: str) -> bool:
        """Give component ``c`` the best end and free place; return whether that changed anything."""
        before = self.chosen.pop(c, None)
        if before:
            self._block(before[0], -1)
        options = self._options(c)
        if before:
            options.append((0.0, before[0], before[1]))
        if not options:
            return False
        costs = [(self.cost(c, k, e), k, e.point, e) for _, k, e in options]
        least, k, _, e = min(costs, key=lambda o: o[:3])
        if before and least > costs[-1][0] - 0.5:
            k, e = before  # the last of the options: kept unless another is better by more than half a millimetre
        self.chosen[c] = k, e
        self._block(k, 1)
        return (k, e) != before

    def _block(self, k: int, by: int) -> None:
        if k not in self._near:
            left, top, right, bottom = self.places[k][2]
            left, top, right, bottom = left - _CLEAR, top - _CLEAR, right + _CLEAR, bottom + _CLEAR
            self._near[k] = [
                i
                for i, (_, _, p) in enumerate(self.places)
                if left <= p[2] and p[0] <= right and top <= p[3] and p[1] <= bottom
            ]
        for i in self._near[k]:
            self.blocked[i] += by

    def _options(self, c: str) -> list[tuple[float, int, LeaderEnd]]:
        """The shortest leaders to free places, the most promising first."""
        places, found = self.places, []
        free = [k for k, by in enumerate(self.blocked) if not by]
        if not free:
            return []
        for _, point, start, e in self._rows[c]:
            # A few free places on each side of the one nearest to this end.
            first, many = bisect_left(free, start), min(_LOOKED_AT, len(free))
            for at in range(first - many, first + many):
                k = free[at % len(free)]
                found.append((math.dist(point, places[k][1]) + e.cost, k, point, e))
        found.sort()
        return [(far, k, e) for far, k, _, e in found[:_WEIGHED]]

    def cost(self, c: str, k: int, e: LeaderEnd) -> float:
        """What a leader from place ``k`` to end ``e`` costs, given all other leaders settled so far."""
        spot, point = self.places[k][1], e.point
        total = self._over.get((c, spot, point))
        if total is None:
            total = self._over[c, spot, point] = (
                math.dist(point, spot) + e.cost + _OVER_FOOD * passed(c, point, spot, self.solids)
            )
        for other, (j, end) in self.chosen.items():
            if other != c:
                far = math.dist(point, end.point)
                if far < _CLOSE:
                    total += 4 * (_CLOSE - far)
                if cross(spot, point, self.places[j][1], end.point):
                    total += _CROSSING
        return round(total, 6)

    def exchange(self, reach: int) -> bool:
        """Let pairs of callouts change places where that is better for the two together; return whether any did.

        The two are at most ``reach`` callouts apart on the ring.
        """
        row = sorted(self.chosen, key=lambda c: self.chosen[c][0])
        any_did = False
        now = {c: self.cost(c, *self.chosen[c]) for c in row}
        for n, a in enumerate(row):
            for b in row[n + 1 : n + 1 + reach]:
                (j, d), (k, e) = self.chosen[a], self.chosen[b]
                before = now[a] + now[b]
                (far, mine), (off, theirs) = self._best(a, k), self._best(b, j)
                if far + off > before:
                    continue
                self.chosen[a], self.chosen[b] = (k, mine), (j, theirs)
                if self.cost(a, k, mine) + self.cost(b, j, theirs) < before - 0.5:
                    any_did = True
                    now = {c: self.cost(c, *self.chosen[c]) for c in row}
                else:
                    self.chosen[a], self.chosen[b] = (j, d), (k, e)
        return any_did

    def _best(self, c: str, k: int) -> tuple[float, LeaderEnd]:
        """The cheapest end of component ``c`` for place ``k``: its cost, and the end."""
        if (c, k) not in self._nearest:
            x, y = self.places[k][1]
            far, _, e = min((math.hypot(e.point[0] - x, e.point[1] - y) + e.cost, e.point, e) for e in self.ends[c])
            self._nearest[c, k] = far, e
        return self._nearest[c, k]

    def untangled(self) -> dict[str, tuple[Point, LeaderEnd]]:
        """The middle of the disc and the end for each component, with no leaders crossing."""
        named = list(self.ends)
        spots = {c: self.places[self.chosen[c][0]][1] for c in named}
        end = {c: self.chosen[c][1] for c in named}
        for _ in range(len(named) ** 2 + 1):
            pair = next(
                (
                    (a, b)
                    for i, a in enumerate(named)
                    for b in named[i + 1 :]
                    if cross(spots[a], end[a].point, spots[b], end[b].point)
                ),
                None,
            )
            if not pair:
                break
            a, b = pair
            spots[a], spots[b] = spots[b], spots[a]
        return {c: (spots[c], end[c]) for c in named}


def _nearest(p: Point, places: Sequence[DiscPlace]) -> int:
    """The place nearest to a point, on a plate that is not round.

    Every fourth place is measured, then those beside the best.
    """
    n = len(places)
    near = min(range(0, n, 4), key=lambda i: (math.dist(p, places[i][1]), i))
    return min((i % n for i in range(near - 3, near + 4)), key=lambda i: (math.dist(p, places[i][1]), i))


def _angle(p: Point) -> float:
    return math.degrees(math.atan2(p[0], -p[1])) % 360


def passed(component: str, end: Point, spot: Point, solids: Sequence[Solid]) -> int:
    """How many pieces of other components a leader passes over; small ones count more, those under its end do not."""
    ex, ey = end
    ux, uy = spot[0] - ex, spot[1] - ey
    square = ux * ux + uy * uy
    count = 0
    for other, x, y, thick, reach, weight in solids:
        dx, dy = x - ex, y - ey
        off = dx * uy - dy * ux
        if (
            off * off < thick * square
            and 0 < dx * ux + dy * uy < square
            and dx * dx + dy * dy >= reach
            and other != component
        ):
            count += weight
    return count


def cross(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether the lines from a to b and from c to d cross."""
    ax, ay = a
    cx, cy = c
    ux, uy, vx, vy = b[0] - ax, b[1] - ay, d[0] - cx, d[1] - cy
    # They cross if c and d lie on opposite sides of the first line, and a and b on opposite sides of the second.
    side = ux * (cy - ay) - uy * (cx - ax)
    if side * (side + ux * vy - uy * vx) > -1e-6:  # two lines that share an end do not cross there
        return False
    side = vx * (ay - cy) - vy * (ax - cx)
    return side * (side + vx * uy - vy * ux) < -1e-6
