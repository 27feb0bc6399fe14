"""The laws: which allergen nodes each declares and in which words, with its exemptions and thresholds."""

from __future__ import annotations

import re
from fractions import Fraction
from functools import cache
from typing import NamedTuple, NotRequired, TypedDict, cast

from platecard import packaged_tables
from platecard.diagnostics import Problem, Span, error
from platecard.knowledge import taxonomy
from platecard.knowledge.catalogue_rows import FORMS
from platecard.package_data import names_in
from platecard.yaml_nodes import Mapping, Node

_DECLARES = ("each", "group", "kinds")
_LEVELS = ("mandatory", "recommended", "national")
SEEN = "seen"
MEMORY = "memory"
MARKS = (SEEN, "seen-2nd", MEMORY)
"""How a fact is known, best first.  Only what was seen in the law's own words ever takes a declaration away."""


class Group(NamedTuple):
    """One group of allergens in a law.

    ``declares`` says what is printed: each node by itself (``each``), the group's word
    (``group``), or that word with the kinds (``kinds``).  ``nodes`` maps a taxonomy node to the
    law's word for it, and ``kind_words`` a kind to the law's name for it; the kinds in ``unsaid``
    need no naming while they are alone.  ``level`` is mandatory, recommended or national.
    ``marks`` has the nodes whose place in the group is known in another way than the group itself.
    ``is_statement``: not one of the law's allergens, but a statement that goes with a food; nothing is said of
    it where the food is not there.
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
    marks: dict[str, str]
    in_force: str
    checked: str
    span: Span
    is_statement: bool = False

    def mark_of(self, node: str) -> str:
        """How it is known that ``node`` stands in this group."""
        return self.marks.get(node, self.mark)


class Exemption(NamedTuple):
    """A form of a node that the law exempts (``effect`` exempt), or exempts only on proof (unsettled).

    ``after`` is the key of the law that it is taken over from, where this law's own wording was not read.
    """

    node: str
    form: str
    effect: str
    point: str
    why: str
    mark: str
    in_force: str
    checked: str
    span: Span
    after: str = ""

    @property
    def takes_away(self) -> bool:
        """Whether what is in this form need not be declared: the law says so outright, and was read saying so."""
        return self.effect == "exempt" and self.mark == SEEN

    @property
    def not_read(self) -> bool:
        """Whether the law is said to exempt this form and was not itself read saying so: it takes nothing away."""
        return self.effect == "exempt" and self.mark != SEEN


class SulphiteRule(NamedTuple):
    """When sulphites are declared: above ``limit``, or from it on, in mg/kg of the food as served.

    ``only_added``: what is naturally there does not count.  ``ceilings``: the catalogue's figures bind what is sold
    under this law; without it a maker's own figure is asked for.  Neither this nor the limit takes a declaration away
    where the law itself was not read saying so (``is_read``): sulphites are then declared at any amount.
    """

    heading: str
    limit: Fraction
    above: bool
    only_added: bool
    ceilings: bool
    point: str
    mark: str
    in_force: str
    checked: str
    span: Span

    @property
    def is_read(self) -> bool:
        """Whether the limit was read in the law itself."""
        return self.mark == SEEN

    @property
    def leaves_out_natural(self) -> bool:
        """Whether sulphites that were not added need not be declared."""
        return self.only_added and self.is_read

    def reached(self, level: Fraction) -> bool:
        """Whether sulphites are declared at ``level``, in mg/kg."""
        return self.would_be(level) if self.is_read else level > 0

    def would_be(self, level: Fraction) -> bool:
        """Whether sulphites would be declared at ``level`` if the limit on file holds, whoever said so."""
        return level > self.limit if self.above else level >= self.limit


class Law(NamedTuple):
    """One law, as its file in ``data/laws`` states it.

    ``reads_as`` are the nodes that it names through others; ``marks`` say how each of these is known.
    ``in_force`` is the day since which it holds and ``checked`` the day on which its text was last
    looked up, for every row without dates of its own.
    """

    key: str
    name: str
    act: str
    article: str
    date: str
    link: str
    mark: str
    groups: tuple[Group, ...]
    reads_as: dict[str, tuple[str, ...]]
    exemptions: tuple[Exemption, ...]
    sulphites: SulphiteRule | None
    sulphites_after: str
    marks: dict[str, str]
    in_force: str
    checked: str
    span: Span

    @property
    def last_checked(self) -> str:
        """The day on which the row that was looked up longest ago was looked up."""
        days = [self.checked, *(g.checked for g in self.groups), *(e.checked for e in self.exemptions)]
        return min([*days, self.sulphites.checked] if self.sulphites else days)

    def exempts(self, form: str, lineage: tuple[str, ...]) -> bool:
        """Whether a maker may leave a node in this form off a label, or may do so on proof.

        ``lineage`` is the node with all that stands above it.
        """
        return any(e.form == form and e.node in lineage for e in self.exemptions)


class Fact(NamedTuple):
    """One thing that a law's file says and that decides what is declared.

    ``effect`` is adds (what it names is declared), leaves out (what it names need not be declared),
    leaves open (that is not settled) or limits (from which amount on).  An exemption or a limit that was not read
    in the law leaves nothing out: the exempt form is left open, and sulphites are added at any amount.
    """

    law: str
    what: str
    mark: str
    effect: str


def facts(law: Law) -> tuple[Fact, ...]:
    """Everything in the file of a law that decides a declaration, one by one.

    What a law takes over from another as not settled is one fact: that the other's exceptions may hold here.
    """
    found = []
    for group in law.groups:
        found.append(Fact(law.key, group.heading, group.mark, "adds"))
        found += [Fact(law.key, f"{node} in {group.heading}", mark, "adds") for node, mark in group.marks.items()]
    found += [
        Fact(law.key, f"{node} as {' and '.join(others)}", law.marks.get(node, law.mark), "adds")
        for node, others in law.reads_as.items()
    ]
    found += [
        Fact(law.key, f"{e.node} as {e.form}", e.mark, "leaves out" if e.takes_away else "leaves open")
        for e in law.exemptions
        if not e.after
    ]
    found += [
        Fact(law.key, f"the exceptions of {key}", mark, "leaves open")
        for key, mark in dict.fromkeys((e.after, e.mark) for e in law.exemptions if e.after)
    ]
    if law.sulphites is not None:
        rule = law.sulphites
        found.append(Fact(law.key, rule.heading, rule.mark, "limits" if rule.is_read else "adds"))
    return tuple(found)


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
    marks: NotRequired[dict[str, str] | None]
    statement: NotRequired[bool]
    in_force: NotRequired[str]
    checked: NotRequired[str]


class _ExemptionRow(TypedDict):
    node: str
    form: str
    effect: str
    point: str
    why: str
    mark: NotRequired[str]
    in_force: NotRequired[str]
    checked: NotRequired[str]


class _TakenOverRow(TypedDict):
    """Exceptions of another law that may hold here too, since this law's own wording was not read."""

    law: str
    why: str
    mark: str


class _SulphiteRow(TypedDict):
    mark: NotRequired[str]
    in_force: NotRequired[str]
    checked: NotRequired[str]
    heading: str
    limit: int | str
    declared_when: str
    only_added: NotRequired[bool]
    ceilings: NotRequired[bool]
    point: NotRequired[str]
    after: NotRequired[str]


class _LawRow(TypedDict):
    name: str
    act: str
    article: str
    date: str
    link: str
    mark: str
    in_force: str
    checked: str
    groups: list[_GroupRow]
    exemptions: NotRequired[list[_ExemptionRow] | None]
    exceptions_of: NotRequired[_TakenOverRow | None]
    marks: NotRequired[dict[str, str] | None]
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
    mark, in_force, checked = made["mark"], str(made["in_force"]), str(made["checked"])
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
            packaged_tables.without_place(g.get("marks") or {}),
            str(g.get("in_force", in_force)),
            str(g.get("checked", checked)),
            packaged_tables.span_of(g),
            g.get("statement") is True,
        )
        for g in made["groups"]
    )
    exemptions = tuple(
        Exemption(
            e["node"],
            e["form"],
            e["effect"],
            str(e["point"]),
            e["why"],
            e.get("mark", mark),
            str(e.get("in_force", in_force)),
            str(e.get("checked", checked)),
            packaged_tables.span_of(e),
        )
        for e in made.get("exemptions") or ()
    )
    exemptions += _taken_over(made)
    s = made.get("sulphites")
    rule = (
        SulphiteRule(
            s["heading"],
            Fraction(str(s["limit"])),
            s["declared_when"] == "above",
            s.get("only_added") is True,
            s.get("ceilings") is True,
            str(s.get("point", "")),
            s.get("mark", mark),
            str(s.get("in_force", in_force)),
            str(s.get("checked", checked)),
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
        groups,
        {k: tuple(v) for k, v in packaged_tables.without_place(made.get("reads_as") or {}).items()},
        exemptions,
        rule,
        s.get("after", "") if s else "",
        packaged_tables.without_place(made.get("marks") or {}),
        in_force,
        checked,
        packaged_tables.span_of(made),
    )


def _taken_over(made: _LawRow) -> tuple[Exemption, ...]:
    """The exceptions of another law that may hold in this one: none of them settles anything here."""
    row = made.get("exceptions_of")
    other = load(row["law"])[0] if row else None
    if row is None or other is None:
        return ()
    return tuple(
        e._replace(
            effect="unsettled",
            point=f"as {e.point} in the law of the {other.name}",
            why=f"{e.why}; {row['why']}",
            mark=row["mark"],
            in_force=str(made["in_force"]),
            checked=str(made["checked"]),
            span=packaged_tables.span_of(row),
            after=other.key,
        )
        for e in other.exemptions
    )


def _collect(trees: dict[str, Node]) -> tuple[_LawRow | None, tuple[Problem, ...]]:
    """The law's file as a row; None if there are problems.

    These rules are checked, each with a problem at its place:

    1. Act, article, date, link, mark, and the days since which it holds and on which it was looked up, are there.
    2. Every node exists and stands in one group only.
    3. Every exemption names its node, form, effect, point and reason.
    4. Every mark, level and day is one.
    """
    problems: list[Problem] = []
    kinds = taxonomy.load()[0].kinds
    tree = next(t for p, t in trees.items() if "/laws/" in p)
    if not isinstance(tree, Mapping):
        return None, (error("law", tree.span, "a law's file holds keys"),)
    row = cast(_LawRow, packaged_tables.placed(tree))
    for key in ("law", "name", "act", "article", "date", "link", "mark", "in_force", "checked", "groups"):
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
        if group.get("level", "mandatory") not in _LEVELS:
            problems.append(error("law", place, f"'{group.get('level')}' is no level; one of {', '.join(_LEVELS)}"))
        for node in packaged_tables.without_place(group.get("marks") or {}):
            if node not in group["nodes"]:
                problems.append(error("law", place, f"'{node}' has a mark and does not stand in the group"))
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
    for node in packaged_tables.without_place(row.get("marks") or {}):
        if node not in reads_as:
            problems.append(error("law", tree.span, f"'{node}' has a mark and is not read as another node"))
    if (other := row.get("exceptions_of")) and other.get("law") not in names():
        problems.append(error("law", packaged_tables.span_of(other), f"there is no law '{other.get('law')}' on file"))
    problems += _marks_and_days(row, tree.span)
    # A law with problems is not used at all: half a law would hide some of what it declares.
    return (None if problems else row), tuple(problems)


_DAY = re.compile(r"\d{4}-\d\d-\d\d")


def _marks_and_days(row: _LawRow, span: Span) -> list[Problem]:
    """What is wrong with the marks and the days of a law and its rows."""
    problems = []
    rows: list[tuple[object, Span]] = [(row, span)]
    for one in (
        *(row.get("groups") or ()),
        *(row.get("exemptions") or ()),
        row.get("sulphites"),
        row.get("exceptions_of"),
    ):
        rows += [(one, packaged_tables.span_of(one))] if one else []
    for one, place in rows:
        said = cast(dict[str, object], one)
        marks = [
            said.get("mark", "seen"),
            *packaged_tables.without_place(cast(dict[str, object], said.get("marks") or {})).values(),
        ]
        problems += [
            error("law", place, f"'{mark}' is no mark; one of {', '.join(MARKS)}")
            for mark in marks
            if mark not in MARKS
        ]
        problems += [
            error("law", place, f"'{said[key]}' is no day such as 2026-01-31")
            for key in ("in_force", "checked")
            if said.get(key) and not _DAY.fullmatch(str(said[key]))
        ]
    return problems
