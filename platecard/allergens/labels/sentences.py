"""The sentences of a label's text that are no list: its title, how it is stored, how it was treated."""

from __future__ import annotations

import re

from platecard.allergens.labels.brackets import Level
from platecard.allergens.labels.matching import NOT, Matcher, plain
from platecard.allergens.labels.openers import InText
from platecard.allergens.labels.parts import Part
from platecard.allergens.labels.vocabulary import GROUP, PERCENT, words
from platecard.knowledge.names import fold

MAX_TITLE_WORDS, MIN_PROSE_WORDS = 24, 3
# A temperature, a time, a weight or a volume in SI units; and the signs that mark a list rather than a sentence.
_MEASURE = re.compile(r"[0-9] ?(?:° ?[CF]|[mk]?g|[mcd]?l|min|h|s)\b", re.IGNORECASE)
_LISTS = re.compile(rf"[;:{GROUP}{PERCENT}]|,(?![0-9])")
_WORD = re.compile(r"(?!\d+(?!\w))\w+(?:'\w+)*")
_HEADED = re.compile(rf"[:{GROUP}{PERCENT}]")


class Sentences:
    """Tells a title, a note on storage and a treatment from a list of ingredients."""

    def __init__(self, text: str, openers: InText, match: Matcher):
        self.lines, self.openers, self.match = text, openers, match
        self.words = words()[0]

    def is_treatment(self, sentence: str) -> bool:
        """Whether every word of a sentence after the list brings nothing in: "Boneless, skinless.", "*dehydrated"."""
        return all(self.brings_nothing(w) for w in _WORD.findall(sentence))

    def is_prose(self, sentence: str, parts: list[Part]) -> bool:
        """Whether a sentence after the list is about storage, use or origin: "Do not boil over a high flame".

        It names no food, most of its words bring nothing in, it has no heading or bracket,
        and none of its words says that something is in the product.
        """
        if any(q.entries or q.nodes or q.may or q.unknown for p in parts for q in p.all()) or _HEADED.search(sentence):
            return False
        told = _WORD.findall(sentence)
        known = sum(self.brings_nothing(w) or fold(w) in self.words.beside for w in told)
        return (
            len(told) >= MIN_PROSE_WORDS
            and 2 * known >= len(told)
            and not any(fold(w) in self.words.brings_in for w in told)
        )

    def brings_nothing(self, word: str) -> bool:
        """Whether a word names nothing that could be in the product."""
        key = fold(word)
        return key in self.words.nothing or key in self.words.neutral or key in self.words.said

    def title_end(self, level: Level) -> int:
        """Where the product's own title ends; 0 where there is none.

        A title is the few words before the first ``Ingredients:``, if they are not a list.
        """
        lists = [o for o in self.openers.find(level.text) if o.kind == "list"]
        if not lists:
            return self.first_sentence(level)
        first = next((o for o in lists if level.text[o.start : o.end].endswith(":")), None)
        if first is None:
            return 0
        before = level.text[: first.start].rstrip()
        if not before or len(before.split()) > MAX_TITLE_WORDS:
            return 0
        is_line = "\n" in self.lines[level.at[len(before) - 1] : level.at[first.start]]
        if not is_line and not before.endswith((".", "!", ":", "-", "/", GROUP, PERCENT)):
            return 0
        return first.start if self.is_no_list(before) else 0

    def first_sentence(self, level: Level) -> int:
        """Where a title ends that is a sentence of its own before a list without an opener; 0 where there is none.

        For example "Oat granola. Oats, honey, nuts, salt.".
        """
        stops = [m.start() for m in self.words.full_stop.finditer(level.text)]
        if not stops or len(level.text[: stops[0]].split()) > MAX_TITLE_WORDS or ":" in level.text[: stops[0]]:
            return 0
        listed = level.text[stops[0] + 1 : stops[1] if len(stops) > 1 else len(level.text)]
        return stops[0] if len(re.findall("[,;]", listed)) >= 3 and self.is_no_list(level.text[: stops[0]]) else 0

    def is_no_list(self, before: str) -> bool:
        """Whether what follows a comma is never a food: "Smoked haddock, skinless"."""
        beside = [self.match.segments(plain(piece)) for piece in re.split("[,;]", before)[1:]]
        return all(f.how == NOT and (f.idle or not f.left) for f in beside)


def is_measured(sentence: str) -> bool:
    """Whether a sentence holds a measure and is no list: "Store below 5 °C"."""
    return bool(_MEASURE.search(sentence)) and not _LISTS.search(sentence)
