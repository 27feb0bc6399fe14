"""What guests say and what it means: sayings, conditions and reactions, read from ``data/guests.yaml``.

``data/guest-names.yaml`` adds the names that the same things go by, in other languages and as people misspell them.
"""

from __future__ import annotations

from dataclasses import field
from functools import cache

from ..frozen import frozen
from ..nodes import Mapping, Node
from ..problems import Problem, Span, error
from . import kinds, store, taxonomy
from .words import fold

_SAYING = {"say", "nodes", "but", "kinds", "settle", "as", "beyond"}
_CONDITION = {"say", "source", "as", "against", "ask", "raw", "plain"}
_REACTION = {"food", "reacts", "stops", "source", "says"}
_KIN = {"nodes", "as"}
_GROUP = {"nodes", "kinds"}
_LANGUAGES = {"en", "fr", "de", "it", "es", "misspelt"}
# The sorts of frames, see the head of guests.yaml.
_NEUTRAL, _AVOIDING, _WITHOUT, _DIET = _SORTS = ("neutral", "avoiding", "without", "diet")


@frozen
class Group:
    """Allergens of the taxonomy and food kinds, each standing for everything below it."""

    nodes: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()


@frozen
class Meaning:
    """What a saying or a condition means.

    ``but`` are nodes taken out again; ``settle`` what the word does not count and the guest
    has to name in or out where a dish holds it; ``ask`` what has to be asked about where it
    is found; ``raw`` the kinds that count where nobody says that they are cooked.
    ``answers`` is false where the ingredients alone never make a yes.
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
        """Whether somebody can live by it.  What counts only while it is raw (raw fish) is what a guest may want to eat."""
        return self.is_condition and bool(self.avoid.nodes or self.avoid.kinds)


@frozen
class Reaction:
    """A food that can set off guests with another allergy.  ``stops``: it waits for the guest's word."""

    food: Group
    reacts: tuple[str, ...]
    stops: bool
    says: str


@frozen
class GuestWords:
    """All sayings and conditions by their folded words, the frames round them with their sorts, and the reactions.

    ``names`` are further folded words, each for the folded saying, kind or allergen that it
    means; ``unclear`` are words of two meanings, each with what may be offered instead;
    ``denials`` are words that deny what they stand beside; ``kin`` are nodes of species that
    are asked about together.
    """

    meanings: dict[str, Meaning]
    names: dict[str, str]
    unclear: dict[str, tuple[str, ...]]
    before: dict[str, str]
    after: dict[str, str]
    denials: frozenset[str]
    reactions: tuple[Reaction, ...]
    kin: tuple[tuple[str, ...], ...] = ()
    conditions: tuple[str, ...] = field(default=())

    def bare(self, said: str) -> str:
        """The folded words of a request without its frames: ``no milk, please`` is ``milk``.

        Frames that together turn the request round are left on, so that nothing understands
        it: "no milk allergy", "only fish".
        """
        words, sorts = fold(said), []
        while words not in self.meanings and words not in self.names:
            framed = self._framed(words.split())
            if framed is None:
                break
            sorts.append(framed[1])
            words = framed[2]
        return words if self._is_request(words, sorts) else fold(said)

    def _framed(self, row: list[str]) -> tuple[int, str, str] | None:
        """The longest frame round a ``row`` of words: its length, its sort, and what stands in it."""
        found = []
        for i in range(1, len(row)):
            head, tail = " ".join(row[:i]), " ".join(row[i:])
            if head in self.before:
                found.append((len(head), self.before[head], tail))
            if tail in self.after:
                found.append((len(tail), self.after[tail], head))
        return max(found, default=None)

    def unclear_in(self, said: str, folded: tuple[str, ...]) -> tuple[str, ...]:
        """What may be offered instead, where ``said``, or its ``folded`` words without frames, is unclear; else nothing."""
        last = said.casefold().split()[-1:] if any(" " not in w for w in folded) else []
        return next((self.unclear[w] for w in (*folded, *last) if w in self.unclear and (w in folded or fold(w) != w)), ())

    def _is_request(self, words: str, sorts: list[str]) -> bool:
        """Whether what stood in frames of these ``sorts`` is to be avoided."""
        refusals = sorts.count(_WITHOUT) + sorts.count(_AVOIDING)
        if refusals > 1:
            return False
        meaning = self.meanings.get(self.names.get(words, words))
        return _DIET not in sorts or refusals == 1 or (meaning is not None and meaning.is_diet)


@cache
def load() -> tuple[GuestWords, tuple[Problem, ...]]:
    """The words in ``data/guests.yaml`` and ``data/guest-names.yaml``, and the problems of those files."""
    made, problems = store.rows(store.texts("guests.yaml", "guest-names.yaml", "kinds.yaml", "taxonomy.yaml"), _collect, "guests")
    meanings = {fold(word): _meaning(row) for row in made["sayings"] + made["conditions"] for word in row["say"]}
    reactions = tuple(Reaction(_group(r["food"]), tuple(r["reacts"]), bool(r.get("stops")), r["says"]) for r in made["reactions"])
    unclear = {word: tuple(instead) for word, instead in made["unclear"].items()}
    conditions = tuple(r["say"][0] for r in made["conditions"])
    return GuestWords(meanings, made["names"], unclear, *made["frames"], frozenset(made["denials"]), reactions, tuple(tuple(r["nodes"]) for r in made["kin"]), conditions), problems


def _group(row: dict | None) -> Group:
    row = row or {}
    return Group(tuple(row.get("nodes", ())), tuple(row.get("kinds", ())))


def _meaning(row: dict) -> Meaning:
    is_condition = "source" in row
    return Meaning(_group(row.get("against") if is_condition else row), row["as"], row.get("beyond", ""), tuple(row.get("but", ())), _group(row.get("settle")),
                   _group(row.get("ask")), tuple(row.get("raw", ())), is_condition, not is_condition or bool(row.get("plain")))


def _collect(trees: dict[str, Node]) -> tuple[dict, tuple[Problem, ...]]:
    """Rules: known keys; every node and kind exists; no word is said twice; each name means one thing that is there."""
    tree = next((t for p, t in trees.items() if p.endswith("/guests.yaml")), None)
    made = store.placed(tree) if isinstance(tree, Mapping) else {}
    nodes, food = taxonomy.load()[0].kinds, kinds.load()[0]
    problems: list[Problem] = []
    said: set[str] = set()
    for name, keys in (("sayings", _SAYING), ("conditions", _CONDITION), ("kin", _KIN), ("reactions", _REACTION)):
        for row in made.get(name, []):
            span = Span(*row[store.PLACE])
            problems += [error("unknown-key", span, f"there is no key '{k}' here") for k in row if k not in keys and k != store.PLACE]
            for word in dict.fromkeys(map(fold, row.get("say", ()))):
                if word in said:
                    problems.append(error("guest-word-twice", span, f"'{word}' is said twice"))
                said.add(word)
            groups = [row] if name in ("sayings", "kin") else []
            groups += [row[k] for k in ("against", "ask", "settle", "food") if k in row]
            named = [n for g in groups for n in g.get("nodes", ())] + list(row.get("but", ())) + list(row.get("reacts", ()))
            problems += [error("unknown-node", span, f"there is no allergen node '{n}' in the taxonomy") for n in named if n not in nodes]
            named = [k for g in groups for k in g.get("kinds", ())] + list(row.get("raw", ()))
            problems += [error("unknown-kind", span, f"there is no food kind '{k}' in kinds.yaml") for k in named if k not in food.kinds]
            problems += [error("unknown-key", span, f"there is no key '{k}' here") for g in groups if g is not row for k in g if k not in _GROUP and k != store.PLACE]
            for group in groups:
                # A kind brings the allergens that are of it, since a label's list may tell of no more.
                brought = (n for k in group.get("kinds", ()) if k in food.kinds for n in food.nodes_of(k))
                group["nodes"] = list(dict.fromkeys((*group.get("nodes", ()), *brought)))
    frames, faults = _frames(made.get("frames", {}))
    further = next((t for p, t in trees.items() if p.endswith("/guest-names.yaml")), None)
    further = store.placed(further) if isinstance(further, Mapping) else {}
    names, more = _names(further.get("names", {}), said)
    unclear = {word: instead for word, instead in further.get("unclear", {}).items() if word != store.PLACE}
    twice = sorted(unclear.keys() & (names.keys() | said))
    more += [error("guest-word-twice", Span(*further["unclear"][store.PLACE]), f"'{word}' is unclear and has a meaning") for word in twice]
    denials = sorted({w for word in made.get("denials", ()) for w in fold(word).split()})
    return {"kin": [], **made, "frames": frames, "names": names, "unclear": unclear, "denials": denials}, (*problems, *faults, *more)


def _frames(made: dict) -> tuple[list[dict[str, str]], list[Problem]]:
    """The frames that stand before a request and those behind it, folded, each with its sort."""
    problems = [error("unknown-key", Span(*made[store.PLACE]), f"there is no sort of frames '{k}'")
                for k in made if k not in (*_SORTS, store.PLACE)]
    found: dict[str, dict[str, str]] = {"before": {}, "after": {}}
    for sort in _SORTS:
        row = made.get(sort, {})
        for place, frames in found.items():
            for word in dict.fromkeys(map(fold, row.get(place, ()))):
                if frames.setdefault(word, sort) != sort:
                    problems.append(error("guest-word-twice", Span(*row[store.PLACE]), f"'{word}' is a frame of two sorts"))
    return [found["before"], found["after"]], problems


def _names(made: dict, said: set[str]) -> tuple[dict[str, str], list[Problem]]:
    """The further names, folded, each with the folded words that it stands for."""
    known = {**taxonomy.load()[0].by_word, **kinds.load()[0].by_word}
    names: dict[str, str] = {}
    problems: list[Problem] = []
    for meant, row in made.items():
        if meant == store.PLACE:
            continue
        span, target = Span(*row[store.PLACE]), fold(meant)
        if target not in said and target not in known:
            problems.append(error("unknown-guest-word", span, f"'{meant}' is no saying, no kind and no allergen"))
        problems += [error("unknown-key", span, f"'{meant}': there is no language '{k}' here") for k in row if k not in _LANGUAGES and k != store.PLACE]
        for word in dict.fromkeys(fold(w) for language, words in row.items() if language != store.PLACE for w in words):
            if word in said or word in known or names.get(word, target) != target:
                problems.append(error("guest-word-twice", span, f"'{word}' means something already"))
            names.setdefault(word, target)
    return names, problems
