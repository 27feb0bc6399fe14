"""Prepared dishes → the documents as bytes.  Drawing only: nothing is decided here and nothing is written."""

from __future__ import annotations

import hashlib
import os
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cache, partial
from typing import TYPE_CHECKING, NamedTuple

from platecard import fingerprint
from platecard.drawing.fonts import NotDrawable
from platecard.drawing.pdf_page import Page
from platecard.drawing.scene import Scene
from platecard.layout import heights
from platecard.prepared import Prepared, plated
from platecard.publishing import library_versions
from platecard.recipes.resolved import Batch

if TYPE_CHECKING:  # imported late, because a single card needs no page for front of house
    from platecard.documents.pages.front_of_house import Answers

Pages = tuple[Page, ...]
DOCUMENTS = ("plate.svg", "pass-card.pdf", "pass-card.svg", "pass-card-2.svg", "service-sheet.pdf")
# Those that are drawn only where they are asked for.
RECIPE_CARDS = "recipe-cards.pdf"


def laid(prepared: Prepared) -> Prepared:
    """The dish with its plate laid out, where that was let go of to save room."""
    from platecard.pipeline import lay

    if prepared.arrangement is not None:
        return prepared
    if prepared.dish is None or prepared.resolved is None or prepared.resolved.plate is None:
        raise ValueError(f"{prepared.key} cannot be laid out: its spec or its plate could not be read")
    arrangement, _ = lay(prepared.dish, prepared.resolved.plate, prepared.resolved, prepared.offered)
    return replace(prepared, arrangement=arrangement)


def render(
    prepared: Prepared,
    is_draft: bool = False,
    with_recipes: bool = False,
    keep: Callable[[Pages], None] = lambda card: None,
    tell: Callable[[str, NotDrawable], None] | None = None,
) -> dict[str, bytes]:
    """The documents of one dish: file name → bytes.  Drawing only, nothing is decided here.

    ``with_recipes`` asks for the recipe cards too; ``keep`` is handed the pages of the card, for the book.
    ``tell`` is told of each document with letters that no font here has, and the others are drawn; without it that is
    raised.
    """
    from platecard.documents.diagram import plate, side_view
    from platecard.documents.kit import draft_mark
    from platecard.documents.pages import pass_card, service_sheet
    from platecard.drawing import pdf, svg
    from platecard.layout import checks

    dish, arrangement = plated(prepared)
    numbers = plate.number_of(dish)
    shown = checks.faults(arrangement, dish) if is_draft else ()
    food = plate.food_on(arrangement, dish)
    scene = plate.draw(arrangement, dish, faults=shown, food=food)
    mark = fingerprint.of(prepared)
    on_paper = side_view.on_paper(arrangement, dish, numbers)
    pages = pass_card.compose(prepared, numbers, mark, is_draft, side=on_paper, food=food)
    marked = draft_mark.banded if is_draft else lambda picture: picture
    settings, revision = prepared.world.kitchen.settings, dish.revision
    subject = f"Pass card, revision {revision.number} of {revision.date}" if revision else "Pass card"
    made: dict[str, bytes] = {}

    def add(name: str, draw: Callable[[], bytes]) -> None:
        try:
            made[name] = draw()
        except NotDrawable as exc:
            if tell is None:
                raise
            tell(name, exc)

    def bind(pages: Sequence[Scene | Page], what: str = "") -> bytes:
        return pdf.write(
            pages,
            title=f"{dish.title}: {what.lower()}" if what else dish.title,
            author=settings.called,
            subject=subject.replace("Pass card", what or "Pass card"),
            keywords=mark,
            language=settings.language,
        )

    def picture(scene: Scene) -> bytes:
        return svg.write(scene).encode("utf-8")

    def card() -> bytes:
        bound = tuple(map(pdf.page, pages))
        keep(bound)
        return bind(bound)

    add("plate.svg", lambda: picture(marked(scene)))
    add("pass-card.pdf", card)
    for number, page in enumerate(pages, 1):
        add(f"pass-card{f'-{number}' if number > 1 else ''}.svg", partial(picture, page))
    add("service-sheet.pdf", lambda: bind(service_sheet.compose(prepared, mark, is_draft), "Service sheet"))
    if with_recipes and (recipes := _recipe_cards(prepared, mark, is_draft)):
        add(RECIPE_CARDS, lambda: bind(recipes, "Recipe cards"))
    if schedule := prepared.schedule:
        from platecard.documents.pages import fire_timeline

        add("fire.svg", lambda: picture(marked(fire_timeline.picture(schedule, language=settings.language))))
    if on_paper is not None:
        add("side.svg", lambda: picture(marked(side_view.draw(arrangement, dish))))
    return made


def _recipe_cards(prepared: Prepared, mark: str, is_draft: bool) -> tuple[Scene, ...]:
    from platecard.documents.pages import recipe_card  # late: most builds need none

    return recipe_card.compose(prepared, mark, is_draft)


def documents_of(prepared: Prepared, with_recipes: bool = False) -> tuple[str, ...]:
    """The names of a dish's documents as far as they are known before it is drawn: a card's further pages have SVGs
    of their own.

    Recipe cards only where they are asked for and there are recipes, a timeline where something is finished to order,
    a side view where height matters.
    """
    parts = prepared.resolved.parts if prepared.resolved is not None else ()
    has_recipes = any(isinstance(p.use.what, Batch) for p in parts)
    cards = (RECIPE_CARDS,) if with_recipes and has_recipes else ()
    _, arrangement = plated(prepared)
    return (
        *DOCUMENTS,
        *cards,
        *(("fire.svg",) if prepared.schedule else ()),
        *(("side.svg",) if heights.matter(arrangement) else ()),
    )


class MenuPieces(NamedTuple):
    """What a dish adds to the menu's documents, where that follows from the dish alone and takes its time."""

    answers: Answers
    findings: str


def menu_pieces(prepared: Prepared) -> MenuPieces:
    """The answers of a dish for front of house, and its findings in the JSON of the matrix."""
    from platecard.documents.pages import front_of_house
    from platecard.documents.text import matrix_table

    return MenuPieces(front_of_house.answers(prepared), matrix_table.findings(prepared))


def matrix_of(menu: Sequence[Prepared]) -> bytes:
    """The allergens of the menu as a PDF: of its documents, what takes longest and needs no card."""
    from platecard.documents.pages import matrix
    from platecard.drawing import pdf

    settings = menu[0].world.kitchen.settings
    mark = fingerprint.code_of_menu(menu)
    return pdf.write(
        matrix.pages(menu, settings.called, mark, settings.language),
        title=f"Allergens of the menu, {settings.called}",
        author=settings.called,
        subject="Allergen matrix",
        keywords=mark,
        language=settings.language,
    )


def render_menu(
    menu: Sequence[Prepared],
    card_of: Callable[[Prepared], Pages] | None = None,
    known: Mapping[str, MenuPieces] | None = None,
    drawn: bytes | None = None,
) -> Iterator[tuple[str, Iterable[bytes]]]:
    """The documents of the menu as a whole, each as its file name and its bytes in pieces, one after another.

    ``card_of`` has the pages of a dish's card; without it they are drawn.  ``known`` are the pieces of
    sound dishes, by their keys, as far as they have been worked out; ``drawn`` is :func:`matrix_of` of this
    menu, if it is drawn already.
    """
    from platecard.documents.pages import book, front_of_house
    from platecard.documents.text import matrix_table
    from platecard.drawing import pdf

    settings = menu[0].world.kitchen.settings
    mark = fingerprint.code_of_menu(menu)
    answers = {key: pieces.answers for key, pieces in (known or {}).items()}
    findings = {key: pieces.findings for key, pieces in (known or {}).items()}
    yield "allergens.pdf", (drawn or matrix_of(menu),)
    yield "allergens.json", (text.encode("utf-8") for text in matrix_table.as_json(menu, findings))
    yield "front-of-house.html", (text.encode("utf-8") for text in front_of_house.page(menu, mark, answers))
    volumes = book.volumes(menu)
    for number, (name, dishes) in enumerate(zip(book.names(menu), volumes), 1):
        volume = f"volume {number} of {len(volumes)}" if len(volumes) > 1 else ""
        pages, bookmarks = book.compose(dishes, card_of or card, mark, volume)
        yield (
            name,
            (
                pdf.write(
                    pages,
                    title=f"Pass cards, {settings.called}{f', {volume}' if volume else ''}",
                    author=settings.called,
                    subject="Pass cards of the menu",
                    keywords=mark,
                    language=settings.language,
                    bookmarks=bookmarks,
                ),
            ),
        )
    for law in menu[0].world.laws:
        # A byte order mark, because spreadsheets otherwise misread accents.
        yield f"allergens-{law.key}.csv", (matrix_table.as_csv(matrix_table.table(law, menu)).encode("utf-8-sig"),)


def card(prepared: Prepared) -> Pages:
    """The pages of a card, laid out and drawn anew; none where it has letters that no font here has."""
    from platecard.documents.diagram import plate, side_view
    from platecard.documents.pages import pass_card
    from platecard.drawing import pdf

    prepared = laid(prepared)
    dish, arrangement = plated(prepared)
    numbers = plate.number_of(dish)
    side = side_view.on_paper(arrangement, dish, numbers)
    pages = pass_card.compose(prepared, numbers, fingerprint.of(prepared), side=side)
    try:
        return tuple(map(pdf.page, pages))
    except NotDrawable:
        return ()


@cache
def program() -> str:
    """A digest of the program, its knowledge and its fonts, so that a changed one renders anew."""
    from platecard.package_data import DATA

    state = hashlib.sha256(library_versions.versions().encode())
    for folder, inside, names in os.walk(os.path.dirname(DATA)):
        inside.sort()
        for name in sorted(names):
            if name.endswith((".py", ".yaml", ".json", ".jsonl", ".html", ".ttf", ".woff2")):
                with open(os.path.join(folder, name), "rb") as stream:
                    state.update(stream.read())
    return state.hexdigest()
