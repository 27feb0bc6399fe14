"""The code is typed to the last line, and lint finds nothing in it."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]


def run(*command: str) -> str:
    done = subprocess.run([sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True)
    return done.stdout + done.stderr if done.returncode else ""


def test_types_hold():
    assert run("mypy", "--no-incremental") == ""


def test_lint_finds_nothing():
    assert run("ruff", "check", "--no-cache", "platecard", "tests") == ""


def test_everything_is_formatted_one_way():
    assert run("ruff", "format", "--no-cache", "--check", "platecard", "tests") == ""
