r"""Juice that meat gives off when it is heated without drying: its proteins shrink and let water go.

How much water is held in the end falls with the hottest that a place has been; the rest lets go by a law of first order.
What drips is counted as water alone: salt, sugar and protein stay (a few percent of the drip, left out).
"""

from typing import Annotated

import numpy as np

from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.properties.kelvin import check_kelvin
from dryingsim.typing import Array

_KEPT_AT_C: Annotated[
    tuple[float, ...],
    Evidence(
        "degC", "published", "60, 70 and 80 degC inside: as printed; the ends are those of the estimate"
    ),
] = (40.0, 60.0, 70.0, 80.0, 100.0)
_KEPT: Annotated[
    tuple[float, ...],
    Evidence(
        "-",
        "derived",
        "69.7, 64.7 and 60.3 % of water left at 60, 70 and 80 degC in three beef muscles, oven and tube (fluid content and "
        "tenderness of three muscles of beef cooked to three internal temperatures, J. Food Sci. 1963, abstract), over a raw "
        "73.5 % (estimate); nothing lost at 40 degC and 0.42 kept at 100 degC: estimate",
    ),
] = (1.0, 0.829, 0.661, 0.548, 0.42)


LETTING_GO_S: Annotated[
    float,
    Evidence(
        "s",
        "estimate",
        "time in which all but 37 % has let go; in a water bath cubes of beef of 1 cm and more go by a law of first order "
        "to a loss by temperature alone (Meat Sci. 88:338, abstract); the rate is not printed there",
        (20.0, 300.0),
    ),
] = 60.0


def let_go(time_s: Array) -> Array:
    """Return the share of the juice that is off after some time in the heat [-].

    Parameters
    ----------
    time_s : float or ndarray
        [s].

    Returns
    -------
    float or ndarray

    Examples
    --------
    >>> round(float(let_go(60.0)), 3), round(float(let_go(600.0)), 3)
    (0.632, 1.0)
    """
    return -np.expm1(-np.asarray(time_s) / LETTING_GO_S)


def water_kept(temperature_K: Array) -> Array:
    """Return the share of its water that meat holds in the end, once it has been at a temperature [-].

    Parameters
    ----------
    temperature_K : float or ndarray
        Hottest so far [K].

    Returns
    -------
    float or ndarray

    Examples
    --------
    >>> water_kept(np.array([293.15, 343.15, 363.15])).round(3).tolist()
    [1.0, 0.661, 0.484]
    """
    check_kelvin(temperature_K, "temperature_K")
    at = np.array(_KEPT_AT_C) + ZERO_CELSIUS
    return np.interp(temperature_K, at, np.array(_KEPT))
