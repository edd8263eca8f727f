"""Files of several loggers put together by their clocks: a probe in the meat here, the air beside it there."""

from collections.abc import Sequence
from dataclasses import replace
from typing import Annotated

import numpy as np

from dryingsim.batch.reading.logger_columns import QUANTITIES
from dryingsim.batch.reading.logger_file import LoggerFile, humidity_of
from dryingsim.batch.reading.typed_columns import DAY_S
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.properties.water import saturation_pressure
from dryingsim.typing import Array

_LONGEST_GAP_S: Annotated[
    float, Evidence("s", "estimate", "air that was not read for longer is not known in between")
] = 900.0
_AIR = tuple(quantity for quantity in QUANTITIES if quantity not in ("meat", "water_activity"))
_HUMIDITY = ("wet_bulb", "dew_point", "relative_humidity")


def with_air_of(probe: LoggerFile, others: Sequence[LoggerFile]) -> LoggerFile:
    """Return the file of a probe with what others read of the air, at the times of the probe.

    Parameters
    ----------
    probe : LoggerFile
        With readings of the meat; what it has of the air by itself it keeps.
    others : sequence of LoggerFile
        The first that has a quantity tells it; a humidity only where the probe's file has none.

    Raises
    ------
    InputError
        Where clocks do not tell which readings belong together, or they never overlap.
    """
    values, columns = dict(probe.values), dict(probe.columns)
    for other in others:
        own = {*values}
        wanted = [
            quantity
            for quantity in other.values
            if quantity in _AIR
            and quantity not in own
            and not (quantity in _HUMIDITY and own.intersection(_HUMIDITY))
        ]
        if not wanted:
            continue
        time_s = probe.time_s - _ahead_s(probe, other)
        humid = next((quantity for quantity in wanted if quantity in _HUMIDITY), None)
        if humid is not None and "air" in own and "air" in other.values:
            vapour = _at(
                time_s, other.time_s, _vapour_Pa(other)
            )  # the two stand in air of their own temperature each
            found = {"relative_humidity": np.minimum(vapour / saturation_pressure(values["air"]), 1.0)}
        else:
            found = {quantity: _at(time_s, other.time_s, other.values[quantity]) for quantity in wanted}
        for quantity, read in found.items():
            column = other.columns[quantity if quantity in other.columns else str(humid)]
            values[quantity] = read
            columns[quantity] = replace(column, heading=f"{column.heading}, {other.name}")
            _check_gaps(probe, other, _at(time_s, other.time_s, other.values[wanted[0]]))
    return replace(probe, values=values, columns=columns)


def _vapour_Pa(logger: LoggerFile) -> Array:
    """Return the vapour pressure of the air of a logger [Pa]."""
    humidity = humidity_of(logger)
    assert humidity is not None
    return np.asarray(humidity * saturation_pressure(logger.values["air"]))


def _check_gaps(probe: LoggerFile, other: LoggerFile, values: Array) -> None:
    """Raise where the air was not read for longer than is accepted of the meat."""
    known = probe.time_s[~np.isnan(values)]
    edges = np.concatenate([probe.time_s[:1], known, probe.time_s[-1:]])
    longest = float(np.diff(edges).max())
    if longest > _LONGEST_GAP_S:
        raise InputError(
            f"{other.name}: it tells nothing of the air for {longest / 60.0:.0f} min while {probe.name} was logging (from "
            f"{probe.begins} to {probe.ends}); is it of another day, is a clock wrong, or does it end too early (--until)?"
        )


def _ahead_s(probe: LoggerFile, other: LoggerFile) -> float:
    """Return by how much another file begins after that of the probe [s]."""
    for each in (probe, other):
        if each.begun_s is None:
            raise InputError(
                f"{each.name}: it has no times of day, so nothing tells which of its readings belong to those of other loggers"
            )
    assert probe.begun_s is not None
    assert other.begun_s is not None
    seconds = other.begun_s - probe.begun_s
    if probe.day is not None and other.day is not None:
        return seconds + DAY_S * (other.day - probe.day).days
    return (seconds + 0.5 * DAY_S) % DAY_S - 0.5 * DAY_S  # the nearest such times of day


def _at(time_s: Array, read_s: Array, values: Array) -> Array:
    """Return readings at other times: straight lines, nothing outside of them or within a gap."""
    known = ~np.isnan(values)
    if not known.any():
        return np.full(time_s.size, np.nan)
    read_s, values = read_s[known], values[known]
    after = np.searchsorted(read_s, time_s).clip(0, read_s.size - 1)
    before = (np.searchsorted(read_s, time_s, side="right") - 1).clip(0)
    within = (time_s >= read_s[0]) & (time_s <= read_s[-1])
    near = read_s[after] - read_s[before] <= _LONGEST_GAP_S
    return np.where(within & near, np.interp(time_s, read_s, values), np.nan)
