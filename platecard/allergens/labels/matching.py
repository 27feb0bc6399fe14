"""Words of a label to foods: whole names first, then all the longest names within them."""

from __future__ import annotations

import re
from dataclasses import dataclass, field

from platecard.allergens.labels import compounds
from platecard.allergens.labels.vocabulary import GROUP, PERCENT, words
from platecard.knowledge.catalogue import Catalogue, Entry
from platecard.knowledge.names import fold
from platecard.knowledge.taxonomy import SULPHITE, Taxonomy

MAX_NAME_WORDS, MAX_NAME = 7, 90
CATALOGUE, WORD, PLAIN, NOT = "catalogue", "allergen word", "plain word", "not recognised"
NEUTRAL, BESIDE, NOTHING = "neutral", "beside", "nothing"
_WORDS = re.compile(r"[\w'&]+")
MAX_CLASS_WORDS = 7  # "agent de traitement de la farine" has six
# A bare number, or one with its unit.
_MEASURE = re.compile(
    r"\d+(?: ?(?:k?g|mg|µg|mcg|ug|ml|cl|l|kj|kcal|cal|iu|ie|oz|lb|cm|mm|c|x|º|w|watt|min|h|bar|mpa|pcs|ct|st|stk))?|fao"
    r" ?\d+(?:\.\d+)?|\d+ ?x ?\d+ ?k?g"
)


@dataclass(slots=True)
class Recognised:
    """What words were recognised as, while they are being read; ``idle``: they name no food at all."""

    nodes: dict[str, None] = field(default_factory=dict)
    may: dict[str, None] = field(default_factory=dict)
    unknown: dict[str, None] = field(default_factory=dict)
    forms: dict[str, str] = field(default_factory=dict)
    names: list[str] = field(default_factory=list)
    ids: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    how: str = NOT
    idle: bool = False
    asked: bool = False

    def take(self, entry: Entry, node: str | None = None, instead: bool = False) -> Recognised:
        """Add an entry.

        ``node`` is what the entry's vague name says all the same (nuts); ``instead``: the entry
        replaces what was recognised and answers what it left open.
        """
        self.unknown = {} if instead else self.unknown
        self.names, self.ids = ([], []) if instead else (self.names, self.ids)
        self.asked = bool(entry.ask) and (self.asked or not self.names)
        open_limit = entry.so2_mg_kg is not None and SULPHITE not in entry.contains
        self.forms = {n: f for n, f in self.forms.items() if n not in entry.contains} | {
            n: f for n, f in entry.form if n in entry.contains and n not in self.nodes
        }
        self.nodes |= dict.fromkeys((node, *entry.contains) if node else entry.contains)
        self.may |= dict.fromkeys(entry.may)
        self.unknown |= dict.fromkeys((*entry.depends, *([SULPHITE] if open_limit else [])))
        self.names += [entry.name] if entry.name not in self.names else []
        self.ids += [entry.id] if entry.id not in self.ids else []
        self.how = CATALOGUE
        return self


class Matcher:
    """Looks names up in the catalogue, then in the taxonomy, then in the words of labels.

    ``nothing`` are words and phrases, folded, that the chef says bring nothing in.
    """

    def __init__(self, catalogue: Catalogue, taxonomy: Taxonomy, nothing: frozenset[str] = frozenset()):
        self.catalogue, self.taxonomy, self.words, self.nothing = catalogue, taxonomy, words()[0], nothing
        self.compounds = compounds.of(catalogue)
        self._known: dict[str, Entry | None] = {}

    def exact(self, name: str) -> Entry | None:
        """The one entry of this name; a match that had to reorder words does not count."""
        if name not in self._known:
            found = self.catalogue.find(name) if 0 < len(name) <= MAX_NAME else None
            self._known[name] = found.entry if found and not found.read_as else None
        return self._known[name]

    def name(self, name: str, alone: bool) -> Recognised:
        """A whole item; alone in a bracket, an allergen's own word means just that: ``anchovies (fish)``."""
        entry, node = self.exact(name), self.taxonomy.find(name)
        vague = entry is None or entry.depends_on_everything
        node = node or (self.taxonomy.find(entry.name) if entry and vague else None)
        if alone and node and (entry is None or vague or any(self.taxonomy.is_under(n, node) for n in entry.contains)):
            return Recognised({node: None}, how=WORD)
        return Recognised().take(entry, node if vague else None) if entry else self.segments(name)

    def stands_for_more(self, name: str) -> bool:
        """Whether a part names nothing and stands for what is not written out: "other ingredients", "see overleaf"."""
        told = [w for w in fold(name).split() if not w.isdigit() and w != "%"]
        return any(w in self.words.unsaid for w in told) and all(
            w in self.words.unsaid or w in self.words.unsaid_beside for w in told
        )

    def allergen(self, name: str) -> tuple[str, ...]:
        """The allergens that a word of the taxonomy or of labels names."""
        node = self.taxonomy.find(name)
        return (node,) if node else self.words.allergens.get(fold(name), ())

    def without_class(self, name: str) -> tuple[str, str]:
        """``emulsifier: soya lecithin`` as the class and the rest."""
        tokens = list(_WORDS.finditer(name))
        for size in range(min(len(tokens), MAX_CLASS_WORDS), 0, -1):
            if fold(name[: tokens[size - 1].end()]) in self.words.classes:
                return name[: tokens[size - 1].end()], plain(name[tokens[size - 1].end() :])
        return "", name

    def joined(self, source: str, name: str, found: Recognised) -> Entry | None:
        """The entry that head and bracket name together: ``lecithin (soya)``, ``glucose syrup (maize)``."""
        for head in dict.fromkeys((name, *found.names)) if source and found.unknown else ():
            entry = self.catalogue.find(f"{source} {head}").entry
            if entry and entry.name not in found.names:
                return entry
        return None

    def news(self, nodes: tuple[str, ...], found: Recognised) -> bool:
        """False if a bracket only repeats what its head says anyway: ``cheese (milk)``."""
        return not nodes or any(not any(self.taxonomy.is_under(known, node) for known in found.nodes) for node in nodes)

    def segments(self, name: str, statement: bool = False) -> Recognised:
        """All the longest names within ``name``, including overlapping ones: ``coconut milk chocolate`` holds milk."""
        tokens = [m.group() for m in _WORDS.finditer(name)] or name.split()
        if not statement and tokens and all(fold(t) in self.words.said for t in tokens):
            return Recognised(idle=True)
        # Words run together are read as the words they are made of; what cannot be read is reported as written.
        row = [(piece, t) for t in tokens for piece in self.compounds.pieces(t)]
        found = self._segments(row, statement, beside=len(row) > 1)
        if found.how != NOT or statement:
            return found
        alone = self._segments(row, statement, beside=False)
        return alone if alone.how != NOT else found

    def _segments(self, row: list[tuple[str, str]], statement: bool, beside: bool) -> Recognised:
        """``row`` holds each word as it is read, with the word of the text that it comes from."""
        found, reach, roles = Recognised(), 0, set()
        tokens = [word for word, _ in row]
        longest = [self._longest(tokens, i, statement, beside) for i in range(len(tokens))]
        for i, (stop, role, what) in enumerate(longest):
            # "dried oyster mushrooms" are mushrooms: a name that begins with an adjective gives way to a longer one.
            if i + 1 < len(tokens) and fold(tokens[i]) in self.words.neutral and longest[i + 1][0] > stop > i + 1:
                stop, role, what = i + 1, NEUTRAL, self.words.neutral[fold(tokens[i])]
            if stop <= max(i, reach):
                found.left += [row[i][1]] if i >= reach else []
                continue
            reach = stop
            roles.add(role)
            if isinstance(what, Entry):
                vague = what.depends_on_everything
                found.take(
                    what,
                    (self.taxonomy.find(" ".join(tokens[i:stop])) or self.taxonomy.find(what.name)) if vague else None,
                )
            elif role == WORD:
                found.nodes |= dict.fromkeys(what)
            else:
                found.unknown |= dict.fromkeys(what)
        found.how = next((k for k in (CATALOGUE, WORD, PLAIN) if k in roles), NOT)
        if NOTHING in roles and found.how == NOT and not found.left:
            found.idle = True
        elif found.how == NOT and not found.left:
            found.idle = bool(roles) and (BESIDE not in roles or statement)
            found.left = [] if statement else list(dict.fromkeys(origin for _, origin in row))
        found.left = list(dict.fromkeys(found.left))
        return self._named_together(found)

    def _named_together(self, found: Recognised) -> Recognised:
        """``farine de blé``: a vague head with a word that says what it is made of is that one thing."""
        if len(found.names) == 2 and found.unknown and not found.left:
            for head, of in (found.names, found.names[::-1]):
                entry = self.exact(f"{of} {head}")
                if entry is not None and set(found.nodes) <= {
                    *entry.contains,
                    *(n for c in entry.contains for n in self.taxonomy.lineage(c)),
                }:
                    return Recognised().take(entry)
        return found

    def _longest(
        self, tokens: list[str], i: int, statement: bool, beside: bool
    ) -> tuple[int, str, Entry | tuple[str, ...]]:
        """Where the longest known name from ``i`` on ends, what sort of name it is, and what it says."""
        for j in range(min(len(tokens), i + MAX_NAME_WORDS), i, -1):
            window = " ".join(tokens[i:j])
            key = fold(window)
            if statement and (nodes := self.allergen(window)):
                return j, WORD, nodes
            if statement and (key in self.words.said or key.isdigit()):
                return j, "said", ()
            if key in self.nothing or key in self.words.nothing or _MEASURE.fullmatch(key):
                return j, NOTHING, ()
            known = self._known_as(window, key, beside)
            if (
                known is None
                and j > i + 1
                and key not in self.words.foods
                and (entry := self._in_two_languages(tokens[i:j]))
            ):
                known = CATALOGUE, entry
            if known is None and key in self.words.foods:
                # A word of another language, or misspelt: read as what it stands for.
                meant = self.words.foods[key]
                if statement and (nodes := self.allergen(meant)):
                    return j, WORD, nodes
                known = self._known_as(meant, fold(meant), beside)
            if known is not None:
                return j, *known
        return i, NOT, ()

    def _in_two_languages(self, tokens: list[str]) -> Entry | None:
        """The entry that is named word by word, each in its own language: ``beef výtažek``."""
        english = [self.words.foods.get(fold(t), t) for t in tokens]
        return self.exact(" ".join(english)) if english != tokens else None

    def _known_as(self, window: str, key: str, beside: bool) -> tuple[str, Entry | tuple[str, ...]] | None:
        if key in self.words.neutral:
            return NEUTRAL, self.words.neutral[key]
        if beside and key in self.words.beside:
            return BESIDE, ()
        if entry := self.exact(window):
            return CATALOGUE, entry
        if nodes := self.allergen(window):
            return WORD, nodes
        if key in self.words.plain:
            return PLAIN, ()
        # What an additive is for, behind other words: "treated with preservative E235".
        return (NEUTRAL, ()) if key in self.words.classes else None

    def seldom(self, node: str) -> bool:
        """Whether a node is of a group that labels seldom declare."""
        return any(self.taxonomy.is_under(node, root) for root in self.words.seldom)


def plain(text: str) -> str:
    """Text without the signs for brackets and percentages, and without stray punctuation at its ends."""
    return " ".join(text.replace(GROUP, " ").replace(PERCENT, " ").split()).strip(" .:-,;/+!'")
