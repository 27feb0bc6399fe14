"""What decides how the parts of a dish look: what each is made of, and what is done to it."""

from __future__ import annotations

from typing import NamedTuple


class Appearance(NamedTuple):
    """What one component shows the eye.

    ``food`` is the food that gives it most of its looks, by name, and ``kinds`` what that is; ``made`` is what its
    recipe, its finishing steps and its own name say of it.  All three are folded.  ``colour`` is its colour by what is
    in it (``#rrggbb``), empty where that tells nothing.
    """

    food: str = ""
    kinds: frozenset[str] = frozenset()
    made: str = ""
    colour: str = ""
