"""Find claims of absence ("nut-free") and claims for a diet ("vegan") by the way they are built.

Each word of a text becomes a letter (``N`` without, ``A`` an allergen, ``F`` free …), and the
structures below are patterns over those letters.  The words come from ``data/claims.yaml`` and
the names of the taxonomy; no whole phrase is listed anywhere.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from functools import cache, lru_cache
from typing import NamedTuple, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, error
from platecard.knowledge import guests, taxonomy
from platecard.knowledge.names import fold
from platecard.yaml_nodes import Mapping, Node

# The letter for the words of each list; for a word in two lists the later one counts.
_LETTERS = {
    "parts": "K",
    "work": "T",
    "foods": "G",
    "places": "B",
    "where": "p",
    "for": "f",
    "in": "i",
    "articles": "t",
    "between": "q",
    "and": "&",
    "or": "o",
    "use": "V",
    "says_so": "C",
    "safe": "S",
    "unsafe": "U",
    "none": "X",
    "contain": "c",
    "not": "Z",
    "do_not": "z",
    "must_not": "m",
    "less": "l",
    "free": "F",
    "allergy": "L",
    "people": "P",
    "diets": "D",
    "none_of": "n",
    "without": "N",
    "freed": "M",
    "ordinary": "w",
}
# These count even if the same word names an allergen.
_OVER_ALLERGENS = ("unsafe", "without", "freed", "none_of", "diets", "ordinary")
_MANY = r"[qtC]*A(?:-?(?:,[qt]*A-?){0,14},?[&o/][qtn]*A)?"
_ELSE = r"(?:[wBGK]{1,2}(?:,[wBGK]{1,2}){0,14},?o)?"  # other foods before the allergen: "sugar, salt or"
_STRUCTURES = {
    name: re.compile(pattern)
    for name, pattern in {
        # "without nuts", "free from sugar or nuts"
        "without": rf"(?P<N>N|M)[-:]?[Vq]{{0,2}}{_ELSE}{_MANY}",
        # "no nuts", "contains no milk", "no dairy in it"
        "no": rf"(?P<n>n)-?{_ELSE}{_MANY}",
        # "does not contain nuts", "we do not use milk"
        "not": rf"Z[qw]?[cV]:?{_MANY}|z[qw]?c:?{_MANY}|(?<=w)z[qw]?V:?{_MANY}",
        # "gluten-free", "milk- and egg-free", "eggless"
        "free": r"(?:A-?(?:,A-?){0,14}[&o/])?(?:A-[FlS]|A[Fl])|[LDP]-?F|[LDP]:?-?S|Y",
        # "nuts are not used", "gluten: none"
        "absent": rf"{_MANY}(?:Z[qt]*[CVc]|Z?[:,-]?X|\.X(?=$|[.,)])|:n(?=$|[.,)]))",
        # "safe for nut allergy", "suitable for a guest who avoids milk"
        "safe": r"S[wqtC]{0,2}[fiV][wqtAVi&o]{0,6}?A?[LPD]",
        # "for coeliacs"
        "people": r"[fp][tqw]{0,2}P",
        # "vegan"
        "diet": r"D",
    }.items()
}
# The rest of a name that begins with a claim: "mayonnaise" after "no egg".
_WHOLE_NAME = re.compile(r"[wG]{1,2}")
_TOKEN = re.compile(r"\b[dlnDLN](?=['’])|[^\W_]+(?:['’][^\W_]+)*")
_PLAIN = re.compile(r"[a-z0-9]+")
_WORD_END = r"(?![a-z0-9])"
# The letters between words; a non-breaking hyphen is a hyphen too.
_GAP = {
    ",": ",",
    "–": ",",
    "—": ",",
    "/": "/",
    "-": "-",
    "\u2011": "-",
    ":": ":",
    "(": "(",
    ")": ")",
    **dict.fromkeys(".;!?", "."),
}
_ENDS = frozenset(".,:;()/")


class Claim(NamedTuple):
    """A claim in a text: its words, where they start and end, and whether it is for a diet or a condition."""

    words: str
    start: int
    end: int
    is_diet: bool


class Lexicon(NamedTuple):
    """The words of claims, folded.

    ``letters`` has the letter of each word or name, and ``longest`` the most words of any name by its
    first word.  A text without one of the ``triggers`` (in ``unfolded`` as they may be written) makes
    no claim, unless a word ends with a word of freedom (``written_together``, as a pattern ``endings``)
    or ``marks`` matches, a sign such as "(gf)".  ``not_free`` and ``not_less`` are words before
    which "free" and "less" make no claim.
    """

    letters: dict[str, str]
    longest: dict[str, int]
    triggers: frozenset[str]
    unfolded: frozenset[str]
    written_together: tuple[str, ...]
    endings: re.Pattern[str]
    not_free: frozenset[str]
    not_less: frozenset[str]
    marks: re.Pattern[str]


def find(text: str, as_name: bool = False) -> tuple[Claim, ...]:
    """The claims in ``text``, in order; in a name or title (``as_name``), "no butter" is a claim as "no milk" is."""
    return _find(text, as_name) if text else ()


@lru_cache(maxsize=4096)
def _find(text: str, as_name: bool) -> tuple[Claim, ...]:
    known = lexicon()[0]
    if text.isascii():
        # Most texts claim nothing, which can be seen before any word is folded.
        low = text.lower()
        is_plain = known.unfolded.isdisjoint(_PLAIN.findall(low.replace("'", "")))
        if is_plain and not known.endings.search(low) and not known.marks.search(text):
            return ()
    words = [(fold(m.group()), m.start(), m.end()) for m in _TOKEN.finditer(text)]
    if not any(_may_begin(word, known) for word, _, _ in words) and not known.marks.search(text):
        return ()
    tags, spans, said = _tagged(text, words, known)
    if as_name:
        tags = tags.replace("G", "A")
    found = {(m.start(), m.end()): True for m in known.marks.finditer(text)}
    for name, pattern in _STRUCTURES.items():
        for m in pattern.finditer(tags):
            is_name = name == "no" and as_name and not m.start() and _WHOLE_NAME.fullmatch(tags, m.end())
            if is_name or _HOLDS.get(name, _always)(tags, m, said, known):
                is_diet = name in ("safe", "people", "diet") or "D" in m.group() or "P" in m.group()
                found.setdefault((spans[m.start()][0], spans[m.end() - 1][1]), is_diet)
    kept: list[tuple[int, int]] = []
    for span in sorted(found, key=lambda s: (s[0], -s[1])):
        if not kept or span[0] >= kept[-1][1]:
            kept.append(span)
    return tuple(Claim(text[a:b], a, b, found[a, b]) for a, b in kept)


def without(name: str) -> str:
    """A name without the claims in it: ``oats`` for ``gluten-free oats``; empty if there is nothing else in it."""
    claims = find(name, as_name=True)
    if not claims:
        return name
    left = name
    for claim in reversed(claims):
        left = left[: claim.start] + "\0" + left[claim.end :]
    left = re.sub(r"\(\s*\0[\s\0,]*\)", "", left)
    left = re.sub(r"\s*\0\s*(?=[,;)]|$)", "", left).replace("\0", "")
    left = re.sub(r"\s+", " ", re.sub(r"\s*,(\s*,)+", ",", re.sub(r"\(\s*,?\s*", "(", left))).strip(" ,;:-–&")
    left = re.sub(r"^(?:and|or|with)\s+", "", left).replace("( ", "(").replace("()", "").strip()
    return left[:1].upper() + left[1:] if name[:1].isupper() else left


def shown(name: str) -> str:
    """A name as cards and pages print it: without its claims, but never empty."""
    return without(name) or "bought-in product"


def in_full(name: str) -> str:
    """A name as shopping and prep lists print it, with the name as sold in quotation marks if that makes a claim."""
    short = shown(name)
    return name if short == name else f'{short}, sold as "{name}"'


def _may_begin(word: str, known: Lexicon) -> bool:
    return word in known.triggers or (word.endswith(known.written_together) and _together(word, known))


def _together(word: str, known: Lexicon) -> bool:
    """Whether ``word`` is an allergen and a word of freedom written as one word: dairyfree, laktosefrei, eggless."""
    for ending in known.written_together:
        if word.endswith(ending) and len(word) > len(ending):
            stem = word[: -len(ending)]
            if any(known.letters.get(s) in ("A", "G") for s in (stem, fold(stem + "s"), stem[:-1])):
                return True
    return False


def _tagged(
    text: str, words: list[tuple[str, int, int]], known: Lexicon
) -> tuple[str, list[tuple[int, int]], list[str]]:
    """The letters of the words and of the marks between them, the place of each in the text, and what was read."""
    tags: list[str] = []
    spans: list[tuple[int, int]] = []
    said: list[str] = []
    at = 0
    end = 0
    while at < len(words):
        word, start, stop = words[at]
        for mark in text[end:start]:
            if mark in _GAP:
                tags.append(_GAP[mark])
                spans.append((start, start))
                said.append(mark)
        run, letter = 1, ""
        for many in range(min(known.longest.get(word, 1), len(words) - at), 0, -1):
            name = " ".join(w for w, _, _ in words[at : at + many])
            # The words of one name follow each other without a comma or the like between them.
            if name in known.letters and (many == 1 or not _ENDS.intersection(text[start : words[at + many - 1][2]])):
                run, letter, word = many, known.letters[name], name
                break
        tags.append(letter or ("Y" if _together(word, known) else "q" if word.isdigit() else "w"))
        end = words[at + run - 1][2]
        spans.append((start, end))
        said.append(word)
        at += run
    return "".join(tags), spans, said


# --------------------------------------------------------------------------- what looks like a claim and is none


def _always(tags: str, m: re.Match[str], said: list[str], known: Lexicon) -> bool:
    return True


def _sentence(tags: str, at: int) -> int:
    """Where the sentence around ``at`` begins."""
    return tags.rfind(".", 0, at) + 1


def _before(tags: str, m: re.Match[str]) -> str:
    """The letter before the match, if any."""
    return tags[max(0, m.start() - 1) : m.start()]


def _is_of_a_part(tags: str, m: re.Match[str], said: list[str]) -> bool:
    """Whether it is about a part or a mishap of the food: "without the egg shell", "without the fish breaking"."""
    rest = tags[m.end() :]
    after = rest.lstrip("-")
    return after[:1] == "K" or (after[:1] == "w" and said[len(tags) - len(after)].endswith("ing"))


def _is_of_a_place(tags: str, m: re.Match[str]) -> bool:
    """Whether it is about a place in the kitchen: "no nuts on this board", "board: no nuts"."""
    before = tags[: m.start()].rstrip(":,-")
    return bool(re.match(r"[wC]?[pi][tqw]{0,3}B", tags[m.end() :])) or before.endswith("B")


def _without(tags: str, m: re.Match[str], said: list[str], known: Lexicon) -> bool:
    if _is_of_a_part(tags, m, said) or (m["N"] == "M" and "T" in tags[_sentence(tags, m.start()) : m.start()]):
        return False
    return "V" in tags[max(0, m.start() - 2) : m.start()] or not _is_of_a_place(tags, m)


def _no(tags: str, m: re.Match[str], said: list[str], known: Lexicon) -> bool:
    if _is_of_a_part(tags, m, said) or _is_of_a_place(tags, m):
        return False
    before, after = _before(tags, m), tags[m.end() : m.end() + 2]
    ends = not after or after[0] in ".,:()/CVFXi" or after in ("-c", "-V")
    return ends or m[0][1] == "-" or before in ("c", "V", "f")


def _free(tags: str, m: re.Match[str], said: list[str], known: Lexicon) -> bool:
    last = m.group()[-1]
    after = said[m.end()] if m.end() < len(said) else ""
    if last in "Fl":
        if after in (known.not_free if last == "F" else known.not_less):
            return False
        # "prise the oyster free from its shell", but "a dairy free pudding"
        goes_on = last == "F" and tags[m.end() : m.end() + 1] == "w"
        return m.group()[-2] == "-" or _before(tags, m) != "t" or goes_on
    return last == "Y" or _before(tags, m) not in ("Z", "z", "n", "m")


def _not_denied(tags: str, m: re.Match[str], said: list[str], known: Lexicon) -> bool:
    """Whether nothing before it denies it, as in "not suitable for vegans" and "leave off for coeliacs"."""
    before = tags[_sentence(tags, m.start()) : m.start()]
    return not re.search(r"[ZzmUT]", before) and not re.search(r"n[tqw]?$", before)


def _diet(tags: str, m: re.Match[str], said: list[str], known: Lexicon) -> bool:
    before = tags[max(0, m.start() - 3) : m.start()].rpartition(".")[2]
    return (
        not re.search(r"[ZzmnNU][tqwfi]{0,2}-?$|U", before) and "U" not in tags[_sentence(tags, m.start()) : m.start()]
    )


# Whether a match of each structure is a claim; the others always are.
_HOLDS: dict[str, Callable[[str, re.Match[str], list[str], Lexicon], bool]] = {
    "without": _without,
    "no": _no,
    "free": _free,
    "safe": _not_denied,
    "people": _not_denied,
    "diet": _diet,
}


# --------------------------------------------------------------------------- the words


class _Rows(TypedDict):
    letters: dict[str, str]
    longest: dict[str, int]
    marks: dict[str, list[str]]
    free: list[str]
    not_free: list[str]
    not_less: list[str]


@cache
def lexicon() -> tuple[Lexicon, tuple[Problem, ...]]:
    """The words of claims, and the problems of their file."""
    made, problems = packaged_tables.rows(
        packaged_tables.texts("claims.yaml", "taxonomy.yaml", "guests.yaml"), _collect, "claims"
    )
    letters, marks = made["letters"], made["marks"]
    begins = frozenset(name.partition(" ")[0] for name, letter in letters.items() if letter in "NMnZzFlXSDPU")
    together = tuple(made["free"])
    bracketed, bare = ("|".join(marks.get(key, ())) for key in ("bracketed", "bare"))
    pattern = rf"\((?i:{bracketed})\)|\b(?:{bare})\b" if bracketed and bare else r"(?!)"
    plurals = frozenset((*begins, *(f"{w}s" for w in begins), *(f"{w}es" for w in begins)))
    endings = re.compile(rf"(?:{'|'.join(together)}){_WORD_END}")
    return (
        Lexicon(
            letters,
            made["longest"],
            begins,
            plurals,
            together,
            endings,
            frozenset(made["not_free"]),
            frozenset(made["not_less"]),
            re.compile(pattern),
        ),
        problems,
    )


def _collect(trees: dict[str, Node]) -> tuple[_Rows, tuple[Problem, ...]]:
    """The words, folded, with their letters.  Every list must be known here, and a source given."""
    tree = next((t for p, t in trees.items() if p.endswith("/claims.yaml")), None)
    empty: _Rows = {"letters": {}, "longest": {}, "marks": {}, "free": [], "not_free": [], "not_less": []}
    if not isinstance(tree, Mapping):
        return empty, ()
    made = cast(dict[str, list[str]], packaged_tables.placed(tree))
    tables = cast(dict[str, dict[str, list[str]]], made)
    known = {*_LETTERS, "source", "allergens", "not_meant", "not_free", "not_less", "marks"}
    problems = [
        error("claim-words", tree.keys[k], f"the words of claims have no list '{k}'")
        for k in tree.entries
        if k not in known
    ]
    if not made.get("source"):
        problems.append(error("claim-words", tree.span, "the words of claims need a source"))
    if problems:
        return empty, tuple(problems)
    marks = packaged_tables.without_place(tables.get("marks", {}))
    letters: dict[str, str] = {}
    for key, letter in _LETTERS.items():
        if key not in _OVER_ALLERGENS:
            letters |= dict.fromkeys((fold(w) for w in made.get(key, ())), letter)
    nodes = taxonomy.load()[0]
    # A saying of guests that stands for several allergens ("shellfish") counts as an allergen here too.
    said = [
        w for w, m in guests.load()[0].meanings.items() if m.avoid.nodes and not m.avoid.kinds and not m.is_condition
    ]
    further = (w for words in packaged_tables.without_place(tables.get("allergens", {})).values() for w in words)
    allergens = {fold(w) for w in (*nodes.by_word, *said, *further)}
    allergens -= {fold(w) for w in made.get("not_meant", ())}
    letters |= dict.fromkeys(sorted(w for w in allergens if letters.get(w) not in ("L", "P", "t")), "A")
    for key in _OVER_ALLERGENS:
        letters |= dict.fromkeys((fold(w) for w in made.get(key, ())), _LETTERS[key])
    longest: dict[str, int] = {}
    for name in letters:
        first = name.partition(" ")[0]
        longest[first] = max(longest.get(first, 1), name.count(" ") + 1)
    return {
        "letters": letters,
        "longest": longest,
        "marks": marks,
        "free": sorted({*map(fold, made.get("free", ())), "less"}),
        "not_free": sorted(map(fold, made.get("not_free", ()))),
        "not_less": sorted(map(fold, made.get("not_less", ()))),
    }, ()
