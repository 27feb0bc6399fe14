"""Figures that cannot be, each told at its place and then counted as not said.

Every kitchen here is invented.
"""

from __future__ import annotations

from datetime import date

import pytest

from platecard import pipeline
from platecard.prepared import Prepared
from platecard.quantities.bounds import bounds
from tests.kitchens import LIBRARY, library, poured, prepared, recipe

MORE = "shared/pantry-more.yaml"
SPEC = poured({"roast": "{recipe: roast}"}, {"roast": "40 g"})
ROAST = recipe("Roast", [("ingredient", "beef fillet", "1 kg")], "900 g", False)


def roast(*keys: str, line: str = "", spec: str = SPEC) -> Prepared:
    text = ROAST.replace("makes: 900 g", "\n".join(("makes: 900 g", *keys)))
    return prepared(spec, {"shared/recipes/roast.yaml": text.replace("amount: 1 kg", f"amount: 1 kg{line}")})


def product(row: str) -> Prepared:
    return prepared(
        poured({"one": "{product: one}"}),
        {MORE: f"products:\n  one: {{called: One, label: {{read: 2026-01-02, contains: []}}, {row}}}\n"},
    )


def told(one) -> set[tuple[str, str]]:
    return {
        (p.severity, p.slug)
        for p in one.problems
        if p.slug
        in (
            "impossible-figure",
            "doubtful-figure",
            "yield-zero",
            "zero-weight",
            "no-such-year",
            "amount-of-nothing",
            "too-large",
        )
    }


REFUSED, DOUBTED = ("error", "impossible-figure"), ("warning", "doubtful-figure")


@pytest.mark.parametrize(
    "key, expected",
    [
        ("core: 560 °C", REFUSED),
        ("core: 56 °C", None),
        ("core: 56 °F", DOUBTED),
        ("core: {reaches: 560 °C, for: 2 min}", REFUSED),
        ("core: 121 °C", DOUBTED),
        ("core: -90 °C", REFUSED),
        ("core: {reaches: 56 °C, for: 50 days}", REFUSED),
        ("core: {reaches: 56 °C, for: 4 days}", DOUBTED),
        ("core: {reaches: 56 °C, for: 2 days}", None),
        ("held: {at: 630 °C, up_to: 2 h}", REFUSED),
        ("held: {at: 63 °C, up_to: 200 h}", DOUBTED),
        ("held: {at: 63 °C, up_to: 2 h}", None),
        ("density: 900", REFUSED),
        ("density: 2.5", DOUBTED),
        ("density: 1.03", None),
        ("left_behind: 80 %", DOUBTED),
        ("on_hand: 5000 kg", REFUSED),
        ("par: 600 kg", DOUBTED),
    ],
)
def test_of_a_recipe(key, expected):
    assert told(roast(key)) == ({expected} if expected else set())


def test_a_core_that_cannot_be_counts_as_not_said():
    for key, missing in (("core: 560 °C", True), ("core: 85 °C", False)):
        one = roast(key)
        assert ("core-missing" in {c.rule for c in one.cautions}) is missing
    (fault,) = [p for p in roast("core: 560 °C").problems if p.slug == "impossible-figure"]
    assert (fault.span.file, fault.span.line) == ("shared/recipes/roast.yaml", 3) and "°F" in fault.hints[0]


@pytest.mark.parametrize(
    "row, expected",
    [
        ("trim_yield: 0.001 %", REFUSED),
        ("trim_yield: 0.5 %", DOUBTED),
        ("trim_yield: 2.5 %", None),
        ("trim_yield: 0 %", ("error", "yield-zero")),
        ("piece: 0 g", ("error", "zero-weight")),
        ("piece: 30 kg", DOUBTED),
        ("piece: 3000 kg", REFUSED),
        ("piece: 0.01 mg", REFUSED),
        ("piece: 57 g", None),
        ("piece: 1 kg, trim_yield: 50 %, gives: {fillet: 20000}", REFUSED),
        ("piece: 1 kg, trim_yield: 50 %, gives: {slice: 120}", None),
        ("pack: 3000 kg", REFUSED),
        ("pack: 2000000 pieces", REFUSED),
        ("pack: 5 kg", None),
    ],
)
def test_of_a_product(row, expected):
    assert told(product(row)) == ({expected} if expected else set())


@pytest.mark.parametrize(
    "line, expected",
    [
        ("", None),
        (", trim_yield: 0.001 %", REFUSED),
        (", freezing_record: {at: -273 °C, for: 7 days}", REFUSED),
        (", freezing_record: {at: -20 °C, for: 7 days}", None),
    ],
)
def test_of_a_line(line, expected):
    assert told(roast(line=line)) == ({expected} if expected else set())


@pytest.mark.parametrize(
    "piece, expected",
    [
        ("weight: 12 g", None),
        ("weight: 12 mg", None),
        ("weight: 0.5 mg", DOUBTED),
        ("weight: 12 kg", DOUBTED),
        ("weight: 30 kg", REFUSED),
    ],
)
def test_of_a_piece_on_the_plate(piece, expected):
    spec = SPEC.replace("amount: 40 g, arrange: pool, across: 20 mm", f"piece: {{shape: shard, size: 20 mm, {piece}}}")
    assert told(roast(spec=spec)) == ({expected} if expected else set())


def test_of_an_amount_on_the_plate():
    for amount, expected in (("60 kg", REFUSED), ("6 l", DOUBTED), ("45 ml", None)):
        assert told(roast(spec=poured({"roast": "{recipe: roast}"}, {"roast": amount}))) == (
            {expected} if expected else set()
        )


# --------------------------------------------------------------------------- days


def of_the(day: str, today: date | None) -> list[tuple[str, str]]:
    world = pipeline.world(library({**LIBRARY, "shared/recipes/roast.yaml": ROAST}), today=today)
    one = pipeline.prepare(SPEC.replace("2026-01-31", day), "specs/asked.yaml", "asked", world)
    return [
        (p.severity, p.slug)
        for p in one.problems
        if p.slug in ("no-such-year", "no-such-date", "revision-from-the-future")
    ]


@pytest.mark.parametrize(
    "day, today, expected",
    [
        ("2035-01-31", date(2026, 3, 1), [("warning", "revision-from-the-future")]),
        ("2035-01-31", None, []),
        ("2026-03-01", date(2026, 3, 1), []),
        ("0001-01-31", None, [("error", "no-such-year")]),
        ("1889-01-31", None, [("error", "no-such-year")]),
        ("2926-01-31", None, [("error", "no-such-year")]),
        ("2026-02-30", date(2026, 3, 1), [("error", "no-such-date")]),
    ],
)
def test_the_day_of_a_revision(day, today, expected):
    assert of_the(day, today) == expected


def test_the_day_on_which_a_label_was_read():
    files = {MORE: "products:\n  one: {called: One, label: {read: 0001-01-02, contains: []}}\n"}
    assert "no-such-year" in {p.slug for p in prepared(poured({"one": "{product: one}"}), files).problems}


def test_every_limit_has_its_words_and_a_range_that_is_one():
    for name, limit in bounds().limits.items():
        ends = [
            e
            for e in (limit.refused_below, limit.doubted_below, limit.doubted_above, limit.refused_above)
            if e is not None
        ]
        assert limit.says and limit.hint and ends and ends == sorted(ends), name
