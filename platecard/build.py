"""The only writer: documents of the asked dishes, written safely, only where out of date.

A file is written beside its place and renamed, so an interrupted build leaves the
old file or the new one.  A dish with an error gets no new card, and its earlier
documents are moved to ``withdrawn/``: an outdated allergen card is worse than none.
"""

from __future__ import annotations

import hashlib
import json
import os
from collections.abc import Callable, Container, Iterable, Iterator, Sequence
from dataclasses import replace

from . import fingerprint, issued
from .drawing.pdf_page import Page
from .drawing.scene import Scene
from .entries import is_key
from .frozen import frozen
from .kept_cards import Keeper
from .layout import heights
from .pipeline import Prepared
from .problems import Problem, Span, error
from .recipes import Batch

RECORD = ".made.json"
WITHDRAWN = "withdrawn"
MENU = "menu"
DOCUMENTS = ("plate.svg", "pass-card.pdf", "pass-card.svg")
Pages = tuple[Page, ...]
Pieces = Iterable[bytes]


@frozen
class Report:
    """What became of one dish: written, unchanged, withdrawn or withheld (there was nothing to withdraw)."""

    key: str
    state: str
    files: tuple[str, ...]
    problems: tuple[Problem, ...] = ()
    is_draft: bool = False


def render(prepared: Prepared, is_draft: bool = False, with_recipes: bool = False, keep: Callable[[Pages], None] = lambda card: None) -> dict[str, bytes]:
    """The documents of one dish: file name → bytes.  Drawing only, nothing is decided here.

    ``with_recipes`` asks for the recipe cards too; ``keep`` is handed the pages of the card, for the book.
    """
    from .documents import draft_mark, pass_card, plate
    from .drawing import pdf, svg
    from .layout import checks

    numbers = plate.number_of(prepared.dish)
    shown = checks.faults(prepared.arrangement, prepared.dish) if is_draft else ()
    scene = plate.draw(prepared.arrangement, prepared.dish, faults=shown)
    mark = fingerprint.of(prepared)
    side = _side(prepared)
    pages = pass_card.compose(prepared, scene, numbers, mark, is_draft, side=side)
    marked = draft_mark.banded if is_draft else lambda picture: picture
    bound = tuple(map(pdf.page, pages))
    keep(bound)
    settings, revision = prepared.world.kitchen.settings, prepared.dish.revision
    subject = f"Pass card, revision {revision.number} of {revision.date}" if revision else "Pass card"
    card = pdf.write(bound, title=prepared.dish.title, author=settings.called, subject=subject, keywords=mark, language=settings.language)
    made = {"plate.svg": svg.write(marked(scene)).encode("utf-8"), "pass-card.pdf": card}
    made.update({f"pass-card{f'-{n}' if n > 1 else ''}.svg": svg.write(page).encode("utf-8") for n, page in enumerate(pages, 1)})
    if with_recipes and (recipes := _recipe_cards(prepared, mark, is_draft)):
        made["recipe-cards.pdf"] = pdf.write(recipes, title=f"{prepared.dish.title}: recipe cards", author=settings.called, subject=subject.replace("Pass card", "Recipe cards"),
                                             keywords=mark, language=settings.language)
    if prepared.schedule:
        from .documents import fire_timeline

        made["fire.svg"] = svg.write(marked(fire_timeline.picture(prepared.schedule, language=settings.language))).encode("utf-8")
    if side is not None:
        made["side.svg"] = svg.write(marked(side)).encode("utf-8")
    return made


def _side(prepared: Prepared) -> Scene | None:
    """The view from the guest's side, where height matters."""
    from .documents import plate_side

    return plate_side.draw(prepared.arrangement, prepared.dish) if heights.matter(prepared.arrangement) else None


def _recipe_cards(prepared: Prepared, mark: str, is_draft: bool) -> tuple[Scene, ...]:
    from .documents import recipe_card  # late: most builds need none

    return recipe_card.compose(prepared, mark, is_draft)


def documents_of(prepared: Prepared, with_recipes: bool = False) -> tuple[str, ...]:
    """The names of a dish's documents as far as they are known before it is drawn: a card's further pages have SVGs of their own.

    Recipe cards only where they are asked for and there are recipes, a timeline where something is finished to order.
    """
    cards = ("recipe-cards.pdf",) if with_recipes and any(isinstance(p.use.what, Batch) for p in prepared.resolved.parts) else ()
    return (*DOCUMENTS, *cards, *(("fire.svg",) if prepared.schedule else ()), *(("side.svg",) if heights.matter(prepared.arrangement) else ()))


def on_record(out: str) -> frozenset[str]:
    """The dishes (and the menu) whose documents stand below ``out``, as its record says."""
    return frozenset(key for key, known in _read_record(out).items() if known["files"])


def build(menu: Iterable[Prepared], out: str, is_draft: bool = False, folders: Container[str] = (), anew: bool = False, with_menu: bool = False,
          with_recipes: bool = False, tell: Callable[[Report], None] = lambda report: None) -> tuple[Report, ...]:
    """Write the documents of ``menu`` below ``out``.

    ``folders`` are the folders of specs that are built as a whole: dishes on record that
    came from there and are gone are withdrawn.  ``with_menu``: write the menu's own
    documents, for which ``menu`` must be all of it.  ``with_recipes``: the recipe cards too.
    ``anew``: draw even what is up to date.
    A dish is asked of ``menu`` when the one before it is written, and its drawing is not kept.
    """
    record = _read_record(out)
    reports = []
    kept: list[Prepared] = []
    cards = Keeper(out)
    for prepared in menu:
        prepared = issued.held_against(prepared, record.get(prepared.key, {}).get("issued", {}))
        reports.append(replace(_one(prepared, out, is_draft or prepared.is_draft, anew, record, cards, with_recipes), is_draft=prepared.is_draft))
        tell(reports[-1])
        if with_menu and not prepared.is_draft:
            kept.append(replace(prepared, arrangement=None, traces=()))
        else:
            fingerprint.forget(prepared)
    gone = {key for key, known in record.items() if known["files"]} - {r.key for r in reports} - {MENU}
    if with_menu and kept and kept[0].world.laws:
        reports.append(_menu(kept, out, anew, record, cards))
        tell(reports[-1])
    elif with_menu and not kept and MENU in record:
        reports.append(_withdraw(MENU, out, record, ()))
        tell(reports[-1])
    for key in sorted(k for k in gone if _lies_in(str(record[k].get("spec", "")), folders)):
        cards.drop(key)
        reports.append(_withdraw(key, out, record, ()))
        tell(reports[-1])
    if faults := _write_record(out, record):
        reports.append(Report("", "withheld", (), faults))
        tell(reports[-1])
    return tuple(reports)


def _lies_in(spec: str, folders: Container[str]) -> bool:
    """Whether a spec lay in one of the folders, or in a folder below one."""
    above = spec.split("/")[:-1]
    return ("/".join(above) or ".") in folders or any("/".join(above[:n]) in folders for n in range(1, len(above)))


def _one(prepared: Prepared, out: str, is_draft: bool, anew: bool, record: dict, cards: Keeper, with_recipes: bool) -> Report:
    draft = is_draft and (prepared.is_draft or not prepared.is_sound)
    drawable = prepared.is_sound or (is_draft and prepared.dish is not None and prepared.arrangement is not None)
    if not drawable:
        cards.drop(prepared.key)
        return _withdraw(prepared.key, out, record, prepared.problems)
    stamp = fingerprint.key(prepared, f"draft={draft} recipes={with_recipes} program={_program()}")
    card: list[Pages] = []
    was = record.get(prepared.key, {}).get("issued", {})

    def drawn() -> Iterator[tuple[str, Pieces]]:
        for name, data in render(prepared, draft, with_recipes, card.append).items():
            yield name, (data,)

    report = _written(prepared.key, documents_of(prepared, with_recipes), stamp, drawn, out, anew, record, prepared.problems, "draft" if draft else "written")
    if report.state == "written":
        record[prepared.key]["card"] = cards.put(prepared.key, card[0])
    if prepared.key in record:
        record[prepared.key]["spec"] = prepared.file
        if report.state in ("written", "unchanged", "draft"):
            record[prepared.key]["issued"] = was if draft else issued.remembered(was, prepared)
    return report


def render_menu(menu: Sequence[Prepared], card_of: Callable[[Prepared], Pages] | None = None) -> Iterator[tuple[str, Pieces]]:
    """The documents of the menu as a whole, each as its file name and its bytes in pieces, one after another.

    ``card_of`` has the pages of a dish's card; without it they are drawn.
    """
    from .documents import book, front_of_house, matrix
    from .drawing import pdf

    settings = menu[0].world.kitchen.settings
    mark = fingerprint.code_of_menu(menu)
    pages = matrix.pages(menu, settings.called, mark, settings.language)
    yield "allergens.pdf", (pdf.write(pages, title=f"Allergens of the menu, {settings.called}", author=settings.called, subject="Allergen matrix",
                                      keywords=mark, language=settings.language),)
    del pages
    yield "allergens.json", (text.encode("utf-8") for text in matrix.as_json(menu))
    yield "front-of-house.html", (text.encode("utf-8") for text in front_of_house.page(menu, mark))
    volumes = book.volumes(menu)
    for number, (name, dishes) in enumerate(zip(book.names(menu), volumes), 1):
        volume = f"volume {number} of {len(volumes)}" if len(volumes) > 1 else ""
        pages, bookmarks = book.compose(dishes, card_of or _card, mark, volume)
        yield name, (pdf.write(pages, title=f"Pass cards, {settings.called}{f', {volume}' if volume else ''}", author=settings.called,
                               subject="Pass cards of the menu", keywords=mark, language=settings.language, bookmarks=bookmarks),)
    for law in menu[0].world.laws:
        # A byte order mark, because spreadsheets otherwise misread accents.
        yield f"allergens-{law.key}.csv", (matrix.as_csv(matrix.table(law, menu)).encode("utf-8-sig"),)


def _card(prepared: Prepared) -> Pages:
    """The pages of a card, laid out and drawn anew."""
    from .documents import pass_card, plate
    from .drawing import pdf
    from .layout import arrange

    if prepared.arrangement is None:
        prepared = replace(prepared, arrangement=arrange.place(prepared.dish, prepared.resolved.plate)[0])
    card = pass_card.compose(prepared, plate.draw(prepared.arrangement, prepared.dish), plate.number_of(prepared.dish), fingerprint.of(prepared), side=_side(prepared))
    return tuple(map(pdf.page, card))


def _menu(menu: Sequence[Prepared], out: str, anew: bool, record: dict, cards: Keeper) -> Report:
    """The allergen matrix and the book of cards.  An unsound dish stands there as not established; with no sound dish there is neither."""
    from .documents import book

    if not any(p.is_sound for p in menu):
        return _withdraw(MENU, out, record, ())
    names = ("allergens.pdf", "allergens.json", "front-of-house.html", *book.names(menu), *(f"allergens-{law.key}.csv" for law in menu[0].world.laws))
    stamp = f"{fingerprint.of_menu(menu)} {_program()}"

    def card_of(prepared: Prepared) -> Pages:
        return cards.get(prepared.key, record.get(prepared.key, {}).get("card", "")) or _card(prepared)

    return _written(MENU, names, stamp, lambda: render_menu(menu, card_of), out, anew, record, (), "written")


def _written(key: str, names: Sequence[str], stamp: str, make: Callable[[], Iterable[tuple[str, Pieces]]], out: str, anew: bool, record: dict,
             problems: tuple[Problem, ...], state: str) -> Report:
    """One folder of documents, drawn only if it is out of date."""
    folder = os.path.join(out, key)
    known = record.get(key, {})
    # What was made with the same stamp is what would be made now.
    there = known.get("files", {})
    if not anew and known.get("key") == stamp and there.keys() >= set(names) and all(
            os.path.basename(n) == n and d == _digest_of(os.path.join(folder, n)) for n, d in there.items()):
        return Report(key, "unchanged", tuple(os.path.join(folder, n) for n in there), problems)
    digests: dict[str, str] = {}
    drafts: list[tuple[str, str]] = []
    try:
        for name, pieces in make():
            os.makedirs(folder, exist_ok=True)
            digest = hashlib.sha256()
            drafts.append((_draft(folder, name, _passed_on(pieces, digest)), os.path.join(folder, name)))
            digests[name] = digest.hexdigest()
        # All drafts are complete on the disk before any takes its place.
        for written, place in drafts:
            os.replace(written, place)
        # What was made once and no more, such as the table of a law that is not in force now.
        _move((n for n in known.get("files", ()) if n not in digests), key, out, [])
    except OSError as exc:
        _sweep(folder)
        return _withdraw(key, out, record, (*problems, _unwritable(folder, exc)))
    except BaseException:
        _sweep(folder)
        raise
    record[key] = {"key": stamp, "files": digests}
    return Report(key, state, tuple(place for _, place in drafts), problems)


def _withdraw(key: str, out: str, record: dict, problems: tuple[Problem, ...]) -> Report:
    """Move a dish's earlier documents out of the way.  Nothing is deleted but an older withdrawn copy of the same."""
    folder = os.path.join(out, key)
    moved: list[str] = []
    try:
        _move(dict.fromkeys((*DOCUMENTS, *record.get(key, {}).get("files", ()))), key, out, moved)
        if moved and not os.listdir(folder):
            os.rmdir(folder)
    except OSError as exc:
        return Report(key, "withheld", tuple(moved), (*problems, error(
            "cannot-withdraw", Span(folder.replace(os.sep, "/")), f"the earlier documents no longer hold and cannot be moved: {exc.strerror or exc}",
            "delete them by hand, and take down what was printed from them")))
    was = record.pop(key, {})
    if was.get("issued"):  # what was printed once is remembered, whatever becomes of it
        record[key] = {"files": {}, "issued": was["issued"], "spec": was.get("spec", "")}
    return Report(key, "withdrawn" if moved else "withheld", tuple(moved), problems)


def _move(names: Iterable[str], key: str, out: str, moved: list[str]) -> None:
    """Move the named documents of ``key`` to ``withdrawn/``, as far as they are there; ``moved`` takes their new places."""
    for name in names:
        path = os.path.join(out, key, name)
        if os.path.basename(name) == name and os.path.isfile(path):
            place = os.path.join(out, WITHDRAWN, key)
            os.makedirs(place, exist_ok=True)
            os.replace(path, os.path.join(place, name))
            moved.append(os.path.join(place, name))


def write_file(path: str, data: bytes) -> tuple[Problem, ...]:
    """One document to a place of its own choosing: whole, or not at all."""
    folder, name = os.path.split(path)
    try:
        os.makedirs(folder or ".", exist_ok=True)
        os.replace(_draft(folder or ".", name, (data,)), path)
    except OSError as exc:
        _sweep(folder or ".")
        return (_unwritable(path, exc),)
    except BaseException:
        _sweep(folder or ".")
        raise
    return ()


def set_aside(path: str) -> tuple[str, tuple[Problem, ...]]:
    """Move a document that no longer holds to ``withdrawn/`` beside it; its new place, or "" where there was none."""
    folder, name = os.path.split(path)
    place = os.path.join(folder, WITHDRAWN, name)
    try:
        if not os.path.isfile(path):
            return "", ()
        os.makedirs(os.path.dirname(place), exist_ok=True)
        os.replace(path, place)
    except OSError as exc:
        return "", (error("cannot-withdraw", Span(path.replace(os.sep, "/")),
                          f"the earlier document no longer holds and cannot be moved: {exc.strerror or exc}", "delete it by hand, and take down what was printed from it"),)
    return place, ()


def _draft(folder: str, name: str, pieces: Pieces) -> str:
    """A file beside the place it is meant for, complete on the disk."""
    path = os.path.join(folder, f".{name}.{os.getpid()}.part")
    with open(path, "wb") as stream:
        for piece in pieces:
            stream.write(piece)
        stream.flush()
        os.fsync(stream.fileno())
    return path


def _passed_on(pieces: Pieces, digest) -> Iterator[bytes]:
    """The pieces as they are, each added to the digest on its way."""
    for piece in pieces:
        digest.update(piece)
        yield piece


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
    """A digest of the program, its knowledge and its fonts, so that a changed one renders anew."""
    global _PROGRAM
    if _PROGRAM is None:
        from .packaged import DATA

        state = hashlib.sha256()
        for folder, inside, names in os.walk(os.path.dirname(DATA)):
            inside.sort()
            for name in sorted(names):
                if name.endswith((".py", ".yaml", ".json", ".html", ".ttf", ".woff2")):
                    with open(os.path.join(folder, name), "rb") as stream:
                        state.update(stream.read())
        _PROGRAM = state.hexdigest()
    return _PROGRAM


_PROGRAM: str | None = None


def _read_record(out: str) -> dict:
    try:
        with open(os.path.join(out, RECORD), encoding="utf-8") as stream:
            read = json.load(stream)
        # A key becomes a folder below ``out``, so nothing but a dish's name is taken from the record.
        sound = {k: v for k, v in read.items() if isinstance(v, dict) and isinstance(v.get("files"), dict)} if isinstance(read, dict) else {}
        return {k: v for k, v in sound.items() if is_key(k) or k == MENU}
    except (OSError, ValueError):
        return {}


def _write_record(out: str, record: dict) -> tuple[Problem, ...]:
    data = json.dumps(record, indent=1, sort_keys=True).encode() + b"\n"
    try:
        os.makedirs(out, exist_ok=True)
        os.replace(_draft(out, RECORD.lstrip("."), (data,)), os.path.join(out, RECORD))
    except OSError as exc:
        _sweep(out)
        return (_unwritable(out, exc),)
    except BaseException:
        _sweep(out)
        raise
    return ()
