"""What expo accepts as a picture: true to size, one piece of a part, on bare china, with its figure beside it."""

from __future__ import annotations

import math
from fractions import Fraction

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platecard.documents.diagram import acceptance
from platecard.documents.diagram.acceptance import Surroundings
from platecard.drawing import fonts
from platecard.drawing.extent import bounds
from platecard.drawing.scene import Circle, Group, Polygon, Text
from platecard.layout import geometry2d, plate_geometry
from platecard.layout.arrange import place
from platecard.model import Accept
from tests.documents.test_pass_card import card
from tests.laid import LETTERS, at_mm, dish, piece, plate, step

ON = plate(300, 240)
ONE = 3.0  # mm of the plate to one of the paper


def accept(place_mm=None, turn=None):
    return Accept(
        place_mm=None if place_mm is None else Fraction(place_mm), turn_deg=None if turn is None else Fraction(turn)
    )


def marks(*steps, lines=(), boxes=()):
    d = dish(*steps)
    laid, _ = place(d, ON)
    by_part = {}
    for s in d.steps:
        by_part.setdefault(s.put, []).append(s)
    return laid, acceptance.marks(laid, by_part, {}, Surroundings(lines, boxes, ONE))


def figures(items):
    return [i for i in items if isinstance(i, Text)]


def test_a_ring_is_as_wide_as_the_drift_and_a_wedge_as_far_as_the_turn():
    _, found = marks(
        step("a", piece=piece("disc", 30), at=at_mm(0, 60), accept=accept(5)),
        step("b", piece=piece("bar", 60, 20), at=at_mm(0, -40), facing="12:00", accept=accept(6, 15)),
    )
    (ring, _, figure) = found[1]
    assert isinstance(ring, Circle) and ring.r == pytest.approx(20) and (ring.cx, ring.cy) == (0, -60)
    assert figure.text == "±5 mm"
    wedge, _, ring, _, figure = found[2]
    left, top, right, foot = bounds(Polygon(ring.points, ring.style))
    edge = ring.style.width / 2 if ring.style.stroke else 0
    assert (right - left, foot - top) == pytest.approx((32 + 2 * edge, 72 + 2 * edge), abs=0.1)
    angles = [math.degrees(math.atan2(x - 0, 40 - y)) for x, y in wedge.points[1:]]
    assert (min(angles), max(angles)) == pytest.approx((-15, 15)) and figure.text == "±6 mm, ±15°"


def test_one_piece_of_a_part_and_none_where_it_would_not_be_clear():
    _, found = marks(
        step("a", count=5, piece=piece("disc", 20), arrange="ring", out="80 mm", accept=accept(5)),
        step("b", piece=piece("disc", 60, None, 10), at=at_mm(0, 0), accept=accept(5)),
        step("c", piece=piece("disc", 20, None, 10), on="b", accept=accept(5)),
    )
    assert set(found) == {1, 2}, "what lies on other food has no ring"
    assert len(figures(found[1])) == 1
    _, crowded = marks(
        *(step(x, piece=piece("disc", 20), at=at_mm(-80 + 20 * i, 0), accept=accept(4)) for i, x in enumerate("abc"))
    )
    assert 2 not in crowded, "a ring that its neighbours hide"
    many = [step(LETTERS[i], piece=piece("disc", 8), at=at_mm(-90 + 20 * i, 0), accept=accept(4)) for i in range(9)]
    assert not marks(*many)[1] and marks(*many[:4])[1], "with many parts the words alone say it"
    _, little = marks(step("a", piece=piece("disc", 30), accept=accept(1)))
    assert not little, "too narrow to be seen"
    _, round_ = marks(step("a", piece=piece("disc", 30), accept=accept(None, 20)))
    assert not round_, "nobody sees a round piece turn"


@st.composite
def plates(draw):
    n = draw(st.integers(1, 8))
    return [
        step(
            LETTERS[i],
            piece=piece(
                draw(st.sampled_from(["disc", "bar", "wedge", "quenelle", "leaf"])),
                draw(st.integers(10, 50)),
                draw(st.integers(8, 30)),
            ),
            at=at_mm(draw(st.integers(-90, 90)), draw(st.integers(-90, 90))),
            facing=draw(st.sampled_from(["12:00", "2:00", "4:30"])),
            accept=accept(draw(st.sampled_from([None, 3, 5, 10])), draw(st.sampled_from([None, 5, 15, 40]))),
        )
        for i in range(n)
    ]


@settings(max_examples=80, deadline=None)
@given(plates(), st.lists(st.tuples(st.integers(-150, 150), st.integers(-150, 150)), min_size=2, max_size=6))
def test_figures_stand_clear_of_food_lines_and_each_other_on_the_plate(steps, ends):
    lines = [((float(a), float(b)), (float(c), float(d))) for (a, b), (c, d) in zip(ends, ends[1:])]
    laid, found = marks(*steps, lines=lines)
    rim = plate_geometry.rim(laid.plate)
    seen = []
    for items in found.values():
        (figure,) = figures(items)
        assert figure.size_pt == pytest.approx(8.5 * ONE), "8.5 pt on the paper"
        cap, half = (
            fonts.cap_height(figure.size_pt, "semibold"),
            fonts.width_mm(figure.text, figure.size_pt, "semibold"),
        )
        left, top, right, foot = figure.x - half / 2, figure.y - cap, figure.x + half / 2, figure.y
        corners = ((left, top), (right, top), (right, foot), (left, foot))
        assert all(rim.beyond((x, -y)) <= 0 for x, y in corners)
        as_laid = tuple((x, -y) for x, y in corners)
        assert not any(geometry2d.meet(as_laid, f.outline) for f in laid.footprints)
        for a, b in lines:
            if a != b:
                thin = (a, b, (b[0] + 1e-3, b[1] + 1e-3))
                assert not geometry2d.meet(corners, thin)
        assert not any(geometry2d.boxes_meet((left, top, right, foot), other) for other in seen)
        seen.append((left, top, right, foot))


def test_the_front_of_a_card_shows_it_under_the_food():
    _, (front, back) = card(4, ["char", "jus", "beetroot"])

    def accepted(items):
        for item in items:
            if isinstance(item, Group):
                yield from ([item] if item.id.startswith("accepted-") else accepted(item.items))

    shown = list(accepted(front.items))
    assert len(shown) == 4 and not list(accepted(back.items))
    (picture,) = (i for i in front.items if isinstance(i, Group) and i.role == "img")
    ids = [i.id for i in picture.items if isinstance(i, Group)]
    assert all(ids.index(f"accepted-{n}") < ids.index(f"step-{n}") for n in range(1, 5))
