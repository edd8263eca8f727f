"""What a scale and thermometers would show: a batch simulated with things off, many times at once.

All versions run together: in an appliance first the appliances side by side for the sake of their air, then the slices
of all of them in the ensemble engine. Stages end by the clock:
when the batch as it is meant ends them, because that is what a person sees. The drying stage (the last that ends by a
condition, else the longest) goes on as long as the log does, and further for a forecast; see `clocked_batch_of`.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

import numpy as np

from dryingsim.batch.learned import moved
from dryingsim.batch.schema import Batch, Stage
from dryingsim.engine.appliance_ensemble import run_appliances
from dryingsim.engine.ensemble import Request, Slices, run_ensemble, taken
from dryingsim.engine.segments import (
    AirHistory,
    Clock,
    Segment,
    clock_of,
    segments_in_appliance,
    segments_in_given_air,
)
from dryingsim.history import History
from dryingsim.judge.doneness import judge_batch
from dryingsim.model.build import build_slabs, recipe_of
from dryingsim.model.faces import Film
from dryingsim.model.slab import WATER_VOLUME
from dryingsim.simulate import run

NODES = 24
_GRID = 160  # states noted over a course
_LONGER = (
    4.0  # a forecast looks so many times as far as the batch as it is meant needs: prior's two deviations
)
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
    """

    time_s: np.ndarray
    dry_kg: np.ndarray
    kind: np.ndarray
    tray: np.ndarray
    moisture_db: np.ndarray
    activity: np.ndarray
    core_K: np.ndarray
    air_K: np.ndarray

    def weight_kg(self, slabs: np.ndarray) -> np.ndarray:
        """Weight of some of the slabs together (a mask) over the times [kg]."""
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
    """Return a batch by the clock, for a log whose last reading is at `last_s` [s].

    A log that ends before the drying stage does by the plan, or after the whole plan, tells that the drying goes on; one
    that ends between, that what follows has begun as planned.
    """
    batch = _steady(batch)
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


def _steady(batch: Batch) -> Batch:
    """Return the batch without a thermostat's swings: slices feel their mean."""
    if batch.appliance is None:
        return batch
    heater = replace(batch.appliance.heater, control="ideal")
    return replace(batch, appliance=replace(batch.appliance, heater=heater))


def _drying_stage(stages: Sequence[Stage], ends: Sequence[float]) -> int:
    conditional = [i for i, stage in enumerate(stages) if stage.until is not None]
    if conditional:
        return conditional[-1]
    lengths = np.diff([0.0, *ends])
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
    """Times at which courses are noted [s]: even ones to the end, and those of the readings."""
    end = min(end_s, plan.horizon_s)
    return np.unique(np.concatenate([np.linspace(0.0, end, _GRID + 1), readings_s]))


def off_by(batch: Batch, keys: Sequence[str], values: np.ndarray) -> tuple[Batch, float]:
    """Return the batch with things off, and the factor on the diffusivity."""
    off = dict(zip(keys, values.tolist(), strict=True))
    changed = moved(
        batch,
        setpoint_K=off.get("setpoint", 0.0),
        air_exchange=float(np.exp(off.get("air_exchange", 0.0))),
        film=float(np.exp(off.get("film", 0.0))),
        water=off.get("moisture", 0.0),
    )
    return changed, float(np.exp(off.get("diffusivity", 0.0)))


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
        How far each of the things is off in each of the courses: logarithms of factors, offsets in SI.
    times_s : ndarray, shape (t,)
        From 0 on.

    Notes
    -----
    Salt per dry matter is that of the batch, whatever the water: it moves the activity by 0.002.
    """
    cut = _cut(batch, float(times_s[-1]))
    changed, faster = zip(*(off_by(cut, keys, row) for row in values), strict=True)
    ends = tuple(np.cumsum([stage.duration_s for stage in cut.stages]).tolist())
    segments = _segments(changed, np.array(faster), Clock(ends, None, ends[-1]))
    trays, kinds, count = batch.trays or 1, len(batch.meat.classes), len(changed)
    kind = np.tile(np.arange(kinds), count * trays)
    column = np.repeat(np.arange(count * trays), kinds)
    version = column // trays
    slabs = taken(build_slabs(batch, NODES), kind)
    wet = np.array([_moisture(one) for one in changed])[version]
    thickness = np.array([one.thickness_m for one in batch.meat.classes])[kind]
    slabs = replace(
        slabs,
        initial_moisture_db=wet,
        dry_mass_kg_m2=thickness / (slabs.solid_volume + WATER_VOLUME * wet),
        diffusivity_factor=np.array(faster)[version],
    )
    request = Request(temperature_K=batch.meat.temperature_K, times_s=times_s)
    found = run_ensemble(Slices(slabs, column, np.ones(column.size)), segments, request)
    air = _air_K(segments, times_s)[:, column]
    share = np.array([one.share for one in batch.meat.classes])[kind[: trays * kinds]] / trays
    fitted_runs = []
    for i, one in enumerate(changed):
        mine = slice(i * trays * kinds, (i + 1) * trays * kinds)
        fitted_runs.append(
            FittedRun(
                time_s=times_s,
                dry_kg=share * one.meat.weight_kg * recipe_of(one)[1],
                kind=kind[mine],
                tray=column[mine] % trays,
                moisture_db=found["series_moisture_db"][:, mine],
                activity=found["series_water_activity"][:, mine],
                core_K=found["series_core_K"][:, mine],
                air_K=air[:, mine],
            )
        )
    return fitted_runs


def _segments(changed: Sequence[Batch], faster: np.ndarray, clock: Clock) -> tuple[Segment, ...]:
    """Air of all versions: column `version * trays + tray`."""
    if changed[0].appliance is None:
        return segments_in_given_air(changed, clock)
    airs = run_appliances(changed, diffusivity_factor=faster)
    alone = [
        segments_in_appliance(one, clock, [air], np.zeros((0, 1)))
        for one, air in zip(changed, airs, strict=True)
    ]
    return tuple(_side_by_side(same) for same in zip(*alone, strict=True))


def _side_by_side(segments: Sequence[Segment]) -> Segment:
    """Return segments of the same time as one, the columns of the first in front."""
    air_histories = [segment.air_history for segment in segments]
    films = [air_history.film for air_history in air_histories]

    def columns(arrays: Sequence[np.ndarray]) -> np.ndarray:
        return np.concatenate(arrays, axis=-1)

    film = Film(
        forced=columns([one.forced for one in films]),
        natural=columns([one.natural for one in films]),
        mass_factor=columns([one.mass_factor for one in films]),
        carrying=(
            columns([one.carrying[0] for one in films if one.carrying]),
            columns([one.carrying[1] for one in films if one.carrying]),
        ),
    )
    air_history = AirHistory(
        time_s=air_histories[0].time_s,
        temperature_K=columns([one.temperature_K for one in air_histories]),
        vapour_fraction=columns([one.vapour_fraction for one in air_histories]),
        wall_K=columns([one.wall_K for one in air_histories]),
        view=columns([one.view for one in air_histories]),
        pressure_Pa=columns([one.pressure_Pa for one in air_histories]),
        film=film,
    )
    return replace(segments[0], air_history=air_history)


def _air_K(segments: Sequence[Segment], times_s: np.ndarray) -> np.ndarray:
    """Temperature of the air in all columns at times [K], shape (t, columns)."""
    air = np.empty((times_s.size, segments[0].air_history.temperature_K.shape[1]))
    for segment in segments:
        here = times_s >= float(np.max(segment.start_s))
        since = times_s[here] - float(np.max(segment.start_s))
        for column, fitted_run in enumerate(segment.air_history.temperature_K.T):
            air[here, column] = np.interp(since, segment.air_history.time_s, fitted_run)
    return air


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
