r"""Growth of bacteria along a history of temperature and water activity, by published models.

    d(ln N)/dt = mu(T, a_w, pH) = mu_opt * f(T) * g(a_w) * h(pH)

The models stand in `batch/catalog/growth_models.toml`. Without a lag the integral is the *upper* figure, and it decides: cells
on meat may have been growing already. Beside it stands the figure with a lag, for cells that have to do a work h0 first,

.. math:: \ln(N/N_0) = \ln\left(1 + (e^{I} - 1)\,e^{-h_0}\right),\quad I = \int \mu\,dt

which holds for any course of the temperature. Nothing limits the number of cells: a figure above 5 or so means "many".

Limits. S. aureus was measured in broth, at its best pH and without rivals; the others in meat. What slow heating, cure, acid or
other flora hold back is not counted.
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.catalog.growth_models import Factor, growth_model, raw_water_activity
from dryingsim.constants import ZERO_CELSIUS
from dryingsim.evidence import Evidence
from dryingsim.typing import Array

BELOW_M: Annotated[float, Evidence("m", "assumed", "the depth told beside the surface and the middle")] = 1e-3
_LN10 = float(np.log(10.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class OrganismGrowth:
    """How much one organism may have grown; log10 of the increase, the largest over the slabs.

    Attributes
    ----------
    organism, name : str
    slab, node : int
        The place where bacteria may sit at which it grows most.
    upper, lagged : float
        There, without a lag (the upper figure, which decides) and with one.
    surface, middle : float
        At either face and in the middle, without a lag, wherever bacteria may sit.
    below : float or None
        A millimetre below a face; None where the thickness is not known.
    limit : float or None
        The most that a guideline allows, if one does.
    net : float or None
        Growth less the log10 reduction that counts, at the least-reduced place; None where that is not judged.
    """

    organism: str
    name: str
    slab: int
    node: int
    upper: float
    lagged: float
    surface: float
    middle: float
    below: float | None
    limit: float | None
    net: float | None = None

    @property
    def too_much(self) -> bool:
        """Whether the upper figure passes what a guideline allows."""
        return self.limit is not None and self.upper > self.limit


def cardinal(x: Array, low: float, best: float, high: float) -> Array:
    """Return the cardinal factor of Rosso with exponent 2: 0 at and beyond `low` and `high`, 1 at `best` [-].

    Parameters
    ----------
    x : float or ndarray
        A temperature or a water activity; all four arguments in one unit.
    low, best, high : float
        Cardinal values.

    Examples
    --------
    >>> [round(float(cardinal(t, 7.7, 40.6, 46.7)), 3) for t in (7.7, 20.0, 40.6)]
    [0.0, 0.196, 1.0]
    """
    inside = np.clip(x, low, high)
    span = best - low
    below = span * (span * (inside - best) - (best - high) * (best + low - 2.0 * inside))

    return (inside - high) * (inside - low) ** 2 / below


def cardinal_ph(ph: Array, low: float, best: float, high: float) -> Array:
    """Return the cardinal factor of the pH: 0 at and beyond `low` and `high`, 1 at `best` [-].

    Parameters
    ----------
    ph : float or ndarray
        pH [-].
    low, best, high : float
        Cardinal values [-].
    """
    inside = np.clip(ph, low, high)
    top = (inside - low) * (inside - high)
    return top / (top - (inside - best) ** 2)


def growth_rate(organism: str, temperature: Array, water_activity: Array, ph: Array | None = None) -> Array:
    """Return the specific growth rate mu [1/s], natural logarithm.

    Parameters
    ----------
    organism : str
        A key of `growers`: "staphylococcus", "salmonella", "e_coli", "listeria", "perfringens".
    temperature : float or ndarray
        Temperature [K].
    water_activity : float or ndarray
        Water activity at that temperature [-].
    ph : float or ndarray, optional
        pH [-], for an organism whose model has it; where it is not given, the best one.

    Examples
    --------
    >>> mu = growth_rate("staphylococcus", 273.15 + 37.0, 0.994)
    >>> round(float(mu * 6 * 3600 / np.log(10.0)), 2)  # log10 in 6 h
    4.72
    """
    own = growth_model(organism)
    celsius = np.asarray(temperature, dtype=float) - ZERO_CELSIUS
    rate = own.mu_opt / 3600.0 * _temperature_factor(celsius, own.temperature)
    activity = np.asarray(water_activity, dtype=float)
    factor = _activity_factor(activity, own.water_activity)
    if own.in_raw_meat:
        raw = _activity_factor(np.array(raw_water_activity()), own.water_activity)
        factor = np.minimum(factor / raw, 1.0)
    if ph is not None and own.ph is not None:
        factor = factor * cardinal_ph(ph, own.ph.min, own.ph.opt, own.ph.max)
    return rate * factor


def _temperature_factor(celsius: Array, own: Factor) -> Array:
    if own.law == "cardinal":
        return cardinal(celsius, own.min, own.opt, own.max)
    inside = np.clip(celsius, own.min, own.max)
    return own.b * (inside - own.min) ** 2 * (1.0 - np.exp(own.c * (inside - own.max)))


def _activity_factor(activity: Array, own: Factor) -> Array:
    """Return the factor of water activity; at its best or wetter it is 1."""
    if own.law == "cardinal":
        return cardinal(np.minimum(activity, own.opt), own.min, own.opt, own.max)
    if own.law == "linear":
        return np.clip((activity - own.min) / (own.opt - own.min), 0.0, 1.0)
    dryness = np.maximum(
        1.0 - activity, (0.5 * own.p / own.q) ** 2
    )  # the best: where the exponent is highest
    exponent = own.p * np.sqrt(dryness) - own.q * dryness
    return np.where(activity >= own.min, np.exp(exponent - 0.25 * own.p**2 / own.q), 0.0)


def log10_growth(time_s: Array, rate: Array) -> Array:
    """Return the increase [log10] at the end, without a lag, by the trapezoidal rule along axis 0.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    rate : ndarray, shape (t, ...)
        Specific growth rates [1/s].
    """
    span = np.diff(time_s)
    weight = 0.5 * (np.append(span, 0.0) + np.insert(span, 0, 0.0))
    return np.tensordot(weight, rate, axes=1) / _LN10


def with_lag(log10: Array, h0: float) -> Array:
    """Return the increase [log10] with a lag, from that without one.

    Parameters
    ----------
    log10 : float or ndarray
        Increase without a lag [log10].
    h0 : float
        Work of the lag [-], natural logarithm.

    Examples
    --------
    >>> round(float(with_lag(4.0, 2.0)), 2)
    3.13
    """
    return np.log10(1.0 + (10.0 ** np.asarray(log10) - 1.0) * np.exp(-h0))
