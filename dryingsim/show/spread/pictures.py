"""Pictures of a spread."""

import numpy as np
from matplotlib.axes import Axes
from matplotlib.figure import Figure
from matplotlib.ticker import PercentFormatter

from dryingsim.batch.uncertainties import WORDS
from dryingsim.explore.spread_result import Spread
from dryingsim.show.core.quantities import Units, spoken
from dryingsim.show.run.pictures import (
    BLACK,
    BLUE,
    GREEN,
    GREY,
    ORANGE,
    RED,
    SKY,
    caution,
    mark_target,
    new_axes,
    open_frame,
)

_BARS = 8


def spread_figure(spread: Spread, units: str | None = None) -> Figure:
    """Draw four panels on one sheet: how dry, how warm, how many are done, and what makes the difference."""
    sheet = Figure(figsize=(11.0, 7.2), layout="constrained")
    panels = sheet.subplot_mosaic([["dry", "shares"], ["warm", "causes"]])
    dryness_bands(spread, panels["dry"])
    warmth_bands(spread, panels["warm"], units)
    shares(spread, panels["shares"])
    influences(spread, panels["causes"])
    sheet.suptitle(spread.title, x=0.01, ha="left", fontweight="bold")
    caution(sheet)
    return sheet


def dryness_bands(spread: Spread, axes: Axes | None = None) -> Axes:
    """Draw the bands of the water activity over time, with the target and its uncertainty.

    Parameters
    ----------
    spread : Spread
    axes : matplotlib.axes.Axes, optional
        A new figure if left out.
    """
    axes = axes or new_axes()
    mark_target(axes, spread.batch)
    _bands(axes, spread, spread.bands("water_activity"), BLUE)
    axes.set_ylabel("water activity, evened out (-)")
    axes.set_title("How dry: half of all slices, nine in ten", loc="left")
    return axes


def warmth_bands(spread: Spread, axes: Axes, units: str | None = None) -> Axes:
    """Draw the bands of the temperature in the middle over time."""
    shown = Units(spread.batch, units)
    _bands(axes, spread, shown.temperature.value(spread.bands("core_K")), RED)
    axes.set_ylabel(f"temperature in the middle ({shown.temperature.symbol})")
    axes.set_title("How warm: half of all slices, nine in ten", loc="left")
    return axes


def _bands(axes: Axes, spread: Spread, bands: np.ndarray, colour: str) -> None:
    hours = spread.times_s / 3600.0
    axes.fill_between(hours, bands[0], bands[4], color=colour, alpha=0.18, linewidth=0.0)
    axes.fill_between(hours, bands[1], bands[3], color=colour, alpha=0.28, linewidth=0.0)
    axes.plot(hours, bands[2], color=colour, linewidth=1.6)
    _hours(axes, spread)


def shares(spread: Spread, axes: Axes) -> Axes:
    """Draw the shares of the slices that are moist, in the window and brittle over time."""
    hours, states = spread.times_s / 3600.0, spread.states()
    axes.stackplot(hours, states[2], states[1], states[0], colors=(ORANGE, GREEN, SKY), alpha=0.75)
    edge = np.cumsum(states[::-1], axis=0)
    for row, name in enumerate(("brittle", "in the window", "still moist")):
        at = int(states[2 - row].argmax())
        place = np.clip(hours[at], 0.12 * hours[-1], 0.86 * hours[-1])
        below = edge[row - 1] if row else np.zeros_like(hours)
        if states[2 - row].max() > 0.1:
            height = float(np.interp(place, hours, 0.5 * (below + edge[row])))
            axes.text(float(place), height, name, ha="center", va="center")
    axes.set_ylim(0.0, 1.0)
    axes.yaxis.set_major_formatter(PercentFormatter(1.0))
    _hours(axes, spread)
    axes.set_title("Share of the slices", loc="left")
    return axes


def _hours(axes: Axes, spread: Spread) -> None:
    axes.set_xlim(0.0, float(spread.times_s[-1]) / 3600.0)
    axes.set_xlabel("time (h)")
    axes.axvline(spread.planned_s / 3600.0, color=BLACK, linewidth=0.9, linestyle=":")
    axes.annotate(
        f"plan: {spoken(spread.planned_s)}",
        (spread.planned_s / 3600.0, 1.0),
        (3.0, -3.0),
        xycoords=("data", "axes fraction"),
        textcoords="offset points",
        va="top",
        fontsize="small",
    )
    open_frame(axes)


def influences(spread: Spread, axes: Axes) -> Axes:
    """Draw the rank correlation of the inputs with the time a slice takes, the strongest on top."""
    strongest = list(spread.influences().items())[:_BARS][::-1]
    values = np.array([value for _, value in strongest])
    axes.barh(range(len(strongest)), values, color=[RED if v > 0.0 else BLUE for v in values], height=0.6)
    axes.set_yticks([])
    for height, (key, value) in enumerate(strongest):  # each name on the free side of its bar
        side, where = ("right", -0.03) if value > 0.0 else ("left", 0.03)
        axes.text(where, height, WORDS[key], ha=side, va="center", fontsize="small")
    axes.axvline(0.0, color=GREY, linewidth=0.8)
    axes.set_xlim(-1.0, 1.0)
    axes.set_xticks(np.linspace(-1.0, 1.0, 5))
    axes.set_xlabel("rank correlation with the time until done")
    axes.spines[["left", "top", "right"]].set_visible(False)
    axes.set_title("What makes the difference", loc="left")
    return axes
