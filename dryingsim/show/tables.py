"""What a person reads: the table over time, the answers in sentences, and the caution that goes with them."""

import os
import sys
import textwrap
from dataclasses import dataclass
from html import escape
from typing import TextIO

import numpy as np

from dryingsim.history import History
from dryingsim.judge.doneness import Answers, Doneness, Window, judge_batch
from dryingsim.properties.diffusivity import LABORATORY_SPREAD
from dryingsim.show.quantities import Units, clock, slices, slowest, spoken
from dryingsim.typing import Array

WIDTH = 80  # columns of plain text
CAUTION = (
    "This is a simulation: it validates no process, and it says nothing about whether bacteria were killed. "
    "Measure the meat itself with a checked thermometer; follow your local food-safety authority, and to "
    "sell, have a process authority review the process."
)
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


def table_text(history: History, units: str | None = None) -> str:
    """Return the table as plain aligned text, with its notes, at most 80 columns wide."""
    columns = table_columns(history, units)
    widths = [max(map(len, (*column.heading, *column.cells))) for column in columns]
    lines = [*zip(*(column.heading for column in columns), strict=True)]
    lines += [tuple("-" * width for width in widths)]
    lines += [*zip(*(column.cells for column in columns), strict=True)]
    text = ["  ".join(cell.rjust(width) for cell, width in zip(line, widths, strict=True)) for line in lines]
    return "\n".join([*(line.rstrip() for line in text), "", *map(wrapped, table_notes(history, units))])


def print_table(history: History, units: str | None = None, file: TextIO | None = None) -> None:
    """Print the table: with rules and colour on a terminal, plain where piped or where NO_COLOR is set."""
    out = file or sys.stdout
    plain = not out.isatty() or os.environ.get("NO_COLOR") or os.environ.get("TERM") == "dumb"
    if plain:
        print(history.batch.name, table_text(history, units), sep="\n\n", file=out)
        return
    from rich import box
    from rich.console import Console
    from rich.table import Table

    console = Console(file=out, highlight=False)
    columns = table_columns(history, units)
    table = Table(box=box.SIMPLE_HEAD, show_edge=False, pad_edge=False, padding=(0, 1, 0, 0))
    for number, column in enumerate(columns):
        style = "bold" if number == 0 else "cyan" if number >= len(columns) - 4 else None
        table.add_column("\n".join(column.heading), justify="right", no_wrap=True, style=style)
    ends = {int(np.abs(history.time_s - end).argmin()) for end in history.stage_end_s}
    for index, *cells in zip(table_rows(history), *(column.cells for column in columns), strict=True):
        table.add_row(*cells, end_section=index in ends)
    console.print(history.batch.name, style="bold", markup=False)
    console.print()
    console.print(table)
    console.print()
    for note in table_notes(history, units):
        console.print(wrapped(note), style="dim", markup=False)


def answer_sentences(history: History, answers: Answers, units: str | None = None) -> list[str]:
    """Return the answers in words: when it is done, what it weighs then, how hot the meat got.

    Parameters
    ----------
    history : History
    answers : Answers
        As `dryingsim.judge.doneness.judge_batch` gives them.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    shown = Units(history, units)
    return [_when(history, answers, shown), *_weighing(history, answers, shown), _heat(answers, shown)]


def _when(history: History, answers: Answers, shown: Units) -> str:
    done = answers.doneness
    when, end = done.batch.expected_s, float(history.time_s[-1])
    parts = [_not_done(history, done) if when is None else _done(done, when, end)]
    if done.first_look_s is not None:
        parts.append(f"Look first after about {spoken(done.first_look_s)}.")
        if len(done.classes) > 1:
            pairs = zip(history.batch.meat.classes, done.classes, strict=True)
            each = ", ".join(f"{shown.length.text(one.thickness_m)} {_time(window)}" for one, window in pairs)
            parts.append(f"Each on its own: {each}.")
    return " ".join(parts)


def _done(done: Doneness, when: float, end: float) -> str:
    return (
        f"Done after about {spoken(when)}: the wettest slices then even out at a water activity of "
        f"{done.target_water_activity:.2f}. It is known to ±{done.uncertainty:g}, so it may be any time "
        f"{_band(done.batch, end)}."
    )


def _not_done(history: History, done: Doneness) -> str:
    last = float(history.equalised_water_activity[-1].max())
    text = (
        f"Not done when the run ends, after {spoken(history.time_s[-1])}: the wettest slices would even out "
        f"at a water activity of {last:.2f}, above the target of {done.target_water_activity:.2f}"
    )
    if done.batch.earliest_s is not None:
        early = spoken(done.batch.earliest_s)
        text += f"; it is known to ±{done.uncertainty:g}, so they may be there from {early} on"
    return text + "."


def _band(window: Window, end: float) -> str:
    earliest = spoken(window.earliest_s or 0.0)
    if window.latest_s is None:
        return f"from {earliest} to beyond the end of the run ({spoken(end)})"
    return f"between {earliest} and {spoken(window.latest_s)}"


def _time(window: Window) -> str:
    return f"after {spoken(window.expected_s)}" if window.expected_s is not None else "not in this run"


def _weighing(history: History, answers: Answers, shown: Units) -> list[str]:
    done = answers.doneness
    if done.weight_kg is None or done.weight_share is None:
        return []
    laid_on = float(history.weight_kg[0].sum())
    return [
        f"The trays then hold {shown.weight.text(done.weight_kg)} of meat, {100.0 * done.weight_share:.0f} % "
        f"of the {shown.weight.text(laid_on)} laid on, with a moisture-to-protein ratio of "
        f"{done.moisture_protein_ratio:.2f}. {SPREAD}"
    ]


def _heat(answers: Answers, shown: Units) -> str:
    heat, told = answers.heating, shown.temperature.text
    text = (
        f"At its coldest spot the meat reached {told(heat.peak_K)} at most, after {spoken(heat.peak_s)}, "
        f"in air of {told(heat.air_at_peak_K)}"
    )
    if heat.first_hour_K is not None and heat.air_first_hour_K is not None:
        air = told(heat.air_first_hour_K)
        text += f"; after the first hour it was at {told(heat.first_hour_K)} in air of {air}"
    return text + "."


def wrapped(text: str) -> str:
    """Return a paragraph broken into lines of at most 80 columns."""
    return textwrap.fill(text, WIDTH, break_on_hyphens=False, break_long_words=False)


def answer_text(history: History, answers: Answers, units: str | None = None) -> str:
    """Return the answers and the caution as paragraphs of plain text."""
    return "\n".join(map(wrapped, [*answer_sentences(history, answers, units), "", CAUTION]))


def history_html(history: History) -> str:
    """Return the answers, the table and the caution as HTML, for notebooks."""
    columns = table_columns(history)
    head = "".join(f"<th>{'<br>'.join(map(escape, column.heading))}</th>" for column in columns)
    body = "".join(
        "<tr>" + "".join(f"<td>{escape(cell)}</td>" for cell in row) + "</tr>"
        for row in zip(*(column.cells for column in columns), strict=True)
    )
    said = [*answer_sentences(history, judge_batch(history)), CAUTION]
    return (
        f"<h4>{escape(history.batch.name)}</h4>"
        + "".join(f"<p>{escape(sentence)}</p>" for sentence in said)
        + f"<table><thead><tr>{head}</tr></thead><tbody>{body}</tbody></table>"
        + "".join(f"<p><small>{escape(note)}</small></p>" for note in table_notes(history))
    )
