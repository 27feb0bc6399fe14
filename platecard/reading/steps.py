"""A step's node to a :class:`~platecard.model.Step`: its piece, its place, its facing, what the pass accepts."""

from __future__ import annotations

import re
from fractions import Fraction

from platecard.diagnostics import Problem, error, nearest
from platecard.model import Accept, Distance, Facing, Piece, Place, Region, Step
from platecard.quantities.clock_positions import clock_degrees
from platecard.quantities.units import AmountError, Quantity, size_mm
from platecard.reading import piece_parts
from platecard.reading.fields import MAX_MM, Fields, clock_of
from platecard.yaml_nodes import Mapping, Scalar

_CENTRE = {"centre", "center", "middle"}


def _misspelt_arrange(f: Fields) -> str:
    """The value of a misspelt ``arrange``, which the schema has reported.

    So much depends on that key that everything else would be reported too.
    """
    return next(
        (
            f.text(k)
            for k in f.node.entries
            if k[:2] in ("ar", "ra", "aa") and k not in ("arrange", "around") and nearest(k, ("arrange",))
        ),
        "",
    )


def _is_whole(f: Fields) -> bool:
    """Whether it is known how many pieces there are, and no key is missing, for what else is asked of the step."""
    counted = f.node.get("count")
    places = {(p.slug, p.span) for p in f.problems if p.slug in ("missing-key", "wrong-type", "out-of-range")}
    return ("missing-key", f.node.span) not in places and not (
        counted is not None and any((slug, counted.span) in places for slug in ("wrong-type", "out-of-range"))
    )


def step(f: Fields, index: int, section: str) -> Step:
    """One move as it is written, with its index in the dish."""
    arrange = f.text("arrange") or _misspelt_arrange(f) or ("pool" if "across" in f else "one")
    if not _is_whole(f):
        arrange = ""  # how its pieces lie cannot be told, nor what lies on them; the schema has reported why
    overlap = f.amount("overlap", "share")
    return Step(
        index=index,
        section=section,
        put=f.text("put"),
        span=f.node.span,
        places={k: v.span if isinstance(v := f.node.get(k), Scalar) else f.node.keys[k] for k in f.node.entries},
        count=max(1, min(f.whole("count", 1), 200)) if arrange else 1,
        piece=_piece(f),
        amount=_poured(f),
        across_mm=f.positive_mm("across"),
        arrange=arrange,
        at=_place(f, "at"),
        start=_place(f, "from"),
        end=_place(f, "to"),
        out=f.distance("out"),
        anticlockwise=f.text("turning") == "anticlockwise",
        within=_region(f),
        gap_mm=f.mm("gap"),
        overlap=overlap.mean if overlap else None,
        on=f.words("on"),
        may_touch=f.words("may_touch"),
        beside=f.text("beside"),
        behind=f.text("behind"),
        under=f.text("under"),
        around=f.text("around"),
        alternating_with=f.text("alternating_with"),
        clear_mm=f.mm("clear"),
        along_deg=f.clock("along"),
        rows=max(0, min(f.whole("rows", 0), 30)),
        bends="turning" in f,
        facing=_facing(f),
        accept=_accept(f.sub("accept")),
        poured=f.text("poured"),
        note=f.text("note"),
    )


def _poured(f: Fields) -> Quantity | None:
    return f.amount_above_zero("amount", "mass", "volume", limit="mass on the plate")


def _piece(f: Fields) -> Piece | None:
    if "piece" not in f or not isinstance(f.node.get("piece"), Mapping):
        return None
    p = f.sub("piece")
    if p.text("shape") == "outline" and "points" in p:
        return piece_parts.free_outline(p)
    sizes: tuple[Fraction, ...] = ()
    last = None
    size = p.node.get("size")
    if "sizes" in p:
        sizes, last = piece_parts.graded(p)
    if isinstance(size, Scalar) and size.value is not None:
        try:
            sizes = size_mm(size.text)
        except AmountError as exc:
            p.problems.append(error("amount", size.span, f"'size': {exc}", exc.hint))
    if any(s < Fraction(1, 10) for s in sizes):
        p.problems.append(
            error(
                "zero-size",
                p.span("size"),
                "a piece needs a size of at least 0.1 mm",
                "write it as in 22 mm, or 45 x 20 mm for length x width",
            )
        )
        sizes = ()
    elif any(s > MAX_MM for s in sizes):
        p.problems.append(
            error("too-large", p.span("size"), "the piece is more than a metre long", "check the size and its unit")
        )
        sizes = ()
    if not sizes or not p.text("shape"):
        return None
    height = p.positive_mm("height")
    if height is None and len(sizes) == 3:
        height = sizes[2]
    hole = piece_parts.hole(p, min(sizes[:2]))
    if p.text("shape") == "ring" and hole is None:
        return None
    return Piece(
        p.text("shape"),
        sizes[0],
        sizes[1] if len(sizes) > 1 else sizes[0],
        p.node.span,
        height,
        p.positive_grams("weight", "piece on the plate"),
        last,
        hole,
    )


def _place(f: Fields, key: str) -> Place | None:
    value = f.node.get(key)
    if isinstance(value, Scalar) and value.value is not None:
        if value.text.strip().lower() in _CENTRE:
            return Place(right_mm=Fraction(0), away_mm=Fraction(0))
        deg = clock_of(value, f.problems)
        return Place(clock_deg=deg) if deg is not None else None
    if isinstance(value, Mapping):
        p = f.sub(key)
        if "clock" in p:
            deg = p.clock("clock")
            return Place(clock_deg=deg, out=p.distance("out")) if deg is not None else None
        offsets = {k: p.mm(k) for k in ("right", "left", "away", "near")}
        if not any(k in p for k in offsets):
            p.problems.append(
                error(
                    "no-place",
                    value.span,
                    f"'{key}' does not give a place",
                    "write a clock position such as 2:30, centre, or {right: 20 mm, away: 10 mm}",
                )
            )
            return None
        for one, other in (("right", "left"), ("away", "near")):
            if one in p and other in p:
                p.problems.append(
                    error("two-places", value.span, f"'{key}' has both '{one}' and '{other}'", "keep one of the two")
                )
        zero = Fraction(0)
        return Place(
            right_mm=(offsets["right"] or zero) - (offsets["left"] or zero),
            away_mm=(offsets["away"] or zero) - (offsets["near"] or zero),
        )
    return None


def _region(f: Fields) -> Region | None:
    if "within" not in f:
        return None
    w = f.sub("within")
    start = end = None
    clock = w.node.get("clock")
    if isinstance(clock, Scalar) and clock.value is not None:
        parts = re.split(r"\s+to\s+|\s*[-–]\s*", clock.text.strip())
        if len(parts) == 2:
            start, end = (clock_of(Scalar(p, p, clock.span), f.problems) for p in parts)
        else:
            f.problems.append(
                error("clock", clock.span, f"'{clock.text}' is not two clock positions", "write it as in 10:00 to 2:00")
            )
    out = w.amount("out", "length", "share") if "out" in w else None
    if out and out.is_range:
        inner, outer = Distance(out.low, out.kind == "share"), Distance(out.high, out.kind == "share")
    elif out:
        inner, outer = Distance(Fraction(0)), Distance(out.high, out.kind == "share")
    else:
        inner, outer = Distance(Fraction(0)), Distance(Fraction(1), True)
    return Region(start, end, inner, outer)


_POINTS = {
    "in": "in",
    "inwards": "in",
    "centre": "in",
    "out": "out",
    "outwards": "out",
    "clockwise": "clockwise",
    "anticlockwise": "anticlockwise",
    "guest": "guest",
    "towards the guest": "guest",
    "away": "away",
    "away from the guest": "away",
}
_SIDES = {"guest": "towards the guest", "away": "away from the guest"}
_STANCES = ("flat", "standing", "leaning")
# A long side that faces out or in means that the long axis runs round the plate.
_LONG_SIDE = {
    "out": ("clockwise", None),
    "in": ("anticlockwise", None),
    "guest": ("clock", Fraction(90)),
    "away": ("clock", Fraction(270)),
}


def _facing(f: Fields) -> Facing:
    value = f.node.get("facing")
    if isinstance(value, Scalar) and value.value is not None:
        word = value.text.strip().lower()
        if word in _STANCES:
            return Facing(stance=word, text=word)
        points, deg = _pointing(value, f.problems)
        return Facing(points=points, clock_deg=deg, text=_points_in_words(value.text))
    if not isinstance(value, Mapping):
        return Facing()
    p = f.sub("facing")
    points, deg = "", None
    said = []
    if isinstance(node := p.node.get("points"), Scalar) and node.value is not None:
        points, deg = _pointing(node, f.problems)
        said.append(_points_in_words(node.text))
    side = p.text("long_side")
    if side in _LONG_SIDE:
        if points:
            f.problems.append(
                error("two-facings", p.span("long_side"), "both 'points' and 'long_side' are given", "keep one")
            )
        points, deg = _LONG_SIDE[side]
        said.append(f"long side {_SIDES.get(side, side)}")
    stance = p.text("stance", "flat")
    if stance != "flat":
        said.append(stance)
    if p.text("up"):
        said.append(f"{p.text('up')} up")
    return Facing(points, deg, stance if stance in _STANCES else "flat", p.text("up"), ", ".join(said), side)


def _points_in_words(text: str) -> str:
    word = text.strip().lower()
    to = "to " if word[:1].isdigit() or word in ("guest", "centre") else ""
    return f"points {to}{'the guest' if word == 'guest' else word}"


def _pointing(node: Scalar, problems: list[Problem]) -> tuple[str, Fraction | None]:
    word = node.text.strip().lower()
    if word in _POINTS:
        return _POINTS[word], None
    try:
        return "clock", clock_degrees(word)
    except AmountError:
        problems.append(
            error(
                "facing",
                node.span,
                f"'{node.text}' is not a direction to face",
                "write in, out, clockwise, anticlockwise, guest, away, standing, leaning, or a clock position",
            )
        )
        return "", None


def _accept(f: Fields) -> Accept:
    turn, weight = f.amount("turn", "angle"), f.amount("weight", "share")
    return Accept(
        f.mm("place"),
        turn.mean if turn else None,
        f.whole("count", 0),
        weight.mean if weight else None,
        f.text("words"),
    )
