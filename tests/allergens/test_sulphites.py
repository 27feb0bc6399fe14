"""Sulphites by arithmetic: exact at the limit, on the plate and on each component as served."""

from __future__ import annotations

from fractions import Fraction

import pytest

from platecard.allergens import derivation, sulphites
from platecard.allergens.cross_contact import Shared
from platecard.allergens.guests.answers import Asked, Avoid
from platecard.allergens.traces import Tracer
from platecard.diagnostics import Span
from platecard.documents.text import wording
from platecard.knowledge import catalogue, laws, taxonomy
from platecard.knowledge.catalogue import Entry
from platecard.model import Component, Dish, Source
from platecard.recipes.resolved import Part, Resolved, Use
from tests.kitchens import KITCHEN, LIBRARY, PANTRY, poured, prepared, recipe

CONTAINS, ABSENT, UNKNOWN = "contains", "not_among_ingredients", "not_established"
HERE = Span("case", 1, 1)
TREE = taxonomy.load()[0]
MANY = LIBRARY[KITCHEN].replace("[eu, us]", "[eu, uk, ch, us, ca, au-nz, kr, codex, sg, hk]")
# More than 10 mg/kg: Annex II, 12 of Regulation (EU) No 1169/2011, kept in the United Kingdom by SI 2019/529 (seen).
# 10 mg/kg or more: B.01.010.2 of the Canadian regulations (seen).
ABOVE, FROM = ("eu", "uk"), ("ca",)
# A limit of 10 is told of all of these too, and was not read in the law itself: it takes no declaration away.
NOT_READ = ("ch", "us", "au-nz", "kr", "codex", "sg", "hk")


def only_read(found: dict[str, object]) -> dict[str, object]:
    return {key: said for key, said in found.items() if key not in NOT_READ}


def pantry(**levels: str) -> dict[str, str]:
    """Products by the level their label states ("" for a label that says sulphites without a level)."""
    rows = "".join(
        f"  {key}: {{called: {key}, label: {{read: 2026-01-02, contains:"
        f" [sulphites]{f', sulphites: {level}' if level else ''}}}}}\n"
        for key, level in levels.items()
    )
    return {
        KITCHEN: MANY,
        PANTRY: f"products:\n{rows}  water: {{called: water, label: {{read: 2026-01-02, contains: []}}}}\n",
    }


def served(components: dict[str, str], amounts: dict[str, str], files: dict[str, str]):
    one = prepared(poured(components, amounts), files)
    return one, {
        s.law.key: next(f for f in s.findings if f.allergen == "sulphite") for s in one.statements if s.law.sulphites
    }


def presence(components, amounts, files) -> dict[str, str]:
    return {key: f.presence for key, f in served(components, amounts, files)[1].items()}


# --------------------------------------------------------------------------- at the limit


def test_whether_the_limit_itself_is_declared_is_said_as_each_law_has_it():
    _, found = served({"a": "{product: red}"}, {}, pantry(red="3 mg/kg"))
    for law in ABOVE:
        assert "not above the limit" in found[law].note
    for law in FROM:
        assert "under the limit" in found[law].note
    assert {found[law].presence for law in NOT_READ} == {CONTAINS}


def test_a_limit_that_was_not_read_in_the_law_leaves_nothing_out_and_says_so():
    one, found = served({"a": "{product: red}", "b": "{product: water}"}, {}, pantry(red="0.02 mg/kg"))
    assert {found[law].presence for law in NOT_READ} == {CONTAINS}
    said = {s.law.key: wording.not_read(s.not_read) for s in one.statements}
    for law in NOT_READ:
        assert "the amount from which" in said[law] and "it is declared all the same" in said[law], law
    assert not any(said[law] for law in (*ABOVE, *FROM))
    # Over the limit that it is said to have, nothing hangs on it.
    one, _ = served({"a": "{product: red}"}, {}, pantry(red="90 mg/kg"))
    assert not any(s.not_read for s in one.statements)


def test_one_unknown_amount_of_a_wine_that_is_used_twice_leaves_its_level_open():
    files = pantry(red="3 mg/kg")
    for first, second in (("10 g", "to taste"), ("to taste", "10 g")):
        lines = [("product", "red", first), ("product", "red", second), ("product", "water", "90 g")]
        files["shared/recipes/pot.yaml"] = recipe("Pot", lines)
        assert presence({"a": "{recipe: pot}"}, {}, files)["eu"] == CONTAINS
    files["shared/recipes/pot.yaml"] = recipe("Pot", [("product", "red", "5 g"), ("product", "red", "5 g"), lines[2]])
    assert presence({"a": "{recipe: pot}"}, {}, files)["eu"] == ABSENT


def test_a_level_that_cannot_be_read_is_no_low_level():
    files = pantry(red="3 mg/kg")
    files[PANTRY] = files[PANTRY].replace("contains: [sulphites], sulphites: 3 mg/kg", "contains: [], sulphites: a few")
    assert set(presence({"a": "{product: red}"}, {}, files).values()) == {CONTAINS}


def test_sulphites_are_proved_by_what_brings_them_and_by_nothing_else():
    """Above the limit and under it: beside egg yolk, and a second wine, each chain ends in a wine."""
    parts = {"red": "{product: red}", "egg": "{ingredient: egg yolk}", "white": "{product: white}"}
    for level, expected in (("90 mg/kg", CONTAINS), ("3 mg/kg", ABSENT)):
        _, found = served(parts, {}, pantry(red=level, white=level))
        for law, f in found.items():
            assert (f.presence, len(f.reasons)) == (CONTAINS if law in NOT_READ else expected, 2), law
            assert {chain[1].words for chain in f.reasons} == {"red", "white"}


@pytest.mark.parametrize(
    "level, above, from_",
    [
        ("9.99 mg/kg", ABSENT, ABSENT),
        ("10 mg/kg", ABSENT, CONTAINS),
        ("10.01 mg/kg", CONTAINS, CONTAINS),
        ("9.999999 mg/kg", ABSENT, ABSENT),
        ("10.000001 mg/kg", CONTAINS, CONTAINS),
    ],
)
def test_exactly_at_the_limit(level, above, from_):
    found = presence({"sauce": "{product: sauce}"}, {"sauce": "7 g"}, pantry(sauce=level))
    assert only_read(found) == {**dict.fromkeys(ABOVE, above), **dict.fromkeys(FROM, from_)}


@pytest.mark.parametrize(
    "level, sauce, water",
    [
        ("30 mg/kg", "10 g", "20 g"),
        ("70 mg/kg", "0.1 g", "0.6 g"),
        ("33 mg/kg", "10 g", "23 g"),
        ("500 mg/kg", "1.1 g", "53.9 g"),
    ],
)
def test_exactly_ten_by_dilution_is_exactly_ten(level, sauce, water):
    """Numbers that floating point does not hit: 0.1 g × 70 in 0.7 g, a third of 30."""
    files = {
        **pantry(wine=level),
        "shared/recipes/sauce.yaml": recipe(
            "Sauce",
            [("product", "wine", sauce), ("product", "water", water)],
            makes=f"{float(sauce[:-2]) + float(water[:-2]):.10g} g",
        ),
    }
    one, found = served({"sauce": "{recipe: sauce}"}, {"sauce": "3.3 g"}, files)
    assert [s.level() for s in one.sums] == [Fraction(10), Fraction(10)]
    assert {f.presence for key, f in found.items() if key in ABOVE} == {ABSENT} and {
        f.presence for key, f in found.items() if key in FROM
    } == {CONTAINS}


def test_below_the_limit_the_arithmetic_is_shown():
    _, found = served({"sauce": "{product: sauce}"}, {"sauce": "10 g"}, pantry(sauce="10 mg/kg"))
    assert (
        "not above the limit of 10 mg/kg" in found["eu"].note
        and "0.1 mg from sauce in 10 g as served = 10 mg/kg" in found["eu"].note
    )
    assert found["eu"].reasons and found["us"].reasons


# --------------------------------------------------------------------------- plate and component


def test_a_component_above_the_limit_on_a_plate_below_it():
    """Each component as served counts for itself: it may be all a guest eats."""
    one, found = served(
        {"sauce": "{product: sauce}", "rest": "{product: water}"},
        {"sauce": "10 g", "rest": "990 g"},
        pantry(sauce="50 mg/kg"),
    )
    assert [(s.where, s.level()) for s in one.sums] == [("the plate", Fraction(1, 2)), ("sauce", Fraction(50))]
    assert {f.presence for f in found.values()} == {CONTAINS}


def test_two_components_add_up_on_the_plate():
    one, _ = served(
        {"one": "{product: one}", "two": "{product: two}"},
        {"one": "10 g", "two": "30 g"},
        pantry(one="8 mg/kg", two="9 mg/kg"),
    )
    assert [s.level() for s in one.sums] == [Fraction(35, 4), Fraction(8), Fraction(9)]


def test_reduction_concentrates():
    files = {
        **pantry(wine="6 mg/kg"),
        "shared/recipes/jus.yaml": recipe("Jus", [("product", "wine", "1000 g")], makes="500 g"),
    }
    one, found = served({"jus": "{recipe: jus}"}, {"jus": "20 g"}, files)
    assert one.sums[0].level() == 12 and {f.presence for f in found.values()} == {CONTAINS}


def test_no_credit_for_what_does_not_stay():
    """A brine that is poured away still counts in full: nobody has measured what went in."""
    files = {
        **pantry(brine="20 mg/kg"),
        "shared/recipes/turnip.yaml": recipe(
            "Turnip", [("product", "brine", "500 g, stays: 10 %"), ("product", "water", "500 g")], makes="1000 g"
        ),
    }
    one, _ = served({"turnip": "{recipe: turnip}"}, {"turnip": "20 g"}, files)
    assert one.sums[0].level() == 10


def test_a_level_holds_through_five_recipes():
    files = pantry(wine="500 mg/kg")
    for i in range(5):
        inner = ("product", "wine", "10 g") if i == 0 else ("recipe", f"r{i - 1}", "20 g")
        files[f"shared/recipes/r{i}.yaml"] = recipe(f"R {i}", [inner, ("product", "water", "30 g")], makes="40 g")
    one, _ = served({"top": "{recipe: r4}"}, {"top": "17 g"}, files)
    assert one.sums[0].level() == Fraction(500) * Fraction(10, 40) * Fraction(20, 40) ** 4


# --------------------------------------------------------------------------- missing figures mean declared


ALL = {CONTAINS}


def test_a_missing_level():
    _, found = served({"sauce": "{product: sauce}"}, {"sauce": "1 g"}, pantry(sauce=""))
    assert {f.presence for f in found.values()} == ALL
    assert "its level of sulphites is not known" in found["eu"].note and found["eu"].reasons


def test_a_ceiling_that_nobody_has_verified_takes_no_declaration_away():
    """A drop of ale in a litre of water: the catalogue's ceiling for ale is from memory, so it is no figure."""
    one, found = served(
        {"ale": "{ingredient: ale}", "water": "{product: water}"}, {"ale": "1 g", "water": "1000 g"}, pantry()
    )
    assert one.world.pantry.catalogue.find("ale").entry.so2_source == "memory"
    assert {f.presence for f in found.values()} == ALL and "its level of sulphites is not known" in found["eu"].note


def test_a_missing_amount_in_a_recipe():
    files = {
        **pantry(wine="1 mg/kg"),
        "shared/recipes/jus.yaml": recipe("Jus", [("product", "wine", "to taste")], makes="100 g"),
    }
    assert set(presence({"jus": "{recipe: jus}"}, {"jus": "10 g"}, files).values()) == ALL


def test_a_missing_yield():
    files = {
        **pantry(wine="1 mg/kg"),
        "shared/recipes/jus.yaml": recipe("Jus", [("product", "wine", "10 g")], makes="100 ml"),
    }
    # Without a density, 100 ml have no mass.
    assert set(presence({"jus": "{recipe: jus}"}, {"jus": "10 g"}, files).values()) == ALL


def test_pieces_without_a_weight():
    """What went into a recipe is more than what comes out of the oven: the pieces' mass is not known."""
    spec = poured({"cake": "{recipe: cake}"}).replace(
        "amount: 10 g, arrange: pool, across: 20 mm", "piece: {shape: disc, size: 20 mm}"
    )
    files = {
        **pantry(wine="9 mg/kg"),
        "shared/recipes/cake.yaml": recipe("Cake", [("product", "wine", "1000 g")], makes="10 pieces"),
    }
    for text, wanted in (
        (spec, ALL),
        (spec.replace("size: 20 mm", "size: 20 mm, weight: 80 g"), ALL),
        (spec.replace("size: 20 mm", "size: 20 mm, weight: 100 g"), {ABSENT}),
    ):
        one = prepared(text, files)
        said = {s.law.key: f.presence for s in one.statements for f in s.findings if f.allergen == "sulphite"}
        assert set(only_read(said).values()) == wanted


def test_what_depends_on_the_maker_is_not_established():
    assert set(presence({"prawn": "{ingredient: prawn}"}, {"prawn": "30 g"}, pantry()).values()) == {UNKNOWN}


def test_an_unknown_beside_a_level_over_the_limit_leaves_it_contained():
    found = presence({"prawn": "{ingredient: prawn}", "sauce": "{product: sauce}"}, {}, pantry(sauce="11 mg/kg"))
    assert set(found.values()) == ALL


# --------------------------------------------------------------------------- labels


def test_a_level_without_the_word_in_the_list():
    """The level is a statement of the label too; its reason is told, and a guest is told."""
    files = {
        KITCHEN: MANY,
        PANTRY: "products:\n  sauce: {called: sauce, label: {read: 2026-01-02, contains: [], sulphites: 12 mg/kg}}\n",
    }
    one, found = served({"sauce": "{product: sauce}"}, {"sauce": "10 g"}, files)
    assert {f.presence for f in found.values()} == ALL
    assert all("12 mg/kg of sulphites" in f.reasons[0][-1].words for f in found.values())
    asked = Asked(one.resolved, one.world.pantry, one.world.tracer, Shared(), {})
    assert asked.answer([Avoid("sulphites", ("sulphite",))]).answer == "cannot"


def test_the_label_replaces_the_upper_bound():
    files = {
        KITCHEN: MANY,
        PANTRY: (
            "products:\n  wine: {called: house wine, is: dry white wine, label: {read: 2026-01-02, contains:"
            " [sulphites], sulphites: 8 mg/kg}}\n"
        ),
    }
    one, _ = served({"wine": "{product: wine}"}, {"wine": "10 g"}, files)
    assert one.sums[0].level() == 8


def test_the_upper_bound_stands_where_the_label_gives_no_level():
    files = {
        KITCHEN: MANY,
        PANTRY: (
            "products:\n  wine: {called: house wine, is: dry white wine, label: {read: 2026-01-02, contains:"
            " [sulphites]}}\n"
        ),
    }
    one, _ = served({"wine": "{product: wine}"}, {"wine": "10 g"}, files)
    assert one.sums[0].level() == 253


def test_a_ceiling_of_the_european_union_binds_no_maker_elsewhere():
    """A drop of wine in a litre of water: 253 mg/kg is its ceiling in the EU and the United Kingdom alone
    (Delegated Regulation (EU) 2019/934, Annex I, Part B, A.1(b) and A.4, seen)."""
    files = {
        **pantry(),
        "shared/recipes/sauce.yaml": recipe(
            "Sauce", [("ingredient", "dry white wine", "1 g"), ("product", "water", "999 g")], makes="1000 g"
        ),
    }
    _, found = served({"a": "{recipe: sauce}"}, {"a": "20 g"}, files)
    assert {key for key, f in found.items() if f.presence == ABSENT} == set(ABOVE)
    assert "sets it no ceiling on file" in found["ca"].note


def test_a_level_by_the_litre():
    """9 mg in a litre that weighs 800 g are 11.25 mg/kg."""
    files = {
        KITCHEN: MANY,
        PANTRY: (
            "products:\n  spirit: {called: spirit, density: 0.8, label: {read: 2026-01-02, contains: [sulphites],"
            " sulphites: 9 mg/l}}\n"
        ),
    }
    one, _ = served({"spirit": "{product: spirit}"}, {"spirit": "10 g"}, files)
    assert one.sums[0].level() == Fraction(45, 4)


def test_a_label_that_says_may_contain_is_no_sum():
    files = {
        KITCHEN: MANY,
        PANTRY: "products:\n  fig: {called: fig, label: {read: 2026-01-02, contains: [], may_contain: [sulphites]}}\n",
    }
    one, found = served({"fig": "{product: fig}"}, {}, files)
    assert one.sums == () and {f.presence for f in found.values()} == {"may_contain"}


def test_what_the_text_of_a_label_names_is_counted_though_the_list_leaves_it_out():
    files = {
        KITCHEN: MANY,
        PANTRY: (
            'products:\n  apple: {called: apple, label: {read: 2026-01-02, contains: [], text: "Apple, preservative:'
            ' sodium metabisulphite."}}\n'
        ),
    }
    one, found = served({"apple": "{product: apple}"}, {}, files)
    assert {f.presence for f in found.values()} == ALL and "its level of sulphites is not known" in one.sums[
        0
    ].in_words()


@pytest.mark.parametrize("level", ["12 mgkg", "twelve", "12 mg", "mg/kg", ""])
def test_a_level_that_cannot_be_read_is_missing(level):
    files = {
        KITCHEN: MANY,
        PANTRY: f"products:\n  jam: {{called: jam, label: {{read: 2026-01-02, contains: [], sulphites: {level}}}}}\n",
    }
    one, found = served({"jam": "{product: jam}"}, {}, files)
    assert {f.presence for f in found.values()} == ALL and not one.is_sound


def test_a_level_of_nothing_beside_a_label_that_names_them_is_missing():
    for contains, expected in (("[sulphites]", ALL), ("[]", {ABSENT})):
        files = {
            KITCHEN: MANY,
            PANTRY: (
                f"products:\n  jam: {{called: jam, label: {{read: 2026-01-02, contains: {contains}, sulphites: 0"
                " mg/kg}}\n"
            ),
        }
        assert set(presence({"jam": "{product: jam}"}, {}, files).values()) == expected


# --------------------------------------------------------------------------- laws that count only what was added


def by_hand(*entries: tuple[Entry, int]):
    parts = tuple(
        Part(
            Component(e.id, e.name, Source("ingredient", e.name, HERE), "", HERE),
            Use(e, e.name, HERE, Fraction(g), Fraction(g)),
        )
        for e, g in entries
    )
    dish = Dish("case", "case", HERE, "", "", None, "", HERE, (), tuple(p.component for p in parts), (), ())
    resolved = Resolved(dish, parts, None)
    sums = sulphites.sums(resolved, TREE)
    found = {
        key: next(
            (
                f
                for f in derivation.derive(Tracer(TREE).dish(resolved), sums, laws.load(key)[0], TREE).findings
                if f.allergen == "sulphite"
            ),
            None,
        )
        for key in laws.names()
    }
    return sums, {key: f for key, f in found.items() if f is not None}


MUSHROOM = Entry(
    "m",
    "fermented mushroom",
    HERE,
    ("sulphite",),
    so2_mg_kg=Fraction(40),
    so2_read=True,
    so2_natural=True,
    source="practice",
)


def test_natural_sulphites_count_only_where_the_law_says_so():
    """Only added ones: B.01.010.2(2) in Canada (seen)."""
    sums, found = by_hand((MUSHROOM, 10))
    # Told of Australia, New Zealand and Korea as well, and not read in their laws.
    assert {key for key, f in found.items() if f.presence == ABSENT} == {"ca"}
    assert {f.presence for key, f in found.items() if key != "ca"} == ALL
    assert sums[0].level() == 40 and sums[0].level(only_added=True) == 0
    assert "only naturally present" in found["ca"].note


def test_natural_and_added_together():
    wine = Entry("w", "moon wine", HERE, ("sulphite",), so2_mg_kg=Fraction(19), so2_read=True, source="practice")
    sums, found = by_hand((MUSHROOM, 10), (wine, 10))
    assert [(s.level(), s.level(True)) for s in sums] == [(Fraction(59, 2), Fraction(19, 2)), (40, 0), (19, 19)]
    # The plate holds 9.5 mg/kg of added ones, but the wine as served 19.
    assert {f.presence for f in found.values()} == ALL


# --------------------------------------------------------------------------- worked values of the laws


@pytest.mark.parametrize(
    "wine_g, level, above", [(45, Fraction(45 * 203, 1000), ABSENT), (60, Fraction(60 * 203, 1000), CONTAINS)]
)
def test_red_wine_in_a_jus(wine_g, level, above):
    """Dry red wine, at most 150 mg/l and, where a member state allows it in a bad year, 200: Annex I, Part B, A.1(a)
    and A.4 of Delegated Regulation (EU) 2019/934 (seen), which the catalogue carries as 203 mg/kg, rounded up; 45 or
    60 g in 1 kg as served; Annex II, 12."""
    sums, _ = by_hand(
        (catalogue.load()[0].find("dry red wine").entry, wine_g),
        (Entry("j", "stock", HERE, source="practice"), 1000 - wine_g),
    )
    assert sums[0].level() == level and level >= Fraction(wine_g * 200, 990)
    # As a jus of its own, mixed and served, the same sum decides.
    files = {
        KITCHEN: MANY,
        "shared/recipes/jus.yaml": recipe(
            "Jus",
            [("ingredient", "dry red wine", f"{wine_g} g"), ("ingredient", "water", f"{1000 - wine_g} g")],
            makes="1000 g",
        ),
    }
    _, said = served({"jus": "{recipe: jus}"}, {"jus": "60 g"}, files)
    assert said["eu"].presence == above and said["us"].presence == said["ca"].presence == CONTAINS


def test_dried_apricots_in_couscous():
    """Up to 2000 mg/kg in dried apricots, 40 g in 200 g served: 400 mg/kg; Annex II, 12 and 21 CFR 130.9."""
    files = {
        KITCHEN: MANY,
        "shared/recipes/couscous.yaml": recipe(
            "Couscous", [("ingredient", "couscous", "160 g"), ("ingredient", "dried apricot", "40 g")], makes="200 g"
        ),
    }
    one, found = served({"couscous": "{recipe: couscous}"}, {"couscous": "200 g"}, files)
    assert one.sums[0].level() == 400 and {f.presence for f in found.values()} == ALL


def test_measured_at_ten_exactly():
    """ "More than" in Annex II, 12, "or more" in 21 CFR 130.9."""
    _, found = served({"jus": "{product: jus}"}, {"jus": "50 g"}, pantry(jus="10.0 mg/kg"))
    assert found["eu"].presence == ABSENT and found["us"].presence == CONTAINS


@pytest.mark.parametrize(
    "contains, figure, depends, level",
    [
        (("sulphite",), 19, (), 19),
        (("sulphite",), None, (), None),  # it is there, and nobody says how much
        ((), 19, (), 19),
        ((), 19, ("sulphite",), "none"),  # whether there are any depends on the maker: that is no sum
        ((), None, (), "none"),
        (("egg",), None, (), "none"),
    ],
)
def test_a_food_counts_by_its_figure_or_by_what_is_in_it(contains, figure, depends, level):
    food = Entry(
        "f",
        "moon food",
        HERE,
        contains,
        depends=depends,
        so2_mg_kg=None if figure is None else Fraction(figure),
        so2_read=True,
        source="practice",
    )
    sums, _ = by_hand((food, 10))
    assert [s.level() for s in sums] == ([] if level == "none" else [level, level])


@pytest.mark.parametrize(
    "first, second, level",
    [
        # The most that either brings; where one figure is missing, so is the whole.
        ("12 mg/kg", "30 mg/kg", 30),
        ("30 mg/kg", "12 mg/kg", 30),
        ("12 mg/kg", "", None),
        ("", "12 mg/kg", None),
        ("12 mg/kg", "none", 12),
        ("none", "none", "none"),
    ],
)
def test_of_a_thing_that_may_be_either_of_two_the_stronger_counts(first, second, level):
    files = pantry(**{k: v for k, v in (("one", first), ("two", second)) if v != "none"})
    for key, said in (("one", first), ("two", second)):
        if said == "none":
            files[PANTRY] += f"  {key}: {{called: {key}, label: {{read: 2026-01-02, contains: []}}}}\n"
    files[PANTRY] += "  any: {called: any, either: [one, two]}\n"
    one, found = served({"a": "{product: any}"}, {}, files)
    assert [s.level() for s in one.sums] == ([] if level == "none" else [level, level])
    present = {ABSENT} if level == "none" else {CONTAINS}
    assert {f.presence for f in found.values()} == present


def test_natural_and_added_ones_are_both_counted_unless_only_added_ones_are_asked_for():
    mushroom = Entry(
        "m",
        "moon mushroom",
        HERE,
        ("sulphite",),
        so2_mg_kg=Fraction(40),
        so2_read=True,
        so2_natural=True,
        source="practice",
    )
    (plate, _), _ = by_hand((mushroom, 10))
    assert plate.in_words() == "the plate: 0.4 mg from moon mushroom in 10 g as served = 40 mg/kg"
    assert len(plate.counted(False)) == 1 and plate.counted(True) == () and plate.level(True) == 0


def test_an_unknown_food_beside_a_wine_brings_nothing_that_could_be_counted():
    files = pantry(red="30 mg/kg")
    one, found = served({"a": "{product: red}", "b": "{ingredient: moon dust}"}, {}, files)
    assert [s.where for s in one.sums] == ["the plate", "a"] and one.sums[0].level() == 15
    assert {f.presence for f in found.values()} == ALL


def test_a_recipe_in_doubt_leaves_its_sulphites_open_wherever_the_doubt_is():
    """The water is not weighed: what the pot makes cannot be checked, so neither can what is in a gram of it."""
    lines = [("product", "red", "50 g"), ("product", "water", "to taste")]
    files = pantry(red="3 mg/kg")
    files["shared/recipes/pot.yaml"] = recipe("Pot", lines, makes="60 g", takes_up_water=False)
    for parts in ({"a": "{recipe: pot}"}, {"a": "{recipe: outer}"}):
        files["shared/recipes/outer.yaml"] = recipe("Outer", [("recipe", "pot", "50 g"), ("product", "water", "50 g")])
        one, found = served(parts, {}, files)
        assert one.sums[0].level() is None and {f.presence for f in found.values()} == ALL
