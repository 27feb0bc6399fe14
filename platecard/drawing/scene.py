"""The display list: what is on a page, in millimetres, independent of any file format.

The origin is at the top left, y runs downwards, angles are in degrees and text sizes in points. Items are drawn in
order, later ones on top. Every decision (sizes, colours, positions, line breaks) is made before an item is built; the
two backends `svg` and `pdf` only write it down. All values are immutable, and the helpers return new ones. A value
that neither backend could draw (a colour not written #rrggbb, a negative size, an unknown face) raises ValueError as
soon as the item is built.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass
from typing import NamedTuple, overload

from platecard.drawing import fonts

Point = tuple[float, float]
Segment = tuple[Point, Point]
PathSegment = tuple[str, *tuple[float, ...]]  # a letter and its coordinates, see `Path`
ANCHORS = {"start": 0.0, "middle": 0.5, "end": 1.0}  # the share of a text's width that lies left of its x
_SEGMENT_LENGTH = {"M": 3, "L": 3, "C": 7, "Z": 1}
_COLOUR = re.compile("#[0-9a-fA-F]{6}")
_CHECKED_COLOURS: set[str | None] = {None}  # found sound before, so that each is matched once


class About(NamedTuple):
    """What an item shows; the SVG carries it as data-component, data-role and data-source."""

    component: str = ""
    role: str = ""
    source: str = ""  # e.g. "specs/turbot.yaml:14"


@dataclass(frozen=True, slots=True)
class Style:
    """How a shape is painted: colours as "#rrggbb" or None, line width and dashes in mm.

    The opacity applies to the fill only.
    """

    fill: str | None = None
    stroke: str | None = None
    width: float = 0.2
    dash: tuple[float, ...] = ()
    fill_opacity: float = 1.0
    cap: str = "round"  # or "butt"
    join: str = "round"  # or "miter"

    def __post_init__(self) -> None:
        _check_colours(self.fill, self.stroke)
        if self.cap not in ("round", "butt") or self.join not in ("round", "miter"):
            raise ValueError(f"no line end {self.cap!r} or no corner {self.join!r}")
        if not (self.width > 0 and 0 <= self.fill_opacity <= 1 and all(d > 0 for d in self.dash)):
            raise ValueError(f"a line width, dash or opacity is out of range: {self}")


def _check_colours(*colours: str | None) -> None:
    if not _CHECKED_COLOURS.issuperset(colours):
        for colour in colours:
            if colour is not None and not _COLOUR.fullmatch(colour):
                raise ValueError(f"a colour is written #rrggbb, not {colour!r}")
        _CHECKED_COLOURS.update(colours)


@dataclass(frozen=True, slots=True)
class Circle:
    """A circle of radius `r` mm about (cx, cy)."""

    cx: float
    cy: float
    r: float
    style: Style
    about: About | None = None

    def __post_init__(self) -> None:
        if not self.r >= 0:
            raise ValueError(f"a circle's radius cannot be {self.r}")


@dataclass(frozen=True, slots=True)
class Rect:
    """A box with its top left corner at (x, y), its corners rounded by `radius` mm."""

    x: float
    y: float
    w: float
    h: float
    style: Style
    radius: float = 0.0
    about: About | None = None

    def __post_init__(self) -> None:
        if not (self.w >= 0 and self.h >= 0 and self.radius >= 0):
            raise ValueError(f"a box cannot be {self.w} by {self.h} mm with corners of {self.radius} mm")

    @property
    def corner(self) -> float:
        """The radius that is drawn: at most half the shorter side."""
        return min(self.radius, self.w / 2, self.h / 2)


@dataclass(frozen=True, slots=True)
class Polygon:
    """Straight lines from point to point; a closed one returns to its first point."""

    points: tuple[Point, ...]
    style: Style
    closed: bool = True
    about: About | None = None

    def __post_init__(self) -> None:
        if len(self.points) < 2:
            raise ValueError("a polygon needs at least two points")


@dataclass(frozen=True, slots=True)
class Path:
    """Lines and cubic curves: ("M", x, y), ("L", x, y), ("C", x1, y1, x2, y2, x, y) and ("Z",), all absolute."""

    segments: tuple[PathSegment, ...]
    style: Style
    about: About | None = None

    def __post_init__(self) -> None:
        whole = all(_SEGMENT_LENGTH.get(s[0]) == len(s) for s in self.segments)
        if not whole or self.segments and self.segments[0][0] != "M":
            raise ValueError("a path starts with an M and holds M, L, C and Z with their numbers")


@dataclass(frozen=True, slots=True)
class Text:
    """One line of text; (x, y) lies on its baseline, at the start, middle or end as `anchor` says."""

    x: float
    y: float
    text: str
    size_pt: float
    face: str = "regular"
    anchor: str = "start"  # or "middle", "end"
    colour: str = "#000000"
    about: About | None = None

    def __post_init__(self) -> None:
        _check_colours(self.colour)
        if self.face not in fonts.FACES or self.anchor not in ANCHORS or not self.size_pt > 0:
            raise ValueError(f"no face {self.face!r}, no anchor {self.anchor!r} or no size {self.size_pt}")


class Placing(NamedTuple):
    """Where items go: each is scaled by `scale` about the origin, then moved by (dx, dy) mm.

    The size of text is multiplied by `text_scale` instead. Line widths and dashes keep their size, so that a true-scale
    diagram set smaller on a card does not get fainter.
    """

    scale: float = 1.0
    dx: float = 0.0
    dy: float = 0.0
    text_scale: float = 1.0

    def then(self, last: "Placing") -> "Placing":
        """This placing followed by `last`, as one."""
        k, dx, dy, text_k = last
        return Placing(self.scale * k, self.dx * k + dx, self.dy * k + dy, self.text_scale * text_k)


Clip = Circle | Rect | Polygon


@dataclass(frozen=True, slots=True)
class Group:
    """Items that belong together, cut off at the edge of `clip` if there is one.

    `role` is an ARIA role ("img", "heading", "list", "table" …) for readers who hear the page read out; with "img" the
    title and description stand in for the picture.

    Moving a group keeps its `inner` items and only records the placing, because a card moves its parts several times
    over; `items` are those same items where they end up. The clip is already given where it ends up.
    """

    inner: "tuple[Item, ...]"
    title: str = ""
    description: str = ""
    id: str = ""
    about: About | None = None
    clip: Clip | None = None
    role: str = ""
    placing: Placing | None = None

    def __post_init__(self) -> None:
        if self.placing is not None and not (self.placing.scale > 0 and self.placing.text_scale > 0):
            raise ValueError(f"a scale must be positive: {self.placing}")

    @property
    def items(self) -> "tuple[Item, ...]":
        """The items where they end up."""
        return self.inner if self.placing is None else tuple([_placed(item, self.placing) for item in self.inner])

    def holding(self, items: "tuple[Item, ...]") -> "Group":
        """The same group with `items` in place of its own, given where they end up."""
        return Group(items, self.title, self.description, self.id, self.about, self.clip, self.role)


Item = Circle | Rect | Polygon | Path | Text | Group


class Scene(NamedTuple):
    """One page or picture of exactly this size in mm."""

    width_mm: float
    height_mm: float
    items: tuple[Item, ...]
    title: str
    description: str = ""
    language: str = "en-GB"


def number(value: float) -> str:
    """A number as both backends write it: at most three decimals, never "-0".

    ValueError if it is not finite, or a million or more.
    """
    if not -1e6 < value < 1e6:  # NaN fails this comparison too
        raise ValueError(f"a drawing cannot contain the number {value}")
    text = f"{value:.3f}".rstrip("0").rstrip(".")
    return "0" if text == "-0" else text


def translate(item: Item, dx: float, dy: float) -> Item:
    """`item` moved by (dx, dy) mm."""
    return _placed(item, Placing(dx=dx, dy=dy))


def shifted(items: tuple[Item, ...], dx: float, dy: float) -> Group:
    """`items` moved by (dx, dy) mm, as one group."""
    return Group(items, placing=Placing(dx=dx, dy=dy))


@overload
def _placed(item: Clip, placing: Placing) -> Clip: ...


@overload
def _placed(item: Item, placing: Placing) -> Item: ...


def _placed(item: Item, placing: Placing) -> Item:
    """The item where `placing` puts it; built field by field, because `dataclasses.replace` is slow."""
    k, dx, dy, text_k = placing
    match item:
        case Text():
            return Text(
                item.x * k + dx,
                item.y * k + dy,
                item.text,
                item.size_pt * text_k,
                item.face,
                item.anchor,
                item.colour,
                item.about,
            )
        case Group():
            return Group(
                item.inner,
                item.title,
                item.description,
                item.id,
                item.about,
                item.clip and _placed(item.clip, placing),
                item.role,
                placing if item.placing is None else item.placing.then(placing),
            )
        case Polygon():
            return Polygon(
                tuple([(x * k + dx, y * k + dy) for x, y in item.points]), item.style, item.closed, item.about
            )
        case Circle():
            return Circle(item.cx * k + dx, item.cy * k + dy, item.r * k, item.style, item.about)
        case Rect():
            return Rect(
                item.x * k + dx, item.y * k + dy, item.w * k, item.h * k, item.style, item.radius * k, item.about
            )
        case Path():
            shift = (dx, dy) * 3
            return Path(
                tuple([(s[0], *[v * k + d for v, d in zip(s[1:], shift)]) for s in item.segments]),
                item.style,
                item.about,
            )
    raise TypeError(f"not an item: {item!r}")


def coordinates(points: Iterable[Point], kx: float, ky: float, dx: float, dy: float) -> list[float]:
    """The numbers dx + kx·x, dy + ky·y of each point in turn, for a backend to write."""
    values: list[float] = []
    for x, y in points:
        values += (dx + kx * x, dy + ky * y)  # faster than a nested comprehension
    return values


def path_coordinates(segments: Iterable[PathSegment], kx: float, ky: float, dx: float, dy: float) -> list[float]:
    """The same numbers for each point of a path."""
    values: list[float] = []
    for s in segments:
        if len(s) == 3:
            values += (dx + kx * s[1], dy + ky * s[2])
        elif len(s) == 7:
            _, ax, ay, bx, by, x, y = s
            values += (dx + kx * ax, dy + ky * ay, dx + kx * bx, dy + ky * by, dx + kx * x, dy + ky * y)
    return values
