"""The output folder is one transaction: killed, raced, full, read-only, it ends as a fresh build would make it."""

from __future__ import annotations

import errno
import fcntl
import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import time
from pathlib import Path

import pytest

from platecard.publishing import build as builder
from platecard.publishing import lock, ownership, workers
from tests.kitchens import BEETROOT, KITCHEN, SMOKED, SPEC, kitchen

SECOND = BEETROOT.replace("Smoked beetroot", "Second beetroot")
EDIT = (SPEC, "count: 3, piece: {shape: disc", "count: 4, piece: {shape: disc")
# Kills in a run of the suite; a slow run asks for more (see DEVELOPERS.md).
KILLS = int(os.environ.get("PLATECARD_KILLS", "6"))

# How long an expo looks away, so that a build has the machine to itself for as long.
A_MOMENT = 0.004

# A build that kills itself, without warning, at its n-th call that changes something on the disk; with 0 it says how
# many there are.
KILLED = """
import os, signal, sys
from platecard import cli
at, used = int(sys.argv[1]), 0
def counted(real):
    def call(*arguments, **more):
        global used
        used += 1
        if used == at:
            os.kill(os.getpid(), signal.SIGKILL)
        return real(*arguments, **more)
    return call
for name in ("replace", "unlink", "fsync", "mkdir", "rmdir"):
    setattr(os, name, counted(getattr(os, name)))
code = cli.run(["build", *sys.argv[2:]])
print("calls", used)
sys.exit(code)
"""


def everything(folder: Path) -> dict[str, bytes]:
    """Every file of an output folder but what was withdrawn: documents, record, kept cards and whatever else."""
    there = {str(p.relative_to(folder)): p for p in folder.rglob("*") if p.is_file() or p.is_symlink()}
    return {name: path.read_bytes() for name, path in there.items() if not name.startswith("withdrawn/")}


def settled(galley, *asked: str) -> None:
    """The next build makes of the folder what a fresh one makes, given the same record."""
    shutil.rmtree("fresh", ignore_errors=True)
    os.mkdir("fresh")
    if os.path.exists("output/.made.json"):
        shutil.copy("output/.made.json", "fresh/.made.json")
    codes = galley.run("build", *asked).code, galley.run("build", *asked, "--out", "fresh").code
    assert codes[0] == codes[1]
    assert everything(Path("output")) == everything(Path("fresh"))


def vouched() -> set[str]:
    """The digests of all documents that the record knows of."""
    try:
        told = json.loads(Path("output/.made.json").read_text(encoding="utf-8"))
    except FileNotFoundError:
        return set()
    return {digest for one in told.values() for digest in one["files"].values()}


def hanging() -> dict[str, str]:
    """What an expo finds: every document in its place, with its digest."""
    found = {}
    for folder in os.listdir("output"):
        if folder in ("withdrawn", ".cards") or not os.path.isdir(f"output/{folder}"):
            continue
        try:
            for name in os.listdir(f"output/{folder}"):
                if not name.endswith(".part"):
                    found[f"{folder}/{name}"] = hashlib.sha256(Path(f"output/{folder}/{name}").read_bytes()).hexdigest()
        except FileNotFoundError:
            pass  # taken away since it was seen
    return found


def all_vouched() -> None:
    before = vouched()
    found = hanging()
    known = before | vouched()
    assert not [path for path, digest in found.items() if digest not in known]


def processes(*arguments: str) -> subprocess.Popen:
    return subprocess.Popen([sys.executable, *arguments], stdout=subprocess.PIPE, stderr=subprocess.STDOUT, text=True)


# --------------------------------------------------------------------------- killed


@pytest.fixture
def three(galley):
    """Three dishes, of which one is edited, one is renamed and one is new since the last build."""
    galley.write({"specs/second.yaml": SECOND, "specs/old-name.yaml": BEETROOT.replace("Smoked", "Third")})
    assert galley.run("build").code == 0
    return galley


def meddle(galley, turn: int) -> None:
    """Another state of the kitchen for each turn: an edit, a rename, a dish that breaks or is mended."""
    galley.write(kitchen(EDIT) if turn % 2 else kitchen())
    names = ["specs/old-name.yaml", "specs/new-name.yaml"]
    if os.path.exists(names[turn % 2 == 0]):
        os.rename(names[turn % 2 == 0], names[turn % 2 == 1])
    galley.write({"specs/second.yaml": SECOND.replace("plate: wide", "plate: wyde") if turn % 3 == 1 else SECOND})


def test_killed_at_any_call_the_next_build_settles_it(three):
    """``KILLS`` kills, spread over all calls that change the disk."""
    meddle(three, 1)
    shutil.copytree("output", "before")
    done = subprocess.run([sys.executable, "-c", KILLED, "0"], capture_output=True, text=True, timeout=120)
    calls = int(done.stdout.rsplit("calls ", 1)[1])
    assert done.returncode == 1 and calls > 40, done.stdout
    killed = 0
    for n in range(KILLS):
        shutil.rmtree("output")
        shutil.copytree("before", "output")
        done = subprocess.run(
            [sys.executable, "-c", KILLED, str(1 + n * (calls - 1) // max(1, KILLS - 1))],
            capture_output=True,
            text=True,
            timeout=120,
        )
        killed += done.returncode == -signal.SIGKILL
        all_vouched()
        settled(three)
        all_vouched()
    assert killed == KILLS


def test_killed_at_any_time_with_an_expo_looking_on(three):
    """As many kills as the clock will have it, and an expo who looks at the pass all the time."""
    lasted, killed, chance = 1.0, 0, random.Random(12)
    for turn in range(1, 1 + KILLS // 2):
        meddle(three, turn)
        running = processes("-m", "platecard", "build")
        while not os.path.exists("output/.lock") and running.poll() is None:
            time.sleep(0.002)
        start, until = time.monotonic(), time.monotonic() + chance.uniform(0, lasted)
        while running.poll() is None and time.monotonic() < until:
            all_vouched()
            time.sleep(A_MOMENT)
        if running.poll() is None:
            running.send_signal(signal.SIGKILL)
            killed += 1
        else:
            lasted = time.monotonic() - start
        running.communicate()
        all_vouched()
        settled(three)
    assert killed >= KILLS // 10


# --------------------------------------------------------------------------- raced


def test_two_builds_at_once_wait_for_each_other(three):
    for turn in (1, 2):
        meddle(three, turn)
        both = [processes("-m", "platecard", "build") for _ in range(2)]
        while any(one.poll() is None for one in both):
            all_vouched()
            time.sleep(A_MOMENT)
        said = [one.communicate()[0] for one in both]
        assert len({one.returncode for one in both}) == 1 and "Traceback" not in "".join(said)
        settled(three)
        assert not os.path.exists("output/.lock")


def test_a_build_that_does_not_get_the_lock_says_who_has_it(galley, monkeypatch):
    galley.run("build")
    before = everything(Path("output"))
    galley.write(kitchen(EDIT))
    monkeypatch.setattr(lock, "WAIT_S", 0.2)
    holder = processes(
        "-c",
        "import fcntl, os, time\nf = open('output/.lock', 'w'); fcntl.flock(f, fcntl.LOCK_EX)\n"
        "f.write(f'{os.getpid()}\\n'); f.flush(); print('held', flush=True); time.sleep(60)",
    )
    try:
        assert holder.stdout.readline() == "held\n"
        done = galley.run("build", "--format", "json")
        (fault,) = done.data["problems"]
        assert done.code == 1 and (fault["slug"], fault["file"]) == ("already-building", "output/.lock")
        assert f"process {holder.pid}" in fault["message"] and fault["hints"]
        after = everything(Path("output"))
        after.pop(".lock")
        assert after == before
    finally:
        holder.kill()
        holder.communicate()
    assert galley.run("build").code == 0 and not os.path.exists("output/.lock"), "a lock is never stale"


def test_what_was_written_meanwhile_is_read_by_the_build_that_waited(galley):
    """The specs are read under the lock, so that the last build to write is the last to have read."""
    os.mkdir("output")
    with open("output/.lock", "w") as held:
        fcntl.flock(held, fcntl.LOCK_EX)
        waiting = processes("-m", "platecard", "build")
        time.sleep(1.5)
        galley.write({"specs/second.yaml": SECOND})
    assert "second: written" in waiting.communicate(timeout=60)[0]


@pytest.mark.parametrize(
    "make",
    [
        lambda: os.mkfifo("output/.lock"),
        lambda: os.mkdir("output/.lock"),
        lambda: os.symlink("../specs/beetroot.yaml", "output/.lock"),
    ],
)
def test_what_stands_in_the_place_of_the_lock_is_told_and_left(galley, make):
    os.mkdir("output")
    make()
    done = galley.run("build")
    assert done.code == 0 and "the folder cannot be locked" in done.out and os.path.lexists("output/.lock")
    assert Path(SPEC).read_text() == BEETROOT


def test_a_build_that_comes_to_nothing_leaves_no_folder(room):
    assert room.run("build").code == 2 and os.listdir() == []


# --------------------------------------------------------------------------- what has no spec any more


def test_the_last_spec_deleted(galley):
    galley.run("build")
    os.unlink(SPEC)
    settled(galley)
    assert galley.made() and all(name.startswith("withdrawn/") for name in galley.files())
    done = galley.run("build")
    assert done.code == 2, "there is nothing left to withdraw"


@pytest.mark.parametrize("lost", [False, True])
def test_the_folder_of_specs_deleted(galley, lost):
    galley.run("build")
    shutil.rmtree("specs")
    if lost:
        os.unlink("output/.made.json")
    done = galley.run("build", "--format", "json")
    assert done.code == 1 and "no-specs" in {p["slug"] for p in done.data["problems"]}
    assert {d["state"] for d in done.data["dishes"]} == {"withdrawn"} and done.data["menu"]["state"] == "withdrawn"
    assert all(name.startswith("withdrawn/") for name in galley.files())


def test_a_slip_in_the_command_withdraws_nothing(galley):
    galley.run("build")
    before = everything(Path("output"))
    for arguments in (["spcs"], ["specs/beetrot.yaml"], ["--kitchen", "nowhere"], ["beetrot"]):
        assert galley.run("build", *arguments).code == 2
    assert everything(Path("output")) == before


@pytest.mark.parametrize("folder", ["specs", "shared", "specs/lunch"])
def test_a_command_given_in_another_folder_withdraws_nothing(galley, monkeypatch, folder):
    galley.write({"specs/lunch/second.yaml": SECOND})
    galley.run("build")
    before = everything(Path("output"))
    monkeypatch.chdir(folder)
    out = os.path.relpath(galley.root / "output")
    assert galley.run("build", "--out", out).code == 2
    assert everything(galley.root / "output") == before


def test_a_library_that_is_missing_is_no_menu_without_dishes(galley):
    galley.run("build")
    before = everything(Path("output"))
    os.rename("shared", "elsewhere")
    done = galley.run("build")
    assert done.code == 2 and "no kitchen library" in done.err and everything(Path("output")) == before


def test_renamed_and_only_the_new_name_built(galley):
    galley.write({"specs/second.yaml": SECOND})
    galley.run("build")
    os.rename("specs/second.yaml", "specs/third.yaml")
    settled(galley, "specs/third.yaml")
    assert "second/pass-card.pdf" not in galley.files() and "third/pass-card.pdf" in galley.files()


@pytest.mark.parametrize("record", [None, "", "[" * 100_000, "{}"])
def test_a_dish_without_a_spec_goes_as_one_set_record_or_not(galley, record):
    galley.write({"specs/second.yaml": SECOND})
    galley.run("build", "--recipes")
    had = {name for name in galley.files() if name.startswith("second/")}
    assert {"second/pass-card-2.svg", "second/recipe-cards.pdf"} <= had
    os.unlink("specs/second.yaml")
    if record is None:
        os.unlink("output/.made.json")
    else:
        galley.write({"output/.made.json": record})
    galley.write({"output/second/notes.txt": "mine", "output/second/plate.pdf": b"%PDF-1.4 mine"})
    done = galley.run("build", "--recipes")
    assert "second: WITHDRAWN" in done.out
    assert {f"withdrawn/{name}" for name in had} <= set(galley.files())
    assert sorted(os.listdir("output/second")) == ["notes.txt", "plate.pdf"]
    assert "output/second/notes.txt:1:1: warning" in done.out and "output/second/plate.pdf:1:1: warning" in done.out


def test_the_last_sound_dish_takes_the_menu_with_it_record_or_not(galley):
    galley.run("build")
    os.unlink("output/.made.json")
    galley.write({SPEC: BEETROOT.replace("plate: wide", "plate: wyde")})
    galley.run("build", SPEC)
    assert all(name.startswith("withdrawn/") for name in galley.files())


def test_a_document_that_no_record_knows_leaves_a_dishs_folder(galley):
    galley.run("build")
    before = everything(Path("output"))
    shutil.copy("output/beetroot/pass-card.svg", "output/beetroot/pass-card-9.svg")
    galley.write({"output/beetroot/notes.txt": "mine"})
    galley.run("build")
    assert everything(Path("output")) == {**before, "beetroot/notes.txt": b"mine"}


def test_a_folder_that_is_nobodys_dish_is_left_alone(galley):
    galley.write({"output/photos/one.svg": "<svg/>", "output/readme.txt": "ours"})
    done = galley.run("build")
    assert done.code == 0 and "photos" not in done.out and Path("output/photos/one.svg").exists()


def test_a_dish_whose_spec_lies_elsewhere_keeps_its_card(galley):
    galley.write({"other/second.yaml": SECOND})
    galley.run("build", "other/second.yaml")
    assert "second/plate.svg" in galley.made()
    done = galley.run("build")
    assert (
        "second/plate.svg" in galley.made()
        and "whether its card is still valid was not checked" in done.out
        and "run platecard build other/second.yaml" in done.out
    )
    os.unlink("other/second.yaml")
    assert "second: WITHDRAWN" in galley.run("build").out


def test_withdrawn_copies_go_when_the_card_is_issued_again(galley):
    galley.run("build")
    galley.write(kitchen((SPEC, "plate: wide", "plate: wyde")))
    galley.run("build")
    galley.write({"output/withdrawn/beetroot/note.txt": "kept"})
    galley.write(kitchen())
    galley.run("build")
    assert [name for name in galley.files() if name.startswith("withdrawn/")] == ["withdrawn/beetroot/note.txt"]


def test_a_draft_does_not_take_the_last_sound_card_with_it(galley):
    galley.run("build")
    sound = Path("output/beetroot/pass-card.pdf").read_bytes()
    galley.write(kitchen((SPEC, "{ingredient: dill}", "{ingredient: wumpus root}")))
    galley.run("build", "--draft")
    assert Path("output/withdrawn/beetroot/pass-card.pdf").read_bytes() == sound


def test_everything_leaves_before_anything_is_drawn(galley, monkeypatch):
    """A dish that breaks is off the pass before the first of the others is drawn anew."""
    galley.write({"specs/aaa.yaml": SECOND, "specs/zzz.yaml": BEETROOT.replace("Smoked", "Last")})
    galley.run("build")
    galley.write(
        {
            **kitchen((KITCHEN, "The Test Galley", "The New Galley")),
            "specs/zzz.yaml": SECOND.replace("plate: wide", "plate: wyde"),
        }
    )
    there: list[list[str]] = []
    real = builder.render
    monkeypatch.setattr(workers, "render", lambda *a: there.append(galley.files()) or real(*a))
    galley.run("build")
    assert len(there) == 2 and not [n for n in there[0] if not n.startswith("withdrawn/")]


def test_leftovers_of_a_killed_build_are_swept(galley):
    galley.run("build")
    for name in (
        "beetroot/.plate.svg.99999.part",
        ".made.json.99999.part",
        ".cards/.beetroot.pages.1.part",
        "menu/.pass-cards.pdf.77.part",
    ):
        galley.write({f"output/{name}": "half"})
    galley.run("build")
    assert not list(Path("output").rglob("*.part"))


# --------------------------------------------------------------------------- a disk that does not play along


def test_a_full_disk(galley):
    """A real one: a small file system in memory, where the system lets us have one."""
    os.mkdir("output")
    if subprocess.run(["mount", "-t", "tmpfs", "-o", "size=900k", "tmpfs", "output"], capture_output=True).returncode:
        pytest.skip("no leave to mount a file system")
    try:
        galley.run("build")
        galley.write({f"specs/d{i}.yaml": BEETROOT.replace("Smoked", f"{i} smoked") for i in range(6)} | kitchen(EDIT))
        done = galley.run("build")
        assert done.code == 1 and "No space left on device" in done.out
        all_vouched()
        subprocess.run(["mount", "-o", "remount,size=20m", "output"], check=True)
        settled(galley)
    finally:
        subprocess.run(["umount", "-l", "output"], check=True)


@pytest.mark.parametrize("is_edited", [False, True])
def test_a_read_only_folder(galley, is_edited):
    """Real permissions, which root forgoes for the build."""
    galley.run("build")
    if is_edited:
        galley.write(kitchen(EDIT))
    before = everything(Path("output"))
    if os.getuid() == 0 and not shutil.which("setpriv"):
        pytest.skip("root may write everywhere, and there is no setpriv to forgo that")
    forgone = ["setpriv", "--bounding-set=-dac_override", "--inh-caps=-dac_override"] if os.getuid() == 0 else []
    folders = [folder for folder, _, _ in os.walk("output")]
    try:
        for folder in folders:
            os.chmod(folder, 0o555)
        done = subprocess.run(
            [*forgone, sys.executable, "-m", "platecard", "build"], capture_output=True, text=True, timeout=120
        )
        assert "Traceback" not in done.stderr
        if is_edited:
            assert (
                done.returncode == 1
                and "cannot be moved" in done.stdout
                and "take down what was printed" in done.stdout
            )
        else:
            assert done.returncode == 0 and "beetroot: up to date" in done.stdout
        assert everything(Path("output")) == before
    finally:
        for folder in folders:
            os.chmod(folder, 0o755)
    settled(galley)


@pytest.mark.parametrize("only_once", [False, True])
@pytest.mark.parametrize("name", ["replace", "fsync", "mkdir"])
def test_the_disk_fails_at_any_call(three, monkeypatch, name, only_once):
    """From the n-th call on, or at that one alone: what hangs is vouched for, a set is whole or gone, and the next
    build settles it.
    """
    meddle(three, 1)
    shutil.copytree("output", "before")
    real, n, is_over = getattr(os, name), 0, False
    while not is_over:
        shutil.rmtree("output")
        shutil.copytree("before", "output")
        used = 0

        def full(*arguments, **more):
            nonlocal used
            used += 1
            if used == n + 1 or used > n and not only_once:  # noqa: B023
                raise OSError(errno.ENOSPC, os.strerror(errno.ENOSPC))
            return real(*arguments, **more)

        with monkeypatch.context() as disk:
            disk.setattr(os, name, full)
            done = three.run("build", "--format", "json")
        all_vouched()
        errors = {p["slug"] for p in done.data["problems"] if p["severity"] == "error"}
        for dish in done.data["dishes"]:
            if dish["state"] not in ("written", "unchanged") and "cannot-withdraw" not in errors:
                assert not os.path.exists(f"output/{dish['dish']}"), "a set that did not come whole leaves again"
        assert not list(Path("output").rglob("*.part"))
        is_over = used <= n
        n += 1 if n < 4 else 3 if only_once else 7
    settled(three)
    assert n > 4


# --------------------------------------------------------------------------- nothing is overwritten


def test_a_users_own_file_in_the_place_of_a_document(galley):
    galley.write({"output/beetroot/plate.svg": "<svg>my own</svg>"})
    done = galley.run("build", "--format", "json")
    (fault,) = [p for p in done.data["problems"] if p["severity"] == "error"]
    assert (
        done.code == 1
        and (fault["slug"], fault["file"]) == ("in-the-way", "output/beetroot/plate.svg")
        and fault["hints"]
    )
    assert (
        galley.made() == ["beetroot/plate.svg"] and Path("output/beetroot/plate.svg").read_text() == "<svg>my own</svg>"
    )
    os.rename("output/beetroot/plate.svg", "mine.svg")  # the way out
    assert galley.run("build").code == 0 and galley.cards() == ["beetroot/pass-card.pdf", "beetroot/plate.svg"]


@pytest.mark.parametrize(
    "name",
    [
        "beetroot",
        "beetroot/plate.svg",
        "beetroot/pass-card.svg",
        "menu",
        "menu/pass-cards.pdf",
        ".cards",
        ".cards/beetroot.pages",
        ".made.json",
    ],
)
@pytest.mark.parametrize("leads_to", ["specs", SPEC, "nowhere"])
def test_no_link_is_followed(galley, name, leads_to):
    place = galley.root / "output" / name
    place.parent.mkdir(parents=True)
    place.symlink_to(galley.root / leads_to)
    before = {
        p: p.read_bytes() for folder in ("specs", "shared") for p in (galley.root / folder).rglob("*") if p.is_file()
    }
    for _ in range(2):
        done = galley.run("build")
        assert done.code == 1 and "link" in done.out and place.is_symlink()
    assert {
        p: p.read_bytes() for folder in ("specs", "shared") for p in (galley.root / folder).rglob("*") if p.is_file()
    } == before
    place.unlink()
    assert galley.run("build").code == 0


@pytest.mark.parametrize("name", ["withdrawn", "withdrawn/beetroot"])
def test_nothing_is_withdrawn_through_a_link(galley, name):
    galley.run("build")
    place = galley.root / "output" / name
    place.parent.mkdir(exist_ok=True)
    os.mkdir("elsewhere")
    place.symlink_to(galley.root / "elsewhere")
    galley.write(kitchen((SPEC, "plate: wide", "plate: wyde")))
    done = galley.run("build")
    assert done.code == 1 and "cannot be moved" in done.out and os.listdir("elsewhere") == []


def test_somebodys_own_file_among_the_withdrawn_is_kept(galley):
    galley.run("build")
    galley.write({"output/withdrawn/beetroot/plate.svg": "mine"})
    galley.write(kitchen((SPEC, "plate: wide", "plate: wyde")))
    galley.run("build")
    assert (
        Path("output/withdrawn/beetroot/plate.svg").read_text() == "mine"
        and Path("output/withdrawn/beetroot/plate~2.svg").exists()
    )


SWAP = kitchen((SPEC, "crisp: {product: seeded-crisp}", "crisp: {product: seeded-crisp, may_be_left_off: true}"))
CALLS = [
    (["build", "--out", "specs/beetroot.yaml"], 2),
    (["build", "--out", "new.pdf"], 2),
    (["build", "--out", "specs"], 2),
    (["build", "--out", "shared"], 2),
    (["build", "--out", "specs/cards"], 2),
    (["prep", "--covers", "beetroot=4", "--pdf", "shared/kitchen.yaml"], 2),
    (["prep", "--covers", "beetroot=4", "--pdf", "mine.pdf"], 1),
    (["guest", "beetroot", "--avoid", "sesame", "--card", SPEC], 2),
    (["guest", "beetroot", "--avoid", "sesame", "--card", "mine.pdf"], 1),
    (["guest", "beetroot", "--avoid", "sesame", "--out", SPEC], 2),
    (["guest", "beetroot", "--avoid", "sesame", "--card", "link.pdf"], 1),
    (["guest", "beetroot", "--avoid", "sesame", "--card", "output/beetroot/pass-card.pdf"], 1),
    (["mat", "beetroot", "--out", SPEC], 2),
    (["mat", "beetroot", "--out", "mine.pdf"], 1),
    (["mat", "beetroot", "--out", "mine.svg"], 2),
    (["mat", "beetroot", "--out", "output/menu/pass-cards.pdf"], 1),
    (["steps", "beetroot", "--out", SPEC], 2),
    (["steps", "beetroot", "--out", "mine.svg"], 1),
    (["compare", "beetroot", SPEC, "--out", SPEC], 2),
    (["compare", "beetroot", SPEC, "--out", "mine.svg"], 1),
]


@pytest.mark.parametrize("arguments, code", CALLS)
def test_no_command_writes_over_what_is_somebodys_own(galley, arguments, code):
    galley.write({**SWAP, "mine.pdf": b"%PDF-1.4 mine\n%%EOF\n", "mine.svg": "<svg/>"})
    galley.run("build")
    os.symlink(SPEC, "link.pdf")
    before = {p: p.read_bytes() for p in galley.root.rglob("*") if p.is_file()}
    done = galley.run(*arguments)
    assert done.code == code
    assert (
        "name a f" in done.err
        or "a folder of their own" in done.err
        or "move it away" in done.err
        or "nothing else is written there" in done.err
    )
    assert {p: p.read_bytes() for p in galley.root.rglob("*") if p.is_file()} == before


@pytest.mark.parametrize(
    "arguments, name",
    [
        (["prep", "--covers", "beetroot=4", "--pdf", "list.PDF"], "list.PDF"),
        (["mat", "beetroot", "--out", "m.pdf"], "m.pdf"),
        (["steps", "beetroot", "--out", "s.svg"], "s.svg"),
        (["guest", "beetroot", "--avoid", "sesame", "--card", "c.pdf"], "c.pdf"),
        (["compare", "beetroot", SPEC, "--out", "d.svg"], "d.svg"),
    ],
)
def test_what_platecard_made_is_written_anew(galley, arguments, name):
    galley.write(SWAP)
    for _ in range(2):
        assert galley.run(*arguments).code == 0 and ownership.is_ours(name)


def test_a_guests_card_of_ones_own_is_not_set_aside(galley):
    galley.write({"mine.pdf": b"%PDF-1.4 mine\n%%EOF\n"})
    done = galley.run("guest", "beetroot", "--avoid", "sesame", "--card", "mine.pdf")
    assert (
        done.code == 1
        and "does not write over it" in done.err
        and Path("mine.pdf").read_bytes() == b"%PDF-1.4 mine\n%%EOF\n"
    )


def test_every_document_is_told_as_platecards_own(galley):
    galley.write(
        kitchen(
            (SPEC, "  dill: {ingredient: dill}", "  dill: {ingredient: dill, finish: [{do: fry, takes: 20 s}]}"),
            (SPEC, "piece: {shape: disc, size: 30 mm,", "piece: {shape: disc, size: 30 mm, height: 60 mm,"),
        )
    )
    galley.run("build", "--recipes")
    names = galley.files()
    assert {"beetroot/fire.svg", "beetroot/side.svg", "beetroot/recipe-cards.pdf", "menu/pass-cards.pdf"} <= set(names)
    assert {Path(n).suffix for n in names} == {".svg", ".pdf", ".json", ".csv", ".html"}
    assert [n for n in names if not ownership.is_ours(f"output/{n}")] == []


@pytest.mark.parametrize(
    "data", [b"", b"<svg/>", b"%PDF-1.4\n", b"{}", b"dish,key\n", b"<!doctype html>", b'{\n "dishes": [\n ]\n}']
)
def test_what_somebody_else_made_is_not(data):
    assert not ownership.bears_marks(data)


def test_a_card_that_was_added_to_is_somebodys_own(galley):
    galley.run("build")
    data = Path("output/beetroot/pass-card.pdf").read_bytes()
    assert ownership.bears_marks(data) and not ownership.bears_marks(
        data + b"\n1 0 obj\n<</Note (mine)>>\nendobj\nstartxref\n0\n%%EOF\n"
    )


# --------------------------------------------------------------------------- one dish that cannot be drawn


BEYOND = SECOND.replace("dish: Second beetroot", "dish: ᚱᚢᚾ beetroot")


@pytest.mark.parametrize("title", ["ᚱᚢᚾ beetroot", "\N{BEETLE} beetroot"])
@pytest.mark.parametrize("more", [[], ["--draft"]])
def test_a_title_that_the_font_lacks_is_its_dishs_problem(galley, title, more):
    galley.write({"specs/second.yaml": SECOND})
    galley.run("build")
    galley.write({"specs/second.yaml": BEYOND.replace("ᚱᚢᚾ beetroot, dill oil, seeded crisp", title), **kitchen(EDIT)})
    done = galley.run("build", "--format", "json", *more)
    errors = {(p["slug"], p["file"], p["line"]) for p in done.data["problems"] if p["severity"] == "error"}
    assert done.code == 1 and ("unprintable-character", "specs/second.yaml", 1) in errors
    assert {slug for slug, *_ in errors} == {"unprintable-character"}
    assert {d["dish"]: d["state"] for d in done.data["dishes"]} == {
        "beetroot": "written",
        "second": "draft" if more else "withdrawn",
    } and done.data["menu"]["state"] == "written"
    data = json.loads(Path("output/menu/allergens.json").read_text(encoding="utf-8"))
    assert {d["dish"]: d["established"] for d in data["dishes"]} == {"beetroot": True, "second": False}
    assert "no card: not established" in text_of("output/menu/pass-cards.pdf") and "not established" in text_of(
        "output/menu/allergens.pdf"
    )
    assert "Not established" in Path("output/menu/front-of-house.html").read_text(encoding="utf-8")
    settled(galley, *more)


def text_of(path: str) -> str:
    import pypdf

    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(path).pages).split())


@pytest.mark.parametrize(
    "thrown", [ValueError("no such thing"), RecursionError(), MemoryError(), ZeroDivisionError("x" * 900)]
)
def test_whatever_is_thrown_while_a_dish_is_drawn_is_its_problem(galley, monkeypatch, thrown):
    galley.write({"specs/second.yaml": SECOND})
    galley.run("build")
    galley.write(kitchen((KITCHEN, "The Test Galley", "The New Galley")))
    real = builder.render

    def render(prepared, *more):
        if prepared.key == "second":
            raise thrown
        return real(prepared, *more)

    with monkeypatch.context() as broken:
        broken.setattr(workers, "render", render)
        done = galley.run("build", "--format", "json")
        (fault,) = [p for p in done.data["problems"] if p["severity"] == "error"]
        assert (
            done.code == 1
            and (fault["slug"], fault["file"], fault["line"]) == ("not-drawn", "specs/second.yaml", 1)
            and fault["hints"]
        )
        assert {d["dish"]: d["state"] for d in done.data["dishes"]} == {"beetroot": "written", "second": "withdrawn"}
        contents = text_of("output/menu/pass-cards.pdf")
        assert "1 of 2 dishes" in contents and "no card: not established" in contents
        again = galley.run("build", "--format", "json")
        assert {d["dish"]: d["state"] for d in again.data["dishes"]} == {"beetroot": "unchanged", "second": "withheld"}
    settled(galley)


def test_a_dish_that_the_matrix_cannot_show_is_left_out_of_it(galley, monkeypatch):
    from platecard.documents.text import matrix_table

    galley.write({"specs/second.yaml": SECOND})
    real = matrix_table._cell

    def cell(findings):
        if len(findings) and any("Second" in link.words for f in findings for chain in f.reasons for link in chain):
            raise ValueError("no such letter")
        return real(findings)

    monkeypatch.setattr(matrix_table, "_cell", cell)
    done = galley.run("build", "--format", "json")
    assert done.code == 1 and {p["slug"] for p in done.data["problems"] if p["severity"] == "error"} == {"not-drawn"}
    assert done.data["menu"]["state"] == "written" and "no card: not established" in text_of(
        "output/menu/pass-cards.pdf"
    )


@pytest.mark.parametrize("stage", ["begin", "finish"])
def test_whatever_is_thrown_while_a_dish_is_prepared_is_its_problem(galley, monkeypatch, stage):
    """What goes through the smoker with a dish that cannot be read is not established; the rest stands."""
    from platecard import pipeline

    galley.write({"specs/second.yaml": SECOND})
    galley.run("build")
    galley.write({**kitchen(EDIT), SMOKED: kitchen()[SMOKED].replace("equipment: smoker\n", "")})
    real = getattr(pipeline, stage)

    def failing(*given):
        if "specs/second.yaml" in (given[1], getattr(given[0], "file", "")):
            raise KeyError("unheard of")
        return real(*given)

    monkeypatch.setattr(pipeline, stage, failing)
    done = galley.run("build", "--format", "json")
    (fault,) = [p for p in done.data["problems"] if p["severity"] == "error"]
    assert (fault["slug"], fault["file"]) == ("not-prepared", "specs/second.yaml")
    assert {d["dish"]: d["state"] for d in done.data["dishes"]} == {
        "beetroot": "written",
        "second": "withdrawn",
    } and done.data["menu"]["state"] == "written"


def test_after_one_edit_one_dish_is_drawn(galley, monkeypatch):
    galley.write({f"specs/d{i}.yaml": BEETROOT.replace("Smoked", f"{i} smoked") for i in range(4)})
    galley.run("build")
    drawn: list[str] = []
    real = builder.render
    monkeypatch.setattr(workers, "render", lambda prepared, *more: drawn.append(prepared.key) or real(prepared, *more))
    galley.run("build")
    assert drawn == []
    galley.write(kitchen(EDIT))
    galley.run("build")
    assert drawn == ["beetroot"]


# --------------------------------------------------------------------------- the record is a claim


def claims(record: dict) -> list:
    """Records that somebody else may have written."""
    beet = record["beetroot"]
    deep = "[" * 100_000 + "]" * 100_000
    return [
        '{"beetroot": ' + deep + "}",
        deep,
        json.dumps(
            {"beetroot": {**beet, "files": {"../../specs/beetroot.yaml": "x", "a\u0000.svg": "y", "\ud800.svg": "z"}}}
        ),
        json.dumps({"beetroot": {**beet, "key": ["x"], "card": {}, "spec": 7, "code": "\u001b[31m"}}),
        json.dumps({"beetroot": {**beet, "files": {"plate.svg": 1}}}),
        json.dumps({"beetroot": {**beet, "files": {}}}),
        '{"beetroot": {"files": {}, "key": ' + "9" * 10_000 + "}}",
        json.dumps({"beetroot": {**beet, "leaving": True}}),
    ]


@pytest.mark.parametrize("n", range(8))
def test_a_record_that_does_not_fit_counts_for_nothing(galley, n):
    galley.run("build")
    before = everything(Path("output"))
    record = claims(json.loads(before[".made.json"]))[n]
    galley.write({"output/.made.json": record})
    assert galley.run("check").code == 0
    done = galley.run("build")
    assert done.code == 0 and "\u001b" not in done.out and everything(Path("output")) == before


@pytest.mark.parametrize("make", [lambda: os.mkfifo("output/.made.json"), lambda: os.mkdir("output/.made.json")])
def test_a_record_that_is_no_file_is_never_opened(galley, make):
    galley.run("build")
    os.unlink("output/.made.json")
    make()
    done = galley.run("build")
    assert "the record of what was issued cannot be read" in done.out and "Traceback" not in done.out


def test_a_record_does_not_vouch_for_other_bytes(galley):
    galley.run("build")
    before = everything(Path("output"))
    forged = before["beetroot/plate.svg"].replace(b"Smoked", b"Forged")
    galley.write({"output/beetroot/plate.svg": forged})
    assert "beetroot: written" in galley.run("build").out and everything(Path("output")) == before


# --------------------------------------------------------------------------- what is out of date


def out_of_date(galley, *paths: str) -> list[tuple[str, str]]:
    return [(p["file"], p["message"]) for p in galley.problems(*paths) if p["slug"] == "out-of-date"]


def test_check_says_what_is_out_of_date_by_code(galley):
    assert out_of_date(galley) == []
    galley.run("build")
    assert out_of_date(galley) == []
    code = json.loads(Path("output/.made.json").read_text())["beetroot"]["code"]
    assert f"code {code}" in text_of("output/beetroot/pass-card.pdf")
    galley.write(kitchen(EDIT))
    told = {p["file"]: p for p in galley.problems() if p["slug"] == "out-of-date"}
    assert set(told) == {"output/beetroot", "output/menu"} and told["output/beetroot"]["severity"] == "warning"
    assert f"code {code}" in told["output/beetroot"]["hints"][0]
    done = galley.run("build")
    new = json.loads(Path("output/.made.json").read_text())["beetroot"]["code"]
    assert (
        new != code
        and f"says code {code} is no longer valid; the new papers say code {new}" in done.out
        and "take down" in done.out
    )
    assert out_of_date(galley) == [] and "take-down" not in galley.run("build").out


def test_a_change_that_no_paper_shows_takes_nothing_down(galley):
    galley.run("build")
    galley.write({SPEC: "# a word above\n" + BEETROOT})
    done = galley.run("build")
    assert "beetroot: written" in done.out and "take-down" not in done.out


@pytest.mark.parametrize(
    "spoil, said",
    [
        (lambda g: g.write({SPEC: BEETROOT.replace("plate: wide", "plate: wyde")}), "errors"),
        (lambda g: os.rename(SPEC, "specs/other.yaml"), "its spec is gone"),
        (lambda g: g.write({"output/beetroot/plate.svg": "x"}), "plate.svg"),
        (lambda g: os.unlink("output/beetroot/pass-card.pdf"), "pass-card.pdf"),
        (lambda g: os.unlink("output/.made.json"), "record"),
    ],
)
def test_check_says_whatever_else_does_not_hold(galley, spoil, said):
    galley.run("build")
    spoil(galley)
    (told,) = [message for file, message in out_of_date(galley) if file == "output/beetroot"]
    assert said in told


def test_build_names_the_papers_of_what_is_withdrawn(galley):
    galley.run("build")
    code = json.loads(Path("output/.made.json").read_text())["beetroot"]["code"]
    galley.write({SPEC: BEETROOT.replace("plate: wide", "plate: wyde")})
    done = galley.run("build", "--format", "json")
    hints = {p["file"]: p["hints"] for p in done.data["problems"] if p["slug"] == "take-down"}
    assert (
        hints["output/beetroot"] == [f"take down every paper of beetroot that says 'code {code}'"]
        and "output/menu" in hints
    )


def test_places_in_the_output_open_from_where_the_command_was_given(galley, monkeypatch):
    os.mkdir("below")
    monkeypatch.chdir("below")
    galley.run("build", "../specs")
    assert galley.run("check", "../specs").code == 0
    Path("output/beetroot/plate.svg").write_text("x")
    told = galley.run("build", "../specs", "--format", "json").data["problems"]
    assert "output/beetroot/plate.svg" in {p["file"] for p in told}
