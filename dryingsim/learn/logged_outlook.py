"""Where an unfinished batch stands by its log, and what would come of going on: in the same air, hotter, or with a hot finish.

Every draw that explains the log is carried on in the air that the log ended with. A batch is ready when the wettest of its
slices is down to the target, the error of the curve of water activity counted in.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Annotated, Any, Literal

import numpy as np

from dryingsim.batch.uncertainties import activity_error_of
from dryingsim.engine.views import down_to
from dryingsim.evidence import Evidence
from dryingsim.judge.done_window import computed_level
from dryingsim.judge.drawn import DrawnHistories, DrawnLethality
from dryingsim.judge.remedies import OVEN_K, OVEN_S, allowed
from dryingsim.learn.fitted_log import EVEN, FittedLog
from dryingsim.learn.logged_air import LoggedAir
from dryingsim.learn.logged_estimate import DriedBatch, LoggedEstimate, dry_batch, judged, noted_times
from dryingsim.properties.water import saturation_pressure
from dryingsim.typing import Array

Change = Literal["as it is", "hotter", "humid hour", "hot finish"]
_LONGEST_S: Annotated[float, Evidence("s", "estimate", "a batch is followed so far beyond its log")] = (
    12 * 3600.0
)
_LEFT_K: Annotated[
    float, Evidence("K", "estimate", "below its own median by so much, the air says that the drying is over")
] = 15.0
_HOTTER_K: Annotated[float, Evidence("K", "estimate", "a step of the thermostat worth trying")] = 8.0
_HOTTEST_K: Annotated[float, Evidence("K", "common practice", "most dehydrators go no higher, 74 degC")] = (
    347.15
)
_HUMID_S: Annotated[
    float, Evidence("s", "published", "an hour of humid air (FSIS-GD-2021-14, p. 26, options 1-3)")
] = 3600.0
_HUMID: Annotated[
    float, Evidence("-", "published", "relative humidity of option 3 (FSIS-GD-2021-14, p. 26)")
] = 0.90
_SOONEST_S: Annotated[
    float, Evidence("s", "common practice", "nobody opens the door again within 15 min")
] = 900.0
_LATEST_S: Annotated[
    float, Evidence("s", "estimate", "whatever a log says, drying meat is not left alone for longer")
] = 2.0 * 3600.0
_QUANTILES = (0.05, 0.5, 0.95)
_GOING_ON = "going on from the last reading"


@dataclass(frozen=True, slots=True, kw_only=True)
class Course:
    """What comes of going on in one way.

    Attributes
    ----------
    change : str
    air_K : float or None
        Temperature that the air is set to [K]; None where it stays.
    ready_s : tuple of float
        When the whole batch is ready, since it was laid in: early, middle, late, for nine in ten [s]; infinite beyond
        what is followed.
    lethality : DrawnLethality
        Of the whole batch at the middle of these, or when it is no longer followed.
    """

    change: Change
    air_K: float | None
    ready_s: tuple[float, float, float]
    lethality: DrawnLethality


@dataclass(frozen=True, slots=True, kw_only=True)
class Outlook:
    """Where a batch stands.

    Attributes
    ----------
    now_s : float
        End of the log [s].
    ready_share : float
        Share of the draws in which all of the batch is ready now.
    courses : tuple of Course
        As it is, first.
    look_s : float or None
        When to look next [s]; None where it is surely ready.
    """

    now_s: float
    ready_share: float
    courses: tuple[Course, ...]
    look_s: float | None


def drying_goes_on(estimate: LoggedEstimate) -> bool:
    """Whether the air at the end of a log is still that of drying."""
    air = estimate.of.fitted.piece.air.temperature_K
    return bool(air[-1] > np.median(air) - _LEFT_K)


def outlook(estimate: LoggedEstimate, progress: Callable[[str], Any] | None = None) -> Outlook | None:
    """Return where an unfinished batch stands; nothing where the log goes beyond its drying.

    Parameters
    ----------
    estimate : LoggedEstimate
    progress : callable, optional
        Called with a word about what is done, as each course begins.
    """
    tell = progress or (lambda text: None)
    if not drying_goes_on(estimate):
        return None
    of, now = estimate.of, estimate.end_s
    level = _levels(of)
    wettest = estimate.batch_activity[-1].max(axis=1)
    ready = float(np.mean(wettest <= level))
    met = estimate.batch_lethality.lethality.met_as_computed
    tell(_GOING_ON)
    going_on, courses = _dried(of, now, ()), []
    for change in worth_trying(of, ready, met=met):
        tell(_GOING_ON)
        courses.append(_course(of, now, level, change, going_on))
    early = courses[0].ready_s[0]
    look = None if ready >= _QUANTILES[2] else min(max(early, now + _SOONEST_S), now + _LATEST_S)
    return Outlook(now_s=now, ready_share=ready, courses=tuple(courses), look_s=look)


def _levels(of: FittedLog) -> Array:
    """Return what has to be computed in each draw for the true water activity to be at the target."""
    error = activity_error_of(of.batch).deviation * np.random.default_rng(3).standard_normal(EVEN)
    return computed_level(of.batch.targets.water_activity, error)


def worth_trying(of: FittedLog, ready: float, *, met: bool) -> list[Change]:
    """Return what is worth trying: hotter where there is time for it; where bacteria are left a finish, humid air if it can be.

    Parameters
    ----------
    of : FittedLog
    ready : float
        Share of the draws that are dry enough [-].
    met : bool
        Whether the log reduction required is met as computed.
    """
    changes: list[Change] = ["as it is"]
    if ready < _QUANTILES[1] and of.fitted.piece.air.temperature_K[-1] < _HOTTEST_K - 1.0:
        changes.append("hotter")
    if met:
        return changes
    if allowed(of.batch, "humid first"):
        changes.append("humid hour")
    return [*changes, "hot finish"]


def _times(now_s: float) -> Array:
    """When states are noted: closely up to now, then every five minutes."""
    return np.unique(np.concatenate([noted_times(now_s), np.arange(now_s, now_s + _LONGEST_S + 1.0, 300.0)]))


def _dried(of: FittedLog, now_s: float, later: Sequence[tuple[float, float, float]]) -> DriedBatch:
    """Dry the batch in the logged air and what comes after it."""
    piece = of.fitted.piece
    return dry_batch(of, replace(piece, air=_going_on(piece.air, later)), _times(now_s))


def _course(of: FittedLog, now_s: float, level: Array, change: Change, going_on: DriedBatch) -> Course:
    air = of.fitted.piece.air
    later: Sequence[tuple[float, float, float]] = ()
    last_K, last_Pa = float(air.temperature_K[-1]), float(air.vapour_Pa[-1])
    set_K: float | None = None
    if change == "hotter":
        set_K = min(last_K + _HOTTER_K, _HOTTEST_K)
        later = ((now_s + 600.0, set_K, last_Pa),)
    elif change == "humid hour":
        humid_Pa = _HUMID * float(saturation_pressure(last_K))
        later = (
            (now_s + 600.0, last_K, humid_Pa),
            (now_s + 600.0 + _HUMID_S, last_K, humid_Pa),
            (now_s + 900.0 + _HUMID_S, last_K, last_Pa),
        )
    times = _times(now_s)
    batch = _dried(of, now_s, later) if later else going_on
    reached = down_to(times, batch.activity.max(axis=2), level)
    early, middle, late = (float(np.quantile(reached, q, method="inverted_cdf")) for q in _QUANTILES)
    end = min(max(middle, now_s), float(times[-1]))
    histories = batch.histories.up_to(end)
    if change == "hot finish":
        set_K, histories = OVEN_K, _finished(of, end, batch.histories)
    return Course(change=change, air_K=set_K, ready_s=(early, middle, late), lethality=judged(of, histories))


def _going_on(air: LoggedAir, later: Sequence[tuple[float, float, float]]) -> LoggedAir:
    """Return the logged air with what comes after it: time [s], temperature [K], vapour [Pa]."""
    if not later:
        return air
    time, kelvin, pascal = (np.array(values) for values in zip(*later, strict=True))
    return replace(
        air,
        time_s=np.append(air.time_s, time),
        temperature_K=np.append(air.temperature_K, kelvin),
        vapour_Pa=np.append(air.vapour_Pa, pascal),
    )


def _finished(of: FittedLog, end_s: float, histories: DrawnHistories) -> DrawnHistories:
    """Return what comes of the batch in a hot oven once it is ready."""
    air = of.fitted.piece.air
    vapour = float(air.vapour_Pa[-1])
    last = float(air.temperature_K[-1])
    later = (
        (end_s, last, vapour),
        (end_s + 60.0, OVEN_K, vapour),
        (end_s + 60.0 + OVEN_S, OVEN_K, vapour),
    )
    times = np.unique(
        np.concatenate([histories.up_to(end_s).time_s, end_s + np.arange(0.0, 60.0 + OVEN_S + 1.0, 30.0)])
    )
    return dry_batch(of, replace(of.fitted.piece, air=_going_on(air, later)), times).histories
