"""A kitchen that is checked as it grows: the library alone, then with its first dish."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from tests.kitchens import BEETROOT, LIBRARY, PLATES, SMOKED, SPEC

ROOT = Path(__file__).parents[2]


def test_each_step_of_the_readme_can_be_checked_as_it_is_typed(room):
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    blocks = re.findall(r"\(`((?:shared|specs)/[^`]+)`\).*?```yaml\n(.*?)```", readme, re.S)
    assert len(blocks) == 5
    for name, text in blocks:
        room.write({name: text})
        done = room.run("check")
        assert done.code == 0 and "error" not in done.out and "warning" not in done.out, (name, done.out + done.err)
        assert ("there is no dish yet" in done.out) is (not name.startswith("specs/")), name
        told = {p["slug"] for p in room.problems()}
        assert ("no-dish-yet" in told) is (not name.startswith("specs/"))
    assert room.run("build").code == 0


@pytest.mark.parametrize("has_folder", [False, True])
def test_check_looks_at_a_library_without_dishes(room, has_folder):
    room.write(LIBRARY)
    if has_folder:
        (room.root / "specs").mkdir()
    done = room.run("check")
    assert done.code == 0 and "there is no dish yet" in done.out and done.out.endswith("0 dishes checked: 1 advice\n")
    assert room.run("build").code == 2, "there is nothing to build"
    room.write({SMOKED: LIBRARY[SMOKED].replace("ingredient: beetroot", "ingredient: beetrot"), PLATES: "plates: ["})
    found = {(p["slug"], p["file"]) for p in room.problems() if p["severity"] == "error"}
    assert ("unknown-ingredient", SMOKED) in found and any(file == PLATES for _, file in found)
    assert room.run("check").code == 1


def test_a_loop_of_recipes_is_found_before_there_is_a_dish(room):
    room.write(
        {
            **LIBRARY,
            "shared/recipes/loop.yaml": "recipe: Loop\nmakes: 1 kg\ningredients:\n  - {recipe: loop, amount: 1 kg}\n",
        }
    )
    assert "recipe-loop" in {p["slug"] for p in room.problems()} and room.run("check").code == 1


def test_it_never_says_so_where_the_dishes_are_elsewhere(galley, monkeypatch):
    """The command was given in another folder of the kitchen: its dishes are not passed over."""
    room = galley
    (room.root / "output").mkdir()
    monkeypatch.chdir(room.root / "output")
    done = room.run("check")
    assert done.code == 2 and "there is no spec or folder specs" in done.err
    monkeypatch.chdir(room.root / "shared")
    assert room.run("check").code == 2


def test_nor_where_a_spec_cannot_be_told(room):
    room.write({**LIBRARY, "specs/what-is-this": "dish: x\n"})
    done = room.run("check")
    assert done.code == 1 and "no-dish-yet" not in {p["slug"] for p in room.problems()}


def test_what_was_issued_and_has_no_spec_any_more_is_told(room):
    room.write({**LIBRARY, SPEC: BEETROOT})
    room.run("build")
    (room.root / SPEC).unlink()
    assert {p["slug"] for p in room.problems() if p["severity"] == "warning"}
