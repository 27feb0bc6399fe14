"""What shared equipment hands on, over the whole menu, with the dish and the component it came from."""

from __future__ import annotations


from kitchens import KITCHEN, LIBRARY, PANTRY, poured, prepared, presences, recipe

CONTAINS, MAY, ABSENT, UNKNOWN = "contains", "may_contain", "not_among_ingredients", "not_established"

CHIPS = "{ingredient: potato, equipment: fryer}"
SQUID = "{product: battered-squid, equipment: fryer}"
LABELS = {PANTRY: """\
products:
  battered-squid: {called: Battered squid, label: {read: 2026-01-02, contains: [squid, wheat, sulphites], may_contain: [milk]}}
  no-label: {called: Frozen fritter}
  plain: {called: Plain fritter, label: {read: 2026-01-02, contains: []}}
"""}


def dish(title: str = "A dish of the tests", **components: str) -> str:
    return poured(components, title=title)


def chains(one, law: str, allergen: str) -> list[list[str]]:
    return [[link.words for link in chain] for s in one.statements if s.law.key == law for f in s.findings if f.allergen == allergen for chain in f.reasons]


def test_a_fryer_hands_on_over_the_menu():
    one = prepared(dish("Chips", chips=CHIPS), LABELS, {"starter": dish("Squid to start", squid=SQUID)})
    found = presences(one)
    assert (found["eu", "mollusc"], found["eu", "wheat"], found["us", "wheat"]) == (MAY, MAY, MAY)
    assert found["eu", "egg"] == ABSENT
    # The chain names the dish, the component and the label it comes from.
    [chain] = chains(one, "eu", "mollusc")
    assert chain[:3] == ["Chips", "chips", "shares the fryer with squid (Squid to start)"]
    assert "Battered squid" in chain and "squid" in chain[-1] and "2026-01-02" in chain[-1]


def test_what_a_label_says_it_may_contain_travels_the_same_road():
    found = presences(prepared(dish(chips=CHIPS), LABELS, {"starter": dish(squid=SQUID)}))
    assert found["eu", "milk"] == MAY


def test_within_one_dish_from_component_to_component():
    one = prepared(dish(chips=CHIPS, squid=SQUID), LABELS)
    # The squid is on the plate itself: what is contained beats what may be.
    assert presences(one)["eu", "mollusc"] == CONTAINS
    assert all("shares" not in words for chain in chains(one, "eu", "mollusc") for words in chain)


def test_never_within_the_same_component():
    files = {**LABELS, "shared/recipes/crumb.yaml": recipe("Crumb", [("product", "plain", "10 g")]).replace("ingredients:", "equipment: fryer\ningredients:"),
             "shared/recipes/both.yaml": recipe("Both", [("recipe", "crumb", "10 g"), ("product", "battered-squid", "10 g")]).replace("ingredients:", "equipment: fryer\ningredients:")}
    one = prepared(dish(both="{recipe: both, equipment: fryer}"), files)
    assert not [t for t in one.traces if any("shares" in link.words for link in t.chain)]


def test_other_equipment_hands_nothing_on():
    one = prepared(dish(chips="{ingredient: potato, equipment: smoker}"), LABELS, {"starter": dish(squid=SQUID)})
    assert presences(one)["eu", "mollusc"] == ABSENT


def test_no_equipment_hands_nothing_on():
    one = prepared(dish(chips="{ingredient: potato}"), LABELS, {"starter": dish(squid=SQUID)})
    assert presences(one)["eu", "mollusc"] == ABSENT


def test_an_unknown_in_the_fryer_is_not_established():
    one = prepared(dish(chips=CHIPS), LABELS, {"starter": dish(fritter="{product: no-label, equipment: fryer}")})
    assert {p for (law, allergen), p in presences(one).items() if allergen != "sulphite"} == {UNKNOWN}
    assert any("no label entered" in chain[-1] for chain in chains(one, "eu", "milk"))


def test_an_open_allergen_in_the_fryer_stays_open():
    one = prepared(dish(chips=CHIPS), LABELS, {"starter": dish(tofu="{ingredient: tamari, equipment: fryer}")})
    assert (presences(one)["eu", "soy"], presences(one)["eu", "wheat"]) == (MAY, UNKNOWN)


def test_not_established_beats_may_contain():
    menu = {"one": dish(tofu="{ingredient: tamari, equipment: fryer}"), "two": dish(squid=SQUID)}
    assert presences(prepared(dish(chips=CHIPS), LABELS, menu))["eu", "wheat"] == UNKNOWN


def test_contains_beats_all_that_comes_over_equipment():
    one = prepared(dish(bread="{product: seeded-crisp, equipment: fryer}"), None, {"starter": dish(fritter="{ingredient: curry powder, equipment: fryer}")})
    assert presences(one)["eu", "wheat"] == CONTAINS


def test_equipment_inside_nested_recipes():
    """The crumb five recipes down was ground in the mill that another dish's nuts go through."""
    files = {**LABELS, KITCHEN: LIBRARY[KITCHEN].replace("fryer: the fryer", "mill: mill, fryer: the fryer")}
    for i in range(5):
        line = ("ingredient", "pumpkin seed", "10 g") if i == 0 else ("recipe", f"r{i - 1}", "10 g")
        files[f"shared/recipes/r{i}.yaml"] = recipe(f"R {i}", [line]).replace("ingredients:", f"{'equipment: mill' if i == 0 else 'station: larder'}\ningredients:")
    files["shared/recipes/praline.yaml"] = recipe("Praline", [("ingredient", "hazelnut", "50 g")]).replace("ingredients:", "equipment: mill\ningredients:")
    one = prepared(dish("Deep", top="{recipe: r4}"), files, {"sweet": dish("Sweet", nutty="{recipe: praline}")})
    assert presences(one)["eu", "hazelnut"] == MAY
    [chain] = chains(one, "eu", "hazelnut")
    assert chain[:3] == ["Deep", "top", "shares the mill with Praline for nutty (Sweet)"]


def test_only_what_goes_through_is_handed_on():
    """The praline goes through the mill before the cream is folded in: the cream does not."""
    files = {"shared/recipes/praline.yaml": recipe("Praline", [("ingredient", "hazelnut", "50 g")]).replace("ingredients:", "equipment: smoker\ningredients:"),
             "shared/recipes/cream.yaml": recipe("Praline cream", [("recipe", "praline", "50 g"), ("ingredient", "double cream", "50 g")])}
    found = presences(prepared(dish(seeds="{ingredient: pumpkin seed, equipment: smoker}"), files, {"sweet": dish(cream="{recipe: cream}")}))
    assert (found["eu", "hazelnut"], found["eu", "milk"]) == (MAY, ABSENT)


def test_a_swap_of_another_dish_goes_through_the_fryer_too():
    other = dish(crisp="{product: plain, swap: {avoiding: [egg], use: {recipe: fried-squid}}}")
    files = {**LABELS, "shared/recipes/fried-squid.yaml": recipe("Fried squid", [("product", "battered-squid", "10 g")]).replace("ingredients:", "equipment: fryer\ningredients:")}
    assert presences(prepared(dish(chips=CHIPS), files, {"other": other}))["eu", "mollusc"] == MAY


def test_sulphites_are_reckoned_and_not_handed_on():
    one = prepared(dish(chips=CHIPS), LABELS, {"starter": dish(squid=SQUID)})
    assert presences(one)["eu", "sulphite"] == ABSENT


def test_an_exempt_form_is_exempt_over_equipment_too():
    """Refined peanut oil: exempt in 21 U.S.C. 321(qq)(2)(A), not in Annex II of Regulation (EU) No 1169/2011."""
    one = prepared(dish(chips=CHIPS), None, {"other": dish(oil="{ingredient: refined peanut oil, equipment: fryer}")})
    assert (presences(one)["eu", "peanut"], presences(one)["us", "peanut"]) == (MAY, ABSENT)
    assert [e.node for s in one.statements if s.law.key == "us" for e in s.exempted] == ["peanut"]


# --------------------------------------------------------------------------- equipment that nobody has


def gear_errors(one) -> list[tuple[str, int, int, tuple[str, ...]]]:
    return [(p.span.file, p.span.line, p.span.column, p.hints) for p in one.problems if p.slug == "unknown-equipment" and p.is_error]


def test_misspelt_equipment_is_no_equipment_of_its_own():
    """What goes through the fryer would hand nothing on, and take nothing up, for one letter."""
    one = prepared(dish(chips="{ingredient: potato, equipment: fryr}"), LABELS, {"starter": dish(squid=SQUID)})
    assert gear_errors(one) == [("specs/asked.yaml", 5, 42, ("did you mean 'fryer'?",))] and not one.is_sound


def test_nor_is_that_of_a_finishing_step():
    one = prepared(dish(chips="{ingredient: potato, finish: [{do: fry, takes: 4 min, on: fryr}]}"), LABELS)
    assert [(place[1], place[3]) for place in gear_errors(one)] == [(5, ("did you mean 'fryer'?",))]


def test_nor_is_that_of_a_recipe_of_the_library():
    files = {**LABELS, "shared/recipes/crumb.yaml": recipe("Crumb", [("product", "plain", "10 g")]).replace("ingredients:", "equipment: fryr\ningredients:")}
    one = prepared(dish(chips=CHIPS), files)
    assert gear_errors(one) == [("shared/recipes/crumb.yaml", 4, 12, ("did you mean 'fryer'?",))] and not one.is_sound


def test_a_neighbour_with_misspelt_equipment_leaves_it_open_what_the_fryer_hands_on():
    one = prepared(dish(chips=CHIPS), LABELS, {"starter": dish(squid=SQUID.replace("fryer", "fryr"))})
    assert presences(one)["eu", "mollusc"] == UNKNOWN


def test_equipment_in_a_kitchen_that_lists_none():
    files = {**LABELS, KITCHEN: "kitchen: The Test Galley\nlaws: [eu]\n"}
    one = prepared(dish(chips=CHIPS), files)
    assert ("list it under equipment: in kitchen.yaml",) in [hints for _, _, _, hints in gear_errors(one)]
