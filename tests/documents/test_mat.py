"""The mat: exactly 100 %, whole over its tiles, and a bar to prove it, read back from the PDF by an independent
reader.
"""

from __future__ import annotations

from dataclasses import replace
from io import BytesIO

import pypdf
import pytest
from pypdf.generic import ContentStream

from platecard.documents.diagram import plate
from platecard.documents.kit.sheet import PAGES
from platecard.documents.pages import mat
from platecard.reports import practice
from tests.kitchens import BEETROOT, PLATES, SPEC, kitchen, prepared

MM = 72 / 25.4


def on_paper(page: str, spec: str = BEETROOT, files: dict | None = None):
    one = prepared(spec, files)
    settings = replace(one.world.kitchen.settings, page=page)
    return replace(one, world=replace(one.world, kitchen=replace(one.world.kitchen, settings=settings)))


def read(one) -> pypdf.PdfReader:
    return pypdf.PdfReader(BytesIO(practice.mat(one, "mat.pdf")["mat.pdf"]))


def shapes(page) -> tuple[list, list]:
    """The boxes (x, y, w, h) and the bounds of each curved path of a page, in mm; no matrix may be in force."""
    boxes, paths, points, curved = [], [], [], False
    for operands, operator in ContentStream(page.get_contents(), page.pdf).operations:
        numbers = [float(n) / MM for n in operands if isinstance(n, (int, float))]
        if operator == b"cm":
            assert [float(n) for n in operands] == [1, 0, 0, 1, 0, 0]
        elif operator == b"re":
            boxes.append(tuple(numbers))
        elif operator in (b"m", b"l"):
            if operator == b"m":
                points, curved = [], False
            points.append(tuple(numbers))
        elif operator == b"c":
            points.append(tuple(numbers[4:]))
            curved = True
        elif operator == b"h" and curved:
            xs, ys = zip(*points)
            paths.append((min(xs), min(ys), max(xs) - min(xs), max(ys) - min(ys)))
    return boxes, paths


@pytest.mark.parametrize("page", PAGES)
def test_the_bar_on_every_sheet_is_100_mm(page):
    sheets = read(on_paper(page)).pages
    for sheet in sheets:
        boxes, _ = shapes(sheet)
        bars = [b for b in boxes if b[3] == pytest.approx(2.4, abs=0.01) and b[2] > 20]
        assert [b[2] for b in bars] == pytest.approx([100.0], abs=0.01)
        parts = [b for b in boxes if b[3] == pytest.approx(2.4, abs=0.01) and b[2] < 20]
        assert [b[2] for b in parts] == pytest.approx([10.0] * 5, abs=0.01)
        assert "100 mm long" in " ".join(sheet.extract_text().split())


@pytest.mark.parametrize("page", PAGES)
def test_the_plate_has_its_true_diameter_over_the_tiles(page):
    one = on_paper(page)
    cut = mat.tiling(plate.draw(one.arrangement, one.dish), PAGES[page])
    tiles = read(one).pages[1:]
    assert len(tiles) == cut.count > 1, "a plate of 280 mm is larger than the paper"
    middles = {}
    for number, sheet in enumerate(tiles):
        size = float(sheet.mediabox.width) / MM, float(sheet.mediabox.height) / MM
        assert size == pytest.approx(cut.paper, abs=0.01)
        rims = [
            p
            for p in shapes(sheet)[1]
            if p[2] == pytest.approx(280.0, abs=0.01) and p[3] == pytest.approx(280.0, abs=0.01)
        ]
        wells = [p for p in shapes(sheet)[1] if p[2] == pytest.approx(200.0, abs=0.01)]
        assert rims and wells
        middles[number % cut.columns, number // cut.columns] = rims[0][0] + 140, size[1] - (rims[0][1] + 140)
    # Laid with their overlap, all tiles show one plate: its middle is the same place on each.
    laid = {(round(x + c * cut.step[0], 2), round(y + r * cut.step[1], 2)) for (c, r), (x, y) in middles.items()}
    assert (
        max(x for x, _ in laid) - min(x for x, _ in laid) <= 0.02
        and max(y for _, y in laid) - min(y for _, y in laid) <= 0.02
    )


def test_the_tiles_cover_the_drawing_and_are_named():
    one = on_paper("A5 landscape")
    drawing = plate.draw(one.arrangement, one.dish)
    cut = mat.tiling(drawing, PAGES["A5 landscape"])
    assert cut.left >= 0 and cut.columns * cut.step[0] + mat.OVERLAP - cut.left >= drawing.width_mm
    assert cut.top >= 0 and cut.rows * cut.step[1] + mat.OVERLAP - cut.top >= drawing.height_mm
    texts = [" ".join(p.extract_text().split()) for p in read(one).pages]
    assert [
        f"row {r} of {cut.rows}, column {c} of {cut.columns}" in t
        for t, (r, c) in zip(texts[1:], [(r, c) for r in range(1, cut.rows + 1) for c in range(1, cut.columns + 1)])
    ] == [True] * cut.count
    together = " ".join(texts)
    for said in ("guest", "12", "allergens see the pass card"):
        assert said in together
    assert "crisp" in texts[0], "what the numbers stand for"


def test_seams_bear_the_same_crosses_on_both_sheets():
    cut = mat.tiling(plate.draw((one := on_paper("A4 portrait")).arrangement, one.dish), PAGES["A4 portrait"])

    def crosses(column: int, row: int) -> set:
        circles = [i.items[1] for i in mat._seams(cut, column, row) if hasattr(i, "items")]
        return {(round(c.cx + column * cut.step[0], 6), round(c.cy + row * cut.step[1], 6)) for c in circles}

    assert cut.columns > 1
    seam = {c for c in crosses(0, 0) if c[0] > cut.step[0]}
    assert len(seam) >= 2 and seam <= crosses(1, 0)


def test_a_small_plate_needs_one_sheet():
    files = {PLATES: "plates:\n  wide: {called: Saucer, form: rimmed, outer: 150 mm, well: 130 mm}\n"}
    one = on_paper("A4 portrait", files=files)
    assert mat.tiling(plate.draw(one.arrangement, one.dish), PAGES["A4 portrait"]).count == 1
    assert "One sheet" in read(one).pages[0].extract_text()


@pytest.mark.parametrize("page", [*PAGES, *mat.PAPERS])
def test_the_word_for_the_guest_is_never_on_a_seam_and_others_only_where_there_is_no_room(page):
    one = on_paper("A4 portrait")
    drawing = plate.draw(one.arrangement, one.dish)
    cut = mat.tiling(drawing, {**PAGES, **mat.PAPERS}[page])
    words = [found for item in drawing.items for found in mat._words(item, lambda i: i)]
    assert len(words) > 6 and sum(weight > 1 for _, weight in words) == 1
    on_seams = []
    for axis, (count, start) in enumerate(((cut.columns, cut.left), (cut.rows, cut.top))):
        seams = [(k * cut.step[axis] - start, k * cut.step[axis] - start + mat.OVERLAP) for k in range(1, count)]
        on_seams += [w for box, w in words if any(box[axis] < b and a < box[axis + 2] for a, b in seams)]
    assert all(weight == 1 for weight in on_seams) and len(on_seams) <= 2  # 9 and 3 stand at one height


def test_the_mat_on_another_paper(galley):
    done = galley.run("mat", "beetroot", "--paper", "a3", "--out", "mat.pdf")
    assert done.code == 0
    how, *tiles = pypdf.PdfReader(galley.root / "mat.pdf").pages
    assert (float(how.mediabox.width) / MM, float(how.mediabox.height) / MM) == pytest.approx((297, 420), abs=0.01)
    assert len(tiles) == 2  # 280 mm and its words are more than the 281 mm that A3 leaves between its margins
    assert galley.run("mat", "beetroot", "--paper", "A2", "--out", "mat.pdf").code == 0
    assert len(pypdf.PdfReader(galley.root / "mat.pdf").pages) == 2, "the sheet of instructions and the whole plate"
    done = galley.run("mat", "beetroot", "--paper", "B4")
    assert done.code == 2 and "A3" in done.err


def test_what_stands_is_not_said_to_be_drawn_at_its_size():
    flat = read(on_paper("A4 portrait")).pages[0].extract_text()
    assert "The drawing is the size of the food" in " ".join(flat.split())
    spec = BEETROOT.replace("size: 30 x 10 mm, weight: 6 g}", "size: 30 x 10 mm, weight: 6 g}, facing: standing")
    how = " ".join(read(on_paper("A4 portrait", spec)).pages[0].extract_text().split())
    assert "stands: 30 mm tall on a foot of 10 mm" in how and "is the size of the food" not in how


def test_the_command(galley):
    done = galley.run("mat", "beetroot")
    assert done.code == 0 and "written: beetroot-mat.pdf" in done.out
    reader = pypdf.PdfReader("beetroot-mat.pdf")
    assert reader.trailer["/Root"]["/ViewerPreferences"]["/PrintScaling"] == "/None"
    assert galley.run("mat", "beetroot", "--out", "deep/down/m.pdf", "--format", "json").data["files"] == [
        "deep/down/m.pdf"
    ]
    galley.write(kitchen((SPEC, "plate: wide", "plate: wyde")))
    refused = galley.run("mat", "beetroot", "--out", "no.pdf")
    assert refused.code == 1 and "wyde" in refused.err and not (galley.root / "no.pdf").exists()
