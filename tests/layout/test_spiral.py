"""A spiral: along its curve, with its gap, in its words."""

from __future__ import annotations

import ast
import math
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import Polygon as Area

import platecard
from platecard.documents.diagram import plate as above
from platecard.documents.text import placement_text, wording
from platecard.layout.arrange import place
from platecard.layout.checks import check
from platecard.layout.footprint import clock_of
from tests.laid import dish, piece, plate, step

BASE = Path(platecard.__file__).parent
DISCS = step("a", count=24, piece=piece("disc", 10), arrange="spiral", start="3:00", out="90 mm", gap_mm=2)


def laid(s, on=None):
    arrangement, problems = place(dish(s), on or plate(300, 240))
    assert not problems, problems
    return arrangement.footprints


def turned(found, start: float, side: float) -> list[float]:
    """How far round each piece lies from the first, in degrees, more than once round included."""
    angles, before = [], 0.0
    for f in found:
        angle = (side * (clock_of(*f.centre) - start)) % 360
        while angle < before - 1e-6:
            angle += 360
        angles.append(angle)
        before = angle
    return angles


@pytest.mark.parametrize("anticlockwise, side", [(False, 1.0), (True, -1.0)])
def test_discs_lie_on_the_spiral_that_is_worked_out_by_hand(anticlockwise, side):
    """Discs of 10 mm with a gap of 2 mm: 12 mm from one middle to the next, and 12 mm nearer with each turn."""
    found = laid(replace(DISCS, anticlockwise=anticlockwise, count=44))
    assert found[0].centre == pytest.approx((90, 0))
    angles = turned(found, 90.0, side)
    assert 350 < angles[-1] < 370
    for f, angle in zip(found, angles, strict=True):
        assert math.hypot(*f.centre) == pytest.approx(90 - 12 * angle / 360, abs=1e-4)
    for a, b in zip(found, found[1:]):
        assert math.dist(a.centre, b.centre) == pytest.approx(12, abs=1e-4)


def test_its_turns_are_no_further_apart_than_the_gap_asks_for():
    """A spiral leans inwards, so that 12 mm between its turns would be a little less straight across."""
    found = laid(replace(DISCS, count=120))
    angles = turned(found, 90.0, 1.0)
    assert angles[-1] > 3 * 360
    out = [math.hypot(*f.centre) for f in found]
    assert 12 < 360 * (out[0] - out[-1]) / angles[-1] < 12 * 1.02**3
    assert all(
        (out[0] - r) / (out[0] - out[-1]) == pytest.approx(a / angles[-1], abs=1e-6) for r, a in zip(out, angles)
    )


def test_the_second_disc_by_hand():
    """90² + r² - 2·90·r·cos t = 12² with r = 90 - t/30 is solved by t = 7.657°, r = 89.745 mm."""
    second = laid(DISCS)[1]
    assert clock_of(*second.centre) - 90 == pytest.approx(7.657, abs=0.01)
    assert math.hypot(*second.centre) == pytest.approx(89.745, abs=0.001)


def test_the_long_axis_follows_the_curve_unless_the_chef_says_otherwise():
    bars = replace(DISCS, piece=piece("bar", 24, 8), count=12)
    for f in laid(bars):
        along = clock_of(*f.centre) + 90
        assert 0 < (f.axis_deg - along) % 360 < 5, "along the curve, which turns inwards"
    assert {f.axis_deg for f in laid(replace(bars, facing=replace(bars.facing, points="guest")))} == {180.0}


@settings(max_examples=40, deadline=None)
@given(
    st.sampled_from(["disc", "bar", "slice", "leaf", "shard", "wedge", "ring"]),
    st.integers(5, 40),
    st.integers(5, 16),
    st.integers(0, 6),
    st.integers(2, 30),
    st.sampled_from(["", "guest", "in", "clockwise"]),
    st.booleans(),
)
def test_the_gap_is_kept_along_it_and_between_its_turns(kind, length, width, gap, count, points, anticlockwise):
    s = replace(DISCS, piece=piece(kind, length, width), count=count, anticlockwise=anticlockwise, gap_mm=gap)
    s = replace(s, facing=replace(s.facing, points=points))
    arrangement, problems = place(dish(s), plate(320, 280))
    found = arrangement.footprints
    assert [p.slug for p in problems] == (["does-not-fit"] if len(found) < count else [])
    areas = [Area(f.outline) for f in found]
    for i, a in enumerate(areas):
        assert all(a.distance(b) >= gap - 0.01 and a.intersection(b).area < 0.01 for b in areas[:i])
    assert not {p.slug for p in check(arrangement, dish(s))} & {"pieces-overlap", "too-close"}


def test_what_does_not_fit_is_the_usual_error():
    arrangement, (problem,) = place(dish(replace(DISCS, count=200)), plate(300, 240))
    assert problem.slug == "does-not-fit" and len(arrangement.footprints) < 200
    assert problem.message.startswith(f"only {len(arrangement.footprints)} of the 200 pieces of a fit 2 mm apart")


def test_how_far_out_has_to_be_said():
    bare = step("a", count=24, piece=piece("disc", 10), arrange="spiral", start=replace(DISCS.start, out=None))
    (problem,) = place(dish(bare), plate(300, 240))[1]
    assert problem.slug == "how-far-out"


def test_its_sentence_its_picture_and_how_its_pieces_are_counted():
    other = step("x", count=8, piece=piece("dot", 4), on="a")
    d = dish(DISCS, other)
    p = plate(300, 240)
    arrangement, _ = place(d, p)
    said = wording.where(DISCS, d, p)
    assert said == "in a spiral winding inwards, clockwise from 3:00 (90 mm out), at least 2 mm apart"
    back = replace(DISCS, anticlockwise=True)
    assert wording.where(back, d, p).startswith("in a spiral winding inwards, anticlockwise from 3:00 (90 mm out)")
    assert "in a spiral from 3:00 (90 mm out) to " in above.draw(arrangement, d).description
    said = placement_text.on(d.steps[1], d, arrangement)
    assert said == "on a: one on every third disc from the second on, counted inwards from 3:00"


def test_one_piece_goes_between_each_two():
    between = step("b", count=23, piece=piece("dot", 1.5), alternating_with="a", may_touch="a")
    arrangement, problems = place(dish(DISCS, between), plate(300, 240))
    assert not problems and len(arrangement.of("b")) == 23


def test_it_is_defined_in_one_file_and_named_in_one_tuple():
    naming = set()
    for path in BASE.rglob("*.py"):
        words = [n.value for n in ast.walk(ast.parse(path.read_text(encoding="utf-8"))) if isinstance(n, ast.Constant)]
        if "spiral" in words:
            naming.add(str(path.relative_to(BASE)))
    assert naming == {"layout/arrangements/spiral.py"}
    assert (BASE / "layout/arrangements/__init__.py").read_text(encoding="utf-8").count("spiral.SPIRAL") == 1
