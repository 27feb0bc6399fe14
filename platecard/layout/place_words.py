"""Places, distances and regions of a plate in a cook's words, the same in every document."""

from __future__ import annotations

import math
from fractions import Fraction

from platecard.layout.footprint import clock_of
from platecard.layout.geometry2d import Point
from platecard.model import Distance, Place, Plate, Region, Step
from platecard.quantities.clock_positions import clock_text
from platecard.quantities.units import shown


def mm(value: Fraction | float) -> str:
    """A length in mm, in words."""
    return f"{shown(value)} mm"


def distance(d: Distance, plate: Plate | None = None) -> str:
    """``30 mm out`` or ``101 mm out (80 % of the way to the edge of the plate's well)``."""
    if not d.is_share:
        return f"{mm(d.value)} out"
    share = f"{shown(d.value * 100)} % of the way to the edge of the plate's well"
    # On a plate that is not round, the distance to the edge depends on the direction.
    if plate is None or plate.well_far_mm is not None:
        return share
    return f"{shown(d.value * plate.well_mm / 2, 0)} mm out ({share})"


def place(p: Place, out: Distance | None, plate: Plate | None = None) -> str:
    """``at 2:30, 40 mm out``, ``20 mm right of the centre and 10 mm towards the guest`` or ``in the centre``."""
    if p.clock_deg is not None:
        far = p.out or out
        return f"at {clock_text(float(p.clock_deg))}" + (f", {distance(far, plate)}" if far and far.value else "")
    right, away = p.right_mm or Fraction(0), p.away_mm or Fraction(0)
    sideways = f"{mm(abs(right))} {'right' if right > 0 else 'left'} of the centre" if right else ""
    way = "away from" if away > 0 else "towards"
    if not away:
        return sideways or "in the centre"
    if not right:
        return f"{mm(abs(away))} from the centre, {way} the guest"
    return f"{sideways} and {mm(abs(away))} {way} the guest"


def end(p: Place | None) -> str:
    """One end of what runs from a place to another, such as ``8:00`` or ``12:25 (64 mm out)``; empty if not given."""
    if p is None:
        return ""
    if p.clock_deg is None and p.right_mm and p.away_mm:
        # Both ends in two measures each make a sentence that nobody can follow.
        x, y = float(p.right_mm), float(p.away_mm)
        return f"{clock_text(clock_of(x, y))} ({shown(math.hypot(x, y), 0)} mm out)"
    return as_end(place(p, None))


def as_end(words: str) -> str:
    """The words for a place as they read after "from" or "to": ``8:00``, ``8:00 (30 mm out)``, ``the centre``.

    How far out it is stands in brackets, so that nobody reads it on to the other end: "42 mm out to 2:00".
    """
    first, comma, rest = words.removeprefix("at ").removeprefix("in ").partition(", ")
    return f"{first} ({rest})" if comma else first


def how_far(step: Step, plate: Plate | None) -> str:
    """How far out a step says that its pieces lie, behind a comma; empty where it does not say."""
    return f", {distance(step.out, plate)}" if step.out else ""


def region(r: Region) -> str:
    """``2:00 to 4:00, 20 to 60 mm out`` or ``all round, up to 40 mm out``."""
    between = (
        f"{shown(r.inner.value * 100)} to {shown(r.outer.value * 100)} % of the way out"
        if r.outer.is_share
        else f"{shown(r.inner.value)} to {shown(r.outer.value)} mm out"
    )
    if not r.inner.value:
        between = "" if r.outer.is_share and r.outer.value == 1 else f"up to {distance(r.outer)}"
    around = (
        f"{clock_text(float(r.from_deg))} to {clock_text(float(r.to_deg))}"
        if r.from_deg is not None and r.to_deg is not None
        else "all round"
    )
    return ", ".join(x for x in (around, between) if x)


def where(point: Point) -> str:
    """A point of the plate in words: "at 4:00, 30 mm out", or "in the centre"."""
    out = math.hypot(*point)
    return "in the centre" if out < 3 else f"at {clock_text(clock_of(*point))}, {shown(out, 0)} mm out"
