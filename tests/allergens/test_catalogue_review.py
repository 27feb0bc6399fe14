"""No allergen fact of the catalogue can go, come or change, and no name can move, without a test that fails.

``catalogue_review.txt`` holds the facts of every entry as they were last reviewed, by kind of food; it is written
only by ``python -m tests.allergens.catalogue_review --write``, so each change of a fact stands in the difference to
be read.  It shows that a fact has changed, not that it is right: that is what the check cases of the laws, the
table of names in ``test_knowledge_files.py`` and the comparison with published data are for.
"""

from __future__ import annotations

from copy import deepcopy
from difflib import unified_diff

from platecard.knowledge import catalogue
from tests.allergens import catalogue_review, oracle

REVIEWED = catalogue_review.reviewed()
AGAIN = "read the difference; if it is right: python -m tests.allergens.catalogue_review --write"


def test_the_catalogue_is_as_it_was_reviewed():
    difference = list(
        unified_diff(REVIEWED.splitlines(), catalogue_review.review().splitlines(), "reviewed", "now", n=1)
    )
    assert difference == [], AGAIN


def test_it_can_be_read_in_an_hour():
    """At 240 words a minute, a slow pace for names (common practice, no source)."""
    assert len(REVIEWED.split()) <= 60 * 240


def test_the_engine_reads_the_same_facts():
    def row(e: catalogue.Entry) -> dict:
        so2 = (
            {"so2": next(o["so2"] for o in oracle.entries() if o["name"] == e.name), "so2_natural": e.so2_natural}
            if e.so2_mg_kg is not None
            else {}
        )
        return {
            "name": e.name,
            "contains": e.contains,
            "depends": list(e.depends),
            "may": e.may,
            "form": dict(e.form),
            **so2,
        }

    def said(rows) -> list[str]:
        return sorted(f"{r['name']}: {catalogue_review.signature(r)}" for r in rows)

    assert said(map(row, catalogue.load()[0])) == said(oracle.entries())


def mutants(e: dict):
    """The entry with one fact less, once for each fact."""
    for key in ("contains", "depends", "may"):
        for i, node in enumerate(oracle.listed(e.get(key))):
            less = deepcopy(e)
            less[key] = [n for j, n in enumerate(oracle.listed(e[key])) if j != i]
            yield f"{key} {node}", less
    for node in e.get("form", {}):
        less = deepcopy(e)
        del less["form"][node]
        yield f"form {node}", less
    for key in ("so2", "so2_natural"):
        if e.get(key):
            less = deepcopy(e)
            del less[key]
            yield key, less


def test_every_deletion_of_a_fact_is_noticed():
    survivors, tried = [], 0
    for e in oracle.entries():
        # What is written of one entry shows every fact of it, and stands in the review as it is.
        before, name = catalogue_review.review([e]), e["name"]
        said = f"[{catalogue_review.signature(e)}]\n"
        assert said in before and said in REVIEWED, name
        for what, less in mutants(e):
            tried += 1
            if catalogue_review.review([less]) == before:
                survivors.append((name, what))
    assert survivors == []
    assert tried >= 3000


def test_a_name_that_moves_to_another_food_is_noticed():
    milk = next(e for e in oracle.entries() if e["name"] == "cream")
    oats = next(e for e in oracle.entries() if e["name"] == "oat drink")
    name = oats["also"][0]
    moved = [{**milk, "also": [*milk.get("also", ()), name]}, {**oats, "also": oats["also"][1:]}]
    assert catalogue_review.review([milk, oats]) != catalogue_review.review(moved)


def test_entries_with_allergens_are_many():
    assert sum(bool(e.get("contains")) for e in oracle.entries()) >= 1500
