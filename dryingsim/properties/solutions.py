"""Solutions of salt and of sugar in water at 25 degC: how concentrated each is at a water activity."""

from typing import Annotated

import numpy as np

from dryingsim.constants import MOLAR_MASS_WATER
from dryingsim.evidence import Evidence
from dryingsim.typing import Array

MOLAR_MASS_SALT: Annotated[float, Evidence("kg/mol", "derived", "NaCl, standard atomic weights")] = 58.443e-3
MOLAR_MASS_SUGAR: Annotated[float, Evidence("kg/mol", "derived", "sucrose, standard atomic weights")] = (
    342.30e-3
)

_PITZER = Evidence(
    "kg/mol, powers of", "published", "NaCl at 25 degC: Pitzer (1984) as tabulated with Cantera"
)
PITZER_A: Annotated[
    float,
    Evidence("(kg/mol)^(1/2)", "from memory", "Debye-Hueckel slope of water at 25 degC, for Pitzer (1984)"),
] = 0.3915
PITZER_B: Annotated[float, _PITZER] = 1.2
PITZER_BETA0: Annotated[float, _PITZER] = 0.0765
PITZER_BETA1: Annotated[float, _PITZER] = 0.2664
PITZER_ALPHA: Annotated[float, _PITZER] = 2.0
PITZER_C: Annotated[float, _PITZER] = 0.00127

SALT_SATURATION: Annotated[
    float,
    Evidence(
        "-", "published", "a_w over saturated NaCl (Greenspan 1977, 25 degC); below it the salt crystallises"
    ),
] = 0.7528
NORRISH_SUCROSE: Annotated[
    float,
    Evidence("-", "from memory", "Norrish (1966) constant for sucrose (Chirife et al.); agrees with code"),
] = 6.47


def sodium_chloride_molality(y: Array) -> tuple[Array, Array]:
    """Molality of the NaCl solution of a given water activity, and its derivative.

    Parameters
    ----------
    y : float or ndarray
        -ln(a_w) [-], 0 to about 0.4 (beyond saturation the Pitzer equation is extrapolated).

    Returns
    -------
    tuple of ndarray
        Molality [mol/kg water] and d(molality)/dy.

    Examples
    --------
    >>> molality, slope = sodium_chloride_molality(-np.log(0.7528))
    >>> round(float(molality), 2)  # saturated brine: 6.15 mol/kg (shared/sodium_chloride.csv)
    6.14
    """
    y = np.asarray(y, dtype=float)
    m = y / (2.0 * MOLAR_MASS_WATER)
    for _ in range(6):  # Newton from the ideal solution, which is never far: to rounding after 5
        m = m - (_depression(m) - y) / _depression_slope(m)
    return m, 1.0 / _depression_slope(m)


def _depression(m: Array) -> Array:
    """-ln(a_w) of an NaCl solution of molality m (Pitzer)."""
    root = np.sqrt(m)
    phi = (
        1.0
        - PITZER_A * root / (1.0 + PITZER_B * root)
        + m * (PITZER_BETA0 + PITZER_BETA1 * np.exp(-PITZER_ALPHA * root))
        + m * m * PITZER_C
    )
    return 2.0 * MOLAR_MASS_WATER * m * phi


def _depression_slope(m: Array) -> Array:
    """d(-ln a_w)/dm of `_depression`."""
    root = np.sqrt(m)
    denominator = 1.0 + PITZER_B * root
    debye = root / denominator * (1.0 + 0.5 / denominator)
    decay = np.exp(-PITZER_ALPHA * root)
    virial = (
        2.0 * m * (PITZER_BETA0 + PITZER_BETA1 * decay) - 0.5 * PITZER_ALPHA * PITZER_BETA1 * m * root * decay
    )
    return 2.0 * MOLAR_MASS_WATER * (1.0 - PITZER_A * debye + virial + 3.0 * m * m * PITZER_C)


def sucrose_mole_fraction(y: Array) -> tuple[Array, Array]:
    """Mole fraction of sucrose in the solution of a given water activity (Norrish), and its derivative.

    Parameters
    ----------
    y : float or ndarray
        -ln(a_w) [-]. The equation is published down to a_w about 0.3; below it is extrapolated.

    Returns
    -------
    tuple of ndarray
        Mole fraction [-] and d(mole fraction)/dy.

    Examples
    --------
    >>> fraction, slope = sucrose_mole_fraction(-np.log(0.95))
    >>> round(float(fraction), 4)
    0.0401
    """
    y = np.asarray(y, dtype=float)
    k = NORRISH_SUCROSE
    # In v = -ln(1 - x) the equation is v + k (1 - exp(-v))^2 = y, with a slope between 1 and 1 + k/2.
    v = np.maximum((np.sqrt(1.0 + 4.0 * k * y) - 1.0) / (2.0 * k), y - k)
    for _ in range(8):
        water = np.exp(-v)
        v = v - (v + k * (1.0 - water) ** 2 - y) / (1.0 + 2.0 * k * (1.0 - water) * water)
    x = -np.expm1(-v)
    return x, 1.0 / (np.exp(v) + 2.0 * k * x)
