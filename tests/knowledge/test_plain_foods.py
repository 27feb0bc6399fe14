"""Foods as cooks write them: words of choosing, cutting and cooking change nothing in what a food is."""

from __future__ import annotations

import csv
from collections import defaultdict
from pathlib import Path

import pytest

from platecard.knowledge import catalogue, taxonomy
from platecard.knowledge.names import fold
from tests.allergens import oracle

CATALOGUE, TREE = catalogue.load()[0], taxonomy.load()[0]
WORDS = oracle.read((oracle.DATA / "plain-foods.yaml").read_text(encoding="utf-8"))
LINES = (Path(__file__).parent / "cooks_lines.csv").read_text(encoding="utf-8").splitlines()
ROWS = list(csv.DictReader(line for line in LINES if not line.startswith("#")))
PLACES = ("before", "after", "done", "behind")


def facts(entry):
    return (entry.contains, entry.depends, entry.may, entry.form, entry.so2_mg_kg, entry.kinds, entry.kinds_open)


@pytest.mark.parametrize(
    "written, food",
    [
        ("fresh salmon", "salmon"),
        ("line-caught haddock fillet", "haddock"),
        ("finely diced onion", "onion"),
        ("onions, peeled and finely diced", "onion"),
        ("boiled potatoes", "potato"),
        ("dried butter beans", "butter bean"),
        ("rump of lamb, roasted", "lamb rump"),
        ("egg whites, whisked", "egg white"),
        ("double cream, lightly whipped", "double cream"),
        ("Maris Piper potatoes", "potato"),
        ("Kartoffeln", "potato"),
        ("Kartoffeln, geschält und gewürfelt", "potato"),
        ("pomodori", "tomato"),
        ("poireaux", "leek"),
        ("oignons, émincés", "onion"),
        ("cipolle, tritate finemente", "onion"),
        ("cebolla picada", "onion"),
        ("toasted hazelnuts", "hazelnut"),
        ("large eggs", "egg"),
        ("large eggs, beaten", "egg"),
        ("butter, diced", "butter"),
        ("diced butter", "butter"),
        ("butter (softened)", "butter"),
        ("butter (at room temperature), cubed", "butter"),
        ("coarsely cracked black pepper", "black pepper"),
        ("garlic, minced", "garlic"),
        ("sifted flour", "flour"),
        ("carrots, peeled", "carrot"),
        ("Cheddar, finely grated", "cheddar"),
        ("cream (35%)", "whipping cream"),
        ("pork belly, skin scored", "pork belly"),
        # A name of its own goes before what is left after more words.
        ("apricots, dried and chopped", "dried apricot"),
        ("tomatoes (tinned)", "tinned tomato"),
        ("cod, smoked", "smoked cod"),
        ("almonds, ground", "ground almond"),
        ("suet, shredded", "shredded suet"),
        ("peas, split", "split pea"),
        # What it is for, how strong and how old it is.
        ("flour for dusting", "flour"),
        ("butter, for the tin", "butter"),
        ("olive oil for deep-frying", "olive oil"),
        ("salt to taste", "salt"),
        ("dark chocolate 70%", "dark chocolate"),
        ("70 % dark chocolate", "dark chocolate"),
        ("milk 3.5%", "milk"),
        ("Comté, aged 18 months", "Comté"),
        ("24-month Parmesan", "parmesan"),
        ("Parmigiano Reggiano 36 mesi", "Parmigiano Reggiano"),
        ("salmon, skin on", "salmon"),
        ("gelatine leaves", "gelatine"),
        ("sugar for dusting", "icing sugar"),
        # The other name in brackets.
        ("cime di rapa (turnip tops)", "cime di rapa"),
        ("coriander (cilantro)", "coriander"),
        ("aubergines (eggplants), diced", "aubergine"),
        # What depends on its maker in everything is read with any of the words: nothing is hidden.
        ("roast gravy", "gravy"),
        ("sliced ham", "ham"),
        ("grilled sausage", "sausage"),
        ("fresh pesto", "pesto"),
    ],
)
def test_a_food_is_found_behind_a_cooks_words(written, food):
    assert CATALOGUE.find_plain(written).entry is CATALOGUE.find(food).entry is not None


@pytest.mark.parametrize(
    "written",
    [
        "steamed pudding",
        "smoked carrot",
        "smoked butter beans",
        "pickled swede",
        "breaded cod",
        "candied beetroot",
        "carrots, glazed in butter",
        "potatoes, fried with garlic",
        "onion, breaded",
        "cod, battered",
        "walnuts, in syrup",
        "tuna loin, in brine",
        "plain flour, gluten-free",
        "lamb (seasoned)",
        "butter (moon dust)",
        "moon dust (butter)",
        "fresh",
        "diced",
        "roasted, diced",
        "fillet of",
        ",",
        "()",
        "(,)",
        "wine, 0%",
        "beer 0.5%",
        "yoghurt 0%",
        "5 spice",
        "100-year-old egg",
        "smoked turnip 82%",
    ],
)
def test_what_was_made_into_another_food_is_not_found(written):
    assert CATALOGUE.find_plain(written).entry is None


@pytest.mark.parametrize("written", ["cod (haddock)", "butter (margarine)", "cime di rapa (kale)", "fish (cod)"])
def test_two_names_that_are_not_of_one_food_are_asked_about(written):
    found = CATALOGUE.find_plain(written)
    assert found.entry is None and len(found.candidates) == 2


@pytest.mark.parametrize(
    "written, nodes",
    [
        ("tinned celeriac", {"sulphite"}),
        ("vacuum-packed carrots", {"sulphite"}),
        ("carrots, tinned", {"sulphite"}),
        ("frozen shallots", {"sulphite"}),
        ("frozen peas", set()),
        ("vacuum-packed lamb", set()),
    ],
)
def test_what_is_bought_so_waits_for_its_label(written, nodes):
    assert set(CATALOGUE.find_plain(written).entry.depends) == nodes


def test_a_name_of_the_catalogue_goes_before_its_words():
    """ "Fresh pasta", "cooked ham" and "peeled potato" are foods of their own."""
    assert [n for n in CATALOGUE.names() if CATALOGUE.find_plain(n).entry is not CATALOGUE.find(n).entry] == []


def test_each_word_left_away_is_harmless_for_every_food_it_meets():
    """Where a food with a word beside it has a name and other facts, that name is meant, whatever else is said.

    The same words tried with more of them round it: "large", "washed".  A word of ``done`` says behind a comma what
    is done here, so the bought food is only meant where the word stands before its name.
    """
    met, wrong = 0, []
    for row in WORDS["words"]:
        for place in PLACES:
            for word in dict.fromkeys(fold(w) for w in row.get(place, ())):
                for name in names_with(word):
                    whole = f"{word} {name}"
                    special, plain = CATALOGUE.named(whole), CATALOGUE.named(name)
                    if special is None or plain is None or facts(special) == facts(plain):
                        continue
                    met += 1
                    tried = [f"large {whole}", f"{whole}, washed", f"{whole} (diced)"]
                    tried += [f"{name}, {word}"] if place == "behind" and word not in DONE else []
                    for written in tried:
                        found = CATALOGUE.find_plain(written).entry
                        if found is not None and found.id != special.id and not found.depends_on_everything:
                            wrong.append((written, found.name, special.name))
    assert wrong == []
    assert met >= 100


DONE = {fold(w) for row in WORDS["words"] for w in row.get("done", ())}
_BEHIND_FIRST: dict[str, list[str]] = defaultdict(list)
for _name in CATALOGUE.names():
    for _at in range(1, _name.count(" ") + 1):
        _parts = _name.split(" ")
        _BEHIND_FIRST[" ".join(_parts[:_at])].append(" ".join(_parts[_at:]))


def names_with(word: str) -> list[str]:
    """What stands behind ``word`` in names that begin with it."""
    return _BEHIND_FIRST.get(word, [])


def test_no_word_left_away_can_change_what_a_food_is():
    never = {fold(w) for w in WORDS["never"]}
    said = {fold(w) for row in WORDS["words"] for place in PLACES for w in row.get(place, ())}
    assert len(said) >= 500 and len(never) >= 90
    assert {w for w in said if never & {w, *w.split()}} == set()
    assert {"smoked", "battered", "breaded", "seasoned", "flavoured", "brine", "gluten free", "self raising"} <= never


@pytest.mark.parametrize(
    "written, first",
    [
        ("diced buter", "butter"),
        ("chiken thighs", None),
        ("butterr", "butter"),
        ("parsnipps, peeled", "parsnip"),
        ("tomatto purée, chilled", "tomato puree"),
    ],
)
def test_hints_are_close_in_meaning(written, first):
    near = CATALOGUE.near(written)
    assert near and (first is None or near[0] == first), near


@pytest.mark.parametrize(
    "written", ["batter", "battered cod", "cod in batter", "smoked garlic butter sauce", "moon dust"]
)
def test_no_hint_drops_what_changes_the_food(written):
    """Batter is no misspelt butter, and nobody is told to write cod for battered cod."""
    for near in CATALOGUE.near(written):
        assert not {w for w in fold(written).split() if w in ("batter", "battered", "smoked", "moon")} - set(
            near.split()
        )


# --------------------------------------------------------------------------- lines of kitchens


def told(entry) -> set[str]:
    return {up for n in (*entry.contains, *(d for d in entry.depends if d != "any")) for up in TREE.lineage(n)}


@pytest.mark.parametrize("kitchen", sorted({r["kitchen"] for r in ROWS}))
def test_of_ordinary_lines_nine_in_ten_are_known(kitchen):
    rows = [r for r in ROWS if r["kitchen"] == kitchen]
    unknown = [r["line"] for r in rows if CATALOGUE.find_plain(r["line"]).entry is None]
    floor = 85 if kitchen == "outside" else 90
    assert len(rows) >= 200 and 100 * (len(rows) - len(unknown)) >= floor * len(rows), unknown


def test_no_line_reads_as_without_an_allergen_that_it_brings():
    wrong = [
        (r["line"], entry.name, node)
        for r in ROWS
        if (entry := CATALOGUE.find_plain(r["line"]).entry) is not None and not entry.depends_on_everything
        for node in r["tells"].split()
        if node not in told(entry)
    ]
    assert wrong == []
    assert sum(len(r["tells"].split()) for r in ROWS) >= 400


FOODS = ("oats", "milk", "coconut", "butter", "pork", "potatoes", "rice", "tomatoes", "mushrooms", "cabbage", "lamb")
FOODS += ("almonds", "hazelnuts", "chicken breast", "apples", "celery", "crab", "oysters", "lobster", "eggs", "flour")
LINKS = ("{}, {}", "{} ({})", "{}, with {}", "{}, soaked in {}", "{}, rolled in {}", "{}, fried in {}", "{} and {}")
LINKS += ("{}, or {}", "{}, cooked in {}", "{}, au {}", "{}, toasted, in {}", "{} + {}")


@pytest.mark.parametrize("link", LINKS)
def test_two_foods_on_one_line_are_never_read_as_one_that_lacks_an_allergen_of_either(link):
    """Oats soaked in milk are no oat drink, and butter and beans no butter bean."""
    read = 0
    for one in FOODS:
        for other in FOODS:
            entry = CATALOGUE.find_plain(link.format(one, other)).entry
            if one == other or entry is None or entry.depends_on_everything:
                continue
            read += 1
            has = (*entry.contains, *entry.depends)
            for food in (CATALOGUE.find_plain(one).entry, CATALOGUE.find_plain(other).entry):
                for node in food.contains:
                    assert any(TREE.is_under(n, node) or TREE.is_under(node, n) for n in has), (one, other, entry.name)
    assert read < 40, "most such lines name two foods, and are asked about"


@pytest.mark.parametrize(
    "line",
    ["lady fingers", "drumsticks", "yellow beans", "oranges, confit", "olive oil, infused", "pork, roasted in butter"],
)
def test_a_name_that_may_mean_another_food_is_asked_about(line):
    assert CATALOGUE.find_plain(line).entry is None


@pytest.mark.parametrize(
    "written, food",
    [
        ("cream, 35 %", "cream"),
        ("milk 3.5 %", "milk"),
        ("red wine 12,5 %", "red wine"),
        ("Comté, 18 months", "Comté"),
        ("24-month Parmesan", "parmesan"),
        ("sherry vinegar, 25 years old", "sherry vinegar"),
        ("dark chocolate 70%", "dark chocolate"),
        ("50 % rice flour", None),
        ("rice flour, 50 %", None),
        ("sunflower oil 50 %", None),
        ("75 % cacao", None),
        ("soy sauce, 50%", None),
        ("mustard (50 %)", None),
        ("egg, 100 year", None),
        ("egg, 100 days old", None),
        ("tofu, 3 weeks", None),
    ],
)
def test_a_share_or_an_age_is_left_away_only_where_the_rest_is_known(written, food):
    """A share of flour leaves the other half open; an egg of a hundred days is another food."""
    entry = catalogue.load()[0].find_plain(written).entry
    assert (entry.name if entry else None) == food


@pytest.mark.parametrize("sign", [". ", ": ", " - ", " – ", " · ", "|", "/", " & ", " + ", "; ", " (or {})"])
@pytest.mark.parametrize(
    "one, other", [("egg", "tomato"), ("butter", "beans"), ("sesame", "butter"), ("bread", "cheese"), ("rice", "flour")]
)
def test_two_foods_with_a_sign_between_them_are_never_a_third(one, other, sign):
    """Butter and beans are no butter beans, and rice and flour no rice flour: what each may hold stays open."""
    written = f"{one}{sign.format(other)}" if "{}" in sign else f"{one}{sign}{other}"
    entry = CATALOGUE.find_plain(written).entry
    if entry is not None:
        for name in (one, other):
            food = CATALOGUE.find_plain(name).entry
            assert set(food.contains) <= set(entry.contains) and set(food.depends) <= {*entry.depends, *entry.contains}
