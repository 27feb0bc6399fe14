"""What is on the chef's record and no longer derived goes on being declared; only a new revision takes it off."""

from __future__ import annotations

import io
import json

import pypdf
import pytest

from platecard import pipeline
from platecard.allergens import acknowledgement
from platecard.allergens.guests.answers import Avoid
from platecard.allergens.traces import CONTAINS
from platecard.publishing import build
from platecard.reports import guest_answers, guest_card
from tests.allergens.test_acknowledgement_and_matrix import KITCHEN, PANTRY, PLATES, menu, menu_documents, spec
from tests.damage import kitchen_damage

RECORD = "acknowledged:\n  revision: 2\n  eu: [milk]\n  us: [cow_milk]\n"
OIL = "{ingredient: sunflower oil}"
BUTTER = "{ingredient: butter}"


def declared(dish) -> dict[str, set[str]]:
    return {s.law.key: set(acknowledgement.declared(s)) for s in dish.statements}


def went_out(dish) -> list[tuple[str, str]]:
    return [(p.severity, str(p.span)) for p in dish.problems if p.slug == "allergen-went-out"]


def text_of(pages: bytes) -> str:
    return " ".join(" ".join(page.extract_text() for page in pypdf.PdfReader(io.BytesIO(pages)).pages).split())


def asked(text: str, avoid: str, kitchen: str = KITCHEN):
    world = pipeline.world(
        [("shared/kitchen.yaml", kitchen), ("shared/plates.yaml", PLATES), ("shared/pantry.yaml", PANTRY)]
    )
    begun = (pipeline.begin(text, "specs/d0.yaml", "d0", world),)
    avoids, problems = guest_answers.avoids(avoid, world)
    assert not problems
    return begun, avoids, world, guest_answers.answer_all(begun, ("d0",), avoids, world)[0][1]


# --------------------------------------------------------------------------- butter replaced by oil


def test_under_the_same_revision_it_is_declared_and_an_error():
    (dish,) = menu(spec(OIL, acknowledged=RECORD))
    assert declared(dish) == {"eu": {"milk"}, "us": {"cow_milk"}}
    assert went_out(dish) == [("error", "specs/d0.yaml:10:3"), ("error", "specs/d0.yaml:11:3")]
    assert dish.is_sound, "the card is drawn: it declares the worse of the two"
    assert all(acknowledgement.derived(s) == () for s in dish.statements)


def test_the_card_the_matrix_the_page_and_the_data_say_so():
    dishes = menu(spec(OIL, acknowledged=RECORD))
    said = "on record, no longer derived"
    assert f"milk ({said})" in text_of(build.render(dishes[0])["pass-card.pdf"])
    made = menu_documents(dishes)
    assert said in text_of(made["allergens.pdf"]) and f"milk ({said})" in made["front-of-house.html"].decode()
    assert f"contains: milk ({said})" in made["allergens-eu.csv"].decode("utf-8-sig")
    found = [f for f in json.loads(made["allergens.json"])["dishes"][0]["findings"] if f["presence"] == CONTAINS]
    assert found and all(f["on_record"] and "on record since revision 2" in f["reasons"][0][-1] for f in found)


def test_the_check_errs_and_the_build_draws(room):
    room.write(
        {
            "shared/kitchen.yaml": KITCHEN,
            "shared/plates.yaml": PLATES,
            "specs/d0.yaml": spec(BUTTER, acknowledged=RECORD),
        }
    )
    assert room.run("build").code == 0
    room.write({"specs/d0.yaml": spec(OIL, acknowledged=RECORD)})
    assert room.run("check").code == 1 and [s for s, _ in room.errors()] == ["allergen-went-out"] * 2
    done = room.run("build")
    assert done.code == 1 and "d0: written" in done.out
    assert "milk (on record, no longer derived)" in text_of((room.root / "output/d0/pass-card.pdf").read_bytes())
    found = room.run("allergens", "d0", "--format", "json").data["findings"]
    assert {f["allergen"] for f in found if f["on_record"]} >= {"milk"}
    assert (
        "it has milk on record since revision 2, no longer derived"
        in room.run("allergens", "d0", "--why", "milk").out.lower()
    )


def test_under_a_new_revision_it_is_advice_and_no_longer_declared():
    (dish,) = menu(spec(OIL, revision=3, acknowledged=RECORD))
    assert (
        declared(dish) == {"eu": set(), "us": set()} and {s for s, _ in went_out(dish)} == {"advice"} and dish.is_sound
    )


def test_a_new_revision_with_a_record_of_its_own_settles_it():
    (dish,) = menu(spec(OIL, acknowledged=RECORD))
    lines = acknowledgement.record_text(
        dish.dish, dish.statements, acknowledgement.next_revision(dish.dish), "2026-03-01"
    )
    assert lines.startswith("revision: {number: 3, date: 2026-03-01}\nacknowledged:\n  revision: 3\n  eu: []\n")
    bare = spec(OIL).replace("revision: {number: 2, date: 2026-02-01}\n", "")
    (again,) = menu(bare + lines)
    assert not went_out(again) and again.is_sound and declared(again) == {"eu": set(), "us": set()}


def test_one_kind_of_two_that_goes_out_is_named():
    """21 U.S.C. 343(w)(2) asks for the species: the cod is on record, the anchovy is still there."""
    record = "acknowledged: {revision: 2, eu: [fish], us: [cod, anchovy]}\n"
    (dish,) = menu(spec("{ingredient: anchovy}", acknowledged=record))
    said = [f.in_full for s in dish.statements for f in s.with_presence(CONTAINS)]
    assert said == ["fish", "fish (anchovy, cod) (cod on record, no longer derived)"] and len(went_out(dish)) == 1


def test_only_the_law_that_has_it_on_record_goes_on_declaring_it():
    record = "acknowledged: {revision: 2, eu: [celery], us: []}\n"
    (dish,) = menu(spec(OIL, acknowledged=record))
    assert declared(dish) == {"eu": {"celery"}, "us": set()} and len(went_out(dish)) == 1
    (dish,) = menu(spec(OIL, acknowledged="acknowledged: {revision: 2, eu: [], us: [], uk: [milk]}\n"))
    assert declared(dish) == {"eu": set(), "us": set()} and not went_out(dish), (
        "a law that is not in force declares nothing"
    )


def test_what_was_contained_and_now_only_may_be_is_still_contained():
    record = "acknowledged: {revision: 2, eu: [hazelnut, soy], us: [hazelnut, soy]}\n"
    (dish,) = menu(spec("{product: choc}", acknowledged=record))
    assert "hazelnut" in declared(dish)["eu"] and went_out(dish)


def test_sulphites_on_record_are_declared_though_they_are_reckoned():
    record = "acknowledged: {revision: 2, eu: [sulphite], us: [sulphite]}\n"
    (dish,) = menu(spec(OIL, acknowledged=record))
    assert declared(dish) == {"eu": {"sulphite"}, "us": {"sulphite"}} and dish.is_sound


def test_a_word_on_record_that_names_nothing_is_an_error():
    (dish,) = menu(spec(BUTTER, acknowledged="acknowledged: {revision: 2, eu: [mlik], us: [cow_milk]}\n"))
    (found,) = [p for p in dish.problems if p.slug == "unknown-allergen-on-record"]
    assert "'mlik'" in found.message and "'milk'" in found.hints[0] and not dish.is_sound


# --------------------------------------------------------------------------- guests


@pytest.mark.parametrize("avoid", ["milk", "dairy", "cow's milk", "vegan", "celery,milk"])
def test_a_guest_who_avoids_it_is_not_served(avoid):
    answer = asked(spec(OIL, acknowledged=RECORD), avoid)[-1]
    assert answer.answer == "cannot" and any("on record since revision 2" in m.chain[-1].words for m in answer.reasons)
    assert asked(spec(OIL, revision=3, acknowledged=RECORD), avoid)[-1].answer == "as_is"
    assert asked(spec(OIL, acknowledged=RECORD), "fish")[-1].answer == "as_is"


def test_leaving_something_off_does_not_rid_the_plate_of_what_is_on_record():
    text = spec(
        OIL,
        "{ingredient: egg, may_be_left_off: true}",
        "{ingredient: carrot}",
        acknowledged="acknowledged: {revision: 2, eu: [milk, egg], us: [cow_milk, hen_egg]}\n",
    )
    assert asked(text, "egg")[-1].answer == "changed"
    assert asked(text, "egg,milk")[-1].answer == "cannot"


def test_a_swap_brings_no_record_along_and_the_changed_plate_inherits_none():
    text = spec(
        "{ingredient: butter, swap: {avoiding: [milk], use: {ingredient: sunflower oil}}}",
        "{ingredient: carrot}",
        acknowledged=RECORD,
    )
    begun, avoids, world, answer = asked(text, "milk")
    assert answer.answer == "changed"
    changed, problems = guest_card.prepare(begun[0], answer, avoids, begun, world)
    assert not problems and declared(changed.prepared) == {"eu": set(), "us": set()}


def test_the_page_for_front_of_house_answers_the_same():
    page = menu_documents(menu(spec(OIL, acknowledged=RECORD)))["front-of-house.html"].decode()
    assert '"milk":{"answer":"cannot"' in page


# --------------------------------------------------------------------------- acknowledge


def kitchen_with(room, text: str):
    return room.write(
        {
            "shared/kitchen.yaml": KITCHEN,
            "shared/plates.yaml": PLATES,
            "shared/pantry.yaml": PANTRY,
            "specs/d0.yaml": text,
        }
    )


@pytest.mark.parametrize("part", [OIL, "{ingredient: egg}"])
def test_other_allergens_ask_for_a_revision_of_their_own(room, part):
    kitchen_with(room, spec(part, acknowledged=RECORD))
    done = room.run("acknowledge", "d0", "--date", "2026-04-05")
    assert done.code == 1 and done.out.startswith(
        "revision: {number: 3, date: 2026-04-05}\nacknowledged:\n  revision: 3\n"
    )
    assert "they need a new revision" in done.err
    room.write({"specs/d0.yaml": spec(part).replace("revision: {number: 2, date: 2026-02-01}\n", "") + done.out})
    assert room.run("check").code == 0 and room.run("acknowledge", "d0").code == 0, "what it printed is what settles it"
    data = (
        kitchen_with(room, spec(part, acknowledged=RECORD))
        .run("acknowledge", "d0", "--date", "2026-04-05", "--format", "json")
        .data
    )
    assert data["revision"] == {"number": 3, "date": "2026-04-05"} and data["acknowledged"]["revision"] == 3


def test_the_same_allergens_ask_for_nothing(room):
    for text in (spec(BUTTER, acknowledged=RECORD), spec(BUTTER), spec(OIL, revision=3, acknowledged=RECORD)):
        done = kitchen_with(room, text).run("acknowledge", "d0")
        assert done.code == 0 and done.out.startswith("acknowledged:\n") and not done.err


def test_a_date_that_is_none_is_refused(room):
    assert kitchen_with(room, spec(OIL, acknowledged=RECORD)).run("acknowledge", "d0", "--date", "tomorrow").code == 2


# --------------------------------------------------------------------------- whatever is taken off


def taken_off(seed: int) -> tuple[int, int]:
    """Every part of every dish of an invented kitchen, one at a time: how many, and how many allergens went out."""
    files = {path: data.decode() for path, data in kitchen_damage.generated(seed).items()}
    world = pipeline.world(sorted((p, t) for p, t in files.items() if p.startswith("shared/")))
    tried = gone = 0
    for path in sorted(p for p in files if p.startswith("specs/")):
        whole = pipeline.prepare(files[path], path, "dish", world)
        text = files[path] + acknowledgement.record_text(whole.dish, whole.statements)
        assert pipeline.prepare(text, path, "dish", world).problems == tuple(
            p for p in whole.problems if p.slug != "not-acknowledged"
        )
        for component in whole.dish.components if len(whole.dish.components) > 1 else ():
            less = "".join(
                line
                for line in text.splitlines(keepends=True)
                if not line.startswith((f"  {component.key}:", f"  - {{put: {component.key},"))
            )
            now = pipeline.prepare(less, path, "dish", world)
            bare = pipeline.prepare(less.replace("number: 1", "number: 2"), path, "dish", world)
            assert now.is_sound and declared(now) == declared(whole)
            lost = {n for law, nodes in declared(whole).items() for n in nodes - declared(bare)[law]}
            assert any(p.slug == "allergen-went-out" and p.is_error for p in now.problems) is bool(lost)
            begun = (pipeline.begin(less, path, "dish", world),)
            for node in lost:
                avoid = (Avoid(node, (node,)),)
                assert guest_answers.answer_all(begun, ("dish",), avoid, world)[0][1].answer == "cannot"
            tried, gone = tried + 1, gone + len(lost)
    return tried, gone


def test_whatever_is_taken_off_under_the_same_revision_nothing_declared_gets_weaker():
    tried, gone = (sum(counts) for counts in zip(*map(taken_off, range(16))))
    assert tried > 60 and gone > 40, "what goes out was met often enough to say something"
