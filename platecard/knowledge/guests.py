"""What guests say and what it means: sayings, conditions and reactions, read from ``data/guests.yaml``."""

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
_GROUP = {"nodes", "kinds"}


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


@frozen
class Reaction:
    """A food that can set off guests with another allergy.  ``stops``: it waits for the guest's word."""

    food: Group
    reacts: tuple[str, ...]
    stops: bool
    says: str


@frozen
class GuestWords:
    """All sayings and conditions by their folded words, the frames round them, and the reactions."""

    meanings: dict[str, Meaning]
    before: tuple[str, ...]
    after: tuple[str, ...]
    reactions: tuple[Reaction, ...]
    conditions: tuple[str, ...] = field(default=())

    def bare(self, said: str) -> str:
        """The folded words of a request without its frame: ``no milk, please`` is ``milk``."""
        words = fold(said)
        while True:
            shorter = next((words[len(b) + 1:] for b in self.before if words.startswith(f"{b} ")), None)
            if shorter is None:
                shorter = next((words[: -len(a) - 1] for a in self.after if words.endswith(f" {a}")), None)
            if shorter is None or words in self.meanings:
                return words
            words = shorter


@cache
def load() -> tuple[GuestWords, tuple[Problem, ...]]:
    """The words in ``data/guests.yaml`` and the problems of that file."""
    made, problems = store.rows(store.texts("guests.yaml", "kinds.yaml", "taxonomy.yaml"), _collect, "guests")
    meanings = {fold(word): _meaning(row) for row in made["sayings"] + made["conditions"] for word in row["say"]}
    frames = made["frames"]
    by_length = {k: tuple(sorted({fold(w) for w in frames.get(k, ())}, key=lambda w: (-len(w), w))) for k in ("before", "after")}
    reactions = tuple(Reaction(_group(r["food"]), tuple(r["reacts"]), bool(r.get("stops")), r["says"]) for r in made["reactions"])
    return GuestWords(meanings, by_length["before"], by_length["after"], reactions, tuple(r["say"][0] for r in made["conditions"])), problems


def _group(row: dict | None) -> Group:
    row = row or {}
    return Group(tuple(row.get("nodes", ())), tuple(row.get("kinds", ())))


def _meaning(row: dict) -> Meaning:
    is_condition = "source" in row
    return Meaning(_group(row.get("against") if is_condition else row), row["as"], row.get("beyond", ""), tuple(row.get("but", ())), _group(row.get("settle")),
                   _group(row.get("ask")), tuple(row.get("raw", ())), is_condition, not is_condition or bool(row.get("plain")))


def _collect(trees: dict[str, Node]) -> tuple[dict, tuple[Problem, ...]]:
    """Rules: known keys; every node and kind exists; no word is said twice."""
    tree = next((t for p, t in trees.items() if p.endswith("/guests.yaml")), None)
    made = store.placed(tree) if isinstance(tree, Mapping) else {}
    nodes, food = taxonomy.load()[0].kinds, kinds.load()[0].kinds
    problems: list[Problem] = []
    said: set[str] = set()
    for name, keys in (("sayings", _SAYING), ("conditions", _CONDITION), ("reactions", _REACTION)):
        for row in made.get(name, []):
            span = Span(*row[store.PLACE])
            problems += [error("unknown-key", span, f"there is no key '{k}' here") for k in row if k not in keys and k != store.PLACE]
            for word in dict.fromkeys(map(fold, row.get("say", ()))):
                if word in said:
                    problems.append(error("guest-word-twice", span, f"'{word}' is said twice"))
                said.add(word)
            groups = [row] if name == "sayings" else []
            groups += [row[k] for k in ("against", "ask", "settle", "food") if k in row]
            named = [n for g in groups for n in g.get("nodes", ())] + list(row.get("but", ())) + list(row.get("reacts", ()))
            problems += [error("unknown-node", span, f"there is no allergen node '{n}' in the taxonomy") for n in named if n not in nodes]
            named = [k for g in groups for k in g.get("kinds", ())] + list(row.get("raw", ()))
            problems += [error("unknown-kind", span, f"there is no food kind '{k}' in kinds.yaml") for k in named if k not in food]
            problems += [error("unknown-key", span, f"there is no key '{k}' here") for g in groups if g is not row for k in g if k not in _GROUP and k != store.PLACE]
    return made, tuple(problems)
