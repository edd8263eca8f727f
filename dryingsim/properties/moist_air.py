"""Moist air as an ideal-gas mixture of dry air and water vapour, -10 to 150 degC, 60 to 105 kPa.

Functions take scalars or arrays in kelvin and pascal and broadcast. The enhancement factor of the real gas
(dissolved air, molecular interaction) is left out: it would raise the saturated vapour pressure by 0.4-0.6 %.
Enthalpies are those of `water`, so balances between air and meat close exactly.
Humidity ratios are kg of vapour per kg of dry air, vapour fractions are mole fractions p_v/p.
"""

from typing import Annotated

import numpy as np

from dryingsim.constants import GAS_CONSTANT, MASS_RATIO, MOLAR_MASS_AIR, MOLAR_MASS_WATER, ZERO_CELSIUS
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.properties import water
from dryingsim.properties.kelvin import check_kelvin
from dryingsim.typing import Array

DRY_AIR_SPECIFIC_HEAT: Annotated[
    float, Evidence("J/(kg K)", "published", "ASHRAE Fundamentals (2009) ch. 1, eq. 30 (h = 1.006 t)")
] = 1006.0

_ICE_LOG_SLOPE: Annotated[
    float,
    Evidence("K", "numerical", "just above -d ln p/d(1/T) over ice (6117-6151); only steers an iteration"),
] = 6165.0
_WET_BULB_STEPS = 12
_DEW_POINT_STEPS = 8


def humidity_ratio(vapour_pressure: Array, pressure: Array) -> Array:
    """Humidity ratio [kg/kg dry air] from the vapour pressure [Pa] and the pressure [Pa].

    Grows without bound as the vapour pressure nears the total pressure.

    Parameters
    ----------
    vapour_pressure, pressure : float or ndarray
        Vapour pressure and total pressure [Pa].

    Returns
    -------
    float or ndarray
        Humidity ratio [kg/kg dry air].

    Examples
    --------
    >>> round(float(humidity_ratio(2760.0, 101300.0)), 4)  # Geankoplis, example 9.3-1: 0.0174
    0.0174
    """
    return MASS_RATIO * vapour_pressure / (pressure - vapour_pressure)


def vapour_pressure(humidity_ratio: Array, pressure: Array) -> Array:
    """Vapour pressure [Pa] from the humidity ratio [kg/kg dry air] and the pressure [Pa].

    Parameters
    ----------
    humidity_ratio : float or ndarray
        Humidity ratio [kg/kg dry air].
    pressure : float or ndarray
        Total pressure [Pa].

    Returns
    -------
    float or ndarray
        Vapour pressure [Pa].

    Examples
    --------
    >>> round(float(vapour_pressure(0.0174, 101300.0)), 0)  # Geankoplis, example 9.3-1: 2760
    2757.0
    """
    return pressure * humidity_ratio / (MASS_RATIO + humidity_ratio)


def vapour_fraction(humidity_ratio: Array) -> Array:
    """Mole fraction of vapour [-] from the humidity ratio [kg/kg dry air].

    The way back is `humidity_ratio(fraction, 1.0)`: a fraction is a pressure counted in total pressures.

    Examples
    --------
    >>> round(float(vapour_fraction(0.0174)), 4)
    0.0272
    """
    return humidity_ratio / (MASS_RATIO + humidity_ratio)


def vapour_pressure_from_relative_humidity(relative_humidity: Array, temperature: Array) -> Array:
    """Vapour pressure [Pa] from relative humidity (fraction; over ice below 0 degC) and `temperature` [K].

    Parameters
    ----------
    relative_humidity : float or ndarray
        Relative humidity [-].
    temperature : float or ndarray
        Temperature [K].

    Returns
    -------
    float or ndarray
        Vapour pressure [Pa].

    Examples
    --------
    >>> round(float(vapour_pressure_from_relative_humidity(0.5, 293.15)))
    1169
    """
    return relative_humidity * water.saturation_pressure(temperature)


def relative_humidity(vapour_pressure: Array, temperature: Array) -> Array:
    """Relative humidity (fraction, over ice below 0 degC) from the vapour pressure [Pa] at `temperature` [K].

    Above the boiling point the ratio to the saturation pressure is kept; it cannot reach one there.

    Parameters
    ----------
    vapour_pressure, temperature : float or ndarray
        Vapour pressure [Pa], temperature [K].

    Returns
    -------
    float or ndarray
        Relative humidity [-].

    Examples
    --------
    >>> round(float(relative_humidity(1170.0, 293.15)), 2)
    0.5
    """
    return vapour_pressure / water.saturation_pressure(temperature)


def dew_point(vapour_pressure: Array) -> Array:
    """Dew point [K], below 0 degC the frost point: the exact inverse of `water.saturation_pressure`.

    Parameters
    ----------
    vapour_pressure : float or ndarray
        Vapour pressure [Pa], above zero. Valid 1 Pa to 1.5 MPa.

    Returns
    -------
    float or ndarray
        Temperature [K].

    Notes
    -----
    Newton on ln(p) against 1/T, nearly a straight line: eight steps leave rounding only (below 1e-12
    relative). The two branches of the saturation pressure miss each other by 0.01 % at 0 degC;
    a pressure in that gap gets a dew point within 0.002 K of 0 degC.

    Examples
    --------
    >>> round(float(dew_point(water.saturation_pressure(313.15))), 6)
    313.15
    """
    log_pressure = np.log(vapour_pressure)
    liquid = vapour_pressure >= water.saturation_pressure_liquid(ZERO_CELSIUS)
    inverse = 1.0 / ZERO_CELSIUS - (log_pressure - np.log(611.2)) / 5400.0
    for _ in range(_DEW_POINT_STEPS):
        t = 1.0 / inverse
        slope = np.where(liquid, t**2 * water.log_saturation_pressure_slope(t), _ICE_LOG_SLOPE)
        trial = np.where(liquid, water.saturation_pressure_liquid(t), water.saturation_pressure_ice(t))
        inverse = inverse + (np.log(trial) - log_pressure) / slope
    return 1.0 / inverse


def enthalpy(temperature: Array, humidity_ratio: Array) -> Array:
    """Enthalpy [J/kg dry air] above dry air and liquid water at 0 degC.

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K].
    humidity_ratio : float or ndarray
        Humidity ratio [kg/kg dry air].

    Returns
    -------
    float or ndarray
        Enthalpy [J/kg dry air].

    Notes
    -----
    The vapour's part is `water.vapour_enthalpy`, which is that of saturated vapour at the temperature: below
    the enthalpy of vapour at low pressure by 0.2 % at 60 degC, 0.4 % at 95 degC and 1.5 % at 150 degC.
    Against CoolProp's humid air the whole is -0.4 to 0.0 % at 20-95 degC, to -1.0 % at 135 degC.

    Examples
    --------
    >>> round(float(enthalpy(333.15, 0.02)), 0)
    112610.0
    """
    check_kelvin(temperature)
    dry = DRY_AIR_SPECIFIC_HEAT * (temperature - ZERO_CELSIUS)
    return dry + humidity_ratio * water.vapour_enthalpy(temperature)


def temperature_from_enthalpy(enthalpy: Array, humidity_ratio: Array) -> Array:
    """Temperature [K] of air of a given enthalpy: the inverse of `enthalpy`.

    Parameters
    ----------
    enthalpy : float or ndarray
        Enthalpy [J/kg dry air] above dry air and liquid water at 0 degC.
    humidity_ratio : float or ndarray
        Humidity ratio [kg/kg dry air].

    Returns
    -------
    float or ndarray
        Temperature [K].

    Examples
    --------
    >>> round(float(temperature_from_enthalpy(enthalpy(333.15, 0.02), 0.02)), 6)
    333.15
    """
    specific_heat = DRY_AIR_SPECIFIC_HEAT + humidity_ratio * water.VAPOUR_SPECIFIC_HEAT
    return ZERO_CELSIUS + (enthalpy - humidity_ratio * water.VAPOUR_ENTHALPY_0C) / specific_heat


def vapour_pressure_from_wet_bulb(temperature: Array, wet_bulb: Array, pressure: Array) -> Array:
    """Vapour pressure [Pa] of air whose thermodynamic wet bulb (adiabatic saturation temperature) is known.

    Parameters
    ----------
    temperature, wet_bulb : float or ndarray
        Dry bulb and wet bulb [K]; the wet bulb must lie below the boiling point at `pressure`.
    pressure : float or ndarray
        Total pressure [Pa].

    Returns
    -------
    float or ndarray
        Vapour pressure [Pa]; negative if no air can be so dry.

    Notes
    -----
    Balance h(T, W) + (W_s - W) h_liquid(T_wb) = h(T_wb, W_s), multiplied by the dry air's partial pressure
    so that it stays finite where the wet bulb nears the boiling point. The water stays liquid below
    0 degC (supercooled), which keeps the function one-to-one; an iced bulb reads up to 0.7 K otherwise.

    Examples
    --------
    >>> round(float(vapour_pressure_from_wet_bulb(341.15, 303.15, 101325.0)), 0)
    1785.0
    """
    check_kelvin(temperature)
    check_kelvin(wet_bulb, "wet_bulb")
    saturated = water.saturation_pressure_liquid(wet_bulb)
    dry = pressure - saturated
    gain = MASS_RATIO * saturated * water.heat_of_evaporation(wet_bulb)
    gain = gain - DRY_AIR_SPECIFIC_HEAT * (temperature - wet_bulb) * dry
    need = dry * (water.vapour_enthalpy(temperature) - water.liquid_enthalpy(wet_bulb))
    return pressure * gain / (MASS_RATIO * need + gain)


def wet_bulb(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Thermodynamic wet bulb [K], the inverse of `vapour_pressure_from_wet_bulb` (to 1e-8 K).

    Parameters
    ----------
    temperature : float or ndarray
        Dry bulb [K]. May lie above the boiling point.
    vapour_pressure : float or ndarray
        Vapour pressure [Pa], 0 to `pressure`; in pure vapour the wet bulb is the boiling point.
    pressure : float or ndarray
        Total pressure [Pa].

    Returns
    -------
    float or ndarray
        Wet-bulb temperature [K].

    Notes
    -----
    Below the boiling point the balance falls with the wet bulb, and ever more steeply (the saturation
    pressure is convex). Newton from the boiling point therefore comes down to the root from above without
    ever passing it: no bracket is needed, and a fixed number of steps serves the whole range.

    Examples
    --------
    >>> round(float(wet_bulb(341.15, 1170.0, 101325.0) - 273.15), 1)  # room air of 20 degC and 50 % heated to 68 degC
    27.9
    """
    check_kelvin(temperature, floats=True)
    if np.any(np.greater(vapour_pressure, 1.001 * pressure)):  # what is computed may be a rounding above
        raise InputError(
            f"wet_bulb: vapour_pressure = {np.max(vapour_pressure):g} Pa is above the pressure, {np.min(pressure):g} Pa; the "
            "order is temperature, vapour_pressure, pressure"
        )
    steam = water.vapour_enthalpy(temperature)
    t = dew_point(pressure)
    for _ in range(_WET_BULB_STEPS):
        balance, slope = _wet_bulb_balance(t, temperature, steam, vapour_pressure, pressure)
        t = t - balance / slope
    return t


def _wet_bulb_balance(
    t: Array, temperature: Array, steam: Array, vapour_pressure: Array, pressure: Array
) -> tuple[Array, Array]:
    """Balance of the adiabatic saturator at a trial wet bulb `t`, and its derivative to `t`."""
    saturated = water.saturation_pressure_liquid(t)
    saturated_slope = saturated * water.log_saturation_pressure_slope(t)
    latent = water.heat_of_evaporation(t)
    need = steam - water.liquid_enthalpy(t)
    dry, dry_saturated = pressure - vapour_pressure, pressure - saturated
    cooling = DRY_AIR_SPECIFIC_HEAT * (temperature - t)
    balance = MASS_RATIO * (vapour_pressure * dry_saturated * need - dry * saturated * latent)
    balance = balance + dry * dry_saturated * cooling
    # latent heat's own slope (0.1 % per kelvin) is left out: it costs no accuracy, only a little speed
    slope = (
        -MASS_RATIO * vapour_pressure * (saturated_slope * need + dry_saturated * water.LIQUID_SPECIFIC_HEAT)
    )
    slope = slope - dry * (MASS_RATIO * saturated_slope * latent + saturated_slope * cooling)
    return balance, slope - dry * dry_saturated * DRY_AIR_SPECIFIC_HEAT


def molar_mass(vapour_fraction: Array) -> Array:
    """Molar mass of moist air [kg/mol] at a mole fraction of vapour.

    Parameters
    ----------
    vapour_fraction : float or ndarray
        Mole fraction of vapour [-].

    Returns
    -------
    float or ndarray
        Molar mass [kg/mol].

    Examples
    --------
    >>> round(float(1e3 * molar_mass(0.02)), 3)  # g/mol
    28.747
    """
    return MOLAR_MASS_AIR - (MOLAR_MASS_AIR - MOLAR_MASS_WATER) * vapour_fraction


def density(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Density of moist air [kg/m3] at `temperature` [K], `vapour_pressure` [Pa] and `pressure` [Pa].

    Parameters
    ----------
    temperature, vapour_pressure, pressure : float or ndarray
        Temperature [K], vapour pressure and total pressure [Pa].

    Returns
    -------
    float or ndarray
        Density [kg/m3].

    Examples
    --------
    >>> round(float(density(293.15, 1170.0, 101325.0)), 3)
    1.199
    """
    check_kelvin(temperature)
    return pressure * molar_mass(vapour_pressure / pressure) / (GAS_CONSTANT * temperature)


def virtual_temperature(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Temperature [K] at which dry air would be as light as this moist air: what buoyancy feels.

    Parameters
    ----------
    temperature, vapour_pressure, pressure : float or ndarray
        Temperature [K], vapour pressure and total pressure [Pa].

    Returns
    -------
    float or ndarray
        Virtual temperature [K].

    Examples
    --------
    >>> round(float(virtual_temperature(293.15, 1170.0, 101325.0)), 2)
    294.44
    """
    check_kelvin(temperature)
    return temperature / (1.0 - (1.0 - MASS_RATIO) * vapour_pressure / pressure)


def specific_heat(vapour_pressure: Array, pressure: Array) -> Array:
    """Specific heat [J/(kg K)] per kg of moist air, from the two gases' constant values.

    Against CoolProp's humid air (real gas) below 95 degC: -0.7 to 0.0 % up to a vapour fraction of 0.1,
    -2 % at 0.3. Near saturation at 95 degC it is 7.5 % low: the real vapour reaches 2.05 kJ/(kg K) there.

    Parameters
    ----------
    vapour_pressure, pressure : float or ndarray
        Vapour pressure and total pressure [Pa].

    Returns
    -------
    float or ndarray
        Specific heat [J/(kg K)].

    Examples
    --------
    >>> round(float(specific_heat(2000.0, 101325.0)), 0)
    1017.0
    """
    vapour = MASS_RATIO * vapour_pressure
    dry = pressure - vapour_pressure
    return (DRY_AIR_SPECIFIC_HEAT * dry + water.VAPOUR_SPECIFIC_HEAT * vapour) / (dry + vapour)
