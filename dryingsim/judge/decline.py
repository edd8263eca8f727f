r"""Decline of bacteria without heat, in meat too dry for them to grow: a best estimate beside, in no bound and no grade.

.. math::

    \ln r = 30.974 - 10483/T

r: log10 per hour; T: temperature [K]. E. coli in fermented and dried meat that kept it from growing, 484 rates of 44 studies,
0-47 degC (McQuestin, Shadbolt and Ross 2009). Temperature explains 61 % of it, pH and water activity under 8 % each. Nothing is
credited outside: not hotter or colder, not while E. coli may grow, and of no other organism. Against counts that it was not
made from the law does no better than a constant (`validation/fits/heat/report.md`).
"""

from typing import Annotated

import numpy as np

from dryingsim.batch.catalog.growth_models import growth_model
from dryingsim.evidence import Evidence
from dryingsim.typing import Array

ORGANISM = "e_coli"
_SOURCE = (
    "McQuestin et al. 2009, Appl. Environ. Microbiol. 75:6963-6972, 44 studies; shared/heat_free_decline.csv"
)
_LEVEL: Annotated[float, Evidence("-", "published", _SOURCE)] = 30.974
_STEEPNESS: Annotated[float, Evidence("K", "published", _SOURCE)] = 10483.0
STUDIED_K: Annotated[tuple[float, float], Evidence("K", "published", _SOURCE + ": 0 to 47 degC")] = (
    273.15,
    320.15,
)


def decline_rate(temperature_K: Array) -> Array:
    """Return how fast E. coli declines without heat, wherever it cannot grow [log10/s]; the law alone, at any temperature.

    Parameters
    ----------
    temperature_K : float or ndarray
        Temperature [K].

    Examples
    --------
    >>> round(float(decline_rate(293.15)) * 86400.0, 2)  # log10 a day at 20 degC
    0.2
    """
    return np.asarray(np.exp(_LEVEL - _STEEPNESS / np.asarray(temperature_K, dtype=float)) / 3600.0)[()]


def decline_without_heat(time_s: Array, temperature_K: Array, water_activity: Array) -> Array:
    """Return the log10 reduction of E. coli without heat, as far as it was studied.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature_K, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] where bacteria sit.

    Notes
    -----
    An interval with one end outside what was studied counts not at all.

    Examples
    --------
    >>> week, warm = np.array([0.0, 7 * 86400.0]), np.full(2, 298.15)
    >>> [round(float(decline_without_heat(week, warm, np.full(2, aw))), 1) for aw in (0.99, 0.90)]
    [0.0, 2.6]
    """
    t, a = np.asarray(temperature_K, dtype=float), np.asarray(water_activity, dtype=float)
    low, high = STUDIED_K
    studied = (t >= low) & (t <= high) & (a < growth_model(ORGANISM).water_activity.min)
    rate = np.where(studied, decline_rate(t), 0.0)
    both = studied[:-1] & studied[1:]
    span = np.diff(np.asarray(time_s, dtype=float)).reshape((-1,) + (1,) * (t.ndim - 1))
    return np.asarray(np.sum(np.where(both, 0.5 * span * (rate[:-1] + rate[1:]), 0.0), axis=0))[()]
