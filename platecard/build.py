"""The only writer: documents of the asked dishes, written safely, only where out of date.

A file is written beside its place and renamed, so an interrupted build leaves the
old file or the new one.  A dish with an error gets no new card, and its earlier
documents are moved to ``withdrawn/``: an outdated allergen card is worse than none.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass

from . import fingerprint
from .files import is_key
from .pipeline import Prepared
from .problems import Problem, Span, error

RECORD = ".made.json"
WITHDRAWN = "withdrawn"
MENU = "menu"
DOCUMENTS = ("plate.svg", "pass-card.pdf")


@dataclass(frozen=True, slots=True)
class Report:
    """What became of one dish: written, unchanged, withdrawn or withheld (there was nothing to withdraw)."""

    key: str
    state: str
    files: tuple[str, ...]
    problems: tuple[Problem, ...] = ()


def render(prepared: Prepared, is_draft: bool = False) -> dict[str, bytes]:
    """The documents of one dish: file name → bytes.  Pure; drawing only, nothing is decided here."""
    from .documents import pass_card, plate
    from .drawing import pdf, svg

    numbers = plate.number_of(prepared.dish)
    scene = plate.draw(prepared.arrangement, prepared.dish)
    mark = fingerprint.of(prepared)
    pages = pass_card.compose(prepared, scene, numbers, mark, is_draft)
    settings, revision = prepared.world.kitchen.settings, prepared.dish.revision
    subject = f"Pass card, revision {revision.number} of {revision.date}" if revision else "Pass card"
    card = pdf.write(pages, title=prepared.dish.title, author=settings.called, subject=subject, keywords=mark, language=settings.language)
    return {"plate.svg": svg.write(scene).encode("utf-8"), "pass-card.pdf": card}


def build(menu: Iterable[Prepared], out: str, is_draft: bool = False, whole_menu: bool = False, anew: bool = False,
          tell: Callable[[Report], None] = lambda report: None) -> tuple[Report, ...]:
    """Write the documents of ``menu`` below ``out``.

    ``whole_menu``: dishes on record that are no longer on the menu are withdrawn.
    ``anew``: draw even what is up to date.
    """
    menu = tuple(menu)
    record = _read_record(out)
    reports = []
    keys = set()
    for prepared in menu:
        keys.add(prepared.key)
        report = _one(prepared, out, is_draft, anew, record)
        reports.append(report)
        tell(report)
    if whole_menu and menu and menu[0].world.laws:
        reports.append(_menu(menu, out, anew, record))
        tell(reports[-1])
    for key in sorted(set(record) - keys - {MENU}) if whole_menu else ():
        reports.append(_withdraw(key, out, record, ()))
        tell(reports[-1])
    if faults := _write_record(out, record):
        reports.append(Report("", "withheld", (), faults))
        tell(reports[-1])
    return tuple(reports)


def _one(prepared: Prepared, out: str, is_draft: bool, anew: bool, record: dict) -> Report:
    drawable = prepared.is_sound or (is_draft and prepared.dish is not None and prepared.arrangement is not None)
    if not drawable:
        return _withdraw(prepared.key, out, record, prepared.problems)
    draft = is_draft and not prepared.is_sound
    stamp = fingerprint.key(prepared, f"draft={draft} program={_program()}")
    return _written(prepared.key, DOCUMENTS, stamp, lambda: render(prepared, draft), out, anew, record, prepared.problems, "draft" if draft else "written")


def render_menu(menu: Sequence[Prepared]) -> dict[str, bytes]:
    """The documents of the menu as a whole: file name → bytes."""
    from .documents import matrix
    from .drawing import pdf

    settings = menu[0].world.kitchen.settings
    mark = fingerprint.of_menu(menu)[:8]
    pages = matrix.pages(menu, settings.called, mark, settings.language)
    made = {"allergens.pdf": pdf.write(pages, title=f"Allergens of the menu, {settings.called}", author=settings.called, subject="Allergen matrix",
                                       keywords=mark, language=settings.language),
            "allergens.json": (json.dumps(matrix.as_data(menu), indent=1, ensure_ascii=False) + "\n").encode("utf-8")}
    # A byte order mark, because spreadsheets otherwise misread accents.
    made.update({f"allergens-{t.law.key}.csv": t_csv.encode("utf-8-sig") for t in matrix.tables(menu) for t_csv in (matrix.as_csv(t),)})
    return made


def _menu(menu: Sequence[Prepared], out: str, anew: bool, record: dict) -> Report:
    """The allergen matrix.  It is written even where a dish is unsound: the dish then stands there as not established."""
    names = ("allergens.pdf", "allergens.json", *(f"allergens-{law.key}.csv" for law in menu[0].world.laws))
    stamp = f"{fingerprint.of_menu(menu)} {_program()}"
    return _written(MENU, names, stamp, lambda: render_menu(menu), out, anew, record, (), "written")


def _written(key: str, names: Sequence[str], stamp: str, make: Callable[[], dict[str, bytes]], out: str, anew: bool, record: dict,
             problems: tuple[Problem, ...], state: str) -> Report:
    """One folder of documents, drawn only if it is out of date."""
    folder = os.path.join(out, key)
    paths = tuple(os.path.join(folder, name) for name in names)
    known = record.get(key, {})
    if not anew and known.get("key") == stamp and known.get("files") == {n: _digest_of(p) for n, p in zip(names, paths)}:
        return Report(key, "unchanged", paths, problems)
    documents = make()
    try:
        os.makedirs(folder, exist_ok=True)
        # All drafts are complete on the disk before any takes its place.
        drafts = [(_draft(folder, name, data), os.path.join(folder, name)) for name, data in documents.items()]
        for written, place in drafts:
            os.replace(written, place)
    except OSError as exc:
        _sweep(folder)
        return _withdraw(key, out, record, (*problems, _unwritable(folder, exc)))
    except BaseException:
        _sweep(folder)
        raise
    record[key] = {"key": stamp, "files": {n: hashlib.sha256(d).hexdigest() for n, d in documents.items()}}
    return Report(key, state, paths, problems)


def _withdraw(key: str, out: str, record: dict, problems: tuple[Problem, ...]) -> Report:
    """Move a dish's earlier documents out of the way.  Nothing is deleted but an older withdrawn copy of the same."""
    folder = os.path.join(out, key)
    moved = []
    try:
        for name in (n for n in record.get(key, {}).get("files", DOCUMENTS) if os.path.basename(n) == n):
            path = os.path.join(folder, name)
            if os.path.isfile(path):
                place = os.path.join(out, WITHDRAWN, key)
                os.makedirs(place, exist_ok=True)
                os.replace(path, os.path.join(place, name))
                moved.append(os.path.join(place, name))
        if moved and not os.listdir(folder):
            os.rmdir(folder)
    except OSError as exc:
        return Report(key, "withheld", tuple(moved), (*problems, error(
            "cannot-withdraw", Span(folder.replace(os.sep, "/")), f"the earlier documents no longer hold and cannot be moved: {exc.strerror or exc}",
            "delete them by hand, and take down what was printed from them")))
    record.pop(key, None)
    return Report(key, "withdrawn" if moved else "withheld", tuple(moved), problems)


def _draft(folder: str, name: str, data: bytes) -> str:
    path = os.path.join(folder, f".{name}.{os.getpid()}.part")
    with open(path, "wb") as stream:
        stream.write(data)
        stream.flush()
        os.fsync(stream.fileno())
    return path


def _sweep(folder: str) -> None:
    """Take away what an interrupted write of ours left behind."""
    try:
        for entry in os.scandir(folder):
            if entry.name.startswith(".") and entry.name.endswith(f".{os.getpid()}.part"):
                os.unlink(entry.path)
    except OSError:
        pass


def _unwritable(path: str, exc: OSError) -> Problem:
    return error("cannot-write", Span(path.replace(os.sep, "/")), f"the documents cannot be written: {exc.strerror or exc}",
                 "nothing half-written was left behind")


def _digest_of(path: str) -> str:
    try:
        with open(path, "rb") as stream:
            return hashlib.sha256(stream.read()).hexdigest()
    except OSError:
        return ""


def _program() -> str:
    """A digest of the drawing code and fonts, so that a changed program renders anew."""
    global _PROGRAM
    if _PROGRAM is None:
        from .packaged import DATA

        state = hashlib.sha256()
        base = os.path.dirname(DATA)
        for folder in ("documents", "drawing", "layout", os.path.join("data", "fonts")):
            for name in sorted(os.listdir(os.path.join(base, folder))):
                if name.endswith((".py", ".ttf", ".woff2")):
                    with open(os.path.join(base, folder, name), "rb") as stream:
                        state.update(stream.read())
        _PROGRAM = state.hexdigest()
    return _PROGRAM


_PROGRAM: str | None = None


def _read_record(out: str) -> dict:
    try:
        with open(os.path.join(out, RECORD), encoding="utf-8") as stream:
            read = json.load(stream)
        # A key becomes a folder below ``out``, so nothing but a dish's name is taken from the record.
        return {k: v for k, v in read.items() if is_key(k) and isinstance(v, dict)} if isinstance(read, dict) else {}
    except (OSError, ValueError):
        return {}


def _write_record(out: str, record: dict) -> tuple[Problem, ...]:
    data = json.dumps(record, indent=1, sort_keys=True).encode() + b"\n"
    try:
        os.makedirs(out, exist_ok=True)
        os.replace(_draft(out, RECORD.lstrip("."), data), os.path.join(out, RECORD))
    except OSError as exc:
        _sweep(out)
        return (_unwritable(out, exc),)
    return ()
