"""Read back out of the PDFs of the working papers: how full pages are, what is continued, where words break."""

from __future__ import annotations

import io
import re
from functools import cache
from pathlib import Path
from typing import NamedTuple

import pypdf
import pypdfium2
import pytest
from PIL import ImageOps

from platecard import fingerprint, pipeline
from platecard.allergens import statement
from platecard.documents.diagram import step_pictures
from platecard.documents.kit import column_pages
from platecard.documents.kit.sheet import MARGIN, PAGES
from platecard.documents.pages import matrix, prep_list, recipe_card, service_sheet
from platecard.documents.text import matrix_table
from platecard.drawing import pdf
from platecard.drawing.scene import Group, Scene
from platecard.prepared import Prepared
from platecard.service import orders, prep

ROOT = Path(__file__).parents[2]
MM = 72 / 25.4
DPI = 50
HEAD = 16.0  # mm that the head of a page takes
PAPERS = ("A5 landscape", "A4 portrait")
LAWS = "[eu, uk, us, ca, au-nz, jp, codex, ch, kr, sg, hk]"
LONG = "Rindfleischetikettierungsueberwachungsaufgabenuebertragungsgesetz"


# What the labels of the demo kitchen name for Japan and South Korea, and do not have to for its own laws.
NAMED = (
    ("contains: [], text: Apple cider", "contains: [apple], text: Apple cider"),
    ('contains: [], text: "Coconut extract', 'contains: [coconut], text: "Coconut extract'),
    ("contains: [barley, anchovy]", "contains: [barley, anchovy, apple]"),
    ('contains: [mustard], text: "Cider', 'contains: [mustard, apple], text: "Cider'),
    ("contains: [oats, barley, wheat]", "contains: [oats, barley, wheat, pork]"),
)


@cache
def demo(page: str, laws: str = "[eu, us]"):
    """The dishes of the demo kitchen, on another paper and under other laws."""
    library = [(str(p.relative_to(ROOT)), p.read_text("utf-8")) for p in sorted((ROOT / "shared").rglob("*.yaml"))]
    library = [
        (file, re.sub(r"(?m)^laws: .*", f"laws: {laws}", text).replace("page: A5 landscape", f"page: {page}"))
        for file, text in library
    ]
    if laws == LAWS:
        for old, new in NAMED:
            library = [(file, text.replace(old, new)) for file, text in library]
    texts = [(p.read_text("utf-8"), f"specs/{p.name}", p.stem) for p in sorted((ROOT / "specs").glob("*.yaml"))]
    texts = [(re.sub(r"(?m)^acknowledged:\n(?:[ #].*\n)*", "", text), file, key) for text, file, key in texts]
    return pipeline.prepare_menu(texts, pipeline.world(library))


def long_recipes():
    """A dish made from recipes of 3, 14 and 45 ingredients, one with a name that is longer than any line."""
    ingredients = ("butter", "hazelnut", "celery", "wheat flour", "hen egg", "almond", "walnut", "rye flour", "potato")
    sizes = ((3, 2, "Short"), (14, 12, "Middling stock"), (45, 60, LONG))
    library = [
        ("shared/kitchen.yaml", "kitchen: Test\nlaws: [eu, us]\ncard: {page: A5 landscape, language: de-DE}\n"),
        ("shared/plates.yaml", "plates:\n  p: {called: Plate, form: rimmed, outer: 280 mm, well: 200 mm}\n"),
    ]
    more = " for as long as it takes, and then a little more"
    for lines, many, name in sizes:
        library.append(
            (
                f"shared/recipes/r{lines}.yaml",
                f"recipe: {name}\nmakes: {20 * lines} g\nkeeps: 2 days\nmade_ahead: the day before\ningredients:\n"
                + "".join(f"  - {{ingredient: {ingredients[i % 9]}, amount: 20 g}}\n" for i in range(lines))
                + "method:\n"
                + "".join(f"  - Stir it{more * (i % 3)}.\n" for i in range(many)),
            )
        )
    spec = (
        "dish: Long\nrevision: {number: 1, date: 2026-01-31}\nplate: p\ncomponents:\n"
        + "".join(f"  c{lines}: {{recipe: r{lines}}}\n" for lines, _, _ in sizes)
        + "plating:\n"
        + "".join(
            f"  - {{put: c{lines}, piece: {{shape: disc, size: 12 mm, weight: 2 g}}, at: {{right: {30 * n - 30} mm,"
            " away: 0 mm}}\n"
            for n, (lines, _, _) in enumerate(sizes)
        )
    )
    return pipeline.prepare_menu([(spec, "specs/long.yaml", "long")], pipeline.world(library))


def written(scenes) -> bytes:
    return pdf.write(tuple(map(pdf.page, scenes)), title="t", author="", subject="", keywords="", language="en-GB")


def empty_shares(data: bytes) -> list[float]:
    """The share of each page's body that is empty above the foot, the mean of its two halves, by its ink."""
    found = []
    for page in pypdfium2.PdfDocument(data):
        size = page.get_width() / MM, page.get_height() / MM
        ink = ImageOps.invert(page.render(scale=DPI / 72, grayscale=True).to_pil().convert("L"))
        ink = ink.point(lambda grey: 255 if grey > 25 else 0)
        k = DPI / 25.4
        top, bottom, middle = MARGIN + HEAD, column_pages.bottom(size) - 0.5, size[0] / 2
        halves = []
        for left, right in ((MARGIN, middle), (middle, size[0] - MARGIN)):
            box = ink.crop((int(left * k), int(top * k), int(right * k), int(bottom * k))).getbbox()
            halves.append(1 - (box[3] / k if box else 0.0) / (bottom - top))
        found.append(sum(halves) / 2)
    return found


class Paper(NamedTuple):
    """A document of a dish: as it was composed, and as it was written."""

    one: Prepared
    scenes: tuple[Scene, ...]
    data: bytes


def service(one):
    return service_sheet.compose(one, fingerprint.of(one))


def recipes(one):
    return recipe_card.compose(one, fingerprint.of(one))


def steps(one):
    return step_pictures.compose(one, fingerprint.of(one))


@cache
def papers(page: str, document) -> list[Paper]:
    """The documents of one kind of the demo kitchen, composed and written once."""
    return [Paper(one, scenes, written(scenes)) for one in demo(page) if (scenes := tuple(document(one)))]


@pytest.mark.parametrize("page", PAPERS)
@pytest.mark.parametrize("document", [service, steps])
def test_no_page_but_the_last_is_left_a_third_empty(page, document):
    assert papers(page, document)
    for paper in papers(page, document):
        assert all(empty <= 1 / 3 for empty in empty_shares(paper.data)[:-1]), paper.one.key


@pytest.mark.parametrize("page", PAPERS)
def test_recipe_cards_have_no_page_of_a_few_lines_and_fill_both_columns(page):
    shares = [empty_shares(paper.data) for paper in papers(page, recipes)]
    assert len(shares) > 8
    before_last = [empty for pages in shares for empty in pages[:-1]]
    # A card that would take a little more than a page is set larger, so that it fills two; a few stay at half a page.
    assert max(before_last) < 0.5
    assert sum(empty > 1 / 3 for empty in before_last) <= 0.05 * len(before_last)


def test_a_long_recipe_fills_its_pages_and_says_that_it_continues():
    (one,) = long_recipes()
    data = written(recipes(one))
    assert all(empty < 0.4 for empty in empty_shares(data)[:-1])
    pages = [page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages]
    assert len(pages) > 4
    said = [re.sub(r"[\s-]+", "", page) for page in pages]
    assert sum("gesetz,continued" in page for page in said) >= 1
    assert any("Ingredients,continued" in page for page in said) and any("Method,continued" in page for page in said)


def test_a_word_longer_than_its_line_is_broken_with_a_hyphen():
    (one,) = long_recipes()
    lines = [
        line.strip()
        for scenes in (recipes(one), service(one))
        for page in pypdf.PdfReader(io.BytesIO(written(scenes))).pages
        for line in page.extract_text().splitlines()
    ]
    parts = [n for n, line in enumerate(lines) if line.startswith(LONG[:6])]
    assert parts
    for n in parts:
        word, at = "", n
        while lines[at].endswith("-"):
            word, at = word + lines[at].removesuffix("-"), at + 1
        assert (word + lines[at]).startswith(LONG), lines[n : at + 1]


def headings(scene) -> list[Group]:
    found: list[Group] = []

    def walk(items) -> None:
        for item in items:
            if isinstance(item, Group):
                if item.role == "heading":
                    found.append(item)
                walk(item.items)

    walk(scene.items)
    return found


@pytest.mark.parametrize("page", PAPERS)
def test_no_heading_stands_alone_at_the_foot_of_a_column(page):
    seen = 0
    for document in (service, recipes):
        for one, scenes, data in papers(page, document):
            for scene, sheet in zip(scenes, pypdf.PdfReader(io.BytesIO(data)).pages):
                titles = {h.title.replace(" ", "") for h in headings(scene)}
                placed: list[tuple[float, float, str]] = []
                sheet.extract_text(
                    visitor_text=lambda text, cm, tm, font, size, placed=placed: (
                        placed.append((tm[4] / MM, tm[5] / MM, text.strip())) if text.strip() else None
                    )
                )
                foot = scene.height_mm - column_pages.bottom((scene.width_mm, scene.height_mm))
                for x, y, text in placed:
                    if text.replace(" ", "") not in titles or y < foot:
                        continue
                    seen += 1
                    half = x < scene.width_mm / 2
                    below = [t for a, b, t in placed if (a < scene.width_mm / 2) == half and foot - 1 < b < y - 1]
                    assert any(t.replace(" ", "") not in titles for t in below), (one.key, text)
    assert seen > 50


def test_the_lists_say_what_a_column_continues():
    dishes = demo("A5 landscape")
    kitchen = dishes[0].world.kitchen
    plan = prep.plan([(one.resolved, 24) for one in dishes], kitchen)
    scenes = prep_list.compose(prep_list.Work(plan, orders.orders(plan.leaves, kitchen), kitchen))
    data = written(scenes)
    text = "\n".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)
    assert "Preparation list, continued" in text and "Order list, continued" in text
    assert "1 day before, continued" in text and "Sauce, continued" in text
    # Each of the two lists may end on a page that is not full.
    shares = empty_shares(data)
    assert sum(empty > 1 / 3 for empty in shares) <= 2


def test_the_matrix_under_eleven_laws_breaks_no_word_and_tells_revisions_and_what_may_be():
    dishes = demo("A4 landscape", LAWS)
    assert all(one.is_sound for one in dishes)
    mark = fingerprint.code_of_menu(dishes)
    pages = matrix.pages(dishes, "Test", mark)
    reader = pypdf.PdfReader(io.BytesIO(pdf.write(pages, title="t", author="", subject="", keywords="", language="en")))
    texts = [page.extract_text() for page in reader.pages]
    whole = " ".join(" ".join(texts).split())
    known = set()
    for law in dishes[0].world.laws:
        made = matrix_table.table(law, dishes)
        for column, group in enumerate(made.groups):
            known |= set(re.findall(r"[^\W\d_]+", " ".join((group, *matrix._words_of(made, column)))))
    assert all(re.search(rf"\b{re.escape(word)}\b", whole) for word in known)
    for one in dishes:
        assert f"revision {one.dish.revision.number}, {one.dish.revision.date}" in whole
        assert f"code {fingerprint.of(one)}" in whole
    newest = max(one.dish.revision.date for one in dishes)
    assert all(f"newest revision {newest}" in text and f"code {mark}" in text for text in texts)
    sizes: set[float] = set()
    for page in reader.pages:
        page.extract_text(visitor_text=lambda text, cm, tm, font, size: sizes.add(size * tm[0]) if text.strip() else 0)
    assert min(sizes) >= 8.0 - 1e-6


def test_a_recipe_under_eleven_laws_names_all_that_any_of_them_declares():
    (one,) = (one for one in demo("A4 landscape", LAWS) if one.key == "pork-cider")
    data = written(recipes(one))
    said = " ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages)
    said = re.sub(r"\s+", "", said)
    for law in one.world.laws:
        assert law.name.replace(" ", "") in said
    for card in recipe_card.cards(one):
        together = statement.union(card.statements)
        for f in (*together.with_presence("contains"), *together.with_presence("may_contain")):
            assert f.in_full.replace(" ", "") in said, (card.batch.recipe.called, f.in_full)


def test_the_papers_tried_are_papers_of_kitchens():
    assert set(PAPERS) <= set(PAGES)
