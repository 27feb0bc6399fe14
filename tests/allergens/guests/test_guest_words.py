"""What a guest's words take in: kinds of food, diets and conditions, and what has to be settled first.

Each answer is for a dish of one ingredient, so that only the word decides it.
"""

from __future__ import annotations

import csv
import json
from functools import cache
from pathlib import Path

import pytest
from pypdf import PdfReader

from platecard import pipeline
from platecard.allergens.guests.requests import NotUnderstood, split, understand
from platecard.knowledge import catalogue, guests, kinds, taxonomy
from platecard.reports import guest_answers
from tests.kitchens import KITCHEN, LIBRARY, PANTRY, library, poured

AS_IS, CHANGED, CANNOT, OPEN = "as_is", "changed", "cannot", "not_established"
KINDS, CATALOGUE, TAXONOMY = kinds.load()[0], catalogue.load()[0], taxonomy.load()[0]
DATA = Path(__file__).parent


@cache
def world(laws: str = "eu, us", more: str = ""):
    files = {**LIBRARY, KITCHEN: LIBRARY[KITCHEN].replace("[eu, us]", f"[{laws}]"), **json.loads(more or "{}")}
    return pipeline.world(library(files))


def answer(
    said: str,
    food: str,
    eats: str = "",
    laws: str = "eu, us",
    handling: str = "",
    more: str = "",
    kind: str = "ingredient",
):
    """The answer for a dish of this one food."""
    here = world(laws, more)
    begun = pipeline.begin(
        poured({"food": f"{{{kind}: {json.dumps(food)}{handling}}}"}), "specs/asked.yaml", "asked", here
    )
    guest, problems = guest_answers.avoids(said, here, eats)
    assert not problems, problems
    [(_, found)] = guest_answers.answer_all((begun,), ("asked",), guest, here)
    return found


# --------------------------------------------------------------------------- kinds


@pytest.mark.parametrize(
    "said, food",
    [
        ("meat", "venison"),
        ("alcohol", "dry white wine"),
        ("corn", "polenta"),
        ("legumes", "green lentil"),
        ("cereals", "pearl barley"),
        ("citrus", "lemon"),
        ("mushrooms", "dried porcini"),
        ("cheese", "goat's curd"),
        ("fruit", "strawberry"),
        ("berries", "strawberry"),
        ("oily fish", "salmon"),
        ("onion", "spring onion"),
        ("alliums", "chive"),
        ("nightshades", "potato"),
        ("peppers", "smoked paprika"),
        ("seeds", "poppy seed"),
        ("seeds", "tahini"),
        ("beans", "tofu"),
        ("poultry", "duck breast"),
        ("game", "wild boar"),
        ("pork", "lardo"),
        ("honey", "mead"),
        ("grape", "red wine"),
        ("maize", "sweetcorn"),
        ("yeast", "beer"),
        ("cocoa", "dark chocolate"),
        ("tomato", "ketchup"),
        ("garlic", "black garlic"),
        ("caffeine", "coffee"),
        ("gelatine", "leaf gelatine"),
        ("insects", "carmine"),
        ("champignons", "dried porcini"),
    ],
)
def test_a_kind_holds_what_is_of_it(said, food):
    assert answer(said, food).answer == CANNOT


@pytest.mark.parametrize(
    "said, food",
    [
        ("meat", "carrot"),
        ("corn", "rice"),
        ("legumes", "beetroot"),
        ("citrus", "lemon thyme"),
        ("mushrooms", "parsnip"),
        ("berries", "beetroot"),
        ("oily fish", "cod"),
        ("white fish", "salmon"),
        ("garlic", "onion"),
        ("wine", "grape"),
        ("beer", "pearl barley"),
        ("cheese", "milk"),
        ("nuts", "nutmeg"),
        ("peanut", "pine nut"),
        ("alcohol", "apple juice"),
        ("pepper", "beetroot"),
        ("chervil", "lovage"),
        ("parsley", "chervil"),
        ("strawberry", "raspberry"),
        ("lamb", "beef"),
        ("prawns", "cod"),
        ("shellfish", "cod"),
        ("seaweed", "samphire"),
    ],
)
def test_a_kind_leaves_in_peace_what_is_not_of_it(said, food):
    assert answer(said, food).answer == AS_IS


@pytest.mark.parametrize(
    "said, food",
    [
        ("strawberry", "berry"),
        ("cod", "fish stock"),
        ("chervil", "herb"),
        ("venison", "game stock"),
        ("lemon", "citrus fruit"),
        ("kidney bean", "bean"),
    ],
)
def test_a_vague_name_can_be_any_of_its_kind(said, food):
    assert answer(said, food).answer == OPEN


def test_every_entry_of_the_catalogue_says_what_it_is():
    assert [e.name for e in CATALOGUE if not e.kinds] == []


def test_an_allergen_that_is_of_a_kind_comes_with_it():
    """Hazelnut is a nut, cod is a fish: the kinds of an entry never say less than its allergens do."""
    missing = []
    for entry in CATALOGUE:
        for node in entry.contains:
            homes = [k.id for k in KINDS.kinds.values() if any(TAXONOMY.is_under(node, n) for n in k.nodes)]
            if homes and not any(set(entry.kinds) & (KINDS.below(h) | KINDS.above(h)) for h in homes):
                missing.append((entry.name, node))
    assert missing == []


# What the categories of the outside dataset (see the head of its file) say a food is of.
CATEGORIES = {
    "Finfish and Shellfish Products": ("fish", "crustacean", "mollusc", "sea_urchin", "frog"),
    "Fish": ("fish",),
    "Shellfish": ("crustacean", "mollusc"),
    "Dairy and Egg Products": ("dairy", "egg"),
    "Milk, whole": ("dairy",),
    "Cheese": ("cheese",),
    "Spices and Herbs": ("spice", "herb", "allium", "capsicum", "vanilla", "mustard"),
    "Vegetables and Vegetable Products": ("vegetable", "mushroom", "seaweed", "legume", "maize"),
    "Cereal Grains and Pasta": ("grain", "starch"),
    "Nut and Seed Products": ("nut", "edible_seed", "coconut"),
    "Nuts and seeds": ("nut", "edible_seed", "coconut"),
    "Fruits and Fruit Juices": ("fruit",),
    "Legumes and Legume Products": ("legume",),
    "Beans, peas, legumes": ("legume",),
    "Fats and Oils": ("oil", "animal_fat", "butter", "egg", "dairy"),
    "Soy-based condiments": ("soy",),
    "Mustard and other condiments": ("mustard", "vegetable", "spice", "tomato"),
    "Other fruits and fruit salads": ("fruit",),
    "Other vegetables and combinations": ("vegetable",),
}
# Record → why the dataset's category and the catalogue's kinds differ.
EXPLAINED = {
    "Chia seeds, dry, raw": "The catalogue: a seed; the dataset shelves it with grain.",
    "Capers, canned": "The catalogue: a flower bud eaten as a vegetable; the dataset shelves it with spices.",
    "Horseradish, prepared": "The catalogue: a root of the cabbage family; the dataset shelves it with spices.",
    "Spices, poppy seed": "The catalogue: an edible seed; the dataset shelves it with spices.",
    "Parsley, fresh": "The catalogue: a herb; the dataset shelves the fresh leaf with vegetables.",
    "Seaweed, raw": "The catalogue: neither plant nor vegetable in the strict sense, so a kind of its own.",
    "Fish sauce": (
        "The catalogue: fish and salt; the dataset's shelf of soy-based condiments takes in every dark sauce."
    ),
    "Oyster sauce": "The catalogue: oysters, and open for soya; the dataset's shelf takes in every dark sauce.",
    "Worcestershire sauce": (
        "The catalogue: named by what is in it; the dataset's shelf of condiments says nothing of that."
    ),
    **dict.fromkeys(
        ("Vinegar", "Vinegar, balsamic", "Vinegar, cider", "Vinegar, distilled", "Vinegar, red wine"),
        "The catalogue: vinegar is a kind of its own, with the fruit it is made of; the dataset shelves it with spices"
        " or condiments.",
    ),
}


def outside():
    lines = (DATA.parent / "outside_allergens.csv").read_text(encoding="utf-8").splitlines()
    return list(csv.DictReader(line for line in lines if not line.startswith("#")))


def test_kinds_agree_with_the_categories_of_an_outside_dataset():
    different = {}
    for row in outside():
        entry = CATALOGUE.find(row["name"]).entry
        within = {b for k in CATEGORIES[row["category"]] for b in KINDS.below(k)} | set(CATEGORIES[row["category"]])
        above = {a for k in CATEGORIES[row["category"]] for a in KINDS.above(k)} - {"plant", "animal_product"}
        if not set(entry.kinds) & (within | above):
            different[row["record"]] = (row["category"], entry.name, entry.kinds)
    assert different.keys() == EXPLAINED.keys(), {k: v for k, v in different.items() if k not in EXPLAINED}


def pairs() -> list[dict]:
    return list(csv.DictReader((DATA / "guest_pairs.csv").read_text(encoding="utf-8").splitlines()))


def test_pairs_of_words_and_foods_both_ways():
    """Each pair was written by somebody who had not seen the data: never a yes that is wrong, and hardly a yes too
    few.
    """
    wrong, yes, kept = [], 0, 0
    for row in pairs():
        try:
            found = answer(row["said"], row["food"])
        except AssertionError:
            found = None  # the word is not understood, which is no yes
        is_yes = found is not None and found.answer == AS_IS
        if row["expected"] == "no" and is_yes:
            wrong.append((row["said"], row["food"]))
        if row["expected"] == "yes":
            yes, kept = yes + 1, kept + is_yes
    assert wrong == []
    assert len(pairs()) >= 500 and kept >= 0.95 * yes, f"{kept} of {yes}"


# --------------------------------------------------------------------------- what has to be settled


@pytest.mark.parametrize(
    "said, food, eats",
    [
        ("nuts", "peanut", "peanut"),
        ("shellfish", "snail", "snail"),
        ("prawns", "langoustine", "langoustine"),
        ("onion", "leek", "leek"),
        ("crustaceans", "cricket flour", "insects"),
        ("cashew", "pink peppercorn", "pink peppercorn"),
        ("peanut", "lupin flour", "lupin"),
    ],
)
def test_what_the_word_does_not_count_stops_the_answer_until_it_is_settled(said, food, eats):
    assert answer(said, food).answer == OPEN
    assert answer(said, food, eats=eats).answer == AS_IS
    assert answer(f"{said}, {eats}", food).answer == CANNOT


def test_the_answer_begins_with_how_it_was_understood(galley):
    run = galley.run("guest", "beetroot", "--avoid", "nuts")
    assert (
        run.out.startswith("nuts: the nuts of the laws in force")
        and "peanut is a legume and not counted: ask" in run.out.splitlines()[0]
    )
    told = galley.run("guest", "beetroot", "--avoid", "nuts and garlic", "--format", "json").data["understood"]
    assert [(one["said"], one["does_not_cover"]) for one in told] == [
        ("nuts", "peanut is a legume and not counted"),
        ("garlic", None),
    ]


@pytest.mark.parametrize(
    "said", ["sandwich", "e", "oil paint", "not milk", "eats fish", "wine o'clock", "crumble", "surprise"]
)
def test_a_word_that_names_nothing_definite_is_no_answer(said):
    """Some of these stand inside the names of foods; that makes nobody understand them."""
    with pytest.raises(NotUnderstood):
        understand(said, TAXONOMY, CATALOGUE)


@pytest.mark.parametrize(
    "said, same",
    [
        ("no milk", "milk"),
        ("Allergic to NUTS", "nuts"),
        ("gluten-free", "gluten"),
        ("nut allergy", "nuts"),
        ("can't eat pork", "pork"),
        ("egg please", "egg"),
    ],
)
def test_words_round_a_request_change_nothing(said, same):
    assert understand(said, TAXONOMY, CATALOGUE).understood == understand(same, TAXONOMY, CATALOGUE).understood


def test_a_list_is_cut_where_a_guest_would_cut_it():
    assert list(split("hazelnut and shellfish, milk & egg; salt", TAXONOMY, CATALOGUE)) == [
        "hazelnut",
        "shellfish",
        "milk",
        "egg",
        "salt",
    ]


def test_what_was_not_understood_is_not_answered(galley):
    run = galley.run("guest", "beetroot", "--avoid", "milk", "--eats", "peamut", "--format", "json")
    assert run.code == 1 and run.data["answer"] == OPEN and "--eats" in run.data["problems"][0]["message"]


# --------------------------------------------------------------------------- diets and conditions


@pytest.mark.parametrize(
    "said, food",
    [
        ("halal", "pork belly"),
        ("vegan", "butter"),
        ("vegetarian", "pork belly"),
        ("vegetarian", "leaf gelatine"),
        ("pregnant", "calf's liver"),
        ("coeliac", "rye flour"),
        ("kosher", "lobster"),
        ("histamine", "aged parmesan"),
        ("fodmap", "garlic"),
        ("latex", "avocado"),
        ("birch pollen", "apple"),
        ("pescatarian", "beef"),
    ],
)
def test_a_condition_names_what_it_found(said, food):
    if CATALOGUE.find(food).entry is None:
        food = "parmesan"
    found = answer(said, food)
    assert found.answer in (CANNOT, OPEN) and found.reasons and not found.nothing_found


@pytest.mark.parametrize(
    "said", [word for word in guests.load()[0].conditions if word not in ("vegetarian", "vegan", "pescatarian")]
)
def test_a_religious_diet_pregnancy_or_illness_never_gets_a_plain_yes(said):
    found = answer(said, "water")
    assert (found.answer, found.nothing_found, found.changes) == (OPEN, True, ())


@pytest.mark.parametrize("said", ["vegetarian", "vegan", "pescatarian", "vegan diet"])
def test_what_the_ingredients_can_answer_is_answered(said):
    assert answer(said, "carrot").answer == AS_IS


def test_nothing_found_is_said_so(galley):
    run = galley.run("guest", "beetroot", "--avoid", "halal")
    assert run.code == 1 and "not established" in run.out and "serve as it is" not in run.out
    galley.write({"specs/plain.yaml": poured({"carrot": "{ingredient: carrot}"})})
    run = galley.run("guest", "plain", "--avoid", "halal")
    assert run.code == 1 and "nothing of this kind among the ingredients entered: ask the kitchen" in run.out
    assert "do not serve" not in run.out  # one order, not two
    told = galley.run("guest", "plain", "--avoid", "halal", "--format", "json").data
    assert (
        told["answer"] == OPEN
        and told["nothing_found"] is True
        and told["understood"][0]["ingredients_can_answer"] is False
    )


@pytest.mark.parametrize(
    "handling, found", [("", OPEN), (", state: raw", CANNOT), (", state: cured", CANNOT), (", state: cooked", OPEN)]
)
def test_raw_fish_is_what_nobody_says_is_cooked(handling, found):
    one = answer("raw fish", "salmon", handling=handling)
    assert one.answer == found and one.nothing_found is (handling == ", state: cooked")


# --------------------------------------------------------------------------- labels and products


def shelf(**products: str) -> str:
    return json.dumps({PANTRY: "products:\n" + "".join(f"  {key}: {{{said}}}\n" for key, said in products.items())})


def test_the_text_of_a_label_is_asked_by_kind():
    more = shelf(
        paste='called: Red paste, label: {read: 2026-01-02, contains: [], text: "Chillies, garlic, lemon juice, salt."}'
    )
    assert [
        answer(w, "paste", kind="product", more=more).answer for w in ("garlic", "citrus", "nightshades", "mushrooms")
    ] == [CANNOT, CANNOT, CANNOT, AS_IS]


def test_a_list_of_allergens_says_nothing_of_other_kinds():
    more = shelf(paste="called: Red paste, label: {read: 2026-01-02, contains: [fish]}")
    assert [
        answer(w, "paste", kind="product", more=more).answer for w in ("garlic", "meat", "fish", "crustaceans")
    ] == [OPEN, OPEN, CANNOT, AS_IS]


def test_a_products_name_may_say_more_than_what_it_is():
    more = shelf(
        loaf="called: Loaf with honey and garlic, is: bread flour, label: {read: 2026-01-02, contains: [wheat]}"
    )
    assert answer("garlic", "loaf", kind="product", more=more).answer == OPEN


def test_a_kind_over_shared_equipment_remains_stated():
    here = world()
    menu = tuple(
        pipeline.begin(text, f"specs/{key}.yaml", key, here)
        for key, text in {
            "asked": poured({"chips": "{ingredient: potato, equipment: fryer}"}),
            "other": poured({"rings": "{ingredient: onion, equipment: fryer}"}, title="Onion rings"),
        }.items()
    )
    guest, _ = guest_answers.avoids("onion", here)
    [(_, found)] = guest_answers.answer_all(menu, ("asked",), guest, here)
    assert found.answer == AS_IS and [m.presence for m in found.remaining] == ["may_contain"]


# --------------------------------------------------------------------------- groups beyond the law, and other reactions


@pytest.mark.parametrize("said", ["molluscs", "celery", "mustard", "lupin"])
def test_a_group_that_no_law_in_force_lists_can_be_asked_for(said):
    food = {"molluscs": "oyster", "celery": "celery", "mustard": "mustard seed", "lupin": "lupin flour"}[said]
    assert answer(said, food, laws="us").answer == CANNOT
    assert answer(said, "carrot", laws="us").answer == AS_IS


def test_the_page_lets_a_guest_ask_for_them_too(galley):
    galley.write({KITCHEN: LIBRARY[KITCHEN].replace("[eu, us]", "[us]")})
    galley.run("build")
    page = (galley.root / "output/menu/front-of-house.html").read_text(encoding="utf-8")
    for group in ("celery", "mustard", "lupin", "mollusc"):
        assert f'value="{group}"' in page
    assert "Listed by no law in force here" in page


def test_what_a_food_can_set_off_is_told_by_the_food_that_is_in_the_dish(galley):
    galley.write({"specs/crunch.yaml": poured({"crunch": "{ingredient: cricket flour}"})})
    run = galley.run("guest", "crunch", "--avoid", "celery")
    assert "also: cricket flour can set off guests who are allergic to crustaceans, molluscs or dust mites" in run.out
    assert galley.run("guest", "crunch", "--avoid", "celery", "--format", "json").data["also"] == [
        "cricket flour can set off guests who are allergic to crustaceans, molluscs or dust mites"
    ]
    galley.run("build")
    page = (galley.root / "output/menu/front-of-house.html").read_text(encoding="utf-8")
    assert "cricket flour can set off guests" in page
    card = " ".join(page.extract_text() for page in PdfReader(galley.root / "output/crunch/pass-card.pdf").pages)
    assert "cricket flour can set off guests who are allergic to crustaceans" in " ".join(card.split())


# --------------------------------------------------------------------------- the data


def test_the_data_of_words_holds_together():
    assert guests.load()[1] == () and kinds.load()[1] == ()


@pytest.mark.parametrize(
    "old, new, slug",
    [
        ("nodes: [tree_nut]", "nodes: [tree_nuts]", "unknown-node"),
        ("kinds: [meat]", "kinds: [meats]", "unknown-kind"),
        ('beyond: "peanut', 'byond: "peanut', "unknown-key"),
    ],
)
def test_a_slip_in_the_data_of_words_is_told(old, new, slug):
    from platecard import packaged_tables
    from platecard.yaml_nodes import parse

    texts = packaged_tables.texts("guests.yaml", "kinds.yaml", "taxonomy.yaml")
    path = next(p for p in texts if p.endswith("/guests.yaml"))
    assert old in texts[path]
    texts[path] = texts[path].replace(old, new, 1)
    trees = {p: parse(t, p)[0] for p, t in texts.items()}
    assert slug in {p.slug for p in guests._collect(trees)[1]}


# --------------------------------------------------------------------------- kin


@pytest.mark.parametrize(
    "said, food",
    [
        ("cod", "haddock"),
        ("salmon", "trout"),
        ("mussels", "oyster"),
        ("squid", "octopus"),
        ("anchovy", "sardine"),
        ("sole", "turbot"),
        ("hazelnut", "walnut"),
        ("goat's milk", "butter"),
        ("stone fruit", "almond"),
        ("celery", "lovage"),
        ("lupin", "peanut"),
        ("pistachio", "sumac"),
        ("peanut", "fenugreek seed"),
    ],
)
def test_kin_stop_the_answer_until_the_guest_has_settled_them(said, food):
    assert answer(said, food).answer == OPEN


@pytest.mark.parametrize(
    "said, food",
    [
        ("cod", "salmon"),
        ("salmon", "turbot"),
        ("squid", "cod"),
        ("hazelnut", "sunflower seed"),
        ("anchovy", "cod"),
        ("fish", "mussel"),
    ],
)
def test_others_than_kin_do_not(said, food):
    assert answer(said, food).answer == AS_IS


def test_kin_that_the_guest_eats_are_settled():
    assert answer("salmon", "trout", eats="trout").answer == AS_IS


# --------------------------------------------------------------------------- sentences as they are taken down


@pytest.mark.parametrize(
    "said, understood",
    [
        ("please no nuts, she is pregnant", ["nuts", "pregnant"]),
        ("severely allergic to fish", ["fish"]),
        ("mild lactose intolerance", ["lactose"]),
        ("Hi, table 4 has a nut allergy, thanks", ["nut"]),
        ("table 4: nuts", ["nuts"]),
        ("peanuts (carries an EpiPen)", ["peanut"]),
        ("peanut, carries an EpiPen", ["peanut"]),
        ("milk, it's severe", ["milk"]),
        ("nut allergy - severe", ["nut"]),
        ("very allergic to sesame, will go into anaphylactic shock", ["sesame"]),
        ("6 year old, allergic to egg", ["egg"]),
        ("child with egg allergy", ["egg"]),
        ("she is 5 months pregnant", ["pregnant"]),
        ("pregnant so no alcohol", ["pregnant", "alcohol"]),
        ("can't have milk because she is pregnant", ["milk", "pregnant"]),
        ("a pregnant guest who is allergic to egg", ["pregnant", "egg"]),
        ("my wife is pregnant and allergic to nuts", ["pregnant", "nuts"]),
        ("one is vegan and the other is allergic to sesame", ["vegan", "sesame"]),
        ("good evening, we have a coeliac at the table", ["coeliac"]),
        ("allergies: milk, egg", ["milk", "egg"]),
        ("1 vegetarian, 1 coeliac", ["vegetarian", "coeliac"]),
        ("could you please leave out the dill", ["dill"]),
    ],
)
def test_politeness_severity_and_pregnancy_beside_a_food(said, understood):
    """Nothing of it is dropped: what is asked is what each word would ask by itself."""
    here = world()
    found, problems = guest_answers.avoids(said, here)
    alone = [guest_answers.avoids(word, here)[0][0] for word in understood]

    def asked(a):
        return a.nodes, a.kinds, a.but, a.settle, a.ask, a.raw, a.answers, a.entry

    assert not problems and [asked(a) for a in found] == [asked(a) for a in alone]


@pytest.mark.parametrize(
    "said",
    [
        "breastfeeding, no fish",
        "nursing mother",
        "allergic to nuts, but almonds are fine",
        "vegetarian but eats fish",
        "milk, traces are fine",
        "not severe",
        "8 month old",
        "nuts, not allergic",
        "hi",
        "severe",
        "raw, fish and something",
    ],
)
def test_what_could_matter_and_is_not_understood_is_not_answered(said):
    found, problems = guest_answers.avoids(said, world())
    assert problems and all(p.is_error for p in problems)


def test_a_word_that_only_narrows_never_joins_the_request_beside_it():
    """'raw, fish' may be two requests: fish is not narrowed to raw fish."""
    found, problems = guest_answers.avoids("raw, fish", world())
    assert problems or any(not a.raw and "fish" in a.nodes for a in found)
