"""The words of guests in five languages, as they are misspelt and framed; and those that must not be understood.

The tables here are written by hand; the walks go through the data word by word.
"""

from __future__ import annotations

from functools import cache

import pytest

from platecard import packaged_tables
from platecard.allergens.guests.requests import NotUnderstood, understand
from platecard.knowledge import catalogue, guests, kinds, taxonomy
from platecard.knowledge.names import fold
from platecard.reports import guest_answers
from platecard.yaml_nodes import parse
from tests.allergens.guests.test_guest_words import AS_IS, CANNOT, OPEN, answer, shelf, world

KINDS, CATALOGUE, TAXONOMY = kinds.load()[0], catalogue.load()[0], taxonomy.load()[0]
SPOKEN = guests.load()[0]


def meant(said: str):
    return understand(said, TAXONOMY, CATALOGUE)


def is_understood(said: str) -> bool:
    try:
        return bool(meant(said))
    except NotUnderstood:
        return False


@cache
def kinds_of(node: str) -> frozenset[str]:
    """The kinds that an allergen is of."""
    return frozenset(k for k in KINDS.kinds if node in KINDS.nodes_of(k))


def holds(found, entry) -> bool:
    """Whether an entry is of what was understood, or a group that it may be one of."""
    sought = {b for k in found.kinds for b in KINDS.below(k) | KINDS.above(k)}
    sought.update(*map(kinds_of, found.nodes))
    return bool(sought.intersection(entry.kinds)) or any(
        TAXONOMY.is_under(n, m) or TAXONOMY.is_under(m, n) for n in entry.contains for m in found.nodes
    )


# --------------------------------------------------------------------------- by hand, both ways

# An allergen or kind in English, French, German, Italian and Spanish; a food that is of it, and one that is not.
FIVE = [
    ("gluten", "gluten", "Gluten", "glutine", "cereales con gluten", "rye flour", "rice"),
    ("wheat", "blé", "Weizen", "frumento", "trigo", "plain flour", "rice"),
    ("crustaceans", "crustacés", "Krebstiere", "crostacei", "crustáceos", "prawn", "cod"),
    ("eggs", "œufs", "Eier", "uova", "huevos", "egg yolk", "milk"),
    ("fish", "poisson", "Fisch", "pesce", "pescado", "cod", "prawn"),
    ("peanuts", "cacahuètes", "Erdnüsse", "arachidi", "cacahuetes", "peanut", "almond"),
    ("soya", "soja", "Sojabohnen", "soia", "soja", "tofu", "green lentil"),
    ("milk", "lait", "Milch", "latte", "leche", "double cream", "egg yolk"),
    ("dairy products", "produits laitiers", "Milchprodukte", "latticini", "lácteos", "butter", "cod"),
    ("nuts", "fruits à coque", "Nüsse", "frutta a guscio", "frutos de cáscara", "hazelnut", "carrot"),
    ("celery", "céleri", "Sellerie", "sedano", "apio", "celeriac", "carrot"),
    ("mustard", "moutarde", "Senf", "senape", "mostaza", "mustard seed", "cumin"),
    ("sesame", "sésame", "Sesam", "sesamo", "sésamo", "tahini", "poppy seed"),
    ("sulphites", "sulfites", "Sulfite", "solfiti", "sulfitos", "sodium metabisulphite", "carrot"),
    ("lupin", "lupin", "Lupinen", "lupini", "altramuces", "lupin flour", "rice"),
    ("molluscs", "mollusques", "Weichtiere", "molluschi", "moluscos", "squid", "cod"),
    ("shellfish", "fruits de mer", "Meeresfrüchte", "frutti di mare", "mariscos", "mussel", "cod"),
    ("onions", "oignons", "Zwiebeln", "cipolle", "cebollas", "red onion", "carrot"),
    ("garlic", "ail", "Knoblauch", "aglio", "ajo", "black garlic", "carrot"),
    ("cruciferous vegetables", "crucifères", "Kreuzblütler", "crucifere", "crucíferas", "broccoli", "carrot"),
    ("seaweed", "algues", "Algen", "alghe", "algas", "nori", "samphire"),
    ("mushrooms", "champignons", "Pilze", "funghi", "setas", "dried porcini", "parsnip"),
    ("citrus fruits", "agrumes", "Zitrusfrüchte", "agrumi", "cítricos", "lemon", "apple"),
    ("berries", "fruits rouges", "Beeren", "frutti di bosco", "frutos rojos", "strawberry", "beetroot"),
    ("stone fruit", "fruits à noyau", "Steinobst", "drupe", "frutas de hueso", "apricot", "apple"),
    ("pulses", "légumes secs", "Hülsenfrüchte", "legumi", "legumbres", "green lentil", "rice"),
    ("chickpeas", "pois chiches", "Kichererbsen", "ceci", "garbanzos", "chickpea", "rice"),
    ("beans", "haricots", "Bohnen", "fagioli", "alubias", "kidney bean", "rice"),
    ("cereals", "céréales", "Getreide", "cereali", "cereales", "pearl barley", "potato"),
    ("maize", "maïs", "Kukuruz", "granturco", "maíz", "polenta", "rice"),
    ("seeds", "graine", "Samen", "semi", "semillas", "poppy seed", "carrot"),
    ("meat", "viande", "Fleisch", "carne", "carne", "venison", "carrot"),
    ("beef", "bœuf", "Rindfleisch", "manzo", "ternera", "veal loin", "pork belly"),
    ("pork", "porc", "Schweinefleisch", "maiale", "cerdo", "pork belly", "beef"),
    ("poultry", "volaille", "Geflügel", "pollame", "aves", "duck breast", "beef"),
    ("lamb", "agneau", "Lammfleisch", "agnello", "cordero", "lamb shoulder", "beef"),
    ("game", "gibier", "Wildfleisch", "selvaggina", "caza", "venison", "carrot"),
    ("offal", "abats", "Innereien", "frattaglie", "casquería", "calf's liver", "carrot"),
    ("oily fish", "poisson bleu", "Fettfisch", "pesce azzurro", "pescado azul", "salmon", "cod"),
    ("cheese", "fromages", "Käse", "formaggi", "quesos", "goat's curd", "milk"),
    ("honey", "miel", "Honig", "miele", "miel", "mead", "beetroot"),
    ("alcohol", "alcool", "Alkohol", "alcolici", "bebidas alcohólicas", "dry white wine", "apple juice"),
    ("gelatine", "gélatine", "Gelatine", "gelatina", "gelatina", "leaf gelatine", "agar"),
    ("gourds", "cucurbitacées", "Kürbisgewächse", "cucurbitacee", "cucurbitáceas", "cucumber", "carrot"),
    ("nightshades", "solanacées", "Nachtschattengewächse", "solanacee", "solanáceas", "potato", "carrot"),
    ("sprouts", "graines germées", "Sprossen", "germogli", "brotes", "mung bean sprout", "carrot"),
    ("smoked food", "fumé", "geräuchert", "affumicato", "ahumados", "smoked haddock", "haddock"),
    ("dried fruit", "fruits séchés", "Trockenobst", "frutta essiccata", "frutas secas", "raisin", "grape"),
    ("caffeine", "caféine", "Koffein", "caffeina", "cafeína", "coffee", "beetroot"),
    ("yeast", "levures", "Hefe", "lievito di birra", "levadura de panadero", "yeast", "rice"),
    ("cephalopods", "céphalopodes", "Tintenfische", "cefalopodi", "cefalópodos", "octopus", "mussel"),
    ("cured fish", "poissons fumés", "Räucherfisch", "pesce salato", "pescado en salazón", "smoked salmon", "salmon"),
]


@pytest.mark.parametrize("row", FIVE, ids=lambda row: row[0])
def test_an_allergen_or_kind_in_five_languages_both_ways(row):
    *words, of_it, other = row
    for word in words:
        assert answer(word, of_it).answer == CANNOT, word
        assert answer(word, other).answer == AS_IS, word


@pytest.mark.parametrize(
    "said, same",
    [
        ("shelfish", "shellfish"),
        ("diary", "milk"),
        ("penuts", "peanuts"),
        ("celliac", "coeliac"),
        ("glutin", "gluten"),
        ("sulfits", "sulphites"),
        ("hazlenuts", "hazelnut"),
        ("corriander", "coriander"),
        ("seasame", "sesame"),
        ("crustations", "crustaceans"),
        ("vegeterian", "vegetarian"),
        ("tomatos", "tomato"),
        ("tumeric", "turmeric"),
    ],
)
def test_a_common_misspelling_is_the_word(said, same):
    assert meant(said).understood == meant(same).understood


@pytest.mark.parametrize(
    "said, same",
    [
        ("I react to garlic", "garlic"),
        ("I can't do squash", "squash"),
        ("I'm expecting", "pregnant"),
        ("onions of any kind", "onion"),
        ("anything made by bees", "bee products"),
        ("things with tentacles", "cephalopods"),
        ("anything smoked", "smoked food"),
        ("no caffeine after noon", "caffeine"),
        ("strictly no pork", "pork"),
        ("no milk, please", "milk"),
        ("severe shellfish allergy", "shellfish"),
        ("I have a severe nut allergy", "nuts"),
        ("on a low FODMAP diet", "fodmap"),
        ("traces of sesame", "sesame"),
        ("no trace of nuts", "nuts"),
        ("because of gout", "gout"),
        ("on MAO inhibitors", "tyramine"),
        ("hold the onions", "onion"),
        ("gluten free diet", "gluten"),
        ("I follow a vegan diet", "vegan"),
        ("vegan only", "vegan"),
        ("my wife is allergic to fish", "fish"),
        ("eats only halal", "halal"),
        ("eats no fish", "fish"),
        ("never eats pork", "pork"),
        ("anything without milk", "milk"),
        ("egg-free", "egg"),
        ("nut-free", "nuts"),
        ("no added sugar", "added sugar"),
        ("sans gluten", "gluten"),
        ("allergique aux arachides", "peanut"),
        ("allergisch gegen Nüsse", "nuts"),
        ("senza latte", "milk"),
        ("sin huevo", "egg"),
        ("soy alérgica a los mariscos", "shellfish"),
        ("fish products", "fish"),
        ("alcohol in any form", "alcohol"),
        ("no pork whatsoever", "pork"),
        ("no alcohol in food", "alcohol"),
        ("raw onion", "onion"),
        ("not too spicy", "spicy"),
    ],
)
def test_words_round_a_request_change_nothing(said, same):
    assert meant(said).understood == meant(same).understood


# --------------------------------------------------------------------------- not understood

GRANTED = [
    "not allergic to milk",
    "isn't allergic to nuts",
    "is not allergic to fish",
    "I am not allergic to fish",
    "I'm not allergic to egg",
    "no longer allergic to milk",
    "never allergic to fish",
    "no milk allergy",
    "no allergy to milk",
    "no fish intolerance",
    "without a nut allergy",
    "not intolerant to lactose",
    "not sensitive to gluten",
    "no gluten sensitivity",
    "no reaction to nuts",
    "does not react to milk",
    "doesn't react to egg",
    "does not avoid fish",
    "doesn't avoid milk",
    "don't avoid nuts",
    "no need to avoid nuts",
    "no problem with fish",
    "no issue with milk",
    "has no problem with fish",
    "fine with milk",
    "is fine with nuts",
    "ok with egg",
    "fish is fine",
    "milk is ok",
    "nuts are fine",
    "egg okay",
    "traces of milk are fine",
    "any fish is fine",
    "loves nuts",
    "likes fish",
    "enjoys shellfish",
    "wants fish",
    "would like prawns",
    "prefers fish",
    "can eat egg",
    "can have milk",
    "may eat fish",
    "tolerates milk",
    "can tolerate milk",
    "eats fish",
    "only eats fish",
    "eats only meat",
    "fish only",
    "only fish",
    "just milk",
    "with milk",
    "with extra nuts",
    "extra cheese",
    "on a fish diet",
    "fish diet",
    "meat eater",
    "egg eater",
    "eats raw fish",
    "raw fish only",
    "raw food diet",
    "anything but fish",
    "everything but milk",
    "all but nuts",
    "all except egg",
    "nothing but fish",
    "can't live without cheese",
    "can't do without cheese",
    "cannot get enough of nuts",
    "no more than fish",
    "have milk",
    "has milk",
    "takes milk",
    "drinks milk",
    "drinks wine",
    "is a fish lover",
    "lactose tolerant",
    "pas allergique aux noix",
    "nicht allergisch gegen Nüsse",
    "non allergico al latte",
    "no soy alérgico a la leche",
    "avoids nothing",
    "not vegan",
    "not vegetarian",
    "isn't pregnant",
    "never without milk",
    "not without nuts",
    "no gluten-free",
    "isn't coeliac",
    "fish yes",
    "mag Fisch",
    "aime le poisson",
    "milk in tea",
]


@pytest.mark.parametrize("said", GRANTED)
def test_what_a_guest_may_have_is_never_taken_for_what_is_avoided_nor_the_other_way_round(said):
    assert not is_understood(said)


def test_there_are_enough_of_them():
    assert len(set(map(fold, GRANTED))) == len(GRANTED) >= 60


@pytest.mark.parametrize(
    "said",
    [
        "wild",
        "Rind",
        "no rind",
        "bar",
        "peperoni",
        "biscuit",
        "légumes",
        "no légumes",
        "veggies",
        "no veggies",
        "baies",
        "Kraut",
        "Korn",
        "coco",
        "something",
        "the usual",
        "red",
        "white",
        "sauce please",
        "free",
        "allergy",
        "no",
        "diet",
        "statins",
    ],
)
def test_a_word_of_two_meanings_or_none_is_not_understood(said):
    assert not is_understood(said)


@pytest.mark.parametrize("said, offered", [("nucitella", ()), ("to everything", ()), ("cheddarr", ("cheddar",))])
def test_what_is_only_remotely_like_a_food_is_not_offered(said, offered):
    with pytest.raises(NotUnderstood) as refused:
        understand(said, TAXONOMY, CATALOGUE)
    assert refused.value.hints[: len(offered) or None] == offered


def test_an_unclear_word_offers_what_may_be_meant():
    with pytest.raises(NotUnderstood) as stop:
        meant("no rind")
    assert stop.value.hints == ("beef", "cheese", "citrus")


@pytest.mark.parametrize(
    "eats",
    [
        "no peanut",
        "peanut free",
        "not peanut",
        "vegan",
        "allergic to peanut",
        "without peanut",
        "nothing spicy",
        "halal",
    ],
)
def test_what_is_eaten_all_the_same_is_said_plainly(eats):
    assert guest_answers.avoids("nuts", world(), eats)[1] != ()


@pytest.mark.parametrize(
    "said, food",
    [
        ("frutos secos", "raisin"),
        ("frutos secos", "peanut"),
        ("frutta secca", "hazelnut"),
        ("poire", "pear"),
        ("poire", "perry"),
        ("piment", "allspice"),
        ("piment", "ground chilli"),
        ("citron", "lemon"),
        ("citron", "candied citron"),
        ("poivre", "black pepper"),
    ],
)
def test_a_word_of_two_foods_is_both(said, food):
    if CATALOGUE.find(food).entry is None:
        pytest.fail(f"{food} is not in the catalogue")
    assert answer(said, food).answer == CANNOT


# --------------------------------------------------------------------------- kinds that say how a food was made


@pytest.mark.parametrize(
    "said, food, expected",
    [
        ("smoked", "kipper", CANNOT),
        ("smoked", "katsuobushi", CANNOT),
        ("smoked", "smoked paprika", CANNOT),
        ("smoked", "chipotle", CANNOT),
        ("smoked", "bacon", OPEN),
        ("smoked", "paprika", OPEN),
        ("smoked", "tea", OPEN),
        ("smoked", "Scotch whisky", OPEN),
        ("smoked", "provola", OPEN),
        ("smoked", "salmon", AS_IS),
        ("smoked", "salt", AS_IS),
        ("smoked", "pork belly", AS_IS),
        ("sprouts", "alfalfa sprout", CANNOT),
        ("sprouts", "soya bean sprout", CANNOT),
        ("sprouts", "radish sprout", CANNOT),
        ("sprouts", "cress", OPEN),
        ("sprouts", "lettuce", AS_IS),
        ("sprouts", "Brussels sprout", OPEN),
        ("sprouts", "radish", AS_IS),
        ("gourds", "melon", CANNOT),
        ("gourds", "courgette", CANNOT),
        ("gourds", "bitter melon", CANNOT),
        ("gourds", "aubergine", AS_IS),
        ("dried fruit", "date", CANNOT),
        ("dried fruit", "prune", CANNOT),
        ("dried fruit", "mixed peel", OPEN),
        ("dried fruit", "plum", AS_IS),
        ("cured fish", "salt cod", CANNOT),
        ("cured fish", "bottarga", CANNOT),
        ("cured fish", "anchovy", OPEN),
        ("cured fish", "cod", AS_IS),
        ("nitrites", "sodium nitrite", CANNOT),
        ("nitrites", "curing salt", CANNOT),
        ("nitrites", "cooked ham", CANNOT),
        ("nitrites", "prosciutto", OPEN),
        ("nitrites", "pork belly", AS_IS),
        ("squash", "vegetable", OPEN),
        ("melon", "carrot", AS_IS),
        ("squash", "cucumber", AS_IS),
        ("haddock", "smoked haddock", CANNOT),
        ("dried apricot", "apricot", OPEN),
        ("MSG", "monosodium glutamate", CANNOT),
    ],
)
def test_how_a_food_was_made_is_asked_by_kind(said, food, expected):
    assert answer(said, food).answer == expected


def test_what_is_called_smoked_is_of_that_kind():
    smoked = {"smoked", "affumicata", "affumicato", "fume", "kipper"}
    assert [e.name for e in CATALOGUE if smoked.intersection(fold(e.name).split()) and "smoked" not in e.kinds] == []
    made = table("guest-names.yaml")
    assert set(made["names"]["smoked"]) >= {"en", "fr", "de", "it", "es"}
    nitrite = {e.name for e in CATALOGUE if "nitrite" in e.kinds}
    assert {"potassium nitrite", "sodium nitrite", "sodium nitrate", "potassium nitrate"} <= nitrite


# --------------------------------------------------------------------------- conditions


@pytest.mark.parametrize(
    "said, food",
    [
        ("MAO inhibitors", "cheddar"),
        ("MAO inhibitors", "soy sauce"),
        ("MAO inhibitors", "broad bean"),
        ("MAO inhibitors", "beer"),
        ("PKU", "aspartame"),
        ("phenylketonuria", "chicken breast"),
        ("gout", "calf's liver"),
        ("gout", "sardine"),
        ("low sodium", "salt"),
        ("salt-free", "bacon"),
        ("keto", "sugar"),
        ("low carb", "potato"),
        ("paleo", "green lentil"),
        ("buddhist", "leek"),
        ("rastafari", "pork belly"),
        ("ital", "salt"),
        ("seventh-day adventist", "coffee"),
        ("kidney disease", "banana"),
        ("reflux", "lemon"),
        ("type 2 diabetic", "sugar"),
    ],
)
def test_a_condition_names_what_it_found(said, food):
    found = answer(said, food)
    assert found.answer == CANNOT and found.reasons


@pytest.mark.parametrize("food", ["cheddar", "milk", "double cream"])
def test_raw_milk_may_be_in_any_dairy(food):
    found = answer("unpasteurised cheese", food)
    assert found.answer == OPEN and not found.nothing_found


@pytest.mark.parametrize("said", ["Ramadan", "interstitial cystitis"])
def test_a_condition_of_which_nothing_is_known_is_not_understood(said):
    assert not is_understood(said)


def test_conditions_are_marked_as_practice_and_say_how_they_were_understood():
    tree = next(parse(t, p)[0] for p, t in packaged_tables.texts("guests.yaml").items())
    rows = packaged_tables.placed(tree)["conditions"]
    assert [r["say"][0] for r in rows if r.get("source") != "practice" or not r.get("as")] == []
    assert [r["say"][0] for r in rows if r.get("plain")] == ["vegetarian", "vegan", "pescatarian"]


# --------------------------------------------------------------------------- the data, word by word


def table(name: str) -> dict:
    return packaged_tables.placed(next(parse(t, p)[0] for p, t in packaged_tables.texts(name).items()))


def test_every_word_of_a_saying_or_condition_is_that_row():
    made = table("guests.yaml")
    wrong = [
        word
        for row in made["sayings"] + made["conditions"]
        for word in row["say"]
        if meant(word).understood != row["as"]
    ]
    assert wrong == []


def test_every_word_of_a_kind_leads_to_it():
    """Where a saying or an allergen has the same word, that holds the kind or what is of it."""
    wrong = []
    for row in table("kinds.yaml")["kinds"]:
        below = KINDS.below(row["id"])
        for word in (row["id"].replace("_", " "), row.get("name", row["id"].replace("_", " ")), *row.get("also", ())):
            if not is_understood(word):
                wrong.append((word, "not understood"))
                continue
            found = meant(word)
            of_nodes = frozenset().union(*map(kinds_of, found.nodes))
            if not below & ({b for k in found.kinds for b in KINDS.below(k)} | of_nodes):
                wrong.append((word, found.understood))
    assert wrong == []


def test_every_further_name_means_what_it_stands_under():
    made = table("guest-names.yaml")
    wrong, count = [], 0
    for target, row in made["names"].items():
        if target == packaged_tables.PLACE:
            continue
        expected = meant(target)
        for word in (w for language, words in row.items() if language != packaged_tables.PLACE for w in words):
            count += 1
            found = meant(word)
            if (found.understood, found.nodes, found.kinds) != (expected.understood, expected.nodes, expected.kinds):
                wrong.append((word, target))
    assert wrong == [] and count >= 1500


def test_a_further_name_never_means_another_food_than_the_catalogue_calls_so():
    wrong = []
    for word, target in SPOKEN.names.items():
        entry = CATALOGUE.find(word).entry
        if entry is None or CATALOGUE.find(word).read_as or word == "levadura":  # the entry is vague: it may be yeast
            continue
        if not holds(meant(word), entry):
            wrong.append((word, target, entry.name))
    assert wrong == []


def test_no_name_in_the_catalogue_loses_a_word_to_a_frame():
    """ "Free-range egg" and "hot dog" are names, not framed words."""
    framed = [
        e
        for e in CATALOGUE
        if (bare := SPOKEN.bare(e.name)) != fold(e.name) and (bare in SPOKEN.meanings or bare in SPOKEN.names)
    ]
    lost = [e.name for e in framed if not holds(meant(e.name), e)]
    assert lost == []


def test_a_kind_brings_the_allergens_that_are_of_it():
    """A label's list may name no more than squid; who avoids tentacles avoids squid."""
    groups = [(word, g) for word, m in SPOKEN.meanings.items() for g in (m.avoid, m.settle, m.ask)]
    assert [(word, k) for word, g in groups for k in g.kinds if not set(KINDS.nodes_of(k)) <= set(g.nodes)] == []


@pytest.mark.parametrize(
    "old, new, slug",
    [
        ("  rye:\n", "  rhye:\n", "unknown-guest-word"),
        ("    de: [Roggen]", "    nl: [Roggen]", "unknown-key"),
        ("    de: [Roggen]", "    de: [Roggen, Dinkel, lait, milk]", "guest-word-twice"),
        ("    de: [Roggen]", "    de: [Roggen, Gerste]", "guest-word-twice"),
        ("  rind: [", "  roggen: [", "guest-word-twice"),
    ],
)
def test_a_slip_in_the_names_is_told(old, new, slug):
    texts = packaged_tables.texts("guests.yaml", "guest-names.yaml", "kinds.yaml", "taxonomy.yaml")
    path = next(p for p in texts if p.endswith("/guest-names.yaml"))
    assert texts[path].count(old) == 1
    texts[path] = texts[path].replace(old, new)
    assert slug in {p.slug for p in guests._collect({p: parse(t, p)[0] for p, t in texts.items()})[1]}


@pytest.mark.parametrize(
    "old, new, slug",
    [
        ("  neutral:\n", "  nuetral:\n", "unknown-key"),
        ("    after: [free]", "    after: [free, please]", "guest-word-twice"),
    ],
)
def test_a_slip_in_the_frames_is_told(old, new, slug):
    texts = packaged_tables.texts("guests.yaml", "guest-names.yaml", "kinds.yaml", "taxonomy.yaml")
    path = next(p for p in texts if p.endswith("/guests.yaml"))
    assert texts[path].count(old) == 1
    texts[path] = texts[path].replace(old, new)
    assert slug in {p.slug for p in guests._collect({p: parse(t, p)[0] for p, t in texts.items()})[1]}


@pytest.mark.parametrize(
    "text, said, expected",
    [
        ("contains: [squid]", "tentacles", CANNOT),
        ("contains: [fish]", "tentacles", AS_IS),
        ("contains: [soya]", "beans", CANNOT),
    ],
)
def test_a_list_of_allergens_tells_of_a_saying_by_its_allergens(text, said, expected):
    more = shelf(mix=f"called: Mixed thing, is: salt, label: {{read: 2026-01-02, {text}}}")
    assert answer(said, "mix", kind="product", more=more).answer == expected
