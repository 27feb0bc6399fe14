"""What ``platecard new`` writes: a kitchen to start from, and a dish."""

from __future__ import annotations

import re

import pytest

from platecard import starter
from platecard.package_data import read_text
from tests.kitchens import KITCHEN, LIBRARY, PLATES, SMOKED

FILES = sorted(starter._KITCHEN)


def tree(room) -> list[str]:
    return sorted(str(p.relative_to(room.root)) for p in room.root.rglob("*") if p.is_file())


# --------------------------------------------------------------------------- a kitchen to start from


def test_new_without_a_name_lays_out_a_kitchen_that_builds_at_once(room):
    done = room.run("new")
    assert done.code == 0 and tree(room) == FILES and all(f in done.out for f in FILES)
    checked = room.run("check")
    assert (checked.code, checked.out) == (0, "1 dish checked: no problems\n"), checked.out
    assert room.run("check", "--format", "json").data == []
    assert room.run("build").code == 0
    assert room.cards() == ["peas-curd/pass-card.pdf", "peas-curd/plate.svg"]
    assert room.run("check").out == "1 dish checked: no problems\n", "nor after it was built"


@pytest.mark.parametrize("file", FILES)
def test_each_of_its_lines_is_told(file):
    """A comment stands at the head of each file, and before each key at least of the block that it belongs to."""
    text = read_text("starter", *file.split("/"))
    lines = text.splitlines()
    assert lines[0].startswith("# ") and "\t" not in text and text.endswith("\n")
    assert "A line that begins with # is a comment" in text or "line that begins with # is a comment" in text
    told = [line for line in lines if line.lstrip().startswith("#")]
    written = [line for line in lines if line.strip() and not line.lstrip().startswith("#")]
    assert len(told) >= 0.7 * len(written), (len(told), len(written))
    assert max(map(len, lines)) <= 130


@pytest.mark.parametrize("file", FILES)
def test_new_without_a_name_writes_nothing_where_one_of_its_files_is(room, file):
    room.write({file: "mine: true\n"})
    done = room.run("new")
    assert done.code == 2 and file in done.err and "nothing was written" in done.err
    assert tree(room) == [file] and (room.root / file).read_text() == "mine: true\n"


@pytest.mark.parametrize("other", ["specs/lamb.yaml", "shared/pantry-cellar.yaml", "shared", "specs"])
def test_nor_into_a_kitchen_with_other_files(room, other):
    room.write({other: "mine: true\n"})
    done = room.run("new")
    assert done.code == 2 and "nothing was written" in done.err and tree(room) == [other]


def test_nor_inside_a_kitchen(room, monkeypatch):
    room.write(LIBRARY)
    (room.root / "specs").mkdir()
    monkeypatch.chdir(room.root / "specs")
    done = room.run("new")
    assert done.code == 2 and "lies in the kitchen" in done.err and tree(room) == sorted(LIBRARY)


def test_empty_folders_are_no_hindrance(room):
    (room.root / "specs").mkdir()
    (room.root / "shared").mkdir()
    assert room.run("new").code == 0 and tree(room) == FILES


# --------------------------------------------------------------------------- a dish to start from


def test_a_new_dish_uses_what_the_kitchen_has(room):
    room.write(LIBRARY)
    assert room.run("new", "sunday").code == 0
    text = (room.root / "specs/sunday.yaml").read_text()
    assert "NAME-A" not in text and text.startswith("draft: true\n")
    assert re.search(r"^plate: (wide|coupe)$", text, re.M)
    assert re.search(r"^    recipe: (smoked-beetroot|dill-oil)$", text, re.M)
    assert re.search(r"^    station: (larder|sauce)$", text, re.M)
    assert room.run("check", "sunday").code == 0
    (room.root / "specs/sunday.yaml").write_text(text.replace("draft: true\n", ""))
    assert [p for p in room.problems() if p["severity"] != "advice"] == []


def test_it_takes_a_plate_and_a_recipe_that_hold(room):
    room.write(
        {
            **LIBRARY,
            PLATES: "plates:\n  cup: {called: Cup, form: bowl, outer: 70 mm, well: 40 mm}\n"
            "  wide: {called: Wide plate, form: rimmed, outer: 280 mm, well: 200 mm}\n",
            "shared/recipes/a-broken-one.yaml": "recipe: Broken\nmakes: 1 kg\ningredients:\n"
            "  - {ingredient: unheard of, amount: 1 kg}\n",
        }
    )
    room.run("new", "sunday")
    text = (room.root / "specs/sunday.yaml").read_text()
    assert "plate: wide\n" in text and "a-broken-one" not in text


def test_it_takes_a_product_where_there_is_no_recipe_and_no_station_where_there_is_none(room):
    files = {k: v for k, v in LIBRARY.items() if "recipes/" not in k}
    room.write({**files, KITCHEN: files[KITCHEN].replace("stations: {larder: Larder, sauce: Sauce}\n", "")})
    assert room.run("new", "sunday").code == 0
    text = (room.root / "specs/sunday.yaml").read_text()
    assert "product: seeded-crisp" in text and "station" not in text and "NAME-A" not in text
    assert room.run("check", "sunday").code == 0


def test_a_recipe_brings_its_own_station(room):
    files = {k: v for k, v in LIBRARY.items() if not k.endswith("dill-oil.yaml")}
    room.write(
        {
            **files,
            SMOKED: "recipe: Beetroot\nmakes: 1 kg\nstation: sauce\n"
            "ingredients:\n  - {ingredient: beetroot, amount: 1.1 kg}\n",
        }
    )
    room.run("new", "sunday")
    text = (room.root / "specs/sunday.yaml").read_text()
    assert "    recipe: smoked-beetroot\n    station: sauce\n" in text


def test_without_a_library_the_names_are_left_to_fill_in(room):
    assert room.run("new", "sunday").code == 0
    text = (room.root / "specs/sunday.yaml").read_text()
    assert all(name in text for name in ("NAME-A-PLATE", "NAME-A-RECIPE", "NAME-A-STATION"))


def test_the_same_kitchen_gives_the_same_dish(room):
    room.write(LIBRARY)
    room.run("new", "sunday")
    first = (room.root / "specs/sunday.yaml").read_bytes()
    (room.root / "specs/sunday.yaml").unlink()
    room.run("new", "sunday")
    assert (room.root / "specs/sunday.yaml").read_bytes() == first
