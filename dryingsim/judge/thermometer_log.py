"""A thermometer's log read from CSV text, checked, and judged: kill per organism, and a federal table.

The file: lines starting with `#` are remarks; the first other line names the columns, each with its unit in
brackets; then one line per reading. Columns in any order, separated by comma, semicolon or tab:

    time [min], temperature [degF], water_activity, relative_humidity [%]
    0,          41,                 0.99,           35
    2.5,        63.4,               0.99,           38

`time [clock]` takes 14:05 or 14:05:30; past midnight it goes on. With semicolon or tab a decimal comma is
read too. `temperature` is that of the coldest or most doubtful place in the meat, `water_activity` that of
the same place, `relative_humidity` that of the air (it serves the federal table only).
"""

import math
import re
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from dryingsim.batch.catalog import organisms as catalog
from dryingsim.batch.catalog.organisms import EstimateSet
from dryingsim.batch.checks import check_choice, hint, show
from dryingsim.batch.typed_columns import DAY_S, separator_of
from dryingsim.errors import InputError
from dryingsim.judge.federal_table import RULES, TableCompliance, table_compliance
from dryingsim.judge.lethality import CAUTIONS, log_reductions
from dryingsim.typing import Array

COLUMNS = ("time", "temperature", "water_activity", "relative_humidity")
_COLDEST, _HOTTEST = 253.15, 423.15  # K; outside -20 to 150 degC a unit was mistaken or a probe is broken
_LONGEST_GAP = 900.0  # s; estimate: meat can rise and fall by several kelvin in a quarter of an hour
_HEADING = re.compile(r"\s*([A-Za-z_]+(?: [A-Za-z_]+)*)\s*(?:[\[(]\s*(.*?)\s*[\])])?\s*")
_CLOCK = re.compile(r"(\d{1,2}):(\d\d)(?::(\d\d))?")

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
    place = Path(path)
    try:
        text = place.read_text(encoding="utf-8-sig")
    except OSError as error:
        raise InputError(f"{place} cannot be read ({error.strerror or error})") from error
    except UnicodeDecodeError as error:
        raise InputError(f"{place} is not a text file; save the log as CSV, in UTF-8") from error
    return read_log(text, place.name, longest_gap_s)


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
    lines = [
        (number, line)
        for number, line in enumerate(text.splitlines(), start=1)
        if line.strip() and not line.lstrip().startswith("#")
    ]
    if not lines:
        raise InputError(
            f"{name}: no line with columns found; expected for example 'time [min], temperature [degC]'"
        )
    head_line, head = lines[0]
    separator = separator_of(head)
    readers = _readers(f"{name} line {head_line}", head.split(separator))
    values: dict[str, list[float]] = {column: [] for column in readers}
    for number, line in lines[1:]:
        where, cells = f"{name} line {number}", line.split(separator)
        if len(cells) != len(readers):
            raise InputError(f"{where}: {len(cells)} values, but the heading has {len(readers)} columns")
        for (column, read), cell in zip(readers.items(), cells, strict=True):
            text_value = cell.strip() if separator == "," else cell.strip().replace(",", ".")
            values[column].append(read(f"{where}, {column}", text_value))
    numbers = tuple(number for number, _ in lines[1:])
    if len(numbers) < 2:
        raise InputError(f"{name}: at least two readings are needed, found {len(numbers)}")
    clock = "clock" in _unit_of(head, separator, "time")
    values["time"] = _checked_times(name, numbers, values["time"], clock, longest_gap_s)
    optional = {column: np.array(values[column]) if column in values else None for column in COLUMNS[2:]}
    return ThermometerLog(
        name=name,
        lines=numbers,
        time_s=np.array(values["time"]),
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


def _compliance(log: ThermometerLog, table: str, target: float, rule: str) -> TableCompliance:
    check_choice("rule", rule, RULES)
    if log.relative_humidity is None:
        raise InputError(f"{log.name}: no column relative_humidity; a federal table counts in humid air only")
    return table_compliance(log.time_s, log.temperature_K, log.relative_humidity, table, target, RULES[rule])


def _readers(where: str, headings: list[str]) -> dict[str, Reader]:
    """Return the reader of each column, in the order of the file."""
    readers: dict[str, Reader] = {}
    for heading in headings:
        match = _HEADING.fullmatch(heading)
        column = match[1].lower().replace(" ", "_") if match else heading.strip()
        if match is None or column not in COLUMNS:
            near = hint(column, COLUMNS) or ";"
            raise InputError(
                f"{where}: column {show(heading.strip())} is not known{near} known: {', '.join(COLUMNS)}"
            )
        if column in readers:
            raise InputError(f"{where}: column {show(column)} stands twice")
        readers[column] = _reader(f"{where}, {column}", column, match[2] or "")
    for column in COLUMNS[:2]:
        if column not in readers:
            raise InputError(
                f"{where}: no column {show(column)}; expected for example 'time [min], temperature [degC]'"
            )
    return readers


def _reader(where: str, column: str, unit: str) -> Reader:
    """Return the function that reads one cell of a column to SI."""
    if column == "time":
        return _clock_time if unit == "clock" else _affine(where, "duration", unit, -math.inf, math.inf, "")
    if column == "temperature":
        return _affine(where, "temperature", unit, _COLDEST, _HOTTEST, "-20 to 150 degC: is the unit right?")
    if unit in ("%", "percent") and column == "relative_humidity":
        return _affine(where, "fraction", unit, 0.0, 1.0, "0 to 100 %")
    if unit not in ("", "-", "1"):
        raise InputError(f"{where}: the unit {show(unit)} is not understood; a number from 0 to 1 has none")
    return _ratio(0.0, 1.0, "0 to 1")


def _affine(where: str, dimension: str, unit: str, low: float, high: float, limits: str) -> Reader:
    """Return a reader for a unit of the heading: two conversions give its scale and its zero."""
    from dryingsim.batch.units import to_si  # the only use of units here; slow to import

    if not unit:
        raise InputError(
            f"{where}: the heading gives no unit; write for example 'time [min]' or 'temperature [degC]'"
        )
    zero = to_si(where, f"0 {unit}", dimension)
    scale = to_si(where, f"1 {unit}", dimension) - zero
    return _ratio(low, high, limits, scale, zero)


def _ratio(low: float, high: float, limits: str, scale: float = 1.0, zero: float = 0.0) -> Reader:
    def read(where: str, text: str) -> float:
        value = zero + scale * _number(where, text)
        if not low <= value <= high:
            raise InputError(f"{where} = {show(text)} is outside {limits}")
        return value

    return read


def _number(where: str, text: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = math.nan
    if not math.isfinite(value):
        raise InputError(f"{where} = {show(text)}: a number is expected")
    return value


def _clock_time(where: str, text: str) -> float:
    match = _CLOCK.fullmatch(text)
    hours, minutes, seconds = (int(part or 0) for part in match.groups()) if match else (99, 0, 0)
    if hours > 23 or minutes > 59 or seconds > 59:
        raise InputError(f"{where} = {show(text)}: a time of day is expected, for example 14:05 or 14:05:30")
    return 3600.0 * hours + 60.0 * minutes + seconds


def _unit_of(head: str, separator: str, column: str) -> str:
    found = (_HEADING.fullmatch(heading) for heading in head.split(separator))
    return next((match[2] or "" for match in found if match and match[1].lower() == column), "")


def _checked_times(
    name: str, lines: tuple[int, ...], times: list[float], clock: bool, longest_gap_s: float
) -> list[float]:
    """Return times that rise; a clock that falls by more than half a day has passed midnight."""
    checked = times[:1]
    days = 0
    for line, before, now in zip(lines[1:], times, times[1:], strict=False):
        if clock and now < before - DAY_S / 2:
            days += 1
        step = now + days * DAY_S - checked[-1]
        if step <= 0.0:
            raise InputError(f"{name} line {line}: time does not go on from the line before")
        if step > longest_gap_s:
            gap, longest = step / 60.0, longest_gap_s / 60.0
            raise InputError(
                f"{name} line {line}: {gap:.0f} min without a reading, longer than {longest:.0f} min"
            )
        checked.append(now + days * DAY_S)
    return checked
