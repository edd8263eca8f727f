"""How a batch stands to the home advice to heat the meat through before it is dried."""

from typing import Annotated

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.batch.stage_schema import Stage
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.grades import HomeAdvice
from dryingsim.judge.liquid_amount import heated_in_portions
from dryingsim.judge.taking_off import coldest_place

_INSTANT_S: Annotated[
    float, Evidence("s", "numerical", "a stage that ends so close to its duration is ended by that")
] = 1e-3


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
    timed_s, timed_in_K = _timed_heating(history)
    until_K, least_s = _heating_until(history, asked_K)
    return HomeAdvice(
        asked_K=asked_K,
        hottest_K=float(coldest.max()),
        reached_s=None if first is None else float(history.time_s[first]),
        face_water_activity=None if first is None else float(history.surface_water_activity[first].min()),
        before_drying=first is not None and first <= heated_records,
        heated_first=history.batch.heated_first,
        in_portions=heated_in_portions(history.batch),
        timed_s=timed_s,
        timed_in_K=timed_in_K,
        until_K=until_K,
        least_s=least_s,
    )


def _heating(batch: Batch) -> dict[int, Stage]:
    """Stages that heat the slices before they dry, by index."""
    before = enumerate(batch.stages[: batch.first_drying])
    return {index: stage for index, stage in before if stage.kind != "rest"}


def _heating_until(history: History, asked_K: float) -> tuple[float, float] | tuple[None, None]:
    """Return how hot the thickest slices get inside [K] and how long that takes [s], where no clock alone ends the heating."""
    heating, lasted = _heating(history.batch), np.diff(history.stage_end_s, prepend=0.0)
    if all(_by_the_clock(stage, lasted[index]) for index, stage in heating.items()):
        return None, None
    inside = (stage.until.core_temperature_K or asked_K for stage in heating.values() if stage.until)
    return max(asked_K, *inside), float(sum(lasted[index] for index in heating))


def _timed_heating(history: History) -> tuple[float, float] | tuple[None, None]:
    """Return how long the slices are heated before they dry [s] and in how hot a medium [K], where the clock ends that."""
    heating, lasted = _heating(history.batch), np.diff(history.stage_end_s, prepend=0.0)
    if not heating or not all(_by_the_clock(stage, lasted[index]) for index, stage in heating.items()):
        return None, None
    hottest_K = max(stage.air.temperature_K for stage in heating.values())
    return float(sum(lasted[index] for index in heating)), hottest_K


def _by_the_clock(stage: Stage, lasted_s: float) -> bool:
    """Whether the clock ended a stage: it has no condition, or that was not met by then."""
    return stage.until is None or (stage.duration_s is not None and lasted_s >= stage.duration_s - _INSTANT_S)
