"""The documents of a menu, issued as one transaction: what no longer holds is withdrawn before anything is drawn.

First every dish is looked at, and the record is written as an intent.  Then whatever no
longer holds is moved to ``withdrawn/``: an outdated allergen card is worse than none.
Then the dishes are drawn, one after the other; a dish's documents are complete on the
disk, and on record, before the first of them takes its place.  So whatever a killed
build leaves in its place is whole, and on record.  One dish's trouble is its own.
"""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace

from . import fingerprint
from .entries import is_key
from .frozen import frozen
from .kept_cards import FOLDER, Keeper
from .output import disk, ownership, rendered, staleness, withdrawal
from .output import record as records
from .output.ownership import MENU, RECORD, WITHDRAWN
from .output.record import Issued, Record
from .output.rendered import Pages, documents_of, render, render_menu
from .output.single import set_aside, write_file
from .output.withdrawal import Gone
from .pipeline import Prepared
from .problems import Problem, Span, error, warning

__all__ = ["MENU", "RECORD", "WITHDRAWN", "Report", "build", "documents_of", "on_record", "render", "render_menu", "set_aside", "write_file"]

_KEEP, _AGAIN, _DRAW, _WITHHOLD = "keep", "again", "draw", "withhold"  # again: what holds is drawn once more, in its place


@frozen
class Report:
    """What became of one dish: written, draft, unchanged, withdrawn or withheld (there was nothing to withdraw)."""

    key: str
    state: str
    files: tuple[str, ...]
    problems: tuple[Problem, ...] = ()


@frozen
class _Plan:
    """What is to become of one dish.  ``prepared`` is without what takes much room and is soon made again."""

    prepared: Prepared
    action: str
    stamp: str = ""
    is_draft: bool = False


def on_record(out: str) -> frozenset[str]:
    """The dishes (and the menu) whose documents stand below ``out``, by the record or by what lies there."""
    known = records.read(out)[0].issued
    return frozenset((*known, *staleness.unrecorded(out, known)))


def build(menu: Iterable[Prepared], out: str, is_draft: bool = False, is_live: Callable[[str, str], bool] = lambda key, spec: True,
          anew: bool = False, with_menu: bool = False, with_recipes: bool = False,
          tell: Callable[[Report], None] = lambda report: None) -> tuple[Report, ...]:
    """Write the documents of ``menu`` below ``out``, whose lock the caller holds.

    ``is_live`` says whether there still is a spec for a dish that is not in ``menu``, by its
    key and the spec on record ("" where there is none): what has none is withdrawn.
    ``with_menu``: write the menu's own documents, for which ``menu`` must be all of it.
    ``with_recipes``: the recipe cards too.  ``anew``: draw even what is up to date.
    Nothing of a dish but its statements is kept from one to the next.
    """
    record, faults = records.read(out)
    work = _Build(out, record, is_draft, anew, with_recipes)
    work.tidy()
    plans = [work.plan(prepared) for prepared in menu]
    whole = work.plan_menu([p.prepared for p in plans]) if with_menu else None
    gone = work.gone({p.prepared.key for p in plans}, is_live)
    actions = {p.prepared.key: p.action for p in plans} | ({MENU: whole} if whole else {})
    work.withdraw([*(key for key, action in actions.items() if action in (_DRAW, _WITHHOLD)), *gone],
                  is_anything_drawn=not {_DRAW, _AGAIN}.isdisjoint(actions.values()))

    reports: list[Report] = []

    def told(report: Report | None) -> None:
        if report is not None:
            reports.append(report)
            tell(report)

    kept: list[Prepared] = []
    for plan in plans:
        report, prepared = work.carry_out(plan)
        kept.append(prepared)
        told(report)
        if not with_menu:
            fingerprint.forget(prepared)
    if whole is not None:
        told(work.menu(kept, whole))
    for key in gone:
        told(work.left(key, ()))
    if faults := (*faults, *work.end()):
        told(Report("", "withheld", (), faults))
    return tuple(reports)


class _Build:
    """One build at work: the record as it goes along, and what has been withdrawn."""

    def __init__(self, out: str, record: Record, is_draft: bool, anew: bool, with_recipes: bool):
        self.out, self.record = out, record
        self.is_draft, self.anew, self.with_recipes = is_draft, anew, with_recipes
        self.cards = Keeper(out)
        self.earlier = dict(record.issued)
        self.withdrawn: dict[str, Gone] = {}
        self.fault: Problem | None = None  # why nothing can be put on record, and so nothing issued

    def tidy(self) -> None:
        """Take away what a killed build left half-written."""
        disk.sweep(self.out, RECORD)
        for name in disk.names(self.out):
            if is_key(name) or name in (MENU, FOLDER):
                disk.sweep(os.path.join(self.out, name))

    # ----------------------------------------------------------------------- what is to be done

    def plan(self, prepared: Prepared) -> _Plan:
        """What is to become of a dish."""
        light = replace(prepared, arrangement=None, traces=())
        draft = self.is_draft and not prepared.is_sound
        if not (prepared.is_sound or (draft and prepared.dish is not None and prepared.arrangement is not None)):
            return _Plan(light, _WITHHOLD)
        try:
            stamp = fingerprint.key(prepared, f"draft={draft} recipes={self.with_recipes} program={rendered.program()}")
            names = documents_of(prepared, self.with_recipes)
        except Exception as exc:  # whatever it is, it is this dish's
            return _Plan(_with(light, _not_drawn(prepared, exc)), _WITHHOLD)
        return _Plan(light, self._action(prepared.key, stamp, names), stamp, draft)

    def plan_menu(self, menu: Sequence[Prepared]) -> str:
        """What is to become of the matrix, the page and the book.  With no sound dish, or no law, there are none."""
        if not any(p.is_sound for p in menu) or not menu[0].world.laws:
            return _WITHHOLD
        return self._action(MENU, _stamp_of_menu(menu), _names_of_menu(menu))

    def gone(self, keys: set[str], is_live: Callable[[str, str], bool]) -> list[str]:
        """The dishes that have documents here, and no spec any more."""
        there = {*self.record.issued, *staleness.unrecorded(self.out, self.record.issued)} - keys - {MENU}
        return sorted(key for key in there if not is_live(key, self.record.issued[key].spec if key in self.record.issued else ""))

    def _action(self, key: str, stamp: str, names: Iterable[str]) -> str:
        return _DRAW if not self._holds(key, stamp, names) else _AGAIN if self.anew else _KEEP

    def _holds(self, key: str, stamp: str, names: Iterable[str]) -> bool:
        """Whether the documents of ``key`` are what would be made now, every one of them and no other."""
        known, folder = self.record.get(key), os.path.join(self.out, key)
        if known is None or known.is_leaving or known.key != stamp or not known.files.keys() >= set(names):
            return False
        if os.path.islink(folder):
            return False
        others = (os.path.join(folder, name) for name in disk.names(folder) if name not in known.files)
        are_whole = all(digest == disk.digest_of(os.path.join(folder, name)) for name, digest in known.files.items())
        return are_whole and not any(map(ownership.is_ours, others))

    # ----------------------------------------------------------------------- withdrawing

    def withdraw(self, keys: Iterable[str], is_anything_drawn: bool = False) -> None:
        """Put on record that ``keys`` are leaving, then move their documents away."""
        leaving = [key for key in keys if key in self.record.issued or withdrawal.own(self.out, key, None)
                   or os.path.islink(os.path.join(self.out, key))]
        for key in leaving:
            if (known := self.record.get(key)) is not None:
                self.record.put(key, replace(known, key="", card="", is_leaving=True))
        if leaving or is_anything_drawn:
            self._write_record()
        for key in leaving:
            self._withdraw(key)

    def _withdraw(self, key: str) -> None:
        self.cards.drop(key)
        before = self.withdrawn.get(key, Gone())
        done = withdrawal.withdraw(self.out, key, self.record.get(key))
        self.withdrawn[key] = Gone((*before.moved, *done.moved), done.problems)
        if done.is_whole:
            self.record.drop(key)

    def left(self, key: str, problems: Iterable[Problem]) -> Report:
        """The report of what has no documents now."""
        gone = self.withdrawn.get(key, Gone())
        return Report(key, "withdrawn" if gone.moved else "withheld", gone.moved, (*problems, *gone.problems, *self._to_take_down(key)))

    def _to_take_down(self, key: str) -> Iterator[Problem]:
        """What was printed from documents that no longer hold, by the code on it."""
        gone, was, now = self.withdrawn.get(key, Gone()), self.earlier.get(key, Issued()), self.record.get(key) or Issued()
        if not gone.moved or (was.code and was.code == now.code and was.is_draft == now.is_draft):
            return
        if not was.code and all(disk.digest_of(path) == now.files.get(os.path.basename(path), "-") for path in gone.moved):
            return
        what = f"made from {was.code}" if was.code else "printed before"
        instead = f"; the new papers are made from {now.code}" if now.code else ""
        yield warning("take-down", disk.shown(os.path.join(self.out, key)), f"{key}: what is {what} no longer holds{instead}",
                      f"take down every paper of {key} that says 'made from {was.code}'" if was.code else f"take down every paper of {key} printed before")

    # ----------------------------------------------------------------------- issuing

    def carry_out(self, plan: _Plan) -> tuple[Report, Prepared]:
        """Draw a dish where that is to be done; the report, and the dish as the menu is to know it."""
        prepared = plan.prepared
        if plan.action == _WITHHOLD:
            return self.left(prepared.key, prepared.problems), prepared
        if plan.action == _KEEP:
            return Report(prepared.key, "unchanged", self._places(prepared.key), prepared.problems), prepared
        pages: list[Pages] = []

        def drawn() -> Iterator[tuple[str, disk.Pieces]]:
            for name, data in render(rendered.laid(prepared), plan.is_draft, self.with_recipes, pages.append).items():
                yield name, (data,)

        def issued(files: dict[str, str]) -> Issued:
            return Issued(files, plan.stamp, prepared.file, self.cards.put(prepared.key, pages[0]), fingerprint.of(prepared), plan.is_draft)

        try:
            report = self._issue(prepared.key, drawn, issued, prepared.problems, "draft" if plan.is_draft else "written")
        except Exception as exc:  # whatever it is, it is this dish's
            prepared = _with(prepared, _not_drawn(prepared, exc))
            self._put_away(prepared.key)
            report = self.left(prepared.key, prepared.problems)
        return report, prepared

    def menu(self, menu: list[Prepared], action: str) -> Report | None:
        """The matrix, the page and the book.  An unsound dish stands there as not established."""
        if action == _WITHHOLD or not any(p.is_sound for p in menu):
            self._put_away(MENU)
            return self.left(MENU, ()) if MENU in self.withdrawn else None
        if action in (_KEEP, _AGAIN) and self.record.issued[MENU].key != _stamp_of_menu(menu):
            self._put_away(MENU)  # a dish that was to be drawn could not be
        elif action == _KEEP:
            return Report(MENU, "unchanged", self._places(MENU))
        try:
            return self._issue_menu(menu, ())
        except Exception as exc:
            # Which dish it is, its own menu shows.
            marked = [p if not p.is_sound or self._can_be_listed(p) else _with(p, _not_drawn(p, exc)) for p in menu]
            faults = tuple(p.problems[-1] for was, p in zip(menu, marked) if was is not p)
            if faults and any(p.is_sound for p in marked):
                try:
                    return self._issue_menu(marked, faults)
                except Exception as again:
                    exc = again
            said = error("not-drawn", disk.shown(os.path.join(self.out, MENU)), f"the matrix, the page and the book cannot be drawn: {_reason(exc)}",
                         "the dishes' own cards hold; undo what was changed last, and build again")
            self._put_away(MENU)
            return self.left(MENU, (*faults, said))

    def _issue_menu(self, menu: list[Prepared], faults: tuple[Problem, ...]) -> Report:
        stamp = _stamp_of_menu(menu)
        return self._issue(MENU, lambda: render_menu(menu, self._card_of), lambda files: Issued(files, stamp, code=stamp[:8]), faults, "written")

    def _put_away(self, key: str) -> None:
        """Withdraw what was to be kept, and no longer holds after all."""
        if (known := self.record.get(key)) is not None and not known.is_leaving:
            self.withdraw([key])

    def _card_of(self, prepared: Prepared) -> Pages:
        known = self.record.get(prepared.key)
        return self.cards.get(prepared.key, known.card if known else "") or rendered.card(prepared)

    def _can_be_listed(self, prepared: Prepared) -> bool:
        try:
            for _, pieces in render_menu([prepared], self._card_of):
                for _ in pieces:
                    pass
        except Exception:
            return False
        return True

    def _places(self, key: str) -> tuple[str, ...]:
        return tuple(os.path.join(self.out, key, name) for name in self.record.issued[key].files)

    def _issue(self, key: str, make: Callable[[], Iterable[tuple[str, disk.Pieces]]], issued: Callable[[dict[str, str]], Issued],
               problems: tuple[Problem, ...], state: str) -> Report:
        """One folder of documents: drawn, complete on the disk, on record, and only then in its place."""
        if self.fault is not None:
            return self.left(key, (*problems, self.fault))
        if not self.withdrawn.get(key, Gone()).is_whole:
            return self.left(key, problems)
        folder = os.path.join(self.out, key)
        digests: dict[str, str] = {}
        drafts: dict[str, str] = {}
        try:
            for name, pieces in make():
                disk.ensure_folder(folder)
                if (obstacle := ownership.in_the_way(os.path.join(folder, name))) is not None:
                    self._let_go(folder)
                    return self.left(key, (*problems, obstacle))
                digest = hashlib.sha256()
                drafts[name] = disk.draft(folder, name, disk.passed_on(pieces, digest))
                digests[name] = digest.hexdigest()
            self.record.put(key, issued(digests))
            # A long record for each of many dishes: the last one is made to last.
            self.record.write(is_lasting=False)
            for name, written in drafts.items():
                os.replace(written, os.path.join(folder, name))
        except OSError as exc:
            self._let_go(folder)
            self._take_back(key)
            return self.left(key, (*problems, disk.cannot_write(folder, exc)))
        except BaseException:
            self._let_go(folder)
            raise
        return Report(key, state, self._places(key), (*problems, *self.withdrawn.get(key, Gone()).problems, *self._to_take_down(key)))

    def _let_go(self, folder: str) -> None:
        disk.sweep(folder)
        disk.drop_empty(folder)

    def _take_back(self, key: str) -> None:
        """What could be put in its place of a set that did not come whole leaves again."""
        if (known := self.record.get(key)) is not None:
            self.record.put(key, replace(known, key="", card="", is_leaving=True))
            self._withdraw(key)
        else:
            self.cards.drop(key)

    # ----------------------------------------------------------------------- the record

    def _write_record(self) -> None:
        try:
            self.record.write()
            self.fault = None
        except OSError as exc:
            self.fault = disk.cannot_write(self.out, exc)

    def end(self) -> tuple[Problem, ...]:
        """Put on record what is left, and delete what was withdrawn and has been issued again."""
        self._write_record()
        for key in disk.names(os.path.join(self.out, WITHDRAWN)):
            known = self.record.get(key)
            if known is not None and not known.is_leaving and not known.is_draft:
                withdrawal.clear(self.out, key, known.files)
        self.cards.tidy({key for key, known in self.record.issued.items() if known.card})
        return (*([self.fault] if self.fault else []), *self.cards.obstacles())


def _stamp_of_menu(menu: Sequence[Prepared]) -> str:
    return f"{fingerprint.of_menu(menu)} {rendered.program()}"


def _names_of_menu(menu: Sequence[Prepared]) -> tuple[str, ...]:
    from .documents import book

    return ("allergens.pdf", "allergens.json", "front-of-house.html", *book.names(menu), *(f"allergens-{law.key}.csv" for law in menu[0].world.laws))


def _with(prepared: Prepared, problem: Problem) -> Prepared:
    return replace(prepared, problems=(*prepared.problems, problem))


def _not_drawn(prepared: Prepared, exc: Exception) -> Problem:
    """What went wrong in drawing one dish, whatever it was."""
    if any(p.is_error for p in prepared.problems):
        remedy = "mend the dish's errors, which platecard check shows: with them not even a draft can be drawn"
    else:
        remedy = "undo what was changed last in the dish, or take its file off the menu; and report it, for this is a fault of platecard's"
    place = prepared.dish.span if prepared.dish else Span(prepared.file)
    return error("not-drawn", place, f"the card of {prepared.key} cannot be drawn: {_reason(exc)}", remedy)


def _reason(exc: Exception) -> str:
    said = " ".join(str(exc).split())
    return (f"{said[:200]} …" if len(said) > 200 else said) or type(exc).__name__
