"""The example at the end of each command's help runs in the demo kitchen."""

from __future__ import annotations

import shlex
import shutil
import subprocess
from pathlib import Path

import pytest

from platecard.cli import EXAMPLES, _parser

ROOT = Path(__file__).parent.parent
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
