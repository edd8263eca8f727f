"""A log of weighings while a batch dries, as anyone types it, checked.

The file: lines starting with `#` are remarks; the first other line names the columns; then one line per look. Columns
in any order, separated by comma, semicolon or tab:

    time,  weight [g], meat [degC], note
    14:05, 719,        4,           trays in
    15:20, 498,        41,
    16:45, 372,        48,          turned the trays

- `time` is the time of day ("15:40", "3:40 pm"; past midnight it goes on) and counts from the first line, when the
  slices went in; or the time since then ("0:00" on the first line, or "2 h 15 min", or numbers under `time [min]`).
- `weight` of the whole batch, slices taken off as they were ready among it; or of one tray, where `tray` has its number;
  or of one slice, where `slice` says which: any name, with its thickness if there are several ("left one, 6 mm").
- `tare`: weight of what is weighed along, taken off. `meat` and `air`: thermometers. `note`: anything.

Units stand in the heading or behind the number ("1 lb 6 oz"). Cells may be empty. A decimal comma is read where it can
only be that. How finely a scale or a thermometer reads is taken from the digits typed. A remark `# batch: FILE.toml`
says what the log is of; `# outcome: too brittle, too salty` what became of it: too brittle, too moist, too salty, mouldy after
so many days, good; and `# outcome: taken out at 243 g after 5 h 20 min` in figures, of all the meat without trays.
`# logger: FILE.csv` names what a logger read meanwhile (`weigh_in_file`), one or several; `# columns:`, `# dates:`, `# from:`,
`# until:` and `# tray:` below it say of it what the options of the same names say of a thermometer's log.
"""

import math
import re
from collections.abc import Iterable, Mapping
from dataclasses import dataclass, replace
from datetime import date
from typing import Literal

from dryingsim.batch.checks import check_choice, show
from dryingsim.batch.number_words import plain_fractions
from dryingsim.batch.reading.logger_file import LoggerFile
from dryingsim.batch.reading.typed_columns import (
    by_word,
    cells_of,
    content_lines,
    headings,
    reader,
    row_cells,
    separator_of,
    times_s,
    with_point,
)
from dryingsim.batch.units import to_si, to_si_within
from dryingsim.errors import InputError

Quantity = Literal["weight", "meat", "air", "wet_bulb"]
Scope = Literal["batch", "tray", "slice"]
_READ: tuple[Quantity, ...] = ("weight", "meat", "air")

COLUMNS = by_word(
    {
        "time": "time clock elapsed time_of_day",
        "weight": "weight mass",
        "tray": "tray",
        "slice": "slice piece",
        "tare": "tare",
        "meat": "meat meat_temperature core probe",
        "air": "air air_temperature",
        "note": "note notes remark remarks comment",
    }
)
EXAMPLE = "'time, weight [g], note'"
_QUANTITIES: dict[str, tuple[str, str, str]] = {  # dimension and limits, which only catch slips of the pen
    "weight": ("mass", "0.1 g", "500 kg"),
    "tare": ("mass", "0 g", "50 kg"),
    "meat": ("temperature", "-20 degC", "200 degC"),
    "air": ("temperature", "-20 degC", "250 degC"),
}
_STEPS = (5, 2)  # a scale that shows every fifth or second step of its last digit
_BOILING_K = 373.15  # of water; while it dries meat stays below
_TELLING = 5  # values it takes to believe that
_NUMBER = re.compile(r"[+-]?\d+(?:\.(\d*)|/(\d+))?")
_OF_LOGGER = ("columns", "dates", "from", "until", "tray")
_REMARK = re.compile(
    r"#\s*(batch|date|outcome|logger|columns|dates|from|until|tray)\s*:\s*(.*\S)\s*", re.IGNORECASE
)
_OUTCOMES = ("too brittle", "too moist", "too salty", "mouldy after 9 days", "good")  # in any number of days
_MOULDY = re.compile(r"mou?ldy(?: after (\d+) days?)?")
_TAKEN_OUT = re.compile(r"taken out at (.+?)(?: after (.+))?")
_THICK = re.compile(r"((?:(?:\d+\s+)?\d+/\d+|\d[\d.]*)\s*(?:mm|cm|inch|in))\s*$")


@dataclass(frozen=True, slots=True, kw_only=True)
class Reading:
    """One number of the log in SI.

    Attributes
    ----------
    line : int
        Of the file.
    time_s : float
        Since the slices went in.
    quantity : Quantity
        Weight, a temperature, thickness.
    scope : Scope
        Of everything, a tray, a slice.
    name : str
        Of the tray (its number) or the slice.
    thickness_m : float or None
        Of the slice, where it is said.
    value : float
        Tare taken off.
    resolution : float
        Step of the scale or thermometer.
    file : str
        Of the logger that read it; of the log itself if empty.
    error : float
        Of the instrument, one standard deviation; 0 where nothing is known of it.
    """

    line: int
    time_s: float
    quantity: Quantity
    scope: Scope
    name: str
    thickness_m: float | None
    value: float
    resolution: float
    file: str = ""
    error: float = 0.0

    def place(self, log: str) -> str:
        """Return where it stands, by the name of its log."""
        return f"{self.file or log} line {self.line}"


@dataclass(frozen=True, slots=True, kw_only=True)
class WeighInLog:
    """A log.

    Attributes
    ----------
    name : str
        Of the file.
    readings : tuple[Reading, ...]
        In the order of time.
    start_clock_s : float or None
        Time of day when the slices went in; None where times are elapsed ones.
    half_days : bool
        Whether times of day are typed with am and pm.
    batch_file : str or None
        It names; None: none.
    date : str or None
        As it says; None: it does not.
    remarks : tuple[str, ...]
        What looks odd but can be used.
    outcomes : tuple[str, ...]
        What people said of the finished meat, see `_OUTCOMES`.
    taken_out : tuple[float, float or None] or None
        Weight of all the meat [kg] and time [s], where it was said.
    named_loggers : tuple[Mapping[str, str], ...]
        That read meanwhile: "logger", and what `_OF_LOGGER` say of it.
    loggers : tuple[LoggerFile, ...]
        Once they are read.
    """

    name: str
    readings: tuple[Reading, ...]
    start_clock_s: float | None
    half_days: bool
    batch_file: str | None
    date: str | None
    remarks: tuple[str, ...]
    outcomes: tuple[str, ...] = ()
    taken_out: tuple[float, float | None] | None = None
    named_loggers: tuple[Mapping[str, str], ...] = ()
    loggers: tuple[LoggerFile, ...] = ()

    def of(self, quantity: Quantity) -> tuple[Reading, ...]:
        """Return the readings of one quantity."""
        return tuple(one for one in self.readings if one.quantity == quantity)

    @property
    def last_s(self) -> float:
        """Time of the last reading [s]."""
        return max(one.time_s for one in self.readings)

    def until(self, time_s: float) -> "WeighInLog":
        """Return the log as it was at a time."""
        return replace(self, readings=tuple(one for one in self.readings if one.time_s <= time_s))


def parse_weigh_ins(text: str, name: str = "log") -> WeighInLog:
    r"""Read a log from text and check it.

    Parameters
    ----------
    text : str
    name : str
        What messages call it.

    Examples
    --------
    >>> log = parse_weigh_ins("time, weight [g]\n14:05, 719\n15:20, 498\n")
    >>> [(one.time_s, one.value) for one in log.readings]
    [(0.0, 0.719), (4500.0, 0.498)]
    """
    lines = content_lines(text)
    if not lines:
        raise InputError(f"{name}: no line with columns found; expected for example {EXAMPLE}")
    head_line, head = lines[0]
    where, separator = f"{name} line {head_line}", separator_of(head)
    columns = _columns(where, cells_of(head, separator, where))
    sheet = _Sheet(name, columns, where)
    rows = [
        (number, row_cells(f"{name} line {number}", line, separator, columns)) for number, line in lines[1:]
    ]
    if not rows:
        raise InputError(f"{name}: there is no line below the heading")
    times, start = times_s([(f"{name} line {i}, time", row["time"]) for i, row in rows], columns["time"])
    readings = [one for row, time in zip(rows, times, strict=True) for one in sheet.row(row, time)]
    if not any(one.quantity == "weight" for one in readings):
        raise InputError(f"{name}: no weight found below the heading; at least one is needed, with its time")
    readings = _resolved(readings)
    said = [(m[1].lower(), m[2]) for line in text.splitlines() if (m := _REMARK.fullmatch(line.strip()))]
    remarks = dict(said)
    _check_date(name, remarks.get("date"))
    spoken = re.split(r",(?!\d)|(?<!\d),", ",".join(words for key, words in said if key == "outcome").lower())
    outcomes = [" ".join(one.split()) for one in spoken if one.strip()]
    if not remarks.get("batch", "").isprintable():
        raise InputError(f"{name}: # batch: {show(remarks['batch'])}: the name of a batch file is expected")
    return WeighInLog(
        name=name,
        readings=tuple(readings),
        start_clock_s=start,
        half_days=any(re.search("[ap]", row["time"], re.IGNORECASE) for _, row in rows),
        batch_file=remarks.get("batch"),
        date=remarks.get("date"),
        remarks=tuple(_odd(readings)),
        outcomes=_outcomes(name, outcomes),
        named_loggers=tuple(_named_loggers(name, said)),
        taken_out=next((_taken_out(name, one) for one in outcomes if one.startswith("taken out")), None),
    )


def _named_loggers(name: str, said: Iterable[tuple[str, str]]) -> Iterable[Mapping[str, str]]:
    """Yield what remarks say of each logger, from the one that names it on."""
    named: list[dict[str, str]] = []
    for key, text in said:
        if key == "logger":
            named.append({key: text})
        elif key in _OF_LOGGER and not named:
            raise InputError(
                f"{name}: # {key}: this is said of a logger; name its file above: # logger: FILE.csv"
            )
        elif key in _OF_LOGGER and key in named[-1]:
            raise InputError(f"{name}: # {key} stands twice below # logger: {named[-1]['logger']}")
        elif key in _OF_LOGGER:
            named[-1][key] = text
    return named


def _taken_out(name: str, typed: str) -> tuple[float, float | None]:
    """Return weight [kg] and time [s] at which the meat was taken out, as the log says in figures."""
    where, figures = f"{name}: # outcome", _TAKEN_OUT.fullmatch(typed)
    if figures is None:
        raise InputError(f"{where} = {show(typed)}: 'taken out at 243 g after 5 h 20 min' is expected")
    weight = to_si_within(where, figures[1], *_QUANTITIES["weight"])
    return weight, to_si_within(where, figures[2], "duration", "1 min", "240 h") if figures[2] else None


def _outcomes(name: str, typed: Iterable[str]) -> tuple[str, ...]:
    """Return what became of the batch in the words of `_OUTCOMES`."""
    outcomes = []
    for part in typed:
        if part.startswith("taken out"):
            continue
        mouldy = _MOULDY.fullmatch(part)
        if mouldy:
            outcomes.append(f"mouldy after {mouldy[1]} days" if mouldy[1] else "mouldy")
        else:
            outcomes.append(check_choice(f"{name}: # outcome", part, _OUTCOMES))
    return tuple(outcomes)


def _check_date(name: str, typed: str | None) -> None:
    """Raise for a date that batches cannot be put in order by."""
    try:
        date.fromisoformat(typed or "2000-01-01")
    except ValueError:
        raise InputError(f"{name}: # date: {typed}: a date such as 2026-03-08 is expected") from None


def _columns(where: str, typed: list[str]) -> dict[str, str]:
    """Return the columns in the order of the file, each with its unit."""
    for cell in typed:
        if cell.lower().startswith(("temp", "thermometer")):
            raise InputError(f"{where}: column {show(cell)}: of what? Call it 'meat [degC]' or 'air [degC]'")
    columns = headings(where, typed, COLUMNS)
    for column in ("time", "weight"):
        if column not in columns:
            raise InputError(f"{where}: no column {show(column)}; expected for example {EXAMPLE}")
    return columns


Row = tuple[int, dict[str, str]]


class _Sheet:
    """The columns of a log, with what reads each of them."""

    def __init__(self, name: str, columns: dict[str, str], where: str) -> None:
        self.name, self.columns = name, columns
        self.readers = {
            column: reader(f"{where}, {column}", unit, *_QUANTITIES[column])
            for column, unit in columns.items()
            if column in _QUANTITIES
        }

    def row(self, row: Row, time: float) -> Iterable[Reading]:
        """Yield the readings of a line."""
        number, cells = row
        where = f"{self.name} line {number}"
        tray, piece = cells.get("tray", ""), cells.get("slice", "")
        if tray and piece:
            raise InputError(f"{where}: a tray and a slice; a weight is of one of them")
        if tray and not (tray.isdigit() and 1 <= int(tray) <= 99):
            raise InputError(f"{where}, tray = {show(tray)}: the number of a tray is expected, from 1 on")
        scope: Scope = "tray" if tray else "slice" if piece else "batch"
        thick = _THICK.search(plain_fractions(with_point(piece)))
        tare = self._value(where, "tare", cells) or 0.0
        for quantity in _READ:
            value = self._value(where, quantity, cells)
            if value is None:
                continue
            if quantity == "weight":
                value -= tare
                if value <= 0.0:
                    raise InputError(
                        f"{where}, weight = {show(cells['weight'])}: nothing is left once the tare is taken off"
                    )
            yield Reading(
                line=number,
                time_s=time,
                quantity=quantity,
                scope=scope,
                name=tray or piece,
                thickness_m=to_si_within(f"{where}, slice", thick[1], "length", "0.5 mm", "30 mm")
                if thick
                else None,
                value=value,
                resolution=_step(cells[quantity], self.columns[quantity], _QUANTITIES[quantity][0]),
            )

    def _value(self, where: str, column: str, cells: dict[str, str]) -> float | None:
        """Return a cell in SI, or None if it is empty."""
        text = cells.get(column, "")
        return None if text in ("", "-", "--") else self.readers[column](f"{where}, {column}", text)


def _step(text: str, unit: str, dimension: str) -> float:
    """Return the value of the last digit typed [SI]."""
    typed = plain_fractions(with_point(text))
    numbers = list(_NUMBER.finditer(typed))
    last = numbers[-1]
    own = typed[last.end() :].strip() or unit
    parts = float(last[2]) if last[2] else 10.0 ** len(last[1] or "")
    zero, one = (to_si("step", f"{value} {own}", dimension) for value in (0, 1))
    return float((one - zero) / parts)


def _resolved(readings: list[Reading]) -> list[Reading]:
    """Give all readings of a quantity one step; a scale may show every fifth or second of its last digit only."""
    steps: dict[str, float] = {}
    for quantity in {one.quantity for one in readings}:
        mine = [one for one in readings if one.quantity == quantity]
        step = min(one.resolution for one in mine)
        counts = [one.value / step for one in mine] if quantity == "weight" else []
        coarse = [
            n
            for n in _STEPS
            if len(counts) >= _TELLING and all(abs(c / n - round(c / n)) < 0.01 for c in counts)
        ]
        steps[quantity] = step * math.prod(coarse)
    return [replace(one, resolution=steps[one.quantity]) for one in readings]


def _odd(readings: list[Reading]) -> Iterable[str]:
    """Yield what looks odd: weights that rise, meat that is hotter than it can well be."""
    last: dict[tuple[str, str], Reading] = {}
    for one in readings:
        if one.quantity == "meat" and one.value > _BOILING_K:
            yield f"line {one.line}: meat at {one.value - 273.15:.0f} degC, hotter than boiling water; was degF meant?"
        if one.quantity != "weight":
            continue
        before = last.get((one.scope, one.name))
        if before is not None and one.value > before.value + before.resolution:
            yield f"line {one.line}: heavier than in line {before.line}; drying meat only gets lighter"
        last[one.scope, one.name] = one
