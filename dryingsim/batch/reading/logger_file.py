"""A logger's file read to SI: titles, any separator, dates, several probes, gaps; see `logger_table`, `_times`, `_columns`.

What comes out is in the order of time, without lines that stand twice. What was made out on the way is kept with it, so that it
can be said in one line. Wet bulb and dew point become the relative humidity of the air beside the meat.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from pathlib import Path
from typing import Annotated

import numpy as np

from dryingsim.batch.checks import check_choice, show
from dryingsim.batch.reading.logger_columns import (
    QUANTITIES,
    LoggerColumn,
    chosen_columns,
    column_named,
    said_columns,
    values_of,
)
from dryingsim.batch.reading.logger_table import LoggerTable, logger_table
from dryingsim.batch.reading.logger_times import (
    ORDERS,
    LoggedTimes,
    Stamp,
    spoken_time,
    stamp_of,
    times_of_stamps,
    with_clock,
)
from dryingsim.batch.reading.text_file import read_written_table
from dryingsim.constants import STANDARD_PRESSURE
from dryingsim.errors import InputError
from dryingsim.evidence import Evidence
from dryingsim.properties import moist_air
from dryingsim.properties.water import saturation_pressure
from dryingsim.typing import Array

GAP_STEPS: Annotated[float, Evidence("-", "estimate", "usual intervals from which on a step is a gap")] = 2.5
_THERMOMETERS_K: Annotated[
    float, Evidence("K", "estimate", "two thermometers in saturated air may stand apart by so much")
] = 1.5
_LONGEST_S = 10 * 86400.0
_ELAPSED = re.compile(
    r"elapsed|duration|\bdate\b|\btime\b|\bmin(?:utes?|s)?\b|\bsec(?:onds?|s)?\b|\bhours?\b|[\[(]\s*(?:h|s)\s*[\])]"
)
_UNITS = {"ms": 1e-3, "s": 1.0, "min": 60.0, "h": 3600.0, "day": 86400.0}
_UNIT_WORDS = (
    ("ms", r"\bms\b|milliseconds?"),
    ("s", r"\bs\b|\bsecs?\b|seconds?"),
    ("min", r"\bmins?\b|minutes?"),
    ("h", r"\bh\b|\bhrs?\b|\bhours?\b"),
)
_SERIAL_DAYS = (36526.0, 51136.0)  # as spreadsheets count days: 2000 to 2039
_EPOCH = {"s": (1e9, 2.2e9), "ms": (1e12, 2.2e12)}  # of seconds or milliseconds since 1970: 2001 to 2039
_HALF_DAY = re.compile(r"[ap]\.?m\.?", re.IGNORECASE)
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?")


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerFile:
    """Readings of a logger in SI; arrays of shape (reading,), nan where there is none.

    Attributes
    ----------
    name : str
    lines : tuple of int
        Of the file, one per reading.
    time_s : ndarray
        Since the first reading [s], rising.
    values : dict of str to ndarray
        By quantity: temperatures [K], fractions [-].
    columns : dict of str to LoggerColumn
        Where each stood.
    begins, ends : str
        As told, with the date where there is one.
    facts : LoggerFacts
    """

    name: str
    lines: tuple[int, ...]
    time_s: Array
    values: dict[str, Array]
    columns: dict[str, LoggerColumn]
    begins: str
    ends: str
    facts: "LoggerFacts"

    @property
    def interval_s(self) -> float:
        """The usual time between readings [s]."""
        return float(np.median(np.diff(self.time_s)))


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerFacts:
    """What was made out of a file on the way: counts, lines, headings."""

    not_read: tuple[str, ...]
    marks: tuple[tuple[str, int], ...]  # texts that stood for no reading
    repeated: int
    same_minute: int
    newest_first: bool
    set_back_line: int | None
    footers: int


def read_logger_file(path: str | Path, columns: str | None = None, dates: str | None = None) -> LoggerFile:
    """Read a logger's file.

    Parameters
    ----------
    path : str or Path
    columns, dates : str, optional
        As for `parse_logger_file`.
    """
    return parse_logger_file(read_written_table(path), Path(path).name, columns, dates)


def parse_logger_file(
    text: str, name: str = "log", columns: str | None = None, dates: str | None = None
) -> LoggerFile:
    r"""Read the text of a logger's file.

    Parameters
    ----------
    text : str
    name : str
        What messages call it.
    columns : str, optional
        Which column is of what, as with `--columns`: "meat=CH1,wet_bulb=CH3".
    dates : str, optional
        Order of the dates: `day-first`, `month-first` or `year-first`.

    Examples
    --------
    >>> log = parse_logger_file("Kitchen 3\nTime;Meat °F\n10:00:00;41,0\n10:01:00;43,7\n10:02:00;---\n")
    >>> log.time_s.tolist(), log.values["meat"].round(2).tolist()
    ([0.0, 60.0, 120.0], [278.15, 279.65, nan])
    """
    if dates is not None:
        check_choice("--dates", dates, tuple(ORDERS))
    said = said_columns(columns)
    table = logger_table(text, name)
    taken, times, first_s = _times(table, said, dates)
    chosen, not_read = chosen_columns(table, said, taken)
    values = {quantity: values_of(table, column, quantity) for quantity, column in chosen.items()}
    marks: dict[str, int] = {}
    for column in values.values():
        for mark, count in column.marks.items():
            marks[mark] = marks.get(mark, 0) + count
    rows = _in_order(table, times, {quantity: each.si for quantity, each in values.items()})
    kept = list(rows.kept)
    time_s = np.array(times.time_s)[kept]
    start_s = float(time_s[0])
    set_back_s = 0.0 if times.set_back_line is None else 3600.0
    return LoggerFile(
        name=name,
        lines=tuple(table.rows[i][0] for i in kept),
        time_s=time_s - start_s,
        values={
            quantity: np.array(values[quantity].si)[kept] for quantity in QUANTITIES if quantity in values
        },
        columns=chosen,
        begins=spoken_time(times, first_s, start_s) if times.by_the_clock else "",
        ends=spoken_time(times, first_s, float(time_s[-1]) - set_back_s) if times.by_the_clock else "",
        facts=LoggerFacts(
            not_read=tuple(not_read),
            marks=tuple(marks.items()),
            set_back_line=times.set_back_line,
            footers=table.footers,
            repeated=rows.repeated,
            same_minute=rows.same_minute,
            newest_first=rows.newest_first,
        ),
    )


def humidity_of(log: LoggerFile) -> Array | None:
    """Return the relative humidity of the air beside the meat [-], as logged or of its wet bulb or dew point; or None.

    The wet bulb is taken at sea level: higher up the same wet bulb stands for moister air, so that this errs to the dry side.
    """
    values = log.values
    if "relative_humidity" in values:
        return values["relative_humidity"]
    kind = next((quantity for quantity in ("wet_bulb", "dew_point") if quantity in values), None)
    if kind is None:
        return None
    if "air" not in values:
        word = kind.replace("_", " ")
        raise InputError(
            f"{log.name}: a {word} tells the humidity only with the air's temperature; which column is it? Add --columns air=CH2"
        )
    air, cool = values["air"], values[kind]
    above = np.flatnonzero(cool > air + _THERMOMETERS_K)
    if above.size:
        i = int(above[0])
        raise InputError(
            f"{log.name} line {log.lines[i]}: the {kind.replace('_', ' ')} ({show(log.columns[kind].heading)}) is hotter than "
            f"the air ({show(log.columns['air'].heading)}); are they swapped?"
        )
    cool = np.minimum(cool, air)
    vapour = (
        saturation_pressure(cool)
        if kind == "dew_point"
        else moist_air.vapour_pressure_from_wet_bulb(air, cool, STANDARD_PRESSURE)
    )
    if np.any(vapour < 0.0):
        line = log.lines[int(np.argmax(vapour < 0.0))]
        raise InputError(
            f"{log.name} line {line}: no air is so dry; is the unit of the wet bulb that of the air?"
        )
    return np.clip(moist_air.relative_humidity(vapour, air), 0.0, 1.0)


@dataclass(frozen=True, slots=True)
class _Rows:
    """Which rows are kept, in the order of time, and how many were not."""

    kept: tuple[int, ...]
    repeated: int
    same_minute: int
    newest_first: bool


# --- rows in the order of time -----------------------------------------------------------------------------------------
def _in_order(table: LoggerTable, times: LoggedTimes, values: dict[str, list[float]]) -> "_Rows":
    """Return the rows to keep, in the order of time, and how many were left out; raise where time does not go on."""
    at = list(times.time_s)
    rows = list(range(len(at)))
    newest_first = at[0] > at[-1] and all(later <= before for before, later in pairwise(at))
    if newest_first:
        rows.reverse()
    kept, repeated, same_minute = rows[:1], 0, 0
    for row in rows[1:]:
        last = kept[-1]
        if at[row] > at[last]:
            kept.append(row)
        elif at[row] < at[last]:
            raise InputError(f"{table.name} line {table.rows[row][0]}: time goes back from the line before")
        elif table.rows[row][1] == table.rows[last][1]:
            repeated += 1
        elif not times.to_the_second:
            same_minute += 1
            if not values["meat"][row] >= values["meat"][last]:  # the coolest of a minute counts, or none
                kept[-1] = row
        else:
            raise InputError(
                f"{table.name} line {table.rows[row][0]}: other readings than in line {table.rows[last][0]} at the same time; "
                "leave one of them out"
            )
    if len(kept) < 2:
        raise InputError(f"{table.name}: all readings are of one time; at least two are needed")
    longest = at[kept[-1]] - at[kept[0]]
    if longest > _LONGEST_S:
        raise InputError(
            f"{table.name}: from first to last line it is {longest / 86400.0:.0f} days; leave out what is not of this batch"
        )
    return _Rows(tuple(kept), repeated, same_minute, newest_first)


# --- which columns are time ----------------------------------------------------------------------------------------------
def _times(
    table: LoggerTable, said: dict[str, str], dates: str | None
) -> tuple[list[int], LoggedTimes, float]:
    """Return the columns of time, the times of the rows, and the second of the day of the first [s]."""
    named = [column_named(table, said[word]) for word in ("date", "time") if word in said]
    units = {index: unit for index, unit in named}
    candidates = [index for index, _ in named] or list(range(len(table.headings)))
    kinds = {i: _kind(table, i) for i in candidates}
    whole = [i for i in candidates if kinds[i] == "stamp"]
    days = [i for i in candidates if kinds[i] == "date"]
    clocks = [i for i in candidates if kinds[i] == "clock"]
    taken = whole[:1] or (days[:1] + clocks[:1] if days and clocks else clocks[:1])
    if not taken:
        return _by_number(table, candidates, units, bool(named))
    halves = [i for i in candidates if all(_HALF_DAY.fullmatch(cell) for cell in table.column(i))][:1]
    every = [_stamps(table, i, halves if i == taken[-1] else []) for i in taken]
    stamps = every[0] if len(every) == 1 else [with_clock(*pair) for pair in zip(*every, strict=True)]
    lines = [line for line, _ in table.rows]
    heading = " ".join(table.headings[i] for i in taken) + " " + " ".join(units.values())
    if stamps[0].date is None and _is_elapsed(heading, stamps):
        return taken, _elapsed_clock(stamps, heading), 0.0
    times = times_of_stamps(stamps, lines, dates, [heading, *table.titles])
    return [*taken, *halves], times, stamps[0].second_of_day


def _kind(table: LoggerTable, index: int) -> str:
    """Return what the cells of a column are, most of them: stamps, dates, clocks, numbers, or something else."""
    kinds = []
    for line, cells in table.rows[:50]:
        stamp = stamp_of(f"{table.name} line {line}", cells[index])
        if stamp is None:
            kinds.append("number" if _NUMBER.fullmatch(cells[index]) else "")
        else:
            kinds.append("clock" if stamp.date is None else "stamp" if stamp.parts else "date")
    return max(set(kinds), key=kinds.count)


def _stamps(table: LoggerTable, index: int, halves: Sequence[int]) -> list[Stamp]:
    """Return the stamps of a column, with am or pm of another where they stand apart."""
    stamps = []
    for line, cells in table.rows:
        where = f"{table.name} line {line}, {table.headings[index]}"
        stamp = stamp_of(where, " ".join(cells[i] for i in (index, *halves)))
        if stamp is None:
            raise InputError(f"{where} = {show(cells[index])}: no such date or time")
        stamps.append(stamp)
    return stamps


def _is_elapsed(heading: str, stamps: Sequence[Stamp]) -> bool:
    words = heading.lower()
    if re.search(r"elapsed|duration|mm:ss|min:s|since", words):
        return True
    return stamps[0].second_of_day == 0.0 or any(stamp.second_of_day >= 86400.0 for stamp in stamps)


def _elapsed_clock(stamps: Sequence[Stamp], heading: str) -> LoggedTimes:
    """Return times since the start that are written like those of a clock."""
    if stamps[0].half_day:
        raise InputError(
            f"{stamps[0].where} = {show(stamps[0].text)}: a time since the start has no am or pm"
        )
    words, share = heading.lower(), 1.0
    three = any(stamp.parts == 3 for stamp in stamps)
    if not three:
        if re.search(r"(?<!h:)mm:ss|min:s|\bm:s", words):
            share = 1.0 / 60.0
        elif not re.search(r"h+:m", words):
            raise InputError(
                f"{stamps[0].where} = {show(stamps[0].text)}: hours and minutes, or minutes and seconds? Add --columns "
                f"'time={heading.strip()} [h:min]' or '[min:s]'"
            )
    seconds = [share * stamp.second_of_day for stamp in stamps]
    return LoggedTimes(time_s=tuple(value - seconds[0] for value in seconds), by_the_clock=False)


def _by_number(
    table: LoggerTable, candidates: Sequence[int], units: dict[int, str], named: bool
) -> tuple[list[int], LoggedTimes, float]:
    """Return times that are numbers: since the start, in the unit of the heading, or since 1970."""
    at = [
        i
        for i in candidates
        if _kind(table, i) == "number"
        and (named or _ELAPSED.search(table.headings[i].lower().replace("_", " ")))
    ]
    if not at:
        raise InputError(
            f"{table.name}: no column holds times among {table.listed}; say which, for example "
            "--columns 'time=1 [min]'"
        )
    index = at[0]
    heading = table.headings[index]
    numbers = []
    for line, cells in table.rows:
        if not _NUMBER.fullmatch(cells[index]):
            raise InputError(
                f"{table.name} line {line}, {heading} = {show(cells[index])}: a time is expected"
            )
        numbers.append(float(cells[index].replace(",", ".")))
    scale = _UNITS[_unit_of_time(table, heading, units.get(index, ""), numbers)]
    times = tuple(scale * (value - numbers[0]) for value in numbers)
    return [index], LoggedTimes(time_s=times, by_the_clock=False), 0.0


def _unit_of_time(table: LoggerTable, heading: str, said: str, numbers: Sequence[float]) -> str:
    for unit, (low, high) in _EPOCH.items():
        if all(low <= value <= high for value in numbers):
            return unit
    low, high = _SERIAL_DAYS
    if "date" in heading.lower() and all(low <= value <= high for value in numbers):
        return "day"
    words = (said or heading).lower().replace("_", " ")
    named = [unit for unit, pattern in _UNIT_WORDS if re.search(pattern, words)]
    if len(named) == 1:
        return named[0]
    raise InputError(
        f"{table.name}: column {show(heading)}: seconds or minutes? Add --columns 'time={heading} [s]' or "
        f"'time={heading} [min]'"
    )
