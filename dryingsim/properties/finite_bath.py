r"""A slab that takes up a solute from a finite bath, by its series.

The solute diffuses in from both faces, and the bath gets weaker. For a constant diffusivity the solution is exact
(Crank, The Mathematics of Diffusion, 2nd ed. 1975, section 4.3.5): with l half the thickness and alpha what the bath
holds in the end over what the slab holds then,

.. math:: \frac{M_t}{M_\infty} = 1 - \sum_{n=1}^\infty \frac{2\alpha(1+\alpha)}{1+\alpha+\alpha^2 q_n^2}\,
          e^{-q_n^2 D t/l^2}, \qquad \tan q_n = -\alpha q_n
"""

from functools import lru_cache
from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.typing import Array

TERMS: Annotated[
    int,
    Evidence("-", "numerical", "of the series: exact to 1e-9 from 0.1 % of the time that diffusion needs"),
] = 200


@lru_cache(maxsize=16)
def finite_bath_roots(alpha: float, terms: int = TERMS) -> np.ndarray:
    """Positive roots of tan q = -alpha q, one in each interval from (n - 1/2) pi to n pi, by bisection.

    Parameters
    ----------
    alpha : float
        What the bath holds in the end over what the slab holds then [-].
    terms : int
        How many roots.

    Returns
    -------
    ndarray, shape (terms,)
        q [-].

    Examples
    --------
    >>> finite_bath_roots(1.0, 3).round(4).tolist()
    [2.0288, 4.9132, 7.9787]
    """
    n = np.arange(1, terms + 1)
    low, high = (n - 0.5) * np.pi, n * np.pi
    sign = np.where(n % 2, 1.0, -1.0)  # of sin q + alpha q cos q at the lower end
    for _ in range(60):
        middle = 0.5 * (low + high)
        before = sign * (np.sin(middle) + alpha * middle * np.cos(middle)) > 0.0
        low, high = np.where(before, middle, low), np.where(before, high, middle)
    return 0.5 * (low + high)


def uptake_share(fourier: Array, alpha: float) -> Array:
    """Uptake over that after infinite time [-].

    Parameters
    ----------
    fourier : float or ndarray
        D t/l^2, with l half the thickness [-].
    alpha : float
        What the bath holds in the end over what the slab holds then [-].

    Returns
    -------
    float or ndarray
        [-]

    Examples
    --------
    A small bath is taken up sooner than a large one:

    >>> [round(float(uptake_share(0.2, alpha)), 3) for alpha in (0.5, 50.0)]
    [0.812, 0.51]
    """
    q = finite_bath_roots(alpha)
    weight = 2.0 * alpha * (1.0 + alpha) / (1.0 + alpha + (alpha * q) ** 2)
    left = np.exp(-np.multiply.outer(np.asarray(fourier, dtype=float), q * q)) @ weight
    return np.clip(1.0 - left, 0.0, 1.0)[()]


def concentration_share(place: Array, fourier: float, alpha: float) -> Array:
    """Concentration over that after infinite time [-].

    Parameters
    ----------
    place : float or ndarray
        Distance from the middle over half the thickness [-].
    fourier : float
        D t/l^2, with l half the thickness [-].
    alpha : float
        What the bath holds in the end over what the slab holds then [-].

    Returns
    -------
    float or ndarray
        [-]

    Examples
    --------
    In the middle, half-way and at the face:

    >>> concentration_share(np.array([0.0, 0.5, 1.0]), 0.2, 1.0).round(3).tolist()
    [0.357, 0.652, 1.288]
    """
    q = finite_bath_roots(alpha)
    weight = 2.0 * (1.0 + alpha) / (1.0 + alpha + (alpha * q) ** 2) * np.exp(-q * q * fourier) / np.cos(q)
    return np.maximum(1.0 + np.cos(np.multiply.outer(np.asarray(place, dtype=float), q)) @ weight, 0.0)[()]
