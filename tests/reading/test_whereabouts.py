"""A problem says where in the dish it stands, in a cook's words."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from platecard.whereabouts import whereabouts

DISH = """\
dish: Beetroot, egg sauce
course: starter
plate: wide
components:
  beetroot:
    recipe: baked-beetroot
    finish:
      - {do: warm, takes: 4 min}
      - {do: glaze, takes: 1 min}
  crisp: {product: seeded-crisp}
plating:
  - put: beetroot
    count: 5
    piece: {shape: disc,
            size: 20 mm}
  - {put: crisp, count: 2}
garnish:
  # the last thing
  - put: "chervil"
    count: 3
"""


@pytest.mark.parametrize(
    "line, said",
    [
        (1, ""),
        (3, ""),
        (6, "starter, component beetroot"),
        (9, "starter, component beetroot, finishing step 2: glaze"),
        (10, "starter, component crisp"),
        (12, "starter, move 1: beetroot"),
        (15, "starter, move 1: beetroot"),
        (16, "starter, move 2: crisp"),
        (20, "starter, garnish 1: chervil"),
        (99, ""),
    ],
)
def test_a_line_of_a_dish(line, said):
    assert whereabouts(DISH, line) == said


def test_a_line_of_the_library():
    assert (
        whereabouts("recipe: Purée\ningredients:\n  - {ingredient: butter, amount: 60 g}\n", 3)
        == "ingredient 1: butter"
    )
    assert whereabouts("products:\n  jar:\n    called: Jar\n    label:\n      read: 2026\n", 5) == "product jar"


@given(st.text(alphabet="a:-  \n{}'\"#\t", max_size=80), st.integers(-1, 12))
def test_no_text_is_too_odd(text, line):
    assert "\n" not in whereabouts(text, line)
