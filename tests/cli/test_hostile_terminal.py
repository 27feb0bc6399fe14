"""What a terminal would obey never reaches it, and an answer that cannot be written is told so.

24 command lines with a hostile argument, 3 places of a hostile file name, and the end of
the program on a full device, a closed output, a reader that leaves, and a pipe.  What the
commands say is asked of the program as it is guarded, in this process; how it ends, of the
program itself.
"""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import platecard
from platecard import cli
from platecard.cli import terminal
from tests.conftest import Room
from tests.kitchens import BEETROOT, LIBRARY, PANTRY, SPEC, Run, kitchen

PACKAGE = Path(platecard.__file__).parent.parent
# A new title for the window, a cursor that goes back, a colour in one byte, and a turn of the direction of writing.
BAD = "x\x1b]0;gotcha\x07\x1b[2K\r\x9b31m\u202ez"
OBEYED = re.compile(r"[\x00-\x08\x0b\x0c\x0e-\x1f\x7f-\x9f\u200e\u200f\u202a-\u202e\u2066-\u2069]|\r(?!\n)")
ENV = {**os.environ, "PYTHONPATH": str(PACKAGE), "PYTHONIOENCODING": "utf-8"}


def run(where: Path, *arguments: str, **more) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, "-m", "platecard", *arguments],
        cwd=where,
        env=ENV,
        timeout=120,
        **{"capture_output": True, **more},
    )


def inside(room: Room, *arguments: str) -> Run:
    """One command as the program runs it, in this process: guarded; anything thrown fails the test."""
    room.capsys.readouterr()
    with pytest.MonkeyPatch.context() as streams:
        for name in ("stdout", "stderr"):
            streams.setattr(sys, name, getattr(sys, name))
        code = terminal.guarded(cli.run, list(arguments))
    return Run(code, *room.capsys.readouterr())


def said(done: subprocess.CompletedProcess) -> str:
    return done.stdout.decode("utf-8", "surrogateescape") + done.stderr.decode("utf-8", "surrogateescape")


LINES = [
    [BAD],
    ["check", BAD],
    ["check", "--format", BAD],
    ["check", f"--{BAD}"],
    ["check", "--kitchen", BAD],
    ["files", BAD],
    ["build", BAD],
    ["build", "--out", BAD],
    ["allergens", BAD],
    ["allergens", "beetroot", "--law", BAD],
    ["allergens", "beetroot", "--why", BAD],
    ["guest", "--avoid", BAD],
    ["guest", BAD, "--avoid", "egg"],
    ["acknowledge", BAD],
    ["prep", "--covers", f"{BAD}=3"],
    ["prep", "--covers-file", BAD],
    ["prep", "--date", BAD],
    ["cost", BAD],
    ["scale", BAD, "--to", "1 kg"],
    ["scale", "dill-oil", "--to", BAD],
    ["fire", "beetroot", "--at", BAD],
    ["compare", BAD, "beetroot"],
    ["schema", BAD],
    ["new", BAD],
]


@pytest.mark.parametrize("number", range(len(LINES)))
def test_an_argument_reaches_the_terminal_spelt_out(galley, number):
    assert len(LINES) == 24
    done = inside(galley, *LINES[number])
    told = done.out + done.err
    assert done.code in (0, 1, 2) and "Traceback" not in told
    assert told and OBEYED.search(told) is None, told


@pytest.mark.parametrize("number", range(0, len(LINES), 8))
def test_the_program_itself_spells_it_out_too(galley, number):
    done = run(galley.root, *LINES[number])
    assert done.returncode in (0, 1, 2) and "Traceback" not in said(done)
    assert said(done) and OBEYED.search(said(done)) is None, said(done)


@pytest.mark.parametrize("path", [f"specs/{BAD}.yaml", f"shared/{BAD}.yaml", f"shared/recipes/{BAD}.txt"])
@pytest.mark.parametrize("command", ["check", "build", "files"])
def test_a_file_name_reaches_the_terminal_spelt_out(galley, path, command):
    galley.write({path: "dish: [\n"})
    for form in ("text", "json"):
        done = inside(galley, command, "--format", form)
        assert "x\\u001b]0;gotcha" in done.out + done.err and OBEYED.search(done.out + done.err) is None
        if form == "json":
            told = str(json.loads(done.out))
            assert "x\x1b]0;gotcha\x07" in told or "\\x1b]0;gotcha" in told


def test_the_documents_written_are_listed_spelt_out(galley):
    done = run(galley.root, "build", "--out", f"out-{BAD}")
    assert done.returncode == 0 and OBEYED.search(said(done)) is None and "out-x\\u001b" in said(done)
    assert (galley.root / f"out-{BAD}" / "beetroot" / "pass-card.pdf").exists()


def test_a_mistake_of_the_programs_own_is_told_spelt_out():
    broken = (
        "import sys\nfrom platecard.cli import terminal\ndef run(_): raise"
        f" ValueError({BAD!r})\nsys.exit(terminal.guarded(run, []))"
    )
    done = subprocess.run([sys.executable, "-c", broken], env=ENV, capture_output=True, timeout=60)
    assert done.returncode == 1 and b"ValueError: x" in done.stderr and OBEYED.search(said(done)) is None


@given(
    st.recursive(
        st.text(max_size=20),
        lambda inner: st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=5), inner, max_size=3),
        max_leaves=6,
    )
)
def test_what_is_spelt_out_in_json_says_the_same(value):
    text = terminal.spelt_out(json.dumps(value, ensure_ascii=False))
    assert json.loads(text) == value and OBEYED.search(text) is None


# --------------------------------------------------------------------------- an answer that cannot be written


needs_full = pytest.mark.skipif(not os.path.exists("/dev/full"), reason="there is no device that is always full")
REPORTS = [
    ["--help"],
    ["check"],
    ["files"],
    ["build"],
    ["allergens", "beetroot"],
    ["guest", "beetroot", "--avoid", "egg"],
    ["schema"],
    ["cautions", "beetroot"],
]


@needs_full
@pytest.mark.parametrize("arguments", REPORTS, ids=lambda a: a[0])
def test_a_full_device_is_told(galley, arguments):
    with open("/dev/full", "wb") as full:
        done = run(galley.root, *arguments, capture_output=False, stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 1
    assert done.stderr.decode().splitlines()[-1] == "platecard: the answer cannot be written: No space left on device"
    assert b"Traceback" not in done.stderr and b"Exception ignored" not in done.stderr


@needs_full
def test_nothing_can_be_told_where_both_are_full(galley):
    with open("/dev/full", "wb") as full:
        assert run(galley.root, "check", "nowhere", capture_output=False, stdout=full, stderr=full).returncode == 1


@pytest.mark.parametrize("command", ["check", "build", "schema"])
def test_without_an_output_nothing_is_thrown(galley, command):
    done = subprocess.run(
        f"exec '{sys.executable}' -m platecard {command} >&-",
        shell=True,
        cwd=galley.root,
        env=ENV,
        stderr=subprocess.PIPE,
        timeout=60,
    )
    assert done.returncode == 0 and done.stderr == b""


@pytest.mark.parametrize("arguments", REPORTS, ids=lambda a: a[0])
def test_a_reader_that_has_gone_is_no_fault(galley, arguments):
    read, write = os.pipe()
    os.close(read)
    try:
        done = run(galley.root, *arguments, capture_output=False, stdout=write, stderr=subprocess.PIPE)
    finally:
        os.close(write)
    assert done.returncode <= 1 and done.stderr == b""


# --------------------------------------------------------------------------- a hundred thousand brackets


DEEP = "[" * 100_000
CLOSED = DEEP + "]" * 100_000


@pytest.mark.parametrize(
    "content",
    [
        DEEP,
        CLOSED,
        '{"a":' * 100_000,
        "[1",
        "7",
        '"text"',
        "null",
        "\x00",
        '{"beetroot": {"files": {"../../x": 1}, "key": []}}',
    ],
)
def test_a_record_of_any_shape_gives_no_traceback(galley, content):
    assert galley.run("build").code == 0
    (galley.root / "output/.made.json").write_text(content)
    for kept in (galley.root / "output/.cards").iterdir():
        kept.write_text(content)
    done = galley.run("build")
    assert done.code == 0 and done.err == "" and "beetroot: " in done.out
    assert isinstance(json.loads((galley.root / "output/.made.json").read_text())["beetroot"], dict)


@pytest.mark.parametrize("sign", ["(", "[", "{", "()", "(a, ", "((b)"])
def test_a_label_of_brackets_is_told(galley, sign):
    text = (sign * 100_000)[:19_000]
    galley.write(
        {
            PANTRY: LIBRARY[PANTRY] + f'  odd: {{called: Odd, label: {{read: 2026-01-02, ingredients: "{text}"}}}}\n',
            SPEC: BEETROOT.replace("{product: seeded-crisp}", "{product: odd}"),
        }
    )
    done = galley.run("check")
    assert done.code == 1 and "error" in done.out


@pytest.mark.parametrize("file", [*kitchen(), "covers.yaml"])
@pytest.mark.parametrize("content", [DEEP, CLOSED, "{a: " * 100_000, "- " * 100_000])
def test_any_file_of_brackets_is_told(galley, file, content):
    galley.write({file: content})
    done = galley.run(*(["prep", "--covers-file", file] if file == "covers.yaml" else ["build"]))
    assert done.code in (1, 2) and done.out + done.err
    assert not (galley.root / "output/beetroot").exists()


def test_the_program_itself_outlives_a_file_of_brackets(galley):
    galley.write({SPEC: CLOSED})
    done = run(galley.root, "build")
    assert done.returncode == 1 and said(done) and b"Traceback" not in done.stderr
