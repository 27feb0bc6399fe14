"""The packaged tables as they are started from: the same as the tables, and never believed where they are not."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

import platecard
from platecard import packaged_tables
from platecard.knowledge import catalogue, catalogue_rows, taxonomy

DATA = Path(platecard.__file__).parent / "data"
COMPILED = sorted((DATA / "compiled").glob("*.jsonl"))

# Reads everything from the tables themselves, in a process that finds nothing compiled.
ANEW = """
import json, sys
sys.path.insert(0, sys.argv[1])
from platecard import packaged_tables
packaged = packaged_tables.read_text
def nothing_compiled(*names):
    if names[0] == "compiled":
        raise FileNotFoundError(names)
    return packaged(*names)
packaged_tables.read_text = nothing_compiled
import make_tables
make_tables.load_all()
json.dump(packaged_tables.read_anew, sys.stdout)
"""


@pytest.fixture(scope="module")
def anew() -> dict:
    done = subprocess.run(
        [sys.executable, "-c", ANEW, str(DATA / "compiled")],
        capture_output=True,
        text=True,
        check=True,
        env={**os.environ, "PYTHONPATH": str(DATA.parents[1])},
    )
    return json.loads(done.stdout)


def test_what_lies_compiled_is_what_the_tables_say(anew):
    """Out of date: python platecard/data/compiled/make_tables.py"""
    assert {path.stem for path in COMPILED} == set(anew)
    said = {
        path.stem: packaged_tables.from_text(path.read_text(encoding="utf-8"), anew[path.stem][0]) for path in COMPILED
    }
    assert [label for label, made in said.items() if made != anew[label][1]] == []


CATALOGUE = packaged_tables.texts("catalogue/*", "plain-foods.yaml", "sources.yaml", "taxonomy.yaml", "kinds.yaml")
TRUE = packaged_tables.from_text(
    (DATA / "compiled/catalogue.jsonl").read_text(encoding="utf-8"), packaged_tables.digest(CATALOGUE)
)

# One file of the catalogue, compiled: what counts for nothing there counts for nothing in a table of any size.
EGGS = packaged_tables.texts("catalogue/eggs.yaml")
OF = packaged_tables.digest(EGGS)


def a_line_each(trees) -> tuple[dict, tuple]:
    return {
        "lines": [
            json.dumps(packaged_tables.placed(one)) for tree in trees.values() for one in tree.get("entries").items
        ]
    }, ()


MADE = packaged_tables.read(EGGS, a_line_each)[0]
TEXT = packaged_tables.as_text(OF, MADE)


def forged(of: str | None, made: dict, old: str, new: str) -> str:
    lines = [line.replace(old, new) for line in made["lines"]]
    assert lines != made["lines"]
    return packaged_tables.as_text(of, {**made, "lines": lines})


def no_egg(of: str | None) -> str:
    return forged(of, MADE, '"contains": ["hen_egg"]', '"contains": []')


def as_if_compiled(monkeypatch, text: str) -> None:
    packaged = packaged_tables.read_text
    monkeypatch.setattr(
        packaged_tables, "read_text", lambda *names: text if names[0] == "compiled" else packaged(*names)
    )


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        '{"of": 1}',
        "[" * 100_000,
        json.dumps({"of": OF}) + "\n",
        json.dumps({"of": OF, "rows": []}) + "\n",
        TEXT[:-1],
        TEXT[: TEXT.rindex("\n", 0, -1) + 1],
        TEXT + "{}\n",
        no_egg(of="0" * 64),
        no_egg(of=None),
        "\x00\xff",
    ],
)
def test_what_is_damaged_or_made_of_other_tables_counts_for_nothing(text, monkeypatch):
    as_if_compiled(monkeypatch, text)
    assert packaged_tables.rows(EGGS, a_line_each, "eggs") == (MADE, ())


def test_what_is_whole_and_made_of_the_tables_is_believed(monkeypatch):
    """Or the test above would pass where nothing compiled is ever read."""
    as_if_compiled(monkeypatch, no_egg(of=OF))
    assert packaged_tables.rows(EGGS, a_line_each, "eggs")[0] != MADE


def test_no_milk_in_butter_counts_for_nothing_in_the_whole_catalogue(monkeypatch):
    as_if_compiled(monkeypatch, forged("0" * 64, TRUE, '"contains":["cow_milk"]', '"contains":[]'))
    assert packaged_tables.rows(CATALOGUE, catalogue_rows.collect, "catalogue") == (TRUE, ())


def test_one_changed_letter_of_a_table_is_noticed():
    tables = {path: text.replace("name: butter,", "name: buttre,") for path, text in CATALOGUE.items()}
    made, _ = packaged_tables.rows(tables, catalogue_rows.collect, "catalogue")
    assert "buttre" in made["names"] and "buttre" not in TRUE["names"]


def test_nothing_is_kept_while_the_program_runs(tmp_path):
    """Every file that a check opens for writing, or makes, would be a place to forge something in."""
    spy = (
        "import sys\ndef told(event, arguments):\n    if event == 'open' and isinstance(arguments[1], str) and"
        " set(arguments[1]) & set('wax+') or event in ('os.mkdir', 'os.rename', 'os.link', 'os.symlink'):\n       "
        " print('WROTE', event, arguments[0], file=sys.stderr)\nsys.addaudithook(told)\nfrom platecard.__main__ import"
        " main\nsys.exit(main())\n"
    )
    root = DATA.parents[1]
    done = subprocess.run(
        [sys.executable, "-B", "-c", spy, "check", str(root / "specs")],
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(root), "HOME": str(tmp_path), "XDG_CACHE_HOME": str(tmp_path / "cache")},
    )
    assert done.returncode == 0 and "12 dishes checked" in done.stdout and "WROTE" not in done.stderr, done.stderr
    assert list(tmp_path.iterdir()) == []


def test_butter_is_milk():
    assert "milk" in {
        n for node in catalogue.load()[0].find("butter").entry.contains for n in taxonomy.load()[0].lineage(node)
    }
