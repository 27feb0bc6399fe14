"""Step pictures: one for each step, in order, what is new in full and the rest pale; nothing collides."""

from __future__ import annotations

from dataclasses import replace
from xml.etree import ElementTree

import pypdf
import pytest

from platecard.documents.diagram import step_pictures
from platecard.documents.diagram.colours import looks
from platecard.documents.diagram.plate import food_on, number_of
from platecard.documents.kit import part_rows
from platecard.documents.kit.sheet import MARGIN, PAGES
from platecard.documents.pages import pass_card
from platecard.drawing.extent import bounds
from platecard.drawing.scene import Group, Text
from platecard.layout.arrange import place
from tests import laid
from tests.kitchens import BEETROOT, SPEC, kitchen, prepared
from tests.laid import at_mm, dish, piece, plate


def on_paper(page: str, spec: str = BEETROOT):
    one = prepared(spec)
    settings = replace(one.world.kitchen.settings, page=page)
    return replace(one, world=replace(one.world, kitchen=replace(one.world.kitchen, settings=settings)))


def groups(items) -> list[Group]:
    """All groups, outer ones first, each where it stands on the page."""
    return [g for i in items if isinstance(i, Group) for g in (i, *groups(i.items))]


def frames(pages) -> list[list[Group]]:
    return [[g for g in groups(p.items) if g.about and g.about.role == "frame"] for p in pages]


def fills(item, component: str) -> set[str]:
    """The colours that the pieces of a component are drawn in."""
    if isinstance(item, Group):
        return set().union(*(fills(i, component) for i in item.items)) if item.items else set()
    if (
        isinstance(item, Text)
        or item.about is None
        or item.about.role != "footprint"
        or item.about.component != component
    ):
        return set()
    return {item.style.fill}


def test_one_picture_for_each_step_with_the_new_part_in_full():
    one = on_paper("A5 landscape")
    made = [f for page in frames(step_pictures.compose(one, "ab")) for f in page]
    assert [f.about.component for f in made] == [s.put for s in one.dish.steps]
    look = looks(one.arrangement, one.dish)
    for n, (frame, step) in enumerate(zip(made, one.dish.steps)):
        assert fills(frame, step.put) == {look[step.put].fill}
        for before in one.dish.steps[:n]:
            assert (pale := fills(frame, before.put)) and look[before.put].fill not in pale
        for after in one.dish.steps[n + 1 :]:
            assert fills(frame, after.put) == set()
        assert frame.items[0].title.startswith(f"Step {n + 1}: ")


def test_what_comes_at_the_table_is_full_in_its_own_picture_and_signs_stand_above_the_food():
    spec = (
        BEETROOT.replace("  - {put: oil, amount: 4 g, arrange: pool, across: 50 mm}\n", "")
        .replace("on: oil}", "facing: {points: out, up: seeded side}}")
        .replace(
            "expo_checks:",
            "at_table:\n  - {put: oil, amount: 4 g, arrange: pool, across: 60 mm, may_touch: [crisp]}\nexpo_checks:",
        )
    )
    one = on_paper("A5 landscape", spec)
    made = [f for page in frames(step_pictures.compose(one, "ab")) for f in page]
    look = looks(one.arrangement, one.dish)
    last = next(f for f in made if f.about.component == "oil")
    assert fills(last, "oil") == {look["oil"].fill}, "there it is on the plate"
    crisp = next(f for f in made if f.about.component == "crisp")
    drawn = crisp.items[0].items[0].items
    signs = [n for n, i in enumerate(drawn) if i.about and i.about.role in ("side-up", "points")]
    assert signs and min(signs) > max(n for n, i in enumerate(drawn) if i.about and i.about.role == "footprint")
    assert not [i for i in last.items[0].items[0].items if i.about and i.about.role == "side-up"], (
        "of what is new alone"
    )


LONG = "a very long name for a small thing that nobody would ever put on a menu but somebody once did"


@pytest.mark.parametrize("page", PAGES)
@pytest.mark.parametrize("count", [1, 3, 16])
def test_frames_never_collide_and_long_names_wrap(page, count):
    parts = "".join(f"  c{i}: {{ingredient: dill, called: {LONG} {i}, station: larder}}\n" for i in range(count))
    disc = "piece: {shape: disc, size: 8 mm, weight: 0.2 g}"
    moves = "".join(
        f"  - {{put: c{i}, {disc}, at: {{right: {10 * (i % 8) - 40} mm, away: {12 * (i // 8)} mm}}}}\n"
        for i in range(count)
    )
    spec = f"dish: Many\nrevision: {{number: 1, date: 2026-01-31}}\nplate: wide\ncomponents:\n{parts}plating:\n{moves}"
    pages = step_pictures.compose(on_paper(page, spec), "ab")
    width, height = PAGES[page]
    made = frames(pages)
    assert sum(map(len, made)) == count
    for sheet in made:
        boxes = [bounds(f) for f in sheet]
        for n, a in enumerate(boxes):
            assert (
                a[0] >= MARGIN - 0.1 and a[2] <= width - MARGIN + 0.1 and a[1] >= MARGIN and a[3] <= height - MARGIN - 4
            )
            for b in boxes[n + 1 :]:
                assert a[2] <= b[0] + 1e-6 or b[2] <= a[0] + 1e-6 or a[3] <= b[1] + 1e-6 or b[3] <= a[1] + 1e-6
    said = " ".join(
        t.text for sheet in made for f in sheet for g in (f, *groups(f.items)) for t in g.items if isinstance(t, Text)
    )
    assert said.count("nobody would") + said.count("nobody") >= count, "no word is cut off"


def test_the_command(galley):
    assert galley.run("steps", "beetroot").code == 0
    text = " ".join(" ".join(p.extract_text().split()) for p in pypdf.PdfReader("beetroot-steps.pdf").pages)
    assert "Step by step" in text and "for the allergens see the pass card" in text and "Larder" in text
    done = galley.run("steps", "beetroot", "--out", "pictures/steps.svg")
    assert done.code == 0 and ElementTree.parse("pictures/steps.svg").getroot().tag.endswith("svg")
    galley.write(kitchen((SPEC, "plate: wide", "plate: wyde")))
    assert galley.run("steps", "beetroot", "--out", "no.pdf").code == 1 and not (galley.root / "no.pdf").exists()


def words_of(frame: Group) -> str:
    texts = [i.text for g in (frame, *groups(frame.items)) for i in g.items if isinstance(i, Text)]
    return " ".join(texts).replace("\u00a0", " ")


def test_each_picture_says_where_it_goes_which_way_and_what_expo_accepts():
    spec = BEETROOT.replace("on: oil}", "on: oil, facing: {points: out, up: seeded side}, accept: {place: 5 mm}}")
    one = on_paper("A5 landscape", spec)
    lines = part_rows.lines_of(one.dish, one.arrangement)
    made = [f for page in frames(step_pictures.compose(one, "ab")) for f in page]
    for frame, step in zip(made, one.dish.steps, strict=True):
        said = words_of(frame)
        for words, _ in lines[step.index]:
            assert words.replace("\u00a0", " ") in said, step.put
    crisp = " ".join(words_of(f) for f in made if f.about.component == "crisp")
    assert "seeded side up" in crisp and "accept ±5" in crisp


def test_more_small_pictures_stand_on_a_page_where_that_saves_one():
    parts = "".join(f"  c{i}: {{ingredient: dill, called: Part {i}}}\n" for i in range(12))
    disc = "piece: {shape: disc, size: 8 mm, weight: 0.2 g}"
    moves = "".join(f"  - {{put: c{i}, {disc}, at: {{right: {12 * i - 70} mm, away: 0 mm}}}}\n" for i in range(12))
    spec = f"dish: Many\nrevision: {{number: 1, date: 2026-01-31}}\nplate: wide\ncomponents:\n{parts}plating:\n{moves}"
    assert [len(page) for page in frames(step_pictures.compose(on_paper("A5 landscape", spec), "ab"))] == [6, 6]


# --- beside the steps of a card


LAID = dish(
    laid.step("slab", piece=piece("bar", 60, 30, 12), at=at_mm(0, 0)),
    laid.step("seed", count=3, piece=piece("disc", 8, None, 4), on="slab"),
    laid.step("alone", piece=piece("disc", 20), at=at_mm(70, 60)),
    laid.step("fan", count=4, piece=piece("slice", 40, 20, 4), arrange="fan", start="5:00", end="8:00", out="60 mm"),
    laid.step("jus", arrange="pool", across_mm=60, amount="10 ml", section="at_table", at=at_mm(-60, 60)),
)


def test_a_step_has_a_picture_where_the_order_of_plating_shows():
    assert [s.put for s in LAID.steps if step_pictures.in_order(s)] == ["seed", "fan", "jus"]


def test_a_close_up_shows_what_is_new_in_full_and_what_it_lies_on_in_pale():
    arrangement, _ = place(LAID, plate(280, 240))
    food = food_on(arrangement, LAID)
    seed, look = LAID.steps[1], food.look
    picture = step_pictures.close_up(seed, arrangement, LAID, food, 17.0, 12.0)
    left, top, right, foot = bounds(*picture.items)
    assert (right - left, foot - top) == pytest.approx((17, 12), abs=0.25)
    (shown,) = picture.items
    assert fills(shown, "seed") and fills(shown, "slab")
    assert not fills(shown, "slab") & {look["slab"].fill} and not fills(shown, "fan"), "no more than what is there"
    boxes = {f: bounds(i) for f, i in zip("abc", pieces_of(shown, "seed"))}
    assert len(boxes) == 3 and all(0 < b[0] and b[2] < 17 and 0 < b[1] and b[3] < 12 for b in boxes.values())


def pieces_of(item, component):
    if isinstance(item, Group):
        return [p for i in item.items for p in pieces_of(i, component)]
    return [item] if item.about and item.about.role == "footprint" and item.about.component == component else []


def test_no_words_run_over_the_pictures_of_a_card():
    one = on_paper("A5 landscape", BEETROOT)
    _, back = pass_card.compose(one, number_of(one.dish), "ab" * 4)
    pictures = [g for g in groups(back.items) if g.title.endswith("where it goes")]
    assert len(pictures) == sum(step_pictures.in_order(s) for s in one.dish.steps) > 0

    def words(items):
        for i in items:
            if isinstance(i, Text):
                yield i
            elif isinstance(i, Group) and i.role != "img":
                yield from words(i.items)

    for left, top, right, foot in (bounds(g) for g in pictures):
        assert 0 < left and right <= back.width_mm - MARGIN + 0.2 and 0 < top and foot < back.height_mm - MARGIN
        for text in words(back.items):
            a, b, c, d = bounds(text)
            assert c <= left or right <= a or d <= top + 0.8 or foot <= b, text
