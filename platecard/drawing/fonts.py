"""The one bundled font and the only text measure there is.

In: text, a size in points, a face. Out: millimetres, broken lines, or the characters the font lacks.
Widths are plain sums of the advances in the font file, without kerning or ligatures; the SVG and the PDF draw with
the same file and with both switched off, so a line measured here is that long in either.

Text is put into Unicode normal form C before it is measured or drawn. A character the font lacks would vanish from
a page without a word, so `drawable` refuses it; a caller asks `missing` first and says where the text came from.
"""

import re
import struct
import unicodedata
from dataclasses import dataclass
from functools import cache, lru_cache
from pathlib import Path

FAMILY = "Platecard Sans Condensed"
FACES = ("regular", "semibold", "bold", "italic")
MM_PER_POINT = 25.4 / 72
ELLIPSIS = "\u2026"

_BREAK = re.compile("[-/\u2010]")
_FOLDER = Path(__file__).parent.parent / "data" / "fonts"


def file(face: str, kind: str = "ttf") -> Path:
    """The file of a face; `kind` is "ttf" or "woff2". ValueError for a face there is not."""
    if face not in FACES:
        raise ValueError(f"no font face {face!r}; there are {', '.join(FACES)}")
    return _FOLDER / f"{face}.{kind}"


# --- measuring ---------------------------------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Metrics:
    """What a face's file says, in thousandths of the font size (y up for heights, so a descent is negative)."""

    widths: dict[str, int]  # character → advance; its keys are the characters the font has
    missing_width: int  # what the font's empty box takes, for a character it lacks
    ascent: int
    descent: int
    cap_height: int
    x_height: int


@cache
def metrics(face: str) -> Metrics:
    """Read a face once. Own reading of five small tables: it spares every card the PDF library's slower one."""
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
    """Advance of each glyph; glyphs beyond the last entry share its advance."""
    return struct.unpack_from(">" + "Hh" * count, data, hmtx)[::2]


def _characters(data: bytes, cmap: int):
    """(code point, glyph) pairs of the Windows Unicode map, in format 4: segments of consecutive code points."""
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
            else:  # the format counts from the place where the range itself is stored
                glyph = struct.unpack_from(">H", data, ranges_at + 2 * k + ranges[k] + 2 * (code - starts[k]))[0]
                glyph = glyph and glyph + deltas[k]
            if glyph & 0xFFFF:
                yield code, glyph & 0xFFFF


def width_mm(text: str, size_pt: float, face: str = "regular") -> float:
    """How long `text` is in millimetres. A character the font lacks counts as its empty box."""
    return _advance(normal(text), face) * 0.001 * size_pt * MM_PER_POINT


def ascent(size_pt: float, face: str = "regular") -> float:
    """Millimetres from the baseline up to the top of a line; accents on capitals fit under it."""
    return metrics(face).ascent * 0.001 * size_pt * MM_PER_POINT


def descent(size_pt: float, face: str = "regular") -> float:
    """Millimetres from the baseline down to the foot of a line, as a positive number."""
    return -metrics(face).descent * 0.001 * size_pt * MM_PER_POINT


def cap_height(size_pt: float, face: str = "regular") -> float:
    """Millimetres from the baseline to the top of a flat capital: half of it centres a line on a point."""
    return metrics(face).cap_height * 0.001 * size_pt * MM_PER_POINT


def line_height(size_pt: float, face: str = "regular") -> float:
    """Millimetres from one baseline to the next so that no two lines touch (1.3 times the size)."""
    return ascent(size_pt, face) + descent(size_pt, face)


# --- breaking and shortening -------------------------------------------------------------------------------------


@lru_cache(maxsize=4096)  # a title is wrapped to find its size, and again to set it
def wrap(text: str, width: float, size_pt: float, face: str = "regular") -> tuple[str, ...]:
    """`text` in lines of at most `width` millimetres.

    A line is broken at spaces, and after a hyphen or slash between letters: not inside "1/2" or "-5", where half a
    number would mislead. A word longer than a line is broken anywhere rather than left to run over the edge; only a
    single character wider than `width` does that. "\\n" always breaks; other runs of spaces count as one. Empty
    text is one empty line.
    ValueError if `width` is not positive.
    """
    if not width > 0:
        raise ValueError(f"a line must have a width, not {width} mm")
    # In the font's own whole numbers, so that the width of a line is the sum of its pieces, to the last digit.
    room = _units(width, size_pt)
    space = _advance(" ", face)
    lines: list[str] = []
    for paragraph in normal(text).split("\n"):
        line, used = "", 0
        for word in filter(None, paragraph.split(" ")):
            for i, piece in enumerate(_pieces(word)):
                wide = _advance(piece, face)
                gap = 1 if line and i == 0 else 0
                if used + gap * space + wide <= room:
                    line += " " * gap + piece
                    used += gap * space + wide
                    continue
                if line:
                    lines.append(line)
                *full, line = _hard(piece, width, size_pt, face)
                lines += full
                used = _advance(line, face)
        lines.append(line)
    return tuple(lines)


def _units(width: float, size_pt: float) -> float:
    """Millimetres as thousandths of the font size; a billionth more, for the division of floats is that inexact."""
    return (width + 1e-9) / (0.001 * size_pt * MM_PER_POINT)


@lru_cache(maxsize=20_000)
def _advance(text: str, face: str) -> int:
    """How long text in normal form is, in thousandths of the font size."""
    font = metrics(face)
    try:
        return sum(map(font.widths.__getitem__, text))
    except KeyError:
        return sum(font.widths.get(character, font.missing_width) for character in text)


def _fits(text: str, width: float, size_pt: float, face: str) -> bool:
    return width_mm(text, size_pt, face) <= width + 1e-9  # the sum of floats, not the paper, is that inexact


def _pieces(word: str) -> list[str]:
    """A word cut after each hyphen or slash that has a letter on one side and no bare number on the other."""
    if not _BREAK.search(word):
        return [word]
    pieces, start = [], 0
    for i in range(1, len(word) - 1):
        before, after = word[i - 1], word[i + 1]
        if word[i] in "-/\u2010" and before.isalnum() and after.isalnum() and (before.isalpha() or after.isalpha()):
            pieces.append(word[start : i + 1])
            start = i + 1
    return [*pieces, word[start:]]


def _hard(piece: str, width: float, size_pt: float, face: str) -> list[str]:
    """A piece cut into parts that fit, each of one character at least."""
    parts, part = [], ""
    for character in piece:
        if part and not _fits(part + character, width, size_pt, face):
            parts.append(part)
            part = ""
        part += character
    return [*parts, part]


def fit(text: str, width: float, size_pt: float, face: str = "regular") -> str:
    """`text`, or its beginning with "…" if it is wider than `width` millimetres.

    What is cut off is lost to the reader: never for anything a guest's safety hangs on.
    """
    text = normal(text)
    if _fits(text, width, size_pt, face):
        return text
    for end in range(len(text) - 1, 0, -1):
        short = text[:end].rstrip() + ELLIPSIS
        if _fits(short, width, size_pt, face):
            return short
    return ELLIPSIS


# --- characters --------------------------------------------------------------------------------------------------


def normal(text: str) -> str:
    """`text` in Unicode normal form C: "e" with a combining accent becomes "é"."""
    return text if text.isascii() else unicodedata.normalize("NFC", text)


def missing(text: str) -> tuple[str, ...]:
    """The code points of `text` the font lacks, each once, in order, as "U+200B".

    All four faces have the same characters. Line breaks, tabs and other controls, zero-width and direction
    characters, combining marks, emoji and lone surrogates are not in the font, and so are missing.
    """
    widths = metrics("regular").widths
    return tuple(dict.fromkeys(f"U+{ord(character):04X}" for character in normal(text) if character not in widths))


def name(code_point: str) -> str:
    """A code point as `missing` writes it, with its Unicode name where it has one: "U+200B ZERO WIDTH SPACE"."""
    return f"{code_point} {unicodedata.name(chr(int(code_point[2:], 16)), '')}".rstrip()


def spelt_out(text: str) -> str:
    """`text` in normal form with what the font lacks as its number: nothing vanishes from the page."""
    lacking = {chr(int(c[2:], 16)) for c in missing(text)}
    return "".join(f"\\u{ord(c):04x}" if c in lacking else c for c in normal(text))


def drawable(text: str) -> str:
    """`text` in normal form, ready to draw. ValueError names the characters the font lacks."""
    text = normal(text)
    if not metrics("regular").widths.keys() >= set(text):
        lacking = missing(text)
        raise ValueError(f"the card's font has no {', '.join(map(name, lacking))} (in {ascii(text)})")
    return text
