"""Columns of a log that a person types: lines, separators, headings with units, numbers, times of day."""

import csv
import re

from dryingsim.batch.checks import hint, show
from dryingsim.errors import InputError

DAY_S = 86400.0
_HEADING = re.compile(r"\s*([A-Za-z_]+(?:[ -][A-Za-z_]+)*)\s*(?:[\[(]\s*(.*?)\s*[\])])?\s*")
_CLOCK = re.compile(
    r"(\d{1,2})(?:[:.](\d\d)(?::(\d\d))?\s*(?:([ap])\.?m\.?)?|\s*([ap])\.?m\.?)", re.IGNORECASE
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


def cells_of(line: str, separator: str) -> list[str]:
    """Return the cells of a line; text in double quotes may hold the separator."""
    return [cell.strip() for cell in next(csv.reader([line], delimiter=separator, skipinitialspace=True))]


def heading(where: str, typed: str, known: dict[str, str]) -> tuple[str, str]:
    """Return what a column is and its unit (or nothing); `known` gives the column for each word that names it."""
    match = _HEADING.fullmatch(typed)
    word = match[1].lower().replace(" ", "_").replace("-", "_") if match else typed.strip()
    if match is None or word not in known:
        columns = ", ".join(dict.fromkeys(known.values()))
        raise InputError(
            f"{where}: column {show(typed.strip())} is not known{hint(word, known) or ';'} known: {columns}"
        )
    return known[word], match[2] or ""


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
