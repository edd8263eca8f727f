"""The readings of a log against a run: which slabs each is of, what it should show, and how well it can be known."""

from dataclasses import dataclass, replace

import numpy as np

from dryingsim.batch.reading.weigh_in_log import Reading, WeighInLog
from dryingsim.batch.schema import Batch
from dryingsim.batch.units import from_si
from dryingsim.errors import InputError
from dryingsim.judge.taking_off import held_moisture
from dryingsim.learn.fitted_run import FittedRun
from dryingsim.properties import moist_air

# What a reading in a kitchen may be off by, one standard deviation, besides its last digit. All are estimates.
WEIGHING_KG = 1e-3  # 0.5-2 g: drip, air currents, where the tray stands on the scale ...
_WEIGHING_SHARE = (
    1e-3,
    1e-2,
)  # ... but no less than 0.1 % of a heavy load and no more than 1 % of a light one
AIR_K = 1.0  # 0.5-2 K: a thermometer that was checked
SWING_K = 2.0  # 1-5 K: of the air in an appliance around its mean, while it is read once
WET_BULB_K = (
    1.0  # 0.5-2 K: of the air where the instrument hangs against that at the slices, besides its own error
)
MEAT_K = 2.0  # 1-4 K: a probe in a thin slice is nowhere near its middle, and conducts
LOOKING_S = 60.0 / 12.0**0.5  # times are typed to the minute
# Before it is weighed the first time, what lies on the scale is known so well (standard deviation of the logarithm).
LAID_ON = 0.03  # 2-5 %: the batch file's weight, less what dripped and more marinade than thought
PART = 1.0  # a tray or a slice: hardly at all
_RISE = 3.0  # standard deviations of the difference of two weighings: one in a thousand is more by the scale alone
SLICE_KG = 0.025  # where that begins, for a slice


@dataclass(frozen=True)
class Series:
    """What is weighed again and again: everything, a tray or a slice.

    Attributes
    ----------
    scope : str
        Everything, a tray, a slice.
    name : str
        Of the tray or the slice.
    """

    scope: str
    name: str

    @property
    def words(self) -> str:
        """What a person reads."""
        return {"batch": "whole batch", "tray": f"tray {self.name}"}.get(self.scope, f"slice {self.name}")


@dataclass(frozen=True)
class Readings:
    """Readings of a log in SI; arrays of `n`.

    Attributes
    ----------
    readings : tuple of Reading
    time_s, value, resolution : ndarray, shape (n,)
    weighs : ndarray of bool, shape (n,)
        Whether it is a weight.
    series : tuple of Series
        What is weighed.
    belongs : ndarray of int, shape (n,)
        Which of `series` a weight is of; -1 for temperatures.
    """

    readings: tuple[Reading, ...]
    time_s: np.ndarray
    value: np.ndarray
    resolution: np.ndarray
    weighs: np.ndarray
    series: tuple[Series, ...]
    belongs: np.ndarray

    def __len__(self) -> int:
        return self.value.size


def readings_of(log: WeighInLog) -> Readings:
    """Arrange the readings of a log."""
    weighs = [reading.quantity == "weight" for reading in log.readings]
    scales = [Series(reading.scope, reading.name) for reading in log.readings]
    series = tuple(dict.fromkeys(scale for scale, weight in zip(scales, weighs, strict=True) if weight))
    belongs = [series.index(scale) if weight else -1 for scale, weight in zip(scales, weighs, strict=True)]
    return Readings(
        readings=log.readings,
        time_s=np.array([reading.time_s for reading in log.readings]),
        value=np.array([reading.value for reading in log.readings]),
        resolution=np.array([reading.resolution for reading in log.readings]),
        weighs=np.array(weighs),
        series=series,
        belongs=np.array(belongs),
    )


def check_places(log: WeighInLog, batch: Batch, trays: int) -> None:
    """Raise if a reading is of a tray or a slice that the batch does not have.

    Parameters
    ----------
    log : WeighInLog
    batch : Batch
    trays : int
        On how many trays its slices lie.
    """
    thick = list(dict.fromkeys(thickness_class.thickness_m for thickness_class in batch.meat.classes))
    for reading in log.readings:
        place = reading.place(log.name)
        if reading.file and reading.scope == "batch" and trays > 1:
            raise InputError(
                f"{log.name}: on which of the {trays} trays did {reading.file} read? Say it below its name: '# tray: 2'"
            )
        if reading.scope == "tray" and batch.appliance is None:
            raise InputError(
                f"{place}: tray {reading.name}, but {batch.name} has no appliance, so no trays to tell apart"
            )
        if reading.scope == "tray" and int(reading.name) > trays:
            raise InputError(f"{place}: tray {reading.name}, but the slices of {batch.name} lie on {trays}")
        if reading.scope == "slice" and reading.thickness_m is None and len(thick) > 1:
            choices = " or ".join(f"{1e3 * value:g} mm" for value in thick)
            raise InputError(
                f"{place}, slice = '{reading.name}': how thick? Add it, for example '{reading.name}, {choices}'"
            )


def check_rises(log: WeighInLog) -> None:
    """Raise where what is weighed again is heavier than before by more than a scale errs: drying meat gets lighter.

    Parameters
    ----------
    log : WeighInLog
    """
    last: dict[Series, Reading] = {}
    for reading in log.of("weight"):
        series = Series(reading.scope, reading.name)
        before = last.get(series)
        if before is not None:
            error = float(np.hypot(*weighing_error(np.array([before.value, reading.value]))))
            if reading.value > before.value + before.resolution + _RISE * error:
                raise InputError(
                    f"{reading.place(log.name)}: {series.words} weighs {_both(reading.value)}, more than the "
                    f"{_both(before.value)} of line {before.line}; drying meat gets lighter, so less is expected: is one of "
                    "them mistyped, or were slices or a tray weighed along?"
                )
        last[series] = reading


def _both(kg: float) -> str:
    return f"{1e3 * kg:.0f} g ({from_si(kg, 'oz'):.1f} oz)"


def weighing_error(value_kg: np.ndarray) -> np.ndarray:
    """Return the standard deviation of weighings in a kitchen, their last digit aside [kg], shaped as the weights.

    Parameters
    ----------
    value_kg : ndarray
        Weights [kg].
    """
    low, high = _WEIGHING_SHARE
    return np.clip(WEIGHING_KG, low * value_kg, high * value_kg)


def predicted(fitted_run: FittedRun, readings: Readings, batch: Batch) -> np.ndarray:
    """Return what the readings should be, weights before their series' own factor [kg], [K]; shape (n,).

    Parameters
    ----------
    fitted_run : FittedRun
        A simulation of the batch at the times of its log.
    readings : Readings
    batch : Batch
    """
    return np.array([_shown(fitted_run, reading, batch) for reading in readings.readings])


def _shown(fitted_run: FittedRun, reading: Reading, batch: Batch) -> float:
    i = int(np.searchsorted(fitted_run.time_s, reading.time_s))
    if i == fitted_run.time_s.size or abs(fitted_run.time_s[i] - reading.time_s) > 1e-6:
        i -= 1  # a rounding away
    if reading.quantity == "weight":
        return float(weight_of_run(fitted_run, reading, batch)[i])
    slabs = _slabs(fitted_run, reading, batch)
    air_K = float(fitted_run.air_K[i, slabs].mean())
    if reading.quantity == "air":
        return air_K
    if reading.quantity == "wet_bulb":
        assert fitted_run.vapour_Pa is not None
        vapour = float(fitted_run.vapour_Pa[i, slabs].mean())
        return float(moist_air.wet_bulb(air_K, vapour, batch.room.pressure_Pa))
    return float(fitted_run.core_K[i, slabs].mean())


def weight_of_run(fitted_run: FittedRun, reading: Reading, batch: Batch) -> np.ndarray:
    """Return the weight of what a reading weighs over the times of a run [kg], slices taken off among it, shape (t,).

    Parameters
    ----------
    fitted_run : FittedRun
    reading : Reading
        Of everything, a tray or a slice; the weight is that before its series' own factor.
    batch : Batch
    """
    slabs = _slabs(fitted_run, reading, batch)
    if reading.scope == "slice":  # one slice of that thickness, on any tray
        wet = 1.0 + fitted_run.moisture_db[:, slabs].mean(axis=1)
        return SLICE_KG * wet / wet[0]
    held = replace(fitted_run, moisture_db=held_moisture(batch, fitted_run.moisture_db))
    return held.weight_kg(slabs)


def _slabs(fitted_run: FittedRun, reading: Reading, batch: Batch) -> np.ndarray:
    """Mask of the slabs a reading is of. A thermometer of the meat with no more said is in the thickest slices."""
    mask = np.ones(fitted_run.dry_kg.size, dtype=bool)
    thick = np.array([thickness_class.thickness_m for thickness_class in batch.meat.classes])
    if reading.scope == "tray":
        mask &= fitted_run.tray == int(reading.name) - 1
    if reading.scope == "slice" and reading.thickness_m is not None:
        mask &= fitted_run.kind == np.abs(thick - reading.thickness_m).argmin()
    elif reading.quantity == "meat":
        mask &= fitted_run.kind == thick.argmax()
    return mask


def uncertainties_of(readings: Readings, fitted_run: FittedRun, batch: Batch) -> np.ndarray:
    """Return the standard deviation of each reading [kg], [K], shape (n,).

    Parameters
    ----------
    readings : Readings
    fitted_run : FittedRun
        A simulation of the batch, for how fast a weight changes while it is read.
    batch : Batch
    """
    value, steps = readings.value, readings.resolution / 12.0**0.5
    weighing = weighing_error(value)
    slope = np.array([_slope(fitted_run, reading, batch) for reading in readings.readings])
    swing = SWING_K if batch.appliance is not None else 0.0
    of = np.array([reading.quantity for reading in readings.readings])
    air = np.hypot(np.where(of == "air", AIR_K, WET_BULB_K), swing)
    own = np.where(readings.weighs, weighing, np.where(of == "meat", MEAT_K, air))
    own = np.hypot(own, [reading.error for reading in readings.readings])
    return np.sqrt(own**2 + steps**2 + (slope * LOOKING_S) ** 2)


def _slope(fitted_run: FittedRun, reading: Reading, batch: Batch) -> float:
    """How fast a weight changes when it is read, as a share of it [1/s] times it [kg/s]; nil for the air."""
    if reading.quantity != "weight":
        return 0.0
    weight = weight_of_run(fitted_run, reading, batch)
    rate = np.interp(reading.time_s, fitted_run.time_s, np.gradient(weight, fitted_run.time_s) / weight)
    return float(abs(rate) * reading.value) if reading.time_s > 0.0 else 0.0
