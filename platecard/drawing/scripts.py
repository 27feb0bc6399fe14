"""Lines with other writing systems than Latin, Greek and Cyrillic: which font a text is set in, shaped and broken how.

A line is cut into runs in the order in which they are seen, from left to right. What the card's own font has stays in
it, spaces and figures included; the rest is shaped by HarfBuzz with the font of its writing system, put in order by
the Unicode bidirectional algorithm and broken by ICU. A line begins at the side of its first letter. Kerning is off,
as everywhere; ligatures are not, because words of some scripts cannot be written without them.

Nothing here is loaded for a text that needs no other font.
"""

from __future__ import annotations

import unicodedata
from collections.abc import Iterable
from functools import cache, lru_cache
from itertools import groupby, pairwise
from typing import NamedTuple

from platecard.drawing import fonts, script_fonts

_MARK = "\ufe00"  # a sign that stays with the character before it; no text that is drawn has it
_RIGHT_TO_LEFT = {"R", "AL", "AN"}
_FEATURES = {"kern": False}
_PHRASES = "-lw-phrase"  # asks for lines that break between phrases


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


# --- which font a text is set in ---------------------------------------------------------------------------------


def others(text: str) -> list[str]:
    """The characters of a text in normal form that the card's own font lacks, each once."""
    own = fonts.metrics("regular").widths
    return [character for character in dict.fromkeys(text) if character not in own]


@lru_cache(maxsize=4096)
def _chosen(text: str) -> dict[str, str]:
    """The writing system in whose font each character is set that the card's own font lacks; "" for none."""
    wanted = others(text)
    order = script_fonts.table()
    concerned = {script: None for character in wanted for script in script_fonts.writing(character)}

    def fitness(script: script_fonts.Script) -> tuple[int, int, int]:
        has = sum(script.writes(c) and script_fonts.has(script.key, c) for c in wanted)
        return -has, -sum(map(script.alone_writes, wanted)), order.index(script)

    ranked = sorted(concerned, key=fitness)
    return {c: next((s.key for s in ranked if s.writes(c) and script_fonts.has(s.key, c)), "") for c in wanted}


def lacking(text: str) -> tuple[str, ...]:
    """The characters of a text in normal form that no font here has, each once."""
    return tuple(character for character, key in _chosen(text).items() if not key)


def uninstalled(text: str) -> tuple[str, ...]:
    """The names of the writing systems of a text in normal form for which no font is installed that can be used.

    What is wrong with one that cannot be used stands beside its name.
    """
    missing = [
        c
        for c in lacking(text)
        if script_fonts.writing(c) and not any(script_fonts.found(s.key) for s in script_fonts.writing(c))
    ]
    concerned = {script: None for character in missing for script in script_fonts.writing(character)}
    named: dict[str, None] = {}
    for character in missing:
        writing = script_fonts.writing(character)
        owners = [s for s in concerned if s in writing and any(map(s.alone_writes, missing))] or writing
        fault = script_fonts.opened(owners[0].key)
        name = " or ".join(dict.fromkeys(s.name for s in owners))
        named[f"{name} ({fault})" if fault else name] = None
    return tuple(named)


def is_written(character: str) -> bool:
    """Whether a font for the character could be installed, and none is."""
    return bool(script_fonts.writing(character)) and not any(
        script_fonts.found(s.key) for s in script_fonts.writing(character)
    )


def used(text: str) -> str:
    """What of that which is installed decides how a text is set: fonts by their digests, libraries by their versions.

    Empty for a text that needs none of it.
    """
    concerned = {s.key for c in others(text) for s in script_fonts.writing(c) if script_fonts.found(s.key) is not None}
    if not concerned:
        return ""
    return " ".join([*(f"{key} {script_fonts.digest(key)}" for key in sorted(concerned)), script_fonts.versions()])


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
    if not script_fonts.can_shape():
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
    if _RIGHT_TO_LEFT.isdisjoint(map(unicodedata.bidirectional, text)) or not script_fonts.can_shape():
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
    writing = [script for script in script_fonts.writing(character) if script.language in ("ar", "he")]
    return side in ("R", "AL") or bool(writing) and side not in ("AN", "EN")


@lru_cache(maxsize=4096)
def glyphs(text: str, key: str, face: str, is_reversed: bool) -> tuple[Glyph, ...]:
    """The glyphs of a run in a writing system's font, from left to right."""
    import uharfbuzz

    buffer = uharfbuzz.Buffer()
    buffer.add_str(text)
    buffer.guess_segment_properties()
    buffer.direction = "rtl" if is_reversed else "ltr"
    buffer.language = script_fonts.script(key).language
    font = script_fonts.sized(key, face)
    uharfbuzz.shape(font, buffer, _FEATURES)
    infos, positions = buffer.glyph_infos, buffer.glyph_positions
    starts = sorted({info.cluster for info in infos})
    stands_for = {start: text[start:end] for start, end in pairwise((*starts, len(text)))}
    drawn = []
    for info, at in zip(infos, positions, strict=True):
        if info.codepoint == 0:
            raise fonts.NotDrawable(f"the font for {script_fonts.script(key).name} cannot draw {ascii(text)}")
        own = font.get_glyph_h_advance(info.codepoint)
        stands = stands_for.pop(info.cluster, "")
        drawn.append(Glyph(info.codepoint, info.cluster, stands, at.x_advance, own, at.x_offset, at.y_offset))
    return tuple(drawn)


# --- breaking ----------------------------------------------------------------------------------------------------


def pieces(word: str) -> list[str]:
    """A word in normal form cut wherever a line may break in another script; between own letters it is not cut."""
    if not script_fonts.can_shape():
        return [word]
    from icu4py.breakers import LineBreaker

    return _joined(LineBreaker(word, _locale(word)))


def units(text: str) -> list[str]:
    """The text cut wherever a line may break if it must: in Japanese within a phrase too."""
    if not script_fonts.can_shape():
        return [text]
    from icu4py.breakers import LineBreaker

    return list(LineBreaker(text, _locale(text).removesuffix(_PHRASES)))


def characters(text: str) -> list[str]:
    """The text cut into what a reader takes for one character, such as a letter with its vowel signs."""
    if not script_fonts.can_shape():
        return list(text)
    from icu4py.breakers import CharacterBreaker

    return list(CharacterBreaker(text, _locale(text)))


def _locale(text: str) -> str:
    """The language by whose rules a line breaks: the strict ones, and in Japanese between phrases (UTS #35)."""
    return next(
        (f"{script_fonts.script(key).language}-u-lb-strict{_PHRASES}" for key in _chosen(text).values() if key), "en"
    )


def _joined(parts: Iterable[str]) -> list[str]:
    """The parts of a word, those joined again that a line does not break between."""
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
