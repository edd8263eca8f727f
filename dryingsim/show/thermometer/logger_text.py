"""What was read of a logger's file, in one line: who is who, from when to when, how often, gaps, what was left out."""

import numpy as np

from dryingsim.batch.reading.logger_columns import LoggerColumn
from dryingsim.batch.reading.logger_file import GAP_STEPS, LoggerFile, humidity_of_half_a_kelvin
from dryingsim.show.core.quantities import spoken

_WORDS = {
    "meat": "meat",
    "air": "air",
    "wet_bulb": "wet bulb",
    "dew_point": "dew point",
    "relative_humidity": "relative humidity of the air",
    "water_activity": "water activity",
}


def what_was_read(log: LoggerFile) -> str:
    """Return what was made out of a logger's file.

    Parameters
    ----------
    log : LoggerFile
    """
    who = ", ".join(
        f"{_WORDS[quantity]} = '{column.heading}'" + ("" if _named(column) else f" in {_unit(column.unit)}")
        for quantity, column in log.columns.items()
    )
    when = f"from {log.begins} to {log.ends}" if log.begins else f"{spoken(log.time_s[-1])} long"
    parts = [
        f"{who}; {when}, every {_interval(log.interval_s)}",
        _gaps(log),
        *_left_out(log),
        *_humidity(log),
    ]
    return f"Read of {log.name}: {'; '.join(parts)}."


def _named(column: LoggerColumn) -> bool:
    """Return whether a heading tells its unit by itself."""
    return column.unit in ("%", "-") or _unit(column.unit) in column.heading or column.unit in column.heading


def _unit(unit: str) -> str:
    return {"degC": "°C", "degF": "°F"}.get(unit, unit)


def _interval(seconds: float) -> str:
    return spoken(seconds) if seconds >= 60.0 and seconds % 60.0 == 0.0 else f"{seconds:g} s"


def _gaps(log: LoggerFile) -> str:
    """Return how many gaps the meat's readings have, or the first of others, and the longest."""
    values = log.values["meat"] if "meat" in log.values else next(iter(log.values.values()))
    read = np.flatnonzero(~np.isnan(values))
    steps = np.diff(log.time_s[read])
    gaps = np.flatnonzero(steps > GAP_STEPS * log.interval_s)
    if not gaps.size:
        return "no gaps"
    longest = int(gaps[np.argmax(steps[gaps])])
    count = "1 gap" if gaps.size == 1 else f"{gaps.size} gaps"
    which = "of" if gaps.size == 1 else "the longest of"
    return f"{count}, {which} {steps[longest] / 60.0:.3g} min before line {log.lines[read[longest + 1]]}"


def _lines(count: int) -> str:
    return "1 line" if count == 1 else f"{count} lines"


def _left_out(log: LoggerFile) -> list[str]:
    facts = log.facts
    marks = ", ".join(
        f"'{mark}' ({count})" if mark != "empty" else f"empty ({count})" for mark, count in facts.marks
    )
    texts = {
        f"no reading: {marks}": bool(marks),
        f"{_lines(facts.cut_off)} before and after cut off": facts.cut_off > 0,
        f"{_lines(facts.repeated)} given twice": facts.repeated > 0,
        f"{_lines(facts.same_minute)} left out for a cooler one of the same minute": facts.same_minute > 0,
        "the newest stood first": facts.newest_first,
        f"the clock was set back by an hour before line {facts.set_back_line}": facts.set_back_line
        is not None,
        f"not read: {', '.join(repr(heading) for heading in facts.not_read)}": bool(facts.not_read),
        f"{_lines(facts.footers)} below the readings": facts.footers > 0,
    }
    return [text for text, holds in texts.items() if holds]


def _humidity(log: LoggerFile) -> list[str]:
    if "relative_humidity" in log.values:
        return []
    if "wet_bulb" in log.values:
        percent = 100.0 * humidity_of_half_a_kelvin(log)
        return [
            "humidity of the air by its wet bulb (a wet wick in moving air), as at sea level: half a kelvin of it is "
            f"{percent:.1f} % of humidity"
        ]
    return ["humidity of the air by its dew point"] if "dew_point" in log.values else []
