"""Plates that are not round: edges, reach, area and capacity against an independent library and by hand."""

import math
import random
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.geometry import LineString, box
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon as Area

from platecard import reading
from platecard.diagnostics import Span
from platecard.layout import geometry2d, plate_geometry
from platecard.layout.arrange import place
from platecard.layout.checks import check, coverage
from platecard.layout.plate_geometry import Edge, capacity_ml
from platecard.model import Plate
from tests.laid import at_mm, clock, dish, piece, region, step


def flat(form="oval", outer=(320, 236), well=(250, 170), corner=0, depth=None):
    return Plate(
        "p",
        "plate",
        form,
        Fraction(outer[0]),
        Fraction(well[0]),
        Span("shared/plates.yaml", 2),
        Fraction(depth) if depth else None,
        "",
        Fraction(outer[1]),
        Fraction(well[1]),
        Fraction(corner),
    )


OVAL, BOX, BOARD = flat(), flat("rectangle", (300, 180), (250, 135), 30), flat("board", (300, 200), (280, 180), 12)


def theirs(edge: Edge):
    if edge.corner is None:
        return Area([(edge.a * math.cos(t / 500 * math.pi), edge.b * math.sin(t / 500 * math.pi)) for t in range(1000)])
    c = edge.corner
    core = box(-edge.a + c, -edge.b + c, edge.a - c, edge.b - c)
    return core.buffer(c, quad_segs=128) if c else core


EDGES = st.one_of(
    st.tuples(st.floats(20, 200), st.floats(20, 200)).map(lambda s: Edge(*s)),
    st.tuples(st.floats(20, 200), st.floats(20, 200), st.integers(0, 50)).map(
        lambda s: Edge(s[0], s[1], s[2] / 50 * min(s[:2]))
    ),
)


@settings(max_examples=300)
@given(EDGES, st.floats(0, 360), st.floats(0, 400))
def test_area_reach_and_what_lies_beyond_agree(edge, turn, far):
    shape = theirs(edge)
    assert edge.area == pytest.approx(shape.area, rel=2e-4)
    x, y = math.sin(math.radians(turn)), math.cos(math.radians(turn))
    ray = LineString([(0, 0), (900 * x, 900 * y)]).intersection(shape)
    assert edge.reach(turn) == pytest.approx(ray.length, abs=0.03)
    point = (far * x, far * y)
    gap = shape.distance(Spot(point))
    assert max(0.0, edge.beyond(point)) == pytest.approx(gap, abs=0.05)
    if edge.beyond(point) < -0.05:
        assert shape.contains(Spot(point))


@settings(max_examples=100)
@given(EDGES, st.floats(0, 360), st.floats(1, 20))
def test_a_point_outside_is_that_far_off_the_edge(edge, turn, by):
    assert theirs(edge).distance(Spot(edge.outside(turn, by))) == pytest.approx(by, abs=0.05)


def test_areas_and_capacities_by_hand():
    # An oval of 300 x 220 mm has 518 cm², one of 360 x 260 has 735.
    assert Edge(150, 110).area / 100 == pytest.approx(518, abs=0.5)
    assert Edge(180, 130).area / 100 == pytest.approx(735, abs=0.5)
    assert Edge(50, 30, 10).area == pytest.approx(100 * 60 - (4 - math.pi) * 100)
    assert capacity_ml(flat(depth=10)) == pytest.approx(math.pi / 4 * 250 * 170 * 10 / 1000)
    assert capacity_ml(flat("rectangle", (100, 60), (80, 40), 0, 10)) == pytest.approx(32)
    assert capacity_ml(flat("board", depth=8)) is None, "nothing holds a sauce on a board"


def test_an_outline_of_an_edge_is_the_edge():
    for edge in (Edge(125, 85), Edge(150, 90, 30), Edge(150, 90, 0), Edge(90, 90, 90)):
        outline = Area(edge.outline())
        assert outline.is_valid and outline.exterior.is_ccw
        assert outline.symmetric_difference(theirs(edge)).area < 0.002 * edge.area


# --- clock positions -------------------------------------------------------------------------------------------------


def laid(*steps, on):
    arrangement, problems = place(dish(*steps), on)
    assert not problems, problems
    return arrangement.footprints


@pytest.mark.parametrize("hour, x, y", [("12:00", 0, 42.5), ("3:00", 62.5, 0), ("6:00", 0, -42.5), ("9:00", -62.5, 0)])
def test_a_share_is_of_the_way_to_the_edge_in_that_direction(hour, x, y):
    (f,) = laid(step("a", piece=piece("disc", 10), at=f"{hour}, 50 %"), on=OVAL)
    assert f.centre == pytest.approx((x, y))
    (f,) = laid(step("a", piece=piece("disc", 10), at=f"{hour}, 30 mm"), on=OVAL)
    assert math.hypot(*f.centre) == pytest.approx(30), "millimetres are millimetres on any plate"


@pytest.mark.parametrize("on", [OVAL, BOX, BOARD])
@pytest.mark.parametrize("arrange", ["arc", "ring"])
def test_shares_follow_the_edge(on, arrange):
    more = {"start": "8:00, 70 %", "end": "4:00, 70 %"} if arrange == "arc" else {"out": "70 %"}
    for f in laid(step("a", count=9, piece=piece("dot", 6), arrange=arrange, **more), on=on):
        turn = math.degrees(math.atan2(*f.centre))
        assert math.hypot(*f.centre) == pytest.approx(0.7 * plate_geometry.well(on).reach(turn), abs=1e-5)


def test_a_corner_can_be_reached_on_a_rectangle_but_not_on_an_oval():
    corner = step("a", piece=piece("disc", 16), at=at_mm(112, 55))
    assert check(place(dish(corner), BOX)[0], dish(corner)) == ()
    (p,) = check(place(dish(corner), OVAL)[0], dish(corner))
    assert p.slug == "over-the-rim" and p.hints[0].startswith("move it in by ")


@settings(max_examples=60)
@given(
    st.sampled_from([OVAL, BOX, BOARD]),
    st.integers(-140, 140),
    st.integers(-90, 90),
    st.integers(6, 60),
    st.integers(6, 60),
)
def test_over_the_edge_is_what_an_independent_library_finds(on, x, y, length, width):
    d = dish(step("a", piece=piece("slice", length, width), at=at_mm(x, y)))
    arrangement, _ = place(d, on)
    slugs = {p.slug for p in check(arrangement, d)}
    outline = Area(arrangement.footprints[0].outline)
    well, rim = theirs(plate_geometry.well(on)), theirs(plate_geometry.rim(on))
    out_of_well, off_plate = not well.buffer(0.3).contains(outline), not rim.buffer(0.3).contains(outline)
    inside_well, on_plate = well.buffer(0.2).contains(outline), rim.buffer(0.2).contains(outline)
    assert ("off-the-plate" in slugs or not off_plate) and ("off-the-plate" not in slugs or not on_plate)
    assert (slugs & {"over-the-rim", "off-the-plate"} or not out_of_well) and (
        not slugs & {"over-the-rim", "off-the-plate"} or not inside_well
    )


@pytest.mark.parametrize("on", [OVAL, BOX, BOARD])
@pytest.mark.parametrize(
    "hours, far", [("", "0 to 100 %"), ("10:00 to 2:00", "20 to 90 %"), ("2:00 to 5:00", "10 to 60 mm")]
)
def test_a_scatter_stays_on_a_plate_that_is_not_round(on, hours, far):
    found = laid(
        step("a", count=9, piece=piece("leaf", 14, 8), arrange="scatter", within=region(hours, far), gap_mm=2), on=on
    )
    well = plate_geometry.well(on)
    for i, f in enumerate(found):
        assert max(map(well.beyond, f.outline)) < 0.1
        assert all(geometry2d.distance(f.outline, g.outline) >= 2 - 1e-6 for g in found[:i])
        if hours:
            start, sweep = (clock(h).clock_deg for h in hours.split(" to "))
            turn = math.degrees(math.atan2(*f.centre)) % 360
            assert (turn - float(start)) % 360 <= float((sweep - start) % 360) + 1e-3 or (
                turn - float(start)
            ) % 360 > 359.99


def test_a_scatter_uses_the_whole_of_a_long_plate():
    found = laid(
        step("a", count=40, piece=piece("dot", 5), arrange="scatter", gap_mm=3),
        on=flat("rectangle", (340, 160), (300, 122), 10),
    )
    assert min(f.centre[0] for f in found) < -110 and max(f.centre[0] for f in found) > 110


@settings(max_examples=30)
@given(
    st.sampled_from([OVAL, BOX, BOARD]),
    st.lists(
        st.tuples(st.integers(60, 160), st.integers(60, 120), st.integers(-60, 60), st.integers(-40, 40)),
        min_size=1,
        max_size=6,
    ),
)
def test_coverage_agrees_on_any_plate(on, rows):
    d = dish(*(step(f"c{i}", piece=piece("slice", a, b), at=at_mm(x, y)) for i, (a, b, x, y) in enumerate(rows)))
    arrangement, _ = place(d, on)
    well = theirs(plate_geometry.well(on))
    union = Area()
    for f in arrangement.footprints:
        union = union.union(Area(f.outline))
    true = union.intersection(well).area / well.area
    ours = coverage(arrangement)
    assert ours == pytest.approx(true, abs=0.025) or ours <= 0.75 and ours >= true - 0.025


# --- reading ---------------------------------------------------------------------------------------------------------


def read(text):
    kitchen, problems = reading.kitchen([("shared/plates.yaml", "plates:\n  p: {called: Plate, " + text + "}\n")])
    return kitchen.plates.get("p"), [(p.slug, p.span.line) for p in problems]


def test_plates_of_every_form_are_read():
    p, problems = read("form: oval, outer: 300 x 220 mm, well: 240 x 160 mm")
    assert not problems and (p.outer_mm, p.outer_far_mm, p.well_mm, p.well_far_mm) == (300, 220, 240, 160)
    p, problems = read("form: rectangle, outer: 30 x 18 cm, well: 250 x 135 mm, corner: 20 mm")
    assert not problems and (p.outer_mm, p.corner_mm) == (300, 20)
    p, problems = read("form: board, outer: 300 x 200 mm")
    assert not problems and (p.well_mm, p.well_far_mm) == (280, 180), "a board is usable to a centimetre from its edge"
    p, problems = read("form: rectangle, outer: 260 mm, well: 200 mm")
    assert not problems and (p.outer_far_mm, p.well_far_mm) == (260, 200), "one size is a square"


@pytest.mark.parametrize(
    "text, slug",
    [
        ("form: oval, outer: 300 x 220 mm", "missing-key"),
        ("form: oval, outer: 300 x 220 mm, well: 240 x 230 mm", "well-over-outer"),
        ("form: oval, outer: 0 x 220 mm, well: 0 x 160 mm", "zero-size"),
        ("form: oval, outer: -300 x 220 mm, well: 240 x 160 mm", "amount"),
        ("form: oval, outer: 300 x 220, well: 240 x 160 mm", "amount"),
        ("form: rectangle, outer: 3000 x 220 mm, well: 240 x 160 mm", "too-large"),
        ("form: rectangle, outer: 300 x 220 mm, well: 240 x 160 mm, corner: 200 mm", "corner-too-large"),
        ("form: oval, outer: 300 x 220 mm, well: 240 x 160 mm, corner: 20 mm", "key-not-used"),
        ("form: hexagon, outer: 300 mm, well: 240 mm", "unknown-word"),
        ("form: rimmed, outer: 300 x 220 mm, well: 240 mm", "amount"),
    ],
)
def test_a_plate_that_cannot_be_is_said(text, slug):
    assert slug in [s for s, line in read(text)[1] if line == 2]


def test_random_edges_hold_their_own_insets():
    dice = random.Random(5)
    for _ in range(200):
        edge = Edge(dice.uniform(40, 200), dice.uniform(40, 200), None if dice.random() < 0.4 else dice.uniform(0, 40))
        inner = edge.inset(dice.uniform(0, 30))
        assert all(edge.beyond(p) < 1e-6 for p in inner.outline())
