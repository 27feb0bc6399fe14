"""What a cook would go on doing as before if a comparison passed over it: heat, holding, pieces, proportions, order.

The values told are held, there and back; the wording only where it says which way something went.
"""

from __future__ import annotations

import pytest

from platecard.diff import dishes
from platecard.diff.change import ALARM, BETTER, CHANGED, KINDS, WORSE
from tests.diff.test_compare_kitchen import EU, changed, changes, finished
from tests.kitchens import BEETROOT, KITCHEN, OIL, PANTRY, PLATES, SMOKED, SPEC, poured, prepared

DILL = "  - {ingredient: dill, amount: 40 g}\n"


def told(old, new, *kinds: str) -> list[tuple]:
    """(key, old value, new value, whether it stands in the old text) of the changes of these kinds."""
    return [(c.what, c.old, c.new, c.in_old) for c in dishes.compare(old, new).changes if c.kind in kinds]


# --------------------------------------------------------------------------- how food is treated


@pytest.mark.parametrize(
    "was, now, before, after",
    [
        ("", "core: 74 °C", None, "74 °C"),
        ("core: 74 °C", "core: 63 °C", "74 °C", "63 °C"),
        (
            "core: {reaches: 60 °C, for: 45 min}",
            "core: {reaches: 60 °C, for: 5 min}",
            "60 °C for 45 min",
            "60 °C for 5 min",
        ),
        ("held: {at: 63 °C, up_to: 2 h}", "held: {at: 50 °C, up_to: 2 h}", "63 °C up to 2 h", "50 °C up to 2 h"),
        ("held: {at: 63 °C, up_to: 2 h}", "held: {at: 63 °C, up_to: 4 h}", "63 °C up to 2 h", "63 °C up to 4 h"),
        ("held: {at: 63-70 °C}", "held: {at: 63-65 °C}", "63 to 70 °C", "63 to 65 °C"),
        ("held: {at: 63 °C}", "", "63 °C", None),
        ("state: cooked", "state: raw", "cooked", "raw"),
        ("state: raw", "", "raw", None),
        ("process: [smoked]", "process: [smoked, vacuum]", "smoked", "smoked and vacuum"),
        ("cooled: true", "", "yes", None),
        ("foraged: true", "", "yes", None),
        (
            "freezing_record: {at: -20 °C, for: 24 h}",
            "freezing_record: {at: -18 °C, for: 24 h}",
            "-20 °C for 24 h",
            "-18 °C for 24 h",
        ),
        ("freezing_record: the log", "freezing_record: {exempt: farmed}", "the log", "farmed"),
    ],
)
def test_a_treatment_that_changed_is_told_wherever_it_is_written(was, now, before, after):
    """Of a component it stands with the cautions, of a recipe or one line of it with the recipe."""

    def of_recipe(said: str):
        return changed((OIL, "makes: 200 g\n", f"makes: 200 g\n{said}\n"))

    def of_line(said: str):
        return changed((OIL, DILL, DILL.replace("}", f", {said}}}") if said else DILL.replace("40 g", "40.0 g")))

    def of_part(said: str):
        return changed((SPEC, "{ingredient: dill}", f"{{ingredient: dill, {said}}}" if said else "{ingredient:  dill}"))

    for made, kind, key in (
        (of_recipe, "recipe", "dill-oil"),
        (of_line, "recipe", "dill-oil"),
        (of_part, "caution", "dill"),
    ):
        if made is of_line and "held" in was + now:
            continue  # one line of a recipe is not held for the plate
        old, new = made(was), made(now)
        for a, b, one, other in ((old, new, before, after), (new, old, after, before)):
            found = [(c.old, c.new, c.in_old, c.severity) for c in changes(a, b, kind) if c.what == key]
            assert (one, other, False, CHANGED) in found, made.__name__


def test_a_treatment_that_is_as_it_was_is_no_change():
    one = changed((OIL, "makes: 200 g\n", "makes: 200 g\ncore: {reaches: 60 °C, for: 45 min}\n"))
    other = changed((OIL, "makes: 200 g\n", "makes: 200 g\ncore: {reaches: 140 °F, for: 2700 s}\n"))
    assert [c for c in dishes.compare(one, other).changes if c.kind != "caution"] == []


# --------------------------------------------------------------------------- pieces and amounts


def test_what_was_poured_and_is_now_put_in_pieces():
    pool, dots = "amount: 4 g, arrange: pool, across: 50 mm", "piece: {shape: disc, size: 50 mm, weight: 4 g}"
    old, new = changed(), changed((SPEC, pool, dots))
    (size, across) = told(old, new, "size")
    assert size[:1] + size[3:] == ("oil", False) and size[1] is None and size[2] == "disc, 50 mm"
    assert across == ("oil", "50 mm", None, False)
    assert ("oil", "4 g", None, False) in told(old, new, "weight")
    (size, across) = told(new, old, "size")
    assert size[2] is None and size[1] == "disc, 50 mm" and across == ("oil", None, "50 mm", False)
    assert ("oil", None, "4 g", False) in told(new, old, "weight")


@pytest.mark.parametrize(
    "was, now, is_told",
    [
        # As a cook weighs it: to 0.1 g below 10 g, to 1 g below 100 g, to 5 g above.
        ("4 g", "4.04 g", False),
        ("4 g", "4.06 g", True),
        ("4 g", "0.004 kg", False),
        ("4-5 g", "4-5.04 g", False),
        ("4-5 g", "4-6 g", True),
        ("4-5 g", "3-5 g", True),
        ("4 g", "4-5 g", True),
        ("4 ml", "4 g", True),
    ],
)
def test_a_pour_that_a_cook_would_weigh_alike_is_no_change(was, now, is_told):
    old, new = (changed((SPEC, "put: oil, amount: 4 g", f"put: oil, amount: {said}")) for said in (was, now))
    for a, b, one, other in ((old, new, was, now), (new, old, now, was)):
        assert (("oil", one, other, False) in told(a, b, "weight")) is is_told


@pytest.mark.parametrize(
    "was, now, says",
    [
        ("10 g", "11 g", "10 % more"),
        ("10 g", "10.5 g", "5 % more"),
        ("200 g", "205 g", "2.5 % more"),
        ("11 g", "10 g", "9.1 % less"),
        ("20 g", "10 g", "50 % less"),
        ("20 g", "0.03 kg", "50 % more"),
        ("10 g", "20 ml", ""),
    ],
)
def test_by_how_much_a_pour_grew_is_said_and_of_what_cannot_be_compared_nothing(was, now, says):
    old, new = (changed((SPEC, "put: oil, amount: 4 g", f"put: oil, amount: {said}")) for said in (was, now))
    (words,) = [c.words for c in changes(old, new, "weight") if (c.old, c.new) == (was, now)]
    assert says in words and ("%" in words) is bool(says)


# --------------------------------------------------------------------------- recipes


@pytest.mark.parametrize(
    "made, oil, dill, is_one_change",
    [
        ("400 g", "380 g", "80 g", True),
        # Half a hundredth off is the same on any kitchen scale, and more is another recipe.
        ("400 g", "381.9 g", "80 g", True),
        ("400 g", "382 g", "80 g", False),
        ("400 g", "378 g", "80 g", False),
        ("100 g", "95 g", "20 g", True),
        ("400 g", "380 g", "80 ml", False),
        ("400 g", "380 g", "to taste", False),
        ("2 l", "380 g", "80 g", False),
    ],
)
def test_a_batch_that_grew_as_a_whole_is_told_once(made, oil, dill, is_one_change):
    new = changed((OIL, "makes: 200 g", f"makes: {made}"), (OIL, "190 g", oil), (OIL, "40 g", dill))
    for a, b, one, other in ((changed(), new, "200 g", made), (new, changed(), made, "200 g")):
        found = told(a, b, "recipe")
        assert ("dill-oil", one, other, False) in found and (len(found) == 1) is is_one_change


def test_what_is_to_taste_before_and_after_grows_with_its_batch():
    salted = DILL + "  - {ingredient: salt, amount: to taste}\n"
    old = changed((OIL, DILL, salted))
    more = ((OIL, "makes: 200 g", "makes: 400 g"), (OIL, "190 g", "380 g"))
    new = changed((OIL, DILL, salted.replace("40 g", "80 g")), *more)
    assert told(old, new, "recipe") == [("dill-oil", "200 g", "400 g", False)]
    needed = changed((OIL, DILL, salted.replace("40 g", "80 g").replace("to taste", "as needed")), *more)
    assert ("dill-oil", "to taste", "as needed", False) in told(old, needed, "recipe")
    gone = changed((OIL, DILL, DILL.replace("40 g", "80 g")), *more)
    assert ("dill-oil", "to taste salt", None, True) in told(old, gone, "recipe")
    assert ("dill-oil", "200 g", "400 g", False) in told(old, gone, "recipe")


def test_two_lines_of_one_ingredient_are_paired_in_their_order():
    old = changed((OIL, DILL, DILL + DILL.replace("40 g", "10 g")))
    new = changed((OIL, DILL, DILL + DILL.replace("40 g", "15 g")))
    assert told(old, new, "recipe") == [("dill-oil", "10 g", "15 g", False)]
    assert told(old, changed(), "recipe") == [("dill-oil", "10 g dill", None, True)]


def test_steps_of_a_method_that_are_gone_new_or_in_another_order():
    def method(*steps: str):
        return changed((OIL, "makes: 200 g\n", f"makes: 200 g\nmethod: [{', '.join(steps)}]\n"))

    (turned,) = changes(method("Blend", "Strain"), method("Strain", "Blend"), "recipe")
    assert (turned.old, turned.new) == ("Blend Strain", "Strain Blend") and "order" in turned.words
    (gone,) = changes(method("Blend", "Strain"), method("Blend"), "recipe")
    assert "no longer: Strain" in gone.words and "Blend" not in gone.words
    (other,) = changes(method("Blend", "Strain"), method("Blend", "Sieve"), "recipe")
    assert "now says: Sieve" in other.words and "before: Strain" in other.words


def test_oil_that_is_used_again_and_a_recipe_that_takes_up_water():
    kept = DILL.replace("}", ", stays: 50 %}")
    old = changed((OIL, DILL, kept))
    new = changed((OIL, DILL, kept.replace("}", ", reused: true}")))
    (there,), (back,) = changes(old, new, "recipe"), changes(new, old, "recipe")
    assert (there.old, there.new) == ("no", "yes") and " not " not in there.words and " not " in back.words
    wet = changed((OIL, "makes: 200 g", "makes: 200 g\ntakes_up_water: true"))
    assert told(changed(), wet, "recipe") == [("dill-oil", "no", "yes", False)]


def test_equipment_in_another_order_is_the_same_equipment():
    one = changed((SMOKED, "equipment: smoker", "equipment: [smoker, fryer]"))
    other = changed((SMOKED, "equipment: smoker", "equipment: [fryer, smoker]"))
    assert told(one, other, "equipment") == []
    assert told(one, changed((SMOKED, "equipment: smoker\n", "")), "equipment") == [
        ("smoked-beetroot", "fryer and smoker", None, False)
    ]


# --------------------------------------------------------------------------- products


def test_a_label_in_another_order_says_the_same_and_another_text_does_not():
    def label(said: str):
        return changed((PANTRY, "contains: [wheat, sesame]", said))

    assert told(changed(), label("contains: [sesame, wheat]"), "product") == []
    one, other = (label(f"contains: [wheat, sesame], text: '{t}'") for t in ("wheat flour, sesame", "wheat, sesame"))
    assert told(one, other, "product") == [("seeded-crisp", "wheat flour, sesame", "wheat, sesame", False)]
    assert told(one, changed(), "product") == [("seeded-crisp", "wheat flour, sesame", None, False)]


def test_other_names_of_a_product_and_what_it_is():
    def product(said: str):
        return changed((PANTRY, "called: Seeded crisp,", f"called: Seeded crisp, {said},"))

    assert told(changed(), product("also: [Cracker, Snap]"), "product") == [
        ("seeded-crisp", None, "Cracker, Snap", False)
    ]
    assert told(product("also: [Cracker, Snap]"), product("also: [Snap]"), "product") == [
        ("seeded-crisp", "Cracker, Snap", "Snap", False)
    ]
    assert told(changed(), product("is: potato"), "product") == [("seeded-crisp", None, "potato", False)]
    for old, new, words in (
        (changed(), product("also: [Snap]"), "other names: Snap; before: nothing"),
        (product("also: [Snap]"), changed(), "other names: nothing; before: Snap"),
        (product("also: [Snap]"), product("also: [Crack]"), "other names: Crack; before: Snap"),
    ):
        assert [c.words for c in dishes.compare(old, new).changes if c.kind == "product"] == [f"Seeded crisp: {words}"]


# --------------------------------------------------------------------------- the service


def test_what_a_finishing_step_waits_for_and_how_it_is_done():
    season = "{do: season, takes: 5 s}"
    old = finished(season, "{do: fry, takes: 20 s}")
    for said, values in (
        ("after: season", (None, "season")),
        ("after: []", (None, "nothing")),
        ("core: 70 °C", (None, "70 °C")),
        ("ready_before: 30 s", (None, "30 s")),
        ("rest: true", (None, "yes")),
        ("ahead: true", (None, "yes")),
        ("together: true", (None, "yes")),
        ("turn: once", (None, "once")),
        ("note: in clean oil", (None, "in clean oil")),
    ):
        new = finished(season, f"{{do: fry, takes: 20 s, {said}}}")
        assert ("dill.fry", *values, False) in told(old, new, "timing"), said
        assert ("dill.fry", *values[::-1], False) in told(new, old, "timing"), said


def test_a_component_renamed_keeps_what_its_steps_wait_for():
    steps = "{do: season, takes: 5 s}", "{do: fry, takes: 20 s, after: dill.season}"
    old = finished(*steps)
    text = BEETROOT.replace("{ingredient: dill}", f"{{ingredient: dill, finish: [{', '.join(steps)}]}}")
    text = (
        text.replace("  dill: {", "  herb: {").replace("put: dill", "put: herb").replace("dill.season", "herb.season")
    )
    new = prepared(text)
    assert [c.words for c in dishes.compare(old, new).changes if c.kind == "timing" and "waits" in c.words] == []
    assert told(old, new, "component") == [("herb", "dill", "herb", False)]


def test_the_whole_chain_is_told_where_it_is_longer_than_what_is_fired():
    ahead = "{do: dry, takes: %s, ahead: true}, {do: fry, takes: 20 s}"
    old, new = finished(ahead % "10 min"), finished(ahead % "15 min")
    assert ("ahead", 620, 920, False) in told(old, new, "timing")
    assert not any(what == "fire" for what, *_ in told(old, new, "timing"))
    once, twice = finished("{do: fry, takes: 20 s}"), finished("{do: fry, takes: 40 s}")
    assert ("fire", 20, 40, False) in told(once, twice, "timing")
    assert not any(what == "ahead" for what, *_ in told(once, twice, "timing")), "told once"


def test_the_temperature_of_the_plate_and_of_the_food_each_by_itself():
    def served(plate: str):
        return changed((SPEC, "plate: wide\n", f"plate: wide\nserve: {{plate: {plate}, food: hot}}\n"))

    hot, cold = served("hot"), served("chilled")
    assert told(hot, cold, "serve") == [("plate", "hot", "chilled", False)]
    assert told(hot, changed(), "serve") == [("plate", "hot", None, False), ("food", "hot", None, False)]


def test_each_measure_of_the_plate_is_told_and_none_that_stayed():
    rim = "outer: 280 mm, well: 200 mm"
    for said, value in (("depth: 20 mm", "20 mm"), ("colour: white", "white")):
        new = changed((PLATES, rim, f"{rim}, {said}"))
        found = told(changed(), new, "plate")
        assert found == [("plate", None, value, False)] and told(new, changed(), "plate") == [
            ("plate", value, None, False)
        ], said
    assert told(changed(), changed((PLATES, rim, "outer: 280 mm, well: 190 mm")), "plate") == [
        ("plate", "200 mm", "190 mm", False)
    ]


def test_a_caution_is_worse_where_more_is_missing_and_better_where_less_is():
    def beef(said: str):
        return changed(
            (SMOKED, "{ingredient: beetroot, amount", "{ingredient: beef fillet, amount"),
            (SMOKED, "makes: 400 g", f"makes: 400 g\nheld: {{{said}}}"),
        )

    old, new = beef("at: 50 °C, up_to: 1 h"), beef("at: 50 °C")
    held = [c for c in changes(old, new, "caution") if c.severity == "worse"]
    back = [c for c in changes(new, old, "caution") if c.severity == "better"]
    assert held and back and {c.what for c in held} == {c.what for c in back} == {"beetroot"}
    same = [c for c in changes(old, beef("at: 50 °C, up_to: 2 h"), "caution") if "1 h" in str(c.old)]
    assert same and {c.severity for c in same} == {CHANGED}


def test_the_kinds_come_in_the_order_in_which_a_chef_is_told_them():
    new = changed(
        (SPEC, "dish: Smoked", "dish: Baked"),
        (SPEC, "count: 3, piece: {shape: disc", "count: 2, piece: {shape: disc"),
        (PANTRY, "contains: [wheat, sesame]", "contains: [wheat, sesame, egg]"),
        (OIL, "40 g", "60 g"),
        (KITCHEN, "laws: [eu, us]", "laws: [eu, us, ca]"),
    )
    found = dishes.compare(changed(), new).changes
    kinds = [c.kind for c in found]
    assert {"law", "allergen", "guest", "count", "recipe", "product", "text"} <= set(kinds)
    assert kinds == sorted(kinds, key=KINDS.index)
    rows = [c.severity == "alarm" for c in found if c.kind == "allergen"]
    assert rows == sorted(rows, reverse=True) and True in rows


# --------------------------------------------------------------------------- what a declaration does not tell apart


def fish(*parts: str):
    """Trout that may hold cod, under a law that declares fish as one, with further parts before it or after it."""
    blend = "products:\n  blend: {called: Blend, label: {read: 2026-01-02, contains: [trout], may_contain: [cod]}}\n"
    spec = poured({f"c{i}": f"{{{part}}}" for i, part in enumerate(parts)})
    return prepared(spec, {PANTRY: blend, KITCHEN: EU})


@pytest.mark.parametrize("parts", [("ingredient: cod", "product: blend"), ("product: blend", "ingredient: cod")])
def test_cod_that_came_in_is_not_hidden_by_cod_that_may_have_been_there_all_along(parts):
    plain = tuple(part.replace("cod", "beetroot") for part in parts)
    for old, new, values, severity in (
        (plain, parts, ("may_contain", "contains"), ALARM),
        (parts, plain, ("contains", "may_contain"), CHANGED),
    ):
        (cod,) = [c for c in changes(fish(*old), fish(*new), "allergen") if c.what == "cod"]
        assert (cod.old, cod.new, cod.severity) == (*values, severity)
    assert [c for c in changes(fish(*parts), fish(*parts[::-1]), "allergen") if c.what == "cod"] == []


def test_a_form_that_the_law_exempts_comes_in_without_alarm_and_silences_nothing_else():
    """Refined soya oil is exempt in the European Union; a cod beside a trout is not."""

    def of(*names: str):
        return prepared(poured({f"c{i}": f"{{ingredient: {n}}}" for i, n in enumerate(names)}), {KITCHEN: EU})

    soy = "refined soybean oil"
    (one,) = [c for c in changes(of("trout", "beetroot"), of("trout", soy), "allergen") if "soy" in c.what]
    assert (one.severity, one.law) == (WORSE, None)
    (cod,) = [c for c in changes(of("trout", "beetroot", soy), of("trout", "cod", soy), "allergen")]
    assert (cod.what, cod.severity) == ("cod", ALARM)


def test_what_the_laws_have_told_is_not_told_again_beneath_them():
    old, new = (prepared(poured({"a": f"{{ingredient: {n}}}"})) for n in ("beetroot", "egg yolk"))
    for a, b in ((old, new), (new, old)):
        assert [(c.what, c.law) for c in changes(a, b, "allergen")] == [("egg", "eu"), ("egg", "us")]


def test_one_fish_for_another_under_a_law_that_declares_fish_is_told_both_ways():
    """What came in is an alarm and what went is gone, though the law declares fish before and after."""
    old, new = (prepared(poured({"a": f"{{ingredient: {n}}}"}), {KITCHEN: EU}) for n in ("trout", "cod"))
    for a, b, came, went in ((old, new, "cod", "trout"), (new, old, "trout", "cod")):
        told = {c.what: c.severity for c in changes(a, b, "allergen")}
        assert told[came] == ALARM and told[went] == BETTER


def test_what_lies_on_a_part_is_said_with_the_name_that_the_part_has_in_that_revision():
    """A part that was called Beets and is called Roots: where the crisp lay and lies goes by both names."""

    def called(name: str, below: str):
        return changed(
            (SPEC, "station: larder", f"station: larder, called: {name}"),
            (SPEC, "{recipe: dill-oil}", f"{{recipe: dill-oil, called: Oil of {name}}}"),
            (SPEC, "weight: 6 g}, on: oil", f"weight: 6 g}}, on: {below}"),
        )

    one, other = called("Beets", "oil"), called("Roots", "beetroot")
    for a, b, values in ((one, other, ("on Oil of Beets", "on Roots")), (other, one, ("on Roots", "on Oil of Beets"))):
        (crisp,) = [c for c in changes(a, b, "position") if c.what == "crisp"]
        assert (crisp.old, crisp.new) == values


def test_a_part_that_came_in_or_is_gone_is_named_as_it_is_called_where_it_is():
    herbs = changed((SPEC, "{ingredient: dill}", "{ingredient: dill, called: Herbs}"))
    text = BEETROOT.replace("  dill: {ingredient: dill}\n", "")
    bare = prepared("".join(row for row in text.splitlines(True) if "put: dill" not in row and row != "garnish:\n"))
    assert any("Herbs" in c.words for c in changes(bare, herbs, "component"))
    for a, b in ((bare, herbs), (herbs, bare)):
        (count,) = changes(a, b, "count")
        assert "Herbs" in count.words and count.what == "dill"
        assert count.in_old is (a is herbs) and (count.old, count.new) == ((3, None) if a is herbs else (None, 3))


def test_the_order_of_plating_goes_by_the_names_of_the_new_revision():
    lines = BEETROOT.replace("{recipe: dill-oil}", "{recipe: dill-oil, called: Sauce}").splitlines(keepends=True)
    i = next(i for i, line in enumerate(lines) if "put: beetroot" in line)
    new = prepared("".join([*lines[:i], lines[i + 1], lines[i], *lines[i + 2 :]]))
    (order,) = changes(changed(), new, "order")
    assert (order.old, order.new) == ("beetroot, Sauce, crisp, dill", "Sauce, beetroot, crisp, dill")
    (order,) = changes(new, changed(), "order")
    assert (order.old, order.new) == ("oil, beetroot, crisp, dill", "beetroot, oil, crisp, dill")


def test_what_is_put_on_at_another_time():
    garnish, table = "garnish:\n  - {put: dill", "at_table:\n  - {put: dill"
    new = changed((SPEC, garnish, table))
    assert ("dill", "garnish", "at_table", False) in told(changed(), new, "order")
    assert ("dill", "at_table", "garnish", False) in told(new, changed(), "order")


def test_whatever_changed_of_a_part_is_told_by_the_name_that_it_has_now():
    """One edit after another to a part that was called Beets and is called Roots."""
    ring = "count: 3, piece: {shape: disc, size: 30 mm, weight: 12 g}, arrange: ring, out: 50 mm"

    def called(name: str, was: str = "", now: str = ""):
        return changed(
            (SPEC, "station: larder", f"station: larder, called: {name}"),
            (SPEC, ring, ring.replace(was, now) if was else ring),
        )

    for kind, was, now in (
        ("count", "count: 3", "count: 4"),
        ("position", "out: 50 mm", "out: 40 mm"),
        ("size", "size: 30 mm", "size: 34 mm"),
        ("weight", "weight: 12 g", "weight: 15 g"),
        ("facing", "out: 50 mm", "out: 50 mm, facing: outwards"),
        ("text", "out: 50 mm", "out: 50 mm, note: upright"),
    ):
        there = changes(called("Beets"), called("Roots", was, now), kind)
        back = changes(called("Roots", was, now), called("Beets"), kind)
        assert there and all(c.words.startswith("Roots: ") for c in there if c.what == "beetroot"), kind
        assert back and all(c.words.startswith("Beets: ") for c in back if c.what == "beetroot"), kind


def test_a_line_without_an_amount_came_in_or_is_gone():
    new = changed((OIL, DILL, DILL + "  - {ingredient: butter}\n"))
    assert ("dill-oil", None, "butter", False) in told(changed(), new, "recipe")
    assert ("dill-oil", "butter", None, True) in told(new, changed(), "recipe")
    amount = changed((OIL, DILL, DILL + "  - {ingredient: butter, amount: 20 g}\n"))
    assert ("dill-oil", None, "20 g", False) in told(new, amount, "recipe")
    assert ("dill-oil", "20 g", None, False) in told(amount, new, "recipe")


def test_a_plate_that_the_library_of_one_revision_lacks_is_compared_all_the_same():
    lacking = changed((PLATES, "  wide:", "  oval:"))
    for a, b in ((changed(), lacking), (lacking, changed())):
        found = dishes.compare(a, b)
        assert found.matched is not None and [c for c in found.changes if c.kind == "plate"] == []


def test_a_dish_that_became_a_draft_and_a_piece_that_may_touch_another():
    for edit, what in (
        ((SPEC, "plate: wide\n", "plate: wide\ndraft: true\n"), "dish"),
        ((SPEC, "arrange: ring, out: 50 mm", "arrange: ring, out: 50 mm, may_touch: oil"), "beetroot"),
    ):
        (there,), (back,) = (
            changes(*pair, "text") for pair in ((changed(), changed(edit)), (changed(edit), changed()))
        )
        assert there.what == back.what == what and there.old != there.new
        assert (there.old, there.new) == (back.new, back.old)
        assert "oil" not in str(there.old) and there.old != "True", "as it was before the edit"


def test_a_guest_is_told_of_what_comes_over_the_fryer_now_and_did_not_before():
    """Only the menu changed: another dish with prawns goes through the fryer of this one."""
    spec = poured({"chips": "{ingredient: potato, equipment: fryer}"})
    prawns = poured({"a": "{ingredient: shrimp, equipment: fryer}"})
    alone, beside = prepared(spec), prepared(spec, menu={"prawns": prawns})
    for old, new, severity in ((alone, beside, WORSE), (beside, alone, BETTER)):
        assert [c.severity for c in changes(old, new, "guest") if c.what == "crustacean"] == [severity]


def test_a_part_under_a_new_key_is_told_by_it_in_whatever_else_changed():
    """A dressing that was called oil: its weight, its treatment, its equipment and its time go by the new key."""
    text = BEETROOT.replace("{recipe: dill-oil}", "{recipe: dill-oil, state: raw, equipment: fryer, note: cold}")
    text = text.replace("put: oil, amount: 4 g", "put: oil, amount: 6 g")
    for was, now in (("  oil:", "  dressing:"), ("put: oil", "put: dressing"), ("on: oil", "on: dressing")):
        text = text.replace(was, now)
    there, back = dishes.compare(changed(), prepared(text)).changes, dishes.compare(prepared(text), changed()).changes
    for found, key, other in ((there, "dressing", "oil"), (back, "oil", "dressing")):
        kinds = {c.kind for c in found if c.what == key}
        assert {"component", "weight", "equipment", "text", "caution"} <= kinds, kinds
        assert not [c for c in found if c.what == other]


@pytest.mark.parametrize("first", [True, False])
def test_of_two_pours_the_one_that_is_arranged_alike_is_the_same(first):
    """Dots and a pool of one oil; one of the two is gone, and the other only grew."""
    pool = "  - {put: oil, amount: 4 g, arrange: pool, across: 50 mm}\n"
    dots = "  - {put: oil, count: 4, piece: {shape: dot, size: 5 mm, weight: 0.2 g}, arrange: ring, out: 80 mm}\n"
    both = changed((SPEC, pool, pool + dots if first else dots + pool))
    kept = changed((SPEC, pool, dots.replace("count: 4", "count: 6")))
    there, back = told(both, kept, "count"), told(kept, both, "count")
    assert ("oil", 4, 6, False) in there and ("oil", "4 g", None, True) in there
    assert ("oil", 6, 4, False) in back and ("oil", None, "4 g", False) in back
