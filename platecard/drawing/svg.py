"""Writes a scene as SVG text, one unit to the millimetre.

svgwrite makes the document and its head; the elements in it are written here as lines of text (why: see
`platecard.drawing`). Coordinates are rounded to a thousandth of a millimetre here and nowhere earlier. Text stays
text, and the faces it uses are embedded, so that it has the same width everywhere. The same scene always gives the
same bytes.
"""

import base64
import math
import re
from collections.abc import Iterable
from functools import cache, lru_cache
from itertools import chain
from typing import cast
from xml.etree import ElementTree

from platecard.drawing import fonts
from platecard.drawing.scene import (
    About,
    Circle,
    Clip,
    Group,
    Item,
    Path,
    Placing,
    Polygon,
    Rect,
    Scene,
    Style,
    Text,
    coordinates,
    number,
    path_coordinates,
)

_WEIGHT = {"regular": "400", "semibold": "600", "bold": "700", "italic": "400"}
_NOT_XML = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_SEGMENT = {"M": "M%.3f %.3f", "L": "L%.3f %.3f", "C": "C%.3f %.3f %.3f %.3f %.3f %.3f", "Z": "Z"}
_KEPT_SPACES = re.compile("^ | $|  ")
_IN_PLACE = Placing()
_SPECIAL = re.compile('[&<>"\r\n\t]')
_ENTITIES = {ord(c): f"&#{ord(c)};" for c in "\r\n\t"} | {
    ord("&"): "&amp;",
    ord("<"): "&lt;",
    ord(">"): "&gt;",
    ord('"'): "&quot;",
}


def write(scene: Scene, *, embed_fonts: bool = True, id_prefix: str = "") -> str:
    """The scene as an SVG document, one element to a line, ending in a newline.

    On a page with several pictures, `embed_fonts=False` leaves the fonts to the page (see `font_css`), and `id_prefix`
    keeps the ids of the pictures apart. ValueError for a character that XML or the font does not have, for a number
    that is not finite, and for anything that is not an item.
    """
    writer = _Writer(id_prefix)
    writer.items(scene.items, 1)
    opening, head, close = _document(scene, id_prefix)
    lines = [opening, *head]
    if (writer.faces and embed_fonts) or writer.clips:
        lines.append(" <defs>")
        if writer.faces and embed_fonts:
            lines.append(f'  <style type="text/css">{writer.font_css()}</style>')
        lines += writer.clips
        lines.append(" </defs>")
    return "\n".join((*lines, *writer.lines, close, ""))


def _document(scene: Scene, id_prefix: str) -> tuple[str, list[str], str]:
    """The document around the drawing: its opening line, its title and description, and its closing line."""
    # Imported late: it costs a tenth of a cold start, and a PDF does not need it.
    import svgwrite  # type: ignore[import-untyped]

    drawing = svgwrite.Drawing(
        size=(f"{number(scene.width_mm)}mm", f"{number(scene.height_mm)}mm"),
        viewBox=f"0 0 {number(scene.width_mm)} {number(scene.height_mm)}",
        debug=False,  # its checking mode rejects role, aria- and data- attributes
        role="img",
        lang=_legal(scene.language),
        fill="none",
        stroke_linecap="round",
        stroke_linejoin="round",
        font_family=f"'{fonts.FAMILY}', sans-serif",
        text_rendering="geometricPrecision",
    )
    drawing.attribs["xml:lang"] = scene.language
    drawing.set_desc(title=_legal(scene.title), desc=_legal(scene.description) or None)
    drawing["aria-labelledby"] = f"{id_prefix}title" + (f" {id_prefix}description" if scene.description else "")
    root = cast(ElementTree.Element, drawing.get_xml())
    for empty in root.findall("defs"):  # written by the caller, once the faces are known
        root.remove(empty)
    described = [element for name in ("title", "desc") if (element := root.find(name)) is not None]
    for element, name in zip(described, ("title", "description")):
        element.set("id", id_prefix + name)
        root.remove(element)
    root.text = "\n"
    opening, close = ElementTree.tostring(root, encoding="unicode").split("\n")
    return (
        '<?xml version="1.0" encoding="utf-8"?>\n' + opening,
        [" " + ElementTree.tostring(e, encoding="unicode") for e in described],
        close,
    )


@cache
def font_css(faces: tuple[str, ...] = fonts.FACES, further: tuple[str, ...] = (), more: str = "") -> str:
    """The style sheet that embeds `faces` and switches off whatever would change a measured width.

    `further` are those whose Greek and Cyrillic are embedded too, `more` are rules for other fonts. It contains no
    character that needs escaping in XML.
    """
    rules = [*(_face_rule(face, False) for face in faces), *(_face_rule(face, True) for face in further)]
    return "".join((*rules, more, "text{font-kerning:none;font-variant-ligatures:none}"))


@cache
def _face_rule(face: str, is_further: bool) -> str:
    font = base64.b64encode(fonts.file(face, "woff2", is_further).read_bytes()).decode("ascii")
    ranges = ",".join(f"U+{first:X}-{last:X}" for first, last in fonts.FURTHER)
    return (
        f"@font-face{{font-family:'{fonts.FAMILY}';font-weight:{_WEIGHT[face]};"
        f"font-style:{'italic' if face == 'italic' else 'normal'};"
        f"src:url(data:font/woff2;base64,{font}) format('woff2')"
        f"{f';unicode-range:{ranges}' if is_further else ''}}}\n"
    )


def _script_rule(key: str, face: str, characters: str) -> str:
    """The rule that embeds what is used of another writing system's font."""
    from platecard.drawing import script_fonts

    font = base64.b64encode(script_fonts.for_svg(key, face, characters)).decode("ascii")
    return (
        f"@font-face{{font-family:'{_family(key)}';font-weight:{_WEIGHT[face]};"
        f"src:url(data:font/ttf;base64,{font}) format('truetype')}}\n"
    )


def _family(key: str) -> str:
    return f"Platecard {key}"


class _Writer:
    """Writes items as lines, and collects the faces they use and the clips they need."""

    def __init__(self, id_prefix: str) -> None:
        self.prefix = id_prefix
        self.lines: list[str] = []
        self.clips: list[str] = []
        self.faces: set[str] = set()
        self.further: set[str] = set()  # those in which Greek or Cyrillic is set
        self.scripts: dict[tuple[str, str], set[str]] = {}  # writing system and face → what is set in it
        self.attributes: dict[int, str] = {}  # those of a Style or an About, by the id() of it
        self.placing: Placing | None = None  # that of all the groups we are inside

    def items(self, items: tuple[Item, ...], depth: int) -> None:
        indent, placing = " " * depth, self.placing
        for item in items:
            if isinstance(item, Group):
                self.group(item, depth)
            elif isinstance(item, Text):
                self.text(item, indent)
            else:
                shape, style, about = _shape(item, placing), item.style, item.about
                # An id() is a safe key here, because the scene keeps its values alive while it is drawn.
                paint = self.attributes.get(id(style))
                if paint is None:
                    paint = self.attributes[id(style)] = _paint(style)
                data = self.attributes.get(id(about))
                if data is None:
                    data = self.attributes[id(about)] = _about(about)
                self.lines.append(f"{indent}<{shape}{paint}{data} />")

    def text(self, item: Text, indent: str) -> None:
        self.faces.add(item.face)
        text = fonts.drawable(_legal(item.text))
        if fonts.needs_further(text):
            self.further.add(item.face)
        if fonts.needs_shaping(text):
            self.shaped(item, text, indent)
            return
        anchor = "" if item.anchor == "start" else f' text-anchor="{item.anchor}"'
        spaces = ' xml:space="preserve"' if _KEPT_SPACES.search(text) else ""
        k, dx, dy, text_k = self.placing or _IN_PLACE
        self.lines.append(
            f'{indent}<text x="{number(item.x * k + dx)}" y="{number(item.y * k + dy)}"'
            f" {_face(item.face, item.size_pt * text_k, item.colour)}{anchor}{spaces}{_about(item.about)}"
            f">{_escaped(text)}</text>"
        )

    def shaped(self, item: Text, text: str, indent: str) -> None:
        """A text with another writing system, which a browser shapes and puts in order as `scripts` does."""
        from platecard.drawing import script_fonts, scripts

        face = "regular" if item.face == "italic" else item.face
        used: dict[str, None] = {}
        for run in scripts.runs(text, item.face):
            if run.script:
                used[run.script] = None
                self.scripts.setdefault((run.script, face), set()).update(run.text)
        families = ",".join((f"'{fonts.FAMILY}'", *(f"'{_family(key)}'" for key in used), "sans-serif"))
        anchor, direction = item.anchor, ""
        if scripts.is_right_to_left(text):  # there a text starts at its right
            anchor = {"start": "end", "end": "start"}.get(anchor, anchor)
            direction = ' direction="rtl" unicode-bidi="embed"'
        k, dx, dy, text_k = self.placing or _IN_PLACE
        placed = "" if anchor == "start" else f' text-anchor="{anchor}"'
        self.lines.append(
            f'{indent}<text x="{number(item.x * k + dx)}" y="{number(item.y * k + dy)}"'
            f" {_face(item.face, item.size_pt * text_k, item.colour)}{placed}{direction}"
            f' font-family="{families}" xml:lang="{script_fonts.language(next(iter(used)))}"'
            f' style="font-variant-ligatures:normal;font-synthesis:none"{_about(item.about)}>{_escaped(text)}</text>'
        )

    def font_css(self) -> str:
        """The style sheet for what was written."""
        faces, further = (tuple(face for face in fonts.FACES if face in used) for used in (self.faces, self.further))
        rules = (_script_rule(*font, "".join(sorted(self.scripts[font]))) for font in sorted(self.scripts))
        return font_css(faces, further, "".join(rules))

    def group(self, group: Group, depth: int) -> None:
        before = self.placing
        if group.placing is not None:
            self.placing = group.placing if before is None else group.placing.then(before)
        if group.title or group.description or group.id or group.about or group.clip or group.role:
            self.named(group, depth, before)
        else:
            self.items(group.inner, depth)
        self.placing = before

    def named(self, group: Group, depth: int, around: Placing | None) -> None:
        """A group that needs an element of its own; `around` is the placing of the groups around it."""
        clip = ""
        if group.clip:
            name = f"{self.prefix}clip{len(self.clips) // 3 + 1}"
            self.clips += (
                f'  <clipPath id="{name}">',
                f"   <{_shape(group.clip, around)}{_paint(group.clip.style)} />",
                "  </clipPath>",
            )
            clip = f' clip-path="url(#{name})"'
        named = f' id="{_attribute(self.prefix + group.id)}"' if group.id else ""
        role = f' role="{_attribute(group.role)}"' if group.role else ""
        indent = " " * depth
        self.lines.append(f"{indent}<g{named}{role}{clip}{_about(group.about)}>")
        for tag, words in (("title", group.title), ("desc", group.description)):
            if words:
                self.lines.append(f"{indent} <{tag}>{_attribute(words)}</{tag}>")
        self.items(group.inner, depth + 1)
        self.lines.append(f"{indent}</g>")


def _shape(item: Clip | Path, placing: Placing | None) -> str:
    """The element's name and the attributes of its outline, once placed."""
    k, dx, dy, _ = placing or _IN_PLACE
    if isinstance(item, Polygon):
        points = chain.from_iterable(item.points) if placing is None else coordinates(item.points, k, k, dx, dy)
        return _filled_in(_polygon(len(item.points), item.closed), points)
    if isinstance(item, Path):
        return _filled_in(_path("".join([s[0] for s in item.segments])), path_coordinates(item.segments, k, k, dx, dy))
    if isinstance(item, Circle):
        return _filled_in('circle cx="%.3f" cy="%.3f" r="%.3f"', (item.cx * k + dx, item.cy * k + dy, item.r * k))
    if isinstance(item, Rect):
        rounded = f' rx="{number(item.corner * k)}"' if item.corner else ""
        return (
            _filled_in(
                'rect x="%.3f" y="%.3f" width="%.3f" height="%.3f"',
                (item.x * k + dx, item.y * k + dy, item.w * k, item.h * k),
            )
            + rounded
        )
    raise ValueError(f"not an item: {item!r}")


@cache
def _polygon(corners: int, closed: bool) -> str:
    points = " ".join(["%.3f,%.3f"] * corners)
    return f'{"polygon" if closed else "polyline"} points="{points}"'


@lru_cache(maxsize=1024)
def _path(letters: str) -> str:
    return f'path d="{"".join([_SEGMENT[letter] for letter in letters])}"'


def _filled_in(form: str, coordinates_mm: Iterable[float]) -> str:
    """The template of an element with its coordinates filled in.

    ValueError if one of them is not a number, or too large for any page.
    """
    values = tuple(coordinates_mm)
    if not math.hypot(*values) < 1e6:  # NaN fails this comparison too
        raise ValueError(f"a drawing cannot hold all of the coordinates {values}")
    return form % values


@cache
def _face(face: str, size_pt: float, colour: str) -> str:
    weight = f' font-weight="{_WEIGHT[face]}"' if _WEIGHT[face] != "400" else ""
    style = ' font-style="italic"' if face == "italic" else ""
    return f'fill="{colour}" font-size="{number(size_pt * fonts.MM_PER_POINT)}"{weight}{style}'


@cache
def _paint(style: Style) -> str:
    """The attributes of a style that differ from the root's: no fill, no stroke, round ends and corners."""
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
    return "".join(f' {key}="{value}"' for key, value in paint.items())


def _about(about: About | None) -> str:
    if about is None:
        return ""
    pairs = (("component", about.component), ("role", about.role), ("source", about.source))
    return "".join(f' data-{key}="{_attribute(value)}"' for key, value in pairs if value)


def _attribute(text: str) -> str:
    return _escaped(_legal(text))


def _escaped(text: str) -> str:
    return text.translate(_ENTITIES) if _SPECIAL.search(text) else text


def _legal(text: str) -> str:
    """`text` unchanged. ValueError for a character that XML cannot hold even when escaped."""
    found = _NOT_XML.search(text)
    if found:
        raise ValueError(f"XML has no {fonts.name(f'U+{ord(found[0]):04X}')} (in {ascii(text)})")
    return text
