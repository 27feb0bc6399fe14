"""The service sheet of a dish, for the station and the manager: what does not belong to plating.

In: a prepared dish.  Out: pages with the fire times, what is made ahead, the cautions, the chef's
note, and the reasons for each allergen, law by law.
"""

from __future__ import annotations

from platecard.allergens.statement import Finding
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Presence
from platecard.documents.kit import caution_block, column_pages
from platecard.documents.kit.sheet import MARGIN, PAGES, Block, paragraph
from platecard.documents.pages import fire_timeline
from platecard.documents.pages.card_front import declarations
from platecard.documents.text import wording
from platecard.drawing.scene import Group, Scene
from platecard.prepared import Prepared, plated

_NOTHING = (
    "Nothing is fired to order, no caution applies to what was entered, and there is no allergen to give reasons for."
    " The declaration stands on the pass card."
)
_FEW = 2  # chains of one allergen that are told; the rest are counted


def compose(prepared: Prepared, fingerprint: str, is_draft: bool = False) -> tuple[Scene, ...]:
    """The pages; ValueError if the dish could not be read or laid out."""
    dish, _ = plated(prepared)
    settings = prepared.world.kitchen.settings
    size = PAGES[settings.page]
    width = size[0] - 2 * MARGIN
    revision = (f"revision {dish.revision.number}", dish.revision.date) if dish.revision else ("no revision", "")
    head = column_pages.heads(
        dish.title, "Service sheet: fire times, cautions, reasons", revision, width, settings.language
    )
    wide = [column_pages.Row(fire_timeline.draw(prepared.schedule, width))] if prepared.schedule else []
    column = (width - column_pages.GAP) / 2
    narrow = [
        *_noted(dish.note, column),
        *caution_block.rows(prepared.cautions, prepared.world.cautioner.rules.general, column),
        *_reasons(prepared, column),
    ]
    if not wide and not narrow:
        narrow = [column_pages.text(_NOTHING, column)]
    return column_pages.flow(
        head,
        narrow,
        column,
        size,
        f"{dish.title}: service sheet",
        ("for the allergens see the pass card", f"code {fingerprint}"),
        settings.language,
        is_draft,
        wide,
    )


def _noted(note: str, width: float) -> list[column_pages.Row]:
    if not note:
        return []
    return [column_pages.heading("The chef's note", width, level=1), column_pages.text(note, width)]


def _reasons(prepared: Prepared, width: float) -> list[column_pages.Row]:
    """Each allergen, as every law in force names it, with the chains that bring it in."""
    found: dict[tuple[str, Presence], list[Finding]] = {}
    for presence in (CONTAINS, UNKNOWN, MAY):
        for statement in declarations(prepared):
            for f in statement.with_presence(presence):
                found.setdefault((f.allergen, presence), []).append(f)
    if not found:
        return []
    rows = [column_pages.heading("Reasons for the allergens", width, level=1)]
    for (_, presence), findings in found.items():
        reasons = list(dict.fromkeys(reason for f in findings for reason in f.reasons))
        chains = [wording.chain(reason[1:] or reason) for reason in reasons[:_FEW]]
        if len(reasons) > _FEW:
            chains.append(f"and {len(reasons) - _FEW} more")
        called = f"{wording.PRESENCE[presence]} {' / '.join(dict.fromkeys(f.in_full for f in findings))}"
        named, again = (paragraph(f"{called}{said}", width, 8.5, "bold") for said in ("", column_pages.CONTINUED))
        rows.append(column_pages.Row(named, True, again))
        for n, chain in enumerate(chains):
            said = paragraph(chain, width - 3.0, 8.0, x=3.0)
            group = Group(said.items, title=called, role="listitem")
            rows.append(column_pages.Row(Block(said.height + (0.9 if n == len(chains) - 1 else 0.2), (group,))))
    return rows
