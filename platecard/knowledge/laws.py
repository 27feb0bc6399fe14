"""The laws: which allergen nodes each declares and in which words, with its exemptions and thresholds."""

from __future__ import annotations

from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from typing import NotRequired, TypedDict, cast

from platecard.diagnostics import Problem, Span, error
from platecard.knowledge import packaged_tables, taxonomy
from platecard.knowledge.catalogue import FORMS
from platecard.package_data import names_in
from platecard.yaml_nodes import Mapping, Node

_DECLARES = ("each", "group", "kinds")
_MARKS = ("seen", "seen-2nd", "memory")


@dataclass(frozen=True, slots=True)
class Group:
    """One group of allergens in a law.

    ``declares`` says what is printed: each node by itself (``each``), the group's word
    (``group``), or that word with the kinds (``kinds``).  ``nodes`` maps a taxonomy node to the
    law's word for it, and ``kind_words`` a kind to the law's name for it; the kinds in ``unsaid``
    need no naming while they are alone.  ``level`` is mandatory, recommended or national.
    """

    id: str
    heading: str
    declares: str
    nodes: dict[str, str]
    point: str
    level: str
    unsaid: tuple[str, ...]
    kind_words: dict[str, str]
    mark: str
    span: Span


@dataclass(frozen=True, slots=True)
class Exemption:
    """A form of a node that the law exempts (``effect`` exempt), or exempts only on proof (unsettled)."""

    node: str
    form: str
    effect: str
    point: str
    why: str
    span: Span


@dataclass(frozen=True, slots=True)
class SulphiteRule:
    """When sulphites are declared: above ``limit``, or from it on, in mg/kg of the food as served."""

    heading: str
    limit: Fraction
    above: bool
    only_added: bool
    point: str
    span: Span

    def reached(self, level: Fraction) -> bool:
        """Whether sulphites are declared at ``level``, in mg/kg."""
        return level > self.limit if self.above else level >= self.limit


@dataclass(frozen=True, slots=True)
class Law:
    """One law, as its file in ``data/laws`` states it."""

    key: str
    name: str
    act: str
    article: str
    date: str
    link: str
    mark: str
    duty: str
    groups: tuple[Group, ...]
    reads_as: dict[str, tuple[str, ...]]
    exemptions: tuple[Exemption, ...]
    sulphites: SulphiteRule | None
    sulphites_after: str
    span: Span


def names() -> tuple[str, ...]:
    """The keys of all laws, sorted."""
    return tuple(n[: -len(".yaml")] for n in names_in("laws", ".yaml"))


class _GroupRow(TypedDict):
    group: str
    heading: str
    declares: str
    nodes: dict[str, str]
    point: NotRequired[str]
    level: NotRequired[str]
    unsaid: NotRequired[list[str]]
    kind_words: NotRequired[dict[str, str] | None]
    mark: NotRequired[str]


class _ExemptionRow(TypedDict):
    node: str
    form: str
    effect: str
    point: str
    why: str


class _SulphiteRow(TypedDict):
    heading: str
    limit: int | str
    declared_when: str
    only_added: NotRequired[bool]
    point: NotRequired[str]
    after: NotRequired[str]


class _LawRow(TypedDict):
    name: str
    act: str
    article: str
    date: str
    link: str
    mark: str
    groups: list[_GroupRow]
    duty: NotRequired[str]
    exemptions: NotRequired[list[_ExemptionRow] | None]
    sulphites: NotRequired[_SulphiteRow | None]
    reads_as: NotRequired[dict[str, list[str]] | None]


@cache
def load(key: str) -> tuple[Law | None, tuple[Problem, ...]]:
    """The law ``key``, or None if there is no such law or its file has problems; and those problems."""
    if key not in names():
        return None, ()
    made, problems = packaged_tables.rows(
        packaged_tables.texts(f"laws/{key}.yaml", "taxonomy.yaml"), _collect, f"law-{key}"
    )
    return (_law(made, key) if made else None), problems


def _law(made: _LawRow, key: str) -> Law:
    mark = made["mark"]
    groups = tuple(
        Group(
            g["group"],
            g["heading"],
            g["declares"],
            packaged_tables.without_place(g["nodes"]),
            str(g.get("point", "")),
            g.get("level", "mandatory"),
            tuple(g.get("unsaid", ())),
            packaged_tables.without_place(g.get("kind_words") or {}),
            g.get("mark", mark),
            packaged_tables.span_of(g),
        )
        for g in made["groups"]
    )
    exemptions = tuple(
        Exemption(e["node"], e["form"], e["effect"], str(e["point"]), e["why"], packaged_tables.span_of(e))
        for e in made.get("exemptions") or ()
    )
    s = made.get("sulphites")
    rule = (
        SulphiteRule(
            s["heading"],
            Fraction(str(s["limit"])),
            s["declared_when"] == "above",
            s.get("only_added") is True,
            str(s.get("point", "")),
            packaged_tables.span_of(s),
        )
        if s
        else None
    )
    return Law(
        key,
        made["name"],
        made["act"],
        str(made.get("article", "")),
        str(made.get("date", "")),
        str(made.get("link", "")),
        mark,
        made.get("duty", ""),
        groups,
        {k: tuple(v) for k, v in packaged_tables.without_place(made.get("reads_as") or {}).items()},
        exemptions,
        rule,
        s.get("after", "") if s else "",
        packaged_tables.span_of(made),
    )


def _collect(trees: dict[str, Node]) -> tuple[_LawRow | None, tuple[Problem, ...]]:
    """The law's file as a row; None if there are problems.

    These rules are checked, each with a problem at its place:

    1. Act, article, date, link and mark are there.
    2. Every node exists and stands in one group only.
    3. Every exemption names its node, form, effect, point and reason.
    """
    problems: list[Problem] = []
    kinds = taxonomy.load()[0].kinds
    tree = next(t for p, t in trees.items() if "/laws/" in p)
    if not isinstance(tree, Mapping):
        return None, (error("law", tree.span, "a law's file holds keys"),)
    row = cast(_LawRow, packaged_tables.placed(tree))
    for key in ("law", "name", "act", "article", "date", "link", "mark", "groups"):
        if not row.get(key):
            problems.append(error("law", tree.span, f"the law has no '{key}'"))
    seen: dict[str, str] = {}
    for group in row.get("groups") or ():
        place = packaged_tables.span_of(group)
        if (
            group.get("declares") not in _DECLARES
            or not group.get("heading")
            or not isinstance(group.get("nodes"), dict)
        ):
            problems.append(
                error(
                    "law", place, f"the group '{group.get('group')}' lacks a heading, its nodes or a known 'declares'"
                )
            )
            continue
        if group.get("mark", "seen") not in _MARKS:
            problems.append(
                error("law", place, f"'{group.get('mark')}' is not a mark; it should be one of {', '.join(_MARKS)}")
            )
        for node in packaged_tables.without_place(group["nodes"]):
            if node not in kinds:
                problems.append(error("unknown-node", place, f"there is no allergen node '{node}' in the taxonomy"))
            if node in seen:
                problems.append(error("law", place, f"'{node}' already stands in the group '{seen[node]}'"))
            seen[node] = group["group"]
    for exemption in row.get("exemptions") or ():
        place = packaged_tables.span_of(exemption)
        if missing := [k for k in ("node", "form", "effect", "point", "why") if not exemption.get(k)]:
            problems.append(error("exemption", place, f"the exemption lacks {', '.join(missing)}"))
        elif (
            exemption["node"] not in kinds
            or exemption["effect"] not in ("exempt", "unsettled")
            or exemption["form"] not in FORMS
        ):
            problems.append(
                error(
                    "exemption",
                    place,
                    f"'{exemption['node']}', '{exemption['form']}' or '{exemption['effect']}' is not known",
                )
            )
    reads_as = packaged_tables.without_place(row.get("reads_as") or {})
    for node in [n for k, v in reads_as.items() for n in (k, *v)]:
        if node not in kinds:
            problems.append(error("unknown-node", tree.span, f"there is no allergen node '{node}' in the taxonomy"))
    # A law with problems is not used at all: half a law would hide some of what it declares.
    return (None if problems else row), tuple(problems)
