"""What a logger's file holds, taken apart without understanding it: encoding, title lines, heading, units line, rows.

Nothing is fixed but this: readings stand in rows, a row begins with a time, a date or a number, and has a number or a mark
for no reading besides. Cells are separated by tab, semicolon or comma, the first of these that most rows have. The heading is
the line above the first row with as many cells; a line of units may stand between them, a line of channels above it. What
stands further up or below the rows is a title or a footer.
"""

import re
from collections.abc import Iterable
from dataclasses import dataclass

from dryingsim.batch.checks import brief, show
from dryingsim.batch.reading.typed_columns import cells_of, check_commas, is_quantity, too_many
from dryingsim.errors import InputError

_SEPARATORS = ("\t", ";", ",")
_TIME_WORD = re.compile(
    "(?:mon|tues?|wed(?:nes)?|thu(?:rs)?|fri|sat(?:ur)?|sun)(?:day)?|jan(?:uary)?|feb(?:ruary)?|mar(?:ch)?|apr(?:il)?|may|june?|"
    "july?|aug(?:ust)?|sept?(?:ember)?|oct(?:ober)?|nov(?:ember)?|dec(?:ember)?|[ap]?m|[apt]|z|utc|gmt|[ecmp][ds]t|"
    "we(?:s)?t|bst|ces?t|ees?t"
)
_NUMBER = re.compile(r"[+-]?\d+(?:[.,]\d+)?\s*(?:%|[°º]?\s*[CF])?(?:\s*r\.?h\.?)?", re.IGNORECASE)
_UNIT = re.compile(
    r"[\[(]?\s*(?:[°ºø]\s*[CF]|deg\w*\.?\s*[CF]\w*|celsius|fahrenheit|[CFK]|%|%?\s*r\.?h\.?\s*%?|"
    r"[hms]|min|sec|hh?:mm(?::ss)?|mm:ss|yyyy.*|dd.*|-)\s*[\])]?",
    re.IGNORECASE,
)
_TIME_HEADING = re.compile(r"\b(?:date|time|elapsed)", re.IGNORECASE)
_BLANKS_HERE_AND_THERE = re.compile(
    r",\s.*,\S|,\S.*,\s"
)  # behind the commas of a heading: then behind those of rows too
_NOTES = ("note", "notes", "remark", "remarks", "comment")
_HEADING_LINES = 3
_LONGEST_MARK = 14  # letters of a text that stands for no reading


@dataclass(frozen=True, slots=True, kw_only=True)
class LoggerTable:
    """A file of readings in rows of cells, as text.

    Attributes
    ----------
    name : str
        What messages call the file.
    headings : tuple of str
        Of each column; its number where the file has no heading.
    heading_line : int
        Where the heading stands; 0 where there is none.
    rows : tuple of (int, tuple of str)
        Each with its line.
    titles : tuple of str
        The lines above the heading.
    footers : int
        How many lines below the rows were not read.
    """

    name: str
    headings: tuple[str, ...]
    heading_line: int
    rows: tuple[tuple[int, tuple[str, ...]], ...]
    titles: tuple[str, ...]
    footers: int

    @property
    def listed(self) -> str:
        """The headings, for messages."""
        return brief(", ".join(self.headings))

    def column(self, index: int) -> list[str]:
        """Return the cells of a column."""
        return [cells[index] for _, cells in self.rows]


Row = tuple[int, list[str]]


def logger_table(text: str, name: str) -> LoggerTable:
    r"""Take a logger's file apart.

    Parameters
    ----------
    text : str
    name : str
        What messages call it.

    Examples
    --------
    >>> table = logger_table("Logger 7\n\nTime;Meat\n;°C\n10:00;4,5\n10:05;---\n", "log")
    >>> table.headings, table.rows[0]
    (('Time', 'Meat °C'), (5, ('10:00', '4,5')))
    """
    lines = [(number, line) for number, line in enumerate(text.splitlines(), start=1) if line.strip(" \t,;")]
    rows, separator = _rows(name, lines)
    at = [i for i, (_, cells) in enumerate(rows) if _holds_readings(cells)]
    if len(at) < 2:
        raise InputError(
            f"{name}: fewer than two lines begin with a time and hold a number; a table of readings over time is expected"
        )
    above, among = rows[: at[0]], rows[at[0] : at[-1] + 1]
    width = max(len(cells) for _, cells in among)
    heading = _heading_rows(above, width)
    body = _body(name, among, [cells for _, cells in heading])
    headings = _headings(name, heading, width)
    typed = dict(lines) if separator == "," else {}
    if heading and width > len(headings):
        raise _too_wide(name, body, len(headings), typed)
    if typed and not any(_BLANKS_HERE_AND_THERE.search(typed[number]) for number, _ in heading):
        _check_commas(name, headings, body, typed)
    kept = above[: len(above) - len(heading)]
    return LoggerTable(
        name=name,
        headings=headings,
        heading_line=heading[-1][0] if heading else 0,
        rows=tuple((number, tuple(cells + [""] * (len(headings) - len(cells)))) for number, cells in body),
        titles=tuple(" ".join(cell for cell in cells if cell) for _, cells in kept),
        footers=len(rows) - at[-1] - 1,
    )


def _rows(name: str, lines: list[tuple[int, str]]) -> tuple[list[Row], str]:
    """Return the lines as cells, and the separator, which is the one that most rows of readings have."""
    taken: list[tuple[int, list[Row], str]] = []
    for mark in _SEPARATORS:
        rows = [(number, _trimmed(cells_of(line, mark, f"{name} line {number}"))) for number, line in lines]
        rows = [(number, cells) for number, cells in rows if cells]
        taken.append((sum(_holds_readings(cells) for _, cells in rows), rows, mark))
    most = max(count for count, _, _ in taken)
    return next((rows, mark) for count, rows, mark in taken if 2 * count >= most)


def _trimmed(cells: list[str]) -> list[str]:
    while cells and not cells[-1]:
        cells.pop()
    return cells


def begins_in_time(cell: str) -> bool:
    """Return whether a cell may be a time, a date or the number of a row."""
    words = re.findall(r"[^\W\d_]+", cell.lower())
    return any(letter.isdigit() for letter in cell) and all(map(_TIME_WORD.fullmatch, words))


def no_reading(cell: str) -> bool:
    """Return whether a cell holds a mark for no reading: nothing, or a short text without a digit."""
    return len(cell) <= _LONGEST_MARK and not any(letter.isdigit() for letter in cell)


def _holds_readings(cells: list[str]) -> bool:
    first = next((i for i, cell in enumerate(cells) if cell), None)
    if first is None or len(cells) < 2 or not begins_in_time(cells[first]):
        return False
    rest = cells[first + 1 :]
    return any(_NUMBER.fullmatch(cell) or (no_reading(cell) and not cell[:1].isalpha()) for cell in rest)


def _body(name: str, rows: list[Row], heading: list[list[str]]) -> list[Row]:
    """Return the rows of readings; raise for a line among them that is neither that nor the heading again."""
    body: list[Row] = []
    for number, cells in rows:
        if _holds_readings(cells) or (begins_in_time(cells[0]) and all(map(no_reading, cells[1:]))):
            body.append((number, cells))
        elif cells not in heading and not cells[0].startswith("#"):
            raise InputError(
                f"{name} line {number}: {show(' '.join(cells))} stands among the readings and does not begin with a time; "
                "leave it out, or what lies before or after it"
            )
    return body


def _heading_rows(above: list[Row], width: int) -> list[Row]:
    """Return the lines of the heading: the last above the readings, and with it a line of units, or of channels."""
    heading: list[Row] = []
    for number, typed in reversed(above[-_HEADING_LINES:]):
        cells = [typed[0].lstrip("# ") or typed[0], *typed[1:]]
        filled = sum(bool(cell) for cell in cells) >= len(cells) - 1
        names_time = any(_TIME_HEADING.search(cell) for cell in cells)
        whole = filled and len(cells) >= (2 if names_time else max(2, width - 1))
        units_only = bool(heading) and all(map(_is_unit, heading[-1][1]))
        if not whole and not heading:
            continue
        joined = not heading or (number == heading[-1][0] - 1 and len(cells) == len(heading[-1][1]))
        if not whole or not joined or (heading and not units_only and width < 3):
            break
        heading.append((number, cells))
    return heading[::-1]


def _is_unit(cell: str) -> bool:
    return not cell or _UNIT.fullmatch(cell) is not None


def _headings(name: str, rows: list[Row], width: int) -> tuple[str, ...]:
    """Return the heading of each column, those of several lines put together."""
    if not rows:
        return tuple(str(i) for i in range(1, width + 1))
    count = max(len(cells) for _, cells in rows)
    words = [[cells[i] for _, cells in rows if i < len(cells) and cells[i]] for i in range(count)]
    if len(rows) == 1 and any(len(" ".join(each)) > 200 for each in words):
        raise InputError(f"{name} line {rows[0][0]}: this heading is too long to be one")
    return tuple(" ".join(_once(each)) or str(i) for i, each in enumerate(words, start=1))


def _once(words: Iterable[str]) -> list[str]:
    return list(dict.fromkeys(words))


def _check_commas(name: str, headings: tuple[str, ...], body: list[Row], typed: dict[int, str]) -> None:
    """Raise for a row in which a comma may be a decimal sign."""
    notes = [i for i, heading in enumerate(headings) if heading.lower() in _NOTES and i]
    for number, cells in body:
        noted = any(i < len(cells) and cells[i - 1].isdecimal() and is_quantity(cells[i]) for i in notes)
        check_commas(f"{name} line {number}", typed[number], number_noted=noted)


def _too_wide(name: str, body: list[Row], count: int, typed: dict[int, str]) -> InputError:
    number, cells = next((number, cells) for number, cells in body if len(cells) > count)
    return too_many(f"{name} line {number}", typed.get(number, ""), len(cells), count)
