"""Which libraries are installed here, since another version of one may write another page.

Asked without loading any of them: an installer leaves a folder ``NAME-VERSION.dist-info``
(or ``.egg-info``) beside what it has installed (source: the packaging standard "Recording
installed projects"), and the name of the first that is found on the path says enough.
"""

from __future__ import annotations

import os
import re
import sys

# What reads the tables and writes the pages.
USED = ("reportlab", "rl_accel", "svgwrite", "pyphen", "pyyaml", "jsonschema", "jsonschema_rs")
_RECORD = re.compile(r"(.+?)-([^-]+)(?:-py[0-9.]+)?\.(?:dist-info|egg-info)\Z")


def versions() -> str:
    """The versions of the libraries that are used, as one line; a library that is not found is left out.

    Python's own is no part of it: two of them write the same pages, and would draw each other's anew.
    """
    found: dict[str, str] = {}
    for folder in sys.path:
        try:
            names = sorted(os.listdir(folder or "."))
        except OSError:
            continue  # an archive, or a folder that is not there
        for name in names:
            record = _RECORD.match(name)
            if record and (known := record[1].lower().replace("-", "_")) in USED:
                found.setdefault(known, record[2])
    return " ".join(f"{name} {found[name]}" for name in USED if name in found)
