"""How a batch stands to the home advice to heat the meat through before it is dried."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.stage_schema import Stage
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.grades import HomeAdvice
from dryingsim.judge.liquid_amount import heated_in_portions
from dryingsim.judge.taking_off import coldest_place

_INSTANT_S: Annotated[
    float, Evidence("s", "numerical", "a stage that ends so close to its duration is ended by that")
] = 1e-3

_SAME_K: Annotated[
    float, Evidence("K", "numerical", "160 degF and 71 degC are the same: the advice is told in both")
] = 0.2


def home_advice(history: History, asked_K: float, heated_records: int) -> HomeAdvice:
    """Return how a batch stands to the home advice.

    Parameters
    ----------
    history : History
    asked_K : float
        Temperature asked for [K].
    heated_records : int
        Records before the slices came into drying air.
    """
    coldest = coldest_place(history).min(axis=1)
    hot = np.flatnonzero(coldest >= asked_K)
    first = int(hot[0]) if hot.size else None
    heating = _heating(history, asked_K)
    return HomeAdvice(
        asked_K=asked_K,
        hottest_K=float(coldest.max()),
        reached_s=None if first is None else float(history.time_s[first]),
        face_water_activity=None if first is None else float(history.surface_water_activity[first].min()),
        before_drying=first is not None and first <= heated_records,
        heated_first=history.batch.heated_first,
        in_portions=heated_in_portions(history.batch),
        **vars(heating),
    )


@dataclass(frozen=True)
class _Heating:
    """How the slices are heated before they dry: the last four of `HomeAdvice`."""

    timed_s: float | None = None
    timed_in_K: float | None = None
    until_K: float | None = None
    least_s: float | None = None


def _heating(history: History, asked_K: float) -> _Heating:
    """Return what heats the slices before they dry, and whether the clock alone ends that."""
    before = enumerate(history.batch.stages[: history.batch.first_drying])
    heating = {index: stage for index, stage in before if stage.kind != "rest"}
    if not heating:
        return _Heating()
    lasted = np.diff(history.stage_end_s, prepend=0.0)
    spent_s = float(sum(lasted[index] for index in heating))
    if all(_by_the_clock(stage, lasted[index]) for index, stage in heating.items()):
        return _Heating(
            timed_s=spent_s, timed_in_K=max(stage.air.temperature_K for stage in heating.values())
        )
    inside = max(stage.until.core_temperature_K or asked_K for stage in heating.values() if stage.until)
    return _Heating(until_K=max(asked_K, inside), least_s=spent_s if inside >= asked_K - _SAME_K else None)


def _by_the_clock(stage: Stage, lasted_s: float) -> bool:
    """Whether the clock ended a stage: it has no condition, or that was not met by then."""
    return stage.until is None or (stage.duration_s is not None and lasted_s >= stage.duration_s - _INSTANT_S)
