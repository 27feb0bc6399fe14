"""Densities and piece weights of the catalogue against published household weights.

Weights of one US cup (236.5882365 ml) or of one piece, edible part: USDA National Nutrient
Database for Standard Reference, release 26, household weights (public domain).  The foundation
foods of USDA FoodData Central are the second opinion, GNU Units (run, not copied) the third.
Tolerances: liquids 2 %, fats and pastes 5 %, powders and granules 15 %.
"""

from __future__ import annotations

import shutil
import subprocess
from fractions import Fraction

import pytest

from platecard.knowledge import catalogue

CATALOGUE = catalogue.load()[0]
CUP = Fraction("236.5882365")

# name, grams of one US cup in SR26, tolerance
CUPS = [
    ("whole milk", 244, 2),
    ("buttermilk", 245, 2),
    ("olive oil", 216, 2),
    ("sunflower oil", 218, 2),
    ("soy sauce", 255, 2),
    ("balsamic vinegar", 255, 2),
    ("fresh lemon juice", 244, 2),
    ("fresh orange juice", 248, 2),
    ("honey", 339, 2),
    ("maple syrup", 315, 2),
    ("molasses", 337, 2),
    ("glucose syrup", 341, 2),
    ("egg", 243, 2),
    ("butter", 227, 5),
    ("mayonnaise", 220, 5),
    ("soured cream", 230, 5),
    ("ricotta", 246, 5),
    ("white miso", 275, 5),
    ("tomato paste", 262, 5),
    ("plain flour", 125, 15),
    ("rye flour", 102, 15),
    ("cornflour", 128, 15),
    ("cocoa powder", 86, 15),
    ("granulated sugar", 200, 15),
    ("brown sugar", 220, 15),
    ("icing sugar", 120, 15),
    ("salt", 292, 15),
    ("sesame seed", 144, 15),
]

# name, counting word, grams of one in SR26 (edible part)
PIECES = [
    ("garlic", "clove", 3),
    ("onion", "small", 70),
    ("onion", "medium", 110),
    ("onion", "large", 150),
    ("carrot", "small", 50),
    ("carrot", "medium", 61),
    ("carrot", "large", 72),
    ("lemon", "small", 58),
    ("lemon", "medium", 84),
    ("strawberry", "medium", 12),
    ("strawberry", "large", 18),
    ("egg white", "piece", 33),
    ("egg yolk", "piece", 17),
    ("egg", "us large", 50),
    ("egg", "us small", 38),
    ("egg", "us jumbo", 63),
    ("quail egg", "piece", 9),
    ("parsley", "sprig", 1),
    ("dill", "sprig", Fraction(1, 5)),
]

# name, g/ml or grams of one among the foundation foods of FoodData Central, tolerance
FOUNDATION = [("olive oil", Fraction("0.907"), 2)]
FOUNDATION_PIECES = [("egg", "piece", Fraction("50.3"), 2), ("egg white", "piece", 34, 5), ("egg yolk", "piece", 17, 2)]

# name, the word GNU Units knows, tolerance: its densities come from one baking book, so they stray further
GNU = [
    ("honey", "honey", 3),
    ("granulated sugar", "sugar", 3),
    ("butter", "butter", 3),
    ("salt", "salt", 3),
    ("whole milk", "milk", 3),
    ("sunflower oil", "oil", 3),
]


def density(name: str) -> Fraction:
    entry = CATALOGUE.find(name).entry
    assert entry is not None and entry.density is not None, name
    return entry.density


@pytest.mark.parametrize("name, grams, percent", CUPS)
def test_a_cup_weighs_what_the_table_says(name, grams, percent):
    assert abs(density(name) * CUP / grams - 1) <= Fraction(percent, 100)


@pytest.mark.parametrize("name, word, grams", PIECES)
def test_a_piece_weighs_what_the_table_says(name, word, grams):
    assert dict(CATALOGUE.find(name).entry.pieces)[word] == grams


@pytest.mark.parametrize("name, value, percent", FOUNDATION)
def test_a_second_table_agrees(name, value, percent):
    assert abs(density(name) / value - 1) <= Fraction(percent, 100)


@pytest.mark.parametrize("name, word, grams, percent", FOUNDATION_PIECES)
def test_a_second_table_agrees_on_pieces(name, word, grams, percent):
    assert abs(dict(CATALOGUE.find(name).entry.pieces)[word] / Fraction(grams) - 1) <= Fraction(percent, 100)


@pytest.mark.skipif(shutil.which("units") is None, reason="GNU Units is not installed here")
@pytest.mark.parametrize("name, word, percent", GNU)
def test_gnu_units_agrees(name, word, percent):
    said = subprocess.run(["units", "-t", word, "g/ml"], capture_output=True, text=True, timeout=30).stdout.strip()
    assert abs(float(density(name)) / float(said) - 1) <= percent / 100, said
