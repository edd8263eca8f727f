"""When a batch is done, what it weighs then, and how hot the meat really got.

Done means: the water activity of the wettest slices, once their moisture has evened out at 25 degC, has
fallen to the target. The water-activity curve is known to +-`UNCERTAINTY` only, so each time comes as a
window: done at the earliest when the computed value passes the target plus the uncertainty, at the latest at
the target minus it. The window holds that one doubt; how fast meat dries differs between laboratories too
(properties.diffusivity).

Dryness says nothing about whether bacteria were killed; that is judged in `dryingsim.judge.verdict`.
"""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.properties.water_activity import UNCERTAINTY

HOUR_S: Annotated[float, Evidence("s", "exact", "an hour")] = 3600.0
_AROUND_S: Annotated[
    float,
    Evidence("s", "estimate", "either side of the first hour: several swings of a thermostat that switches"),
] = 900.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Times [s] since the start at which a target is reached; None where the run ends before.

    Attributes
    ----------
    earliest_s, latest_s : float or None
        If the water activity is lower, or higher, than computed by the whole uncertainty.
    expected_s : float or None
        As computed.
    """

    earliest_s: float | None
    expected_s: float | None
    latest_s: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Doneness:
    """When the slices are dry, and how to tell by weighing.

    Attributes
    ----------
    target_water_activity, uncertainty : float
        What counts as dry, and how well the water activity is known [-].
    classes : tuple of Window
        One per thickness class, in the order of the batch: the wettest of its slices over all trays.
    batch : Window
        The whole batch: its wettest slices.
    first_look_s : float or None
        A suggestion: when the first slices on any tray may be dry at the earliest [s].
    weight_kg, weight_share : float or None
        Of the whole batch when done [kg], and as a share of the weight laid on the trays [-].
    moisture_protein_ratio : float or None
        Water over protein of the whole batch when done, by mass [-].
    surely_dry_weight_kg : float or None
        Of the whole batch once its wettest slices are dry allowing for the water activity's error [kg].
    """

    target_water_activity: float
    uncertainty: float
    classes: tuple[Window, ...]
    batch: Window
    first_look_s: float | None
    weight_kg: float | None
    weight_share: float | None
    moisture_protein_ratio: float | None
    surely_dry_weight_kg: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Heating:
    """How hot the coldest spot of the meat was, against the air around those slices.

    Attributes
    ----------
    peak_K, peak_s, air_at_peak_K : float
        Highest temperature of the coldest spot [K], when it was first reached [s], and the air then [K].
    first_hour_K, air_first_hour_K : float or None
        The coldest spot and the air after one hour [K]; None for a shorter run. In an appliance, whose thermostat
        makes the air swing, its mean from 15 min before to 15 min after, within the stage.
    """

    peak_K: float
    peak_s: float
    air_at_peak_K: float
    first_hour_K: float | None
    air_first_hour_K: float | None


@dataclass(frozen=True, slots=True, kw_only=True)
class Answers:
    """What a run says to the person who dries the batch."""

    doneness: Doneness
    heating: Heating


def judge_batch(history: History) -> Answers:
    """Answer when a batch is done and how hot it got.

    Parameters
    ----------
    history : History

    Returns
    -------
    Answers
    """
    return Answers(doneness=_doneness(history), heating=_heating(history))


def first_time_down_to(time_s: np.ndarray, value: np.ndarray, level: float) -> float | None:
    """Time when a recorded value first is at or below a level.

    Parameters
    ----------
    time_s, value : ndarray, shape (t,)
        Increasing times [s] and the values recorded then; straight lines between them.
    level : float
        In the unit of the value.

    Returns
    -------
    float or None
        Time [s]; None if the value stays above.

    Examples
    --------
    >>> first_time_down_to(np.array([0.0, 60.0]), np.array([1.0, 0.5]), 0.75)
    30.0
    """
    below = np.flatnonzero(value <= level)
    if not below.size:
        return None
    i = int(below[0])
    if i == 0:
        return float(time_s[0])
    share = (value[i - 1] - level) / (value[i - 1] - value[i])
    return float(time_s[i - 1] + share * (time_s[i] - time_s[i - 1]))


def window_of(time_s: np.ndarray, water_activity: np.ndarray, target: float) -> Window:
    """Return when a water activity is down to a target, and from when to when that may be.

    Parameters
    ----------
    time_s, water_activity : ndarray, shape (t,)
        Increasing times [s] and the water activity then [-].
    target : float
        Water activity [-].

    Examples
    --------
    >>> window = window_of(np.array([0.0, 3600.0, 7200.0]), np.array([0.99, 0.9, 0.8]), 0.85)
    >>> [round(time_s / 60.0) for time_s in (window.earliest_s, window.expected_s, window.latest_s)]  # minutes
    [66, 90, 114]
    """
    earliest, expected, latest = (
        first_time_down_to(time_s, water_activity, level)
        for level in (target + UNCERTAINTY, target, target - UNCERTAINTY)
    )
    return Window(earliest_s=earliest, expected_s=expected, latest_s=latest)


def _doneness(history: History) -> Doneness:
    time, activity = history.time_s, history.equalised_water_activity
    target = history.batch.targets.water_activity
    wettest = [activity[:, history.kind == k].max(axis=1) for k in range(len(history.batch.meat.classes))]
    classes = tuple(window_of(time, slices, target) for slices in wettest)
    batch = window_of(time, activity.max(axis=1), target)
    each = [window_of(time, slices, target).earliest_s for slices in activity.T]  # every class on every tray
    looks = [earliest for earliest in each if earliest is not None]
    weight = share = ratio = surely = None
    total = history.weight_kg.sum(axis=1)
    if batch.latest_s is not None:
        surely = float(np.interp(batch.latest_s, time, total))
    if batch.expected_s is not None:
        weight = float(np.interp(batch.expected_s, time, total))
        share = weight / float(total[0])
        ratio = float(np.interp(batch.expected_s, time, history.moisture_protein_ratio))
    return Doneness(
        target_water_activity=target,
        uncertainty=UNCERTAINTY,
        classes=classes,
        batch=batch,
        first_look_s=min(looks, default=None),
        weight_kg=weight,
        weight_share=share,
        moisture_protein_ratio=ratio,
        surely_dry_weight_kg=surely,
    )


def _heating(history: History) -> Heating:
    coldest = history.temperature_K.min(axis=1)  # of each slab: the middle, unless a face is colder still
    slab = coldest.argmin(axis=1)
    rows = np.arange(slab.size)
    meat, air = coldest[rows, slab], history.air_temperature_K[rows, slab]
    peak = int(meat.argmax())
    after_hour = history.time_s[-1] >= HOUR_S
    return Heating(
        peak_K=float(meat[peak]),
        peak_s=float(history.time_s[peak]),
        air_at_peak_K=float(air[peak]),
        first_hour_K=float(np.interp(HOUR_S, history.time_s, meat)) if after_hour else None,
        air_first_hour_K=_first_hour_air(history, air) if after_hour else None,
    )


def _first_hour_air(history: History, air: np.ndarray) -> float:
    away = np.abs(history.time_s - HOUR_S)
    around = (away <= _AROUND_S) & (history.stage == history.stage[away.argmin()])
    if history.chamber is None or not around.any():
        return float(np.interp(HOUR_S, history.time_s, air))
    return float(air[around].mean())
