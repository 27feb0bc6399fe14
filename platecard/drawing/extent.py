"""How much room items take: the bounds of their outlines."""

import math
from collections.abc import Iterable, Iterator, Sequence

from platecard.drawing import fonts
from platecard.drawing.scene import ANCHORS, Circle, Group, Item, Path, PathSegment, Point, Polygon, Rect, Text

Box = tuple[float, float, float, float]  # left, top, right, bottom


def bounds(*items: Item) -> Box:
    """Left, top, right and bottom of the items' outlines in mm; line widths are not counted.

    Text counts with its measured width and the height of a line. A clipped group ends at its clip. ValueError if
    there is nothing to measure.
    """
    boxes = [box for item in items if (box := _box(item))]
    if not boxes:
        raise ValueError("nothing to measure: no items, or all of them empty or clipped away")
    return (min(b[0] for b in boxes), min(b[1] for b in boxes), max(b[2] for b in boxes), max(b[3] for b in boxes))


def _box(item: Item) -> Box | None:
    match item:
        case Circle(cx=cx, cy=cy, r=r):
            return cx - r, cy - r, cx + r, cy + r
        case Rect(x=x, y=y, w=w, h=h):
            return x, y, x + w, y + h
        case Polygon(points=points):
            return _around(points)
        case Path(segments=segments):
            return _around(list(_extremes(segments)))
        case Text(x=x, y=y, text=text, size_pt=size, face=face, anchor=anchor):
            width = fonts.width_mm(text, size, face)
            left = x - ANCHORS[anchor] * width
            return left, y - fonts.ascent(size, face), left + width, y + fonts.descent(size, face)
        case Group(items=items, clip=clip):
            boxes = [box for inner in items if (box := _box(inner))]
            box = _around([corner for b in boxes for corner in (b[:2], b[2:])])
            if box and clip and (edge := _box(clip)):
                box = (max(box[0], edge[0]), max(box[1], edge[1]), min(box[2], edge[2]), min(box[3], edge[3]))
                return box if box[0] <= box[2] and box[1] <= box[3] else None
            return box
    raise TypeError(f"not an item: {item!r}")


def _around(points: Sequence[Point]) -> Box | None:
    if not points:
        return None
    xs, ys = zip(*points)
    return min(xs), min(ys), max(xs), max(ys)


def _extremes(segments: Iterable[PathSegment]) -> Iterator[Point]:
    """Points with the same bounds as the path: its corners, and the places where its curves turn back."""
    here = start = (0.0, 0.0)
    for letter, *numbers in segments:
        if letter == "Z":
            here = start
            continue
        end = numbers[-2], numbers[-1]
        if letter == "M":
            start = end
        if letter == "C":
            axes = list(zip(here, numbers[0:2], numbers[2:4], end))
            for t in _turns(axes):
                u = 1 - t
                x, y = [u**3 * a + 3 * u * u * t * b + 3 * u * t * t * c + t**3 * d for a, b, c, d in axes]
                yield x, y
        yield end
        here = end


def _turns(axes: Iterable[tuple[float, float, float, float]]) -> Iterator[float]:
    """Parameters in (0, 1) at which a cubic Bézier curve turns back along one of the axes."""
    for p0, p1, p2, p3 in axes:
        a, b, c = p3 - 3 * p2 + 3 * p1 - p0, 2 * (p2 - 2 * p1 + p0), p1 - p0
        if abs(a) < 1e-12:
            roots = [-c / b] if abs(b) > 1e-12 else []
        else:
            inside = b * b - 4 * a * c
            root = math.sqrt(inside) if inside >= 0 else None
            roots = [] if root is None else [(-b - root) / (2 * a), (-b + root) / (2 * a)]
        yield from (t for t in roots if 0 < t < 1)
