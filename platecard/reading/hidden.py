"""Which faults of a spec may hide food, or the equipment that food goes through."""

from __future__ import annotations

from collections.abc import Iterable

from platecard.diagnostics import Problem
from platecard.reading import sections

# Faults that leave what they touch in the tree as an unknown, so they hide nothing.
SHOWN = {
    "bad-file-name",
    "allergens-not-established",
    "unknown-ingredient",
    "unknown-product",
    "two-candidates",
    "recipe-loop",
    "unknown-plate",
    "makes-more-than-goes-in",
    "no-source",
    "impossible-figure",
    "amount-of-nothing",
    "zero-weight",
    "no-such-year",
    "claims-absence",
    "unprintable-character",
    "product-unread",
    "label-unread",
    "plate-unread",
    "font-not-installed",
    "two-alphabets",
}
# Faults that hide what a recipe goes through, whatever file of the library they are in.
_HIDDEN_RECIPE = {"unknown-recipe", "recipe-unread", "too-deep"}


def hides_food(problems: Iterable[Problem], file: str, text: str) -> bool:
    """Whether these faults of a dish may hide a component, or the equipment that it goes through."""
    return any(
        p.is_error
        and (
            p.slug in _HIDDEN_RECIPE
            or (
                p.slug not in SHOWN
                and p.span is not None
                and p.span.file == file
                and not sections.hides_no_food(text, p.span.line)
            )
        )
        for p in problems
    )
