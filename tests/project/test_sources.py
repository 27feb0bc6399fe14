"""What is not ours is named, used under its terms, and printed nowhere as if it were."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest
import yaml

from platecard.knowledge import catalogue
from tests.kitchens import LOADER

ROOT = Path(__file__).parents[2]
NAMES = [
    line
    for line in (ROOT / "tests/project/trade_names.txt").read_text(encoding="utf-8").splitlines()
    if line and not line.startswith("#")
]
ANY_NAME = re.compile(
    rf"(?<!\w)(?:{'|'.join(re.escape(n) for n in sorted(NAMES, key=len, reverse=True))})(?!\w)", re.IGNORECASE
)
SOURCES = yaml.load((ROOT / "platecard/data/sources.yaml").read_text(encoding="utf-8"), Loader=LOADER)["sources"]
PYPROJECT = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))


def trade_names(text: str) -> list[str]:
    return ANY_NAME.findall(text)


def test_the_list_finds_what_it_is_for():
    assert len(NAMES) > 200 and len(set(map(str.lower, NAMES))) == len(NAMES)
    assert trade_names("a spoon of nutella, some Coca-Cola") == ["nutella", "Coca-Cola"]
    assert trade_names("Worcestershire sauce, colas, malibus, a digestive biscuit") == []


def test_the_catalogue_prints_no_trade_name():
    """A look-up word may be one; what is shown of an entry may not."""
    entries = list(catalogue.load()[0])
    assert len(entries) > 2000
    shown = {e.name: " / ".join((e.name, e.note, e.ask, *e.of, *e.look_for)) for e in entries}
    assert {name: found for name, text in shown.items() if (found := trade_names(text))} == {}


@pytest.mark.parametrize(
    "places",
    [
        "specs/*.yaml",
        "shared/**/*.yaml",
        "README.md",
        "DEVELOPERS.md",
        "platecard/data/*.yaml",
        "platecard/data/*.html",
        "platecard/data/laws/*.yaml",
        "tests/**/*.yaml",
        "tests/kitchens.py",
    ],
)
def test_nothing_else_of_ours_prints_one(places):
    files = sorted(ROOT.glob(places))
    assert files
    assert {
        str(f.relative_to(ROOT)): found for f in files if (found := trade_names(f.read_text(encoding="utf-8")))
    } == {}


@pytest.mark.parametrize("key", SOURCES)
def test_every_source_has_its_terms_of_use(key):
    source = SOURCES[key]
    assert source["read"] in ("seen", "seen-2nd", "memory", "practice")
    assert len(source["terms"]) > 10 and source["terms_read"] in ("seen", "memory", "not-read", "practice")
    # Terms that nobody has read are said to be so, and only what needs no permission is taken.
    assert ("not read" in source["terms"]) == (source["terms_read"] == "not-read")
    if source["terms_read"] == "not-read":
        assert re.search(r"\bsingle (figure|factor|fact)s? taken over\b", source["terms"])


def test_the_package_names_both_licences_and_ships_their_texts():
    project = PYPROJECT["project"]
    assert project["license"] == "MIT AND OFL-1.1"
    assert project["license-files"] == ["LICENSE", "platecard/data/fonts/OFL.txt"]
    mit, ofl = ((ROOT / name).read_text(encoding="utf-8") for name in project["license-files"])
    assert "Permission is hereby granted, free of charge" in mit and "SIL OPEN FONT LICENSE Version 1.1" in ofl
    # The first version that knows two licences joined by AND.
    (builder,) = PYPROJECT["build-system"]["requires"]
    assert builder == "flit_core >=3.12,<5"


def test_a_wheel_says_so_too(tmp_path, monkeypatch):
    buildapi = pytest.importorskip("flit_core.buildapi", reason="the build backend is not installed beside the tests")
    import zipfile

    monkeypatch.chdir(ROOT)
    with zipfile.ZipFile(tmp_path / buildapi.build_wheel(str(tmp_path))) as wheel:
        (metadata,) = [n for n in wheel.namelist() if n.endswith("METADATA")]
        said = wheel.read(metadata).decode("utf-8").splitlines()
        assert "License-Expression: MIT AND OFL-1.1" in said
        for name in ("LICENSE", "platecard/data/fonts/OFL.txt"):
            assert f"License-File: {name}" in said and any(n.endswith(f"licenses/{name}") for n in wheel.namelist())
