"""Dishes built without a spec file, for the tests of layout and drawing."""

from __future__ import annotations

from fractions import Fraction

from platecard.diagnostics import Span
from platecard.model import Accept, Component, Dish, Distance, Facing, Piece, Place, Plate, Region, Source, Step
from platecard.quantities.clock_positions import clock_degrees
from platecard.quantities.units import quantity

SPEC = "specs/dish.yaml"
CENTRE = Place(right_mm=Fraction(0), away_mm=Fraction(0))
LETTERS = "abcdefghijklmnop"


def out(text: str) -> Distance:
    q = quantity(text)
    return Distance(q.mean, q.kind == "share")


def clock(text: str, far: str = "") -> Place:
    return Place(clock_deg=clock_degrees(text), out=out(far) if far else None)


def at_mm(right, away) -> Place:
    return Place(right_mm=Fraction(right), away_mm=Fraction(away))


def piece(shape: str, length, width=None, height=None, grams=None, last=None, hole=None, points=()) -> Piece:
    def exact(value):
        return None if value is None else Fraction(str(value))

    return Piece(
        shape,
        exact(length),
        exact(width if width is not None else length),
        Span(SPEC, 99),
        exact(height),
        exact(grams),
        exact(last),
        exact(hole),
        tuple((exact(x), exact(y)) for x, y in points),
        Span(SPEC, 98) if points else None,
    )


def region(hours: str = "", far: str = "0 to 100 %") -> Region:
    low, high = far.split(" to ")
    unit = high.split()[-1]
    start, end = (map(clock_degrees, hours.split(" to "))) if hours else (None, None)
    return Region(start, end, out(f"{low} {unit}"), out(high))


def step(put: str, **more) -> Step:
    """A step; texts stand for what they say, and each key has its own line from 101 on."""
    number = more.pop("index", 0)
    section = more.pop("section", "plating")
    for key in ("at", "start", "end"):
        if isinstance(more.get(key), str):
            more[key] = CENTRE if more[key] == "centre" else clock(*more[key].split(", "))
    if "out" in more:
        more["out"] = out(more["out"])
    for key in ("on", "may_touch"):
        if isinstance(more.get(key), str):
            more[key] = (more[key],)
    if isinstance(more.get("along_deg"), str):
        more["along_deg"] = clock_degrees(more["along_deg"])
    for key in ("across_mm", "gap_mm", "overlap", "clear_mm", "along_deg"):
        if key in more:
            more[key] = Fraction(str(more[key]))
    if "amount" in more:
        more["amount"] = quantity(more["amount"])
    if isinstance(more.get("facing"), str):
        word = more["facing"]
        more["facing"] = (
            Facing(stance=word)
            if word in ("standing", "leaning")
            else Facing("clock", clock_degrees(word))
            if ":" in word
            else Facing(word)
        )
    written = {
        "start": "from",
        "end": "to",
        "across_mm": "across",
        "gap_mm": "gap",
        "clear_mm": "clear",
        "along_deg": "along",
    }
    places = {written.get(key, key): Span(SPEC, 101 + i) for i, key in enumerate(more)}
    more.setdefault("accept", Accept())
    return Step(number, section, put, Span(SPEC, 100), places, **more)


def dish(
    *steps: Step,
    course: str = "starter",
    colours: dict | None = None,
    called: dict | None = None,
    title: str = "A dish",
) -> Dish:
    """A dish of these steps; its components are whatever they put."""
    from dataclasses import replace

    numbered = tuple(replace(s, index=i + 1, span=Span(SPEC, 10 + i)) for i, s in enumerate(steps))
    keys = dict.fromkeys(s.put for s in steps)
    components = tuple(
        Component(
            k,
            (called or {}).get(k, k),
            Source("ingredient", k, Span(SPEC, 2)),
            "",
            Span(SPEC, 2),
            colour=(colours or {}).get(k, ""),
        )
        for k in keys
    )
    return Dish("dish", title, Span(SPEC, 1), "", course, None, "plate", Span(SPEC, 3), (), components, numbered, ())


def plate(outer=280, well=200, form="rimmed", depth=None, colour="") -> Plate:
    return Plate(
        "plate",
        "plate",
        form,
        Fraction(outer),
        Fraction(well),
        Span("shared/plates.yaml", 2),
        Fraction(depth) if depth else None,
        colour,
    )
