"""F values: the time at a reference temperature that a history is worth, exact for straight lines between samples."""

import numpy as np

from dryingsim.typing import Array

_LN10 = float(np.log(10.0))


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
    return running(spans(time_s, level.ndim) * (end - start) * mean)


def spans(time_s: Array, axes: int) -> Array:
    """Return the time between samples [s], of a shape that goes with arrays of so many axes.

    Parameters
    ----------
    time_s : ndarray, shape (t,) or (t, ...)
        Time, not falling [s]; the same for all places, or with all axes, for each its own.
    axes : int
    """
    own = np.asarray(time_s, dtype=float)
    return np.diff(own, axis=0).reshape((-1, *(own.shape[1:] or (1,) * (axes - 1))))


def running(parts: Array) -> Array:
    """Return the running sum along the first axis, from zero: a row more than there are parts."""
    return np.concatenate([np.zeros((1, *parts.shape[1:])), np.cumsum(parts, axis=0)])


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
