"""The parts of a piece that only some shapes have: graded sizes, a ring's hole, a free outline.

In: the fields of a piece.  Out: exact millimetres; what does not fit becomes a problem at its place.
"""

from __future__ import annotations

import re
from fractions import Fraction

from platecard.diagnostics import error
from platecard.model import Piece
from platecard.quantities.units import AmountError, quantity, size_mm
from platecard.reading.fields import MAX_MM, Fields
from platecard.yaml_nodes import Scalar

MAX_POINTS = 60
_CORNER = re.compile(r"(-?\d{1,4}(?:\.\d{1,3})?)(?:\s+|\s*[x/]\s*)(-?\d{1,4}(?:\.\d{1,3})?)\Z")


def graded(p: Fields) -> tuple[tuple[Fraction, ...], Fraction | None]:
    """``12 to 6 mm`` as the first piece's size (the same in both directions) and the last piece's."""
    node = p.node.get("sizes")
    if not isinstance(node, Scalar) or node.value is None:
        return (), None
    if "size" in p:
        p.problems.append(
            error(
                "two-sizes",
                node.span,
                "both 'size' and 'sizes' are given",
                "keep 'sizes' for graded pieces, 'size' for pieces alike",
            )
        )
    parts = re.split(r"\s+to\s+|\s*[-\u2013]\s*", node.text.strip())
    try:
        if len(parts) != 2:
            raise AmountError(f"'{node.text}' is not two sizes", "write it as in 12 to 6 mm")
        last = quantity(parts[1], "length").mean
        first = size_mm(parts[0] if re.search(r"[a-z]", parts[0]) else parts[0] + re.sub(r"[\d.\s/]+", " ", parts[1]))[
            0
        ]
    except AmountError as exc:
        p.problems.append(error("amount", node.span, f"'sizes': {exc}", exc.hint))
        return (), None
    if min(first, last) < Fraction(1, 10):
        p.problems.append(error("zero-size", node.span, "a piece needs a size above zero", "write it as in 12 to 6 mm"))
        return (), None
    return (first, first), last


def hole(p: Fields, size: Fraction) -> Fraction | None:
    """The inner diameter of a ring, which must be smaller than the ring."""
    if "hole" not in p:
        return None
    if p.text("shape") != "ring":
        p.problems.append(
            error(
                "key-not-used",
                p.span("hole"),
                f"a {p.text('shape')} has no hole",
                "use 'hole' with shape: ring, or take it out",
            )
        )
        return None
    width = p.positive_mm("hole")
    if width is not None and width >= size:
        p.problems.append(
            error(
                "hole-too-large",
                p.span("hole"),
                "the hole is as wide as the ring, so nothing is left of it",
                "make it smaller than the ring's size",
            )
        )
        return None
    return width


def free_outline(p: Fields) -> Piece | None:
    """A piece whose outline is given corner by corner: ``0 0, 30 5, 34 18 mm``."""
    node = p.node.get("points")
    if not isinstance(node, Scalar) or node.value is None:
        return None
    if "size" in p or "sizes" in p:
        p.problems.append(
            error(
                "two-sizes",
                p.span("size" if "size" in p else "sizes"),
                "an outline takes its size from its points",
                "delete 'size'",
            )
        )
    points: list[tuple[Fraction, Fraction]] = []
    for part in re.sub(r"\s*mm\s*\Z", "", node.text.strip()).split(","):
        match = _CORNER.match(part.strip())
        if not match:
            p.problems.append(
                error(
                    "outline",
                    node.span,
                    f"'{part.strip()}' is not a corner of an outline",
                    "write two numbers in mm, to the right and away from the guest: 0 0, 30 5, 34 18",
                )
            )
            return None
        points.append((Fraction(match.group(1)), Fraction(match.group(2))))
    if len(points) > 1 and points[0] == points[-1]:
        points.pop()
    if not 3 <= len(points) <= MAX_POINTS:
        p.problems.append(
            error(
                "outline",
                node.span,
                f"an outline cannot have {len(points)} corners",
                f"give it between 3 and {MAX_POINTS}: 0 0, 30 5, 34 18",
            )
        )
        return None
    xs, ys = [x for x, _ in points], [y for _, y in points]
    width, length = max(xs) - min(xs), max(ys) - min(ys)
    if min(width, length) < Fraction(1, 10) or max(width, length) > MAX_MM:
        p.problems.append(
            error(
                "zero-size" if min(width, length) < Fraction(1, 10) else "too-large",
                node.span,
                "a piece needs a size above zero",
                "write its corners in mm, to the right and away from the guest: 0 0, 30 5, 34 18",
            )
        )
        return None
    return Piece(
        "outline",
        length,
        width,
        p.node.span,
        p.positive_mm("height"),
        p.positive_grams("weight", "piece on the plate"),
        None,
        None,
        tuple(points),
        node.span,
    )
