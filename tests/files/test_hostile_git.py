"""A repository from elsewhere runs nothing when a revision of it is read.

Each repository here is made for real, and names a command that leaves a file behind
when it runs.  For each way there is a control: the file does appear when git itself
is asked without what shuts that way, so that no test passes because nothing can happen.

7 ways to have a command run by what a partial copy asks its remote for, each on 3
kinds of object that may be missing (a commit, a folder, a file), of a git that can be
told to fetch nothing and of one that cannot: 42 roads.  5 more settings that git runs
when it compares, checks out or looks about.  7 ways by where git is, what is set around
it, or what its folder says of itself.  54 in all.
"""

from __future__ import annotations

import http.server
import os
import shutil
import subprocess
import threading
import time
from pathlib import Path

import pytest

from platecard.files import earlier, reading
from tests.kitchens import LIBRARY, OIL

pytestmark = pytest.mark.skipif(shutil.which("git") is None or os.name == "nt", reason="needs git and a shell")

NAMED = ("-c", "user.name=cook", "-c", "user.email=cook@example.org", "-c", "commit.gpgsign=false")
CALM = {k: v for k, v in os.environ.items() if not k.startswith("GIT_")} | {
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_CONFIG_GLOBAL": os.devnull,
    "GIT_CONFIG_NOSYSTEM": "1",
}


def git(where: Path, *arguments: str, sound: bool = True, **more: str) -> str:
    done = subprocess.run(
        ["git", *NAMED, *arguments], cwd=where, capture_output=True, text=True, timeout=60, env=CALM | more
    )
    assert done.returncode == 0 or not sound, done.stderr
    return done.stdout.strip()


class Hostile:
    """A kitchen under git with two revisions; ``ran`` says whether the command that its settings name has run."""

    def __init__(self, room):
        self.room, self.root, self.mark = room, room.root, room.root.parent / f"{room.root.name}-ran"
        git(self.root, "init", "-q", "-b", "main")
        self.commit("one")
        room.write({OIL: LIBRARY[OIL].replace("40 g", "50 g")})
        self.commit("two")

    def commit(self, said: str) -> None:
        git(self.root, "add", "-A")
        git(self.root, "commit", "-q", "-m", said)

    def set(self, key: str, value: str) -> None:
        git(self.root, "config", "--add", key, value)

    @property
    def command(self) -> str:
        return f"touch '{self.mark}'"

    def ran(self) -> bool:
        there = self.mark.exists()
        self.mark.unlink(missing_ok=True)
        return there

    def lose(self, name: str) -> str:
        """Take an object out of the repository, as it is in a partial copy; its id."""
        made = git(self.root, "rev-parse", name)
        (self.root / ".git/objects" / made[:2] / made[2:]).unlink()
        return made

    def compare(self) -> tuple[int, str]:
        done = self.room.copies("compare", "HEAD~1:beetroot", "HEAD:beetroot")
        return done.code, done.err


@pytest.fixture
def hostile(galley, monkeypatch) -> Hostile:
    for name in [n for n in os.environ if n.startswith("GIT_")]:
        monkeypatch.delenv(name)
    monkeypatch.setenv("GIT_CONFIG_GLOBAL", os.devnull)
    monkeypatch.setenv("GIT_CONFIG_NOSYSTEM", "1")
    return Hostile(galley)


# --------------------------------------------------------------------------- what a partial copy asks its remote for


class _Asks(http.server.BaseHTTPRequestHandler):
    """A server of this machine that wants a password."""

    def do_GET(self):
        self.send_response(401)
        self.send_header("WWW-Authenticate", 'Basic realm="kitchen"')
        self.end_headers()

    def log_message(self, *_):
        pass


@pytest.fixture(scope="module")
def asks():
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), _Asks)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/kitchen.git"
    server.shutdown()


def ext(h: Hostile, _) -> None:
    h.set("protocol.ext.allow", "always")
    h.set("remote.origin.url", f"ext::sh -c touch% '{h.mark}'")


def upload_pack(h: Hostile, _) -> None:
    h.set("remote.origin.url", str(h.root))
    h.set("protocol.file.allow", "always")
    h.set("remote.origin.uploadpack", f"{h.command}; git-upload-pack")


def ssh_command(h: Hostile, _) -> None:
    h.set("remote.origin.url", "ssh://cook@kitchen.invalid/kitchen.git")
    h.set("core.sshCommand", f"{h.command};")


def git_proxy(h: Hostile, _) -> None:
    script = h.root / ".git/proxy"
    script.write_text(f"#!/bin/sh\n{h.command}\n")
    script.chmod(0o755)
    h.set("remote.origin.url", "git://kitchen.invalid/kitchen.git")
    h.set("core.gitProxy", str(script))


def address_written_anew(h: Hostile, _) -> None:
    h.set("remote.origin.url", "https://kitchen.invalid/kitchen.git")
    h.set(f"url.ext::sh -c touch% '{h.mark}' .insteadOf", "https://")
    h.set("protocol.ext.allow", "always")


def settings_in_another_file(h: Hostile, _) -> None:
    away = h.root / ".git/more"
    away.write_text(
        f'[protocol "ext"]\n\tallow = always\n[remote "origin"]\n\turl = "ext::sh -c touch% \'{h.mark}\'"\n'
    )
    h.set("includeIf.gitdir:/**.path", str(away))


def credential_helper(h: Hostile, asks: str) -> None:
    h.set("remote.origin.url", asks)
    h.set("credential.helper", f"!{h.command};")


REMOTES = [ext, upload_pack, ssh_command, git_proxy, address_written_anew, settings_in_another_file, credential_helper]
MISSING = {"a commit": "HEAD~1", "a folder": "HEAD~1:shared/recipes", "a file": f"HEAD~1:{OIL}"}


@pytest.mark.parametrize("age", ["any git", "a git that knows no GIT_NO_LAZY_FETCH"])
@pytest.mark.parametrize("missing", MISSING)
@pytest.mark.parametrize("remote", REMOTES, ids=lambda r: r.__name__)
def test_what_is_missing_is_asked_of_nobody(hostile, monkeypatch, asks, remote, missing, age):
    if age != "any git":
        monkeypatch.delitem(earlier._SHUT, "GIT_NO_LAZY_FETCH")
    hostile.set("core.repositoryFormatVersion", "1")
    hostile.set("extensions.partialClone", "origin")
    hostile.set("remote.origin.promisor", "true")
    remote(hostile, asks)
    lost = hostile.lose(MISSING[missing])
    git(hostile.root, "cat-file", "-p", lost, sound=False)
    assert hostile.ran(), "the control: git itself runs what the settings name"
    code, err = hostile.compare()
    assert not hostile.ran()
    if missing == "a file" and (age == "any git" or code == 1):
        # What the file says is not known, and what was read beside it is.
        assert code == 1 and "does not have what was in it" in err and "partial copy" in err and "dill-oil.yaml" in err
    else:
        assert code == 2 and err.startswith("platecard: ") and err.count("\n") == 1


def test_a_plain_text_that_is_missing_may_be_a_spec(hostile):
    hostile.room.write({"specs/note.txt": "only a note\n"})
    hostile.commit("three")
    hostile.set("remote.origin.promisor", "true")
    assert verdict(earlier.read_project("HEAD", "beetroot")) == "nothing"
    hostile.lose("HEAD:specs/note.txt")
    assert verdict(earlier.read_project("HEAD", "beetroot")) == "unknown"


def verdict(project: reading.Project) -> str:
    return next(e.counts_as for e in project.account if e.file == "specs/note.txt")


# --------------------------------------------------------------------------- what git runs when it looks about


def textconv(h: Hostile) -> list[str]:
    (h.root / ".gitattributes").write_text("*.yaml diff=bad\n")
    h.set("diff.bad.textconv", f"{h.command};")
    return ["show", "--textconv", f"HEAD:{OIL}"]


def compared_by(h: Hostile) -> list[str]:
    (h.root / ".gitattributes").write_text("*.yaml diff=bad\n")
    h.set("diff.bad.command", f"{h.command};")
    return ["diff", "HEAD~1", "HEAD"]


def filtered(h: Hostile) -> list[str]:
    (h.root / ".gitattributes").write_text("*.yaml filter=bad\n")
    h.set("filter.bad.smudge", f"{h.command}; cat")
    return ["cat-file", "--filters", f"HEAD:{OIL}"]


def monitored(h: Hostile) -> list[str]:
    h.set("core.fsmonitor", f"{h.command};")
    return ["status"]


def hooked(h: Hostile) -> list[str]:
    h.set("core.hooksPath", "hooks")
    hook = h.root / "hooks/post-checkout"
    hook.parent.mkdir()
    hook.write_text(f"#!/bin/sh\n{h.command}\n")
    hook.chmod(0o755)
    return ["checkout", "-q", "HEAD"]


@pytest.mark.parametrize("way", [textconv, compared_by, filtered, monitored, hooked], ids=lambda w: w.__name__)
def test_no_setting_is_run_while_a_revision_is_read(hostile, way):
    control = way(hostile)
    git(hostile.root, *control, sound=False)
    assert hostile.ran(), "the control: git itself runs what the settings name"
    code, err = hostile.compare()
    assert code == 0 and not hostile.ran(), err


# --------------------------------------------------------------------------- where git is, and what its folder says
# of itself


@pytest.mark.parametrize("path", [".", "", "./"])
def test_a_git_that_lies_in_the_folder_is_not_run(hostile, monkeypatch, path):
    own = hostile.root / "git"
    own.write_text(f"#!/bin/sh\n{hostile.command}\nexit 1\n")
    own.chmod(0o755)
    monkeypatch.setenv("PATH", path + os.pathsep + os.environ["PATH"])
    subprocess.run(["git", "--version"], cwd=hostile.root)
    assert hostile.ran(), "the control: it is the first that is found"
    assert hostile.compare()[0] == 0 and not hostile.ran()


def test_a_folder_that_looks_like_a_repository_is_none(hostile, monkeypatch):
    """Files of a repository without a working tree may come with any copy of a project."""
    inner = hostile.root / "specs/inner"
    git(hostile.root, "clone", "-q", "--bare", ".", str(inner))
    git(inner, "config", "core.bare", "false")
    git(inner, "config", "core.worktree", str(hostile.root))
    monkeypatch.chdir(inner)
    assert git(inner, "rev-parse", "--absolute-git-dir", "--show-toplevel").splitlines() == [
        str(inner),
        str(hostile.root),
    ]
    with pytest.raises(reading.UsageError, match="^there is no git repository here"):
        earlier.read_project("HEAD", "beetroot")


def test_files_that_lie_elsewhere_by_the_repositorys_own_word_are_refused(hostile, tmp_path_factory):
    away = tmp_path_factory.mktemp("away")
    hostile.set("core.worktree", str(away))
    assert git(hostile.root, "rev-parse", "--show-toplevel") == str(away)
    code, err = hostile.compare()
    assert code == 2 and "lie elsewhere" in err


def test_what_steers_git_from_outside_is_not_heard(hostile, monkeypatch, tmp_path_factory):
    other = tmp_path_factory.mktemp("other")
    git(other, "init", "-q")
    monkeypatch.setenv("GIT_DIR", str(other / ".git"))
    monkeypatch.setenv("GIT_OBJECT_DIRECTORY", str(other / ".git/objects"))
    monkeypatch.setenv("GIT_TRACE", str(hostile.mark))
    git(hostile.root, "rev-parse", "--git-dir", GIT_TRACE=str(hostile.mark))
    assert hostile.ran()
    assert hostile.compare()[0] == 0 and not hostile.ran()


def test_what_stands_in_for_a_file_is_not_shown_as_the_file(hostile):
    """A repository can say that another object is to be read instead of the one a revision names."""
    butter = hostile.root / ".git/butter"
    butter.write_text(LIBRARY[OIL].replace("ingredients:\n", "ingredients:\n  - {ingredient: butter, amount: 20 g}\n"))
    made = git(hostile.root, "hash-object", "-w", str(butter))
    git(hostile.root, "replace", git(hostile.root, "rev-parse", f"HEAD:{OIL}"), made)
    assert "butter" in git(hostile.root, "cat-file", "-p", f"HEAD:{OIL}")
    assert "butter" not in dict(earlier.read_project("HEAD", "beetroot").library)[OIL]


# --------------------------------------------------------------------------- bounds


def test_a_git_that_never_answers_is_ended_with_all_it_has_started(hostile, monkeypatch, tmp_path_factory):
    folder = tmp_path_factory.mktemp("slow")
    slow = folder / "git"
    slow.write_text(f"#!/bin/sh\nsleep 60 & echo $! > '{folder}/pid'\nwait\n")
    slow.chmod(0o755)
    monkeypatch.setenv("PATH", f"{folder}{os.pathsep}{os.environ['PATH']}")
    monkeypatch.setattr(earlier, "_SECONDS", 1)
    began = time.monotonic()
    code, err = hostile.compare()
    assert code == 2 and "has not answered in 1 seconds" in err and time.monotonic() - began < 20
    child = int((folder / "pid").read_text())
    for _ in range(100):
        if (
            not os.path.exists(f"/proc/{child}")
            or Path(f"/proc/{child}/stat").read_text().rpartition(")")[2].split()[0] == "Z"
        ):
            break
        time.sleep(0.05)
    else:
        pytest.fail("what git has started still runs")


def test_a_repository_of_pipes_is_given_up(hostile, monkeypatch):
    """An object that is a pipe never ends; git waits for it, and is not waited for."""
    made = git(hostile.root, "rev-parse", f"HEAD~1:{OIL}")
    path = hostile.root / ".git/objects" / made[:2] / made[2:]
    path.unlink()
    os.mkfifo(path)
    monkeypatch.setattr(earlier, "_SECONDS", 1)
    code, err = hostile.compare()
    assert code == 2 and err.startswith("platecard: git ") and err.count("\n") == 1


def test_the_same_repository_without_anything_hostile_is_read(hostile):
    assert hostile.compare() == (0, "")
