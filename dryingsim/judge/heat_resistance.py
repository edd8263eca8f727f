r"""Kill by heat along a history, for a laboratory or kitchen nothing has been measured of: a median and a lower bound.

.. math::

    \log_{10} D = c - b\,t + E\,(low + rise\,s(t)) + linear\,x + effects,\quad R = \int dt / D

D: time for a tenfold fall of the survivors [min]; t: temperature above 60 degC; x: how far the water activity is
below raw meat's;
E = 1 - exp(-x/width); s: a smooth ramp that begins at the hinge. Dryness protects above the hinge and does nothing below. Numbers
and evidence: `batch/catalog/heat_resistance.toml`, written by `python -m validation.fits.heat --write`.

What is not known of a new study - its level, its slope, how far dryness protects there, and the parameters themselves - is drawn:
a few dozen even points for all that changes the shape of D(T, a_w), shared by all organisms, and many for the level, which only
scales. A resistant fraction of the cells survives any heat (`Ceiling`), and what is dried in hot air loses more than
heat explains
(`Drying`). The lower bound is the 5 % quantile: in 19 of 20 new studies the reduction is larger.

Limits. D is held above 90 degC, the hottest published, and rises steeply below the coolest published, so that hardly
anything is credited there. Cells warmed slowly grow more resistant: an allowance stands on three published ratios, and models
that knew only the present temperature erred by 2 to 5 log in some slow heatings (Stasiewicz et al. 2008;
Tenorio-Bernal et al. 2013).
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.judge.heat_draws import SHAPES, samples_of, shapes_of
from dryingsim.judge.heat_model import (
    CENTRE_K,
    RAW_ACTIVITY,
    HeatResistance,
    Matrix,
    dryness_shapes,
    heat_resistance,
)
from dryingsim.typing import Array

COUNTABLE: Annotated[float, Evidence("log10", "estimate", "more was counted by hardly anybody")] = 7.0
_MINUTE: Annotated[float, Evidence("s", "exact", "a minute")] = 60.0
_LN10 = float(np.log(10.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduction:
    """What a new study would count at the least-reduced place [log10], as even draws in rising order."""

    draws: Array

    def quantile(self, share: float) -> float:
        """Return the reduction that a share of new studies stays below."""
        place = share * self.draws.size - 0.5
        return float(np.interp(place, np.arange(self.draws.size), self.draws))

    @property
    def median(self) -> float:
        """The best estimate."""
        return self.quantile(0.5)

    @property
    def lower(self) -> float:
        """The lower 95 % predictive bound for a new study."""
        return self.quantile(0.05)

    def probability(self, target: float) -> float:
        """Return the probability that a new study reaches a target [log10]."""
        return float(1.0 - np.searchsorted(self.draws, target) / self.draws.size)


def log10_d(
    temperature_K: Array,
    water_activity: Array,
    organism: str,
    matrix: Matrix = "surface",
    model: HeatResistance | None = None,
) -> Array:
    """Return log10 of the median decimal reduction time, D in seconds.

    Parameters
    ----------
    temperature_K : float or ndarray
        Temperature [K].
    water_activity : float or ndarray
        Water activity [-].
    organism : str
        "salmonella", "e_coli" or "listeria".
    matrix : str
        "surface" and "ground": as measured in ground meat; "whole": inside intact muscle, where it is about double.
    model : HeatResistance, optional
        Other than the package's own.
    """
    m = model or heat_resistance()
    t = np.minimum(temperature_K, m.hottest_K) - CENTRE_K
    near, ramp, fall = dryness_shapes(t, water_activity, float(np.exp(m["ln_width"])), m["hinge"])
    cold = np.maximum(m.coolest_K - CENTRE_K - t, 0.0)
    dry = near * (m["low"] + m["rise"] * ramp) + m["linear"] * fall
    minutes = m.level(organism, matrix) - m["slope"] * t + dry + m.cold_slope * cold
    return minutes + np.log10(_MINUTE)


def accumulated(
    time_s: Array, temperature_K: Array, water_activity: Array, model: HeatResistance | None = None
) -> Array:
    """Return the log10 reductions by heat at level zero, of every draw of the shape; for all organisms at once.

    Between samples log10 of the rate is a straight line.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature_K, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] where bacteria sit.
    model : HeatResistance, optional
        Other than the package's own.

    Returns
    -------
    ndarray, shape (draw, ...)
        Reductions [-] of an organism whose D at 60 degC in raw meat is one minute.
    """
    shapes = shapes_of(model or heat_resistance())
    t = np.asarray(temperature_K, dtype=float)
    minutes = np.diff(np.asarray(time_s, dtype=float)).reshape((-1,) + (1,) * (t.ndim - 1)) / _MINUTE
    return np.stack(
        [np.sum(minutes * mean_rate(shapes.log10_rate(k, t, water_activity)), axis=0) for k in range(SHAPES)]
    )


def mean_rate(log10_rate: Array) -> Array:
    """Return the mean rate between samples along axis 0, log10 of the rate being a straight line there."""
    rate = np.exp(_LN10 * log10_rate)
    rise = _LN10 * np.diff(log10_rate, axis=0)
    flat = np.abs(rise) < 1e-4
    slanted = np.diff(rate, axis=0) / np.where(flat, 1.0, rise)
    return np.where(flat, 0.5 * (rate[:-1] + rate[1:]), slanted)


def drying_share(
    time_s: Array, temperature_K: Array, water_activity: Array, model: HeatResistance | None = None
) -> Array:
    """Return how far a history is one of those in which drying itself was seen to kill, 0 to 1.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature_K, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] where bacteria sit.
    model : HeatResistance, optional
        Other than the package's own.
    """
    d = (model or heat_resistance()).drying
    a = np.asarray(water_activity, dtype=float)
    warm = np.clip((np.asarray(temperature_K) - d.cool_K) / (d.warm_K - d.cool_K), 0.0, 1.0)
    dried = warm * np.clip((np.minimum(a[0], RAW_ACTIVITY) - a) / d.fall, 0.0, 1.0)
    span = np.diff(np.asarray(time_s, dtype=float)).reshape((-1,) + (1,) * (a.ndim - 1))
    return np.asarray(np.minimum(np.sum(span * 0.5 * (dried[:-1] + dried[1:]), axis=0) / d.hours_s, 1.0))


def reduction(
    sums: Array,
    organism: str,
    matrix: Matrix = "surface",
    *,
    rapid: Array | None = None,
    drying: Array | float = 0.0,
    model: HeatResistance | None = None,
) -> Reduction:
    """Return what a new study would count at the least-reduced of some places.

    Parameters
    ----------
    sums : ndarray, shape (draw, ...)
        By heat, as `accumulated` returns it.
    organism, matrix : str
        As in `log10_d`.
    rapid : ndarray, shape (draw, ...), optional
        The same of what came before in hot liquid or steam, in seconds to minutes; its resistant fraction goes on.
    drying : float or ndarray, shape (...)
        Share of the drying term, as `drying_share` returns it [-]; zero leaves it out.
    model : HeatResistance, optional
        Other than the package's own.
    """
    m = model or heat_resistance()
    samples = samples_of(m, organism, matrix)
    fast, slow = 10.0**-samples.fast, 10.0**-samples.slow
    later = sums.reshape(sums.shape[0], -1)
    before = None if rapid is None else rapid.reshape(rapid.shape[0], -1)
    share = np.broadcast_to(drying, sums.shape[1:]).reshape(-1)
    least = np.full(slow.shape, np.inf)
    for place in _candidates(later, before, share):
        here = later[:, place, None] * slow + share[place] * samples.drying
        if before is not None:
            here = here + survived(before[:, place, None] * fast, samples.ceilings["rapid"])
        least = np.minimum(least, here)
    return Reduction(draws=np.sort(survived(least, samples.ceilings["long"]), axis=None))


def survived(by_heat: Array, ceiling: Array) -> Array:
    """Return the log10 reduction where a fraction of the cells survives any heat."""
    counted = -np.logaddexp(-_LN10 * by_heat, -_LN10 * ceiling) / _LN10
    return np.asarray(np.maximum(counted, 0.0))


def _candidates(later: Array, before: Array | None, share: Array) -> Array:
    """Return the places that may be the least reduced: by heat alone, those with the least of it in some draw."""
    if before is None and not share.any():
        return np.unique(later.argmin(axis=1))
    return np.arange(later.shape[1])


def lower_bound(
    time_s: Array,
    temperature_K: Array,
    water_activity: Array,
    organism: str,
    matrix: Matrix = "surface",
    model: HeatResistance | None = None,
) -> Reduction:
    """Return the reduction by heat alone along a history, at the least-reduced place; `lower` is its bound.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature_K, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] at the places where bacteria may sit.
    organism, matrix : str
        As in `reduction`.
    model : HeatResistance, optional
        Other than the package's own.
    """
    return reduction(accumulated(time_s, temperature_K, water_activity, model), organism, matrix, model=model)
