r"""Estimates from logs: the most likely values, given the priors, and how far they are known.

Everything unknown is a standard normal number z: what all batches of a kitchen share, what differs from batch to batch
(`parameters.BETWEEN`), and for everything weighed a factor on its weight. Least squares of

.. math:: \sum_i \rho\left(\frac{y_i - f_i(z)}{\sigma_i}\right) + \sum_j z_j^2

give the most likely z, found with f on parabolas from the last z, again and again, and no farther from there than they have
proved right (straight lines, as a general solver has them, take three times as many simulations); rho grows in proportion
beyond two standard deviations, so that a slip of the pen does not draw the estimate. A reading that still stands off by more
than `SLIP` is left out and named. Where the rest scatters more than the readings' errors explain, these are widened. The
posterior is the normal distribution of that curvature (Laplace); tests compare it with sampling.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np

from dryingsim.learn.fitted_run import Simulate, simulate_runs
from dryingsim.learn.parameters import Priors
from dryingsim.learn.problem import LoggedBatch, Problem
from dryingsim.learn.readings import Readings

SLIP = 3.0  # standard deviations from which on a reading counts as a slip
# The search ends where the next step promises less than this share of the sum, to which a constant is added: without it,
# readings that are met exactly would never be met well enough. The logarithm of the posterior is then within some 0.01 of
# its highest.
_ENOUGH, _FLOOR = 1e-3, 4.0
_ROUGH = 0.03  # the same while slips are looked for: which reading stands off shows long before
_MOST_TRIALS = 25
# Standard deviations: so far parabolas are trusted at first; from so near, a sum that does not fall is at its lowest.
_REACH, _CLOSE = 1.0, 0.02
_POOR, _GOOD = 0.25, 0.75  # of the fall that was promised: trusted less far after less, farther after more
_MOST_SLIPS = 0.2  # of the readings
_FEWEST = 4  # readings, before any can be told to be a slip
# Nothing closer is called a slip: the model itself (its sorption curve for one) is not better than that. Estimates.
_SLIP_SHARE, _SLIP_K = 0.015, 5.0  # of the first weight, 0.01-0.02; 3-8 K
_FREE = 2.0  # readings beyond those that the estimates take up, before their scatter tells anything


@dataclass(frozen=True)
class Slip:
    """A reading that does not fit the others.

    Attributes
    ----------
    part : int
        Index of the logged batch.
    index : int
        Of the reading in it.
    deviations : float
        In its standard deviations, as seen by the others.
    """

    part: int
    index: int
    deviations: float


@dataclass(frozen=True)
class Fit:
    """What logs say.

    Attributes
    ----------
    problem : Problem
    z : ndarray, shape (size,)
        The most likely.
    covariance : ndarray, shape (size, size)
    widened : float
        Factor on the readings' errors for their scatter; 1 where they explain it.
    slips : tuple of Slip
        Readings left out.
    """

    problem: Problem
    z: np.ndarray
    covariance: np.ndarray
    widened: float
    slips: tuple[Slip, ...]

    @property
    def priors(self) -> Priors:
        """What was thought before."""
        return self.problem.priors

    def _by_value(self, part: int) -> np.ndarray:
        """Derivatives of how far things are off in a batch by z, shape (k, size)."""
        problem = self.problem
        slope = np.zeros((problem.k, problem.size))
        slope[:, : problem.k] = np.diag(self.priors.common)
        slope[problem.varying, problem.parts[part].differs] = self.priors.between[problem.varying]
        return slope

    def values(self, part: int) -> np.ndarray:
        """How far things are off in a batch, shape (k,)."""
        return self.problem.values(self.problem.parts[part], self.z)

    def spread(self, part: int) -> np.ndarray:
        """Covariance of that, shape (k, k)."""
        slope = self._by_value(part)
        return slope @ self.covariance @ slope.T

    def next_batch(self) -> tuple[np.ndarray, np.ndarray]:
        """How far things will be off in the next batch, and the standard deviation of that."""
        k = self.problem.k
        common = self.priors.common**2 * np.diag(self.covariance)[:k]
        return self.priors.mean + self.priors.common * self.z[:k], np.sqrt(common + self.priors.between**2)

    def misses(self, part: int) -> np.ndarray:
        """Readings less what they should be, in their (widened) standard deviations."""
        return self.problem.misses(self.problem.parts[part], self.z)[0]

    def deviation(self, slope: np.ndarray) -> float:
        """Return the standard deviation of something by its derivatives (size,)."""
        return float(np.sqrt(max(slope @ self.covariance @ slope, 0.0)))


def fit(
    logged_batches: Sequence[LoggedBatch],
    priors: Priors,
    *,
    simulate: Simulate = simulate_runs,
    progress: Callable[[str], Any] | None = None,
) -> Fit:
    """Estimate from logs.

    Parameters
    ----------
    logged_batches : sequence of LoggedBatch
    priors : Priors
    simulate : callable, optional
        As `fitted_run.simulate_runs`.
    progress : callable, optional
        Called with a word about what is done.
    """
    tell = progress or (lambda text: None)
    tell("the batch as it is meant")
    problem = Problem(logged_batches, priors, simulate)
    slips: list[Slip] = []
    count = sum(len(part.used) for part in problem.parts)
    z = _minimum(problem, np.zeros(problem.size), tell, _ROUGH)
    while count >= _FEWEST and len(slips) < _MOST_SLIPS * count:
        worst = _worst(problem, z)
        if abs(worst.deviations) <= SLIP:
            break
        slips.append(worst)
        problem.parts[worst.part].used[worst.index] = False
        z = _minimum(problem, z, tell, _ROUGH)
    widened = _scatter(problem, z, beyond_chance=True)
    if widened > 1.0:
        for part in problem.parts:
            part.sigma = part.sigma * widened
    z = _minimum(problem, z, tell, _ENOUGH)
    _, slope = problem.residuals(z)
    return Fit(problem, z, np.linalg.inv(slope.T @ slope), widened, tuple(slips))


def _minimum(problem: Problem, z: np.ndarray, tell: Callable[[str], Any], enough: float) -> np.ndarray:
    """Return the most likely z: each time the lowest sum near the last if the readings followed parabolas from it."""
    from scipy.optimize import least_squares  # slow to import

    near = problem.near(z)
    least, reach = float(np.sum(near(z) ** 2)), _REACH
    for _ in range(_MOST_TRIALS):
        solution = least_squares(near, z, bounds=(z - reach, z + reach))
        promised = least - 2.0 * float(solution.cost)
        if promised < enough * (least + _FLOOR) or reach < _CLOSE:
            break
        tell("the batch with what would explain the weighings")
        trial = np.asarray(solution.x)
        seen_there = problem.near(trial)
        total, far = float(np.sum(seen_there(trial) ** 2)), float(np.abs(trial - z).max())
        if least - total < _POOR * promised:
            reach = 0.5 * far if total < least else 0.25 * far
        elif least - total > _GOOD * promised:
            reach = max(reach, 2.0 * far)
        if total < least:
            z, near, least = trial, seen_there, total
    return z


def _leverage(problem: Problem, z: np.ndarray) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """Misses of each batch, and how far each used reading determines its own estimate (0..1)."""
    _, whole = problem.residuals(z)
    covariance = np.linalg.inv(whole.T @ whole)
    misses, held = [], []
    for part in problem.parts:
        miss, slope = problem.misses(part, z)
        misses.append(miss)
        held.append(np.clip(np.einsum("ij,jk,ik->i", slope, covariance, slope), 0.0, 0.99))
    return misses, held


def _worst(problem: Problem, z: np.ndarray) -> Slip:
    """Return the used reading that is farthest off, as seen by the others and against their scatter."""
    misses, held = _leverage(problem, z)
    most = Slip(0, 0, 0.0)
    for i, (part, miss, own) in enumerate(zip(problem.parts, misses, held, strict=True)):
        able = part.used & (np.abs(miss) * part.sigma > _least(part.logged.readings))
        seen = np.where(able, miss / np.sqrt(1.0 - own), 0.0)
        j = int(np.abs(seen).argmax())
        scatter = _scatter(problem, z, without=(i, j), known=(misses, held))
        if abs(seen[j]) / scatter > abs(most.deviations):
            most = Slip(i, j, float(seen[j]) / scatter)
    return most


def _least(readings: Readings) -> np.ndarray:
    """How far off a reading is at least before it is called a slip [kg], [K]."""
    first = np.array(
        [readings.value[np.flatnonzero(readings.belongs == k)[0]] for k in range(len(readings.series))]
    )
    return np.where(readings.weighs, _SLIP_SHARE * first[readings.belongs], _SLIP_K)


def _scatter(
    problem: Problem,
    z: np.ndarray,
    without: tuple[int, int] | None = None,
    known: tuple[list[np.ndarray], list[np.ndarray]] | None = None,
    *,
    beyond_chance: bool = False,
) -> float:
    """Scatter of the readings over what their errors explain, at least 1; 1 where too few are left to tell.

    `beyond_chance`: 1 too where one case in twenty scatters as widely by chance (chi square, nearly normal).
    """
    misses, held = known or _leverage(problem, z)
    total, free = 0.0, 0.0
    for i, (part, miss, own) in enumerate(zip(problem.parts, misses, held, strict=True)):
        used = part.used.copy()
        if without is not None and without[0] == i:
            used[without[1]] = False
        total += float(np.sum(miss[used] ** 2))
        free += float(np.sum(1.0 - own[used]))
    if free < _FREE or (beyond_chance and total / free < 1.0 + 1.645 * (2.0 / free) ** 0.5):
        return 1.0
    return float(np.sqrt(max(total / free, 1.0)))
