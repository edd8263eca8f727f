"""Pictures of runs side by side: over time, or over what is varied."""

from collections.abc import Sequence
from typing import Any

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure

from dryingsim.explore.compare import Comparison
from dryingsim.explore.vary import Variation
from dryingsim.history import History
from dryingsim.judge.energy import energy_taken
from dryingsim.judge.taking_off import coldest_place, held_activity, held_weight, until_all_off
from dryingsim.show.compare.text import Runs, units_of
from dryingsim.show.core.quantities import Units
from dryingsim.show.core.style import (
    BLACK,
    BLUE,
    GREEN,
    LINE_COLOURS,
    ORANGE,
    PURPLE,
    RED,
    SKY,
    ink,
    new_axes,
    open_frame,
)
from dryingsim.show.run.pictures import caution, mark_target

_STYLES = ("-", "--", "-.", ":")  # when the colours run out


def comparison_figure(runs: Runs, units: str | None = None) -> Figure:
    """Draw runs over shared axes: over time, or over what is varied.

    Parameters
    ----------
    runs : Comparison or Variation
    units : str, optional
        "metric" or "us"; as the first batch file says if left out.
    """
    shown = units_of(runs, units)
    return _over_time(runs, shown) if isinstance(runs, Comparison) else _over_values(runs, shown)


def dryness(comparison: Comparison, axes: Axes | None = None, units: str | None = None) -> Axes:
    """Draw the water activity of the wettest slices of each run over time; a dot where the batch is done.

    Parameters
    ----------
    comparison : Comparison
    axes : matplotlib.axes.Axes, optional
        A new figure if left out.
    units : str, optional
        "metric" or "us"; as the first batch file says if left out.
    """
    axes, shown = axes or new_axes(), units_of(comparison, units)
    histories = [judged.history for judged in comparison.runs]
    for batch in {history.batch.targets.water_activity: history.batch for history in histories}.values():
        mark_target(axes, batch)
    for number, history in enumerate(histories):
        look, target = _look(comparison, number), history.batch.targets.water_activity
        axes.plot(shown.time.value(history.time_s), held_activity(history).max(axis=1), **look)
        axes.plot(
            [shown.time.value(comparison.measures["done_s"][number])], [target], "o", color=look["color"]
        )
    axes.set(xlabel=f"time ({shown.time.symbol})", ylabel="water activity (-)")
    axes.set_title("Wettest slices, evened out; dot: done", loc="left")
    axes.legend(frameon=False)
    open_frame(axes)
    return axes


def _look(comparison: Comparison, number: int) -> dict[str, Any]:
    """Return the colour, style and name of the line of a run."""
    label = comparison.labels[number]
    return {
        "color": LINE_COLOURS[number % len(LINE_COLOURS)],
        "linestyle": _STYLES[number // len(LINE_COLOURS) % len(_STYLES)],
        "label": f"{number + 1}  {label if len(label) <= 80 else label[:79] + '…'}",
    }


def _over_time(comparison: Comparison, shown: Units) -> Figure:
    histories = [judged.history for judged in comparison.runs]
    panels = _panels(sheet := Figure(figsize=(10.0, 6.4), layout="constrained"), histories, shown)
    for batch in {history.batch.targets.water_activity: history.batch for history in histories}.values():
        mark_target(panels["dry"], batch)
    for number, history in enumerate(histories):
        look = _look(comparison, number)
        _draw_run(panels, history, shown, look)
        dot = shown.time.value(comparison.measures["done_s"][number]), history.batch.targets.water_activity
        panels["dry"].plot(*([coordinate] for coordinate in dot), "o", color=look["color"], markersize=5.0)
    panels["weight"].set_ylim(bottom=0.0)  # once all lines are drawn: the scale is fixed from here on
    handles, names = panels["weight"].get_legend_handles_labels()
    sheet.legend(handles, names, loc="outside upper left", frameon=False)
    caution(sheet)
    return sheet


def _panels(sheet: Figure, histories: list[History], shown: Units) -> dict[str, Axes]:
    """Return named panels that share the time axis; one for energy only if there is an appliance."""
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


def _draw_run(panels: dict[str, Axes], history: History, shown: Units, line: dict[str, Any]) -> None:
    whole, history = history, until_all_off(history)
    hours = shown.time.value(history.time_s)
    coldest = coldest_place(history)
    slab = coldest.argmin(axis=1)
    rows = np.arange(slab.size)
    meat, air = coldest[rows, slab], history.air_temperature_K[rows, slab]
    panels["dry"].plot(hours, held_activity(history).max(axis=1), **line)
    panels["heat"].plot(hours, shown.temperature.value(meat), **line)
    panels["heat"].plot(hours, shown.temperature.value(air), **line | {"alpha": 0.4, "linewidth": 1.0})
    panels["weight"].plot(hours, shown.weight.value(held_weight(history)), **line)
    if history.chamber is not None:
        panels["energy"].plot(shown.time.value(whole.time_s), shown.energy.value(energy_taken(whole)), **line)


def _over_values(variation: Variation, shown: Units) -> Figure:
    measures = variation.measures
    x = np.arange(len(variation.values)) if variation.numbers is None else variation.numbers
    sheet = Figure(figsize=(10.0, 6.4), layout="constrained")
    panels = sheet.subplots(2, 2, sharex=True)
    when, heat, weight, last = panels.flat
    _draw_times(when, x, measures, shown)
    lines = [
        ("air, 1 h", "first_hour_air_K", RED),
        ("meat, hottest", "hottest_meat_K", ORANGE),
        ("meat, 1 h", "first_hour_meat_K", BLACK),
    ]
    _draw_measures(heat, x, [(name, shown.temperature.value(measures[key]), hue) for name, key, hue in lines])
    _label(heat, "Coldest spot of the meat, and air", f"temperature ({shown.temperature.symbol})")
    _draw_measures(weight, x, [("", shown.weight.value(measures["weight_kg"]), BLUE)])
    _label(weight, "Weight when done", f"weight on the trays ({shown.weight.symbol})")
    if np.isfinite(measures["energy_J"]).any():
        _draw_measures(last, x, [("", shown.energy.value(measures["energy_J"]), PURPLE)])
        _label(last, "Energy until done", f"heater, fan, steam ({shown.energy.symbol})")
    else:
        _draw_measures(last, x, [("", measures["driest_water_activity"], GREEN)])
        _label(last, "Driest slices when the batch is done", "water activity (-)")
    for axes in (when, weight, last):  # a change is seen against the whole
        axes.set_ylim(0.0, 1.08 * axes.get_ylim()[1])
    for axes in panels.flat:
        open_frame(axes)
    for axes in panels[1]:
        if variation.numbers is None:
            axes.set_xticks(x, variation.values, rotation=20.0, ha="right")
        axes.set_xlabel(f"{variation.key} ({variation.unit})" if variation.unit else variation.key)
    sheet.suptitle(f"{variation.batch.name}: {variation.key} varied", x=0.01, ha="left", fontweight="bold")
    caution(sheet)
    return sheet


def _draw_times(axes: Axes, x: np.ndarray, measures: dict[str, np.ndarray], shown: Units) -> None:
    """Draw when it is done, and the window; where only one end of that is known there is no band."""
    early, late = (shown.time.value(measures[f"done_{end}_s"]) for end in ("earliest", "latest"))
    axes.fill_between(x, early, late, color=SKY, alpha=0.3, linewidth=0.0)
    for edge in (early, late):
        axes.plot(x, edge, color=SKY, linewidth=1.0)
    _draw_measures(axes, x, [("", shown.time.value(measures["done_s"]), BLUE)])
    _label(axes, "Done; pale: nine times in ten", f"time ({shown.time.symbol})")


def _label(axes: Axes, title: str, y: str) -> None:
    axes.set_title(title, loc="left")
    axes.set_ylabel(y)


def _draw_measures(axes: Axes, x: np.ndarray, lines: Sequence[tuple[str, np.ndarray, str]]) -> None:
    at = int(np.argmax(x))
    for name, values, colour in lines:
        axes.plot(x, values, "o-", color=colour, markersize=4.0, linewidth=1.6, label=name)
        if name and np.isfinite(values[at]):
            axes.annotate(
                name, (x[at], values[at]), (3.0, 5.0), textcoords="offset points", ha="right", color=ink(colour)
            )  # fmt: skip
