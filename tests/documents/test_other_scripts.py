"""A dish named in any writing system is printed, or those of its documents that print the name are refused by name."""

from __future__ import annotations

import json
import re
import shutil
import unicodedata
from pathlib import Path

import pypdfium2
import pytest

from platecard import api, fingerprint
from platecard.drawing import fonts, script_fonts
from tests.kitchens import OIL, SPEC, kitchen
from tests.other_fonts import forgotten

TITLE = "Smoked beetroot, dill oil, seeded crisp"
TITLES = {  # the same in each language; the second line of a name, where it breaks, and all
    "Greek": "Καπνιστό παντζάρι με λάδι άνηθου",
    "Ukrainian": "Копчений буряк із кроповою олією",
    "Japanese": "燻製ビーツのディルオイル添え",
    "Korean": "훈제 비트와 딜 오일",
    "Chinese": "烟熏甜菜根配莳萝油",
    "Arabic": "شمندر مدخن مع زيت الشبت",
    "Hebrew": "סלק מעושן עם שמן שמיר",
    "Hindi": "स्मोक्ड चुकंदर और सोआ तेल",
    "Thai": "บีทรูทรมควันกับน้ำมัน",
}
OWN = ("Greek", "Ukrainian")  # set in the card's own font
RIGHT_TO_LEFT = ("Arabic", "Hebrew")
PRINTING = {"pass-card.pdf", "pass-card.svg", "pass-card-2.svg", "service-sheet.pdf"}
# A second dish that fries in the oil of the first.
NEIGHBOUR = """\
dish: Fried beetroot
revision: {number: 1, date: 2026-01-31, note: first written down}
plate: wide
components:
  beetroot: {ingredient: beetroot, equipment: fryer}
plating:
  - {put: beetroot, count: 3, piece: {shape: disc, size: 30 mm, weight: 12 g}, arrange: ring, out: 50 mm}
expo_checks: [Rim clean]
"""


def named(title: str) -> dict[str, str]:
    return kitchen((SPEC, f"dish: {TITLE}", f"dish: {title}"))


def text_of(path: str) -> str:
    pages = pypdfium2.PdfDocument(Path(path).read_bytes())
    return "".join(unicodedata.normalize("NFC", page.get_textpage().get_text_bounded()) for page in pages)


def squeezed(text: str) -> str:
    return "".join(text.split())


@pytest.mark.parametrize("language", TITLES)
def test_a_dish_is_named_in_any_script_on_all_its_documents(room, language):
    title = fonts.normal(TITLES[language])
    room.write(named(title))
    done = room.run("build", "--format", "json")
    assert done.code == 0 and not [p for p in done.data["problems"] if p["severity"] == "error"]
    made = {path.name for path in Path("output/beetroot").iterdir()}
    assert PRINTING | {"plate.svg"} <= made
    for place in ("beetroot/pass-card.pdf", "beetroot/service-sheet.pdf", "menu/allergens.pdf", "menu/pass-cards.pdf"):
        said = text_of(f"output/{place}")
        if language in RIGHT_TO_LEFT:  # each word reads well; in which order they come, a reader decides for itself
            assert all(word in said or word[::-1] in said for word in title.split()), place
        else:
            assert squeezed(title) in squeezed(said), place
    pictured = "".join(
        re.findall(r"<text [^>]*>([^<]*)</text>", Path("output/beetroot/pass-card.svg").read_text("utf-8"))
    )
    assert squeezed(title) in squeezed(pictured)
    assert title in Path("output/menu/front-of-house.html").read_text("utf-8")
    assert title in Path("output/menu/allergens.json").read_text("utf-8")


@pytest.mark.parametrize("language", TITLES)
def test_the_title_is_seen_on_the_card(room, language):
    """Ink where the title stands, and none of it beyond the head of the card."""
    room.write(named(TITLES[language]))
    assert room.run("build").code == 0
    page = pypdfium2.PdfDocument(Path("output/beetroot/pass-card.pdf").read_bytes())[0]
    image = page.render(scale=3).to_pil().convert("L")
    head = image.crop((0, 0, image.width * 7 // 10, image.height // 9)).point(lambda v: 255 * (v < 110))
    left, top, right, bottom = head.getbbox()
    assert sum(head.histogram()[255:]) > 2500 and right - left > image.width / 6 and top > 8


@pytest.mark.parametrize("language", [key for key in TITLES if key not in OWN])
def test_without_its_font_only_the_documents_that_print_the_name_are_refused(room, no_other_fonts, language):
    room.write({**named(TITLES[language]), "specs/second.yaml": NEIGHBOUR})
    for _ in range(2):  # told each time, and what stands stays
        done = room.run("build", "--format", "json")
        errors = [p for p in done.data["problems"] if p["severity"] == "error"]
        assert done.code == 1 and {p["slug"] for p in errors} == {"font-not-installed", "document-not-drawn"}
        assert {(p["file"], p["line"]) for p in errors} == {(SPEC, 1)}
        assert all(p["hints"][0].startswith(f"install the fonts: {fonts.INSTALLED_BY}") for p in errors)
        (refused,) = [p["message"] for p in errors if p["slug"] == "document-not-drawn"]
        assert all(name in refused for name in PRINTING) and "plate.svg" not in refused
        assert {path.name for path in Path("output/beetroot").iterdir()} == {"plate.svg"}
        assert PRINTING <= {path.name for path in Path("output/second").iterdir()}
        states = {d["dish"]: d["state"] for d in done.data["dishes"]}
        assert states["second"] in ("written", "unchanged") and states["beetroot"] == "written"
    title = fonts.normal(TITLES[language])
    assert title in Path("output/menu/front-of-house.html").read_text("utf-8")
    # The matrix names the dish by its file, and says of it all that it would.
    matrix = text_of("output/menu/allergens.pdf")
    assert "beetroot" in matrix.split() and "wheat" in matrix and "Fried beetroot" in matrix
    assert "no card: no font for it" in text_of("output/menu/pass-cards.pdf")
    assert "Fried beetroot" in text_of("output/menu/pass-cards.pdf")


def test_what_is_missing_is_drawn_once_it_is_installed_and_withdrawn_once_it_is_gone(room, monkeypatch):
    room.write(named(TITLES["Japanese"]))
    assert room.run("build").code == 0
    code = json.loads(Path("output/menu/allergens.json").read_text("utf-8"))["dishes"][0]["code"]
    card = Path("output/beetroot/pass-card.pdf").read_bytes()
    with forgotten(), monkeypatch.context() as bare:
        bare.setattr(script_fonts, "place_of", lambda key: "")
        assert room.run("build").code == 1
        assert {path.name for path in Path("output/beetroot").iterdir()} == {"plate.svg"}
        # What it says has not changed, so neither has the code on the papers that hang.
        assert json.loads(Path("output/menu/allergens.json").read_text("utf-8"))["dishes"][0]["code"] == code
    assert room.run("build").code == 0 and Path("output/beetroot/pass-card.pdf").read_bytes() == card
    assert room.run("build", "--format", "json").data["dishes"][0]["state"] == "unchanged"


def test_a_name_that_another_dish_prints_is_spelt_out_there(room, no_other_fonts):
    """A dish in Japanese passes wheat on through the fryer; the card of the other says so, and is drawn."""
    files = named(TITLES["Japanese"])
    files[SPEC] = files[SPEC].replace("product: seeded-crisp}", "product: seeded-crisp, equipment: fryer}")
    room.write({**files, "specs/second.yaml": NEIGHBOUR})
    done = room.run("build", "--format", "json")
    assert {d["dish"]: d["state"] for d in done.data["dishes"]} == {"beetroot": "written", "second": "written"}
    assert PRINTING <= {path.name for path in Path("output/second").iterdir()}
    sheet = text_of("output/second/service-sheet.pdf")
    assert "\\u71fb" in sheet and "wheat" in sheet


def test_a_recipe_in_another_script_refuses_the_sheets_that_print_it(room, no_other_fonts):
    room.write(kitchen((OIL, "recipe: Dill oil", "recipe: ディルオイル")))
    done = room.run("build", "--recipes", "--format", "json")
    told = [p["message"] for p in done.data["problems"] if p["slug"] == "document-not-drawn"]
    assert done.code == 1 and told and not any("pass-card.pdf" in message for message in told)
    made = {path.name for path in Path("output/beetroot").iterdir()}
    assert "pass-card.pdf" in made and "recipe-cards.pdf" not in made
    data = json.loads(Path("output/menu/allergens.json").read_text("utf-8"))
    assert data["dishes"][0]["established"] is True


def test_what_is_drawn_on_request_is_refused_in_one_sentence(room, no_other_fonts):
    room.write(named(TITLES["Korean"]))
    done = room.run("mat", "beetroot")
    assert done.code == 1 and "no font for Korean is installed" in done.err and fonts.INSTALLED_BY in done.err
    assert not Path("beetroot-mat.pdf").exists()
    with pytest.raises(fonts.NotDrawable):
        api.draw(api.open_kitchen(".").prepare()[0])


def test_what_is_installed_counts_for_the_dishes_that_need_it_and_for_no_other(room, monkeypatch):
    room.write({**named(TITLES["Hindi"]), "specs/second.yaml": NEIGHBOUR})

    def keys():
        return {d.key: (fingerprint.of(d), fingerprint.key(d)) for d in api.open_kitchen(".").prepare()}

    def other_devanagari(key):
        return place(key).replace("NotoSansDevanagari", "Other") if key == "devanagari" else place(key)

    place = script_fonts.place_of
    copied = Path("Other[wdth,wght].ttf").resolve()
    shutil.copy(place("devanagari"), copied)
    with copied.open("ab") as stream:
        stream.write(b"\0")
    with forgotten():
        before = keys()
    with forgotten(), monkeypatch.context() as changed:
        changed.setattr(script_fonts, "place_of", lambda key: str(copied) if key == "devanagari" else place(key))
        after = keys()
    with forgotten(), monkeypatch.context() as bare:
        bare.setattr(script_fonts, "place_of", lambda key: "")
        without = keys()
    assert len({one["beetroot"][1] for one in (before, after, without)}) == 3
    assert len({one["beetroot"][0] for one in (before, after, without)}) == 1
    assert before["second"] == after["second"] == without["second"]


def test_a_label_in_another_alphabet_is_not_taken_for_read(room):
    """Greek, Cyrillic and any other script can be printed, but no label in it can be read."""
    for said in ("αλεύρι σίτου, γάλα σε σκόνη", "пшеничне борошно, молоко", "小麦粉、乳"):
        room.write(
            kitchen(
                (
                    "shared/pantry.yaml",
                    "label: {read: 2026-01-02, contains: [wheat, sesame], may_contain: [milk]}",
                    f'label: {{read: 2026-01-02, text: "{said}"}}',
                )
            )
        )
        done = room.run("build")
        assert done.code == 1 and not Path("output/beetroot").exists(), said
