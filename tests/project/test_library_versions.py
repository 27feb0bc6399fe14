"""The versions declared are the versions tried: the lowest and those that were tested together."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parents[2]


def pins(name: str) -> dict[str, str]:
    rows = (ROOT / ".ci" / name).read_text(encoding="utf-8").splitlines()
    return {
        key.lower().replace("_", "-"): version
        for key, version in (row.split("==") for row in rows if "==" in row and not row.startswith("#"))
    }


def declared() -> dict[str, tuple[str, str]]:
    """Each package that is declared, with its lower and its upper bound ("" where there is none)."""
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    found = {}
    extras = (one for extra in project["optional-dependencies"].values() for one in extra)
    for one in [*project["dependencies"], *(one for one in extras if not one.startswith("platecard["))]:
        name, low, _, high = re.fullmatch(r"([\w-]+) *>=([\d.]+)(,<([\d.]+))?", one).groups()
        found[name.lower().replace("_", "-")] = low, high or ""
    return found


def number(version: str) -> tuple[int, ...]:
    return tuple(int(n) for n in (version.split(".") + ["0", "0", "0"])[:4])


def test_every_package_has_a_lower_bound_and_that_version_is_tried():
    lowest = pins("lowest.txt")
    assert len(declared()) >= 18
    assert {
        name: lowest.get(name) for name, (low, _) in declared().items() if number(lowest.get(name, "0")) != number(low)
    } == {}


def test_what_was_tested_together_lies_within_the_bounds():
    together = pins("constraints.txt")
    assert {
        name
        for name, (low, high) in declared().items()
        if not number(low) <= number(together[name]) < number(high or "9999")
    } == set()


def test_both_are_run():
    script = (ROOT / ".ci/run").read_text(encoding="utf-8")
    tried = re.search(r'^touching="([^"]+)"$', script, re.MULTILINE)[1].split()
    assert {
        "reading/bad_input",
        "reading/schemas",
        "drawing/drawing",
        "drawing/fonts",
        "drawing/library_parts",
        "cli/hostile_terminal",
    } <= set(tried)
    assert [name for name in tried if not (ROOT / "tests/{}/test_{}.py".format(*name.split("/"))).is_file()] == []
    assert "-r .ci/lowest.txt -e '.[test]'" in script and script.index(".ci/lowest.txt -e") < script.index("exec bash")
    assert "-c .ci/constraints.txt" in (ROOT / "README.md").read_text(encoding="utf-8")
