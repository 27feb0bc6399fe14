"""Scene → SVG text, one unit to the millimetre.

Coordinates are rounded here, to a thousandth of a millimetre, and nowhere earlier. Text stays text; the faces it uses
travel inside the file, so that it measures the same everywhere. The same scene gives the same bytes.
"""

import base64
import re
from functools import cache
from xml.etree import ElementTree

from platecard.drawing import fonts
from platecard.drawing.scene import About, Circle, Group, Item, Path, Polygon, Rect, Scene, Style, Text, number

_WEIGHT = {"regular": "400", "semibold": "600", "bold": "700", "italic": "400"}
_NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_KEPT_SPACES = re.compile("^ | $|  ")


def write(scene: Scene, *, embed_fonts: bool = True, id_prefix: str = "") -> str:
    """The scene as an SVG document, one element to a line, ending in a newline.

    For a page that holds several pictures: `embed_fonts=False` leaves the fonts to `font_css` on the page, and
    `id_prefix` keeps the pictures' ids apart. ValueError for a character XML or the font does not have, for a number
    that is not finite, and for what is not an item.
    """
    import svgwrite  # late: half a cold start, and a PDF alone does not need it

    drawing = svgwrite.Drawing(
        size=(f"{number(scene.width_mm)}mm", f"{number(scene.height_mm)}mm"),
        viewBox=f"0 0 {number(scene.width_mm)} {number(scene.height_mm)}",
        debug=False,  # the checking mode knows no role, no aria- and no data- attributes
        role="img", lang=_legal(scene.language), fill="none", stroke_linecap="round", stroke_linejoin="round",
        font_family=f"'{fonts.FAMILY}', sans-serif", text_rendering="geometricPrecision",
    )
    drawing.attribs["xml:lang"] = scene.language
    drawing.set_desc(title=_legal(scene.title), desc=_legal(scene.description) or None)
    drawing["aria-labelledby"] = f"{id_prefix}title" + (f" {id_prefix}description" if scene.description else "")

    faces = _faces(scene.items)
    if faces and embed_fonts:
        drawing.defs.add(drawing.style(font_css(faces)))
    writer = _Writer(drawing, id_prefix)
    for item in scene.items:
        drawing.add(writer.element(item))

    root = drawing.get_xml()
    root.find("title").set("id", f"{id_prefix}title")
    if scene.description:
        root.find("desc").set("id", f"{id_prefix}description")
    if not drawing.defs.elements:
        root.remove(root.find("defs"))
    ElementTree.indent(root, " ")
    return '<?xml version="1.0" encoding="utf-8"?>\n' + ElementTree.tostring(root, encoding="unicode") + "\n"


def font_css(faces: tuple[str, ...] = fonts.FACES) -> str:
    """The style sheet that carries `faces` and switches off what would change a measured width."""
    rules = "".join(
        f"@font-face{{font-family:'{fonts.FAMILY}';font-weight:{_WEIGHT[face]};"
        f"font-style:{'italic' if face == 'italic' else 'normal'};"
        f"src:url(data:font/woff2;base64,{_base64(face)}) format('woff2')}}\n"
        for face in faces)
    return rules + "text{font-kerning:none;font-variant-ligatures:none}"


@cache
def _base64(face: str) -> str:
    return base64.b64encode(fonts.file(face, "woff2").read_bytes()).decode("ascii")


def _faces(items: tuple[Item, ...]) -> tuple[str, ...]:
    """The faces that items use, in the order of `fonts.FACES`."""
    used, waiting = set(), list(items)
    while waiting:
        item = waiting.pop()
        if isinstance(item, Group):
            waiting += item.items
        elif isinstance(item, Text):
            used.add(item.face)
    return tuple(face for face in fonts.FACES if face in used)


class _Writer:
    """Turns items into svgwrite elements and numbers the clips as they come."""

    def __init__(self, drawing, id_prefix: str):
        self.drawing, self.prefix, self.clips = drawing, id_prefix, 0

    def element(self, item: Item):
        make = self.drawing
        match item:
            case Text(x=x, y=y, text=text, size_pt=size, face=face, anchor=anchor, colour=colour):
                element = make.text(fonts.drawable(_legal(text)), fill=colour)
                element.attribs.update(x=number(x), y=number(y), **{"font-size": number(size * fonts.MM_PER_POINT)})
                if _WEIGHT[face] != "400":
                    element["font-weight"] = _WEIGHT[face]
                if face == "italic":
                    element["font-style"] = "italic"
                if anchor != "start":
                    element["text-anchor"] = anchor
                if _KEPT_SPACES.search(text):
                    element["xml:space"] = "preserve"
            case Group():
                element = self.group(item)
            case Circle(cx=cx, cy=cy, r=r):
                element = make.circle()
                element.attribs.update(cx=number(cx), cy=number(cy), r=number(r))
            case Rect(x=x, y=y, w=w, h=h, corner=corner):
                element = make.rect()
                element.attribs.update(x=number(x), y=number(y), width=number(w), height=number(h))
                if corner:
                    element["rx"] = number(corner)
            case Polygon(points=points, closed=closed):
                element = (make.polygon if closed else make.polyline)([(number(px), number(py)) for px, py in points])
            case Path(segments=segments):
                element = make.path(" ".join(s[0] + " ".join(map(number, s[1:])) for s in segments))
            case _:
                raise ValueError(f"not an item: {item!r}")
        if not isinstance(item, (Text, Group)):
            element.attribs.update(_paint(item.style))
        if item.about:
            element.attribs.update(_about(item.about))
        return element

    def group(self, group: Group):
        element = self.drawing.g()
        if group.id:
            element["id"] = _legal(self.prefix + group.id)
        if group.role:
            element["role"] = _legal(group.role)
        if group.clip:
            self.clips += 1
            name = f"{self.prefix}clip{self.clips}"
            clip = self.drawing.clipPath(id=name)
            clip.add(self.element(group.clip))
            self.drawing.defs.add(clip)
            element["clip-path"] = f"url(#{name})"
        for item in group.items:
            element.add(self.element(item))
        if group.title or group.description:
            element.set_desc(title=_legal(group.title) or None, desc=_legal(group.description) or None)
        return element


def _paint(style: Style) -> dict[str, str]:
    """Only what differs from the root element: no fill, no stroke, round ends and corners."""
    paint = {}
    if style.fill:
        paint["fill"] = style.fill
        if style.fill_opacity != 1:
            paint["fill-opacity"] = number(style.fill_opacity)
    if style.stroke:
        paint["stroke"] = style.stroke
        paint["stroke-width"] = number(style.width)
        if style.dash:
            paint["stroke-dasharray"] = " ".join(map(number, style.dash))
        if style.cap != "round":
            paint["stroke-linecap"] = style.cap
        if style.join != "round":
            paint["stroke-linejoin"] = style.join
    return paint


def _about(about: About) -> dict[str, str]:
    pairs = {"data-component": about.component, "data-role": about.role, "data-source": about.source}
    return {key: _legal(value) for key, value in pairs.items() if value}


def _legal(text: str) -> str:
    """`text` unchanged. ValueError for a character that no XML file can hold, escaped or not."""
    found = _NOT_XML.search(text)
    if found:
        raise ValueError(f"XML has no {fonts.name(f'U+{ord(found[0]):04X}')} (in {ascii(text)})")
    return text
