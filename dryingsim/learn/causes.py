"""What made a batch dry slower or faster than its file says: the main cause first, and how sure that is.

The fit says how far each thing is off, and how these errors hang together; the forecast, by how much each moves the time
until done. Where readings cannot tell two things apart, the chance is shared between them, and one is named first all the
same: the one that is the main cause in most of what the readings leave open.
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.learn.fit import Fit

_DRAWS: Annotated[int, Evidence("-", "numerical", "of what is open: a chance to 1 %")] = 8192


@dataclass(frozen=True, slots=True)
class Cause:
    """One thing that may have made a batch slower or faster.

    Attributes
    ----------
    key : str
        Of `batch.learned.KEYS`.
    time_factor : float
        By which it changes the time until done, as far as it is likeliest off [-].
    chance : float
        That it is the main cause: the one that changes the time most in the direction of the whole.
    """

    key: str
    time_factor: float
    chance: float


def main_cause_chances(effects: np.ndarray, covariance: np.ndarray) -> np.ndarray:
    """Return the chance of each effect to be the largest in the direction of their sum.

    Parameters
    ----------
    effects : ndarray, shape (k,)
        Most likely, on the logarithm of the time [-].
    covariance : ndarray, shape (k, k)
        Of what is open [-].

    Returns
    -------
    ndarray, shape (k,)

    Examples
    --------
    Of two things only the sum is known: either may be the one.

    >>> main_cause_chances(np.array([0.1, 0.1]), np.array([[0.02, -0.019], [-0.019, 0.02]])).round(1).tolist()
    [0.5, 0.5]
    """
    draws = np.random.default_rng(0).multivariate_normal(effects, covariance, _DRAWS, check_valid="ignore")
    way = np.sign(effects.sum()) or 1.0
    largest = np.argmax(way * draws, axis=1)
    return np.bincount(largest, minlength=effects.size) / _DRAWS


def causes_of(fitted: Fit, part: int, log_time_by_z: np.ndarray) -> tuple[Cause, ...]:
    """Return what moved the time until done, the likeliest main cause first; nothing where no slope is known.

    Parameters
    ----------
    fitted : Fit
    part : int
        Which of its batches, 0 the first.
    log_time_by_z : ndarray, shape (size,)
        Derivative of the logarithm of the time until done by the standard normal numbers of the fit [-].
    """
    priors = fitted.priors
    slope = log_time_by_z[: len(priors.keys)] / priors.common
    if not np.isfinite(slope).all():
        return ()
    effects = slope * (fitted.values(part) - priors.mean)
    chances = main_cause_chances(effects, np.outer(slope, slope) * fitted.spread(part))
    rows = zip(priors.keys, np.exp(effects), chances, strict=True)
    causes = [Cause(key, float(factor), float(chance)) for key, factor, chance in rows]
    return tuple(sorted(causes, key=lambda cause: -cause.chance))
