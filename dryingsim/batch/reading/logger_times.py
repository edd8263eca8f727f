"""Times as loggers write them: date and time in one column or two, of the day alone, or elapsed; to seconds since the first.

A date's order is taken from what stands there: a year in front, a month by name, a day above 12, dots (day first wherever dates
have dots), a `dd/mm` among the titles, or rows that go on from day to day in one order only. Where two orders remain, that is
asked. Time zones behind the times are heeded; a clock that falls back by an hour was set back.
"""

import re
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import date, timedelta

import numpy as np

from dryingsim.batch.checks import show
from dryingsim.batch.reading.typed_columns import DAY_S
from dryingsim.errors import InputError

ORDERS = {"day-first": "dmy", "month-first": "mdy", "year-first": "ymd"}
_MONTHS = ("jan", "feb", "mar", "apr", "may", "jun", "jul", "aug", "sep", "oct", "nov", "dec")
_NAME = "(" + "|".join(_MONTHS) + r")[a-z]*"
_NUMERIC = re.compile(r"(\d{1,4})([-/.])(\d{1,2})\2(\d{1,4})")
_NAMED = (
    (re.compile(rf"(\d{{1,2}})[-\s./]*{_NAME}[-\s.,/]*(\d{{4}}|\d\d)(?!:)", re.IGNORECASE), (2, 1, 0)),
    (re.compile(rf"{_NAME}[-\s.]*(\d{{1,2}})[,\s]+(\d{{4}})", re.IGNORECASE), (2, 0, 1)),
    (re.compile(rf"(\d{{4}})[-\s./]+{_NAME}[-\s./]+(\d{{1,2}})", re.IGNORECASE), (0, 1, 2)),
)
_WEEKDAY = re.compile(r"(?:mon|tue|wed|thu|fri|sat|sun)[a-z]*[\s.,]+", re.IGNORECASE)
_CLOCK = re.compile(r"(\d{1,3}):(\d\d)(?::(\d\d(?:[.,]\d+)?))?\s*(?:([ap])\.?\s*m\.?)?\s*(.*)", re.IGNORECASE)
_OFFSET = re.compile(r"(?:utc|gmt)?\s*([+-])(\d{1,2}):?(\d\d)?", re.IGNORECASE)
# hours before or after UTC; from memory. Only their differences count, so that it does not matter whose CST or BST it is
_HOURS = {
    "z utc gmt wet": 0.0,
    "bst west cet": 1.0,
    "cest eet": 2.0,
    "eest": 3.0,
    "edt": -4.0,
    "est cdt": -5.0,
    "cst mdt": -6.0,
    "mst pdt": -7.0,
    "pst": -8.0,
}
_ZONES = {zone: hours for zones, hours in _HOURS.items() for zone in zones.split()}
_HOUR_S = 3600.0
_SOME_STEPS = 2.5  # usual intervals from which on a step is a gap
_LONGEST_DAYS = 10.0


@dataclass(frozen=True, slots=True)
class Stamp:
    """A cell of time: where it stands, a date in numbers (its order open), seconds of the day, the zone's offset [s].

    Attributes
    ----------
    text : str
        As it stands there.
    orders : tuple[str, ...]
        Of day, month and year that it may be in.
    second_of_day : float
        [s].
    offset_s : float or None
        Of its zone [s]; None: it names none.
    parts : int
        Of its clock: two without seconds, three with.
    half_day : bool
        Whether it is told with am or pm.
    """

    where: str
    text: str
    date: tuple[int, int, int] | None
    orders: tuple[str, ...]
    second_of_day: float
    offset_s: float | None
    parts: int
    half_day: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggedTimes:
    """Times of the rows.

    Attributes
    ----------
    time_s : tuple of float
        Since the first row [s]; not sorted where the file is not.
    first : date or None
        Of the first row, where dates stand there.
    to_the_second : bool
        Whether times are finer than a minute.
    set_back_line : int or None
        Where the clock was set back by an hour.
    zoned : bool
        Whether the zone stands behind every time.
    by_the_clock : bool
        Whether these are times of day; else times since the start.
    """

    time_s: tuple[float, ...]
    first: date | None = None
    to_the_second: bool = True
    set_back_line: int | None = None
    zoned: bool = False
    by_the_clock: bool = True


def stamp_of(where: str, text: str) -> Stamp | None:
    """Return a date, a time of day or both as read from a cell, or None where it is neither.

    Parameters
    ----------
    where : str
        Its place, for messages.
    text : str

    Examples
    --------
    >>> stamp_of("line 2", "3/4/2026 1:05 PM").second_of_day, stamp_of("line 2", "12")
    (47100.0, None)
    """
    rest = _WEEKDAY.sub("", text.strip(), count=1) if text[:1].isalpha() else text.strip()
    found = _date_in(rest)
    if found is None:
        clock = _clock(rest)
        return None if clock is None else Stamp(where, text, None, (), *clock)
    numbers, orders, before, after = found
    remainder = re.sub(r"^(?:[\s,]|T(?=\d))+|[\s,]+$", "", f"{before} {after}")
    clock = _clock(remainder) if remainder else (0.0, None, 0, False)
    return None if clock is None else Stamp(where, text, numbers, orders, *clock)


def _date_in(text: str) -> tuple[tuple[int, int, int], tuple[str, ...], str, str] | None:
    """Return the numbers of a date in the order they stand, the orders they can be in, and what stands around it."""
    for pattern, (year, month, day) in _NAMED:
        match = pattern.search(text)
        if match:
            typed = match.groups()
            numbers = int(typed[year]), _MONTHS.index(typed[month].lower()[:3]) + 1, int(typed[day])
            return numbers, ("ymd",), text[: match.start()], text[match.end() :]
    match = _NUMERIC.search(text)
    if not match:
        return None
    first, mark, middle, last = match.groups()
    if len(first) > 2:
        orders: tuple[str, ...] = ("ymd",)
    elif mark == ".":
        orders = ("dmy",)
    else:
        orders = ("dmy", "mdy") if len(last) > 2 else ("dmy", "mdy", "ymd")
    return (int(first), int(middle), int(last)), orders, text[: match.start()], text[match.end() :]


def _clock(text: str) -> tuple[float, float | None, int, bool] | None:
    """Return the seconds of a day, the offset of its zone, how many parts it has and whether am or pm stands there."""
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        return None
    hours, minutes, seconds = int(match[1]), int(match[2]), float((match[3] or "0").replace(",", "."))
    half = (match[4] or "").lower()
    if minutes > 59 or seconds >= 60.0 or (half and not 1 <= hours <= 12):
        return None
    if half:
        hours = hours % 12 + (12 if half == "p" else 0)
    zone = match[5].strip(" ()[]").lower()
    offset = None
    if zone:
        typed = _OFFSET.fullmatch(zone)
        if typed:
            offset = (1 if typed[1] == "+" else -1) * (int(typed[2]) * 3600.0 + int(typed[3] or 0) * 60.0)
        elif zone in _ZONES:
            offset = _ZONES[zone] * 3600.0
        else:
            return None
    return 3600.0 * hours + 60.0 * minutes + seconds, offset, 3 if match[3] else 2, bool(half)


def times_of_stamps(
    stamps: Sequence[Stamp], lines: Sequence[int], order: str | None, titles: Sequence[str]
) -> LoggedTimes:
    """Return the times of rows with dates, or of the day alone.

    Parameters
    ----------
    stamps : sequence of Stamp
    lines : sequence of int
        Of the file, one per stamp.
    order : str or None
        Of the dates, where it was said: a key of `ORDERS`.
    titles : sequence of str
        Lines that may tell the order.
    """
    _check_alike(stamps)
    seconds = np.array([stamp.second_of_day - (stamp.offset_s or 0.0) for stamp in stamps])
    fine = any(stamp.parts == 3 for stamp in stamps)
    if stamps[0].date is None:
        seconds = _past_midnight(seconds)
        first = None
    else:
        letters = _order(stamps, seconds, order, titles)
        days = [_day(stamp, letters) for stamp in stamps]
        first = days[0]
        seconds = seconds + DAY_S * np.array([(each - first).days for each in days])  # type: ignore[operator]
    zoned = stamps[0].offset_s is not None
    local, at = (seconds, None) if zoned else _unwound(seconds)
    line = None if at is None else lines[at]
    return LoggedTimes(
        time_s=tuple((local - local[0]).tolist()),
        first=first,
        to_the_second=fine,
        set_back_line=line,
        zoned=zoned,
    )


def _check_alike(stamps: Sequence[Stamp]) -> None:
    """Raise where times are written in two ways: dates on some, zones on some, am and pm on some."""
    model = stamps[0]
    for stamp in stamps:
        for name, one, other in (
            ("a date", stamp.date is None, model.date is None),
            ("a time zone", stamp.offset_s is None, model.offset_s is None),
            ("am or pm", stamp.half_day, model.half_day),
        ):
            if one != other and not (name == "am or pm" and not stamp.parts):
                raise InputError(
                    f"{stamp.where} = {show(stamp.text)}: {name} stands on some times of this column and not on others"
                )
        if stamp.second_of_day >= DAY_S:
            raise InputError(f"{stamp.where} = {show(stamp.text)} is no time of day")


def _past_midnight(seconds: np.ndarray) -> np.ndarray:
    """Return times of day that go on past midnight: a clock that falls by more than half a day has passed it."""
    days = np.concatenate([[0], np.cumsum(np.diff(seconds) < -DAY_S / 2 - _HOUR_S)])
    return seconds + DAY_S * days


def _day(stamp: Stamp, order: str) -> date | None:
    """Return the date of a stamp in an order, or None where there is no such date."""
    letters = "ymd" if stamp.orders == ("ymd",) else order
    value = dict(zip(letters, stamp.date or (), strict=True))
    year = value["y"] + (2000 if value["y"] < 100 else 0)
    try:
        return date(year, value["m"], value["d"])
    except ValueError:
        return None


def _order(stamps: Sequence[Stamp], seconds: np.ndarray, said: str | None, titles: Sequence[str]) -> str:
    """Return the order of day, month and year, or ask."""
    possible = [order for order in ("dmy", "mdy", "ymd") if all(order in stamp.orders for stamp in stamps)]
    valid = [order for order in possible if all(_day(stamp, order) for stamp in stamps)]
    if not valid:
        bad = next(
            (stamp for stamp in stamps if not any(_day(stamp, each) for each in stamp.orders)), stamps[0]
        )
        raise InputError(f"{bad.where} = {show(bad.text)}: no such date, read like the others of its column")
    if said is not None:
        if ORDERS[said] not in valid:
            raise InputError(f"--dates {said}: {stamps[0].where} = {show(stamps[0].text)} cannot be read so")
        return ORDERS[said]
    told = _told_order(titles)
    if told in valid:
        return told
    if len(valid) > 1:
        valid = [order for order in valid if _goes_on(stamps, seconds, order)] or valid
    readings = {tuple(_day(stamp, order) for stamp in stamps): order for order in reversed(valid)}
    if len(readings) > 1:
        raise _which_order(stamps[0], valid)
    return valid[0]


def _told_order(titles: Sequence[str]) -> str:
    """Return the order that a title or a heading tells with letters, such as dd/mm/yyyy; nothing where none does."""
    for title in titles:
        match = re.search(
            r"\b(d{1,2}|m{1,2}|y{2,4})[-/.](d{1,2}|m{1,3})[-/.](d{1,2}|y{2,4})\b", title, re.IGNORECASE
        )
        if match:
            return "".join(part[0].lower() for part in match.groups())
    return ""


def _goes_on(stamps: Sequence[Stamp], seconds: np.ndarray, order: str) -> bool:
    """Return whether the rows follow each other within days, forward or backward, when read in an order."""
    days = [_day(stamp, order) for stamp in stamps]
    at = seconds + DAY_S * np.array([each.toordinal() for each in days if each is not None])
    steps = np.diff(at) * (1.0 if at[-1] >= at[0] else -1.0)
    return bool(steps.min() >= -_HOUR_S and abs(at[-1] - at[0]) <= _LONGEST_DAYS * DAY_S)


def _which_order(stamp: Stamp, orders: Sequence[str]) -> InputError:
    days = {order: _day(stamp, order) for order in orders}
    words = {letters: word for word, letters in ORDERS.items()}
    readings = " or ".join(f"{day.day} {day:%B} {day.year}" for day in days.values() if day is not None)
    options = " or ".join(f"--dates {words[order]}" for order in days)
    return InputError(f"{stamp.where} = {show(stamp.text)}: is that {readings}? Add {options}")


def _unwound(seconds: np.ndarray) -> tuple[np.ndarray, int | None]:
    """Return times without the hour that a clock was set back by, and from which row on that was; else as they are."""
    steps = np.diff(seconds)
    onward = steps[steps > 0.0]
    back = np.flatnonzero(steps < 0.0)
    if back.size != 1 or not onward.size:
        return seconds, None
    at, usual = int(back[0]), float(np.median(onward))
    if not 0.0 < steps[at] + _HOUR_S <= max(_SOME_STEPS * usual, 60.0):
        return seconds, None
    return seconds + np.where(np.arange(seconds.size) > at, _HOUR_S, 0.0), at + 1


def with_clock(day: Stamp, clock: Stamp) -> Stamp:
    """Return a date and a time of day of two columns as one.

    Parameters
    ----------
    day, clock : Stamp
    """
    return replace(clock, date=day.date, orders=day.orders, text=f"{day.text} {clock.text}")


def spoken_time(times: LoggedTimes, start_s: float, at_s: float) -> str:
    """Return a time as told: with its date where it has one.

    Parameters
    ----------
    times : LoggedTimes
    start_s : float
        Second of the day of the first row [s].
    at_s : float
        Since the first row [s].
    """
    total = start_s + at_s
    clock = f"{int(total % DAY_S // 3600):02d}:{int(total % 3600 // 60):02d}"
    if times.first is None:
        return clock
    return f"{times.first + timedelta(days=int(total // DAY_S))} {clock}"
