"""The data files of the package: laws, catalogue, units, schemas, fonts.

Only this module opens them.  They are found beside it, whatever the working folder
or the environment.
"""

from __future__ import annotations

import os

DATA = os.path.join(os.path.dirname(os.path.abspath(__file__)), "data")


def path_of(*names: str) -> str:
    """The path of a packaged file, given the folders below ``data`` and its name."""
    return os.path.join(DATA, *names)


def read_text(*names: str) -> str:
    """The text of a packaged UTF-8 file, with its line ends as they are."""
    with open(path_of(*names), encoding="utf-8", newline="") as stream:
        return stream.read()


def names_in(folder: str, ending: str) -> tuple[str, ...]:
    """The names of the files in a packaged folder that end with ``ending``, sorted."""
    return tuple(sorted(n for n in os.listdir(path_of(folder)) if n.endswith(ending)))
