"""Heat and vapour films at a face: natural convection that counts humidity, and film theory.

Forced convection stands in `forced_convection`.

Pure functions of scalars or arrays that broadcast. Film coefficients are means over the face; fluxes of
vapour are positive out of the slab. Air properties belong at the film's mean temperature and vapour pressure.
"""

from typing import Annotated

import numpy as np

from dryingsim.constants import GRAVITY, MOLAR_MASS_WATER
from dryingsim.evidence import Evidence
from dryingsim.properties import air_transport, moist_air
from dryingsim.properties.kelvin import check_kelvin
from dryingsim.typing import Array

_PLATE = "horizontal plate, {}: McAdams (1954) as quoted by Cengel ch. 9 and Incropera ch. 9"
HORIZONTAL_UNSTABLE: Annotated[
    float, Evidence("-", "published", _PLATE.format("Nu = c Ra^(1/4), hot face up or cold face down"))
] = 0.54
HORIZONTAL_STABLE: Annotated[
    float, Evidence("-", "published", _PLATE.format("Nu = c Ra^(1/4), hot face down or cold face up"))
] = 0.27
_HORIZONTAL_TURBULENT: Annotated[
    float, Evidence("-", "published", _PLATE.format("Nu = c Ra^(1/3), hot face up or cold face down"))
] = 0.15
FRACTION_KNEE: Annotated[
    float, Evidence("-", "numerical", "vapour fraction above which -ln(1-y) is continued by its tangent")
] = 0.95


def _buoyancy(temperature_film: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Rayleigh number per length cubed and kelvin, g beta/(nu alpha) [1/(m3 K)], beta = 1/T_virtual."""
    film = (temperature_film, vapour_pressure, pressure)
    rho = moist_air.density(*film)
    kinematic = air_transport.viscosity(*film) / rho
    thermal = air_transport.conductivity(*film) / (rho * moist_air.specific_heat(vapour_pressure, pressure))
    return GRAVITY / (moist_air.virtual_temperature(*film) * kinematic * thermal)


def rayleigh(
    virtual_difference: Array,
    temperature_film: Array,
    vapour_pressure: Array,
    pressure: Array,
    length_m: Array,
) -> Array:
    """Rayleigh number from the difference in *virtual* temperature: vapour is light, so humidity counts.

    Parameters
    ----------
    virtual_difference : float or ndarray
        Difference of `moist_air.virtual_temperature` between face and air [K]; its sign is ignored here: it
        tells the caller which of the two horizontal correlations applies.
    temperature_film, vapour_pressure, pressure : float or ndarray
        Mean temperature [K] and vapour pressure [Pa] of the film, total pressure [Pa].
    length_m : float or ndarray
        Area over perimeter for a horizontal plate, height for a vertical one [m].

    Returns
    -------
    float or ndarray
        Rayleigh number [-].

    Notes
    -----
    Density difference as in Cengel, example 14.13.

    Examples
    --------
    >>> f"{rayleigh(30.0, 320.0, 2000.0, 101325.0, 0.02):.3g}"
    '1.67e+04'
    """
    check_kelvin(temperature_film, "temperature_film")
    buoyancy = _buoyancy(temperature_film, vapour_pressure, pressure)
    return np.abs(virtual_difference) * buoyancy * length_m**3


def nusselt_horizontal_unstable(rayleigh: Array) -> Array:
    """Nusselt number of a hot face up or a cold face down, length = area/perimeter.

    Parameters
    ----------
    rayleigh : float or ndarray
        Valid 1e4-1e11.

    Returns
    -------
    float or ndarray
        Nusselt number [-].

    Notes
    -----
    The larger of 0.54 Ra^(1/4) (1e4-1e7) and 0.15 Ra^(1/3) (1e7-1e11), Cengel ch. 9. They cross at 4.7e6;
    switching there instead of at 1e7 avoids a jump of 6 %, and differs by no more in between.

    Examples
    --------
    >>> round(float(nusselt_horizontal_unstable(1.0e6)), 2)
    17.08
    """
    return np.maximum(HORIZONTAL_UNSTABLE * rayleigh**0.25, _HORIZONTAL_TURBULENT * np.cbrt(rayleigh))


def nusselt_horizontal_stable(rayleigh: Array) -> Array:
    """Nusselt number of a hot face down or a cold face up, 0.27 Ra^(1/4), length = area/perimeter.

    Parameters
    ----------
    rayleigh : float or ndarray
        Valid 1e5-1e10 (limits from memory).

    Returns
    -------
    float or ndarray
        Nusselt number [-].

    Notes
    -----
    Cengel, example 9.2(c); Incropera, example 9.3.

    Examples
    --------
    >>> round(float(nusselt_horizontal_stable(1.0e6)), 2)
    8.54
    """
    return HORIZONTAL_STABLE * rayleigh**0.25


def nusselt_vertical_churchill_chu(rayleigh: Array, prandtl: Array) -> Array:
    """Nusselt number of a vertical plate, length = height, any Rayleigh number to 1e12.

    Parameters
    ----------
    rayleigh, prandtl : float or ndarray
        Rayleigh number over the height, Prandtl number.

    Returns
    -------
    float or ndarray
        Nusselt number over the height [-].

    Notes
    -----
    Churchill & Chu (1975); Incropera, example 9.2 (Ra 1.81e9, Pr 0.69: Nu 147).

    Examples
    --------
    >>> round(float(nusselt_vertical_churchill_chu(1.813e9, 0.69)))
    147
    """
    shape = (1.0 + (0.492 / prandtl) ** (9.0 / 16.0)) ** (8.0 / 27.0)
    return (0.825 + 0.387 * rayleigh ** (1.0 / 6.0) / shape) ** 2


def combine_mixed(forced: Array, natural: Array) -> Array:
    """Sum forced and natural convection by their cubes; Nusselt numbers on one length, or film coefficients.

    Incropera ch. 9 (exponent 3, from memory; 7/2, also used for horizontal plates, gives up to 3 % less).
    Both flows are taken to help each other.

    Parameters
    ----------
    forced, natural : float or ndarray
        Nusselt numbers on one length [-], or film coefficients [W/(m2 K)].

    Returns
    -------
    float or ndarray
        The same of both together [-] or [W/(m2 K)].

    Examples
    --------
    >>> round(float(combine_mixed(10.0, 5.0)), 2)
    10.4
    """
    return np.cbrt(forced * forced * forced + natural * natural * natural)


def natural_prefactor(
    temperature_film: Array, vapour_pressure: Array, pressure: Array, length_m: Array
) -> Array:
    """Return a in h = c a |dT_v|^(1/4), the natural film of a horizontal plate [W/(m2 K^(5/4))].

    Parameters
    ----------
    temperature_film, vapour_pressure, pressure : float or ndarray
        Mean temperature [K] and vapour pressure [Pa] of the film, total pressure [Pa].
    length_m : float or ndarray
        Area over perimeter [m].

    Returns
    -------
    float or ndarray
        a [W/(m2 K^(5/4))].

    Notes
    -----
    c is `HORIZONTAL_UNSTABLE` or `HORIZONTAL_STABLE` and dT_v the difference in virtual temperature; the
    film's properties change slowly, so a solver may hold `a` and let only the difference vary. Ra 1e4-1e7.

    Examples
    --------
    >>> round(float(natural_prefactor(320.0, 2000.0, 101325.0, 0.02)), 2)
    6.72
    >>> round(float(HORIZONTAL_UNSTABLE * natural_prefactor(320.0, 2000.0, 101325.0, 0.02) * 30.0**0.25), 1)  # W/(m2 K)
    8.5
    """
    check_kelvin(temperature_film, "temperature_film")
    k = air_transport.conductivity(temperature_film, vapour_pressure, pressure)
    return k * (_buoyancy(temperature_film, vapour_pressure, pressure) / length_m) ** 0.25


def mass_film_factor(temperature_film: Array, vapour_pressure: Array, pressure: Array) -> Array:
    """Vapour film over heat film [kg K/J], M_water/(M_mix cp_mix Le^(2/3)): Chilton & Colburn's analogy.

    Parameters
    ----------
    temperature_film, vapour_pressure, pressure : float or ndarray
        Mean temperature [K] and vapour pressure [Pa] of the film, total pressure [Pa].

    Returns
    -------
    float or ndarray
        Factor [kg K/J].

    Notes
    -----
    Times h it is the `mass_film` of `stefan_flux`. Incropera ch. 6, Cengel, example 14.11. The molar density
    p/(R T) cancels, so the factor depends on pressure only through the vapour fraction.

    Examples
    --------
    >>> f"{mass_film_factor(320.0, 2000.0, 101325.0):.3g}"
    '0.000683'
    """
    check_kelvin(temperature_film, "temperature_film")
    lewis = air_transport.lewis_number(temperature_film, vapour_pressure, pressure)
    mix = moist_air.molar_mass(vapour_pressure / pressure) * moist_air.specific_heat(
        vapour_pressure, pressure
    )
    return MOLAR_MASS_WATER / (mix * np.cbrt(lewis) ** 2)


def log_dry(vapour_fraction: Array) -> Array:
    """-ln(1 - y) of a vapour fraction y up to y = 0.95, its tangent above: the potential of `stefan_flux` [-].

    Parameters
    ----------
    vapour_fraction : float or ndarray
        Mole fraction of vapour [-].

    Returns
    -------
    float or ndarray
        Potential [-].

    Examples
    --------
    >>> round(float(log_dry(0.5)), 4)
    0.6931
    """
    below = np.minimum(vapour_fraction, FRACTION_KNEE)
    return (vapour_fraction - below) * (1.0 / (1.0 - FRACTION_KNEE)) - np.log1p(-below)


def log_dry_slope(vapour_fraction: Array) -> Array:
    """Derivative of `log_dry` by the vapour fraction [-].

    Parameters
    ----------
    vapour_fraction : float or ndarray
        Mole fraction of vapour [-].

    Returns
    -------
    float or ndarray
        Slope [-].

    Examples
    --------
    >>> float(log_dry_slope(0.5))
    2.0
    """
    return 1.0 / np.maximum(1.0 - vapour_fraction, 1.0 - FRACTION_KNEE)


def stefan_flux(mass_film: Array, vapour_fraction_air: Array, vapour_fraction_surface: Array) -> Array:
    """Vapour flux [kg/(m2 s)] through a stagnant film, mass_film ln((1-y_air)/(1-y_surface)); positive out.

    Parameters
    ----------
    mass_film : float or ndarray
        Film coefficient for vapour [kg/(m2 s)], see `mass_film_factor`.
    vapour_fraction_air, vapour_fraction_surface : float or ndarray
        Mole fractions p_v/p; condensation gives a negative flux.

    Returns
    -------
    float or ndarray
        Flux [kg/(m2 s)].

    Notes
    -----
    Stefan's diffusion through stagnant air (Lienhard 11.15 is the same in mass fractions). Above y = 0.95
    each logarithm goes on as its tangent, with continuous slope. That is a guard for the trial states of a
    solver, which may lie above the boiling point; a face of water activity one settles below it anyway, but
    in nearly pure steam (y_air above 0.95) the flux is under-estimated.

    Examples
    --------
    >>> film = 10.0 * mass_film_factor(320.0, 2000.0, 101325.0)  # h = 10 W/(m2 K)
    >>> f"{stefan_flux(film, 0.015, 0.05):.3g}"
    '0.000247'
    """
    return mass_film * (log_dry(vapour_fraction_surface) - log_dry(vapour_fraction_air))


def ackermann(phi: Array) -> Array:
    """Factor phi/(exp(phi) - 1) on the heat film coefficient while vapour flows out against the heat.

    Parameters
    ----------
    phi : float or ndarray
        Vapour flux times its specific heat over the film coefficient [-], positive outward. Any size.

    Returns
    -------
    float or ndarray
        Factor [-].

    Notes
    -----
    Ackermann (1937), from memory; Bird, Stewart & Lightfoot ch. 22. Accurate to rounding for |phi| < 700, far
    beyond any film.

    Examples
    --------
    >>> float(ackermann(0.0)), round(float(ackermann(0.1)), 6)
    (1.0, 0.950833)
    """
    shifted = phi + 1e-300  # 0/0 at no flux otherwise
    return shifted / np.expm1(shifted)
