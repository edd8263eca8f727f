"""A thermometer's log read from CSV text, checked, and judged: kill per organism, and a federal table.

The file: lines starting with `#` are remarks; the first other line names the columns; then one line per reading.
Columns in any order, separated by comma, semicolon or tab:

    time,    meat [degF], water activity, relative humidity [%]
    1:05 pm, 41,          0.99,           35
    1:10 pm, 63.4,        0.99,           38

Times and units are typed as `dryingsim.batch.typed_columns` says. `meat` (or `temperature`) is that of the coldest or most
doubtful place in the meat, `water_activity` that of the same place, `relative_humidity` that of the air (it serves the
federal table only). `air` and `note` are not looked at.
"""

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.catalog.organisms import EstimateSet
from dryingsim.batch.checks import check_choice, show
from dryingsim.batch.text_file import read_table
from dryingsim.batch.typed_columns import (
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
from dryingsim.judge.federal_table import RULES, TableCompliance, table_compliance
from dryingsim.judge.lethality import CAUTIONS, log_reductions
from dryingsim.properties.water import saturation_pressure
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
_READ = ("temperature", "water_activity", "relative_humidity")
_HIGHEST_PRESSURE = 1.1e5  # Pa, of any kitchen
_STANDS_OUT_K, _AGREE_K = 8.0, 8.0  # estimate: meat does not rise and fall again by so much between readings
_LONGEST_GAP = 900.0  # s; estimate: meat can rise and fall by several kelvin in a quarter of an hour

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


@dataclass(frozen=True, slots=True, kw_only=True)
class LogJudgement:
    """What the logged history does, at the place of the probe."""

    reductions: dict[str, dict[EstimateSet, Array]]  # organism, set: cumulative log10 at every reading
    compliance: TableCompliance | None
    remarks: tuple[str, ...]
    cautions: tuple[str, ...] = CAUTIONS


def read_log_file(path: str | Path, longest_gap_s: float = _LONGEST_GAP) -> ThermometerLog:
    """Read a log from a file; see the head of this module for the format."""
    return read_log(read_table(path), Path(path).name, longest_gap_s)


def read_log(text: str, name: str = "log", longest_gap_s: float = _LONGEST_GAP) -> ThermometerLog:
    r"""Read a log from text and check it.

    Parameters
    ----------
    text : str
        Content of the file.
    name : str
        What messages call it.
    longest_gap_s : float
        Longest time between readings that is accepted [s].

    Examples
    --------
    >>> log = read_log("time [min], temperature [degC]\n0, 20\n5, 55\n")
    >>> log.time_s.tolist(), round(float(log.temperature_K[1]), 2)
    ([0.0, 300.0], 328.15)
    """
    lines = content_lines(text)
    if not lines:
        raise InputError(f"{name}: no line with columns found; expected for example {EXAMPLE}")
    head_line, head = lines[0]
    separator = separator_of(head)
    columns = headings(f"{name} line {head_line}", cells_of(head, separator), COLUMNS)
    readers = _readers(f"{name} line {head_line}", columns)
    values: dict[str, list[float]] = {column: [] for column in readers}
    times: list[tuple[str, str]] = []
    for number, line in lines[1:]:
        where = f"{name} line {number}"
        cells = row_cells(where, line, separator, columns)
        times.append((f"{where}, time", cells["time"]))
        for column, read in readers.items():
            values[column].append(read(f"{where}, {column}", cells[column]))
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
    )


def judge_log(
    log: ThermometerLog,
    *,
    water_activity: float | None = None,
    table: str | None = None,
    target: float = 6.5,
    rule: str = "2014 option B",
) -> LogJudgement:
    """Judge a log: cumulative reductions of every organism by both sets, and a federal table if one is named.

    Parameters
    ----------
    log : ThermometerLog
        As read.
    water_activity : float, optional
        Taken for all readings [-] if the log has no such column: 0.99 for meat known to have stayed wet at
        the probe. There is no default, because dryness decides the answer.
    table, target, rule : str, float, str
        As in `table_compliance`; `rule` is a key of `RULES`. The log then needs relative humidity.
    """
    activity = log.water_activity
    remarks = []
    if activity is None:
        if water_activity is None:
            raise InputError(
                f"{log.name}: no column water_activity; say what it was at the probe (0.99 only if the meat "
                "stayed wet there)"
            )
        if not 0.0 < water_activity <= 1.0:
            raise InputError(f"{log.name}: water activity {water_activity:g} is outside 0 to 1")
        activity = np.full_like(log.temperature_K, water_activity)
        remarks.append(f"water activity was not logged; {water_activity:g} was assumed throughout")
    _check_possible(log, activity)
    remarks += _slips(log)
    log = counted(log)
    reductions = {
        organism: {
            estimate: log_reductions(log.time_s, log.temperature_K, activity, organism, estimate)
            for estimate in catalog.SETS
        }
        for organism in catalog.organisms()
    }
    hottest = min(catalog.hottest_measured_K(organism) for organism in reductions)
    if log.temperature_K.max() > hottest:
        line = log.lines[int(np.argmax(log.temperature_K > hottest))]
        remarks.append(f"from line {line} on hotter than measured in wet meat: D is held constant")
    remarks.append("the judgement holds for the place of the probe only, not for the whole piece")
    compliance = None if table is None else _compliance(log, table, target, rule)
    return LogJudgement(reductions=reductions, compliance=compliance, remarks=tuple(remarks))


def counted(log: ThermometerLog) -> ThermometerLog:
    """Return the log with single readings far above both neighbours, which agree, brought down to them."""
    t = log.temperature_K
    beside = np.maximum(t[:-2], t[2:])
    return replace(
        log, temperature_K=np.concatenate([t[:1], np.where(_stands_out(t), beside, t[1:-1]), t[-1:]])
    )


def _stands_out(temperature: Array) -> Array:
    """Whether each reading but the first and the last is like a slip of the pen."""
    before, now, after = temperature[:-2], temperature[1:-1], temperature[2:]
    return (np.abs(after - before) <= _AGREE_K) & (now - np.maximum(before, after) >= _STANDS_OUT_K)


def _slips(log: ThermometerLog) -> list[str]:
    return [
        f"line {log.lines[i + 1]} stands out: far hotter than the lines before and after it; it is not counted"
        for i in np.flatnonzero(_stands_out(log.temperature_K)).tolist()
    ]


def _check_possible(log: ThermometerLog, activity: Array) -> None:
    """Raise where the meat would boil: a unit was mistaken, or the probe was not in wet meat."""
    boiling = np.flatnonzero(activity * saturation_pressure(log.temperature_K) > _HIGHEST_PRESSURE)
    if boiling.size:
        i = int(boiling[0])
        raise InputError(
            f"{log.name} line {log.lines[i]}: meat of a water activity of {activity[i]:g} boils before it is as hot as "
            f"{log.temperature_K[i] - 273.15:.0f} degC; is the unit of the temperature right, and the water activity?"
        )


def _compliance(log: ThermometerLog, table: str, target: float, rule: str) -> TableCompliance:
    check_choice("rule", rule, RULES)
    if log.relative_humidity is None:
        raise InputError(f"{log.name}: no column relative_humidity; a federal table counts in humid air only")
    return table_compliance(log.time_s, log.temperature_K, log.relative_humidity, table, target, RULES[rule])


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
    ratio = unit in ("", "-", "1")
    if column == "relative_humidity":
        percent = reader(where, "%" if ratio else unit, "fraction", "0 %", "100 %")
        return lambda place, text: (_ratio if ratio and "%" not in text else percent)(place, text)
    if not ratio:
        raise InputError(f"{where}: the unit {show(unit)} is not understood; a number from 0 to 1 has none")
    return _ratio


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
