"""What the other studies predict for a published time, and where in that distribution it lies."""

from dataclasses import dataclass

import numpy as np
from scipy.special import ndtr

from validation.fits.drying.evidence import Row
from validation.fits.drying.likelihood import WEIGHTS, Study
from validation.fits.drying.posterior import Posterior, complete, knowns

DRAWS = 600  # of the parameters; each with all draws of the unknowns


@dataclass(frozen=True)
class Prediction:
    """What the other studies predict for a row: logarithm of its median and of 5 and 95 %, and where the paper lies."""

    row: Row
    quantiles: np.ndarray
    place: float

    @property
    def miss(self) -> float:
        """Predicted over published, in doublings."""
        return float((self.quantiles[1] - np.log(self.row.published)) / np.log(2.0))


def predictions(posterior: Posterior, most: int = DRAWS) -> list[Prediction]:
    """Of every row of the fit, from all other studies."""
    fit, out = posterior.fit, []
    for k, study in enumerate(fit.studies):
        out += _predicted(posterior, study, posterior.without(k), most)
    return out


def predicted(posterior: Posterior, study: Study, most: int = DRAWS) -> list[Prediction]:
    """Of the rows of a study that took no part."""
    return _predicted(posterior, study, posterior.weights, most)


def _predicted(posterior: Posterior, study: Study, weights: np.ndarray, most: int) -> list[Prediction]:
    pick = _resampled(weights, most)
    values = complete(posterior.fit.choice, posterior.draws[pick])
    seen = posterior.fit.seen(study, knowns(posterior.fit.choice, values), values)
    out = []
    for i, row in enumerate(seen.rows):
        sd = np.sqrt((seen.variance[:, i] + seen.batches)[:, None] + seen.studies)[:, None, :]
        mean = np.log(row.published) - seen.residual[:, :, i, None]
        out.append(Prediction(row, _mixture_quantiles(mean, sd), _mixture(np.log(row.published), mean, sd)))
    return out


def _resampled(weights: np.ndarray, count: int) -> np.ndarray:
    """Even draws by weight."""
    places = (np.arange(count) + 0.5) / count
    return np.minimum(np.searchsorted(np.cumsum(weights), places), weights.size - 1)


def _mixture(at: float, mean: np.ndarray, sd: np.ndarray) -> float:
    return float((ndtr((at - mean) / sd) * (0.5 * WEIGHTS)).sum(axis=2).mean())


def _mixture_quantiles(mean: np.ndarray, sd: np.ndarray) -> np.ndarray:
    """5, 50 and 95 % by interpolation of the distribution."""
    centre, wide = float(np.median(mean)), 5.0
    grid = centre + np.linspace(-wide, wide, 101)
    thin = mean[::8], sd[::8]
    below = np.array([_mixture(x, *thin) for x in grid])
    return np.interp([0.05, 0.5, 0.95], below, grid)
