"""The text printed on a bought-in product, read part by part.

Nothing here proves that something is absent.  What is not recognised is listed with its place, a
claim such as "free from nuts" removes nothing, and an allergen found anywhere in the text counts,
whatever brackets or words surround it.  The words of statements are data
(``data/labels``); the names of foods are those of the catalogue and the taxonomy.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass, field, replace
from fractions import Fraction

from platecard.allergens.labels.matching import CATALOGUE, NOT, PLAIN, WORD, Matcher, Recognised, plain
from platecard.allergens.labels.vocabulary import GROUP, PERCENT, words
from platecard.diagnostics import Problem, Span, error
from platecard.knowledge.catalogue import ANY, Catalogue
from platecard.knowledge.names import fold
from platecard.knowledge.taxonomy import Taxonomy

MAX_TEXT, MAX_DEPTH, MAX_BRACKET_PROBLEMS = 20_000, 12, 5
INSIDE, SAID, CLAIM = "inside", "statement", "claim"
MAX_TITLE_WORDS, MIN_PROSE_WORDS = 24, 3
_PAIRS = {")": "(", "]": "[", "}": "{"}
_SAME = str.maketrans(
    {
        "（": "(",
        "）": ")",
        "［": "[",
        "］": "]",
        "，": ",",
        "；": ";",
        "：": ":",
        "•": ",",
        "|": ",",
        "–": "-",
        "—": "-",
        "’": "'",
        "‘": "'",
        "\n": " ",
        "\r": " ",
        "\t": " ",
        "\xa0": " ",
        GROUP: " ",
        PERCENT: " ",
        '"': " ",
        "“": " ",
        "”": " ",
    }
)
_TOKEN = re.compile(
    r"(?P<percent>(?:[<>≤≥~≈]\s?)?(?:\d{1,3}(?:[.,]\d{1,4})?\s?-\s?)?(?P<number>\d{1,3}(?:[.,]\d{1,4})?)\s?%)"
    r"|(?P<e>(?<!\w)(?:E|INS)[\s-]?(?P<digits>\d{3,4})\s?(?P<letter>[a-hj])?(?:\s?\((?:i{1,3}|iv|vi?)\)|\s?(?:i{1,3}|iv|vi?))?(?!\w))"
    r"|(?P<open>[(\[{])|(?P<close>[)\]}])|(?P<one>.)",
    re.IGNORECASE | re.DOTALL,
)
_STRESS = re.compile(r"([*_]{1,3})(?=[^\s*_])[^*_,;()\[\]{}]{1,80}?(?<=\S)\1")
_CAPITALS = re.compile(r"[A-ZÀ-ÖØ-Þ]{3,}")
# A temperature, a time, a weight or a volume in SI units; and the signs that mark a list rather than a sentence.
_MEASURE = re.compile(r"[0-9] ?(?:° ?[CF]|[mk]?g|[mcd]?l|min|h|s)\b", re.IGNORECASE)
_LISTS = re.compile(rf"[;:{GROUP}{PERCENT}]|,(?![0-9])")
_WORD = re.compile(r"(?!\d+(?!\w))\w+(?:'\w+)*")
_HEADED = re.compile(rf"[:{GROUP}{PERCENT}]")
_BARE_NUMBERS = re.compile(r"[0-9]{3,4}[a-j]?(?: (?:and|&|or|,) [0-9]{3,4}[a-j]?)*")
_E_NUMBER = re.compile(r"E[0-9]{3,4}[a-j]?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the text with its own allergens; the contents of its brackets are in ``parts``.

    ``unknown`` are nodes (or ``any``) that the text leaves open, ``forms`` the exempted
    forms that nodes take here, ``how`` the way the part was settled.  ``entries`` are the ids of
    the catalogue entries that its words were found to name.
    """

    words: str
    matched: str = ""
    nodes: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    emphasised: bool = False
    percent: Fraction | None = None
    parts: tuple[Part, ...] = ()
    how: str = NOT
    forms: tuple[tuple[str, str], ...] = ()
    entries: tuple[str, ...] = ()
    place: Span | None = field(default=None, compare=False)

    def all(self) -> Iterator[Part]:
        """The part and the contents of its brackets; a statement already speaks for its own."""
        yield self
        for part in self.parts if self.how != SAID else ():
            yield from part.all()


@dataclass(frozen=True, slots=True)
class Unread:
    """A word of the text that could not be read, where it is, and the allergens whose names are close to it."""

    word: str
    place: Span
    near: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class ReadLabel:
    """A label's text as read; nodes are in the order of the taxonomy, ``any`` first.

    ``unrecognised`` are the items of the text that hold a word of ``unread``.
    """

    parts: tuple[Part, ...] = ()
    contains: tuple[str, ...] = ()
    may_contain: tuple[str, ...] = ()
    open: tuple[str, ...] = ()
    unrecognised: tuple[str, ...] = ()
    unread: tuple[Unread, ...] = ()

    @property
    def settled(self) -> bool:
        """True if the text alone answers every question about its allergens."""
        return self.names_something and not self.open and not self.unrecognised

    @property
    def names_something(self) -> bool:
        """False for a text without an ingredient: a claim of absence is none."""
        return any(p.how != CLAIM for p in self.parts)

    def all(self) -> Iterator[Part]:
        """All parts, with the contents of their brackets."""
        return (p for part in self.parts for p in part.all())


# --------------------------------------------------------------------------- characters to levels


class _Level:
    """The text between two brackets: characters with their places, and the levels within."""

    def __init__(self, at: int = 0):
        self.chars: list[str] = []
        self.at: list[int] = [at]
        self.within: dict[int, _Level] = {}
        self.percents: dict[int, Fraction] = {}
        self.text = ""

    def add(self, chars: str, at: int) -> None:
        self.at[-1:] = [at] * (len(chars) + 1)
        self.chars += chars

    def close(self) -> None:
        self.text = "".join(self.chars)
        for level in self.within.values():
            level.close()


class _Reader:
    """Reads one text: brackets to levels, levels to parts."""

    def __init__(
        self, text: str, span: Span, catalogue: Catalogue, taxonomy: Taxonomy, nothing: frozenset[str], guess: bool
    ):
        self.lines, self.text, self.span, self.match = (
            text,
            text.translate(_SAME),
            span,
            Matcher(catalogue, taxonomy, nothing),
        )
        self.guess = guess
        self.words, found = words()
        self.problems: list[Problem] = list(found)
        self.unrecognised: dict[str, None] = {}
        self.unread: dict[str, Unread] = {}
        self.asides: dict[str, tuple[str, ...]] = {}
        self.title: list[Part] = []
        # What the title leaves unread, and the items that hold it; both empty where there is no title.
        self.left_of_title: tuple[dict[str, Unread], dict[str, None]] = ({}, {})
        self.marked = {i for m in _STRESS.finditer(self.text) for i in range(m.start(), m.end())}
        self.openers = self.words.openers.in_text(self.text)
        listed = re.findall(r"[^\W\d_]{3,}", self.openers.without(self.text))
        # Capitals stress a word only where the text is not all in capitals.
        self.capitals = any(not w.isupper() for w in listed)

    def place(self, offset: int, length: int = 1) -> Span:
        """The place in the file, as long as the text is written there the way it is read."""
        quotes = self.span.length - len(self.text)
        if quotes not in (0, 2):
            return self.span
        return Span(self.span.file, self.span.line, self.span.column + offset + quotes // 2, max(1, length))

    def levels(self) -> _Level:
        """The brackets as a tree; faults are reported, and no character is dropped."""
        stack, opened, deeper, faults = [_Level()], [], 0, []
        for m in _TOKEN.finditer(self.text):
            top, at = stack[-1], m.start()
            if m["percent"]:
                top.percents[len(top.chars)] = Fraction(m["number"].replace(",", "."))
                top.add(PERCENT, at)
            elif m["e"]:
                top.add(f"E{m['digits']}{(m['letter'] or '').lower()}", at)
            elif m["open"] and len(stack) > MAX_DEPTH:
                faults += [(at, f"brackets are nested more than {MAX_DEPTH} deep")] if not deeper else []
                deeper += 1
                top.add(",", at)
            elif m["open"]:
                level = _Level(at)
                top.within[len(top.chars)] = level
                top.add(GROUP, at)
                stack.append(level)
                opened.append((m["open"], at))
            elif m["close"] and deeper:
                deeper -= 1
                top.add(",", at)
            elif m["close"] and len(stack) == 1:
                faults.append((at, f"'{m['close']}' closes a bracket that was never opened"))
                top.add(",", at)
            elif m["close"]:
                stack.pop()
                sign, where = opened.pop()
                if sign != _PAIRS[m["close"]]:
                    faults.append((at, f"'{m['close']}' closes a '{sign}' (character {where + 1})"))
            elif m["one"] in "*_":
                top.add("" if at in self.marked or m["one"] == "*" else " ", at)
            elif m["one"].isascii() or unicodedata.category(m["one"]) != "Cf":
                top.add(m["one"], at)
        faults += [(at, f"the bracket '{sign}' is never closed") for sign, at in opened]
        self.problems += [
            error("label-brackets", self.place(at), f"{said}, at character {at + 1} of the label's text")
            for at, said in faults[:MAX_BRACKET_PROBLEMS]
        ]
        stack[0].close()
        return stack[0]

    # ----------------------------------------------------------------------- levels to parts

    def level(self, level: _Level, inside: bool) -> list[Part]:
        """The parts of one level: its list, its statements and its claims, sentence by sentence."""
        found: list[Part] = []
        start, title, listed = 0, 0 if inside else self.title_end(level), False
        for stop in [*(m.start() for m in self.words.full_stop.finditer(level.text)), len(level.text)]:
            kind, opened, low = "list", start, start
            for m in [*self.openers.find(level.text, start, stop), None]:
                high = m.start if m else stop
                if kind == "list":
                    before, here, text = set(self.unread), self.items(level, low, high, inside), level.text[low:high]
                    found += here
                    if (
                        not inside
                        and listed
                        and (
                            self.is_treatment(text)
                            or (low, high) == (start, stop)
                            and (is_measured(text) or self.is_prose(text, here))
                        )
                    ):
                        self.forget_words_since(before)
                    if title and high <= title:
                        self.title += found
                        unread, items = self.left_of_title
                        unread.update(self.unread)
                        items.update(self.unrecognised)
                        self.unread.clear()
                        self.unrecognised.clear()
                        found = []
                elif kind == "claim" and self.is_plain_claim(level.text[start:opened]):
                    found += self.claim(level, opened, low, high, inside, heads=not plain(level.text[start:opened]))
                else:
                    found += self.statement(level, "aside" if kind == "claim" else kind, opened, low, high)
                if m:
                    kind, opened, low = m.kind, m.start, m.end
            listed = listed or len(re.findall("[,;]", level.text[start:stop])) >= 2
            start = stop + 1
        return found

    def forget_words_since(self, before: set[str]) -> None:
        """Drop the unread words since ``before`` that resemble no food.

        After a list, sentences such as "Block of 2 kg" and "Store where it is cool" name no ingredient:
        only what they name or resemble counts.
        """
        for key in [k for k, u in self.unread.items() if k not in before and not u.near]:
            word = self.unread.pop(key).word
            self.unrecognised = {
                words: None for words in self.unrecognised if f" {fold(word)} " not in f" {fold(words)} "
            }

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

    def title_end(self, level: _Level) -> int:
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

    def first_sentence(self, level: _Level) -> int:
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

    def with_title(self, rest: list[Part]) -> list[Part]:
        """All parts, those of the title included.

        What a title leaves unread or open does not count where a list follows; what it names or resembles does.
        """
        every = [q for p in rest for q in p.all()]
        has_list = any(p.how in (CATALOGUE, WORD, PLAIN) for p in every)
        unread, items = self.left_of_title
        if has_list:
            is_under, listed = self.match.taxonomy.is_under, {n for p in every for n in p.nodes}
            unread = {
                k: u
                for k, u in unread.items()
                if not all(any(is_under(n, c) or is_under(c, n) for c in listed) for n in u.near)
            }
            items = {words: None for words in items if any(f" {key} " in f" {fold(words)} " for key in unread)}
        self.unread, self.unrecognised = unread | self.unread, items | self.unrecognised
        kept = self.words.limited if has_list else (ANY, *self.match.taxonomy.kinds)
        return [*(replace(p, unknown=tuple(n for n in p.unknown if n in kept)) for p in self.title), *rest]

    def items(self, level: _Level, low: int, high: int, inside: bool) -> list[Part]:
        """The ingredients between commas; ``sponge: flour, egg`` is read as a heading and its list."""
        found: list[Part] = []
        for a, b in _split(level.text, low, high, ",;"):
            behind = any(p.how in (CATALOGUE, WORD) for p in found)
            colon = level.text.find(":", a, b)
            if colon > a and fold(plain(level.text[a:colon])) not in self.words.classes:
                is_title = (
                    not inside and not plain(level.text[:a]) and len(re.findall("[,;]", level.text[colon:high])) >= 2
                )
                found += self.item(level, a, colon, inside, heads=bool(plain(level.text[colon:b])), is_title=is_title)
                a = colon + 1
            found += self.item(level, a, b, inside, behind=behind)
        return found

    def item(
        self,
        level: _Level,
        a: int,
        b: int,
        inside: bool,
        heads: bool = False,
        tail: bool = False,
        behind: bool = False,
        is_title: bool = False,
    ) -> list[Part]:
        """One ingredient with its brackets.

        ``heads``: a list follows it; ``is_title``: that heading is the product's own name; ``tail``: it
        says what another ingredient is made of; ``behind``: a food is named before it.
        """
        name, klass = plain(level.text[a:b]), ""
        made_of = (
            None
            if tail or fold(name) in self.words.classes or self.match.exact(name)
            else self.words.made_of.search(level.text, a, b)
        )
        inner = self.brackets(level, a, made_of.start() if made_of else b)
        if made_of:
            inner += self.item(level, made_of.end(), b, True, tail=True)
            name = plain(level.text[a : made_of.start()])
        full = name
        if fold(name) in self.words.classes or not (self.match.exact(name) or fold(name) in self.words.foods):
            klass, name = self.match.without_class(name)
        if (klass or inside) and _BARE_NUMBERS.fullmatch(name):
            name = re.sub(r"[0-9]{3,4}[a-j]?", lambda m: f"E{m.group()}", name)
        if not name and (inside and not inner or not klass):
            return inner
        start = next((i for i in range(a, b) if level.text[i].isalnum()), a)
        place = self.place(level.at[start], b - start)
        found = self.match.name(
            name or (klass if not inner else ""), tail or (inside and not re.search("[,;]", level.text))
        )
        if klass and not name and not inner and found.how == NOT and not found.unknown:
            found.idle, found.left = False, [klass]  # it is not said which one it is
        # "Prawns, raw, peeled": an adjective may follow its food.
        adjective = behind and not any(fold(w) in self.words.foods or fold(w) in self.words.classes for w in found.left)
        if found.idle and (inside or adjective or not found.left):
            return inner + ([Part(full, unknown=tuple(found.unknown), how=SAID, place=place)] if found.unknown else [])
        for word in (w for w in found.left if _E_NUMBER.fullmatch(w)):
            where = level.at[max(level.text.find(word, a, b), a)]
            self.problems.append(
                error(
                    "unknown-e-number",
                    self.place(where, len(word)),
                    f"no additive with the number {word} is known here",
                    "check the number on the pack, or write the additive's name",
                )
            )
        # A bracket answers for its head if it lists ingredients; a single word does if that was the question.
        real = [p for p in inner if p.how not in (NOT, SAID) and not self.additive(p)]
        listing = heads or (len(real) > 1 and inner[0] is real[0])
        if len(inner) == 1 and not inner[0].parts and (entry := self.match.joined(inner[0].words, name, found)):
            found.take(entry, instead=True)
        elif listing or (found.asked and any(self.match.news(p.nodes, found) for p in real)):
            found.unknown = {}
        how = found.how if not found.left else WORD if found.nodes else NOT
        if inner and klass and not name or (how == NOT and listing):
            how, found.left = INSIDE, self.nearly(found.left, inner)
        elif is_title and heads:
            found.left = self.nearly(found.left, inner)
        if found.left:
            self.unrecognised[full] = None
            for word in found.left:
                # A word close to an allergen's name counts as that allergen too, and stays unread.
                found.nodes |= dict.fromkeys(self.leave(level, word, a, b))
        return [
            Part(
                full,
                ", ".join(found.names),
                tuple(found.nodes),
                tuple(n for n in found.may if n not in found.nodes),
                tuple(n for n in found.unknown if n not in found.nodes),
                self.emphasised(level, a, b),
                _percent(level, a, b),
                tuple(inner),
                how,
                tuple(found.forms.items()),
                tuple(found.ids),
                place,
            )
        ]

    def nearly(self, left: list[str], inner: list[Part]) -> list[str]:
        """The words of a heading that stay unread even though a list says what is in it.

        They are one letter away from an allergen that its brackets do not name.
        """
        told, is_under = {n for p in inner for q in p.all() for n in q.nodes}, self.match.taxonomy.is_under
        return [
            w
            for w in left
            if self.guess
            and any(not any(is_under(t, n) or is_under(n, t) for t in told) for n in self.match.compounds.misspelt(w))
        ]

    def leave(self, level: _Level, word: str, a: int, b: int) -> tuple[str, ...]:
        """Note a word that could not be read, at its place; returns the allergens whose names are close to it."""
        at = level.text.find(word, a, b)
        unread = Unread(
            word, self.place(level.at[max(at, a)], len(word)), self.match.compounds.near(word) if self.guess else ()
        )
        return self.unread.setdefault(fold(word), unread).near

    def brackets(self, level: _Level, a: int, b: int) -> list[Part]:
        """The parts of the brackets that open between ``a`` and ``b``."""
        return [p for at, within in level.within.items() if a <= at < b for p in self.level(within, True)]

    def additive(self, part: Part) -> bool:
        """Whether a part is an E number or begins with a class of additive."""
        return bool(_E_NUMBER.fullmatch(part.words) or self.match.without_class(part.words)[0])

    def emphasised(self, level: _Level, a: int, b: int) -> bool:
        """Whether the text stresses something between ``a`` and ``b``, by signs or by capitals."""
        shouted = self.capitals and any(w not in self.words.capitals for w in _CAPITALS.findall(level.text, a, b))
        return shouted or any(level.at[i] in self.marked for i in range(a, b) if level.text[i].isalnum())

    def statement(self, level: _Level, kind: str, opened: int, low: int, high: int) -> list[Part]:
        """What follows an opener: contained, perhaps contained, or not to be relied on."""
        said, place = plain(level.text[opened:high]), self.place(level.at[opened], high - opened)
        found, inner = Recognised(), self.brackets(level, opened, low)
        # The opener's own words may name an allergen too: "made in a bakery with milk that also uses egg".
        for a, b in [*_split(level.text, low, high, ",;:"), *([(opened, low)] if kind == "may" else [])]:
            here = self.match.segments(plain(level.text[a:b]), statement=True)
            if here.left and kind != "aside" and a >= low:
                inner += self.item(level, a, b, True)
            elif a >= low:
                inner += self.brackets(level, a, b)
            # Words that are passed over here still count for the allergens that their spelling is close to.
            if (kind == "aside" or a < low) and self.guess:
                here.nodes |= dict.fromkeys(n for word in here.left for n in self.match.compounds.near(word))
            found.nodes |= here.nodes
            found.may |= here.may
            found.unknown |= here.unknown
        for part in (q for p in inner for q in p.all()):
            found.nodes |= dict.fromkeys(part.nodes)
            found.may |= dict.fromkeys(part.may)
            found.unknown |= dict.fromkeys(part.unknown)
        if kind == "aside":
            if all(self.match.seldom(n) for n in found.nodes):
                return []
            self.unrecognised[said] = None
            self.unread.setdefault(fold(said), Unread(said, place))
            self.asides[said] = tuple(found.nodes)
            return [Part(said, unknown=tuple(found.nodes), parts=tuple(inner), how=SAID, place=place)]
        if not (found.nodes or found.may or found.unknown or inner):
            return []
        nodes, may = (
            (tuple(found.nodes), tuple(found.may)) if kind == "contains" else ((), tuple(found.nodes | found.may))
        )
        return [
            Part(said, nodes=nodes, may=may, unknown=tuple(found.unknown), parts=tuple(inner), how=SAID, place=place)
        ]

    def is_plain_claim(self, before: str) -> bool:
        """Whether nothing before a claim in its sentence can turn it round: "in no way free from nuts" is no claim."""
        words = fold(plain(re.split("[,;:]", before)[-1])).split()
        return all(w in self.words.subjects for w in words)

    def claim(self, level: _Level, opened: int, low: int, high: int, inside: bool, heads: bool) -> list[Part]:
        """What the label says is not in it: it removes nothing, and what follows it in a list is an ingredient.

        ``heads``: the claim begins its sentence, so several bare allergens in a row are all claimed absent.
        """
        end = low
        for a, b in _split(level.text, low, high, ",;"):
            here = self.match.segments(plain(level.text[a:b]), statement=True)
            if a > low and (not heads or here.names or here.left or GROUP in level.text[a:b]):
                break
            for word in here.left:
                self.unrecognised[plain(level.text[a:b])] = None
                self.leave(level, word, a, b)
            end = b
        said = Part(
            plain(level.text[opened:end]),
            how=CLAIM,
            place=self.place(level.at[opened], end - opened),
            parts=tuple(self.brackets(level, opened, end)),
        )
        return [said, *(self.items(level, min(end + 1, high), high, inside) if end < high else [])]


def is_measured(sentence: str) -> bool:
    """Whether a sentence holds a measure and is no list: "Store below 5 °C"."""
    return bool(_MEASURE.search(sentence)) and not _LISTS.search(sentence)


def _split(text: str, low: int, high: int, signs: str) -> Iterator[tuple[int, int]]:
    """The stretches between ``signs``."""
    for i in range(low, high + 1):
        if i == high or text[i] in signs:
            yield low, i
            low = i + 1


def _percent(level: _Level, a: int, b: int) -> Fraction | None:
    """The percentage beside the words, or alone in a bracket after them."""
    alone = (
        v
        for at, within in level.within.items()
        if a <= at < b and not plain(within.text)
        for v in within.percents.values()
    )
    return next((v for at, v in level.percents.items() if a <= at < b), next(alone, None))


def read(
    text: str,
    span: Span,
    catalogue: Catalogue,
    taxonomy: Taxonomy,
    nothing: frozenset[str] = frozenset(),
    guess: bool = True,
) -> tuple[ReadLabel, tuple[Problem, ...]]:
    """A label's text as parts, with the problems of the text itself; raises nothing.

    ``nothing`` are words and phrases, folded, that the chef says bring nothing in; ``guess``:
    a word close to an allergen's name counts as that allergen.
    """
    if len(text) > MAX_TEXT:
        start = text[:40] + "…"
        return ReadLabel(unrecognised=(start,), unread=(Unread(start, span),)), (
            error("label-too-long", span, f"the label's text has {len(text)} characters; the limit is {MAX_TEXT}"),
        )
    reader = _Reader(text, span, catalogue, taxonomy, nothing, guess)
    parts = tuple(reader.with_title(reader.level(reader.levels(), False)))
    every = [q for p in parts for q in p.all()]
    order = {n: i for i, n in enumerate((ANY, *taxonomy.kinds))}

    def nodes(key: str, but: tuple[str, ...] = ()) -> tuple[str, ...]:
        return tuple(
            sorted({n for p in every for n in getattr(p, key)} - {*but}, key=lambda n: order.get(n, len(order)))
        )

    if all(p.how == CLAIM for p in parts):
        reader.problems.append(
            error(
                "label-empty",
                span,
                "the label's text names no ingredient",
                "type the list of ingredients as printed, or leave the text out",
            )
        )
    contains = nodes("nodes")
    # An aside that names only what is in the product anyway (the origin of its milk) leaves nothing open.
    for said, named in reader.asides.items():
        if all(any(taxonomy.is_under(n, c) or taxonomy.is_under(c, n) for c in contains) for n in named):
            reader.unread.pop(fold(said), None)
            reader.unrecognised.pop(said, None)
    label = ReadLabel(
        parts,
        contains,
        nodes("may", contains),
        nodes("unknown", contains),
        tuple(reader.unrecognised),
        tuple(reader.unread.values()),
    )
    return label, tuple(reader.problems)
