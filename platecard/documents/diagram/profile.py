"""What each kind of piece looks like from the guest's side, so that a cook knows it without reading.

In: a footprint, its foot and its top in mm above the well, and where it comes in the page.  Out: the
items of that piece.  The silhouette, which carries ``about``, fills exactly the width of
the piece's outline from above and the height between its foot and its top; whatever lies
over it is detail.  Outlines of kinds are drawn in a box of 1 by 1, the foot at 0, and
stretched to that size.
"""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from functools import cache, lru_cache

from platecard.documents.diagram.pen import style
from platecard.documents.diagram.side_view_pen import Segments, View, filled, fit, mirrored, turned
from platecard.drawing.scene import About, Circle, Item
from platecard.layout import shapes
from platecard.layout.footprint import Footprint
from platecard.layout.geometry2d import Outline, Point, hull

_ROUND = 0.5523  # the handle of a curve that makes a quarter of a circle
_SHEETS = frozenset({"leaf", "frond", "flower", "shard"})  # so thin that only their face is seen


def profile(view: View, about: About, shingled: float = 0.0) -> Iterator[Item]:
    """The items of one piece.

    ``shingled``: it lies on the one before, which is to its right (1), left (-1) or before or behind it (0).
    """
    f = view.f
    if f.stance == "standing":
        yield from _standing(view, about)
    elif f.stance == "leaning":
        yield from _leaning(view, about)
    elif shingled and f.shape in ("slice", "disc", "fillet", "bar"):
        yield from _tilted(view, about, shingled)
    else:
        yield from _KINDS[f.shape](view, about)


def inside(f: Footprint) -> Point:
    """Where a leader may end in the unit box of a piece so that it ends on the piece."""
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


# --- flat on the plate
# -------------------------------------------------------------------------------------------------


def _rounded(view: View, most_mm: float) -> Segments:
    """A low box with its upper edge rounded."""
    r = min(most_mm, view.w / 2, 0.45 * view.h)
    u, v = r / view.w, r / view.h
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


def _disc(view: View, about: About) -> Iterator[Item]:
    """Cut round: a soft upper edge, and the far edge of its face as a shallow bow."""
    yield view.path(_rounded(view, 2.5), view.face, about)
    if view.h > 5 and view.w > 8:
        v, u = 1 - 1.2 / view.h, 1.2 / view.w
        yield view.path((("M", u, v), ("C", 0.3, v - 1.4 / view.h, 0.7, v - 1.4 / view.h, 1 - u, v)), view.fine)


def _block(view: View, about: About) -> Iterator[Item]:
    """Cut square: sharp edges, and the upright one nearest the guest with the side in shade."""
    yield view.path(_rounded(view, 0.8), view.face, about)
    if view.h < 4 or view.w < 4:
        return
    near = min(view.f.outline, key=lambda p: (round(p[1], 3), p[0]))[0]
    u = (near - view.left) / view.w
    if 0.12 < u < 0.88:
        yield view.polygon(
            (
                ((u, 0.02), (u, 0.97), (0.985, 0.97), (0.985, 0.02))
                if u > 0.5
                else ((u, 0.02), (u, 0.97), (0.015, 0.97), (0.015, 0.02))
            ),
            style(fill=view.look.tone, fill_opacity=0.35),
        )
        yield view.polygon(((u, 0), (u, 1)), view.line, closed=False)
    elif view.h > 6 and view.w > 8:
        yield view.polygon(
            ((1.5 / view.w, 1 - 1.6 / view.h), (1 - 1.5 / view.w, 1 - 1.6 / view.h)), view.fine, closed=False
        )


def _slice(view: View, about: About) -> Iterator[Item]:
    """A thin slab off the knife, its ends cut at a slant."""
    s = min(0.2, 0.5 * view.h / view.w)
    yield view.polygon(mirrored(((0, 0), (s, 1), (1, 1), (1 - s, 0)), view.lean), view.face, about)
    if view.h > 4:
        yield view.polygon(mirrored(((s, 0.76), (1 - s / 2, 0.76)), view.lean), view.fine, closed=False)


def _tilted(view: View, about: About, shingled: float) -> Iterator[Item]:
    """One end on the one before.

    The tilt stays within the piece's height, so that what lies on it neither hangs nor sinks.
    """
    rise = 0.5 * abs(shingled)
    slab = mirrored(((0, 0), (1, rise), (1, 1), (0, 1 - rise)), shingled)
    yield view.polygon(slab, view.face, about)
    if view.h > 4:
        (a, b), (c, d) = slab[3], slab[2]
        yield view.polygon(((a + 0.06 * (c - a), b - 0.14), (c - 0.06 * (c - a), d - 0.14)), view.fine, closed=False)


_ELLIPSE: Segments = (
    ("M", 0, 0.5),
    ("C", 0, 0.5 + _ROUND / 2, 0.5 - _ROUND / 2, 1, 0.5, 1),
    ("C", 0.5 + _ROUND / 2, 1, 1, 0.5 + _ROUND / 2, 1, 0.5),
    ("C", 1, 0.5 - _ROUND / 2, 0.5 + _ROUND / 2, 0, 0.5, 0),
    ("C", 0.5 - _ROUND / 2, 0, 0, 0.5 - _ROUND / 2, 0, 0.5),
    ("Z",),
)


def _quenelle(view: View, about: About) -> Iterator[Item]:
    """An ellipse, with the ridge that the spoon leaves from tip to tip."""
    yield view.path(_ELLIPSE, view.face, about)
    if view.w > 6:
        yield view.path((("M", 0.05, 0.56), ("C", 0.3, 0.86, 0.7, 0.86, 0.95, 0.56)), view.line)
        yield view.path((("M", 0.16, 0.34), ("C", 0.36, 0.5, 0.64, 0.5, 0.84, 0.34)), view.fine)


def _dot(view: View, about: About) -> Iterator[Item]:
    """A cap of a ball; half an ellipse where it stands higher than half its width."""
    a, h = view.w / 2, view.h
    if h >= a:
        side = (0, _ROUND), (0.5 - _ROUND / 2, 1)
    else:
        # Half the cap spans this angle at the ball's centre; the handles lie along the tangents at its foot and its
        # top.
        span = 2 * math.atan2(h, a)
        handle = 4 / 3 * math.tan(span / 4) * (a * a + h * h) / (2 * h)
        side = (handle * math.cos(span) / view.w, handle * math.sin(span) / h), (0.5 - handle / view.w, 1)
    (u0, v0), (u1, v1) = side
    yield view.path(
        (("M", 0, 0), ("C", u0, v0, u1, v1, 0.5, 1), ("C", 1 - u1, v1, 1 - u0, v0, 1, 0), ("Z",)), view.face, about
    )
    if view.w > 7 and view.h > 2.5:
        yield view.path((("M", 0.24, 0.5), ("C", 0.28, 0.68, 0.36, 0.78, 0.46, 0.82)), view.fine)


@lru_cache(maxsize=64)
def _bubbles(bumps: int) -> Outline:
    """A mound whose edge is a row of bubbles, the foot level."""
    count = 6 * bumps
    edge = [
        (0.9 + 0.1 * abs(math.sin(math.pi * bumps * i / count)), math.pi * (1 - i / count)) for i in range(count + 1)
    ]
    return fit([(r * math.cos(a), r * math.sin(a)) for r, a in edge])


def _foam(view: View, about: About) -> Iterator[Item]:
    yield view.polygon(_bubbles(max(5, min(13, round(view.w / 3.5)))), view.face, about)
    r = 0.06 * min(view.w, 2 * view.h)
    for u, v, k in ((0.3, 0.42, 1.0), (0.52, 0.66, 0.8), (0.68, 0.34, 1.2), (0.46, 0.26, 0.7)):
        yield Circle(*view.at(u, v), max(0.2, k * r), view.line)


@lru_cache(maxsize=256)
def _ragged(teeth: int, which: int) -> Outline:
    """A rough upper edge over a level foot, no two teeth alike."""
    dice = shapes.chance("crumb from the side", teeth, which)
    top = [
        ((i + 0.5 + 0.5 * (next(dice) - 0.5)) / teeth, (0.55 if i % 2 else 0.82) + 0.18 * next(dice))
        for i in range(teeth)
    ]
    return fit([(0.0, 0.0), (0.0, 0.34), *top, (1.0, 0.4), (1.0, 0.0)])


@cache
def _lump(which: int) -> Outline:
    """A rough little lump, a quarter of it under it to sit on."""
    return fit([(x, max(y, -0.5)) for x, y in shapes.outline("crumb", 2.0, 2.0, which)])


def _crumb(view: View, about: About) -> Iterator[Item]:
    """A lump by itself, or a low ragged line where much of it is strewn as one."""
    if view.w < 3 * view.h:
        yield view.polygon(_lump(view.which), view.face, about)
        return
    yield view.polygon(
        _ragged(max(3, min(40, round(0.9 * view.w / max(1.0, view.h)) | 1)), view.which), view.face, about
    )


def _pool(view: View, about: About) -> Iterator[Item]:
    """A thin lens: it creeps out to an edge."""
    yield view.path(
        (("M", 0, 0), ("C", 0.05, 0.7, 0.12, 1, 0.22, 1), ("L", 0.78, 1), ("C", 0.88, 1, 0.95, 0.7, 1, 0), ("Z",)),
        view.face,
        about,
    )


def _swipe(view: View, about: About) -> Iterator[Item]:
    """Full where the spoon is set down, thinning out to where it lifts."""
    if abs(view.lean) < 0.3:
        yield from _pool(view, about)
        return
    full = (("M", 0, 0), ("C", 0, 0.7, 0.05, 1, 0.14, 1), ("C", 0.36, 1, 0.5, 0.5, 1, 0), ("Z",))
    yield view.path(turned(full, view.lean), view.face, about)


def _fillet(view: View, about: About) -> Iterator[Item]:
    """A loaf: lengthwise full at the head and falling to the tail, end on a low arch."""
    if abs(view.lean) > 0.5:
        body = (
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
    body, flakes = turned(filled(body), view.lean), turned(flakes, view.lean)
    yield view.path(body, view.face, about)
    if view.h > 5 and view.w > 12:
        yield view.path(flakes, view.fine)


def _wedge(view: View, about: About) -> Iterator[Item]:
    """A cut from something round: from its full back down to its tip, and a ridge where it points at the reader."""
    if abs(view.lean) > 0.5:
        body = (("M", 0.05, 0), ("C", -0.02, 0.3, -0.02, 0.75, 0.12, 1), ("L", 1, 0.16), ("L", 1, 0), ("Z",))
        yield view.path(turned(filled(body), view.lean), view.face, about)
        if view.h > 5:
            yield view.polygon(mirrored(((0.16, 0.7), (0.9, 0.13)), view.lean), view.fine, closed=False)
        return
    yield view.path(
        filled((("M", 0.04, 0), ("C", -0.02, 0.4, 0.3, 0.8, 0.5, 1), ("C", 0.7, 0.8, 1.02, 0.4, 0.96, 0), ("Z",))),
        view.face,
        about,
    )
    if view.h > 5:
        yield view.polygon(((0.5, 0.97), (0.46, 0.06)), view.fine, closed=False)


def _leaf(view: View, about: About) -> Iterator[Item]:
    """A light curve: the stalk on the plate, the tip lifting; end on an arch."""
    if abs(view.lean) > 0.4:
        body = (("M", 0, 0), ("C", 0.3, 0.1, 0.75, 0.2, 1, 1), ("C", 0.7, 0.7, 0.25, 0.55, 0, 0), ("Z",))
        yield view.path(turned(body, view.lean), view.face, about)
        return
    yield view.path(
        filled((("M", 0, 0.1), ("C", 0.2, 1.1, 0.8, 1.1, 1, 0.1), ("C", 0.75, 0.6, 0.25, 0.6, 0, 0), ("Z",))),
        view.face,
        about,
    )


def _spray(teeth: int, lean: float) -> Outline:
    """A feathered edge along a bow, the barbs leaning towards the tip."""
    points: list[Point] = [(0.0, 0.0)]
    for i in range(teeth):
        u = (i + 0.2) / teeth
        high = 0.45 + 0.55 * math.sin(math.pi * (0.15 + 0.7 * u))
        points += [(u, 0.55 * high - 0.1), (u + 0.75 / teeth, high)]
    return mirrored(fit([*points, (1.0, 0.25), (0.6, 0.12), (0.0, 0.0)]), lean)


_FRONDS = {(n, s): _spray(n, s) for n in (4, 5, 6, 7) for s in (-1.0, 1.0)}


def _frond(view: View, about: About) -> Iterator[Item]:
    yield view.polygon(_FRONDS[max(4, min(7, round(view.w / 2))), 1.0 if view.lean >= 0 else -1.0], view.face, about)


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


def _flower(view: View, about: About) -> Iterator[Item]:
    """A cup of three petals."""
    yield view.path(_CUP, view.face, about)
    if view.h > 2.5:
        yield view.path(
            (
                ("M", 0.3, 0.7),
                ("C", 0.34, 0.45, 0.42, 0.2, 0.47, 0.05),
                ("M", 0.7, 0.7),
                ("C", 0.66, 0.45, 0.58, 0.2, 0.53, 0.05),
            ),
            view.fine,
        )


def _shard(view: View, about: About) -> Iterator[Item]:
    """A broken plate lying: thin, its ends not square."""
    yield view.polygon(
        mirrored(((0, 0), (0.04, 0.8), (0.3, 1), (1, 0.86), (0.97, 0)), 1.0 if view.which % 2 else -1.0),
        view.face,
        about,
    )


def _ring(view: View, about: About) -> Iterator[Item]:
    """A band cut through: its two uprights, and the far wall paler between them."""
    piece, f = view.piece, view.f
    share = float(piece.hole_mm / piece.length_mm) if piece and piece.hole_mm else 0.6
    wall = (1 - share) / 2 * min(f.length_mm, f.width_mm) / view.w
    yield view.path(_rounded(view, 1.2), view.face, about)
    yield view.polygon(
        ((wall, 0), (wall, 0.9), (1 - wall, 0.9), (1 - wall, 0)), style(fill="#ffffff", fill_opacity=0.5)
    )
    yield view.path((("M", wall, 0), ("L", wall, 1), ("M", 1 - wall, 0), ("L", 1 - wall, 1)), view.line)


_KINDS: dict[str, Callable[[View, About], Iterator[Item]]] = {
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


# --- upright and leaning
# -------------------------------------------------------------------------------------------------


def _face_of(view: View) -> Outline:
    """The piece as it looks from above when it lies flat, in its own millimetres:

    the face that an upright one shows.
    """
    f, piece = view.f, view.piece
    if piece is None:
        return ((-1.0, -1.0), (1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
    if piece.points:
        return shapes.fitted([(float(x), float(y)) for x, y in piece.points], float(piece.length_mm), f.width_mm)
    return shapes.outline(
        piece.shape, float(piece.length_mm), f.width_mm, view.which, float(piece.hole_mm) if piece.hole_mm else None
    )


def _standing(view: View, about: About) -> Iterator[Item]:
    """Its own outline upright, narrower the more it turns its edge to the guest;

    a broken one is stuck in, not balanced on a corner.
    """
    shape = view.piece.shape if view.piece else view.f.shape
    face = fit(_face_of(view))
    # The face of one that looks at the guest is seen from the front, that of one that looks away from behind.
    if math.cos(math.radians(view.f.axis_deg)) > 0:
        face = tuple([(1 - u, v) for u, v in face])
    if shape == "shard":
        face = fit([(u, max(v, 0.14)) for u, v in face])
    yield view.polygon(face, view.face, about)
    if shape in ("shard", "wedge", "fillet") and min(view.w, view.h) > 6:
        a, b = face[len(face) // 3], face[2 * len(face) // 3]
        yield view.polygon((a, (0.45, 0.5), b), view.fine, closed=False)
    elif shape in ("bar", "cube", "slice") and min(view.w, view.h) > 6:
        yield view.polygon(((1 - 1.4 / view.w, 0.06), (1 - 1.4 / view.w, 0.94)), view.fine, closed=False)


def _leaning(view: View, about: About) -> Iterator[Item]:
    """The face as far as it is turned to the guest, and the slab's own thickness as far as it is turned away."""
    f = view.f
    a = math.radians(f.axis_deg)
    sin, cos = math.sin(a), math.cos(a)
    cx, cy = f.centre
    # On the sheet: across the view as it lies, up by how far along its axis.
    face = [(x, 1.732 * ((x - cx) * sin + (y - cy) * cos)) for x, y in f.outline]
    shape = view.piece.shape if view.piece else f.shape
    thick = (
        float(view.piece.height_mm)
        if view.piece and view.piece.height_mm is not None
        else 1.5
        if shape in _SHEETS
        else 0.3 * f.width_mm
    )
    if shape in _SHEETS and abs(cos) > 0.35:
        yield view.polygon(fit(face), view.face, about)
        return
    dx, dz = -0.87 * thick * sin, 0.5 * thick
    both = hull((*face, *((x + dx, z + dz) for x, z in face)))
    unit = fit(both)
    yield view.polygon(unit, view.face, about)
    if abs(cos) > 0.9 and min(view.w, view.h) > 8 and shape in ("slice", "bar", "cube", "fillet"):
        # The far edge of its face, so that it is seen to lie back.
        yield view.polygon(((0.14, 0.9), (0.86, 0.9)), view.line, closed=False)
