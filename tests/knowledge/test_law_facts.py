"""How each fact of the laws is known, and that none that lightens a declaration is known from memory alone."""

from __future__ import annotations

from collections import Counter
from datetime import date

from platecard.knowledge import catalogue, catalogue_rows, laws, taxonomy

TREE = taxonomy.load()[0]
LAWS = [law for key in laws.names() if (law := laws.load(key)[0]) is not None]
FACTS = [fact for law in LAWS for fact in laws.facts(law)]


def test_nothing_leaves_a_declaration_out_or_sets_a_limit_but_what_was_read():
    assert {f.mark for f in FACTS if f.effect in ("leaves out", "limits")} == {laws.SEEN}
    # The laws whose own words on an amount of sulphites were read.
    assert {f.law for f in FACTS if f.effect == "limits"} == {"eu", "uk", "ca"}


def test_what_is_only_told_of_a_law_leaves_a_declaration_open():
    told = {(e.node, e.form) for law in LAWS for e in law.exemptions if e.mark != laws.SEEN}
    assert ("fish", "fining_agent") in told  # isinglass in Australia and New Zealand
    assert not any(e.takes_away for law in LAWS for e in law.exemptions if e.mark != laws.SEEN)


def test_fewer_than_twenty_facts_from_memory_add_a_declaration():
    from_memory = Counter(f.effect for f in FACTS if f.mark == laws.MEMORY)
    assert 0 < from_memory["adds"] < 20, from_memory
    # One more: that Switzerland may have the exceptions of the EU, which settles nothing there.
    assert [(f.law, f.what) for f in FACTS if f.mark == laws.MEMORY and f.effect == "leaves open"] == [
        ("ch", "the exceptions of eu")
    ]


def test_how_many_facts_are_known_how():
    """What decides, counted: whoever changes a fact or its mark changes a line here."""
    assert Counter((f.effect, f.mark) for f in FACTS) == {
        ("adds", "seen"): 58,
        ("adds", "seen-2nd"): 84,
        ("adds", "memory"): 6,
        ("leaves open", "seen"): 22,
        ("leaves open", "seen-2nd"): 5,
        ("leaves open", "memory"): 1,
        ("leaves out", "seen"): 74,
        ("limits", "seen"): 3,
    }


def test_every_fact_says_since_when_it_holds_and_when_it_was_looked_up():
    for law in LAWS:
        rows = [(law.in_force, law.checked)]
        rows += [(g.in_force, g.checked) for g in law.groups]
        rows += [(e.in_force, e.checked) for e in law.exemptions]
        for in_force, checked in rows:
            # Nothing on file was looked up before it held, and nothing was looked up before this project began.
            assert date.fromisoformat(in_force) <= date.fromisoformat(checked), law.key
            assert date.fromisoformat(checked) >= date(2026, 1, 1), law.key
        assert law.last_checked == min(c for _, c in rows)


def test_the_exception_of_2024_is_on_file_and_settles_nothing_by_itself():
    """Delegated Regulation (EU) 2024/2512, read: from 1 April 2025, behenic acid of at least 85 % after two
    distillation steps, in making E470a, E471 and E477.  Only its maker can say whether an emulsifier is of that.
    """
    (found,) = [e for e in laws.load("eu")[0].exemptions if e.form == "behenic_acid"]
    assert (found.node, found.effect, found.in_force, found.mark) == ("mustard", "unsettled", "2025-04-01", "seen")
    assert all(
        e.form != "behenic_acid" for e in laws.load("uk")[0].exemptions
    )  # a change after the United Kingdom left
    assert "78/2014" in laws.load("eu")[0].article and "2024/2512" in laws.load("eu")[0].article


def test_every_form_that_a_law_knows_is_reached_by_some_food_of_the_catalogue():
    reached = {(node, form) for entry in catalogue.load()[0] for node, form in entry.form}
    roots = {(TREE.lineage(node)[-1], form) for node, form in reached}
    for law in LAWS:
        for e in law.exemptions:
            # A food of the same group in that form: wheat for spelt, hazelnut for pecan.
            assert (TREE.lineage(e.node)[-1], e.form) in roots | {
                ("fish", "refined_oil"),  # refined fish oil and nut oil are bought as such and bear their maker's label
                ("tree_nut", "refined_oil"),
                ("cereal_gluten", "refined_oil"),
            }, (law.key, e.node, e.form)
    for form in ("fining_agent", "behenic_acid", "vitamin_carrier", "stanol_ester", "lactitol"):
        assert any(f == form for _, f in reached), form
    assert {form for _, form in reached} == set(catalogue_rows.FORMS)


def test_what_switzerland_takes_over_is_all_that_the_eu_excepts():
    eu, ch = laws.load("eu")[0], laws.load("ch")[0]
    assert [(e.node, e.form) for e in ch.exemptions] == [(e.node, e.form) for e in eu.exemptions]
    assert {(e.effect, e.mark, e.after) for e in ch.exemptions} == {("unsettled", "memory", "eu")}


def test_the_list_of_1999_stays_where_the_one_of_2024_was_not_read():
    """The list of 1999, word for word on a page of an allergen project: oats, soybeans and tree nuts are on it."""
    codex = laws.load("codex")[0]
    level = {node: g.level for g in codex.groups for node in g.nodes}
    assert {n: level[n] for n in ("oats", "soy", "brazil_nut", "macadamia", "pine_nut", "sesame")} == dict.fromkeys(
        ("oats", "soy", "brazil_nut", "macadamia", "pine_nut", "sesame"), "mandatory"
    )
    assert {n for n, said in level.items() if said == "national"} == {"buckwheat", "celery", "lupin", "mustard"}


def test_no_nut_is_left_out_of_an_open_list_of_nuts():
    """Singapore and Hong Kong name tree nuts and no kind of nut (Centre for Food Safety; Food Regulations 5(4)(ea))."""
    others = {n for n in TREE.below("tree_nut_other") if n != "tree_nut_other"}
    for key in ("sg", "hk"):
        nodes = {n for g in laws.load(key)[0].groups for n in g.nodes}
        assert others <= nodes, (key, others - nodes)
    assert "(ea)" in laws.load("sg")[0].article  # S 92/2025, on the official site, names the sub-paragraph
