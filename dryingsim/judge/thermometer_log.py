"""A thermometer's log read from CSV text and checked line by line; `judge.probe` judges it.

The file: lines starting with `#` are remarks; the first other line names the columns; then one line per reading.
Columns in any order, separated by comma, semicolon or tab:

    time,    meat [degF], air [degF], water activity, relative humidity [%]
    1:05 pm, 41,          151,        0.99,           35
    1:10 pm, 63.4,        154,        0.99,           38

Times and units are typed as `batch.reading.typed_columns` says. `meat` (or `temperature`) is that of the coldest or most
doubtful place in the meat, `water_activity` that of the same place, `air` and `relative_humidity` those of the air beside it.
Cells of `air` may be left empty. `note` is not looked at. A log begins when the cold meat goes in; where the meat was warm
by then, a remark `# started warm: reason` says why.
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Annotated

import numpy as np

from dryingsim.batch.checks import show
from dryingsim.batch.reading.text_file import read_table
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
    """Readings in SI, with the line of the file each came from; columns the file does not have are None."""

    name: str
    lines: tuple[int, ...]
    time_s: Array
    temperature_K: Array
    water_activity: Array | None
    relative_humidity: Array | None
    air_temperature_K: Array | None = None
    started_warm: str | None = None  # why the meat was warm at the first reading

    def __post_init__(self) -> None:
        for name in ("water_activity", "relative_humidity"):
            values = getattr(self, name)
            if values is not None and not np.all((np.asarray(values) >= 0.0) & (np.asarray(values) <= 1.0)):
                raise InputError(
                    f"{self.name}: {name} goes beyond 0 to 1; fractions, not percent, are expected"
                )


def read_log_file(path: str | Path, longest_gap_s: float = LONGEST_GAP_S) -> ThermometerLog:
    """Read a log from a file; see the head of this module for the format.

    Parameters
    ----------
    path : str or Path
    longest_gap_s : float
        As for `read_log` [s].
    """
    return read_log(read_table(path), Path(path).name, longest_gap_s)


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
        started_warm=_started_warm(text),
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


def _started_warm(text: str) -> str | None:
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


def _check_gaps(name: str, lines: tuple[int, ...], times: list[float], longest_gap_s: float) -> None:
    for line, before, now in zip(lines[1:], times[:-1], times[1:], strict=True):
        if now <= before:
            raise InputError(f"{name} line {line}: time does not go on from the line before")
        if now - before > longest_gap_s:
            gap, longest = (now - before) / 60.0, longest_gap_s / 60.0
            raise InputError(
                f"{name} line {line}: {gap:.0f} min without a reading, longer than {longest:.0f} min: what the meat did "
                "meanwhile is not known; leave out what lies before or after"
            )
