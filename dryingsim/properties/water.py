"""Water: saturation pressure, latent heat, enthalpies. All functions take scalars or arrays in kelvin.

The enthalpy reference is liquid water at 0 degC. Liquid and vapour each have one specific heat in the whole package
(vapour as an ideal gas, as in the psychrometric tables), so that energy balances between meat and air close exactly.
The heat of evaporation of the balances is the difference of the two enthalpies; it lies 0.06 % above the IAPWS-95
latent heat of saturated steam (`latent_heat`) at 30 degC, 0.16 % at 60 degC and 0.5 % at 100 degC, where saturated
steam is no longer an ideal gas.
"""

from typing import Annotated

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.properties.kelvin import check_kelvin
from dryingsim.typing import Array

LIQUID_SPECIFIC_HEAT: Annotated[
    float, Evidence("J/(kg K)", "published", "IAPWS-95 at 60 degC; range on 0-100 degC", (4179.0, 4219.0))
] = 4185.0
VAPOUR_ENTHALPY_0C: Annotated[
    float, Evidence("J/kg", "published", "IAPWS-95, saturated vapour at 0 degC (ASHRAE: 2501 kJ/kg)")
] = 2.5009e6
VAPOUR_SPECIFIC_HEAT: Annotated[
    float, Evidence("J/(kg K)", "published", "ASHRAE Fundamentals (2009) ch. 1, eq. 30 (h_g = 2501 + 1.86 t)")
] = 1860.0

_HYLAND_WEXLER = Evidence(
    "ln(p/Pa), powers of K",
    "published",
    "Hyland & Wexler (1983), as printed in ASHRAE Fundamentals (2009) ch. 1, eqs. 5 and 6",
)
_OVER_ICE: Annotated[tuple[float, ...], _HYLAND_WEXLER] = (
    -5.6745359e3,
    6.3925247,
    -9.6778430e-3,
    6.2215701e-7,
    2.0747825e-9,
    -9.4840240e-13,
    4.1635019,
)
_OVER_LIQUID: Annotated[tuple[float, ...], _HYLAND_WEXLER] = (
    -5.8002206e3,
    1.3914993,
    -4.8640239e-2,
    4.1764768e-5,
    -1.4452093e-8,
    6.5459673,
)

_LATENT: Annotated[
    tuple[float, ...],
    Evidence(
        "J/kg, powers of K",
        "fitted",
        "cubic in t [degC] through the IAPWS-95 latent heat on 0-150 degC; largest deviation 0.008 %",
    ),
] = (2.50101822e6, -2.38772959e3, 0.823973794, -1.40699716e-2)


def saturation_pressure_liquid(temperature: Array) -> Array:
    """Saturation pressure over liquid water [Pa] (supercooled below 0 degC).

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K]. Valid 263-473 K.

    Returns
    -------
    float or ndarray
        Pressure [Pa], same shape.

    Notes
    -----
    Hyland & Wexler (1983), ASHRAE Fundamentals (2009) ch. 1 eq. 6; within 0.09 % of IAPWS-95 on 0-100 degC.

    Examples
    --------
    >>> round(float(saturation_pressure_liquid(333.15)))
    19944
    """
    return np.exp(log_saturation_pressure(temperature))


def log_saturation_pressure(temperature: Array) -> Array:
    """Return ln of `saturation_pressure_liquid` in Pa; `temperature` in K.

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K].

    Returns
    -------
    float or ndarray
        ln(p/Pa) [-].

    Examples
    --------
    >>> round(float(np.exp(log_saturation_pressure(333.15))))  # IAPWS-95: 19 946
    19944
    """
    check_kelvin(temperature)
    c = _OVER_LIQUID
    t = temperature
    return c[0] / t + c[1] + t * (c[2] + t * (c[3] + t * c[4])) + c[5] * np.log(t)


def log_saturation_pressure_slope(temperature: Array) -> Array:
    """Return d ln(p_sat)/dT over liquid water [1/K], the exact derivative of `saturation_pressure_liquid`.

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K].

    Returns
    -------
    float or ndarray
        Slope [1/K].

    Examples
    --------
    >>> round(float(log_saturation_pressure_slope(333.15)), 5)
    0.04628
    """
    check_kelvin(temperature)
    c = _OVER_LIQUID
    t = temperature
    return -c[0] / t**2 + c[2] + t * (2.0 * c[3] + 3.0 * c[4] * t) + c[5] / t


def saturation_pressure(temperature: Array) -> Array:
    """Saturation pressure [Pa]: over liquid water from 0 degC upward, over ice below.

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K]. Valid 173-473 K.

    Returns
    -------
    float or ndarray
        Pressure [Pa].

    Notes
    -----
    Hyland & Wexler (1983), ASHRAE Fundamentals (2009) ch. 1 eqs. 5 and 6.

    Examples
    --------
    >>> round(float(saturation_pressure(253.15)), 1)  # over ice
    103.3
    """
    check_kelvin(temperature, floats=True)
    t = np.asarray(temperature, dtype=float)
    ice = np.asarray(saturation_pressure_ice(t))
    return np.where(t < ZERO_CELSIUS, ice, saturation_pressure_liquid(t))[()]


def saturation_pressure_ice(temperature: Array) -> Array:
    """Saturation pressure over ice [Pa].

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K]. Valid 173-273 K.

    Returns
    -------
    float or ndarray
        Pressure [Pa].

    Examples
    --------
    >>> round(float(saturation_pressure_ice(253.15)), 1)
    103.3
    """
    check_kelvin(temperature)
    c, t = _OVER_ICE, temperature
    return np.exp(c[0] / t + c[1] + t * (c[2] + t * (c[3] + t * (c[4] + t * c[5]))) + c[6] * np.log(t))


def latent_heat(temperature: Array) -> Array:
    """Latent heat of vaporisation of pure water [J/kg].

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K]. Valid 273-423 K; within 0.01 % of IAPWS-95 there.

    Returns
    -------
    float or ndarray
        Latent heat [J/kg].

    Examples
    --------
    >>> round(float(latent_heat(333.15)))
    2357682
    """
    check_kelvin(temperature)
    t = temperature - ZERO_CELSIUS
    return _LATENT[0] + t * (_LATENT[1] + t * (_LATENT[2] + t * _LATENT[3]))


def liquid_enthalpy(temperature: Array) -> Array:
    """Specific enthalpy of liquid water [J/kg] above liquid water at 0 degC; `temperature` in K.

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K].

    Returns
    -------
    float or ndarray
        Enthalpy [J/kg].

    Examples
    --------
    >>> round(float(liquid_enthalpy(333.15)))
    251100
    """
    check_kelvin(temperature)
    return LIQUID_SPECIFIC_HEAT * (temperature - ZERO_CELSIUS)


def vapour_enthalpy(temperature: Array) -> Array:
    """Specific enthalpy of water vapour [J/kg] above liquid water at 0 degC; `temperature` in K.

    ASHRAE Fundamentals (2009) ch. 1, eq. 30.

    Examples
    --------
    >>> round(float(vapour_enthalpy(333.15)))  # IAPWS-95, saturated: 2 608 845
    2612500
    """
    check_kelvin(temperature)
    return VAPOUR_ENTHALPY_0C + VAPOUR_SPECIFIC_HEAT * (temperature - ZERO_CELSIUS)


def heat_of_evaporation(temperature: Array) -> Array:
    """Vapour minus liquid enthalpy [J/kg], what the balances charge for evaporation; `temperature` in K.

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K].

    Returns
    -------
    float or ndarray
        Heat of evaporation [J/kg].

    Examples
    --------
    >>> round(float(heat_of_evaporation(333.15)))
    2361400
    """
    check_kelvin(temperature)
    return vapour_enthalpy(temperature) - liquid_enthalpy(temperature)
