"""Make the four faces of the card's font from IBM Plex Sans Condensed and IBM Plex Sans.

This is a development step: the results are kept beside this file, and making cards never runs it.
To run it again, install the packages `fontpkg-ibm-plex-sans-condensed`, `fontpkg-ibm-plex-sans`, `fonttools` and
`brotli`, then:

    python platecard/data/fonts/make_fonts.py

It writes regular, semibold, bold and italic, each as `.ttf` (measured, and embedded in the PDF) and in two `.woff2`
(embedded in the SVG), so that a picture without Greek or Cyrillic does not carry their letters: `regular.woff2` and
`regular-greek-cyrillic.woff2` have between them the characters of `regular.ttf`. The bytes do not depend on the date.

What is changed, and why:
- Layout tables (kerning, ligatures, mark placement) are removed, so that the width of a text is the plain
  sum of its advances in a browser, in the PDF and in `drawing.fonts` alike.
- Hinting is removed: it makes up half of the file and is of no use on paper.
- Characters that are invisible or need mark placement are removed, so that they count as missing instead
  of vanishing silently.
- A few characters that look like one in the font are added (see ALIASES).
- Greek and Cyrillic are added from IBM Plex Sans at its narrowest width, where the letters that both fonts have are
  equally wide (the semibold's to two thousandths of the size); the condensed family has only Latin letters.
- The names are changed: the licence reserves the name "Plex" for the unchanged font. Each face gets its own
  PostScript name, because the PDF library would draw a second font of the same name with the first one's glyphs.
"""

import importlib.util
import unicodedata
from pathlib import Path

from fontTools import subset  # type: ignore[import-untyped]
from fontTools.pens.recordingPen import DecomposingRecordingPen  # type: ignore[import-untyped]
from fontTools.pens.ttGlyphPen import TTGlyphPen  # type: ignore[import-untyped]
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]
from fontTools.varLib import instancer  # type: ignore[import-untyped]

HERE = Path(__file__).parent
FAMILY = "Platecard Sans Condensed"
POSTSCRIPT = "PlatecardSansCondensed"
SOURCE = "fontpkg_ibm_plex_sans_condensed"
FURTHER = "fontpkg_ibm_plex_sans"
BLOCKS = (range(0x0370, 0x0400), range(0x0400, 0x0530))  # Greek; Cyrillic and its supplement
WIDTH = 75  # of the further letters, on the font's own axis
WEIGHTS = {"Regular": 400, "SemiBold": 600, "Bold": 700, "Italic": 400}
FACES = {"regular": "Regular", "semibold": "SemiBold", "bold": "Bold", "italic": "Italic"}
FIXED_DATE = 3_786_912_000  # 2024-01-01 in seconds since 1904, the font format's own epoch

# Character wanted: character whose glyph it gets. Unicode normalisation turns the ohm, micro and increment
# signs into these Greek letters; word processors insert the rest.
ALIASES = {
    "\u03a9": "\u2126",  # omega, ohm
    "\u03bc": "\u00b5",  # mu, micro
    "\u0394": "\u2206",  # delta, increment
    "\u2010": "-",  # hyphen
    "\u2011": "-",  # non-breaking hyphen
    "\u2009": " ",  # thin space
    "\u202f": " ",  # narrow no-break space
}


def visible(code: int) -> bool:
    """Whether a character can be seen on a card: no control, format, private, unassigned or combining character."""
    return unicodedata.category(chr(code)) not in ("Cc", "Cf", "Co", "Cs", "Cn", "Mn", "Me", "Mc")


def rename(font: TTFont, style: str) -> None:
    """Give the font its new names; the maker's copyright and licence lines stay."""
    table = font["name"]
    kept = {record.nameID: record.toUnicode() for record in table.names if record.nameID in (0, 13, 14)}
    plain = style in ("Regular", "Bold", "Italic")  # the styles that the four-face family name of old programs can hold
    names = {
        **kept,
        1: FAMILY if plain else f"{FAMILY} {style}",
        2: style if plain else "Regular",
        3: f"1.0;{POSTSCRIPT}-{style}",
        4: f"{FAMILY} {style}",
        5: "Version 1.0",
        6: f"{POSTSCRIPT}-{style}",
        10: "A changed version of a font published under the SIL Open Font License; see OFL.txt.",
    }
    if not plain:
        names |= {16: FAMILY, 17: style}
    table.names = []
    for number, text in sorted(names.items()):
        table.setName(text, number, 3, 1, 0x409)


def make(face: str, style: str, condensed: Path, variable: Path) -> None:
    """Write one face in all its files; the folders hold the maker's."""
    font = TTFont(condensed / f"IBMPlexSansCondensed-{style}.ttf", recalcTimestamp=False)
    cmap = font.getBestCmap()
    extra = {ord(wanted): cmap[ord(serves)] for wanted, serves in ALIASES.items() if ord(wanted) not in cmap}
    for table in font["cmap"].tables:
        table.cmap.update(extra)
    cut(font, [code for code in font.getBestCmap() if visible(code)])
    rename(font, style)
    latin = set(font.getBestCmap())

    source = variable / f"IBMPlexSans{'-Italic' if style == 'Italic' else ''}[wdth,wght].ttf"
    further = instancer.instantiateVariableFont(
        TTFont(source, recalcTimestamp=False), {"wdth": WIDTH, "wght": WEIGHTS[style]}
    )
    known = further.getBestCmap()
    for code in map(ord, "aeno0"):
        # The semibold lies between two masters there, and is a thousandth or two off.
        if abs(further["hmtx"][known[code]][0] - font["hmtx"][font.getBestCmap()[code]][0]) > 2:
            raise SystemExit(f"make_fonts: {chr(code)} is not as wide in both fonts ({style})")
    add(font, further, [code for block in BLOCKS for code in block if code in known and visible(code)])

    save(font, HERE / f"{face}.ttf")
    both = set(font.getBestCmap())
    for ending, codes in (("", latin), ("-greek-cyrillic", both - latin)):
        part = TTFont(HERE / f"{face}.ttf", recalcTimestamp=False)
        cut(part, sorted(codes))
        part.flavor = "woff2"
        save(part, HERE / f"{face}{ending}.woff2")


def cut(font: TTFont, codes: list[int]) -> None:
    """Keep these characters and nothing that moves or changes them."""
    options = subset.Options(
        layout_features=[],
        hinting=False,
        notdef_outline=True,
        recalc_timestamp=False,
        glyph_names=False,
        drop_tables=["GPOS", "GSUB", "GDEF", "kern", "DSIG", "meta", "gasp", "FFTM", "STAT"],
        name_IDs=["*"],
        legacy_cmap=False,
        symbol_cmap=False,
        prune_unicode_ranges=True,
    )
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=codes)
    subsetter.subset(font)


def add(font: TTFont, further: TTFont, codes: list[int]) -> None:
    """Add characters of a further font that the font lacks, each with an outline of its own."""
    glyphs, names = further.getGlyphSet(), further.getBestCmap()
    for code in codes:
        if code in font.getBestCmap():
            continue
        name = f"uni{code:04X}"
        outline, pen = DecomposingRecordingPen(glyphs), TTGlyphPen(None)
        glyphs[names[code]].draw(outline)
        outline.replay(pen)
        font["glyf"][name] = glyph = pen.glyph()
        glyph.recalcBounds(font["glyf"])
        font["hmtx"][name] = (further["hmtx"][names[code]][0], glyph.xMin)
        for table in font["cmap"].tables:
            table.cmap[code] = name
    font.setGlyphOrder(font["glyf"].glyphOrder)


def save(font: TTFont, place: Path) -> None:
    """Write a font that does not tell when it was made."""
    font["head"].created = font["head"].modified = FIXED_DATE
    font["OS/2"].achVendID = "    "
    font.save(place)


def folder_of(package: str) -> Path:
    """Where an installed package keeps its fonts."""
    spec = importlib.util.find_spec(package)
    if spec is None or spec.origin is None:
        raise SystemExit(f"make_fonts: the package {package} is not installed")
    return Path(spec.origin).parent / "files"


def main() -> None:
    """Write all faces, and print their sizes in bytes."""
    condensed, variable = folder_of(SOURCE), folder_of(FURTHER)
    for face, style in FACES.items():
        make(face, style, condensed, variable)
        sizes = (f"{path.name} {path.stat().st_size}" for path in sorted(HERE.glob(f"{face}[.-]*")))
        print("  ".join(sizes))


if __name__ == "__main__":
    main()
