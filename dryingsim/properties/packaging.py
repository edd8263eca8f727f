r"""What surrounds dried meat in a closed package: films that let vapour through, silica gel, the air inside.

A film passes :math:`P/\ell\,(p_1 - p_2)` with its permeability P, which grows with temperature (Arrhenius):

.. math:: P(T) = P_{38} \exp\left(-\frac{E}{R}\left(\frac{1}{T} - \frac{1}{311.15\,\mathrm K}\right)\right)

Silica gel holds water after Toth, with the vapour pressure p over it:

.. math:: q = K p \left(1 + (K p/q_m)^t\right)^{-1/t}, \qquad K = K_0 \exp(h/(R_w T))
"""

from typing import Annotated

import numpy as np

from dryingsim.constants import GAS_CONSTANT, MOLAR_MASS_WATER, ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.properties.kelvin import check_kelvin
from dryingsim.properties.water import saturation_pressure, saturation_pressure_liquid
from dryingsim.typing import Array

TABLE_TEMPERATURE: Annotated[
    float, Evidence("K", "published", "with 90 % RH on one side what film tables are printed for")
] = 38.0 + ZERO_CELSIUS
DAY_S: Annotated[float, Evidence("s", "exact", "a day")] = 86400.0
VAPOUR_CONSTANT: Annotated[float, Evidence("J/(kg K)", "derived", "gas constant of water vapour")] = (
    GAS_CONSTANT / MOLAR_MASS_WATER
)

_TOTH = (
    'regular-density gel ("type A"): Toth\'s constants of Ng, Chua et al. (2001). They give 0.21 kg/kg at 40 % RH and '
    '25 degC ("about 20 %", read), and 0.39 near saturation (0.35-0.40, read)'
)
_GEL_AFFINITY: Annotated[float, Evidence("1/Pa", "from memory", _TOTH)] = 4.65e-13
_GEL_HEAT: Annotated[float, Evidence("J/kg", "from memory", _TOTH)] = 2.71e6
_GEL_CAPACITY: Annotated[float, Evidence("kg/kg", "from memory", _TOTH)] = 0.40
_GEL_EXPONENT: Annotated[float, Evidence("-", "from memory", _TOTH)] = 10.0
GEL_SPREAD: Annotated[
    float,
    Evidence(
        "-", "estimate", "share by which grades of gel differ (type RD holds 17-39 % more at 20-80 % RH)"
    ),
] = 0.25
GEL_FRESH: Annotated[
    float, Evidence("kg/kg", "published", "water in gel as bought: at most 3 % (makers' statement, read)")
] = 0.03
GEL_BULK_DENSITY: Annotated[
    float, Evidence("kg/m3", "from memory", "of beads as they are poured", (650.0, 800.0))
] = 720.0


def permeability(at_38C: Array, activation_energy: Array, temperature: Array) -> Array:
    """Permeability of a film to water vapour, in the unit of its value at 38 degC.

    Parameters
    ----------
    at_38C : float or ndarray
        Permeability at 38 degC [kg/(m s Pa)].
    activation_energy : float or ndarray
        Arrhenius energy of the permeability, not of the transmission rate [J/mol].
    temperature : float or ndarray
        Temperature [K]. Meant for 253-313 K.

    Returns
    -------
    float or ndarray
        In the unit of `at_38C`.

    Examples
    --------
    >>> round(float(permeability(1.0, 33.0e3, 296.15)), 2)  # polyethylene, 23 degC
    0.52
    """
    check_kelvin(temperature)
    warm = activation_energy / GAS_CONSTANT * (1.0 / TABLE_TEMPERATURE - 1.0 / temperature)
    return at_38C * np.exp(warm)


def transmission_rate(permeance: Array, temperature: Array, humidity_difference: Array) -> Array:
    """Mass of vapour that passes an area in a time [kg/(m2 s)], with the same temperature on both sides.

    Parameters
    ----------
    permeance : float or ndarray
        Permeability over thickness [kg/(m2 s Pa)].
    temperature : float or ndarray
        Temperature [K].
    humidity_difference : float or ndarray
        Between the relative humidities of the two sides [-].

    Returns
    -------
    float or ndarray
        Rate [kg/(m2 s)].

    Examples
    --------
    Polyethylene of one thousandth of an inch, as film tables print it [g per m2 and day]:

    >>> rate = transmission_rate(1.145e-15 / 25.4e-6, 311.15, 0.9)
    >>> round(float(rate) * 1e3 * 86400.0, 1)
    23.2
    """
    return permeance * saturation_pressure(temperature) * humidity_difference


def gel_uptake(water_activity: Array, temperature: Array) -> Array:
    """Water that silica gel holds in equilibrium with air [kg/kg dry gel].

    Parameters
    ----------
    water_activity : float or ndarray
        Relative humidity of the air in contact, as a fraction [-].
    temperature : float or ndarray
        Temperature [K]. Meant for 298-340 K (estimate); below it is extrapolated.

    Returns
    -------
    float or ndarray
        Uptake [kg/kg].

    Notes
    -----
    Regular-density gel; known to +-`GEL_SPREAD` of the value. Pressure counts over supercooled liquid below 0 degC.

    Examples
    --------
    >>> round(float(gel_uptake(0.4, 298.15)), 3)
    0.211
    """
    check_kelvin(temperature)
    pressure = water_activity * saturation_pressure_liquid(temperature)
    load = _GEL_AFFINITY * np.exp(_GEL_HEAT / (VAPOUR_CONSTANT * temperature)) * pressure
    return load * (1.0 + (load / _GEL_CAPACITY) ** _GEL_EXPONENT) ** (-1.0 / _GEL_EXPONENT)


def air_water(volume: Array, water_activity: Array, temperature: Array) -> Array:
    """Vapour in the air of a package [kg], as an ideal gas.

    Parameters
    ----------
    volume : float or ndarray
        Of the air [m3].
    water_activity : float or ndarray
        Its relative humidity, as a fraction [-].
    temperature : float or ndarray
        Temperature [K].

    Returns
    -------
    float or ndarray
        Water [kg].

    Examples
    --------
    >>> round(float(air_water(1e-3, 0.5, 298.15)) * 1e6, 1)  # mg in a litre
    11.5
    """
    check_kelvin(temperature)
    return volume * water_activity * saturation_pressure(temperature) / (VAPOUR_CONSTANT * temperature)
