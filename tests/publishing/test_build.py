"""What is in the output folder is sound and up to date, or it is not there."""

from __future__ import annotations

import errno
import json
import os
import resource
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from platecard.publishing import build as builder
from tests.kitchens import BEETROOT, KITCHEN, LIBRARY, PANTRY, PLATES, SPEC, kitchen

CARDS = ["beetroot/pass-card.pdf", "beetroot/plate.svg"]
WITHDRAWN = ["withdrawn/beetroot/pass-card.pdf", "withdrawn/beetroot/plate.svg"]
SECOND = BEETROOT.replace("Smoked beetroot", "Second beetroot")


def test_a_sound_dish_gets_its_documents(galley):
    done = galley.run("build")
    assert done.code == 0 and galley.cards() == CARDS
    assert "beetroot: written output/beetroot/" in done.out and all(f"output/{name}" in done.out for name in CARDS)
    assert galley.bytes_of()["beetroot/pass-card.pdf"].startswith(b"%PDF-")


def test_a_second_build_touches_nothing(galley):
    galley.run("build")
    before = {p: os.stat(f"output/{p}").st_mtime_ns for p in CARDS}
    time.sleep(0.01)
    done = galley.run("build")
    assert done.code == 0 and "beetroot: up to date" in done.out
    assert {p: os.stat(f"output/{p}").st_mtime_ns for p in CARDS} == before


def test_anew_draws_the_same_bytes_again(galley):
    galley.run("build")
    before = galley.bytes_of()
    assert "beetroot: written" in galley.run("build", "--anew").out
    assert galley.bytes_of() == before


@pytest.mark.parametrize(
    "file, old, new",
    [
        (SPEC, "count: 3, piece: {shape: disc", "count: 4, piece: {shape: disc"),
        ("shared/pantry.yaml", "may_contain: [milk]", "may_contain: [egg]"),
        (KITCHEN, "laws: [eu, us]", "laws: [eu]"),
        ("shared/plates.yaml", "called: Wide plate", "called: Broad plate"),
        ("shared/recipes/dill-oil.yaml", "ingredient: sunflower oil", "ingredient: rapeseed oil"),
        (SPEC, "Rim clean", "Rim wiped"),
        (SPEC, "number: 1", "number: 2"),
    ],
)
def test_whatever_the_card_was_made_from_makes_it_anew(galley, file, old, new):
    galley.run("build")
    before = galley.bytes_of()
    galley.write(kitchen((file, old, new)))
    assert "beetroot: written" in galley.run("build").out
    assert galley.bytes_of()["beetroot/pass-card.pdf"] != before["beetroot/pass-card.pdf"]


# A kitchen where everything can reach a document by a road of its own: a swap that no dish has as its usual part, with
# a recipe and a product inside, that goes through equipment which another dish uses; and a product served as it is.
SWAPPING = kitchen(
    (
        SPEC,
        "{product: seeded-crisp}",
        (
            "{product: seeded-crisp, swap: [{avoiding: [wheat], use: {recipe: chip}}, {avoiding: [sesame], use:"
            " {product: cracker}}]}"
        ),
    )
)
SWAPPING |= {
    "specs/second.yaml": SECOND.replace("{product: seeded-crisp}", "{recipe: fritter}"),
    "shared/recipes/chip.yaml": (
        "recipe: Celeriac chip\nmakes: 100 g\nequipment: fryer\ningredients:\n  - {recipe: dusting, amount: 10 g}\n  -"
        " {ingredient: celeriac, amount: 200 g}\n"
    ),
    "shared/recipes/dusting.yaml": (
        "recipe: Dusting\nmakes: 100 g\ningredients:\n  - {product: starch, amount: 100 g}\n"
    ),
    "shared/recipes/fritter.yaml": (
        "recipe: Fritter\nmakes: 100 g\nequipment: fryer\ningredients:\n  - {ingredient: courgette, amount: 100 g}\n"
    ),
    PANTRY: (
        SWAPPING[PANTRY]
        + "  starch: {called: Pea starch, label: {read: 2026-01-02, contains: [], may_contain: [milk]}}\n"
        "  cracker: {called: Rice cracker, label: {read: 2026-01-02, contains: [], may_contain: []}}\n"
    ),
}
EDITS = [
    *(
        (name, "ingredients:\n", "ingredients:\n  - {ingredient: hazelnut, amount: 1 g}\n")
        for name in SWAPPING
        if name.startswith("shared/recipes/")
    ),
    ("shared/recipes/chip.yaml", "Celeriac chip", "Celeriac wafer"),
    ("shared/recipes/fritter.yaml", "Fritter", "Crisp fritter"),
    *(
        (PANTRY, f"called: {called}", f"called: New {called}")
        for called in ("Seeded crisp", "Pea starch", "Rice cracker")
    ),
    *(
        (
            PANTRY,
            f"{called}, label: {{read: 2026-01-02, contains: [{had}]",
            f"{called}, label: {{read: 2026-01-02, contains: [peanut]",
        )
        for called, had in (("Seeded crisp", "wheat, sesame"), ("Pea starch", ""), ("Rice cracker", ""))
    ),
    (
        PANTRY,
        "Rice cracker, label: {read: 2026-01-02, contains: []",
        "Rice cracker, label: {read: 2026-01-02, contains: [sesame]",
    ),
    ("shared/recipes/dusting.yaml", "{product: starch", "{ingredient: wheat flour"),
    *(
        (
            PANTRY,
            f"{called}, label: {{read: 2026-01-02, contains: [], may_contain: [{had}]",
            f"{called}, label: {{read: 2026-01-02, contains: [], may_contain: [fish]",
        )
        for called, had in (("Pea starch", "milk"), ("Rice cracker", ""))
    ),
    (
        "shared/recipes/dusting.yaml",
        "recipe: Dusting",
        "recipe: Dust",
    ),  # only in what leads to a "may contain" of another dish
    ("shared/recipes/chip.yaml", "equipment: fryer\n", ""),
    ("shared/recipes/fritter.yaml", "equipment: fryer\n", "equipment: smoker\n"),
    (KITCHEN, "fryer: the fryer", "fryer: the deep fryer"),
    (KITCHEN, "larder: Larder", "larder: Cold larder"),
    (KITCHEN, "laws: [eu, us]", "laws: [us, eu]"),
    (KITCHEN, "kitchen: The Test Galley\n", "kitchen: The Test Galley\ncard: {allergens: union}\n"),
    (PLATES, "well: 200 mm}\n  coupe", "well: 190 mm}\n  coupe"),
    (SPEC, "avoiding: [sesame]", "avoiding: [wheat, sesame]"),
    (SPEC, "oil: {recipe: dill-oil}", "oil: {recipe: dill-oil, may_be_left_off: true}"),
    ("specs/second.yaml", "Second beetroot", "Third beetroot"),
    ("specs/second.yaml", "{recipe: fritter}", "{recipe: fritter, equipment: smoker}"),
]


@pytest.fixture(scope="module")
def built(tmp_path_factory) -> Path:
    """The output of that kitchen before any edit."""
    root = tmp_path_factory.mktemp("swapping")
    for name, text in SWAPPING.items():
        (root / name).parent.mkdir(parents=True, exist_ok=True)
        (root / name).write_text(text, encoding="utf-8")
    done = subprocess.run([sys.executable, "-m", "platecard", "build", "--recipes"], cwd=root, timeout=120)
    assert done.returncode == 0
    return root / "output"


@pytest.mark.parametrize("file, old, new", EDITS)
def test_what_is_built_after_an_edit_is_what_a_new_build_makes(galley, built, file, old, new):
    """The page for front of house offers swaps: one that has taken in an allergen must not stand there as it was."""
    assert SWAPPING[file].count(old) == 1
    galley.write(SWAPPING)
    shutil.copytree(built, "output")
    before = galley.bytes_of()
    assert "written" not in galley.run("build", "--recipes").out and galley.bytes_of() == before
    galley.write({file: SWAPPING[file].replace(old, new)})
    record = json.loads((galley.root / "output/.made.json").read_text())
    issued = {key: {"files": {}, "issued": known["issued"]} for key, known in record.items() if "issued" in known}
    code = galley.run("build", "--recipes").code
    # A new build that knows what was issued before, as the first one does.
    galley.write({"anew/.made.json": json.dumps(issued)})
    assert galley.run("build", "--recipes", "--out", "anew").code == code
    after = galley.bytes_of()
    assert {name for name in after if not name.startswith("withdrawn/")} == set(galley.bytes_of("anew"))
    assert {name: after[name] for name in galley.bytes_of("anew")} == galley.bytes_of("anew")
    assert after != before


def test_an_edited_or_lost_document_is_made_anew(galley):
    galley.run("build")
    before = galley.bytes_of()
    galley.write({"output/beetroot/plate.svg": "scribbled over"})
    os.unlink("output/beetroot/pass-card.pdf")
    assert "beetroot: written" in galley.run("build").out
    after = galley.bytes_of()
    assert after.pop("withdrawn/beetroot/plate.svg") == b"scribbled over", "what platecard did not write is not lost"
    assert after == before


# --------------------------------------------------------------------------- withdrawn


def test_when_a_spec_breaks_its_documents_are_withdrawn(galley):
    galley.run("build")
    before = galley.bytes_of()
    galley.write(kitchen((SPEC, "plate: wide", "plate: wyde")))
    done = galley.run("build", "--format", "json")
    assert done.code == 1
    (dish,) = [d for d in done.data["dishes"] if d["dish"] == "beetroot"]
    assert dish["state"] == "withdrawn" and {f"output/{name}" for name in WITHDRAWN} <= set(dish["files"])
    assert galley.cards() == WITHDRAWN and not os.path.exists("output/beetroot")
    assert {f"withdrawn/{k}": v for k, v in before.items()} == galley.bytes_of(), "nothing is deleted"
    said = galley.run("build").out
    assert "beetroot: no card" in said, "a second time there is nothing left to withdraw"


@pytest.mark.parametrize("content", ["", "- a list\n", b"\xff\xfe", "a: &x [*x]\n", "[" * 10_000])
def test_when_a_spec_can_no_longer_be_read_its_documents_are_withdrawn(galley, content):
    galley.run("build")
    galley.write({SPEC: content})
    done = galley.run("build")
    assert done.code == 1 and "beetroot: WITHDRAWN" in done.out and galley.cards() == WITHDRAWN


def test_when_the_library_breaks_every_document_is_withdrawn(galley):
    galley.write({"specs/second.yaml": SECOND})
    galley.run("build")
    galley.write({KITCHEN: b"\xff"})
    assert galley.run("build").code == 1
    assert galley.cards() == [*WITHDRAWN, "withdrawn/second/pass-card.pdf", "withdrawn/second/plate.svg"]


@pytest.mark.parametrize("place", ["specs/lunch/second.yaml", "specs/lunch/cold/second.yaml"])
def test_a_dish_from_a_folder_below_is_withdrawn_too(galley, place):
    galley.write({place: SECOND})
    assert galley.run("build").code == 0 and "second/pass-card.pdf" in galley.files()
    os.unlink(place)
    assert "second: WITHDRAWN" in galley.run("build").out and "withdrawn/second/pass-card.pdf" in galley.files()


@pytest.mark.parametrize("name", ["Second.yaml", ".second.yaml", "second.yaml.bak"])
def test_a_dish_whose_file_was_renamed_loses_its_card_and_no_other_keeps_a_weaker_one(galley, name):
    galley.write({"specs/second.yaml": SECOND})
    galley.run("build")
    os.rename("specs/second.yaml", f"specs/{name}")
    assert (
        galley.run("build").code == 1
        and "withdrawn/second/pass-card.pdf" in galley.files()
        and "second/pass-card.pdf" not in galley.files()
    )


@pytest.mark.parametrize("asked", [[], [SPEC], ["beetroot"], ["specs"]])
def test_a_dish_off_the_menu_is_withdrawn_whatever_was_asked_for(galley, asked):
    galley.write({"specs/second.yaml": SECOND})
    galley.run("build")
    os.unlink("specs/second.yaml")
    done = galley.run("build", *asked)
    assert done.code == 0 and "second: WITHDRAWN" in done.out
    assert galley.cards() == [*CARDS, "withdrawn/second/pass-card.pdf", "withdrawn/second/plate.svg"]


def test_a_mended_spec_gets_its_card_back(galley):
    galley.run("build")
    before = galley.bytes_of()
    galley.write(kitchen((SPEC, "plate: wide", "plate: wyde")))
    galley.run("build")
    galley.write(kitchen())
    assert galley.run("build").code == 0
    assert {k: v for k, v in galley.bytes_of().items() if not k.startswith("withdrawn/")} == before


def test_one_broken_dish_leaves_the_others_alone(galley):
    galley.write({"specs/second.yaml": SECOND.replace("plate: wide", "plate: wyde")})
    done = galley.run("build")
    assert done.code == 1 and galley.cards() == CARDS
    assert "beetroot: written" in done.out and "second: no card" in done.out


# --------------------------------------------------------------------------- drafts


def test_a_draft_is_drawn_only_on_wish_and_says_so(galley):
    from pypdf import PdfReader

    galley.write(kitchen((SPEC, "{ingredient: dill}", "{ingredient: wumpus root}")))
    assert galley.run("build").code == 1 and galley.made() == []
    done = galley.run("build", "--draft")
    assert done.code == 1 and "beetroot: DRAFT written, not for service" in done.out and galley.cards() == CARDS
    said = " ".join(page.extract_text() for page in PdfReader("output/beetroot/pass-card.pdf").pages)
    assert "DRAFT" in said and "not established" in said.lower()
    assert "wumpus root" in said, "what is unknown is named"
    assert "free from" not in said.lower()


def test_a_draft_does_not_stay_without_the_wish(galley):
    galley.write(kitchen((SPEC, "{ingredient: dill}", "{ingredient: wumpus root}")))
    galley.run("build", "--draft")
    assert galley.run("build").code == 1 and galley.cards() == WITHDRAWN


def test_a_sound_dish_is_no_draft(galley):
    galley.run("build")
    before = galley.bytes_of()
    assert galley.run("build", "--draft").code == 0 and galley.bytes_of() == before


def test_what_cannot_be_read_cannot_be_drafted(galley):
    galley.write({SPEC: "- a list\n"})
    assert galley.run("build", "--draft").code == 1 and galley.made() == []


# --------------------------------------------------------------------------- a disk that does not play along


def left_over(root) -> list[str]:
    return [str(p) for p in root.rglob("*.part")]


@pytest.mark.parametrize("out", ["note.txt", "note.txt/below", "/dev/null", "/dev/full/below", "/proc/nowhere"])
def test_an_output_folder_that_cannot_be_written(galley, out):
    galley.write({"note.txt": "in the way"})
    done = galley.run("build", "--out", out)
    assert done.code == 1 and "the documents cannot be written" in done.out and "beetroot: no card" in done.out
    assert (galley.root / "note.txt").read_text() == "in the way"
    if out.startswith("note.txt"):
        assert "a file called note.txt is in the way" in done.out and "locked" not in done.out
        assert "move or rename that file" in done.out


def full_after(monkeypatch, calls: int, name: str):
    """From the ``calls``-th use of an operating-system call on, the disk is full."""
    real, used = getattr(os, name), [0]

    def call(*arguments, **more):
        used[0] += 1
        if used[0] > calls:
            raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
        return real(*arguments, **more)

    monkeypatch.setattr(builder.os, name, call)


@pytest.mark.parametrize("calls", range(3))
def test_a_disk_that_fills_up_leaves_no_half_file_and_no_outdated_card(galley, monkeypatch, calls):
    galley.run("build")
    before = galley.bytes_of()
    galley.write(kitchen((SPEC, "count: 3, piece: {shape: disc", "count: 4, piece: {shape: disc")))
    with monkeypatch.context() as disk:
        full_after(disk, calls, "fsync")
        done = galley.run("build")
        assert (
            done.code == 1 and "No space left on device" in done.out and "the documents cannot be written" in done.out
        )
    assert left_over(galley.root) == []
    if calls < 2:  # the documents themselves did not fit: the old ones no longer hold
        assert galley.cards() == WITHDRAWN and galley.bytes_of() == {f"withdrawn/{k}": v for k, v in before.items()}
    assert galley.run("build").code == 0 and set(CARDS) <= set(galley.made())


def test_documents_that_can_be_neither_replaced_nor_moved_are_called_out(galley, monkeypatch):
    galley.run("build")
    before = galley.bytes_of()
    galley.write(kitchen((SPEC, "count: 3, piece: {shape: disc", "count: 4, piece: {shape: disc")))
    with monkeypatch.context() as disk:
        full_after(disk, 0, "fsync")
        full_after(disk, 0, "replace")
        done = galley.run("build")
    assert done.code == 1 and "cannot be moved" in done.out and "take down what was printed" in done.out
    assert galley.bytes_of() == before and left_over(galley.root) == []


def test_a_real_limit_on_file_size(galley):
    """The same with a limit of the system, in a process of its own."""
    galley.run("build")
    galley.write(kitchen((SPEC, "count: 3, piece: {shape: disc", "count: 4, piece: {shape: disc")))
    done = subprocess.run(
        [sys.executable, "-m", "platecard", "build"],
        cwd=galley.root,
        capture_output=True,
        text=True,
        timeout=60,
        preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_FSIZE, (2_000, 2_000)),
    )
    assert (
        done.returncode == 1
        and "the documents cannot be written" in done.stdout
        and "Traceback" not in done.stdout + done.stderr
    )
    assert galley.cards() == WITHDRAWN and left_over(galley.root) == []


@pytest.mark.parametrize("calls, name", [(0, "fsync"), (1, "fsync"), (0, "replace"), (1, "replace")])
def test_an_interrupted_build_leaves_the_old_file_in_its_place_or_withdrawn(galley, monkeypatch, calls, name):
    galley.run("build")
    old = galley.bytes_of()
    galley.write(kitchen((SPEC, "count: 3, piece: {shape: disc", "count: 4, piece: {shape: disc")))
    galley.run("build", "--out", "other")
    new = galley.bytes_of("other")
    real, used = getattr(os, name), [0]

    def interrupted(*arguments):
        used[0] += 1
        if used[0] > calls:
            raise KeyboardInterrupt
        return real(*arguments)

    with monkeypatch.context() as hand:
        hand.setattr(builder.os, name, interrupted)
        done = galley.run("build")
    assert done.code == 1 and "interrupted" in done.err
    found = galley.bytes_of()
    assert {name.removeprefix("withdrawn/") for name in found} == set(old) and left_over(galley.root) == []
    assert all(data == old[name.removeprefix("withdrawn/")] for name, data in found.items())
    assert galley.run("build").code == 0 and galley.bytes_of() == new


def test_a_killed_build_leaves_the_old_file_or_the_new_one(galley):
    """Killed without warning at many moments: at the real names, a whole document or none."""
    for i in range(4):
        galley.write({f"specs/dish-{i}.yaml": BEETROOT.replace("Smoked", f"{i} smoked")})
    sound = None
    for delay in (0.25, 0.35, 0.45, 0.6):
        running = subprocess.Popen(
            [sys.executable, "-m", "platecard", "build", "--anew"],
            cwd=galley.root,
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
        )
        time.sleep(delay)
        running.send_signal(signal.SIGKILL)
        running.wait()
        found = {k: v for k, v in galley.bytes_of().items() if not k.endswith(".part")}
        if sound is None:
            galley.run("build", "--out", "whole")
            sound = galley.bytes_of("whole")
        assert all(data == sound[name] for name, data in found.items())
    assert galley.run("build").code == 0
    assert {k: v for k, v in galley.bytes_of().items() if not k.endswith(".part")} == sound


# --------------------------------------------------------------------------- the record


def test_the_menus_own_documents_follow_the_same_rules(galley):
    """The allergens of the whole menu: up to date, without a law that is no longer in force, and withdrawn with the
    last sound dish.
    """
    galley.run("build")
    made = [name for name in galley.files() if name.startswith("menu/")]
    assert {"menu/allergens.json", "menu/allergens-eu.csv", "menu/allergens-us.csv"} <= set(made)
    stamps = {name: os.stat(f"output/{name}").st_mtime_ns for name in made}
    galley.run("build")
    assert {name: os.stat(f"output/{name}").st_mtime_ns for name in made} == stamps, "a second build touches nothing"
    galley.write(kitchen((KITCHEN, "laws: [eu, us]", "laws: [eu]")))
    galley.run("build")
    assert "menu/allergens-us.csv" not in galley.files() and "withdrawn/menu/allergens-us.csv" in galley.files()
    galley.write(kitchen((SPEC, "plate: wide", "plate: wyde")))
    galley.run("build")
    assert not [name for name in galley.files() if name.startswith("menu/")]


@pytest.mark.parametrize(
    "record",
    [
        "",
        '{"beetroot": {"key": "x", "files": 3}}',
        "not json",
        "[]",
        "null",
        '{"beetroot": 3}',
        '{"beetroot": {"key": 1, "files": []}}',
        b"\xff",
    ],
)
def test_a_damaged_record_only_costs_time(galley, record):
    galley.run("build")
    before = galley.bytes_of()
    galley.write({"output/.made.json": record})
    assert galley.run("build").code == 0 and galley.bytes_of() == before


def test_a_forged_record_moves_nothing_outside_the_output_folder(galley):
    galley.run("build")
    galley.write({"precious/plate.svg": "mine", "precious/pass-card.pdf": "mine"})
    record = json.loads((galley.root / "output/.made.json").read_text())
    for name in ("../precious", str(galley.root / "precious"), "withdrawn", "..", ".", ""):
        record[name] = {"key": "x", "files": {}}
    galley.write({"output/.made.json": json.dumps(record)})
    done = galley.run("build")
    assert done.code == 0 and "precious" not in done.out and galley.cards() == CARDS
    assert sorted(os.listdir("precious")) == ["pass-card.pdf", "plate.svg"]


def test_the_output_folder_may_be_named(galley):
    assert galley.run("build", "--out", "cards/autumn").code == 0
    assert galley.cards("cards/autumn") == CARDS and not os.path.exists("output")


def test_the_library_itself_is_never_written_to(galley):
    before = {p: p.read_bytes() for p in galley.root.rglob("*") if p.is_file()}
    galley.run("build")
    assert {p: p.read_bytes() for p in before} == before and {str(p.relative_to(galley.root)) for p in before} == {
        *LIBRARY,
        SPEC,
    }


def test_recipe_cards_once_asked_for_stay_until_they_are_asked_away(galley):
    """So that a build never takes down, without a word, what another build issued."""
    assert galley.run("build").code == 0 and "beetroot/recipe-cards.pdf" not in galley.files()
    galley.run("build", "--recipes")
    before = galley.bytes_of()
    assert "beetroot/recipe-cards.pdf" in before
    done = galley.run("build", "--format", "json")
    assert {d["state"] for d in done.data["dishes"]} == {"unchanged"} and galley.bytes_of() == before
    galley.write({SPEC: BEETROOT.replace("Rim clean", "Rim wiped")})
    galley.run("build")
    assert "beetroot/recipe-cards.pdf" in galley.files()
    galley.run("build", "--no-recipes")
    assert "beetroot/recipe-cards.pdf" not in galley.files()
    galley.run("build")
    assert "beetroot/recipe-cards.pdf" not in galley.files()


def test_a_card_that_does_not_fit_on_the_kitchens_paper_is_told(galley):
    assert "card-on-larger-paper" not in {p["slug"] for p in galley.run("build", "--format", "json").data["problems"]}
    checks = "".join(f"  - Check number {n} runs on for a while, so that it has to wrap somewhere\n" for n in range(14))
    galley.write({SPEC: BEETROOT.split("expo_checks:")[0] + f"expo_checks:\n{checks}"})
    done = galley.run("build", "--format", "json")
    (told,) = [p for p in done.data["problems"] if p["slug"] == "card-on-larger-paper"]
    assert done.code == 0 and told["severity"] == "warning" and told["file"] == SPEC
    assert "does not fit on A5 landscape and is drawn on A4 landscape" in told["message"]
