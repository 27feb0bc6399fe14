"""Fonts of other writing systems in a PDF: shaped runs on a page, and the font cut to them in the file.

A code on a page is the number of the glyph in the whole font, so that a page can be written once and bound into any
file; the file says which of the glyphs that it carries is meant. What a page needs of a font is remembered as the
runs set in it, from which the glyphs follow anew.
"""

from __future__ import annotations

import hashlib
import struct
from collections.abc import Iterable

from platecard.drawing import script_fonts, scripts
from platecard.drawing.pdf_fonts import Document, add_object, stream
from platecard.drawing.scripts import Run

_LEFT, _RIGHT = ">", "<"  # where a remembered run begins


def font_of(run: Run, face: str) -> str:
    """The font that a run is set in, as a page remembers it: other writing systems have no italic."""
    return f"{run.script} {'regular' if face == 'italic' else face}"


def remembered(run: Run) -> str:
    """A key for a shaped run: its text and its direction."""
    return (_RIGHT if run.is_reversed else _LEFT) + run.text


def name(font: str) -> str:
    """The name of a font in a page's resources."""
    return font.replace(" ", ".")


def operators(run: Run, size: float, x: float, y: float) -> str:
    """What draws a run at a size in points whose font is already set, between BT and ET."""
    written, codes, at = [], "", 0
    expected: tuple[int, int] | None = None
    for glyph in run.glyphs:
        place = (at + glyph.dx, glyph.dy)
        if place != expected:
            if codes:
                written.append(f"<{codes}> Tj")
            written.append(f"1 0 0 1 {x + place[0] * 0.001 * size:.2f} {y + place[1] * 0.001 * size:.2f} Tm")
            codes = ""
        codes += f"{glyph.number:04x}"
        expected = (place[0] + glyph.own_advance, place[1])
        at += glyph.advance
    return " ".join([*written, f"<{codes}> Tj"])


def read_as(text: str) -> str:
    """The opening of marked content that is copied and read out as this text."""
    return f"/Span <</ActualText <{_hex(chr(0xFEFF) + text)}>>> BDC"


def add(document: Document, font: str, runs: Iterable[str]) -> None:
    """Add a font, cut to these remembered runs, to a document."""
    key, _, face = font.partition(" ")
    stands_for: dict[int, str] = {}
    advances: dict[int, int] = {}
    for run in sorted(runs):
        for glyph in scripts.glyphs(run[1:], key, face, run[0] == _RIGHT):
            advances[glyph.number] = glyph.own_advance
            if glyph.text:
                stands_for.setdefault(glyph.number, glyph.text)
    used = tuple(sorted(advances))
    program, numbers = script_fonts.for_pdf(key, face, used)
    mark = hashlib.sha256(repr((font, used)).encode()).digest()
    base = f"{''.join(chr(65 + b % 26) for b in mark[:6])}+{script_fonts.postscript_name(key, face)}"
    (left, bottom, right, top), ascent, descent = script_fonts.measures(key)
    places = [0] * (max(used, default=0) + 1)
    for glyph_number, in_file in numbers.items():
        places[glyph_number] = in_file
    file = add_object(document, f"file of {base}", stream(program, f" /Length1 {len(program)}"))
    mapping = add_object(document, f"characters of {base}", stream(_to_unicode(base, stands_for)))
    cids = add_object(document, f"glyphs of {base}", stream(struct.pack(f">{len(places)}H", *places)))
    descriptor = add_object(
        document,
        f"descriptor of {base}",
        (
            f"<</Type /FontDescriptor /FontName /{base} /Flags 4 /FontBBox [{left} {bottom} {right} {top}]"
            f" /ItalicAngle 0 /Ascent {ascent} /Descent {descent} /CapHeight {ascent} /StemV 80 /FontFile2 {file} 0 R>>"
        ).encode("ascii"),
    )
    widths = " ".join(f"{number} [{advance}]" for number, advance in sorted(advances.items()))
    inner = add_object(
        document,
        f"inner {base}",
        (
            f"<</Type /Font /Subtype /CIDFontType2 /BaseFont /{base} /CIDSystemInfo <</Registry (Adobe) /Ordering"
            f" (Identity) /Supplement 0>> /FontDescriptor {descriptor} 0 R /W [{widths}] /CIDToGIDMap {cids} 0 R>>"
        ).encode("ascii"),
    )
    outer = add_object(
        document,
        name(font),
        (
            f"<</Type /Font /Subtype /Type0 /BaseFont /{base} /Encoding /Identity-H /DescendantFonts [{inner} 0 R]"
            f" /ToUnicode {mapping} 0 R>>"
        ).encode("ascii"),
    )
    document.idToObject["BasicFonts"].dict[name(font)] = f"{outer} 0 R"


def _to_unicode(base: str, stands_for: dict[int, str]) -> bytes:
    """The map from codes to the characters they stand for (ISO 32000-1, 9.10.3)."""
    lines = [f"<{number:04x}> <{_hex(text)}>" for number, text in sorted(stands_for.items())]
    parts = [lines[i : i + 100] for i in range(0, len(lines), 100)]
    listed = "\n".join(f"{len(part)} beginbfchar\n" + "\n".join(part) + "\nendbfchar" for part in parts)
    return (
        "/CIDInit /ProcSet findresource begin\n12 dict begin\nbegincmap\n"
        "/CIDSystemInfo <</Registry (Adobe) /Ordering (UCS) /Supplement 0>> def\n"
        f"/CMapName /{base} def\n/CMapType 2 def\n"
        f"1 begincodespacerange\n<0000> <ffff>\nendcodespacerange\n{listed}\n"
        "endcmap\nCMapName currentdict /CMap defineresource pop\nend\nend\n"
    ).encode("ascii")


def _hex(text: str) -> str:
    return text.encode("utf-16-be").hex()
