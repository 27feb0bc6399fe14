"""Claims of absence, and for a diet, in a chef's words; what a product's maker claims stays off cards."""

from __future__ import annotations

import pytest
from pypdf import PdfReader

from platecard.knowledge import claims
from tests.kitchens import BEETROOT, PANTRY, SMOKED, SPEC, kitchen, marked

SLUG = "claims-absence"

CLAIMS = """\
without nuts; gluten-free; gluten free; Gluten Free pancakes; nut-free; safe for nut allergy; no dairy in it; suitable for coeliacs; free from egg; contains no milk
egg less; eggless; dairyfree; vegan; Vegan risotto; Made without dairy; free of gluten and nuts; milk- and egg-free; no nuts, no dairy; No nuts; there are no nuts here
we do not use nuts; does not contain nuts; doesn't contain any milk; nuts are not used; Gluten: none; nuts: no; OK for coeliacs; fine for a guest who avoids milk
(gf); Soup (V); crumb, GF; lactose-free; vegetarian; plant-based; halal; kosher; coeliac-friendly; vegan-friendly; allergen-free; no allergens; non-dairy cream; meat-free
made with no eggs; not a trace of nuts in it; no trace of gluten; without sugar, salt or nuts; without oil or nuts; for coeliacs; peanut free; tree nut free; fish-free
no added milk; zero gluten; suitable for vegetarians; safe in pregnancy; nut safe for allergy sufferers; crumb has no wheat; with no egg; without any dairy
contains neither milk nor egg; wheatless; sesame-free; shellfish free; no shellfish in this; sulphite free; low FODMAP; free-from gluten; safe for people with a milk allergy
nothing of milk in it; absolutely no nuts whatsoever; can be eaten by coeliacs; coeliacs can eat it; no nuts in the sauce; no egg is used
Does not contain: nuts; free from: gluten, milk; Free from all 14 allergens; a dairy free pudding; Contains nothing with milk; cooked without using any milk or butter; there's no egg in it
without a drop of milk; it hasn't any egg; no-nut pesto; allergen friendly; hypoallergenic dessert; for guests with nut allergy: safe; no gluten-containing ingredients; vegans welcome
can be served to coeliacs; no peanuts or tree nuts; tree-nut-free; free of any traces of nuts; No milk, no worries; wheat & gluten free; gluten-, egg- and milk-free; no added sulphites
sans gluten; sans fruits à coque; ne contient pas de lait; sans œuf; sans lait ni œufs; exempt de gluten; végétalien
glutenfrei; laktosefreie Milch; nussfrei; ohne Nüsse; ohne Ei; frei von Milch; keine Nüsse; enthält keine Milch; vegetarisch
senza glutine; senza latte; senza uova; non contiene lattosio; vegano; sin lactosa; sin gluten; sin frutos secos; libre de gluten; no contiene huevo
glutenvrij; zonder melk; sem glúten; glutenfri; uden gluten"""  # noqa: E501

NO_CLAIMS = """\
Seedless grapes; boneless; without the skin; skinless; sugar-free; no nuts on this board; keep nuts away from this board; do not use butter; Never use nuts here
free-range eggs; eggs, free range; egg, free-range; no celery strings; no egg shell; Lift out without the fish breaking; no mustard on the rim; No bones, no scales
free of bones; wipe the rim free of egg; keep the board free of nuts; Do not use nuts; prise the oyster free; feel free; no colour yet; No milk skin; not suitable for vegans
not vegan; not suitable for nut allergy; never safe for coeliacs; kosher salt; without stirring; no corners cut with a knife; serve without a spoon
Ask the kitchen about nut allergy; use egg less often; no prawn touches its neighbour; stone-free plums; salt-free; may contain nuts; contains milk; unsalted
without letting the milk boil; no oil left; leave off for coeliacs; must not contain nuts; safe at 63 °C; no butter on the rim; Rim clean, no drips; Chill without film
Never a boil; No. 2 nozzle; peel the egg less tightly than that; with the skin, without stalk, egg on top; fat-free pan; smoke free; no crumb on the rim
No salt on the rim; not free from bones; free-form pasta; no skin on the milk; without butter on the brush; Knife clean, no fish on the blade; No tomato seeds; mussels free of sand
lift the egg free; No cod overlapping; Don't let milk boil; one with nuts, one not; egg less than an hour old; nut allergy: ask the kitchen; tell guests with milk allergy; not for coeliacs
good with fish; no colour on the almonds; almonds without skins; no cracked eggs; no broken almonds; Nuts on top, none under; allergens on the back of the card; milk, not cream
no fish scale in the sink; no nuts near the fryer; no milk in the pan; no nuts past this line; own tray, own mat; oats, rolled; wheat and rye, nothing added"""  # noqa: E501


def phrases(text: str) -> list[str]:
    return [p.strip() for row in text.splitlines() for p in row.split(";")]


@pytest.mark.parametrize("text", phrases(CLAIMS))
def test_a_claim_is_found_by_its_structure(text):
    assert claims.find(text), text
    assert claims.find(f"Two slices, {text}, on the plate"), text
    assert claims.find(text.upper()) and claims.find(text.replace("-", "\u2011"))


@pytest.mark.parametrize("text", phrases(NO_CLAIMS))
def test_instructions_parts_and_ordinary_words_claim_nothing(text):
    assert claims.find(text) == () and claims.find(text, as_name=True) == (), text


def test_a_guest_reads_a_name_without_flour_as_one_without_its_allergen():
    for name in ("Flourless chocolate cake", "Biscuit without flour", "Sauce with no cream", "butter-free pastry"):
        assert claims.find(name, as_name=True) and not claims.find("Sear without butter at first"), name


@pytest.mark.parametrize(
    "allergen",
    [
        "celery",
        "mustard",
        "lupin",
        "sesame",
        "soya",
        "crustaceans",
        "molluscs",
        "peanuts",
        "almonds",
        "sulphites",
        "fish",
        "hazelnut",
        "Brazil nuts",
    ],
)
@pytest.mark.parametrize(
    "built",
    [
        "without {}",
        "{}-free",
        "free from {}",
        "contains no {}",
        "does not contain any {}",
        "no {} in it",
        "suitable for {} allergy",
        "made without a trace of {}",
    ],
)
def test_every_structure_holds_for_every_allergen(built, allergen):
    assert claims.find(built.format(allergen))


@pytest.mark.parametrize(
    ("name", "shown"),
    [
        ("gluten-free oats", "oats"),
        ("Gluten-free oats, rolled, 5 kg", "Oats, rolled, 5 kg"),
        ("lactose-free milk", "milk"),
        ("Oats (gluten free)", "Oats"),
        ("Oats, gluten-free", "Oats"),
        ("Vegan butter", "Butter"),
        ("Milk without lactose, 1 l", "Milk, 1 l"),
        ("Dairy-free cream (vegan)", "Cream"),
        ("vegan, gluten-free sausage", "sausage"),
        ("Oats free from gluten, rolled", "Oats, rolled"),
        ("glutenfreie Haferflocken", "Haferflocken"),
        ("Gluten-free", "bought-in product"),
        ("Free-range eggs", "Free-range eggs"),
        ("Raw cider vinegar, nothing added", "Raw cider vinegar, nothing added"),
    ],
)
def test_a_name_is_shown_without_what_its_maker_claims(name, shown):
    assert claims.shown(name) == shown and not claims.find(shown)
    assert claims.in_full(name) == (name if name == shown else f'{shown}, sold as "{name}"')


DISH = BEETROOT.replace(
    "revision: {number: 1, date: 2026-01-31, note: first written down}",
    "revision: {number: 1, date: 2026-01-31, note: R}",
)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("dish: Smoked beetroot,", "dish: ¦Gluten-free beetroot,"),
        ("plate: wide\n", "plate: wide\nmenu_line: Beetroot ¦without nuts, dill\n"),
        ("plate: wide\n", "plate: wide\nnote: >\n  Beetroot from the fire,\n  ¦safe for\n  nut allergy\n"),
        ("note: R", "note: now ¦nut-free"),
        ("  - Rim clean", "  - Rim clean, ¦no dairy in it"),
        ("crisp: {product: seeded-crisp}", "crisp: {product: seeded-crisp, called: '¦vegan crisp'}"),
        ("crisp: {product: seeded-crisp}", 'crisp: {product: seeded-crisp, note: "contains ¦no milk"}'),
        (
            "crisp: {product: seeded-crisp}",
            "crisp: {product: seeded-crisp, finish: [{do: warm on the tin for ¦gluten-free bread, takes: 1 min}]}",
        ),
        ("on: beetroot}", "on: beetroot, note: ¦eggless}"),
        ("on: beetroot}", "on: beetroot, accept: {words: the ¦dairy-free look}}"),
        (
            "arrange: pool, across: 50 mm}",
            "arrange: pool, across: 50 mm, poured: warm, ¦suitable for coeliacs}".replace("warm, ", ""),
        ),
    ],
)
def test_a_claim_is_an_error_wherever_the_spec_makes_it(room, old, new):
    text, line, column = marked(DISH.replace(old, new))
    room.write({**kitchen(), SPEC: text})
    assert room.errors() == [(SLUG, f"{SPEC}:{line}:{column}")]
    assert room.run("build").code == 1 and room.cards() == []


def test_a_part_called_by_its_key_alone(room):
    text = BEETROOT.replace("crisp: {product", "nut-free-crisp: {product").replace("put: crisp", "put: nut-free-crisp")
    room.write({**kitchen(), SPEC: text})
    assert [slug for slug, _ in room.errors()] == [SLUG]


@pytest.mark.parametrize(
    ("file", "old", "new"),
    [
        (SMOKED, "recipe: Smoked beetroot", "recipe: ¦Vegan beetroot"),
        (SMOKED, "equipment: smoker\n", "equipment: smoker\nmethod:\n  - Smoke; then it is ¦egg-free.\n"),
        (
            SMOKED,
            "{ingredient: beetroot, amount: 450 g}",
            "{ingredient: beetroot, amount: 450 g, note: ¦no celery in this one}",
        ),
        ("shared/kitchen.yaml", "fryer: the fryer", "fryer: the ¦gluten-free fryer"),
        ("shared/kitchen.yaml", "kitchen: The Test Galley", "kitchen: The ¦Vegan Galley"),
        ("shared/plates.yaml", "called: Wide plate", "called: ¦Nut-free plate"),
    ],
)
def test_a_claim_in_the_library_is_told_once_for_the_kitchen(room, file, old, new):
    files = kitchen()
    assert old in files[file]
    files[file], line, column = marked(files[file].replace(old, new))
    room.write({**files, "specs/second.yaml": files[SPEC]})
    assert room.errors() == [(SLUG, f"{file}:{line}:{column}")]


def test_a_claim_hides_nothing_from_the_dishes_beside_it(room):
    files = kitchen()
    room.write({**files, "specs/second.yaml": files[SPEC].replace("dish: Smoked", "dish: Vegan smoked")})
    assert {p["file"] for p in room.problems() if p["severity"] == "error"} == {"specs/second.yaml"}
    assert room.run("build").code == 1 and room.cards() == ["beetroot/pass-card.pdf", "beetroot/plate.svg"]
    assert room.run("guest", "beetroot", "--avoid", "egg").code == 0


def test_comments_labels_and_guests_words_are_no_claims(room):
    files = kitchen(
        (
            SPEC,
            "crisp: {product: seeded-crisp}",
            "crisp: {product: seeded-crisp, swap: {avoiding: [gluten], use: {ingredient: dill}}}",
        ),
        (
            PANTRY,
            "may_contain: [milk]",
            "may_contain: [milk], text: 'WHEAT, SESAME. May contain MILK. Free from nuts.'",
        ),
    )
    room.write({**files, SPEC: "# Vegan by its ingredients, and gluten-free too.\n" + files[SPEC]})
    assert SLUG not in [p["slug"] for p in room.problems()]


def oat_kitchen() -> dict[str, str]:
    files = kitchen(
        (
            PANTRY,
            "products:\n",
            (
                "products:\n  oats: {called: Gluten-free rolled oats, also: [gluten-free oats], label: {read:"
                " 2026-01-02, contains: [oats]}}\n"
            ),
        )
    )
    old = "  - {ingredient: beetroot, amount: 450 g}\n"
    files[SMOKED] = (
        files[SMOKED].replace(old, old + "  - {product: oats, amount: 20 g, note: the gluten-free oats}\n")
        + "method:\n  - Fold in the gluten-free rolled oats.\n"
    )
    # The product is on the plate by its own name, and stands in for another part.
    files[SPEC] = files[SPEC].replace(
        "crisp: {product: seeded-crisp}",
        "crisp: {product: seeded-crisp, swap: {avoiding: [sesame], use: {ingredient: gluten-free oats}}}",
    )
    return files


def text_of(room, *names: str) -> str:
    said = []
    for name in names:
        path = room.root / "output" / name
        said.append(
            " ".join(p.extract_text() for p in PdfReader(path).pages) if name.endswith(".pdf") else path.read_text()
        )
    return " ".join(" ".join(said).split())


def test_a_makers_claim_is_bought_by_and_never_shown(room):
    room.write(oat_kitchen())
    assert room.errors() == []
    room.run("acknowledge", "beetroot")
    assert room.run("build", "--recipes").code == 0
    sheets = [n for n in room.files() if "recipe-cards" in n and n.endswith(".pdf")]
    shown = text_of(
        room,
        *(n for n in room.files() if n not in sheets and n.rsplit(".", 1)[-1] in ("pdf", "svg", "html", "json", "csv")),
    )
    assert "oats" in shown.lower()
    for claim in ("gluten-free", "gluten free"):
        assert claim not in shown.lower()
    # Lines break where they must.
    assert 'soldas"Gluten-freerolledoats"' in text_of(room, *sheets).replace(" ", "")
    for command in (
        ["allergens", "beetroot"],
        ["allergens", "beetroot", "--why", "oats"],
        ["guest", "beetroot", "--avoid", "sesame"],
    ):
        told = room.run(*command)
        assert "ats" in told.out and "gluten-free" not in told.out.lower() and "gluten free" not in told.out.lower(), (
            told.out
        )
    assert 'Rolled oats, sold as "Gluten-free rolled oats"' in room.run("prep", "--covers", "beetroot=4").out
    assert 'sold as "Gluten-free rolled oats"' in room.run("scale", "smoked-beetroot", "--to", "800 g").out


def test_the_makers_words_are_no_licence_beyond_its_name(room):
    files = oat_kitchen()
    files[SMOKED] = files[SMOKED].replace("Fold in the gluten-free rolled oats.", "Fold in the oats. It is ¦nut-free.")
    files[SMOKED], line, column = marked(files[SMOKED])
    assert room.write(files).errors() == [(SLUG, f"{SMOKED}:{line}:{column}")]
    files[SMOKED] = oat_kitchen()[SMOKED]
    files[SPEC], line, column = marked(files[SPEC].replace("plate: wide", "plate: wide\nnote: on ¦gluten-free oats"))
    assert room.write(files).errors() == [(SLUG, f"{SPEC}:{line}:{column}")]
    hint = next(p for p in room.problems() if p["slug"] == SLUG)["hints"][-1]
    # What it says to do does mend it.
    assert "'Rolled oats'" in hint or "'oats'" in hint
    files[SPEC] = files[SPEC].replace("gluten-free oats\n", "oats\n", 1)
    assert room.write(files).errors() == []


def test_what_a_label_claims_is_not_repeated_to_a_guest(room):
    files = kitchen(
        ("shared/kitchen.yaml", "laws: [eu, us]", "laws: [us]"),
        (
            PANTRY,
            "may_contain: [milk]",
            "may_contain: [milk], text: 'WHEAT flour, SESAME, zogg. Free from nuts. May contain MILK.'",
        ),
    )
    room.write(files)
    told = room.run("guest", "beetroot", "--avoid", "celery")
    assert "zogg" in told.out and "free from" not in told.out.lower(), told.out
