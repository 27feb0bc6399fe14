"""The page that is handed to the guest: what the dish declares, in English and in the guests' languages beside it.

In: a prepared dish.  Out: pages, none where the kitchen names no language.  The font of paper lacks many scripts: a
language that it cannot draw is named at the end, and stands in English only.
"""

from __future__ import annotations

from platecard.allergens.statement import ABSENT, Statement
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN
from platecard.documents.kit import column_pages
from platecard.documents.kit.column_pages import Row
from platecard.documents.kit.sheet import MARGIN, Block, label, paragraph
from platecard.documents.text import guest_languages, wording
from platecard.drawing.scene import Scene
from platecard.knowledge import languages
from platecard.knowledge.languages import Language
from platecard.prepared import Prepared

_PT = 10.0
_LABELS = ((CONTAINS, "Contains", True), (UNKNOWN, "Not established", False), (MAY, "May contain", False))


def compose(prepared: Prepared, title: str, below: str, code: str, size: tuple[float, float]) -> tuple[Scene, ...]:
    """The page of one dish, on paper of this size in mm."""
    world = prepared.world
    if not world.languages:
        return ()
    settings = world.kitchen.settings
    width = size[0] - 2 * MARGIN
    drawn, undrawn = guest_languages.on_paper(world.languages)
    rows = [row for said in prepared.statements for row in _law(said, drawn, width)]
    rows += [column_pages.text(f"{says}.", width) for says in prepared.told]
    rows.append(column_pages.heading("Languages", width))
    nodes = languages.declared(world.laws)
    told = guest_languages.introductions(drawn, nodes, world.tracer.taxonomy, settings.language)
    rows += [column_pages.text(line, width) for line in (*told, *guest_languages.not_on_paper(undrawn))]
    top = column_pages.head(title, below, ("for the guest", settings.called), width)
    return column_pages.pages(
        top, [(width, rows)], size, f"{title}: for the guest", (f"code {code}", "allergens"), settings.language
    )


def _law(said: Statement, spoken: tuple[Language, ...], width: float) -> list[Row]:
    """What one law declares, and what it does not need to: never as if that were absent."""
    rows = [column_pages.heading(f"{said.law.name}: {said.law.act}", width)]
    for presence, english, filled in _LABELS:
        found = said.with_presence(presence)
        if not found:
            continue
        words = guest_languages.with_sentence(english, guest_languages.PRESENCE[presence], spoken)
        boxed, _ = label(0, 0, words, _PT, filled)
        names = (
            wording.every_other(said)
            if presence == UNKNOWN and said.all_open
            else ", ".join(guest_languages.with_names(f, spoken) for f in found)
        )
        body = paragraph(names, width, _PT, "bold" if presence == CONTAINS else "semibold", y=6.0)
        rows.append(Row(Block(body.height + 7.6, (*boxed, *body.items))))
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
        below.append(f"Outside this law, for guests who ask: {', '.join(also)}.")
    below += [line for line in (wording.from_memory(said), wording.not_read(said.not_read)) if line]
    below += [*wording.open_over((said,)), *wording.came_over((said,)), *wording.relies_on_cleaning((said,))]
    return [*rows, *(column_pages.text(line, width) for line in below)]
