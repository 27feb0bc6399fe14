"""Signs on the plate drawing that are not food: which side is up, their legend, and the faults of a draft.

Three signs say which side of a piece shows, square because leaders end in round dots:
cut through from corner to corner (the cut side), filled (the outside: skin, crust, what
was browned), open (any other side).  The legend repeats the chef's words.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator

from ..drawing import fonts
from ..drawing.scene import About, Circle, Group, Item, Polygon, Style, Text
from ..layout.footprint import Arrangement, Fault
from ..layout.planar import Point, box

INK, RED = "#1f2022", "#b81414"
_CUT = frozenset({"cut", "inside", "flesh", "sliced", "core"})
_OUTSIDE = frozenset({"skin", "browned", "browner", "brown", "crisp", "burnt", "seared", "crust", "rind", "glazed", "fat", "bark", "grilled", "charred", "roasted", "outside", "shell",
                      "presentation", "crackling"})
_SHOWN = 24  # pieces outlined for one fault


def kind(up: str) -> str:
    """Which of the signs stands for these words: cut, outside or other."""
    words = set(re.findall(r"[a-z]+", up.lower()))
    return "cut" if words & _CUT else "outside" if words & _OUTSIDE else "other"


def up_sign(x: float, y: float, r: float, up: str) -> Iterator[Item]:
    """The sign for the side ``up`` at (x, y)."""
    line = Style(fill="#ffffff", stroke=INK, width=0.24)
    about = About(role="side-up")
    left, top, right, foot = x - r, y - r, x + r, y + r
    corners = (left, top), (right, top), (right, foot), (left, foot)
    match kind(up):
        case "cut":
            yield Polygon(corners, line, about=about)
            yield Polygon(((left, foot), (right, top)), Style(stroke=INK, width=max(0.24, 0.3 * r), cap="butt"), closed=False)
        case "outside":
            yield Polygon(corners, Style(fill=INK, stroke="#ffffff", width=0.3), about=about)
        case _:
            yield Polygon(corners, line, about=about)


# --- the legend ------------------------------------------------------------------------------------------------------


def _sides(arrangement: Arrangement) -> list[str]:
    """One wording for each sign in use, in plating order."""
    found: dict[str, str] = {}
    for f in arrangement.footprints:
        if f.up:
            found.setdefault(kind(f.up), f.up)
    return list(found.values())


def legend_box(arrangement: Arrangement, size_pt: float) -> tuple[float, float] | None:
    """Width and height of the legend in the lower right corner; None where it is not needed."""
    said = _sides(arrangement)
    if not said:
        return None
    cap = fonts.cap_height(size_pt)
    return 4.0 + 1.6 * cap + max(fonts.width_mm(f"{s} up", size_pt) for s in said), _foot(size_pt) + 0.4 + 1.5 * cap * len(said)


def _foot(size_pt: float) -> float:
    """Room below the last line for what hangs under it."""
    return 0.6 + 0.3 * size_pt * fonts.MM_PER_POINT


def legend(arrangement: Arrangement, size_pt: float, width: float, height: float) -> Iterator[Item]:
    """The signs in use with the chef's words for them."""
    said = _sides(arrangement)
    if not said:
        return
    cap = fonts.cap_height(size_pt)
    wide = max(fonts.width_mm(f"{s} up", size_pt) for s in said)
    items: list[Item] = []
    for i, words in enumerate(reversed(said)):
        y = height - _foot(size_pt) - 1.5 * cap * i
        items += up_sign(width - 2.4 - wide - 0.9 * cap, y - cap / 2, 0.5 * cap, words)
        items.append(Text(width - 2.0 - wide, y, f"{words} up", size_pt, colour=INK))
    yield Group(tuple(items), id="sides", title="Which side is up")


# --- the faults of a draft -------------------------------------------------------------------------------------------


def marked_faults(faults: Iterable[Fault], centre: Point) -> Iterator[Item]:
    """Each fault's pieces outlined in red, and a red ring round the first two, where it is worst or begins."""
    for number, fault in enumerate((f for f in faults if f.pieces), 1):
        pieces = fault.pieces[:_SHOWN]
        line = Style(stroke=RED, width=0.9 if fault.problem.is_error else 0.5, dash=() if fault.problem.is_error else (2.0, 1.4))
        about = About(pieces[0].component, "fault", f"{fault.problem.span.file}:{fault.problem.span.line}" if fault.problem.span else "")
        items: list[Item] = [Polygon(tuple((centre[0] + x, centre[1] - y) for x, y in f.outline), line, about=about) for f in pieces]
        corners = [p for f in pieces[: 2 if fault.problem.is_error else 1] for p in f.outline]
        left, near, right, far = box(tuple(corners))
        r = math.hypot(right - left, far - near) / 2 + 3.0
        items.append(Circle(centre[0] + (left + right) / 2, centre[1] - (near + far) / 2, r, Style(stroke=RED, width=0.6, dash=(4.0, 2.0)), about))
        yield Group(tuple(items), title=fault.problem.message, id=f"fault-{number}", role="img")
