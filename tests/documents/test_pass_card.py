"""The pass card holds whatever a chef writes: nothing overlaps, nothing leaves the page, nothing is too small."""

from __future__ import annotations

import io
import math
from itertools import combinations

import pypdf
import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from platecard import fingerprint
from platecard.documents.diagram import plate
from platecard.documents.diagram.leader_lines import cross
from platecard.documents.kit.sheet import PAGES
from platecard.documents.pages import pass_card
from platecard.drawing import fonts, pdf
from platecard.drawing.extent import bounds
from platecard.drawing.scene import Group, Polygon, Rect, Text
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
    return dish, pass_card.compose(dish, plate.number_of(dish.dish), fingerprint.of(dish))


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
            assert text.size_pt >= 8.0 - 1e-9, text
            assert -0.01 <= left and right <= page.width_mm + 0.01 and top >= 0 and bottom <= page.height_mm, text
        for i, (one, a) in enumerate(boxes):
            for other, b in boxes[i + 1 :]:
                # Ascenders and descenders of neighbouring lines may share a little air, letters may not.
                across = min(a[2], b[2]) - max(a[0], b[0])
                down = min(a[3], b[3]) - max(a[1], b[1])
                assert across < 0.2 or down < 0.32 * (a[3] - a[1]), (one, other)
        left, top, right, bottom = bounds(*page.items)
        assert left >= -0.01 and top >= -0.01 and right <= page.width_mm + 0.01 and bottom <= page.height_mm + 0.01


@settings(max_examples=40, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
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
    assert len(pages) == 2, "one leaf, whatever is on it"
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


def seen_at_60_cm(size_pt: float, face: str) -> float:
    """Minutes of arc that a capital subtends at 60 cm, the distance of a rail at eye height."""
    return 60 * math.degrees(math.atan(fonts.cap_height(size_pt, face) / 600))


@pytest.mark.parametrize(
    "page, count, least",
    [("A5 landscape", 3, 16), ("A5 landscape", 8, 16), ("A5 landscape", 12, 14), ("A4 portrait", 14, 16)],
)
def test_whatever_is_pass_or_fail_is_readable_at_60_cm(page, count, least):
    """16 minutes of arc is the usual least height of a capital, 14 the least of all.

    Both read second-hand, of ISO 9241-303.
    """
    dish, pages = card(count, ["char", "jus", "beetroot", "leek"], page)
    front = texts(pages[0].items)
    words = [t for t in front if t.text.startswith(("1×", "±5 mm", "Check number", "cut side"))]
    assert len([t for t in words if t.text.startswith("1×")]) == count and any("Check" in t.text for t in words)
    for text in words:
        assert seen_at_60_cm(text.size_pt, text.face) >= least - 0.15, text
    sentence = next(t for t in front if "milk" in t.text)
    assert seen_at_60_cm(sentence.size_pt, sentence.face) >= least - 0.15


def test_a_card_that_does_not_fit_is_drawn_on_the_next_larger_paper():
    for page, larger in (("A5 landscape", (297.0, 210.0)), ("A4 portrait", (297.0, 420.0))):
        _, pages = card(24, list(NAMES), page, checks=8)
        for scene in pages:
            assert (scene.width_mm, scene.height_mm) >= larger or scene.width_mm == larger[0]
    _, pages = card(6, ["char", "jus", "beetroot"])
    assert {(p.width_mm, p.height_mm) for p in pages} == {PAGES["A5 landscape"]}


def callouts(items) -> list[Group]:
    found = []
    for item in items:
        if isinstance(item, Group):
            found += [item] if item.about and item.about.role == "callout" else callouts(item.items)
    return found


@pytest.mark.parametrize("page", sorted(PAGES))
@pytest.mark.parametrize(
    "name", ["chestnut honey gel", "charred cabbage", "verbena-and-lovage cream", "Rindfleischbrühe"]
)
def test_no_word_of_a_label_is_broken_in_the_middle(page, name):
    _, (front, _) = card(7, [name, "jus"], page)
    whole = set(f"{name} jus 1× cut side up".replace("-", " ").split())
    labels = callouts(front.items)
    assert len(labels) == 7
    for label in labels:
        _, *lines = texts(label.items)  # behind the number
        shown = {word for line in lines for word in line.text.replace("\u00a0", " ").replace("-", " ").split()}
        assert shown <= whole, shown - whole


def leaders(page) -> dict[str, Polygon]:
    found = {}

    def walk(items):
        for item in items:
            if isinstance(item, Polygon) and item.about and item.about.role == "leader":
                found[item.about.component] = item
            elif isinstance(item, Group):
                walk(item.items)

    walk(page.items)
    return found


def pieces(items, role: str = "footprint") -> dict[str, list]:
    found: dict[str, list] = {}
    for item in items:
        if isinstance(item, Group):
            for key, more in pieces(item.items, role).items():
                found.setdefault(key, []).extend(more)
        elif item.about and item.about.role == role:
            found.setdefault(item.about.component, []).append(bounds(item))
    return found


@settings(max_examples=30, deadline=None, suppress_health_check=list(HealthCheck), derandomize=True)
@given(st.integers(1, 20), st.sampled_from(sorted(PAGES)))
def test_each_line_runs_from_its_name_to_its_food_and_crosses_no_other(count, page):
    dish, (front, _) = card(count, ["char", "jus", "beetroot", "leek"], page)
    lines, food = leaders(front), pieces(front.items)
    assert set(lines) == set(food) == {c.key for c in dish.dish.components}
    for key, line in lines.items():
        x, y = line.points[-1]
        assert any(
            left - 0.1 <= x <= right + 0.1 and top - 0.1 <= y <= foot + 0.1 for left, top, right, foot in food[key]
        )
    ends = [line.points[-2:] for line in lines.values()]
    assert not [(a, b) for a, b in combinations(ends, 2) if cross(*a, *b)]


def test_the_parts_stand_on_the_front_with_count_side_and_leeway_and_the_build_overleaf():
    _, pages = card(3, ["char", "jus", "beetroot"], laws="[eu]", checks=2)
    front, back = (" ".join(" ".join(t.text for t in texts(p.items)).split()) for p in pages)
    assert "1× char" in front and "Every part: ±5 mm, ±10°, round, and clear" in front
    assert "cut side up" in front and "Check number 2" in front
    assert "at 12:00, 80 mm out" in back and "Larder" in back and "at 12:00, 80 mm out" not in front


def test_the_declaration_is_on_the_front_and_what_more_there_is_overleaf():
    for laws in ("[eu]", "[eu, us]", "[eu, us, ca, au-nz, jp]", "[eu, uk, us, ca, au-nz, jp, codex, ch, kr, sg, hk]"):
        dish, pages = card(14, list(NAMES), laws=laws)
        front, back = (" ".join(t.text for t in texts(p.items)) for p in pages)
        assert "ALLERGENS" in front and "CONTAINS" in front
        if "overleaf" in front.split("ALLERGENS")[1].split("Derived from")[0]:
            assert "ALLERGENS" in back


def test_eleven_laws_stand_in_one_table_on_one_side():
    dish, pages = card(
        6, ["char", "jus"], page="A4 portrait", laws="[eu, uk, us, ca, au-nz, jp, codex, ch, kr, sg, hk]"
    )
    assert {(p.width_mm, p.height_mm) for p in pages} == {PAGES["A4 portrait"]}
    back = texts(pages[1].items)
    words = [t.text for t in back]
    told = sum(len(s.with_presence("contains")) for s in dish.statements)
    boxed = [t.text for t in back if t.face == "bold"]
    assert boxed.count("yes") + boxed.count("(yes)") == told > 20
    # What is in it and outside a law stands in that law's column, without a box.
    outside = sum(len(s.also) for s in dish.statements)
    assert len([t for t in back if t.face == "regular" and t.text == "yes"]) == outside
    assert not any(word.startswith("Outside") for word in words)
    heads = " ".join(words)
    for s in dish.statements:
        assert s.law.act in heads.replace("\u00a0", " ")


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
        _, pages = card(3, ["a"], page, checks=1)
        box = pypdf.PdfReader(io.BytesIO(pdf.write(pages, title="x"))).pages[0].mediabox
        assert abs(float(box.width) * 25.4 / 72 - width) < 0.01 and abs(float(box.height) * 25.4 / 72 - height) < 0.01
        assert isinstance(pages[0].items[0], Rect)
