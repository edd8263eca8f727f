"""The sorption curve: its pieces against tables, its inverse, slopes, heat of sorption, the solver's table."""

import numpy as np
import pytest

from dryingsim.constants import GAS_CONSTANT
from dryingsim.errors import InputError
from dryingsim.properties import solutions
from dryingsim.properties import water_activity as wa
from dryingsim.properties.solutions import sodium_chloride_molality, sucrose_mole_fraction
from dryingsim.properties.water import saturation_pressure_liquid
from dryingsim.properties.water_activity import (
    DRIEST,
    WETTEST,
    Recipe,
    SorptionTable,
    equilibrium_moisture,
    moisture_at_reference,
    net_heat_of_sorption,
    water_activity,
)

RECIPES = {
    "unsalted": Recipe(protein=0.879),
    "salted": Recipe(protein=0.80, salt=0.08),
    "marinated": Recipe(protein=0.78, salt=0.06, sugar=0.05),
    "sweet": Recipe(protein=0.70, sugar=0.25),
}
TEMPERATURES = np.array([[268.15], [298.15], [333.15], [408.15]])
MOISTURES = np.geomspace(2e-3, 15.0, 60)

recipes = pytest.mark.parametrize("recipe", RECIPES.values(), ids=RECIPES.keys())


# --- sodium chloride and sugar by themselves ----------------------------------------------------------------
# Osmotic coefficients of NaCl at 25 degC, Robinson & Stokes. The value at 6 mol/kg was read in a
# water-activity instrument manual, the others are from memory. Pitzer's equation is a fit; it is stated to
# 0.2 % of phi.
ROBINSON_STOKES = [(0.1, 0.9324), (0.5, 0.9209), (1.0, 0.9355), (3.0, 1.0453), (5.0, 1.1916), (6.0, 1.271)]


@pytest.mark.parametrize(("molality", "osmotic"), ROBINSON_STOKES)
def test_sodium_chloride_against_robinson_and_stokes(molality, osmotic):
    y = 2.0 * molality * osmotic * 0.0180153
    assert sodium_chloride_molality(y)[0] == pytest.approx(molality, rel=2e-3)


def test_worked_example_of_a_brine():
    # Pitzer with the printed coefficients, by hand (sorption digest, section 2, worked example A): 3.00
    # mol/kg, 17.53 g per 100 g of water, phi 1.0457, ln a_w -0.1130, a_w 0.8931. Tolerance: the last digit,
    # over the slope.
    molality, slope = sodium_chloride_molality(-np.log(0.8931))
    assert molality == pytest.approx(3.00, abs=0.00005 / 0.8931 * slope + 0.0005)
    assert 100.0 * molality * solutions.MOLAR_MASS_SALT == pytest.approx(17.53, abs=0.01)


def test_saturated_brine_stands_where_greenspan_measured_it():
    # Greenspan (1977): 0.7528 at 25 degC. The solubility of NaCl at 25 degC is 6.15 mol/kg (35.9 g per 100 g
    # of water, from memory, +-0.03 between tables); Pitzer's fit ends at 6 mol/kg and is good to 0.2 % of phi
    # there.
    molality, slope = sodium_chloride_molality(-np.log(0.7528))
    assert molality == pytest.approx(6.15, abs=0.03 + 2e-3 * -np.log(0.7528) * slope)


def test_salt_is_dissolved_above_the_saturated_brine_and_crystallised_below():
    def salt_water(activity):
        y = -np.log(activity)
        both = moisture_at_reference(y, Recipe(protein=0.8, salt=0.1))[0]
        return both - moisture_at_reference(y, Recipe(protein=0.8))[0]

    full = 0.1 / solutions.MOLAR_MASS_SALT / sodium_chloride_molality(-np.log(np.array([0.7528, 0.80])))[0]
    assert salt_water(0.80) == pytest.approx(full[1], rel=0.01)
    assert salt_water(0.7528) == pytest.approx(0.5 * full[0], rel=1e-6)  # the middle of the blended step
    assert salt_water(0.70) < 0.01 * full[0]


# Aqueous sucrose by Norrish's equation with K = 6.47 (sorption digest, sorption_sugar_aw_norrish.csv;
# computed there apart from this code, printed with four digits).
@pytest.mark.parametrize(
    ("grams", "activity"), [(10, 0.9946), (60, 0.9635), (100, 0.9348), (200, 0.8532), (300, 0.7657)]
)
def test_sucrose_against_norrish(grams, activity):
    moles, water = grams / 342.30, 100.0 / 18.015268
    fraction, slope = sucrose_mole_fraction(-np.log(activity))
    assert fraction == pytest.approx(moles / (moles + water), abs=0.00006 / activity * slope)


@pytest.mark.parametrize("y", [1e-6, 1e-3, 0.05, 0.3, 0.9])
def test_newton_iterations_of_the_parts_have_converged(y):
    molality, _ = sodium_chloride_molality(y)
    assert solutions._depression(molality) == pytest.approx(y, rel=1e-12)
    x, _ = sucrose_mole_fraction(y)
    assert -np.log1p(-x) + 6.47 * x * x == pytest.approx(y, rel=1e-12)  # Norrish as published


@pytest.mark.parametrize("function", [sodium_chloride_molality, sucrose_mole_fraction])
def test_slopes_of_the_parts_are_derivatives(function):
    y = np.geomspace(1e-3, 1.0, 30)
    h = 1e-5 * y
    numeric = (function(y + h)[0] - function(y - h)[0]) / (2.0 * h)
    np.testing.assert_allclose(function(y)[1], numeric, rtol=1e-7)  # truncation h^2, rounding 1e-16/1e-5


# --- the curve ----------------------------------------------------------------------------------------------
# The working curve per kg of protein (sorption digest, section 1, sorption_derived_lean_beef_curve.csv:
# worked out there apart from this code, printed with four decimals).
@pytest.mark.parametrize(
    ("activity", "moisture"),
    [
        (0.113, 0.0429),
        (0.328, 0.0817),
        (0.529, 0.1273),
        (0.753, 0.2401),
        (0.85, 0.3672),
        (0.95, 0.8177),
        (0.99, 2.4807),
    ],
)
def test_curve_of_unsalted_lean_solids(activity, moisture):
    assert equilibrium_moisture(activity, 298.15, Recipe(protein=1.0)) == pytest.approx(moisture, abs=0.00006)


def test_worked_example_of_a_jerky(monkeypatch):
    # Sorption digest, section 2, worked example B: 100 g with water 31, protein 48.8, NaCl 5, sucrose 6.
    # Additive model a_w 0.785, of which salt 15.6, protein 9.6, native solutes 3.6, sugar 2.2 g of water.
    dry = 48.8 + 5.0 + 6.0
    protein, salt, sugar, moisture = (part / dry for part in (48.8, 5.0, 6.0, 31.0))
    jerky = Recipe(protein=protein, salt=salt, sugar=sugar)
    blended = water_activity(moisture, 298.15, jerky)
    monkeypatch.setattr(wa, "SALT_BLEND", 1e-3)  # the example has all salt dissolved down to saturation
    activity = water_activity(moisture, 298.15, jerky)
    assert activity == pytest.approx(0.785, abs=0.0005)
    y = -np.log(activity)
    base = moisture_at_reference(y, Recipe(protein=protein))[0]
    with_salt = moisture_at_reference(y, Recipe(protein=protein, salt=salt))[0]
    with_sugar = moisture_at_reference(y, Recipe(protein=protein, sugar=sugar))[0]
    native = protein * wa.NATIVE_SOLUTES * 0.018015 / y
    # tolerance: half a digit, and what half a digit of a_w means for each part (they change by 2-5 % per
    # 0.01)
    assert dry * (with_salt - base) == pytest.approx(15.6, abs=0.1)
    assert dry * (base - native) == pytest.approx(9.6, abs=0.1)
    assert dry * native == pytest.approx(3.6, abs=0.1)
    assert dry * (with_sugar - base) == pytest.approx(2.2, abs=0.1)
    # As shipped, the step is blended: at this activity a little of the salt has crystallised already.
    monkeypatch.undo()
    solid = 1.0 / (1.0 + np.exp((-np.log(0.7528) - y) / 0.01))
    lost = solid * (with_salt - base)
    assert moisture_at_reference(y, jerky)[0] == pytest.approx(moisture - lost, rel=1e-6)
    assert 0.0 < blended - activity < 0.002


def test_raw_meat_lies_at_the_measured_water_activity():
    # raw eye of round, water 73.4 %, protein 23.4 %: measured 0.99 (two digits)
    assert water_activity(73.4 / 26.6, 298.15, Recipe(protein=23.4 / 26.6)) == pytest.approx(0.99, abs=0.005)


@recipes
def test_inverse_is_exact(recipe):
    activity = water_activity(MOISTURES, TEMPERATURES, recipe)
    back = equilibrium_moisture(activity, TEMPERATURES, recipe)
    np.testing.assert_allclose(back, np.broadcast_to(MOISTURES, back.shape), rtol=1e-8)


@recipes
def test_inverse_is_exact_the_other_way_round(recipe):
    # from a_w: the range of the package, less what would need more than 20 kg/kg
    activity = np.linspace(0.05, 0.995, 60)
    back = water_activity(equilibrium_moisture(activity, TEMPERATURES, recipe), TEMPERATURES, recipe)
    np.testing.assert_allclose(back, np.broadcast_to(activity, back.shape), atol=1e-8)


@recipes
def test_water_activity_rises_with_moisture(recipe):
    activity = water_activity(np.geomspace(2e-3, 15.0, 400), TEMPERATURES, recipe)
    assert np.all(np.diff(activity, axis=1) > 0.0)
    assert activity.min() > 0.0
    assert activity.max() < 1.0


@recipes
def test_slope_of_the_curve_is_its_derivative(recipe):
    y = np.geomspace(5e-3, 3.0, 200)
    h = 1e-6 * y
    numeric = (moisture_at_reference(y + h, recipe)[0] - moisture_at_reference(y - h, recipe)[0]) / (2.0 * h)
    # truncation: the salt step is 0.01 wide, so h^2/6 f'''/f' is below (3e-7/0.01)^2; rounding 1e-16/1e-6
    np.testing.assert_allclose(moisture_at_reference(y, recipe)[1], numeric, rtol=1e-8)


def test_salt_and_sugar_lower_the_water_activity_at_a_given_moisture():
    moisture = np.array([0.4, 0.8, 2.0])
    plain = water_activity(moisture, 298.15, Recipe(protein=0.8))
    for more in (Recipe(protein=0.8, salt=0.05), Recipe(protein=0.8, sugar=0.05)):
        assert np.all(water_activity(moisture, 298.15, more) < plain)
    little = water_activity(moisture, 298.15, Recipe(protein=0.8, salt=0.05))
    assert np.all(water_activity(moisture, 298.15, Recipe(protein=0.8, salt=0.10)) < little)


def test_recipes_broadcast_with_moisture():
    several = Recipe(protein=np.array([0.8, 0.7]), salt=np.array([0.0, 0.1]), sugar=np.array([0.0, 0.05]))
    both = water_activity(np.array([[0.3], [1.0]]), 298.15, several)
    assert both.shape == (2, 2)
    assert both[1, 1] == pytest.approx(water_activity(1.0, 298.15, Recipe(0.7, 0.1, 0.05)), rel=1e-12)


@pytest.mark.parametrize("moisture", [-1.0, 0.0, np.nan, np.array([0.5, -0.1])])
def test_no_moisture_has_no_water_activity(moisture):
    with pytest.raises(InputError, match="above 0 everywhere"):
        wa.water_activity(moisture, 298.15, Recipe(protein=0.879))


@pytest.mark.parametrize("percent", [85.0, 1.0, 0.0, np.nan])
def test_a_water_activity_is_a_fraction(percent):
    with pytest.raises(InputError, match="not in percent"):
        wa.equilibrium_moisture(percent, 298.15, Recipe(protein=0.879))


# --- heat of sorption ---------------------------------------------------------------------------------------
@recipes
def test_heat_of_sorption_and_temperature_obey_clausius_and_clapeyron(recipe):
    """q = -R d(ln a_w)/d(1/T) at constant moisture, by differences of the curve itself."""
    t = np.array([[273.15], [313.15], [393.15]])
    h = 1e-2
    up, down = (np.log(water_activity(MOISTURES, t + s, recipe)) for s in (h, -h))
    numeric = -GAS_CONSTANT * (up - down) / (1.0 / (t + h) - 1.0 / (t - h))
    y0 = -np.log(water_activity(MOISTURES, 298.15, recipe))
    expected = np.broadcast_to(net_heat_of_sorption(y0), numeric.shape)
    # differences of ln a_w carry 1e-12 (the Newton tolerance) over 2e-7 of 1/T, times R: some 1e-4 J/mol
    np.testing.assert_allclose(numeric, expected, rtol=1e-7, atol=1e-3)


def test_heat_of_sorption_has_the_published_shape():
    # Clemente et al. (2009), pork: none above X = 0.15, rising below. The module states 1.1, 2.4 and 7.5
    # kJ/mol.
    lean = Recipe(protein=0.879)
    heat = net_heat_of_sorption(-np.log(water_activity(np.array([0.15, 0.10, 0.05]), 298.15, lean)))
    np.testing.assert_allclose(heat / 1e3, [1.1, 2.4, 7.5], atol=0.05)
    assert net_heat_of_sorption(-np.log(water_activity(1.0, 298.15, lean))) < 50.0  # 0.1 % of the latent heat


def test_temperature_does_not_move_the_curve_at_its_reference():
    y0 = 0.7
    x = moisture_at_reference(y0, RECIPES["marinated"])[0]
    assert water_activity(x, 298.15, RECIPES["marinated"]) == pytest.approx(np.exp(-y0), rel=1e-11)
    assert water_activity(x, 340.0, RECIPES["marinated"]) > np.exp(-y0)


# --- the table of the solver --------------------------------------------------------------------------------
TABLE = SorptionTable(list(RECIPES.values()))
LOW, HIGH = DRIEST, WETTEST


@pytest.mark.parametrize("row", range(len(RECIPES)), ids=RECIPES.keys())
def test_table_deviates_from_the_curve_by_less_than_it_states(row):
    x = np.geomspace(1.0001 * LOW, 0.9999 * HIGH, 8000)  # five to a piece: not only its ends
    t = np.full_like(x, 333.15)
    got = TABLE.log_activity(x, t, np.full(x.size, row))
    exact = water_activity(x, t, list(RECIPES.values())[row])
    assert np.max(np.abs(np.exp(got) - exact)) < 1e-6
    at_reference = water_activity(x, 298.15, list(RECIPES.values())[row])
    heat = GAS_CONSTANT * t * t * TABLE.slopes(x, t, np.full(x.size, row))[1]
    np.testing.assert_allclose(heat, net_heat_of_sorption(-np.log(at_reference)), rtol=1e-4, atol=1e-2)


@pytest.mark.parametrize("row", range(len(RECIPES)), ids=RECIPES.keys())
def test_slopes_of_the_table_are_its_derivatives(row):
    x, t, rows = np.geomspace(3e-3, 15.0, 300), np.full(300, 340.0), np.full(300, row)
    by_moisture, by_temperature = TABLE.slopes(x, t, rows)
    h = 1e-6 * x
    numeric = (TABLE.log_activity(x + h, t, rows) - TABLE.log_activity(x - h, t, rows)) / (2.0 * h)
    # second differences jump where two pieces meet: one point in some 10^3 straddles one, by up to 1e-6 of
    # curvature
    np.testing.assert_allclose(by_moisture, numeric, rtol=1e-5)
    numeric = (TABLE.log_activity(x, t + 1e-2, rows) - TABLE.log_activity(x, t - 1e-2, rows)) / 2e-2
    np.testing.assert_allclose(by_temperature, numeric, rtol=1e-6, atol=1e-12)


def test_table_is_monotone():
    x = np.geomspace(LOW, HIGH, 20000)
    for row in range(len(RECIPES)):
        log_activity = TABLE.log_activity(x, np.full_like(x, 298.15), np.full(x.size, row))
        assert np.all(np.diff(log_activity) > 0.0)


def test_rows_of_the_table_are_the_recipes():
    x = np.full((5, len(RECIPES)), 0.5)
    log_activity = TABLE.log_activity(x, np.full_like(x, 300.0), np.arange(len(RECIPES)))
    assert log_activity.shape == x.shape
    expected = [water_activity(0.5, 300.0, r) for r in RECIPES.values()]
    np.testing.assert_allclose(np.exp(log_activity[2]), expected, atol=1e-6)


def test_trial_states_beyond_the_table_take_its_ends():
    x = np.array([-1.0, 0.0, 0.5 * LOW, 50.0, np.nan])
    got = TABLE.log_activity(x, np.full(5, 300.0), np.zeros(5, dtype=int))
    ends = TABLE.log_activity(np.array([LOW, HIGH]), np.full(2, 300.0), np.zeros(2, dtype=int))
    np.testing.assert_array_equal(got[:4], ends[[0, 0, 0, 1]])


@recipes
def test_table_reaches_below_what_the_driest_hot_air_leaves(recipe):
    # Air of a dry, cool room (20 %, 18 degC: 413 Pa) heated to 150 degC. Below the table's end the water
    # activity no longer falls, so a face that is to end there would dry on into negative moisture.
    activity = 413.0 / saturation_pressure_liquid(423.15)
    assert equilibrium_moisture(activity, 423.15, recipe) > LOW


@pytest.mark.parametrize("share", [80.0, np.nan, -0.8, "0.8", None])
@pytest.mark.parametrize("name", ["protein", "salt", "sugar"])
def test_shares_that_cannot_be_are_refused(name, share):
    with pytest.raises(InputError, match=f"Recipe, {name} = {share}: a share from 0 to 1 is expected"):
        Recipe(**({"protein": 0.8} | {name: share}))
