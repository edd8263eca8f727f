"""A schedule by the clock, and the air of each of its parts: what many slices need in place of a batch that reacts.

A part (`Leg`) goes on from the end of another, so two futures can share a past: the batch taken out on time, and the
same batch left in to see when its last slices would have been done. The air is given for *columns*: one for every
batch drawn and every tray. A slice belongs to a column and does not act on it (the mean field: many slices share the
air, and each of them is too few to change it).
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from dryingsim.batch.learned import moved
from dryingsim.batch.schema import Batch
from dryingsim.engine.appliance_ensemble import ApplianceAirHistory
from dryingsim.history import History
from dryingsim.model.air import GivenAir, given_air
from dryingsim.model.chamber import BOTTOM_TRAY, FLOOR_VIEW, vapour_fraction
from dryingsim.model.faces import AirAtSlabs, Film
from dryingsim.model.surroundings import ApplianceSurroundings
from dryingsim.properties.diffusivity import LEAN_MEAT

_LONGEST_S, _LONGER = (
    24 * 3600.0,
    2.5,
)  # how long slices are left in to see when they are done: share of the time planned
_CLOSE_S, _FAR_S, _EARLY_S = (
    60.0,
    300.0,
    1800.0,
)  # the air of an appliance is noted so often, at first and later


@dataclass(frozen=True)
class AirHistory:
    """The air of `c` columns at `k` times; straight lines between, constant before and after.

    Attributes
    ----------
    time_s : ndarray, shape (k,)
        Since the segment's start.
    temperature_K, vapour_fraction : ndarray, shape (k, c)
    wall_K : ndarray, shape (k, 2, c)
    view : ndarray, shape (2, c)
    pressure_Pa : ndarray, shape (c,)
    film : Film
        Its arrays with c columns.
    """

    time_s: np.ndarray
    temperature_K: np.ndarray
    vapour_fraction: np.ndarray
    wall_K: np.ndarray
    view: np.ndarray
    pressure_Pa: np.ndarray
    film: Film


@dataclass(frozen=True)
class Segment:
    """A part of the schedule in one setting.

    Attributes
    ----------
    start_s, end_s : float, or ndarray, shape (c,)
        The same for all columns, or for each its own.
    track : Track
    after : int
        Index of the segment at whose end it begins; -1: when the slices are laid on the trays.
    turn : bool
        The slices are turned over first.
    dries, kills : bool
        Whether it counts for how dry the slices get, and for what happens to bacteria.
    since_s : float, or ndarray, shape (c,), or None
        When the track's time begins [s]; None: at the segment's start.
    """

    start_s: float | np.ndarray
    end_s: float | np.ndarray
    air_history: AirHistory
    after: int
    turn: bool
    dries: bool
    lethal: bool
    since_s: float | np.ndarray | None = None

    def span(self, column: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """Start and end for members of some columns [s]."""
        shape = (self.air_history.view.shape[1],)
        start, end = (np.broadcast_to(time, shape)[column] for time in (self.start_s, self.end_s))
        return start, end

    def since(self, column: np.ndarray) -> np.ndarray:
        """When the track's time begins for members of some columns [s]."""
        begun = self.start_s if self.since_s is None else self.since_s
        return np.broadcast_to(begun, (self.air_history.view.shape[1],))[column]


class SliceAir:
    """The air of a segment at members that belong to columns; what `SlabSystem` asks of its surroundings."""

    def __init__(self, segment: Segment, column: np.ndarray, film_factor: np.ndarray) -> None:
        air_history, film = segment.air_history, segment.air_history.film
        carrying = film.carrying
        self._film = Film(
            forced=film.forced[:, column] * film_factor,
            natural=film.natural[column] * film_factor,
            mass_factor=film.mass_factor[column],
            carrying=None if carrying is None else (carrying[0][column], carrying[1][column]),
        )
        self._air_history, self._column, self._view = air_history, column, air_history.view[:, column]
        self._since, self._pressure = segment.since(column), air_history.pressure_Pa[column]
        self._kept: tuple[np.ndarray, AirAtSlabs] | None = None

    def at(self, t: np.ndarray) -> AirAtSlabs:
        """Air at each member's own time [s], shape (m,); the same object for the same array."""
        air_history, last = self._air_history, self._air_history.time_s.size - 1
        if self._kept is not None and (last == 0 or self._kept[0] is t):
            return self._kept[1]
        place = np.interp(
            t - self._since, air_history.time_s, np.arange(last + 1.0)
        )  # constant before the first time and after the last
        before = np.minimum(place.astype(np.intp), max(last - 1, 0))
        after, share = np.minimum(before + 1, last), place - before

        def between(values: np.ndarray) -> np.ndarray:
            low = values[before, self._column]
            return low + share * (values[after, self._column] - low)

        wall = np.stack([between(air_history.wall_K[:, 0]), between(air_history.wall_K[:, 1])])
        temperature, fraction = between(air_history.temperature_K), between(air_history.vapour_fraction)
        air = AirAtSlabs(temperature, fraction, wall, self._view, self._pressure, self._film)
        self._kept = t, air
        return air


@dataclass(frozen=True)
class Clock:
    """When each stage ends; and, where one ends by a condition, how long it may go on to see more slices done.

    Attributes
    ----------
    ends_s : tuple of float
    stage : int or None
        The last stage that ends by a condition.
    longer_s : float
        When it would end at the latest; the last end where no stage does.
    """

    ends_s: tuple[float, ...]
    stage: int | None
    longer_s: float


def clock_of(history: History) -> Clock:
    """Read the clock off a run of the batch as it is meant."""
    ends = tuple(float(end) for end in history.stage_end_s)
    conditional = [i for i, stage in enumerate(history.batch.stages) if stage.until is not None]
    if not conditional:
        return Clock(ends, None, ends[-1])
    last = conditional[-1]
    begin = ends[last - 1] if last else 0.0
    most = history.batch.stages[last].duration_s or _LONGEST_S
    longer = begin + min(most, max(_LONGER * (ends[last] - begin), ends[last] - begin))
    return Clock(ends, last, max(longer, ends[last]))


def by_the_clock(batch: Batch, clock: Clock) -> Batch:
    """Return the batch with every stage ended by the clock alone."""
    starts = (0.0, *clock.ends_s[:-1])
    stages = tuple(
        replace(stage, duration_s=end - start, until=None)
        for stage, start, end in zip(batch.stages, starts, clock.ends_s, strict=True)
        if end > start
    )
    return replace(batch, stages=stages)


def shifted(batch: Batch, *, setpoint_K: float, room_humidity: float, air_exchange: float = 1.0) -> Batch:
    """Return the batch with all settings off by some kelvin, another humidity of the room, another air exchange."""
    humidity = float(np.clip(batch.room.relative_humidity + room_humidity, 0.02, 0.98))
    elsewhere = replace(batch, room=replace(batch.room, relative_humidity=humidity))
    return moved(elsewhere, setpoint_K=setpoint_K, air_exchange=air_exchange)


def segments_in_given_air(batches: Sequence[Batch], clock: Clock) -> tuple[Segment, ...]:
    """Legs of batches that differ in their air only, one column for each."""
    segments: list[Segment] = []
    start = 0.0
    for i, end in enumerate(clock.ends_s):
        air_history = given_air_history(batches, i)
        stage = batches[0].stages[i]
        if end > start:
            segments.append(_segment(clock, i, start, end, air_history, len(segments) - 1, stage.turn))
        if i == clock.stage and clock.longer_s > end:
            longer = Segment(
                end,
                clock.longer_s,
                air_history,
                len(segments) - 1,
                False,
                dries=True,
                lethal=False,
                since_s=start,
            )
        start = end
    return (
        (*segments, longer)
        if clock.stage is not None and clock.longer_s > clock.ends_s[clock.stage]
        else tuple(segments)
    )


def _segment(
    clock: Clock, stage: int, start: float, end: float, air_history: AirHistory, after: int, turn: bool
) -> Segment:
    dries = clock.stage is None or stage <= clock.stage
    return Segment(start, end, air_history, after, turn, dries=dries, lethal=True)


def given_air_history(batches: Sequence[Batch], i: int) -> AirHistory:
    """Air of stage i of batches, one column for each; a ramp lasts as long in all of them."""
    one = np.ones(1)
    known: dict[tuple[object, ...], GivenAir] = {}  # many points of a map lie in the same air
    airs: list[GivenAir] = []
    for batch in batches:
        stage, meat, room = batch.stages[i], batch.meat, batch.room
        key = stage.air, stage.air_end, stage.duration_s, meat.length_m, meat.width_m, room
        if key not in known:
            size, span = (meat.length_m * one, meat.width_m * one), stage.duration_s or 1.0
            known[key] = given_air(stage.air, stage.air_end, room, 0.0, span, *size)
        airs.append(known[key])
    moments, times = [[air.start for air in airs]], [0.0]
    if any(batch.stages[i].air_end is not None for batch in batches):
        moments.append([air.end for air in airs])
        times.append(max(air.t_end for air in airs))
    return AirHistory(
        time_s=np.array(times),
        temperature_K=np.stack([np.concatenate([a.temperature_K for a in row]) for row in moments]),
        vapour_fraction=np.stack([np.concatenate([a.vapour_fraction for a in row]) for row in moments]),
        wall_K=np.stack([np.concatenate([a.wall_K for a in row], axis=1) for row in moments]),
        view=np.concatenate([a.view for a in moments[0]], axis=1),
        pressure_Pa=np.array([batch.room.pressure_Pa for batch in batches]),
        film=Film(
            forced=np.concatenate([a.film.forced for a in moments[0]], axis=1),
            natural=np.concatenate([a.film.natural for a in moments[0]]),
            mass_factor=np.concatenate([a.film.mass_factor for a in moments[0]]),
        ),
    )


def segments_in_appliance(
    batch: Batch, clock: Clock, airs: Sequence[ApplianceAirHistory], shares: np.ndarray
) -> tuple[Segment, ...]:
    """Legs in the air of a loaded appliance, put together from runs of it.

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
    tuple of Leg
        Column `b * trays + tray`. Left in longer, slices stay in the air of the moment.
    """
    stage_of = [i for i, (a, b) in enumerate(zip((0.0, *clock.ends_s), clock.ends_s, strict=False)) if b > a]
    surroundings = ApplianceSurroundings(batch, 3, 1e-3, LEAN_MEAT)
    ends = [clock.ends_s[i] for i in stage_of]
    turns = np.arange(1, 10_000) * (batch.rotate_every_s or np.inf)
    segments: list[Segment] = []
    longer: Segment | None = None
    start = 0.0
    for stage, index, end in zip(batch.stages, stage_of, ends, strict=True):
        surroundings.begin(stage, start)
        breaks = [*(t for t in turns[turns < end] if t > start + 1.0), end]
        turned = stage.turn
        for stop in breaks:
            air_history = _appliance_air_history(surroundings, batch, airs, shares, start, float(stop))
            segments.append(
                _segment(clock, index, start, float(stop), air_history, len(segments) - 1, turned)
            )
            start, turned = float(stop), False
            if stop != end:
                surroundings.rotate()
        if index == clock.stage and clock.longer_s > end:
            air_history = _appliance_air_history(surroundings, batch, airs, shares, end, end)
            longer = Segment(
                end, clock.longer_s, air_history, len(segments) - 1, False, dries=True, lethal=False
            )
    return (*segments, longer) if longer else tuple(segments)


def _appliance_air_history(
    surroundings: ApplianceSurroundings,
    batch: Batch,
    airs: Sequence[ApplianceAirHistory],
    shares: np.ndarray,
    start: float,
    end: float,
) -> AirHistory:
    """Air at every tray from start to end, in the surroundings' present setting and places."""
    times = start + segment_times(end - start)
    kinds = surroundings.load.tray.size // surroundings.load.trays
    place = surroundings.load.tray[::kinds]
    noted = [noted_air(one, times, place, surroundings.chamber.inlet) for one in airs]  # (4, k, trays) each
    base = noted[0]
    off = np.stack([one - base for one in noted[1:]]) if len(noted) > 1 else np.zeros((0, *base.shape))
    values = base[:, :, None] + np.einsum("ib,iqkt->qkbt", shares, off)
    values = values.reshape(4, times.size, -1)
    batches = shares.shape[1]
    film, view = surroundings.system.film, surroundings.load.view()  # type: ignore[attr-defined]
    carrying = film.carrying

    def tiled(values: np.ndarray) -> np.ndarray:
        return np.tile(values[..., ::kinds], batches)

    return AirHistory(
        time_s=times - start,
        temperature_K=values[0],
        vapour_fraction=np.clip(values[1], 0.0, 0.98),
        wall_K=np.stack([values[2], values[3]], axis=1),
        view=tiled(view),
        pressure_Pa=np.full(values.shape[2], batch.room.pressure_Pa),
        film=Film(
            forced=tiled(film.forced),
            natural=tiled(film.natural),
            mass_factor=tiled(film.mass_factor),
            carrying=None if carrying is None else (tiled(carrying[0]), tiled(carrying[1])),
        ),
    )


def segment_times(span: float) -> np.ndarray:
    """When the air of a segment is noted, since its start [s]."""
    early, late = np.arange(0.0, min(_EARLY_S, span), _CLOSE_S), np.arange(_EARLY_S, span, _FAR_S)
    return np.concatenate([early, late, [span]])


def noted_air(
    air: ApplianceAirHistory, times: np.ndarray, place: np.ndarray, inlet: np.ndarray
) -> np.ndarray:
    """Air temperature, vapour fraction, wall below and above at the trays at times, shape (4, k, trays).

    `place` of each tray in the flow, and the cell that feeds each place, `inlet`.
    """

    def at(values: np.ndarray) -> np.ndarray:
        return np.interp(times, air.time_s, values)

    cells = inlet[place]
    temperature = np.stack([at(air.cell_temperature_K[:, cell]) for cell in cells], axis=1)
    fraction = np.stack([at(vapour_fraction(air.cell_humidity_ratio[:, cell])) for cell in cells], axis=1)
    shell = np.repeat(at(air.shell_K)[:, None], place.size, axis=1)
    floor = at(air.floor_K)[:, None]
    below = np.where(place == BOTTOM_TRAY, FLOOR_VIEW * floor + (1.0 - FLOOR_VIEW) * shell, shell)
    return np.stack([temperature, fraction, below, shell])
