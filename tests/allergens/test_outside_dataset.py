"""The catalogue's allergen nodes beside an outside dataset, both ways.

The dataset and its licence stand at the head of ``outside_allergens.csv``.  It tells
the food, not its additives, so a sulphite of ours that it does not name is no difference.
"""

import csv
from pathlib import Path

import pytest

from platecard.knowledge import catalogue, taxonomy

CATALOGUE, TAXONOMY = catalogue.load()[0], taxonomy.load()[0]
LINES = (Path(__file__).parent / "outside_allergens.csv").read_text(encoding="utf-8").splitlines()
ROWS = list(csv.DictReader(line for line in LINES if not line.startswith("#")))
GROUPS = (
    "milk",
    "egg",
    "fish",
    "crustacean",
    "mollusc",
    "wheat",
    "rye",
    "barley",
    "oats",
    "triticale",
    "soy",
    "peanut",
    "sesame",
    "celery",
    "mustard",
    "lupin",
    "sulphite",
)
NUTS = ("tree_nut", "tree_nut_other")

# Record → groups that only the dataset has, groups that only the catalogue has, and who is right.
ACCEPTED = {
    "Hummus, commercial": (
        "",
        "sesame",
        "The catalogue: the record names no ingredients, and hummus is made with tahini.",
    ),
    "Teriyaki sauce": (
        "",
        "soy wheat",
        (
            "The catalogue: the record names no ingredients, and the sauce is made with soy sauce, which is brewed with"
            " wheat."
        ),
    ),
    "Hoisin sauce": ("", "soy", "The catalogue: the record names no ingredients, and the sauce is made of soya beans."),
    "Worcestershire sauce": (
        "",
        "fish",
        (
            "The catalogue: the record names no ingredients, and the sauce is made with anchovies; the label may say"
            " otherwise."
        ),
    ),
    "Lychee": (
        "",
        "lychee",
        "Both: botanically a fruit, but one law's older list counted it among the nuts, and a code exists for it.",
    ),
    "Longans, dried": (
        "",
        "lychee",
        (
            "The dataset in the strict sense: longan is lychee's relative. The catalogue keeps the node to be on the"
            " safe side."
        ),
    ),
    "Nuts, butternuts, dried": (
        "",
        "walnut",
        "The catalogue: the butternut is Juglans cinerea, a walnut, so both nodes are declared.",
    ),
    "Nuts, hickorynuts, dried": ("", "pecan", "The catalogue: the pecan is a hickory, so both nodes are declared."),
    "Mustard spinach, (tendergreen), raw": (
        "mustard",
        "",
        (
            "Open on both sides: komatsuna is a turnip leaf sold as mustard spinach, and the catalogue leaves mustard"
            " to the label."
        ),
    ),
    "Noodles, japanese, soba, dry": (
        "wheat",
        "",
        (
            "Both: common soba holds wheat and pure soba none, so the catalogue does not establish wheat without the"
            " label."
        ),
    ),
}


def group(node):
    """The group a node counts under here: a cereal, the single nut, or one of the wide groups."""
    line = TAXONOMY.lineage(node)
    for above in line:
        if above in NUTS:
            return line[max(line.index(above) - 1, 0)]
        if above in GROUPS:
            return above
    return None


def difference(entry, said):
    """Groups that only the dataset has, and groups that only the entry has."""
    ours = {group(n) for n in entry.contains} - {None}
    if "shellfish" in said:  # The record does not tell which of the two.
        said = (said - {"shellfish"}) | (ours & {"crustacean", "mollusc"} or {"shellfish"})
    only_ours = ours - said - ({"sulphite"} if "sulphite" not in said else set())
    return " ".join(sorted(said - ours)), " ".join(sorted(only_ours))


def found(row):
    answer = CATALOGUE.find(row["name"])
    assert answer.entry and not answer.read_as, f"{row['name']}: {answer.candidates or 'not in the catalogue'}"
    return answer.entry


@pytest.mark.parametrize("row", ROWS, ids=lambda r: r["record"])
def test_same_groups_both_ways(row):
    only_theirs, only_ours, _ = ACCEPTED.get(row["record"], ("", "", ""))
    assert difference(found(row), set(row["groups"].split())) == (only_theirs, only_ours)


@pytest.mark.parametrize("row", [r for r in ROWS if r["groups"]], ids=lambda r: r["record"])
def test_a_deleted_node_is_noticed(row):
    entry, said = found(row), set(row["groups"].split())
    before = difference(entry, said)
    for node in entry.contains:
        rest = tuple(n for n in entry.contains if group(n) != group(node))
        if group(node) in said or "shellfish" in said:
            assert difference(entry._replace(contains=rest), said) != before, f"{entry.name} without {node}"


def test_what_is_open_is_never_shown_as_absent():
    """A group that the dataset knows and the catalogue does not establish waits for the label."""
    for row in ROWS:
        entry = found(row)
        for missing in difference(entry, set(row["groups"].split()))[0].split():
            assert entry.depends_on_everything or missing in {group(n) for n in entry.depends}, row["record"]


def test_each_accepted_difference_stands_and_says_who_is_right():
    assert ACCEPTED.keys() <= {r["record"] for r in ROWS}
    assert all(theirs or ours for theirs, ours, _ in ACCEPTED.values())
    assert all(
        reason.endswith(".") and reason.startswith(("The catalogue", "The dataset", "Both", "Open"))
        for *_, reason in ACCEPTED.values()
    )


def test_the_extract_is_wide_enough():
    said = {g for r in ROWS for g in r["groups"].split()}
    assert set(GROUPS) <= said
    assert {
        "almond",
        "hazelnut",
        "walnut",
        "cashew",
        "pecan",
        "brazil_nut",
        "pistachio",
        "macadamia",
        "pine_nut",
    } <= said
    assert sum(bool(r["groups"]) for r in ROWS) >= 250 and sum(not r["groups"] for r in ROWS) >= 100
    assert len(ROWS) == len({r["record"] for r in ROWS}) <= 400
