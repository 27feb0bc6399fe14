"""Food is known from its picture alone: what it is made of tells its colour, what it is and how it is cut its face.

What is not counted keeps its place and its area whatever its edge; nothing is drawn beyond the piece.
"""

from __future__ import annotations

import io
import math
from dataclasses import replace
from itertools import combinations

import pytest
import resvg_py
from PIL import Image, ImageChops

from platecard.diagnostics import Span
from platecard.documents.diagram import beds, bodies, colours, contrast, food, pen
from platecard.documents.diagram.faces import FACES
from platecard.documents.diagram.plate import draw
from platecard.drawing import pdf, svg
from platecard.drawing.extent import bounds
from platecard.drawing.scene import About, Group, Path, Placing, Polygon, Scene
from platecard.knowledge import catalogue, kinds, looks
from platecard.layout import geometry2d, shapes
from platecard.layout.arrange import place
from platecard.model import Component, Source, SourceKind
from platecard.model.appearance import Appearance
from platecard.publishing import rendered
from platecard.recipes import appearance
from tests.kitchens import errors, prepared
from tests.laid import at_mm, dish, piece, plate, step

CATALOGUE = catalogue.load()[0]
ROUND, SLICE, WEDGE, BAR, LONG = (
    piece("disc", 30, None, 8),
    piece("slice", 50, 28, 8),
    piece("wedge", 40, 28, 14),
    piece("bar", 60, 16, 10),
    piece("fillet", 80, 36, 20),
)


def poured(across):
    return {"arrange": "pool", "across_mm": across}


# What it is, what is said of it, and how it is cut: common foods that a guest meets on plates.
COMMON = {
    "seared scallop": ("scallop", "seared", ROUND),
    "chanterelle": ("chanterelle", "", WEDGE),
    "mushroom": ("button mushroom", "", SLICE),
    "burnt leek": ("leek", "burnt", ROUND),
    "leek": ("leek", "", ROUND),
    "beetroot": ("beetroot", "", ROUND),
    "egg": ("egg", "", LONG),
    "yolk": ("egg yolk", "", ROUND),
    "asparagus": ("asparagus", "", BAR),
    "noodles": ("wheat noodle", "noodles", poured(60)),
    "rice": ("white rice", "", poured(60)),
    "lentils": ("lentil", "", poured(60)),
    "salad": ("lettuce", "salad", poured(60)),
    "cod": ("cod", "", LONG),
    "salmon": ("salmon", "cured", SLICE),
    "roast beef": ("beef", "roast", SLICE),
    "duck": ("duck", "roast", SLICE),
    "chicken": ("chicken", "roast", SLICE),
    "pork belly": ("pork", "belly", SLICE),
    "carrot": ("carrot", "", BAR),
    "round of carrot": ("carrot", "", ROUND),
    "pea": ("garden pea", "", piece("dot", 9, None, 8)),
    "blackberry": ("blackberry", "", piece("disc", 16, None, 14)),
    "raspberry": ("raspberry", "", piece("disc", 16, None, 14)),
    "blueberry": ("blueberry", "", piece("disc", 12, None, 11)),
    "orange": ("orange", "", ROUND),
    "grapefruit": ("grapefruit", "", WEDGE),
    "tomato": ("tomato", "", ROUND),
    "chips": ("potato", "chips", BAR),
    "bread": ("sourdough bread", "", SLICE),
    "hard cheese": ("cheddar", "", WEDGE),
    "blue cheese": ("blue cheese", "", WEDGE),
    "meringue": ("egg white", "meringue", piece("shard", 36, 26, 6)),
    "strawberry": ("strawberry", "", WEDGE),
    "radish": ("radish", "", ROUND),
    "turnip": ("turnip", "", ROUND),
    "cucumber": ("cucumber", "", ROUND),
    "courgette": ("courgette", "", ROUND),
    "courgette flower": ("courgette flower", "courgette flower in batter", LONG),
    "straw potato": ("potato", "straw", ROUND),
    "red wine sauce": ("red wine", "", poured(60)),
    "celeriac cream": ("celeriac", "cream", poured(60)),
    "crumble": ("hazelnut", "crumble", poured(60)),
    "prawn": ("prawn", "", SLICE),
    "octopus": ("octopus", "", BAR),
    "apple": ("apple", "", ROUND),
    "peach": ("peach", "", WEDGE),
    "cabbage": ("pointed cabbage", "charred", WEDGE),
    "pavé": ("potato", "pavé", BAR),
    "black pudding": ("black pudding", "", ROUND),
    "chocolate": ("dark chocolate", "", BAR),
    "biscuit": ("wheat flour", "biscuit", ROUND),
    "crème brûlée": ("cream", "crème brûlée", ROUND),
    "jelly": ("apple juice", "jelly", piece("cube", 16, None, 14)),
    "onion": ("onion", "burnt", piece("leaf", 34, 24, 8)),
    "cauliflower": ("cauliflower", "", ROUND),
    "batter": ("cod", "tempura batter", LONG),
    "celery": ("celery", "", BAR),
    "fig": ("fig", "", WEDGE),
    "mackerel": ("mackerel", "", LONG),
    "oyster": ("oyster", "", LONG),
    "salmon roe": ("salmon roe", "", ROUND),
    "sweetcorn": ("sweetcorn", "", BAR),
    "squid": ("squid", "", SLICE),
    "baked celeriac": ("celeriac", "baked", WEDGE),
}


def seen_as(name: str, said: str = ""):
    """The appearance of a plain food of the catalogue of which something is said."""
    c = Component("x", said or name, Source(SourceKind.INGREDIENT, name, Span("x", 1)), "", Span("x", 1))
    entry = CATALOGUE.find(name).entry
    assert entry is not None, name
    return appearance.of_component(c, entry)


def single(name: str, said: str, how):
    """A plate with one kind of food, its look known."""
    one = step("x", **how) if isinstance(how, dict) else step("x", piece=how, at="centre")
    d = dish(one, called={"x": said or name})
    arrangement, problems = place(d, plate(150, 130, "coupe"))
    assert not problems
    return arrangement._replace(looks=(("x", seen_as(name, said)),)), d


def pictures(names) -> dict[str, Image.Image]:
    """Each food alone, at half the size at which a card shows it."""
    found = {}
    for name in names:
        scene = draw(*single(*COMMON[name]), callouts={})
        items = tuple(i for i in scene.items if isinstance(i, Group) and i.id.startswith("step-"))
        k = 0.2
        middle = scene.width_mm / 2, scene.height_mm / 2
        shown = Group(items, placing=Placing(k, 9 - k * middle[0], 9 - k * middle[1], k))
        data = resvg_py.svg_to_bytes(
            svg_string=svg.write(Scene(18, 18, (shown,), "one", ""), embed_fonts=False), dpi=203.2, background="#fbfaf7"
        )
        found[name] = Image.open(io.BytesIO(bytes(data))).convert("RGB")
    return found


# --- the table -------------------------------------------------------------------------------------------------------


def test_every_row_can_be_drawn_and_met():
    rows, problems = looks.load()
    tree = kinds.load()[0]
    assert problems == ()
    assert beds.BEDS.keys() == colours.LOOSE_FACES and bodies.STALKS.keys() == colours.STALKS
    for row in rows:
        assert row.face in FACES or row.face in beds.BEDS or row.face in bodies.STALKS, row
        assert row.kinds <= set(tree.kinds), (row.name, row.kinds - set(tree.kinds))
        assert row.cut <= {s.name for s in shapes.ALL}, row
        assert all(colours.bears(shape, row.face) for shape in row.cut), (row.name, row.face, sorted(row.cut))
        assert row.foods or row.kinds or row.made, row
        assert row.shown_by in ("fill", "second", "third")
        for shade in (row.fill, row.second, row.third):
            assert not shade or (len(shade) == 7 and 0 <= int(shade[1:], 16)), row
        if row.fill and row.second:
            assert abs(colours.lightness(row.fill) - colours.lightness(row.second)) >= colours.APART, row.name
            assert contrast.contrast(row.fill, row.second) >= 12, "in grey and with each deficiency"
    used = {row.face for row in rows}
    assert used >= FACES.keys() and used >= beds.BEDS.keys()


@pytest.mark.parametrize("row", looks.table(), ids=lambda row: f"{row.name} {row.face}")
def test_no_row_stands_behind_another_that_takes_all_its_food(row):
    """For some shape, some food of the row is drawn by the row itself."""
    foods = [*((food, frozenset()) for food in row.foods), *(("", frozenset([kind])) for kind in row.kinds)]
    cooked = sorted({word for other in looks.table() for word in other.unmade})
    for food_, of in foods or [("", frozenset())]:
        for words in row.made or ("", *cooked):
            one = Appearance(food_, of, words)
            if any(looks.drawn(one, shape) is row for shape in (row.cut or {s.name for s in shapes.ALL})):
                return
    raise AssertionError(f"{row.name} is never met")


# --- what it is ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("name", "like"),
    [
        ("beetroot", "#8a2446"),
        ("egg", "#f3e3b0"),
        ("blue cheese", "#f1ead2"),
        ("spinach", "#47753a"),
        ("cheddar", "#efd693"),
        ("olive oil", "#a8a93c"),
        ("red wine", "#6b2036"),
        ("cod", "#f1ebdf"),
    ],
)
def test_a_plain_food_has_its_colour_whatever_it_is_called(name, like):
    one = seen_as(name, "the chef's favourite carrot")
    assert contrast.difference(one.colour, like, "full") < 12, (one.colour, like)


KITCHEN = {
    "shared/recipes/pink-cream.yaml": """\
recipe: Cream of the red root
makes: 500 g
ingredients:
  - {ingredient: beetroot, amount: 200 g}
  - {ingredient: crème fraîche, amount: 300 g}
""",
    "shared/recipes/green-oil.yaml": """\
recipe: Oil
makes: 400 g
ingredients:
  - {ingredient: sunflower oil, amount: 400 g}
  - {ingredient: parsley, amount: 100 g}
""",
}
SPEC = """\
dish: A trial
revision: {number: 1, date: 2026-01-31, note: first}
plate: wide
components:
  salmon: {recipe: pink-cream, swap: {avoiding: [milk], use: {ingredient: spinach}}}
  tan: {recipe: green-oil}
  slate: {ingredient: blue cheese}
plating:
  - {put: salmon, amount: 30 g, arrange: pool, across: 50 mm}
  - {put: tan, count: 3, piece: {shape: dot, size: 6 mm}, arrange: ring, out: 60 mm}
  - {put: slate, piece: {shape: cube, size: 20 mm}, at: {right: 60 mm}}
"""


def test_the_recipe_decides_and_the_name_comes_last():
    one = prepared(SPEC, KITCHEN)
    assert one.arrangement is not None, errors(one.problems)
    found = colours.looks(one.arrangement, one.dish)
    red, green, blue = colours.channels(found["salmon"].fill)
    assert red > 160 and red - green > 40 and blue > green, "pink from beetroot and cream, not the orange of salmon"
    red, green, blue = colours.channels(found["tan"].fill)
    assert green > red > blue, "green from its herb"
    assert found["slate"].face == "veined" and colours.lightness(found["slate"].fill) > 85


def test_a_swap_looks_like_itself():
    one = prepared(SPEC, KITCHEN)
    (swap,) = one.dish.components[0].swaps
    other = replace(one.dish.components[0], called=swap.called)
    changed = replace(one.dish, components=(other, *one.dish.components[1:]))
    red, green, blue = colours.channels(colours.looks(one.arrangement, changed)["salmon"].fill)
    assert green > red > blue
    assert colours.looks(one.arrangement, one.dish)["tan"] == colours.looks(one.arrangement, changed)["tan"]


def test_a_plate_that_is_laid_again_looks_the_same():
    one = prepared(SPEC, KITCHEN)
    assert rendered.laid(replace(one, arrangement=None)).arrangement == one.arrangement


def test_the_colour_of_the_spec_goes_first_and_shows_where_the_food_is_known_by_it():
    arrangement, d = single("radish", "", ROUND)
    plain = colours.looks(arrangement, d)["x"]
    own = colours.looks(arrangement, replace(d, components=(replace(d.components[0], colour="violet"),)))["x"]
    assert own.fill == plain.fill and own.second != plain.second, "the skin of a radish"
    arrangement, d = single("beetroot", "", ROUND)
    own = colours.looks(arrangement, replace(d, components=(replace(d.components[0], colour="gold"),)))["x"]
    assert own.fill == colours.palette()[0]["gold"]
    for colour in colours.palette()[0]:
        look = colours.looks(arrangement, replace(d, components=(replace(d.components[0], colour=colour),)))["x"]
        assert abs(colours.lightness(look.fill) - colours.lightness(look.second)) >= colours.APART, colour


# --- what it looks like ----------------------------------------------------------------------------------------------


def test_common_foods_are_told_apart_in_colour_and_in_grey_at_half_size():
    shown = pictures(COMMON)
    assert len(shown) >= 60
    for view in ("RGB", "L"):
        seen = {name: picture.convert(view) for name, picture in shown.items()}
        for one, two in combinations(seen, 2):
            bands = ImageChops.difference(seen[one], seen[two]).split()
            worst = bands[0]
            for band in bands[1:]:
                worst = ImageChops.lighter(worst, band)
            differing = sum(worst.histogram()[24:])
            drawn = min(sum(seen[k].convert("L").histogram()[:240]) for k in (one, two))
            assert differing > 0.25 * drawn, (view, one, two, differing / drawn)


def test_a_food_is_drawn_the_same_whatever_else_is_on_the_plate():
    def group(*steps):
        d = dish(*steps)
        scene = draw(place(d, plate(280, 240))[0]._replace(looks=(("x", seen_as("white rice")),)), d, callouts={})
        (one,) = [i for i in scene.items if isinstance(i, Group) and i.id == "step-1"]
        middle = scene.width_mm / 2, scene.height_mm / 2
        return svg.write(
            Scene(90, 90, (Group(one.inner, placing=Placing(1, 45 - middle[0], 45 - middle[1], 1)),), "x", ""),
            embed_fonts=False,
        )

    pool = step("x", arrange="pool", across_mm=60)
    assert group(pool) == group(pool) == group(pool, step("z", piece=piece("disc", 20), at=at_mm(90, 0)))


def test_the_higher_it_is_the_longer_its_shadow_and_never_beyond_the_longest():
    def reach(height):
        d = dish(step("a", piece=piece("cube", 30, None, height), at="centre"))
        (f,) = place(d, plate())[0].footprints
        return math.hypot(*pen.shade(f))

    lengths = [reach(h) for h in (2, 8, 20, 30, 90)]
    assert lengths == sorted(lengths) and lengths[0] < 1 < 3 < lengths[2]
    assert lengths[3] <= 1.23 * pen.LONGEST_SHADOW and lengths[4] == pytest.approx(
        1.2207 * pen.LONGEST_SHADOW, abs=0.01
    )


@pytest.mark.parametrize("face", sorted({*FACES, *beds.BEDS, *bodies.STALKS}))
def test_every_face_stays_on_its_piece_at_every_size_in_both_formats(face):
    for shape in sorted(s.name for s in shapes.ALL if colours.bears(s.name, face) and s.name != "outline"):
        for long_mm, wide_mm in ((3, 3), (14, 9), (40, 22), (120, 16), (90, 90)):
            for stance in ("flat", "standing") if shape in ("disc", "shard", "bar", "leaf") else ("flat",):
                how = (
                    {"arrange": "pool", "across_mm": long_mm}
                    if shape == "pool"
                    else {"piece": piece(shape, long_mm, wide_mm, 12)}
                )
                if stance == "standing" and "piece" in how:
                    how["facing"] = "standing"
                d = dish(step("x", **how))
                arrangement, problems = place(d, plate(320, 300))
                assert not problems
                look = colours.Look("#c98f4e", *colours.lines_for("#c98f4e"), (), True, face, "#5b3a26", "#f4e6c0")
                (f,) = arrangement.footprints
                items = tuple(food.piece(f, look, (160.0, 160.0), About("x", "footprint", "x:1")))
                scene = Scene(320, 320, items, "x", "")
                assert svg.write(scene, embed_fonts=False) and pdf.write((scene,), title="x")
                assert sum(i.about is not None for i in items) == 1
                if stance == "flat":
                    left, top, right, bottom = bounds(*items)
                    around = geometry2d.box(tuple((160 + x, 160 - y) for x, y in f.outline))
                    # The lines are as wide on paper as they are; loose food may reach a little over its edge.
                    room = 1.0 + math.hypot(*pen.shade(f)) + 0.09 * max(long_mm, wide_mm) * (face in beds.BEDS)
                    loose = max(look.grain_mm) * 0.9 if face in beds.BEDS else 0.0
                    assert left >= around[0] - room - loose and top >= around[1] - room - loose, (shape, long_mm)
                    assert right <= around[2] + room + loose and bottom <= around[3] + room + loose, (shape, long_mm)


# --- what is not counted ---------------------------------------------------------------------------------------------


def edges(scene) -> list[tuple[tuple[float, float], ...]]:
    """The corners of every soft outline that follows a footprint."""
    found = []
    for group in scene.items:
        if isinstance(group, Group) and group.id.startswith("step-"):
            for below, body in zip(group.items, group.items[1:]):
                if below.about and below.about.role == "footprint" and isinstance(body, Path):
                    found.append(tuple(s[-2:] for s in body.segments if s[0] == "C"))
    return found


@pytest.mark.parametrize("across", [20, 60, 110])
@pytest.mark.parametrize("name", ["sauce", "cream", "jus", "broth", "rice", "oil"])
def test_a_sauce_has_an_edge_of_its_own_and_exactly_its_area(name, across):
    d = dish(step(name, arrange="pool", across_mm=across, at=at_mm(12, -7)))
    arrangement, _ = place(d, plate(280, 260))
    scene = draw(arrangement, d, callouts={})
    (edge,) = edges(scene)
    middle = scene.width_mm / 2 + 12, scene.height_mm / 2 + 7
    # The curve runs through its corners and bows out a little between them.
    assert abs(geometry2d.area(edge)) == pytest.approx(math.pi * across**2 / 4, rel=0.01)
    far = [math.dist(p, middle) for p in edge]
    assert 0.9 * across / 2 < min(far) < 0.99 * across / 2 and 1.005 * across / 2 < max(far) < 1.1 * across / 2
    x, y = (sum(c) / len(edge) for c in zip(*edge))
    assert math.dist((x, y), middle) < 0.02 * across


def test_the_edge_of_a_sauce_follows_what_stands_in_it():
    def edge(*more):
        d = dish(step("jus", arrange="pool", across_mm=80), *more)
        return edges(draw(place(d, plate(280, 260))[0], d, callouts={}))[0]

    def at(row, degrees):
        mx, my = (sum(c) / len(row) for c in zip(*row))
        a = math.radians(degrees)
        return max(math.hypot(x - mx, y - my) for x, y in row if abs(math.atan2(my - y, x - mx) - a) < 0.12)

    alone = edge()
    meat = edge(step("meat", piece=piece("cube", 20, None, 20), at=at_mm(40, 0), on="jus"))
    beside = math.degrees(math.asin(10 / 40))
    assert at(meat, beside) > at(alone, beside) + 1, "it clings to the side of the meat"
    assert edge(step("meat", piece=piece("cube", 20, None, 20), at=at_mm(90, 0))) == alone
    assert edge(step("meat", piece=piece("cube", 20, None, 20), at=at_mm(0, 0), on="jus")) == alone


def test_a_sauce_that_fills_the_well_has_the_edge_of_the_well():
    d = dish(step("broth", arrange="pool", across_mm=160))
    scene = draw(place(d, plate(240, 160, "bowl", 40))[0], d, callouts={})
    (edge,) = edges(scene)
    assert all(math.dist(p, (scene.width_mm / 2, scene.height_mm / 2)) == pytest.approx(80, abs=0.15) for p in edge)


def test_no_edge_is_drawn_beyond_the_well():
    for across in range(100, 160, 6):
        d = dish(step("broth", arrange="pool", across_mm=across, at=at_mm(80 - across / 2, 0)))
        scene = draw(place(d, plate(240, 160, "bowl", 40))[0], d, callouts={})
        (edge,) = edges(scene)
        assert all(math.dist(p, (scene.width_mm / 2, scene.height_mm / 2)) < 80.3 for p in edge), across


def test_a_pull_of_the_spoon_stays_within_its_outline():
    d = dish(step("jam", arrange="swipe", across_mm=24, start=at_mm(-60, -8), end=at_mm(60, 14)))
    arrangement, _ = place(d, plate(280, 260))
    scene = draw(arrangement, d, callouts={})
    (f,) = arrangement.footprints
    (group,) = [i for i in scene.items if isinstance(i, Group) and i.id == "step-1"]
    points = [
        p
        for item in group.items
        for p in (item.points if isinstance(item, Polygon) else [s[-2:] for s in item.segments if s[0] != "Z"])
    ]
    middle = scene.width_mm / 2, scene.height_mm / 2
    here = [(x - middle[0], middle[1] - y) for x, y in points]
    assert len(points) > 200
    assert all(geometry2d.contains(f.outline, p) or min(math.dist(p, q) for q in f.outline) < 1.5 for p in here)
