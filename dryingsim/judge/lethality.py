"""Log reduction of bacteria by heat along a history of temperature and water activity, and by drying itself.

    d(log10 reduction)/dt = 1/D,    log10 D = log10 D_ref - (T - T_ref)/z_T + g(a_w, T)

g is one monotone curve: steep near a_w 0.99 (raw meat), flat in dry matter. Its parameters, with their
evidence, stand in `batch/catalog/organisms.toml`, in two sets: *central* (middle of the published values)
and *cautious* (unfavourable end).

Limits. No published D(T, a_w) of drying meat was found; the curve joins wet beef, ground turkey, whey
powder and wheat flour, all for Salmonella, and is assumed for the other two. Published log10 D scatters by
0.8 between laboratories. Cells warmed slowly grow more resistant, and models that know only the present
state erred by 2 to 5 log on the unsafe side (Stasiewicz et al. 2008; Tenorio-Bernal et al. 2013): the
cautious set answers with a published factor on D and no credit below 55 degC. Extrapolation is never
favourable: nothing is credited below the coolest measured temperature, and D is held above the hottest.
Survivor curves often bend (shape 1.1 to 7.8 in one study of dry fat, two populations in ground beef), but
no shape was found for drying meat, and bent curves do not add up when conditions change; so none is used,
and the cautious D carries that doubt.

Heat alone does not explain what was counted on slices dried in dry air: their faces are dry before they are
hot. Drying itself kills, and no published law was found; `desiccation_reductions` is fitted on challenge
studies, counts in the central estimate only, and is always shown apart.
"""

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.catalog.organisms import Desiccation, EstimateSet, Resistance
from dryingsim.typing import Array

_LN10 = float(np.log(10.0))


def dryness_effect(temperature: Array, water_activity: Array, organism: str, estimate: EstimateSet) -> Array:
    """Return g, the rise of log10 D by dryness; zero at and above the water activity of raw meat (0.99).

    Parameters
    ----------
    temperature : float or ndarray
        Temperature [K]. Points span 323-363 K.
    water_activity : float or ndarray
        Water activity at the bacteria and at that temperature [-]. Points span 0.11-1.
    organism : str
        "salmonella", "e_coli" or "listeria".
    estimate : str
        "central" or "cautious".

    Examples
    --------
    >>> [round(float(dryness_effect(333.15, a, "salmonella", "central")), 2) for a in (0.99, 0.95, 0.85, 0.4)]
    [0.0, 0.44, 1.21, 2.6]
    """
    p = catalog.resistance(organism, estimate)
    return _dryness_effect(np.minimum(temperature, p.held_above_K), water_activity, p)


def _dryness_effect(temperature: Array, water_activity: Array, p: Resistance) -> Array:
    fall = np.maximum(p.reference_aw - water_activity, 0.0)
    near = -np.expm1(-fall / p.width)
    wider = np.maximum(temperature - p.pivot_K, 0.0) * (1.0 / p.z_K - 1.0 / p.z_dry_K)
    return near * (p.plateau + wider) + fall / p.aw_step


def log_D(organism: str, temperature: Array, water_activity: Array, estimate: EstimateSet) -> Array:
    """Return log10 of the decimal reduction time, D in seconds.

    Parameters
    ----------
    organism : str
        "salmonella", "e_coli" or "listeria".
    temperature : float or ndarray
        Temperature [K]. D is held above `held_above_K`; below `floor_K` the line goes on, but
        no reduction is credited there.
    water_activity : float or ndarray
        Water activity [-].
    estimate : str
        "central" or "cautious".

    Examples
    --------
    >>> round(float(10 ** log_D("salmonella", 333.15, 0.99, "central")) / 60, 2)  # minutes, wet, 60 degC
    4.13
    """
    p = catalog.resistance(organism, estimate)
    t = np.minimum(temperature, p.held_above_K)
    return p.log10_D_ref - (t - p.T_ref_K) / p.z_K + _dryness_effect(t, water_activity, p)


def cumulative_exponential(time_s: Array, log10_rate: Array, level: Array, floor: float) -> Array:
    """Integrate 10**log10_rate along axis 0 over the time in which `level` is at or above `floor`.

    Between samples `log10_rate` and `level` are straight lines, and the integral over the part above the
    floor is exact: a temperature linear in time at constant water activity leaves no quadrature error.
    Where a rate is capped (held D), the chord lies below the true rate, so less is credited. Equal times (a
    jump) are allowed.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    log10_rate : ndarray, shape (t, ...)
        Log10 of the rate [1/s].
    level : ndarray, shape (t, ...)
        What is compared with the floor, such as temperature [K].
    floor : float
        No credit below it.

    Returns
    -------
    ndarray, shape (t, ...)
        Cumulative integral [-], starting with zero.

    Examples
    --------
    >>> time, warm = np.array([0.0, 60.0]), np.full(2, 333.15)
    >>> cumulative_exponential(time, np.full(2, -1.0), warm, 328.15).tolist()  # a tenth per second, above the floor
    [0.0, 6.0]
    """
    v0, v1, u0, slope = level[:-1], level[1:], log10_rate[:-1], np.diff(log10_rate, axis=0)
    rise = v1 - v0
    crossing = (floor - v0) / np.where(rise == 0.0, 1.0, rise)
    start = np.where(v0 >= floor, 0.0, np.where(v1 >= floor, crossing, 1.0))
    end = np.where(v1 >= floor, 1.0, np.where(v0 >= floor, crossing, start))
    x = _LN10 * slope * (end - start)
    mean = np.where(x == 0.0, 1.0, np.expm1(x) / np.where(x == 0.0, 1.0, x)) * 10.0 ** (u0 + start * slope)
    return _accumulate(_steps(time_s, level) * (end - start) * mean)


def cumulative_trapezoid(time_s: Array, rate: Array) -> Array:
    """Integrate a rate along axis 0 by the trapezoid rule; the cumulative integral [-] starts with zero.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    rate : ndarray, shape (t, ...)
        [1/s].

    Examples
    --------
    >>> cumulative_trapezoid(np.array([0.0, 60.0, 120.0]), np.array([0.0, 0.1, 0.1])).tolist()
    [0.0, 3.0, 9.0]
    """
    return _accumulate(_steps(time_s, rate) * 0.5 * (rate[:-1] + rate[1:]))


def _steps(time_s: Array, like: Array) -> Array:
    return np.diff(time_s).reshape((-1,) + (1,) * (np.ndim(like) - 1))


def _accumulate(parts: Array) -> Array:
    return np.concatenate([np.zeros((1, *parts.shape[1:])), np.cumsum(parts, axis=0)])


def log_reductions(
    time_s: Array, temperature: Array, water_activity: Array, organism: str, estimate: EstimateSet
) -> Array:
    """Return the cumulative log10 reduction by heat, by the rule of `cumulative_exponential`.

    Parameters
    ----------
    time_s : ndarray, shape (t,)
        Time, not falling [s].
    temperature, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] at the bacteria.
    organism, estimate : str
        As in `log_D`.

    Returns
    -------
    ndarray, shape (t, ...)
        Log10 reduction [-] since the first sample.

    Examples
    --------
    >>> hot, wet = np.full(2, 335.15), np.full(2, 0.99)  # ten minutes at 62 degC
    >>> log_reductions(np.array([0.0, 600.0]), hot, wet, "salmonella", "cautious").round(2).tolist()
    [0.0, 0.93]
    """
    rate = -log_D(organism, temperature, water_activity, estimate)
    return cumulative_exponential(
        time_s, rate, np.broadcast_to(temperature, rate.shape), catalog.resistance(organism, estimate).floor_K
    )


def desiccation_reductions(
    temperature: Array, water_activity: Array, desiccation: Desiccation | None = None
) -> Array:
    """Return the cumulative log10 reduction [-] by drying itself; time along axis 0.

    Wetting again takes nothing back, and drying again adds nothing until it goes deeper than before.

    Parameters
    ----------
    temperature, water_activity : ndarray, shape (t, ...)
        Temperature [K] and water activity [-] at the bacteria.
    desiccation : Desiccation, optional
        Other than the fitted one.

    Examples
    --------
    >>> desiccation_reductions(np.full(3, 335.15), np.array([0.99, 0.8, 0.5])).round(2).tolist()
    [0.0, 3.64, 3.92]
    """
    own = desiccation or catalog.desiccation()
    a = np.asarray(water_activity, dtype=float)
    start = np.minimum(a[0], catalog.reference_water_activity())
    return np.maximum.accumulate(desiccation_now(temperature, start - a, own), axis=0)


def desiccation_now(temperature: Array, fall: Array, own: Desiccation) -> Array:
    """Return the log10 reduction [-] by drying itself that a moment by itself stands for; the largest so far counts.

    Parameters
    ----------
    temperature, fall : ndarray
        Temperature [K], and how far the water activity is below its start [-].
    own : Desiccation

    Examples
    --------
    >>> round(float(desiccation_now(335.15, 0.3, catalog.desiccation())), 2)
    3.86
    """
    warm = np.clip((np.asarray(temperature) - own.cool_K) / (own.warm_K - own.cool_K), 0.0, 1.0)
    return -own.largest * warm * np.expm1(-np.maximum(fall, 0.0) / own.fall_width)


def lethal_rate(temperature: Array, reference: float, z: float) -> Array:
    """Return the lethal rate 10**((T - T_ref)/z) [-].

    Parameters
    ----------
    temperature : float or ndarray
        Of the meat [K].
    reference : float
        Temperature at which the rate is one [K].
    z : float
        Rise of temperature that makes the rate ten times as high [K].

    Examples
    --------
    >>> lethal_rate(np.array([333.15, 343.15]), 343.15, 10.0).tolist()
    [0.1, 1.0]
    """
    return 10.0 ** ((np.asarray(temperature, dtype=float) - reference) / z)


def equivalent_time(time: Array, temperature: Array, reference: float, z: float) -> Array:
    """Return the cumulative equivalent time at a reference temperature (an F value), in the unit of `time`.

    Exact for a temperature linear between samples.

    Parameters
    ----------
    time : ndarray, shape (t,)
        Not falling; in any unit, such as min.
    temperature : ndarray, shape (t, ...)
        Of the meat [K].
    reference, z : float
        As in `lethal_rate` [K].

    Examples
    --------
    >>> round(float(equivalent_time(np.array([0.0, 20.0]), np.array([333.15, 333.15]), 333.15, 5.56)[-1]), 6)
    20.0
    """
    t = np.asarray(temperature, dtype=float)
    return cumulative_exponential(time, (t - reference) / z, t, -np.inf)


def fit_resistance(temperature: Array, decimal_time: Array, reference: float) -> tuple[float, float]:
    """Return D at a reference temperature and z [K], of the least-squares line of log10 D on temperature.

    Parameters
    ----------
    temperature : ndarray, shape (n,)
        At which D was measured [K].
    decimal_time : ndarray, shape (n,)
        D then, in any unit, such as s; the result is in it too.
    reference : float
        Reference temperature [K].

    Examples
    --------
    >>> d, z = fit_resistance(np.array([333.15, 338.15, 343.15]), np.array([300.0, 30.0, 3.0]), 333.15)
    >>> round(d, 1), round(z, 1)
    (300.0, 5.0)
    """
    slope, level = np.polyfit(np.asarray(temperature) - reference, np.log10(decimal_time), 1)
    return float(10.0**level), float(-1.0 / slope)
