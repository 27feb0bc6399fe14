"""Other writing systems: shaped, ordered, broken, cut and embedded as other programs do it, or refused by name."""

import io
import random
import re
import shutil
import subprocess
import sys
import unicodedata
from base64 import b64decode
from pathlib import Path

import pypdf
import pypdfium2
import pytest
from bidi import get_display
from fontTools.ttLib import TTFont as Reference
from hypothesis import given
from hypothesis import strategies as st
from PIL import Image, ImageDraw, ImageFont, features

from platecard.drawing import fonts, pdf, pdf_page, script_fonts, scripts, svg
from platecard.drawing.scene import Scene, Text
from tests.other_fonts import forgotten

# A line in each, as it may stand on a menu.
LINES = {
    "hebrew": "סלק מעושן עם שמן שמיר",
    "arabic": "شمندر مدخن مع زيت الشبت",
    "devanagari": "स्मोक्ड चुकंदर और क्षीर",
    "bengali": "ধোঁয়া বিট এবং ডিল তেল",
    "tamil": "புகைபிடித்த பீட்ரூட்",
    "telugu": "పొగబెట్టిన బీట్రూట్",
    "thai": "ผัดไทยกุ้งสด",
    "lao": "ຕົ້ມຍຳກຸ້ງ",
    "japanese": "味噌ラーメン、半熟卵のせ",
    "chinese": "红烧牛肉面配青菜",
    "chinese-traditional": "ㄅㄆ雞湯麵",
    "korean": "김치찌개와 돼지고기",
}
# Lines that run both ways.
MIXED = (
    "Lamb with شاورما and فتوش (12 g)",
    "Soup (סלט) 12",
    "سلطة (خضراء) ١٢ جم",
    "טחינה – tahini, 30 %",
    "שָׁלוֹם עולם",
)
every = pytest.mark.parametrize("key", LINES)


def page(*texts, width=210, height=40):
    return Scene(width, height, texts, "A line")


def drawn(text, size=14.0, face="regular"):
    return pdf.write((page(Text(10, 20, text, size, face)),), title="A line")


def text_in(data):
    found = pypdfium2.PdfDocument(data)[0].get_textpage().get_text_bounded()
    return unicodedata.normalize("NFC", found.replace("\r\n", "").strip())


def raqm(key, size, face="regular"):
    """The font as another layout library has it, with its axes set alike."""
    font = ImageFont.truetype(script_fonts.place_of(key), size, layout_engine=ImageFont.Layout.RAQM)
    values = script_fonts._axes(key, face)
    font.set_variation_by_axes([values[axis["tag"]] for axis in axes(key)])
    return font


def axes(key):
    return [{"tag": axis.axisTag} for axis in Reference(script_fonts.place_of(key), lazy=True)["fvar"].axes]


# --- what is installed -------------------------------------------------------------------------------------------


@every
def test_each_writing_system_has_its_font_and_licence(key):
    place = Path(script_fonts.place_of(key))
    assert place.is_file(), "the extra of the tests installs it"
    assert "SIL OPEN FONT LICENSE Version 1.1" in (place.parent / "OFL.txt").read_text(encoding="utf-8")


def test_every_writing_system_on_file_is_tried_here():
    assert [script.key for script in script_fonts.table()] and {s.key for s in script_fonts.table()} == set(LINES)


@every
def test_a_line_is_set_in_its_own_font(key):
    line = fonts.normal(LINES[key])
    assert fonts.missing(line) == () and fonts.needs_shaping(line)
    assert {run.script for run in scripts.runs(line, "regular")} - {""} == {key}


def test_han_alone_takes_the_font_that_has_all_of_it():
    assert set(scripts._chosen("豆腐").values()) == {"japanese"}
    assert set(scripts._chosen("豆腐鸡们").values()) == {"chinese"}
    assert set(scripts._chosen("豆腐 두부").values()) == {"korean"}


def test_latin_greek_and_cyrillic_load_nothing():
    code = (
        "import sys; from platecard.drawing import fonts, pdf, svg; from platecard.drawing.scene import Scene, Text\n"
        "s = Scene(90, 20, tuple(Text(5, 5, t, 9) for t in ('Crème', 'Ψάρι', 'Борщ')), 'x')\n"
        "pdf.write((s,), title='x'); svg.write(s); fonts.wrap('Ψάρι με μαύρο', 20, 9); fonts.missing('Борщ')\n"
        "loaded = {m.split('.')[0] for m in sys.modules} | {m.split('.')[-1] for m in sys.modules}\n"
        # Where HarfBuzz is installed, reportlab loads it with its own reader of fonts.
        "print(sorted(loaded & {'bidi', 'icu4py', 'scripts', 'script_fonts', 'pdf_scripts'}))"
    )
    assert subprocess.run([sys.executable, "-c", code], capture_output=True, text=True).stdout == "[]\n"


# --- measured as another layout engine measures ------------------------------------------------------------------


@pytest.mark.skipif(not features.check("raqm"), reason="Pillow was built without libraqm")
@every
@pytest.mark.parametrize("face", ["regular", "bold"])
def test_a_run_is_as_long_as_another_engine_makes_it(key, face):
    font = raqm(key, 1000, face)
    for run in scripts.runs(fonts.normal(LINES[key]), face):
        if run.script:
            length = font.getlength(run.text, features=["-kern"], language=script_fonts.language(key))
            assert run.width == pytest.approx(length, abs=len(run.glyphs) + 1)


def test_a_line_is_as_long_as_its_runs_and_so_are_its_words():
    for line in (*LINES.values(), *MIXED):
        line = fonts.normal(line)
        whole = fonts.width_mm(line, 12)
        assert whole == pytest.approx(
            sum(run.width for run in scripts.runs(line, "regular")) * 0.012 * fonts.MM_PER_POINT
        )
        words = line.split(" ")
        spaced = sum(fonts.width_mm(w, 12) for w in words) + (len(words) - 1) * fonts.width_mm(" ", 12)
        assert whole == pytest.approx(spaced)


def test_letters_join_and_signs_go_where_they_are_written():
    (joined,) = scripts.runs("\u0633\u0633\u0633", "regular")
    assert len({glyph.number for glyph in joined.glyphs}) == 3, "a first, a middle and a last form"
    (syllable,) = scripts.runs("\u0915\u093f", "regular")
    (ka,) = scripts.runs("\u0915", "regular")
    assert syllable.glyphs[-1].number == ka.glyphs[0].number, "the vowel sign stands before the letter it follows"
    (conjunct,) = scripts.runs("\u0915\u094d\u0937", "regular")
    assert len(conjunct.glyphs) == 1


# --- order -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("line", MIXED)
def test_the_order_seen_is_that_of_the_bidirectional_algorithm(line):
    base = "R" if scripts.is_right_to_left(line) else "L"
    assert "".join(c for c, _ in scripts._in_view(line)) == get_display(line, base_dir=base)


@given(st.text(st.sampled_from("ab אבש شم١12.,()[]-%/ 日ー–€\u05b8\u064b+"), min_size=1, max_size=16))
def test_the_order_seen_is_that_of_the_algorithm_for_any_line(line):
    base = "R" if scripts.is_right_to_left(line) else "L"
    assert "".join(c for c, _ in scripts._in_view(line)) == get_display(line, base_dir=base)


def test_brackets_open_towards_what_they_hold():
    seen = [
        run.text if not run.is_reversed or not run.script else run.text[::-1] for run in scripts.runs(MIXED[2], "bold")
    ]
    assert "".join(seen).replace(" ", "") == "مج١٢(ءارضخ)ةطلس"
    assert [run.text for run in scripts.runs(MIXED[1], "regular") if not run.script] == ["Soup (", ") 12"]


# --- breaking ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("line", [*LINES.values(), *MIXED])
@pytest.mark.parametrize("width", [8.0, 15.0, 30.0])
def test_no_line_is_too_wide_and_no_letter_is_lost(line, width):
    lines = fonts.wrap(line, width, 12)
    assert all(fonts.width_mm(one, 12) <= width + 0.01 or len(scripts.characters(one)) == 1 for one in lines)
    letters = "".join("".join(lines).split())
    assert letters.replace("-", "") == "".join(fonts.normal(line).split()), "but for the hyphens of Latin words"
    assert not any(unicodedata.category(one[0])[0] == "M" for one in lines), "no sign without its letter"


def test_nothing_begins_a_line_that_may_not():
    """Of what JIS X 4051 keeps from the beginning of a line and from its end, as restated in the W3C's note on Japanese
    layout (JLReq, 3.1.7 and 3.1.8); from memory."""
    text = "味噌、醤油ラーメン（半熟卵）、ちょっとピリ辛。「焼き」チャーシュー"
    for width in range(6, 60):
        lines = fonts.wrap(text, width, 12)
        if width > 14:  # wide enough for each of its phrases
            assert not any(one[0] in "、。）」ーょっュャ" for one in lines[1:]), lines
            assert not any(one[-1] in "（「" for one in lines), lines


def test_korean_breaks_between_words_and_thai_within_a_phrase():
    assert fonts.wrap("김치찌개와 돼지고기", 20, 12) == ("김치찌개와", "돼지고기")
    assert scripts.pieces("ผัดไทยกุ้งสด") == ["ผัด", "ไทย", "กุ้ง", "สด"]


def test_what_is_cut_off_is_whole_letters():
    for line in LINES.values():
        line = fonts.normal(line)
        short = fonts.fit(line, fonts.width_mm(line, 12) * 0.6, 12)
        assert short.endswith("…") and line.startswith(short[:-1])
        assert unicodedata.category(line[len(short) - 1])[0] != "M"


# --- in a PDF ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("key", [key for key in LINES if key not in ("arabic", "hebrew")])
@pytest.mark.parametrize("face", fonts.FACES)
def test_a_line_reads_back_out_of_a_pdf(key, face):
    line = fonts.normal(LINES[key])
    assert text_in(drawn(line, face=face)) == line


@pytest.mark.skipif(not shutil.which("pdftotext"), reason="pdftotext (poppler) is not installed")
@pytest.mark.parametrize("line", [*LINES.values(), MIXED[4]])
def test_a_line_reads_back_out_of_a_pdf_with_another_reader(line, tmp_path):
    (tmp_path / "line.pdf").write_bytes(drawn(line, face="bold"))
    found = subprocess.run(["pdftotext", tmp_path / "line.pdf", "-"], capture_output=True, text=True).stdout
    assert fonts.normal(re.sub("[\u202a-\u202c\f]", "", found).strip()) == fonts.normal(line)


@pytest.mark.parametrize("line", MIXED)
def test_words_read_back_out_of_a_line_that_runs_both_ways(line):
    """In which order it puts brackets and the spaces beside them, every reader decides for itself."""
    found = text_in(drawn(line))
    for word in re.findall(r"[^\W\d_]{2,}", fonts.normal(line)):
        if not any(unicodedata.combining(c) for c in word):
            assert word in found or word[::-1] in found, word


@every
def test_only_what_is_used_of_the_font_is_embedded(key):
    data = drawn(LINES[key])
    reader = pypdf.PdfReader(io.BytesIO(data))
    (font,) = [f for f in reader.pages[0]["/Resources"]["/Font"].values() if f["/Subtype"] == "/Type0"]
    inner = font["/DescendantFonts"][0].get_object()
    program = inner["/FontDescriptor"]["/FontFile2"].get_data()
    used = {g.number for run in scripts.runs(fonts.normal(LINES[key]), "regular") for g in run.glyphs}
    cut = Reference(io.BytesIO(program))
    assert len(cut.getGlyphOrder()) <= 4 * len(used) + 2, "the glyphs in use, and what those are made of"
    assert "fvar" not in cut and "GSUB" not in cut and len(data) < 45_000
    places = inner["/CIDToGIDMap"].get_data()
    assert all(int.from_bytes(places[2 * n : 2 * n + 2], "big") for n in used)


@pytest.mark.skipif(not features.check("raqm"), reason="Pillow was built without libraqm")
@every
def test_the_picture_is_that_of_another_engine(key):
    """Each run of a line, drawn at the place where it stands, covers what the other engine covers."""
    line, dpi, size = fonts.normal(LINES[key]), 288, 24
    page_drawn = pypdfium2.PdfDocument(drawn(line, size))[0].render(scale=dpi / 72).to_pil().convert("L")
    other = Image.new("L", page_drawn.size, 255)
    pen, x = ImageDraw.Draw(other), 10 / 25.4 * dpi
    font = raqm(key, size * dpi / 72)
    for run in scripts.runs(line, "regular"):
        if run.script:
            side = "rtl" if run.is_reversed else "ltr"
            pen.text(
                (x, 20 / 25.4 * dpi),
                run.text,
                0,
                font,
                "ls",
                features=["-kern"],
                direction=side,
                language=script_fonts.language(key),
            )
        x += run.width / 1000 * size * dpi / 72
    ours, theirs = (image.point(lambda v: 255 * (v < 128)) for image in (page_drawn, other))
    ink = sum(theirs.histogram()[255:])
    apart = sum(1 for a, b in zip(ours.tobytes(), theirs.tobytes()) if a != b)
    assert ink > 3000 and apart < 0.2 * ink, (apart, ink)


@every
def test_nothing_is_drawn_outside_its_box(key):
    """The ink of a line lies within its length, and above and below within the line or a little beyond: never as far
    as the letters of the next, which leave a sixth of the size free above them."""
    line, size, scale = fonts.normal(LINES[key]), 24, 4
    image = pypdfium2.PdfDocument(drawn(line, size))[0].render(scale=scale).to_pil().convert("L")
    left, top, right, bottom = (v / scale * 25.4 / 72 for v in image.point(lambda v: 255 * (v < 128)).getbbox())
    spare = 0.1 * size * fonts.MM_PER_POINT
    assert left >= 10 - spare and right <= 10 + fonts.width_mm(line, size) + spare
    assert top >= 20 - fonts.ascent(size) - spare and bottom <= 20 + fonts.descent(size) + 1.6 * spare


def test_a_page_is_bound_twice_and_kept_alike():
    scene = page(*(Text(10, 5 + 3 * i, line, 7, "bold") for i, line in enumerate((*LINES.values(), *MIXED))), height=70)
    one = pdf_page.page(scene)
    assert pdf_page.from_bytes(pdf_page.to_bytes((one,))) == (one,)
    twice = [pdf.write((one,), title="x"), pdf.write((scene,), title="x")]
    assert twice[0] == twice[1]
    over = pdf_page.over(one, (Text(10, 66, "味噌 7", 8, "italic"),))
    assert "味噌 7" in text_in(pdf.write((over, one), title="x"))


# --- in a picture ------------------------------------------------------------------------------------------------


@every
def test_a_picture_carries_what_shapes_its_text(key):
    line = fonts.normal(LINES[key])
    written = svg.write(page(Text(10, 20, line, 14, "semibold")))
    assert written == svg.write(page(Text(10, 20, line, 14, "semibold")))
    assert f">{line}</text>" in written and f"'Platecard {key}'" in written
    (font,) = re.findall(r"url\(data:font/ttf;base64,([^)]+)\)", written)
    cut = Reference(io.BytesIO(b64decode(font)))
    assert set(map(ord, line)) - {32} <= set(cut.getBestCmap()) and "fvar" not in cut
    assert len(cut.getBestCmap()) < 60 and len(written) < 110_000


def test_a_line_from_right_to_left_hangs_at_the_same_place():
    written = svg.write(page(Text(10, 20, "سلطة", 14), Text(60, 20, "سلطة", 14, anchor="end")), embed_fonts=False)
    first, second = re.findall(r"<text [^>]*>", written)
    assert 'direction="rtl"' in first and 'text-anchor="end"' in first and 'x="10"' in first
    assert 'direction="rtl"' in second and "text-anchor" not in second and 'x="60"' in second


def test_greek_and_cyrillic_come_along_only_where_they_are_used():
    plain, greek = (svg.write(page(Text(10, 20, text, 14))) for text in ("Fish, π and Ω", "Ψάρι"))
    assert "unicode-range" not in plain and "unicode-range" in greek and len(greek) > len(plain) + 10_000


# --- fonts that are none -----------------------------------------------------------------------------------------


@pytest.fixture
def japanese_is(monkeypatch):
    """Another file in place of the Japanese font."""

    def put(path):
        monkeypatch.setattr(script_fonts, "place_of", lambda key: str(path) if key == "japanese" else "")

    with forgotten():
        yield put


SOUND = LINES["devanagari"]


@pytest.mark.parametrize(
    "content, said",
    [
        (b"", "cannot be read as a font"),
        (b"no font at all, but a text that is long enough to be one", "is not a TrueType font"),
        (b"OTTO" + bytes(300), "is not a TrueType font"),
        (b"ttcf" + bytes(300), "is not a TrueType font"),
        (b"wOF2" + bytes(300), "is not a TrueType font"),
        (b"\0\1\0\0\0\0" + bytes(300), "lacks the tables cmap, glyf, head"),
        (b"\0\1\0\0\xff\xff" + bytes(300), "cannot be read as a font"),
    ],
)
def test_a_file_that_is_no_font_is_named(japanese_is, tmp_path, content, said):
    path = tmp_path / "font.ttf"
    path.write_bytes(content)
    japanese_is(path)
    with pytest.raises(fonts.NotDrawable, match="no font for Japanese .*font.ttf") as told:
        svg.write(page(Text(10, 20, "ラーメン", 14)))
    assert said in str(told.value) and fonts.missing("ラーメン") == ("U+30E9", "U+30FC", "U+30E1", "U+30F3")


def test_a_font_that_is_cut_short_or_too_large_is_named(japanese_is, tmp_path):
    path = tmp_path / "font.ttf"
    path.write_bytes(Path(script_fonts.place_of("devanagari")).read_bytes()[:-1000])
    with pytest.raises(script_fonts.Unusable, match="cut short"):
        script_fonts.check(str(path))
    with path.open("r+b") as stream:
        stream.truncate(64_000_001)
    with pytest.raises(script_fonts.Unusable, match="64000001 bytes"):
        script_fonts.check(str(path))


def test_a_damaged_font_is_refused_or_drawn_and_never_ends_the_program(tmp_path):
    """Eighty fonts with bytes changed anywhere, each tried in a process that must end by itself."""
    whole = Path(script_fonts.place_of("hebrew")).read_bytes()
    for n in range(80):
        chance, data = random.Random(n), bytearray(whole)
        start = 0 if n % 2 else 12 + 16 * 18  # every second one with its table of tables intact
        for _ in range(chance.choice((1, 20, 400))):
            data[chance.randrange(start, min(len(data), chance.choice((600, 20_000, len(data)))))] = chance.randrange(
                256
            )
        (tmp_path / f"{n}.ttf").write_bytes(data)
    code = (
        "import sys; from platecard.drawing import fonts, pdf, script_fonts, svg\n"
        "from platecard.drawing.scene import Scene, Text\n"
        "from tests.other_fonts import forget\n"
        "for n in range(80):\n"
        "    forget(); script_fonts.place_of = lambda key: f'{sys.argv[1]}/{n}.ttf' if key == 'hebrew' else ''\n"
        "    s = Scene(90, 20, (Text(5, 5, 'סלק מעושן', 9),), 'x')\n"
        "    try: pdf.write((s,), title='x'); svg.write(s); print('drawn')\n"
        "    except fonts.NotDrawable: print('refused')\n"
    )
    done = subprocess.run([sys.executable, "-c", code, str(tmp_path)], capture_output=True, text=True, timeout=300)
    said = done.stdout.split()
    assert done.returncode == 0, done.stderr[-2000:]
    assert len(said) == 80 and {"drawn", "refused"} == set(said)


# --- without them ------------------------------------------------------------------------------------------------


@every
def test_without_its_font_a_line_is_refused_by_name(key, no_other_fonts):
    line = fonts.normal(LINES[key])
    named = next(script.name for script in script_fonts.table() if script.key == key)
    (told,) = fonts.uninstalled(line)
    assert named in told and fonts.hopeless(line) == ()
    assert set(fonts.missing(line)) == {f"U+{ord(c):04X}" for c in line if c != " "}
    for write in (drawn, lambda text: svg.write(page(Text(1, 1, text, 9)))):
        with pytest.raises(fonts.NotDrawable, match=f"no font for .*{named}"):
            write(line)
    assert fonts.width_mm(line, 9) > 0 and "".join("".join(fonts.wrap(line, 9, 9)).split()) == line.replace(" ", "")


def test_what_no_font_could_be_installed_for_is_told_apart():
    assert fonts.hopeless("ᚱᚢᚾ 味噌") == ("U+16B1", "U+16A2", "U+16BE") and fonts.uninstalled("ᚱᚢᚾ 味噌") == ()


@pytest.mark.parametrize(
    "text, word",
    [("Борщ, milk", ""), ("m\u0456lk", "m\u0456lk"), ("β-carotene, 3 μm, Ω", ""), ("a \u039fil b", "\u039fil")],
)
def test_a_word_of_two_alphabets_is_found(text, word):
    assert fonts.of_two_alphabets(text) == word
