"""Our plane geometry against an independent library, on thousands of generated shapes.

Tolerances: areas within 1e-6 of their size, distances within 1e-6 mm.
"""

import math
import random

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely import affinity
from shapely.geometry import LineString
from shapely.geometry import Point as Spot
from shapely.geometry import Polygon as Area

from platecard.layout import geometry2d, shapes, volumes
from platecard.layout.scatter import Reach

KINDS = sorted(shapes.SHAPES)


def made(dice: random.Random):
    """A piece of any kind and size somewhere on a plate."""
    length, width = dice.uniform(3, 120), dice.uniform(3, 80)
    local = shapes.outline(dice.choice(KINDS), length, width, dice.randrange(shapes.VARIANTS))
    return geometry2d.moved(local, dice.uniform(-400, 400), dice.uniform(-60, 60), dice.uniform(-60, 60))


@pytest.mark.parametrize("kind", KINDS)
@pytest.mark.parametrize("length, width", [(45, 20), (22, 22), (5, 5), (120, 120), (18, 60), (100, 3)])
def test_an_outline_has_exactly_the_stated_size_and_does_not_cross_itself(kind, length, width):
    for which in range(shapes.VARIANTS):
        outline = shapes.outline(kind, length, width, which)
        left, near, right, far = geometry2d.box(outline)
        assert (left, right) == pytest.approx((-width / 2, width / 2), abs=1e-9)
        assert (near, far) == pytest.approx((-length / 2, length / 2), abs=1e-9)
        theirs = Area(outline)
        assert theirs.is_valid and theirs.exterior.is_ccw
        assert theirs.area > 0.2 * length * width


@pytest.mark.parametrize("kind", ["disc", "dot", "pool"])
@pytest.mark.parametrize("size", [6, 13, 22, 60, 89, 120, 200])
def test_a_round_outline_is_near_the_true_circle(kind, size):
    outline = shapes.outline(kind, size, size)
    assert len(outline) >= (40 if size >= 14 else 24)
    middles = [((x0 + x1) / 2, (y0 + y1) / 2) for (x0, y0), (x1, y1) in zip(outline, outline[1:])]
    assert max(size / 2 - math.hypot(x, y) for x, y in middles) < 0.1


def test_variants_follow_from_the_key_and_the_number_alone():
    assert [shapes.variant("crisp", i) for i in range(6)] == [shapes.variant("crisp", i) for i in range(6)]
    # Written down, so that no version of ours or of the language may change a printed card unnoticed.
    assert [shapes.variant("crisp", i) for i in range(6)] == [0, 5, 10, 3, 8, 1]
    assert len({shapes.outline("shard", 50, 25, w) for w in range(shapes.VARIANTS)}) == shapes.VARIANTS


def test_turning_goes_clockwise_from_twelve():
    ((x, y),) = geometry2d.moved(((0.0, 10.0),), 90, 0, 0)
    assert (x, y) == pytest.approx((10, 0))
    ((x, y),) = geometry2d.moved(((0.0, 10.0),), 210, 5, 5)
    assert (x, y) == pytest.approx((5 + 10 * math.sin(math.radians(210)), 5 + 10 * math.cos(math.radians(210))))


def test_areas_containment_meeting_and_distance_agree_on_thousands_of_shapes():
    dice = random.Random(20260914)
    met = apart = 0
    signs: list[bool] = []
    for _ in range(2500):
        a, b = made(dice), made(dice)
        ours, theirs = Area(a), Area(b)
        assert geometry2d.area(a) == pytest.approx(ours.area, rel=1e-9)
        shared = ours.intersection(theirs).area
        assert geometry2d.shared_area(a, b) == pytest.approx(shared, rel=1e-6, abs=1e-6)
        assert geometry2d.meet(a, b) == ours.intersects(theirs)
        gap = ours.distance(theirs)
        assert geometry2d.distance(a, b) == pytest.approx(gap, abs=1e-6)
        met, apart = met + (shared > 0), apart + (gap > 0)
        for _ in range(3):
            p = (dice.uniform(-90, 90), dice.uniform(-90, 90))
            if ours.exterior.distance(Spot(p)) > 1e-9:
                assert geometry2d.contains(a, p) == ours.contains(Spot(p))
        assert geometry2d.box(a) == pytest.approx(ours.bounds)
        # Five points at once, as a sign on a piece takes them.
        x, y, half = dice.uniform(-60, 60), dice.uniform(-60, 60), dice.uniform(0.5, 8)
        five = [(x, y), (x - half, y - half), (x + half, y + half), (x + half, y - half), (x - half, y + half)]
        if all(ours.exterior.distance(Spot(p)) > 1e-9 for p in five):
            covered = any(ours.contains(Spot(p)) for p in five)
            assert geometry2d.covers_square(a, (x, y), half) == covered
            signs.append(covered)
    assert min(signs.count(True), signs.count(False)) > 300
    assert met > 500 and apart > 300


def test_the_hull_is_the_convex_outline():
    dice = random.Random(7)
    for _ in range(500):
        a = made(dice)
        hull = Area(geometry2d.hull(a))
        assert hull.symmetric_difference(Area(a).convex_hull).area < 1e-6


def test_the_depth_is_the_shortest_move_that_clears():
    dice = random.Random(11)
    seen = 0
    while seen < 400:
        a, b = made(dice), made(dice)
        ours, theirs = Area(geometry2d.hull(a)), Area(geometry2d.hull(b))
        depth, (nx, ny) = geometry2d.depth(a, b)
        if ours.intersection(theirs).area < 1e-6:
            assert depth < 1e-3
            continue
        seen += 1
        assert math.hypot(nx, ny) == pytest.approx(1)
        assert affinity.translate(theirs, nx * depth, ny * depth).intersection(ours).area < 1e-5
        assert affinity.translate(theirs, nx * 0.98 * depth, ny * 0.98 * depth).intersects(ours)
        # No other way out is shorter: try the compass round.
        for k in range(36):
            a10 = math.radians(10 * k)
            assert affinity.translate(theirs, 0.97 * depth * math.sin(a10), 0.97 * depth * math.cos(a10)).intersects(
                ours
            )


def test_same_outline_twice_shares_all_its_area():
    for kind in KINDS:
        a = geometry2d.moved(shapes.outline(kind, 40, 25, 3), 33, 4, 5)
        assert geometry2d.shared_area(a, a) == pytest.approx(geometry2d.area(a), rel=1e-6)
        assert geometry2d.distance(a, a) == 0


def test_the_stadium_round_a_piece_holds_all_of_it():
    dice = random.Random(3)
    for _ in range(300):
        local = shapes.outline(dice.choice(KINDS), dice.uniform(3, 120), dice.uniform(3, 80), dice.randrange(12))
        reach = Reach.around(local)
        stadium = LineString([(0, -reach.half), (0, reach.half + 1e-9)]).buffer(reach.radius, quad_segs=90)
        assert Area(local).difference(stadium.buffer(0.02)).area < 1e-9


# Worked values: spherical cap V = πh(3a² + h²)/6, ellipsoid π/6·LWH, cylinder πD²h/4, all in ml.


@pytest.mark.parametrize(
    "diameter, height, ml",
    [
        (5, 1.5, 0.016),
        (8, 2.4, 0.068),
        (10, 3, 0.132),
        (12, 3.6, 0.228),
        (15, 4.5, 0.445),
        (20, 6, 1.056),
        (10, 5, 0.262),
    ],
)
def test_a_dot_is_a_spherical_cap(diameter, height, ml):
    assert volumes.volume_ml("dot", diameter, diameter, height) == pytest.approx(ml, abs=6e-4)


def test_a_dot_without_a_height_stands_three_tenths_of_its_width():
    assert volumes.volume_ml("dot", 10, 10, None) == volumes.volume_ml("dot", 10, 10, 3)


@pytest.mark.parametrize(
    "size, ml",
    [((30, 15, 12), 2.83), ((40, 20, 16), 6.70), ((55, 27, 22), 17.11), ((60, 30, 25), 23.56), ((70, 35, 28), 35.92)],
)
def test_a_quenelle_is_an_ellipsoid(size, ml):
    assert volumes.volume_ml("quenelle", *size) == pytest.approx(ml, abs=0.006)


@pytest.mark.parametrize(
    "diameter, height, ml",
    [(40, 20, 25.1), (50, 20, 39.3), (60, 20, 56.5), (70, 25, 96.2), (80, 15, 75.4), (90, 10, 63.6), (120, 3, 33.9)],
)
def test_a_disc_is_a_cylinder(diameter, height, ml):
    assert volumes.volume_ml("disc", diameter, diameter, height) == pytest.approx(ml, abs=0.06)
    assert volumes.cylinder_ml(diameter, height) == pytest.approx(ml, abs=0.06)


@pytest.mark.parametrize("diameter, depth, ml", [(150, 40, 387), (120, 35, 220), (180, 50, 702)])
def test_a_bowl_is_a_spherical_cap(diameter, depth, ml):
    assert volumes.cap_ml(diameter, depth) == pytest.approx(ml, abs=0.6)


def test_flat_pieces_are_walls_on_their_outline_and_thin_ones_have_no_volume():
    assert volumes.volume_ml("bar", 80, 20, 10) == pytest.approx(16, rel=0.01)
    assert volumes.volume_ml("bar", 80, 20, None) is None
    assert volumes.volume_ml("shard", 20, 10, None) is None


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from(KINDS),
    st.floats(1, 200),
    st.floats(1, 200),
    st.floats(-720, 720),
    st.floats(-100, 100),
    st.floats(-100, 100),
)
def test_moving_keeps_the_area_and_the_middle(kind, length, width, turn, x, y):
    local = shapes.outline(kind, length, width)
    there = geometry2d.moved(local, turn, x, y)
    assert geometry2d.area(there) == pytest.approx(geometry2d.area(local), rel=1e-6)
    back = geometry2d.moved(tuple((px - x, py - y) for px, py in there), -turn, 0, 0)
    assert all(math.dist(p, q) < 1e-6 for p, q in zip(back, local))


# Sauce in a ring between 60 and 70 mm, 2 mm thick: π(70² - 60²)·2 = 8.17 ml. A smear of 150 x 25 x 1.5 mm is half its
# bar: 2.81 ml.


@pytest.mark.parametrize(
    "args, ml",
    [
        (("ring", 140, 140, 2, 120), 8.168),
        (("swipe", 150, 25, 1.5), 2.8125),
        (("drizzle", 100, 3, 1.2), 0.2827),
        (("foam", 40, 40, 14), math.pi * 14 * (3 * 400 + 196) / 6000),
        (("cube", 10, 10, 10), 0.9865),
        (("crumb", 6, 6, 4.8), math.pi / 6 * 6 * 6 * 4.8 / 1000),
        (("pool", 160, 160, 2.24), 45.04),
        (("outline", 20, 30, 5, None, ((0, 0), (20, 0), (0, 30))), 1.5),
    ],
)
def test_each_kind_has_its_handbook_volume(args, ml):
    assert volumes.volume_ml(*args) == pytest.approx(ml, rel=0.012)


@pytest.mark.parametrize("kind", KINDS)
def test_every_kind_has_a_volume_within_its_box_that_grows_with_its_height(kind):
    low, high = volumes.volume_ml(kind, 40, 24, 6), volumes.volume_ml(kind, 40, 24, 12)
    assert 0 < low < high and high <= 40 * 24 * 12 / 1000


@pytest.mark.parametrize("size, hole", [(60, 44), (20, 4), (140, 120), (30, 29)])
def test_a_ring_has_the_area_of_two_circles_apart(size, hole):
    outline = Area(shapes.outline("ring", size, size, 0, hole))
    assert outline.is_valid and outline.area == pytest.approx(math.pi / 4 * (size**2 - hole**2), rel=0.012)
    for r, inside in ((hole / 2 - 0.3, False), ((hole + size) / 4, True), (size / 2 + 0.3, False)):
        for turn in range(0, 360, 7):
            point = r * math.cos(math.radians(turn)), r * math.sin(math.radians(turn))
            if Spot(point).distance(outline.exterior) > 0.05:
                assert (
                    geometry2d.contains(shapes.outline("ring", size, size, 0, hole), point)
                    == inside
                    == outline.contains(Spot(point))
                )
