"""Writes a scene as a page of a PDF, ready to be bound into any file.

The page's operators are written here. This is the only place where y is turned upwards; coordinates are rounded to a
hundredth of a point (0.0035 mm). Nothing in a page depends on the document it ends up in: fonts, opacities and
structure elements have names and numbers of the page's own.

The page is tagged. Texts become paragraphs in reading order; a text directly below another and set alike continues
its paragraph, and all texts of a list item or table cell are one paragraph. A group with a role becomes that element.
A group with role "img" becomes a figure, with its title and description as alternative text for everything in it. All
other shapes are decoration.
"""

import json
import math
from collections.abc import Iterable, Sequence
from functools import cache, lru_cache
from itertools import chain
from typing import NamedTuple

from platecard.drawing import fonts, pdf_fonts
from platecard.drawing.scene import (
    ANCHORS,
    Circle,
    Clip,
    Group,
    Item,
    Path,
    Point,
    Polygon,
    Rect,
    Scene,
    Style,
    Text,
    coordinates,
    number,
    path_coordinates,
)

POINTS = 72 / 25.4
_ROUNDER = 18.5 * POINTS  # the radius in points from which an arc takes the smaller steps
_CAP = {"butt": "0 J", "round": "1 J"}
_JOIN = {"miter": "0 j", "round": "1 j"}
_SEGMENT = {"M": "%.2f %.2f m", "L": "%.2f %.2f l", "C": "%.2f %.2f %.2f %.2f %.2f %.2f c", "Z": "h"}
_ROLES = {
    "img": "Figure",
    "heading": "H1",
    "region": "Sect",
    "group": "Div",
    "list": "L",
    "listitem": "LI",
    "table": "Table",
    "row": "TR",
    "columnheader": "TH",
    "rowheader": "TH",
    "cell": "TD",
    "note": "Note",
}
_ONE_PARAGRAPH = ("LI", "TD", "TH")  # elements that are read out in one go, however many texts they are set in
_NOTHING, _DECORATION = -2, -1  # stand for an element's number where content belongs to none


class Element(NamedTuple):
    """An element of the page's structure.

    `kind` is its PDF type, `parent` the number of the element it is part of (-1: the document). `kids` are what it
    holds, in order: elements by their number, marked content by the bitwise complement of its number. `alternative`
    is the text read out in its place.
    """

    kind: str
    parent: int
    kids: tuple[int, ...]
    alternative: str = ""


class Page(NamedTuple):
    """A page ready to be bound.

    `width` and `height` are in points. `streams` are the operators, compressed. `faces` are the faces in use, each with
    its characters outside the common part, and the fonts of other writing systems, each with its runs, a line to each.
    `alphas` are the opacities in use, as they are written. `marks` gives for each piece of marked content the number of
    its element.
    """

    width: float
    height: float
    streams: tuple[bytes, ...]
    faces: tuple[tuple[str, str], ...]
    alphas: tuple[str, ...]
    elements: tuple[Element, ...]
    marks: tuple[int, ...]


def page(scene: Scene) -> Page:
    """The scene as a page.

    ValueError for a character that the font lacks, a number that is not finite, and anything that is not an item.
    """
    painter = _Painter(scene.height_mm)
    painter.draw(scene.items)
    painter.begin(_NOTHING)
    # q and Q keep what is set here from reaching a stream laid over this one.
    stream = pdf_fonts.packed("\n".join(("q", *painter.code, "Q", "")).encode("ascii"))
    elements = tuple(Element(kind, parent, tuple(kids), words) for kind, parent, kids, words in painter.elements)
    return Page(
        scene.width_mm * POINTS,
        scene.height_mm * POINTS,
        (stream,),
        _in_use(painter.faces),
        tuple(sorted(painter.alphas)),
        elements,
        tuple(painter.marks),
    )


def over(below: Page, items: tuple[Item, ...]) -> Page:
    """The page with `items` drawn on top, such as a page number; they are not read out."""
    laid = page(Scene(below.width / POINTS, below.height / POINTS, (Group(items, role="presentation"),), ""))
    return below._replace(
        streams=(*below.streams, *laid.streams),
        faces=_in_use(faces_of((below, laid))),
        alphas=tuple(sorted({*below.alphas, *laid.alphas})),
    )


def faces_of(pages: Iterable[Page]) -> dict[str, set[str]]:
    """The faces that pages use, each with its rare characters, and other fonts, each with its runs."""
    found: dict[str, set[str]] = {}
    for one in pages:
        for face, rare in one.faces:
            found.setdefault(face, set()).update(rare if face in fonts.FACES else rare.split("\n"))
    return found


def _in_use(faces: dict[str, set[str]]) -> tuple[tuple[str, str], ...]:
    own = [(face, "".join(sorted(faces[face]))) for face in fonts.FACES if face in faces]
    return (*own, *((font, "\n".join(sorted(faces[font]))) for font in sorted(faces.keys() - set(fonts.FACES))))


def to_bytes(pages: tuple[Page, ...]) -> bytes:
    """Pages in the form they are stored in: a line of JSON, then their streams."""
    described = [
        [
            p.width,
            p.height,
            [len(s) for s in p.streams],
            p.faces,
            p.alphas,
            [[e.kind, e.parent, e.kids, e.alternative] for e in p.elements],
            p.marks,
        ]
        for p in pages
    ]
    return (
        json.dumps(described, separators=(",", ":")).encode("ascii")
        + b"\n"
        + b"".join(s for p in pages for s in p.streams)
    )


def from_bytes(data: bytes) -> tuple[Page, ...]:
    """The pages that `to_bytes` stored. ValueError for anything else."""
    head, _, streams = data.partition(b"\n")
    made, at, described = [], 0, json.loads(head)
    if not isinstance(described, list):
        raise ValueError("no list of pages")
    try:
        for width, height, lengths, faces, alphas, elements, marks in described:
            cut = []
            for length in lengths:
                cut.append(streams[at : at + length])
                at += length
            made.append(
                Page(
                    width,
                    height,
                    tuple(cut),
                    tuple((face, rare) for face, rare in faces),
                    tuple(alphas),
                    tuple(Element(kind, parent, tuple(kids), words) for kind, parent, kids, words in elements),
                    tuple(marks),
                )
            )
    except (TypeError, KeyError) as exc:
        raise ValueError(f"no pages: {exc}") from exc
    if at != len(streams):
        raise ValueError("the streams of the pages are cut short or too long")
    return tuple(made)


class _Painter:
    """Writes a page's operators, and keeps track of the graphics state so as to write only what changes."""

    def __init__(self, height_mm: float) -> None:
        # From millimetres to points: (x, y) is drawn at (x0 + k x, y0 - k y), and text is text_k times as large.
        self.k, self.x0, self.y0, self.text_k = POINTS, 0.0, height_mm * POINTS, 1.0
        self.code = ["4 M"]  # the miter limit of SVG, for the spikes of sharp corners
        self.fill = self.stroke = self.font = ""  # the operators that last set them
        self.alpha = "1"
        self.faces: dict[str, set[str]] = {}
        self.alphas: set[str] = set()
        self.styles: dict[int, tuple[str, str, str]] = {}
        self.elements: list[tuple[str, int, list[int], str]] = []
        self.marks: list[int] = []
        self.nest: list[int] = []  # the elements we are inside
        self.hidden = 0  # how many groups of decoration we are inside
        self.figure = (
            _DECORATION  # the figure we are inside, to which shapes and texts belong; else shapes are decoration
        )
        self.mark = _NOTHING  # the element that the open marked content belongs to

    def draw(self, items: tuple[Item, ...]) -> None:
        code = self.code
        before: Text | None = None  # the previous item, if it is text
        for item in items:
            if isinstance(item, Text):
                if self.figure >= 0:
                    self.begin(self.figure)
                elif not (self.mark >= 0 and before is not None and _goes_on(before, item)):
                    self.begin(self.paragraph())
                self.text(item)
            elif isinstance(item, Group):
                self.group(item)
            else:
                outline = self.outline(item)
                style = item.style
                if outline and (style.fill or style.stroke):
                    if self.mark != self.figure:
                        self.begin(self.figure)
                    self.paint(style)
                    code.append(outline + ("\nB" if style.stroke else "\nf") if style.fill else outline + "\nS")
            before = item if isinstance(item, Text) else None

    # --- state -------------------------------------------------------------------------------------------------

    def paint(self, style: Style) -> None:
        known = self.styles.get(id(style))  # a safe key: the scene keeps its styles alive while it is drawn
        if known is None:
            known = self.styles[id(style)] = _paint(style)
        fill, alpha, stroke = known
        if fill:
            self.set_fill(fill, alpha)
        if stroke and stroke != self.stroke:
            self.stroke = stroke
            self.code.append(stroke)

    def set_fill(self, fill: str, alpha: str) -> None:
        if fill != self.fill:
            self.fill = fill
            self.code.append(fill)
        if alpha != self.alpha:
            self.alpha = alpha
            self.alphas.add(alpha)
            self.code.append(f"/{alpha_name(alpha)} gs")

    def begin(self, element: int) -> None:
        """Open marked content for an element, for decoration or for nothing, unless it is open already."""
        if element != self.mark:
            if self.mark != _NOTHING:
                self.code.append("EMC")
            if element == _DECORATION:
                self.code.append("/Artifact BMC")
            elif element != _NOTHING:
                self.elements[element][2].append(~len(self.marks))
                self.code.append(f"/{self.elements[element][0]} <</MCID {len(self.marks)}>> BDC")
                self.marks.append(element)
            self.mark = element

    # --- structure ---------------------------------------------------------------------------------------------

    def add(self, kind: str, words: str = "") -> int:
        """Add an element to the one we are inside, and return its number."""
        parent = self.nest[-1] if self.nest else -1
        here = len(self.elements)
        if self.nest:
            self.elements[parent][2].append(here)
        self.elements.append((kind, parent, [], words))
        return here

    def paragraph(self) -> int:
        """The element that the next text belongs to.

        It is the heading we are inside, or the paragraph begun for the list item or cell we are inside, or else a new
        paragraph. Inside decoration it is none.
        """
        if self.hidden:
            return _DECORATION
        if self.nest:
            kind, _, kids, _ = self.elements[self.nest[-1]]
            if kind == "H1":
                return self.nest[-1]
            if kind in _ONE_PARAGRAPH and kids and kids[-1] >= 0 and self.elements[kids[-1]][0] == "P":
                return kids[-1]
        return self.add("P")

    def group(self, group: Group) -> None:
        hides = group.role in ("presentation", "none")
        opens = group.role in _ROLES and not self.hidden and self.figure < 0
        figure = self.figure
        if hides:
            self.hidden += 1
            self.figure = _DECORATION
        elif opens:
            kind = _ROLES[group.role]
            self.nest.append(
                self.add(kind, ". ".join(filter(None, (group.title, group.description))) if kind == "Figure" else "")
            )
            if kind == "Figure":
                self.figure = self.nest[-1]
        if group.clip:
            self.begin(_NOTHING)
            saved = self.fill, self.stroke, self.font, self.alpha
            self.code.append(f"q\n{self.outline(group.clip)}\nW n")
        if group.placing is None:
            self.draw(group.inner)
        else:
            before = self.k, self.x0, self.y0, self.text_k
            k, dx, dy, text_k = group.placing
            self.x0 += self.k * dx
            self.y0 -= self.k * dy
            self.k *= k
            self.text_k *= text_k
            self.draw(group.inner)
            self.k, self.x0, self.y0, self.text_k = before
        if group.clip:
            self.begin(_NOTHING)
            self.code.append("Q")
            self.fill, self.stroke, self.font, self.alpha = saved
        if hides:
            self.hidden -= 1
        elif opens:
            self.nest.pop()
        self.figure = figure

    # --- items -------------------------------------------------------------------------------------------------

    def text(self, item: Text) -> None:
        runs = pdf_fonts.runs(item.text)
        size = item.size_pt * self.text_k
        x, y = self.x0 + self.k * item.x, self.y0 - self.k * item.y
        if item.anchor != "start":
            x -= ANCHORS[item.anchor] * POINTS * fonts.width_mm(item.text, size, item.face)
        if not (-1e7 < x < 1e7 and -1e7 < y < 1e7):  # NaN fails this comparison too
            raise ValueError(f"a drawing cannot hold the point ({item.x}, {item.y})")
        self.set_fill(_colour(item.colour, "rg"), "1")
        if runs:
            self.code.append(
                " ".join((f"BT {x:.2f} {y:.2f} Td", *self.strings(item.text, runs, item.face, size), "ET"))
            )
        else:
            self.shaped(item, size, x, y)

    def strings(self, text: str, runs: Sequence[tuple[int, str]], face: str, size: float) -> list[str]:
        """The operators for a text of the card's own font, given as runs of one part each."""
        rare = self.faces.setdefault(face, set())
        written = []
        for part, inside in runs:
            if part:
                rare |= pdf_fonts.beyond(fonts.normal(text))
            font = _font(face, part, size)
            if font != self.font:
                self.font = font
                written.append(font)
            written.append(f"({inside}) Tj")
        return written

    def shaped(self, item: Text, size: float, x: float, y: float) -> None:
        """A text with runs of another writing system, whose glyphs do not tell what it says."""
        from platecard.drawing import pdf_scripts, scripts

        text = fonts.normal(item.text)
        runs = scripts.runs(text, item.face)
        # What runs from right to left is told word by word and in the order seen, because what reads a page turns it
        # round by itself (poppler 22 and PDFium 15 do); the rest is told as a line.
        is_whole = not any(run.is_reversed for run in runs)
        written = [*([pdf_scripts.read_as(text)] if is_whole else []), "BT"]
        for run in runs:
            if run.is_reversed:
                written.append(pdf_scripts.read_as(run.text[::-1] if run.script else run.written))
            if run.script:
                name = pdf_scripts.font_of(run, item.face)
                self.faces.setdefault(name, set()).add(pdf_scripts.remembered(run))
                font = f"/{pdf_scripts.name(name)} {number(size)} Tf"
                if font != self.font:
                    self.font = font
                    written.append(font)
                written.append(pdf_scripts.operators(run, size, x, y))
            else:
                written.append(f"1 0 0 1 {x:.2f} {y:.2f} Tm")
                written += self.strings(run.text, pdf_fonts.runs(run.text), item.face, size)
            if run.is_reversed:
                written.append("EMC")
            x += run.width * 0.001 * size
        self.code.append(" ".join((*written, "ET EMC" if is_whole else "ET")))

    def outline(self, item: Clip | Path) -> str:
        k, x0, y0 = self.k, self.x0, self.y0
        if isinstance(item, Polygon):
            return _filled_in(_polygon(len(item.points), item.closed), coordinates(item.points, k, -k, x0, y0))
        if isinstance(item, Path):
            return _filled_in(
                _path("".join([s[0] for s in item.segments])), path_coordinates(item.segments, k, -k, x0, y0)
            )
        if isinstance(item, Circle):
            r = item.r * k
            form, arc = _circle(is_small=r < _ROUNDER)
            return _filled_in(form, coordinates(arc, r, r, x0 + k * item.cx, y0 - k * item.cy))
        if isinstance(item, Rect):
            x, y, w, h, r = x0 + k * item.x, y0 - k * item.y, k * item.w, k * item.h, k * item.corner
            if r == 0:
                return _filled_in("%.2f %.2f %.2f %.2f re", (x, y - h, w, h))
            left, right, top, foot = x + r, x + w - r, y - r, y - h + r
            forms, values = ["%.2f %.2f m"], [left, y]
            for cx, cy, start in ((right, top, 90), (right, foot, 0), (left, foot, -90), (left, top, -180)):
                form, arc = _round(start, -90, 90 if r < _ROUNDER else 45)
                forms.append(form.replace(" m", " l", 1))
                values += coordinates(arc, r, r, cx, cy)
            return _filled_in("\n".join((*forms, "h")), values)
        raise ValueError(f"not an item: {item!r}")


def _filled_in(form: str, values: Sequence[float]) -> str:
    """A template of operators with coordinates in points filled in.

    ValueError if one of them is not a number, or too large for any page.
    """
    if not math.hypot(*values) < 1e7:  # NaN fails this comparison too
        raise ValueError(f"a drawing cannot hold all of the coordinates {values}")
    return form % tuple(values)


def _goes_on(above: Text, below: Text) -> bool:
    """Whether `below` is the next line of a paragraph: set like `above`, and at most a line beneath it."""
    alike = (
        above.x == below.x
        and above.size_pt == below.size_pt
        and above.face == below.face
        and above.anchor == below.anchor
        and above.colour == below.colour
    )
    return alike and 0 < below.y - above.y <= 1.4 * below.size_pt * fonts.MM_PER_POINT


def alpha_name(alpha: str) -> str:
    """The name of an opacity in a page's resources."""
    return f"A{alpha}"


@cache
def _polygon(corners: int, closed: bool) -> str:
    return "\n".join(("%.2f %.2f m", *["%.2f %.2f l"] * (corners - 1), *(["h"] if closed else [])))


@lru_cache(maxsize=1024)
def _path(letters: str) -> str:
    return "\n".join([_SEGMENT[letter] for letter in letters])


@cache
def _circle(is_small: bool) -> tuple[str, tuple[Point, ...]]:
    form, arc = _round(0, -360, 90 if is_small else 45)  # as SVG draws one, so that dashes start at the same point
    return f"{form}\nh", arc


@cache
def _round(start: float, sweep: float, step: float) -> tuple[str, tuple[Point, ...]]:
    """An arc of radius 1 about the origin: a template of operators, and the points to fill in.

    Angles are in degrees, anticlockwise as seen on paper; a negative `sweep` goes clockwise. A curve that spans 90° is
    off the circle by r/3700 at most, one that spans 45° by r/240000. With the smaller step from a radius of 18.5 mm
    on, everything up to a platter of 2 m is accurate to 0.005 mm.
    """
    step = math.copysign(step, sweep)
    k = 4 / 3 * math.tan(math.radians(step) / 4)
    turns = [math.radians(start + step * i) for i in range(round(sweep / step) + 1)]
    ends = [(math.cos(turn), math.sin(turn)) for turn in turns]
    curves = [
        ((x0 - k * y0, y0 + k * x0), (x1 + k * y1, y1 - k * x1), (x1, y1)) for (x0, y0), (x1, y1) in zip(ends, ends[1:])
    ]
    return "\n".join(("%.2f %.2f m", *[_SEGMENT["C"]] * len(curves))), (ends[0], *chain.from_iterable(curves))


@cache
def _paint(style: Style) -> tuple[str, str, str]:
    """The operators that set the fill, its opacity, and the operators that set the line."""
    stroke = ""
    if style.stroke:
        dash = " ".join(number(d * POINTS) for d in style.dash)
        stroke = (
            f"{_colour(style.stroke, 'RG')} {number(style.width * POINTS)} w [{dash}] 0 d {_CAP[style.cap]}"
            f" {_JOIN[style.join]}"
        )
    return (_colour(style.fill, "rg") if style.fill else ""), number(style.fill_opacity), stroke


@lru_cache(maxsize=1024)
def _font(face: str, part: int, size: float) -> str:
    return f"/{pdf_fonts.name(face, part)} {number(size)} Tf"


@cache
def _colour(colour: str, operator: str) -> str:
    """The operator that sets a colour written #rrggbb."""
    return " ".join(number(int(colour[i : i + 2], 16) / 255) for i in (1, 3, 5)) + f" {operator}"
