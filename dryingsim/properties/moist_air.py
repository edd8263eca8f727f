"""Moist air as an ideal-gas mixture of dry air and water vapour, -10 to 150 degC, 60 to 105 kPa.

Functions take scalars or arrays in kelvin and pascal and broadcast. The enhancement factor of the real gas
(dissolved air, molecular interaction) is left out: it would raise the saturated vapour pressure by 0.4-0.6 %.
Enthalpies are those of `water`, so balances between air and meat close exactly.
Humidity ratios are kg of vapour per kg of dry air, vapour fractions are mole fractions p_v/p.
"""

from typing import Annotated

import numpy as np

from dryingsim.constants import (
    GAS_CONSTANT,
    MASS_RATIO,
    MOLAR_MASS_AIR,
    MOLAR_MASS_WATER,
    STANDARD_PRESSURE,
    ZERO_CELSIUS,
)
from dryingsim.evidence import Evidence
from dryingsim.properties import water
from dryingsim.typing import Array

DRY_AIR_SPECIFIC_HEAT: Annotated[
    float, Evidence("J/(kg K)", "published", "ASHRAE Fundamentals (2009) ch. 1, eq. 30 (h = 1.006 t)")
] = 1006.0

_LEMMON = (
    "Lemmon & Jacobsen (2004), Int. J. Thermophys. 25, 21-69, dilute dry air: {}; "
    "reproduces CoolProp's dry air (see `viscosity`)"
)
_AIR_COLLISION: Annotated[
    tuple[float, ...], Evidence("-", "from memory", _LEMMON.format("collision integral of the viscosity"))
] = (0.431, -0.4623, 0.08406, 0.005341, -0.00331)
_AIR_SIGMA_NM: Annotated[float, Evidence("nm", "from memory", _LEMMON.format("size of a molecule"))] = 0.360
_AIR_EPSILON_K: Annotated[float, Evidence("K", "from memory", _LEMMON.format("depth of the potential"))] = (
    103.3
)
_AIR_REDUCING_K: Annotated[
    float, Evidence("K", "from memory", _LEMMON.format("reducing temperature of the conductivity"))
] = 132.6312
_AIR_CONDUCTIVITY: Annotated[
    tuple[float, ...],
    Evidence("mW/(m K); exponents", "from memory", _LEMMON.format("the conductivity's three terms")),
] = (1.308, 1.405, -1.1, -1.036, -0.3)

_IAPWS = "dilute water vapour, {}; reproduces CoolProp's water vapour at low pressure (see `viscosity`)"
_VAPOUR_REDUCING_K: Annotated[
    float, Evidence("K", "from memory", _IAPWS.format("IAPWS-95, temperature of the critical point"))
] = 647.096
_VAPOUR_VISCOSITY: Annotated[
    tuple[float, ...], Evidence("-", "from memory", _IAPWS.format("IAPWS viscosity release (2008) table 1"))
] = (1.67752, 2.20462, 0.6366564, -0.241605)
_VAPOUR_CONDUCTIVITY: Annotated[
    tuple[float, ...],
    Evidence("-", "from memory", _IAPWS.format("IAPWS conductivity release (2011) table 1")),
] = (2.443221e-3, 1.323095e-2, 6.770357e-3, -3.454586e-3, 4.096266e-4)

_ICE_LOG_SLOPE: Annotated[
    float,
    Evidence("K", "numerical", "just above -d ln p/d(1/T) over ice (6117-6151); only steers an iteration"),
] = 6165.0
_WET_BULB_STEPS = 12
_DEW_POINT_STEPS = 8


def standard_pressure(altitude_m: Array) -> Array:
    """Pressure of the standard atmosphere [Pa] at an altitude [m], -500 to 11 000 m.

    Parameters
    ----------
    altitude_m : float or ndarray
        Height above sea level [m].

    Returns
    -------
    float or ndarray
        Pressure [Pa].

    Notes
    -----
    ASHRAE Fundamentals (2009) ch. 1, eq. 3.

    Examples
    --------
    >>> round(float(standard_pressure(1500.0)))
    84556
    """
    return STANDARD_PRESSURE * (1.0 - 2.25577e-5 * altitude_m) ** 5.2559


def humidity_ratio(vapour_pressure: Array, pressure: Array) -> Array:
    """Humidity ratio [kg/kg dry air] from the vapour pressure [Pa] and the pressure [Pa].

    Grows without bound as the vapour pressure nears the total pressure.

    Parameters
    ----------
    vapour_pressure : float or ndarray
        Vapour pressure [Pa].
    pressure : float or ndarray
        Total pressure [Pa].

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
    >>> round(float(vapour_pressure_from_relative_humidity(0.5, 293.15)), 0)
    1169.0
    """
    return relative_humidity * water.saturation_pressure(temperature)


def relative_humidity(vapour_pressure: Array, temperature: Array) -> Array:
    """Relative humidity (fraction, over ice below 0 degC) from the vapour pressure [Pa] at `temperature` [K].

    Above the boiling point the ratio to the saturation pressure is kept; it cannot reach one there.

    Parameters
    ----------
    vapour_pressure : float or ndarray
        Vapour pressure [Pa].
    temperature : float or ndarray
        Temperature [K].

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
        trial = np.where(liquid, water.saturation_pressure_liquid(t), water.saturation_pressure(t))
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
    temperature : float or ndarray
        Temperature [K].
    vapour_pressure : float or ndarray
        Vapour pressure [Pa].
    pressure : float or ndarray
        Total pressure [Pa].

    Returns
    -------
    float or ndarray
        Density [kg/m3].

    Examples
    --------
    >>> round(float(density(293.15, 1170.0, 101325.0)), 3)
    1.199
    """
    return pressure * molar_mass(vapour_pressure / pressure) / (GAS_CONSTANT * temperature)


def virtual_temperature(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Temperature [K] at which dry air would be as light as this moist air: what buoyancy feels.

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K].
    vapour_pressure : float or ndarray
        Vapour pressure [Pa].
    pressure : float or ndarray
        Total pressure [Pa].

    Returns
    -------
    float or ndarray
        Virtual temperature [K].

    Examples
    --------
    >>> round(float(virtual_temperature(293.15, 1170.0, 101325.0)), 2)
    294.44
    """
    return temperature / (1.0 - (1.0 - MASS_RATIO) * vapour_pressure / pressure)


def specific_heat(vapour_pressure: Array, pressure: Array) -> Array:
    """Specific heat [J/(kg K)] per kg of moist air, from the two gases' constant values.

    Against CoolProp's humid air (real gas) below 95 degC: -0.7 to 0.0 % up to a vapour fraction of 0.1,
    -2 % at 0.3. Near saturation at 95 degC it is 7.5 % low: the real vapour reaches 2.05 kJ/(kg K) there.

    Parameters
    ----------
    vapour_pressure : float or ndarray
        Vapour pressure [Pa].
    pressure : float or ndarray
        Total pressure [Pa].

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


def _dry_air_viscosity(temperature: Array) -> Array:
    """Viscosity of dilute dry air [Pa s], Lemmon & Jacobsen (2004)."""
    x = np.log(temperature / _AIR_EPSILON_K)
    b = _AIR_COLLISION
    collision = np.exp(b[0] + x * (b[1] + x * (b[2] + x * (b[3] + x * b[4]))))
    grams = 1e3 * MOLAR_MASS_AIR
    return 1e-6 * 0.0266958 * np.sqrt(grams * temperature) / (_AIR_SIGMA_NM**2 * collision)


def _dry_air_conductivity(temperature: Array) -> Array:
    """Thermal conductivity of dilute dry air [W/(m K)], Lemmon & Jacobsen (2004)."""
    n1, n2, t2, n3, t3 = _AIR_CONDUCTIVITY
    tau = _AIR_REDUCING_K / temperature
    return 1e-3 * (n1 * 1e6 * _dry_air_viscosity(temperature) + n2 * tau**t2 + n3 * tau**t3)


def _vapour_viscosity(temperature: Array) -> Array:
    """Viscosity of dilute water vapour [Pa s], IAPWS (2008)."""
    h = _VAPOUR_VISCOSITY
    x = _VAPOUR_REDUCING_K / temperature
    return 1e-4 / np.sqrt(x) / (h[0] + x * (h[1] + x * (h[2] + x * h[3])))


def _vapour_conductivity(temperature: Array) -> Array:
    """Thermal conductivity of dilute water vapour [W/(m K)], IAPWS (2011)."""
    c = _VAPOUR_CONDUCTIVITY
    x = _VAPOUR_REDUCING_K / temperature
    return 1e-3 / np.sqrt(x) / (c[0] + x * (c[1] + x * (c[2] + x * (c[3] + x * c[4]))))


def _mix(air: Array, vapour: Array, temperature: Array, fraction: Array) -> Array:
    """Mix a transport property by Wilke's weights (Wassiljewa with Mason & Saxena's factor of one)."""
    ratio = np.sqrt(_dry_air_viscosity(temperature) / _vapour_viscosity(temperature))
    mass = MASS_RATIO  # vapour to air
    air_by_vapour = (1.0 + ratio * mass**0.25) ** 2 / np.sqrt(8.0 * (1.0 + 1.0 / mass))
    vapour_by_air = (1.0 + mass**-0.25 / ratio) ** 2 / np.sqrt(8.0 * (1.0 + mass))
    dry = 1.0 - fraction
    return dry * air / (dry + fraction * air_by_vapour) + fraction * vapour / (fraction + dry * vapour_by_air)


def viscosity(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Dynamic viscosity of moist air [Pa s].

    Parameters
    ----------
    temperature, vapour_pressure, pressure : float or ndarray
        Temperature [K], vapour pressure [Pa], total pressure [Pa].

    Returns
    -------
    float or ndarray
        Viscosity [Pa s].

    Notes
    -----
    Wilke's mixing (1950) of the dilute gases, which follow CoolProp's dry air and low-pressure vapour within
    0.1 % at 20-150 degC. CoolProp's own humid air takes the vapour's viscosity at the *boiling point* instead
    of the temperature (its numbers are reproduced to 1e-5 that way). So the two differ: -1.4 % at
    vapour fractions to 0.1 and -2.2 % in all below 95 degC, within 0.6 % at 95 degC and 101 kPa, +10 % at
    135 degC in nearly pure vapour.

    Examples
    --------
    >>> f"{viscosity(333.15, 2000.0, 101325.0):.3g}"
    '1.99e-05'
    """
    air, vapour = _dry_air_viscosity(temperature), _vapour_viscosity(temperature)
    return _mix(air, vapour, temperature, vapour_pressure / pressure)


def conductivity(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Thermal conductivity of moist air [W/(m K)].

    Parameters
    ----------
    temperature, vapour_pressure, pressure : float or ndarray
        Temperature [K], vapour pressure [Pa], total pressure [Pa].

    Returns
    -------
    float or ndarray
        Conductivity [W/(m K)].

    Notes
    -----
    Wassiljewa's form with Wilke's weights (Mason & Saxena 1958, factor one). Against CoolProp's humid air
    -1.9 % at vapour fractions to 0.1 and -3.5 % in all below 95 degC, +10 % at 135 degC in nearly pure
    vapour, mostly for the reason given in `viscosity`.

    Examples
    --------
    >>> round(float(conductivity(333.15, 2000.0, 101325.0)), 4)
    0.0286
    """
    air, vapour = _dry_air_conductivity(temperature), _vapour_conductivity(temperature)
    return _mix(air, vapour, temperature, vapour_pressure / pressure)


def vapour_diffusivity(temperature: Array, pressure: Array) -> Array:
    """Diffusivity of water vapour in air [m2/s] at `temperature` [K] and `pressure` [Pa].

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K].
    pressure : float or ndarray
        Total pressure [Pa].

    Returns
    -------
    float or ndarray
        Diffusivity [m2/s].

    Notes
    -----
    Marrero & Mason (1972), J. Phys. Chem. Ref. Data 1, 3-118: 1.87e-10 T^2.072/p with p in atm, 280-450 K
    (range from memory), as in Cengel, example 14.10 (300 K, 1 atm: 2.54e-5). Against it, Sherwood & Pigford
    lie +3 % at 20 degC and +2 % at 60 degC, Fuller +1 % and -3 %.

    Examples
    --------
    >>> round(float(vapour_diffusivity(300.0, 101325.0)) * 1e5, 2)
    2.54
    """
    return 1.87e-10 * temperature**2.072 * (STANDARD_PRESSURE / pressure)


def prandtl(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Prandtl number of moist air; `temperature` [K], `vapour_pressure` [Pa], `pressure` [Pa].

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K].
    vapour_pressure : float or ndarray
        Vapour pressure [Pa].
    pressure : float or ndarray
        Total pressure [Pa].

    Returns
    -------
    float or ndarray
        Prandtl number [-].

    Examples
    --------
    >>> round(float(prandtl(333.15, 2000.0, 101325.0)), 3)
    0.707
    """
    mu = viscosity(temperature, vapour_pressure, pressure)
    return (
        mu * specific_heat(vapour_pressure, pressure) / conductivity(temperature, vapour_pressure, pressure)
    )


def schmidt(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Schmidt number of vapour in moist air; `temperature` [K], `vapour_pressure` [Pa], `pressure` [Pa].

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K].
    vapour_pressure : float or ndarray
        Vapour pressure [Pa].
    pressure : float or ndarray
        Total pressure [Pa].

    Returns
    -------
    float or ndarray
        Schmidt number [-].

    Examples
    --------
    >>> round(float(schmidt(333.15, 2000.0, 101325.0)), 3)
    0.6
    """
    mu = viscosity(temperature, vapour_pressure, pressure)
    rho = density(temperature, vapour_pressure, pressure)
    return mu / (rho * vapour_diffusivity(temperature, pressure))


def lewis_number(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Lewis number Sc/Pr (thermal over vapour diffusivity); `temperature` [K], pressures [Pa].

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K].
    vapour_pressure : float or ndarray
        Vapour pressure [Pa].
    pressure : float or ndarray
        Total pressure [Pa].

    Returns
    -------
    float or ndarray
        Lewis number [-].

    Examples
    --------
    >>> round(float(lewis_number(333.15, 2000.0, 101325.0)), 3)
    0.849
    """
    heat = conductivity(temperature, vapour_pressure, pressure) / specific_heat(vapour_pressure, pressure)
    rho = density(temperature, vapour_pressure, pressure)
    return heat / (rho * vapour_diffusivity(temperature, pressure))
