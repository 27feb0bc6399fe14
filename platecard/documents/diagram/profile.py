"""What each kind of piece looks like from the guest's side, so that a cook recognises it without reading.

Each piece is a silhouette, which carries ``about``, and a few lines of detail over it.
The silhouette is exactly as wide as the piece's outline from above, and reaches exactly
from its foot to its top.  The outlines of the kinds are drawn in a box of 1 by 1 with the
foot at 0, and stretched to that size.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import cache, lru_cache

from platecard.documents.diagram.pen import style
from platecard.documents.diagram.side_view_pen import Segments, SidePen, filled, fit, mirrored, turned
from platecard.drawing.scene import About, Circle, Item
from platecard.layout import shapes
from platecard.layout.footprint import Footprint
from platecard.layout.geometry2d import Outline, Point, hull

_ROUND = 0.5523  # how far the control points of a quarter circle lie along its tangents


def profile(pen: SidePen, about: About, shingled: float = 0.0) -> Iterator[Item]:
    """The items of one piece.

    ``shingled`` is for a piece that lies on the one before it: 1 where that one is to its right, -1 to its left, 0
    where it is straight in front or behind, or where the piece does not lie on it.
    """
    f = pen.f
    if f.stance == "standing":
        yield from _standing(pen, about)
    elif f.stance == "leaning":
        yield from _leaning(pen, about)
    elif shingled and f.shape in ("slice", "disc", "fillet", "bar"):
        yield from _tilted(pen, about, shingled)
    else:
        yield from KINDS[f.shape](pen, about)


def inside(f: Footprint) -> Point:
    """A point of the unit box that lies on the piece, where a leader may end."""
    lean = math.sin(math.radians(f.axis_deg))
    if f.stance != "flat":
        return (0.1, 0.5) if f.shape == "ring" else (0.5, 0.6)
    if f.shape == "leaf":
        u, v = (0.6, 0.42) if abs(lean) > 0.4 else (0.5, 0.66)
    elif f.shape in ("swipe", "wedge") and abs(lean) > 0.3:
        u, v = 0.3, 0.4
    elif f.shape == "ring":
        u, v = 0.08, 0.5
    else:
        return 0.5, 0.55
    return u if lean >= 0 else 1 - u, v


# --- flat on the plate -----------------------------------------------------------------------------------------------


def _rounded(pen: SidePen, most_mm: float) -> Segments:
    """A box whose upper corners are rounded by at most ``most_mm``."""
    r = min(most_mm, pen.w / 2, 0.45 * pen.h)
    u, v = r / pen.w, r / pen.h
    a, b = u * (1 - _ROUND), v * (1 - _ROUND)
    return (
        ("M", 0, 0),
        ("L", 0, 1 - v),
        ("C", 0, 1 - b, a, 1, u, 1),
        ("L", 1 - u, 1),
        ("C", 1 - a, 1, 1, 1 - b, 1, 1 - v),
        ("L", 1, 0),
        ("Z",),
    )


def _disc(pen: SidePen, about: About) -> Iterator[Item]:
    """Cut round: a soft upper edge, and the far edge of its top as a shallow bow."""
    yield pen.path(_rounded(pen, 2.5), pen.face, about)
    if pen.h > 5 and pen.w > 8:
        v, u = 1 - 1.2 / pen.h, 1.2 / pen.w
        yield pen.path((("M", u, v), ("C", 0.3, v - 1.4 / pen.h, 0.7, v - 1.4 / pen.h, 1 - u, v)), pen.fine)


def _block(pen: SidePen, about: About) -> Iterator[Item]:
    """Cut square: sharp edges, and beside the upright edge nearest the guest one side in shade."""
    yield pen.path(_rounded(pen, 0.8), pen.face, about)
    if pen.h < 4 or pen.w < 4:
        return
    near = min(pen.f.outline, key=lambda p: (round(p[1], 3), p[0]))[0]
    u = (near - pen.left) / pen.w
    if 0.12 < u < 0.88:
        yield pen.polygon(
            (
                ((u, 0.02), (u, 0.97), (0.985, 0.97), (0.985, 0.02))
                if u > 0.5
                else ((u, 0.02), (u, 0.97), (0.015, 0.97), (0.015, 0.02))
            ),
            style(fill=pen.look.tone, fill_opacity=0.35),
        )
        yield pen.polygon(((u, 0), (u, 1)), pen.line, closed=False)
    elif pen.h > 6 and pen.w > 8:
        yield pen.polygon(((1.5 / pen.w, 1 - 1.6 / pen.h), (1 - 1.5 / pen.w, 1 - 1.6 / pen.h)), pen.fine, closed=False)


def _slice(pen: SidePen, about: About) -> Iterator[Item]:
    """A thin slab with slanted ends, as it comes off the knife."""
    s = min(0.2, 0.5 * pen.h / pen.w)
    yield pen.polygon(mirrored(((0, 0), (s, 1), (1, 1), (1 - s, 0)), pen.lean), pen.face, about)
    if pen.h > 4:
        yield pen.polygon(mirrored(((s, 0.76), (1 - s / 2, 0.76)), pen.lean), pen.fine, closed=False)


def _tilted(pen: SidePen, about: About, shingled: float) -> Iterator[Item]:
    """A slab with one end resting on the piece before it.

    The tilt stays within the piece's height, so that what lies on it neither hangs in the air nor sinks in.
    """
    rise = 0.5 * abs(shingled)
    slab = mirrored(((0, 0), (1, rise), (1, 1), (0, 1 - rise)), shingled)
    yield pen.polygon(slab, pen.face, about)
    if pen.h > 4:
        (a, b), (c, d) = slab[3], slab[2]
        yield pen.polygon(((a + 0.06 * (c - a), b - 0.14), (c - 0.06 * (c - a), d - 0.14)), pen.fine, closed=False)


_ELLIPSE: Segments = (
    ("M", 0, 0.5),
    ("C", 0, 0.5 + _ROUND / 2, 0.5 - _ROUND / 2, 1, 0.5, 1),
    ("C", 0.5 + _ROUND / 2, 1, 1, 0.5 + _ROUND / 2, 1, 0.5),
    ("C", 1, 0.5 - _ROUND / 2, 0.5 + _ROUND / 2, 0, 0.5, 0),
    ("C", 0.5 - _ROUND / 2, 0, 0, 0.5 - _ROUND / 2, 0, 0.5),
    ("Z",),
)


def _quenelle(pen: SidePen, about: About) -> Iterator[Item]:
    """An ellipse with the ridge that the spoon leaves from tip to tip."""
    yield pen.path(_ELLIPSE, pen.face, about)
    if pen.w > 6:
        yield pen.path((("M", 0.05, 0.56), ("C", 0.3, 0.86, 0.7, 0.86, 0.95, 0.56)), pen.line)
        yield pen.path((("M", 0.16, 0.34), ("C", 0.36, 0.5, 0.64, 0.5, 0.84, 0.34)), pen.fine)


def _dot(pen: SidePen, about: About) -> Iterator[Item]:
    """The cap of a ball, or half an ellipse if it is higher than half its width."""
    a, h = pen.w / 2, pen.h
    if h >= a:
        side: tuple[Point, Point] = (0, _ROUND), (0.5 - _ROUND / 2, 1)
    else:
        # The angle that half the cap spans at the ball's centre.  The control points lie on the tangents at its foot
        # and at its top.
        span = 2 * math.atan2(h, a)
        handle = 4 / 3 * math.tan(span / 4) * (a * a + h * h) / (2 * h)
        side = (handle * math.cos(span) / pen.w, handle * math.sin(span) / h), (0.5 - handle / pen.w, 1)
    (u0, v0), (u1, v1) = side
    yield pen.path(
        (("M", 0, 0), ("C", u0, v0, u1, v1, 0.5, 1), ("C", 1 - u1, v1, 1 - u0, v0, 1, 0), ("Z",)), pen.face, about
    )
    if pen.w > 7 and pen.h > 2.5:
        yield pen.path((("M", 0.24, 0.5), ("C", 0.28, 0.68, 0.36, 0.78, 0.46, 0.82)), pen.fine)


@lru_cache(maxsize=64)
def _bubbles(bumps: int) -> Outline:
    """A mound with a level foot and a row of bubbles as its edge."""
    count = 6 * bumps
    edge = [
        (0.9 + 0.1 * abs(math.sin(math.pi * bumps * i / count)), math.pi * (1 - i / count)) for i in range(count + 1)
    ]
    return fit([(r * math.cos(a), r * math.sin(a)) for r, a in edge])


def _foam(pen: SidePen, about: About) -> Iterator[Item]:
    yield pen.polygon(_bubbles(max(5, min(13, round(pen.w / 3.5)))), pen.face, about)
    r = 0.06 * min(pen.w, 2 * pen.h)
    for u, v, k in ((0.3, 0.42, 1.0), (0.52, 0.66, 0.8), (0.68, 0.34, 1.2), (0.46, 0.26, 0.7)):
        yield Circle(*pen.at(u, v), max(0.2, k * r), pen.line)


@lru_cache(maxsize=256)
def _ragged(teeth: int, which: int) -> Outline:
    """A level foot and a ragged upper edge, no two teeth alike."""
    dice = shapes.chance("crumb from the side", teeth, which)
    top = [
        ((i + 0.5 + 0.5 * (next(dice) - 0.5)) / teeth, (0.55 if i % 2 else 0.82) + 0.18 * next(dice))
        for i in range(teeth)
    ]
    return fit([(0.0, 0.0), (0.0, 0.34), *top, (1.0, 0.4), (1.0, 0.0)])


@cache
def _lump(which: int) -> Outline:
    """A rough little lump, cut level at the bottom to sit on."""
    return fit([(x, max(y, -0.5)) for x, y in shapes.outline("crumb", 2.0, 2.0, which)])


def _crumb(pen: SidePen, about: About) -> Iterator[Item]:
    """A single lump, or a low ragged line where a lot of it is strewn as one piece."""
    if pen.w < 3 * pen.h:
        yield pen.polygon(_lump(pen.which), pen.face, about)
        return
    yield pen.polygon(_ragged(max(3, min(40, round(0.9 * pen.w / max(1.0, pen.h)) | 1)), pen.which), pen.face, about)


def _pool(pen: SidePen, about: About) -> Iterator[Item]:
    """A thin layer that runs out to an edge on both sides."""
    yield pen.path(
        (("M", 0, 0), ("C", 0.05, 0.7, 0.12, 1, 0.22, 1), ("L", 0.78, 1), ("C", 0.88, 1, 0.95, 0.7, 1, 0), ("Z",)),
        pen.face,
        about,
    )


def _swipe(pen: SidePen, about: About) -> Iterator[Item]:
    """Full where the spoon is set down, thinning out to where it is lifted."""
    if abs(pen.lean) < 0.3:
        yield from _pool(pen, about)
        return
    full: Segments = (("M", 0, 0), ("C", 0, 0.7, 0.05, 1, 0.14, 1), ("C", 0.36, 1, 0.5, 0.5, 1, 0), ("Z",))
    yield pen.path(turned(full, pen.lean), pen.face, about)


def _fillet(pen: SidePen, about: About) -> Iterator[Item]:
    """A loaf: from the side full at the head and falling to the tail, seen end on a low arch."""
    if abs(pen.lean) > 0.5:
        body: Segments = (
            ("M", 0.02, 0),
            ("C", -0.01, 0.4, 0.0, 1, 0.2, 1),
            ("C", 0.5, 1, 0.72, 0.86, 0.94, 0.5),
            ("C", 1.01, 0.36, 1, 0.12, 0.97, 0),
            ("Z",),
        )
        flakes: Segments = tuple(
            s
            for u in (0.26, 0.44, 0.62)
            for s in (("M", u, 0.94 - 0.5 * max(0.0, u - 0.3)), ("C", u + 0.05, 0.7, u + 0.05, 0.4, u - 0.01, 0.18))
        )
    else:
        body = (
            ("M", 0.03, 0),
            ("C", -0.01, 0.35, 0.02, 1, 0.34, 1),
            ("L", 0.66, 1),
            ("C", 0.98, 1, 1.01, 0.35, 0.97, 0),
            ("Z",),
        )
        flakes = (("M", 0.16, 0.62), ("C", 0.35, 0.8, 0.65, 0.8, 0.84, 0.62))
    body, flakes = turned(filled(body), pen.lean), turned(flakes, pen.lean)
    yield pen.path(body, pen.face, about)
    if pen.h > 5 and pen.w > 12:
        yield pen.path(flakes, pen.fine)


def _wedge(pen: SidePen, about: About) -> Iterator[Item]:
    """A cut from something round: its full back falls to its tip; seen end on it has a ridge."""
    if abs(pen.lean) > 0.5:
        body: Segments = (("M", 0.05, 0), ("C", -0.02, 0.3, -0.02, 0.75, 0.12, 1), ("L", 1, 0.16), ("L", 1, 0), ("Z",))
        yield pen.path(turned(filled(body), pen.lean), pen.face, about)
        if pen.h > 5:
            yield pen.polygon(mirrored(((0.16, 0.7), (0.9, 0.13)), pen.lean), pen.fine, closed=False)
        return
    yield pen.path(
        filled((("M", 0.04, 0), ("C", -0.02, 0.4, 0.3, 0.8, 0.5, 1), ("C", 0.7, 0.8, 1.02, 0.4, 0.96, 0), ("Z",))),
        pen.face,
        about,
    )
    if pen.h > 5:
        yield pen.polygon(((0.5, 0.97), (0.46, 0.06)), pen.fine, closed=False)


def _leaf(pen: SidePen, about: About) -> Iterator[Item]:
    """A light curve with the stalk on the plate and the tip lifted; seen end on an arch."""
    if abs(pen.lean) > 0.4:
        body: Segments = (("M", 0, 0), ("C", 0.3, 0.1, 0.75, 0.2, 1, 1), ("C", 0.7, 0.7, 0.25, 0.55, 0, 0), ("Z",))
        yield pen.path(turned(body, pen.lean), pen.face, about)
        return
    yield pen.path(
        filled((("M", 0, 0.1), ("C", 0.2, 1.1, 0.8, 1.1, 1, 0.1), ("C", 0.75, 0.6, 0.25, 0.6, 0, 0), ("Z",))),
        pen.face,
        about,
    )


def _spray(teeth: int, lean: float) -> Outline:
    """A feathered edge along a curve, its barbs leaning towards the tip."""
    points: list[Point] = [(0.0, 0.0)]
    for i in range(teeth):
        u = (i + 0.2) / teeth
        high = 0.45 + 0.55 * math.sin(math.pi * (0.15 + 0.7 * u))
        points += [(u, 0.55 * high - 0.1), (u + 0.75 / teeth, high)]
    return mirrored(fit([*points, (1.0, 0.25), (0.6, 0.12), (0.0, 0.0)]), lean)


_FRONDS = {(n, s): _spray(n, s) for n in (4, 5, 6, 7) for s in (-1.0, 1.0)}


def _frond(pen: SidePen, about: About) -> Iterator[Item]:
    yield pen.polygon(_FRONDS[max(4, min(7, round(pen.w / 2))), 1.0 if pen.lean >= 0 else -1.0], pen.face, about)


_CUP: Segments = (
    ("M", 0.42, 0),
    ("C", 0.2, 0.1, 0, 0.4, 0, 0.74),
    ("C", 0.1, 0.86, 0.22, 0.84, 0.3, 0.7),
    ("C", 0.34, 0.92, 0.42, 1, 0.5, 1),
    ("C", 0.58, 1, 0.66, 0.92, 0.7, 0.7),
    ("C", 0.78, 0.84, 0.9, 0.86, 1, 0.74),
    ("C", 1, 0.4, 0.8, 0.1, 0.58, 0),
    ("Z",),
)


def _flower(pen: SidePen, about: About) -> Iterator[Item]:
    """A cup of three petals."""
    yield pen.path(_CUP, pen.face, about)
    if pen.h > 2.5:
        yield pen.path(
            (
                ("M", 0.3, 0.7),
                ("C", 0.34, 0.45, 0.42, 0.2, 0.47, 0.05),
                ("M", 0.7, 0.7),
                ("C", 0.66, 0.45, 0.58, 0.2, 0.53, 0.05),
            ),
            pen.fine,
        )


def _shard(pen: SidePen, about: About) -> Iterator[Item]:
    """A thin broken plate lying flat, its ends not square."""
    yield pen.polygon(
        mirrored(((0, 0), (0.04, 0.8), (0.3, 1), (1, 0.86), (0.97, 0)), 1.0 if pen.which % 2 else -1.0),
        pen.face,
        about,
    )


def _ring(pen: SidePen, about: About) -> Iterator[Item]:
    """A ring cut through: its wall on either side, and the far wall paler between them."""
    piece, f = pen.piece, pen.f
    share = float(piece.hole_mm / piece.length_mm) if piece and piece.hole_mm else 0.6
    wall = (1 - share) / 2 * min(f.length_mm, f.width_mm) / pen.w
    yield pen.path(_rounded(pen, 1.2), pen.face, about)
    yield pen.polygon(((wall, 0), (wall, 0.9), (1 - wall, 0.9), (1 - wall, 0)), style(fill="#ffffff", fill_opacity=0.5))
    yield pen.path((("M", wall, 0), ("L", wall, 1), ("M", 1 - wall, 0), ("L", 1 - wall, 1)), pen.line)


KINDS: dict[str, Callable[[SidePen, About], Iterator[Item]]] = {
    "disc": _disc,
    "slice": _slice,
    "bar": _block,
    "cube": _block,
    "outline": _block,
    "quenelle": _quenelle,
    "dot": _dot,
    "foam": _foam,
    "crumb": _crumb,
    "pool": _pool,
    "drizzle": _pool,
    "swipe": _swipe,
    "fillet": _fillet,
    "wedge": _wedge,
    "leaf": _leaf,
    "frond": _frond,
    "flower": _flower,
    "shard": _shard,
    "ring": _ring,
}


# --- upright and leaning ---------------------------------------------------------------------------------------------

_FOOT = 0.55  # the least width of the foot that a broken piece stands on, as a share of its width


def _face_of(pen: SidePen) -> Outline:
    """The piece as it looks from above when it lies flat, in mm: the face that it shows when it stands."""
    f, piece = pen.f, pen.piece
    if piece is None:
        return ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
    if piece.points:
        return shapes.fitted([(float(x), float(y)) for x, y in piece.points], float(piece.length_mm), f.width_mm)
    return shapes.outline(
        piece.shape, float(piece.length_mm), f.width_mm, pen.which, float(piece.hole_mm) if piece.hole_mm else None
    )


def _standing(pen: SidePen, about: About) -> Iterator[Item]:
    """The piece's own outline upright, narrower the more it turns its edge to the guest.

    A broken piece is stuck in, not balanced on a corner.
    """
    shape = pen.piece.shape if pen.piece else pen.f.shape
    face = fit(_face_of(pen))
    # One that faces the guest is seen from the front, one that faces away from behind.
    if math.cos(math.radians(pen.f.axis_deg)) > 0:
        face = tuple([(1 - u, v) for u, v in face])
    if shape == "shard":
        face = fit(_stuck_in(face))
    yield pen.polygon(face, pen.face, about)
    if shape in ("shard", "wedge", "fillet") and min(pen.w, pen.h) > 6:
        a, b = face[len(face) // 3], face[2 * len(face) // 3]
        yield pen.polygon((a, (0.45, 0.5), b), pen.fine, closed=False)
    elif shape in ("bar", "cube", "slice") and min(pen.w, pen.h) > 6:
        yield pen.polygon(((1 - 1.4 / pen.w, 0.06), (1 - 1.4 / pen.w, 0.94)), pen.fine, closed=False)


def _stuck_in(face: Outline) -> Outline:
    """The outline cut off so far up that what is left stands on a broad foot."""
    for cut in (0.14, 0.2, 0.26, 0.32, 0.38):
        foot = [u for u, v in face if v <= cut]
        if foot and max(foot) - min(foot) >= _FOOT:
            break
    return tuple((u, max(v, cut)) for u, v in face)


def _leaning(pen: SidePen, about: About) -> Iterator[Item]:
    """A leaning piece: its face as far as it is turned to the guest, and its thickness as far as it is turned away."""
    f = pen.f
    a = math.radians(f.axis_deg)
    sin, cos = math.sin(a), math.cos(a)
    cx, cy = f.centre
    # x across the view, and upwards how far each point lies along the piece's axis.
    face = [(x, 1.732 * ((x - cx) * sin + (y - cy) * cos)) for x, y in f.outline]
    shape = pen.piece.shape if pen.piece else f.shape
    thick = (
        float(pen.piece.height_mm)
        if pen.piece and pen.piece.height_mm is not None
        else 1.5
        if shape in shapes.SHEETS
        else 0.3 * f.width_mm
    )
    if shape in shapes.SHEETS and abs(cos) > 0.35:
        yield pen.polygon(fit(face), pen.face, about)
        return
    dx, dz = -0.87 * thick * sin, 0.5 * thick
    both = hull((*face, *((x + dx, z + dz) for x, z in face)))
    unit = fit(both)
    yield pen.polygon(unit, pen.face, about)
    if abs(cos) > 0.9 and min(pen.w, pen.h) > 8 and shape in ("slice", "bar", "cube", "fillet"):
        # The far edge of its face shows that it leans back.
        yield pen.polygon(((0.14, 0.9), (0.86, 0.9)), pen.line, closed=False)
