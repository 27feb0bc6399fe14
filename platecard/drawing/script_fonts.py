"""Fonts of other writing systems than Latin, Greek and Cyrillic: where they are installed, checked, sized and cut.

Which there are is data (`data/fonts/scripts.yaml`). They are installed or not as the card's own font is there: the same
for every text of a process. A file that is no sound font counts as none, and what is wrong with it is told.
"""

from __future__ import annotations

import hashlib
import os
import struct
import sys
from collections.abc import Iterable
from functools import cache, lru_cache
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from platecard.drawing import fonts

if TYPE_CHECKING:  # an extra: it may not be installed
    import uharfbuzz

WEIGHTS = {"regular": 400, "semibold": 600, "bold": 700, "italic": 400}
_WIDTH = 85  # percent, where a font can be narrowed: it stands beside a condensed one
_MOST = 64_000_000  # bytes of a font file
_NEEDED = {"cmap", "glyf", "head", "hhea", "hmtx", "loca", "maxp"}


class Script(NamedTuple):
    """A writing system: its characters, those that are its alone, and where its font is looked for."""

    key: str
    name: str
    language: str
    ranges: tuple[range, ...]
    own: tuple[range, ...]
    places: tuple[tuple[str, str], ...]  # package, file in it

    def writes(self, character: str) -> bool:
        """Whether a character is of this script, or shared with it."""
        return any(ord(character) in r for r in self.ranges)

    def alone_writes(self, character: str) -> bool:
        """Whether a character is of this script and of no other."""
        return any(ord(character) in r for r in self.own)


class Unusable(ValueError):
    """A font file that cannot be used, and why."""


# --- what is installed -------------------------------------------------------------------------------------------


@cache
def table() -> tuple[Script, ...]:
    """All writing systems of the data file, in its order."""
    import yaml

    listed = yaml.safe_load((fonts.FOLDER / "scripts.yaml").read_text(encoding="utf-8"))

    def ranges(written: Iterable[object]) -> tuple[range, ...]:
        ends = (str(r).partition("-") for r in written)
        return tuple(range(int(first, 16), int(last, 16) + 1) for first, _, last in ends)

    return tuple(
        Script(
            key,
            one["name"],
            one["language"],
            ranges(one["ranges"]),
            ranges(one.get("own", ())),
            tuple((place["package"], place["file"]) for place in one["fonts"]),
        )
        for key, one in listed.items()
    )


@lru_cache(maxsize=4096)
def writing(character: str) -> tuple[Script, ...]:
    """The scripts that a character can be of."""
    return tuple(script for script in table() if script.writes(character))


@cache
def script(key: str) -> Script:
    """The script of a key; StopIteration if there is none."""
    return next(script for script in table() if script.key == key)


@cache
def can_shape() -> bool:
    """Whether all the libraries that shape, order and break lines are installed."""
    try:
        import bidi.mirror  # noqa: F401
        import icu4py.breakers  # noqa: F401
        import uharfbuzz  # noqa: F401
    except ImportError:
        return False
    return True


def language(key: str) -> str:
    """The language whose forms a writing system's font is asked for."""
    return script(key).language


def place_of(key: str) -> str:
    """The font file of a writing system, "" where none is installed."""
    if not can_shape():
        return ""
    places = (os.path.join(folder, *place) for place in script(key).places for folder in sys.path)
    return next(filter(os.path.isfile, places), "")


class _Font(NamedTuple):
    path: str
    face: uharfbuzz.Face


@cache
def opened(key: str) -> _Font | str:
    """The font of a writing system; "" where none is installed, and what is wrong with one that cannot be used."""
    path = place_of(key)
    if not path:
        return ""
    import uharfbuzz

    try:
        check(path)
    except Unusable as exc:
        return str(exc)
    face = uharfbuzz.Face(uharfbuzz.Blob.from_file_path(path))
    if not face.glyph_count or not face.unicodes or not 16 <= face.upem <= 16384:
        return f"{os.path.basename(path)} has no characters that can be read"
    return _Font(path, face)


def found(key: str) -> _Font | None:
    """The installed font of a script; None where it is not installed or cannot be used."""
    found = opened(key)
    return None if isinstance(found, str) else found


def check(path: str) -> None:
    """Unusable unless the file is a TrueType font whose tables all lie within it."""
    name = os.path.basename(path)
    try:
        size = os.path.getsize(path)
        if size > _MOST:
            raise Unusable(f"{name} has {size} bytes; a font has at most {_MOST}")
        with Path(path).open("rb") as stream:
            head = stream.read(12 + 16 * 256)
        kind, count = struct.unpack_from(">4sH", head)
        if kind != b"\0\1\0\0":
            raise Unusable(f"{name} is not a TrueType font")
        found = [struct.unpack_from(">4sLLL", head, 12 + 16 * i) for i in range(count)]
    except (OSError, struct.error) as exc:
        raise Unusable(f"{name} cannot be read as a font: {exc}") from exc
    lacking = sorted(_NEEDED - {tag.decode("latin-1") for tag, *_ in found})
    if lacking:
        raise Unusable(f"{name} lacks the tables {', '.join(lacking)}")
    if any(offset + length > size for _, _, offset, length in found):
        raise Unusable(f"{name} is cut short")


@cache
def sized(key: str, face: str) -> uharfbuzz.Font:
    """The font of an installed writing system in the weight of a face, a thousand units to the size."""
    import uharfbuzz

    font = uharfbuzz.Font(_installed(key).face)
    font.scale = (1000, 1000)
    font.set_variations(_axes(key, face))
    return font


def _installed(key: str) -> _Font:
    font = found(key)
    if font is None:
        raise fonts.NotDrawable(f"no font for {script(key).name} is installed")
    return font


def _axes(key: str, face: str) -> dict[str, float]:
    """Where the font's axes are set for a face of the card's own font."""
    wanted = {"wght": WEIGHTS[face], "wdth": _WIDTH}
    return {
        axis.tag: min(max(wanted.get(axis.tag, axis.default_value), axis.min_value), axis.max_value)
        for axis in _installed(key).face.axis_infos
    }


@lru_cache(maxsize=4096)
def has(key: str, character: str) -> bool:
    """Whether the installed font of a script has a character."""
    return found(key) is not None and bool(sized(key, "regular").get_nominal_glyph(ord(character)))


@cache
def digest(key: str) -> str:
    """The SHA-256 of the installed font, for the fingerprint."""
    return hashlib.sha256(Path(_installed(key).path).read_bytes()).hexdigest()


@cache
def versions() -> str:
    """The versions of the libraries that shape other scripts, for the fingerprint."""
    import bidi
    import icu4py
    import uharfbuzz

    return (
        f"uharfbuzz {uharfbuzz.__version__} harfbuzz {uharfbuzz.version_string()}"
        f" python-bidi {bidi.VERSION} ICU {icu4py.icu_version}"
    )


# --- the font cut to what is used --------------------------------------------------------------------------------


def measures(key: str) -> tuple[tuple[int, int, int, int], int, int]:
    """The box that holds every glyph, the ascent and the descent, in thousandths of the size."""
    font = _installed(key).face
    head, hhea = font.reference_table("head").data, font.reference_table("hhea").data
    left, bottom, right, top = (round(v * 1000 / font.upem) for v in struct.unpack_from(">4h", head, 36))
    ascent, descent = (round(v * 1000 / font.upem) for v in struct.unpack_from(">2h", hhea, 4))
    return (left, bottom, right, top), ascent, descent


def postscript_name(key: str, face: str) -> str:
    """A name for the font in a file."""
    return f"{''.join(c for c in script(key).name if c.isalpha())}-{WEIGHTS[face]}"


@lru_cache(maxsize=256)
def for_pdf(key: str, face: str, glyphs: tuple[int, ...]) -> tuple[bytes, dict[int, int]]:
    """The font with these glyphs alone, and the number that each has in it."""
    import uharfbuzz

    cut = _cut_for(key, face)
    cut.sets(uharfbuzz.SubsetInputSets.GLYPH_INDEX).update(glyphs)
    dropped = ("GSUB", "GPOS", "GDEF", "name", "OS/2", "post")
    tags = [int.from_bytes(name.encode("ascii"), "big") for name in dropped]
    cut.sets(uharfbuzz.SubsetInputSets.DROP_TABLE_TAG).update(tags)
    cut.flags = uharfbuzz.SubsetFlags.NO_HINTING | uharfbuzz.SubsetFlags.NOTDEF_OUTLINE
    try:
        plan = uharfbuzz.SubsetPlan(_installed(key).face, cut)
        numbers = dict(plan.old_to_new_glyph_mapping)
        return bytes(plan.execute().blob.data), {glyph: numbers[glyph] for glyph in (0, *glyphs)}
    except (RuntimeError, MemoryError, KeyError) as exc:
        raise _damaged(key) from exc


@lru_cache(maxsize=256)
def for_svg(key: str, face: str, text: str) -> bytes:
    """The font with these characters alone, and all that it takes to shape them."""
    import uharfbuzz

    cut = _cut_for(key, face)
    cut.sets(uharfbuzz.SubsetInputSets.UNICODE).update(map(ord, text))
    cut.flags = uharfbuzz.SubsetFlags.NO_HINTING
    try:
        return bytes(uharfbuzz.subset(_installed(key).face, cut).blob.data)
    except (RuntimeError, MemoryError) as exc:
        raise _damaged(key) from exc


def _cut_for(key: str, face: str) -> Any:
    """What is to be kept of a font: nothing yet, at the weight of a face."""
    import uharfbuzz

    cut = uharfbuzz.SubsetInput()
    for tag, value in _axes(key, face).items():
        cut.pin_axis_location(_installed(key).face, tag, value)
    return cut


def _damaged(key: str) -> fonts.NotDrawable:
    name = os.path.basename(_installed(key).path)
    return fonts.NotDrawable(f"the font for {script(key).name} cannot be cut ({name}): it may be damaged")
