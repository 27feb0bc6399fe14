"""An allergen that comes in is shouted about; the menu's matrix says the same as the cards."""

from __future__ import annotations

import csv
import io
import json
from datetime import date

import pypdf
import pytest

from platecard import pipeline
from platecard.allergens import acknowledgement, statement
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN
from platecard.documents.text import matrix_table
from platecard.publishing import build

KITCHEN = "kitchen: Test\nlaws: [eu, us]\nlabels_printed_for: [eu, us]\nequipment: {fryer: Fryer}\n"
PLATES = "plates:\n  p: {called: Plate, form: rimmed, outer: 270 mm, well: 190 mm}\n"
PANTRY = (
    "products:\n  choc:\n    called: Chocolate\n    label: {read: 2026-01-10, contains: [soya], may_contain:"
    " [hazelnut]}\n  mystery: {called: Mystery paste}\n"
)


def spec(*parts: str, revision: int = 2, acknowledged: str = "", title: str = "Dish") -> str:
    lines = [f"dish: {title}", f"revision: {{number: {revision}, date: 2026-02-01}}", "plate: p", "components:"]
    lines += [f"  c{i}: {part}" for i, part in enumerate(parts)]
    lines.append("plating:")
    for i, _ in enumerate(parts):
        lines.append(
            f'  - {{put: c{i}, piece: {{shape: disc, size: 20 mm, height: 20 mm, weight: 6 g}}, at: "{i + 1}:00", out:'
            " 40 mm}"
        )
    return "\n".join(lines) + "\n" + acknowledged


def menu(*texts: str, library=(), kitchen: str = KITCHEN, today=None):
    files = [("shared/kitchen.yaml", kitchen), ("shared/plates.yaml", PLATES), ("shared/pantry.yaml", PANTRY), *library]
    world = pipeline.world(files, today=today)
    return pipeline.prepare_menu([(t, f"specs/d{i}.yaml", f"d{i}") for i, t in enumerate(texts)], world)


def slugs(prepared) -> set[str]:
    """Everything but advice on how the plate looks."""
    return {p.slug for p in prepared.problems} - {"off-balance", "even-number", "drift-touches"}


RECORD = "acknowledged:\n  revision: 1\n  eu: [milk]\n  us: [cow_milk]\n"


def menu_documents(menu) -> dict[str, bytes]:
    return {name: b"".join(pieces) for name, pieces in build.render_menu(menu)}


def tables(dishes) -> list[matrix_table.Table]:
    return [matrix_table.table(law, dishes) for law in dishes[0].world.laws]


def test_what_is_on_record_is_no_news():
    (dish,) = menu(spec("{ingredient: butter}", acknowledged=RECORD))
    assert dish.is_sound and not slugs(dish)


def test_an_allergen_that_came_in_is_an_error_in_each_law_at_its_record():
    (dish,) = menu(spec("{ingredient: butter}", "{ingredient: hazelnut}", acknowledged=RECORD))
    came = [p for p in dish.problems if p.slug == "allergen-came-in"]
    assert [(p.severity, p.span.line) for p in came] == [("error", 12), ("error", 13)]
    assert "hazelnuts" in came[0].message and "European Union" in came[0].message
    assert "tree nuts (hazelnut)" in came[1].message and "United States" in came[1].message
    assert any("hazelnut" in h and "source" in h for h in came[0].hints)
    assert not dish.is_sound


def test_a_kind_the_law_asks_for_counts_as_new():
    """21 U.S.C.

    343(w)(2): the species of fish is part of the declaration, so another fish is news in the US and none in the EU.
    """
    record = "acknowledged:\n  revision: 1\n  eu: [fish]\n  us: [cod]\n"
    (dish,) = menu(spec("{ingredient: cod}", "{ingredient: anchovy}", acknowledged=record))
    came = [p for p in dish.problems if p.slug == "allergen-came-in"]
    assert len(came) == 1 and "United States" in came[0].message


def test_writing_it_down_settles_it():
    (dish,) = menu(spec("{ingredient: butter}", "{ingredient: hazelnut}", acknowledged=RECORD))
    text = acknowledgement.record_text(dish.dish, dish.statements)
    (again,) = menu(spec("{ingredient: butter}", "{ingredient: hazelnut}", acknowledged=text))
    assert again.is_sound and not slugs(again)


def test_a_record_from_the_future_and_one_that_is_stale():
    (dish,) = menu(
        spec(
            "{ingredient: butter}", revision=1, acknowledged="acknowledged: {revision: 9, eu: [milk], us: [cow_milk]}\n"
        )
    )
    assert "acknowledged-too-late" in slugs(dish)
    (dish,) = menu(
        spec("{ingredient: butter}", acknowledged="acknowledged: {revision: 1, eu: [milk, fish], us: [cow_milk]}\n")
    )
    assert slugs(dish) == {"allergen-went-out"} and dish.is_sound


def test_without_a_record_there_is_advice():
    (dish,) = menu(spec("{ingredient: butter}"))
    assert [p.severity for p in dish.problems if p.slug == "not-acknowledged"] == ["advice"]
    assert slugs(dish) == {"not-acknowledged"} and dish.is_sound


def test_a_law_put_in_force_later_has_no_record_and_says_so():
    (dish,) = menu(spec("{ingredient: butter}", acknowledged="acknowledged: {revision: 1, eu: [milk]}\n"))
    assert any(p.slug == "allergen-came-in" and "United States" in p.message for p in dish.problems)


# --------------------------------------------------------------------------- matrix


def test_the_matrix_agrees_with_the_statements():
    dishes = menu(
        spec("{ingredient: butter}", "{product: choc}", title="One"), spec("{ingredient: pine nut}", title="Two")
    )
    for table in tables(dishes):
        for row, dish in zip(table.rows, dishes):
            said = next(s for s in dish.statements if s.law.key == table.law.key)
            for presence in (CONTAINS, MAY):
                cells = {w for c in row.cells for w, p in c.said if p == presence}
                assert cells == {f.declared_as for f in said.with_presence(presence)}
            assert all(c.reasons for c in row.cells if c.said)


def test_an_unsound_dish_stands_there_as_not_established():
    dishes = menu(
        spec("{ingredient: butter}", title="Sound"),
        spec("{product: mystery}", title="Unsound"),
        "dish: [broken",
    )
    for table in tables(dishes):
        assert all(c.presence == UNKNOWN for row in table.rows[1:] for c in row.cells)
        assert not any(c.presence == UNKNOWN for c in table.rows[0].cells)
    data = json.loads("".join(matrix_table.as_json(dishes)))
    assert {f["presence"] for f in data["dishes"][1]["findings"]} == {UNKNOWN}


def test_csv_is_read_back_and_runs_no_formula():
    dishes = menu(spec("{ingredient: butter}", title='"=cmd()"'))
    rows = list(csv.reader(io.StringIO(matrix_table.as_csv(tables(dishes)[0]))))
    assert rows[0][:2] == ["dish", "key"] and rows[1][0] == "'=cmd()"
    assert rows[1][rows[0].index("milk")] == "contains: milk"
    assert rows[1][rows[0].index("fish")] == "not among the ingredients entered"
    assert rows[-1][0].startswith("Derived from the ingredients entered")


def test_a_sulphited_ingredient_under_the_limit_is_not_shown_as_absent():
    recipe = (
        "shared/recipes/jus.yaml",
        (
            "recipe: Jus\nmakes: 1000 g\ningredients:\n  - {product: wine, amount: 60 g}\n  - {ingredient: water,"
            " amount: 940 g}\n"
        ),
    )
    pantry = (
        "shared/pantry-wine.yaml",
        (
            "products:\n  wine:\n    called: Red\n    is: dry red wine\n    label: {read: 2026-01-01, contains:"
            " [sulphites], sulphites: 152 mg/kg, maker_asked: 2026-01-02}\n"
        ),
    )
    (dish,) = menu(spec("{recipe: jus}"), library=(recipe, pantry))
    table = tables((dish,))[0]
    cell = table.rows[0].cells[table.groups.index("sulphur dioxide and sulphites")]
    assert (
        cell.presence == statement.ABSENT
        and "among the ingredients, but not above the limit" in cell.note
        and "9.12 mg/kg" in cell.note
    )
    text = " ".join(
        page.extract_text() for page in pypdf.PdfReader(io.BytesIO(menu_documents((dish,))["allergens.pdf"])).pages
    )
    assert "in it, under the limit" in " ".join(text.split())


def test_the_menus_documents_carry_the_caution_and_the_codes():
    dishes = menu(spec("{ingredient: butter}", "{product: choc}"))
    made = menu_documents(dishes)
    assert set(made) == {
        "allergens.pdf",
        "allergens.json",
        "allergens-eu.csv",
        "allergens-us.csv",
        "front-of-house.html",
        "pass-cards.pdf",
    }
    data = json.loads(made["allergens.json"])
    milk = next(f for f in data["dishes"][0]["findings"] if f["law"] == "eu" and f["allergen"] == "milk")
    assert (milk["gs1"], milk["presence"], milk["declared_as"]) == ("AM", "contains", "milk")
    assert "Derived from" in data["caution"]


# --------------------------------------------------------------------------- settings


@pytest.mark.parametrize("read, told", [("2026-01-10", True), ("2026-05-20", False), ("2027-01-01", True)])
def test_an_old_label_is_a_warning(read, told):
    pantry = ("shared/pantry-b.yaml", f"products:\n  jam: {{called: Jam, label: {{read: {read}, contains: []}}}}\n")
    (dish,) = menu(
        spec("{product: jam}"), library=(pantry,), kitchen=KITCHEN + "label_age: 12 weeks\n", today=date(2026, 6, 1)
    )
    warned = {p.slug for p in dish.problems if p.severity == "warning" and "Jam" in p.message}
    assert warned == ({"label-too-old"} if read.startswith("2026-01") else {"label-from-the-future"} if told else set())
    assert dish.is_sound


def test_kept_equipment_is_kept():
    kitchen = KITCHEN.replace("{fryer: Fryer}", "{fryer: {called: Potato fryer, only_for: [c0]}}")
    (sound,) = menu(spec("{ingredient: potato, equipment: fryer}"), kitchen=kitchen)
    assert "kept-equipment" not in slugs(sound)
    _, faulty = menu(
        spec("{ingredient: potato, equipment: fryer}"),
        spec("{ingredient: potato}", "{ingredient: cod, equipment: fryer}"),
        kitchen=kitchen,
    )
    assert "kept-equipment" in slugs(faulty) and not faulty.is_sound


def test_the_union_of_laws_keeps_what_any_of_them_declares():
    (dish,) = menu(spec("{ingredient: cod}", "{ingredient: barley}", "{ingredient: pine nut}", "{ingredient: mussel}"))
    together = statement.union(dish.statements)
    assert {f.declared_as for f in together.with_presence(CONTAINS)} == {
        "fish (cod)",
        "barley",
        "tree nuts (pine nut)",
        "molluscs",
    }


def test_only_what_comes_over_equipment_is_said_to():
    """Rye is open in the dish itself, oats only in the fryer: a spreadsheet says so of each alone."""
    said = (("rye", UNKNOWN), ("oats", UNKNOWN), ("spelt", UNKNOWN), ("wheat", CONTAINS))
    cell = matrix_table.Cell(CONTAINS, said, (), over=(("oats", "fryer"), ("spelt", "fryer")))
    assert matrix_table.in_words(cell) == (
        "contains: wheat; not established: rye; not established: oats, spelt (over shared equipment: fryer)"
    )
