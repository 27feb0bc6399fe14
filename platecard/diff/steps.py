"""What changed in the steps of plating: count, place, size, weight, facing, and what expo lets pass.

Places are compared as the plate is laid, in mm, and not as they are written: a piece
that lies on another moves with it.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace

from platecard.diagnostics import Span, listed
from platecard.diff.change import Change, Value, bare, changed, differing, number, others
from platecard.diff.change_words import percent, quoted, rounds_alike
from platecard.diff.matching import Matched
from platecard.documents.text import wording
from platecard.layout import displacement, place_words
from platecard.layout.displacement import Moves
from platecard.layout.footprint import clock_of
from platecard.model import Dish, Step
from platecard.quantities.clock_positions import clock_text
from platecard.quantities.units import Quantity, shown

_SECTION = {"plating": "while plating", "garnish": "as garnish", "at_table": "at the table"}


def step_in_or_out(was: Step | None, now: Step | None, old: Dish, new: Dish, matched: Matched) -> Iterator[Change]:
    """A whole step that is new or gone, whether its component is in both dishes or in one."""
    if now is not None:
        said = f"{wording.what(now)}, {wording.where(now, new)}".removeprefix(", ")
        more = "one more move, " if now.put in matched.renamed().values() else _count_of(now)
        yield changed("count", now.put, None, _amount(now), f"{wording.called(now.put, new)}: {more}{said}", now.span)
    elif was is not None:
        said = f"{wording.what(was)}, {wording.where(was, old)}".removeprefix(", ")
        yield changed(
            "count",
            matched.renamed().get(was.put, was.put),
            _amount(was),
            None,
            f"{wording.called(was.put, old)}: no longer {_count_of(was)}{said}",
            None,
            was.span,
        )


def _count_of(step: Step) -> str:
    return f"{step.count} " if step.piece is not None else ""


def _amount(step: Step) -> Value:
    """How much a step puts on the plate: a count of pieces, or an amount as written."""
    return step.count if step.piece is not None else step.amount.text if step.amount is not None else 1


def step(was: Step, now: Step, old: Dish, new: Dish, matched: Matched, way: Moves | None) -> Iterator[Change]:
    """What changed in one move: its section, count, piece, place, facing and leeway."""
    name, key = wording.called(now.put, new), now.put
    if was.section != now.section:
        yield changed(
            "order",
            key,
            was.section,
            now.section,
            f"{name}: put on {_SECTION[now.section]}; before: {_SECTION[was.section]}",
            now.span,
        )
    if was.count != now.count:
        yield changed(
            "count",
            key,
            was.count,
            now.count,
            f"{name}: {now.count}, {'up' if now.count > was.count else 'down'} from {was.count}",
            now.place("count"),
        )
    yield from _position(was, now, old, new, matched, way)
    yield from _size(was, now, name)
    if was.amount is not None and now.amount is not None:
        if bare(was.amount, "text") != bare(now.amount, "text") and not rounds_alike(was.amount, now.amount):
            yield changed(
                "weight",
                key,
                was.amount.text,
                now.amount.text,
                f"{name}: {now.amount.text}, {_percent(was.amount, now.amount)}before {was.amount.text}",
                now.place("amount"),
            )
    elif (was.amount is None) != (now.amount is None):
        before, after = (s.amount.text if s.amount else None for s in (was, now))
        words = f"{name}: {after or 'counted, not weighed'}; before: {before or 'counted, not weighed'}"
        yield changed("weight", key, before, after, words, now.place("amount"))
    a, b = (s.piece.weight_g if s.piece is not None else None for s in (was, now))
    if a != b and was.piece is not None and now.piece is not None:
        if a is not None and b is not None:
            words = f"{name}: {shown(b, 2)} g each, {'heavier' if b > a else 'lighter'} than {shown(a, 2)} g"
        else:
            before, after = (f"{shown(w, 2)} g each" if w is not None else None for w in (a, b))
            words = f"{name}: {after or 'its weight is no longer stated'}; before: {before or 'not stated'}"
        yield changed("weight", key, number(a), number(b), words, now.place("piece"))
    if bare(was.facing) != bare(now.facing):
        before, after = (s.facing.text or _facing(s) or None for s in (was, now))
        yield changed(
            "facing",
            key,
            before,
            after,
            f"{name}: {after or 'no way to face'}; before: {before or 'none stated'}",
            now.place("facing"),
        )
    if bare(was.accept) != bare(now.accept):
        before, after = wording.accept(was) or None, wording.accept(now) or None
        if before != after and not (
            was.count != now.count
            and bare(was.accept, "words") == bare(now.accept, "words")
            and was.accept.words == now.accept.words
        ):
            yield changed(
                "expo",
                key,
                before,
                after,
                f"{name}: expo accepts {after or 'nothing but the plan'}; before: {before or 'nothing but the plan'}",
                now.place("accept"),
            )
    for field, said in (("poured", "poured"), ("note", "the note to the cook")):
        a, b = getattr(was, field), getattr(now, field)
        if a != b:
            yield changed(
                "text",
                key,
                a or None,
                b or None,
                f"{name}: {said} is {quoted(b)}; before: {quoted(a)}",
                now.place(field),
            )
    yield from others("text", key, name, _named(was, matched), now, _WORDED, now.span)


def _named(step: Step, matched: Matched) -> Step:
    """The old step with the new keys of the components that it names."""
    new = matched.renamed()
    return replace(
        step,
        on=tuple(new.get(k, k) for k in step.on),
        may_touch=tuple(new.get(k, k) for k in step.may_touch),
        **{
            f: new.get(getattr(step, f), getattr(step, f))
            for f in ("beside", "behind", "under", "around", "alternating_with")
        },
    )


def _facing(step: Step) -> str:
    f = step.facing
    points = (
        f"points to {clock_text(float(f.clock_deg))}"
        if f.clock_deg is not None
        else f"points {f.points}"
        if f.points
        else ""
    )
    return ", ".join(w for w in (points, f.stance if f.stance != "flat" else "", f"{f.up} up" if f.up else "") if w)


def _position(was: Step, now: Step, old: Dish, new: Dish, matched: Matched, way: Moves | None) -> Iterator[Change]:
    """A change of place: as laid, with how it is written where that changed too."""
    before, after = wording.where(was, old), wording.where(now, new)
    fields = differing(_named(was, matched), now, *(n for n in _NOT_PLACE))
    if way is not None and way.moved and way.pairs:
        n, of = len(way.moved), len(way.pairs)
        far = shown(way.furthest_mm, 0 if way.furthest_mm >= 10 else 1)
        if of == 1:
            ((a, b),) = way.moved
            words = f"moved {far} mm, {place_words.where(b.centre)}; before: {place_words.where(a.centre)}"
            values = place_words.where(a.centre), place_words.where(b.centre)
        else:
            together = way.together_mm
            middles = displacement.middle(p for p, _ in way.pairs), displacement.middle(q for _, q in way.pairs)
            whole = (
                f", their middle {shown(together, 0 if together >= 10 else 1)} mm {_towards(*middles)}"
                if together > 1
                else ""
            )
            words = f"{'all' if n == of else n} {f'of {of} ' if n != of else f'{of} '}moved, up to {far} mm{whole}"
            values = (
                (before, after) if before != after else (place_words.where(middles[0]), place_words.where(middles[1]))
            )
            if before != after:
                words += f"; now {after}; before {before}"
        own = fields or before != after or was.count != now.count or bare(was.piece) != bare(now.piece)
        how = "" if own else " (it is written as before; what it goes by has changed)"
        yield changed(
            "position", now.put, *values, f"{wording.called(now.put, new)}: {words}{how}", _place_of(now, fields)
        )
    elif fields and before != after:
        yield changed(
            "position",
            now.put,
            before,
            after,
            f"{wording.called(now.put, new)}: {after}; before: {before}",
            _place_of(now, fields),
        )
    elif fields:
        said = listed(f.replace("_", " ") for f in fields)
        words = f"{wording.called(now.put, new)}: written differently, but it lies where it lay ({said})"
        yield changed("position", now.put, before, after, words, _place_of(now, fields))


# Fields of a step that say where it lies.
_PLACE = (
    "arrange",
    "at",
    "start",
    "end",
    "out",
    "anticlockwise",
    "within",
    "gap_mm",
    "overlap",
    "on",
    "beside",
    "behind",
    "under",
    "around",
    "alternating_with",
    "clear_mm",
    "along_deg",
    "rows",
    "bends",
)
# Fields that have words of their own; any other field that differs is told by its name.
_WORDED = (
    "index",
    "span",
    "put",
    "section",
    "count",
    "piece",
    "amount",
    "across_mm",
    "facing",
    "accept",
    "poured",
    "note",
    *_PLACE,
)
_NOT_PLACE = tuple(f for f in Step.__dataclass_fields__ if f not in _PLACE)
_WRITTEN = {
    "start": "from",
    "end": "to",
    "gap_mm": "gap",
    "clear_mm": "clear",
    "along_deg": "along",
    "anticlockwise": "turning",
    "bends": "turning",
}


def _place_of(step: Step, fields: tuple[str, ...]) -> Span:
    """Where the first of the fields is written, or else the step."""
    return next((step.places[_WRITTEN.get(f, f)] for f in fields if _WRITTEN.get(f, f) in step.places), step.span)


def _towards(a: tuple[float, float], b: tuple[float, float]) -> str:
    return f"towards {clock_text(clock_of(b[0] - a[0], b[1] - a[1]))}"


def _size(was: Step, now: Step, name: str) -> Iterator[Change]:
    a, b = was.piece, now.piece
    before: str | None
    after: str | None
    if a is not None and b is not None:
        if bare(a, "weight_g", "span", "points_span") != bare(b, "weight_g", "span", "points_span"):
            before, after = (f"{wording.shape(p, 1)}, {wording.size(p)}" for p in (a, b))
            same = before == after
            words = f"{name}: {after}; before: {before}" if not same else f"{name}: {after}, with a different outline"
            yield changed("size", now.put, before, after, words, now.place("piece"))
    elif (a is None) != (b is None):
        before, after = (f"{wording.shape(p, 1)}, {wording.size(p)}" if p is not None else None for p in (a, b))
        yield changed(
            "size",
            now.put,
            before,
            after,
            f"{name}: {after or 'no longer in pieces'}; before: {before or 'not in pieces'}",
            now.place("piece"),
        )
    if was.across_mm != now.across_mm:
        before, after = (f"{shown(s.across_mm)} mm" if s.across_mm is not None else None for s in (was, now))
        yield changed(
            "size",
            now.put,
            before,
            after,
            f"{name}: {after or 'no width stated'} across; before: {before or 'no width stated'}",
            now.place("across"),
        )


def _percent(a: Quantity, b: Quantity) -> str:
    if a.kind != b.kind or not a.mean:
        return ""
    share = percent(b.mean / a.mean)
    return f"{share}; " if share else ""
