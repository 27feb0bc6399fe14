"""The edge on the reading side: finds the kitchen and the specs, and opens them.

Everything further in works on texts.  A shown path is relative to the project (the
folder that holds ``shared/``), so that messages and documents do not depend on
where the program is started.
"""

from __future__ import annotations

import os
import re
from dataclasses import field

from .frozen import frozen
from .nodes import MAX_BYTES, decode
from .problems import Problem, Span, error
from .reading import kind_of

_KEY = re.compile(r"(?!(?:withdrawn|menu)\Z)[a-z0-9][a-z0-9-]{0,60}\Z")


@frozen
class Spec:
    """A spec as found: its key (the file's stem), shown path and text (None if unreadable)."""

    key: str
    file: str
    text: str | None


@frozen
class Project:
    """All texts of a run.  ``root`` is the folder that holds the kitchen's library.

    ``unread`` are the errors of library files that could not be opened, a part of
    ``problems``: they leave every dish in doubt, because nobody knows what stood there.
    """

    root: str
    folder: str
    library: tuple[tuple[str, str], ...]
    specs: tuple[Spec, ...]
    asked: tuple[str, ...]
    problems: tuple[Problem, ...] = field(default=())
    unread: tuple[Problem, ...] = field(default=())

    def sources(self) -> dict[str, str]:
        """Shown path → text, for messages with the line in question."""
        return {**dict(self.library), **{s.file: s.text for s in self.specs if s.text is not None}}

    def shown(self, path: str) -> str:
        """A path from here as it is shown: relative to the project."""
        return _shown(path, self.root)

    def on_disk(self, shown: str) -> str:
        """A shown path as it can be opened from here."""
        return shown if shown.startswith("platecard/data/") else os.path.relpath(os.path.join(self.root, shown))


class UsageError(Exception):
    """The command line asks for something that is not there (exit 2)."""


def is_key(name: str) -> bool:
    """Whether a dish can be named so: the name becomes a folder of the output, where ``menu`` and ``withdrawn`` are taken."""
    return _KEY.match(name) is not None


def read_project(paths: list[str], kitchen: str | None = None) -> Project:
    """The specs under ``paths`` (files, folders, or names of dishes in ``specs/``) and their kitchen.

    The whole menu is read, because shared equipment hands allergens from dish to
    dish: ``asked`` names the keys that were asked for.
    """
    wanted = [_existing(p, kitchen) for p in (paths or ["specs"])]
    root_of = kitchen or next((k for p in wanted if (k := _nearest_shared(p))), None)
    if root_of is None:
        raise UsageError(f"no kitchen library (a folder named shared/) beside or above {wanted[0]}; name one with --kitchen DIR")
    if not os.path.isdir(root_of):
        raise UsageError(f"there is no folder {root_of}")
    root = os.path.dirname(os.path.abspath(root_of))
    problems: list[Problem] = []
    unread: list[Problem] = []
    library = []
    for path in sorted(_yaml_below(root_of)):
        shown = _shown(path, root)
        if kind_of(shown) is None:
            problems.append(Problem("stray-file", "warning", Span(shown), "this file is none of kitchen, pantry*, plates* or recipes/*, and is not read"))
            continue
        text = _text(path, shown, unread)
        if text is not None:
            library.append((shown, text))
    folder = _shown(root_of, root)
    if not any(kind_of(shown) == "kitchen" for shown, _ in library) and not any(kind_of(p.span.file) == "kitchen" for p in unread):
        unread.append(error("no-kitchen-file", Span(f"{folder}/kitchen.yaml"), "there is no such file, so nobody knows which laws apply",
                            "for example two lines: kitchen: The kitchen's name, and laws: [uk]"))
    chosen: dict[str, None] = {}
    menu: dict[str, None] = {}
    for path in wanted:
        files = sorted(f for f in _yaml_in(path)) if os.path.isdir(path) else [path]
        chosen.update(dict.fromkeys(map(os.path.abspath, files)))
        beside = path if os.path.isdir(path) else os.path.dirname(path) or "."
        menu.update(dict.fromkeys(map(os.path.abspath, sorted(_yaml_in(beside)))))
        menu.update(chosen)
    specs: list[Spec] = []
    asked: list[str] = []
    by_key: dict[str, str] = {}
    twice: set[str] = set()
    for path in menu:
        shown = _shown(path, root)
        key = os.path.basename(path).rsplit(".", 1)[0]
        if not is_key(key):
            problems.append(error("bad-file-name", Span(shown), "the file's name becomes the name of its documents and does not fit",
                                  "small letters, digits and hyphens, such as lamb-pea.yaml"))
            continue
        if key in by_key:
            problems.append(error("given-twice", Span(shown), f"'{key}' is also the name of {by_key[key]}", "give one of them another file name"))
            twice.add(key)
            continue
        by_key[key] = shown
        own: list[Problem] = []
        specs.append(Spec(key, shown, _text(path, shown, own)))
        if path in chosen:
            asked.append(key)
            problems += own
    # Which of the two is meant, nobody knows: neither is read.
    specs = [Spec(s.key, s.file, None) if s.key in twice else s for s in specs]
    if not chosen:
        raise UsageError(f"no specs (*.yaml) in {', '.join(wanted)}")
    return Project(root, folder, tuple(library), tuple(specs), tuple(asked), (*problems, *unread), tuple(unread))


def _existing(path: str, kitchen: str | None) -> str:
    """The path itself, or the spec of a dish named without its folder."""
    if os.path.exists(path):
        return path
    if is_key(path):
        bases = [os.path.dirname(os.path.abspath(kitchen))] if kitchen else []
        for base in (*bases, "."):
            for ending in (".yaml", ".yml"):
                candidate = os.path.join(base, "specs", path + ending)
                if os.path.exists(candidate):
                    return os.path.normpath(candidate)
    raise UsageError(f"there is no spec or folder {path}")


def _nearest_shared(path: str) -> str | None:
    here = os.path.abspath(path if os.path.isdir(path) else os.path.dirname(path) or ".")
    while True:
        candidate = os.path.join(here, "shared")
        if os.path.isdir(candidate):
            return candidate
        above = os.path.dirname(here)
        if above == here:
            return None
        here = above


def _yaml_in(folder: str) -> list[str]:
    try:
        found = [e.path for e in os.scandir(folder) if e.name.endswith((".yaml", ".yml")) and not e.name.startswith(".")]
    except OSError as exc:
        raise UsageError(f"{folder} cannot be read: {exc.strerror}") from None
    # A link that leads nowhere is kept: it is reported when it is opened, and never a dish less without a word.
    return [path for path in found if os.path.isfile(path) or not os.path.exists(path)]


def _yaml_below(folder: str) -> list[str]:
    found = []
    for base, folders, _ in os.walk(folder):
        folders[:] = sorted(f for f in folders if not f.startswith("."))
        found += _yaml_in(base)
    return found


def _shown(path: str, root: str) -> str:
    return os.path.relpath(os.path.abspath(path), root).replace(os.sep, "/")


def read_one(path: str) -> str:
    """A file the command line names; UsageError where it cannot be read."""
    found: list[Problem] = []
    text = _text(path, path, found)
    if text is None:
        raise UsageError(f"{path}: {found[0].message}")
    return text


def _text(path: str, shown: str, problems: list[Problem]) -> str | None:
    try:
        with open(path, "rb") as stream:
            # One byte more than allowed is enough to know that it is too much.
            data = stream.read(MAX_BYTES + 1)
            if len(data) > MAX_BYTES:
                size = os.fstat(stream.fileno()).st_size
                problems.append(error("file-too-large", Span(shown), f"the file has {size / 1e6:.1f} MB; the limit is {MAX_BYTES // 1_000_000} MB"))
                return None
    except OSError as exc:
        problems.append(error("unreadable", Span(shown), f"the file cannot be read: {exc.strerror}"))
        return None
    text, found = decode(data, shown)
    problems += found
    return text
