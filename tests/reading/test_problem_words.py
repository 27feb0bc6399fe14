"""What is said to the cook: one place, one sentence, the line in question, the way out."""

from __future__ import annotations

import re

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platecard import yaml_nodes
from platecard.diagnostics import (
    Problem,
    Span,
    advice,
    as_data,
    did_you_mean,
    error,
    has_errors,
    in_order,
    nearest,
    one_line,
    printable,
    render,
    warning,
)
from platecard.knowledge.names import fold, loose
from tests.kitchens import BEETROOT, LIBRARY, SPEC, kitchen, marked, prepared
from tests.reading.test_bad_input import FILES, SLIPS

# --------------------------------------------------------------------------- the sentence on the screen


def test_a_problem_on_one_line_as_editors_read_it():
    assert (
        one_line(error("unknown-plate", Span("specs/x.yaml", 3, 8), "there is no plate 'wyde'"))
        == "specs/x.yaml:3:8: error: there is no plate 'wyde'"
    )
    assert one_line(warning("read-as", None, "read so")) == "warning: read so"


def test_what_was_written_and_what_to_do():
    shown = render(
        error("unknown-plate", Span("x", 3, 8, 4), "no such plate", "did you mean 'wide'?"),
        {"x": "a: 1\nb: 2\nplate: wyde\n"},
    )
    assert shown == "x:3:8: error: no such plate\n    you wrote: plate: wyde\n    did you mean 'wide'?"


def test_a_problem_says_where_in_the_dish_it_stands():
    text = "course: starter\nplating:\n  - put: char\n    count: many\n"
    shown = render(error("s", Span("x", 4, 12, 4), "no number"), {"x": text}).splitlines()
    assert shown == ["x:4:12: error: no number", "    starter, move 1: char", "    you wrote: count: many"]


def test_a_long_line_is_cut_to_where_the_fault_is():
    text = "x" * 500 + "FAULT" + "y" * 500
    shown = render(error("s", Span("x", 1, 501, 5), "m"), {"x": text}).splitlines()
    assert len(shown[1]) < 120 and "FAULT" in shown[1]


def test_a_place_outside_the_text_shows_no_line():
    assert render(error("s", Span("x", 9, 1), "m"), {"x": "a: 1\n"}) == "x:9:1: error: m"
    assert render(error("s", Span("y", 1, 1), "m"), {"x": "a: 1\n"}) == "y:1:1: error: m"


@given(st.text(max_size=60), st.integers(1, 80), st.integers(1, 80))
def test_nothing_shown_can_steer_a_terminal(text, column, length):
    shown = render(error("s", Span("x", 1, column, length), text, text), {"x": text})
    assert all(c.isprintable() or c == "\n" for c in shown)


@pytest.mark.parametrize(
    "text, shown",
    [
        ("plain é 中", "plain é 中"),
        ("a\x1b[31mb", "a\\u001b[31mb"),
        ("a\u202eb", "a\\u202eb"),
        ("a\nb", "a\\u000ab"),
        ("\ud800", "\\ud800"),
    ],
)
def test_control_characters_are_spelt_out(text, shown):
    assert printable(text) == shown


# --------------------------------------------------------------------------- order


def test_problems_stand_in_the_order_of_their_places_each_once():
    made = [
        error("b", Span("x", 2), "m"),
        warning("a", Span("x", 1, 2), "m"),
        error("c", Span("x", 1, 2), "m"),
        advice("d", Span("w", 9), "m"),
        error("e", None, "m"),
        error("b", Span("x", 2), "m"),
    ]
    assert [p.slug for p in in_order(made)] == ["e", "d", "c", "a", "b"]
    assert in_order(reversed(made)) == in_order(made)


def test_only_errors_withhold():
    assert not has_errors([warning("a", None, "m"), advice("b", None, "m")]) and has_errors(
        [advice("b", None, "m"), error("a", None, "m")]
    )


def test_empty_hints_are_not_kept():
    assert error("a", None, "m", "", "do this", "").hints == ("do this",)


def test_a_problem_as_data():
    assert as_data(error("a", Span("x", 2, 3), "m", "h")) == {
        "file": "x",
        "line": 2,
        "column": 3,
        "severity": "error",
        "slug": "a",
        "message": "m",
        "hints": ["h"],
    }
    assert as_data(error("a", None, "m"))["file"] is None


# --------------------------------------------------------------------------- the nearest word


@pytest.mark.parametrize(
    "word, close", [("wyde", ("wide",)), ("WIDE", ("wide",)), ("coup", ("coupe",)), ("spoon", ()), ("", ())]
)
def test_the_nearest_word(word, close):
    assert nearest(word, ["wide", "coupe", "slate"]) == close


def test_the_nearest_words_as_a_hint():
    assert (
        did_you_mean("bowl-2", ["bowl-1", "bowl-3", "slate"]).startswith("did you mean 'bowl-")
        and did_you_mean("spoon", ["slate"]) == ""
    )


@given(
    st.lists(st.text(alphabet="abcde-", min_size=1, max_size=6), max_size=8),
    st.text(alphabet="abcde-", max_size=6),
    st.randoms(use_true_random=False),
)
def test_the_nearest_word_does_not_depend_on_the_order_of_the_known_ones(known, word, chance):
    known = list(dict.fromkeys(known))
    shuffled = known[:]
    chance.shuffle(shuffled)
    assert nearest(word, known) == nearest(word, shuffled)


# --------------------------------------------------------------------------- names as they are compared


@pytest.mark.parametrize(
    "one, other",
    [
        ("Crème fraîche", "creme-fraiche"),
        ("Eggs", "egg"),
        ("bay leaves", "Bay leaf"),
        ("tomatoes", "tomato"),
        ("anchovies", "anchovy"),
        ("Bœuf", "boeuf"),
        ("chef's salt", "chefs salt"),
        ("chef’s salt", "chef's salt"),
        ("  red   onion ", "red onion"),
        ("radishes", "radish"),
        ("cre\u0300me", "crème"),
    ],
)
def test_spellings_of_one_name(one, other):
    assert fold(one) == fold(other)


@pytest.mark.parametrize(
    "one, other",
    [
        ("pine nut", "pineapple nut"),
        ("oyster", "oyster mushroom"),
        ("butter", "buttermilk"),
        ("oats", "goats"),
        ("egg", "eggplant"),
        ("10 % cream", "40 % cream"),
        ("pea", "peanut"),
    ],
)
def test_names_of_two_things(one, other):
    assert fold(one) != fold(other) and loose(one) != loose(other)


@given(st.text(max_size=30))
def test_a_folded_name_has_no_case_and_no_odd_blanks(name):
    folded = fold(name)
    assert folded == folded.lower() and folded == " ".join(folded.split())
    assert fold(f"  {name.replace(' ', '   ')} ") == folded
    assert loose(name) == " ".join(sorted(folded.split()))


# --------------------------------------------------------------------------- every message there is


def all_problems() -> list[Problem]:
    """Every problem that the slips and broken files of these tests bring out."""
    found = []
    for slip in SLIPS:
        files = kitchen((slip.file, slip.old, slip.new))
        files[slip.file] = marked(files[slip.file])[0]
        spec = files.pop(SPEC)
        found += prepared(spec, files).problems
    for _, content, *_ in FILES:
        if isinstance(content, str) and len(content) < 20_000:
            found += prepared(content).problems
    return found


@pytest.fixture(scope="module")
def every() -> list[Problem]:
    return list(dict.fromkeys(all_problems()))


def test_messages_are_sentences_for_a_cook(every):
    assert len({p.slug for p in every}) > 40
    for p in every:
        said = f"{p.slug}: {p.message}"
        assert p.message == p.message.strip() and not p.message.endswith("."), said
        assert not re.search(
            r"\b(None|True|False|NoneType|dict|str|int|float|object|schema|node|token|scalar|exception|Error)\b",
            p.message,
        ), said
        assert len(p.message) < 400, said
        assert re.fullmatch(r"[a-z0-9]+(-[a-z0-9]+)*", p.slug), said


@pytest.mark.parametrize(
    "line, message",
    [
        ("plate: @wide", "this character cannot start a value here"),
        ("plate: *wide", "a text that starts with * is read as an alias"),
        ("plate: a: b", "a second ': ' on one line"),
        ("serve: {plate:}", "a colon without a space after it"),
        ("serve: {plate: cold", "the { that is opened here is not closed"),
        ("serve: [,]", "a value is missing here"),
        ("note: |late", "a text that starts with | or >"),
        ("note: - b", "a '- ' in the middle of a line"),
        ('note: "a\\q"', "starts an escape"),
        ("note: 'it's'", "the text ends at the second '"),
        ("%plate: wide", "a line that starts with %"),
        ("note: !<", "read as a tag"),
        ("note: 'open", "a quotation mark is not closed"),
        ("plate wide\nnote: x", "a key without ': ' after it"),
        ("note: & b", "an anchor or alias"),
        ("---\na: 1\n---\nb: 2", "a second document starts here"),
        ("note: a\n  b: c", "indented further than the line above"),
        ("a: 1\n  b: 2", "indented further than the line above"),
    ],
)
def test_what_yaml_stumbles_over_is_said_in_plain_words(line, message):
    node, problems = yaml_nodes.parse(f"dish: One\n{line}\n", "specs/x.yaml")
    assert node is None and [p.slug for p in problems] == ["yaml"]
    assert message in problems[0].message and problems[0].hints and problems[0].span.line >= 1


@given(
    st.integers(0, len(BEETROOT)),
    st.sampled_from(
        ["{", "}", "[", "]", ":", ": ", ",", "- ", "? ", "'", '"', "%", "@", "&", "*", "!", "|", ">", "\\", "---\n"]
    ),
    st.integers(0, 3),
)
@settings(max_examples=300)
def test_a_slip_of_the_finger_never_shows_the_parsers_own_words(place, typed, lost):
    for problem in yaml_nodes.parse(BEETROOT[:place] + typed + BEETROOT[place + lost :], SPEC)[1]:
        assert "not valid YAML" not in problem.message, problem.message


def test_errors_say_where(every):
    assert [p for p in every if p.is_error and (p.span is None or p.span.line < 1 or p.span.column < 1)] == []


# --------------------------------------------------------------------------- one fault, one message


def told(*changes: tuple[str, str, str]) -> list[tuple[str, int]]:
    """(slug, line) of every error of the beetroot dish with these changes."""
    files = kitchen(*changes)
    spec = files.pop(SPEC)
    return [(p.slug, p.span.line) for p in prepared(spec, files).problems if p.is_error]


RING = (SPEC, "arrange: ring, out: 50 mm", "arrange: rnig, out: 50 mm")


@pytest.mark.parametrize(
    "new",
    [
        "arrange: rnig, out: 50 mm",
        'arrange: ark, from: "3:00", to: "5:00", out: 50 mm, gap: 2 mm',
        "arrange: lien, from: centre, overlap: 20 %, turning: anticlockwise",
        'arrange: grdi, rows: 2, along: "3:00", at: centre',
        "arrange: scater, within: {out: 0 to 20 mm}",
    ],
)
def test_a_misspelt_arrangement_is_told_once(new):
    """What the arrangement would use, how its pieces lie and what lies on them: nobody can know before it is mended."""
    assert told((SPEC, "arrange: ring, out: 50 mm", new)) == [("unknown-word", 10)]


def test_a_misspelt_pool_is_told_once_with_what_lies_on_it():
    assert told((SPEC, "arrange: pool", "arrange: pol")) == [("unknown-word", 11)]


def test_what_goes_by_a_failed_part_is_not_told_as_well():
    beside = (SPEC, "weight: 6 g}, on: oil", "weight: 6 g}, beside: beetroot")
    assert told(beside) == [] and told(RING, beside) == [("unknown-word", 10)]


@pytest.mark.parametrize(
    "change, slug, line",
    [
        ((SPEC, "weight: 0.2 g}, on: beetroot", "weight: 0.2 g}, on: betroot"), "unknown-component", 14),
        ((SPEC, "weight: 0.2 g}, on: beetroot", "weight: 0.2 g, height: 3 kg}, on: beetroot"), "amount", 14),
        (
            (
                SPEC,
                "put: dill, count: 3, piece: {shape: frond, size: 8 mm, weight: 0.2 g}, on: beetroot",
                (
                    'put: dill, count: 3, piece: {shape: outline, points: "0 0, 9 9, 9 0, 0 9", weight: 0.2 g}, on:'
                    " beetroot"
                ),
            ),
            "crosses-itself",
            14,
        ),
        (
            (
                SPEC,
                "put: dill, count: 3, piece: {shape: frond, size: 8 mm, weight: 0.2 g}, on: beetroot",
                "put: dill, count: 3, piece: {shape: frond, size: 8 mm, weight: 0.2 g}, on: beetroot, arrange: ring",
            ),
            "missing-key",
            14,
        ),
        ((SPEC, "weight: 6 g}, on: oil", "weight: 6 g}, on: dill"), "on-not-yet-there", 12),
        ((SPEC, "weight: 6 g}, on: oil", "weight: 6 g}, on: oil, rows: 2"), "key-not-used", 12),
        (
            (
                SPEC,
                "count: 3, piece: {shape: disc, size: 30 mm, weight: 12 g}",
                "count: 3, piece: {shape: disc, size: 30 kg, weight: 12 g}",
            ),
            "amount",
            10,
        ),
        (
            (
                SPEC,
                "amount: 4 g, arrange: pool, across: 50 mm",
                "amount: 4 g, arrange: pool, across: 50 mm, beside: oil",
            ),
            "place-cycle",
            11,
        ),
        (
            (SPEC, "amount: 4 g, arrange: pool, across: 50 mm", "amount: 4 g, arrange: pool, across: 50 mm, on: crisp"),
            "on-each-other",
            11,
        ),
    ],
)
def test_a_fault_of_its_own_is_told_beside_a_misspelt_arrangement(change, slug, line):
    both = told(RING, change)
    assert (slug, line) in both and ("unknown-word", 10) in both
    assert {p for p in told(change) if p[0] == slug} <= set(both)


def test_every_piece_that_is_missing_has_an_error_behind_it():
    """A step is left out only where an error says so: nothing goes from the plate in silence."""
    for slip in SLIPS:
        files = kitchen((slip.file, slip.old, slip.new))
        files[slip.file] = marked(files[slip.file])[0]
        one = prepared(files.pop(SPEC), files)
        if one.dish is not None and one.arrangement is not None:
            there = {f.step for f in one.arrangement.footprints}
            assert has_errors(one.problems) or there == {s.index for s in one.dish.steps}, slip.what


def test_no_message_promises_anything(every):
    for p in every:
        assert "free from" not in " ".join([p.message, *p.hints]).lower()


def test_the_base_kitchen_is_sound():
    assert [p for p in prepared(BEETROOT, LIBRARY).problems if p.severity != "advice"] == []
