"""What each component looks like in the drawing: a colour, a line tone, a hatch.

A colour comes from the spec, else from the component's own name where that is a food
of the palette, else from the palette in turn.  Since a card is copied in grey and some
cooks see red and green alike, two components that the worst placed reader could take
for one another are told apart by a hatch: those drawn with the same kind of shape
anywhere on the plate, and those with a body of some size wherever they touch.
"""

from __future__ import annotations

import re
from dataclasses import dataclass
from functools import cache

from platecard.documents.diagram.contrast import contrast
from platecard.knowledge.colours import colour, palette
from platecard.layout import geometry2d
from platecard.layout.footprint import Arrangement, Footprint
from platecard.model.nouns import Dish

STEP = 13.0  # the least contrast that two neighbours must have to need no hatch
STEP_ON = 20.0  # what a piece needs to stand out from what it lies on without a white edge
DARK = 38.0  # CIE L* below which a fill has lighter lines than itself
FROND = 0.45  # how much of a frond's colour covers what it lies on
_NEAR_MM = 1.0
_SPEAKING = frozenset(
    {"leaf", "frond", "flower", "crumb", "dot", "ring", "drizzle"}
)  # known by their shape whatever their colour
# Angle and distance of the hatches, in degrees and mm; the first is none at all.
HATCHES = (
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


@dataclass(frozen=True, slots=True)
class Look:
    """How a component is drawn: fill, dark line, middle tone of its detail, hatch.

    ``bed``: a white line runs round its pieces, because somewhere they lie on what they could be taken for.
    """

    fill: str
    line: str
    tone: str
    hatch: tuple[tuple[float, float], ...] = ()
    bed: bool = False


# --- arithmetic on colours -------------------------------------------------------------------------------------------


def channels(hex_: str) -> tuple[int, int, int]:
    return int(hex_[1:3], 16), int(hex_[3:5], 16), int(hex_[5:7], 16)


def mix(one: str, two: str, share: float) -> str:
    """``one`` with ``share`` of ``two`` in it."""
    return "#" + "".join(f"{round(a + (b - a) * share):02x}" for a, b in zip(channels(one), channels(two)))


@cache
def lightness(hex_: str) -> float:
    """CIE L*: 0 is black, 100 white; equal steps look equal in grey."""
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in (v / 255 for v in channels(hex_))]
    y = 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]
    return 116 * y ** (1 / 3) - 16 if y > 0.008856 else 903.3 * y


@cache
def lines_for(fill: str) -> tuple[str, str]:
    """The outline and the middle tone for a fill: darker, or lighter where the fill is nearly black."""
    if lightness(fill) < DARK:
        # A dark line would be lost on dark food below; the fill itself stands out on a plate.
        return mix(fill, "#f4e8da", 0.5), mix(fill, "#f4e8da", 0.32)
    dark = mix(fill, "#21150a", 0.66)
    return dark, mix(fill, dark, 0.45)


# --- handing out -----------------------------------------------------------------------------------------------------


def _named(text: str) -> str | None:
    """The palette's colour for a name such as "pickled cucumber": two words together first, the last word first."""
    words = palette()[0]
    parts = re.findall(r"[a-z]+", text.lower())
    pairs = [f"{a} {b}" for a, b in zip(parts, parts[1:])]
    for name in (*pairs[::-1], *parts[::-1]):
        for form in (name, name.removesuffix("s"), name.removesuffix("es")):
            if form in words:
                return words[form]
    return None


def looks(arrangement: Arrangement, dish: Dish) -> dict[str, Look]:
    """A look for every component of the dish, in plating order first."""
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
    """Pairs of components of too little contrast whose bodies touch or overlap."""
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
    """The colour that a piece with this fill shows on one of colour ``under``:

    a frond is thin, a standing face catches light.
    """
    if f.stance == "standing":
        return mix(fill, "#ffffff", 0.3)
    return mix(under, fill, FROND) if f.shape == "frond" else fill


def edge(f: Footprint, look: Look) -> str:
    """The colour of a piece's own outline or strokes: a frond has nothing but strokes, dark whatever its colour."""
    return look.fill if f.shape == "frond" and lightness(look.fill) < DARK else look.line


def lying_on(
    arrangement: Arrangement, fills: dict[str, str], later: frozenset[int] = frozenset()
) -> set[tuple[str, str]]:
    """Pairs (over, under) of components where a piece lies over another that it stands out from too little;

    none of the steps ``later``.
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
