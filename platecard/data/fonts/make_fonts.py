"""Make the four faces of the card's font from IBM Plex Sans Condensed.

This is a development step: the results are kept beside this file, and making cards never runs it.
To run it again, install the packages `fontpkg-ibm-plex-sans-condensed`, `fonttools` and `brotli`, then:

    python platecard/data/fonts/make_fonts.py

It writes regular, semibold, bold and italic, each as `.ttf` (measured, and embedded in the PDF) and as
`.woff2` (embedded in the SVG), with the same characters in both. The bytes do not depend on the date.

What is changed, and why:
- Layout tables (kerning, ligatures, mark placement) are removed, so that the width of a text is the plain
  sum of its advances in a browser, in the PDF and in `drawing.fonts` alike.
- Hinting is removed: it makes up half of the file and is of no use on paper.
- Characters that are invisible or need mark placement are removed, so that they count as missing instead
  of vanishing silently.
- A few characters that look like one in the font are added (see ALIASES).
- The names are changed: the licence reserves the name "Plex" for the unchanged font. Each face gets its own
  PostScript name, because the PDF library would draw a second font of the same name with the first one's glyphs.
"""

import importlib.util
import unicodedata
from pathlib import Path

from fontTools import subset  # type: ignore[import-untyped]
from fontTools.ttLib import TTFont  # type: ignore[import-untyped]

HERE = Path(__file__).parent
FAMILY = "Platecard Sans Condensed"
POSTSCRIPT = "PlatecardSansCondensed"
SOURCE = "fontpkg_ibm_plex_sans_condensed"
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


def make(face: str, style: str, folder: Path) -> None:
    """Write one face in both formats; ``folder`` holds the maker's files."""
    font = TTFont(folder / f"IBMPlexSansCondensed-{style}.ttf", recalcTimestamp=False)
    cmap = font.getBestCmap()
    extra = {ord(wanted): cmap[ord(serves)] for wanted, serves in ALIASES.items() if ord(wanted) not in cmap}
    for table in font["cmap"].tables:
        table.cmap.update(extra)

    options = subset.Options(
        layout_features=[],
        hinting=False,
        notdef_outline=True,
        recalc_timestamp=False,
        glyph_names=False,
        drop_tables=["GPOS", "GSUB", "GDEF", "kern", "DSIG", "meta", "gasp", "FFTM"],
        name_IDs=["*"],
        legacy_cmap=False,
        symbol_cmap=False,
        prune_unicode_ranges=True,
    )
    subsetter = subset.Subsetter(options)
    subsetter.populate(unicodes=[code for code in font.getBestCmap() if visible(code)])
    subsetter.subset(font)

    rename(font, style)
    font["head"].created = font["head"].modified = FIXED_DATE
    font["OS/2"].achVendID = "    "
    font.save(HERE / f"{face}.ttf")
    font.flavor = "woff2"
    font.save(HERE / f"{face}.woff2")


def main() -> None:
    """Write all faces, and print their sizes in bytes."""
    spec = importlib.util.find_spec(SOURCE)
    if spec is None or spec.origin is None:
        raise SystemExit(f"make_fonts: the package {SOURCE} is not installed")
    folder = Path(spec.origin).parent / "files"
    for face, style in FACES.items():
        make(face, style, folder)
        ttf, woff2 = (HERE / f"{face}.{kind}" for kind in ("ttf", "woff2"))
        print(f"{face:9} ttf {ttf.stat().st_size:6}  woff2 {woff2.stat().st_size:6}")


if __name__ == "__main__":
    main()
