"""What a law only recommends, or leaves to states, never reads as if it were required; it is shown all the same.

Japan recommends twenty items (notice of the Consumer Affairs Agency, seen); Codex leaves some foods to states (memory).
"""

from __future__ import annotations

import json

from platecard.allergens.statement import LEVELS, union
from platecard.allergens.traces import CONTAINS
from platecard.documents.kit import allergen_block
from platecard.documents.pages import book, front_of_house
from platecard.documents.text import matrix_table
from platecard.drawing.scene import Group, Text
from tests.allergens.test_acknowledgement_and_matrix import menu, spec

SAYS = "(recommended, not required)"


def in_law(law: str, *parts: str):
    return menu(spec(*parts), kitchen=f"kitchen: Test\nlaws: [{law}]\nlabels_printed_for: [{law}]\n")


def words(items) -> str:
    said = []
    for item in items:
        if isinstance(item, Group):
            said.append(words(item.items))
        elif isinstance(item, Text):
            said.append(item.text)
    return " ".join(said)


def test_a_recommended_allergen_reads_as_recommended_in_every_document():
    dishes = in_law("jp", "{ingredient: sesame seed}", "{ingredient: butter}")
    (statement,) = dishes[0].statements
    found = {f.allergen: f for f in statement.with_presence(CONTAINS)}
    assert found["sesame"].in_full == f"sesame {SAYS}" and found["milk"].in_full == "milk"
    card = words(allergen_block.block(dishes[0].statements, 120).items)
    assert f"sesame {SAYS}" in " ".join(card.split())
    page = "".join(front_of_house.page(dishes, "abc"))
    assert f"sesame {SAYS}" in page
    table = matrix_table.table(dishes[0].world.laws[0], dishes)
    assert f"contains: sesame {SAYS}" in matrix_table.as_csv(table)
    (cell,) = [c for c in table.rows[0].cells if any("sesame" in w for w, _ in c.said)]
    assert cell.presence == CONTAINS  # shown as contained, not put aside
    data = json.loads("".join(matrix_table.as_json(dishes)))
    levels = {f["allergen"]: f["level"] for f in data["dishes"][0]["findings"] if f["presence"] == "contains"}
    assert levels == {"sesame": "recommended", "milk": "mandatory"}
    assert any(SAYS in text for text, _ in book._declared(dishes[0]))


def test_what_is_left_to_states_says_so():
    (dish,) = in_law("codex", "{ingredient: celery}")
    (celery,) = [f for f in dish.statements[0].findings if f.allergen == "celery"]
    assert celery.in_full == f"celery ({LEVELS['national']})"


def test_what_another_law_requires_is_required_in_what_both_declare():
    (dish,) = menu(
        spec("{ingredient: sesame seed}"),
        kitchen="kitchen: Test\nlaws: [jp, eu]\nlabels_printed_for: [jp, eu]\n",
    )
    (sesame,) = [f for f in union(dish.statements).findings if f.allergen == "sesame"]
    assert sesame.level == "mandatory" and SAYS not in sesame.in_full
