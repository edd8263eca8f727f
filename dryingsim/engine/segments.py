"""A schedule by the clock, and the air of each of its parts: what many slices need in place of a batch that reacts.

A part (`Segment`) goes on from the end of another, so two futures can share a past: the batch taken out on time, and the
same batch left in to see when its last slices would have been done. Its air is that of columns (`air_history`).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.engine.air_history import AirHistory, ApplianceAirHistory
from dryingsim.history import History
from dryingsim.judge.done_window import dry_in
from dryingsim.model.faces import AirAtSlabs
from dryingsim.model.surroundings import ApplianceSurroundings

# how long slices are left in to see when they are done: at most, and by how many times the time planned
_LONGEST_S, _LONGER = 24 * 3600.0, 2.5


@dataclass(frozen=True)
class Segment:
    """A part of the schedule in one setting.

    Attributes
    ----------
    start_s, end_s : float, or ndarray, shape (c,)
        The same for all columns, or for each its own.
    air_history : AirHistory
    after : int
        Index of the segment at whose end it begins; -1: when the slices are laid on the trays.
    turn : bool
        The slices are turned over first.
    dries, lethal : bool
        Whether it counts for how dry the slices get, and for what happens to bacteria.
    since_s : float, or ndarray, shape (c,), or None
        When the time of the air history begins [s]; None: at the segment's start.
    beside : bool
        The slices are not in drying air; juice drips off hot meat at the end.
    before : bool
        Of what comes before drying where that heats the slices.
    """

    start_s: float | np.ndarray
    end_s: float | np.ndarray
    air_history: AirHistory
    after: int
    turn: bool
    dries: bool
    lethal: bool
    since_s: float | np.ndarray | None = None
    beside: bool = False
    before: bool = False

    def of_stage(self, batch: Batch, stage: int) -> "Segment":
        """Return it marked by what kind of stage it is part of.

        Parameters
        ----------
        batch : Batch
        stage : int
            Its index.
        """
        before = batch.heated_first and stage < batch.first_drying
        return replace(self, beside=not batch.stages[stage].dries, before=before)

    def span(self, column: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Start and end for slices of some columns [s]."""
        shape = (self.air_history.columns,)
        start, end = (np.broadcast_to(time, shape)[column] for time in (self.start_s, self.end_s))
        return start, end

    def since(self, column: np.ndarray) -> np.ndarray:
        """When the time of the air history begins for slices of some columns [s]."""
        begun = self.start_s if self.since_s is None else self.since_s
        return np.broadcast_to(begun, (self.air_history.columns,))[column]


class SliceAir:
    """The air of a segment at slices; what `SlabSystem` asks of its surroundings.

    Parameters
    ----------
    segment : Segment
    column : ndarray of int, shape (m,)
        Of the segment's air, for each slice.
    film_factor : ndarray, shape (m,)
        Multiplies the film coefficients.
    """

    def __init__(self, segment: Segment, column: np.ndarray, film_factor: np.ndarray) -> None:
        air_history = segment.air_history
        self._film = air_history.film_of(column, film_factor)
        self._air_history, self._column, self._view = air_history, column, air_history.view[:, column]
        self._since, self._pressure = segment.since(column), air_history.pressure_Pa[column]
        self._steady = air_history.time_s.size == 1
        self._last: tuple[np.ndarray, AirAtSlabs] | None = None

    def at(self, t: np.ndarray) -> AirAtSlabs:
        """Air at each slice's own time [s], shape (m,); the same object for the same array."""
        if self._last is not None and (self._steady or self._last[0] is t):
            return self._last[1]
        temperature, fraction, wall = self._air_history.at(t - self._since, self._column)
        air = AirAtSlabs(temperature, fraction, wall, self._view, self._pressure, self._film)
        self._last = t, air
        return air


@dataclass(frozen=True)
class Clock:
    """When each stage ends; and, where one ends by a condition, how long it may go on to see more slices done.

    Attributes
    ----------
    ends_s : tuple of float
    stage : int or None
        Beyond which slices are followed, see `clock_of`.
    longer_s : float
        When it would end at the latest; the last end where there is none.
    """

    ends_s: tuple[float, ...]
    stage: int | None
    longer_s: float

    def segment(
        self, stage: int, start_s: float, end_s: float, air_history: AirHistory, after: int, *, turn: bool
    ) -> Segment:
        """Return a part of a stage.

        Parameters
        ----------
        stage : int
            Its index.
        start_s, end_s : float
            Of the part [s].
        air_history : AirHistory
        after, turn
            See `Segment`.
        """
        dries = self.stage is None or stage <= self.stage
        return Segment(start_s, end_s, air_history, after, turn, dries=dries, lethal=True)

    def goes_on(self, stage: int) -> bool:
        """Whether slices are followed beyond the end of a stage."""
        return stage == self.stage and self.longer_s > self.ends_s[stage]


def clock_of(history: History) -> Clock:
    """Read the clock off a run of the batch as it is meant.

    Slices are followed beyond the stage in which the batch gets dry (if it does not, the longest), if a condition ends that:
    not beyond a hot start that ends by a condition of its own, for the drying is yet to come.
    """
    ends, stages = tuple(float(end) for end in history.stage_end_s), history.batch.stages
    last = dry_in(history, history.batch.targets.water_activity)
    if last is None:
        lasted = np.diff(ends, prepend=0.0)
        last = max((i for i, stage in enumerate(stages) if stage.dries), key=lambda i: lasted[i])
    if stages[last].until is None or not stages[last].dries:
        return Clock(ends, None, ends[-1])
    begin = ends[last - 1] if last else 0.0
    most = stages[last].duration_s or _LONGEST_S
    longer = begin + min(most, max(_LONGER * (ends[last] - begin), ends[last] - begin))
    return Clock(ends, last, max(longer, ends[last]))


def by_the_clock(batch: Batch, clock: Clock) -> Batch:
    """Return the batch with every stage ended by the clock alone.

    Parameters
    ----------
    batch : Batch
    clock : Clock
        Of a run of it; a stage that takes no time is left out.
    """
    starts = (0.0, *clock.ends_s[:-1])
    stages = tuple(
        replace(stage, duration_s=end - start, until=None)
        for stage, start, end in zip(batch.stages, starts, clock.ends_s, strict=True)
        if end > start
    )
    return replace(batch, stages=stages)


def segments_in_given_air(batches: Sequence[Batch], clock: Clock) -> tuple[Segment, ...]:
    """Return the segments of batches that differ in their air only.

    Parameters
    ----------
    batches : sequence of Batch
        One column for each.
    clock : Clock
        That all of them go by.
    """
    segments: list[Segment] = []
    longer: Segment | None = None
    start = 0.0
    for i, end in enumerate(clock.ends_s):
        air_history, turn = AirHistory.given(batches, i), batches[0].stages[i].turn
        if end > start:
            segment = clock.segment(i, start, end, air_history, len(segments) - 1, turn=turn)
            segments.append(segment.of_stage(batches[0], i))
        if clock.goes_on(i):
            longer = _goes_on(clock, air_history, segments, since_s=start)
        start = end
    return (*segments, longer) if longer else tuple(segments)


def _goes_on(
    clock: Clock, air_history: AirHistory, segments: Sequence[Segment], since_s: float | None = None
) -> Segment:
    """Return what follows the last segment where the slices are left in longer."""
    assert clock.stage is not None
    return Segment(
        start_s=clock.ends_s[clock.stage],
        end_s=clock.longer_s,
        air_history=air_history,
        after=len(segments) - 1,
        turn=False,
        dries=True,
        lethal=False,
        since_s=since_s,
    )


def segments_in_appliance(
    batch: Batch, clock: Clock, airs: Sequence[ApplianceAirHistory], shares: np.ndarray
) -> tuple[Segment, ...]:
    """Return the segments in the air of a loaded appliance, put together from runs of it.

    Parameters
    ----------
    batch : Batch
        By the clock.
    clock : Clock
    airs : sequence of ApplianceAirHistory
        Of the batch as it is meant, then with one thing off in each.
    shares : ndarray, shape (airs - 1, b)
        How much of the difference that each makes is in the air of every batch drawn.

    Returns
    -------
    tuple of Segment
        Column `b * trays + tray`. Left in longer, slices stay in the air of the moment.
    """
    stage_of = [i for i, (a, b) in enumerate(zip((0.0, *clock.ends_s), clock.ends_s, strict=False)) if b > a]
    surroundings = ApplianceSurroundings(batch, 3, 1e-3)
    rotations = np.arange(1, 10_000) * (batch.rotate_every_s or np.inf)
    segments: list[Segment] = []
    longer: Segment | None = None
    start = 0.0
    for number, (stage, index) in enumerate(zip(batch.stages, stage_of, strict=True)):
        end = clock.ends_s[index]
        if not stage.dries:
            still = AirHistory.given([batch], number).repeated(shares.shape[1] * surroundings.load.trays)
            segment = clock.segment(index, start, end, still, len(segments) - 1, turn=False)
            segments.append(segment.of_stage(batch, number))
            start = end
            continue
        surroundings.begin(stage, start)
        turn = stage.turn
        for stop in (*(float(t) for t in rotations[rotations < end] if t > start + 1.0), end):
            air_history = AirHistory.put_together(surroundings, airs, shares, start, stop)
            segments.append(clock.segment(index, start, stop, air_history, len(segments) - 1, turn=turn))
            start, turn = stop, False
            if stop != end:
                surroundings.rotate()
        if clock.goes_on(index):
            longer = _goes_on(clock, AirHistory.put_together(surroundings, airs, shares, end, end), segments)
    return (*segments, longer) if longer else tuple(segments)


def segments_in_appliances(
    batches: Sequence[Batch], clock: Clock, airs: Sequence[ApplianceAirHistory]
) -> tuple[Segment, ...]:
    """Return the segments of batches of one build that go by the same clock, each in air of its own.

    Parameters
    ----------
    batches : sequence of Batch
        By the clock.
    clock : Clock
    airs : sequence of ApplianceAirHistory
        Of their appliances.

    Returns
    -------
    tuple of Segment
        Column `batch * trays + tray`.
    """
    alone = [
        segments_in_appliance(batch, clock, [air], np.zeros((0, 1)))
        for batch, air in zip(batches, airs, strict=True)
    ]
    return tuple(
        replace(same[0], air_history=AirHistory.side_by_side([segment.air_history for segment in same]))
        for same in zip(*alone, strict=True)
    )


def air_over_time(segments: Sequence[Segment], times_s: np.ndarray) -> np.ndarray:
    """Temperature [K] and mole fraction of vapour [-] of the air in all columns, shape (2, t, c).

    Parameters
    ----------
    segments : sequence of Segment
        One after the other, each at the same time for all columns.
    times_s : ndarray, shape (t,)
    """
    air = np.empty((2, times_s.size, segments[0].air_history.columns))
    for segment in segments:
        history, start = segment.air_history, float(np.max(segment.start_s))
        here = times_s >= start
        for series, values in zip(air, (history.temperature_K, history.vapour_fraction), strict=True):
            for column in range(history.columns):
                series[here, column] = np.interp(times_s[here] - start, history.time_s, values[:, column])
    return air
