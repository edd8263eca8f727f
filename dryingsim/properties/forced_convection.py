"""Air that moves along a face: correlations for plates and trays, as means over the face."""

from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.typing import Array

LAMINAR_PLATE: Annotated[
    float,
    Evidence(
        "-", "published", "laminar boundary layer from the leading edge: Pohlhausen; Incropera, example 7.1"
    ),
] = 0.664


def reynolds(speed_m_s: Array, length_m: Array, density: Array, viscosity: Array) -> Array:
    """Reynolds number from speed [m/s], length along the flow [m], density [kg/m3] and viscosity [Pa s].

    Parameters
    ----------
    speed_m_s, length_m : float or ndarray
        Speed of the air [m/s], length of the face along the flow [m].
    density, viscosity : float or ndarray
        Of the air [kg/m3], [Pa s].

    Returns
    -------
    float or ndarray
        Reynolds number [-].

    Examples
    --------
    >>> round(reynolds(1.0, 0.1, 1.05, 2.0e-5))
    5250
    """
    return speed_m_s * length_m * density / viscosity


def nusselt_flat_plate_laminar(reynolds: Array, prandtl: Array) -> Array:
    """Mean Nusselt number of a laminar boundary layer from the leading edge, 0.664 Re^(1/2) Pr^(1/3).

    Parameters
    ----------
    reynolds : float or ndarray
        Over the whole length. Valid to 5e5 (and above some 1e3: a shorter plate gives more).
    prandtl : float or ndarray
        Prandtl number, or the Schmidt number for the Sherwood number. Valid 0.6-50.

    Returns
    -------
    float or ndarray
        Nusselt (or Sherwood) number over the whole length [-].

    Notes
    -----
    Pohlhausen; Incropera, example 7.1 (Re 9600, Pr 0.687: Nu 57.4).

    Examples
    --------
    >>> round(float(nusselt_flat_plate_laminar(9600.0, 0.687)), 1)
    57.4
    """
    return LAMINAR_PLATE * np.sqrt(reynolds) * np.cbrt(prandtl)


def nusselt_flat_plate_mixed(reynolds: Array, prandtl: Array) -> Array:
    """Mean Nusselt number of a plate whose layer turns turbulent at Re 5e5, (0.037 Re^0.8 - 871) Pr^(1/3).

    Parameters
    ----------
    reynolds : float or ndarray
        Over the whole length. Valid 5e5-1e8; below 2.9e5 the formula turns negative and means nothing.
    prandtl : float or ndarray
        Prandtl or Schmidt number. Valid 0.6-60.

    Returns
    -------
    float or ndarray
        Nusselt (or Sherwood) number over the whole length [-].

    Notes
    -----
    Incropera, example 7.2.

    Examples
    --------
    >>> round(float(nusselt_flat_plate_mixed(1.0e6, 0.7)))
    1299
    """
    return (0.037 * reynolds**0.8 - 871.0) * np.cbrt(prandtl)


def nusselt_flat_plate(reynolds: Array, prandtl: Array) -> Array:
    """Mean Nusselt number of a plate, laminar or mixed: the larger of the two.

    The two cross at Re 4.99e5, so the larger one is the laminar value below the transition and the
    mixed one above it, without a jump. Parameters as in `nusselt_flat_plate_laminar`.

    Parameters
    ----------
    reynolds, prandtl : float or ndarray
        Reynolds number over the whole length [-]; Prandtl or Schmidt number [-].

    Returns
    -------
    float or ndarray
        Nusselt (or Sherwood) number over the whole length [-].

    Examples
    --------
    >>> round(float(nusselt_flat_plate(9600.0, 0.687)), 1)  # laminar
    57.4
    >>> round(float(nusselt_flat_plate(1.0e6, 0.7)))  # mixed
    1299
    """
    laminar = nusselt_flat_plate_laminar(reynolds, prandtl)
    return np.maximum(laminar, nusselt_flat_plate_mixed(reynolds, prandtl))


def tray_parallel(mass_velocity: Array) -> Array:
    """Film coefficient [W/(m2 K)] of a tray in air flowing along it, 0.0204 G^0.8 with G in kg/(m2 h).

    Parameters
    ----------
    mass_velocity : float or ndarray
        Density times speed [kg/(m2 s)]. Valid 0.68-8.1 (2450-29 300 kg/(m2 h), 0.61-7.6 m/s; from memory).

    Returns
    -------
    float or ndarray
        Film coefficient [W/(m2 K)].

    Notes
    -----
    Geankoplis, example 9.6-3; air of 45-150 degC. Includes the turbulence of real dryers, so well above
    the clean laminar plate.

    Examples
    --------
    >>> round(float(tray_parallel(22772.0 / 3600.0)), 2)  # Geankoplis 9.6-3: 62.45
    62.45
    """
    return 0.0204 * (3600.0 * mass_velocity) ** 0.8


def tray_channel(mass_velocity: Array, equivalent_diameter_m: Array) -> Array:
    """Film coefficient [W/(m2 K)] of the channel between trays, 5.90 G^0.71/d_e^0.29 with G in kg/(m2 s).

    Parameters
    ----------
    mass_velocity : float or ndarray
        Density times speed [kg/(m2 s)].
    equivalent_diameter_m : float or ndarray
        Four times the flow's cross-section over its perimeter [m].

    Returns
    -------
    float or ndarray
        Film coefficient [W/(m2 K)].

    Notes
    -----
    Treybal, example 12.4. Valid for Re 2600-22 000 on the equivalent diameter (from memory).

    Examples
    --------
    >>> round(float(tray_channel(3.0 * 1.0377, 0.175)), 1)  # Treybal 12.4: 21.9
    21.9
    """
    return 5.90 * mass_velocity**0.71 / equivalent_diameter_m**0.29
