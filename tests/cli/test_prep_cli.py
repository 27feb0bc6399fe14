"""``platecard prep``, ``cost`` and ``scale`` as commands, and every slip of their input at its place."""

from __future__ import annotations

import csv
import io
import json

import pypdf
import pytest

from platecard.drawing import pdf
from platecard.drawing.scene import Scene
from platecard.publishing import single_file
from tests.kitchens import KITCHEN, LIBRARY, OIL, PANTRY, SMOKED, SPEC, kitchen, marked

SHOP = (
    "  seeded-crisp: {called: Seeded crisp,",
    (
        "  seeded-crisp: {supplier: the baker, code: B-1, pack: 20 pieces, piece: 6 g, price: 8 EUR, par: 30 pieces,"
        " on_hand: 12 pieces, called: Seeded crisp,"
    ),
)


@pytest.fixture
def shop(room):
    """The small kitchen with a baker."""
    return room.write(kitchen((PANTRY, *SHOP)))


# --------------------------------------------------------------------------- what it says


def test_the_lists_as_text(shop):
    done = shop.run("prep", "--covers", "beetroot=12", "--date", "2026-03-02")
    assert done.code == 0
    for said in (
        "Preparation for 12 covers",
        "On the day: 2026-03-02",
        "[ ] Smoked beetroot: 2 batches, 800 g (need 435 g; left over 370 g)",
        "The baker",
        # 12 crisps of 6 g on the plates; the kitchen wants 30 and has 12: one pack of 20.
        (
            "[ ] 1 × 20 pieces  Seeded crisp [B-1] (need 12 pieces as bought; par 30 pieces; on hand 12 pieces; over 20"
            " pieces; 8.00 EUR)"
        ),
        "dill: 36 pieces, 7.2 g",
    ):
        assert said in done.out, done.out


def test_the_lists_as_data(shop):
    data = shop.run("prep", "--covers", "beetroot=12", "--format", "json").data
    assert [c["covers"] for c in data["covers"]] == [12] and data["not_known"] == []
    smoked = next(m for m in data["make"] if m["recipe"] == "smoked-beetroot")
    assert (smoked["need"], smoked["unit"], smoked["batches"], smoked["left_over"]) == (432, "g", 2, 368)
    oil = next(m for m in data["make"] if m["recipe"] == "dill-oil")
    # 4 g on each plate, and 20 g in each of two batches of beetroot.
    assert (oil["need"], oil["batches"], oil["for"]) == (
        88,
        1,
        ["Smoked beetroot, dill oil, seeded crisp", "Smoked beetroot"],
    )
    beetroot = next(o for o in data["order"] if o["key"] == "beetroot")
    assert (
        beetroot["need"] == pytest.approx(2 * 450 / 0.67)
        and beetroot["trim"] == ["67 % left by trimming (SR26)"]
        and beetroot["packs"] is None
    )


def test_the_lists_as_a_spreadsheet(shop):
    rows = list(csv.DictReader(io.StringIO(shop.run("prep", "--covers", "beetroot=12", "--format", "csv").out)))
    assert {r["list"] for r in rows} >= {"make", "pick", "order"}
    assert next(r for r in rows if r["what"] == "Seeded crisp")["do"] == "1 × 20 pieces"


def test_a_cell_is_never_a_formula(room):
    room.write(kitchen((PANTRY, "called: Seeded crisp", 'called: "=1+1"')))
    assert "'=1+1" in room.run("prep", "--covers", "beetroot=1", "--format", "csv").out


def test_the_lists_on_paper(shop):
    assert shop.run("prep", "--covers", "beetroot=12", "--pdf", "lists/tonight.pdf").code == 0
    pages = pypdf.PdfReader(shop.root / "lists/tonight.pdf").pages
    text = " ".join(" ".join(p.extract_text() for p in pages).split())
    assert (
        "Preparation list" in text
        and "Order list" in text
        and "2 batches, 800 g" in text
        and "1 × 20 pieces" in text
        and "Derived from the ingredients entered" in text
    )
    first = (shop.root / "lists/tonight.pdf").read_bytes()
    shop.run("prep", "--covers", "beetroot=12", "--pdf", "lists/tonight.pdf")
    assert (shop.root / "lists/tonight.pdf").read_bytes() == first and [
        p.name for p in (shop.root / "lists").iterdir()
    ] == ["tonight.pdf"]


def test_a_place_that_cannot_be_written(shop):
    shop.write({"lists": "a file"})
    done = shop.run("prep", "--covers", "beetroot=12", "--pdf", "lists/tonight.pdf")
    assert done.code == 1 and "cannot be written" in done.err and "[ ]" in done.out


def test_amounts_as_a_us_kitchen_reads_them(room):
    room.write(kitchen((KITCHEN, "laws: [eu, us]", "laws: [eu, us]\namounts: US")))
    assert "Smoked beetroot: 2 batches, 1 lb 12 oz" in room.run("prep", "--covers", "beetroot=12").out


def test_covers_in_a_file_and_by_the_file_name(shop):
    shop.write({"booked.yaml": "covers:\n  beetroot: 8\n"})
    data = shop.run(
        "prep", "--covers-file", "booked.yaml", "--covers", "specs/beetroot.yaml=4", "--format", "json"
    ).data
    assert data["covers"][0]["covers"] == 12


def test_the_same_bytes_every_time(shop):
    assert (
        shop.run("prep", "--covers", "beetroot=12", "--format", "json").out
        == shop.run("prep", "--covers", "beetroot=12", "--format", "json").out
    )


# --------------------------------------------------------------------------- covers that cannot be


@pytest.mark.parametrize(
    "word, says",
    [
        ("beetroot=-4", "fewer than none"),
        ("betroot=4", "did you mean 'beetroot'?"),
        ("beetroot=2.5", "whole number"),
        ("beetroot=many", "whole number"),
        ("beetroot", "no number"),
        ("beetroot=9999999", "more than"),
    ],
)
def test_covers_that_cannot_be(shop, word, says):
    done = shop.run("prep", "--covers", word)
    assert done.code == 1 and done.out == "" and says in done.err


def test_a_file_of_covers_is_marked_at_its_line(shop):
    text, line, column = marked("beetroot: ¦-4\n")
    shop.write({"booked.yaml": text})
    assert f"booked.yaml:{line}:{column}: error: " in shop.run("prep", "--covers-file", "booked.yaml").err
    shop.write({"booked.yaml": "- beetroot\n"})
    assert "a line for each dish" in shop.run("prep", "--covers-file", "booked.yaml").err
    assert shop.run("prep", "--covers-file", "nobody.yaml").code == 2 and shop.run("prep").code == 2
    assert "there is no day" in shop.run("prep", "--covers", "beetroot=1", "--date", "2026-02-30").err


# --------------------------------------------------------------------------- bad input of the library


@pytest.mark.parametrize(
    "file, old, new, slug",
    [
        (PANTRY, "called: Seeded crisp,", "called: Seeded crisp, trim_yield: ¦0 %,", "yield-zero"),
        (PANTRY, "called: Seeded crisp,", "called: Seeded crisp, trim_yield: ¦120 %,", "yield-over-100"),
        (PANTRY, "called: Seeded crisp,", "called: Seeded crisp, pack: 1 kg, price: ¦4.20,", "no-currency"),
        (PANTRY, "called: Seeded crisp,", "called: Seeded crisp, pack: 1 kg, price: ¦4.20 EURO,", "amount"),
        (PANTRY, "called: Seeded crisp,", "called: Seeded crisp, price: ¦4.20 EUR,", "price-for-what"),
        (PANTRY, "called: Seeded crisp,", "called: Seeded crisp, pack: ¦0 g,", "zero-size"),
        (PANTRY, "called: Seeded crisp,", "called: Seeded crisp, pack: ¦2 boxen,", "amount"),
        (PANTRY, "called: Seeded crisp,", "called: Seeded crisp, gives: {¦flank: 2},", "unknown-word"),
        (OIL, "amount: 190 g", "amount: 190 g, trim_yield: ¦0 %", "yield-zero"),
        (OIL, "amount: 190 g", "amount: ¦8 oz / 190 g", "two-units-disagree"),
        (OIL, "amount: 190 g", "amount: ¦3 furlongs", "amount"),
        (OIL, "makes: 200 g", "makes: 200 g\nleft_behind: ¦100 %", "yield-zero"),
        (OIL, "makes: 200 g", "makes: 200 g\nmethod:\n  - ¦Warm to 250 °F / 150 °C and hold.", "two-units-disagree"),
        (SMOKED, "makes: 400 g", "makes: ¦900 g", "makes-more-than-goes-in"),
        (SPEC, "plate: wide", "price: ¦{net: 24 EUR, menu: 26 EUR}\nplate: wide", "which-price"),
        (SPEC, "plate: wide", "price: {menu: ¦26 EUR}\nplate: wide", "which-price"),
        (SPEC, "plate: wide", "price: {net: ¦24}\nplate: wide", "no-currency"),
        (SPEC, "plate: wide", "price: ¦{net: 0 EUR}\nplate: wide", "zero-price"),
    ],
    ids=lambda x: x if isinstance(x, str) and len(x) < 24 else "",
)
def test_bad_input_is_shown_at_its_place(room, file, old, new, slug):
    files = kitchen((file, old, new))
    text, line, column = marked(files[file])
    room.write({**files, file: text})
    assert (slug, f"{file}:{line}:{column}") in room.errors()
    # What can still be computed is computed.
    done = room.run("prep", "--covers", "beetroot=4")
    assert done.code == 1 and f"{file}:{line}:{column}: error: " in done.err and "[ ] " in done.out


def test_eight_ounces_of_a_liquid_draw_a_warning(room):
    text, line, column = marked(LIBRARY[OIL].replace("amount: 190 g", "amount: ¦8 oz"))
    room.write({**kitchen(), OIL: text})
    (found,) = [p for p in room.problems() if p["slug"] == "ounces-of-a-liquid"]
    assert (found["line"], found["column"], found["severity"]) == (line, column, "warning")


def test_a_count_without_a_piece_weight_is_not_known(room):
    text = LIBRARY[OIL].replace("{ingredient: dill, amount: 40 g}", "{ingredient: dill, amount: 2 bunches}")
    room.write({**kitchen(), OIL: text})
    done = room.run("prep", "--covers", "beetroot=4", "--format", "json")
    dill = next(o for o in done.data["order"] if o["key"] == "dill")
    assert dill["at_least"] and any("what one bunch weighs" in why for why in dill["open"])


def test_a_spec_that_cannot_be_read_is_not_known(room):
    room.write({**kitchen(), "specs/other.yaml": "dish: [\n"})
    done = room.run("prep", "--covers", "beetroot=4", "other=6")
    assert (
        done.code == 1
        and "Not known" in done.out
        and "nothing for its 6 covers is counted" in done.out
        and "Smoked beetroot" in done.out
    )


# --------------------------------------------------------------------------- cost and scale


def test_cost_as_text_and_data(shop):
    data = shop.run("cost", "beetroot", "--format", "json").data
    assert (
        data["at_least"] and data["cost"] == {"amount": 0.4, "currency": "EUR"} and data["food_cost_share"] is None
    )  # one crisp of a pack of 20 for 8.00
    assert {n["why"] for n in data["not_known"]} == {"it is not in the pantry, so it has no price"}
    out = shop.run("cost", "beetroot").out
    assert "the plate: at least 0.40 EUR" in out and "no price is entered for the dish" in out


def test_a_recipe_to_a_target(shop):
    done = shop.run("scale", "smoked-beetroot", "--to", "1 kg")
    assert (
        done.code == 0
        and "1.13 kg  beetroot" in done.out
        and "50 g  Dill oil" in done.out
        and "do not grow with the batch" in done.out
    )
    assert shop.run("scale", "smoked-beetroot", "--to", "1 kg", "--format", "json").data["batches"] == 2.5


@pytest.mark.parametrize(
    "typed",
    [
        "smoked-beetroot --to 1 kg",
        "smoked-beetroot --to 1kg",
        "--to 1 kg smoked-beetroot",
        "--to 1kg smoked-beetroot",
        "smoked-beetroot --to 1 kg --format text",
        "--format text --to 1 kg smoked-beetroot",
    ],
)
def test_a_target_is_typed_in_one_word_or_two(shop, typed):
    said = shop.run("scale", *typed.split())
    assert said.code == 0, said.err
    assert said.out.replace("1kg", "1 kg") == shop.run("scale", "smoked-beetroot", "--to", "1 kg").out


@pytest.mark.parametrize(
    "name, to, says",
    [
        ("smoked-betroot", "1 kg", "did you mean"),
        ("smoked-beetroot", "1 l", "cannot be converted"),
        ("smoked-beetroot", "1 pint", "two units"),
        ("smoked-beetroot", "0 g", "nothing to make"),
    ],
)
def test_a_target_that_cannot_be(shop, name, to, says):
    done = shop.run("scale", name, "--to", to)
    assert done.code == 1 and done.out == "" and says in done.err


def test_what_does_not_multiply_is_flagged(room):
    room.write(
        kitchen(
            (
                OIL,
                "  - {ingredient: dill, amount: 40 g}",
                (
                    "  - {ingredient: dill, amount: 40 g}\n  - {ingredient: salt, amount: 2 g}\n  - {ingredient: agar,"
                    " amount: 1 g}"
                ),
            )
        )
    )
    data = room.run("scale", "dill-oil", "--to", "600 g", "--format", "json").data
    assert [(i["what"], i["amount"]) for i in data["ingredients"] if i["does_not_multiply"]] == [
        ("salt", "6 g"),
        ("agar", "3 g"),
    ]
    assert all(
        not i["does_not_multiply"]
        for i in room.run("scale", "dill-oil", "--to", "200 g", "--format", "json").data["ingredients"]
    )


# --------------------------------------------------------------------------- recipe cards


def test_every_recipe_under_a_dish_has_its_card(room):
    room.write(
        kitchen(
            (SMOKED, "makes: 400 g", "makes: 400 g\nkeeps: 3 days\nmade_ahead: 1 day\nmethod: [Smoke it over straw.]")
        )
    )
    assert room.run("build", "--recipes").code == 0
    pages = [
        " ".join(p.extract_text().split())
        for p in pypdf.PdfReader(room.root / "output/beetroot/recipe-cards.pdf").pages
    ]
    assert len(pages) == 2
    assert all(
        word in pages[0]
        for word in (
            "Smoked beetroot",
            "makes 400 g",
            "450 g",
            "Smoke it over straw.",
            "3 days",
            "the smoker",
            "ALLERGENS",
            "Derived from the ingredients entered",
        )
    )
    # Ten plates take 360 g of beetroot: 405 g of root.
    assert "360 g (90 % of a batch)" in pages[0] and "405 g" in pages[0]
    assert "Dill oil" in pages[1] and "ALLERGENS" in pages[1]
    # Its own allergens, not the plate's: the crisp is on the plate, and in no recipe.
    assert "sesame" not in pages[0] + pages[1]


def test_a_recipe_that_shares_equipment_says_so_on_its_card(room):
    """What the smoker hands on from another dish stands on the recipe's card as "may contain"."""
    other = (
        "dish: Smoked hazelnut\nrevision: {number: 1, date: 2026-01-31}\nplate: wide\ncomponents:\n  nut: {ingredient:"
        " hazelnut, equipment: smoker}\nplating:\n  - {put: nut, piece: {shape: disc, size: 20 mm, weight: 5 g}}\n"
    )
    room.write({**kitchen(), "specs/nut.yaml": other})
    assert room.run("build", "--recipes").code == 0
    first = " ".join(pypdf.PdfReader(room.root / "output/beetroot/recipe-cards.pdf").pages[0].extract_text().split())
    assert "MAY CONTAIN" in first and "hazelnut" in first
    assert not (room.root / "output/nut/recipe-cards.pdf").exists(), "nothing there is made from a recipe"


def test_new_stock_and_prices_make_no_card_out_of_date(room):
    room.write(kitchen((PANTRY, *SHOP)))
    room.run("build", "--recipes")
    room.write(kitchen((PANTRY, SHOP[0], SHOP[1].replace("8 EUR", "9 EUR").replace("on_hand: 12", "on_hand: 2"))))
    # A price stands on another line than before, so only what is printed is compared.
    before = {n: b for n, b in room.bytes_of().items() if n.endswith(".pdf")}
    room.run("build", "--recipes")
    assert {n: b for n, b in room.bytes_of().items() if n.endswith(".pdf")} == before


def test_one_file_is_written_whole_or_not_at_all(tmp_path, monkeypatch):
    place = tmp_path / "list.pdf"
    old, new = (pdf.write((Scene(10, 10, (), name),), title=name) for name in ("old", "new"))
    assert single_file.write_file(str(place), old) == ()
    monkeypatch.setattr(single_file.os, "replace", lambda *a: (_ for _ in ()).throw(OSError(28, "no room")))
    (found,) = single_file.write_file(str(place), new)
    assert (
        found.slug == "cannot-write"
        and place.read_bytes() == old
        and [p.name for p in tmp_path.iterdir()] == ["list.pdf"]
    )


def test_json_is_json(shop):
    json.loads(shop.run("prep", "--covers", "beetroot=1", "--format", "json").out)


def test_a_draft_recipe_card_says_what_is_not_established(room):
    room.write(kitchen((OIL, "{ingredient: dill, amount: 40 g}", "{ingredient: curry powder, amount: 40 g}")))
    assert room.run("build", "--recipes").code == 1 and room.made() == []
    room.run("build", "--recipes", "--draft")
    pages = [
        " ".join(p.extract_text().split())
        for p in pypdf.PdfReader(room.root / "output/beetroot/recipe-cards.pdf").pages
    ]
    assert all("DRAFT" in p and "NOT ESTABLISHED" in p for p in pages)
    assert not any("Every other group of this law" in p for p in pages)


def test_a_recipe_that_did_not_say_its_amount_of_a_recipe_is_not_scaled(room):
    """What cannot be computed stands on the card as not known."""
    room.write(kitchen((SMOKED, "{recipe: dill-oil, amount: 20 g}", "{recipe: dill-oil, amount: 20 ml}")))
    room.run("build", "--recipes")
    pages = [
        " ".join(p.extract_text().split())
        for p in pypdf.PdfReader(room.root / "output/beetroot/recipe-cards.pdf").pages
    ]
    assert "not known" in " ".join(pages).rpartition("Dill oil for ")[2]
    done = room.run("prep", "--covers", "beetroot=4")
    assert (
        "Dill oil: how much of it goes into Smoked beetroot is not known" in done.out
        and "[ ] Dill oil: 1 batch, 200 g (need at least 16 g" in done.out
    )
