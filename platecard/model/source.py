"""Where the food of a component or of a recipe line comes from.

A name that cannot be resolved stays in the tree as :class:`Unknown`, so that every mistake is shown and nothing
gets lost on the way to the allergen statement.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from platecard.diagnostics import Span


@dataclass(frozen=True, slots=True)
class Unknown:
    """A name that could not be resolved, and why; ``span`` is None where the fault has no place in a file."""

    name: str
    span: Span | None
    why: str = ""


class SourceKind(StrEnum):
    """What a source names; ``UNKNOWN`` where a spec names none of them, or more than one."""

    RECIPE = "recipe"
    PRODUCT = "product"
    INGREDIENT = "ingredient"
    UNKNOWN = "unknown"

    def __repr__(self) -> str:
        # The code of a dish is a hash over the repr of its values; this keeps it that of the plain word.
        return str.__repr__(self)


@dataclass(frozen=True, slots=True)
class Source:
    """Where the food of a component or a recipe line comes from; ``name`` is as written in the spec."""

    kind: SourceKind
    name: str
    span: Span
