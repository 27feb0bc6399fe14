"""Rules of one spec that the schema cannot express."""

from __future__ import annotations

from platecard.diagnostics import Problem, did_you_mean, error, nearest
from platecard.knowledge import laws
from platecard.layout import arrange, arrangements, placing
from platecard.layout.pattern import COUNTED
from platecard.model import Dish, Step

_RELATIONS = ("beside", "behind", "under", "around", "alternating_with")


def unknown_laws(d: Dish) -> list[Problem]:
    """Errors for laws of the record that are not on file: what stands under them would never be compared."""
    known = laws.names()
    return [
        error(
            "unknown-law",
            place,
            f"there is no law '{key}' on file",
            did_you_mean(key, known) or f"write one of: {', '.join(known)}",
        )
        for key, place in (d.acknowledged.places if d.acknowledged else ())
        if key not in known
    ]


def agreements(d: Dish) -> list[Problem]:
    """Rules of one spec that the schema cannot express.

    1. ``put``, ``on`` and ``may_touch`` name components of this dish (``on`` also the rim).
    2. A key that the arrangement does not use is an error, not ignored.
    3. A step says how much: pieces with a shape, or an amount.
    4. Several pieces say how they lie in relation to each other, unless each lies on something.
    5. Every component is put somewhere.
    """
    found: list[Problem] = []
    keys = {c.key for c in d.components}
    for s in d.steps:
        related = [(r, getattr(s, r)) for r in _RELATIONS if getattr(s, r)]
        for field, names in (
            ("put", (s.put,) if s.put else ()),
            ("on", s.on),
            ("may_touch", s.may_touch),
            *((r, (name,)) for r, name in related),
        ):
            for name in names:
                # Where there are no components at all, the schema has reported that.
                if keys and name not in keys and not (field == "on" and name == "rim"):
                    found.append(arrange.unknown(s, field, name, keys))
        # What a misspelt arrangement would use is not known; the misspelling itself has been reported.
        pattern = arrangements.find(s.arrange)
        is_sauce = pattern is not None and pattern.laid != COUNTED
        for field, users in arrangements.USED_BY.items():
            if pattern is not None and field in s.places and field not in pattern.uses:
                found.append(
                    error(
                        "key-not-used",
                        s.places[field],
                        f"'{field}' is not used with arrange: {s.arrange}",
                        f"use it with {', '.join(sorted(users))}, or take it out",
                    )
                )
        found += _relations(s, related)
        if s.piece is None and "piece" not in s.places and s.across_mm is None and s.put and pattern is not None:
            if s.amount is None:
                found += [placing.how_much(s)] if not {"amount", "across"}.intersection(s.places) else []
            elif not is_sauce:
                found.append(placing.no_shape(s))
        if s.count > 1 and s.arrange == "one" and not s.on and not s.alternating_with:
            found.append(
                error(
                    "how-arranged",
                    s.place("count"),
                    f"{s.count} pieces of '{s.put}', but nothing says how they lie",
                    arrangements.several(),
                )
            )
        if s.count > 1 and is_sauce:
            found.append(
                error(
                    "key-not-used",
                    s.place("count"),
                    f"a {s.arrange} is not counted",
                    f"give each {s.arrange} a move of its own",
                )
            )
    return [*found, *_never_put(d, keys)]


def _never_put(d: Dish, keys: set[str]) -> list[Problem]:
    """Errors for components that no move puts on the plate, but for those that a move with errors may mean."""
    if not d.all_moves_read:
        return []
    put = [s.put for s in d.steps]
    left = [c for c in d.components if c.key not in put]
    strays = [name for name in put if name not in keys]
    if len(strays) >= len(left):
        return []
    meant = {near for name in strays for near in nearest(name, [c.key for c in left], 1)}
    return [
        error(
            "never-put",
            c.span,
            f"'{c.key}' is a component, but is never put on the plate",
            "add a move under plating, garnish or at_table, or take the component out",
        )
        for c in left
        if c.key not in meant
    ]


def _relations(s: Step, related: list[tuple[str, str]]) -> list[Problem]:
    """Rules for the keys that place a component by another one."""
    found: list[Problem] = []
    if len(related) > 1:
        found.append(
            error(
                "two-places",
                s.place(related[1][0]),
                f"'{s.put}' has both '{related[0][0]}' and '{related[1][0]}'",
                "keep one of the two",
            )
        )
    for field, name in related:
        if name == s.put:
            found.append(
                error(
                    "place-cycle",
                    s.place(field),
                    f"the place of {name} depends on {name} itself",
                    "give it a place of its own, or name another component",
                )
            )
    if s.clear_mm is not None and not (s.beside or s.behind or s.around):
        found.append(
            error(
                "key-not-used",
                s.place("clear"),
                "'clear' is not used without beside, behind or around",
                "for the distance between pieces, write 'gap'",
            )
        )
    pattern = arrangements.find(s.arrange)
    if pattern is None:
        return found
    found += pattern.rules(s)
    if s.piece is not None and s.piece.last_mm is not None and not pattern.takes_graded:
        found.append(
            error(
                "key-not-used",
                s.piece.span,
                f"graded sizes are not used with arrange: {s.arrange}",
                f"use them with {', '.join(sorted(p.name for p in arrangements.ALL if p.takes_graded))}",
            )
        )
    return found
