"""What each component looks like in the drawing: its colour, the tone of its lines, its hatch.

The colour comes from the spec, or from the component's name if that is a food of the
palette, or else from the palette in turn.  Cards are copied in grey, and some cooks do not
tell red from green, so two components that a reader could mistake for each other get
different hatches: those drawn as the same kind of shape anywhere on the plate, and those
with a body of some size that touch.
"""

from __future__ import annotations

import re
from functools import cache
from typing import NamedTuple

from platecard.documents.diagram.contrast import contrast
from platecard.knowledge.colours import colour, palette
from platecard.layout import geometry2d
from platecard.layout.footprint import Arrangement, Footprint
from platecard.model import Dish

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
    """

    fill: str
    line: str
    tone: str
    hatch: tuple[tuple[float, float], ...] = ()
    bed: bool = False


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


def _named(text: str) -> str | None:
    """The palette's colour for a name such as "pickled cucumber", or None.

    Pairs of words are looked up before single words, each from the end of the name.
    """
    words = palette()[0]
    parts = re.findall(r"[a-z]+", text.lower())
    pairs = [f"{a} {b}" for a, b in zip(parts, parts[1:])]
    for name in (*pairs[::-1], *parts[::-1]):
        for form in (name, name.removesuffix("s"), name.removesuffix("es")):
            if form in words:
                return words[form]
    return None


def looks(arrangement: Arrangement, dish: Dish) -> dict[str, Look]:
    """A look for every component of the dish; those on the plate choose their hatches first, in plating order."""
    words, turn = palette()
    free = iter(turn * 3)
    fills: dict[str, str] = {}
    for c in dish.components:
        fills[c.key] = (c.colour and colour(c.colour)) or _named(c.called) or _named(c.key) or ""
    used = set(fills.values())
    for key, fill in fills.items():
        if not fill:
            fills[key] = next((words[w] for w in free if words[w] not in used), words[turn[0]])
            used.add(fills[key])
    families: dict[str, set[str]] = {}
    for f in arrangement.footprints:
        families.setdefault(f.component, set()).add(_FAMILY.get(f.shape, "long"))
    touching = neighbours(arrangement, fills)
    beds = {
        over
        for over, _ in lying_on(arrangement, fills, frozenset(s.index for s in dish.steps if s.section == "at_table"))
    }
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
        found[key] = Look(fills[key], *lines_for(fills[key]), hatch, key in beds)
    return found


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
