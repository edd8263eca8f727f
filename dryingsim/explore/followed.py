"""Slices at many settings, each followed at times of its own: its profiles, and what can be said of bacteria by then.

Every slice goes by its own clock: the times at which it is looked at are shares of the time until it is ready, so slices
that dry at very different speeds are looked at in like states, and between settings their profiles change little.
"""

from collections.abc import Sequence
from dataclasses import dataclass, fields, replace
from functools import partial

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.engine.air_history import AirHistory
from dryingsim.engine.batch_group import BatchGroup, scheduled
from dryingsim.engine.ensemble import TOLERANCE, Numbers, Request, run_ensemble
from dryingsim.engine.executors import Workers, results_of_calls
from dryingsim.engine.segments import Segment
from dryingsim.engine.slices import Slices
from dryingsim.errors import InputError
from dryingsim.explore.settings import LONGEST_S, as_set
from dryingsim.explore.verdicts_over_time import Seen, graded
from dryingsim.judge.exposed import drier_by
from dryingsim.judge.relied_air import as_relied_on
from dryingsim.kernels.grid import NODES_OF_MANY, node_shares
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE

_AT_ONCE = 105  # settings that go to a worker together
_SAME_ACTIVITY = 2e-3  # so near to the target a slice is ready: it was found from notes 2 % of the time apart


@dataclass(frozen=True)
class Followed:
    """What became of `p` slices, looked at `t` times each, judged at `j` of them; from the lower surface up, settings last.

    Attributes
    ----------
    ready_s : ndarray, shape (p,)
        From the start of drying until the water activity, evened out, is down to the target [s].
    moisture_db, temperature_K : ndarray, shape (t, nodes, p)
        [kg/kg], [K].
    grade : ndarray of int, shape (j, p)
        Index in `judge.grades.GRADES` of the worst grade of all organisms, of meat taken out then.
    organism : ndarray of int, shape (j, p)
        That has it: the one farthest below its target; by its place in the catalog.
    lower, best : ndarray, shape (j, p)
        Its log10 reduction: lower 95 % bound, less what the engine may be off, and best estimate.
    grown : ndarray of bool, shape (j, p)
        Whether bacteria may have multiplied so much that a judgement warns of it.
    """

    ready_s: np.ndarray
    moisture_db: np.ndarray
    temperature_K: np.ndarray
    grade: np.ndarray
    organism: np.ndarray
    lower: np.ndarray
    best: np.ndarray
    grown: np.ndarray


def follow(
    batch: Batch,
    settings: np.ndarray,
    progress: np.ndarray,
    judged: np.ndarray,
    executor: Workers = None,
) -> Followed:
    """Follow the slices of a batch at some settings.

    Parameters
    ----------
    batch : Batch
    settings : ndarray, shape (p, 4)
        As `settings.as_set` takes them.
    progress : ndarray, shape (t,)
        When to look, as shares of the time until ready, rising from 0 beyond 1 [-].
    judged : ndarray of int, shape (j,)
        At which of these looks to judge.
    executor
        See `engine.executors.each`. The result does not depend on it.
    """
    count = -(-len(settings) // _AT_ONCE)
    calls = [partial(_followed, batch, part, progress, judged) for part in np.array_split(settings, count)]
    parts: list[Followed] = results_of_calls(calls, executor)
    names = [field.name for field in fields(Followed)]
    return Followed(**{name: np.concatenate([getattr(p, name) for p in parts], axis=-1) for name in names})


def _followed(batch: Batch, settings: np.ndarray, progress: np.ndarray, judged: np.ndarray) -> Followed:
    group = BatchGroup.as_meant([as_set(batch, row) for row in settings.tolist()])
    laid = scheduled(group, nodes=NODES_OF_MANY, longest_s=LONGEST_S, tolerance=TOLERANCE)
    before, drying = laid.segments[: batch.first_drying], laid.segments[batch.first_drying]
    start = np.broadcast_to(np.asarray(drying.start_s, dtype=float), (len(settings),))
    ready = laid.ends_s - start
    ends = start + progress[1:, None] * ready
    laid_on = len(before)  # segments before, and the place of that look at which drying begins
    seen = _seen(group, laid.slices, (*before, *_chained(drying, laid_on, start, ends)), judged + laid_on)
    _check_ready(batch, laid.slices, seen.moisture_db[laid_on + int(np.searchsorted(progress, 1.0))])
    relied_on = BatchGroup.as_meant([as_relied_on(each) for each in group.batches])
    air = replace(drying, air_history=AirHistory.given(relied_on.batches, batch.first_drying))
    slices = relied_on.slices(1, NODES_OF_MANY)
    relied = _seen(relied_on, slices, (*before, *_chained(air, laid_on, start, ends)), judged + laid_on)
    verdicts = graded(group.batches[0], seen, relied)
    return Followed(
        ready_s=ready,
        moisture_db=seen.moisture_db[laid_on:],
        temperature_K=seen.temperature_K[laid_on:],
        grade=verdicts.grade,
        organism=verdicts.organism,
        lower=verdicts.lower,
        best=verdicts.best,
        grown=verdicts.grown,
    )


def _chained(drying: Segment, first: int, start: np.ndarray, ends: np.ndarray) -> list[Segment]:
    """Return the drying in parts, one after the other, each to the next time of a look; `first` is the place of the first."""
    begins = [start, *ends[:-1]]
    return [
        replace(
            drying, start_s=begin, end_s=end, after=first + i - 1, since_s=start if i else None, lethal=True
        )
        for i, (begin, end) in enumerate(zip(begins, ends, strict=True))
    ]


def _seen(group: BatchGroup, slices: Slices, segments: Sequence[Segment], judged: np.ndarray) -> Seen:
    """Run slices through segments, one after the other; return what is seen at the start (0) and at the end of each."""
    batch, slabs = group.batches[0], slices.slabs
    at_ends = judged[judged > 0] - 1
    request = Request(
        temperature_K=batch.meat.temperature_K,
        times_s=np.zeros(1),
        organism="salmonella",  # all are told of at the ends
        form=batch.meat.form,
        activity_error=drier_by(batch),
        series=False,
        at_ends=True,
        judged_ends=tuple(at_ends.tolist()),
    )
    numbers: Numbers = run_ensemble(slices, tuple(segments), request)
    shape = (1, slabs.nodes.size, len(slices))
    cold = np.full(shape, batch.meat.temperature_K)
    laid = np.broadcast_to(slabs.initial_moisture_db, shape)
    moisture = np.concatenate([laid, numbers["ends_moisture_db"]])
    temperature = np.concatenate([cold, numbers["ends_K"]])
    ends = [np.broadcast_to(np.asarray(segment.end_s, dtype=float), (len(slices),)) for segment in segments]
    nothing = np.zeros((judged.size - at_ends.size, *numbers["ends_lower"].shape[1:]))
    return Seen(
        time_s=np.stack([np.zeros(len(slices)), *ends]),
        moisture_db=moisture,
        temperature_K=temperature,
        judged=judged,
        water_activity=np.exp(slabs.sorption.log_activity(moisture, temperature, slabs.recipe)),
        lower=np.concatenate([nothing, numbers["ends_lower"]]),
        best=np.concatenate([nothing, numbers["ends_best"]]),
        height_m=slabs.nodes[:, None] * slabs.thickness(slabs.initial_moisture_db),
        lower_open=~slabs.covered,
    )


def _check_ready(batch: Batch, slices: Slices, moisture_db: np.ndarray) -> None:
    """Raise unless slices are down to the target where they were taken to be."""
    slabs = slices.slabs
    mean, even = node_shares(slabs.nodes) @ moisture_db, np.full(len(slices), REFERENCE_TEMPERATURE)
    activity = np.exp(slabs.sorption.log_activity(mean, even, slabs.recipe))
    if np.any(activity > batch.targets.water_activity + _SAME_ACTIVITY):
        raise InputError(
            f"{batch.name}: the slices do not get down to a water activity of {batch.targets.water_activity:g} in all air "
            "that can be set: a target that is less dry is expected"
        )
