"""What a declaration would say wrongly, or of the wrong thing, if one of its rules were turned round."""

from __future__ import annotations

import pytest

from platecard.allergens.statement import union
from tests.allergens.test_cross_contact import CHIPS, LABELS, SQUID, dish
from tests.kitchens import KITCHEN, LIBRARY, PANTRY, poured, prepared, recipe

CONTAINS, MAY, ABSENT, UNKNOWN = "contains", "may_contain", "not_among_ingredients", "not_established"


def under(*laws: str) -> dict[str, str]:
    return {KITCHEN: LIBRARY[KITCHEN].replace("[eu, us]", f"[{', '.join(laws)}]")}


def labelled(contains: str = "", may: str = "", more: str = "") -> dict[str, str]:
    label = f"{{read: 2026-01-02, contains: [{contains}], may_contain: [{may}]{more}}}"
    return {PANTRY: f"products:\n  thing: {{called: Thing, label: {label}}}\n"}


def statement(files: dict[str, str], law: str = "eu", spec: str = "", menu: dict[str, str] | None = None):
    one = prepared(spec or poured({"a": "{product: thing}"}), files, menu)
    return next(s for s in one.statements if s.law.key == law)


def finding(s, allergen: str):
    return next(f for f in s.findings if f.allergen == allergen)


# --------------------------------------------------------------------------- groups and kinds


def test_nuts_of_which_the_kind_is_not_said_leave_each_kind_open():
    """EU law lists the nuts one by one; nuts that may be there make each of them one that may."""
    for files, kinds in ((labelled("tree_nut"), UNKNOWN), (labelled("", "tree_nut"), MAY)):
        s = statement(files)
        assert {finding(s, n).presence for n in ("hazelnut", "walnut", "almond", "cashew")} == {kinds}
        assert finding(s, "milk").presence == ABSENT
    s = statement(labelled("hazelnut"))
    assert finding(s, "hazelnut").presence == CONTAINS and finding(s, "walnut").presence == ABSENT


def test_gluten_of_which_the_cereal_is_not_said_is_declared_and_leaves_each_cereal_open():
    for files, cereals, bare in ((labelled("gluten"), UNKNOWN, CONTAINS), (labelled("", "gluten"), MAY, MAY)):
        s = statement(files)
        assert {finding(s, n).presence for n in ("wheat", "rye", "barley", "oats")} == {cereals}
        gluten = finding(s, "cereal_gluten")
        assert (gluten.presence, gluten.kind_open) == (bare, True) and gluten.note and "kind" in gluten.in_full
    s = statement(labelled("rye"))
    assert finding(s, "rye").presence == CONTAINS and finding(s, "wheat").presence == ABSENT
    assert not any(f.allergen == "cereal_gluten" for f in s.findings), "the group is not named beside its kind"
    assert not finding(s, "rye").kind_open and finding(s, "rye").note == ""


def test_wheat_is_left_open_by_gluten_where_the_law_lists_wheat_apart():
    """The Canadian regulations list wheat beside the sources of gluten: gluten of no named cereal can be wheat."""
    for files, presence in ((labelled("gluten"), UNKNOWN), (labelled("", "gluten"), MAY), (labelled("rye"), ABSENT)):
        assert finding(statement({**files, **under("ca")}, "ca"), "wheat").presence == presence


def test_a_kind_is_declared_as_what_the_law_lists_above_it():
    s = statement(labelled("spelt"))
    assert finding(s, "wheat").presence == CONTAINS and "spelt" in str(finding(s, "wheat").reasons)
    fish = finding(statement(labelled("cod, trout")), "fish")
    assert (fish.presence, fish.kinds) == (CONTAINS, ())
    fish = finding(statement({**labelled("cod, trout"), **under("us")}, "us"), "fish")
    assert set(fish.kinds) == set(fish.nodes) == {"cod", "trout"}


def test_every_trace_of_one_allergen_is_among_its_reasons_and_no_other():
    spec = poured({"a": "{product: thing}", "b": "{ingredient: egg yolk}", "c": "{ingredient: butter}"})
    s = statement(labelled("milk", "egg"), spec=spec)
    assert [chain[1].words for chain in finding(s, "milk").reasons] == ["a", "c"]
    assert [chain[1].words for chain in finding(s, "egg").reasons] == ["b"], "a trace proves nothing that is contained"


@pytest.mark.parametrize(
    "contains, may, presence", [("", "egg", MAY), ("egg", "", CONTAINS), ("egg", "egg", CONTAINS), ("", "", ABSENT)]
)
def test_the_strongest_of_what_is_known_is_declared(contains, may, presence):
    assert finding(statement(labelled(contains, may)), "egg").presence == presence


def test_what_proves_sulphites_is_what_brings_them():
    spec = poured({"a": "{product: thing}", "b": "{ingredient: egg yolk}"})
    found = finding(statement(labelled("sulphite, milk"), spec=spec), "sulphite")
    assert found.presence == CONTAINS and [chain[1].words for chain in found.reasons] == ["a"]


def test_an_unknown_opens_all_that_is_not_contained():
    spec = poured({"a": "{product: thing}", "b": "{product: bare}"})
    files = {PANTRY: labelled("milk", "egg")[PANTRY] + "  bare: {called: Bare}\n"}
    s = statement(files, spec=spec)
    assert finding(s, "milk").presence == CONTAINS and s.all_open and not s.established
    assert {f.presence for f in s.findings if f.allergen != "milk"} == {UNKNOWN} and not s.established_in_itself
    known = statement(labelled("milk", "egg"))
    assert known.established and known.established_in_itself and not known.all_open


def test_a_dozen_ways_to_one_allergen_are_enough_and_none_of_a_dozen_is_dropped():
    for parts, expected in ((11, 11), (12, 12), (15, 12)):
        lines = [("ingredient", name, "5 g") for name in ("egg yolk", "dill")]
        files = {f"shared/recipes/r{i}.yaml": recipe(f"R{i}", lines) for i in range(parts)}
        files["shared/recipes/all.yaml"] = recipe("All", [("recipe", f"r{i}", "5 g") for i in range(parts)])
        assert len(finding(statement(files, spec=poured({"a": "{recipe: all}"})), "egg").reasons) == expected


@pytest.mark.parametrize(
    "contains, level, said",
    [
        ("", "", []),
        ("", ", sulphites: 0 mg/kg", []),
        ("", ", sulphites: 12 mg/kg", ["the label says 12 mg/kg of sulphites (label read 2026-01-02)"]),
        ("", ", sulphites: a few", ["the label states a level of sulphites that could not be read"]),
        ("sulphites", "", ["the label says it contains sulphites (label read 2026-01-02)"]),
        ("sulphites", ", sulphites: 12 mg/kg", ["the label says it contains sulphites (label read 2026-01-02)"]),
        ("sulphites", ", sulphites: a few", ["the label says it contains sulphites (label read 2026-01-02)"]),
        ("egg", ", sulphites: a few", ["the label states a level of sulphites that could not be read"]),
    ],
)
def test_a_level_of_sulphites_on_a_label_proves_them_once(contains, level, said):
    one = prepared(poured({"a": "{product: thing}"}), labelled(contains, more=level))
    assert [t.chain[-1].words for t in one.traces if t.node == "sulphite" and t.state == CONTAINS] == said


# --------------------------------------------------------------------------- whose label is wanted


@pytest.mark.parametrize(
    "food, message, hints",
    [
        (
            "{ingredient: carotene}",
            "fish of 'carotene' depends on the maker, and no label is entered",
            ("enter it in shared/pantry.yaml (is: carotene) with its label: ", ""),
        ),
        (
            "{ingredient: oxidised starch}",
            "wheat, sulphur dioxide and sulphites of 'oxidised starch' depend on the maker, and no label is entered",
            ("enter it in shared/pantry.yaml (is: oxidised starch) with its label: ", ""),
        ),
        (
            "{ingredient: edible glitter}",
            "the allergens of 'edible glitter' depend on the maker, and no label is entered",
            ("enter it in shared/pantry.yaml (is: edible glitter) with its label: ", "look for gelatine, wheat"),
        ),
        (
            "{ingredient: food colouring}",
            "'food colouring' is too vague for its allergens to be known",
            ("Which colour, on which carrier?", "write the exact name, or enter it in shared/pantry.yaml with "),
        ),
        (
            "{product: bare}",
            "the allergens of 'Bare' depend on the maker, and no label is entered",
            ("read its label, and write under bare: label: ", ""),
        ),
        (
            "{product: tinted}",
            "the allergens of 'Tinted' depend on the maker, and no label is entered",
            ("read its label, and write under tinted: label: ", "look for wheat, milk, insects"),
        ),
    ],
)  # fmt: skip
def test_whose_label_is_wanted_and_what_to_look_for_on_it(food, message, hints):
    files = {PANTRY: "products:\n  bare: {called: Bare}\n  tinted: {called: Tinted, is: food colouring}\n"}
    (told,) = [p for p in prepared(poured({"a": food}), files).problems if p.slug == "allergens-not-established"]
    assert told.message == message
    assert all(h.startswith(begin) for h, begin in zip(told.hints, hints)), told.hints
    assert len([h for h in told.hints if h]) == len([h for h in hints if h])


# --------------------------------------------------------------------------- what a law leaves out


def test_an_exempt_form_says_whether_it_is_there_or_may_be():
    spec = poured({"a": "{ingredient: refined soybean oil}"})
    soy = finding(statement({}, spec=spec), "soy")
    assert (soy.presence, soy.left_out) == (ABSENT, "exempt") and soy.note and soy.in_short and soy.reasons
    assert soy.note.startswith("among the ingredients, in a form that this law exempts: ")
    for f in statement({}, spec=spec).findings:
        assert f.allergen == "soy" or (f.left_out, f.in_short, f.note, f.reasons) == ("", "", "", ()), f.allergen
    both = poured({"a": "{ingredient: refined soybean oil}", "b": "{ingredient: soybean oil}"})
    soy = finding(statement({}, spec=both), "soy")
    assert (soy.presence, soy.left_out, soy.in_short) == (CONTAINS, "", "")
    assert [chain[1].words for chain in soy.reasons] == ["b"]
    none = finding(statement({}, spec=poured({"a": "{ingredient: dill}"})), "soy")
    assert (none.left_out, none.in_short, none.note, none.reasons) == ("", "", "", ())


def test_what_no_group_of_the_law_lists_stands_apart_with_its_presence():
    files = {**labelled("celery, egg", "lupin"), **under("us")}
    s = statement(files, "us")
    assert [(a.node, a.presence) for a in s.also] == [("celery", CONTAINS), ("lupin", MAY)]
    assert not {"celery", "lupin"} & {f.allergen for f in s.findings}
    assert statement(labelled("celery, egg", "lupin")).also == ()


def test_sulphites_stand_where_the_law_puts_them():
    names = [f.allergen for f in statement(labelled("egg")).findings]
    # Annex II of Regulation (EU) No 1169/2011: 11 sesame seeds, 12 sulphur dioxide, 13 lupin, 14 molluscs.
    assert names[names.index("sulphite") - 1 : names.index("sulphite") + 2] == ["sesame", "sulphite", "lupin"]
    assert names.count("sulphite") == 1


# --------------------------------------------------------------------------- over equipment


def test_what_comes_over_equipment_is_not_the_dishs_own():
    squid = {"starter": dish("Squid to start", squid=SQUID)}
    s = statement(LABELS, spec=dish("Chips", chips=CHIPS), menu=squid)
    mollusc = finding(s, "mollusc")
    assert (mollusc.presence, mollusc.is_own) == (MAY, False) and "squid" in mollusc.over and "more" not in mollusc.over
    # The same trace on its own label is its own as well; what it contains comes over nothing.
    own = {
        PANTRY: LABELS[PANTRY]
        + "  oily: {called: Oily, label: {read: 2026-01-02, contains: [egg], may_contain: [squid]}}\n"
    }
    s = statement(own, spec=dish("Chips", chips=CHIPS, oily="{product: oily}"), menu=squid)
    assert finding(s, "mollusc").is_own and finding(s, "egg").over == "" and finding(s, "egg").is_own


def test_further_sources_over_equipment_are_counted():
    menu = {f"d{i}": dish(f"Squid {i}", squid=SQUID) for i in range(3)}
    mollusc = finding(statement(LABELS, spec=dish("Chips", chips=CHIPS), menu=menu), "mollusc")
    assert mollusc.over.startswith("fryer: squid") and mollusc.over.endswith(" and 2 more")
    assert "at least" not in mollusc.over
    mollusc = finding(statement(LABELS, spec=dish("Chips", chips=CHIPS), menu=dict([*menu.items()][:2])), "mollusc")
    assert mollusc.over.startswith("fryer: squid") and mollusc.over.endswith(" and 1 more")


def test_of_more_sources_than_are_kept_there_are_at_least_so_many():
    menu = {f"d{i:02}": dish(f"Squid {i}", squid=SQUID) for i in range(15)}
    mollusc = finding(statement(LABELS, spec=dish("Chips", chips=CHIPS), menu=menu), "mollusc")
    assert mollusc.over.endswith(" and at least 11 more")


def test_an_unknown_over_equipment_leaves_the_dish_itself_established():
    unread = {"starter": dish("Fritters", fritter="{product: no-label, equipment: fryer}")}
    s = statement(LABELS, spec=dish("Chips", chips=CHIPS), menu=unread)
    assert not s.established and s.established_in_itself and s.all_open
    assert all(not f.is_own and f.over for f in s.findings)


def test_only_what_goes_through_kept_equipment_itself_is_told():
    kitchen = LIBRARY[KITCHEN].replace("fryer: the fryer", "fryer: {called: the fryer, only_for: [chips]}")
    assert kitchen != LIBRARY[KITCHEN]
    files = {
        KITCHEN: kitchen,
        "shared/recipes/ring.yaml": recipe("Onion ring", [("ingredient", "onion", "90 g")]) + "equipment: fryer\n",
        "shared/recipes/mix.yaml": recipe("Mix", [("recipe", "ring", "90 g"), ("ingredient", "dill", "9 g")]),
    }

    def told(**components: str) -> list[str]:
        return [p.message for p in prepared(poured(components), files).problems if p.slug == "kept-equipment"]

    assert told(chips="{ingredient: potato, equipment: fryer}") == [] == told(herb="{ingredient: dill}")
    (one,) = told(herb="{ingredient: dill, equipment: fryer}")
    assert one.startswith("herb ")
    (one,) = told(herb="{ingredient: dill, finish: [{do: fry, takes: 9 s, on: fryer}]}")
    assert one.startswith("herb ")
    (one,) = told(mixed="{recipe: mix}")
    assert one.startswith("Onion ring "), "the recipe inside goes through it, and what it is in does not"


# --------------------------------------------------------------------------- two laws as one


def test_two_laws_as_one_declare_what_either_does_and_leave_apart_what_neither_does():
    files = {**labelled("celery, egg, cod", "lupin"), **under("us", "eu")}
    one = prepared(poured({"a": "{product: thing}"}), files)
    both = union(one.statements)
    assert both.law.key.split("+") == [s.law.key for s in one.statements] and " and " in both.law.name
    assert finding(both, "celery").presence == CONTAINS and finding(both, "lupin").presence == MAY
    assert both.also == (), "European Union law lists both"
    assert finding(both, "fish").kinds == ("cod",), "the kind is kept where one law names it"
    us = prepared(poured({"a": "{product: thing}"}), {**labelled("celery", ""), **under("us")})
    assert [a.node for a in union(us.statements).also] == ["celery"]


def saying(one, name: str, *findings: tuple):
    """The statement with only these findings, each with its allergen and what else differs from that of milk."""
    milk = finding(one.statements[0], "milk")
    made = tuple(milk._replace(law=name, allergen=a, kinds=(), **dict(more)) for a, more in findings)
    return one.statements[0]._replace(findings=made, also=())


@pytest.mark.parametrize(
    "first, second, presence, of, level",
    [
        # (presence, level) in either law; the stronger presence counts, and of two alike the words of the first.
        ((CONTAINS, "mandatory"), (CONTAINS, "mandatory"), CONTAINS, "one", "mandatory"),
        ((ABSENT, "mandatory"), (ABSENT, "mandatory"), ABSENT, "one", "mandatory"),
        ((MAY, "mandatory"), (CONTAINS, "mandatory"), CONTAINS, "two", "mandatory"),
        ((UNKNOWN, "mandatory"), (CONTAINS, "mandatory"), CONTAINS, "two", "mandatory"),
        ((MAY, "mandatory"), (UNKNOWN, "mandatory"), UNKNOWN, "two", "mandatory"),
        ((UNKNOWN, "mandatory"), (MAY, "mandatory"), UNKNOWN, "one", "mandatory"),
        ((ABSENT, "mandatory"), (MAY, "mandatory"), MAY, "two", "mandatory"),
        # What either requires is required, and only where it declares as much as is declared.
        ((CONTAINS, "recommended"), (CONTAINS, "mandatory"), CONTAINS, "one", "mandatory"),
        ((CONTAINS, "mandatory"), (CONTAINS, "recommended"), CONTAINS, "one", "mandatory"),
        ((CONTAINS, "national"), (CONTAINS, "recommended"), CONTAINS, "one", "recommended"),
        ((CONTAINS, "recommended"), (CONTAINS, "national"), CONTAINS, "one", "recommended"),
        ((CONTAINS, "national"), (CONTAINS, "national"), CONTAINS, "one", "national"),
        ((CONTAINS, "recommended"), (ABSENT, "mandatory"), CONTAINS, "one", "recommended"),
        ((MAY, "mandatory"), (CONTAINS, "recommended"), CONTAINS, "two", "recommended"),
    ],
)
def test_of_two_laws_the_stronger_word_counts_and_of_two_alike_the_first(first, second, presence, of, level):
    one = prepared(poured({"a": "{ingredient: butter}"}), under("eu"))
    laws = [
        saying(one, name, ("milk", {"presence": p, "level": said}), ("egg", {"presence": ABSENT, "level": "mandatory"}))
        for name, (p, said) in (("one", first), ("two", second))
    ]
    both = union(tuple(laws))
    milk = finding(both, "milk")
    assert (milk.presence, milk.law, milk.level) == (presence, of, level)
    assert [f.allergen for f in both.findings] == ["milk", "egg"] and finding(both, "egg").presence == ABSENT


def test_of_two_laws_that_declare_alike_the_one_that_names_the_kind_is_kept():
    for order in ("[eu, us]", "[us, eu]"):
        files = {**labelled("cod"), KITCHEN: LIBRARY[KITCHEN].replace("laws: [eu, us]", f"laws: {order}")}
        fish = finding(union(prepared(poured({"a": "{product: thing}"}), files).statements), "fish")
        assert (fish.law, fish.kinds) == ("us", ("cod",))


# --------------------------------------------------------------------------- what it lists, and what it stands on


@pytest.mark.parametrize(
    "law, unlisted",
    [
        ("eu", {"cereal_gluten", "tree_nut", "edible_insect"}),  # two bare groups, and one that only states what is so
        ("uk", {"cereal_gluten", "tree_nut"}),
        ("au-nz", {"bee_pollen", "royal_jelly"}),
    ],
)
def test_a_bare_group_and_a_mere_statement_are_listed_only_where_there_is_something_of_them(law, unlisted):
    s = statement(under(law), law, poured({"a": "{ingredient: dill}"}))
    found = [f.allergen for f in s.findings]
    assert not unlisted & set(found) and {"milk", "egg", "wheat", "hazelnut"} <= set(found)
    assert len(found) == len(set(found)) and {f.presence for f in s.findings} == {ABSENT}


CUTTLEFISH = "that cuttlefish is among its items to be named where possible"


@pytest.mark.parametrize(
    "law, contains, words",
    [
        # What such a row would declare is not ruled out by it either, so it is said of every dish.
        ("eu", "milk, egg, wheat, triticale", []),
        ("us", "milk, egg, wheat", []),
        ("us", "triticale", ["that triticale is declared as wheat"]),
        ("jp", "milk, egg, wheat, shrimp", [CUTTLEFISH]),
        ("jp", "triticale", ["that triticale is declared as wheat", CUTTLEFISH]),
        ("kr", "squid", ["that cuttlefish is among its squid"]),
        ("kr", "cuttlefish", ["that cuttlefish is among its squid"]),
    ],
)
def test_what_stands_on_memory_alone_is_said_and_only_that(law, contains, words):
    said = statement({**labelled(contains), **under(law)}, law).from_memory
    assert list(said) == words


def test_sulphites_under_a_law_that_lists_none_stand_apart_with_what_is_known():
    for contains, may, presence in (("sulphite", "", CONTAINS), ("", "sulphite", MAY)):
        s = statement({**labelled(contains, may), **under("jp")}, "jp")
        assert [(a.node, a.presence) for a in s.also] == [("sulphite", presence)]
        assert not any(f.allergen == "sulphite" for f in s.findings)
    assert statement({**labelled("egg"), **under("jp")}, "jp").also == ()


@pytest.mark.parametrize(
    "law, contains, allergen, is_open",
    [
        ("us", "fish", "fish", True),
        ("us", "cod", "fish", False),
        ("us", "milk", "milk", False),  # of cow's milk the kind goes without saying
        ("us", "soy", "soy", False),
        ("eu", "fish", "fish", False),
        ("eu", "milk", "milk", False),
        ("eu", "gluten", "cereal_gluten", True),
    ],
)
def test_a_kind_is_open_where_the_law_asks_for_it_and_nobody_states_it(law, contains, allergen, is_open):
    found = finding(statement({**labelled(contains), **under(law)}, law), allergen)
    assert (found.presence, found.kind_open, bool(found.note)) == (CONTAINS, is_open, is_open)
    assert ("(kind not established)" in found.in_full) is is_open


# --------------------------------------------------------------------------- on record


def recorded(words: str, contains: str = "", of: int = 1, now: int = 1, more: str = "", files=None, menu=None):
    """A dish of revision ``now`` with a record of these words of revision ``of``."""
    spec = poured({"a": f"{{product: thing{more}}}"}).replace("number: 1", f"number: {now}")
    spec = spec.replace("plate: wide\n", f"plate: wide\nacknowledged: {{revision: {of}, eu: [{words}]}}\n")
    one = prepared(spec, {**under("eu"), **labelled(contains), **(files or {})}, menu)
    return one, one.statements[0]


def test_what_is_on_record_is_declared_by_the_record_alone_where_the_dish_has_it_no_more():
    _, s = recorded("egg, milk", "milk")
    assert (finding(s, "egg").presence, finding(s, "egg").on_record) == (CONTAINS, ("egg",))
    assert (finding(s, "milk").presence, finding(s, "milk").on_record) == (CONTAINS, ())
    assert "on record" in finding(s, "egg").in_full and "on record" not in finding(s, "milk").in_full
    assert finding(s, "fish").presence == ABSENT


def test_sulphites_on_record_are_the_dishs_own_whatever_the_fryer_leaves_open():
    menu = {"starter": dish("Fritters", fritter="{product: bare, equipment: fryer}")}
    pantry = labelled("")[PANTRY] + "  bare: {called: Bare}\n"
    _, s = recorded("sulphite", more=", equipment: fryer", files={PANTRY: pantry}, menu=menu)
    found = finding(s, "sulphite")
    assert (found.presence, found.is_own, found.over, found.on_record) == (CONTAINS, True, "", ("sulphite",))
    assert found.left_out == "" and len(found.reasons) == 1


@pytest.mark.parametrize(
    "words, contains, of, now, told",
    [
        ("egg", "egg", 1, 1, []),
        ("egg, milk", "egg", 1, 1, [("allergen-went-out", "error")]),
        ("egg", "egg, milk", 1, 1, [("allergen-came-in", "error")]),
        ("egg", "egg", 2, 1, [("acknowledged-too-late", "error")]),
        ("egg, milk", "egg", 1, 2, [("allergen-went-out", "advice")]),
        ("egg, milk", "egg, fish", 1, 2, [("allergen-came-in", "error")]),
        ("egg, mlik", "egg", 1, 1, [("unknown-allergen-on-record", "error")]),
    ],
)
def test_the_record_is_held_against_what_is_declared_now(words, contains, of, now, told):
    one, _ = recorded(words, contains, of, now)
    slugs = {"allergen-went-out", "allergen-came-in", "acknowledged-too-late", "unknown-allergen-on-record"}
    assert [(p.slug, p.severity) for p in one.problems if p.slug in slugs] == told
