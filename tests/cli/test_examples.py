"""The example at the end of each command's help runs in the demo kitchen."""

from __future__ import annotations

import shlex
import shutil
import subprocess
from pathlib import Path

import pytest

from platecard.cli import EXAMPLES, _parser

# The commands that the README and the guide of the commands print, with what stands for DISH and the like.
# `new` is left out: what it writes is the cook's own, and is to be seen as new.
PRINTED = (
    "check",
    "files",
    "build",
    "build --recipes",
    "allergens char-cucumber",
    "guest --avoid egg,fish",
    "acknowledge char-cucumber",
    "compare char-cucumber --was 3",
    "mat char-cucumber",
    "steps char-cucumber",
    "steps char-cucumber --out char-cucumber-steps.svg",
    "prep --covers char-cucumber=24",
    "fire roe-deer --at 20:15",
    "cost roe-deer",
    "scale dill-oil --to 2.4 kg",
    "cautions roe-deer",
    "label day-bread",
    "uses butter",
    "rename recipe dill-oil green-oil",
    "schema",
)
ROOT = Path(__file__).parents[2]
COMMANDS = next(a for a in _parser()._actions if a.dest == "command").choices


@pytest.fixture
def demo(room):
    """The demo kitchen as it is cloned: under version control, with one commit."""
    for folder in ("specs", "shared"):
        shutil.copytree(ROOT / folder, room.root / folder)
    shutil.copy(ROOT / ".gitignore", room.root)
    git(room, "init", "-q")
    git(room, "add", "-A")
    git(room, "-c", "user.name=A Cook", "-c", "user.email=cook@example.org", "commit", "-q", "-m", "The kitchen")
    return room


def git(room, *arguments: str) -> str:
    return subprocess.run(["git", *arguments], cwd=room.root, capture_output=True, text=True, check=True).stdout


def test_every_command_has_one():
    assert set(EXAMPLES) == set(COMMANDS)
    assert max(len(f"example: {said}") for said in EXAMPLES.values()) < 78, "it is shown on one line"


@pytest.mark.parametrize("command", COMMANDS)
def test_its_help_ends_with_the_example(room, command):
    shown = " ".join(room.run(command, "--help").out.split())
    assert shown.endswith(f"example: {EXAMPLES[command]}") and shlex.split(EXAMPLES[command])[:2] == [
        "platecard",
        command,
    ]


@pytest.mark.parametrize("command", COMMANDS)
def test_the_example_runs(demo, command):
    done = demo.run(*shlex.split(EXAMPLES[command])[1:])
    assert done.code == 0 and done.out, done.err


def test_a_clone_stays_clean(demo):
    """Whatever of these commands is run in it: output/ comes out as it was committed, and the rest is ignored."""
    assert {said.split()[0] for said in PRINTED} == set(COMMANDS) - {"new"}
    shutil.copytree(ROOT / "output", demo.root / "output", ignore=shutil.ignore_patterns(".cards", ".lock"))
    git(demo, "add", "-A")
    commit = ("-c", "user.name=A Cook", "-c", "user.email=cook@example.org", "commit", "-q", "--allow-empty", "-m")
    git(demo, *commit, "The cards")
    # The record holds a digest of the program, so it alone may be older than the last change to the code.
    assert demo.run("build", "--recipes").code == 0
    assert git(demo, "status", "--porcelain") in ("", " M output/.made.json\n")
    git(demo, *commit, "The record", "-a")
    for said in (*PRINTED, *(EXAMPLES[c].removeprefix("platecard ") for c in ("mat", "steps"))):
        assert demo.run(*shlex.split(said)).code == 0, said
        assert git(demo, "status", "--porcelain") == "", said
    for left in ("uv.lock", ".ruff_cache/x", ".mypy_cache/x", ".pytest_cache/x", ".venv/x"):
        demo.write({left: ""})
    assert git(demo, "status", "--porcelain") == ""
