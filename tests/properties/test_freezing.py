"""The freezing curve of meat, its enthalpy, and what salt does to it."""

import numpy as np
import pytest

from dryingsim.properties import freezing, meat
from dryingsim.properties.freezing import FreezingMeat

LEAN = {"water": 0.73, "protein": 0.23, "fat": 0.03, "carbohydrate": 0.0, "ash": 0.01}
BEEF = freezing.freezing_meat(**LEAN)
T_F = float(BEEF.freezing_K)
KELVIN = 273.15 + np.concatenate([np.linspace(-39.9, -0.95, 60), np.linspace(-0.8, 25.0, 20)])
# ASHRAE Refrigeration ch. 9, examples 1 and 2 (from memory)
CARCASS = FreezingMeat(
    water=0.58, protein=0.1748, fat=0.2371, carbohydrate=0.0, ash=0.0081, freezing_K=271.45
)


def test_enthalpies_of_the_handbook_example():
    h = freezing.enthalpy(CARCASS, np.array([283.15, 271.45, 253.15])) / 1e3
    np.testing.assert_allclose(h, [279.7, 242.6, 48.8], atol=0.06)  # last printed digit


def test_ice_of_the_handbook_example():
    # printed 0.52
    assert freezing.ice_fraction_tchigeov(0.58, 271.45, 253.15) == pytest.approx(0.52, abs=0.005)


@pytest.mark.parametrize("food", [BEEF, CARCASS], ids=["lean", "carcass"])
def test_temperature_is_the_exact_inverse(food):
    np.testing.assert_allclose(freezing.temperature(food, freezing.enthalpy(food, KELVIN)), KELVIN, atol=1e-9)


def test_enthalpy_is_continuous_at_the_freezing_point_and_rises():
    near = freezing.enthalpy(BEEF, T_F + np.array([-1e-9, 1e-9]))
    assert np.diff(near)[0] == pytest.approx(0.0, abs=1e-2)
    assert (np.diff(freezing.enthalpy(BEEF, KELVIN)) > 0.0).all()


def test_heat_below_the_freezing_point_is_that_of_the_ice_and_of_the_solid():
    """Between two temperatures: latent heat of the new ice, and Chen's sensible part, nothing else."""
    warm, cold = T_F - 0.5, T_F - 4.0
    new_ice = freezing.ice_fraction(BEEF, cold) - freezing.ice_fraction(BEEF, warm)
    sensible = (1550.0 + 1260.0 * (1.0 - BEEF.water)) * (warm - cold)
    heat = freezing.enthalpy(BEEF, warm) - freezing.enthalpy(BEEF, cold)
    assert heat == pytest.approx(freezing.LATENT_HEAT_OF_FUSION * new_ice + sensible, rel=1e-12)


def test_no_ice_above_the_freezing_point_and_never_the_bound_water():
    assert freezing.ice_fraction(BEEF, T_F + 0.1) == 0.0
    assert freezing.ice_fraction(BEEF, 233.15) < BEEF.freezable < BEEF.water


def test_cryoscopic_constant_of_water():
    assert pytest.approx(1.86, abs=0.005) == freezing.CRYOSCOPIC  # K kg/mol, any textbook


def test_salt_and_sugar_lower_the_freezing_point_and_keep_the_sum():
    salted = freezing.freezing_meat(**LEAN, salt=0.02, sugar=0.01)
    parts = salted.water + salted.protein + salted.fat + salted.carbohydrate + salted.ash
    assert parts == pytest.approx(1.0, abs=1e-12)
    water = LEAN["water"] - 0.4 * LEAN["protein"]
    ideal = 1.86 * (2 * 0.92 * 20 / 58.44 + 10 / 342.3) / water  # per kg raw meat, in its free water
    assert T_F - salted.freezing_K == pytest.approx(ideal, rel=2e-3)
    assert freezing.ice_fraction(salted, 270.65) < 0.1 * freezing.ice_fraction(BEEF, 270.65)  # -2.5 degC


def test_conductivity_is_that_of_raw_meat_above_and_lies_between_the_limits_below():
    raw = meat.mixture(LEAN, 278.15)
    assert freezing.conductivity(BEEF, 278.15) == pytest.approx(raw.conductivity_levy, rel=1e-12)
    cold = np.array([270.0, 263.15, 243.15])
    ice = freezing.ice_fraction(BEEF, cold)
    all_parts = meat.mixture({**LEAN, "water": BEEF.water - ice, "ice": ice}, cold)
    k = freezing.conductivity(BEEF, cold)
    assert (all_parts.conductivity_series < k).all()
    assert (k < all_parts.conductivity_parallel).all()
    assert (np.diff(k) > 0.0).all()


def test_arrays_of_foods_broadcast():
    freezing_points = np.array([272.0, 271.0])
    two = FreezingMeat(**LEAN, freezing_K=freezing_points)
    both = freezing.enthalpy(two, np.array([[268.15], [278.15]]))
    assert both.shape == (2, 2)
    one = FreezingMeat(**LEAN, freezing_K=271.0)
    assert both[0, 1] == freezing.enthalpy(one, 268.15)
    assert both[1, 1] == freezing.enthalpy(one, 278.15)
