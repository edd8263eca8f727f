"""What slices weigh and hold as they leave the trays: each as it is ready, or all together; one answer for all who ask.

*Ready* is what is surely dry (`judge.stop_weight`). A slice that is taken off keeps what it holds then, and is weighed with
the others. So the share of its own weight at which a slice is ready, the weight at which the whole batch is, what it yields
and what goes into the bag are one and the same; and heat counts for it until then, and no longer.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.done_window import at_time, course_of, first_time_down_to
from dryingsim.judge.stop_weight import ready_moisture, stop_level, stop_of

SAME_ACTIVITY: Annotated[
    float,
    Evidence(
        "-",
        "numerical",
        "water activities nearer than this are the same: the resolution of the end of a stage",
    ),
] = 1e-3


@dataclass(frozen=True, slots=True, kw_only=True)
class TakenOff:
    """The slices as they are when the last of them have left the trays.

    Attributes
    ----------
    ready : bool
        Whether all were ready then; else, where the run does not even bring them to their target as computed, they are
        as it leaves them.
    time_s : float
        When the last leave, as computed [s]; may lie beyond the run.
    moisture_db, water_activity : ndarray, shape (m,)
        Of each slab, its moisture evened out [kg/kg], [-].
    weight_kg : float
        Of all [kg].
    """

    ready: bool
    time_s: float
    moisture_db: np.ndarray
    water_activity: np.ndarray
    weight_kg: float


def leaving_times(history: History) -> np.ndarray:
    """Return when each slab is taken off the trays, at the end of the run at the latest [s], shape (m,).

    Parameters
    ----------
    history : History
    """
    end, moisture = float(history.time_s[-1]), history.mean_moisture_db
    if history.batch.take_off == "together":
        return np.full(moisture.shape[1], end)
    ready = ready_moisture(history.batch)
    times = [first_time_down_to(history.time_s, slab, ready) for slab in moisture.T]
    return np.array([end if time is None else time for time in times])


def ready_levels(batches: Sequence[Batch]) -> np.ndarray:
    """Return the water activity, evened out, at which slices of batches are taken off [-]; 0 where all stay to the end.

    Parameters
    ----------
    batches : sequence of Batch
    """
    return np.array(
        [
            stop_level(batch, batch.targets.water_activity) if batch.take_off == "as ready" else 0.0
            for batch in batches
        ]
    )


def coldest_place(history: History) -> np.ndarray:
    """Return the temperature of the coldest place of each slab; once taken off, the highest it had [K], shape (t, m).

    Parameters
    ----------
    history : History
    """
    coldest, off = history.temperature_K.min(axis=1), history.time_s[:, None] > leaving_times(history)
    if not off.any():
        return coldest
    highest = np.where(off, -np.inf, coldest).max(axis=0)
    return np.where(off, highest, coldest)


def held_moisture(batch: Batch, moisture_db: np.ndarray) -> np.ndarray:
    """Return the mean moisture of slices, kept once they have been taken off [kg/kg], shaped as `moisture_db`.

    Parameters
    ----------
    batch : Batch
    moisture_db : ndarray
        Mean moisture of the slices if they are left in [kg/kg].
    """
    return moisture_db if batch.take_off == "together" else np.maximum(moisture_db, ready_moisture(batch))


def held_weight(history: History) -> np.ndarray:
    """Return the weight of all slices over time, those taken off among them [kg], shape (t,)."""
    held = held_moisture(history.batch, history.mean_moisture_db)
    weight: np.ndarray = (1.0 + held) @ history.dry_mass_kg
    return weight


def held_activity(history: History) -> np.ndarray:
    """Return the water activity of slabs, evened out, kept once they have been taken off [-], shape (t, m)."""
    activity: np.ndarray = np.maximum(history.equalised_water_activity, ready_levels([history.batch])[0])
    return activity


def until_all_off(history: History) -> History:
    """Return a history up to the first record at which all slices have left the trays; all of it where some stay in."""
    last = int(np.searchsorted(history.time_s, leaving_times(history).max()))
    return history.up_to(float(history.time_s[min(last, history.time_s.size - 1)]))


def while_in(history: History, slab: int) -> History:
    """Return a history until a slab is taken off the trays.

    Parameters
    ----------
    history : History
    slab : int
    """
    return history.up_to(float(leaving_times(history)[slab]))


def taken_off(history: History) -> TakenOff:
    """Return the slices as they are when the last of them have left the trays.

    Parameters
    ----------
    history : History
    """
    batch, target = history.batch, history.batch.targets.water_activity
    course = course_of(history, target, as_planned=True)
    stop = stop_of(history, course, target)
    moisture, time = held_moisture(batch, history.mean_moisture_db[-1]), float(history.time_s[-1])
    dry = bool((history.equalised_water_activity.max(axis=1) <= target + SAME_ACTIVITY).any())
    if dry and stop.likely_s is not None:
        time = stop.likely_s
        moisture = at_time(time, course.time_s, course.moisture_db)
        if batch.take_off == "as ready":
            moisture = np.full_like(moisture, ready_moisture(batch))
    return TakenOff(
        ready=dry and stop.likely_s is not None,
        time_s=time,
        moisture_db=moisture,
        water_activity=history.evened_out(moisture),
        weight_kg=float(history.dry_mass_kg @ (1.0 + moisture)),
    )
