"""What a cook in a hurry gets wrong: one message, at its place, with a remedy that works when it is followed.

The place of each slip is marked with ``¦``.  ``remedy`` is what its hint says to write; with it the dish has no
error any more.
"""

from __future__ import annotations

import json
from functools import cache
from typing import NamedTuple

import pytest
import yaml

from platecard import schema, schema_words
from platecard.diagnostics import Problem
from platecard.yaml_nodes import decode
from tests.kitchens import marked, prepared

SPEC = "specs/asked.yaml"
KITCHEN, PLATES, PANTRY = "shared/kitchen.yaml", "shared/plates.yaml", "shared/pantry.yaml"
OIL, SMOKED = "shared/recipes/dill-oil.yaml", "shared/recipes/smoked-beetroot.yaml"

FILES = {
    KITCHEN: """\
kitchen: The Test Galley
laws: [eu, us]
labels_printed_for: [eu, us]
stations:
  larder: Larder
  sauce: Sauce
equipment:
  fryer: the fryer
  smoker: {called: the smoker, holds: 4}
label_age: 52 weeks
""",
    PLATES: """\
plates:
  wide:
    called: Wide plate
    form: rimmed
    outer: 280 mm
    well: 200 mm
    depth: 14 mm
""",
    PANTRY: """\
products:
  seeded-crisp:
    called: Seeded crisp
    supplier: the baker
    pack: 1 kg
    price: 4.20 EUR
    label:
      read: 2026-01-02
      contains: [wheat, sesame]
      may_contain: [milk]
""",
    SMOKED: """\
recipe: Smoked beetroot
makes: 400 g
equipment: smoker
ingredients:
  - {ingredient: beetroot, amount: 450 g}
  - {recipe: dill-oil, amount: 20 g}
method:
  - Smoke the beetroot
  - Dress with the oil
""",
    OIL: """\
recipe: Dill oil
makes: 200 g
ingredients:
  - ingredient: sunflower oil
    amount: 190 g
  - ingredient: dill
    amount: 40 g
""",
    SPEC: """\
dish: Smoked beetroot, dill oil, seeded crisp
course: starter
revision: {number: 1, date: 2026-01-30, note: first written down}
plate: wide
serve: {plate: chilled, food: cold}
plating_takes: 90 s
price: {net: 17 EUR}
components:
  beetroot:
    recipe: smoked-beetroot
    station: larder
    finish:
      - {do: slice, takes: 60 s}
  crisp: {product: seeded-crisp}
  oil: {recipe: dill-oil, station: sauce}
  dill: {ingredient: dill}
plating:
  - put: beetroot
    count: 3
    piece: {shape: disc, size: 30 mm, height: 8 mm, weight: 5 g}
    arrange: ring
    out: 50 mm
  - put: oil
    amount: 4 g
    arrange: pool
    across: 50 mm
  - put: crisp
    piece: {shape: shard, size: 30 x 10 mm, weight: 6 g}
    on: oil
garnish:
  - put: dill
    count: 3
    piece: {shape: frond, size: 8 mm, weight: 0.2 g}
    on: beetroot
expo_checks:
  - Rim clean
acknowledged:
  revision: 1
  eu: [wheat, sesame]
  us: [wheat, sesame]
""",
}


class Slip(NamedTuple):
    file: str
    old: str
    new: str
    slug: str
    hint: str
    remedy: str | None = None  # None: what stood there before


SLIPS = {
    # --- quotation marks, hyphens, indentation, brackets
    "a quotation mark never closed": Slip(
        SPEC, "- Rim clean", "- ¦'Rim clean", "yaml", "close the quotation mark with '", "- 'Rim clean'"
    ),
    "a quotation mark closed much later": Slip(
        SPEC,
        "starter\nrevision: {number: 1, date: 2026-01-30, note: first written down}",
        '¦"starter\nrevision: {number: 1, date: 2026-01-30, note: "first"}',
        "yaml",
        'write " at the end of the text, on the same line',
        '"starter"\nrevision: {number: 1, date: 2026-01-30, note: "first"}',
    ),
    "an apostrophe in single quotes": Slip(
        SPEC, "- Rim clean", "- ¦'Chef's choice'", "yaml", 'write "Chef\'s choice"', '- "Chef\'s choice"'
    ),
    "an inch sign in double quotes": Slip(
        SPEC, "- Rim clean", '- ¦"6" plate"', "yaml", "write '6\" plate'", "- '6\" plate'"
    ),
    "a lost hyphen": Slip(
        SPEC, "  - put: oil", "    ¦put: oil", "repeated-key", "write '- ' in front of it", "  - put: oil"
    ),
    "a lost hyphen, and its blank": Slip(
        SPEC, "  - put: oil", "  ¦put: oil", "yaml", "write '- ' in front of it", "  - put: oil"
    ),
    "a lost hyphen of the first entry": Slip(
        SPEC, "  - put: beetroot", "    ¦put: beetroot", "yaml", "write it as '- put: beetroot', 2 spaces before it"
    ),
    "a lost hyphen of the only entry": Slip(
        SPEC,
        "  - put: dill\n",
        "    ¦put: dill\n",
        "wrong-type",
        "write '- ' in front of each entry, as in '- put: ...'",
        "  - put: dill\n",
    ),
    "a lost hyphen in a recipe": Slip(
        OIL,
        "  - ingredient: dill",
        "    ¦ingredient: dill",
        "repeated-key",
        "write '- ' in front of it, as in '- ingredient",
    ),
    "a lost hyphen before braces": Slip(SMOKED, "  - {recipe", "    ¦{recipe", "yaml", "write '- ' in front of it"),
    "a hyphen without its space": Slip(
        SPEC, "- put: oil", "¦-put: oil", "yaml", "write '- ', with a space after the hyphen"
    ),
    "a dash for a hyphen": Slip(
        SPEC, "- put: oil", "¦– put: oil", "yaml", "write '- ' (a hyphen and a space) in place of '–'"
    ),
    "a bullet for a hyphen": Slip(
        SPEC, "- Rim clean", "¦• Rim clean", "wrong-type", "write '- ' (a hyphen and a space) in place of '•'"
    ),
    "a star for a hyphen": Slip(SPEC, "- Rim clean", "¦* Rim clean", "yaml", "in place of '*'"),
    "an empty hyphen": Slip(SPEC, "- Rim clean", "- Rim clean\n  -¦", "wrong-type", "delete its '- '"),
    "a line too far in": Slip(SPEC, "    amount: 4 g", "      ¦amount: 4 g", "yaml", "4 spaces before it"),
    "a line not far enough in": Slip(SPEC, "    amount: 4 g", "   ¦amount: 4 g", "yaml", "4 spaces before it"),
    "a component at the start of the line": Slip(
        SPEC,
        "  crisp: {product: seeded-crisp}\n  oil",
        "crisp: {product: seeded-crisp}\n  ¦oil",
        "yaml",
        "indent line 14 like this one",
    ),
    "a tab": Slip(SPEC, "    amount: 4 g", "¦\tamount: 4 g", "tab", "use spaces"),
    "a brace not closed": Slip(
        SPEC, "{product: seeded-crisp}", "¦{product: seeded-crisp", "yaml", "write } after its last entry"
    ),
    "a brace not opened": Slip(
        SPEC,
        "crisp: {product: seeded-crisp}",
        "crisp: ¦product: seeded-crisp}",
        "yaml",
        "write crisp: {product: seeded-crisp}",
    ),
    "a brace too many": Slip(SPEC, "seeded-crisp}", "seeded-crisp}¦}", "yaml", "delete it"),
    "round brackets": Slip(
        SPEC, "{product: seeded-crisp}", "¦(product: seeded-crisp)", "yaml", "write crisp: {product: seeded-crisp}"
    ),
    "a bracket not closed": Slip(PANTRY, "[wheat, sesame]", "¦[wheat, sesame", "yaml", "write ] after its last entry"),
    "a comma forgotten": Slip(SPEC, "{shape: disc, size", "{shape: disc ¦size", "yaml", "write a comma before 'size'"),
    "semicolons": Slip(SPEC, "{shape: disc, size", "{shape: disc¦; size", "yaml", "write a comma in place of each ;"),
    "a hash in braces": Slip(
        SPEC,
        "{product: seeded-crisp}",
        "{product: seeded-crisp, colour: ¦#aabbcc}",
        "yaml",
        'put quotes round what begins with it: "#aabbcc"',
        '{product: seeded-crisp, colour: "#aabbcc"}',
    ),
    # --- colons
    "no space after a colon": Slip(SPEC, "plate: wide", "¦plate:wide", "yaml", "write 'plate: wide'"),
    "no colon": Slip(SPEC, "plate: wide", "¦plate wide", "yaml", "write 'plate: wide'"),
    "an equals sign": Slip(SPEC, "plate: wide", "¦plate = wide", "yaml", "write 'plate: wide'"),
    "no space after a colon in braces": Slip(
        SPEC, "{product: seeded", "{¦product:seeded", "unknown-key", "write product: seeded-crisp"
    ),
    "half a line": Slip(SPEC, "    across: 50 mm", "    across: 50 mm\n    ¦amo", "yaml", "or delete it"),
    "a colon in a text": Slip(SPEC, "starter", "first¦: cold", "yaml", 'write course: "first: cold"', '"first: cold"'),
    "a colon in an entry": Slip(
        SPEC,
        "- Rim clean",
        "- ¦Note: rim clean",
        "wrong-type",
        'put quotes round the whole text: "Note: rim clean"',
        '- "Note: rim clean"',
    ),
    "a colon in a step of the method": Slip(
        SMOKED, "- Dress with the oil", "- ¦Then: dress", "wrong-type", '"Then: dress"', '- "Then: dress"'
    ),
    "a colon in a label": Slip(
        PANTRY,
        "contains: [wheat, sesame]",
        "text: Made of¦: wheat flour, sesame. May contain milk",
        "yaml",
        'write text: "Made of: wheat flour, sesame. May contain milk"',
        'text: "Ingredients: wheat flour, sesame. May contain milk"',
    ),
    # --- figures and units
    "a time without its unit": Slip(SPEC, "90 s", "¦90", "amount", "write 90 s, 90 min", "90 s"),
    "a time with a colon": Slip(SPEC, "90 s", "¦1:30", "amount", "write 1 min 30 s or 1 h 30 min", "1 min 30 s"),
    "a German second": Slip(SPEC, "90 s", "¦90 Sek", "amount", "write s", "90 s"),
    "a decimal comma in braces": Slip(
        SPEC, "height: 8 mm", "height: ¦2,5 mm", "amount", "write 2.5 mm, with a dot", "height: 5.5 mm"
    ),
    "a decimal comma in a size": Slip(SPEC, "30 x 10 mm", "¦30,5 x 10 mm", "amount", "write 30.5", "30.5 x 10 mm"),
    "a decimal comma in a price": Slip(SPEC, "17 EUR", "¦17,50 EUR", "amount", "write 17.50 EUR", "17.50 EUR"),
    "a mark for thousands": Slip(OIL, "190 g", "¦1,190 g", "amount", "write 1.19 g or 1190 g", "190 g"),
    "an amount without its unit": Slip(SPEC, "4 g", "¦4", "amount", "write 4 g or 4 ml"),
    "a length without its unit": Slip(SPEC, "out: 50 mm", "out: ¦50", "amount", "write 50 mm"),
    "a German tablespoon": Slip(OIL, "40 g", "¦2 EL", "amount", "write tbsp", "2 tbsp"),
    "a French spoon": Slip(OIL, "40 g", "¦2 cuillères à soupe", "amount", "write tbsp", "2 tbsp"),
    "about so much": Slip(OIL, "40 g", "¦ca. 40 g", "amount", "write 40 g"),
    "a splash": Slip(SPEC, "4 g", "¦a splash", "amount", "write it as in 12 g or 45 ml"),
    "an inch sign": Slip(SPEC, "30 x 10 mm", '¦1"', "amount", "write in", "1 in"),
    "a star for x": Slip(SPEC, "30 x 10 mm", "¦30*10 mm", "amount", "write 30 x 10 mm"),
    "a diameter sign": Slip(SPEC, "size: 30 mm", "size: ¦ø 30 mm", "amount", "write 30 mm"),
    "fifty litres": Slip(SPEC, "amount: 4 g", "amount: ¦50 l", "impossible-figure", "check the unit"),
    "half a litre of sauce": Slip(SPEC, "amount: 4 g", "amount: ¦5 dl", "too-much-sauce", "pour less"),
    "a count in words": Slip(
        SPEC,
        "count: 3\n    piece: {shape: disc",
        "count: ¦three\n    piece: {shape: disc",
        "wrong-type",
        "write count: 3",
    ),
    "a count with a word": Slip(
        SPEC,
        "count: 3\n    piece: {shape: disc",
        "count: ¦3 pcs\n    piece: {shape: disc",
        "wrong-type",
        "write count: 3",
    ),
    "a count in quotes": Slip(
        SPEC,
        "count: 3\n    piece: {shape: disc",
        'count: ¦"3"\n    piece: {shape: disc',
        "wrong-type",
        "write count: 3",
    ),
    "a count from three to four": Slip(
        SPEC,
        "count: 3\n    piece: {shape: disc",
        "count: ¦3-4\n    piece: {shape: disc",
        "wrong-type",
        "accept: {count: 1}",
    ),
    "a wrong count of what lies on others": Slip(
        SPEC, "count: 3\n    piece: {shape: frond", "count: ¦x\n    piece: {shape: frond", "wrong-type", "whole number"
    ),
    "three hundred pieces": Slip(
        SPEC,
        "count: 3\n    piece: {shape: disc",
        "count: ¦300\n    piece: {shape: disc",
        "out-of-range",
        "write at most 200",
    ),
    "a temperature without its scale": Slip(
        SMOKED,
        "equipment: smoker",
        "equipment: smoker\ncore: {reaches: ¦70}",
        "amount",
        "write 70 °C or 70 °F",
        "equipment: smoker\ncore: {reaches: 70 °C}",
    ),
    "a euro sign": Slip(SPEC, "17 EUR", "¦17 €", "amount", "write 17 EUR"),
    "a price without its currency": Slip(PANTRY, "4.20 EUR", "¦4.20", "no-currency", "as in 4.20 EUR"),
    "a density with a comma": Slip(
        PANTRY, "pack: 1 kg", "pack: 1 kg\n    density: ¦1,03", "amount", "write 1.03", "pack: 1 kg\n    density: 1.03"
    ),
    # --- dates
    "a date with dots": Slip(SPEC, "date: 2026-01-30", "date: ¦30.01.2026", "bad-text", "write 2026-01-30"),
    "a date with strokes": Slip(SPEC, "date: 2026-01-30", "date: ¦1/30/2026", "bad-text", "write 2026-01-30"),
    "a date that is two days": Slip(
        SPEC, "date: 2026-01-30", "date: ¦2/1/2026", "bad-text", "write 2026-01-02 or 2026-02-01", "date: 2026-01-02"
    ),
    "a date in words": Slip(SPEC, "date: 2026-01-30", "date: ¦30 January 2026", "bad-text", "write 2026-01-30"),
    "day and month changed round": Slip(
        SPEC, "date: 2026-01-30", "date: ¦2026-30-01", "no-such-date", "write 2026-01-30"
    ),
    "a date without noughts": Slip(
        SPEC, "date: 2026-01-30", "date: ¦2026-1-3", "bad-text", "write 2026-01-03", "date: 2026-01-03"
    ),
    "a day that no month has": Slip(
        SPEC, "date: 2026-01-30", "date: ¦2026-02-30", "no-such-date", "as in 2026-01-31", "date: 2026-01-31"
    ),
    "a label read on a day with dots": Slip(PANTRY, "2026-01-02", "¦02.01.2026", "bad-text", "write 2026-01-02"),
    # --- keys and words
    "a key with a capital": Slip(SPEC, "plate: wide\n", "¦Plate: wide\n", "unknown-key", "write 'plate'"),
    "a German key": Slip(SPEC, "plate: wide\n", "¦Teller: wide\n", "unknown-key", "write 'plate'"),
    "a key of other books": Slip(OIL, "makes: 200 g", "¦yield: 200 g", "unknown-key", "write 'makes'"),
    "a key nobody knows, where one is missing": Slip(
        OIL, "makes: 200 g", "¦batch: 200 g", "unknown-key", "'makes' is missing"
    ),
    "a station under a move": Slip(
        SPEC,
        "amount: 4 g",
        "amount: 4 g\n    ¦station: sauce",
        "unknown-key",
        "'station' is a key of a component",
        "amount: 4 g",
    ),
    "a list beside its label": Slip(
        PANTRY,
        "    label:\n      read: 2026-01-02\n      contains",
        "    ¦contains: [wheat]\n    label:\n      read: 2026-01-02\n      contains",
        "unknown-key",
        "'contains' is a key of 'label'",
        "    label:\n      read: 2026-01-02\n      contains",
    ),
    "a shape of other books": Slip(SPEC, "shape: disc", "shape: ¦round", "unknown-word", "write 'disc'"),
    "an arrangement of other books": Slip(SPEC, "arrange: ring", "arrange: ¦circle", "unknown-word", "write 'ring'"),
    "a word with a capital": Slip(SPEC, "food: cold", "food: ¦Cold", "unknown-word", "write 'cold'"),
    "a switch in German": Slip(
        SPEC,
        "{product: seeded-crisp}",
        "{product: seeded-crisp, may_be_left_off: ¦ja}",
        "wrong-type",
        "write may_be_left_off: true",
        "{product: seeded-crisp, may_be_left_off: true}",
    ),
    "a misspelt move": Slip(SPEC, "put: oil", "put: ¦oill", "unknown-component", "'oil'"),
    "a move of a recipe's name": Slip(
        SPEC, "put: beetroot", "put: ¦smoked-beetroot", "unknown-component", "beetroot, crisp, dill, oil"
    ),
    "two components in one move": Slip(
        SPEC, "put: beetroot", "put: ¦[beetroot, oil]", "wrong-type", "a move of its own"
    ),
    "a component as a word": Slip(
        SPEC, "dill: {ingredient: dill}", "dill: ¦dill", "wrong-type", "write dill: {ingredient: dill}"
    ),
    "a component of nothing": Slip(
        SPEC, "dill: {ingredient: dill}", "dill:¦", "wrong-type", "for example dill: {ingredient: dill}"
    ),
    "an empty key": Slip(
        SPEC, "amount: 4 g", "amount:¦", "wrong-type", "write how much, where it is not counted: 45 ml, 12 g"
    ),
    "moves forgotten": Slip(
        SPEC,
        FILES[SPEC][FILES[SPEC].index("plating:\n") : FILES[SPEC].index("garnish:")],
        "plating:¦\n",
        "wrong-type",
        "write it out, for example plating: [{put: oil",
    ),
    "a plate by its name": Slip(SPEC, "plate: wide", "plate: ¦Wide plate", "unknown-plate", "'wide'"),
    "a law nobody knows on record": Slip(SPEC, "  us: [wheat", "  ¦usa: [wheat", "unknown-law", "'us'"),
    "a misspelt allergen on record": Slip(
        SPEC, "us: [wheat, sesame]", "¦us: [wheat, sesam]", "unknown-allergen-on-record", "'sesame'"
    ),
    "a list as a text": Slip(
        SPEC, "eu: [wheat, sesame]", "eu: ¦wheat, sesame", "wrong-type", "write eu: [wheat, sesame]"
    ),
    "laws as a text": Slip(
        KITCHEN, "laws: [eu, us]\nlabels", "laws: ¦eu, us\nlabels", "wrong-type", "write laws: [eu, us]"
    ),
    "one law as a text": Slip(
        KITCHEN, "laws: [eu, us]\nlabels", "laws: ¦eu\nlabels", "wrong-type", "write laws: [eu]", "laws: [eu]\nlabels"
    ),
    "stations as a list": Slip(
        KITCHEN,
        "\n  larder: Larder\n  sauce: Sauce",
        "\n  ¦- larder\n  - sauce",
        "wrong-type",
        "stations: {larder: larder, sauce: sauce}",
    ),
    "equipment as a list": Slip(
        KITCHEN,
        "\n  fryer: the fryer\n  smoker: {called: the smoker, holds: 4}",
        " ¦[fryer, smoker]",
        "wrong-type",
        "equipment: {fryer: fryer, smoker: smoker}",
    ),
    "a year of label age": Slip(KITCHEN, "52 weeks", "¦1 year", "amount", "write 52 weeks for a year"),
    # --- plates, pantry, recipes: the file's own fault alone is told
    "a well wider than its plate": Slip(
        PLATES, "well: 200 mm", "well: ¦300 mm", "well-over-outer", "measure both again"
    ),
    "an outer size without its unit": Slip(PLATES, "outer: 280 mm", "outer: ¦280", "amount", "write 280 mm"),
    "no key above the plates": Slip(
        PLATES, "plates:\n  wide", "  ¦wide", "missing-key", "write plates: as a first line"
    ),
    "a product's name with capitals": Slip(PANTRY, "seeded-crisp:", "¦Seeded Crisp:", "bad-name", "seeded-crisp"),
    "a label's list as a text": Slip(
        PANTRY, "contains: [wheat, sesame]", "contains: ¦wheat, sesame", "wrong-type", "write contains: [wheat, sesame]"
    ),
    "a label's list in words": Slip(
        PANTRY,
        "contains: [wheat, sesame]",
        "contains: ¦none",
        "wrong-type",
        "write contains: [], if you read the label",
    ),
    "an allergen in German": Slip(
        PANTRY, "[wheat, sesame]", "[¦Weizen, sesame]", "unknown-allergen-word", "write 'wheat'"
    ),
    "traces of an allergen": Slip(PANTRY, "[milk]", "[¦traces of milk]", "unknown-allergen-word", "write 'milk'"),
    "a label with neither list nor text": Slip(
        PANTRY,
        "read: 2026-01-02\n      contains: [wheat, sesame]",
        "¦read: 2026-01-02",
        "label-says-nothing",
        "add text:",
    ),
    "a recipe of text lines": Slip(
        OIL,
        "- ingredient: dill\n    amount: 40 g",
        "- ¦40 g dill",
        "wrong-type",
        "write {ingredient: dill, amount: 40 g}",
        "- {ingredient: dill, amount: 40 g}",
    ),
    "a recipe of keys": Slip(
        OIL,
        "  - ingredient: sunflower oil\n    amount: 190 g\n  - ingredient: dill\n    amount: 40 g\n",
        "  ¦sunflower oil: 190 g\n  dill: 40 g\n",
        "wrong-type",
        "- {ingredient: sunflower oil, amount: 190 g}",
    ),
    "a recipe of one key a line": Slip(
        OIL,
        "- ingredient: dill\n    amount: 40 g",
        "- ¦dill: 40 g",
        "unknown-key",
        "write {ingredient: dill, amount: 40 g}",
        "- {ingredient: dill, amount: 40 g}",
    ),
    "how long it keeps, as a figure": Slip(
        SMOKED,
        "equipment: smoker",
        "equipment: smoker\nkeeps: ¦3",
        "wrong-type",
        "3 days in the fridge",
        "equipment: smoker\nkeeps: 3 days in the fridge",
    ),
    "a misspelt recipe": Slip(
        SPEC, "recipe: smoked-beetroot", "recipe: ¦smoked-betroot", "unknown-recipe", "'smoked-beetroot'"
    ),
    "a recipe in itself": Slip(
        OIL,
        "ingredient: dill",
        "recipe: ¦dill-oil",
        "recipe-loop",
        "correct this line: shared/recipes/dill-oil.yaml:6:13",
    ),
}


def kitchen_with(file: str, old: str, new: str) -> dict[str, str]:
    assert old in FILES[file], old
    return {**FILES, file: FILES[file].replace(old, new, 1)}


def problems_of(files: dict[str, str]) -> list[Problem]:
    files = dict(files)
    return [p for p in prepared(files.pop(SPEC), files).problems if p.severity != "advice"]


def test_the_kitchen_is_sound():
    assert problems_of(FILES) == []


@pytest.mark.parametrize("what", SLIPS)
def test_a_slip_is_one_message_with_a_remedy_that_works(what):
    slip = SLIPS[what]
    files = kitchen_with(slip.file, slip.old, slip.new)
    files[slip.file], line, column = marked(files[slip.file])
    told = problems_of(files)
    assert [(p.slug, p.span.file, p.span.line, p.span.column) for p in told] == [
        (slip.slug, slip.file, line, column)
    ], [(p.slug, str(p.span), p.message) for p in told]
    assert slip.hint in " ".join(told[0].hints), told[0].hints
    mended = kitchen_with(slip.file, slip.old, slip.old if slip.remedy is None else slip.remedy)
    assert [p for p in problems_of(mended) if p.is_error and p.slug != "allergen-came-in"] == []


@pytest.mark.parametrize(
    "old, new",
    [
        ("plate: wide", "plate:\u00a0wide"),
        ("    amount: 4 g", "\u00a0\u00a0\u00a0\u00a0amount: 4 g"),
        ("amount: 4 g", "amount: 4\u202fg"),
        ("plate: wide", "plate: “wide”"),
        ("plate: wide", "plate: „wide“"),
        ("plate: wide", "plate: « wide »"),
        ("- Rim clean", "- ‘Rim clean’"),
    ],
)
def test_what_a_word_processor_writes_is_read_as_it_was_meant(old, new):
    assert problems_of(kitchen_with(SPEC, old, new)) == []


def test_an_apostrophe_in_a_text_stays():
    one = prepared(
        FILES[SPEC].replace("Rim clean", "‘Tis the chef’s plate"), {k: v for k, v in FILES.items() if k != SPEC}
    )
    assert one.dish.expo_checks == ("‘Tis the chef’s plate",)


@pytest.mark.parametrize("data", [b"PK\x03\x04\x14\x00", b"{\\rtf1\\ansi dish: x}", b"%PDF-1.7", b"<!DOCTYPE html>"])
def test_a_document_of_another_program_is_told_as_such(data):
    text, told = decode(data, SPEC)
    assert text is None and [p.slug for p in told] == ["not-plain-text"] and "plain text file" in told[0].hints[0]


@pytest.mark.parametrize(
    "file, says, hint",
    [
        (OIL, "this is a recipe, and it lies where a dish belongs", "move it to shared/recipes/"),
        (PANTRY, "this is a pantry file", "move it to shared/, as pantry.yaml"),
        (PLATES, "this is a file of plates", "plates.yaml"),
        (KITCHEN, "this is the description of a kitchen", "move it to shared/kitchen.yaml"),
    ],
)
def test_a_file_in_the_wrong_folder_is_one_message(file, says, hint):
    told = problems_of({**FILES, SPEC: FILES[file]})
    assert [p.slug for p in told] == ["wrong-kind-of-file"] and says in told[0].message and hint in told[0].hints[0]
    other = problems_of({**FILES, "shared/recipes/other.yaml": FILES[SPEC]})
    assert [p.slug for p in other] == ["wrong-kind-of-file"] and other[0].hints == ("move it to specs/",)


def test_a_lost_hyphen_hides_nothing_of_what_follows():
    """The two entries are told apart, so what stands in the second is checked too."""
    text = (
        FILES[SPEC]
        .replace("  - put: oil\n    amount: 4 g", "    put: oil\n    amount: 4 kg")
        .replace("across: 50", "across: x")
    )
    told = {p.slug for p in problems_of({**FILES, SPEC: text})}
    assert {"repeated-key", "amount"} <= told


def test_a_file_of_the_library_that_cannot_be_read_still_leaves_its_dish_in_doubt():
    files = {**FILES, SMOKED: FILES[SMOKED].replace("makes: 400 g", "makes 400 g")}
    one = prepared(files.pop(SPEC), files)
    assert not one.is_sound and [p.slug for p in one.problems if p.is_error] == ["yaml"]
    assert any(not s.established_in_itself for s in one.statements)


@cache
def written(kind: str) -> dict:
    """A schema as it is written."""
    return json.loads(schema.text(kind))


@pytest.mark.parametrize("key", sorted(schema_words.EXAMPLES))
def test_the_examples_of_hints_pass_the_schema(key):
    """Each stands as it is under its key, in one of the kinds of file that have it."""
    from jsonschema import Draft202012Validator

    said = yaml.load(schema_words.EXAMPLES[key], Loader=yaml.BaseLoader)
    ((name, value),) = said.items()
    found = []

    def walk(part, root):
        if isinstance(part, dict):
            for k, inner in part.get("properties", {}).items():
                if k == name:
                    found.append({**inner, "$defs": root.get("$defs", {})})
            for inner in part.values():
                walk(inner, root)
        elif isinstance(part, list):
            for inner in part:
                walk(inner, root)

    for kind in schema.KINDS:
        walk(written(kind), written(kind))
    numbers = yaml.safe_load(schema_words.EXAMPLES[key].replace("2026-01-31", "'2026-01-31'"))[name]
    assert any(Draft202012Validator(s).is_valid(v) for s in found for v in (value, numbers)), key


@pytest.mark.parametrize(
    "said, days",
    [
        ("30.10.2026", ("2026-10-30",)),
        ("10/30/2026", ("2026-10-30",)),
        ("3/4/2026", ("2026-04-03", "2026-03-04")),
        ("October 30, 2026", ("2026-10-30",)),
        ("30. Oktober 2026", ()),
        ("2026.10.30", ("2026-10-30",)),
        ("30/02/2026", ()),
        ("26-10-30", ()),
        ("yesterday", ()),
    ],
)
def test_the_days_that_a_date_may_stand_for(said, days):
    assert schema_words.days_meant(said) == days
