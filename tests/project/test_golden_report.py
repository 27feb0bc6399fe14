"""Whoever reviews changed documents sees each of them on one page: plates, cards and pages, before and after."""

from __future__ import annotations

from dataclasses import replace

import pytest

from platecard.documents.diagram.plate import draw
from platecard.drawing import pdf, svg
from platecard.layout.arrange import place
from tests.golden_report import differs, pages, raster, report
from tests.laid import at_mm, dish, plate
from tests.layout.test_arrangements import FISH


def scene(x_mm: int):
    laid = dish(replace(FISH, at=at_mm(x_mm, 0)))
    return draw(place(laid, plate())[0], laid)


@pytest.fixture(scope="module")
def plates() -> tuple[bytes, bytes]:
    one, two = (svg.write(scene(x), embed_fonts=False).encode("utf-8") for x in (-30, 40))
    return one, two


def read(rows) -> str:
    place_ = report(rows)
    text = place_.read_text(encoding="utf-8")
    place_.unlink()
    place_.parent.rmdir()
    return text


def test_a_changed_plate_is_shown_before_after_and_what_differs(plates):
    one, two = plates
    assert 0.01 < differs(*pages("a.svg", one), *pages("a.svg", two)) < 0.3
    assert differs(raster(one.decode()), raster(one.decode())) == 0
    text = read([("fish/plate.svg", one, two), ("new/plate.svg", None, two), ("old/plate.svg", one, None)])
    assert text.count("<img") == 3 + 1 + 1
    assert [text.count(f"<td>{word}<") for word in ("before", "after", "difference", "new", "gone")] == [1] * 5


def test_of_a_changed_card_each_page_that_looks_another_is_shown():
    """Its second page stays, its third comes in."""
    before = pdf.write([scene(-30), scene(0)], title="Card")
    after = pdf.write([scene(40), scene(0), scene(10)], title="Card")
    text = read([("fish/pass-card.pdf", before, after)])
    assert "page 1" in text and "page 2" not in text and "page 3" in text
    assert text.count("<img") == 4 and "looks the same: 1 of 3" in text
    assert "looks the same: 2 of 2" in read([("fish/pass-card.pdf", before, before)])


def test_of_data_the_lines_that_changed_are_shown():
    text = read([("menu/allergens-eu.csv", b"dish,milk\nsole,yes\n", b"dish,milk\nsole,<may>\n")])
    assert "sole,yes" in text and "sole,&lt;may&gt;" in text and "dish,milk" not in text and "<img" not in text
