"""The page for front of house: answers like the guest question, stands alone, and nothing gets out of its place."""

from __future__ import annotations

import json
import re
import shutil
import subprocess
from html.parser import HTMLParser

import pytest

from platecard import pipeline
from platecard.allergens.guests.answers import Asked
from platecard.allergens.guests.requests import understand
from platecard.documents.pages import front_of_house
from platecard.knowledge import catalogue, taxonomy
from platecard.reports import guest_answers
from tests.allergens.test_acknowledgement_and_matrix import menu, spec
from tests.kitchens import LIBRARY, library, poured

CATALOGUE, TREE = catalogue.load()[0], taxonomy.load()[0]
CHROMIUM = shutil.which("chromium") or shutil.which("chromium-browser")


class Reader(HTMLParser):
    """Tags, and the text of each article."""

    def __init__(self, text: str):
        super().__init__()
        self.tags: list[tuple[str, dict]] = []
        self.articles: dict[str, str] = {}
        self._in = ""
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))
        if tag == "article":
            self._in = dict(attrs)["id"].removeprefix("dish-")
            self.articles[self._in] = ""

    def handle_endtag(self, tag):
        if tag == "article":
            self._in = ""

    def handle_data(self, data):
        if self._in:
            self.articles[self._in] += data


def dishes():
    return menu(
        spec("{ingredient: butter}", "{product: choc, may_be_left_off: true}", title="Butter, chocolate"),
        spec("{ingredient: cod, equipment: fryer}", title="Cod"),
        spec("{ingredient: potato, equipment: fryer}", title="Chips"),
        spec("{product: mystery}", title="Mystery"),
    )


def answers(text: str) -> dict:
    return json.loads(re.search(r'id="answers">(.*?)</script>', text, re.S).group(1))


def test_each_answer_is_the_guest_questions_own():
    made = dishes()
    told = answers("".join(front_of_house.page(made, "abc")))
    for p in made:
        if not p.is_sound:
            assert {a["answer"] for a in told[p.key].values()} == {"not_established"}
            continue
        asked = Asked(p.resolved, p.world.pantry, p.world.tracer, p.shared, {"fryer": "Fryer"})
        for root, answer in told[p.key].items():
            engine = asked.answer((understand(TREE.name(root), TREE, CATALOGUE),))
            assert (answer["answer"], bool(answer["may"])) == (engine.answer, bool(engine.remaining))
    assert told["d0"]["soy"] == {"answer": "changed", "changes": ["leave off c1"], "may": [], "swaps": False}
    assert told["d0"]["milk"]["answer"] == "cannot"
    assert told["d2"]["fish"] == {"answer": "as_is", "changes": [], "may": ["fish"], "swaps": False}


def test_it_reads_without_its_script():
    read = Reader("".join(front_of_house.page(dishes(), "abc")))
    assert (
        "Contains" in read.articles["d0"] and "soybeans" in read.articles["d0"] and "hazelnuts" in read.articles["d0"]
    )
    assert "May contain" in read.articles["d2"] and "fish" in read.articles["d2"]
    assert "Not established" in read.articles["d3"] and "Contains" not in read.articles["d3"]


def test_it_stands_alone():
    text = "".join(front_of_house.page(dishes(), "abc"))
    read = Reader(text)
    assert not [
        t for t in read.tags if t[0] in ("link", "img", "iframe", "object") or t[1].get("src") or t[1].get("href")
    ]
    assert "default-src 'none'" in text and "http" not in text.replace("http-equiv", "")
    assert "Derived from the ingredients entered" in text and "free from" not in text.lower()


@pytest.mark.parametrize(
    "title",
    [
        '"</script><script>alert(1)</script>"',
        '"<img src=x onerror=alert(1)>"',
        '"@dishes@ @answers@"',
        '"a & b \\"quoted\\" \'c\'"',
    ],
)
def test_a_hostile_title_stays_text(title):
    read = Reader("".join(front_of_house.page(menu(spec("{ingredient: butter}", title=title)), "abc")))
    assert [t[0] for t in read.tags].count("script") == 2 and not [t for t in read.tags if t[0] == "img"]
    assert title.strip('"').replace('\\"', '"') in read.articles["d0"]


@pytest.mark.skipif(CHROMIUM is None, reason="no Chromium here: the page's script is not run")
def test_the_script_adds_up(tmp_path):
    page = tmp_path / "page.html"
    page.write_text("".join(front_of_house.page(dishes(), "abc")), encoding="utf-8")

    def shown(avoid: str) -> dict[str, str]:
        done = subprocess.run(
            [
                CHROMIUM,
                "--headless",
                "--no-sandbox",
                "--disable-gpu",
                "--no-first-run",
                "--disable-background-networking",
                "--disable-component-update",
                "--disable-sync",
                f"--user-data-dir={tmp_path}/profile",
                "--dump-dom",
                f"{page.as_uri()}#{avoid}",
            ],
            capture_output=True,
            text=True,
            timeout=60,
        )
        found = re.findall(r'id="dish-(d\d)".*?<div class="answer ([a-z_]+)(?: may)?">(.*?)</div>', done.stdout, re.S)
        return {key: f"{verdict}|{re.sub('<[^>]+>', ' ', text)}" for key, verdict, text in found}

    fish = shown("fish")
    assert fish["d0"].startswith("as_is|") and "not among the ingredients entered" in fish["d0"]
    assert (
        fish["d1"].startswith("cannot|")
        and fish["d2"] == "as_is|Serve as it is, but it may contain fish: tell the guest first"
        and fish["d3"].startswith("not_established|")
    )
    both = shown("soy,milk")
    assert both["d0"].startswith("cannot|") and both["d1"].startswith("as_is|")
    assert shown("soy,fish")["d0"] == "changed|Serve changed leave off c1 "


RANK = ("as_is", "changed", "not_established", "cannot")


def test_no_box_answers_weaker_than_the_same_word_typed():
    """Ticking nuts asks about coconut, pine nuts and peanut as the word does when a waiter types it."""
    world = pipeline.world(library(LIBRARY))
    menu = tuple(
        pipeline.begin(poured({"a": f"{{ingredient: {food}}}"}, title=food), f"specs/d{i}.yaml", f"d{i}", world)
        for i, food in enumerate(("coconut", "pine nut", "peanut", "walnut", "chestnut", "lovage", "dill"))
    )
    made = [pipeline.finish(b, pipeline.shared_equipment(menu, world), world) for b in menu]
    told = answers("".join(front_of_house.page(made, "abc")))
    for root in told["d0"]:
        avoids, problems = guest_answers.avoids(TREE.name(root), world)
        assert not problems
        for begun, engine in guest_answers.answer_all(menu, tuple(b.key for b in menu), avoids, world):
            assert RANK.index(told[begun.key][root]["answer"]) >= RANK.index(engine.answer), (root, begun.key)
    assert all(one.is_sound for one in made)
    assert told["d0"]["tree_nut"]["answer"] == "cannot" and told["d2"]["tree_nut"]["answer"] == "not_established"
    assert told["d6"]["tree_nut"]["answer"] == "as_is"
