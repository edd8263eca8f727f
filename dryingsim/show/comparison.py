"""Runs side by side, as tables, sentences, pictures and files.

They are runs of several batches, or of one batch with something varied.

The files are `comparison.csv` and `comparison.json` in SI, `comparison.png` and `comparison.svg` to look at.
"""

import math
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from dryingsim.batch.catalog.organisms import organisms
from dryingsim.explore.compare import Comparison
from dryingsim.explore.vary import Variation
from dryingsim.history import History
from dryingsim.judge.energy import energy_taken
from dryingsim.judge.grades import COUNTABLE, GRADES, SCATTER, Lethality, logs
from dryingsim.show.atomic_write import write_set
from dryingsim.show.csv_text import csv_text
from dryingsim.show.federal_text import check_values
from dryingsim.show.files import json_text, pictures, prepare_directory
from dryingsim.show.lethality_text import HEADLINES, beside_reached, verdict_line
from dryingsim.show.quantities import Units, spoken
from dryingsim.show.tables import CAUTION, SPREAD, WIDTH, Column, Table, aligned, clock_or_dash, wrapped
from dryingsim.typing import Array

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure

Runs = Comparison | Variation
FILES = ("comparison.csv", "comparison.json", "comparison.png", "comparison.svg")
_NOTE = (
    "When the batch is done, and from when to when that may be (water activity known to ±0.04 only); coldest "
    "spot of the meat after 1 h and at its hottest, each with its air; between the first and the last "
    "thickness class and tray that are done; then, when done, the water activity of the driest slices, weight, "
    "share of the weight laid on, moisture-to-protein ratio."
)
_ENERGY_NOTE = (
    "Energy until done and in the whole run, by heater, fan and steam; heating up an appliance first is not "
    "in it unless the batch starts cold."
)
_KILL_NOTE = (
    "Kill of bacteria until the meat is taken out (when done, or at the end of stages that only then begin), each at its "
    "worst place: the cautious estimate (heat alone; it decides) to the central one "
    f"(with drying itself; published counts lie within about {SCATTER:.0f} log of it), and the grade against what "
    "guidelines ask for: " + "; ".join(f"{grade} - {meaning}" for grade, meaning in GRADES.items()) + "."
)
# names of the organisms on two lines of a heading
_HEADINGS = {
    "salmonella": ("Salmo-", "nella"),
    "e_coli": ("E. coli", "O157:H7"),
    "listeria": ("L. mono-", "cytogenes"),
}
_STYLES = ("-", "--", "-.", ":")  # when the colours run out


def labels(runs: Runs) -> tuple[str, ...]:
    """Return what the runs are called: titles, or values of what is varied."""
    return runs.labels if isinstance(runs, Comparison) else runs.values


def units_of(runs: Runs, units: str | None) -> Units:
    """Return the units to print in: those asked for, or else those of the first batch."""
    batch = runs.runs[0].history.batch if isinstance(runs, Comparison) else runs.batch
    return Units(batch, units)


def title_of(runs: Runs) -> str:
    """Return what stands above the tables."""
    return "Side by side" if isinstance(runs, Comparison) else runs.batch.name


def comparison_tables(runs: Runs, units: str | None = None) -> list[Table]:
    """Return a table with one row per run, cut into several where it is wider than a screen.

    Parameters
    ----------
    runs : Comparison or Variation
    units : str, optional
        "metric" or "us"; as the first batch file says if left out.
    """
    if isinstance(runs, Comparison):
        numbers = [str(number) for number in range(1, len(runs.labels) + 1)]
        head = Column(("", "", "run"), numbers)
        notes = [f"{number}  {label}" for number, label in zip(numbers, runs.labels, strict=True)]
    else:
        head, notes = Column(("", "", runs.key.split(".")[-1]), list(runs.values)), [f"Varied: {runs.key}."]
    parts = _cut(head, *_columns(runs, units_of(runs, units)))
    told = [_NOTE] if np.isnan(runs.measures["run_energy_J"]).all() else [_NOTE, _ENERGY_NOTE]
    told.append(_KILL_NOTE)
    last = len(parts) - 1
    return [
        Table(part, [*notes, *told] if number == last else [], set()) for number, part in enumerate(parts)
    ]


def _columns(runs: Runs, shown: Units) -> list[list[Column]]:
    """Return the columns that hold anything: when and how warm; what is left and what it takes; kill."""
    found, degree = runs.measures, shown.temperature.symbol

    def times(heading: tuple[str, str], name: str) -> Column:
        return Column((*heading, "h:min"), [clock_or_dash(value) for value in found[name]])

    def degrees(heading: tuple[str, str], name: str) -> Column:
        return numbers((*heading, degree), shown.temperature.value(found[name]), 0)

    def numbers(heading: tuple[str, str, str], values: Array, decimals: int) -> Column:
        return Column(heading, ["-" if np.isnan(value) else f"{value:.{decimals}f}" for value in values])

    weight = ["-" if np.isnan(value) else shown.weight.number(value) for value in found["weight_kg"]]
    per_water = shown.energy.value(found["energy_per_water_J_kg"]) / shown.bulk.value(1.0)
    way = [
        times(("", "done"), "done_s"),
        times(("", "from"), "done_earliest_s"),
        times(("", "to"), "done_latest_s"),
        degrees(("meat", "at 1 h"), "first_hour_meat_K"),
        degrees(("air", "at 1 h"), "first_hour_air_K"),
        degrees(("meat at", "hottest"), "hottest_meat_K"),
        degrees(("air", "then"), "hottest_air_K"),
        times(("classes", "apart"), "classes_apart_s"),
        times(("trays", "apart"), "trays_apart_s"),
    ]
    end = [
        numbers(("a_w", "driest", "-"), found["driest_water_activity"], 2),
        Column(("", "weight", shown.weight.symbol), weight),
        numbers(("", "left", "%"), 100.0 * found["weight_share"], 0),
        numbers(("", "M:P", "kg/kg"), found["moisture_protein_ratio"], 2),
        numbers(("energy", "to done", "kWh"), shown.energy.value(found["energy_J"]), 2),
        numbers(("per", "water", f"kWh/{shown.bulk.symbol}"), per_water, 1),
        numbers(("", "cost", runs.currency or ""), found["cost"], 2),
        numbers(("energy", "of run", "kWh"), shown.energy.value(found["run_energy_J"]), 2),
        numbers(("highest", "power", "W"), found["peak_heater_W"], 0),
    ]
    groups = (way, end, _kill_columns(runs))
    return [[column for column in columns if set(column.cells) != {"-"}] for columns in groups]


def _kill_columns(runs: Runs) -> list[Column]:
    columns = []
    for key in organisms():
        above, below = _HEADINGS[key]
        low, mid = (runs.measures[f"{key}_{estimate}"] for estimate in ("cautious", "central"))
        bands = [
            "-" if np.isnan(a) else "-".join(dict.fromkeys((_short(a), _short(b))))
            for a, b in zip(low, mid, strict=True)
        ]
        columns += [
            Column((above, below, "log"), bands),
            Column(("", "", "grade"), [_grade(value) or "-" for value in runs.measures[f"{key}_grade"]]),
        ]
    return columns


def _short(reduction: float) -> str:
    return f"{reduction:.1f}" if reduction <= COUNTABLE else f">{COUNTABLE:.0f}"  # as `logs` does in words


def _grade(place: float) -> str | None:
    """Return the grade at its place among the grades; None for nan, where a run has none."""
    return None if math.isnan(place) else list(GRADES)[int(place)]


def _cut(head: Column, *groups: list[Column]) -> list[list[Column]]:
    """Return groups of columns, the head in front of each; those too wide for a screen in parts."""
    parts = []
    for columns in groups:
        parts.append([head])
        for column in columns:
            if max(map(len, aligned([*parts[-1], column]))) > WIDTH - 1:
                parts.append([head])
            parts[-1].append(column)
    return [part for part in parts if len(part) > 1]


def comparison_sentences(runs: Runs, units: str | None = None) -> list[str]:
    """Return in words which run is done first and last, which takes least energy, and what is killed."""
    done, names = runs.measures["done_s"], _names(runs)
    shown = units_of(runs, units)
    ran = np.isfinite(runs.measures["hottest_meat_K"])
    never = [names[number] for number in np.flatnonzero(ran & np.isnan(done))]
    text = []
    if np.isfinite(done).any():
        first, last = int(np.nanargmin(done)), int(np.nanargmax(done))
        text.append(f"Done first: {names[first]}, after {spoken(done[first])}.")
        if first != last:
            text.append(f"Done last: {names[last]}, after {spoken(done[last])}.")
    if never:
        text.append(f"Not done when the run ends: {', '.join(never)}.")
    energy, cost = runs.measures["energy_J"], runs.measures["cost"]
    if np.isfinite(energy).sum() > 1:
        least, most = int(np.nanargmin(energy)), int(np.nanargmax(energy))
        told = [
            f"{names[i]} with {shown.energy.text(energy[i])}{_cost(runs, cost[i])}" for i in (least, most)
        ]
        text.append(f"Least energy until done takes {told[0]}, most {told[1]}.")
        if isinstance(runs, Comparison):
            text.append(
                "Leaks and draughts are estimates: less than twice as much energy may be no difference."
            )
    said = [" ".join(text), f"{SPREAD} That would shift all of these times the same way."]
    return [*said, *_kill_sentences(runs, shown)]


def _kill_sentences(runs: Runs, shown: Units) -> list[str]:
    """Return the verdict on each batch; of a variation, which values get which verdict."""
    names = _names(runs)
    if isinstance(runs, Comparison):
        pairs = zip(names, runs.runs, strict=True)
        return [f"{name}: {verdict_line(one.lethality, shown)}" for name, one in pairs]
    text = [f"Warning, {value}: {one.told(shown.temperature.text)}." for value, one in runs.warnings]
    for place, grade in enumerate(GRADES):
        alike = [names[number] for number in np.flatnonzero(runs.measures["grade"] == place)]
        if alike:
            text.append(f"{HEADLINES[grade]}: {', '.join(alike)}.")
    return [" ".join([*text, *_checks(runs, shown), *_kill_spans(runs)])]


def _checks(runs: Variation, shown: Units) -> list[str]:
    """Return what the federal table and the home advice say, each answer once, with the values it holds for."""
    said: dict[str, list[str]] = {}
    for value, one in zip(runs.values, runs.lethality, strict=True):
        line = beside_reached(one, shown) if one is not None else ""
        if line:
            said.setdefault(line.strip(), []).append(value)
    return [f"{', '.join(values)}: {line}" for line, values in said.items()]


def _kill_spans(runs: Runs) -> list[str]:
    """Return from where to where the kill of each organism goes."""
    found = []
    for key, name in organisms().items():
        low, mid = (runs.measures[f"{key}_{estimate}"] for estimate in ("cautious", "central"))
        ends = [(logs(np.nanmin(values)), logs(np.nanmax(values))) for values in (low, mid)]
        spans = [a if a == b else f"{a} to {b}" for a, b in ends]
        found.append(f"{name}: {spans[0]} log (cautious), {spans[1]} log (central).")
    return found


def _cost(runs: Runs, cost: float) -> str:
    return "" if math.isnan(cost) else f" for {cost:.2f} {runs.currency}"


def _names(runs: Runs) -> list[str]:
    if isinstance(runs, Comparison):
        return [f"{number} ({label})" for number, label in enumerate(runs.labels, start=1)]
    return [f"{runs.key.split('.')[-1]} {value}" for value in runs.values]


def comparison_text(runs: Runs, units: str | None = None) -> str:
    """Return the sentences and the caution as paragraphs of plain text."""
    return "\n".join(map(wrapped, [*comparison_sentences(runs, units), "", CAUTION]))


def comparison_csv(runs: Runs) -> str:
    """Return one line per run, in SI, as `dryingsim.explore.compare.measure` names it; empty where not reached.

    The first column is the label, or the value as typed under the place of what is varied; a cost has its
    currency in its name, and a grade stands in words.
    """
    first = "label" if isinstance(runs, Comparison) else runs.key
    names = [f"cost_{runs.currency}" if name == "cost" and runs.currency else name for name in runs.measures]
    rows = []
    for number, label in enumerate(labels(runs)):
        row = _row(runs, number).values()
        rows.append([label, *(f"{value:.10g}" if isinstance(value, float) else value or "" for value in row)])
    return csv_text([first, *names], rows)


def _row(runs: Runs, number: int) -> dict[str, float | str | None]:
    """Return the measures of one run as plain values: None where not reached, a grade in words."""
    row: dict[str, float | str | None] = {}
    for name, values in runs.measures.items():
        value = float(values[number])
        row[name] = _grade(value) if name.endswith("grade") else None if math.isnan(value) else value
    return row


def comparison_json(runs: Runs) -> str:
    """Return the same as JSON, with the caution, remarks and currency; null where not reached."""
    rows: list[dict[str, Any]] = [
        {"label": label, **_row(runs, number)} for number, label in enumerate(labels(runs))
    ]
    for row, one in zip(rows, _judged(runs), strict=True):
        row["warnings"] = [] if one is None else [str(remark) for remark in one.warnings]
        row |= {} if one is None else check_values(one)
    found: dict[str, Any] = {"caution": CAUTION, "remarks": list(runs.remarks), "currency": runs.currency}
    if isinstance(runs, Variation):
        found |= {"batch": runs.batch.name, "varied": runs.key}
    return json_text(found | {"runs": rows})


def _judged(runs: Runs) -> list[Lethality | None]:
    """Return the judgement on each run; None for one that could not be made."""
    return [one.lethality for one in runs.runs] if isinstance(runs, Comparison) else list(runs.lethality)


def write_comparison(runs: Runs, directory: Path, units: str | None = None) -> list[Path]:
    """Write the table as CSV and JSON and the picture, all or none; files of the same names are replaced.

    Parameters
    ----------
    runs : Comparison or Variation
    directory : Path
        Made if it is missing.
    units : str, optional
        "metric" or "us", for the picture; as the first batch file says if left out.

    Returns
    -------
    list of Path
        The files written.
    """
    directory = Path(directory)
    prepare_directory(directory)
    drawn = pictures(lambda: comparison_figure(runs, units))
    contents = (comparison_csv(runs).encode(), comparison_json(runs).encode(), *drawn)
    return write_set(directory, dict(zip(FILES, contents, strict=True)))


def comparison_figure(runs: Runs, units: str | None = None) -> "Figure":
    """Draw runs over shared axes: over time, or over what is varied.

    Parameters
    ----------
    runs : Comparison or Variation
    units : str, optional
        "metric" or "us"; as the first batch file says if left out.
    """
    shown = units_of(runs, units)
    return _over_time(runs, shown) if isinstance(runs, Comparison) else _over_values(runs, shown)


def _over_time(comparison: Comparison, shown: Units) -> "Figure":
    from matplotlib.figure import Figure

    from dryingsim.show import plots

    histories = [one.history for one in comparison.runs]
    panels = _panels(sheet := Figure(figsize=(10.0, 6.4), layout="constrained"), histories, shown)
    for target in {history.batch.targets.water_activity for history in histories}:
        plots.mark_target(panels["dry"], target)
    for number, (history, label) in enumerate(zip(histories, comparison.labels, strict=True)):
        colour = plots.LINE_COLOURS[number % len(plots.LINE_COLOURS)]
        style = _STYLES[number // len(plots.LINE_COLOURS) % len(_STYLES)]
        name = f"{number + 1}  {label if len(label) <= 80 else label[:79] + '…'}"
        _draw_run(panels, history, shown, {"color": colour, "linestyle": style, "label": name})
        dot = shown.time.value(comparison.measures["done_s"][number]), history.batch.targets.water_activity
        panels["dry"].plot(*([one] for one in dot), "o", color=colour, markersize=5.0)
    panels["weight"].set_ylim(bottom=0.0)  # once all lines are drawn: the scale is fixed from here on
    handles, names = panels["weight"].get_legend_handles_labels()
    sheet.legend(handles, names, loc="outside upper left", frameon=False)
    plots.caution(sheet)
    return sheet


def _panels(sheet: "Figure", histories: list[History], shown: Units) -> "dict[str, Axes]":
    """Return named panels that share the time axis; one for energy only if there is an appliance."""
    from dryingsim.show.plots import open_frame

    degree, mass, energy = shown.temperature.symbol, shown.weight.symbol, shown.energy.symbol
    powered = any(history.chamber for history in histories)
    grid: list[Any] = [["dry", "heat"], ["weight", "energy" if powered else "heat"]]
    panels = sheet.subplot_mosaic(grid, sharex=True)
    titles = {
        "dry": ("Wettest slices, evened out; dot: done", "water activity (-)"),
        "heat": ("Coldest spot of the meat, and faint its air", f"temperature ({degree})"),
        "weight": ("Weight of the batch", f"weight on the trays ({mass})"),
        "energy": ("Energy since the start", f"heater, fan, steam ({energy})"),
    }
    for key, axes in panels.items():
        axes.set_title(titles[key][0], loc="left")
        axes.set_ylabel(titles[key][1])
        open_frame(axes)
    panels["dry"].set_xlim(0.0, float(shown.time.value(max(history.time_s[-1] for history in histories))))
    for key in grid[1]:
        panels[key].set_xlabel(f"time ({shown.time.symbol})")
    return panels


def _draw_run(panels: "dict[str, Axes]", history: History, shown: Units, line: dict[str, Any]) -> None:
    hours = shown.time.value(history.time_s)
    coldest = history.temperature_K.min(axis=1)
    slab = coldest.argmin(axis=1)
    rows = np.arange(slab.size)
    meat, air = coldest[rows, slab], history.air_temperature_K[rows, slab]
    panels["dry"].plot(hours, history.equalised_water_activity.max(axis=1), **line)
    panels["heat"].plot(hours, shown.temperature.value(meat), **line)
    panels["heat"].plot(hours, shown.temperature.value(air), **line | {"alpha": 0.4, "linewidth": 1.0})
    panels["weight"].plot(hours, shown.weight.value(history.weight_kg.sum(axis=1)), **line)
    if history.chamber is not None:
        panels["energy"].plot(hours, shown.energy.value(energy_taken(history)), **line)


def _over_values(variation: Variation, shown: Units) -> "Figure":
    from matplotlib.figure import Figure

    from dryingsim.show import plots

    found = variation.measures
    x = np.arange(len(variation.values)) if variation.numbers is None else variation.numbers
    sheet = Figure(figsize=(10.0, 6.4), layout="constrained")
    panels = sheet.subplots(2, 2, sharex=True)
    when, heat, weight, last = panels.flat
    _draw_times(when, x, found, shown)
    lines = [
        ("air, 1 h", "first_hour_air_K", plots.RED),
        ("meat, hottest", "hottest_meat_K", plots.ORANGE),
        ("meat, 1 h", "first_hour_meat_K", plots.BLACK),
    ]
    _draw_measures(heat, x, [(name, shown.temperature.value(found[key]), hue) for name, key, hue in lines])
    _label(heat, "Coldest spot of the meat, and air", f"temperature ({shown.temperature.symbol})")
    _draw_measures(weight, x, [("", shown.weight.value(found["weight_kg"]), plots.BLUE)])
    _label(weight, "Weight when done", f"weight on the trays ({shown.weight.symbol})")
    if np.isfinite(found["energy_J"]).any():
        _draw_measures(last, x, [("", shown.energy.value(found["energy_J"]), plots.PURPLE)])
        _label(last, "Energy until done", f"heater, fan, steam ({shown.energy.symbol})")
    else:
        _draw_measures(last, x, [("", found["driest_water_activity"], plots.GREEN)])
        _label(last, "Driest slices when the batch is done", "water activity (-)")
    for axes in (when, weight, last):  # a change is seen against the whole
        axes.set_ylim(0.0, 1.08 * axes.get_ylim()[1])
    for axes in panels.flat:
        plots.open_frame(axes)
    for axes in panels[1]:
        if variation.numbers is None:
            axes.set_xticks(x, variation.values, rotation=20.0, ha="right")
        axes.set_xlabel(f"{variation.key} ({variation.unit})" if variation.unit else variation.key)
    sheet.suptitle(f"{variation.batch.name}: {variation.key} varied", x=0.01, ha="left", fontweight="bold")
    plots.caution(sheet)
    return sheet


def _draw_times(axes: "Axes", x: np.ndarray, found: dict[str, np.ndarray], shown: Units) -> None:
    """Draw when it is done, and the window; where only one end of that is known there is no band."""
    from dryingsim.show.plots import BLUE, SKY

    early, late = (shown.time.value(found[f"done_{end}_s"]) for end in ("earliest", "latest"))
    axes.fill_between(x, early, late, color=SKY, alpha=0.3, linewidth=0.0)
    for edge in (early, late):
        axes.plot(x, edge, color=SKY, linewidth=1.0)
    _draw_measures(axes, x, [("", shown.time.value(found["done_s"]), BLUE)])
    _label(axes, "Done; pale: water activity known to ±0.04", f"time ({shown.time.symbol})")


def _label(axes: "Axes", title: str, y: str) -> None:
    axes.set_title(title, loc="left")
    axes.set_ylabel(y)


def _draw_measures(axes: "Axes", x: np.ndarray, lines: Sequence[tuple[str, np.ndarray, str]]) -> None:
    from dryingsim.show.style import ink

    at = int(np.argmax(x))
    for name, values, colour in lines:
        axes.plot(x, values, "o-", color=colour, markersize=4.0, linewidth=1.6, label=name)
        if name and np.isfinite(values[at]):
            axes.annotate(
                name, (x[at], values[at]), (3.0, 5.0), textcoords="offset points", ha="right", color=ink(colour)
            )  # fmt: skip
