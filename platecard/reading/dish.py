"""A spec's nodes to a :class:`~platecard.model.Dish`."""

from __future__ import annotations

import re
from dataclasses import replace
from fractions import Fraction

from platecard import schema
from platecard.diagnostics import Problem, did_you_mean, error, nearest
from platecard.knowledge import claims
from platecard.layout import arrangements
from platecard.layout.pattern import COUNTED
from platecard.model import (
    Accept,
    Acknowledged,
    Component,
    Dish,
    Distance,
    Facing,
    Piece,
    Place,
    Region,
    Revision,
    Step,
    Swap,
    Written,
)
from platecard.quantities.units import AmountError, Quantity, clock_degrees, size_mm
from platecard.reading import finish, piece_parts, supply
from platecard.reading.fields import MAX_MM, Fields, checked_date, clock_of, source_of, spelt_out, unprintable
from platecard.reading.written import words
from platecard.yaml_nodes import Mapping, Node, Scalar, Sequence, parse

# More than that is neither laid by hand nor drawn: no cook could count it.
MOST_PIECES = 200
SECTIONS = ("plating", "garnish", "at_table")
_CENTRE = {"centre", "center", "middle"}


def dish(text: str, file: str, key: str) -> tuple[Dish | None, tuple[Problem, ...]]:
    """A spec's text as a Dish; ``key`` names its documents (it is the file's own name)."""
    made, _, problems = dish_with_words(text, file, key)
    return made, problems


def dish_with_words(text: str, file: str, key: str) -> tuple[Dish | None, tuple[Written, ...], tuple[Problem, ...]]:
    """The Dish, the words it is written in, and the problems."""
    node, problems = parse(text, file)
    if node is None:
        return None, (), problems
    undrawn = unprintable(node)
    found = [*problems, *undrawn, *schema.check(node, "dish")]
    if not isinstance(node, Mapping) or schema.is_beyond(found):
        return None, (), tuple(found)
    return _dish(Fields(spelt_out(node) if undrawn else node, found), key), words(node), tuple(found)


def _dish(f: Fields, key: str) -> Dish:
    components = f.node.get("components")
    made = (
        tuple(_component(k, v, f.problems) for k, v in components.entries.items())
        if isinstance(components, Mapping)
        else ()
    )
    steps: list[Step] = []
    for section in SECTIONS:
        moves = f.node.get(section)
        for move in moves.items if isinstance(moves, Sequence) else ():
            if isinstance(move, Mapping):
                steps.append(_step(Fields(move, f.problems), len(steps) + 1, section))
    steps = _bounded(steps, f.problems)
    result = Dish(
        key=key,
        title=f.text("dish", key),
        span=f.node.place("dish"),
        menu_line=f.text("menu_line"),
        course=f.text("course"),
        revision=_revision(f),
        plate=f.text("plate"),
        plate_span=f.span("plate"),
        serve=tuple((k, f.sub("serve").text(k)) for k in ("plate", "food") if k in f.sub("serve")),
        components=made,
        steps=tuple(steps),
        expo_checks=f.words("expo_checks"),
        note=f.text("note"),
        acknowledged=_acknowledged(f),
        plating_s=finish.seconds(f, "plating_takes", "time at the pass") or Fraction(0),
        check_s=finish.seconds(f, "check_takes", "time at the pass") or Fraction(0),
        plates_warm_s=finish.seconds(f, "plates_warm", "holding time"),
        price=supply.dish_price(f),
        only_named=f.placed_words("only_named"),
        is_draft=f.true("draft"),
        is_trial=f.true("trial"),
    )
    f.problems += _agreements(result)
    return result


def _bounded(steps: list[Step], problems: list[Problem]) -> list[Step]:
    """The steps, with no more pieces than can be laid on a plate.

    Where there are more, one piece stands for all of them, and an error says so.  A step without a
    count is one thing, and a spec has only so many steps.
    """
    kept, laid = [], 0
    for s in steps:
        if "count" not in s.places:
            kept.append(s)
            continue
        pattern = arrangements.find(s.arrange)
        most = pattern.most if pattern and pattern.most else MOST_PIECES
        if s.count > most:
            problems.append(
                error(
                    "too-many-pieces",
                    s.place("count"),
                    f"{s.count} pieces of '{s.put}' in one {s.arrange}; it should be at most {most}",
                    "set up several stacks, or heap them: arrange: cluster",
                )
            )
            s = replace(s, count=1)
        elif laid <= MOST_PIECES < laid + s.count:
            problems.append(
                error(
                    "too-many-pieces",
                    s.place("count"),
                    f"with {s.count} pieces of '{s.put}' the plate has {laid + s.count}; it should be at most"
                    f" {MOST_PIECES}",
                    "if the pieces are too small to count, give an amount instead: amount: 12 g, arrange: pool,"
                    " across: 50 mm",
                )
            )
        laid += s.count
        kept.append(replace(s, count=1) if laid > MOST_PIECES else s)
    return kept


def _revision(f: Fields) -> Revision | None:
    r = f.sub("revision")
    if "revision" not in f:
        return None
    return Revision(r.whole("number", 0), checked_date(r, "date"), r.text("note"), r.node.span)


def _acknowledged(f: Fields) -> Acknowledged | None:
    node = f.node.get("acknowledged")
    if not isinstance(node, Mapping):
        return None
    a = f.sub("acknowledged")
    laws = tuple((k, a.words(k)) for k in node.entries if k != "revision")
    return Acknowledged(
        a.whole("revision", 0), laws, tuple((k, node.keys[k]) for k, _ in laws), f.node.place("acknowledged")
    )


def _component(key: str, node: Node, problems: list[Problem]) -> Component:
    f = Fields(node, problems)
    swaps = f.node.get("swap")
    offered = swaps.items if isinstance(swaps, Sequence) else (swaps,)
    return Component(
        key=key,
        called=f.text("called") or key.replace("-", " "),
        source=source_of(f, f"'{key}'"),
        station=f.text("station"),
        span=f.node.span,
        equipment=f.words("equipment"),
        may_be_left_off=f.true("may_be_left_off"),
        swaps=tuple(_swap(Fields(s, problems)) for s in offered if isinstance(s, Mapping)),
        colour=f.text("colour"),
        note=f.text("note"),
        finish=finish.steps(f),
        handling=finish.handling(f),
        colour_span=f.span("colour"),
        equipment_span=f.span("equipment"),
    )


def _swap(f: Fields) -> Swap:
    avoided, use = f.placed_words("avoiding"), source_of(f.sub("use"), "the swap")
    return Swap(
        tuple(word for word, _ in avoided),
        use,
        f.node.span,
        tuple(span for _, span in avoided),
        claims.shown(use.name.replace("-", " ")),
    )


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


def _step(f: Fields, index: int, section: str) -> Step:
    arrange = f.text("arrange") or _misspelt_arrange(f) or ("pool" if "across" in f else "one")
    overlap = f.amount("overlap", "share")
    return Step(
        index=index,
        section=section,
        put=f.text("put"),
        span=f.node.span,
        places={k: v.span if isinstance(v := f.node.get(k), Scalar) else f.node.keys[k] for k in f.node.entries},
        count=max(1, min(f.whole("count", 1), 200)),
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
        facing=_facing(f, "facing"),
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
                "a piece needs a size above zero",
                "for example 22 mm, or 45 x 20 mm for length x width",
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
                error("clock", clock.span, f"'{clock.text}' is not two clock positions", "for example 10:00 to 2:00")
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
_STANCES = ("flat", "standing", "leaning")
# A long side that faces out or in means that the long axis runs round the plate.
_LONG_SIDE = {
    "out": ("clockwise", None),
    "in": ("anticlockwise", None),
    "guest": ("clock", Fraction(90)),
    "away": ("clock", Fraction(270)),
}


def _facing(f: Fields, key: str) -> Facing:
    value = f.node.get(key)
    if isinstance(value, Scalar) and value.value is not None:
        word = value.text.strip().lower()
        if word in _STANCES:
            return Facing(stance=word, text=word)
        points, deg = _pointing(value, f.problems)
        return Facing(points=points, clock_deg=deg, text=_points_in_words(value.text))
    if not isinstance(value, Mapping):
        return Facing()
    p = f.sub(key)
    points, deg = "", None
    said = []
    if isinstance(node := p.node.get("points"), Scalar) and node.value is not None:
        points, deg = _pointing(node, f.problems)
        said.append(_points_in_words(node.text))
    if (side := p.text("long_side")) in _LONG_SIDE:
        if points:
            f.problems.append(
                error("two-facings", p.span("long_side"), "both 'points' and 'long_side' are given", "keep one")
            )
        points, deg = _LONG_SIDE[side]
        said.append(f"long side {'towards the guest' if side == 'guest' else side}")
    stance = p.text("stance", "flat")
    if stance != "flat":
        said.append(stance)
    if p.text("up"):
        said.append(f"{p.text('up')} up")
    return Facing(points, deg, stance if stance in _STANCES else "flat", p.text("up"), ", ".join(said))


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


_RELATIONS = ("beside", "behind", "under", "around", "alternating_with")


def _agreements(d: Dish) -> list[Problem]:
    """Rules of one spec that the schema cannot express.

    1. ``put``, ``on`` and ``may_touch`` name components of this dish (``on`` also the rim).
    2. A key that the arrangement does not use is an error, not ignored.
    3. A step says how much: pieces with a shape, or an amount.
    4. Several pieces say how they lie in relation to each other, unless each lies on something.
    5. Every component is put somewhere.
    """
    found: list[Problem] = []
    keys = {c.key for c in d.components}
    used = set()
    for s in d.steps:
        used.add(s.put)
        related = [(r, getattr(s, r)) for r in _RELATIONS if getattr(s, r)]
        for field, names in (
            ("put", (s.put,) if s.put else ()),
            ("on", s.on),
            ("may_touch", s.may_touch),
            *((r, (name,)) for r, name in related),
        ):
            for name in names:
                if name not in keys and not (field == "on" and name == "rim"):
                    found.append(
                        error(
                            "unknown-component",
                            s.place(field),
                            f"there is no component '{name}' in this dish",
                            did_you_mean(name, keys) or "components: " + ", ".join(sorted(keys)),
                        )
                    )
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
        if s.piece is None and "piece" not in s.places and s.amount is None and s.across_mm is None:
            found.append(
                error(
                    "how-much",
                    s.span,
                    f"'{s.put}': it has neither a piece nor an amount",
                    "for example piece: {shape: disc, size: 22 mm, weight: 4 g} or amount: 45 ml",
                )
            )
        elif s.piece is None and s.across_mm is None and "piece" not in s.places and not is_sauce:
            found.append(
                error(
                    "no-shape",
                    s.span,
                    f"'{s.put}' has an amount but no shape to draw",
                    "add piece: {shape, size}, or arrange: pool with across",
                )
            )
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
    for c in d.components:
        if c.key not in used:
            found.append(
                error(
                    "never-put",
                    c.span,
                    f"'{c.key}' is a component, but is never put on the plate",
                    "add a move under plating, garnish or at_table, or delete it",
                )
            )
    return found


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
