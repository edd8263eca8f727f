r"""Estimates from logs: the most likely values, given the priors, and how far they are known.

Everything unknown is a standard normal number z: what all batches of a kitchen share, what differs from batch to batch
(`parameters.BETWEEN`), and for everything weighed a factor on its weight. Least squares of

.. math:: \sum_i \rho\left(\frac{y_i - f_i(z)}{\sigma_i}\right) + \sum_j z_j^2

give the most likely z (`scipy.optimize.least_squares`); rho grows in proportion beyond two standard deviations, so that
a slip of the pen does not draw the estimate. A reading that still stands off by more than `SLIP` is left out and named.
Where the rest scatters more than the readings' errors explain, these are widened. The posterior is the normal
distribution of that curvature (Laplace); tests compare it with sampling.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import numpy as np

from dryingsim.batch.reading.weigh_in_log import WeighInLog
from dryingsim.batch.schema import Batch
from dryingsim.errors import InputError
from dryingsim.learn.fitted_run import (
    ClockedBatch,
    FittedRun,
    Simulate,
    clocked_batch_of,
    simulate_runs,
    times_of,
)
from dryingsim.learn.parameters import Priors
from dryingsim.learn.readings import LAID_ON, PART, Readings, check_places, doubts_of, predicted, readings_of

SLIP = 3.0  # standard deviations from which on a reading counts as a slip
_BEND = 2.0  # from here on rho is straight
_SCANNED = np.array([-2.0, -1.0, -0.5, 0.0, 0.5, 1.0, 2.0])  # of z of the diffusivity, to find where to begin
_STEP = 0.25  # of z, for differences
_AT_START_S, _ANOTHER = (
    600.0,
    1.5,
)  # a first weight so soon, and off by such a factor, is of another batch or unit
# The search ends once a step gains less than this share of the sum, to which a constant is added: without it, readings
# that are met exactly would never be met well enough. The logarithm of the posterior is then within some 0.02 of its highest.
_ENOUGH, _FLOOR = 1e-2, 2.0
_KEPT = 3  # points whose courses are kept: they are large
_MOST_SLIPS = 0.2  # of the readings
_FEWEST = 4  # readings, before any can be told to be a slip
# Nothing closer is called a slip: the model itself (its sorption curve for one) is not better than that. Estimates.
_SLIP_SHARE, _SLIP_K = 0.015, 5.0  # of the first weight, 0.01-0.02; 3-8 K
_FREE = 2.0  # readings beyond those that the estimates take up, before their scatter tells anything


@dataclass(frozen=True)
class LoggedBatch:
    """A batch that was dried, and its log."""

    batch: Batch
    log: WeighInLog
    readings: Readings
    plan: ClockedBatch


def logged_batch_of(batch: Batch, log: WeighInLog) -> LoggedBatch:
    """Put a batch (without learned values) and its log together."""
    plan = clocked_batch_of(batch, log.last_s)
    if log.last_s > plan.horizon_s:
        raise InputError(
            f"{log.name}: {log.last_s / 3600.0:.0f} h is longer than any drying that can be followed"
        )
    check_places(log, plan.batch, int(plan.meant.tray.max()) + 1)
    _check_start(log, float(plan.meant.weight_kg[0].sum()))
    return LoggedBatch(plan.batch, log, readings_of(log), plan)


def _check_start(log: WeighInLog, laid_on_kg: float) -> None:
    """Raise where the first weight of the whole batch is not that of the batch: a unit, or what is weighed along."""
    first = next(
        (one for one in log.of("weight") if one.scope == "batch" and one.time_s <= _AT_START_S), None
    )
    if first is not None and not 1.0 / _ANOTHER <= first.value / laid_on_kg <= _ANOTHER:
        raise InputError(
            f"{log.name} line {first.line}: {1e3 * first.value:.0f} g at the start, but the batch file lays "
            f"{1e3 * laid_on_kg:.0f} g on the trays; are the units right, and are trays weighed along (column 'tare')?"
        )


@dataclass
class _Part:
    """One trial within the problem: where its numbers stand in z, and what was simulated of it last."""

    trial: LoggedBatch
    differs: np.ndarray  # places in z of what differs from batch to batch
    factors: np.ndarray  # places in z of the weights' factors
    factor_size: np.ndarray
    times_s: np.ndarray
    sigma: np.ndarray = field(default_factory=lambda: np.ones(0))
    used: np.ndarray = field(default_factory=lambda: np.ones(0, dtype=bool))
    seen: dict[bytes, list[FittedRun]] = field(default_factory=dict)


class Problem:
    """Logs and priors as a function of z.

    Parameters
    ----------
    trials : sequence of Trial
        All in the same appliance.
    priors : Priors
    simulate : callable, optional
        As `course.simulate_runs`.
    end_s : float, optional
        How far the courses are to be followed [s], for a forecast; else to the last reading, and the readings' errors
        are worked out.
    """

    def __init__(
        self,
        trials: Sequence[LoggedBatch],
        priors: Priors,
        simulate: Simulate = simulate_runs,
        end_s: float = 0.0,
    ) -> None:
        self.priors, self.simulate = priors, simulate
        self.k = len(priors.keys)
        self.varying = np.flatnonzero(priors.between > 0.0)
        self.parts: list[_Part] = []
        at = self.k
        for trial in trials:
            series = trial.readings.series
            differs = at + np.arange(self.varying.size)
            factors = at + self.varying.size + np.arange(len(series))
            at += self.varying.size + len(series)
            sizes = np.array([LAID_ON if one.scope == "batch" else PART for one in series])
            end = max(end_s, trial.log.last_s, 60.0)
            part = _Part(trial, differs, factors, sizes, times_of(trial.plan, trial.readings.time_s, end))
            part.used = np.ones(len(trial.readings), dtype=bool)
            self.parts.append(part)
        self.size = at
        if not end_s:
            for part in self.parts:
                first = self.fitted_runs(part, np.zeros(self.size))[0]
                part.sigma = doubts_of(part.trial.readings, first, part.trial.batch)

    def values(self, part: _Part, z: np.ndarray) -> np.ndarray:
        """How far things are off in a trial, shape (k,)."""
        off = self.priors.mean + self.priors.common * z[: self.k]
        off[self.varying] += self.priors.between[self.varying] * z[part.differs]
        return off

    def fitted_runs(self, part: _Part, z: np.ndarray) -> list[FittedRun]:
        """Simulate a trial at z and around it: the course itself, then each thing more and less."""
        values = self.values(part, z)
        key = values.tobytes()
        if key not in part.seen:
            steps = np.zeros((2 * self.k + 1, self.k))
            rows = np.arange(self.k)
            steps[1 + 2 * rows, rows] = _STEP * self.priors.total
            steps[2 + 2 * rows, rows] = -_STEP * self.priors.total
            found = self.simulate(part.trial.batch, self.priors.keys, values + steps, part.times_s)
            part.seen = {**dict(list(part.seen.items())[1 - _KEPT :]), key: found}
        return part.seen[key]

    def slopes(
        self, part: _Part, z: np.ndarray, look: Callable[[FittedRun], np.ndarray]
    ) -> tuple[np.ndarray, np.ndarray]:
        """Return what a function of the course gives (n,), and its derivatives by all of z (n, size)."""
        seen = np.stack([look(one) for one in self.fitted_runs(part, z)])
        more, less = seen[1::2], seen[2::2]
        both = np.isfinite(more) & np.isfinite(
            less
        )  # what never comes on one side has its slope on the other
        with np.errstate(invalid="ignore"):
            aside = np.where(np.isfinite(more), more - seen[0], seen[0] - less)
            change = np.where(both, 0.5 * (more - less), aside)
        by_value = np.moveaxis(change, 0, -1) / (_STEP * self.priors.total)
        slope = np.zeros((*seen[0].shape, self.size))
        slope[..., : self.k] = by_value * self.priors.common
        slope[..., part.differs] = by_value[..., self.varying] * self.priors.between[self.varying]
        return seen[0], slope

    def misses(self, part: _Part, z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Readings less what they should be, in standard deviations (n,), and derivatives (n, size)."""
        trial = part.trial
        should, slope = self.slopes(
            part, z, lambda fitted_run: predicted(fitted_run, trial.readings, trial.batch)
        )
        factor = self.factors(part, z)
        slope = slope * factor[:, None]
        rows = np.flatnonzero(trial.readings.weighs)
        series = trial.readings.belongs[rows]
        slope[rows, part.factors[series]] = (should * factor)[rows] * part.factor_size[series]
        return (trial.readings.value - should * factor) / part.sigma, -slope / part.sigma[:, None]

    def factors(self, part: _Part, z: np.ndarray) -> np.ndarray:
        """Factor on each reading: that of its series for a weight, 1 for a temperature."""
        logs = np.append(part.factor_size * z[part.factors], 0.0)  # -1, a temperature, is the last
        return np.exp(logs[part.trial.readings.belongs])

    def residuals(self, z: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Everything that is squared and summed, and its derivatives."""
        rows, slopes = [], []
        for part in self.parts:
            miss, slope = self.misses(part, z)
            bent, bend = _bent(miss[part.used])
            rows.append(bent)
            slopes.append(slope[part.used] * bend[:, None])
        return np.concatenate([*rows, z]), np.concatenate([*slopes, np.eye(self.size)])

    def log_density(self, part: _Part, z: np.ndarray) -> np.ndarray:
        """Logarithm of the posterior at many z (s, size) of a problem with one trial, but for a constant; (s,)."""
        values = np.stack([self.values(part, one) for one in z])
        fitted_runs = self.simulate(part.trial.batch, self.priors.keys, values, part.times_s)
        trial, out = part.trial, np.empty(len(z))
        for i, (one, fitted_run) in enumerate(zip(z, fitted_runs, strict=True)):
            should = predicted(fitted_run, trial.readings, trial.batch) * self.factors(part, one)
            bent, _ = _bent(((trial.readings.value - should) / part.sigma)[part.used])
            out[i] = -0.5 * float(bent @ bent + one @ one)
        return out


def _bent(miss: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Return the root of rho with the sign of the miss, and its derivative."""
    far = np.abs(miss) > _BEND
    root = np.sqrt(np.where(far, 2.0 * _BEND * np.abs(miss) - _BEND**2, 1.0))
    return np.where(far, np.sign(miss) * root, miss), np.where(far, _BEND / root, 1.0)


@dataclass(frozen=True)
class Slip:
    """A reading that does not fit the others."""

    part: int
    index: int
    deviations: float  # in its standard deviations, as seen by the others


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
        """Derivatives of how far things are off in a trial by z, shape (k, size)."""
        problem = self.problem
        slope = np.zeros((problem.k, problem.size))
        slope[:, : problem.k] = np.diag(self.priors.common)
        slope[problem.varying, problem.parts[part].differs] = self.priors.between[problem.varying]
        return slope

    def values(self, part: int) -> np.ndarray:
        """How far things are off in a trial, shape (k,)."""
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
        one = self.problem.parts[part]
        return self.problem.misses(one, self.z)[0]

    def deviation(self, slope: np.ndarray) -> float:
        """Return the standard deviation of something by its derivatives (size,)."""
        return float(np.sqrt(max(slope @ self.covariance @ slope, 0.0)))


def fit(
    trials: Sequence[LoggedBatch],
    priors: Priors,
    *,
    simulate: Simulate = simulate_runs,
    progress: Callable[[str], Any] | None = None,
) -> Fit:
    """Estimate from logs.

    Parameters
    ----------
    trials : sequence of Trial
    priors : Priors
    simulate : callable, optional
        As `course.simulate_runs`.
    progress : callable, optional
        Called with a word about what is done.
    """
    tell = progress or (lambda text: None)
    tell("the batch as it is meant")
    problem = Problem(trials, priors, simulate)
    slips: list[Slip] = []
    count = sum(len(part.used) for part in problem.parts)
    z = _minimum(problem, _start(problem), tell)
    while count >= _FEWEST and len(slips) < _MOST_SLIPS * count:
        worst = _worst(problem, z)
        if abs(worst.deviations) <= SLIP:
            break
        slips.append(worst)
        problem.parts[worst.part].used[worst.index] = False
        z = _minimum(problem, z, tell)
    widened = _scatter(problem, z, beyond_chance=True)
    if widened > 1.0:
        for part in problem.parts:
            part.sigma = part.sigma * widened
        z = _minimum(problem, z, tell)
    _, slope = problem.residuals(z)
    return Fit(problem, z, np.linalg.inv(slope.T @ slope), widened, tuple(slips))


def _start(problem: Problem) -> np.ndarray:
    """Return where to begin: the best of some diffusivities, and weights that agree with each series' first."""
    z = np.zeros((_SCANNED.size if "diffusivity" in problem.priors.keys else 1, problem.size))
    if len(z) > 1:
        z[:, problem.priors.keys.index("diffusivity")] = _SCANNED
    cost = 0.5 * np.sum(z**2, axis=1)
    for part in problem.parts:
        trial = part.trial
        values = np.stack([problem.values(part, one) for one in z])
        fitted_runs = problem.simulate(trial.batch, problem.priors.keys, values, part.times_s)
        for i, fitted_run in enumerate(fitted_runs):
            should = predicted(fitted_run, trial.readings, trial.batch)
            for k in range(part.factors.size):
                j = int(np.flatnonzero(trial.readings.belongs == k)[0])
                z[i, part.factors[k]] = np.log(trial.readings.value[j] / should[j]) / part.factor_size[k]
            bent, _ = _bent((trial.readings.value - should * problem.factors(part, z[i])) / part.sigma)
            cost[i] += 0.5 * float(bent @ bent)
    return z[int(cost.argmin())]


def _minimum(problem: Problem, z: np.ndarray, tell: Callable[[str], Any]) -> np.ndarray:
    from scipy.optimize import least_squares  # slow to import

    kept: dict[bytes, tuple[np.ndarray, np.ndarray]] = {}

    def both(at: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        if at.tobytes() not in kept:
            kept[at.tobytes()] = problem.residuals(at)
            tell(f"trial {len(kept)} of some six")
        return kept[at.tobytes()]

    found = least_squares(
        lambda at: np.append(both(at)[0], _FLOOR),
        z,
        jac=lambda at: np.vstack([both(at)[1], np.zeros(at.size)]),
        ftol=_ENOUGH,
        xtol=1e-2,
        gtol=1e-6,
        max_nfev=25,
    )
    return np.asarray(found.x)


def _leverage(problem: Problem, z: np.ndarray) -> tuple[list[np.ndarray], list[np.ndarray]]:
    """Misses of each trial, and how far each used reading determines its own estimate (0..1)."""
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
        able = part.used & (np.abs(miss) * part.sigma > _least(part.trial.readings))
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
