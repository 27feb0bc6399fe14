"""What a law leaves out, by exemption or by its limit, is never said not to be there."""

from __future__ import annotations

import io
import json
from pathlib import Path

import pypdf
import pytest

from platecard import pipeline
from platecard.allergens.statement import ABSENT
from platecard.allergens.traces import CONTAINS, MAY
from platecard.knowledge import laws
from platecard.publishing import build
from tests.kitchens import prepared

ROOT = Path(__file__).parents[2]
KITCHEN = {
    "shared/kitchen.yaml": "kitchen: The room\nlaws: [us]\nstations: {larder: Larder}\nequipment: {smoker: Smoker}\n"
}
FRIED = """dish: Fried potato
revision: {number: 1, date: 2026-02-01}
plate: wide
components:
  crisp: {ingredient: potato}
  oil: {ingredient: refined peanut oil}
plating:
  - {put: crisp, piece: {shape: disc, size: 40 mm, height: 8 mm, weight: 12 g}, at: centre}
  - {put: oil, count: 3, piece: {shape: dot, size: 5 mm, weight: 0.02 g}, arrange: ring, out: 60 mm}
"""


def text_of(data: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages).split())


def test_refined_peanut_oil_is_exempt_in_the_united_states_and_never_absent():
    dish = prepared(FRIED, KITCHEN)
    (finding,) = [f for f in dish.statements[0].findings if f.allergen == "peanut"]
    assert (
        (finding.presence, finding.left_out, finding.in_short) == (ABSENT, "exempt", "refined oil")
        and "321(qq)(2)(A)" in finding.note
        and finding.reasons
    )
    card = text_of(build.render(dish)["pass-card.pdf"])
    assert "In it, but exempt under this law: peanut (refined oil)." in card
    assert "No group that this law declares" not in card
    documents = {name: b"".join(pieces) for name, pieces in build.render_menu((dish,))}
    assert "in it, exempt" in text_of(documents["allergens.pdf"]) and "in it, exempt: peanut (refined oil)" in text_of(
        documents["pass-cards.pdf"]
    )
    page = documents["front-of-house.html"].decode()
    assert "<dt>In it, exempt</dt>" in page and "No group of this law is among" not in page
    (told,) = [f for f in json.loads(documents["allergens.json"])["dishes"][0]["findings"] if f["allergen"] == "peanut"]
    assert "among the ingredients, in a form that this law exempts" in told["note"]
    assert "among the ingredients, in a form" in documents["allergens-us.csv"].decode("utf-8-sig")


@pytest.fixture(scope="module")
def menu():
    """The demo menu under every law there is."""
    library = [
        (str(p.relative_to(ROOT)), p.read_text(encoding="utf-8")) for p in sorted((ROOT / "shared").rglob("*.yaml"))
    ]
    world = pipeline.world(library, law_names=laws.names())
    texts = [
        (p.read_text(encoding="utf-8"), f"specs/{p.name}", p.stem) for p in sorted((ROOT / "specs").glob("*.yaml"))
    ]
    return pipeline.prepare_menu(texts, world)


def test_nothing_that_is_in_a_dish_is_absent_without_a_word(menu):
    """Under every law: a group that any ingredient belongs to is declared, open, or said to be there and left out."""
    said = set()
    for dish in menu:
        tree = dish.world.tracer.taxonomy
        for statement in dish.statements:
            for finding in statement.with_presence(ABSENT):
                there = [
                    t
                    for t in dish.traces
                    if t.state in (CONTAINS, MAY) and t.node and tree.is_under(t.node, finding.allergen)
                ]
                if there:
                    assert finding.left_out in ("exempt", "limit") and finding.note and finding.reasons, (
                        dish.key,
                        statement.law.key,
                        finding.allergen,
                    )
                    said.add((statement.law.key, finding.allergen, finding.left_out))
                else:
                    assert not finding.left_out, (dish.key, statement.law.key, finding.allergen)
    assert {"limit", "exempt"} <= {why for _, _, why in said}


def test_a_kind_that_is_left_out_is_told_beside_one_that_is_declared():
    """In the column of the cereals: wheat flour is declared, and the barley of a spirit is in it all the same."""
    spec = FRIED.replace("{ingredient: potato}", "{ingredient: wheat flour}").replace(
        "{ingredient: refined peanut oil}", "{ingredient: malt whisky}"
    )
    dish = prepared(
        spec,
        {
            "shared/kitchen.yaml": (
                "kitchen: The room\nlaws: [eu]\nstations: {larder: Larder}\nequipment: {smoker: Smoker}\n"
            )
        },
    )
    (wheat,) = [f for f in dish.statements[0].findings if f.allergen == "wheat"]
    (barley,) = [f for f in dish.statements[0].findings if f.allergen == "barley"]
    assert wheat.presence == CONTAINS and (barley.presence, barley.left_out) == (ABSENT, "exempt")
    documents = {name: b"".join(pieces) for name, pieces in build.render_menu((dish,))}
    for told in (documents["allergens-eu.csv"].decode("utf-8-sig"), text_of(documents["allergens.pdf"])):
        assert "wheat" in told and "in a form that this law exempts" in told
