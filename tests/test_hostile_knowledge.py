"""What is known about an allergen comes from the packaged tables, in every run, and from nowhere else."""

from __future__ import annotations

import hashlib
import json
import marshal
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
import reportlab
import svgwrite
from hypothesis import given
from hypothesis import strategies as st
from kitchens import LIBRARY, poured

import platecard
from platecard import libraries
from platecard.knowledge import catalogue, store
from platecard.knowledge.words import fold, fold_all

PACKAGE = Path(platecard.__file__).parent
BUTTER = poured({"a": "{ingredient: butter}"})

# Says which files a run opens, before they are opened.
SPY = """
import os, sys
def spy(event, given):
    if event in ("open", "os.listdir", "os.scandir", "os.mkdir", "os.rename") and given and isinstance(given[0], (str, bytes)):
        os.write(2, b"opened " + os.path.abspath(os.fsencode(given[0])) + b"\\n")
sys.addaudithook(spy)
from platecard.__main__ import main
sys.exit(main())
"""


def forgeries(folder: Path, made: dict) -> int:
    """A well-formed table of rows in every form and under every name that a cache of it may have; how many."""
    folder.mkdir(parents=True, exist_ok=True)
    as_json, as_objects = json.dumps(made).encode(), marshal.dumps(made)
    written = 0
    for label in ("catalogue", "taxonomy", "labels", "law-eu", "law-us"):
        key = hashlib.sha256("".join(store.texts("catalogue/*").values()).encode()).hexdigest()[:20]
        for name, data in ((f"{label}.json", as_json), (f"{label}-{key}.json", as_json), (f"{label}-{key}.rows", hashlib.sha256(as_objects).digest() + as_objects)):
            (folder / name).write_bytes(data)
            written += 1
    return written


def run(room, home: Path, *arguments: str, spy: bool = False) -> subprocess.CompletedProcess:
    env = {**os.environ, "HOME": str(home), "XDG_CACHE_HOME": str(home / ".cache"), "PYTHONPATH": str(PACKAGE.parent), "PYTHONDONTWRITEBYTECODE": "1"}
    how = ["-c", SPY] if spy else ["-m", "platecard"]
    return subprocess.run([sys.executable, *how, *arguments], cwd=room.root, env=env, capture_output=True, text=True, timeout=120)


def test_a_forged_cache_does_not_take_milk_out_of_butter(room, tmp_path_factory):
    home = tmp_path_factory.mktemp("home")
    room.write({**LIBRARY, "specs/butter.yaml": BUTTER})
    entry = catalogue.load()[0].find("butter").entry
    row = {"id": entry.id, "name": entry.name, "@": [entry.span.file, entry.span.line, 5], "source": entry.source}
    made = {"names": {"butter": 0}, "rows": json.dumps(row)}
    written = sum(forgeries(home / folder, made) for folder in (".cache/platecard", ".cache", "Library/Caches/platecard"))
    assert written == 45
    before = sorted(p for p in home.rglob("*"))
    done = run(room, home, "allergens", "butter", "--law", "eu", "--format", "json", spy=True)
    data = json.loads(done.stdout)
    assert {f["allergen"]: f["presence"] for f in data["findings"]}["milk"] == "contains", done.stderr
    opened = {line.split(" ", 1)[1] for line in done.stderr.splitlines() if line.startswith("opened ")}
    assert any(p.endswith("data/catalogue/dairy.yaml") for p in opened), "the control: what is opened is seen"
    assert [p for p in opened if p.startswith(str(home))] == []
    assert sorted(p for p in home.rglob("*")) == before


def test_a_run_leaves_nothing_behind_but_its_documents(room, tmp_path_factory):
    """Whatever Python or version runs next finds nothing of this one, so none can be put out by another."""
    home = tmp_path_factory.mktemp("home")
    room.write({**LIBRARY, "specs/butter.yaml": BUTTER})
    state = {p: p.stat().st_mtime_ns for p in PACKAGE.rglob("*") if p.suffix != ".pyc" and p.name != "__pycache__"}
    assert run(room, home, "build").returncode == 0
    assert {p: p.stat().st_mtime_ns for p in PACKAGE.rglob("*") if p.suffix != ".pyc" and p.name != "__pycache__"} == state
    assert list(home.iterdir()) == []
    assert {p.name for p in room.root.iterdir()} == {"specs", "shared", "output"}


# --------------------------------------------------------------------------- the catalogue, by the form of its lines


def test_entries_read_one_by_one_are_those_of_the_tables_read_as_a_whole():
    quick, (slow, problems) = catalogue.load()[0], catalogue.whole()
    assert problems == () and len(quick) == len(slow) > 3000 and quick.name_count == slow.name_count
    assert [a == b for a, b in zip(quick, slow)].count(False) == 0
    assert quick._names == slow._names


def tables(monkeypatch, change) -> catalogue.Catalogue:
    """The catalogue with the dairy table changed."""
    found = store.texts

    def changed(*names: str) -> dict[str, str]:
        return {path: change(text) if path.endswith("/dairy.yaml") else text for path, text in found(*names).items()}

    monkeypatch.setattr(store, "texts", changed)
    return catalogue.load.__wrapped__()



@pytest.mark.parametrize("damage", [
    lambda t: t.replace("  - {name: butter,", "  - {name: butter, containz: [cow_milk],", 1),
    lambda t: re.sub(r"(  - \{name: butter,[^}]*?)cow_milk", r"\1cow_mlik", t, count=1),
    lambda t: t.replace("  - {name: butter,", "  - {name: butter, note: [,", 1),
    lambda t: t.replace("  - {name: butter,", "  - {name: butter, so2: much, so2_source: practice,", 1),
])
def test_a_faulty_entry_may_hold_anything(monkeypatch, damage):
    found, problems = tables(monkeypatch, damage)
    entry = found.find("butter").entry
    # No entry by that name is an unknown, too.
    assert problems == () and (entry is None or entry.depends_on_everything)


@pytest.mark.parametrize("damage", [
    lambda t: t.replace("entries:\n", "entries:\n  - name: moon butter\n    contains: [cow_milk]\n    source: practice\n", 1),
    lambda t: t.replace("entries:\n", "entries:\n  - {contains: [cow_milk], name: moon butter, source: practice}\n", 1),
    lambda t: t.replace("entries:\n", 'entries:\n  - {name: "moon \\x62utter", contains: [cow_milk], source: practice}\n', 1),
    lambda t: t.replace("entries:\n", "entries:\n  - {name: moonish, note: none, also: [moon butter], contains: [cow_milk], source: practice}\n", 1),
    lambda t: t.replace("entries:\n", "entries:\n  - {name: moonish, also: ['moon butter', b], contains: [cow_milk], source: practice}\n", 1),
    lambda t: t.replace("entries:\n", "entries:\n  - {name: moonish, also: [moon\n     butter], contains: [cow_milk], source: practice}\n", 1),
], ids=["block style", "another order", "an escape", "other names later", "single quotes", "over two lines"])
def test_an_entry_of_another_form_is_found_all_the_same(monkeypatch, damage):
    found, _ = tables(monkeypatch, damage)
    entry = found.find("moon butter").entry
    assert entry is not None and entry.contains == ("cow_milk",) and found.find("butter").entry.contains == ("cow_milk",)


@given(st.lists(st.text(st.characters(exclude_characters="\n", exclude_categories=("Cs",)), max_size=20), min_size=1, max_size=8))
def test_many_names_fold_as_one_does(names):
    assert fold_all(names) == [fold(n) for n in names]


# --------------------------------------------------------------------------- the versions of libraries


def test_what_draws_anew_is_a_library_and_not_python():
    said = libraries.versions().split()
    assert set(said[::2]) >= {"reportlab", "svgwrite", "pyyaml", "jsonschema"} and set(said[::2]) <= set(libraries.USED)
    assert said[said.index("svgwrite") + 1] == svgwrite.__version__ and said[said.index("reportlab") + 1] == reportlab.Version


@pytest.mark.parametrize("record", ["reportlab-99.1.dist-info", "svgwrite-99.1.dist-info", "PyYAML-99.1-py3.11.egg-info"])
def test_another_version_of_a_library_draws_anew(room, tmp_path, tmp_path_factory, record):
    room.write({**LIBRARY, "specs/butter.yaml": BUTTER})
    other = tmp_path_factory.mktemp("site")
    (other / record).mkdir()

    def states(*path: Path) -> set[str]:
        env = {**os.environ, "PYTHONPATH": os.pathsep.join([*map(str, path), str(PACKAGE.parent)])}
        done = subprocess.run([sys.executable, "-m", "platecard", "build", "--format", "json"], cwd=room.root, env=env, capture_output=True, text=True, timeout=120)
        return {one["state"] for one in json.loads(done.stdout)["dishes"]}

    assert states() == {"written"} and states() == {"unchanged"}
    assert states(other) == {"written"} and states(other) == {"unchanged"}
