r"""Log reduction by heat along a history, for a laboratory or kitchen nothing has been measured of: a median and a lower bound.

.. math::

    \log_{10} D = c - b\,t + E\,(low + rise\,s(t)) + linear\,x + effects,\quad R = \int dt / D

D: time for a tenfold fall of the survivors [min]; t: temperature above 60 degC; x: how far the water activity is
below raw meat's;
E = 1 - exp(-x/width); s: a smooth ramp that begins at the hinge. Dryness protects above the hinge and does nothing below. Numbers
and evidence: `batch/catalog/heat_resistance.toml`, written by `python -m validation.fits.heat --write`.

What is not known of a new study - its level, its slope, how far dryness protects there, and the parameters themselves - is drawn:
a few dozen even points for all that changes the shape of D(T, a_w), shared by all organisms, and many for the level, which only
scales. A resistant fraction of the cells survives any heat (`Ceiling`), a larger one heat that was quick (`Lasting`), and what is
dried in hot air loses more than heat explains (`Drying`). The lower bound is the 5 % quantile: in 19 of 20 new studies the
reduction is larger.

Limits. D is held above 90 degC, the hottest published, and rises steeply below the coolest published, so that hardly
anything is credited there. Cells warmed slowly grow more resistant: an allowance stands on three published ratios, and models
that knew only the present temperature erred by 2 to 5 log in some slow heatings (Stasiewicz et al. 2008;
Tenorio-Bernal et al. 2013).
"""

from collections.abc import Callable, Sequence
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
from dryingsim.judge.lethality import running, spans
from dryingsim.typing import Array

COUNTABLE: Annotated[float, Evidence("log10", "estimate", "more was counted by hardly anybody")] = 7.0
BOUND: Annotated[float, Evidence("-", "numerical", "share of new studies below the lower 95 % bound")] = 0.05
_MINUTE: Annotated[float, Evidence("s", "exact", "a minute")] = 60.0
_BLOCK = 256  # places whose draws are handled at once
_AT_ONCE = 16384  # numbers of a history in as many draws as are handled at once: they fit the cache
_LN10 = float(np.log(10.0))


@dataclass(frozen=True, slots=True, kw_only=True)
class Reduction:
    """What a new study would count at the least-reduced place [log10], as even draws in rising order.

    `place` is that place: the one of the lowest median, counted along the places as they were given, flat.
    """

    draws: Array
    place: int = 0

    def quantile(self, share: float) -> float:
        """Return the reduction that a share of new studies stays below."""
        return float(quantile(self.draws, share))

    @property
    def median(self) -> float:
        """The best estimate."""
        return self.quantile(0.5)

    @property
    def lower(self) -> float:
        """The lower 95 % predictive bound for a new study."""
        return self.quantile(BOUND)

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


def mean_rate(log10_rate: Array) -> Array:
    """Return the mean rate between samples along axis 0, log10 of the rate being a straight line there."""
    rate = np.exp(_LN10 * log10_rate)
    rise = _LN10 * np.diff(log10_rate, axis=0)
    flat = np.abs(rise) < 1e-4
    slanted = np.diff(rate, axis=0) / np.where(flat, 1.0, rise)
    return np.where(flat, 0.5 * (rate[:-1] + rate[1:]), slanted)


def straight_rate(log10_rate: Array) -> Array:
    """Return the mean rate between samples along axis 0, the rate itself being a straight line there."""
    rate = np.exp(_LN10 * log10_rate)
    return np.asarray(0.5 * (rate[:-1] + rate[1:]))


def accumulated(
    time_s: Array,
    temperature_K: Array,
    water_activity: Array,
    model: HeatResistance | None = None,
    rule: Callable[[Array], Array] = mean_rate,
    *,
    over_time: bool = False,
) -> Array:
    """Return the log10 reductions by heat at level zero, of every draw of the shape; for all organisms at once.

    Parameters
    ----------
    time_s : ndarray, shape (t,) or (t, ...)
        Time, not falling [s]; the same for all places, or for each its own.
    temperature_K, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] where bacteria sit.
    model : HeatResistance, optional
        Other than the package's own.
    rule : callable
        The mean rate between samples: `mean_rate`, or `straight_rate`, which is never less.
    over_time : bool
        At every sample, not at the last alone.

    Returns
    -------
    ndarray, shape (draw, ...) or (draw, t, ...)
        Reductions [-] of an organism whose D at 60 degC in raw meat is one minute.
    """
    shapes = shapes_of(model or heat_resistance())
    t, a = np.asarray(temperature_K, dtype=float), np.asarray(water_activity, dtype=float)
    minutes = spans(time_s, t.ndim)[..., None] / _MINUTE
    total = running if over_time else _sum
    some = max(_AT_ONCE // t.size, 1)
    parts = [
        total(minutes * rule(shapes.log10_rate(slice(k, k + some), t, a))) for k in range(0, SHAPES, some)
    ]
    return np.ascontiguousarray(np.moveaxis(np.concatenate(parts, axis=-1), -1, 0))


def _sum(parts: Array) -> Array:
    return np.asarray(np.sum(parts, axis=0))


@dataclass(frozen=True, eq=False)
class HeatBefore:
    """What heat in liquid or steam did before drying.

    Attributes
    ----------
    sums : ndarray, shape (draw, ...)
        By heat, as `accumulated` returns it.
    hot_s : ndarray, shape (...)
        For how long each place was hot, by `heat_model.Lasting` [s].
    """

    sums: Array
    hot_s: Array

    @classmethod
    def of(
        cls,
        time_s: Array,
        temperature_K: Array,
        water_activity: Array,
        model: HeatResistance | None = None,
        rule: Callable[[Array], Array] = mean_rate,
    ) -> "HeatBefore":
        """Return that of a history.

        Parameters
        ----------
        time_s, temperature_K, water_activity, model, rule
            As of `accumulated`.
        """
        lasting = (model or heat_resistance()).lasting
        hot = lasting.counts(temperature_K - lasting.hot_K)
        return cls(
            accumulated(time_s, temperature_K, water_activity, model, rule),
            (spans(time_s, temperature_K.ndim) * 0.5 * (hot[:-1] + hot[1:])).sum(axis=0),
        )


def drying_share(
    time_s: Array,
    temperature_K: Array,
    water_activity: Array,
    model: HeatResistance | None = None,
    *,
    over_time: bool = False,
) -> Array:
    """Return how far a history is one of those in which drying itself was seen to reduce bacteria, 0 to 1.

    Parameters
    ----------
    time_s : ndarray, shape (t,) or (t, ...)
        As of `accumulated` [s].
    temperature_K, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] where bacteria sit.
    model : HeatResistance, optional
        Other than the package's own.
    over_time : bool
        Whether as it grows, shape (t, ...), rather than at the end.
    """
    d = (model or heat_resistance()).drying
    a = np.asarray(water_activity, dtype=float)
    dried = d.counts(np.asarray(temperature_K), np.minimum(a[0], RAW_ACTIVITY) - a)
    total = (running if over_time else _sum)(spans(time_s, a.ndim) * 0.5 * (dried[:-1] + dried[1:]))
    most = np.maximum.accumulate(dried, axis=0) if over_time else dried.max(axis=0)
    return np.asarray(np.minimum(total / d.hours_s, most))


def reduction(
    sums: Array,
    organism: str,
    matrix: Matrix = "surface",
    *,
    before: HeatBefore | None = None,
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
    before : HeatBefore, optional
        Of the same places, in hot liquid or steam; the fraction that resists quick heat goes on.
    drying : float or ndarray, shape (...)
        Share of the drying term, as `drying_share` returns it [-]; zero leaves it out.
    model : HeatResistance, optional
        Other than the package's own.
    """
    m = model or heat_resistance()
    samples = samples_of(m, organism, matrix)
    fast, slow = 10.0**-samples.fast, 10.0**-samples.slow
    later = sums.reshape(sums.shape[0], -1)
    heat = None if before is None else before.sums.reshape(before.sums.shape[0], -1)
    lasting = None if before is None else m.lasting.share(before.hot_s).reshape(-1)
    share = np.broadcast_to(drying, sums.shape[1:]).reshape(-1)
    least, lowest = np.full(slow.shape, np.inf), (np.inf, 0)
    for place in _candidates(later, heat, share):
        here = later[:, place, None] * slow + share[place] * samples.drying
        if heat is not None and lasting is not None:
            here = here + survived(heat[:, place, None] * fast, samples.ceiling_before(lasting[place]))
        least = np.minimum(least, here)
        lowest = min(lowest, (float(np.median(here)), int(place)))
    return Reduction(draws=np.sort(survived(least, samples.ceilings["long"]), axis=None), place=lowest[1])


def place_quantiles(
    sums: Array,
    organism: str,
    matrix: Matrix,
    shares: Sequence[float],
    *,
    drying: Array,
    model: HeatResistance | None = None,
) -> Array:
    """Return the reductions that shares of new studies stay below, at every place by itself [log10], shape (k, ...).

    Parameters
    ----------
    sums : ndarray, shape (draw, ...)
        By heat, as `accumulated` returns it.
    organism, matrix : str
        As in `log10_d`.
    shares : sequence of float, k of them
    drying : ndarray, shape (...)
        Share of the drying term [-].
    model : HeatResistance, optional
        Other than the package's own.
    """
    samples = samples_of(model or heat_resistance(), organism, matrix)
    slow, ceiling, term = (  # single precision errs by less than 1e-5
        values[..., None].astype(np.float32)
        for values in (10.0**-samples.slow, samples.ceilings["long"], samples.drying)
    )
    flat = sums.reshape(sums.shape[0], 1, -1).astype(np.float32)
    dried = drying.reshape(-1).astype(np.float32)
    parts = [
        np.quantile(survived(flat[..., i : i + _BLOCK] * slow + dried[i : i + _BLOCK] * term, ceiling), shares,
                    axis=(0, 1), method="hazen")
        for i in range(0, dried.size, _BLOCK)
    ]  # fmt: skip
    return np.asarray(np.concatenate(parts, axis=-1).reshape(-1, *drying.shape))


def rate_quantiles(
    temperature_K: Array,
    water_activity: Array,
    organism: str,
    matrix: Matrix,
    shares: Sequence[float],
    model: HeatResistance | None = None,
) -> Array:
    """Return the rates by heat, in cells warmed slowly, that shares of new studies stay below [1/s], shape (k, n).

    Parameters
    ----------
    temperature_K, water_activity : ndarray, shape (n,)
        [K] and [-].
    organism, matrix : str
        As in `log10_d`.
    shares : sequence of float, k of them
    model : HeatResistance, optional
        Other than the package's own.
    """
    m = model or heat_resistance()
    shapes, samples = shapes_of(m), samples_of(m, organism, matrix)
    rates = np.moveaxis(shapes.log10_rate(slice(SHAPES), temperature_K, water_activity), -1, 0)
    each = rates[:, None] - samples.slow[..., None]
    return np.asarray(10.0 ** np.quantile(each, shares, axis=(0, 1), method="hazen") / _MINUTE)


def quantile(draws: Array, share: float) -> Array:
    """Return what a share of some draws lies below, half of each draw on either side of it.

    Parameters
    ----------
    draws : ndarray, shape (..., n)
        In rising order along the last axis.
    share : float
        0 to 1.

    Examples
    --------
    >>> float(quantile(np.array([1.0, 2.0, 3.0, 4.0]), 0.25))
    1.5
    """
    place = min(max(share * draws.shape[-1] - 0.5, 0.0), draws.shape[-1] - 1.0)
    below = int(place)
    low, high = draws[..., below], draws[..., min(below + 1, draws.shape[-1] - 1)]
    return np.asarray(low + (place - below) * (high - low))


def survived(by_heat: Array, ceiling: Array) -> Array:
    """Return the log10 reduction where a fraction of the cells survives any heat.

    Parameters
    ----------
    by_heat, ceiling : ndarray
        Log10 reduction by heat alone, and at most [-].
    """
    # -log10(10^-by_heat + 10^-ceiling), written so that numpy takes many numbers at a time
    apart = np.abs(by_heat - ceiling)
    either = np.log1p(np.exp(-_LN10 * apart)) / _LN10
    return np.asarray(np.maximum(np.minimum(by_heat, ceiling) - either, 0.0))


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
