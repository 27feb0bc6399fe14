"""Why a guest is told what they are told: each reason leads from the dish to the food, and none is told for another."""

from __future__ import annotations

import pytest

from platecard.allergens.guests import foods
from tests.allergens.guests.test_guest_question import AS_IS, CANNOT, CHANGED, OPEN, asked, label, pantry, told
from tests.kitchens import KITCHEN, LIBRARY, PANTRY, poured, recipe

EGG = "{ingredient: egg yolk%s}"


def reasons(answer) -> list[list[str]]:
    return [[link.words for link in met.chain] for met in answer.reasons]


NOTHING_FOUND = "nothing found"


def settled(answer) -> str:
    """The answer; or that nothing was found, where ingredients alone can never say yes."""
    return NOTHING_FOUND if answer.nothing_found else answer.answer


def presences(answer) -> list[str]:
    return [met.presence for met in answer.reasons]


# --------------------------------------------------------------------------- the way to the food


def test_a_herb_deep_in_recipes_is_found_once_with_its_whole_way():
    files = {
        "shared/recipes/sauce.yaml": recipe("Sauce", [("recipe", "paste", "50 g"), ("recipe", "oil", "50 g")]),
        "shared/recipes/paste.yaml": recipe("Paste", [("ingredient", "coriander", "50 g"), ("recipe", "oil", "50 g")]),
        "shared/recipes/oil.yaml": recipe("Oil", [("ingredient", "olive oil", "50 g")]),
    }
    answer = asked("coriander", {"carrot": "{ingredient: carrot}", "sauce": "{recipe: sauce}"}, files)
    assert (answer.answer, presences(answer)) == (CANNOT, ["contains"])
    [chain] = reasons(answer)
    assert chain[:4] == ["A dish of the tests", "sauce", "Sauce", "Paste"] and "coriander" in chain[4].lower()
    [olive] = reasons(asked("olive", {"sauce": "{recipe: sauce}"}, files))
    assert olive[1:4] == ["sauce", "Sauce", "Paste"], "a recipe that is there twice is searched once"


def test_what_may_be_one_of_two_products_is_looked_for_in_both():
    pair = (
        "products:\n  dip: {called: Dip, either: [one, two]}\n"
        f"  one: {{called: One, label: {label(more=', text: chilli and salt')}}}\n"
        f"  two: {{called: Two, label: {label(more=', text: %s and salt')}}}\n"
    )
    for herb, answer in (("coriander", CANNOT), ("parsley", AS_IS)):
        assert asked("coriander", {"dip": "{product: dip}"}, {PANTRY: pair % herb}).answer == answer


def test_what_depends_on_the_maker_says_so_and_what_is_only_vague_does_not():
    answer = asked("coriander", {"curry": "{ingredient: curry powder}"})
    assert answer.answer in (OPEN, CANNOT)
    vague = asked("strawberry", {"jam": "{ingredient: jam}"})
    assert (vague.answer, presences(vague)) == (OPEN, ["not_established"] * len(vague.reasons))
    known = asked("strawberry", {"fruit": "{ingredient: strawberry}"})
    [chain] = reasons(known)
    assert known.answer == CANNOT and "depends" not in chain[-1] and "ruled out" not in chain[-1]


def test_the_most_certain_reason_comes_first():
    files = pantry(bare="", sure=label("egg"), trace=label("", "egg"))
    plate = {"t": "{product: trace}", "b": "{product: bare}", "s": "{product: sure}"}
    answer = asked("egg", plate, files)
    assert answer.answer == CANNOT and presences(answer)[:2] == ["contains", "not_established"]
    assert {m.chain[1].words for m in answer.remaining} == {"t"} and "may_contain" not in presences(answer)


def test_of_many_ways_over_the_fryer_a_dozen_are_enough():
    menu = {f"d{i}": poured({"b": "{ingredient: coriander, equipment: fryer}"}, title=f"Dish {i}") for i in range(20)}
    answer = asked("coriander", {"chips": "{ingredient: potato, equipment: fryer}"}, {}, menu)
    assert answer.answer == AS_IS and len(answer.remaining) == 12
    few = dict(list(menu.items())[:3])
    assert len(asked("coriander", {"chips": "{ingredient: potato, equipment: fryer}"}, {}, few).remaining) == 3


def test_a_component_and_its_own_swap_meet_over_the_fryer_but_not_a_component_itself():
    fried = "{ingredient: coriander, equipment: fryer, swap: {avoiding: [coriander], use: {ingredient: parsley}}}"
    answer = asked("coriander", {"herb": fried})
    assert told(answer) == (CHANGED, [("swap", "herb", "parsley")], {"coriander"})
    assert told(asked("coriander", {"herb": fried.replace("equipment: fryer, ", "")}))[2] == set()


# --------------------------------------------------------------------------- what labels say and leave unsaid


def under_us_law(**labels: str) -> dict[str, str]:
    return {**pantry(**labels), KITCHEN: LIBRARY[KITCHEN].replace("[eu, us]", "[us]")}


@pytest.mark.parametrize("depth", [0, 1, 2])
def test_a_label_that_need_not_name_celery_leaves_it_open_however_deep_its_product_is(depth):
    files = under_us_law(paste=label())
    files["shared/recipes/r0.yaml"] = recipe("R0", [("product", "paste", "50 g"), ("product", "paste", "50 g")])
    files["shared/recipes/r1.yaml"] = recipe("R1", [("recipe", "r0", "50 g"), ("recipe", "r0", "50 g")])
    plate = {"a": ("{product: paste}", "{recipe: r0}", "{recipe: r1}")[depth]}
    answer = asked("celery", plate, files)
    assert (answer.answer, set(presences(answer))) == (OPEN, {"not_established"})
    assert any(chain[2:-1] == [f"R{i}" for i in reversed(range(depth))] for chain in reasons(answer))
    assert asked("milk", plate, files).answer == AS_IS


@pytest.mark.parametrize(
    "text, answer",
    [("carrot, salt", AS_IS), ("carrot, spices", OPEN), ("zzyzx powder", OPEN)],
)
def test_the_text_of_a_label_answers_what_its_lists_need_not(text, answer):
    files = under_us_law(paste=label(more=f", text: '{text}'"))
    assert asked("celery", {"a": "{product: paste}"}, files).answer == answer


def test_what_is_in_its_own_name_is_in_a_product():
    files = {PANTRY: f"products:\n  p: {{called: Chervil paste, label: {label()}}}\n"}
    assert asked("chervil", {"a": "{product: p}"}, files).answer == CANNOT
    assert asked("parsley", {"a": "{product: p}"}, files).answer == OPEN, "its full text is not entered"
    files = {PANTRY: f"products:\n  p: {{called: Green paste, also: [chervil paste], label: {label()}}}\n"}
    assert asked("chervil", {"a": "{product: p}"}, files).answer == CANNOT


def test_a_product_that_is_a_plain_food_is_answered_by_what_it_is():
    files = {PANTRY: f"products:\n  p: {{called: House roots, is: carrot, label: {label()}}}\n"}
    assert asked("carrot", {"a": "{product: p}"}, files).answer == CANNOT
    assert asked("coriander", {"a": "{product: p}"}, files).answer == AS_IS


NOT_ENTERED = "its full ingredient text is not entered"
SAYS_MORE = f"its name says more than carrot, and {NOT_ENTERED}"


@pytest.mark.parametrize(
    "avoid, food, answer, last",
    [
        # A food, a group that may be it, one that the maker chooses, and one of another name and the same kind.
        ("strawberry", "strawberry", CANNOT, "strawberry (source: "),
        ("strawberry", "raspberry", AS_IS, ""),
        ("strawberry", "jam", OPEN, ": this cannot be ruled out"),
        ("coriander", "mixed herbs", OPEN, ": what is in it depends on the maker"),
        ("coriander", "edible glitter", OPEN, ": what is in it depends on the maker"),
        ("tomato", "lycopene", OPEN, ": this cannot be ruled out"),
        ("chervil", "lovage", AS_IS, ""),
        ("chervil", "chervil root", OPEN, ": this cannot be ruled out"),
        ("parsley", "parsley root", CANNOT, "parsley root (source: "),
    ],
)
def test_how_sure_it_is_of_a_food_is_said_with_the_food(avoid, food, answer, last):
    found = asked(avoid, {"a": f"{{ingredient: {food}}}"})
    assert found.answer == answer and bool(found.reasons) is bool(last)
    assert not last or any(last in chain[-1] for chain in reasons(found))
    assert all(chain[-1].count(": ") == 1 for chain in reasons(found) if answer == CANNOT)


@pytest.mark.parametrize(
    "avoid, product, answer, last",
    [
        ("alliums", "called: House roots, is: carrot", AS_IS, None),
        ("alliums", "called: Garlic roots, is: carrot", OPEN, f"Garlic roots: {SAYS_MORE}"),
        ("alliums", "called: Roots, also: [garlic roots], is: carrot", OPEN, f"Roots: {SAYS_MORE}"),
        ("alliums", "called: House mix", OPEN, f"House mix: {NOT_ENTERED}"),
        ("fish", "called: House mix", AS_IS, None),  # the law makes a label name every fish
        ("garlic", "called: House mix", OPEN, f"House mix: {NOT_ENTERED}"),
    ],
)  # fmt: skip
def test_what_the_name_of_a_product_says_and_what_only_its_text_could(avoid, product, answer, last):
    files = {PANTRY: f"products:\n  p: {{{product}, label: {label()}}}\n"}
    found = asked(avoid, {"a": "{product: p}"}, files)
    assert found.answer == answer
    assert [chain[-1] for chain in reasons(found)] == ([] if last is None else [last])


@pytest.mark.parametrize(
    "text, left",
    [
        ("zza powder", "zza powder"),
        ("zza powder, zzb powder, zzc powder, zzd powder", "zza powder, zzb powder, zzc powder"),
        ("carrot, spices", "a part that can be anything"),
    ],
)
def test_what_a_text_leaves_open_is_named_up_to_three(text, left):
    files = under_us_law(paste=label(more=f", text: '{text}'"))
    found = reasons(asked("celery", {"a": "{product: paste}"}, files))
    assert found[-1][-1] == f"the label's text leaves open what is in it: {left}"


@pytest.mark.parametrize(
    "within, above, has, left_open, state",
    [
        ("strawberry", "berry", "strawberry", "", "contains"),
        ("strawberry", "berry", "carrot strawberry", "any", "contains"),
        ("strawberry", "berry", "", "strawberry", "not_established"),
        ("strawberry", "berry", "berry", "", "not_established"),
        ("strawberry", "berry", "", "berry", "not_established"),
        ("strawberry", "berry", "carrot", "any", "not_established"),
        ("strawberry", "berry", "carrot", "herb", None),
        ("strawberry", "berry", "", "", None),
        # A guest who avoids no kind of food meets none, however open a food is.
        ("", "", "strawberry", "any", None),
        ("", "berry", "berry", "", None),
    ],
)
def test_a_food_of_the_kind_of_a_group_above_it_and_of_any_kind(within, above, has, left_open, state):
    wanted = foods.Wanted(frozenset(within.split()), frozenset(above.split()))
    assert wanted.state(has.split(), left_open.split()) == state


# --------------------------------------------------------------------------- raw, and made by whom


@pytest.mark.parametrize(
    "said, answer, presence",
    [
        (", state: raw", CANNOT, "contains"),
        (", state: lightly cooked", CANNOT, "contains"),
        ("", OPEN, "not_established"),
        (", state: cooked", NOTHING_FOUND, None),
    ],
)
def test_an_egg_of_which_nothing_is_said_may_be_raw(said, answer, presence):
    found = asked("raw egg", {"egg": EGG % said, "carrot": "{ingredient: carrot}"})
    assert settled(found) == answer and set(presences(found)) == ({presence} if presence else set())
    assert all(chain[1] == "egg" for chain in reasons(found))


def test_an_egg_cooked_in_a_recipe_at_any_depth_is_not_raw():
    def files(inner: str, outer: str):
        return {
            "shared/recipes/custard.yaml": recipe("Custard", [("ingredient", "egg yolk", "90 g")]) + inner,
            "shared/recipes/tart.yaml": recipe("Tart", [("recipe", "custard", "90 g")]) + outer,
        }

    plate = {"tart": "{recipe: tart}"}
    for inner, outer, answer in (
        ("", "state: cooked\n", NOTHING_FOUND),
        ("state: cooked\n", "", NOTHING_FOUND),
        ("state: raw\n", "state: cooked\n", NOTHING_FOUND),
        ("state: raw\n", "", CANNOT),
        ("", "", OPEN),
    ):
        assert settled(asked("raw egg", plate, files(inner, outer))) == answer
    [chain] = reasons(asked("raw egg", plate, files("", "")))
    assert chain[1:4] == ["tart", "Tart", "Custard"]


def test_a_bought_thing_is_raw_by_what_its_label_brings():
    files = pantry(first=label("egg"), second=label(), third=label("", "egg"))
    for product, answer in (("first", OPEN), ("second", NOTHING_FOUND), ("third", NOTHING_FOUND)):
        assert settled(asked("raw egg", {"a": f"{{product: {product}}}"}, files)) == answer


def test_raw_fish_is_no_raw_egg():
    assert settled(asked("raw egg", {"fish": "{ingredient: cod, state: raw}"})) == NOTHING_FOUND
    assert settled(asked("raw fish", {"fish": "{ingredient: cod, state: raw}"})) == CANNOT


# --------------------------------------------------------------------------- what has to be settled first


def test_peanut_is_settled_with_a_guest_who_avoids_nuts_unless_they_eat_it():
    plate = {"dip": "{ingredient: peanut}"}
    answer = asked("nuts", plate)
    assert (answer.answer, set(presences(answer))) == (OPEN, {"not_established"})
    assert all("ask the guest" in chain[-1] for chain in reasons(answer))
    assert asked("peanut", plate).answer == CANNOT and asked("milk", plate).answer == AS_IS
    trace = asked("nuts", {"dip": "{product: dip}"}, pantry(dip=label("", "peanut")))
    assert trace.answer == OPEN, "pine nuts are no allergen of these laws, so the label need not name them"
    [chain] = [[link.words for link in m.chain] for m in trace.remaining]
    assert "peanut" in chain[3] and "ask the guest" in chain[4]


def test_a_relative_of_cashew_waits_until_the_guest_has_said():
    plate = {"pepper": "{ingredient: pink peppercorn}"}
    for avoid, answer in (("cashew", OPEN), ("pistachio", OPEN), ("hazelnut", AS_IS), ("milk", AS_IS)):
        assert asked(avoid, plate).answer == answer
    [chain] = reasons(asked("cashew", plate))
    assert chain[:2] == ["A dish of the tests", "pepper"]


def test_a_diet_that_ingredients_cannot_answer_is_never_a_yes_and_says_that_nothing_was_found():
    answer = asked("pregnant", {"carrot": "{ingredient: carrot, state: cooked}"})
    assert (answer.answer, answer.nothing_found, answer.reasons) == (OPEN, True, ())
    answer = asked("pregnant", {"egg": EGG % ", state: raw"})
    assert (answer.answer, answer.nothing_found) == (CANNOT, False)
    assert not asked("milk", {"carrot": "{ingredient: carrot}"}).nothing_found


# --------------------------------------------------------------------------- the changed plate


def test_what_lay_on_what_is_left_off_lies_there_no_more():
    plate = {"cream": "{ingredient: double cream, may_be_left_off: true}", "carrot": "{ingredient: carrot}"}
    answer = asked("milk", plate)
    assert [c.action for c in answer.changes] == ["leave_off"] and [s.put for s in answer.dish.steps] == ["carrot"]
    swapped = {"cream": "{ingredient: double cream, swap: {avoiding: [milk], use: {ingredient: olive oil}}}"}
    answer = asked("milk", swapped)
    assert [(c.key, c.source.name) for c in answer.dish.components] == [("cream", "olive oil")]
    assert len(answer.dish.steps) == 1


def test_a_swap_that_nobody_knows_is_no_swap():
    plate = {"cream": "{ingredient: double cream, swap: {avoiding: [milk], use: {product: bare}}}"}
    assert asked("milk", plate, pantry(bare="")).answer == CANNOT
    assert asked("milk", plate, pantry(bare=label())).answer == CHANGED
