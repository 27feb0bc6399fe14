"""Writing systems beyond Latin, Greek and Cyrillic: their fonts where they are installed, and lines set in them.

A line is cut into runs in the order in which they are seen, from left to right. What the card's own font has stays in
it, spaces and figures included; the rest is shaped by HarfBuzz with the font of its writing system, put in order by
the Unicode bidirectional algorithm and broken by ICU. A line begins at the side of its first letter. Kerning is off,
as everywhere; ligatures are not, because words of some scripts cannot be written without them.

Which fonts there are is data (`data/fonts/scripts.yaml`). They are installed or not as the card's own font is there:
the same for every text of a process. Nothing here is loaded for a text that needs no other font.
"""

from __future__ import annotations

import hashlib
import os
import struct
import sys
import unicodedata
from collections.abc import Iterable
from functools import cache, lru_cache
from itertools import groupby, pairwise
from pathlib import Path
from typing import TYPE_CHECKING, Any, NamedTuple

from platecard.drawing import fonts

if TYPE_CHECKING:  # an extra: it may not be installed
    import uharfbuzz

WEIGHTS = {"regular": 400, "semibold": 600, "bold": 700, "italic": 400}
EXTRA = "scripts"  # the name of what is to be installed
_WIDTH = 85  # percent, where a font can be narrowed: it stands beside a condensed one
_MOST = 64_000_000  # bytes of a font file
_NEEDED = {"cmap", "glyf", "head", "hhea", "hmtx", "loca", "maxp"}
_MARK = "\ufe00"  # a sign that stays with the character before it; no text that is drawn has it
_RIGHT_TO_LEFT = {"R", "AL", "AN"}
_FEATURES = {"kern": False}
_PHRASES = "-lw-phrase"  # asks for lines that break between phrases


class Script(NamedTuple):
    """A writing system: its characters, those that are its alone, and where its font is looked for."""

    key: str
    name: str
    language: str
    ranges: tuple[range, ...]
    own: tuple[range, ...]
    places: tuple[tuple[str, str], ...]  # package, file in it

    def writes(self, character: str) -> bool:
        return any(ord(character) in r for r in self.ranges)

    def alone_writes(self, character: str) -> bool:
        return any(ord(character) in r for r in self.own)


class Glyph(NamedTuple):
    """A glyph of a run, in thousandths of the font size: its number in the font, where it lies, what it stands for."""

    number: int
    cluster: int  # which of the run's characters it begins at: glyphs of one letter have the same
    text: str  # "" where a glyph before it stands for the same characters
    advance: int
    own_advance: int  # without what the shaper added
    dx: int
    dy: int


class Run(NamedTuple):
    """A part of a line in one font; the text of the card's own font in the order in which it is seen."""

    script: str  # its key; "" for the card's own font
    text: str
    width: int
    glyphs: tuple[Glyph, ...] = ()
    is_reversed: bool = False  # it runs from right to left
    written: str = ""  # the text of the card's own font as it was before its brackets were turned round


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
def _writing(character: str) -> tuple[Script, ...]:
    return tuple(script for script in table() if script.writes(character))


@cache
def _script(key: str) -> Script:
    return next(script for script in table() if script.key == key)


@cache
def _can_shape() -> bool:
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
    return _script(key).language


def place_of(key: str) -> str:
    """The font file of a writing system, "" where none is installed."""
    if not _can_shape():
        return ""
    places = (os.path.join(folder, *place) for place in _script(key).places for folder in sys.path)
    return next(filter(os.path.isfile, places), "")


class _Font(NamedTuple):
    path: str
    face: uharfbuzz.Face


@cache
def _opened(key: str) -> _Font | str:
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


def _font(key: str) -> _Font | None:
    found = _opened(key)
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
def _sized(key: str, face: str) -> uharfbuzz.Font:
    """The font of an installed writing system in the weight of a face, a thousand units to the size."""
    import uharfbuzz

    font = uharfbuzz.Font(_installed(key).face)
    font.scale = (1000, 1000)
    font.set_variations(_axes(key, face))
    return font


def _installed(key: str) -> _Font:
    font = _font(key)
    if font is None:
        raise fonts.NotDrawable(f"no font for {_script(key).name} is installed")
    return font


def _axes(key: str, face: str) -> dict[str, float]:
    """Where the font's axes are set for a face of the card's own font."""
    wanted = {"wght": WEIGHTS[face], "wdth": _WIDTH}
    return {
        axis.tag: min(max(wanted.get(axis.tag, axis.default_value), axis.min_value), axis.max_value)
        for axis in _installed(key).face.axis_infos
    }


@lru_cache(maxsize=4096)
def _has(key: str, character: str) -> bool:
    return _font(key) is not None and bool(_sized(key, "regular").get_nominal_glyph(ord(character)))


# --- which font a text is set in ---------------------------------------------------------------------------------


def others(text: str) -> list[str]:
    """The characters of a text in normal form that the card's own font lacks, each once."""
    own = fonts.metrics("regular").widths
    return [character for character in dict.fromkeys(text) if character not in own]


@lru_cache(maxsize=4096)
def _chosen(text: str) -> dict[str, str]:
    """The writing system in whose font each character is set that the card's own font lacks; "" for none."""
    wanted = others(text)
    order = table()
    concerned = {script: None for character in wanted for script in _writing(character)}

    def fitness(script: Script) -> tuple[int, int, int]:
        has = sum(script.writes(c) and _has(script.key, c) for c in wanted)
        return -has, -sum(map(script.alone_writes, wanted)), order.index(script)

    ranked = sorted(concerned, key=fitness)
    return {c: next((s.key for s in ranked if s.writes(c) and _has(s.key, c)), "") for c in wanted}


def lacking(text: str) -> tuple[str, ...]:
    """The characters of a text in normal form that no font here has, each once."""
    return tuple(character for character, key in _chosen(text).items() if not key)


def uninstalled(text: str) -> tuple[str, ...]:
    """The names of the writing systems of a text in normal form for which no font is installed that can be used.

    What is wrong with one that cannot be used stands beside its name.
    """
    missing = [c for c in lacking(text) if _writing(c) and not any(_font(s.key) for s in _writing(c))]
    concerned = {script: None for character in missing for script in _writing(character)}
    named: dict[str, None] = {}
    for character in missing:
        writing = _writing(character)
        owners = [s for s in concerned if s in writing and any(map(s.alone_writes, missing))] or writing
        fault = _opened(owners[0].key)
        name = " or ".join(dict.fromkeys(s.name for s in owners))
        named[f"{name} ({fault})" if fault else name] = None
    return tuple(named)


def is_written(character: str) -> bool:
    """Whether a font for the character could be installed, and none is."""
    return bool(_writing(character)) and not any(_font(s.key) for s in _writing(character))


def used(text: str) -> str:
    """What of that which is installed decides how a text is set: fonts by their digests, libraries by their versions.

    Empty for a text that needs none of it.
    """
    concerned = {s.key for c in others(text) for s in _writing(c) if _font(s.key) is not None}
    if not concerned:
        return ""
    return " ".join([*(f"{key} {_digest(key)}" for key in sorted(concerned)), _versions()])


@cache
def _digest(key: str) -> str:
    return hashlib.sha256(Path(_installed(key).path).read_bytes()).hexdigest()


@cache
def _versions() -> str:
    import bidi
    import icu4py
    import uharfbuzz

    return (
        f"uharfbuzz {uharfbuzz.__version__} harfbuzz {uharfbuzz.version_string()}"
        f" python-bidi {bidi.VERSION} ICU {icu4py.icu_version}"
    )


# --- a line ------------------------------------------------------------------------------------------------------


@lru_cache(maxsize=4096)
def runs(text: str, face: str) -> tuple[Run, ...]:
    """A line in normal form as its runs, from left to right.  NotDrawable for a character that no font here has."""
    chosen = _chosen(text)
    own = fonts.metrics(face)
    found: list[Run] = []
    for (key, is_reversed), seen in groupby(_in_view(text), lambda one: (chosen.get(one[0]), one[1])):
        part = "".join(character for character, _ in seen)
        if key:
            part = part[::-1] if is_reversed else part
            drawn = glyphs(part, key, face, is_reversed)
            found.append(Run(key, part, sum(g.advance for g in drawn), drawn, is_reversed))
        else:  # a letter that no font here has is measured as its empty box
            wide = sum(own.widths.get(character, own.missing_width) for character in part)
            found.append(Run("", part.translate(_mirrored()) if is_reversed else part, wide, (), is_reversed, part))
    return tuple(found)


@cache
def _mirrored() -> dict[int, str]:
    """What is drawn from right to left for each bracket; a shaper does that by itself."""
    if not _can_shape():
        return {}
    from bidi.mirror import MIRRORED

    own = fonts.metrics("regular").widths
    return {ord(one): other for one, other in MIRRORED.items() if one in own and other in own}


def width(text: str, face: str) -> int:
    """How long a line in normal form is, in thousandths of the font size."""
    return sum(run.width for run in runs(text, face))


def is_right_to_left(text: str) -> bool:
    """Whether a line begins at its right: its first letter is one that is written from right to left."""
    sides = (unicodedata.bidirectional(character) for character in text)
    return next((side for side in sides if side in ("L", "R", "AL")), "L") != "L"


def _in_view(text: str) -> list[tuple[str, bool]]:
    """The characters as they are seen from left to right, each with whether it runs from right to left there.

    Of letters, their own side says so; figures never do. Of a bracket the library tells only where it is seen, so it
    is given a sign that stays with it: where that comes first, the two were turned round.
    """
    if _RIGHT_TO_LEFT.isdisjoint(map(unicodedata.bidirectional, text)) or not _can_shape():
        return [(character, False) for character in text]
    from bidi import get_display

    base = "R" if is_right_to_left(text) else "L"
    seen = get_display(text, base_dir=base)
    brackets = _mirrored()
    signed = get_display("".join(c + _MARK if ord(c) in brackets else c for c in text), base_dir=base)
    turned: list[bool] = []
    if signed.replace(_MARK, "") == seen:
        ends = zip(f" {signed}", signed, f"{signed} "[1:])
        turned = [before == _MARK and after != _MARK for before, c, after in ends if ord(c) in brackets]
    sides = iter(turned)
    return [(c, next(sides, False) if ord(c) in brackets else _runs_left(c)) for c in seen]


@lru_cache(maxsize=4096)
def _runs_left(character: str) -> bool:
    side = unicodedata.bidirectional(character)
    writing = [script for script in _writing(character) if script.language in ("ar", "he")]
    return side in ("R", "AL") or bool(writing) and side not in ("AN", "EN")


@lru_cache(maxsize=4096)
def glyphs(text: str, key: str, face: str, is_reversed: bool) -> tuple[Glyph, ...]:
    """The glyphs of a run in a writing system's font, from left to right."""
    import uharfbuzz

    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if is_reversed else "ltr"
    buffer.language = _script(key).language
    font = _sized(key, face)
    uharfbuzz.shape(font, buffer, _FEATURES)
    infos, positions = buffer.glyph_infos, buffer.glyph_positions
    starts = sorted({info.cluster for info in infos})
    stands_for = {start: text[start:end] for start, end in pairwise((*starts, len(text)))}
    drawn = []
    for info, at in zip(infos, positions, strict=True):
        if info.codepoint == 0:
            raise fonts.NotDrawable(f"the font for {_script(key).name} cannot draw {ascii(text)}")
        own = font.get_glyph_h_advance(info.codepoint)
        stands = stands_for.pop(info.cluster, "")
        drawn.append(Glyph(info.codepoint, info.cluster, stands, at.x_advance, own, at.x_offset, at.y_offset))
    return tuple(drawn)


# --- breaking ----------------------------------------------------------------------------------------------------


def pieces(word: str) -> list[str]:
    """A word in normal form cut wherever a line may break in another script; between own letters it is not cut."""
    if not _can_shape():
        return [word]
    from icu4py.breakers import LineBreaker

    return _cut(word, list(LineBreaker(word, _locale(word))))


def units(text: str) -> list[str]:
    """The text cut wherever a line may break if it must: in Japanese within a phrase too."""
    if not _can_shape():
        return [text]
    from icu4py.breakers import LineBreaker

    return list(LineBreaker(text, _locale(text).removesuffix(_PHRASES)))


def characters(text: str) -> list[str]:
    """The text cut into what a reader takes for one character, such as a letter with its vowel signs."""
    if not _can_shape():
        return list(text)
    from icu4py.breakers import CharacterBreaker

    return list(CharacterBreaker(text, _locale(text)))


def _locale(text: str) -> str:
    """The language by whose rules a line breaks: the strict ones, and in Japanese between phrases (UTS #35)."""
    return next((f"{_script(key).language}-u-lb-strict{_PHRASES}" for key in _chosen(text).values() if key), "en")


def _cut(word: str, parts: list[str]) -> list[str]:
    own = fonts.metrics("regular").widths
    joined: list[str] = []
    for part in parts:
        # Korean is set in whole words, as it is spoken.
        if joined and (
            (joined[-1][-1] in own and part[0] in own) or (_is_hangul(joined[-1][-1]) and _is_hangul(part[0]))
        ):
            joined[-1] += part
        else:
            joined.append(part)
    return joined


def _is_hangul(character: str) -> bool:
    return "\uac00" <= character <= "\ud7a3"


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
    return f"{''.join(c for c in _script(key).name if c.isalpha())}-{WEIGHTS[face]}"


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
    return fonts.NotDrawable(f"the font for {_script(key).name} cannot be cut ({name}): it may be damaged")
