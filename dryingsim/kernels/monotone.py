"""A curve through values that rises and falls only where they do."""

import numpy as np


def monotone_cubic(values: np.ndarray, at: np.ndarray) -> np.ndarray:
    """Return the values between even knots: cubics with slopes that let nothing overshoot.

    Parameters
    ----------
    values : ndarray, shape (..., n)
        At the knots 0, 1 ... n - 1, in their own unit [any]; n at least 3.
    at : ndarray, shape (p,)
        Places, from 0 to n - 1 [-].

    Returns
    -------
    ndarray, shape (..., p)
        In the unit of the values [any].

    Notes
    -----
    The slope at a knot is the harmonic mean of those beside it, 0 where these differ in sign (Fritsch & Butland 1984,
    SIAM J. Sci. Stat. Comput. 5, 300-304); at an end, that of a parabola, kept from overshooting. Scipy's
    `PchipInterpolator` does the same, but takes long to import.

    Examples
    --------
    >>> monotone_cubic(np.array([0.0, 1.0, 1.0]), np.array([0.5, 1.5])).tolist()
    [0.6875, 1.0]
    """
    slopes = _slopes(np.diff(values, axis=-1))
    left = np.clip(np.floor(at).astype(int), 0, values.shape[-1] - 2)
    s = at - left
    start, rise = values[..., left], values[..., left + 1] - values[..., left]
    first, last = slopes[..., left], slopes[..., left + 1]
    return np.asarray(
        start + s * (first + s * (3.0 * rise - 2.0 * first - last + s * (first + last - 2.0 * rise)))
    )


def _slopes(rises: np.ndarray) -> np.ndarray:
    """Slopes at the knots from the rises between them."""
    before, after = rises[..., :-1], rises[..., 1:]
    alike = before * after > 0.0
    inner = np.where(alike, 2.0 * before * after / np.where(alike, before + after, 1.0), 0.0)
    return np.concatenate(
        [_at_end(rises[..., :1], rises[..., 1:2]), inner, _at_end(rises[..., -1:], rises[..., -2:-1])],
        axis=-1,
    )


def _at_end(near: np.ndarray, far: np.ndarray) -> np.ndarray:
    """Slope at an end, from the rise beside it and the next."""
    slope = 1.5 * near - 0.5 * far
    steepest = np.where((near * far < 0.0) & (np.abs(slope) > 3.0 * np.abs(near)), 3.0 * near, slope)
    return np.where(slope * near > 0.0, steepest, 0.0)
