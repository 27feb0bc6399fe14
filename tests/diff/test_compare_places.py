"""Where a comparison points, and by which name it calls things: those of the new text, or else of the old.

One edit after another is made in a kitchen in which every text also stands forty lines further down, or every name
is another, so that a place or a name of the wrong revision shows wherever it is told.
"""

from __future__ import annotations

import pytest

from platecard.diff import dishes
from tests.kitchens import KITCHEN, OIL, PANTRY, PLATES, SMOKED, SPEC, kitchen, prepared

DILL = "  - {ingredient: dill, amount: 40 g}\n"
RING = "count: 3, piece: {shape: disc, size: 30 mm, weight: 12 g}, arrange: ring, out: 50 mm"
PLATE = "plate: wide\n"
PART = "{ingredient: dill}"
FRIED = "{ingredient: dill, finish: [{do: fry, takes: 20 s, on: fryer}, {do: season, takes: 5 s}]}"
LABEL = "label: {read: 2026-01-02, contains: [wheat, sesame], may_contain: [milk]}"
EDITS = [
    # the plate and its parts
    (SPEC, RING, RING.replace("count: 3", "count: 2")),
    (SPEC, RING, RING.replace("30 mm", "34 mm")),
    (SPEC, RING, RING.replace("weight: 12 g", "weight: 15 g")),
    (SPEC, RING, RING.replace(", weight: 12 g", "")),
    (SPEC, RING, RING.replace("50 mm", "44 mm")),
    (SPEC, RING, RING + ", facing: outwards"),
    (SPEC, RING, RING + ", note: upright"),
    (SPEC, RING, RING + ", accept: {count: 1, place: 6 mm}"),
    (SPEC, "amount: 4 g, arrange: pool, across: 50 mm", "amount: 5 g, arrange: pool, across: 60 mm"),
    (SPEC, "amount: 4 g, arrange: pool, across: 50 mm", "piece: {shape: disc, size: 50 mm, weight: 4 g}"),
    (SPEC, "across: 50 mm}", "across: 50 mm, at: {right: 5 mm, away: 0 mm}}"),
    (SPEC, "weight: 6 g}, on: oil", "weight: 6 g}, on: beetroot"),
    (SPEC, "garnish:\n  - {put: dill", "at_table:\n  - {put: dill"),
    (
        SPEC,
        "on: beetroot}\n",
        "on: beetroot}\n  - {put: oil, amount: 1 g, arrange: pool, across: 5 mm, at: {right: 80 mm}}\n",
    ),
    (SPEC, PART, "{ingredient: parsley}"),
    (SPEC, PART, "{ingredient: dill, station: sauce, note: small, may_be_left_off: true}"),
    (SPEC, PART, "{ingredient: dill, swap: {avoiding: [celery], use: {ingredient: chives}}}"),
    (SPEC, PART, "{ingredient: dill, equipment: fryer}"),
    (SPEC, PART, "{ingredient: dill, state: raw}"),
    (SPEC, "{recipe: dill-oil}", "{ingredient: sunflower oil}"),
    # how it is served
    (SPEC, PLATE, "plate: coupe\n"),
    (SPEC, PLATE, PLATE + "serve: {plate: hot, food: hot}\n"),
    (SPEC, PLATE, PLATE + "price: {net: 12 EUR}\n"),
    (SPEC, PLATE, PLATE + "plating_takes: 45 s\ncheck_takes: 10 s\nplates_warm: 5 min\n"),
    (SPEC, PLATE, PLATE + "menu_line: From the earth\ncourse: starter\nnote: Mind the rim\n"),
    (SPEC, PLATE, PLATE + "acknowledged: {revision: 1, eu: [wheat]}\n"),
    (SPEC, "  - Rim clean", "  - Crisp stands"),
    (SPEC, "number: 1, date: 2026-01-31", "number: 2, date: 2026-02-01"),
    (SPEC, PART, FRIED),
    (SPEC, PLATE, PLATE + "draft: true\n"),
    (SPEC, RING, RING + ", may_touch: oil"),
    (PLATES, "outer: 280 mm, well: 200 mm", "outer: 290 mm, well: 190 mm, depth: 20 mm"),
    # recipes
    (OIL, DILL, ""),
    (OIL, DILL, DILL.replace("40 g", "60 g")),
    (OIL, DILL, DILL.replace("40 g", "40 g, stays: 50 %, trim_yield: 80 %, note: chopped")),
    (OIL, DILL, DILL.replace("40 g", "40 g, state: raw, reused: true, stays: 50 %")),
    (OIL, "makes: 200 g", "makes: 180 g"),
    (
        OIL,
        "makes: 200 g",
        "makes: 200 g\nmethod: [Blend]\nkeeps: 2 days\nleft_behind: 10 %\nequipment: fryer\nstate: raw",
    ),
    (OIL, "190 g", "190 g}\n  - {ingredient: butter, amount: 5 g"),
    (SMOKED, "  - {recipe: dill-oil, amount: 20 g}\n", ""),
    # products
    (PANTRY, ", " + LABEL, ""),
    (PANTRY, LABEL, LABEL.replace("[wheat, sesame]", "[wheat, egg]").replace("01-02", "01-05")),
    (PANTRY, LABEL, LABEL.replace("[milk]", "[milk, soy], sulphites: 2 mg/kg")),
    (PANTRY, LABEL, LABEL.replace("may_contain", "text: 'wheat flour, sesame', may_contain")),
    (
        PANTRY,
        "label:",
        "supplier: The Mill, code: M1, piece: 6 g, density: 0.5, also: [Cracker], price: 3 EUR / kg, label:",
    ),
    (PANTRY, LABEL, LABEL.replace("may_contain", "read_whole: true, may_contain")),
    # laws
    (KITCHEN, "laws: [eu, us]\nlabels", "laws: [eu]\nlabels"),
]
DOWN = 40
NAMES = (
    (SPEC, "station: larder", "station: larder, called: {}", "Beets", "Roots"),
    (SPEC, "crisp: {product: seeded-crisp", "crisp: {{product: seeded-crisp, called: {}", "Wafer", "Tuile"),
    (OIL, "recipe: Dill oil", "recipe: {}", "Green oil", "Herb oil"),
    (SMOKED, "recipe: Smoked beetroot", "recipe: {}", "Dark roots", "Sooty roots"),
    (PANTRY, "called: Seeded crisp", "called: {}", "Seed bite", "Grain bite"),
    (PLATES, "called: Wide plate", "called: {}", "Big plate", "Broad plate"),
)
HERE, THEN = tuple(n[4] for n in NAMES), tuple(n[3] for n in NAMES)


def moved_down(*edits: tuple[str, str, str]):
    files = {file: "#\n" * DOWN + text for file, text in kitchen(*edits).items()}
    return prepared(files.pop(SPEC), files)


def named(which: int, *edits: tuple[str, str, str]):
    """The kitchen with the first or the second name of everything; an edit is made before."""
    files = kitchen(*edits)
    for file, was, now, *both in NAMES:
        files[file] = files[file].replace(was, now.format(both[which]))
    return prepared(files.pop(SPEC), files)


@pytest.fixture(scope="module")
def plain():
    files = kitchen()
    return prepared(files.pop(SPEC), files)


@pytest.fixture(scope="module")
def first_names():
    return named(0)


@pytest.mark.parametrize("edit", EDITS, ids=lambda e: f"{e[0].rsplit('/', 1)[-1]} {e[2][-24:]!r}")
def test_every_change_is_told_at_its_place_in_the_revision_that_has_it(plain, edit):
    other = moved_down(edit)
    there, back = dishes.compare(plain, other).changes, dishes.compare(other, plain).changes
    assert there and back
    for found, is_new_below in ((there, True), (back, False)):
        for c in found:
            if c.span is not None:
                assert (c.span.line > DOWN) is (is_new_below is not c.in_old), (c.kind, c.words, str(c.span))
    assert {(c.kind, c.what, c.law) for c in there} == {(c.kind, c.what, c.law) for c in back}


@pytest.mark.parametrize("edit", EDITS, ids=lambda e: f"{e[0].rsplit('/', 1)[-1]} {e[2][-24:]!r}")
def test_every_change_is_told_by_the_names_of_the_revision_that_has_it(first_names, edit):
    other = named(1, edit)
    for old, new, was, now in ((first_names, other, THEN, HERE), (other, first_names, HERE, THEN)):
        for c in dishes.compare(old, new).changes:
            told = c.words.split("before")[0].split("in place of")[0]
            if not c.in_old:
                assert not any(name in told for name in was), (c.kind, c.words)
                assert not any(name in str(c.new) for name in was), (c.kind, c.words, c.new)
            assert not any(name in str(c.old) for name in now), (c.kind, c.words, c.old)
            assert not (c.in_old and any(name in reason for name in now for reason in c.reasons)), c.reasons
