"""The pass card holds whatever a chef writes: nothing overlaps, nothing leaves the page, nothing is too small."""

from __future__ import annotations

import io

import pypdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from platecard import fingerprint
from platecard.documents.diagram import plate
from platecard.documents.kit.sheet import PAGES
from platecard.documents.pages import pass_card
from platecard.drawing import pdf
from platecard.drawing.extent import bounds
from platecard.drawing.scene import Group, Rect, Text
from platecard.publishing import build
from tests.allergens.test_acknowledgement_and_matrix import KITCHEN, menu

NAMES = (
    "char",
    "Crème fraîche épaisse d'Isigny à la fleur de sel et au poivre long",
    "beetroot",
    "Rindfleischetikettierungsüberwachung",
    "a very long name that a proud chef wrote down on a quiet afternoon and did not shorten",
    '½ lemon & "peel"',
    "jus",
)
INGREDIENTS = (
    "butter",
    "cod",
    "hazelnut",
    "celery",
    "mustard seed",
    "wheat flour",
    "hen egg",
    "sesame seed",
    "mussel",
    "prawn",
    "almond",
    "walnut",
    "rye flour",
    "potato",
)


def card(
    count: int,
    names: list[str],
    page: str = "A5 landscape",
    laws: str = "[eu, us]",
    checks: int = 3,
    title: str = "A dish",
    note: str = "",
):
    lines = [
        f"dish: {title!r}" if '"' in title else f'dish: "{title}"',
        "menu_line: " + "Something said at the table. " * 3,
        "revision: {number: 12, date: 2026-02-01}",
        "plate: p",
        "components:",
    ]
    for i in range(count):
        name = names[i % len(names)].replace('"', '\\"')
        lines.append(f'  c{i}: {{ingredient: {INGREDIENTS[i % len(INGREDIENTS)]}, called: "{name}", station: larder}}')
    lines.append("plating:")
    for i in range(count):
        ring, turn = divmod(i, 12)
        lines.append(
            f"  - {{put: c{i}, piece: {{shape: disc, size: 12 mm, height: 12 mm, weight: 1.4 g}}, at:"
            f' "{turn or 12}:00", out: {80 - 30 * ring} mm, facing: {{up: cut side}}, accept: {{place: 5 mm, turn: 10'
            f' deg, words: "round, and clear of its neighbours"}}{f", note: {note}" if note else ""}}}'
        )
    lines.append(
        "expo_checks:\n"
        + "\n".join(
            f"  - Check number {i + 1}, which runs on for a while so that it has to wrap somewhere"
            for i in range(checks)
        )
    )
    kitchen = KITCHEN.replace("[eu, us]", laws) + f"card: {{page: {page}}}\nstations: {{larder: Larder}}\n"
    (dish,) = menu("\n".join(lines) + "\n", kitchen=kitchen)
    scene = plate.draw(dish.arrangement, dish.dish)
    return dish, pass_card.compose(dish, scene, plate.number_of(dish.dish), fingerprint.of(dish))


def texts(items) -> list[Text]:
    """Every text of a page but the diagram's, whose callouts have tests of their own."""
    found = []
    for item in items:
        if isinstance(item, Text):
            found.append(item)
        elif isinstance(item, Group) and item.role != "img":
            found += texts(item.items)
    return found


def check_pages(pages) -> None:
    for page in pages:
        boxes = [(t, bounds(t)) for t in texts(page.items)]
        for text, (left, top, right, bottom) in boxes:
            assert text.size_pt >= 7.0, text
            assert -0.01 <= left and right <= page.width_mm + 0.01 and top >= 0 and bottom <= page.height_mm, text
        for i, (one, a) in enumerate(boxes):
            for other, b in boxes[i + 1 :]:
                # Ascenders and descenders of neighbouring lines may share a little air, letters may not.
                across = min(a[2], b[2]) - max(a[0], b[0])
                down = min(a[3], b[3]) - max(a[1], b[1])
                assert across < 0.2 or down < 0.32 * (a[3] - a[1]), (one, other)
        left, top, right, bottom = bounds(*page.items)
        assert left >= -0.01 and top >= -0.01 and right <= page.width_mm + 0.01 and bottom <= page.height_mm + 0.01


@settings(max_examples=60, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(
    st.integers(1, 24),
    st.lists(st.sampled_from(NAMES), min_size=1, max_size=7),
    st.sampled_from(sorted(PAGES)),
    st.sampled_from(
        ["[eu]", "[eu, us]", "[eu, us, ca, au-nz, jp]", "[eu, uk, us, ca, au-nz, jp, codex, ch, kr, sg, hk]"]
    ),
    st.integers(1, 8),
    st.sampled_from(NAMES),
    st.sampled_from(["", "wipe the knife between slices and mind the grain"]),
)
def test_nothing_overlaps_and_nothing_leaves_the_page(count, names, page, laws, checks, title, note):
    _, pages = card(count, names, page, laws, checks, title, note)
    check_pages(pages)


@pytest.mark.parametrize("page", sorted(PAGES))
def test_fourteen_components_with_long_names(page):
    dish, pages = card(14, list(NAMES), page)
    check_pages(pages)
    data = pdf.write(pages, title="x")
    said = " ".join(" ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(data)).pages).split())
    for component in dish.dish.components:
        assert all(word in said.replace(" ", "") for word in component.called.replace(" ", "").split("|")), (
            component.called
        )
    for finding in (f for s in dish.statements for f in s.with_presence("contains")):
        assert finding.declared_as in said


def test_a_small_dish_has_all_of_it_on_one_page():
    _, pages = card(3, ["char", "jus", "beetroot"], laws="[eu]", checks=2)
    front = " ".join(t.text for t in texts(pages[0].items))
    assert "accept exactly 1" in front and "Check number 2" in front and "how to build it" not in front


def test_the_declaration_is_on_the_front_or_the_front_says_where():
    for laws in ("[eu]", "[eu, us]", "[eu, us, ca, au-nz, jp]", "[eu, uk, us, ca, au-nz, jp, codex, ch, kr, sg, hk]"):
        _, pages = card(14, list(NAMES), laws=laws)
        front = " ".join(t.text for t in texts(pages[0].items))
        assert "ALLERGENS" in front and ("CONTAINS" in front or "next page" in front)
        if "next page" in front:
            assert "CONTAINS" in " ".join(t.text for t in texts(pages[1].items))


def test_a_draft_says_so_and_names_what_is_unknown():
    text = (
        "dish: Draft\nrevision: {number: 1, date: 2026-02-01}\nplate: p\ncomponents:\n  a: {ingredient:"
        " unobtainium}\nplating:\n  - {put: a, piece: {shape: disc, size: 20 mm}, at: centre}\n"
    )
    (dish,) = menu(text)
    assert not dish.is_sound
    data = build.render(dish, is_draft=True)["pass-card.pdf"]
    said = " ".join(" ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(data)).pages).split())
    assert "DRAFT" in said and "NOT ESTABLISHED" in said and "unobtainium" in said
    assert "not among the ingredients entered" not in said


def test_paper_is_the_size_it_says():
    for page, (width, height) in PAGES.items():
        _, pages = card(4, ["a"], page)
        box = pypdf.PdfReader(io.BytesIO(pdf.write(pages, title="x"))).pages[0].mediabox
        assert abs(float(box.width) * 25.4 / 72 - width) < 0.01 and abs(float(box.height) * 25.4 / 72 - height) < 0.01
        assert isinstance(pages[0].items[0], Rect)
