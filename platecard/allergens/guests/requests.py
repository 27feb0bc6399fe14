"""A guest's words understood: a definite set of allergens, kinds of food or one ingredient, or nothing.

A word that merely occurs inside the name of a food is not understood: nobody could tell
what it leaves out.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator
from difflib import SequenceMatcher
from typing import NamedTuple

from platecard.diagnostics import meant, nearest
from platecard.knowledge import guests, kinds
from platecard.knowledge.catalogue import Catalogue, Entry
from platecard.knowledge.catalogue_rows import ANY
from platecard.knowledge.guests import Group, Meaning
from platecard.knowledge.kinds import FoodKinds
from platecard.knowledge.names import fold, foreign_singulars, runs
from platecard.knowledge.taxonomy import Taxonomy

# Groups of allergens that no law lists as a whole: their foods are looked for by kind as well.
_BY_KIND_TOO = ("regional", "house_note", "tree_nut_other")
# Kinds that say how a food was made, or that are in nearly everything: sharing one does not make two foods alike.
COMMON = frozenset(
    {
        "salt",
        "water",
        "mineral",
        "sugar",
        "oil",
        "vinegar",
        "starch",
        "fermented",
        "culture",
        "yeast",
        "smoked",
        "dried_fruit",
        "cured_fish",
        "nitrite",
        "sprout",
    }
)
# A shorter word is like too many others.
_SHORT = 4
_ALIKE = 0.8
_NO_FOOD = frozenset(
    ("everything", "anything", "all", "food")
)  # said alone they name none, though a seasoning's name may
# A word that names more nodes than this is a group, not a species.
MAX_SPECIES = 2
_ELIDED = re.compile(r"(?<=\b[dlDL])['’](?=\w)")
_APART = re.compile(
    r"\s*(?:,|;|/|&|\+|:|\s[-–—]\s|\band\b|\bor\b|\bnor\b|\bplus\b|\bbecause\b(?!\s+of\b)|\bso\b"
    r"|\bwho(?= (?:is|are)\b))\s*"
)


# Where the guest sits, how old a child is, how far a pregnancy has come: nothing is asked, and the answer is the same.
_ASIDE = re.compile(
    r"\b(?:table|seat|cover)\s+\d{1,3}\b\s*:?|\b(?:[2-9]|1\d)[ -]years?[ -]old\b"
    r"|\b\d{1,2}\s*(?:weeks?|months?)\s+(?=pregnant\b)",
    re.I,
)


def _with_asides(parts: Iterable[str], spoken: guests.GuestWords) -> list[str]:
    """The parts that ask for something, each with those beside it that ask for nothing."""
    found: list[str] = []
    carried = ""
    for part in (p.strip() for p in parts):
        words = fold(part)
        if not words:
            continue
        if found and spoken.after.get(words) == guests.ASIDE:
            found[-1] = f"{found[-1]} {part}"
        elif spoken.before.get(words) == guests.ASIDE:
            carried = f"{carried} {part}".strip()
        else:
            found.append(f"{carried} {part}".strip())
            carried = ""
    return [*found, carried] if carried else found


class Avoid(NamedTuple):
    """What a guest must avoid, understood.

    ``nodes`` of the taxonomy with everything below them except ``but``; ``kinds`` of food with
    everything below them; or one ingredient: ``entry``, with the ``words`` it goes by.
    ``settle`` and ``ask`` make an answer wait where they are found; ``raw`` are kinds that
    count unless they are said to be cooked; ``eats`` is what the guest has said they eat all the
    same.  ``understood`` and ``beyond`` say how the word was taken and what it does not cover.
    ``answers`` is false where finding nothing does not mean yes.  ``word`` is what was said without
    the words round it: ``celery`` of "no celery, please".
    """

    said: str
    nodes: tuple[str, ...] = ()
    words: tuple[str, ...] = ()
    kinds: tuple[str, ...] = ()
    but: tuple[str, ...] = ()
    entry: Entry | None = None
    settle: Group = Group()
    ask: Group = Group()
    raw: tuple[str, ...] = ()
    understood: str = ""
    beyond: str = ""
    answers: bool = True
    eats: Group = Group()
    word: str = ""

    @property
    def term(self) -> str:
        """What an answer calls it: the word without the words round it."""
        return self.word or self.said

    def settled(self, eaten: Iterable[Avoid]) -> Avoid:
        """The same request, once the guest has said what else is ``eaten`` all the same."""
        eaten = tuple(eaten)
        return self._replace(
            eats=Group(tuple(n for e in eaten for n in e.nodes), tuple(k for e in eaten for k in e.kinds))
        )


class NotUnderstood(ValueError):
    """A word that names nothing definite; ``hints`` are the nearest words that do."""

    def __init__(self, word: str, hints: tuple[str, ...]):
        super().__init__(f"'{word}' is not understood")
        self.word, self.hints = word, hints

    @property
    def hint(self) -> str:
        """What to say instead, in words."""
        return meant(self.hints, "name an allergen, a kind of food or an ingredient")


def split(said: str, taxonomy: Taxonomy, catalogue: Catalogue) -> Iterator[str]:
    """The single requests in a list such as ``hazelnut and shellfish, egg``.

    A name that itself holds an "and" stays whole.  What asks for nothing ("hi", "carries an EpiPen") goes with the
    request before it, or with the one behind it, so that it is said again in the answer.
    """
    spoken = guests.load()[0]
    for part in _with_asides(_ASIDE.sub(" ", said).split(","), spoken):
        try:
            understand(part, taxonomy, catalogue)
            yield part
        except NotUnderstood:
            yield from _with_asides(_APART.split(part), spoken)


def understand(said: str, taxonomy: Taxonomy, catalogue: Catalogue, eaten: bool = False) -> Avoid:
    """What ``said`` means: a guest's own term, an allergen, a kind of food, or one ingredient.

    Raises :class:`NotUnderstood`.  An ingredient that is itself an allergen (butter) remains
    an ingredient: a guest who avoids butter has not said milk.  What is ``eaten`` all the same has
    to be said plainly: "no fish" and "vegan" name nothing that is eaten.
    """
    word = " ".join(said.split())
    spoken, food = guests.load()[0], kinds.load()[0]
    key = fold(word) if eaten else spoken.bare(word)
    said_as = tuple(dict.fromkeys(spoken.names.get(n, n) for n in (fold(word), key)))
    meaning = next((spoken.meanings[n] for n in said_as if n in spoken.meanings), None)
    unclear = spoken.unclear_in(word, said_as)
    if unclear:
        raise NotUnderstood(word, unclear)
    if eaten and (spoken.denials.intersection(key.split()) or (meaning is not None and meaning.is_condition)):
        raise NotUnderstood(word, ())
    if meaning is not None:
        return _with_kin(_of_meaning(word, meaning), spoken)
    for name in said_as:
        found = _named(word, name, taxonomy, food, catalogue)
        if found is not None:
            return _with_kin(found, spoken)
    # A plural in another language ("champiñones"), if it can mean only one thing.
    plurals = {
        f.understood: f
        for n in foreign_singulars(key)
        if (f := _known(word, n, spoken, taxonomy, food, catalogue)) is not None
    }
    if len(plurals) == 1:
        return _with_kin(next(iter(plurals.values())), spoken)
    if _ELIDED.search(word):
        # "pas d'œufs": the article is a word of its own.
        return understand(_ELIDED.sub(" ", word), taxonomy, catalogue, eaten)
    raise NotUnderstood(word, _nearest(key, taxonomy, food, catalogue, spoken))


def _with_kin(avoid: Avoid, spoken: guests.GuestWords) -> Avoid:
    """The same request, with close kin of the species asked for, which the guest has to settle."""
    bare = spoken.bare(avoid.said)
    avoid = avoid._replace(word=avoid.said if bare == fold(avoid.said) else bare)
    if not avoid.answers or not 0 < len(avoid.nodes) <= MAX_SPECIES:
        return avoid
    kin = {n: None for group in spoken.kin if set(avoid.nodes) & set(group) for n in group if n not in avoid.nodes}
    if not kin:
        return avoid
    settle = Group(tuple(dict.fromkeys((*avoid.settle.nodes, *kin))), avoid.settle.kinds)
    return avoid._replace(settle=settle, beyond=avoid.beyond or "its close relatives are not counted")


def _known(
    said: str, name: str, spoken: guests.GuestWords, taxonomy: Taxonomy, food: FoodKinds, catalogue: Catalogue
) -> Avoid | None:
    """What ``name`` means by itself, as a guest's term or as a food; None where it is unclear, and for a diet."""
    name = spoken.names.get(name, name)
    meaning = spoken.meanings.get(name)
    if name in spoken.unclear or (meaning is not None and meaning.is_condition):
        return None
    return _of_meaning(said, meaning) if meaning is not None else _named(said, name, taxonomy, food, catalogue)


def _of_meaning(said: str, meaning: Meaning) -> Avoid:
    return Avoid(
        said,
        meaning.avoid.nodes,
        (),
        meaning.avoid.kinds,
        meaning.but,
        None,
        meaning.settle,
        meaning.ask,
        meaning.raw,
        meaning.understood,
        meaning.beyond,
        meaning.answers,
    )


def _named(said: str, name: str, taxonomy: Taxonomy, food: FoodKinds, catalogue: Catalogue) -> Avoid | None:
    node, kind = taxonomy.find(name), food.find(name)
    entry = catalogue.find_plain(name)
    if node is None and kind is None and entry.entry is not None and not entry.read_as:
        # A foreign word for an allergen, a kind or a guest's term ("lait", "lattosio") means just that.
        meaning = guests.load()[0].meanings.get(fold(entry.entry.name))
        if meaning is not None:
            return _of_meaning(said, meaning)
        node, kind = taxonomy.find(entry.entry.name), food.find(entry.entry.name)
    if node is not None:
        return _of_node(said, node, kind, taxonomy)
    if kind is not None:
        return _of_kind(said, kind, food)
    if entry.entry is None or entry.read_as or not entry.entry.kinds:
        return None
    return _of_entry(said, entry.entry, food)


def _of_node(said: str, node: str, kind: str | None, taxonomy: Taxonomy) -> Avoid:
    below = [taxonomy.name(n) for n in taxonomy.below(node) if n != node]
    understood = taxonomy.name(node) + (
        f" ({', '.join(below[:4])}{' and others' if len(below) > 4 else ''})" if below else ""
    )
    kinds_too = (kind,) if kind is not None and taxonomy.lineage(node)[-1] in _BY_KIND_TOO else ()
    above = taxonomy.kinds[node].under
    beyond = "" if not above or above in _BY_KIND_TOO else f"other {taxonomy.name(above)} are not counted"
    return Avoid(said, (node,), (), kinds_too, understood=understood, beyond=beyond)


def _of_kind(said: str, kind: str, food: FoodKinds) -> Avoid:
    below = [food.name(k) for k in food.kinds if k in food.below(kind) and k != kind]
    understood = food.name(kind) + (
        f" ({', '.join(below[:6])}{' and others' if len(below) > 6 else ''})" if below else ""
    )
    return Avoid(said, food.nodes_of(kind), (), (kind,), understood=understood)


def _of_entry(said: str, entry: Entry, food: FoodKinds) -> Avoid:
    """One ingredient: its kind where it is the only food of that kind, otherwise the ingredient itself."""
    own = [k for k in entry.kinds if k not in COMMON] or list(entry.kinds)
    if len(own) == len(entry.kinds) == 1 and is_leaf(own[0], food) and not entry.depends_on_everything:
        return _of_kind(said, own[0], food)
    names = tuple(dict.fromkeys(fold(n) for n in (said, entry.name)))
    return Avoid(
        said,
        (),
        names,
        (),
        entry=entry,
        understood=f"the ingredient {entry.name}, and what is made with it",
        beyond="other foods of its kind are not counted",
    )


def is_leaf(kind: str, food: FoodKinds) -> bool:
    """Whether a kind is a single food: nothing else is of that kind, and it is no collection of odds and ends."""
    return not food.is_group(kind) and not kind.startswith("other_")


def is_vague(entry: Entry, food: FoodKinds) -> bool:
    """Whether the entry's name leaves open which food of its kind it is: ``berry``, ``fish fillet``."""
    return (
        entry.depends_on_everything
        or ANY in entry.kinds_open
        or any(food.is_group(k) for k in entry.kinds if k not in COMMON)
    )


def _nearest(
    key: str, taxonomy: Taxonomy, food: FoodKinds, catalogue: Catalogue, spoken: guests.GuestWords
) -> tuple[str, ...]:
    if _NO_FOOD.issuperset(key.split()):
        return ()
    near = nearest(key, (*spoken.meanings, *food.by_word, *taxonomy.by_word))
    if near:
        return near
    if len(key) < _SHORT:
        return ()
    # Of several words, one that is known by itself may be what was meant.
    known = [r for r in runs(key) if r in spoken.meanings or r in food.by_word or r in taxonomy.by_word]
    meant = tuple(dict.fromkeys(sorted(known, key=len, reverse=True)))[:3]
    return meant or tuple(name for name in catalogue.near(key) if _is_like(key, name))


def _is_like(said: str, name: str) -> bool:
    """Whether at least half of the words said stand in a name, misspelt by no more than a letter in five."""
    words, parts = said.split(), name.split()
    near = [w for w in words if any(SequenceMatcher(None, w, part).ratio() >= _ALIKE for part in parts)]
    return 2 * len(near) >= len(words)
