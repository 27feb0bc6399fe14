"""One plate for several guests: what goes round, how many plates so many covers are, and whom a change concerns."""

from __future__ import annotations

import io

import pypdf
import pytest

from platecard.publishing import rendered
from tests.kitchens import BEETROOT, PANTRY, SPEC, kitchen, prepared

SHARED = BEETROOT.replace("plate: wide\n", "plate: wide\nfor: 4\n")
SIX = SHARED.replace("count: 3, piece: {shape: disc", "count: 6, piece: {shape: disc")


def advice(spec: str) -> dict[str, str]:
    return {p.slug: f"{p.message}; {p.hints[0]}" for p in prepared(spec).problems if p.severity == "advice"}


def test_an_even_number_is_meant_where_guests_share():
    assert "even-number" in advice(BEETROOT.replace("count: 3, piece: {shape: disc", "count: 4, piece: {shape: disc"))
    four = advice(SHARED.replace("count: 3, piece: {shape: disc", "count: 4, piece: {shape: disc"))
    assert "even-number" not in four and "shared-unevenly" not in four


def test_pieces_that_do_not_go_round_are_told():
    assert advice(SIX)["shared-unevenly"] == "6 pieces of beetroot for 4 guests do not go round; 8 would be 2 each"
    # Three of something for four is a garnish of the plate, and no share.
    assert "shared-unevenly" not in advice(SHARED)


def test_the_card_says_for_how_many_and_whom_a_change_concerns():
    one = prepared(SHARED)
    assert one.is_sound and one.dish.guests == 4
    pages = pypdf.PdfReader(io.BytesIO(rendered.render(one)["pass-card.pdf"])).pages
    for page in pages:
        assert "for 4 to share" in page.extract_text()
    said = " ".join(" ".join(page.extract_text() for page in pages).split())
    assert "One plate is shared by 4 guests: what is changed for one of them is changed for all" in said
    alone = pypdf.PdfReader(io.BytesIO(rendered.render(prepared(BEETROOT))["pass-card.pdf"]))
    assert "share" not in " ".join(page.extract_text() for page in alone.pages)


@pytest.mark.parametrize("covers, plates", [(8, 2), (9, 3), (1, 1)])
def test_covers_are_guests_and_plates_are_fewer(room, covers, plates):
    room.write(kitchen((SPEC, "plate: wide\n", "plate: wide\nfor: 4\n")))
    made = room.run("prep", "--covers", f"beetroot={covers}", "--format", "json").data
    assert made["covers"] == [
        {"dish": "beetroot", "title": "Smoked beetroot, dill oil, seeded crisp", "covers": covers, "plates": plates}
    ]
    (crisp,) = [p for p in made["pick"] if p["component"] == "crisp"]
    assert crisp["pieces"] == plates


def test_what_a_plate_costs_is_told_for_each_guest(room):
    priced = "{called: Seeded crisp, price: 8.00 EUR / 1 kg, label:"
    room.write(
        kitchen((SPEC, "plate: wide\n", "plate: wide\nfor: 4\n"), (PANTRY, "{called: Seeded crisp, label:", priced))
    )
    said = room.run("cost", "beetroot").out
    assert "each of 4 guests: at least 0.01 EUR" in said


@pytest.mark.parametrize("said", ["four", "0", "2.5", "61"])
def test_a_number_of_guests_that_is_none_withholds_the_card(said):
    one = prepared(BEETROOT.replace("plate: wide\n", f"plate: wide\nfor: {said}\n"))
    assert not one.is_sound
    assert [p.span.line for p in one.problems if p.is_error] == [4]
