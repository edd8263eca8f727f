"""Which columns of a logger's file are its times, and what they say: dates, clocks, time since the start, numbers."""

import re
from collections.abc import Sequence

from dryingsim.batch.checks import show
from dryingsim.batch.reading.logger_columns import column_named
from dryingsim.batch.reading.logger_table import LoggerTable
from dryingsim.batch.reading.logger_times import LoggedTimes, Stamp, stamp_of, times_of_stamps, with_clock
from dryingsim.errors import InputError

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


def table_times(
    table: LoggerTable, said: dict[str, str], dates: str | None
) -> tuple[list[int], LoggedTimes, float]:
    """Return the columns of time, the times of the rows, and the second of the day of the first [s].

    Parameters
    ----------
    table : LoggerTable
    said : dict
        As from `said_columns`.
    dates : str or None
        Order of the dates, where it was said.
    """
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
