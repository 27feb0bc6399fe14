"""The guides of the two folders say what the schemas say, and what they show builds."""

from __future__ import annotations

import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import platecard
from platecard.drawing import fonts
from platecard.knowledge import laws

SCHEMAS = Path(platecard.__file__).parent / "data" / "schemas"
ROOT = SCHEMAS.parents[2]
sys.path.insert(0, str(SCHEMAS))

import make_guides  # noqa: E402

GUIDES = {name: (ROOT / name / "README.md").read_text(encoding="utf-8") for name in make_guides.GUIDES}
EXAMPLE = {
    str(path.relative_to(make_guides.EXAMPLE)): path.read_text(encoding="utf-8")
    for path in sorted(make_guides.EXAMPLE.rglob("*.yaml"))
}


@pytest.mark.parametrize("name", make_guides.GUIDES)
def test_the_guide_says_what_the_schemas_say(name):
    """Out of date: python platecard/data/schemas/make_guides.py"""
    assert make_guides.guide(name) == GUIDES[name]


def test_the_example_kitchen_builds_without_a_word(tmp_path):
    shutil.copytree(make_guides.EXAMPLE, tmp_path, dirs_exist_ok=True)
    done = subprocess.run(
        [sys.executable, "-m", "platecard", "build", "--recipes"], cwd=tmp_path, capture_output=True, text=True
    )
    assert done.returncode == 0, done.stdout + done.stderr
    assert done.stdout.splitlines()[-1] == "1 dish: no problems", done.stdout
    assert (tmp_path / "output/lamb-carrot/pass-card.pdf").is_file()


def test_whatever_a_guide_shows_is_part_of_the_example_that_builds():
    blocks = [block for text in GUIDES.values() for block in re.findall(r"```yaml\n(.*?)```", text, re.S)]
    assert len(blocks) >= len(EXAMPLE) + 2, "each file in full, and excerpts"
    assert [block for block in blocks if not any(block in text for text in EXAMPLE.values())] == []
    assert {name for name, text in EXAMPLE.items() if text not in blocks} == set(), "each file of it is shown"


def test_what_a_guide_has_typed_works_with_the_environment_of_the_readme():
    """It has no pip of its own, so the one outside it installs into it."""
    assert "--without-pip" in (ROOT / "README.md").read_text(encoding="utf-8")
    typed = [block for text in GUIDES.values() for block in re.findall(r"```sh\n(.*?)```", text, re.S)]
    assert [line for line in typed if "bin/python -m pip" in line or re.match(r"pip\b", line)] == []
    assert f"{fonts.INSTALLED_BY}\n" in typed


def test_every_law_on_file_is_named():
    row = next(line for line in GUIDES["shared"].splitlines() if line.startswith("| `laws`"))
    assert {key for key in laws.names() if not re.search(rf"[ ;,]{key}\b", row)} == set()


def test_every_row_says_what_its_key_means():
    rows = [line for text in GUIDES.values() for line in text.splitlines() if re.match(r"\| `[^|]+\|[^|]+\|", line)]
    assert len(rows) > 120 and [row for row in rows if re.search(r"\|\s*\|$", row)] == []
