"""Files of the output, read without following links and written whole or not at all.

A file is written beside its place under a name that begins with a dot and ends in
``.part``, made complete on the disk, and renamed.
"""

from __future__ import annotations

import errno
import hashlib
import os
import re
import stat
from collections.abc import Iterable, Iterator

from platecard.diagnostics import Problem, Span, error

Pieces = Iterable[bytes]

_DRAFT = re.compile(r"\..+\.[0-9]+\.part\Z")


def ensure_folder(path: str) -> None:
    """Make a folder of the output where there is none.  OSError for a link: what is written must lie here."""
    if os.path.islink(path):
        raise OSError(errno.ELOOP, "this is a link, and the documents must lie in the folder itself", path)
    try:
        os.mkdir(path)
    except FileExistsError:
        if not os.path.isdir(path):
            raise


def draft(folder: str, name: str, pieces: Pieces, is_lasting: bool = True) -> str:
    """A file beside its place, complete on the disk (``is_lasting``) or at least in the system's hands."""
    path = os.path.join(folder, f".{name.lstrip('.')}.{os.getpid()}.part")
    remove(path)
    with open(path, "xb") as stream:
        for piece in pieces:
            stream.write(piece)
        stream.flush()
        if is_lasting:
            os.fsync(stream.fileno())
    return path


def sweep(folder: str, only: str = "") -> None:
    """Take away the drafts that an interrupted write left in ``folder``, or ``only`` those of one name."""
    for name in names(folder):
        if _DRAFT.match(name) and name.startswith(f".{only.lstrip('.')}"):
            remove(os.path.join(folder, name))


def remove(path: str) -> None:
    """Take a file away if it is there and can be."""
    try:
        os.unlink(path)
    except OSError:
        pass


def drop_empty(folder: str) -> None:
    """Take a folder away if nothing lies in it."""
    try:
        if not os.path.islink(folder):
            os.rmdir(folder)
    except OSError:
        pass  # something else lies there, or nothing does


def names(folder: str) -> list[str]:
    """What lies in a folder that is no link, in order; nothing where it cannot be read."""
    try:
        return [] if os.path.islink(folder) else sorted(os.listdir(folder))
    except OSError:
        return []


def is_plain(path: str) -> bool:
    """Whether there is a file here that is no link, no folder and no device."""
    try:
        return stat.S_ISREG(os.lstat(path).st_mode)
    except (OSError, ValueError):
        return False


def read(path: str, most: int) -> bytes:
    """The bytes of a plain file.  OSError for a link, for what is no file, and for more than ``most`` bytes."""
    with open(path, "rb", opener=_at_once) as stream:
        if not stat.S_ISREG(os.fstat(stream.fileno()).st_mode):
            raise OSError(errno.EINVAL, "this is not a file", path)
        data = stream.read(most + 1)
    if len(data) > most:
        raise OSError(errno.EFBIG, f"it has more than {most / 1e6:g} MB", path)
    return data


def begins_with(path: str, starts: tuple[bytes, ...]) -> bool:
    """Whether a plain file begins with one of ``starts``."""
    try:
        with open(path, "rb", opener=_at_once) as stream:
            return stream.read(max(map(len, starts))).startswith(starts)
    except OSError:
        return False


def digest_of(path: str) -> str:
    """The SHA-256 of a plain file in hex digits; nothing where there is none."""
    if not is_plain(path):
        return ""
    try:
        with open(path, "rb", opener=_at_once) as stream:
            return hashlib.sha256(stream.read()).hexdigest()
    except OSError:
        return ""


def _at_once(path: str, flags: int) -> int:
    """Open what is named itself, and without waiting: what was a file may be a link or a pipe by now."""
    return os.open(path, flags | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0))


def passed_on(pieces: Pieces, digest: hashlib._Hash) -> Iterator[bytes]:
    """The pieces as they are, each added to the digest on its way."""
    for piece in pieces:
        digest.update(piece)
        yield piece


def shown(path: str) -> Span:
    """A place in the output for a message, told from the root on: it is none of the project's own."""
    return Span(os.path.abspath(path).replace(os.sep, "/"))


def file_in_the_way(folder: str) -> str:
    """The file that is where a folder of the output is to be, or one above it; empty where there is none."""
    while folder and not os.path.isdir(folder):
        if os.path.isfile(folder):
            return folder
        above = os.path.dirname(folder)
        if above == folder:
            break
        folder = above
    return ""


def cannot_write(path: str, exc: OSError) -> Problem:
    """The error for a file or folder that cannot be written, with what to do."""
    if isinstance(exc, FileExistsError | NotADirectoryError) and (file := file_in_the_way(path)):
        return error(
            "cannot-write",
            shown(path),
            f"the documents cannot be written: a file called {os.path.basename(file)} is in the way of their folder",
            "move or rename that file, or name another folder with --out; then build again",
        )
    return error(
        "cannot-write",
        shown(path),
        f"the documents cannot be written: {exc.strerror or exc}",
        "make room, or allow platecard to write there, then build again; nothing half-written was left behind",
    )
