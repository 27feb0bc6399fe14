"""No count of a spec costs more than a plate's worth of time: 7 arrangements with the most that is legal, 4 counts
beyond it.
"""

from __future__ import annotations

import time

import pytest

from platecard import pipeline
from platecard.layout.arrangements import one
from platecard.publishing import build
from platecard.reading.dish import MOST_PIECES
from tests.kitchens import LIBRARY

MOST_STACKED = one.STACK.most

WORLD = pipeline.world(list(LIBRARY.items()))
LEAF = "{shape: leaf, size: 60 x 5 mm, weight: 0.1 g}"
DISC = "{shape: disc, size: 60 mm, height: 2 mm, weight: 1 g}"
DOT = "{shape: dot, size: 3 mm, weight: 0.1 g}"
ONE = [(1, "at: centre", DOT)]


def spec(moves: list[tuple[object, str, str]]) -> str:
    """A dish with a component for each (count, how it lies, piece)."""
    parts = "".join(f"  c{i}: {{ingredient: dill}}\n" for i in range(len(moves)))
    steps = "".join(
        f"  - {{put: c{i}, count: {count}, piece: {piece}, {how}}}\n" for i, (count, how, piece) in enumerate(moves)
    )
    return f"dish: Many\nrevision: {{number: 1, date: 2026-01-31}}\nplate: wide\ncomponents:\n{parts}plating:\n{steps}"


def prepared(text: str):
    return pipeline.prepare_menu([(text, "specs/many.yaml", "many", ())], WORLD, ("many",))[0]


def took(text: str) -> tuple[float, set[str]]:
    """Seconds of processor time for check and draw, and the problems' slugs."""
    began = time.process_time()
    made = prepared(text)
    assert build.render(made, is_draft=True)["pass-card.pdf"].startswith(b"%PDF")
    return time.process_time() - began, {p.slug for p in made.problems}


@pytest.fixture(scope="module")
def baseline() -> float:
    """One dot on a plate; the second time, when everything is loaded."""
    took(spec(ONE))
    return min(took(spec(ONE))[0] for _ in range(5))


MOST = [
    [(MOST_PIECES, 'arrange: scatter, within: {clock: "12:00 to 11:59", out: 0 to 95 mm}, gap: 0 mm', DOT)],
    [(MOST_PIECES, "arrange: ring, out: 80 mm", LEAF)],
    [(MOST_PIECES // 2, "arrange: ring, out: 80 mm", LEAF), (MOST_PIECES // 2, "arrange: row", DISC)],
    [(MOST_PIECES, "arrange: cluster", DISC)],
    [(MOST_PIECES, "arrange: row", DISC)],
    [(MOST_PIECES, 'arrange: fan, from: "8:00", to: "4:00", out: 30 mm', LEAF)],
    [(MOST_STACKED, "arrange: stack", DISC)] * (MOST_PIECES // MOST_STACKED),
]


@pytest.mark.parametrize("moves", MOST, ids=lambda m: " ".join(m[-1][1].split()[1:2]).strip(",") + f" of {m[-1][0]}")
def test_the_legal_most_stays_within_bounds(baseline, moves):
    seconds, slugs = took(spec(moves))
    assert "too-many-pieces" not in slugs and "out-of-range" not in slugs
    # A dot takes some milliseconds; measured, the slowest of these takes about two hundred times as long, under a
    # second.
    assert seconds < max(1.5, 500 * baseline), (seconds, baseline)


@pytest.mark.parametrize("count", [100_000, MOST_PIECES + 1, 10**15, "1" + "0" * 400])
@pytest.mark.parametrize("how", ["arrange: stack", "arrange: cluster", "arrange: ring, out: 80 mm"])
def test_a_count_beyond_it_is_refused_at_its_place(baseline, count, how):
    text = spec([*ONE, (count, how, DISC)])
    began = time.process_time()
    made = prepared(text)
    seconds = time.process_time() - began
    line = next(n for n, row in enumerate(text.splitlines(), 1) if "put: c1" in row)
    faults = [
        p
        for p in made.problems
        if p.is_error and p.slug in ("out-of-range", "wrong-type", "too-many-pieces") and p.span.line == line
    ]
    assert faults and all(text.splitlines()[line - 1][p.span.column - 1 :].startswith(str(count)) for p in faults)
    assert not made.is_sound and seconds < max(1.5, 500 * baseline)


def test_many_moves_with_many_pieces_are_refused_at_once(baseline):
    text = spec([(MOST_PIECES, "arrange: ring, out: 80 mm", LEAF)] * 20)
    began = time.process_time()
    made = prepared(text)
    assert time.process_time() - began < max(1.5, 500 * baseline)
    [fault] = [p for p in made.problems if p.slug == "too-many-pieces"]
    assert fault.is_error and "put: c1," in text.splitlines()[fault.span.line - 1] and "at most 200" in fault.message


@pytest.mark.parametrize(
    "moves, mended",
    [
        (
            [(MOST_PIECES, "arrange: cluster", DOT), (9, "arrange: ring, out: 80 mm", DOT)],
            "  - {put: c1, amount: 12 g, arrange: pool, across: 50 mm, may_touch: c0}\n",
        ),
        (
            [(1, "at: centre", DOT), (MOST_STACKED + 1, "arrange: stack", DOT)],
            "  - {put: c1, count: 31, piece: " + DOT + ", arrange: cluster, may_touch: c0}\n",
        ),
    ],
)
def test_the_remedy_works_when_it_is_obeyed(moves, mended):
    text = spec(moves)
    [fault] = [p for p in prepared(text).problems if p.slug == "too-many-pieces"]
    assert all(said in " ".join(fault.hints) for said in ("arrange: pool" if "pool" in mended else "arrange: cluster",))
    rows = text.splitlines(keepends=True)
    obeyed = prepared("".join([*rows[: fault.span.line - 1], mended, *rows[fault.span.line :]]))
    assert {p.slug for p in obeyed.problems if p.is_error} <= {"not-acknowledged"}
