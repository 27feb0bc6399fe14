"""Finding the kitchen and its specs on disk, and opening them.

The rest of the package works on texts alone.  A *shown* path is relative to the project
(the folder that holds ``shared/``), so that messages and documents do not depend on where
the program is started.  Every entry under ``specs/`` and ``shared/`` is accounted for: a
file that cannot be read, or may be anything, counts as an unknown and is never skipped.
"""

from __future__ import annotations

import os
import re
from collections.abc import Callable, Iterable
from typing import NamedTuple

from platecard.diagnostics import Problem, Span, did_you_mean, error, meant
from platecard.files import entries, folders
from platecard.files.entries import NOTHING, UNKNOWN, Entry, is_key, is_yaml
from platecard.files.folders import CLOSED, JudgedEntry
from platecard.knowledge.names import fold
from platecard.reading import drafts, kind_of
from platecard.yaml_nodes import MAX_BYTES, decode


class Spec(NamedTuple):
    """A spec as found: its key (the file's stem, or one that fits), shown path and text (None if unreadable).

    ``problems`` are those of the file itself.  A spec with ``is_neighbour`` is on the
    kitchen's own menu and not where specs were asked for: it counts for shared equipment only.
    """

    key: str
    file: str
    text: str | None
    problems: tuple[Problem, ...] = ()
    is_neighbour: bool = False

    @property
    def is_draft(self) -> bool:
        """Whether its first line marks it as a draft; a mark further down is found when the spec is read."""
        return self.text is not None and drafts.marks(self.text).is_draft


class Project(NamedTuple):
    """All texts of a run.  ``root`` is the folder that holds the kitchen's library.

    ``unread`` are the errors of library files that could not be opened.  They are part of
    ``problems`` and leave every dish in doubt, because those files may have said anything.
    ``account`` lists every entry of the folders with what it counts as.  ``named`` are the
    keys in ``asked`` that were named one by one, not through their folder.
    """

    root: str
    folder: str
    library: tuple[tuple[str, str], ...]
    specs: tuple[Spec, ...]
    asked: tuple[str, ...]
    problems: tuple[Problem, ...] = ()
    unread: tuple[Problem, ...] = ()
    account: tuple[Entry, ...] = ()
    named: tuple[str, ...] = ()

    def sources(self) -> dict[str, str]:
        """Shown path → text, for messages that quote a line."""
        return {**dict(self.library), **{s.file: s.text for s in self.specs if s.text is not None}}

    def shown(self, path: str) -> str:
        """A path on disk as it is shown: relative to the project."""
        return _shown(path, self.root)

    def on_disk(self, shown: str) -> str:
        """A shown path as it can be opened from the current folder."""
        return shown if shown.startswith("platecard/data/") else os.path.relpath(os.path.join(self.root, shown))


_TITLE = re.compile(r"^dish:[ \t]+([^#\n]*)", re.MULTILINE)


class UsageError(Exception):
    """The command line asks for something that is not there (exit 2)."""


class Candidate(NamedTuple):
    """One entry that may be a dish.  ``why`` says why it cannot be read or is left over; ``text`` is its contents."""

    file: str
    verdict: str
    why: str = ""
    text: str | None = None
    problems: tuple[Problem, ...] = ()
    is_asked: bool = False
    is_neighbour: bool = False


# --------------------------------------------------------------------------- the project


def read_project(paths: list[str], kitchen: str | None = None, may_be_begun: bool = False) -> Project:
    """The specs under ``paths`` (files, folders, or names of dishes in ``specs/``) and their kitchen.

    The whole menu is read, because shared equipment carries allergens from dish to dish;
    ``asked`` in the result are the keys that were asked for.  UsageError if a path, the
    library or the specs are missing; with ``may_be_begun``, a kitchen that was asked for
    whole may be a library without a dish so far.
    """
    if may_be_begun and not paths and (begun := _begun(kitchen)):
        return begun
    wanted = [_existing(p, kitchen) for p in paths or ["specs"]]
    root_of = kitchen or next((k for p in wanted if (k := _nearest_shared(p))), None)
    if root_of is None:
        raise UsageError(
            f"no kitchen library (a folder named shared/) beside or above {wanted[0]}; name one with --kitchen DIR"
        )
    if not os.path.isdir(root_of):
        raise UsageError(f"there is no folder {root_of}")
    root = os.path.dirname(os.path.abspath(root_of))
    folder, library, unread, account = _library(root_of, root)
    items = [_item(f, root, is_asked, is_neighbour) for f, is_asked, is_neighbour in _menu(wanted, root_of, root)]
    if not any(i.is_asked and i.verdict != NOTHING for i in items):
        raise UsageError(f"no specs (*.yaml) in {', '.join(wanted)}")
    specs, asked, told = named(items)
    files = {_shown(p, root) for p in wanted if not os.path.isdir(p)}
    one_by_one = tuple(s.key for s in specs if s.key in asked and s.file in files)
    problems = tuple(p for s in specs if s.key in asked for p in s.problems)
    every = tuple(sorted((*account, *told), key=lambda e: e.file))
    return Project(root, folder, library, specs, asked, (*problems, *unread), unread, every, one_by_one)


def read_kitchen(near: str) -> Project | None:
    """The library nearest to a path, as a project without dishes; None if there is none."""
    root_of = _nearest_shared(near)
    return None if root_of is None else _without_dishes(root_of)


def _begun(kitchen: str | None) -> Project | None:
    """The project of a library that has no dish beside it so far; None where there is one, or no library."""
    root_of = kitchen or _nearest_shared(os.curdir)
    if root_of is None or not os.path.isdir(root_of):
        return None
    own_menu = os.path.join(os.path.dirname(os.path.abspath(root_of)), "specs")
    for folder in ("specs", own_menu):
        if os.path.lexists(folder) and not os.path.isdir(folder):
            return None
        if os.path.isdir(folder) and any(f.verdict != NOTHING for f in _below(folder)):
            return None
    return _without_dishes(root_of)


def _without_dishes(root_of: str) -> Project:
    root = os.path.dirname(os.path.abspath(root_of))
    folder, library, unread, account = _library(root_of, root)
    return Project(root, folder, library, (), (), unread, unread, account)


Texts = tuple[tuple[str, str], ...]


def _library(root_of: str, root: str) -> tuple[str, Texts, tuple[Problem, ...], tuple[Entry, ...]]:
    """The shown path of the library, and what :func:`read_library` returns for it."""
    folder = _shown(root_of, root)
    inside = ((f, _shown(f.path, root)) for f in _below(root_of))
    return folder, *read_library(inside, folder, lambda f, own: _text(f.path, _shown(f.path, root), own))


Read = Callable[[JudgedEntry, list[Problem]], str | None]


def read_library(
    found: Iterable[tuple[JudgedEntry, str]], folder: str, read: Read
) -> tuple[Texts, tuple[Problem, ...], tuple[Entry, ...]]:
    """The texts of the library, the errors of entries that are not read, and what each entry counts as.

    ``found`` are entries with their shown paths; ``read`` returns the text of one, or None
    with the reason added to the list of problems it is given.
    """
    texts: list[tuple[str, str]] = []
    unread: list[Problem] = []
    account: list[Entry] = []
    for one, shown in found:
        kind = kind_of(shown) if one.verdict == entries.YAML else None
        own: list[Problem] = []
        if one.verdict == NOTHING:
            account.append(Entry(shown, NOTHING, one.why))
        elif kind is not None:
            text = read(one, own)
            if text is not None:
                texts.append((shown, text))
            account.append(Entry(shown, kind) if text is not None else Entry(shown, UNKNOWN, own[0].message))
        elif one.verdict == CLOSED:
            own.append(error("unreadable", Span(shown), one.why, f"correct it, or move it out of {folder}/"))
        else:
            why = one.why or "by its name it is neither kitchen, plates, pantry nor recipes/"
            own.append(
                error(
                    "left-over",
                    Span(shown),
                    f"it is not clear whether this belongs to the library: {why}",
                    "if it does, name it kitchen.yaml, plates.yaml, pantry-….yaml or recipes/….yaml; "
                    f"if not, move it out of {folder}/",
                )
            )
        if own and kind is None:
            account.append(Entry(shown, UNKNOWN, one.why or own[0].message))
        unread += own
    places = (p.span.file for p in unread if p.span is not None)
    if not any(kind_of(file) == "kitchen" for file in (*(shown for shown, _ in texts), *places)):
        unread.append(
            error(
                "no-kitchen-file",
                Span(f"{folder}/kitchen.yaml"),
                "this file is missing, so which laws apply is not known",
                "write it, for example two lines: kitchen: The kitchen's name, and laws: [uk]",
            )
        )
    return tuple(texts), tuple(unread), tuple(account)


def named(items: Iterable[Candidate]) -> tuple[tuple[Spec, ...], tuple[str, ...], tuple[Entry, ...]]:
    """The candidates as specs, each under a key of its own; the keys asked for; what each candidate counts as.

    A file whose name cannot be a key gets one that fits, so that the dish still counts for
    shared equipment; an error says what to rename it to.  A file that was asked for replaces
    the dish of the same name on the kitchen's own menu.  Drafts come last, so that no dish
    of the menu is renamed or left unread because of one.
    """
    items = list(items)
    ideas = [i for i in items if _is_draft(i)]
    if not ideas:
        return _named(items)
    specs, asked, account = _named([i for i in items if not _is_draft(i)])
    more, wanted, told = _named(ideas, {s.key: s.file for s in specs})
    return (*specs, *more), (*asked, *wanted), (*account, *told)


def _is_draft(item: Candidate) -> bool:
    return item.text is not None and drafts.marks(item.text).is_draft


def _named(
    items: list[Candidate], menu: dict[str, str] | None = None
) -> tuple[tuple[Spec, ...], tuple[str, ...], tuple[Entry, ...]]:
    """:func:`named` of the dishes of the menu, or of drafts beside a ``menu`` whose names are taken (key → file)."""
    asked_for = {_proper(i): i.file for i in reversed(items) if i.is_asked}
    near = {_proper(i) for i in items if not i.is_neighbour}
    taken = {_proper(i) for i in items} | (menu or {}).keys()
    specs: dict[str, Spec] = {}
    asked: dict[str, None] = {}
    account: list[Entry] = []
    for item in items:
        key, own, text = _proper(item), list(item.problems), item.text
        if item.verdict == NOTHING:
            account.append(Entry(item.file, NOTHING, item.why))
            continue
        if key and item.is_neighbour and key in near:
            if key in asked_for:
                account.append(Entry(item.file, NOTHING, f"{asked_for[key]} is read in its place"))
                continue
            key = entries.fitting(item.file, taken)
            taken.add(key)
        if item.verdict == CLOSED and not own:
            own.append(error("unreadable", Span(item.file), item.why, "correct it, or move it away"))
        if not key:
            key = entries.fitting(item.file, taken)
            taken.add(key)
            own += _nameless(item, key)
        elif menu is not None and (key in menu or key in specs):
            other = menu[key] if key in menu else specs[key].file
            own.append(
                error(
                    "given-twice",
                    Span(item.file),
                    f"'{key}' is also the name of {other}",
                    "give the draft another file name",
                )
            )
            key = entries.fitting(item.file, taken)
            taken.add(key)
        elif key in specs:
            # Nobody knows which of the two is meant, so neither is read.
            own.append(
                error(
                    "given-twice",
                    Span(item.file),
                    f"'{key}' is also the name of {specs[key].file}",
                    "give one of them another file name",
                )
            )
            text = None
        first = specs.get(key) or Spec(key, item.file, None)
        specs[key] = Spec(key, first.file, text, (*first.problems, *own), item.is_neighbour)
        if item.is_asked:
            asked[key] = None
        is_read = text is not None
        if _is_draft(item):
            account.append(_draft_entry(item))
        else:
            account.append(
                Entry(item.file, "dish") if is_read else Entry(item.file, UNKNOWN, item.why or own[0].message)
            )
    unread = {s.file for s in specs.values() if s.text is None}
    told = (
        Entry(e.file, UNKNOWN, "another file has its name") if e.counts_as == "dish" and e.file in unread else e
        for e in account
    )
    return tuple(specs.values()), tuple(asked), tuple(told)


def _draft_entry(item: Candidate) -> Entry:
    on_trial = drafts.marks(item.text or "").is_trial
    return Entry(
        item.file,
        entries.DRAFT,
        "off the menu, and its equipment counts like any dish's" if on_trial else "off the menu",
    )


def _proper(item: Candidate) -> str:
    """The key that a file's name gives; empty if the name cannot be a key."""
    key = entries.stem(item.file)
    return key if item.verdict in (entries.YAML, CLOSED) and is_yaml(item.file) and is_key(key) else ""


def _nameless(item: Candidate, key: str) -> list[Problem]:
    """The error of a file whose name cannot be a key; ``key`` is the one it was given."""
    if item.verdict == entries.YAML:
        return [
            error(
                "bad-file-name",
                Span(item.file),
                "the file's name becomes the name of its documents, and this one cannot",
                f"use small letters, digits and hyphens, such as {key}.yaml",
            )
        ]
    if item.verdict == CLOSED:
        return []
    return [
        error(
            "left-over",
            Span(item.file),
            f"it is not clear whether this is a dish: {item.why}",
            f"if it is, name it {key}.yaml; if not, move it out of the folder of specs",
        )
    ]


# --------------------------------------------------------------------------- finding


def _menu(wanted: list[str], root_of: str, root: str) -> list[tuple[JudgedEntry, bool, bool]]:
    """Every entry that may be a dish, with whether it was asked for and whether it is only a neighbour."""
    own_menu = os.path.join(root, "specs")
    library = os.path.realpath(root_of)
    asked: dict[str, JudgedEntry] = {}
    beside: dict[str, JudgedEntry] = {}
    for path in wanted:
        if not os.path.isdir(path):
            why = folders.not_a_file(path)
            asked[os.path.abspath(path)] = JudgedEntry(path, CLOSED if why else entries.YAML, why)
            folder = os.path.dirname(path) or "."
            near = () if _is_in(folder, own_menu) else _yaml_in(folder)
            beside.update((os.path.abspath(f.path), f) for f in near)
        else:
            # A folder that holds the library holds more than specs, so only its YAML files count.
            inside = _yaml_in(path) if _is_in(library, path) else _below(path)
            asked.update((os.path.abspath(f.path), f) for f in inside)
    is_own = any(_is_in(p, own_menu) for p in wanted)
    menu = {os.path.abspath(f.path): f for f in _below(own_menu)} if os.path.lexists(own_menu) else {}
    neighbours = set() if is_own else set(menu) - set(asked) - set(beside)
    every = {**menu, **beside, **asked}
    return [(every[path], path in asked, path in neighbours) for path in sorted(every)]


def _is_in(path: str, folder: str) -> bool:
    """Whether a path lies in a folder, either as written or after following links."""
    ways = ((whole(path), whole(folder)) for whole in (os.path.abspath, os.path.realpath))
    return any(os.path.commonpath([inner, outer]) == outer for inner, outer in ways)


def _below(folder: str) -> list[JudgedEntry]:
    return folders.below(folder, lambda path: _text(path, path, []))


def _yaml_in(folder: str) -> list[JudgedEntry]:
    try:
        return folders.yaml_in(folder)
    except OSError as exc:
        raise UsageError(f"{folder} cannot be read: {exc.strerror}") from None


def _item(found: JudgedEntry, root: str, is_asked: bool, is_neighbour: bool) -> Candidate:
    shown = _shown(found.path, root)
    own: list[Problem] = []
    text = None
    if found.verdict == entries.YAML:
        text = _text(found.path, shown, own)
        if text is None:
            text = _mark_alone(found.path)
    return Candidate(shown, found.verdict, found.why, text, tuple(own), is_asked, is_neighbour)


def _mark_alone(path: str) -> str | None:
    """The mark of a draft whose text cannot be decoded, so that it stays off the menu; None for any other file."""
    try:
        with open(path, "rb", opener=_at_once) as stream:
            data = stream.read(MAX_BYTES + 1)
    except OSError:
        return None
    found = drafts.marks(data.decode("utf-8", "replace"))
    return "draft: true\n" if len(data) <= MAX_BYTES and not found.counts else None


def _existing(path: str, kitchen: str | None) -> str:
    """The path itself, or the spec of a dish named without its folder; UsageError if there is neither."""
    if os.path.exists(path):
        return path
    bases = [os.path.dirname(os.path.abspath(kitchen))] if kitchen else []
    for base in (*bases, ".") if is_key(path) else ():
        if found := _dish(os.path.join(base, "specs"), path):
            return os.path.normpath(found)
    keys = sorted({key for base in (*bases, ".") for key in _dishes(base)})
    hint = meant(_titled(path, bases or ["."])) or did_you_mean(entries.stem(path), keys)
    raise UsageError(f"there is no spec or folder {path}" + (f"; {hint}" if hint else _where_to_go()))


def _where_to_go() -> str:
    """What to do in a folder that is not a kitchen's; nothing to add where it is one."""
    if os.path.isdir("specs") or os.path.isdir("shared"):
        return ""
    try:
        library = _nearest_shared(os.curdir)
    except UsageError:
        library = None
    if library is not None:
        return f": go to {os.path.relpath(os.path.dirname(library))}, the folder that holds shared/ and specs/"
    return (
        ": this is not a kitchen's folder; go to the one that holds specs/ and shared/, "
        "or lay out a small kitchen here with platecard new"
    )


def _titled(said: str, bases: Iterable[str]) -> list[str]:
    """The keys of the dishes that have these words for a title."""
    found: list[str] = []
    for base in bases:
        folder = os.path.join(base, "specs")
        for one in _below(folder) if " " in said.strip() and os.path.isdir(folder) else ():
            text = _text(one.path, one.path, []) if one.verdict == entries.YAML else None
            line = _TITLE.search(text or "")
            if line is not None and fold(line[1].strip().strip("\"'")) == fold(said):
                found.append(entries.stem(one.path))
    return found


def _dishes(base: str) -> list[str]:
    """The keys of the dishes that lie in the menu of a kitchen's folder, for a hint."""
    try:
        names = os.listdir(os.path.join(base, "specs"))
    except OSError:
        return []
    return [entries.stem(name) for name in names if is_yaml(name) and is_key(entries.stem(name))]


def _dish(folder: str, key: str) -> str | None:
    """The path of a dish's spec in a folder or below it; the one highest up if there are several."""
    if not os.path.isdir(folder):
        return None
    there = (f.path for f in _below(folder) if f.verdict in (entries.YAML, CLOSED) and is_yaml(f.path))
    found = [path for path in there if entries.stem(path) == key]
    return min(found, key=lambda path: (path.count(os.sep), path), default=None)


def _nearest_shared(path: str) -> str | None:
    """The nearest folder ``shared`` beside or above a path; None if there is none."""
    here = os.path.abspath(path if os.path.isdir(path) else os.path.dirname(path) or ".")
    while True:
        candidate = os.path.join(here, "shared")
        if os.path.isdir(candidate):
            return candidate
        if os.path.lexists(candidate):
            # A library further up would be another kitchen's.
            raise UsageError(f"{os.path.relpath(candidate)} is not a folder that can be read")
        above = os.path.dirname(here)
        if above == here:
            return None
        here = above


def _shown(path: str, root: str) -> str:
    return os.path.relpath(os.path.abspath(path), root).replace(os.sep, "/")


def read_one(path: str) -> str:
    """The text of a file that the command line names; UsageError if it cannot be read."""
    found: list[Problem] = []
    text = _text(path, path, found)
    if text is None:
        raise UsageError(f"{path}: {found[0].message}")
    return text


def _at_once(path: str, flags: int) -> int:
    """An opener that never blocks: what was a file may have become a pipe."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _text(path: str, shown: str, problems: list[Problem]) -> str | None:
    """The decoded text of a file; None if it cannot be read, with the reason added to ``problems``."""
    if why := folders.not_a_file(path):
        problems.append(error("unreadable", Span(shown), why))
        return None
    try:
        with open(path, "rb", opener=_at_once) as stream:
            # One byte more than allowed is enough to know that it is too much.
            data = stream.read(MAX_BYTES + 1)
            if len(data) > MAX_BYTES:
                size = os.fstat(stream.fileno()).st_size
                problems.append(
                    error(
                        "file-too-large",
                        Span(shown),
                        f"the file has {size / 1e6:.1f} MB; the limit is {MAX_BYTES // 1_000_000} MB",
                    )
                )
                return None
    except OSError as exc:
        problems.append(error("unreadable", Span(shown), f"the file cannot be read: {exc.strerror}"))
        return None
    text, found = decode(data, shown)
    problems += found
    return text
