"""Pages of Scene → PDF bytes.

Page operators are written directly and handed to reportlab's canvas, which keeps fonts, pages and metadata: a page
takes a few milliseconds that way. y is turned upwards here and nowhere else. Coordinates are rounded to a thousandth
of a point (0.0004 mm), the page size only to reportlab's ten-thousandth. The same pages give the same bytes.

The file is tagged: each text is a paragraph in reading order, a group with a role becomes that element, a group with
role "img" a figure with its title as alternative text, and all other shapes are decoration.
"""

import math
import re
from functools import cache
from io import BytesIO

from platecard.drawing import fonts
from platecard.drawing.scene import ANCHORS, Circle, Group, Item, Path, Polygon, Rect, Scene, Style, Text, number

_POINTS = 72 / 25.4
_CAP = {"butt": "0 J", "round": "1 J"}
_JOIN = {"miter": "0 j", "round": "1 j"}
_SEGMENT = {"M": "m", "L": "l", "C": "c", "Z": "h"}
_NOT_METADATA = re.compile("[\x00-\x1f\x7f\ud800-\udfff\ufffe\uffff]")
# Each byte as it stands in a PDF string: as itself where that is plain ASCII, else as an octal escape.
_BYTES = [chr(b) if 32 <= b < 127 and chr(b) not in "()\\" else f"\\{b:03o}" for b in range(256)]
_DECORATION = "decoration"  # stands for the element of shapes that mean nothing to someone who hears the page


def write(scenes: tuple[Scene, ...], *, title: str, author: str = "", subject: str = "", keywords: str = "",
          language: str = "en-GB", bookmarks: tuple[tuple[str, int], ...] | None = None, is_true_size: bool = False) -> bytes:
    """A PDF with one page for each scene, of exactly its size.

    `bookmarks` are (title, page index) from 0. `is_true_size` asks the viewer not to fit pages to the paper. ValueError for no pages, a character the font lacks, a control
    character in the metadata, a number that is not finite, a bookmark to no page, an unknown face or kind of item.
    """
    from reportlab import rl_config
    from reportlab.pdfgen.canvas import Canvas

    if not scenes:
        raise ValueError("a PDF needs at least one page")
    bookmarks = bookmarks or ()
    if any(not 0 <= page < len(scenes) for _, page in bookmarks):
        raise ValueError(f"a bookmark points to no page; there are {len(scenes)}")
    for text in (title, author, subject, keywords, language, *(name for name, _ in bookmarks)):
        if found := _NOT_METADATA.search(text):
            raise ValueError(f"{fonts.name(f'U+{ord(found[0]):04X}')} cannot stand in a PDF's data ({ascii(text)})")

    output = BytesIO()
    # The first font named here is only a default the canvas insists on; its own would be one that is not embedded.
    canvas = Canvas(output, pagesize=_size(scenes[0]), invariant=1, pageCompression=1, pdfVersion=(1, 7),
                    lang=language, initialFontName=_font("regular").fontName)
    canvas.setTitle(title)
    canvas.setAuthor(author)
    canvas.setSubject(subject)
    canvas.setKeywords(keywords)
    canvas.setCreator("platecard")
    canvas.setViewerPreference("DisplayDocTitle", "true")
    if is_true_size:
        canvas.setViewerPreference("PrintScaling", "None")

    tags = _Tags()
    for index, scene in enumerate(scenes):
        canvas.setPageSize(_size(scene))
        for position, (name, page) in enumerate(bookmarks):
            if page == index:
                canvas.bookmarkPage(f"bookmark{position}")
        painter = _Painter(canvas, scene.height_mm, tags)
        painter.draw(scene.items)
        painter.finish()
        canvas.showPage()
        tags.end_page(canvas._doc)
    for position, (name, _) in enumerate(bookmarks):
        canvas.addOutlineEntry(name, f"bookmark{position}")
    if bookmarks:
        canvas.showOutline()
    tags.write(canvas._doc)

    # Text-safe encoding of streams costs time and a fifth of the size; it can only be switched off for the process.
    before, rl_config.useA85 = rl_config.useA85, 0
    try:
        canvas.save()
    finally:
        rl_config.useA85 = before
    return output.getvalue()


def _size(scene: Scene) -> tuple[float, float]:
    return scene.width_mm * _POINTS, scene.height_mm * _POINTS


@cache
def _font(face: str):
    """A face as reportlab's font, read when first used. Only the glyphs in use reach the file."""
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    font = TTFont(f"Platecard-{face}", str(fonts.file(face)), asciiReadable=False, shapable=False)
    pdfmetrics.registerFont(font)
    return font


class _Painter:
    """Writes one page's operators, and remembers the state of the page to write only what changes."""

    def __init__(self, canvas, height_mm: float, tags: "_Tags"):
        self.canvas, self.height, self.tags = canvas, height_mm, tags
        self.code = ["4 M"]              # SVG's limit for the spikes of sharp corners
        self.state: dict[str, str] = {}  # kind of state → the operator that set it
        self.alpha = 1.0
        self.mark: object = None         # what the open marked content belongs to

    def draw(self, items: tuple[Item, ...]) -> None:
        for item in items:
            match item:
                case Text():
                    self.begin(self.tags.paragraph())
                    self.text(item)
                case Group():
                    self.group(item)
                case _:
                    outline, style = self.outline(item), item.style
                    if outline and (style.fill or style.stroke):
                        self.begin(self.tags.figure)
                        self.paint(style)
                        self.code += outline
                        self.code.append(("B" if style.stroke else "f") if style.fill else "S")

    def finish(self) -> None:
        self.begin(None)
        self.flush()

    def flush(self) -> None:
        """Hand over what is written so far, before the canvas writes something itself."""
        if self.code:
            self.canvas.addLiteral("\n".join(self.code))
            self.code = []

    # --- state -------------------------------------------------------------------------------------------------

    def set(self, kind: str, operator: str) -> None:
        if self.state.get(kind) != operator:
            self.state[kind] = operator
            self.code.append(operator)

    def set_alpha(self, alpha: float) -> None:
        if alpha != self.alpha:
            self.flush()
            self.canvas.setFillAlpha(alpha)
            self.alpha = alpha

    def paint(self, style: Style) -> None:
        if style.fill:
            self.set("fill", _colour(style.fill, "rg"))
            self.set_alpha(style.fill_opacity)
        if style.stroke:
            self.set("stroke", _colour(style.stroke, "RG"))
            self.set("width", f"{number(style.width * _POINTS)} w")
            self.set("dash", f"[{' '.join(number(d * _POINTS) for d in style.dash)}] 0 d")
            self.set("cap", _CAP[style.cap])
            self.set("join", _JOIN[style.join])

    def begin(self, mark) -> None:
        """Open marked content for `mark` (an element or _DECORATION), unless it is open already."""
        if mark is not self.mark:
            if self.mark is not None:
                self.code.append("EMC")
            if mark is not None:
                self.code.append("/Artifact BMC" if mark is _DECORATION else self.tags.open(mark))
            self.mark = mark

    # --- items -------------------------------------------------------------------------------------------------

    def group(self, group: Group) -> None:
        self.tags.enter(group)
        if group.clip:
            self.begin(None)
            self.flush()
            self.canvas.saveState()
            saved = self.state.copy(), self.alpha
            self.code += [*self.outline(group.clip), "W n"]
        self.draw(group.items)
        if group.clip:
            self.begin(None)
            self.flush()
            self.canvas.restoreState()
            self.state, self.alpha = saved
        self.tags.leave(group)

    def text(self, item: Text) -> None:
        text = fonts.drawable(item.text)
        font, document = _font(item.face), self.canvas._doc
        x = item.x
        if item.anchor != "start":
            x -= ANCHORS[item.anchor] * fonts.width_mm(text, item.size_pt, item.face)
        self.set("fill", _colour(item.colour, "rg"))
        self.set_alpha(1.0)
        self.code.append(f"BT {self.point(x, item.y)} Td")
        for subset, codes in font.splitString(text, document):
            self.set("font", f"{font.getSubsetInternalName(subset, document)} {number(item.size_pt)} Tf")
            self.code.append(f"({''.join(map(_BYTES.__getitem__, codes))}) Tj")
        self.code.append("ET")

    def point(self, x: float, y: float) -> str:
        if not (-1e6 < x < 1e6 and -1e6 < y < 1e6):  # false for "not a number" too
            raise ValueError(f"a drawing cannot hold the point ({x}, {y})")
        return f"{x * _POINTS:.3f} {(self.height - y) * _POINTS:.3f}"

    def outline(self, item: Item) -> list[str]:
        point = self.point
        match item:
            case Rect(x=x, y=y, w=w, h=h, corner=0):
                return [f"{point(x, y + h)} {number(w * _POINTS)} {number(h * _POINTS)} re"]
            case Rect(x=x, y=y, w=w, h=h, corner=r):
                left, right, top, foot = x + r, x + w - r, y + r, y + h - r
                corners = ((right, top, -90), (right, foot, 0), (left, foot, 90), (left, top, 180))
                arcs = [self.arc(cx, cy, r, start, 90) for cx, cy, start in corners]
                return [f"{point(x + r, y)} m", *(line for arc in arcs for line in (f"{arc[0]} l", *arc[1:])), "h"]
            case Circle(cx=cx, cy=cy, r=r):
                start, *curves = self.arc(cx, cy, r, 0, 360)
                return [f"{start} m", *curves, "h"]
            case Polygon(points=points, closed=closed):
                first, *rest = (point(x, y) for x, y in points)
                return [f"{first} m", *(f"{p} l" for p in rest), *(["h"] if closed else [])]
            case Path(segments=segments):
                return [" ".join((*(point(*xy) for xy in zip(s[1::2], s[2::2])), _SEGMENT[s[0]]))
                        for s in segments]
        raise ValueError(f"not an item: {item!r}")

    def arc(self, cx: float, cy: float, r: float, start: float, sweep: float) -> list[str]:
        """The first point of an arc and the curves that follow, clockwise as seen, in degrees.

        A curve over 90° leaves the circle by r/3700, one over 45° by r/240000: the smaller step keeps even a 300 mm
        platter within 0.001 mm.
        """
        (first_x, first_y), *rest = _unit_arc(start, sweep, 90 if r < 3 else 45)
        point = self.point
        return [point(cx + r * first_x, cy + r * first_y), *(
            f"{point(cx + r * x1, cy + r * y1)} {point(cx + r * x2, cy + r * y2)} {point(cx + r * x, cy + r * y)} c"
            for x1, y1, x2, y2, x, y in rest)]


@cache
def _unit_arc(start: float, sweep: float, step: float) -> tuple[tuple[float, ...], ...]:
    """An arc of radius 1 about the origin: its first point, then for each curve two control points and its end."""
    k = 4 / 3 * math.tan(math.radians(step) / 4)
    turns = [math.radians(start + step * i) for i in range(round(sweep / step) + 1)]
    ends = [(math.cos(turn), math.sin(turn)) for turn in turns]
    return ends[0], *((x0 - k * y0, y0 + k * x0, x1 + k * y1, y1 - k * x1, x1, y1)
                      for (x0, y0), (x1, y1) in zip(ends, ends[1:]))


class _Tags:
    """The structure tree: which marked content belongs to which element, for those who hear the page."""

    ROLES = {"img": "Figure", "heading": "H1", "region": "Sect", "group": "Div", "list": "L", "listitem": "LI",
             "table": "Table", "row": "TR", "columnheader": "TH", "rowheader": "TH", "cell": "TD", "note": "Note"}

    def __init__(self):
        # An element is [type, parent, kids, alternative text]; a kid is an element or the number of a mark.
        self.elements: list[list] = [["Document", None, [], ""]]
        self.open_elements = [self.elements[0]]
        self.page, self.marks = 0, [[]]  # for each page the element of each mark
        self.pages: list[int] = []       # object numbers
        self.decoration = 0
        self.figure: object = _DECORATION  # what shapes belong to: the figure they are in, or nothing

    def add(self, kind: str, alternative: str = "") -> list:
        parent = self.open_elements[-1]
        element = [kind, parent, [], alternative]
        parent[2].append(element)
        self.elements.append(element)
        return element

    def paragraph(self):
        """The element of the next text: the open one if it holds text itself, else a paragraph of its own."""
        if self.decoration:
            return _DECORATION
        return self.open_elements[-1] if self.open_elements[-1][0] == "H1" else self.add("P")

    def enter(self, group: Group) -> None:
        if group.role in ("presentation", "none"):
            self.decoration += 1
        elif group.role in self.ROLES and not self.decoration:
            words = ". ".join(filter(None, (group.title, group.description))) if group.role == "img" else ""
            self.open_elements.append(self.add(self.ROLES[group.role], words))
        self.find_figure()

    def leave(self, group: Group) -> None:
        if group.role in ("presentation", "none"):
            self.decoration -= 1
        elif group.role in self.ROLES and not self.decoration:
            self.open_elements.pop()
        self.find_figure()

    def find_figure(self) -> None:
        figures = [element for element in self.open_elements if element[0] == "Figure"]
        self.figure = figures[-1] if figures and not self.decoration else _DECORATION

    def open(self, element: list) -> str:
        marks = self.marks[self.page]
        marks.append(element)
        element[2].append(len(marks) - 1)
        return f"/{element[0]} <</MCID {len(marks) - 1}>> BDC"

    def end_page(self, document) -> None:
        name = f"Page{self.page + 1}"
        self.pages.append(document.idToObjectNumberAndVersion[name][0])
        page = document.idToObject[name]
        page.__NoDefault__ = [*page.__NoDefault__, "StructParents"]  # keys it may write; this one is not among them
        page.StructParents = self.page
        self.page += 1
        self.marks.append([])

    def write(self, document) -> None:
        """Add the elements as ready-made objects: hundreds of them, and the library's own dictionaries are slow."""
        from reportlab.pdfbase.pdfdoc import PDFObjectReference, PDFString

        root = document.objectcounter + 1
        numbers = {id(element): root + 1 + i for i, element in enumerate(self.elements)}

        # Apart from the document no element runs over a page's end, so its marks are all on the page it names.
        at = {id(element): f" /Pg {page} 0 R" for page, marks in zip(self.pages, self.marks) for element in marks}
        parents = " ".join(f"{page} [{' '.join(f'{numbers[id(element)]} 0 R' for element in marks)}]"
                           for page, marks in enumerate(self.marks[:-1]))
        objects = [f"<</Type /StructTreeRoot /K {root + 1} 0 R /ParentTree <</Nums [{parents}]>>>>"]
        for element in self.elements:
            kind, parent, kids, alternative = element
            words = f" /Alt {PDFString(alternative).format(document).decode('latin-1')}" if alternative else ""
            inside = " ".join(str(kid) if isinstance(kid, int) else f"{numbers[id(kid)]} 0 R" for kid in kids)
            objects.append(f"<</S /{kind} /P {numbers[id(parent)] if parent else root} 0 R"
                           f"{at.get(id(element), '')}{words} /K [{inside}]>>")
        for i, text in enumerate(objects):
            document.Reference(text.encode("latin-1"), f"Structure{i}")
        document.Catalog.StructTreeRoot = PDFObjectReference("Structure0")
        document.Catalog.MarkInfo = b"<</Marked true>>"


@cache
def _colour(colour: str, operator: str) -> str:
    """A colour written #rrggbb, as an operator."""
    return " ".join(number(int(colour[i:i + 2], 16) / 255) for i in (1, 3, 5)) + f" {operator}"
