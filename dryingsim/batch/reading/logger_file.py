"""A logger's file read to SI: titles, any separator, dates, several probes, gaps; see `logger_table`, `_times`, `_columns`.

What comes out is in the order of time, without lines that stand twice. What was made out on the way is kept with it, so that it
can be said in one line. Wet bulb and dew point become the relative humidity of the air beside the meat.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from itertools import pairwise
from pathlib import Path
from typing import Annotated

import numpy as np

from dryingsim.batch.checks import check_choice, show
from dryingsim.batch.reading.logger_columns import (
    QUANTITIES,
    LoggerColumn,
    chosen_columns,
    said_columns,
    values_of,
)
from dryingsim.batch.reading.logger_table import LoggerTable, logger_table
from dryingsim.batch.reading.logger_time_columns import table_times
from dryingsim.batch.reading.logger_times import (
    ORDERS,
    LoggedTimes,
    spoken_time,
)
from dryingsim.batch.reading.text_file import read_written_table
from dryingsim.batch.reading.typed_columns import DAY_S, clock_s
from dryingsim.batch.units import to_si_within
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
_ENDS_EARLY_S: Annotated[
    float,
    Evidence("s", "estimate", "--until may be so much later than the last reading; a later one is a slip"),
] = 3600.0


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
    begun_s : float or None
        When the first reading was taken, since midnight of `day` [s]; None where the file has no times of day.
    day : date or None
        Of the first line of the file, where dates stand there.
    """

    name: str
    lines: tuple[int, ...]
    time_s: Array
    values: dict[str, Array]
    columns: dict[str, LoggerColumn]
    begins: str
    ends: str
    facts: "LoggerFacts"
    begun_s: float | None = None
    day: date | None = None

    @property
    def interval_s(self) -> float:
        """The usual time between readings [s]."""
        return float(np.median(np.diff(self.time_s)))


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerFacts:
    """What was made out of a file on the way: counts, lines, headings.

    Attributes
    ----------
    not_read : tuple[str, ...]
        Headings of columns that were not.
    marks : tuple[tuple[str, int], ...]
        Texts that stood for no reading.
    cut_off : int
        Lines before and after the part that was asked for.
    repeated : int
        Lines whose time stands there before.
    same_minute : int
        Lines that share a minute with another.
    newest_first : bool
        Whether the file begins with the last reading.
    set_back_line : int or None
        Line at which the clock was set back; None: nowhere.
    zoned : bool
        A time zone stands behind every time.
    footers : int
        Lines below the table.
    """

    not_read: tuple[str, ...]
    marks: tuple[tuple[str, int], ...]
    cut_off: int
    repeated: int
    same_minute: int
    newest_first: bool
    set_back_line: int | None
    zoned: bool
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
    text: str,
    name: str = "log",
    columns: str | None = None,
    dates: str | None = None,
    part: tuple[str | None, str | None] = (None, None),
    *,
    of_meat: bool = True,
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
    part : tuple of (str or None, str or None)
        From when until when the log is of this batch: times of day, or times since its first line.
    of_meat : bool
        Whether a column has to be of meat; else the file may be of the air alone.

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
    taken, times, first_s = table_times(table, said, dates)
    chosen, not_read = chosen_columns(table, said, taken, of_meat=of_meat)
    values = {quantity: values_of(table, column, quantity) for quantity, column in chosen.items()}
    marks: dict[str, int] = {}
    for column in values.values():
        for mark, count in column.marks.items():
            marks[mark] = marks.get(mark, 0) + count
    rows = _in_order(table, times, {quantity: each.si for quantity, each in values.items()})
    kept = _within(name, rows.kept, times, first_s, part)
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
        begun_s=first_s + start_s if times.by_the_clock else None,
        day=times.first,
        facts=LoggerFacts(
            not_read=tuple(not_read),
            marks=tuple(marks.items()),
            set_back_line=times.set_back_line,
            zoned=times.zoned,
            footers=table.footers,
            cut_off=len(rows.kept) - len(kept),
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
    humidity = _humidity(air, np.minimum(cool, air), kind)
    if np.any(humidity < 0.0):
        line = log.lines[int(np.argmax(humidity < 0.0))]
        raise InputError(
            f"{log.name} line {line}: no air is so dry; is the unit of the wet bulb that of the air?"
        )
    return np.clip(humidity, 0.0, 1.0)


def _humidity(air_K: Array, cool_K: Array, kind: str) -> Array:
    """Return the relative humidity of air by its dew point or wet bulb [-]; below zero where no air can be so dry."""
    vapour = (
        saturation_pressure(cool_K)
        if kind == "dew_point"
        else moist_air.vapour_pressure_from_wet_bulb(air_K, cool_K, STANDARD_PRESSURE)
    )
    return moist_air.relative_humidity(vapour, air_K)


def humidity_of_half_a_kelvin(log: LoggerFile) -> float:
    """Return by how much half a kelvin of wet bulb moves the relative humidity at most in a log [-]: where it is humid."""
    air, wet = log.values["air"], log.values["wet_bulb"]
    moved = _humidity(air, wet + 0.5, "wet_bulb") - _humidity(air, wet, "wet_bulb")
    return float(np.nanmax(moved)) if np.any(~np.isnan(moved)) else 0.0


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
            coolest = values.get("meat", values.get("air"))
            if (
                coolest is None or not coolest[row] >= coolest[last]
            ):  # the coolest of a minute counts, or none
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


def _within(
    name: str, kept: Sequence[int], times: LoggedTimes, first_s: float, part: tuple[str | None, str | None]
) -> list[int]:
    """Return the rows from one time until another; both may be left open."""
    start, length_s = times.time_s[kept[0]], times.time_s[kept[-1]] - times.time_s[kept[0]]
    goes = f"goes from {_told(times, first_s, start)} to {_told(times, first_s, start + length_s)}"
    bounds = []
    limits = (("--from", -math.inf, length_s), ("--until", math.inf, length_s + _ENDS_EARLY_S))
    for (option, default, latest_s), typed in zip(limits, part, strict=True):
        at = default if typed is None else _since_start(option, typed, times, first_s + start)
        if typed is not None and at > latest_s:
            raise InputError(f"{name}: {option} = {show(typed)} is not within the log, which {goes}")
        bounds.append(at)
    rows = [row for row in kept if bounds[0] <= times.time_s[row] - start <= bounds[1]]
    if len(rows) < 2:
        raise InputError(f"{name}: fewer than two readings lie within --from and --until; the log {goes}")
    return rows


def _told(times: LoggedTimes, first_s: float, at_s: float) -> str:
    """Return a time of the log by its clock, or since its first line."""
    return spoken_time(times, first_s, at_s) if times.by_the_clock else f"{at_s / 60.0:.0f} min"


def _since_start(option: str, typed: str, times: LoggedTimes, first_s: float) -> float:
    """Return a time of day, or since the first line, in seconds since the first line."""
    at = clock_s(typed)
    if at is None:
        return to_si_within(option, typed, "duration", "0 h", "240 h")
    if not times.by_the_clock:
        raise InputError(
            f"{option} = {show(typed)}: this log has no times of day; write for example '25 min'"
        )
    return (at - first_s) % DAY_S
