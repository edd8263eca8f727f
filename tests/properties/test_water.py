"""Water against the printed ASHRAE table, IAPWS-95 values, and CoolProp and psychrolib on the whole range."""

import numpy as np
import psychrolib
import pytest
from made_late import coolprop

from dryingsim.properties import water

ZERO = 273.15

# ASHRAE Fundamentals (2017) ch. 1, table 3, as printed. The tolerance is the one psychrolib's tests state
# for the same rows: the table is IAPWS-95, the formula Hyland & Wexler, and they differ by up to 300 ppm.
ASHRAE_TABLE_3 = [(-20, 103.24), (-5, 401.74), (5, 872.6), (25, 3169.7), (50, 12351.3), (100, 101418.0)]

# IAPWS-95 latent heat, kJ/kg, rounded to 0.1
IAPWS_LATENT = [
    (0, 2500.9),
    (20, 2453.5),
    (30, 2429.8),
    (40, 2406.0),
    (60, 2357.7),
    (80, 2308.0),
    (100, 2256.4),
]


@pytest.mark.parametrize(("celsius", "pascal"), ASHRAE_TABLE_3)
def test_saturation_pressure_matches_the_printed_table(celsius, pascal):
    assert water.saturation_pressure(celsius + ZERO) == pytest.approx(pascal, rel=3e-4)


@pytest.mark.parametrize(("celsius", "kilojoule"), IAPWS_LATENT)
def test_latent_heat_matches_iapws(celsius, kilojoule):
    # 0.01 % is what the module claims for its cubic; 0.05 is the rounding of the value
    assert water.latent_heat(celsius + ZERO) / 1e3 == pytest.approx(kilojoule, abs=1e-4 * kilojoule + 0.05)


def test_saturation_pressure_follows_iapws_from_freezing_to_150():
    t = np.linspace(0.5, 150.0, 60) + ZERO
    expected = np.array([coolprop.PropsSI("P", "T", x, "Q", 1, "Water") for x in t])
    np.testing.assert_allclose(water.saturation_pressure_liquid(t), expected, rtol=9e-4)


def test_latent_heat_follows_iapws_from_freezing_to_150():
    t = np.linspace(0.5, 150.0, 60) + ZERO
    vapour = np.array([coolprop.PropsSI("H", "T", x, "Q", 1, "Water") for x in t])
    liquid = np.array([coolprop.PropsSI("H", "T", x, "Q", 0, "Water") for x in t])
    np.testing.assert_allclose(water.latent_heat(t), vapour - liquid, rtol=1e-4)


def test_saturation_pressure_is_the_standard_formula_over_ice_and_liquid():
    psychrolib.SetUnitSystem(psychrolib.SI)
    t = np.array([-60.0, -10.0, -0.5, 0.5, 60.0, 150.0])
    expected = [psychrolib.GetSatVapPres(x) for x in t]  # the same formula, typed in by other hands
    np.testing.assert_allclose(water.saturation_pressure(t + ZERO), expected, rtol=1e-9)


def test_vapour_enthalpy_is_that_of_the_dilute_vapour():
    # IAPWS-95 at 100 Pa, where steam is an ideal gas; its specific heat rises by 3 % up to 150 degC (CoolProp), ours
    # is constant: 0.14 %
    t = np.linspace(1.0, 150.0, 34) + ZERO
    expected = np.array([coolprop.PropsSI("H", "T", x, "P", 100.0, "Water") for x in t])
    np.testing.assert_allclose(water.vapour_enthalpy(t), expected, rtol=1.5e-3)


def test_heat_of_evaporation_lies_near_the_latent_heat_of_saturated_steam():
    # the docstring's own figures: ideal-gas vapour against real saturated steam
    for celsius, excess in ((30.0, 6e-4), (60.0, 1.6e-3), (100.0, 5.3e-3)):
        ratio = water.heat_of_evaporation(celsius + ZERO) / water.latent_heat(celsius + ZERO)
        assert ratio - 1.0 == pytest.approx(excess, abs=1e-4)
    assert water.liquid_enthalpy(ZERO) == 0.0


def test_log_slope_is_the_derivative():
    t = np.linspace(263.15, 423.15, 41)
    h = 1e-3
    up, down = water.saturation_pressure_liquid(t + h), water.saturation_pressure_liquid(t - h)
    numeric = (np.log(up) - np.log(down)) / (2.0 * h)
    # central difference: truncation h^2/6 f''' is 1e-12, rounding 1e-16 * 12/h is 1e-12, slope about 0.05
    np.testing.assert_allclose(water.log_saturation_pressure_slope(t), numeric, rtol=1e-9)


def test_ice_and_liquid_meet_at_the_freezing_point():
    below = water.saturation_pressure(np.nextafter(ZERO, 0.0))
    assert below == pytest.approx(water.saturation_pressure(ZERO), rel=2e-4)
    cold = np.linspace(243.15, 272.0, 30)
    assert np.all(water.saturation_pressure(cold) < water.saturation_pressure_liquid(cold))


def test_saturation_pressure_rises_steadily():
    assert np.all(np.diff(water.saturation_pressure(np.linspace(200.0, 473.0, 2000))) > 0.0)


@pytest.mark.parametrize(
    "function",
    [
        water.saturation_pressure,
        water.saturation_pressure_liquid,
        water.log_saturation_pressure_slope,
        water.latent_heat,
        water.liquid_enthalpy,
        water.vapour_enthalpy,
    ],
)
def test_shape_in_is_shape_out(function):
    grid = np.linspace(280.0, 370.0, 6).reshape(2, 3)
    assert function(grid).shape == (2, 3)
    assert np.ndim(function(300.0)) == 0
    assert function(grid)[1, 2] == function(float(grid[1, 2]))
