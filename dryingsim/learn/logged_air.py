"""The air that a logger wrote down, as the air of many columns: each column as if its instruments were off in another way."""

from dataclasses import dataclass
from typing import Annotated

import numpy as np

from dryingsim.batch.reading.logger_file import humidity_of_half_a_kelvin
from dryingsim.batch.schema import Batch
from dryingsim.engine.air_history import AirHistory
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.history import History
from dryingsim.judge.thermometer_log import ThermometerLog
from dryingsim.model.air import measured_film, slice_film
from dryingsim.properties.water import saturation_pressure
from dryingsim.typing import Array

_SENSOR: Annotated[
    float,
    Evidence(
        "-", "estimate", "relative humidity: a household hygrometer, stated to 5 %; one standard deviation"
    ),
] = 0.03
_WICK: Annotated[
    float, Evidence("-", "estimate", "half kelvins that a wet bulb is off, one standard deviation")
] = 1.4
_UNLOGGED: Annotated[
    float,
    Evidence(
        "-",
        "estimate",
        "logarithm of the vapour pressure where no humidity was logged: a room over days, an appliance of unknown tightness",
    ),
] = 0.4
_LAST_S: Annotated[
    float, Evidence("s", "estimate", "what the air was in the mean of so long goes on beyond the log")
] = 1200.0
_AFTER_S: Annotated[float, Evidence("s", "numerical", "from the last reading to that mean")] = 1.0
_DRIEST: Annotated[float, Evidence("-", "numerical", "relative humidity that air has at least")] = 0.005
_MOISTEST: Annotated[float, Evidence("-", "numerical", "relative humidity that air has at most")] = 0.99
_MOST_VAPOUR: Annotated[float, Evidence("-", "numerical", "mole fraction of vapour, at most")] = 0.98


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedAir:
    """Air beside the probed slice, as logged; arrays of shape (t,).

    Attributes
    ----------
    time_s, temperature_K, vapour_Pa : ndarray
    humidity_error : float or None
        One standard deviation of the relative humidity that was logged [-]; None where none was: the vapour pressure is
        then that of the batch as it is meant, and little known.
    """

    time_s: Array
    temperature_K: Array
    vapour_Pa: Array
    humidity_error: float | None

    def columns(
        self, batch: Batch, warmer_K: Array, moister: Array, apart: tuple[Array, Array] | None = None
    ) -> AirHistory:
        """Return the air of many columns.

        Parameters
        ----------
        batch : Batch
            How fast the air moves, along what slices, at what pressure.
        warmer_K : ndarray, shape (c,)
            Than logged [K].
        moister : ndarray, shape (c,)
            Than logged, in standard deviations.
        apart : tuple of ndarray, shape (t, c), optional
            How much warmer [K] and moister [Pa] each is than the air beside the probed slice.
        """
        beside = self.temperature_K[:, None] + warmer_K
        air, full = beside, saturation_pressure(beside)
        if self.humidity_error is None:
            vapour = self.vapour_Pa[:, None] * np.exp(_UNLOGGED * moister)
        else:
            vapour = self.vapour_Pa[:, None] + self.humidity_error * moister * full
        if apart is not None:
            air, vapour = beside + apart[0], vapour + apart[1]
            full = saturation_pressure(air)
        pressure = batch.room.pressure_Pa
        vapour = np.clip(vapour, _DRIEST * full, np.minimum(_MOISTEST * full, _MOST_VAPOUR * pressure))
        ones = np.ones(warmer_K.size)
        typical = np.median(air, axis=0), np.median(vapour, axis=0)
        size = batch.meat.length_m * ones, batch.meat.width_m * ones
        film = slice_film(*typical, pressure, speed_of(batch) * ones, *size)
        return AirHistory(
            time_s=self.time_s,
            temperature_K=air,
            vapour_fraction=vapour / pressure,
            wall_K=np.stack([air, air], axis=1),
            view=np.ones((2, ones.size)),
            pressure_Pa=pressure * ones,
            film=measured_film(film, batch.components.film_W_m2K),
        )


def speed_of(batch: Batch) -> float:
    """Return how fast air moves over the slices of a batch while it dries [m/s]: in its longest stage of drying."""
    if batch.appliance is not None:
        return batch.appliance.trays.speed_m_s
    drying = [stage for stage in batch.stages if stage.dries]
    return max(drying, key=lambda stage: stage.duration_s or np.inf).air.speed_m_s


def logged_air(log: ThermometerLog, meant: History, slab: int, laid_s: float = 0.0) -> LoggedAir:
    """Return the air of a log.

    Parameters
    ----------
    log : ThermometerLog
        From when the slices were laid on the trays.
    meant : History
        The batch as it is meant: its humidity is taken where none was logged.
    slab : int
        Of that history, in whose air the probed slice lies.
    laid_s : float
        When slices are laid on the trays there [s].
    """
    if log.air_temperature_K is None:
        raise InputError(
            f"{log.name}: no column is of the air; a batch is fitted to the meat's temperature and to that of the air beside "
            "it. Log both, or say which column it is: --columns air=CH2"
        )
    air, humidity = log.air_temperature_K, log.relative_humidity
    if humidity is None:
        vapour, error = _meant_vapour(log.time_s + laid_s, meant, slab), None
    else:
        vapour, error = humidity * saturation_pressure(air), _SENSOR
        if log.logger is not None and "wet_bulb" in log.logger.values:
            error = _WICK * humidity_of_half_a_kelvin(log.logger)
    last = log.time_s >= log.time_s[-1] - _LAST_S
    return LoggedAir(
        time_s=np.append(log.time_s, log.time_s[-1] + _AFTER_S),
        temperature_K=np.append(air, air[last].mean()),
        vapour_Pa=np.append(vapour, vapour[last].mean()),
        humidity_error=error,
    )


def _meant_vapour(time_s: Array, meant: History, slab: int) -> Array:
    return np.asarray(np.interp(time_s, meant.time_s, meant.air_vapour_pressure_Pa[:, slab]))
