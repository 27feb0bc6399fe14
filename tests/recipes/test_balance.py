"""What a recipe is said to make against what goes in: to the gram where it begins to be impossible, and where not yet.

A yield that cannot be hides a slip in an amount, and every amount on the plate would be wrong by as much.
The bounds are those of ``data/bounds.yaml``; the sums beside the cases are by hand.
"""

from __future__ import annotations

from fractions import Fraction as F

import pytest

from tests.kitchens import LIBRARY, PANTRY, grams_on_plate, poured, prepared, recipe

# What is said of a recipe that makes too much, too little, or has one line out of all proportion.
OF_YIELD = {"makes-more-than-goes-in", "takes-up-too-much", "far-more-than-it-makes", "makes-far-less"}
FLOUR = ("ingredient", "wheat flour", "100 g")
PRODUCTS = "  roux: {called: Brown roux}\n  cubes: {called: Stock cubes, label: {read: 2026-01-02, contains: []}}\n"


def pot(makes: str, *lines: tuple[str, str, str], water: bool = False, more: dict[str, str] | None = None):
    """10 g of a pot on a plate; ``makes`` may go on with further keys of the recipe."""
    files = {PANTRY: LIBRARY[PANTRY] + PRODUCTS, "shared/recipes/pot.yaml": recipe("Pot", list(lines), makes, water)}
    return prepared(poured({"pot": "{recipe: pot}"}), {**files, **(more or {})})


def said(one) -> list[tuple[str, str]]:
    return [(p.slug, p.severity) for p in one.problems if p.slug in OF_YIELD]


def can_be_relied_on(one) -> bool:
    """Whether what the recipe makes is used to work out what of it lies on the plate."""
    return one.resolved.parts[0].use.what.doubt == ""


TOO_MUCH = [("makes-more-than-goes-in", "error")]


@pytest.mark.parametrize(
    "lines, most",
    [
        # What is weighed, and a hundredth for the scales.
        ((FLOUR,), 101),
        # To taste: at most all that is weighed, and 250 g where that is less.
        ((FLOUR, ("ingredient", "salt", "to taste")), F("353.5")),
        ((("ingredient", "wheat flour", "300 g"), ("ingredient", "salt", "to taste")), 606),
        # Water as needed: at most ten times all that is weighed.
        ((FLOUR, ("ingredient", "water", "as needed")), 1111),
        # A dash weighs 20 g at most, a sprig 100 g, and any other word 10 kg.
        ((FLOUR, ("product", "cubes", "2 dashes")), F("141.4")),
        ((FLOUR, ("product", "cubes", "3 sprigs")), 404),
        ((FLOUR, ("product", "cubes", "1 portion")), 10201),
        # 50 ml of what has no density: at most 2 g for each ml; of a range the most.
        ((FLOUR, ("product", "cubes", "50 ml")), 202),
        ((FLOUR, ("product", "cubes", "50-75 ml")), F("252.5")),
    ],
)
def test_no_more_comes_out_than_can_have_gone_in(lines, most):
    assert said(pot(f"{float(most)} g", *lines)) == []
    assert said(pot(f"{float(most) + 0.1} g", *lines)) == TOO_MUCH


@pytest.mark.parametrize("line", [("ingredient", "salt", "to taste"), ("product", "cubes", "1 dash")])
def test_a_yield_that_the_weighed_alone_bears_out_is_relied_upon(line):
    """100 g of flour make 101 g at most; a gram more may have come from what was not weighed."""
    assert can_be_relied_on(pot("101 g", FLOUR, line)) and not can_be_relied_on(pot("102 g", FLOUR, line))
    assert said(pot("102 g", FLOUR, line)) == []


def test_a_yield_that_cannot_be_is_not_relied_upon():
    for makes in ("102 g", "500 g"):
        one = pot(makes, FLOUR)
        assert said(one) == TOO_MUCH and not can_be_relied_on(one)


@pytest.mark.parametrize("lost", ["650 grms", "0,65 kg", "0 g"])
def test_an_amount_that_cannot_be_read_is_told_and_nothing_that_was_worked_out_without_it(lost):
    one = pot("600 g", ("ingredient", "carrot", lost), ("ingredient", "salt", "6 g"))
    assert said(one) == [] and not can_be_relied_on(one) and not one.is_sound
    assert any(p.is_error and lost in p.message for p in one.world.problems + one.problems)
    assert said(pot("600 g", ("ingredient", "salt", "6 g"))) == TOO_MUCH


def test_a_doubted_yield_names_what_was_not_weighed():
    four = [("product", "cubes", "1 dash"), ("ingredient", "salt", "to taste")]
    four += [("ingredient", name, "to taste") for name in ("sugar", "dill")]
    for count, names, rest in ((2, ("Stock cubes", "Salt"), ""), (3, ("Sugar",), ""), (4, ("Sugar",), "1 more")):
        doubt = pot("110 g", FLOUR, *four[:count]).resolved.parts[0].use.what.doubt
        assert all(name.lower() in doubt.lower() for name in names) and "dill" not in doubt.lower()
        assert rest in doubt and (" more" in doubt) is bool(rest)


def test_rice_takes_up_twenty_times_its_weight_with_a_doubt_up_to_a_hundred():
    rice = ("ingredient", "rice", "400 g")
    for makes, expected in (
        ("8080 g", []),
        ("8081 g", [("takes-up-too-much", "warning")]),
        ("40.4 kg", [("takes-up-too-much", "warning")]),
        ("40.41 kg", [("takes-up-too-much", "error")]),
    ):
        assert said(pot(makes, rice, water=True)) == expected
    assert said(pot("405 g", rice)) == TOO_MUCH, "and only where the recipe says that it takes up water"


def test_a_sub_recipe_brings_no_more_than_it_can_make():
    """A base made by the litre from 100 g of flour weighs 101 g at most: half of it, 50.5 g."""
    base = {"shared/recipes/base.yaml": recipe("Base", [FLOUR], "1 l", takes_up_water=False)}
    half = ("recipe", "base", "500 ml")
    most = F("1.01") * (100 + F("50.5"))
    assert said(pot(f"{float(most):.4f} g", FLOUR, half, more=base)) == []
    assert said(pot(f"{float(most) + 0.1:.4f} g", FLOUR, half, more=base)) == TOO_MUCH


def test_pieces_weigh_no_more_than_goes_in():
    """20 pieces from 100 g: 5.05 g each at most."""
    pool = "amount: 10 g, arrange: pool, across: 20 mm"
    for weight, expected in (("5.05", []), ("5.06", TOO_MUCH)):
        files = {"shared/recipes/pot.yaml": recipe("Pot", [FLOUR], "20 pieces", takes_up_water=False)}
        spec = poured({"pot": "{recipe: pot}"})
        assert pool in spec
        spec = spec.replace(pool, f"piece: {{shape: disc, size: 20 mm, weight: {weight} g}}")
        assert said(prepared(spec, files)) == expected


# --------------------------------------------------------------------------- far more in than out


BEET = ("ingredient", "beetroot", "100 g")


@pytest.mark.parametrize(
    "makes, lines, expected",
    [
        # A kilo slipped into a recipe of 100 g: ten times is a lot, and more than ten times is a slip.
        ("100 g", (BEET, ("ingredient", "butter", "1000 g")), []),
        ("100 g", (BEET, ("ingredient", "butter", "1001 g")), [("far-more-than-it-makes", "warning")]),
        # All else is at most twice what comes out; where it is more, the recipe as a whole is boiled down.
        (
            "100 g",
            (("ingredient", "beetroot", "200 g"), ("ingredient", "butter", "1001 g")),
            [("far-more-than-it-makes", "warning")],
        ),
        ("100 g", (("ingredient", "beetroot", "201 g"), ("ingredient", "butter", "1001 g")), []),
        # Down to a fiftieth, and no further.
        ("10 g", (("ingredient", "beetroot", "250 g"), ("ingredient", "butter", "250 g")), []),
        (
            "10 g",
            (("ingredient", "beetroot", "251 g"), ("ingredient", "butter", "250 g")),
            [("makes-far-less", "warning")],
        ),
        # Wine and stock boil down.
        ("100 g", (BEET, ("ingredient", "red wine", "4 kg")), []),
        ("100 g", (BEET, ("recipe", "dill-oil", "4 kg")), []),
    ],
)
def test_one_amount_out_of_all_proportion_is_doubted(makes, lines, expected):
    one = pot(makes, *lines)
    assert said(one) == expected
    for p in one.problems:
        if p.slug == "far-more-than-it-makes":
            assert (p.span.file, p.span.line) == ("shared/recipes/pot.yaml", 6), "at the line that is too much"
    assert can_be_relied_on(one), "a doubt about what is lost changes nothing of what is there"


def test_an_unknown_amount_is_no_amount_out_of_proportion():
    one = pot("100 g", FLOUR, ("ingredient", "salt", "to taste"), ("ingredient", "butter", "1200 g"))
    assert said(one) == [("far-more-than-it-makes", "warning")]
    assert grams_on_plate(one.resolved)["salt"] is None
