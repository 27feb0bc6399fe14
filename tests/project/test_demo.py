"""The demo kitchen is sound, and output/ holds the cards that it makes today."""

from __future__ import annotations

import io
import json
from pathlib import Path
from typing import NamedTuple
from xml.etree import ElementTree

import pypdf
import pytest

from platecard import pipeline
from platecard.allergens.traces import CONTAINS, MAY
from platecard.documents.diagram.plate import draw
from platecard.drawing import pdf
from platecard.files import reading
from platecard.publishing import build
from platecard.publishing.build import documents_of
from tests import golden_report

ROOT = Path(__file__).parents[2]
OUTPUT = ROOT / "output"


@pytest.fixture(scope="module")
def menu():
    project = reading.read_project([str(ROOT / "specs")])
    world = pipeline.world(project.library, project.folder)
    return pipeline.prepare_menu(((s.text, s.file, s.key) for s in project.specs), world)


def test_every_dish_is_sound(menu):
    assert len(menu) >= 8
    for dish in menu:
        assert dish.is_sound, (dish.key, [p.message for p in dish.problems])


def test_output_is_up_to_date(menu):
    """If this fails, run `platecard build --recipes` and commit output/."""
    made = {f"{dish.key}/{name}": data for dish in menu for name, data in build.render(dish, with_recipes=True).items()}
    made |= {f"menu/{name}": b"".join(pieces) for name, pieces in build.render_menu(menu)}
    lying = {
        str(p.relative_to(OUTPUT)): p.read_bytes()
        for p in OUTPUT.rglob("*")
        if p.is_file() and p.parent != OUTPUT and p.parent.name != ".cards"
    }
    changed = [
        (name, lying.get(name), made.get(name)) for name in sorted({*made, *lying}) if lying.get(name) != made.get(name)
    ]
    names = [name for name, _, _ in changed]
    assert not changed, f"out of date: {names}; run 'platecard build --recipes'; see {golden_report.report(changed)}"
    record = json.loads((OUTPUT / ".made.json").read_text(encoding="utf-8"))
    assert (
        set(record)
        == {p.name for p in OUTPUT.iterdir() if p.is_dir() and not p.name.startswith(".")}
        == {d.key for d in menu} | {"menu"}
    )


class Read(NamedTuple):
    """What stands in a document: its text, and the size of the smallest letters of each page."""

    text: str
    smallest: list[float]


@pytest.fixture(scope="module")
def read_back() -> dict[Path, Read]:
    """Every document of output/, by an independent reader."""
    found = {}
    for path in OUTPUT.rglob("*.pdf"):
        texts, smallest = [], []
        for page in pypdf.PdfReader(path).pages:
            sizes = []
            texts.append(
                page.extract_text(
                    visitor_text=lambda text, cm, tm, font, size: (
                        sizes.append(abs(size * tm[3])) if text.strip() else None  # noqa: B023
                    )
                )
            )
            smallest.append(min(sizes))
        found[path] = Read(" ".join(" ".join(texts).split()), smallest)
    assert len(found) >= 30
    return found


def test_every_declared_allergen_stands_on_the_card(menu, read_back):
    """Read back by an independent reader."""
    for dish in menu:
        text = read_back[OUTPUT / dish.key / "pass-card.pdf"].text
        for statement in dish.statements:
            for finding in (*statement.with_presence(CONTAINS), *statement.with_presence(MAY)):
                assert finding.declared_as in text, (dish.key, finding.declared_as)
        assert "Derived from the ingredients entered" in text
        assert f"revision {dish.dish.revision.number}" in text


def test_nothing_claims_absence(read_back):
    for path, read in read_back.items():
        text = read.text.lower()
        for claim in ("free from", "free of", "allergen-free", "gluten-free", "dairy-free", "nut-free"):
            assert claim not in text, (path, claim)


def test_fonts_are_embedded_and_text_is_large_enough(read_back):
    for path in OUTPUT.rglob("*.pdf"):
        for page in pypdf.PdfReader(path).pages:
            for font in page["/Resources"]["/Font"].values():
                font = font.get_object()
                described = font.get("/FontDescriptor") or font["/DescendantFonts"][0]["/FontDescriptor"]
                assert "/FontFile2" in described.get_object(), path
        assert min(read_back[path].smallest) >= 6.99, (path, read_back[path].smallest)


def test_svgs_parse_and_name_their_parts(menu):
    for dish in menu:
        root = ElementTree.parse(OUTPUT / dish.key / "plate.svg").getroot()
        assert root.tag == "{http://www.w3.org/2000/svg}svg"
        named = {e.get("data-component") for e in root.iter() if e.get("data-component")}
        assert named >= {c.key for c in dish.dish.components}
        sources = {e.get("data-source") for e in root.iter() if e.get("data-source")}
        assert all(s.startswith(f"{dish.file}:") for s in sources)
    for dish in menu[:3]:
        assert set(documents_of(dish, True)) == set(build.render(dish, with_recipes=True)), "known before it is drawn"


def test_the_demo_shows_what_it_must(menu):
    """One dish declared differently in two laws, one with nothing declared, sulphites on both sides of the limit."""
    by_law = {d.key: {s.law.key: {f.allergen for f in s.with_presence(CONTAINS)} for s in d.statements} for d in menu}
    assert any(not laws["eu"] and not laws["us"] for laws in by_law.values())
    assert any(laws["eu"] - laws["us"] - {"rye", "barley", "oats"} for laws in by_law.values())
    levels = [s.level() for d in menu for s in d.sums if s.level() is not None]
    assert any(8 < level <= 10 for level in levels) and any(10 < level < 20 for level in levels)
    assert any(s.with_presence(MAY) for d in menu for s in d.statements)
    assert any(len(d.dish.components) >= 14 for d in menu)
    assert any(any(ord(c) > 127 for c in d.dish.title) for d in menu)


def test_the_plate_has_its_size_in_both_outputs(menu):
    """Measured in the SVG by an independent XML reader and in the PDF's own operators: ±0.05 mm."""
    round_plates = 0
    for dish in menu:
        plate = dish.resolved.plate
        svg = ElementTree.parse(OUTPUT / dish.key / "plate.svg").getroot()
        width = float(svg.get("width").removesuffix("mm"))
        assert float(svg.get("viewBox").split()[2]) == width
        circles = [
            float(c.get("r"))
            for g in svg.iter("{http://www.w3.org/2000/svg}g")
            if g.get("id") == "plate"
            for c in g.iter("{http://www.w3.org/2000/svg}circle")
        ]
        if plate.form not in ("rimmed", "coupe", "bowl") or not circles:
            continue
        round_plates += 1
        assert abs(2 * max(circles) - float(plate.outer_mm)) <= 0.05, dish.key
        scene = draw(dish.arrangement, dish.dish)
        page = pypdf.PdfReader(io.BytesIO(pdf.write((scene,), title="x"))).pages[0]
        xs: list[float] = []
        widest = 0.0
        for operands, name in pypdf.generic.ContentStream(page.get_contents(), None).operations:
            if name == b"m":
                xs = [float(operands[0])]
            elif name == b"c":
                xs.append(float(operands[4]))
            elif name in (b"f", b"S", b"B", b"b", b"s", b"h", b"n"):
                widest = max(widest, max(xs, default=0) - min(xs, default=0))
        assert abs(widest * 25.4 / 72 - float(plate.outer_mm)) <= 0.05, (dish.key, widest * 25.4 / 72)
    assert round_plates >= 6
