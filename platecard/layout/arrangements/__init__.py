"""Every arrangement, each defined once: in a module of this package, and named in :data:`ALL`.

To add one, write its :class:`~platecard.layout.pattern.Pattern`, name it in :data:`ALL`, and run
``make_words.py`` and ``make_guides.py`` in ``data/schemas``, which write the schema's words and the guide's table.
"""

from __future__ import annotations

from collections.abc import Iterable

from platecard.layout.arrangements import arc, lines, one, pulled, rows, scattered, spiral
from platecard.layout.pattern import COUNTED, NONE, POURED, Pattern
from platecard.model import Step

ALL: tuple[Pattern, ...] = (
    one.ONE,
    lines.LINE,
    rows.ROW,
    rows.GRID,
    arc.ARC,
    arc.RING,
    arc.FAN,
    spiral.SPIRAL,
    one.STACK,
    rows.LEANING,
    rows.CLUSTER,
    scattered.SCATTER,
    one.POOL,
    pulled.SWIPE,
    pulled.DRIZZLE,
)
"""In the order in which the guide and the hints name them."""

_BY_NAME = {p.name: p for p in ALL}

# The keys that only some arrangements use, each with those; where a key is not used it is a mistake, never ignored.
USED_BY: dict[str, frozenset[str]] = {
    key: frozenset(p.name for p in ALL if key in p.uses) for key in sorted(frozenset().union(*(p.uses for p in ALL)))
}


def find(name: str) -> Pattern | None:
    """The arrangement of that name, or None where there is none."""
    return _BY_NAME.get(name)


def is_poured(step: Step) -> bool:
    """Whether the step pours a sauce, which runs under whatever is on the plate already."""
    pattern = find(step.arrange)
    return pattern is not None and pattern.laid == POURED


def several() -> str:
    """The hint where several pieces are given and no arrangement."""
    return f"write arrange: {_either(p.name for p in ALL if p.lays_several and p.laid == COUNTED)}"


def ordered() -> str:
    """The arrangements between whose pieces others can go, in words."""
    return _either(p.name for p in ALL if p.order != NONE)


def _either(names: Iterable[str]) -> str:
    *most, last = names
    return f"{', '.join(most)} or {last}" if most else last
