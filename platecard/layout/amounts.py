"""Checks of amounts against sizes: sauces that run, impossible weights, pieces that tip over."""

from __future__ import annotations

import math
from collections.abc import Iterator

from platecard.diagnostics import error, warning
from platecard.layout import arrangements, geometry2d, plate_geometry, shapes, volumes
from platecard.layout.footprint import Fault, Footprint
from platecard.layout.geometry2d import Outline
from platecard.layout.pattern import PULLED
from platecard.layout.plate_geometry import capacity_ml
from platecard.model import Dish, Plate, Step
from platecard.quantities.bounds import bounds
from platecard.quantities.units import Quantity, shown

_HEAVY = 1.3  # g/ml: a thick caramel
_SLACK = 1.3  # piped and spooned shapes differ from their drawn size by up to this factor
_THIN, _THICK = 0.4, 6.0  # mm: a thinner sauce dries out; a thicker one spreads unless a wall holds it
_USUAL = 2.0  # mm: how deep a sauce usually lies
_TILT_DEG = 15.0  # a carried plate tilts by less than this; a piece that tips sooner is not safe (practice)


def sauce(plate: Plate, dish: Dish, by_step: dict[int, list[Footprint]], called: dict[str, str]) -> Iterator[Fault]:
    """Faults of sauces: more than the well holds, or one that will not stay as it is drawn."""
    total, last = 0.0, None
    holds = capacity_ml(plate)
    for s in dish.steps:
        if not arrangements.is_poured(s) or s.amount is None or s.amount.kind not in ("volume", "mass"):
            continue
        ml = float(s.amount.high)  # a weight counts as if it were water
        total, last = total + ml, s
        if holds is not None and total > holds:
            continue  # that it does not fit is reported
        for f in by_step.get(s.index, ()):
            thick = 1000 * ml / geometry2d.area(f.outline)
            walled = plate.form != "board" and f.length_mm >= 0.9 * float(plate.well_mm) and plate.depth_mm is not None
            if thick < _THIN or thick > _THICK and not walled:
                others = [g for index, row in by_step.items() if index != s.index for g in row]
                yield Fault(
                    warning(
                        "pool-thickness",
                        s.place("across"),
                        f"{s.amount.text} of {called[s.put]} over {shown(f.length_mm)} mm would lie {shown(thick)} mm"
                        " deep" + (" and leave bare patches" if thick < _THIN else " and go on spreading"),
                        _remedy(plate, f, s.amount, thick, others),
                    ),
                    (f,),
                )
    if last and holds is not None and total > holds:
        pools = tuple(f for s in dish.steps if arrangements.is_poured(s) for f in by_step.get(s.index, ()))
        yield Fault(
            error(
                "too-much-sauce",
                last.place("amount"),
                f"{shown(total)} ml of sauce on a plate that holds {shown(holds, 0)} ml to the brim",
                "pour less, or use a deeper plate",
            ),
            pools,
        )
    for s in dish.steps:
        pattern = arrangements.find(s.arrange)
        if pattern and pattern.laid == PULLED and s.amount is not None and s.index in by_step:
            yield from _pulled(s, s.amount, by_step[s.index], called[s.put])


def _remedy(plate: Plate, pool: Footprint, amount: Quantity, thick: float, others: list[Footprint]) -> str:
    """Another width for a pool where one suits the plate and what lies round it, and otherwise another amount."""
    bound = _THIN if thick < _THIN else _THICK
    for deep in (_USUAL, bound):
        width = pool.length_mm * math.sqrt(thick / deep)
        width = round(width) if deep == _USUAL else math.floor(width) if bound == _THIN else math.ceil(width)
        if _suits(plate, pool, width / pool.length_mm, others):
            return f"write across: {width} mm, its width at {shown(deep)} mm deep"
    most = geometry2d.area(pool.outline) * bound / 1000
    unit = "g" if amount.kind == "mass" else "ml"
    if bound == _THIN:
        return f"use {math.ceil(most)} {unit} or more"
    return f"use {math.floor(most)} {unit} or less: there is no room to spread it wider"


def _suits(plate: Plate, pool: Footprint, grown: float, others: list[Footprint]) -> bool:
    """Whether a pool so much wider stays in the well, meets nothing more, and still bears what lies on it."""
    x0, y0 = pool.centre
    outline = tuple((x0 + grown * (x - x0), y0 + grown * (y - y0)) for x, y in pool.outline)
    well = plate_geometry.well(plate)
    if any(well.beyond(point) > 0 for point in outline):
        return False
    for other in others:
        if not _meet(pool.outline, other):
            if _meet(outline, other):
                return False
        elif all(geometry2d.contains(pool.outline, p) for p in other.outline):
            if not all(geometry2d.contains(outline, p) for p in other.outline):
                return False
    return True


def _meet(pool: Outline, piece: Footprint) -> bool:
    """Whether a piece lies over the edge of a pool or within it."""
    return geometry2d.meet(pool, piece.outline) or geometry2d.contains(pool, piece.centre)


def _pulled(step: Step, amount: Quantity, pieces: list[Footprint], name: str) -> Iterator[Fault]:
    """The faults of a swipe or drizzle whose amount is too much or too little for its length and width."""
    for f in pieces:
        ml = float(amount.mean)
        thick = ml / (volumes.volume_ml(f.shape, f.length_mm, f.width_mm, 1.0) or 1.0)
        most = 6.0 if f.shape == "swipe" else 1.2 * f.width_mm
        if thick > most or thick < 0.25:
            yield Fault(
                warning(
                    "pool-thickness",
                    step.place("across"),
                    f"{shown(ml)} ml of {name} in a {f.shape} of {shown(f.length_mm, 0)} x {shown(f.width_mm)} mm would"
                    f" be {shown(thick)} mm thick" + (" and break up" if thick < 0.25 else " and go on spreading"),
                    "change the amount, the width or the length",
                ),
                (f,),
            )


def weight(step: Step, pieces: list[Footprint], name: str) -> Iterator[Fault]:
    """The fault of a weight that a piece of its size cannot have."""
    piece = step.piece
    shape = shapes.find(piece.shape) if piece else None
    if not piece or piece.weight_g is None or shape is None or not shape.has_volume:
        return
    sizes = float(piece.length_mm), float(piece.width_mm)
    height = float(piece.height_mm) if piece.height_mm is not None else None
    hole = float(piece.hole_mm) if piece.hole_mm else None
    ml = volumes.volume_ml(piece.shape, *sizes, height, hole, tuple((float(x), float(y)) for x, y in piece.points))
    if piece.last_mm is not None:
        ml = volumes.graded_ml(piece.shape, [f.length_mm for f in pieces], height)
    if not ml:
        return
    grams = float(piece.weight_g)
    if bounds().limits["piece on the plate"].verdict(piece.weight_g, piece.weight_g):
        return  # no piece weighs that, whatever its size, which is reported
    light = shape.lightest
    if light / _SLACK <= grams / ml <= _HEAVY * _SLACK:
        return
    size = f"{shown(sizes[0])} x {shown(sizes[1])}" + (f" x {shown(height)}" if height else "") + " mm"
    yield Fault(
        warning(
            "weight-and-size",
            step.place("piece"),
            f"a {piece.shape} of {size} is about {_small(ml)} ml, so {_small(grams)} g of {name} is too"
            f" {'heavy' if grams > ml else 'light'} for it",
            f"a piece of that size weighs {_small(ml * light)} to {_small(ml * _HEAVY)} g",
        ),
        tuple(pieces),
    )


def _small(value: float) -> str:
    """A number as people read it, to two significant figures below 1: a drop of oil weighs hundredths of a gram."""
    return shown(value) if value >= 1 else f"{value:.2g}"


def unstable(step: Step, pieces: list[Footprint], name: str) -> Iterator[Fault]:
    """The fault of a piece or stack that tips over when the plate is carried.

    An upright body tips once the tilt passes atan(base / height).
    """
    f = pieces[0]
    if f.height_mm is None or f.stance == "leaning" or f.stance == "standing" and step.on:
        return  # it leans on something, or is stuck into it
    pattern = arrangements.find(step.arrange)
    is_stack = pattern is not None and pattern.stacks
    high = f.height_mm * len(pieces) if is_stack else f.height_mm
    base = min(f.length_mm, f.width_mm)
    tilt = math.degrees(math.atan2(base, high))
    if tilt < _TILT_DEG:
        what = f"the stack of {name}" if is_stack else f"{'each piece of ' if len(pieces) > 1 else ''}{name}"
        yield Fault(
            warning(
                "unstable",
                step.place("piece"),
                f"{what} stands {shown(high)} mm high on a base of {shown(base)} mm and tips over if the plate tilts by"
                f" {shown(tilt, 0)} degrees",
                f"keep it under {shown(base / math.tan(math.radians(_TILT_DEG)), 0)} mm, or put it on something that"
                " holds it",
            ),
            tuple(pieces),
        )
