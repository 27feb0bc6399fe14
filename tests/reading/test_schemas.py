"""The schemas are sound, bounded, and every complaint of theirs is worded for a cook."""

from __future__ import annotations

import json
from copy import deepcopy
from random import Random

import jsonschema_rs
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from jsonschema import Draft202012Validator

from platecard import schema, yaml_nodes
from platecard.diagnostics import Problem
from tests.kitchens import BEETROOT, LIBRARY

# What validators say, and no cook should read.
JARGON = (
    "is not valid under any of the given schemas",
    "is not of type",
    "does not match",
    "is a required property",
    "Additional properties",
    "is not one of",
    "is too short",
    "is too long",
    "should be non-empty",
    "is less than the minimum",
    "is greater than the maximum",
    "does not have enough properties",
    "has too many properties",
    "expected at most",
    "False schema",
    "non-empty",
    "None",
    "True",
    "{'",
    "additionalProperties",
    "minItems",
)
# Every rule that the wording knows; a new one in a schema needs its words first.
WORDED = {
    "uniqueItems",
    "additionalProperties",
    "required",
    "enum",
    "type",
    "minimum",
    "maximum",
    "exclusiveMinimum",
    "exclusiveMaximum",
    "pattern",
    "minLength",
    "minItems",
    "minProperties",
    "maxLength",
    "maxItems",
    "maxProperties",
}
SHAPING = {
    "$schema",
    "$id",
    "$ref",
    "$defs",
    "title",
    "description",
    "properties",
    "items",
    "propertyNames",
    "allOf",
    "if",
    "then",
    "else",
    "const",
    "examples",
    "default",
    "$comment",
}


def load(kind: str) -> dict:
    return json.loads(schema.text(kind))


def rules(part, path=()):
    """Every (path, keyword, value) of a schema, names of properties apart."""
    if isinstance(part, dict):
        for key, value in part.items():
            yield path, key, value
            if key in ("properties", "$defs"):
                for name, inner in value.items():
                    yield from rules(inner, (*path, key, name))
            elif key in ("items", "propertyNames", "additionalProperties", "if", "then", "else"):
                yield from rules(value, (*path, key))
            elif key == "allOf":
                for i, inner in enumerate(value):
                    yield from rules(inner, (*path, key, i))


def complaints(kind: str, text: str) -> tuple[Problem, ...]:
    node, problems = yaml_nodes.parse(text, f"{kind}.yaml")
    assert problems == ()
    return schema.check(node, kind)


@pytest.mark.parametrize("kind", schema.KINDS)
def test_each_schema_fits_the_drafts_own_meta_schema(kind):
    made = load(kind)
    assert made["$schema"] == Draft202012Validator.META_SCHEMA["$id"] == "https://json-schema.org/draft/2020-12/schema"
    faults = list(Draft202012Validator(Draft202012Validator.META_SCHEMA).iter_errors(made))
    assert faults == []


@pytest.mark.parametrize("kind", schema.KINDS)
def test_each_schema_refers_only_within_itself(kind):
    made = load(kind)
    for path, key, value in rules(made):
        if key == "$ref":
            assert value.startswith("#/$defs/") and value.rsplit("/", 1)[-1] in made["$defs"], path


@pytest.mark.parametrize("kind", schema.KINDS)
def test_each_rule_in_the_schemas_has_its_words(kind):
    # A condition complains of nothing itself.
    used = {key for path, key, _ in rules(load(kind)) if "if" not in path}
    assert used <= WORDED | SHAPING, used - WORDED - SHAPING


@pytest.mark.parametrize("kind", schema.KINDS)
def test_no_key_goes_by_unnoticed(kind):
    """A mapping takes only the keys it knows, or says what any key must look like."""
    for path, key, _ in rules(load(kind)):
        if key == "properties" and "if" not in path:
            part = load(kind)
            for step in path:
                part = part[step]
            others = part.get("additionalProperties")
            assert others is False or (isinstance(others, dict) and others.get("type")), path


@pytest.mark.parametrize("kind", schema.KINDS)
def test_each_key_says_what_it_is_for(kind):
    made = load(kind)
    unsaid = [
        name
        for name, rule in made["properties"].items()
        if "description" not in rule and "description" not in rule.get("items", {})
    ]
    assert unsaid == [], "editors show the description"


@pytest.mark.parametrize(
    "kind, text",
    [
        ("dish", BEETROOT),
        *((k, LIBRARY[f"shared/{k}.yaml"]) for k in ("kitchen", "plates", "pantry")),
        ("recipe", LIBRARY["shared/recipes/dill-oil.yaml"]),
    ],
)
def test_what_is_sound_raises_no_complaint(kind, text):
    assert complaints(kind, text) == ()


# --- the quick validator and the one that has the last word ----------------------------------------------------------

HARD_TO_JUDGE = [
    *("", " ", "\x85", "\u3000", "a\n", "2026-01-01\n", "٢٠٢٦-٠١-٠١", "2026-1-1", "A B", "-a", "é", "z" * 61, "z" * 62),
    *("x" * 200, "eu", "fan", "one", "\ud800", None, True, False, 0, 1, -1, 1.0, 0.5, 1e300, 10**30, -(10**30)),
    *(float("nan"), float("inf"), [], {}, [1, True], [1, 1.0], ["a", "a"], {"a": 1}, {"recipe": "x"}),
    {"recipe": "x", "ingredient": "y"},
]


def places(value, path=()):
    """The path of every value inside a mapping or a list."""
    for key, inner in value.items() if isinstance(value, dict) else enumerate(value) if isinstance(value, list) else ():
        yield (*path, key)
        yield from places(inner, (*path, key))


def damaged(value, chance: Random):
    """A sound value with one thing in it left out, renamed, repeated or put in place of another."""
    made = deepcopy(value)
    *outer, last = chance.choice(list(places(made)))
    inner = made
    for key in outer:
        inner = inner[key]
    way = chance.randrange(4)
    if way == 0:
        del inner[last]
    elif way == 1 and isinstance(inner, dict):
        inner[str(chance.choice(HARD_TO_JUDGE))] = inner.pop(last)
    elif way == 2 and isinstance(inner, list):
        inner += deepcopy(inner[:1]) * chance.choice((1, 500))
    else:
        inner[last] = deepcopy(chance.choice(HARD_TO_JUDGE))
    return made


@pytest.mark.parametrize("kind", schema.KINDS)
def test_what_is_taken_as_sound_at_a_glance_is_sound(kind):
    text = {"dish": BEETROOT, "recipe": LIBRARY["shared/recipes/dill-oil.yaml"]}.get(kind)
    sound = yaml_nodes.plain(yaml_nodes.parse(text or LIBRARY[f"shared/{kind}.yaml"], "x")[0])
    strict, chance, taken = Draft202012Validator(load(kind)), Random(kind), 0
    for _ in range(400):
        value = damaged(sound, chance)
        if schema._is_sound(value, kind):
            taken += 1
            assert list(strict.iter_errors(value)) == [], value
    assert schema._is_sound(sound, kind) and 20 < taken < 380


def test_no_character_passes_a_pattern_at_a_glance_that_does_not_pass_it():
    patterns = {value for kind in schema.KINDS for _, key, value in rules(load(kind)) if key == "pattern"}
    assert len(patterns) >= 3
    for pattern in sorted(patterns):
        quick, strict = (v({"pattern": pattern}) for v in (jsonschema_rs.Draft202012Validator, Draft202012Validator))
        for code in (*range(0x3100), 0xFEFF, 0xFFFD, 0x10FFFF):
            for text in (chr(code), f"a{chr(code)}", f"2026-01-0{chr(code)}", f"2026-01-01{chr(code)}"):
                assert not quick.is_valid(text) or strict.is_valid(text), (pattern, ascii(text))


# One sentence for each rule, as it reads.
SAID = [
    (
        "kitchen",
        "kitchen: X\nlaws: [eu]\nlawz: [us]\n",
        "unknown-key",
        3,
        "there is no key 'lawz' here",
        "did you mean 'laws'?",
    ),
    ("kitchen", "kitchen: X\nlaws: [eu, eu]\n", "given-twice", 2, "'laws' names the same thing twice", "keep one"),
    ("kitchen", "kitchen: X\n", "missing-key", 1, "'laws' is missing", ""),
    ("kitchen", "kitchen: X\nlaws: eu\n", "wrong-type", 2, "'laws' should be a list, not 'eu'", ""),
    ("kitchen", "kitchen: 5\nlaws: [eu]\n", "wrong-type", 1, "'kitchen' should be text, not 5", ""),
    (
        "kitchen",
        "kitchen:\nlaws: [eu]\n",
        "wrong-type",
        1,
        "'kitchen' should be text, not empty",
        "write it out, for example kitchen: the name of the kitchen",
    ),
    ("kitchen", "kitchen: X\nlaws: []\n", "nothing-there", 2, "'laws' is empty", ""),
    (
        "kitchen",
        "kitchen: X\nlaws: [eu]\ncard: {page: A6 landscape}\n",
        "unknown-word",
        3,
        "'page' cannot be 'A6 landscape'",
        "'A5 landscape'",
    ),
    (
        "kitchen",
        "kitchen: X\nlaws: [eu]\ncard: {page: }\n",
        "unknown-word",
        3,
        "'page' cannot be empty",
        "one of: A5 landscape",
    ),
    (
        "kitchen",
        "kitchen: X\nlaws: [eu]\nstations: {The Pass: Pass}\n",
        "bad-name",
        3,
        "'The Pass' cannot be a name here",
        "small letters, digits and hyphens",
    ),
    ("kitchen", f"kitchen: {'x' * 81}\nlaws: [eu]\n", "too-long", 1, "'kitchen' has more than 80 characters", ""),
    (
        "dish",
        BEETROOT.replace("number: 1", "number: 0"),
        "out-of-range",
        2,
        "'number' is 0; it should be at least 1",
        "",
    ),
    (
        "dish",
        BEETROOT.replace("number: 1", "number: 99999"),
        "out-of-range",
        2,
        "'number' is 99999; it should be at most 9999",
        "",
    ),
    (
        "dish",
        BEETROOT.replace("date: 2026-01-31", "date: yesterday"),
        "bad-text",
        2,
        "'date' is 'yesterday'; a date is written YYYY-MM-DD",
        "write year, month and day, as in 2026-01-31",
    ),
    (
        "dish",
        BEETROOT.replace("arrange: ring, out: 50 mm", "arrange: fan, out: 50 mm"),
        "missing-key",
        10,
        "'from' and 'to' are missing for 'fan'",
        'from: "8:00"',
    ),
    (
        "dish",
        BEETROOT.replace("{ingredient: dill}", "{ingredient: dill, may_be_left_off: yes}"),
        "wrong-type",
        8,
        "should be true or false, not 'yes'",
        "write may_be_left_off: true",
    ),
    ("recipe", "recipe: X\nmakes: 10 g\ningredients: []\n", "nothing-there", 3, "'ingredients' is empty", ""),
    ("pantry", "products: {}\n", "nothing-there", 1, "'products' is empty", ""),
    ("pantry", "products: {x: {called: X, label: {contains: []}}}\n", "missing-key", 1, "'read' is missing", ""),
    (
        "plates",
        "plates: {x: {called: X, form: oblong, outer: 1 mm, well: 1 mm}}\n",
        "unknown-word",
        1,
        "'form' cannot be 'oblong'",
        "",
    ),
]


@pytest.mark.parametrize(
    "kind, text, slug, line, message, hint", SAID, ids=[f"{s[0]}-{s[2]}-{i}" for i, s in enumerate(SAID)]
)
def test_a_complaint_reads_like_the_trade(kind, text, slug, line, message, hint):
    found = [p for p in complaints(kind, text) if p.slug == slug]
    assert found and message in found[0].message and found[0].span.line == line
    assert hint in " ".join(found[0].hints)


def words_of(problem: Problem) -> str:
    return " ".join([problem.message, *problem.hints])


ODD = st.recursive(
    st.one_of(
        st.none(),
        st.booleans(),
        st.integers(-10, 10**6),
        st.floats(-10, 10, width=16),
        st.sampled_from(["", "x", "12 g", "yes", "ring", "-"]),
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.sampled_from(["put", "piece", "x", "recipe"]), inner, max_size=3),
    ),
    max_leaves=6,
)
KEYS = {kind: sorted({p[-1] for p, _, _ in rules(load(kind)) if p[-2:-1] == ("properties",)}) for kind in schema.KINDS}


@pytest.mark.parametrize("kind", schema.KINDS)
@given(data=st.data())
@settings(max_examples=60)
def test_no_complaint_speaks_like_a_validator(kind, data):
    sound = {"dish": BEETROOT, "recipe": LIBRARY["shared/recipes/dill-oil.yaml"]}.get(kind) or LIBRARY[
        f"shared/{kind}.yaml"
    ]
    value = yaml_nodes.plain(yaml_nodes.parse(sound, "x")[0])

    def spoil(inner, depth):
        """One place of a sound file, any deep, gets something odd."""
        if isinstance(inner, dict) and inner and depth and data.draw(st.booleans()):
            key = data.draw(st.sampled_from(sorted(inner)))
            return {**inner, key: spoil(inner[key], depth - 1)}
        if isinstance(inner, list) and inner and depth and data.draw(st.booleans()):
            i = data.draw(st.integers(0, len(inner) - 1))
            return [*inner[:i], spoil(inner[i], depth - 1), *inner[i + 1 :]]
        if isinstance(inner, dict):
            return {**inner, data.draw(st.sampled_from(KEYS[kind])): data.draw(ODD)}
        return data.draw(ODD)

    for problem in complaints(kind, json.dumps(spoil(value, 5))):
        assert problem.slug != "schema", problem.message
        assert not [j for j in JARGON if j in words_of(problem)], words_of(problem)
        assert problem.message[0] != problem.message[0].upper() or not problem.message[0].isalpha(), (
            "a message goes on after 'error: '"
        )
        assert len(problem.message) < 300
