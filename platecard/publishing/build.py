"""The documents of a menu, issued as one transaction: what no longer holds is withdrawn before anything is drawn.

First every dish is looked at, and the record is written as an intent.  Then whatever no
longer holds is moved to ``withdrawn/``: an outdated allergen card is worse than none.
Then the dishes are drawn, one after the other; a dish's documents are complete on the
disk, and on record, before the first of them takes its place.  So whatever a killed
build leaves in its place is whole, and on record.  One dish's trouble is its own.
"""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import replace
from typing import TYPE_CHECKING, Any, NamedTuple

from platecard import fingerprint
from platecard.diagnostics import Problem, Span, alarm, error, warning
from platecard.drawing.fonts import INSTALLED_BY, NotDrawable
from platecard.drawing.pdf_page import POINTS
from platecard.prepared import Prepared
from platecard.publishing import disk, issued, rendered, staleness, workers
from platecard.publishing import record as records
from platecard.publishing.kept_cards import Keeper
from platecard.publishing.ownership import MENU
from platecard.publishing.record import Issued
from platecard.publishing.rendered import MenuPieces, Pages, documents_of, render, render_menu
from platecard.publishing.transaction import Report, Transaction
from platecard.publishing.workers import Job

if TYPE_CHECKING:  # brought by whoever wants workers
    from concurrent.futures import Executor

__all__ = [
    "MENU",
    "Report",
    "build",
    "documents_of",
    "on_record",
    "render",
    "render_menu",
    "specs_on_record",
]

# "again": what holds is drawn once more, and takes its own place
_KEEP, _AGAIN, _DRAW, _WITHHOLD = "keep", "again", "draw", "withhold"


class _Plan(NamedTuple):
    """What is to become of one dish.  ``prepared`` is without what takes much room and is soon made again."""

    prepared: Prepared
    action: str
    stamp: str = ""
    is_draft: bool = False


def on_record(out: str) -> frozenset[str]:
    """The dishes (and the menu) whose documents are in ``out``, by the record or by what is found there."""
    known = records.read(out)[0].documented()
    return frozenset((*known, *staleness.unrecorded(out, known)))


def specs_on_record(out: str) -> dict[str, str]:
    """The dishes on record, each with the spec that it was made from."""
    return {key: one.spec for key, one in records.read(out)[0].documented().items() if one.spec}


def build(
    menu: Iterable[Prepared],
    out: str,
    is_draft: bool = False,
    is_live: Callable[[str, str], bool] = lambda key, spec: True,
    anew: bool = False,
    with_menu: bool = False,
    with_recipes: bool | None = None,
    tell: Callable[[Report], None] = lambda report: None,
    executor: Executor | None = None,
) -> tuple[Report, ...]:
    """Write the documents of ``menu`` below ``out``, whose lock the caller holds.

    ``is_live`` says whether there still is a spec for a dish that is not in ``menu``, by its
    key and the spec on record ("" where there is none): what has none is withdrawn.
    ``with_menu``: write the menu's own documents, for which ``menu`` must be all of it.
    ``with_recipes``: the recipe cards too; None: as in the build before.  ``anew``: redraw even what is up to date.
    ``tell`` is called with the report of each dish as it is done.  ``executor``: whose workers
    draw the dishes; the bytes are the same with any and with none.
    Nothing of a dish but its statements is kept from one to the next.
    """
    record, faults = records.read(out)
    cards = Keeper(out)
    folder = Transaction(out, record, cards.drop)
    folder.tidy()
    if with_recipes is None:
        with_recipes = any(rendered.RECIPE_CARDS in one.files for one in record.issued.values())
    work = _Build(folder, cards, is_draft, anew, with_recipes)
    pictures = workers.Drawing(executor)
    plans: list[_Plan] = []
    for prepared in menu:
        plan = work.plan(prepared)
        plans.append(plan)
        if plan.action in (_DRAW, _AGAIN):
            for_menu = with_menu and executor is not None and plan.prepared.is_sound
            pictures.ask(Job(plan.prepared, plan.is_draft, with_recipes, for_menu))
    # A draft is off the menu.
    whole = work.plan_menu([p.prepared for p in plans if not p.prepared.is_draft]) if with_menu else None
    gone = work.gone({p.prepared.key for p in plans}, is_live)
    faults += work.not_looked_at({MENU, *gone, *(p.prepared.key for p in plans)})
    actions = {p.prepared.key: p.action for p in plans} | ({MENU: whole} if whole else {})
    folder.withdraw(
        [*(key for key, action in actions.items() if action in (_DRAW, _WITHHOLD)), *gone],
        is_anything_drawn=not {_DRAW, _AGAIN}.isdisjoint(actions.values()),
    )

    if executor is not None and whole in (_DRAW, _AGAIN):
        work.draw_matrix([p.prepared for p in plans if not p.prepared.is_draft])  # while the workers draw dishes
    reports: list[Report] = []

    def told(report: Report | None) -> None:
        if report is not None:
            reports.append(report)
            tell(report)

    kept: list[Prepared] = []
    for plan in plans:
        report, prepared = work.carry_out(plan, pictures)
        if not prepared.is_draft:
            kept.append(prepared)
        told(report._replace(is_draft=prepared.is_draft))
        if not with_menu:
            fingerprint.forget(prepared)
    if whole is not None:
        told(work.menu(kept, whole))
    for key in gone:
        told(folder.left(key, ()))
    faults += folder.end()
    cards.tidy({key for key, known in record.issued.items() if known.card})
    if faults := (*faults, *cards.obstacles()):
        told(Report("", "withheld", (), faults))
    return tuple(reports)


class _Build:
    """One build at work: what is to become of each dish, and how its documents are made."""

    def __init__(self, folder: Transaction, cards: Keeper, is_draft: bool, anew: bool, with_recipes: bool):
        self.folder, self.record, self.cards = folder, folder.record, cards
        self.is_draft, self.anew, self.with_recipes = is_draft, anew, with_recipes
        self.pieces: dict[str, MenuPieces] = {}  # of the menu's documents, as far as workers have made them
        self.matrix: tuple[str, bytes] | None = None  # drawn ahead, for the menu of this stamp

    def plan(self, prepared: Prepared) -> _Plan:
        """What is to become of a dish."""
        prepared = issued.held_against(prepared, self._issued(prepared.key))
        light = replace(prepared, arrangement=None, traces=())
        draft = prepared.is_draft or (self.is_draft and not prepared.is_sound)
        if not (prepared.is_sound or (draft and prepared.dish is not None and prepared.arrangement is not None)):
            return _Plan(light, _WITHHOLD)
        try:
            names = documents_of(prepared, self.with_recipes)
            recipes = rendered.RECIPE_CARDS in names
            stamp = fingerprint.key(prepared, f"draft={draft} recipes={recipes} program={rendered.program()}")
        except Exception as exc:  # whatever it is, it is this dish's
            return _Plan(_with(light, _not_drawn(prepared, exc)), _WITHHOLD)
        return _Plan(light, self._action(prepared.key, stamp, names), stamp, draft)

    def plan_menu(self, menu: Sequence[Prepared]) -> str:
        """What is to become of the matrix, the page and the book.  With no sound dish, or no law, there are none."""
        if not any(p.is_sound for p in menu) or not menu[0].world.laws:
            return _WITHHOLD
        return self._action(MENU, _stamp_of_menu(menu), _names_of_menu(menu))

    def draw_matrix(self, menu: Sequence[Prepared]) -> None:
        """Draw the matrix ahead of its turn.  Whatever goes wrong is met again, and told, when its turn comes."""
        try:
            self.matrix = _stamp_of_menu(menu), rendered.matrix_of(menu)
        except Exception:
            self.matrix = None

    def gone(self, keys: set[str], is_live: Callable[[str, str], bool]) -> list[str]:
        """The dishes that have documents here, and no spec any more."""
        known = self.record.documented()
        there = {*known, *staleness.unrecorded(self.folder.out, known)} - keys - {MENU}
        return sorted(key for key in there if not is_live(key, known[key].spec if key in known else ""))

    def not_looked_at(self, keys: set[str]) -> tuple[Problem, ...]:
        """A warning for each dish on record that has a spec and is not among ``keys``: its card may be out of date."""
        return tuple(
            warning(
                "not-looked-at",
                disk.shown(os.path.join(self.folder.out, key)),
                f"{key}: its spec {known.spec} is not on this menu, so whether its card is still valid was not checked",
                f"run platecard build {known.spec}, or move the spec to where the others are",
            )
            for key, known in sorted(self.record.documented().items())
            if key not in keys
        )

    def _issued(self, key: str) -> dict[str, Any]:
        """What was issued of a dish so far, revision by revision."""
        known = self.record.get(key)
        return known.issued if known is not None else {}

    def _action(self, key: str, stamp: str, names: Iterable[str]) -> str:
        known = self.record.get(key)
        undrawn = set(known.undrawn) if known is not None else set()
        if not self.folder.holds(key, stamp, set(names) - undrawn):
            return _DRAW
        # What cannot be drawn here is tried anew each time, and so told each time.
        return _AGAIN if self.anew or undrawn else _KEEP

    def carry_out(self, plan: _Plan, pictures: workers.Drawing) -> tuple[Report, Prepared]:
        """Issue a dish where that is to be done; the report, and the dish as the menu is to know it.

        ``pictures`` are drawn in the order of their plans.
        """
        prepared = plan.prepared
        if plan.action == _WITHHOLD:
            return self.folder.left(prepared.key, prepared.problems), prepared
        was = self._issued(prepared.key)
        if plan.action == _KEEP:
            if not plan.is_draft:
                self.record.put(
                    prepared.key, replace(self.record.issued[prepared.key], issued=issued.remembered(was, prepared))
                )
            return Report(prepared.key, "unchanged", self.folder.places(prepared.key), prepared.problems), prepared
        picture = pictures.take()
        if picture.pieces is not None:
            self.pieces[prepared.key] = picture.pieces

        def drawn() -> Iterator[tuple[str, disk.Pieces]]:
            if picture.fault is not None:
                raise picture.fault
            for name, data in picture.files.items():
                yield name, (data,)

        def entry(files: dict[str, str]) -> Issued:
            kept = self.cards.put(prepared.key, picture.card) if picture.card else ""
            so_far = was if plan.is_draft else issued.remembered(was, prepared)
            return Issued(
                files,
                plan.stamp,
                prepared.file,
                kept,
                fingerprint.of(prepared),
                plan.is_draft,
                issued=so_far,
                undrawn=tuple(name for name, _ in picture.undrawn),
            )

        prepared = _with(prepared, *_on_larger_paper(prepared, picture.card), *_without(prepared, picture.undrawn))
        state = "draft" if plan.is_draft else "written"
        try:
            report = self.folder.issue(prepared.key, drawn, entry, prepared.problems, state)
        except Exception as exc:  # whatever it is, it is this dish's
            prepared = _with(prepared, _not_drawn(prepared, exc))
            self.folder.put_away(prepared.key)
            report = self.folder.left(prepared.key, prepared.problems)
        return report, prepared

    def menu(self, menu: list[Prepared], action: str) -> Report | None:
        """The matrix, the page and the book.  A dish with errors is shown there as not established."""
        if action == _WITHHOLD or not any(p.is_sound for p in menu):
            self.folder.put_away(MENU)
            return self.folder.left(MENU, ()) if MENU in self.folder.withdrawn else None
        if action in (_KEEP, _AGAIN) and self.record.issued[MENU].key != _stamp_of_menu(menu):
            self.folder.put_away(MENU)  # a dish that was to be drawn could not be
        elif action == _KEEP:
            return Report(MENU, "unchanged", self.folder.places(MENU))
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
            said = error(
                "not-drawn",
                disk.shown(os.path.join(self.folder.out, MENU)),
                f"the matrix, the page and the book cannot be drawn: {_reason(exc)}",
                "undo the last change, and build again; the dishes' own cards are valid",
            )
            self.folder.put_away(MENU)
            return self.folder.left(MENU, (*faults, said))

    def _issue_menu(self, menu: list[Prepared], faults: tuple[Problem, ...]) -> Report:
        stamp = _stamp_of_menu(menu)
        known = {p.key: self.pieces[p.key] for p in menu if p.is_sound and p.key in self.pieces}
        drawn = self.matrix[1] if self.matrix is not None and self.matrix[0] == stamp else None
        return self.folder.issue(
            MENU,
            lambda: render_menu(menu, self._card_of, known, drawn),
            lambda files: Issued(files, stamp, code=fingerprint.code_of_menu(menu)),
            faults,
            "written",
        )

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


def _stamp_of_menu(menu: Sequence[Prepared]) -> str:
    return f"{fingerprint.of_menu(menu)} {rendered.program()}"


def _names_of_menu(menu: Sequence[Prepared]) -> tuple[str, ...]:
    from platecard.documents.pages import book

    tables = (f"allergens-{law.key}.csv" for law in menu[0].world.laws)
    return ("allergens.pdf", "allergens.json", "front-of-house.html", *book.names(menu), *tables)


def _with(prepared: Prepared, *problems: Problem) -> Prepared:
    return replace(prepared, problems=(*prepared.problems, *problems))


def _on_larger_paper(prepared: Prepared, card: Pages) -> tuple[Problem, ...]:
    """A warning where the card did not fit on the kitchen's own paper."""
    from platecard.documents.kit.sheet import SHEETS

    settings = prepared.world.kitchen.settings
    if not card or prepared.dish is None:
        return ()
    size = card[0].width / POINTS, card[0].height / POINTS
    paper = next(name for name, sides in SHEETS.items() if max(abs(a - b) for a, b in zip(sides, size)) < 0.1)
    if paper == settings.page:
        return ()
    return (
        warning(
            "card-on-larger-paper",
            prepared.dish.span,
            f"the card of {prepared.key} does not fit on {settings.page} and is drawn on {paper}",
            "print it on that paper, shorten what the chef accepts and checks, or choose a larger page for all cards",
        ),
    )


_INSTALL = f"install the fonts: {INSTALLED_BY}; or write it in Latin, Greek or Cyrillic letters"


def _without(prepared: Prepared, undrawn: Iterable[tuple[str, str]]) -> tuple[Problem, ...]:
    """An error for the documents of a dish that have letters which no font here has; its others are issued."""
    place = prepared.dish.span if prepared.dish else Span(prepared.file)
    by_reason: dict[str, list[str]] = {}
    for name, reason in undrawn:
        by_reason.setdefault(reason, []).append(name)
    return tuple(
        alarm("document-not-drawn", place, f"{', '.join(names)} of {prepared.key} cannot be drawn: {reason}", _INSTALL)
        for reason, names in by_reason.items()
    )


def _not_drawn(prepared: Prepared, exc: Exception) -> Problem:
    """What went wrong in drawing one dish, whatever it was."""
    if isinstance(exc, NotDrawable):
        remedy = _INSTALL
    elif any(p.is_error for p in prepared.problems):
        remedy = "put right the errors that platecard check shows: with them not even a draft can be drawn"
    else:
        remedy = (
            "undo the last change to the dish, or take its file off the menu, "
            "and please report this: it is a fault in platecard"
        )
    place = prepared.dish.span if prepared.dish else Span(prepared.file)
    return error("not-drawn", place, f"the card of {prepared.key} cannot be drawn: {_reason(exc)}", remedy)


def _reason(exc: Exception) -> str:
    said = " ".join(str(exc).split())
    return (f"{said[:200]} …" if len(said) > 200 else said) or type(exc).__name__
