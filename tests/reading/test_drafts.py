"""A draft is off the menu: however far it is typed, no other dish changes because of it."""

from __future__ import annotations

import io
import json

import pypdf
import pytest

from platecard import fingerprint, pipeline
from platecard.cli import shared
from platecard.documents.diagram import plate
from platecard.documents.kit import draft_mark
from platecard.documents.pages import pass_card
from platecard.drawing.extent import bounds
from platecard.drawing.scene import Group
from platecard.files import reading
from platecard.reading import drafts
from platecard.reports import guest_answers
from tests.damage import kitchen_damage
from tests.kitchens import BEETROOT, LIBRARY, kitchen

# A second dish that goes through the same smoker, with all that an idea can do to it.
IDEA = """\
# an idea for Sunday
draft: true

dish: Smoked cod, brown butter
revision: {number: 1, date: 2026-02-01}
plate: wide
components:
  cod: {ingredient: cod, equipment: smoker, swap: {avoiding: [fish], use: {ingredient: hazelnut}}}
  butter:
    ingredient: butter
    equipment: [smoker, fryer]
plating:
  - {put: cod, count: 3, piece: {shape: disc, size: 30 mm, height: 20 mm, weight: 12 g}, arrange: ring, out: 50 mm}
  - {put: butter, amount: 4 g, arrange: pool, across: 40 mm}
"""
LINES = IDEA.splitlines(keepends=True)
CUTS = ["".join(LINES[:n]) for n in range(2, len(LINES) + 1)]
# Half a line more: what stands there in the middle of a word, a bracket or a key.
CUTS += [cut + line[: len(line) // 2] for cut, line in zip(CUTS, LINES[2:])]
BROKEN = [
    "draft: true\n\t- [",
    "draft: true\ndish: {",
    'draft: true\n"',
    "draft: true\ndraft: true\n",
    "draft: true\n&a *a",
    "draft: true\n" + "[" * 300,
    "draft: true\nequipment: fryer",
    "draft: true",
    "\ufeff# so\n\n  draft :   true  # not yet\nx: [",
]


def words(data: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(data)).pages).split())


# --------------------------------------------------------------------------- the mark


@pytest.mark.parametrize(
    "text, is_draft, is_trial",
    [
        ("draft: true", True, False),
        ("# one\n\n  # two\ndraft: true\n", True, False),
        ("draft:   true   # soon\r\ndish: x\r\n", True, False),
        ("\ufeffdraft: true\n", True, False),
        ("draft: true\n\ntrial: true\n", True, True),
        ("draft: true\n[trial: true\n  trial:true", True, True),
        ("draft: false\n", False, False),
        ("dish: x\ndraft: true\n", False, False),
        ("draft: truely\n", False, False),
        ("# draft: true\ndish: x", False, False),
        ("draft: tru", False, False),
        ("drafts: true", False, False),
        ("", False, False),
        ("# nothing\n", False, False),
        ("draft: [true]", False, False),
    ],
)
def test_the_mark_is_the_first_line_that_says_anything(text, is_draft, is_trial):
    assert drafts.marks(text) == drafts.Marks(is_draft, is_trial)


def test_the_mark_further_down_counts_once_it_can_be_read_and_is_told(galley):
    galley.write({"specs/idea.yaml": IDEA.replace("draft: true\n", "") + "draft: true\n"})
    (found,) = [p for p in galley.problems() if p["slug"] == "draft-not-first"]
    assert (
        found["severity"] == "warning"
        and galley.run("guest", "--avoid", "fish", "--format", "json").data[0]["answer"] == "as_is"
    )


# --------------------------------------------------------------------------- the others


def of_the_others(room) -> dict[str, object]:
    """All that a kitchen says of its dishes but for the idea: problems, answers, declarations, documents."""
    said: dict[str, object] = {"problems": [p for p in room.problems() if "idea" not in p["file"]]}
    for avoid in ("fish", "milk", "nuts", "sesame"):
        said[avoid] = room.run("guest", "--avoid", avoid, "--format", "json").data
    said["beetroot"] = room.run("allergens", "beetroot", "--format", "json").data
    said["code"] = room.run("build", "--recipes").code
    said["files"] = {name: data for name, data in room.bytes_of().items() if not name.startswith("idea/")}
    return said


@pytest.fixture
def before(galley):
    galley.write(
        kitchen(("specs/beetroot.yaml", "dill: {ingredient: dill}", "dill: {ingredient: dill, equipment: fryer}"))
    )
    said = of_the_others(galley)
    assert (
        said["code"] == 0
        and {"beetroot/pass-card.pdf", "menu/allergens.pdf", "menu/pass-cards.pdf"} <= said["files"].keys()
    )
    return said


@pytest.mark.parametrize("text", [*CUTS[::3], CUTS[len(LINES) - 2], *BROKEN])
def test_a_half_typed_idea_changes_nothing(galley, before, text):
    galley.write({"specs/idea.yaml": text})
    assert of_the_others(galley) == before
    assert galley.run("check").code == 0 and galley.run("files").code == 0


@pytest.mark.parametrize(
    "name", ["specs/Sunday idea.yaml", "specs/ideas/beetroot.yaml", "specs/ideas/beetroot.yml", "specs/idea.yaml"]
)
def test_neither_its_name_nor_its_letters_touch_the_menu(galley, before, name):
    galley.write({name: IDEA.replace("cod, brown", "cod, br\u00fbl\u00e9e").encode("latin-1")})
    assert of_the_others(galley)["files"].items() >= before["files"].items()
    assert (
        galley.run("check").code == 0
        and galley.run("guest", "--avoid", "fish", "--format", "json").data == before["fish"]
    )


def test_two_ideas_of_one_name_are_two_ideas(galley, before):
    galley.write({"specs/a/idea.yaml": IDEA, "specs/b/idea.yaml": "draft: true\nx: ["})
    assert of_the_others(galley) == before


def test_without_the_mark_the_same_half_typed_file_does_touch_them(galley, before):
    """What the others are held to is no empty promise."""
    galley.write({"specs/idea.yaml": "".join(LINES[3:9])})
    assert of_the_others(galley) != before and galley.run("check").code == 1


@pytest.mark.parametrize("seed", range(12))
def test_in_an_invented_kitchen_no_cut_of_an_idea_changes_anything(seed):
    tree = {k: v for k, v in kitchen_damage.generated(seed).items()}
    specs = sorted(k for k in tree if k.startswith("specs/"))
    lines = tree[specs[seed % len(specs)]].decode().splitlines(keepends=True)
    plain = told(tree)
    assert plain
    for n in range(len(lines) + 1):
        assert told({**tree, "specs/idea.yaml": ("draft: true\n" + "".join(lines[:n])).encode()}) == plain


def told(tree) -> dict[str, tuple]:
    """Every dish of the menu by its documents' key, its problems and its answers."""
    with kitchen_damage.on_disk(tree) as root:
        project = reading.read_project([str(root / "specs")], str(root / "shared"))
        world = shared.world_of(project)
        begun = tuple(pipeline.begin(s.text, s.file, s.key, world, s.problems) for s in project.specs)
        menu = [
            p
            for p in pipeline.prepare_menu(((s.text, s.file, s.key, s.problems) for s in project.specs), world)
            if not p.is_draft
        ]
        live = tuple(p.key for p in menu)
        answers = [
            guest_answers.answer_all(begun, live, guest_answers.avoids(word, world)[0], world)
            for word in ("milk", "fish", "nuts")
        ]
        return {
            p.key: (
                fingerprint.key(p),
                p.is_sound,
                p.problems,
                p.basis,
                [dict((b.key, a) for b, a in one)[p.key] for one in answers],
            )
            for p in menu
        }


# --------------------------------------------------------------------------- the draft itself


def test_it_is_drawn_as_a_draft_and_is_in_no_document_of_the_menu(galley):
    galley.write({"specs/idea.yaml": IDEA})
    done = galley.run("build")
    assert done.code == 0 and "idea: DRAFT written, not for service" in done.out
    assert "DRAFT" in words((galley.root / "output/idea/pass-card.pdf").read_bytes())
    assert "DRAFT" in (galley.root / "output/idea/plate.svg").read_text()
    for name, data in galley.bytes_of().items():
        if name.startswith("menu/"):
            said = words(data) if name.endswith(".pdf") else data.decode("utf-8-sig")
            assert "cod" not in said.lower().split() and "Smoked cod" not in said, name


def test_its_mistakes_are_its_own_and_asked_for_by_name_they_count(galley):
    galley.write(
        {
            "specs/idea.yaml": (
                IDEA.replace("ingredient: cod,", "ingredient: unobtainium,").replace(
                    "equipment: smoker,", "equipment: smokr,"
                )
            )
        }
    )
    assert galley.run("check").code == 0 and galley.run("build").code == 0
    errors = [p for p in galley.problems() if p["severity"] == "error"]
    assert errors and all(p["file"] == "specs/idea.yaml" and p["message"].startswith("draft: ") for p in errors)
    assert "1 of them a draft, off the menu" in galley.run("check").out
    assert (
        galley.run("check", "idea").code == 1
        and galley.run("check", "specs/idea.yaml").code == 1
        and galley.run("check", "beetroot").code == 0
    )


def test_an_error_of_the_kitchen_is_no_drafts_own(galley):
    """A fault that a draft shares with the menu still fails."""
    galley.write(
        {
            **kitchen(("shared/recipes/dill-oil.yaml", "dill, amount: 40 g", "dill, amount: 40 grms")),
            "specs/idea.yaml": "draft: true\n" + BEETROOT,
        }
    )
    assert galley.run("check").code == 1 and galley.run("build").code == 1


def test_a_guest_is_not_answered_from_a_draft(galley):
    galley.write({"specs/idea.yaml": IDEA})
    assert [d["dish"] for d in galley.run("guest", "--avoid", "milk", "--format", "json").data] == ["beetroot"]
    done = galley.run("guest", "idea", "--avoid", "egg")
    assert done.code == 1 and "not established" in done.out and "a draft is off the menu" in done.out
    data = galley.run("guest", "idea", "--avoid", "egg", "--format", "json").data
    assert data["answer"] == "not_established" and data["reasons"][0]["chain"][0]["what"] == "a draft is off the menu"


def test_a_dish_that_becomes_a_draft_leaves_the_menu(galley):
    galley.write({"specs/cod.yaml": IDEA.replace("draft: true\n", "")})
    assert (
        galley.run("build").code == 0 and "Smoked cod" in (galley.root / "output/menu/front-of-house.html").read_text()
    )
    galley.write({"specs/cod.yaml": IDEA})
    assert (
        galley.run("build").code == 0
        and "Smoked cod" not in (galley.root / "output/menu/front-of-house.html").read_text()
    )
    assert "DRAFT" in words((galley.root / "output/cod/pass-card.pdf").read_bytes())
    galley.write({"specs/beetroot.yaml": "draft: true\n" + BEETROOT})
    assert galley.run("build").code == 0 and not (galley.root / "output/menu/front-of-house.html").exists()


def test_a_draft_that_cannot_be_drawn_withdraws_its_own_card_alone(galley):
    galley.write({"specs/cod.yaml": IDEA.replace("draft: true\n", "")})
    galley.run("build")
    galley.write({"specs/cod.yaml": "draft: true\ndish: ["})
    done = galley.run("build")
    assert done.code == 0 and "cod: WITHDRAWN" in done.out and (galley.root / "output/beetroot/pass-card.pdf").exists()


def test_what_it_is_practised_from_says_so_too(galley):
    galley.write({"specs/idea.yaml": IDEA})
    assert galley.run("steps", "idea").code == 0 and galley.run("mat", "idea").code == 0
    for name in ("idea-steps.pdf", "idea-mat.pdf"):
        pages = pypdf.PdfReader(galley.root / name).pages
        assert pages and all("DRAFT" in page.extract_text() for page in pages), name


# --------------------------------------------------------------------------- on trial


def reached(room) -> dict[str, str]:
    return {
        f["allergen"]: f["presence"] for f in room.run("allergens", "beetroot", "--format", "json").data["findings"]
    }


def test_a_trial_counts_for_the_equipment(galley):
    galley.write({"specs/idea.yaml": IDEA})
    assert reached(galley)["fish"] == "not_among_ingredients"
    galley.write({"specs/idea.yaml": IDEA + "trial: true\n"})
    assert reached(galley)["fish"] == "may_contain"
    assert [d["dish"] for d in galley.run("guest", "--avoid", "celery", "--format", "json").data] == ["beetroot"], (
        "it is off the menu all the same"
    )


@pytest.mark.parametrize(
    "text", ["draft: true\ntrial: true\ncomponents: [", "draft: true\ncomponents: [\n  trial : yes\n"]
)
def test_a_trial_that_cannot_be_read_is_a_doubt_like_any_dish(galley, text):
    galley.write({"specs/idea.yaml": text})
    assert reached(galley)["fish"] == "not_established" and galley.run("files").code == 1


# --------------------------------------------------------------------------- where it starts and where it is counted


def test_a_new_spec_starts_as_a_draft(room):
    room.write(LIBRARY)
    assert room.run("new", "sunday").code == 0
    text = (room.root / "specs/sunday.yaml").read_text()
    assert text.startswith("draft: true\n") and room.run("check").code == room.run("check", "sunday").code == 0


def test_the_account_of_files_says_draft(galley):
    galley.write({"specs/idea.yaml": "draft: true\nx: [", "specs/try.yaml": IDEA + "trial: true\n"})
    account = {e["file"]: e for e in galley.run("files", "--format", "json").data}
    assert account["specs/idea.yaml"]["counts_as"] == account["specs/try.yaml"]["counts_as"] == "draft"
    assert "its equipment counts" in account["specs/try.yaml"]["why"]


def test_the_data_of_the_menu_leaves_it_out(galley):
    galley.write({"specs/idea.yaml": IDEA})
    galley.run("build")
    assert [d["dish"] for d in json.loads((galley.root / "output/menu/allergens.json").read_text())["dishes"]] == [
        "beetroot"
    ]


# --------------------------------------------------------------------------- how it looks


def groups(items, title: str):
    for item in items:
        if isinstance(item, Group):
            if item.title == title:
                yield item
            yield from groups(item.items, title)


def heights(items):
    """The tops and bottoms of everything drawn, where it stands on its page."""
    for item in items:
        _, top, _, bottom = bounds(item)
        yield from (top, bottom)


@pytest.mark.parametrize("page", ["A5 landscape", "A4 portrait", "Letter landscape"])
def test_the_mark_lies_over_nothing(page):
    world = pipeline.world(
        [
            ("shared/kitchen.yaml", LIBRARY["shared/kitchen.yaml"] + f"card: {{page: {page}}}\n"),
            *((k, v) for k, v in LIBRARY.items() if k != "shared/kitchen.yaml"),
        ]
    )
    dish = pipeline.prepare("draft: true\n" + BEETROOT, "specs/idea.yaml", "idea", world)
    scene = plate.draw(dish.arrangement, dish.dish)
    for made in pass_card.compose(dish, plate.number_of(dish.dish), "00000000", is_draft=True):
        head, foot = groups(made.items, "DRAFT, not for service")
        rest = [i for i in made.items[1:] if not list(groups((i,), "DRAFT, not for service"))]
        heading = next(groups(made.items, dish.dish.title))
        top, bottom = max(heights(head.items[:1])), min(heights(foot.items[:1]))
        caution = [i for i in rest if isinstance(i, Group) and i.title == "Caution"]
        between = [h for i in (heading, *rest) if i not in caution for h in heights((i,))]
        assert top < min(between) and max(between) < bottom and min(heights(caution)) > max(heights(foot.items[:1]))
    whole = draft_mark.banded(scene)
    over, under = groups(whole.items, "DRAFT, not for service")
    drawn = [
        h
        for i in whole.items
        if isinstance(i, Group) and not list(groups((i,), "DRAFT, not for service"))
        for h in heights((i,))
    ]
    assert max(heights(over.items[:1])) <= min(drawn) and max(drawn) <= min(heights(under.items[:1]))
    assert whole.height_mm > scene.height_mm
