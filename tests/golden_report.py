"""One page for the eye when a document is not what it was: before, after, and what differs.

Used by the tests that compare committed plates, cards and pages.  The page goes to a new folder among
the system's temporary ones, and the caller says where.
"""

from __future__ import annotations

import base64
import difflib
import html
import io
import tempfile
from collections.abc import Iterable
from itertools import zip_longest
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


def pages(name: str, data: bytes, dpi: float = 60.0) -> list[Image.Image]:
    """What a document shows: an SVG is one picture, a PDF one for each page, anything else none."""
    if name.endswith(".svg"):
        return [raster(data.decode("utf-8"), dpi)]
    if name.endswith(".pdf"):
        import pypdfium2

        return [page.render(scale=dpi / 72).to_pil().convert("RGB") for page in pypdfium2.PdfDocument(data)]
    return []


def report(rows: Iterable[tuple[str, bytes | None, bytes | None]]) -> Path:
    """Write the page for documents as (name, before, after), None for one that is not there, and give its place.

    Plates, cards and pages are shown as pictures, each before, after and what differs; of data and of the page for
    front of house the lines that changed are shown.
    """
    parts = [
        "<!doctype html><meta charset=utf-8><title>What changed</title>",
        (
            f"<style>body{{font:15px sans-serif;margin:2em}}img{{width:{WIDTH // 3}px;border:1px solid"
            " #999}td{vertical-align:top;padding:4px}</style>"
        ),
        "<h1>What changed</h1>",
    ]
    for name, before, after in rows:
        parts.append(f"<h2>{html.escape(name)}</h2>")
        if not name.endswith((".svg", ".pdf")):
            parts.append(_lines(before, after))
            continue
        old, new = (pages(name, data) if data is not None else [] for data in (before, after))
        alike = 0
        for number, (was, now) in enumerate(zip_longest(old, new), 1):
            if was is not None and now is not None and was.tobytes() == now.tobytes():
                alike += 1
                continue
            parts.append(f"<p>page {number}</p>" if max(len(old), len(new)) > 1 else "")
            parts.append(f"<table><tr>{_cells(was, now)}</tr></table>")
        if alike:
            parts.append(f"<p>looks the same: {alike} of {max(len(old), len(new))}</p>")
    place = Path(tempfile.mkdtemp(prefix="platecard-")) / "changed.html"
    place.write_text("\n".join(parts), encoding="utf-8")
    return place


def _cells(was: Image.Image | None, now: Image.Image | None) -> str:
    """One picture before, after and what differs; "new" or "gone" where there is only one."""
    if was is None or now is None:
        shown = [("new", now)] if was is None else [("gone", was)]
    else:
        size = max(was.width, now.width), max(was.height, now.height)
        sheets = []
        for picture in (was, now):
            sheet = Image.new("RGB", size, "white")
            sheet.paste(picture, (0, 0))
            sheets.append(sheet)
        differing = ImageChops.invert(ImageChops.difference(*sheets))
        shown = [("before", was), ("after", now), ("difference", differing)]
    return "".join(f"<td>{word}<br><img src='data:image/png;base64,{_png(one)}'></td>" for word, one in shown if one)


def _lines(before: bytes | None, after: bytes | None) -> str:
    """The lines that came in and went, of what is no picture."""
    old, new = ((data or b"").decode("utf-8", "replace").splitlines() for data in (before, after))
    rows = [row for row in difflib.ndiff(old, new) if row[:2] in ("- ", "+ ")] if len(old) + len(new) < 2000 else []
    went, came = ([r[2:] for r in rows if r[0] == sign] for sign in "-+")
    if not rows:
        return f"<p>{len(old)} lines before, {len(new)} after</p>"
    shown = "".join(
        f"<td>{word}<pre>{html.escape(chr(10).join(line[:160] for line in lines[:60]))}</pre></td>"
        for word, lines in (("before", went), ("after", came))
    )
    return f"<table><tr>{shown}</tr></table>"


def _png(picture: Image.Image) -> str:
    stream = io.BytesIO()
    picture.save(stream, "PNG")
    return base64.b64encode(stream.getvalue()).decode("ascii")
