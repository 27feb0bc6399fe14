"""Shared equipment against a plain reading of the rule: a graph of equipment, and everything that can be reached in it.

The kitchens are made up at random.  The reference knows neither the stages nor the rows
of the program: it goes through every order of work that a component's spec allows.
"""

from __future__ import annotations

import random
from dataclasses import dataclass, field
from itertools import permutations

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from platecard import pipeline
from platecard.allergens import cross_contact
from platecard.allergens.traces import MAX_CHAINS
from tests.kitchens import KITCHEN, LIBRARY, library, poured, recipe

# Each with one allergen of its own, so that what is met says whose it is.
FOODS = {
    "cod": "cod",
    "sesame seed": "sesame",
    "walnut": "walnut",
    "butter": "cow_milk",
    "peanut": "peanut",
    "celery": "celery",
    "almond": "almond",
    "hazelnut": "hazelnut",
    "lupin flour": "lupin",
    "potato": "",
    "carrot": "",
}
EQUIPMENT = ("fryer", "grill", "smoker", "mill", "plancha", "tray")
OIL = "rapeseed oil"


@dataclass
class Made:
    """A recipe: its foods, the recipes in it (all with lower numbers), its equipment, whether it reuses its oil."""

    foods: list[str]
    inner: list[int]
    equipment: list[str]
    reuses: bool


@dataclass
class Part:
    """A component: a food or a recipe, its own equipment, and finishing steps as (equipment, what it waits for)."""

    source: str | int
    equipment: list[str] = field(default_factory=list)
    steps: list[tuple[list[str], list[int] | None]] = field(default_factory=list)


some = st.lists(st.sampled_from(EQUIPMENT), max_size=2, unique=True)
foods = st.lists(st.sampled_from(sorted(FOODS)), min_size=1, max_size=2, unique=True)


@st.composite
def kitchens(draw):
    """(recipes, dishes as lists of parts)."""
    recipes: list[Made] = []
    for number in range(draw(st.integers(0, 4))):
        inner = draw(st.lists(st.integers(0, number - 1), max_size=2, unique=True)) if number else []
        recipes.append(Made(draw(foods), inner, draw(some), draw(st.booleans())))
    sources = st.sampled_from(sorted(FOODS)) | (st.integers(0, len(recipes) - 1) if recipes else st.nothing())

    def part():
        count = draw(st.integers(0, 3))
        steps = [
            (
                draw(some),
                (
                    draw(
                        st.none()
                        | st.lists(st.integers(0, count - 1).filter(lambda n, at=at: n != at), max_size=2, unique=True)
                    )
                    if count > 1
                    else None
                ),
            )
            for at in range(count)
        ]
        return Part(draw(sources), draw(some), steps)

    return recipes, [[part() for _ in range(draw(st.integers(1, 2)))] for _ in range(draw(st.integers(2, 5)))]


def texts(recipes: list[Made], dishes: list[list[Part]]) -> tuple[dict[str, str], list[tuple[str, str, str]]]:
    gear = ", ".join(EQUIPMENT[:4])
    files = {
        **LIBRARY,
        KITCHEN: (
            f"""\
kitchen: The Test Galley
laws: [eu]
equipment:
{"".join(f"  {e}: {e}{chr(10)}" for e in gear.split(", "))}\
  plancha: {{called: plancha, cleaned: {{between: each use, how: scraped and washed, by: head chef, checked: 2026-01-05}}}}
  tray: {{called: tray, touches: false}}
"""  # noqa: E501
        ),
    }
    for number, made in enumerate(recipes):
        lines = [("ingredient", food, "10 g") for food in made.foods] + [
            ("recipe", f"r{n}", "10 g") for n in made.inner
        ]
        text = recipe(f"R {number}", lines)
        if made.equipment:
            text = text.replace("ingredients:", f"equipment: [{', '.join(made.equipment)}]\ningredients:")
        files[f"shared/recipes/r{number}.yaml"] = text + (
            f"  - {{ingredient: {OIL}, amount: 10 g, stays: 5 %, reused: true}}\n" if made.reuses else ""
        )
    specs = []
    for number, parts in enumerate(dishes):
        said = {}
        for at, part in enumerate(parts):
            words = [f"recipe: r{part.source}" if isinstance(part.source, int) else f"ingredient: {part.source}"]
            words += [f"equipment: [{', '.join(part.equipment)}]"] if part.equipment else []
            steps = []
            for n, (on, after) in enumerate(part.steps):
                keys = [f"name: s{n}", "do: cook", "takes: 1 min"]
                keys += [f"on: [{', '.join(on)}]"] if on else []
                keys += [f"after: [{', '.join(f's{m}' for m in after)}]"] if after is not None else []
                steps.append(f"{{{', '.join(keys)}}}")
            words += [f"finish: [{', '.join(steps)}]"] if steps else []
            said[f"c{at}"] = f"{{{', '.join(words)}}}"
        specs.append((poured(said, title=f"Dish {number}"), f"specs/d{number}.yaml", f"d{number}"))
    return files, specs


# --------------------------------------------------------------------------- the reference


def holds(recipes: list[Made], source: str | int) -> set[str]:
    if isinstance(source, str):
        return {FOODS[source]} - {""}
    return {FOODS[f] for f in recipes[source].foods} - {""} | {
        a for n in recipes[source].inner for a in holds(recipes, n)
    }


def within(recipes: list[Made], number: int) -> set[int]:
    return {number} | {n for inner in recipes[number].inner for n in within(recipes, inner)}


def oily(recipes: list[Made], dishes: list[list[Part]]) -> set[str]:
    """What holds something reused, or may hold it: what a component goes through whose recipe names no vessel."""
    held = {e for made in recipes if made.reuses for e in made.equipment}
    open_ = (
        part
        for parts in dishes
        for part in parts
        if isinstance(part.source, int)
        and recipes[part.source].reuses
        and not set(recipes[part.source].equipment) - {"tray"}
    )
    return held | {e for part in open_ for e in (*part.equipment, *(e for on, _ in part.steps for e in on))}


def shared_by(recipes: list[Made], made: Made) -> set[str]:
    named = set(made.equipment) - {"tray"}
    return named or ({"oil"} if made.reuses else set())


def carried(recipes: list[Made], part: Part) -> tuple[list[tuple[set[str], set[str]]], set[tuple[str, str]]]:
    """What a component leaves in which equipment, and from which equipment it carries to which."""
    inside = sorted(within(recipes, part.source)) if isinstance(part.source, int) else []
    work = {("recipe", n): (shared_by(recipes, recipes[n]), holds(recipes, n)) for n in inside}
    here = {
        ("own",): set(part.equipment) - {"tray"},
        **{("step", n): set(on) - {"tray"} for n, (on, _) in enumerate(part.steps)},
    }
    work |= {key: (used, holds(recipes, part.source)) for key, used in here.items()}
    work = {key: value for key, value in work.items() if value[0]}
    waits = nx.DiGraph()
    waits.add_nodes_from(range(len(part.steps)))
    for n, (_, after) in enumerate(part.steps):
        waits.add_edges_from((m, n) for m in (after if after is not None else [n - 1] if n else []))
    known = nx.transitive_closure(waits, reflexive=False)
    last = [key for key in work if key[0] != "recipe"]

    def allowed(order) -> bool:
        place = {key: at for at, key in enumerate(order)}
        steps = [key[1] for key in order if key[0] == "step"]
        # Steps that wait for each other in a circle say nothing of their order.
        return all(
            place["step", a] < place["step", b]
            for a in steps
            for b in steps
            if a != b and known.has_edge(a, b) and not known.has_edge(b, a)
        )

    flows = {(a, a) for a in work}
    flows |= {
        (("recipe", a), key)
        for a in inside
        for key in work
        if ("recipe", a) in work and (key[0] != "recipe" or a in within(recipes, key[1]))
    }
    for order in filter(allowed, permutations(last)):
        flows |= {(a, b) for i, a in enumerate(order) for b in order[i:]}
    ways = {(e, f) for a, b in flows for e in work[a][0] for f in work[b][0]}
    return list(work.values()), ways


def reference(recipes: list[Made], dishes: list[list[Part]]) -> dict[tuple[int, int], dict[str, int]]:
    """Component → each allergen that reaches it over equipment, with how many pieces of equipment it came over."""
    clean = {"plancha"} - oily(recipes, dishes)
    graph = nx.DiGraph()
    leaves: list[tuple[tuple[int, int], set[str], set[str]]] = []
    own: dict[tuple[int, int], set[str]] = {}
    for d, parts in enumerate(dishes):
        for c, part in enumerate(parts):
            left, ways = carried(recipes, part)
            leaves += [((d, c), used - clean, found) for used, found in left]
            own[d, c] = {e for used, _ in left for e in used} - clean
            graph.add_nodes_from(own[d, c])
            graph.add_edges_from((e, f) for e, f in ways if not {e, f} & clean)
    met: dict[tuple[int, int], dict[str, int]] = {}
    for key, used in own.items():
        met[key] = {}
        back = graph.reverse()
        back.add_edges_from(("here", e) for e in used)
        far = nx.single_source_shortest_path_length(back, "here") if used else {}
        for owner, through, found in leaves:
            for allergen in found if owner != key else ():
                for e in through & set(far):
                    met[key][allergen] = min(met[key].get(allergen, 99), far[e])
    return met


@settings(max_examples=250, deadline=None)
@given(kitchens())
def test_what_reaches_a_component_is_what_a_plain_search_reaches(made):
    recipes, dishes = made
    files, specs = texts(recipes, dishes)
    world = pipeline.world(library(files))
    begun = [pipeline.begin(*spec, world) for spec in specs]
    # Steps that wait in a circle, and cleaning said of a vessel of oil, are errors found later; nothing else is wrong.
    assert not [p for b in begun for p in b.problems if p.is_error]
    shared = pipeline.shared_equipment(begun, world)
    wanted = reference(recipes, dishes)
    for d, one in enumerate(begun):
        for c in range(len(dishes[d])):
            alone = type(one.resolved)(one.resolved.dish, one.resolved.parts[c : c + 1], one.resolved.plate)
            found: dict[str, int] = {}
            for trace in cross_contact.received(alone, shared, {}):
                assert trace.state == "may_contain" and trace.over is not None
                hops = sum(link.words.startswith("shares the ") for link in trace.chain)
                found[trace.node] = min(found.get(trace.node, 99), hops)
            assert found == wanted[d, c]
            seen = {passed.owner[:2] for _, passed in cross_contact.neighbours(alone, shared, {})}
            assert (f"d{d}", f"c{c}") not in seen


@pytest.mark.parametrize("seed", range(6))
def test_of_many_chains_the_shortest_are_kept_whoever_asks(seed):
    """Against all chains, sorted: sixty dishes on four pieces of equipment in a line, in recipes of uneven depth, one
    with most of one thing for itself.
    """
    chance = random.Random(seed)
    names = sorted(FOODS)[:4]
    # The first has more short chains to one food than are ever kept.
    recipes = [
        Made(["cod"] * 20, [], ["fryer"], False),
        *(Made([chance.choice(names)], [number] if number % 4 else [], [], False) for number in range(12)),
    ]
    dishes = [[Part(0, ["grill"], [])]]
    line = ("fryer", "grill", "smoker", "mill")
    for _ in range(60):
        dishes.append(
            [
                Part(chance.choice([*names, *range(1, 13)]), [chance.choice(line)], [])
                for _ in range(chance.choice([1, 2]))
            ]
        )
    # From one end of a line of equipment to the other it takes four steps.
    dishes += [[Part("potato", [], [([one], None), ([other], None)])] for one, other in zip(line, line[1:])]
    files, specs = texts(recipes, dishes)
    world = pipeline.world(library(files))
    begun = [pipeline.begin(*spec, world) for spec in specs]
    shared = pipeline.shared_equipment(begun, world)
    cut = 0
    for one in begun:
        for part in one.resolved.parts:
            alone = type(one.resolved)(one.resolved.dish, (part,), one.resolved.plate)
            every: dict[tuple, dict[tuple, int]] = {}
            for links, other in cross_contact.neighbours(alone, shared, {}):
                for trace in other.traces:
                    if trace.node != "sulphite":
                        chain = (*other.head, *trace.chain)
                        known = every.setdefault((trace.node, trace.form), {})
                        known[other.said, chain] = min(known.get((other.said, chain), 99), len(links) + len(chain))
            found: dict[tuple, list[int]] = {}
            for trace in cross_contact.received(alone, shared, {}):
                found.setdefault((trace.node, trace.form), []).append(len(trace.chain))
            assert {kind: sorted(lengths) for kind, lengths in found.items()} == {
                kind: sorted(lengths.values())[:MAX_CHAINS] for kind, lengths in every.items()
            }
            cut += sum(len(lengths) > MAX_CHAINS for lengths in every.values())
    assert cut > 50
