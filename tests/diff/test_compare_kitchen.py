"""What a kitchen would do wrong if a comparison told it the wrong way round."""

from __future__ import annotations

import pytest

from platecard.diff import dishes
from platecard.diff.change import ALARM, BETTER, CHANGED, WORSE
from tests.kitchens import BEETROOT, KITCHEN, LIBRARY, OIL, PANTRY, PLATES, SMOKED, SPEC, kitchen, poured, prepared

EU = LIBRARY[KITCHEN].replace("[eu, us]\nlabels", "[eu]\nlabels")


def changes(old, new, kind: str):
    return [c for c in dishes.compare(old, new).changes if c.kind == kind]


def said(old, new, kind: str) -> list[str]:
    return [c.words for c in changes(old, new, kind)]


def changed(*edits: tuple[str, str, str]):
    """The beetroot dish with each ``(file, was, now)`` changed."""
    files = kitchen(*edits)
    return prepared(files.pop(SPEC), files)


def both_ways(was, now, kind: str) -> tuple[list[str], list[str]]:
    return said(was, now, kind), said(now, was, kind)


# --------------------------------------------------------------------------- allergens

BLEND = "products:\n  blend: {called: Fish blend, label: {read: 2026-01-02, contains: [trout]%s}}\n"


def blend(more: str, part: str = "beetroot"):
    return prepared(
        poured({"blend": "{product: blend}", "part": f"{{ingredient: {part}}}"}), {PANTRY: BLEND % more, KITCHEN: EU}
    )


def test_a_cook_sees_where_the_cod_comes_from_now_and_not_where_it_may_have_come_from_before():
    """EU law declares fish in both; the chain of the cod that came in leads to the new component."""
    (cod,) = [c for c in changes(blend(", may_contain: [cod]"), blend("", "cod"), "allergen") if c.what == "cod"]
    assert (cod.old, cod.new, cod.severity, cod.in_old) == ("may_contain", "contains", ALARM, False)
    assert cod.words.startswith("CAME IN: ") and cod.words.endswith("before: may contain")
    assert len(cod.reasons) == 1 and "blend" not in cod.reasons[0].lower() and " > part > cod" in cod.reasons[0]


def test_what_fell_to_a_trace_shows_where_it_was_and_says_that_it_may_still_be_there():
    (cod,) = [c for c in changes(blend("", "cod"), blend(", may_contain: [cod]"), "allergen") if c.what == "cod"]
    assert (cod.old, cod.new, cod.severity) == ("contains", "may_contain", CHANGED)
    assert cod.words.startswith("no longer stated, but it MAY CONTAIN: ") and "blend" not in cod.reasons[0].lower()
    assert "now: may contain; before: contains" in cod.words
    (gone,) = [c for c in changes(blend(", may_contain: [cod]"), blend(""), "allergen") if c.what == "cod"]
    assert (gone.new, gone.severity, gone.in_old) == ("not_among_ingredients", BETTER, True)
    assert gone.words.startswith("gone: ") and (gone.span.file, gone.span.line) == (PANTRY, 2)


def test_a_finding_that_came_in_is_proved_by_the_new_revision_and_one_that_is_gone_by_the_old():
    old, new = prepared(poured({"a": "{ingredient: beetroot}"})), prepared(poured({"a": "{ingredient: egg yolk}"}))
    came = [c for c in changes(old, new, "allergen") if c.law]
    gone = [c for c in changes(new, old, "allergen") if c.law]
    assert {c.law for c in came} == {c.law for c in gone} == {"eu", "us"}
    for there, back in zip(came, gone):
        assert there.reasons and "egg yolk" in there.reasons[0] and not there.in_old and there.severity == ALARM
        assert there.words.startswith("CAME IN, ") and there.span.file == "specs/asked.yaml"
        assert back.reasons == there.reasons and back.in_old and back.severity == BETTER
        assert back.words.startswith("gone, ") and (back.new, back.old) == (there.old, there.new)


def test_more_ways_than_three_are_counted():
    def eggs(n: int):
        return prepared(poured({f"a{i}": "{ingredient: egg yolk}" for i in range(n)} | {"b": "{ingredient: dill}"}))

    for n, last in ((3, None), (5, "and 2 more ways")):
        (eu,) = [c for c in changes(eggs(0), eggs(n), "allergen") if c.law == "eu"]
        assert [r for r in eu.reasons if r.startswith("and ")] == ([last] if last else [])
        assert sum("egg yolk" in r for r in eu.reasons) == 3


def test_an_allergen_of_no_law_in_force_is_told_as_such_and_without_alarm():
    """Lupin is declared in the European Union and not in the United States."""
    us = {KITCHEN: LIBRARY[KITCHEN].replace("laws: [eu, us]", "laws: [us]")}
    old, new = (prepared(poured({"a": f"{{ingredient: {n}}}"}), us) for n in ("beetroot", "lupin flour"))
    (lupin,) = [c for c in changes(old, new, "allergen") if c.what.startswith("lupin")]
    assert (lupin.severity, lupin.law) == (WORSE, None) and "under no law in force here" in lupin.words
    old, new = (prepared(poured({"a": f"{{ingredient: {n}}}"})) for n in ("beetroot", "lupin flour"))
    assert any(c.what == "lupin" and c.severity == ALARM for c in changes(old, new, "allergen"))


def test_what_is_no_longer_known_is_an_alarm_and_never_good_news():
    """A product whose label nobody has read: contains becomes not established, and the way back says came in."""
    known = "products:\n  seeded-crisp: {called: Seeded crisp, label: {read: 2026-01-02, contains: [wheat, sesame]}}\n"
    old, new = (
        prepared(BEETROOT, {PANTRY: known}),
        prepared(BEETROOT, {PANTRY: "products:\n  seeded-crisp: {called: Seeded crisp}\n"}),
    )
    found = {c.what: c for c in changes(old, new, "allergen") if c.law == "eu"}
    assert found["sesame"].severity == ALARM and found["sesame"].words.startswith("NOT ESTABLISHED")
    assert found["milk"].severity == ALARM and found["milk"].words.startswith("NO LONGER ESTABLISHED")
    back = {c.what: c for c in changes(new, old, "allergen") if c.law == "eu"}
    assert back["sesame"].severity == ALARM and back["sesame"].words.startswith("CAME IN")
    assert back["milk"].severity == BETTER and back["milk"].words.startswith("gone")


def test_a_trace_that_came_in_says_what_it_was_before():
    old, new = changed((PANTRY, ", may_contain: [milk]", "")), changed()
    assert [c.words for c in changes(old, new, "allergen") if c.what == "milk" and c.law] == [
        "MAY NOW CONTAIN, European Union: milk; before: not among the ingredients entered",
        "MAY NOW CONTAIN, United States: milk; before: not among the ingredients entered",
    ]
    assert [c.words for c in changes(new, old, "allergen") if c.what == "milk" and c.law] == [
        "gone, European Union: milk; now: not among the ingredients entered; before: may contain",
        "gone, United States: milk; now: not among the ingredients entered; before: may contain",
    ]


def test_a_law_that_no_longer_applies_says_what_it_declared_then():
    one = poured({"a": "{ingredient: egg yolk}"})
    other = poured({"a": "{ingredient: beetroot}"})
    new_law, old_law = {KITCHEN: LIBRARY[KITCHEN]}, {KITCHEN: EU}
    (came,) = changes(prepared(other, old_law), prepared(one, new_law), "law")
    assert "is now in force; it declares egg" in came.words
    assert (came.old, came.new, came.severity, came.in_old) == (None, "United States", WORSE, False)
    (gone,) = changes(prepared(one, new_law), prepared(other, old_law), "law")
    assert (gone.old, gone.new, gone.severity, gone.in_old) == ("United States", None, WORSE, True)
    assert "it declared egg" in gone.words


# --------------------------------------------------------------------------- the guest


def test_a_guest_who_could_eat_it_changed_and_now_cannot_is_told_the_worse():
    left_off = "{ingredient: egg yolk, may_be_left_off: true}"
    beet = {"b": "{ingredient: beetroot}"}
    none, off, fixed = (
        prepared(poured({**beet, **more})) for more in ({}, {"a": left_off}, {"a": "{ingredient: egg yolk}"})
    )

    def told(old, new):
        return [(c.old, c.new, c.severity) for c in changes(old, new, "guest") if c.what == "egg"]

    changed = "serve changed (leave off a)"
    assert told(none, off) == [("serve as it is", changed, WORSE)]
    assert told(off, fixed) == [(changed, "cannot be served", WORSE)]
    assert told(fixed, off) == [("cannot be served", changed, BETTER)]
    assert told(off, none) == [(changed, "serve as it is", BETTER)]
    (words,) = [c.words for c in changes(off, fixed, "guest") if c.what == "egg"]
    assert words.startswith("a guest who avoids ") and words.endswith(f"cannot be served; before: {changed}")


def test_a_guest_is_told_of_a_trace_that_came_in():
    old, new = changed((PANTRY, ", may_contain: [milk]", "")), changed()
    assert [(c.old, c.new, c.severity) for c in changes(old, new, "guest") if c.what == "milk"] == [
        ("serve as it is", "serve as it is, though it MAY CONTAIN it", WORSE)
    ]
    assert [c.severity for c in changes(new, old, "guest") if c.what == "milk"] == [BETTER]


# --------------------------------------------------------------------------- money


def crisp(price: str, menu: str = ""):
    """A plate with 10 g of the crisp and nothing else, at these prices."""
    spec = poured({"crisp": "{product: seeded-crisp}"})
    if menu:
        spec = spec.replace("plate: wide", f"plate: wide\nprice: {{net: {menu}}}")
    pantry = LIBRARY[PANTRY].replace("called: Seeded crisp,", f"called: Seeded crisp,{price}")
    return prepared(spec, {PANTRY: pantry})


def test_a_plate_that_became_dearer_is_not_told_as_cheaper():
    old, new = crisp(" price: 3 EUR for 100 g,", "12 EUR"), crisp(" price: 5 EUR for 100 g,", "10 EUR")
    there, back = both_ways(old, new, "cost")
    assert there == [
        "the plate costs 0.50 EUR, 0.20 EUR more; before: 0.30 EUR",
        "sold for 10.00 EUR net; before: 12.00 EUR net",
        "food cost is 5 % of the net price; before: 2.5 %",
        "product seeded crisp: its price is 5.00 EUR for 100 g; before: 3.00 EUR for 100 g",
    ]
    assert back == [
        "the plate costs 0.30 EUR, 0.20 EUR less; before: 0.50 EUR",
        "sold for 12.00 EUR net; before: 10.00 EUR net",
        "food cost is 2.5 % of the net price; before: 5 %",
        "product seeded crisp: its price is 3.00 EUR for 100 g; before: 5.00 EUR for 100 g",
    ]
    assert [(c.old, c.new) for c in changes(old, new, "cost")][:2] == [
        ("0.30 EUR", "0.50 EUR"),
        ("12.00 EUR net", "10.00 EUR net"),
    ]


def test_a_price_that_is_not_entered_any_more_is_said():
    there, back = both_ways(crisp(" price: 3 EUR, pack: 100 g,"), crisp(""), "cost")
    assert there == [
        "the plate costs what is not known; before: 0.30 EUR",
        "product seeded crisp: its price is not entered; before: 3.00 EUR for 100 g",
    ]
    assert back == [
        "the plate costs 0.30 EUR; before: not known",
        "product seeded crisp: its price is 3.00 EUR for 100 g; before: not entered",
    ]


def test_of_two_costs_of_which_one_is_at_least_nobody_says_which_is_more():
    there, back = both_ways(
        *(
            changed((PANTRY, "called: Seeded crisp,", f"called: Seeded crisp, price: {n} EUR for 100 g,"))
            for n in (3, 5)
        ),
        "cost",
    )
    assert there[0].startswith("the plate costs at least ") and "before: at least " in there[0]
    assert " more;" not in there[0] and " less;" not in back[0]


def test_a_price_in_another_currency_is_no_difference_in_money():
    there, _ = both_ways(crisp(" price: 3 EUR for 100 g,"), crisp(" price: 5 USD for 100 g,"), "cost")
    assert there[0] == "the plate costs 0.50 USD; before: 0.30 EUR"


# --------------------------------------------------------------------------- time


def finished(*steps: str, more: str = ""):
    return changed(
        (SPEC, "{ingredient: dill}", f"{{ingredient: dill, finish: [{', '.join(steps)}]}}"),
        *([(SPEC, "plate: wide\n", f"plate: wide\n{more}\n")] if more else []),
    )


def test_a_dish_that_must_be_fired_earlier_is_not_told_as_later():
    there, back = both_ways(finished("{do: fry, takes: 20 s}"), finished("{do: fry, takes: 50 s}"), "timing")
    assert there[0] == "fire 50 s before the plate leaves, 30 s earlier; before: 20 s"
    assert back[0] == "fire 20 s before the plate leaves, 30 s later; before: 50 s"
    assert "dill: fry takes 50 s; before: 20 s" in there and "dill: fry takes 20 s; before: 50 s" in back


def test_nothing_to_fire_any_more():
    there, back = both_ways(finished("{do: fry, takes: 20 s}"), changed(), "timing")
    assert "nothing is finished to order now; before: fire 20 s before the plate leaves" in there
    assert "dill: 'fry' is gone, it took 20 s" in there and "dill: 'fry' came in, 20 s" in back
    (gone,) = [c for c in changes(finished("{do: fry, takes: 20 s}"), changed(), "timing") if "is gone" in c.words]
    assert (gone.what, gone.old, gone.new, gone.in_old) == ("dill.fry", 20, None, True)


def test_a_finishing_step_at_another_heat_or_on_other_equipment():
    a, b = "{do: fry, takes: 20 s, on: fryer, at: 180 °C}", "{do: fry, takes: 20 s, on: smoker, at: 160 °C}"
    old, new = finished(a), finished(b)
    assert "dill: fry: at 160 °C; before: 180 °C" in said(old, new, "timing")
    assert any(w.startswith("dill: fry: on smoker; before: fryer") for w in said(old, new, "equipment"))


def test_finishing_steps_in_another_order():
    a, b = "{do: fry, takes: 20 s}", "{do: season, takes: 5 s}"
    old, new = finished(a, b), finished(b, a)
    assert "dill: its finishing steps are in a different order" in said(old, new, "timing")
    assert [(c.old, c.new) for c in changes(old, new, "timing") if "a different order" in c.words] == [
        ("fry, season", "season, fry")
    ]
    assert not any("a different order" in w for w in said(old, finished(a, b, "{do: shake, takes: 1 s}"), "timing"))


def test_times_of_plating_that_are_no_longer_said():
    old = changed((SPEC, "plate: wide\n", "plate: wide\nplating_takes: 45 s\n"))
    assert said(old, changed(), "timing") == ["plating takes no stated time; before: 45 s"]
    assert [(c.what, c.old, c.new) for c in changes(old, changed(), "timing")] == [("plating", 45, 0)]


# --------------------------------------------------------------------------- plate, expo, words


def test_another_form_of_the_same_plate():
    old, new = changed(), changed((PLATES, "outer: 280 mm, well: 200 mm", "outer: 290 mm, well: 200 mm"))
    assert said(old, new, "plate") == ["Wide plate: outer size 290 mm; before: 280 mm"]
    assert [(c.old, c.new) for c in changes(old, new, "plate")] == [("280 mm", "290 mm")]


def test_expo_checks_that_are_gone_or_in_another_order():
    two = changed((SPEC, "  - Rim clean\n", "  - Rim clean\n  - Crisp stands\n"))
    turned = changed((SPEC, "  - Rim clean\n", "  - Crisp stands\n  - Rim clean\n"))
    (gone,) = changes(two, changed(), "expo")
    assert (gone.words, gone.old, gone.new, gone.in_old) == (
        "expo no longer checks: Crisp stands",
        "Crisp stands",
        None,
        True,
    )
    assert [(c.words, c.new) for c in changes(two, turned, "expo")] == [
        ("expo's checks are in a different order", "Crisp stands / Rim clean")
    ]


def test_another_title_and_a_note_that_is_gone():
    old = changed((SPEC, "plate: wide\n", "plate: wide\nnote: Mind the rim\n"))
    new = changed((SPEC, "dish: Smoked beetroot,", "dish: Baked beetroot,"))
    assert said(old, new, "text") == [
        "the dish is called 'Baked beetroot, dill oil, seeded crisp';"
        " before: 'Smoked beetroot, dill oil, seeded crisp'",
        "its note is nothing; before: 'Mind the rim'",
    ]


def test_a_record_of_allergens_that_changed():
    record = "plate: wide\nacknowledged: {revision: 1, eu: [%s]}\n"
    a, b = (changed((SPEC, "plate: wide\n", record % what)) for what in ("wheat", "wheat, sesame"))
    (one,) = [c for c in changes(a, b, "text") if c.what == "acknowledged"]
    assert one.words == "allergens on record: revision 1: eu: wheat, sesame; before: revision 1: eu: wheat"
    (gone,) = [c for c in changes(b, changed(), "text") if c.what == "acknowledged"]
    assert gone.words.startswith("allergens on record: none; before: revision 1") and gone.in_old


# --------------------------------------------------------------------------- recipes


def test_recipe_lines_that_came_and_went():
    more = (
        OIL,
        "  - {ingredient: dill, amount: 40 g}\n",
        "  - {ingredient: dill, amount: 40 g}\n  - {ingredient: butter, amount: 20 g}\n",
    )
    there, back = both_ways(changed(), changed(more), "recipe")
    assert there == ["Dill oil: 20 g butter came in"] and back == ["Dill oil: 20 g butter is gone"]
    assert [c.in_old for c in changes(changed(more), changed(), "recipe")] == [True]


def test_a_recipe_on_other_equipment():
    there, back = both_ways(changed(), changed((SMOKED, "equipment: smoker", "equipment: fryer")), "equipment")
    assert len(there) == len(back) == 1 and "Smoked beetroot" in there[0]
    assert "fryer" in there[0] and there[0] != back[0]


# --------------------------------------------------------------------------- each fact, there and back


@pytest.mark.parametrize(
    "file, was, now, there, back",
    [
        (
            PANTRY,
            "contains: [wheat, sesame]",
            "contains: [wheat, egg]",
            [
                (
                    "Seeded crisp: its label says it contains wheat and egg; before: wheat and sesame",
                    "wheat and sesame",
                    "wheat and egg",
                    False,
                )
            ],
            [
                (
                    "Seeded crisp: its label says it contains wheat and sesame; before: wheat and egg",
                    "wheat and egg",
                    "wheat and sesame",
                    False,
                )
            ],
        ),
        (
            PANTRY,
            "may_contain: [milk]",
            "may_contain: [milk, soy]",
            [("Seeded crisp: its label says it may contain milk and soy; before: milk", "milk", "milk and soy", False)],
            [("Seeded crisp: its label says it may contain milk; before: milk and soy", "milk and soy", "milk", False)],
        ),
        (
            PANTRY,
            "may_contain: [milk]",
            "may_contain: [milk], sulphites: 2 mg/kg",
            [("Seeded crisp: sulphites on its label: 2 mg/kg; before: not stated", None, "2 mg/kg", False)],
            [("Seeded crisp: sulphites on its label: not stated; before: 2 mg/kg", "2 mg/kg", None, False)],
        ),
        (
            PANTRY,
            ", label: {read: 2026-01-02, contains: [wheat, sesame], may_contain: [milk]}",
            "",
            [("Seeded crisp: its label is no longer entered", "read 2026-01-02", None, False)],
            [("Seeded crisp: its label was entered (read 2026-01-02)", None, "read 2026-01-02", False)],
        ),
        (
            PANTRY,
            "called: Seeded crisp,",
            "called: Seeded crisp, supplier: The Mill, code: M1, piece: 6 g, density: 0.5,",
            [
                ("Seeded crisp: supplier: The Mill; before: not stated", None, "The Mill", False),
                ("Seeded crisp: code: M1; before: not stated", None, "M1", False),
                ("Seeded crisp: density: 0.5; before: not stated", None, "0.5", False),
                ("Seeded crisp: grams of one piece: 6; before: not stated", None, "6", False),
            ],
            [
                ("Seeded crisp: supplier: not stated; before: The Mill", "The Mill", None, False),
                ("Seeded crisp: code: not stated; before: M1", "M1", None, False),
                ("Seeded crisp: density: not stated; before: 0.5", "0.5", None, False),
                ("Seeded crisp: grams of one piece: not stated; before: 6", "6", None, False),
            ],
        ),
        (
            OIL,
            "  - {ingredient: dill, amount: 40 g}\n",
            "  - {ingredient: dill, amount: 40 g, note: chopped}\n",
            [("Dill oil: dill: the note is 'chopped'; before: nothing", None, "chopped", False)],
            [("Dill oil: dill: the note is nothing; before: 'chopped'", "chopped", None, False)],
        ),
        (
            OIL,
            "  - {ingredient: dill, amount: 40 g}\n",
            "  - {ingredient: dill, amount: 40 g, trim_yield: 80 %}\n",
            [("Dill oil: of dill 80 % is left after trimming; before: not stated", None, "80 %", False)],
            [("Dill oil: of dill an unstated share is left after trimming; before: 80 %", "80 %", None, False)],
        ),
        (
            OIL,
            "  - {ingredient: dill, amount: 40 g}\n",
            "  - {ingredient: dill, amount: 60 g}\n",
            [("Dill oil: dill, 50 % more: 60 g, before 40 g", "40 g", "60 g", False)],
            [("Dill oil: dill, 33 % less: 40 g, before 60 g", "60 g", "40 g", False)],
        ),
        (
            OIL,
            "  - {ingredient: dill, amount: 40 g}\n",
            "  - {ingredient: dill, amount: 1 bunch}\n",
            [("Dill oil: dill, 1 bunch, before 40 g", "40 g", "1 bunch", False)],
            [("Dill oil: dill, 40 g, before 1 bunch", "1 bunch", "40 g", False)],
        ),
        (
            OIL,
            "  - {ingredient: dill, amount: 40 g}\n",
            "  - {ingredient: dill, amount: to taste}\n",
            [("Dill oil: dill, to taste, before 40 g", "40 g", "to taste", False)],
            [("Dill oil: dill, 40 g, before to taste", "to taste", "40 g", False)],
        ),
        (
            OIL,
            "makes: 200 g",
            "makes: 200 g\nleft_behind: 10 %",
            [("Dill oil: 10 % stays behind; before: 0 %", "0 %", "10 %", False)],
            [("Dill oil: 0 % stays behind; before: 10 %", "10 %", "0 %", False)],
        ),
        (
            OIL,
            "makes: 200 g",
            "makes: 2 l",
            [("Dill oil: makes 2 l; before 200 g", "200 g", "2 l", False)],
            [("Dill oil: makes 200 g; before 2 l", "2 l", "200 g", False)],
        ),
        (
            OIL,
            "makes: 200 g",
            "makes: 200 g\nkeeps: 2 days",
            [("Dill oil: it keeps: 2 days; before: not stated", None, "2 days", False)],
            [("Dill oil: it keeps: not stated; before: 2 days", "2 days", None, False)],
        ),
        (
            OIL,
            "makes: 200 g",
            "makes: 200 g\nmethod: [Blend it, Strain it]",
            [("Dill oil: the method now says: Blend it / Strain it", None, "Blend it Strain it", False)],
            [("Dill oil: no longer: Blend it / Strain it", "Blend it Strain it", None, False)],
        ),
        (
            SMOKED,
            "equipment: smoker",
            "equipment: [smoker, fryer]",
            [("Smoked beetroot: now on fryer", "smoker", "fryer and smoker", False)],
            [("Smoked beetroot: no longer on fryer", "fryer and smoker", "smoker", False)],
        ),
        (
            SMOKED,
            "  - {recipe: dill-oil, amount: 20 g}\n",
            "",
            [("Smoked beetroot: 20 g dill oil is gone", "20 g dill oil", None, True)],
            [("Smoked beetroot: 20 g dill oil came in", None, "20 g dill oil", False)],
        ),
        (
            SPEC,
            "size: 30 x 10 mm, weight: 6 g}, on: oil",
            "size: 30 x 10 mm, weight: 6 g}, on: beetroot",
            [("crisp: on beetroot; before: on oil", "on oil", "on beetroot", False)],
            [("crisp: on oil; before: on beetroot", "on beetroot", "on oil", False)],
        ),
        (
            SPEC,
            "station: larder",
            "station: sauce",
            [("beetroot: its station is 'sauce'; before: 'larder'", "larder", "sauce", False)],
            [("beetroot: its station is 'larder'; before: 'sauce'", "sauce", "larder", False)],
        ),
        (
            SPEC,
            "{ingredient: dill}",
            "{ingredient: dill, may_be_left_off: true}",
            [("dill may now be left off for a guest", None, "may be left off", False)],
            [("dill may no longer be left off for a guest", "may be left off", None, False)],
        ),
        (
            SPEC,
            "{ingredient: dill}",
            "{ingredient: dill, note: picked small}",
            [("dill: its note is 'picked small'; before: nothing", None, "picked small", False)],
            [("dill: its note is nothing; before: 'picked small'", "picked small", None, False)],
        ),
        (
            SPEC,
            "{recipe: smoked-beetroot, station: larder}",
            "{recipe: smoked-beetroot, station: larder, called: Beets}",
            [("Beets: its name on the card is 'Beets'; before: 'beetroot'", "beetroot", "Beets", False)],
            [("beetroot: its name on the card is 'beetroot'; before: 'Beets'", "Beets", "beetroot", False)],
        ),
        (
            SPEC,
            "{product: seeded-crisp}",
            "{product: seeded-crisp, swap: {avoiding: [wheat], use: {ingredient: potato}}}",
            [
                (
                    "crisp: what may take its place is 'potato for guests who avoid wheat'; before: nothing",
                    None,
                    "potato for guests who avoid wheat",
                    False,
                )
            ],
            [
                (
                    "crisp: what may take its place is nothing; before: 'potato for guests who avoid wheat'",
                    "potato for guests who avoid wheat",
                    None,
                    False,
                )
            ],
        ),
        (
            SPEC,
            "arrange: ring, out: 50 mm",
            "arrange: ring, out: 50 mm, facing: outwards",
            [("beetroot: points outwards; before: none stated", None, "points outwards", False)],
            [("beetroot: no way to face; before: points outwards", "points outwards", None, False)],
        ),
        (
            SPEC,
            "arrange: pool, across: 50 mm",
            "arrange: pool, across: 60 mm",
            [("oil: 60 mm across; before: 50 mm", "50 mm", "60 mm", False)],
            [("oil: 50 mm across; before: 60 mm", "60 mm", "50 mm", False)],
        ),
        (
            SPEC,
            "on: oil}",
            "on: oil, note: upright}",
            [("crisp: the note to the cook is 'upright'; before: nothing", None, "upright", False)],
            [("crisp: the note to the cook is nothing; before: 'upright'", "upright", None, False)],
        ),
        (
            SPEC,
            "{shape: disc, size: 30 mm, weight: 12 g}",
            "{shape: disc, size: 30 mm, height: 8 mm, weight: 12 g}",
            [("beetroot: disc, 30 mm, 8 mm high; before: disc, 30 mm", "disc, 30 mm", "disc, 30 mm, 8 mm high", False)],
            [("beetroot: disc, 30 mm; before: disc, 30 mm, 8 mm high", "disc, 30 mm, 8 mm high", "disc, 30 mm", False)],
        ),
        (
            SPEC,
            "{shape: disc, size: 30 mm, weight: 12 g}",
            "{shape: cube, size: 28 mm, weight: 12 g}",
            [("beetroot: cube, 28 mm; before: disc, 30 mm", "disc, 30 mm", "cube, 28 mm", False)],
            [("beetroot: disc, 30 mm; before: cube, 28 mm", "cube, 28 mm", "disc, 30 mm", False)],
        ),
        (
            SPEC,
            "plate: wide\n",
            "plate: wide\nmenu_line: Beetroot and oil\ncourse: starter\n",
            [
                ("the menu says 'Beetroot and oil'; before: nothing", None, "Beetroot and oil", False),
                ("its course is 'starter'; before: nothing", None, "starter", False),
            ],
            [
                ("the menu says nothing; before: 'Beetroot and oil'", "Beetroot and oil", None, False),
                ("its course is nothing; before: 'starter'", "starter", None, False),
            ],
        ),
        (
            SPEC,
            "put: oil, amount: 4 g",
            "put: oil, amount: 1 tbsp",
            [
                ("oil: 1 tbsp, before 4 g", "4 g", "1 tbsp", False),
                ("oil: weight not known on the plate; before: 4 g", 4, None, False),
            ],
            [
                ("oil: 4 g, before 1 tbsp", "1 tbsp", "4 g", False),
                ("oil: 4 g on the plate; before: weight not known", None, 4, False),
            ],
        ),
        (
            SPEC,
            "plate: wide\n",
            "plate: wide\nserve: {plate: chilled, food: hot}\n",
            [
                ("chilled plate; before: not stated", None, "chilled", False),
                ("food hot; before: not stated", None, "hot", False),
            ],
            [
                ("plate temperature not stated; before: chilled plate", "chilled", None, False),
                ("food temperature not stated; before: food hot", "hot", None, False),
            ],
        ),
        (
            SPEC,
            "count: 3, piece: {shape: disc",
            "count: 2, piece: {shape: disc",
            [
                ("beetroot: 2, down from 3", 3, 2, False),
                (
                    "beetroot: 1 of 2 moved, up to 50 mm, their middle 25 mm towards 8:00",
                    "at 2:00, 25 mm out",
                    "in the centre",
                    False,
                ),
                (
                    "dill: 2 of 3 moved, up to 53 mm, their middle 16 mm towards 6:15 (it is written as before;"
                    " what it goes by has changed)",
                    "in the centre",
                    "at 6:15, 16 mm out",
                    False,
                ),
                ("beetroot: 24 g on the plate, 33 % less; before: 36 g", 36, 24, False),
            ],
            [
                ("beetroot: 3, up from 2", 2, 3, False),
                (
                    "beetroot: 1 of 2 moved, up to 50 mm, their middle 25 mm towards 2:00",
                    "in the centre",
                    "at 2:00, 25 mm out",
                    False,
                ),
                (
                    "dill: 2 of 3 moved, up to 53 mm, their middle 16 mm towards 12:15 (it is written as before;"
                    " what it goes by has changed)",
                    "at 6:15, 16 mm out",
                    "in the centre",
                    False,
                ),
                ("beetroot: 36 g on the plate, 50 % more; before: 24 g", 24, 36, False),
            ],
        ),
        (
            SPEC,
            "on: beetroot}\n",
            "on: beetroot}\n  - {put: oil, count: 2, piece: {shape: dot, size: 5 mm, weight: 0.2 g},"
            " arrange: ring, out: 80 mm}\n",
            [
                ("oil: one more move, dots 5 mm, 0.2 g each, in a ring, 80 mm out", None, 2, False),
                ("oil: 4.4 g on the plate, 10 % more; before: 4 g", 4, 4.4, False),
            ],
            [
                ("oil: no longer 2 dots 5 mm, 0.2 g each, in a ring, 80 mm out", 2, None, True),
                ("oil: 4 g on the plate, 9.1 % less; before: 4.4 g", 4.4, 4, False),
            ],
        ),
        (
            SPEC,
            "  dill: {ingredient: dill}",
            "  dill: {ingredient: parsley}",
            [
                (
                    "dill is now ingredient parsley, in place of ingredient dill",
                    "ingredient dill",
                    "ingredient parsley",
                    False,
                )
            ],
            [
                (
                    "dill is now ingredient dill, in place of ingredient parsley",
                    "ingredient parsley",
                    "ingredient dill",
                    False,
                )
            ],
        ),
        (
            SPEC,
            "out: 50 mm",
            "out: 45 mm",
            [
                (
                    "beetroot: all 3 moved, up to 5 mm; now in a ring, 45 mm out; before in a ring, 50 mm out",
                    "in a ring, 50 mm out",
                    "in a ring, 45 mm out",
                    False,
                ),
                (
                    "dill: all 3 moved, up to 5 mm (it is written as before; what it goes by has changed)",
                    "in the centre",
                    "in the centre",
                    False,
                ),
            ],
            [
                (
                    "beetroot: all 3 moved, up to 5 mm; now in a ring, 50 mm out; before in a ring, 45 mm out",
                    "in a ring, 45 mm out",
                    "in a ring, 50 mm out",
                    False,
                ),
                (
                    "dill: all 3 moved, up to 5 mm (it is written as before; what it goes by has changed)",
                    "in the centre",
                    "in the centre",
                    False,
                ),
            ],
        ),
    ],
)
def test_a_cook_is_told_the_new_fact_as_new_and_the_old_as_old(file, was, now, there, back):
    """What is told (words, old value, new value, whether it stands in the old text) of one edit, and of undoing it."""
    old, new = changed(), changed((file, was, now))
    for before, after, expected in ((old, new, there), (new, old, back)):
        told = [c for c in dishes.compare(before, after).changes if c.kind not in ("allergen", "guest", "caution")]
        assert [(c.words, c.old, c.new, c.in_old) for c in told] == expected
        assert all(c.severity == CHANGED and c.span is not None for c in told)
        assert {c.span.file for c in told} <= {file, "specs/asked.yaml"}


def test_a_caution_that_came_in_is_worse_and_one_that_is_gone_is_better():
    old, new = changed(), changed((OIL, "makes: 200 g", "makes: 200 g\nkeeps: 2 days"))
    assert [(c.words, c.old, c.new, c.severity) for c in changes(old, new, "caution")] == [
        ("new caution, Made ahead: Dill oil, 2 days", None, "Dill oil, 2 days", WORSE),
        ("new caution, Made ahead: oil, 2 days", None, "oil, 2 days", WORSE),
    ]
    assert [(c.words, c.old, c.new, c.severity, c.in_old) for c in changes(new, old, "caution")] == [
        ("no longer among the cautions, Made ahead: Dill oil, 2 days", "Dill oil, 2 days", None, BETTER, True),
        ("no longer among the cautions, Made ahead: oil, 2 days", "oil, 2 days", None, BETTER, True),
    ]
    longer = changed((OIL, "makes: 200 g", "makes: 200 g\nkeeps: 3 days"))
    assert "caution, Made ahead: Dill oil, 3 days; before: Dill oil, 2 days" in said(new, longer, "caution")


def test_a_piece_whose_weight_is_no_longer_said():
    there, back = both_ways(changed(), changed((SPEC, "size: 30 mm, weight: 12 g", "size: 30 mm")), "weight")
    assert there == [
        "beetroot: its weight is no longer stated; before: 12 g each",
        "beetroot: weight not known on the plate; before: 36 g",
    ]
    assert back == [
        "beetroot: 12 g each; before: not stated",
        "beetroot: 36 g on the plate; before: weight not known",
    ]


def test_not_established_is_no_better_for_a_guest_than_cannot_be_served():
    known = LIBRARY[PANTRY].replace("contains: [wheat, sesame]", "contains: [wheat, sesame, egg]")
    unread = "products:\n  seeded-crisp: {called: Seeded crisp}\n"
    old, new = (prepared(BEETROOT, {PANTRY: pantry}) for pantry in (known, unread))
    for before, after in ((old, new), (new, old)):
        (egg,) = [c for c in changes(before, after, "guest") if c.what == "egg"]
        assert {egg.old, egg.new} == {"cannot be served", "not established"} and egg.severity == CHANGED
