"""A plate that can be laid never draws outside its page, and every footprint is as large in each format as it was laid."""  # noqa: E501

import math
from xml.etree import ElementTree

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from platecard.diagnostics import has_errors
from platecard.documents.diagram import plate, side_view, step_pictures
from platecard.documents.kit.sheet import PAGES
from platecard.documents.pages import changed_plate, mat
from platecard.drawing.extent import bounds
from platecard.drawing.scene import Circle, Group, Polygon
from platecard.layout import shapes
from platecard.layout.arrange import place
from platecard.layout.checks import check
from tests.documents.test_changed_plate import DISH, ask, drawn
from tests.documents.test_plate_pictures import pdf_outlines, written
from tests.documents.test_step_pictures import on_paper
from tests.laid import LETTERS, at_mm, dish, piece, step
from tests.layout.test_arrangements import KITE
from tests.layout.test_layout_properties import SURFACES, any_group


def outside(scene):
    """How far in mm the scene reaches over its page; what a clip cuts off does not count."""
    left, top, right, bottom = bounds(*scene.items)
    return max(-left, -top, right - scene.width_mm, bottom - scene.height_mm)


# --- on the page
# -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("on", sorted(SURFACES))
@settings(max_examples=20)
@given(st.data())
def test_no_plate_draws_outside_its_page_from_above_or_from_the_side(on, data):
    steps = [s for i in range(data.draw(st.integers(1, 5))) for s in data.draw(any_group(LETTERS[2 * i]))]
    d = dish(*steps)
    arrangement, problems = place(d, SURFACES[on])
    far = [p for p in check(arrangement, d) if p.slug in ("off-the-plate", "larger-than-the-plate")]
    assume(not has_errors(problems) and not far)
    assert outside(plate.draw(arrangement, d)) <= 1e-6
    assert outside(side_view.draw(arrangement, d)) <= 1e-6


SHAPES = [
    "disc, size: 26 mm",
    "slice, size: 40 x 22 mm",
    "leaf, size: 14 x 8 mm",
    "shard, size: 30 x 18 mm",
    "ring, size: 24 mm, hole: 12 mm",
    "crumb, size: 6 mm",
    "quenelle, size: 30 x 15 mm",
]


@st.composite
def spec(draw):
    """A dish as it is written, on a plate that mats and cards must cut up."""
    n = draw(st.integers(1, 6))
    parts, moves = "", ""
    for i in range(n):
        parts += (
            f"  c{i}: {{ingredient: dill, called:"
            f" {draw(st.sampled_from(['Dill', 'A rather long name for dill', 'Dill of the day and of the night before it']))}}}\n"  # noqa: E501
        )
        how = draw(
            st.sampled_from(
                [
                    'at: "{h}:00", out: {r} mm',
                    'count: 3, arrange: row, gap: 2 mm, at: "{h}:30", out: {r} mm',
                    'count: 4, arrange: cluster, at: "{h}:00", out: {r} mm',
                    'count: 5, arrange: scatter, within: {{clock: "{h}:00 to {h}:59", out: 10 to 80 %}}',
                ]
            )
        )
        moves += (
            f"  - {{put: c{i}, piece: {{shape: {draw(st.sampled_from(SHAPES))}}},"
            f" {how.format(h=draw(st.integers(1, 12)), r=draw(st.integers(0, 85)))}, may_touch:"
            f" [{', '.join(f'c{j}' for j in range(n) if j != i)}]}}\n"
        )
    return (
        f"dish: A dish\nrevision: {{number: 1, date: 2026-01-31}}\nplate: wide\ncomponents:\n{parts}plating:\n{moves}"
    )


@settings(max_examples=12)
@given(spec(), st.sampled_from(sorted(PAGES)))
def test_no_mat_tile_and_no_step_picture_draws_outside_its_sheet(text, page):
    one = on_paper(page, text)
    assume(one.arrangement is not None and len(one.arrangement.footprints) > 0)
    assume(not any(p.slug in ("off-the-plate", "does-not-fit") for p in one.problems))
    for scene in (*mat.compose(one, "ab"), *step_pictures.compose(one, "ab")):
        assert outside(scene) <= 1e-6, scene.title


@settings(max_examples=10)
@given(st.integers(54, 80), st.integers(24, 30), st.integers(12, 40), st.sampled_from(["egg", "wheat", "egg, sesame"]))
def test_no_changed_plate_draws_outside_its_page(far, near, size, avoid):
    text = (
        DISH.replace("out: 24 mm", f"out: {near} mm")
        .replace("out: 60 mm", f"out: {far} mm")
        .replace("size: 40 x 22 mm", f"size: {size} x {size // 2} mm")
    )
    _, changed, _ = ask(avoid, text)
    assume(changed is not None)
    scene = drawn(changed)
    card = changed_plate.compose(
        changed.prepared, changed.regular, plate.number_of(changed.regular.dish), changed.fingerprint, changed.told
    )
    assert all(outside(p) <= 1e-6 for p in (scene, changed_plate.picture(scene, changed.told), *card))


def test_a_part_beyond_the_page_would_be_noticed():
    d = dish(step("a", piece=piece("disc", 30), at=at_mm(400, 0)))
    scene = plate.draw(place(d, SURFACES["round"])[0], d)
    assert outside(scene) > 100


# --- the same millimetres
# ----------------------------------------------------------------------------------------------

EVERY = [*sorted(shapes.SHAPES - shapes.SAUCES), "outline"]


def all_kinds(stance: str):
    """Every kind of piece once, each in its own place and turned its own way; what is poured with them."""
    found = []
    for i, kind in enumerate(EVERY):
        across, along = divmod(i, 6)
        bit = piece(
            kind,
            *((22, 34) if kind == "outline" else (17.3, 11.7) if kind not in shapes.ROUND else (15.1,)),
            points=KITE if kind == "outline" else (),
        )
        found.append(
            step(
                f"k{i}",
                piece=bit,
                at=at_mm(32 * along - 80, 40 * across - 40),
                facing=f"{i % 12 + 1}:25" if stance == "flat" else stance,
            )
        )
    return [
        *found,
        step("pool", arrange="pool", across_mm=33.3, at=at_mm(0, 10)),
        step("swipe", arrange="swipe", across_mm=14.2, start="8:00, 55 mm", end="1:00, 50 mm", bends=True),
        step("drizzle", arrange="drizzle", across_mm=3.1, start=at_mm(-60, 0), end=at_mm(60, 14)),
    ]


@pytest.mark.parametrize("stance", ["flat", "standing", "leaning"])
@pytest.mark.parametrize("on", sorted(SURFACES))
def test_every_footprint_has_the_millimetres_it_was_laid_with_in_both_formats(on, stance):
    d = dish(*all_kinds(stance))
    arrangement, problems = place(d, SURFACES[on])
    assert not problems and len(arrangement.footprints) == len(EVERY) + 3
    scene = plate.draw(arrangement, d)
    text, data = written(scene)
    middle = scene.width_mm / 2, scene.height_mm / 2
    paths = pdf_outlines(data, scene.height_mm)
    shown = {
        e.get("data-component"): e for e in ElementTree.fromstring(text).iter() if e.get("data-role") == "footprint"
    }
    for f in arrangement.footprints:
        e = shown[f.component]
        laid = [(middle[0] + x, middle[1] - y) for x, y in f.outline]
        if e.tag.endswith("circle"):
            x, y, r = (float(e.get(k)) for k in ("cx", "cy", "r"))
            assert math.dist((x, y), (middle[0] + f.centre[0], middle[1] - f.centre[1])) < 0.05 and r == pytest.approx(
                f.length_mm / 2, abs=0.05
            )
            assert all(abs(math.dist(p, (x, y)) - r) < 0.05 for p in laid)
            assert any(len(p) >= 5 and all(abs(math.dist(q, (x, y)) - r) < 0.05 for q in p) for p in paths), f.shape
        else:
            svg = [tuple(map(float, p.split(","))) for p in e.get("points").split()]
            assert len(svg) == len(laid) and all(math.dist(a, b) < 0.05 for a, b in zip(svg, laid)), f.shape
            assert any(
                len(p) in (len(laid), len(laid) + 1) and all(math.dist(a, b) < 0.05 for a, b in zip(laid, p))
                for p in paths
            ), f.shape


@pytest.mark.parametrize("on", sorted(SURFACES))
def test_every_silhouette_has_the_same_millimetres_in_both_formats(on):
    d = dish(*all_kinds("flat"))
    scene = side_view.draw(place(d, SURFACES[on])[0], d)
    text, data = written(scene)
    paths = pdf_outlines(data, scene.height_mm)
    shown = [e for e in ElementTree.fromstring(text).iter() if e.get("data-role") == "footprint"]
    assert len(shown) == len(EVERY) + 3

    def silhouettes(items):
        for i in items:
            if isinstance(i, Group):
                yield from silhouettes(i.items)
            elif i.about and i.about.role == "footprint":
                yield i

    for item in silhouettes(scene.items):
        assert not isinstance(item, Circle)
        ends = list(item.points) if isinstance(item, Polygon) else [s[-2:] for s in item.segments if s[0] != "Z"]
        assert any(
            len(p) in (len(ends), len(ends) + 1) and all(math.dist(a, b) < 0.05 for a, b in zip(ends, p)) for p in paths
        ), item.about
        e = next(e for e in shown if e.get("data-component") == item.about.component)
        numbers = (e.get("points") or e.get("d")).replace(",", " ")
        last = [float(n) for n in "".join(c if c in "0123456789.- " else " " for c in numbers).split()][-2:]
        assert math.dist(last, ends[-1]) < 0.05
