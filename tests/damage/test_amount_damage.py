"""No damage to an amount, a weight, a yield or a time makes the sulphites or the cautions of a dish weaker.

A sample; ``python -m tests.damage.amount_damage 500`` and ``python -m tests.damage.amount_damage demo`` try them all.
"""

from __future__ import annotations

import re
from collections import Counter

from tests.damage import amount_damage as damage

KINDS = {
    "unit misspelt",
    "no unit",
    "no figure",
    "nothing of it",
    "a letter in the figure",
    "left empty",
    "another unit",
    "another count word",
    "key misspelt",
    "capitals",
    "title case",
    "doubled blanks",
    "a word more",
    "a word misspelt",
}


def test_generated_kitchens():
    counts: Counter = Counter()
    found = []
    for number in range(100, 108):
        made = damage.Maker(number)
        found += damage.weaker({**made.files, **made.specs}, counts, every=8)
    assert found == []
    assert KINDS <= set(counts), "every kind of damage was done"
    assert counts["another statement"] < sum(counts.values()) / 10, "and few were left out"


def test_the_demo_kitchen():
    counts: Counter = Counter()
    assert damage.weaker(damage.demo(), counts, every=401) == []
    assert sum(counts.values()) > 8


def test_a_wish_that_weakens_is_noticed():
    """With less sulphites in everything, and everything kept dry, some dishes are found weaker: so it works."""
    sulphites, cautions = 0, 0
    for number in range(6):
        made = damage.Maker(number)
        files = {**made.files, **made.specs}
        before = damage.state(files)
        thin = damage.state({path: re.sub(r"sulphites: \d+", "sulphites: 1", text) for path, text in files.items()})
        dry = damage.state({path: re.sub(r"keeps: .*", "keeps: 1 day, airtight", text) for path, text in files.items()})
        sulphites += sum(thin.strength[key] < before.strength[key] for key in before.strength)
        cautions += sum(bool(before.cautions[key] - dry.cautions[key]) for key in before.cautions)
    assert sulphites > 5 and cautions > 5
