"""Sizes, places and regions that cannot be: each is said at its line and column, with what to do; a card is never made
and nothing is thrown.
"""

from __future__ import annotations

from pathlib import Path

import pytest
import yaml
from hypothesis import given, settings
from hypothesis import strategies as st

from platecard import pipeline
from platecard.diagnostics import has_errors
from platecard.layout import arrangements
from platecard.publishing import build
from tests.kitchens import LOADER, PLATES, SPEC, errors, kitchen, marked, prepared

# The step that each of these takes the place of; a mark shows where the fault must be said.
STEP = "count: 3, piece: {shape: disc, size: 30 mm, weight: 12 g}, arrange: ring, out: 50 mm"
BIT = "piece: {shape: disc, size: 10 mm, weight: 1 g}"
SWIPE = 'amount: 3 ml, arrange: swipe, from: "8:00", to: "1:00", out: 60 mm'

SAID = [
    # sizes
    ("piece: {shape: bar, size: ¦30 x 0 mm, weight: 12 g}", "zero-size", "write it as in 22 mm"),
    ("piece: {shape: bar, size: ¦0 x 30 mm, weight: 12 g}", "zero-size", "45 x 20 mm"),
    ("piece: {shape: disc, size: ¦0.04 mm, weight: 12 g}", "zero-size", "write it as in 22 mm"),
    ("piece: {shape: disc, size: ¦-30 mm, weight: 12 g}", "amount", "without the minus"),
    ("piece: {shape: bar, size: ¦30 x -4 mm, weight: 12 g}", "amount", "without the minus"),
    ("piece: {shape: bar, size: ¦3000 x 4 mm, weight: 12 g}", "too-large", "check the size"),
    ("piece: {shape: disc, size: 30 mm, height: ¦0 mm, weight: 12 g}", "zero-size", "write it as in 8 mm"),
    ("piece: {shape: disc, size: 30 mm, height: ¦-2 mm, weight: 12 g}", "amount", "without the minus"),
    ("piece: {shape: ring, size: 20 mm, hole: ¦0 mm, weight: 1 g}", "zero-size", "write it as in 8 mm"),
    ("piece: {shape: ring, size: 20 mm, hole: ¦-2 mm, weight: 1 g}", "amount", "without the minus"),
    ("piece: {shape: ring, size: 20 mm, hole: ¦22 mm, weight: 1 g}", "hole-too-large", "smaller than the ring"),
    ("count: 3, piece: {shape: dot, sizes: ¦0 to 4 mm, weight: 1 g}, arrange: row", "zero-size", "12 to 6 mm"),
    (f"{SWIPE}, across: ¦-4 mm", "amount", "without the minus"),
    (f"{SWIPE}, across: ¦0 mm", "zero-size", "write it as in 8 mm"),
    (f"count: 3, {BIT}, arrange: ring, out: ¦-5 mm", "amount", "without the minus"),
    (f"count: 3, {BIT}, arrange: row, gap: ¦-1 mm", "amount", "without the minus"),
    (f"{BIT}, beside: oil, clear: ¦-1 mm", "amount", "without the minus"),
    # larger than the plate
    ("¦piece: {shape: bar, size: 400 x 20 mm, weight: 12 g}", "larger-than-the-plate", "check the size"),
    (
        "count: 3, ¦piece: {shape: bar, size: 400 x 20 mm, weight: 12 g}, arrange: scatter",
        "larger-than-the-plate",
        "check the size",
    ),
    (f"count: 3, {BIT}, arrange: ring, out: ¦300 %", "off-the-plate", "move it in to 95 mm"),
    # counts
    (f"count: ¦500, {BIT}, arrange: scatter", "out-of-range", "at most 200"),
    (f"count: ¦500, {BIT}, arrange: cluster", "out-of-range", "at most 200"),
    (f"count: 9, rows: ¦0, {BIT}, arrange: grid", "out-of-range", "at least 1"),
    (f"count: 9, rows: ¦999, {BIT}, arrange: grid", "out-of-range", "at most 30"),
    # regions and room
    (f"count: 3, {BIT}, arrange: scatter, within: {{out: ¦60 to 20 mm}}", "amount", "smaller one first"),
    (f"count: 3, {BIT}, arrange: scatter, within: {{out: ¦-20 to 20 mm}}", "amount", "without the minus"),
    (f'count: 3, {BIT}, arrange: scatter, within: {{clock: ¦"13:00 to 2:00"}}', "clock", "1:00 to 12:59"),
    (f"count: 3, {BIT}, arrange: scatter, ¦within: {{out: 200 to 240 mm}}", "off-the-plate", "move it in"),
    (
        "count: ¦90, piece: {shape: disc, size: 30 mm, weight: 12 g}, arrange: scatter",
        "does-not-fit",
        "only 18 of the 90 pieces of beetroot fit side by side",
    ),
    (
        "count: ¦7, piece: {shape: disc, size: 30 mm, weight: 12 g}, arrange: scatter, within: {out: 0 to 0 mm}",
        "does-not-fit",
        "1 of the 7 pieces of beetroot fit",
    ),
    (
        f'count: ¦9, {BIT}, arrange: scatter, within: {{clock: "2:00 to 2:10", out: 10 to 20 mm}}, gap: 9 mm',
        "does-not-fit",
        "a smaller gap",
    ),
    # places that hang on nothing
    (f"{BIT}, beside: ¦turnip", "unknown-component", "write one of the components: beetroot, crisp, dill, oil"),
    (f"{BIT}, under: ¦turnip", "unknown-component", "write one of the components: beetroot"),
    (f"{BIT}, behind: ¦beetrot", "unknown-component", "'beetroot'"),
    (f"count: 4, {BIT}, arrange: ring, around: ¦beetroot", "place-cycle", "a place of its own"),
    (f"count: 2, {BIT}, alternating_with: ¦turnip", "unknown-component", "write one of the components: beetroot"),
    (f"count: 2, {BIT}, alternating_with: ¦oil", "alternating", arrangements.ordered()),
    (f"{BIT}, on: ¦turnip", "unknown-component", "write one of the components: beetroot"),
    (f"{BIT}, on: ¦oil", "on-not-yet-there", "move the line that puts oil above this one"),
    # facing and the clock
    ("piece: {shape: bar, size: 30 x 8 mm, weight: 12 g}, facing: ¦sideways", "facing", "in, out, clockwise"),
    ('piece: {shape: bar, size: 30 x 8 mm, weight: 12 g}, facing: ¦"13:00"', "facing", "or a clock position"),
    (
        "piece: {shape: bar, size: 30 x 8 mm, weight: 12 g}, facing: {stance: ¦lying}",
        "unknown-word",
        "flat, standing, leaning",
    ),
    (f'{BIT}, at: ¦"13:00", out: 20 mm', "clock", "1:00 to 12:59"),
    (f'{BIT}, at: ¦"0:30", out: 20 mm', "clock", "1:00 to 12:59"),
    (f'{BIT}, at: ¦"12:60", out: 20 mm', "clock", ""),
    (f"{BIT}, at: ¦somewhere", "clock", "write it as in 2:30"),
    (f"{BIT}, at: ¦{{right: 3 mm, left: 4 mm}}", "two-places", "keep one"),
    (f'count: 3, {BIT}, arrange: row, along: ¦"13:00"', "clock", "1:00 to 12:59"),
    # outlines
    (
        'piece: {shape: outline, points: ¦"0 0, 10 10, 10 0, 0 10", weight: 1 g}',
        "crosses-itself",
        "in the order a knife would cut them",
    ),
    ('piece: {shape: outline, points: ¦"0 0, 10 0, 10 10, 5 -4", weight: 1 g}', "crosses-itself", "in the order"),
    ('piece: {shape: outline, points: ¦"0 0, 10 10", weight: 1 g}', "outline", "give it between 3 and 60"),
    ('piece: {shape: outline, points: ¦"0 0, 0 0, 10 10", weight: 1 g}', "crosses-itself", ""),
    ('piece: {shape: outline, points: ¦"0 0, 100000 0, 5 100000", weight: 1 g}', "outline", "two numbers in mm"),
    ('piece: {shape: outline, points: ¦"0 0, 10 0, 20 0", weight: 1 g}', "zero-size", "corners in mm"),
]


@pytest.mark.parametrize("move, slug, word", SAID, ids=[f"{slug}: {move[:60]}" for move, slug, _ in SAID])
def test_what_cannot_be_laid_is_said_at_its_place_with_what_to_do(move, slug, word):
    text, line, column = marked(kitchen((SPEC, STEP, move))[SPEC])
    one = prepared(text)
    faults = errors(one.problems)
    here = [p for p in faults if (p.slug, p.span.line, p.span.column) == (slug, line, column)]
    assert here, [(p.slug, p.span.line, p.span.column, p.message) for p in faults]
    assert word in " ".join([here[0].message, *here[0].hints])
    assert "beetroot" in text and not one.is_sound
    # The fault is told once: nothing that only follows from it stands at the same place.
    assert len({p.slug for p in faults if (p.span.line, p.span.column) == (line, column)}) == 1


def test_what_lies_on_a_piece_without_a_place_is_not_blamed_for_it():
    one = prepared(kitchen((SPEC, STEP, "piece: {shape: bar, size: 30 x 0 mm, weight: 12 g}"))[SPEC])
    assert [p.slug for p in errors(one.problems)] == ["zero-size"], "the dill on it is laid with it, once it has a size"


def test_a_piece_weighs_something():
    one = prepared(kitchen((SPEC, STEP, "piece: {shape: bar, size: 30 x 10 mm, weight: 0 g}"))[SPEC])
    (p,) = [p for p in errors(one.problems) if p.slug == "zero-weight"]
    assert "weighs something" in p.message and p.hints and not one.is_sound


def test_a_colour_that_is_none_is_said_and_another_is_drawn():
    for file, old, new, place in (
        (
            SPEC,
            "beetroot: {recipe: smoked-beetroot, station: larder}",
            "beetroot: {recipe: smoked-beetroot, station: larder, colour: beetrot}",
            (SPEC, 5),
        ),
        (
            SPEC,
            "beetroot: {recipe: smoked-beetroot, station: larder}",
            'beetroot: {recipe: smoked-beetroot, station: larder, colour: "#12"}',
            (SPEC, 5),
        ),
        (PLATES, "outer: 280 mm, well: 200 mm", "outer: 280 mm, well: 200 mm, colour: none", (PLATES, 2)),
    ):
        files = kitchen((file, old, new))
        one = prepared(files[SPEC], {PLATES: files[PLATES]})
        (p,) = [p for p in one.problems if p.slug == "unknown-colour"]
        assert (
            p.span.line == place[1]
            and files[file]
            .splitlines()[p.span.line - 1][p.span.column - 1 :]
            .lstrip('"')
            .startswith(new.rsplit("colour: ", 1)[1].strip('"}'))
            and not p.is_error
            and p.hints
            and "not a colour of the palette" in p.message
        )
        assert one.is_sound and build.render(one)["plate.svg"].startswith(b"<")


@pytest.mark.parametrize(
    "old, new, slug",
    [
        ("outer: 280 mm, well: 200 mm", "outer: 280 mm, well: ¦-200 mm", "amount"),
        ("outer: 280 mm, well: 200 mm", "outer: ¦-280 mm, well: 200 mm", "amount"),
        ("outer: 280 mm, well: 200 mm", "outer: 280 mm, well: 200 mm, depth: ¦0 mm", "zero-size"),
        ("outer: 280 mm, well: 200 mm", "outer: 280 mm, well: ¦0 mm", "zero-size"),
    ],
)
def test_a_plate_that_cannot_be_is_said_at_its_place_with_what_to_do(old, new, slug):
    text, line, column = marked(kitchen((PLATES, old, new))[PLATES])
    one = prepared(kitchen()[SPEC], {PLATES: text})
    (p,) = [p for p in errors(one.problems) if p.span.file == PLATES]
    assert (p.slug, p.span.line, p.span.column) == (slug, line, column) and p.hints


@pytest.mark.parametrize("how", ["swipe", "drizzle"])
def test_a_swipe_of_nothing_known_is_only_unknown(how):
    for who in ("turnip", "''", "~"):
        text = kitchen((SPEC, f"put: beetroot, {STEP}", f"put: {who}, {SWIPE.replace('swipe', how)}, across: 20 mm"))[
            SPEC
        ]
        assert prepared(text).dish is None or errors(prepared(text).problems)
    text = kitchen((SPEC, f"put: beetroot, {STEP}", f"{SWIPE.replace('swipe', how)}, across: 20 mm"))[SPEC]
    assert ("missing-key", 10) in [(p.slug, p.span.line) for p in errors(prepared(text).problems)]


# --- the demo's own dishes, spoilt
# -------------------------------------------------------------------------------------

ROOT = Path(__file__).parents[2]
DEMO = {p.stem: p.read_text(encoding="utf-8") for p in sorted((ROOT / "specs").glob("*.yaml"))}
ODD = [
    "0 mm",
    "-5 mm",
    "0.0001 mm",
    "1e9 mm",
    "999 mm",
    "45 x 20 mm",
    "0 x 0 mm",
    "10 to 5 mm",
    "5 to 10 mm",
    "-3 g",
    "0 g",
    "0 %",
    "400 %",
    '"13:00"',
    '"6:00"',
    '"0:00"',
    "centre",
    "~",
    "[]",
    "{}",
    "true",
    "0",
    "-1",
    "1",
    "200",
    "201",
    "1.5",
    ".inf",
    ".nan",
    "''",
    '"½"',
    "[[[]]]",
    "{a: {b: c}}",
    "{right: 999 mm}",
    "{left: 0 mm, near: 0 mm}",
    "ring",
    "scatter",
    "swipe",
    "stack",
    "leaning",
    "cluster",
    "grid",
    "outline",
    "pool",
    "crumb",
    "standing",
    "in",
    "guest",
    "rim",
    "'0 0, 10 10, 10 0, 0 10'",
    "!x y",
    "&a b",
    "*a",
    "2026-13-45",
    "10:00 to 2:00",
    "none",
    "'#12'",
    "a" * 200,
]


def scalars(node, keys: bool):
    """The places of all scalars of a tree, of keys or of values."""
    if isinstance(node, yaml.MappingNode):
        for key, value in node.value:
            if keys:
                yield key.start_mark.index, key.end_mark.index
            elif isinstance(value, yaml.ScalarNode):
                yield value.start_mark.index, value.end_mark.index
            yield from scalars(value, keys)
    elif isinstance(node, yaml.SequenceNode):
        for value in node.value:
            yield from scalars(value, keys)


PLACES = {
    key: {kind: sorted(set(scalars(yaml.compose(text, Loader=LOADER), kind))) for kind in (False, True)}
    for key, text in DEMO.items()
}


@st.composite
def spoilt(draw):
    """A demo dish with one to three values or keys that stand somewhere else, or nowhere."""
    key = draw(st.sampled_from(sorted(DEMO)))
    text = DEMO[key]
    places = PLACES[key]
    # Where things lie is spoilt more often than the words about them.
    plating = text.find("\nplating:")
    changes = {}
    for _ in range(draw(st.integers(1, 3))):
        kind = draw(st.sampled_from([False, False, False, True]))
        rows = [p for p in places[kind] if p[0] > plating] if draw(st.integers(0, 3)) else places[kind]
        start, end = draw(st.sampled_from(rows))
        if kind or draw(st.integers(0, 2)) == 0:
            a, b = draw(st.sampled_from(places[kind]))
            changes[start] = (end, text[a:b])
        else:
            changes[start] = (end, draw(st.sampled_from(ODD)))
    for start, (end, new) in sorted(changes.items(), reverse=True):
        text = text[:start] + new + text[end:]
    return key, text


@pytest.fixture(scope="module")
def world():
    return pipeline.world(
        [(str(p.relative_to(ROOT)), p.read_text(encoding="utf-8")) for p in sorted((ROOT / "shared").rglob("*.yaml"))]
    )


@settings(max_examples=200)
@given(spoilt())
def test_a_spoilt_demo_dish_is_refused_with_reasons_or_gives_a_card(world, made):
    key, text = made
    one = pipeline.prepare(text, f"specs/{key}.yaml", key, world, [])
    for p in one.problems:
        assert p.message and p.slug and (p.span is None or p.span.line >= 1 and p.span.column >= 1)
        assert p.span is None or p.span.file != f"specs/{key}.yaml" or p.span.line <= text.count("\n") + 1
    assert one.is_sound != has_errors(one.problems)
    if one.is_sound:
        made = build.render(one)
        assert made["plate.svg"].startswith(b"<") and made["pass-card.pdf"].startswith(b"%PDF")


@settings(max_examples=6)
@given(spoilt())
def test_a_spoilt_demo_dish_leaves_by_the_door_it_should(room, made):
    key, text = made
    path = f"specs/{key}.yaml"
    room.write({str(p.relative_to(ROOT)): p.read_bytes() for p in (ROOT / "shared").rglob("*.yaml")}).write(
        {path: text}
    )
    done = room.run("check", path)
    told = [line for line in done.out.splitlines() if ": error: " in line]
    assert done.code == (1 if told else 0) and (not told or any(line.startswith(f"{path}:") for line in told)), done.out
