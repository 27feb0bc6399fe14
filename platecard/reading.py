"""Nodes to the nouns of the kitchen: a dish from its spec, the kitchen from ``shared/``.

In: texts with their names.  Out: :class:`~platecard.model.Dish` and
:class:`~platecard.model.Kitchen` with the problems found.  Nothing here opens a
file; :mod:`platecard.files` hands the texts in.  A part that does not fit is
reported and left out or left unknown, and reading goes on.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from datetime import date
from fractions import Fraction

from . import schema
from .model import (Accept, Component, Dish, Distance, Facing, Kitchen, Label, Piece, Place, Plate, Product, Recipe,
                    RecipeLine, Region, Revision, Settings, Source, Step, Swap)
from .nodes import Mapping, Node, Scalar, Sequence, parse, unsure
from .problems import Problem, Span, did_you_mean, error
from .units import AmountError, Quantity, clock_degrees, quantity, size_mm

SECTIONS = ("plating", "garnish", "at_table")
_CENTRE = {"centre", "center", "middle"}


class _Fields:
    """Typed access to the values of one mapping; what does not fit becomes a problem."""

    def __init__(self, node: Node | None, problems: list[Problem]):
        self.node = node if isinstance(node, Mapping) else Mapping({}, {}, node.span if node else Span("", 1, 1))
        self.problems = problems

    def __contains__(self, key: str) -> bool:
        return key in self.node.entries

    def sub(self, key: str) -> "_Fields":
        return _Fields(self.node.get(key), self.problems)

    def span(self, key: str) -> Span:
        value = self.node.get(key)
        return value.span if value is not None else self.node.span

    def text(self, key: str, default: str = "") -> str:
        value = self.node.get(key)
        if isinstance(value, Scalar) and value.value is not None:
            return " ".join(value.text.split())
        return default

    def true(self, key: str) -> bool:
        value = self.node.get(key)
        return isinstance(value, Scalar) and value.value is True

    def whole(self, key: str, default: int) -> int:
        value = self.node.get(key)
        ok = isinstance(value, Scalar) and isinstance(value.value, int) and not isinstance(value.value, bool)
        return value.value if ok else default

    def words(self, key: str) -> tuple[str, ...]:
        """A list of words, or a single word as a list of one."""
        value = self.node.get(key)
        items = value.items if isinstance(value, Sequence) else (value,)
        return tuple(" ".join(i.text.split()) for i in items if isinstance(i, Scalar) and i.value is not None)

    def placed_words(self, key: str) -> tuple[tuple[str, Span], ...]:
        value = self.node.get(key)
        items = value.items if isinstance(value, Sequence) else ()
        return tuple((i.text.strip(), i.span) for i in items if isinstance(i, Scalar) and i.value is not None)

    def amount(self, key: str, *kinds: str) -> Quantity | None:
        value = self.node.get(key)
        if not isinstance(value, Scalar) or value.value is None or isinstance(value.value, bool):
            return None
        try:
            return quantity(value.text, *kinds)
        except AmountError as exc:
            self.problems.append(error("amount", value.span, f"'{key}': {exc}", exc.hint, *unsure(value)))
            return None

    def mm(self, key: str) -> Fraction | None:
        q = self.amount(key, "length")
        return q.mean if q else None

    def positive_mm(self, key: str) -> Fraction | None:
        value = self.mm(key)
        if value is not None and value <= 0:
            self.problems.append(error("zero-size", self.span(key), f"'{key}' is zero; it needs a real size"))
            return None
        return value

    def grams(self, key: str) -> Fraction | None:
        q = self.amount(key, "mass")
        return q.mean if q else None

    def distance(self, key: str) -> Distance | None:
        q = self.amount(key, "length", "share")
        return Distance(q.mean, q.kind == "share") if q else None

    def clock(self, key: str) -> Fraction | None:
        value = self.node.get(key)
        return _clock(value, self.problems) if isinstance(value, Scalar) and value.value is not None else None

    def number(self, key: str) -> Fraction | None:
        """A bare positive number (a density)."""
        value = self.node.get(key)
        if not isinstance(value, Scalar) or value.value is None:
            return None
        text = value.text.replace("g/ml", "").strip()
        if not re.fullmatch(r"\d{1,4}(\.\d{1,9})?", text) or Fraction(text) <= 0:
            self.problems.append(error("amount", value.span, f"'{key}' is '{value.text}'; it should be a number above zero, such as 1.03"))
            return None
        return Fraction(text)


def _clock(node: Scalar, problems: list[Problem]) -> Fraction | None:
    try:
        return clock_degrees(node.text)
    except AmountError as exc:
        problems.append(error("clock", node.span, str(exc), exc.hint))
        return None


def _checked_date(fields: _Fields, key: str) -> str:
    text = fields.text(key)
    if re.fullmatch(r"\d{4}-\d{2}-\d{2}", text):
        try:
            date.fromisoformat(text)
        except ValueError:
            fields.problems.append(error("no-such-date", fields.span(key), f"there is no day {text} in the calendar"))
    return text


# --------------------------------------------------------------------------- a dish


def dish(text: str, file: str, key: str) -> tuple[Dish | None, tuple[Problem, ...]]:
    """A spec's text as a Dish.  ``key`` names its documents (the file's own name)."""
    node, problems = parse(text, file)
    if node is None:
        return None, problems
    found = [*problems, *schema.check(node, "dish")]
    if not isinstance(node, Mapping):
        return None, tuple(found)
    return _dish(_Fields(node, found), key), tuple(found)


def _dish(f: _Fields, key: str) -> Dish:
    components = f.node.get("components")
    made = tuple(_component(k, v, f.problems) for k, v in components.entries.items()) if isinstance(components, Mapping) else ()
    steps: list[Step] = []
    for section in SECTIONS:
        moves = f.node.get(section)
        for move in moves.items if isinstance(moves, Sequence) else ():
            if isinstance(move, Mapping):
                steps.append(_step(_Fields(move, f.problems), len(steps) + 1, section))
    result = Dish(
        key=key, title=f.text("dish", key), span=f.node.place("dish"), menu_line=f.text("menu_line"), course=f.text("course"),
        revision=_revision(f), plate=f.text("plate"), plate_span=f.span("plate"),
        serve=tuple((k, f.sub("serve").text(k)) for k in ("plate", "food") if k in f.sub("serve")),
        components=made, steps=tuple(steps), expo_checks=f.words("expo_checks"), note=f.text("note"))
    f.problems += _agreements(result)
    return result


def _revision(f: _Fields) -> Revision | None:
    r = f.sub("revision")
    if "revision" not in f:
        return None
    return Revision(r.whole("number", 0), _checked_date(r, "date"), r.text("note"), r.node.span)


def _component(key: str, node: Node, problems: list[Problem]) -> Component:
    f = _Fields(node, problems)
    swaps = f.node.get("swap")
    offered = swaps.items if isinstance(swaps, Sequence) else (swaps,)
    return Component(
        key=key, called=f.text("called") or key.replace("-", " "), source=_source(f, f"'{key}'"), station=f.text("station"), span=f.node.span,
        equipment=f.words("equipment"), may_be_left_off=f.true("may_be_left_off"),
        swaps=tuple(_swap(_Fields(s, problems)) for s in offered if isinstance(s, Mapping)),
        colour=f.text("colour"), note=f.text("note"))


def _swap(f: _Fields) -> Swap:
    return Swap(f.words("avoiding"), _source(f.sub("use"), "the swap"), f.node.span)


def _source(f: _Fields, what: str) -> Source:
    said = [k for k in ("recipe", "product", "ingredient") if f.text(k)]
    if len(said) == 1:
        return Source(said[0], f.text(said[0]), f.span(said[0]))
    if len(said) > 1:
        f.problems.append(error("two-sources", f.node.span, f"{what} has more than one of recipe, product and ingredient", "keep one"))
    elif not any(p.span == f.node.span for p in f.problems):
        f.problems.append(error("no-source", f.node.span, f"{what} says neither recipe, product nor ingredient",
                                "for example {recipe: dill-oil} or {ingredient: dill}"))
    # Named after nothing at all, so it can only stay unknown.
    return Source("unknown", f.text(said[0]) if said else "", f.node.span)


def _step(f: _Fields, index: int, section: str) -> Step:
    arrange = f.text("arrange") or ("pool" if "across" in f else "one")
    overlap = f.amount("overlap", "share")
    return Step(
        index=index, section=section, put=f.text("put"), span=f.node.span,
        places={k: (v.span if isinstance(v := f.node.get(k), Scalar) else f.node.keys[k]) for k in f.node.entries},
        count=max(1, min(f.whole("count", 1), 200)), piece=_piece(f), amount=f.amount("amount", "mass", "volume"), across_mm=f.positive_mm("across"), arrange=arrange,
        at=_place(f, "at"), start=_place(f, "from"), end=_place(f, "to"), out=f.distance("out"),
        anticlockwise=f.text("turning") == "anticlockwise", within=_region(f), gap_mm=f.mm("gap"),
        overlap=overlap.mean if overlap else None, on=f.words("on"), may_touch=f.words("may_touch"),
        facing=_facing(f, "facing"), accept=_accept(f.sub("accept")), poured=f.text("poured"), note=f.text("note"))


def _piece(f: _Fields) -> Piece | None:
    if "piece" not in f or not isinstance(f.node.get("piece"), Mapping):
        return None
    p = f.sub("piece")
    sizes: tuple[Fraction, ...] = ()
    size = p.node.get("size")
    if isinstance(size, Scalar) and size.value is not None:
        try:
            sizes = size_mm(size.text)
        except AmountError as exc:
            p.problems.append(error("amount", size.span, f"'size': {exc}", exc.hint))
    if any(s <= 0 for s in sizes):
        p.problems.append(error("zero-size", p.span("size"), "a piece needs a real size"))
        sizes = ()
    if not sizes or not p.text("shape"):
        return None
    height = p.positive_mm("height")
    if height is None and len(sizes) == 3:
        height = sizes[2]
    return Piece(p.text("shape"), sizes[0], sizes[1] if len(sizes) > 1 else sizes[0], p.node.span, height, p.grams("weight"))


def _place(f: _Fields, key: str) -> Place | None:
    value = f.node.get(key)
    if isinstance(value, Scalar) and value.value is not None:
        if value.text.strip().lower() in _CENTRE:
            return Place(right_mm=Fraction(0), away_mm=Fraction(0))
        deg = _clock(value, f.problems)
        return Place(clock_deg=deg) if deg is not None else None
    if isinstance(value, Mapping):
        p = f.sub(key)
        if "clock" in p:
            deg = p.clock("clock")
            return Place(clock_deg=deg, out=p.distance("out")) if deg is not None else None
        offsets = {k: p.mm(k) for k in ("right", "left", "away", "near")}
        if not any(k in p for k in offsets):
            p.problems.append(error("no-place", value.span, f"'{key}' says no place", "a clock position such as 2:30, centre, or {right: 20 mm, away: 10 mm}"))
            return None
        for one, other in (("right", "left"), ("away", "near")):
            if one in p and other in p:
                p.problems.append(error("two-places", value.span, f"'{key}' has both '{one}' and '{other}'", "keep one of the two"))
        zero = Fraction(0)
        return Place(right_mm=(offsets["right"] or zero) - (offsets["left"] or zero), away_mm=(offsets["away"] or zero) - (offsets["near"] or zero))
    return None


def _region(f: _Fields) -> Region | None:
    if "within" not in f:
        return None
    w = f.sub("within")
    start = end = None
    clock = w.node.get("clock")
    if isinstance(clock, Scalar) and clock.value is not None:
        parts = re.split(r"\s+to\s+|\s*[-–]\s*", clock.text.strip())
        if len(parts) == 2:
            start, end = (_clock(Scalar(p, p, clock.span), f.problems) for p in parts)
        else:
            f.problems.append(error("clock", clock.span, f"'{clock.text}' is not two clock positions", "for example 10:00 to 2:00"))
    out = w.amount("out", "length", "share") if "out" in w else None
    if out and out.is_range:
        inner, outer = Distance(out.low, out.kind == "share"), Distance(out.high, out.kind == "share")
    elif out:
        inner, outer = Distance(Fraction(0)), Distance(out.high, out.kind == "share")
    else:
        inner, outer = Distance(Fraction(0)), Distance(Fraction(1), True)
    return Region(start, end, inner, outer)


_POINTS = {"in": "in", "inwards": "in", "centre": "in", "out": "out", "outwards": "out", "clockwise": "clockwise",
           "anticlockwise": "anticlockwise", "guest": "guest", "towards the guest": "guest", "away": "away", "away from the guest": "away"}
_STANCES = ("flat", "standing", "leaning")
# A long side that looks out or in means that the long axis runs round the plate.
_LONG_SIDE = {"out": ("clockwise", None), "in": ("anticlockwise", None), "guest": ("clock", Fraction(90)), "away": ("clock", Fraction(270))}


def _facing(f: _Fields, key: str) -> Facing:
    value = f.node.get(key)
    if isinstance(value, Scalar) and value.value is not None:
        word = value.text.strip().lower()
        if word in _STANCES:
            return Facing(stance=word, text=word)
        points, deg = _pointing(value, f.problems)
        return Facing(points=points, clock_deg=deg, text=value.text.strip())
    if not isinstance(value, Mapping):
        return Facing()
    p = f.sub(key)
    points, deg = "", None
    said = []
    if isinstance(node := p.node.get("points"), Scalar) and node.value is not None:
        points, deg = _pointing(node, f.problems)
        said.append(f"points {node.text}")
    if (side := p.text("long_side")) in _LONG_SIDE:
        if points:
            f.problems.append(error("two-facings", p.span("long_side"), "both 'points' and 'long_side' are given", "keep one"))
        points, deg = _LONG_SIDE[side]
        said.append(f"long side {'towards the guest' if side == 'guest' else side}")
    stance = p.text("stance", "flat")
    if stance != "flat":
        said.append(stance)
    if p.text("up"):
        said.append(f"{p.text('up')} up")
    return Facing(points, deg, stance if stance in _STANCES else "flat", p.text("up"), ", ".join(said))


def _pointing(node: Scalar, problems: list[Problem]) -> tuple[str, Fraction | None]:
    word = node.text.strip().lower()
    if word in _POINTS:
        return _POINTS[word], None
    try:
        return "clock", clock_degrees(word)
    except AmountError:
        problems.append(error("facing", node.span, f"'{node.text}' is no way to face", "in, out, clockwise, anticlockwise, guest, away, standing, leaning, or a clock position"))
        return "", None


def _accept(f: _Fields) -> Accept:
    turn, weight = f.amount("turn", "angle"), f.amount("weight", "share")
    return Accept(f.mm("place"), turn.mean if turn else None, f.whole("count", 0), weight.mean if weight else None, f.text("words"))


# What a key means depends on the arrangement; one that means nothing is a slip, not a detail.
_USED_BY = {"from": {"line", "arc", "fan"}, "to": {"line", "arc", "fan"}, "turning": {"arc", "fan"}, "within": {"scatter"},
            "across": {"pool"}, "overlap": {"fan", "line", "stack"}, "gap": {"line", "arc", "ring", "scatter"}}


def _agreements(d: Dish) -> list[Problem]:
    """Rules of one spec that the schema cannot say.

    1. ``put``, ``on`` and ``may_touch`` name components of this dish (``on`` also the rim).
    2. A key that the arrangement does not use is an error, not ignored.
    3. A step says how much: pieces with a shape, or an amount.
    4. Several pieces say how they lie to each other, unless each lies on something.
    5. Every component is put somewhere.
    """
    found: list[Problem] = []
    keys = {c.key for c in d.components}
    used = set()
    for s in d.steps:
        used.add(s.put)
        for field, names in (("put", (s.put,) if s.put else ()), ("on", s.on), ("may_touch", s.may_touch)):
            for name in names:
                if name not in keys and not (field == "on" and name == "rim"):
                    found.append(error("unknown-component", s.place(field), f"there is no component '{name}' in this dish",
                                       did_you_mean(name, keys) or "components: " + ", ".join(sorted(keys))))
        for field, arrangements in _USED_BY.items():
            if field in s.places and s.arrange not in arrangements:
                found.append(error("key-not-used", s.places[field], f"'{field}' means nothing for arrange: {s.arrange}",
                                   f"it belongs to {', '.join(sorted(arrangements))}"))
        if s.piece is None and "piece" not in s.places and s.amount is None and s.across_mm is None:
            found.append(error("how-much", s.span, f"'{s.put}': neither a piece nor an amount is said", "for example piece: {shape: disc, size: 22 mm, weight: 4 g} or amount: 45 ml"))
        elif s.piece is None and s.across_mm is None and "piece" not in s.places and s.arrange != "pool":
            found.append(error("no-shape", s.span, f"'{s.put}' has an amount but no shape to draw", "add piece: {shape, size}, or arrange: pool with across"))
        if s.count > 1 and s.arrange == "one" and not s.on:
            found.append(error("how-arranged", s.place("count"), f"{s.count} pieces of '{s.put}', but not how they lie",
                               "say arrange: line, arc, ring, fan, stack or scatter"))
        if s.count > 1 and s.arrange == "pool":
            found.append(error("key-not-used", s.place("count"), "a pool is not counted", "give each pool its own step"))
    for c in d.components:
        if c.key not in used:
            found.append(error("never-put", c.span, f"'{c.key}' is a component but never put on the plate", "add a step under plating, garnish or at_table, or delete it"))
    return found


# --------------------------------------------------------------------------- the kitchen


def kitchen(files: Iterable[tuple[str, str]], folder: str = "shared") -> tuple[Kitchen, tuple[Problem, ...]]:
    """The kitchen's library from its files: pairs of (path shown in messages, text).

    What a file holds is told by its place: ``kitchen.yaml``, ``plates*.yaml``,
    ``pantry*.yaml``, ``recipes/*.yaml``.
    """
    found: list[Problem] = []
    settings = Settings()
    recipes: dict[str, Recipe] = {}
    products: dict[str, Product] = {}
    plates: dict[str, Plate] = {}
    for path, text in files:
        kind = kind_of(path)
        if kind is None:
            continue
        node, problems = parse(text, path)
        found += problems
        if node is None:
            continue
        found += schema.check(node, kind)
        if not isinstance(node, Mapping):
            continue
        f = _Fields(node, found)
        if kind == "kitchen":
            settings = _settings(f)
        elif kind == "recipe":
            key = path.replace("\\", "/").rsplit("/", 1)[-1].rsplit(".", 1)[0]
            _add(recipes, key, _recipe(f, key), found)
        elif kind == "plates" and isinstance(f.node.get("plates"), Mapping):
            for key, value in f.node.get("plates").entries.items():
                if plate := _plate(_Fields(value, found), key):
                    _add(plates, key, plate, found)
        elif kind == "pantry" and isinstance(f.node.get("products"), Mapping):
            for key, value in f.node.get("products").entries.items():
                _add(products, key, _product(_Fields(value, found), key), found)
    return Kitchen(settings, recipes, products, plates, folder), tuple(found)


def kind_of(path: str) -> str | None:
    """Which schema a file of the library follows, by its name; None for a file that is not ours."""
    parts = path.replace("\\", "/").split("/")
    name = parts[-1]
    if not name.endswith((".yaml", ".yml")):
        return None
    if len(parts) > 1 and parts[-2] == "recipes":
        return "recipe"
    stem = name.rsplit(".", 1)[0]
    return "kitchen" if stem == "kitchen" else "plates" if stem.startswith("plates") else "pantry" if stem.startswith("pantry") else None


def _add(where: dict, key: str, value, found: list[Problem]) -> None:
    if key in where:
        found.append(error("given-twice", value.span, f"'{key}' is already given at {where[key].span}", "keep one, or give the other another key"))
    else:
        where[key] = value


def _settings(f: _Fields) -> Settings:
    def pairs(key: str) -> tuple[tuple[str, str], ...]:
        node = f.node.get(key)
        return tuple((k, f.sub(key).text(k)) for k in node.entries) if isinstance(node, Mapping) else ()

    card = f.sub("card")
    return Settings(f.text("kitchen", "Kitchen"), f.words("laws") or ("eu",), f.span("laws"), card.text("page", "A5 landscape"),
                    card.text("language", "en-GB"), pairs("stations"), pairs("equipment"), f.node.span)


def _plate(f: _Fields, key: str) -> Plate | None:
    outer, well, depth = f.positive_mm("outer"), f.positive_mm("well"), f.positive_mm("depth")
    if outer is None or well is None:
        return None
    if well > outer:
        f.problems.append(error("well-over-outer", f.span("well"), f"the well of '{key}' is wider than the plate"))
        return None
    if outer > 1000:
        f.problems.append(error("too-large", f.span("outer"), f"'{key}' is more than a metre wide"))
        return None
    return Plate(key, f.text("called", key), f.text("form"), outer, well, f.node.span, depth, f.text("colour"))


def _product(f: _Fields, key: str) -> Product:
    label = None
    if isinstance(f.node.get("label"), Mapping):
        said = f.sub("label")
        level = said.text("sulphites")
        match = re.fullmatch(r"(\d{1,5}(?:\.\d{1,6})?)\s*(?:mg\s*/\s*kg|mg\s*/\s*l|ppm)", level)
        if level and not match:
            said.problems.append(error("amount", said.span("sulphites"), f"'{level}' is not a level of sulphites", "for example 12 mg/kg"))
        # Without a list of what it contains, a label settles nothing.
        if isinstance(said.node.get("contains"), Sequence):
            label = Label(said.node.span, _checked_date(said, "read"), said.placed_words("contains"), said.placed_words("may_contain"),
                          said.text("text"), said.span("text") if "text" in said else None, Fraction(match.group(1)) if match else None)
    return Product(key, f.text("called", key), f.node.span, f.text("is"), f.span("is") if "is" in f else None, f.words("also"), label,
                   f.text("supplier"), f.text("code"), f.number("density"), f.grams("piece"))


def _recipe(f: _Fields, key: str) -> Recipe:
    lines = f.node.get("ingredients")
    made = f.amount("makes", "mass", "volume", "count")
    if made is not None and made.mean <= 0:
        f.problems.append(error("makes-nothing", f.span("makes"), f"'{key}' makes nothing", "say the finished yield"))
        made = None
    return Recipe(
        key=key, called=f.text("recipe", key), span=f.node.place("recipe"), makes=made, makes_span=f.span("makes"),
        lines=tuple(_line(_Fields(i, f.problems)) for i in (lines.items if isinstance(lines, Sequence) else ()) if isinstance(i, Mapping)),
        method=f.words("method"), station=f.text("station"), equipment=f.words("equipment"), made_ahead=f.text("made_ahead"),
        keeps=f.text("keeps"), density=f.number("density"), takes_up_water=f.true("takes_up_water"))


def _line(f: _Fields) -> RecipeLine:
    stays = f.amount("stays", "share")
    if stays and stays.mean > 1:
        f.problems.append(error("share-over-one", f.span("stays"), "more than 100 % cannot stay"))
        stays = None
    return RecipeLine(_source(f, "this line"), f.node.span, f.amount("amount", "mass", "volume", "count", "unmeasured"),
                      f.span("amount") if "amount" in f else None, stays.mean if stays else Fraction(1), f.text("note"))


__all__ = ["SECTIONS", "dish", "kind_of", "kitchen"]
