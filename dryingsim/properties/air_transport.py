"""Viscosity, conductivity and diffusivity of moist air, and what follows from them; states as in `moist_air`."""

from typing import Annotated

import numpy as np

from dryingsim.constants import MASS_RATIO, MOLAR_MASS_AIR, STANDARD_PRESSURE
from dryingsim.evidence import Evidence
from dryingsim.properties import moist_air
from dryingsim.properties.kelvin import check_kelvin
from dryingsim.typing import Array

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
    check_kelvin(temperature)
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
    check_kelvin(temperature)
    air, vapour = _dry_air_conductivity(temperature), _vapour_conductivity(temperature)
    return _mix(air, vapour, temperature, vapour_pressure / pressure)


def vapour_diffusivity(temperature: Array, pressure: Array) -> Array:
    """Diffusivity of water vapour in air [m2/s] at `temperature` [K] and `pressure` [Pa].

    Parameters
    ----------
    temperature, pressure : float or ndarray
        Temperature [K], total pressure [Pa].

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
    check_kelvin(temperature)
    return 1.87e-10 * temperature**2.072 * (STANDARD_PRESSURE / pressure)


def prandtl(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Prandtl number of moist air; `temperature` [K], `vapour_pressure` [Pa], `pressure` [Pa].

    Parameters
    ----------
    temperature, vapour_pressure, pressure : float or ndarray
        Temperature [K], vapour pressure and total pressure [Pa].

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
        mu
        * moist_air.specific_heat(vapour_pressure, pressure)
        / conductivity(temperature, vapour_pressure, pressure)
    )


def schmidt(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Schmidt number of vapour in moist air; `temperature` [K], `vapour_pressure` [Pa], `pressure` [Pa].

    Parameters
    ----------
    temperature, vapour_pressure, pressure : float or ndarray
        Temperature [K], vapour pressure and total pressure [Pa].

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
    rho = moist_air.density(temperature, vapour_pressure, pressure)
    return mu / (rho * vapour_diffusivity(temperature, pressure))


def lewis_number(temperature: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Lewis number Sc/Pr (thermal over vapour diffusivity); `temperature` [K], pressures [Pa].

    Parameters
    ----------
    temperature, vapour_pressure, pressure : float or ndarray
        Temperature [K], vapour pressure and total pressure [Pa].

    Returns
    -------
    float or ndarray
        Lewis number [-].

    Examples
    --------
    >>> round(float(lewis_number(333.15, 2000.0, 101325.0)), 3)
    0.849
    """
    heat = conductivity(temperature, vapour_pressure, pressure) / moist_air.specific_heat(
        vapour_pressure, pressure
    )
    rho = moist_air.density(temperature, vapour_pressure, pressure)
    return heat / (rho * vapour_diffusivity(temperature, pressure))
