"""What a person reads: tables, the answers in sentences, and the caution that goes with them."""

import os
import sys
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TextIO

import numpy as np

from dryingsim.history import History
from dryingsim.judge.doneness import HOUR_S, Answers, Doneness, Window, judge_batch
from dryingsim.judge.energy import Consumption, Energy, Price, judge_energy
from dryingsim.judge.lethality import CAUTIONS
from dryingsim.judge.remedies import Remedy
from dryingsim.judge.trays import AirState, TrayDone, judge_trays, tray_air
from dryingsim.judge.verdict import judge_batch_lethality, judge_taken_out
from dryingsim.plain_text import html_text as escape
from dryingsim.plain_text import visible
from dryingsim.properties.diffusivity import LABORATORY_SPREAD
from dryingsim.show import lethality_text
from dryingsim.show.outlet import console_on
from dryingsim.show.quantities import Units, clock, slices, slowest, spoken
from dryingsim.typing import Array

WIDTH = 80  # columns of plain text
CAUTION = " ".join(CAUTIONS)
_UNEVEN_K = 6.0  # between the hottest and the coldest spot, worth a word
_HARDLY_DRIED = (
    0.6  # share of the weight laid on: lean meat dried to 0.85 without much salt keeps 40-50 % (estimate)
)
SPREAD = (
    f"Laboratories differ by a factor of {LABORATORY_SPREAD[1]:g} either way on how fast water moves "
    "through meat: go by the weight, not by the clock."
)
_WORTH_TELLING_S = 300.0  # a run that goes on for less than this is not told apart from its done part
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


def answer_sentences(
    history: History, answers: Answers, units: str | None = None, price: Price | None = None
) -> list[str]:
    """Return the answers in words: when it is done, what it weighs then, how hot the meat got.

    For an appliance also how the trays are loaded and what energy it takes.

    Parameters
    ----------
    history : History
    answers : Answers
        As `dryingsim.judge.doneness.judge_batch` gives them.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    price : Price, optional
        Of the energy.
    """
    shown = Units(history, units)
    said = [
        _when(history, answers, shown),
        *_weighing(history, answers, shown),
        _heat(history, answers, shown),
    ]
    return [*said, *_load(history), *_energy(history, judge_energy(history, answers, price), shown)]


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
    if done.surely_dry_weight_kg is None:
        surely = (
            "The weight at which they would be dry even if the water activity is off by that much lies beyond this run: "
            "let it dry to a lower one (`until`) to see it."
        )
    else:
        surely = (
            "To be dry even if the water activity is off by that much they have to be down to "
            f"{shown.weight.text(done.surely_dry_weight_kg)}."
        )
    said = [
        f"The trays then hold {shown.weight.text(done.weight_kg)} of meat, {100.0 * done.weight_share:.0f} % "
        f"of the {shown.weight.text(laid_on)} laid on, with a moisture-to-protein ratio of "
        f"{done.moisture_protein_ratio:.2f}. {surely} {SPREAD}"
    ]
    if done.weight_share > _HARDLY_DRIED:
        said.append(
            "This meat has hardly dried: salt or sugar holds its water activity down. That is curing, not drying; check "
            "the amounts of the marinade."
        )
    return said


def _heat(history: History, answers: Answers, shown: Units) -> str:
    heat, told = answers.heating, shown.temperature.text
    most, where = float(history.temperature_K.max()), ""
    if history.tray.max():
        where = f", on tray {history.tray[int(history.temperature_K.max(axis=(0, 1)).argmax())] + 1}"
    hottest = ""
    if most > heat.peak_K + _UNEVEN_K:
        hottest = (
            f" At its hottest spot it reached {told(most)}{where}: some of it gets much hotter than the rest."
        )
    text = (
        f"At its coldest spot the meat reached {told(heat.peak_K)} at most, after {spoken(heat.peak_s)}, "
        f"in air of {told(heat.air_at_peak_K)}"
    )
    if heat.first_hour_K is not None and heat.air_first_hour_K is not None:
        air = told(heat.air_first_hour_K)
        text += f"; after the first hour it was at {told(heat.first_hour_K)} in air of {air}"
    return f"{text}.{hottest}"


def _load(history: History) -> list[str]:
    trays, appliance = judge_trays(history), history.batch.appliance
    if trays is None or appliance is None:
        return []
    text = (
        f"The slices lie on {trays.used} of the {trays.slots} trays of the {appliance.name}, cover "
        f"{100.0 * trays.cover:.0f} % of each, and need {trays.needed} at least."
    )
    if trays.used > 1 and trays.apart_s is not None:
        ends = [one.all_done.expected_s or 0.0 for one in trays.done]
        first, last = int(np.argmin(ends)), int(np.argmax(ends))
        moved, every = "", history.batch.rotate_every_s
        if every is not None:
            moved = f", with the trays changing places every {spoken(every)}"
        text += (
            f" Tray {first + 1} is done first, tray {last + 1} last, {spoken(trays.apart_s)} later{moved}."
        )
    return [text]


def _energy(history: History, energy: Energy | None, shown: Units) -> list[str]:
    if energy is None or history.batch.appliance is None:
        return []
    until, heater = energy.until_done or energy.run, shown.power.text
    told = shown.energy.text
    text = (
        f"{'Until done' if energy.until_done else 'In the run'} the {history.batch.appliance.name} takes "
        f"{_taken(until, energy, shown)}"
    )
    if until.per_water_J_kg is not None:
        text += f", {shown.energy_per_weight(until.per_water_J_kg)} of water dried off"
    text += (
        f"; {told(until.walls_J)} is lost through its walls and {told(until.exchanged_J)} with exchanged air."
    )
    if energy.until_done and energy.run.duration_s - until.duration_s > _WORTH_TELLING_S:
        text += f" The whole run takes {told(energy.run.total_J)}{_cost(energy.run, energy)}."
    if until.mean_heater_W is not None:
        text += f" The heater takes {heater(until.mean_heater_W)} on average, {heater(energy.peak_heater_W)}"
        text += " at most."
    preheated = history.batch.appliance.preheated
    return [f"{text} Heating it up first is {'not ' if preheated else ''}counted."]


def _taken(one: Consumption, energy: Energy, shown: Units) -> str:
    number = shown.energy.number
    parts = {"heater": one.heater_J, "fan": one.fan_J, "steam": one.steam_J}
    told = [f"{name} {number(joules)}" for name, joules in parts.items() if joules]
    apart = f" ({', '.join(told)})" if len(told) > 1 else ""
    return f"{shown.energy.text(one.total_J)}{apart}{_cost(one, energy)}"


def _cost(one: Consumption, energy: Energy) -> str:
    return "" if one.cost is None else f" for {one.cost:.2f} {energy.currency}"


def wrapped(text: str) -> str:
    """Return a paragraph broken into lines of at most 80 columns."""
    return textwrap.fill(text, WIDTH, break_on_hyphens=False, break_long_words=False)


def answer_text(
    history: History, answers: Answers, units: str | None = None, price: Price | None = None
) -> str:
    """Return the answers, the judgement on kill and the caution as paragraphs of plain text."""
    said = answer_sentences(history, answers, units, price)
    return "\n".join(map(wrapped, [*said, "", *lethality_sentences(history, units), "", CAUTION]))


def lethality_sentences(history: History, units: str | None = None) -> list[str]:
    """Return the judgement on kill as sentences, without its cautions: `CAUTION` is to follow.

    The judgement counts the whole plan. Where the meat is done earlier, what it is worth if taken out then comes
    first: nobody leaves dried meat in for hours.
    """
    judged, shown = replace(judge_batch_lethality(history), cautions=()), Units(history, units)
    taken_out = judge_taken_out(history)
    if taken_out is None:
        return lethality_text.lines(judged, shown)
    done, early = taken_out
    warned = [*lethality_text.warning_lines(judged, shown), *lethality_text.warning_lines(early, shown)]
    said = lethality_text.lines(replace(judged, warnings=()), shown)
    return [
        *dict.fromkeys(warned),
        f"Taken out when done, after {spoken(done)}: {lethality_text.verdict_line(replace(early, warnings=()), shown)}",
        f"Left in to the end of the plan, after {spoken(history.time_s[-1])}: {said[0]}",
        *said[1:],
    ]


def remedy_text(tried: Sequence[Remedy], units: str | None = None) -> str:
    """Return what each change to a batch would do as paragraphs of plain text.

    Parameters
    ----------
    tried : sequence of Remedy
        As `dryingsim.judge.remedies.remedies` gives them, the batch itself first.
    units : str, optional
        "metric" or "us"; as the batch file says if left out.
    """
    history = tried[0].history
    assert history is not None  # the batch itself was run
    told = lethality_text.remedy_lines(tried, Units(history, units))
    return "\n".join(
        map(wrapped, ["What would kill more, each simulated; the cautions above hold here too.", *told])
    )


def history_html(history: History) -> str:
    """Return the answers, the judgement on kill, the caution and the tables as HTML, for notebooks."""
    said = [*answer_sentences(history, judge_batch(history)), *lethality_sentences(history), CAUTION]
    return (
        f"<h4>{escape(history.batch.name)}</h4>"
        + "".join(f"<p>{escape(sentence)}</p>" for sentence in said)
        + "".join(map(table_html, tables(history)))
    )


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
