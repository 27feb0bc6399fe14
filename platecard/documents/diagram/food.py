"""How each kind of piece is drawn from above, so that a cook recognises it without reading.

Each piece has a soft shadow on what lies below it, a body, a hatch if its component needs
one, and the few lines that make it a slice, a leaf or a quenelle.  Lengths are true
millimetres of the page, y down.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator

from platecard.documents.diagram.beds import BEDS, FILM, gleam_dot
from platecard.documents.diagram.bodies import SPREAD
from platecard.documents.diagram.colours import FACED, LOOSE, Look, lightness, mix
from platecard.documents.diagram.faces import FACES, OWN_BODY
from platecard.documents.diagram.marks import INK, kind
from platecard.documents.diagram.pen import BED, DETAIL, OUTLINE, Pen, StandingPen, bedded, hatched, style
from platecard.drawing.scene import About, Circle, Item, Path, Polygon
from platecard.layout.footprint import Footprint
from platecard.layout.geometry2d import Point

_NONE = Look("#ffffff", "#ffffff", "#ffffff")
_FLAT = frozenset({"pool", "frond", "swipe", "drizzle"})


def piece(f: Footprint, look: Look, centre: Point, about: About) -> Iterator[Item]:
    """The items of one piece, lowest first; the one that carries ``about`` has exactly the piece's outline."""
    if f.stance == "standing":
        yield from _standing(StandingPen(f, look, centre), Pen(f, look, centre), about)
        return
    pen = Pen(f, look, centre)
    is_loose = look.face in BEDS and f.shape in LOOSE
    face = FACES.get(look.face) if f.shape in FACED else None
    has_own_body = face is not None and look.face in OWN_BODY
    if f.shape not in _FLAT and not is_loose and not has_own_body:
        yield pen.shadow()
    if is_loose:
        yield from BEDS[look.face](pen, about)
    elif f.shape in SPREAD:
        yield from SPREAD[f.shape](pen, about)
    elif face is not None and has_own_body:
        yield pen.body(style(fill=look.fill, fill_opacity=FILM), about)
        yield from face(pen)
    else:
        yield from bedded(pen)
        yield pen.body(
            style(fill=look.fill, stroke=look.line, width=pen.width, join="miter" if f.shape == "shard" else "round"),
            about,
        )
        yield from hatched(pen)
        yield from (face or KINDS[f.shape])(pen)
    if f.stance == "leaning":
        yield from _leaning(pen)


def to_come(f: Footprint, centre: Point, about: About, unit: float = 3.0) -> Iterator[Item]:
    """A piece that is not on the plate yet: an empty outline in long dashes on a light bed.

    ``unit`` is how many mm of the plate are one mm of the card; the dashes have a fixed length on the card.
    """
    pen = Pen(f, _NONE, centre)
    around = math.pi * (f.length_mm + f.width_mm) / 2 / unit
    period = min(3.8, around / 6)  # at least six dashes, or a drop would look solid
    yield pen.body(style(stroke="#ffffff", width=1.1))
    yield pen.body(
        style(stroke=INK, width=0.45, dash=(round(0.63 * period, 3), round(0.37 * period, 3)), cap="butt"), about
    )


# --- kinds -----------------------------------------------------------------------------------------------------------


def _disc(pen: Pen) -> Iterator[Item]:
    """A round slice, with its edge as a second line."""
    if pen.f.width_mm > 7:
        yield pen.ring(0.82)


def _dot(pen: Pen) -> Iterator[Item]:
    """A drop of sauce, with its gleam."""
    yield from gleam_dot(pen)


def _slice(pen: Pen) -> Iterator[Item]:
    """The skin or crust along the flatter side, and the grain running away from it.

    With the outside up it is the scored or browned face instead.
    """
    if kind(pen.f.up) == "outside":
        yield pen.ring(0.86)
        rows = max(2, min(5, round(pen.f.length_mm / 12)))
        yield pen.curves(
            *(
                ((-0.5, v - 0.12), (0.0, v), (0.5, v + 0.12))
                for v in (((i + 1) / (rows + 1)) * 1.5 - 0.75 for i in range(rows))
            ),
            pen=style(stroke=pen.look.line, width=0.34),
        )
        return
    points = pen.points
    half = len(points) // 2
    # The outline starts up the right side, so its second half is the flatter left side.
    edge = [((x - pen.x) * 0.9 + pen.x, (y - pen.y) * 0.9 + pen.y) for x, y in points[half + 3 : len(points) - 2]]
    if len(edge) > 2:
        yield Polygon(tuple(edge), style(stroke=pen.look.line, width=0.42), closed=False)
    rows = max(2, min(5, round(pen.f.length_mm / 10)))
    yield pen.curves(
        *(
            ((-0.5, v - 0.14), (0.05, v + 0.02), (0.58, v + 0.02))
            for v in (((i + 1) / (rows + 1)) * 1.6 - 0.8 for i in range(rows))
        )
    )


def _bar(pen: Pen) -> Iterator[Item]:
    yield pen.line((-0.42, -0.86), (-0.42, 0.8))
    yield pen.line((0.38, -0.8), (0.38, 0.86))


def _cube(pen: Pen) -> Iterator[Item]:
    """The top face, and the edges down from it."""
    if min(pen.f.width_mm, pen.f.length_mm) < 5:
        return
    yield pen.line((-0.66, -0.66), (0.66, -0.66), (0.66, 0.66), (-0.66, 0.66), (-0.66, -0.66))
    for u, v in ((1, 1), (1, -1), (-1, 1), (-1, -1)):
        yield pen.line((0.66 * u, 0.66 * v), (0.9 * u, 0.9 * v))


def _quenelle(pen: Pen) -> Iterator[Item]:
    """Three smooth sides from two spoons: one in shade, a soft ridge, and a gleam on the side in the light."""
    points = pen.points
    half = len(points) // 2
    (x0, y0), (x1, y1) = pen.at(0, 0), pen.at(1, 0)
    s = 1 if 0.7 * (x1 - x0) + (y1 - y0) >= 0 else -1
    away = points[: half + 1] if s > 0 else points[half:][::-1]
    ridge = [
        pen.at(s * 0.34 * math.cos(math.pi / 2 * v), 0.94 * v) for v in (-1, -0.75, -0.5, -0.25, 0, 0.25, 0.5, 0.75, 1)
    ]
    yield Polygon((*away, *ridge[::-1]), style(fill=pen.look.tone, fill_opacity=0.4))
    yield pen.curves(
        ((-0.36 * s, -0.6), (-0.56 * s, -0.02), (-0.34 * s, 0.56)),
        ((-0.14 * s, -0.42), (-0.24 * s, -0.1), (-0.18 * s, 0.2)),
        pen=style(stroke=mix(pen.look.fill, "#ffffff", 0.85), width=0.5),
    )


def _shard(pen: Pen) -> Iterator[Item]:
    """A broken face: one facet darker, and cracks from its corners."""
    points = pen.points
    middle = pen.at(0.12, -0.08)
    yield Polygon((points[0], points[1], middle), style(fill=pen.look.tone, fill_opacity=0.5))
    third = points[len(points) * 2 // 3]
    yield Path(
        (
            ("M", *points[0]),
            ("L", *middle),
            ("L", *points[1]),
            ("M", *middle),
            ("L", (middle[0] + 2 * third[0]) / 3, (middle[1] + 2 * third[1]) / 3),
        ),
        style(stroke=pen.look.tone, width=DETAIL, join="miter"),
    )


def _leaf(pen: Pen) -> Iterator[Item]:
    yield pen.line((0, -1), (0.02, -0.2), (0, 0.86), pen=style(stroke=pen.look.line, width=0.24))
    pairs = 3 if pen.f.length_mm > 14 else 2
    veins = []
    for i in range(pairs):
        v = -0.62 + i * 1.0 / pairs
        for side in (-1, 1):
            veins.append(((0, v), (side * 0.3, v + 0.2), (side * (0.6 - 0.1 * i), v + 0.5)))
    yield pen.curves(*veins)


def _flower(pen: Pen) -> Iterator[Item]:
    small = min(pen.f.width_mm, pen.f.length_mm)
    notches = []
    for i in range(5):
        a = math.radians(36 + 72 * i)
        notches += [
            ("M", *pen.at(0.3 * math.sin(a), 0.3 * math.cos(a))),
            ("L", *pen.at(0.64 * math.sin(a), 0.64 * math.cos(a))),
        ]
    yield Path(tuple(notches), pen.detail)
    light = lightness(pen.look.fill) > 60
    yield Circle(
        pen.x,
        pen.y,
        0.13 * small,
        style(fill=mix(pen.look.fill, "#7a4a12" if light else "#f2d675", 0.75), stroke=pen.look.line, width=DETAIL),
    )


def _wedge(pen: Pen) -> Iterator[Item]:
    """The rind along the curved back, and the segments running to the tip."""
    back = pen.points[: len(pen.points) - 3]
    yield Polygon(
        tuple((x + (pen.x - x) * 0.12, y + (pen.y - y) * 0.12) for x, y in back[1:-1]),
        style(stroke=pen.look.line, width=0.42),
        closed=False,
    )
    yield Path(
        (("M", *pen.at(0, 0.75)), ("L", *pen.at(-0.28, -0.62)), ("M", *pen.at(0, 0.75)), ("L", *pen.at(0.28, -0.62))),
        pen.detail,
    )


def _fillet(pen: Pen) -> Iterator[Item]:
    """Flakes across it, curved towards the tail, and the edge where the skin was."""
    points = pen.points
    edge = points[len(points) // 2 + 4 : len(points) - 4]
    yield Polygon(
        tuple(((x - pen.x) * 0.9 + pen.x, (y - pen.y) * 0.9 + pen.y) for x, y in edge),
        style(stroke=pen.look.line, width=0.34),
        closed=False,
    )
    rows = max(3, min(6, round(pen.f.length_mm / 14)))
    flakes = []
    for i in range(rows):
        v = -0.7 + 1.3 * i / (rows - 1)
        reach = 0.74 - 0.3 * max(0.0, v) - 0.12 * abs(v)
        flakes.append(((-reach, v - 0.02), (0.1, v + 0.15), (reach, v - 0.06)))
    yield pen.curves(*flakes)


def _crumb(pen: Pen) -> Iterator[Item]:
    """A rough lump: the face of it that is in the light."""
    if pen.small > 3:
        d = 0.13 * pen.small
        yield Polygon(
            tuple([(pen.x - d + (x - pen.x) * 0.55, pen.y - d + (y - pen.y) * 0.55) for x, y in pen.points]),
            style(fill=mix(pen.look.fill, "#fff6e0", 0.4)),
        )


def _plain(pen: Pen) -> Iterator[Item]:
    """Nothing but its outline, which is the chef's own."""
    yield from ()


KINDS: dict[str, Callable[[Pen], Iterator[Item]]] = {
    "disc": _disc,
    "dot": _dot,
    "slice": _slice,
    "bar": _bar,
    "cube": _cube,
    "quenelle": _quenelle,
    "shard": _shard,
    "leaf": _leaf,
    "flower": _flower,
    "wedge": _wedge,
    "fillet": _fillet,
    "crumb": _crumb,
    "outline": _plain,
}
"""The details of the kinds whose body is their outline; those that draw their own are in :data:`SPREAD`."""


# --- stance and facing -----------------------------------------------------------------------------------------------


def _standing(pen: StandingPen, foot_pen: Pen, about: About) -> Iterator[Item]:
    """A standing piece: a thin dark foot with its shadow, and its face rising behind it in a bird's-eye view."""
    look, face = pen.look, pen.points
    yield foot_pen.shadow()
    if look.bed:
        yield Polygon(face, style(stroke="#ffffff", width=BED))
    yield Polygon(
        face,
        style(fill=mix(look.fill, "#ffffff", 0.3), fill_opacity=0.96, stroke=look.line, width=pen.width, join="miter"),
    )
    yield from hatched(pen, face)
    if look.face in FACES and (look.face not in OWN_BODY or look.face == "swirled"):
        yield from FACES[look.face](pen)
    foot = mix(look.fill, "#241608", 0.55)
    yield foot_pen.body(style(fill=foot, stroke=foot, width=OUTLINE), about)


def _leaning(pen: Pen) -> Iterator[Item]:
    """The raised end of a leaning piece: a heavy edge, and the space beneath it in shade."""
    yield Polygon(
        (pen.at(-0.8, 0.55), pen.at(0.8, 0.55), pen.at(0.8, 0.95), pen.at(-0.8, 0.95)),
        style(fill=pen.look.line, fill_opacity=0.35),
    )
    yield pen.line((-0.8, 0.95), (0.8, 0.95), pen=style(stroke=pen.look.line, width=0.6))
