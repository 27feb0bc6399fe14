"""The fire timeline: against a worked example, against a general graph library, and its properties.

All dishes are invented.
"""

from __future__ import annotations

from dataclasses import replace
from fractions import Fraction

import networkx
import pytest
from hypothesis import given
from hypothesis import strategies as st

from platecard import reading
from platecard.model import Gear, Settings
from platecard.quantities import clock
from platecard.quantities.units import AmountError
from platecard.service import fire
from tests.kitchens import KITCHEN, LIBRARY, errors, poured, prepared

# The worked example of the timing rules: a roast duck breast with terrine, beetroot and jus, an invented dish.
DUCK = """\
dish: Roast duck breast, potato terrine, glazed beetroot, cherry jus
revision: {number: 1, date: 2026-01-31}
plate: wide
plating_takes: 90 s
check_takes: 30 s
plates_warm: 20 min
components:
  duck:
    {ingredient: duck breast, station: roast, finish: [
      {do: temper, takes: 20 min, ahead: true}, {do: render, takes: 12 min, on: pan}, {do: oven, takes: 5 min, on: oven, at: 200 °C, core: 52 °C},
      {do: rest, takes: 8 min, rest: true, core: 56 °C}, {do: flash, takes: 1 min, on: oven, at: 200 °C}, {do: slice, takes: 1 min}]}
  terrine: {ingredient: potato, station: garnish, finish: [{do: sear, takes: 4 min, on: pan}, {do: oven, takes: 6 min, on: oven, at: 200 °C}]}
  beetroot: {ingredient: beetroot, station: garnish, finish: [{do: glaze, takes: 3 min, on: burner}]}
  jus: {ingredient: cherry, station: sauce, finish: [{do: heat, takes: 4 min, on: burner}, {do: mount, takes: 1 min}, {do: sauce, takes: 0 s, ready_before: 1 min}]}
plating:
  - {put: terrine, piece: {shape: bar, size: 40 x 20 mm, weight: 60 g}, at: {left: 40 mm, away: 20 mm}}
  - {put: duck, piece: {shape: fillet, size: 60 x 30 mm, weight: 120 g}, at: {right: 20 mm, near: 20 mm}}
  - {put: beetroot, piece: {shape: disc, size: 20 mm, weight: 20 g}, at: {right: 40 mm, away: 40 mm}}
  - {put: jus, amount: 20 ml, arrange: pool, across: 40 mm, at: {left: 30 mm, near: 45 mm}}
"""  # noqa: E501

# step → minutes and seconds before the plate leaves, from the published method worked by hand.
STARTS = {
    "duck.temper": "49:00",
    "duck.render": "29:00",
    "plates-in-the-warmer": "22:00",
    "duck.oven": "17:00",
    "duck.rest": "12:00",
    "terrine.sear": "12:00",
    "terrine.oven": "8:00",
    "jus.heat": "6:00",
    "beetroot.glaze": "5:00",
    "duck.flash": "4:00",
    "duck.slice": "3:00",
    "plate": "2:00",
    "jus.sauce": "1:00",
    "check": "0:30",
}
GEAR = Settings(
    equipment=(("pan", "Pan"), ("oven", "Oven"), ("burner", "Burner")),
    gear=(Gear("pan", 4, True), Gear("oven", 4), Gear("burner", 4, True)),
    stations=(("roast", "Roast"), ("garnish", "Garnish"), ("sauce", "Sauce")),
)


def dish_of(text: str, key: str = "duck"):
    dish, _, problems = reading.dish(text, f"specs/{key}.yaml", key)
    assert dish is not None and not errors(problems), [p.message for p in problems]
    return dish


def scheduled(text: str = DUCK, settings: Settings = GEAR):
    schedule, problems = fire.of(dish_of(text), settings)
    assert schedule is not None, [p.message for p in problems]
    return schedule


def starts(schedule) -> dict[str, Fraction]:
    return {t.id.split("/", 1)[1]: t.start_s for t in schedule.tasks}


def test_the_worked_example():
    found = starts(scheduled())
    assert {k: clock.minutes_text(-found[k]) for k in STARTS} == STARTS
    assert clock.clock_text(clock.clock_s("20:00") + found["duck.temper"]) == "19:11:00"
    assert clock.clock_text(clock.clock_s("20:00") + found["check"]) == "19:59:30"


def test_the_checks_of_the_worked_example():
    schedule = scheduled()
    assert schedule.lead_s == 29 * 60 and schedule.whole_s == 49 * 60
    assert clock.clock_text(clock.clock_s("19:35") + schedule.lead_s) == "20:04:00"
    assert schedule.task("duck/terrine.sear").slack_s == schedule.task("duck/terrine.oven").slack_s == 17 * 60
    assert schedule.task("duck/duck.temper").slack_s is None
    assert [k.split("/")[1] for k in schedule.critical] == [
        "duck.render",
        "duck.oven",
        "duck.rest",
        "duck.flash",
        "duck.slice",
        "plate",
        "check",
    ]
    longer = starts(scheduled(DUCK.replace("takes: 8 min", "takes: 10 min")))
    assert longer["duck.render"] == -31 * 60
    assert {k: v for k, v in longer.items() if k.startswith("terrine")} == {
        k: v for k, v in starts(schedule).items() if k.startswith("terrine")
    }


# --------------------------------------------------------------------------- against a graph library


@st.composite
def kitchens_work(draw, loops: bool = False):
    """Components whose steps wait for each other: (spec, edges, durations); loops only if asked for."""
    steps = [(c, s) for c in range(draw(st.integers(1, 4))) for s in range(draw(st.integers(1, 4)))]
    takes = {step: draw(st.integers(0, 900)) for step in steps}
    offsets, edges, lines = {}, set(), []
    order = draw(st.permutations(steps))
    for c in sorted({c for c, _ in steps}):
        said = []
        for s in (s for cc, s in steps if cc == c):
            after = None
            # Without loops only what stands earlier in a common order is waited for.
            earlier = [x for x in order if x != (c, s) and (loops or order.index(x) < order.index((c, s)))]
            follows = s > 0 and (loops or order.index((c, s - 1)) < order.index((c, s)))
            if not follows or draw(st.booleans()):
                after = draw(st.lists(st.sampled_from(earlier), max_size=3, unique=True)) if earlier else []
            waits = [(c, s - 1)] if after is None and s > 0 else after or []
            edges |= {(w, (c, s)) for w in waits}
            if draw(st.integers(0, 4)) == 0:
                offsets[(c, s)] = draw(st.integers(0, 600))
            keys = [f"do: work, name: s{s}, takes: {takes[(c, s)]} s"]
            keys += [f"after: [{', '.join(f'c{x}.s{y}' for x, y in after)}]"] if after is not None else []
            keys += [f"ready_before: {offsets[(c, s)]} s"] if (c, s) in offsets else []
            said.append("{" + ", ".join(keys) + "}")
        lines.append((f"c{c}", f"{{ingredient: dill, finish: [{', '.join(said)}]}}"))
    plating, check = draw(st.integers(0, 120)), draw(st.integers(0, 60))
    text = poured(dict(lines)).replace(
        "plate: wide\n", f"plate: wide\nplating_takes: {plating} s\ncheck_takes: {check} s\n"
    )
    return text, edges, takes, offsets, plating, check


def graph_of(edges, takes, offsets, plating, check) -> networkx.DiGraph:
    """Nodes are steps; an edge weighs what its first step takes; everything runs to the node "leaves"."""
    graph = networkx.DiGraph()
    for step in takes:
        graph.add_node(step)
    for before, after in edges:
        graph.add_edge(before, after, weight=takes[before])
    waited_for = {before for before, after in edges if before[0] == after[0]}
    for step in takes:
        # The ends of a component end by plating, or by their own offset: a last edge as long as the step and what
        # comes after it.
        if step in offsets or step not in waited_for:
            graph.add_edge(step, "leaves", weight=takes[step] + offsets.get(step, plating + check))
    return graph


@given(kitchens_work())
def test_starts_are_the_longest_paths(work):
    text, edges, takes, offsets, plating, check = work
    schedule = scheduled(text)
    graph = graph_of(edges, takes, offsets, plating, check)
    found = starts(schedule)
    # Longest chain from each step to the plate, by the library's own topological order.
    order = list(networkx.topological_sort(graph))
    longest = {"leaves": 0}
    for node in reversed(order[:-1] if order[-1] == "leaves" else [n for n in order if n != "leaves"]):
        longest[node] = max(data["weight"] + longest[to] for _, to, data in graph.out_edges(node, data=True))
    assert {step: -found[f"c{step[0]}.s{step[1]}"] for step in takes} == {step: longest[step] for step in takes}
    # The whole of it is the longest path of the graph, unless only plate and check are longer.
    assert schedule.whole_s == max(networkx.dag_longest_path_length(graph), plating + check)
    assert schedule.lead_s == schedule.whole_s


@given(kitchens_work())
def test_slack_is_what_a_step_can_take_longer(work):
    """A step that takes all its slack longer changes no lead; one second more does."""
    text, _, takes, *_ = work
    dish = dish_of(text)
    schedule, _ = fire.of(dish, Settings())
    for component in dish.components[:2]:
        for step in component.finish[:2]:
            task = schedule.task(f"duck/{component.key}.{step.key}")
            for more, same in ((task.slack_s, True), (task.slack_s + 1, False)):
                slower = replace(
                    dish,
                    components=tuple(
                        replace(
                            c, finish=tuple(replace(s, takes_s=s.takes_s + more) if s is step else s for s in c.finish)
                        )
                        for c in dish.components
                    ),
                )
                assert (fire.of(slower, Settings())[0].lead_s == schedule.lead_s) is same


@given(kitchens_work(loops=True))
def test_loops_are_found_where_the_library_finds_them(work):
    text, edges, takes, *_ = work
    graph = networkx.DiGraph(edges)
    graph.add_nodes_from(takes)
    schedule, problems = fire.of(dish_of(text), Settings())
    loops = [p for p in problems if p.slug == "step-loop"]
    assert bool(loops) is not networkx.is_directed_acyclic_graph(graph)
    assert (schedule is None) is bool(loops)
    for loop in loops:
        assert len(loop.hints) >= 1 and all(h.startswith("specs/duck.yaml:") for h in loop.hints)


@given(st.integers(0, 86399), st.integers(0, 86399))
def test_another_time_moves_every_start_alike(first, second):
    schedule = scheduled()
    for task in schedule.tasks:
        assert (first + task.start_s) - (second + task.start_s) == first - second


@given(kitchens_work(), kitchens_work())
def test_a_table_is_its_dishes_together(one, two):
    """Dishes of one table leave together: each starts as it would alone, and the longer lead is the table's."""
    dishes = [dish_of(one[0], "one"), dish_of(two[0], "two")]
    alone = [fire.table([(d, 1)], Settings())[0] for d in dishes]
    together, _ = fire.table([(d, 1) for d in dishes], Settings())
    assert {t.id: t.start_s for t in together.tasks} == {t.id: t.start_s for s in alone for t in s.tasks}
    assert together.lead_s == max(s.lead_s for s in alone)


# --------------------------------------------------------------------------- what a station is told


def finishing(a: str, b: str = "", more: str = "", section: str = "plating") -> str:
    """Components a and b with these finishing steps; b goes on in another section if asked."""
    parts = {k: f"{{ingredient: dill, station: sauce, finish: [{f}]}}" for k, f in (("a", a), ("b", b)) if f}
    text = poured(parts).replace("plate: wide\n", f"plate: wide\n{more}")
    if section != "plating":
        head, _, last = text.rpartition("  - {put: b")
        text = f"{head}{section}:\n  - {{put: b{last}"
    return text


SERVED = "plating_takes: 60 s\ncheck_takes: 20 s\n"


def test_what_goes_on_at_the_table_need_not_wait_for_the_plating():
    steps = "{do: heat, takes: 2 min}", "{do: heat, takes: 2 min}"
    for section, start in (("plating", -200), ("at_table", -120)):
        schedule = scheduled(finishing(*steps, SERVED, section))
        assert (starts(schedule)["a.heat"], starts(schedule)["b.heat"]) == (-200, start)
        assert ("duck/b.heat" in schedule.task("duck/plate").after) is (section == "plating")
    # What is put on twice, once before the plate leaves, is needed for the plating.
    both = finishing(*steps, SERVED, "at_table").replace(
        "at_table:", "  - {put: b, amount: 1 g, arrange: pool}\nat_table:"
    )
    both = both.replace("amount: 1 g, arrange: pool}", "amount: 1 g, arrange: pool, across: 9 mm, at: {right: 60 mm}}")
    assert starts(scheduled(both))["b.heat"] == -200


def test_who_does_it_and_for_how_many_plates():
    schedule, _ = fire.table([(dish_of(finishing("{do: heat, takes: 2 min}", more=SERVED)), 3)], GEAR)
    heat, plate, check = (schedule.task(f"duck/{k}") for k in ("a.heat", "plate", "check"))
    assert (heat.station, plate.station, check.station) == ("Sauce", fire.PASS, fire.PASS)
    assert (heat.plates, plate.plates, check.plates) == (3, 3, 3)
    assert (plate.after, check.after) == (("duck/a.heat",), ("duck/plate",))
    nobody = scheduled(finishing("{do: heat, takes: 2 min}").replace("station: sauce, ", ""))
    assert nobody.task("duck/a.heat").station not in ("Sauce", fire.PASS, "")


def test_a_check_without_a_plating_time_follows_the_last_step():
    schedule = scheduled(finishing("{do: heat, takes: 2 min}", more="check_takes: 20 s\n"))
    assert [t.id for t in schedule.tasks] == ["duck/a.heat", "duck/check"]
    assert schedule.task("duck/check").after == ("duck/a.heat",) and starts(schedule)["a.heat"] == -140


def test_warm_plates_are_done_ahead_and_asked_of_nobody_after_the_order():
    schedule = scheduled(finishing("{do: heat, takes: 2 min}", more=SERVED + "plates_warm: 10 min\n"))
    warm = schedule.task("duck/plates-in-the-warmer")
    assert warm.is_ahead and warm.slack_s is None and not warm.is_critical
    assert (warm.start_s, warm.end_s) == (-680, -80)
    assert (schedule.lead_s, schedule.whole_s) == (200, 680)
    assert "duck/plates-in-the-warmer" in schedule.task("duck/plate").after


def test_what_must_be_done_before_something_done_ahead_is_done_ahead_too():
    steps = "{do: brine, takes: 5 min}, {do: dry, takes: 4 min, ahead: true}, {do: sear, takes: 3 min}"
    schedule = scheduled(finishing(steps))
    assert [schedule.task(f"duck/a.{k}").is_ahead for k in ("brine", "dry", "sear")] == [True, True, False]
    assert (schedule.lead_s, schedule.whole_s) == (180, 720)
    assert schedule.critical == ("duck/a.sear",)


def test_a_dish_that_is_wholly_done_ahead_is_fired_at_once():
    schedule = scheduled(finishing("{do: dry, takes: 4 min, ahead: true}"))
    assert (schedule.lead_s, schedule.whole_s, schedule.critical) == (0, 240, ())


def test_waiting_for_a_component_is_waiting_for_all_that_ends_it():
    schedule = scheduled(
        finishing(
            "{do: sear, takes: 5 min}, {do: foam, takes: 1 min, after: []}", "{do: glaze, takes: 2 min, after: a}"
        )
    )
    assert set(schedule.task("duck/b.glaze").after) == {"duck/a.sear", "duck/a.foam"}
    assert {k: int(v) for k, v in starts(schedule).items()} == {"a.sear": -420, "a.foam": -180, "b.glaze": -120}
    # The foam could start four minutes sooner; nothing else can.
    assert {t.id: t.slack_s for t in schedule.tasks} == {"duck/a.sear": 0, "duck/a.foam": 240, "duck/b.glaze": 0}
    assert {t.id for t in schedule.tasks if t.is_critical} == {"duck/a.sear", "duck/b.glaze"}
    assert schedule.critical == ("duck/a.sear", "duck/b.glaze")


def test_a_step_in_the_middle_keeps_its_own_time_before_the_plate():
    steps = "{do: sear, takes: 2 min, ready_before: 5 min}, {do: slice, takes: 1 min}"
    assert starts(scheduled(finishing(steps, more=SERVED))) == {
        "a.sear": -420,
        "a.slice": -140,
        "plate": -80,
        "check": -20,
    }


def test_the_list_goes_by_the_time_at_which_each_step_starts():
    text = finishing("{do: heat, takes: 2 min}", "{do: sear, takes: 5 min}, {do: rest, takes: 1 min, rest: true}")
    assert [t.id for t in scheduled(text).tasks] == ["duck/b.sear", "duck/a.heat", "duck/b.rest"]


def test_a_table_names_its_dishes_and_counts_their_plates():
    one, two = (
        dish_of(finishing("{do: heat, takes: 2 min}"), "one"),
        dish_of(poured({"a": "{ingredient: dill}"}), "two"),
    )
    schedule, problems = fire.table([(one, 2), (two, 3)], GEAR)
    assert schedule.dishes == (("one", one.title, 2), ("two", two.title, 3)) and problems == ()
    assert fire.of(two, GEAR) == (None, ()), "and of a dish that is only put together there is nothing to fire"


def test_only_what_the_chef_says_rests_is_done_ahead_or_at_once_for_all_plates():
    schedule, _ = fire.of(dish_of(DUCK), GEAR)
    told = {t.id.split("/")[-1]: (t.is_rest, t.is_ahead, t.is_together) for t in schedule.tasks}
    assert told.pop("duck.rest") == (True, False, False) and told.pop("duck.temper") == (False, True, False)
    assert told.pop("plates-in-the-warmer") == (False, True, False)
    assert "plate" in told and set(told.values()) == {(False, False, False)}


@pytest.mark.parametrize("said, plates, places", [("", 1, 1), ("", 3, 3), (", together: true", 3, 1)])
def test_a_step_takes_a_place_for_each_plate_unless_one_pot_does_for_all(said, plates, places):
    dish = dish_of(finishing(f"{{do: heat, takes: 2 min{said}}}"))
    schedule, _ = fire.table([(dish, plates)], GEAR)
    (heat,) = [t for t in schedule.tasks if t.do == "heat"]
    assert (heat.plates, heat.places) == (plates, places)
    assert (heat.start_s, heat.end_s - heat.start_s) == (-schedule.lead_s, 120)


def test_a_word_close_to_a_step_is_suggested_and_nothing_is_scheduled():
    dish = dish_of(finishing("{do: heat, takes: 4 min}, {do: stir, takes: 1 min, after: haet}"))
    schedule, problems = fire.of(dish, GEAR)
    assert schedule is None and [p.slug for p in problems] == ["unknown-step"] and "heat" in " ".join(problems[0].hints)


# --------------------------------------------------------------------------- what goes wrong


def wrong(finish: str, more: str = "") -> list:
    text = poured({"a": f"{{ingredient: dill, finish: [{finish}]}}", "b": "{ingredient: dill}"}) + more
    dish, _, problems = reading.dish(text, "specs/a.yaml", "a")
    return [*problems, *fire.of(dish, GEAR)[1]]


@pytest.mark.parametrize(
    "finish, slug, word",
    [
        ("{do: heat, takes: 4 min, after: heat}", "step-loop", "a: heat, which waits for a: heat"),
        ("{do: heat, takes: 4 min, after: a.stir}, {do: stir, takes: 1 min}", "step-loop", "which waits for"),
        ("{do: heat, takes: 4 min, after: hte}", "unknown-step", "'hte'"),
        ("{do: heat, takes: 4 min, after: b}", "nothing-to-wait-for", "'b'"),
        ("{do: heat, takes: 25:70}", "amount", "25:70"),
        ("{do: heat, takes: 4}", "amount", "unit"),
        ("{do: heat, takes: -4 min}", "amount", "negative"),
        ("{do: heat, takes: 4 g}", "amount", "time"),
        ("{do: heat, takes: 4 min, at: 180}", "amount", "°C or °F"),
        ("{do: heat, takes: 4 min, at: 400 °F / 180 °C}", "two-units-disagree", "disagrees"),
        ("{do: heat, takes: 4 weeks}", "too-long-a-step", "two days"),
        ("{do: heat, takes: 4 min, name: x}, {do: cool, takes: 1 min, name: x}", "given-twice", "'x'"),
        ("{takes: 4 min}", "missing-key", "'do'"),
        ("{do: heat}", "missing-key", "'takes'"),
        ("{do: heat, takes: 4 min, onn: pan}", "unknown-key", "onn"),
    ],
)
def test_a_slip_is_said_at_its_place(finish, slug, word):
    found = [p for p in wrong(finish) if p.slug == slug]
    assert found and found[0].span.file == "specs/a.yaml" and found[0].span.line == 5
    assert any(word in text for text in (found[0].message, *found[0].hints))


def test_a_loop_is_shown_with_its_places():
    text = """\
dish: Round
revision: {number: 1, date: 2026-01-31}
plate: wide
components:
  jus:
    ingredient: dill
    finish:
      - {do: heat, takes: 4 min, after: meat.rest}
  meat:
    ingredient: dill
    finish:
      - {do: sear, takes: 4 min, after: jus}
      - {do: rest, takes: 4 min}
plating:
  - {put: jus, amount: 10 g, arrange: pool, across: 20 mm}
  - {put: meat, amount: 10 g, arrange: pool, across: 20 mm, at: {right: 40 mm}}
"""
    (problem,) = errors(prepared(text).problems)
    assert problem.slug == "step-loop" and problem.span.line in (8, 12, 13)
    assert sorted(h.split(":")[1] for h in problem.hints) == ["12", "13", "8"]


# --------------------------------------------------------------------------- equipment


def clashes(one: str, two: str, gear: Gear) -> list:
    text = poured({"a": f"{{ingredient: dill, finish: [{one}]}}", "b": f"{{ingredient: dill, finish: [{two}]}}"})
    return list(fire.of(dish_of(text), replace(GEAR, gear=(gear,)))[1])


def test_two_things_where_one_has_room():
    found = clashes("{do: roast, takes: 6 min, on: oven}", "{do: bake, takes: 4 min, on: oven}", Gear("oven", 1))
    assert [p.slug for p in found] == ["over-its-room"] and "asked for 2 things at once and takes 1" in found[0].message
    assert found[0].span.line == 6 and "specs/duck.yaml:5" in found[0].hints[0]
    assert not clashes("{do: roast, takes: 6 min, on: oven}", "{do: bake, takes: 4 min, on: oven}", Gear("oven", 2))


def test_one_after_the_other_is_no_clash():
    assert not clashes(
        "{do: roast, takes: 6 min, on: oven}",
        "{do: bake, takes: 4 min, on: oven, ready_before: 6 min}",
        Gear("oven", 1),
    )


def test_what_has_time_in_hand_is_named():
    long = "{do: sear, takes: 20 min}, {do: roast, takes: 6 min, on: oven}"
    (found,) = clashes(long, "{do: bake, takes: 4 min, on: oven}", Gear("oven", 1))
    assert "b: bake could start 6 min sooner: it has 22 min in hand" in found.hints


def test_two_temperatures_at_once():
    hot, low = "{do: roast, takes: 6 min, on: oven, at: 220 °C}", "{do: bake, takes: 4 min, on: oven, at: 350 °F}"
    found = clashes(hot, low, Gear("oven", 4))
    assert [(p.slug, p.severity) for p in found] == [("two-heats", "error")]
    assert "220 °C" in found[0].message and "176.7 °C" in found[0].message
    assert not clashes(hot, low, Gear("oven", 4, own_heat=True))
    assert not clashes(hot, hot, Gear("oven", 4))


def test_the_table_asks_for_all_its_plates_at_once():
    dish = dish_of(DUCK)
    _, one = fire.table([(dish, 1)], GEAR)
    _, many = fire.table([(dish, 5)], GEAR)
    assert not one and {p.slug for p in many} == {"over-its-room"}
    assert any("asked for 5 things at once and takes 4" in p.message for p in many)


def test_one_pot_serves_the_table():
    one = "{ingredient: dill, finish: [{do: heat, takes: 2 min, on: burner, together: true}]}"
    for text, slugs in ((one, []), (one.replace(", together: true", ""), ["over-its-room"])):
        assert [p.slug for p in fire.table([(dish_of(poured({"a": text})), 5)], GEAR)[1]] == slugs


def test_two_dishes_that_want_two_ovens():
    hot = dish_of(poured({"a": "{ingredient: dill, finish: [{do: roast, takes: 6 min, on: oven, at: 220 °C}]}"}), "one")
    low = dish_of(poured({"a": "{ingredient: dill, finish: [{do: dry, takes: 6 min, on: oven, at: 90 °C}]}"}), "two")
    _, found = fire.table([(hot, 1), (low, 1)], GEAR)
    assert [(p.slug, p.severity) for p in found] == [("two-heats", "warning")]


def test_a_finishing_step_hands_allergens_on():
    """What is finished in the fryer has been in the fryer, whether or not the component says so elsewhere."""
    kitchen = {
        KITCHEN: (
            LIBRARY[KITCHEN].replace("fryer: the fryer", "fryer: the fryer, oven: {called: the oven, touches: false}")
        )
    }
    batter = {"batter": poured({"batter": "{ingredient: wheat flour, equipment: [fryer, oven]}"})}
    seen = {}
    for used in ("fryer", "oven", ""):
        step = f"{{do: fry, takes: 2 min, on: {used}}}" if used else "{do: fry, takes: 2 min}"
        one = prepared(poured({"herb": f"{{ingredient: dill, finish: [{step}]}}"}), kitchen, batter)
        seen[used] = {f.allergen for s in one.statements for f in s.findings if f.presence == "may_contain"}
    assert seen == {"fryer": {"wheat"}, "oven": set(), "": set()}


# --------------------------------------------------------------------------- how times are written


@pytest.mark.parametrize(
    "text, seconds",
    [
        ("4 min", 240),
        ("90 s", 90),
        ("1 h 10 min", 4200),
        ("1 h and 10 min", 4200),
        ("1 min 30 s", 90),
        ("1/2 h", 1800),
        ("½ h", 1800),
        ("1.5 min", 90),
        ("4-5 min", 300),
        ("0 s", 0),
        ("2 hours", 7200),
        ("1 h 2 min 3 s", 3723),
    ],
)
def test_durations(text, seconds):
    assert clock.duration_s(text) == seconds


@pytest.mark.parametrize(
    "text", ["4", "min", "4 min ago", "1:30", "25:70", "-4 min", "4 g", "4 min 3 g", "", "1 h, 10 min and a bit"]
)
def test_no_durations(text):
    with pytest.raises(AmountError):
        clock.duration_s(text)


@pytest.mark.parametrize("text, seconds", [("20:15", 72900), ("0:00", 0), ("23:59:59", 86399), ("7:05", 25500)])
def test_times_of_day(text, seconds):
    assert clock.clock_s(text) == seconds


@pytest.mark.parametrize("text", ["25:70", "24:00", "20:60", "20.15", "8 pm", "", "20:15:61", "1:2"])
def test_no_times_of_day(text):
    with pytest.raises(AmountError) as told:
        clock.clock_s(text)
    assert told.value.hint


def test_the_day_before_is_said():
    assert clock.clock_text(-60) == "23:59:00 (the day before)"
    assert clock.clock_text(86400) == "00:00:00 (the day after)"
