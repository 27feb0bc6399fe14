"""One page for the eye when a picture is not what it was: before, after, and what differs.

Used by the tests that compare committed pictures.  The page goes to a new folder among
the system's temporary ones, and the caller says where.
"""

from __future__ import annotations

import base64
import html
import io
import tempfile
from collections.abc import Iterable
from pathlib import Path

from PIL import Image, ImageChops

from platecard.drawing import fonts

WIDTH = 900


def raster(text: str, dpi: float = 60.0) -> Image.Image:
    """An SVG as it looks on white, set in the bundled faces."""
    import resvg_py

    data = resvg_py.svg_to_bytes(
        svg_string=text,
        dpi=dpi,
        skip_system_fonts=True,
        font_files=[str(fonts.file(f)) for f in fonts.FACES],
        background="white",
    )
    return Image.open(io.BytesIO(bytes(data))).convert("RGB")


def differs(a: Image.Image, b: Image.Image, least: int = 40) -> float:
    """The share of pixels that differ by more than ``least`` of 255 in some channel; 1 for pictures of two sizes."""
    if a.size != b.size:
        return 1.0
    worst = ImageChops.difference(a, b).convert("RGB")
    bands = [band.point(lambda v: 255 * (v > least)) for band in worst.split()]
    mask = ImageChops.lighter(ImageChops.lighter(bands[0], bands[1]), bands[2])
    return mask.histogram()[255] / (a.size[0] * a.size[1])


def report(rows: Iterable[tuple[str, str | None, str]]) -> Path:
    """Write the page for (name, SVG before or None, SVG after) and give its place."""
    parts = [
        "<!doctype html><meta charset=utf-8><title>Pictures that changed</title>",
        (
            f"<style>body{{font:15px sans-serif;margin:2em}}img{{width:{WIDTH // 3}px;border:1px solid"
            " #999}td{vertical-align:top;padding:4px}</style>"
        ),
        "<h1>Pictures that changed</h1>",
    ]
    for name, before, after in rows:
        new = raster(after)
        cells = [("after", new)]
        if before is not None:
            old = raster(before)
            size = max(old.width, new.width), max(old.height, new.height)
            sheets = []
            for picture in (old, new):
                sheet = Image.new("RGB", size, "white")
                sheet.paste(picture, (0, 0))
                sheets.append(sheet)
            cells = [("before", old), ("after", new), ("difference", ImageChops.invert(ImageChops.difference(*sheets)))]
        tables = "".join(
            f"<td>{label}<br><img src='data:image/png;base64,{_png(picture)}'></td>" for label, picture in cells
        )
        parts.append(f"<h2>{html.escape(name)}</h2><table><tr>{tables}</tr></table>")
    place = Path(tempfile.mkdtemp(prefix="platecard-")) / "changed.html"
    place.write_text("\n".join(parts), encoding="utf-8")
    return place


def _png(picture: Image.Image) -> str:
    stream = io.BytesIO()
    picture.save(stream, "PNG")
    return base64.b64encode(stream.getvalue()).decode("ascii")
