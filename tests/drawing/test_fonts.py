"""The measure agrees with everybody who draws the font, and what the font lacks is found."""

import unicodedata

import pytest
from fontTools.ttLib import TTFont as Reference
from hypothesis import given, settings
from hypothesis import strategies as st
from PIL import ImageFont
from reportlab.pdfbase import pdfmetrics
from reportlab.pdfbase.ttfonts import TTFont

from platecard.drawing import fonts, script_fonts

SAMPLES = (
    "AVATAR To Ty We",
    "Beurre blanc à la crème, œuf, ß ½ ° × – 125 g",
    "fi ffl Qu'est-ce 1/2 (a/b) [x] {y}",
    " ",
    "",
    "ŻÓŁĆ Đặc biệt Škoda Ærø",
    "€ 12.50 → ✓ ≤ ≥ ⅓",
    "non-breaking\u00a0space, thin\u202fspace, hyphen\u2011ated",
)
CMAP = Reference(fonts.file("regular")).getBestCmap()
COVERED = sorted(fonts.metrics("regular").widths)
words = st.text(st.sampled_from(COVERED), max_size=60)
faces = st.sampled_from(fonts.FACES)


@pytest.fixture(scope="module", params=fonts.FACES)
def face(request):
    return request.param


def reportlab_font(face):
    name = f"measured-{face}"
    if name not in pdfmetrics.getRegisteredFontNames():
        pdfmetrics.registerFont(TTFont(name, str(fonts.file(face))))
    return name


# --- the files ---------------------------------------------------------------------------------------------------


def test_both_formats_hold_the_same_characters_and_widths(face):
    ttf = Reference(fonts.file(face))
    latin, further = (Reference(fonts.file(face, "woff2", is_further)) for is_further in (False, True))
    assert set(ttf.getBestCmap()) == {*latin.getBestCmap(), *further.getBestCmap()}
    assert not latin.getBestCmap().keys() & further.getBestCmap().keys()
    for part in (latin, further):
        for code, name in part.getBestCmap().items():
            assert part["hmtx"][name][0] == ttf["hmtx"][ttf.getBestCmap()[code]][0]


def test_a_picture_knows_which_letters_are_in_which_file(face):
    further = Reference(fonts.file(face, "woff2", is_further=True)).getBestCmap()
    assert {code for code in CMAP if fonts.needs_further(chr(code))} == set(further)


def test_greek_and_cyrillic_are_as_wide_as_the_family(face):
    """Letters of one outline in all three alphabets are of one width; the semibold's to two thousandths."""
    widths = fonts.metrics(face).widths
    for latin, *others in ("AΑА", "BΒВ", "EΕЕ", "HΗН", "KΚ", "MΜМ", "OΟО", "PΡР", "TΤТ", "XΧХ", "oοо", "c с".split()):
        assert all(abs(widths[other] - widths[latin]) <= 2 for other in others), latin


def test_all_faces_have_the_same_characters(face):
    assert set(fonts.metrics(face).widths) == set(COVERED)


def test_nothing_in_the_file_can_change_a_width_or_keeps_the_reserved_name(face):
    font = Reference(fonts.file(face))
    assert not {"GPOS", "GSUB", "GDEF", "kern", "fpgm", "prep"} & set(font.keys())
    for record in font["name"].names:
        if record.nameID in (1, 3, 4, 6, 16, 18):
            assert "plex" not in record.toUnicode().lower()
    assert any(record.nameID == 0 and "IBM" in record.toUnicode() for record in font["name"].names)


def test_each_face_has_a_postscript_name_of_its_own():
    assert len({Reference(fonts.file(face))["name"].getDebugName(6) for face in fonts.FACES}) == 4


def test_the_licence_travels_with_the_fonts():
    licence = fonts.file("regular").with_name("OFL.txt").read_text(encoding="utf-8")
    assert 'Reserved Font Name "Plex"' in licence and "SIL OPEN FONT LICENSE Version 1.1" in licence


def test_faces_are_small_enough_to_travel_in_every_svg(face):
    assert fonts.file(face, "woff2").stat().st_size * 4 / 3 < 25_000
    assert fonts.file(face, "woff2", is_further=True).stat().st_size * 4 / 3 < 16_000


@pytest.mark.parametrize(
    "text",
    [
        "é è ï ç ñ ø å œ ß – ½ ° × → ✓ ′ ″ € £ … “ ” ‘ ’ ≤ ≥ ⅓ ⅔ ⅛ ± µ Ω",
        "őűłżśšžțșğİıŒÆØÞđ",
        "Ψάρι με μαύρο σκόρδο, Αΰτή ϊϋΐ ΆΈΉΊΌΎΏ ς",  # Greek, with one accent
        "Борщ із пампушками, їжак, ґанок, Єва",  # Ukrainian
        "Съёмка щуки, объём ы э ю я Ё",  # Russian, Bulgarian
        "Ђурђевак ћевапи љуто Њ Џ Ѓ Ќ Ѕ ј",  # Serbian, Macedonian
        "Ў ў Қ қ Ң ң Ө ө Ү ү Ұ ұ Һ һ Ә ә",  # Belarusian, Kazakh, Kyrgyz, Mongolian
    ],
)
def test_covers_what_a_european_kitchen_writes(text):
    assert fonts.missing(text) == ()


# --- widths ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("text", SAMPLES)
def test_width_is_reportlabs(face, text):
    points = pdfmetrics.stringWidth(text, reportlab_font(face), 9.5)
    assert fonts.width_mm(text, 9.5, face) == pytest.approx(points * 25.4 / 72, abs=1e-9)


@settings(deadline=None)
@given(words, faces, st.floats(4, 40))
def test_width_is_reportlabs_for_any_text(text, face, size):
    points = pdfmetrics.stringWidth(fonts.normal(text), reportlab_font(face), size)
    assert fonts.width_mm(text, size, face) == pytest.approx(points * 25.4 / 72, abs=1e-9)


@pytest.mark.parametrize("text", SAMPLES)
def test_width_is_the_sum_of_the_files_advances(face, text):
    font = Reference(fonts.file(face))
    cmap, advances = font.getBestCmap(), font["hmtx"]
    units = sum(advances[cmap[ord(character)]][0] for character in text)
    assert fonts.width_mm(text, 10, face) == pytest.approx(units / 1000 * 10 * 25.4 / 72)


@pytest.mark.parametrize("text", SAMPLES)
def test_width_is_what_a_rasteriser_advances(face, text):
    drawn = ImageFont.truetype(str(fonts.file(face)), 1000, layout_engine=ImageFont.Layout.BASIC).getlength(text)
    assert fonts.width_mm(text, 1000, face) / fonts.MM_PER_POINT == pytest.approx(drawn, abs=0.5)


def test_decomposed_text_measures_like_composed_text():
    assert fonts.width_mm("cre\u0300me", 9) == fonts.width_mm("crème", 9)


def test_a_missing_character_takes_room():
    assert fonts.width_mm("a\U0001f36f", 9) > fonts.width_mm("a", 9)


def test_vertical_measures_hold_the_glyphs(face):
    font = Reference(fonts.file(face))
    for character in "ÅŠÉgjpyçQ(|":
        glyph = font["glyf"][font.getBestCmap()[ord(character)]]
        assert glyph.yMax * 25.4 / 72 / 1000 * 10 <= fonts.ascent(10, face)
        assert -glyph.yMin * 25.4 / 72 / 1000 * 10 <= fonts.descent(10, face)
    capital = font["glyf"][font.getBestCmap()[ord("H")]].yMax
    assert fonts.cap_height(10, face) == pytest.approx(capital * 25.4 / 72 / 1000 * 10, rel=0.01)
    assert fonts.line_height(10, face) == pytest.approx(1.3 * 10 * 25.4 / 72)


def test_an_unknown_face_is_refused():
    with pytest.raises(ValueError, match="no font face 'black'"):
        fonts.width_mm("a", 9, "black")


# --- missing characters ------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    "character",
    [
        "\x00",
        "\x07",
        "\t",
        "\n",
        "\r",
        "\x7f",
        "\x85",  # controls
        "\u00ad",
        "\u200b",
        "\u200c",
        "\u200d",
        "\u2060",
        "\ufeff",  # seen by nobody
        "\u202a",
        "\u202e",
        "\u2066",
        "\u2069",
        "\u200f",  # would turn the line round
        "\ufe0f",
        "\U0001f95c",
        "\u26a0",
        "\U000e0041",  # emoji and their selectors, tags
        "\ud800",
        "\udfff",
        "\uffff",
        "\ufffd",
        "\ue000",
        "\uf6d7",  # halves of characters, and none at all
        "\u0d05",
        "\u16a0",
        "\u0301",  # other scripts, a loose accent
    ],
)
def test_missing_names_the_code_point(character):
    assert fonts.missing(f"milk {character}, {character}") == (f"U+{ord(character):04X}",)
    with pytest.raises(ValueError, match=f"U\\+{ord(character):04X}"):
        fonts.drawable(f"milk {character}")


def test_missing_keeps_order_and_composes_first():
    assert fonts.missing("a\u200bb\u26a0c\u200b") == ("U+200B", "U+26A0")
    assert fonts.missing("e\u0301 A\u030a \u212b \u2126") == ()
    assert fonts.missing("q\u0301") == ("U+0301",)


def test_name_says_what_it_is():
    assert fonts.name("U+200B") == "U+200B ZERO WIDTH SPACE"
    assert fonts.name("U+0007") == "U+0007"


@settings(deadline=None)
@given(st.text(max_size=40))
def test_missing_is_the_fonts_own_word(text):
    lacking = {f"U+{ord(c):04X}" for c in unicodedata.normalize("NFC", text) if ord(c) not in CMAP}
    written = {f"U+{ord(c):04X}" for c in text if any(script.writes(c) for script in script_fonts.table())}
    assert lacking - written <= set(fonts.missing(text)) <= lacking


# --- wrapping ----------------------------------------------------------------------------------------------------


def same_but_for_hyphens(lines: str, text: str) -> bool:
    """Whether the lines have all the letters of the text in their order, with nothing but hyphens more."""
    rest = iter(lines.replace(" ", ""))
    return all(any(c == own for c in rest) for own in text.replace(" ", "")) and lines.replace("-", "").replace(
        " ", ""
    ) == text.replace("-", "").replace(" ", "")


@settings(deadline=None)
@given(st.text(st.sampled_from("abc ABC-/1½2é   W"), max_size=80), st.floats(6, 60), faces)
def test_no_line_is_too_wide_and_no_letter_is_lost(text, width, face):
    lines = fonts.wrap(text, width, 9, face)
    assert all(fonts.width_mm(line, 9, face) <= width + 1e-6 for line in lines)
    assert same_but_for_hyphens("".join(lines), text)
    assert all(line == line.strip(" ") for line in lines)


def test_wrap_breaks_at_spaces_and_after_hyphens_and_slashes():
    width = fonts.width_mm("half-dried", 9)
    assert fonts.wrap("half-dried tomato", width, 9) == ("half-dried", "tomato")
    assert fonts.wrap("half-dried", width - 0.1, 9) == ("half-", "dried")
    assert fonts.wrap("milk/butter", fonts.width_mm("milk/but", 9), 9) == ("milk/", "butter")


def test_wrap_does_not_split_numbers():
    assert fonts.wrap("take 1/2", fonts.width_mm("take 1/", 9) + 0.1, 9) == ("take", "1/2")
    assert fonts.wrap("keep at -18", fonts.width_mm("keep at -1", 9), 9) == ("keep at", "-18")


def test_wrap_breaks_a_long_word_rather_than_run_over():
    lines = fonts.wrap("Donaudampfschifffahrt", 12, 9)
    assert len(lines) > 1 and "".join(line.removesuffix("-") for line in lines) == "Donaudampfschifffahrt"


def test_a_long_word_is_hyphenated_as_in_its_language():
    word = "Rindfleischetikettierungsgesetz"
    assert fonts.wrap(word, 30, 9, language="de-DE") == ("Rindfleischetikettie-", "rungsgesetz")
    assert fonts.wrap(word, 30, 9, language="de-DE") != fonts.wrap(word, 30, 9, language="en-GB")
    # No patterns for the language, no letters to part, or no room for a hyphen: broken anywhere.
    assert all(line.endswith("-") for line in fonts.wrap(word, 20, 9, language="ja-JP")[:-1])
    assert "".join(fonts.wrap("1" * 40, 20, 9)) == "1" * 40


def test_words_held_together_are_parted_between_words_before_one_is_hyphenated():
    lines = fonts.wrap("dried\u00a0mushroom\u00a0powder", 22, 9)
    assert lines == ("dried\u00a0mushroom", "powder")


def test_every_line_that_ends_within_a_word_ends_with_a_hyphen():
    for width in range(4, 60):
        lines = fonts.wrap("Buttermilchpfannkuchenzubereitung", width, 9, "bold", "de-DE")
        assert all(line.endswith("-") for line in lines[:-1])
        assert all(fonts.width_mm(line, 9, "bold") <= width for line in lines)


def test_wrap_at_its_limits():
    assert fonts.wrap("", 20, 9) == ("",)
    assert fonts.wrap("   ", 20, 9) == ("",)
    assert fonts.wrap("one\n\ntwo   three", 50, 9) == ("one", "", "two three")
    assert fonts.wrap("WW", 0.1, 9) == ("W", "W")
    for width in (0, -1, float("nan")):
        with pytest.raises(ValueError):
            fonts.wrap("a", width, 9)


def test_wrap_uses_the_whole_width():
    text = "wheat, milk, egg"
    assert fonts.wrap(text, fonts.width_mm(text, 9), 9) == (text,)


@settings(deadline=None)
@given(words, st.floats(5, 80))
def test_fit_fits(text, width):
    short = fonts.fit(text, width, 9)
    assert fonts.width_mm(short, 9) <= width + 1e-6
    assert short == fonts.normal(text) or short.endswith("…")
