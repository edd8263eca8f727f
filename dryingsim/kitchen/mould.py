"""When mould can be seen on dried meat: its published days, and its warmth."""

import numpy as np

from dryingsim.batch.catalog import growth_limits
from dryingsim.kitchen.packed_meat import HORIZON_DAYS, ActivityHistory, first_day
from dryingsim.typing import Array


def mould_rate(activity: Array, temperature_K: Array, soonest: bool) -> Array:
    """Progress towards visible mould per day [1/day].

    Parameters
    ----------
    activity, temperature_K : float or ndarray
        [-], [K].
    soonest : bool
        By the earliest published days, not by the geometric mean of the earliest and the latest.

    Examples
    --------
    Days until it shows at a water activity of 0.80 and 25 degC, at the soonest:

    >>> round(1.0 / float(mould_rate(0.80, 298.15, True)), 1)
    15.0
    """
    known = growth_limits.visible_mould()
    early, late = np.log(known.soonest_days), np.log(known.latest_days)
    level = early if soonest else 0.5 * (early + late)
    grid = np.array(known.water_activity)
    per_activity = (level[1] - level[0]) / (grid[1] - grid[0])
    drier = level[0] + per_activity * (np.asarray(activity, dtype=float) - grid[0])
    log_days = np.where(activity < grid[0], drier, np.interp(activity, grid, level))
    rate = np.where(np.asarray(activity) < known.dry_end, 0.0, np.exp(-log_days))
    return rate * warmth(temperature_K) / warmth(known.at_K)


def warmth(temperature_K: Array) -> Array:
    """Growth rate of mould relative to its best, by the cardinal temperatures (Rosso et al.); held above the best.

    Parameters
    ----------
    temperature_K : float or ndarray
        [K].

    Examples
    --------
    In a refrigerator, in a cool room, and at its best:

    >>> [round(float(warmth(kelvin)), 2) for kelvin in (277.15, 288.15, 298.15)]
    [0.15, 0.68, 1.0]
    """
    known = growth_limits.visible_mould()
    low, best, high = known.lowest_K, known.best_K, known.highest_K
    t = np.clip(temperature_K, low, best)
    above = (t - high) * (t - low) ** 2
    # Rosso et al. (1993), from memory, checked by its three cardinal points
    below = (best - low) * ((best - low) * (t - best) - (best - high) * (best + low - 2.0 * t))
    return above / below


def days_to_mould(
    history: ActivityHistory, temperature_K: float, margin: float, soonest: bool
) -> float | None:
    """Days until mould can be seen: the progress per day added up along a history.

    Parameters
    ----------
    history : ActivityHistory
    temperature_K : float
        Of the place [K].
    margin : float
        Added to the water activity [-].
    soonest : bool
        As `mould_rate` has it.

    Examples
    --------
    >>> at_rest = ActivityHistory(np.array([0.0, 730.0]), np.array([0.80, 0.80]))
    >>> round(days_to_mould(at_rest, 298.15, margin=0.0, soonest=True), 1)
    15.0
    """
    days = np.union1d(np.linspace(0.0, HORIZON_DAYS, 1461), history.days[history.days <= HORIZON_DAYS])
    rate = mould_rate(np.minimum(history.at(days) + margin, 1.0), temperature_K, soonest)
    done = np.concatenate([[0.0], np.cumsum(0.5 * (rate[1:] + rate[:-1]) * np.diff(days))])
    return first_day(days, done - 1.0)
