"""When a batch that is on the trays will be done, and what it will weigh then: its fit carried on.

Done is what `judge.doneness` calls it: the wettest slices, evened out, are down to the target's water activity. The
interval holds what the weights leave open. That the water activity is known to +-0.04 only comes on top and is told
apart, as is that no two slices of a class are alike. It says nothing about bacteria.

Early on the interval is somewhat too narrow: fast meat in a slow film looks like slow meat in a fast one, a bent ridge
that the fit's normal distribution follows straight on. After two weighings within half an hour it holds the truth in
83 % of batches instead of 90 (`python -m validation learning --full`).
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.learn.fit import Fit, Problem
from dryingsim.learn.fitted_run import FittedRun
from dryingsim.learn.readings import weight_of_run
from dryingsim.properties.water_activity import UNCERTAINTY

NINETY = 1.645  # standard deviations either side that hold 90 %
_NEVER_S = 1e9


@dataclass(frozen=True)
class Forecast:
    """When a batch is done; times [s] since the slices went in, None beyond `horizon_s`.

    Attributes
    ----------
    done_s : float or None
        Most likely.
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

    def answers(fitted_run: FittedRun) -> np.ndarray:
        """Logarithms of the time until done and of the weight then."""
        done = down_to_s(fitted_run, target)
        return np.log([max(done, 1.0), _weight(fitted_run, done)])

    found_at, slope = problem.slopes(mine, found.z, answers)
    fitted_run = problem.fitted_runs(mine, found.z)[0]
    early, done, late = (down_to_s(fitted_run, target + off) for off in (UNCERTAINTY, 0.0, -UNCERTAINTY))
    factor_slope = np.zeros(problem.size)
    series = [one.scope for one in trial.readings.series]
    if "batch" in series:
        i = series.index("batch")
        factor_slope[mine.factors[i]] = mine.factor_size[i]
    horizon = float(fitted_run.time_s[-1])
    time_doubt = found.deviation(slope[0]) if np.isfinite(slope[0]).all() else np.inf
    low, high = (
        np.exp(found_at[0] + NINETY * time_doubt * np.array([-1.0, 1.0]))
        if np.isfinite(time_doubt)
        else (_NEVER_S,) * 2
    )
    weight_doubt = found.deviation(slope[1] + factor_slope) if np.isfinite(slope[1]).all() else np.nan
    known = bool(np.isfinite(done) and np.isfinite(weight_doubt))
    weight = factor * _weight(fitted_run, done) if np.isfinite(done) else np.nan
    spread = np.exp(NINETY * weight_doubt) if known else np.nan
    return Forecast(
        done_s=_within(done, horizon),
        low_s=_within(float(low), horizon),
        high_s=_within(float(high), horizon),
        earliest_s=_within(early, horizon),
        latest_s=_within(late, horizon),
        weight_kg=_number(weight),
        weight_low_kg=_number(weight / spread),
        weight_high_kg=_number(weight * spread),
        surely_kg=_number(factor * _weight(fitted_run, late)) if np.isfinite(late) else None,
        laid_on_kg=float(factor * _weight(fitted_run, 0.0)),
        last_s=trial.log.last_s,
        horizon_s=horizon,
    )


def down_to_s(fitted_run: FittedRun, level: float) -> float:
    """Time when the wettest slabs of a course are down to a water activity [s]; infinite where they never are."""
    activity = fitted_run.activity.max(axis=1)
    below = np.flatnonzero(activity <= level)
    if not below.size:
        return np.inf
    i = int(below[0])
    if i == 0:
        return 0.0
    share = (activity[i - 1] - level) / (activity[i - 1] - activity[i])
    return float(fitted_run.time_s[i - 1] + share * (fitted_run.time_s[i] - fitted_run.time_s[i - 1]))


def _weight(fitted_run: FittedRun, time_s: float) -> float:
    everything = np.ones(fitted_run.dry_kg.size, dtype=bool)
    return (
        float(np.interp(time_s, fitted_run.time_s, fitted_run.weight_kg(everything)))
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
    fitted_run = problem.fitted_runs(mine, found.z)[0]
    return fitted_run.time_s, series_weight(problem, part, series, fitted_run, found.z)


def series_weight(
    problem: Problem, part: int, series: int, fitted_run: FittedRun, z: np.ndarray
) -> np.ndarray:
    """Weight of one series over the times of a course [kg]."""
    mine = problem.parts[part]
    first = next(
        one
        for one, belongs in zip(mine.trial.readings.readings, mine.trial.readings.belongs, strict=True)
        if belongs == series
    )
    factor = float(np.exp(mine.factor_size[series] * z[mine.factors[series]]))
    return factor * weight_of_run(fitted_run, first, mine.trial.batch)


def _within(time_s: float, horizon_s: float) -> float | None:
    return time_s if np.isfinite(time_s) and time_s <= horizon_s else None


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
