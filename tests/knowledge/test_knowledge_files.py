"""The files of knowledge: each fault has its message at its place, and the packaged ones have none."""

from __future__ import annotations

import pytest

from platecard.diagnostics import Problem
from platecard.knowledge import catalogue, catalogue_rows, laws, taxonomy
from platecard.yaml_nodes import parse
from tests.allergens import oracle

TREE = taxonomy.load()[0]
CATALOGUE = catalogue.load()[0]
READ = {"seen", "seen-2nd", "memory", "practice"}

SOURCES = "sources:\n  practice: {title: Common practice, read: practice}\n"
LAW = """\
law: mars
name: Mars
act: Ordinance on Food under Domes
article: Article 1
date: 2026-01-31
link: none
mark: memory
groups:
  - {group: milk, heading: milk, declares: group, nodes: {milk: milk}}
  - {group: nuts, heading: nuts, declares: each, nodes: {almond: almonds, tree_nut: nuts}}
reads_as: {triticale: [wheat]}
exemptions:
  - {node: soy, form: refined_oil, effect: exempt, point: "2", why: refined to nothing}
sulphites: {group: sulphites, heading: sulphites, limit: 10, unit: mg/kg, declared_when: above, only_added: false, point: "3"}
in_force: 2026-02-01
checked: 2026-03-01
"""  # noqa: E501


def collected(collect, files: dict[str, str]) -> tuple[object, tuple[Problem, ...]]:
    trees = {path: parse(text, path)[0] for path, text in files.items()}
    return collect(trees)


def law_problems(old: str = "", new: str = "") -> list[tuple[str, str, int]]:
    assert not old or LAW.count(old) == 1
    made, problems = collected(laws._collect, {"platecard/data/laws/mars.yaml": LAW.replace(old, new) if old else LAW})
    # A law with a fault declares nothing by halves.
    assert bool(made) != bool(problems)
    return [
        (p.slug, p.message, p.span.line)
        for p in problems
        if p.is_error and p.span.file == "platecard/data/laws/mars.yaml"
    ]


def entry_problems(*entries: str) -> list[tuple[str, str, int]]:
    text = "entries:\n" + "".join(f"  - {e}\n" for e in entries)
    _, problems = collected(
        catalogue_rows.collect, {"platecard/data/catalogue/test.yaml": text, "platecard/data/sources.yaml": SOURCES}
    )
    return [
        (p.slug, p.message, p.span.line)
        for p in problems
        if p.is_error and p.span.file == "platecard/data/catalogue/test.yaml"
    ]


# --------------------------------------------------------------------------- faults of a law


def test_a_sound_law_has_no_problems():
    assert law_problems() == []


@pytest.mark.parametrize(
    "old, new, slug, said, line",
    [
        ("{milk: milk}}", "{mlik: milk}}", "unknown-node", "'mlik'", 9),
        ("[wheat]", "[weat]", "unknown-node", "'weat'", 1),
        (", why: refined to nothing", "", "exemption", "lacks why", 13),
        (', point: "2"', "", "exemption", "lacks point", 13),
        ("{node: soy,", "{node: soja,", "exemption", "'soja'", 13),
        ("effect: exempt", "effect: perhaps", "exemption", "'perhaps'", 13),
        (
            "nodes: {almond: almonds,",
            "nodes: {milk: milk, almond: almonds,",
            "law",
            "'milk' already stands in the group 'milk'",
            10,
        ),
        ("declares: each", "declares: some", "law", "'nuts'", 10),
        ("act: Ordinance on Food under Domes\n", "", "law", "no 'act'", 1),
        ("link: none\n", "", "law", "no 'link'", 1),
        ("date: 2026-01-31\n", "", "law", "no 'date'", 1),
        ("in_force: 2026-02-01\n", "", "law", "no 'in_force'", 1),
        ("checked: 2026-03-01", "checked: last spring", "law", "'last spring' is no day", 1),
        ("mark: memory", "mark: heard", "law", "'heard' is no mark", 1),
        ("heading: milk,", "heading: milk, level: polite,", "law", "'polite' is no level", 9),
        ("heading: milk,", "heading: milk, marks: {egg: seen},", "law", "'egg' has a mark", 9),
        ("reads_as: {triticale: [wheat]}", "marks: {triticale: seen}", "law", "'triticale' has a mark", 1),
        ("sulphites: {", "exceptions_of: {law: venus, mark: seen, why: w}\nsulphites: {", "law", "no law 'venus'", 14),
    ],
)
def test_a_faulty_law_says_so_at_its_place(old, new, slug, said, line):
    found = law_problems(old, new)
    assert [(s, n) for s, m, n in found if said in m] == [(slug, line)], found


def test_an_exemption_of_an_unknown_form():
    assert law_problems("form: refined_oil", "form: refined_oyl")


# --------------------------------------------------------------------------- faults of a catalogue entry


def test_a_sound_entry_has_no_problems():
    assert entry_problems("{name: moon cheese, contains: [milk], source: practice}") == []


@pytest.mark.parametrize(
    "entry, slug, said",
    [
        ("{name: moon cheese, contains: [milk]}", "no-source-cited", "'moon cheese' has no source"),
        ("{name: moon cheese, contains: [milk], source: hearsay}", "no-source-cited", "'moon cheese'"),
        ("{name: moon cheese, contains: [mlik], source: practice}", "unknown-node", "'mlik'"),
        ("{name: moon cheese, depends: [mlik], source: practice}", "unknown-node", "'mlik'"),
        ("{name: moon cheese, may: [mlik], source: practice}", "unknown-node", "'mlik'"),
        ("{name: moon oil, contains: [soy], form: {soy: fried}, source: practice}", "unknown-form", "'fried'"),
        ("{name: moon oil, form: {soy: refined_oil}, source: practice}", "unknown-form", "neither contained nor open"),
        ("{name: moon wine, contains: [sulphite], so2: 10, source: practice}", "no-source-cited", "sulphite figure"),
        ("{name: moon wine, so2: much, so2_source: practice, source: practice}", "catalogue-number", "'so2'"),
        ("{name: moon wine, densty: 1, source: practice}", "unknown-key", "'densty'"),
        ("{also: [moon], source: practice}", "catalogue-name", "without a name"),
    ],
)
def test_a_faulty_entry_says_so_at_its_place(entry, slug, said):
    found = entry_problems("{name: salt, source: practice}", entry)
    assert [(s, n) for s, m, n in found if said in m] == [(slug, 3)], found


@pytest.mark.parametrize(
    "second",
    [
        "{name: moon cheese, source: practice}",
        "{name: Moon-Cheeses, source: practice}",
        "{name: selenite, also: [MOON CHEESE], source: practice}",
    ],
)
def test_two_entries_with_the_same_name(second):
    [(slug, message, line)] = entry_problems("{name: moon cheese, contains: [milk], source: practice}", second)
    assert (slug, line) == ("name-in-two-entries", 3) and "moon cheese" in message and "test.yaml:2" in message


# --------------------------------------------------------------------------- the packaged files


def test_all_packaged_files_load_without_problems():
    assert taxonomy.load()[1] == () and catalogue.load()[1] == ()
    for key in laws.names():
        law, problems = laws.load(key)
        assert problems == () and law is not None and law.key == key
    assert {"eu", "uk", "us", "ca", "au-nz", "jp", "codex", "ch", "kr", "sg", "hk"} <= set(laws.names())


def test_every_source_is_defined_and_says_how_it_was_read():
    sources = oracle.read((oracle.DATA / "sources.yaml").read_text(encoding="utf-8"))["sources"]
    assert {key: s.get("read") for key, s in sources.items() if s.get("read") not in READ or not s.get("title")} == {}
    for e in oracle.entries():
        assert "source" in e, e["name"]
        for key in ("source", "so2_source", "density_source", "pieces_source"):
            assert key not in e or e[key] in sources, (e["name"], key, e.get(key))


def test_every_law_and_each_of_its_marks():
    for key in laws.names():
        book = oracle.law(key)
        assert book["mark"] in READ and book["act"] and book["article"] and book["date"] and book["link"], key
        for row in (*book["groups"], *(book.get("exemptions") or ())):
            assert row.get("mark", book["mark"]) in READ and row["point"], (key, row)
        for e in book.get("exemptions") or ():
            assert e["form"] in catalogue_rows.FORMS and e["why"], (key, e)
        assert "sulphites" not in book or (
            book["sulphites"]["declared_when"] in ("above", "from") and book["sulphites"]["limit"] == 10
        ), key


def test_codes_of_the_standard_that_are_never_used():
    own = [n["gs1"] for n in oracle.taxonomy()["nodes"] if "gs1" in n]
    assert not {"UN", "TN", "X99"} & set(own) and len(own) == len(set(own))
    assert not {"UN", "TN", "X99"} & {k.gs1 for k in TREE.kinds.values()}
    # Every node a law declares has a code, its own or its group's; what only carries a statement has none.
    statements = {"bee_pollen", "royal_jelly", "edible_insect"}
    assert {
        n for key in laws.names() for g in oracle.law(key)["groups"] for n in g["nodes"] if not TREE.kinds[n].gs1
    } == statements


def test_there_are_enough_entries_and_names():
    assert len(CATALOGUE) == len(oracle.entries()) >= 700
    assert len(set(CATALOGUE.names())) >= 1500


def test_every_name_leads_to_its_own_entry():
    for e in oracle.entries():
        for name in (e["name"], *e.get("also", ())):
            found = CATALOGUE.find(name)
            assert found.entry is not None and found.entry.name == e["name"] and not found.read_as, name


# --------------------------------------------------------------------------- look-up


@pytest.mark.parametrize(
    "one, other",
    [
        ("courgette", "zucchini"),
        ("coriander", "cilantro"),
        ("crème fraîche", "creme fraiche"),
        ("crème fraîche", "CREME-FRAICHE"),
        ("aubergine", "eggplant"),
        ("prawn", "Prawns"),
        ("shrimp", "shrimps"),
        ("squid", "calamari"),
        ("katsuobushi", "Katsuobushi"),
        ("rocket", "arugula"),
        ("spring onion", "scallions"),
        ("swede", "rutabaga"),
        ("beetroot", "beet"),
    ],
)
def test_two_names_of_one_ingredient(one, other):
    first, second = CATALOGUE.find(one).entry, CATALOGUE.find(other).entry
    assert first is not None and first == second


@pytest.mark.parametrize(
    "name, nodes",
    [
        ("prawn", {"prawn"}),
        ("shrimp", {"shrimp"}),
        ("katsuobushi", {"bonito", "tuna"}),
        ("crème fraîche", {"cow_milk"}),
        ("courgette", set()),
        ("coriander", set()),
    ],
)
def test_what_a_found_name_holds(name, nodes):
    assert set(CATALOGUE.find(name).entry.contains) == nodes


def test_another_order_of_words_is_found_and_shown():
    found = CATALOGUE.find("oil, olive")
    assert found.entry.name == "olive oil" == found.read_as


@pytest.mark.parametrize(
    "name",
    [
        "nuts",
        "lecithin",
        "vegetable oil",
        "fish",
        "stock",
        "natural flavouring",
        "flour",
        "spice mix",
        "curry powder",
        "sausage",
    ],
)
def test_a_vague_name_is_not_established(name):
    entry = CATALOGUE.find(name).entry
    assert entry is not None and entry.depends_on_everything


@pytest.mark.parametrize("name", ["", "moon dust", "glutten", "a", "-", "butterr"])
def test_a_name_nobody_knows_is_never_guessed(name):
    assert CATALOGUE.find(name).entry is None


def test_bries_are_cheeses():
    found = CATALOGUE.find("bries")
    assert found.entry is None or "milk" in {up for n in found.entry.contains for up in TREE.lineage(n)}


# --------------------------------------------------------------------------- names that mislead

SEEM = {
    "milk": [
        "butter bean",
        "butternut squash",
        "peanut butter",
        "cocoa butter",
        "shea butter",
        "cream of tartar",
        "cream soda",
        "coconut cream",
        "coconut milk",
        "oat milk",
        "lactic acid",
        "almond milk",
    ],
    "egg": ["eggplant"],
    "mollusc": ["oyster mushroom", "oyster leaf"],
    "crustacean": ["crab apple"],
    "tree_nut": [
        "nutmeg",
        "doughnut",
        "coconut",
        "water chestnut",
        "chestnut mushroom",
        "tiger nut",
        "butternut squash",
        "peanut",
    ],
    "tree_nut_other": [
        "nutmeg",
        "doughnut",
        "water chestnut",
        "chestnut mushroom",
        "tiger nut",
        "butternut squash",
        "peanut",
    ],
    "wheat": ["buckwheat", "sea buckthorn"],
    "cereal_gluten": ["buckwheat", "sea buckthorn"],
    "barley": ["maltitol", "maltodextrin"],
    "fish": ["sea urchin", "crayfish"],
    "celery": ["lovage", "parsnip", "carrot", "fennel seed"],
}
ARE = {
    "milk": ["buttermilk", "ghee", "quark", "whey", "paneer", "lactose", "clarified butter"],
    "fish": ["Bombay duck", "garum", "dashi", "Worcestershire sauce", "bottarga", "isinglass"],
    "wheat": ["seitan", "panko", "roux", "wheatgrass", "couscous", "bulgur", "freekeh", "spelt", "farro", "soy sauce"],
    "sesame": ["halva", "gomasio", "tahini", "za'atar"],
    "almond": ["frangipane", "orgeat", "marzipan"],
    "mollusc": ["calamari", "squid ink", "snail", "oyster sauce"],
    "crustacean": ["krill", "langoustine", "shrimp paste"],
    "celery": ["celeriac", "celery salt"],
    "barley": ["malt vinegar", "malt extract"],
    "egg": ["meringue", "mayonnaise", "lysozyme"],
    "soy": ["tofu", "tempeh", "edamame", "miso", "tamari"],
    "peanut": ["refined peanut oil", "satay sauce"],
    "lupin": ["lupin flour"],
}


def holds(name: str) -> set[str]:
    entry = CATALOGUE.find(name).entry
    assert entry is not None, name
    return {up for n in entry.contains for up in TREE.lineage(n)}


@pytest.mark.parametrize("node, name", [(node, name) for node, names in SEEM.items() for name in names])
def test_a_name_that_only_sounds_like_an_allergen(node, name):
    assert node not in holds(name)


@pytest.mark.parametrize("node, name", [(node, name) for node, names in ARE.items() for name in names])
def test_an_allergen_that_the_name_does_not_tell(node, name):
    assert node in holds(name)
