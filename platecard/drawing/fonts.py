"""The bundled font, and the measuring and breaking of text set in it.

Widths are in millimetres and sizes in points. A width is the plain sum of the advances in the font file, without
kerning or ligatures. The SVG and the PDF draw with the same file and have both switched off, so a line is exactly as
long there as it is measured here.

The font has Latin, Greek and Cyrillic. What it lacks of another writing system is shaped with a font for that, where
one is installed (`scripts`), and measured as it is shaped.

Text is put into Unicode normal form C before it is measured or drawn. A character that no font here has would vanish
from the page without notice, so `drawable` refuses it; callers check with `missing` first, so that they can say where
the text came from.
"""

import re
import struct
import unicodedata
from collections.abc import Callable, Iterable, Iterator
from functools import cache, lru_cache
from itertools import accumulate
from pathlib import Path
from typing import NamedTuple

from platecard.drawing import hyphens

FAMILY = "Platecard Sans Condensed"
FACES = ("regular", "semibold", "bold", "italic")
MM_PER_POINT = 25.4 / 72
ELLIPSIS = "\u2026"
# What a cook types for the fonts of other writing systems; the README makes `.venv` without a pip of its own.
INSTALLED_BY = "python3 -m pip --python .venv/bin/python install 'platecard[scripts]'"

# Greek and Cyrillic letters, which a picture carries only where it needs them; Δ, Ω, μ and π are signs too.
FURTHER = ((0x370, 0x393), (0x395, 0x3A8), (0x3AA, 0x3BB), (0x3BD, 0x3BF), (0x3C1, 0x52F))
_FURTHER = re.compile("[" + "".join(f"{chr(first)}-{chr(last)}" for first, last in FURTHER) + "]")
_ANOTHER = re.compile("[\u0590-\u1dff\u2e80-\ud7ff\uf900-\ufaff\ufb1d-\ufdff\ufe30-\uffef\U00020000-\U0003134f]")
_LATIN = re.compile("[A-Za-z\u00c0-\u024f\u1e00-\u1eff]")
_BREAK = re.compile("[-/\u2010]")
FOLDER = Path(__file__).parent.parent / "data" / "fonts"


class NotDrawable(ValueError):
    """A text with a character that no font here has."""


def file(face: str, kind: str = "ttf", is_further: bool = False) -> Path:
    """The file of a face; `kind` is "ttf", or "woff2" without Greek and Cyrillic, or with `is_further` those alone.

    ValueError for an unknown face.
    """
    if face not in FACES:
        raise ValueError(f"no font face {face!r}; there are {', '.join(FACES)}")
    return FOLDER / f"{face}{'-greek-cyrillic' if is_further else ''}.{kind}"


# --- measuring ---------------------------------------------------------------------------------------------------


class Metrics(NamedTuple):
    """The measures of a face, in thousandths of the font size. Heights count upwards, so the descent is negative."""

    widths: dict[str, int]  # character → advance; its keys are all the characters the font has
    missing_width: int  # of the empty box that is drawn for a character the font lacks
    ascent: int
    descent: int
    cap_height: int
    x_height: int


@cache
def metrics(face: str) -> Metrics:
    """The measures of a face, read from its file once.

    Only five small tables are read, which is much faster than the PDF library's font reader.
    """
    data = file(face).read_bytes()
    count = struct.unpack_from(">H", data, 4)[0]
    tables = {}
    for i in range(count):
        tag, _, offset, _ = struct.unpack_from(">4sLLL", data, 12 + 16 * i)
        tables[tag.decode("ascii")] = offset
    head, hhea, os2 = tables["head"], tables["hhea"], tables["OS/2"]
    if struct.unpack_from(">H", data, head + 18)[0] != 1000:
        raise ValueError(f"{face}: the font is expected to have 1000 units to the em")
    ascent, descent = struct.unpack_from(">hh", data, hhea + 4)
    x_height, cap_height = struct.unpack_from(">hh", data, os2 + 86)
    advances = _advances(data, tables["hmtx"], struct.unpack_from(">H", data, hhea + 34)[0])
    last = len(advances) - 1
    widths = {chr(code): advances[min(glyph, last)] for code, glyph in _characters(data, tables["cmap"])}
    return Metrics(widths, advances[0], ascent, descent, cap_height, x_height)


def _advances(data: bytes, hmtx: int, count: int) -> tuple[int, ...]:
    """The advance of each glyph; glyphs beyond the last entry share its advance."""
    return struct.unpack_from(">" + "Hh" * count, data, hmtx)[::2]


def _characters(data: bytes, cmap: int) -> Iterator[tuple[int, int]]:
    """Pairs of code point and glyph from the font's Windows Unicode map.

    The map is in format 4: segments of consecutive code points. ValueError if the font has none in this format.
    """
    for i in range(struct.unpack_from(">H", data, cmap + 2)[0]):
        platform, encoding, offset = struct.unpack_from(">HHL", data, cmap + 4 + 8 * i)
        if (platform, encoding) == (3, 1):
            break
    else:
        raise ValueError("the font has no Unicode character map")
    start = cmap + offset
    form, _, _, doubled = struct.unpack_from(">HHHH", data, start)
    if form != 4:
        raise ValueError(f"the font's character map is in format {form}, 4 is expected")
    n = doubled // 2
    ends = struct.unpack_from(f">{n}H", data, start + 14)
    starts = struct.unpack_from(f">{n}H", data, start + 16 + doubled)
    deltas = struct.unpack_from(f">{n}H", data, start + 16 + 2 * doubled)
    ranges_at = start + 16 + 3 * doubled
    ranges = struct.unpack_from(f">{n}H", data, ranges_at)
    for k in range(n):
        for code in range(starts[k], min(ends[k], 0xFFFE) + 1):
            if ranges[k] == 0:
                glyph = code + deltas[k]
            else:  # the offset counts from where the range's own entry is stored
                glyph = struct.unpack_from(">H", data, ranges_at + 2 * k + ranges[k] + 2 * (code - starts[k]))[0]
                glyph = glyph and glyph + deltas[k]
            if glyph & 0xFFFF:
                yield code, glyph & 0xFFFF


def width_mm(text: str, size_pt: float, face: str = "regular") -> float:
    """How long `text` is, in millimetres. A character that the font lacks counts as its empty box."""
    return _advance(normal(text), face) * 0.001 * size_pt * MM_PER_POINT


def ascent(size_pt: float, face: str = "regular") -> float:
    """Millimetres from the baseline to the top of a line, which leaves room for accents on capitals."""
    return metrics(face).ascent * 0.001 * size_pt * MM_PER_POINT


def descent(size_pt: float, face: str = "regular") -> float:
    """Millimetres from the baseline down to the bottom of a line, as a positive number."""
    return -metrics(face).descent * 0.001 * size_pt * MM_PER_POINT


def cap_height(size_pt: float, face: str = "regular") -> float:
    """Millimetres from the baseline to the top of a flat capital; half of it centres a line on a point."""
    return metrics(face).cap_height * 0.001 * size_pt * MM_PER_POINT


def line_height(size_pt: float, face: str = "regular") -> float:
    """Millimetres from one baseline to the next such that lines never touch (1.3 times the size)."""
    return ascent(size_pt, face) + descent(size_pt, face)


# --- breaking and shortening -------------------------------------------------------------------------------------


@lru_cache(maxsize=4096)  # a title is wrapped once to find its size, and again to set it
def wrap(text: str, width: float, size_pt: float, face: str = "regular", language: str = "en-GB") -> tuple[str, ...]:
    """`text` broken into lines of at most `width` millimetres.

    Lines break at spaces, and after a hyphen or slash between letters, but not inside "1/2" or "-5", where half a
    number would mislead. A word longer than a line is hyphenated as in `language`, or anywhere if it has no place for
    that, rather than run over the edge; only a single character wider than `width` does that. "\\n" always breaks, and
    runs of spaces count as one. Empty text gives one empty line. ValueError if `width` is not positive.
    """
    if not width > 0:
        raise ValueError(f"a line must have a width, not {width} mm")
    # Counted in the font's own integer units, so that a line is exactly as wide as the sum of its pieces.
    room = _units(width, size_pt)
    space = _advance(" ", face)
    lines: list[str] = []
    for paragraph in _measured(text, face):
        line, used = "", 0
        for piece, wide, is_new in paragraph:
            gap = space if is_new and line else 0
            if used + gap + wide <= room:
                line = f"{line} {piece}" if gap else line + piece
                used += gap + wide
                continue
            if line:
                lines.append(line)
            line, used = piece, wide
            if wide > room:
                *full, line = _hard(piece, width, size_pt, face, language)
                lines += full
                used = _advance(line, face)
        lines.append(line)
    return tuple(lines)


_Piece = tuple[str, int, bool]  # a piece of a word, its advance, and whether it begins the word


@lru_cache(maxsize=512)  # the same text is tried in many widths and sizes until a page is full
def _measured(text: str, face: str) -> tuple[tuple[_Piece, ...], ...]:
    """The pieces of each paragraph that a line may be broken between."""
    return tuple(
        tuple(
            (piece, _advance(piece, face), i == 0)
            for word in filter(None, paragraph.split(" "))
            for i, piece in enumerate(_pieces(word))
        )
        for paragraph in normal(text).split("\n")
    )


def narrowest_mm(text: str, size_pt: float, face: str = "regular") -> float:
    """The width, in millimetres, below which `wrap` would break one of the words in the middle."""
    return max(width_mm(piece, size_pt, face) for word in text.split(" ") for piece in _pieces(normal(word)))


def _units(width: float, size_pt: float) -> float:
    """Millimetres as thousandths of the font size, plus a billionth of a mm to allow for rounding."""
    return (width + 1e-9) / (0.001 * size_pt * MM_PER_POINT)


@lru_cache(maxsize=20_000)
def _advance(text: str, face: str) -> int:
    """How long text already in normal form is, in thousandths of the font size."""
    font = metrics(face)
    try:
        return sum(map(font.widths.__getitem__, text))
    except KeyError:
        from platecard.drawing import scripts

        return scripts.width(text, face)


def _fits(text: str, width: float, size_pt: float, face: str) -> bool:
    return width_mm(text, size_pt, face) <= width + 1e-9  # allows for rounding


def _pieces(word: str) -> list[str]:
    """A word cut after each hyphen or slash between letters or digits, unless there is a digit on both sides.

    In another writing system it is cut where that breaks its lines.
    """
    if needs_shaping(word):
        from platecard.drawing import scripts

        return [piece for part in scripts.pieces(word) for piece in ([part] if needs_shaping(part) else _pieces(part))]
    if not _BREAK.search(word):
        return [word]
    pieces, start = [], 0
    for i in range(1, len(word) - 1):
        before, after = word[i - 1], word[i + 1]
        if word[i] in "-/\u2010" and before.isalnum() and after.isalnum() and (before.isalpha() or after.isalpha()):
            pieces.append(word[start : i + 1])
            start = i + 1
    return [*pieces, word[start:]]


def _hard(piece: str, width: float, size_pt: float, face: str, language: str) -> list[str]:
    """A piece cut into parts that fit, each at least one character long: at a no-break space if there is one, else
    within a word, with a hyphen where letters are parted."""
    if needs_shaping(piece):
        return _of_other_script(piece, width, size_pt, face)
    parts = []
    while len(piece) > 1 and not _fits(piece, width, size_pt, face):
        spaces = [i for i, character in enumerate(piece) if character == "\u00a0" and i]
        cuts = (
            *((piece[:i], i + 1) for i in reversed(spaces)),
            *((_parted(piece, i), i) for i in reversed(hyphens.places(piece, language))),
            *((_parted(piece, i), i) for i in range(len(piece) - 1, 0, -1)),
        )
        part, end = next((cut for cut in cuts if _fits(cut[0], width, size_pt, face)), (piece[0], 1))
        parts.append(part)
        piece = piece[end:]
    return [*parts, piece]


def _parted(piece: str, end: int) -> str:
    """The beginning of a piece up to `end`, with a hyphen if that is between two letters."""
    return piece[:end] + (hyphens.HYPHEN if piece[end - 1].isalpha() and piece[end].isalpha() else "")


def _of_other_script(piece: str, width: float, size_pt: float, face: str) -> list[str]:
    """A piece of another writing system cut into parts that fit; it knows no hyphen."""
    parts, part = [], ""
    for character in _smallest(piece, width, size_pt, face):
        if part and not _fits(part + character, width, size_pt, face):
            parts.append(part)
            part = ""
        part += character
    return [*parts, part]


def _smallest(piece: str, width: float, size_pt: float, face: str) -> Iterable[str]:
    """What a piece is cut into that is wider than a line: its characters, or more where its script allows a break."""
    from platecard.drawing import scripts

    units = scripts.units(piece)
    return [c for unit in units for c in ([unit] if _fits(unit, width, size_pt, face) else scripts.characters(unit))]


def _letters(text: str) -> Iterable[str]:
    """What a reader takes for the characters of a text: a letter stays with its vowel signs."""
    if not needs_shaping(text):
        return text
    from platecard.drawing import scripts

    return scripts.characters(text)


def fit(text: str, width: float, size_pt: float, face: str = "regular") -> str:
    """`text`, shortened to its beginning and "…" if it is wider than `width` millimetres.

    The reader loses what is cut off, so this must never be used for anything that a guest's safety depends on.
    """
    text = normal(text)
    if _fits(text, width, size_pt, face):
        return text
    ends = list(accumulate(map(len, _letters(text))))
    for end in reversed(ends[:-1]):
        short = text[:end].rstrip() + ELLIPSIS
        if _fits(short, width, size_pt, face):
            return short
    return ELLIPSIS


# --- characters --------------------------------------------------------------------------------------------------


def normal(text: str) -> str:
    """`text` in Unicode normal form C: "e" with a combining accent becomes "é"."""
    return text if text.isascii() else unicodedata.normalize("NFC", text)


def needs_shaping(text: str) -> bool:
    """Whether `text` has a character that the card's own font lacks."""
    return not (text.isascii() and text.isprintable()) and not metrics("regular").widths.keys() >= set(normal(text))


def needs_further(text: str) -> bool:
    """Whether `text` has Greek or Cyrillic letters."""
    return not text.isascii() and _FURTHER.search(text) is not None


def further_letters(text: str) -> tuple[str, ...]:
    """The Greek and Cyrillic letters of `text`, each once."""
    return tuple(dict.fromkeys(_FURTHER.findall(text)))


def of_two_alphabets(text: str) -> str:
    """The first word of `text` that has both Latin letters and Greek or Cyrillic ones, many of which look alike."""
    if not needs_further(text):
        return ""
    words = (word[0] for word in re.finditer(r"[^\W\d_]+", text))
    return next((word for word in words if _FURTHER.search(word) and _LATIN.search(word)), "")


def missing(text: str) -> tuple[str, ...]:
    """The code points of `text` that no font here has, each once, in order, such as "U+200B".

    All four faces have the same characters. Line breaks, tabs and other control characters, zero-width and direction
    marks, combining marks by themselves, emoji and lone surrogates are in no font and therefore count as missing.
    """
    return tuple(f"U+{ord(character):04X}" for character in _missing(text))


def _missing(text: str) -> tuple[str, ...]:
    if not needs_shaping(text):
        return ()
    from platecard.drawing import scripts

    return scripts.lacking(normal(text))


def uninstalled(text: str) -> tuple[str, ...]:
    """The names of the writing systems of `text`, such as "Japanese", whose font could be installed and is not."""
    if not needs_shaping(text):
        return ()
    from platecard.drawing import scripts

    return scripts.uninstalled(normal(text))


def hopeless(text: str) -> tuple[str, ...]:
    """Those of the `missing` code points of `text` that no font which could be installed has either."""
    missed = _missing(text)
    if not missed:
        return ()
    from platecard.drawing import scripts

    return tuple(f"U+{ord(character):04X}" for character in missed if not scripts.is_written(character))


def name(code_point: str) -> str:
    """A code point from `missing` with its Unicode name, if it has one: "U+200B ZERO WIDTH SPACE"."""
    return f"{code_point} {unicodedata.name(chr(int(code_point[2:], 16)), '')}".rstrip()


def spelt_out(text: str, code_points: Callable[[str], Iterable[str]] = missing) -> str:
    """`text` in normal form, each character that no font here has written as its number, so that nothing vanishes.

    With `code_points=hopeless`, what a font could be installed for stays as it is.
    """
    lacking = {chr(int(c[2:], 16)) for c in code_points(text)}
    if not lacking:
        return normal(text)
    return "".join(f"\\u{ord(c):04x}" if c in lacking else c for c in normal(text))


def installed_for(text: str) -> str:
    """The fonts and libraries installed for the other writing systems of `text`, as one line; empty if it has none."""
    if text.isascii() or not _ANOTHER.search(text):
        return ""
    from platecard.drawing import scripts

    return scripts.used(normal(text))


def printed(text: str, otherwise: str) -> str:
    """`text` where it can be drawn here, or else what stands for it in a document of many."""
    return spelt_out(otherwise) if missing(text) else text


def drawable(text: str) -> str:
    """`text` in normal form, ready to draw. NotDrawable, naming them, if no font here has any of its characters."""
    text = normal(text)
    if not metrics("regular").widths.keys() >= set(text) and (lacking := missing(text)):
        if scripts := uninstalled(text):
            raise NotDrawable(f"no font for {' and '.join(scripts)} is installed, and it prints {_quoted(text)}")
        raise NotDrawable(f"the card's font has no {', '.join(map(name, lacking))} (in {ascii(text)})")
    return text


def _quoted(text: str) -> str:
    return f"'{text[:40]}{ELLIPSIS if len(text) > 40 else ''}'"
