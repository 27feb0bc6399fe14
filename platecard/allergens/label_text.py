"""The text printed on a bought-in product, read part by part, and held against what the kitchen declared.

Nothing here is a proof of absence.  What is not recognised is listed, a claim such as
"free from nuts" is never believed, and an allergen found anywhere in the text counts,
whatever brackets or words stand round it.  The words of statements are data
(``data/labels.yaml``); the names of foods are the catalogue's and the taxonomy's.
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Container, Iterable, Iterator, Mapping
from dataclasses import dataclass, field
from fractions import Fraction
from functools import cache

from ..knowledge import store
from ..knowledge.catalogue import ANY, Catalogue, Entry
from ..knowledge.taxonomy import Taxonomy
from ..knowledge.words import fold
from ..problems import Problem, Span, advice, did_you_mean, error, warning

MAX_TEXT, MAX_DEPTH, MAX_NAME_WORDS, MAX_BRACKET_PROBLEMS = 20_000, 12, 7, 5
CATALOGUE, WORD, PLAIN, INSIDE, SAID, NOT = "catalogue", "allergen word", "plain word", "inside", "statement", "not recognised"
_GROUP, _PERCENT = "\ue000", "\ue001"
_PAIRS = {")": "(", "]": "[", "}": "{"}
_SAME = str.maketrans({"（": "(", "）": ")", "［": "[", "］": "]", "，": ",", "；": ";", "：": ":", "•": ",", "|": ",", "–": "-", "—": "-", "’": "'", "‘": "'",
                       "\n": " ", "\r": " ", "\t": " ", "\xa0": " ", _GROUP: " ", _PERCENT: " ", '"': " ", "“": " ", "”": " "})
_TOKEN = re.compile(r"(?P<percent>(?:[<>≤≥~≈]\s?)?(?:\d{1,3}(?:[.,]\d{1,4})?\s?-\s?)?(?P<number>\d{1,3}(?:[.,]\d{1,4})?)\s?%)"
                    r"|(?P<e>(?<!\w)(?:E|INS)[\s-]?(?P<digits>\d{3,4})\s?(?P<letter>[a-hj])?(?:\s?\((?:i{1,3}|iv|vi?)\)|\s?(?:i{1,3}|iv|vi?))?(?!\w))"
                    r"|(?P<open>[(\[{])|(?P<close>[)\]}])|(?P<one>.)", re.IGNORECASE | re.DOTALL)
_STRESS = re.compile(r"([*_]{1,3})(?=[^\s*_])[^*_,;()\[\]{}]{1,80}?(?<=\S)\1")
_CAPITALS = re.compile(r"[A-ZÀ-ÖØ-Þ]{3,}")
_WORDS = re.compile(r"[\w'&]+")
_E_NUMBER = re.compile(r"E?\d{3,4}[a-j]?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Part:
    """One part of the text with its own allergens; what stands in its brackets is in ``parts``.

    ``unknown`` are nodes (or ``any``) that the text leaves open, ``forms`` the exempted
    form a node takes here, ``how`` the way it was settled.
    """

    words: str
    matched: str = ""
    nodes: tuple[str, ...] = ()
    may: tuple[str, ...] = ()
    unknown: tuple[str, ...] = ()
    emphasised: bool = False
    percent: Fraction | None = None
    parts: tuple["Part", ...] = ()
    how: str = NOT
    forms: tuple[tuple[str, str], ...] = ()
    place: Span | None = field(default=None, compare=False)

    def all(self) -> Iterator["Part"]:
        """The part and what stands in its brackets; a statement already speaks for its own."""
        yield self
        for part in self.parts if self.how != SAID else ():
            yield from part.all()


@dataclass(frozen=True, slots=True)
class ReadLabel:
    """A label's text as read; nodes stand in the order of the taxonomy, ``any`` first."""

    parts: tuple[Part, ...] = ()
    contains: tuple[str, ...] = ()
    may_contain: tuple[str, ...] = ()
    open: tuple[str, ...] = ()
    unrecognised: tuple[str, ...] = ()

    @property
    def settled(self) -> bool:
        """True if the text alone answers every question about its allergens."""
        return bool(self.parts) and not self.open and not self.unrecognised

    def all(self) -> Iterator[Part]:
        return (p for part in self.parts for p in part.all())


# --------------------------------------------------------------------------- the words of labels


@dataclass(frozen=True, slots=True)
class Words:
    """``data/labels.yaml``, folded for comparison."""

    openers: re.Pattern
    made_of: re.Pattern
    full_stop: re.Pattern
    classes: frozenset[str]
    neutral: dict[str, tuple[str, ...]]
    beside: frozenset[str]
    plain: frozenset[str]
    allergens: dict[str, tuple[str, ...]]
    said: frozenset[str]
    capitals: frozenset[str]
    kinds_wanted: tuple[str, ...]
    seldom: tuple[str, ...]
    limited: dict[str, tuple[str, ...]]


@cache
def words() -> tuple[Words, tuple[Problem, ...]]:
    """The words of labels in all languages, and the problems of their file."""
    made, problems = store.rows(store.texts("labels.yaml"), lambda trees: (next((store.placed(t) for t in trees.values()), {}), ()), "labels")
    tongues = [t for k, t in made["languages"].items() if k != store.PLACE]

    def gather(key: str) -> list:
        return [w for t in tongues for w in t.get(key, ())]

    def folded(key: str) -> frozenset[str]:
        return frozenset(fold(w) for w in gather(key))

    def table(rows: Iterable[dict]) -> dict[str, tuple[str, ...]]:
        return {fold(k): tuple(v) for row in rows for k, v in row.items() if k != store.PLACE}

    kinds = "|".join(f"(?P<{kind}>{'|'.join(_pattern(p) for t in tongues for p in t['openers'].get(kind, ()))})" for kind in ("aside", "list", "may", "contains"))
    made_of = "|".join(_pattern(p) for p in sorted(gather("made_of"), key=len, reverse=True))
    shorts = "".join(rf"(?<!\b{re.escape(a)})" for a in gather("abbreviations"))
    return Words(re.compile(rf"(?<!\w)(?:{kinds})(?!(?<=\w)\w)", re.IGNORECASE), re.compile(rf"(?<!\w)(?:{made_of})(?!\w)", re.IGNORECASE),
                 re.compile(rf"{shorts}[.!](?=[\s{_GROUP}]|$)", re.IGNORECASE), folded("classes"),
                 {**{w: () for w in folded("neutral") | folded("joiners")}, **table(t.get("neutral_but", {}) for t in tongues)}, folded("beside"), folded("plain"),
                 table(t.get("allergens", {}) for t in tongues), folded("said"), frozenset(gather("capitals")), tuple(made["kinds_wanted"]),
                 tuple(made["seldom_declared"]), {k: tuple(fold(w) for w in v) for k, v in made["below_a_limit"].items() if k != store.PLACE}), problems


def _pattern(phrase: str) -> str:
    return re.sub(r"\((?!\?)", "(?:", phrase).replace(" ... ", r"\b[^.;]{0,60}?\b").replace(" ", r"\s+")


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
    def __init__(self, text: str, span: Span, catalogue: Catalogue, taxonomy: Taxonomy):
        self.text, self.span, self.catalogue, self.taxonomy = text.translate(_SAME), span, catalogue, taxonomy
        self.words, found = words()
        self.problems: list[Problem] = list(found)
        self.unrecognised: dict[str, None] = {}
        self.marked = {i for m in _STRESS.finditer(self.text) for i in range(m.start(), m.end())}
        listed = re.findall(r"[^\W\d_]{3,}", self.words.openers.sub(" ", self.text))
        # Capitals stress something only where not all is in capitals.
        self.capitals = any(not w.isupper() for w in listed)
        self.known: dict[str, Entry | None] = {}

    def place(self, offset: int, length: int = 1) -> Span:
        """The place in the file, where the text stands there as it is read."""
        quotes = self.span.length - len(self.text)
        if "\n" in self.text or (quotes not in (0, 2) and self.span.length > 1):
            return self.span
        return Span(self.span.file, self.span.line, self.span.column + offset + (1 if quotes == 2 else 0), max(1, length))

    def levels(self) -> _Level:
        """The brackets as a tree.  Faults are reported, and every character stays in."""
        stack, opened, deeper, faults = [_Level()], [], 0, []
        for m in _TOKEN.finditer(self.text):
            top, at = stack[-1], m.start()
            if m["percent"]:
                top.percents[len(top.chars)] = Fraction(m["number"].replace(",", "."))
                top.add(_PERCENT, at)
            elif m["e"]:
                top.add(f"E{m['digits']}{(m['letter'] or '').lower()}", at)
            elif m["open"] and len(stack) > MAX_DEPTH:
                faults += [(at, f"brackets are nested more than {MAX_DEPTH} deep")] if not deeper else []
                deeper += 1
                top.add(",", at)
            elif m["open"]:
                level = _Level(at)
                top.within[len(top.chars)] = level
                top.add(_GROUP, at)
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
        self.problems += [error("label-brackets", self.place(at), f"{said}, at character {at + 1} of the label's text") for at, said in faults[:MAX_BRACKET_PROBLEMS]]
        stack[0].close()
        return stack[0]

    # ----------------------------------------------------------------------- levels to parts

    def level(self, level: _Level, inside: bool) -> list[Part]:
        found: list[Part] = []
        start = 0
        for stop in [*(m.start() for m in self.words.full_stop.finditer(level.text)), len(level.text)]:
            kind, opened, low = "list", start, start
            for m in [*self.words.openers.finditer(level.text, start, stop), None]:
                high = m.start() if m else stop
                found += self.items(level, low, high, inside) if kind == "list" else self.statement(level, kind, opened, low, high)
                if m:
                    kind, opened, low = m.lastgroup, m.start(), m.end()
            start = stop + 1
        return found

    def items(self, level: _Level, low: int, high: int, inside: bool) -> list[Part]:
        """The ingredients between commas.  ``sponge: flour, egg`` is read as a heading and its list."""
        found: list[Part] = []
        for a, b in _split(level.text, low, high, ",;"):
            colon = level.text.find(":", a, b)
            if colon > a and fold(_plain(level.text[a:colon])) not in self.words.classes:
                found += self.item(level, a, colon, inside, heads=True)
                a = colon + 1
            found += self.item(level, a, b, inside)
        return found

    def item(self, level: _Level, a: int, b: int, inside: bool, heads: bool = False) -> list[Part]:
        name, klass = _plain(level.text[a:b]), ""
        full = name
        made_of = self.words.made_of.search(level.text, a, b) if not self.exact(name) else None
        inner = [p for at, within in level.within.items() if a <= at < (made_of.start() if made_of else b) for p in self.level(within, True)]
        if made_of:
            inner += self.item(level, made_of.end(), b, True)
            full = name = _plain(level.text[a : made_of.start()])
        if not self.exact(name):
            klass, name = self.without_class(name)
        name = f"E{name}" if name.isascii() and re.fullmatch(r"\d{3,4}[a-j]?", name) else name
        if not name and not klass:
            return inner
        start = next((i for i in range(a, b) if level.text[i].isalnum()), a)
        found = self.match(name or (klass if not inner else ""), inside)
        if found.idle and (inside or found.idle == "said"):
            return inner
        # A bracket answers for its head if it lists ingredients; one word, if that was the question.
        real = [p for p in inner if p.how not in (NOT, SAID) and not self.additive(p)]
        listing = heads or (len(real) > 1 and inner[0] is real[0])
        if len(inner) == 1 and not inner[0].parts and (entry := self.joined(inner[0].words, name, found)):
            found.take(entry, CATALOGUE, instead=True)
        elif listing or (real and found.asked):
            found.unknown = {}
        how = found.how if not found.left else WORD if found.nodes else NOT
        if klass and not name and inner or (how == NOT and listing):
            how, found.left = INSIDE, []
        for word in found.left:
            if _E_NUMBER.fullmatch(word):
                where = max(level.text.find(word, a, b), a)
                self.problems.append(error("unknown-e-number", self.place(level.at[where], len(word)), f"no additive with the number {word} is known here",
                                           did_you_mean(word, (e.upper() for e in self.catalogue.near(word))), "look at the pack again, or give the additive's name"))
        if found.left:
            self.unrecognised[full] = None
        signs = level.text[a:b]
        shouted = self.capitals and any(w not in self.words.capitals for w in _CAPITALS.findall(signs))
        percent = next((v for at, v in level.percents.items() if a <= at < b), None)
        if percent is None:
            percent = next((next(iter(w.percents.values())) for at, w in level.within.items() if a <= at < b and w.percents and not _plain(w.text)), None)
        return [Part(full, ", ".join(found.names), tuple(found.nodes), tuple(n for n in found.may if n not in found.nodes),
                     tuple(n for n in found.unknown if n not in found.nodes), shouted or any(level.at[i] in self.marked for i in range(a, b) if level.text[i].isalnum()),
                     percent, tuple(inner), how, tuple(found.forms.items()), self.place(level.at[start], b - start))]

    def statement(self, level: _Level, kind: str, opened: int, low: int, high: int) -> list[Part]:
        """What follows an opener: contained, perhaps contained, or not to be relied on."""
        said = _plain(level.text[opened:high])
        found = _Found()
        inner: list[Part] = []
        for a, b in _split(level.text, low, high, ",;:"):
            here = self.segments(_plain(level.text[a:b]), statement=True)
            if here.left and kind != "aside":
                inner += self.item(level, a, b, True)
            else:
                inner += [p for at, within in level.within.items() if a <= at < b for p in self.level(within, True)]
            found.nodes |= here.nodes
        if kind == "may":
            found.nodes |= self.segments(_plain(level.text[opened:low]), statement=True).nodes
        if kind == "aside":
            found.nodes |= {n: None for p in inner for q in p.all() for n in q.nodes}
            if any(not self.seldom(n) for n in found.nodes):
                self.unrecognised[said] = None
                return [Part(said, unknown=tuple(found.nodes), parts=tuple(inner), how=SAID, place=self.place(level.at[opened]))]
            return []
        inside = [q for p in inner for q in p.all()]
        nodes = tuple(dict.fromkeys([*found.nodes, *(n for p in inside for n in p.nodes)]))
        may = tuple(dict.fromkeys(n for p in inside for n in p.may))
        if not nodes and not may and not inner:
            return []
        unknown = tuple(dict.fromkeys(n for p in inside for n in p.unknown))
        return [Part(said, nodes=nodes if kind == "contains" else (), may=may if kind == "contains" else tuple(dict.fromkeys([*nodes, *may])), unknown=unknown,
                     parts=tuple(inner), how=SAID, place=self.place(level.at[opened], high - opened))]

    # ----------------------------------------------------------------------- words to foods

    def exact(self, name: str) -> Entry | None:
        """The one entry of this name; a find that had to reorder words does not count."""
        if name not in self.known:
            found = self.catalogue.find(name) if 0 < len(name) <= 90 else None
            self.known[name] = found.entry if found and not found.read_as else None
        return self.known[name]

    def without_class(self, name: str) -> tuple[str, str]:
        """``emulsifier: soya lecithin`` as the class and the rest."""
        tokens = list(_WORDS.finditer(name))
        for size in (3, 2, 1):
            if len(tokens) >= size and fold(name[: tokens[size - 1].end()]) in self.words.classes:
                return name[: tokens[size - 1].end()], _plain(name[tokens[size - 1].end() :])
        return "", name

    def additive(self, part: Part) -> bool:
        return bool(_E_NUMBER.fullmatch(part.words)) or bool(self.without_class(part.words)[0])

    def joined(self, source: str, name: str, found: "_Found") -> Entry | None:
        """The entry that head and bracket name together: ``lecithin (soya)``, ``glucose syrup (maize)``."""
        for head in dict.fromkeys((name, *found.names)) if source and found.unknown else ():
            entry = self.catalogue.find(f"{source} {head}").entry
            if entry and entry.name not in found.names:
                return entry
        return None

    def match(self, name: str, inside: bool) -> "_Found":
        if inside and (nodes := self.allergen(name)):
            return _Found(dict.fromkeys(nodes), names=[], how=WORD)
        if entry := self.exact(name):
            return _Found().take(entry, CATALOGUE)
        return self.segments(name)

    def allergen(self, name: str) -> tuple[str, ...]:
        node = self.taxonomy.find(name)
        return (node,) if node else self.words.allergens.get(fold(name), ())

    def segments(self, name: str, statement: bool = False) -> "_Found":
        """All the longest names within ``name``, overlapping ones too: ``coconut milk chocolate`` holds milk."""
        tokens = [m.group() for m in _WORDS.finditer(name)]
        found = self._segments(tokens, statement, beside=len(tokens) > 1)
        return found if found.how != NOT or statement else self._segments(tokens, statement, beside=False)

    def _segments(self, tokens: list[str], statement: bool, beside: bool) -> "_Found":
        found, reach, idle, kinds = _Found(), 0, [], set()
        for i in range(len(tokens)):
            for j in range(min(len(tokens), i + MAX_NAME_WORDS), max(i, reach), -1):
                window = " ".join(tokens[i:j])
                key, entry = fold(window), None
                if statement and (nodes := self.allergen(window)):
                    found.nodes |= dict.fromkeys(nodes)
                    kinds.add(WORD)
                elif statement and key in self.words.said:
                    idle.append("said")
                elif key in self.words.neutral or (beside and key in self.words.beside):
                    found.unknown |= dict.fromkeys(self.words.neutral.get(key, ()))
                    idle.append("beside" if key in self.words.beside else "neutral")
                elif entry := self.exact(window):
                    found.take(entry, CATALOGUE)
                    kinds.add(CATALOGUE)
                elif nodes := self.allergen(window):
                    found.nodes |= dict.fromkeys(nodes)
                    kinds.add(WORD)
                elif key in self.words.plain:
                    kinds.add(PLAIN)
                elif key in self.words.said and not beside:
                    idle.append("said")
                else:
                    continue
                reach = j
                break
            else:
                if i >= reach:
                    found.left.append(tokens[i])
        found.how = next((k for k in (CATALOGUE, WORD, PLAIN) if k in kinds), NOT)
        if not kinds and tokens and not found.left:
            found.idle = "said" if set(idle) == {"said"} else "neutral" if "beside" not in idle else ""
            found.left = [] if statement else list(tokens)
        return found

    def seldom(self, node: str) -> bool:
        return any(self.taxonomy.is_under(node, root) for root in self.words.seldom)


@dataclass(slots=True)
class _Found:
    """What words were found to be, while they are being read.  ``idle``: they name no food at all."""

    nodes: dict[str, None] = field(default_factory=dict)
    may: dict[str, None] = field(default_factory=dict)
    unknown: dict[str, None] = field(default_factory=dict)
    forms: dict[str, str] = field(default_factory=dict)
    names: list[str] = field(default_factory=list)
    left: list[str] = field(default_factory=list)
    how: str = NOT
    idle: str = ""
    asked: bool = False

    def take(self, entry: Entry, how: str, instead: bool = False) -> "_Found":
        """Add an entry; ``instead``: it answers what was open."""
        self.unknown = {} if instead else self.unknown
        self.names = [] if instead else self.names
        self.asked = bool(entry.ask) and (self.asked or not self.names)
        open_limit = entry.so2_mg_kg is not None and "sulphite" not in entry.contains
        self.forms = {n: f for n, f in self.forms.items() if n not in entry.contains} | {n: f for n, f in entry.form if n in entry.contains and n not in self.nodes}
        self.nodes |= dict.fromkeys(entry.contains)
        self.may |= dict.fromkeys(entry.may)
        self.unknown |= dict.fromkeys((*entry.depends, *(["sulphite"] if open_limit else [])))
        self.names += [entry.name] if entry.name not in self.names else []
        self.how = how
        return self


def _split(text: str, low: int, high: int, signs: str) -> Iterator[tuple[int, int]]:
    for i in range(low, high + 1):
        if i == high or text[i] in signs:
            yield low, i
            low = i + 1


def _plain(text: str) -> str:
    return " ".join(text.replace(_GROUP, " ").replace(_PERCENT, " ").split()).strip(" .:-,;/+!'")


def read(text: str, span: Span, catalogue: Catalogue, taxonomy: Taxonomy) -> tuple[ReadLabel, tuple[Problem, ...]]:
    """A label's text as parts, with the problems of the text itself.  Never raises."""
    if len(text) > MAX_TEXT:
        return ReadLabel(unrecognised=(text[:40] + "…",)), (error("label-too-long", span, f"the label's text has {len(text)} characters; the limit is {MAX_TEXT}"),)
    reader = _Reader(text, span, catalogue, taxonomy)
    parts = tuple(reader.level(reader.levels(), False))
    every = [q for p in parts for q in p.all()]
    order = {n: i for i, n in enumerate((ANY, *taxonomy.kinds))}

    def nodes(key: str) -> tuple[str, ...]:
        return tuple(sorted({n for p in every for n in getattr(p, key)}, key=lambda n: order.get(n, len(order))))

    if not parts:
        reader.problems.append(error("label-empty", span, "the label's text names no ingredient", "type the list of ingredients as printed, or leave the text out"))
    return ReadLabel(parts, nodes("nodes"), nodes("may"), nodes("unknown"), tuple(reader.unrecognised)), tuple(reader.problems)


# --------------------------------------------------------------------------- the text against the kitchen's lists


def compare(label: ReadLabel, contains: Mapping[str, Span], may: Mapping[str, Span], taxonomy: Taxonomy, span: Span,
            watched: Container[str] = ()) -> tuple[Problem, ...]:
    """Where the text and the kitchen's lists (node → place) differ.

    A node agrees with what stands above and below it.  ``watched`` are nodes that the
    laws in force declare although most laws do not.
    """
    data, _ = words()
    found: list[Problem] = []
    every = list(label.all())
    name = taxonomy.name

    def related(node: str, others: Iterable[str]) -> bool:
        return any(taxonomy.is_under(node, o) or taxonomy.is_under(o, node) for o in others)

    def quiet(node: str) -> bool:
        return node not in watched and any(taxonomy.is_under(node, root) for root in data.seldom)

    aside: dict[str, None] = {}
    for node in label.contains:
        holders = [p for p in every if node in p.nodes]
        place, said = holders[0].place or span, f"the text says '{_short(holders[0].words)}', but {name(node)} is not in contains"
        if related(node, contains):
            continue
        if quiet(node):
            aside[name(node)] = None
        elif node in data.limited and not any(f" {w} " in f" {fold(p.words)} " for p in holders for w in data.limited[node]):
            found.append(warning("label-below-limit", place, f"{said}", "right if the label's own level lies below the limit: give that level"))
        elif all(node in dict(p.forms) for p in holders):
            found.append(warning("label-exempt-form", place, f"{said}; it is there as {dict(holders[0].forms)[node].replace('_', ' ')}",
                                 "some laws exempt this form; declare it for all others"))
        else:
            found.append(error("label-undeclared", place, said + (", only in may_contain" if related(node, may) else ""), f"add {name(node)} to contains, or mend the text"))
    for node in dict.fromkeys(n for p in every if p.how == SAID for n in p.may):
        if not related(node, contains) and not related(node, may):
            part = next(p for p in every if p.how == SAID and node in p.may)
            if quiet(node):
                aside[name(node)] = None
            else:
                found.append(error("label-undeclared", part.place or span, f"the text says '{_short(part.words)}', but {name(node)} is not in may_contain",
                                   f"add {name(node)} to may_contain, or mend the text"))
    for node, place in (*contains.items(), *may.items()):
        listed = "contains" if node in contains else "may_contain"
        if related(node, (*label.contains, *label.may_contain)) or (listed == "contains" and (ANY in label.open or related(node, label.open))):
            continue
        make, hint = (warning, "one of the words that were not recognised may be it") if label.unrecognised else (error, "copy the whole text with its statements, or mend the list")
        found.append(make("label-not-in-text", place, f"{name(node)} is in {listed}, but the text does not say it", hint))
    for group in data.kinds_wanted:
        if group in (*contains, *label.contains) and not any(n != group and taxonomy.is_under(n, group) for n in contains):
            named = [name(n) for n in label.contains if n != group and taxonomy.is_under(n, group)]
            found.append(warning("label-which-kind", contains.get(group, span), f"'{name(group)}' does not say which",
                                 f"the text names {', '.join(named)}: declare that" if named else "ask the supplier and declare the kind"))
    for part in every:
        if part.emphasised and part.how != SAID and not any(not quiet(n) for p in part.all() for n in (*p.nodes, *p.may)):
            found.append(warning("label-emphasis", part.place or span, f"the label stresses '{_short(part.words)}', and no allergen is known in it", "look at the pack again"))
    if label.unrecognised:
        found.append(warning("label-words-not-recognised", span, f"not recognised in the label's text: {_some(label.unrecognised)}",
                             "the declared lists decide: check these words against the pack"))
    if vague := tuple(dict.fromkeys(_short(p.words) for p in every if p.unknown)):
        found.append(advice("label-leaves-open", span, f"the text alone does not settle: {_some(vague)}", "the declared lists decide"))
    if aside:
        found.append(advice("label-also-names", span, f"the text also names {_some(tuple(aside))}, which no law in force declares"))
    return tuple(found)


def _short(text: str) -> str:
    return text if len(text) <= 60 else text[:59] + "…"


def _some(items: tuple[str, ...]) -> str:
    return ", ".join(f"'{_short(i)}'" for i in items[:10]) + (f" and {len(items) - 10} more" if len(items) > 10 else "")
