"""Compares two revisions of a dish, allergens first.

In: two prepared dishes, each with its own kitchen.  Out: :class:`Comparison`, the changes
in the order a chef is told them, and what moved on the plate for the drawing.  Nothing is
opened or printed here.  Both sides use the laws and the catalogue of the running program,
so whatever it has learnt since is no change of the dish.
"""

from __future__ import annotations

from typing import NamedTuple

from platecard.diagnostics import Span
from platecard.diff import allergens, matching, plates, recipes, service
from platecard.diff.change import ALARM, BETTER, CHANGED, KINDS, WORSE, Change, bare, dish_of, in_doubt
from platecard.diff.matching import Matched
from platecard.layout import displacement
from platecard.layout.displacement import Moves
from platecard.prepared import Prepared


class Comparison(NamedTuple):
    """What changed; ``matched`` is None where one of the two revisions cannot be read."""

    changes: tuple[Change, ...]
    matched: Matched | None = None
    moved: tuple[Moves, ...] = ()

    @property
    def alarms(self) -> tuple[Change, ...]:
        """The changes that are alarms."""
        return tuple(c for c in self.changes if c.severity == ALARM)


def compare(old: Prepared, new: Prepared) -> Comparison:
    """What changed from ``old`` to ``new``; between a dish and itself, nothing."""
    lost = [(one, side) for one, side in ((old, "old"), (new, "new")) if one.dish is None or one.resolved is None]
    if lost:
        return Comparison(
            tuple(
                Change(
                    "problem",
                    one.key,
                    None,
                    None,
                    ALARM,
                    f"the {side} revision cannot be read, so what changed is NOT ESTABLISHED",
                    next((p.span for p in one.problems if p.is_error), Span(one.file)),
                    side == "old",
                )
                for one, side in lost
            )
        )
    matched = matching.match(dish_of(old), dish_of(new))
    moved = displacement.between(
        old.arrangement, new.arrangement, ((a.index if a else None, b.index if b else None) for a, b in matched.steps)
    )
    found = [
        *allergens.compare(old, new),
        *plates.compare(old, new, matched, moved),
        *recipes.compare(old, new),
        *service.compare(old, new, matched),
    ]
    if not found and _content(old) != _content(new):
        # Something that no comparison above knows of: it is never passed over in silence.
        found.append(
            Change(
                "text",
                "spec",
                None,
                None,
                CHANGED,
                "something in the spec or the library has changed, with no effect on what is compared here",
                dish_of(new).span,
            )
        )
    rank = {kind: i for i, kind in enumerate(KINDS)}
    return Comparison(
        tuple(sorted(dict.fromkeys(found), key=lambda c: (rank[c.kind], c.kind == "allergen" and c.severity != ALARM))),
        matched,
        moved,
    )


def _content(one: Prepared) -> object:
    """All that a revision says and declares, without places."""
    return bare(one.dish, "key"), tuple(bare(r) for r in recipes.inside(one)), bare(one.statements)


__all__ = ["ALARM", "BETTER", "CHANGED", "WORSE", "Change", "Comparison", "compare", "in_doubt"]
