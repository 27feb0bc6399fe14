"""The same plate in both formats, to the hundredth of a millimetre and to the pixel; told apart by everyone; faults and
heights shown.
"""

import io
import math
from dataclasses import replace
from xml.etree import ElementTree

import pypdf
import pypdfium2
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ImageChops

from platecard.documents.diagram import colours, contrast, marks, side_view
from platecard.documents.diagram.plate import draw
from platecard.drawing import pdf, svg
from platecard.drawing.extent import bounds
from platecard.drawing.scene import Circle, Group, Polygon, Text
from platecard.layout import geometry2d, heights, shapes
from platecard.layout.arrange import place
from platecard.layout.checks import faults
from tests.documents.test_plate_drawing import STARTER, judge, with_role
from tests.golden_report import differs, raster
from tests.laid import LETTERS, at_mm, dish, piece, plate, region, step
from tests.layout.test_arrangements import FISH, KITE, swipe
from tests.layout.test_plate_geometry import BOARD, BOX, OVAL

NEW = (
    swipe(bends=True),
    step("cream", arrange="pool", across_mm=50, under="fish", amount="6 ml"),
    replace(FISH, facing=replace(FISH.facing, up="skin side")),
    step(
        "rings",
        count=3,
        piece=piece("ring", 16, hole=9),
        arrange="row",
        beside="fish",
        along_deg="12:00",
        gap_mm=1,
        clear_mm=6,
    ),
    step("dots", count=4, piece=piece("dot", 10, last=4), arrange="arc", start="2:00", end="4:00", out="85 %"),
    step("foam", piece=piece("foam", 28), on="fish"),
    step("kite", piece=piece("outline", 22, 34, points=KITE), at=at_mm(10, 52), facing="clockwise"),
    step("oil", arrange="drizzle", across_mm=3, start=at_mm(-40, -50), end=at_mm(30, -56)),
)
ALL_KINDS = tuple(
    step(
        LETTERS[i] if i < 16 else f"k{i}",
        count=2,
        piece=piece(kind, 26, 14 if kind not in shapes.ROUND else 26),
        arrange="scatter",
        within=region(f"{i % 12 + 1}:00 to {(i + 1) % 12 + 1}:00"),
        gap_mm=0,
        may_touch=tuple(LETTERS) + tuple(f"k{j}" for j in range(16, 20)),
    )
    for i, kind in enumerate(sorted(shapes.SHAPES))
)
PLATES = {"round": plate(300, 240), "oval": OVAL, "box": BOX, "board": BOARD}


def laid(*steps, on, **more):
    d = dish(*steps, **more)
    arrangement, problems = place(d, on)
    assert not problems, problems
    return arrangement, d


def written(scene):
    return svg.write(scene, embed_fonts=False), pdf.write((scene,), title="Plate")


# --- the same millimetres
# ----------------------------------------------------------------------------------------------


def svg_outlines(text):
    """The footprints of an SVG: a circle as (x, y, r), any other outline as its points."""
    found = []
    for e in ElementTree.fromstring(text).iter():
        if e.get("data-role") == "footprint":
            if e.tag.endswith("circle"):
                found.append(tuple(float(e.get(k)) for k in ("cx", "cy", "r")))
            else:
                found.append([tuple(map(float, p.split(","))) for p in e.get("points").split()])
    return found


def pdf_outlines(data, height_mm):
    """Every path of the first page: its corners, and the ends of its curves, in mm from the top left."""
    reader = pypdf.PdfReader(io.BytesIO(data))
    mm = 25.4 / 72
    paths, here = [], []
    for operands, operator in pypdf.generic.ContentStream(reader.pages[0].get_contents(), None).operations:
        name = operator.decode()
        if name == "cm":
            assert [float(v) for v in operands] == [
                1,
                0,
                0,
                1,
                0,
                0,
            ], "the page is written without a change of its frame"
        if name == "m":
            here = []
            paths.append(here)
        if name in ("m", "l", "c"):
            x, y = map(float, operands[-2:])
            here.append((x * mm, height_mm - y * mm))
    return paths


@pytest.mark.parametrize(
    "steps, on", [(STARTER, "round"), (ALL_KINDS, "round"), (NEW, "round"), (NEW, "oval"), (NEW, "box"), (NEW, "board")]
)
def test_every_footprint_has_the_same_millimetres_on_paper_and_on_screen(steps, on):
    scene = draw(*laid(*steps, on=PLATES[on]))
    text, data = written(scene)
    paths = pdf_outlines(data, scene.height_mm)
    by_count: dict[int, list] = {}
    for p in paths:
        by_count.setdefault(len(p), []).append(p)
    footprints = svg_outlines(text)
    assert len(footprints) == len(with_role(scene, "footprint"))
    for f in footprints:
        if isinstance(f, tuple):
            x, y, r = f
            same = [p for p in paths if len(p) >= 5 and all(abs(math.dist(q, (x, y)) - r) < 0.05 for q in p)]
        else:
            same = [
                p
                for n in (len(f), len(f) + 1)
                for p in by_count.get(n, ())
                if all(math.dist(a, b) < 0.05 for a, b in zip(f, p))
            ]
        assert same, f


@pytest.mark.parametrize("steps, on", [(STARTER, "round"), (ALL_KINDS, "round"), (NEW, "oval"), (NEW, "board")])
def test_both_formats_of_one_plate_agree_pixel_by_pixel(steps, on):
    scene = draw(*laid(*steps, on=PLATES[on]))
    text, data = written(scene)
    screen = raster(text, 76.2)
    paper = pypdfium2.PdfDocument(data)[0].render(scale=76.2 / 72).to_pil().convert("RGB").resize(screen.size)
    # The two renderers smooth edges in their own ways; what differs by a quarter of the range is something else.
    assert differs(screen, paper, 64) < 0.012
    dropped = scene._replace(items=tuple(i for i in scene.items if not (isinstance(i, Group) and i.id == "step-1")))
    assert differs(raster(svg.write(dropped, embed_fonts=False), 76.2), paper, 64) > 0.0015 + differs(
        screen, paper, 64
    ), "one part less would be noticed"


# --- callouts on any plate
# -----------------------------------------------------------------------------------------------


@st.composite
def any_plate(draw_):
    on = draw_(st.sampled_from([OVAL, BOX, BOARD]))
    steps = []
    for key in LETTERS[: draw_(st.integers(1, 16))]:
        kind = draw_(st.sampled_from(sorted(shapes.SHAPES)))
        up = draw_(st.sampled_from(["", "", "cut face", "skin side", "hollow side"]))
        s = step(
            key,
            count=draw_(st.integers(1, 5)),
            piece=piece(kind, draw_(st.integers(4, 30)), draw_(st.integers(4, 30))),
            arrange="cluster",
            at=at_mm(draw_(st.integers(-110, 110)), draw_(st.integers(-60, 60))),
        )
        steps.append(replace(s, facing=replace(s.facing, up=up)))
    return steps, on


@settings(max_examples=60, deadline=None)
@given(any_plate())
def test_callouts_never_overlap_on_plates_that_are_not_round(made):
    steps, on = made
    arrangement, d = laid(*steps, on=on)
    scene = draw(arrangement, d)
    judge(scene, arrangement, d)
    left, top, right, bottom = bounds(*scene.items)
    assert left >= 0 and top >= 0 and right <= scene.width_mm and bottom <= scene.height_mm


def test_the_starter_is_judged_with_its_legend():
    steps = [replace(s, facing=replace(s.facing, up=u)) for s, u in zip(STARTER, ("", "cut face", "skin side", "", ""))]
    arrangement, d = laid(*steps, on=plate(270, 170))
    judge(draw(arrangement, d), arrangement, d)


# --- told apart
# ----------------------------------------------------------------------------------------------------------

PALETTE = sorted(colours.palette()[0].values())


def test_contrast_by_known_colours():
    assert contrast.seen("#ffffff", "full") == pytest.approx((100, 0, 0), abs=0.02)
    assert contrast.seen("#000000", "grey") == (0, 0, 0)
    # sRGB red: L* 53.24, a* 80.09, b* 67.20.
    assert contrast.seen("#ff0000", "full") == pytest.approx((53.24, 80.09, 67.20), abs=0.05)
    for view in contrast.SEEN_BY:
        # Grey stays grey whoever looks: each row of a matrix adds up to one.
        assert all(sum(row) == pytest.approx(1, abs=2e-6) for row in contrast.SEEN_BY[view])
    red, green = "#b5473a", "#6f7f2a"
    assert contrast.difference(red, green, "full") > 50 and contrast.difference(red, green, "deutan") < 25
    assert contrast.contrast(red, red) == 0


@settings(max_examples=120)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["disc", "slice", "bar", "quenelle", "wedge", "fillet", "shard", "cube", "pool", "swipe"]),
            st.sampled_from(PALETTE),
        ),
        min_size=2,
        max_size=6,
    )
)
def test_neighbours_that_touch_can_be_told_apart_by_everyone(rows):
    """In grey and with the three common deficiencies: by colour, or else by their hatch."""
    steps = []
    for i, (kind, _) in enumerate(rows):
        where = at_mm(16 * i - 40, 0)
        steps.append(
            step(LETTERS[i], arrange="pool", across_mm=30, at=where)
            if kind == "pool"
            else step(LETTERS[i], piece=piece(kind, 30, 24), at=where)
        )
    arrangement, d = laid(*steps, on=plate(300, 240), colours={LETTERS[i]: c for i, (_, c) in enumerate(rows)})
    looks = colours.looks(arrangement, d)
    for pair in colours.neighbours(arrangement, {k: v.fill for k, v in looks.items()}):
        one, two = sorted(pair)
        assert looks[one].hatch != looks[two].hatch
    for look in looks.values():
        # Every body has an edge that shows in all views.
        assert min(contrast.difference(look.fill, look.line, v) for v in contrast.VIEWS) >= 15


@settings(max_examples=120, deadline=None)
@given(
    st.lists(
        st.tuples(
            st.sampled_from(["disc", "slice", "bar", "leaf", "frond", "flower", "crumb", "shard"]),
            st.sampled_from(PALETTE),
            st.booleans(),
        ),
        min_size=2,
        max_size=6,
    )
)
def test_what_lies_on_something_stands_out_from_it_for_everyone(rows):
    """In grey and with the three common deficiencies: by colour, or else by a white edge with a dark line in it."""
    steps = [
        step(
            LETTERS[i],
            piece=piece(kind, 60 - 8 * i, 50 - 8 * i),
            at=at_mm(2 * i, 0),
            facing="standing" if stands and kind == "shard" else "away",
            may_touch=tuple(LETTERS),
        )
        for i, (kind, _, stands) in enumerate(rows)
    ]
    arrangement, d = laid(*steps, on=plate(300, 240), colours={LETTERS[i]: c for i, (_, c, _) in enumerate(rows)})
    looks = colours.looks(arrangement, d)
    prints = arrangement.footprints
    for i, under in enumerate(prints):
        for over in prints[i + 1 :]:
            if over.component == under.component or not geometry2d.meet(over.outline, under.outline):
                continue
            below, look = looks[under.component].fill, looks[over.component]
            shown = colours.drawn_on(over, look.fill, below)
            if contrast.contrast(shown, below) >= colours.STEP_ON:
                continue
            assert look.bed
            line = colours.edge(over, look)
            assert max(contrast.contrast("#ffffff", below), contrast.contrast(line, below)) >= 30
            assert contrast.contrast("#ffffff", line) >= 30


def test_the_white_edge_is_drawn_and_can_be_seen():
    crisp = step("crisp", piece=piece("shard", 40, 30), on="char", at="centre")
    for over in (crisp, replace(crisp, facing=replace(crisp.facing, stance="standing"))):
        whites = []
        for under in ("#c08a50", "#203040"):
            arrangement, d = laid(
                step("char", piece=piece("disc", 120)),
                over,
                on=plate(300, 240),
                colours={"char": under, "crisp": "#bf8b4e"},
            )
            assert colours.looks(arrangement, d)["crisp"].bed == (under == "#c08a50")
            grey = raster(svg.write(draw(arrangement, d, callouts={}), embed_fonts=False), 76.2).convert("L")
            x, y = grey.width / 2, grey.height / 2
            whites.append(sum(grey.crop((int(x - 90), int(y - 90), int(x + 90), int(y + 90))).histogram()[250:]))
        assert whites[0] > whites[1] + 50


# --- which side is up
# --------------------------------------------------------------------------------------------------


def test_the_side_that_is_up_is_said_at_each_part():
    steps = [
        replace(s, facing=replace(s.facing, up=u))
        for s, u in zip(
            (
                FISH,
                step("b", piece=piece("slice", 30, 24), at=at_mm(60, 0)),
                step("c", piece=piece("dot", 6), at=at_mm(-80, 0)),
            ),
            ("skin side", "cut face", "hollow side"),
        )
    ]
    scene = draw(*laid(*steps, on=plate(300, 240)))
    (legend,) = [g for g in scene.items if isinstance(g, Group) and g.id == "legend"]
    # Words at each part, and no sign to decode.
    assert sorted(t.text for g in legend.items for t in g.items if isinstance(t, Text)) == [
        "1: skin side up",
        "2: cut face up",
        "3: hollow side up",
    ]
    assert [marks.kind(w) for w in ("cut face", "skin side", "browner face", "hollow side", "flesh side")] == [
        "cut",
        "outside",
        "outside",
        "other",
        "cut",
    ]
    assert draw(*laid(FISH, on=plate(300, 240))).items[-1].id == "scale", "no legend where nothing is asked"


# --- faults
# ------------------------------------------------------------------------------------------------------------


def test_a_draft_shows_each_fault_on_the_pieces_that_have_it():
    d = dish(
        step("a", piece=piece("disc", 60)),
        step("b", piece=piece("disc", 40), at=at_mm(30, 0)),
        step("c", piece=piece("disc", 30), at=at_mm(112, 0)),
    )
    arrangement, _ = place(d, plate(300, 240))
    found = faults(arrangement, d)
    assert with_role(draw(arrangement, d), "fault") == []
    scene = draw(arrangement, d, faults=found)
    groups = [g for g in scene.items if isinstance(g, Group) and g.id.startswith("fault-")]
    assert [g.title for g in groups] == [f.problem.message for f in found]
    outlines = [[i for i in g.items if isinstance(i, Polygon)] for g in groups]
    assert [len(o) for o in outlines] == [len(f.pieces) for f in found]
    rings = [i for g in groups for i in g.items if isinstance(i, Circle)]
    assert len(rings) == len(groups) and all(i.style.stroke == marks.RED for i in rings)
    red, green, _ = raster(svg.write(scene, embed_fonts=False), 76.2).split()
    shown = ImageChops.multiply(red.point(lambda v: 255 * (v > 150)), green.point(lambda v: 255 * (v < 60)))
    assert shown.histogram()[255] > 200


# --- the side view
# -----------------------------------------------------------------------------------------------------


def test_heights_stand_on_what_lies_below():
    arrangement, _ = laid(
        step("s", arrange="pool", across_mm=90),
        step("a", piece=piece("disc", 60, None, 20), on="s"),
        step("b", piece=piece("disc", 30, None, 12), on="a"),
        step("c", piece=piece("shard", 50, 25, 2), facing="standing", on="b"),
        step("d", count=3, piece=piece("disc", 20, None, 8), arrange="stack", at=at_mm(80, 0)),
        on=plate(300, 240),
    )
    rows = {(f.component, f.index): (foot, top) for f, foot, top in heights.stacked(arrangement)}
    assert rows[("a", 0)] == (2, 22) and rows[("b", 0)] == (22, 34) and rows[("c", 0)] == (34, 84)
    assert [rows[("d", i)] for i in range(3)] == [(0, 8), (8, 16), (16, 24)]
    assert heights.highest(arrangement) == 84 and heights.matter(arrangement)
    flat, _ = laid(step("a", piece=piece("disc", 60, None, 20)), on=plate(300, 240))
    assert not heights.matter(flat)


@pytest.mark.parametrize("on", list(PLATES.values()))
def test_the_side_view_is_true_and_stays_on_its_page(on):
    arrangement, d = laid(*NEW, on=on)
    scene = side_view.draw(arrangement, d)
    left, top, right, bottom = bounds(*scene.items)
    assert left >= 0 and top >= 0 and right <= scene.width_mm + 1e-6 and bottom <= scene.height_mm
    (fish,) = [i for i in with_role(scene, "footprint") if i.about.component == "fish"]
    fx0, fy0, fx1, fy1 = bounds(fish)
    assert (fx1 - fx0, fy1 - fy0) == pytest.approx((90, 22)) and fish.about.source.startswith("specs/dish.yaml:")
    assert "above the well" in scene.description and scene.title.endswith("from the guest's side")
    assert svg.write(scene, embed_fonts=False) == svg.write(side_view.draw(*laid(*NEW, on=on)), embed_fonts=False)


def test_what_is_nearer_the_guest_hides_what_is_further():
    arrangement, d = laid(
        step("near", piece=piece("disc", 40, None, 10), at=at_mm(0, -40)),
        step("far", piece=piece("disc", 40, None, 30), at=at_mm(0, 40)),
        on=plate(300, 240),
    )
    assert [i.about.component for i in with_role(side_view.draw(arrangement, d), "footprint")] == ["far", "near"]


def test_grey_copies_keep_the_parts_apart():
    arrangement, d = laid(*NEW, on=OVAL)
    grey = raster(svg.write(draw(arrangement, d), embed_fonts=False)).convert("L")
    assert sum(1 for n in grey.histogram() if n) > 40
