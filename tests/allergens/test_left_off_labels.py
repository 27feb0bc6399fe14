"""What the law of a label lets its maker leave out, another law in force may ask for: its silence settles nothing.

Clearing with isinglass or fish gelatine: Regulation (EU) No 1169/2011, Annex II, 4(b) (seen) excepts
beer and wine alone; the list of 2005 in SSI 2005/456, schedule 2A (seen) named cider too.  The opinion EFSA-Q-2006-312
(as an audit of the facts reports it) found residue in 2 of 28 wines known to be cleared so.  Canada has no such
exception (B.01.010.1, seen), the United States none in writing (21 U.S.C. 343(w)(4), seen).
"""

from __future__ import annotations

import io
from datetime import date

import pypdf
import pytest

from platecard import pipeline
from platecard.allergens.labels import kitchen as labels
from platecard.allergens.traces import CONTAINS, UNKNOWN
from platecard.documents.text import wording
from platecard.knowledge import catalogue, laws
from platecard.publishing import rendered
from platecard.reports import label_reading
from tests.kitchens import KITCHEN, LIBRARY, PANTRY, library, poured, prepared, recipe

ABSENT = "not_among_ingredients"


def files(product: str, laws: str, printed_for: str) -> dict[str, str]:
    kitchen = LIBRARY[KITCHEN].replace("laws: [eu, us]", f"laws: [{laws}]")
    kitchen = kitchen.replace("labels_printed_for: [eu, us]", f"labels_printed_for: [{printed_for}]")
    return {KITCHEN: kitchen, PANTRY: f"products:\n  p: {{called: P, {product}}}\n"}


def made(product: str, laws: str, printed_for: str = "eu"):
    return prepared(poured({"a": "{product: p}"}), files(product, laws, printed_for))


def finding(dish, law: str, allergen: str):
    (statement,) = [s for s in dish.statements if s.law.key == law]
    return next(f for f in statement.findings if f.allergen == allergen)


WINE = "is: dry red wine, label: {read: 2026-01-02, contains: [sulphites], sulphites: 5 mg/kg}"
ALE = "is: ale, label: {read: 2026-01-02, contains: [barley], sulphites: 5 mg/kg}"
CIDER = "is: cider, label: {read: 2026-01-02, contains: [sulphites], sulphites: 5 mg/kg}"


@pytest.mark.parametrize("drink", [WINE, ALE])
@pytest.mark.parametrize(
    "law, presence, left_out",
    [
        ("eu", ABSENT, "perhaps exempt"),
        ("uk", ABSENT, "perhaps exempt"),
        ("au-nz", UNKNOWN, ""),  # isinglass is exempt there by account alone
        ("ca", UNKNOWN, ""),
        ("us", UNKNOWN, ""),
        ("ch", UNKNOWN, ""),
        ("hk", UNKNOWN, ""),
    ],
)
def test_fish_that_may_have_cleared_wine_or_beer(drink, law, presence, left_out):
    found = finding(made(drink, law), law, "fish")
    assert (found.presence, found.left_out) == (presence, left_out)


def test_a_card_says_that_the_fish_is_only_perhaps_there():
    dish = made(WINE, "eu")
    assert dish.is_sound
    assert wording.exempt(dish.statements[0]) == ("Perhaps in it, and exempt under this law: fish (fining agent).",)


def test_a_label_printed_where_it_must_be_named_settles_it():
    for law in ("eu", "ca"):
        assert finding(made(WINE, law, "ca"), law, "fish").left_out == ""
        assert finding(made(WINE, law, "ca"), law, "fish").presence == ABSENT
        assert finding(made(WINE, law, "eu, ca"), law, "fish").presence == ABSENT


def test_a_maker_who_was_asked_settles_it():
    asked = WINE.replace("sulphites: 5 mg/kg", "sulphites: 5 mg/kg, maker_asked: 2026-02-03")
    dish = made(asked, "us")
    assert finding(dish, "us", "fish").presence == ABSENT and dish.is_sound
    # That somebody has read the whole label is no answer: it need not be on it.
    unasked = made(WINE.replace("5 mg/kg", "5 mg/kg, read_whole: true"), "us")
    assert not unasked.is_sound
    (problem,) = [p for p in unasked.problems if p.slug == "allergens-not-established"]
    assert "maker_asked" in " ".join(problem.hints)


def test_fish_on_the_label_is_declared_under_every_law():
    fish = WINE.replace("contains: [sulphites]", "contains: [sulphites, fish]")
    assert {finding(made(fish, law), law, "fish").presence for law in ("eu", "ca", "us")} == {CONTAINS}


def test_cider_is_no_longer_excepted_so_its_label_settles_it():
    assert {finding(made(CIDER, law), law, "fish").presence for law in ("eu", "ca", "us")} == {ABSENT}
    assert finding(made(CIDER, "eu"), "eu", "fish").left_out == ""
    bare = prepared(poured({"a": "{ingredient: cider}"}), files(CIDER, "eu", "eu"))
    assert finding(bare, "eu", "fish").presence == UNKNOWN


def test_wine_in_the_text_of_another_product_leaves_it_open_as_well():
    sauce = 'label: {read: 2026-01-02, text: "Water, red wine (contains sulphites), shallots, salt"}'
    assert finding(made(sauce, "eu, us"), "us", "fish").presence == UNKNOWN
    assert finding(made(sauce, "eu, us"), "eu", "fish").left_out == "perhaps exempt"


@pytest.mark.parametrize(
    "said, law, allergen",
    [
        # Annex II, 1(a): glucose syrup of wheat need not be named in the EU; 21 U.S.C. 321(qq) has no such exception.
        ("Sugar, glucose syrup, pectin", "us", "wheat"),
        # Annex II, 1(d) and the Japanese answers E-2: what was distilled from wheat need not be named.
        ("Rice, mirin, salt", "us", "wheat"),
        # Annex II, 6(b): tocopherols of soya need not be named; in Canada only where no protein is left.
        ("Sunflower oil, alpha-tocopherol", "ca", "soy"),
    ],
)
def test_no_label_reading_takes_a_usual_question_away(said, law, allergen):
    product = f'label: {{read: 2026-01-02, text: "{said}"}}'
    assert finding(made(product, law, "eu"), law, allergen).presence == UNKNOWN
    # Printed where it must be named, the same text settles it; a distillate the United States leaves to proof.
    if "glucose" in said:
        assert finding(made(product, law, "us"), law, allergen).presence == ABSENT


@pytest.mark.parametrize("name", ["vegetable oil", "lecithin", "starch", "gelatine"])
def test_a_vague_name_asks_until_a_label_answers(name):
    """Named in a recipe it is asked about; on a label the law makes the maker name the allergens in it."""
    assert catalogue.load()[0].find(name).entry.ask
    asked = prepared(poured({"a": f"{{ingredient: {name}}}"}), files(WINE, "eu", "eu"))
    assert not asked.is_sound and any("too vague" in p.message for p in asked.problems if p.is_error)
    # No label was read: what is entered as this product stays open too.
    unread = made(f"is: {name}", "eu")
    assert not unread.is_sound


def test_a_label_says_nothing_of_what_its_law_does_not_list():
    """Lecithin on a label of the EU is of soya only where soya stands there; buckwheat it never has to name."""
    product = 'label: {read: 2026-01-02, text: "Sugar, cocoa butter, lecithin, spices"}'
    assert finding(made(product, "jp", "us"), "jp", "buckwheat").presence == UNKNOWN
    assert finding(made(product, "eu", "eu"), "eu", "soy").presence == ABSENT


def test_the_command_on_a_label_says_what_is_not_settled():
    for law, settled in (("eu", True), ("us", False)):
        world = made(WINE, law).world
        product = world.kitchen.products["p"]
        assert label_reading.is_settled(product, world) is settled
        lines = [line for line in label_reading.in_words(product, world) if "not settled" in line]
        assert bool(lines) is not settled
        assert all("fish" in line and "maker_asked" in line for line in lines)


RUSK = "label: {read: 2026-01-02, contains: [wheat]}"


@pytest.mark.parametrize(
    "law, allergen, presence",
    [
        ("jp", "egg", ABSENT),
        ("jp", "squid", UNKNOWN),  # to be named where possible: a label may be silent about it
        ("codex", "egg", ABSENT),
        ("codex", "lupin", UNKNOWN),  # left to each state, and on file from memory
        ("kr", "peach", ABSENT),
    ],
)
def test_a_label_is_silent_about_what_it_need_not_name(law, allergen, presence):
    dish = made(RUSK, law, law)
    assert finding(dish, law, allergen).presence == presence
    assert finding(made(RUSK, law, f"{law}, eu"), law, "egg").presence == ABSENT


def test_what_is_on_a_list_from_memory_alone_is_not_taken_to_be_named():
    law = laws.load("jp")[0]
    from_memory = [n for g in law.groups for n in g.nodes if g.mark_of(n) == laws.MEMORY]
    assert "cuttlefish" in from_memory
    must = set(labels._must_name(law, [law]))
    assert must.isdisjoint(from_memory) and {"shrimp", "egg"} <= must


def test_what_a_law_only_recommends_is_told_and_withholds_no_card():
    dish = made(RUSK, "jp", "jp")
    (said,) = [p for p in dish.problems if p.slug == "recommended-not-established"]
    assert dish.is_sound and said.severity == "warning" and "squid" in said.message
    assert any("maker_asked" in hint for hint in said.hints)
    card = pypdf.PdfReader(io.BytesIO(rendered.render(dish)["pass-card.pdf"]))
    front = " ".join(card.pages[0].extract_text().split())
    assert "ALLERGENS: NOT ESTABLISHED Not established: some foods that need not be named" in front
    assert "pistachio (all recommended, not required)" in front and front.count("recommended") == 1


def test_whoever_asked_the_maker_has_settled_what_a_label_need_not_name():
    dish = made(RUSK.replace("2026-01-02", "2026-01-02, maker_asked: 2026-01-05"), "jp", "jp")
    assert dish.is_sound and finding(dish, "jp", "squid").presence == ABSENT


def on(day: str, product: str, laws: str = "us", label_days: str = ""):
    """The dish with the product, on a day, in a kitchen that reads labels every so many days."""
    made_of = files(product, laws, "eu")
    if label_days:
        made_of[KITCHEN] += f"label_age: {label_days} days\n"
    world = pipeline.world(library({**LIBRARY, **made_of}), today=date.fromisoformat(day))
    return pipeline.prepare(poured({"a": "{product: p}"}), "specs/asked.yaml", "asked", world, [])


ASKED = WINE.replace("sulphites: 5 mg/kg", "sulphites: 5 mg/kg, maker_asked: 2026-02-03")


def test_a_maker_still_to_be_asked_settles_nothing():
    assert on("2026-02-03", ASKED).is_sound
    early = on("2026-02-02", ASKED)
    assert not early.is_sound
    (told,) = [p for p in early.problems if p.slug == "maker-asked-in-the-future"]
    assert told.is_error and "2026-02-03" in told.message


def test_a_maker_asked_too_long_ago_is_told_like_a_label():
    told = {p.slug: p.message for p in on("2026-04-03", ASKED, label_days="60").problems if "ago" in p.message}
    assert set(told) == {"label-too-old"}
    told = {p.slug: p.message for p in on("2026-04-05", ASKED, label_days="60").problems if "ago" in p.message}
    assert set(told) == {"label-too-old", "maker-asked-too-long-ago"}
    assert "asked 61 days ago" in told["maker-asked-too-long-ago"]


@pytest.mark.parametrize("printed_for", ["ca", "au-nz", "kr"])
def test_a_label_that_names_only_added_sulphites_says_nothing_of_natural_ones(printed_for):
    """B.01.010.2 of Canada and S9-3 of Australia and New Zealand count what was added; Annex II, 12 counts all."""
    assert finding(made(RUSK, "eu", printed_for), "eu", "sulphite").presence == UNKNOWN
    assert finding(made(RUSK, printed_for, printed_for), printed_for, "sulphite").presence == ABSENT
    assert finding(made(RUSK, "eu", f"{printed_for}, uk"), "eu", "sulphite").presence == ABSENT
    stated = RUSK.replace("contains: [wheat]", "contains: [wheat], sulphites: 0 mg/kg")
    assert finding(made(stated, "eu", printed_for), "eu", "sulphite").presence == ABSENT


DRIED = "is: dried apricot, label: {{read: 2026-01-02, contains: [sulphites], printed_for: [{}]}}"


def test_a_ceiling_of_the_union_binds_only_what_is_printed_for_it():
    """Regulation (EC) No 1333/2008 caps the sulphites of what is sold in the Union, and nothing sold elsewhere."""

    def level(printed_for: str) -> str:
        broth = recipe("Broth", [("product", "p", "1 g"), ("ingredient", "water", "499 g")], makes="500 g")
        kitchen = {**files(DRIED.format(printed_for), "eu", "eu"), "shared/recipes/broth.yaml": broth}
        dish = prepared(poured({"a": "{recipe: broth}"}), kitchen)
        return finding(dish, "eu", "sulphite").presence

    assert (level("eu"), level("uk"), level("jp, eu")) == (ABSENT, ABSENT, ABSENT)
    assert (level("us"), level("jp"), level("us, ca")) == (CONTAINS, CONTAINS, CONTAINS)


def test_a_label_of_another_year_is_asked_about_where_the_kitchen_sets_no_age():
    assert not [p for p in on("2028-01-01", WINE).problems if "years ago" in p.message]
    (told,) = [p for p in on("2028-02-01", WINE).problems if p.slug == "label-of-another-year"]
    assert told.severity == "advice" and "2 years ago" in told.message
    assert not [p for p in on("2028-02-01", WINE, label_days="60").problems if p.slug == "label-of-another-year"]
