"""A file of weighings, with the readings of loggers that it names: `# logger: FILE.csv`.

A logger reads every minute, and what it shows in one minute it shows in the next: the errors of a probe, of its place and of the
model hold on. Readings are therefore taken together, one for each `TOGETHER_S`, and each counts like one that a person typed.
"""

import re
from dataclasses import replace
from datetime import date
from pathlib import Path
from typing import Annotated

import numpy as np

from dryingsim.batch.reading.logger_file import LoggerFile, humidity_of, parse_logger_file
from dryingsim.batch.reading.text_file import read_table, read_written_table
from dryingsim.batch.reading.typed_columns import DAY_S
from dryingsim.batch.reading.weigh_in_log import Quantity, Reading, WeighInLog, parse_weigh_ins
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.properties import moist_air
from dryingsim.properties.water import saturation_pressure
from dryingsim.typing import Array

TOGETHER_S: Annotated[
    float,
    Evidence(
        "s", "estimate", "errors of the model and of a probe hold on so long (as in learn.fitted_slice)"
    ),
] = 1500.0
_AROUND_S: Annotated[
    float, Evidence("s", "estimate", "a thermostat's swing; meat changes little meanwhile once it has warmed")
] = 300.0
_HUMIDITY: Annotated[
    float, Evidence("-", "estimate", "relative humidity: a household hygrometer; one standard deviation")
] = 0.03
_WICK_K: Annotated[float, Evidence("K", "estimate", "a wet bulb, one standard deviation")] = 0.7
_READINGS = re.compile(r"temp|meat|core|probe|air|humid|°|deg ?[CF]", re.IGNORECASE)
_WEIGHTS = re.compile(r"weight|mass|tare", re.IGNORECASE)
_LEAST_VAPOUR = 1.0  # Pa, for the wet bulb of air without any


def read_weigh_ins(path: str | Path) -> WeighInLog:
    """Read a log from a file, and the logger's file that it names; see `weigh_in_log` for the format."""
    try:
        log = parse_weigh_ins(read_table(path), Path(path).name)
    except InputError:
        _check_weights(Path(path))
        raise
    return with_loggers(log, Path(path).parent) if log.named_loggers else log


def _check_weights(path: Path) -> None:
    """Raise for a table that nothing of speaks of weights: a thermometer's or a logger's, given in place of weighings."""
    try:
        text = read_written_table(path)
    except InputError:  # that it cannot be read is told already
        return
    if _READINGS.search(text) and not _WEIGHTS.search(text):
        raise InputError(
            f"{path.name}: nothing in it is called a weight, so it is no log of weighings. What a thermometer or a logger read "
            f"is named in such a log ('# logger: {path.name}'), or judged: 'dryingsim thermometer {path.name} --batch FILE.toml'"
        ) from None


def with_loggers(log: WeighInLog, folder: Path) -> WeighInLog:
    """Return a log of weighings with what its loggers read.

    Parameters
    ----------
    log : WeighInLog
        That names files of loggers.
    folder : Path
        Where they are.
    """
    loggers, readings = [], [*log.readings]
    for named in log.named_loggers:
        path = folder / named["logger"]
        tray = named.get("tray", "")
        if tray and not (tray.isdigit() and int(tray) >= 1):
            raise InputError(f"{log.name}: # tray: {tray}: the number of a tray is expected, from 1 on")
        try:
            text = read_written_table(path)
        except InputError as error:
            raise InputError(f"{log.name}: # logger: {error}") from None
        part = named.get("from"), named.get("until")
        logger = parse_logger_file(
            text, path.name, named.get("columns"), named.get("dates"), part, of_meat=False
        )
        time_s = logger.time_s + _later_s(log, logger, begun="from" in named)
        counted = [
            reading
            for quantity, (values, errors) in _read(logger).items()
            for reading in _together(logger, quantity, time_s, values, errors, tray)
        ]
        if not counted:
            raise InputError(
                f"{log.name}: the readings of {path.name} end before the first {TOGETHER_S / 60.0:.0f} min of the batch are "
                "over, or are of another time: do the clocks agree, and the days?"
            )
        readings += counted
        loggers.append(logger)
    return replace(log, readings=tuple(readings), loggers=tuple(loggers))


def _later_s(log: WeighInLog, logger: LoggerFile, *, begun: bool) -> float:
    """Return how long after the slices went in a logger's first reading was taken [s]; `begun`: when that was is said."""
    if begun or log.start_clock_s is None or logger.begun_s is None:
        meat = logger.values.get("meat")
        known = np.array([0]) if meat is None else np.flatnonzero(~np.isnan(meat))
        return -float(logger.time_s[known[0]]) if known.size else 0.0
    later_s = logger.begun_s - log.start_clock_s
    if log.date is not None and logger.day is not None:
        return later_s - DAY_S * (date.fromisoformat(log.date) - logger.day).days
    nearest_s = (later_s + 0.5 * DAY_S) % DAY_S - 0.5 * DAY_S
    if nearest_s > 0.0 and float(logger.time_s[-1]) + nearest_s - DAY_S > 0.0:
        raise InputError(
            f"{log.name}: {logger.name} was reading on the day before, too; which is of this batch? Say '# from: TIME' below "
            "'# logger', or give both a date ('# date: 2026-03-14')"
        )
    return nearest_s


def _read(logger: LoggerFile) -> dict[Quantity, tuple[Array, Array]]:
    """Return the readings of a logger [K], each with its error where the instrument tells one [K], 0 where not."""
    read: dict[Quantity, tuple[Array, Array]] = {
        quantity: (logger.values[quantity], np.zeros(logger.time_s.size))
        for quantity in ("meat", "air")
        if quantity in logger.values
    }
    if "wet_bulb" in logger.values:
        read["wet_bulb"] = logger.values["wet_bulb"], np.full(logger.time_s.size, _WICK_K)
    elif "air" in logger.values and (humidity := humidity_of(logger)) is not None:
        low, middle, high = (
            _wet_bulb(logger.values["air"], humidity + off) for off in (-_HUMIDITY, 0.0, _HUMIDITY)
        )
        read["wet_bulb"] = middle, 0.5 * (high - low)
    return read


def _wet_bulb(air_K: Array, humidity: Array) -> Array:
    vapour = np.clip(humidity, 0.0, 1.0) * saturation_pressure(air_K)
    known = np.isfinite(vapour)
    bulb = moist_air.wet_bulb(
        np.where(known, air_K, 300.0),
        np.where(known, np.maximum(vapour, _LEAST_VAPOUR), 1e3),
        STANDARD_PRESSURE,
    )
    return np.where(known, bulb, np.nan)


def _together(
    logger: LoggerFile, quantity: Quantity, time_s: Array, values: Array, errors: Array, tray: str
) -> list[Reading]:
    """Return one reading for each span: the mean of those around its time."""
    readings = []
    for at in np.arange(TOGETHER_S, time_s[-1] + 1.0, TOGETHER_S).tolist():
        near = np.flatnonzero((np.abs(time_s - at) <= _AROUND_S) & ~np.isnan(values))
        if not near.size:
            continue
        readings.append(
            Reading(
                line=logger.lines[int(near[near.size // 2])],
                time_s=float(time_s[near].mean()),
                quantity=quantity,
                scope="tray" if tray else "batch",
                name=tray,
                thickness_m=None,
                value=float(values[near].mean()),
                resolution=0.0,
                file=logger.name,
                error=float(errors[near].mean()),
            )
        )
    return readings
