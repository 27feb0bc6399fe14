"""What each component looks like in the drawing: its colours, the tone of its lines, its face, its hatch.

The colour comes from the spec, or else from what is in the component, or from its name if
that is a food of the palette, or from the palette in turn; the face, what is drawn on it,
from ``data/looks.yaml``.  Cards are copied in grey, and some cooks do not
tell red from green, so two components that a reader could mistake for each other get
different hatches: those drawn as the same kind of shape with the same face anywhere on the
plate, and those with a body of some size that touch.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import cache
from typing import NamedTuple

from platecard.documents.diagram.contrast import contrast
from platecard.knowledge import looks as known
from platecard.knowledge.colours import colour, palette
from platecard.knowledge.names import fold
from platecard.layout import geometry2d, plate_geometry, shapes
from platecard.layout.footprint import Arrangement, Footprint
from platecard.model import Component, Dish
from platecard.model.appearance import Appearance

STEP = 13.0  # two neighbours with at least this contrast need no hatch
STEP_ON = 20.0  # a piece with at least this contrast to what it lies on needs no white edge
DARK = 38.0  # CIE L* below which a fill gets lines lighter than itself
FROND = 0.45  # opacity of the space that a frond takes up
_NEAR_MM = 1.0
_SPEAKING = frozenset(
    {"leaf", "frond", "flower", "crumb", "dot", "ring", "drizzle"}
)  # known by their shape whatever their colour
# Each hatch as pairs of angle and spacing, in degrees and mm; the first is no hatch.
HATCHES: tuple[tuple[tuple[float, float], ...], ...] = (
    (),
    ((45.0, 2.4),),
    ((135.0, 2.4),),
    ((0.0, 2.4),),
    ((90.0, 2.4),),
    ((45.0, 3.2), (135.0, 3.2)),
    ((0.0, 3.2), (90.0, 3.2)),
)
_FAMILY = {
    "disc": "round",
    "dot": "dot",
    "pool": "pool",
    "flower": "flower",
    "leaf": "leaf",
    "frond": "frond",
    "crumb": "crumb",
    "shard": "shard",
    "wedge": "wedge",
    "ring": "ring",
    "drizzle": "drizzle",
    "swipe": "pool",
    "foam": "foam",
}


class Look(NamedTuple):
    """How a component is drawn: its fill, its outline, the middle tone of its details, its hatch.

    With ``bed`` its pieces have a white edge, because somewhere they lie on something they could be mistaken for.
    ``face`` is what is drawn on it, with its ``second`` and ``third`` colours and the size of what lies loose in it.
    ``within`` are the outlines of what stands at the edge of a sauce, in mm about the plate's middle, and ``room_mm``
    is how far that edge is from the wall of the well.
    """

    fill: str
    line: str
    tone: str
    hatch: tuple[tuple[float, float], ...] = ()
    bed: bool = False
    face: str = ""
    second: str = ""
    third: str = ""
    grain_mm: tuple[float, float] = (4.0, 3.0)
    within: tuple[geometry2d.Outline, ...] = ()
    room_mm: float = 99.0


# The faces of what lies loose, and the shapes in which food can; the shapes that bear any other face; those of herbs.
LOOSE_FACES = frozenset({"grains", "leaves", "lumps", "strands", "straws"})
LOOSE = frozenset({"pool", "disc", "dot", "foam"})
FACED = frozenset(
    {"disc", "dot", "slice", "bar", "cube", "quenelle", "wedge", "fillet", "shard", "leaf", "crumb", "outline"}
)
STALKS = frozenset({"jointed", "shoots"})


def bears(shape: str, face: str) -> bool:
    """Whether pieces of a shape are drawn with a face; without one they are drawn as any food of that shape."""
    return shape in (LOOSE if face in LOOSE_FACES else {"frond"} if face in STALKS else FACED)


BROWN = "#8a5522"  # what the oven or the pan puts over the colour of a food


# --- arithmetic on colours -------------------------------------------------------------------------------------------


def channels(hex_: str) -> tuple[int, int, int]:
    """Red, green and blue, from 0 to 255."""
    return int(hex_[1:3], 16), int(hex_[3:5], 16), int(hex_[5:7], 16)


def mix(one: str, two: str, share: float) -> str:
    """``one`` mixed with ``two``; ``share`` (0 to 1) is how much of ``two``."""
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in zip(channels(one), channels(two)))


@cache
def lightness(hex_: str) -> float:
    """CIE L* of a colour: 0 is black, 100 white, and equal steps look equal in grey."""
    linear = [
        c / 12.92 if c <= 0.04045 else float(((c + 0.055) / 1.055) ** 2.4) for c in (v / 255 for v in channels(hex_))
    ]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 116 * float(y ** (1 / 3)) - 16 if y > 0.008856 else 903.3 * y


@cache
def lines_for(fill: str) -> tuple[str, str]:
    """The colours of the outline and the details for a fill: darker, or lighter where the fill is nearly black."""
    if lightness(fill) < DARK:
        # A dark line would be lost on dark food below it, while the fill itself stands out on a plate.
        return mix(fill, "#f4e8da", 0.5), mix(fill, "#f4e8da", 0.32)
    dark = mix(fill, "#21150a", 0.69)
    return dark, mix(fill, dark, 0.45)


# --- which component gets which look ---------------------------------------------------------------------------------


class _Seen(NamedTuple):
    """The colours and the face of one component before it is compared with the others; empty where unknown."""

    fill: str = ""
    second: str = ""
    third: str = ""
    face: str = ""
    grain_mm: tuple[float, float] = (4.0, 3.0)


def _seen(c: Component, one: Appearance, shape: str) -> _Seen:
    """What the spec, the food itself and the table of looks say, in this order."""
    said = (c.colour and colour(c.colour)) or ""
    by_food = one.colour or known.by_name(fold(c.called)) or known.by_name(fold(c.key)) or ""
    row = known.drawn(one, shape)
    if row is None:
        return _Seen(said or by_food)
    fill = row.fill or (mix(by_food, BROWN, row.browned) if by_food and row.browned else by_food)
    shades = {"fill": fill, "second": row.second, "third": row.third}
    if said:
        shades[row.shown_by] = said
    fill, second, third = shades["fill"], shades["second"], shades["third"]
    # Where the chef's own colour comes too near to that of a skin or a seed, it moves away from the fill.
    if fill and second and abs(lightness(fill) - lightness(second)) < APART:
        second = mix(
            second, "#fffaf0" if lightness(second) > lightness(fill) or lightness(fill) < DARK else "#1d120a", 0.4
        )
    return _Seen(fill, second, third, row.face if bears(shape, row.face) else "", row.grain_mm)


APART = 14.0  # CIE L* between the fill of a food and the second colour of its face


def _appearance(c: Component, shown: Sequence[tuple[str, Appearance]]) -> Appearance:
    """What is known of a component, or of the swap in its place, which is told by its name; of any other, that name."""
    named = fold(c.called)
    one = next((one for key, one in shown if key == c.key and known.says(one.made, (named,))), None)
    return one or Appearance(named, frozenset(), f"{named} {fold(c.key)}" if not shown else named)


def looks(arrangement: Arrangement, dish: Dish) -> dict[str, Look]:
    """A look for every component of the dish; those on the plate choose their hatches first, in plating order."""
    words, turn = palette()
    free = iter(turn * 3)
    shape_of = {s.put: (s.piece.shape if s.piece else s.arrange) for s in reversed(dish.steps)}
    seen = {c.key: _seen(c, _appearance(c, arrangement.looks), shape_of.get(c.key, "")) for c in dish.components}
    used = {one.fill for one in seen.values()}
    for key, one in seen.items():
        if not one.fill:
            fill = next((words[w] for w in free if words[w] not in used), words[turn[0]])
            seen[key] = one._replace(fill=fill)
            used.add(fill)
    fills = {key: one.fill for key, one in seen.items()}
    families: dict[str, set[tuple[str, str]]] = {}
    for f in arrangement.footprints:
        # A face of its own tells a food from others of its shape.
        face = seen[f.component].face if f.component in seen else ""
        families.setdefault(f.component, set()).add((_FAMILY.get(f.shape, "long"), face))
    touching = neighbours(arrangement, fills)
    beds = {over for over, _ in lying_on(arrangement, fills, dish.at_table)}
    found: dict[str, Look] = {}
    for key in (*arrangement.order, *(k for k in fills if k not in arrangement.order)):
        mine = families.get(key, set())
        alike = {
            found[k].hatch
            for k in found
            if (mine & families.get(k, set()) or frozenset((k, key)) in touching)
            and contrast(fills[k], fills[key]) < STEP
        }
        hatch = next((h for h in HATCHES if h not in alike), HATCHES[-1])
        one = seen[key]
        found[key] = Look(
            one.fill,
            *lines_for(one.fill),
            hatch,
            key in beds,
            one.face,
            one.second,
            one.third,
            one.grain_mm,
            _at_its_edge(arrangement, key),
            _room(arrangement, key),
        )
    return found


def _at_its_edge(arrangement: Arrangement, key: str) -> tuple[geometry2d.Outline, ...]:
    """The outlines of the pieces that a sauce of this component meets with its edge: partly in it, partly beside."""
    found = []
    for pool in (f for f in arrangement.footprints if f.component == key and f.shape == "pool"):
        (x0, y0), r = pool.centre, pool.length_mm / 2
        for g in arrangement.footprints:
            if g.component != key and g.shape not in shapes.SAUCES and geometry2d.boxes_meet(pool.box, g.box):
                far = [math.hypot(x - x0, y - y0) for x, y in g.outline]
                if min(far) < r < max(far):
                    found.append(g.outline)
    return tuple(found)


def _room(arrangement: Arrangement, key: str) -> float:
    """How far the loose edges of a component are from the wall of the well, in mm; none may be drawn beyond it."""
    well = plate_geometry.well(arrangement.plate)
    return min(
        (
            max(0.0, -well.beyond(f.centre) - f.length_mm / 2)
            for f in arrangement.footprints
            if f.component == key and f.shape in shapes.ROUND
        ),
        default=99.0,
    )


def neighbours(arrangement: Arrangement, fills: dict[str, str]) -> set[frozenset[str]]:
    """Pairs of components with too little contrast whose bodies touch or overlap."""
    rows = sorted((f.box, i) for i, f in enumerate(arrangement.footprints) if f.shape not in _SPEAKING)
    found: set[frozenset[str]] = set()
    for k, (one, i) in enumerate(rows):
        a = arrangement.footprints[i]
        for two, j in rows[k + 1 :]:
            if two[0] > one[2] + _NEAR_MM:
                break
            b = arrangement.footprints[j]
            pair = frozenset((a.component, b.component))
            if (
                len(pair) == 2
                and pair not in found
                and geometry2d.boxes_meet(one, two, _NEAR_MM)
                and contrast(fills[a.component], fills[b.component]) < STEP
                and geometry2d.distance(a.outline, b.outline) <= _NEAR_MM
            ):
                found.add(pair)
    return found


def drawn_on(f: Footprint, fill: str, under: str) -> str:
    """The colour that a piece of this fill shows on top of the colour ``under``.

    The face of a standing piece is drawn lighter, and a frond lets what is below it through.
    """
    if f.stance == "standing":
        return mix(fill, "#ffffff", 0.3)
    return mix(under, fill, FROND) if f.shape == "frond" else fill


def edge(f: Footprint, look: Look) -> str:
    """The colour of a piece's outline or strokes; a frond is nothing but strokes, so they are always dark."""
    return look.fill if f.shape == "frond" and lightness(look.fill) < DARK else look.line


def lying_on(
    arrangement: Arrangement, fills: dict[str, str], later: frozenset[int] = frozenset()
) -> set[tuple[str, str]]:
    """Pairs (over, under) of components where a piece lies on another from which it does not stand out enough.

    The pieces of the steps ``later`` are left out.
    """
    prints = tuple(f for f in arrangement.footprints if f.step not in later)
    rows = sorted((f.box, i) for i, f in enumerate(prints))
    found: set[tuple[str, str]] = set()
    for k, (one, i) in enumerate(rows):
        for two, j in rows[k + 1 :]:
            if two[0] > one[2]:
                break
            if two[1] > one[3] or two[3] < one[1]:
                continue
            under, over = (prints[i], prints[j]) if i < j else (prints[j], prints[i])
            pair = over.component, under.component
            if pair[0] == pair[1] or pair in found:
                continue
            below = fills[pair[1]]
            if contrast(drawn_on(over, fills[pair[0]], below), below) < STEP_ON and (
                geometry2d.contains(under.outline, over.centre) or geometry2d.meet(over.outline, under.outline)
            ):
                found.add(pair)
    return found
