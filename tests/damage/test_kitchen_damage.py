"""No damage to a kitchen makes an answer weaker: a sample of what ``kitchen_damage.py`` runs at length."""

from __future__ import annotations

import pytest

from tests.damage import kitchen_damage as damage

SAMPLE = 7 * len(damage.DAMAGES)


def test_no_damage_makes_an_answer_weaker():
    counts, found = damage.run(SAMPLE)
    assert not found, "\n".join(found)
    # A damage that never meets anything to damage proves nothing.
    assert set(damage.DAMAGES) <= set(counts)


@pytest.mark.parametrize("seed", range(6))
def test_an_invented_kitchen_is_sound_before_it_is_damaged(seed):
    """Else every answer is withheld from the start, and nothing can get weaker."""
    said = damage.told(damage.generated(seed))
    assert said.dishes and damage.WITHHELD not in said.dishes.values(), said.said
    assert {0.0, 3.0} <= set(said.cells.values())


def test_a_weakening_is_noticed():
    """A dish with its fryer taken off the menu, which is a wish and no damage, is what a weakening looks like."""
    tree = damage.demo()
    before = damage.told(tree)
    gone = {path: data for path, data in tree.items() if path != "specs/chocolate-malt.yaml"}
    found = damage.weaker(before, damage.told(gone), "specs/chocolate-malt.yaml")
    assert any("is gone" in line for line in found) and any("became" in line for line in found)
