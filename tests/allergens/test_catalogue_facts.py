"""No allergen fact of the catalogue can go, come or change without a test that fails.

``catalogue_facts.txt`` records the facts of every entry as they were last
reviewed; it is written only by ``python -m tests.allergens.oracle --write-snapshot``, so each
change of a fact stands in the difference to be read.  The record shows that a fact
has changed, not that it is right: that is what the check cases of the laws, the table
of names in ``test_knowledge_files.py`` and the comparison with published data are for.
"""

from __future__ import annotations

from copy import deepcopy

from platecard.knowledge import catalogue
from tests.allergens import oracle

REVIEWED = [line for line in oracle.SNAPSHOT.read_text(encoding="utf-8").splitlines() if not line.startswith("#")]
AGAIN = "read the difference; if it is right: python -m tests.allergens.oracle --write-snapshot"


def test_the_catalogue_is_as_it_was_reviewed():
    now = oracle.record()
    assert sorted(set(now) - set(REVIEWED)) == [], f"new or changed in the catalogue: {AGAIN}"
    assert sorted(set(REVIEWED) - set(now)) == [], f"gone or changed in the catalogue: {AGAIN}"
    assert len(set(now)) == len(now) == len(REVIEWED)


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

    assert oracle.record([row(e) for e in catalogue.load()[0]]) == oracle.record()


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
    reviewed = set(REVIEWED)
    survivors, tried = [], 0
    for e in oracle.entries():
        for what, less in mutants(e):
            tried += 1
            if oracle.record([less])[0] in reviewed:
                survivors.append((e["name"], what))
    assert survivors == []
    assert tried >= 3000


def test_entries_with_allergens_are_many():
    assert sum(bool(e.get("contains")) for e in oracle.entries()) >= 1500
