"""A thermometer's log read from CSV text and checked line by line; `judge.probe` judges it.

The file: lines starting with `#` are remarks; the first other line names the columns; then one line per reading.
Columns in any order, separated by comma, semicolon or tab:

    time,    meat [degF], air [degF], water activity, relative humidity [%]
    1:05 pm, 41,          151,        0.99,           35
    1:10 pm, 63.4,        154,        0.99,           38

Times and units are typed as `batch.reading.typed_columns` says. `meat` (or `temperature`) is that of the coldest or most
uncertain place in the meat, `water_activity` that of the same place, `air` and `relative_humidity` those of the air beside it.
Cells of `air` may be left empty. `note` is not looked at. A log begins when the cold meat goes in; where the meat was warm
by then, a remark `# started warm: reason` says why.

A file that a logger wrote (titles above its heading, dates, CH1 and CH2, marks for no reading) is read by
`batch.reading.logger_file`; what is missing there is taken as dry.
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Annotated

import numpy as np

from dryingsim.batch.checks import show
from dryingsim.batch.reading.logger_file import LoggerFile, humidity_of, parse_logger_file
from dryingsim.batch.reading.logger_table import no_reading
from dryingsim.batch.reading.logger_times import stamp_of
from dryingsim.batch.reading.text_file import read_written_table
from dryingsim.batch.reading.typed_columns import (
    by_word,
    cells_of,
    content_lines,
    headings,
    reader,
    row_cells,
    separator_of,
    times_s,
    with_point,
)
from dryingsim.batch.units import to_ratio
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.typing import Array

COLUMNS = by_word(
    {
        "time": "time clock elapsed time_of_day",
        "temperature": "temperature temp meat meat_temperature core probe thermometer",
        "water_activity": "water_activity a_w aw",
        "relative_humidity": "relative_humidity humidity rh",
        "air": "air air_temperature",
        "note": "note notes remark remarks comment",
    }
)
EXAMPLE = "'time, temperature [degC]'"
_READ = ("temperature", "water_activity", "relative_humidity", "air")
LONGEST_GAP_S: Annotated[
    float, Evidence("s", "estimate", "meat can rise and fall by several kelvin in a quarter of an hour")
] = 900.0
_LONGEST_ACCEPTED_GAP: Annotated[float, Evidence("s", "estimate", "beyond it, it is no record")] = 3600.0
_STARTED_WARM = re.compile(r"\s*#\s*started[ _-]warm\s*:\s*(.*\S)\s*", re.IGNORECASE)

Reader = Callable[[str, str], float]


@dataclass(frozen=True, slots=True, kw_only=True)
class ThermometerLog:
    """Readings in SI, with the line of the file each came from; columns the file does not have are None.

    Attributes
    ----------
    name : str
        Of the file.
    lines : tuple[int, ...]
        Of the file, one for each reading.
    time_s : Array
        Of each reading [s].
    temperature_K : Array
        Of the meat [K].
    water_activity : Array or None
        Of the meat [-].
    relative_humidity : Array or None
        Of the air beside it [-].
    air_temperature_K : Array or None
        Beside the meat [K].
    started_warm : str or None
        Why the meat was warm at the first reading.
    reads_high_K : float
        The probe, at most; taken off its readings.
    fahrenheit : bool
        The meat's column, as typed.
    logger : LoggerFile or None
        What it was read from, where a logger wrote it.
    """

    name: str
    lines: tuple[int, ...]
    time_s: Array
    temperature_K: Array
    water_activity: Array | None
    relative_humidity: Array | None
    air_temperature_K: Array | None = None
    started_warm: str | None = None
    reads_high_K: float = 0.0
    fahrenheit: bool = False
    logger: LoggerFile | None = None

    def __post_init__(self) -> None:
        for name in ("water_activity", "relative_humidity"):
            values = getattr(self, name)
            if values is not None and not np.all((np.asarray(values) >= 0.0) & (np.asarray(values) <= 1.0)):
                raise InputError(
                    f"{self.name}: {name} goes beyond 0 to 1; fractions, not percent, are expected"
                )


def read_log_file(
    path: str | Path,
    longest_gap_s: float = LONGEST_GAP_S,
    columns: str | None = None,
    dates: str | None = None,
    part: tuple[str | None, str | None] = (None, None),
) -> ThermometerLog:
    """Read a log from a file, typed as the head of this module says or written by a logger.

    Parameters
    ----------
    path : str or Path
    longest_gap_s : float
        As for `read_log` [s].
    columns, dates, part
        As for `batch.reading.logger_file.parse_logger_file`; with any of them, the file is read as a logger's; a typed log
        needs `part` alone.
    """
    text, name = read_written_table(path), Path(path).name
    if (columns, dates) == (None, None) and is_typed(text):
        if part == (None, None):
            return read_log(text, name, longest_gap_s)
        columns = _meat_of_typed(text)
    return log_of_logger(
        parse_logger_file(text, name, columns, dates, part), longest_gap_s, said_to_start_warm(text)
    )


def _meat_of_typed(text: str) -> str | None:
    """Return what `columns` says for a typed log: its `temperature` is that of meat, a logger's may be of the air."""
    head = content_lines(text)[0][1]
    cells = cells_of(head, separator_of(head))
    return next((f"meat={cell}" for cell in cells if "temperature" in headings("", [cell], COLUMNS)), None)


def is_typed(text: str) -> bool:
    """Return whether a table has the headings and cells of a typed log, and none that only loggers write."""
    lines = content_lines(text)
    if not lines:
        return True
    separator = separator_of(lines[0][1])
    try:
        columns = headings("", cells_of(lines[0][1], separator), COLUMNS)
        rows = [row_cells("", line, separator, columns) for _, line in lines[1:]]
    except InputError:
        return False
    if "temperature" not in columns and columns.keys() & {"air", "relative_humidity"}:
        return False  # of the air alone
    if "relative_humidity" in columns and not {"water_activity", "air"} & columns.keys():
        return False  # a temperature beside a humidity may be that of the air
    dated = any((stamp := stamp_of("", row.get("time", ""))) and stamp.date for row in rows)
    marked = any(
        row.get(name) and no_reading(row[name]) and not row[name].isalpha() for row in rows for name in _READ
    )
    return not dated and not marked


def log_of_logger(
    logger: LoggerFile, longest_gap_s: float = LONGEST_GAP_S, started_warm: str | None = None
) -> ThermometerLog:
    """Return the log of the meat's probe from a logger's file: what it has where the meat was read, and the air beside it.

    Parameters
    ----------
    logger : LoggerFile
    longest_gap_s : float
        As for `read_log` [s].
    started_warm : str, optional
        Why the meat was warm at the first reading.
    """
    if "meat" not in logger.values:
        raise InputError(f"{logger.name}: no column is of meat; say which, for example --columns meat=CH1")
    read = np.flatnonzero(~np.isnan(logger.values["meat"]))
    if read.size < 2:
        raise InputError(f"{logger.name}: at least two readings of the meat are needed, found {read.size}")
    lines = tuple(logger.lines[i] for i in read.tolist())
    time_s = logger.time_s[read] - logger.time_s[read[0]]
    dated = bool(logger.begins) and not logger.facts.zoned
    _check_gaps(logger.name, lines, time_s.tolist(), longest_gap_s, set_forward=dated)
    humidity, air = humidity_of(logger), logger.values.get("air")
    activity = logger.values.get("water_activity")
    return ThermometerLog(
        name=logger.name,
        lines=lines,
        time_s=time_s,
        temperature_K=logger.values["meat"][read],
        water_activity=None if activity is None else _lowest_known(time_s, activity[read]),
        relative_humidity=None if humidity is None else _lowest_known(time_s, humidity[read]),
        air_temperature_K=None if air is None else _filled(time_s, air[read]),
        started_warm=started_warm,
        fahrenheit=logger.columns["meat"].unit == "degF",
        logger=logger,
    )


def without_error(log: ThermometerLog, reads_high_K: float) -> ThermometerLog:
    """Return a log with the probe's error taken off its readings.

    Parameters
    ----------
    log : ThermometerLog
    reads_high_K : float
        By how much the probe may read too high [K].
    """
    return replace(log, temperature_K=log.temperature_K - reads_high_K, reads_high_K=reads_high_K)


def _lowest_known(time_s: Array, values: Array) -> Array:
    """Return fractions with the lower of both neighbours where one is missing; nil within a gap no credit is given for."""
    known = np.flatnonzero(~np.isnan(values))
    if not known.size:
        return np.zeros_like(values)
    after = np.searchsorted(known, np.arange(values.size)).clip(0, known.size - 1)
    before = (np.searchsorted(known, np.arange(values.size), side="right") - 1).clip(0)
    first, last = known[before], known[after]
    lowest = np.where(
        time_s[last] - time_s[first] > LONGEST_GAP_S, 0.0, np.minimum(values[first], values[last])
    )
    return np.where(np.isnan(values), lowest, values)


def read_log(text: str, name: str = "log", longest_gap_s: float = LONGEST_GAP_S) -> ThermometerLog:
    r"""Read a log from text and check it.

    Parameters
    ----------
    text : str
        Content of the file.
    name : str
        What messages call it.
    longest_gap_s : float
        Longest time between readings that is accepted [s], an hour at most. Whatever is accepted: a gap of more than a
        quarter of an hour earns no credit.

    Examples
    --------
    >>> log = read_log("time [min], temperature [degC]\n0, 20\n5, 55\n")
    >>> log.time_s.tolist(), round(float(log.temperature_K[1]), 2)
    ([0.0, 300.0], 328.15)
    """
    if not 0.0 < longest_gap_s <= _LONGEST_ACCEPTED_GAP:
        raise InputError(
            f"longest_gap_s = {longest_gap_s:g} is outside 0 to {_LONGEST_ACCEPTED_GAP:g} s: what meat does in a "
            "longer gap is not known"
        )
    lines = content_lines(text)
    if not lines:
        raise InputError(f"{name}: no line with columns found; expected for example {EXAMPLE}")
    head_line, head = lines[0]
    separator = separator_of(head)
    columns = headings(
        f"{name} line {head_line}", cells_of(head, separator, f"{name} line {head_line}"), COLUMNS
    )
    readers = _readers(f"{name} line {head_line}", columns)
    times, values = _rows(name, lines[1:], separator, columns, readers)
    numbers = tuple(number for number, _ in lines[1:])
    if len(numbers) < 2:
        raise InputError(f"{name}: at least two readings are needed, found {len(numbers)}")
    time_s, _ = times_s(times, columns["time"])
    _check_gaps(name, numbers, time_s, longest_gap_s)
    optional = {column: np.array(values[column]) if column in values else None for column in _READ[1:]}
    return ThermometerLog(
        name=name,
        lines=numbers,
        time_s=np.array(time_s),
        temperature_K=np.array(values["temperature"]),
        water_activity=optional["water_activity"],
        relative_humidity=optional["relative_humidity"],
        air_temperature_K=_filled(np.array(time_s), optional["air"]),
        started_warm=said_to_start_warm(text),
        fahrenheit="f"
        in columns["temperature"].casefold(),  # degF, °F, fahrenheit; neither degC nor K has one
    )


def _rows(
    name: str,
    lines: list[tuple[int, str]],
    separator: str,
    columns: dict[str, str],
    readers: dict[str, Reader],
) -> tuple[list[tuple[str, str]], dict[str, list[float]]]:
    """Return the typed times, each with where it stands, and the values of each column; nan for air not looked at."""
    values: dict[str, list[float]] = {column: [] for column in readers}
    times: list[tuple[str, str]] = []
    for number, line in lines:
        where = f"{name} line {number}"
        cells = row_cells(where, line, separator, columns)
        times.append((f"{where}, time", cells["time"]))
        for column, read in readers.items():
            typed = cells[column]
            left_out = column == "air" and not typed
            values[column].append(math.nan if left_out else read(f"{where}, {column}", typed))
    return times, values


def _filled(time_s: Array, values: Array | None) -> Array | None:
    """Return values with straight lines where some were left out; None where all were."""
    if values is None or np.isnan(values).all():
        return None
    known = ~np.isnan(values)
    return np.interp(time_s, time_s[known], values[known])


def said_to_start_warm(text: str) -> str | None:
    """Return why the meat was warm at the first reading, where a remark of the file says it."""
    reasons = (_STARTED_WARM.fullmatch(line) for line in text.splitlines())
    return next((reason[1] for reason in reasons if reason), None)


def _readers(where: str, columns: dict[str, str]) -> dict[str, Reader]:
    """Return the reader of each column that is looked at but the time."""
    for column in ("time", "temperature"):
        if column not in columns:
            raise InputError(f"{where}: no column {show(column)}; expected for example {EXAMPLE}")
    return {
        column: _reader(f"{where}, {column}", column, columns[column])
        for column in _READ
        if column in columns
    }


def _reader(where: str, column: str, unit: str) -> Reader:
    """Return the function that reads one cell of a column to SI."""
    if column == "temperature":  # beyond these limits a unit was mistaken or a probe is broken
        return reader(where, unit, "temperature", "-20 degC", "150 degC")
    if column == "air":
        return reader(where, unit, "temperature", "-20 degC", "150 degC")
    ratio = unit in ("", "-", "1")
    if column == "relative_humidity":
        percent = reader(where, "%" if ratio else unit, "fraction", "0 %", "100 %")
        if ratio:
            return lambda place, text: _humidity(place, text, unit, percent)
        return percent
    if not ratio:
        raise InputError(f"{where}: the unit {show(unit)} is not understood; a number from 0 to 1 has none")
    return _ratio


def _humidity(where: str, text: str, unit: str, percent: Reader) -> float:
    """Read a relative humidity from a column without a unit, or of a ratio."""
    if "%" in text:
        return percent(where, text)
    if unit:
        return _ratio(where, text)
    value = to_ratio(where, with_point(text))
    if 0.0 < value <= 1.0:
        raise InputError(
            f"{where} = {show(text)}: percent, or a ratio of 0 to 1? Write 'relative_humidity [%]' or "
            "'relative_humidity [-]' in the heading"
        )
    return percent(where, text)


def _ratio(where: str, text: str) -> float:
    value = to_ratio(where, with_point(text))
    if not 0.0 <= value <= 1.0:
        raise InputError(f"{where} = {show(text)} is outside 0 to 1")
    return value


def _check_gaps(
    name: str, lines: tuple[int, ...], times: list[float], longest_gap_s: float, *, set_forward: bool = False
) -> None:
    for line, before, now in zip(lines[1:], times[:-1], times[1:], strict=True):
        if now <= before:
            raise InputError(f"{name} line {line}: time does not go on from the line before")
        if now - before > longest_gap_s:
            gap, longest = (now - before) / 60.0, longest_gap_s / 60.0
            forward = set_forward and 60.0 <= gap < 60.0 + longest
            raise InputError(
                f"{name} line {line}: {gap:.0f} min without a reading, longer than {longest:.0f} min: what the meat did "
                "meanwhile is not known; leave out what lies before or after"
                + (
                    "; or was the clock set forward by an hour? Then export it with the time zone"
                    if forward
                    else ""
                )
            )
