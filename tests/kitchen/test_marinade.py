"""What meat takes up in a marinade: ingredients and their file, the slab in a finite bath, the dried product, nitrite."""

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest

from dryingsim.batch.catalog.ingredients import (
    SALT_PER_SODIUM,
    _file,
    all_ingredients,
    find_ingredient,
    start_text,
)
from dryingsim.batch.reading.marinade_file import load_marinade, parse_marinade
from dryingsim.batch.schema import Marinade
from dryingsim.errors import InputError
from dryingsim.kitchen import marinade as soak
from dryingsim.kitchen.marinade import marinate
from dryingsim.properties import soaking
from dryingsim.properties.finite_bath import concentration_share, finite_bath_roots, uptake_share

HEAD = """
[meat]
cut = "beef eye of round"
weight = "1 kg"
thickness = "6 mm"
[marinade]
time = "12 h"
"""
BRINE = '[[ingredient]]\nname = "water"\namount = "1 kg"\n[[ingredient]]\nname = "salt"\namount = "50 g"\n'


def recipe(rows=BRINE, head=HEAD):
    return parse_marinade(head + rows, "m.toml")


# --- the series ------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("alpha", [0.0, 0.1, 1.0, 10.0])
def test_roots_solve_their_equation_one_in_each_interval(alpha):
    q = finite_bath_roots(alpha)
    n = np.arange(1, q.size + 1)
    assert ((q >= (n - 0.5) * np.pi) & (q <= n * np.pi)).all()
    np.testing.assert_allclose(np.sin(q) + alpha * q * np.cos(q), 0.0, atol=1e-10 * (1 + alpha * n.max()))


@pytest.mark.parametrize("alpha", [0.2, 1.0, 5.0])
def test_uptake_rises_from_nothing_to_all_and_is_the_mean_of_the_profile(alpha):
    times = np.array([2e-3, 0.02, 0.1, 0.4, 1.5, 9.0])
    share = uptake_share(times, alpha)
    assert (np.diff(share) > 0.0).all()
    assert share[-1] == pytest.approx(1.0, abs=1e-8)
    place = (np.arange(2000) + 0.5) / 2000
    means = [concentration_share(place, t, alpha).mean() for t in times]
    np.testing.assert_allclose(means, share, atol=1e-5)  # even cells: second order


def test_nothing_is_lost_between_bath_and_meat():
    """What the face holds is in equilibrium with the bath, and the bath has lost what the meat gained."""
    alpha, t = 0.6, 0.05
    bath = (1.0 + alpha - uptake_share(t, alpha)) / alpha  # relative to the end
    assert concentration_share(1.0, t, alpha) == pytest.approx(bath, abs=1e-6)


def test_scalars_come_back_as_scalars():
    assert np.ndim(uptake_share(0.1, 1.0)) == 0
    assert np.ndim(concentration_share(0.5, 0.1, 1.0)) == 0


def test_time_goes_with_the_square_of_the_thickness():
    thin = marinate(replace(recipe(), thickness_m=0.003, time_s=3600.0)).chosen
    thick = marinate(replace(recipe(), thickness_m=0.006, time_s=4 * 3600.0)).chosen
    assert thin.salt == pytest.approx(thick.salt, rel=1e-9)
    assert thin.evenness == pytest.approx(thick.evenness, rel=1e-9)


# --- the answers -----------------------------------------------------------------------------------------------------


def test_end_is_the_closed_bag_balance():
    """Salt over all the water there is, the meat's water counting 0.95 of itself: by hand."""
    found = marinate(recipe())
    water, salt = 1.0 * 1.0 + 0.05 * 0.002, 0.05 * 38758e-5 * SALT_PER_SODIUM
    meat = 0.95 * found.recipe.composition.water
    assert found.final.salt == pytest.approx(salt * meat / (water + meat), rel=1e-9)
    assert found.alpha == pytest.approx(water / meat, rel=1e-12)
    low, high = found.chosen.salt_range
    assert low < found.chosen.salt < high


def test_warmer_is_faster_and_sugar_is_slower_than_salt():
    cold = marinate(replace(recipe(), time_s=3600.0)).chosen
    warm = marinate(replace(recipe(), time_s=3600.0, temperature_K=283.15)).chosen
    assert warm.salt > cold.salt
    sweet = marinate(
        recipe(BRINE + '[[ingredient]]\nname = "sugar"\namount = "50 g"\n', HEAD.replace("12 h", "1 h"))
    )
    assert sweet.chosen.sugar / sweet.final.sugar < 0.8 * sweet.chosen.salt / sweet.final.salt


def test_compared_times_and_own_time_each_once_in_order():
    assert [one.time_s / 3600 for one, _ in marinate(recipe()).compared] == [12.0, 24.0, 48.0]
    three = marinate(replace(recipe(), time_s=3 * 3600.0))
    assert [one.time_s / 3600 for one, _ in three.compared] == [3.0, 12.0, 24.0, 48.0]
    assert three.compared[0][0] == three.chosen


def test_profile_falls_towards_the_middle_and_is_even_in_the_end():
    early = marinate(replace(recipe(), time_s=1800.0)).profile
    assert [row[0] for row in early] == [0.0, 0.125, 0.25, 0.375, 0.5]
    assert all(a[1] > b[1] for a, b in pairwise(early))
    late = marinate(replace(recipe(), time_s=864000.0))
    np.testing.assert_allclose([row[1] for row in late.profile], late.final.salt, rtol=1e-3)


def test_water_follows_the_brine_and_what_was_weighed_counts():
    weak, strong = (
        marinate(recipe(BRINE.replace("50 g", amount))).final.water for amount in ("50 g", "300 g")
    )
    assert soaking.WATER_GAIN_RANGE[0] < weak < soaking.WATER_GAIN_RANGE[1]
    assert strong < 0.0
    weighed = marinate(recipe(head=HEAD + 'gained = "80 g/kg"\n')).chosen
    assert weighed.water + weighed.salt + weighed.sugar == pytest.approx(0.08, rel=1e-12)


def test_marinade_for_the_drying_model():
    found = marinate(recipe())
    one = found.chosen
    assert found.marinade == Marinade(salt_kg_kg=one.salt, sugar_kg_kg=one.sugar, water_kg_kg=one.water)


def test_drying_keeps_the_salt_and_concentrates_it():
    found = marinate(recipe())
    dried, one = found.dried, found.chosen
    assert dried.salt * dried.weight == pytest.approx(one.salt, rel=1e-12)
    solids = dried.weight * (1.0 - dried.moisture_wb)
    assert solids == pytest.approx(1.0 - found.recipe.composition.water + one.salt + one.sugar, rel=1e-12)
    assert dried.stronger == pytest.approx(dried.salt / (one.salt / (1 + one.salt + one.sugar + one.water)))
    drier = soak.dry(found.recipe.composition, one, 0.7)
    assert drier.weight < dried.weight
    assert drier.salt > dried.salt


def test_very_salty_meat_does_not_gain_water_by_drying():
    found = marinate(recipe('[[ingredient]]\nname = "salt"\namount = "240 g"\n'))
    assert found.dried.weight <= 1 + found.chosen.salt + found.chosen.water + 1e-12
    assert found.dried.stronger == pytest.approx(1.0)


def test_dry_rub_goes_in_whole():
    found = marinate(recipe('[[ingredient]]\nname = "salt"\namount = "20 g"\n'))
    assert found.final.salt == pytest.approx(found.bath.salt_kg, rel=1e-3)
    assert np.isfinite([found.chosen.salt, found.chosen.evenness, *found.profile[0]]).all()


def test_more_salt_than_all_the_water_dissolves_is_refused():
    with pytest.raises(InputError, match=r"hold 0\.49.* kg of salt, more than .* check their amounts"):
        marinate(recipe('[[ingredient]]\nname = "salt"\namount = "500 g"\n'))


# --- nitrite ---------------------------------------------------------------------------------------------------------


def cured(grams, form="sliced", liquid=True):
    rows = BRINE if liquid else '[[ingredient]]\nname = "salt"\namount = "20 g"\n'
    rows += f'[[ingredient]]\nname = "curing salt"\namount = "{grams} g"\n'
    return marinate(replace(recipe(rows), form=form)).nitrite


def test_no_nitrite_no_check():
    assert marinate(recipe()).nitrite is None


@pytest.mark.parametrize(
    ("form", "liquid", "limit"),
    [
        ("sliced", True, 200e-6),
        ("pounded", True, 200e-6),
        ("sliced", False, 625e-6),
        ("minced", True, 156e-6),
        ("minced", False, 156e-6),
    ],
)
def test_limit_is_that_of_the_method(form, liquid, limit):
    check = cured(1, form, liquid)
    assert check.limit == limit
    assert "9 CFR 424.21(c)" in check.rule


def test_ingoing_is_per_green_weight_and_the_verdict_cautious():
    check = cured(3)  # 3 g of 6.25 % on 1 kg
    assert check.all_in == pytest.approx(187.5e-6, rel=1e-9)
    assert check.verdict == "within"
    assert cured(4).verdict == "unclear"  # 250 ppm, of which the liquid may keep more than half
    assert cured(12).verdict == "above"
    assert cured(4, liquid=False).verdict == "within"
    assert not cured(4, liquid=False).within_home_limit  # dried, it is more than twice as strong
    assert check.finished > 2.0 * check.all_in


# --- ingredients and their file -------------------------------------------------------------------------------------


def test_every_ingredient_is_possible():
    for one in all_ingredients().values():
        assert 0.0 <= one.water + one.salt + one.sugar + one.acid + one.nitrite <= 1.0 + 1e-3, one.name
        assert one.kinds or 0.004 < one.tablespoon_kg < 0.025, one.name
        assert one.source


def test_salt_per_sodium():
    assert pytest.approx(2.54, abs=0.005) == SALT_PER_SODIUM  # as food labels convert


def test_start_file_is_read_and_stays_as_it_is():
    demo = parse_marinade(start_text(), "demo")
    assert demo.title == "Food lab: soy and brown sugar"
    assert len(demo.portions) == 5
    assert demo.weight_kg == pytest.approx(0.7)
    assert demo.portions[3].weight_kg == pytest.approx(0.0149, rel=1e-9)  # a tablespoon of vinegar, 14.9 g


@pytest.mark.parametrize(
    ("amount", "grams"),
    [("16 g", 16.0), ("1 tbsp", 16.0), ("3 tsp", 16.0), ("1/16 cup", 16.0), ("14.78676478125 mL", 16.0)],
)
def test_amounts_by_weight_and_by_volume_are_one(amount, grams):
    found = recipe(f'[[ingredient]]\nname = "Soy  Sauce"\namount = "{amount}"\n').portions[0]
    assert found.ingredient.name == "soy sauce"
    assert 1e3 * found.weight_kg == pytest.approx(grams, rel=1e-9)


def test_ingredient_by_its_label():
    rows = '[[ingredient]]\nname = "house sauce"\namount = "2 tbsp"\nwater = "60 %"\nsalt = "10 %"\ntablespoon = "17 g"\n'
    found = marinate(recipe(rows)).bath
    assert (found.weight_kg, found.water_kg, found.salt_kg) == pytest.approx((0.034, 0.0204, 0.0034))
    assert found.sugar_kg == found.acid_kg == found.nitrite_kg == 0.0


def test_own_composition_in_place_of_a_cut():
    head = HEAD.replace(
        'cut = "beef eye of round"',
        'composition = { water = "75 %", protein = "22 %", fat = "2 %", ash = "1 %" }',
    )
    assert recipe(head=head).composition.water == pytest.approx(0.75)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        (
            'name = "salt"',
            'name = "slat"',
            r"ingredient 2 \(slat\), name = 'slat' is not a known ingredient; did you mean",
        ),
        ('name = "salt"', 'name = "butter"', "'butter' is not a known ingredient; 'dryingsim marinate"),
        ('"50 g"', '"50"', "a weight or a volume with its unit is expected"),
        ('"50 g"', "50", "a weight or a volume with its unit is expected"),
        ('"50 g"', '"50 mm"', "a weight or a volume with its unit is expected"),
        ('"50 g"', '"0 g"', "an amount above nothing"),
        ('"50 g"', '"-1 tsp"', "an amount above nothing"),
        ('"50 g"', '"1 g 2 tsp"', "'tsp' measures a volume"),
        ('"50 g"', '"900 lb"', "up to 20 times the meat"),
        ('"50 g"', '"9000 lb"', "is outside 0 to 500 kg"),
        ('amount = "50 g"', "", "needs 'amount'"),
        ('name = "salt"', "", "ingredient 2 needs 'name'"),
        ('name = "salt"', 'name = "rub"\nsalt = "50 %"', "needs 'water': no label tells it"),
        ('amount = "50 g"', 'amount = "50 g"\nsugar = "5 %"', "sum to 103.7 %"),
        (
            'amount = "50 g"',
            'amount = "5 mL"\nwater = "5 %"\nsalt = "5 %"',
            "is a volume: give the weight of a level",
        ),
        ('amount = "50 g"', 'amount = "50 g"\nwater = "60 %"\nsalt = "50 %"', "sum to 110 %"),
        ('amount = "50 g"', 'amount = "50 g"\namuont = "5 g"', "has no key 'amuont'; did you mean 'amount'"),
        ("[[ingredient]]", "[ingredient]", "double brackets"),
        ('weight = "1 kg"', "", "needs 'weight'"),
        ('weight = "1 kg"', 'weight = "1 mm"', "'mm' measures a length"),
        ('thickness = "6 mm"', 'thickness = "6 m"', "is outside 0.5 mm to 150 mm"),
        ('time = "12 h"', 'time = "12"', "a duration with its unit"),
        ('time = "12 h"', 'time = "12 h"\ntemperature = "60 degC"', "is outside -2 degC to 25 degC"),
        ('cut = "beef eye of round"', 'cut = "beef"', "not a known cut"),
        ('cut = "beef eye of round"', "", "needs 'cut'"),
        ("[marinade]", "[marinad]", "has no key 'marinad'; did you mean 'marinade'"),
    ],
)
def test_each_slip_is_one_clear_line(old, new, says):
    text = HEAD + BRINE
    at = text.rindex(old)
    with pytest.raises(InputError, match=says) as caught:
        marinate(parse_marinade(text[:at] + new + text[at + len(old) :], "m.toml"))
    assert len(str(caught.value).splitlines()) == 1
    assert str(caught.value).startswith("m.toml")


def test_no_ingredients():
    with pytest.raises(InputError, match="there is no ingredient"):
        recipe("")


def test_file_that_is_not_there_or_not_text(tmp_path):
    with pytest.raises(InputError, match="writes one to start from"):
        load_marinade(tmp_path / "none.toml")
    (tmp_path / "b.toml").write_bytes(b"\xff\xfd\x00")
    with pytest.raises(InputError, match="not a text file"):
        load_marinade(tmp_path / "b.toml")
    with pytest.raises(InputError, match="this is a folder"):
        load_marinade(tmp_path)


def test_unknown_ingredient_says_where_to_look():
    with pytest.raises(InputError, match="--ingredients"):
        find_ingredient("here", "unobtainium")


def test_units_do_not_matter():
    us = (
        HEAD.replace("1 kg", "2.2046226218 lb")
        .replace("6 mm", "0.23622047244 inch")
        .replace("12 h", "720 min")
    )
    rows = BRINE.replace("1 kg", "35.27396195 oz").replace("50 g", "1.7636980975 oz")
    a, b = marinate(recipe()).chosen, marinate(recipe(rows, us)).chosen
    assert b.salt == pytest.approx(a.salt, rel=1e-8)
    assert math.isclose(a.evenness, b.evenness, rel_tol=1e-8)


# --- names as people say them ---------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("called", "name"),
    [
        ("low-sodium soy sauce", "soy sauce, reduced sodium"),
        ("Lower-Sodium Soy Sauce", "soy sauce, reduced sodium"),
        ("Apple Cider Vinegar", "cider vinegar"),
        ("table salt", "salt"),
        ("toasted sesame oil", "sesame oil"),
        ("rice wine vinegar", "rice vinegar"),
        ("aminos", "liquid aminos"),
        ("MSG", "glutamate"),
        ("bourbon", "whisky"),
        ("dry mustard", "mustard powder"),
        ("fine sea salt", "sea salt, fine"),
        ("freshly ground black pepper", "black pepper"),
        ("chipotle powder", "spice"),  # without the salt of a blend
    ],
)
def test_other_names_of_an_ingredient(called, name):
    assert find_ingredient("here", called).name == name


def test_no_two_ingredients_share_a_name():
    words = [word for row in _file()["ingredients"].values() for word in row.get("also", ())]
    names = [*all_ingredients(), *words, *_file()["ask"]]
    assert len(names) == len(set(names))
    assert all(name == " ".join(name.lower().replace("-", " ").split()) for name in [*words, *_file()["ask"]])


def test_kosher_salt_by_the_spoon_asks_which():
    with pytest.raises(
        InputError, match=r"hollow flakes' \(8.4 g a tablespoon\) or .*pressed flakes' \(14.4 g"
    ) as caught:
        recipe('[[ingredient]]\nname = "kosher salt"\namount = "1 tbsp"\n')
    assert "by weight" in str(caught.value)
    assert recipe('[[ingredient]]\nname = "kosher salt"\namount = "9 g"\n').portions[
        0
    ].weight_kg == pytest.approx(0.009)


def test_a_spoon_of_each_kosher_salt_is_its_own_weight():
    spoons = [
        recipe(f'[[ingredient]]\nname = "{name}"\namount = "2 tsp"\n').portions[0].weight_kg
        for name in ("kosher salt, hollow flakes", "kosher salt, pressed flakes", "salt")
    ]
    assert spoons == pytest.approx([5.6e-3, 9.6e-3, 12.0e-3], rel=1e-9)


@pytest.mark.parametrize(
    ("typed", "near"),
    [
        ("koshre salt", "kosher salt"),
        ("smoked salt", "salt"),
        ("raw honey", "honey"),
        ("rice vineger", "rice vinegar"),
    ],
)
def test_near_names_lead_to_the_right_ingredient(typed, near):
    with pytest.raises(InputError, match=f"did you mean '{near}'"):
        find_ingredient("here", typed)


@pytest.mark.parametrize(
    ("name", "says"),
    [
        ("pink salt", "never take one for the other"),
        ("seasoned rice vinegar", "from its label"),
        ("mirin", "label"),
        ("glycerol", "not in this model: .* known = false"),
        ("low-sodium tamari", "say 'tamari' and give the sodium"),
    ],
)
def test_what_cannot_be_told_by_its_name_is_asked_for(name, says):
    with pytest.raises(InputError, match=says):
        find_ingredient("here", name)


def test_to_taste_is_no_amount():
    with pytest.raises(InputError, match="how salty"):
        recipe('[[ingredient]]\nname = "salt"\namount = "to taste"\n')


@pytest.mark.parametrize(
    ("name", "mg_per_teaspoon", "share"),
    [
        ("liquid aminos", 315.0, 0.02),  # 310 and 320 mg in the two comparisons
        ("coconut aminos", 90.0, 0.02),
        (
            "kosher salt, hollow flakes",
            1120.0,
            0.04,
        ),  # a label: 280 mg in a quarter teaspoon of 0.7 g, from memory
        ("kosher salt, pressed flakes", 1920.0, 0.04),  # likewise, 480 mg in 1.2 g
    ],
)
def test_sodium_of_a_teaspoon_is_that_of_the_labels(name, mg_per_teaspoon, share):
    one = find_ingredient("here", name)
    assert 1e6 * one.salt / SALT_PER_SODIUM * one.tablespoon_kg / 3.0 == pytest.approx(
        mg_per_teaspoon, rel=share
    )


def labelled(*lines):
    rows = '[[ingredient]]\nname = "house sauce"\namount = "2 tbsp"\nwater = "60 %"\n' + "\n".join(lines)
    return recipe(rows + "\n").portions[0]


def test_an_ingredient_by_what_its_label_says_of_a_serving():
    portion = labelled('sodium = "900 mg per 15 mL"', 'sugar = "2 g per 15 mL"', 'tablespoon = "17 g"')
    sodium_kg = portion.weight_kg * portion.ingredient.salt / SALT_PER_SODIUM
    assert sodium_kg == pytest.approx(2.0 * 900e-6 * 14.78676 / 15.0, rel=1e-5)  # of two tablespoons
    assert portion.weight_kg * portion.ingredient.sugar == pytest.approx(4e-3 * 14.78676 / 15.0, rel=1e-5)
    by_weight = labelled('sodium = "6 g per 100 g"', 'tablespoon = "17 g"')
    assert by_weight.ingredient.salt == pytest.approx(0.06 * SALT_PER_SODIUM)


@pytest.mark.parametrize(
    ("typed", "plain"),
    [
        ("920 mg per tbsp", "920 mg per 1 tbsp"),
        ("920mg per 1 Tbsp.", "920 mg per 1 tbsp"),
        ("920 mg per 1 tbsp (15 mL)", "920 mg per 15 mL"),
        ("920 mg per serving (15 mL)", "920 mg per 15 mL"),
        ("920 mg / 15 ml", "920 mg per 15 mL"),
        ("6 g/100 g", "6 g per 100 g"),
        ("920 mg per ½ tbsp", "920 mg per 1/2 tbsp"),
        ("serving size 1 tbsp (15 mL), sodium 920 mg", "920 mg per 15 mL"),
        ("Serving size: 1 Tbsp. (15mL); Sodium: 920mg", "920 mg per 15 mL"),
    ],
)
def test_a_label_is_read_as_it_is_printed(typed, plain):
    read, meant = (labelled(f'sodium = "{text}"', 'tablespoon = "17 g"') for text in (typed, plain))
    assert read.ingredient.salt == meant.ingredient.salt > 0.0


def test_a_serving_by_weight_in_brackets_needs_no_spoon():
    rows = '[[ingredient]]\nname = "house sauce"\namount = "30 g"\nwater = "60 %"\nsodium = "{}"\n'
    one, other = (recipe(rows.format(text)) for text in ("900 mg per 1 tbsp (17 g)", "900 mg per 17 g"))
    assert one.portions == other.portions


@pytest.mark.parametrize(
    ("lines", "says"),
    [
        (['sodium = "900 mg per 15 mL"'], "is by volume: give the weight of a level tablespoon"),
        (['sodium = "900 mg per serving"', 'tablespoon = "17 g"'], "what a label says is expected"),
        (['sodium = "900 mg per 1 tbsp (50 mL)"', 'tablespoon = "17 g"'], "in brackets are not the same"),
        (
            ['sodium = "serving size 15 mL, sugar 2 g"', 'tablespoon = "17 g"'],
            "tells the sugar, not the sodium",
        ),
        (['sodium = "900 mg per 1,5 tbsp"', 'tablespoon = "17 g"'], "the decimal sign is a point"),
        (['sodium = "900 per 15 mL"', 'tablespoon = "17 g"'], "a weight with its unit is expected"),
        (['sodium = "90 g per 15 mL"', 'tablespoon = "17 g"'], "is outside 0 to 100 %"),
        (['sodium = "1 g per 0 g"', 'tablespoon = "17 g"'], "a serving above nothing"),
        (['sodium = "1 %"', 'salt = "1 %"', 'tablespoon = "17 g"'], "has both 'salt' and 'sodium'"),
        (['tablespoon = "17 g"'], "needs 'salt'"),
    ],
)
def test_slips_in_a_label_are_one_clear_line(lines, says):
    with pytest.raises(InputError, match=says) as caught:
        labelled(*lines)
    assert len(str(caught.value).splitlines()) == 1
