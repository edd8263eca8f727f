"""What was read of a logger's file, in one line: who is who, from when to when, how often, gaps, what was left out."""

import numpy as np

from dryingsim.batch.reading.logger_columns import LoggerColumn
from dryingsim.batch.reading.logger_file import GAP_STEPS, LoggerFile, humidity_of_half_a_kelvin
from dryingsim.show.core.quantities import count_of, spoken

_WORDS = {
    "meat": "meat",
    "air": "air",
    "wet_bulb": "wet bulb",
    "dew_point": "dew point",
    "relative_humidity": "relative humidity of the air",
    "water_activity": "water activity",
}


_UNITS = {"degC": "°C", "degF": "°F"}


def what_was_read(log: LoggerFile) -> str:
    """Return what was made out of a logger's file."""
    who = ", ".join(f"{_WORDS[quantity]} = {_column(column)}" for quantity, column in log.columns.items())
    when = f"from {log.begins} to {log.ends}" if log.begins else f"{spoken(log.time_s[-1])} long"
    every = spoken(log.interval_s) if log.interval_s % 60.0 == 0.0 else f"{log.interval_s:g} s"
    parts = [who, f"{when}, every {every}", _gaps(log), *_left_out(log), *_humidity(log)]
    return f"Read of {log.name}: {'; '.join(parts)}."


def _column(column: LoggerColumn) -> str:
    """Return the heading of a column, with its unit where the heading does not tell it."""
    unit = _UNITS.get(column.unit, column.unit)
    told = column.unit in ("%", "-") or unit in column.heading or column.unit in column.heading
    return f"'{column.heading}'" if told else f"'{column.heading}' in {unit}"


def _gaps(log: LoggerFile) -> str:
    """Return how many gaps the meat's readings have, or the first of others, and the longest."""
    values = log.values["meat"] if "meat" in log.values else next(iter(log.values.values()))
    read = np.flatnonzero(~np.isnan(values))
    steps = np.diff(log.time_s[read])
    gaps = np.flatnonzero(steps > GAP_STEPS * log.interval_s)
    if not gaps.size:
        return "no gaps"
    longest = int(gaps[np.argmax(steps[gaps])])
    count = count_of(gaps.size, "gap")
    which = "of" if gaps.size == 1 else "the longest of"
    return f"{count}, {which} {steps[longest] / 60.0:.3g} min before line {log.lines[read[longest + 1]]}"


def _left_out(log: LoggerFile) -> list[str]:
    facts = log.facts
    marks = ", ".join(
        (mark if mark == "empty" else f"'{mark}'") + f" ({count})" for mark, count in facts.marks
    )
    lines = {
        "before and after cut off": facts.cut_off,
        "given twice": facts.repeated,
        "left out for a cooler one of the same minute": facts.same_minute,
    }
    hour = f"the clock was set back by an hour before line {facts.set_back_line}"
    return [
        *([f"no reading: {marks}"] if marks else []),
        *(f"{count_of(count, 'line')} {what}" for what, count in lines.items() if count),
        *(["the newest stood first"] if facts.newest_first else []),
        *([hour] if facts.set_back_line is not None else []),
        *([f"not read: {', '.join(map(repr, facts.not_read))}"] if facts.not_read else []),
        *([f"{count_of(facts.footers, 'line')} below the readings"] if facts.footers else []),
    ]


def _humidity(log: LoggerFile) -> list[str]:
    if "relative_humidity" in log.values:
        return []
    if "wet_bulb" in log.values:
        percent = 100.0 * humidity_of_half_a_kelvin(log)
        return [
            "humidity of the air by its wet bulb (a wet wick in moving air), as at sea level: half a kelvin of it is up "
            f"to {percent:.1f} % of humidity"
        ]
    return ["humidity of the air by its dew point"] if "dew_point" in log.values else []
