"""Whatever is handed in: a clear message at its place, a non-zero exit, no traceback, no new card.

Where a fault shows is marked in the texts with ``¦``; the mark is taken out before
the text is used, and the message must name exactly that line and column.
"""

from __future__ import annotations

import json
import os
import time
from dataclasses import dataclass
from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from platecard import pipeline, reading, yaml_nodes
from platecard.prepared import World
from platecard.recipes.resolved import Batch
from tests.kitchens import (
    BEETROOT,
    KITCHEN,
    LIBRARY,
    LOADER,
    OIL,
    PANTRY,
    PLATES,
    SMOKED,
    SPEC,
    kitchen,
    marked,
    prepared,
)

CARDS = ["beetroot/pass-card.pdf", "beetroot/plate.svg"]


@dataclass
class Slip:
    """One fault: in ``file``, ``old`` becomes ``new`` (marked); what must be said, and a word of the hint."""

    what: str
    file: str
    old: str
    new: str
    slug: str
    hint: str = ""


SLIPS = [
    # what YAML itself does not take
    Slip("a tab in the indentation", SPEC, "  crisp: {", "¦\tcrisp: {", "tab", "use spaces"),
    Slip("a tag that constructs", SPEC, "plate: wide", "plate: ¦!!python/object/apply:os.system [ls]", "tag", "quotes"),
    Slip("an anchor", SPEC, "plate: wide", "plate: ¦&plate wide", "anchor", "quotes"),
    Slip("a repeated key", SPEC, "plate: wide", "plate: wide\n¦plate: coupe", "repeated-key", "keep one"),
    Slip(
        "a repeated key in a component",
        SPEC,
        "{recipe: dill-oil}",
        "{recipe: dill-oil, ¦recipe: smoked-beetroot}",
        "repeated-key",
        "keep one",
    ),
    Slip("a bracket left open", SPEC, "{ingredient: dill}\n", "¦{ingredient: dill\n", "yaml", "write }"),
    Slip("a quotation mark left open", SPEC, "plate: wide", 'plate: ¦"wide', "yaml", "close the quotation mark"),
    Slip("two colons on a line", SPEC, "plate: wide", "plate: wide¦: coupe", "yaml", 'write plate: "wide: coupe"'),
    Slip("a second document", SPEC, "expo_checks:", "¦---\nexpo_checks:", "yaml", "one dish to a file"),
    Slip("a key that is a list", SPEC, "plate: wide", "plate: wide\n? ¦[a, b]\n: c", "key-not-a-word"),
    # words nobody knows
    Slip("a misspelt key", SPEC, "expo_checks:", "¦expo_cheks:", "unknown-key", "'expo_checks'"),
    Slip(
        "a misspelt key in a step",
        SPEC,
        "{put: oil, amount: 4 g,",
        "{put: oil, amount: 4 g, ¦acros: 5 mm,",
        "unknown-key",
        "'across'",
    ),
    Slip(
        "a misspelt key in a recipe", OIL, "makes: 200 g", "makes: 200 g\n¦mehtod: [Blend]", "unknown-key", "'method'"
    ),
    Slip(
        "a misspelt ingredient",
        SPEC,
        "{ingredient: dill}",
        "{ingredient: ¦bettroot}",
        "unknown-ingredient",
        "'beetroot'",
    ),
    Slip(
        "a misspelt ingredient in a recipe",
        OIL,
        "sunflower oil",
        "¦sunflowr oil",
        "unknown-ingredient",
        "'sunflower oil'",
    ),
    Slip("an unknown plate", SPEC, "plate: wide", "plate: ¦wyde", "unknown-plate", "'wide'"),
    Slip("an unknown recipe", SPEC, "{recipe: dill-oil}", "{recipe: ¦dil-oil}", "unknown-recipe", "'dill-oil'"),
    Slip(
        "an unknown product",
        SPEC,
        "{product: seeded-crisp}",
        "{product: ¦seeded-crips}",
        "unknown-product",
        "'seeded-crisp'",
    ),
    Slip("an unknown component", SPEC, "- {put: oil,", "- {put: ¦oill,", "unknown-component", "'oil'"),
    Slip(
        "something to lie on that is not there",
        SPEC,
        "weight: 0.2 g}, on: beetroot",
        "weight: 0.2 g}, on: ¦betroot",
        "unknown-component",
        "'beetroot'",
    ),
    Slip("an unknown arrangement", SPEC, "arrange: ring", "arrange: ¦rnig", "unknown-word", "'ring'"),
    Slip("an unknown law", KITCHEN, "laws: [eu, us]", "laws: ¦[eu, zz]", "unknown-law", "eu"),
    Slip(
        "an allergen word on a label",
        PANTRY,
        "contains: [wheat,",
        "contains: [¦glutten,",
        "unknown-allergen-word",
        "gluten",
    ),
    Slip(
        "an allergen word in a may-contain",
        PANTRY,
        "may_contain: [milk]",
        "may_contain: [¦milkk]",
        "unknown-allergen-word",
        "milk",
    ),
    # numbers that cannot be
    Slip("a negative count", SPEC, "{put: beetroot, count: 3", "{put: beetroot, count: ¦-3", "out-of-range"),
    Slip("a count of none", SPEC, "{put: beetroot, count: 3", "{put: beetroot, count: ¦0", "out-of-range"),
    Slip("an absurd count", SPEC, "{put: beetroot, count: 3", "{put: beetroot, count: ¦1000000", "out-of-range"),
    Slip("half a piece", SPEC, "{put: beetroot, count: 3", "{put: beetroot, count: ¦2.5", "wrong-type"),
    Slip("a count that is no number", SPEC, "{put: beetroot, count: 3", "{put: beetroot, count: ¦NaN", "wrong-type"),
    Slip("a count without end", SPEC, "{put: beetroot, count: 3", "{put: beetroot, count: ¦.inf", "wrong-type"),
    Slip("a count as a power of ten", SPEC, "{put: beetroot, count: 3", "{put: beetroot, count: ¦1e999", "wrong-type"),
    Slip(
        "a count with a leading zero",
        SPEC,
        "{put: beetroot, count: 3",
        "{put: beetroot, count: ¦03",
        "wrong-type",
        "does not start with 0",
    ),
    Slip("an amount that is no number", SPEC, "amount: 4 g", "amount: ¦nan g", "amount"),
    Slip("an amount without end", SPEC, "amount: 4 g", "amount: ¦inf g", "amount"),
    Slip("an amount as a power of ten", SPEC, "amount: 4 g", "amount: ¦1e999 g", "amount"),
    Slip("a negative amount", SPEC, "amount: 4 g", "amount: ¦-4 g", "amount"),
    Slip("an amount without a unit", SPEC, "amount: 4 g", "amount: ¦4", "amount", "write 4 g or 4 ml"),
    Slip("a size without a unit", SPEC, "size: 30 mm", "size: ¦30", "amount", "mm"),
    Slip("an unknown unit", SPEC, "amount: 4 g", "amount: ¦4 gramz", "amount", "'gram'"),
    Slip("a decimal comma", SPEC, "amount: 4 g", 'amount: ¦"0,5 g"', "amount", "dot"),
    Slip("a unit that stands for two", OIL, "amount: 190 g", "amount: ¦1 cup", "amount", "US cup"),
    Slip("a range upside down", OIL, "amount: 40 g", "amount: ¦5-4 g", "amount", "smaller one first"),
    Slip("a length where a mass belongs", SPEC, "weight: 12 g", "weight: ¦12 mm", "amount", "12 g"),
    Slip("a size of nothing", SPEC, "size: 30 mm", "size: ¦0 mm", "zero-size"),
    Slip("a pool of nothing", SPEC, "across: 50 mm", "across: ¦0 mm", "zero-size"),
    Slip("a plate of nothing", PLATES, "outer: 280 mm", "outer: ¦0 mm", "zero-size"),
    Slip(
        "a well wider than its plate",
        PLATES,
        "outer: 280 mm, well: 200 mm",
        "outer: 280 mm, well: ¦300 mm",
        "well-over-outer",
    ),
    Slip("a plate of a kilometre", PLATES, "outer: 280 mm", "outer: ¦100000 cm", "too-large"),
    Slip("a recipe that makes nothing", OIL, "makes: 200 g", "makes: ¦0 g", "makes-nothing", "yield"),
    Slip("more out than in", OIL, "makes: 200 g", "makes: ¦900 g", "makes-more-than-goes-in", "yield"),
    Slip(
        "an hour that no clock has",
        SPEC,
        "arrange: ring, out: 50 mm",
        'arrange: arc, from: ¦13:00, to: "3:00", out: 50 mm',
        "clock",
        "1:00 to 12:59",
    ),
    Slip(
        "a minute that no clock has",
        SPEC,
        "arrange: ring, out: 50 mm",
        'arrange: arc, from: ¦2:75, to: "3:00", out: 50 mm',
        "clock",
    ),
    Slip("a day that no month has", SPEC, "date: 2026-01-31", "date: ¦2026-02-30", "no-such-date"),
    Slip("a date the other way round", SPEC, "date: 2026-01-31", "date: ¦31.01.2026", "bad-text", "write 2026-01-31"),
    # names of the kitchen's own that allergens hang on
    Slip(
        "equipment of a recipe that nobody has",
        SMOKED,
        "equipment: smoker",
        "equipment: ¦smokr",
        "unknown-equipment",
        "'smoker'",
    ),
    Slip(
        "equipment of a component that nobody has",
        SPEC,
        "{recipe: dill-oil}",
        "{recipe: dill-oil, equipment: ¦fryr}",
        "unknown-equipment",
        "'fryer'",
    ),
    Slip(
        "an offer to who avoids nothing known",
        SPEC,
        "{ingredient: dill}",
        "{ingredient: dill, swap: {avoiding: [¦clery], use: {ingredient: salt}}}",
        "unknown-avoid-word",
        "'celery'",
    ),
    # what does not agree
    Slip("a dish without a name", SPEC, "dish: Smoked beetroot, dill oil, seeded crisp\n", "¦", "missing-key"),
    Slip("a name of nothing", SPEC, "dish: Smoked beetroot, dill oil, seeded crisp", "dish:¦ ", "wrong-type"),
    Slip(
        "two sources for one component",
        SPEC,
        "{recipe: dill-oil}",
        "¦{recipe: dill-oil, ingredient: dill}",
        "two-sources",
    ),
    Slip("no source", SPEC, "{recipe: dill-oil}", "¦{station: sauce}", "no-source"),
    Slip(
        "a component never put on",
        SPEC,
        "  dill: {ingredient: dill}",
        "  dill: {ingredient: dill}\n  chive: ¦{ingredient: chives}",
        "never-put",
    ),
    Slip(
        "a word for a switch",
        SPEC,
        "{ingredient: dill}",
        "{ingredient: dill, may_be_left_off: ¦yes}",
        "wrong-type",
        "write may_be_left_off: true",
    ),
    Slip(
        "a list where keys belong",
        SPEC,
        "revision: {number: 1, date: 2026-01-31, note: first written down}",
        "revision: ¦[1, 2026-01-31]",
        "wrong-type",
    ),
    # names that are paths
    Slip("a path as a plate", SPEC, "plate: wide", "plate: ¦../../etc/passwd", "unknown-plate"),
    Slip("a path as a recipe", SPEC, "{recipe: dill-oil}", "{recipe: ¦../../etc/passwd}", "unknown-recipe"),
    Slip(
        "a path as an ingredient", SPEC, "{ingredient: dill}", "{ingredient: ¦../../etc/passwd}", "unknown-ingredient"
    ),
    Slip("a path as a product", SPEC, "{product: seeded-crisp}", "{product: ¦../../etc/passwd}", "unknown-product"),
    Slip(
        "a path as a component",
        SPEC,
        "  crisp: {product: seeded-crisp}",
        "  crisp: {product: seeded-crisp}\n  ¦../../etc/passwd: {ingredient: dill}",
        "bad-name",
        "small letters",
    ),
    # letters that cannot be printed
    Slip("letters that run backwards", SPEC, "dish: Smoked", "dish: ¦\u202eSmoked", "forbidden-character", "delete it"),
    Slip(
        "letters that run backwards, spelt as an escape",
        SPEC,
        "dish: Smoked beetroot, dill oil, seeded crisp",
        'dish: ¦"Smoked \\u202e"',
        "forbidden-character",
        "delete it",
    ),
    Slip("a character of no width", SPEC, "plate: wide", "plate: wi¦\u200bde", "forbidden-character", "delete it"),
    Slip("a control character", SPEC, "dish: Smoked", "dish: Sm¦\x07oked", "forbidden-character", "delete it"),
    Slip(
        "an emoji",
        SPEC,
        "dish: Smoked beetroot, dill oil, seeded crisp",
        "dish: ¦Smoked beetroot \U0001f525",
        "unprintable-character",
        "Latin",
    ),
    Slip(
        "letters the font lacks, in a library",
        PANTRY,
        "called: Seeded crisp",
        "called: ¦ᚱᚢᚾ",
        "unprintable-character",
        "Latin",
    ),
    Slip(
        "a Cyrillic letter in a Latin word",
        SPEC,
        "dish: Smoked beetroot, dill oil, seeded crisp",
        "dish: ¦Smoked beetroot, m\u0456lk",
        "two-alphabets",
        "one alphabet",
    ),
    # too much
    Slip("a very long name", SPEC, "dish: Smoked beetroot, dill oil, seeded crisp", "dish: ¦" + "a" * 161, "too-long"),
    Slip(
        "a huge text", SPEC, "dish: Smoked beetroot, dill oil, seeded crisp", "dish: ¦" + "a" * 100_000, "text-too-long"
    ),
    Slip(
        "more steps than any plate",
        SPEC,
        "plating:\n",
        "plating:\n  ¦- {put: oil}\n" + "  - {put: oil}\n" * 57,
        "too-many",
    ),
]


@pytest.mark.parametrize("slip", SLIPS, ids=lambda s: s.what)
def test_a_slip_is_shown_at_its_place_and_withholds_the_card(room, slip):
    files = kitchen((slip.file, slip.old, slip.new))
    text, line, column = marked(files[slip.file])
    room.write({**files, slip.file: text})

    checked = room.run("check", "--format", "json")
    faults = [p for p in checked.data if p["severity"] == "error"]
    here = [p for p in faults if (p["slug"], p["file"], p["line"], p["column"]) == (slip.slug, slip.file, line, column)]
    assert here, [(p["slug"], p["file"], p["line"], p["column"], p["message"]) for p in faults]
    assert slip.hint in " ".join([*here[0]["hints"]])
    assert checked.code == 1

    built = room.run("build")
    assert built.code == 1 and f"{slip.file}:{line}:{column}: error: " in built.out and "beetroot: no card" in built.out
    assert room.made() == []


# --------------------------------------------------------------------------- whole files


BOMB = "a: &a [x, x, x]\n" + "".join(
    f"{chr(98 + i)}: &{chr(98 + i)} [{', '.join([f'*{chr(97 + i)}'] * 9)}]\n" for i in range(12)
)

FILES = [
    # The place of brackets is where the parser stops: some versions of it have a bound of their own and look ahead.
    ("an empty file", "", "empty-file", "1:1"),
    ("a file of comments", "# nothing yet\n", "empty-file", "1:1"),
    ("a list instead of a mapping", "- dish: one\n- dish: two\n", "not-a-mapping", "1:1"),
    ("a single word", "beetroot\n", "not-a-mapping", "1:1"),
    ("bytes that are not UTF-8", b"dish: Cr\xe8me\n", "not-utf-8", "1:9"),
    ("UTF-16", "dish: Smoked beetroot\n".encode("utf-16"), "not-utf-8", "1:1"),
    ("ten thousand square brackets", "[" * 10_000, "too-deep", ""),
    ("ten thousand curly brackets", "{" * 10_000, "too-deep", ""),
    ("ten thousand closed brackets", "[" * 10_000 + "]" * 10_000, "too-deep", ""),
    ("brackets hidden behind a comment", "# " + "]" * 10_000 + "\n" + "[" * 10_000, "too-deep", ""),
    ("brackets hidden behind quotes", '["]", ' * 10_000, "too-deep", "1:247"),
    ("a hundred thousand square brackets", "[" * 100_000, "too-deep", ""),
    ("a hundred thousand brackets of both kinds, closed", "{a: [" * 50_000 + "]}" * 50_000, "too-deep", ""),
    ("a hundred thousand dashes", "- " * 100_000, "too-deep", "1:83"),
    ("a hundred thousand question marks", "? " * 100_000, "too-deep", "1:83"),
    ("a deep mapping", "".join(f"{' ' * i}a:\n" for i in range(60)), "too-deep", "42:42"),
    ("nine hundred brackets", "[" * 900 + "]" * 900, "too-deep", "1:42"),
    ("an alias bomb", BOMB, "alias", "1:4"),
    ("an alias that holds itself", "dish: &a [*a]\n", "alias", "1:7"),
    ("two hundred thousand values", "plating: [" + "1," * 200_000 + "1]\n", "too-many-values", "1:400005"),
    ("ten thousand wrong values", "plating: [" + "1," * 10_000 + "1]\n", "too-many-problems", ""),
    ("ten thousand repeated keys", "a: 1\n" * 10_000, "too-many-problems", "202:1"),
    ("five thousand unknown keys", "".join(f"k{i}: 1\n" for i in range(5_000)), "too-many-problems", ""),
    ("two thousand steps", "plating:\n" + "- {put: a}\n" * 2_000, "too-many", "2:1"),
    ("five thousand letters nobody can print", "note: [" + "ᚠ," * 5_000 + "x]\n", "unprintable-character", "1:8"),
    (
        "three thousand broken components",
        "components:\n" + "".join(f" c{i}: {{}}\n" for i in range(3_000)),
        "too-many",
        "2:2",
    ),
]


@pytest.mark.parametrize("content, slug, place", [f[1:] for f in FILES], ids=[f[0] for f in FILES])
def test_a_file_that_is_no_spec_is_refused_in_bounded_time(room, content, slug, place):
    room.write({**LIBRARY, SPEC: content})
    started = time.process_time()
    built = room.run("build", "--format", "json")
    assert built.code == 1 and room.made() == []
    faults = [p for p in built.data["problems"] if p["slug"] == slug]
    assert faults and faults[0]["file"] == SPEC
    if place:
        assert f"{faults[0]['line']}:{faults[0]['column']}" == place
    assert len(built.data["problems"]) < 250, "a bad file must not bury the reader"
    assert time.process_time() - started < 20


def test_the_same_files_are_refused_in_the_library(room):
    """A library file that cannot be read leaves every dish in doubt, even one that does not use it."""
    for _, content, slug, _ in FILES[:8]:
        room.write({**kitchen(), "shared/pantry-more.yaml": content})
        found = [p for p in room.problems() if p["slug"] == slug or p["file"] == "shared/pantry-more.yaml"]
        assert any(p["severity"] == "error" for p in found), slug
        assert room.run("build").code == 1 and room.made() == [], slug


def test_fifty_megabytes_are_not_read(room):
    room.write(kitchen())
    with open(SPEC, "r+b") as stream:
        stream.truncate(50_000_000)
    started = time.process_time()
    assert room.errors() == [("file-too-large", f"{SPEC}:1:1")]
    assert "50.0 MB" in room.run("check").out and time.process_time() - started < 2
    assert room.run("build").code == 1 and room.made() == []


def test_a_byte_order_mark_and_foreign_line_ends_are_accepted(room):
    room.write({**kitchen(), SPEC: b"\xef\xbb\xbf" + BEETROOT.replace("\n", "\r\n").encode()})
    assert room.errors() == [] and room.run("build").code == 0 and room.cards() == CARDS


def test_accents_typed_in_two_ways_are_one_letter(room):
    room.write(kitchen((SPEC, "dish: Smoked", "dish: Cre\u0300me brûlée, smoked")))
    assert room.errors() == []
    assert "Crème" in room.run("allergens", "beetroot").out


# --------------------------------------------------------------------------- recipes that go round


def ring(*names: str) -> dict[str, str]:
    return {
        f"shared/recipes/{a}.yaml": (
            f"recipe: {a}\nmakes: 100 g\ningredients:\n  - {{ingredient: dill, amount: 60 g}}\n  - {{recipe: {b},"
            " amount: 50 g}\n"
        )
        for a, b in zip(names, (*names[1:], names[0]))
    }


def test_a_recipe_that_contains_itself(room):
    room.write({**kitchen((SPEC, "{recipe: dill-oil}", "{recipe: starter}")), **ring("starter")})
    (fault,) = [p for p in room.problems() if p["severity"] == "error"]
    assert (fault["slug"], fault["file"], fault["line"], fault["column"]) == (
        "recipe-loop",
        "shared/recipes/starter.yaml",
        5,
        14,
    )
    assert "starter, which uses starter" in fault["message"]
    assert fault["hints"] == ["correct this line: shared/recipes/starter.yaml:5:14 (starter uses starter)"]
    assert room.run("build").code == 1 and room.made() == []


def test_a_recipe_that_contains_itself_through_two_others(room):
    room.write({**kitchen((SPEC, "{recipe: dill-oil}", "{recipe: stock}")), **ring("stock", "glaze", "sauce")})
    (fault,) = [p for p in room.problems() if p["severity"] == "error"]
    assert (fault["slug"], fault["file"], fault["line"]) == ("recipe-loop", "shared/recipes/sauce.yaml", 5)
    assert "stock, which uses glaze, which uses sauce, which uses stock" in fault["message"]
    assert fault["hints"] == [
        "correct one of these lines: shared/recipes/stock.yaml:5:14 (stock uses glaze);"
        " shared/recipes/glaze.yaml:5:14 (glaze uses sauce); shared/recipes/sauce.yaml:5:14 (sauce uses stock)"
    ]
    assert room.run("build").code == 1 and room.made() == []


def test_recipes_nested_without_end_are_refused(room):
    deep = {
        f"shared/recipes/r{i}.yaml": (
            f"recipe: R{i}\nmakes: 10 g\ningredients:\n  - {{recipe: r{i + 1}, amount: 10 g}}\n"
        )
        for i in range(400)
    }
    room.write({**kitchen((SPEC, "{recipe: dill-oil}", "{recipe: r0}")), **deep})
    assert room.errors() == [("too-deep", "shared/recipes/r99.yaml:4:14")]
    assert room.run("build").code == 1 and room.made() == []


# --------------------------------------------------------------------------- hostile names


@pytest.mark.parametrize(
    "title",
    ['<script>alert("x")</script> & roots', "Roots 'n' \"shoots\" \\ % $(ls) `ls`", "-- {{ roots }} ]]> <!-- -->"],
)
def test_a_hostile_dish_name_is_printed_as_it_stands(room, title):
    from lxml import etree
    from pypdf import PdfReader

    room.write(kitchen((SPEC, "dish: Smoked beetroot, dill oil, seeded crisp", f"dish: |-\n  {title}")))
    assert room.run("build").code == 0 and room.cards() == CARDS
    tree = etree.parse("output/beetroot/plate.svg")
    assert not [e for e in tree.iter() if "script" in str(e.tag).lower()]
    read = PdfReader("output/beetroot/pass-card.pdf").pages[0].extract_text()
    assert "".join(title.split()) in "".join(read.split())
    assert PdfReader("output/beetroot/pass-card.pdf").metadata.title == title


def test_a_line_break_in_a_dish_name_is_one_blank(room):
    room.write(
        kitchen((SPEC, "dish: Smoked beetroot, dill oil, seeded crisp", 'dish: "Smoked\\nbeetroot\\n and dill"'))
    )
    assert room.errors() == []
    assert "Smoked beetroot and dill\n" in room.run("allergens", "beetroot").out


def test_a_name_with_terminal_controls_never_reaches_the_terminal(room):
    room.write(kitchen((SPEC, "plate: wide", 'plate: "wi\\e[31mde"')))
    out = room.run("check").out
    assert "\x1b" not in out and "U+001B" in out


@pytest.mark.parametrize(
    "name",
    [
        "Beetroot.yaml",
        "beet root.yaml",
        "beet_root.yaml",
        "..yaml",
        "béet.yaml",
        "-x.yaml",
        "withdrawn.yaml",
        "a" * 62 + ".yaml",
    ],
)
def test_a_file_name_that_does_not_fit_gets_no_folder(room, name):
    room.write({**LIBRARY, f"specs/{name}": BEETROOT, SPEC: BEETROOT})
    faults = room.errors()
    if name.startswith("."):  # a hidden file is no spec, and nobody knows what it holds
        assert ("left-over", f"specs/{name}:1:1") in faults and room.run("build").code == 1
        return
    assert faults == [("bad-file-name", f"specs/{name}:1:1")]
    assert room.run("build").code == 1
    assert room.cards() == CARDS, "the other dish is sound and gets its card"


def test_a_file_name_of_broken_bytes_is_shown_in_both_forms(room):
    room.write(kitchen())
    with open(os.path.join(os.fsencode(room.root), b"specs", b"b\xff.yaml"), "w") as stream:
        stream.write(BEETROOT)
    assert room.command("check").code == 1 and "and this one cannot" in room.command("check").out
    done = room.command("check", "--format", "json")
    assert done.code == 1 and '"bad-file-name"' in done.out


def test_two_files_of_one_name_get_no_card(room):
    room.write({**kitchen(), "specs/beetroot.yml": BEETROOT})
    assert room.errors() == [("given-twice", "specs/beetroot.yml:1:1")]
    assert room.run("build").code == 1 and room.made() == [], "which of the two is meant, nobody knows"


# --------------------------------------------------------------------------- things that are no files


def test_a_link_that_leads_nowhere_is_reported(room):
    room.write(kitchen())
    os.symlink("round.yaml", "specs/round.yaml")
    os.symlink("gone.yaml", "specs/lost.yaml")
    found = room.errors()
    assert [f for f in found if f[0] == "unreadable"] == [
        ("unreadable", "specs/lost.yaml:1:1"),
        ("unreadable", "specs/round.yaml:1:1"),
    ]
    # Nobody knows what the lost dishes send through the equipment that this one uses: its card says so.
    assert {f[0] for f in found} == {"unreadable"} and "open-over-equipment" in {p["slug"] for p in room.problems()}
    assert room.run("build").code == 1 and [c for c in room.cards() if "pass-card" in c] == ["beetroot/pass-card.pdf"]
    assert room.run("check", "specs/round.yaml").code == 2


def test_a_link_round_in_the_library_withholds_every_card(room):
    room.write(kitchen())
    os.symlink("pantry-x.yaml", "shared/pantry-x.yaml")
    assert room.errors() == [("unreadable", "shared/pantry-x.yaml:1:1")]
    assert room.run("build").code == 1 and room.made() == []


def test_a_folder_named_like_a_spec_is_not_read_as_one(room):
    room.write({**kitchen(), "specs/folder.yaml/note.txt": "nothing"})
    assert ("unreadable", "specs/folder.yaml:1:1") in room.errors() and room.run("build").code == 1
    assert room.run("check", "specs/folder.yaml").code == 2, "what lies in it is no spec"


@pytest.mark.parametrize("missing", ["no-such.yaml", "../../etc/passwd", "specs/none.yaml", ""])
def test_a_path_that_is_not_there_is_a_usage_error(galley, missing):
    done = galley.run("check", missing)
    assert done.code == 2 and done.out == "" and done.err.startswith("platecard: ")


def test_a_kitchen_that_is_missing_is_a_usage_error(room):
    room.write({SPEC: BEETROOT})
    done = room.run("check")
    assert done.code == 2 and "no kitchen library" in done.err and "--kitchen" in done.err
    assert room.run("check", "--kitchen", "nowhere").code == 2
    assert room.run("build").code == 2 and room.made() == []


def test_a_kitchen_that_names_no_laws_gets_no_cards(room):
    files = kitchen()
    del files[KITCHEN]
    room.write(files)
    assert room.errors() == [("no-kitchen-file", f"{KITCHEN}:1:1")]
    assert room.run("build").code == 1 and room.made() == []


def test_a_missing_kitchen_file_is_told_and_nothing_that_follows_from_it(room):
    """Every law counts then, and what each would have its labels name is not the first thing to put right."""
    assert room.run("new").code == 0
    (room.root / KITCHEN).unlink()
    assert [p["slug"] for p in room.problems() if p["file"] in (None, KITCHEN)] == ["no-kitchen-file"]


def test_a_missing_file_of_plates_is_told_with_what_to_write_in_it(room):
    files = kitchen()
    text = files.pop("shared/plates.yaml")
    room.write(files)
    (told,) = [p for p in room.problems() if p["severity"] == "error"]
    assert told["slug"] == "unknown-plate" and told["message"].startswith("shared/plates.yaml is missing")
    written = told["hints"][0].partition("as in one line: ")[2]
    room.write({"shared/plates.yaml": written + "\n"})
    assert "unknown-plate" not in {p["slug"] for p in room.problems()} and "wide" in text and "wide" in written


def test_a_kitchen_described_twice_gets_no_cards(room):
    room.write({**kitchen(), "shared/kitchen.yml": LIBRARY[KITCHEN].replace("[eu, us]", "[us]")})
    assert room.errors() == [("given-twice", "shared/kitchen.yml:1:1")]
    assert room.run("build").code == 1 and room.made() == []


def test_a_library_file_that_is_not_utf8_withholds_cards_that_seem_sound_without_it(room):
    """The butter in the pantry carries a may-contain; without the pantry it would look like plain butter."""
    files = kitchen((SPEC, "{ingredient: dill}", "{ingredient: butter}"))
    room.write(
        {
            **files,
            "shared/pantry-dairy.yaml": (
                b"products:\n  butter: {called: Butter \xe8, is: butter, label: {read: 2026-01-01, contains: [milk],"
                b" may_contain: [egg]}}\n"
            ),
        }
    )
    assert room.errors() == [("not-utf-8", "shared/pantry-dairy.yaml:2:27")]
    assert room.run("build").code == 1 and room.made() == []
    assert room.run("guest", "beetroot", "--avoid", "egg").code == 1


# --------------------------------------------------------------------------- reading never throws


WRITTEN = st.lists(
    st.sampled_from(
        [
            "dish: x",
            "plate: wide",
            "components:",
            "plating:",
            "  a: {ingredient: dill}",
            "  - {put: a, count: 3}",
            "- ",
            "? ",
            ": ",
            "[",
            "]",
            "{",
            "}",
            ",",
            "&a ",
            "*a",
            "!t ",
            "|\n",
            ">\n",
            "'",
            '"',
            "#",
            "%",
            "@",
            "`",
            "---\n",
            "...\n",
            "\t",
            "\n",
            "  ",
            "\u2028",
            "\x85",
            "\ufeff",
            "½",
            "\U0001f525",
            "\ud800",
            "<<: ",
            "1e999",
            "2:30",
            "~",
            "null",
        ]
    ),
    max_size=40,
).map("".join)


@given(st.one_of(st.text(max_size=300), WRITTEN))
@settings(max_examples=400)
def test_no_text_throws(text):
    node, problems = yaml_nodes.parse(text, "specs/x.yaml")
    assert node is not None or problems
    dish, _, problems = reading.dish(text, "specs/x.yaml", "x")
    assert dish is not None or any(p.is_error for p in problems)
    for kind in ("kitchen.yaml", "plates.yaml", "pantry.yaml", "recipes/x.yaml"):
        reading.kitchen([(f"shared/{kind}", text)])


@given(st.binary(max_size=300))
@settings(max_examples=200)
def test_no_bytes_throw(data):
    text, problems = yaml_nodes.decode(data, "specs/x.yaml")
    assert (text is None) == bool(problems)
    if text is not None:
        reading.dish(text, "specs/x.yaml", "x")


SPOILT = st.tuples(
    st.integers(0, len(BEETROOT) - 1),
    st.integers(0, 12),
    st.text(alphabet="{}[]:,-0123456789 abgmx%.\"'&*!?|\n", max_size=12),
)


@given(st.lists(SPOILT, min_size=1, max_size=3))
@settings(max_examples=300)
def test_a_spoilt_spec_never_throws(changes):
    """A sound spec with a few characters lost, changed or added, as typing does it."""
    text = BEETROOT
    for start, length, new in changes:
        text = text[:start] + new + text[start + length :]
    one = prepared(text)
    for p in one.problems:
        assert p.span is None or (p.span.line >= 1 and p.span.column >= 1)
    if one.dish is None:
        assert not one.is_sound and any(p.is_error for p in one.problems)


SCALARS = st.one_of(
    st.none(),
    st.booleans(),
    st.integers(-(10**18), 10**18),
    st.floats(allow_nan=False, allow_infinity=False, width=32),
    st.text(max_size=12),
    st.sampled_from(
        [
            "45 x 20 mm",
            "12 g",
            "13:00",
            "2:30",
            "centre",
            "10:00 to 2:00",
            "33 %",
            "standing",
            "0 mm",
            "1e9 mm",
            "999999999 cm",
        ]
    ),
)
STEP_KEYS = [
    "put",
    "count",
    "piece",
    "amount",
    "across",
    "arrange",
    "at",
    "from",
    "to",
    "out",
    "turning",
    "within",
    "gap",
    "overlap",
    "on",
    "may_touch",
    "facing",
    "accept",
    "poured",
    "note",
    "shape",
    "size",
    "height",
    "weight",
    "clock",
    "right",
    "left",
    "away",
    "points",
    "stance",
    "up",
]
VALUES = st.recursive(
    SCALARS,
    lambda inner: st.one_of(
        st.lists(inner, max_size=3), st.dictionaries(st.sampled_from(STEP_KEYS), inner, max_size=4)
    ),
    max_leaves=8,
)


@given(
    st.dictionaries(
        st.sampled_from(["dish", "revision", "plate", "serve", "components", "plating", "garnish", "expo_checks"]),
        VALUES,
    ),
    st.lists(st.dictionaries(st.sampled_from(STEP_KEYS), VALUES, max_size=6), min_size=1, max_size=3),
)
@settings(max_examples=150)
def test_a_spec_of_the_wrong_shapes_never_throws(top, steps):
    base = {
        "dish": "Odd",
        "revision": {"number": 1, "date": "2026-01-31"},
        "plate": "wide",
        "components": {"oil": {"recipe": "dill-oil"}},
        "plating": [{"put": "oil", "count": 3, "piece": {"shape": "disc", "size": "20 mm"}, **s} for s in steps],
    }
    one = prepared(json.dumps({**base, **top}))
    assert one.is_sound or any(p.is_error for p in one.problems)


@pytest.mark.parametrize("size", ["999999999 cm", "0.000000001 mm", "999 x 0.1 mm"])
@pytest.mark.parametrize(
    "arrange",
    [
        "arrange: ring, out: 50 mm",
        "arrange: scatter",
        "arrange: stack",
        'arrange: line, from: "9:00", to: "3:00"',
        'arrange: fan, from: "9:00", to: "3:00", out: 40 mm',
    ],
)
def test_absurd_sizes_take_no_absurd_time(room, size, arrange):
    room.write(
        kitchen(
            (
                SPEC,
                "count: 3, piece: {shape: disc, size: 30 mm, weight: 12 g}, arrange: ring, out: 50 mm",
                f"count: 30, piece: {{shape: bar, size: {size}, weight: 12 g}}, {arrange}",
            )
        )
    )
    started = time.process_time()
    room.run("build")
    assert time.process_time() - started < 10


# --------------------------------------------------------------------------- the demo kitchen, spoilt value by value

ROOT = Path(__file__).parents[2]
DEMO = {
    str(path.relative_to(ROOT)): path.read_text(encoding="utf-8")
    for folder in ("shared", "specs")
    for path in sorted((ROOT / folder).rglob("*.yaml"))
}
NAMED_FREELY = {"components", "products", "plates", "stations", "equipment"}
SPOILINGS = [
    "",
    "-3",
    "0",
    "1e999",
    "[]",
    "{}",
    "[a, [b]]",
    "{a: b}",
    "true",
    "12 g",
    '"13:00"',
    "999999999 cm",
    "~",
    "{at: 3, for: x}",
]


def specs_using(menu) -> dict[str, list[str]]:
    """Library file → the specs whose dishes have a recipe from it somewhere inside."""
    found: dict[str, list[str]] = {}
    for one in menu:
        waiting = [part.use.what for plate in (one.resolved, *one.offered) for part in plate.parts]
        while waiting:
            if isinstance(what := waiting.pop(), Batch):
                if one.file not in found.setdefault(what.recipe.span.file, []):
                    found[what.recipe.span.file].append(one.file)
                waiting += [line.what for line in what.lines]
    return found


def world_of(files: dict[str, str]) -> World:
    return pipeline.world([(f, t) for f, t in files.items() if f.startswith("shared/")])


def menu_of(files: dict[str, str], asked, world: World):
    return pipeline.prepare_menu([(files[f], f, Path(f).stem) for f in asked], world)


def roads(used: dict[str, list[str]]) -> list[tuple[str, int, int]]:
    """For every road of keys that the demo kitchen's files have one value, in the file that most dishes use: the file,
    and where the value begins and ends.
    """
    found: dict[tuple, tuple[str, int, int]] = {}

    def walk(node: yaml.Node, file: str, kind: str, road: tuple[str, ...]) -> None:
        known = found.get((kind, road, type(node)))
        if known is None or len(used.get(file, ())) > len(used.get(known[0], ())):
            found[kind, road, type(node)] = (file, node.start_mark.index, node.end_mark.index)
        if isinstance(node, yaml.MappingNode):
            for key, value in node.value:
                walk(value, file, kind, (*road, "*" if road and road[-1] in NAMED_FREELY else key.value))
        elif isinstance(node, yaml.SequenceNode):
            for value in node.value:
                walk(value, file, kind, (*road, "[]"))

    for file, text in DEMO.items():
        walk(
            yaml.compose(text, Loader=LOADER),
            file,
            "recipe" if "/recipes/" in file else "dish" if file.startswith("specs/") else file,
            (),
        )
    return [found[road] for road in sorted(found, key=repr)]


@pytest.fixture(scope="module")
def demo() -> tuple[World, dict[str, list[str]], list[tuple[str, int, int]]]:
    """The demo kitchen as it is, the specs that use each of its files, and its roads."""
    sound = world_of(DEMO)
    used = specs_using(menu_of(DEMO, [f for f in DEMO if f.startswith("specs/")], sound))
    return sound, used, roads(used)


def what_they_need(asked: list[str], used: dict[str, list[str]]) -> dict[str, str]:
    """The files of the demo kitchen without the recipes that none of these dishes has in it."""
    return {
        file: text
        for file, text in DEMO.items()
        if not file.startswith("shared/recipes/") or set(asked).intersection(used.get(file, ()))
    }


def test_the_dishes_of_the_demo_kitchen_need_no_other_recipes(demo):
    _, used, _ = demo
    for spec in (f for f in DEMO if f.startswith("specs/")):
        files = what_they_need([spec], used)
        (one,) = menu_of(files, [spec], world_of(files))
        assert len(files) < len(DEMO) and one.is_sound


@pytest.mark.parametrize("share", range(5))
def test_a_value_spoilt_anywhere_in_a_whole_kitchen_never_throws(demo, share):
    """Five of eight values misspelt by one letter, or with something else in their place."""
    sound, used, spoilt_in_turn = demo
    specs = [f for f in DEMO if f.startswith("specs/")]
    assert len(spoilt_in_turn) > 250
    for number, (file, begin, end) in list(enumerate(spoilt_in_turn))[share::8]:
        text = DEMO[file]
        is_short = "\n" not in text[begin:end]
        spoilt = ([text[begin:end] + "x"] if is_short else []) + [
            SPOILINGS[number % len(SPOILINGS)] + ("" if is_short else "\n")
        ]
        # In turn the one and the other: each takes a kitchen read and a menu prepared.
        for new in [spoilt[number // 8 % len(spoilt)]]:
            asked = [file] if file in specs else used.get(file, specs)[:3]
            files = what_they_need(asked, used) | {file: f"{text[:begin]}{new}{text[end:]}"}
            for one in menu_of(files, asked, sound if file in specs else world_of(files)):
                assert one.is_sound or any(p.is_error for p in one.problems)


@pytest.mark.parametrize("word", ["arange", "arrang", "arranged", "rarange"])
def test_a_misspelt_arrange_is_told_alone(room, word):
    """So much hangs on it that all of the step would be told with it."""
    files = kitchen((SPEC, "arrange: ring, out: 50 mm", f'{word}: fan, from: "9:00", to: "11:00", out: 50 mm'))
    (told,) = [p for p in room.write(files).problems() if p["severity"] == "error"]
    assert told["slug"] == "unknown-key" and told["hints"] == ["did you mean 'arrange'?"]


def test_a_misspelt_state_is_told_at_its_place(room):
    files = {
        **kitchen(),
        SMOKED: (
            LIBRARY[SMOKED]
            .replace("equipment: smoker", "state: coocked")
            .replace("ingredient: beetroot", "ingredient: mackerel")
        ),
    }
    (told,) = [p for p in room.write(files).problems() if p["severity"] == "error"]
    assert (
        told["slug"] == "unknown-word" and told["file"] == SMOKED and told["line"] == 3 and "cooked" in told["hints"][0]
    )
