"""Where the labels of the parts stand: in two columns beside a picture, each with a line to a piece of its part.

Lines should be short, pass over little other food, and never cross.  All lengths are
millimetres of the paper, y down.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from typing import NamedTuple

from platecard.documents.diagram.leader_lines import LeaderEnd, Solid, cross, passed
from platecard.documents.diagram.spread import ascending
from platecard.layout.geometry2d import Point

GAP = 2.6  # the least distance between two labels
_OVER_FOOD = 9.0  # what passing over a piece costs, in mm of line
_ENDS = 24  # how many ends of one part are looked at
_ROUNDS = 4
_UNEVEN = 0.002  # what the square of a column's height costs, so that the two are alike


class Column(NamedTuple):
    """Room for labels on one side: the x of the edge that faces the picture, and where the room begins and ends."""

    edge: float
    top: float
    bottom: float


class Size(NamedTuple):
    """How large a label is on one side: its height, where its line begins from its top, how far its text ends early."""

    height: float
    anchor: float
    short: float = 0.0


class Spot(NamedTuple):
    """Where one label stands: its side (0 left, 1 right), its top, and its line, from the column's edge to a piece.

    ``short`` is how far from the edge the text ends, so that the line can be drawn on to it.
    """

    side: int
    top: float
    start: Point
    target: Point
    piece_mm: float
    short: float


def may_fit(sizes: Mapping[str, tuple[Size, Size]], columns: tuple[Column, Column]) -> bool:
    """Whether the labels are not too high for the columns altogether; a yes may be wrong, a no never is."""
    least = sum(min(a.height, b.height) + GAP for a, b in sizes.values())
    return least <= sum(max(c.bottom - c.top, 0.0) + GAP for c in columns)


def place(
    ends: Mapping[str, Sequence[LeaderEnd]],
    sizes: Mapping[str, tuple[Size, Size]],
    columns: tuple[Column, Column],
    solids: Sequence[Solid] = (),
) -> dict[str, Spot] | None:
    """A place for the label of each part, or None if the columns cannot hold them.

    ``ends`` are the points where the line of a part may end, ``sizes`` the size of its label on the left and on the
    right.  ``solids`` is the food that lines should not pass over.
    """
    few = {key: _thinned(choice) for key, choice in ends.items()}
    order = sorted(few, key=lambda key: (sum(e.point[0] for e in few[key]) / len(few[key]), key))
    best: tuple[float, tuple[list[str], list[str]]] | None = None
    for split in range(len(order) + 1):
        sides = order[:split], order[split:]
        if any(
            _height(keys, sizes, side) > columns[side].bottom - columns[side].top for side, keys in enumerate(sides)
        ):
            continue
        cost = sum(_reach(few[key], columns[side]) for side, keys in enumerate(sides) for key in keys)
        # Columns of uneven height waste the room for larger type.
        cost += _UNEVEN * sum(_height(keys, sizes, side) ** 2 for side, keys in enumerate(sides))
        if best is None or cost < best[0] - 1e-9:
            best = cost, sides
    if best is None:
        return None
    made: dict[str, Spot] = {}
    for side, keys in enumerate(best[1]):
        made.update(_column(keys, few, sizes, side, columns[side], solids))
    return made


def length(spots: Mapping[str, Spot]) -> float:
    """How long all lines are together, in mm."""
    return sum(math.dist(s.start, s.target) for s in spots.values())


def _thinned(choice: Sequence[LeaderEnd]) -> list[LeaderEnd]:
    least = min(e.cost for e in choice)
    best = sorted((e for e in choice if e.cost < least + 8.0), key=lambda e: (e.point, e.cost))
    return best[:: math.ceil(len(best) / _ENDS)]


def _height(keys: Sequence[str], sizes: Mapping[str, tuple[Size, Size]], side: int) -> float:
    return sum(sizes[key][side].height + GAP for key in keys) - GAP if keys else 0.0


def _reach(choice: Sequence[LeaderEnd], column: Column) -> float:
    """How far the nearest end lies from a column."""
    return min(abs(column.edge - e.point[0]) + e.cost for e in choice)


def _column(
    keys: Sequence[str],
    ends: Mapping[str, Sequence[LeaderEnd]],
    sizes: Mapping[str, tuple[Size, Size]],
    side: int,
    column: Column,
    solids: Sequence[Solid],
) -> dict[str, Spot]:
    """The labels of one side, from the top down in the order in which their lines do not cross."""
    chosen = {key: min(ends[key], key=lambda e: (_reach([e], column), e.point)) for key in keys}
    order = sorted(keys, key=lambda key: (chosen[key].point[1], key))
    tops: dict[str, float] = {}
    for _ in range(_ROUNDS):
        tops = _stacked(order, {key: chosen[key].point[1] for key in keys}, sizes, side, column)
        starts = {key: _start(key, tops[key], sizes, side, column) for key in keys}
        for key in keys:
            chosen[key] = min(ends[key], key=lambda e: (_cost(key, starts[key], e, solids), e.point))
        again = sorted(order, key=lambda key: chosen[key].point[1])
        if again == order:
            break
        order = again
    order = _untangled(order, chosen, sizes, side, column)
    tops = _stacked(order, {key: chosen[key].point[1] for key in keys}, sizes, side, column)
    return {
        key: Spot(
            side,
            tops[key],
            _start(key, tops[key], sizes, side, column),
            chosen[key].point,
            chosen[key].size,
            sizes[key][side].short,
        )
        for key in order
    }


def _start(key: str, top: float, sizes: Mapping[str, tuple[Size, Size]], side: int, column: Column) -> Point:
    return column.edge, top + sizes[key][side].anchor


def _cost(key: str, start: Point, end: LeaderEnd, solids: Sequence[Solid]) -> float:
    return round(math.dist(start, end.point) + end.cost + _OVER_FOOD * passed(key, end.point, start, solids), 6)


def _untangled(
    order: Sequence[str],
    chosen: Mapping[str, LeaderEnd],
    sizes: Mapping[str, tuple[Size, Size]],
    side: int,
    column: Column,
) -> list[str]:
    """The order in which no two lines cross: two that do change places, which makes them shorter together."""
    row = list(order)
    for _ in range(len(row) ** 2):
        tops = _stacked(row, {key: chosen[key].point[1] for key in row}, sizes, side, column)
        at = {key: _start(key, tops[key], sizes, side, column) for key in row}
        pair = next(
            (
                (i, j)
                for i in range(len(row))
                for j in range(i + 1, len(row))
                if cross(at[row[i]], chosen[row[i]].point, at[row[j]], chosen[row[j]].point)
            ),
            None,
        )
        if pair is None:
            break
        i, j = pair
        row[i], row[j] = row[j], row[i]
    return row


def _stacked(
    order: Sequence[str],
    wanted: Mapping[str, float],
    sizes: Mapping[str, tuple[Size, Size]],
    side: int,
    column: Column,
) -> dict[str, float]:
    """The tops of labels below each other, each as near as possible, by least squares, to where its line ends."""
    offsets: list[float] = []
    far = 0.0
    for key in order:
        offsets.append(far)
        far += sizes[key][side].height + GAP
    low, high = column.top, column.bottom - (far - GAP)
    means = ascending([wanted[key] - sizes[key][side].anchor - off for key, off in zip(order, offsets)])
    return {key: min(max(mean, low), high) + off for key, mean, off in zip(order, means, offsets)}
