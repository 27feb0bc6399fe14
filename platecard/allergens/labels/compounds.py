"""Words that are run together on labels, and words that only nearly name an allergen.

``Wheatflour`` is read as wheat flour and ``Haselnussmasse`` as hazelnut paste: a word is split
only where every letter of it belongs to a known word.  A word that is close to an allergen's
name never counts as understood; it only adds the allergen.
"""

from __future__ import annotations

import re
from functools import cache, cached_property

from platecard.allergens.labels.vocabulary import Words, words
from platecard.knowledge import taxonomy
from platecard.knowledge.catalogue import Catalogue
from platecard.knowledge.names import fold

# A piece that names no allergen must be longer, so that letters do not make one up by chance.
LEAST, LEAST_PLAIN, LEAST_WHOLE, LONGEST = 3, 4, 6, 40
LEAST_NEAR, LEAST_PART = 5, 4
# Letters that join the words of a compound in German, Dutch and the Scandinavian languages.
_JOINTS = ("", "s", "n", "e", "en", "er", "es")
# Articles that French, Italian and Catalan run together with the word behind them.
_ELIDED = re.compile(r"(?:d|l|qu|n|s|un|dell|all|nell|sull|dall|coll|quell|degl)'(?=\w)", re.IGNORECASE)


class Compounds:
    """The words that a label's words may be made of; gathered the first time a word is not known."""

    def __init__(self, catalogue: Catalogue, tree: taxonomy.Taxonomy, words: Words):
        self.catalogue, self.taxonomy, self.words = catalogue, tree, words
        self._split: dict[str, tuple[str, ...]] = {}

    @cached_property
    def _known(self) -> frozenset[str]:
        """Every word that occurs in some name: none of them is taken apart."""
        w = self.words
        names = (
            *self.catalogue.names(),
            *self.taxonomy.by_word,
            *w.foods,
            *w.neutral,
            *w.beside,
            *w.plain,
            *w.allergens,
            *w.said,
            *w.classes,
            *w.nothing,
        )
        return frozenset(" ".join(names).split())

    @cached_property
    def _single(self) -> dict[str, None]:
        """The names of allergens and foods that are a single word; :meth:`nodes` says which of them tell an allergen.

        Those are looked up one by one when they are met, because there are thousands.
        """
        w = self.words
        names = (*self.taxonomy.by_word, *w.allergens, *w.foods, *self.catalogue.names())
        return dict.fromkeys(n for n in names if " " not in n)

    @cached_property
    def _by_length(self) -> dict[int, list[str]]:
        found: dict[int, list[str]] = {}
        for name in self._single:
            found.setdefault(len(name), []).append(name)
        return found

    @cached_property
    def _pieces(self) -> frozenset[str]:
        w = self.words
        names = (*self.catalogue.names(), *w.foods, *w.beside, *w.plain, *w.neutral)
        plain = {n for n in names if " " not in n and len(n) >= LEAST_PLAIN}
        telling = (n for n in self._single if len(n) >= LEAST and n not in plain and self.nodes(n))
        beside = (n for n in w.beside if " " not in n and len(n) >= LEAST)
        return frozenset((*plain, *telling, *beside, *w.short))

    def nodes(self, word: str) -> tuple[str, ...]:
        """The allergens that one word names, plainly or as a food that always holds them."""
        word = fold(self.words.foods.get(word, word))
        node = self.taxonomy.find(word)
        if node:
            return (node,)
        if word in self.words.allergens:
            return self.words.allergens[word]
        entry = self.catalogue.find(word).entry
        return entry.contains if entry is not None else ()

    def pieces(self, token: str) -> tuple[str, ...]:
        """The words that ``token`` is made of; itself where it is known or cannot be split."""
        word = fold(token)
        if word not in self._known and (article := _ELIDED.match(token)):
            return self.pieces(token[article.end() :])
        if not LEAST_WHOLE - 1 <= len(word) <= LONGEST or word in self._known or not word.isalpha():
            return (token,)
        if word not in self._split:
            parts = self._parts(word, {}) or ()
            # A word that splits into short words by chance and is close to an allergen's name is that name
            # misspelt: veteimjöl is not vet, ei, mjöl.
            by_chance = any(len(part) <= LEAST for part in parts) and {*self.misspelt(token)} - {
                n for part in parts for n in self.nodes(part)
            }
            self._split[word] = () if by_chance else parts
        return self._split[word] or (token,)

    def _parts(self, rest: str, memo: dict[str, tuple[str, ...] | None]) -> tuple[str, ...] | None:
        """``rest`` as the fewest known words, the first as long as possible; None where letters are left over."""
        if rest in memo:
            return memo[rest]
        best: tuple[str, ...] | None = None
        for size in range(len(rest), 1, -1):
            piece = rest[:size]
            if piece not in self._pieces:
                continue
            if size == len(rest):
                best = (piece,)
                break
            for joint in _JOINTS:
                if rest.startswith(joint, size) and len(rest) > size + len(joint):
                    tail = self._parts(rest[size + len(joint) :], memo)
                    if tail is not None and (best is None or 1 + len(tail) < len(best)):
                        best = (piece, *tail)
        memo[rest] = best
        return best

    def near(self, token: str) -> tuple[str, ...]:
        """The allergens whose word differs from ``token`` by one letter, or is part of it.

        That is never proof, only reason enough to count them.
        """
        word = fold(token)
        sizes = range(LEAST_PART, len(word) + 1) if len(word) >= LEAST_NEAR else ()
        parts = [part for size in sizes for part in (word[:size], word[-size:]) if part in self._single]
        return tuple(dict.fromkeys(self.misspelt(token)) | {node: None for name in parts for node in self.nodes(name)})

    def misspelt(self, token: str) -> tuple[str, ...]:
        """The allergens whose word differs from ``token`` by one letter."""
        word = fold(token)
        if len(word) < LEAST_NEAR:
            return ()
        sizes = (size for size in (len(word) - 1, len(word), len(word) + 1) if size >= LEAST_NEAR)
        names = (n for size in sizes for n in self._by_length.get(size, ()) if _one_apart(word, n))
        return tuple(dict.fromkeys(node for name in names for node in self.nodes(name)))


@cache
def of(catalogue: Catalogue) -> Compounds:
    """The compounds of a catalogue: gathered once, however many labels are read."""
    return Compounds(catalogue, taxonomy.load()[0], words()[0])


def _one_apart(a: str, b: str) -> bool:
    """Whether adding, dropping or changing one letter, or swapping two neighbours, makes one word of the other."""
    if abs(len(a) - len(b)) > 1 or a == b:
        return a == b
    start = next((i for i, (x, y) in enumerate(zip(a, b)) if x != y), min(len(a), len(b)))
    x, y = a[start:], b[start:]
    return x[1:] == y[1:] or x[1:] == y or x == y[1:] or (x[:2] == y[1::-1] and x[2:] == y[2:])
