"""``platecard uses NAME``: every dish that something comes on, through which recipes, and how much a plate."""

from __future__ import annotations

import pytest

from tests.kitchens import OIL, SMOKED, SPEC, kitchen


@pytest.fixture
def shop(room):
    swap = "crisp: {product: seeded-crisp, swap: {avoiding: [wheat], use: {ingredient: rice cracker}}}"
    return room.write(kitchen((SPEC, "crisp: {product: seeded-crisp}", swap)))


def uses(room, name: str) -> dict:
    return room.run("uses", name, "--format", "json").data


def test_a_product_is_found_by_its_key_and_by_its_name(shop):
    for name in ("seeded-crisp", "Seeded crisp"):
        found = uses(shop, name)
        assert found["is"] == [{"kind": "product", "key": "seeded-crisp", "called": "Seeded crisp"}]
        (one,) = found["uses"]
        assert (one["dish"], one["component"], one["through"], one["grams"]) == ("beetroot", "crisp", [], 6.0)
        assert not one["only_as_swap"] and not found["not_known"]


def test_an_ingredient_is_found_inside_the_recipes_of_recipes(shop):
    """4 g of an oil that is half rapeseed oil holds 2 g of it, as long as the recipe says so."""
    (line,) = [one for one in uses(shop, "dill-oil")["uses"] if one["through"] == []]
    assert line["component"] == "oil" and line["grams"] == 4.0
    text = shop.root.joinpath(OIL).read_text()
    assert "rapeseed oil" in text or "sunflower oil" in text, text
    name = "rapeseed oil" if "rapeseed oil" in text else "sunflower oil"
    ways = {(one["component"], tuple(one["through"])) for one in uses(shop, name)["uses"]}
    assert ("oil", ("Dill oil",)) in ways
    total = sum(one["grams"] for one in uses(shop, name)["uses"] if one["component"] == "oil")
    assert 0 < total <= 4.0


def test_what_only_stands_in_for_a_guest_is_told_apart(shop):
    (one,) = uses(shop, "rice cracker")["uses"]
    assert one["only_as_swap"] and one["component"] == "rice cracker"
    assert "only as a swap" in shop.run("uses", "rice cracker").out


def test_equipment_and_plates_are_found(shop):
    (plate,) = uses(shop, "wide")["uses"]
    assert (plate["dish"], plate["component"], plate["grams"]) == ("beetroot", None, None)
    smoked = uses(shop, "smoker")
    assert {one["component"] for one in smoked["uses"]} == (
        {"beetroot"} if "smoker" in shop.root.joinpath(SMOKED).read_text() else set()
    )


def test_what_nobody_uses_and_what_nobody_knows(shop):
    run = shop.run("uses", "coupe")
    assert run.code == 0 and "no dish of the menu uses it" in run.out
    unknown = shop.run("uses", "seeded-crsp")
    assert unknown.code == 2 and "did you mean 'seeded-crisp'?" in unknown.err


def test_what_is_not_known_may_be_what_was_asked_for(room):
    """A spec that cannot be read, and a food that nobody knows, can hold the nuts that are looked for."""
    room.write(kitchen((SPEC, "dill: {ingredient: dill}", "dill: {ingredient: moon dust}")))
    room.write({"specs/broken.yaml": "dish: ["})
    run = room.run("uses", "hazelnut", "--format", "json")
    assert run.code == 1 and run.data["uses"] == []
    assert {gap["dish"] for gap in run.data["not_known"]} == {"beetroot", "broken"}
    assert any("moon dust" in gap["what"] for gap in run.data["not_known"])
    assert "so it may be there too" in room.run("uses", "hazelnut").out
