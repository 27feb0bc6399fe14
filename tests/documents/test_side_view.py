"""The side view: every kind of piece has its own silhouette, as wide as from above and as high as it stands; each
height has a dimension line of its own.
"""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platecard.documents.diagram import side_view
from platecard.documents.diagram.colours import lightness
from platecard.drawing import svg
from platecard.drawing.extent import bounds
from platecard.drawing.scene import Group, Path, Polygon, Rect, Text
from platecard.layout import geometry2d, heights, shapes
from platecard.layout.arrange import place
from platecard.model import Facing
from platecard.quantities.units import shown
from tests.documents.test_plate_drawing import with_role
from tests.laid import LETTERS, at_mm, dish, piece, plate, step
from tests.layout.test_arrangements import KITE
from tests.layout.test_plate_geometry import BOARD, BOX, OVAL

ON = plate(300, 240)
SPREAD = shapes.SAUCES
KINDS = sorted(shapes.SHAPES - SPREAD)


def seen(*steps, on=ON):
    d = dish(*steps)
    arrangement, problems = place(d, on)
    assert not problems, problems
    return arrangement, side_view.draw(arrangement, d)


def silhouettes(scene):
    return with_role(scene, "footprint")


def corners(item):
    """What a silhouette's outline passes through, without its curves' handles."""
    if isinstance(item, Polygon):
        return list(item.points)
    assert isinstance(item, Path)
    return [s[-2:] for s in item.segments if s[0] != "Z"]


def texts(item):
    match item:
        case Text():
            yield item
        case Group(items=items):
            for inner in items:
                yield from texts(inner)


def one(kind, **more):
    long, wide = (30, 30) if kind in shapes.ROUND | {"ring", "foam", "flower"} else (30, 18)
    points = KITE if kind == "outline" else ()
    return step(
        "a",
        piece=piece(kind, *((22, 34) if points else (long, wide)), more.pop("height", 12), points=points),
        at=at_mm(20, 10),
        **more,
    )


# --- true to scale
# -----------------------------------------------------------------------------------------------------


@settings(max_examples=150)
@given(
    st.sampled_from([*KINDS, "outline"]),
    st.integers(0, 71).map(lambda n: 5 * n),
    st.sampled_from(["flat", "standing", "leaning"]),
    st.sampled_from([None, 3, 12, 30]),
)
def test_a_silhouette_is_as_wide_as_from_above_and_as_high_as_it_stands(kind, turn, stance, height):
    arrangement, scene = seen(one(kind, height=height, facing=Facing("clock", turn, stance)))
    (item,) = silhouettes(scene)
    left, top, right, low = bounds(item)
    (f,) = arrangement.footprints
    x0, _, x1, _ = geometry2d.box(f.outline)
    ((_, foot, high),) = heights.stacked(arrangement)
    assert (right - left, low - top) == pytest.approx((max(0.3, x1 - x0), high - foot), abs=1e-6)
    (wall,) = with_role(scene, "plate")
    ground, middle = wall.points[1][1], (wall.points[0][0] + wall.points[3][0]) / 2
    assert (left, low) == pytest.approx((middle + x0, ground - foot), abs=1e-6)


def test_what_is_piled_stands_on_what_lies_below():
    _, scene = seen(
        step("s", arrange="pool", across_mm=90),
        step("a", piece=piece("disc", 60, None, 20), on="s"),
        step("b", piece=piece("quenelle", 40, 20, 16), on="a"),
        step("c", piece=piece("shard", 50, 25, 2), facing="standing", on="b"),
    )
    boxes = {i.about.component: bounds(i) for i in silhouettes(scene)}
    assert [boxes[k][3] for k in "abc"] == pytest.approx([boxes[k][1] for k in "sab"], abs=1e-6)


# --- recognisable
# ------------------------------------------------------------------------------------------------------


def test_every_kind_has_a_silhouette_of_its_own():
    alike = {}
    for kind in [*KINDS, "outline"]:
        (item,) = silhouettes(seen(one(kind, facing="clockwise"))[1])
        alike.setdefault(tuple((round(x, 2), round(y, 2)) for x, y in corners(item)), set()).add(kind)
    # A bar, a cube and a cut shape are blocks; their widths and heights tell them apart.
    assert all(len(kinds) == 1 or kinds <= {"bar", "cube", "outline"} for kinds in alike.values()), alike
    for how in ("swipe", "drizzle", "pool"):
        more = dict(start=at_mm(-40, 0), end=at_mm(40, 0)) if how != "pool" else {}
        assert silhouettes(seen(step("a", arrange=how, across_mm=30, amount="3 ml", **more))[1])


@settings(max_examples=60)
@given(st.integers(4, 60), st.floats(0.05, 1.2))
def test_a_dot_is_a_spherical_cap(across, share):
    high = round(across * share, 2)
    (item,) = silhouettes(seen(step("a", piece=piece("dot", across, None, high), at=at_mm(0, 0)))[1])
    left, top, right, low = bounds(item)
    (_, x0, y0), (_, ax, ay, bx, by, x1, y1) = item.segments[:2]
    a, r = across / 2, (across**2 / 4 + high**2) / (2 * high)
    for t in (0.2, 0.5, 0.8):
        u = 1 - t
        x, y = (
            u**3 * p + 3 * u * u * t * q + 3 * u * t * t * s + t**3 * e
            for p, q, s, e in ((x0, ax, bx, x1), (y0, ay, by, y1))
        )
        if high < a:
            assert math.dist((x, y), ((left + right) / 2, top + r)) == pytest.approx(r, rel=2e-3)
        else:
            assert ((x - x1) / a) ** 2 + ((low - y) / high) ** 2 == pytest.approx(1, rel=2e-3)


def test_a_quenelle_is_an_ellipse_and_a_shard_stands_as_its_outline():
    (item,) = silhouettes(seen(one("quenelle"))[1])
    left, top, right, low = bounds(item)
    for x, y in corners(item):
        assert ((2 * x - left - right) / (right - left)) ** 2 + (
            (2 * y - top - low) / (low - top)
        ) ** 2 == pytest.approx(1)
    (item,) = silhouettes(seen(step("a", piece=piece("shard", 50, 25, 2), facing="standing"))[1])
    left, top, right, low = bounds(item)
    assert (right - left, low - top) == pytest.approx((25, 50)) and 5 <= len(item.points) <= 7
    assert sum(abs(y - low) < 1e-6 for _, y in item.points) >= 2, "stuck in, not balanced on a corner"
    flat = shapes.outline("shard", 50, 25, shapes.variant("a", 0))
    assert sorted(x - left for x, _ in item.points) == pytest.approx(sorted(12.5 + x for x, _ in flat), abs=1e-6)


@pytest.mark.parametrize("turn, side", [(90, 1), (270, -1)])
def test_what_leans_lies_at_its_angle_with_its_raised_end_where_it_points(turn, side):
    (item,) = silhouettes(seen(step("a", piece=piece("slice", 60, 24, 4), facing=Facing("clock", turn, "leaning")))[1])
    left, top, right, low = bounds(item)
    high = [x for x, y in item.points if y < top + 1]
    deep = [x for x, y in item.points if y > low - 1]
    assert side * (sum(high) / len(high) - sum(deep) / len(deep)) > 0.7 * (right - left)
    assert geometry2d.area(item.points) == pytest.approx(60 * 4, rel=0.2), (
        "a slab as long and thick as the slice, not the box round it"
    )


def test_shingled_slices_tilt_onto_the_one_before_and_others_lie_level():
    fan = step(
        "a",
        count=4,
        piece=piece("slice", 26, 50, 6),
        arrange="line",
        start=at_mm(-40, 0),
        end=at_mm(40, 0),
        overlap=0.4,
        facing="3:00",
    )
    items = silhouettes(seen(fan)[1])
    slopes = []
    for item in items:
        left, top, right, low = bounds(item)
        slopes.append(
            min(y for x, y in item.points if x > right - 0.1) - min(y for x, y in item.points if x < left + 8)
        )
    assert abs(slopes[0]) < 1e-6 and all(s > 2 for s in slopes[1:]), "the first lies flat, the others rise to the left"


def test_a_swipe_thins_out_to_where_it_is_pulled():
    def first_thick(start, end):
        (item,) = silhouettes(seen(step("a", arrange="swipe", across_mm=24, start=start, end=end, amount="3 ml"))[1])
        left, top, right, _ = bounds(item)
        return next(x for x, y in corners(item) if y < top + 1e-6) < (left + right) / 2

    assert first_thick(at_mm(-40, 0), at_mm(40, 0)) and not first_thick(at_mm(40, 0), at_mm(-40, 0))


# --- far and near
# ------------------------------------------------------------------------------------------------------


def test_what_is_further_comes_first_and_paler():
    rows = [step(x, piece=piece("disc", 30, None, 10), at=at_mm(0, y)) for x, y in zip("abc", (-60, 0, 60))]
    items = silhouettes(seen(*rows)[1])
    assert [i.about.component for i in items] == list("cba")
    d = dish(
        *(step("a", piece=piece("disc", 30, None, 10), at=at_mm(0, y)) for y in (-60, 0, 60)), colours={"a": "beetroot"}
    )
    fills = [lightness(i.style.fill) for i in silhouettes(side_view.draw(place(d, ON)[0], d))]
    assert fills[0] > fills[1] + 3 > fills[2] + 6


def test_a_height_nobody_said_is_drawn_with_a_broken_line():
    assert (
        silhouettes(seen(one("foam", height=None))[1])[0].style.dash
        and not silhouettes(seen(one("foam"))[1])[0].style.dash
    )


# --- what is said
# ------------------------------------------------------------------------------------------------------


@st.composite
def crowds(draw):
    n = draw(st.integers(1, 14))
    return [
        step(
            LETTERS[i],
            piece=piece(
                draw(st.sampled_from(KINDS)),
                draw(st.integers(4, 40)),
                draw(st.integers(4, 40)),
                draw(st.integers(2, 90)),
            ),
            at=at_mm(draw(st.integers(-100, 100)), draw(st.integers(-70, 70))),
            facing=draw(st.sampled_from(["away", "2:00", "standing", "leaning"])),
        )
        for i in range(n)
    ]


def heights_of(arrangement):
    tops = {}
    for f, _, top in heights.stacked(arrangement):
        tops[f.component] = max(top, tops.get(f.component, 0))
    return tops


@settings(max_examples=60)
@given(crowds(), st.sampled_from([ON, OVAL, BOX, BOARD, plate(90, 70)]), st.sampled_from([None, (60, 24), (120, 50)]))
def test_each_height_has_a_dimension_line_of_its_own(steps, on, room):
    d = dish(*steps)
    arrangement = place(d, on)[0]
    scene = side_view.draw(arrangement, d, room=room)
    calls = with_role(scene, "callout")
    tops = heights_of(arrangement)
    highest = max(tops.values())
    told = {c.about.component for c in calls}
    assert len(told) == len(calls) <= 6
    assert told == set(
        sorted((c for c, t in tops.items() if t >= max(6, highest / 5)), key=lambda c: (-tops[c], c))[:6]
    )
    boxes = []
    for call in calls:
        top = tops[call.about.component]
        (line,) = (i for i in call.items if i.about and i.about.role == "dimension")
        (witness,) = (i for i in call.items if i.about and i.about.role == "witness")
        (x, high), (x_low, low) = line.points
        assert x == x_low and low - high == pytest.approx(top), "upright, from the well to the top of its part"
        assert witness.points[0][1] == witness.points[1][1] == high, "level from that top out to the line"
        assert min(p[0] for p in witness.points[:2]) <= x <= max(p[0] for p in witness.points[:2])
        assert not any(
            other is not call and i.about.role == "dimension" and i.points[0][0] == x
            for other in calls
            for i in other.items
            if i.about
        ), "no two on one line"
        said = [i for i in call.items if isinstance(i, (Text, Rect))]
        assert [t.text for t in said if isinstance(t, Text)][-1] == shown(top, 0)
        x0, y0, x1, y1 = bounds(*said)
        assert -1e-6 <= x0 and x1 <= scene.width_mm + 1e-6 and -1e-6 <= y0 and y1 <= scene.height_mm + 1e-6
        assert not any(geometry2d.boxes_meet((x0, y0, x1, y1), b, -0.01) for b in boxes), "two labels overlap"
        boxes.append((x0, y0, x1, y1))
        food = [bounds(i) for i in silhouettes(scene)]
        assert not any(geometry2d.boxes_meet((x0, y0, x1, y1), b, -0.01) for b in food), "a label covers food"
    again = side_view.draw(place(d, on)[0], d, room=room)
    assert svg.write(scene, embed_fonts=False) == svg.write(again, embed_fonts=False)


@settings(max_examples=40)
@given(crowds(), st.sampled_from([ON, BOX, plate(120, 90)]), st.integers(50, 130), st.integers(22, 60))
def test_its_words_have_their_size_on_the_paper_it_is_made_for(steps, on, width, height):
    d = dish(*steps)
    scene = side_view.draw(place(d, on)[0], d, room=(width, height))
    k = min(width / scene.width_mm, height / scene.height_mm)
    sizes = {t.size_pt * k for item in scene.items for t in texts(item)}
    assert all(7.9 <= size <= 9.0 for size in sizes), sizes


def test_a_witness_line_begins_at_the_top_of_its_own_part():
    arrangement, scene = seen(
        step("far", piece=piece("disc", 60, None, 30), at=at_mm(0, 40)),
        step("low", piece=piece("cube", 40, 40, 12), at=at_mm(60, -20)),
        step("tall", piece=piece("shard", 50, 24, 2), facing="standing", at=at_mm(-70, 0)),
    )
    boxes = {i.about.component: bounds(i) for i in silhouettes(scene)}
    for call in with_role(scene, "callout"):
        left, top, right, _ = boxes[call.about.component]
        (witness,) = (i for i in call.items if i.about and i.about.role == "witness")
        x, y = witness.points[0]
        assert left - 0.3 <= x <= right + 0.3 and y == pytest.approx(top, abs=0.3)


def test_only_what_stands_out_is_measured():
    d = dish(*(step(f"c{i:02}", piece=piece("dot", 4, None, 7 + i), at=at_mm(i - 20, 0)) for i in range(40)))
    scene = side_view.draw(place(d, plate(90, 70))[0], d)
    assert sorted(c.about.component for c in with_role(scene, "callout")) == [f"c{i}" for i in range(34, 40)]


@pytest.mark.parametrize(
    "kind, along, share", [("wedge", 0, 0.637), ("wedge", -12, 1.0), ("fillet", 14, 0.5), ("bar", 10, 1)]
)
def test_what_stands_on_a_piece_that_falls_stands_on_its_surface(kind, along, share):
    """It is stuck into the slope; it does not hang in the air beside the highest point."""
    d = dish(
        step("a", piece=piece(kind, 30, 24, 20), at=at_mm(0, 0), facing="12:00"),
        step("b", piece=piece("shard", 40, 10, 1), at=at_mm(0, along), facing="standing", on="a"),
    )
    _, (f, foot, top) = heights.stacked(place(d, ON)[0])
    assert f.component == "b" and foot == pytest.approx(20 * share, abs=0.6) and top == pytest.approx(foot + 40)


def test_the_picture_keeps_its_words_for_those_who_hear_it():
    _, scene = seen(one("disc", height=30))
    assert (
        scene.title.endswith("from the guest's side")
        and "30 mm above the well" in scene.description
        and "a: up to 30 mm." in scene.description
    )
    groups = {g.id: g for g in scene.items if isinstance(g, Group)}
    assert (
        groups["heights"].role == "list" and groups["food"].title and groups["heights"].title and groups["plate"].title
    )
    assert not any(isinstance(i, Rect) for i in groups["food"].items), "no piece is a box"
