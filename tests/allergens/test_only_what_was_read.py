"""Only what was read in a law's own words takes a declaration away; whatever is told of it may only add one.

The mark of a fact says how it is known (``platecard/data/README.md``).  Each law is tried with every node in every form
that the catalogue or any law has, once as it stands on file and once with all its marks lowered: nothing that was
declared or open before may then be left out.
"""

from __future__ import annotations

from fractions import Fraction

import pytest

from platecard.allergens import derivation, statement
from platecard.allergens.statement import ABSENT
from platecard.allergens.sulphites import Load, Sum
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Link, Trace
from platecard.diagnostics import Span
from platecard.knowledge import catalogue, laws, taxonomy
from platecard.knowledge.catalogue_rows import FORMS
from platecard.knowledge.laws import Law
from platecard.knowledge.taxonomy import SULPHITE

TREE = taxonomy.load()[0]
LAWS = {key: law for key in laws.names() if (law := laws.load(key)[0]) is not None}
HERE = Span("case", 1, 1)
IN_FORM = sorted(
    {(node, form) for entry in catalogue.load()[0] for node, form in entry.form}
    | {(e.node, e.form) for law in LAWS.values() for e in law.exemptions}
    | {(below, e.form) for law in LAWS.values() for e in law.exemptions for below in TREE.below(e.node)}
)


def lowered(law: Law, mark: str) -> Law:
    """The same law with nothing in it read."""
    return law._replace(
        mark=mark,
        groups=tuple(g._replace(mark=mark) for g in law.groups),
        exemptions=tuple(e._replace(mark=mark) for e in law.exemptions),
        sulphites=law.sulphites._replace(mark=mark) if law.sulphites else None,
    )


def said(law: Law, node: str, state, form: str = "", sums: tuple[Sum, ...] = ()):
    trace = Trace(node, state, form, (Link("dish", HERE), Link("thing", HERE)))
    return derivation.derive((trace,), sums, law, TREE)


def left_out(one: statement.Statement) -> set[str]:
    return {f.allergen for f in one.findings if f.presence == ABSENT and f.left_out}


def test_every_form_is_tried():
    assert {form for _, form in IN_FORM} >= set(FORMS)
    assert len(IN_FORM) > 100


@pytest.mark.parametrize("key", LAWS)
@pytest.mark.parametrize("state", [CONTAINS, UNKNOWN, MAY])
def test_nothing_is_left_out_but_what_the_law_was_read_to_except(key, state):
    law = LAWS[key]
    for node, form in IN_FORM:
        bare, inside = said(law, node, state), said(law, node, state, form)
        takers = [e for e in law.exemptions if e.form == form and TREE.is_under(node, e.node) and e.takes_away]
        assert all(e.mark == "seen" and e.effect == "exempt" for e in takers)
        if takers:
            continue
        # Without such an exemption, the form changes nothing but "contains" into "not established".
        was = {f.allergen: f.presence for f in bare.findings}
        now = {f.allergen: f.presence for f in inside.findings}
        assert left_out(inside) == set() and inside.exempted == ()
        for allergen, presence in was.items():
            assert now[allergen] == presence or (presence, now[allergen]) == (CONTAINS, UNKNOWN), (node, form, allergen)


@pytest.mark.parametrize("mark", ["seen-2nd", "memory"])
@pytest.mark.parametrize("key", LAWS)
def test_a_law_that_was_not_read_leaves_nothing_out(key, mark):
    law = lowered(LAWS[key], mark)
    assert not any(fact.effect in ("leaves out", "limits") for fact in laws.facts(law))
    for node, form in IN_FORM:
        for state in (CONTAINS, UNKNOWN, MAY):
            one = said(law, node, state, form)
            assert left_out(one) == set() and one.exempted == (), (node, form, state)
            exempt = next((e for e in law.exemptions if e.form == form and TREE.is_under(node, e.node)), None)
            if exempt is not None and exempt.effect == "exempt" and state != MAY:
                assert one.not_read or one.from_memory, (node, form, "left open without a word about it")


@pytest.mark.parametrize("mark", ["seen-2nd", "memory"])
@pytest.mark.parametrize("key", [key for key, law in LAWS.items() if law.sulphites])
def test_no_limit_that_was_not_read_is_a_limit(key, mark):
    law = lowered(LAWS[key], mark)
    for natural in (False, True):
        for level in (Fraction(1, 1000), Fraction(5), Fraction(10), Fraction(11), Fraction(400)):
            sums = (Sum("the plate", (Load("thing", level / 10, "", natural),), Fraction(100)),)
            one = said(law, SULPHITE, CONTAINS, sums=sums)
            (found,) = [f for f in one.findings if f.allergen == SULPHITE]
            assert found.presence == CONTAINS, (key, natural, level)
            if level < 10:
                assert one.not_read


def test_no_figure_for_sulphites_counts_that_was_not_read_in_its_source():
    """A ceiling is what the law lets a food hold; one that was only told of may be too low."""
    told = [e for e in catalogue.load()[0] if e.so2_mg_kg is not None and not e.so2_read]
    assert {e.so2_source for e in told} >= {"memory"} and not any(e.so2_source == "EU-1333" for e in told)
    read = [e for e in catalogue.load()[0] if e.so2_read]
    assert {e.so2_source for e in read} == {"EU-1333", "EU-934"}
