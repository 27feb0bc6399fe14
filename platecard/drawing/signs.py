"""Hatches and signs: drawn, not typed, so that they do not depend on the font.

A hatch is drawn as lines, because a pattern fill does not survive a grey copier.
"""

import math

from platecard.drawing.scene import About, Circle, Group, Item, Path, Point, Polygon, Rect, Segment, Style


def hatch(points: tuple[Point, ...], angle_deg: float, spacing_mm: float) -> tuple[Segment, ...]:
    """Parallel lines `spacing_mm` apart, cut to the inside of a polygon (even-odd rule).

    At `angle_deg` 0 they are level, at 45 they fall to the right. All lines lie on one grid through the origin, so the
    hatches of two neighbours continue each other. ValueError if the spacing is not positive.
    """
    if not spacing_mm > 0:
        raise ValueError(f"hatch lines must be some way apart, not {spacing_mm} mm")
    cos, sin = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    turned = [(x * cos + y * sin, y * cos - x * sin) for x, y in points]  # (along the lines, across them)
    if len(turned) < 3:
        return ()
    across = [n for _, n in turned]
    edges = list(zip(turned, turned[1:] + turned[:1]))
    lines = []
    for k in range(math.ceil(min(across) / spacing_mm), math.floor(max(across) / spacing_mm) + 1):
        n = k * spacing_mm
        # An edge includes its lower end but not its upper one. A line through a corner then counts it once where the
        # outline passes through, and twice or not at all where the outline only touches the line.
        meets = sorted(t0 + (t1 - t0) * (n - n0) / (n1 - n0) for (t0, n0), (t1, n1) in edges if (n0 <= n) != (n1 <= n))
        for begin, end in zip(meets[::2], meets[1::2]):
            if end - begin > 1e-6:
                lines.append(
                    ((begin * cos - n * sin, begin * sin + n * cos), (end * cos - n * sin, end * sin + n * cos))
                )
    return tuple(lines)


def lines_path(lines: tuple[Segment, ...], style: Style, about: About | None = None) -> Path:
    """Many separate lines, such as a hatch, as one item."""
    return Path(tuple(step for a, b in lines for step in (("M", *a), ("L", *b))), style, about)


def tick(x: float, y: float, size: float) -> Group:
    """A tick inside the square of `size` mm whose top left corner is (x, y)."""
    line = Polygon(
        ((x + 0.14 * size, y + 0.54 * size), (x + 0.40 * size, y + 0.80 * size), (x + 0.88 * size, y + 0.20 * size)),
        Style(stroke="#000000", width=0.14 * size),
        closed=False,
    )
    return _sign((line,))


def checkbox(x: float, y: float, size: float, checked: bool = False) -> Group:
    """A square of `size` mm to tick by hand, or one already ticked; (x, y) is its top left corner."""
    box = Rect(x, y, size, size, Style(stroke="#000000", width=0.08 * size, join="miter"))
    return _sign((box, *(tick(x, y, size).items if checked else ())))


def arrow(
    x1: float,
    y1: float,
    x2: float,
    y2: float,
    colour: str = "#000000",
    width: float = 0.3,
    head: float = 2.0,
) -> Group:
    """An arrow from (x1, y1) to (x2, y2) with a filled head `head` mm long. ValueError if it has no length."""
    length = math.hypot(x2 - x1, y2 - y1)
    if length == 0:
        raise ValueError("an arrow must have a length")
    ux, uy = (x2 - x1) / length, (y2 - y1) / length
    head = min(head, length)
    bx, by, half = x2 - ux * head, y2 - uy * head, 0.36 * head
    # The shaft ends inside the head, so that a wide one does not stick out beside the point.
    shaft = Polygon(
        ((x1, y1), (bx + 0.3 * head * ux, by + 0.3 * head * uy)),
        Style(stroke=colour, width=width, cap="butt"),
        closed=False,
    )
    point = Polygon(((x2, y2), (bx - uy * half, by + ux * half), (bx + uy * half, by - ux * half)), Style(fill=colour))
    return _sign((shaft, point))


def warning_triangle(
    x: float, y: float, size: float, colour: str = "#000000", ground: str | None = None, title: str = ""
) -> Group:
    """A triangle with an exclamation mark, in the square of `size` mm whose top left corner is (x, y).

    It is filled with `ground` if that is given.
    """
    line = 0.08 * size
    top, left, right, foot = y + 0.08 * size, x + 0.04 * size, x + 0.96 * size, y + 0.90 * size
    middle = x + size / 2
    return _sign(
        (
            Polygon(((middle, top), (right, foot), (left, foot)), Style(fill=ground, stroke=colour, width=line)),
            Polygon(
                ((middle, y + 0.38 * size), (middle, y + 0.60 * size)),
                Style(stroke=colour, width=line * 1.2),
                closed=False,
            ),
            Circle(middle, y + 0.76 * size, 0.06 * size, Style(fill=colour)),
        ),
        title,
    )


def _sign(items: tuple[Item, ...], title: str = "") -> Group:
    """One sign. With a title it is read out as a picture; without one it is decoration."""
    return Group(items, title=title, role="img" if title else "presentation")
