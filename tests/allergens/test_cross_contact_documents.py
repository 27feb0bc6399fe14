"""What documents and answers say of shared equipment: what it leaves open, what came over it, what is relied on."""

from __future__ import annotations

import csv
import io
import json
from html import unescape
from pathlib import Path

import pypdf
import pytest

from tests.kitchens import KITCHEN, LIBRARY, PANTRY, poured

FRIED = "{ingredient: cod, equipment: fryer}"
SOURCE = "specs/fish.yaml (could not be read)"
GEAR = LIBRARY[KITCHEN].replace(
    "smoker: the smoker",
    "smoker: the smoker, grill: the grill, plancha: {called: the plancha, cleaned: "
    "{between: each use, how: scraped and washed, by: head chef, checked: 2026-10-02}}",
)


def on(food: str, *equipment: str) -> str:
    return f"{{ingredient: {food}, finish: [{', '.join(f'{{do: cook, takes: 2 min, on: {e}}}' for e in equipment)}]}}"


@pytest.fixture
def pass_(room):
    """A pass of three dishes on the fryer and one beside it; :func:`break_` makes one of them unreadable."""
    dishes = {
        "chips": poured(
            {"chips": "{ingredient: potato, equipment: fryer}", "butter": "{ingredient: butter}"},
            title="Chips and butter",
        ),
        "fish": poured({"cod": FRIED}, title="Fried cod"),
        "leek": poured(
            {"leek": "{ingredient: leek, equipment: fryer, may_be_left_off: true}", "egg": "{ingredient: egg}"},
            title="Leek",
        ),
        "salad": poured({"apple": "{ingredient: apple}"}, title="Salad"),
    }
    room.write({**LIBRARY, **{f"specs/{key}.yaml": text for key, text in dishes.items()}})
    return room


def break_(room) -> None:
    room.write({"specs/fish.yaml": "- a list\n"})


def words(path: str, page: int | None = None) -> str:
    pages = pypdf.PdfReader(path).pages
    return " ".join(" ".join(p.extract_text() for p in (pages if page is None else [pages[page]])).split())


def text(path: str) -> str:
    return Path(path).read_text(encoding="utf-8")


def test_one_spec_that_cannot_be_read_withholds_its_own_card_alone(pass_):
    break_(pass_)
    done = pass_.run("build", "--format", "json")
    assert done.code == 1
    assert {name for name in pass_.made() if name.endswith("pass-card.pdf")} == {
        f"{key}/pass-card.pdf" for key in ("chips", "leek", "salad")
    }


def test_the_card_says_what_is_open_in_one_line_and_what_is_contained(pass_):
    break_(pass_)
    pass_.run("build")
    card = words("output/chips/pass-card.pdf")
    assert "ALLERGENS: NOT ESTABLISHED" in card
    assert card.count(f"Not established over shared equipment: any other allergen, from the fryer: {SOURCE}") == 1
    assert card.count("every other group of this law") == 2 and card.count("CONTAINS milk") == 2
    assert "crustaceans" not in card and "not among the ingredients" not in card
    assert "NOT ESTABLISHED" not in words("output/salad/pass-card.pdf")


def test_the_card_names_the_nearest_source_of_what_it_may_contain(pass_):
    pass_.write({"specs/hake.yaml": poured({"hake": "{ingredient: hake, equipment: fryer}"}, title="Hake")})
    pass_.run("build")
    card = words("output/chips/pass-card.pdf")
    assert "NOT ESTABLISHED" not in card
    assert "Over shared equipment: fish from the fryer: cod (Fried cod) and 1 more" in card


def test_the_book_says_so_in_short(pass_):
    break_(pass_)
    pass_.run("build")
    contents = words("output/menu/pass-cards.pdf", 0)
    assert "European Union: contains milk; not established: every other group, over shared equipment" in contents
    assert "no card: not established" in contents


def test_the_matrix_says_so_in_every_form(pass_):
    break_(pass_)
    pass_.run("build")
    data = {d["dish"]: d for d in json.loads(text("output/menu/allergens.json"))["dishes"]}
    found = {f["allergen"]: f for f in data["chips"]["findings"] if f["law"] == "eu"}
    assert found["milk"]["presence"] == "contains" and {f["presence"] for a, f in found.items() if a != "milk"} == {
        "not_established"
    }
    assert all(f["reasons"] and f["over_equipment"] == f"fryer: {SOURCE}" for a, f in found.items() if a != "milk")
    assert {k: d["established"] for k, d in data.items()} == {
        "chips": False,
        "fish": False,
        "leek": False,
        "salad": True,
    }
    rows = {r["key"]: r for r in csv.DictReader(io.StringIO(text("output/menu/allergens-eu.csv")))}
    assert rows["chips"]["peanuts"] == f"not established: peanuts (over shared equipment: fryer: {SOURCE})"
    assert rows["chips"]["milk"] == "contains: milk"
    pdf = words("output/menu/allergens.pdf")
    # One reason for all the groups that it leaves open, whatever the law: of the chips, and of the leek.
    assert "Reasons: Chips and butter" in pdf
    assert pdf.count(f"not established over shared equipment: fryer: {SOURCE}") == 2


def test_the_page_for_front_of_house_says_so_and_answers_so(pass_):
    break_(pass_)
    pass_.run("build")
    page = unescape(text("output/menu/front-of-house.html"))
    chips = page[page.index('id="dish-chips"') : page.index('id="dish-', page.index('id="dish-chips"') + 5)]
    assert chips.count(f"Not established over shared equipment: any other allergen, from the fryer: {SOURCE}") == 2
    assert '<dt class="contains">Contains</dt><dd>milk</dd>' in chips and "every other group of this law" in chips
    assert "not among the ingredients entered" not in chips
    answers = json.loads(page.split('id="answers">')[1].split("</script>")[0])
    assert answers["chips"]["egg"]["answer"] == "not_established" and answers["chips"]["milk"]["answer"] == "cannot"
    assert answers["leek"]["fish"]["answer"] == "changed" and answers["salad"]["fish"]["answer"] == "as_is"


def test_a_guest_is_answered_not_established(pass_):
    break_(pass_)
    done = pass_.run("guest", "chips", "--avoid", "fish", "--format", "json")
    assert (done.code, done.data["answer"]) == (1, "not_established")
    assert any(SOURCE in link["what"] for reason in done.data["reasons"] for link in reason["chain"])
    # An ingredient of no law travels the same road.
    assert pass_.run("guest", "chips", "--avoid", "dill", "--format", "json").data["answer"] == "not_established"
    # What is on the fryer can be left off, and the rest is known.
    assert pass_.run("guest", "leek", "--avoid", "fish", "--format", "json").data["answer"] == "changed"


def test_why_tells_the_whole_chain(room):
    room.write(
        {
            **LIBRARY,
            KITCHEN: GEAR,
            "specs/fish.yaml": poured({"cod": FRIED}, title="Fried cod"),
            "specs/chips.yaml": poured({"chips": on("potato", "fryer", "grill")}, title="Chips"),
            "specs/carrot.yaml": poured({"carrot": on("carrot", "grill")}, title="Carrot"),
        }
    )
    done = room.run("allergens", "carrot", "--why", "fish")
    assert (
        "Carrot may contain cod: it has carrot, which shares the grill with chips (Chips), which shares the fryer with"
        " cod (Fried cod), which has cod (source:" in done.out
    )
    data = room.run("allergens", "carrot", "--format", "json").data
    [found] = [f for f in data["findings"] if f["law"] == "eu" and f["allergen"] == "fish"]
    assert [link["file"] for link in found["reasons"][0]][:4] == [
        "specs/carrot.yaml",
        "specs/carrot.yaml",
        "specs/carrot.yaml",
        "specs/chips.yaml",
    ]
    assert found["over_equipment"] == "grill: chips (Chips), from the fryer: cod (Fried cod)"
    assert room.run("guest", "carrot", "--avoid", "fish", "--format", "json").data["remaining"]


def test_the_card_says_which_cleaning_it_relies_on(room):
    room.write(
        {
            **LIBRARY,
            KITCHEN: GEAR,
            "specs/fish.yaml": poured({"cod": on("cod", "plancha")}, title="Cod"),
            "specs/chips.yaml": poured({"chips": on("potato", "plancha")}, title="Chips"),
        }
    )
    assert room.run("build").code == 0
    said = "Relies on the plancha being cleaned between uses (head chef, 2026-10-02)."
    card = words("output/chips/pass-card.pdf")
    assert card.count(said) == 1 and "fish" not in card.split("ALLERGENS")[1]
    assert said in unescape(text("output/menu/front-of-house.html"))
    assert room.run("allergens", "chips", "--format", "json").data["relies_on"] == [
        "the plancha being cleaned between uses (head chef, 2026-10-02)"
    ]
    assert said in room.run("allergens", "chips").out
    # The card is another one as soon as it relies on nothing.
    before = text("output/menu/allergens.json")
    room.write({"specs/fish.yaml": poured({"cod": on("cod", "grill")}, title="Cod")})
    done = room.run("build")
    assert "chips: written" in done.out and said not in words("output/chips/pass-card.pdf")
    assert (
        json.loads(before)["dishes"][0]["relies_on"]
        and not json.loads(text("output/menu/allergens.json"))["dishes"][0]["relies_on"]
    )


def test_a_card_is_drawn_anew_when_its_source_changes_its_name(pass_):
    pass_.run("build")
    pass_.write({"specs/fish.yaml": poured({"cod": FRIED}, title="Cod in the pan")})
    assert "chips: written" in pass_.run("build").out
    assert "cod (Cod in the pan)" in words("output/chips/pass-card.pdf")


def test_the_recipe_card_keeps_the_two_kinds_of_unknown_apart(pass_):
    pass_.write(
        {
            "shared/recipes/fries.yaml": (
                "recipe: Fries\nmakes: 100 g\ntakes_up_water: true\nequipment: fryer\ningredients:\n  - {ingredient:"
                " potato, amount: 100 g}\n"
            ),
            "specs/chips.yaml": poured({"chips": "{recipe: fries}"}, title="Chips"),
            "specs/fish.yaml": "- a list\n",
        }
    )
    assert pass_.run("build", "--recipes").code == 1
    assert "Not established over shared equipment: any other allergen, from the fryer" in words(
        "output/chips/recipe-cards.pdf"
    )


def test_the_unread_label_of_a_neighbour_is_named(pass_):
    pass_.write(
        {
            PANTRY: LIBRARY[PANTRY] + "  fritter: {called: Frozen fritter}\n",
            "specs/fish.yaml": poured({"fritter": "{product: fritter, equipment: fryer}"}, title="To start"),
        }
    )
    pass_.run("build")
    assert "any other allergen, from the fryer: fritter (To start): Frozen fritter: no label entered" in words(
        "output/chips/pass-card.pdf"
    )
