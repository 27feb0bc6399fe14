"""What a law asks, and what is known of it from memory alone, reach the documents that have a place for it."""

from __future__ import annotations

import io
import json

import pypdf
import pytest

from platecard.documents.kit import allergen_block
from platecard.documents.pages import front_of_house
from platecard.documents.text import matrix_table, wording
from tests.allergens.test_acknowledgement_and_matrix import menu, menu_documents, spec
from tests.allergens.test_left_off_labels import CIDER, WINE, made
from tests.allergens.test_levels import in_law, words

IRELAND = "kitchen: Test\nlaws: [eu, us]\nplace: ireland\nlabels_printed_for: [eu, us]\n"


def test_the_page_says_what_the_place_asks():
    page = "".join(front_of_house.page(menu(spec("{ingredient: butter}"), kitchen=IRELAND), "abc"))
    assert "Duty for a plate (European Union, Ireland): in writing, dish by dish" in page
    assert "Duty for a plate (United States): federal law asks nothing of plates" in page
    other = "".join(front_of_house.page(menu(spec("{ingredient: butter}")), "abc"))
    assert "Ireland" not in other and "in the form that national law lays down" in other


def test_the_matrix_says_it_on_every_page_and_in_its_data():
    dishes = menu(spec("{ingredient: butter}"), kitchen=IRELAND)
    pdf = pypdf.PdfReader(io.BytesIO(menu_documents(dishes)["allergens.pdf"]))
    assert "Duty for a plate (European Union, Ireland)" in " ".join(pdf.pages[0].extract_text().split())
    data = json.loads("".join(matrix_table.as_json(dishes)))
    assert [(d["place"], d["food"], d["duty"]) for d in data["laws"][0]["asks"]] == [
        ("ireland", "plate", "required"),
        ("ireland", "packed", "required"),
    ]


def test_the_pass_card_is_not_crowded_with_it():
    (dish,) = menu(spec("{ingredient: butter}"), kitchen=IRELAND)
    assert "Duty for" not in words(allergen_block.block(dish.statements, 120).items)


def test_a_card_under_a_law_with_a_fact_from_memory_says_which():
    """That Japan declares triticale as wheat is from memory."""
    said = "From memory, not verified in this law: that triticale is declared as wheat."
    (dish,) = in_law("jp", "{ingredient: triticale flour}")
    assert dish.is_sound
    assert wording.from_memory(dish.statements[0]) == said
    assert said in " ".join(words(allergen_block.block(dish.statements, 120).items).split())
    assert said in "".join(front_of_house.page((dish,), "abc"))


def test_data_say_how_each_finding_is_known():
    (dish,) = in_law("jp", "{ingredient: cuttlefish}", "{ingredient: butter}")
    marks = {f.allergen: f.mark for f in dish.statements[0].findings if f.presence == "contains"}
    assert marks == {"cuttlefish": "memory", "milk": "seen"}


def test_a_card_that_rests_on_nothing_from_memory_says_nothing_of_it():
    (dish,) = in_law("jp", "{ingredient: squid}")
    assert wording.from_memory(dish.statements[0]) == ""
    assert "From memory" not in words(allergen_block.block(dish.statements, 120).items)


def test_an_exception_taken_over_unread_says_so():
    """The Swiss annex was not read: its exceptions are taken to be those of the EU, and settle nothing."""
    (dish,) = in_law("ch", "{ingredient: Scotch whisky}")
    assert wording.from_memory(dish.statements[0]) == (
        "From memory, not verified in this law: that an exception for barley as distillate may hold."
    )


def test_a_statement_stands_only_where_its_food_is():
    """The fourteen groups of the EU stay fourteen columns; a dish with crickets adds the statement on insects."""
    plain = menu(spec("{ingredient: butter}"))
    law = plain[0].world.laws[0]
    assert len(matrix_table.table(law, plain).groups) == 14
    assert "edible insects" not in "".join(front_of_house.page(plain, "abc"))
    crickets = menu(spec("{ingredient: butter}"), spec("{ingredient: cricket flour}", title="Crickets"))
    table = matrix_table.table(law, crickets)
    assert table.groups[14:] == ("statement on edible insects",)
    assert [row.cells[14].presence for row in table.rows] == ["not_among_ingredients", "contains"]
    assert "edible insects" in "".join(front_of_house.page(crickets, "abc"))


def test_the_foot_of_the_matrix_covers_none_of_its_notes():
    """The foot of a law that asks much takes more than one line, and the notes above it end earlier."""
    dishes = menu(
        *(spec("{ingredient: butter}", "{ingredient: wheat flour}", title=f"Dish {i}") for i in range(40)),
        kitchen=IRELAND,
    )
    pages = pypdf.PdfReader(io.BytesIO(menu_documents(dishes)["allergens.pdf"])).pages
    nearest = []
    for page in pages:
        lines: list[tuple[float, str]] = []

        def seen(text, _, at, *__, lines=lines):
            if text.strip():
                lines.append((at[5], text.strip()))

        page.extract_text(visitor_text=seen)
        foot = max(y for y, text in lines if text.startswith("Derived from"))
        nearest.append(min(y - foot for y, _ in lines if y > foot))
    # In points: what stands above the foot keeps a line's height from it, and on some page it comes nearly so far down.
    assert all(gap > 7 for gap in nearest) and min(nearest) < 25, nearest


@pytest.mark.parametrize(
    "law, told",
    [
        ("au-nz", "that fish as fining agent is exempt; the amount from which sulphites must be declared"),
        ("us", "the amount from which sulfites must be declared"),
    ],
)
def test_what_is_only_told_of_a_law_is_said_and_nothing_is_left_out_for_it(law, told):
    """Isinglass in Australia and New Zealand and the amount of sulphites of both laws were read in accounts."""
    said = f"Not checked in the text of this law: {told}. To be safe, it is declared all the same."
    dish = made(WINE, law)
    assert wording.not_read(dish.statements[0].not_read) == said
    assert said in " ".join(words(allergen_block.block(dish.statements, 120).items).split())
    assert f"{dish.statements[0].law.name}: {said}" in allergen_block.sentences(dish.statements, (), (), ())
    # The matrix stands for all dishes of the menu, the page for those that are sound.
    pdf = pypdf.PdfReader(io.BytesIO(menu_documents((dish,))["allergens.pdf"]))
    assert said in " ".join(pdf.pages[0].extract_text().split())
    page = "".join(front_of_house.page((made(CIDER, law),), "abc"))
    assert f"{told.split('; ')[-1]}. To be safe, it is declared all the same." in page
    assert wording.not_read(made(WINE, "eu").statements[0].not_read) == ""
