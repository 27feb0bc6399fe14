"""The files that travel with the package: laws, catalogue, units, schemas, fonts.

The only place that opens them.  Everything is read from beside this module, so a
changed working folder or environment makes no difference.
"""

from __future__ import annotations

import os

DATA = os.path.join(os.path.dirname(os.path.abspath(__file__)), "data")


def path_of(*names: str) -> str:
    """The path of a packaged file."""
    return os.path.join(DATA, *names)


def read_text(*names: str) -> str:
    """A packaged text file (UTF-8)."""
    with open(path_of(*names), encoding="utf-8", newline="") as stream:
        return stream.read()


def names_in(folder: str, ending: str) -> tuple[str, ...]:
    """The packaged files of a folder with this ending, sorted."""
    return tuple(sorted(n for n in os.listdir(path_of(folder)) if n.endswith(ending)))
