"""What it costs to let the libraries draw each shape, against writing the pages and pictures here.

``python -m tests.benchmarks.writers`` draws the pages of the demo kitchen's cards both ways and prints processor
seconds, the best of some rounds.  The libraries are used as their guides say, and asked
for less: no tags, no roles.
"""

from __future__ import annotations

import time
from collections.abc import Callable
from pathlib import Path

from platecard import fingerprint, pipeline
from platecard.documents.diagram import plate
from platecard.documents.pages import pass_card
from platecard.drawing import fonts, pdf, svg
from platecard.drawing.scene import Circle, Group, Item, Polygon, Rect, Scene, Text
from platecard.drawing.scene import Path as Curve
from platecard.files import reading

ROOT = Path(__file__).parents[2]
ROUNDS = 5
MM = 72 / 25.4


def scenes() -> list[Scene]:
    """The pages of all cards of the demo kitchen."""
    project = reading.read_project([str(ROOT / "specs")])
    world = pipeline.world(project.library, project.folder)
    found: list[Scene] = []
    for one in pipeline.prepare_menu(((s.text, s.file, s.key) for s in project.specs), world):
        found += pass_card.compose(one, plate.number_of(one.dish), fingerprint.of(one))
    return found


def flat(items: tuple[Item, ...]):
    for item in items:
        if isinstance(item, Group):
            yield from flat(item.items)
        else:
            yield item


def with_svgwrite(pages: list[Scene]) -> None:
    import svgwrite

    for scene in pages:
        drawing = svgwrite.Drawing(size=(f"{scene.width_mm}mm", f"{scene.height_mm}mm"), debug=False)
        for item in flat(scene.items):
            style = getattr(item, "style", None)
            paint = {"fill": style.fill or "none", "stroke": style.stroke or "none"} if style else {}
            match item:
                case Circle():
                    made = drawing.circle((item.cx, item.cy), item.r, **paint)
                case Rect():
                    made = drawing.rect((item.x, item.y), (item.w, item.h), **paint)
                case Polygon():
                    made = (drawing.polygon if item.closed else drawing.polyline)(item.points, **paint)
                case Curve():
                    made = drawing.path([v for s in item.segments for v in s], **paint)
                case Text():
                    made = drawing.text(item.text, (item.x, item.y), font_size=item.size_pt, fill=item.colour)
            drawing.add(made)
        drawing.tostring()


def with_canvas(pages: list[Scene]) -> None:
    import io

    from reportlab.pdfbase import pdfmetrics, ttfonts
    from reportlab.pdfgen.canvas import Canvas

    for face in fonts.FACES:
        pdfmetrics.registerFont(ttfonts.TTFont(face, str(fonts.file(face))))
    for scene in pages:
        tall = scene.height_mm * MM
        canvas = Canvas(io.BytesIO(), (scene.width_mm * MM, tall), invariant=1, pageCompression=1)
        for item in flat(scene.items):
            if isinstance(item, Text):
                canvas.setFillColor(item.colour)
                canvas.setFont(item.face, item.size_pt)
                canvas.drawString(item.x * MM, tall - item.y * MM, item.text)
                continue
            style = item.style
            if style.fill:
                canvas.setFillColor(style.fill)
            if style.stroke:
                canvas.setStrokeColor(style.stroke)
                canvas.setLineWidth(style.width * MM)
            how = {"fill": int(bool(style.fill)), "stroke": int(bool(style.stroke))}
            match item:
                case Circle():
                    canvas.circle(item.cx * MM, tall - item.cy * MM, item.r * MM, **how)
                case Rect():
                    canvas.rect(item.x * MM, tall - (item.y + item.h) * MM, item.w * MM, item.h * MM, **how)
                case Polygon():
                    path = canvas.beginPath()
                    path.moveTo(item.points[0][0] * MM, tall - item.points[0][1] * MM)
                    for x, y in item.points[1:]:
                        path.lineTo(x * MM, tall - y * MM)
                    if item.closed:
                        path.close()
                    canvas.drawPath(path, **how)
                case Curve():
                    path = canvas.beginPath()
                    for letter, *v in item.segments:
                        to = [n * MM if i % 2 == 0 else tall - n * MM for i, n in enumerate(v)]
                        {"M": path.moveTo, "L": path.lineTo, "C": path.curveTo, "Z": path.close}[letter](*to)
                    canvas.drawPath(path, **how)
        canvas.showPage()
        canvas.save()


def best(work: Callable[[], object]) -> float:
    found = []
    for _ in range(ROUNDS):
        start = time.process_time()
        work()
        found.append(time.process_time() - start)
    return min(found)


def main() -> None:
    pages = scenes()
    rows = {
        "PDF, written here": lambda: [pdf.write([s], title="A card") for s in pages],
        "PDF, drawn with the library's canvas": lambda: with_canvas(pages),
        "SVG, written here": lambda: [svg.write(s, embed_fonts=False) for s in pages],
        "SVG, drawn with svgwrite": lambda: with_svgwrite(pages),
    }
    print(f"{len(pages)} pages, {sum(1 for s in pages for _ in flat(s.items))} items")
    for name, work in rows.items():
        print(f"{name:38} {1000 * best(work) / len(pages):8.2f} ms a page")


if __name__ == "__main__":
    main()
