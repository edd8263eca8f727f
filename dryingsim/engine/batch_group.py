"""Batches that differ in numbers alone, each run by its own schedule: the slices of all of them in one ensemble.

All batches of a group go through the same stages, each at its own times: a stage may end where the slices of the batch
meet a condition. Where no stage has one, the meat is taken out when it is done, as long as that is in the last stage.
In an appliance the loaded appliances are run side by side first, and the slices then lie in the air of their own. A
thermostat counts with the mean of its cycle.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import partial
from typing import Any

import numpy as np

from dryingsim.batch.learned import moved
from dryingsim.batch.schema import Batch, Form, Until
from dryingsim.engine.air_history import AirHistory, ApplianceAirHistory
from dryingsim.engine.appliance_ensemble import endings, run_appliances
from dryingsim.engine.appliance_system import ApplianceSystem, build_of
from dryingsim.engine.ensemble import Numbers, Request, run_ensemble
from dryingsim.engine.executors import Workers, results_of_calls
from dryingsim.engine.segments import Segment
from dryingsim.engine.slices import Slices, slabs_of, slices_of_batches
from dryingsim.engine.views import down_to
from dryingsim.errors import InputError
from dryingsim.judge.exposed import drier_by
from dryingsim.model.conditions import Limits, weight_lost

_BY_RESISTANCE: tuple[Form, ...] = ("sliced", "minced", "pounded")  # what bacteria outlast most, last
SIDE_BY_SIDE = 64  # appliances run at once: their arrays fit a core's cache
_CLOSE_S, _FINER = 60.0, 0.02  # notes lie a minute apart at first, later this share of the time
_FIRST_NOTE_S, _CLOSE_NOTES = 1.0, 800  # in liquid, in steam and at rest: 1.5 % of the time apart


@dataclass(frozen=True)
class BatchGroup:
    """`p` batches of one group (see `groups_of`), and factors that are in no batch.

    Attributes
    ----------
    batches : list of Batch
    diffusivity, film : ndarray, shape (p,)
        Multiply the diffusivity and the film coefficients.
    moisture_db : ndarray, shape (p,), or None
        Of the slices when laid on the trays [kg/kg]; None: as the recipe gives it.
    """

    batches: list[Batch]
    diffusivity: np.ndarray
    film: np.ndarray
    moisture_db: np.ndarray | None = None

    @classmethod
    def as_meant(cls, batches: list[Batch]) -> "BatchGroup":
        """Return batches without any factors."""
        return cls(batches, np.ones(len(batches)), np.ones(len(batches)))

    def take(self, which: Sequence[int]) -> "BatchGroup":
        """Return some of them."""
        index = np.asarray(which, dtype=np.intp)
        moisture = None if self.moisture_db is None else self.moisture_db[index]
        batches = [self.batches[i] for i in which]
        return BatchGroup(batches, self.diffusivity[index], self.film[index], moisture)

    def slices(self, trays: int, nodes: int) -> Slices:
        """Return the slices of all batches, see `slices_of_batches`.

        Parameters
        ----------
        trays : int
            That each batch is laid on.
        nodes : int
            Across a slice.
        """
        return slices_of_batches(
            self.batches,
            trays,
            nodes,
            diffusivity=self.diffusivity,
            film=self.film,
            moisture_db=self.moisture_db,
        )


@dataclass(frozen=True)
class ScheduledSlices:
    """The slices of a group, and what they go through.

    Attributes
    ----------
    slices : Slices
        Those of a batch one after the other.
    segments : tuple of Segment
        Where slices are followed beyond the schedule, the last is not `lethal`.
    ends_s : ndarray, shape (p,)
        When the schedule of each batch ends [s].
    """

    slices: Slices
    segments: tuple[Segment, ...]
    ends_s: np.ndarray


def groups_of(batches: Sequence[Batch]) -> tuple[list[list[int]], list[str]]:
    """Return the indices of batches that can be run as a group; and what is wrong with those that do not fit."""
    groups: dict[tuple[Any, ...], list[int]] = {}
    problems: list[str] = []
    loaded = [batch for batch in batches if batch.appliance is not None]
    slabs = iter(slabs_of(loaded, 3)[0] if loaded else ())
    for index, batch in enumerate(batches):
        meat = (
            batch.meat.temperature_K,
            batch.meat.form,
            batch.targets,
            len(batch.meat.classes),
            batch.components,
        )
        try:
            kind = _schedule(batch) if batch.appliance is None else build_of(batch, next(slabs))
        except InputError as error:
            if str(error) not in problems:
                problems.append(str(error))
            continue
        groups.setdefault((*meat, *kind), []).append(index)
    return list(groups.values()), problems


def _schedule(batch: Batch) -> tuple[Any, ...]:
    """Return what must be the same of batches in given air."""
    return tuple(
        (stage.kind, stage.turn, stage.until is None, stage.air_end and stage.duration_s)
        for stage in batch.stages
    )


def note_times(longest_s: float) -> np.ndarray:
    """Times of notes up to the longest [s], even at first, then a constant share of the time apart."""
    early = np.arange(0.0, min(_CLOSE_S / _FINER, longest_s), _CLOSE_S)
    begin = early[-1] + _CLOSE_S
    count = int(np.ceil(np.log(max(longest_s / begin, 1.0)) / _FINER)) + 1
    late = np.geomspace(begin, longest_s, count) if longest_s > begin else [longest_s]
    return np.concatenate([early, late])


def scheduled(
    group: BatchGroup, *, nodes: int, longest_s: float, tolerance: float, executor: Workers = None
) -> ScheduledSlices:
    """Find the air of the slices of a group, and when the stages of each batch end.

    Parameters
    ----------
    group : BatchGroup
    nodes : int
        Across a slice.
    longest_s : float
        How long a stage without a duration lasts at most [s].
    tolerance : float
        Of the steps of slices that are run to see when they meet a condition, see `Request`.
    executor
        See `executors.each`. The result does not depend on it.
    """
    if group.batches[0].appliance is None:
        return _in_given_air(group, nodes, longest_s, tolerance, executor)
    return _in_appliances(group, nodes, longest_s, executor)


def _last_that_dries(batches: Sequence[Batch], untils: Sequence[Sequence[Until | None]]) -> int:
    """Index of the stage that counts last for how dry slices get.

    The last in drying air, whatever ends it; before it, one at whose end all are dry, as what follows is a finish then.
    """
    drying = [i for i, stage in enumerate(batches[0].stages) if stage.dries]
    if any(untils[drying[-1]]):
        return drying[-1]
    target = batches[0].targets.water_activity  # of all
    dry = [
        i
        for i in drying
        if all(until and until.water_activity and until.water_activity <= target for until in untils[i])
    ]
    return dry[-1] if dry else drying[-1]


def _longest(group: BatchGroup, stage: int, longest_s: float) -> np.ndarray:
    return np.array([batch.stages[stage].duration_s or longest_s for batch in group.batches])


def _in_given_air(
    group: BatchGroup, nodes: int, longest_s: float, tolerance: float, executor: Workers
) -> ScheduledSlices:
    """A stage that may end by a condition is run to its limit first, to see when that is met."""
    slices = group.slices(1, nodes)
    untils, taken_out = endings(group.batches)
    last = _last_that_dries(group.batches, untils)
    segments: list[Segment] = []
    rest: list[Segment] = []
    start = np.zeros(len(group.batches))
    for i, row in enumerate(untils):
        limit, turn = start + _longest(group, i, longest_s), group.batches[0].stages[i].turn
        air = AirHistory.given(group.batches, i)
        segment = Segment(start, limit, air, len(segments) - 1, turn, dries=i <= last, lethal=True)
        segment = segment.of_stage(group.batches[0], i)
        end = limit
        if any(row):
            trial = ScheduledSlices(slices, (*segments, segment), limit)
            met = _condition_met(group.batches, trial, row, tolerance, executor)
            # the end of a schedule without conditions is no condition: what is done before it goes through it
            end = np.where((met <= start) & taken_out, limit, np.clip(met, start, limit))
        segments.append(replace(segment, end_s=end))
        if i == last and np.any(end < limit):
            after = len(segments) - 1
            rest = [replace(segment, start_s=end, after=after, turn=False, lethal=False, since_s=start)]
        start = end
    return ScheduledSlices(slices, (*segments, *rest), start)


def _condition_met(
    batches: Sequence[Batch],
    trial: ScheduledSlices,
    untils: Sequence[Until | None],
    tolerance: float,
    executor: Workers,
) -> np.ndarray:
    """When each batch meets the first condition of the trial's last segment [s]; infinite where it does not."""
    count, begun_s = len(batches), float(np.min(trial.segments[-1].start_s))
    span = max(float(np.max(trial.ends_s)) - begun_s, 2.0 * _FIRST_NOTE_S)
    # what is put into hot liquid is through within a minute; a hot finish lasts some minutes, hours after the start
    close = np.geomspace(_FIRST_NOTE_S, span, _CLOSE_NOTES) if trial.segments[-1].beside else note_times(span)
    times = np.unique(np.concatenate([[0.0, begun_s], begun_s + close]))
    request = Request(temperature_K=batches[0].meat.temperature_K, times_s=times, tolerance=tolerance)
    numbers = run_ensemble(trial.slices, trial.segments, request, executor=executor)

    def by_slice(values: np.ndarray) -> np.ndarray:
        return np.moveaxis(values.reshape(*values.shape[:-1], count, -1), -1, 0)  # (slices, ..., batches)

    # slices of a class are as many as its share of the weight laid on asks for
    laid_on_db = by_slice(trial.slices.slabs.initial_moisture_db)
    share = np.array([[cut.share for cut in batch.meat.classes] for batch in batches]).T
    moisture = by_slice(numbers["series_moisture_db"])
    lost = weight_lost((share / (1.0 + laid_on_db))[:, None], laid_on_db[:, None], moisture)
    coldest = by_slice(numbers["series_core_K"]).min(axis=0)
    wettest = by_slice(numbers["series_water_activity"]).max(axis=0)
    missing = -Limits.of(untils).margins(
        lost, coldest, wettest
    )  # (3, times, batches): infinite if not asked for
    begun = np.broadcast_to(trial.segments[-1].start_s, (count,))
    met = np.full(count, np.inf)
    for p in range(count):
        within = times >= begun[p]
        for condition in missing[:, within, p]:
            if not np.isinf(condition).any():
                met[p] = min(met[p], down_to(times[within], condition[:, None], 0.0)[0])
    return met


def _in_appliances(group: BatchGroup, nodes: int, longest_s: float, executor: Workers) -> ScheduledSlices:
    """Appliances are run side by side first, which also tells when their stages end."""
    count = len(group.batches)
    batches = [
        moved(batch, film=factor) for batch, factor in zip(group.batches, group.film.tolist(), strict=True)
    ]
    group = replace(group, batches=batches, film=np.ones(count))  # their films are those of the appliance
    airs = _airs(group, nodes, longest_s, executor)
    appliances = ApplianceSystem(batches, 3, 1e-3, np.ones(count))
    trays = appliances.load.trays
    untils, _ = endings(batches)
    last = _last_that_dries(group.batches, untils)
    segments: list[Segment] = []
    rest: list[Segment] = []
    start = np.zeros(count)
    for i in range(len(untils)):
        end = np.array([air.stage_end_s[i] for air in airs])
        if batches[0].stages[i].dries:
            appliances.begin(appliances.merged_stage(i), 0.0)
            air_history = AirHistory.in_appliances(appliances, airs, start, end)
        else:
            air_history = AirHistory.given(batches, i).repeated(trays)
        begun, ended = np.repeat(start, trays), np.repeat(end, trays)
        after, turn = len(segments) - 1, batches[0].stages[i].turn
        segment = Segment(begun, ended, air_history, after, turn, dries=i <= last, lethal=True)
        segments.append(segment.of_stage(batches[0], i))
        limit = start + _longest(group, i, longest_s)
        if i == last and np.any(end < limit):
            still, limit = AirHistory.in_appliances(appliances, airs, end, end), np.repeat(limit, trays)
            rest = [Segment(ended, limit, still, len(segments) - 1, False, dries=True, lethal=False)]
        start = end
    return ScheduledSlices(group.slices(trays, nodes), (*segments, *rest), start)


def _airs(group: BatchGroup, nodes: int, longest_s: float, executor: Workers) -> list[ApplianceAirHistory]:
    """Air of the appliances of a group, so many of them at once as is fastest."""
    parts = [slice(i, i + SIDE_BY_SIDE) for i in range(0, len(group.batches), SIDE_BY_SIDE)]
    calls = [
        partial(
            run_appliances,
            group.batches[part],
            diffusivity_factor=group.diffusivity[part],
            longest_s=longest_s,
            nodes=nodes,
            taken_out=True,
        )
        for part in parts
    ]
    return [air for airs in results_of_calls(calls, executor) for air in airs]


def run_group(
    group: BatchGroup,
    *,
    organism: str | None,
    levels: tuple[float, ...],
    nodes: int,
    tolerance: float,
    longest_s: float,
    executor: Workers = None,
) -> tuple[Numbers, np.ndarray]:
    """Run all slices of a group.

    Parameters
    ----------
    group : BatchGroup
    organism, levels, tolerance
        See `Request`.
    nodes : int
        Across a slice.
    longest_s : float
        How long a stage without a duration lasts at most [s].
    executor
        See `executors.each`. The result does not depend on it.

    Returns
    -------
    tuple
        What `ensemble.work` returns, the slices of a batch one after the other; when the schedule of each batch ends [s].
    """
    laid = scheduled(group, nodes=nodes, longest_s=longest_s, tolerance=tolerance, executor=executor)
    request = Request(
        temperature_K=group.batches[0].meat.temperature_K,
        times_s=note_times(float(max(np.max(segment.end_s) for segment in laid.segments))),
        levels=levels,
        organism=organism,
        form=max((batch.meat.form for batch in group.batches), key=_BY_RESISTANCE.index),
        activity_error=max(drier_by(batch) for batch in group.batches),
        series=False,
        tolerance=tolerance,
    )
    return run_ensemble(laid.slices, laid.segments, request, executor=executor), laid.ends_s
