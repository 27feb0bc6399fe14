"""The data that commands print with --format json, against the schemas that the package carries."""

from __future__ import annotations

import json
import os
import shutil
from functools import cache
from pathlib import Path

import pytest
from jsonschema import Draft202012Validator

from platecard import schema
from platecard.allergens.guests import answers
from platecard.allergens.labels import matching, parts
from platecard.allergens.traces import Presence
from platecard.diagnostics import Severity
from platecard.diff import change
from platecard.model import SourceKind
from platecard.package_data import names_in
from platecard.service import caution_rules, scaling
from tests.conftest import Room
from tests.kitchens import LIBRARY, PANTRY, SPEC, Run, kitchen

ROOT = Path(__file__).parents[2]


@cache
def validator(command: str) -> Draft202012Validator:
    return Draft202012Validator(json.loads(schema.text_of_answer(command)))


def held(room: Room, *arguments: str, code: int | None = None):
    """The data of a command, which its schema describes."""
    done = room.run(*arguments, "--format", "json")
    assert described(arguments[0], done), arguments
    assert code is None or done.code == code, (done.code, done.err)
    return done.data


def described(command: str, done: Run) -> bool:
    """Whether the schema of the command describes what it answered; else the test fails and says where not."""
    assert done.data is not None, done.err
    wrong = [f"{'/'.join(map(str, e.absolute_path))}: {e.message[:300]}" for e in _deepest(command, done.data)]
    assert wrong == []
    return True


def _deepest(command: str, data):
    for error in validator(command).iter_errors(data):
        yield max(error.context or [error], key=lambda e: len(e.absolute_path))


@pytest.fixture
def demo(room) -> Room:
    for folder in ("specs", "shared"):
        shutil.copytree(ROOT / folder, room.root / folder)
    return room


# Nothing of it can be read but the library, and that not in full.
BROKEN = {
    **LIBRARY,
    PANTRY: "products:\n  seeded-crisp: {called: Seeded crisp}\n"
    "  bar: {called: A bar, label: {read: 2026-01-02, text: 'MILK, sugar, frumious bits (oats, whatsit), spices'}}\n",
    SPEC: "dish: [",
    "specs/half.yaml": kitchen()[SPEC]
    .replace("plate: wide", "plate: wyde")
    .replace("{recipe: dill-oil}", "{recipe: dyl}"),
    "specs/open.yaml": kitchen()[SPEC].replace("{ingredient: dill}", "{ingredient: curry powder}"),
    "specs/idea.yaml": "draft: true\n" + kitchen()[SPEC],
    "specs/left over.txt": "?",
    "shared/recipes/bare.yaml": "recipe: Bare\nmakes: 1 kg\ningredients:\n  - {ingredient: salt}\n"
    "  - {ingredient: flour, amount: 1 kg}\n",
}


@pytest.fixture
def broken(room) -> Room:
    return room.write(BROKEN)


# --------------------------------------------------------------------------- the schemas


def objects(part):
    if isinstance(part, dict):
        if "properties" in part:
            yield part
        for value in part.values():
            yield from objects(value)
    elif isinstance(part, list):
        for value in part:
            yield from objects(value)


@pytest.mark.parametrize("command", schema.COMMANDS)
def test_each_schema_is_whole(command):
    said = json.loads(schema.text_of_answer(command))
    Draft202012Validator.check_schema(said)
    assert said["$schema"] == "https://json-schema.org/draft/2020-12/schema" and said["description"].endswith(".")
    for one in objects(said):
        assert one.get("additionalProperties") is not None, "nothing that is not described"
        for key, value in one["properties"].items():
            words = value["description"]
            assert words.endswith(".") and words[0].isupper() and len(words) > 8, (key, words)
            assert {"type", "enum", "$ref", "anyOf"} & set(value), key
    for name in said.get("$defs", ()):
        assert f'"#/$defs/{name}"' in schema.text_of_answer(command), f"{name} is used nowhere"


def test_every_command_with_data_has_one():
    assert {n.removesuffix(".json") for n in names_in(os.path.join("schemas", "output"), ".json")} == set(
        schema.COMMANDS
    )
    from platecard.cli import _parser

    commands = next(a for a in _parser()._actions if a.dest == "command").choices
    with_data = {n for n, c in commands.items() if any("json" in (a.choices or ()) for a in c._actions)}
    assert with_data == set(schema.COMMANDS)


@pytest.mark.parametrize("command", schema.COMMANDS)
def test_schema_prints_it(room, command):
    done = room.run("schema", command)
    assert done.code == 0 and done.out == schema.text_of_answer(command)


def test_schema_lists_what_it_knows(room):
    every = (*schema.KINDS, *schema.COMMANDS)
    for done, code in ((room.run("schema", "--help"), 0), (room.run("schema", "menu"), 2)):
        assert done.code == code and all(word in done.out + done.err for word in every)


def enumeration(command: str, key: str) -> set:
    said = json.loads(schema.text_of_answer(command))
    found = [set(o["properties"][key]["enum"]) for o in objects(said) if "enum" in o["properties"].get(key, ())]
    return set().union(*found)


def test_the_fixed_words_are_those_of_the_program():
    assert enumeration("check", "severity") == set(Severity)
    assert enumeration("allergens", "presence") == set(Presence)
    assert enumeration("guest", "answer") == {answers.AS_IS, answers.CHANGED, answers.CANNOT, answers.OPEN}
    assert enumeration("compare", "kind") == set(change.KINDS)
    assert enumeration("compare", "severity") == {change.ALARM, change.WORSE, change.CHANGED, change.BETTER}
    assert enumeration("scale", "kind") == set(SourceKind)
    assert enumeration("prep", "kind") == set(scaling.KINDS) | set(SourceKind)
    assert enumeration("cautions", "mark") == set(caution_rules.MARKS)
    assert enumeration("label", "read_as") == {
        *(matching.CATALOGUE, matching.WORD, matching.PLAIN, matching.NOT),
        *(parts.INSIDE, parts.SAID, parts.CLAIM),
    }


# --------------------------------------------------------------------------- the demo kitchen


def test_the_demo_kitchen(demo):
    keys = sorted(p.stem for p in (demo.root / "specs").glob("*.yaml"))
    held(demo, "check", code=0)
    held(demo, "files", code=0)
    one = keys[0]
    built = held(demo, "build", code=0)
    assert {d["state"] for d in built["dishes"]} == {"written"} and built["menu"]["state"] == "written"
    assert held(demo, "build", one, code=0)["dishes"][0]["state"] == "unchanged"
    held(demo, "prep", "--covers", *(f"{key}=23" for key in keys), code=0)
    held(demo, "prep", "--covers", f"{one}=0", "--date", "2026-11-28", code=0)
    held(demo, "fire", "roe-deer=2", "short-rib", "--at", "20:15")
    held(demo, "guest", "--avoid", "milk,egg,vegan")
    held(demo, "guest", "--avoid", "pregnant,halal")
    for key in keys[::2]:
        assert held(demo, "allergens", key, code=0)["findings"]
        held(demo, "cost", key, code=0)
        held(demo, "cautions", key, code=0)
        held(demo, "acknowledge", key, code=0)
        held(demo, "fire", key)
    held(demo, "allergens", one, "--law", "jp")
    held(demo, "allergens", one, "--why", "milk", code=0)
    held(demo, "mat", one, code=0)
    held(demo, "steps", one, code=0)
    held(demo, "guest", "char-cucumber", "--avoid", "wheat", "--out", "changed")


def test_every_recipe_and_product_of_the_demo_kitchen(demo):
    scaled = 0
    for path in sorted((demo.root / "shared/recipes").glob("*.yaml"))[::4]:
        done = demo.run("scale", path.stem, "--to", "2.4 kg", "--format", "json")
        if done.code == 0:
            assert described("scale", done) and done.data["ingredients"]
            scaled += 1
    assert scaled > 5
    for key in ("day-bread", "pearl-barley", "malt-extract", "baking-powder"):
        held(demo, "label", key)
        assert held(demo, "uses", key)["is"]
    assert held(demo, "rename", "recipe", "dill-oil", "green-oil")["moved"]
    assert held(demo, "rename", "station", "sauce", "saucier")["moved"] is None
    assert held(demo, "uses", "fryer")["uses"] and held(demo, "uses", "deep-bowl")["uses"]


def test_compare(demo):
    spec = demo.root / "specs/char-cucumber.yaml"
    said = spec.read_text(encoding="utf-8")
    changed = said.replace("count: 7", "count: 5").replace("{ingredient: dill,", "{ingredient: celery leaf,")
    changed = changed.replace("price: {net: 17 EUR}", "price: {net: 19 EUR}").replace(
        "plate: shallow-bowl", "plate: coupe"
    )
    (demo.root / "later.yaml").write_text(changed, encoding="utf-8")
    data = held(demo, "compare", "char-cucumber", "later.yaml")
    assert {c["kind"] for c in data["changes"]} >= {"count", "plate", "cost"}
    held(demo, "compare", "char-cucumber", "pork-cider")
    (demo.root / "later.yaml").write_text("dish: [", encoding="utf-8")
    assert held(demo, "compare", "char-cucumber", "later.yaml", code=1)["changes"]


# --------------------------------------------------------------------------- what is broken, and what is not known


def test_a_broken_kitchen(broken):
    assert held(broken, "check", code=1) and held(broken, "files", code=1)
    assert {d["state"] for d in held(broken, "build", code=1)["dishes"]} == {"withheld", "draft"}
    held(broken, "build", "--draft", code=1)
    for key in ("beetroot", "half", "open", "idea"):
        held(broken, "allergens", key)
        held(broken, "guest", key, "--avoid", "milk", code=1)
        held(broken, "mat", key, code=1)
        held(broken, "steps", key, code=1)
        held(broken, "cost", key, code=1)
        held(broken, "fire", key, code=1)
        if broken.run("cautions", key, "--format", "json").data is not None:
            held(broken, "cautions", key, code=1)
    held(broken, "guest", "--avoid", "nuts", code=1)
    held(broken, "guest", "--avoid", "wibble", code=1)
    held(broken, "prep", "--covers", "beetroot=3", "half=4", "open=5", code=1)
    held(broken, "label", "seeded-crisp", code=1)
    assert held(broken, "label", "bar", code=1)["unread"]
    held(broken, "scale", "bare", "--to", "2 kg")
    held(broken, "compare", "beetroot", "half")
    assert held(broken, "uses", "milk", code=1)["not_known"]


def test_without_laws_and_prices_and_times(room):
    """Every null that a small kitchen brings about."""
    room.write(kitchen())
    assert held(room, "acknowledge", "beetroot", code=0)["revision"] is None
    assert held(room, "cost", "beetroot")["cost"] is None
    assert held(room, "fire", "beetroot", code=1)["lead_s"] is None
    assert held(room, "build", "beetroot")["menu"] is None
    assert held(room, "check")
    room.write({"shared/kitchen.yaml": "kitchen: x\n"})
    held(room, "allergens", "beetroot")
    held(room, "check", code=1)
    held(room, "prep", "--covers", "beetroot=3")


def test_a_new_revision(galley):
    galley.write({SPEC: kitchen()[SPEC] + "acknowledged: {revision: 1, eu: [fish], us: [wheat]}\n"})
    assert held(galley, "acknowledge", "beetroot", "--date", "2026-02-01", code=1)["revision"]["number"] == 2


def test_a_library_alone(room):
    room.write(LIBRARY)
    assert held(room, "check", code=0)[0]["slug"] == "no-dish-yet"


def test_what_is_withdrawn(galley):
    galley.run("build")
    galley.write({SPEC: kitchen()[SPEC].replace("plate: wide", "plate: wyde")})
    assert held(galley, "build", code=1)["dishes"][0]["state"] == "withdrawn"


def test_the_last_spec_is_gone(galley):
    galley.run("build")
    (galley.root / SPEC).unlink()
    assert {d["state"] for d in held(galley, "build", code=1)["dishes"]} == {"withdrawn"}
