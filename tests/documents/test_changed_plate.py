"""The changed plate: derived anew, every piece where it was, marked beyond mistaking, and no card where there is no
answer.
"""

from __future__ import annotations

import os
from io import BytesIO
from types import SimpleNamespace
from xml.etree import ElementTree

import pypdf
import pytest

from platecard import fingerprint, pipeline
from platecard.allergens.guests.answers import Change
from platecard.allergens.traces import CONTAINS, MAY
from platecard.diagnostics import Span
from platecard.documents.diagram import plate
from platecard.documents.pages import changed_plate
from platecard.drawing.scene import Group, Path, Polygon, Text
from platecard.layout import arrange
from platecard.model import Component, Source
from platecard.reports import guest_answers, guest_card
from tests.kitchens import LIBRARY, PANTRY, SPEC, kitchen, library

# The dill lies on the crisp, and the oil goes round it: both hang on what may be left off.
DISH = """\
dish: Beetroot, egg sauce, crisp
revision: {number: 4, date: 2026-01-31}
plate: wide
components:
  beetroot: {ingredient: beetroot, station: larder}
  crisp: {product: seeded-crisp, called: seeded crisp, may_be_left_off: true}
  sauce: {recipe: egg-sauce, called: egg sauce, equipment: fryer, swap: {avoiding: [egg], use: {recipe: nut-sauce}}}
  dill: {ingredient: dill}
  oil: {ingredient: olive oil}
plating:
  - {put: beetroot, count: 3, piece: {shape: disc, size: 30 mm, weight: 12 g}, arrange: ring, out: 60 mm}
  - {put: crisp, count: 2, piece: {shape: shard, size: 40 x 22 mm, weight: 6 g}, arrange: line, from: "9:00", to: "3:00", out: 24 mm}
  - {put: sauce, count: 1, piece: {shape: quenelle, size: 30 x 16 mm, weight: 3 g}, at: {right: 0 mm, near: 30 mm}}
  - {put: dill, count: 2, piece: {shape: frond, size: 8 mm, weight: 0.2 g}, on: crisp}
  - {put: oil, count: 6, piece: {shape: dot, size: 4 mm, weight: 0.008 g}, arrange: ring, around: crisp, clear: 3 mm}
expo_checks:
  - Crisp on last
  - Rim clean, bowl warm
"""  # noqa: E501
FILES = {
    PANTRY: LIBRARY[PANTRY],
    "shared/recipes/egg-sauce.yaml": (
        "recipe: Egg sauce\nmakes: 100 g\ningredients:\n  - {ingredient: egg, amount: 100 g}\n"
    ),
    "shared/recipes/nut-sauce.yaml": (
        "recipe: Nut sauce\nmakes: 100 g\ningredients:\n  - {ingredient: almond, amount: 100 g}\n"
    ),
}
FRIED = """\
dish: Fried fish
revision: {number: 1, date: 2026-01-31}
plate: wide
components:
  cod: {ingredient: cod, equipment: fryer}
plating:
  - {put: cod, piece: {shape: fillet, size: 60 x 40 mm, weight: 80 g}}
"""


def ask(avoid: str, spec: str = DISH, files: dict | None = None):
    """The answer and the changed plate, beside a dish of fish from the same fryer."""
    world = pipeline.world(library({**LIBRARY, **FILES, **(files or {})}))
    menu = (
        pipeline.begin(spec, "specs/asked.yaml", "asked", world),
        pipeline.begin(FRIED, "specs/fried.yaml", "fried", world),
    )
    avoids, problems = guest_answers.avoids(avoid, world)
    assert not problems
    ((begun, answer),) = guest_answers.answer_all(menu, ("asked",), avoids, world)
    return answer, *guest_card.prepare(begun, answer, avoids, menu, world)


def presences(prepared) -> dict[str, set[str]]:
    return {p: {f.allergen for s in prepared.statements for f in s.with_presence(p)} for p in (CONTAINS, MAY)}


def drawn(changed):
    told = changed.told
    regular = changed.regular
    shown = changed_plate.dish_shown(regular.dish, told, for_drawing=True)
    return changed_plate.draw(regular.arrangement, shown, told, plate.number_of(regular.dish))


def groups(items, role: str) -> list[Group]:
    found = []
    for i in items:
        if isinstance(i, Group):
            found += [i] if i.about and i.about.role == role else groups(i.items, role)
    return found


def card_text(changed) -> str:
    reader = pypdf.PdfReader(BytesIO(guest_card.documents(changed)[1]))
    return " ".join(" ".join(p.extract_text().split()) for p in reader.pages)


def test_the_declaration_is_derived_anew_with_what_equipment_hands_on():
    answer, changed, problems = ask("egg")
    assert answer.answer == "changed" and not problems
    regular, now = presences(changed.regular), presences(changed.prepared)
    assert "egg" in regular[CONTAINS] and "egg" not in now[CONTAINS]
    assert "almond" in now[CONTAINS] and "almond" not in regular[CONTAINS], "what the swap brings is declared"
    assert "fish" in now[MAY], "the swap goes through the fryer where the fish goes"
    assert {"wheat", "sesame"} <= now[CONTAINS]


def test_what_comes_in_with_the_swap_is_said_aloud():
    _, changed, _ = ask("egg")
    assert any("almond" in words for _, words in changed.told.came_in)
    text = card_text(changed)
    assert "COMES IN WITH THE CHANGE, not on the regular plate: almond" in text
    _, left_off, _ = ask("wheat")
    assert left_off.told.came_in == () and "COMES IN" not in card_text(left_off)


def test_what_may_remain_of_the_avoided_is_said_aloud():
    """The guest avoids egg; the swap shares the fryer with the regular egg sauce."""
    _, changed, _ = ask("egg")
    assert changed.told.remaining and "STILL MAY CONTAIN egg: tell the guest" in card_text(changed)


def test_every_remaining_piece_lies_where_it_was():
    _, changed, _ = ask("wheat")
    regular = {(f.component, f.index): f for f in changed.regular.arrangement.footprints}
    left = {(f.component, f.index): f for f in changed.prepared.arrangement.footprints}
    assert left and {k for k in regular if k[0] != "crisp"} == set(left)
    assert all(left[k] == regular[k] for k in left)
    alone, faults = arrange.place(changed.prepared.resolved.dish, changed.prepared.resolved.plate)
    by_itself = {(f.component, f.index): f.centre for f in alone.footprints}
    assert faults or by_itself != {k: f.centre for k, f in left.items()}, "laid by itself it would differ"


def test_what_is_left_off_is_an_empty_broken_outline():
    _, changed, _ = ask("wheat")
    scene = drawn(changed)
    (missing,) = groups(scene.items, "left-off")
    outlines = [i for i in missing.items if isinstance(i, Polygon) and i.about]
    pieces = [f for f in changed.regular.arrangement.footprints if f.component == "crisp"]
    assert len(outlines) == len(pieces) == 2
    centre = scene.width_mm / 2, scene.height_mm / 2
    for outline, piece in zip(outlines, pieces):
        assert outline.style.fill is None and outline.style.dash
        assert outline.points == tuple((centre[0] + x, centre[1] - y) for x, y in piece.outline)
    assert all(i.style.fill is None for i in missing.items), "nothing in it"
    assert "Left off, drawn as an empty outline with a cross: seeded crisp." in scene.description
    assert "2 shards" not in scene.description
    # The regular drawing has its callouts in the same places.
    same = plate.draw(changed.regular.arrangement, changed.regular.dish)
    places = [[(i.items[0].cx, i.items[0].cy) for i in groups(s.items, "callout")] for s in (scene, same)]
    assert places[0] == places[1]


def test_what_is_left_off_is_not_taken_for_what_comes_at_the_table():
    """Both are empty outlines: one has short dashes and a cross and a number struck through, the other long dashes and
    an open, dashed disc.
    """
    spec = DISH.replace(
        "expo_checks:",
        "at_table:\n  - {put: broth, amount: 20 ml, arrange: pool, across: 150 mm, may_touch: [beetroot, crisp, sauce,"
        " dill, oil]}\nexpo_checks:",
    ).replace("plating:", "  broth: {ingredient: elderflower, colour: pink}\nplating:")
    _, changed, _ = ask("wheat", spec)
    scene = drawn(changed)
    (missing,) = groups(scene.items, "left-off")
    (later,) = [g for g in groups(scene.items, "step") if g.about.component == "broth"]
    crosses = [i for i in missing.items if isinstance(i, Path)]
    assert len(crosses) == 4 and not any(isinstance(i, Path) for i in later.items), "each cross on its light bed"
    short = {i.style.dash for i in missing.items if i.style.dash}
    long_ = {i.style.dash for i in later.items if i.style.dash}
    assert max(d[0] for d in short) * 2 < min(d[0] for d in long_)
    discs = {g.about.component: g.items for g in groups(scene.items, "callout")}
    assert discs["broth"][0].style.dash and not discs["crisp"][0].style.dash
    assert [isinstance(i, Polygon) for i in discs["crisp"]].count(True) == 1 and not any(
        isinstance(i, Polygon) for i in discs["broth"]
    )
    words = [
        t.text
        for g in scene.items
        if isinstance(g, Group) and g.id == "legend"
        for e in g.items
        for t in e.items
        if isinstance(t, Text)
    ]
    assert "at the table" in words and "LEFT OFF (crossed out)" in card_text(changed)


def words_of(scene) -> str:
    def texts(items):
        for i in items:
            if isinstance(i, Text):
                yield i.text
            elif isinstance(i, Group):
                yield from texts(i.items)

    return " ".join(texts(scene.items))


def test_signs_of_what_is_left_off_are_gone_and_what_it_covered_is_in_sight():
    dill = "  - {put: dill, count: 2, piece: {shape: frond, size: 8 mm, weight: 0.2 g}, "
    line = 'arrange: line, from: "9:00", to: "3:00", out: 24 mm'
    spec = (
        DISH.replace(dill + "on: crisp}\n", "")
        .replace("  - {put: crisp", f"{dill}{line}}}\n  - {{put: crisp")
        .replace(f"weight: 6 g}}, {line}", f"weight: 6 g}}, {line}, on: dill, facing: {{points: out, up: seeded side}}")
    )
    _, changed, problems = ask("wheat", spec)
    assert changed is not None, problems
    regular = plate.draw(changed.regular.arrangement, changed.regular.dish)
    scene = drawn(changed)
    assert "seeded side up" in words_of(regular) and "seeded side up" not in words_of(scene)
    assert "hidden" in {g.id for g in regular.items} and "hidden" not in {
        g.id for g in scene.items if isinstance(g, Group)
    }


def test_the_card_is_marked_and_names_the_changes():
    answer, changed, _ = ask("egg,wheat")
    text = card_text(changed)
    pages = pypdf.PdfReader(BytesIO(guest_card.documents(changed)[1])).pages
    for page in pages:
        said = " ".join(page.extract_text().split())
        assert "CHANGED PLATE: for a guest who avoids egg and wheat" in said
        assert "LEFT OFF (crossed out): seeded crisp" in said and "SWAPPED: nut sauce in place of egg sauce" in said
    for check in guest_answers.expo_checks(answer):
        assert check in text
    assert "Crisp on last" not in text, "a check of what is left off does not hold for this plate"
    assert "Rim clean, bowl warm" in text, "every other check of the chef's does"
    assert "Derived from the ingredients entered" in text and "revision 4" in text and "free from" not in text.lower()


def test_the_frame_is_round_every_page_and_the_picture():
    _, changed, _ = ask("egg")
    scene = drawn(changed)
    pages = changed_plate.compose(
        changed.prepared, changed.regular, plate.number_of(changed.regular.dish), changed.fingerprint, changed.told
    )
    for page in (*pages, changed_plate.picture(scene, changed.told)):
        frame = page.items[-1].items[0]
        assert frame.style.width >= 2 and frame.x < 7 and frame.w > page.width_mm - 14


def test_its_fingerprint_is_its_own():
    marks = {
        changed.fingerprint for avoid in ("egg", "wheat", "egg,wheat", "sesame") for _, changed, _ in (ask(avoid),)
    }
    regular = fingerprint.of(ask("egg")[1].regular)
    assert len(marks) == 4 and regular not in marks
    assert regular not in card_text(ask("egg")[1])


def test_the_picture_parses_and_names_what_is_left_off():
    _, changed, _ = ask("wheat")
    root = ElementTree.fromstring(guest_card.documents(changed)[0])
    assert [
        e.get("data-component") for e in root.iter() if e.get("data-role") == "left-off" and e.tag.endswith("g")
    ] == ["crisp"]
    assert "CHANGED PLATE: for a guest who avoids wheat" in " ".join(root.itertext())


@pytest.mark.parametrize(
    "avoid, spec, verdict",
    [
        ("beetroot", DISH, "cannot be served"),
        ("egg", DISH.replace("{ingredient: dill}", "{product: nobody-knows}"), "not established"),
    ],
)
def test_no_plate_no_card(avoid, spec, verdict):
    _, changed, problems = ask(avoid, spec)
    assert changed is None and any(verdict in p.message and p.is_error for p in problems)


def test_no_card_while_any_law_is_open():
    """The guest's egg is answered, but what else the plate holds is not established."""
    files = {
        PANTRY: (
            "products:\n  seeded-crisp: {called: Seeded crisp, label: {read: 2026-01-02, contains: [wheat]}}\n"
            "  mix: {called: Mix, is: vegetable stock cube}\n"
        )
    }
    spec = DISH.replace("{ingredient: dill}", "{product: mix}")
    _, changed, problems = ask("wheat", spec, files)
    assert changed is None and any(p.is_error for p in problems)


def test_an_error_of_the_layout_withholds_it_too():
    _, changed, problems = ask("egg", DISH.replace("out: 60 mm}", "out: 160 mm}"))
    assert changed is None and [p for p in problems if p.is_error]


# --- the command -----------------------------------------------------------------------------------------------------


@pytest.fixture
def asked(galley):
    return galley.write({**FILES, "specs/fried.yaml": FRIED, SPEC: DISH})


def test_the_command_writes_both_and_says_where(asked):
    done = asked.run("guest", "beetroot", "--avoid", "egg", "--out", "guests", "--format", "json")
    assert done.code == 0 and done.data["files"] == [
        "guests/beetroot-avoids-egg-plate.svg",
        "guests/beetroot-avoids-egg-card.pdf",
    ]
    assert all(os.path.isfile(f) for f in done.data["files"])
    assert asked.run("guest", "beetroot", "--avoid", "egg", "--card", "one.pdf").code == 0 and os.path.isfile("one.pdf")


def test_an_answer_that_is_no_plate_takes_the_earlier_card_away(asked):
    assert asked.run("guest", "beetroot", "--avoid", "egg", "--out", "guests", "--card", "one.pdf").code == 0
    asked.write({SPEC: DISH.replace("swap: {avoiding: [egg], use: {recipe: nut-sauce}}", "note: no swap")})
    done = asked.run("guest", "beetroot", "--avoid", "egg", "--out", "guests", "--card", "one.pdf")
    assert done.code == 1 and "cannot be served" in done.err + done.out
    assert (
        sorted(os.listdir("guests")) == ["withdrawn"]
        and not os.path.exists("one.pdf")
        and os.path.isfile("withdrawn/one.pdf")
    )


def test_as_it_is_needs_no_card(asked):
    done = asked.run("guest", "beetroot", "--avoid", "celery", "--out", "guests")
    assert done.code == 0 and "the regular card is valid" in done.out and not os.path.exists("guests")


def test_a_changed_card_is_of_one_dish(asked):
    assert asked.run("guest", "--avoid", "egg", "--out", "guests").code == 2


def test_file_names_hold_nothing_strange():
    from platecard.allergens.guests.answers import Avoid

    for said in ("../../etc/x", "œuf", "a" * 300, "egg/../.."):
        for name in guest_card.names("dish", (Avoid(said),)):
            assert "/" not in name and ".." not in name and len(name) < 120
    assert guest_card.names("d", (Avoid("œuf"),)) != guest_card.names("d", (Avoid("uf"),))


def test_the_galley_of_the_tests_is_sound(asked):
    assert asked.errors() == [] and kitchen()


@pytest.mark.parametrize(
    "check, kept",
    [
        ("Egg runny, on the left", False),
        ("Eggs on the left", False),
        ("One strawberry on the right", False),
        ("Rim clean, bowl warm", True),
        ("On the left of the plate, nothing", True),
    ],
)
def test_a_check_of_what_is_left_off_is_never_kept(check, kept):
    """Names of three letters and plurals count: expo must not look for egg on the plate of a guest who avoids it."""
    here = Span("specs/d.yaml", 1, 1)
    gone = [
        Change(Component(key, called, Source("ingredient", key, here), "", here))
        for key, called in (("egg", "Egg on the toast"), ("berries", "Strawberries"))
    ]
    assert (guest_answers.kept_checks(SimpleNamespace(changes=gone), [check]) == [check]) == kept


def test_a_changed_plate_shows_its_heights_as_the_regular_one_does():
    """The crisp that stood up is left off: what is left is seen from the guest's side, without it."""
    tall = DISH.replace(
        "{shape: disc, size: 30 mm, weight: 12 g}", "{shape: disc, size: 30 mm, height: 46 mm, weight: 32 g}"
    )
    _, changed, _ = ask("wheat", spec=tall)
    pages = pypdf.PdfReader(BytesIO(guest_card.documents(changed)[1])).pages
    back = " ".join(pages[1].extract_text().split())
    assert "seen from the guest, heights in mm" in back and "46" in back
