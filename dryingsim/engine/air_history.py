"""The air of columns over time: what many slices lie in, in place of an appliance that reacts to them.

A *column* is the air of one batch on one tray. A slice belongs to a column and does not act on it (the mean field: many
slices share the air, and each of them is too few to change it). Air is stated by the schedule, or taken from what was
noted in loaded appliances.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np

from dryingsim.batch.schema import Batch
from dryingsim.history import History
from dryingsim.model.air import GivenAir
from dryingsim.model.chamber import FLOOR_VIEW
from dryingsim.model.faces import Film
from dryingsim.model.load import BOTTOM_TRAY
from dryingsim.model.surroundings import ApplianceSurroundings, stage_air
from dryingsim.properties.moist_air import vapour_fraction

_CLOSE_S, _FAR_S = 60.0, 300.0  # the air of an appliance is noted so often at first, and later
_EARLY_S = 1800.0  # which is from here on
_MOST_VAPOUR = 0.98  # mole fraction: straight lines carried on must not leave what is possible


@dataclass(frozen=True)
class ApplianceAirHistory:
    """Air of one appliance over time.

    Attributes
    ----------
    time_s : ndarray, shape (k,)
    cell_temperature_K, cell_humidity_ratio : ndarray, shape (k, cells)
        See `dryingsim.model.chamber`.
    shell_K, floor_K : ndarray, shape (k,)
    stage_end_s : ndarray, shape (stages,)
    """

    time_s: np.ndarray
    cell_temperature_K: np.ndarray
    cell_humidity_ratio: np.ndarray
    shell_K: np.ndarray
    floor_K: np.ndarray
    stage_end_s: np.ndarray

    @classmethod
    def of_run(cls, history: History) -> "ApplianceAirHistory":
        """Return the air of a run in an appliance."""
        chamber = history.chamber
        assert chamber is not None
        return cls(
            history.time_s,
            chamber.cell_temperature_K,
            chamber.cell_humidity_ratio,
            chamber.shell_K,
            chamber.floor_K,
            history.stage_end_s,
        )

    def at_trays(self, times_s: np.ndarray, place: np.ndarray, inlet: np.ndarray) -> np.ndarray:
        """Return the air that enters trays, and the walls they see.

        Parameters
        ----------
        times_s : ndarray, shape (k,)
            When [s].
        place : ndarray of int, shape (trays,)
            Of each tray in the flow.
        inlet : ndarray of int, shape (places,)
            The cell that feeds each place.

        Returns
        -------
        ndarray, shape (4, k, trays)
            Temperature [K], mole fraction of vapour, wall below and above [K].
        """

        def at(values: np.ndarray) -> np.ndarray:
            return np.interp(times_s, self.time_s, values)

        cells = inlet[place]
        temperature = np.stack([at(self.cell_temperature_K[:, cell]) for cell in cells], axis=1)
        fraction = np.stack(
            [at(vapour_fraction(self.cell_humidity_ratio[:, cell])) for cell in cells], axis=1
        )
        shell = np.repeat(at(self.shell_K)[:, None], place.size, axis=1)
        floor = at(self.floor_K)[:, None]
        below = np.where(place == BOTTOM_TRAY, FLOOR_VIEW * floor + (1.0 - FLOOR_VIEW) * shell, shell)
        return np.stack([temperature, fraction, below, shell])


@dataclass(frozen=True)
class AirHistory:
    """The air of `c` columns at `k` times; straight lines between, constant before and after.

    Attributes
    ----------
    time_s : ndarray, shape (k,)
        Since the air's own time begins.
    temperature_K, vapour_fraction : ndarray, shape (k, c)
    wall_K : ndarray, shape (k, 2, c)
        What the lower and the upper face of a slice look at.
    view : ndarray, shape (2, c)
        How much of their view that is.
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

    @property
    def columns(self) -> int:
        """How many columns there are."""
        return self.view.shape[1]

    @classmethod
    def given(cls, batches: Sequence[Batch], stage: int) -> "AirHistory":
        """Return the air that a stage of batches states, one column for each.

        Parameters
        ----------
        batches : sequence of Batch
            A ramp lasts as long in all of them.
        stage : int
            Its index.
        """
        airs = _given_airs(batches, stage)
        moments, times = [[air.start for air in airs]], [0.0]
        if any(batch.stages[stage].air_end is not None for batch in batches):
            moments.append([air.end for air in airs])
            times.append(max(air.t_end for air in airs))

        def over_time(name: str) -> np.ndarray:
            return np.stack([_beside(*(getattr(air, name) for air in moment)) for moment in moments])

        return cls(
            time_s=np.array(times),
            temperature_K=over_time("temperature_K"),
            vapour_fraction=over_time("vapour_fraction"),
            wall_K=over_time("wall_K"),
            view=_beside(*(air.view for air in moments[0])),
            pressure_Pa=np.array([batch.room.pressure_Pa for batch in batches]),
            film=_merged(_beside, *(air.film for air in moments[0])),
        )

    @classmethod
    def put_together(
        cls,
        surroundings: ApplianceSurroundings,
        airs: Sequence[ApplianceAirHistory],
        shares: np.ndarray,
        start_s: float,
        end_s: float,
    ) -> "AirHistory":
        """Return the air at every tray of batches drawn, put together from runs of one batch.

        Parameters
        ----------
        surroundings : ApplianceSurroundings
            In the setting and with the places of the trays that hold meanwhile.
        airs : sequence of ApplianceAirHistory
            Of the batch as it is meant, then with one thing off in each.
        shares : ndarray, shape (airs - 1, b)
            How much of the difference that each makes is in the air of every batch drawn.
        start_s, end_s : float
            When it begins and ends [s].

        Returns
        -------
        AirHistory
            Column `b * trays + tray`.
        """
        times, batches = segment_times(end_s - start_s), shares.shape[1]
        place, inlet = _places(surroundings), surroundings.chamber.inlet
        noted = [air.at_trays(start_s + times, place, inlet) for air in airs]  # (4, k, trays) each
        base = noted[0]
        off = np.stack([own - base for own in noted[1:]]) if len(noted) > 1 else np.zeros((0, *base.shape))
        values = base[:, :, None] + np.einsum("ib,iqkt->qkbt", shares, off)
        return cls._on_trays(
            surroundings,
            times,
            values.reshape(4, times.size, -1),
            lambda array: np.tile(_by_column(array, surroundings, 1), batches),
        )

    @classmethod
    def in_appliances(
        cls,
        appliances: ApplianceSurroundings,
        airs: Sequence[ApplianceAirHistory],
        start_s: np.ndarray,
        end_s: np.ndarray,
    ) -> "AirHistory":
        """Return the air at every tray of appliances side by side.

        Parameters
        ----------
        appliances : ApplianceSurroundings
            All of them, in the setting that holds meanwhile.
        airs : sequence of ApplianceAirHistory
            Of each.
        start_s, end_s : ndarray, shape (appliances,)
            When it begins and ends in each [s].

        Returns
        -------
        AirHistory
            Column `appliance * trays + tray`.
        """
        times, place = segment_times(float(np.max(end_s - start_s))), _places(appliances)
        noted = [
            air.at_trays(np.minimum(begin + times, end), place, appliances.chamber.inlet)
            for air, begin, end in zip(airs, start_s.tolist(), end_s.tolist(), strict=True)
        ]
        return cls._on_trays(
            appliances, times, _beside(*noted), lambda array: _by_column(array, appliances, len(airs))
        )

    @classmethod
    def _on_trays(
        cls,
        surroundings: ApplianceSurroundings,
        times: np.ndarray,
        values: np.ndarray,
        columns: Callable[[np.ndarray], np.ndarray],
    ) -> "AirHistory":
        """Put values (4, k, c) as of `ApplianceAirHistory.at_trays` together with the film and view of the columns."""
        chamber = surroundings.chamber
        copies = values.shape[2] // surroundings.load.trays
        pressure = np.broadcast_to(chamber.pressure, (copies,))
        return cls(
            time_s=times,
            temperature_K=values[0],
            vapour_fraction=np.clip(values[1], 0.0, _MOST_VAPOUR),
            wall_K=np.stack([values[2], values[3]], axis=1),
            view=columns(surroundings.load.view().reshape(2, -1)),
            pressure_Pa=np.repeat(pressure, surroundings.load.trays),
            film=_merged(columns, surroundings.loaded.film),
        )

    @classmethod
    def side_by_side(cls, histories: Sequence["AirHistory"]) -> "AirHistory":
        """Return air of the same times as one, the columns of the first in front."""

        def beside(name: str) -> np.ndarray:
            return _beside(*(getattr(history, name) for history in histories))

        return cls(
            time_s=histories[0].time_s,
            temperature_K=beside("temperature_K"),
            vapour_fraction=beside("vapour_fraction"),
            wall_K=beside("wall_K"),
            view=beside("view"),
            pressure_Pa=beside("pressure_Pa"),
            film=_merged(_beside, *(history.film for history in histories)),
        )

    def repeated(self, times: int) -> "AirHistory":
        """Return the air with every column several times, one beside the other."""
        return AirHistory(
            time_s=self.time_s,
            temperature_K=np.repeat(self.temperature_K, times, axis=-1),
            vapour_fraction=np.repeat(self.vapour_fraction, times, axis=-1),
            wall_K=np.repeat(self.wall_K, times, axis=-1),
            view=np.repeat(self.view, times, axis=-1),
            pressure_Pa=np.repeat(self.pressure_Pa, times),
            film=_merged(lambda values: np.repeat(values, times, axis=-1), self.film),
        )

    def at(self, time_s: np.ndarray, column: np.ndarray) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        """Return the air of some columns, of each at a time of its own.

        Parameters
        ----------
        time_s : ndarray, shape (m,)
            As `AirHistory.time_s` counts [s].
        column : ndarray of int, shape (m,)

        Returns
        -------
        tuple of ndarray
            Temperature [K], shape (m,); mole fraction of vapour; walls below and above [K], shape (2, m).
        """
        last = self.time_s.size - 1
        place = np.interp(time_s, self.time_s, np.arange(last + 1.0))  # constant before and after
        before = np.minimum(place.astype(np.intp), max(last - 1, 0))
        here = before * self.columns + column
        later = self.columns if last else 0
        low, high = self._by_moment.take(here, axis=1), self._by_moment.take(here + later, axis=1)
        temperature, fraction, *wall = low + (place - before) * (high - low)
        return temperature, fraction, np.stack(wall)

    @cached_property
    def _by_moment(self) -> np.ndarray:
        """Temperature, mole fraction, both walls: each with its columns moment by moment, shape (4, k * c)."""
        walls = self.wall_K.swapaxes(0, 1)
        return np.stack([self.temperature_K, self.vapour_fraction, *walls]).reshape(4, -1)

    def film_of(self, column: np.ndarray, factor: np.ndarray) -> Film:
        """Return the film over slices.

        Parameters
        ----------
        column : ndarray of int, shape (m,)
            Where they lie.
        factor : ndarray, shape (m,)
            Multiplies their film coefficients.
        """
        film = _merged(lambda values: values[..., column], self.film)
        return Film(film.forced * factor, film.natural * factor, film.mass_factor, film.carrying)


def segment_times(span_s: float) -> np.ndarray:
    """When the air of a segment of an appliance's schedule is noted, since its start [s]."""
    early = np.arange(0.0, min(_EARLY_S, span_s), _CLOSE_S)
    return np.concatenate([early, np.arange(_EARLY_S, span_s, _FAR_S), [span_s]])


def _given_airs(batches: Sequence[Batch], stage: int) -> list[GivenAir]:
    """Air of a stage at the slices of each batch; many batches of a map lie in the same."""
    known: dict[tuple[object, ...], GivenAir] = {}
    airs: list[GivenAir] = []
    for batch in batches:
        own, meat, room = batch.stages[stage], batch.meat, batch.room
        film = batch.components.film_W_m2K
        key = own.kind, own.air, own.air_end, own.duration_s, meat.length_m, meat.width_m, room, film
        if key not in known:
            known[key] = stage_air(batch, own, 0.0, np.array([meat.length_m]), np.array([meat.width_m]))
        airs.append(known[key])
    return airs


def _places(surroundings: ApplianceSurroundings) -> np.ndarray:
    """Place of each tray in the flow: all kinds of slices on it have the same."""
    load = surroundings.load
    return load.tray[:: load.tray.size // load.trays]


def _by_column(values: np.ndarray, surroundings: ApplianceSurroundings, copies: int) -> np.ndarray:
    """Values (..., trays * kinds * copies) of slabs, those of a tray alike, by column `copy * trays + tray`."""
    values = values.reshape(*values.shape[:-1], surroundings.load.trays, -1, copies)[..., 0, :]
    return np.swapaxes(values, -1, -2).reshape(*values.shape[:-2], -1)


def _beside(*arrays: np.ndarray) -> np.ndarray:
    return np.concatenate(arrays, axis=-1)


def _merged(how: Callable[..., np.ndarray], *films: Film) -> Film:
    """Return one film, each array made from those of all films."""
    carrying = [film.carrying for film in films if film.carrying is not None]
    return Film(
        forced=how(*(film.forced for film in films)),
        natural=how(*(film.natural for film in films)),
        mass_factor=how(*(film.mass_factor for film in films)),
        carrying=(how(*(heat for heat, _ in carrying)), how(*(vapour for _, vapour in carrying)))
        if carrying
        else None,
    )
