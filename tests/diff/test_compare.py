"""``platecard compare``: nothing hidden, nothing invented, allergens first."""

from __future__ import annotations

import ast
import inspect
import io
import os
import shutil
import subprocess
from dataclasses import fields, replace
from fractions import Fraction
from pathlib import Path
from xml.etree import ElementTree

import pypdf
import pytest
from hypothesis import given
from hypothesis import strategies as st

from platecard import pipeline
from platecard.cli.shared import prepared_menu
from platecard.diff import dishes
from platecard.diff.change import ALARM, KINDS
from platecard.drawing.scene import Group
from platecard.files import earlier, reading
from platecard.files.reading import UsageError
from platecard.layout import arrange, displacement
from platecard.reports import compare
from tests.kitchens import BEETROOT, KITCHEN, LIBRARY, OIL, PANTRY, PLATES, SMOKED, SPEC, poured, prepared, presences

ROOT = Path(__file__).parents[2]
KEYS = ["kind", "what", "old", "new", "law", "severity", "words", "file", "line"]
RANK = {"not_among_ingredients": 0, "may_contain": 1, "not_established": 2, "contains": 3}
needs_git = pytest.mark.skipif(shutil.which("git") is None, reason="git is not installed here")


@pytest.fixture(scope="module")
def menu():
    project = reading.read_project([str(ROOT / "specs")])
    world = pipeline.world(project.library, project.folder)
    return pipeline.prepare_menu(((s.text, s.file, s.key) for s in project.specs), world)


def words(old, new, kind: str = "") -> list[str]:
    return [c.words for c in dishes.compare(old, new).changes if not kind or c.kind == kind]


def beetroot(*changes: tuple[str, str], **library: str):
    """The beetroot dish with ``old`` replaced by ``new`` in its spec, and other library files."""
    spec = BEETROOT
    for was, now in changes:
        assert spec.count(was) == 1, was
        spec = spec.replace(was, now)
    return prepared(
        spec,
        {
            {"smoked": SMOKED, "oil": OIL, "kitchen": KITCHEN, "pantry": PANTRY, "plates": PLATES}[k]: v
            for k, v in library.items()
        },
    )


# --------------------------------------------------------------------------- properties


def test_a_dish_and_itself_differ_in_nothing(menu):
    for dish in menu:
        assert dishes.compare(dish, dish).changes == ()


def expected(old, new) -> set[tuple[str, str, int]]:
    """(law, allergen, up or down) by the presences alone."""
    was, now = presences(old), presences(new)
    ups = {
        k: RANK[now.get(k, "not_among_ingredients")] - RANK[was.get(k, "not_among_ingredients")] for k in {*was, *now}
    }
    return {(*k, 1 if up > 0 else -1) for k, up in ups.items() if up}


def told(found) -> set[tuple[str, str, int]]:
    """The same, from the changes told; a change of kinds within one presence stands apart."""
    rank = {None: 0, **RANK}
    said = set()
    for c in found.changes:
        if c.kind == "allergen" and c.law:
            up = rank[c.new.split(":")[0]] - rank[c.old.split(":")[0]]
            if up:
                said.add((c.law, c.what, 1 if up > 0 else -1))
                # What is not established any more is no good news either.
                assert (c.severity == ALARM) == (up > 0 or c.new == "not_established"), c
    return said


def flipped(found) -> set[tuple]:
    return {(c.kind, c.what, c.law, c.new, c.old) for c in found.changes}


@pytest.fixture(scope="module")
def pairs(menu):
    """Some dishes of the demo kitchen, each against each: far more changes than any revision makes."""
    some = menu[::2]
    return {(a.key, b.key): (a, b, dishes.compare(a, b)) for a in some for b in some}


def test_every_allergen_in_one_statement_and_not_in_the_other_is_told(pairs):
    for old, new, found in pairs.values():
        assert told(found) == expected(old, new), (old.key, new.key)


def test_the_way_back_is_the_way_there_with_gains_and_losses_swapped(pairs):
    for (a, b), (_, _, there) in pairs.items():
        back = pairs[b, a][2]
        assert flipped(there) == {(c.kind, c.what, c.law, c.old, c.new) for c in back.changes}, (a, b)


THINGS = [
    "butter",
    "hazelnut",
    "walnut",
    "wheat flour",
    "barley",
    "egg yolk",
    "celery",
    "shrimp",
    "sesame seed",
    "beetroot",
    "dill",
    "soya milk",
    "white fish",
]


@given(
    st.lists(st.sampled_from(THINGS), min_size=1, max_size=4, unique=True),
    st.lists(st.sampled_from(THINGS), min_size=1, max_size=4, unique=True),
)
def test_whatever_goes_in_or_out(before, after):
    old, new = (
        prepared(poured({f"c{THINGS.index(x)}": f"{{ingredient: {x}}}" for x in names})) for names in (before, after)
    )
    there, back = dishes.compare(old, new), dishes.compare(new, old)
    assert told(there) >= expected(old, new) if dishes.in_doubt(new) else told(there) == expected(old, new)
    if before == after:
        assert there.changes == ()
    if not dishes.in_doubt(old) and not dishes.in_doubt(new):
        assert flipped(there) == {(c.kind, c.what, c.law, c.old, c.new) for c in back.changes}
        came = {t.node for t in new.traces} - {t.node for t in old.traces}
        assert not came or there.alarms or all(c.severity == "worse" for c in there.changes if c.kind == "allergen")
    assert all(c.kind in KINDS for c in there.changes)
    order = [KINDS.index(c.kind) for c in there.changes]
    assert order == sorted(order)


# --------------------------------------------------------------------------- allergens


def test_a_recipe_that_got_butter_shows_though_the_spec_did_not_change():
    oil = LIBRARY[OIL].replace("ingredients:\n", "ingredients:\n  - {ingredient: butter, amount: 20 g}\n")
    found = dishes.compare(beetroot(), beetroot(oil=oil))
    eu = next(c for c in found.changes if c.kind == "allergen" and c.law == "eu")
    assert (eu.what, eu.severity) == ("milk", ALARM) and eu.words.startswith(
        "CAME IN, European Union: milk; before: may contain"
    )
    assert "Dill oil > 20 g butter (source" in eu.reasons[0] and (eu.span.file, eu.span.line) == (OIL, 4)
    assert [c.words for c in found.changes if c.kind == "recipe"] == ["Dill oil: 20 g butter came in"]


def plain(*names: str):
    return prepared(poured({f"c{i}": f"{{ingredient: {n}}}" for i, n in enumerate(names)}))


def test_a_second_kind_comes_in_beside_the_first():
    found = dishes.compare(plain("trout", "beetroot"), plain("trout", "cod"))
    us = [c for c in found.alarms if c.law == "us"]
    assert (
        [c.what for c in us] == ["fish"]
        and us[0].words.startswith("CAME IN, United States: fish (")
        and "cod" in us[0].words
        and "cod" not in us[0].words.split("before: ")[1]
    )
    back = [
        c
        for c in dishes.compare(plain("trout", "cod"), plain("trout", "beetroot")).changes
        if c.kind == "allergen" and c.law == "us"
    ]
    assert [(c.what, c.severity) for c in back] == [("fish", "better")] and "cod" in back[0].words.split("; now: ")[0]
    assert any(
        c.law == "eu" and "walnut" in c.words
        for c in dishes.compare(plain("hazelnut", "beetroot"), plain("hazelnut", "walnut")).alarms
    )


def test_what_a_declaration_does_not_tell_apart_is_told_all_the_same():
    """A cod that may be there beside a trout that is: the law of the kinds declares the trout alone."""
    pantry = "products:\n  seeded-crisp: {called: Seeded crisp, label: {read: 2026-01-02, contains: [trout]%s}}\n"
    law = (
        "kitchen: The Test Galley\nlaws: [us]\nstations: {larder: Larder, sauce: Sauce}\nequipment: {fryer: the fryer,"
        " smoker: the smoker}\n"
    )
    old, new = (beetroot(pantry=pantry % more, kitchen=law) for more in ("", ", may_contain: [cod]"))
    assert presences(old) == presences(new)
    assert [(c.what, c.law, c.severity) for c in dishes.compare(old, new).changes if c.kind == "allergen"] == [
        ("cod", None, ALARM)
    ]


def test_what_stays_under_a_limit_or_is_left_out_by_the_laws_is_told_without_alarm():
    pantry = LIBRARY[PANTRY].replace("contains: [wheat, sesame]", "contains: [wheat, sesame], sulphites: 2 mg/kg")
    europe = LIBRARY[KITCHEN].replace("[eu, us]", "[eu]")
    old, new = beetroot(kitchen=europe), beetroot(kitchen=europe, pantry=pantry)
    found = [c for c in dishes.compare(old, new).changes if c.kind == "allergen"]
    assert presences(old) == presences(new) and [(c.what, c.law, c.severity) for c in found] == [
        ("sulphite", None, "worse")
    ]
    assert "stays the same" in found[0].words and compare.tally(dishes.compare(old, new), old, new).endswith(
        "though no law in force declares it: sulphite"
    )


def test_what_may_still_be_there_is_not_gone():
    pantry = LIBRARY[PANTRY].replace(
        "contains: [wheat, sesame], may_contain: [milk]", "contains: [wheat], may_contain: [milk, sesame]"
    )
    said = words(beetroot(), beetroot(pantry=pantry), "allergen")
    assert said and all("MAY CONTAIN" in w and not w.startswith("gone") for w in said)


def test_a_spec_with_errors_says_nothing_is_gone():
    broken = beetroot(
        ("  crisp: {product: seeded-crisp}\n", "  crisp: {product: seeded-crisp, swop: 1}\n"),
        ("put: crisp,", "put: crips,"),
        pantry=LIBRARY[PANTRY].replace("contains: [wheat, sesame]", "contains: [wheat]"),
    )
    found = [
        c for c in dishes.compare(beetroot(), broken).changes if c.kind == "allergen" and c.what == "sesame" and c.law
    ]
    assert found and all(c.severity == ALARM and "nothing is said to be gone" in c.words for c in found)


def test_a_law_that_comes_into_force_is_no_new_ingredient():
    more = LIBRARY[KITCHEN].replace("[eu, us]", "[eu, us, ca]")
    found = dishes.compare(beetroot(), beetroot(kitchen=more))
    assert [(c.kind, c.what, c.severity) for c in found.changes if c.kind != "guest"] == [
        ("law", "ca", "worse")
    ] and "wheat" in found.changes[0].words
    assert [
        (c.kind, c.old, c.new) for c in dishes.compare(beetroot(kitchen=more), beetroot()).changes if c.kind != "guest"
    ] == [("law", found.changes[0].new, None)]


def test_cross_contact_from_another_dish_comes_in():
    fried = poured({"a": "{ingredient: shrimp, equipment: fryer}"})
    spec = BEETROOT.replace("{ingredient: dill}", "{ingredient: dill, equipment: fryer}")
    found = dishes.compare(prepared(spec), prepared(spec, menu={"fried": fried}))
    assert any(
        c.kind == "allergen" and c.severity == ALARM and c.new.startswith("may_contain") and "fryer" in c.reasons[0]
        for c in found.changes
    )


def test_a_guest_is_told_otherwise():
    found = [
        c
        for c in dishes.compare(plain("hazelnut", "beetroot"), plain("hazelnut", "butter")).changes
        if c.kind == "guest"
    ]
    assert ("milk", "serve as it is", "cannot be served", "worse") in [
        (c.what, c.old, c.new, c.severity) for c in found
    ]


def test_what_cannot_be_read_is_not_established_and_never_unchanged():
    for old, new in (
        (prepared("dish: [\n"), beetroot()),
        (beetroot(), prepared("dish: [\n")),
        (prepared("dish: [\n"), prepared("dish: [\n")),
    ):
        found = dishes.compare(old, new)
        assert found.alarms and {c.kind for c in found.changes} == {"problem"}
        assert compare.tally(found, old, new) == "NOT ESTABLISHED: what changed is not known"


# --------------------------------------------------------------------------- the plate, the recipes, the service


@pytest.mark.parametrize(
    "was, now, kind, said",
    [
        ("count: 3, piece: {shape: disc", "count: 4, piece: {shape: disc", "count", "beetroot: 4, up from 3"),
        (
            "size: 30 mm, weight: 12 g",
            "size: 34 mm, weight: 12 g",
            "size",
            "beetroot: disc, 34 mm; before: disc, 30 mm",
        ),
        ("weight: 12 g", "weight: 15 g", "weight", "beetroot: 15 g each, heavier than 12 g"),
        ("weight: 12 g", "weight: 15 g", "weight", "beetroot: 45 g on the plate, 25 % more; before: 36 g"),
        ("{put: oil, amount: 4 g", "{put: oil, amount: 5 g", "weight", "oil: 5 g, 25 % more; before 4 g"),
        (
            "arrange: ring, out: 50 mm",
            "arrange: ring, out: 44 mm",
            "position",
            "beetroot: all 3 moved, up to 6 mm; now in a ring, 44 mm out; before in a ring, 50 mm out",
        ),
        (
            "arrange: pool, across: 50 mm",
            "arrange: pool, across: 50 mm, at: {right: 5 mm, away: 0 mm}",
            "position",
            "oil: moved 5 mm, at 3:00, 5 mm out; before: in the centre",
        ),
        ("on: oil}", "on: oil, facing: standing}", "facing", "crisp: standing; before: none stated"),
        (
            "  oil: {recipe: dill-oil}",
            "  oil: {ingredient: sunflower oil}",
            "component",
            "oil is now ingredient sunflower oil, in place of recipe dill-oil",
        ),
        ("  - Rim clean", "  - Rim clean\n  - Crisp stands", "expo", "expo now checks: Crisp stands"),
        (
            "number: 1, date: 2026-01-31",
            "number: 2, date: 2026-02-01",
            "text",
            "revision 2 of 2026-02-01 (first written down); before: revision 1 of 2026-01-31 (first written down)",
        ),
        (
            "plate: wide",
            "plate: coupe",
            "plate",
            "served on Small coupe (220 mm, well 200 mm); before: Wide plate (280 mm, well 200 mm)",
        ),
        ("plate: wide\n", "plate: wide\nserve: {plate: hot}\n", "serve", "hot plate; before: not stated"),
        ("{ingredient: dill}", "{ingredient: dill, equipment: fryer}", "equipment", "dill: now on fryer"),
        (
            "{ingredient: dill}",
            "{ingredient: dill, finish: [{do: fry, takes: 20 s}]}",
            "timing",
            "fire 20 s before the plate leaves; before: nothing was finished to order",
        ),
        ("plate: wide\n", "plate: wide\nplating_takes: 45 s\n", "timing", "plating takes 45 s; before: not stated"),
        ("plate: wide\n", "plate: wide\nprice: {net: 12 EUR}\n", "cost", "sold for 12.00 EUR net; before: not entered"),
    ],
)
def test_one_change_in_a_chefs_words(was, now, kind, said):
    assert said in words(beetroot(), beetroot((was, now)), kind)
    assert len(words(beetroot((was, now)), beetroot(), kind)) == len(words(beetroot(), beetroot((was, now)), kind))


def test_a_part_that_was_renamed_is_not_another_part():
    renamed = (
        BEETROOT.replace("  oil:", "  dressing:")
        .replace("put: oil", "put: dressing")
        .replace("on: oil", "on: dressing")
    )
    assert words(beetroot(), prepared(renamed)) == ["oil is now called dressing; it is still recipe dill-oil"]


def test_the_order_of_the_moves():
    lines = BEETROOT.splitlines(keepends=True)
    i = next(i for i, line in enumerate(lines) if "put: beetroot" in line)
    swapped = "".join([*lines[:i], lines[i + 1], lines[i], *lines[i + 2 :]])
    assert words(beetroot(), prepared(swapped), "order") == [
        "the order of plating is now oil, then beetroot, then crisp, then dill; before: beetroot, then oil, then crisp,"
        " then dill"
    ]


@pytest.mark.parametrize(
    "file, was, now, said",
    [
        ("oil", "amount: 190 g", "amount: 152 g", ["Dill oil: sunflower oil, 20 % less: 152 g, before 190 g"]),
        ("oil", "amount: 190 g", "amount: 0.19 kg", []),
        ("oil", "makes: 200 g", "makes: 180 g", ["Dill oil: makes 180 g, 10 % less; before 200 g"]),
        ("oil", "  - {ingredient: dill, amount: 40 g}\n", "", ["Dill oil: 40 g dill is gone"]),
        (
            "oil",
            "  - {ingredient: dill, amount: 40 g}\n",
            "  - {ingredient: dill, amount: 40 g, stays: 50 %}\n",
            ["Dill oil: of dill 50 % stays in it; before: 100 %"],
        ),
        ("smoked", "equipment: smoker\n", "method: [Smoke it]\n", ["Smoked beetroot: the method now says: Smoke it"]),
    ],
)
def test_recipes(file, was, now, said):
    text = {"oil": LIBRARY[OIL], "smoked": LIBRARY[SMOKED]}[file]
    assert was in text
    assert words(beetroot(), beetroot(**{file: text.replace(was, now)}), "recipe") == said


def test_a_larger_batch_of_the_same_is_said_once():
    twice = LIBRARY[OIL].replace("200 g", "400 g").replace("190 g", "380 g").replace("40 g}", "80 g}")
    assert words(beetroot(), beetroot(oil=twice), "recipe") == [
        "Dill oil: the batch makes 400 g, 100 % more, in the same proportions; before 200 g"
    ]


def test_a_new_label_and_a_new_price():
    pantry = (
        LIBRARY[PANTRY]
        .replace("read: 2026-01-02", "read: 2026-03-02")
        .replace("called: Seeded crisp,", "called: Seeded crisp, price: 3 EUR for 100 g,")
    )
    said = words(beetroot(), beetroot(pantry=pantry))
    assert "Seeded crisp: its label was read on 2026-03-02; before on 2026-01-02" in said
    assert any(w.startswith("product seeded crisp: its price is 3.00 EUR for 100 g; before") for w in said)
    assert any(w.startswith("the plate costs") for w in said)


OTHER = {"str": "another word", "bool": True, "int": 7, "Fraction": Fraction(7, 2)}


def mutants(value):
    """(field, the value with another plain value there) for every field of a dataclass that is not its key or a place."""  # noqa: E501
    for f in fields(value):
        now = getattr(value, f.name)
        kind = str(f.type).split(" |")[0].replace('"', "")
        if f.name not in ("key", "span", "index", "put") and kind in OTHER:
            yield (
                f.name,
                replace(
                    value,
                    **{
                        f.name: (
                            not now
                            if kind == "bool"
                            else {"section": "at_table", "arrange": "cluster"}.get(f.name, OTHER[kind])
                        )
                    },
                ),
            )


def test_no_plain_fact_changes_in_silence():
    """Whatever the spec says of a dish, a part, a move, a recipe or a product: one change beside a new revision is
    always told.
    """
    old = beetroot(("  oil: {recipe: dill-oil}", "  oil: {recipe: dill-oil, finish: [{do: stir, takes: 20 s}]}"))
    bumped = replace(old.dish, revision=replace(old.dish.revision, number=9))
    silent = []

    def see(name, new):
        if {c.what for c in dishes.compare(old, new).changes if c.kind != "problem"} <= {"revision"} and len(
            dishes.compare(old, new).changes
        ) < 2:
            silent.append(name)

    for field, dish in mutants(bumped):
        see(f"Dish.{field}", replace(old, dish=dish, resolved=replace(old.resolved, dish=dish)))
    for field, part in mutants(old.dish.components[0]):
        dish = replace(bumped, components=(part, *old.dish.components[1:]))
        see(f"Component.{field}", replace(old, dish=dish, resolved=replace(old.resolved, dish=dish)))
    oil = old.dish.component("oil")
    for field, step in mutants(oil.finish[0]):
        dish = replace(
            bumped, components=tuple(replace(oil, finish=(step,)) if c.key == "oil" else c for c in old.dish.components)
        )
        see(f"FinishStep.{field}", replace(old, dish=dish))
    for i, move in enumerate(old.dish.steps):
        for field, step in mutants(move):
            dish = replace(bumped, steps=(*old.dish.steps[:i], step, *old.dish.steps[i + 1 :]))
            see(f"Step.{field}", replace(old, dish=dish))
        for field, piece in mutants(move.piece) if move.piece else ():
            dish = replace(bumped, steps=(*old.dish.steps[:i], replace(move, piece=piece), *old.dish.steps[i + 1 :]))
            see(f"Piece.{field}", replace(old, dish=dish))
    parts = {p.component.key: p for p in old.resolved.parts}

    def within(key, what):
        part = parts[key]._replace(use=parts[key].use._replace(what=what))
        return replace(
            old,
            dish=bumped,
            resolved=replace(
                old.resolved,
                dish=bumped,
                parts=tuple(part if p.component.key == key else p for p in old.resolved.parts),
            ),
        )

    batch, bought = parts["beetroot"].use.what, parts["crisp"].use.what
    for field, recipe in mutants(batch.recipe):
        see(f"Recipe.{field}", within("beetroot", batch._replace(recipe=recipe)))
    for field, line in mutants(batch.recipe.lines[0]):
        see(
            f"RecipeLine.{field}",
            within("beetroot", batch._replace(recipe=replace(batch.recipe, lines=(line, *batch.recipe.lines[1:])))),
        )
    for field, product in mutants(bought.product):
        see(f"Product.{field}", within("crisp", bought._replace(product=product)))
    for field, label in mutants(bought.product.label):
        see(f"Label.{field}", within("crisp", bought._replace(product=replace(bought.product, label=label))))
    for field, plate in mutants(old.resolved.plate):
        see(f"Plate.{field}", replace(old, dish=bumped, resolved=replace(old.resolved, dish=bumped, plate=plate)))
    assert silent == [], silent


# --------------------------------------------------------------------------- the command


def test_a_file_with_itself(galley):
    done = galley.run("compare", SPEC, "beetroot")
    assert done.code == 0 and done.out.rstrip().endswith("nothing changed")
    assert galley.run("compare", SPEC, SPEC, "--format", "json").data == {"old": SPEC, "new": SPEC, "changes": []}


def test_data_with_stable_keys(galley):
    galley.write({"specs/later.yaml": BEETROOT.replace("{ingredient: dill}", "{ingredient: butter}")})
    done = galley.run("compare", "beetroot", "later", "--format", "json")
    assert (
        done.code == 1
        and list(done.data) == ["old", "new", "changes"]
        and (done.data["old"], done.data["new"]) == ("beetroot", "later")
    )
    assert all(list(c) == KEYS for c in done.data["changes"])
    first = done.data["changes"][0]
    assert (first["kind"], first["what"], first["law"], first["severity"], first["old"]) == (
        "allergen",
        "milk",
        "eu",
        "alarm",
        "may_contain: milk",
    )
    assert "; because Smoked beetroot" in first["words"] and (first["file"], first["line"]) == ("specs/later.yaml", 8)
    assert galley.run("compare", "later", "beetroot").code == 0


def test_the_words_shout(galley):
    galley.write({"specs/later.yaml": BEETROOT.replace("{ingredient: dill}", "{ingredient: butter}")})
    out = galley.run("compare", "beetroot", "later").out
    lines = out.splitlines()
    assert lines.index("ALLERGENS") < lines.index("THE PLATE") if "THE PLATE" in lines else "ALLERGENS" in lines
    assert "!! CAME IN, European Union: milk; before: may contain" in out and "LOOK AT THE ALLERGENS: milk" in out
    back = galley.run("compare", "later", "beetroot").out
    assert "free" not in back.lower() and "!!" not in back


def test_the_new_file_is_no_dish_of_the_old_menu(galley):
    """The old version must not look as if it had what the new one brings into the fryer they share."""
    fried = BEETROOT.replace("{ingredient: dill}", "{ingredient: dill, equipment: fryer}")
    galley.write(
        {
            SPEC: fried,
            "specs/later.yaml": fried.replace("{product: seeded-crisp}", "{ingredient: shrimp, equipment: fryer}"),
        }
    )
    changes = galley.run("compare", "beetroot", "later", "--format", "json").data["changes"]
    assert {("eu", "not_among_ingredients")} <= {(c["law"], c["old"]) for c in changes if c["what"] == "crustacean"}


@pytest.mark.parametrize(
    "arguments, code",
    [
        (["beetroot"], 2),
        (["beetroot", "nowhere"], 2),
        (["specs", "beetroot"], 0),
        (["beetroot", "beetroot", "--out", "x.txt"], 2),
        (["beetroot", "beetroot", "--out", "x"], 2),
        (["beetroot", "beetroot", "--kitchen", "nowhere"], 2),
        (["beetroot", "beetroot", "--format", "xml"], 2),
        (["beetroot", "a" * 5000], 2),
        (["beetroot", "\0"], 2),
        (["", "beetroot"], 2),
    ],
)
def test_usage(galley, arguments, code):
    assert galley.run("compare", *arguments).code == code


def test_several_dishes_are_no_revision(galley):
    galley.write({"specs/later.yaml": BEETROOT})
    assert galley.run("compare", "specs", "beetroot").code == 2


def test_errors_on_either_side_are_named_and_exit_with_1(galley):
    galley.write({"specs/later.yaml": BEETROOT.replace("plate: wide", "plate: wyde")})
    for pair in (("beetroot", "later"), ("later", "beetroot")):
        done = galley.run("compare", *pair)
        assert done.code == 1 and "specs/later.yaml:3:8: error: there is no plate 'wyde'" in done.err


# --------------------------------------------------------------------------- the picture


def roles(root) -> list[str]:
    return [e.get("data-role") for e in root.iter() if e.get("data-role")]


def test_the_plates_side_by_side(galley):
    now = (
        BEETROOT.replace("arrange: ring, out: 50 mm", "arrange: ring, out: 70 mm")
        .replace("  - {put: dill, count: 3", "  - {put: dill, count: 2")
        .replace(
            "garnish:\n",
            'garnish:\n  - {put: extra, piece: {shape: leaf, size: 12 x 8 mm, weight: 1 g}, at: "1:00", out: 20 mm, on:'
            " oil}\n",
        )
        .replace("  dill: {", "  extra: {ingredient: parsley}\n  dill: {")
    )
    galley.write({"specs/later.yaml": now})
    for name in ("side.svg", "side.pdf", "new/folder/side.svg"):
        assert galley.run("compare", "beetroot", "later", "--out", name).code == 0, galley.run(
            "compare", "beetroot", "later"
        ).err
    root = ElementTree.parse(galley.root / "side.svg").getroot()
    assert (
        roles(root).count("gone") == 1
        and roles(root).count("new") == 1
        and roles(root).count("moved") >= 3
        and roles(root).count("was-here") >= 3
    )
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids)) and "old-changes" in ids and "new-changes" in ids
    text = " ".join("".join(e.itertext()) for e in root.iter() if e.tag.endswith("text"))
    assert (
        "OLD" in text
        and "gone from the new plate" in text
        and "extra is new on the plate" in text
        and "not a card" in text
    )
    pages = pypdf.PdfReader(galley.root / "side.pdf").pages
    assert "extra is new on the plate" in " ".join(p.extract_text() for p in pages).replace("\n", " ")
    assert [p.name for p in galley.root.iterdir() if p.name.endswith(".part")] == []
    again = (galley.root / "side.pdf").read_bytes()
    galley.run("compare", "beetroot", "later", "--out", "side.pdf")
    assert (galley.root / "side.pdf").read_bytes() == again


def test_a_picture_never_leaves_an_alarm_out(menu):
    """However much changed, every allergen that came in stands on a page."""
    from platecard.documents.pages import comparison
    from platecard.drawing import pdf

    old, new = menu[0], next(d for d in menu if d.key == "short-rib")
    found = dishes.compare(old, new)
    lines = tuple(comparison.Line(c.words, c.reasons[:1], c.severity == ALARM) for c in found.changes)
    pages = comparison.pages(old, new, found.moved, lines, ("old", "new"), "many changes")
    text = " ".join(
        " ".join(p.extract_text() for p in pypdf.PdfReader(io.BytesIO(pdf.write(pages, title="x"))).pages).split()
    )
    assert len(pages) > 1
    for c in found.changes:
        # What changed of one thing stands below its name, which is said once.
        name, _, said = " ".join(c.words.split()).partition(": ")
        assert name[:60] in text and said[:60] in text, c.words


def test_each_piece_that_moved_is_marked_and_what_stayed_is_pale(menu):
    """All four of four, and what rides on them; with more pieces than arrows, each has its outline."""
    from platecard.documents.diagram import plate as above
    from platecard.documents.pages import comparison
    from platecard.layout.displacement import STILL_MM
    from tests.laid import at_mm, dish, piece, plate, step

    def laid(away, many=4):
        d = dish(
            step(
                "slab",
                count=many,
                piece=piece("disc", 14, None, 8),
                arrange="line",
                start=at_mm(-60, away),
                end=at_mm(60, away),
            ),
            step("herb", count=many, piece=piece("frond", 8, 6), on="slab"),
            step("still", piece=piece("disc", 20), at=at_mm(0, -60)),
        )
        return replace(menu[0], dish=d, arrangement=arrange.place(d, plate(280, 240))[0])

    for many, shift in ((4, 20), (4, 2), (20, 20)):
        old, new = laid(0, many), laid(shift, many)
        moved = displacement.between(old.arrangement, new.arrangement, [(n, n) for n in (1, 2, 3)])
        assert all(m.furthest_mm > STILL_MM for m in moved[:2]) and moved[2].furthest_mm < STILL_MM
        (page,) = comparison.pages(old, new, moved, (), ("old", "new"), "")
        marks = [g for side in _all_groups(page.items) if side.id == "new-changes" for g in side.inner]
        at = [(i.about.role, i.about.component) for i in marks if i.about and i.about.role.startswith("moved")]
        assert len([1 for _, c in at if c == "slab"]) >= many and len([1 for _, c in at if c == "herb"]) == many
        assert not any(c == "still" for _, c in at)
        whole = {
            i.style.fill
            for g in above.draw(new.arrangement, new.dish).items
            if isinstance(g, Group)
            for i in g.inner
            if getattr(i, "about", None) and i.about.role == "footprint" and i.about.component == "still"
        }
        shown = {
            i.style.fill
            for g in _all_groups(page.items)
            if g.id == "new-step-3"
            for i in g.inner
            if getattr(i, "about", None) and i.about.role == "footprint"
        }
        assert shown and not shown & whole, "what stayed is pale"


def _all_groups(items):
    for item in items:
        if isinstance(item, Group):
            yield item
            yield from _all_groups(item.inner)


def test_a_side_without_a_plate_is_drawn_as_such(galley):
    galley.write({"specs/later.yaml": BEETROOT.replace("plate: wide", "plate: wyde"), "specs/torn.yaml": "dish: [\n"})
    for name in ("later", "torn"):
        assert galley.run("compare", "beetroot", name, "--out", f"{name}.svg").code == 1
        assert "no plate to draw" in (galley.root / f"{name}.svg").read_text()


def test_a_picture_that_cannot_be_written(galley):
    galley.write({"taken": "a file"})
    done = galley.run("compare", "beetroot", "beetroot", "--out", "taken/side.svg")
    assert done.code == 1 and "cannot be written" in done.err


# --------------------------------------------------------------------------- git


def git(where: Path, *arguments: str) -> str:
    done = subprocess.run(
        ["git", "-c", "user.name=cook", "-c", "user.email=cook@example.org", "-c", "commit.gpgsign=false", *arguments],
        cwd=where,
        capture_output=True,
        text=True,
        timeout=60,
    )
    assert done.returncode == 0, done.stderr
    return done.stdout


def commit(room, said: str = "one") -> None:
    git(room.root, "add", "-A")
    git(room.root, "commit", "-q", "-m", said)


@pytest.fixture
def kept(galley):
    """The small kitchen under git, with one revision of it."""
    if shutil.which("git") is None:
        pytest.skip("git is not installed here")
    git(galley.root, "init", "-q")
    commit(galley)
    return galley


def test_a_revision_brings_its_own_library(kept):
    kept.write({OIL: LIBRARY[OIL].replace("ingredients:\n", "ingredients:\n  - {ingredient: butter, amount: 20 g}\n")})
    done = kept.copies("compare", f"HEAD:{SPEC}", SPEC)
    assert (
        done.code == 1
        and "!! CAME IN, European Union: milk" in done.out
        and "shared/recipes/dill-oil.yaml:4" in done.out
    )
    commit(kept, "two")
    assert kept.copies("compare", f"HEAD:{SPEC}", SPEC).out.rstrip().endswith("nothing changed")
    done = kept.copies("compare", f"HEAD:{SPEC}", f"HEAD~1:{SPEC}", "--format", "json")
    gone = next(c for c in done.data["changes"] if c["law"] == "eu")
    assert done.code == 0 and gone["file"] == f"HEAD:{OIL}" and gone["line"] == 4
    assert next(c for c in done.data["changes"] if c["kind"] == "recipe")["file"] == f"HEAD:{OIL}"


@pytest.mark.parametrize(
    "said",
    [
        "HEAD:beetroot",
        "HEAD:specs/beetroot.yaml",
        "HEAD:./specs/beetroot.yaml",
        "HEAD^0:specs/../specs/beetroot.yaml",
        "@:beetroot",
    ],
)
def test_a_spec_in_a_revision_may_be_named_as_anywhere_else(kept, said):
    assert kept.copies("compare", said, "beetroot").out.rstrip().endswith("nothing changed")


def test_from_a_folder_below(kept, monkeypatch):
    monkeypatch.chdir(kept.root / "specs")
    for said in ("HEAD:beetroot.yaml", "HEAD:specs/beetroot.yaml"):
        assert kept.copies("compare", said, "beetroot.yaml").code == 0


def test_the_menu_of_a_revision_shares_its_equipment(kept):
    kept.write(
        {
            SPEC: BEETROOT.replace("{ingredient: dill}", "{ingredient: dill, equipment: fryer}"),
            "specs/fried.yaml": poured({"a": "{ingredient: shrimp, equipment: fryer}"}),
        }
    )
    commit(kept, "two")
    assert kept.copies("compare", "HEAD:beetroot", "beetroot").code == 0
    os.unlink(kept.root / "specs/fried.yaml")
    changes = kept.copies("compare", "HEAD:beetroot", "beetroot", "--format", "json").data["changes"]
    assert any(c["what"] == "crustacean" and c["old"].startswith("may_contain") for c in changes)


FRIED = poured({"a": "{ingredient: shrimp, equipment: fryer}"})


@pytest.mark.parametrize(
    "place, answer",
    [
        ("specs/lunch/fried.yaml", "may_contain"),
        ("specs/Fried.YAML", "may_contain"),
        ("specs/fried.yaml/notes.txt", "not_established"),
        ("specs/.fried.yaml", "not_established"),
        ("specs/.lunch/fried.yaml", "not_established"),
        ("specs/fried.txt", "not_established"),
        ("specs/fried.yaml.bak", "not_established"),
        ("specs/beetroot.yaml.bak", "not_among_ingredients"),
        ("specs/fried.md", "not_among_ingredients"),
        ("elsewhere/fried.yaml", "not_among_ingredients"),
    ],
)
def test_the_folders_of_a_revision_are_accounted_for_as_on_the_disk(kept, place, answer):
    kept.write({SPEC: BEETROOT.replace("{ingredient: dill}", "{ingredient: dill, equipment: fryer}"), place: FRIED})
    commit(kept, "two")
    now = earlier.read_project("HEAD", "beetroot")
    here = reading.read_project(["beetroot"])
    _, (then,) = prepared_menu(now)
    _, (today,) = prepared_menu(here)
    for one in (then, today):
        assert presences(one)["eu", "crustacean"] == answer
    # A folder of the disk that holds nothing is none of git's.
    assert now.account == here.account
    assert [p.slug for p in now.problems] == [p.slug for p in here.problems]


def test_a_link_or_another_repository_in_a_revision_is_an_unknown(kept):
    kept.write({SPEC: BEETROOT.replace("{ingredient: dill}", "{ingredient: dill, equipment: fryer}")})
    os.symlink("../away", kept.root / "specs/lunch")
    git(kept.root, "add", "-A")
    git(
        kept.root, "update-index", "--add", "--cacheinfo", "160000,1111111111111111111111111111111111111111,specs/other"
    )
    git(kept.root, "commit", "-q", "-m", "two")
    project = earlier.read_project("HEAD", "beetroot")
    assert {(e.file, e.counts_as) for e in project.account if e.counts_as != "recipe"} >= {
        ("specs/lunch", "unknown"),
        ("specs/other", "unknown"),
        (SPEC, "dish"),
    }
    _, (one,) = prepared_menu(project)
    assert presences(one)["eu", "crustacean"] == "not_established"


def test_another_kitchen_in_a_revision(kept):
    assert kept.copies("compare", "HEAD:beetroot", "beetroot", "--kitchen", "shared").code == 0
    assert (
        kept.copies("compare", "HEAD:beetroot", "beetroot", "--kitchen", "specs").code == 1
    )  # the spec's folder holds no kitchen.yaml
    assert kept.copies("compare", "HEAD:beetroot", "HEAD:beetroot", "--kitchen", "..").code == 2


@pytest.mark.parametrize(
    "said",
    [
        "--output=x:specs/beetroot.yaml",
        "-x:beetroot",
        ":beetroot",
        "nothing:beetroot",
        "HEAD~9:beetroot",
        "HEAD:nowhere",
        "HEAD:",
        "HEAD:../beetroot",
        "HEAD:../../etc/passwd",
        "HEAD:/etc/passwd",
        "HEAD:-x",
        "HEAD: specs",
        "HEAD;touch x:beetroot",
        "$(touch x):beetroot",
        "HEAD\n:beetroot",
        "HEAD:spe\ncs",
        "HEAD:specs",
        "a" * 300 + ":beetroot",
        "HEAD:" + "a/" * 2000,
        "HEAD..HEAD:beetroot",
        "HEAD:specs/*.yaml",
        "HEAD::(glob)specs/*",
        "--upload-pack=touch x:beetroot",
        "\u202eHEAD:beetroot",
        "HEAD\0:beetroot",
    ],
)
def test_hostile_names_are_refused_and_nothing_runs(kept, said):
    before = sorted(p.name for p in kept.root.iterdir())
    for pair in ((said, "beetroot"), ("beetroot", said)):
        done = kept.copies("compare", "--", *pair)
        assert done.code == 2 and done.err.startswith("platecard: ") and len(done.err) < 6000, done
    assert sorted(p.name for p in kept.root.iterdir()) == before


def test_what_a_repository_names_is_not_run(kept):
    (kept.root / ".gitattributes").write_text("*.yaml diff=bad filter=bad\n")
    for key in (
        "core.fsmonitor",
        "core.pager",
        "diff.bad.textconv",
        "diff.bad.command",
        "filter.bad.smudge",
        "core.sshCommand",
    ):
        git(kept.root, "config", key, "touch ran;")
    assert kept.copies("compare", "HEAD:beetroot", "beetroot").code == 0
    assert not (kept.root / "ran").exists()


def test_links_and_large_files_of_a_revision_leave_the_dish_in_doubt(kept):
    os.unlink(kept.root / OIL)
    os.symlink("/etc/hostname", kept.root / OIL)
    kept.write({PANTRY: b"# " + b"x" * 2_100_000})
    commit(kept, "two")
    done = kept.copies("compare", "HEAD~1:beetroot", "HEAD:beetroot")
    assert (
        done.code == 1
        and "links are not followed" in done.err
        and "the limit is 2 MB" in done.err
        and "nothing is said to be gone" in done.out
    )


def test_bounds(kept, monkeypatch):
    monkeypatch.setattr(earlier, "MAX_TOTAL", 10)
    assert kept.copies("compare", "HEAD:beetroot", "beetroot").code == 2
    monkeypatch.setattr(earlier, "MAX_TOTAL", 64_000_000)
    monkeypatch.setattr(earlier, "MAX_LISTING", 10)
    done = kept.copies("compare", "HEAD:beetroot", "beetroot")
    assert done.code == 2 and "too large" in done.err
    monkeypatch.setattr(earlier, "MAX_LISTING", 4_000_000)
    monkeypatch.setattr(earlier, "MAX_FILES", 1)
    assert kept.copies("compare", "HEAD:beetroot", "beetroot").code == 2


def test_a_revision_without_a_library(kept):
    shutil.rmtree(kept.root / "shared")
    commit(kept, "two")
    done = kept.copies("compare", "HEAD:beetroot", "HEAD~1:beetroot")
    assert done.code == 2 and "no kitchen library" in done.err


@needs_git
def test_without_a_repository(galley, monkeypatch):
    monkeypatch.setenv("GIT_CEILING_DIRECTORIES", str(galley.root.parent))
    done = galley.run("compare", "beetroot", "--was", "1")
    assert done.code == 2 and done.err.startswith("platecard: there is no git repository here")


def test_without_git(galley, monkeypatch):
    monkeypatch.setenv("PATH", str(galley.root))
    done = galley.run("compare", "beetroot", "--as-of", "2026-09-14")
    assert done.code == 2 and "git is not installed here" in done.err


def test_git_is_run_from_one_place_with_a_list_and_no_shell():
    calls = [
        n
        for n in ast.walk(ast.parse(inspect.getsource(earlier)))
        if isinstance(n, ast.Call)
        and isinstance(n.func, ast.Attribute)
        and isinstance(n.func.value, ast.Name)
        and n.func.value.id in ("subprocess", "os")
        and n.func.attr in ("run", "Popen", "call", "check_output", "system", "popen")
    ]
    assert (
        len(calls) == 1
        and isinstance(calls[0].args[0], ast.List)
        and calls[0].args[0].elts[0].id == "program"
        and not [k for k in calls[0].keywords if k.arg in ("shell", "executable")]
    )
    users = [p for p in (ROOT / "platecard").rglob("*.py") if "import subprocess" in p.read_text(encoding="utf-8")]
    assert [p.name for p in users] == ["earlier.py"]


def test_revision_names():
    for said in ("-x", "", "a b", "a\tb"):
        with pytest.raises(UsageError):
            earlier.read_project(said, "a")


# --------------------------------------------------------------------------- earlier copies, by number or by day


@pytest.fixture
def history(kept):
    """The dish under revision 2 after revision 1, whose library changed once more before that."""
    butter = LIBRARY[OIL].replace("ingredients:\n", "ingredients:\n  - {ingredient: butter, amount: 20 g}\n")
    kept.write({OIL: butter})
    commit(kept, "butter in the oil")
    kept.write({OIL: LIBRARY[OIL], SPEC: BEETROOT.replace("number: 1", "number: 2")})
    commit(kept, "two")
    return kept


def test_a_revision_is_named_by_its_number(history):
    done = history.run("compare", "beetroot", "--was", "1")
    assert done.code == 0 and "beetroot, revision 1 (revision 1 of" in done.out
    # The last that was issued under it had butter in the oil.
    assert "milk" in done.out and "shared/recipes/dill-oil.yaml" in done.out
    back = history.run("compare", "beetroot", "--was", "2")
    assert back.out.rstrip().endswith("nothing changed")


def test_a_number_that_never_was_is_said(history):
    done = history.run("compare", "beetroot", "--was", "9")
    assert done.code == 2 and "no earlier copy of specs/beetroot.yaml has revision 9" in done.err


def test_a_copy_is_named_by_a_day(history):
    assert history.run("compare", "beetroot", "--as-of", "2999-01-01").out.rstrip().endswith("nothing changed")
    done = history.run("compare", "beetroot", "--as-of", "1999-01-01")
    assert done.code == 2 and "of 1999-01-01 or before" in done.err
    assert "write year, month and day" in history.run("compare", "beetroot", "--as-of", "yesterday").err


@pytest.mark.parametrize("more", [(), ("later", "--was", "1"), ("--was", "1", "--as-of", "2026-01-01")])
def test_which_two_has_to_be_said_once(history, more):
    done = history.run("compare", "beetroot", *more)
    assert done.code == 2 and "name two dishes, or one with" in done.err
