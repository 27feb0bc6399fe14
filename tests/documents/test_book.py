"""The book: every sound card with its bookmark, and no gap that could be taken for a dish with nothing to declare."""

from __future__ import annotations

import os
from pathlib import Path
from xml.etree import ElementTree

import pypdf
import pytest

from platecard.documents.pages import book
from platecard.drawing import pdf_page
from platecard.drawing.scene import Circle, Group, Scene, Style, Text
from tests.kitchens import BEETROOT, SPEC, kitchen

SECOND = BEETROOT.replace("Smoked beetroot", "Second beetroot")
BOOK = "output/menu/pass-cards.pdf"


def read() -> pypdf.PdfReader:
    return pypdf.PdfReader(BOOK)


def words(page) -> str:
    return " ".join(page.extract_text().split())


def test_contents_bookmarks_and_pages_agree(galley):
    galley.write({"specs/second.yaml": SECOND})
    assert galley.run("build").code == 0
    reader = read()
    marks = {m.title: reader.get_destination_page_number(m) for m in reader.outline}
    assert list(marks) == [
        "Contents",
        "Smoked beetroot, dill oil, seeded crisp: for expo",
        "Smoked beetroot, dill oil, seeded crisp: for the cook",
        "Second beetroot, dill oil, seeded crisp: for expo",
        "Second beetroot, dill oil, seeded crisp: for the cook",
    ]
    contents = words(reader.pages[0])
    for mark, page in list(marks.items())[1:]:
        title, _, side = mark.partition(": for ")
        assert title in contents and f"{side.removeprefix('the ')} {page + 1}" in contents
        assert title in words(reader.pages[page]) and f"book page {page + 1}" in words(reader.pages[page])
        # Each opens at its own side: the declaration is in front, the order of plating overleaf.
        assert ("ALLERGENS" if side == "expo" else "in this order") in words(reader.pages[page])
    for said in (
        "European Union: contains",
        "United States: contains",
        "wheat",
        "sesame",
        "may contain milk",
        "revision 1, 2026-01-31",
        "2 of 2 dishes",
    ):
        assert said in contents
    assert "free from" not in contents.lower()
    single = [len(pypdf.PdfReader(f"output/{k}/pass-card.pdf").pages) for k in ("beetroot", "second")]
    assert len(reader.pages) == 1 + sum(single)


def test_an_unsound_dish_is_listed_as_without_a_card(galley):
    galley.write({"specs/second.yaml": SECOND.replace("{ingredient: dill}", "{ingredient: wumpus root}")})
    assert galley.run("build").code == 1
    reader = read()
    assert [m.title for m in reader.outline] == [
        "Contents",
        "Smoked beetroot, dill oil, seeded crisp: for expo",
        "Smoked beetroot, dill oil, seeded crisp: for the cook",
    ]
    contents = words(reader.pages[0])
    assert "Second beetroot" in contents and "no card: not established" in contents and "1 of 2 dishes" in contents
    assert contents.count("European Union") == 1, "nothing is declared of what is not established"
    # The sound dish relies on what the other one sends through the smoker, and names it.
    others = [
        words(p).replace("These allergens also depend on what else uses the smoker: Second beetroot.", "")
        for p in reader.pages[1:]
    ]
    assert not any("Second beetroot" in page for page in others)


def test_printed_on_both_sides_each_card_is_one_leaf(galley):
    galley.write({f"specs/d{i}.yaml": SECOND.replace("Second", f"Number {i}") for i in range(7)})
    assert galley.run("build").code == 0
    reader = read()
    fronts = [reader.get_destination_page_number(m) for m in reader.outline if m.title.endswith("for expo")]
    assert len(fronts) == 8 and all(page % 2 == 0 for page in fronts)


def test_no_draft_gets_into_the_book(galley):
    galley.write({"specs/second.yaml": SECOND.replace("{ingredient: dill}", "{ingredient: wumpus root}")})
    galley.run("build", "--draft")
    assert not any("DRAFT" in words(p) for p in read().pages) and "no card: not established" in words(read().pages[0])


def test_with_no_sound_dish_there_is_no_book(galley):
    galley.run("build")
    galley.write(kitchen((SPEC, "plate: wide", "plate: wyde")))
    galley.run("build")
    assert not os.path.exists(BOOK) and os.path.exists("output/withdrawn/menu/pass-cards.pdf")


def test_the_book_is_the_same_however_it_comes_about(galley, monkeypatch):
    """Cards drawn in this build, cards kept from an earlier one, none kept, and some that were tampered with."""
    from platecard.publishing import rendered

    drawn: list[str] = []
    draw = rendered.card
    monkeypatch.setattr(rendered, "card", lambda prepared: drawn.append(prepared.key) or draw(prepared))
    galley.write({"specs/second.yaml": SECOND})
    galley.run("build")
    whole = galley.bytes_of()
    os.unlink(BOOK)
    galley.run("build")
    assert galley.bytes_of() == whole and drawn == [], "kept cards are bound as they are"
    for wrong in (None, b"", b"[]\n", os.urandom(40)):
        os.unlink(BOOK)
        kept = Path("output/.cards/second.pages")
        kept.unlink() if wrong is None else kept.write_bytes(wrong)
        galley.run("build")
        assert galley.bytes_of() == whole and drawn.pop() == "second", "what is not what was made is drawn again"
    galley.run("build", "--anew")
    assert galley.bytes_of() == whole and drawn == []


def test_a_card_is_kept_no_longer_than_it_holds(galley):
    galley.run("build")
    kept = Path("output/.cards/beetroot.pages")
    assert kept.is_file()
    text = Path("specs/beetroot.yaml").read_text(encoding="utf-8")
    galley.write({"specs/beetroot.yaml": text + "odd: yes\n"})
    assert galley.run("build").code == 1 and not kept.exists()


def test_kept_pages_come_back_as_they_were():
    scene = Scene(
        100,
        50,
        (
            Text(1, 10, "œuf à la coque, \u0172", 9),
            Group((Circle(9, 9, 3, Style(fill="#112233", fill_opacity=0.5)),), title="An egg", role="img"),
        ),
        "t",
    )
    pages = (pdf_page.page(scene), pdf_page.over(pdf_page.page(scene), (Text(5, 5, "book page 1", 7),)))
    assert pdf_page.from_bytes(pdf_page.to_bytes(pages)) == pages
    for wrong in (b"", b"{}\n", b"[[1]]\n", pdf_page.to_bytes(pages)[:-1], pdf_page.to_bytes(pages) + b"x"):
        with pytest.raises(ValueError):
            pdf_page.from_bytes(wrong)


def test_long_menus_come_in_volumes(galley, monkeypatch):
    monkeypatch.setattr(book, "MOST", 2)
    galley.write({f"specs/d{i}.yaml": SECOND.replace("Second", f"Number {i}") for i in range(3)})
    galley.run("build")
    first, second = read(), pypdf.PdfReader("output/menu/pass-cards-2.pdf")
    assert len(first.outline) == len(second.outline) == 5
    assert "volume 1 of 2" in words(first.pages[0]) and "volume 2 of 2" in words(second.pages[0])


def test_each_page_of_a_card_is_an_svg_too(galley):
    galley.run("build")
    count = len(pypdf.PdfReader("output/beetroot/pass-card.pdf").pages)
    names = ["pass-card.svg", *(f"pass-card-{n}.svg" for n in range(2, count + 1))]
    assert sorted(
        n for n in os.listdir("output/beetroot") if n.startswith("pass-card") and n.endswith(".svg")
    ) == sorted(names)
    root = ElementTree.parse("output/beetroot/pass-card.svg").getroot()
    assert root.get("width") == "210mm" and root.get("height") == "148mm"
    text = " ".join(t for t in root.itertext())
    assert "ALLERGENS" in text and "sesame" in text
    os.unlink("output/beetroot/pass-card.svg")
    assert "beetroot: written" in galley.run("build").out and os.path.exists("output/beetroot/pass-card.svg")


@pytest.mark.parametrize("gone", ["pass-card-2.svg"])
def test_a_lost_further_page_is_made_again(galley, gone):
    galley.run("build")
    if os.path.exists(f"output/beetroot/{gone}"):
        os.unlink(f"output/beetroot/{gone}")
        assert "beetroot: written" in galley.run("build").out and os.path.exists(f"output/beetroot/{gone}")
