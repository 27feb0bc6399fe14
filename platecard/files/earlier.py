"""Reading from git: a spec with its menu and library, as they were earlier.

In: the dish, and the number of one of its revisions or a day.  Out: a :class:`~platecard.files.reading.Project`, or
:class:`~platecard.files.reading.UsageError` with a sentence for the user.  Git is run with
a list of arguments and without a shell.  It is only asked to name commits, list a folder
and print files; it may not contact another machine or run anything that a repository's
settings name.  The amount it may print is limited.

The threat is a repository from elsewhere, whose settings, refs and objects somebody else
wrote.  Git checks its own safety list (``safe.directory``) before it opens a repository
of another user, and that check stays in force.  Git runs programs named in a repository's
settings only when it contacts a remote (a partial clone asks for missing objects),
compares, checks out or writes.  So all protocols are disabled through the environment,
which settings cannot override, and only commands that read objects are used.
"""

from __future__ import annotations

import os
import re
import signal
import subprocess
import threading
from collections.abc import Iterable
from datetime import date
from typing import IO, NamedTuple, cast

from platecard.diagnostics import Problem, Span, error
from platecard.files.entries import (
    FOLDER,
    LEFT,
    NOTHING,
    PLAIN,
    YAML,
    is_key,
    is_yaml,
    judged,
    judged_text,
    originals,
    stem,
)
from platecard.files.folders import CLOSED, JudgedEntry
from platecard.files.reading import Candidate, Project, UsageError, named, read_library
from platecard.yaml_nodes import MAX_BYTES, Mapping, Scalar, decode, parse

MAX_FILES = 5_000
# Copies of one spec that are looked through for a revision number.
MAX_COPIES = 500
# Git reads no later day.
LAST_DAY = date(2099, 12, 31)
MAX_LISTING = 4_000_000
MAX_TOTAL = 64_000_000
_SECONDS = 30
_MISSING = "git is not installed here, so no earlier revision can be read; compare two files instead"
_REVISION = re.compile(r"[^\s\x00-\x1f\x7f:-][^\s\x00-\x1f\x7f:]{0,199}\Z")
_NO_FILES = {
    "120000": "the file is a link in that revision, and links are not followed there",
    "160000": "this is another repository in that revision, and it is not read",
}
_PARTLY = (
    "if this is a partial copy of a repository, check that revision out once to fetch its files, or compare two files"
)
# Run nothing that a repository names, take paths literally and not as patterns, and do not mistake a folder that
# looks like a bare repository for one.
_SAFE = (
    "--no-pager",
    "--literal-pathspecs",
    "-c",
    "protocol.allow=never",
    "-c",
    "core.fsmonitor=false",
    "-c",
    f"core.hooksPath={os.devnull}",
    "-c",
    "credential.helper=",
    "-c",
    "safe.bareRepository=explicit",
)
# Settings cannot override these.  No protocol is called "none", so none is allowed.
_SHUT = {
    "GIT_ALLOW_PROTOCOL": "none",
    "GIT_PROTOCOL_FROM_USER": "0",
    "GIT_NO_LAZY_FETCH": "1",
    "GIT_TERMINAL_PROMPT": "0",
    "GIT_OPTIONAL_LOCKS": "0",
    "GIT_NO_REPLACE_OBJECTS": "1",
    "GIT_GRAFT_FILE": os.devnull,
    "GIT_ATTR_NOSYSTEM": "1",
}
# The only variables of the user's that git still sees: they restrict it, or say where the user's settings and git are.
_KEPT = {"GIT_CEILING_DIRECTORIES", "GIT_CONFIG_GLOBAL", "GIT_CONFIG_SYSTEM", "GIT_CONFIG_NOSYSTEM", "GIT_EXEC_PATH"}


class _Blob(NamedTuple):
    """A file in a revision.  ``mode`` tells files from links; ``size`` (bytes) is -1 if git does not have it here."""

    path: str
    mode: str
    id: str
    size: int


def of_number(path: str, number: int, kitchen: str | None = None) -> Project:
    """The dish as it last was under the chef's revision ``number``, with the menu and library of that time.

    ``path`` is its spec, or its key.  UsageError if no copy has that number.
    """
    top, spec, commits = _history(path)
    for at, commit in enumerate(commits):
        if _number(top, commit, spec) == number:
            # The library may have changed after the spec did: what was issued last stood just before the next number.
            later = f"{commits[at - 1]}^" if at else "HEAD"
            last = later if _number(top, later, spec) == number else commit
            return read_project(last, _from_here(top, spec), kitchen)
    raise UsageError(f"no earlier copy of {spec} has revision {number}; compare two files instead, or name a day")


def as_of(path: str, day: date, kitchen: str | None = None) -> Project:
    """The dish as it was at the end of ``day``, with the menu and library of that time.

    ``path`` is its spec, or its key.  UsageError if there is no copy of that day or before.
    """
    top, spec, _ = _history(path)
    none = f"there is no copy of {spec} of {day.isoformat()} or before"
    end = min(day, LAST_DAY).isoformat()
    commit = _git(top, "rev-list", "-1", f"--before={end} 23:59:59", "HEAD", what=none)
    if not commit.strip():
        raise UsageError(none)
    return read_project(commit.decode("ascii", "replace").strip(), _from_here(top, spec), kitchen)


def _history(path: str) -> tuple[str, str, list[str]]:
    """The top of the repository, the spec's path from there, and the commits that changed it, the newest first."""
    _check_path(path)
    top = _top("the earlier copies of a dish")
    spec, _ = _spec(top, "HEAD", "the last copy", path)
    none = f"there are no earlier copies of {spec}"
    listed = _git(top, "rev-list", f"--max-count={MAX_COPIES}", "HEAD", "--", spec, what=none)
    return top, spec, listed.decode("ascii", "replace").split()


def _from_here(top: str, spec: str) -> str:
    """A path from the top of the repository, as it is named from the current folder."""
    return os.path.relpath(os.path.join(top, spec)).replace(os.sep, "/")


def _number(top: str, commit: str, spec: str) -> int | None:
    """The revision number in a copy of a spec; None where there is none, or it cannot be read."""
    blob = next((b for b in _listed(top, commit, spec, is_file=True) if b.path == spec), None)
    text = _texts(top, [blob]).get(blob.id) if blob is not None else None
    tree = parse(text.decode("utf-8", "replace"), spec)[0] if text is not None else None
    revision = tree.get("revision") if isinstance(tree, Mapping) else None
    number = revision.get("number") if isinstance(revision, Mapping) else None
    value = number.value if isinstance(number, Scalar) else None
    return value if isinstance(value, int) and not isinstance(value, bool) else None


def read_project(revision: str, path: str, kitchen: str | None = None) -> Project:
    """The spec at ``path`` with its menu and library, as they were in ``revision``; UsageError if it cannot be read."""
    if not _REVISION.match(revision):
        given = revision if revision.isprintable() and len(revision) < 80 else ascii(revision[:60])
        raise UsageError(f"'{given}' cannot name a copy")
    _check_path(path)
    top = _top(revision)
    unknown = f"git knows no revision '{revision}' here"
    commit = (
        _git(".", "rev-parse", "--verify", "--quiet", revision + "^{commit}", what=unknown)
        .decode("ascii", "replace")
        .strip()
    )
    if not re.fullmatch(r"[0-9a-f]{40}|[0-9a-f]{64}", commit):
        raise UsageError(unknown)
    spec, blob = _spec(top, commit, revision, path)
    folder = spec.rpartition("/")[0]
    library_at, library = _library(top, commit, revision, folder, kitchen)
    root = library_at.rpartition("/")[0]
    own_menu = f"{root}/specs".lstrip("/")
    menu = {b.path: b for b in _listed(top, commit, own_menu, deep=True)}
    is_own = f"{folder}/".startswith(f"{own_menu}/")
    beside = {} if is_own else {b.path: b for b in _listed(top, commit, folder) if is_yaml(b.path)}
    texts = _texts(top, [*library, *menu.values(), *beside.values(), blob])

    def shown(name: str) -> str:
        return os.path.relpath(f"/{name}", f"/{root}").replace(os.sep, "/")

    blobs = {b.path: b for b in (*library, *menu.values(), *beside.values(), blob)}
    inside = ((f, shown(f.path)) for f in _judged(library, library_at, texts))
    read, unread, account = read_library(
        inside, shown(library_at), lambda f, own: _text(blobs[f.path], texts, shown(f.path), own)
    )
    if not is_key(stem(spec)):
        raise UsageError(
            f"'{stem(spec)}' is not the name of a dish: use small letters, digits and hyphens, such as lamb-pea.yaml"
        )
    every = ((menu.values(), own_menu), (beside.values(), folder), ([blob], folder))
    found = {f.path: f for some, base in every for f in _judged(some, base, texts)}
    items = []
    for name, f in sorted(found.items()):
        own: list[Problem] = []
        text = _text(blobs[name], texts, shown(name), own) if f.verdict in (YAML, CLOSED) and name in blobs else None
        items.append(
            Candidate(shown(name), f.verdict, f.why, text, tuple(own), name == spec, bool(beside) and name in menu)
        )
    specs, asked, told = named(items)
    problems = tuple(p for s in specs if s.key in asked for p in s.problems)
    return Project(
        os.path.join(top, root), shown(library_at), read, specs, asked, (*problems, *unread), unread, (*account, *told)
    )


def _check_path(path: str) -> None:
    """UsageError for what cannot be the path of a spec."""
    if not path or len(path) > 1000 or not path.isprintable() or path.startswith("-"):
        raise UsageError(f"{ascii(path[:60])} cannot be the path of a spec")


def _top(wanted: str) -> str:
    """The top folder of the repository that the current folder is in; UsageError if there is none."""
    answer = _git(
        ".", "rev-parse", "--show-toplevel", what=f"there is no git repository here, so {wanted} cannot be looked up"
    )
    top = os.fsdecode(answer).removesuffix("\n")
    above = os.path.realpath(top)
    if not os.path.isdir(top) or os.path.commonpath([above, os.path.realpath(".")]) != above:
        raise UsageError(
            "the settings of this git repository say that its files lie elsewhere; compare two files instead"
        )
    return top


# --------------------------------------------------------------------------- finding


def _judged(blobs: Iterable[_Blob], base: str, texts: dict[str, bytes]) -> list[JudgedEntry]:
    """How each file below ``base`` is treated, as on disk; a hidden folder is listed once for all its files."""
    folders: dict[str, list[_Blob]] = {}
    for b in blobs:
        folders.setdefault(b.path.rpartition("/")[0], []).append(b)
    found: dict[str, JudgedEntry] = {}
    for folder, here in folders.items():
        beside = originals(b.path.rpartition("/")[2] for b in here)
        closed = _closed(folder, base)
        for b in here:
            verdict, why = judged(b.path.rpartition("/")[2], False, beside)
            if closed is not None:
                found[closed.path] = closed
            elif b.mode in _NO_FILES and verdict != NOTHING:
                found[b.path] = JudgedEntry(b.path, CLOSED, _NO_FILES[b.mode])
            elif verdict == PLAIN:
                text = texts.get(b.id)
                found[b.path] = (
                    JudgedEntry(b.path, LEFT, "a text that cannot be read")
                    if text is None
                    else JudgedEntry(b.path, *judged_text(text.decode("utf-8", "replace")))
                )
            else:
                found[b.path] = JudgedEntry(b.path, verdict, why)
    return [found[path] for path in sorted(found)]


def _closed(folder: str, base: str) -> JudgedEntry | None:
    """The first folder on the way from ``base`` to ``folder`` that is not followed; None if all are."""
    parts = folder[len(base) :].strip("/").split("/") if folder != base else []
    for i, name in enumerate(parts):
        verdict, why = judged(name, True, {})
        if verdict != FOLDER:
            path = "/".join([p for p in (base, *parts[: i + 1]) if p])
            return (
                JudgedEntry(path, CLOSED, "this is a folder, not a file")
                if verdict == YAML
                else JudgedEntry(path, verdict, why)
            )
    return None


def _spec(top: str, commit: str, revision: str, path: str) -> tuple[str, _Blob]:
    """The spec and its path from the top of the repository, however it was named; UsageError if there is none."""
    here = os.path.relpath(os.path.realpath("."), os.path.realpath(top)).replace(os.sep, "/")
    for base in dict.fromkeys((here, ".")):
        if is_key(path):
            specs = os.path.normpath(f"{base}/specs").replace(os.sep, "/")
            listed = () if specs.startswith("..") else _listed(top, commit, specs, deep=True)
            found = [b for b in listed if is_yaml(b.path) and stem(b.path) == path]
            if found:
                first = min(found, key=lambda b: (b.path.count("/"), b.path))
                return first.path, first
        full = os.path.normpath(f"{base}/{path}").replace(os.sep, "/")
        if os.path.isabs(path):
            full = os.path.relpath(os.path.realpath(path), os.path.realpath(top)).replace(os.sep, "/")
        if full == "." or full == ".." or full.startswith("../"):
            continue
        blob = next((b for b in _listed(top, commit, full, is_file=True) if b.path == full), None)
        if blob is not None:
            return full, blob
    raise UsageError(f"there is no spec {path} in {revision}")


def _library(top: str, commit: str, revision: str, folder: str, kitchen: str | None) -> tuple[str, list[_Blob]]:
    """The nearest ``shared/`` in that revision, or the folder named by ``kitchen``, with all its files."""
    if kitchen is not None:
        said = os.path.relpath(os.path.realpath(kitchen), os.path.realpath(top)).replace(os.sep, "/")
        places = [] if said == ".." or said.startswith("../") else [said]
    else:
        parts = folder.split("/") if folder else []
        places = ["/".join([*parts[:i], "shared"]) for i in range(len(parts), -1, -1)]
    for place in places:
        found = _listed(top, commit, place, deep=True)
        if any(is_yaml(b.path) for b in found):
            return place, found
    if kitchen is not None:
        raise UsageError(f"there is no kitchen library {kitchen} in {revision}")
    raise UsageError(f"there is no kitchen library (a folder named shared/) in {revision} beside or above the spec")


# --------------------------------------------------------------------------- git


def _listed(top: str, commit: str, folder: str, deep: bool = False, is_file: bool = False) -> list[_Blob]:
    """The files of a folder in a commit."""
    where = [] if folder in ("", ".") else [folder if is_file else f"{folder}/"]
    out = _git(
        top,
        "ls-tree",
        "-z",
        "-l",
        "--full-tree",
        *(["-r"] if deep else []),
        commit,
        "--",
        *where,
        what=f"git cannot list the files of that revision; {_PARTLY}",
        most=MAX_LISTING,
    )
    found = []
    for row in out.split(b"\0"):
        facts, _, name = row.partition(b"\t")
        parts = facts.split()
        if len(parts) != 4 or parts[1] not in (b"blob", b"commit"):
            continue
        try:
            size = int(parts[3]) if parts[3].isdigit() else 0 if parts[1] == b"commit" else -1
            found.append(_Blob(name.decode("utf-8"), parts[0].decode(), parts[2].decode(), size))
        except ValueError:
            raise UsageError("a file name of that revision is not UTF-8 text") from None
        if len(found) > MAX_FILES:
            raise UsageError(f"more than {MAX_FILES} files in {folder or 'the top folder'} of that revision")
    return found


def _texts(top: str, blobs: list[_Blob]) -> dict[str, bytes]:
    """The contents of the files by their ids, read in one go; files that are too large are left out."""
    wanted = list(dict.fromkeys(b.id for b in blobs if 0 <= b.size <= MAX_BYTES and b.mode not in _NO_FILES))
    size_of = {b.id: b.size for b in blobs}
    if sum(size_of[i] for i in wanted) > MAX_TOTAL:
        raise UsageError(f"the files of that revision have more than {MAX_TOTAL // 1_000_000} MB")
    out = _git(
        top,
        "cat-file",
        "--batch",
        what=f"git cannot read the files of that revision; {_PARTLY}",
        most=MAX_TOTAL + 200 * len(wanted),
        say="".join(f"{i}\n" for i in wanted).encode("ascii"),
    )
    found, at = {}, 0
    for i in wanted:
        end = out.find(b"\n", at)
        head = out[at:end].split()
        if end < 0 or len(head) != 3 or head[0].decode("ascii", "replace") != i:
            raise UsageError("git cannot read the files of that revision")
        size = int(head[2])
        found[i] = out[end + 1 : end + 1 + size]
        at = end + 2 + size
    return found


def _text(blob: _Blob, texts: dict[str, bytes], shown: str, problems: list[Problem]) -> str | None:
    """The decoded text of a file; None if it cannot be read, with the reason added to ``problems``."""
    if blob.mode in _NO_FILES:
        problems.append(error("unreadable", Span(shown), _NO_FILES[blob.mode]))
        return None
    if blob.size < 0:
        problems.append(
            error(
                "unreadable",
                Span(shown),
                "git knows the file's name in that revision, but does not have what was in it",
                _PARTLY,
            )
        )
        return None
    if blob.id not in texts:
        problems.append(
            error(
                "file-too-large",
                Span(shown),
                f"the file has {blob.size / 1e6:.1f} MB; the limit is {MAX_BYTES // 1_000_000} MB",
            )
        )
        return None
    text, found = decode(texts[blob.id], shown)
    problems += found
    return text


def _git(where: str, *arguments: str, what: str, most: int = 10_000, say: bytes = b"") -> bytes:
    """The output of git, at most ``most`` bytes.  UsageError with the sentence ``what`` if git fails."""
    program = _program()
    try:
        process = subprocess.Popen(
            [program, *_SAFE, *arguments],
            cwd=where,
            env=_environment(),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
    except OSError:
        raise UsageError(_MISSING) from None
    late = threading.Event()

    def expire() -> None:
        late.set()
        _stop(process)

    clock = threading.Timer(_SECONDS, expire)
    # Both ends are pipes, so neither is None.
    told = threading.Thread(target=_tell, args=(process.stdin, say), daemon=True)
    output = cast(IO[bytes], process.stdout)
    with process:
        clock.start()
        told.start()
        try:
            out = output.read(most + 1)
            if len(out) > most:
                _stop(process)
            told.join()
            code = process.wait()
        finally:
            clock.cancel()
    if len(out) > most:
        raise UsageError(f"that revision is too large to read: git answers with more than {most / 1e6:.1f} MB")
    if late.is_set():
        raise UsageError(f"git has not answered in {_SECONDS} seconds; compare two files instead")
    if code != 0:
        raise UsageError(what)
    return out


def _program() -> str:
    """The path of the installed git; a program of that name in the current folder is never used."""
    name = "git.exe" if os.name == "nt" else "git"
    for folder in os.get_exec_path():
        path = os.path.join(folder, name)
        if os.path.isabs(folder) and os.path.isfile(path) and os.access(path, os.X_OK):
            return path
    raise UsageError(_MISSING)


def _environment() -> dict[str, str]:
    """The user's environment without variables or paths that steer git, and with every protocol disabled."""
    kept = {k: v for k, v in os.environ.items() if not k.upper().startswith(("GIT_", "SSH_ASKPASS")) or k in _KEPT}
    kept["PATH"] = os.pathsep.join(p for p in os.get_exec_path() if os.path.isabs(p))
    return {**kept, **_SHUT}


def _stop(process: subprocess.Popen[bytes]) -> None:
    """End git and whatever it has started."""
    try:
        if hasattr(os, "killpg"):
            os.killpg(process.pid, signal.SIGKILL)  # git leads a process group of its own
        else:
            process.kill()
    except ProcessLookupError:
        pass  # it has already ended


def _tell(stream: IO[bytes], said: bytes) -> None:
    """Write git's input in a thread of its own, so that neither side waits for the other, and close it."""
    for act in ((lambda: stream.write(said)), stream.close):
        try:
            act()
        except OSError:
            pass  # git has stopped, and its exit code says so
