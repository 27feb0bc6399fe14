"""What a law says of a dish: its findings, each with its reasons.

Each group of the law has one of four presences: contains, may_contain,
not_among_ingredients, not_established.  Contains outranks all others; what is not
established is never shown as "may contain" or as absent.
"""

from __future__ import annotations

from typing import NamedTuple

from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Link, Presence
from platecard.diagnostics import listed
from platecard.knowledge.laws import Exemption, Law

ABSENT = Presence.NOT_AMONG_INGREDIENTS
# How a declaration that a law does not itself require is said, wherever it is printed.
LEVELS = {"recommended": "recommended, not required", "national": "required only where a state adds it"}
_BINDING = ("mandatory", "recommended", "national")  # the most binding first


class Finding(NamedTuple):
    """What one law says about one allergen in one dish.

    ``allergen`` is the taxonomy node, ``declared_as`` the law's word for it (with kinds),
    ``reasons`` the chains that prove it, ``note`` a sentence where one is needed.
    ``group`` is the heading of its group in the law; ``kinds`` are the nodes it names, where
    the law asks for kinds.  ``level`` is mandatory, recommended or national; ``mark`` says how it is
    known that the law declares it.
    ``kind_open``: the law asks for the kind (the species, the nut), and it is not stated anywhere.
    ``left_out``: it is among the ingredients and still not declared, because it is under the law's
    limit ("limit") or in a form that the law exempts ("exempt"); ``in_short`` names that form.
    It is "perhaps exempt" where it is not known to be there, and would be exempt if it were.
    ``over`` says in short over which shared equipment it came: the nearest source, and how many more.
    ``is_own`` is False where nothing in the dish itself is behind it, only what came over equipment.
    ``on_record`` are those of its nodes that are on the chef's record and no longer derived:
    as long as the revision stays the same, they go on being declared.
    """

    law: str
    allergen: str
    gs1: str
    declared_as: str
    presence: Presence
    reasons: tuple[tuple[Link, ...], ...]
    level: str
    point: str
    note: str = ""
    kind_open: bool = False
    group: str = ""
    kinds: tuple[str, ...] = ()
    left_out: str = ""
    in_short: str = ""
    over: str = ""
    is_own: bool = True
    on_record: tuple[str, ...] = ()
    mark: str = ""

    @property
    def nodes(self) -> tuple[str, ...]:
        """The taxonomy nodes it declares: its kinds where the law names them, else the allergen."""
        return self.kinds or (self.allergen,)

    @property
    def in_full(self) -> str:
        """The declaration, with what must accompany it wherever it is printed."""
        said = self.declared_as + (" (kind not established)" if self.kind_open else "")
        if self.level in LEVELS:
            said += f" ({LEVELS[self.level]})"
        if not self.on_record:
            return said
        which = (
            ""
            if set(self.on_record) >= set(self.nodes)
            else f"{', '.join(n.replace('_', ' ') for n in self.on_record)} "
        )
        return f"{said} ({which}on record, no longer derived)"


class Exempted(NamedTuple):
    """A trace that the law leaves out, and the exemption that applies."""

    node: str
    exemption: Exemption
    chain: tuple[Link, ...]
    state: Presence = CONTAINS


class Also(NamedTuple):
    """An allergen that is in the dish but not in the law: shown apart, and clearly not as a legal declaration."""

    node: str
    name: str
    presence: Presence
    reasons: tuple[tuple[Link, ...], ...]


class Statement(NamedTuple):
    """Everything that one law asks for, and what it leaves out.

    ``relies_on`` says in words which cleaning between uses keeps other dishes' allergens away;
    ``from_memory`` what decides something here and stands in the law's file from memory;
    ``not_read`` what others say that this law leaves out and it was not read saying: nothing is left out for it.
    """

    law: Law
    findings: tuple[Finding, ...]
    also: tuple[Also, ...]
    exempted: tuple[Exempted, ...]
    relies_on: tuple[str, ...] = ()
    from_memory: tuple[str, ...] = ()
    not_read: tuple[str, ...] = ()

    def with_presence(self, presence: Presence) -> tuple[Finding, ...]:
        """The findings of one presence, in the order of the law."""
        return tuple(f for f in self.findings if f.presence == presence)

    @property
    def established(self) -> bool:
        """Whether nothing is left open, neither by the dish nor by what came over equipment."""
        return not self.with_presence(UNKNOWN)

    @property
    def established_in_itself(self) -> bool:
        """Whether the dish's own ingredients leave nothing open that the law requires; what came over equipment may.

        What a law only recommends to name is told as not established, and withholds no card.
        """
        return not self.open_in_itself(required=True)

    def open_in_itself(self, required: bool) -> tuple[Finding, ...]:
        """What the dish's own ingredients leave open: of what the law requires, or of what it does not."""
        return tuple(f for f in self.with_presence(UNKNOWN) if f.is_own and (f.level not in LEVELS) == required)

    @property
    def is_of_several(self) -> bool:
        """Whether it says what any of several laws declares."""
        return "+" in self.law.key

    @property
    def all_open(self) -> bool:
        """Whether every group that is not contained is not established."""
        return bool(self.with_presence(UNKNOWN)) and not self.with_presence(MAY) and not self.with_presence(ABSENT)


def union(statements: tuple[Statement, ...]) -> Statement:
    """What any of the laws declares, once, in the words of the first law that declares it.

    Contains outranks not established, which outranks may contain; where one law names the
    kind, the kind is kept; what one law requires is required, whatever another recommends.
    ``also`` holds what none of these laws declares.
    """
    rank = {CONTAINS: 0, UNKNOWN: 1, MAY: 2, ABSENT: 3}
    best: dict[str, Finding] = {}
    for statement in statements:
        for f in statement.findings:
            known = best.get(f.allergen)
            if known is None or (rank[f.presence], not f.kinds) < (rank[known.presence], not known.kinds):
                best[f.allergen] = f
    for allergen, f in best.items():
        same = (g for s in statements for g in s.findings if g.allergen == allergen and g.presence == f.presence)
        level = min((g.level for g in same), key=_BINDING.index)
        best[allergen] = f if level == f.level else f._replace(level=level)
    laws = [s.law for s in statements]
    law = laws[0]._replace(
        key="+".join(x.key for x in laws),
        name=listed(x.name for x in laws),
        act="what any of them declares",
        article="",
    )
    also = [a for a in statements[0].also if all(any(b.node == a.node for b in s.also) for s in statements)]
    return Statement(
        law,
        tuple(best.values()),
        tuple(also),
        tuple(e for s in statements for e in s.exempted),
        statements[0].relies_on,
        tuple(dict.fromkeys(words for s in statements for words in s.from_memory)),
        tuple(dict.fromkeys(words for s in statements for words in s.not_read)),
    )
