"""Signs on the plate drawing that are not food: which way a piece points, and a draft's faults."""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator

from platecard.drawing.scene import About, Circle, Group, Item, Polygon, Style
from platecard.layout.footprint import Fault
from platecard.layout.geometry2d import Point, box

INK, RED = "#1f2022", "#b81414"
_CUT = frozenset({"cut", "inside", "flesh", "sliced", "core"})
_OUTSIDE = frozenset(
    {
        "skin",
        "browned",
        "browner",
        "brown",
        "crisp",
        "burnt",
        "seared",
        "crust",
        "rind",
        "glazed",
        "fat",
        "bark",
        "grilled",
        "charred",
        "roasted",
        "outside",
        "shell",
        "presentation",
        "crackling",
    }
)
_SHOWN = 24  # at most so many pieces are outlined for one fault


def kind(up: str) -> str:
    """Which face of a piece the chef's words for the side that is up mean: "cut", "outside" or "other"."""
    words = set(re.findall(r"[a-z]+", up.lower()))
    return "cut" if words & _CUT else "outside" if words & _OUTSIDE else "other"


_WAY = Style(fill=INK, stroke="#ffffff", width=0.25, join="miter")


# The right half of an arrow of length 2 about the origin, below its point at (0, 1).
_ARROW = ((0.78, 0.05), (0.26, 0.05), (0.26, -1.0))


def point_sign(x: float, y: float, r: float, way: Point, component: str = "") -> Polygon:
    """An arrow of half length ``r`` about (x, y), pointing along ``way`` (of length 1, y down)."""
    ux, uy = way
    half = ((0.0, 1.0), *_ARROW)
    rows = (*half, *((-across, along) for across, along in reversed(_ARROW)))
    corners = tuple((x + r * (along * ux - across * uy), y + r * (along * uy + across * ux)) for across, along in rows)
    return Polygon(corners, _WAY, about=About(component, "points"))


# --- the faults of a draft -------------------------------------------------------------------------------------------


def marked_faults(faults: Iterable[Fault], centre: Point) -> Iterator[Item]:
    """Each fault's pieces outlined in red, with a red ring round the first two, where it is worst or begins.

    A warning is drawn with thinner, broken lines and its ring goes round the first piece only.
    """
    for number, fault in enumerate((f for f in faults if f.pieces), 1):
        pieces = fault.pieces[:_SHOWN]
        line = Style(
            stroke=RED, width=0.9 if fault.problem.is_error else 0.5, dash=() if fault.problem.is_error else (2.0, 1.4)
        )
        about = About(
            pieces[0].component,
            "fault",
            f"{fault.problem.span.file}:{fault.problem.span.line}" if fault.problem.span else "",
        )
        items: list[Item] = [
            Polygon(tuple((centre[0] + x, centre[1] - y) for x, y in f.outline), line, about=about) for f in pieces
        ]
        corners = [p for f in pieces[: 2 if fault.problem.is_error else 1] for p in f.outline]
        left, near, right, far = box(tuple(corners))
        r = math.hypot(right - left, far - near) / 2 + 3.0
        items.append(
            Circle(
                centre[0] + (left + right) / 2,
                centre[1] - (near + far) / 2,
                r,
                Style(stroke=RED, width=0.6, dash=(4.0, 2.0)),
                about,
            )
        )
        yield Group(tuple(items), title=fault.problem.message, id=f"fault-{number}", role="img")
