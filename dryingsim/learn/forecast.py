"""When a batch that is on the trays will be done, and what it will weigh then: its fit carried on.

Done is what `judge.doneness` calls it: the wettest slices, evened out, are down to the target's water activity. The
interval holds what the weights leave open. That the water activity is known to +-0.04 only comes on top and is told
apart, as is that no two slices of a class are alike. It says nothing about bacteria.
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.learn.course import Course
from dryingsim.learn.fit import Fit, Problem
from dryingsim.learn.readings import course_weight, predicted
from dryingsim.properties.water_activity import UNCERTAINTY

NINETY = 1.645  # standard deviations either side that hold 90 %
_NARROW = 0.04  # deviation of the logarithm of the time, from which on the posterior is sampled
_DRAWS, _FREEDOM, _SEED = 192, 5.0, 20
_NEVER_S = 1e9


@dataclass(frozen=True)
class Forecast:
    """When a batch is done; times [s] since the slices went in, None beyond `horizon_s`.

    Attributes
    ----------
    done_s : float or None
        As likely earlier as later.
    low_s, high_s : float or None
        90 % of what the readings leave open.
    earliest_s, latest_s : float or None
        The most likely course, if the water activity is lower or higher than computed by its whole uncertainty.
    weight_kg, weight_low_kg, weight_high_kg : float or None
        Of the whole batch then, without the tare, and 90 % of what is open.
    surely_kg : float or None
        Of the whole batch at `latest_s`.
    laid_on_kg : float
        Of the whole batch when it went in, as estimated.
    last_s : float
        The last reading.
    horizon_s : float
    """

    done_s: float | None
    low_s: float | None
    high_s: float | None
    earliest_s: float | None
    latest_s: float | None
    weight_kg: float | None
    weight_low_kg: float | None
    weight_high_kg: float | None
    surely_kg: float | None
    laid_on_kg: float
    last_s: float
    horizon_s: float


def forecast(found: Fit, part: int = 0) -> Forecast:
    """Carry a fitted batch on until it is done.

    Parameters
    ----------
    found : Fit
    part : int
        Which of its batches.
    """
    first = found.problem
    trial = first.parts[part].trial
    target = trial.batch.targets.water_activity
    problem = Problem([one.trial for one in first.parts], found.priors, first.simulate, trial.plan.horizon_s)
    mine = problem.parts[part]
    factor = _batch_factor(problem, part, found.z)

    def answers(course: Course) -> np.ndarray:
        """Logarithms of the time until done and of the weight then."""
        done = down_to_s(course, target)
        return np.log([max(done, 1.0), _weight(course, done)])

    found_at, slope = problem.slopes(mine, found.z, answers)
    course = problem.courses(mine, found.z)[0]
    early, done, late = (down_to_s(course, target + off) for off in (UNCERTAINTY, 0.0, -UNCERTAINTY))
    factor_slope = np.zeros(problem.size)
    series = [one.scope for one in trial.readings.series]
    if "batch" in series:
        i = series.index("batch")
        factor_slope[mine.factors[i]] = mine.factor_size[i]
    horizon = float(course.time_s[-1])
    low, middle, high = _quantiles(found, part, problem, slope[0], float(found_at[0]), target)
    weight_doubt = found.deviation(slope[1] + factor_slope) if np.isfinite(slope[1]).all() else np.nan
    known = bool(np.isfinite(done) and np.isfinite(weight_doubt))
    weight = factor * _weight(course, done) if np.isfinite(done) else np.nan
    spread = np.exp(NINETY * weight_doubt) if known else np.nan
    return Forecast(
        done_s=_within(middle, horizon),
        low_s=_within(low, horizon),
        high_s=_within(high, horizon),
        earliest_s=_within(early, horizon),
        latest_s=_within(late, horizon),
        weight_kg=_number(weight),
        weight_low_kg=_number(weight / spread),
        weight_high_kg=_number(weight * spread),
        surely_kg=_number(factor * _weight(course, late)) if np.isfinite(late) else None,
        laid_on_kg=float(factor * _weight(course, 0.0)),
        last_s=trial.log.last_s,
        horizon_s=horizon,
    )


def _quantiles(
    found: Fit, part: int, problem: Problem, slope: np.ndarray, middle: float, target: float
) -> tuple[float, float, float]:
    """Time until done [s]: below it lie 5, 50 and 95 % of what is open.

    Where little is open the normal distribution of the fit does. Else it is sampled: early on, fast meat in a slow film
    looks like slow meat in a fast one, and the true posterior leans to one side. Draws of a wider distribution (Student's
    t) are weighed by the density that they really have; what other logs say stays in straight lines.
    """
    if not np.isfinite(slope).all():
        return np.inf, np.inf, np.inf
    size = found.deviation(slope)
    if size < _NARROW:
        low, high = (float(np.exp(middle + sign * NINETY * size)) for sign in (-1.0, 1.0))
        return low, float(np.exp(middle)), high
    trial, mine, own = problem.parts[part].trial, problem.parts[part], found.problem.parts[part]
    rng = np.random.default_rng(_SEED)
    normal = rng.standard_normal((_DRAWS, found.z.size))
    wide = np.sqrt(_FREEDOM / rng.chisquare(_FREEDOM, _DRAWS))
    away = normal * wide[:, None]
    z = found.z + away @ np.linalg.cholesky(found.covariance).T
    values = np.stack([problem.values(mine, one) for one in z])
    courses = problem.simulate(trial.batch, found.priors.keys, values, mine.times_s)
    seen = np.stack([predicted(course, trial.readings, trial.batch) for course in courses])
    says = found.problem.likelihood(own, seen * np.stack([found.problem.factors(own, one) for one in z]))
    straight = found.problem.straight_likelihood(own, found.z, z)
    square = np.sum(away**2, axis=1)
    drawn = -0.5 * (_FREEDOM + found.z.size) * np.log1p(square / _FREEDOM)
    logs = says - straight - 0.5 * square - drawn
    done = np.array([min(down_to_s(course, target), _NEVER_S) for course in courses])
    order = np.argsort(done)
    total = np.cumsum(np.exp(logs - logs.max())[order])
    ends = np.interp(np.array([0.05, 0.5, 0.95]) * total[-1], total, np.log(done[order]))
    return float(np.exp(ends[0])), float(np.exp(ends[1])), float(np.exp(ends[2]))


def down_to_s(course: Course, level: float) -> float:
    """Time when the wettest slabs of a course are down to a water activity [s]; infinite where they never are."""
    activity = course.activity.max(axis=1)
    below = np.flatnonzero(activity <= level)
    if not below.size:
        return np.inf
    i = int(below[0])
    if i == 0:
        return 0.0
    share = (activity[i - 1] - level) / (activity[i - 1] - activity[i])
    return float(course.time_s[i - 1] + share * (course.time_s[i] - course.time_s[i - 1]))


def _weight(course: Course, time_s: float) -> float:
    everything = np.ones(course.dry_kg.size, dtype=bool)
    return (
        float(np.interp(time_s, course.time_s, course.weight_kg(everything)))
        if np.isfinite(time_s)
        else np.inf
    )


def _batch_factor(problem: Problem, part: int, z: np.ndarray) -> float:
    """Factor on the weight of the whole batch; 1 where only parts of it were weighed."""
    one = problem.parts[part]
    scopes = [series.scope for series in one.trial.readings.series]
    if "batch" not in scopes:
        return 1.0
    i = scopes.index("batch")
    return float(np.exp(one.factor_size[i] * z[one.factors[i]]))


def predicted_weights(found: Fit, part: int, series: int) -> tuple[np.ndarray, np.ndarray]:
    """Fitted course of the weight of one series [kg] over time [s], for a picture."""
    problem = found.problem
    mine = problem.parts[part]
    course = problem.courses(mine, found.z)[0]
    return course.time_s, series_weight(problem, part, series, course, found.z)


def series_weight(problem: Problem, part: int, series: int, course: Course, z: np.ndarray) -> np.ndarray:
    """Weight of one series over the times of a course [kg]."""
    mine = problem.parts[part]
    first = next(
        one
        for one, belongs in zip(mine.trial.readings.readings, mine.trial.readings.belongs, strict=True)
        if belongs == series
    )
    factor = float(np.exp(mine.factor_size[series] * z[mine.factors[series]]))
    return factor * course_weight(course, first, mine.trial.batch)


def _within(time_s: float, horizon_s: float) -> float | None:
    return time_s if np.isfinite(time_s) and time_s <= horizon_s else None


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
