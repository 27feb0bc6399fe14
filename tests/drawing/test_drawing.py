"""What is drawn is where the display list says, in both formats, and comes back out as it went in."""

import io
import math
import re
import unicodedata
import zlib
from xml.etree import ElementTree

import pypdf
import pypdfium2
import pytest
import resvg_py
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import Image, ImageChops, ImageFilter
from shapely.geometry import LineString
from shapely.geometry import Polygon as Area

from platecard.drawing import extent, fonts, pdf, scene, signs, svg
from platecard.drawing.scene import About, Circle, Group, Path, Placing, Polygon, Rect, Scene, Style, Text

LINE = Style(stroke="#000000", width=0.3)
SVG = "{http://www.w3.org/2000/svg}"
POINTS = 72 / 25.4
NUMBER = re.compile(r"-?\d+(?:\.\d+)?")
HOSTILE = (
    "</text><script>alert(1)</script>",
    "\"quoted\" 'single'",
    "salt & pepper &amp; &#x1F;",
    "]]> <![CDATA[",
    "<b>bold</b>",
    "(a) \\b\\ ((c",
    "  two  spaces  ",
    '<img src="/some/file"/>',
    "%s {0} $x",
    "--> <!-- ",
)


def page(*items, width=210.0, height=148.0, **more):
    return Scene(width, height, items, more.pop("title", "A page"), **more)


def write_pdf(*scenes, **more):
    return pdf.write(scenes, title=more.pop("title", "A card"), **more)


def read(data):
    return pypdf.PdfReader(io.BytesIO(data))


def operations(data, number=0):
    """(operator, numbers) of a page's content."""
    content = pypdf.generic.ContentStream(read(data).pages[number].get_contents(), None)
    return [(name.decode(), operands) for operands, name in content.operations]


def every_kind():
    blob = ((60, 30), (110, 25), (120, 70), (85, 55), (65, 75))
    return (
        Rect(5, 5, 200, 138, LINE),
        Rect(
            10,
            10,
            40,
            20,
            Style(fill="#ffe9a8", stroke="#553300", width=0.5, dash=(2, 1)),
            radius=4,
            about=About("butter", "footprint", "specs/x.yaml:14"),
        ),
        Circle(90, 80, 55, Style(stroke="#000000", width=0.6)),
        Polygon(blob, Style(fill="#3377aa", fill_opacity=0.4, stroke="#003355", width=0.4)),
        signs.lines_path(signs.hatch(blob, 30, 2.5), Style(stroke="#003355", width=0.25)),
        Path(
            (("M", 60, 100), ("C", 70, 130, 90, 90, 100, 120), ("L", 100, 128), ("Z",)),
            Style(fill="#cc4444", stroke="#000000", join="miter"),
        ),
        Group(
            (Rect(150, 20, 30, 30, Style(fill="#88aa44")), Circle(180, 50, 10, Style(fill="#223344"))),
            clip=Circle(165, 35, 15, Style()),
            title="Sorrel",
            description="in a round",
            role="img",
            id="sorrel",
        ),
        Rect(150, 60, 20, 8, Style(fill="#000000", fill_opacity=0.5)),
        Rect(150, 72, 40, 8, Style(fill="#225522"), radius=9),
        signs.tick(150, 100, 8),
        signs.checkbox(160, 100, 8, checked=True),
        signs.checkbox(170, 100, 8),
        signs.warning_triangle(182, 100, 10, ground="#ffdd00", title="Warning"),
        signs.arrow(150, 130, 195, 120),
    )


def with_text():
    return page(
        *every_kind(), *(Text(120, 60 + 7 * i, f"Crème brûlée {face}", 11, face) for i, face in enumerate(fonts.FACES))
    )


# --- the display list --------------------------------------------------------------------------------------------


def test_values_nobody_could_draw_are_refused_at_once():
    for wrong in (
        lambda: Style(fill="red"),
        lambda: Style(stroke="#12345"),
        lambda: Style(width=-1),
        lambda: Style(cap="square"),
        lambda: Style(dash=(1, 0)),
        lambda: Style(fill_opacity=2),
        lambda: Circle(0, 0, -1, LINE),
        lambda: Rect(0, 0, -1, 1, LINE),
        lambda: Text(0, 0, "a", 0),
        lambda: Text(0, 0, "a", 9, "black"),
        lambda: Text(0, 0, "a", 9, anchor="left"),
        lambda: Style(width=math.nan),
        lambda: Style(width=0),
        lambda: Polygon(((1, 1),), LINE),
        lambda: Path((("L", 1, 1),), LINE),
        lambda: Path((("M", 1, 1), ("Q", 1, 1, 2, 2)), LINE),
        lambda: Text(0, 0, "a", 9, colour="url(#x)"),
    ):
        with pytest.raises(ValueError):
            wrong()


@pytest.mark.parametrize("write", [lambda s: svg.write(s), lambda s: write_pdf(s)])
@pytest.mark.parametrize(
    "item",
    [
        Circle(math.nan, 0, 1, LINE),
        Polygon(((0, 0), (math.inf, 1)), LINE),
        Rect(1e9, 0, 1, 1, LINE),
        Text(math.nan, 0, "a", 9),
        Path((("M", 0, -math.inf),), LINE),
        "no item",
    ],
)
def test_what_cannot_be_written_is_refused(write, item):
    with pytest.raises(ValueError):
        write(page(item))


def test_bounds_of_each_kind():
    assert extent.bounds(Circle(10, 20, 5, LINE)) == (5, 15, 15, 25)
    assert extent.bounds(Rect(1, 2, 3, 4, LINE), Circle(10, 10, 1, LINE)) == (1, 2, 11, 11)
    assert extent.bounds(Polygon(((0, 5), (4, 1), (2, 9)), LINE)) == (0, 1, 4, 9)
    curve = Path((("M", 0, 0), ("C", 0, 10, 10, 10, 10, 0), ("Z",), ("L", -1, 0)), LINE)
    assert extent.bounds(curve) == (-1, 0, 10, 7.5)
    left, top, right, bottom = extent.bounds(Text(50, 50, "milk", 10, anchor="end"))
    assert right == 50 and right - left == pytest.approx(fonts.width_mm("milk", 10)) and top < 50 < bottom
    big = Rect(0, 0, 100, 100, LINE)
    assert extent.bounds(Group((big,), clip=Circle(50, 50, 10, LINE))) == (40, 40, 60, 60)
    for nothing in ((), (Group(()),), (Group((big,), clip=Circle(500, 0, 1, LINE)),)):
        with pytest.raises(ValueError):
            extent.bounds(*nothing)


@settings(deadline=None)
@given(st.tuples(*[st.floats(-50, 50)] * 8))
def test_bounds_of_a_curve_hold_every_point_of_it_closely(c):
    left, top, right, bottom = extent.bounds(Path((("M", *c[:2]), ("C", *c[2:])), LINE))
    along = [i / 400 for i in range(401)]
    xs, ys = (
        [(1 - t) ** 3 * p[0] + 3 * (1 - t) ** 2 * t * p[1] + 3 * (1 - t) * t * t * p[2] + t**3 * p[3] for t in along]
        for p in (c[::2], c[1::2])
    )
    assert left <= min(xs) + 1e-6 and max(xs) <= right + 1e-6 and top <= min(ys) + 1e-6 and max(ys) <= bottom + 1e-6
    assert min(xs) - left < 0.05 and right - max(xs) < 0.05 and min(ys) - top < 0.05 and bottom - max(ys) < 0.05


def test_placing_scales_places_but_neither_text_nor_strokes():
    items = (Circle(10, 10, 5, LINE), Group((Text(2, 4, "a", 8),), clip=Rect(0, 0, 10, 10, LINE, radius=2)))
    circle, group = Group(items, placing=Placing(0.5, 100, 50)).items
    assert circle == Circle(105, 55, 2.5, LINE)
    assert group.items == (Text(101, 52, "a", 8),)
    assert group.clip == Rect(100, 50, 5, 5, LINE, radius=1)
    assert Group((Text(1, 1, "a", 8),), placing=Placing(3, text_scale=0.5)).items == (Text(3, 3, "a", 4),)
    assert group.holding(group.items) == Group((Text(101, 52, "a", 8),), clip=group.clip)
    for bad in (Placing(0), Placing(-1), Placing(1, text_scale=0), Placing(float("nan"))):
        with pytest.raises(ValueError):
            Group(items, placing=bad)


placings = st.builds(Placing, st.floats(0.1, 10), st.floats(-50, 50), st.floats(-50, 50), st.floats(0.5, 2))


@settings(deadline=None)
@given(placings)
def test_bounds_move_with_the_items(placing):
    shapes = every_kind()
    moved = extent.bounds(*(i for i in Group(shapes, placing=placing).items if not isinstance(i, Text)))
    left, top, right, bottom = extent.bounds(*(i for i in shapes if not isinstance(i, Text)))
    factor, dx, dy, _ = placing
    expected = (left * factor + dx, top * factor + dy, right * factor + dx, bottom * factor + dy)
    assert moved == pytest.approx(expected, abs=1e-6)
    assert scene.translate(shapes[2], dx, dy).cx == pytest.approx(90 + dx)


@settings(deadline=None, max_examples=25)
@given(placings, placings)
def test_what_is_placed_twice_is_drawn_where_its_items_are(first, second):
    """Both backends take a placing into account themselves; `items` is the plain way to the same places."""
    noted = Group(
        (
            Group((*every_kind(), Text(3, 4, "end", 8, anchor="end")), placing=first, clip=Rect(0, 0, 90, 90, LINE)),
            Text(1, 2, "b", 9),
        ),
        placing=second,
        title="twice",
    )

    def laid(item):
        return item.holding(tuple(map(laid, item.items))) if isinstance(item, Group) else item

    for write in (
        lambda s: svg.write(s, embed_fonts=False),
        lambda s: zlib.decompress(pdf.page(s).streams[0]).decode(),
    ):
        texts = [write(page(item)) for item in (noted, laid(noted))]
        numbers = [[float(n) for n in NUMBER.findall(text)] for text in texts]
        assert NUMBER.sub("#", texts[0]) == NUMBER.sub("#", texts[1]) and numbers[0] == pytest.approx(
            numbers[1], abs=0.0021
        )


# --- hatches -----------------------------------------------------------------------------------------------------


@st.composite
def outlines(draw):
    """Star-shaped outlines, often with deep bays."""
    radii = draw(st.lists(st.floats(3, 40), min_size=3, max_size=12))
    return tuple(
        (50 + r * math.cos(2 * math.pi * i / len(radii)), 50 + r * math.sin(2 * math.pi * i / len(radii)))
        for i, r in enumerate(radii)
    )


@settings(deadline=None)
@given(outlines(), st.floats(-180, 180), st.floats(0.8, 6))
def test_hatch_lines_lie_inside_and_leave_no_gap(points, angle, spacing):
    area = Area(points)
    lines = signs.hatch(points, angle, spacing)
    inside = area.buffer(1e-6)
    assert all(inside.covers(LineString(line)) for line in lines)
    # Lines s apart cover the area once: their length times s is the area, but for the ends at the outline.
    assert sum(math.dist(*line) for line in lines) * spacing == pytest.approx(area.area, abs=area.length * spacing)
    for (x1, y1), (x2, y2) in lines:
        assert math.sin(math.atan2(y2 - y1, x2 - x1) - math.radians(angle)) == pytest.approx(0, abs=1e-3)


def test_hatch_lines_are_the_stated_distance_apart():
    lines = signs.hatch(((0, 0), (10, 0), (10, 10), (0, 10)), 0, 2)
    assert [a[1] for a, _ in lines] == [0, 2, 4, 6, 8]
    assert all((a[0], b[0]) == (0, 10) for a, b in lines)


def test_hatch_at_its_limits():
    assert signs.hatch(((0, 0), (1, 1)), 0, 1) == ()
    assert signs.hatch(((0, 0.1), (1, 0.1), (1, 0.2)), 0, 1) == ()
    with pytest.raises(ValueError):
        signs.hatch(((0, 0), (1, 0), (1, 1)), 0, 0)


def test_signs_stay_in_their_square():
    for sign in (signs.tick, signs.checkbox, signs.warning_triangle):
        left, top, right, bottom = extent.bounds(sign(10, 20, 5))
        assert left >= 10 and top >= 20 and right <= 15 and bottom <= 25
    assert extent.bounds(signs.arrow(0, 0, 10, 0))[2] == 10
    with pytest.raises(ValueError):
        signs.arrow(1, 1, 1, 1)


# --- SVG ---------------------------------------------------------------------------------------------------------


def test_svg_is_named_sized_and_described():
    root = ElementTree.fromstring(svg.write(page(description="All of it", title="Turbot & sorrel", language="fr")))
    assert (root.get("width"), root.get("height"), root.get("viewBox")) == ("210mm", "148mm", "0 0 210 148")
    assert root.get("role") == "img" and root.get("lang") == "fr"
    assert [child.tag for child in root[:2]] == [SVG + "title", SVG + "desc"]
    assert root[0].text == "Turbot & sorrel" and root[1].text == "All of it"
    assert root.get("aria-labelledby").split() == [root[0].get("id"), root[1].get("id")]


def test_svg_carries_what_items_are_about():
    root = ElementTree.fromstring(svg.write(page(*every_kind())))
    butter = root.find(".//*[@data-component='butter']")
    assert butter.get("data-role") == "footprint" and butter.get("data-source") == "specs/x.yaml:14"
    sorrel = root.find(".//*[@id='sorrel']")
    assert sorrel.get("role") == "img" and sorrel[0].tag == SVG + "title" and sorrel[0].text == "Sorrel"
    clip = re.fullmatch(r"url\(#(.+)\)", sorrel.get("clip-path"))[1]
    assert float(root.find(f".//{SVG}clipPath[@id='{clip}']/{SVG}circle").get("r")) == 15


def test_ids_of_two_pictures_on_one_page_stay_apart():
    ids = [
        set(re.findall(r'\bid="(.+?)"', svg.write(page(*every_kind(), description="d"), id_prefix=prefix)))
        for prefix in ("a-", "b-")
    ]
    assert len(ids[0]) == len(ids[1]) == 4 and not ids[0] & ids[1]


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_text_comes_back_as_text(text):
    written = svg.write(
        page(
            Text(10, 10, text, 9, about=About(text, text, text)),
            Group((), title=text, role="img"),
            title=text,
            description=text,
        )
    )
    root = ElementTree.fromstring(written)
    element = root.find(f"{SVG}text")
    assert element.text == text
    assert [element.get(f"data-{key}") for key in ("component", "role", "source")] == [text] * 3
    assert root[0].text == root[1].text == root.find(f"{SVG}g/{SVG}title").text == text
    assert not list(root.iter(SVG + "script")) and not list(root.iter(SVG + "img"))


@given(st.text(st.sampled_from(sorted(fonts.metrics("regular").widths)), min_size=1, max_size=30))
@settings(deadline=None)
def test_any_covered_text_survives_the_svg(text):
    root = ElementTree.fromstring(svg.write(page(Text(1, 1, text, 9)), embed_fonts=False))
    assert root.find(f"{SVG}text").text == fonts.normal(text)


@pytest.mark.parametrize("character", ["\x00", "\x1f", "\ud800", "\ufffe", "\uffff"])
def test_characters_xml_lacks_are_refused(character):
    for wrong in (
        page(Text(1, 1, character, 9)),
        page(title=character),
        page(description=character),
        page(Rect(0, 0, 1, 1, LINE, about=About(source=character))),
        page(Group((), title=character)),
    ):
        with pytest.raises(ValueError, match=f"U\\+{ord(character):04X}"):
            svg.write(wrong)


def test_untitled_pictures_and_groups_are_written_too():
    root = ElementTree.fromstring(svg.write(page(Group((), description="only this"), title="")))
    assert root.find(SVG + "g/" + SVG + "desc").text == "only this"


def test_svg_embeds_only_the_faces_it_uses():
    written = svg.write(page(Text(1, 1, "a", 9, "bold"), Group((Text(1, 1, "a", 9, "italic"),))))
    assert written.count("@font-face") == 2 and "font-kerning:none" in written
    assert "font-weight:700;font-style:normal" in written and "font-weight:400;font-style:italic" in written
    assert "@font-face" not in svg.write(page(*every_kind()))
    assert "@font-face" not in svg.write(with_text(), embed_fonts=False)


def test_svg_is_made_of_lines():
    written = svg.write(with_text(), embed_fonts=False)
    assert written.endswith("</svg>\n") and "\r" not in written and '-0"' not in written
    assert max(line.count("<") for line in written.splitlines()) <= 2


def test_numbers_are_short_and_never_minus_nothing():
    assert [scene.number(v) for v in (-0.0001, 0, 1.0, 2.50, 1 / 3, -7.1234567, 1234.5678)] == [
        "0",
        "0",
        "1",
        "2.5",
        "0.333",
        "-7.123",
        "1234.568",
    ]


# --- PDF ---------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("size", [(210, 297), (148, 210), (100.05, 33.333), (85.6, 53.98)])
def test_pages_have_exactly_the_size_asked_for(size):
    box = read(write_pdf(page(width=size[0], height=size[1]), page())).pages[0].mediabox
    assert [float(v) for v in box] == pytest.approx([0, 0, size[0] * POINTS, size[1] * POINTS], abs=1e-4)


def test_text_comes_back_exactly():
    lines = ("Crème brûlée, œuf, ß, ½ l, 180 °C, 2 × 40 g", "(a) \\ (b", "→ ✓ – … ⅓ ≤", *HOSTILE[:3])
    data = write_pdf(page(*(Text(10, 20 + 8 * i, line, 10) for i, line in enumerate(lines))))
    assert read(data).pages[0].extract_text().splitlines() == list(lines)


def test_more_characters_than_one_font_subset_holds():
    every = sorted(fonts.metrics("regular").widths)
    rows = ["".join(every[i : i + 20]) for i in range(0, len(every), 20)]
    data = write_pdf(page(*(Text(10, 8 + 6.5 * i, row, 9) for i, row in enumerate(rows)), height=297))
    document = pypdfium2.PdfDocument(data)
    found = document[0].get_textpage().get_text_bounded()
    found = unicodedata.normalize("NFKD", found)  # the reader takes ligatures and some signs apart
    assert [c for c in every if c.strip() and not set(unicodedata.normalize("NFKD", c)) - {" "} <= set(found)] == []


def test_fonts_are_embedded_and_only_those_in_use():
    def embedded(data):
        used = {}
        for entry in read(data).pages[0]["/Resources"]["/Font"].values():
            font = entry.get_object()
            used[font["/BaseFont"]] = "/FontFile2" in font["/FontDescriptor"]
        return used

    four = embedded(write_pdf(with_text()))
    assert len(four) == 4 and all(four.values())
    assert {name.split("-")[-1] for name in four} == {"Regular", "SemiBold", "Bold", "Italic"}
    assert list(embedded(write_pdf(page(Text(1, 1, "a", 9, "bold"))))) == ["/AAAAAA+PlatecardSansCondensed-Bold"]


def test_metadata_is_complete_and_no_placeholder():
    reader = read(
        write_pdf(
            page(),
            title="Turbot – œuf 中",
            author="The kitchen",
            language="fr-FR",
            bookmarks=(("Première", 0), ("Encore", 0)),
        )
    )
    assert reader.metadata.title == "Turbot – œuf 中" and reader.metadata.author == "The kitchen"
    assert reader.metadata.creator == "platecard" and not reader.metadata.subject
    assert reader.trailer["/Root"]["/Lang"] == "fr-FR"
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/DisplayDocTitle"].value is True
    assert [entry.title for entry in reader.outline] == ["Première", "Encore"]
    for word in (b"anonymous", b"unspecified", b"untitled"):
        assert word not in write_pdf(page())


@pytest.mark.parametrize(
    "wrong",
    [
        lambda: pdf.write((), title="t"),
        lambda: write_pdf(page(), bookmarks=(("x", 1),)),
        lambda: write_pdf(page(), title="\ud800"),
        lambda: write_pdf(page(), author="a\nb"),
    ],
)
def test_a_document_that_cannot_be_made_is_refused(wrong):
    with pytest.raises(ValueError):
        wrong()


@pytest.mark.parametrize("write", [svg.write, write_pdf])
def test_a_missing_glyph_never_passes_quietly(write):
    with pytest.raises(ValueError, match="U\\+1F95C PEANUTS"):
        write(page(Text(1, 1, "contains \U0001f95c", 9)))


def test_streams_are_neither_text_encoded_nor_is_the_setting_left_changed():
    from reportlab import rl_config

    before = rl_config.useA85
    assert b"ASCII85" not in write_pdf(with_text()) and rl_config.useA85 == before


def test_the_pdf_is_tagged_in_reading_order():
    items = (
        Group((Text(10, 10, "Turbot", 16),), role="heading"),
        Text(10, 20, "first", 9),
        Rect(0, 0, 5, 5, LINE),
        Text(10, 30, "next", 9),
        Group(
            (Circle(50, 50, 5, LINE), Text(50, 50, "inside", 9), Group((Text(50, 60, "7", 9),), role="list")),
            role="img",
            title="Œuf → (中",
            description="Round",
        ),
        Group((Text(1, 1, "twice", 9),), role="presentation"),
        Group((Group((Text(10, 60, "milk", 9),), role="listitem"),), role="list"),
    )
    data = write_pdf(page(*items), page(Text(1, 1, "second page", 9)))
    reader = read(data)
    root = reader.trailer["/Root"]
    assert root["/MarkInfo"]["/Marked"]

    def tree(element):
        kids = [kid.get_object() for kid in element["/K"]]
        return element["/S"], *(tree(kid) for kid in kids if not isinstance(kid, int))

    top = root["/StructTreeRoot"]["/K"]
    assert tree(top) == ("/Document", ("/H1",), ("/P",), ("/P",), ("/Figure",), ("/L", ("/LI", ("/P",))), ("/P",))
    figure = top["/K"][3].get_object()
    assert figure["/Alt"] == "Œuf → (中. Round" and len(figure["/K"]) == 1, "its words stand for all that is in it"
    parents = root["/StructTreeRoot"]["/ParentTree"]["/Nums"]
    for number, sheet in enumerate(reader.pages):
        assert parents[2 * number] == sheet["/StructParents"] == number
        marks = [args[1]["/MCID"] for name, args in operations(data, number) if name == "BDC"]
        assert marks == list(range(len(parents[2 * number + 1])))


def test_the_lines_of_a_paragraph_are_read_as_one():
    lines = (
        Text(10, 10, "one line", 9),
        Text(10, 14, "and the next", 9),
        Text(10, 18, "bold", 9, "bold"),
        Text(10, 26, "further down", 9, "bold"),
        Circle(5, 29, 1, LINE),
        Text(10, 30, "after a sign", 9, "bold"),
    )
    root = read(write_pdf(page(*lines))).trailer["/Root"]["/StructTreeRoot"]["/K"]
    items = (
        Group(
            (
                Text(10, 10, "7", 14),
                Circle(5, 9, 1, LINE),
                Text(20, 10, "scallops", 9),
                Group((Text(30, 10, "Larder", 7),)),
            ),
            role="listitem",
        ),
    )
    listed = (
        read(write_pdf(page(Group(items, role="list"))))
        .trailer["/Root"]["/StructTreeRoot"]["/K"]["/K"][0]
        .get_object()["/K"][0]
        .get_object()
    )
    assert listed["/S"] == "/LI" and len(listed["/K"]) == 1 and len(listed["/K"][0].get_object()["/K"]) == 2, (
        "one paragraph, on both sides of the sign"
    )
    assert [kid.get_object()["/S"] for kid in root["/K"]] == ["/P"] * 4 and [
        name for name, _ in operations(write_pdf(page(*lines)))
    ].count("Tj") == 5


@given(st.lists(st.sampled_from(every_kind()), max_size=8))
@settings(deadline=None, max_examples=30)
def test_states_and_marks_are_closed_as_they_were_opened(items):
    names = [name for name, _ in operations(write_pdf(page(*items, *items)))]
    assert names.count("q") == names.count("Q") and names.count("BT") == names.count("ET")
    assert names.count("BDC") + names.count("BMC") == names.count("EMC")


# --- both --------------------------------------------------------------------------------------------------------


def test_the_same_scene_gives_the_same_bytes():
    assert svg.write(with_text()) == svg.write(with_text())
    assert write_pdf(with_text(), page()) == write_pdf(with_text(), page())


@pytest.mark.parametrize("x, y, size", [(5, 4, 200.0), (0.1234567, 1 / 3, 200.0), (7.77777, 3.33333, 99.99949)])
def test_a_box_measures_the_same_on_paper_and_on_screen(x, y, size):
    corners = ((x, y), (x + size, y), (x + size, y + 90), (x, y + 90))
    picture = page(Rect(x, y, size, 90, LINE), Polygon(corners, LINE), height=148)

    root = ElementTree.fromstring(svg.write(picture))
    box = [float(root.find(SVG + "rect").get(key)) for key in ("x", "y", "width", "height")]
    drawn = [tuple(map(float, pair.split(","))) for pair in root.find(SVG + "polygon").get("points").split()]

    content = operations(write_pdf(picture))
    left, foot, width, height = next([float(v) / POINTS for v in args] for name, args in content if name == "re")
    on_paper = [(float(a[0]) / POINTS, 148 - float(a[1]) / POINTS) for name, a in content if name in "ml"]

    assert box == pytest.approx([x, y, size, 90], abs=0.001)
    # Half a hundredth of a point is 0.0018 mm.
    assert [left, 148 - foot - height, width, height] == pytest.approx([x, y, size, 90], abs=0.002)
    for a, b, c in zip(corners, drawn, on_paper, strict=True):
        assert b == pytest.approx(a, abs=0.001) and c == pytest.approx(a, abs=0.002)


@pytest.mark.parametrize("r", [0.5, 2.9, 18.4, 18.6, 160])
def test_circles_on_paper_are_round(r):
    content = operations(write_pdf(page(Circle(200, 200, r, LINE), width=400, height=400)))
    start, turn = (
        next(args for name, args in content if name == "m"),
        next(args for name, args in content if name == "c"),
    )
    assert float(start[0]) > float(turn[4]) and float(start[1]) > float(turn[5]), (
        "from three o'clock downwards, as in SVG: dashes begin alike"
    )
    here = None
    for name, args in content:
        if name not in "mc":
            continue
        xy = [(float(a) / POINTS, 400 - float(b) / POINTS) for a, b in zip(args[::2], args[1::2])]
        if name == "c":
            for t in (i / 20 for i in range(21)):
                at = [
                    (1 - t) ** 3 * a + 3 * (1 - t) ** 2 * t * b + 3 * (1 - t) * t * t * c + t**3 * d
                    for a, b, c, d in zip(here, *xy)
                ]
                assert math.dist(at, (200, 200)) == pytest.approx(r, abs=0.0075)
        here = xy[-1]


def test_text_starts_where_the_measure_says():
    items = [
        Text(100, 20 + 10 * i, "beurre blanc", 12, face, anchor)
        for i, (face, anchor) in enumerate((face, anchor) for face in fonts.FACES for anchor in scene.ANCHORS)
    ]
    starts = [float(args[0]) / POINTS for name, args in operations(write_pdf(page(*items))) if name == "Td"]
    for item, start in zip(items, starts, strict=True):
        width = fonts.width_mm(item.text, item.size_pt, item.face)
        assert start == pytest.approx(100 - scene.ANCHORS[item.anchor] * width, abs=0.002)
        left, _, right, _ = extent.bounds(item)
        assert left == pytest.approx(start, abs=0.002) and right - left == pytest.approx(width)


DPI = 100
ALIKE = 0.0003  # measured: 0.0001 for shapes, 0.0002 with text, 0.0005 for the smallest item left out
WHOLE_PIXELS = {"width": 254.0, "height": 152.4}  # 1000 by 600 pixels: neither renderer has to round the page


def rasters(*items):
    """Items through both formats, in grey and a little blurred: the two draw the edge of a line differently."""
    picture = page(*items, **WHOLE_PIXELS)
    font_files = [str(fonts.file(face)) for face in fonts.FACES]
    on_screen = Image.open(
        io.BytesIO(
            bytes(
                resvg_py.svg_to_bytes(
                    svg_string=svg.write(picture),
                    dpi=DPI,
                    skip_system_fonts=True,
                    font_files=font_files,
                    background="white",
                )
            )
        )
    )
    on_paper = pypdfium2.PdfDocument(write_pdf(picture))[0].render(scale=DPI / 72).to_pil()
    assert on_screen.size == on_paper.size == (1000, 600)
    return [image.convert("L").filter(ImageFilter.BoxBlur(1)) for image in (on_screen, on_paper)]


def difference(a, b):
    """The share of pixels that differ by more than an eighth of the way from black to white."""
    return sum(ImageChops.difference(a, b).histogram()[32:]) / (1000 * 600)


@pytest.mark.parametrize("items", [every_kind(), with_text().items], ids=["shapes", "with text"])
def test_both_formats_look_the_same(items):
    screen, paper = rasters(*items)
    assert difference(screen, paper) < ALIKE
    assert sum(screen.histogram()[:128]) > 3000  # and something is on it


@pytest.mark.parametrize("left_out", range(len(every_kind())))
def test_the_look_alike_test_would_notice_one_item_less(left_out):
    screen, _ = rasters(*every_kind())
    _, paper = rasters(*(item for i, item in enumerate(every_kind()) if i != left_out))
    assert difference(screen, paper) > ALIKE
