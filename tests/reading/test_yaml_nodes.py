"""What a cook types is what is read, at the place where it stands."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platecard import yaml_nodes
from platecard.diagnostics import Span
from platecard.yaml_nodes import Mapping, Scalar, Sequence


def read(text: str):
    node, problems = yaml_nodes.parse(text, "specs/x.yaml")
    assert problems == ()
    return node


def value(text: str):
    return yaml_nodes.plain(read(f"a: {text}\n"))["a"]


# --------------------------------------------------------------------------- spellings


@pytest.mark.parametrize(
    "typed",
    [
        "2:30",
        "12:00",
        "no",
        "yes",
        "on",
        "off",
        "NO",
        "012",
        "0x1f",
        "1_000",
        "½ tsp",
        "1 1/2 oz",
        "2-3 sprigs",
        "45 x 20 mm",
        "1e3",
        "1e999",
        ".inf",
        "-.inf",
        ".nan",
        "NaN",
        "2026-01-31",
        "2026-01-31T10:00:00Z",
        "True",
        "NULL",
        "=",
        "33 %",
        "8 o'clock",
        "0.5.1",
        "1,5",
        "+3",
    ],
)
def test_a_cooks_spelling_stays_as_typed(typed):
    assert value(typed) == typed


@pytest.mark.parametrize(
    "typed, meant",
    [
        ("3", 3),
        ("0", 0),
        ("-3", -3),
        ("2.5", 2.5),
        ("true", True),
        ("false", False),
        ("", None),
        ("~", None),
        ("null", None),
    ],
)
def test_plain_numbers_switches_and_nothing_are_typed(typed, meant):
    got = value(typed)
    assert got == meant and type(got) is type(meant)


@pytest.mark.parametrize("typed", ['"3"', "'3'", '"true"', "'~'", '""'])
def test_a_quoted_text_is_always_a_text(typed):
    assert value(typed) == typed[1:-1]


def test_a_folded_and_a_literal_text():
    assert value(">\n  one\n  two") == "one two\n"
    assert value("|\n  one\n  two") == "one\ntwo\n"


def test_an_ampersand_and_a_hash_inside_a_text():
    assert value("salt & pepper") == "salt & pepper"
    assert value("dish#4") == "dish#4"
    assert value("dish # four") == "dish", "a # after a blank begins a comment, in every YAML"


def test_a_merge_key_is_a_key_like_any_other():
    assert yaml_nodes.plain(read("<<: {b: 1}\na: 2\n")) == {"<<": {"b": 1}, "a": 2}


# --------------------------------------------------------------------------- places


def test_every_node_knows_its_place():
    root = read("dish: Crème, dill\nsteps:\n  - {put: dill, count: 3}\n  - put: oil\n")
    assert root.keys["steps"] == Span("specs/x.yaml", 2, 1, 5)
    assert root.get("dish").span == Span("specs/x.yaml", 1, 7, 11), "columns count letters, not bytes"
    first, second = root.get("steps").items
    assert (first.span.line, first.span.column) == (3, 5)
    assert first.get("count").span == Span("specs/x.yaml", 3, 24, 1)
    assert (second.span.line, second.span.column) == (4, 5)
    assert root.place("missing") == root.span


def test_a_path_leads_to_the_deepest_node_there_is():
    root = read("a: {b: [x, y]}\n")
    assert yaml_nodes.at(root, ("a", "b", 1)).text == "y"
    assert yaml_nodes.at(root, ("a", "b", 7)) is root.get("a").get("b")
    assert yaml_nodes.at(root, ("a", "z")) is root.get("a")


def test_reading_goes_on_past_a_problem():
    node, problems = yaml_nodes.parse("a: 1\na: 2\nb: !t x\nc: &n y\nd: 3\nd: 4\n", "specs/x.yaml")
    assert [(p.slug, str(p.span)) for p in problems] == [
        ("tag", "specs/x.yaml:3:4"),
        ("anchor", "specs/x.yaml:4:4"),
        ("repeated-key", "specs/x.yaml:2:1"),
        ("repeated-key", "specs/x.yaml:6:1"),
    ]
    assert yaml_nodes.plain(node) == {
        "a": 1,
        "b": "x",
        "c": "y",
        "d": 3,
    }, "of a repeated key the first is kept, never the last"


@pytest.mark.parametrize("depth, fits", [(39, True), (40, True), (41, False), (999, False)])
def test_the_bound_on_depth_is_exact(depth, fits):
    node, problems = yaml_nodes.parse("[" * depth + "1" + "]" * depth, "specs/x.yaml")
    assert (node is not None) is fits
    assert [p.slug for p in problems] == ([] if fits else ["too-deep"])


def test_brackets_in_a_text_are_only_letters():
    assert value('"' + "[" * 5_000 + '"') == "[" * 5_000


@pytest.mark.parametrize("letters, fits", [(yaml_nodes.MAX_SCALAR, True), (yaml_nodes.MAX_SCALAR + 1, False)])
def test_the_bound_on_one_text_is_exact(letters, fits):
    node, problems = yaml_nodes.parse("a: " + "x" * letters, "specs/x.yaml")
    assert (node is not None) is fits and [p.slug for p in problems] == ([] if fits else ["text-too-long"])


def test_the_bound_on_bytes_is_exact():
    assert yaml_nodes.decode(b"a" * yaml_nodes.MAX_BYTES, "x")[0] is not None
    text, problems = yaml_nodes.decode(b"a" * (yaml_nodes.MAX_BYTES + 1), "x")
    assert text is None and problems[0].slug == "file-too-large"


# --------------------------------------------------------------------------- bytes


def test_bytes_become_one_kind_of_text():
    assert yaml_nodes.decode(b"\xef\xbb\xbfa: 1\r\nb: 2\rc: 3\n", "x") == ("a: 1\nb: 2\nc: 3\n", ())
    assert yaml_nodes.decode("e\u0301".encode(), "x") == ("é", ())


@pytest.mark.parametrize(
    "bad, place",
    [
        (b"a: 1\nb: \xff\n", (2, 4)),
        (b"\x80", (1, 1)),
        (b"a: \xc3", (1, 4)),
        (b"a: \xed\xa0\x80", (1, 4)),
        (b"a: \xc0\xaf", (1, 4)),
    ],
)
def test_a_bad_byte_is_shown_at_its_place(bad, place):
    text, (problem,) = yaml_nodes.decode(bad, "x")
    assert text is None and problem.slug == "not-utf-8" and (problem.span.line, problem.span.column) == place


# --------------------------------------------------------------------------- properties

WORDS = st.text(alphabet="abcxyzéœ½ 0123456789:-/%.,'\"#&*!?[]{}|>@`~", max_size=20)
TREES = st.recursive(
    st.one_of(st.none(), st.booleans(), st.integers(-(10**15), 10**15), WORDS),
    lambda inner: st.one_of(st.lists(inner, max_size=4), st.dictionaries(WORDS, inner, max_size=4)),
    max_leaves=20,
)


@given(TREES.filter(lambda t: isinstance(t, (dict, list))))
def test_what_another_writer_quotes_is_read_back_as_it_was(tree):
    """JSON is YAML with quotes round every text, so an independent writer gives the expected tree."""
    import json

    assert yaml_nodes.plain(read(json.dumps(tree))) == tree
    assert yaml_nodes.plain(read(json.dumps(tree, ensure_ascii=False))) == tree


@given(TREES.filter(lambda t: isinstance(t, dict) and t))
def test_every_place_lies_in_the_text(tree):
    import json

    text = json.dumps(tree, indent=2, ensure_ascii=False)
    rows = text.split("\n")

    def walk(node):
        assert 1 <= node.span.line <= len(rows) and 1 <= node.span.column <= len(rows[node.span.line - 1]) + 1
        for inner in (
            node.entries.values() if isinstance(node, Mapping) else node.items if isinstance(node, Sequence) else ()
        ):
            walk(inner)
        if isinstance(node, Scalar) and node.quoted:
            assert rows[node.span.line - 1][node.span.column - 1] == '"'

    walk(read(text))


# --------------------------------------------------------------------------- a # in the middle of a text


def test_a_text_that_a_hash_cuts_off_is_told():
    """``Cured char #1, fish`` is "Cured char" to every reader of YAML; a comment with its blank is left alone."""
    node, problems = yaml_nodes.parse(
        "dish: Cured char #1, fish\nplate: wide  # the big one\ncount: 7 #seven\n", "d.yaml"
    )
    assert [(p.slug, p.span.line) for p in problems] == [("cut-by-a-hash", 1)]
    assert node.get("dish").comment == "#1, fish" and node.get("plate").comment == "# the big one"
    assert yaml_nodes.parse('dish: "Cured char #1, fish"\n', "d.yaml")[1] == ()


def test_allergens_behind_a_hash_in_a_labels_text_are_never_lost(galley):
    text = (
        "products:\n  starch:\n    called: Starch\n    label:\n      read: 2026-01-02\n"
        "      text: Potato starch, colour no #2, MILK\n"
    )
    galley.write({"shared/pantry-more.yaml": text})
    (told,) = [p for p in galley.problems() if p["slug"] == "label-cut-off"]
    assert told["severity"] == "error" and told["line"] == 6 and "#2, MILK" in told["message"]
    whole = text.replace("Potato starch, colour no #2, MILK", '"Potato starch, colour no #2, MILK"')
    galley.write({"shared/pantry-more.yaml": whole})
    assert "label-cut-off" not in {p["slug"] for p in galley.problems()}
