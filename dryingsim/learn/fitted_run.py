"""What a scale and thermometers would show: a batch simulated with things off, many times at once.

All versions run at once: in an appliance the appliances side by side, in given air the slices of all of them in the
ensemble engine. Stages end by the clock: when the batch as it is meant ends them, because that is
what a person sees. The drying stage (the last that ends by a condition, else the longest) goes on as long as the log
does, and further for a forecast; see `clocked_batch_of`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from dryingsim.batch.schema import Batch, Stage
from dryingsim.engine.appliance_ensemble import SlabsSeen, follow_appliances
from dryingsim.engine.batch_group import BatchGroup
from dryingsim.engine.deviations import deviated
from dryingsim.engine.ensemble import Request, run_ensemble
from dryingsim.engine.segments import (
    Clock,
    Segment,
    air_over_time,
    clock_of,
    segments_in_appliances,
    segments_in_given_air,
)
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.kernels.grid import NODES_OF_MANY
from dryingsim.model.build import recipe_of, with_ideal_thermostat
from dryingsim.simulate import run

_GRID = 160  # states noted over a run
_LONGER = 4.0  # a forecast looks so many times as far as the batch as meant needs: prior's two deviations
_LATEST_S = 5 * 86400.0


@dataclass(frozen=True)
class FittedRun:
    """One simulated batch at `t` times; `m` slabs: every thickness class on every tray.

    Attributes
    ----------
    time_s : ndarray, shape (t,)
    dry_kg : ndarray, shape (m,)
        Dry matter of the slices of a slab.
    kind, tray : ndarray of int, shape (m,)
    moisture_db, activity, core_K, air_K : ndarray, shape (t, m)
        Mean moisture [kg/kg], that evened out as a water activity, the middle's temperature and the air's [K].
    vapour_Pa : ndarray, shape (t, m), or None
        Vapour pressure of the air [Pa]; None where it was not noted.
    """

    time_s: np.ndarray
    dry_kg: np.ndarray
    kind: np.ndarray
    tray: np.ndarray
    moisture_db: np.ndarray
    activity: np.ndarray
    core_K: np.ndarray
    air_K: np.ndarray
    vapour_Pa: np.ndarray | None = None

    def weight_kg(self, slabs: np.ndarray) -> np.ndarray:
        """Weight of some of the slabs (a mask) over the times, added up [kg]."""
        return (1.0 + self.moisture_db[:, slabs]) @ self.dry_kg[slabs]


Simulate = Callable[[Batch, Sequence[str], np.ndarray, np.ndarray], list[FittedRun]]


@dataclass(frozen=True)
class ClockedBatch:
    """A batch by the clock, and how long it makes sense to look.

    Attributes
    ----------
    batch : Batch
        Every stage has a duration.
    horizon_s : float
    meant : History
        The batch as it is meant.
    followed : bool
        What comes after the drying has begun as planned.
    """

    batch: Batch
    horizon_s: float
    meant: History
    followed: bool


def clocked_batch_of(batch: Batch, last_s: float) -> ClockedBatch:
    """Return a batch by the clock, for a log of readings.

    Parameters
    ----------
    batch : Batch
        As it is meant.
    last_s : float
        When the last reading was taken [s].

    Notes
    -----
    A log that ends before the drying stage does by the plan, or after the whole plan, tells that the drying goes on; one
    that ends between, that what follows has begun as planned.
    """
    batch = with_ideal_thermostat(batch)
    meant = run(batch)
    ends = clock_of(meant).ends_s
    drying = _drying_stage(batch.stages, ends)
    followed = ends[drying] < last_s <= ends[-1]
    done = judge_batch(meant).doneness.batch.expected_s or ends[-1]
    horizon = min(max(_LONGER * max(done, ends[drying]), 1.05 * last_s), _LATEST_S)
    count = len(ends) if followed else drying + 1
    starts = (0.0, *ends[: count - 1])
    stages = [
        replace(stage, duration_s=end - start, until=None)
        for stage, start, end in zip(batch.stages, starts, ends, strict=False)
        if end > start
    ]
    if followed:
        horizon = ends[-1]
    elif horizon > ends[drying]:
        stages = _gone_on(stages, horizon - ends[drying])
    trays = None if batch.appliance is None else int(meant.tray.max()) + 1
    return ClockedBatch(
        replace(batch, stages=tuple(stages), trays=trays), max(horizon, ends[count - 1]), meant, followed
    )


def _drying_stage(stages: Sequence[Stage], ends: Sequence[float]) -> int:
    conditional = [i for i, stage in enumerate(stages) if stage.dries and stage.until]
    if conditional:
        return conditional[-1]
    lengths = np.diff([0.0, *ends])
    lengths[[not stage.dries for stage in stages[: lengths.size]]] = 0.0
    return int(lengths.size - 1 - lengths[::-1].argmax())


def _gone_on(stages: list[Stage], longer_s: float) -> list[Stage]:
    last = stages[-1]
    if last.air_end is None:
        return [*stages[:-1], replace(last, duration_s=(last.duration_s or 0.0) + longer_s)]
    more = replace(
        last, name=f"{last.name}, longer", air=last.air_end, air_end=None, duration_s=longer_s, turn=False
    )
    return [*stages, more]


def times_of(plan: ClockedBatch, readings_s: np.ndarray, end_s: float) -> np.ndarray:
    """Return the times at which states are noted [s]: even ones to the end, and those of the readings.

    Parameters
    ----------
    plan : ClockedBatch
    readings_s : ndarray
        Times of the readings [s].
    end_s : float
        How far it is to be followed [s]; not beyond the horizon.
    """
    end = min(end_s, plan.horizon_s)
    return np.unique(np.concatenate([np.linspace(0.0, end, _GRID + 1), readings_s]))


def simulate_runs(
    batch: Batch, keys: Sequence[str], values: np.ndarray, times_s: np.ndarray
) -> list[FittedRun]:
    """Simulate a batch with things off, all versions at once.

    Parameters
    ----------
    batch : Batch
        By the clock, see `clocked_batch_of`.
    keys : sequence of str
    values : ndarray, shape (s, p)
        How far each of the things is off in each of the versions: logarithms of factors, offsets in SI.
    times_s : ndarray, shape (t,)
        From 0 on.

    Notes
    -----
    In given air salt per dry matter is that of the batch, whatever the water: it moves the activity by 0.002.
    """
    cut = _cut(batch, float(times_s[-1]))
    deviations = [dict(zip(keys, row, strict=True)) for row in values.tolist()]
    changed, faster = zip(*(deviated(cut, off) for off in deviations), strict=True)
    ends = tuple(np.cumsum([stage.duration_s for stage in cut.stages]).tolist())
    follow = _in_given_air if batch.appliance is None else _in_appliances
    slabs, segments = follow(batch, changed, np.array(faster), Clock(ends, None, ends[-1]), times_s)
    trays, share = batch.trays or 1, np.array([kind.share for kind in batch.meat.classes])
    tray, kind = (index.reshape(-1) for index in np.indices((trays, share.size)))
    air, vapour = air_over_time(segments, times_s).reshape(2, times_s.size, len(changed), trays)[..., tray]
    return [
        FittedRun(
            time_s=times_s,
            dry_kg=share[kind] / trays * version.meat.weight_kg * recipe_of(version)[1],
            kind=kind,
            tray=tray,
            moisture_db=slabs.moisture_db[..., i],
            activity=slabs.activity[..., i],
            core_K=slabs.core_K[..., i],
            air_K=air[:, i],
            vapour_Pa=batch.room.pressure_Pa * vapour[:, i],
        )
        for i, version in enumerate(changed)
    ]


def _in_appliances(
    batch: Batch, changed: Sequence[Batch], faster: np.ndarray, clock: Clock, times_s: np.ndarray
) -> tuple[SlabsSeen, tuple[Segment, ...]]:
    """Slabs of the versions of a batch, each in an appliance of its own, and their air."""
    airs, slabs = follow_appliances(changed, times_s, diffusivity_factor=faster)
    return slabs, segments_in_appliances(changed, clock, airs)


def _in_given_air(
    batch: Batch, changed: Sequence[Batch], faster: np.ndarray, clock: Clock, times_s: np.ndarray
) -> tuple[SlabsSeen, tuple[Segment, ...]]:
    """Slabs of the versions of a batch in the air of each, and that air."""
    segments, count = segments_in_given_air(changed, clock), len(changed)
    moisture = np.array([_moisture(version) for version in changed])
    group = BatchGroup([batch] * count, faster, np.ones(count), moisture)
    request = Request(temperature_K=batch.meat.temperature_K, times_s=times_s)
    numbers = run_ensemble(group.slices(1, NODES_OF_MANY), segments, request)
    names = ("moisture_db", "water_activity", "core_K")
    by_batch = (numbers[f"series_{name}"].reshape(times_s.size, count, -1) for name in names)
    return SlabsSeen(*(np.moveaxis(values, 1, 2) for values in by_batch)), segments


def _cut(batch: Batch, end_s: float) -> Batch:
    """Return the batch ended at a time."""
    stages, start = [], 0.0
    for stage in batch.stages:
        length = stage.duration_s or 0.0
        if stage.air_end is None:
            length = min(length, max(end_s - start, 1.0))
        stages.append(replace(stage, duration_s=length))
        start += length
        if start >= end_s:
            break
    return replace(batch, stages=tuple(stages))


def _moisture(batch: Batch) -> float:
    _, solids, water = recipe_of(batch)
    return water / solids
