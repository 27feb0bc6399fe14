"""``platecard rename KIND OLD NEW``: every file that names it, or none; comments and all else stay."""

from __future__ import annotations

import os

import pytest

from tests.kitchens import KITCHEN, OIL, PANTRY, PLATES, SMOKED, SPEC, kitchen

COMMENTED = ("  oil: {recipe: dill-oil}", "  oil: {recipe: 'dill-oil'}   # the dill-oil of the house")


@pytest.fixture
def shop(room):
    return room.write(kitchen((SPEC, *COMMENTED)))


def texts(room) -> dict[str, bytes]:
    return {
        str(path.relative_to(room.root)): path.read_bytes()
        for folder in ("specs", "shared")
        for path in (room.root / folder).rglob("*.yaml")
    }


def test_without_write_it_only_says_what_would_change(shop):
    before = texts(shop)
    run = shop.run("rename", "recipe", "dill-oil", "green-oil")
    assert run.code == 0 and "nothing is changed yet; add --write" in run.out
    assert "shared/recipes/dill-oil.yaml becomes shared/recipes/green-oil.yaml" in run.out
    assert "shared/recipes/smoked-beetroot.yaml:6:" in run.out and "specs/beetroot.yaml:7:" in run.out
    assert texts(shop) == before


def test_a_recipe_gets_its_new_name_everywhere_and_comments_stay(shop):
    before = texts(shop)
    assert shop.run("rename", "recipe", "dill-oil", "green-oil", "--write").code == 0
    after = texts(shop)
    assert OIL not in after and after["shared/recipes/green-oil.yaml"] == before[OIL]
    assert b"oil: {recipe: 'green-oil'}   # the dill-oil of the house" in after[SPEC]
    assert after[SMOKED] == before[SMOKED].replace(b"dill-oil", b"green-oil")
    assert after[PANTRY] == before[PANTRY] and shop.errors() == []


@pytest.mark.parametrize(
    "kind, old, new, files",
    [
        ("product", "seeded-crisp", "house-crisp", {PANTRY, SPEC}),
        ("equipment", "smoker", "cold-smoker", {KITCHEN, SMOKED}),
        ("plate", "wide", "wide-white", {PLATES, SPEC}),
        ("station", "larder", "garde-manger", {KITCHEN, SPEC}),
    ],
)
def test_every_kind_of_thing_keeps_what_its_dishes_say(shop, kind, old, new, files):
    def declared() -> list[tuple[str, str, str]]:
        said = shop.run("allergens", "beetroot", "--format", "json").data
        return [(f["law"], f["allergen"], f["presence"]) for f in said["findings"]]

    before, said = texts(shop), declared()
    assert shop.run("rename", kind, old, new, "--write").code == 0
    after = texts(shop)
    assert {name for name in after if after[name] != before[name]} == files
    assert shop.errors() == [] and declared() == said
    assert shop.run("rename", kind, new, old, "--write").code == 0 and texts(shop) == before, "and back again"


def test_windows_line_ends_and_a_byte_order_mark_stay(shop):
    path = shop.root / SPEC
    path.write_bytes(b"\xef\xbb\xbf" + path.read_bytes().replace(b"\n", b"\r\n"))
    before = path.read_bytes()
    assert shop.run("rename", "plate", "wide", "broad", "--write").code == 0
    assert path.read_bytes() == before.replace(b"plate: wide", b"plate: broad")


@pytest.mark.parametrize(
    "kind, old, new, said",
    [
        ("recipe", "dill-oil", "smoked-beetroot", "there is a recipe 'smoked-beetroot' already"),
        ("plate", "wide", "coupe", "there is a plate 'coupe' already"),
        ("plate", "wdie", "broad", "there is no plate 'wdie' in the kitchen"),
        ("station", "larder", "Cold Larder", "is no key: use small letters, digits and hyphens"),
    ],
)
def test_a_name_that_is_taken_or_is_none_changes_nothing(shop, kind, old, new, said):
    before = texts(shop)
    run = shop.run("rename", kind, old, new, "--write")
    assert run.code == 2 and said in run.err and texts(shop) == before


def test_a_name_under_which_a_dish_would_say_something_else_is_refused(room):
    """Under the key butter the product would also be what the recipe calls butter, whatever its label says."""
    room.write(kitchen((OIL, "{ingredient: sunflower oil, amount: 190 g}", "{ingredient: butter, amount: 190 g}")))
    before = texts(room)
    run = room.run("rename", "product", "seeded-crisp", "butter", "--write")
    assert run.code == 2 and "would say something else; nothing was changed" in run.err and texts(room) == before


@pytest.mark.parametrize("file", ["specs/half.yaml", "shared/pantry-half.yaml"])
@pytest.mark.parametrize("data", [b"dish: [", b"\xff\xfe\x00", b""])
def test_a_file_that_cannot_be_read_may_name_it_too(shop, file, data):
    (shop.root / file).write_bytes(data)
    before = texts(shop)
    run = shop.run("rename", "plate", "wide", "broad", "--write")
    assert run.code == 2 and "cannot be read, and may name 'wide' too" in run.err and texts(shop) == before


def test_where_one_file_cannot_be_written_none_is(shop, monkeypatch):
    before, replace, done = texts(shop), os.replace, []

    def failing(old, new):
        done.append(new)
        if len(done) == 2:
            raise OSError(28, "No space left on device", str(new))
        return replace(old, new)

    monkeypatch.setattr(os, "replace", failing)
    run = shop.run("rename", "product", "seeded-crisp", "house-crisp", "--write")
    assert run.code == 2 and "nothing was changed" in run.err and texts(shop) == before
    assert not list(shop.root.rglob("*.part"))
