"""Each arrangement and each shape is defined once, and wholly: what one lacks is missed here, and not on a card."""

from __future__ import annotations

import json
import re
import sys
from dataclasses import replace
from pathlib import Path

import pytest

import platecard
from platecard import reading
from platecard.documents.diagram import bodies, food, profile, side_view
from platecard.documents.diagram import plate as above
from platecard.documents.text import wording
from platecard.drawing.scene import Group
from platecard.layout import arrangements, geometry2d, heights, shapes, volumes
from platecard.layout.arrange import place
from platecard.layout.pattern import COUNTED
from platecard.schema import text
from tests.laid import dish, piece, plate, step

SCHEMAS = Path(platecard.__file__).parent / "data" / "schemas"
ROOT = SCHEMAS.parents[2]
sys.path.insert(0, str(SCHEMAS))

import make_words  # noqa: E402

ALL = pytest.mark.parametrize("pattern", arrangements.ALL, ids=lambda p: p.name)
WRITTEN = {"from": "start", "to": "end", "across": "across_mm", "piece": "piece", "out": "out"}
SAID = {"from": "12:00, 60 mm", "to": "5:00, 60 mm", "across": 30, "piece": piece("disc", 10), "out": "60 mm"}


def move(pattern):
    """One move of this arrangement, with what it asks for and no more."""
    more = {WRITTEN[key]: SAID[key] for key in pattern.needs}
    if pattern.laid == COUNTED:
        more |= {"piece": SAID["piece"], "count": 3 if pattern.lays_several else 1}
    if pattern.rules(step("a", arrange=pattern.name, **more)):
        more |= {"out": "60 mm", "start": SAID["from"], "end": SAID["to"]}
    return step("a", arrange=pattern.name, **more)


def drawn(items) -> bool:
    return any(drawn(i.items) if isinstance(i, Group) else i.about is not None for i in items if hasattr(i, "about"))


def test_the_schema_says_what_the_registry_says():
    """Out of date: python platecard/data/schemas/make_words.py"""
    assert make_words.schema(text("dish")) == text("dish")


@ALL
def test_each_arrangement_stands_in_the_schema_and_in_the_guide(pattern):
    schema = json.loads(text("dish"))["$defs"]["step"]
    assert pattern.name in schema["properties"]["arrange"]["enum"]
    assert pattern.uses | {*pattern.needs} <= set(schema["properties"]), "every key of it is a key of a move"
    guide = (ROOT / "specs/README.md").read_text(encoding="utf-8")
    (row,) = re.findall(rf"^\| {pattern.name} \|.*$", guide[: guide.index("### Shapes")], re.M)
    assert pattern.meaning and pattern.meaning in row


def test_no_two_have_one_name():
    assert len({p.name for p in arrangements.ALL}) == len(arrangements.ALL)
    assert all(arrangements.find(p.name) is p for p in arrangements.ALL)


@ALL
def test_each_arrangement_has_its_places(pattern):
    s = move(pattern)
    arrangement, problems = place(dish(s), plate())
    assert not problems and len(arrangement.footprints) == s.count


@ALL
def test_each_arrangement_has_its_words_on_the_card(pattern):
    s = move(pattern)
    d = dish(s)
    said = wording.where(s, d, plate())
    told = above.draw(place(d, plate())[0], d).description
    if not pattern.lays_several or pattern.laid != COUNTED:
        # What lies in one place is told by that place.
        assert said and told
        return
    alone = replace(s, arrange="one", count=1)
    assert pattern.said(s, plate()) in said and said != wording.where(alone, d, plate())
    assert pattern.pictured(s, place(d, plate())[0].footprints) in told
    others = [
        wording.where(replace(s, arrange=p.name), d, plate())
        for p in arrangements.ALL
        if p is not pattern and p.laid == COUNTED
    ]
    assert said not in others, "no other arrangement is read the same way"


@ALL
def test_each_arrangement_is_drawn_from_above_and_from_the_side(pattern):
    d = dish(move(pattern))
    arrangement, _ = place(d, plate())
    assert drawn(above.draw(arrangement, d).items) and drawn(side_view.draw(arrangement, d).items)


SHAPES = pytest.mark.parametrize("shape", shapes.ALL, ids=lambda s: s.name)
KITE = ((0, 0), (14, 10), (0, 26), (-14, 10))


def piece_of(shape):
    return piece(shape.name, 26, 18 if not shape.is_round else 26, 8, points=() if shape.draws else KITE)


def test_no_shape_is_missing_a_look_and_no_look_a_shape():
    names = {s.name for s in shapes.ALL}
    assert len(names) == len(shapes.ALL)
    assert {*food.KINDS, *bodies.SPREAD} == names and not {*food.KINDS} & {*bodies.SPREAD}
    assert {*profile.KINDS} == names


@SHAPES
def test_each_shape_stands_in_the_schema_and_in_the_guide(shape):
    assert shape.name in json.loads(text("dish"))["$defs"]["piece"]["properties"]["shape"]["enum"]
    guide = (ROOT / "specs/README.md").read_text(encoding="utf-8")
    assert f"| {shape.name} | {shape.words[0]}, {shape.words[1]} |" in guide


@SHAPES
def test_each_shape_has_its_outline_its_volume_its_height_and_its_words(shape):
    d = dish(step("a", piece=piece_of(shape)))
    arrangement, problems = place(d, plate())
    (f,) = arrangement.footprints
    assert not problems and geometry2d.area(f.outline) > 0
    assert heights.height(f) == 8 and heights.height(replace(f, height_mm=None)) > 0
    assert volumes.volume_ml(shape.name, 26, 18, 8, points=tuple((float(x), float(y)) for x, y in KITE))
    assert f"{shape.words[0]} " in wording.what(d.steps[0]) and wording.noun(shape.name, 2) == shape.words[1]


@SHAPES
def test_each_shape_is_drawn_from_above_and_from_the_side(shape):
    d = dish(step("a", piece=piece_of(shape)))
    arrangement, _ = place(d, plate())
    assert drawn(above.draw(arrangement, d).items) and drawn(side_view.draw(arrangement, d).items)


@SHAPES
@pytest.mark.parametrize("count", [1, 2, 7])
def test_the_picture_and_the_card_call_a_piece_by_the_same_noun(shape, count):
    lying = {"arrange": "row"} if count > 1 else {}
    small = piece(shape.name, 12, 12 if shape.is_round else 8, 4, points=() if shape.draws else KITE)
    d = dish(step("a", piece=small, count=count, **lying))
    arrangement, problems = place(d, plate(outer=320, well=300))
    assert not problems
    noun = wording.what(d.steps[0]).partition(" 12 ")[0]
    assert noun == shape.words[count > 1]
    said = above.draw(arrangement, d).description
    assert f": {'a' if count == 1 else count} {noun} of 12 " in said
    assert noun in above.draw(arrangement, d, callouts={}).description, "with or without callouts"
    drawn_step = next(
        i for i in above.draw(arrangement, d).items if isinstance(i, Group) and i.about and i.about.role == "step"
    )
    assert f" {noun} of 12 " in drawn_step.title


@pytest.mark.parametrize(
    "related, words",
    [
        ({"beside": "a"}, "beside a"),
        ({"behind": "a"}, "behind a, away from the guest"),
        ({"under": "a"}, "under a"),
        ({"on": ("a",)}, "on a"),
        ({"on": ("rim",)}, "on the rim"),
    ],
)
def test_the_picture_and_the_card_say_alike_what_a_piece_lies_by(related, words):
    first = step("a", piece=piece("bar", 60, 40, 8), at="centre")
    d = dish(
        first,
        step("b", piece=piece("disc", 10, 10, 4), at="2:00, 90 mm" if related == {"on": ("rim",)} else None, **related),
    )
    arrangement, _ = place(d, plate())
    assert words in wording.where(d.steps[1], d, plate())
    assert words in above.draw(arrangement, d).description


VALUES = {
    "piece": "{shape: disc, size: 20 mm, height: 5 mm, weight: 3 g}",
    "from": '"8:00"',
    "to": '"4:00"',
    "out": "20 mm",
    "across": "30 mm",
    "gap": "2 mm",
    "overlap": "20 %",
    "rows": "2",
    "turning": "clockwise",
    "along": "across",
    "within": '{clock: "2:00 to 4:00", out: 10 to 20 mm}',
}


@ALL
@pytest.mark.parametrize("key", sorted(arrangements.USED_BY))
def test_a_key_that_an_arrangement_does_not_take_is_an_error(pattern, key):
    """Nothing that a chef writes is passed over, and nothing that was passed over is on the card."""
    keys = {name: VALUES.get(name, "a") for name in (*pattern.needs, key)} | ({"at": '"12:00"'} if key == "at" else {})
    move = "".join(f", {name}: {value}" for name, value in keys.items())
    spec = "dish: A dish\nplate: p\ncomponents:\n  a: {ingredient: dill}\nplating:\n  - "
    spec += f"{{put: a, arrange: {pattern.name}{move}}}"
    _, _, problems = reading.dish(spec, "specs/dish.yaml", "dish")
    refused = [p for p in problems if p.slug == "key-not-used" and f"'{key}' is not used with" in p.message]
    assert bool(refused) == (key not in pattern.uses) or pattern.name == "arc" and key == "at"
