"""The page that is handed to the guest: what the dish declares, in English and in the guests' languages beside it.

In: a prepared dish.  Out: pages, none where the kitchen names no language.  The font of paper lacks many scripts: a
language that it cannot draw is named at the end, and stands in English only.
"""

from __future__ import annotations

from collections.abc import Callable

from platecard.allergens.statement import ABSENT, Statement
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN
from platecard.documents.kit import column_pages
from platecard.documents.kit.column_pages import Row
from platecard.documents.kit.sheet import MARGIN, Block, label, line_mm, paragraph
from platecard.documents.text import guest_languages, wording
from platecard.drawing.scene import Scene
from platecard.knowledge import languages
from platecard.knowledge.languages import Language
from platecard.prepared import Prepared

_SIZES = (17.0, 15.0, 13.0, 11.5, 10.0)  # points of the names; the largest at which all is on one page
_LABELS = ((CONTAINS, "Contains", True), (UNKNOWN, "Not established", False), (MAY, "May contain", False))


def compose(
    prepared: Prepared,
    title: str,
    below: str,
    code: str,
    size: tuple[float, float],
    above: Callable[[float], Block] | None = None,
) -> tuple[Scene, ...]:
    """The page of one dish, on paper of this size in mm; ``above`` is a block over its head, for a given width."""
    world = prepared.world
    if not world.languages:
        return ()
    settings = world.kitchen.settings
    width = size[0] - 2 * MARGIN
    drawn, undrawn = guest_languages.on_paper(world.languages)
    nodes = languages.declared(world.laws)
    introductions = guest_languages.introductions(drawn, nodes, world.tracer.taxonomy, settings.language)
    tops = []
    for top in column_pages.heads(title, below, ("for the guest", settings.called), width, settings.language):
        notice = above(width) if above else Block(0, ())
        tops.append(Block(notice.height + top.height, (*notice.items, top.at(0, notice.height))))
    for pt in _SIZES:
        small = max(8.5, 0.8 * pt)
        rows = [row for said in prepared.statements for row in _law(said, drawn, width, pt)]
        rows += [column_pages.text(f"{says}.", width, small) for says in prepared.told]
        rows.append(column_pages.heading("Languages", width, small))
        told = (*introductions, *guest_languages.not_on_paper(undrawn))
        rows += [column_pages.text(line, width, small) for line in told]
        pages = column_pages.pages(
            column_pages.Head(*tops),
            [(width, rows)],
            size,
            f"{title}: for the guest",
            (f"code {code}", "allergens"),
            settings.language,
        )
        if len(pages) == 1:
            break
    return pages


def _law(said: Statement, spoken: tuple[Language, ...], width: float, pt: float) -> list[Row]:
    """What one law declares, and what it does not need to: never as if that were absent."""
    small = max(8.5, 0.8 * pt)
    rows = [column_pages.heading(f"{said.law.name}: {said.law.act}", width, small)]
    for presence, english, filled in _LABELS:
        found = said.with_presence(presence)
        if not found:
            continue
        words = guest_languages.with_sentence(english, guest_languages.PRESENCE[presence], spoken)
        boxed, _ = label(0, 0, words, pt, filled)
        names = (
            wording.every_other(said)
            if presence == UNKNOWN and said.all_open
            else ", ".join(guest_languages.with_names(f, spoken) for f in found)
        )
        body = paragraph(names, width, pt, "bold" if presence == CONTAINS else "semibold", y=line_mm(pt) + 1.8)
        rows.append(Row(Block(line_mm(pt) + body.height + 3.4, (*boxed, *body.items))))
    # What is in it and need not be declared stands above what is not among the ingredients.
    below = [
        f"{wording.LEFT_OUT[f.left_out].capitalize()}: {f.declared_as}, {f.note}."
        if f.left_out
        else f"{f.declared_as}: {f.note}."
        for f in said.with_presence(ABSENT)
        if f.note
    ]
    if not said.with_presence(CONTAINS):
        below.append(wording.nothing(said))
    elif not said.all_open:
        below.append("Every other group of this law: not among the ingredients entered.")
    if also := wording.outside(said):
        below.append(f"For guests who ask, not listed by this law: {', '.join(also)}.")
    below += [line for line in (wording.from_memory(said), wording.not_read(said.not_read, said.is_of_several)) if line]
    below += [*wording.open_over((said,)), *wording.came_over((said,)), *wording.relies_on_cleaning((said,))]
    return [*rows, *(column_pages.text(line, width, small) for line in below)]
