"""Thousands of slices at once, each in air that is given: chunk by chunk, on any executor.

Within a chunk every slice takes steps of its own (`kernels.own_steps`), so its numbers are the same to the last bit in
whatever chunk it is, on however many workers, as long as these compute alike: processors of one kind do. Others round
exponentials, and the air of appliances by their BLAS, otherwise: mostly by some 1e-11 of a number, but where a step is now
refused that was taken, by what a step may err. A chunk is a pure function of its `Task`. What comes of it are numbers per
slice, reduced while it runs: times at which water activities are reached, the log reduction of one organism, the balances;
and, if asked for, some series over time.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from typing import Any

import numpy as np

from dryingsim.batch.schema import Form
from dryingsim.engine.executors import Workers, results_of, workers_of
from dryingsim.engine.log_reduction import LogReduction, Samples
from dryingsim.engine.segment_ends import reductions_at_ends, states_at_ends
from dryingsim.engine.segments import Segment, SliceAir
from dryingsim.engine.slices import Slices
from dryingsim.engine.views import View, down_to
from dryingsim.judge.exposed import MATRIX
from dryingsim.kernels.blocks import BlockElimination
from dryingsim.kernels.own_steps import Along, OwnSteps, Sweep, within
from dryingsim.model.balances import slab_exchange
from dryingsim.model.system import SlabSystem
from dryingsim.properties.water_activity import REFERENCE_TEMPERATURE, UNCERTAINTY

CHUNK = 3072  # slices, at most, long enough to hide numpy's overhead in arrays that still fit a large cache; measured
_FEWEST = 512  # slices in a chunk made smaller for the sake of another worker
_MANY = 4  # chunks for each worker: of so many, one more or less on some of them is nothing
TOLERANCE = 1e-3  # of the steps: error below 5e-4 kg/kg in mean moisture, see validation.benchmarks
_LANES = 8  # a chunk is filled up to a multiple, so no slice is ever in the odd end of a vector operation
_CROWDED = 0.75  # slices that have arrived are put aside when fewer than this share are still on their way
_FIRST_S, _GOING_ON_S = 0.05, 30.0  # step to try first in a segment; in one that goes on in the same air
_IN_LIQUID_S, _OUT_OF_LIQUID_S = 0.01, 0.03  # step to try first [s]: in liquid; in air after it; measured
_NONE = -1

Numbers = dict[str, np.ndarray]  # by name; slices on the last axis
# temperature [K], water activity and that for heat where bacteria sit, (places, m) each
Seen = tuple[np.ndarray, np.ndarray, np.ndarray]


@dataclass(frozen=True, kw_only=True)
class Request:
    """What is wanted of every slice.

    Attributes
    ----------
    temperature_K : float
        Of the slices when they are laid on the trays.
    times_s : ndarray, shape (t,)
        When states are noted.
    levels : tuple of float
        Water activities, evened out, whose time is wanted.
    organism : str or None
        Whose log reduction is wanted.
    form : str
        Of the meat: on intact muscle bacteria sit at the faces only, else in the middle too.
    activity_error : float
        Of the water activity, by which heat is counted at the drier side [-].
    series : bool
        Whether the states at `times_s` are wanted.
    places : bool
        Whether temperature and water activity at both faces and in the middle are wanted at `times_s`.
    at_ends : bool
        Whether the state at the end of each segment is wanted.
    judged_ends : tuple of int
        Segments at whose ends the log reduction of every organism is wanted.
    tolerance : float
        As of `dryingsim.run`; much looser by default, see `TOLERANCE`.
    """

    temperature_K: float
    times_s: np.ndarray
    levels: tuple[float, ...] = ()
    organism: str | None = None
    form: Form = "sliced"
    activity_error: float = UNCERTAINTY
    series: bool = True
    places: bool = False
    at_ends: bool = False
    judged_ends: tuple[int, ...] = ()
    tolerance: float = TOLERANCE


@dataclass(frozen=True)
class Task:
    """A chunk of work: its `slices`, the `segments` they go through, and the `request` for what is wanted of them."""

    slices: Slices
    segments: tuple[Segment, ...]
    request: Request


def tasks(
    slices: Slices, segments: tuple[Segment, ...], request: Request, *, chunk: int = CHUNK, workers: int = 2
) -> list[Task]:
    """Divide the slices into chunks, all about as large, so that every worker has as many to do.

    Where they are many, the chunks are the same for any number of workers, but that they are even in number.

    Parameters
    ----------
    slices : Slices
    segments : tuple of Segment
    request : Request
    chunk : int
        Slices in a chunk, at most.
    workers : int
        That share the work, as far as is known.
    """
    count = max(-(-len(slices) // chunk), min(workers, len(slices) // _FEWEST))
    if count >= workers:
        count += -count % (workers if count < _MANY * workers else 2)
    size = min(_LANES * -(-len(slices) // (count * _LANES)), chunk)
    parts = [slice(i, i + size) for i in range(0, len(slices), size)]
    return [Task(slices.take(part), segments, request) for part in parts]


def work(task: Task) -> Numbers:
    """Do a chunk.

    Returns
    -------
    dict of ndarray, slices on the last axis
        moisture_db : mean moisture at the end of the last segment that dries [kg/kg].
        done_s : time at which each of `Request.levels` is reached [s], shape (levels, m); infinite where it is not.
        peak_K : the highest temperature of the coldest of core and faces [K].
        lower, best : log10 reduction at the least-reduced of the places: lower 95 % bound, best estimate; if asked for.
        steps : number of steps taken.
        water_closure, energy_closure : relative miss of the balances over the longest way through the segments.
        series_moisture_db, series_water_activity, series_core_K, series_face_K : if asked for, shape (t, m): mean
        moisture, that water activity evened out, temperature of the core and of the colder face [K]; not a number
        after the last segment that dries.
        places_K, places_activity : if asked for, shape (3, t, m): at the lower face, in the middle, at the upper face.
        ends_moisture_db, ends_K : if asked for, shape (segments, nodes, m): of every node at the end of each segment.
        ends_lower, ends_best : if asked for, shape (judged segments, organisms, m): as `lower` and `best` of every organism, in
        the order of the catalog.
    """
    m = len(task.slices)
    filled = np.minimum(np.arange(-(-m // _LANES) * _LANES), m - 1)
    with np.errstate(all="ignore"):  # where a trial state is wild the error tells, and the step is refused
        numbers = _Chunk(replace(task, slices=task.slices.take(filled))).numbers()
    return {name: values[..., :m] for name, values in numbers.items()}


class _Chunk:
    """A chunk and what is noted of it while it goes through the segments; arrays of all its slices."""

    def __init__(self, task: Task) -> None:
        self.task, self.request, slabs = task, task.request, task.slices.slabs
        self.m = len(task.slices)
        self.view = View(slabs, 2 if task.request.form == "sliced" else 3)
        self.system = SlabSystem(slabs, None, self.request.tolerance)
        self.start = self.system.initial(slabs.initial_moisture_db, self.request.temperature_K).reshape(
            -1, self.m
        )
        self.raw_activity = self.view.places(self.start, slabs)[1]
        self.steps, self.peak = np.zeros(self.m, dtype=int), np.zeros(self.m)
        self.ready_db, self.left = task.slices.ready_moisture(), np.zeros(self.m, dtype=bool)
        # mean moisture, core and colder face; not a number where a slice is no longer followed
        self.notes = np.full((3, self.request.times_s.size, self.m), np.nan)
        self.notes[:, :1] = self.view.states(self.start, slabs)[:, None]
        self.at_places = np.full((6 if task.request.places else 0, self.request.times_s.size, self.m), np.nan)
        self.at_places[:, :1] = self.view.at_places(
            self.view.few(self.start), slabs, wanted=task.request.places
        )[:, None]
        self.ends = ends = list[tuple[np.ndarray, LogReduction | None]]()
        for segment in task.segments:
            ends.append(self._segment(segment, ends))
        dried = max(
            (i for i, segment in enumerate(task.segments) if segment.dries),
            key=lambda i: np.max(task.segments[i].end_s),
        )
        self.last = ends[dried][0]
        lethal = [i for i, segment in enumerate(task.segments) if segment.lethal]
        self.log_reduction = ends[lethal[-1]][1] if lethal else None

    def _segment(
        self, segment: Segment, ends: list[tuple[np.ndarray, LogReduction | None]]
    ) -> tuple[np.ndarray, LogReduction | None]:
        slabs = self.task.slices.slabs
        if segment.after == _NONE:
            y, log_reduction = self.start, None
            organism, form = self.request.organism, self.request.form
            if organism is not None:
                activity = self.view.places(y, slabs)[1]
                log_reduction = LogReduction.begun(
                    organism, MATRIX[form], activity, self.request.activity_error
                )
        else:
            y, log_reduction = ends[segment.after]
            if self.task.segments[segment.after].before and not segment.before and log_reduction is not None:
                log_reduction = log_reduction.heated(self.view.places(y, slabs)[1])
        if segment.turn:
            y = self.system.turned(y)
            log_reduction = log_reduction.turned() if log_reduction is not None else None
        y, log_reduction = _Trajectory(self, segment, y, log_reduction if segment.lethal else None).done()
        if segment.beside:
            start, end = segment.span(self.task.slices.column)
            self.system.drip(y.reshape(-1), end - start)
        return y, log_reduction

    def numbers(self) -> Numbers:
        """Return what was asked for."""
        slabs, system = self.task.slices.slabs, self.system
        exchange = slab_exchange(system.mass, *system.split(self.last - self.start))
        out = {
            "moisture_db": self.view.mean(self.last),
            "peak_K": self.peak,
            "steps": self.steps,
            "water_closure": exchange.water_closure,
            "energy_closure": exchange.energy_closure,
        }
        if self.log_reduction is not None:
            out |= self.log_reduction.numbers()
        moisture, core, face = self.notes
        noted, even = np.isfinite(moisture), np.full_like(moisture, REFERENCE_TEMPERATURE)
        activity = slabs.sorption.log_activity(np.where(noted, moisture, 1.0), even, slabs.recipe)
        activity = np.where(noted, np.exp(activity), np.nan)
        if self.request.levels:
            out["done_s"] = np.stack(
                [down_to(self.request.times_s, activity, level) for level in self.request.levels]
            )
        if self.request.series:
            names = ("series_moisture_db", "series_water_activity", "series_core_K", "series_face_K")
            out |= dict(zip(names, (moisture, activity, core, face), strict=True))
        if self.request.places:
            out |= {"places_K": self.at_places[:3], "places_activity": self.at_places[3:]}
        if self.request.at_ends:
            out |= states_at_ends(self.ends, slabs)
        if self.request.judged_ends:
            out |= reductions_at_ends(
                self.task.segments, self.ends, self.request.judged_ends, self.view, slabs
            )
        return out


class _Trajectory:
    """A chunk on its way through one segment. Slices that have arrived are put aside now and then."""

    def __init__(
        self, chunk: _Chunk, segment: Segment, y: np.ndarray, log_reduction: LogReduction | None
    ) -> None:
        self.chunk, self.segment = chunk, segment
        self.index = np.arange(chunk.m)
        self.slices = chunk.task.slices
        start, stop = segment.span(self.slices.column)
        seen = self._heated(y) if segment.before else chunk.view.places(y, self.slices.slabs)
        self.samples = (
            None if log_reduction is None else Samples(log_reduction, *seen, heating=segment.before)
        )
        self.end = np.empty_like(y)
        self.steps = OwnSteps(self._system(), start, stop, y, self._first_step())
        times = chunk.request.times_s
        self.next = np.searchsorted(times, start, side="right")  # note to be made next
        self.stop = np.searchsorted(times, stop, side="right") if segment.dries else np.zeros_like(self.next)

    def _first_step(self) -> float:
        """Step to try first [s]: about what is taken, as each that is refused costs as much as one that is."""
        segment = self.segment
        if not segment.lethal or segment.since_s is not None:
            return _GOING_ON_S
        if segment.beside:
            return _IN_LIQUID_S
        after_liquid = segment.after != _NONE and self.chunk.task.segments[segment.after].beside
        return _OUT_OF_LIQUID_S if after_liquid else _FIRST_S

    def _system(self) -> Any:
        air: Any = SliceAir(self.segment, self.slices.column, self.slices.film_factor)
        return SlabSystem(self.slices.slabs, air, self.chunk.request.tolerance, BlockElimination)

    def done(self) -> tuple[np.ndarray, LogReduction | None]:
        """Go to the end; return the states and the log reduction there."""
        while True:
            active = self.steps.active
            if not active.any():
                self._put_aside(~active)
                return self.end, None if self.samples is None else self.samples.added_up()
            if active.sum() <= _CROWDED * active.size:
                self._compress()
            self._watch(self.steps.sweep())

    def _compress(self) -> None:
        """Put aside those that have arrived; the rest is filled up with some of them to whole lanes."""
        active = self.steps.active
        keep = np.flatnonzero(active)
        spare = np.flatnonzero(~active)[: -keep.size % _LANES]
        if keep.size + spare.size == active.size:
            return
        self._put_aside(~active)
        which = np.sort(np.concatenate([keep, spare]))
        self.slices = self.slices.take(which)
        self.index, self.next, self.stop = self.index[which], self.next[which], self.stop[which]
        self.steps.keep(which, self._system())

    def _put_aside(self, which: np.ndarray) -> None:
        self.end[:, self.index[which]] = self.steps.y[:, which]

    def _watch(self, sweep: Sweep) -> None:
        chunk, view, slabs = self.chunk, self.chunk.view, self.slices.slabs
        chunk.steps[self.index] += sweep.taken
        few = sweep.along(view.few)
        self._note(sweep, few)
        if not self.segment.lethal:
            return
        share = self._share_in(sweep)
        half, taken = 0.5 * share, sweep.taken & (share > 0.0)
        end = within(few, share)
        if self.samples is not None:
            span = half * (sweep.t1 - sweep.t0)
            for seen in self._seen_in(sweep, few, half, end):
                self.samples.add(self.index, span, *seen, taken)
        peak, before = view.heat(end, slabs).min(axis=0), chunk.peak[self.index]
        chunk.peak[self.index] = np.where(taken, np.maximum(before, peak), before)

    def _share_in(self, sweep: Sweep) -> np.ndarray:
        """Return the share of a step for which each slice is on the trays, and note those that leave."""
        chunk, mean = self.chunk, self.chunk.view.mean
        ready, after = chunk.ready_db[self.index], mean(sweep.y1)
        left, leaves = chunk.left[self.index], sweep.taken & (after <= ready)
        share = np.where(left, 0.0, 1.0)
        if leaves.any():
            before = mean(sweep.y0)
            part = np.clip((before - ready) / np.where(before > after, before - after, 1.0), 0.0, 1.0)
            share = np.where(leaves & ~left, part, share)
            chunk.left[self.index] = left | leaves
        return share

    def _seen_in(self, sweep: Sweep, few: Along, half: np.ndarray, end: np.ndarray) -> Iterator[Seen]:
        """Yield what bacteria see half-way through a step, as far as it goes on the trays, and where that ends."""
        if self.segment.before:
            for y in (within(sweep.along(), 0.5), sweep.y1):
                yield self._heated(y)
        else:
            for seen in (within(few, half), end):
                yield self.chunk.view.sorbed(seen, self.slices.slabs)

    def _heated(self, y: np.ndarray) -> Seen:
        """Return what heats bacteria before drying: some way below intact faces, at the water activity of raw meat."""
        raw = self.chunk.raw_activity[:, self.index]
        return self.chunk.view.below(y, self.slices.slabs), raw, raw

    def _note(self, sweep: Sweep, few: Along) -> None:
        """Note the states of those that have passed the time of their next note, one note at a time."""
        times, view, slabs = self.chunk.request.times_s, self.chunk.view, self.slices.slabs
        mean: Along | None = None
        while True:
            due = sweep.taken & (self.next < self.stop)
            due &= times[np.minimum(self.next, times.size - 1)] <= sweep.t1
            if not due.any():
                return
            mean = mean or sweep.along(view.mean)
            s = (times[np.minimum(self.next, times.size - 1)] - sweep.t0) / (sweep.t1 - sweep.t0)
            seen = within(few, s)
            noted = np.concatenate([within(mean, s)[None], view.heat(seen, slabs)])
            self.chunk.notes[:, self.next[due], self.index[due]] = noted[:, due]
            there = view.at_places(seen, slabs, wanted=self.chunk.request.places)
            self.chunk.at_places[:, self.next[due], self.index[due]] = there[:, due]
            self.next = self.next + due


def joined(parts: Sequence[Numbers]) -> Numbers:
    """Join the numbers of chunks, in order."""
    return {name: np.concatenate([part[name] for part in parts], axis=-1) for name in parts[0]}


def run_ensemble(
    slices: Slices,
    segments: tuple[Segment, ...],
    request: Request,
    *,
    executor: Workers = None,
    chunk: int = CHUNK,
) -> Numbers:
    """Run all slices.

    Parameters
    ----------
    slices : Slices
    segments : tuple of Segment
        Of which every slice goes through all, each at the times of its column.
    request : Request
    executor
        See `executors.each`. The result does not depend on it.
    chunk : int
        Slices in a chunk, at most.

    Returns
    -------
    dict of ndarray, slices on the last axis
        As `work` returns them.
    """
    todo = tasks(slices, segments, request, chunk=chunk, workers=workers_of(executor))
    return joined(results_of(work, todo, executor))
