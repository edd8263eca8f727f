"""When a batch that is on the trays will be done, and what it will weigh then: its fit carried on.

Done is what `judge.doneness` calls it: the wettest slices, evened out, are down to the target's water activity. The
interval holds what the weights leave open. How well the water activity is known (by kind of product) comes on top and is told
apart, as is that no two slices of a class are alike. It says nothing about bacteria.

Early on the interval is somewhat too narrow: fast meat in a slow film looks like slow meat in a fast one, a bent ridge
that the fit's normal distribution follows straight on. After two weighings within half an hour it holds the truth in
83 % of batches instead of 90 (`python -m validation learning --full`).
"""

from dataclasses import dataclass

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.judge.done_window import at_time
from dryingsim.judge.stop_weight import ready_share, stop_level
from dryingsim.judge.taking_off import held_moisture
from dryingsim.learn.causes import Cause, causes_of
from dryingsim.learn.fit import Fit
from dryingsim.learn.fitted_run import FittedRun
from dryingsim.learn.problem import LoggedPart, Problem
from dryingsim.learn.readings import weight_of_run

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
        Of the whole batch then, without the tare, slices taken off before among it, and 90 % of what is open.
    surely_kg : float or None
        The same when its water activity is at or below the target with 95 % certainty (`judge.stop_weight`).
    laid_on_kg : float
        Of the whole batch when it went in, as estimated.
    last_s : float
        The last reading.
    horizon_s : float
    causes : tuple of Cause
        What made it slower or faster than its file says, the likeliest main cause first; empty where it is not known.
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
    causes: tuple[Cause, ...] = ()


def forecast(fitted: Fit, part: int = 0) -> Forecast:
    """Carry a fitted batch on until it is done.

    Parameters
    ----------
    fitted : Fit
    part : int
        Which of its batches, 0 the first.
    """
    problem = fitted.problem
    mine = problem.parts[part]
    logged = mine.logged
    target = logged.batch.targets.water_activity
    fitted_run = problem.fitted_runs(mine, fitted.z)[0]
    horizon, error = float(fitted_run.time_s[-1]), activity_error_of(logged.batch).half_width
    early, done, late = (down_to_s(fitted_run, target + off) for off in (error, 0.0, -error))
    sure = down_to_s(fitted_run, stop_level(logged.batch, target))
    factor, factor_slope = _batch_factor(problem, mine, fitted.z)

    def weight_at(time_s: float) -> float:
        return factor * _weight(fitted_run, time_s, logged.batch) if np.isfinite(time_s) else np.nan

    def answers(near: FittedRun) -> np.ndarray:
        """Logarithms of the time until done and of the weight then."""
        time_s = down_to_s(near, target)
        return np.log([max(time_s, 1.0), _weight(near, time_s, logged.batch)])

    laid_on = weight_at(0.0) * logged.batch.washing
    most_likely, slope = problem.slopes(mine, fitted.z, answers)
    low, high = _open_time(fitted, float(most_likely[0]), slope[0])
    spread = _open_weight(fitted, slope[1] + factor_slope) if np.isfinite(done) else np.nan
    return Forecast(
        done_s=_within(done, horizon),
        low_s=_within(low, horizon),
        high_s=_within(high, horizon),
        earliest_s=_within(early, horizon),
        latest_s=_within(late, horizon),
        weight_kg=_number(weight_at(done)),
        weight_low_kg=_number(weight_at(done) / spread),
        weight_high_kg=_number(weight_at(done) * spread),
        # weighings say little of how much dry solid there is: no more than the batch file counts with
        surely_kg=_number(min(weight_at(sure), ready_share(logged.batch) * laid_on)),
        laid_on_kg=laid_on,
        last_s=logged.log.last_s,
        horizon_s=horizon,
        causes=causes_of(fitted, part, slope[0]),
    )


def _open_time(fitted: Fit, log_done: float, slope: np.ndarray) -> tuple[float, float]:
    """Return the ends [s] of the interval that holds 90 %; beyond any run where a slope is not known."""
    if not np.isfinite(slope).all():
        return _NEVER_S, _NEVER_S
    size = NINETY * fitted.deviation(slope)
    return float(np.exp(log_done - size)), float(np.exp(log_done + size))


def _open_weight(fitted: Fit, slope: np.ndarray) -> float:
    """Return the factor on a weight, down and up, that holds 90 %; not a number where it is not known."""
    return float(np.exp(NINETY * fitted.deviation(slope))) if np.isfinite(slope).all() else np.nan


def down_to_s(fitted_run: FittedRun, level: float) -> float:
    """Return the time when the wettest slabs of a run are down to a water activity [s]; infinite where they never are.

    Parameters
    ----------
    fitted_run : FittedRun
    level : float
        Water activity [-].
    """
    activity = fitted_run.activity.max(axis=1)
    below = np.flatnonzero(activity <= level)
    if not below.size:
        return np.inf
    i = int(below[0])
    if i == 0:
        return 0.0
    share = (activity[i - 1] - level) / (activity[i - 1] - activity[i])
    return float(fitted_run.time_s[i - 1] + share * (fitted_run.time_s[i] - fitted_run.time_s[i - 1]))


def _weight(fitted_run: FittedRun, time_s: float, batch: Batch) -> float:
    """Return the weight of all slices at a time, those taken off among them, as a run tells it [kg]."""
    if not np.isfinite(time_s):
        return np.inf
    moisture = at_time(time_s, fitted_run.time_s, fitted_run.moisture_db)
    return float(fitted_run.dry_kg @ (1.0 + held_moisture(batch, moisture)))


def _batch_factor(problem: Problem, part: LoggedPart, z: np.ndarray) -> tuple[float, np.ndarray]:
    """Return the factor on the weight of the whole batch (1 where only parts of it were weighed), and its slope by z."""
    slope = np.zeros(problem.size)
    scopes = [series.scope for series in part.logged.readings.series]
    if "batch" not in scopes:
        return 1.0, slope
    i = scopes.index("batch")
    slope[part.factors[i]] = part.factor_size[i]
    return float(np.exp(part.factor_size[i] * z[part.factors[i]])), slope


def predicted_weights(fitted: Fit, part: int, series: int) -> tuple[np.ndarray, np.ndarray]:
    """Return times [s] and the fitted weight of one series then [kg], for a picture.

    Parameters
    ----------
    fitted : Fit
    part, series : int
        Which of its batches, and which of the series weighed of it; 0 the first.
    """
    problem = fitted.problem
    mine = problem.parts[part]
    fitted_run = problem.fitted_runs(mine, fitted.z)[0]
    seen = fitted_run.time_s <= max(mine.logged.log.last_s, 60.0)
    return fitted_run.time_s[seen], series_weight(mine, series, fitted_run, fitted.z)[seen]


def series_weight(part: LoggedPart, series: int, fitted_run: FittedRun, z: np.ndarray) -> np.ndarray:
    """Return the weight of one series over the times of a run [kg].

    Parameters
    ----------
    part : LoggedPart
    series : int
        Which of the series weighed of the batch, 0 the first.
    fitted_run : FittedRun
    z : ndarray, shape (size,)
        Standard normal numbers of the whole problem.
    """
    readings = part.logged.readings
    first = readings.readings[int(np.flatnonzero(readings.belongs == series)[0])]
    factor = float(np.exp(part.factor_size[series] * z[part.factors[series]]))
    return factor * weight_of_run(fitted_run, first, part.logged.batch)


def _within(time_s: float, horizon_s: float) -> float | None:
    return time_s if np.isfinite(time_s) and time_s <= horizon_s else None


def _number(value: float) -> float | None:
    return float(value) if np.isfinite(value) else None
