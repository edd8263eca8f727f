"""Columns of a log that a person types: lines, separators, headings with units, quantities, times.

Units stand in the heading ("meat [degF]", "meat °F", "meat_degF") or behind the number. A time is that of day ("15:40",
"3:40 pm"; past midnight it goes on) or the time since the first line ("0:00" there, or "2 h 15 min", or numbers under
`time [min]`).
"""

import csv
import math
import re
from collections.abc import Callable, Collection, Mapping, Sequence

from dryingsim.batch.checks import hint, show
from dryingsim.batch.units import check_unit, expected, kind_of, to_si, to_si_within
from dryingsim.errors import InputError

DAY_S = 86400.0
_LONGEST_S = 10 * DAY_S
_UNSURE_S = 6 * 3600.0  # a first time of day before six may well be hours and minutes
_ELAPSED = ("", "elapsed", "h:mm", "h:min")
_PLAIN = re.compile(r"[+-]?(?:\d+\.?\d*|\.\d+)")
_THOUSANDS = re.compile(r"[1-9]\d{0,2},\d{3}\s*[A-Za-z]{0,6}")
_QUOTED = re.compile(r'"[^"]*"')
_TIGHT = re.compile(
    r"(?<![\d.:/-])(?=(\d+,\d+)(?![\d.:/-]))"
)  # whole numbers with a comma and no blank: "18,6"
_HEADING = re.compile(r"\s*([A-Za-z_]+(?:[ -][A-Za-z_]+)*)\s*(?:[\[(]\s*(.*?)\s*[\])])?\s*")
_CLOCK = re.compile(
    r"(\d{1,2})(?:[:.](\d\d)(?::(\d\d))?\s*(?:([ap])\.?m\.?)?|\s*([ap])\.?m\.?)", re.IGNORECASE
)

_DATED = re.compile(
    r"(\d{4}-\d\d?-\d\d?|\d\d?[./]\d\d?[./]\d{2,4})[ T,]+(\d{1,2}:\d\d(?::\d\d)?(?:\s*[ap]m)?)", re.IGNORECASE
)


def content_lines(text: str) -> list[tuple[int, str]]:
    """Return the lines that are neither blank nor remarks (#), each with its number."""
    lines = enumerate(text.splitlines(), start=1)
    return [
        (number, line) for number, line in lines if line.strip(" \t,;") and not line.lstrip().startswith("#")
    ]


def separator_of(head: str) -> str:
    """Return what separates the columns, by their heading."""
    return next((mark for mark in (";", "\t") if mark in head), ",")


def cells_of(line: str, separator: str, where: str = "heading") -> list[str]:
    """Return the cells of a line; text in double quotes may hold the separator.

    Parameters
    ----------
    line : str
    separator : str
        See `separator_of`.
    where : str
        Its place, for messages.
    """
    try:
        return [cell.strip() for cell in next(csv.reader([line], delimiter=separator, skipinitialspace=True))]
    except csv.Error:  # more letters than the reader takes
        raise InputError(
            f"{where}: a cell has over a hundred thousand letters; is this a table of readings?"
        ) from None


def row_cells(where: str, line: str, separator: str, columns: Collection[str]) -> dict[str, str]:
    """Return the cells of a line by column; missing ones at the end are empty.

    Parameters
    ----------
    where : str
        Its place, for messages.
    line : str
    separator : str
        See `separator_of`.
    columns : collection of str
        In the order of the file.
    """
    cells, count = cells_of(line, separator, where), len(columns)
    while len(cells) > count and not cells[-1]:  # a spreadsheet leaves empty columns behind
        cells.pop()
    if len(cells) > count:
        raise too_many(where, line if separator == "," else "", len(cells), count)
    row = dict(zip(columns, cells + [""] * (count - len(cells)), strict=True))
    if separator == ",":
        before = dict(zip(list(columns)[1:], cells, strict=False)).get("note", "")
        check_commas(where, line, number_noted=before.isdecimal() and is_quantity(row.get("note", "")))
        thousands = next((c for n, c in row.items() if n != "note" and _THOUSANDS.fullmatch(c)), None)
        if thousands:  # in quotes
            raise InputError(f"{where}: {show(thousands)}: write {_without_comma(thousands)}, as it is meant")
    return row


def is_quantity(text: str) -> bool:
    """Return whether a cell is nothing but a whole number, maybe with a unit of weight or temperature behind it."""
    return text.isdecimal() or (text[:1].isdecimal() and kind_of(text, ("mass", "temperature")) is not None)


def too_many(where: str, line: str, found: int, count: int) -> InputError:
    """Return the complaint about a line with more values than the heading has columns.

    Parameters
    ----------
    where : str
        Its place.
    line : str
        As typed, where commas separate its cells; else empty.
    found, count : int
        Values, and columns.
    """
    tight = _tight(line)
    write = f"{show(tight[-1])}: a decimal comma? Write {_without_comma(tight[-1])}, " if tight else ""
    why = f"; {write}put a decimal comma in quotes or use semicolons" if line else ""
    return InputError(f"{where}: {found} values, but the heading has {count} columns{why}")


def _tight(line: str) -> list[str]:
    """Return whole numbers in pairs with a comma and no blank between them, outside of quotes."""
    return _TIGHT.findall(_QUOTED.sub("", line))


def check_commas(where: str, line: str, *, number_noted: bool = False) -> None:
    """Raise for a comma that may be a decimal sign in a line whose cells are separated by commas.

    So may one without a blank behind it be, where other commas of the line have one.

    Parameters
    ----------
    where : str
        Its place, for messages.
    line : str
    number_noted : bool
        A note is nothing but a number (`is_quantity`), right behind another: all that is left of a decimal comma.
    """
    tight = _tight(line)
    if tight and (number_noted or re.search(r",\s", _QUOTED.sub("", line))):
        raise InputError(
            f"{where}: {show(tight[-1])}: a decimal comma, or two values? Write {_without_comma(tight[-1])}, or a blank "
            "behind every comma"
        )


def _without_comma(number: str) -> str:
    """Return how a number with a comma is to be written; of thousands, either way."""
    either = f"{number.replace(',', '')} or " if _THOUSANDS.fullmatch(number) else ""
    return either + number.replace(",", ".")


def by_word(names: Mapping[str, str]) -> dict[str, str]:
    """Return the column for each of the words (separated by blanks) that name it."""
    return {word: column for column, words in names.items() for word in words.split()}


def headings(where: str, typed: Sequence[str], known: Mapping[str, str]) -> dict[str, str]:
    """Return the columns in the order of the file, each with its unit (or nothing).

    Parameters
    ----------
    where : str
        For messages.
    typed : sequence of str
        The cells of the heading.
    known : mapping
        The column for each word that names it.
    """
    cells = list(typed)
    while cells and not cells[-1]:
        cells.pop()
    columns: dict[str, str] = {}
    for cell in cells:
        column, unit = _heading(where, cell, known)
        if column in columns:
            raise InputError(f"{where}: column {show(column)} stands twice")
        columns[column] = unit
    return columns


def _heading(where: str, typed: str, known: Mapping[str, str]) -> tuple[str, str]:
    match = _HEADING.fullmatch(typed)
    word, unit = (match[1], match[2] or "") if match else (typed.strip(), "")
    for mark in " _":  # "meat °F", "meat_degF": the unit without brackets
        front, _, last = typed.strip().rpartition(mark)
        if _plain(word) not in known and _plain(front) in known:
            word, unit = front, last
    if _plain(word) not in known:
        columns = ", ".join(dict.fromkeys(known.values()))
        guess = hint(_plain(word), known) or ";"
        raise InputError(f"{where}: column {show(typed.strip())} is not known{guess} known: {columns}")
    return known[_plain(word)], unit


def _plain(word: str) -> str:
    return word.strip().lower().replace(" ", "_").replace("-", "_")


def reader(where: str, unit: str, dimension: str, low: str, high: str) -> Callable[[str, str], float]:
    """Return what reads the cells of a column to SI: numbers in the unit of its heading, or with a unit behind them.

    Parameters
    ----------
    where : str
        For messages about the unit of the heading.
    unit : str
        As typed there; may be empty.
    dimension : str
        See `dryingsim.batch.units`.
    low, high : str
        Limits, with their units.
    """
    scale = zero = math.nan
    if unit:
        check_unit(f"{where} [{unit}]" if unit.isprintable() else where, unit, dimension)  # told here, once
        zero = to_si(where, f"0 {unit}", dimension)
        scale = to_si(where, f"1 {unit}", dimension) - zero
    lowest, highest = (to_si(where, text, dimension) for text in (low, high))

    def read(where: str, text: str) -> float:
        typed = with_point(text)
        if _PLAIN.fullmatch(typed):
            if not unit:
                example = expected(dimension).split("for example ")[1]
                raise InputError(
                    f"{where} = {show(text)} has no unit; write it behind the number ({example}) or in the heading"
                )
            value = zero + scale * float(typed)
            if lowest <= value <= highest:
                return value
            typed = f"{typed} {unit}"
        return to_si_within(where, typed, dimension, low, high)

    return read


def with_point(text: str) -> str:
    """Return a number or quantity with a decimal point for its decimal comma."""
    return re.sub(r"(\d),(\d)", r"\1.\2", text)


def clock_s(text: str) -> float | None:
    """Return a time of day [s since midnight], or None if the text is none.

    Examples
    --------
    >>> clock_s("15:40"), clock_s("3:40 pm"), clock_s("2 h")
    (56400.0, 56400.0, None)
    """
    match = _CLOCK.fullmatch(text.strip())
    if match is None:
        return None
    hours, minutes, seconds = (int(part or 0) for part in match.groups()[:3])
    half = (match[4] or match[5] or "").lower()
    if minutes > 59 or seconds > 59 or hours > 23 or (half and not 1 <= hours <= 12):
        return None
    if half:
        hours = hours % 12 + (12 if half == "p" else 0)
    return 3600.0 * hours + 60.0 * minutes + seconds


# --- times -----------------------------------------------------------------------------------------------------------
def times_s(typed: Sequence[tuple[str, str]], unit: str) -> tuple[list[float], float | None]:
    """Return the times since the first line [s], and the time of day of that, or None where times are elapsed ones.

    Parameters
    ----------
    typed : sequence of (str, str)
        Where each stands, for messages, and what was typed there.
    unit : str
        Of the heading.
    """
    for where, text in typed:
        if not text:
            raise InputError(f"{where} is empty; a time is expected, for example '15:40' or '2 h 15 min'")
    if _is_clock(typed, unit):
        return _by_the_clock(typed)
    plain = unit.lower().replace(" ", "") in _ELAPSED
    read = reader(typed[0][0], "" if plain else unit, "duration", "0 h", "240 h")
    times = [_elapsed(where, text, read) for where, text in typed]
    _check_rising(typed, times)
    return times, None


def _is_clock(typed: Sequence[tuple[str, str]], unit: str) -> bool:
    where, first = typed[0]
    word = unit.lower().replace(" ", "")
    if word in ("clock", "timeofday", "hh:mm"):
        return True
    at = clock_s(first)
    if not word:
        _check_clock(where, first, at)
    if word or at is None or at == 0.0:
        return False
    if any(mark in first.lower() for mark in "ap"):
        return True
    if at < _UNSURE_S:
        raise InputError(
            f"{where} = {show(first)}: time of day or time since the start? Write 'time [clock]' or 'time [elapsed]' "
            "in the heading, or begin with the line 0:00"
        )
    return True


def _check_clock(where: str, typed: str, at_s: float | None) -> None:
    """Raise for a time of day that no clock shows, and for one with its date."""
    if at_s is None and _CLOCK.fullmatch(typed.strip()):
        raise InputError(
            f"{where} = {show(typed)} is no time of day; expected for example 15:40 or 3:40 pm (am and pm go with 1 to 12)"
        )
    dated = _DATED.fullmatch(typed.strip())
    if dated:
        raise InputError(
            f"{where} = {show(typed)}: the time of day alone is expected, {dated[2]}; the date goes into a line '# date: ...'"
        )


def _by_the_clock(typed: Sequence[tuple[str, str]]) -> tuple[list[float], float]:
    times: list[float] = []
    days, last = 0, -math.inf
    for where, text in typed:
        at = clock_s(text)
        if at is None:
            raise InputError(f"{where} = {show(text)}: a time of day is expected, for example 15:40")
        if at < last - DAY_S / 2:  # a clock that falls by more than half a day has passed midnight
            days += 1
        last = at
        times.append(at + days * DAY_S)
    start = times[0]
    times = [one - start for one in times]
    _check_rising(typed, times, by_the_clock=True)
    return times, start % DAY_S


def _elapsed(where: str, text: str, read: Callable[[str, str], float]) -> float:
    parts = re.fullmatch(r"(\d+):(\d\d)(?::(\d\d))?", text)
    if parts and int(parts[2]) < 60:
        text = f"{int(parts[1])} h {int(parts[2])} min {int(parts[3] or 0)} s"
    return 0.0 if re.fullmatch(r"0+(\.0*)?", text) else read(where, text)


def _check_rising(
    typed: Sequence[tuple[str, str]], times: list[float], *, by_the_clock: bool = False
) -> None:
    for (where, text), before, now in zip(typed[1:], times[:-1], times[1:], strict=True):
        if now < before:
            half = by_the_clock and 3600.0 <= (clock_s(text) or 0.0) < DAY_S / 2 and text[-1:].isdigit()
            noon = f"; after noon write {show(text + ' pm')}" if half else ""
            raise InputError(f"{where} = {show(text)} is before the line above; lines go on in time{noon}")
        if now > _LONGEST_S:
            raise InputError(f"{where} = {show(text)} is more than 10 days after the first line")
