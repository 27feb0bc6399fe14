"""The pen that draws one piece from the side: its place on the page, its line styles, and its outlines.

Outlines are given in a unit box with the foot at 0 and the top at 1, which is stretched
to exactly the piece's width and height in mm.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from functools import lru_cache

from platecard.documents.diagram.colours import Look
from platecard.documents.diagram.pen import DETAIL, OUTLINE, style
from platecard.drawing.extent import bounds
from platecard.drawing.scene import About, Path, PathSegment, Polygon, Style
from platecard.layout.footprint import Footprint
from platecard.layout.geometry2d import Outline, Point
from platecard.model import Piece

Segments = tuple[PathSegment, ...]
_UNKNOWN = (1.2, 0.8)  # dashes for a piece whose height the spec does not give


class SidePen:
    """Draws one piece as seen from the guest's side.

    ``x`` and ``y`` are its lower left corner on the page, ``w`` and ``h`` its size in mm.  ``lean`` is the share of its
    long axis that runs across the view: 1 where it points to the right, -1 where it points to the left.
    """

    def __init__(
        self, f: Footprint, piece: Piece | None, which: int, foot: float, top: float, origin: Point, look: Look
    ) -> None:
        self.f, self.piece, self.which, self.look = f, piece, which, look
        left, _, right, _ = f.box
        self.left, self.x, self.y = left, origin[0] + left, origin[1] - foot
        self.w, self.h = max(right - left, 0.3), max(top - foot, 0.2)
        self.lean = math.sin(math.radians(f.axis_deg))
        self.face = style(
            fill=look.fill, stroke=look.line, width=OUTLINE, dash=() if f.height_mm is not None else _UNKNOWN
        )
        self.fine = style(stroke=look.tone, width=DETAIL)
        self.line = style(stroke=look.line, width=DETAIL)

    def at(self, u: float, v: float) -> Point:
        """The point (u, v) of the unit box on the page."""
        return self.x + u * self.w, self.y - v * self.h

    def path(self, unit: Segments, pen: Style, about: About | None = None) -> Path:
        """Lines and curves of the unit box, stretched to the piece."""
        x, y, w, h = self.x, self.y, self.w, self.h
        return Path(
            tuple([(s[0], *[y - h * n if i % 2 else x + w * n for i, n in enumerate(s[1:])]) for s in unit]), pen, about
        )

    def polygon(self, unit: Outline, pen: Style, about: About | None = None, closed: bool = True) -> Polygon:
        """An outline of the unit box, stretched to the piece."""
        x, y, w, h = self.x, self.y, self.w, self.h
        return Polygon(tuple([(x + w * u, y - h * v) for u, v in unit]), pen, closed, about)


def fit(points: Sequence[Point]) -> Outline:
    """Points stretched to fill the unit box."""
    xs, ys = [p[0] for p in points], [p[1] for p in points]
    left, low = min(xs), min(ys)
    w, h = max(xs) - left or 1.0, max(ys) - low or 1.0
    return tuple([((x - left) / w, (y - low) / h) for x, y in points])


def mirrored(points: Outline, lean: float) -> Outline:
    """A profile drawn pointing to the right, turned to where the piece points."""
    return points if lean >= 0 else tuple([(1 - u, v) for u, v in points])


def turned(unit: Segments, lean: float) -> Segments:
    """The same as ``mirrored`` for lines and curves."""
    return unit if lean >= 0 else tuple([(s[0], *[n if i % 2 else 1 - n for i, n in enumerate(s[1:])]) for s in unit])


@lru_cache(maxsize=16)
def filled(unit: Segments) -> Segments:
    """Lines and curves stretched so that what they enclose fills the unit box exactly."""
    left, low, right, high = bounds(Path(unit, style(fill="#000000")))
    return tuple(
        [
            (s[0], *[(n - low) / (high - low) if i % 2 else (n - left) / (right - left) for i, n in enumerate(s[1:])])
            for s in unit
        ]
    )
