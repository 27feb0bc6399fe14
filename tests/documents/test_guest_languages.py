"""Allergens in the guests' languages: always beside the English, never tofu, and what lacks is said."""

from __future__ import annotations

import re
from dataclasses import replace
from io import BytesIO

import pypdf
import pytest

from platecard import fingerprint
from platecard.allergens.statement import ABSENT
from platecard.documents.kit.sheet import PAGES
from platecard.documents.pages import front_of_house, guest_page, matrix
from platecard.documents.text import guest_languages
from platecard.drawing import fonts, pdf
from platecard.drawing.scene import Group, Text
from platecard.knowledge import languages
from tests.allergens.test_acknowledgement_and_matrix import KITCHEN, menu, spec

DISHES = (
    spec("{ingredient: butter}", "{ingredient: egg yolk}", "{ingredient: wheat flour}", title="Tart"),
    spec("{ingredient: cod, equipment: fryer}", title="Cod"),
    spec("{ingredient: potato, equipment: fryer}", "{ingredient: refined soybean oil}", title="Chips"),
)


def dishes(*spoken: str):
    said = f"guest_languages: [{', '.join(spoken)}]\n" if spoken else ""
    return menu(*DISHES, kitchen=KITCHEN + said)


def page(*spoken: str) -> str:
    return "".join(front_of_house.page(dishes(*spoken), "abc"))


def texts(items) -> list[str]:
    return [
        text
        for item in items
        for text in ([item.text] if isinstance(item, Text) else texts(item.items) if isinstance(item, Group) else [])
    ]


def paper(*spoken: str, dish: int = 0) -> list[str]:
    """The lines of a dish's page for the guest."""
    return [
        line
        for scene in guest_page.compose(dishes(*spoken)[dish], "Tart", "for a guest", "abc", PAGES["A5 landscape"])
        for line in texts(scene.items)
    ]


def test_without_languages_nothing_is_added():
    assert "<bdi" not in page() and paper() == []
    assert all(one.world.languages == () for one in dishes())


def test_the_page_names_each_allergen_in_english_and_then_in_the_languages():
    told = page("fr", "ja", "ar")
    assert re.search(r'milk \(<bdi lang="fr">lait</bdi>, <bdi lang="ja">乳</bdi>, <bdi lang="ar">الحليب</bdi>\)', told)
    assert 'Contains <span><bdi lang="fr">contient</bdi></span>' in told
    # "May contain" has no Arabic: the English stands alone beside the French.
    assert 'May contain <span><bdi lang="fr">susceptible de contenir</bdi></span></dt>' in told
    assert 'value="milk"> milk · <bdi lang="fr">lait</bdi>' in told


def test_the_english_of_the_page_is_what_it_is_without_languages():
    def english(text: str) -> str:
        text = re.sub(r'\n<p class="language">.*?</p>', "", text)
        text = re.sub(r" <span><bdi.*?</bdi></span>| \((?:<bdi[^<]*</bdi>(?:, )?)+\)| · <bdi.*?</bdi>", "", text)
        return re.sub(r"code [0-9a-f]{8}", "code", text)

    assert english(page("fr", "el", "zh-Hant")) == english(page())


def test_what_a_language_lacks_stands_in_english_and_is_said():
    told = page("el")
    line = re.search(r'<p class="language"><b>Greek</b>:(.*?)</p>', told)[1]
    assert "In English only:" in line
    for lacking in ("eggs", "peanuts", "celery", "may contain", "not established", "ask the kitchen", "the caution"):
        assert lacking in line, lacking
    assert ", wheat," not in line and ": wheat," not in line and "milk" not in line
    assert re.search(r"<dd>[^<]*eggs(,|<|$)", re.sub(r" \(<bdi[^<]*</bdi>\)", "", told))


def test_paper_prints_what_its_font_can_draw_and_says_what_it_cannot(no_other_fonts):
    said = "\n".join(paper("fr", "ja", "el"))
    assert "milk (lait, γάλα)" in said and "Contains / contient" in said
    assert "Japanese: no font for its script is installed" in said and "Greek: no font" not in said
    assert not any(fonts.missing(line) for line in paper("fr", "ja", "el", "hi"))


def test_paper_prints_every_language_where_the_fonts_are_installed():
    said = "\n".join(paper("fr", "ja", "ar"))
    assert "milk (lait, 乳, الحليب)" in said and "no font" not in said
    every = [languages.load(key)[0] for key in languages.names()]
    assert guest_languages.on_paper(every) == (tuple(every), ())


def test_without_other_fonts_latin_greek_and_cyrillic_are_drawn(no_other_fonts):
    every = [languages.load(key)[0] for key in languages.names()]
    drawn, undrawn = guest_languages.on_paper(every)
    assert {x.key for x in undrawn} == {"ar", "hi", "ja", "ko", "zh-Hans", "zh-Hant"}
    assert len(drawn) + len(undrawn) == len(every)


def test_the_page_for_the_guest_says_all_that_the_law_declares_and_never_more_is_absent():
    for number, one in enumerate(dishes("de")):
        said = " ".join(paper("de", dish=number))
        assert one.is_sound
        for finding in (f for s in one.statements for f in s.findings if f.presence != ABSENT):
            assert finding.in_full in said
        for finding in (f for s in one.statements for f in s.findings if f.presence == ABSENT and f.note):
            assert finding.declared_as in said
    assert "In it, exempt: soybeans" in " ".join(paper("de", dish=2))
    assert "Over shared equipment: fish" in " ".join(paper("de", dish=2))
    assert "free from" not in " ".join(paper("de", dish=2))


def test_the_page_for_the_guest_is_a_page_that_can_be_bound():
    (scene, *_) = guest_page.compose(dishes("fr", "ja")[0], "Tart", "for a guest", "abc", PAGES["A5 landscape"])
    data = pdf.write((scene,), title="Tart", author="", subject="", keywords="", language="en-GB")
    assert "lait" in pypdf.PdfReader(BytesIO(data)).pages[0].extract_text()


def test_the_matrix_sets_the_words_beside_each_other(no_other_fonts):
    made = dishes("fr", "ko")
    data = pdf.write(matrix.pages(made, "Test", "abc"), title="", author="", subject="", keywords="", language="en-GB")
    said = " ".join(" ".join(p.extract_text().split()) for p in pypdf.PdfReader(BytesIO(data)).pages)
    assert "milk = lait" in said and "Korean: no font for its script is installed" in said


def test_languages_and_their_words_are_part_of_the_code():
    codes = [fingerprint.of(dishes(*spoken)[0]) for spoken in ((), ("fr",), ("fr", "de"), ("fr",))]
    assert len(set(codes[:3])) == 3 and codes[1] == codes[3]
    one = dishes("fr")[0]
    french = one.world.languages[0]
    milk = french.words["milk"]._replace(text="du lait")
    changed = replace(one.world, languages=(french._replace(words={**french.words, "milk": milk}),))
    fingerprint.forget(one)
    assert fingerprint.of(replace(one, world=changed)) != codes[1]


def test_the_manager_is_told_what_was_not_read_in_an_official_text_and_the_guest_is_not():
    made = dishes("fr", "hi")
    (told,) = (p for p in made[0].world.problems if p.slug == "guest-words-not-official")
    assert told.severity == "advice" and told.span.file == "shared/kitchen.yaml" and told.hints
    french, hindi = told.message.removeprefix("words for guests: ").split("; ")
    assert french == "French: 22 of 28 names were not read in an official text, none is on file for pine nut"
    assert hindi.startswith("Hindi: ")
    assert not any(p.slug == "guest-words-not-official" for p in dishes()[0].world.problems)
    for words in (page("fr", "hi"), " ".join(paper("fr", "hi"))):
        assert "official" not in words


@pytest.mark.parametrize("said", ["[xx]", "[en]", "[fr, fr]", "[]", "fr"])
def test_a_language_that_is_not_on_file_is_an_error_at_its_place(said):
    made = menu(DISHES[0], kitchen=f"{KITCHEN}guest_languages: {said}\n")
    assert any(p.is_error and p.span.file == "shared/kitchen.yaml" for p in made[0].world.problems)
