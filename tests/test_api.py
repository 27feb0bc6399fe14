"""The library that other programs use: a kitchen read, prepared, asked and drawn, from several threads."""

from __future__ import annotations

import re
import subprocess
import sys
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

import platecard

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def kitchen() -> platecard.OpenKitchen:
    return platecard.open_kitchen(ROOT)


def test_a_kitchen_is_read_prepared_and_drawn(kitchen):
    menu = kitchen.prepare()
    # Advice alone: where the words for guests were read.
    assert {p.slug for p in kitchen.problems} == {"guest-words-not-official"}
    assert [d.key for d in menu] == list(kitchen.dishes) and all(d.is_sound for d in menu)
    files = platecard.draw(menu[0])
    assert {"plate.svg", "pass-card.pdf", "pass-card.svg"} <= set(files)
    assert files["plate.svg"] == (ROOT / "output" / menu[0].key / "plate.svg").read_bytes()


def test_a_guest_is_answered_for_the_menu_or_for_one_dish(kitchen):
    answers = kitchen.ask("milk")
    assert set(answers) == set(kitchen.dishes) and {a.answer for a in answers.values() if a} >= {"as_is", "cannot"}
    assert set(kitchen.ask("milk", dishes=["char-cucumber"])) == {"char-cucumber"}
    with pytest.raises(ValueError, match="hazlenut.*hazelnut|hazlenutt"):
        kitchen.ask("hazlenuttt")


def test_a_menu_is_built(kitchen, tmp_path):
    reports = kitchen.build(tmp_path)
    assert {r.state for r in reports} == {"written"} and (tmp_path / "menu" / "allergens.json").is_file()


def test_what_is_not_there_is_said(tmp_path):
    with pytest.raises(platecard.UsageError):
        platecard.open_kitchen(tmp_path)


def test_threads_get_the_same_answers(kitchen):
    def work(_: int) -> tuple[object, ...]:
        here = platecard.open_kitchen(ROOT)
        dish = here.prepare()[1]
        return here.ask("egg, fish"), platecard.draw(dish)["plate.svg"], dish.problems

    alone = work(0)
    with ThreadPoolExecutor(4) as executor:
        assert all(one == alone for one in executor.map(work, range(6)))


def test_using_it_changes_nothing_of_the_process():
    """No module stands in for another, no collector is set, no folder is changed."""
    program = """
import gc, os, sys, warnings
def state():
    return gc.get_threshold(), gc.isenabled(), os.getcwd(), dict(os.environ), list(warnings.filters), sys.stdout
before = state()
import platecard
kitchen = platecard.open_kitchen(".")
platecard.draw(kitchen.prepare()[0])
kitchen.ask("milk")
assert state() == before
import PIL.Image
assert PIL.Image.new("RGB", (1, 1)).size == (1, 1)
"""
    done = subprocess.run([sys.executable, "-c", program], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr


def test_the_readmes_example_runs(tmp_path):
    readme = (ROOT / "README.md").read_text(encoding="utf-8")
    (example,) = re.findall(r"```python\n(.*?)```", readme, re.DOTALL)
    done = subprocess.run([sys.executable, "-c", example], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0 and "char-cucumber" in done.stdout, done.stderr
