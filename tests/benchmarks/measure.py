"""Whole processes, timed from outside: processor time, time on the clock, peak memory.

Processes that are compared run in turn (A B A B), so that a busy minute of the machine meets all of them.
"""

from __future__ import annotations

import atexit
import os
import shutil
import subprocess
import sys
import tempfile
import time
from dataclasses import dataclass
from statistics import median


@dataclass(frozen=True, slots=True)
class Run:
    """One process: seconds of processor (user and system), seconds on the clock, peak memory, what it printed."""

    cpu: float
    wall: float
    peak_mib: float
    out: str


# Compiled modules are kept, as they are for anybody who has run the program once, but apart from the checkout.
_COMPILED = tempfile.mkdtemp(prefix="platecard-bench-")
_ENVIRONMENT = {
    **{k: v for k, v in os.environ.items() if k != "PYTHONDONTWRITEBYTECODE"},
    "PYTHONPYCACHEPREFIX": _COMPILED,
}
atexit.register(shutil.rmtree, _COMPILED, ignore_errors=True)


def process(argv: list[str], folder: str) -> Run:
    """Run ``argv`` in ``folder``.  RuntimeError where it does not end well: a crash would look fast."""
    with tempfile.TemporaryFile() as out, tempfile.TemporaryFile() as err:
        start = time.perf_counter()
        child = subprocess.Popen(argv, cwd=folder, env=_ENVIRONMENT, stdout=out, stderr=err, stdin=subprocess.DEVNULL)
        _, status, used = os.wait4(child.pid, 0)
        wall = time.perf_counter() - start
        child.returncode = os.waitstatus_to_exitcode(status)
        out.seek(0), err.seek(0)
        said = out.read().decode()
        if child.returncode:
            raise RuntimeError(
                f"{' '.join(argv)[:200]} ended with {child.returncode}\n{said[-2000:]}{err.read().decode()[-2000:]}"
            )
    peak = used.ru_maxrss / (2**20 if sys.platform == "darwin" else 2**10)
    return Run(used.ru_utime + used.ru_stime, wall, peak, said)


def in_turn(processes: dict[str, tuple[list[str], str]], times: int) -> dict[str, list[Run]]:
    """Each of ``processes`` (name → command and folder) ``times`` times, one after the other."""
    if times > 2:
        for argv, folder in processes.values():
            process(argv, folder)  # once for nothing: caches of the disk, compiled modules
    found: dict[str, list[Run]] = {name: [] for name in processes}
    for _ in range(times):
        for name, (argv, folder) in processes.items():
            found[name].append(process(argv, folder))
    return found


def middle(runs: list[Run], what: str = "cpu") -> float:
    return median(getattr(run, what) for run in runs)


def ratio(runs: list[Run], base: list[Run], what: str = "cpu") -> float:
    """The median of the ratios of runs that stood side by side."""
    return median(getattr(a, what) / getattr(b, what) for a, b in zip(runs, base))
