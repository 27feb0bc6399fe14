"""The command line that scripts and editors rely on."""

from __future__ import annotations

import json
import re

import pytest

from platecard import __version__, schema
from platecard.files import reading
from platecard.knowledge import laws
from tests.kitchens import BEETROOT, SPEC, kitchen

PROBLEM_KEYS = {"file", "line", "column", "severity", "slug", "message", "hints"}
PRESENCES = {"contains", "may_contain", "not_among_ingredients", "not_established"}
BROKEN = kitchen((SPEC, "plate: wide", "plate: wyde"))


# --------------------------------------------------------------------------- exit codes


@pytest.mark.parametrize(
    "arguments, code",
    [
        (["check"], 0),
        (["check", "specs"], 0),
        (["check", SPEC], 0),
        (["check", "beetroot"], 0),
        (["check", "--format", "json"], 0),
        (["build"], 0),
        (["allergens", "beetroot"], 0),
        (["allergens", SPEC, "--law", "us"], 0),
        (["schema"], 0),
        (["schema", "pantry"], 0),
        (["new", "lamb-pea"], 0),
        (["--help"], 0),
        (["check", "--help"], 0),
        (["allergens", "no-such-dish"], 2),
        (["allergens", "beetroot", "--law", "zz"], 2),
        (["allergens"], 2),
        (["check", "nowhere"], 2),
        (["check", "--kitchen", "nowhere"], 2),
        (["check", "--format", "xml"], 2),
        (["schema", "menu"], 2),
        (["cook"], 2),
        ([], 2),
        (["new"], 2),
        (["new", "Lamb Pea"], 2),
        (["new", "../../etc/lamb"], 2),
        (["new", "beetroot"], 2),
        (["new", "withdrawn"], 2),
    ],
)
def test_exit_codes_of_a_sound_kitchen(galley, arguments, code):
    assert galley.run(*arguments).code == code


@pytest.mark.parametrize(
    "arguments",
    [
        ["check"],
        ["check", "--format", "json"],
        ["build"],
        ["build", "--draft"],
        ["allergens", "beetroot"],
        ["allergens", "beetroot", "--format", "json"],
    ],
)
def test_errors_exit_with_1(room, arguments):
    assert room.write(BROKEN).run(*arguments).code == 1


def test_warnings_and_advice_do_not(room):
    room.write(kitchen((SPEC, "station: larder", "station: garden")))
    assert [(p["slug"], p["severity"]) for p in room.problems() if p["severity"] != "advice"] == [
        ("unknown-station", "warning")
    ]
    assert room.run("check").code == 0 and room.run("build").code == 0


def test_the_installed_command(galley):
    version = galley.command("--version")
    assert (version.code, version.out, version.err) == (0, f"platecard {__version__}\n", "")
    for arguments, code in ((["check"], 0), (["build"], 0), (["check", "nowhere"], 2), (["cook"], 2), ([], 2)):
        assert galley.command(*arguments).code == code
    galley.write(BROKEN)
    assert galley.command("check").code == galley.command("build").code == 1


def test_usage_errors_go_to_stderr_and_facts_to_stdout(galley):
    wrong = galley.run("check", "nowhere", "--format", "json")
    assert wrong.out == "" and wrong.err == "platecard: there is no spec or folder nowhere\n"
    assert galley.run("check", "--format", "json").err == ""


def test_in_a_folder_that_is_no_kitchen_it_says_where_to_go(room):
    for typed in (["check"], ["build"], ["files"], ["guest", "--avoid", "milk"], ["cost", "beetroot"]):
        done = room.run(*typed)
        assert done.code == 2 and done.err.count("\n") == 1, typed
        assert "go to the one that holds specs/ and shared/" in done.err and "platecard new" in done.err, typed


@pytest.mark.parametrize("inside, up", [("specs", ".."), ("shared", ".."), ("shared/recipes", "../..")])
def test_inside_a_kitchen_it_says_where_its_folder_is(galley, monkeypatch, inside, up):
    monkeypatch.chdir(galley.root / inside)
    done = galley.run("check")
    assert done.code == 2 and f"there is no spec or folder specs: go to {up}, the folder that holds" in done.err


def test_a_terminal_without_accents_gets_them_spelt_out(room):
    room.write(kitchen((SPEC, "dish: Smoked", "dish: Purée, smoked"), (SPEC, "plate: wide", "plate: wîde")))
    done = room.command("check", PYTHONIOENCODING="ascii")
    assert done.code == 1 and "w\\xeede" in done.out
    assert room.command("allergens", "beetroot", PYTHONIOENCODING="ascii").code == 1


def test_a_reader_that_leaves_early_is_no_fault(galley):
    import subprocess
    import sys

    for i in range(30):
        galley.write({f"specs/d{i}.yaml": BEETROOT.replace("plate: wide", "plate: wyde")})
    done = subprocess.run(
        f"{sys.executable} -m platecard check | head -1",
        shell=True,
        cwd=galley.root,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert "Traceback" not in done.stderr and "BrokenPipe" not in done.stderr and done.stdout


# --------------------------------------------------------------------------- check


def test_check_as_json_has_these_keys(room):
    found = room.write(BROKEN).run("check", "--format", "json").data
    assert isinstance(found, list) and found
    for problem in found:
        assert set(problem) == PROBLEM_KEYS
        assert problem["severity"] in ("error", "warning", "advice") and isinstance(problem["hints"], list)
        assert isinstance(problem["line"], int) and isinstance(problem["column"], int)
    (wrong,) = [p for p in found if p["severity"] == "error"]
    assert wrong == {
        "file": SPEC,
        "line": 3,
        "column": 8,
        "severity": "error",
        "slug": "unknown-plate",
        "message": "there is no plate 'wyde' in shared/plates.yaml",
        "hints": ["did you mean 'wide'?"],
    }


def test_a_sound_kitchen_is_an_empty_list_of_errors(galley):
    assert [p for p in galley.problems() if p["severity"] != "advice"] == []


def test_all_problems_of_a_run_are_shown_in_the_order_of_their_places(room):
    spoilt = (
        BEETROOT.replace("plate: wide", "plate: wyde")
        .replace("count: 3, piece: {shape: disc", "count: -3, piece: {shape: disc")
        .replace("{ingredient: dill}", "{ingredient: dyll}")
        .replace("across: 50 mm", "across: 50")
        .replace("expo_checks", "expo_cheks")
    )
    room.write(
        {
            **kitchen(
                ("shared/recipes/dill-oil.yaml", "sunflower oil", "sunflowr oil"),
                ("shared/pantry.yaml", "[milk]", "[milkk]"),
            ),
            SPEC: spoilt,
            "specs/another.yaml": spoilt,
        }
    )
    found = room.problems()
    places = [(p["file"], p["line"], p["column"]) for p in found]
    assert places == sorted(places)
    slugs = [p["slug"] for p in found if p["severity"] == "error" and p["file"] == SPEC]
    assert slugs == ["unknown-plate", "unknown-ingredient", "out-of-range", "amount", "unknown-key"]
    assert slugs == [p["slug"] for p in found if p["severity"] == "error" and p["file"] == "specs/another.yaml"]
    assert {p["slug"] for p in found if p["file"].startswith("shared/")} == {
        "unknown-ingredient",
        "unknown-allergen-word",
    }
    assert len({json.dumps(p) for p in found}) == len(found), "each is told once"
    text = room.run("check").out
    assert all(f"{p['file']}:{p['line']}:{p['column']}: {p['severity']}: " in text for p in found)
    assert room.problems() == found, "the same run, the same order"


def test_places_can_be_opened_from_where_the_command_was_given(room, monkeypatch):
    room.write(BROKEN)
    (room.root / "specs" / "deep").mkdir()
    monkeypatch.chdir(room.root / "specs" / "deep")
    assert ("unknown-plate", "../beetroot.yaml:3:8") in room.errors("..")


def test_text_shows_what_was_written_and_the_way_out(room):
    out = room.write(BROKEN).run("check").out
    assert (
        "specs/beetroot.yaml:3:8: error: there is no plate 'wyde' in shared/plates.yaml\n"
        "    you wrote: plate: wyde\n    did you mean 'wide'?\n" in out
    )
    assert "1 dish checked: 1 error" in out


def test_a_kitchen_elsewhere_can_be_named(room, tmp_path):
    sound = kitchen()
    room.write({name.replace("shared/", "library/"): text for name, text in sound.items()})
    assert room.run("check").code == 2
    assert room.run("check", "--kitchen", "library").code == 0


def test_the_nearest_library_above_is_taken(room):
    room.write({**kitchen(), "specs/winter/turnip.yaml": BEETROOT})
    assert room.run("check", "specs/winter").code == 0 and room.run("check", "specs/winter/turnip.yaml").code == 0


def test_asked_for_one_dish_its_problems_are_told_and_what_a_broken_neighbour_hides(room):
    """The neighbour may have sent anything through equipment that this dish uses too."""
    room.write({**kitchen(), "specs/other.yaml": "- a list\n"})
    done = room.run("check", SPEC, "--format", "json")
    told = {(p["slug"], p["file"]) for p in done.data if p["severity"] == "warning"}
    assert done.code == 0 and told == {("open-over-equipment", SPEC)}
    assert any("specs/other.yaml (could not be read)" in h for p in done.data for h in p["hints"])
    alone = {
        k: v.replace("equipment: smoker\n", "") if k.startswith(("specs", "shared/recipes")) else v
        for k, v in kitchen().items()
    }
    room.write({**alone, "specs/other.yaml": "- a list\n"})
    assert room.run("check", SPEC).code == 0 and room.run("check").code == 1


# --------------------------------------------------------------------------- build


def test_build_as_json_has_these_keys(galley):
    done = galley.run("build", "--format", "json")
    assert set(done.data) == {"dishes", "menu", "problems"} and done.data["menu"]["state"] == "written"
    assert all(set(d) == {"dish", "state", "files"} for d in done.data["dishes"])
    (dish,) = [d for d in done.data["dishes"] if d["dish"] == "beetroot"]
    assert dish["state"] == "written" and {"output/beetroot/plate.svg", "output/beetroot/pass-card.pdf"} <= set(
        dish["files"]
    )
    assert {d["state"] for d in galley.run("build", "--format", "json").data["dishes"]} == {"unchanged"}
    galley.write(BROKEN)
    broken = galley.run("build", "--format", "json").data
    assert {d["state"] for d in broken["dishes"]} == {"withdrawn"} and {
        p["slug"] for p in broken["problems"] if p["severity"] == "error"
    } == {"unknown-plate"}
    assert all(set(p) == PROBLEM_KEYS for p in broken["problems"])
    assert {d["state"] for d in galley.run("build", "--format", "json").data["dishes"]} == {"withheld"}


# --------------------------------------------------------------------------- allergens


def test_allergens_as_json_has_these_keys(galley):
    data = galley.run("allergens", "beetroot", "--law", "eu", "--format", "json").data
    assert {"dish", "law", "findings"} <= set(data) and (data["dish"], data["law"]) == ("beetroot", "eu")
    for finding in data["findings"]:
        assert {"allergen", "gs1", "declared_as", "presence", "reasons"} <= set(finding)
        assert finding["presence"] in PRESENCES and finding["gs1"] and finding["law"] == "eu"
        for chain in finding["reasons"]:
            assert all({"what", "file", "line"} <= set(step) for step in chain)
            assert chain[0]["what"] == "Smoked beetroot, dill oil, seeded crisp" and chain[0]["file"] == SPEC
            assert all((step["file"] is None) == (step["line"] is None) for step in chain)
    found = {f["allergen"]: f["presence"] for f in data["findings"]}
    assert {k for k, v in found.items() if v == "contains"} == {"wheat", "sesame"} and {
        k for k, v in found.items() if v == "may_contain"
    } == {"milk"}
    assert "not_established" not in found.values()


def test_a_reason_leads_from_the_dish_to_the_label(galley):
    data = galley.run("allergens", "beetroot", "--law", "eu", "--format", "json").data
    (wheat,) = [f for f in data["findings"] if f["allergen"] == "wheat"]
    (chain,) = wheat["reasons"]
    assert [(step["file"], step["line"]) for step in chain] == [
        (SPEC, 1),
        (SPEC, 6),
        ("shared/pantry.yaml", 2),
        ("shared/pantry.yaml", 2),
    ]
    assert "label" in chain[-1]["what"] and "wheat" in chain[-1]["what"]


def test_a_reason_leads_to_the_catalogue_entry_with_its_source(room):
    room.write(kitchen((SPEC, "{ingredient: dill}", "{ingredient: butter}")))
    data = room.run("allergens", "beetroot", "--law", "eu", "--format", "json").data
    (milk,) = [f for f in data["findings"] if f["allergen"] == "milk"]
    assert milk["presence"] == "contains"
    assert any(
        chain[-1]["file"].startswith("platecard/data/catalogue/") and "source" in chain[-1]["what"]
        for chain in milk["reasons"]
    )


def test_every_law_on_file_can_be_asked_for(galley):
    for name in laws.names():
        done = galley.run("allergens", "beetroot", "--law", name, "--format", "json")
        assert done.data["law"] == name and done.data["findings"], name
        # A label was read for the laws in force; what only another law requires stays open, and that is no success.
        still_open = [f for f in done.data["findings"] if f["presence"] == "not_established"]
        assert done.code == any(f["level"] == "mandatory" for f in still_open), name


def test_what_is_unknown_is_not_established_and_never_absent(room):
    room.write(kitchen((SPEC, "{ingredient: dill}", "{ingredient: wumpus root}")))
    done = room.run("allergens", "beetroot", "--format", "json")
    assert done.code == 1 and "unknown ingredient" in done.err
    assert {f["presence"] for f in done.data["findings"]} == {"contains", "not_established"}


@pytest.mark.parametrize("content", ["", "- a list\n", b"\xff"])
def test_a_spec_nobody_can_read_establishes_nothing(room, content):
    room.write({**kitchen(), SPEC: content})
    done = room.run("allergens", "beetroot", "--format", "json")
    assert done.code == 1 and done.data["findings"] == [] and "error" in done.err
    said = room.run("allergens", "beetroot")
    assert said.code == 1 and "nothing is established" in said.out


def test_a_dish_that_cannot_be_named_so_is_told_and_not_thrown(room):
    room.write({**kitchen(), "specs/Bad Name.yaml": BEETROOT})
    for more in ([], ["--format", "json"], ["--why", "egg"]):
        done = room.run("allergens", "specs/Bad Name.yaml", *more)
        assert done.code == 1 and "and this one cannot" in done.err


def test_nothing_said_anywhere_is_a_promise(galley):
    for arguments in (
        ["allergens", "beetroot"],
        ["allergens", "beetroot", "--format", "json"],
        ["check"],
        ["build"],
        ["guest", "beetroot", "--avoid", "egg"],
    ):
        out = galley.run(*arguments).out.lower()
        assert (
            "free from" not in out
            and "-free" not in out
            and "allergen free" not in out
            and not re.search(r"\bsafe\b", out)
        )


# --------------------------------------------------------------------------- guest, as far as it is a contract


@pytest.mark.parametrize(
    "avoid, answer, code", [("egg", "as_is", 0), ("sesame", "cannot", 0), ("egg,wheat", "cannot", 0)]
)
def test_guest_answers_in_four_words(galley, avoid, answer, code):
    done = galley.run("guest", "beetroot", "--avoid", avoid, "--format", "json")
    assert {"answer", "changes", "remaining", "reasons"} <= set(done.data) and (done.data["answer"], done.code) == (
        answer,
        code,
    )


def test_guest_answers_nothing_while_there_are_errors(room):
    done = room.write(BROKEN).run("guest", "beetroot", "--avoid", "egg", "--format", "json")
    assert done.code == 1 and done.data["answer"] == "not_established"


# --------------------------------------------------------------------------- schema, new


@pytest.mark.parametrize("kind", schema.KINDS)
def test_schema_prints_the_schema(galley, kind):
    done = galley.run("schema", kind)
    assert done.code == 0 and json.loads(done.out) == json.loads(schema.text(kind))


def test_schema_is_the_dishes_unless_said(galley):
    assert galley.run("schema").out == galley.run("schema", "dish").out


def test_new_writes_a_starter_that_reads_and_never_overwrites(galley):
    done = galley.run("new", "lamb-pea")
    assert done.code == 0 and "specs/lamb-pea.yaml written" in done.out
    text = (galley.root / "specs/lamb-pea.yaml").read_text()
    assert "dish: Lamb pea" in text and text.count("#") > 5
    assert {p["slug"] for p in galley.problems("lamb-pea") if p["severity"] == "error"} == set()
    again = galley.run("new", "lamb-pea")
    assert (
        again.code == 2 and "already exists" in again.err and (galley.root / "specs/lamb-pea.yaml").read_text() == text
    )


def test_new_takes_a_path(galley):
    assert galley.run("new", "specs/winter/goose.yaml").code == 0 and (galley.root / "specs/winter/goose.yaml").exists()
    assert galley.run("new", "specs/beetroot.yaml/x.yaml").code == 2


@pytest.mark.parametrize(
    "name, fits",
    [
        ("lamb-pea", True),
        ("2-eggs", True),
        ("a" * 61, True),
        ("a" * 62, False),
        ("Lamb", False),
        ("lamb_pea", False),
        ("-lamb", False),
        ("", False),
        ("..", False),
        ("lamb/pea", False),
        ("lamb\n", False),
        ("withdrawn", False),
        ("withdrawn-lamb", True),
        ("lämb", False),
    ],
)
def test_names_of_dishes(name, fits):
    assert reading.is_key(name) is fits
