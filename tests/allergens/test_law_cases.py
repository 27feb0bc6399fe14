"""Ingredients in, exact declaration out, per law: the check cases of law_cases.yaml.

The basis of each expectation is cited beside it in the data file.
"""

from __future__ import annotations

from fractions import Fraction
from pathlib import Path

import pytest
import yaml

from platecard.allergens import derivation, statement, sulphites
from platecard.allergens.traces import CONTAINS, MAY, UNKNOWN, Tracer
from platecard.diagnostics import Span
from platecard.knowledge import catalogue, laws, taxonomy
from platecard.knowledge.catalogue import Entry
from platecard.model import Component, Dish, Label, Product, Recipe, Source
from platecard.quantities.units import Quantity
from platecard.recipes.resolved import Batch, Bought, Part, Resolved, Use
from tests.kitchens import LOADER

CASES = yaml.load((Path(__file__).parent / "law_cases.yaml").read_text(encoding="utf-8"), Loader=LOADER)["cases"]
HERE = Span("case", 1, 1)
TREE = taxonomy.load()[0]
CATALOGUE = catalogue.load()[0]


def thing(row: dict) -> Use:
    """One ingredient of a case as the resolver would hand it on."""
    mass = Fraction(str(row["grams"])) if "grams" in row else None
    if "recipe" in row:
        lines = tuple(thing(r) for r in row["recipe"])
        known = [line.grams for line in lines]
        made = mass if mass is not None else sum(known) if all(k is not None for k in known) else None
        recipe = Recipe(
            f"{row['name']}-{id(row)}",
            row["name"],
            HERE,
            Quantity(made or Fraction(1), made or Fraction(1), "mass", "g", ""),
            HERE,
            (),
        )
        return Use(Batch(recipe, lines, made), row["name"], HERE, mass, mass, Fraction(1))
    if "label" in row:
        label = row["label"]
        if "form" in label:
            # The form of an ingredient (refined, distilled) stands in the catalogue, not on a label.
            entry = Entry(
                row["name"],
                row["name"],
                HERE,
                tuple(label["contains"]),
                form=tuple(label["form"].items()),
                so2_mg_kg=Fraction(str(label["so2"])) if "so2" in label else None,
                source="practice",
            )
            return Use(entry, row["name"], HERE, mass, mass)
        said = Label(
            HERE,
            "2026-01-01",
            tuple((TREE.name(w), HERE) for w in label.get("contains", ())),
            tuple((TREE.name(w), HERE) for w in label.get("may_contain", ())),
            sulphites_mg_kg=Fraction(str(label["so2"])) if "so2" in label else None,
        )
        return Use(Bought(Product("p", row["name"], HERE, label=said), None), row["name"], HERE, mass, mass)
    found = CATALOGUE.find(row["name"])
    assert found.entry is not None, (
        f"the catalogue does not know {row['name']!r} ({found.candidates or CATALOGUE.near(row['name'])})"
    )
    return Use(found.entry, row["name"], HERE, mass, mass)


def derive(case: dict, law: str) -> statement.Statement:
    whole = thing({"name": "the plate", "recipe": case["ingredients"]})
    part = Part(
        Component("plate", "the plate", Source("recipe", "plate", HERE), "", HERE),
        whole._replace(grams=whole.what.mass_g, kept_g=whole.what.mass_g),
    )
    dish = Dish("case", "case", HERE, "", "", None, "", HERE, (), (part.component,), (), ())
    resolved = Resolved(dish, (part,), None)
    known, problems = laws.load(law)
    assert known is not None, [p.message for p in problems]
    return derivation.derive(Tracer(TREE).dish(resolved), sulphites.sums(resolved, TREE), known, TREE)


def params():
    return [pytest.param(case, law, id=f"{case['case']}-{law}") for case in CASES for law in case["expect"]]


@pytest.mark.parametrize("case, law", params())
def test_declaration(case, law):
    said = derive(case, law)
    weighed = all("grams" in r for r in case["ingredients"])
    contained = {f.declared_as for f in said.with_presence(CONTAINS) if weighed or f.allergen != "sulphite"}
    assert contained == set(case["expect"][law]), case["basis"]


@pytest.mark.parametrize("case, law", [p for p in params() if p.values[1] in p.values[0].get("may_contain", {})])
def test_may_contain(case, law):
    said = derive(case, law)
    assert {f.declared_as for f in said.with_presence(MAY)} >= set(case["may_contain"][law]), case["basis"]


@pytest.mark.parametrize("case, law", [p for p in params() if p.values[1] in p.values[0].get("not_established", {})])
def test_not_established(case, law):
    said = derive(case, law)
    unknown = {f.allergen for f in said.with_presence(UNKNOWN)} | {a.node for a in said.also if a.presence == UNKNOWN}
    wanted = case["not_established"][law]
    if wanted == "all":
        assert not said.with_presence(statement.ABSENT), case["basis"]
    else:
        for node in wanted:
            assert any(TREE.is_under(u, node) or TREE.is_under(node, u) for u in unknown), (node, case["basis"])


@pytest.mark.parametrize("case, law", [p for p in params() if p.values[1] in p.values[0].get("exempted", {})])
def test_exempted(case, law):
    said = derive(case, law)
    left_out = {e.node for e in said.exempted}
    for node in case["exempted"][law]:
        assert any(TREE.is_under(n, node) for n in left_out), (node, case["basis"])
    assert all(e.exemption.why and e.exemption.point for e in said.exempted)


def test_there_are_enough_cases():
    assert len(CASES) >= 158
    assert all(case["basis"] for case in CASES)
    assert {law for case in CASES for law in case["expect"]} >= {"eu", "uk", "us", "ca", "au-nz", "jp", "codex"}
