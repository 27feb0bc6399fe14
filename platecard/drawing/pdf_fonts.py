"""Fonts in a PDF: which part of a face holds a character, and under which code.

A PDF font has room for 255 characters, so each face is divided into parts. Part 0 holds the common characters and is
the same in every document, so that it is cut from the font and packed only once. The further parts hold all other
characters in the order of their code points, of which only those in use are cut. A character's part and code never
depend on the document, so a page can be written once and bound into any file.
"""

from __future__ import annotations

import zlib
from functools import cache, lru_cache
from types import ModuleType
from typing import TYPE_CHECKING, Protocol

from platecard.drawing import fonts

if TYPE_CHECKING:  # reportlab is imported late, because not every command writes a PDF
    from reportlab.pdfbase.pdfdoc import PDFDictionary
    from reportlab.pdfbase.ttfonts import TTFontFace

# The letters of western European menus, and the signs used with quantities.
_COMMON = "\u00a0–—…×÷°±½¼¾⅓⅔⅛·•éèêëàâäáåãçñíìîïóòôöõøúùûüæœßÉÈÊÀÂÄÅÇÑÖØÜÆŒ‘’“”«»≤≥→µ€£−"
_LEVEL = 1  # of zlib: takes a quarter of the time of the usual 6, and sixteen per cent more bytes
# Each byte as it is written in a PDF string: plain ASCII as itself, anything else as an octal escape.
_BYTES = [chr(b) if 32 <= b < 127 and chr(b) not in "()\\" else f"\\{b:03o}" for b in range(256)]


@cache
def _ttfonts() -> ModuleType:
    """The reader of fonts, loaded late."""
    from reportlab.pdfbase import ttfonts

    return ttfonts


class Document(Protocol):
    """What is used here of a reportlab document; the library's own stubs leave parts of it out."""

    idToObject: dict[str, PDFDictionary]
    idToObjectNumberAndVersion: dict[str, tuple[int, int]]

    def Reference(self, obj: object, name: str | None = None) -> object:
        """A reference to an object of the document."""


def packed(data: bytes) -> bytes:
    """`data` as a FlateDecode stream."""
    return zlib.compress(data, _LEVEL)


@cache
def _parts() -> tuple[tuple[str, ...], ...]:
    """The characters of each part, indexed by code; "" where a code is not used.

    Code 0 is the empty box, 32 the space.
    """
    ascii_codes = range(32, 127)
    spare = [code for code in (*range(1, 32), *range(127, 256))]
    first = [""] * 256
    for code in ascii_codes:
        first[code] = chr(code)
    for code, character in zip(spare, _COMMON, strict=False):
        first[code] = character
    rest = sorted(set(fonts.metrics("regular").widths) - set(first))
    codes = [code for code in range(1, 256) if code != 32]
    parts = [tuple(first)]
    for start in range(0, len(rest), len(codes)):
        part = [""] * 256
        part[32] = " "
        for code, character in zip(codes, rest[start : start + len(codes)]):
            part[code] = character
        parts.append(tuple(part))
    return tuple(parts)


@cache
def _places() -> dict[str, tuple[int, str]]:
    """Character → its part, and how it is written in a PDF string."""
    return {
        character: (number, _BYTES[code])
        for number, part in reversed(list(enumerate(_parts())))
        for code, character in enumerate(part)
        if character
    }


@cache
def _common() -> dict[int, str]:
    """A table for `str.translate` that writes the characters of part 0 as in a PDF string."""
    return {ord(character): _BYTES[code] for code, character in enumerate(_parts()[0]) if character}


@cache
def _is_common() -> frozenset[str]:
    return frozenset(filter(None, _parts()[0]))


@lru_cache(maxsize=4096)  # cards repeat one another's texts: headings, names, the words of a law
def runs(text: str) -> tuple[tuple[int, str], ...]:
    """`text` as runs of one part each: the part, and the inside of a PDF string; none if it must be shaped.

    NotDrawable for a character that no font here has.
    """
    text = fonts.drawable(text)
    if _is_common().issuperset(text):
        return ((0, text.translate(_common())),)
    if fonts.needs_shaping(text):
        return ()
    found: list[tuple[int, str]] = []
    places = _places()
    for character in text:
        part, written = places[character]
        if found and found[-1][0] == part:
            found[-1] = (part, found[-1][1] + written)
        else:
            found.append((part, written))
    return tuple(found)


def beyond(text: str) -> frozenset[str]:
    """The characters of `text` outside part 0."""
    return frozenset(text) - _is_common()


@cache
def name(face: str, part: int) -> str:
    """The name of a part of a face in a page's resources."""
    return f"F{fonts.FACES.index(face) + 1}.{part}"


def add(document: Document, face: str, rare: frozenset[str]) -> None:
    """Add the common part of `face`, and the parts that hold its `rare` characters, to a document."""
    _add_part(document, face, 0, _parts()[0])
    for number, part in enumerate(_parts()[1:], 1):
        if rare.intersection(part):
            # Only the characters in use are kept; each stays at its own code.
            _add_part(document, face, number, tuple(c if c in rare or c == " " else "" for c in part))


def _add_part(document: Document, face: str, number: int, part: tuple[str, ...]) -> None:
    """Add the four objects of a part; only their numbers differ from document to document."""
    data = _face(face)
    base = f"{_ttfonts().SUBSETN(number).decode('ascii')}+{data.name.decode('ascii')}"
    program, mapping = _cut(face, base, part)
    file, to_unicode = (
        add_object(document, f"file of {base}", program),
        add_object(document, f"characters of {base}", mapping),
    )
    flags = data.flags & ~32 | 4  # symbolic instead of non-symbolic, because the codes are not a standard encoding
    box = " ".join(f"{v:g}" for v in data.bbox)
    descriptor = add_object(
        document,
        f"descriptor of {base}",
        (
            f"<</Type /FontDescriptor /FontName /{base} /Flags {flags} /FontBBox [{box}] /ItalicAngle"
            f" {data.italicAngle:g} /Ascent {data.ascent:g} /Descent {data.descent:g} /CapHeight {data.capHeight:g}"
            f" /StemV {data.stemV:g} /MissingWidth {data.defaultWidth:g} /FontFile2 {file} 0 R>>"
        ).encode("ascii"),
    )
    named = name(face, number)
    font = (
        f"<</Type /Font /Subtype /TrueType /Name /{named} /BaseFont /{base} /FirstChar 0 /LastChar 255 /Widths"
        f" {_widths(face, part)} /FontDescriptor {descriptor} 0 R /ToUnicode {to_unicode} 0 R>>"
    ).encode("ascii")
    document.idToObject["BasicFonts"].dict[named] = f"{add_object(document, named, font)} 0 R"


def add_object(document: Document, key: str, data: bytes) -> int:
    """Add an object that is already written, and return its number."""
    document.Reference(data, key)
    return document.idToObjectNumberAndVersion[key][0]


@cache
def _face(face: str) -> TTFontFace:
    """A face as read by reportlab, once and only when it is needed."""
    read: TTFontFace = _ttfonts().TTFontFace(str(fonts.file(face)))
    return read


@cache
def _widths(face: str, part: tuple[str, ...]) -> str:
    widths = fonts.metrics(face)
    return "[" + " ".join([str(widths.widths.get(c, widths.missing_width)) for c in part]) + "]"


@cache
def _cut(face: str, base: str, part: tuple[str, ...]) -> tuple[bytes, bytes]:
    """The part's font program, and the map from its codes to characters, as PDF objects."""
    codes = [ord(c) if c else 0 for c in part]
    program = _face(face).makeSubset(codes)
    return stream(program, f" /Length1 {len(program)}"), stream(
        _ttfonts().makeToUnicodeCMap(base, codes).encode("ascii")
    )


def stream(data: bytes, more: str = "") -> bytes:
    """A compressed stream object; `more` are further entries of its dictionary."""
    inside = packed(data)
    return f"<</Filter /FlateDecode /Length {len(inside)}{more}>>\nstream\n".encode("ascii") + inside + b"\nendstream\n"
