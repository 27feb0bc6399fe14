"""What guests say and what it means: sayings, conditions and reactions, from ``data/guests.yaml``.

``data/guest-names.yaml`` adds other names of the same things, in other languages and as people misspell them.
"""

from __future__ import annotations

from functools import cache
from typing import NamedTuple, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, error
from platecard.knowledge import kinds, taxonomy
from platecard.knowledge.names import fold
from platecard.yaml_nodes import Mapping, Node

_SAYING = {"say", "nodes", "but", "kinds", "settle", "as", "beyond"}
_CONDITION = {"say", "source", "as", "against", "ask", "raw", "plain"}
_REACTION = {"food", "reacts", "stops", "source", "says"}
_KIN = {"nodes", "as"}
_GROUP = {"nodes", "kinds"}
_LANGUAGES = {"en", "fr", "de", "it", "es", "misspelt"}
# The sorts of frames, explained at the top of guests.yaml.
ASIDE = "aside"
_AVOIDING, _WITHOUT, _DIET = "avoiding", "without", "diet"
_SORTS = (ASIDE, "neutral", _AVOIDING, _WITHOUT, _DIET)


class Group(NamedTuple):
    """Allergen nodes and food kinds, each including everything below it."""

    nodes: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()


class Meaning(NamedTuple):
    """What a saying or a condition means.

    ``avoid`` is what it rules out, except for the nodes in ``but``; ``understood`` says so in
    words, and ``beyond`` what it does not cover.  ``settle`` is what the word does not rule out,
    but the guest has to rule in or out if a dish contains it; ``ask`` has to be asked about if a
    dish contains it; the kinds in ``raw`` count unless they are said to be cooked.  ``answers`` is
    false if the ingredients alone can never give a yes.
    """

    avoid: Group
    understood: str
    beyond: str = ""
    but: tuple[str, ...] = ()
    settle: Group = Group()
    ask: Group = Group()
    raw: tuple[str, ...] = ()
    is_condition: bool = False
    answers: bool = True

    @property
    def is_diet(self) -> bool:
        """Whether it is a diet that somebody can live by.

        A condition that only rules out raw food is not: "raw fish" may be what a guest wants to eat.
        """
        return self.is_condition and bool(self.avoid.nodes or self.avoid.kinds)


class Reaction(NamedTuple):
    """A food that can affect guests with another allergy; if ``stops``, the answer waits until they settle it."""

    food: Group
    reacts: tuple[str, ...]
    stops: bool
    says: str


class GuestWords(NamedTuple):
    """All that is known of what guests say; every word in it is folded.

    ``meanings`` has the sayings and conditions; ``names`` maps other words to the saying, kind
    or allergen that they mean; ``unclear`` maps words with two meanings to what may be offered
    instead.  ``before`` and ``after`` are the frames round a request, each with its sort;
    ``denials`` are words that deny what they stand beside.  ``kin`` are nodes of related species,
    which are asked about together; ``conditions`` has the first name of each condition, as written.
    """

    meanings: dict[str, Meaning]
    names: dict[str, str]
    unclear: dict[str, tuple[str, ...]]
    before: dict[str, str]
    after: dict[str, str]
    denials: frozenset[str]
    reactions: tuple[Reaction, ...]
    kin: tuple[tuple[str, ...], ...] = ()
    conditions: tuple[str, ...] = ()

    def bare(self, said: str) -> str:
        """The folded words of a request without its frames: ``no milk, please`` is ``milk``.

        Frames that together reverse the request ("no milk allergy", "only fish") stay on, so that
        it is not understood.
        """
        words = fold(said)
        sorts: list[str] = []
        while words not in self.meanings and words not in self.names:
            framed = self._framed(words.split())
            if framed is None:
                break
            sorts.append(framed[1])
            words = framed[2]
        return words if self._is_request(words, sorts) else fold(said)

    def _framed(self, row: list[str]) -> tuple[int, str, str] | None:
        """The longest frame round the words of ``row``: its length in letters, its sort, and the words inside it."""
        found = []
        for i in range(1, len(row)):
            head, tail = " ".join(row[:i]), " ".join(row[i:])
            if head in self.before:
                found.append((len(head), self.before[head], tail))
            if tail in self.after:
                found.append((len(tail), self.after[tail], head))
        return max(found, default=None)

    def unclear_in(self, said: str, folded: tuple[str, ...]) -> tuple[str, ...]:
        """What may be offered instead of an unclear request; nothing if it is clear.

        ``said`` is the request as written, ``folded`` its words without frames.
        """
        last = said.casefold().split()[-1:] if any(" " not in w for w in folded) else []
        return next(
            (self.unclear[w] for w in (*folded, *last) if w in self.unclear and (w in folded or fold(w) != w)), ()
        )

    def _is_request(self, words: str, sorts: list[str]) -> bool:
        """Whether ``words`` are to be avoided, if they stood in frames of these ``sorts``."""
        refusals = sorts.count(_WITHOUT) + sorts.count(_AVOIDING)
        if refusals > 1:
            return False
        meaning = self.meanings.get(self.names.get(words, words))
        return _DIET not in sorts or refusals == 1 or (meaning is not None and meaning.is_diet)


class _GroupRow(TypedDict, total=False):
    nodes: list[str]
    kinds: list[str]


# A saying, condition, reaction or list of kin, as the file has it.
_Row = TypedDict(
    "_Row",
    {
        "say": list[str],
        "nodes": list[str],
        "kinds": list[str],
        "but": list[str],
        "settle": _GroupRow,
        "as": str,
        "beyond": str,
        "source": str,
        "against": _GroupRow,
        "ask": _GroupRow,
        "raw": list[str],
        "plain": bool,
        "food": _GroupRow,
        "reacts": list[str],
        "stops": bool,
        "says": str,
    },
    total=False,
)


class _GuestsFile(TypedDict, total=False):
    """``data/guests.yaml``; frames by their sort, then by their place (before or after)."""

    sayings: list[_Row]
    conditions: list[_Row]
    kin: list[_Row]
    reactions: list[_Row]
    frames: dict[str, dict[str, list[str]]]
    denials: list[str]


class _NamesFile(TypedDict, total=False):
    """``data/guest-names.yaml``; names by what they mean, then by language."""

    names: dict[str, dict[str, list[str]]]
    unclear: dict[str, list[str]]


class _Rows(TypedDict):
    sayings: list[_Row]
    conditions: list[_Row]
    kin: list[_Row]
    reactions: list[_Row]
    frames: list[dict[str, str]]
    names: dict[str, str]
    unclear: dict[str, list[str]]
    denials: list[str]


@cache
def load() -> tuple[GuestWords, tuple[Problem, ...]]:
    """The words in ``data/guests.yaml`` and ``data/guest-names.yaml``, and the problems of those files."""
    made, problems = packaged_tables.rows(
        packaged_tables.texts("guests.yaml", "guest-names.yaml", "kinds.yaml", "taxonomy.yaml"), _collect, "guests"
    )
    meanings = {fold(word): _meaning(row) for row in made["sayings"] + made["conditions"] for word in row["say"]}
    reactions = tuple(
        Reaction(_group(r["food"]), tuple(r["reacts"]), bool(r.get("stops")), r["says"]) for r in made["reactions"]
    )
    unclear = {word: tuple(instead) for word, instead in made["unclear"].items()}
    conditions = tuple(r["say"][0] for r in made["conditions"])
    before, after = made["frames"]
    return (
        GuestWords(
            meanings,
            made["names"],
            unclear,
            before,
            after,
            frozenset(made["denials"]),
            reactions,
            tuple(tuple(r["nodes"]) for r in made["kin"]),
            conditions,
        ),
        problems,
    )


def _group(row: _GroupRow | None) -> Group:
    row = row or {}
    return Group(tuple(row.get("nodes", ())), tuple(row.get("kinds", ())))


def _meaning(row: _Row) -> Meaning:
    is_condition = "source" in row
    return Meaning(
        _group(row.get("against") if is_condition else row),
        row["as"],
        row.get("beyond", ""),
        tuple(row.get("but", ())),
        _group(row.get("settle")),
        _group(row.get("ask")),
        tuple(row.get("raw", ())),
        is_condition,
        not is_condition or bool(row.get("plain")),
    )


def _collect(trees: dict[str, Node]) -> tuple[_Rows, tuple[Problem, ...]]:
    """The rows of both files.

    These rules are checked, each with a problem at its place:

    1. Only known keys.
    2. Every node and every kind exists.
    3. No word is said twice.
    4. Each name means one thing, and that thing exists.
    """
    tree = next((t for p, t in trees.items() if p.endswith("/guests.yaml")), None)
    made: _GuestsFile = cast(_GuestsFile, packaged_tables.placed(tree)) if isinstance(tree, Mapping) else {}
    nodes, food = taxonomy.load()[0].kinds, kinds.load()[0]
    problems: list[Problem] = []
    said: set[str] = set()
    for name, rows, keys in (
        ("sayings", made.get("sayings", []), _SAYING),
        ("conditions", made.get("conditions", []), _CONDITION),
        ("kin", made.get("kin", []), _KIN),
        ("reactions", made.get("reactions", []), _REACTION),
    ):
        for row in rows:
            span = packaged_tables.span_of(row)
            problems += [
                error("unknown-key", span, f"there is no key '{k}' here")
                for k in row
                if k not in keys and k != packaged_tables.PLACE
            ]
            for word in dict.fromkeys(map(fold, row.get("say", ()))):
                if word in said:
                    problems.append(error("guest-word-twice", span, f"'{word}' is given twice"))
                said.add(word)
            groups: list[_GroupRow] = [cast(_GroupRow, row)] if name in ("sayings", "kin") else []
            inner = cast(dict[str, _GroupRow], row)
            groups += [inner[k] for k in ("against", "ask", "settle", "food") if k in inner]
            named = (
                [n for g in groups for n in g.get("nodes", ())] + list(row.get("but", ())) + list(row.get("reacts", ()))
            )
            problems += [
                error("unknown-node", span, f"there is no allergen node '{n}' in the taxonomy")
                for n in named
                if n not in nodes
            ]
            named = [k for g in groups for k in g.get("kinds", ())] + list(row.get("raw", ()))
            problems += [
                error("unknown-kind", span, f"there is no food kind '{k}' in kinds.yaml")
                for k in named
                if k not in food.kinds
            ]
            problems += [
                error("unknown-key", span, f"there is no key '{k}' here")
                for g in groups
                if g is not row
                for k in g
                if k not in _GROUP and k != packaged_tables.PLACE
            ]
            for group in groups:
                # A kind brings in the allergens that belong to it, since a label may list nothing else of it.
                brought = (n for k in group.get("kinds", ()) if k in food.kinds for n in food.nodes_of(k))
                group["nodes"] = list(dict.fromkeys((*group.get("nodes", ()), *brought)))
    frames, faults = _frames(made.get("frames", {}))
    tree = next((t for p, t in trees.items() if p.endswith("/guest-names.yaml")), None)
    further: _NamesFile = cast(_NamesFile, packaged_tables.placed(tree)) if isinstance(tree, Mapping) else {}
    names, more = _names(further.get("names", {}), said)
    unclear = packaged_tables.without_place(further.get("unclear", {}))
    twice = sorted(unclear.keys() & (names.keys() | said))
    more += [
        error(
            "guest-word-twice",
            packaged_tables.span_of(further["unclear"]),
            f"'{word}' is unclear and has a meaning",
        )
        for word in twice
    ]
    denials = sorted({w for word in made.get("denials", ()) for w in fold(word).split()})
    collected = {"kin": [], **made, "frames": frames, "names": names, "unclear": unclear, "denials": denials}
    return cast(_Rows, collected), (*problems, *faults, *more)


def _frames(made: dict[str, dict[str, list[str]]]) -> tuple[list[dict[str, str]], list[Problem]]:
    """The frames that stand before a request and those after it, folded, each with its sort."""
    problems = [
        error("unknown-key", packaged_tables.span_of(made), f"there is no sort of frames '{k}'")
        for k in made
        if k not in (*_SORTS, packaged_tables.PLACE)
    ]
    found: dict[str, dict[str, str]] = {"before": {}, "after": {}}
    for sort in _SORTS:
        row = made.get(sort, {})
        for place, frames in found.items():
            for word in dict.fromkeys(map(fold, row.get(place, ()))):
                if frames.setdefault(word, sort) != sort:
                    problems.append(
                        error("guest-word-twice", packaged_tables.span_of(row), f"'{word}' is a frame of two sorts")
                    )
    return [found["before"], found["after"]], problems


def _names(made: dict[str, dict[str, list[str]]], said: set[str]) -> tuple[dict[str, str], list[Problem]]:
    """The other names, folded, each with the folded words that it stands for."""
    known = {**taxonomy.load()[0].by_word, **kinds.load()[0].by_word}
    names: dict[str, str] = {}
    problems: list[Problem] = []
    for meant, row in made.items():
        if meant == packaged_tables.PLACE:
            continue
        span, target = packaged_tables.span_of(row), fold(meant)
        if target not in said and target not in known:
            problems.append(error("unknown-guest-word", span, f"'{meant}' is not a saying, a kind or an allergen"))
        problems += [
            error("unknown-key", span, f"'{meant}': there is no language '{k}' here")
            for k in row
            if k not in _LANGUAGES and k != packaged_tables.PLACE
        ]
        for word in dict.fromkeys(
            fold(w) for language, words in row.items() if language != packaged_tables.PLACE for w in words
        ):
            if word in said or word in known or names.get(word, target) != target:
                problems.append(error("guest-word-twice", span, f"'{word}' means something already"))
            names.setdefault(word, target)
    return names, problems
