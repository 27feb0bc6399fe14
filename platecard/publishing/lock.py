"""One build at a time: a lock on the output folder that goes with the process that holds it.

The system lets go of it when the process ends, however it ends, so a lock is never
stale; what a killed build leaves is an empty claim that the next one takes over.
"""

from __future__ import annotations

import errno
import os
import re
import stat
import time
from collections.abc import Iterator
from contextlib import contextmanager

from platecard.diagnostics import Problem, error, warning
from platecard.publishing import disk

NAME = ".lock"
WAIT_S = 10.0  # for a build that is at work
_EVERY_S = 0.05


@contextmanager
def hold(out: str, wait_s: float | None = None) -> Iterator[tuple[Problem, ...]]:
    """Hold the lock on ``out``; an error, ``already-building``, where another build does not let go in time.

    A warning where there can be no lock: the folder cannot be written, or its disk knows no locks.
    """
    path = os.path.join(out, NAME)
    is_new = not os.path.lexists(out)
    held = None
    faults: tuple[Problem, ...] = ()
    try:
        os.makedirs(out, exist_ok=True)
        held = _taken(path, WAIT_S if wait_s is None else wait_s)
    except BlockingIOError:
        faults = (
            error(
                "already-building",
                disk.shown(path),
                f"another build is writing here{_by_whom(path)}",
                "wait until it is done, or end it; then build again",
            ),
        )
    except OSError as exc:
        if not disk.file_in_the_way(out):  # where a file is, nothing is written, and that is told
            faults = (
                warning(
                    "not-locked",
                    disk.shown(path),
                    f"the folder cannot be locked: {exc.strerror or exc}",
                    "make sure that no other build writes there at the same time",
                ),
            )
    try:
        yield faults
    finally:
        if held is not None:
            disk.remove(path)
            os.close(held)
        if is_new:
            try:
                os.rmdir(out)  # where nothing came of it
            except OSError:
                pass


def _taken(path: str, wait_s: float) -> int:
    """The open file that bears the lock.  BlockingIOError where another process has it all the time."""
    until = time.monotonic() + wait_s
    while True:
        flags = os.O_RDWR | os.O_CREAT | getattr(os, "O_NOFOLLOW", 0) | getattr(os, "O_NONBLOCK", 0)
        held = os.open(path, flags, 0o644)
        try:
            if not stat.S_ISREG(os.fstat(held).st_mode):
                raise OSError(errno.EINVAL, "what is in the lock's place is not a file")
            _lock(held)
            # Who had it before may have taken the file away since it was opened.
            if os.path.lexists(path) and os.path.samestat(os.fstat(held), os.lstat(path)):
                _sign(held)
                return held
            os.close(held)
        except BlockingIOError:
            os.close(held)
            if time.monotonic() >= until:
                raise
            time.sleep(_EVERY_S)
        except BaseException:
            os.close(held)
            raise


def _lock(held: int) -> None:
    try:
        import fcntl
    except ImportError:
        raise OSError(errno.ENOTSUP, "this system has no such locks") from None
    fcntl.flock(held, fcntl.LOCK_EX | fcntl.LOCK_NB)


def _sign(held: int) -> None:
    """Write down who holds the lock.  On a full disk that is lost, and the lock holds all the same."""
    try:
        os.ftruncate(held, 0)
        os.write(held, f"{os.getpid()}\n".encode("ascii"))
    except OSError:
        pass


def _by_whom(path: str) -> str:
    try:
        said = disk.read(path, 100)
    except OSError:
        return ""
    found = re.fullmatch(rb"([0-9]{1,10})\n", said)
    return f" (process {int(found.group(1))})" if found else ""
