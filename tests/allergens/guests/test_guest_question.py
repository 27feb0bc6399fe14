"""The guest's question: as it is, changed with the fewest changes, cannot, or not established.

``test_oracle.py`` compares the answers with trying every subset of changes on invented
kitchens; here each rule has its own small kitchen.
"""

from __future__ import annotations

import pytest

from platecard import pipeline
from platecard.allergens.guests.answers import NotUnderstood, understand
from platecard.reports import guest_answers
from tests.kitchens import KITCHEN, LIBRARY, PANTRY, library, poured, prepared, recipe

AS_IS, CHANGED, CANNOT, OPEN = "as_is", "changed", "cannot", "not_established"


def asked(
    avoid: str, components: dict[str, str], files: dict[str, str] | None = None, menu: dict[str, str] | None = None
):
    """The answer for one dish beside the other dishes of ``menu``; None where the spec has errors."""
    world = pipeline.world(library({**LIBRARY, **(files or {})}))
    begun = [
        pipeline.begin(text, f"specs/{key}.yaml", key, world)
        for key, text in {"asked": poured(components), **(menu or {})}.items()
    ]
    guest, problems = guest_answers.avoids(avoid, world)
    assert not problems
    [(_, answer)] = guest_answers.answer_all(tuple(begun), ("asked",), guest, world)
    return answer


def told(answer) -> tuple:
    """(answer, changes, avoided things that remain as may contain)."""
    return (
        answer.answer,
        [(c.action, c.component.key, c.swap.use.name if c.swap else None) for c in answer.changes],
        {m.avoid.said for m in answer.remaining},
    )


def label(contains: str = "", may: str = "", more: str = "") -> str:
    return f"{{read: 2026-01-02, contains: [{contains}], may_contain: [{may}]{more}}}"


def pantry(**labels: str) -> dict[str, str]:
    return {
        PANTRY: (
            "products:\n"
            + "".join(
                f"  {key.replace('_', '-')}: {{called: {key.replace('_', ' ')}{f', label: {said}' if said else ''}}}\n"
                for key, said in labels.items()
            )
        )
    }


# --------------------------------------------------------------------------- the four answers


def test_as_it_is():
    assert told(asked("milk, egg", {"carrot": "{ingredient: carrot}"})) == (AS_IS, [], set())


def test_left_off():
    plate = {"carrot": "{ingredient: carrot}", "cream": "{ingredient: double cream, may_be_left_off: true}"}
    answer = asked("milk", plate)
    assert told(answer) == (CHANGED, [("leave_off", "cream", None)], set())
    assert [c.key for c in answer.dish.components] == ["carrot"] and [s.put for s in answer.dish.steps] == ["carrot"]


def test_swapped():
    plate = {
        "carrot": "{ingredient: carrot}",
        "cream": "{ingredient: double cream, swap: {avoiding: [milk], use: {ingredient: olive oil}}}",
    }
    assert told(asked("dairy", plate)) == (CHANGED, [("swap", "cream", "olive oil")], set())


def test_cannot():
    assert told(asked("milk", {"carrot": "{ingredient: carrot}", "cream": "{ingredient: double cream}"})) == (
        CANNOT,
        [],
        set(),
    )


def test_a_swap_that_brings_in_another_thing_avoided_is_none():
    plate = {
        "carrot": "{ingredient: carrot}",
        "cream": (
            "{ingredient: double cream, swap: [{avoiding: [milk], use: {ingredient: tahini}}, {avoiding: [milk], use:"
            " {ingredient: olive oil}}]}"
        ),
    }
    assert told(asked("milk, sesame", plate)) == (CHANGED, [("swap", "cream", "olive oil")], set())


def test_a_swap_offered_for_something_else_is_not_offered():
    plate = {
        "carrot": "{ingredient: carrot}",
        "cream": "{ingredient: double cream, swap: {avoiding: [egg], use: {ingredient: olive oil}}}",
    }
    assert told(asked("milk", plate)) == (CANNOT, [], set())


def test_an_empty_plate_is_no_answer():
    assert told(asked("milk", {"cream": "{ingredient: double cream, may_be_left_off: true}"})) == (CANNOT, [], set())


def test_an_empty_plate_gives_way_to_a_swap():
    plate = {
        "cream": (
            "{ingredient: double cream, may_be_left_off: true, swap: {avoiding: [milk], use: {ingredient: olive oil}}}"
        )
    }
    assert told(asked("milk", plate)) == (CHANGED, [("swap", "cream", "olive oil")], set())


def test_only_what_stands_against_is_changed():
    plate = {
        "carrot": "{ingredient: carrot, may_be_left_off: true}",
        "cream": "{ingredient: double cream, may_be_left_off: true}",
        "salt": "{ingredient: salt}",
    }
    assert told(asked("milk", plate))[1] == [("leave_off", "cream", None)]


def test_of_two_changes_the_one_that_leaves_less_as_may_contain():
    """One thing that may be there by many roads is better than two things by one road each."""
    files = pantry(one=label(may="sesame"), both=label(may="sesame, peanuts"), none=label())
    files |= {f"shared/recipes/many-{i}.yaml": recipe(f"Many {i}", [("product", "one", "1 g")]) for i in range(4)}
    files["shared/recipes/many.yaml"] = recipe("Many", [("recipe", f"many-{i}", "1 g") for i in range(4)])
    ways = "[{avoiding: [milk], use: {product: both}}, {avoiding: [milk], use: {recipe: many}}]"
    plate = {"carrot": "{ingredient: carrot}", "cream": f"{{ingredient: double cream, swap: {ways}}}"}
    assert told(asked("milk, sesame, peanut", plate, files)) == (CHANGED, [("swap", "cream", "many")], {"sesame"})


def test_many_components_with_many_swaps():
    """The way through is found however many ways there are."""
    bad = ", ".join("{avoiding: [milk], use: {ingredient: whey}}" for _ in range(2))
    plate = {
        f"c{i}": f"{{ingredient: double cream, swap: [{bad}, {{avoiding: [milk], use: {{ingredient: olive oil}}}}]}}"
        for i in range(9)
    }
    answer = asked("milk", plate)
    assert (
        told(answer)[0] == CHANGED
        and {c.swap.use.name for c in answer.changes} == {"olive oil"}
        and len(answer.changes) == 9
    )


# --------------------------------------------------------------------------- nothing unknown is served as it is


@pytest.mark.parametrize("avoid", ["milk", "shellfish", "nuts", "gluten", "sulphites", "coriander", "kiwi"])
@pytest.mark.parametrize("unknown", ["{product: fritter}", "{ingredient: curry powder}", "{recipe: outer}"])
def test_an_unknown_on_the_plate_is_not_established(avoid, unknown):
    files = {
        **pantry(fritter=""),
        "shared/recipes/inner.yaml": recipe("Inner", [("product", "fritter", "1 g")]),
        "shared/recipes/outer.yaml": recipe("Outer", [("recipe", "inner", "1 g")]),
    }
    # Coriander is in every curry powder, so that is more than an unknown.
    told = CANNOT if avoid == "coriander" and "curry" in unknown else OPEN
    assert asked(avoid, {"carrot": "{ingredient: carrot}", "thing": unknown}, files).answer == told


def test_an_unknown_that_may_be_left_off():
    plate = {"carrot": "{ingredient: carrot}", "thing": "{ingredient: curry powder, may_be_left_off: true}"}
    assert told(asked("milk", plate)) == (CHANGED, [("leave_off", "thing", None)], set())


@pytest.mark.parametrize("broken", ["{ingredient: moon dust}", "{recipe: nowhere}", "{product: nowhere}"])
def test_a_name_that_leads_nowhere_gives_no_answer(broken):
    assert asked("milk", {"carrot": "{ingredient: carrot}", "thing": broken}) is None


def test_an_unknown_in_the_fryer():
    menu = {"other": poured({"fritter": "{product: fritter, equipment: fryer}"})}
    for avoid in ("milk", "coriander"):
        assert (
            asked(avoid, {"chips": "{ingredient: potato, equipment: fryer}"}, pantry(fritter=""), menu).answer == OPEN
        )


def test_a_bare_group_cannot_rule_its_kinds_out():
    files = pantry(mix=label("nuts"))
    assert asked("hazelnut", {"mix": "{product: mix}"}, files).answer == OPEN
    assert asked("nuts", {"mix": "{product: mix}"}, files).answer == CANNOT
    assert asked("peanut", {"mix": "{product: mix}"}, files).answer == AS_IS


# --------------------------------------------------------------------------- may contain stays stated


def test_may_contain_of_a_label_remains():
    answer = asked("peanut, milk", {"bar": "{product: bar}"}, pantry(bar=label(may="peanuts")))
    assert told(answer) == (AS_IS, [], {"peanut"})
    assert "may contain peanuts" in answer.remaining[0].chain[-1].words


def test_may_contain_of_the_fryer_remains_on_the_changed_plate():
    plate = {
        "chips": "{ingredient: potato, equipment: fryer}",
        "squid": "{ingredient: squid, equipment: fryer, may_be_left_off: true}",
    }
    # The squid is left off this plate and goes through the fryer for all the others.
    assert told(asked("squid", plate)) == (CHANGED, [("leave_off", "squid", None)], {"squid"})


def test_a_swap_meets_what_it_stands_in_for():
    """The usual crisp goes through the same fryer for every other guest."""
    files = {
        f"shared/recipes/{grain}-crisp.yaml": (
            recipe(f"{grain} crisp", [("ingredient", f"{grain} flour", "10 g")]).replace(
                "ingredients:", "equipment: fryer\ningredients:"
            )
        )
        for grain in ("rye", "rice")
    }
    plate = {
        "carrot": "{ingredient: carrot}",
        "crisp": "{recipe: rye-crisp, swap: {avoiding: [gluten], use: {recipe: rice-crisp}}}",
    }
    assert told(asked("gluten", plate, files)) == (CHANGED, [("swap", "crisp", "rice-crisp")], {"gluten"})


# --------------------------------------------------------------------------- what a guest says


@pytest.mark.parametrize(
    "said, holds, free",
    [
        ("shellfish", ["king prawn", "oyster", "octopus"], ["cod", "sea urchin"]),
        ("seafood", ["king prawn", "oyster", "cod"], ["nutmeg"]),
        ("nuts", ["hazelnut", "pine nut", "coconut", "chestnut"], ["peanut", "nutmeg", "doughnut"]),
        ("all nuts", ["hazelnut", "peanut"], ["nutmeg"]),
        ("tree nuts", ["hazelnut", "pine nut"], ["peanut"]),
        ("gluten", ["plain flour", "rye flour", "oat", "triticale", "malt extract"], ["buckwheat", "rice"]),
        ("coeliac", ["spelt"], ["maize flour"]),
        ("dairy", ["ghee", "goat's milk", "lactose"], ["coconut milk", "cocoa butter"]),
        ("lactose", ["butter"], ["oat drink"]),
        ("fish", ["salmon roe", "katsuobushi"], ["king prawn"]),
        ("egg", ["quail egg", "meringue"], ["aubergine"]),
        ("wheat", ["spelt", "seitan"], ["rye flour"]),
        ("coriander", ["coriander", "coriander seed", "cilantro"], ["parsley"]),
        ("cilantro", ["coriander"], ["parsley"]),
        ("kiwi", ["kiwi"], ["apple"]),
        ("garlic", ["garlic", "black garlic"], ["onion"]),
        ("zucchini", ["courgette"], ["carrot"]),
        ("lait", ["butter"], ["olive oil"]),
        ("soja", ["tofu"], ["rice"]),
    ],
)
def test_what_a_saying_takes_in(said, holds, free):
    """``cannot`` and ``not_established`` both keep it from the guest; what is free of it does not stand against."""
    for name in holds:
        assert asked(said, {"thing": f'{{ingredient: "{name}"}}'}).answer == CANNOT, name
    world = pipeline.world(library(LIBRARY))
    guest, _ = guest_answers.avoids(said, world)
    for name in free:
        begun = pipeline.begin(poured({"thing": f'{{ingredient: "{name}"}}'}), "specs/asked.yaml", "asked", world)
        [(_, answer)] = guest_answers.answer_all((begun,), ("asked",), guest, world)
        assert answer is None or answer.answer in (AS_IS, OPEN), name


# The sayings of taxonomy.yaml have to name these; until then a guest who says the one is served the other.
@pytest.mark.parametrize(
    "said, name",
    [
        ("shrimp", "king prawn"),
        ("prawn", "brown shrimp"),
        ("wheat", "triticale"),
        ("rye", "triticale"),
        ("casein", "butter"),
        ("whey", "butter"),
    ],
)
def test_two_words_for_what_one_guest_avoids(said, name):
    assert asked(said, {"thing": f'{{ingredient: "{name}"}}'}).answer == CANNOT


def test_an_ingredient_stays_an_ingredient():
    """Who avoids butter has not said milk."""
    assert asked("butter", {"thing": "{ingredient: double cream}"}).answer == AS_IS
    assert asked("butter", {"thing": "{ingredient: butter}"}).answer == CANNOT


def test_a_swap_is_offered_in_the_chefs_words_and_asked_for_in_the_guests():
    for offered, said in (
        ("shellfish", "crustaceans"),
        ("coriander", "cilantro"),
        ("cilantro", "coriander"),
        ("nuts", "hazelnut"),
        ("gluten", "wheat"),
        ("milk", "dairy"),
    ):
        name = {
            "crustaceans": "lobster",
            "cilantro": "coriander",
            "coriander": "coriander",
            "hazelnut": "hazelnut",
            "wheat": "plain flour",
            "dairy": "butter",
        }[said]
        plate = {
            "carrot": "{ingredient: carrot}",
            "thing": f"{{ingredient: {name}, swap: {{avoiding: [{offered}], use: {{ingredient: salt}}}}}}",
        }
        assert told(asked(said, plate)) == (CHANGED, [("swap", "thing", "salt")], set()), said


def test_a_word_nobody_knows(galley):
    run = galley.run("guest", "beetroot", "--avoid", "glutem")
    assert run.code == 1 and run.out == ""
    assert "'glutem'" in run.err and "did you mean 'gluten'" in run.err
    run = galley.run("guest", "beetroot", "--avoid", "milk,glutem", "--format", "json")
    assert run.code == 1 and run.data["answer"] == OPEN and run.data["problems"][0]["slug"] == "unknown-avoid-word"


def test_a_list_of_nothing(galley):
    assert galley.run("guest", "beetroot", "--avoid", " , ").code == 1


@pytest.mark.parametrize(
    "word, hint",
    [
        ("glutem", "gluten"),
        ("mlik", "milk"),
        ("hazenut", "hazelnut"),
        ("shellfihs", "shellfish"),
        ("coriandr", "coriander"),
    ],
)
def test_the_nearest_word_is_suggested(word, hint):
    world = pipeline.world(library(LIBRARY))
    with pytest.raises(NotUnderstood) as stop:
        understand(word, world.tracer.taxonomy, world.pantry.catalogue)
    assert hint in stop.value.hints


# --------------------------------------------------------------------------- ingredients no law knows


def test_a_label_without_its_text_says_nothing_of_coriander():
    files = pantry(
        paste=label(),
        full=label(more=', text: "chilli, garlic, salt"'),
        green=label(more=', text: "chilli, CORIANDER, salt"'),
    )
    assert asked("coriander", {"paste": "{product: paste}"}, files).answer == OPEN
    assert asked("coriander", {"paste": "{product: full}"}, files).answer == AS_IS
    assert asked("coriander", {"paste": "{product: green}"}, files).answer == CANNOT


@pytest.mark.parametrize(
    "laws, avoid, answer",
    [
        ("eu", "kiwi", OPEN),
        ("eu", "coconut", OPEN),
        ("eu", "buckwheat", OPEN),
        ("eu", "nuts", OPEN),
        ("eu", "celery", AS_IS),
        ("eu", "milk", AS_IS),
        ("us", "celery", OPEN),
        ("us", "molluscs", OPEN),
        ("us", "shellfish", OPEN),
        ("us", "milk", AS_IS),
        ("jp", "egg", AS_IS),
        ("jp", "kiwi", OPEN),  # which that law only recommends to name
        ("jp", "sulphites", OPEN),
        ("us, jp", "kiwi", OPEN),
    ],
)
def test_a_label_need_not_name_what_no_law_in_force_lists(laws, avoid, answer):
    """A list of allergens has what the laws in force require; about anything else it is silent."""
    files = {**pantry(paste=label()), KITCHEN: LIBRARY[KITCHEN].replace("[eu, us]", f"[{laws}]")}
    assert asked(avoid, {"paste": "{product: paste}"}, files).answer == answer
    assert asked(avoid, {"carrot": "{ingredient: carrot}"}, files).answer == AS_IS


def test_a_label_settles_an_open_ingredient_only_for_the_laws_in_force():
    """Which fruit a jam was set with is no question that a list for these laws answers."""
    files = {
        PANTRY: (
            f"products:\n  jam: {{called: Fruit jam, is: jam, label: {label()}}}\n  set: {{called: Set jam, is: jam,"
            f" label: {label(more=', text: apple and sugar')}}}\n"
        )
    }
    assert asked("apple", {"jam": "{product: jam}"}, files).answer == OPEN
    assert asked("apple", {"jam": "{product: set}"}, files).answer == CANNOT


def test_coriander_over_the_fryer():
    menu = {"other": poured({"bhaji": "{recipe: bhaji}"}, title="Bhaji")}
    files = {
        "shared/recipes/bhaji.yaml": (
            recipe("Bhaji", [("ingredient", "coriander", "5 g"), ("ingredient", "onion", "50 g")]).replace(
                "ingredients:", "equipment: fryer\ningredients:"
            )
        )
    }
    answer = asked("coriander", {"chips": "{ingredient: potato, equipment: fryer}"}, files, menu)
    assert told(answer) == (AS_IS, [], {"coriander"})
    assert [link.words for link in answer.remaining[0].chain][1:3] == [
        "chips",
        "shares the fryer with Bhaji for bhaji (Bhaji)",
    ]


def test_what_a_law_leaves_out_counts_for_a_guest():
    """Fully refined soya oil is exempt in both laws in force; the guest has asked about the food."""
    assert asked("soya", {"oil": "{ingredient: refined soybean oil}"}).answer == CANNOT


def test_sulphites_below_the_limit_count_for_a_guest():
    assert (
        asked(
            "sulphites", {"sauce": "{product: sauce}"}, pantry(sauce=label("sulphites", more=", sulphites: 1 mg/kg"))
        ).answer
        == CANNOT
    )


# --------------------------------------------------------------------------- the command


def test_exit_codes_and_words(galley):
    run = galley.run("guest", "beetroot", "--avoid", "milk")
    assert (
        run.code == 0
        and "serve as it is, but it may contain milk: tell the guest first" in run.out
        and "free from" not in run.out.lower()
    )
    run = galley.run("guest", "--avoid", "wheat", "--format", "json")
    assert run.code == 0 and [d["answer"] for d in run.data] == [CANNOT]


@pytest.mark.parametrize("said", ["lactose", "dairy", "milk"])
def test_what_may_be_in_it_is_named_and_not_the_diet_or_the_word_said(galley, said):
    """A diet is nothing that a dish can contain."""
    out = galley.run("guest", "beetroot", "--avoid", said).out
    assert "but it may contain milk: tell the guest first" in out
    assert "  may contain: milk: " in out and (said == "milk" or f"may contain: {said}" not in out)


@pytest.mark.parametrize(
    "said, named",
    [
        ("vegan", "venison"),
        ("pescatarian", "venison"),
        ("glutten", "wheat"),
        ("game", "venison"),
        ("gluten", "wheat"),
        ("wheat", "wheat"),
    ],
)
def test_what_comes_over_a_fryer_is_named(said, named):
    menu = {
        "other": poured(
            {"loin": "{ingredient: venison, equipment: fryer}", "crumb": "{ingredient: wheat flour, equipment: fryer}"}
        )
    }
    answer = asked(said, {"chips": "{ingredient: potato, equipment: fryer}"}, menu=menu)
    assert answer.answer == AS_IS and {m.food for m in answer.remaining} == {named}


# --------------------------------------------------------------------------- what is offered


def offered(avoiding: str, use: str, files=None, menu=None) -> list[tuple[str, str]]:
    """(severity, slug) of what the chef is told of a swap."""
    one = prepared(
        poured(
            {
                "carrot": "{ingredient: carrot}",
                "cream": f"{{ingredient: double cream, swap: {{avoiding: [{avoiding}], use: {use}}}}}",
            }
        ),
        files,
        menu,
    )
    return [(p.severity, p.slug) for p in one.problems if p.slug in ("swap-does-not-help", "unknown-avoid-word")]


def test_a_swap_that_helps_is_not_talked_about():
    assert offered("milk", "{ingredient: olive oil}") == [] == offered("dairy, egg", "{ingredient: olive oil}")


def test_a_swap_that_has_taken_in_what_it_stands_in_for_is_told():
    files = {
        "shared/recipes/foam.yaml": recipe(
            "Oat foam", [("ingredient", "rolled oats", "50 g"), ("recipe", "inner", "5 g")]
        ),
        "shared/recipes/inner.yaml": recipe("Inner", [("ingredient", "butter", "5 g")]),
    }
    assert offered("milk", "{recipe: foam}", files) == [("warning", "swap-does-not-help")]
    assert offered("egg", "{recipe: foam}", files) == []
    told = prepared(
        poured({"cream": "{ingredient: double cream, swap: {avoiding: [milk], use: {recipe: foam}}}"}), files
    ).problems
    (found,) = [p for p in told if p.slug == "swap-does-not-help"]
    assert (
        "foam is offered to guests who avoid milk, but it contains that too" in found.message
        and "Inner" in found.hints[0]
        and found.span.line == 5
    )


def test_a_swap_of_which_nobody_knows_is_told_too():
    assert offered("hazelnut", "{product: mix}", pantry(mix=label("nuts"))) == [("warning", "swap-does-not-help")]


def test_a_swap_that_may_contain_it_is_left_to_the_answer():
    assert offered("milk", "{product: bar}", pantry(bar=label(may="milk"))) == []


def test_a_misspelt_word_in_an_offer_is_an_error():
    assert offered("mlik", "{ingredient: olive oil}") == [("error", "unknown-avoid-word")]
    told = prepared(
        poured({"cream": "{ingredient: double cream, swap: {avoiding: [egg, hazenut], use: {ingredient: olive oil}}}"})
    ).problems
    (found,) = [p for p in told if p.slug == "unknown-avoid-word"]
    assert found.span.line == 5 and found.span.length == len("hazenut") and "hazelnut" in found.hints[0]
