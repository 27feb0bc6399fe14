"""Every entry of a kitchen's folders is accounted for, and damage to one never makes a statement weaker."""

from __future__ import annotations

import os
import re
import shutil
import socket
from collections.abc import Callable
from pathlib import Path

import pytest

from platecard import pipeline
from platecard.cli import shared as edge
from platecard.files import entries, folders, reading
from tests.kitchens import BEETROOT, KITCHEN, LIBRARY, OIL, PANTRY, SMOKED, SPEC, kitchen, poured

ROOT = Path(__file__).parents[2]
STRENGTH = {"not_among_ingredients": 0, "may_contain": 1, "not_established": 2, "contains": 3}

# A cod goes through the fryer that a plain dish uses as well: lose its file, and the plain dish looks clean.
COD = poured({"cod": "{ingredient: cod, equipment: fryer}"}, title="Fried cod")
PLAIN = poured({"chips": "{recipe: chips}"}, title="Chips, salt")
CHIPS = (
    "recipe: Chips\nmakes: 100 g\nequipment: fryer\ningredients:\n  - {ingredient: potato, amount: 120 g}\n  -"
    " {ingredient: salt, amount: 1 g}\n"
)
# The label of a second pantry file, under a name that the catalogue knows as well.
BOUGHT = (
    "products:\n  salt: {called: Smoked salt, also: [salt], label: {read: 2026-01-02, contains: [], may_contain:"
    " [celery]}}\n"
)
FRIED = {
    **LIBRARY,
    "specs/fried-cod.yaml": COD,
    "specs/chips.yaml": PLAIN,
    "shared/recipes/chips.yaml": CHIPS,
    "shared/pantry-salt.yaml": BOUGHT,
}


def statements(root: Path) -> dict[tuple[str, str, str], str]:
    """(dish, law, allergen) → presence, of every dish that still has a name of its own; an unsound one is not
    established.
    """
    project = reading.read_project([str(root / "specs")])
    world, menu = edge.prepared_menu(project)
    found = {}
    for one in menu:
        title = one.dish.title if one.dish else one.key
        for s in one.statements:
            for f in s.findings:
                weak = f.presence if one.is_sound or f.presence == "contains" else "not_established"
                found[title, f.law, f.allergen] = max(
                    weak, found.get((title, f.law, f.allergen), weak), key=STRENGTH.__getitem__
                )
    return found


def weaker(before: dict, after: dict) -> list:
    """What is said of a dish more weakly than before.

    A dish that nobody can read says nothing, which is not established.
    """
    dishes = {title for title, _, _ in after}
    return [
        (key, was, after.get(key))
        for key, was in before.items()
        if key[0] in dishes and STRENGTH[after.get(key, "not_among_ingredients")] < min(STRENGTH[was], 2)
    ]


# --------------------------------------------------------------------------- one entry damaged at a time


def _moved(name: Callable[[Path], str]) -> Callable[[Path], None]:
    def damage(path: Path) -> None:
        new = path.parent / name(path)
        new.parent.mkdir(exist_ok=True)
        path.rename(new)

    return damage


def _replaced(make: Callable[[Path], None]) -> Callable[[Path], None]:
    def damage(path: Path) -> None:
        path.unlink()
        make(path)

    return damage


def _folder(path: Path) -> None:
    text = path.read_text(encoding="utf-8")
    path.unlink()
    path.mkdir()
    (path / "inside.txt").write_text(text, encoding="utf-8")


def _away(path: Path) -> Path:
    """The file in a folder that is neither specs nor the library."""
    kept = next(p for p in path.parents if (p / "shared").is_dir()) / "elsewhere"
    kept.mkdir()
    shutil.move(path, kept / path.name)
    return kept


def _linked_away(path: Path) -> None:
    path.symlink_to(_away(path) / path.name)


def _folder_linked_away(path: Path) -> None:
    kept = _away(path)
    (path.parent / "more").symlink_to(kept, target_is_directory=True)


DAMAGE = {
    "capitals": _moved(lambda p: p.name.capitalize()),
    "all in capitals": _moved(lambda p: p.stem.upper() + ".yaml"),
    "ending in capitals": _moved(lambda p: p.stem + ".YAML"),
    "the short ending": _moved(lambda p: p.stem + ".yml"),
    "a blank in the name": _moved(lambda p: f"my {p.name}"),
    "a name that is taken": _moved(lambda p: "menu.yaml"),
    "a name of other letters": _moved(lambda p: "鱼.yaml"),
    "hidden": _moved(lambda p: f".{p.name}"),
    "in a folder": _moved(lambda p: f"lunch/{p.name}"),
    "in a hidden folder": _moved(lambda p: f".lunch/{p.name}"),
    "a backup": _moved(lambda p: p.name + ".bak"),
    "a backup of an editor": _moved(lambda p: p.name + "~"),
    "saved by an editor": _moved(lambda p: f"#{p.name}#"),
    "a backup without the ending": _moved(lambda p: p.stem + ".old"),
    "a copy": _moved(lambda p: f"Copy of {p.name}"),
    "saved as plain text": _moved(lambda p: p.name + ".txt"),
    "plain text": _moved(lambda p: p.stem + ".txt"),
    "another ending": _moved(lambda p: p.stem + ".yalm"),
    "JSON": _moved(lambda p: p.stem + ".json"),
    "no ending": _moved(lambda p: p.stem),
    "a link to it": _linked_away,
    "a folder linked": _folder_linked_away,
    "a link that leads nowhere": _replaced(lambda p: p.symlink_to("gone.yaml")),
    "a link round": _replaced(lambda p: p.symlink_to(p.name)),
    "a pipe": _replaced(os.mkfifo),
    "a folder in its place": _folder,
    "an empty folder in its place": _replaced(Path.mkdir),
    "empty": lambda p: p.write_text(""),
    "torn": lambda p: p.write_bytes(p.read_bytes()[:40] + b": ["),
    "not UTF-8": lambda p: p.write_bytes(b"\xff\xfe\x00" + p.read_bytes()),
    "too large": lambda p: p.write_bytes(p.read_bytes() + b"# " + b"x" * 2_000_000),
}


@pytest.fixture
def fried(tmp_path) -> Path:
    for name, text in FRIED.items():
        (tmp_path / name).parent.mkdir(parents=True, exist_ok=True)
        (tmp_path / name).write_text(text, encoding="utf-8")
    return tmp_path


def test_the_kitchen_that_is_damaged_has_something_to_lose(fried):
    said = statements(fried)
    assert said["Chips, salt", "eu", "fish"] == "may_contain" and said["Chips, salt", "eu", "celery"] == "may_contain"
    assert (
        said["Fried cod", "eu", "fish"] == "contains" and said["Chips, salt", "eu", "milk"] == "not_among_ingredients"
    )
    assert reading.read_project([str(fried / "specs")]).problems == ()


@pytest.mark.parametrize("damage", DAMAGE)
@pytest.mark.parametrize(
    "file", ["specs/fried-cod.yaml", "shared/pantry-salt.yaml", "shared/recipes/chips.yaml", PANTRY, KITCHEN]
)
def test_damage_to_one_file_weakens_nothing(fried, file, damage):
    before = statements(fried)
    DAMAGE[damage](fried / file)
    try:
        after = statements(fried)
    except reading.UsageError:
        return  # nothing is said at all
    assert weaker(before, after) == []
    assert ("Chips, salt", "eu", "milk") in after and ("Chips, salt", "us", "milk") in after


DEMO = sorted(str(p.relative_to(ROOT)) for folder in ("specs", "shared") for p in (ROOT / folder).rglob("*.yaml"))


@pytest.fixture(scope="module")
def sound() -> dict:
    return statements(ROOT)


@pytest.mark.parametrize(
    "number, file",
    list(enumerate([f for f in DEMO if "/recipes/" not in f] + [f for f in DEMO if "/recipes/" in f][::9])),
)
def test_damage_to_a_file_of_the_demo_kitchen_weakens_nothing(tmp_path, sound, number, file):
    for folder in ("specs", "shared"):
        shutil.copytree(ROOT / folder, tmp_path / folder)
    DAMAGE[list(DAMAGE)[number * 7 % len(DAMAGE)]](tmp_path / file)
    after = statements(tmp_path)
    assert weaker(sound, after) == []
    assert len({title for title, _, _ in after}) >= len({title for title, _, _ in sound}) - 1


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_spec_is_told_and_accounted_for_unless_it_is_read_as_before(fried, damage):
    DAMAGE[damage](fried / "specs/fried-cod.yaml")
    project = reading.read_project([str(fried / "specs")])
    _, menu = edge.prepared_menu(project)
    if damage in ("ending in capitals", "the short ending", "in a folder", "a link to it", "a folder linked"):
        assert project.problems == () and all(one.is_sound for one in menu) and len(menu) == 2
        return
    told = [p for one in menu for p in one.problems if p.is_error and p.span.file != "specs/chips.yaml"]
    assert told
    slug = {
        "a link that leads nowhere": "unreadable",
        "a link round": "unreadable",
        "a pipe": "unreadable",
        "too large": "file-too-large",
    }
    names = (
        "capitals",
        "all in capitals",
        "a blank in the name",
        "a name that is taken",
        "a name of other letters",
        "a copy",
    )
    expected = slug.get(damage) or (
        "unreadable" if "in its place" in damage else "bad-file-name" if damage in names else "left-over"
    )
    if damage not in ("empty", "torn", "not UTF-8"):
        assert {p.slug for p in told} == {expected}
    accounted = {e.file: e.counts_as for e in project.account}
    (lost,) = [f for f in accounted if f.startswith("specs/") and f != "specs/chips.yaml"]
    assert accounted[lost] in ("dish", "unknown")


@pytest.mark.parametrize(
    "damage", ["capitals", "a blank in the name", "a name that is taken", "a name of other letters", "a copy"]
)
def test_a_dish_with_a_name_that_does_not_fit_is_read_and_only_its_own_card_is_withheld(fried, damage, monkeypatch):
    DAMAGE[damage](fried / "specs/fried-cod.yaml")
    project = reading.read_project([str(fried / "specs")])
    _, menu = edge.prepared_menu(project)
    by_title = {one.dish.title: one for one in menu}
    assert by_title["Chips, salt"].is_sound and not by_title["Fried cod"].is_sound
    assert statements(fried)["Chips, salt", "eu", "fish"] == "may_contain"
    (told,) = project.problems
    assert told.slug == "bad-file-name"
    # The remedy works: renamed as it says, all is well.
    new = told.hints[0].rsplit(" ", 1)[1]
    (fried / told.span.file).rename(fried / "specs" / new)
    assert reading.read_project([str(fried / "specs")]).problems == () and reading.is_key(new.removesuffix(".yaml"))


def test_a_recipe_renamed_to_capitals_is_still_found(fried):
    DAMAGE["capitals"](fried / "shared/recipes/chips.yaml")
    project = reading.read_project([str(fried / "specs")])
    _, menu = edge.prepared_menu(project)
    chips = next(one for one in menu if one.key == "chips")
    assert chips.is_sound and "read-as" in [p.slug for p in chips.problems]


def test_a_dish_whose_recipe_is_lost_may_send_anything_through_the_equipment(fried):
    """The recipe names the fryer, so without it nobody knows what else goes in."""
    (fried / "shared/recipes/chips.yaml").rename(fried / "shared/recipes/crisps.yaml")
    said = statements(fried)
    assert said["Fried cod", "eu", "milk"] == "not_established"


# --------------------------------------------------------------------------- what lies beside


@pytest.mark.parametrize(
    "name",
    [
        "README.md",
        "menu.pdf",
        "plate.JPG",
        "costs.xlsx",
        "list.csv",
        ".DS_Store",
        "Thumbs.db",
        ".gitkeep",
        "._beetroot.yaml",
        ".beetroot.yaml.swp",
        ".#beetroot.yaml",
        "beetroot.yaml~",
        "beetroot.yaml.bak",
        "beetroot.bak",
        "#beetroot.yaml#",
        "Copy of beetroot.yaml",
        "beetroot copy.yaml",
        "beetroot (1).yaml",
        "beetroot.yaml.orig",
        "notes.txt",
    ],
)
def test_documents_system_files_and_backups_beside_their_original_count_for_nothing(galley, name):
    galley.write({f"specs/{name}": "a word to the cooks\n"})
    assert galley.errors() == []
    (entry,) = [e for e in galley.run("files", "--format", "json").data if e["file"] == f"specs/{name}"]
    assert entry["counts_as"] == "nothing" and entry["why"]


@pytest.mark.parametrize("folder", ["specs", "shared"])
@pytest.mark.parametrize(
    "name",
    [
        ".beetroot.yaml",
        "other.yaml.bak",
        "other.bak",
        "other.yaml~",
        "#other.yaml#",
        "other",
        "other.yalm",
        ".env",
        "other.zip",
    ],
)
def test_what_is_left_over_is_an_unknown_that_says_what_to_do(galley, folder, name):
    galley.write({f"{folder}/{name}": "products:\n"})
    (told,) = [p for p in galley.problems() if p["slug"] == "left-over"]
    assert told["file"] == f"{folder}/{name}" and told["severity"] == "error" and "move it out" in told["hints"][0]
    assert galley.run("build").code == 1 and bool(galley.cards()) == (folder == "specs")
    # A dish that nobody could read leaves open what comes over equipment; a library in doubt withholds every card.
    assert _presences(galley) == {"contains", "not_established"}
    # The remedy works: moved away, all is well again.
    os.unlink(galley.root / folder / name)
    assert galley.errors() == []


def _presences(galley) -> set[str]:
    return {f["presence"] for f in galley.run("allergens", "beetroot", "--format", "json").data["findings"]}


def test_a_yaml_file_of_the_library_under_a_name_of_its_own_leaves_every_dish_in_doubt(galley):
    galley.write({"shared/makers.yaml": BOUGHT})
    assert galley.errors() == [("left-over", "shared/makers.yaml:1:1")]
    assert _presences(galley) == {"contains", "not_established"}
    os.rename(galley.root / "shared/makers.yaml", galley.root / "shared/pantry-makers.yaml")
    assert galley.errors() == []


def test_folders_below_and_linked_folders_are_read(galley):
    galley.write(
        {
            "specs/lunch/soup.yaml": BEETROOT,
            "elsewhere/night/late.yaml": BEETROOT,
            "away/pantry-more.yaml": BOUGHT,
            "shared/recipes/sauces/oil.yaml": LIBRARY["shared/recipes/dill-oil.yaml"],
        }
    )
    os.symlink(galley.root / "elsewhere", galley.root / "specs/linked")
    os.symlink(galley.root / "away", galley.root / "shared/makers")
    read = {e["file"]: e["counts_as"] for e in galley.run("files", "--format", "json").data}
    assert read["specs/lunch/soup.yaml"] == read["specs/linked/night/late.yaml"] == "dish"
    assert read["shared/makers/pantry-more.yaml"] == "pantry" and read["shared/recipes/sauces/oil.yaml"] == "recipe"
    assert (
        galley.run("check").code == 0
        and galley.run("allergens", "soup").code == 0
        and galley.run("check", "specs/lunch").code == 0
    )


def test_keys_are_one_over_the_menu(galley):
    galley.write({"specs/lunch/beetroot.yaml": BEETROOT})
    assert ("given-twice", "specs/lunch/beetroot.yaml:1:1") in galley.errors() and galley.run("build").code == 1


def test_links_that_lead_round_come_to_an_end(galley):
    galley.write({"specs/lunch/soup.yaml": BEETROOT})
    os.symlink("..", galley.root / "specs/lunch/up")
    os.symlink("../..", galley.root / "specs/lunch/top")
    os.symlink("lunch", galley.root / "specs/dinner")
    told = galley.errors()
    assert ("unreadable", "specs/lunch/up:1:1") in told and ("unreadable", "specs/lunch/top:1:1") in told
    read = {e["file"]: e for e in galley.run("files", "--format", "json").data}
    assert read["specs/dinner"]["counts_as"] == "nothing" and "lunch" in read["specs/dinner"]["why"]


def test_pipes_and_sockets_are_told_and_never_opened(room, monkeypatch):
    room.write(kitchen())
    os.mkfifo("specs/pipe.yaml")
    monkeypatch.chdir("shared")
    with socket.socket(socket.AF_UNIX) as plug:
        plug.bind("pantry-plug.yaml")
    monkeypatch.chdir(room.root)
    assert {("unreadable", "specs/pipe.yaml:1:1"), ("unreadable", "shared/pantry-plug.yaml:1:1")} <= set(room.errors())
    assert room.run("check", "specs/pipe.yaml").code == 1 and room.run("guest", "pipe", "--avoid", "egg").code == 1
    assert room.run("prep", "--covers-file", "specs/pipe.yaml").code == 2


def test_a_pipe_that_comes_while_a_file_is_opened_does_not_hang(room, monkeypatch):
    """What was a file when it was looked at may be something else when it is opened."""
    room.write(kitchen())
    os.mkfifo("specs/pipe.yaml")
    monkeypatch.setattr(folders, "not_a_file", lambda path: "")
    assert room.run("check", "specs/pipe.yaml").code == 1


@pytest.mark.parametrize("folder", ["specs", "specs/lunch", "shared/recipes"])
def test_a_folder_that_cannot_be_read_is_told(galley, monkeypatch, folder):
    """Whoever runs the tests may be allowed to read everything, so the system's answer is put in its place."""
    galley.write({"specs/lunch/soup.yaml": BEETROOT})
    scandir = os.scandir

    def refused(path):
        if os.path.relpath(path) == folder:
            raise PermissionError(13, "Permission denied")
        return scandir(path)

    monkeypatch.setattr(os, "scandir", refused)
    assert ("unreadable", f"{folder}:1:1") in galley.errors()
    assert galley.run("build").code == 1 and bool(galley.cards()) == (folder == "specs/lunch")


def test_a_file_that_cannot_be_read_is_told(galley, monkeypatch):
    def refused(path, flags):
        raise PermissionError(13, "Permission denied")

    monkeypatch.setattr(reading, "_at_once", refused)
    assert {slug for slug, _ in galley.errors()} >= {"unreadable"} and galley.run("build").code == 1


@pytest.mark.parametrize("damage", ["a link that leads nowhere", "a pipe", "a file"])
def test_a_library_that_is_no_folder_is_not_looked_for_further_up(room, damage):
    """Another kitchen's library above would declare this one's dishes from other labels."""
    room.write({**kitchen(), "inn/specs/beetroot.yaml": BEETROOT})
    make = {
        "a link that leads nowhere": lambda: os.symlink("gone", "inn/shared"),
        "a pipe": lambda: os.mkfifo("inn/shared"),
        "a file": lambda: Path("inn/shared").write_text("?"),
    }
    make[damage]()
    done = room.run("check", "inn/specs")
    assert done.code == 2 and "inn/shared is not a folder that can be read" in done.err


@pytest.mark.parametrize("damage", ["a link that leads nowhere", "a pipe", "a file"])
def test_a_menu_that_is_no_folder_is_an_unknown_to_what_is_asked_from_elsewhere(room, damage):
    room.write(
        {**{name: text for name, text in FRIED.items() if not name.startswith("specs/")}, "drafts/draft.yaml": PLAIN}
    )
    make = {
        "a link that leads nowhere": lambda: os.symlink("gone", "specs"),
        "a pipe": lambda: os.mkfifo("specs"),
        "a file": lambda: Path("specs").write_text("?"),
    }
    make[damage]()
    data = room.run("allergens", "drafts/draft.yaml", "--format", "json").data
    assert [f["presence"] for f in data["findings"] if f["allergen"] == "fish" and f["law"] == "eu"] == [
        "not_established"
    ]


def test_recipes_whose_names_differ_by_more_than_capitals_are_not_taken_for_each_other(room):
    room.write(kitchen((SPEC, "oil: {recipe: dill-oil}", "oil: {recipe: dill-oils}")))
    assert "unknown-recipe" in {slug for slug, _ in room.errors()}


def test_the_number_of_entries_has_a_bound(galley, monkeypatch):
    monkeypatch.setattr(folders, "MAX_ENTRIES", 3)
    galley.write({f"specs/dish-{i}.yaml": BEETROOT for i in range(5)})
    assert ("unreadable", "specs:1:1") in galley.errors()


# --------------------------------------------------------------------------- the kitchen's own menu


@pytest.mark.parametrize("arguments", [["guest", "draft.yaml", "--avoid", "fish"], ["allergens", "draft.yaml"]])
def test_a_file_from_elsewhere_shares_the_equipment_of_the_kitchens_own_menu(room, arguments):
    room.write({**{f"inn/{name}": text for name, text in FRIED.items()}, "draft.yaml": PLAIN})
    data = room.run(*arguments, "--kitchen", "inn/shared", "--format", "json").data
    if arguments[0] == "guest":
        assert [m["avoid"] for m in data["remaining"]] and "Fried cod" in str(data["remaining"])
    else:
        assert [f["presence"] for f in data["findings"] if f["allergen"] == "fish" and f["law"] == "eu"] == [
            "may_contain"
        ]
    assert room.run("check", "draft.yaml", "--kitchen", "inn/shared").code == 0


def test_only_what_was_asked_for_is_built(room):
    room.write({**{f"inn/{name}": text for name, text in FRIED.items()}, "drafts/draft.yaml": PLAIN})
    assert room.run("build", "drafts", "--kitchen", "inn/shared").code == 0
    assert {name.split("/")[0] for name in room.made()} == {"draft"}


def test_a_version_kept_elsewhere_stands_in_for_the_dish_on_the_menu(room):
    room.write({**FRIED, "drafts/chips.yaml": PLAIN})
    account = {e["file"]: e for e in room.run("files", "drafts/chips.yaml", "--format", "json").data}
    assert (
        account["specs/chips.yaml"]["counts_as"] == "nothing"
        and "drafts/chips.yaml is read in its place" in account["specs/chips.yaml"]["why"]
    )
    assert account["specs/fried-cod.yaml"]["counts_as"] == "dish" and room.run("check", "drafts/chips.yaml").code == 0


# --------------------------------------------------------------------------- the account, and what a dish stands on


def test_the_account_as_json_has_these_keys(galley):
    galley.write({"specs/notes.md": "words\n"})
    data = galley.run("files", "--format", "json")
    assert data.code == 0 and all(set(e) == {"file", "counts_as", "why"} for e in data.data)
    lying = {
        str(p.relative_to(galley.root))
        for f in ("specs", "shared")
        for p in (galley.root / f).rglob("*")
        if p.is_file()
    }
    assert {e["file"] for e in data.data} == lying and [e["file"] for e in data.data] == sorted(lying)
    assert {e["counts_as"] for e in data.data} == {"dish", "kitchen", "pantry", "plates", "recipe", "nothing"}
    text = galley.run("files").out
    assert (
        f"{SPEC}: read as a dish\n" in text
        and "specs/notes.md: ignored (a document or a picture)\n" in text
        and f"{len(lying)} entries\n" in text
    )
    galley.write({"specs/.old.yaml": BEETROOT})
    done = galley.run("files")
    assert (
        done.code == 1
        and "specs/.old.yaml: NOT READ, or not all of it (a hidden file)" in done.out
        and "1 of them not read" in done.out
    )


@pytest.mark.parametrize(
    "file, text",
    [(SPEC, "dish: ["), (SPEC, ""), (PANTRY, "products: ["), (PANTRY, "prodcts: {}\n"), (KITCHEN, b"\xff")],
)
def test_what_is_opened_and_cannot_be_understood_is_not_accounted_for_as_read(galley, file, text):
    galley.write({file: text})
    done = galley.run("files", "--format", "json")
    assert done.code == 1 and [(e["file"], e["counts_as"]) for e in done.data if e["counts_as"] == "unknown"] == [
        (file, "unknown")
    ]
    assert all(e["why"] for e in done.data if e["counts_as"] == "unknown")


def test_an_old_file_beside_what_was_asked_for_stands_in_for_nothing(room):
    """Only the dish that was asked for is a version of its own; the menu's other dishes are as they are."""
    room.write(
        {**FRIED, "drafts/draft.yaml": PLAIN, "drafts/fried-cod.yaml": COD.replace("cod, equipment: fryer", "carrot")}
    )
    data = room.run("allergens", "drafts/draft.yaml", "--format", "json").data
    assert [f["presence"] for f in data["findings"] if f["allergen"] == "fish" and f["law"] == "eu"] == ["may_contain"]
    assert room.run("check", "drafts/draft.yaml").code == 0


def test_every_entry_of_the_demo_kitchen_is_read():
    project = reading.read_project([str(ROOT / "specs")])
    read = [e for e in project.account if e.counts_as != "nothing"]
    assert {e.counts_as for e in read} == {"dish", "kitchen", "pantry", "plates", "recipe"} and not project.problems
    assert len(read) == sum(len(list((ROOT / f).rglob("*.yaml"))) for f in ("specs", "shared"))
    assert [e.file for e in project.account if e not in read] == ["shared/README.md", "specs/README.md"]


def test_a_dish_knows_what_its_documents_stand_on(room):
    room.write({**FRIED, SPEC: BEETROOT, "specs/.lost.yaml": "?"})
    data = room.run("allergens", "chips", "--format", "json").data["stands_on"]
    assert set(data) == {"files", "menu", "reached_by", "labels", "unread"}
    assert data["files"] == [
        "specs/chips.yaml",
        KITCHEN,
        "shared/plates.yaml",
        "shared/recipes/chips.yaml",
        "shared/pantry-salt.yaml",
    ]
    assert {(d["dish"], d["read"]) for d in data["menu"]} == {
        ("beetroot", True),
        ("chips", True),
        ("fried-cod", True),
        ("lost", False),
    }
    assert [(r["equipment"], [d["dish"] for d in r["dishes"]]) for r in data["reached_by"]] == [
        ("fryer", ["fried-cod", "lost"])
    ]
    assert data["labels"] == [
        {"product": "salt", "called": "Smoked salt", "read": "2026-01-02", "file": "shared/pantry-salt.yaml", "line": 2}
    ]
    assert [(u["what"], u["file"]) for u in data["unread"]] == [
        (
            "specs/.lost.yaml: what it puts through the equipment is not known until its errors are put right",
            "specs/.lost.yaml",
        )
    ]
    why = room.run("allergens", "chips", "--why", "fish").out
    assert (
        "This is based on:\n" in why
        and "shares the fryer with: Fried cod; lost\n" in why
        and "not read: specs/.lost.yaml\n" in why
        and "label of Smoked salt, read 2026-01-02\n" in why
    )
    assert set(room.run("allergens", "chips", "--why", "fish", "--format", "json").data) == {
        "dish",
        "why",
        "sentences",
        "stands_on",
    }


def test_what_is_unknown_in_a_dish_stands_among_what_is_unread(room):
    room.write(
        {
            **kitchen(
                (SPEC, "{ingredient: dill}", "{ingredient: wumpus root}"), (OIL, "sunflower oil", "vegetable oil")
            ),
            "shared/old.yaml": "x\n",
        }
    )
    unread = room.run("allergens", "beetroot", "--format", "json").data["stands_on"]["unread"]
    assert [(u["what"], u["file"]) for u in unread[:2]] == [
        ("wumpus root", SPEC),
        ("shared/old.yaml", "shared/old.yaml"),
    ]
    assert (
        len(unread) == 3
        and unread[2]["what"].startswith("vegetable oil: ")
        and unread[2]["file"].startswith("platecard/data/catalogue/")
    )


def test_food_that_comes_over_several_pieces_of_equipment_is_told_as_further_off(fried):
    (fried / "specs/smoked.yaml").write_text(
        poured({"chips": "{ingredient: potato, equipment: [fryer, smoker]}"}, title="Smoked chips, oil"),
        encoding="utf-8",
    )
    (fried / "specs/roots.yaml").write_text(
        poured({"roots": "{ingredient: carrot, equipment: smoker}"}, title="Roots"), encoding="utf-8"
    )
    _, menu = edge.prepared_menu(reading.read_project([str(fried / "specs")]))
    roots = next(one for one in menu if one.key == "roots")
    assert [(r.equipment, [d.key for d in r.dishes]) for r in roots.basis.reached] == [
        ("smoker", ["smoked"]),
        ("", ["chips", "fried-cod"]),
    ]


def test_the_card_says_in_a_line_what_it_relies_on(room):
    from pypdf import PdfReader

    room.write(FRIED)
    assert room.run("build").code == 0

    def said(dish: str) -> str:
        return " ".join(" ".join(p.extract_text() for p in PdfReader(f"output/{dish}/pass-card.pdf").pages).split())

    assert "These allergens also depend on what else uses the fryer: Fried cod." in said("chips")
    room.write(
        {
            f"specs/fried-{i}.yaml": COD.replace("Fried cod", f"A very long name of a fried dish, number {i}")
            for i in range(9)
        }
    )
    assert room.run("build").code == 0
    assert re.search(
        r"These allergens also depend on what else uses the fryer: [^.]*\d (more|other) dishes\.", said("chips")
    )
    alone = {**kitchen(), SMOKED: LIBRARY[SMOKED].replace("equipment: smoker\n", "")}
    shutil.rmtree(room.root / "specs")
    room.write(alone)
    room.run("build")
    assert "also depend on" not in said("beetroot")


# --------------------------------------------------------------------------- names


@pytest.mark.parametrize(
    "name, key",
    [
        ("Fish.yaml", "fish"),
        ("fried fish.yaml", "fried-fish"),
        ("menu.yaml", "menu-dish"),
        ("withdrawn.YAML", "withdrawn-dish"),
        ("fish.yaml.bak", "fish"),
        (".fish.yaml", "fish"),
        ("a" * 80 + ".yaml", "a" * 50),
        ("specs/lunch/Sole.yml", "sole"),
    ],
)
def test_a_name_that_fits_is_found_for_every_file(name, key):
    assert entries.fitting(name) == key and entries.is_key(key)
    assert entries.fitting(name, {key}) == f"{key}-2"


def test_a_name_of_no_known_letters_gets_one_from_its_digest():
    made = entries.fitting("鱼.yaml")
    assert entries.is_key(made) and made.startswith("dish-") and made != entries.fitting("肉.yaml")


def test_the_world_in_doubt_establishes_nothing_that_is_not_there():
    world = pipeline.world(sorted(LIBRARY.items()))
    lost = pipeline.error("unreadable", pipeline.Span("shared/pantry-x.yaml"), "the file cannot be read")
    one = pipeline.prepare(BEETROOT, SPEC, "beetroot", pipeline.in_doubt(world, [lost]))
    assert {f.presence for s in one.statements for f in s.findings} == {
        "contains",
        "not_established",
    } and not one.is_sound
    assert one.basis.unread[-1].name == "shared/pantry-x.yaml"
