"""Tables as a person reads them, those of a run, and the caution that goes with everything."""

import os
import sys
import textwrap
from dataclasses import dataclass
from typing import TextIO

import numpy as np

from dryingsim.history import History
from dryingsim.judge.doneness import HOUR_S, judge_batch
from dryingsim.judge.trays import AirState, TrayDone, judge_trays, tray_air
from dryingsim.plain_text import html_text as escape
from dryingsim.plain_text import visible
from dryingsim.properties.diffusivity import LABORATORY_SPREAD
from dryingsim.show.core.outlet import console_on
from dryingsim.show.core.quantities import Units, clock, slices, slowest
from dryingsim.show.lethality.words import CAUTIONS
from dryingsim.typing import Array

WIDTH = 80  # columns of plain text
CAUTION = " ".join(CAUTIONS)
SPREAD = (
    f"Laboratories differ by a factor of {LABORATORY_SPREAD[1]:g} either way on how fast water moves "
    "through meat: go by the weight, not by the clock."
)
_ROWS = 12  # about as many even times as the table may have
_STEPS_MIN = (1, 2, 3, 5, 10, 15, 20, 30, 60, 90, 120, 180, 240, 360, 720, 1440)


@dataclass(frozen=True, slots=True)
class Column:
    """A column of the table: three lines of heading, the last one the unit, and the text of each row."""

    heading: tuple[str, str, str]
    cells: list[str]


@dataclass(frozen=True, slots=True)
class Table:
    """A table with what its short headings mean; `ends` are the rows that end a group of rows."""

    columns: list[Column]
    notes: list[str]
    ends: set[int]


def table_rows(history: History) -> list[int]:
    """Return the indices of the records worth a row: start, even times, one early, the end of each stage."""
    minutes = history.time_s[-1] / 60.0
    step = 60.0 * next((s for s in _STEPS_MIN if minutes / s <= _ROWS), _STEPS_MIN[-1])
    ends = [int(np.abs(history.time_s - end).argmin()) for end in history.stage_end_s]
    even = np.append(0.5 * step, np.arange(0.0, history.time_s[-1], step))
    # an even time next to the end of a stage would only repeat it
    told = [t for t in even if t == 0.0 or np.min(np.abs(history.stage_end_s - t)) > 0.3 * step]
    return sorted({int(np.abs(history.time_s - t).argmin()) for t in told} | set(ends))


def table_columns(history: History, units: str | None = None) -> list[Column]:
    """Return the columns of the table: the whole batch, then the slowest slices and their air.

    Parameters
    ----------
    history : History
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    shown, k, rows = Units(history, units), slowest(history), table_rows(history)
    moisture = history.batch_moisture_db

    def column(heading: tuple[str, str, str], values: Array, decimals: int) -> Column:
        return Column(heading, [f"{value:.{decimals}f}" for value in values[rows]])

    def degrees(above: str, below: str, kelvin: Array) -> Column:
        heading = (above, below, shown.temperature.symbol)
        return Column(heading, [shown.temperature.number(kelvin[i]) for i in rows])

    weight = history.weight_kg.sum(axis=1)
    return [
        Column(("", "time", "h:min"), [clock(history.time_s[i]) for i in rows]),
        Column(("", "weight", shown.weight.symbol), [shown.weight.number(weight[i]) for i in rows]),
        column(("", "loss", "%"), 100.0 * history.weight_loss, 1),
        column(("dry", "basis", "kg/kg"), moisture, 2),
        column(("wet", "basis", "%"), 100.0 * moisture / (1.0 + moisture), 1),
        column(("", "M:P", "kg/kg"), history.moisture_protein_ratio, 2),
        column(("a_w", "even", "-"), history.equalised_water_activity[:, k], 2),
        column(("a_w", "face", "-"), history.surface_water_activity[:, 1, k], 2),
        degrees("", "core", history.core_temperature_K[:, k]),
        degrees("", "face", history.surface_temperature_K[:, 1, k]),
        degrees("", "air", history.air_temperature_K[:, k]),
        degrees("wet", "bulb", history.air_wet_bulb_K[:, k]),
    ]


def table_notes(history: History, units: str | None = None) -> list[str]:
    """Return what the table's short headings mean, and where its stages end."""
    name = slices(history, Units(history, units), slowest(history))
    ends = zip(history.stage_end_s, history.batch.stages, strict=True)
    return [
        "Whole batch: weight on the trays, weight loss, moisture on dry and wet basis, moisture-to-protein "
        f"ratio (M:P). The {name} (the thickest, so the slowest): water activity (a_w) once evened out, and "
        "at the upper face; temperature of core and upper face; the air there and its wet bulb.",
        "Stages end at " + ", ".join(f"{clock(end)} ({stage.name})" for end, stage in ends) + ".",
    ]


def tables(history: History, units: str | None = None) -> list[Table]:
    """Return all tables of a run: over time, and in an appliance by tray."""
    rows = table_rows(history)
    ends = {rows.index(int(np.abs(history.time_s - end).argmin())) for end in history.stage_end_s}
    first = Table(table_columns(history, units), table_notes(history, units), ends)
    return [first, *_tray_tables(history, Units(history, units))]


def _tray_tables(history: History, shown: Units) -> list[Table]:
    air, trays = tray_air(history), judge_trays(history)
    if air is None or trays is None:
        return []
    times = _tray_times(history)
    told = [(i, tray) for i in times for tray in range(trays.used)]

    def numbers(heading: tuple[str, str, str], values: Array) -> Column:
        return Column(heading, [f"{values[one]:.1f}" for one in told])

    def of(side: str, state: AirState) -> list[Column]:
        unit, degrees = shown.temperature.symbol, shown.temperature.value
        return [
            numbers((side, "air", unit), degrees(state.temperature_K)),
            numbers((side, "RH", "%"), 100.0 * state.relative_humidity),
            numbers((side, "wet", unit), degrees(state.wet_bulb_K)),
            numbers((side, "dew", unit), degrees(state.dew_point_K)),
        ]

    activity = history.equalised_water_activity
    wettest = [f"{activity[i, history.tray == tray].max():.2f}" for i, tray in told]
    columns = [
        Column(("", "time", "h:min"), [clock(history.time_s[i]) for i, _ in told]),
        Column(("", "tray", "no."), [str(tray + 1) for _, tray in told]),
        *of("in", air.entering),
        *of("out", air.leaving),
        Column(("a_w", "even", "-"), wettest),
    ]
    ends = {trays.used * (number + 1) - 1 for number in range(len(times))}
    found = [Table(columns, [_tray_note(history)], ends)]
    if trays.used > 1:
        found.append(Table(_done_columns(trays.done), [_DONE_NOTE], set()))
    return found


_DONE_NOTE = (
    "When the first of a tray's slices are done, when all are, and from when to when that may be, for the "
    "water activity is not known better; - is not in this run."
)


def _tray_note(history: History) -> str:
    moved = "" if history.batch.rotate_every_s is None else ", wherever it lies by then"
    return (
        f"Tray by tray, numbered along the air's way at the start{moved}: air coming in and going out, its "
        "relative humidity (RH), wet bulb and dew point; water activity of the wettest slices, evened out."
    )


def _tray_times(history: History) -> list[int]:
    """Return the records to tell of the trays: after an hour, and when done, or else at the end."""
    done = judge_batch(history).doneness.batch.expected_s
    last = float(history.time_s[-1]) if done is None else done
    times = [HOUR_S, last] if last > 1.2 * HOUR_S else [last]
    return [int(np.abs(history.time_s - time).argmin()) for time in times]


def _done_columns(done: tuple[TrayDone, ...]) -> list[Column]:
    windows = [one.all_done for one in done]
    return [
        Column(("", "tray", "no."), [str(number) for number in range(1, len(done) + 1)]),
        Column(("first", "done", "h:min"), [clock_or_dash(one.first_s) for one in done]),
        Column(("all", "done", "h:min"), [clock_or_dash(one.expected_s) for one in windows]),
        Column(("", "from", "h:min"), [clock_or_dash(one.earliest_s) for one in windows]),
        Column(("", "to", "h:min"), [clock_or_dash(one.latest_s) for one in windows]),
    ]


def clock_or_dash(seconds: float | None) -> str:
    """Return a time as hours and minutes; a dash for one that was not reached (None or nan)."""
    return "-" if seconds is None or np.isnan(seconds) else clock(seconds)


def aligned(columns: list[Column]) -> list[str]:
    """Return the lines of a table as plain text, each column flush right."""
    widths = [max(map(len, (*column.heading, *column.cells))) for column in columns]
    lines = [line for line in zip(*(column.heading for column in columns), strict=True) if any(line)]
    lines += [tuple("-" * width for width in widths)]
    lines += [*zip(*(column.cells for column in columns), strict=True)]
    text = ("  ".join(cell.rjust(width) for cell, width in zip(line, widths, strict=True)) for line in lines)
    return [line.rstrip() for line in text]


def plain(tables: list[Table]) -> str:
    """Return tables as plain text with their notes, at most 80 columns wide."""
    parts = []
    for one in tables:
        parts.append("\n".join(aligned(one.columns)))
        if one.notes:
            parts.append("\n".join(map(wrapped, one.notes)))
    return "\n\n".join(parts)


def table_text(history: History, units: str | None = None) -> str:
    """Return the tables of a run as plain aligned text, with their notes, at most 80 columns wide."""
    return plain(tables(history, units))


def print_table(history: History, units: str | None = None, file: TextIO | None = None) -> None:
    """Print the tables of a run: see `print_tables`."""
    print_tables(history.batch.name, tables(history, units), file)


def print_tables(title: str, shown: list[Table], file: TextIO | None = None) -> None:
    """Print tables: with rules and colour on a terminal, plain where piped or where NO_COLOR is set."""
    out = file or sys.stdout
    if not out.isatty() or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb":
        print(title, plain(shown), sep="\n\n", file=out)
        return
    from rich import box, table

    console = console_on(out)
    console.print(visible(title), style="bold", markup=False)
    for one in shown:
        drawn = table.Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
        for number, column in enumerate(one.columns):
            style = "bold" if number == 0 else "cyan" if column.heading[2].startswith("°") else None
            drawn.add_column(visible("\n".join(column.heading)), justify="right", no_wrap=True, style=style)
        for row, cells in enumerate(zip(*(column.cells for column in one.columns), strict=True)):
            drawn.add_row(*map(visible, cells), end_section=row in one.ends)
        console.print()
        console.print(drawn)
        if one.notes:
            console.print()
        for note in one.notes:
            console.print(visible(wrapped(note)), style="dim", markup=False)


def wrapped(text: str) -> str:
    """Return a paragraph broken into lines of at most 80 columns."""
    return textwrap.fill(text, WIDTH, break_on_hyphens=False, break_long_words=False)


def table_html(table: Table) -> str:
    """Return a table and its notes as HTML."""
    head = "".join(f"<th>{'<br>'.join(map(escape, column.heading))}</th>" for column in table.columns)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>"
        for row in zip(*(column.cells for column in table.columns), strict=True)
    )
    return f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>" + "".join(
        f"<p><small>{escape(note)}</small></p>" for note in table.notes
    )
