"""Moist air against textbook examples, CoolProp (real gas) and psychrolib, and against itself."""

import numpy as np
import psychrolib
import pytest
from made_late import coolprop, humid_air

from dryingsim.properties import air_transport, atmosphere, moist_air, water

ZERO = 273.15
SEA = 101325.0


def humid(output, celsius, relative_humidity, pressure):
    """CoolProp's humid air over broadcast arrays."""
    grid = np.broadcast_arrays(np.asarray(celsius) + ZERO, relative_humidity, pressure)
    values = [
        humid_air.HAPropsSI(output, "T", t, "R", r, "P", p)
        for t, r, p in zip(*map(np.ravel, grid), strict=True)
    ]
    return np.reshape(values, grid[0].shape)


# a grid over the range below the boiling point: temperature x humidity x pressure
CELSIUS = np.array([5.0, 20.0, 40.0, 60.0, 70.0, 80.0])[:, None, None]
HUMIDITY = np.array([0.02, 0.1, 0.3, 0.6, 0.95])[None, :, None]
PRESSURE = np.array([60e3, 80e3, SEA, 105e3])[None, None, :]
# every state from bone dry to saturated (or pure vapour above boiling) over the whole stated range
T_ALL = np.linspace(-10.0, 150.0, 65)[:, None, None] + ZERO
SHARE = np.concatenate([[0.0, 1e-6, 1e-3], np.linspace(0.01, 0.99, 25), [0.9999, 1.0]])[None, :, None]
V_ALL = SHARE * np.minimum(water.saturation_pressure_liquid(T_ALL), PRESSURE)


# --- worked examples ----------------------------------------------------------------------------------------


def test_chart_example_dry_bulb_40_wet_bulb_20():
    # ASHRAE Fundamentals ch. 1, example 1: W 0.0065, dew point 7 degC, RH 14 %, h 56.7 kJ/kg, v 0.896 m3/kg;
    # read from a chart, so each within half a unit of its last digit
    vapour = moist_air.vapour_pressure_from_wet_bulb(40 + ZERO, 20 + ZERO, SEA)
    ratio = moist_air.humidity_ratio(vapour, SEA)
    assert ratio == pytest.approx(0.0065, abs=1e-4)
    assert moist_air.dew_point(vapour) - ZERO == pytest.approx(7.0, abs=0.5)
    assert moist_air.relative_humidity(vapour, 40 + ZERO) == pytest.approx(0.14, abs=0.005)
    assert moist_air.enthalpy(40 + ZERO, ratio) / 1e3 == pytest.approx(56.7, abs=0.15)
    assert (1 + ratio) / moist_air.density(40 + ZERO, vapour, SEA) == pytest.approx(0.896, abs=5e-4)


def test_adiabatic_saturation_of_room_air():
    # Cengel & Boles, example 14.3: 25/15 degC gives W 0.00653, RH 0.332, h 41.8 kJ/kg (last digits; the
    # book's own steam table shifts W by 1e-5)
    vapour = moist_air.vapour_pressure_from_wet_bulb(25 + ZERO, 15 + ZERO, SEA)
    ratio = moist_air.humidity_ratio(vapour, SEA)
    assert ratio == pytest.approx(0.00653, abs=2e-5)
    assert moist_air.relative_humidity(vapour, 25 + ZERO) == pytest.approx(0.332, abs=1e-3)
    assert moist_air.enthalpy(25 + ZERO, ratio) / 1e3 == pytest.approx(41.8, abs=0.1)


def test_air_of_75_percent():
    # Cengel & Boles, example 14.1: 25 degC, RH 75 %, 100 kPa: dry air 97.62 kPa, W 0.0152
    vapour = moist_air.vapour_pressure_from_relative_humidity(0.75, 25 + ZERO)
    assert (100e3 - vapour) / 1e3 == pytest.approx(97.62, abs=0.005)
    assert moist_air.humidity_ratio(vapour, 100e3) == pytest.approx(0.0152, abs=1e-4)


@pytest.mark.parametrize(
    ("celsius", "ratio", "wet", "saturated"),
    [
        (87.8, 0.0300, 40.5, 0.0505),  # Geankoplis, example 9.3-3
        (65.0, 0.0170, 32.0, 0.0309),  # Treybal, example 7.13
    ],
)
def test_adiabatic_saturators_read_from_charts(celsius, ratio, wet, saturated):
    got = moist_air.wet_bulb(celsius + ZERO, moist_air.vapour_pressure(ratio, SEA), SEA)
    assert got - ZERO == pytest.approx(wet, abs=0.3)  # a chart is read to 0.3 K, which is 0.0005 in humidity
    assert moist_air.humidity_ratio(water.saturation_pressure(got), SEA) == pytest.approx(saturated, abs=5e-4)


def test_humid_heat_and_humid_volume():
    # Geankoplis, example 9.3-2: 60 degC, dew point 26.7 degC: H 0.0225, humid heat 1.047, volume 0.977
    vapour = water.saturation_pressure(26.7 + ZERO)
    ratio = moist_air.humidity_ratio(vapour, SEA)
    assert ratio == pytest.approx(0.0225, abs=3e-4)  # the book reads the chart
    assert moist_air.specific_heat(vapour, SEA) * (1 + ratio) / 1e3 == pytest.approx(1.047, abs=2e-3)
    assert (1 + ratio) / moist_air.density(60 + ZERO, vapour, SEA) == pytest.approx(0.977, abs=2e-3)


@pytest.mark.parametrize(
    ("metres", "pascal"), [(-500, 107477.5), (0, 101325), (1500, 84555.9), (3000, 70108.4), (5000, 54019.8)]
)
def test_standard_atmosphere(metres, pascal):
    # ICAO standard atmosphere; the power law's rounded constants stay within 10 ppm
    assert atmosphere.standard_pressure(metres) == pytest.approx(pascal, rel=1e-5)


@pytest.mark.parametrize(("celsius", "square_mm"), [(20, 24.42), (60, 30.54), (95, 36.37)])
def test_diffusivity_agrees_with_an_independent_correlation(celsius, square_mm):
    # Fuller, Schettler & Giddings, computed apart: exponent 1.75 instead of 2.07, so 6 % apart at 95 degC
    assert air_transport.vapour_diffusivity(celsius + ZERO, SEA) * 1e6 == pytest.approx(square_mm, rel=0.07)
    assert air_transport.vapour_diffusivity(300.0, SEA / 2) == pytest.approx(
        5.08e-5, rel=2e-3
    )  # Cengel 14.10, doubled


# --- other libraries ----------------------------------------------------------------------------------------


def test_left_out_enhancement_is_below_0_6_percent():
    # what rounds to 0.6 %; the saturation formula is within 0.03 % of IAPWS-95 here, hence the lower limit
    ours = moist_air.vapour_pressure_from_relative_humidity(HUMIDITY, CELSIUS + ZERO)
    real = humid("P_w", CELSIUS, HUMIDITY, PRESSURE)
    assert np.all(real >= ours * (1 - 3e-4))
    assert np.all(real <= ours * 1.0065)


def test_state_against_the_real_gas():
    vapour = humid("P_w", CELSIUS, HUMIDITY, PRESSURE)
    ratio = moist_air.humidity_ratio(vapour, PRESSURE)
    np.testing.assert_allclose(ratio, humid("W", CELSIUS, HUMIDITY, PRESSURE), rtol=1e-5)  # molar masses only
    # second virial coefficient of vapour -6.6e-4 m3/mol at 80 degC: y^2 B p/(R T) = 0.8 % at y = 0.75, 60 kPa
    volume = (1 + ratio) / moist_air.density(CELSIUS + ZERO, vapour, PRESSURE)
    np.testing.assert_allclose(volume, humid("Vda", CELSIUS, HUMIDITY, PRESSURE), rtol=8e-3)
    # the package's vapour enthalpy is up to 0.35 % below the real one at 80 degC; 100 J/kg near zero
    expected = humid("Hda", CELSIUS, HUMIDITY, PRESSURE)
    np.testing.assert_allclose(moist_air.enthalpy(CELSIUS + ZERO, ratio), expected, rtol=4e-3, atol=100.0)


def test_wet_bulb_against_the_real_gas():
    # half a percent of saturation pressure (enhancement factor) is 0.1 K; the rest is the constant specific heats
    vapour = humid("P_w", CELSIUS[1:], HUMIDITY, PRESSURE)
    got = moist_air.wet_bulb(CELSIUS[1:] + ZERO, vapour, PRESSURE)
    expected = humid("B", CELSIUS[1:], HUMIDITY, PRESSURE)
    liquid = expected > ZERO + 0.5  # below, the other library freezes its bulb
    np.testing.assert_allclose(got[liquid], expected[liquid], rtol=0, atol=0.15)


@pytest.mark.parametrize("celsius", [105.0, 120.0, 150.0])
def test_wet_bulb_of_oven_air_against_the_real_gas(celsius):
    fraction = np.array([0.02, 0.1, 0.3, 0.6, 0.9])
    expected = [humid_air.HAPropsSI("B", "T", celsius + ZERO, "psi_w", y, "P", SEA) for y in fraction]
    got = moist_air.wet_bulb(celsius + ZERO, fraction * SEA, SEA)
    np.testing.assert_allclose(got, expected, rtol=0, atol=0.15)


def test_wet_and_dew_point_against_psychrolib():
    psychrolib.SetUnitSystem(psychrolib.SI)
    for celsius in (15.0, 40.0, 68.0, 90.0):
        for share in (0.05, 0.4, 0.9):
            vapour = share * water.saturation_pressure(celsius + ZERO)
            ratio = moist_air.humidity_ratio(vapour, SEA)
            dew = psychrolib.GetTDewPointFromVapPres(celsius, vapour)
            assert moist_air.dew_point(vapour) - ZERO == pytest.approx(
                dew, abs=2e-3
            )  # its stopping rule: 1 mK
            wet = psychrolib.GetTWetBulbFromHumRatio(celsius, ratio, SEA)
            if wet > 0.5:
                # it uses linear enthalpies (2501 + 1.86 t), 0.2 % off at 60 degC
                assert moist_air.wet_bulb(celsius + ZERO, vapour, SEA) - ZERO == pytest.approx(wet, abs=0.1)


def test_frost_and_ice_against_psychrolib():
    psychrolib.SetUnitSystem(psychrolib.SI)
    vapour = moist_air.vapour_pressure_from_relative_humidity(0.6, -5 + ZERO)
    assert vapour == pytest.approx(psychrolib.GetVapPresFromRelHum(-5.0, 0.6), rel=1e-9)
    expected = psychrolib.GetTDewPointFromVapPres(-5.0, vapour)
    assert moist_air.dew_point(vapour) - ZERO == pytest.approx(expected, abs=2e-3)
    # the wet bulb here is supercooled, psychrolib's is iced: the stated 0.7 K
    iced = psychrolib.GetTWetBulbFromHumRatio(-5.0, moist_air.humidity_ratio(vapour, SEA), SEA)
    assert moist_air.wet_bulb(-5 + ZERO, vapour, SEA) - ZERO == pytest.approx(iced, abs=0.7)


def pure(output, kelvin, fluid, pressure):
    return np.array([coolprop.PropsSI(output, "T", t, "P", pressure, fluid) for t in kelvin])


def test_pure_gases_follow_their_reference_equations():
    t = np.array([20.0, 50.0, 80.0, 110.0, 150.0]) + ZERO
    for ours, name in ((air_transport.viscosity, "V"), (air_transport.conductivity, "L")):
        # dilute against 1 atm: 0.11 % in conductivity, 0.07 % in viscosity; vapour at 500 Pa is dilute
        np.testing.assert_allclose(ours(t, 0.0, SEA), pure(name, t, "Air", SEA), rtol=1.3e-3)
        np.testing.assert_allclose(ours(t, SEA, SEA), pure(name, t, "Water", 500.0), rtol=3e-4)


def test_mixture_is_wilkes():
    # viscosity by Wilke, conductivity by the same weights, from another library's pure gases
    t, y = np.array([30.0, 60.0, 95.0]) + ZERO, np.array([0.03, 0.15, 0.7])
    mu_a, mu_v = pure("V", t, "Air", SEA), pure("V", t, "Water", 500.0)

    def weight(mu_1, mu_2, m_1, m_2):
        return (1 + np.sqrt(mu_1 / mu_2) * (m_2 / m_1) ** 0.25) ** 2 / np.sqrt(8 * (1 + m_1 / m_2))

    def mix(a, v):
        by_v, by_a = weight(mu_a, mu_v, 28.966, 18.015), weight(mu_v, mu_a, 18.015, 28.966)
        return a * (1 - y) / (1 - y + y * by_v) + v * y / (y + (1 - y) * by_a)

    np.testing.assert_allclose(air_transport.viscosity(t, y * SEA, SEA), mix(mu_a, mu_v), rtol=1e-3)
    expected = mix(pure("L", t, "Air", SEA), pure("L", t, "Water", 500.0))
    np.testing.assert_allclose(air_transport.conductivity(t, y * SEA, SEA), expected, rtol=1.3e-3)


def test_transport_against_humid_air_of_the_other_library():
    # CoolProp takes the vapour's properties at the boiling point whatever the temperature, so the vapour
    # of 20-80 degC air comes out up to 15 % too viscous and conducting there, hence the wide band
    vapour = humid("P_w", CELSIUS, HUMIDITY, PRESSURE)
    mu = air_transport.viscosity(CELSIUS + ZERO, vapour, PRESSURE) / humid("mu", CELSIUS, HUMIDITY, PRESSURE)
    k = air_transport.conductivity(CELSIUS + ZERO, vapour, PRESSURE) / humid("k", CELSIUS, HUMIDITY, PRESSURE)
    assert 0.975 < mu.min() <= mu.max() < 1.02
    assert 0.96 < k.min() <= k.max() < 1.01
    # near that boiling point the excuse falls away: real-gas vapour only, 0.6 % and 2.6 %
    hot = np.array([0.05, 0.2, 0.5, 0.8]) * water.saturation_pressure(95 + ZERO)
    share = hot / water.saturation_pressure(95 + ZERO)
    np.testing.assert_allclose(
        air_transport.viscosity(95 + ZERO, hot, SEA), humid("mu", 95, share, SEA), rtol=0.006
    )
    np.testing.assert_allclose(
        air_transport.conductivity(95 + ZERO, hot, SEA), humid("k", 95, share, SEA), rtol=0.03
    )


def test_specific_heat_against_the_real_gas_up_to_a_tenth_of_vapour():
    fraction = np.array([0.005, 0.03, 0.1])
    for celsius in (50.0, 70.0, 95.0):
        expected = [humid_air.HAPropsSI("cp_ha", "T", celsius + ZERO, "psi_w", y, "P", SEA) for y in fraction]
        np.testing.assert_allclose(moist_air.specific_heat(fraction * SEA, SEA), expected, rtol=0.008)


# --- against itself -----------------------------------------------------------------------------------------


def test_wet_bulb_and_vapour_pressure_are_inverse_everywhere():
    wet = moist_air.wet_bulb(T_ALL, V_ALL, PRESSURE)
    back = moist_air.vapour_pressure_from_wet_bulb(T_ALL, wet, PRESSURE)
    np.testing.assert_allclose(back / PRESSURE, V_ALL / PRESSURE * np.ones_like(back), rtol=0, atol=1e-11)
    again = moist_air.wet_bulb(T_ALL, back, PRESSURE)
    np.testing.assert_allclose(again, wet, rtol=0, atol=1e-8)


def test_given_wet_bulb_is_found_again():
    wet = np.linspace(0.0, 80.0, 33) + ZERO
    dry = wet + np.array([0.0, 0.1, 5.0, 20.0])[:, None]
    vapour = moist_air.vapour_pressure_from_wet_bulb(dry, wet, SEA)
    real = vapour >= 0.0  # drier than bone dry cannot be
    got = moist_air.wet_bulb(dry, np.where(real, vapour, 0.0), SEA)
    np.testing.assert_allclose(got[real], np.broadcast_to(wet, dry.shape)[real], rtol=0, atol=1e-8)


def test_wet_bulb_closes_the_energy_balance():
    vapour = moist_air.vapour_pressure_from_relative_humidity(0.1, 68 + ZERO)
    wet = moist_air.wet_bulb(68 + ZERO, vapour, SEA)
    ratio = moist_air.humidity_ratio(vapour, SEA)
    saturated = moist_air.humidity_ratio(water.saturation_pressure_liquid(wet), SEA)
    supplied = moist_air.enthalpy(68 + ZERO, ratio) + (saturated - ratio) * water.liquid_enthalpy(wet)
    assert supplied == pytest.approx(moist_air.enthalpy(wet, saturated), rel=1e-12)


def test_wet_bulb_limits():
    t = np.array([10.0, 60.0, 90.0]) + ZERO
    np.testing.assert_allclose(moist_air.wet_bulb(t, water.saturation_pressure_liquid(t), SEA), t, atol=1e-8)
    boiling = moist_air.dew_point(SEA)
    assert moist_air.wet_bulb(150 + ZERO, SEA, SEA) == pytest.approx(boiling, abs=1e-8)
    assert boiling - ZERO == pytest.approx(99.97, abs=0.01)  # IAPWS-95: 99.974 degC at one atmosphere
    assert moist_air.dew_point(84555.9) - ZERO == pytest.approx(94.98, abs=0.01)  # IAPWS-95, 1500 m


def test_dew_and_dry_bulb_enclose_the_wet_bulb():
    inside = (SHARE > 0.0) & (SHARE < 0.999) & (T_ALL > 5 + ZERO)
    vapour = np.where(V_ALL > 0.0, V_ALL, 1.0)
    wet = moist_air.wet_bulb(T_ALL, vapour, PRESSURE)
    inside = inside & (wet > ZERO)
    assert np.all((wet < T_ALL)[inside])
    assert np.all((wet > moist_air.dew_point(vapour) * np.ones_like(wet))[inside])


def test_wet_bulb_rises_with_temperature_and_vapour():
    wet = moist_air.wet_bulb(T_ALL, V_ALL, PRESSURE)
    assert np.all(np.diff(wet, axis=1) > 0.0)
    t = np.linspace(20.0, 150.0, 50) + ZERO
    assert np.all(np.diff(moist_air.wet_bulb(t, 1500.0, SEA)) > 0.0)


def test_dew_point_inverts_the_saturation_pressure():
    t = np.append(np.linspace(230.0, 423.15, 400), [ZERO - 1e-3, ZERO - 1e-6, ZERO])
    np.testing.assert_allclose(moist_air.dew_point(water.saturation_pressure(t)), t, rtol=1e-12)
    pressure = np.geomspace(10.0, 4e5, 300)
    outside = (pressure < 611.1) | (pressure > 611.3)  # between ice and liquid no temperature answers
    back = water.saturation_pressure(moist_air.dew_point(pressure))
    np.testing.assert_allclose(back[outside], pressure[outside], rtol=1e-9)
    assert moist_air.dew_point(611.18) == pytest.approx(ZERO, abs=0.002)


def test_humidity_conversions_are_inverse():
    vapour = np.array([0.0, 10.0, 2e3, 5e4, 1e5])
    ratio = moist_air.humidity_ratio(vapour, SEA)
    np.testing.assert_allclose(moist_air.vapour_pressure(ratio, SEA), vapour, rtol=1e-14)
    share = moist_air.relative_humidity(vapour, 330.0)
    np.testing.assert_allclose(
        moist_air.vapour_pressure_from_relative_humidity(share, 330.0), vapour, rtol=1e-14
    )


def test_moist_air_is_light():
    dry, moist = moist_air.density(330.0, 0.0, SEA), moist_air.density(330.0, 1e4, SEA)
    assert dry == pytest.approx(1.0697, rel=1e-3)  # p/(287.05 T)
    assert moist < dry
    virtual = moist_air.virtual_temperature(330.0, 1e4, SEA)
    assert moist_air.density(virtual, 0.0, SEA) == pytest.approx(moist, rel=1e-14)
    assert moist_air.molar_mass(0.0) == 28.966e-3
    assert moist_air.molar_mass(1.0) == pytest.approx(18.015268e-3, rel=1e-14)


def test_enthalpy_slope_is_the_dry_air_constant_without_vapour():
    assert moist_air.enthalpy(ZERO, 0.0) == 0.0
    slope = moist_air.enthalpy(331.0, 0.0) - moist_air.enthalpy(330.0, 0.0)
    assert slope == pytest.approx(moist_air.DRY_AIR_SPECIFIC_HEAT, rel=1e-12)


def test_dimensionless_groups_of_warm_air():
    # dry air at 60 degC: Pr 0.70-0.71 in every table, Sc near 0.6; Lewis is their ratio
    state = (60 + ZERO, 1000.0, SEA)
    assert air_transport.prandtl(*state) == pytest.approx(0.705, abs=0.01)
    assert air_transport.schmidt(*state) == pytest.approx(0.60, abs=0.01)
    assert air_transport.lewis_number(*state) == pytest.approx(
        air_transport.schmidt(*state) / air_transport.prandtl(*state)
    )


@pytest.mark.parametrize(
    "function",
    [
        moist_air.wet_bulb,
        moist_air.density,
        moist_air.virtual_temperature,
        air_transport.viscosity,
        air_transport.conductivity,
        air_transport.prandtl,
        air_transport.schmidt,
        air_transport.lewis_number,
    ],
)
def test_arguments_broadcast_and_scalars_stay_scalar(function):
    t, v, p = np.array([[300.0], [340.0]]), np.array([0.0, 1e3, 2e3]), SEA
    grid = function(t, v, p)
    assert grid.shape == (2, 3)
    one = function(340.0, 2e3, p)
    assert np.ndim(one) == 0
    assert grid[1, 2] == pytest.approx(one, rel=1e-14)
