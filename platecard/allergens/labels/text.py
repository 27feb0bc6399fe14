"""The text printed on a bought-in product, read part by part.

Nothing here proves that something is absent.  What is not recognised is listed with its place, a
claim such as "free from nuts" removes nothing, and an allergen found anywhere in the text counts,
whatever brackets or words surround it.  The words of statements are data
(``data/labels``); the names of foods are those of the catalogue and the taxonomy.
"""

from __future__ import annotations

import re
from collections.abc import Iterator
from dataclasses import replace
from fractions import Fraction

from platecard.allergens.labels.brackets import Level, levels, stressed, with_plain_signs
from platecard.allergens.labels.matching import CATALOGUE, NOT, PLAIN, WORD, Matcher, Recognised, plain
from platecard.allergens.labels.parts import CLAIM, INSIDE, SAID, Part, ReadLabel, Unread
from platecard.allergens.labels.sentences import Sentences, is_measured
from platecard.allergens.labels.vocabulary import GROUP, words
from platecard.diagnostics import Problem, Span, error
from platecard.knowledge import kinds
from platecard.knowledge.catalogue import Catalogue
from platecard.knowledge.catalogue_rows import ANY
from platecard.knowledge.names import fold
from platecard.knowledge.taxonomy import Taxonomy

MAX_TEXT, MAX_BRACKET_PROBLEMS = 20_000, 5
_CAPITALS = re.compile(r"[A-ZÀ-ÖØ-Þ]{3,}")
_BARE_NUMBERS = re.compile(r"(?:no\.? ?)?[0-9]{3,4}[a-j]?(?: ?(?:and|&|or|,|/|\+|-|no\.?| ) ?[0-9]{3,4}[a-j]?)*")
_BARE_FIGURE = re.compile(r"[0-9]{1,4}[a-j]?")
_CUT_OFF = re.compile(r"…|\.{2,}")
_WORD = re.compile(r"[^\W\d_]+|&")
_E_NUMBER = re.compile(r"E[0-9]{3,4}[a-j]?", re.IGNORECASE)


class _Reader:
    """Reads one text: brackets to levels, levels to parts."""

    def __init__(
        self, text: str, span: Span, catalogue: Catalogue, taxonomy: Taxonomy, nothing: frozenset[str], guess: bool
    ):
        self.text, self.span, self.match = with_plain_signs(text), span, Matcher(catalogue, taxonomy, nothing)
        self.guess = guess
        self.words, found = words()
        self.problems: list[Problem] = list(found)
        self.unrecognised: dict[str, None] = {}
        self.unread: dict[str, Unread] = {}
        # What stands for something that is not written out; no later sentence takes it back.
        self.unsaid: dict[str, Unread] = {}
        self.asides: dict[str, tuple[str, ...]] = {}
        self.title: list[Part] = []
        # What the title leaves unread, and the items that hold it; both empty where there is no title.
        self.left_of_title: tuple[dict[str, Unread], dict[str, None]] = ({}, {})
        self.marked = stressed(self.text)
        self.openers = self.words.openers.in_text(self.text)
        self.sentences = Sentences(text, self.openers, self.match)
        listed = re.findall(r"[^\W\d_]{3,}", self.openers.without(self.text))
        # Capitals stress a word only where the text is not all in capitals.
        self.capitals = any(not w.isupper() for w in listed)

    def place(self, offset: int, length: int = 1) -> Span:
        """The place in the file, as long as the text is written there the way it is read."""
        quotes = self.span.length - len(self.text)
        if quotes not in (0, 2):
            return self.span
        return Span(self.span.file, self.span.line, self.span.column + offset + quotes // 2, max(1, length))

    def level(self, level: Level, inside: bool) -> list[Part]:
        """The parts of one level: its list, its statements and its claims, sentence by sentence."""
        found: list[Part] = []
        start, title, listed = 0, 0 if inside else self.sentences.title_end(level), False
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
                            self.sentences.is_treatment(text)
                            or (low, high) == (start, stop)
                            and (is_measured(text) or self.sentences.is_prose(text, here))
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
                elif kind == "claim" and self.is_plain_claim(level.text[start:opened], level.text[low:high]):
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

    def items(self, level: Level, low: int, high: int, inside: bool) -> list[Part]:
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
        level: Level,
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
        if not heads and (self.match.stands_for_more(name) or (not inside and _BARE_FIGURE.fullmatch(name))):
            # "Other ingredients (milk, salt)" are written out in their bracket.
            return self.brackets(level, a, b) or [self.left_unsaid(level, a, b)]
        for joiner in () if heads else _WORD.finditer(level.text, a, b):
            # "Salt and others" is salt, and what is not said.
            if (joiner.group() == "&" or fold(joiner.group()) in self.words.joiners) and self.match.stands_for_more(
                plain(level.text[joiner.end() : b])
            ):
                before = self.item(level, a, joiner.start(), inside, tail=tail, behind=behind)
                return [*before, *self.brackets(level, joiner.end(), b), self.left_unsaid(level, joiner.end(), b)]
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
            name = re.sub(r"(?:no\.? ?)?([0-9]{3,4}[a-j]?)[/+-]?", r"E\1 ", name).strip()
        elif klass and re.search(r"[0-9]", name) and not _E_NUMBER.search(name):
            return [*inner, self.left_unsaid(level, a, b)]  # a number of an additive that is not read as one
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

    def left_unsaid(self, level: Level, a: int, b: int) -> Part:
        """A part that stands for something that is not written out: "other ingredients", "see overleaf"."""
        said = plain(level.text[a:b])
        start = next((i for i in range(a, b) if level.text[i].isalnum()), a)
        place = self.place(level.at[start], len(said))
        self.unsaid.setdefault(fold(said), Unread(said, place))
        return Part(said, how=NOT, place=place)

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

    def leave(self, level: Level, word: str, a: int, b: int) -> tuple[str, ...]:
        """Note a word that could not be read, at its place; returns the allergens whose names are close to it."""
        at = level.text.find(word, a, b)
        unread = Unread(
            word, self.place(level.at[max(at, a)], len(word)), self.match.compounds.near(word) if self.guess else ()
        )
        return self.unread.setdefault(fold(word), unread).near

    def brackets(self, level: Level, a: int, b: int) -> list[Part]:
        """The parts of the brackets that open between ``a`` and ``b``."""
        return [p for at, within in level.within.items() if a <= at < b for p in self.level(within, True)]

    def additive(self, part: Part) -> bool:
        """Whether a part is an E number or begins with a class of additive."""
        return bool(_E_NUMBER.fullmatch(part.words) or self.match.without_class(part.words)[0])

    def emphasised(self, level: Level, a: int, b: int) -> bool:
        """Whether the text stresses something between ``a`` and ``b``, by signs or by capitals."""
        shouted = self.capitals and any(w not in self.words.capitals for w in _CAPITALS.findall(level.text, a, b))
        return shouted or any(level.at[i] in self.marked for i in range(a, b) if level.text[i].isalnum())

    def statement(self, level: Level, kind: str, opened: int, low: int, high: int) -> list[Part]:
        """What follows an opener: contained, perhaps contained, or not to be relied on."""
        said, place = plain(level.text[opened:high]), self.place(level.at[opened], high - opened)
        found, inner = Recognised(), self.brackets(level, opened, low)
        # The opener's own words may name an allergen too: "made in a bakery with milk that also uses egg".
        for a, b in [*_split(level.text, low, high, ",;:"), *([(opened, low)] if kind == "may" else [])]:
            if kind != "aside" and a >= low and self.match.stands_for_more(plain(level.text[a:b])):
                inner += [*self.brackets(level, a, b), self.left_unsaid(level, a, b)]
                continue
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
            # "Contains allergens", "may contain traces": something is, and it is not said what.
            said_of = fold(plain(level.text[low:high])).split()
            is_last = not plain(level.text[high:]) and not plain(re.split(r"[.;!?]", level.text[:opened])[-1])
            if (said_of or is_last) and all(
                w in self.words.unsaid_beside or w in self.words.unsaid or w.isdigit() for w in said_of
            ):
                self.unsaid.setdefault(fold(said), Unread(said, place))
            return []
        nodes, may = (
            (tuple(found.nodes), tuple(found.may)) if kind == "contains" else ((), tuple(found.nodes | found.may))
        )
        return [
            Part(said, nodes=nodes, may=may, unknown=tuple(found.unknown), parts=tuple(inner), how=SAID, place=place)
        ]

    def is_plain_claim(self, before: str, said: str) -> bool:
        """Whether nothing in its sentence can turn a claim round.

        "In no way free from nuts" is no claim, and nor is "no nuts except almonds".
        """
        if not self.words.turns.isdisjoint(fold(plain(said)).split()):
            return False
        words = fold(plain(re.split("[,;:]", before)[-1])).split()
        return all(w in self.words.subjects for w in words)

    def names_an_animal(self, parts: tuple[Part, ...]) -> bool:
        """Whether a food from an animal is named, so that it is no wonder if the product is not for vegetarians."""
        animal = kinds.load()[0].below("animal_product")
        entries = (self.match.catalogue.by_id(key) for part in parts for one in part.all() for key in one.entries)
        return any(entry is not None and not animal.isdisjoint(entry.kinds) for entry in entries)

    def is_bare(self, text: str) -> bool:
        """Whether a piece names an allergen and nothing else."""
        here = self.match.segments(plain(text), statement=True)
        return not (here.names or here.left or GROUP in text or not plain(text)) and bool(here.nodes)

    def claim(self, level: Level, opened: int, low: int, high: int, inside: bool, heads: bool) -> list[Part]:
        """What the label says is not in it: it removes nothing, and what follows it in a list is an ingredient.

        ``heads``: the claim begins its sentence, so several bare allergens in a row are all claimed absent.
        """
        end = low
        pieces = list(_split(level.text, low, high, ",;"))
        # A row in which something else stands is a list, and only its beginning is a claim: "no nuts, milk, salt".
        heads = heads and not inside and all(self.is_bare(level.text[a:b]) for a, b in pieces[1:])
        for a, b in pieces:
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


def _split(text: str, low: int, high: int, signs: str) -> Iterator[tuple[int, int]]:
    """The stretches between ``signs``."""
    for i in range(low, high + 1):
        if i == high or text[i] in signs:
            yield low, i
            low = i + 1


def _percent(level: Level, a: int, b: int) -> Fraction | None:
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
    level, faults = levels(reader.text, reader.marked)
    reader.problems += [
        error("label-brackets", reader.place(at), f"{said}, at character {at + 1} of the label's text")
        for at, said in faults[:MAX_BRACKET_PROBLEMS]
    ]
    parts = tuple(reader.with_title(reader.level(level, False)))
    for piece in () if reader.names_an_animal(parts) else re.finditer(r"[^.,;:!?()\[\]\n]+", reader.text):
        told = fold(piece.group()).split()
        if not reader.words.denials.isdisjoint(told) and not reader.words.denied.isdisjoint(told):
            words_said = plain(piece.group())
            where = reader.place(piece.start(), len(piece.group()))
            reader.unsaid.setdefault(fold(words_said), Unread(words_said, where))
    for cut in _CUT_OFF.finditer(reader.text):
        reader.unsaid.setdefault(cut.group(), Unread(cut.group(), reader.place(cut.start(), len(cut.group()))))
    reader.unread |= reader.unsaid
    reader.unrecognised |= dict.fromkeys(one.word for one in reader.unsaid.values())
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
