"""The README does what it says: its tutorial builds, its commands are the ones that run."""

from __future__ import annotations

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")


def test_the_words_of_the_tutorial_are_on_the_path_once_it_is_set_up():
    setup, tutorial = README.split("## A plate in five small steps")
    assert "`source .venv/bin/activate`" in setup and "-m venv" in setup
    assert "`platecard new`" in tutorial and "import platecard" in tutorial


def test_the_tutorial_builds_a_card(tmp_path):
    blocks = re.findall(r"\(`((?:shared|specs)/[^`]+)`\).*?```yaml\n(.*?)```", README, re.S)
    assert [name for name, _ in blocks] == [
        "shared/kitchen.yaml",
        "shared/plates.yaml",
        "shared/recipes/beet-puree.yaml",
        "shared/pantry.yaml",
        "specs/beet.yaml",
    ]
    for name, text in blocks:
        path = tmp_path / name
        path.parent.mkdir(parents=True, exist_ok=True)
        path.write_text(text, encoding="utf-8")
    done = subprocess.run([sys.executable, "-m", "platecard", "build"], cwd=tmp_path, capture_output=True, text=True)
    assert done.returncode == 0, done.stdout + done.stderr
    last = done.stdout.splitlines()[-1]
    assert last.startswith("1 dish: ") and "error" not in last and "warning" not in last, done.stdout
    assert (tmp_path / "output/beet/plate.svg").is_file() and (tmp_path / "output/beet/pass-card.pdf").is_file()


def test_two_commands_each_one_line():
    commands = re.findall(r"```sh\n(.*?)\n```", README, re.S)
    assert len(commands) == 2 and all("\n" not in c for c in commands)
    assert commands[0].endswith("platecard build --recipes") and commands[1].endswith("-m pytest")


def test_ci_runs_the_second_command():
    run = (ROOT / ".ci/run").read_text(encoding="utf-8")
    assert "grep -m 1 -- '-m pytest' README.md" in run


def test_the_example_is_an_excerpt_of_the_spec():
    spec = (ROOT / "specs/char-cucumber.yaml").read_text(encoding="utf-8")
    for fact in ('from: "5:00"', 'to: "10:00"', "out: 39 mm", "size: 18 mm", '"11:45 to 3:15"', "recipe: cured-char"):
        assert fact in spec and fact in README


def test_every_command_is_described():
    from platecard.cli import _parser

    names = next(a for a in _parser()._actions if a.dest == "command").choices
    missing = [n for n in names if f"`platecard {n}" not in README]
    assert not missing


GUIDES = (
    "README.md",
    "DEVELOPERS.md",
    "specs/README.md",
    "shared/README.md",
    "platecard/cli/README.md",
    "platecard/data/README.md",
)


def test_the_readme_can_be_read_in_one_sitting():
    assert len(README.splitlines()) <= 150


@pytest.mark.parametrize("guide", GUIDES)
def test_every_link_leads_somewhere(guide):
    text = (ROOT / guide).read_text(encoding="utf-8")
    for target in re.findall(r"\]\(([^)\s]+)\)", text):
        path, _, heading = target.partition("#")
        if "://" in path:
            continue
        file = (ROOT / guide).parent / path if path else ROOT / guide
        assert file.exists(), target
        if heading:
            headings = re.findall(r"^#+ (.*)$", file.read_text(encoding="utf-8"), re.MULTILINE)
            assert heading in {re.sub(r"[^\w -]", "", h.lower()).replace(" ", "-") for h in headings}, target


def keys(schema: object) -> set[str]:
    """Every key that a schema lets a cook write, however deep."""
    if isinstance(schema, list):
        return {k for one in schema for k in keys(one)}
    if not isinstance(schema, dict):
        return set()
    own = set(schema["properties"]) if isinstance(schema.get("properties"), dict) else set()
    return own | {k for value in schema.values() for k in keys(value)}


@pytest.mark.parametrize(
    "kind, guide",
    [("dish", "specs"), ("kitchen", "shared"), ("plates", "shared"), ("pantry", "shared"), ("recipe", "shared")],
)
def test_every_key_of_the_language_is_in_its_guide(kind, guide):
    import json

    told = "".join((ROOT / g).read_text(encoding="utf-8") for g in GUIDES if g.startswith(("specs", "shared")))
    known = keys(json.loads((ROOT / f"platecard/data/schemas/{kind}.json").read_text(encoding="utf-8")))
    assert len(known) > 4 and {k for k in known if not re.search(rf"\b{k}\b", told)} == set(), guide
